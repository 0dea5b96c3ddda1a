//! Plans against the frozen cases, the pencil, and a second count.

mod all_ways;
mod before;
mod by_hand;
mod cases;
mod frozen;
mod large;
mod problems;
mod random;
mod recount;
mod reference;
mod set_up;
mod slips;
mod workable;

use planner::{Case, Plan, PlanOptions, Workable, WorkableOptions};

/// The best plan of a case that has one.
fn planned(case: &Case) -> Plan {
    let outcome = planner::plan(case, &PlanOptions::default()).expect("the case can be planned");
    outcome.plan().expect("there is a plan")
}

/// The workable plan of a case, proved to be the best.
fn whole(case: &Case) -> Workable {
    let options = WorkableOptions {
        gap: 0.0,
        ..WorkableOptions::default()
    };
    let workable = planner::workable(case, &planned(case), &options);
    workable
        .expect("the case can be planned")
        .expect("there is a plan")
}

/// Fails unless two numbers agree to a millionth of their size, or of one.
fn close(left: f64, right: f64) {
    assert!(
        (left - right).abs() <= 1e-6 * right.abs().max(1.0),
        "{left} is not {right}"
    );
}
