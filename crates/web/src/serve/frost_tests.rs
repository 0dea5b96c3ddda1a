//! Frost through its handlers, over the demo nursery: nights are noted by their form, the coming one is
//! answered from them, and nothing that is typed can break the page.

use app::frost::{Danger, Evening, FrostAnswer};
use jiff::civil::{Date, date};
use maud::html;

use super::ask::Ask;
use super::reply::Reply;
use super::test_office::{DAY, Scene, ask, scene, scene_on};
use super::{frost, settings, sky, week};
use crate::frost_page;
use crate::words::frost as words;

/// Most bytes of a page.
const MOST_BYTES: usize = 150_000;

/// Ten cold clear nights: evening, dew point, lowest.
const NIGHTS: [(&str, &str, &str); 10] = [
    ("3.2", "-4.2", "-3.1"),
    ("0.8", "-8.8", "-5"),
    ("0.2", "-6.5", "-6.3"),
    ("2.6", "-6.2", "-5.4"),
    ("4.4", "-6.1", "-4"),
    ("5.2", "2.6", "-2.5"),
    ("2.7", "-0.7", "-4.8"),
    ("1.2", "-1.7", "-5"),
    ("4.5", "-1.2", "-4.4"),
    ("5.6", "0.1", "-3.3"),
];

fn at(query: &[(&str, &str)]) -> Ask {
    Ask {
        path: "/sky/frost".to_owned(),
        ..ask(("", ""), query, &[])
    }
}

fn shown(scene: &Scene, query: &[(&str, &str)]) -> String {
    scene.page(frost::page, &at(query))
}

/// Notes a night by the form that a page's button fills.
fn note(scene: &Scene, given: &[(&str, &str)]) -> String {
    let form = scene.page(settings::row::page, &ask(("table", "nights"), given, &[]));
    for (key, value) in given {
        assert!(
            form.contains(&format!("name=\"{key}\""))
                && form.contains(&format!("value=\"{value}\"")),
            "{key} {value}: {form}"
        );
    }
    let id = scene.office.ulid().expect("an id");
    let mut sent = given.to_vec();
    sent.push(("id", id.as_str()));
    if form.contains("name=\"known\"") {
        sent.push(("known", "yes"));
    }
    scene.sent(settings::row::enter, &ask(("table", "nights"), &[], &sent))
}

fn note_ten(scene: &Scene) {
    for (at, (evening, dew, low)) in NIGHTS.into_iter().enumerate() {
        let day = format!("2026-11-{:02}", at + 1);
        note(
            scene,
            &[
                ("date", day.as_str()),
                ("evening_c", evening),
                ("dew_point_c", dew),
                ("low_c", low),
            ],
        );
    }
}

fn answer(scene: &Scene, evening: Option<(f64, f64)>) -> FrostAnswer {
    let evening = evening.map(|(air_c, dew)| Evening {
        air_c,
        dew_point_c: Some(dew),
    });
    scene.office.desk.frost(DAY, evening).expect("the frost")
}

/// Addresses of links that begin so, as they stand in a page.
fn link<'a>(page: &'a str, begin: &str) -> &'a str {
    let from = page
        .find(begin)
        .unwrap_or_else(|| panic!("{begin}: {page}"));
    page[from..].split('"').next().expect("its end")
}

#[test]
fn tonight_is_answered_from_nights_that_were_noted() {
    let scene = scene(app::demo::make);
    let evening = [("evening", "0.5"), ("dew_point", "-7")];
    let before = answer(&scene, None).nights.usable;
    note_ten(&scene);
    let page = shown(&scene, &evening);
    assert!(page.len() <= MOST_BYTES, "{} bytes", page.len());
    assert!(!page.contains("style=") && !page.contains("NaN"), "{page}");
    let told = answer(&scene, Some((0.5, -7.0)));
    let lowest = told.tonight.as_ref().and_then(|it| it.lowest);
    let lowest = lowest.expect("ten nights");
    assert!(
        page.contains(&format!(
            "<h1>Tonight's lowest is likely {}",
            words::spread(&lowest)
        )),
        "{page}"
    );
    assert!(lowest.low_c < -5.0, "{lowest:?}");
    assert_eq!(told.nights.usable, before + 10);
    let worst = &told.harm[0];
    assert_eq!(worst.tonight, Some(Danger::InHarmsWay));
    for fact in [
        words::counted(worst).as_str(),
        words::DECIDE,
        words::SOFT_GROWTH,
        words::STOP_EARLY,
        "Start at the latest when the falling air reaches",
        "it is late to start",
        "name=\"evening\" type=\"text\" inputmode=\"decimal\" autocomplete=\"off\" required value=\"0.5\"",
        "Lowest = ",
        words::nights(&told.nights).as_str(),
    ] {
        assert!(page.contains(fact), "{fact}: {page}");
    }
    // Every lot in danger is a link, and the page asks for a frost that is deep enough to hold some.
    assert!(page.contains(&format!("href=\"/lots/{}\"", worst.lots[0])));
}

