//! Budsticks to cut, as the accepted plan asks for them and as far as they are not cut.

use std::collections::BTreeMap;

use nursery::files::parse_week;
use nursery::ids::MotherTreeName;
use nursery::ledger::books::AcceptedPlan;
use nursery::ledger::lineage::Node;
use nursery::records::TestResult;
use serde_json::json;

use super::lots::Yard;
use super::{AskedBy, State, WeekJob, acts};
use crate::answers::{CutAnswer, JobAnswer};

/// The plan's cuts of this week and of those that slipped: what was cut of a tree since the plan was accepted
/// counts for its earliest cut first. With them how many cuts are too late.
pub fn jobs(plan: &AcceptedPlan, cuts: &[CutAnswer], yard: &Yard<'_>) -> (Vec<WeekJob>, usize) {
    let mut cut: BTreeMap<&str, u32> = BTreeMap::new();
    let since = plan.when.number;
    for it in yard.books.cuts.values() {
        if it.when.number > since && it.when.on <= yard.as_of {
            *cut.entry(it.of.mother_tree.as_str()).or_default() += it.of.buds;
        }
    }
    let mut cuts: Vec<(i64, &CutAnswer)> = cuts
        .iter()
        .filter_map(|it| Some((yard.calendar.week_of(parse_week(&it.week)?.date()), it)))
        .collect();
    cuts.sort_by_key(|(week, _)| *week);
    let (mut jobs, mut missed) = (Vec::new(), 0);
    for (week, it) in cuts {
        let done = cut.entry(&it.mother_tree).or_default();
        let buds = it.buds.saturating_sub(*done);
        *done -= it.buds.min(*done);
        if buds == 0 || week > yard.today {
            continue;
        }
        if yard.today - week > yard.slip {
            missed += 1;
        } else {
            jobs.push(job(yard, it, week, buds));
        }
    }
    (jobs, missed)
}

/// Why nothing may be cut of a tree on the day; none where it may.
fn hindrance(yard: &Yard<'_>, name: &MotherTreeName) -> Option<String> {
    let known = yard.books.trees.get(name);
    let is_destroyed = known.is_some_and(|it| it.destroyed.is_some());
    let is_held = yard
        .books
        .held(yard.as_of)
        .contains(&Node::MotherTree(name.clone()));
    let tree = yard.books.mother_trees(yard.as_of);
    let Some(tree) = tree.into_iter().find(|it| it.mother_tree == *name) else {
        return Some(format!("{name} is not in the table of mother trees"));
    };
    let is_tested = tree.result == TestResult::Clean
        && tree.usable_until().is_some_and(|until| until >= yard.as_of);
    match (is_destroyed, is_held, is_tested) {
        (true, ..) => Some(format!("{name} was destroyed")),
        (_, true, _) => Some(format!("{name} is held")),
        (.., false) => Some(format!("{name} has no clean test that is valid")),
        _ => None,
    }
}

fn job(yard: &Yard<'_>, cut: &CutAnswer, week: i64, buds: u32) -> WeekJob {
    let tree = MotherTreeName::from(cut.mother_tree.as_str());
    let share = f64::from(buds) / f64::from(cut.buds.max(1));
    let sticks = (f64::from(cut.sticks) * share).ceil().max(1.0) as u32;
    let stored = (f64::from(cut.stored) * share).round() as u32;
    let hindrance = hindrance(yard, &tree);
    let for_what = match (&hindrance, stored) {
        (Some(why), _) => format!("not now: {why}"),
        (None, 0) => "to be set while they are fresh".to_owned(),
        (None, _) if stored >= buds => "for the cold store".to_owned(),
        (None, _) => format!("{stored} of {buds} buds for the cold store"),
    };
    let act = acts::act(
        "cut_sticks",
        [
            ("mother_tree", json!(cut.mother_tree)),
            ("cut", json!(free_name(yard, &cut.mother_tree))),
            ("sticks", json!(sticks)),
            ("buds", json!(buds)),
        ],
    );
    WeekJob {
        name: format!("Cut budsticks of {tree}"),
        state: match (&hindrance, week < yard.today) {
            (Some(_), _) => State::Waiting,
            (None, true) => State::Slipped,
            (None, false) => State::Due,
        },
        asked_by: AskedBy::Plan,
        left: buds,
        sticks: Some(sticks),
        until: Some(yard.calendar.iso(week + yard.slip)),
        why: for_what,
        act: hindrance.is_none().then_some(act),
        planned: JobAnswer {
            job: format!("cut_sticks {tree} {}", cut.week),
            operation: "cut_sticks".to_owned(),
            week: cut.week.clone(),
            variety: Some(cut.variety.clone()),
            plants: buds,
            ..JobAnswer::default()
        },
        ..WeekJob::default()
    }
}

/// A name for a cut after its tree and day that no cut has.
fn free_name(yard: &Yard<'_>, tree: &str) -> String {
    let base = format!("{tree}-{}", yard.as_of);
    let others = (2_u32..).map(|count| format!("{base}~{count}"));
    std::iter::once(base.clone())
        .chain(others)
        .find(|name| !yard.books.cuts.contains_key(name))
        .unwrap_or(base)
}
