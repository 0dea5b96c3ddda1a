//! Causes of misses: nurseries in which one thing alone differs from future to future, and others in
//! which nothing does.

use barkslip_futures::case::Case;
use barkslip_futures::{Factor, LineOdds, Options, simulate};
use serde_json::{Value, json};

const WEEKS: usize = 20;

/// A line of 80 liners by week 10, from 100 seedlings that are ready in week 2 and lined out in week 3.
fn case(parts: Value) -> Case {
    let phase = |degree_days: f64| json!({"degree_days": degree_days, "within_lot": 0.0, "between_lots": 0.0, "survival": 1.0});
    let mut case = json!({
        "format": 2,
        "weeks": WEEKS,
        "paths": [{"climates": {"open": vec![10.0; WEEKS]}}, {"climates": {"open": vec![10.0; WEEKS]}}],
        "phases": {"seedling": phase(30.0), "liner": phase(70.0), "elsewhere": phase(30.0)},
        "over_age_after_weeks": {"other": 9},
        "lots": [{"id": "L", "stage": "seedling", "immature": 100},
            {"id": "M", "stage": "elsewhere", "immature": 100}],
        "operations": [{"operation": "line out", "takes_from": "seedling", "moves_to": "liner",
            "week": 3, "late_until": 8, "plants": 100, "crew": "all", "hours_per_plant": 0.1, "window": "dry"}],
        "crews": [{"id": "all", "hours_per_week": 10.0}],
        "orders": [{"id": "A", "accepts": ["liner"], "plants": 80, "earliest": 10, "due": 10, "latest": 14}],
        "perils": [],
    });
    for path in 0..2 {
        case["paths"][path]["windows"] = json!({"dry": vec![1.0; WEEKS]});
    }
    let Value::Object(parts) = parts else {
        panic!("parts are an object")
    };
    for (place, value) in parts {
        *case.pointer_mut(&place).expect("the place is there") = value;
    }
    serde_json::from_value(case).expect("the case is in format 2")
}

fn line(case: &Case) -> LineOdds {
    let options = Options {
        futures: 2_000,
        seed: 3,
        ..Options::default()
    };
    let mut summary = simulate(case, &options, None, None).expect("the case is valid");
    summary.orders.remove("A").expect("it is a line")
}

/// The one factor that differs is named, and no other is ever worse than expected.
fn only(factor: Factor, parts: Value) {
    let line = line(&case(parts));
    assert!((0.05..0.95).contains(&line.on_time), "{factor:?}: {line:?}");
    assert_eq!(line.cause, Some(factor), "{line:?}");
    for cause in &line.causes {
        let more = cause.when_missed - cause.when_on_time;
        if cause.what == factor {
            assert!(more > 0.3, "{line:?}");
        } else {
            assert!(
                cause.when_missed.abs() + cause.when_on_time.abs() < 1e-12,
                "{line:?}"
            );
        }
    }
}

#[test]
fn the_only_thing_that_differs_is_the_cause() {
    only(
        Factor::Weather,
        json!({"/paths/1/climates/open": vec![9.0; WEEKS]}),
    );
    only(Factor::Take, json!({"/phases/seedling/survival": 0.8}));
    let split = json!({"degree_days": 70.0, "within_lot": 0.0, "between_lots": 0.0, "survival": 1.0,
        "split": {"share": 0.8, "rho": 0.05, "otherwise": "other"}});
    only(Factor::Take, json!({"/phases/liner": split}));
    only(Factor::Growth, json!({"/phases/liner/between_lots": 0.2}));
    only(Factor::Loss, json!({"/perils": [hail("liner", 0.4)]}));
    let frost = json!([{"week": 6, "stages": ["liner"], "fraction": 0.5}]);
    only(
        Factor::Loss,
        json!({"/paths/1": {"climates": {"open": vec![10.0; WEEKS]},
        "windows": {"dry": vec![1.0; WEEKS]}, "losses": frost}}),
    );
    only(Factor::Work, json!({"/paths/1/windows/dry": wet(0.0)}));
    only(Factor::Work, json!({"/paths/1/windows/dry": wet(0.4)}));
}

fn hail(stage: &str, chance: f64) -> Value {
    json!({"id": "hail", "stages": [stage], "from": 5, "until": 8, "chance": chance, "fraction": 0.5})
}

/// Windows that are narrow in the weeks in which plants are to be lined out.
fn wet(share: f64) -> Vec<f64> {
    (0..WEEKS)
        .map(|week| if week < 6 { share } else { 1.0 })
        .collect()
}

/// The shares of the futures missed and on time in which a factor was worse than expected.
fn shares(line: &LineOdds, factor: Factor) -> (f64, f64) {
    let cause = line.causes.iter().find(|cause| cause.what == factor);
    let cause = cause.expect("every factor is told");
    (cause.when_missed, cause.when_on_time)
}

