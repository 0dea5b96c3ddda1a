//! From nothing to an accepted plan by the first steps, pressing only what the pages offer, on the
//! weather of a real place.

use std::fs;
use std::path::Path;

use crate::Scene;
use crate::job::plan;

/// Ten real years, with their source beside them.
const WEATHER: &str = "../app/tests/data/jeju_daily_2010_2019.csv";

/// Does the step that is next, with these fields and the button's words.
fn step(scene: &Scene, name: &str) {
    scene.browser.go("/begin");
    let next = scene.browser.words("h1");
    assert!(next.contains(name) || next.contains("Welcome"), "{next}");
    scene.browser.press_at("ol.decide a.button:not(.plain)");
    assert!(scene.browser.words("h1").contains(name));
}

/// Opens a step that may wait.
fn other_step(scene: &Scene, name: &str) {
    scene.browser.go("/begin");
    let step = format!("ol/li[contains(b, '{name}')]");
    scene.browser.press_within(&step, "");
    assert!(scene.browser.words("h1").contains(name));
}

fn who_and_where(scene: &Scene) {
    step(scene, "Who and where");
    scene.browser.fill(&[
        ("name", "Hillside"),
        ("latitude", "33.51"),
        ("longitude", "126.53"),
        ("elevation_m", "20.5"),
        ("time_zone", "Asia/Seoul"),
        ("currency", "EUR"),
        ("by", "Ana"),
    ]);
    scene.browser.press("Save");
    assert!(scene.browser.page().contains("You are Ana"));
}

fn weather(scene: &Scene) {
    step(scene, "Weather");
    let file = scene.folder.path().join("weather.csv");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join(WEATHER);
    fs::copy(from, &file).expect("the weather");
    scene
        .browser
        .fill(&[("file", file.to_str().expect("a path"))]);
    scene
        .browser
        .press_at("form[action='/settings/weather'] button");
}

fn places_and_crew(scene: &Scene) {
    step(scene, "Places");
    scene
        .browser
        .fill(&[("seedbed", "30"), ("rows", "900"), ("yard", "150")]);
    scene.browser.press("Save");
    step(scene, "Crew");
    scene.browser.fill(&[
        ("budding", "12"),
        ("growing", "40"),
        ("wage", "15"),
        ("hired", "10"),
    ]);
    scene.browser.press("Save");
}

/// One entry of a step, one by one.
fn entry(scene: &Scene, step: &str, add: &str, fields: &[(&str, &str)]) {
    other_step(scene, step);
    scene.browser.press(add);
    scene.browser.fill(fields);
    scene.browser.press_at("form.entry .acts button");
    let page = scene.browser.page();
    let at = scene.browser.at();
    assert!(at.starts_with("/begin/"), "{at}: {page}");
}

fn what_stands(scene: &Scene) {
    entry(
        scene,
        "What stands",
        "Add a lot",
        &[
            ("lot", "L-1"),
            ("stage", "liner"),
            ("rootstock", "trifoliate"),
            ("place", "row-1"),
            ("growing", "500"),
            ("ready", "0"),
            ("entered", "2019-04-10"),
        ],
    );
    entry(
        scene,
        "Mother trees and seed",
        "Add a mother tree",
        &[
            ("mother_tree", "M-1"),
            ("variety", "satsuma-owari"),
            ("buds_per_year", "900"),
            ("cut_seasons", "05-01/10-31"),
            ("tested_on", "2019-10-01"),
            ("result", "clean"),
            ("valid_months", "24"),
        ],
    );
    entry(
        scene,
        "Mother trees and seed",
        "Add a batch of seed",
        &[
            ("rootstock", "trifoliate"),
            ("seeds", "2000"),
            ("batch", "T-19"),
        ],
    );
    entry(
        scene,
        "Orders",
        "Add an order",
        &[
            ("order", "O-1"),
            ("customer", "C-1"),
            ("variety", "satsuma-owari"),
            ("rootstock1", "trifoliate"),
            ("size", "4L"),
            ("plants", "120"),
            ("due", "2021-11-01"),
            ("price", "13"),
        ],
    );
}

#[test]
fn first_steps_lead_from_nothing_to_an_accepted_plan() {
    let folder = tempfile::tempdir().expect("a folder");
    let scene = Scene::over(folder, "2020-03-01");
    scene.browser.go("/");
    assert_eq!(scene.browser.at(), "/begin");
    who_and_where(&scene);
    weather(&scene);
    places_and_crew(&scene);
    what_stands(&scene);
    step(&scene, "The first plan");
    scene.browser.press("Go to Seasons");
    plan(&scene);
    scene.browser.go("/begin");
    let done = scene.browser.words("h1");
    assert!(done.contains("a plan was made"), "{done}");
    scene.ends_clean();
}
