//! Orders on their pages, from an enquiry to the last tree sent off.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use app::ledger::NurseryFile;
use jiff::ToSpan;
use jiff::civil::date;
use serde_json::{Value, json};

use super::ask::Ask;
use super::office::Office;
use super::reply::Reply;
use super::routes::PageOf;
use super::test_office::{DAY as TODAY, Scene, fields, scene, ulid};
use super::{enquiry, honesty, keeper, lot, order, order_form, page, promises, record, trees};

const NOW: &str = "2027-03-01T12:00:00Z";

/// Two years of one mild day: nothing here asks how warm it is.
fn weather() -> String {
    let days = date(2025, 1, 1).series(1.day());
    let rows = days.take_while(|day| *day <= TODAY);
    rows.fold("date,tmin,tmax,rain_mm\n".to_owned(), |table, day| {
        // No thermometer stands still.
        let tenth = day.day_of_year() % 2;
        format!("{table}{day},8.{tenth},19.{tenth},0.0\n")
    })
}

/// An office over the small nursery: lots, prices and four order lines.
fn small() -> Scene {
    scene(|path| {
        let mut file = NurseryFile::create(path)?;
        let tables = path.with_extension("tables");
        fs::create_dir(&tables).expect("a folder beside it");
        let small = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/tests/small-nursery");
        for table in fs::read_dir(small).expect("the tables of the small nursery") {
            let table = table.expect("a table");
            fs::copy(table.path(), tables.join(table.file_name())).expect("a copy of it");
        }
        fs::write(tables.join("weather.csv"), weather()).expect("its weather");
        file.import(&tables, TODAY, "anna", NOW)?;
        Ok(file)
    })
}

/// Odds of one line and the plan's words on it.
fn odds(order: &str, line: &str, on_time: f64) -> Value {
    json!({"order": order, "line": line, "on_spec": false, "on_time": on_time, "by_latest": on_time,
        "mean_short": 1.5, "week": {"p10": "2027-W10", "p50": "2027-W11", "p90": null},
        "driver": "too few plants"})
}

/// A plan and its futures: one line safe, one likely, one lost, one the plan lets go short.
fn keep_runs(office: &Office) {
    let line = |order: &str, line: &str| {
        json!({"order": order, "line": line, "on_spec": false, "plants": 1, "planned_on_time": 1.0,
        "planned_late": 0.0, "on_time": null, "by_latest": null, "target": 0.9})
    };
    let plan = json!({
        "run": "plan-1",
        "jobs": [{"job": "j", "operation": "lift", "week": "2027-W40", "place": "yard-1", "plants": 90,
            "from": [{"lot": "B-26-2", "plants": 90.0}], "serves": [{"line": "O-101/2", "trees": 44.5}]}],
        "lines": [line("O-101", "1"), line("O-101", "2"), line("O-102", "1"), line("O-103", "1")],
        "short": [{"order": "O-103", "line": "1", "plants": 40.0, "why": "too few buds of navel"}],
    });
    let week = |week: &str, plants: f64| json!({"week": week, "p05": plants, "p50": plants, "p95": plants});
    let product = |rootstock: &str, plants: f64| {
        json!({"variety": "valencia", "rootstock": rootstock, "size": "4L",
            "free": [week("2027-W10", plants), week("2027-W40", plants + 50.0)]})
    };
    let futures = json!({
        "run": "futures-1",
        "lines": [odds("O-101", "1", 0.99), odds("O-101", "2", 0.02), odds("O-102", "1", 0.93),
            odds("O-103", "1", 0.97)],
        "products": [product("carrizo", 100.0), product("swingle", 30.0)],
    });
    let kept = office.desk.write(|file| {
        file.keep_run("plan", "plan-1", &plan, TODAY, NOW)?;
        file.keep_run("futures", "futures-1", &futures, TODAY, NOW)
    });
    kept.expect("runs kept");
}

