//! What is wrong with a case is named, all of it at once.

use planner::{Case, PlanError, PlanOptions, plan};
use serde_json::{Value, json};

fn good() -> Value {
    json!({
        "format": 2, "weeks": 3, "note": "other programs' keys are left alone",
        "places": [{"id": "bench", "area_m2": [5, 5, 6], "excess_cost_per_m2_week": 1}],
        "whole_weeks": 12, "most_jobs_per_week": 4,
        "crews": [{"id": "general", "hours_per_week": 4,
            "blocks": [{"from": 1, "weeks": 9, "hours_per_week": 3, "cost": 50}]}],
        "supplies": [{"id": "seed", "batches": [{"from": 0, "to": 40, "amount": 9}]}],
        "stages": [{"id": "tree", "place": "bench", "area_m2_per_plant": 0.1,
            "over_age_after_weeks": [2, 1, 0], "discard_cost_per_plant": 0.5}],
        "operations": [{"id": "sow", "takes_from": null, "moves_to": "tree",
            "hours": [[0, "general", 0.1]], "uses": [{"supply": "seed", "per_plant": 1}],
            "at_least": 2, "multiple_of": 2, "cost_per_job": 1,
            "starts": [{"week": 1, "ready_after": [[1, 0.7]]}]}],
        "standing": [{"stage": "tree", "arrivals": [[0, 2], [9, 2]], "immature": [[0, 2]]}],
        "orders": [{"id": "A", "accepts": [{"stage": "tree", "price": 3}], "plants": 2,
            "earliest": -2, "due": 0, "latest": 8}],
        "before": [{"operation": "sow", "week": 2, "plants": 4}, {"operation": "sow", "week": 1, "plants": 2}],
        "change_cost_per_plant": 0.02,
        "reserves": [{"id": "for A", "stages": ["tree"], "orders": ["A"], "week": 9, "steps": [
            {"plants": 2, "worth_per_plant": 3}, {"plants": 0, "worth_per_plant": 3}]}]
    })
}

/// The problems after one change: where each is, and its rule.
fn after(pointer: &str, value: Value) -> Vec<(String, String)> {
    let mut case = good();
    *case.pointer_mut(pointer).expect("a key of the case") = value;
    let case: Case = serde_json::from_value(case).expect("a case");
    case.validate()
        .into_iter()
        .map(|it| (it.at, it.rule))
        .collect()
}

#[test]
fn a_good_case_has_no_problem() {
    assert_eq!(after("/weeks", json!(3)), []);
}

#[test]
fn each_rule_is_checked_where_it_is_broken() {
    for line in CHANGES.lines() {
        let parts: Vec<&str> = line.split(" | ").collect();
        let found = after(parts[0], serde_json::from_str(parts[1]).unwrap());
        assert!(found.iter().any(|it| it.0 == parts[2]), "{line}: {found:?}");
    }
}

/// What is changed, to what, and where the problem is.
const CHANGES: &str = r#"/format | 1 | format
/weeks | 0 | weeks
/reserves/0/stages/0 | "bush" | reserve "for A", stages
/reserves/0/orders/0 | "B" | reserve "for A", orders
/reserves/0/steps/0/plants | -1 | reserve "for A", plants
/reserves/0/steps/0/worth_per_plant | -1 | reserve "for A", worth_per_plant
/reserves/0/steps/1/worth_per_plant | 4 | reserve "for A", worth_per_plant
/places/0/area_m2 | [1, 2] | place "bench", area_m2
/places/0/area_m2 | [1, 2, -3] | place "bench", area_m2
/places/0/id | "bed" | stage "tree", place
/crews/0/hours_per_week | -1 | crew "general", hours_per_week
/crews/0/id | "staff" | operation "sow", hours
/supplies/0/batches/0/to | -1 | supply "seed", batch 0
/supplies/0/batches/0/amount | -1 | supply "seed", batch 0, amount
/supplies/0/id | "pips" | operation "sow", uses
/stages/0/over_age_after_weeks | [2, 0, 0] | stage "tree", over_age_after_weeks
/stages/0/over_age_after_weeks | -1 | stage "tree", over_age_after_weeks
/operations/0/takes_from | "bush" | operation "sow", takes_from
/operations/0/moves_to | "bush" | operation "sow", moves_to
/operations/0/hours/0 | [-1, "general", 1] | operation "sow", hours
/operations/0/starts/0/week | 3 | operation "sow", start in week 3
/operations/0/starts/0/week | -1 | operation "sow", start in week -1
/operations/0/starts/0/ready_after | [[1, 1.2]] | operation "sow", start in week 1
/operations/0/starts/0/ready_after | [[0, 1]] | operation "sow", start in week 1
/operations/0/starts/0/ready_after | [[1, 1, "bush"]] | operation "sow", start in week 1
/standing/0/stage | "bush" | standing "bush"
/standing/0/arrivals | [[-1, 2]] | standing "tree", arrivals
/standing/0/immature | [[0, -2]] | standing "tree", immature
/orders/0/accepts | [] | order "A"
/orders/0/accepts/0/stage | "bush" | order "A", accepts
/orders/0/plants | -2 | order "A", plants
/orders/0/due | 9 | order "A"
/orders/0/due | -3 | order "A"
/orders/0/plants | 1e12 | order "A", plants
/orders/0/accepts/0/price | 1e308 | order "A", accepts
/places/0/area_m2 | 1e20 | place "bench", area_m2
/stages/0/discard_cost_per_plant | -1e12 | stage "tree", discard_cost_per_plant
/orders/0/earliest | -9223372036854775808 | order "A"
/orders/0/latest | 1000001 | order "A"
/most_jobs_per_week | 2.5 | most_jobs_per_week
/most_jobs_per_week | -1 | most_jobs_per_week
/operations/0/at_least | 0.5 | operation "sow", at_least
/operations/0/at_least | -1 | operation "sow", at_least
/operations/0/multiple_of | 0 | operation "sow", multiple_of
/operations/0/multiple_of | 1e12 | operation "sow", multiple_of
/operations/0/cost_per_job | -1 | operation "sow", cost_per_job
/crews/0/blocks/0/from | 3 | crew "general", block 0, from
/crews/0/blocks/0/weeks | 0 | crew "general", block 0, weeks
/crews/0/blocks/0/hours_per_week | -1 | crew "general", block 0, hours_per_week
/crews/0/blocks/0/cost | 1e308 | crew "general", block 0, cost
/change_cost_per_plant | -1 | change_cost_per_plant
/before/0/operation | "bud" | before 0, operation
/before/0/week | 3 | before 0, week
/before/0/week | -1 | before 0, week
/before/0/week | 1 | before 1
/before/1/plants | -1 | before 1, plants"#;

