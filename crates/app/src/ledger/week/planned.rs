//! Jobs of the accepted plan, as far as they are not done.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use nursery::files::parse_week;
use nursery::ledger::books::AcceptedPlan;
use season::Calendar;
use serde::Deserialize;

use super::done::{Done, WorkDone, WorkKey};
use super::lots::{Standing, Yard};
use super::{JobLot, Reason, State, WeekJob, acts, cuts};
use crate::answers::{CutAnswer, JobAnswer, SupplyAnswer, cents};
use crate::ledger::names::Shown;

/// The part of an accepted plan that the week's work is read from.
#[derive(Default, Deserialize)]
#[serde(default)]
struct Plan {
    jobs: Vec<JobAnswer>,
    why: Vec<WhySlip>,
    cuts: Vec<CutAnswer>,
    lines: Vec<LineOdds>,
}

/// What a plan says of the odds of a line.
#[derive(Default, Deserialize)]
#[serde(default)]
struct LineOdds {
    order: String,
    line: String,
    on_time: Option<f64>,
}

/// What an accepted plan asks for.
#[derive(Debug, Default, PartialEq)]
pub struct Agreed {
    /// Its jobs, the earliest week first.
    pub jobs: Vec<JobAnswer>,
    /// Budsticks to cut.
    pub cuts: Vec<CutAnswer>,
    /// By order line, the odds of being on time.
    pub odds: BTreeMap<String, f64>,
}

/// What a plan says of the slip of a job.
#[derive(Default, Deserialize)]
#[serde(default)]
struct WhySlip {
    job: String,
    slip: String,
}

/// What a plan asks for in a week.
#[derive(Default)]
pub struct Planned {
    /// Jobs of the week and those that slipped.
    pub jobs: Vec<WeekJob>,
    /// Jobs that are too late.
    pub missed: usize,
    /// Kinds of work of which plants are left in any week.
    pub open: BTreeSet<WorkKey>,
}

/// What an accepted plan asks for.
pub fn agreed(plan: &AcceptedPlan) -> Arc<Agreed> {
    let plan: Plan = serde_json::from_str(&plan.plan).unwrap_or_default();
    let mut jobs = plan.jobs;
    let slips = plan.why.into_iter().filter(|it| !it.slip.is_empty());
    let mut slips: BTreeMap<String, String> = slips.map(|it| (it.job, it.slip)).collect();
    for job in &mut jobs {
        job.slip = slips.remove(&job.job);
    }
    jobs.sort_by(|one, other| one.week.cmp(&other.week));
    let lines = plan.lines.into_iter();
    let odds = lines.filter_map(|it| Some((format!("{}/{}", it.order, it.line), it.on_time?)));
    Arc::new(Agreed {
        jobs,
        cuts: plan.cuts,
        odds: odds.collect(),
    })
}

/// The plan's jobs of this week and those that slipped.
pub fn jobs(
    plan: &AcceptedPlan,
    yard: &Yard<'_>,
    done: &WorkDone,
    shown: &Shown<'_>,
) -> store::Result<Planned> {
    let agreed = done.agreed(plan);
    let of_kinds = done.plants(yard.books, plan.when.number, yard.as_of);
    let (listed, missed, open) = left_of(&agreed.jobs, yard, of_kinds);
    let mut jobs = Vec::new();
    for it in listed {
        jobs.push(job(yard, it, &agreed.odds, shown)?);
    }
    let (cuts, missed_cuts) = cuts::jobs(plan, &agreed.cuts, yard);
    jobs.extend(cuts);
    Ok(Planned {
        jobs,
        missed: missed + missed_cuts,
        open,
    })
}

/// A job with what is left of it.
pub struct JobLeft<'a> {
    /// The job.
    pub job: &'a JobAnswer,
    /// Its week.
    pub week: i64,
    /// Plants still to do.
    pub left: u32,
}

