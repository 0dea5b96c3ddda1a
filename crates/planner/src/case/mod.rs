//! A planning case: everything the planner is told, in the neutral JSON format 2.
//!
//! Weeks are counted from the start of the plan: week 0 begins on the Monday on or after the as-of
//! date, the last one is `weeks - 1`. Money is in one currency, plants and amounts are real numbers.
//! Keys that are not named here are left alone, so a case may carry notes for other programs.

mod per_week;
mod rows;
mod validate;

use serde::{Deserialize, Serialize};

pub use per_week::PerWeek;
pub use rows::{HoursEntry, ReadyEntry, WeekPlants};
pub use validate::CaseProblem;

/// A week counted from the start of the plan; what began before the plan has a negative one.
pub type Week = i64;

const fn one() -> f64 {
    1.0
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes references")]
#[expect(
    clippy::float_cmp,
    reason = "a value is left out where it is the default itself"
)]
fn is_one(value: &f64) -> bool {
    *value == 1.0
}

/// A week of the plan as a [`Week`].
pub(crate) fn week_of(week: usize) -> Week {
    Week::try_from(week).unwrap_or(Week::MAX)
}

/// The version of the case format this crate reads and writes.
pub const FORMAT: u32 = 2;

/// What a nursery has and owes over the weeks of one plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// The format's version, [`FORMAT`].
    pub format: u32,
    /// Number of weeks planned, T; the plan's weeks are 0 … T − 1.
    pub weeks: usize,
    /// Where plants stand.
    pub places: Vec<Place>,
    /// Who works.
    pub crews: Vec<Crew>,
    /// What operations use up.
    pub supplies: Vec<Supply>,
    /// Kinds of plant, each standing in one place.
    pub stages: Vec<Stage>,
    /// Work that moves plants from stage to stage.
    pub operations: Vec<Operation>,
    /// What stands already.
    #[serde(default)]
    pub standing: Vec<Standing>,
    /// The order lines.
    #[serde(default)]
    pub orders: Vec<Order>,
    /// Ready plants worth holding beyond what is shipped.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reserves: Vec<Reserve>,
    /// How many of the first weeks a workable plan has in whole plants and whole jobs; none for
    /// [`WHOLE_WEEKS`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub whole_weeks: Option<usize>,
    /// Most jobs (starts of any operation) in a whole week; none for no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_jobs_per_week: Option<f64>,
    /// The starts of the plan before, which this one leaves only for a reason.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub before: Vec<StartBefore>,
    /// What each plant costs by which a start differs from the plan before, money: of the starts in `before`, and
    /// of all others in the first [`WHOLE_WEEKS`]; nothing where `before` is empty.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub change_cost_per_plant: f64,
}

/// Whole weeks of a workable plan where the case does not say: a quarter of a year is what a crew can
/// be told of in single jobs. Common practice.
pub const WHOLE_WEEKS: usize = 12;

impl Case {
    /// Whether it holds any rule that only a workable plan keeps.
    pub fn asks_for_whole(&self) -> bool {
        let of_operation = |it: &Operation| {
            it.at_least.is_some() || it.multiple_of.is_some() || it.cost_per_job > 0.0
        };
        self.whole_weeks.is_some()
            || self.most_jobs_per_week.is_some()
            || self.operations.iter().any(of_operation)
            || self.crews.iter().any(|it| !it.blocks.is_empty())
    }

    /// What each plant costs by which a start differs from the plan before; nothing where there was none.
    pub(crate) fn cost_of_change(&self) -> f64 {
        if self.before.is_empty() {
            0.0
        } else {
            self.change_cost_per_plant
        }
    }

    /// Whole weeks of a workable plan, at most all.
    pub fn near_weeks(&self) -> usize {
        self.whole_weeks.unwrap_or(WHOLE_WEEKS).min(self.weeks)
    }
}