#[test]
fn names_and_weeks_are_used_once() {
    for list in [
        "places",
        "crews",
        "supplies",
        "stages",
        "operations",
        "orders",
    ] {
        let mut twice = good()[list].clone();
        let first = twice[0].clone();
        twice.as_array_mut().expect("a list").push(first);
        let found = after(&format!("/{list}"), twice);
        assert_eq!(
            found[0],
            (list.to_owned(), "this name is used twice".to_owned())
        );
    }
    let start = json!({"week": 1, "ready_after": [[1, 0.7]]});
    let found = after("/operations/0/starts", json!([start, start]));
    assert_eq!(found[0].1, "this week is listed twice");
}

#[test]
fn numbers_that_are_none_are_named() {
    let mut case: Case = serde_json::from_value(good()).expect("a case");
    case.orders[0].accepts[0].price = f64::NAN;
    case.stages[0].end_value_per_plant = f64::INFINITY;
    case.operations[0].starts[0].ready_after[0].fraction = f64::NAN;
    let rules: Vec<String> = case.validate().into_iter().map(|it| it.rule).collect();
    assert_eq!(rules, ["this is not a number"; 3]);
}

/// A due week at the end of its numbers, or plants beyond counting, are told and never reckoned with.
#[test]
fn numbers_beyond_reckoning_are_told() {
    let mut case: Case = serde_json::from_value(good()).expect("a case");
    (case.orders[0].earliest, case.orders[0].due) = (i64::MIN, i64::MIN);
    case.orders[0].plants = 1e20;
    let Err(PlanError::BadCase(problems)) = plan(&case, &PlanOptions::default()) else {
        panic!("the case is bad");
    };
    assert_eq!(
        problems[0].to_string(),
        "order \"A\", plants: 1e20: numbers are below 1e12; look for digits too many."
    );
    assert_eq!(problems.len(), 3);
    case.orders[0].plants = 9e11;
    (case.orders[0].earliest, case.orders[0].due) = (-1_000_000, -1_000_000);
    case.orders[0].late_cost_per_plant_week = 9e11;
    case.orders[0].accepts[0].price = 9e11;
    assert_eq!(case.validate(), []);
    assert!(plan(&case, &PlanOptions::default()).is_ok());
}

#[test]
fn the_mend_fits_the_number_of_weeks() {
    let mend = |weeks: usize| {
        let mut case: Case = serde_json::from_value(good()).expect("a case");
        case.weeks = weeks;
        case.operations[0].starts[0].week = 9;
        let problems = case.validate();
        let start = problems.into_iter().find(|it| it.at.contains("start"));
        start.expect("week 9 is not in the plan").mend
    };
    assert_eq!(mend(0), "mend the number of weeks first");
    assert_eq!(mend(1), "give week 0, the only one");
    assert_eq!(mend(3), "give a week from 0 to 2");
}

#[test]
fn planning_a_bad_case_gives_all_its_problems() {
    let mut case: Case = serde_json::from_value(good()).expect("a case");
    case.orders[0].plants = -1.0;
    case.format = 9;
    let Err(PlanError::BadCase(problems)) = plan(&case, &PlanOptions::default()) else {
        panic!("the case is bad");
    };
    let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "format: 9: the format read here is 2; write the case in format 2.",
            "order \"A\", plants: -1: this number cannot be negative; give 0 or more."
        ]
    );
}
