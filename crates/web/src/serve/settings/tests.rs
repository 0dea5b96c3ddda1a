//! Settings and first steps through the router, on nursery files of their own.

use std::fmt::Write as _;

use std::sync::Arc;

use app::ledger::NurseryFile;
use axum::body::{Body, to_bytes};
use axum::http::header::{CONTENT_TYPE, COOKIE, HOST, LOCATION, ORIGIN};
use axum::http::{Request, StatusCode};
use jiff::civil::date;
use tower::ServiceExt as _;

use super::super::test_office::{Scene, scene_on};
use super::super::{address, routes};

struct Served(Scene);

struct Answer {
    status: StatusCode,
    to: String,
    text: String,
}

impl Served {
    fn new() -> Self {
        Self(scene_on(date(2026, 3, 2), NurseryFile::create))
    }

    fn ask(&self, request: axum::http::request::Builder, body: Vec<u8>) -> Answer {
        let request = request
            .header(HOST, "127.0.0.1:1")
            .header(ORIGIN, "http://127.0.0.1:1")
            .header(COOKIE, "who=Ana")
            .body(Body::from(body))
            .expect("a request");
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .expect("a runtime");
        let router = routes::router(Arc::clone(&self.0.office));
        runtime.block_on(async {
            let response = router.oneshot(request).await.expect("an answer");
            let to = response.headers().get(LOCATION);
            let to = to.and_then(|it| it.to_str().ok()).unwrap_or_default();
            let (status, to) = (response.status(), to.to_owned());
            let bytes = to_bytes(response.into_body(), usize::MAX).await;
            let text = String::from_utf8_lossy(&bytes.expect("a body")).into_owned();
            Answer { status, to, text }
        })
    }

    fn get(&self, at: &str) -> Answer {
        self.ask(Request::get(at), Vec::new())
    }

