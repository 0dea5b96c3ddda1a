//! What happens when a job of the next weeks is not done in its week, found by planning again without it.
//!
//! Shadow prices do not tell: where neighboring weeks are both in use they say that a plant moved from one to the
//! other loses nothing, and no price says what a whole job loses. So the season is planned once more with the start
//! kept at zero and everything else free. What that plan earns less is what the slip costs even when the best is
//! made of it; where it starts more of the same work, and which order lines come short or late, say what the best is.

use std::collections::BTreeSet;
use std::num::NonZero;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use solver::{ColumnId, Options, Solution};

use crate::case::{Case, WHOLE_WEEKS, week_of};
use crate::lp::{self, Column, Lp, Short, Solved, time_left};
use crate::net::Net;
use crate::plan::{Plan, PlanError, PlannedStart};

/// Columns of a model from which on only starts near those in use are weighed for what is made of a slip.
const MANY_COLUMNS: usize = 5_000;

/// More threads than these would have too few jobs each for what a model of their own takes. Own rule.
const MOST_LOOKERS: usize = 8;

/// So many weeks from a start in use the same work is weighed too.
const WEEKS_ASIDE: usize = 3;

/// Plants fewer than these are rounding.
const FEW: f64 = 1e-6;

/// Plants of a whole job and of the plan in real plants that are this close are the same.
const SAME: f64 = 0.5;

/// Differences of plants smaller than this are not told.
const LEAST_TOLD: f64 = 0.05;

/// How slips are looked into.
#[derive(Debug, Clone, Default)]
pub struct SlipOptions {
    /// Longest time to spend in the solver, seconds; the earliest weeks are looked into first. None for no limit.
    pub time_limit_s: Option<f64>,
    /// Threads to use; none leaves the choice to the solver.
    pub threads: Option<u16>,
    /// Set to true from another thread, it ends the look soon with the slips found by then.
    pub stop: Option<Arc<AtomicBool>>,
}

/// A job that is not done in its week, and the best that can be made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// The operation's name.
    pub operation: String,
    /// The job's week.
    pub week: usize,
    /// What the plan earns less without it, money; of all starts that are weighed no better use is made of it.
    pub loss: f64,
    /// Plants more of the same work in other weeks: week, plants.
    pub instead: Vec<(usize, f64)>,
    /// The order lines that come short or late by it.
    pub lines: Vec<LineSlip>,
}

/// What a slip does to an order line.
#[derive(Debug, Clone, PartialEq)]
pub struct LineSlip {
    /// The order line's name.
    pub order: String,
    /// Plants more that are not shipped; below zero where it gets more than before.
    pub short: f64,
    /// Plants more that are late; below zero likewise.
    pub late: f64,
}

