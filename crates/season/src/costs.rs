//! What a plant has cost by the time it is ready, and what it is worth at the plan's end.

use crate::arrivals::Fraction;
use crate::model::{Operation, Stage, Supply};

/// Rounds after which costs no longer fall: more than any chain of steps is long.
const ROUNDS: usize = 64;

/// Fills in cost so far and end value of every stage.
///
/// A stage's cost is the least over the operations into it of (cost of the plant taken + cost of
/// the step + price of its supplies − worth of the missed) / share that becomes ready there. A
/// supply of which the nursery has its own costs nothing, as in the plan; one that it neither has
/// nor can buy shuts the way, unless no other leads there. Stages that nothing leads to cost
/// nothing. The end value is a share of the cost, so that growing stock to have it standing at the
/// end never pays: whatever a plan does, the plants that come of it cost it as much or more.
pub fn fill_in(
    stages: &mut [Stage],
    operations: &[Operation],
    supplies: &[Supply],
    end_value_share: f64,
) {
    let open = |operation: &Operation| {
        let mut needs = operation.uses.iter();
        needs.all(|need| price(&supplies[need.supply]).is_some())
    };
    let can_be_done: Vec<&Operation> = operations.iter().filter(|it| open(it)).collect();
    let mut costs = vec![f64::INFINITY; stages.len()];
    least(&can_be_done, stages, supplies, &mut costs);
    // What stands where nothing leads any more was once made there.
    let unknown: Vec<bool> = costs.iter().map(|cost| cost.is_infinite()).collect();
    let once: Vec<&Operation> = operations.iter().filter(|it| unknown[it.into]).collect();
    least(&once, stages, supplies, &mut costs);
    for (stage, cost) in stages.iter_mut().zip(costs) {
        let cost = if cost.is_finite() { cost } else { 0.0 };
        stage.cost_so_far = cost;
        stage.end_value = end_value_share * cost;
    }
    for index in 0..stages.len() {
        // Plants kept apart cost what those they would stand with do.
        if let Some(apart) = &stages[index].apart {
            let like = apart.of;
            stages[index].cost_so_far = stages[like].cost_so_far;
            stages[index].end_value = stages[like].end_value;
        }
    }
}

/// Lowers the costs of stages to the least that these operations allow.
fn least(operations: &[&Operation], stages: &[Stage], supplies: &[Supply], costs: &mut [f64]) {
    for _ in 0..ROUNDS {
        let before = costs.to_vec();
        for operation in operations {
            into_target(operation, supplies, costs);
            into_other(operation, stages, costs);
        }
        if costs == before {
            break;
        }
    }
}

/// Price of one of a supply: nothing of what the nursery has itself, `None` of what it neither has
/// nor can buy.
fn price(supply: &Supply) -> Option<f64> {
    if supply.batches.is_empty() {
        supply.bought.as_ref().map(|bought| bought.price)
    } else {
        Some(0.0)
    }
}

/// The start that makes most of what is put in decides, so that none makes more than it cost. A
/// missed plant is worth what its stock had cost.
fn into_target(operation: &Operation, supplies: &[Supply], costs: &mut [f64]) {
    let taken = operation.from.map_or(0.0, |from| costs[from]);
    let needs = operation.uses.iter();
    let used: f64 = needs
        .map(|need| need.each * price(&supplies[need.supply]).unwrap_or(0.0))
        .sum();
    let share = |parts: &[Fraction]| parts.iter().map(|part| part.share).sum::<f64>();
    let least = operation
        .starts
        .iter()
        .map(|start| (share(&start.ready), share(&start.otherwise)))
        .filter(|(ready, _)| *ready > 0.0)
        .map(|(ready, missed)| (taken * (1.0 - missed) + operation.cost + used) / ready)
        .fold(f64::INFINITY, f64::min);
    let cost = &mut costs[operation.into];
    *cost = cost.min(least);
}

/// A missed bud leaves the stock that was budded: it is worth what the stock had cost.
fn into_other(operation: &Operation, stages: &[Stage], costs: &mut [f64]) {
    let other = stages[operation.into]
        .phase
        .as_ref()
        .and_then(|phase| phase.split.as_ref());
    if let (Some(split), Some(from)) = (other, operation.from)
        && from != split.otherwise
    {
        costs[split.otherwise] = costs[split.otherwise].min(costs[from]);
    }
}
