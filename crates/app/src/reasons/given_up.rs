//! What order lines that go short or late gave up, and which lines have it instead.
//!
//! The planner tells what one tree more of such a line would take (its cheapest way, at the plan's prices). The
//! dearest of that is what it lacks; whoever uses that thing in that week has it in its place. That they lose no
//! less by giving it away follows from the plan being the best: where an exchange would gain, it would be made.

use std::collections::BTreeMap;

use planner::{Lacking, Resource, Stood};
use season::{Line, PlannedJob, Served};
use serde::{Deserialize, Serialize};

use super::{first_few, line_names, one, price};
use crate::answers::{cents, minor, resource_words, why_short};
use crate::run::{LACKS, PlanRun};
use crate::words::{Words, money_words};

/// Lines named in a sentence.
const NAMED: usize = 3;

/// What an order line gave up, and for whom.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct GivenUpAnswer {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Plants it lacks, or is late with.
    pub plants: f64,
    /// Whether it is late with them and not short of them.
    pub late: bool,
    /// What it would take more of; none where no other line has it.
    pub what: Option<String>,
    /// The ISO week in which that is dearest.
    pub week: Option<String>,
    /// What one more of it is worth then, minor units.
    pub price: Option<i64>,
    /// What that is counted in.
    pub unit: Option<String>,
    /// The lines that have it in its place, those with most first.
    pub to: Vec<GivenToAnswer>,
    /// All of it in words.
    pub words: String,
}

/// A line that has what another one lacks.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct GivenToAnswer {
    /// Order and line.
    pub line: String,
    /// How much of it goes to this line, in its unit.
    pub amount: f64,
}

/// What a line would take: something scarce in a week, or plants that stand.
enum Wanted<'a> {
    Thing(&'a Resource, usize, f64),
    Plants(&'a Stood),
}

/// What order lines that go short or late gave up, those that lack most first.
pub fn given_up(run: &PlanRun) -> Vec<GivenUpAnswer> {
    let planned = run.model.lines.iter().zip(&run.plan.lines);
    let mut all: Vec<GivenUpAnswer> = planned
        .filter(|(line, _)| !line.on_spec)
        .flat_map(|(line, planned)| {
            let short = (planned.short >= LACKS).then(|| one_line(run, line, planned.short, false));
            let late = (planned.late >= LACKS).then(|| one_line(run, line, planned.late, true));
            short.into_iter().chain(late)
        })
        .collect();
    all.sort_by(|one, other| {
        one.late
            .cmp(&other.late)
            .then(other.plants.total_cmp(&one.plants))
    });
    all
}

fn one_line(run: &PlanRun, line: &Line, plants: f64, late: bool) -> GivenUpAnswer {
    let mut all = run.plan.lacking.iter();
    let lacking = all.find(|it| it.order == line.id && it.in_time == late);
    let wanted = lacking.and_then(wanted);
    let users = wanted
        .as_ref()
        .map_or_else(BTreeMap::new, |it| users(run, it));
    let mut to: Vec<GivenToAnswer> = users
        .into_iter()
        .filter(|(name, amount)| *name != line.id && *amount >= 0.005)
        .map(|(line, amount)| GivenToAnswer {
            line: line.to_owned(),
            amount: cents(amount),
        })
        .collect();
    to.sort_by(|one, other| other.amount.total_cmp(&one.amount));
    let mut answer = GivenUpAnswer {
        order: line.order.clone(),
        line: line.line.clone(),
        plants: cents(plants),
        late,
        to,
        ..GivenUpAnswer::default()
    };
    let head = if late {
        format!("{} is late with {}", line.id, money_words(plants))
    } else {
        format!("{} lacks {}", line.id, money_words(plants))
    };
    answer.words = match wanted {
        Some(wanted) if !answer.to.is_empty() => {
            answer.note(run, &wanted);
            format!("{head}: {}", answer.gone_words(run, line, &wanted))
        }
        wanted => format!("{head}. {}", reason(run, line, late, wanted.is_some())),
    };
    answer
}

impl GivenUpAnswer {
    /// Notes what is wanted.
    fn note(&mut self, run: &PlanRun, wanted: &Wanted<'_>) {
        let (what, week, price, unit) = match wanted {
            Wanted::Thing(resource, week, price) => (
                resource_words(run, resource),
                *week,
                *price,
                resource.unit(),
            ),
            Wanted::Plants(stood) => (plants_words(run, stood), stood.week, stood.worth, "plant"),
        };
        self.what = Some(what);
        self.week = Some(run.model.calendar.iso(week as i64));
        self.price = Some(minor(price));
        self.unit = Some(unit.to_owned());
    }

    /// Where it goes, as the end of a sentence.
    fn gone_words(&self, run: &PlanRun, line: &Line, wanted: &Wanted<'_>) -> String {
        let names = line_names(run, self.to.iter().map(|it| it.line.as_str()));
        let what = self.what.as_deref().unwrap_or_default();
        let week = self.week.as_deref().unwrap_or_default();
        let verb = match wanted {
            Wanted::Thing(resource, ..) if !resource.is_counted() => "goes",
            _ => "go",
        };
        let (Wanted::Thing(_, _, each) | Wanted::Plants(Stood { worth: each, .. })) = wanted;
        let unit = self.unit.as_deref().unwrap_or_default();
        // A late line does not lose its price: there is nothing to compare.
        let which = if self.late {
            String::new()
        } else {
            format!(", which {}", lose_words(run, line, &self.to))
        };
        format!(
            "{what} in {week} {verb} to {}{which}; {} more would earn {}.",
            first_few(&names, NAMED, "lines"),
            one(unit),
            price(run, *each)
        )
    }
}

/// What the lines that have it would lose, beside what the lacking line does.
fn lose_words(run: &PlanRun, line: &Line, to: &[GivenToAnswer]) -> &'static str {
    let at_stake = |it: &Line| it.price + it.short_cost;
    let more = to.iter().all(|it| {
        let mut lines = run.model.lines.iter();
        let known = lines.find(|known| known.id == it.line);
        known.is_some_and(|known| at_stake(known) > at_stake(line))
    });
    if more {
        match to {
            [_] => "loses more by each tree",
            _ => "lose more by each tree",
        }
    } else {
        "would lose as much or more without"
    }
}