/// What is left of each job after the work that was done: the earliest job of a kind counts as done first.
pub fn what_is_left<'a>(
    jobs: &'a [JobAnswer],
    calendar: Calendar,
    mut done: Done,
) -> Vec<JobLeft<'a>> {
    let left = |job: &'a JobAnswer| {
        let week = calendar.week_of(parse_week(&job.week)?.date());
        let of_kind = done.entry(key_of(job)).or_insert(0);
        let did = u64::from(job.plants).min(*of_kind);
        *of_kind -= did;
        // What was done of it is no more than its plants.
        let left = job.plants - did as u32;
        Some(JobLeft { job, week, left })
    };
    jobs.iter().filter_map(left).collect()
}

/// A job to list.
struct Open {
    job: JobAnswer,
    state: State,
    left: u32,
    week: i64,
}

/// The jobs to list, how many are too late, and the kinds of work that are not done.
fn left_of(
    jobs: &[JobAnswer],
    yard: &Yard<'_>,
    done: Done,
) -> (Vec<Open>, usize, BTreeSet<WorkKey>) {
    let (mut listed, mut missed, mut kinds) = (Vec::new(), 0, BTreeSet::new());
    let mut open: BTreeMap<String, u32> = BTreeMap::new();
    for JobLeft { job, week, left } in what_is_left(jobs, yard.calendar, done) {
        open.insert(job.job.clone(), left);
        if left == 0 {
            continue;
        }
        kinds.insert(key_of(job));
        if week > yard.today {
            continue;
        }
        if yard.today - week > yard.slip {
            missed += 1;
            continue;
        }
        let state = match (waits(job, yard, &open, left), week < yard.today) {
            (true, _) => State::Waiting,
            (false, true) => State::Slipped,
            (false, false) => State::Due,
        };
        listed.push(Open {
            job: job.clone(),
            state,
            left,
            week,
        });
    }
    (listed, missed, kinds)
}

/// Whether the plants a job takes are not there yet.
fn waits(job: &JobAnswer, yard: &Yard<'_>, open: &BTreeMap<String, u32>, left: u32) -> bool {
    let earlier = job.from.iter().filter_map(|it| it.job.as_ref());
    if earlier
        .clone()
        .any(|it| open.get(it).is_some_and(|left| *left > 0))
    {
        return true;
    }
    let lots: Vec<&String> = job.from.iter().filter_map(|it| it.lot.as_ref()).collect();
    if lots.is_empty() || earlier.count() > 0 {
        return false;
    }
    let stand = lots.iter().filter_map(|it| yard.lot(it));
    let stand: u64 = stand.map(|it| u64::from(it.view.plants())).sum();
    stand < u64::from(left)
}

/// Plants of a lot for a job: of one that the plan names, so many as the plan takes of it.
fn plants_of(yard: &Yard<'_>, job: &JobAnswer, lot: &Standing<'_>, is_named: bool) -> u32 {
    let there = lot.for_job(yard, is_named);
    if !is_named {
        return there;
    }
    let name = lot.lot.lot.as_str();
    let of_lot = job.from.iter().filter(|it| it.lot.as_deref() == Some(name));
    let planned: f64 = of_lot.map(|it| it.plants).sum();
    // Plans take plants in parts; a lot gives whole ones.
    there.min(planned.ceil().max(1.0) as u32)
}

