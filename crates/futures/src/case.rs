//! The neutral case (format 2): everything one run of the engine reads.
//!
//! Weeks are counted from 0, the first week simulated. Weeks of operations and orders may lie before
//! it (a job that slipped, an order overdue) or past the last one (they then never come).

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

/// The format this crate reads and writes.
pub const FORMAT: u32 = 2;

/// A nursery's season as the engine sees it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// Always [`FORMAT`].
    pub format: u32,
    /// How many weeks are simulated: 0 … `weeks − 1`.
    pub weeks: u32,
    /// Weather paths, each as likely as any other.
    pub paths: Vec<Path>,
    /// How plants grow through a stage, by stage. A stage without a phase holds ready plants only.
    pub phases: BTreeMap<String, Phase>,
    /// How long ready plants of a stage may wait, by the week in which they became ready.
    /// Standing ready plants have the limit of week 0; a stage left out has no limit.
    #[serde(default)]
    pub over_age_after_weeks: BTreeMap<String, Weekly<u32>>,
    /// Lots standing at the start of week 0.
    #[serde(default)]
    pub lots: Vec<Lot>,
    /// Planned operations, in the order in which they take plants and hours.
    #[serde(default)]
    pub operations: Vec<Operation>,
    /// Order lines.
    #[serde(default)]
    pub orders: Vec<Order>,
    /// Crews and their hours.
    #[serde(default)]
    pub crews: Vec<Crew>,
    /// Rare losses that come on whatever weather path.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub perils: Vec<Peril>,
    /// A seed for those who run the case; the engine takes its seed from its options.
    #[serde(default)]
    pub seed: u64,
}

/// One weather path.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Path {
    /// Degree-days of each week (°C·d), by climate (open ground, house …).
    pub climates: BTreeMap<String, Vec<f64>>,
    /// Usable share of each week, in [0, 1], by kind of work (bark that slips …).
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub windows: BTreeMap<String, Vec<f64>>,
    /// Frost, heat, flood.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub losses: Vec<Loss>,
}

/// Plants lost in one week of a weather path. Losses of one week and stage combine as
/// 1 − Π(1 − fraction).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Loss {
    /// The week.
    pub week: u32,
    /// The stages that lose plants.
    pub stages: Vec<String>,
    /// The chance of each plant to be lost, in [0, 1].
    pub fraction: f64,
}

/// A rare loss, such as hail or a disease. In a future it comes with its chance, in one week drawn
/// evenly from `from..=until`, and takes plants as a [`Loss`] of that week would; a week past the
/// last one simulated never comes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Peril {
    /// A name, unique in the case: the peril's random numbers hang on it.
    pub id: String,
    /// The stages that lose plants.
    pub stages: Vec<String>,
    /// The first week in which it may come.
    pub from: u32,
    /// The last week in which it may come.
    pub until: u32,
    /// The chance that it comes, in [0, 1].
    pub chance: f64,
    /// The chance of each plant to be lost if it comes, in [0, 1].
    pub fraction: f64,
}

/// How plants grow through a stage until they are ready.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Phase {
    /// θ, the mean degree-days from entering the stage to being ready (°C·d).
    pub degree_days: f64,
    /// `σ_w`, the spread of the log degree-days between the plants of a lot.
    pub within_lot: f64,
    /// `σ_b`, the spread of the log pace between lots.
    pub between_lots: f64,
    /// μ, the mean share of a lot's plants that become ready, in [0, 1].
    pub survival: f64,
    /// ρ, the correlation of survival between the plants of a lot, in [0, 1).
    #[serde(default)]
    pub survival_rho: f64,
    /// What becomes of plants that are ready, when not all are ready in this stage.
    #[serde(default)]
    pub split: Option<Split>,
    /// The climate whose degree-days count.
    #[serde(default = "open_ground")]
    pub climate: String,
    /// `σ_g`, how far the luck of a lot's group moves the logit of survival and of the split's share.
    #[serde(default)]
    pub shared_sd: f64,
}

fn open_ground() -> String {
    "open".to_owned()
}

/// Of the plants that become ready, a share is ready in the phase's stage, the rest in another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Split {
    /// Mean share that is ready in the phase's own stage, in [0, 1].
    pub share: f64,
    /// Correlation between the plants of a lot, in [0, 1).
    #[serde(default)]
    pub rho: f64,
    /// Where the rest is ready.
    pub otherwise: String,
}

/// Plants standing in one stage at the start.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    /// A name that stays the same from run to run: the lot's random numbers hang on it.
    pub id: String,
    /// The stage.
    pub stage: String,
    /// Plants still growing.
    pub immature: u32,
    /// Plants ready already: `(weeks since they became ready, plants)`.
    #[serde(default)]
    pub ready: Vec<(u32, u32)>,
    /// D₀, the degree-days the growing plants have had in this stage (°C·d).
    #[serde(default)]
    pub degree_days_so_far: f64,
    /// The label of those it shares its luck with.
    #[serde(default)]
    pub group: Option<String>,
    /// Further labels whose luck moves it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub luck: Vec<Shared>,
    /// What its own counts say of its growing plants.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub known: Option<Known>,
}