/// Ground or bench shared by the stages that stand there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Its name, unique among places.
    pub id: String,
    /// Area to be had, m².
    pub area_m2: PerWeek,
    /// Penalty for each m² above that, money per m² and week.
    pub excess_cost_per_m2_week: PerWeek,
}

/// People whose hours are counted together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Crew {
    /// Its name, unique among crews.
    pub id: String,
    /// Own hours, hours per week.
    pub hours_per_week: PerWeek,
    /// Most hours that can be hired on top, hours per week.
    #[serde(default)]
    pub extra_hours_per_week: PerWeek,
    /// Price of a hired hour, money per hour.
    #[serde(default)]
    pub extra_cost_per_hour: PerWeek,
    /// The crews whose work this one may do as well.
    #[serde(default)]
    pub may_do: Vec<String>,
    /// People hired for some weeks in a row.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub blocks: Vec<Block>,
}

/// Hours of a crew that are hired for some weeks in a row, in a workable plan all or none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Block {
    /// First week.
    pub from: Week,
    /// Number of weeks.
    pub weeks: usize,
    /// Hours in each of them.
    pub hours_per_week: f64,
    /// What all of it costs, money.
    pub cost: f64,
}

/// Something used up when an operation starts: seed, buds, rooted cuttings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Supply {
    /// Its name, unique among supplies.
    pub id: String,
    /// What the nursery has of its own, each batch with the weeks it keeps.
    #[serde(default)]
    pub batches: Vec<Batch>,
    /// Price of what is bought, money per unit.
    #[serde(default)]
    pub buy_price: PerWeek,
    /// Most that can be bought, units per week.
    #[serde(default)]
    pub buy_limit_per_week: PerWeek,
}

/// So much of a supply, to be used within certain weeks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Batch {
    /// First week in which it may be used; before the plan is allowed.
    pub from: Week,
    /// Last week in which it may be used; after the plan is allowed.
    pub to: Week,
    /// How much there is, in the supply's units.
    pub amount: f64,
    /// The last week up to which nothing of it is lost; `to` where none is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sound_until: Option<Week>,
    /// The share of what is there that is still good a week later, after that week: above 0, at most 1.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub kept_per_week: f64,
}

/// The share of a batch that counts as good at least: of what is as good as gone, a use takes a million times as much.
const LEAST_KEPT: f64 = 1e-6;

impl Batch {
    /// The share of the batch that is good in a week: `kept_per_week` to the power of the weeks since
    /// `sound_until`, at least [`LEAST_KEPT`].
    pub fn kept(&self, week: usize) -> f64 {
        let since = week_of(week).saturating_sub(self.sound_until.unwrap_or(self.to));
        let mut kept = 1.0;
        for _ in 0..since {
            kept *= self.kept_per_week;
            if kept < LEAST_KEPT {
                return LEAST_KEPT;
            }
        }
        kept
    }
}

/// A kind of plant standing somewhere: first growing on, then ready for the next operation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stage {
    /// Its name, unique among stages.
    pub id: String,
    /// The place it stands in.
    pub place: String,
    /// Ground taken by one plant, growing or ready, m².
    pub area_m2_per_plant: f64,
    /// Weeks a plant keeps after the week in which it became ready, by that week: ready in week w,
    /// it may be used or sold in weeks w … w + this. That last week must never fall.
    pub over_age_after_weeks: PerWeek<Week>,
    /// Cost of a ready plant left standing at the end of a week, money.
    #[serde(default)]
    pub wait_cost_per_plant_week: f64,
    /// Cost of throwing a ready plant out, money; negative when it is sold down.
    #[serde(default)]
    pub discard_cost_per_plant: f64,
    /// Worth of a plant ready at the end of the plan or on its way to be ready later, money.
    #[serde(default)]
    pub end_value_per_plant: f64,
}

