//! Answers with the fixed keys of the program's contract, the same for every screen.

mod changed;
mod in_hand;
mod odds;

use serde::{Deserialize, Serialize};

pub use crate::reasons::words::{resource_words, scarce_prices, why_below, why_short};
use crate::reasons::{self, GivenUpAnswer, ScarcestAnswer, WhyAnswer};
use crate::run::{FuturesRun, PlanRun, WholeRun};
use crate::words::{MINOR, Words};
use futures::Driver;
use nursery::Nursery;
use season::{PlannedJob, Round, SupplyKey, SupplyUse, Taken};

use changed::agreed;
pub use changed::{AgreedAnswer, ChangedAnswer};
pub use in_hand::{CutAnswer, ToOrderAnswer};
use in_hand::{cuts, to_order};
pub use odds::{
    CauseAnswer, FreeAnswer, FuturesAnswer, OddsAnswer, ProductAnswer, SurpriseAnswer, WeeksAnswer,
    futures_answer,
};

/// Shadow prices below this (minor units) are not worth a word.
const LEAST_PRICE: i64 = 1;

/// `plan --json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanAnswer {
    /// The run's name.
    pub run: String,
    /// How the run ended.
    pub status: String,
    /// What was planned as if it were otherwise, each as it is written.
    #[serde(default)]
    pub changes: Vec<String>,
    /// Starts that were not weighed; the plan is the best of the others.
    pub left_out: usize,
    /// Seconds it took.
    pub seconds: f64,
    /// What the plan earns, minor units; the worth of what is left counts.
    pub profit: i64,
    /// Currency of all money.
    pub currency: String,
    /// Rows of the linear model.
    pub rows: usize,
    /// Columns of the linear model.
    pub columns: usize,
    /// Jobs by week.
    pub jobs: Vec<JobAnswer>,
    /// Every order line.
    pub lines: Vec<LineAnswer>,
    /// What is scarce, dearest first.
    pub scarce: Vec<ScarceAnswer>,
    /// Order lines that go short.
    pub short: Vec<ShortAnswer>,
    /// Why each job of the next twelve weeks; none in plans kept before it was told.
    #[serde(default)]
    pub why: Vec<WhyAnswer>,
    /// The three scarcest things of the season, the scarcest first; none as above.
    #[serde(default)]
    pub scarcest: Vec<ScarcestAnswer>,
    /// What order lines that go short or late gave up, and for whom; none as above.
    #[serde(default)]
    pub given_up: Vec<GivenUpAnswer>,
    /// What the plan earns in the mean of its futures, minor units; none of a plan at mean yields.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_profit: Option<i64>,
    /// The rounds of protection against luck, that of the plan at mean yields first; none of such a plan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rounds: Vec<RoundAnswer>,
    /// How its next weeks differ from the plan that was accepted when it was made; none where none was.
    #[serde(default)]
    pub agreed: Option<AgreedAnswer>,
    /// Budsticks to cut, week by week; none in plans kept before they were told.
    #[serde(default)]
    pub cuts: Vec<CutAnswer>,
    /// Seed, buds and liners to order, the first first; none in plans kept before they were told.
    #[serde(default)]
    pub to_order: Vec<ToOrderAnswer>,
    /// Hours of every crew; none in plans kept before they were told.
    #[serde(default)]
    pub crews: Vec<CrewAnswer>,
    /// What whole plants and whole jobs cost; none where the plan is in parts of plants throughout.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub whole: Option<WholeAnswer>,
    /// What the user should know.
    pub warnings: Vec<String>,
    /// Hours that can go into starting jobs, crew by crew.
    #[serde(default)]
    pub start_hours: Vec<StartHours>,
}

impl PlanAnswer {
    /// What the plan earns, minor units: in the mean of its futures, where it has them.
    pub fn earns(&self) -> i64 {
        self.expected_profit.unwrap_or(self.profit)
    }
}

/// One round of protection: a plan and what its futures say of it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RoundAnswer {
    /// Its number; the plan at mean yields is round 0.
    pub round: usize,
    /// Whether its plan was kept.
    pub kept: bool,
    /// What it earns where all comes as expected, minor units.
    pub profit: i64,
    /// What it earns in the mean of its futures, minor units.
    pub expected_profit: i64,
    /// Order lines planned for; expected demand is none of them.
    pub lines: usize,
    /// Those whose odds of being on time reach their target.
    pub at_target: usize,
    /// Those on time in 95 of 100 futures and more.
    pub safe: usize,
    /// How many are on time in the mean of the futures.
    pub on_time: f64,
    /// Trees raised beyond those of the plan at mean yields.
    pub extra: f64,
}

