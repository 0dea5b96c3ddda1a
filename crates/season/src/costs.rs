//! What a plant has cost by the time it is ready, and what it is worth at the plan's end.

use crate::model::{Operation, Stage, Supply};

/// Rounds after which costs no longer fall: more than any chain of steps is long.
const ROUNDS: usize = 64;

/// Fills in cost so far and end value of every stage.
///
/// A stage's cost is the least over the operations into it of (cost of the plant taken + cost of
/// the step + bought price of its supplies) / share that becomes ready there. Stages that nothing
/// leads to cost nothing. The end value is a share of the cost, so that growing stock to have it
/// standing at the end never pays.
pub fn fill_in(
    stages: &mut [Stage],
    operations: &[Operation],
    supplies: &[Supply],
    end_value_share: f64,
) {
    let mut costs = vec![f64::INFINITY; stages.len()];
    for _ in 0..ROUNDS {
        let before = costs.clone();
        for operation in operations {
            into_target(operation, supplies, &mut costs);
            into_other(operation, stages, &mut costs);
        }
        if costs == before {
            break;
        }
    }
    for (stage, cost) in stages.iter_mut().zip(costs) {
        let cost = if cost.is_finite() { cost } else { 0.0 };
        stage.cost_so_far = cost;
        stage.end_value = end_value_share * cost;
    }
}

fn into_target(operation: &Operation, supplies: &[Supply], costs: &mut [f64]) {
    let Some(ready) = mean_ready(operation) else {
        return;
    };
    let taken = operation.from.map_or(0.0, |from| costs[from]);
    let bought: f64 = operation
        .uses
        .iter()
        .map(|need| need.each * supplies[need.supply].buy_price)
        .sum();
    let cost = (taken + operation.cost + bought) / ready;
    costs[operation.into] = costs[operation.into].min(cost);
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

/// Mean over starts of the share ready in the target.
fn mean_ready(operation: &Operation) -> Option<f64> {
    let starts = operation.starts.len();
    let sum: f64 = operation
        .starts
        .iter()
        .flat_map(|start| &start.ready)
        .map(|part| part.share)
        .sum();
    (starts > 0 && sum > 0.0).then(|| sum / starts as f64)
}
