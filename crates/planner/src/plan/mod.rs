//! The plan: what to start, ship and throw out, and what each scarce thing is worth.

mod money;
mod prices;
pub(crate) mod read;

use std::collections::BTreeSet;
use std::num::NonZero;

use solver::{Method, Options, SolveError, Status};

use crate::case::{Case, CaseProblem};
use crate::checks::Checks;
use crate::lp;
use crate::net::Net;
use crate::why::{Lacking, Why};

pub use money::Money;
pub use prices::{Resource, ShadowPrice};

/// How a plan is to be found.
#[derive(Debug, Clone, Default)]
pub struct PlanOptions {
    /// Longest time to spend in the solver, seconds; none for no limit. Writing the model down is not
    /// counted.
    pub time_limit_s: Option<f64>,
    /// Threads to use; none leaves the choice to the solver.
    pub threads: Option<u16>,
    /// Set to true from another thread, it ends the run soon without a plan.
    pub stop: Option<std::sync::Arc<std::sync::atomic::AtomicBool>>,
    /// The corner of an earlier plan of a case with the same lists and weeks, to start from; the
    /// plan of any other case is left aside.
    pub start: Option<solver::Basis>,
    /// Whether a plan with a start begins anew all the same and only takes from it which rows bind: quicker for
    /// a large case in which many prices differ.
    pub anew: bool,
    /// Weeks of a period: the case is first looked at by such periods, and then planned week by week
    /// with the starts that are worth weighing, which is much quicker for a large case and close to
    /// its best plan. None weighs every start.
    pub period: Option<NonZero<usize>>,
    /// The starts that an earlier plan of a case with the same lists and weeks left out, to be left out
    /// again without another look by periods.
    pub leave_out: Option<LeftOut>,
}

/// Starts that a plan did not weigh, and the weeks in which it did not think of shipping or throwing out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LeftOut(pub(crate) BTreeSet<lp::Column>);

impl LeftOut {
    /// How many.
    pub fn count(&self) -> usize {
        let is_start = |it: &&lp::Column| matches!(it, lp::Column::Start { .. });
        self.0.iter().filter(is_start).count()
    }
}

/// What came of planning.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// The best plan of the starts that were weighed.
    Planned(Box<Plan>),
    /// No plan, with how the run ended.
    NotPlanned(Status),
}

impl Outcome {
    /// The plan, if there is one.
    pub fn plan(self) -> Option<Plan> {
        match self {
            Self::Planned(plan) => Some(*plan),
            Self::NotPlanned(_) => None,
        }
    }
}

/// Why nothing was planned at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// The case is wrong; all that is wrong with it.
    #[error("the case has {} problems, the first: {}", .0.len(), .0[0])]
    BadCase(Vec<CaseProblem>),
    /// The solver refused the model.
    #[error(transparent)]
    Solver(#[from] SolveError),
}

/// A season plan in real plants.
///
/// Weeks are the plan's; lists by week have one value for each. Quantities too small to mean a
/// plant, an hour or a unit (below 1e-6) are left out of the lists.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// How the run ended.
    pub status: Status,
    /// What the plan earns, costs taken off, money; the end value of what is left counts.
    pub profit: f64,
    /// Where the profit comes from; its parts add up to it.
    pub money: Money,
    /// Rows of the model.
    pub rows: usize,
    /// Columns of the model.
    pub columns: usize,
    /// Entries of the model.
    pub nonzeros: usize,
    /// Starts that the model may choose among.
    pub possible_starts: usize,
    /// Those of them that were not weighed because a plan by periods has no use for them; the plan
    /// is the best of the others.
    pub left_out: usize,
    /// The same, for a further plan.
    pub unweighed: LeftOut,
    /// Steps the solver took.
    pub iterations: u64,
    /// What to start, by operation and week.
    pub starts: Vec<PlannedStart>,
    /// What to ship, by order line and week.
    pub shipments: Vec<Shipment>,
    /// Every order line, in the case's order.
    pub lines: Vec<LinePlan>,
    /// The order lines that go short, each with its reason.
    pub short: Vec<ShortLine>,
    /// Every reserve, in the case's order.
    pub reserves: Vec<ReservePlan>,
    /// What to throw out or sell down, by stage and week.
    pub discards: Vec<Discard>,
    /// Every stage, in the case's order.
    pub stand: Vec<StagePlan>,
    /// Every crew, in the case's order.
    pub crew_use: Vec<CrewUse>,
    /// Every place, in the case's order.
    pub place_use: Vec<PlaceUse>,
    /// Every supply, in the case's order.
    pub supply_use: Vec<SupplyUse>,
    /// What one unit more of each scarce thing is worth, where it is worth anything.
    pub prices: Vec<ShadowPrice>,
    /// What one tree more of every line that goes short or late would take, at these prices.
    pub lacking: Vec<Lacking>,
    /// How far the answer is from its own rules, counted again outside the solver.
    pub checks: Checks,
    /// The corner the answer lies in, to start the next plan from.
    pub basis: Option<solver::Basis>,
}

/// Plants put through an operation in a week.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedStart {
    /// The operation's name.
    pub operation: String,
    /// The week.
    pub week: usize,
    /// Plants put through.
    pub plants: f64,
}

/// Plants shipped to an order line in a week.
#[derive(Debug, Clone, PartialEq)]
pub struct Shipment {
    /// The order line's name.
    pub order: String,
    /// The stage they are taken from.
    pub stage: String,
    /// The week.
    pub week: usize,
    /// Plants shipped.
    pub plants: f64,
}

