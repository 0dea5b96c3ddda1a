//! What lines ask for, what is tagged for them, and what samples and counts tell.

use jiff::civil::{Date, date};
use nursery::ids::LotName;
use nursery::ledger::Deed;
use nursery::ledger::export;
use nursery::ledger::import;
use nursery::records::{CountOfLot, LotLuck, OrderLine};
use nursery::templates::template;
use nursery::{FileSet, Nursery};
use serde_json::{Value, json};

use super::Desk;

/// A line of Valencia on Carrizo in 4 L, with more keys.
fn line(name: &str, plants: u32, more: &Value) -> Value {
    let mut line = json!({"line": name, "variety": "valencia", "rootstocks": ["carrizo"], "size": "4L", "plants": plants,
        "earliest": "2027-03-01", "due": "2027-04-01", "latest": "2027-06-01", "price": 1250, "contract": true});
    if let (Some(keys), Some(more)) = (line.as_object_mut(), more.as_object()) {
        keys.extend(more.clone());
    }
    line
}

fn order(name: &str, lines: &[Value]) -> Value {
    json!({"act": "order", "order": name, "customer": "C-1", "lines": lines})
}

fn tag(line: &str, lot: &str, plants: u32) -> Value {
    json!({"act": "tag", "order": "O-1", "line": line, "lot": lot, "plants": plants})
}

fn ship(line: &str, lot: &str, plants: u32) -> Value {
    json!({"act": "ship", "order": "O-1", "line": line, "lot": lot, "plants": plants})
}

fn finished(lot: &str, plants: u32, source: &str) -> Value {
    json!({"act": "open_lot", "lot": lot, "stage": "finished", "rootstock": "carrizo", "variety": "valencia", "size": "4L",
        "place": "yard", "growing": 0, "ready": plants, "entered": "2026-06-01", "source": source})
}

/// A desk with two lots of finished trees and an order of two lines.
fn selling(terms: &Value) -> Desk {
    let mut desk = Desk::set_up();
    desk.does("2026-09-01", finished("F-1", 100, "M-1"));
    desk.does("2026-09-01", finished("F-2", 50, "a seller"));
    desk.does(
        "2026-09-02",
        order("O-1", &[line("1", 80, terms), line("2", 80, &json!({}))]),
    );
    desk
}

/// What is tagged of a lot, by line.
fn tags(desk: &Desk, lot: &str) -> Vec<(String, u32)> {
    let tags = desk.books.tagged(&LotName::from(lot)).into_iter();
    tags.map(|it| (it.line, it.plants)).collect()
}

fn of(tags: &[(&str, u32)]) -> Vec<(String, u32)> {
    let tags = tags.iter();
    tags.map(|(line, plants)| ((*line).to_owned(), *plants))
        .collect()
}

#[test]
fn tagged_plants_go_to_their_line_alone() {
    let mut desk = selling(&json!({}));
    desk.does("2026-10-01", tag("1", "F-1", 60));
    desk.does("2026-10-02", tag("2", "F-1", 30));
    assert_eq!(tags(&desk, "F-1"), of(&[("1", 60), ("2", 30)]));
    let few = desk.refuses(
        "2026-10-03",
        tag("2", "F-1", 41),
        "100 stand, and 60 of them are tagged for other lines",
    );
    assert!(few.mend.contains("at most 40"), "{few}");
    let refused = desk.refuses(
        "2026-10-03",
        ship("2", "F-1", 41),
        "of the 100 plants in F-1 these are tagged: 60 for O-1/1",
    );
    assert!(refused.mend.contains("at most 40"), "{refused}");
    desk.does("2026-10-03", ship("2", "F-1", 40));
    desk.does("2026-10-04", ship("1", "F-1", 20));
    assert_eq!(
        tags(&desk, "F-1"),
        of(&[("1", 40)]),
        "what is shipped is tagged no more"
    );
    desk.does("2026-10-05", tag("1", "F-1", 0));
    assert_eq!(tags(&desk, "F-1"), of(&[]));
    desk.refuses(
        "2026-10-05",
        tag("1", "F-1", 0),
        "no plants of F-1 are tagged for O-1/1",
    );
}