/// A label whose luck a lot shares, and how far it moves the logits that the lot's group moves: of
/// survival and of the split's share.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Shared {
    /// The label. The same label has the same luck wherever it stands, also as a `group`.
    pub group: String,
    /// By how much one standard deviation of its luck moves a logit.
    pub sd: f64,
}

/// What a lot's own counts say of it, in place of what its phase says of any lot.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Known {
    /// Mean and standard deviation of ln λ, in place of −`σ_b`²/2 and `σ_b`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pace: Option<[f64; 2]>,
    /// The mean share of the growing plants that become ready from now on, in [0, 1], in place of
    /// μ^(1 − min(1, D₀/θ)). Luck still moves it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub survival: Option<f64>,
    /// Its correlation between the plants, in [0, 1).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub survival_rho: Option<f64>,
}

/// A planned operation: takes ready plants of one stage and starts one lot of another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Operation {
    /// A name; with `week` it stays the same from run to run: the random numbers hang on it.
    pub operation: String,
    /// The stage whose ready plants it takes; none for sowing.
    #[serde(default)]
    pub takes_from: Option<String>,
    /// The stage it starts a lot of.
    pub moves_to: String,
    /// The first week in which it may be done.
    pub week: i32,
    /// The last week in which what is left of it may be done.
    pub late_until: i32,
    /// How many plants; none means all there are.
    #[serde(default)]
    pub plants: Option<u32>,
    /// Who does it; none means that hours do not limit it.
    #[serde(default)]
    pub crew: Option<String>,
    /// Hours per plant (h).
    #[serde(default)]
    pub hours_per_plant: f64,
    /// The label of the lots the new lot shares its luck with.
    #[serde(default)]
    pub group: Option<String>,
    /// The kind of work whose window limits it.
    #[serde(default)]
    pub window: Option<String>,
    /// Further labels whose luck moves the new lot.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub luck: Vec<Shared>,
    /// The jobs that it makes up for: it does at most `times` what they lack in the end, rounded up.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub makes_up_for: Vec<JobName>,
    /// How many plants for each one that those jobs lack.
    #[serde(default = "once", skip_serializing_if = "is_once")]
    pub times: f64,
}

fn once() -> f64 {
    1.0
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde asks for a reference"
)]
fn is_once(times: &f64) -> bool {
    times.to_bits() == once().to_bits()
}

/// All operations of one name and week.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct JobName {
    /// Their name.
    pub operation: String,
    /// Their first week.
    pub week: i32,
}

/// One order line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Order {
    /// A name, unique in the case. Its bytes break ties between lines.
    pub id: String,
    /// The stages it accepts, the best first.
    pub accepts: Vec<String>,
    /// How many plants.
    pub plants: u32,
    /// The first week in which it takes plants.
    pub earliest: i32,
    /// The last week that is on time.
    pub due: i32,
    /// The last week in which it takes plants.
    pub latest: i32,
    /// Lower comes first.
    #[serde(default)]
    pub priority: i64,
    /// The share of the plants it may be short by and still count as complete, in [0, 1].
    #[serde(default)]
    pub tolerance: f64,
    /// The chance that the customer keeps the order, in [0, 1].
    #[serde(default = "surely")]
    pub kept: f64,
    /// It takes nothing in a week in which its accepted stages together hold fewer plants than this,
    /// or than it lacks where that is less.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub minimum_load: u32,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde asks for a reference"
)]
fn is_nothing(plants: &u32) -> bool {
    *plants == 0
}

fn surely() -> f64 {
    1.0
}

/// People who work together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Crew {
    /// A name, unique in the case.
    pub id: String,
    /// Hours of a week (h).
    pub hours_per_week: Weekly<f64>,
}

/// One value for every week, or a list with one value a week.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Weekly<T> {
    /// The same every week.
    Always(T),
    /// Week 0, 1, 2 …; at least as many as the case has weeks.
    ByWeek(Vec<T>),
}

impl<T: Copy> Weekly<T> {
    /// The value of a week of a valid case.
    pub fn at(&self, week: usize) -> T {
        match self {
            Self::Always(value) => *value,
            Self::ByWeek(values) => values[week],
        }
    }

    pub(crate) fn values(&self) -> &[T] {
        match self {
            Self::Always(value) => std::slice::from_ref(value),
            Self::ByWeek(values) => values,
        }
    }
}

/// One thing wrong with a case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CaseProblem {
    /// What is wrong, with the value that was found.
    pub what: String,
    /// Where: the part of the case and the name of the item.
    pub place: String,
    /// The rule it breaks.
    pub rule: String,
    /// What to do about it.
    pub mend: String,
}

impl std::fmt::Display for CaseProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{}: {} ({}); {}",
            self.place, self.what, self.rule, self.mend
        )
    }
}

impl Case {
    /// Everything that is wrong with the case, at once; empty if the engine can run it.
    pub fn validate(&self) -> Vec<CaseProblem> {
        crate::validate::problems(self)
    }

    /// The stages of the case, in the order of their names: those with a phase, with an over-age
    /// limit, or named by a split.
    pub fn stages(&self) -> BTreeSet<&str> {
        let otherwise = self
            .phases
            .values()
            .filter_map(|phase| phase.split.as_ref())
            .map(|split| split.otherwise.as_str());
        self.phases
            .keys()
            .chain(self.over_age_after_weeks.keys())
            .map(String::as_str)
            .chain(otherwise)
            .collect()
    }
}