fn asked(path: &str, parts: &[(&str, &str)], query: &[(&str, &str)]) -> Ask {
    let parts = parts.iter();
    Ask {
        path: path.to_owned(),
        parts: parts
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
            .collect(),
        query: fields(query),
        who: Some("anna".to_owned()),
        ..Ask::default()
    }
}

/// What a page shows.
fn shown(office: &Office, ask: &Ask, of: PageOf) -> String {
    match of(office, ask) {
        Ok(Reply::Page(it) | Reply::NotDone(it)) => page::render(office, ask, &it),
        Ok(_) => panic!("{} is no page", ask.path),
        Err(error) => panic!("{}: {error}", ask.path),
    }
}

fn book(office: &Office, query: &[(&str, &str)]) -> String {
    shown(office, &asked("/promises", &[], query), promises::page)
}

fn order_page(office: &Office, name: &str) -> String {
    let ask = asked(&format!("/orders/{name}"), &[("name", name)], &[]);
    shown(office, &ask, order::page)
}

fn file_of(office: &Office, query: &[(&str, &str)]) -> String {
    match promises::csv(office, &asked("/promises.csv", &[], query)) {
        Ok(Reply::File { bytes, .. }) => String::from_utf8(bytes).expect("UTF-8"),
        _ => panic!("no file"),
    }
}

/// Names of the lines in a file of the book.
fn lines(csv: &str) -> Vec<String> {
    let rows = csv.lines().skip(1);
    rows.map(|row| row.splitn(3, ',').take(2).collect::<Vec<_>>().join("/"))
        .collect()
}

/// Sends a form; the reply and how many acts the ledger has then.
fn send(office: &Office, ask: &Ask, of: PageOf) -> (Reply, u64) {
    let reply = of(office, ask).expect("a reply");
    let number = office.desk.read(|_, sight| Ok(sight.books.number));
    (reply, number.expect("a number"))
}

fn to(reply: &Reply) -> &str {
    match reply {
        Reply::See(to) => to,
        _ => panic!("it was not done"),
    }
}

/// What a form shows that was not taken.
fn not_done(office: &Office, ask: &Ask, reply: &Reply) -> String {
    match reply {
        Reply::NotDone(it) => page::render(office, ask, it),
        _ => panic!("it was done"),
    }
}

const LINE: [(&str, &str); 8] = [
    ("line", "1"),
    ("variety", "valencia"),
    ("rootstock1", "carrizo"),
    ("rootstock2", "swingle"),
    ("size", "4L"),
    ("plants", "1 200"),
    ("due", "2028-05-01"),
    ("price", "12.50"),
];

fn new_order(id: &str, more: &[(&str, &str)]) -> Ask {
    let own = [("id", id), ("order", "O-200"), ("customer", "C-50")];
    let mut form = fields(more);
    form.0.extend(fields(&own).0);
    form.0.extend(fields(&LINE).0);
    Ask {
        form,
        ..asked("/orders/new", &[], &[])
    }
}

fn line_form(order: &str, form: &[(&str, &str)]) -> Ask {
    Ask {
        form: fields(form),
        ..asked(&format!("/orders/{order}/line"), &[("name", order)], &[])
    }
}

#[test]
fn without_futures_the_book_says_what_to_do() {
    let scene = small();
    let office = &*scene.office;
    let page = book(office, &[]);
    assert!(
        page.contains("4 open order lines, no odds yet; none needs a decision."),
        "{page}"
    );
    assert!(page.contains("make a plan") && page.contains("href=\"/seasons\""));
}

#[test]
fn the_book_tells_who_is_safe_and_who_needs_a_decision() {
    let scene = small();
    let office = &*scene.office;
    keep_runs(office);
    let page = book(office, &[]);
    assert!(
        page.contains("2 of 4 open order lines are safe; two need a decision."),
        "{page}"
    );
    assert!(page.contains("40 short in the plan. Too few buds of navel."));
    assert!(page.contains("2\u{202f}% is below the target of 90\u{202f}%."));
    assert!(page.contains("futures as of 1 Mar 2027, today (run futures-1)"));
    for marks in ["● 2 safe", "○ 1 likely", "× 1 lost"] {
        let text = page
            .replace("<span aria-hidden=\"true\">", "")
            .replace("</span>", "");
        assert!(text.contains(marks), "{marks}");
    }
}

