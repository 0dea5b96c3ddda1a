//! An enquiry while the customer is on the phone: asked, another offer taken, promised, seen in the book.

use std::fs;

use screens::PHONE;
use serde_json::{Value, json};

use crate::common::barkslip;
use crate::job::plan;
use crate::pages::is_sound;
use crate::{AS_OF, Scene};

/// Finished trees that stand: 500 Valencia on Carrizo, of which lines ask for 430, and 60 on Swingle.
fn finished_trees(scene: &Scene) {
    let act = |number: u32, keys: Value| {
        let mut act = json!({"id": format!("01JT{number:022}"), "on": AS_OF, "by": "Ana"});
        let all = act.as_object_mut().expect("an object");
        all.extend(keys.as_object().expect("an object").clone());
        format!("{act}\n")
    };
    let trees = [("T-1", "carrizo", 500), ("T-2", "swingle", 60)];
    let acts = trees.iter().zip([0, 2]).map(|((lot, rootstock, plants), number)| {
        act(number, json!({"act": "buy_in", "stage": "finished", "rootstock": rootstock, "variety": "valencia",
            "size": "4L", "plants": plants, "place": "yard-1", "source": "a neighbor", "lot": lot}))
            + &act(number + 1, json!({"act": "count", "lot": lot, "plants": plants, "ready": plants}))
    });
    let acts: String = acts.collect();
    fs::write(scene.folder.path().join("trees.jsonl"), acts).expect("a file");
    let record = ["record", "trees.jsonl", "--as-of", AS_OF];
    barkslip(scene.folder.path())
        .args(record)
        .assert()
        .success();
}

/// What the program itself answers to the same enquiry.
fn told(scene: &Scene, rootstock: &str, plants: &str) -> Value {
    let enquiry = [
        "promise",
        "--variety",
        "valencia",
        "--rootstock",
        rootstock,
        "--size",
        "4L",
        "--plants",
        plants,
        "--by",
        "2027-W20",
        "--as-of",
        AS_OF,
        "--json",
    ];
    let answer = barkslip(scene.folder.path())
        .args(enquiry)
        .assert()
        .success();
    serde_json::from_slice(&answer.get_output().stdout).expect("JSON")
}

#[test]
fn an_enquiry_on_a_phone_becomes_one_promise() {
    let scene = Scene::small();
    scene.browser.screen(PHONE, 740);
    scene.browser.is_used_by("Ana");
    finished_trees(&scene);
    plan(&scene);
    let orders = scene.acts("order");
    let of_carrizo = told(&scene, "carrizo", "600");
    assert!(
        of_carrizo["largest"].as_u64().expect("a number") < 600,
        "{of_carrizo}"
    );

    // The page asks again by itself until the odds are drawn.
    scene
        .browser
        .go("/enquiry?variety=valencia&rootstock=carrizo&size=4L&plants=600&by=2027-W20");
    scene.browser.wait_for("dl.facts");
    let page = scene.browser.page();
    assert!(page.contains("Not all: of 600 Valencia on"), "{page}");
    let largest = format!("{} at 90", of_carrizo["largest"]);
    assert!(page.contains(&largest), "{largest}: {page}");

    // Another offer: the same trees on another rootstock.
    let offer = "main table a.button[href*='rootstock=swingle']";
    scene.browser.wait_for(offer);
    scene.browser.press_at(offer);
    scene
        .browser
        .wait_for("form.entry[method=post] [name=customer]");
    let page = scene.browser.page();
    assert!(page.contains("Yes: 60 Valencia on"), "{page}");
    scene.browser.fill(&[("customer", "Garden House")]);
    scene.browser.says(
        "const it = document.querySelector('form.entry[method=post] .acts button'); it.click(); it.click();",
    );
    scene.browser.wait_for(".notice");
    let at = scene.browser.at();
    assert!(at.starts_with("/orders/O-"), "{at}");

    // The line has odds as soon as they are drawn anew, and the ledger has one order and one promise.
    scene.browser.wait_for("main .one-strip");
    let page = scene.browser.page();
    assert!(
        page.contains("Garden House") && page.contains("safe"),
        "{page}"
    );
    assert_eq!(
        (scene.acts("order"), scene.acts("promise")),
        (orders + 1, 1),
        "{:?}",
        scene.book()
    );
    let order = at.split('?').next().unwrap_or_default();
    for page in [
        order,
        "/promises",
        "/promises/trees",
        "/promises/kept",
        "/enquiry",
    ] {
        is_sound(&scene.browser, page, PHONE);
    }
    scene.ends_clean();
}
