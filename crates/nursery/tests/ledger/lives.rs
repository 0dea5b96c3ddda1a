//! Whole lives of lots.

use jiff::civil::Date;
use nursery::ids::LotName;
use nursery::ledger::lineage::Node;
use serde_json::json;

use super::Desk;

#[test]
fn from_seed_to_a_customer() {
    let mut desk = Desk::set_up();
    budded(&mut desk);
    grown_and_sent(&mut desk);
    let trace = desk.books.trace(&Node::Lot("B-1~2".into()), Date::MAX);
    for origin in [
        Node::MotherTree("M-1".into()),
        Node::Batch("C-26".into()),
        Node::Lot("L-3".into()),
    ] {
        assert!(
            trace.back.contains(&origin),
            "{origin:?} is not in {:?}",
            trace.back
        );
    }
    let trace = desk.books.trace(&Node::MotherTree("M-1".into()), Date::MAX);
    assert!(trace.forward.contains(&Node::Lot("B-1~missed".into())));
    assert_eq!((trace.shipments.len(), trace.shipments[0].plants), (1, 60));
    assert_eq!(trace.shipments[0].customer, "c1");
    assert!(desk.replayed() == desk.books, "a replay gives other books");
}

fn budded(desk: &mut Desk) {
    let sow = json!({"act": "sow", "rootstock": "carrizo", "seeds": 600, "batch": "C-26", "place": "bed", "lot": "S-1"});
    desk.does("2026-03-01", sow);
    let count = json!({"act": "count", "lot": "S-1", "plants": 500, "ready": 450});
    desk.does("2026-07-01", count);
    assert_eq!(desk.stands("S-1"), (50, 450));
    let rogue = json!({"act": "rogue", "lot": "S-1", "plants": 20});
    desk.does("2026-07-02", rogue);
    assert_eq!(desk.stands("S-1"), (30, 450));
    let line_out =
        json!({"act": "line_out", "lot": "S-1", "plants": 400, "place": "rows", "new_lot": "L-3"});
    desk.does("2026-09-05", line_out);
    assert_eq!(
        (desk.stands("S-1"), desk.stands("L-3")),
        ((30, 50), (400, 0))
    );
    let cut =
        json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": "K-1", "sticks": 50, "buds": 300});
    desk.does("2026-09-06", cut);
    let bud = json!({"act": "bud", "lot": "L-3", "variety": "valencia", "plants": 200, "buds": 240, "source": "K-1",
        "method": "inverted_t", "new_lot": "B-1"});
    desk.does("2026-09-06", bud);
    assert_eq!(desk.books.cuts["K-1"].left(), 60);
    let unwrap = json!({"act": "unwrap", "lot": "B-1", "taken": 180, "missed": 15, "dead": 5});
    desk.does("2026-09-28", unwrap);
    assert_eq!(
        (desk.stands("B-1"), desk.stands("B-1~missed")),
        ((0, 180), (0, 15))
    );
}

fn grown_and_sent(desk: &mut Desk) {
    let force = json!({"act": "force", "lot": "B-1", "plants": 100});
    desk.does("2027-03-01", force);
    assert_eq!(
        (desk.stands("B-1"), desk.stands("B-1~2")),
        ((0, 80), (100, 0))
    );
    let lift = json!({"act": "lift", "lot": "B-1~2", "plants": 100, "place": "yard", "size": "4L"});
    desk.does("2027-10-01", lift);
    let grade =
        json!({"act": "grade", "lot": "B-1~2", "saleable": 70, "held_back": 25, "culled": 5});
    desk.does("2028-03-01", grade);
    assert_eq!(desk.stands("B-1~2"), (25, 70));
    let order = json!({"act": "order", "order": "O-1", "customer": "c1", "lines": [{"line": "1", "variety": "valencia",
        "rootstocks": ["carrizo"], "size": "4L", "plants": 60, "earliest": "2028-03-01", "due": "2028-04-01",
        "latest": "2028-05-01", "price": 1200, "contract": true}]});
    desk.does("2028-01-10", order);
    let ship = json!({"act": "ship", "order": "O-1", "line": "1", "lot": "B-1~2", "plants": 60});
    desk.does("2028-03-20", ship);
    assert_eq!(desk.stands("B-1~2"), (25, 10));
}

/// The same acts with one that comes late, and all in time.
#[test]
fn a_late_entry_leaves_the_same_lot() {
    let acts = [
        (
            "2026-04-01",
            json!({"act": "lose", "lot": "L-1", "plants": 7, "reason": "frost"}),
        ),
        (
            "2026-04-10",
            json!({"act": "count", "lot": "L-1", "plants": 90}),
        ),
        (
            "2026-04-12",
            json!({"act": "move", "lot": "L-1", "plants": 30, "place": "house", "new_lot": "L-9"}),
        ),
    ];
    let mut in_time = Desk::set_up();
    for (on, deed) in &acts {
        in_time.does(on, deed.clone());
    }
    let mut late = Desk::set_up();
    for at in [1, 2, 0] {
        late.does(acts[at].0, acts[at].1.clone());
    }
    for lot in ["L-1", "L-9"] {
        assert_eq!(in_time.stands(lot), late.stands(lot), "{lot}");
    }
    let lot = |desk: &Desk, day| desk.books.lots[&LotName::from("L-1")].on(day);
    for day in ["2026-04-05", "2026-04-10", "2026-04-12"] {
        let day = day.parse().expect("a day");
        assert_eq!(lot(&in_time, day), lot(&late, day), "{day}");
    }
    assert!(in_time.books.accounts == late.books.accounts);
}

