//! Random tiny seasons: a plan always exists, adds up, and earns what it says.

use planner::case::Block;
use planner::workable::Found;
use planner::{Case, Why};
use proptest::collection::vec;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::recount::{recount, recount_jobs};
use crate::{close, planned, whole};

const WEEKS: usize = 8;

prop_compose! {
    fn stage(id: &'static str)(
        place in prop::sample::select(vec!["row", "bench"]),
        area in 0.0..1.0,
        keeps in 0..5_i64,
        falls in any::<bool>(),
        wait in 0.0..0.2,
        discard in -0.5..1.0,
        end in 0.0..3.0,
    ) -> Value {
        let by_week: Vec<i64> = (0..8).map(|week| (keeps - week).max(0)).collect();
        let keeps = if falls { json!(by_week) } else { json!(keeps) };
        json!({"id": id, "place": place, "area_m2_per_plant": area, "over_age_after_weeks": keeps,
            "wait_cost_per_plant_week": wait, "discard_cost_per_plant": discard,
            "end_value_per_plant": end})
    }
}

prop_compose! {
    fn starts(other: Option<&'static str>)(
        all in vec((0..WEEKS, vec((1..6_usize, 0.0..0.3, any::<bool>()), 0..4)), 1..6),
    ) -> Value {
        let mut listed = std::collections::BTreeMap::new();
        for (week, ready) in all {
            let rows: Vec<Value> = ready.into_iter().map(|(after, share, aside)| match other {
                Some(other) if aside => json!([after, share, other]),
                _ => json!([after, share]),
            }).collect();
            listed.insert(week, rows);
        }
        let rows = listed.into_iter().map(|(week, rows)| json!({"week": week, "ready_after": rows}));
        Value::Array(rows.collect())
    }
}

prop_compose! {
    fn operation(id: &'static str, from: Option<&'static str>, to: &'static str, other: Option<&'static str>)(
        starts in starts(other),
        hours in 0.0..0.2,
        later in 0..4_usize,
        units in 0.5..1.5,
        cost in 0.01..2.0,
    ) -> Value {
        json!({"id": id, "takes_from": from, "moves_to": to, "cost_per_plant": cost, "starts": starts,
            "hours": [[0, "budders", hours], [later, "general", hours]],
            "uses": [{"supply": "buds", "per_plant": units}]})
    }
}

prop_compose! {
    fn order(id: usize)(
        stages in prop::sample::subsequence(vec!["budded", "tree"], 1..=2),
        price in 1.0..30.0,
        plants in 0.0..30.0,
        weeks in (-2..9_i64, 0..4_i64, 0..4_i64),
        late in 0.0..2.0,
        short in 0.0..9.0,
    ) -> Value {
        let (earliest, due, latest) = (weeks.0, weeks.0 + weeks.1, weeks.0 + weeks.1 + weeks.2);
        let accepts: Vec<Value> =
            stages.iter().map(|it| json!({"stage": it, "price": price})).collect();
        json!({"id": format!("O{id}"), "accepts": accepts, "plants": plants, "earliest": earliest,
            "due": due, "latest": latest, "late_cost_per_plant_week": late,
            "short_cost_per_plant": short})
    }
}

