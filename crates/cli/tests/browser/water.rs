//! The water of the day: the page says what the program's own answer says, and a watering that is pressed
//! and recorded is no longer asked for.

use serde_json::{Value, json};

use crate::{AS_OF, Scene, barkslip};

/// The answer of the program over the same nursery file.
fn answer(scene: &Scene) -> Value {
    let words = ["weather", "water", "--json", "--as-of", AS_OF];
    let said = barkslip(scene.folder.path()).args(words).assert().success();
    serde_json::from_slice(&said.get_output().stdout).expect("an answer")
}

/// What the page's rows of today add up to, m³.
fn on_page(scene: &Scene) -> f64 {
    scene.browser.go("/sky/water");
    let sum = scene.browser.says(
        "return [...document.querySelectorAll('table.rows tr.mind')].map(row => \
         Number(row.querySelector('[data-head=\"In all, m³\"]').dataset.v)).reduce((a, b) => a + b, 0)",
    );
    sum.as_f64().expect("a sum")
}

/// The block of a place in the answer.
fn at<'a>(answer: &'a Value, place: &str) -> &'a Value {
    let blocks = answer["blocks"].as_array().expect("blocks");
    let found = blocks.iter().find(|it| it["place"] == place);
    found.unwrap_or_else(|| panic!("no {place}: {answer}"))
}

fn is_same(scene: &Scene) -> f64 {
    let said = answer(scene)["nursery"]["m3_today"].as_f64().expect("m³");
    let page = on_page(scene);
    assert!(
        (page - said).abs() < 1e-9,
        "{page} on the page, {said} said"
    );
    said
}

#[test]
fn water_of_today_is_that_of_the_program_and_what_is_watered_is_due_no_more() {
    let scene = Scene::small();
    scene.browser.is_used_by("Ana");
    // Full eight weeks ago and not watered since.
    scene
        .browser
        .go("/settings/watered/row?place=rows-1&date=2027-01-03&back=/sky/water");
    scene.browser.press("Record");
    let due = is_same(&scene);
    assert!(due > 0.0, "{}", scene.browser.page());
    let heading = scene.browser.words("h1");
    assert!(heading.starts_with("Water rows-1 today"), "{heading}");
    assert_eq!(at(&answer(&scene), "rows-1")["next"]["date"], AS_OF);

    // Places of which nothing is told stand there, too.
    scene
        .browser
        .press_at("ol.decide a.button[href*='place=rows-1']");
    scene.browser.press("Record");
    let at_now = scene.browser.at();
    assert!(at_now.starts_with("/sky/water?done="), "{at_now}");
    let heading = scene.browser.words("h1");
    assert!(!heading.starts_with("Water rows-1 today"), "{heading}");
    assert!(is_same(&scene).abs() < 1e-9);
    let rows = answer(&scene);
    let rows = at(&rows, "rows-1");
    assert_eq!(
        (&rows["gone_mm"], &rows["last_watered"]),
        (&json!(0.0), &json!(AS_OF))
    );
    assert_ne!(rows["next"]["date"], AS_OF);
    scene.ends_clean();
}
