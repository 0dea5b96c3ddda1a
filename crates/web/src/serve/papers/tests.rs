//! Papers of the demo nursery on their pages and as PDF.

use app::ledger::LotAnswer;
use app::papers::PaperKind;

use super::super::ask::Ask;
use super::super::reply::Reply;
use super::super::test_office::{Scene, ask, scene};
use super::{page, paper};

fn demo() -> Scene {
    scene(app::demo::make)
}

fn of(name: &str, query: &[(&str, &str)]) -> Ask {
    Ask {
        path: format!("/papers/{name}"),
        ..ask(("paper", name), query, &[])
    }
}

/// What a kind of paper needs to be told.
fn needs(kind: PaperKind) -> &'static [(&'static str, &'static str)] {
    match kind {
        PaperKind::Dispatch => &[("order", "O-2027-001"), ("permits", "P-1\nP-2")],
        PaperKind::Labels => &[("place", "row-1")],
        _ => &[],
    }
}

fn order_of(scene: &Scene) -> String {
    let book = scene
        .office
        .desk
        .read(|file, sight| file.order_lines(&sight.books, super::super::test_office::DAY))
        .unwrap();
    book.lines[0].order.clone()
}

fn first_standing(scene: &Scene) -> LotAnswer {
    let day = super::super::test_office::DAY;
    scene.office.desk.standing(day).unwrap()[0].clone()
}

/// The fields of a paper of the demo.
fn fields(scene: &Scene, kind: PaperKind) -> Vec<(&'static str, String)> {
    let own = |key: &str, value: &str| match key {
        "order" => order_of(scene),
        "place" => first_standing(scene).place,
        _ => value.to_owned(),
    };
    needs(kind)
        .iter()
        .map(|(key, value)| (*key, own(key, value)))
        .collect()
}

#[test]
fn every_paper_is_a_page_and_a_pdf_in_both_sizes_and_languages() {
    let scene = demo();
    for kind in PaperKind::ALL {
        let fields = fields(&scene, kind);
        for (size, language) in [("a4", "en"), ("letter", "es")] {
            let mut query: Vec<(&str, &str)> = vec![("size", size), ("language", language)];
            query.extend(fields.iter().map(|(key, value)| (*key, value.as_str())));
            let html = scene.page(paper, &of(kind.id(), &query));
            assert!(html.len() < 150_000, "{}: {} bytes", kind.id(), html.len());
            assert!(html.contains(&format!("/papers/{}.pdf?size={size}", kind.id())));
            if kind != PaperKind::Labels {
                assert!(
                    html.contains(&format!("lang=\"{language}\"")),
                    "{}",
                    kind.id()
                );
            }
            let pdf = format!("{}.pdf", kind.id());
            match paper(&scene.office, &of(&pdf, &query)) {
                Ok(Reply::File {
                    kind: what, bytes, ..
                }) => {
                    assert_eq!(what, "application/pdf");
                    assert!(bytes.starts_with(b"%PDF-"));
                }
                Ok(_) => panic!("{pdf} is no file"),
                Err(error) => panic!("{pdf}: {error}"),
            }
        }
    }
}

#[test]
fn the_page_of_papers_has_a_form_for_each() {
    let html = demo().page(page, &of("", &[]));
    for kind in PaperKind::ALL {
        assert!(html.contains(&format!("action=\"/papers/{}\"", kind.id())));
        assert!(html.contains(&format!("formaction=\"/papers/{}.pdf\"", kind.id())));
    }
    assert!(html.contains("value=\"http://127.0.0.1:1\""));
}

#[test]
fn labels_warn_where_no_phone_could_follow_them() {
    let scene = demo();
    let lot = first_standing(&scene).lot;
    let own = scene.page(paper, &of("labels", &[("lots", &lot)]));
    assert!(own.contains("lead to this machine itself"));
    let base = ("base", "https://192.168.1.20:8443");
    let good = scene.page(paper, &of("labels", &[("lots", &lot), base]));
    assert!(!good.contains("lead to this machine itself"));
}

#[test]
fn what_is_wrong_in_an_address_is_told() {
    let scene = demo();
    for (name, query, told) in [
        ("week", &[("week", "2027-W99")][..], "“2027-W99” is no week"),
        ("availability", &[("odds", "many")], "“many” is no number"),
        ("week.pdf", &[("size", "a3")], "there is no “a3”"),
        ("labels", &[("lots", "no such")], "there is no lot no such"),
        ("labels", &[], "no lot is chosen"),
        (
            "labels.pdf",
            &[("lots", "L"), ("base", "file:///etc")],
            "is not an address",
        ),
        (
            "labels",
            &[("place", "nowhere")],
            "nothing stands on nowhere",
        ),
        (
            "labels",
            &[
                ("lots", "L"),
                ("stock", "own"),
                ("columns", "2.5"),
                ("page_width", "210"),
                ("page_height", "297"),
            ],
            "“2.5” is no number",
        ),
        ("dispatch", &[], "a dispatch note is of one order"),
        ("dispatch", &[("order", "none")], "there is no order none"),
        ("nothing", &[], "There is no such page"),
    ] {
        match paper(&scene.office, &of(name, query)) {
            Err(error) => assert!(error.what.contains(told), "{name}: {}", error.what),
            Ok(_) => panic!("{name} {query:?} is taken"),
        }
    }
}

#[test]
fn labels_that_do_not_fit_their_sheet_are_refused() {
    let scene = demo();
    let lot = first_standing(&scene).lot;
    let query = [
        ("lots", lot.as_str()),
        ("stock", "own"),
        ("page_width", "210"),
        ("page_height", "297"),
        ("width", "64"),
        ("height", "33,9"),
        ("columns", "4"),
        ("rows", "8"),
    ];
    match paper(&scene.office, &of("labels.pdf", &query)) {
        Err(error) => assert!(error.what.contains("need 256 mm across"), "{}", error.what),
        Ok(_) => panic!("four labels of 64 mm are wider than A4"),
    }
}
