//! What the plan before had in its near weeks is left only for a reason.

use planner::{Case, Money, Plan};
use serde_json::json;

use crate::recount::{recount, recount_jobs};
use crate::{close, planned, whole};

/// Ten trees are wanted in week 9, sown in week 0 or 1, which costs 1 or `other` each. All of them live.
fn sown(other: f64) -> Case {
    serde_json::from_value(json!({
        "format": 2, "weeks": 20,
        "places": [{"id": "bench", "area_m2": 100, "excess_cost_per_m2_week": 1}],
        "crews": [], "supplies": [],
        "stages": [{"id": "tree", "place": "bench", "area_m2_per_plant": 0.1, "over_age_after_weeks": 15}],
        "operations": [
            {"id": "sow", "takes_from": null, "moves_to": "tree", "cost_per_plant": 1,
                "starts": [{"week": 0, "ready_after": [[4, 1]]}]},
            {"id": "sow late", "takes_from": null, "moves_to": "tree", "cost_per_plant": other,
                "starts": [{"week": 1, "ready_after": [[4, 1]]}, {"week": 12, "ready_after": [[4, 1]]}]}],
        "orders": [{"id": "A", "accepts": [{"stage": "tree", "price": 30}], "plants": 10,
            "earliest": 9, "due": 9, "latest": 19, "late_cost_per_plant_week": 1, "short_cost_per_plant": 5}]
    }))
    .expect("a case")
}

/// The same after a plan that sowed so many in week 0, where each plant changed costs so much.
fn after(before: f64, cost: f64, other: f64) -> Case {
    let mut case = sown(other);
    let start = json!({"operation": "sow", "week": 0, "plants": before});
    case.before = vec![serde_json::from_value(start).expect("a start")];
    case.change_cost_per_plant = cost;
    case
}

/// Plants by operation and week.
fn starts(plan: &Plan) -> Vec<(&str, usize, f64)> {
    let starts = plan.starts.iter();
    starts
        .map(|it| (it.operation.as_str(), it.week, it.plants.round()))
        .collect()
}

/// Money that is paid.
fn paid(plan: &Plan) -> f64 {
    plan.profit - plan.money.unpaid()
}

/// To sow a week later saves 10 × 0.1 = 1 and changes twenty plants: ten are not sown, ten others are. At 0.02 each that
/// costs 0.4, at 0.06 each 1.2.
#[test]
fn a_small_gain_changes_nothing_and_a_larger_one_does() {
    let without = planned(&sown(0.9));
    assert_eq!(starts(&without), [("sow late", 1, 10.0)]);
    close(without.profit, 300.0 - 9.0);

    let changes = planned(&after(10.0, 0.02, 0.9));
    assert_eq!(starts(&changes), [("sow late", 1, 10.0)]);
    close(changes.money.changes, 0.4);
    close(changes.profit, 291.0 - 0.4);
    close(paid(&changes), 291.0);

    let stays = planned(&after(10.0, 0.06, 0.9));
    assert_eq!(starts(&stays), [("sow", 0, 10.0)]);
    close(stays.money.changes, 0.0);
    close(stays.profit, 290.0);
    close(stays.money.profit(), stays.profit);
    assert_eq!(
        stays.money,
        Money {
            sales: 300.0,
            operations: 10.0,
            ..Money::default()
        }
    );
}

/// Only what is not wanted any more goes: of twelve sown before two, each at the cost of a change. Three more than the seven
/// before are sown where they were.
#[test]
fn a_start_grows_and_shrinks_where_it_is() {
    for (before, changed) in [(12.0, 2.0), (7.0, 3.0), (10.0, 0.0)] {
        let case = after(before, 0.5, 1.0);
        let plan = planned(&case);
        assert_eq!(starts(&plan), [("sow", 0, 10.0)], "{before}");
        close(plan.money.changes, changed * 0.5);
        close(paid(&plan), recount(&case, &plan).expect("it adds up"));
        close(paid(&plan), 290.0);
    }
}

/// Sown in week 12, the trees are ready in week 16, seven weeks late: 29 less each, were it for no change; so far away
/// it is none. The ten that stay unsown in week 0 cost theirs.
#[test]
fn far_weeks_may_change_as_they_like() {
    let mut case = after(10.0, 2.0, 1.0);
    case.operations[1].starts.remove(0);
    case.operations[0].cost_per_plant = 12.0;
    let plan = planned(&case);
    assert_eq!(starts(&plan), [("sow late", 12, 10.0)]);
    close(plan.money.changes, 20.0);
    close(paid(&plan), 300.0 - 70.0 - 10.0);
}

/// What the plan before had and the case does not list, nobody can keep to; without a plan before nothing is a change.
#[test]
fn nothing_is_asked_of_what_is_gone_or_never_was() {
    let mut gone = after(10.0, 0.06, 0.9);
    gone.before[0].week = 7;
    let plan = planned(&gone);
    assert_eq!(starts(&plan), [("sow late", 1, 10.0)]);
    close(plan.money.changes, 0.6);
    let mut never = sown(0.9);
    never.change_cost_per_plant = 5.0;
    assert_eq!(planned(&never), planned(&sown(0.9)));
}

/// Whole jobs stay where they were too, and what a change costs is no cost of whole jobs.
#[test]
fn whole_jobs_stay_as_they_were() {
    let mut case = after(8.0, 0.06, 0.9);
    case.whole_weeks = Some(12);
    case.operations[0].multiple_of = Some(4.0);
    let workable = whole(&case);
    assert_eq!(
        starts(&workable.plan),
        [("sow", 0, 8.0), ("sow late", 1, 2.0)]
    );
    close(workable.plan.money.changes, 2.0 * 0.06);
    close(paid(&workable.plan), 300.0 - 8.0 - 1.8);
    recount_jobs(&case, &workable.plan, 12).expect("rules are kept");
}

/// By periods, what the plan before had is weighed wherever it lies.
#[test]
fn a_look_by_periods_keeps_the_starts_of_the_plan_before() {
    let mut case = after(10.0, 3.0, 0.1);
    case.operations[0].starts[0].week = 5;
    case.before[0].week = 5;
    let options = planner::PlanOptions {
        period: std::num::NonZero::new(2),
        ..planner::PlanOptions::default()
    };
    let outcome = planner::plan(&case, &options).expect("the case can be planned");
    let plan = outcome.plan().expect("there is a plan");
    assert_eq!(starts(&plan), [("sow", 5, 10.0)]);
    close(plan.money.changes, 0.0);
}
