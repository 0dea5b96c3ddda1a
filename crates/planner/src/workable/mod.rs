//! A plan in whole plants and whole jobs for the first weeks, from the plan in real plants.
//!
//! Near weeks keep the rules that work has: starts in whole plants or whole trays, no session below
//! its least, seasonal people by whole blocks, no more jobs a week than can be led. Far weeks stay
//! real. The rules are added to the shorter linear model (`lp::short`) as whole columns; `search`
//! has them, `round` finds a first answer by rounding down, and `most` says how large a start can get.
//! What is chosen is then fixed in the linear model, so that all else follows as in any plan.

mod most;
mod round;
mod search;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use solver::{Options, Solution};

use crate::case::Case;
use crate::lp::{self, Column, Lp, Solved, time_left};
use crate::net::Net;
use crate::plan::{Plan, PlanError, read};
use search::{Chosen, Search};

pub use search::Rules;

/// How a workable plan is to be found.
#[derive(Debug, Clone)]
pub struct WorkableOptions {
    /// Longest time to search for better jobs, seconds in the solver; none for no limit. A plan that
    /// keeps the rules is found before it is looked at.
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
            gap: 1e-3,
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
    /// The real plan's starts were rounded down to whole jobs; what fell below its least was dropped.
    Rounded,
}

impl Found {
    /// In a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Self::Best => "best",
            Self::TimeUp => "time up",
            Self::Rounded => "rounded down",
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
    pub seconds: f64,
}

/// Makes a plan workable: whole in its first weeks ([`Case::near_weeks`]).
///
/// None where the run was stopped. A time limit ends only the search for better jobs.
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
    let not_weighed = linear.not_weighed.iter();
    lp.leave_out(
        &not_weighed
            .map(|&(operation, start)| Column::Start { operation, start })
            .collect(),
    );
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
    };
    work.workable(linear)
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
}

impl Work<'_> {
    fn workable(&self, linear: &Plan) -> Result<Option<Workable>, PlanError> {
        let all = Rules::of(self.net.case);
        let reduced = search::reduced(self.net, self.lp, self.real);
        let net = Net::new(&reduced.case);
        let lp = lp::build(&net);
        let matrix = lp.model.matrix()?;
        let mut search = Search::new(&net, &lp, &matrix, self.real, all);
        let Some(rounded) = search.rounded(self.plain)? else {
            return Ok(None);
        };
        let best = search.best(&rounded, &self.searching(search.seconds))?;
        let mut seconds = self.real.seconds + search.seconds;
        let mut done = None;
        for chosen in best.iter().chain([&rounded]) {
            if let Some((plan, took)) = self.fixed(chosen)? {
                seconds += took;
                done = Some((plan, chosen));
                break;
            }
        }
        let Some((mut plan, chosen)) = done else {
            return Ok(None);
        };
        keep_prices(&mut plan, linear);
        let cost = linear.profit - plan.profit;
        let proved = if reduced.is_all {
            chosen.bound
        } else {
            f64::INFINITY
        };
        let rules = if self.options.tell_rules && chosen.found == Found::Best {
            self.rule_costs((&net, &lp, &matrix), all, chosen, &mut seconds)?
        } else {
            Vec::new()
        };
        Ok(Some(Workable {
            whole_weeks: self.net.case.near_weeks(),
            found: chosen.found,
            cost_of_whole: cost,
            cost_share: (linear.profit > 0.0).then(|| cost / linear.profit),
            bound: linear.profit.min(proved).max(plan.profit),
            rules,
            seconds,
            plan,
        }))
    }

    /// Options of the search, so many seconds being spent.
    fn searching(&self, spent: f64) -> Options {
        Options {
            start: None,
            time_limit_s: time_left(self.options.time_limit_s, spent),
            gap: self.options.gap,
            ..self.plain.clone()
        }
    }

    /// The plan with what was chosen fixed, and the seconds it took; none where it cannot be kept to.
    fn fixed(&self, chosen: &Chosen) -> Result<Option<(Plan, f64)>, PlanError> {
        // The second time, plants may fall short of a whole one by rounding.
        for slack in [0.0, 1e-6] {
            let mut lp = self.lp.clone();
            for (&column, &id) in &self.lp.columns {
                if let Some(choice) = search::choice(self.net, column) {
                    let value = chosen.values.get(&choice).copied().unwrap_or(0.0);
                    let least = (value - slack).max(0.0);
                    lp.model.set_column(id, least, value);
                }
            }
            if let Solved::Answered(solution) = lp::solve(self.net, &lp, self.plain)? {
                let mut plan = read::plan(self.net, &lp, &solution)?;
                plan.money.jobs = chosen.job_cost;
                plan.profit -= chosen.job_cost;
                return Ok(Some((plan, solution.seconds)));
            }
        }
        Ok(None)
    }

    /// What one rule after another costs, until the time is up.
    fn rule_costs(
        &self,
        (net, lp, matrix): (&Net, &Lp, &solver::Columns),
        all: Rules,
        chosen: &Chosen,
        seconds: &mut f64,
    ) -> Result<Vec<RuleCost>, PlanError> {
        let mut costs = Vec::new();
        let mut before = -self.real.objective;
        let mut kept = Rules::none();
        let steps: Vec<Rule> = all.each().collect();
        for (position, &rule) in steps.iter().enumerate() {
            kept = kept.and(rule);
            let profit = if position + 1 == steps.len() {
                chosen.profit
            } else {
                let mut search = Search::new(net, lp, matrix, self.real, kept);
                let Some(rounded) = search.rounded(self.plain)? else {
                    break;
                };
                let best = search.best(&rounded, &self.searching(*seconds + search.seconds))?;
                *seconds += search.seconds;
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
    plan.basis.clone_from(&linear.basis);
    plan.left_out = linear.left_out;
    plan.not_weighed.clone_from(&linear.not_weighed);
    for (stage, of_linear) in plan.stand.iter_mut().zip(&linear.stand) {
        stage
            .worth_of_ready_plant
            .clone_from(&of_linear.worth_of_ready_plant);
    }
    for (line, of_linear) in plan.lines.iter_mut().zip(&linear.lines) {
        line.worth_of_one_more = of_linear.worth_of_one_more;
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
