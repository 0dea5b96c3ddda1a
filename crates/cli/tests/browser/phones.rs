//! A phone joins over HTTPS on an address of the machine in its network, by the link of a code, and is let in
//! no more once the office says so.

use screens::{Browser, PHONE};

use crate::Scene;

#[test]
fn a_phone_joins_by_a_link_and_is_let_in_no_more() {
    let scene = Scene::with_phones();
    let phone = Browser::open_on_phone(&scene.served);
    phone.screen(PHONE, 800);
    phone.go("/week");
    assert!(phone.page().contains("has not joined"), "{}", phone.page());
    assert!(!phone.has("nav"));
    phone.joins(&scene.served, "Marta", "black phone");
    assert_eq!(phone.at(), "/week");
    assert!(phone.page().contains("You are Marta"), "{}", phone.page());
    let is_safe = phone.says("return isSecureContext && 'serviceWorker' in navigator");
    assert_eq!(is_safe, true, "pages may be kept on the phone");

    let office = &scene.browser;
    office.go("/phones");
    assert!(office.page().contains("1 phone has joined"));
    office.press("Let in no more");
    phone.go("/week");
    assert!(phone.page().contains("let in no more"), "{}", phone.page());
}

#[test]
fn the_page_of_phones_shows_codes_that_fit() {
    let scene = Scene::with_phones();
    for width in [PHONE, screens::WIDE] {
        scene.browser.screen(width, 900);
        crate::pages::is_sound(&scene.browser, "/phones", width);
        scene
            .browser
            .fill(&[("person", "Ana"), ("label", "red phone")]);
        scene.browser.press("Make a code to scan");
        assert!(scene.browser.has("svg.qr"), "{}", scene.browser.page());
        let wide = scene
            .browser
            .says("return document.documentElement.scrollWidth");
        assert!(wide.as_u64() <= Some(u64::from(width)), "{wide}");
    }
}