/// What happens when each job of the next twelve weeks is not done in its week, in the order of weeks, as far as
/// there is time. `plan` is the best plan of `case`, in real plants or with whole jobs.
///
/// # Errors
///
/// [`PlanError::BadCase`] with everything [`Case::validate`] finds; [`PlanError::Solver`] when the solver refuses
/// the model.
pub fn slips(case: &Case, plan: &Plan, options: &SlipOptions) -> Result<Vec<Slip>, PlanError> {
    let problems = case.validate();
    if !problems.is_empty() {
        return Err(PlanError::BadCase(problems));
    }
    let reduced = reduced(case, plan);
    let net = Net::new(&reduced);
    let lp = lp::build(&net);
    let matrix = lp.model.matrix()?;
    let mut short = Short::new(&net, &lp, &matrix);
    short.add_over_ages(&short.first_over_ages());
    let plain = Options {
        threads: options.threads,
        time_limit_s: options.time_limit_s,
        stop: options.stop.clone(),
        ..Options::default()
    };
    let Solved::Answered(base) = short.solve(plain.clone())? else {
        return Ok(Vec::new());
    };
    let mut look = Look {
        net: &net,
        lines: (0..net.orders.len())
            .map(|order| Line::new(&net, &short, order))
            .collect(),
        unpaid: unpaid(&net, &lp, &short),
        seconds: base.seconds,
        base,
        short,
        options: plain,
        limit: options.time_limit_s,
    };
    let jobs = near_jobs(plan);
    let lookers = lookers(options.threads).min(jobs.len().max(1));
    let of_looker = |looker: usize| jobs.iter().copied().skip(looker).step_by(lookers);
    let mut slips = std::thread::scope(|scope| {
        let others: Vec<_> = (1..lookers)
            .map(|looker| {
                let (mut look, jobs) = (look.clone(), of_looker(looker));
                scope.spawn(move || look.slips(jobs))
            })
            .collect();
        let mut slips = look.slips(of_looker(0))?;
        for other in others {
            match other.join() {
                Ok(found) => slips.extend(found?),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        Ok::<_, PlanError>(slips)
    })?;
    slips.sort_by_key(|it| it.week);
    Ok(slips)
}

/// How many threads look into slips at a time.
fn lookers(threads: Option<u16>) -> usize {
    let here = || std::thread::available_parallelism().map_or(1, NonZero::get);
    threads
        .map_or_else(here, usize::from)
        .clamp(1, MOST_LOOKERS)
}

/// The plan's jobs of the next twelve weeks, the earliest first.
fn near_jobs(plan: &Plan) -> Vec<&PlannedStart> {
    let near = |it: &&PlannedStart| it.week < WHOLE_WEEKS && it.plants >= FEW;
    let mut jobs: Vec<&PlannedStart> = plan.starts.iter().filter(near).collect();
    jobs.sort_by_key(|it| it.week);
    jobs
}

/// The case without the starts that were not weighed and, where it is large, without far ones that no use is made
/// of some weeks before and after.
fn reduced(case: &Case, plan: &Plan) -> Case {
    let net = Net::new(case);
    let is_all = lp::build(&net).columns.len() <= MANY_COLUMNS;
    let used: BTreeSet<(&str, usize)> = plan
        .starts
        .iter()
        .map(|it| (it.operation.as_str(), it.week))
        .collect();
    let mut reduced = case.clone();
    for (operation, it) in net.operations.iter().enumerate() {
        let is_kept = |start: usize| {
            let week = it.starts[start].week;
            let aside = week.saturating_sub(WEEKS_ASIDE)..=week + WEEKS_ASIDE;
            let mut weeks = aside.map(|week| (it.case.id.as_str(), week));
            let is_out = plan
                .unweighed
                .0
                .contains(&Column::Start { operation, start });
            !is_out && (is_all || weeks.any(|at| used.contains(&at)))
        };
        let mut position = 0..;
        let starts = &mut reduced.operations[operation].starts;
        starts.retain(|_| position.next().is_some_and(is_kept));
    }
    reduced
}

/// What of an order line is late and short.
type Served = (f64, f64);

/// The columns of the shorter model in which an order line is served late or not at all.
#[derive(Clone)]
struct Line {
    late: Vec<ColumnId>,
    short: Option<ColumnId>,
}

impl Line {
    fn new(net: &Net, short: &Short, order: usize) -> Self {
        let it = &net.orders[order];
        let weeks = it.weeks.clone().filter(|&week| week_of(week) > it.case.due);
        let late = weeks.flat_map(|week| {
            let accepts = 0..it.accepts.len();
            accepts.map(move |accept| Column::Shipped {
                order,
                accept,
                week,
            })
        });
        Self {
            late: late.filter_map(|it| short.column_of(it)).collect(),
            short: short.column_of(Column::Short { order }),
        }
    }

    fn served(&self, solution: &Solution) -> Served {
        let value = |&column: &ColumnId| solution.columns[column].value.max(0.0);
        let late = self.late.iter().map(value).sum();
        (late, self.short.as_ref().map_or(0.0, value))
    }
}

/// What each unit of a column of the shorter model costs that nobody pays: that it differs from the plan before.
fn unpaid(net: &Net, lp: &Lp, short: &Short) -> Vec<(ColumnId, f64)> {
    let each = |column: Column| match column {
        Column::Start { operation, start } => {
            net.cost_of_new(&net.operations[operation].starts[start])
        }
        Column::Changed { .. } => net.case.cost_of_change(),
        _ => 0.0,
    };
    let columns = lp.columns.keys().map(|&it| (it, each(it)));
    let unpaid = columns.filter(|(_, each)| *each > 0.0);
    unpaid
        .filter_map(|(it, each)| Some((short.column_of(it)?, each)))
        .collect()
}

/// Looks into one slip after another, in the columns of the shorter model.
#[derive(Clone)]
struct Look<'a> {
    net: &'a Net<'a>,
    short: Short<'a>,
    lines: Vec<Line>,
    unpaid: Vec<(ColumnId, f64)>,
    /// The plan with all jobs.
    base: Solution,
    options: Options,
    limit: Option<f64>,
    seconds: f64,
}

impl Look<'_> {
    /// The slips of jobs, as far as there is time.
    fn slips<'p>(
        &mut self,
        jobs: impl Iterator<Item = &'p PlannedStart>,
    ) -> Result<Vec<Slip>, PlanError> {
        let mut slips = Vec::new();
        for job in jobs {
            if self.is_over() {
                break;
            }
            match self.slip(job)? {
                Some(slip) => slips.push(slip),
                None => break,
            }
        }
        Ok(slips)
    }

    fn is_over(&self) -> bool {
        time_left(self.limit, self.seconds).is_some_and(|left| left <= 0.0)
    }

    /// The slip of one job; none where there was no time left or the run was stopped.
    fn slip(&mut self, job: &PlannedStart) -> Result<Option<Slip>, PlanError> {
        let mut slip = Slip {
            operation: job.operation.clone(),
            week: job.week,
            loss: 0.0,
            instead: Vec::new(),
            lines: Vec::new(),
        };
        let Some((operation, column)) = self.column(job) else {
            return Ok(Some(slip));
        };
        let real = self.base.columns[column].value;
        let mut with = None;
        if (real - job.plants).abs() > SAME {
            // The whole job is another than the plan in real plants has: what is lost is counted from it.
            with = self.solved_with(column, job.plants)?;
            if with.is_none() {
                return Ok(None);
            }
        }
        let Some(without) = self.solved_with(column, 0.0)? else {
            return Ok(None);
        };
        let before = with.as_ref().unwrap_or(&self.base);
        slip.loss = (self.cost(&without) - self.cost(before)).max(0.0);
        slip.instead = self.instead(operation, before, &without);
        slip.lines = self.changed(before, &without);
        Ok(Some(slip))
    }

    /// What a plan costs, less what its reserves are worth: without them more would lack in the mean. That it differs from the
    /// plan before is no loss of money.
    fn cost(&self, solution: &Solution) -> f64 {
        let unpaid = self.unpaid.iter();
        let unpaid: f64 = unpaid
            .map(|&(column, each)| each * solution.columns[column].value)
            .sum();
        solution.objective - unpaid
    }

    /// The operation and the column of a job, where the model has it.
    fn column(&self, job: &PlannedStart) -> Option<(usize, ColumnId)> {
        let mut all = self.net.operations.iter();
        let operation = all.position(|it| it.case.id == job.operation)?;
        let mut starts = self.net.operations[operation].starts.iter();
        let start = starts.position(|it| it.week == job.week)?;
        let id = self.short.column_of(Column::Start { operation, start })?;
        Some((operation, id))
    }

    /// The best plan with so many plants of one start; none where the run ended without one.
    fn solved_with(
        &mut self,
        column: ColumnId,
        plants: f64,
    ) -> Result<Option<Solution>, PlanError> {
        let corner = self.base.basis.clone();
        let options = Options {
            time_limit_s: time_left(self.limit, self.seconds),
            start: corner.map(|it| self.short.with_added_rows(it)),
            ..self.options.clone()
        };
        // A job may be larger than real plants allow, by rounding.
        let model = &mut self.short.model;
        model.set_column(column, (plants - SAME).max(0.0), plants);
        let solved = self.short.solve(options);
        self.short.model.set_column(column, 0.0, f64::INFINITY);
        match solved? {
            Solved::Answered(solution) => {
                self.seconds += solution.seconds;
                Ok(Some(solution))
            }
            Solved::Ended(_) => Ok(None),
        }
    }

    /// Where more of an operation is started than in the plan with the job.
    fn instead(
        &self,
        operation: usize,
        before: &Solution,
        without: &Solution,
    ) -> Vec<(usize, f64)> {
        let starts = self.net.operations[operation].starts.iter().enumerate();
        let more = starts.filter_map(|(start, it)| {
            let id = self.short.column_of(Column::Start { operation, start })?;
            let more = without.columns[id].value - before.columns[id].value;
            (more >= SAME).then_some((it.week, more))
        });
        more.collect()
    }

    /// The lines that are served otherwise.
    fn changed(&self, before: &Solution, after: &Solution) -> Vec<LineSlip> {
        let orders = self.net.orders.iter().zip(&self.lines);
        let changed = orders.map(|(it, line)| {
            let (before, after) = (line.served(before), line.served(after));
            LineSlip {
                order: it.case.id.clone(),
                short: after.1 - before.1,
                late: after.0 - before.0,
            }
        });
        changed
            .filter(|it| it.short.abs() >= LEAST_TOLD || it.late.abs() >= LEAST_TOLD)
            .collect()
    }
}
