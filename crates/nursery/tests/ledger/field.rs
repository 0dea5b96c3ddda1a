//! Entries from the field: when they do not agree with the books, and what is left out.

use serde_json::json;

use super::Desk;

#[test]
fn a_count_that_knew_other_plants_is_refused_and_nothing_else_is() {
    let mut desk = Desk::set_up();
    let count = |plants: u32, knew: u32| json!({"act": "count", "lot": "L-1", "plants": plants, "knew": knew, "at": "10:42:07"});
    desk.does(
        "2026-04-01",
        json!({"act": "lose", "lot": "L-1", "plants": 5, "reason": "heat"}),
    );
    let refusal = desk.refuses("2026-04-02", count(93, 100), "100 plants of L-1 were known");
    assert!(refusal.why.contains("the books have 95"), "{refusal}");
    assert_eq!(desk.stands("L-1"), (55, 40));
    // On the day before the loss there were as many as it knew.
    desk.does("2026-03-31", count(99, 100));
    // What that count found to be missing is missing on later days, too.
    desk.does("2026-04-02", count(93, 94));
    assert_eq!(desk.stands("L-1"), (53, 40));
    // Who knew nothing of the lot is asked nothing.
    desk.does(
        "2026-04-03",
        json!({"act": "count", "lot": "L-1", "plants": 90}),
    );
    desk.refuses("2026-04-03", count_of("L-9"), "no lot L-9");
    let note = json!({"act": "note", "text": "wet", "knew": 3});
    desk.refuses("2026-04-03", note, "the act is on none");
}

fn count_of(lot: &str) -> serde_json::Value {
    json!({"act": "count", "lot": lot, "plants": 1, "knew": 2})
}

#[test]
fn a_time_of_day_is_read_and_kept_and_nothing_else_is_one() {
    let mut desk = Desk::set_up();
    let id = desk.does(
        "2026-04-01",
        json!({"act": "stake", "lot": "L-1", "at": "07:05:00"}),
    );
    let kept = desk.past.done[&id].act.to_json();
    assert_eq!(kept["at"], "07:05:00");
    let late = json!({"act": "stake", "lot": "L-1", "at": "25:00"});
    desk.refuses("2026-04-01", late, "cannot be read");
}

#[test]
fn what_waits_is_left_out_with_a_reason_and_comes_back() {
    let mut desk = Desk::set_up();
    let from_field = json!({"at": "10:00:00"});
    let (id, refused) = desk.send(
        "2026-04-01",
        json!({"act": "lose", "lot": "L-1", "plants": 900, "reason": "heat", "at": "10:00:00"}),
    );
    assert!(refused.is_err());
    let leave = |reason: &str| json!({"act": "leave_out", "entry": id, "reason": reason});
    desk.refuses(
        "2026-04-02",
        leave("counted twice"),
        "is no entry that waits",
    );
    let number = desk.number;
    desk.books.note_refused(id.as_str(), number, &json!({}));
    assert!(desk.books.to_settle.is_empty(), "it is not from the field");
    desk.books.note_refused(id.as_str(), number, &from_field);
    desk.refuses("2026-04-02", leave("  "), "no reason");
    let left = desk.does("2026-04-02", leave("counted twice"));
    assert!(desk.books.to_settle.is_empty());
    assert_eq!(desk.books.left_out[id.as_str()], "counted twice");
    desk.does(
        "2026-04-03",
        json!({"act": "correct", "corrects": left, "reason": "not so"}),
    );
    assert_eq!(desk.books.to_settle[id.as_str()], number);
    assert!(desk.books.left_out.is_empty());
}
