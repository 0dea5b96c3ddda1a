//! Every rule that an act can break, with the words of its refusal.

use serde_json::{Value, json};

use super::Desk;

/// Sends each deed on a day; all are refused for a reason with the words beside it.
fn all_refused(desk: &mut Desk, on: &str, deeds: Vec<(Value, &str)>) {
    for (deed, words) in deeds {
        desk.refuses(on, deed, words);
    }
}

fn bud(plants: u32, source: &str) -> Value {
    json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": plants, "source": source,
        "method": "inverted_t", "new_lot": "B-1"})
}

#[test]
fn plants_that_are_not_there_cannot_be_used() {
    let mut desk = Desk::set_up();
    let lose = |lot: &str, plants: u32| json!({"act": "lose", "lot": lot, "plants": plants, "reason": "frost"});
    let few = desk.refuses(
        "2026-05-01",
        lose("L-1", 101),
        "101 plants are more than the 100",
    );
    assert!(few.mend.contains("at most 100"), "{few}");
    desk.refuses("2026-01-31", lose("L-1", 1), "L-1 began on 2026-02-01");
    let sow = |rootstock: &str, seeds: u32| json!({"act": "sow", "rootstock": rootstock, "seeds": seeds, "batch": "C-26", "place": "bed"});
    let count = json!({"act": "count", "lot": "L-1", "plants": 5, "ready": 6});
    let deeds = vec![
        (lose("L-1", 0), "plants are none"),
        (lose("L-0", 1), "there is no lot L-0"),
        (sow("carrizo", 1001), "1001 seeds are more than the 1000"),
        (sow("swingle", 1), "C-26 is seed of carrizo"),
        (count, "6 ready are more than the 5"),
        (
            json!({"act": "count", "lot": "L-1", "plants": u32::MAX}),
            "no nursery has 4294967295 plants",
        ),
    ];
    all_refused(&mut desk, "2026-05-25", deeds);
}

#[test]
fn buds_must_fit_their_stock_and_come_from_a_tested_tree() {
    let mut desk = Desk::set_up();
    let eureka = json!({"act": "bud", "lot": "L-1", "variety": "eureka", "plants": 10, "source": "M-2", "method": "t"});
    let wrong = desk.refuses(
        "2026-05-01",
        eureka.clone(),
        "eureka is incompatible with carrizo",
    );
    assert!(
        wrong.mend.contains("benton") && wrong.mend.contains("override"),
        "{wrong}"
    );
    let mut wanted = eureka;
    wanted["override"] = json!("a trial of two rows");
    desk.does("2026-05-01", wanted);
    desk.refuses(
        "2027-02-01",
        bud(10, "M-1"),
        "the test of M-1 lapsed on 2027-01-01",
    );
    let cut =
        json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": "K-1", "sticks": 2, "buds": 20});
    desk.does("2026-05-01", cut);
    let deeds = vec![
        (bud(10, "M-2"), "buds of M-2 are eureka"),
        (bud(10, "M-9"), "there is no cut, mother tree or lot M-9"),
        (bud(21, "K-1"), "21 buds are more than the 20 left"),
    ];
    all_refused(&mut desk, "2026-05-01", deeds);
    desk.does("2026-05-01", bud(20, "K-1"));
    let discard = json!({"act": "discard_sticks", "cut": "K-1", "sticks": 1, "buds": 1});
    desk.refuses("2026-05-02", discard, "more than the 0 left");
}

#[test]
fn steps_follow_each_other() {
    let mut desk = Desk::set_up();
    desk.does("2026-05-01", bud(20, "M-1"));
    let unwrap = |lot: &str, taken: u32| json!({"act": "unwrap", "lot": lot, "taken": taken, "missed": 3, "dead": 0});
    let wrong = desk.refuses(
        "2026-05-25",
        unwrap("B-1", 18),
        "are 21 together, but 20 buds",
    );
    assert!(wrong.mend.contains("count the lot first"), "{wrong}");
    let shift = |act: &str, lot: &str, place: &str| json!({"act": act, "lot": lot, "plants": 5, "place": place});
    let mut lift = shift("lift", "B-1", "yard");
    lift["size"] = json!("4L");
    let mut taken = shift("move", "L-1", "house");
    taken["new_lot"] = json!("L-2");
    let merge = json!({"act": "merge", "lots": ["L-1", "B-1"], "new_lot": "X"});
    let deeds = vec![
        (json!({"act": "force", "lot": "B-1"}), "not unwrapped yet"),
        (lift, "not forced yet"),
        (unwrap("L-1", 1), "no wrapped buds"),
        (
            shift("line_out", "L-1", "rows"),
            "only seedlings are lined out",
        ),
        (shift("move", "L-1", "moon"), "there is no place moon"),
        (taken, "there is a lot L-2 already"),
        (merge, "another"),
    ];
    all_refused(&mut desk, "2026-05-25", deeds);
}

