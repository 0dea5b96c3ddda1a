//! What is sent twice is done once, and what was done can be taken back.

use serde_json::json;

use crate::Scene;

/// The plants of a lot, as its page says them.
fn stands(scene: &Scene, lot: &str) -> String {
    scene.browser.go(&format!("/lots/{lot}"));
    scene.browser.words("h1")
}

fn filled_form(scene: &Scene) {
    scene.browser.go("/do/count?lot=L-26-1&back=/lots/L-26-1");
    scene.browser.fill(&[("plants", "640")]);
}

#[test]
fn a_double_tap_is_one_act() {
    let scene = Scene::small();
    scene.browser.is_used_by("Ana");
    filled_form(&scene);
    scene.browser.says(
        "const it = document.querySelector('form.entry .acts button'); it.click(); it.click();",
    );
    scene.browser.wait_for(".notice");
    assert_eq!(scene.acts("count"), 1);
    filled_form(&scene);
    // Two screens that send the very same form at the same moment.
    let both = scene.browser.says(
        "const form = document.querySelector('form.entry'); \
         const send = () => fetch(form.action, {method: 'POST', \
             body: new URLSearchParams(new FormData(form))}); \
         return Promise.all([send(), send()]).then(all => all.map(it => it.status))",
    );
    assert_eq!(both, json!([200, 200]));
    assert_eq!(scene.acts("count"), 2, "{:?}", scene.book());
    scene.ends_clean();
}

#[test]
fn the_back_button_repeats_nothing_and_undo_takes_back() {
    let scene = Scene::small();
    scene.browser.is_used_by("Ana");
    let before = stands(&scene, "L-26-1");
    filled_form(&scene);
    scene.browser.press("Record");
    let after = scene.browser.words("h1");
    assert_ne!(before, after);
    scene.browser.back();
    assert!(scene.browser.has("form.entry [name=plants]"));
    scene.browser.fill(&[("plants", "640")]);
    scene.browser.press("Record");
    assert_eq!(scene.acts("count"), 1, "{:?}", scene.book());
    assert_eq!(scene.browser.words("h1"), after);
    scene.browser.press("Undo");
    assert_eq!(stands(&scene, "L-26-1"), before);
    assert_eq!(scene.acts("correct"), 1, "{:?}", scene.book());
    scene.ends_clean();
}