/// What whole plants and whole jobs cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WholeAnswer {
    /// First weeks in whole plants and whole jobs.
    pub weeks: usize,
    /// How the jobs were found: `best`, `time up` or `rounded`.
    pub found: String,
    /// What it costs against the plan in parts of plants, minor units.
    pub cost_of_whole: i64,
    /// The same, of the profit of the plan in parts of plants; none where that is nothing.
    pub cost_share: Option<f64>,
    /// No plan with such jobs earns more than this, minor units.
    pub bound: i64,
}

/// Hours of a crew that can go into starting jobs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StartHours {
    /// The crew.
    pub crew: String,
    /// By week, from the plan's first on.
    pub hours: Vec<f64>,
}

/// One job.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct JobAnswer {
    /// Its name.
    pub job: String,
    /// The act to record.
    pub operation: String,
    /// The route step.
    pub step: String,
    /// ISO week.
    pub week: String,
    /// The standing lot that most of its plants come from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Rootstock.
    pub rootstock: String,
    /// Variety, once budded.
    pub variety: Option<String>,
    /// Size, of finished trees.
    pub size: Option<String>,
    /// Place moved to.
    pub place: String,
    /// Plants.
    pub plants: u32,
    /// Crew that starts it.
    pub crew: Option<String>,
    /// Hours of the start.
    pub hours: f64,
    /// Hours of the work that follows, week by week.
    pub later: Vec<LaterAnswer>,
    /// Supplies and materials.
    pub supplies: Vec<SupplyAnswer>,
    /// Lots and earlier jobs its plants come from.
    pub from: Vec<FromAnswer>,
    /// Order lines its plants end in.
    pub serves: Vec<ServesAnswer>,
    /// In the week's work: what its plan says is lost when it is not done in its week.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slip: Option<String>,
}

/// Work that follows a job.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct LaterAnswer {
    /// ISO week.
    pub week: String,
    /// What is done.
    pub job: String,
    /// By whom.
    pub crew: String,
    /// Hours.
    pub hours: f64,
}

/// A supply and how much.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SupplyAnswer {
    /// The supply.
    pub supply: String,
    /// How much.
    pub amount: f64,
}

/// A source of a job's plants.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct FromAnswer {
    /// A standing lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// An earlier job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// Plants, on average.
    pub plants: f64,
}

/// An order line that a job serves.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ServesAnswer {
    /// Order and line.
    pub line: String,
    /// Trees of it that come from the job, on average.
    pub trees: f64,
}

/// The hours of a crew over the whole plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CrewAnswer {
    /// The crew.
    pub crew: String,
    /// Hours of its work, by whomever they are worked.
    pub hours: f64,
    /// Hours hired for it.
    pub hired: f64,
}

/// One order line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LineAnswer {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Whether it is expected demand, which nobody has ordered yet.
    pub on_spec: bool,
    /// Plants ordered.
    pub plants: u32,
    /// Plants the plan ships by the due week.
    pub planned_on_time: f64,
    /// Plants the plan ships later.
    pub planned_late: f64,
    /// Odds that it is complete by the due week; none where no futures were drawn.
    pub on_time: Option<f64>,
    /// Odds that it is complete by its last week.
    pub by_latest: Option<f64>,
    /// Odds to aim at.
    pub target: f64,
    /// Plants held in reserve for it, beyond those ordered.
    #[serde(default)]
    pub extra: f64,
    /// Why its odds stay below the target; none where they do not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub why_below: Option<String>,
    /// Standing lots and jobs of the plan that its plants come from, on average.
    #[serde(default)]
    pub from: Vec<FromAnswer>,
}

/// Something scarce.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScarceAnswer {
    /// What.
    pub what: String,
    /// ISO week; none where it keeps over several.
    pub week: Option<String>,
    /// What one unit more is worth, minor units.
    pub price: i64,
    /// The unit.
    pub unit: String,
}

/// A line that goes short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShortAnswer {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Plants short.
    pub plants: f64,
    /// Why.
    pub why: String,
}

/// The answer of a plan, with odds where futures were drawn.
pub fn plan_answer(run: &PlanRun, odds: Option<&FuturesRun>, seconds: f64) -> PlanAnswer {
    PlanAnswer {
        run: run.run.clone(),
        changes: run.changes.clone(),
        status: run.plan.status.word().to_owned(),
        left_out: run.plan.left_out,
        seconds,
        profit: minor(run.planned_profit()),
        currency: run.nursery.settings.currency.clone(),
        rows: run.plan.rows,
        columns: run.plan.columns,
        jobs: (0..run.jobs.len())
            .map(|index| job_answer(run, index))
            .collect(),
        lines: line_answers(run, odds),
        scarce: scarce(run),
        short: short(run),
        why: reasons::why_of_jobs(run),
        scarcest: reasons::scarcest(run),
        given_up: reasons::given_up(run),
        expected_profit: kept_round(run).map(|round| minor(round.expected)),
        rounds: rounds(run),
        agreed: agreed(run),
        cuts: cuts(run),
        to_order: to_order(run),
        crews: crews(run),
        whole: run.whole.as_ref().map(whole_answer),
        warnings: run.season().warnings(),
        start_hours: start_hours(run),
    }
}

