//! Luck by several labels, what is known of a lot, perils, remedies and least loads: by hand where
//! nothing is left to chance, against the distributions they stand for where something is.

mod parts;

use barkslip_futures::case::Case;
use barkslip_futures::{Options, Summary};
use parts::{WEEKS, case, drawn};
use serde_json::{Value, json};

fn futures(case: &Case, futures: u32) -> Summary {
    drawn(case, futures, 5)
}

/// Weeks in which plants become ready, and how many on average.
fn arrivals<'a>(summary: &'a Summary, stage: &str) -> &'a [f64] {
    &summary.arrivals.as_ref().expect("they were asked for")[stage]
}

/// Weeks in which plants become ready, and how many, where all futures are the same.
fn ready(parts: Value, stage: &str) -> Vec<(usize, u32)> {
    parts::ready(&futures(&case(parts), 1), stage)
}

fn growing(id: &str, plants: u32) -> Value {
    json!({"id": id, "stage": "seedling", "immature": plants})
}

fn standing(id: &str, stage: &str, plants: u32) -> Value {
    json!({"id": id, "stage": stage, "immature": 0, "ready": [[0, plants]]})
}

fn with(mut item: Value, key: &str, value: impl Into<Value>) -> Value {
    item[key] = value.into();
    item
}

fn peril(from: usize, until: usize, chance: f64, fraction: f64) -> Value {
    json!({"id": "hail", "stages": ["seedling", "seedling"], "from": from, "until": until,
        "chance": chance, "fraction": fraction})
}

/// Values of two samples or laws are no further apart than four standard errors.
fn near(found: f64, expected: f64, error: f64) {
    assert!(
        (found - expected).abs() <= 4.0 * error,
        "{found} is not {expected} ± {error}"
    );
}

#[test]
fn a_peril_takes_plants_as_a_loss_of_its_week_does() {
    let sowing = json!([{"operation": "sow", "moves_to": "seedling", "week": 0, "late_until": 0, "plants": 9}]);
    for week in 0..WEEKS {
        let perils = json!([peril(week, week, 1.0, 1.0)]);
        let losses = json!([{"week": week, "stages": ["seedling"], "fraction": 1.0}]);
        let base = json!({"lots": [standing("S", "seedling", 50), standing("T", "liner", 7)], "operations": sowing});
        let by_peril = futures(&case(with(base.clone(), "perils", perils)), 1);
        let mut by_path = case(base);
        by_path.paths[0].losses = serde_json::from_value(losses).expect("losses");
        assert_eq!(by_peril, futures(&by_path, 1), "week {week}");
    }
    // From week 0: lost before the first week's plants are ready; from week 4: 9 + 50 at its start.
    let left = |week: usize| {
        let parts = json!({"lots": [standing("S", "seedling", 50)], "operations": sowing,
            "perils": [peril(week, week, 1.0, 1.0)]});
        let free = futures(&case(parts), 1).free["seedling"].mean.clone();
        (free[0] as u32, free[1] as u32)
    };
    assert_eq!(
        [0, 2, 4, 5, 19].map(left),
        [(9, 9), (0, 0), (0, 0), (59, 0), (59, 59)]
    );
}

#[test]
fn a_peril_and_the_losses_of_the_path_combine() {
    let mut case = case(json!({"lots": [standing("S", "seedling", 1_000)],
        "perils": [peril(1, 1, 1.0, 0.5), with(peril(1, 1, 1.0, 0.2), "id", "rats")]}));
    let losses = json!([{"week": 1, "stages": ["seedling"], "fraction": 0.25}]);
    case.paths[0].losses = serde_json::from_value(losses).expect("losses");
    let free = &futures(&case, 400).free["seedling"];
    near(free.mean[0], 300.0, (1_000.0 * 0.3 * 0.7f64).sqrt() / 20.0);
    near(free.sd[0], 210f64.sqrt(), 210f64.sqrt() / 800f64.sqrt());
}

