//! Runs of planner and futures on a loaded nursery.

use std::num::NonZero;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use futures::{Options, SimulateError, Summary, simulate};
use nursery::Nursery;
use planner::{Outcome, Plan, PlanError, PlanOptions};
use season::{PlannedJob, SeasonModel, Trace};

use crate::error::{AppError, Kind};
use crate::folder::Loaded;

/// How runs are made.
#[derive(Debug, Clone, Copy)]
pub struct RunOptions {
    /// Futures drawn.
    pub futures: u32,
    /// Seed of the futures.
    pub seed: u64,
    /// Threads used.
    pub threads: usize,
    /// Longest time for the plan, seconds.
    pub time_limit_s: Option<f64>,
    /// Whether every start of a large season is weighed; it takes minutes.
    pub weigh_all: bool,
}

/// More starts than this make a season large.
const MANY_STARTS: usize = 10_000;

/// Weeks of the periods by which a large season is first looked at: long enough to be quick, short
/// enough to tell spring work from summer work.
const PERIOD: NonZero<usize> = NonZero::new(6).expect("six is not zero");

/// What a run is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Lots, routes and weather become one season.
    Building,
    /// The plan is being found.
    Planning {
        /// Kinds of plant.
        stages: usize,
        /// Kinds of work.
        operations: usize,
        /// Weeks.
        weeks: usize,
    },
    /// Futures are being drawn.
    Futures {
        /// Drawn so far.
        done: u32,
        /// To be drawn.
        of: u32,
    },
}

/// A way to watch a run and to stop it.
#[derive(Clone)]
pub struct Watch<'a> {
    /// Told of progress.
    pub progress: &'a (dyn Fn(Stage) + Sync),
    /// Set to true from elsewhere, it ends the run soon.
    pub stop: Arc<AtomicBool>,
}

/// A planned season.
#[derive(Debug, Clone)]
pub struct PlanRun {
    /// The run's name: the same files, day and version give the same.
    pub run: String,
    /// The nursery as loaded.
    pub nursery: Nursery,
    /// The season.
    pub model: SeasonModel,
    /// The plan in real plants.
    pub plan: Plan,
    /// Its starts as whole jobs.
    pub jobs: Vec<PlannedJob>,
    /// Where plants come from and whom they serve.
    pub trace: Trace,
    /// Notes on the files.
    pub notes: Vec<String>,
}

/// The futures of a plan.
#[derive(Debug, Clone)]
pub struct FuturesRun {
    /// The run's name.
    pub run: String,
    /// Futures drawn.
    pub futures: u32,
    /// Their seed.
    pub seed: u64,
    /// Odds and free plants.
    pub summary: Summary,
}

/// Plans the season of a nursery.
pub fn plan_season(
    loaded: &Loaded,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<PlanRun, AppError> {
    (watch.progress)(Stage::Building);
    let model = season::build(&loaded.nursery, &loaded.weather)
        .map_err(|problems| AppError::of_problems("the nursery", problems))?;
    let case = season::planning_case(&model);
    (watch.progress)(Stage::Planning {
        stages: case.stages.len(),
        operations: case.operations.len(),
        weeks: case.weeks,
    });
    let plan = find_plan(&case, options, watch)?;
    let weighed = not_all_weighed(&case, &plan);
    let jobs = season::jobs(&model, &plan.starts);
    let trace = season::trace(&model, &jobs, &plan.shipments, &plan.discards);
    Ok(PlanRun {
        run: format!("plan-{}", loaded.digest),
        nursery: loaded.nursery.clone(),
        model,
        plan,
        jobs,
        trace,
        notes: loaded.notes.iter().cloned().chain(weighed).collect(),
    })
}

/// Solves a planning case.
pub(crate) fn find_plan(
    case: &planner::Case,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Plan, AppError> {
    let settings = PlanOptions {
        time_limit_s: options.time_limit_s,
        threads: u16::try_from(options.threads).ok(),
        stop: Some(Arc::clone(&watch.stop)),
        start: None,
        period: (!options.weigh_all && starts_of(case) > MANY_STARTS).then_some(PERIOD),
    };
    match planner::plan(case, &settings) {
        Ok(Outcome::Planned(plan)) => Ok(*plan),
        Ok(Outcome::NotPlanned(status)) => Err(AppError::new(
            Kind::Stopped,
            format!("no plan was found ({})", sentence_part(&status)),
            "the planner",
            "give it more time, or plan fewer weeks or routes",
        )),
        Err(PlanError::BadCase(problems)) => Err(bad_case(&problems)),
        Err(error) => Err(AppError::new(
            Kind::Internal,
            error.to_string(),
            "the planner",
            "please report it with the files that led here",
        )),
    }
}

/// What to know of a plan that did not weigh every start.
fn not_all_weighed(case: &planner::Case, plan: &Plan) -> Option<String> {
    (plan.left_out > 0).then(|| {
        format!(
            "The season is large: {} of its {} possible starts were left out after a first look by periods of \
             {PERIOD} weeks, so that the plan may earn a little less than the best one; --weigh-all weighs them all.",
            plan.left_out,
            starts_of(case),
        )
    })
}

/// The starts a case may choose among.
fn starts_of(case: &planner::Case) -> usize {
    case.operations.iter().map(|it| it.starts.len()).sum()
}

/// Words without the full stop, to stand within a sentence.
fn sentence_part(words: &impl ToString) -> String {
    words.to_string().trim_end_matches('.').to_owned()
}

pub(crate) fn bad_case<P: std::fmt::Display>(problems: &[P]) -> AppError {
    const SHOWN: usize = 20;
    let mut what: Vec<String> = problems.iter().take(SHOWN).map(sentence_part).collect();
    if problems.len() > SHOWN {
        what.push(format!("and {} more", problems.len() - SHOWN));
    }
    AppError::new(
        Kind::Invalid,
        what.join("; "),
        "the case",
        "mend it and try again",
    )
}

/// Draws the futures of a planned season.
pub fn futures_of_plan(
    plan: &PlanRun,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<FuturesRun, AppError> {
    let hours = season::hours_for_starts(&plan.model, &plan.jobs, &plan.plan.crew_use);
    let case = season::futures_case(&plan.model, &plan.jobs, &hours, options.seed);
    let summary = draw(&case, options, watch)?;
    Ok(FuturesRun {
        run: format!("{}-{}x{}", plan.run, options.futures, options.seed),
        futures: options.futures,
        seed: options.seed,
        summary,
    })
}

/// Draws the futures of a case.
pub(crate) fn draw(
    case: &futures::case::Case,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Summary, AppError> {
    let settings = Options {
        futures: options.futures,
        seed: options.seed,
        threads: options.threads,
        keep_arrivals: false,
    };
    let progress = |done| {
        (watch.progress)(Stage::Futures {
            done,
            of: options.futures,
        });
    };
    simulate(case, &settings, Some(&progress), Some(&watch.stop)).map_err(|error| match error {
        SimulateError::Invalid(problems) => bad_case(&problems),
        SimulateError::Canceled => AppError::new(
            Kind::Stopped,
            "the futures were stopped",
            "the futures",
            "start them again; nothing was changed",
        ),
    })
}