#[test]
fn an_evening_is_noted_and_its_lowest_the_morning_after() {
    let scene = scene(app::demo::make);
    let before = answer(&scene, None).nights.usable;
    let page = shown(&scene, &[("evening", "0,5"), ("dew_point", "−7")]);
    let to = link(&page, "/settings/nights/row?date=2027-03-01");
    assert!(
        to.contains("evening_c=0.5") && to.contains("dew_point_c=-7"),
        "{to}"
    );
    let day = DAY.to_string();
    let given = [
        ("date", day.as_str()),
        ("evening_c", "0.5"),
        ("dew_point_c", "-7"),
        ("back", "/sky/frost"),
    ];
    let back = note(&scene, &given);
    assert!(back.starts_with("/sky/frost?done="), "{back}");
    // The noted evening stands in the fields, and can be mended; what is typed goes before it.
    let page = shown(&scene, &[]);
    assert!(
        page.contains("value=\"0.5\"") && page.contains(words::MEND_EVENING),
        "{page}"
    );
    let mended = [
        ("date", day.as_str()),
        ("evening_c", "0.9"),
        ("dew_point_c", "-7"),
        ("back", "/sky/frost"),
    ];
    note(&scene, &mended);
    assert_eq!(
        answer(&scene, None).tonight.map(|it| it.evening_c),
        Some(0.9)
    );
    // On the next day its lowest is asked for.
    let tomorrow = Ask {
        as_of: Some(date(2027, 3, 2)),
        ..at(&[("as_of", "2027-03-02")])
    };
    let page = scene.page(frost::page, &tomorrow);
    assert!(page.contains(words::NOTE_LOW), "{page}");
    let to = link(&page, "/settings/nights/row?date=2027-03-01");
    assert!(to.contains("back="), "{to}");
    let done = [
        ("date", day.as_str()),
        ("evening_c", "0.9"),
        ("dew_point_c", "-7"),
        ("low_c", "-3.5"),
    ];
    note(&scene, &done);
    let page = scene.page(frost::page, &tomorrow);
    assert!(!page.contains(words::NOTE_LOW), "{page}");
    let after = scene.office.desk.frost(date(2027, 3, 2), None);
    assert_eq!(after.expect("the frost").nights.usable, before + 1);
}

#[test]
fn what_cannot_be_an_evening_is_told_at_its_field_and_kept() {
    let scene = scene(app::demo::make);
    for (air, dew, told) in [
        ("nan", "", "“nan” cannot be read"),
        ("inf", "", "“inf” cannot be read"),
        ("1e9", "", "must lie between -30 and 40"),
        ("-31", "", "must lie between -30 and 40"),
        ("0.5", "3", "must not be above the evening"),
        ("0.5", "1e309", "“1e309” cannot be read"),
        ("", "-7", words::AIR_MISSING),
        ("<script>alert(1)</script>", "-7", "cannot be read"),
        ("1,200", "", "cannot be read"),
        ("\u{0}", "", "cannot be read"),
    ] {
        let page = shown(&scene, &[("evening", air), ("dew_point", dew)]);
        assert!(page.contains("role=\"alert\""), "{air} {dew}: {page}");
        assert!(page.contains(told), "{air} {dew}: {page}");
        assert!(page.contains(words::CANNOT_READ), "{air} {dew}");
        assert!(!page.contains("<script>alert"), "{page}");
        for typed in [air, dew]
            .iter()
            .filter(|it| !it.is_empty() && !it.contains('<'))
        {
            assert!(
                page.contains(&format!("value=\"{typed}\"")),
                "{typed}: {page}"
            );
        }
        // The file leaves out what cannot be read.
        let file = file(&scene, &[("evening", air), ("dew_point", dew)]);
        assert!(file.starts_with("table,place,"));
    }
}