#[test]
fn a_tag_is_for_plants_that_its_line_takes() {
    let mut desk = selling(&json!({}));
    for (deed, words) in [
        (tag("9", "F-1", 10), "there is no line 9"),
        (tag("1", "F-9", 10), "there is no lot F-9"),
        (tag("1", "L-1", 10), "L-1 is not budded yet"),
        (tag("1", "F-1", 81), "it still takes 80"),
        (tag("1", "F-2", 51), "51 plants are more than F-2 can spare"),
    ] {
        desk.refuses("2026-10-01", deed, words);
    }
    desk.does("2026-10-01", tag("1", "F-1", 60));
    desk.refuses(
        "2026-10-01",
        tag("1", "F-2", 21),
        "60 of other lots are tagged for it",
    );
    let other = json!({"act": "order", "order": "O-2", "customer": "C-1",
        "lines": [line("1", 10, &json!({"size": "10L"}))]});
    desk.does("2026-10-01", other);
    let mut tag_of_other = tag("1", "F-1", 5);
    tag_of_other["order"] = json!("O-2");
    desk.refuses(
        "2026-10-01",
        tag_of_other,
        "but O-2/1 is valencia on carrizo, 10L",
    );
}

#[test]
fn the_last_tag_lacks_plants_first() {
    let mut desk = selling(&json!({}));
    desk.does("2026-10-02", tag("2", "F-1", 30));
    desk.does("2026-10-03", tag("1", "F-1", 60));
    let lost = desk.does(
        "2026-10-04",
        json!({"act": "lose", "lot": "F-1", "plants": 30, "reason": "frost"}),
    );
    assert_eq!(tags(&desk, "F-1"), of(&[("2", 30), ("1", 40)]));
    desk.does(
        "2026-10-05",
        json!({"act": "count", "lot": "F-1", "plants": 20}),
    );
    assert_eq!(tags(&desk, "F-1"), of(&[("2", 20)]));
    let day = |it| desk.books.tagged_on(&LotName::from("F-1"), it).len();
    assert_eq!((day(date(2026, 10, 2)), day(date(2026, 10, 4))), (1, 2));
    desk.does(
        "2026-10-06",
        json!({"act": "correct", "corrects": lost, "reason": "none were lost"}),
    );
    assert_eq!(tags(&desk, "F-1"), of(&[("2", 20)]), "as counted");
    desk.does(
        "2026-10-07",
        json!({"act": "cancel_order", "order": "O-1", "lines": ["2"]}),
    );
    assert_eq!(
        tags(&desk, "F-1"),
        of(&[("1", 20)]),
        "a cancelled line needs none"
    );
}

#[test]
fn tags_follow_plants_that_leave() {
    let mut desk = selling(&json!({}));
    desk.does("2026-10-01", tag("1", "F-1", 60));
    desk.does("2026-10-02", tag("2", "F-1", 30));
    let split =
        |plants, to: &str| json!({"act": "split", "lot": "F-1", "plants": plants, "new_lot": to});
    desk.does("2026-10-03", split(10, "S-1"));
    assert_eq!(
        tags(&desk, "F-1"),
        of(&[("1", 60), ("2", 30)]),
        "enough is left"
    );
    let parted = desk.does("2026-10-04", split(50, "S-2"));
    assert_eq!(tags(&desk, "F-1"), of(&[("1", 40)]));
    assert_eq!(tags(&desk, "S-2"), of(&[("1", 20), ("2", 30)]));
    let merge = json!({"act": "merge", "lots": ["F-1", "S-2"], "new_lot": "W-1"});
    let joined = desk.does("2026-10-05", merge);
    let mut all = tags(&desk, "W-1");
    all.sort();
    assert_eq!(all, of(&[("1", 60), ("2", 30)]));
    assert_eq!(tags(&desk, "F-1"), of(&[]));
    let undo = |act| json!({"act": "correct", "corrects": act, "reason": "it never happened"});
    desk.does("2026-10-06", undo(joined));
    desk.does("2026-10-06", undo(parted));
    assert_eq!(tags(&desk, "F-1"), of(&[("1", 60), ("2", 30)]));
    assert_eq!(tags(&desk, "S-2"), of(&[]));
    // Potted on they are no longer what was ordered.
    desk.does(
        "2026-10-07",
        json!({"act": "pot_up", "lot": "F-1", "plants": 90, "place": "yard", "size": "10L"}),
    );
    assert_eq!(tags(&desk, "F-1"), of(&[]));
    assert!(desk.replayed() == desk.books);
}