#[test]
fn filters_and_sorting_stand_in_the_address() {
    let scene = small();
    let office = &*scene.office;
    keep_runs(office);
    let of = |query: &[(&str, &str)]| lines(&file_of(office, query));
    assert_eq!(of(&[]), ["O-101/1", "O-103/1", "O-102/1", "O-101/2"]);
    assert_eq!(
        of(&[("sort", "odds")]),
        ["O-101/2", "O-102/1", "O-103/1", "O-101/1"]
    );
    assert_eq!(of(&[("show", "decide")]), ["O-103/1", "O-101/2"]);
    assert_eq!(of(&[("customer", "C-11")]), ["O-102/1"]);
    assert_eq!(
        of(&[("variety", "valencia"), ("until", "2027-06-30")]),
        ["O-101/1"]
    );
    assert_eq!(of(&[("from", "2027-11-01")]), ["O-101/2"]);
    let page = book(
        office,
        &[("customer", "C-11"), ("sort", "odds"), ("page", "99")],
    );
    assert!(page.contains("1 open order line shown here"));
    assert!(
        page.contains("/promises.csv?customer=C-11&amp;sort=odds"),
        "{page}"
    );
}

#[test]
fn an_order_is_entered_changed_and_cancelled() {
    let scene = small();
    let office = &*scene.office;
    keep_runs(office);
    let ask = new_order(&ulid(), &[]);
    let (reply, number) = send(office, &ask, order_form::enter_order);
    assert!(to(&reply).starts_with("/orders/O-200?done="));
    let (again, same_number) = send(office, &ask, order_form::enter_order);
    assert_eq!((to(&again), same_number), (to(&reply), number));

    let page = order_page(office, "O-200");
    assert!(
        page.contains("Order O-200 for C-50: 1\u{202f}200 trees still to be sent off."),
        "{page}"
    );
    assert!(page.contains("due 1 May 2028, from 3 Apr 2028 to 26 Jun 2028 at the latest"));
    assert!(page.contains("12.50 EUR each, no contract"));
    assert!(page.contains("One line is newer than these odds"));

    let id = ulid();
    let changed = [("id", &*id), ("plants", "900"), ("contract", "yes")]
        .into_iter()
        .chain(LINE)
        .collect::<Vec<_>>();
    let (reply, _) = send(
        office,
        &line_form("O-200", &changed),
        order_form::enter_line,
    );
    assert!(to(&reply).starts_with("/orders/O-200?done="));
    let page = order_page(office, "O-200");
    assert!(
        page.contains("plants from 1\u{202f}200 to 900; under contract from no to yes"),
        "{page}"
    );

    let cancel = Ask {
        form: fields(&[
            ("id", &ulid()),
            ("order", "O-200"),
            ("back", "/orders/O-200"),
        ]),
        ..asked("/do/cancel_order", &[("act", "cancel_order")], &[])
    };
    let (reply, _) = send(office, &cancel, record::enter);
    assert!(to(&reply).starts_with("/orders/O-200?done="));
    assert!(order_page(office, "O-200").contains("Order O-200 for C-50: nothing is open."));
    assert!(!lines(&file_of(office, &[])).contains(&"O-200/1".to_owned()));
    assert!(lines(&file_of(office, &[("show", "all")])).contains(&"O-200/1".to_owned()));
}