#[test]
fn a_peril_comes_with_its_chance_evenly_in_its_weeks() {
    const DRAWS: u32 = 20_000;
    // Ready in week 3, and gone where the peril comes in week 1, 2 or 3 of the weeks 1 to 10.
    let parts = json!({"lots": [growing("A", 1)], "perils": [peril(1, 10, 0.6, 1.0)]});
    // Standing lots have week 0 behind them at its end, so 30 degree-days end with week 2.
    let summary = futures(&case(parts), DRAWS);
    let share = |p: f64| (p * (1.0 - p) / f64::from(DRAWS)).sqrt();
    near(
        arrivals(&summary, "seedling")[2],
        1.0 - 0.6 * 0.2,
        share(0.12),
    );
    let free = &summary.free["seedling"];
    near(free.mean[0], 1.0 - 0.6 * 0.4, share(0.24));
    near(free.mean[1], 1.0 - 0.6, share(0.4));
    // Half of its weeks lie beyond the last one.
    let parts =
        json!({"lots": [standing("A", "seedling", 1)], "perils": [peril(10, 29, 1.0, 1.0)]});
    let free = &futures(&case(parts), DRAWS).free["seedling"];
    near(free.mean[1], 1.0 - 8.0 / 20.0, share(0.4));
}

#[test]
fn perils_of_one_future_do_not_stay_for_the_next() {
    let parts = json!({"lots": [growing("A", 50)], "perils": [peril(0, 19, 0.5, 1.0)]});
    let case = case(parts);
    let engine = barkslip_futures::Engine::try_new(&case).expect("the case is valid");
    let options = Options {
        keep_arrivals: true,
        ..Options::default()
    };
    let tally = |which| {
        engine
            .tally(which, &options, None, None)
            .expect("it is not canceled")
    };
    let mut one_by_one = tally(0..0);
    (0..40).for_each(|future| one_by_one.merge(&tally(future..future + 1)));
    assert_eq!(one_by_one, tally(0..40));
}

/// A job that wants 100 of 60 seedlings and lacks 40, and one that makes up for it.
fn remedy(remedy: Value) -> Vec<Value> {
    let job = json!({"operation": "line out", "takes_from": "seedling", "moves_to": "liner",
        "week": 0, "late_until": 1, "plants": 100});
    let sow = json!({"operation": "sow again", "moves_to": "seedling", "week": 2, "late_until": 9,
        "makes_up_for": [{"operation": "line out", "week": 0}]});
    let Value::Object(parts) = remedy else {
        panic!("parts are an object")
    };
    vec![
        job,
        parts
            .into_iter()
            .fold(sow, |sow, (key, value)| with(sow, &key, value)),
    ]
}

#[test]
fn a_remedy_does_what_others_lack() {
    let lots = |plants: u32| json!([standing("S", "seedling", plants)]);
    let sown = |plants: u32, parts: Value| {
        ready(
            json!({"lots": lots(plants), "operations": remedy(parts)}),
            "seedling",
        )
    };
    assert_eq!(sown(60, json!({})), [(5, 40)]);
    assert_eq!(sown(100, json!({})), [], "nothing is lacking");
    assert_eq!(sown(60, json!({"times": 1.5})), [(5, 60)]);
    assert_eq!(
        sown(61, json!({"times": 1.5})),
        [(5, 59)],
        "58.5 is rounded up"
    );
    assert_eq!(sown(90, json!({"times": 1.1})), [(5, 11)], "1.1·10 is 11");
    assert_eq!(sown(60, json!({"plants": 25})), [(5, 25)]);
    assert_eq!(sown(60, json!({"plants": 70})), [(5, 40)]);
    assert_eq!(sown(60, json!({"times": 0})), []);
    let twice = json!([{"operation": "line out", "week": 0}, {"operation": "line out", "week": 0}]);
    assert_eq!(sown(60, json!({"makes_up_for": twice})), [(5, 40)]);
}

#[test]
fn a_remedy_goes_on_until_it_has_done_what_is_lacking() {
    let crew = json!({"crew": "all", "hours_per_plant": 1.0});
    let mut operations = remedy(crew);
    operations[1]["late_until"] = json!(4);
    let parts = |hours: f64| {
        json!({"lots": [standing("S", "seedling", 60)], "operations": operations,
        "crews": [{"id": "all", "hours_per_week": hours}]})
    };
    assert_eq!(ready(parts(15.0), "seedling"), [(5, 15), (6, 15), (7, 10)]);
    assert_eq!(ready(parts(12.0), "seedling"), [(5, 12), (6, 12), (7, 12)]);
}

