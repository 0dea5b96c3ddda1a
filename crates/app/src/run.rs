//! Runs of planner and futures on a loaded nursery.

use std::fmt::Write as _;
use std::num::NonZero;
use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use futures::{Count, Engine, Keep, Options, Part, SimulateError, Stored, Summary, Turnover};
use nursery::Nursery;
use planner::workable::{Found, Workable, WorkableOptions};
use planner::{Outcome, Plan, PlanError, PlanOptions, ShortLine, Slip, SlipOptions, Status};
use season::{Held, Moves, PlannedJob, Round, SeasonModel, Trace};

use crate::error::{AppError, Kind};
use crate::folder::Loaded;
use crate::words::{money_words, of_case};

/// How runs are made.
#[derive(Debug, Clone, Copy)]
pub struct RunOptions {
    /// Futures drawn; a plan without any counts on mean yields.
    pub futures: u32,
    /// Seed of the futures.
    pub seed: u64,
    /// Threads used.
    pub threads: usize,
    /// Longest time for the plan, seconds.
    pub time_limit_s: Option<f64>,
    /// Whether every start of a large season is weighed; it takes minutes.
    pub weigh_all: bool,
    /// Which seasons are protected against luck.
    pub protect: Protect,
}

/// In how many rounds a season is protected against luck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Protect {
    /// None: it is planned at mean yields.
    Never,
    /// A large season in one, any other in as many as gain.
    #[default]
    Soon,
    /// A large season, too, in more than one.
    Longer,
}

/// Futures of each round of protection: enough to tell one round from the next, few enough to take seconds.
const FUTURES_OF_A_ROUND: u32 = 500;

/// Rounds of protection of a large season, the plan at mean yields not counted, where it is to be soon made, and at most
/// where it may take longer.
const ROUNDS_OF_LARGE: usize = 1;
const MORE_ROUNDS_OF_LARGE: usize = 3;

/// More starts than this make a season large.
const MANY_STARTS: usize = 10_000;

/// Weeks of the periods by which a large season is first looked at: long enough to be quick, short
/// enough to tell spring work from summer work.
const PERIOD: NonZero<usize> = NonZero::new(6).expect("six is not zero");

/// Longest time for whole jobs, seconds in the solver; a first plan that keeps the rules is found however long it takes.
const SECONDS_FOR_WHOLE: f64 = 10.0;

/// Longest time to look into what slips of jobs cost, seconds in the solver; the earliest weeks come first.
const SECONDS_FOR_SLIPS: f64 = 15.0;

/// What a run is at.
#[derive(Debug, Clone, Copy, PartialEq)]
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
    /// The plan is being protected against luck.
    Protecting {
        /// The round, the plan at mean yields being round 0.
        round: usize,
        /// Rounds at most.
        of: usize,
        /// What the plan of the round before earns on average, in the currency's own unit.
        expected: f64,
        /// How many of its order lines reach their target.
        at_target: usize,
        /// Those that are safe.
        safe: usize,
        /// Of so many order lines.
        lines: usize,
    },
    /// The plan's first weeks are being put into whole plants and whole jobs.
    Whole {
        /// How many weeks.
        weeks: usize,
    },
    /// What slips of the next weeks' jobs cost is being looked into.
    Slips,
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
    /// The run's name: the same files, day and version give the same, with the number of starts left
    /// out where there are any.
    pub run: String,
    /// The nursery as loaded.
    pub nursery: Nursery,
    /// The season.
    pub model: SeasonModel,
    /// The plan; its first weeks in whole plants and whole jobs, all others in parts of plants.
    pub plan: Plan,
    /// What whole plants and whole jobs cost; none where no weeks are to be whole.
    pub whole: Option<WholeRun>,
    /// Its starts as whole jobs.
    pub jobs: Vec<PlannedJob>,
    /// Where plants come from and whom they serve.
    pub trace: Trace,
    /// What happens when a job of the next weeks is not done in its week, as far as there was time to look.
    pub slips: Vec<Slip>,
    /// How it was protected against luck; none where it counts on mean yields.
    pub protection: Option<Protection>,
    /// Notes on the files.
    pub notes: Vec<String>,
    /// What is planned as if it were otherwise, as it is written.
    pub changes: Vec<String>,
}