/// Work that takes ready plants of one stage, or nothing, into the growing stand of another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Operation {
    /// Its name, unique among operations.
    pub id: String,
    /// The stage whose ready plants it takes; none for sowing and buying in.
    pub takes_from: Option<String>,
    /// The stage in whose stand the plants grow on, from the week of the start.
    pub moves_to: String,
    /// Work it brings, at the start and later.
    #[serde(default)]
    pub hours: Vec<HoursEntry>,
    /// Supplies it uses in the week of the start.
    #[serde(default)]
    pub uses: Vec<Use>,
    /// What each plant put through costs beyond hours and supplies, money.
    #[serde(default)]
    pub cost_per_plant: f64,
    /// What a start that happens costs however few plants it has, money; counted in whole weeks.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub cost_per_job: f64,
    /// Fewest plants of a start that happens at all, in whole weeks; none for no such rule.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_least: Option<f64>,
    /// Plants of a start come in multiples of this, as of a tray or a bed meter, in whole weeks; none
    /// for single plants.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub multiple_of: Option<f64>,
    /// The weeks in which it may be started, and what becomes of the plants.
    pub starts: Vec<Start>,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde hands a reference to it"
)]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// A supply an operation uses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Use {
    /// The supply.
    pub supply: String,
    /// Units for each plant put through.
    pub per_plant: f64,
}

/// A week in which an operation may be started.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Start {
    /// The week.
    pub week: Week,
    /// What becomes ready when; what is not listed is lost.
    pub ready_after: Vec<ReadyEntry>,
}

impl Start {
    /// The share of the plants that survives into any stage, S: the sum of the listed fractions.
    pub fn surviving(&self) -> f64 {
        self.ready_after.iter().map(|entry| entry.fraction).sum()
    }
}

/// A start of the plan before. One that the case does not list can no longer be kept to, and costs nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StartBefore {
    /// The operation.
    pub operation: String,
    /// The week.
    pub week: Week,
    /// Plants put through.
    pub plants: f64,
}

/// Plants of one stage that stand at the start of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// The stage.
    pub stage: String,
    /// Plants that become ready, by week; those ready already come in week 0. What comes after the
    /// plan's last week is left out of it.
    #[serde(default)]
    pub arrivals: Vec<WeekPlants>,
    /// Plants still growing, by week: the ground they take.
    #[serde(default)]
    pub immature: Vec<WeekPlants>,
}

/// One order line: so many plants out of the accepted stages.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Order {
    /// Its name, unique among order lines.
    pub id: String,
    /// The stages that may be shipped, each at its price.
    pub accepts: Vec<Accept>,
    /// Plants ordered.
    pub plants: f64,
    /// First week in which plants may be shipped.
    pub earliest: Week,
    /// The week agreed on; each later week costs.
    pub due: Week,
    /// Last week in which plants may be shipped.
    pub latest: Week,
    /// Cost of shipping late, money per plant and week after `due`.
    #[serde(default)]
    pub late_cost_per_plant_week: f64,
    /// Cost of not shipping at all, money per plant, on top of the price not earned.
    #[serde(default)]
    pub short_cost_per_plant: f64,
}

/// Ready plants that are worth something only by being there at the end of a week: they guard order
/// lines against luck. What is held is not used up; it may be shipped, left or thrown out afterwards.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reserve {
    /// Its name, unique among reserves.
    pub id: String,
    /// The stages whose ready plants count.
    pub stages: Vec<String>,
    /// The order lines it guards: what is shipped to them after the week is taken off, so that no plant
    /// counts that is owed already.
    #[serde(default)]
    pub orders: Vec<String>,
    /// At the end of this week; outside the plan it counts for nothing.
    pub week: Week,
    /// What the first plants are worth each, the next ones, and so on; never rising.
    pub steps: Vec<ReserveStep>,
}

/// Some plants of a reserve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ReserveStep {
    /// How many.
    pub plants: f64,
    /// What holding each is worth, money.
    pub worth_per_plant: f64,
}

/// A stage an order line accepts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Accept {
    /// The stage whose ready plants may be shipped.
    pub stage: String,
    /// Price of a plant of it, money.
    pub price: f64,
}