    fn post(&self, at: &str, fields: &[(&str, &str)]) -> Answer {
        let form = address::with_fields("", fields);
        let request = Request::post(at).header(CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.ask(request, form.trim_start_matches('?').as_bytes().to_vec())
    }

    fn send(&self, at: &str, files: &[(&str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (name, bytes) in files {
            let head = format!(
                "--x\r\ncontent-disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(b"--x--\r\n");
        let request = Request::post(at).header(CONTENT_TYPE, "multipart/form-data; boundary=x");
        self.ask(request, body)
    }

    fn acts(&self) -> u64 {
        let number = self.0.office.desk.read(|_, sight| Ok(sight.books.number));
        number.expect("a desk")
    }

    fn told(&self) {
        let done = self.post(
            "/begin/nursery",
            &[
                ("id0", "01KAZZZZZZZZZZZZZZZZZZZZZ1"),
                ("name", "Hillside"),
                ("latitude", "37,4"),
                ("longitude", "-1.6"),
                ("elevation_m", "120"),
                ("time_zone", "Europe/Madrid"),
                ("currency", "EUR"),
            ],
        );
        assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text);
    }
}

fn place<'a>(id: &'a str, name: &'a str, area: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("id", id),
        ("back", "/settings/places"),
        ("place", name),
        ("kind", "rows"),
        ("area_m2", area),
    ]
}

const ID: &str = "01KAZZZZZZZZZZZZZZZZZZZZZ2";
const OTHER: &str = "01KAZZZZZZZZZZZZZZZZZZZZZ3";

/// Three years of the same day each, warm enough for anything.
fn weather(years: std::ops::Range<i16>) -> Vec<u8> {
    let mut text = "date,tmin,tmax\n".to_owned();
    for year in years {
        for day in date(year, 1, 1).series(jiff::Span::new().days(1)).take(365) {
            // No two days in a row are alike, or the thermometer would be stuck.
            let warmth = day.day_of_year() * 7 % 11;
            let _ = writeln!(text, "{day},{}.0,{}.0", 8 + warmth, 20 + warmth);
        }
    }
    text.into_bytes()
}

#[test]
fn an_empty_nursery_leads_to_its_first_steps() {
    let served = Served::new();
    assert_eq!(served.get("/").to, "/begin");
    let page = served.get("/begin");
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.text.contains("Welcome"), "{}", page.text);
    for at in [
        "nursery", "weather", "places", "crews", "lots", "budwood", "prices", "orders", "plan",
    ] {
        let step = served.get(&format!("/begin/{at}"));
        assert_eq!(step.status, StatusCode::OK, "{at}: {}", step.text);
    }
    assert_eq!(served.get("/begin/other").status, StatusCode::NOT_FOUND);
    served.told();
    assert_eq!(served.get("/").to, "/week");
    assert!(served.get("/begin").text.contains("next: Weather"));
}

#[test]
fn the_steps_lead_to_a_nursery_that_can_be_planned() {
    let served = Served::new();
    served.told();
    let months: Vec<(String, String)> = (1..=12)
        .flat_map(|month| {
            [
                (format!("low{month}"), "8".to_owned()),
                (format!("high{month}"), "22".to_owned()),
            ]
        })
        .collect();
    let months: Vec<(&str, &str)> = months
        .iter()
        .map(|(k, v)| (k.as_str(), v.as_str()))
        .collect();
    assert_eq!(
        served.post("/settings/climate", &months).to,
        "/settings/weather"
    );
    assert!(
        served
            .get("/settings/weather")
            .text
            .contains("Made, not measured")
    );
    let areas = [
        ("id0", ID),
        ("id1", OTHER),
        ("seedbed", "40"),
        ("rows", "1 000"),
    ];
    assert_eq!(served.post("/begin/places", &areas).to, "/begin");
    let crew = [
        ("id0", "01KAZZZZZZZZZZZZZZZZZZZZZ4"),
        ("id1", "01KAZZZZZZZZZZZZZZZZZZZZZ5"),
        ("budding", "60"),
        ("growing", "110"),
        ("wage", "19"),
    ];
    assert_eq!(served.post("/begin/crews", &crew).to, "/begin");
    let day = date(2026, 3, 2);
    let lacks = served
        .0
        .office
        .desk
        .read(|file, sight| file.lacks(&sight.books, day));
    let lacks = lacks.expect("what it lacks");
    assert!(lacks.problems.is_empty(), "{:?}", lacks.problems);
    assert!(served.get("/settings/places").text.contains("1000"));
    assert!(served.get("/settings/crews").text.contains("19.00"));
    // A step for a crew that nobody has would leave nothing to plan with.
    let template = app::ledger::settings::template("routes.toml").expect("a template");
    let strange = template.replace("\"growing\"", "\"potting\"");
    let refused = served.post("/settings/routes", &[("id", ID), ("text", &strange)]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text.contains("potting"), "{}", refused.text);
    let ended = served.get("/settings/crews/row?crew=growing&end=yes");
    assert!(
        ended.text.contains("name=\"hours_per_week\""),
        "{}",
        ended.text
    );
}

#[test]
fn a_bad_row_is_told_at_its_field_and_never_recorded() {
    let served = Served::new();
    served.told();
    let before = served.acts();
    for (area, id) in [("0.01", ID), ("wide", OTHER)] {
        let answer = served.post("/settings/places/row", &place(id, "row-1", area));
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.text.contains("class=\"wrong\""), "{}", answer.text);
    }
    let remark = served.post("/settings/places/row", &place(ID, "#row", "100"));
    assert_eq!(remark.status, StatusCode::UNPROCESSABLE_ENTITY);
    let odd = served.post("/settings/places/row", &place(OTHER, "a\nb", "100"));
    assert_eq!(odd.status, StatusCode::UNPROCESSABLE_ENTITY);
    let day = date(2026, 3, 2);
    let rows = served
        .0
        .office
        .desk
        .read(|_, sight| Ok(sight.books.settings.rows("place", day).count()));
    assert_eq!(rows.expect("rows"), 0);
    // The remark was refused by the ledger, which keeps what was refused; nothing else came to it.
    assert!(served.acts() <= before + 1);
}