#[test]
fn a_refused_order_keeps_what_was_written() {
    let scene = small();
    let office = &*scene.office;
    let ask = new_order(&ulid(), &[("latest", "2028-04-30")]);
    let (reply, _) = send(office, &ask, order_form::enter_order);
    let page = not_done(office, &ask, &reply);
    assert!(
        page.contains("The days of line 1 are not in order."),
        "{page}"
    );
    assert!(page.contains("value=\"C-50\"") && page.contains("value=\"1 200\""));
    assert!(page.contains("value=\"swingle\" selected"));

    let wrong = [
        ("price", "twelve"),
        ("rootstock2", "carrizo"),
        ("tolerance_percent", "101"),
        ("substitute1.variety", "valencia"),
    ];
    let ask = new_order(&ulid(), &wrong);
    let (reply, number) = send(office, &ask, order_form::enter_order);
    let page = not_done(office, &ask, &reply);
    for why in [
        "“twelve” cannot be read",
        "This rootstock stands above already.",
        "Write a share from 0 to 100.",
        "Give variety, rootstock and size together",
    ] {
        assert!(page.contains(why), "{why}");
    }
    let (_, after) = send(office, &ask, order_form::enter_order);
    assert_eq!(number, after, "what cannot be read is no act");
}

#[test]
fn a_line_on_top_never_changes_one_that_is_there() {
    let scene = small();
    let office = &*scene.office;
    let ask = asked("/orders/O-101/line", &[("name", "O-101")], &[]);
    let form = shown(office, &ask, order_form::line_page);
    assert!(form.contains("name=\"line\" type=\"text\" maxlength=\"200\" autocomplete=\"off\" required value=\"3\""), "{form}");

    let adds = |id: &str, line: &str| {
        let own = [("id", id), ("adds", "yes"), ("line", line)];
        line_form("O-101", &own.into_iter().chain(LINE).collect::<Vec<_>>())
    };
    let ask = adds(&ulid(), "2");
    let (reply, _) = send(office, &ask, order_form::enter_line);
    assert!(not_done(office, &ask, &reply).contains("The order has a line of this name."));

    let ask = adds(&ulid(), "3");
    let (reply, number) = send(office, &ask, order_form::enter_line);
    let (again, same_number) = send(office, &ask, order_form::enter_line);
    assert_eq!((to(&again), same_number), (to(&reply), number));
    assert!(order_page(office, "O-101").contains("Line 3: 1\u{202f}200 Valencia on"));
}

#[test]
fn a_line_is_changed_from_what_was_agreed() {
    let scene = small();
    let office = &*scene.office;
    let ask = asked("/orders/O-101/line", &[("name", "O-101")], &[("line", "2")]);
    let form = shown(office, &ask, order_form::line_page);
    for kept in [
        "name=\"line\" value=\"2\"",
        "value=\"washington-navel\" selected",
        "value=\"120\"",
        "value=\"13.00\"",
        "value=\"2027-11-01\"",
        "value=\"yes\" checked",
        "value=\"5\"",
    ] {
        assert!(form.contains(kept), "{kept}: {form}");
    }
}

#[test]
fn finished_trees_that_stand_are_sent_off_from_the_order() {
    let scene = small();
    let office = &*scene.office;
    keep_runs(office);
    let page = order_page(office, "O-101");
    let ship =
        "/do/ship?order=O-101&amp;line=1&amp;lot=F-26-1&amp;plants=150&amp;back=%2Forders%2FO-101";
    assert!(page.contains(ship), "{page}");
    assert!(
        page.contains("44.5") && page.contains("href=\"/lots/B-26-2\""),
        "work that serves line 2"
    );

    let form = [
        ("id", &*ulid()),
        ("order", "O-101"),
        ("line", "1"),
        ("lot", "F-26-1"),
        ("plants", "60"),
    ];
    let ask = Ask {
        form: fields(&form),
        ..asked("/do/ship", &[("act", "ship")], &[])
    };
    send(office, &ask, record::enter);
    let promise = [
        ("id", &*ulid()),
        ("order", "O-101"),
        ("line", "1"),
        ("plants", "90"),
        ("until", "2027-03-29"),
    ];
    let ask = Ask {
        form: fields(&promise),
        ..asked("/do/promise", &[("act", "promise")], &[])
    };
    send(office, &ask, record::enter);
    let page = order_page(office, "O-101");
    assert!(page.contains("60, 90 still open"), "{page}");
    assert!(page.contains("Sent off 60 from lot <a href=\"/lots/F-26-1\">"));
    assert!(page.contains("Promised 90 by 29 Mar 2027, odds then 99\u{202f}% safe."));
    assert!(page.contains("2 entries were recorded since."));
}

