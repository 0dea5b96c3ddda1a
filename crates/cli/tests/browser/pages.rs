//! Every page of the demo nursery opens on the desk and on a phone, says what it says in a heading, fits
//! the screen, and has nothing to complain of.

use screens::{Browser, PHONE, Served, WIDE, http};

use crate::program;

/// Addresses that stand whatever is in the nursery.
pub const FIXED: &[&str] = &[
    "/week",
    "/standing",
    "/promises",
    "/seasons",
    "/seasons/compare",
    "/seasons/what-if",
    "/sky",
    "/sky?since=2026-10-15",
    "/sky/water",
    "/sky/water/sheet",
    "/sky/frost",
    "/sky/frost?evening=0.5&dew_point=-7",
    "/sky/frost?evening=warm&dew_point=-7",
    "/lineage",
    "/combinations",
    "/combinations?variety=valencia",
    "/combinations/carrizo",
    "/settings",
    "/settings/nursery",
    "/settings/routes",
    "/settings/weather",
    "/settings/files",
    "/settings/places",
    "/settings/crews",
    "/settings/places/row",
    "/settings/prices",
    "/begin",
    "/begin/nursery",
    "/begin/weather",
    "/begin/lots",
    "/book",
    "/enquiry",
    "/orders/new",
    "/who",
    "/do/count",
    "/do/bud",
    "/do/open_lot",
];

/// Asserts that a page is sound at a width.
pub fn is_sound(browser: &Browser, at: &str, width: u32) {
    browser.screen(width, 900);
    browser.go(at);
    let faults = faults(browser, width);
    assert!(faults.is_empty(), "{at} at {width}: {faults:?}");
}

/// What is wrong with the page that is open.
fn faults(browser: &Browser, width: u32) -> Vec<String> {
    let mut faults = browser.log();
    if browser.words("h1").trim().is_empty() {
        faults.push("the heading is empty".to_owned());
    }
    let wide = browser.says("return document.documentElement.scrollWidth");
    let wide = wide.as_u64().expect("a width");
    if wide > u64::from(width) {
        faults.push(format!("{wide} pixels wide: {}", widest(browser, width)));
    }
    faults
}

/// What stands out over the edge of the screen.
fn widest(browser: &Browser, width: u32) -> String {
    let said = browser.says(&format!(
        "return [...document.querySelectorAll('main *, header *')].filter(it => \
         it.getBoundingClientRect().right > {width}).slice(0, 5).map(it => \
         it.tagName + '.' + it.className + ' ' + it.textContent.slice(0, 40)).join(' | ')"
    ));
    said.to_string()
}

/// The first address of a page that begins so.
fn first_link(browser: &Browser, page: &str, begins: &str) -> String {
    browser.go(page);
    let said = browser.says(&format!(
        "const it = document.querySelector('main a[href^=\"{begins}\"]'); \
         return it && it.getAttribute('href')"
    ));
    let said = said.as_str().map(str::to_owned);
    said.unwrap_or_else(|| panic!("{page} leads to no {begins}"))
}

#[test]
fn every_page_of_the_demo_is_sound_on_the_desk_and_on_a_phone() {
    let folder = tempfile::tempdir().expect("a folder");
    let words = ["demo", "--out", "demo"];
    let served = Served::start(program(), folder.path(), &words);
    // The plan of the demo takes minutes; the pages with a plan are looked at over a small nursery.
    http::post(&served.host, "/planning/stop", &[]).expect("an end of planning");
    let browser = Browser::open(&served.host);
    let lot = first_link(&browser, "/standing", "/lots/");
    let order = first_link(&browser, "/promises", "/orders/O");
    let name = lot.rsplit('/').next().expect("a lot");
    let own = [
        format!("/do/count?lot={name}&back={lot}"),
        format!("/lineage?of={name}"),
        format!("{order}/line"),
        lot.clone(),
        order.clone(),
    ];
    for width in [WIDE, PHONE] {
        for at in FIXED.iter().copied().chain(own.iter().map(String::as_str)) {
            is_sound(&browser, at, width);
        }
    }
}

#[test]
fn a_page_that_is_too_wide_or_complains_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    let served = Served::start(program(), folder.path(), &["serve"]);
    let browser = Browser::open(&served.host);
    browser.screen(PHONE, 900);
    browser.go("/who");
    assert!(faults(&browser, PHONE).is_empty());
    browser.says("document.querySelector('main form').style.width = '900px'");
    let wide = faults(&browser, PHONE);
    assert!(wide[0].contains("pixels wide"), "{wide:?}");
    browser.go("/who");
    browser.says("console.error('something is wrong')");
    let told = faults(&browser, PHONE);
    assert!(told[0].contains("something is wrong"), "{told:?}");
    browser.says("document.querySelector('h1').textContent = ' '");
    let empty = faults(&browser, PHONE);
    assert!(empty[0].contains("heading"), "{empty:?}");
}
