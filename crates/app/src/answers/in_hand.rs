//! What a plan needs to have in hand, with fixed keys.

use serde::{Deserialize, Serialize};

use super::minor;
use crate::run::PlanRun;

/// Budsticks to cut from a mother tree in a week.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct CutAnswer {
    /// ISO week.
    pub week: String,
    /// The mother tree.
    pub mother_tree: String,
    /// Variety.
    pub variety: String,
    /// Sticks, at the buds that a stick usually has.
    pub sticks: u32,
    /// Buds.
    pub buds: u32,
    /// Those of them that are stored, to be set after the tree's season.
    pub stored: u32,
}

/// What is to be ordered for a delivery.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ToOrderAnswer {
    /// What.
    pub what: String,
    /// How many.
    pub units: u32,
    /// ISO week by whose end it is ordered.
    pub order_by: String,
    /// ISO week of the delivery.
    pub delivered: String,
    /// ISO week in which the first of it is used.
    pub used_from: String,
    /// What it costs, minor units.
    pub cost: i64,
}

pub(super) fn cuts(run: &PlanRun) -> Vec<CutAnswer> {
    let per_stick = f64::from(run.nursery.settings.keeping.buds_per_stick.max(1));
    let cuts = season::sticks_to_cut(&run.model, &run.plan).into_iter();
    cuts.map(|it| CutAnswer {
        week: run.model.calendar.iso(it.week as i64),
        mother_tree: it.tree.to_string(),
        variety: it.variety.to_string(),
        sticks: whole_up(it.buds / per_stick),
        buds: whole_up(it.buds),
        stored: whole_up(it.stored),
    })
    .collect()
}

pub(super) fn to_order(run: &PlanRun) -> Vec<ToOrderAnswer> {
    let week = |week: usize| run.model.calendar.iso(week as i64);
    let orders = season::to_order(&run.model, &run.plan).into_iter();
    orders
        .map(|it| {
            let units = whole_up(it.units);
            // Whole units are paid for, also where the plan needs a part of the last one.
            let cost = it.cost / it.units * f64::from(units);
            ToOrderAnswer {
                what: it.of.id(),
                units,
                order_by: week(it.by),
                delivered: week(it.delivered),
                used_from: week(it.used_from),
                cost: minor(cost),
            }
        })
        .collect()
}

/// So many, or the next whole number above; a remainder of the solver's is none.
fn whole_up(number: f64) -> u32 {
    (number - 1e-6).ceil().clamp(0.0, f64::from(u32::MAX)) as u32
}
