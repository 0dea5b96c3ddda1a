//! What goes in and out, by hand where every future is the same, and the same integers from any number of
//! threads and parts.

mod parts;

use std::collections::BTreeMap;

use barkslip_futures::case::Case;
use barkslip_futures::{
    Count, Engine, Options, SimulateError, StageTurnover, Summary, Turnover, WatchedStand,
};
use parts::{case, drawn, ready};
use serde_json::json;

fn counted(case: &Case, futures: u32, threads: usize, count: &Count) -> (Summary, Turnover) {
    let engine = Engine::try_new(case).expect("the case is valid");
    let options = Options {
        futures,
        seed: 7,
        threads,
        keep_arrivals: false,
    };
    let (tally, turnover) = engine
        .count(0..futures, &options, count, None, None)
        .expect("it is not canceled");
    (engine.summary(&tally), turnover)
}

fn watch(stages: &[&str], week: usize, lines: &[&str]) -> WatchedStand {
    let named = |names: &[&str]| names.iter().map(|it| (*it).to_owned()).collect();
    WatchedStand {
        stages: named(stages),
        week,
        lines: named(lines),
    }
}

/// 100 seedlings are ready in week 3; line A takes 40 of them then, 30 are lined out at half an hour each with
/// ten hours a week; line B comes too early for any. Five missed stocks stand until they are too old.
fn by_hand() -> Case {
    case(json!({
        "lots": [{"id": "L", "stage": "missed", "immature": 0, "ready": [[0, 5]]}],
        "crews": [{"id": "all", "hours_per_week": 10}],
        "operations": [
            {"operation": "sow", "moves_to": "seedling", "week": 0, "late_until": 0, "plants": 100},
            {"operation": "line out", "takes_from": "seedling", "moves_to": "liner", "week": 4,
             "late_until": 6, "plants": 30, "crew": "all", "hours_per_plant": 0.5}],
        "orders": [
            {"id": "A", "accepts": ["missed", "seedling"], "plants": 40, "earliest": 3, "due": 4, "latest": 5},
            {"id": "B", "accepts": ["seedling"], "plants": 50, "earliest": 1, "due": 2, "latest": 2}],
    }))
}

#[test]
fn plants_and_hours_are_counted_by_hand() {
    let count = Count {
        own_hours: BTreeMap::from([("all".to_owned(), vec![4.0; 20])]),
        watches: vec![
            watch(&["seedling"], 4, &["A", "B"]),
            watch(&["liner"], 19, &[]),
        ],
    };
    assert_eq!(ready(&drawn(&by_hand(), 1, 7), "seedling"), [(3, 100)]);
    let (_, turnover) = counted(&by_hand(), 3, 1, &count);
    assert_eq!(turnover.futures, 3);
    let a = &turnover.lines["A"];
    assert_eq!((a.first_week, a.short), (3, 0));
    assert_eq!(a.accepts, ["missed", "seedling"]);
    assert_eq!(a.shipped, [vec![0, 0, 0], vec![3 * 40, 0, 0]]);
    let b = &turnover.lines["B"];
    assert_eq!((b.shipped.clone(), b.short), (vec![vec![0, 0]], 3 * 50));
    assert_eq!(turnover.done, [vec![300], vec![60, 30]]);
    let stage = |waited: u64, discarded: u64, left: u64| StageTurnover {
        waited: 3 * waited,
        discarded: 3 * discarded,
        left: 3 * left,
    };
    // 60 and 40 seedlings wait in weeks 3 and 4, then 30 in each of fifteen weeks.
    assert_eq!(turnover.stages["seedling"], stage(60 + 40 + 30 * 15, 0, 30));
    assert_eq!(turnover.stages["liner"], stage(20 + 30 * 10, 0, 30));
    assert_eq!(turnover.stages["missed"], stage(5 * 3, 5, 0));
    // Ten hours in week 4 and five in week 5, four of them the crew's own.
    let hired: Vec<f64> = (3..7)
        .map(|week| turnover.hired_hours("all", week))
        .collect();
    assert_eq!(hired, [0.0, 6.0, 1.0, 0.0]);
    assert_eq!(turnover.held[0], BTreeMap::from([(40 - 50, 3)]));
    assert_eq!(turnover.held[1], BTreeMap::from([(30, 3)]));
}

fn full() -> Case {
    serde_json::from_str(include_str!("data/full.json")).expect("the case is in format 2")
}

/// All that can be counted of a case.
fn everything(case: &Case) -> Count {
    let hours = vec![1.0; case.weeks as usize];
    let crews = case.crews.iter();
    let watches = case.orders.iter().map(|order| WatchedStand {
        stages: order.accepts.clone(),
        week: usize::try_from(order.due).unwrap_or(0),
        lines: vec![order.id.clone()],
    });
    Count {
        own_hours: crews.map(|it| (it.id.clone(), hours.clone())).collect(),
        watches: watches.collect(),
    }
}

#[test]
fn threads_do_not_matter_and_the_odds_stay() {
    let case = full();
    let count = everything(&case);
    let (summary, one) = counted(&case, 60, 1, &count);
    for threads in [2, 3, 7] {
        assert_eq!(counted(&case, 60, threads, &count).1, one);
    }
    let plain = Summary {
        arrivals: None,
        ..drawn(&case, 60, 7)
    };
    assert_eq!(summary, plain);
    let short: f64 = plain
        .orders
        .values()
        .map(|line| line.mean_short * f64::from(line.kept))
        .sum();
    let counted: u64 = one.lines.values().map(|line| line.short).sum();
    assert!(counted > 0 && (short - counted as f64).abs() < 1e-6 * short);
    assert!(one.hired.values().flatten().any(|parts| *parts > 0));
    assert!(one.held.iter().any(|held| held.len() > 1));
}

#[test]
fn what_the_case_does_not_have_is_refused() {
    let case = by_hand();
    let engine = Engine::try_new(&case).expect("the case is valid");
    let count = Count {
        own_hours: BTreeMap::from([("nobody".to_owned(), Vec::new())]),
        watches: vec![watch(&["tree"], 4, &["C"])],
    };
    let error = engine.count(0..1, &Options::default(), &count, None, None);
    let Err(SimulateError::Invalid(problems)) = error else {
        panic!("it is refused");
    };
    let what: Vec<&str> = problems.iter().map(|it| it.what.as_str()).collect();
    assert_eq!(
        what,
        [
            "\"tree\" is not in the case",
            "\"C\" is not in the case",
            "\"nobody\" is not in the case"
        ]
    );
}
