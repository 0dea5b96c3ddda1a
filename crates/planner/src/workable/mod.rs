//! A plan in whole plants and whole jobs for the first weeks, from the plan in real plants.
//!
//! Near weeks keep the rules that work has: starts in whole plants or whole trays, no session below
//! its least, seasonal people by whole blocks, no more jobs a week than can be led. Far weeks stay
//! real. `round` rounds the near starts of the real plan at once; they are fixed in the linear model, so
//! that all else follows as in any plan. Where that costs more than the gap allows, the rules are added
//! to the shorter linear model (`lp::short`) as whole columns, for a search that begins with what is
//! known: `search` has them, and `most` says how large a start can get.

mod most;
mod round;
mod search;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use solver::{Options, Solution, Status};

use crate::case::Case;
use crate::lp::{self, Lp, Solved, time_left};
use crate::net::Net;
use crate::plan::{Plan, PlanError, read};
use round::{Jobs, Way, rounded};
use search::{Choice, Search};

pub use search::Rules;

/// How a workable plan is to be found.
#[derive(Debug, Clone)]
pub struct WorkableOptions {
    /// Longest time for all of it, seconds in the solver; none for no limit. The runs that lead to a
    /// first plan that keeps the rules are not cut short; the search for better jobs has what they leave.
    pub time_limit_s: Option<f64>,
    /// Threads to use; none leaves the choice to the solver.
    pub threads: Option<u16>,
    /// Set to true from another thread, it ends the run soon without a plan.
    pub stop: Option<Arc<AtomicBool>>,
    /// The search ends with a plan that is proved to be within this share of the best profit.
    pub gap: f64,
    /// Whether what each rule costs is looked for too, in the time there is.
    pub tell_rules: bool,
}

impl Default for WorkableOptions {
    fn default() -> Self {
        Self {
            time_limit_s: None,
            threads: None,
            stop: None,
            gap: 5e-3,
            tell_rules: false,
        }
    }
}

/// How the jobs of a workable plan were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// They are the best of those weighed, to within the gap asked for.
    Best,
    /// They are the best that were found before the time was up.
    TimeUp,
    /// The real plan's starts were rounded to whole jobs, and nothing better was found in the time.
    Rounded,
}

impl Found {
    /// In a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Self::Best => "best",
            Self::TimeUp => "time up",
            Self::Rounded => "rounded",
        }
    }
}

/// A rule that only whole jobs keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// Starts have whole plants.
    WholePlants,
    /// Starts come in multiples.
    Multiples,
    /// Starts have their least number of plants.
    Least,
    /// Every job costs something by itself.
    JobCost,
    /// A week has so many jobs at most.
    MostJobs,
    /// Blocks of hired hours are taken whole.
    Blocks,
}

/// What keeping one rule more costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleCost {
    /// The rule.
    pub rule: Rule,
    /// Profit lost when it is kept as well as those before it, money.
    pub cost: f64,
}

/// A plan in whole plants and whole jobs in its near weeks.
#[derive(Debug, Clone, PartialEq)]
pub struct Workable {
    /// The plan. Its prices, worths and reasons are those of the plan in real plants, since whole jobs
    /// have none; its profit and money are its own.
    pub plan: Plan,
    /// How many of its first weeks are whole.
    pub whole_weeks: usize,
    /// How its jobs were found.
    pub found: Found,
    /// What whole plants and jobs cost: profit less than that of the plan in real plants, money.
    pub cost_of_whole: f64,
    /// The same as a share of the profit in real plants; none where that is nothing.
    pub cost_share: Option<f64>,
    /// No plan that keeps the rules earns more than this, money, of the starts that were weighed.
    pub bound: f64,
    /// What one rule after another costs, as far as there was time to tell; within the gap.
    pub rules: Vec<RuleCost>,
    /// Seconds in the solver.
    pub seconds: Seconds,
}

