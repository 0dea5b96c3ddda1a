//! Files become acts: rows of lots, orders and seed, and settings.

use jiff::civil::Date;
use serde_json::{Map, Value};

use super::act::{Deed, Line, OpenLot, Order, ReceiveSeed, Set};
use super::amount::Percent;
use super::settings::setting_files;
use crate::records::{Lot, OrderLine, SeedBatch};
use crate::settings::OrderTerms;
use crate::{FileSet, Nursery};

/// The deeds that put a nursery's files into the books, in the order in which they hold.
///
/// The files have been read and checked as `nursery`; rows of tables and texts are taken as they
/// are written.
pub fn deeds(set: &FileSet, nursery: &Nursery, from: Date) -> Vec<Deed> {
    let settings = setting_files().flat_map(|(file, what, is_text)| {
        let bytes = set.get(file);
        bytes.map_or_else(Vec::new, |bytes| settings_of(what, is_text, bytes, from))
    });
    let seed = nursery.seed.iter().map(|it| Deed::ReceiveSeed(seed(it)));
    let lots = nursery.lots.iter().map(|it| Deed::OpenLot(lot(it)));
    settings
        .chain(seed)
        .chain(lots)
        .chain(orders(&nursery.orders, &nursery.settings.orders))
        .collect()
}

fn settings_of(what: &str, is_text: bool, bytes: &[u8], from: Date) -> Vec<Deed> {
    let set = |values| {
        Deed::Set(Set {
            what: what.to_owned(),
            values,
            from,
        })
    };
    if is_text {
        let text = String::from_utf8_lossy(bytes).into_owned();
        return vec![set(Map::from_iter([(
            "text".to_owned(),
            Value::String(text),
        )]))];
    }
    rows(bytes).into_iter().map(set).collect()
}

/// The rows of a table that has been read without a problem.
fn rows(bytes: &[u8]) -> Vec<Map<String, Value>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(bytes);
    let columns: Vec<String> = reader
        .headers()
        .map(|it| it.iter().map(str::to_owned).collect())
        .unwrap_or_default();
    let rows = reader.records().filter_map(Result::ok);
    rows.map(|row| {
        let cells = columns.iter().cloned().zip(row.iter());
        let filled = cells.filter(|(_, cell)| !cell.is_empty());
        filled
            .map(|(column, cell)| (column, Value::String(cell.to_owned())))
            .collect()
    })
    .filter(|row: &Map<String, Value>| !row.is_empty())
    .collect()
}

fn percent(share: Option<f64>) -> Option<Percent> {
    share.and_then(|it| Percent::try_from(it * 100.0).ok())
}

fn seed(it: &SeedBatch) -> ReceiveSeed {
    ReceiveSeed {
        rootstock: it.rootstock.clone(),
        seeds: it.seeds,
        batch: it.batch.clone(),
        germination_percent: percent(it.germination),
        source: it.source.clone(),
        available: Some(it.available),
        use_by: Some(it.use_by),
    }
}

fn lot(it: &Lot) -> OpenLot {
    OpenLot {
        lot: it.lot.clone(),
        stage: it.stage,
        rootstock: it.rootstock.clone(),
        variety: it.variety.clone(),
        size: it.size.clone(),
        place: it.place.clone(),
        growing: it.growing,
        ready: it.ready,
        entered: it.entered,
        budded_on: it.budded_on,
        step: it.step.clone(),
        source: it.source.clone(),
    }
}

/// The orders of some lines; lines of one order that stand apart in the file belong together.
fn orders(lines: &[OrderLine], terms: &OrderTerms) -> Vec<Deed> {
    // What is as usual stays so when the settings change.
    let usual = |line: &OrderLine| percent(Some(terms.cancel(line.contract)));
    let mut orders: Vec<Order> = Vec::new();
    for it in lines {
        let line = Line {
            line: it.line.clone(),
            variety: it.variety.clone(),
            rootstocks: it.rootstocks.clone(),
            size: it.size.clone(),
            plants: it.plants,
            earliest: it.earliest,
            due: it.due,
            latest: it.latest,
            price: it.price,
            contract: it.contract,
            tolerance_percent: percent(Some(it.tolerance)),
            substitutes: (!it.substitutes.is_empty()).then(|| it.substitutes.clone()),
            deposit: (it.deposit > 0).then_some(it.deposit),
            cancel_percent: percent(Some(it.cancel)).filter(|own| Some(*own) != usual(it)),
            minimum_load: (it.minimum_load > 0).then_some(it.minimum_load),
            target_percent: percent(it.target),
            grade: it.grade.clone(),
            health_class: it.health_class.clone(),
        };
        match orders.iter_mut().find(|order| order.order == it.order) {
            Some(order) => order.lines.push(line),
            None => orders.push(Order {
                order: it.order.clone(),
                customer: it.customer.clone(),
                lines: vec![line],
            }),
        }
    }
    orders.into_iter().map(Deed::Order).collect()
}
