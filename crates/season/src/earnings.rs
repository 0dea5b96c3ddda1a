//! What a plan earns in its futures, on average: prices times what goes in and out in them.
//!
//! The prices are those of the planning case, so that a nursery without luck earns what its plan says.

use futures::Turnover;
use planner::{CrewUse, Money, Plan, SupplyUse};

use crate::lower_futures::{Work, all_work};
use crate::lower_plan::{PlannedJob, blocks};
use crate::model::{Line, Operation, SeasonModel};

/// What a plan settles beforehand, since the futures do not play it.
#[derive(Debug, Clone, Copy)]
pub struct Settled<'a> {
    /// Penalty for ground beyond the area, money.
    pub excess: f64,
    /// Hours by crew.
    pub crew_use: &'a [CrewUse],
    /// What is used and bought, by supply.
    pub supply_use: &'a [SupplyUse],
}

impl<'a> From<&'a Plan> for Settled<'a> {
    fn from(plan: &'a Plan) -> Self {
        Self {
            excess: plan.money.excess,
            crew_use: &plan.crew_use,
            supply_use: &plan.supply_use,
        }
    }
}

/// The money of a plan in the mean of its futures.
///
/// Counted as planned, since the futures do not know them: ground beyond the area, hours of later work, people
/// hired for weeks in a row, and the share of a week's seed, buds and liners that is bought. What is left growing at the end counts with the mean
/// of its worth. `turnover` is that of the futures case of the plan's jobs.
pub fn earned<'a>(
    model: &SeasonModel,
    jobs: &[PlannedJob],
    plan: impl Into<Settled<'a>>,
    turnover: &Turnover,
) -> Money {
    let plan = plan.into();
    let mut money = Money {
        excess: plan.excess,
        ..Money::default()
    };
    for line in &model.lines {
        ship(model, line, turnover, &mut money);
    }
    for (work, done) in all_work(model, jobs).zip(&turnover.done) {
        for (later, plants) in done.iter().enumerate() {
            let week = work.span.0.max(0) as usize + later;
            let plants = turnover.mean(*plants);
            let operation = &model.operations[work.operation];
            money.operations += plants * operation.cost;
            money.bought += plants * bought(model, &plan, &work);
            money.end_value += plants * later_worth(model, operation, week);
        }
    }
    for stage in &model.stages {
        let Some(of_stage) = turnover.stages.get(&stage.id) else {
            continue;
        };
        money.waiting += turnover.mean(of_stage.waited) * stage.wait_cost;
        money.discards += turnover.mean(of_stage.discarded) * stage.discard_cost;
        money.end_value += turnover.mean(of_stage.left) * stage.end_value;
    }
    for crew in &model.crews {
        for (week, cost) in crew.hired_extra_cost.iter().enumerate() {
            money.hired += turnover.hired_hours(crew.crew.as_str(), week) * cost;
        }
        let planned = plan.crew_use.iter();
        let planned = planned.filter(|it| it.crew == crew.crew.as_str());
        let shares = planned.flat_map(|it| &it.blocks);
        let blocks = blocks(model, crew);
        let costs = blocks.iter().zip(shares);
        money.hired += costs.map(|(block, share)| block.cost * share).sum::<f64>();
    }
    money
}

fn ship(model: &SeasonModel, line: &Line, turnover: &Turnover, money: &mut Money) {
    let Some(of_line) = turnover.lines.get(&line.id) else {
        return;
    };
    for (stage, weeks) in of_line.accepts.iter().zip(&of_line.shipped) {
        let price = price(model, line, stage);
        for (after, plants) in weeks.iter().enumerate() {
            let plants = turnover.mean(*plants);
            let late = ((of_line.first_week + after) as i64 - line.due).max(0);
            money.sales += plants * price;
            money.late += plants * line.late_cost * late as f64;
        }
    }
    money.short += turnover.mean(of_line.short) * line.short_cost;
}

/// The price of a tree of an accepted stage.
fn price(model: &SeasonModel, line: &Line, stage: &str) -> f64 {
    let is_it = |at: usize| model.stages[at].id == stage;
    let substitute = line.substitutes.iter().find(|it| is_it(it.stage));
    match substitute {
        Some(it) if !line.accepts.iter().any(|at| is_it(*at)) => it.price,
        _ => line.price,
    }
}

/// What is bought for each plant put through. A planned job buys the share that its week buys in the plan; a
/// remedy buys what the nursery has no batch of.
fn bought(model: &SeasonModel, plan: &Settled<'_>, work: &Work) -> f64 {
    let week = work.span.0.max(0) as usize;
    let uses = model.operations[work.operation].uses.iter();
    let of_use = uses.map(|need| {
        let supply = &model.supplies[need.supply];
        let bought = supply.bought.as_ref();
        let price = bought.map_or(0.0, |it| it.price_in(week));
        let share = if work.remedy.is_some() {
            let (from, until) = work.span;
            let mut own = supply.batches.iter();
            let has_own = own.any(|batch| batch.from <= until && from <= batch.until);
            if has_own { 0.0 } else { 1.0 }
        } else {
            let planned = plan.supply_use.get(need.supply);
            planned.map_or(0.0, |it| share(it.bought[week], it.used[week]))
        };
        need.each * price * share
    });
    of_use.sum()
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 {
        (part / whole).min(1.0)
    } else {
        0.0
    }
}

/// The mean worth of what becomes ready after the plan's end of a plant put through in a week: as it grows from
/// the nearest week in which the plan may start it.
fn later_worth(model: &SeasonModel, operation: &Operation, week: usize) -> f64 {
    let nearest = operation
        .starts
        .iter()
        .min_by_key(|start| start.week.abs_diff(week));
    let Some(start) = nearest else { return 0.0 };
    let later = |parts: &[crate::Fraction]| -> f64 {
        let parts = parts.iter();
        let late = parts.filter(|part| week + part.week >= model.weeks);
        late.map(|part| part.share).sum()
    };
    let into = &model.stages[operation.into];
    let split = into.phase.as_ref().and_then(|it| it.split.as_ref());
    let otherwise = split.map_or(0.0, |it| model.stages[it.otherwise].end_value);
    later(&start.ready) * into.end_value + later(&start.otherwise) * otherwise
}