fn job(
    yard: &Yard<'_>,
    it: Open,
    odds: &BTreeMap<String, f64>,
    shown: &Shown<'_>,
) -> store::Result<WeekJob> {
    let Open {
        mut job,
        state,
        left,
        week,
    } = it;
    if state != State::Due || left < job.plants {
        // Part of it is done, or it slipped already: what the plan said of it does not hold any more.
        job.slip = None;
    }
    let share = f64::from(left) / f64::from(job.plants.max(1));
    let reasons = reasons(yard, &job, odds, shown)?;
    let supplies_left = job.supplies.iter().map(|it| SupplyAnswer {
        supply: it.supply.clone(),
        amount: cents(it.amount * share),
    });
    let lots = yard.serving(&job).into_iter().map(|(lot, named)| JobLot {
        lot: lot.lot.lot.to_string(),
        place: lot.view.place.to_string(),
        growing: lot.view.growing,
        ready: lot.view.ready,
        named,
        act: acts::on_lot(yard, &job, lot, left.min(plants_of(yard, &job, lot, named))),
    });
    Ok(WeekJob {
        name: yard
            .step(&job.step)
            .map_or_else(|| job.operation.replace('_', " "), |step| step.name.clone()),
        state,
        left,
        hours_left: cents(job.hours * share),
        supplies_left: supplies_left.collect(),
        until: Some(yard.calendar.iso(week + yard.slip)),
        why: why(&reasons),
        reasons,
        lots: lots.collect(),
        act: acts::without_lot(yard, &job, left),
        planned: job,
        ..WeekJob::default()
    })
}

/// The order lines a job serves, the one due first before the others.
fn reasons(
    yard: &Yard<'_>,
    job: &JobAnswer,
    odds: &BTreeMap<String, f64>,
    shown: &Shown<'_>,
) -> store::Result<Vec<Reason>> {
    let mut reasons = Vec::new();
    for it in &job.serves {
        let order = it.line.split_once('/');
        let order = order.and_then(|(order, line)| Some((yard.books.orders.get(order)?, line)));
        let customer = match order {
            Some((order, _)) => Some(shown.name(&order.customer)?),
            None => None,
        };
        let line = order.and_then(|(order, line)| order.lines.get(line)?.on(yard.as_of));
        reasons.push(Reason {
            line: it.line.clone(),
            customer,
            due: line.map(|it| it.due),
            trees: it.trees,
            odds: odds.get(it.line.as_str()).copied(),
        });
    }
    reasons.sort_by_key(|it| (it.due.is_none(), it.due));
    Ok(reasons)
}

/// What a job is for, in words.
fn why(reasons: &[Reason]) -> String {
    let ordered = reasons.iter().filter(|it| !it.is_on_spec());
    let mut lines: Vec<String> = ordered
        .map(|it| match &it.customer {
            Some(customer) => format!("{} of {customer} ({:.0})", it.line, it.trees),
            None => format!("{} ({:.0})", it.line, it.trees),
        })
        .collect();
    if reasons.iter().any(Reason::is_on_spec) {
        let on_spec = reasons.iter().filter(|it| it.is_on_spec());
        let trees = on_spec.map(|it| it.trees);
        lines.push(format!(
            "{} ({:.0})",
            season::TREES_ON_SPEC,
            trees.sum::<f64>()
        ));
    }
    if lines.is_empty() {
        "for stock".to_owned()
    } else {
        format!("for {}", lines.join(", "))
    }
}

fn key_of(job: &JobAnswer) -> WorkKey {
    (
        job.operation.clone(),
        job.rootstock.clone(),
        job.variety.clone(),
        job.size.clone(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reason(line: &str, customer: Option<&str>, trees: f64) -> Reason {
        Reason {
            line: line.to_owned(),
            customer: customer.map(ToOwned::to_owned),
            due: None,
            trees,
            odds: None,
        }
    }

    #[test]
    fn what_sells_without_an_order_is_named_once() {
        assert_eq!(why(&[]), "for stock");
        let reasons = [
            reason("O-1/2", Some("C-3"), 6.0),
            reason("on spec/valencia/carrizo/4L 2028-W16 part 1", None, 10.2),
            reason("on spec/valencia/carrizo/4L 2028-W16 part 2", None, 7.1),
        ];
        assert_eq!(why(&reasons), "for O-1/2 of C-3 (6), trees on spec (17)");
        // A customer's order may have that name.
        let ordered = [reason("on spec/1", Some("C-4"), 5.0)];
        assert_eq!(why(&ordered), "for on spec/1 of C-4 (5)");
    }
}
