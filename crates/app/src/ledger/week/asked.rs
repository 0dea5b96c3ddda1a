//! Work that the books alone ask for: buds to unwrap and to force, plants over age, tests that lapse,
//! holds.

use std::collections::BTreeSet;

use jiff::civil::Date;
use nursery::catalogue::{Hours, StageKind, Step};
use nursery::ledger::books::Hold;
use nursery::ledger::event::Subject;
use nursery::ledger::lineage::Node;
use nursery::ledger::lot::BudState;
use nursery::records::MotherTree;
use season::{may_start, may_wait_weeks, unwrapping};
use serde_json::{Value, json};

use super::acts;
use super::done::WorkKey;
use super::lots::{Standing, Yard};
use super::{AskedBy, JobLot, State, WeekJob};
use crate::answers::{JobAnswer, cents};
use crate::words::{capital, date_words};

/// Weeks before a test lapses in which it is asked for: a sample's result takes some.
const WEEKS_BEFORE_LAPSE: i64 = 8;

/// Weeks that one looks back for the first in which a step could have started.
const YEAR: i64 = 52;

/// All that the books ask for in a week, but for work of kinds that a plan still has.
pub fn jobs(yard: &Yard<'_>, planned: &BTreeSet<WorkKey>) -> Vec<WeekJob> {
    let lots = yard.lots.iter();
    let of_lots = lots.flat_map(|lot| {
        let force = forcing(yard, lot).filter(|it| !planned.contains(&force_key(it)));
        [unwrapping_of(yard, lot), force, over_age(yard, lot)]
    });
    let trees = yard.books.mother_trees(yard.as_of);
    let tests = trees.filter_map(|tree| lapsing(yard, &tree));
    let holds = yard.books.holds.iter();
    let holds = holds
        .filter(|it| it.is_in_force(yard.as_of))
        .filter_map(|it| held(yard, it));
    of_lots.flatten().chain(tests).chain(holds).collect()
}

fn force_key(job: &WeekJob) -> WorkKey {
    let planned = &job.planned;
    (
        "force".to_owned(),
        planned.rootstock.clone(),
        planned.variety.clone(),
        None,
    )
}

/// Wrapped buds after the weeks that their step says, or sooner where they have had their heat.
fn unwrapping_of(yard: &Yard<'_>, lot: &Standing<'_>) -> Option<WeekJob> {
    if lot.view.bud != Some(BudState::Wrapped) {
        return None;
    }
    let step = yard.step(lot.step.as_ref()?.as_str())?;
    let work = unwrapping(step)?;
    let weeks = yard.calendar.week_of(lot.view.entered) + i64::from(work.after_weeks);
    let due = if lot.has_its_heat {
        weeks.min(yard.today)
    } else {
        weeks
    };
    let job = of_lot(yard, lot, "unwrap", due, Some(acts::unwrap(lot)))?;
    Some(WeekJob {
        name: capital(&work.job),
        why: format!("budded on {}", date_words(lot.view.entered)),
        ..with_hours(job, step, Some(work))
    })
}

/// Buds that took, in the season of the step that forces them.
fn forcing(yard: &Yard<'_>, lot: &Standing<'_>) -> Option<WeekJob> {
    if lot.view.bud != Some(BudState::Taken) || lot.is_held {
        return None;
    }
    let from = lot.step.as_ref()?;
    let step = yard
        .steps()
        .find(|step| step.operation == "force" && step.from.contains(from))?;
    let rules = yard.outlook.rules()?;
    let taken = ready_since(yard, lot)?;
    let may = |week: &i64| may_start(rules, step, yard.calendar.thursday(*week));
    let earliest = yard.calendar.week_of(taken).max(yard.today - YEAR);
    let weeks = (earliest..=yard.today).rev().take_while(may);
    let due = weeks.last()?;
    let plants = lot.view.plants();
    let job = of_lot(yard, lot, "force", due, Some(acts::force(lot, plants)))?;
    let work = step.hours.iter().find(|it| it.after_weeks == 0);
    Some(WeekJob {
        name: step.name.clone(),
        why: format!("its buds have taken, seen on {}", date_words(taken)),
        ..with_hours(job, step, work)
    })
}

/// Plants that have been ready for longer than they may wait.
fn over_age(yard: &Yard<'_>, lot: &Standing<'_>) -> Option<WeekJob> {
    let rules = yard.outlook.rules()?;
    let node = lot.step.as_ref()?;
    let since = ready_since(yard, lot)?;
    let weeks = i64::from(may_wait_weeks(rules, node, since)?);
    let due = yard.calendar.week_of(since) + weeks + 1;
    let plants = lot.counted_ready(yard);
    let job = of_lot(yard, lot, "over_age", due, None)?;
    Some(WeekJob {
        name: "Use, sell or throw out what is over age".to_owned(),
        why: format!("ready since {}", date_words(since)),
        left: plants,
        planned: JobAnswer {
            plants,
            ..job.planned
        },
        ..job
    })
}

