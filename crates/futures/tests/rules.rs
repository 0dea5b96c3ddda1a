//! Each rule of the model in a case small enough to do by hand: ten degree-days a week, no spread, no
//! deaths, so that every future is the same. Weeks and plants are exact.

mod parts;

use barkslip_futures::case::Case;
use barkslip_futures::{Driver, LineOdds, Summary};
use parts::{WEEKS, case, drawn, ready};
use serde_json::{Value, json};

fn futures(case: &Case, futures: u32) -> Summary {
    drawn(case, futures, 3)
}

fn run(parts: Value) -> Summary {
    futures(&case(parts), 1)
}

/// Ready seedlings left at the end of weeks 4 and 17.
fn free(summary: &Summary, stage: &str) -> (u32, u32) {
    assert_eq!(summary.weeks, [4, 17]);
    let free = &summary.free[stage];
    (free.mean[0] as u32, free.mean[1] as u32)
}

fn standing(ready: &Value) -> Value {
    json!([{"id": "L", "stage": "seedling", "immature": 0, "ready": ready}])
}

fn sow(week: i32, plants: u32) -> Value {
    json!({"operation": "sow", "moves_to": "seedling", "week": week, "late_until": week, "plants": plants})
}

fn line_out(plants: Option<u32>, week: i32, late_until: i32) -> Value {
    json!({"operation": format!("line out {plants:?}"), "takes_from": "seedling", "moves_to": "liner",
        "week": week, "late_until": late_until, "plants": plants})
}

fn order(id: &str, plants: u32, weeks: [i32; 3]) -> Value {
    json!({"id": id, "accepts": ["seedling"], "plants": plants,
        "earliest": weeks[0], "due": weeks[1], "latest": weeks[2]})
}

fn with(mut item: Value, key: &str, value: impl Into<Value>) -> Value {
    item[key] = value.into();
    item
}

/// Whether a line is on time, complete by its latest week, and how many plants it lacks.
fn came_to(line: &LineOdds) -> (bool, bool, u32) {
    (
        line.on_time > 0.5,
        line.by_latest > 0.5,
        line.mean_short as u32,
    )
}

#[test]
fn a_lot_grows_from_the_week_after_its_operation() {
    let summary = run(json!({"operations": [sow(0, 100), sow(5, 7)]}));
    assert_eq!(ready(&summary, "seedling"), [(3, 100), (8, 7)]);
}

#[test]
fn standing_plants_have_their_degree_days_behind_them() {
    let lot = |id: &str, plants: u32, degree_days: f64| json!({"id": id, "stage": "seedling", "immature": plants, "degree_days_so_far": degree_days});
    let lots = json!([
        lot("new", 1, 0.0),
        lot("half", 2, 15.0),
        lot("nearly", 4, 20.0),
        lot("overdue", 8, 75.0)
    ]);
    assert_eq!(
        ready(&run(json!({"lots": lots})), "seedling"),
        [(0, 12), (1, 2), (2, 1)]
    );
}

#[test]
fn a_stage_grows_in_its_climate() {
    let mut case = case(json!({"operations": [sow(0, 5)]}));
    case.paths[0]
        .climates
        .insert("house".to_owned(), vec![15.0; WEEKS + 10]);
    case.phases
        .get_mut("seedling")
        .expect("it is there")
        .climate = "house".to_owned();
    assert_eq!(ready(&futures(&case, 1), "seedling"), [(2, 5)]);
}

#[test]
fn a_split_sends_the_rest_to_the_other_stage() {
    for (share, own, otherwise) in [(1.0, vec![(3, 9)], vec![]), (0.0, vec![], vec![(3, 9)])] {
        let mut case = case(json!({"operations": [sow(0, 9)]}));
        case.phases.get_mut("seedling").expect("it is there").split =
            serde_json::from_value(json!({"share": share, "rho": 0.1, "otherwise": "missed"}))
                .expect("a split");
        let summary = futures(&case, 1);
        assert_eq!(
            (ready(&summary, "seedling"), ready(&summary, "missed")),
            (own, otherwise)
        );
    }
}

#[test]
fn plants_over_age_are_discarded() {
    // Ready in week 3, limit 2: there in week 5, gone in week 6.
    let last = |limits: Value, from: i32| {
        let summary = run(
            json!({"operations": [sow(0, 10)], "over_age_after_weeks": {"seedling": limits},
            "orders": [order("A", 10, [from, from, from])]}),
        );
        came_to(&summary.orders["A"])
    };
    assert_eq!(last(json!(2), 5), (true, true, 0));
    assert_eq!(last(json!(2), 6), (false, false, 10));
    // The limit of the week they became ready counts, whatever comes later.
    let mut limits = vec![0; WEEKS];
    limits[3] = 4;
    assert_eq!(last(json!(limits), 7), (true, true, 0));
    assert_eq!(last(json!(limits), 8), (false, false, 10));
    assert_eq!(last(json!(0), 3), (true, true, 0));
    assert_eq!(last(json!(0), 4), (false, false, 10));
}

