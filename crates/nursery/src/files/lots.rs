//! Reader of what stands: lots.

use intake::{Read, Row, read_table};

use super::{Known, LOTS, Seen, day, not_after, optional_day, write_or};
use crate::catalogue::StageKind;
use crate::ids::{PlaceName, SizeName, StepName, VarietyName};
use crate::records::{Lot, LotLuck};

/// Reads `lots.csv`.
pub fn lots(bytes: &[u8], known: &Known<'_>) -> Read<Lot> {
    let mut seen = Seen::new("this lot");
    read_table("lots.csv", bytes, &LOTS, |row| {
        let lot = row.text("lot");
        let stage = row.choice("stage", StageKind::CHOICES);
        let rootstock = row
            .text("rootstock")
            .and_then(|name| known.rootstock(row, "rootstock", &name));
        let variety = lot_variety(row, stage, known);
        let size = lot_size(row, stage, known);
        let place = lot_place(row, known);
        let growing = row.count("growing");
        let ready = row.count("ready");
        let entered =
            day(row, "entered").and_then(|date| not_after(row, "entered", date, known.as_of));
        let budded_on = optional_day(row, "budded_on");
        if let (Some(entered), Some(Some(budded))) = (entered, budded_on)
            && entered < budded
        {
            let rule = format!("must not lie after entered, {entered}");
            row.problem("budded_on", rule, "mend one of the two dates");
        }
        let step = lot_step(row, stage, known);
        let lot = lot?;
        seen.only_once(row, "lot", lot.clone());
        Some(Lot {
            lot: lot.into(),
            stage: stage?,
            rootstock: rootstock?,
            variety: variety?,
            size: size?,
            place: place?,
            growing: growing?,
            ready: ready?,
            entered: entered?,
            budded_on: budded_on?,
            step: step?,
            source: row.optional_text("source"),
            health_class: None,
            looks: Vec::new(),
            counts: Vec::new(),
            luck: LotLuck::default(),
        })
    })
}

fn lot_variety(
    row: &mut Row<'_>,
    stage: Option<StageKind>,
    known: &Known<'_>,
) -> Option<Option<VarietyName>> {
    match (stage?.has_variety(), row.optional_text("variety")) {
        (true, None) => {
            let rule = "budded and finished lots have a variety";
            row.problem("variety", rule, "fill it in");
            None
        }
        (false, Some(_)) => {
            let rule = "seedlings, liners and missed stocks have no variety";
            row.problem("variety", rule, "empty the cell, or mend the stage");
            None
        }
        (true, Some(name)) => known.variety(row, &name).map(Some),
        (false, None) => Some(None),
    }
}

fn lot_size(
    row: &mut Row<'_>,
    stage: Option<StageKind>,
    known: &Known<'_>,
) -> Option<Option<SizeName>> {
    match (stage? == StageKind::Finished, row.optional_text("size")) {
        (true, None) => {
            row.problem("size", "finished lots have a size", "fill it in");
            None
        }
        (true, Some(name)) => known.size(row, &name).map(Some),
        (false, _) => Some(None),
    }
}

fn lot_place(row: &mut Row<'_>, known: &Known<'_>) -> Option<PlaceName> {
    let place = PlaceName::from(row.text("place")?);
    if known.places.contains_key(&place) {
        return Some(place);
    }
    let names = known.places.keys().map(PlaceName::as_str);
    let mend = write_or(place.as_str(), names, "add it to places.csv");
    row.problem("place", "nobody knows this place", mend);
    None
}

/// The step that made the lot: `Some(None)` where the row leaves it to the stage and place.
fn lot_step(
    row: &mut Row<'_>,
    stage: Option<StageKind>,
    known: &Known<'_>,
) -> Option<Option<StepName>> {
    let Some(step) = row.optional_text("step").map(StepName::from) else {
        return Some(None);
    };
    match known.catalogue.routes.makes(&step) {
        None => {
            let routes = &known.catalogue.routes;
            let names = routes.steps.keys().chain(routes.stands.keys());
            let mend = write_or(step.as_str(), names.map(StepName::as_str), "empty the cell");
            row.problem("step", "nobody knows this step", mend);
        }
        Some(made) if Some(made) != stage => {
            let rule = format!("this step makes {} plants", made.word());
            row.problem("step", rule, "mend the step or the stage");
        }
        Some(_) => return Some(Some(step)),
    }
    None
}