/// How a plan was protected against luck.
#[derive(Debug, Clone)]
pub struct Protection {
    /// All rounds, that of the plan at mean yields first.
    pub rounds: Vec<Round>,
    /// The round whose plan was kept.
    pub best: usize,
    /// By order line of the season: plants held in reserve for it.
    pub extra: Vec<f64>,
    /// By order line of the season: why not one more is held for it.
    pub why_no_more: Vec<Option<planner::Why>>,
    /// The odds of the kept round.
    pub odds: Summary,
}

/// What whole plants and whole jobs cost a plan. Money is the case's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WholeRun {
    /// First weeks that are whole.
    pub weeks: usize,
    /// How their jobs were found.
    pub found: Found,
    /// What it costs against the plan in parts of plants.
    pub cost: f64,
    /// The same as a share of that plan's profit.
    pub cost_share: Option<f64>,
    /// No plan with such jobs earns more.
    pub bound: f64,
}

/// A season as pages and answers tell of it.
#[derive(Debug, Clone, Copy)]
pub struct SeasonView<'a> {
    /// The nursery as loaded.
    pub nursery: &'a Nursery,
    /// The season.
    pub model: &'a SeasonModel,
    /// Notes on the files.
    pub notes: &'a [String],
}

impl SeasonView<'_> {
    /// Warnings of the season and notes on the files.
    pub fn warnings(self) -> Vec<String> {
        let all = self.notes.iter().chain(&self.model.warnings);
        all.cloned().collect()
    }
}

/// Plants of a plan are means: what lacks less than half a plant is there.
pub(crate) const LACKS: f64 = 0.5;

impl PlanRun {
    /// The lines that lack plants. Whole jobs leave many a line some hundredths short.
    pub fn short_lines(&self) -> impl Iterator<Item = &ShortLine> {
        self.plan.short.iter().filter(|it| it.plants >= LACKS)
    }

    /// What happens when a job is not done in its week, where that was looked into.
    pub fn slip_of(&self, job: &PlannedJob) -> Option<&Slip> {
        let id = &self.model.operations[job.operation].id;
        let mut slips = self.slips.iter();
        slips.find(|it| it.week == job.week && it.operation == *id)
    }

    /// What the plan earns where all comes as expected, money.
    pub fn planned_profit(&self) -> f64 {
        self.plan.profit - self.plan.money.unpaid()
    }

    /// What the plan earns, money: in the mean of its futures, where it is protected.
    pub fn profit(&self) -> f64 {
        let kept = self.protection.as_ref().map(|it| it.rounds[it.best]);
        kept.map_or_else(|| self.planned_profit(), |round| round.expected)
    }

    /// The season that is planned.
    pub fn season(&self) -> SeasonView<'_> {
        SeasonView {
            nursery: &self.nursery,
            model: &self.model,
            notes: &self.notes,
        }
    }
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
    let model = season_after(loaded)?;
    if watch.stop.load(Ordering::Relaxed) {
        return Err(no_plan(Status::Stopped));
    }
    (watch.progress)(Stage::Planning {
        stages: model.stages.len(),
        operations: model.operations.len(),
        weeks: model.weeks,
    });
    let (real, case, protection) =
        found_plan(&model, &loaded.nursery.settings.currency, options, watch)?;
    let (plan, whole) = make_workable(&case, real, options, watch)?;
    let jobs = season::jobs(&model, &plan.starts);
    let weighed = not_all_weighed(plan.left_out, plan.possible_starts);
    let moves = Moves {
        shipments: &plan.shipments,
        discards: &plan.discards,
        held: &Held::of_plan(&model, &case, &plan),
    };
    let trace = season::trace(&model, &jobs, &moves);
    let seed = protection.as_ref().map(|_| options.seed);
    Ok(PlanRun {
        run: run_name(
            &loaded.digest,
            plan.left_out,
            seed.map(|seed| (seed, options.protect)),
        ),
        nursery: loaded.nursery.clone(),
        model,
        whole,
        slips: found_slips(&case, &plan, options, watch)?,
        plan,
        jobs,
        trace,
        protection,
        notes: loaded.notes.iter().cloned().chain(weighed).collect(),
        changes: loaded.changes.clone(),
    })
}

/// The season of a nursery, with the jobs of the plan before that lie within it.
fn season_after(loaded: &Loaded) -> Result<SeasonModel, AppError> {
    let mut model = season::build(&loaded.nursery, &loaded.weather)
        .map_err(|problems| AppError::of_problems("the nursery", problems))?;
    model.before.clone_from(&loaded.before);
    model.before.retain(|it| it.week < model.weeks);
    Ok(model)
}