#[test]
fn a_load_is_as_large_as_agreed_or_the_last() {
    let mut desk = selling(&json!({"minimum_load": 30}));
    let few = desk.refuses(
        "2026-10-01",
        ship("1", "F-1", 20),
        "20 plants are fewer than the 30 of a load",
    );
    assert!(
        few.mend.contains("30 or more") && few.mend.contains("override"),
        "{few}"
    );
    let mut wanted = ship("1", "F-1", 20);
    wanted["override"] = json!("ten more go with it");
    desk.does("2026-10-01", wanted);
    desk.does("2026-10-01", ship("1", "F-2", 10));
    desk.does("2026-10-02", ship("1", "F-1", 35));
    desk.refuses("2026-10-03", ship("1", "F-1", 14), "14 plants are fewer");
    desk.does("2026-10-03", ship("1", "F-1", 15));
}

#[test]
fn trees_are_of_the_class_of_their_mother_trees() {
    let mut desk = selling(&json!({"health_class": "certified"}));
    let class = |desk: &Desk, lot: &str| {
        desk.books
            .health_class(&LotName::from(lot), date(2027, 1, 1))
    };
    assert_eq!(class(&desk, "F-1"), None, "the row of M-1 names none");
    let row = |tree: &str, class: &str| {
        json!({"act": "set", "what": "mother_tree", "from": "2026-01-01",
        "values": {"mother_tree": tree, "variety": "valencia", "buds_per_year": 900, "cut_seasons": "03-01/10-31",
            "tested_on": "2026-01-01", "result": "clean", "health_class": class}})
    };
    desk.does("2026-09-03", row("M-1", "certified"));
    desk.does("2026-09-03", row("M-3", "standard"));
    assert_eq!(class(&desk, "F-1").as_deref(), Some("certified"));
    assert_eq!(
        class(&desk, "F-2"),
        None,
        "nobody knows where its buds came from"
    );
    assert_eq!(class(&desk, "L-1"), None, "it is not budded");
    let lacks = desk.refuses(
        "2026-10-01",
        ship("1", "F-2", 10),
        "F-2 has no health class that is known",
    );
    assert!(lacks.mend.contains("override"), "{lacks}");
    desk.does("2026-09-01", finished("F-3", 20, "M-3"));
    desk.refuses(
        "2026-10-01",
        ship("1", "F-3", 10),
        "F-3 is of health class standard, but O-1/1 asks for certified",
    );
    let merge = json!({"act": "merge", "lots": ["F-1", "F-3"], "new_lot": "W-1"});
    desk.does("2026-10-01", merge);
    assert_eq!(class(&desk, "W-1"), None, "the two differ");
    let mut wanted = ship("1", "W-1", 10);
    wanted["override"] = json!("the customer takes them");
    desk.does("2026-10-02", wanted);
    desk.does("2026-10-02", ship("2", "F-2", 10));
}

#[test]
fn a_line_asks_for_nothing_that_cannot_be() {
    let mut desk = Desk::set_up();
    let substitute = |variety: &str, price: i64| json!({"substitutes": [{"variety": variety, "rootstock": "carrizo", "size": "4L", "price": price}]});
    for (terms, words) in [
        (json!({"deposit": -1}), "the deposit of line 1 is below 0"),
        (
            json!({"cancel_percent": 101}),
            "101 is not between 0 and 100 percent",
        ),
        (json!({"minimum_load": -5}), "a whole number, 0 or more"),
        (json!({"target_percent": 100}), "not from 1 to 99 %"),
        (json!({"target_percent": 0.5}), "not from 1 to 99 %"),
        (json!({"grade": " "}), "the grade is empty"),
        (json!({"health_class": ""}), "the health class is empty"),
        (substitute("none", 1), "nobody knows the variety none"),
        (
            substitute("valencia", -1),
            "the price of a substitute of line 1",
        ),
        (json!({"minimum_loads": 5}), "minimum_loads"),
    ] {
        desk.refuses("2026-10-01", order("O-1", &[line("1", 10, &terms)]), words);
    }
}