/// What becomes of an order line.
#[derive(Debug, Clone, PartialEq)]
pub struct LinePlan {
    /// The order line's name.
    pub order: String,
    /// Plants ordered.
    pub plants: f64,
    /// Plants shipped up to the due week.
    pub on_time: f64,
    /// Plants shipped later, up to the latest week.
    pub late: f64,
    /// Plants not shipped.
    pub short: f64,
    /// Change of the profit by one plant more ordered, money; minus its short cost at worst.
    pub worth_of_one_more: f64,
}

/// An order line that goes short.
#[derive(Debug, Clone, PartialEq)]
pub struct ShortLine {
    /// The order line's name.
    pub order: String,
    /// Plants not shipped.
    pub plants: f64,
    /// What keeps them from being raised.
    pub why: Why,
}

/// What is held in a reserve.
#[derive(Debug, Clone, PartialEq)]
pub struct ReservePlan {
    /// The reserve's name.
    pub reserve: String,
    /// Ready plants left at the end of its week, less what its lines still lack then; below zero where they
    /// lack more.
    pub left: f64,
    /// Those that count in a step.
    pub held: f64,
    /// Why not one more; none where every step is full or outside the plan.
    pub why: Option<Why>,
}

/// Plants thrown out, or sold down, in a week.
#[derive(Debug, Clone, PartialEq)]
pub struct Discard {
    /// The stage.
    pub stage: String,
    /// The week.
    pub week: usize,
    /// Plants thrown out.
    pub plants: f64,
}

/// A stage's plants by week.
#[derive(Debug, Clone, PartialEq)]
pub struct StagePlan {
    /// The stage's name.
    pub stage: String,
    /// Plants that become ready (a), standing and planned.
    pub arrivals: Vec<f64>,
    /// Ready plants left at the end of the week (I).
    pub ready_left: Vec<f64>,
    /// Plants of planned starts still growing (M), losses not yet cleared among them; what stood
    /// already is in the case's `immature`.
    pub growing: Vec<f64>,
    /// What one plant more that becomes ready in the week is worth, money; none before the stage
    /// can have any.
    pub worth_of_ready_plant: Vec<Option<f64>>,
}

/// A crew's hours by week.
#[derive(Debug, Clone, PartialEq)]
pub struct CrewUse {
    /// The crew's name.
    pub crew: String,
    /// Own hours to be had.
    pub own: Vec<f64>,
    /// Hours of this crew's work that fall.
    pub work: Vec<f64>,
    /// Hours hired on top by the hour.
    pub hired: Vec<f64>,
    /// By block of the crew, not by week: the share of it that is hired.
    pub blocks: Vec<f64>,
    /// Hours of the blocks that are hired.
    pub in_blocks: Vec<f64>,
    /// Hours it spends on others' work.
    pub lent: Vec<f64>,
    /// Hours others spend on its work.
    pub borrowed: Vec<f64>,
}

impl CrewUse {
    /// All hired hours by week, by the hour and in blocks.
    pub fn hired_in_all(&self) -> Vec<f64> {
        let both = self.hired.iter().zip(&self.in_blocks);
        both.map(|(by_the_hour, in_blocks)| by_the_hour + in_blocks)
            .collect()
    }
}

/// A place's ground by week, m².
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceUse {
    /// The place's name.
    pub place: String,
    /// Ground under plants, growing and ready.
    pub used: Vec<f64>,
    /// Ground there is.
    pub area: Vec<f64>,
    /// Ground used beyond that.
    pub over: Vec<f64>,
}

/// A supply's use by week, in its units.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyUse {
    /// The supply's name.
    pub supply: String,
    /// Units used.
    pub used: Vec<f64>,
    /// Units bought.
    pub bought: Vec<f64>,
    /// By batch and week: units taken from it.
    pub from_batches: Vec<Vec<f64>>,
}

/// Plans a season: the best plan of the case in real plants, among the starts that are weighed.
///
/// # Errors
///
/// [`PlanError::BadCase`] with everything [`Case::validate`] finds; [`PlanError::Solver`] when the
/// solver refuses the model.
pub fn plan(case: &Case, options: &PlanOptions) -> Result<Outcome, PlanError> {
    let problems = case.validate();
    if !problems.is_empty() {
        return Err(PlanError::BadCase(problems));
    }
    let net = Net::new(case);
    let mut lp = lp::build(&net);
    let solver_options = solver_options(options);
    let (solved, left_out) = match (&options.leave_out, options.period) {
        (Some(LeftOut(starts)), _) => lp::solve_without(&net, &mut lp, starts, &solver_options)?,
        (None, Some(period)) => lp::solve_by_periods(&net, &mut lp, period.get(), &solver_options)?,
        (None, None) => (lp::solve(&net, &lp, &solver_options)?, BTreeSet::new()),
    };
    let solution = match solved {
        lp::Solved::Answered(solution) => solution,
        lp::Solved::Ended(status) => return Ok(Outcome::NotPlanned(status)),
    };
    let mut plan = read::plan(&net, &lp, &solution)?;
    plan.unweighed = LeftOut(left_out);
    plan.left_out = plan.unweighed.count();
    Ok(Outcome::Planned(Box::new(plan)))
}

fn solver_options(options: &PlanOptions) -> Options {
    Options {
        threads: options.threads,
        time_limit_s: options.time_limit_s,
        stop: options.stop.clone(),
        start: options.start.clone(),
        method: if options.anew {
            Method::InteriorPoint
        } else {
            Method::Choose
        },
        ..Options::default()
    }
}
