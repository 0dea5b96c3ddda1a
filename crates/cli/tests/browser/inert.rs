//! Names and notes that hold a script are shown as they were written, and run nothing.

use crate::Scene;

const SCRIPT: &str = "<script>window.ran = 1</script><img src=x onerror='window.ran = 1'>";

#[test]
fn scripts_in_names_run_nothing() {
    let scene = Scene::small();
    scene.browser.is_used_by("<b onclick=ran>Ana</b>");
    scene.browser.go("/do/note?back=/book");
    scene.browser.fill(&[("about", "L-26-1"), ("text", SCRIPT)]);
    scene.browser.press("Record");
    scene.browser.go("/orders/new");
    scene.browser.fill(&[
        ("order", "O-201"),
        ("customer", SCRIPT),
        ("variety", "valencia"),
        ("rootstock1", "carrizo"),
        ("size", "4L"),
        ("plants", "10"),
        ("due", "2027-11-01"),
        ("price", "12.50"),
    ]);
    scene.browser.press("Enter the order");
    scene.browser.log();
    for at in [
        "/book",
        "/promises",
        "/orders/O-201",
        "/lots/L-26-1",
        "/who",
        "/lineage?of=%3Cscript%3Ewindow.ran=1%3C/script%3E",
        "/lots/%3Cscript%3Ewindow.ran=1%3C%2Fscript%3E",
        "/week?crew=%3Cscript%3Ewindow.ran=1%3C/script%3E",
    ] {
        scene.browser.go(at);
        let ran = scene.browser.says("return typeof window.ran");
        assert_eq!(ran, "undefined", "{at}");
        let scripts = scene.browser.says(
            "return document.querySelectorAll('script:not([src]), [onclick], [onerror]').length",
        );
        assert_eq!(scripts, 0, "{at}");
    }
    scene.browser.go("/orders/O-201");
    let shown = scene.browser.page();
    assert!(shown.contains("<script>window.ran = 1"), "{shown}");
    scene.ends_clean();
}