#[test]
fn a_remedy_makes_up_for_all_of_a_name_and_for_other_remedies() {
    let name = |operation: &str, week: i32| json!({"operation": operation, "week": week});
    let sow = |id: &str, weeks: [i32; 2], plants: Value, names: Value| {
        json!({"operation": id,
        "moves_to": "seedling", "week": weeks[0], "late_until": weeks[1], "plants": plants,
        "makes_up_for": names, "crew": "all", "hours_per_plant": 1.0})
    };
    let sown = |operations: Value| {
        ready(
            json!({"operations": operations, "crews": [{"id": "all", "hours_per_week": 10.0}]}),
            "seedling",
        )
    };
    // Ten hours a week: of 30 and 20 in week 0 ten are done, 40 are lacking. The first remedy may do
    // 25 of them and does 10; it lacks 15, and the second does 10 of 15, then 5.
    let operations = json!([
        sow("second", [2, 9], json!(null), json!([name("first", 1)])),
        sow("first", [1, 1], json!(25), json!([name("sow", 0)])),
        sow("sow", [0, 0], json!(30), json!([])),
        sow("sow", [0, 0], json!(20), json!([])),
    ]);
    assert_eq!(sown(operations), [(3, 10), (4, 10), (5, 10), (6, 5)]);
    // Jobs that were over before week 0 lack all of their plants; so does a remedy for them.
    let operations = json!([
        sow("second", [-2, 9], json!(null), json!([name("first", -3)])),
        sow("first", [-3, -3], json!(25), json!([name("sow", -5)])),
        sow("sow", [-5, -4], json!(30), json!([])),
    ]);
    assert_eq!(sown(operations), [(3, 10), (4, 10), (5, 5)]);
}

#[test]
fn a_line_waits_for_its_least_load() {
    let short = |loads: Value, tolerance: f64| {
        let order = json!({"id": "A", "accepts": ["seedling", "seedling", "liner"], "plants": 50,
            "earliest": 0, "due": 9, "latest": 9, "minimum_load": loads, "tolerance": tolerance});
        let lots = json!([
            standing("S", "seedling", 10),
            standing("T", "liner", 4),
            growing("G", 6),
            with(growing("H", 45), "degree_days_so_far", 0.0)
        ]);
        // 14 plants are ready from the start, the growing ones in week 2.
        let mut case = case(json!({"lots": lots, "orders": [order]}));
        case.lots[3].stage = "liner".to_owned();
        let summary = futures(&case, 1);
        let line = &summary.orders["A"];
        (
            line.week.p50,
            line.mean_short as u32,
            summary.free["seedling"].mean[0] as u32,
        )
    };
    // 14 in week 0, 20 in week 2, 65 in week 4.
    assert_eq!(short(json!(0), 0.0), (Some(4), 0, 0));
    assert_eq!(short(json!(14), 0.0), (Some(4), 0, 0));
    assert_eq!(short(json!(14), 0.72), (Some(0), 0, 6));
    assert_eq!(
        short(json!(15), 0.72),
        (Some(2), 0, 0),
        "14 do not do; 16 of 20 are taken from week 2"
    );
    assert_eq!(
        short(json!(65), 0.0),
        (Some(4), 0, 0),
        "no more than it lacks is asked for"
    );
    assert_eq!(short(json!(15), 0.73), (Some(2), 0, 0));
}

#[test]
fn a_small_rest_is_taken_below_the_least_load() {
    // 48 of 50 go in week 0; the two that are lacking are fewer than any load.
    let order = json!({"id": "A", "accepts": ["seedling"], "plants": 50, "earliest": 0, "due": 9,
        "latest": 9, "minimum_load": 40});
    let rest = |plants: u32| {
        let lots = json!([standing("S", "seedling", 48), growing("G", plants)]);
        let line = &futures(&case(json!({"lots": lots, "orders": [order]})), 1).orders["A"];
        (line.week.p50, line.mean_short as u32)
    };
    assert_eq!(rest(2), (Some(2), 0));
    assert_eq!(rest(1), (None, 2), "one is less than the two it lacks");
}

