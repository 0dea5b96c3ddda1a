//! Why each job of the next weeks: whom it is for, what it costs, what a slip loses.

use std::fmt::Write as _;

use planner::case::WHOLE_WEEKS;
use planner::{LineSlip, Plan, Slip};
use season::{Operation, PlannedJob, Served};
use serde::{Deserialize, Serialize};

use super::{first_few, line_names, listed, price, sum};
use crate::answers::{cents, minor};
use crate::run::PlanRun;
use crate::words::{MINOR, capital, money_words};

/// Order lines named in a sentence.
const NAMED: usize = 3;

/// Weeks named in a sentence.
const WEEKS_NAMED: usize = 2;

/// Trees fewer than this are not worth a word.
const LEAST_TREES: f64 = 0.5;

/// Losses smaller than this, minor units for the whole job, are none.
const LEAST_LOSS: f64 = 1.0;

/// Losses smaller than this, minor units for the whole job, are next to nothing.
const SMALL_LOSS: f64 = 100.0;

/// What is told of a slip that was not looked into.
const NOT_LOOKED_INTO: &str = "not looked into, for want of time; earlier weeks went first.";

/// Why a job is done, and what happens when it is not done then.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct WhyAnswer {
    /// The job's name.
    pub job: String,
    /// What it costs, minor units: the parts below, materials and what the step costs by itself.
    pub cost: i64,
    /// Wages in it, for the work that follows too.
    pub wages: i64,
    /// What hired hours cost on top of wages.
    pub hired: i64,
    /// What is bought of seed, buds and liners.
    pub bought: i64,
    /// Where its trees end.
    pub ends: EndsAnswer,
    /// What happens when it is not done in its week; none where there was no time to look into it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_then: Option<SlipAnswer>,
    /// Whom it is for and what it costs, in words.
    pub words: String,
    /// What a slip does, in words.
    pub slip: String,
}

/// Where the trees of a job end, on average.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct EndsAnswer {
    /// Trees for order lines.
    pub ordered: f64,
    /// Trees for expected demand.
    pub on_spec: f64,
    /// Trees and stock that stand or grow on at the end of the plan.
    pub left: f64,
    /// Plants thrown out.
    pub thrown_out: f64,
    /// Trees of all these that stand in reserve against bad luck for a while.
    pub in_reserve: f64,
}

/// What happens when a job is not done in its week and the best is made of that.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SlipAnswer {
    /// What the plan earns less, minor units.
    pub loses: i64,
    /// Where more of the same work is done in its place.
    pub instead: Vec<InsteadAnswer>,
    /// The order lines that come short or late by it.
    pub lines: Vec<LineSlipAnswer>,
}

/// Work that is done in another week.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct InsteadAnswer {
    /// The ISO week.
    pub week: String,
    /// Plants more.
    pub plants: f64,
}

/// An order line that is served otherwise.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct LineSlipAnswer {
    /// Order and line.
    pub line: String,
    /// Plants more that it lacks; below zero where it lacks fewer.
    pub lacks: f64,
    /// Plants more that are late; below zero where fewer are.
    pub late: f64,
}

/// Why each job of the next twelve weeks.
pub fn why_of_jobs(run: &PlanRun) -> Vec<WhyAnswer> {
    let near = run.jobs.iter().enumerate();
    let near = near.filter(|(_, job)| job.week < WHOLE_WEEKS);
    near.map(|(at, job)| why(run, at, job)).collect()
}

fn why(run: &PlanRun, at: usize, job: &PlannedJob) -> WhyAnswer {
    let cost = Cost::of(run, job);
    let slip = run.slip_of(job);
    WhyAnswer {
        job: job.job.clone(),
        cost: minor(cost.all()),
        wages: minor(cost.wages),
        hired: minor(cost.hired),
        bought: minor(cost.bought),
        ends: ends(run, at),
        not_then: slip.map(|slip| slip_answer(run, slip)),
        slip: slip.map_or_else(
            || NOT_LOOKED_INTO.to_owned(),
            |slip| slip_words(run, job, slip),
        ),
        words: format!("{} It costs {}.", for_words(run, at), sum(run, cost.all())),
    }
}

