//! One season as numbers: stages, operations, supplies, orders and weather, each with the name of
//! what it comes from.

use std::collections::BTreeMap;

use jiff::civil::Date;
use nursery::catalogue::StageKind;
use nursery::ids::{
    CrewName, LotName, MotherTreeName, PlaceName, RootstockName, SizeName, StepName, VarietyName,
};
use nursery::settings::Remedies;

use crate::arrivals::Fraction;
use crate::calendar::Calendar;
use crate::lines::TREES_ON_SPEC;
use crate::supplies::SupplyKey;

/// Everything the planner and the futures engine are told, before it is lowered to their cases.
#[derive(Debug, Clone)]
pub struct SeasonModel {
    /// Weeks and dates.
    pub calendar: Calendar,
    /// Weeks planned.
    pub weeks: usize,
    /// Weeks of weather: the plan's, and as many more as plants started in it may need.
    pub weather_weeks: usize,
    /// Kinds of plant, each standing in one place.
    pub stages: Vec<Stage>,
    /// Work between stages.
    pub operations: Vec<Operation>,
    /// What operations use up.
    pub supplies: Vec<Supply>,
    /// Where plants stand.
    pub places: Vec<Place>,
    /// Who works.
    pub crews: Vec<Crew>,
    /// What stands.
    pub standing: Vec<StandingLot>,
    /// Order lines and expected demand that can be planned for.
    pub lines: Vec<Line>,
    /// Order lines that cannot, with the reason.
    pub unplanned: Vec<Unplanned>,
    /// The weather to come: courses of it, each as likely.
    pub paths: Vec<WeatherPath>,
    /// Weeks a job may slip in the futures.
    pub slip_weeks: u32,
    /// Rules of whole weeks.
    pub whole: WholeWeeks,
    /// The next jobs of the plan before, by week and operation; none where people work by no plan yet.
    pub before: Vec<JobBefore>,
    /// What each plant costs by which a job differs from the plan before, money.
    pub change_cost: f64,
    /// Rare losses of whole places.
    pub perils: Vec<Peril>,
    /// What may be done where the plan falls short.
    pub remedies: Remedies,
    /// The seed batch that most of what stands in a stage came from.
    pub seed_of_stages: BTreeMap<usize, String>,
    /// Looks and counts that hardly go with what was believed of their lots.
    pub surprises: Vec<Surprise>,
    /// What the user should know: lapsing tests, doubtful combinations, guessed steps.
    pub warnings: Vec<String>,
}

/// A job of the plan before, which people may have made ready for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct JobBefore {
    /// The week, from the plan's first on.
    pub week: usize,
    /// The operation's name.
    pub operation: String,
    /// Plants still to be put through.
    pub plants: u32,
}

/// Rules of the weeks that are planned in whole plants and whole jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WholeWeeks {
    /// How many they are; the first of the plan.
    pub weeks: usize,
    /// Most jobs in each; none for no limit.
    pub most_jobs: Option<u32>,
    /// Weeks in a row for which hired people come; none where they are hired by the hour.
    pub block_weeks: Option<usize>,
}

/// A kind of plant standing in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Name in cases, unique.
    pub id: String,
    /// The step whose plants these are, or the stand.
    pub node: StepName,
    /// Kind of plant.
    pub kind: StageKind,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Variety, once budded.
    pub variety: Option<VarietyName>,
    /// Size, of finished trees.
    pub size: Option<SizeName>,
    /// Where they stand.
    pub place: PlaceName,
    /// Area a plant, m².
    pub area_m2: f64,
    /// Weeks a ready plant may wait, by the week it became ready.
    pub over_age: Vec<u32>,
    /// Cost of a ready plant waiting a week, money.
    pub wait_cost: f64,
    /// Cost of throwing one out, money.
    pub discard_cost: f64,
    /// Worth at the plan's end, money.
    pub end_value: f64,
    /// Cost of a plant that got here, money.
    pub cost_so_far: f64,
    /// How its growing plants become ready; none where plants are ready at once.
    pub phase: Option<Phase>,
    /// What its lots share their luck by, and how far each moves the log odds.
    pub luck: Vec<(LuckOf, f64)>,
    /// Where it holds plants of another stage that are kept apart.
    pub apart: Option<Apart>,
}

/// Plants of a stage that are kept apart, since not every line may have them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apart {
    /// Index of the stage they would stand in.
    pub of: usize,
    /// Why.
    pub why: Why,
}

