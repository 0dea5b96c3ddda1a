//! Which acts a lot and an order know of, and how a lot stood after each.

use std::collections::BTreeSet;

use jiff::civil::date;
use nursery::ids::{LotName, MotherTreeName, VarietyName};
use nursery::ledger::budwood::BudSource;
use serde_json::json;

use super::Desk;

fn acts_of(desk: &Desk, lot: &str) -> BTreeSet<u64> {
    desk.books.lots[&LotName::from(lot)].acts.clone()
}

#[test]
fn a_lot_knows_every_act_about_it() {
    let mut desk = Desk::set_up();
    let before = desk.number;
    assert_eq!(acts_of(&desk, "L-1").len(), 1, "its beginning");
    let bud = json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 50, "source": "M-1", "method": "t", "new_lot": "B-1"});
    desk.does("2026-05-01", bud);
    desk.does("2026-05-02", json!({"act": "stake", "lot": "L-2"}));
    desk.does(
        "2026-05-03",
        json!({"act": "note", "about": "B-1", "text": "wet"}),
    );
    desk.does(
        "2026-05-03",
        json!({"act": "note", "about": "nothing known", "text": "wet"}),
    );
    desk.does(
        "2026-05-04",
        json!({"act": "sample", "lot": "B-1", "tests": ["viroid"], "sample": "s"}),
    );
    desk.does(
        "2026-05-05",
        json!({"act": "result", "sample": "s", "test": "viroid", "found": true}),
    );
    desk.does(
        "2026-05-06",
        json!({"act": "release", "lot": "B-1", "reason": "clean after all"}),
    );
    desk.does(
        "2026-05-07",
        json!({"act": "hold", "mother_tree": "M-1", "reason": "looks odd"}),
    );
    let numbered = |numbers: &[u64]| {
        numbers
            .iter()
            .map(|it| before + it)
            .collect::<BTreeSet<_>>()
    };
    assert_eq!(acts_of(&desk, "B-1"), numbered(&[1, 3, 5, 6, 7]));
    assert_eq!(
        &acts_of(&desk, "L-1") - &numbered(&[1]),
        acts_of(&Desk::set_up(), "L-1")
    );
    assert_eq!(
        &acts_of(&desk, "L-2") - &acts_of(&Desk::set_up(), "L-2"),
        numbered(&[2])
    );
    assert!(desk.replayed() == desk.books);
}

#[test]
fn a_corrected_act_stays_in_both_lives() {
    let mut desk = Desk::set_up();
    let wrong = desk.does(
        "2026-04-01",
        json!({"act": "lose", "lot": "L-1", "plants": 5, "reason": "heat"}),
    );
    let act = desk.number;
    desk.does("2026-04-02", json!({"act": "correct", "corrects": wrong, "right": {"lot": "L-2"}, "reason": "other lot"}));
    assert!(acts_of(&desk, "L-1").is_superset(&BTreeSet::from([act, act + 1])));
    assert!(acts_of(&desk, "L-2").is_superset(&BTreeSet::from([act, act + 1])));
    // Refused: the acts known are as they were, which `send` looks at.
    desk.refuses(
        "2026-04-03",
        json!({"act": "correct", "corrects": wrong, "right": {"plants": 900}, "reason": "more"}),
        "900 plants are more",
    );
    desk.does(
        "2026-04-04",
        json!({"act": "correct", "corrects": wrong, "reason": "never happened"}),
    );
    assert!(acts_of(&desk, "L-2").contains(&(act + 3)));
    assert_eq!(desk.stands("L-2"), (60, 40));
    assert!(desk.replayed() == desk.books);
}

