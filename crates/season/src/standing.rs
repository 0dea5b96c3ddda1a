//! Lots as they stand: which stage each is in, and what becomes of it on average.

use intake::{Problems, RowProblem};
use nursery::Nursery;
use nursery::catalogue::{PlaceKind, StageKind};
use nursery::ids::StepName;
use nursery::records::Lot;

use crate::growing::in_season;
use crate::stages::{StageKey, nodes_of_kind};

/// The stage of every lot, in the order of the lots; a lot that fits no step in use is a problem.
pub fn stages_of_lots(nursery: &Nursery, problems: &mut Problems) -> Vec<Option<StageKey>> {
    nursery
        .lots
        .iter()
        .map(|lot| {
            let key = stage_of_lot(nursery, lot);
            if key.is_none() {
                problems.push(no_step(lot));
            }
            key
        })
        .collect()
}

/// The stage of a lot; none where it fits no step in use.
pub fn stage_of_lot(nursery: &Nursery, lot: &Lot) -> Option<StageKey> {
    Some(StageKey {
        node: node_of(nursery, lot)?,
        rootstock: lot.rootstock.clone(),
        variety: lot.variety.clone(),
        size: lot.size.clone(),
        place: lot.place.clone(),
    })
}

/// The step or stand a lot's plants came from: the one it names, else the first in use that makes
/// such plants at such a place, told apart by the season of the budding.
fn node_of(nursery: &Nursery, lot: &Lot) -> Option<StepName> {
    if let Some(step) = &lot.step {
        return Some(step.clone());
    }
    let place = kind_of_place(nursery, lot)?;
    let candidates = nodes_of_kind(nursery, lot.stage, lot.size.as_ref(), place);
    if lot.stage != StageKind::Budded {
        return candidates.into_iter().next();
    }
    let routes = &nursery.catalogue.routes;
    let budded_on = lot.budded_on.unwrap_or(lot.entered);
    let still_wrapped = budded_on == lot.entered;
    let fits = |name: &&StepName| {
        routes.steps.get(*name).is_some_and(|step| {
            step.take.is_some() == still_wrapped
                && (!still_wrapped || in_season(nursery, step, budded_on))
        })
    };
    candidates.iter().find(fits).or(candidates.first()).cloned()
}

fn kind_of_place(nursery: &Nursery, lot: &Lot) -> Option<PlaceKind> {
    nursery
        .places
        .iter()
        .find(|place| place.place == lot.place)
        .map(|place| place.kind)
}

fn no_step(lot: &Lot) -> RowProblem {
    RowProblem {
        column: Some("stage".to_owned()),
        value: Some(lot.stage.word().to_owned()),
        ..RowProblem::of_file(
            "lots.csv",
            format!(
                "no step in use makes {} plants at {} (lot {})",
                lot.stage.word(),
                lot.place,
                lot.lot
            ),
            "name the step in the column step, or add the route to planning.routes",
        )
    }
}