/// The round whose plan was kept.
fn kept_round(run: &PlanRun) -> Option<&Round> {
    let protection = run.protection.as_ref()?;
    protection.rounds.get(protection.best)
}

fn rounds(run: &PlanRun) -> Vec<RoundAnswer> {
    let Some(protection) = &run.protection else {
        return Vec::new();
    };
    let rounds = protection.rounds.iter().enumerate();
    let rounds = rounds.map(|(number, round)| RoundAnswer {
        round: number,
        kept: number == protection.best,
        profit: minor(round.planned),
        expected_profit: minor(round.expected),
        lines: round.lines,
        at_target: round.at_target,
        safe: round.safe,
        on_time: cents(round.on_time),
        extra: cents(round.extra),
    });
    rounds.collect()
}

fn whole_answer(whole: &WholeRun) -> WholeAnswer {
    WholeAnswer {
        weeks: whole.weeks,
        found: whole.found.word().to_owned(),
        cost_of_whole: minor(whole.cost),
        cost_share: whole.cost_share,
        bound: minor(whole.bound),
    }
}

fn start_hours(run: &PlanRun) -> Vec<StartHours> {
    let hours = season::hours_for_starts(&run.model, &run.jobs, &run.plan.crew_use);
    let crews = hours.into_iter().map(|(crew, hours)| StartHours {
        crew,
        hours: hours.into_iter().map(cents).collect(),
    });
    crews.collect()
}

/// What decides a line's odds most.
pub fn driver_words(driver: Driver) -> &'static str {
    match driver {
        Driver::None => "on time in every future",
        Driver::TooFewPlants => "too few plants",
        Driver::TooLate => "plants come too late",
    }
}

pub(crate) fn minor(money: f64) -> i64 {
    (money * MINOR).round() as i64
}

pub(crate) fn cents(value: f64) -> f64 {
    // Nothing is never less than nothing.
    (value * 100.0).round() / 100.0 + 0.0
}

fn job_answer(run: &PlanRun, index: usize) -> JobAnswer {
    let job = &run.jobs[index];
    let operation = &run.model.operations[job.operation];
    let into = &run.model.stages[operation.into];
    let step = run.nursery.catalogue.routes.steps.get(&operation.step);
    let plants = f64::from(job.plants);
    let first = operation.work.iter().find(|work| work.after_weeks == 0);
    let from: Vec<FromAnswer> = run.trace.taken[index]
        .iter()
        .map(|taken| from_answer(run, taken))
        .collect();
    let most = |one: &&FromAnswer, other: &&FromAnswer| one.plants.total_cmp(&other.plants);
    JobAnswer {
        job: job.job.clone(),
        operation: step.map_or_else(String::new, |step| step.operation.clone()),
        step: operation.step.to_string(),
        week: run.model.calendar.iso(job.week as i64),
        lot: from
            .iter()
            .filter(|from| from.lot.is_some())
            .max_by(most)
            .and_then(|f| f.lot.clone()),
        rootstock: into.rootstock.to_string(),
        variety: into.variety.as_ref().map(ToString::to_string),
        size: into.size.as_ref().map(ToString::to_string),
        place: into.place.to_string(),
        plants: job.plants,
        crew: first.map(|work| work.crew.to_string()),
        hours: cents(first.map_or(0.0, |work| work.hours) * plants),
        later: later(run, job),
        supplies: supplies(run, job),
        from,
        serves: run.trace.serves[index].iter().map(serves_answer).collect(),
        slip: None,
    }
}

fn later(run: &PlanRun, job: &PlannedJob) -> Vec<LaterAnswer> {
    run.model.operations[job.operation]
        .work
        .iter()
        .filter(|work| work.after_weeks > 0)
        .map(|work| LaterAnswer {
            week: run
                .model
                .calendar
                .iso(job.week as i64 + i64::from(work.after_weeks)),
            job: work.job.clone(),
            crew: work.crew.to_string(),
            hours: cents(work.hours * f64::from(job.plants)),
        })
        .collect()
}