#[test]
fn an_order_knows_its_promises_shipments_and_changes() {
    let mut desk = Desk::set_up();
    let tree = json!({"act": "open_lot", "lot": "F-1", "stage": "finished", "rootstock": "carrizo", "variety": "valencia",
        "size": "4L", "place": "yard", "growing": 0, "ready": 50, "entered": "2025-10-01", "source": "M-1"});
    desk.does("2026-02-01", tree);
    let line = |plants: u32| {
        json!({"line": "1", "variety": "valencia", "rootstocks": ["carrizo"], "size": "4L", "plants": plants,
        "earliest": "2026-03-01", "due": "2026-04-01", "latest": "2026-05-01", "price": 1200, "contract": true})
    };
    let first = desk.number + 1;
    desk.does(
        "2026-02-02",
        json!({"act": "order", "order": "O-1", "customer": "c1", "lines": [line(40)]}),
    );
    desk.does(
        "2026-02-03",
        json!({"act": "promise", "order": "O-1", "line": "1", "plants": 40}),
    );
    desk.does(
        "2026-02-04",
        json!({"act": "change_order", "order": "O-1", "lines": [line(45)]}),
    );
    desk.does(
        "2026-02-05",
        json!({"act": "note", "about": "O-1", "text": "comes by truck"}),
    );
    desk.does(
        "2026-03-05",
        json!({"act": "ship", "order": "O-1", "line": "1", "lot": "F-1", "plants": 30}),
    );
    let known: Vec<u64> = desk.books.orders["O-1"].acts.iter().copied().collect();
    assert_eq!(known, (first..first + 5).collect::<Vec<_>>());
    assert!(acts_of(&desk, "F-1").contains(&(first + 4)));
    assert!(desk.replayed() == desk.books);
}

#[test]
fn a_course_has_late_acts_at_their_day() {
    let mut desk = Desk::set_up();
    desk.does(
        "2026-05-01",
        json!({"act": "count", "lot": "L-1", "plants": 90, "ready": 60}),
    );
    desk.does(
        "2026-04-01",
        json!({"act": "lose", "lot": "L-1", "plants": 4, "reason": "frost"}),
    );
    let lot = &desk.books.lots[&LotName::from("L-1")];
    let course: Vec<_> = lot
        .course()
        .into_iter()
        .map(|(when, view)| (when.on, view.growing, view.ready))
        .collect();
    let days = [
        (date(2026, 2, 1), 60, 40),
        (date(2026, 4, 1), 56, 40),
        (date(2026, 5, 1), 30, 60),
    ];
    assert_eq!(course, days);
    for (day, growing, ready) in days {
        let view = lot.on(day).expect("it stands");
        assert_eq!((view.growing, view.ready), (growing, ready), "{day}");
    }
}

#[test]
fn buds_come_of_the_oldest_cut_with_enough_then_of_a_tree_then_of_what_is_left() {
    let mut desk = Desk::set_up();
    let valencia = VarietyName::from("valencia");
    let day = date(2026, 6, 1);
    let of = |desk: &Desk, buds: u32| desk.books.buds_for(&valencia, buds, day);
    let tree = Some(BudSource::MotherTree(MotherTreeName::from("M-1")));
    let cut = |cut: &str, left: u32| {
        Some(BudSource::Cut {
            cut: cut.to_owned(),
            left,
        })
    };
    assert_eq!(of(&desk, 10), tree);
    for (on, name, buds) in [("2026-05-02", "c-2", 100), ("2026-05-01", "c-1", 30)] {
        desk.does(on, json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": name, "sticks": 9, "buds": buds}));
    }
    assert_eq!(of(&desk, 30), cut("c-1", 30));
    assert_eq!(of(&desk, 31), cut("c-2", 100));
    assert_eq!(of(&desk, 101), tree);
    // Its test lapses after a year: what was cut before may still be used.
    assert_eq!(
        desk.books.buds_for(&valencia, 101, date(2027, 3, 1)),
        cut("c-2", 100)
    );
    desk.does(
        "2026-05-20",
        json!({"act": "hold", "mother_tree": "M-1", "reason": "looks odd"}),
    );
    assert_eq!(of(&desk, 10), None, "held with all that came of it");
}