/// Where the seconds in the solver went.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Seconds {
    /// The plan in real plants, from its corner, and again with whole blocks where they were not.
    pub real: f64,
    /// The plan with rounded jobs.
    pub rounded: f64,
    /// The search for better jobs.
    pub search: f64,
    /// The plan with the jobs that were found.
    pub fixed: f64,
    /// What one rule after another costs.
    pub rules: f64,
}

impl Seconds {
    /// All of them.
    pub fn in_all(self) -> f64 {
        self.real + self.rounded + self.search + self.fixed + self.rules
    }
}

/// Makes a plan workable: whole in its first weeks ([`Case::near_weeks`]).
///
/// None where the run was stopped.
///
/// # Errors
///
/// [`PlanError::BadCase`] with everything [`Case::validate`] finds; [`PlanError::Solver`] when the
/// solver refuses the model.
pub fn workable(
    case: &Case,
    linear: &Plan,
    options: &WorkableOptions,
) -> Result<Option<Workable>, PlanError> {
    let problems = case.validate();
    if !problems.is_empty() {
        return Err(PlanError::BadCase(problems));
    }
    let net = Net::new(case);
    let mut lp = lp::build(&net);
    lp.leave_out(&linear.unweighed.0);
    let plain = Options {
        threads: options.threads,
        stop: options.stop.clone(),
        start: linear.basis.clone(),
        ..Options::default()
    };
    let Solved::Answered(real) = lp::solve(&net, &lp, &plain)? else {
        return Ok(None);
    };
    let work = Work {
        net: &net,
        lp: &lp,
        real: &real,
        plain: &plain,
        options,
        linear,
    };
    work.workable()
}

/// What a search works on.
struct Work<'a> {
    net: &'a Net<'a>,
    lp: &'a Lp,
    /// The answer in real plants.
    real: &'a Solution,
    /// Options of linear runs.
    plain: &'a Options,
    options: &'a WorkableOptions,
    /// The plan in real plants.
    linear: &'a Plan,
}

/// A plan with its jobs, and what is proved of it.
struct Done {
    plan: Plan,
    jobs: Jobs,
    found: Found,
    bound: f64,
}

/// What came of fixing jobs.
enum Fixed {
    /// The plan, and the seconds it took.
    Plan(Box<Plan>, f64),
    /// The jobs cannot be kept to.
    Broken,
    /// The run was stopped.
    Stopped,
}

