//! A case is read as it was written, and everything wrong with one is told at once.

use barkslip_futures::case::Case;
use barkslip_futures::{Options, SimulateError, simulate};
use serde_json::json;

fn small() -> Case {
    serde_json::from_str(include_str!("data/small.json")).expect("the case is in format 2")
}

#[test]
fn good_cases_have_no_problems_and_come_back_as_they_were() {
    for text in [
        include_str!("data/small.json"),
        include_str!("data/medium.json"),
        include_str!("data/full.json"),
    ] {
        let case: Case = serde_json::from_str(text).expect("the case is in format 2");
        assert_eq!(case.validate(), []);
        let again = serde_json::to_string(&case).expect("a case is JSON");
        assert_eq!(case, serde_json::from_str(&again).expect("and comes back"));
    }
}

#[test]
fn a_path_longer_than_the_case_is_fine() {
    let mut case = small();
    case.weeks = 40;
    assert_eq!(case.validate(), []);
    assert!(
        simulate(
            &case,
            &Options {
                futures: 2,
                ..Options::default()
            },
            None,
            None
        )
        .is_ok()
    );
}

#[test]
fn optional_parts_may_be_left_out() {
    let case: Case = serde_json::from_value(json!({
        "format": 2, "weeks": 1, "paths": [{"climates": {"open": [1.0]}}],
        "phases": {"A": {"degree_days": 1.0, "within_lot": 0.1, "between_lots": 0.1, "survival": 0.9}},
    }))
    .expect("the case is in format 2");
    assert_eq!(case.validate(), []);
}

/// The small case, with everything wrong that can be.
fn spoiled() -> Case {
    let mut case = small();
    case.format = 1;
    case.paths[0]
        .climates
        .values_mut()
        .for_each(|series| series.truncate(9));
    case.paths[1]
        .climates
        .values_mut()
        .for_each(|series| series[3] = f64::NAN);
    case.paths[2].climates.clear();
    case.paths[5]
        .climates
        .values_mut()
        .for_each(|series| series[0] = 2e6);
    case.paths[3].losses =
        serde_json::from_value(json!([{"week": 1, "stages": ["nowhere"], "fraction": 12.0}]))
            .expect("losses");
    case.paths[4]
        .windows
        .insert("bark".to_owned(), vec![1.5; 130]);
    let phase = case.phases.get_mut("R0.liner").expect("it is there");
    (phase.degree_days, phase.survival, phase.survival_rho) = (0.0, -0.1, 1.0);
    (phase.within_lot, phase.shared_sd) = (f64::INFINITY, -1.0);
    case.crews = serde_json::from_value(
        json!([{"id": "C", "hours_per_week": [1.0, -2.0]}, {"id": "C", "hours_per_week": 1}]),
    )
    .expect("crews");
    case.lots[1].id = "L000".into();
    case.lots[2].stage = "R0.missed".into();
    case.operations[0].crew = Some("nobody".to_owned());
    case.operations[0].window = Some("bark".to_owned());
    case.operations[0].late_until = -1;
    case.operations[1].plants = None;
    case.operations[2].moves_to = "R0.missed".into();
    case.operations[3].takes_from = Some("R0.seedlings".to_owned());
    case.operations[1].hours_per_plant = f64::NAN;
    case.orders[0].accepts.clear();
    case.orders[1].accepts[0] = "V99".into();
    (case.orders[2].tolerance, case.orders[2].kept) = (3.0, f64::NAN);
    case.orders[3].due = case.orders[3].latest + 1;
    case.lots[3].immature = u32::MAX;
    spoil_additions(&mut case);
    case
}

/// Wrong perils, labels, counts of lots and remedies.
fn spoil_additions(case: &mut Case) {
    case.perils = serde_json::from_value(json!([
        {"id": "hail", "stages": ["nowhere"], "from": 9, "until": 3, "chance": 2.0, "fraction": -0.5},
        {"id": "hail", "stages": [], "from": 0, "until": u32::MAX, "chance": 0.1, "fraction": 0.5},
    ]))
    .expect("perils");
    case.lots[4].luck =
        serde_json::from_value(json!([{"group": "kit", "sd": -0.1}])).expect("luck");
    case.lots[4].known =
        serde_json::from_value(json!({"pace": [99.0, 11.0], "survival": 1.5, "survival_rho": 1.0}))
            .expect("what is known");
    case.operations[4].luck =
        serde_json::from_value(json!([{"group": "crew", "sd": 12.0}])).expect("luck");
    let (first, unnumbered) = (&case.operations[5], &case.operations[1]);
    let names = json!([
        {"operation": first.operation, "week": first.week},
        {"operation": unnumbered.operation, "week": unnumbered.week},
        {"operation": "nothing", "week": 7},
    ]);
    case.operations[6].makes_up_for = serde_json::from_value(names).expect("names");
    case.operations[6].week = case.operations[5].late_until;
    case.operations[6].times = f64::INFINITY;
}