/// What a job costs, money, as the season counts it.
struct Cost {
    wages: f64,
    hired: f64,
    bought: f64,
    /// Materials and the step by itself.
    other: f64,
}

impl Cost {
    fn of(run: &PlanRun, job: &PlannedJob) -> Self {
        let operation = &run.model.operations[job.operation];
        let plants = f64::from(job.plants);
        let (mut wages, mut hired) = (0.0, 0.0);
        for work in &operation.work {
            let hours = plants * work.hours;
            let crew = run.model.crews.iter().position(|it| it.crew == work.crew);
            let Some(crew) = crew else { continue };
            let known = &run.model.crews[crew];
            let week = job.week + work.after_weeks as usize;
            let extra = known.hired_extra_cost.get(week).copied().unwrap_or(0.0);
            wages += hours * known.wage;
            hired += hours * share_hired(&run.plan, crew, week) * extra;
        }
        Self {
            wages,
            hired,
            bought: plants * bought(run, operation, job.week),
            other: plants * operation.cost - wages,
        }
    }

    fn all(&self) -> f64 {
        self.wages + self.hired + self.bought + self.other
    }
}

/// The share of a crew's work in a week that is done in hired hours.
fn share_hired(plan: &Plan, crew: usize, week: usize) -> f64 {
    let used = &plan.crew_use[crew];
    let at = |hours: &[f64]| hours.get(week).copied().unwrap_or(0.0);
    let here = at(&used.work) + at(&used.lent) - at(&used.borrowed);
    let hired = at(&used.hired_in_all());
    if here > 0.0 {
        (hired / here).min(1.0)
    } else {
        0.0
    }
}

/// What one plant of a job takes of bought supplies, money.
fn bought(run: &PlanRun, operation: &Operation, week: usize) -> f64 {
    let needs = operation.uses.iter().map(|need| {
        let bought = run.model.supplies[need.supply].bought.as_ref();
        let price = bought.map_or(0.0, |it| it.price_in(week));
        let planned = &run.plan.supply_use[need.supply];
        let share = planned.bought[week] / planned.used[week].max(1e-9);
        need.each * share.min(1.0) * price
    });
    needs.sum()
}

fn ends(run: &PlanRun, at: usize) -> EndsAnswer {
    let is_on_spec = |it: &&Served| {
        let mut lines = run.model.lines.iter();
        lines.any(|line| line.on_spec && line.id == it.line)
    };
    let trees = |it: &Served| it.trees;
    let served = &run.trace.serves[at];
    let on_spec: f64 = served.iter().filter(is_on_spec).map(trees).sum();
    let all: f64 = served.iter().map(trees).sum();
    EndsAnswer {
        ordered: cents(all - on_spec),
        on_spec: cents(on_spec),
        left: cents(run.trace.left[at]),
        thrown_out: cents(run.trace.thrown_out[at]),
        in_reserve: cents(most_held(run, at).map_or(0.0, trees)),
    }
}

/// The reserve that most trees of a job stand in. A tree that is held for some lines in one week may be held for
/// others in another, so that reserves do not add up.
fn most_held(run: &PlanRun, at: usize) -> Option<&Served> {
    let held = run.trace.held[at].iter();
    held.max_by(|one, other| one.trees.total_cmp(&other.trees))
}