#[test]
fn standing_plants_have_the_limit_of_week_0() {
    let last = |week: i32| {
        let mut limits = vec![9; WEEKS];
        limits[0] = 3;
        let summary = run(json!({"lots": standing(&json!([[9, 1], [2, 2], [0, 4]])),
            "over_age_after_weeks": {"seedling": limits}, "orders": [order("A", 7, [week, week, week])]}));
        came_to(&summary.orders["A"]).2
    };
    // Age 9 is too old at once; age 2 since week −2, so until week 1; age 0 until week 3.
    assert_eq!([0, 1, 2, 3, 4].map(last), [1, 1, 3, 3, 7]);
}

#[test]
fn losses_thin_ready_plants_of_earlier_weeks_only() {
    let lost_in = |week: u32| {
        let losses = json!([{"week": week, "stages": ["seedling"], "fraction": 1.0}]);
        let mut case =
            case(json!({"lots": standing(&json!([[0, 50]])), "operations": [sow(0, 9)]}));
        case.paths[0].losses = serde_json::from_value(losses).expect("losses");
        let summary = futures(&case, 1);
        (ready(&summary, "seedling"), free(&summary, "seedling"))
    };
    assert_eq!(
        lost_in(0),
        (vec![(3, 9)], (9, 9)),
        "those standing at the start are of earlier weeks"
    );
    assert_eq!(lost_in(2), (vec![], (0, 0)), "growing plants are lost too");
    assert_eq!(lost_in(3), (vec![], (0, 0)), "and before they become ready");
    assert_eq!(lost_in(4), (vec![(3, 9)], (0, 0)));
    assert_eq!(lost_in(5), (vec![(3, 9)], (59, 0)));
    assert_eq!(lost_in(19), (vec![(3, 9)], (59, 59)));
}

#[test]
fn losses_of_one_week_combine() {
    let loss = |fraction: f64| json!({"week": 1, "stages": ["seedling", "seedling"], "fraction": fraction});
    let mut case = case(json!({"lots": standing(&json!([[0, 1_000]]))}));
    case.paths[0].losses = serde_json::from_value(json!([loss(0.5), loss(0.4)])).expect("losses");
    let mean = futures(&case, 400).free["seedling"].mean[0];
    assert!(
        (mean - 300.0).abs() < 4.0 * (1_000.0 * 0.3 * 0.7f64).sqrt() / 20.0,
        "{mean}"
    );
}

#[test]
fn lines_take_by_priority_then_due_then_the_bytes_of_their_names() {
    let orders = json!([
        order("a", 10, [0, 5, 9]),
        order("Z", 10, [0, 5, 9]),
        order("sooner", 10, [0, 4, 9]),
        with(order("first", 10, [0, 9, 9]), "priority", -1),
        order("Z10", 10, [0, 5, 9]),
        order("Z9", 10, [0, 5, 9]),
    ]);
    let lacks = |plants: u32| {
        let summary = run(json!({"lots": standing(&json!([[0, plants]])), "orders": orders}));
        ["first", "sooner", "Z", "Z10", "Z9", "a"].map(|id| came_to(&summary.orders[id]).2)
    };
    assert_eq!(lacks(15), [0, 5, 10, 10, 10, 10]);
    assert_eq!(lacks(36), [0, 0, 0, 4, 10, 10]);
    assert_eq!(lacks(57), [0, 0, 0, 0, 0, 3]);
}

#[test]
fn lines_take_in_their_weeks_and_are_late_after_their_due_week() {
    let at = |weeks: [i32; 3]| {
        let summary = run(json!({"operations": [sow(0, 10)], "orders": [order("A", 10, weeks)]}));
        let line = &summary.orders["A"];
        (came_to(line), line.week.p50, line.driver)
    };
    assert_eq!(at([0, 3, 9]), ((true, true, 0), Some(3), Driver::None));
    assert_eq!(at([0, 2, 3]), ((false, true, 0), Some(3), Driver::TooLate));
    assert_eq!(
        at([0, 1, 2]),
        ((false, false, 10), None, Driver::TooFewPlants)
    );
    assert_eq!(at([6, 7, 8]), ((true, true, 0), Some(6), Driver::None));
    assert_eq!(
        at([-5, -2, 4]),
        ((false, true, 0), Some(3), Driver::TooLate)
    );
    assert_eq!(
        at([-5, -4, -3]),
        ((false, false, 10), None, Driver::TooFewPlants)
    );
    assert_eq!(at([3, 40, 50]), ((true, true, 0), Some(3), Driver::None));
    assert_eq!(
        at([30, 40, 50]),
        ((false, false, 10), None, Driver::TooFewPlants)
    );
}

