//! What a plan needs to have in hand before its jobs begin: which budsticks are cut from which mother tree and
//! when, and what is ordered by when.

use std::collections::BTreeMap;

use nursery::ids::{MotherTreeName, VarietyName};
use planner::Plan;

use crate::model::SeasonModel;
use crate::supplies::SupplyKey;

/// Fewer units are a remainder of the solver's.
const FEW: f64 = 1e-6;

/// Buds to be cut from a mother tree in a week.
#[derive(Debug, Clone, PartialEq)]
pub struct SticksToCut {
    /// The week.
    pub week: usize,
    /// Variety.
    pub variety: VarietyName,
    /// The mother tree.
    pub tree: MotherTreeName,
    /// Buds to be cut.
    pub buds: f64,
    /// Those of them that go to the store, to be used after the tree's season.
    pub stored: f64,
}

/// What is ordered for a delivery.
#[derive(Debug, Clone, PartialEq)]
pub struct ToOrder {
    /// What it is.
    pub of: SupplyKey,
    /// The week by whose end it is ordered.
    pub by: usize,
    /// The week in which it is delivered.
    pub delivered: usize,
    /// The week in which the first of it is used.
    pub used_from: usize,
    /// Units.
    pub units: f64,
    /// What they cost, money.
    pub cost: f64,
}

/// The buds that a plan cuts, by week, variety and mother tree. What is used within a tree's season is cut in
/// the week of its use; what is used later is cut in the last week of the season and stored, and as many more
/// as are lost until then.
pub fn sticks_to_cut(model: &SeasonModel, plan: &Plan) -> Vec<SticksToCut> {
    let mut cuts: BTreeMap<(usize, &VarietyName, &MotherTreeName), (f64, f64)> = BTreeMap::new();
    for (supply, used) in model.supplies.iter().zip(&plan.supply_use) {
        let SupplyKey::Buds(variety) = &supply.of else {
            continue;
        };
        for (batch, weeks) in supply.batches.iter().zip(&used.from_batches) {
            let Some(tree) = &batch.tree else { continue };
            let last = usize::try_from(batch.sound_until).unwrap_or(0);
            for (week, good) in weeks.iter().enumerate() {
                let buds = good / batch.kept(week as i64);
                let (cut, stored) = cuts.entry((week.min(last), variety, tree)).or_default();
                *cut += buds;
                *stored += if week > last { buds } else { 0.0 };
            }
        }
    }
    let cuts = cuts.into_iter().filter(|(_, (buds, _))| *buds > FEW);
    cuts.map(|((week, variety, tree), (buds, stored))| SticksToCut {
        week,
        variety: variety.clone(),
        tree: tree.clone(),
        buds,
        stored,
    })
    .collect()
}

/// What a plan orders, the first order first. What is delivered in one week is one order.
pub fn to_order(model: &SeasonModel, plan: &Plan) -> Vec<ToOrder> {
    let mut orders: Vec<ToOrder> = Vec::new();
    for (supply, used) in model.supplies.iter().zip(&plan.supply_use) {
        let Some(bought) = &supply.bought else {
            continue;
        };
        let mut of_supply: BTreeMap<usize, ToOrder> = BTreeMap::new();
        for (week, good) in used.bought.iter().enumerate().filter(|it| *it.1 > FEW) {
            let delivered = bought.delivered.get(week).copied().flatten();
            let delivered = delivered.unwrap_or(week);
            let units = good / bought.kept(week);
            let order = of_supply.entry(delivered).or_insert_with(|| ToOrder {
                of: supply.of.clone(),
                by: delivered.saturating_sub(bought.lead_weeks as usize),
                delivered,
                used_from: week,
                units: 0.0,
                cost: 0.0,
            });
            order.units += units;
            order.cost += units * bought.price;
        }
        orders.extend(of_supply.into_values());
    }
    orders.sort_by(|one, other| (one.by, &one.of).cmp(&(other.by, &other.of)));
    orders
}