/// A job on one lot; none before its week.
fn of_lot(
    yard: &Yard<'_>,
    lot: &Standing<'_>,
    operation: &str,
    due: i64,
    act: Option<Value>,
) -> Option<WeekJob> {
    if due > yard.today {
        return None;
    }
    let name = lot.lot.lot.to_string();
    let view = &lot.view;
    Some(WeekJob {
        state: state_of(due, yard.today),
        left: view.plants(),
        until: Some(yard.calendar.iso(due + yard.slip)),
        lots: vec![job_lot(lot, act)],
        asked_by: AskedBy::Books,
        planned: JobAnswer {
            job: format!("{operation} {name}"),
            operation: operation.to_owned(),
            step: lot
                .step
                .as_ref()
                .map(ToString::to_string)
                .unwrap_or_default(),
            week: yard.calendar.iso(due),
            lot: Some(name),
            rootstock: lot.lot.rootstock.to_string(),
            variety: lot.lot.variety.as_ref().map(ToString::to_string),
            size: view.size.as_ref().map(ToString::to_string),
            place: view.place.to_string(),
            plants: view.plants(),
            ..JobAnswer::default()
        },
        ..WeekJob::default()
    })
}

fn job_lot(lot: &Standing<'_>, act: Option<Value>) -> JobLot {
    JobLot {
        lot: lot.lot.lot.to_string(),
        place: lot.view.place.to_string(),
        growing: lot.view.growing,
        ready: lot.view.ready,
        named: false,
        act,
    }
}

fn with_hours(job: WeekJob, step: &Step, work: Option<&Hours>) -> WeekJob {
    let minutes = work.map_or(0.0, |it| it.minutes);
    let hours = cents(minutes / 60.0 * f64::from(job.left));
    WeekJob {
        hours_left: hours,
        planned: JobAnswer {
            step: step.id.to_string(),
            crew: work.map(|it| it.crew.to_string()),
            hours,
            ..job.planned
        },
        ..job
    }
}

fn state_of(due: i64, today: i64) -> State {
    if due < today {
        State::Slipped
    } else {
        State::Due
    }
}

/// The day since which a lot of its stage has had plants that can be taken.
fn ready_since(yard: &Yard<'_>, lot: &Standing<'_>) -> Option<Date> {
    if lot.counted_ready(yard) == 0 {
        return None;
    }
    if lot.view.stage == StageKind::Missed {
        return Some(lot.view.entered);
    }
    let course = lot.lot.course();
    let until = course.partition_point(|(when, _)| when.on <= yard.as_of);
    let has_ready = course[..until]
        .iter()
        .rev()
        .take_while(|(_, it)| it.ready > 0 && it.entered == lot.view.entered);
    has_ready.last().map(|(when, _)| when.on)
}

/// A mother tree whose test lapses soon, or has.
fn lapsing(yard: &Yard<'_>, tree: &MotherTree) -> Option<WeekJob> {
    let until = tree.usable_until()?;
    let week = yard.calendar.week_of(until);
    if week > yard.today + WEEKS_BEFORE_LAPSE {
        return None;
    }
    let awaited = yard.books.awaits_result(tree, yard.as_of);
    let has_lapsed = until < yard.as_of;
    let state = match (awaited, has_lapsed) {
        (true, _) => State::Waiting,
        (false, true) => State::Slipped,
        (false, false) => State::Due,
    };
    let lapses = if has_lapsed { "lapsed" } else { "lapses" };
    let result = if awaited {
        "; the result of its sample is awaited"
    } else {
        ""
    };
    let sample = acts::act(
        "sample",
        [
            ("mother_tree", json!(tree.mother_tree)),
            ("tests", json!([])),
        ],
    );
    Some(WeekJob {
        name: "Test the mother tree".to_owned(),
        state,
        asked_by: AskedBy::Books,
        until: Some(yard.calendar.iso(week)),
        why: format!("its test {lapses} on {}{result}", date_words(until)),
        act: (!awaited).then_some(sample),
        planned: JobAnswer {
            job: format!("sample {}", tree.mother_tree),
            operation: "sample".to_owned(),
            week: yard.calendar.iso(week),
            variety: Some(tree.variety.to_string()),
            ..JobAnswer::default()
        },
        ..WeekJob::default()
    })
}

/// A hold, with the lots under it that stand; none where none do.
fn held(yard: &Yard<'_>, hold: &Hold) -> Option<WeekJob> {
    let under = yard.books.under(hold, yard.as_of);
    let lots = yard.lots.iter();
    let lots: Vec<&Standing<'_>> = lots
        .filter(|it| it.is_held && under.contains(&Node::Lot(it.lot.lot.clone())))
        .collect();
    let first = lots.first()?;
    let plants = lots.iter().map(|it| it.view.plants()).sum();
    let (of, name) = match &hold.of {
        Subject::MotherTree(tree) => (format!("mother tree {tree}"), tree.to_string()),
        Subject::Lot(lot) => (format!("lot {lot}"), lot.to_string()),
    };
    let week = yard.calendar.iso(yard.calendar.week_of(hold.when.on));
    Some(WeekJob {
        name: format!("Held with {of}"),
        state: State::Waiting,
        asked_by: AskedBy::Books,
        left: plants,
        why: hold.reason.clone(),
        lots: lots.iter().map(|it| job_lot(it, None)).collect(),
        planned: JobAnswer {
            job: format!("hold {name}"),
            operation: "hold".to_owned(),
            week,
            place: first.view.place.to_string(),
            plants,
            ..JobAnswer::default()
        },
        ..WeekJob::default()
    })
}