#[test]
fn lines_take_from_their_stages_in_order_and_the_oldest_first() {
    let lots = json!([
        {"id": "A", "stage": "seedling", "immature": 0, "ready": [[0, 6], [5, 4]]},
        {"id": "B", "stage": "liner", "immature": 0, "ready": [[0, 8]]},
    ]);
    let line = with(
        order("A", 12, [0, 0, 0]),
        "accepts",
        json!(["liner", "seedling"]),
    );
    // Of the ten seedlings the four old ones go; the limit then takes nothing before week 11.
    let limits = json!({"seedling": 6});
    let summary = run(json!({"lots": lots, "orders": [line], "over_age_after_weeks": limits}));
    assert_eq!(
        (free(&summary, "seedling"), free(&summary, "liner")),
        ((6, 0), (0, 0))
    );
    let around = summary.orders["A"].when_on_time.expect("it is on time");
    assert!(
        (around.arrived_by_due - 18.0).abs() < 1e-9
            && (around.degree_days_by_due - 10.0).abs() < 1e-9
    );
}

#[test]
fn a_line_within_its_tolerance_is_complete_and_takes_nothing_more() {
    let short_by = |ready: u32, tolerance: f64| {
        let line = with(order("A", 100, [0, 9, 9]), "tolerance", tolerance);
        let summary = run(
            json!({"lots": standing(&json!([[0, ready]])), "operations": [sow(0, 50)], "orders": [line]}),
        );
        let line = &summary.orders["A"];
        (came_to(line), line.week.p50, free(&summary, "seedling").0)
    };
    assert_eq!(short_by(97, 0.03), ((true, true, 0), Some(0), 50));
    assert_eq!(short_by(96, 0.03), ((true, true, 0), Some(3), 46));
    assert_eq!(
        short_by(71, 0.29),
        ((true, true, 0), Some(0), 50),
        "0.29·100 is 29"
    );
    assert_eq!(short_by(100, 0.03), ((true, true, 0), Some(0), 50));
    let lots = json!([
        {"id": "A", "stage": "seedling", "immature": 0, "ready": [[0, 98]]},
        {"id": "B", "stage": "liner", "immature": 0, "ready": [[0, 10]]},
    ]);
    let line = with(
        with(order("A", 100, [0, 9, 9]), "tolerance", 0.03),
        "accepts",
        json!(["seedling", "liner"]),
    );
    assert_eq!(
        free(&run(json!({"lots": lots, "orders": [line]})), "liner"),
        (10, 10)
    );
}

#[test]
fn a_line_that_is_not_kept_asks_for_nothing() {
    let line = with(order("A", 10, [0, 9, 9]), "kept", 0.0);
    let summary = run(json!({"lots": standing(&json!([[0, 10]])), "orders": [line]}));
    assert_eq!(
        (summary.orders["A"].kept, free(&summary, "seedling").0),
        (0, 10)
    );
    let line = with(order("A", 10, [0, 9, 9]), "kept", 0.25);
    let summary = futures(
        &case(json!({"lots": standing(&json!([[0, 10]])), "orders": [line]})),
        4_000,
    );
    let kept = summary.orders["A"].kept;
    assert!(kept.abs_diff(1_000) < 120, "{kept}");
    assert!((summary.orders["A"].on_time - 1.0).abs() < 1e-12);
    assert!(
        (summary.free["seedling"].mean[0] - 10.0 * f64::from(4_000 - kept) / 4_000.0).abs() < 1e-9
    );
}

#[test]
fn operations_take_what_is_left_after_the_lines_in_their_order() {
    let operations = json!([line_out(Some(30), 0, 0), line_out(Some(40), 0, 0)]);
    let summary = run(
        json!({"lots": standing(&json!([[0, 100]])), "operations": operations,
        "orders": [order("A", 45, [0, 0, 0])]}),
    );
    // 55 are left; 30 and 25 of 40. Liners of both operations are ready five weeks on.
    assert_eq!(ready(&summary, "liner"), [(5, 55)]);
    assert_eq!(free(&summary, "seedling"), (0, 0));
}

