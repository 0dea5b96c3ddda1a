//! Labels as a printer draws them and a camera reads them.

use documents::{Label, LabelError, LabelKind, LabelStock, Labels, PaperSize};
use jiff::civil::date;
use testkit::poppler::{self, Picture};

/// Forty letters, the widest name that is to be expected.
const NAME: &str = "Washington Navel von der langen Insel WW";

fn labels(stock: LabelStock, kind: LabelKind, count: usize) -> Labels {
    let label = |number: usize| Label {
        address: format!("https://192.168.178.24:8443/lots/F-26-{number}"),
        headline: format!("F-26-{number}"),
        lines: vec![
            NAME.to_owned(),
            "on Carrizo citrange".to_owned(),
            "budded 3 Mar 2027, 1 240 trees".to_owned(),
        ],
    };
    Labels {
        nursery: "Invented Nursery".to_owned(),
        title: "Labels of lots".to_owned(),
        language: "en",
        day: date(2027, 3, 1),
        stock,
        kind,
        first: 1,
        cut_lines: false,
        labels: (1..=count).map(label).collect(),
    }
}

/// 24 labels of 64 by 33 mm with margins and gaps on A4.
fn sheet() -> LabelStock {
    LabelStock {
        left: 7.2,
        top: 14.0,
        width: 64.0,
        height: 33.0,
        gap_across: 2.4,
        gap_down: 0.5,
        ..LabelStock::cut(PaperSize::A4, 3, 8)
    }
}

/// The picture of one place, as a phone held over one label sees it.
fn cut(picture: &Picture, bounds: [f64; 4], resolution: u32) -> Picture {
    let [left, top, right, foot] =
        bounds.map(|points| (points / 72.0 * f64::from(resolution)).round() as usize);
    let (right, foot) = (right.min(picture.width), foot.min(picture.height));
    let row = |y: usize| &picture.gray[y * picture.width + left..y * picture.width + right];
    Picture {
        width: right - left,
        height: foot - top,
        gray: (top..foot).flat_map(row).copied().collect(),
    }
}

/// All codes that a camera finds in a picture.
fn codes(picture: &Picture) -> Vec<String> {
    let mut prepared =
        rqrr::PreparedImage::prepare_from_greyscale(picture.width, picture.height, |x, y| {
            picture.gray[y * picture.width + x]
        });
    let mut found: Vec<String> = prepared
        .detect_grids()
        .iter()
        .map(|grid| grid.decode().expect("a code can be read").1)
        .collect();
    found.sort();
    found
}

fn addresses(labels: &Labels) -> Vec<String> {
    let mut all: Vec<String> = labels.labels.iter().map(|l| l.address.clone()).collect();
    all.sort();
    all
}

/// Left, top, right and foot of a place, in points.
fn place(stock: &LabelStock, number: usize) -> [f64; 4] {
    let (column, row) = (number % stock.columns, number / stock.columns);
    let left = stock.left + column as f64 * (stock.width + stock.gap_across);
    let top = stock.top + row as f64 * (stock.height + stock.gap_down);
    [left, top, left + stock.width, top + stock.height].map(|mm| mm / 25.4 * 72.0)
}

fn inside(inner: [f64; 4], outer: [f64; 4]) -> bool {
    // Boxes of words have the font's full height, more than the letters take.
    inner[0] >= outer[0]
        && inner[1] >= outer[1] - 2.0
        && inner[2] <= outer[2]
        && inner[3] <= outer[3] + 2.0
}

#[test]
fn every_code_of_24_labels_on_a_sheet_opens_its_lot() {
    let labels = labels(sheet(), LabelKind::Plain, 24);
    let pdf = labels.pdf().unwrap();
    assert_eq!(poppler::info(&pdf, "Pages").as_deref(), Some("1"));
    // As a printer of 200 and of 300 dots an inch draws it.
    for resolution in [200, 300] {
        let picture = poppler::picture(&pdf, 0, resolution);
        for (number, label) in labels.labels.iter().enumerate() {
            let seen = cut(&picture, place(&labels.stock, number), resolution);
            assert_eq!(codes(&seen), [label.address.as_str()], "{resolution}");
        }
    }
}

