//! Large made seasons are cases like any other.

use std::num::NonZero;

use planner::{Case, Plan, PlanOptions, plan};
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
