//! All plans of one nursery in the same futures.

use std::collections::BTreeSet;

use futures::Summary;
use planner::Plan;
use season::{PlannedJob, SAFE, SeasonModel, Settled, jobs};

use super::foreseen::Oracle;
use super::lives::lives;
use super::play::{Played, planned, protected};
use super::thumb;

/// Seed of the futures in which plans are compared: others than those that protection learns from.
const SEED: u64 = 9;

/// Futures in which a plan's expected profit and its odds are told.
const FUTURES: u32 = 2_000;

/// Lives of the protected plan.
const LIVES: u64 = 50;

/// Standard errors to either side of a mean that 95 % of means lie within.
const ERRORS: f64 = 1.96;

/// A plan of a nursery.
pub struct Row {
    /// Its name.
    pub name: &'static str,
    /// Expected profit over many futures, money.
    pub expected: f64,
    /// Profit in the mean of the futures of the bound, money.
    pub profit: f64,
    /// Order lines on time in the mean of these.
    pub on_time: f64,
}

/// The bound.
pub struct Bound {
    /// Profit in the mean of its futures, money.
    pub profit: f64,
    /// Half the width of the interval that holds the mean over all futures in 95 of 100 cases.
    pub either_side: f64,
    /// Order lines on time in the mean of these.
    pub on_time: f64,
    /// Of lines that it keeps, over its futures, the share that the protected plan calls safe.
    pub safe: f64,
}

/// A nursery's plans and their bound.
pub struct Comparison {
    /// Order lines.
    pub lines: usize,
    /// Rule of thumb, mean yields, protected.
    pub rows: [Row; 3],
    /// The futures of the bound, and it; none where nobody asked for it.
    pub bound: Option<(u32, Bound)>,
    /// Lines that the protected plan calls safe.
    pub safe: usize,
    /// The share of these that are on time in the lives of the plan.
    pub safe_and_kept: f64,
}

impl Comparison {
    /// Of the distance from the rule of thumb to the bound, the share that the protected plan is ahead.
    pub fn closed(&self) -> Option<f64> {
        let [thumb, _, protected] = &self.rows;
        let (_, bound) = self.bound.as_ref()?;
        Some((protected.profit - thumb.profit) / (bound.profit - thumb.profit))
    }
}

/// Compares the plans of a nursery, with the bound in so many futures.
pub fn compared(model: &SeasonModel, of_bound: u32) -> Comparison {
    let by_thumb = thumb::plan(model);
    let (protected, at_mean) = protected(model);
    let jobs_at_mean = jobs(model, &at_mean.starts);
    let row = |name, jobs: &[PlannedJob], settled: Settled<'_>| {
        let played = Played::new(model, jobs, settled);
        let (expected, odds) = played.in_futures(0..FUTURES, SEED);
        let (profit, in_bound) = played.in_futures(0..of_bound.max(1), SEED);
        let row = Row {
            name,
            expected,
            profit,
            on_time: lines_on_time(model, &in_bound),
        };
        (row, odds, played.case)
    };
    let (thumb, ..) = row("rule of thumb", &by_thumb.jobs, (&by_thumb).into());
    let (mean, ..) = row("mean yields", &jobs_at_mean, (&at_mean).into());
    let (best, odds, case) = row("protected", &protected.jobs, (&protected.plan).into());
    let safe = safe_lines(model, &odds);
    Comparison {
        lines: model.lines.iter().filter(|it| !it.on_spec).count(),
        rows: [thumb, mean, best],
        bound: (of_bound > 0).then(|| (of_bound, bound(model, of_bound, &safe))),
        safe: safe.len(),
        safe_and_kept: safe_and_kept(&case, &safe),
    }
}

fn lines_on_time(model: &SeasonModel, odds: &Summary) -> f64 {
    let lines = model.lines.iter().filter(|line| !line.on_spec);
    lines
        .filter_map(|line| odds.orders.get(&line.id))
        .map(|it| it.on_time)
        .sum()
}

