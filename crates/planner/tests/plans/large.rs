//! Large made seasons are cases like any other.

use std::num::NonZero;

use planner::{Case, Plan, PlanOptions, plan};
use serde_json::{Value, json};
use testkit::LargeSeason;

use crate::close;
use crate::recount::recount;

fn made(season: LargeSeason, seed: u64) -> Case {
    serde_json::from_value(season.case(seed)).expect("the season is a case")
}

#[test]
fn the_large_season_is_as_large_as_it_says() {
    let case = made(LargeSeason::default(), 1);
    assert_eq!(case.validate(), []);
    assert_eq!(
        (case.stages.len(), case.weeks, case.orders.len()),
        (570, 182, 2000)
    );
    assert_eq!(case, made(LargeSeason::default(), 1));
    assert_ne!(case, made(LargeSeason::default(), 2));
}

fn planned(case: &Case, options: &PlanOptions) -> Plan {
    let outcome = plan(case, options).expect("the season can be planned");
    outcome.plan().expect("there is a plan")
}

/// A season of the same kind with few varieties: by periods, after a count, and with every start weighed.
#[test]
fn a_smaller_one_is_planned_by_periods_and_again_after_a_count() {
    let season = LargeSeason {
        rootstocks: 2,
        varieties: 2,
        weeks: 156,
        lines: 60,
    };
    let mut case = made(season, 3);
    let options = PlanOptions {
        period: NonZero::new(6),
        ..PlanOptions::default()
    };
    let first = planned(&case, &options);
    case.standing[0].arrivals[0].plants *= 0.9;
    let options = PlanOptions {
        start: first.basis.clone(),
        leave_out: Some(first.unweighed.clone()),
        ..PlanOptions::default()
    };
    let again = planned(&case, &options);
    let best = planned(&case, &PlanOptions::default());
    for plan in [&again, &best] {
        close(
            recount(&case, plan).expect("the plan adds up") / plan.profit,
            1.0,
        );
        assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
    }
    assert!(again.left_out > 0 && best.left_out == 0);
    let share = again.profit / best.profit;
    assert!((0.98..=1.0 + 1e-6).contains(&share), "{share} of the best");
}

/// Ten trees are due in week 31 and sown four weeks before; every operation may start in each of 60 weeks, and one alone pays.
fn sowings(operations: usize) -> Case {
    let starts: Vec<Value> = (0..60)
        .map(|week| json!({"week": week, "ready_after": [[4, 1]]}))
        .collect();
    let operations = (0..operations).map(|it| {
        json!({"id": format!("sow {it}"), "takes_from": null, "moves_to": "tree", "starts": starts,
            "cost_per_plant": if it == 0 { 0.1 } else { 50.0 }})
    });
    let case = json!({
        "format": 2, "weeks": 60,
        "places": [{"id": "bench", "area_m2": 5, "excess_cost_per_m2_week": 1}],
        "crews": [], "supplies": [],
        "stages": [{"id": "tree", "place": "bench", "area_m2_per_plant": 0.1,
            "over_age_after_weeks": 1, "wait_cost_per_plant_week": 0.01}],
        "operations": operations.collect::<Vec<_>>(), "standing": [],
        "orders": [{"id": "A", "accepts": [{"stage": "tree", "price": 3}], "plants": 10,
            "earliest": 30, "due": 31, "latest": 32, "late_cost_per_plant_week": 0.1}]
    });
    serde_json::from_value(case).expect("a case")
}

/// Starts of weeks after the first period that are weighed by periods of six weeks.
fn weighed_later(case: &Case) -> usize {
    let options = PlanOptions {
        period: NonZero::new(6),
        ..PlanOptions::default()
    };
    let plan = planned(case, &options);
    close(plan.profit, 10.0 * (3.0 - 0.1));
    plan.possible_starts - plan.left_out - 6 * case.operations.len()
}

/// Of more than 50 000 starts those of the very periods in use are weighed, of fewer those of two weeks to either side as well.
#[test]
fn of_very_many_starts_fewer_are_weighed() {
    let (many, very_many) = (sowings(833), sowings(834));
    let near = weighed_later(&many);
    assert!(near >= 10, "{near}");
    assert_eq!(weighed_later(&very_many) + 4, near);
}