#[test]
fn a_row_is_recorded_once_however_often_it_is_sent() {
    let served = Served::new();
    served.told();
    let first = served.post("/settings/places/row", &place(ID, "row-1", "100"));
    assert_eq!(first.to, format!("/settings/places?done={ID}"));
    let acts = served.acts();
    assert_eq!(
        served
            .post("/settings/places/row", &place(ID, "row-1", "100"))
            .to,
        first.to
    );
    assert_eq!(served.acts(), acts);
    // Another row of the name is no silent change.
    let other = served.post("/settings/places/row", &place(OTHER, "row-1", "200"));
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY);
    let form = served.get("/settings/places/row?place=row-1");
    assert!(form.text.contains("value=\"100\""), "{}", form.text);
    let mut changed = place(OTHER, "row-1", "200");
    changed.push(("known", "yes"));
    assert_eq!(
        served.post("/settings/places/row", &changed).status,
        StatusCode::SEE_OTHER
    );
    let csv = served.get("/settings/places.csv").text;
    assert!(
        csv.lines().any(|it| it.starts_with("row-1,rows,200")),
        "{csv}"
    );
}

#[test]
fn a_price_is_typed_in_whole_units_and_kept_in_minor_ones() {
    let served = Served::new();
    served.told();
    let price = [
        ("id", ID),
        ("of", "material"),
        ("item", "pot 4L"),
        ("price", "0.425"),
    ];
    assert_eq!(
        served.post("/settings/prices/row", &price).status,
        StatusCode::SEE_OTHER
    );
    assert!(served.get("/settings/prices.csv").text.contains("42.5"));
    assert!(served.get("/settings/prices").text.contains("0.425"));
}

#[test]
fn the_nursery_text_holds_its_own_keys_only_and_bad_ones_are_told() {
    let served = Served::new();
    served.told();
    let text = served.get("/settings/files/nursery.toml").text;
    assert!(
        text.contains("name = \"Hillside\"") && text.contains("latitude = 37.4"),
        "{text}"
    );
    let bad = served.post(
        "/settings/nursery",
        &[
            ("id", ID),
            ("name", "Hillside"),
            ("latitude", "99"),
            ("longitude", "0"),
            ("elevation_m", "0"),
            ("time_zone", "Nowhere"),
            ("currency", "EUR"),
            ("planning.routes", "nothing"),
        ],
    );
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        bad.text.matches("class=\"wrong\"").count() >= 2,
        "{}",
        bad.text
    );
    assert_eq!(served.get("/settings/files/nursery.toml").text, text);
}

#[test]
fn own_routes_are_checked_before_they_are_recorded() {
    let served = Served::new();
    served.told();
    let acts = served.acts();
    let bad = served.post(
        "/settings/routes",
        &[("id", ID), ("text", "[[step]]\nid = \"x\"\n")],
    );
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(bad.text.contains("routes.toml"), "{}", bad.text);
    assert_eq!(served.acts(), acts);
    let template = app::ledger::settings::template("routes.toml").expect("a template");
    let good = [("id", ID), ("text", template), ("back", "/settings/routes")];
    assert_eq!(
        served.post("/settings/routes", &good).status,
        StatusCode::SEE_OTHER
    );
    let page = served.get("/settings/routes");
    assert!(
        page.text.contains("Pot on to 4 L, our mix"),
        "{}",
        page.text
    );
    assert!(page.text.contains("our counts 2022-2026"));
}

#[test]
fn files_come_in_together_or_not_at_all() {
    let served = Served::new();
    served.told();
    let acts = served.acts();
    let places = b"place,kind,area_m2\nrow-1,rows,500\n";
    let bad = served.send(
        "/settings/files",
        &[
            ("places.csv", places),
            (
                "crews.csv",
                b"crew,hours_per_week,wage\nbudding,many,1900\n",
            ),
        ],
    );
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        bad.text.contains("crews.csv") && bad.text.contains("many"),
        "{}",
        bad.text
    );
    assert_eq!(served.acts(), acts);
    let stranger = served.send(
        "/settings/files",
        &[("places.csv", places), ("plaices.csv", b"a")],
    );
    assert_eq!(stranger.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(served.acts(), acts);
    let good = served.send("/settings/files", &[("places.csv", places)]);
    assert!(good.to.contains("took=1"), "{} {}", good.to, good.text);
    let again = served.send("/settings/files", &[("places.csv", places)]);
    assert!(again.to.contains("took=0"), "{}", again.to);
}