fn safe_lines(model: &SeasonModel, odds: &Summary) -> BTreeSet<String> {
    let lines = model.lines.iter().filter(|line| !line.on_spec);
    lines
        .filter(|line| odds.orders[&line.id].on_time >= SAFE)
        .map(|line| line.id.clone())
        .collect()
}

/// Of the safe lines whose customers keep them, the share on time over all lives.
fn safe_and_kept(case: &futures::case::Case, safe: &BTreeSet<String>) -> f64 {
    let (nursery, lives) = lives(case, 1, LIVES);
    let fates = lives
        .iter()
        .flat_map(|life| nursery.lines.iter().zip(&life.lines));
    let called = fates.filter(|(line, fate)| fate.kept && safe.contains(&line.name));
    let on_time: Vec<bool> = called
        .map(|(line, fate)| fate.complete.is_some_and(|week| week <= line.due))
        .collect();
    on_time.iter().filter(|it| **it).count() as f64 / on_time.len().max(1) as f64
}

/// What one known future comes to.
struct Known {
    profit: f64,
    /// Lines on time.
    kept: Vec<String>,
    /// Lines that their customers keep.
    asked_for: usize,
}

fn bound(model: &SeasonModel, futures: u32, safe: &BTreeSet<String>) -> Bound {
    let oracle = Oracle::new(model, SEED);
    let known = on_two_threads(futures, |future| known(model, &oracle, future));
    let count = f64::from(futures);
    let profit = known.iter().map(|it| it.profit).sum::<f64>() / count;
    let squares = known.iter().map(|it| (it.profit - profit).powi(2));
    let spread = (squares.sum::<f64>() / (count - 1.0).max(1.0)).sqrt();
    let kept = known.iter().flat_map(|it| &it.kept);
    let all = kept.clone().count() as f64;
    let asked_for: usize = known.iter().map(|it| it.asked_for).sum();
    let lines = model.lines.iter().filter(|it| !it.on_spec).count() as f64;
    Bound {
        profit,
        either_side: ERRORS * spread / count.sqrt(),
        on_time: all / asked_for.max(1) as f64 * lines,
        safe: kept.filter(|it| safe.contains(*it)).count() as f64 / all.max(1.0),
    }
}

fn known(model: &SeasonModel, oracle: &Oracle<'_>, future: u32) -> Known {
    let case = oracle.case(future);
    let plan = planned(&case, None);
    let lines = model.lines.iter().filter(|line| !line.on_spec);
    let planned: Vec<_> = lines
        .filter_map(|line| Some((line, plan.lines.iter().find(|it| it.order == line.id)?)))
        .collect();
    let complete = planned
        .iter()
        .filter(|(line, it)| it.on_time >= line.plants * (1.0 - line.tolerance) - 0.5);
    Known {
        profit: plan.profit + forgiven(model, &plan),
        kept: complete.map(|(line, _)| line.id.clone()).collect(),
        asked_for: planned.len(),
    }
}

/// Short costs of plants that a line may lack and be complete: the planner charges them, the futures do not.
fn forgiven(model: &SeasonModel, plan: &Plan) -> f64 {
    let lines = plan.lines.iter().filter_map(|it| {
        let line = model.lines.iter().find(|line| line.id == it.order)?;
        Some(it.short.min(line.tolerance * line.plants) * line.short_cost)
    });
    lines.sum()
}

/// A function of each future, in their order.
fn on_two_threads<T: Send>(futures: u32, work: impl Fn(u32) -> T + Sync) -> Vec<T> {
    let half = futures.div_ceil(2);
    let work = &work;
    std::thread::scope(|scope| {
        let later = scope.spawn(move || (half..futures).map(work).collect::<Vec<T>>());
        let mut all: Vec<T> = (0..half).map(work).collect();
        all.extend(later.join().expect("no panic"));
        all
    })
}