const TOLD: &[&str] = &[
    "format: 1 (the format is 2)",
    "path 0, climate open: 9 weeks of 130",
    "path 1, climate open: week 3 is NaN",
    "path 5, climate open: week 0 is 2000000",
    "phase R0.liner: climate open is not in path 2",
    "path 3, loss of week 1: fraction is 12",
    "path 3, loss of week 1: stage nowhere is unknown",
    "path 4, window bark: week 0 is 1.5",
    "phase R0.liner: degree_days is 0",
    "phase R0.liner: survival is -0.1",
    "phase R0.liner: survival_rho is 1",
    "phase R0.liner: within_lot is inf",
    "phase R0.liner: shared_sd is -1",
    "crew C: 2 weeks of 130",
    "crew C: hours_per_week is -2",
    "crew C: the name is used more than once",
    "lot L000: the name is used more than once",
    "lot L002: stage R0.missed has no phase",
    "crew nobody (a crew is one of the case's crews)",
    "window bark is not in path 0",
    "week is week 0, late_until is week -1",
    "operation sow R0 of week 0: no number of plants",
    "hours_per_plant is NaN",
    "stage R0.seedlings is unknown",
    "order O0000: accepts nothing",
    "order O0001: stage V99 is unknown",
    "order O0002: tolerance is 3",
    "order O0002: kept is NaN",
    "order O0003: due is week 26, latest is week 25",
    "peril hail: chance is 2",
    "peril hail: fraction is -0.5",
    "peril hail: stage nowhere is unknown",
    "peril hail: from is week 9, until is week 3",
    "peril hail: the name is used more than once",
    "lot L004: sd of kit is -0.1",
    "lot L004: mean of the known pace is 99",
    "lot L004: sd of the known pace is 11",
    "lot L004: known survival is 1.5",
    "lot L004: known survival_rho is 1",
    "sd of crew is 12",
    "times is inf",
    "nothing of week 7 is unknown",
    "may be done until week",
    "has no number of plants (what an operation makes up for",
    "plants: ",
];

#[test]
fn every_problem_is_told_at_once() {
    let case = spoiled();
    let problems = case.validate();
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    for expected in TOLD {
        assert!(
            told.iter().any(|problem| problem.contains(expected)),
            "{expected} is missing from {told:#?}"
        );
    }
    assert!(
        problems
            .iter()
            .all(|problem| !problem.mend.is_empty() && !problem.rule.is_empty())
    );
    let refused = simulate(&case, &Options::default(), None, None);
    assert_eq!(refused, Err(SimulateError::Invalid(problems)));
}

/// Room is made for every week, so their number is looked at before anything else is done with it.
#[test]
fn weeks_without_end_are_told() {
    for weeks in [0, 1_041, 1_000_000_000, u32::MAX] {
        let mut case = small();
        case.weeks = weeks;
        let told: Vec<String> = case.validate().iter().map(ToString::to_string).collect();
        let expected = format!("weeks: {weeks} (a case has 1 to 1040 weeks)");
        assert!(told[0].starts_with(&expected), "{told:?}");
        let refused = simulate(&case, &Options::default(), None, None);
        assert!(matches!(refused, Err(SimulateError::Invalid(_))));
    }
}