#[test]
fn odd_bytes_and_large_files_are_answered() {
    let served = Served::new();
    served.told();
    for name in [
        "places.csv",
        "routes.toml",
        "nursery.toml",
        "weather.csv",
        "x.epw",
        "lots.csv",
    ] {
        let answer = served.send(
            "/settings/files",
            &[(name, &[0xff, 0x00, b'"', b'\n', 0xc3])],
        );
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}");
    }
    assert_eq!(
        served.send("/settings/files", &[]).status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    let row = b"row,rows,wide\n";
    let mut large = b"place,kind,area_m2\n".to_vec();
    large.extend(row.iter().cycle().take(20 << 20));
    let answer = served.send("/settings/files", &[("places.csv", &large)]);
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.len() < 150_000, "{}", answer.text.len());
    let answer = served.send("/settings/files", &[("places.csv", &vec![b'x'; 33 << 20])]);
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[test]
fn weather_is_read_before_it_is_used() {
    let served = Served::new();
    served.told();
    let bad = served.send(
        "/settings/weather",
        &[("weather.csv", b"date,tmin,tmax\n2025-01-01,20,3\n")],
    );
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        served
            .get("/settings/weather")
            .text
            .contains("no weather yet")
    );
    let good = served.send(
        "/settings/weather",
        &[("my station.csv", &weather(2022..2025))],
    );
    assert_eq!(good.to, "/settings/weather", "{}", good.text);
    let page = served.get("/settings/weather").text;
    assert!(
        page.contains("1 January 2022") || page.contains("1 Jan 2022"),
        "{page}"
    );
    assert!(!page.contains("in the weather file"), "{page}");
    let damaged = String::from_utf8(weather(2022..2025)).expect("text");
    let damaged = damaged.replace("2023-05-05,", "2023-05-05,9");
    let sent = served.send("/settings/weather", &[("a.csv", damaged.as_bytes())]);
    assert_eq!(sent.to, "/settings/weather", "{}", sent.text);
    let page = served.get("/settings/weather").text;
    for told in [
        "1 problem in the weather file",
        "5 May 2023, row 491, tmin",
        "Days filled from other years",
        "5 May 2023: low of 1 day",
    ] {
        assert!(page.contains(told), "{told}: {page}");
    }
    let missing = served.post("/settings/climate", &[("low1", "3")]);
    assert_eq!(missing.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn names_with_script_are_inert() {
    let served = Served::new();
    served.told();
    let name = "<script>alert(1)</script>";
    let done = served.post("/settings/places/row", &place(ID, name, "100"));
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text);
    let asked = address::with_fields("/settings/places/row", &[("place", name)]);
    let stranger = served.send("/settings/files", &[("<script>.csv", b"x")]);
    for page in [
        served.get("/settings/places"),
        served.get(&asked),
        served.get("/settings"),
        served.get("/begin"),
        stranger,
    ] {
        assert!(
            !page.text.contains("<script>alert") && !page.text.contains("<script>."),
            "{}",
            page.text
        );
    }
}

#[test]
fn every_column_of_every_table_has_words() {
    use crate::words::settings::{COLUMNS, TABLES, column_of};
    use app::ledger::settings::columns;
    for table in TABLES {
        for column in columns(table.file) {
            assert!(
                column_of(table.file, column).is_some(),
                "{} {column}",
                table.file
            );
        }
    }
    for words in COLUMNS {
        let is_used = TABLES
            .iter()
            .any(|table| columns(table.file).contains(&words.name));
        assert!(is_used, "{} is a column of no table", words.name);
    }
}

#[test]
fn all_pages_stay_small() {
    let served = Served::new();
    served.told();
    let tables = crate::words::settings::TABLES
        .iter()
        .map(|it| format!("/settings/{}", it.at));
    let others = [
        "",
        "/nursery",
        "/routes",
        "/weather",
        "/files",
        "/settings.csv",
        "/routes.csv",
    ];
    for at in tables.chain(others.map(|it| format!("/settings{it}"))) {
        let page = served.get(&at);
        assert_eq!(page.status, StatusCode::OK, "{at}");
        assert!(page.text.len() < 150_000, "{at}: {}", page.text.len());
        assert!(!page.text.contains("style="), "{at}");
    }
}
