//! Lots against set-up costs: the textbook's example and others, each with its own dynamic programme.

use planner::Case;
use serde_json::json;

use crate::recount::{recount, recount_jobs};
use crate::{close, whole};

/// Wagner and Whitin 1958, twelve months; the numbers are from memory.
const DEMANDS: [u32; 12] = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56];
const SET_UPS: [u32; 12] = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114];

/// The least cost of set-ups and of holding one plant a month at `hold`, by going back over the last
/// month with a set-up.
fn least_cost(demands: &[u32], set_ups: &[u32], hold: u32) -> u32 {
    let mut least = vec![0];
    for end in 1..=demands.len() {
        let lot = |begin: usize| {
            let months = demands[begin..end].iter().enumerate();
            let held: u32 = months.map(|(later, plants)| later as u32 * plants).sum();
            least[begin] + set_ups[begin] + hold * held
        };
        least.push((0..end).map(lot).min().expect("a month"));
    }
    least[demands.len()]
}

/// A nursery of one stage: plants sown in a month are ready in the next and wait as long as need be.
/// Every month has a line that must be met. Months are weeks here.
fn nursery(demands: &[u32], set_ups: &[u32], hold: u32) -> Case {
    let sowings = set_ups.iter().enumerate().map(|(month, cost)| {
        json!({"id": format!("sow {month}"), "takes_from": null, "moves_to": "tree",
            "cost_per_job": cost, "starts": [{"week": month, "ready_after": [[1, 1]]}]})
    });
    let lines = demands.iter().enumerate().map(|(month, plants)| {
        json!({"id": format!("month {month}"), "plants": plants, "earliest": month + 1,
            "due": month + 1, "latest": month + 1, "short_cost_per_plant": 1000,
            "accepts": [{"stage": "tree", "price": 0}]})
    });
    serde_json::from_value(json!({
        "format": 2, "weeks": demands.len() + 1, "whole_weeks": demands.len(),
        "places": [{"id": "yard", "area_m2": 1, "excess_cost_per_m2_week": 1}],
        "crews": [], "supplies": [],
        "stages": [{"id": "tree", "place": "yard", "area_m2_per_plant": 0,
            "over_age_after_weeks": 99, "wait_cost_per_plant_week": hold}],
        "operations": sowings.collect::<Vec<_>>(), "orders": lines.collect::<Vec<_>>()
    }))
    .expect("a case")
}

fn planned_cost(demands: &[u32], set_ups: &[u32], hold: u32) -> f64 {
    let case = nursery(demands, set_ups, hold);
    assert_eq!(case.validate(), []);
    let workable = whole(&case);
    let jobs = recount_jobs(&case, &workable.plan, demands.len()).expect("rules are kept");
    let profit = recount(&case, &workable.plan).expect("the plan adds up") - jobs;
    close(profit, workable.plan.profit);
    close(workable.bound, workable.plan.profit);
    -profit
}

#[test]
fn the_textbook_example_costs_864() {
    assert_eq!(least_cost(&DEMANDS, &SET_UPS, 1), 864);
    close(planned_cost(&DEMANDS, &SET_UPS, 1), 864.0);
}

#[test]
fn other_lots_cost_what_their_programmes_say() {
    let dear_to_hold = ([20, 5, 0, 30, 8, 11, 2, 40], [60; 8], 4);
    let dear_to_begin = (
        [3, 1, 4, 1, 5, 9, 2, 6, 5, 3],
        [31, 2, 71, 8, 28, 18, 28, 45, 90, 45],
        2,
    );
    let (demands, set_ups, hold) = dear_to_hold;
    let least = f64::from(least_cost(&demands, &set_ups, hold));
    close(planned_cost(&demands, &set_ups, hold), least);
    let (demands, set_ups, hold) = dear_to_begin;
    let least = f64::from(least_cost(&demands, &set_ups, hold));
    close(planned_cost(&demands, &set_ups, hold), least);
}
