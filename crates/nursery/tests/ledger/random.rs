//! Random acts, valid and not, in any order and sent again.

use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_oneof, proptest};
use serde_json::{Value, json};

use super::Desk;

/// A lot that may or may not be there.
fn lot() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => (1_u32..4).prop_map(|it| format!("L-{it}")),
        3 => (1_u32..6).prop_map(|it| format!("N-{it}")),
        1 => (1_u32..3).prop_map(|it| format!("N-{it}~missed")),
    ]
}

fn deed() -> impl Strategy<Value = Value> {
    let plants = || prop_oneof![6 => 1_u32..40, 1 => Just(0_u32), 1 => 100_u32..2000];
    let new = || (1_u32..6).prop_map(|it| format!("N-{it}"));
    prop_oneof![
        (lot(), plants()).prop_map(|(lot, plants)| json!({"act": "lose", "lot": lot, "plants": plants, "reason": "frost"})),
        (lot(), plants()).prop_map(|(lot, plants)| json!({"act": "rogue", "lot": lot, "plants": plants})),
        (lot(), plants()).prop_map(|(lot, plants)| json!({"act": "count", "lot": lot, "plants": plants})),
        (lot(), plants(), new()).prop_map(|(lot, plants, new)| json!({"act": "split", "lot": lot, "plants": plants, "new_lot": new})),
        (lot(), plants(), new()).prop_map(|(lot, plants, new)| json!({"act": "bud", "lot": lot, "plants": plants, "variety": "valencia",
            "source": "M-1", "method": "t", "new_lot": new})),
        (lot(), plants(), 0_u32..4, 0_u32..4).prop_map(|(lot, taken, missed, dead)| json!({"act": "unwrap", "lot": lot, "taken": taken,
            "missed": missed, "dead": dead})),
        (lot(), plants()).prop_map(|(lot, plants)| json!({"act": "force", "lot": lot, "plants": plants})),
        (lot(), plants()).prop_map(|(lot, plants)| json!({"act": "lift", "lot": lot, "plants": plants, "place": "yard", "size": "4L"})),
        (lot(), plants()).prop_map(|(lot, plants)| json!({"act": "move", "lot": lot, "plants": plants, "place": "house"})),
        (lot(), lot(), new()).prop_map(|(one, other, new)| json!({"act": "merge", "lots": [one, other], "new_lot": new})),
        (lot(), plants(), 0_u32..5).prop_map(|(lot, saleable, culled)| json!({"act": "grade", "lot": lot, "saleable": saleable,
            "held_back": 1, "culled": culled})),
        (lot(), any::<bool>()).prop_map(|(lot, is_hold)| json!({"act": if is_hold { "hold" } else { "destroy" }, "lot": lot, "reason": "r"})),
        (1_u32..3, lot(), plants()).prop_map(|(line, lot, plants)| json!({"act": "tag", "order": "O-1", "line": line.to_string(),
            "lot": lot, "plants": plants})),
        (1_u32..3, lot(), plants()).prop_map(|(line, lot, plants)| json!({"act": "ship", "order": "O-1", "line": line.to_string(),
            "lot": lot, "plants": plants})),
        (1_u32..3).prop_map(|line| json!({"act": "cancel_order", "order": "O-1", "lines": [line.to_string()]})),
        (0_usize..30, plants()).prop_map(|(which, plants)| json!({"correct": which, "plants": plants})),
        (0_usize..30).prop_map(|which| json!({"correct": which})),
    ]
}

/// A lot of trees under the name of one that splits may make, and an order of two lines for such trees.
fn sold(desk: &mut Desk) {
    desk.does("2026-01-01", json!({"act": "open_lot", "lot": "L-3", "stage": "finished", "rootstock": "carrizo",
        "variety": "valencia", "size": "4L", "place": "yard", "growing": 20, "ready": 60, "entered": "2025-03-01",
        "source": "M-1"}));
    let line = |line: &str| {
        json!({"line": line, "variety": "valencia", "rootstocks": ["carrizo"], "size": "4L",
        "plants": 60, "earliest": "2026-01-01", "due": "2026-06-01", "latest": "2026-12-31", "price": 1250, "contract": false})
    };
    desk.does(
        "2026-01-01",
        json!({"act": "order", "order": "O-1", "customer": "C-1", "lines": [line("1"), line("2")]}),
    );
}

fn day() -> impl Strategy<Value = String> {
    (1_u32..13, 1_u32..29).prop_map(|(month, day)| format!("2026-{month:02}-{day:02}"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    /// After every act plants are conserved and none are below zero, whatever was sent and in whatever
    /// order of field dates (checked by `Desk::send`); a replay of the events gives the same books.
    #[test]
    fn plants_are_conserved(acts in proptest::collection::vec((day(), deed()), 1..60)) {
        let mut desk = Desk::set_up();
        sold(&mut desk);
        for (on, mut deed) in acts {
            if let Some(which) = deed.get("correct").and_then(Value::as_u64) {
                let Some(past) = desk.done.iter().rev().nth(which as usize) else { continue };
                let plants = deed.get("plants").cloned();
                deed = json!({"act": "correct", "corrects": past.act.id, "reason": "wrong"});
                if let Some(plants) = plants {
                    deed["right"] = json!({"plants": plants});
                }
            }
            let _ = desk.send(&on, deed);
        }
        assert!(desk.replayed() == desk.books, "a replay gives other books");
    }

    /// Losses, moves and counts of one lot leave the same lot in whatever order they are recorded.
    #[test]
    fn order_of_recording_does_not_matter(
        lost in proptest::collection::vec((2_u32..12, 1_u32..5), 1..6),
        counts in proptest::collection::vec((2_u32..12, 30_u32..60), 0..4),
        turn in any::<proptest::sample::Index>(),
    ) {
        let mut acts: Vec<(String, Value)> = Vec::new();
        for (month, plants) in lost {
            acts.push((format!("2026-{month:02}-05"), json!({"act": "lose", "lot": "L-1", "plants": plants, "reason": "heat"})));
        }
        for (month, plants) in counts {
            acts.push((format!("2026-{month:02}-20"), json!({"act": "count", "lot": "L-1", "plants": plants, "ready": plants / 2})));
        }
        acts.sort_by(|one, other| one.0.cmp(&other.0));
        acts.dedup_by(|one, other| one.0 == other.0);
        let mut in_time = Desk::set_up();
        for (on, deed) in &acts {
            in_time.does(on, deed.clone());
        }
        let mut turned = acts.clone();
        turned.rotate_left(turn.index(acts.len()));
        let mut late = Desk::set_up();
        for (on, deed) in &turned {
            late.does(on, deed.clone());
        }
        assert_eq!(in_time.stands("L-1"), late.stands("L-1"));
        assert!(in_time.books.accounts == late.books.accounts);
    }
}