prop_compose! {
    fn season()(
        stages in (stage("liner"), stage("missed"), stage("budded"), stage("tree")),
        operations in (
            operation("sow", None, "liner", None),
            operation("bud", Some("liner"), "budded", Some("missed")),
            operation("bud again", Some("missed"), "budded", None),
            operation("pot", Some("budded"), "tree", None),
        ),
        orders in (order(0), order(1), order(2)),
        hours in (0.0..3.0, 0.0..3.0, 0.0..2.0),
        area in (vec(0.0..20.0, WEEKS), 0.0..20.0),
        batch in (-2..8_i64, 0..12_i64, 0.0..60.0),
        standing in vec((0..WEEKS + 3, 0.0..40.0), 0..4),
        growing in vec((0..WEEKS + 3, 0.0..20.0), 0..4),
    ) -> Case {
        let json = json!({
            "format": 2, "weeks": WEEKS,
            "places": [
                {"id": "row", "area_m2": area.0, "excess_cost_per_m2_week": 2},
                {"id": "bench", "area_m2": area.1, "excess_cost_per_m2_week": 0.5}],
            "crews": [
                {"id": "budders", "hours_per_week": hours.0, "extra_hours_per_week": hours.2,
                 "extra_cost_per_hour": 20, "may_do": ["general"]},
                {"id": "general", "hours_per_week": hours.1}],
            "supplies": [{"id": "buds", "buy_price": 0.4, "buy_limit_per_week": 7, "batches": [
                {"from": batch.0, "to": batch.0 + batch.1, "amount": batch.2},
                {"from": 0, "to": 3, "amount": 10}]}],
            "stages": [stages.0, stages.1, stages.2, stages.3],
            "operations": [operations.0, operations.1, operations.2, operations.3],
            "standing": [{"stage": "liner", "arrivals": standing, "immature": growing}],
            "orders": [orders.0, orders.1, orders.2],
        });
        serde_json::from_value(json).expect("a case")
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_profit_is_what_the_plan_adds_up_to(case in season()) {
        prop_assert_eq!(case.validate(), []);
        let plan = planned(&case);
        let counted = recount(&case, &plan).map_err(TestCaseError::fail)?;
        close(counted, plan.profit);
        close(plan.money.profit(), plan.profit);
        prop_assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
        for line in &plan.short {
            prop_assert!(line.why.to_string().ends_with('.'));
            if let Why::Scarce { cost, worth, .. } | Why::DoesNotPay { cost, worth } = line.why {
                prop_assert!(cost.is_finite() && cost >= worth - 1e-6 * worth.abs().max(1.0), "{}", line.why);
            }
        }
    }

    #[test]
    fn a_workable_plan_keeps_its_rules_and_what_it_says(case in season(), rules in rules()) {
        let case = with_rules(case, &rules);
        prop_assert_eq!(case.validate(), []);
        let linear = planned(&case);
        let workable = whole(&case);
        let plan = &workable.plan;
        let jobs = recount_jobs(&case, plan, workable.whole_weeks).map_err(TestCaseError::fail)?;
        let counted = recount(&case, plan).map_err(TestCaseError::fail)?;
        close(counted - jobs, plan.profit);
        close(plan.money.jobs, jobs);
        close(plan.money.profit(), plan.profit);
        close(workable.cost_of_whole, linear.profit - plan.profit);
        prop_assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
        prop_assert!(plan.profit <= workable.bound + 1e-6);
        prop_assert!(workable.bound <= linear.profit + 1e-6 * linear.profit.abs().max(1.0));
        prop_assert_eq!(workable.found, Found::Best);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    /// What is held is there, and owed to no line of the reserve.
    #[test]
    fn reserves_hold_what_is_left_of_their_lines(case in season(), all in vec(reserve(), 1..3)) {
        let case = with_reserves(case, all);
        prop_assert_eq!(case.validate(), []);
        let plan = planned(&case);
        let counted = recount(&case, &plan).map_err(TestCaseError::fail)?;
        close(counted + plan.money.reserves, plan.profit);
        prop_assert!(plan.checks.worst() <= 1e-6, "{:?}", plan.checks);
        for reserve in &plan.reserves {
            prop_assert!(reserve.held <= reserve.left.max(0.0) + 1e-6, "{:?}", reserve);
        }
        for line in &plan.short {
            if let Why::Scarce { cost, worth, .. } | Why::DoesNotPay { cost, worth } = line.why {
                prop_assert!(cost.is_finite() && cost >= worth - 1e-6 * worth.abs().max(1.0), "{}", line.why);
            }
        }
    }
}

prop_compose! {
    fn reserve()(
        stages in prop::sample::subsequence(vec!["budded", "tree"], 1..=2),
        orders in prop::sample::subsequence(vec!["O0", "O1", "O2"], 1..=2),
        week in 0..WEEKS,
        steps in (0.0..20.0, 0.0..20.0, 1.0..15.0, 0.0..1.0),
    ) -> Value {
        let (first, next, worth, share) = steps;
        json!({"stages": stages, "orders": orders, "week": week, "steps": [
            {"plants": first, "worth_per_plant": worth}, {"plants": next, "worth_per_plant": worth * share}]})
    }
}

fn with_reserves(mut case: Case, all: Vec<Value>) -> Case {
    let named = all.into_iter().enumerate().map(|(at, mut reserve)| {
        reserve["id"] = json!(format!("R{at}"));
        serde_json::from_value(reserve).expect("a reserve")
    });
    case.reserves = named.collect();
    case
}

/// By operation: least, multiple and cost of a job; then whole weeks, most jobs and a block.
type RulesOfCase = (
    Vec<(u8, u8, f64)>,
    usize,
    Option<u8>,
    (usize, usize, f64, f64),
);

fn rules() -> impl Strategy<Value = RulesOfCase> {
    (
        vec((0..9_u8, 1..5_u8, 0.0..3.0), 4),
        0..WEEKS + 2,
        prop::option::of(1..4_u8),
        (0..WEEKS, 1..4_usize, 0.0..3.0, 0.0..30.0),
    )
}

fn with_rules(mut case: Case, rules: &RulesOfCase) -> Case {
    for (operation, &(least, multiple, cost)) in case.operations.iter_mut().zip(&rules.0) {
        operation.at_least = Some(f64::from(least));
        operation.multiple_of = Some(f64::from(multiple));
        operation.cost_per_job = cost;
    }
    case.whole_weeks = Some(rules.1);
    case.most_jobs_per_week = rules.2.map(f64::from);
    let (from, weeks, hours_per_week, cost) = rules.3;
    case.crews[1].blocks = vec![Block {
        from: from as i64,
        weeks,
        hours_per_week,
        cost,
    }];
    case
}