/// The dearest that one tree more would take.
fn wanted(lacking: &Lacking) -> Option<Wanted<'_>> {
    let mut totals: BTreeMap<&Resource, f64> = BTreeMap::new();
    for it in &lacking.takes {
        *totals.entry(&it.resource).or_default() += it.charge();
    }
    let dearest = totals
        .into_iter()
        .max_by(|one, other| one.1.total_cmp(&other.1));
    let for_thing = dearest.map_or(0.0, |(_, charge)| charge);
    if let Some(stood) = &lacking.stood
        && stood.plants * stood.worth >= for_thing
    {
        return Some(Wanted::Plants(stood));
    }
    let (resource, _) = dearest?;
    // They are sorted by what is paid for them.
    let week = lacking.takes.iter().find(|it| it.resource == *resource)?;
    Some(Wanted::Thing(resource, week.week, week.price))
}

/// How much of it each line has.
fn users<'a>(run: &'a PlanRun, wanted: &Wanted<'_>) -> BTreeMap<&'a str, f64> {
    let mut users = BTreeMap::new();
    match wanted {
        Wanted::Thing(resource, week, _) => {
            for (at, job) in run.jobs.iter().enumerate() {
                let amount = use_of_job(run, job, resource, *week);
                share_out(&mut users, run, at, amount);
            }
            if let Resource::Area { place } = resource {
                ground_of_lots(&mut users, run, place, *week);
            }
        }
        Wanted::Plants(stood) => plants_of(&mut users, run, stood),
    }
    users
}

/// Gives the lines that a job serves their parts of what it takes, by trees; stock that nobody gets has its own.
fn share_out<'a>(users: &mut BTreeMap<&'a str, f64>, run: &'a PlanRun, job: usize, amount: f64) {
    let stock = run.trace.left[job] + run.trace.thrown_out[job];
    by_trees(users, &run.trace.serves[job], stock, amount);
}

fn by_trees<'a>(users: &mut BTreeMap<&'a str, f64>, serves: &'a [Served], stock: f64, amount: f64) {
    let all = stock + serves.iter().map(|it| it.trees).sum::<f64>();
    if amount <= 0.0 || all <= 0.0 {
        return;
    }
    for it in serves {
        *users.entry(&it.line).or_default() += amount * it.trees / all;
    }
}

