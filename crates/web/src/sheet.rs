//! What a page shows: plain values, filled by the caller.
//!
//! Weeks are named by their place in the sheet's `weeks`; the first is 0. Series by week may be
//! shorter than `weeks`: a missing week counts as nothing. Texts are shown as they are, so dates
//! and money come in ready to read ("3 Mar 2027", "1 240.00 EUR").

use serde::{Deserialize, Serialize};

/// One week of the sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeekLabel {
    /// The ISO week, such as "2027-W10".
    pub iso: String,
    /// Its Monday, such as "8 Mar 2027".
    pub monday: String,
    /// The short name of the month that its Thursday falls in, such as "Mar".
    pub month_name: String,
    /// Whether it is the first week of that month on the sheet.
    pub starts_month: bool,
}

/// A season plan, ready to be drawn.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PlanSheet {
    /// The nursery's name.
    pub nursery: String,
    /// The day the plan was made for, such as "1 Mar 2027".
    pub as_of: String,
    /// The name of the plan run.
    pub run: String,
    /// What the plan earns, such as "184 200"; may carry an interval. Empty when unknown.
    pub profit: String,
    /// The currency of every price, such as "EUR".
    pub currency: String,
    /// The weeks planned, the first of them being the next to come.
    pub weeks: Vec<WeekLabel>,
    /// The week that today falls in, where the sheet shows it.
    pub today: Option<usize>,
    /// Every job of the plan, in any order.
    pub jobs: Vec<JobRow>,
    /// Plants by week, one series an operation, in the order they are to be shown.
    pub by_operation: Vec<OperationSeries>,
    /// Hours of each crew against its limit.
    pub crews: Vec<LimitSeries>,
    /// Space of each place against its area.
    pub places: Vec<LimitSeries>,
    /// Seed and buds against what there is of them, the most used up first.
    #[serde(default)]
    pub supplies: Vec<SupplyRow>,
    /// What is scarce, and what one more unit would earn.
    pub scarce: Vec<ScarceRow>,
    /// The scarcest things of the season, each a sentence or two; the scarcest first.
    #[serde(default)]
    pub scarcest: Vec<String>,
    /// What order lines that go short or late gave up and for whom, a sentence each.
    #[serde(default)]
    pub given_up: Vec<String>,
    /// Order lines that the plan cannot fill; each should also stand in `lines`.
    pub short: Vec<ShortRow>,
    /// Every order line with its odds, in the order to be shown, such as by due date.
    pub lines: Vec<LineRow>,
    /// What the reader must know before using the plan.
    pub warnings: Vec<String>,
    /// How the plan was made and where its figures come from.
    pub notes: Vec<String>,
}

/// The odds of the order lines, ready to be drawn.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct OddsSheet {
    /// The nursery's name.
    pub nursery: String,
    /// The day the odds were worked out for, such as "1 Mar 2027".
    pub as_of: String,
    /// The name of the run.
    pub run: String,
    /// How many futures were tried.
    pub futures: u32,
    /// The seed of the futures.
    pub seed: u64,
    /// The currency of every price, such as "EUR".
    pub currency: String,
    /// The weeks looked at.
    pub weeks: Vec<WeekLabel>,
    /// The week that today falls in, where the sheet shows it.
    pub today: Option<usize>,
    /// Every order line with its odds, in the order to be shown, such as by due date.
    pub lines: Vec<LineRow>,
    /// Plants that stay free to be sold, one row a product.
    pub free: Vec<FreeRow>,
    /// What the reader must know before using the odds.
    pub warnings: Vec<String>,
    /// How the odds were worked out and where their figures come from.
    pub notes: Vec<String>,
}

/// One job of the plan.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct JobRow {
    /// The job's own name, which it keeps from plan to plan.
    pub job: String,
    /// The week it is done in.
    pub week: usize,
    /// The operation in trade words, such as "bud".
    pub operation: String,
    /// What it is done to, such as "Valencia on Carrizo".
    pub what: String,
    /// The size of pot or tree; empty where there is none.
    pub size: String,
    /// Where the plants go or stand.
    pub place: String,
    /// How many plants.
    pub plants: u64,
    /// Who does it.
    pub crew: String,
    /// Hours of work in all.
    pub hours: f64,
    /// What it uses up: the supply with its unit ("buds of Valencia") and how much.
    pub supplies: Vec<(String, f64)>,
    /// Lots or earlier jobs that the plants come from.
    pub takes_from: Vec<String>,
    /// Order lines it is done for; empty when for nobody yet.
    pub serves: Vec<String>,
    /// Why it is done, and why in this week.
    pub why: String,
    /// What happens if it is not done in its week; empty when unknown.
    pub slip: String,
    /// Whether blades are used, as in budding, cutting sticks and heading back.
    pub blades: bool,
}

