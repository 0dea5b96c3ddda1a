//! Cases small enough to do by hand: ten degree-days a week, no spread, no deaths.

use barkslip_futures::case::Case;
use barkslip_futures::{Options, Summary, simulate};
use serde_json::{Value, json};

/// Weeks of a case.
pub const WEEKS: usize = 20;

/// A case of three stages, `seedling`, `liner` and `missed`, with `parts` put over it.
pub fn case(parts: Value) -> Case {
    let phase = |degree_days: f64| json!({"degree_days": degree_days, "within_lot": 0.0, "between_lots": 0.0, "survival": 1.0});
    let mut case = json!({
        "format": 2,
        "weeks": WEEKS,
        "paths": [{"climates": {"open": vec![10.0; WEEKS]}}],
        "phases": {"seedling": phase(30.0), "liner": phase(50.0)},
        "over_age_after_weeks": {"missed": 2},
    });
    let Value::Object(parts) = parts else {
        panic!("parts are an object")
    };
    for (key, value) in parts {
        case[key] = value;
    }
    serde_json::from_value(case).expect("the case is in format 2")
}

/// Futures of a case, with the plants that become ready.
pub fn drawn(case: &Case, futures: u32, seed: u64) -> Summary {
    let options = Options {
        futures,
        seed,
        threads: 1,
        keep_arrivals: true,
    };
    simulate(case, &options, None, None).expect("the case is valid")
}

/// Weeks in which plants become ready, and how many, where all futures are the same.
pub fn ready(summary: &Summary, stage: &str) -> Vec<(usize, u32)> {
    let weeks = &summary.arrivals.as_ref().expect("they were asked for")[stage];
    weeks
        .iter()
        .enumerate()
        .filter(|(_, plants)| **plants > 0.0)
        .map(|(week, plants)| (week, *plants as u32))
        .collect()
}