/// The standard deviation of ready plants of two lots of a million, half of which survive.
fn spread(luck: [Value; 2], shared_sd: f64, groups: [Value; 2]) -> f64 {
    let lots: Vec<Value> = ["A", "B"]
        .into_iter()
        .zip(luck)
        .zip(groups)
        .map(|((id, luck), group)| with(with(growing(id, 1_000_000), "luck", luck), "group", group))
        .collect();
    let mut case = case(json!({"lots": lots}));
    let phase = case.phases.get_mut("seedling").expect("it is there");
    (phase.survival, phase.shared_sd) = (0.5, shared_sd);
    futures(&case, 4_000).free["seedling"].sd[0]
}

#[test]
fn luck_of_several_labels_adds_up() {
    // Near one half a logit's move of s moves s/4 of the plants, less its cube over 48.
    let plants = |sd: f64| 250_000.0 * sd;
    let error = |sd: f64| plants(sd) / 8_000f64.sqrt();
    let label = |group: &str, sd: f64| json!({"group": group, "sd": sd});
    let none = || json!(null);
    let sum = spread(
        [json!([label("x", 0.03), label("y", 0.04)]), json!([])],
        0.0,
        [none(), none()],
    );
    near(sum, plants(0.05), error(0.05));
    let with_group = spread(
        [json!([label("x", 0.03), label("y", 0.04)]), json!([])],
        0.12,
        [json!("z"), none()],
    );
    near(with_group, plants(0.13), error(0.13));
    // What two lots share adds up before it is squared; a label is the same as a group of its name.
    let both = || json!([label("x", 0.03)]);
    near(
        spread([both(), both()], 0.0, [none(), none()]),
        plants(0.06),
        error(0.06),
    );
    let apart = spread([both(), json!([label("y", 0.04)])], 0.0, [none(), none()]);
    near(apart, plants(0.05), error(0.05));
    let named = spread([both(), json!([])], 0.03, [none(), json!("x")]);
    near(named, plants(0.06), error(0.06));
    let against = spread([both(), json!([])], 0.04, [none(), json!("y")]);
    near(against, plants(0.05), error(0.05));
}

#[test]
fn an_operation_has_the_luck_of_its_labels() {
    let sow = json!({"operation": "sow", "moves_to": "seedling", "week": 0, "late_until": 0,
        "plants": 1_000_000, "luck": [{"group": "x", "sd": 0.05}]});
    let lot = with(
        growing("A", 1_000_000),
        "luck",
        json!([{"group": "x", "sd": 0.05}]),
    );
    let mut case = case(json!({"operations": [sow], "lots": [lot]}));
    case.phases
        .get_mut("seedling")
        .expect("it is there")
        .survival = 0.5;
    let sd = futures(&case, 4_000).free["seedling"].sd[0];
    near(sd, 25_000.0, 25_000.0 / 8_000f64.sqrt());
}

#[test]
fn labels_move_the_share_of_a_split() {
    let sow = json!({"operation": "sow", "moves_to": "seedling", "week": 0, "late_until": 0,
        "plants": 1_000_000, "luck": [{"group": "x", "sd": 0.05}]});
    let mut case = case(json!({"operations": [sow]}));
    case.phases.get_mut("seedling").expect("it is there").split =
        serde_json::from_value(json!({"share": 0.5, "otherwise": "liner"})).expect("a split");
    let sd = futures(&case, 4_000).free["seedling"].sd[0];
    near(sd, 12_500.0, 12_500.0 / 8_000f64.sqrt());
}

#[test]
fn a_known_pace_takes_the_place_of_the_phases() {
    let lot = |known: Value| with(growing("A", 100), "known", known);
    let weeks = |known: Value| ready(json!({"lots": [lot(known)]}), "seedling");
    assert_eq!(weeks(json!({})), [(2, 100)]);
    // 30 degree-days become 60, or 15.
    assert_eq!(weeks(json!({"pace": [libm::log(2.0), 0.0]})), [(5, 100)]);
    assert_eq!(weeks(json!({"pace": [-(libm::log(2.0)), 0.0]})), [(1, 100)]);
}