fn deed(act: &str, form: &[(&str, &str)]) -> Ask {
    Ask {
        form: fields(form),
        ..asked(&format!("/do/{act}"), &[("act", act)], &[])
    }
}

#[test]
fn a_line_asks_for_a_load_a_grade_and_a_class_of_health() {
    let scene = small();
    let office = &*scene.office;
    let further = [
        ("deposit", "500"),
        ("cancel_percent", "12,5"),
        ("minimum_load", "200"),
        ("grade", "first"),
        ("health_class", "certified"),
        ("substitute1.variety", "valencia"),
        ("substitute1.rootstock", "swingle"),
        ("substitute1.size", "4L"),
    ];
    let (reply, _) = send(
        office,
        &new_order(&ulid(), &further),
        order_form::enter_order,
    );
    assert!(to(&reply).starts_with("/orders/O-200?done="));
    let page = order_page(office, "O-200");
    for said in [
        "<dt>Deposit</dt><dd>500.00 EUR</dd>",
        "<dd>12.5 % before it is due</dd>",
        "<dd>200 or more at a time, the last rest may be fewer</dd>",
        "<dt>Grade</dt><dd>first</dd>",
        "<dt>Class of health</dt><dd>certified</dd>",
        "valencia on swingle, 4L, at 12.50 each",
    ] {
        assert!(page.contains(said), "{said}: {page}");
    }
    let ask = asked("/orders/O-200/line", &[("name", "O-200")], &[("line", "1")]);
    let form = shown(office, &ask, order_form::line_page);
    for kept in [
        "name=\"deposit\" type=\"text\" inputmode=\"decimal\" autocomplete=\"off\" value=\"500.00\"",
        "value=\"12.5\"",
        "name=\"minimum_load\" type=\"text\" inputmode=\"numeric\" autocomplete=\"off\" value=\"200\"",
        "value=\"first\"",
        "value=\"certified\"",
    ] {
        assert!(form.contains(kept), "{kept}: {form}");
    }
    let id = ulid();
    let without: Vec<_> = [("id", &*id), ("grade", "first")]
        .into_iter()
        .chain(LINE)
        .collect();
    send(
        office,
        &line_form("O-200", &without),
        order_form::enter_line,
    );
    let page = order_page(office, "O-200");
    assert!(
        page.contains("deposit from 500.00 to 0.00; odds of being cancelled in percent from 12.5 to as usual; least load from 200 to 0; class of health from certified to none"),
        "{page}"
    );
    let ask = new_order(&ulid(), &[("order", "O-201"), ("cancel_percent", "120")]);
    let (reply, _) = send(office, &ask, order_form::enter_order);
    assert!(not_done(office, &ask, &reply).contains("Write a share from 0 to 100."));
}

#[test]
fn plants_are_tagged_from_the_page_of_the_order() {
    let scene = small();
    let office = &*scene.office;
    let page = order_page(office, "O-101");
    assert!(
        page.contains("/do/tag?order=O-101&amp;line=1&amp;back=%2Forders%2FO-101"),
        "{page}"
    );
    let tag = |line: &str, plants: &str| {
        let id = ulid();
        let form = [
            ("id", &*id),
            ("order", "O-102"),
            ("line", line),
            ("lot", "F-26-1"),
            ("plants", plants),
            ("back", "/orders/O-102"),
        ];
        deed("tag", &form)
    };
    let ask = tag("1", "5000");
    let (reply, _) = send(office, &ask, record::enter);
    assert!(not_done(office, &ask, &reply).contains("5000 plants are more than"));
    let (reply, _) = send(office, &tag("1", "100"), record::enter);
    assert!(to(&reply).starts_with("/orders/O-102?done="));
    let page = order_page(office, "O-102");
    assert!(
        page.contains("<dt>Tagged for it</dt><dd><div>100 of lot <a href=\"/lots/F-26-1\">F-26-1</a></div></dd>"),
        "{page}"
    );
    assert!(page.contains("Tagged 100 of lot <a href=\"/lots/F-26-1\">"));
    assert!(order_page(office, "O-101").contains("100 tagged for other lines"));
    let lot = shown(
        office,
        &asked("/lots/F-26-1", &[("lot", "F-26-1")], &[]),
        lot::page,
    );
    assert!(
        lot.contains("Tagged for orders") && lot.contains("100 plants for C-11, O-102 line 1"),
        "{lot}"
    );
    assert!(
        lot.contains("/do/tag?lot=F-26-1")
            && lot.contains("100 plants of F-26-1 tagged for O-102/1")
    );
    send(office, &tag("1", "0"), record::enter);
    assert!(!order_page(office, "O-101").contains("tagged for other lines"));
    assert!(order_page(office, "O-102").contains("Tag taken off lot <a href=\"/lots/F-26-1\">"));
}