/// Whom a job is for, as a sentence.
fn for_words(run: &PlanRun, at: usize) -> String {
    let served = &run.trace.serves[at];
    let line = |it: &&Served| run.model.lines.iter().find(|line| line.id == it.line);
    let (on_spec, ordered): (Vec<&Served>, Vec<&Served>) = served
        .iter()
        .partition(|it| line(it).is_some_and(|line| line.on_spec));
    let names: Vec<String> = ordered
        .iter()
        .map(|it| {
            let due = line(it).map_or_else(String::new, |line| {
                format!(", due {}", run.model.calendar.iso(line.due))
            });
            format!("{} ({}{due})", it.line, trees(it.trees))
        })
        .collect();
    let mut parts = Vec::new();
    if !names.is_empty() {
        parts.push(format!("for {}", first_few(&names, NAMED, "lines")));
    }
    let on_spec: f64 = on_spec.iter().map(|it| it.trees).sum();
    if on_spec >= LEAST_TREES {
        parts.push(format!("{} on spec", trees(on_spec)));
    }
    let (left, out) = (run.trace.left[at], run.trace.thrown_out[at]);
    if left >= LEAST_TREES {
        let still = verb(left, "stands", "stand");
        parts.push(format!("{} still {still} when the plan ends", trees(left)));
    }
    if out >= LEAST_TREES {
        let thrown = verb(out, "is", "are");
        parts.push(format!("{} {thrown} thrown out as too old", trees(out)));
    }
    let mut words = capital(&parts.join("; "));
    if words.is_empty() {
        "For losses on the way.".clone_into(&mut words);
    } else {
        words.push('.');
    }
    if let Some(most) = most_held(run, at).filter(|it| it.trees >= LEAST_TREES) {
        let names = line_names(run, most.line.split(", "));
        // Writing into a text cannot fail.
        let _ = write!(
            words,
            " Of these, {} {} in reserve for {} against bad luck.",
            trees(most.trees),
            verb(most.trees, "stands", "stand"),
            first_few(&names, NAMED, "lines")
        );
    }
    words
}

fn trees(trees: f64) -> String {
    money_words(trees)
}

/// The verb of so many trees, as they are told.
fn verb(trees: f64, one: &'static str, more: &'static str) -> &'static str {
    if trees.round() > 1.0 { more } else { one }
}

fn slip_answer(run: &PlanRun, slip: &Slip) -> SlipAnswer {
    let instead = slip.instead.iter().map(|&(week, plants)| InsteadAnswer {
        week: run.model.calendar.iso(week as i64),
        plants: cents(plants),
    });
    let lines = slip.lines.iter().map(|it| LineSlipAnswer {
        line: it.order.clone(),
        lacks: cents(it.short),
        late: cents(it.late),
    });
    SlipAnswer {
        loses: minor(slip.loss),
        instead: instead.collect(),
        lines: lines.collect(),
    }
}

/// What a slip does, as a sentence.
fn slip_words(run: &PlanRun, job: &PlannedJob, slip: &Slip) -> String {
    let loses = if slip.loss * MINOR < LEAST_LOSS {
        "no money is lost".to_owned()
    } else if slip.loss * MINOR < SMALL_LOSS {
        format!("next to nothing is lost, {}", sum(run, slip.loss))
    } else {
        let each = slip.loss / f64::from(job.plants.max(1));
        let each = if each * MINOR >= LEAST_LOSS {
            format!(", {} a plant", price(run, each))
        } else {
            String::new()
        };
        format!("{} is lost{each}", sum(run, slip.loss))
    };
    let who = worse_off(slip);
    let who = if who.is_empty() {
        String::new()
    } else {
        format!(": {}", first_few(&who, NAMED, "lines"))
    };
    format!("{loses}{who}. {}", instead_words(run, slip))
}

/// The lines that come off worse by a slip, those that lack most first.
fn worse_off(slip: &Slip) -> Vec<String> {
    let mut lines: Vec<&LineSlip> = slip.lines.iter().collect();
    lines.sort_by(|one, other| {
        let lack = other.short.total_cmp(&one.short);
        lack.then(other.late.total_cmp(&one.late))
    });
    let words = lines.into_iter().filter_map(|it| {
        if it.short >= LEAST_TREES {
            Some(format!("{} lacks {} more", it.order, trees(it.short)))
        } else if it.late >= LEAST_TREES {
            Some(format!("{} is late with {} more", it.order, trees(it.late)))
        } else {
            None
        }
    });
    words.collect()
}

/// When the work is done in place of the week.
fn instead_words(run: &PlanRun, slip: &Slip) -> String {
    let mut most: Vec<&(usize, f64)> = slip.instead.iter().collect();
    most.sort_by(|one, other| other.1.total_cmp(&one.1));
    most.truncate(WEEKS_NAMED);
    most.sort_by_key(|it| it.0);
    let weeks: Vec<String> = most
        .into_iter()
        .map(|&(week, plants)| {
            let iso = run.model.calendar.iso(week as i64);
            format!("{} in {iso}", trees(plants))
        })
        .collect();
    if weeks.is_empty() {
        return "It is not made up for in another week.".to_owned();
    }
    format!("Best made up for with {}.", listed(&weeks))
}
