//! The frozen cases, whose best profit is known from an independent implementation.

use crate::cases::frozen;
use crate::recount::recount;
use crate::{close, planned};
use planner::{Plan, PlanOptions, Status, Why, plan};

fn best(name: &str, profit: f64) -> Plan {
    let case = frozen(name);
    assert_eq!(case.validate(), []);
    let plan = planned(&case);
    assert_eq!(plan.status, Status::Optimal);
    close(plan.profit / profit, 1.0);
    close(plan.money.profit() / profit, 1.0);
    close(
        recount(&case, &plan).expect("the plan adds up") / profit,
        1.0,
    );
    assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
    assert!(plan.prices.iter().all(|it| it.price > 0.0));
    for line in &plan.short {
        if let Why::Scarce { cost, worth, .. } | Why::DoesNotPay { cost, worth } = line.why {
            assert!(
                cost.is_finite() && cost >= worth - 1e-6 * worth.abs().max(1.0),
                "{}",
                line.why
            );
        }
    }
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

#[test]
fn a_plan_starts_from_the_corner_of_the_last() {
    let mut case = frozen("plan-small");
    let first = planned(&case);
    case.orders[0].plants += 5.0;
    let options = PlanOptions {
        start: first.basis,
        ..PlanOptions::default()
    };
    let warm = plan(&case, &options).unwrap().plan().unwrap();
    let cold = planned(&case);
    close(warm.profit / cold.profit, 1.0);
    assert!(warm.iterations < 1000, "{} steps", warm.iterations);
    assert!(warm.checks.worst() <= 1e-6, "{:?}", warm.checks);
}