#[test]
fn a_sample_is_measured_with_its_calipers_in_a_row() {
    let scene = small();
    let office = &*scene.office;
    let lot_page = || {
        shown(
            office,
            &asked("/lots/F-26-1", &[("lot", "F-26-1")], &[]),
            lot::page,
        )
    };
    assert!(lot_page().contains("/do/measure?lot=F-26-1"));
    let measure = |more: &[(&str, &str)]| {
        let id = ulid();
        let own = [("id", &*id), ("lot", "F-26-1"), ("back", "/lots/F-26-1")];
        deed(
            "measure",
            &own.iter().chain(more).copied().collect::<Vec<_>>(),
        )
    };
    let ask = measure(&[("calipers_mm", "8.5 nine")]);
    let (reply, _) = send(office, &ask, record::enter);
    let page = not_done(office, &ask, &reply);
    assert!(
        page.contains("Write numbers with spaces between, such as 8.5 9.2 10."),
        "{page}"
    );
    let ask = measure(&[]);
    let (reply, _) = send(office, &ask, record::enter);
    assert!(not_done(office, &ask, &reply).contains("Nothing was seen of the sample."));
    let given = [("calipers_mm", "8.5 9,2 10"), ("fit_from_mm", "9")];
    let (reply, _) = send(office, &measure(&given), record::enter);
    assert!(to(&reply).starts_with("/lots/F-26-1?done="));
    let page = lot_page();
    assert!(
        page.contains("1 Mar 2027: 3 looked at, 2 fit, caliper 9.2 mm on average"),
        "{page}"
    );
    assert!(page.contains("3 plants looked at, caliper 9.2 mm on average, fit from 9 mm"));
    let done = to(&reply).rsplit('=').next().unwrap_or_default().to_owned();
    let correct = asked("/correct", &[], &[("act", &done)]);
    let form = shown(office, &correct, record::correction_page);
    assert!(form.contains("value=\"8.5, 9.2, 10.0\""), "{form}");
}

/// Records an act and expects that it is done.
fn done(office: &Office, number: u32, act: &Value) {
    let mut act = act.clone();
    act["id"] = json!(format!("01JQ{number:022}"));
    act["on"] = json!(TODAY);
    act["by"] = json!("anna");
    let answer = office.desk.record(&act, NOW).expect("recorded");
    assert_eq!(answer.outcome, "done", "{act}: {answer:?}");
}

/// Draws the odds, as the server does by itself.
fn draw_odds(office: &Office) {
    keeper::look(office, &Arc::new(AtomicBool::new(false)));
}

/// An office in which 500 finished Valencia on Carrizo stand, 280 of them bought: 430 are ordered by two lines.
fn with_finished_trees() -> Scene {
    let scene = small();
    let office = &*scene.office;
    keep_runs(office);
    done(
        office,
        1,
        &json!({"act": "buy_in", "stage": "finished", "rootstock": "carrizo", "variety": "valencia", "size": "4L",
            "plants": 280, "place": "yard-1", "source": "a neighbor", "lot": "T-1"}),
    );
    done(
        office,
        2,
        &json!({"act": "count", "lot": "T-1", "plants": 280, "ready": 280}),
    );
    scene
}