/// Why plants are kept apart.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// They are meant for a line, by its name.
    Tagged(String),
    /// They have another health class than some line asks for, or none.
    Class(Option<String>),
    /// They do not make the grade that some line asks for.
    OtherGrade,
}

impl Why {
    /// In words, as `tagged for A-1/2`.
    pub fn words(&self) -> String {
        match self {
            Self::Tagged(line) => format!("tagged for {line}"),
            Self::Class(Some(class)) => format!("class {class}"),
            Self::Class(None) => "no class".to_owned(),
            Self::OtherGrade => "other grades".to_owned(),
        }
    }
}

/// What lots share their luck by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LuckOf {
    /// The seed batch.
    Seed,
    /// The cut of budsticks.
    Cut,
    /// The budder of a year.
    Budder,
    /// The place in a year.
    Place,
}

/// How growing plants become ready.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Degree-days of the middle plant of the middle lot.
    pub degree_days: f64,
    /// Spread between plants of a lot, log scale.
    pub within_lot: f64,
    /// Spread between lots, log scale.
    pub between_lots: f64,
    /// Mean share that lives.
    pub survival: f64,
    /// Likeness of plants of a lot.
    pub survival_rho: f64,
    /// How far luck that all lots of a step and year share moves the log odds.
    pub shared_sd: f64,
    /// How far luck shared under other labels moves them, all together.
    pub luck_sd: f64,
    /// Take of buds.
    pub split: Option<Split>,
    /// Climate whose heat counts.
    pub climate: String,
}

/// Of the plants that become ready, a share is ready in the stage, the rest in another.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// Mean share.
    pub share: f64,
    /// Likeness of plants of a lot.
    pub rho: f64,
    /// Index of the other stage.
    pub otherwise: usize,
}

/// Work that takes ready plants of one stage, or nothing, into another.
#[derive(Debug, Clone, PartialEq)]
pub struct Operation {
    /// Name in cases, unique.
    pub id: String,
    /// The route step.
    pub step: StepName,
    /// Stage taken from.
    pub from: Option<usize>,
    /// Stage moved to.
    pub into: usize,
    /// Weeks in which it may start.
    pub starts: Vec<Start>,
    /// Work on each plant.
    pub work: Vec<Work>,
    /// Limited supplies, for each plant.
    pub uses: Vec<SupplyUse>,
    /// Materials, for each plant; bought as needed and counted in the cost.
    pub materials: Vec<Material>,
    /// Cost a plant: wages, materials and the rest, money.
    pub cost: f64,
    /// Fewest plants of a job in whole weeks.
    pub at_least: Option<u32>,
    /// Plants of a job come by so many in whole weeks.
    pub multiple_of: Option<u32>,
    /// Name of the window that limits it, as `bark carrizo at row-1`.
    pub window: Option<String>,
}

/// A week in which an operation may start, and what becomes of the plants.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// The week.
    pub week: usize,
    /// Share ready in the operation's stage, by weeks after the start.
    pub ready: Vec<Fraction>,
    /// Share ready in the other stage (missed buds).
    pub otherwise: Vec<Fraction>,
}

/// Work on each plant some weeks after the start.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Weeks after the start.
    pub after_weeks: u32,
    /// Crew.
    pub crew: CrewName,
    /// Hours a plant.
    pub hours: f64,
    /// What is done.
    pub job: String,
}

/// A limited supply used.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyUse {
    /// Index of the supply.
    pub supply: usize,
    /// For each plant.
    pub each: f64,
}

/// A material used.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its name.
    pub name: String,
    /// For each plant.
    pub each: f64,
}

/// A limited supply.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// What it is of.
    pub of: SupplyKey,
    /// Name in cases, as `buds of valencia`.
    pub id: String,
    /// What there is, by weeks of use.
    pub batches: Vec<SupplyBatch>,
    /// What can be bought; none where nobody sells it.
    pub bought: Option<Bought>,
}

/// A supply to be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// Price of one, money.
    pub price: f64,
    /// How many can be had for a week's use; above 0.
    pub limit_per_week: f64,
    /// Weeks from the order to the delivery.
    pub lead_weeks: u32,
    /// By week of use: the week in which what is used then is delivered; none where it cannot be had by then.
    pub delivered: Vec<Option<usize>>,
    /// The share that is still good a week after its delivery.
    pub kept_per_week: f64,
}

impl Bought {
    /// What one costs that is good in a week, money: of what was stored until then, a part is lost.
    pub fn price_in(&self, week: usize) -> f64 {
        self.price / self.kept(week)
    }

