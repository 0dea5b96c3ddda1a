//! No page keeps anybody out: what axe-core holds against a page is mended, on the desk and on a phone, light
//! and dark, and everything can be done without a mouse.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use screens::{Browser, PHONE, WIDE, phone};
use serde_json::{Value, json};

use crate::Scene;
use crate::pages::FIXED;

/// The script that checks a page, which `./x test` fetches.
fn axe() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/accessibility/node_modules/axe-core/axe.min.js");
    std::fs::read_to_string(&file).unwrap_or_else(|_| {
        panic!("axe-core is not there: npm ci --prefix crates/cli/tests/accessibility")
    })
}

/// What is held against the page that is open and weighs: serious or critical.
fn barriers(browser: &Browser, axe: &str, only: &Value) -> Vec<String> {
    browser.says(axe);
    let told = browser.says(&format!(
        "return axe.run(document, {only}).then(it => ({{passes: it.passes.length, violations: it.violations\
         .filter(it => ['serious', 'critical'].includes(it.impact)).map(it => it.id + ': ' + it.help + ': ' + \
         it.nodes.slice(0, 4).map(it => it.html.slice(0, 160) + ' ' + it.failureSummary).join(' | '))}}))"
    ));
    assert!(
        told["passes"].as_u64() > Some(0),
        "nothing was checked: {told}"
    );
    let found = told["violations"].as_array().expect("a list").iter();
    found.map(ToString::to_string).collect()
}

/// A page at both widths, light and dark. What does not hang on colour is asked once for a width.
fn barriers_of(browser: &Browser, axe: &str, at: &str) -> Vec<String> {
    let mut found = Vec::new();
    for width in [WIDE, PHONE] {
        browser.screen(width, 900);
        for (look, only) in [
            ("light", json!({"resultTypes": ["violations", "passes"]})),
            (
                "dark",
                json!({"runOnly": ["color-contrast", "link-in-text-block"]}),
            ),
        ] {
            browser.looks(look);
            browser.go(at);
            let barriers = barriers(browser, axe, &only);
            found.extend(
                barriers
                    .iter()
                    .map(|it| format!("{at} {width} {look}: {it}")),
            );
        }
    }
    found
}

/// An address without what stands behind the question mark, names in it as stars: one page of a kind is enough.
fn kind(at: &str) -> String {
    let path = at.split(['?', '#']).next().unwrap_or_default();
    let named = [
        "/lots/",
        "/orders/",
        "/seasons/",
        "/combinations/",
        "/settings/files/",
    ];
    let begin = named.iter().find(|begin| path.starts_with(**begin));
    let Some(begin) = begin.filter(|_| !FIXED.contains(&path)) else {
        return path.to_owned();
    };
    let rest = path[begin.len()..]
        .split_once('/')
        .map_or("", |(_, rest)| rest);
    format!("{begin}*/{rest}")
}

/// Pages that the open page leads to: addresses of this server that are no files.
fn links(browser: &Browser) -> Vec<String> {
    let said = browser.says(
        "return [...document.querySelectorAll('a[href^=\"/\"]:not([download])')].map(it => it.getAttribute('href'))",
    );
    let links = said.as_array().cloned().unwrap_or_default();
    let links = links.iter().filter_map(Value::as_str).map(str::to_owned);
    links.filter(|it| !is_file(it)).collect()
}

fn is_file(at: &str) -> bool {
    let path = at.split(['?', '#']).next().unwrap_or_default();
    let last = path.rsplit('/').next().unwrap_or_default();
    [".csv", ".xlsx", ".ics", ".json", ".pdf", ".crt", ".toml"]
        .iter()
        .any(|it| last.ends_with(it))
        || path.starts_with("/settings/templates/")
}

/// One page of each kind that can be come to.
fn all_pages(browser: &Browser) -> BTreeMap<String, String> {
    let mut pages: BTreeMap<String, String> = BTreeMap::new();
    let mut to_see: Vec<String> = FIXED.iter().map(|it| (*it).to_owned()).collect();
    to_see.extend(["/phones", "/no-such-page"].map(str::to_owned));
    while let Some(at) = to_see.pop() {
        if pages.contains_key(&kind(&at)) {
            continue;
        }
        browser.go(&at);
        to_see.extend(links(browser));
        pages.insert(kind(&at), at);
    }
    pages
}

/// Work in a nursery, so that pages have something to show.
fn is_worked_in(scene: &Scene) {
    let browser = &scene.browser;
    browser.is_used_by("Ana");
    browser.go("/do/count?lot=L-26-1&back=/lots/L-26-1");
    browser.fill(&[("plants", "690")]);
    browser.press("Record");
}

#[test]
fn no_page_has_a_serious_barrier() {
    let scene = Scene::with_phones();
    is_worked_in(&scene);
    crate::job::plan(&scene);
    let axe = axe();
    let pages = all_pages(&scene.browser);
    assert!(pages.len() > 45, "{:?}", pages.keys());
    for kind in ["/lots/*/", "/orders/*/", "/seasons/*/"] {
        assert!(pages.contains_key(kind), "{kind} of {:?}", pages.keys());
    }
    let mut found = Vec::new();
    for at in pages.values() {
        found.extend(barriers_of(&scene.browser, &axe, at));
    }
    let phone = Browser::open_on_phone(&scene.served);
    let link = phone::invited(&scene.served, "Marta", "black phone");
    for at in ["/trust", "/week", &link, "/join/none"] {
        found.extend(barriers_of(&phone, &axe, at));
    }
    phone.go(&link);
    phone.press("Join with this phone");
    for at in ["/week", "/who", "/settings"] {
        found.extend(barriers_of(&phone, &axe, at));
    }
    assert!(
        found.is_empty(),
        "{} barriers:\n{}",
        found.len(),
        found.join("\n")
    );
}

