//! What a slip costs is what a plan of the same season without that start earns less.

use planner::{Case, Plan, Slip, SlipOptions, slips};
use serde_json::json;

use crate::cases::frozen;
use crate::{close, planned, whole};

fn all_slips(case: &Case, plan: &Plan) -> Vec<Slip> {
    slips(case, plan, &SlipOptions::default()).expect("the case can be planned")
}

/// The season without one start.
fn without(case: &Case, operation: &str, week: usize) -> Case {
    let mut case = case.clone();
    let mut all = case.operations.iter_mut();
    let it = all.find(|it| it.id == operation).expect("the operation");
    it.starts.retain(|start| start.week != week as i64);
    case
}

/// Fails unless every slip costs what a plan without its start earns less.
fn as_without(case: &Case) -> usize {
    let plan = planned(case);
    let slips = all_slips(case, &plan);
    let near = plan.starts.iter().filter(|it| it.week < 12).count();
    assert_eq!(slips.len(), near);
    for slip in &slips {
        let other = planned(&without(case, &slip.operation, slip.week));
        close(slip.loss, plan.profit - other.profit);
        for line in &slip.lines {
            let at = |plan: &Plan| plan.lines.iter().find(|it| it.order == line.order).cloned();
            let (one, other) = (at(&plan).expect("a line"), at(&other).expect("a line"));
            // Another plan may be as good, so that only what is served in all need be the same.
            assert!((one.plants - one.on_time - one.late - one.short).abs() < 1e-6);
            assert!(other.short - one.short <= one.plants + 1e-6);
        }
    }
    slips.len()
}

/// Liners ready in week 0 are budded in weeks 0 to 4 and potted after that; hours, buds and the bench are
/// scarce.
fn season(hours: f64) -> Case {
    let starts = |weeks: std::ops::Range<i64>, takes: i64, share: f64| -> Vec<_> {
        let ready = json!([[takes, share / 2.0], [takes + 1, share / 2.0]]);
        weeks
            .map(|week| json!({"week": week, "ready_after": ready}))
            .collect()
    };
    serde_json::from_value(json!({
        "format": 2, "weeks": 14,
        "places": [{"id": "row", "area_m2": 200, "excess_cost_per_m2_week": 1},
            {"id": "bench", "area_m2": 9, "excess_cost_per_m2_week": 2}],
        "crews": [{"id": "budders", "hours_per_week": hours, "extra_hours_per_week": 2,
            "extra_cost_per_hour": 15, "may_do": ["potters"]}, {"id": "potters", "hours_per_week": 3}],
        "supplies": [{"id": "buds", "batches": [{"from": 0, "to": 2, "amount": 90}],
            "buy_price": 0.5, "buy_limit_per_week": 20}],
        "stages": [
            {"id": "liner", "place": "row", "area_m2_per_plant": 0.1, "over_age_after_weeks": 6,
             "wait_cost_per_plant_week": 0.02, "discard_cost_per_plant": 0.1},
            {"id": "budded", "place": "row", "area_m2_per_plant": 0.1, "over_age_after_weeks": 9},
            {"id": "tree", "place": "bench", "area_m2_per_plant": 0.12, "over_age_after_weeks": 9,
             "wait_cost_per_plant_week": 0.05, "end_value_per_plant": 1}],
        "operations": [
            {"id": "bud", "takes_from": "liner", "moves_to": "budded", "cost_per_plant": 0.4,
             "hours": [[0, "budders", 0.05], [2, "potters", 0.01]],
             "uses": [{"supply": "buds", "per_plant": 1.1}], "starts": starts(0..5, 3, 0.8)},
            {"id": "pot", "takes_from": "budded", "moves_to": "tree", "cost_per_plant": 0.6,
             "hours": [[0, "potters", 0.04]], "starts": starts(3..12, 2, 0.9)}],
        "standing": [{"stage": "liner", "arrivals": [[0, 150], [2, 30]]}],
        "orders": [
            {"id": "A", "accepts": [{"stage": "tree", "price": 12}], "plants": 60, "earliest": 6,
             "due": 7, "latest": 10, "late_cost_per_plant_week": 0.7, "short_cost_per_plant": 4},
            {"id": "B", "accepts": [{"stage": "tree", "price": 11}], "plants": 70, "earliest": 7,
             "due": 9, "latest": 12, "late_cost_per_plant_week": 0.5, "short_cost_per_plant": 3}]
    }))
    .expect("a case")
}