#[test]
fn no_cause_is_named_where_nothing_differs() {
    let on_time = line(&case(json!({})));
    assert_eq!(
        (on_time.cause, on_time.on_time.to_bits()),
        (None, 1f64.to_bits())
    );
    let missed = line(&case(json!({"/orders/0/plants": 120})));
    assert_eq!(
        (missed.cause, missed.on_time.to_bits()),
        (None, 0f64.to_bits())
    );
    assert_eq!(missed.causes.len(), 5);
    // Hours for 23 plants and a third each week, which is as planned.
    let parts = json!({"/crews/0/hours_per_week": 7.0, "/operations/0/hours_per_plant": 0.3});
    let busy = line(&case(parts));
    assert_eq!(
        (busy.cause, shares(&busy, Factor::Work)),
        (None, (0.0, 0.0))
    );
}

#[test]
fn a_line_that_is_never_on_time_has_the_cause_that_is_always_there() {
    let missed = line(&case(
        json!({"/orders/0/plants": 120, "/perils": [hail("liner", 1.0)]}),
    ));
    // A peril that always comes is expected; what it takes beyond that is nothing, but for its week.
    assert!(shares(&missed, Factor::Loss).0 < 0.9, "{missed:?}");
    // Five plants a week, or fewer, are far from what the line wants.
    let narrow = vec![0.05; WEEKS];
    let parts = json!({"/paths/0/windows/dry": narrow, "/paths/1/windows/dry": wet(0.0)});
    let missed = line(&case(parts));
    assert!(missed.on_time < 1e-12);
    assert_eq!(missed.cause, Some(Factor::Work), "{missed:?}");
}

#[test]
fn what_happens_elsewhere_or_later_is_no_cause() {
    let elsewhere = json!({"/perils": [hail("elsewhere", 0.5)], "/phases/elsewhere/survival": 0.5,
        "/phases/elsewhere/between_lots": 0.5, "/phases/seedling/survival": 0.8});
    let line_of = line(&case(elsewhere));
    assert_eq!(line_of.cause, Some(Factor::Take));
    for factor in [Factor::Loss, Factor::Growth, Factor::Weather, Factor::Work] {
        assert_eq!(shares(&line_of, factor), (0.0, 0.0), "{factor:?}");
    }
    let mut later = case(json!({"/phases/seedling/survival": 0.8}));
    later.perils = serde_json::from_value(json!([{"id": "hail", "stages": ["liner", "seedling"],
        "from": 11, "until": 15, "chance": 0.5, "fraction": 0.9}]))
    .expect("perils");
    later.paths[1].climates.insert(
        "open".to_owned(),
        (0..WEEKS)
            .map(|week| if week > 10 { 2.0 } else { 10.0 })
            .collect(),
    );
    assert_eq!(shares(&line(&later), Factor::Loss), (0.0, 0.0));
    assert_eq!(shares(&line(&later), Factor::Weather), (0.0, 0.0));
}

#[test]
fn shares_of_missed_and_on_time_make_up_how_often_a_factor_is_worse() {
    let line = line(&case(
        json!({"/perils": [hail("liner", 0.4)], "/phases/seedling/survival": 0.84}),
    ));
    let (missed, on_time) = shares(&line, Factor::Loss);
    let all = missed * (1.0 - line.on_time) + on_time * line.on_time;
    assert!(
        (all - 0.4).abs() < 4.0 * (0.24f64 / 2_000.0).sqrt(),
        "{line:?}"
    );
    // 80 plants are never left by the hail, so that it comes in no future on time.
    assert!(on_time.abs() < 1e-12 && missed > 0.4, "{line:?}");
    let (missed, on_time) = shares(&line, Factor::Take);
    assert!(missed > on_time, "{line:?}");
}

#[test]
fn a_split_is_worse_where_it_sends_plants_away_from_the_line() {
    let split = json!({"degree_days": 30.0, "within_lot": 0.0, "between_lots": 0.0, "survival": 1.0,
        "split": {"share": 0.15, "rho": 0.05, "otherwise": "other"}});
    let parts = json!({"/phases/seedling": split, "/operations/0/takes_from": "other"});
    let line = line(&case(parts));
    assert!((0.1..0.95).contains(&line.on_time), "{line:?}");
    assert_eq!(line.cause, Some(Factor::Take));
    let (missed, on_time) = shares(&line, Factor::Take);
    assert!(missed > on_time + 0.3, "{line:?}");
}

#[test]
fn lines_due_before_the_first_week_or_after_the_last() {
    let before = line(&case(json!({"/orders/0/earliest": -9, "/orders/0/due": -2,
        "/phases/seedling/survival": 0.8})));
    assert_eq!(
        (before.cause, shares(&before, Factor::Take)),
        (None, (0.0, 0.0))
    );
    let after = line(&case(json!({"/orders/0/due": 90, "/orders/0/latest": 90,
        "/phases/seedling/survival": 0.8})));
    assert_eq!(after.cause, Some(Factor::Take));
}