impl Work<'_> {
    fn workable(&self) -> Result<Option<Workable>, PlanError> {
        let rules = Rules::of(self.net.case);
        let mut seconds = Seconds {
            real: self.real.seconds,
            ..Seconds::default()
        };
        let Some(mut done) = self.rounded(rules, &mut seconds)? else {
            return Ok(None);
        };
        let mut costs = Vec::new();
        let is_near = done.plan.profit >= self.linear.profit - self.gap();
        if is_near {
            done.found = Found::Best;
        }
        if !is_near && self.is_time_left(seconds) || self.options.tell_rules {
            let reduced = search::reduced(self.net, self.lp, self.real);
            let net = Net::new(&reduced.case);
            let lp = lp::build(&net);
            let matrix = lp.model.matrix()?;
            let small = (&net, &lp, &matrix);
            if !is_near && !self.better(&mut done, small, reduced.is_all, &mut seconds)? {
                return Ok(None);
            }
            if self.options.tell_rules && done.found == Found::Best {
                costs = self.rule_costs(small, rules, done.plan.profit, &mut seconds)?;
            }
        }
        Ok(Some(self.told(done, costs, seconds)))
    }

    fn told(&self, done: Done, rules: Vec<RuleCost>, seconds: Seconds) -> Workable {
        let (mut plan, linear) = (done.plan, self.linear);
        keep_prices(&mut plan, linear);
        // Reserves and changes are no money that anybody pays; both profits are told without them.
        let paid = |plan: &Plan| plan.profit - plan.money.unpaid();
        let (best, cost) = (paid(linear), paid(linear) - paid(&plan));
        Workable {
            whole_weeks: self.net.case.near_weeks(),
            found: done.found,
            cost_of_whole: cost,
            cost_share: (best > 0.0).then(|| cost / best),
            bound: linear.profit.min(done.bound).max(plan.profit),
            rules,
            seconds,
            plan,
        }
    }

    /// What may be lost, money.
    fn gap(&self) -> f64 {
        self.options.gap * self.linear.profit.abs()
    }

    fn is_time_left(&self, seconds: Seconds) -> bool {
        self.time_for_search(seconds).is_none_or(|left| left > 0.0)
    }

    /// Seconds left for a search: what it finds is to be fixed too, which takes about as long as
    /// fixing what was rounded, and before it begins that is done in its model.
    fn time_for_search(&self, seconds: Seconds) -> Option<f64> {
        let spent = seconds.in_all() + 2.0 * seconds.rounded;
        time_left(self.options.time_limit_s, spent)
    }

    /// The plan with rounded jobs; none where the run was stopped.
    fn rounded(&self, rules: Rules, seconds: &mut Seconds) -> Result<Option<Done>, PlanError> {
        let Some(whole) = self.with_whole_blocks(seconds)? else {
            return Ok(None);
        };
        let real = whole.as_ref().unwrap_or(self.real);
        for way in Way::ALL {
            let jobs = rounded(self.net, self.lp, real, rules, way);
            match self.fixed(&jobs)? {
                Fixed::Plan(plan, took) => {
                    seconds.rounded += took;
                    return Ok(Some(Done {
                        plan: *plan,
                        jobs,
                        found: Found::Rounded,
                        bound: f64::INFINITY,
                    }));
                }
                Fixed::Broken => {}
                Fixed::Stopped => return Ok(None),
            }
        }
        Ok(None)
    }

    /// The answer in real plants with blocks rounded, where any is hired in part; the outer none where
    /// there is none.
    fn with_whole_blocks(
        &self,
        seconds: &mut Seconds,
    ) -> Result<Option<Option<Solution>>, PlanError> {
        let mut lp = self.lp.clone();
        let mut is_whole = true;
        for (&column, &id) in &self.lp.columns {
            if let Some(Choice::Block { .. }) = search::choice(self.net, column) {
                let share = round::whole_share(self.real, id);
                is_whole &= (share - self.real.columns[id].value).abs() <= search::FEW;
                lp.model.set_column(id, share, share);
            }
        }
        if is_whole {
            return Ok(Some(None));
        }
        let Solved::Answered(solution) = lp::solve(self.net, &lp, self.plain)? else {
            return Ok(None);
        };
        seconds.real += solution.seconds;
        Ok(Some(Some(solution)))
    }

    /// Searches for better jobs in the time that is left; false where the run was stopped.
    fn better(
        &self,
        done: &mut Done,
        (net, lp, matrix): (&Net, &Lp, &solver::Columns),
        is_all: bool,
        seconds: &mut Seconds,
    ) -> Result<bool, PlanError> {
        let mut search = Search::new(net, lp, matrix, self.real, Rules::of(net.case));
        let Some(known) = search.known(&done.jobs, self.plain)? else {
            return Ok(!self.is_stopped());
        };
        let options = self.searching(self.time_for_search(*seconds));
        let best = search.best(&known, &options)?;
        seconds.search += search.seconds;
        let Some(best) = best else {
            return Ok(!self.is_stopped());
        };
        if is_all {
            done.bound = best.bound;
        }
        if best.found == Found::Best {
            done.found = Found::Best;
        }
        if best.profit > known.profit {
            match self.fixed(&best.jobs)? {
                Fixed::Plan(plan, took) => {
                    seconds.fixed += took;
                    if plan.profit > done.plan.profit {
                        (done.plan, done.jobs, done.found) = (*plan, best.jobs, best.found);
                    }
                }
                Fixed::Broken => {}
                Fixed::Stopped => return Ok(false),
            }
        }
        Ok(true)
    }

    fn is_stopped(&self) -> bool {
        let stop = self.options.stop.as_ref();
        stop.is_some_and(|it| it.load(Ordering::Relaxed))
    }

    /// Options of a search of so many seconds.
    fn searching(&self, time_limit_s: Option<f64>) -> Options {
        Options {
            start: None,
            time_limit_s,
            gap: self.options.gap,
            ..self.plain.clone()
        }
    }

    /// The plan with jobs fixed.
    fn fixed(&self, jobs: &Jobs) -> Result<Fixed, PlanError> {
        // The second time, plants may fall short of a whole one by rounding.
        for slack in [0.0, 1e-6] {
            let mut lp = self.lp.clone();
            for (&column, &id) in &self.lp.columns {
                if let Some(choice) = search::choice(self.net, column) {
                    let value = jobs.values.get(&choice).copied().unwrap_or(0.0);
                    let least = (value - slack).max(0.0);
                    lp.model.set_column(id, least, value);
                }
            }
            match lp::solve(self.net, &lp, self.plain)? {
                Solved::Answered(solution) => {
                    let mut plan = read::plan(self.net, &lp, &solution)?;
                    plan.money.jobs = jobs.cost;
                    plan.profit -= jobs.cost;
                    return Ok(Fixed::Plan(Box::new(plan), solution.seconds));
                }
                Solved::Ended(Status::Stopped) => return Ok(Fixed::Stopped),
                Solved::Ended(_) => {}
            }
        }
        Ok(Fixed::Broken)
    }

    /// What one rule after another costs, until the time is up.
    fn rule_costs(
        &self,
        (net, lp, matrix): (&Net, &Lp, &solver::Columns),
        all: Rules,
        with_all: f64,
        seconds: &mut Seconds,
    ) -> Result<Vec<RuleCost>, PlanError> {
        let mut costs = Vec::new();
        let mut before = -self.real.objective;
        let mut kept = Rules::none();
        let steps: Vec<Rule> = all.each().collect();
        for (position, &rule) in steps.iter().enumerate() {
            kept = kept.and(rule);
            let profit = if position + 1 == steps.len() {
                with_all
            } else {
                let mut search = Search::new(net, lp, matrix, self.real, kept);
                let jobs = rounded(self.net, self.lp, self.real, kept, Way::Nearest);
                let Some(known) = search.known(&jobs, self.plain)? else {
                    break;
                };
                let best = search.best(&known, &self.searching(self.time_for_search(*seconds)))?;
                seconds.rules += search.seconds;
                match best {
                    Some(best) if best.found == Found::Best => best.profit,
                    _ => break,
                }
            };
            let cost = before - profit;
            costs.push(RuleCost { rule, cost });
            before = profit;
        }
        Ok(costs)
    }
}

/// Whole jobs have no prices; those of the plan in real plants stay.
fn keep_prices(plan: &mut Plan, linear: &Plan) {
    plan.prices.clone_from(&linear.prices);
    plan.lacking.clone_from(&linear.lacking);
    plan.basis.clone_from(&linear.basis);
    plan.left_out = linear.left_out;
    plan.unweighed.clone_from(&linear.unweighed);
    for (stage, of_linear) in plan.stand.iter_mut().zip(&linear.stand) {
        stage
            .worth_of_ready_plant
            .clone_from(&of_linear.worth_of_ready_plant);
    }
    for (line, of_linear) in plan.lines.iter_mut().zip(&linear.lines) {
        line.worth_of_one_more = of_linear.worth_of_one_more;
    }
    for (reserve, of_linear) in plan.reserves.iter_mut().zip(&linear.reserves) {
        reserve.why.clone_from(&of_linear.why);
    }
    let whys: BTreeMap<&str, &crate::why::Why> = linear
        .short
        .iter()
        .map(|it| (it.order.as_str(), &it.why))
        .collect();
    for short in &mut plan.short {
        short.why = match whys.get(short.order.as_str()) {
            Some(&why) => why.clone(),
            None => crate::why::Why::WholeJobs,
        };
    }
}