/// Supplies and materials of a job.
pub fn supplies(run: &PlanRun, job: &PlannedJob) -> Vec<SupplyAnswer> {
    let operation = &run.model.operations[job.operation];
    let plants = f64::from(job.plants);
    // A license is nothing to bring along.
    let is_thing = |need: &&SupplyUse| {
        let of = &run.model.supplies[need.supply].of;
        !matches!(of, SupplyKey::License(_))
    };
    let limited = operation
        .uses
        .iter()
        .filter(is_thing)
        .map(|need| (run.model.supplies[need.supply].id.clone(), need.each));
    let bought = operation
        .materials
        .iter()
        .map(|need| (need.name.clone(), need.each));
    limited
        .chain(bought)
        .map(|(supply, each)| SupplyAnswer {
            supply,
            amount: cents(each * plants),
        })
        .collect()
}

fn from_answer(run: &PlanRun, taken: &Taken) -> FromAnswer {
    match taken {
        Taken::Lot { lot, plants } => FromAnswer {
            lot: Some(run.model.standing[*lot].lot.to_string()),
            job: None,
            plants: cents(*plants),
        },
        Taken::Job { job, plants } => FromAnswer {
            lot: None,
            job: Some(run.jobs[*job].job.clone()),
            plants: cents(*plants),
        },
    }
}

/// What a line is served from, each source once.
fn shipped_from(run: &PlanRun, line: &str) -> Vec<FromAnswer> {
    let mut sources: Vec<FromAnswer> = Vec::new();
    for taken in run.trace.shipped.get(line).into_iter().flatten() {
        let it = from_answer(run, taken);
        match sources
            .iter_mut()
            .find(|known| known.lot == it.lot && known.job == it.job)
        {
            Some(known) => known.plants = cents(known.plants + it.plants),
            None => sources.push(it),
        }
    }
    sources
}

fn serves_answer(served: &season::Served) -> ServesAnswer {
    ServesAnswer {
        line: served.line.clone(),
        trees: cents(served.trees),
    }
}

fn line_answers(run: &PlanRun, odds: Option<&FuturesRun>) -> Vec<LineAnswer> {
    let planned = run.plan.lines.iter();
    run.model
        .lines
        .iter()
        .zip(planned)
        .enumerate()
        .map(|(at, (line, planned))| {
            let odds = odds.and_then(|odds| odds.summary.orders.get(&line.id));
            LineAnswer {
                order: line.order.clone(),
                line: line.line.clone(),
                on_spec: line.on_spec,
                plants: line.plants.round() as u32,
                planned_on_time: cents(planned.on_time),
                planned_late: cents(planned.late),
                on_time: odds.map(|odds| odds.on_time),
                by_latest: odds.map(|odds| odds.by_latest),
                target: (line.target * 10_000.0).round() / 10_000.0,
                extra: run
                    .protection
                    .as_ref()
                    .map_or(0.0, |it| cents(it.extra[at])),
                why_below: why_below(run, at, odds.map(|odds| odds.on_time)),
                from: shipped_from(run, &line.id),
            }
        })
        .collect()
}

fn scarce(run: &PlanRun) -> Vec<ScarceAnswer> {
    let mut scarce: Vec<ScarceAnswer> = scarce_prices(run)
        .map(|price| ScarceAnswer {
            what: resource_words(run, &price.resource),
            week: price.week.map(|week| run.model.calendar.iso(week as i64)),
            price: minor(price.price),
            unit: price.resource.unit().to_owned(),
        })
        .filter(|row| row.price >= LEAST_PRICE)
        .collect();
    scarce.sort_by_key(|row| std::cmp::Reverse(row.price));
    scarce
}

fn short(run: &PlanRun) -> Vec<ShortAnswer> {
    let planned = run.short_lines().filter_map(|short| {
        let line = run.model.lines.iter().find(|line| line.id == short.order)?;
        (!line.on_spec).then(|| ShortAnswer {
            order: line.order.clone(),
            line: line.line.clone(),
            plants: cents(short.plants),
            why: why_short(run, short),
        })
    });
    let unplanned = run
        .model
        .unplanned
        .iter()
        .filter(|line| !line.later)
        .map(|line| ShortAnswer {
            order: line.order.clone(),
            line: line.line.clone(),
            plants: f64::from(line.plants),
            why: format!("Not planned: {}.", line.why),
        });
    planned.chain(unplanned).collect()
}

fn crews(run: &PlanRun) -> Vec<CrewAnswer> {
    let of_crew = run.plan.crew_use.iter().map(|planned| CrewAnswer {
        crew: planned.crew.clone(),
        hours: cents(planned.work.iter().sum()),
        hired: cents(planned.hired_in_all().iter().sum()),
    });
    of_crew.collect()
}

/// A line in words, as `Valencia on Carrizo`.
pub fn line_words(nursery: &Nursery, line: &season::Line) -> String {
    Words(&nursery.catalogue).ordered(&line.variety, &line.rootstocks)
}
