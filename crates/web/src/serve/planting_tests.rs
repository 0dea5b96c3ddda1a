//! The planting sheet through its handlers, over the demo nursery.

use super::ask::Ask;
use super::reply::Reply;
use super::test_office::{DAY, Scene, ask, scene};
use super::{order, planting};

/// Most bytes of a page.
const MOST_BYTES: usize = 150_000;

fn typed(more: &[(&str, &str)]) -> Ask {
    let mut fields = vec![
        ("variety", "valencia"),
        ("rootstock", "carrizo"),
        ("size", "4L"),
        ("plants", "12"),
    ];
    fields.extend_from_slice(more);
    ask(("", ""), &fields, &[])
}

fn file(scene: &Scene, of: super::routes::PageOf, ask: &Ask) -> (String, Vec<u8>) {
    match of(&scene.office, ask) {
        Ok(Reply::File { name, bytes, .. }) => (name, bytes),
        Ok(_) => panic!("no file"),
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn the_page_teaches_the_first_step_and_then_writes_the_sheet() {
    let scene = scene(app::demo::make);
    let empty = scene.page(planting::page, &ask(("", ""), &[], &[]));
    assert!(empty.contains("Write the sheet") && empty.contains("valencia-es"));
    let page = scene.page(planting::page, &typed(&[("city", "valencia-es")]));
    for part in [
        "Planting section",
        "Height of the union",
        "Spacing plan",
        "<ol>",
        "/planting.pdf?",
        "/planting.csv?",
    ] {
        assert!(page.contains(part), "{part}");
    }
    assert!(page.len() < MOST_BYTES, "{} bytes", page.len());
    assert!(!page.contains("style=") && !page.contains("NaN"));
    let spanish = [
        ("city", "valencia-es"),
        ("language", "es"),
        ("units", "us"),
        ("form", "orchard"),
    ];
    let page = scene.page(planting::page, &typed(&spanish));
    assert!(page.contains("lang=\"es\"") && page.contains("Hoja de plantación: huerto"));
    assert!(page.contains("\u{202f}gal"));
}

#[test]
fn an_orders_trees_have_their_sheet() {
    let scene = scene(app::demo::make);
    let orders = scene
        .office
        .desk
        .read(|_, sight| Ok(sight.books.orders.keys().cloned().collect::<Vec<_>>()));
    let orders = orders.expect("orders");
    let name = orders.first().expect("an order").as_str();
    let shown = scene.page(order::page, &ask(("name", name), &[], &[]));
    assert!(
        shown.contains("/planting?order="),
        "the order leads to its sheet"
    );
    let query = [("order", name), ("latitude", "37.0"), ("longitude", "-8.0")];
    let page = scene.page(planting::page, &ask(("", ""), &query, &[]));
    assert!(page.contains("Faro (PT)"), "the nearest city is named");
    let (name_of, pdf) = file(&scene, planting::pdf, &ask(("", ""), &query, &[]));
    assert_eq!(name_of, format!("planting-{name}.pdf"));
    assert!(pdf.starts_with(b"%PDF-"));
    let (_, csv) = file(&scene, planting::csv, &ask(("", ""), &query, &[]));
    assert_eq!(String::from_utf8(csv).expect("text").lines().count(), 53);
    let trees = scene
        .office
        .desk
        .read(|_, sight| app::planting::trees_of_order(&sight.books, name, DAY));
    assert!(!trees.expect("trees").is_empty());
}

#[test]
fn what_is_wrong_is_told_over_the_form() {
    let scene = scene(app::demo::make);
    for (fields, told) in [
        (vec![("city", "atlantis")], "atlantis"),
        (vec![("latitude", "north"), ("longitude", "1")], "no number"),
        (vec![("city", "faro-pt"), ("week", "60")], "1 to 53"),
        (
            vec![("lows", "1 2 3"), ("highs", "1"), ("latitude", "40")],
            "twelve",
        ),
    ] {
        match planting::page(&scene.office, &typed(&fields)) {
            Ok(Reply::NotDone(page)) => {
                let body = page.body.into_string();
                assert!(body.contains(told), "{told}: {body}");
                assert!(body.contains("value=\"12\""), "what was typed is kept");
            }
            _ => panic!("{told} is refused"),
        }
    }
}
