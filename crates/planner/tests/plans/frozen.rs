//! The frozen cases, whose best profit is known from an independent implementation.

use crate::cases::frozen;
use crate::recount::recount;
use crate::reference::reference;
use crate::{close, planned};
use planner::{Case, Outcome, Plan, PlanOptions, Status, Why, plan};
use solver::{Method, Options};
use std::num::NonZero;

fn best(name: &str, profit: f64) -> Plan {
    let case = frozen(name);
    assert_eq!(case.validate(), []);
    let plan = planned(&case);
    close(plan.profit / profit, 1.0);
    assert_sound(&case, &plan);
    plan
}

/// Fails unless a plan adds up, is the best of what it weighed, and tells why lines go short.
fn assert_sound(case: &Case, plan: &Plan) {
    assert_eq!(plan.status, Status::Optimal);
    close(plan.money.profit() / plan.profit, 1.0);
    let counted = recount(case, plan).expect("the plan adds up");
    close(counted / plan.profit, 1.0);
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
}

fn planned_by_periods(case: &Case, weeks: usize) -> Plan {
    let options = PlanOptions {
        period: NonZero::new(weeks),
        ..PlanOptions::default()
    };
    let outcome = plan(case, &options).expect("the case can be planned");
    outcome.plan().expect("there is a plan")
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

/// Begun anew, a plan has no corner to go on from, and is as good.
#[test]
fn a_plan_begun_anew_earns_as_much() {
    let mut case = frozen("plan-small");
    let first = planned(&case);
    case.orders[0].plants += 5.0;
    let options = |anew| PlanOptions {
        start: first.basis.clone(),
        anew,
        ..PlanOptions::default()
    };
    let anew = plan(&case, &options(true)).unwrap().plan().unwrap();
    let onward = plan(&case, &options(false)).unwrap().plan().unwrap();
    close(anew.profit / onward.profit, 1.0);
    assert!(anew.iterations > onward.iterations);
    assert_sound(&case, &anew);
}

/// A further plan leaves out what the last one left out, without a look of its own.
#[test]
fn a_further_plan_leaves_out_what_the_last_did() {
    let mut case = frozen("plan-small");
    let first = planned_by_periods(&case, 6);
    let options = |first: &Plan| PlanOptions {
        start: first.basis.clone(),
        leave_out: Some(first.unweighed.clone()),
        ..PlanOptions::default()
    };
    let again = plan(&case, &options(&first)).unwrap().plan().unwrap();
    close(again.profit / first.profit, 1.0);
    assert_eq!((again.left_out, again.iterations), (first.left_out, 0));
    case.orders[0].plants += 5.0;
    let further = plan(&case, &options(&first)).unwrap().plan().unwrap();
    assert_eq!(further.unweighed, first.unweighed);
    assert!(further.profit <= planned(&case).profit * (1.0 + 1e-9));
    assert_sound(&case, &further);
}

/// A look by periods of one week is the whole model, and leaves out nothing that its plan uses.
#[test]
fn a_look_by_single_weeks_leaves_out_only_what_is_not_worth_it() {
    let case = frozen("plan-small");
    let plan = planned_by_periods(&case, 1);
    assert!(plan.left_out > 0);
    close(plan.profit / 31_180.786_32, 1.0);
    assert_sound(&case, &plan);
}

#[test]
fn a_look_by_periods_costs_little_profit() {
    let (small, medium) = (31_180.786_32, 171_669.686_86);
    for (name, best, period) in [
        ("plan-small", small, 2),
        ("plan-small", small, 6),
        ("plan-small", small, 13),
        ("plan-medium", medium, 6),
    ] {
        let case = frozen(name);
        let plan = planned_by_periods(&case, period);
        let share = plan.profit / best;
        let what = format!(
            "{name} by {period} weeks: {share} of the best, {} left out",
            plan.left_out
        );
        println!("{what}");
        assert!(
            plan.left_out > 0 && (0.99..=1.0 + 1e-6).contains(&share),
            "{what}"
        );
        assert_sound(&case, &plan);
    }
}

/// Wherever the time runs out, in the look or in the weeks, there is a whole plan or none.
#[test]
fn time_that_runs_out_leaves_a_plan_or_none() {
    let case = frozen("plan-small");
    let mut options = PlanOptions {
        period: NonZero::new(6),
        ..PlanOptions::default()
    };
    let mut seconds = 0.002;
    let planned = loop {
        options.time_limit_s = Some(seconds);
        match plan(&case, &options).expect("the case can be planned") {
            Outcome::NotPlanned(status) => assert_eq!(status, Status::TimeLimit),
            Outcome::Planned(plan) => break plan,
        }
        seconds *= 1.25;
    };
    assert_sound(&case, &planned);
    assert!(seconds > 0.002, "it took no time at all");
}

/// The reference form's counts, from the independent implementation that gave the best profits.
#[test]
fn the_reference_form_has_the_reference_forms_counts() {
    for (name, rows, columns, nonzeros) in [
        ("plan-small", 19_078, 23_587, 141_739),
        ("plan-medium", 73_737, 93_309, 639_156),
    ] {
        let model = reference(&frozen(name));
        let entries = model.matrix().expect("the form is a model").len();
        assert_eq!(
            (model.rows().len(), model.columns().len(), entries),
            (rows, columns, nonzeros),
            "{name}"
        );
    }
}

#[test]
fn the_reference_form_of_the_small_case_has_the_same_best_profit() {
    let options = Options {
        method: Method::InteriorPoint,
        ..Options::default()
    };
    let best = reference(&frozen("plan-small")).solve(&options);
    close(
        -best.expect("the form is a model").objective / 31_180.786_32,
        1.0,
    );
}