#[test]
fn a_sample_says_something_and_fits_its_lot() {
    let mut desk = Desk::set_up();
    let measure = |more: Value| {
        let mut deed = json!({"act": "measure", "lot": "L-1"});
        if let (Some(keys), Some(more)) = (deed.as_object_mut(), more.as_object()) {
            keys.extend(more.clone());
        }
        deed
    };
    for (more, words) in [
        (json!({"looked_at": 10}), "nothing was seen"),
        (json!({"fit": 3}), "plants looked at are none"),
        (
            json!({"looked_at": 10, "fit": 11}),
            "11 fit plants are more than the 10",
        ),
        (
            json!({"looked_at": 101, "fit": 11}),
            "more than the 100 that stand",
        ),
        (
            json!({"looked_at": 3, "calipers_mm": [8.0, 9.0]}),
            "2 calipers are given of 3",
        ),
        (
            json!({"looked_at": 3, "fit": 1, "fit_from_mm": 8}),
            "tells nothing without calipers",
        ),
        (
            json!({"calipers_mm": [0.0]}),
            "0 is not between 0.1 and 200 mm",
        ),
        (json!({"calipers_mm": [201]}), "201 is not between"),
    ] {
        desk.refuses("2026-10-01", measure(more), words);
    }
    desk.does("2026-10-01", measure(json!({"looked_at": 20, "fit": 8})));
    let wrong = desk.does(
        "2026-09-01",
        measure(json!({"calipers_mm": [7.24, 8, 9.5], "fit_from_mm": 8})),
    );
    let looks = |desk: &Desk| {
        let lot = &desk.books.lots[&LotName::from("L-1")];
        let looks = lot.looks.iter().map(|(when, it)| it.look(when.on));
        looks.collect::<Vec<_>>()
    };
    let seen = looks(&desk);
    assert_eq!(
        (seen[0].on, seen[0].looked_at, seen[0].fit),
        (date(2026, 9, 1), 3, Some(2))
    );
    assert_eq!(
        (&seen[0].calipers_mm[..], seen[0].fit_from_mm),
        (&[7.2, 8.0, 9.5][..], Some(8.0))
    );
    assert_eq!((seen[1].looked_at, seen[1].fit), (20, Some(8)));
    desk.does(
        "2026-10-02",
        json!({"act": "correct", "corrects": wrong, "right": {"fit_from_mm": 9}, "reason": "misread"}),
    );
    assert_eq!(looks(&desk)[0].fit, Some(1));
    desk.does(
        "2026-10-02",
        json!({"act": "correct", "corrects": wrong, "reason": "another lot"}),
    );
    assert_eq!(looks(&desk).len(), 1);
    assert!(desk.replayed() == desk.books);
}

