//! Plans against the frozen cases, the pencil, and a second count.

mod by_hand;
mod cases;
mod frozen;
mod problems;
mod random;
mod recount;

use planner::{Case, Plan, PlanOptions};

/// The best plan of a case that has one.
fn planned(case: &Case) -> Plan {
    let outcome = planner::plan(case, &PlanOptions::default()).expect("the case can be planned");
    outcome.plan().expect("there is a plan")
}

/// Fails unless two numbers agree to a millionth of their size, or of one.
fn close(left: f64, right: f64) {
    assert!(
        (left - right).abs() <= 1e-6 * right.abs().max(1.0),
        "{left} is not {right}"
    );
}
