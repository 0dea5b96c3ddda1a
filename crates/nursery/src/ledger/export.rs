//! The files of a nursery, written from its books as they stood on a day.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::act::{Line, Substitute};
use super::books::Books;
use super::lot::{Lot, Origin, View};
use super::settings::columns;
use crate::FileSet;
use crate::ids::RootstockName;
use crate::records::{Lot as LotRow, LotLuck};

/// The files as the books stood at the end of a day, but for the weather.
pub fn files(books: &Books, day: Date) -> FileSet {
    let mut files = books.settings.files(day);
    files.insert("lots.csv".to_owned(), lots(books, day));
    files.insert("orders.csv".to_owned(), orders(books, day));
    files.insert("seed.csv".to_owned(), seed(books, day));
    if files.contains_key("mother_trees.csv") {
        files.insert("mother_trees.csv".to_owned(), mother_trees(books, day));
    }
    FileSet { files }
}

/// A table: its columns, and for each row a cell by column.
pub fn table<Row: Fn(&str) -> String>(
    columns: &[&str],
    rows: impl IntoIterator<Item = Row>,
) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut write = |cells: Vec<String>| {
        writer
            .write_record(cells)
            .expect("memory takes every row of as many cells as columns");
    };
    write(columns.iter().map(|&it| it.to_owned()).collect());
    for row in rows {
        write(columns.iter().map(|column| row(column)).collect());
    }
    writer.into_inner().expect("memory takes everything")
}

fn text<T: ToString>(value: Option<T>) -> String {
    value.map(|it| it.to_string()).unwrap_or_default()
}

fn lots(books: &Books, day: Date) -> Vec<u8> {
    let standing = books.lots.values().filter_map(|lot| {
        let view = lot.on(day)?;
        (view.plants() > 0).then_some((lot, view))
    });
    let rows = standing.map(|(lot, view)| {
        let row = lot_row(lot, &view);
        move |column: &str| lot_cell(&row, column)
    });
    table(&columns("lots.csv"), rows)
}

/// A lot as it stands, as its row of the table says it.
pub fn lot_row(lot: &Lot, view: &View) -> LotRow {
    LotRow {
        lot: lot.lot.clone(),
        stage: view.stage,
        rootstock: lot.rootstock.clone(),
        variety: lot.variety.clone(),
        size: view.size.clone(),
        place: view.place.clone(),
        growing: view.growing,
        ready: view.ready,
        entered: view.entered,
        budded_on: lot.budded_on.filter(|it| *it <= view.entered),
        step: view.step.clone(),
        source: Some(source(lot)),
        health_class: None,
        looks: Vec::new(),
        counts: Vec::new(),
        luck: LotLuck::default(),
    }
}

fn lot_cell(row: &LotRow, column: &str) -> String {
    match column {
        "lot" => row.lot.to_string(),
        "stage" => row.stage.word().to_owned(),
        "rootstock" => row.rootstock.to_string(),
        "variety" => text(row.variety.as_ref()),
        "size" => text(row.size.as_ref()),
        "place" => row.place.to_string(),
        "growing" => row.growing.to_string(),
        "ready" => row.ready.to_string(),
        "entered" => row.entered.to_string(),
        "budded_on" => text(row.budded_on),
        "step" => text(row.step.as_ref()),
        "source" => text(row.source.as_ref()),
        _ => String::new(),
    }
}

fn source(lot: &Lot) -> String {
    let words = lot.from.iter().map(|origin| match origin {
        Origin::Lot(it) | Origin::BudsOf(it) => it.to_string(),
        Origin::Batch(it) => format!("batch {it}"),
        Origin::Cut(it) | Origin::MotherTree(it) | Origin::Outside(it) => it.clone(),
    });
    words.collect::<Vec<_>>().join("; ")
}

fn orders(books: &Books, day: Date) -> Vec<u8> {
    let lines = books.orders.iter().flat_map(|(name, order)| {
        order.lines.values().filter_map(move |book| {
            let line = book.on(day)?;
            let open = line.plants.saturating_sub(book.shipped_until(day));
            (open > 0).then_some((name, order, line, open))
        })
    });
    let rows = lines.map(|(name, order, line, open)| {
        move |column: &str| match column {
            "order" => name.clone(),
            "customer" => order.customer.clone(),
            "plants" => open.to_string(),
            _ => line_cell(line, column),
        }
    });
    table(&columns("orders.csv"), rows)
}

fn line_cell(line: &Line, column: &str) -> String {
    match column {
        "line" => line.line.clone(),
        "variety" => line.variety.to_string(),
        "rootstocks" => {
            let names: Vec<&str> = line.rootstocks.iter().map(RootstockName::as_str).collect();
            names.join(";")
        }
        "size" => line.size.to_string(),
        "earliest" => line.earliest.to_string(),
        "due" => line.due.to_string(),
        "latest" => line.latest.to_string(),
        "price" => line.price.to_string(),
        "contract" => line.contract.to_string(),
        "tolerance_percent" => text(line.tolerance_percent.map(f64::from)),
        "deposit" => text(line.deposit),
        "cancel_percent" => text(line.cancel_percent.map(f64::from)),
        "minimum_load" => text(line.minimum_load),
        "target_percent" => text(line.target_percent.map(f64::from)),
        "grade" => text(line.grade.as_ref()),
        "health_class" => text(line.health_class.as_ref()),
        "substitutes" => {
            let all = line.substitutes.iter().flatten().map(|it| {
                let Substitute {
                    variety,
                    rootstock,
                    size,
                    price,
                } = it;
                format!("{variety}/{rootstock}/{size}/{price}")
            });
            all.collect::<Vec<_>>().join(";")
        }
        _ => String::new(),
    }
}

fn seed(books: &Books, day: Date) -> Vec<u8> {
    let batches = books.batches.iter().filter_map(|(name, batch)| {
        let left = batch.left_on(day);
        (batch.when.on <= day && left > 0).then_some((name, batch, left))
    });
    let rows = batches.map(|(name, batch, left)| {
        move |column: &str| {
            let seed = &batch.seed;
            match column {
                "batch" => name.clone(),
                "rootstock" => seed.rootstock.to_string(),
                "seeds" => left.to_string(),
                "available" => batch.available().to_string(),
                "use_by" => batch.use_by().to_string(),
                "germination_percent" => text(seed.germination_percent.map(f64::from)),
                "source" => seed.source.clone().unwrap_or_default(),
                _ => String::new(),
            }
        }
    });
    table(&columns("seed.csv"), rows)
}

/// The rows of mother trees with what later samples showed; destroyed trees are left out.
fn mother_trees(books: &Books, day: Date) -> Vec<u8> {
    let rows = books.settings.rows("mother_tree", day).filter_map(|row| {
        let name = row.get("mother_tree")?;
        let tree = books.trees.get(&name.as_str().into());
        if tree.is_some_and(|it| it.destroyed.is_some_and(|when| when.on <= day)) {
            return None;
        }
        let mut row: BTreeMap<String, String> = row.clone();
        if let Some((tested_on, result)) = tree.and_then(|it| it.last_test(day)) {
            let own = row.get("tested_on").and_then(|it| it.parse::<Date>().ok());
            if own.is_none_or(|own| own <= tested_on) {
                row.insert("tested_on".to_owned(), tested_on.to_string());
                let word = if result { "found" } else { "clean" };
                row.insert("result".to_owned(), word.to_owned());
            }
        }
        Some(move |column: &str| row.get(column).cloned().unwrap_or_default())
    });
    table(&columns("mother_trees.csv"), rows)
}