#[test]
fn a_slip_costs_what_a_plan_without_the_start_earns_less() {
    let told: usize = [0.5, 1.3, 2.0, 9.0]
        .map(|hours| as_without(&season(hours)))
        .iter()
        .sum();
    assert!(told > 20, "{told}");
    let more = |hours| -> f64 {
        let case = season(hours);
        all_slips(&case, &planned(&case))
            .iter()
            .map(|it| it.loss)
            .sum()
    };
    assert!(
        more(0.5) > 1.0 && (more(0.5) - more(9.0)).abs() > 1.0,
        "hours change what slips cost"
    );
}

#[test]
fn slips_of_the_small_case_are_those_of_plans_without_the_starts() {
    let case = frozen("plan-small");
    let plan = planned(&case);
    let slips = all_slips(&case, &plan);
    assert!(!slips.is_empty());
    for slip in slips.iter().step_by(slips.len().div_ceil(6)) {
        let other = planned(&without(&case, &slip.operation, slip.week));
        // Of a large case not every other start is weighed, so that a little more may be told.
        let (lost, told) = (plan.profit - other.profit, slip.loss);
        assert!(
            (-1e-6..1e-4).contains(&((told - lost) / plan.profit)),
            "{told} of {lost}"
        );
    }
}

/// Two weeks of budding for forty trees.
fn two_weeks(late: f64) -> Case {
    serde_json::from_value(json!({
        "format": 2, "weeks": 8, "supplies": [], "crews": [],
        "places": [{"id": "row", "area_m2": 100, "excess_cost_per_m2_week": 1}],
        "stages": [
            {"id": "liner", "place": "row", "area_m2_per_plant": 0.1, "over_age_after_weeks": 9},
            {"id": "tree", "place": "row", "area_m2_per_plant": 0.1, "over_age_after_weeks": 9}],
        "operations": [{"id": "bud", "takes_from": "liner", "moves_to": "tree", "cost_per_plant": 1,
            "starts": [{"week": 1, "ready_after": [[3, 0.8]]}, {"week": 2, "ready_after": [[3, 0.8]]}]}],
        "standing": [{"stage": "liner", "arrivals": [[0, 100]]}],
        "orders": [{"id": "A", "accepts": [{"stage": "tree", "price": 10}], "plants": 40, "earliest": 4,
            "due": 4, "latest": 6, "late_cost_per_plant_week": late, "short_cost_per_plant": 2}]
    }))
    .expect("a case")
}

/// All fifty plants are budded a week later and the forty trees are a week late; where that costs more than the
/// trees earn, nothing is budded and the line goes short.
#[test]
fn the_cost_of_lateness_changes_what_a_slip_costs_and_who_pays() {
    for late in [0.5, 1.5] {
        let case = two_weeks(late);
        let slips = all_slips(&case, &planned(&case));
        assert_eq!(slips.len(), 1);
        close(slips[0].loss, 40.0 * late);
        assert_eq!(slips[0].instead.len(), 1);
        close(slips[0].instead[0].1, 50.0);
        close(slips[0].lines[0].late, 40.0);
        close(slips[0].lines[0].short, 0.0);
    }
    let case = two_weeks(20.0);
    let slips = all_slips(&case, &planned(&case));
    // 40 × (10 + 2) is not earned, 50 are not budded.
    close(slips[0].loss, 40.0 * 12.0 - 50.0);
    assert!(slips[0].instead.is_empty());
    close(slips[0].lines[0].short, 40.0);
}

#[test]
fn slips_of_whole_jobs_are_counted_from_these_jobs() {
    let mut case = two_weeks(1.5);
    case.whole_weeks = Some(8);
    case.operations[0].multiple_of = Some(36.0);
    let workable = whole(&case);
    let jobs = &workable.plan.starts;
    assert_eq!((jobs.len(), jobs[0].plants.round() as i64), (1, 72));
    let slips = all_slips(&case, &workable.plan);
    // Of 72 plants, half a one given or taken, 50 are needed: the others are saved, 40 trees are late.
    close(slips[0].loss, 40.0 * 1.5 - 21.5);
}

#[test]
fn without_time_nothing_is_told() {
    let case = season(2.0);
    let none = SlipOptions {
        time_limit_s: Some(0.0),
        ..SlipOptions::default()
    };
    assert_eq!(slips(&case, &planned(&case), &none), Ok(Vec::new()));
}
