//! The same integers from any number of threads and parts, and from any order of a case's items.

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use barkslip_futures::case::{Case, Crew, Lot, Weekly};
use barkslip_futures::{Engine, Options, SimulateError, simulate};

fn full() -> Case {
    serde_json::from_str(include_str!("data/full.json")).expect("the case is in format 2")
}

fn options(futures: u32, threads: usize) -> Options {
    Options {
        futures,
        seed: 7,
        threads,
        keep_arrivals: true,
    }
}

#[test]
fn threads_and_parts_do_not_matter() {
    let engine = Engine::try_new(&full()).expect("the case is valid");
    let tally = |which, threads| {
        engine
            .tally(which, &options(0, threads), None, None)
            .expect("it is not canceled")
    };
    let whole = tally(0..60, 1);
    assert_eq!(whole, tally(0..60, 2));
    assert_eq!(whole, tally(0..60, 3));
    assert_eq!(whole, tally(0..60, 7));
    let mut parts = tally(41..60, 1);
    parts.merge(&tally(0..13, 2));
    parts.merge(&tally(13..41, 3));
    assert_eq!(whole, parts);
    let text = serde_json::to_string(&whole).expect("a tally is JSON");
    assert_eq!(whole, serde_json::from_str(&text).expect("and comes back"));
}

/// FNV-1a, 32 bits.
fn fingerprint(text: &str) -> u32 {
    text.bytes().fold(0x811c_9dc5, |hash, byte| {
        (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193)
    })
}

#[test]
fn a_seed_keeps_its_futures() {
    // Changes only with the model or with its streams; then say so where changes are told.
    let engine = Engine::try_new(&full()).expect("the case is valid");
    let tally = engine
        .tally(0..64, &options(0, 2), None, None)
        .expect("it is not canceled");
    let text = serde_json::to_string(&tally).expect("a tally is JSON");
    let (text, _) = text.split_once(",\"causes\"").expect("causes come last");
    let text = format!("{text}}}");
    assert_eq!(fingerprint(&text), 857_968_574, "{}", &text[..200]);
}

#[test]
fn the_order_of_lots_lines_crews_and_phases_does_not_matter() {
    let case = full();
    let mut turned = case.clone();
    turned.lots.reverse();
    turned.orders.reverse();
    turned.crews.reverse();
    let run = |case| simulate(case, &options(40, 1), None, None).expect("the case is valid");
    assert_eq!(run(&case), run(&turned));
}

#[test]
fn what_stands_elsewhere_does_not_matter() {
    let case = full();
    let mut more = case.clone();
    let stage = "V00/R0.P0".to_owned();
    let mut phase = case.phases[&stage].clone();
    phase.split = None;
    more.phases.insert("A/elsewhere".to_owned(), phase);
    more.over_age_after_weeks
        .insert("A/elsewhere".to_owned(), Weekly::Always(9));
    more.crews.insert(
        0,
        Crew {
            id: "apart".to_owned(),
            hours_per_week: Weekly::Always(1.0),
        },
    );
    more.lots.insert(
        0,
        Lot {
            id: "apart".to_owned(),
            stage: "A/elsewhere".to_owned(),
            immature: 500,
            ready: vec![(30, 4)],
            degree_days_so_far: 1.0,
            group: Some("apart".to_owned()),
            luck: Vec::new(),
            known: None,
        },
    );
    let run = |case| simulate(case, &options(40, 1), None, None).expect("the case is valid");
    let (without, mut with) = (run(&case), run(&more));
    with.free.remove("A/elsewhere").expect("it is counted");
    with.arrivals
        .as_mut()
        .and_then(|weeks| weeks.remove("A/elsewhere"))
        .expect("it is counted");
    assert_eq!(without, with);
}

#[test]
fn progress_is_told_and_a_run_can_be_canceled() {
    let most = AtomicU32::new(0);
    let progress = |done| {
        most.fetch_max(done, Ordering::Relaxed);
    };
    simulate(&full(), &options(30, 2), Some(&progress), None).expect("the case is valid");
    assert_eq!(most.into_inner(), 30);
    let canceled = simulate(&full(), &options(30, 2), None, Some(&AtomicBool::new(true)));
    assert_eq!(canceled, Err(SimulateError::Canceled));
}

#[test]
fn no_futures_give_zeros() {
    let summary = simulate(&full(), &options(0, 1), None, None).expect("the case is valid");
    assert_eq!(summary.futures, 0);
    assert!(
        summary
            .orders
            .values()
            .all(|line| line.kept == 0 && line.on_time.abs() < 1e-12)
    );
    serde_json::to_string(&summary).expect("zeros are JSON");
}
