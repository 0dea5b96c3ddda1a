//! The frozen cases, whose best profit is known from an independent implementation.

mod common;

use planner::{Plan, PlanOptions, Status, plan};

fn best(name: &str, profit: f64) -> Plan {
    let case = common::case(name);
    assert_eq!(case.validate(), []);
    let outcome = plan(&case, &PlanOptions::default()).expect("the case can be planned");
    let plan = outcome.plan().expect("there is a plan");
    assert_eq!(plan.status, Status::Optimal);
    assert!(
        (plan.profit - profit).abs() <= 1e-6 * profit,
        "{} is not {profit}",
        plan.profit
    );
    assert!(
        (plan.money.profit() - plan.profit).abs() <= 1e-9 * profit,
        "{:?}",
        plan.money
    );
    assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
    assert!(plan.prices.iter().all(|it| it.price > 0.0));
    let short: f64 = plan.lines.iter().map(|it| it.short).sum();
    assert!((short - plan.short.iter().map(|it| it.plants).sum::<f64>()).abs() < 1e-3);
    plan
}

#[test]
fn the_small_case_reaches_its_best_profit() {
    best("plan-small", 31_180.786_32);
}

#[test]
fn the_medium_case_reaches_its_best_profit() {
    best("plan-medium", 171_669.686_86);
}