#[test]
fn no_word_of_a_name_of_40_letters_is_cut_or_leaves_its_label() {
    assert_eq!(NAME.chars().count(), 40);
    for (stock, count) in [
        (sheet(), 24),
        (LabelStock::cut(PaperSize::Letter, 4, 12), 48),
        (LabelStock::roll(57.0, 32.0), 2),
        (LabelStock::roll(40.0, 30.0), 2),
        (LabelStock::roll(50.0, 60.0), 1),
    ] {
        let labels = labels(stock, LabelKind::Plain, count);
        let pdf = labels.pdf().unwrap();
        let words = poppler::words(&pdf);
        for number in 0..count {
            let (page, bounds) = (
                number / stock.places(),
                place(&stock, number % stock.places()),
            );
            let here: String = words
                .iter()
                .filter(|word| word.page == page && inside(word.bounds, bounds))
                .map(|word| word.said.as_str())
                .collect();
            let label = &labels.labels[number];
            let wanted = format!("{}{}", label.headline, label.lines.concat());
            assert_eq!(here, wanted.replace(' ', ""), "{stock:?}");
        }
        let all: usize = labels
            .labels
            .iter()
            .map(|l| l.lines.concat().len() + l.headline.len())
            .sum();
        let spaces: usize = labels
            .labels
            .iter()
            .map(|l| l.lines.concat().matches(' ').count())
            .sum();
        let printed: usize = words.iter().map(|word| word.said.len()).sum();
        assert_eq!(printed, all - spaces, "no word stands outside of labels");
    }
}

#[test]
fn a_partly_used_sheet_is_begun_at_its_first_free_place() {
    let labels = Labels {
        first: 23,
        ..labels(sheet(), LabelKind::Plain, 4)
    };
    let pdf = labels.pdf().unwrap();
    let words = poppler::words(&pdf);
    let at = |number: usize| {
        let said = format!("F-26-{number}");
        let word = words.iter().find(|word| word.said == said).unwrap();
        (word.page, word.bounds)
    };
    for (number, page, wanted) in [(1, 0, 22), (2, 0, 23), (3, 1, 0), (4, 1, 1)] {
        let (found, bounds) = at(number);
        assert_eq!(found, page);
        assert!(inside(bounds, place(&sheet(), wanted)));
    }
    let beyond = Labels {
        first: 25,
        ..labels
    };
    let told = beyond.pdf().unwrap_err().to_string();
    assert_eq!(told, "place 25 is not on the sheet: it has places 1 to 24");
}

#[test]
fn a_row_stake_is_read_from_both_sides() {
    for (width, height) in [(160.0, 22.0), (22.0, 160.0)] {
        let labels = labels(LabelStock::roll(width, height), LabelKind::Stake, 1);
        let pdf = labels.pdf().unwrap();
        let address = labels.labels[0].address.clone();
        let picture = poppler::picture(&pdf, 0, 300);
        assert_eq!(codes(&picture), [address.clone(), address]);
        let said = poppler::words(&pdf);
        assert_eq!(said.iter().filter(|word| word.said == "F-26-1").count(), 2);
        // Once only when read aloud.
        let told = poppler::poppler("pdfinfo", &["-struct-text"], &pdf);
        assert_eq!(told.matches("\"F-26-1\"").count(), 1, "{told}");
    }
}

#[test]
fn a_bundle_tag_leaves_its_hole_free() {
    let labels = labels(LabelStock::roll(90.0, 40.0), LabelKind::Tag, 1);
    let pdf = labels.pdf().unwrap();
    assert_eq!(codes(&poppler::picture(&pdf, 0, 300)), addresses(&labels));
    let hole_ends = 9.0 / 25.4 * 72.0;
    for word in poppler::words(&pdf) {
        assert!(word.bounds[0] > hole_ends, "{word:?}");
    }
}

#[test]
fn labels_are_tagged_with_their_fonts_and_the_same_each_time() {
    let labels = labels(sheet(), LabelKind::Plain, 3);
    let pdf = labels.pdf().unwrap();
    assert_eq!(poppler::info(&pdf, "Tagged").as_deref(), Some("yes"));
    assert_eq!(poppler::fonts_embedded(&pdf), [true, true]);
    assert_eq!(labels.pdf(), Ok(pdf));
}

#[test]
fn what_cannot_be_printed_is_refused_with_the_reason() {
    let small = labels(LabelStock::roll(12.0, 60.0), LabelKind::Plain, 1);
    let told = small.pdf().unwrap_err();
    assert!(
        matches!(told, LabelError::Small { least, .. } if least > 12.0),
        "{told}"
    );
    let mut much = labels(LabelStock::roll(30.0, 20.0), LabelKind::Plain, 1);
    much.labels[0].lines = vec!["word ".repeat(400)];
    assert_eq!(much.pdf(), Err(LabelError::Text("F-26-1".to_owned())));
    let mut long = labels(sheet(), LabelKind::Plain, 1);
    long.labels[0].address = "x".repeat(4000);
    assert_eq!(long.pdf(), Err(LabelError::Address("F-26-1".to_owned())));
    let none = labels(sheet(), LabelKind::Plain, 0);
    assert_eq!(none.pdf(), Err(LabelError::Count(0)));
}
