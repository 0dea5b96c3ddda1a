//! A second plan under changed conditions: asked on a phone, compared, accepted; the week's work is another then.

use screens::{PHONE, WIDE};

use crate::Scene;
use crate::job::plan;
use crate::pages::is_sound;

/// Fills in a question of the page and takes it.
fn take(scene: &Scene, head: &str, fields: &[(&str, &str)]) {
    let part = format!(
        "[...document.querySelectorAll('details')].find(it => it.querySelector('summary').textContent === '{head}')"
    );
    scene
        .browser
        .says(&format!("{part}.id = 'asked'; {part}.open = true;"));
    for (name, value) in fields {
        scene.browser.says(&format!(
            "document.querySelector('#asked [name={name}]').value = '{value}';"
        ));
    }
    scene.browser.press_at("#asked button");
}

/// The jobs of a week in which the small nursery buds.
fn jobs(scene: &Scene) -> String {
    scene.browser.go("/week?as_of=2027-03-29");
    let said = scene.browser.says(
        "return [...document.querySelectorAll('article.job')].map(it => it.textContent).join()",
    );
    said.to_string()
}

#[test]
fn a_plan_under_changes_is_made_compared_and_accepted() {
    let scene = Scene::small();
    scene.browser.screen(PHONE, 740);
    scene.browser.is_used_by("Ana");
    plan(&scene);
    let before = jobs(&scene);
    assert!(before.contains("Bud"), "{before}");

    scene.browser.go("/seasons");
    scene
        .browser
        .press("What if a crew were away, spring were late, a big order came?");
    let away = [
        ("crew", "budding"),
        ("percent", "0"),
        ("from", "2027-03-01"),
        ("to", "2027-05-30"),
    ];
    take(&scene, "A crew is smaller, or away for some weeks", &away);
    assert!(
        scene
            .browser
            .page()
            .contains("crew budding 0% from 2027-W09 to 2027-W21")
    );
    take(&scene, "Spring is late", &[("weeks", "2")]);
    for width in [PHONE, WIDE] {
        let at = scene.browser.at();
        is_sound(&scene.browser, &at, width);
    }
    scene.browser.screen(PHONE, 740);
    scene.browser.press("Make this plan");
    scene
        .browser
        .wait_for("main a.button[href^='/seasons/compare']");
    scene.browser.press("See what it changes");
    let page = scene.browser.page();
    assert!(
        page.contains("crew budding 0% from 2027-W09 to 2027-W21; spring 2 weeks late"),
        "{page}"
    );
    let at = scene.browser.at();
    for width in [WIDE, PHONE] {
        is_sound(&scene.browser, &at, width);
    }
    assert_eq!(
        jobs(&scene),
        before,
        "a plan that is only looked at changes nothing"
    );

    scene.browser.go(&at);
    scene.browser.press("Other plan");
    scene.browser.press("Accept this plan");
    assert!(scene.browser.at().starts_with("/week?done="));
    assert_ne!(jobs(&scene), before, "the accepted plan changes the week");
    assert_eq!(scene.acts("accept_plan"), 2);
    scene.ends_clean();
}