#[test]
fn a_barrier_is_found() {
    let scene = Scene::small();
    let axe = axe();
    scene.browser.go("/do/count");
    let all = json!({});
    assert_eq!(barriers(&scene.browser, &axe, &all), Vec::<String>::new());
    scene.browser.says(
        "document.querySelectorAll('main label').forEach(it => it.replaceWith(...it.querySelectorAll('input')))",
    );
    scene
        .browser
        .says("document.querySelector('h1').style.color = '#bbb'");
    let found = barriers(&scene.browser, &axe, &all).join("\n");
    assert!(
        found.contains("label: ") && found.contains("color-contrast: "),
        "{found}"
    );
}

/// Numbers all that can be used on a page, and says how many there are.
const NUMBER: &str = "
    const used = [...document.querySelectorAll('a[href],button,input:not([type=hidden]),select,textarea,summary')]
        .filter(it => !it.disabled && it.tabIndex >= 0
            && (it.checkVisibility({visibilityProperty: true}) || it.matches('.skip')));
    const groups = new Set();
    let count = 0;
    for (const it of used) {
        if (it.type === 'radio') {
            const group = it.form + it.name;
            if (groups.has(group)) continue;
            groups.add(group);
        }
        it.dataset.number = count++;
    }
    return count;";

/// What has the focus: its number, and whether it is seen to have it.
const FOCUS: &str = "
    const it = document.activeElement;
    const style = getComputedStyle(it);
    const box = it.getBoundingClientRect();
    const group = it.type === 'radio' && document.querySelector(`[name=\"${it.name}\"][data-number]`);
    return {
        number: (group || it).dataset.number ?? null,
        seen: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 1 && box.width > 0 && box.height > 0,
        what: it.outerHTML.slice(0, 120),
    };";

/// Goes through a page with the tab key; what is not come to, or does not show it.
fn not_by_keys(browser: &Browser, at: &str) -> Vec<String> {
    browser.go(at);
    let count = browser.says(NUMBER).as_u64().expect("a count");
    let (mut reached, mut faults) = (BTreeSet::new(), Vec::new());
    // Dates have a stop for day, month and year each.
    for _ in 0..4 * count + 8 {
        browser.press_key(screens::keys::TAB);
        let focus = browser.says(FOCUS);
        let Some(number) = focus["number"].as_str() else {
            continue;
        };
        if reached.insert(number.to_owned()) && focus["seen"] != json!(true) {
            faults.push(format!("{at}: the focus is not seen on {}", focus["what"]));
        }
        if reached.len() as u64 == count {
            break;
        }
    }
    if reached.len() as u64 != count {
        let missed = browser.says(&format!(
            "const reached = new Set({}); return [...document.querySelectorAll('[data-number]')]\
             .filter(it => !reached.has(it.dataset.number)).map(it => it.outerHTML.slice(0, 120))",
            json!(reached)
        ));
        faults.push(format!("{at}: keys do not come to {missed}"));
    }
    faults
}

#[test]
fn keys_come_to_everything_and_show_where_they_are() {
    let scene = Scene::with_phones();
    scene.browser.is_used_by("Ana");
    let mut faults = Vec::new();
    for width in [WIDE, PHONE] {
        scene.browser.screen(width, 900);
        for at in [
            "/week",
            "/standing",
            "/promises",
            "/seasons",
            "/sky",
            "/lots/L-26-1",
            "/do/count?lot=L-26-1",
            "/orders/new",
            "/enquiry",
            "/book",
            "/settings",
            "/settings/places",
            "/phones",
        ] {
            faults.extend(not_by_keys(&scene.browser, at));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Presses a key until something has the focus.
fn tab_to(browser: &Browser, css: &str) {
    for _ in 0..200 {
        if browser.says(&format!("return document.activeElement.matches('{css}')")) == json!(true) {
            return;
        }
        browser.press_key(screens::keys::TAB);
    }
    panic!("keys do not come to {css} on {}", browser.at());
}

#[test]
fn a_count_is_recorded_without_a_mouse() {
    let scene = Scene::small();
    let browser = &scene.browser;
    browser.go("/standing");
    browser.press_key(screens::keys::TAB);
    browser.press_key(screens::keys::ENTER);
    let skipped = browser.says("return location.hash");
    assert_eq!(
        skipped, "#page",
        "the first key leads past the pages' names"
    );
    tab_to(browser, "main a[href^=\"/lots/L-26-1\"]");
    browser.follow_by_key(screens::keys::ENTER);
    tab_to(browser, "main a[href^=\"/do/count\"]");
    browser.follow_by_key(screens::keys::ENTER);
    tab_to(browser, "main form [name=plants]");
    browser.type_keys("650");
    tab_to(browser, "main form [name=by]");
    browser.type_keys("Ana");
    tab_to(browser, "main form button:not(.plain)");
    browser.follow_by_key(screens::keys::ENTER);
    let notice = browser.words(".notice");
    assert!(notice.contains("650"), "{notice}");
    assert_eq!(scene.acts("count"), 1);
    scene.ends_clean();
}