#[test]
fn what_an_operation_lacks_is_done_late_but_not_too_late() {
    let done = |late_until: i32| {
        let operations = json!([sow(0, 50), sow(1, 50), line_out(Some(120), 1, late_until)]);
        ready(
            &run(json!({"lots": standing(&json!([[0, 60]])), "operations": operations})),
            "liner",
        )
    };
    assert_eq!(done(1), [(6, 60)]);
    assert_eq!(done(3), [(6, 60), (8, 50)]);
    assert_eq!(done(9), [(6, 60), (8, 50), (9, 10)]);
    assert_eq!(done(90), done(9));
    let slipped = json!([line_out(Some(20), -3, 0), line_out(Some(30), -3, -1)]);
    let summary = run(json!({"lots": standing(&json!([[0, 60]])), "operations": slipped}));
    assert_eq!(ready(&summary, "liner"), [(5, 20)]);
}

#[test]
fn an_operation_without_a_number_takes_all_there_are() {
    let operations = json!([sow(0, 50), sow(1, 40), line_out(None, 0, 3)]);
    let summary = run(json!({"lots": standing(&json!([[0, 60]])), "operations": operations}));
    assert_eq!(ready(&summary, "liner"), [(5, 60), (8, 50)]);
    assert_eq!(free(&summary, "seedling"), (40, 40));
}

#[test]
fn crews_and_windows_limit_operations() {
    let work = |plants: u32, late_until: i32| {
        let work = line_out(Some(plants), 0, late_until);
        with(with(work, "crew", "budders"), "hours_per_plant", 0.1)
    };
    let run = |hours: Value, shares: Option<Vec<f64>>, operations: Vec<Value>| {
        let operations: Vec<Value> = operations
            .into_iter()
            .map(|work| {
                if shares.is_some() {
                    with(work, "window", "bark")
                } else {
                    work
                }
            })
            .collect();
        let mut case = case(
            json!({"lots": standing(&json!([[0, 100]])), "operations": operations,
            "crews": [{"id": "budders", "hours_per_week": hours}]}),
        );
        case.paths[0]
            .windows
            .extend(shares.map(|shares| ("bark".to_owned(), shares)));
        ready(&futures(&case, 1), "liner")
    };
    // 0.3 h at 0.1 h each are three plants, whatever the last bits say.
    assert_eq!(
        run(json!(0.3), None, vec![work(8, 5)]),
        [(5, 3), (6, 3), (7, 2)]
    );
    assert_eq!(
        run(json!(0.7), None, vec![work(5, 0), work(5, 0)]),
        [(5, 7)]
    );
    let mut hours = vec![0.0; WEEKS];
    hours[1] = 0.4;
    assert_eq!(run(json!(hours), None, vec![work(9, 9)]), [(6, 4)]);
    let mut shares = vec![0.0; WEEKS];
    (shares[1], shares[2]) = (0.5, 1.0);
    // In week 1 each is limited to half of the crew's hours, both together to all of them.
    assert_eq!(
        run(
            json!(1.0),
            Some(shares.clone()),
            vec![work(8, 1), work(8, 1)]
        ),
        [(6, 10)]
    );
    assert_eq!(
        run(json!(1.0), Some(shares.clone()), vec![work(20, 9)]),
        [(6, 5), (7, 10)]
    );
    // Work that no hours limit waits for its window all the same.
    assert_eq!(
        run(json!(1.0), Some(shares), vec![line_out(Some(60), 0, 9)]),
        [(6, 60)]
    );
}

#[test]
fn lots_of_a_group_share_their_luck() {
    let sd = |groups: [Option<&str>; 2]| {
        let lot = |id: &str, group| json!({"id": id, "stage": "seedling", "immature": 1_000, "group": group});
        let mut case = case(json!({"lots": [lot("A", groups[0]), lot("B", groups[1])]}));
        let phase = case.phases.get_mut("seedling").expect("it is there");
        (phase.survival, phase.shared_sd) = (0.5, 1.0);
        futures(&case, 4_000).free["seedling"].sd[0]
    };
    // One z for both doubles what they have in common; √(4/2) against two z; hardly any without.
    let (same, apart, none) = (
        sd([Some("x"), Some("x")]),
        sd([Some("x"), Some("y")]),
        sd([None, None]),
    );
    assert!(
        (same / apart - 2f64.sqrt()).abs() < 0.07,
        "{same} and {apart}"
    );
    assert!((none - 500f64.sqrt()).abs() < 1.5, "{none}");
}

#[test]
fn paths_are_equally_likely() {
    let mut case = case(json!({"operations": [sow(0, 1)]}));
    let mut cold = case.paths[0].clone();
    cold.climates.insert("open".to_owned(), vec![0.0; WEEKS]);
    case.paths.extend([cold.clone(), cold.clone(), cold]);
    let mean = futures(&case, 4_000).free["seedling"].mean[0];
    assert!(
        (mean - 0.25).abs() < 4.0 * 0.433 / 4_000f64.sqrt(),
        "{mean}"
    );
}
