//! Water through its handlers, over the demo nursery: what is due is watered, recorded and due no more.

use app::ledger::NurseryFile;
use app::water::WaterAnswer;
use std::sync::Arc;

use super::ask::Ask;
use super::reply::Reply;
use super::test_office::{DAY, Scene, ask, scene};
use super::{address, settings, sky, water};

/// Most bytes of a page.
const MOST_BYTES: usize = 150_000;

fn answer(scene: &Scene) -> Arc<WaterAnswer> {
    scene.office.desk.water(DAY).expect("the water")
}

fn at(path: &str, query: &[(&str, &str)]) -> Ask {
    Ask {
        path: path.to_owned(),
        ..ask(("", ""), query, &[])
    }
}

fn file(reply: Reply) -> String {
    match reply {
        Reply::File { bytes, .. } => String::from_utf8(bytes).expect("text"),
        _ => panic!("no file"),
    }
}

/// The form of a watering at a place today, filled as the page's button fills it; records it.
fn record(scene: &Scene, place: &str, mm: &str) {
    let day = DAY.to_string();
    let from_button = [
        ("place", place),
        ("date", day.as_str()),
        ("back", "/sky/water"),
    ];
    let form = scene.page(
        settings::row::page,
        &ask(("table", "watered"), &from_button, &[]),
    );
    assert!(form.contains(&format!("value=\"{day}\"")), "{form}");
    assert!(
        form.contains("name=\"back\" value=\"/sky/water\""),
        "{form}"
    );
    let id = scene.office.ulid().expect("an id");
    let mut fields = from_button.to_vec();
    fields.extend([("id", id.as_str()), ("mm", mm)]);
    let sent = ask(("table", "watered"), &[], &fields);
    let to = scene.sent(settings::row::enter, &sent);
    assert_eq!(to, format!("/sky/water?done={id}"));
}

#[test]
fn what_was_watered_is_full_and_due_on_a_later_day() {
    let scene = scene(app::demo::make);
    let before = answer(&scene);
    let place = before.blocks[0].place.clone();
    record(&scene, &place, "");
    let after = answer(&scene);
    assert!(!Arc::ptr_eq(&before, &after), "the answer is made anew");
    for is in &after.blocks {
        let key = |it: &app::water::BlockAnswer| (it.place.clone(), it.size.clone());
        let was = before.blocks.iter().find(|it| key(it) == key(is));
        if is.place == place {
            assert_eq!((is.gone_mm, is.last_watered), (Some(0.0), Some(DAY)));
            assert!(is.next.as_ref().is_none_or(|it| it.date > DAY));
        } else {
            assert_eq!(was, Some(is), "other places stay as they were");
        }
    }
    let page = scene.page(water::page, &at("/sky/water", &[]));
    assert!(page.contains(&format!("Watered today: {place}.")), "{page}");
    assert!(Arc::ptr_eq(&after, &answer(&scene)), "it is kept");
}

#[test]
fn a_place_that_is_dry_is_asked_for_until_it_is_watered() {
    let scene = scene(app::demo::make);
    let known = answer(&scene);
    let rows = known.blocks.iter().find(|it| !it.in_pots);
    let rows = rows.expect("rows or a bed");
    let (place, told) = (rows.place.clone(), rows.last_watered);
    // Filled long enough ago that all which may go has gone.
    let day = "2027-01-02";
    let id = scene.office.ulid().expect("an id");
    let long_ago = [
        ("id", id.as_str()),
        ("place", &place),
        ("date", day),
        ("mm", ""),
        ("holds_from", day),
    ];
    scene.sent(
        settings::row::enter,
        &ask(("table", "watered"), &[], &long_ago),
    );
    let dry = answer(&scene);
    let of_place = |water: &WaterAnswer| {
        let found = water.blocks.iter().find(|it| it.place == place);
        found.expect("the block").clone()
    };
    assert!(of_place(&dry).gone_mm > Some(0.0));
    let long_ago = day.parse().ok();
    assert_eq!(of_place(&dry).last_watered, told.max(long_ago));
    let due = of_place(&dry).next.is_some_and(|it| it.date == DAY);
    let page = scene.page(water::page, &at("/sky/water", &[]));
    let button = address::with_fields(
        "/settings/watered/row",
        &[
            ("place", &place),
            ("date", "2027-03-01"),
            ("back", "/sky/water"),
        ],
    );
    let button = button.replace('&', "&amp;");
    assert_eq!(page.contains(&button), due, "{page}");
    record(&scene, &place, "");
    let gone = of_place(&answer(&scene)).gone_mm;
    assert!(gone.is_some_and(|gone| gone.abs() < 1e-9));
}

#[test]
fn pages_of_water_are_small_and_their_file_has_every_block() {
    let scene = scene(app::demo::make);
    let water = answer(&scene);
    let pages = [
        scene.page(water::page, &at("/sky/water", &[])),
        scene.page(water::sheet, &at("/sky/water/sheet", &[])),
        scene.page(sky::page, &at("/sky", &[])),
    ];
    for page in &pages {
        assert!(page.len() <= MOST_BYTES, "{} bytes", page.len());
        assert!(page.contains("<h1>") && !page.contains("style=") && !page.contains("NaN"));
    }
    assert!(
        pages[0].contains("href=\"/sky\">Heat and bark"),
        "{}",
        pages[0]
    );
    let here = "href=\"/sky/water\" aria-current=\"page\"";
    assert!(pages[0].contains(here) && !pages[2].contains(here));
    assert!(pages[1].contains("backflow"));
    assert!(pages[2].contains("Water today"));
    let text = file(water::csv(&scene.office, &at("/sky/water.csv", &[])).expect("a file"));
    assert_eq!(text.lines().count(), 1 + water.blocks.len());
}

#[test]
fn heat_since_a_day_of_ones_own_is_summed_and_its_file_follows() {
    let scene = scene(app::demo::make);
    let since = [("since", "2026-10-15")];
    let page = scene.page(sky::page, &at("/sky", &since));
    assert!(page.contains("Heat since 15 Oct 2026"), "{page}");
    assert!(
        page.contains("href=\"/sky.csv?since=2026-10-15\""),
        "{page}"
    );
    let season = file(sky::csv(&scene.office, &at("/sky.csv", &[])).expect("a file"));
    let own = file(sky::csv(&scene.office, &at("/sky.csv", &since)).expect("a file"));
    assert!(own.contains(",2026-W42,") && !season.contains(",2026-W42,"));
    // Asked again without it, it is the season's.
    let page = scene.page(sky::page, &at("/sky", &[]));
    assert!(page.contains("Heat since the season began"));
    for wrong in ["2027-03-02", "2001-01-01", "2010-01-01", "soon"] {
        let refused = sky::page(&scene.office, &at("/sky", &[("since", wrong)]));
        assert!(refused.is_err(), "{wrong}");
    }
}

#[test]
fn a_file_without_a_nursery_says_what_it_lacks() {
    let scene = scene(NurseryFile::create);
    let refused = water::page(&scene.office, &at("/sky/water", &[]));
    assert!(refused.is_err_and(|error| !error.mend.is_empty()));
}
