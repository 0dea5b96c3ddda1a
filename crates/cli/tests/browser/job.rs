//! A season's work, done by pressing what the pages offer, and found again in the ledger.

use screens::{PHONE, WIDE};

use crate::Scene;
use crate::pages::is_sound;

/// The lot's page after something was recorded of it.
fn is_recorded(scene: &Scene, words: &str) {
    let at = scene.browser.at();
    assert!(at.contains("done="), "{at}: {}", scene.browser.page());
    let notice = scene.browser.words(".notice");
    assert!(notice.contains(words), "{notice}");
}

fn count(scene: &Scene) {
    scene.browser.go("/standing");
    scene.browser.press("L-26-1");
    scene.browser.press("Count");
    scene.browser.fill(&[("plants", "650")]);
    scene.browser.press("Record");
    is_recorded(scene, "650");
}

fn bud(scene: &Scene) {
    scene.browser.go("/lots/L-26-1");
    scene.browser.press("Bud");
    scene.browser.fill(&[
        ("variety", "valencia"),
        ("plants", "100"),
        ("source", "M-07"),
        ("method", "t"),
        ("new_lot", "B-27-1"),
    ]);
    scene.browser.press("Record");
    is_recorded(scene, "100");
}

fn take_count(scene: &Scene) {
    scene.browser.go("/lots/B-27-1");
    scene.browser.press("Unwrap");
    scene
        .browser
        .fill(&[("taken", "80"), ("missed", "15"), ("dead", "5")]);
    scene.browser.press("Record");
    is_recorded(scene, "80");
}

fn order(scene: &Scene) {
    scene.browser.go("/promises");
    scene.browser.press("Enter an order");
    scene.browser.fill(&[
        ("order", "O-200"),
        ("customer", "C-30"),
        ("variety", "valencia"),
        ("rootstock1", "carrizo"),
        ("size", "4L"),
        ("plants", "60"),
        ("due", "2027-11-01"),
        ("price", "12.50"),
    ]);
    scene.browser.press("Enter the order");
    assert!(scene.browser.page().contains("O-200"));
}

/// Makes a plan, looks at it and accepts it; gives its address.
pub fn plan(scene: &Scene) -> String {
    scene.browser.go("/seasons");
    scene.browser.press("Make a plan");
    scene.browser.wait_for("main a.button[href^='/seasons/']");
    scene.browser.press("Look at the new plan");
    let at = scene.browser.at();
    scene.browser.press("Accept this plan");
    assert!(scene.browser.at().starts_with("/week?done="));
    at
}

/// The jobs of the week, as they are headed and founded.
fn jobs(scene: &Scene) -> String {
    scene.browser.go("/week");
    let said = scene.browser.says(
        "return [...document.querySelectorAll('article.job')].map(it => it.textContent).join()",
    );
    said.to_string()
}

/// Ticks off the first job that one tap does; gives its act.
fn tick_off(scene: &Scene) -> String {
    scene.browser.go("/week");
    let of_job = "article.job .acts > form";
    let act = scene.browser.says(&format!(
        "return document.querySelector('{of_job}').getAttribute('action')"
    ));
    scene.browser.press_at(&format!("{of_job} button"));
    let page = scene.browser.page();
    assert!(scene.browser.at().contains("done="), "{page}");
    let act = act.as_str().and_then(|it| it.strip_prefix("/do/"));
    act.expect("the form of an act").to_owned()
}

#[test]
fn a_seasons_work_is_done_and_found_again() {
    let scene = Scene::small();
    scene.browser.screen(PHONE, 740);
    scene.browser.is_used_by("Ana");
    count(&scene);
    bud(&scene);
    take_count(&scene);
    order(&scene);
    let without = jobs(&scene);
    let run = plan(&scene);
    let with = jobs(&scene);
    assert_ne!(with, without, "the plan changes the week");
    let ticked = tick_off(&scene);
    for width in [WIDE, PHONE] {
        let odds = format!("{run}/odds");
        for at in [run.as_str(), &odds, "/week", "/promises", "/seasons"] {
            is_sound(&scene.browser, at, width);
        }
    }
    for act in ["count", "bud", "unwrap", "order", "accept_plan", &ticked] {
        let acts = scene.acts(act);
        assert!(acts >= 1, "{act} is not in the book: {:?}", scene.book());
    }
    let by_ana = scene.book().iter().filter(|it| it.contains("Ana")).count();
    assert_eq!(by_ana, 6, "{:?}", scene.book());
    scene.ends_clean();
}