#[test]
fn takes_and_germinations_name_what_shared_their_luck() {
    let mut desk = Desk::set_up();
    let sow = json!({"act": "sow", "rootstock": "carrizo", "seeds": 500, "batch": "C-26", "place": "bed", "lot": "S-1"});
    desk.does("2026-03-01", sow);
    desk.does(
        "2026-03-20",
        json!({"act": "rogue", "lot": "S-1", "plants": 20}),
    );
    desk.does(
        "2026-04-10",
        json!({"act": "count", "lot": "S-1", "plants": 400}),
    );
    desk.does(
        "2026-05-10",
        json!({"act": "count", "lot": "S-1", "plants": 390}),
    );
    let [born] = &desk.books.germinations()[..] else {
        panic!("one lot was sown")
    };
    assert_eq!(
        (born.seeds, born.plants, born.on),
        (500, 400, date(2026, 4, 10))
    );
    assert_eq!(
        (born.seed_batch.as_deref(), born.place.as_str()),
        (Some("C-26"), "bed")
    );

    desk.does(
        "2026-05-11",
        json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": "K-1", "sticks": 9, "buds": 90}),
    );
    desk.does(
        "2026-05-12",
        json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 60, "source": "K-1",
        "method": "t", "budder": "p7", "new_lot": "B-1"}),
    );
    let unwrap = json!({"act": "unwrap", "lot": "B-1", "taken": 48, "missed": 9, "dead": 3});
    let counted = desk.does("2026-06-12", unwrap);
    desk.does(
        "2026-06-13",
        json!({"act": "split", "lot": "B-1", "plants": 20, "new_lot": "B-2"}),
    );
    let [take] = &desk.books.takes()[..] else {
        panic!("one take was counted")
    };
    assert_eq!(
        (take.plants, take.taken, take.place.as_str()),
        (60, 48, "rows")
    );
    assert_eq!(
        (take.cut.as_deref(), take.budder.as_deref()),
        (Some("K-1"), Some("p7"))
    );
    assert_eq!(take.seed_batch.as_deref(), Some("C-25"));
    let luck = |lot: &str| desk.books.luck(&LotName::from(lot));
    let budded = LotLuck {
        seed_batch: Some("C-25".into()),
        cuts: vec!["K-1".into()],
        budder: Some("p7".into()),
    };
    assert_eq!((luck("B-1"), luck("B-2")), (budded.clone(), budded.clone()));
    let stock = LotLuck {
        cuts: Vec::new(),
        budder: None,
        ..budded
    };
    assert_eq!(luck("B-1~missed"), stock, "the bud that failed is gone");
    desk.does("2026-06-14", json!({"act": "correct", "corrects": counted, "right": {"taken": 47, "missed": 10}, "reason": "misread"}));
    assert_eq!(desk.books.takes()[0].taken, 47);
    assert!(desk.replayed() == desk.books);
}

#[test]
fn counts_are_told_until_plants_leave() {
    let mut desk = Desk::set_up();
    let counts = |desk: &Desk, lot: &str, day: Date| {
        let mut nursery = read_back(desk, day);
        desk.books.fill_in(&mut nursery, day);
        let row = nursery.lots.into_iter().find(|it| it.lot.as_str() == lot);
        row.map(|it| it.counts).expect("it stands")
    };
    let count =
        |lot: &str, plants: u32| json!({"act": "count", "lot": lot, "plants": plants, "ready": 5});
    desk.does("2026-05-01", count("L-1", 95));
    assert_eq!(
        counts(&desk, "L-1", date(2026, 5, 2)),
        [],
        "nobody knows how many entered"
    );
    let out = json!({"act": "pot_up", "lot": "L-1", "plants": 95, "place": "house"});
    desk.does("2026-05-02", out);
    let lose = json!({"act": "lose", "lot": "L-1", "plants": 5, "reason": "heat"});
    desk.does("2026-06-01", lose);
    desk.does("2026-07-01", count("L-1", 88));
    desk.does(
        "2026-08-01",
        json!({"act": "split", "lot": "L-1", "plants": 8, "new_lot": "P-1"}),
    );
    desk.does("2026-09-01", count("L-1", 79));
    let clean = CountOfLot {
        on: date(2026, 7, 1),
        plants: 88,
        ready: Some(5),
        entered: 95,
    };
    assert_eq!(counts(&desk, "L-1", date(2026, 12, 1)), [clean]);
    assert_eq!(counts(&desk, "L-1", date(2026, 6, 30)), []);
    assert_eq!(counts(&desk, "P-1", date(2026, 12, 1)), []);
}

/// The nursery of the books' files on a day.
fn read_back(desk: &Desk, day: Date) -> Nursery {
    let mut set = export::files(&desk.books, day);
    for name in FileSet::REQUIRED {
        let stand_in = || template(name).expect("a template").as_bytes().to_vec();
        set.files.entry((*name).to_owned()).or_insert_with(stand_in);
    }
    Nursery::from_files(&set, day).unwrap_or_else(|problems| panic!("{problems}"))
}

fn orders_of(nursery: &Nursery) -> Vec<Value> {
    let deeds = import::deeds(&FileSet::default(), nursery, nursery.as_of).into_iter();
    let orders = deeds.filter(|it| matches!(it, Deed::Order(_)));
    orders
        .map(|it| serde_json::to_value(it).expect("an order"))
        .collect()
}

