//! The act that doing a job would be, for a person to look over and send.

use nursery::catalogue::Step;
use nursery::ids::VarietyName;
use nursery::ledger::books::Batch;
use nursery::ledger::budwood::BudSource;
use serde_json::{Map, Value, json};

use super::lots::{Standing, Yard};
use crate::answers::JobAnswer;

/// The act of a job that takes plants of no lot.
pub fn without_lot(yard: &Yard<'_>, job: &JobAnswer, left: u32) -> Option<Value> {
    match job.operation.as_str() {
        "sow" => Some(sow(yard, job, left)),
        "buy_in" => Some(act(
            "buy_in",
            [
                ("stage", makes(yard, job)),
                ("rootstock", json!(job.rootstock)),
                ("variety", json!(job.variety)),
                ("size", json!(job.size)),
                ("plants", json!(left)),
                ("place", json!(job.place)),
            ],
        )),
        _ => None,
    }
}

/// The act of a job on so many plants of one lot.
pub fn on_lot(yard: &Yard<'_>, job: &JobAnswer, lot: &Standing<'_>, plants: u32) -> Option<Value> {
    let name = ("lot", json!(lot.lot.lot));
    match job.operation.as_str() {
        operation @ ("line_out" | "pot_up" | "lift") => Some(act(
            operation,
            [
                name,
                ("plants", json!(plants)),
                ("place", json!(job.place)),
                ("size", json!(job.size)),
            ],
        )),
        "force" => Some(force(lot, plants)),
        "bud" => bud(yard, job, lot, plants),
        _ => None,
    }
}

/// Forcing plants of a lot; of all of them, none are counted.
pub fn force(lot: &Standing<'_>, plants: u32) -> Value {
    let part = (plants < lot.view.plants()).then_some(plants);
    act(
        "force",
        [("lot", json!(lot.lot.lot)), ("plants", json!(part))],
    )
}

/// Unwrapping a lot in which all buds took: the counts are for a person to mend.
pub fn unwrap(lot: &Standing<'_>) -> Value {
    act(
        "unwrap",
        [
            ("lot", json!(lot.lot.lot)),
            ("taken", json!(lot.view.plants())),
            ("missed", json!(0)),
            ("dead", json!(0)),
        ],
    )
}

/// An act with the keys that have a value.
pub fn act<const N: usize>(word: &str, keys: [(&str, Value); N]) -> Value {
    let keys = keys.into_iter().filter(|(_, value)| !value.is_null());
    let all = std::iter::once(("act", json!(word))).chain(keys);
    let all: Map<String, Value> = all.map(|(key, value)| (key.to_owned(), value)).collect();
    Value::Object(all)
}

fn makes(yard: &Yard<'_>, job: &JobAnswer) -> Value {
    json!(yard.step(&job.step).map(|step| step.makes.word()))
}

/// Sowing of the batch that goes bad first of those with seed enough, else of the one with most.
fn sow(yard: &Yard<'_>, job: &JobAnswer, left: u32) -> Value {
    let is_usable = |batch: &Batch| {
        let day = yard.as_of;
        batch.seed.rootstock.as_str() == job.rootstock
            && batch.when.on <= day
            && batch.available() <= day
            && day <= batch.use_by()
            && batch.left() > 0
    };
    let batches = yard.books.batches.iter();
    let usable: Vec<(&String, &Batch)> = batches.filter(|(_, it)| is_usable(it)).collect();
    let enough = usable
        .iter()
        .filter(|(_, it)| it.left() >= left)
        .min_by_key(|(_, it)| it.use_by());
    let batch = enough.or_else(|| usable.iter().max_by_key(|(_, it)| it.left()));
    let seeds = batch.map_or(left, |(_, it)| left.min(it.left()));
    act(
        "sow",
        [
            ("rootstock", json!(job.rootstock)),
            ("seeds", json!(seeds)),
            ("batch", json!(batch.map(|(name, _)| name))),
            ("place", json!(job.place)),
        ],
    )
}

fn bud(yard: &Yard<'_>, job: &JobAnswer, lot: &Standing<'_>, plants: u32) -> Option<Value> {
    let variety = VarietyName::from(job.variety.as_deref()?);
    let step = yard.step(&job.step)?;
    let wanted = buds_of(step, plants);
    let source = yard.books.buds_for(&variety, wanted, yard.as_of);
    let (source, plants, buds) = match source {
        Some(BudSource::Cut { cut, left }) => {
            (json!(cut), plants.min(left), Some(wanted.min(left)))
        }
        Some(BudSource::MotherTree(tree)) => (json!(tree), plants, None),
        None => (Value::Null, plants, None),
    };
    Some(act(
        "bud",
        [
            ("lot", json!(lot.lot.lot)),
            ("variety", json!(variety)),
            ("plants", json!(plants)),
            ("source", source),
            ("buds", json!(buds)),
            ("method", json!(method(step))),
        ],
    ))
}

/// Buds that a budding of so many plants uses, blind and broken ones included.
fn buds_of(step: &Step, plants: u32) -> u32 {
    let need = step.supplies.iter().find(|it| it.supply == "bud");
    let each = need.map_or(1.0, |it| it.each.max(1.0));
    (f64::from(plants) * each).ceil() as u32
}

/// How a step sets buds: with a chip where bark need not slip, else with a T, inverted where its name
/// says so.
fn method(step: &Step) -> &'static str {
    if !step.needs_bark {
        "chip"
    } else if step.name.to_lowercase().contains("inverted") {
        "inverted_t"
    } else {
        "t"
    }
}
