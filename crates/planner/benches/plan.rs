//! Seconds to plan the frozen cases, and to solve their reference form by the solver's interior point method:
//! `cargo bench -p planner --bench plan --profile dev` (the dev profile has the solver built already).
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

#[path = "../tests/plans/cases.rs"]
mod cases;
#[path = "../tests/plans/reference.rs"]
mod reference;

use std::time::Instant;

use planner::{Case, Plan, PlanOptions, plan};
use solver::{Method, Options};

fn main() {
    for name in ["plan-small", "plan-medium"] {
        let case = cases::frozen(name);
        let (best, seconds) = timed(|| planned(&case, &PlanOptions::default()));
        println!(
            "{name}: {seconds:.1} s, {} rows, {} columns, {} entries, {} steps, profit {:.5}, {:?}",
            best.rows, best.columns, best.nonzeros, best.iterations, best.profit, best.checks
        );
        beside_the_reference_form(name, &case, (best.profit, seconds));
        let again = PlanOptions {
            start: best.basis.clone(),
            ..PlanOptions::default()
        };
        let (_, seconds) = timed(|| planned(&case, &again));
        println!("{name}: {seconds:.1} s from its own corner");
    }
}

/// The same case in its reference form, solved in the same run: as a plan is, into a corner, and without one.
fn beside_the_reference_form(name: &str, case: &Case, (profit, seconds): (f64, f64)) {
    let form = reference::reference(case);
    for (crossover, what) in [(true, "with"), (false, "without")] {
        let options = Options {
            method: Method::InteriorPoint,
            crossover,
            ..Options::default()
        };
        let (best, of_the_form) = timed(|| form.solve(&options).expect("the form can be solved"));
        println!(
            "{name}: {of_the_form:.1} s for its reference form ({} rows, {} columns), interior point {what} crossover, \
             profit {:.5}, {} of it; the plan took {:.2} of that time",
            form.rows().len(),
            form.columns().len(),
            -best.objective,
            profit / -best.objective,
            seconds / of_the_form
        );
    }
}

fn planned(case: &Case, options: &PlanOptions) -> Plan {
    let outcome = plan(case, options).expect("the frozen case can be planned");
    outcome.plan().expect("there is a plan")
}

fn timed<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let begun = Instant::now();
    let done = work();
    (done, begun.elapsed().as_secs_f64())
}
