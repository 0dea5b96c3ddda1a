//! Seconds to plan the frozen cases: `cargo bench -p planner --profile dev` (the dev profile has the
//! solver built already).
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

#[path = "../tests/plans/cases.rs"]
mod cases;

use std::time::Instant;

use planner::{Outcome, PlanOptions, plan};

fn main() {
    for name in ["plan-small", "plan-medium"] {
        let case = cases::frozen(name);
        let begun = Instant::now();
        let outcome = plan(&case, &PlanOptions::default()).expect("the frozen case can be planned");
        let seconds = begun.elapsed().as_secs_f64();
        let Outcome::Planned(plan) = outcome else {
            println!("{name}: no plan");
            continue;
        };
        println!(
            "{name}: {seconds:.1} s, {} rows, {} columns, {} entries, {} steps, profit {:.5}, {:?}",
            plan.rows, plan.columns, plan.nonzeros, plan.iterations, plan.profit, plan.checks
        );
        let begun = Instant::now();
        let again = PlanOptions {
            start: plan.basis.clone(),
            ..PlanOptions::default()
        };
        plan_again(&case, &again);
        println!(
            "{name}: {:.1} s from its own corner",
            begun.elapsed().as_secs_f64()
        );
    }
}

fn plan_again(case: &planner::Case, options: &PlanOptions) {
    plan(case, options).expect("the frozen case can be planned again");
}