#[test]
fn an_act_that_was_wrong_is_corrected() {
    let mut desk = Desk::set_up();
    let lost = desk.does(
        "2026-04-01",
        json!({"act": "lose", "lot": "L-1", "plants": 70, "reason": "frost"}),
    );
    desk.does(
        "2026-05-01",
        json!({"act": "split", "lot": "L-1", "plants": 20, "new_lot": "L-5"}),
    );
    assert_eq!(desk.stands("L-1").0 + desk.stands("L-1").1, 10);
    desk.does("2026-05-02", json!({"act": "correct", "corrects": lost, "right": {"plants": 7}, "reason": "slip of the pen"}));
    assert_eq!(desk.stands("L-1").0 + desk.stands("L-1").1, 73);
    desk.does("2026-05-03", json!({"act": "correct", "corrects": lost, "right": {"plants": 8, "reason": "heat"}, "reason": "again"}));
    assert_eq!(desk.stands("L-1").0 + desk.stands("L-1").1, 72);
    desk.refuses(
        "2026-05-03",
        json!({"act": "correct", "corrects": lost, "right": {"plants": 90}, "reason": "?"}),
        "90 plants are more than L-1 can spare",
    );
    desk.does(
        "2026-05-04",
        json!({"act": "correct", "corrects": lost, "reason": "that was another lot"}),
    );
    assert_eq!(desk.stands("L-1").0 + desk.stands("L-1").1, 80);
    assert!(desk.replayed() == desk.books, "a replay gives other books");
}

#[test]
fn a_corrected_budding_keeps_its_lot() {
    let mut desk = Desk::set_up();
    let id = desk.does(
        "2026-05-01",
        json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 50, "source": "M-1",
        "method": "t", "new_lot": "B-1"}),
    );
    desk.does(
        "2026-05-20",
        json!({"act": "lose", "lot": "B-1", "plants": 5, "reason": "heat"}),
    );
    desk.does(
        "2026-05-21",
        json!({"act": "correct", "corrects": id, "right": {"plants": 55}, "reason": "miscounted"}),
    );
    assert_eq!(desk.stands("B-1"), (50, 0));
    assert_eq!(desk.stands("L-1").0 + desk.stands("L-1").1, 45);
    desk.refuses(
        "2026-05-22",
        json!({"act": "correct", "corrects": id, "reason": "never"}),
        "B-1 would never have been",
    );
    desk.refuses(
        "2026-05-22",
        json!({"act": "correct", "corrects": id, "right": {"plants": 4}, "reason": "?"}),
        "5 plants of B-1 are used",
    );
    assert!(desk.replayed() == desk.books);
}

#[test]
fn a_find_holds_all_that_is_downstream_and_a_release_frees_a_part() {
    let mut desk = Desk::set_up();
    desk.does(
        "2026-04-01",
        json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": "K-1", "sticks": 9, "buds": 90}),
    );
    for (lot, from) in [("B-1", "L-1"), ("B-2", "L-2")] {
        desk.does(
            "2026-05-01",
            json!({"act": "bud", "lot": from, "variety": "valencia", "plants": 40, "source": "K-1",
            "method": "t", "new_lot": lot}),
        );
    }
    desk.does(
        "2026-05-02",
        json!({"act": "sample", "mother_tree": "M-1", "tests": ["viroid"], "sample": "T-1"}),
    );
    desk.does(
        "2026-05-20",
        json!({"act": "result", "sample": "T-1", "test": "viroid", "found": true}),
    );
    desk.does(
        "2026-05-25",
        json!({"act": "unwrap", "lot": "B-1", "taken": 30, "missed": 10, "dead": 0}),
    );
    let held = |desk: &Desk, lot: &str| {
        desk.books
            .hold_on(&Node::Lot(lot.into()), Date::MAX)
            .is_some()
    };
    for lot in ["B-1", "B-2", "B-1~missed"] {
        assert!(held(&desk, lot), "{lot}");
    }
    assert!(!held(&desk, "L-1"));
    desk.refuses(
        "2026-06-01",
        json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": "K-2", "sticks": 9, "buds": 90}),
        "M-1 is held since 2026-05-20",
    );
    desk.refuses("2026-06-01", json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 4, "source": "K-1", "method": "t"}), "K-1 is held");
    desk.does(
        "2026-06-10",
        json!({"act": "release", "lot": "B-1", "reason": "tested clean"}),
    );
    assert!(!held(&desk, "B-1") && !held(&desk, "B-1~missed") && held(&desk, "B-2"));
    desk.does(
        "2026-06-11",
        json!({"act": "split", "lot": "B-2", "plants": 10, "new_lot": "B-3"}),
    );
    assert!(held(&desk, "B-3"));
    desk.does(
        "2026-06-12",
        json!({"act": "destroy", "lot": "B-2", "reason": "held"}),
    );
    assert_eq!(desk.stands("B-2"), (0, 0));
    let reached = desk.books.held(Date::MAX);
    for lot in desk.books.lots.keys() {
        let node = Node::Lot(lot.clone());
        assert_eq!(
            reached.contains(&node),
            desk.books.hold_on(&node, Date::MAX).is_some(),
            "{lot}"
        );
    }
    assert!(desk.replayed() == desk.books);
}

#[test]
fn lots_are_joined_with_their_origins() {
    let mut desk = Desk::set_up();
    desk.does(
        "2026-04-01",
        json!({"act": "merge", "lots": ["L-1", "L-2"], "new_lot": "L-7"}),
    );
    assert_eq!(
        (desk.stands("L-7"), desk.stands("L-1")),
        ((120, 80), (0, 0))
    );
    let back = desk.books.trace(&Node::Lot("L-7".into()), Date::MAX).back;
    assert!(back.contains(&Node::Lot("L-1".into())) && back.contains(&Node::Lot("L-2".into())));
}