/// Rounds of protection of a season with so many starts at most. Without futures there is no telling luck.
fn rounds(options: &RunOptions, starts: usize) -> usize {
    match options.protect {
        _ if options.futures == 0 => 0,
        Protect::Never => 0,
        _ if starts <= MANY_STARTS => season::ROUNDS,
        Protect::Soon => ROUNDS_OF_LARGE,
        Protect::Longer => MORE_ROUNDS_OF_LARGE,
    }
}

/// A season's plan in parts of plants and the case that it is the best plan of, protected against luck where
/// that is wanted.
fn found_plan(
    model: &SeasonModel,
    currency: &str,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<(Plan, planner::Case, Option<Protection>), AppError> {
    let case = season::planning_case(model);
    if rounds(options, starts_of(&case)) > 0 {
        let (plan, case, protection) = protected_plan(model, currency, options, watch)?;
        Ok((plan, case, Some(protection)))
    } else {
        let plan = find_plan(&case, options, watch)?;
        Ok((plan, case, None))
    }
}

/// Plans a season in rounds with its futures. The case is that of the round whose plan was kept, with its
/// reserves.
fn protected_plan(
    model: &SeasonModel,
    currency: &str,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<(Plan, planner::Case, Protection), AppError> {
    let mut rounds = Rounds {
        currency,
        options,
        watch,
        last: None,
    };
    let protected = season::protect(model, options.seed, &mut rounds)?;
    let protected = protected.ok_or_else(|| no_plan(Status::TimeLimit))?;
    let protection = Protection {
        rounds: protected.rounds,
        best: protected.best,
        extra: protected.extra,
        why_no_more: protected.why_no_more,
        odds: protected.odds,
    };
    Ok((protected.plan, protected.case, protection))
}

/// Finds and plays the plans of the rounds.
struct Rounds<'a> {
    currency: &'a str,
    options: &'a RunOptions,
    watch: &'a Watch<'a>,
    /// What the last round came to.
    last: Option<Round>,
}

impl season::Player for Rounds<'_> {
    type Error = AppError;

    fn rounds(&self, case: &planner::Case) -> usize {
        rounds(self.options, starts_of(case))
    }

    fn plan(
        &mut self,
        round: usize,
        case: &planner::Case,
        before: Option<&Plan>,
    ) -> Result<Option<Plan>, AppError> {
        let Some(before) = before else {
            return find_plan(case, self.options, self.watch).map(Some);
        };
        let is_large = starts_of(case) > MANY_STARTS;
        let of = self.rounds(case);
        if let Some(last) = self.last {
            (self.watch.progress)(Stage::Protecting {
                round,
                of,
                expected: of_case(last.expected, self.currency),
                at_target: last.at_target,
                safe: last.safe,
                lines: last.lines,
            });
        }
        let settings = PlanOptions {
            start: before.basis.clone(),
            anew: is_large,
            leave_out: Some(before.unweighed.clone()),
            ..plan_options(self.options, self.watch)
        };
        match solved(case, &settings)? {
            Outcome::Planned(plan) => Ok(Some(*plan)),
            Outcome::NotPlanned(Status::Stopped) => Err(no_plan(Status::Stopped)),
            // The plan of an earlier round stands.
            Outcome::NotPlanned(_) => Ok(None),
        }
    }

    fn play(
        &mut self,
        _round: usize,
        case: &futures::case::Case,
        count: &Count,
    ) -> Result<(Summary, Turnover), AppError> {
        let engine = Engine::try_new(case).map_err(|error| no_futures(&error))?;
        let (tally, turnover) = engine
            .count(
                0..FUTURES_OF_A_ROUND,
                &settings(self.options),
                count,
                None,
                Some(&self.watch.stop),
            )
            .map_err(|error| no_futures(&error))?;
        Ok((engine.summary(&tally), turnover))
    }

    fn came_to(&mut self, _round: usize, came_to: &Round) {
        self.last = Some(*came_to);
    }
}

