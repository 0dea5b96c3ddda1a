//! What a small nursery knows and means to do, in plain words and numbers.

use std::collections::BTreeMap;

/// A nursery before its first week.
#[derive(Clone, Debug)]
pub struct Nursery {
    /// Weeks ahead, from week 0 on.
    pub weeks: usize,
    /// The courses that the weather may take, each as likely as any other.
    pub weathers: Vec<Weather>,
    /// Stages, by name.
    pub stages: BTreeMap<String, Stage>,
    /// What stands there.
    pub standing: Vec<Standing>,
    /// Planned work, in the order in which it takes plants and hours.
    pub jobs: Vec<Job>,
    /// Order lines.
    pub lines: Vec<Line>,
    /// Hours of a week, by crew.
    pub crews: BTreeMap<String, ByWeek<f64>>,
    /// Rare losses.
    pub perils: Vec<Peril>,
}

/// A value that is the same in every week, or one for each.
#[derive(Clone, Debug)]
pub enum ByWeek<T> {
    /// The same in every week.
    Same(T),
    /// Of week 0, 1, 2 …
    Each(Vec<T>),
}

impl<T: Copy> ByWeek<T> {
    /// The value of a week; before the first one, that of the first.
    pub(super) fn of(&self, week: i32) -> T {
        match self {
            Self::Same(value) => *value,
            Self::Each(values) => values[week.max(0) as usize],
        }
    }
}

/// One course of the weather.
#[derive(Clone, Debug)]
pub struct Weather {
    /// Degree-days of every day (°C·d), by climate.
    pub degree_days: BTreeMap<String, Vec<f64>>,
    /// Usable share of every week, by kind of work.
    pub windows: BTreeMap<String, Vec<f64>>,
    /// Frosts.
    pub losses: Vec<Loss>,
}

/// Plants lost in one week.
#[derive(Clone, Debug)]
pub struct Loss {
    /// The week.
    pub week: usize,
    /// The stages.
    pub stages: Vec<String>,
    /// The odds of each plant to be lost.
    pub fraction: f64,
}

/// A rare loss, such as hail. If it comes, it comes in one of its weeks, each as likely.
#[derive(Clone, Debug)]
pub struct Peril {
    /// A name of its own.
    pub name: String,
    /// The stages.
    pub stages: Vec<String>,
    /// First week.
    pub from: usize,
    /// Last week.
    pub until: usize,
    /// The odds that it comes.
    pub odds: f64,
    /// The odds of each plant to be lost then.
    pub fraction: f64,
}

/// A stage: how plants grow in it, how long ready ones may wait.
#[derive(Clone, Debug)]
pub struct Stage {
    /// None where plants only wait.
    pub growth: Option<Growth>,
    /// Ready plants older than so many weeks are thrown out, by the week in which they became ready.
    pub over_age_weeks: Option<ByWeek<u32>>,
}

/// How plants grow until they are ready.
#[derive(Clone, Debug)]
pub struct Growth {
    /// The climate they stand in.
    pub climate: String,
    /// Mean degree-days until ready (°C·d).
    pub degree_days: f64,
    /// Spread of the logarithm of this need between the plants of a lot.
    pub within_lot: f64,
    /// Spread of the logarithm of the pace between lots.
    pub between_lots: f64,
    /// Mean share that survives.
    pub survival: f64,
    /// Likeness of plants of a lot in this.
    pub survival_rho: f64,
    /// Of buds: what takes.
    pub take: Option<Take>,
    /// How far the luck of its batch moves the logits of survival and take of a lot.
    pub batch_sd: f64,
}

/// Of the plants that are ready, a share has taken; the rest was missed.
#[derive(Clone, Debug)]
pub struct Take {
    /// Mean share.
    pub share: f64,
    /// Likeness of plants of a lot in this.
    pub rho: f64,
    /// Where missed ones stand.
    pub missed: String,
}

/// What all lots of one label share: a season, a pair of hands.
#[derive(Clone, Debug)]
pub struct Luck {
    /// The label.
    pub label: String,
    /// How far it moves the logits of survival and take.
    pub sd: f64,
}

/// What counts have told of a standing lot, in place of what is believed of any.
#[derive(Clone, Debug)]
pub struct Known {
    /// Mean and spread of the logarithm of its pace.
    pub pace: [f64; 2],
    /// Mean share of its growing plants that survives from now on.
    pub survival: f64,
    /// Likeness of its plants in this.
    pub survival_rho: f64,
}

/// Plants that stand there at the start.
#[derive(Clone, Debug)]
pub struct Standing {
    /// A name of its own.
    pub name: String,
    /// The stage.
    pub stage: String,
    /// Growing plants.
    pub growing: u32,
    /// Degree-days they have behind them (°C·d).
    pub degree_days: f64,
    /// Ready plants: for how many weeks, and how many.
    pub ready: Vec<(u32, u32)>,
    /// The batch whose luck the lot shares.
    pub batch: Option<String>,
    /// What else it shares its luck with.
    pub luck: Vec<Luck>,
    /// What counts have told of it.
    pub known: Option<Known>,
}

/// Planned work.
#[derive(Clone, Debug)]
pub struct Job {
    /// What is done.
    pub name: String,
    /// The stage whose ready plants it takes; none for sowing.
    pub takes_from: Option<String>,
    /// The stage in which they grow then.
    pub moves_to: String,
    /// First week.
    pub week: i32,
    /// Last week.
    pub late_until: i32,
    /// How many plants; none means all there are, or all that its remedy asks for.
    pub plants: Option<u32>,
    /// Who does it.
    pub crew: Option<String>,
    /// Hours a plant takes.
    pub hours_per_plant: f64,
    /// The kind of work whose window must be open.
    pub window: Option<String>,
    /// The batch whose luck the new lot shares.
    pub batch: Option<String>,
    /// What else it shares its luck with.
    pub luck: Vec<Luck>,
    /// What it makes up for, where it is done only then.
    pub remedy: Option<Remedy>,
}

/// Work that makes up for what another job lacks when its last week is over.
#[derive(Clone, Debug)]
pub struct Remedy {
    /// The other job's name and first week.
    pub job: (String, i32),
    /// Plants for each one that it lacks; the sum is rounded up.
    pub times: f64,
}

/// An order line.
#[derive(Clone, Debug)]
pub struct Line {
    /// A name of its own.
    pub name: String,
    /// The stages it accepts, the best first.
    pub accepts: Vec<String>,
    /// Plants ordered.
    pub plants: u32,
    /// First week of shipping.
    pub earliest: i32,
    /// Last week in time.
    pub due: i32,
    /// Last week of shipping.
    pub latest: i32,
    /// Lower ships first.
    pub priority: i64,
    /// The share that may lack.
    pub tolerance: f64,
    /// The odds that the customer keeps it.
    pub kept: f64,
    /// Nothing is shipped in a week in which fewer plants are there than this, or than it lacks.
    pub minimum_load: u32,
}