#[test]
fn what_a_line_asks_for_goes_there_and_back() {
    let terms = json!({"tolerance_percent": 2.0, "deposit": 20000, "cancel_percent": 12.5, "minimum_load": 30, "target_percent": 95.0, "grade": "first",
        "health_class": "certified", "substitutes": [
            {"variety": "valencia", "rootstock": "swingle", "size": "4L", "price": 1200},
            {"variety": "valencia", "rootstock": "carrizo", "size": "10L", "price": 2400}]});
    let mut desk = selling(&terms);
    desk.does(
        "2026-10-01",
        json!({"act": "promise", "order": "O-1", "line": "1", "plants": 70}),
    );
    desk.does("2026-10-01", tag("1", "F-1", 50));
    let mut sent = ship("1", "F-1", 30);
    sent["override"] = json!("the customer takes them");
    desk.does("2026-10-02", sent);
    let day = date(2026, 12, 1);
    let mut nursery = read_back(&desk, day);
    let orders = orders_of(&nursery);
    let first = &orders[0]["lines"][0];
    assert_eq!(
        *first,
        line("1", 50, &terms),
        "what is shipped is taken off"
    );
    desk.books.fill_in(&mut nursery, day);
    let line: &OrderLine = &nursery.orders[0];
    assert_eq!(
        (line.promised, &line.tags[..]),
        (Some(40), &[(LotName::from("F-1"), 20)][..])
    );
    assert_eq!(
        (line.deposit, line.minimum_load, line.cancel),
        (20_000, 30, 0.125)
    );
    let other = &nursery.orders[1];
    let usual = nursery.settings.orders.cancel(true);
    assert_eq!(
        (other.cancel, other.promised, other.tags.len()),
        (usual, None, 0)
    );
    assert!(
        orders[0]["lines"][1]["cancel_percent"].is_null(),
        "as usual stays so"
    );
}

/// What the nursery of the books' files on a day asks for line 1, with what the books know beyond them.
fn asked_of_first(desk: &Desk, day: Date) -> Option<OrderLine> {
    let mut nursery = read_back(desk, day);
    desk.books.fill_in(&mut nursery, day);
    let mut lines = nursery.orders.into_iter();
    lines.find(|line| line.line == "1")
}

#[test]
fn a_line_changed_into_another_is_promised_no_more() {
    let promised_after = |plants: u32, changed: Option<Value>| {
        let mut desk = selling(&json!({}));
        desk.does(
            "2026-10-01",
            json!({"act": "promise", "order": "O-1", "line": "1", "plants": plants}),
        );
        if let Some(line) = changed {
            desk.does(
                "2026-10-02",
                json!({"act": "change_order", "order": "O-1", "lines": [line]}),
            );
        }
        let before = asked_of_first(&desk, date(2026, 10, 1)).expect("it is open");
        assert_eq!(before.promised, Some(plants), "it was promised that day");
        asked_of_first(&desk, date(2026, 10, 3))
            .expect("it is open")
            .promised
    };
    assert_eq!(promised_after(80, None), Some(80));
    for other in [
        json!({"variety": "eureka"}),
        json!({"rootstocks": ["swingle"]}),
        json!({"size": "10L"}),
        json!({"due": "2027-03-31"}),
        json!({"plants": 81}),
    ] {
        let changed = line("1", 80, &other);
        assert_eq!(promised_after(80, Some(changed)), None, "{other}");
    }
    for same in [
        json!({"price": 1300}),
        json!({"due": "2027-04-02"}),
        json!({"plants": 60}),
    ] {
        let changed = line("1", 80, &same);
        assert_eq!(promised_after(80, Some(changed)), Some(80), "{same}");
    }
    // A part that was promised stays so as long as the line asks for no more plants.
    let dearer = line("1", 80, &json!({"price": 1300}));
    assert_eq!(promised_after(50, Some(dearer)), Some(50));
    assert_eq!(promised_after(50, Some(line("1", 81, &json!({})))), None);
}

