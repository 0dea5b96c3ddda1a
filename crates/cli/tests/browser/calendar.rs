//! What a page hands out as a calendar is read by another library (RFC 5545).

use std::path::Path;

use serde_json::Value;

use crate::Scene;

/// The library that reads calendars, which `./x test` fetches: ical.js (MPL-2.0).
fn reader() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/accessibility/node_modules/ical.js/dist/ical.es5.min.cjs");
    std::fs::read_to_string(&file).unwrap_or_else(|_| {
        panic!("ical.js is not there: npm ci --prefix crates/cli/tests/accessibility")
    })
}

/// Reads a calendar strictly: its events with name, head, day and for how many days, or why it is none.
const READ: &str = "
    return fetch(AT).then(it => it.text().then(text => ({type: it.headers.get('content-type'), text}))).then(told => {
        ICAL.design.strict = true;
        const calendar = new ICAL.Component(ICAL.parse(told.text));
        return {
            type: told.type,
            version: calendar.getFirstPropertyValue('version'),
            made_by: calendar.getFirstPropertyValue('prodid'),
            events: calendar.getAllSubcomponents('vevent').map(it => {
                const event = new ICAL.Event(it);
                return {
                    name: event.uid, head: event.summary, day: event.startDate.toString(),
                    whole_day: event.startDate.isDate, days: event.duration.toSeconds() / 86400,
                    made: it.getFirstPropertyValue('dtstamp').zone.tzid,
                };
            }),
        };
    });";

fn read(scene: &Scene, at: &str) -> Value {
    scene.browser.says(&reader());
    scene.browser.says(&READ.replace("AT", &format!("'{at}'")))
}

#[test]
fn calendars_are_read_by_another_library() {
    let scene = Scene::small();
    scene.browser.is_used_by("Ana");
    let run = crate::job::plan(&scene);
    let week = "/week?as_of=2027-03-29";
    scene.browser.go(week);
    let heads = scene
        .browser
        .says("return [...document.querySelectorAll('article.job')].length");
    for (at, least) in [
        ("/week.ics?as_of=2027-03-29".to_owned(), heads.as_u64()),
        (format!("{run}/calendar.ics"), Some(1)),
    ] {
        let told = read(&scene, &at);
        assert!(
            told["type"]
                .as_str()
                .is_some_and(|it| it.starts_with("text/calendar")),
            "{told}"
        );
        assert_eq!(told["version"], "2.0");
        assert!(
            told["made_by"]
                .as_str()
                .is_some_and(|it| it.contains("Barkslip"))
        );
        let events = told["events"].as_array().expect("events");
        assert!(
            least.is_some_and(|it| it > 0 && events.len() as u64 >= it),
            "{told}"
        );
        let names: std::collections::BTreeSet<_> =
            events.iter().map(|it| it["name"].as_str()).collect();
        assert_eq!(
            names.len(),
            events.len(),
            "each event has a name of its own"
        );
        for event in events {
            assert!(
                event["head"].as_str().is_some_and(|it| !it.is_empty()),
                "{event}"
            );
            assert_eq!(event["whole_day"], true, "{event}");
            assert!(
                event["days"].as_f64().is_some_and(|it| it >= 1.0),
                "{event}"
            );
            assert_eq!(event["made"], "UTC", "{event}");
        }
        let kept = at.starts_with("/week");
        assert!(
            !kept
                || events
                    .iter()
                    .any(|it| it["name"].as_str().is_some_and(|it| it.starts_with("due-"))),
            "orders have their due days: {told}"
        );
    }
}