const WANTED: [(&str, &str); 5] = [
    ("variety", "valencia"),
    ("rootstock", "carrizo"),
    ("size", "4L"),
    ("plants", "60"),
    ("by", "2027-W20"),
];

/// The form of a promise of what is wanted, by name of its first act.
fn promise_form(id: &str) -> Ask {
    let mut form = WANTED.to_vec();
    form[4] = ("until", "2027-05-17");
    // A name that is another one, as long.
    let second = id.replacen("JP", "JR", 1);
    form.extend([
        ("customer", "Garden House"),
        ("price", "12.00"),
        ("odds", "90"),
        ("id", id),
    ]);
    form.push(("id2", &second));
    Ask {
        form: fields(&form),
        ..asked("/enquiry", &[], &[])
    }
}

#[test]
fn an_enquiry_needs_odds_first() {
    let scene = small();
    let ask = asked("/enquiry", &[], &WANTED);
    let page = shown(&scene.office, &ask, enquiry::page);
    assert!(page.contains("The futures are being drawn now"), "{page}");
    draw_odds(&scene.office);
    let page = shown(&scene.office, &ask, enquiry::page);
    assert!(page.contains("Make a plan first."), "{page}");
}

#[test]
fn an_enquiry_is_answered_and_promised_once() {
    let scene = with_finished_trees();
    let office = &*scene.office;
    draw_odds(office);
    let ask = asked("/enquiry", &[], &WANTED);
    let page = shown(office, &ask, enquiry::page);
    assert!(page.contains("Yes: 60 Valencia on "), "{page}");
    assert!(page.contains("Promise 60"), "{page}");

    let before = office
        .desk
        .read(|_, sight| Ok(sight.books.number))
        .expect("a number");
    let form = promise_form("01JP0000000000000000000000");
    let (reply, entries) = send(office, &form, enquiry::promise);
    assert_eq!(entries, before + 2, "an order and its promise");
    assert!(to(&reply).starts_with("/orders/O-104"), "{}", to(&reply));
    let (again, entries) = send(office, &form, enquiry::promise);
    assert_eq!(
        (to(&again), entries),
        (to(&reply), before + 2),
        "a second tap"
    );

    let act = office
        .desk
        .read(|file, _| file.act_of("01JR0000000000000000000000"));
    let act = act.expect("read").expect("the promise");
    assert_eq!(
        (&act["act"], &act["by"]),
        (&json!("promise"), &json!("anna"))
    );

    // The odds of whoever asks next count it, before they are drawn anew and after.
    for _ in 0..2 {
        let page = shown(office, &ask, enquiry::page);
        assert!(page.contains("Not all: of 60 Valencia on "), "{page}");
        assert!(
            page.contains("would make less safe than they are to be"),
            "{page}"
        );
        draw_odds(office);
    }
    let page = order_page(office, "O-104");
    assert!(
        page.contains("Garden House") && page.contains("60"),
        "{page}"
    );
    let other = promise_form("01JP0000000000000000000007");
    let (refused, entries) = send(office, &other, enquiry::promise);
    assert_eq!(entries, before + 2);
    let page = not_done(office, &ask, &refused);
    assert!(
        page.contains("60 plants cannot be promised by 2027-W20"),
        "{page}"
    );
}

#[test]
fn wrong_odds_are_named_and_what_was_typed_stays() {
    let scene = with_finished_trees();
    let mut wrong = WANTED.to_vec();
    wrong.insert(0, ("odds", "100"));
    let page = shown(
        &scene.office,
        &asked("/enquiry", &[], &wrong),
        enquiry::page,
    );
    assert!(page.contains("Write odds from 1 to 99."), "{page}");
    assert!(page.contains("value=\"60\""), "{page}");
}

