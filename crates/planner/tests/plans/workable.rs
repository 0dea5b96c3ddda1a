//! Workable plans of the frozen cases, and what each rule does to a season on the back of a card.

use planner::workable::{Found, Rule};
use planner::{Case, WorkableOptions, workable};

use crate::cases::frozen;
use crate::recount::{recount, recount_jobs};
use crate::{close, planned, whole};

/// The small case with a rule of every kind.
fn ruled() -> Case {
    let mut case = frozen("plan-small");
    for operation in &mut case.operations {
        match operation.takes_from {
            None => operation.multiple_of = Some(10.0),
            Some(_) => operation.at_least = Some(8.0),
        }
        operation.cost_per_job = 5.0;
    }
    case.most_jobs_per_week = Some(4.0);
    case.whole_weeks = Some(12);
    case
}

#[test]
fn the_small_case_is_workable_and_tells_what_it_costs() {
    let case = ruled();
    let linear = planned(&case);
    let options = WorkableOptions {
        gap: 0.02,
        tell_rules: true,
        ..WorkableOptions::default()
    };
    let workable = workable(&case, &linear, &options).unwrap().unwrap();
    let plan = &workable.plan;
    println!(
        "cost {:.2} of {:.2}, bound {:.2}, {:?}, {:.1} s, {:?}",
        workable.cost_of_whole,
        linear.profit,
        workable.bound,
        workable.found,
        workable.seconds.in_all(),
        workable.rules
    );
    let jobs = recount_jobs(&case, plan, 12).expect("rules are kept");
    close(
        (recount(&case, plan).expect("it adds up") - jobs) / plan.profit,
        1.0,
    );
    assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
    assert_eq!(workable.found, Found::Best);
    assert!(workable.cost_of_whole > 0.0);
    close(
        workable.cost_share.unwrap(),
        workable.cost_of_whole / linear.profit,
    );
    assert!(plan.profit <= workable.bound);
    let told: Vec<Rule> = workable.rules.iter().map(|it| it.rule).collect();
    let rules = [
        Rule::WholePlants,
        Rule::Multiples,
        Rule::Least,
        Rule::JobCost,
        Rule::MostJobs,
    ];
    assert_eq!(told, rules);
    let sum: f64 = workable.rules.iter().map(|it| it.cost).sum();
    assert!(
        (sum - workable.cost_of_whole).abs() <= 1e-3 * linear.profit,
        "{sum}"
    );
}

/// Without time there is still a plan: the linear one rounded down, rules kept.
#[test]
fn a_search_without_time_leaves_a_rounded_plan() {
    let case = ruled();
    let linear = planned(&case);
    let options = WorkableOptions {
        time_limit_s: Some(0.0),
        ..WorkableOptions::default()
    };
    let workable = workable(&case, &linear, &options).unwrap().unwrap();
    let plan = &workable.plan;
    assert_ne!(workable.found, Found::Best);
    let jobs = recount_jobs(&case, plan, 12).expect("rules are kept");
    close(
        (recount(&case, plan).expect("it adds up") - jobs) / plan.profit,
        1.0,
    );
    assert!(workable.cost_of_whole > 0.0);
    assert!(plan.profit > 0.0, "rounding down lost everything");
}

#[test]
fn a_plan_without_near_weeks_is_the_linear_one() {
    let mut case = ruled();
    case.whole_weeks = Some(0);
    let linear = planned(&case);
    let workable = whole(&case);
    close(workable.plan.profit / linear.profit, 1.0);
    assert_eq!(workable.plan.prices, linear.prices);
}

#[test]
fn a_stopped_run_has_no_plan() {
    let case = ruled();
    let linear = planned(&case);
    let options = WorkableOptions {
        stop: Some(std::sync::Arc::new(true.into())),
        ..WorkableOptions::default()
    };
    assert_eq!(workable(&case, &linear, &options).unwrap(), None);
}

#[test]
fn old_cases_ask_for_nothing_whole() {
    let case = frozen("plan-small");
    assert!(!case.asks_for_whole());
    assert!(ruled().asks_for_whole());
    let text = serde_json::to_string(&case).unwrap();
    for key in [
        "whole_weeks",
        "at_least",
        "multiple_of",
        "cost_per_job",
        "blocks",
        "most_jobs",
    ] {
        assert!(!text.contains(key), "{key}");
    }
}