    /// How many can be had that are used in a week.
    pub fn limit_in(&self, week: usize) -> f64 {
        let is_had = self.delivered.get(week).is_some_and(Option::is_some);
        if is_had {
            self.limit_per_week * self.kept(week)
        } else {
            0.0
        }
    }

    /// The share of what is delivered for a week's use that is good by then.
    pub fn kept(&self, week: usize) -> f64 {
        let stored = self
            .delivered
            .get(week)
            .copied()
            .flatten()
            .map_or(0, |it| week - it);
        libm::pow(self.kept_per_week, stored as f64)
    }
}

/// So much of a supply in a span of weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyBatch {
    /// The seed batch, or the mother tree and its cut.
    pub source: String,
    /// First week of use.
    pub from: i64,
    /// Last week of use.
    pub until: i64,
    /// How much.
    pub amount: f64,
    /// The last week up to which nothing of it is lost.
    pub sound_until: i64,
    /// The share that is still good a week later, after that week.
    pub kept_per_week: f64,
    /// The mother tree that it is still to be cut from.
    pub tree: Option<MotherTreeName>,
}

impl SupplyBatch {
    /// A batch of which nothing is lost in its weeks.
    pub fn that_keeps(source: String, (from, until): (i64, i64), amount: f64) -> Self {
        Self {
            source,
            from,
            until,
            amount,
            sound_until: until,
            kept_per_week: 1.0,
            tree: None,
        }
    }

    /// The share of it that is good in a week.
    pub fn kept(&self, week: i64) -> f64 {
        let since = (week - self.sound_until).max(0);
        libm::pow(self.kept_per_week, since as f64)
    }
}

/// Where plants stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its name.
    pub place: PlaceName,
    /// Area, m².
    pub area_m2: f64,
    /// Penalty for a m² and week over it, money.
    pub excess_cost: f64,
}

/// A crew by week.
#[derive(Debug, Clone, PartialEq)]
pub struct Crew {
    /// Its name.
    pub crew: CrewName,
    /// Own hours by week.
    pub hours: Vec<f64>,
    /// Hours that can be hired, by week.
    pub hired_limit: Vec<f64>,
    /// What a hired hour costs above the wage, by week, money.
    pub hired_extra_cost: Vec<f64>,
    /// Wage an hour, money; charged in the cost of operations.
    pub wage: f64,
    /// Crews whose work it may do.
    pub may_do: Vec<CrewName>,
}

/// A lot that stands, with what becomes of it on average.
#[derive(Debug, Clone, PartialEq)]
pub struct StandingLot {
    /// The lot.
    pub lot: LotName,
    /// Index of its stage; another than the rest of its lot, where plants of it are kept apart.
    pub stage: usize,
    /// Plants not ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Degree-days since it entered.
    pub degree_days_so_far: f64,
    /// Share of the growing plants that becomes ready, by week.
    pub arrivals: Vec<Fraction>,
    /// The same, of those that become ready in the other stage.
    pub arrivals_otherwise: Vec<Fraction>,
    /// Label of the luck shared by its step and year.
    pub group: String,
    /// Other labels, and how far the luck of each moves the log odds.
    pub luck: Vec<(String, f64)>,
    /// What looks and counts say of it.
    pub known: Known,
}

/// What a lot's own looks and counts say of it; none where there are none.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// Mean and standard deviation of the log pace.
    pub pace: Option<[f64; 2]>,
    /// Mean share of the growing plants that live until they are ready.
    pub survival: Option<f64>,
    /// Likeness of the plants in that.
    pub survival_rho: Option<f64>,
}

/// A look or a count that hardly goes with what was believed of the lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Surprise {
    /// The lot.
    pub lot: LotName,
    /// The day.
    pub on: Date,
    /// Of what.
    pub of: SurpriseOf,
    /// Plants looked at, or that entered the step.
    pub plants: u32,
    /// Expected, from 5 to 95 %: plants, or mm.
    pub expected: [f64; 2],
    /// Found.
    pub found: f64,
    /// How likely something as far off was.
    pub chance: f64,
}

/// What a surprise is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SurpriseOf {
    /// Plants that were ready.
    Ready,
    /// The middle caliper, mm.
    Caliper,
    /// Plants that lived.
    Alive,
}