#[test]
fn trees_and_promises_and_what_came_true_have_pages() {
    let scene = with_finished_trees();
    let office = &*scene.office;
    let ask = asked("/promises/trees", &[], &[]);
    let page = shown(office, &ask, trees::page);
    assert!(page.contains("Nothing can be promised yet"), "{page}");
    draw_odds(office);
    let page = shown(office, &ask, trees::page);
    assert!(page.contains("430 Valencia on "), "{page}");
    let file = match trees::csv(office, &ask) {
        Ok(Reply::File { bytes, .. }) => String::from_utf8(bytes).expect("text"),
        _ => panic!("no file"),
    };
    let first = file.lines().nth(1).expect("a week");
    assert!(
        first.starts_with("valencia,carrizo,4L,2027-W09,0,500,500,500"),
        "{first}"
    );
    let page = shown(office, &asked("/promises/kept", &[], &[]), honesty::page);
    assert!(
        page.contains("No order line with odds has come due yet."),
        "{page}"
    );
}

#[test]
fn hostile_names_stay_names() {
    let scene = small();
    let office = &*scene.office;
    keep_runs(office);
    let hostile = "\"><script>alert(1)</script>";
    let ask = new_order(
        &ulid(),
        &[("order", hostile), ("customer", hostile), ("line", hostile)],
    );
    let (reply, _) = send(office, &ask, order_form::enter_order);
    assert!(
        to(&reply).starts_with("/orders/%22%3E%3Cscript%3E"),
        "{}",
        to(&reply)
    );
    let line = asked("/orders/x/line", &[("name", hostile)], &[("line", hostile)]);
    let pages = [
        book(office, &[("customer", hostile), ("sort", hostile)]),
        order_page(office, hostile),
        shown(office, &line, order_form::line_page),
        shown(
            office,
            &asked("/enquiry", &[], &[("plants", hostile)]),
            enquiry::page,
        ),
    ];
    for page in pages {
        assert!(!page.contains("<script>alert"), "{page}");
    }
}

#[test]
fn a_book_of_250_lines_is_a_small_page() {
    let scene = small();
    let office = &*scene.office;
    let line = |at: usize| {
        json!({"line": at.to_string(), "variety": "washington-navel", "rootstocks": ["carrizo", "swingle"],
            "size": "4L", "plants": 1000 + at, "earliest": "2027-09-01", "due": "2027-10-01",
            "latest": "2027-12-01", "price": 1250, "contract": true})
    };
    let all: Vec<Value> = (1..=250).map(line).collect();
    let act = json!({"id": ulid(), "on": TODAY, "by": "anna", "act": "order", "order": "O-900",
        "customer": "A customer with a rather long name", "lines": all});
    let answer = record::record(office, &Ask::default(), &act).expect("recorded");
    assert_eq!(answer.outcome, "done");
    let odds: Vec<Value> = (1..=250)
        .map(|at| odds("O-900", &at.to_string(), 0.4))
        .collect();
    let targets: Vec<Value> = (1..=250)
        .map(|at| {
            json!({"order": "O-900", "line": at.to_string(), "on_spec": false, "plants": 1,
                "planned_on_time": 1.0, "planned_late": 0.0, "on_time": null, "by_latest": null, "target": 0.95})
        })
        .collect();
    let plan = json!({"run": "p", "jobs": [], "lines": targets, "short": []});
    let futures = json!({"run": "f", "lines": odds, "products": []});
    let kept = office.desk.write(|file| {
        file.keep_run("plan", "p", &plan, TODAY, NOW)?;
        file.keep_run("futures", "f", &futures, TODAY, NOW)
    });
    kept.expect("runs kept");
    for query in [&[][..], &[("show", "decide"), ("page", "1")]] {
        let page = book(office, query);
        assert!(page.contains("250 need a decision"));
        assert!(page.len() <= 150_000, "{} bytes", page.len());
    }
    let page = order_page(office, "O-900");
    assert!(page.contains("href=\"/orders/O-900?page=1\"") && page.len() <= 150_000);
    assert_eq!(lines(&file_of(office, &[])).len(), 254);
}
