//! The engine against 4,000 futures of an independent implementation of the same model.

use std::collections::BTreeMap;

use barkslip_futures::case::Case;
use barkslip_futures::{Options, Summary, simulate};
use serde::Deserialize;

const FUTURES: u32 = 4_000;

#[derive(Deserialize)]
struct Expected {
    futures: u32,
    orders: BTreeMap<String, ExpectedLine>,
    weeks: Vec<u32>,
    free: BTreeMap<String, ExpectedFree>,
}

#[derive(Deserialize)]
struct ExpectedLine {
    kept: u32,
    on_time: f64,
    by_latest: f64,
    mean_short: f64,
    sd_short: f64,
}

#[derive(Deserialize)]
struct ExpectedFree {
    mean: Vec<f64>,
    sd: Vec<f64>,
}

fn case(name: &str) -> Case {
    let path = format!("{}/tests/data/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("the case is there");
    serde_json::from_str(&text).expect("the case is in format 2")
}

fn expected(name: &str) -> Expected {
    let all: serde_json::Value =
        serde_json::from_str(include_str!("data/expected.json")).expect("the figures are JSON");
    serde_json::from_value(all[name].clone()).expect("the figures are complete")
}

/// Two shares, of n and m futures, are no further apart than chance makes plausible.
fn shares_agree(x: f64, n: u32, y: f64, m: u32) -> bool {
    let (n, m) = (f64::from(n), f64::from(m));
    let pooled = (x * n + y * m) / (n + m);
    let variance = (pooled * (1.0 - pooled)).max(1.0 / (n + m));
    (x - y).abs() <= 4.0 * (variance * (1.0 / n + 1.0 / m)).sqrt()
}

/// Two means, of n and m futures with the reference's sd, are no further apart.
fn means_agree(x: f64, n: u32, y: f64, m: u32, sd: f64) -> bool {
    let error = (sd * sd / f64::from(n) + sd * sd / f64::from(m)).sqrt();
    (x - y).abs() <= 4.0 * error + 0.02
}

/// All figures compared, with a name for each that does not agree.
fn compare(found: &Summary, expected: &Expected) -> (usize, Vec<String>) {
    let mut figures = 0;
    let mut outside = Vec::new();
    let mut check = |agrees: bool, name: String| {
        figures += 1;
        if !agrees {
            outside.push(name);
        }
    };
    for (id, theirs) in &expected.orders {
        let ours = &found.orders[id];
        let (n, m) = (ours.kept, theirs.kept);
        let kept = |count: u32, of: u32| f64::from(count) / f64::from(of);
        check(
            shares_agree(
                kept(n, found.futures),
                found.futures,
                kept(m, expected.futures),
                expected.futures,
            ),
            format!("{id} kept: {n} and {m}"),
        );
        for (what, x, y) in [
            ("on_time", ours.on_time, theirs.on_time),
            ("by_latest", ours.by_latest, theirs.by_latest),
        ] {
            check(
                shares_agree(x, n, y, m),
                format!("{id} {what}: {x} and {y}"),
            );
        }
        let (x, y) = (ours.mean_short, theirs.mean_short);
        check(
            means_agree(x, n, y, m, theirs.sd_short),
            format!("{id} short: {x} and {y}"),
        );
    }
    for (stage, theirs) in &expected.free {
        let ours = &found.free[stage];
        for (at, week) in expected.weeks.iter().enumerate() {
            let (x, y) = (ours.mean[at], theirs.mean[at]);
            let agrees = means_agree(x, found.futures, y, expected.futures, theirs.sd[at]);
            check(agrees, format!("{stage} week {week}: {x} and {y}"));
        }
    }
    (figures, outside)
}

fn agrees(name: &str) {
    let case = case(name);
    let options = Options {
        futures: FUTURES,
        seed: 20_261,
        threads: 2,
        ..Options::default()
    };
    let found = simulate(&case, &options, None, None).expect("the case is valid");
    let expected = expected(name);
    assert_eq!(found.weeks, expected.weeks);
    assert_eq!(found.orders.len(), expected.orders.len());
    assert_eq!(found.free.len(), expected.free.len());
    let (figures, outside) = compare(&found, &expected);
    assert!(
        outside.len() <= (figures / 1_000).max(1),
        "of {figures}: {outside:#?}"
    );
}

#[test]
fn small_case_agrees() {
    agrees("small");
}

#[test]
fn medium_case_agrees() {
    agrees("medium");
}

#[test]
fn case_with_every_optional_part_agrees() {
    agrees("full");
}