/// Numbers at the ends of what a case may hold are refused or played, and never a panic.
#[test]
fn numbers_at_their_ends_are_refused_or_played() {
    type Change = fn(&mut Case);
    let changes: &[Change] = &[
        |it| (it.orders[0].due, it.orders[0].latest) = (i32::MAX, i32::MAX),
        |it| (it.orders[0].earliest, it.orders[0].due) = (i32::MIN, i32::MIN),
        |it| it.orders[0].plants = u32::MAX,
        |it| it.orders[0].priority = i64::MIN,
        |it| it.operations[0].late_until = i32::MAX,
        |it| it.operations[0].week = i32::MIN,
        |it| work(it, |it| it.hours_per_plant = 1e-320),
        |it| work(it, |it| it.hours_per_plant = 1e308),
        |it| it.lots[0].ready = vec![(u32::MAX, 9), (0, 9)],
        |it| it.lots[0].degree_days_so_far = 1e308,
        |it| it.lots[0].immature = u32::MAX,
        |it| it.lots[0].immature = 4_000_000_000,
        |it| phases(it, |it| it.degree_days = 1e-320),
        |it| phases(it, |it| it.degree_days = 1e308),
        |it| phases(it, |it| it.within_lot = 1e308),
        |it| phases(it, |it| it.within_lot = 10.0),
        |it| phases(it, |it| it.within_lot = 1e-320),
        |it| phases(it, |it| it.between_lots = 1e308),
        |it| phases(it, |it| it.between_lots = 10.0),
        |it| phases(it, |it| it.shared_sd = 1e308),
        |it| phases(it, |it| it.shared_sd = 10.0),
        |it| phases(it, |it| it.survival_rho = 1.0 - f64::EPSILON),
        |it| phases(it, |it| it.survival_rho = 1e-320),
        |it| phases(it, |it| it.survival = 1e-320),
        |it| limits(it, |limit| *limit = u32::MAX),
        |it| losses(it, u32::MAX),
        |it| losses(it, 3),
        |it| perils(it, 0, u32::MAX),
        |it| perils(it, u32::MAX, u32::MAX),
        |it| perils(it, 3, 3),
        |it| remedy(it, None, 1e308),
        |it| remedy(it, None, f64::NAN),
        |it| remedy(it, None, 0.0),
        |it| remedy(it, Some(u32::MAX), 1e308),
        |it| remedy(it, Some(5), 1e308),
        |it| known(it, [-50.0, 10.0]),
        |it| known(it, [50.0, 0.0]),
        |it| known(it, [f64::NAN, 0.0]),
        |it| it.orders[0].minimum_load = u32::MAX,
    ];
    let options = Options {
        futures: 3,
        ..Options::default()
    };
    for (at, change) in changes.iter().enumerate() {
        let mut case = small();
        change(&mut case);
        let answer = simulate(&case, &options, None, None);
        let is_good = case.validate().is_empty();
        assert_eq!(answer.is_ok(), is_good, "change {at}: {answer:?}");
    }
}

fn work(case: &mut Case, change: fn(&mut barkslip_futures::case::Operation)) {
    case.operations.iter_mut().for_each(change);
}

fn phases(case: &mut Case, change: fn(&mut barkslip_futures::case::Phase)) {
    case.phases.values_mut().for_each(change);
}

fn limits(case: &mut Case, change: fn(&mut u32)) {
    use barkslip_futures::case::Weekly;
    for limits in case.over_age_after_weeks.values_mut() {
        match limits {
            Weekly::Always(limit) => change(limit),
            Weekly::ByWeek(by_week) => by_week.iter_mut().for_each(change),
        }
    }
}

fn perils(case: &mut Case, from: u32, until: u32) {
    let stages: Vec<String> = case.stages().into_iter().map(str::to_owned).collect();
    let peril = json!({"id": "P", "stages": stages, "from": from, "until": until, "chance": 1.0, "fraction": 1.0});
    case.perils = vec![serde_json::from_value(peril).expect("a peril")];
}

fn remedy(case: &mut Case, plants: Option<u32>, times: f64) {
    let mut sowing = case.operations[0].clone();
    let name = json!([{"operation": sowing.operation, "week": sowing.week}]);
    sowing.makes_up_for = serde_json::from_value(name).expect("a name");
    "sow again".clone_into(&mut sowing.operation);
    sowing.week = sowing.late_until + 1;
    sowing.late_until += 2;
    (sowing.takes_from, sowing.plants, sowing.times) = (None, plants, times);
    case.operations.push(sowing);
}

fn known(case: &mut Case, pace: [f64; 2]) {
    for lot in &mut case.lots {
        lot.known = serde_json::from_value(json!({"pace": [0.0, 0.0]})).expect("what is known");
        if let Some(known) = &mut lot.known {
            known.pace = Some(pace);
        }
    }
}

fn losses(case: &mut Case, week: u32) {
    let stages: Vec<String> = case.stages().into_iter().map(str::to_owned).collect();
    let loss = json!({"week": week, "stages": stages, "fraction": 1.0});
    for path in &mut case.paths {
        path.losses = vec![serde_json::from_value(loss.clone()).expect("a loss")];
    }
}