fn file(scene: &Scene, query: &[(&str, &str)]) -> String {
    match frost::csv(&scene.office, &at(query)) {
        Ok(Reply::File { bytes, .. }) => String::from_utf8(bytes).expect("text"),
        _ => panic!("no file"),
    }
}

#[test]
fn the_file_has_every_plant_every_week_and_every_date() {
    let scene = scene(app::demo::make);
    note_ten(&scene);
    let told = answer(&scene, Some((0.5, -7.0)));
    let file = file(&scene, &[("evening", "0.5"), ("dew_point", "-7")]);
    let rows = |table: &str| file.lines().filter(|line| line.starts_with(table)).count();
    assert_eq!(rows("plants,"), told.harm.len());
    assert_eq!(rows("week,"), told.thresholds.len() * 52);
    assert_eq!(rows("first,") + rows("last,"), 2 * told.thresholds.len());
    let wide = file.lines().next().expect("a head").split(',').count();
    let weeks = file.lines().filter(|line| line.starts_with("week,"));
    assert!(
        weeks
            .into_iter()
            .all(|line| line.split(',').count() == wide)
    );
    assert!(file.contains("in harm's way"), "{file}");
}

#[test]
fn the_season_is_told_as_it_stands_on_a_day() {
    for (day, told) in [
        (DAY, "Frost nights are"),
        (date(2027, 1, 15), "The first frost night comes about"),
        (date(2027, 7, 20), "The first frost night comes about"),
    ] {
        let scene = scene_on(day, app::demo::make);
        let page = shown(&scene, &[]);
        assert!(page.contains(&format!("<h1>{told}")), "{day}: {page}");
        assert!(page.len() <= MOST_BYTES, "{} bytes", page.len());
        assert_eq!(page.matches("<svg class=\"chart\"").count(), 1);
    }
}

#[test]
fn a_picture_is_small_and_names_each_of_its_lines() {
    let scene = scene(app::demo::make);
    let mut told = answer(&scene, None);
    assert!(
        told.thresholds.len() > 2,
        "wood and wrapped buds stand in the open"
    );
    // As at a colder place: half as likely from line to line.
    let freezing = told.thresholds[0].weeks.clone();
    for (at, of) in told.thresholds.iter_mut().enumerate() {
        of.weeks.clone_from(&freezing);
        let share = 0.5_f64.powi(at as i32);
        of.weeks.iter_mut().for_each(|week| week.odds *= share);
    }
    let page = frost_page::body(&told, &html! {}, "/sky/frost").into_string();
    let drawn = page
        .split("<svg class=\"chart\"")
        .nth(1)
        .expect("a picture");
    let drawn = drawn.split("<details").next().expect("its end");
    assert!(drawn.len() < 25_000, "{} bytes", drawn.len());
    let lines =
        drawn.matches("class=\"middle\"").count() + drawn.matches("class=\"median\"").count();
    let named = told.thresholds.iter();
    let named = named.filter(|it| drawn.contains(&format!(">{}<", words::below(it))));
    assert_eq!(lines, named.count());
    assert!(lines >= 2, "{drawn}");
}

#[test]
fn names_are_escaped_and_long_lists_folded() {
    const NAME: &str = "<b>\"x\"</b>";
    let scene = scene(app::demo::make);
    note_ten(&scene);
    let mut told = answer(&scene, Some((0.5, -7.0)));
    let first = told.harm[0].clone();
    for number in 0..400 {
        let mut more = first.clone();
        more.place = format!("{NAME}{number}");
        more.lots = (0..200).map(|lot| format!("{NAME}{lot}")).collect();
        told.harm.insert(0, more);
    }
    told.warnings.push(NAME.to_owned());
    let body = frost_page::body(&told, &html! {}, "/sky/frost").into_string();
    assert!(!body.contains(NAME) && body.contains("&lt;b&gt;"));
    assert!(body.len() < MOST_BYTES, "{} bytes", body.len());
    assert!(body.contains("194 more lots") && body.contains("more stand in the file"));
}