#[test]
fn a_known_pace_is_drawn_with_its_own_spread() {
    const DRAWS: u32 = 10_000;
    let mut case =
        case(json!({"lots": [with(growing("A", 1), "known", json!({"pace": [0.3, 0.25]}))]}));
    case.phases
        .get_mut("seedling")
        .expect("it is there")
        .between_lots = 0.9;
    let summary = futures(&case, DRAWS);
    let mut by_then = 0.0;
    for (week, plants) in arrivals(&summary, "seedling").iter().enumerate() {
        by_then += plants;
        let z = (libm::log(10.0 * (week + 1) as f64 / 30.0) - 0.3) / 0.25;
        let expected = 0.5 * libm::erfc(-z / 2f64.sqrt());
        let error = (expected * (1.0 - expected) / f64::from(DRAWS)).sqrt();
        near(by_then, expected, error + 1e-9);
    }
}

#[test]
fn a_known_survival_is_that_of_the_plants_from_now_on() {
    let survivors = |known: Value, so_far: f64, luck: Value| {
        let lot = with(
            with(
                with(growing("A", 1_000), "known", known),
                "degree_days_so_far",
                so_far,
            ),
            "luck",
            luck,
        );
        let mut case = case(json!({"lots": [lot]}));
        let phase = case.phases.get_mut("seedling").expect("it is there");
        (phase.survival, phase.survival_rho) = (0.25, 0.3);
        let free = futures(&case, 2_000).free["seedling"].clone();
        (free.mean[0], free.sd[0])
    };
    // Beta-binomial: n·μ, and √(n·μ(1 − μ)(1 + (n − 1)ρ)).
    let sd = |mean: f64, rho: f64| (1_000.0 * mean * (1.0 - mean) * (1.0 + 999.0 * rho)).sqrt();
    let agrees = |(mean, spread): (f64, f64), survival: f64, rho: f64| {
        near(
            mean,
            1_000.0 * survival,
            sd(survival, rho) / 2_000f64.sqrt(),
        );
        // A beta's fourth moment lies below the normal one, so this is the larger error.
        near(
            spread,
            sd(survival, rho),
            sd(survival, rho) / 4_000f64.sqrt(),
        );
    };
    let none = || json!([]);
    agrees(survivors(json!({}), 15.0, none()), 0.5, 0.3);
    agrees(survivors(json!({"survival": 0.7}), 15.0, none()), 0.7, 0.3);
    agrees(
        survivors(json!({"survival": 0.7, "survival_rho": 0.02}), 15.0, none()),
        0.7,
        0.02,
    );
    agrees(
        survivors(json!({"survival_rho": 0.0}), 15.0, none()),
        0.5,
        0.0,
    );
    assert_eq!(
        survivors(json!({"survival": 0.0}), 15.0, none()),
        (0.0, 0.0)
    );
    assert_eq!(
        survivors(json!({"survival": 1.0}), 0.0, none()),
        (1_000.0, 0.0)
    );
    let lucky = survivors(
        json!({"survival": 0.5, "survival_rho": 0.0}),
        15.0,
        json!([{"group": "x", "sd": 0.1}]),
    );
    near(
        lucky.1,
        (250.0 + 25f64 * 25.0).sqrt(),
        29.6 / 4_000f64.sqrt(),
    );
}

#[test]
fn additions_that_say_nothing_change_nothing() {
    let text = include_str!("data/full.json");
    let plain: Case = serde_json::from_str(text).expect("the case is in format 2");
    let mut case = plain.clone();
    case.perils = serde_json::from_value(json!([
        {"id": "never", "stages": [], "from": 0, "until": 9, "chance": 0.0, "fraction": 1.0},
        {"id": "harmless", "stages": [], "from": 0, "until": 9, "chance": 1.0, "fraction": 1.0},
    ]))
    .expect("perils");
    for lot in &mut case.lots {
        lot.luck = serde_json::from_value(json!([{"group": "still", "sd": 0.0}])).expect("luck");
        lot.known = serde_json::from_value(json!({})).expect("what is known");
    }
    for work in &mut case.operations {
        work.luck = serde_json::from_value(json!([{"group": "still", "sd": 0.0}])).expect("luck");
    }
    assert_eq!(futures(&case, 50), futures(&plain, 50));
    assert_eq!(
        serde_json::to_value(&plain)
            .expect("a case is JSON")
            .get("perils"),
        None,
        "what is absent stays absent"
    );
}