/// A rare loss: in a future it comes with a chance, in one week of a span, and takes a share of the plants.
#[derive(Debug, Clone, PartialEq)]
pub struct Peril {
    /// Its name, unique.
    pub id: String,
    /// The stages, as places in the model's.
    pub stages: Vec<usize>,
    /// First week.
    pub from: usize,
    /// Last week.
    pub until: usize,
    /// Its chance.
    pub chance: f64,
    /// The share of plants it takes.
    pub fraction: f64,
}

/// An order line, or expected demand as a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Name in cases: `order/line`.
    pub id: String,
    /// The order; `on spec` for expected demand, which `on_spec` tells from an order of that name.
    pub order: String,
    /// The line.
    pub line: String,
    /// Customer.
    pub customer: String,
    /// Variety.
    pub variety: VarietyName,
    /// Rootstocks in the order asked for.
    pub rootstocks: Vec<RootstockName>,
    /// Size.
    pub size: SizeName,
    /// Plants.
    pub plants: f64,
    /// First week it may ship.
    pub earliest: i64,
    /// Week due.
    pub due: i64,
    /// Last week it may ship.
    pub latest: i64,
    /// Price a plant, money.
    pub price: f64,
    /// Cost a plant and week late, money.
    pub late_cost: f64,
    /// Cost a plant short, money.
    pub short_cost: f64,
    /// Accepted stages, best first.
    pub accepts: Vec<usize>,
    /// Stages of what is accepted in its place, best first.
    pub substitutes: Vec<Substitute>,
    /// The chance that the customer keeps it.
    pub kept: f64,
    /// Plants from which on a part of it is sent off.
    pub minimum_load: u32,
    /// Lower is served first.
    pub priority: i64,
    /// Share it may fall short and be complete.
    pub tolerance: f64,
    /// Whether it is expected demand without an order.
    pub on_spec: bool,
    /// Odds to aim at, those set by hand or (lack − cost)/(lack − end value) within 0.5 … 0.98, cost and end value
    /// being those of a tree of the cheapest stage it accepts.
    pub target: f64,
    /// What a plant too few counts as when reserves are weighed, money: price and short cost; where the target is
    /// set by hand, as much as makes it that ratio.
    pub lack: f64,
}

/// A stage accepted in place of what was ordered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Substitute {
    /// Index of the stage.
    pub stage: usize,
    /// Price a plant, money.
    pub price: f64,
}

/// An order line that cannot be planned for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplanned {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Plants asked for.
    pub plants: u32,
    /// Why.
    pub why: String,
    /// Whether it is only too early: the line begins after the plan ends.
    pub later: bool,
}

/// One course of the weather to come: drawn from past weeks, or a past year and those after it.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherPath {
    /// Its number and the year it starts with, or that year alone.
    pub label: String,
    /// Weekly degree-days by climate.
    pub climates: BTreeMap<String, Vec<f64>>,
    /// Usable share of weeks by window.
    pub windows: BTreeMap<String, Vec<f64>>,
    /// Plants lost to frost and heat.
    pub losses: Vec<WeatherLoss>,
}

/// Plants lost in a week of a path.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherLoss {
    /// The week.
    pub week: usize,
    /// The stages, as places in the model's.
    pub stages: Vec<usize>,
    /// The share of their plants.
    pub fraction: f64,
}

impl SeasonModel {
    /// What people call a line: its own name, or that of all trees on spec.
    pub fn line_words<'a>(&self, id: &'a str) -> &'a str {
        let mut lines = self.lines.iter();
        if lines.any(|it| it.id == id && it.on_spec) {
            TREES_ON_SPEC
        } else {
            id
        }
    }

    /// A stage in words, as `Valencia on Carrizo, 4L`.
    pub fn stage_words(&self, stage: usize) -> String {
        let stage = &self.stages[stage];
        let mut words = match &stage.variety {
            Some(variety) => format!("{variety} on {}", stage.rootstock),
            None => stage.rootstock.to_string(),
        };
        if let Some(size) = &stage.size {
            words.push_str(", ");
            words.push_str(size.as_str());
        }
        if let Some(apart) = &stage.apart {
            words.push_str(", ");
            words.push_str(&apart.why.words());
        }
        words
    }

    /// Index of the stage of a case's name.
    pub fn stage_index(&self, id: &str) -> Option<usize> {
        self.stages.iter().position(|stage| stage.id == id)
    }

    /// The operation of a case's name.
    pub fn operation(&self, id: &str) -> Option<&Operation> {
        self.operations.iter().find(|operation| operation.id == id)
    }
}