/// How much a job takes of something in a week.
fn use_of_job(run: &PlanRun, job: &PlannedJob, resource: &Resource, week: usize) -> f64 {
    let operation = &run.model.operations[job.operation];
    let plants = f64::from(job.plants);
    match resource {
        Resource::CrewHour { crew } | Resource::HiredHour { crew } => {
            let then = operation.work.iter().filter(|work| {
                work.crew.as_str() == crew && job.week + work.after_weeks as usize == week
            });
            plants * then.map(|work| work.hours).sum::<f64>()
        }
        Resource::Supply { supply }
        | Resource::Batch { supply, .. }
        | Resource::BuyLimit { supply } => {
            if !shares_supply(run, supply, job.week, week) {
                return 0.0;
            }
            let of = |it: &&season::SupplyUse| run.model.supplies[it.supply].id == *supply;
            plants
                * operation
                    .uses
                    .iter()
                    .filter(of)
                    .map(|it| it.each)
                    .sum::<f64>()
        }
        Resource::Area { place } => {
            let into = &run.model.stages[operation.into];
            let start = operation.starts.iter().find(|it| it.week == job.week);
            match start {
                Some(start) if into.place.as_str() == place && job.week <= week => {
                    let parts = start.ready.iter().chain(&start.otherwise);
                    let parts = parts.map(|it| (job.week + it.week, it.share));
                    plants * into.area_m2 * growing(parts, week)
                }
                _ => 0.0,
            }
        }
    }
}

/// Whether what is used of a supply in one week could be used in the other: the week is the same, or a batch
/// keeps over both.
fn shares_supply(run: &PlanRun, supply: &str, used: usize, week: usize) -> bool {
    let mut supplies = run.model.supplies.iter();
    let known = supplies.find(|it| it.id == supply);
    let keeps = |from: i64, until: i64| {
        let span = from..=until;
        span.contains(&(used as i64)) && span.contains(&(week as i64))
    };
    used == week || known.is_some_and(|it| it.batches.iter().any(|it| keeps(it.from, it.until)))
}

/// The share of plants that still grow on at the end of a week, losses cleared with what becomes ready.
fn growing(parts: impl Iterator<Item = (usize, f64)>, week: usize) -> f64 {
    let (mut by_then, mut all) = (0.0, 0.0);
    for (ready, share) in parts {
        all += share;
        if ready <= week {
            by_then += share;
        }
    }
    if all > 0.0 { 1.0 - by_then / all } else { 0.0 }
}

/// The ground under standing lots that still grow on, by the lines that they serve.
fn ground_of_lots<'a>(
    users: &mut BTreeMap<&'a str, f64>,
    run: &'a PlanRun,
    place: &str,
    week: usize,
) {
    for (lot, serves) in run.model.standing.iter().zip(&run.trace.lots_serve) {
        let stage = &run.model.stages[lot.stage];
        if stage.place.as_str() == place {
            let parts = lot.arrivals.iter().chain(&lot.arrivals_otherwise);
            let share = growing(parts.map(|it| (it.week, it.share)), week);
            by_trees(
                users,
                serves,
                0.0,
                f64::from(lot.growing) * stage.area_m2 * share,
            );
        }
    }
}

/// The plants of a stage that are shipped, and those that other work takes.
fn plants_of<'a>(users: &mut BTreeMap<&'a str, f64>, run: &'a PlanRun, stood: &Stood) {
    for it in run
        .plan
        .shipments
        .iter()
        .filter(|it| it.stage == stood.stage)
    {
        *users.entry(&it.order).or_default() += it.plants;
    }
    let stage = run.model.stage_index(&stood.stage);
    for (at, job) in run.jobs.iter().enumerate() {
        if stage.is_some() && run.model.operations[job.operation].from == stage {
            share_out(users, run, at, f64::from(job.plants));
        }
    }
}

/// Plants that stand, in words.
fn plants_words(run: &PlanRun, stood: &Stood) -> String {
    let stage = run.model.stage_index(&stood.stage);
    let what = stage.map_or_else(
        || stood.stage.clone(),
        |at| {
            let stage = &run.model.stages[at];
            let words = Words(&run.nursery.catalogue);
            let plant = words.plant(stage.variety.as_ref(), &stage.rootstock);
            match &stage.size {
                Some(size) => format!("{plant}, {size},"),
                None => plant,
            }
        },
    );
    format!("the plants that stand of {what}")
}

/// Why a line lacks plants where no other line has what they would take.
fn reason(run: &PlanRun, line: &Line, late: bool, can_be: bool) -> String {
    let mut all = run.plan.short.iter();
    match all.find(|it| !late && it.order == line.id) {
        Some(short) => why_short(run, short),
        None if can_be => "To have its trees sooner would cost more than it earns.".to_owned(),
        None => "Its trees cannot be ready sooner.".to_owned(),
    }
}