#[test]
fn every_limit_is_shown_with_its_source() {
    let scene = scene(app::demo::make);
    let told = answer(&scene, None);
    let page = shown(&scene, &[]);
    assert!(page.contains(&format!("<summary>{}</summary>", words::RULES)));
    let from = page
        .find(words::RULES_CAPTION)
        .expect("the table of limits");
    for it in &told.rules.limits {
        assert!(page[from..].contains(words::exposed(it.exposure)), "{it:?}");
    }
    for fact in [
        "the 28 days before is 15\u{a0}°C or more",
        "University of California, Ventura",
        "from memory",
        "calamondin",
        ">43<",
    ] {
        assert!(page[from..].contains(fact), "{fact}: {page}");
    }
}

#[test]
fn what_is_in_harms_way_is_told_by_a_sentence() {
    let scene = scene(app::demo::make);
    note_ten(&scene);
    let told = answer(&scene, Some((-6.0, -10.0)));
    let answer = words::answer(&told);
    let second = answer.split(". ").nth(1).expect("two sentences");
    assert!(answer.contains("in harm's way"), "{answer}");
    let begins = second.chars().next().expect("a letter");
    assert!(!begins.is_lowercase(), "{answer}");
}

#[test]
fn too_few_nights_are_counted_in_place_of_a_guess() {
    let scene = scene(app::demo::make);
    let mut told = answer(&scene, Some((0.5, -7.0)));
    (told.nights.usable, told.nights.rule) = (4, None);
    if let Some(tonight) = &mut told.tonight {
        tonight.lowest = None;
    }
    for it in &mut told.harm {
        (it.tonight, it.tonight_c) = (None, None);
    }
    assert!(words::answer(&told).starts_with("Note ten clear nights first: 4 so far."));
    let body = frost_page::body(&told, &html! {}, "/sky/frost").into_string();
    assert!(body.contains("4 clear nights are noted, 10 are needed: 6 to go."));
    assert!(!body.contains(words::DECIDE) && !body.contains(words::AT_PLANTS));
}

#[test]
fn an_empty_nursery_still_has_its_frosts() {
    let scene = scene(app::demo::make);
    let mut told = answer(&scene, None);
    told.harm.clear();
    let body = frost_page::body(&told, &html! {}, "/sky/frost").into_string();
    assert!(body.contains("No plants stand") && body.contains("<svg class=\"chart\""));
    for it in &mut told.thresholds {
        (it.first, it.last, it.with_frost) = (None, None, 0);
        it.weeks.iter_mut().for_each(|week| week.odds = 0.0);
    }
    assert!(words::answer(&told).starts_with("No frost night came in"));
    let body = frost_page::body(&told, &html! {}, "/sky/frost").into_string();
    assert!(!body.contains("<svg class=\"chart\"") && body.contains("Not drawn"));
}

#[test]
fn the_week_and_the_sky_say_what_tonight_means() {
    let scene = scene(app::demo::make);
    let nothing = ask(("", ""), &[], &[]);
    note_ten(&scene);
    let quiet = scene.page(week::page, &nothing);
    assert!(!quiet.contains("/sky/frost"), "no evening is noted today");
    let page = scene.page(sky::page, &nothing);
    assert!(page.contains("href=\"/sky/frost\"") && page.contains("Frost nights are"));
    let evening = |air: &'static str, day: Date| {
        note(
            &scene,
            &[
                ("date", day.to_string().as_str()),
                ("evening_c", air),
                ("dew_point_c", "-7"),
            ],
        );
    };
    evening("0.5", DAY);
    let warned = scene.page(week::page, &nothing);
    assert!(
        warned.contains("Frost tonight.") && warned.contains("in harm's way"),
        "{warned}"
    );
    assert!(warned.contains("href=\"/sky/frost\""));
    let page = scene.page(sky::page, &nothing);
    assert!(page.contains("Tonight's lowest is likely"), "{page}");
}

#[test]
fn days_far_away_break_nothing() {
    let scene = scene(app::demo::make);
    for (day, is_told) in [
        (Date::MIN, false),
        (date(1900, 1, 1), false),
        (date(2040, 2, 29), true),
        (Date::MAX, true),
    ] {
        let asked = Ask {
            as_of: Some(day),
            ..at(&[("evening", "0.5"), ("dew_point", "-7")])
        };
        let reply = frost::page(&scene.office, &asked);
        assert_eq!(reply.is_ok(), is_told, "{day}");
    }
    let late = scene.office.desk.frost(Date::MAX, None).expect("the frost");
    assert!(late.rest.years <= 21, "{:?}", late.rest);
}