#[test]
fn a_line_that_is_another_for_a_while_has_to_be_promised_again() {
    let mut desk = selling(&json!({}));
    let promise = json!({"act": "promise", "order": "O-1", "line": "1", "plants": 80});
    let change = |to: &Value| {
        let lines = [line("1", 80, to)];
        json!({"act": "change_order", "order": "O-1", "lines": lines})
    };
    let promised = |desk: &Desk, day| asked_of_first(desk, day).expect("it is open").promised;
    desk.does("2026-10-01", promise.clone());
    desk.does("2026-10-02", change(&json!({"due": "2027-03-31"})));
    desk.does("2026-10-03", change(&json!({})));
    assert_eq!(promised(&desk, date(2026, 10, 3)), None);
    desk.does("2026-10-04", promise);
    assert_eq!(promised(&desk, date(2026, 10, 4)), Some(80));
}

#[test]
fn a_line_of_which_part_was_sent_off_keeps_the_slack_of_the_whole() {
    let day = date(2026, 10, 3);
    let left_after = |sent: u32, percent: f64| {
        let mut desk = selling(&json!({}));
        desk.does("2026-09-01", finished("F-3", 2_000, "M-1"));
        let ordered = line("1", 1_000, &json!({"tolerance_percent": percent}));
        desk.does(
            "2026-09-03",
            json!({"act": "change_order", "order": "O-1", "lines": [ordered]}),
        );
        if sent > 0 {
            desk.does("2026-10-01", ship("1", "F-3", sent));
        }
        let row = &read_back(&desk, day).orders[0];
        assert!(
            (row.tolerance - percent / 100.0).abs() < 1e-12,
            "the file has what was agreed"
        );
        asked_of_first(&desk, day).map(|it| (it.plants, it.tolerance))
    };
    assert_eq!(left_after(0, 5.0), Some((1_000, 0.05)));
    assert_eq!(left_after(0, 100.0), Some((1_000, 1.0)));
    assert_eq!(left_after(900, 5.0), Some((100, 0.5)));
    assert_eq!(left_after(949, 5.0), Some((51, 50.0 / 51.0)));
    assert_eq!(left_after(950, 5.0), None);
    assert_eq!(left_after(960, 5.0), None);
    // A share that is no whole number of plants is rounded down; without one all is asked for.
    assert_eq!(left_after(900, 0.29), Some((100, 0.02)));
    assert_eq!(left_after(999, 0.0), Some((1, 0.0)));
}

#[test]
fn the_nursery_knows_what_was_cut_and_how_many_buds_its_stocks_take() {
    let mut desk = Desk::set_up();
    desk.does(
        "2026-05-01",
        json!({"act": "cut_sticks", "mother_tree": "M-1", "cut": "c-1", "sticks": 9, "buds": 100}),
    );
    let bud = |buds: Option<u32>, name: &str| {
        let mut act = json!({"act": "bud", "lot": "L-1", "variety": "valencia", "plants": 10, "source": "c-1",
            "method": "t", "new_lot": name});
        if let Some(buds) = buds {
            act["buds"] = json!(buds);
        }
        act
    };
    desk.does("2026-05-02", bud(Some(14), "B-1"));
    // Of how many buds nobody wrote down, nothing is learned.
    desk.does("2026-05-03", bud(None, "B-2"));
    let used = |desk: &Desk, day| {
        let mut nursery = read_back(desk, day);
        desk.books.fill_in(&mut nursery, day);
        let cuts = nursery.budwood.cuts.expect("books are kept");
        let left: Vec<(String, u32, u32)> = cuts
            .into_iter()
            .map(|it| (it.cut, it.buds, it.left))
            .collect();
        (left, nursery.budwood.used.buds, nursery.budwood.used.stocks)
    };
    let c_1 = |left| vec![("c-1".to_owned(), 100, left)];
    assert_eq!(used(&desk, date(2026, 4, 30)), (vec![], 0, 0));
    assert_eq!(used(&desk, date(2026, 5, 1)), (c_1(100), 0, 0));
    assert_eq!(used(&desk, date(2026, 5, 3)), (c_1(76), 14, 10));
    desk.does(
        "2026-05-04",
        json!({"act": "hold", "mother_tree": "M-1", "reason": "looks odd"}),
    );
    assert_eq!(used(&desk, date(2026, 5, 4)), (c_1(0), 14, 10));
}