/// Solves a planning case.
pub(crate) fn find_plan(
    case: &planner::Case,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Plan, AppError> {
    let settings = PlanOptions {
        period: period(starts_of(case), options.weigh_all),
        ..plan_options(options, watch)
    };
    match solved(case, &settings)? {
        Outcome::Planned(plan) => Ok(*plan),
        Outcome::NotPlanned(status) => Err(no_plan(status)),
    }
}

fn plan_options(options: &RunOptions, watch: &Watch<'_>) -> PlanOptions {
    PlanOptions {
        time_limit_s: options.time_limit_s,
        threads: u16::try_from(options.threads).ok(),
        stop: Some(Arc::clone(&watch.stop)),
        ..PlanOptions::default()
    }
}

fn solved(case: &planner::Case, settings: &PlanOptions) -> Result<Outcome, AppError> {
    planner::plan(case, settings).map_err(no_case)
}

/// Why a case was not planned at all.
fn no_case(error: PlanError) -> AppError {
    match error {
        PlanError::BadCase(problems) => bad_case(&problems),
        PlanError::Solver(error) => AppError::new(
            Kind::Internal,
            error.to_string(),
            "the planner",
            "please report it with the files that led here",
        ),
    }
}

/// Puts a plan's first weeks into whole plants and whole jobs, where the case asks for any.
pub(crate) fn make_workable(
    case: &planner::Case,
    linear: Plan,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<(Plan, Option<WholeRun>), AppError> {
    let weeks = case.near_weeks();
    if weeks == 0 || !case.asks_for_whole() {
        return Ok((linear, None));
    }
    (watch.progress)(Stage::Whole { weeks });
    match workable(case, &linear, options, watch)? {
        Some(found) => {
            let whole = WholeRun {
                weeks: found.whole_weeks,
                found: found.found,
                cost: found.cost_of_whole,
                cost_share: found.cost_share,
                bound: found.bound,
            };
            Ok((found.plan, Some(whole)))
        }
        None => Err(no_plan(Status::Stopped)),
    }
}

/// A workable plan; none where the run was stopped.
fn workable(
    case: &planner::Case,
    linear: &Plan,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Option<Workable>, AppError> {
    let settings = WorkableOptions {
        time_limit_s: Some(SECONDS_FOR_WHOLE),
        threads: u16::try_from(options.threads).ok(),
        stop: Some(Arc::clone(&watch.stop)),
        ..WorkableOptions::default()
    };
    planner::workable(case, linear, &settings).map_err(no_case)
}

/// What happens when jobs of the next weeks slip.
fn found_slips(
    case: &planner::Case,
    plan: &Plan,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Vec<Slip>, AppError> {
    (watch.progress)(Stage::Slips);
    let settings = SlipOptions {
        time_limit_s: Some(SECONDS_FOR_SLIPS),
        threads: u16::try_from(options.threads).ok(),
        stop: Some(Arc::clone(&watch.stop)),
    };
    planner::slips(case, plan, &settings).map_err(no_case)
}

/// Why there is no plan, and what to do.
fn no_plan(status: Status) -> AppError {
    let (kind, what, mend) = match status {
        Status::TimeLimit => (
            Kind::Stopped,
            "the time was up before a plan was found".to_owned(),
            "give it more time, or plan fewer weeks or routes",
        ),
        Status::Stopped => return stopped("the planner", "the plan was stopped"),
        Status::Unbounded | Status::InfeasibleOrUnbounded => (
            Kind::Invalid,
            "no plan is best: something earns without limit".to_owned(),
            "look for work that costs nothing, or plants that earn when thrown out",
        ),
        status => (
            Kind::Stopped,
            format!("no plan was found ({})", status.word()),
            "look for numbers far larger or smaller than the rest, or plan fewer weeks or routes",
        ),
    };
    AppError::new(kind, what, "the planner", mend)
}

/// The failure of a run that was asked to end.
fn stopped(place: &str, what: &str) -> AppError {
    let mend = "start it again; nothing was changed";
    AppError::new(Kind::Stopped, what, place, mend)
}

/// The periods by which a season with so many starts is first looked at; none where all are weighed.
fn period(starts: usize, weigh_all: bool) -> Option<NonZero<usize>> {
    (!weigh_all && starts > MANY_STARTS).then_some(PERIOD)
}

/// A plan's name. Plans of the same files that weighed other starts are other plans, and so are those that were
/// protected against the luck of a seed's futures, and those that were so for longer.
fn run_name(digest: &str, left_out: usize, protected: Option<(u64, Protect)>) -> String {
    let mut name = format!("plan-{digest}");
    if left_out > 0 {
        let _ = write!(name, "-less-{left_out}");
    }
    if let Some((seed, protect)) = protected {
        let _ = write!(name, "-protected-{seed}");
        if protect == Protect::Longer {
            name.push_str("-longer");
        }
    }
    name
}

/// What to know of a plan that did not weigh every start.
fn not_all_weighed(left_out: usize, possible: usize) -> Option<String> {
    (left_out > 0).then(|| {
        format!(
            "The season is large: {} of its {} possible starts were left out after a first look by periods of \
             {PERIOD} weeks, so that the plan may earn a little less than the best one. A plan that weighs every start takes \
             minutes more.",
            money_words(left_out as f64),
            money_words(possible as f64),
        )
    })
}

/// The starts a case lists.
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
fn draw(
    case: &futures::case::Case,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Summary, AppError> {
    draw_part(case, 0..options.futures, options, watch).map(|part| part.summary())
}

/// Draws some futures of a case, by their numbers.
pub(crate) fn draw_part(
    case: &futures::case::Case,
    which: Range<u32>,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<Part, AppError> {
    let progress = told(which.len() as u32, watch);
    Part::draw(
        case,
        which,
        &settings(options),
        Some(&progress),
        Some(&watch.stop),
    )
    .map_err(|error| no_futures(&error))
}

/// Draws the futures of a case and stores them, to be asked what may be promised.
pub(crate) fn drawn(
    case: &futures::case::Case,
    keep: &Keep,
    options: &RunOptions,
    watch: &Watch<'_>,
) -> Result<(Summary, Stored), AppError> {
    let progress = told(options.futures, watch);
    let engine = Engine::try_new(case).map_err(|error| no_futures(&error))?;
    let (tally, stored) = engine
        .store(
            0..options.futures,
            &settings(options),
            keep,
            Some(&progress),
            Some(&watch.stop),
        )
        .map_err(|error| no_futures(&error))?;
    Ok((engine.summary(&tally), stored))
}

fn settings(options: &RunOptions) -> Options {
    Options {
        futures: options.futures,
        seed: options.seed,
        threads: options.threads,
        keep_arrivals: false,
    }
}

fn told(of: u32, watch: &Watch<'_>) -> impl Fn(u32) + Sync {
    move |done| (watch.progress)(Stage::Futures { done, of })
}

fn no_futures(error: &SimulateError) -> AppError {
    match error {
        SimulateError::Invalid(problems) => bad_case(problems),
        SimulateError::Canceled => stopped("the futures", "they were stopped"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// So many kinds of work, each of which may be started in each of 100 weeks; ten trees are wanted.
    fn case_of_many_starts(kinds: usize) -> planner::Case {
        let starts: Vec<_> = (0..100)
            .map(|week| serde_json::json!({"week": week, "ready_after": [[1, 0.5]]}))
            .collect();
        let operations: Vec<_> = (0..kinds)
            .map(|kind| {
                serde_json::json!({"id": format!("sow {kind}"), "takes_from": null, "moves_to": "tree",
                    "cost_per_plant": 1 + kind, "starts": starts})
            })
            .collect();
        serde_json::from_value(serde_json::json!({
            "format": 2, "weeks": 100, "crews": [], "supplies": [],
            "places": [{"id": "yard", "area_m2": 100, "excess_cost_per_m2_week": 1}],
            "stages": [{"id": "tree", "place": "yard", "area_m2_per_plant": 0.1,
                "over_age_after_weeks": 9, "wait_cost_per_plant_week": 0.1}],
            "operations": operations,
            "orders": [{"id": "A", "accepts": [{"stage": "tree", "price": 30}], "plants": 10,
                "earliest": 50, "due": 52, "latest": 53, "short_cost_per_plant": 5}]
        }))
        .expect("a case")
    }

    fn plan_of(case: &planner::Case, weigh_all: bool) -> Plan {
        let options = RunOptions {
            futures: 0,
            seed: 1,
            threads: 1,
            time_limit_s: None,
            weigh_all,
            protect: Protect::Never,
        };
        let watch = Watch {
            progress: &|_| {},
            stop: Arc::new(AtomicBool::new(false)),
        };
        find_plan(case, &options, &watch).expect("a plan")
    }

    #[test]
    fn a_season_is_large_above_ten_thousand_starts() {
        assert_eq!(period(10_000, false), None);
        assert_eq!(period(10_001, false), NonZero::new(6));
        assert_eq!(period(1_000_000, true), None);
    }

    #[test]
    fn a_large_season_has_fewer_rounds() {
        let of = |protect, futures, starts| {
            let options = RunOptions {
                futures,
                seed: 1,
                threads: 1,
                time_limit_s: None,
                weigh_all: false,
                protect,
            };
            rounds(&options, starts)
        };
        for protect in [Protect::Soon, Protect::Longer] {
            assert_eq!(of(protect, 1, 10_000), season::ROUNDS);
            assert_eq!(of(protect, 0, 1), 0);
        }
        assert_eq!(of(Protect::Soon, 1, 10_001), 1);
        assert_eq!(of(Protect::Longer, 1, 1_000_000), 3);
        assert_eq!(of(Protect::Never, 1, 1), 0);
    }

    #[test]
    fn only_large_seasons_leave_starts_out_and_only_if_they_may() {
        assert_eq!(plan_of(&case_of_many_starts(100), false).left_out, 0);
        let large = case_of_many_starts(101);
        let looked = plan_of(&large, false);
        let whole = plan_of(&large, true);
        assert_eq!(whole.left_out, 0);
        assert!(looked.left_out > 5_000, "{}", looked.left_out);
        assert_eq!(
            (looked.possible_starts, starts_of(&large)),
            (10_100, 10_100)
        );
        assert!((looked.profit - whole.profit).abs() < 1e-3);
    }

    #[test]
    fn near_weeks_are_whole_where_a_case_asks_for_it() {
        let options = RunOptions {
            futures: 0,
            seed: 1,
            threads: 1,
            time_limit_s: None,
            weigh_all: true,
            protect: Protect::Never,
        };
        let told = std::sync::Mutex::new(Vec::new());
        let watch = Watch {
            progress: &|stage| told.lock().expect("nobody panicked").push(stage),
            stop: Arc::new(AtomicBool::new(false)),
        };
        let mut case = case_of_many_starts(1);
        case.orders[0].plants = 9.3;
        let workable = |case: &planner::Case| {
            let linear = find_plan(case, &options, &watch).expect("a plan");
            make_workable(case, linear, &options, &watch).expect("a plan")
        };
        let (linear, none) = workable(&case);
        assert_eq!(none, None);
        assert!(linear.starts.iter().any(|it| it.plants.fract() > 1e-3));
        case.whole_weeks = Some(100);
        case.operations[0].multiple_of = Some(4.0);
        let (plan, whole) = workable(&case);
        let whole = whole.expect("the case asks for whole plants");
        assert!(plan.starts.iter().all(|it| it.plants % 4.0 < 1e-6));
        assert!((whole.cost - (linear.profit - plan.profit)).abs() < 1e-6 && whole.cost > 0.0);
        assert_eq!(
            *told.lock().expect("nobody panicked"),
            [Stage::Whole { weeks: 100 }]
        );
    }

    #[test]
    fn what_was_left_out_is_said_and_named() {
        assert_eq!(not_all_weighed(0, 12_345), None);
        let words = not_all_weighed(1_135, 25_566).expect("a warning");
        assert!(
            words.contains("1\u{202f}135 of its 25\u{202f}566 possible starts were left out"),
            "{words}"
        );
        assert!(words.contains("periods of 6 weeks") && words.contains("weighs every start"));
        assert_eq!(run_name("ab12", 0, None), "plan-ab12");
        assert_ne!(run_name("ab12", 7, None), run_name("ab12", 8, None));
        let protected = |seed, how| run_name("ab12", 7, Some((seed, how)));
        assert_ne!(run_name("ab12", 7, None), protected(1, Protect::Soon));
        assert_ne!(protected(2, Protect::Soon), protected(1, Protect::Soon));
        assert_ne!(protected(1, Protect::Longer), protected(1, Protect::Soon));
    }

    #[test]
    fn why_there_is_no_plan_reads_as_one_sentence() {
        let said = no_plan(Status::TimeLimit).to_string();
        assert_eq!(
            said,
            "the planner: the time was up before a plan was found; give it more time, or plan fewer \
             weeks or routes."
        );
        for status in [
            Status::TimeLimit,
            Status::Stopped,
            Status::Unbounded,
            Status::Failed,
            Status::Infeasible,
        ] {
            let error = no_plan(status);
            assert!(error.what.starts_with(char::is_lowercase), "{error}");
            let is_invalid = status == Status::Unbounded;
            assert_eq!(error.kind == Kind::Invalid, is_invalid, "{error}");
        }
    }
}