#[test]
fn acts_that_cannot_be_read_are_told_so() {
    let mut desk = Desk::set_up();
    let set = |what: &str, values: Value| json!({"act": "set", "what": what, "values": values, "from": "2026-05-25"});
    let deeds = vec![
        (
            json!({"act": "accept_plan", "run": "plan-9"}),
            "there is no plan plan-9",
        ),
        (set("moon", json!({})), "no kind of setting"),
        (
            set(
                "place",
                json!({"place": "bed", "kind": "seedbed", "area_m2": "wide"}),
            ),
            "area_m2 is wide",
        ),
        (
            set("place", json!({"place": "bed", "colour": "red"})),
            "no column colour",
        ),
        (
            set(
                "place",
                json!({"place": "#bed", "kind": "seedbed", "area_m2": "40"}),
            ),
            "must not begin with #",
        ),
        (set("nursery", json!({"text": "name = 4"})), "name"),
        (json!({"act": "dance"}), "unknown variant"),
        (
            json!({"act": "rogue", "lot": "L-1", "plants": -4}),
            "cannot be read",
        ),
        (
            json!({"act": "rogue", "lot": "L-1", "plants": 4, "colour": "red"}),
            "unknown field",
        ),
    ];
    all_refused(&mut desk, "2026-05-25", deeds);
    desk.does("2026-05-25", json!({"act": "accept_plan", "run": "plan-1"}));
}

fn line(plants: u32, variety: &str) -> Value {
    json!([{"line": "1", "variety": variety, "rootstocks": ["carrizo", "swingle"], "size": "4L", "plants": plants,
        "earliest": "2026-03-01", "due": "2026-04-01", "latest": "2026-05-01", "price": 1200, "contract": false,
        "substitutes": [{"variety": "salustiana", "rootstock": "carrizo", "size": "4L", "price": 1000}]}])
}

#[test]
fn only_what_was_ordered_and_is_free_is_sent() {
    let mut desk = Desk::set_up();
    let buy = json!({"act": "buy_in", "stage": "finished", "rootstock": "carrizo", "variety": "valencia", "size": "4L",
        "plants": 50, "place": "yard", "source": "a seller", "lot": "T-1"});
    desk.does("2026-03-01", buy);
    for (order, variety) in [("O-1", "valencia"), ("O-2", "salustiana")] {
        let order =
            json!({"act": "order", "order": order, "customer": "c1", "lines": line(30, variety)});
        desk.does("2026-03-02", order);
    }
    let ship = |order: &str, plants: u32| json!({"act": "ship", "order": order, "line": "1", "lot": "T-1", "plants": plants});
    let deeds = vec![
        (
            ship("O-2", 5),
            "T-1 is valencia on carrizo, 4L, but O-2/1 is salustiana",
        ),
        (ship("O-3", 5), "there is no order O-3"),
        (
            ship("O-1", 31),
            "31 plants are more than the 30 that O-1/1 still takes",
        ),
    ];
    all_refused(&mut desk, "2026-03-03", deeds);
    desk.does(
        "2026-03-03",
        json!({"act": "hold", "lot": "T-1", "reason": "scale insects"}),
    );
    desk.refuses("2026-03-03", ship("O-1", 5), "T-1 is held since 2026-03-03");
    let release = json!({"act": "release", "lot": "T-1", "reason": "treated"});
    desk.does("2026-03-04", release.clone());
    desk.refuses("2026-03-04", release, "not held");
    desk.does("2026-03-04", ship("O-1", 25));
    let change = |plants: u32| json!({"act": "change_order", "order": "O-1", "lines": line(plants, "valencia")});
    desk.refuses("2026-03-05", change(24), "25 plants of O-1/1 are shipped");
    desk.does("2026-03-05", change(40));
    desk.does("2026-03-05", ship("O-1", 15));
    let promise = |order: &str, plants: u32| json!({"act": "promise", "order": order, "line": "1", "plants": plants});
    desk.refuses("2026-03-05", promise("O-1", 41), "more than the 40 ordered");
    desk.does("2026-03-05", promise("O-1", 40));
    desk.does("2026-03-06", json!({"act": "cancel_order", "order": "O-2"}));
    desk.refuses("2026-03-06", promise("O-2", 4), "is cancelled");
}

#[test]
fn a_spraying_names_its_place_and_product_and_closes_it_for_days_that_can_be() {
    let mut desk = Desk::set_up();
    let spray = |place: &str, product: &str, until: &str| json!({"act": "spray", "place": place, "product": product, "closed_until": until});
    for (deed, words) in [
        (spray("moon", "oil", "2026-10-02"), "moon"),
        (
            spray("rows", " ", "2026-10-02"),
            "it is not said what was sprayed",
        ),
        (
            spray("rows", "oil", "2026-09-30"),
            "cannot be closed until 2026-09-30",
        ),
        (
            spray("rows", "oil", "2026-12-01"),
            "cannot be closed until 2026-12-01",
        ),
    ] {
        desk.refuses("2026-10-01", deed, words);
    }
    let first = desk.does("2026-10-01", spray("rows", "oil", "2026-10-03"));
    desk.does(
        "2026-10-01",
        json!({"act": "spray", "place": "rows", "product": "soap"}),
    );
    let products = |desk: &Desk| {
        let sprays = desk.books.sprays.iter();
        sprays.map(|(_, it)| it.product.clone()).collect::<Vec<_>>()
    };
    assert_eq!(products(&desk), ["oil", "soap"]);
    desk.does(
        "2026-10-02",
        json!({"act": "correct", "corrects": first, "reason": "it was the other place"}),
    );
    assert_eq!(products(&desk), ["soap"]);
}