/// Plants by week of one operation.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OperationSeries {
    /// The operation in trade words.
    pub operation: String,
    /// Plants in each week.
    pub plants_by_week: Vec<u64>,
}

/// A crew's hours or a place's space against what there is of it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LimitSeries {
    /// The crew or the place.
    pub name: String,
    /// The unit, such as "hours" or "m²".
    pub unit: String,
    /// What is used in each week, hired hours included.
    pub used: Vec<f64>,
    /// What there is in each week without hiring.
    pub limit: Vec<f64>,
    /// The part of `used` that is hired; empty for a place.
    pub hired: Vec<f64>,
    /// What one more unit in that week would earn; 0 where there is slack.
    pub price: Vec<f64>,
}

/// A limited supply over the whole plan.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SupplyRow {
    /// What it is, such as "buds of Valencia".
    pub what: String,
    /// How much the plan uses.
    pub used: f64,
    /// How much there is.
    pub there_is: f64,
    /// How much more can be bought a week; none where nobody sells it.
    pub bought_per_week: Option<f64>,
}

/// One thing that is scarce in one week.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScarceRow {
    /// What is scarce, such as "budders".
    pub what: String,
    /// The week.
    pub week: usize,
    /// What one more unit would earn, such as "42.10".
    pub price: String,
    /// The unit of the price, such as "EUR per hour".
    pub unit: String,
}

/// An order line that the plan cannot fill.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShortRow {
    /// The order.
    pub order: String,
    /// The line of the order.
    pub line: String,
    /// What was ordered, such as "Valencia on Carrizo, 5 l pot".
    pub what: String,
    /// How many plants are short.
    pub plants: u64,
    /// Why.
    pub why: String,
    /// The nearest thing that would work; empty when there is none.
    pub mend: String,
}

/// One order line with its odds.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LineRow {
    /// The order.
    pub order: String,
    /// The line of the order.
    pub line: String,
    /// The customer.
    pub customer: String,
    /// What was ordered, such as "Valencia on Carrizo".
    pub what: String,
    /// The size ordered.
    pub size: String,
    /// How many plants were ordered.
    pub plants: u64,
    /// When it is due, as the reader writes dates.
    pub due: String,
    /// The week it is due in, where the sheet shows that week.
    pub due_week: Option<usize>,
    /// The odds, from 0 to 1, that it is complete when due; none when not worked out.
    pub on_time: Option<f64>,
    /// The odds that it is complete by the latest day the customer takes; none as above.
    pub by_latest: Option<f64>,
    /// The odds wanted; 0 when unknown.
    pub target: f64,
    /// Plants short on average over the futures; none when not worked out.
    pub mean_short: Option<f64>,
    /// When it is complete.
    pub complete: WeekRange,
    /// What decides its odds most, as a sentence; empty when unknown.
    pub driver: String,
    /// What would help, as a sentence; empty when unknown.
    pub remedy: String,
    /// The price, such as "9.80 each"; empty when unknown.
    pub price: String,
    /// What one tree too few and one too many lose, in words; empty when unknown.
    #[serde(default)]
    pub stakes: String,
}

/// The weeks by which one, five and nine in ten futures have something done.
///
/// None means not within the weeks of the sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeekRange {
    /// One future in ten is done by then.
    pub p10: Option<usize>,
    /// Half the futures are done by then.
    pub p50: Option<usize>,
    /// Nine futures in ten are done by then.
    pub p90: Option<usize>,
}

/// Plants of one product that are promised to nobody.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct FreeRow {
    /// The variety.
    pub variety: String,
    /// The rootstock.
    pub rootstock: String,
    /// The size.
    pub size: String,
    /// How many are free, week by week.
    pub points: Vec<FreePoint>,
}

/// Plants free in one week, with their interval.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct FreePoint {
    /// The week.
    pub week: usize,
    /// Only one future in twenty has fewer.
    pub p05: u64,
    /// Half the futures have fewer.
    pub p50: u64,
    /// Only one future in twenty has more.
    pub p95: u64,
}
