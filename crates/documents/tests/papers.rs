//! Papers as poppler reads them.

use documents::{
    Anchor, Block, Cell, Column, Drawing, Gray, Ink, Lettering, Paper, PaperSize, PaperWords, Row,
    Stroke, Table,
};
use jiff::civil::date;
use testkit::poppler;

fn words() -> PaperWords {
    PaperWords {
        language: "es",
        page: |page, of| format!("página {page} de {of}"),
        write: "para escribir",
        tick: "para marcar",
    }
}

fn paper(blocks: Vec<Block>) -> Paper {
    Paper {
        nursery: "Vivero Inventado".to_owned(),
        title: "Esta semana".to_owned(),
        date: "1 mar 2027".to_owned(),
        day: date(2027, 3, 1),
        words: words(),
        blocks,
    }
}

fn jobs(count: usize) -> Table {
    let row = |number: usize| {
        Row::Cells(vec![
            Cell::Words(format!("L-{number:03}")),
            Cell::Words(format!(
                "Why{number} it is done, in words that take more than one line"
            )),
            Cell::Words(format!("{number}")),
            Cell::Write,
            Cell::Tick,
        ])
    };
    let mut rows: Vec<Row> = (0..count).map(row).collect();
    rows.insert(0, Row::Group("Budding".to_owned()));
    rows.push(Row::Total(vec!["All".into(), "".into(), "1 234".into()]));
    Table {
        about: "Jobs of the week".to_owned(),
        columns: vec![
            Column::words("Lot", 1.0),
            Column::words("Why now", 4.0),
            Column::number("Plants", 1.0),
            Column::words("Counted", 1.5),
            Column::words("Done", 0.6),
        ],
        rows,
    }
}

fn drawing() -> Drawing {
    Drawing::new(70.0, 30.0, "Spacing", "Two trees stand 4 m apart.")
        .rectangle((0.0, 25.0), 70.0, 5.0, Ink::filled(Gray::LIGHT))
        .circle(
            (10.0, 20.0),
            5.0,
            Ink::both(Gray::MIDDLE, Stroke::black(0.3)),
        )
        .circle(
            (60.0, 20.0),
            5.0,
            Ink::outlined(Stroke::black(0.3).dashed(1.0)),
        )
        .measure((10.0, 12.0), (60.0, 12.0), Stroke::black(0.25))
        .text(
            (35.0, 10.0),
            "4\u{a0}m",
            Lettering::of(4.0).at(Anchor::Middle),
        )
        .text((3.0, 24.0), "high", Lettering::of(3.0).upward())
}

fn all_blocks() -> Paper {
    let long = "Bark slips in lot after lot, and buds set now unite before the heat. ".repeat(14);
    paper(vec![
        Block::Answer("Four jobs are to be done this week.".to_owned()),
        Block::Heading(2, "First heading".to_owned()),
        Block::Paragraph(long.clone()),
        Block::List(vec!["one item".to_owned(), long]),
        Block::Steps(vec!["first step".to_owned(), "second step".to_owned()]),
        Block::Drawings(vec![drawing(), drawing(), drawing()]),
        Block::Heading(3, "Jobs heading".to_owned()),
        Block::Table(jobs(60)),
        Block::Note("Source: common practice.".to_owned()),
        Block::NewPage,
        Block::Paragraph("On a page of its own.".to_owned()),
    ])
}

#[test]
fn a_paper_is_tagged_titled_dated_and_has_its_fonts_in_it() {
    for size in PaperSize::ALL {
        let pdf = all_blocks().pdf(size).unwrap();
        assert_eq!(poppler::info(&pdf, "Tagged").as_deref(), Some("yes"));
        assert_eq!(poppler::info(&pdf, "Title").as_deref(), Some("Esta semana"));
        assert_eq!(
            poppler::info(&pdf, "Author").as_deref(),
            Some("Vivero Inventado")
        );
        let paper = match size {
            PaperSize::A4 => "A4",
            PaperSize::Letter => "letter",
        };
        let told = poppler::info(&pdf, "Page size").unwrap();
        assert!(told.contains(paper), "{told}");
        assert_eq!(poppler::fonts_embedded(&pdf), [true, true]);
        let raw = String::from_utf8_lossy(&pdf).into_owned();
        assert!(raw.contains("/Lang"), "the language is set");
    }
}

#[test]
fn text_is_read_in_order_and_heads_stand_on_each_page() {
    let pdf = all_blocks().pdf(PaperSize::A4).unwrap();
    let text = poppler::text(&pdf);
    let mut at = 0;
    let order = [
        "Esta semana",
        "Four jobs",
        "First heading",
        "Bark slips",
        "one item",
        "first step",
        "second step",
        "4 m",
        "Jobs heading",
        "Why now",
        "L-000",
        "Why0",
        "L-059",
        "1 234",
        "Source: common practice.",
        "On a page of its own.",
    ];
    for words in order {
        let found = text[at..].find(words);
        at += found.unwrap_or_else(|| panic!("{words} does not follow in:\n{text}"));
    }
    let pages: usize = poppler::info(&pdf, "Pages").unwrap().parse().unwrap();
    assert!(pages >= 4);
    for page in 1..=pages {
        assert!(text.contains(&format!("página {page} de {pages}")));
    }
    assert_eq!(text.matches("1 mar 2027").count(), pages);
    // The head of the table stands on each of its pages.
    let table_pages = text
        .split('\u{c}')
        .filter(|page| page.contains("L-0"))
        .count();
    assert!(table_pages >= 2);
    assert_eq!(text.matches("Counted").count(), table_pages);
}

#[test]
fn a_screen_reader_finds_headings_lists_tables_and_figures() {
    let pdf = all_blocks().pdf(PaperSize::A4).unwrap();
    let told = poppler::poppler("pdfinfo", &["-struct-text"], &pdf);
    for part in [
        "H1", "H2", "H3", "LI", "LBody", "Table", "THead", "TH", "TR", "TD", "Figure",
    ] {
        assert!(told.contains(part), "{part} is missing in\n{told}");
    }
    // The repeated head of the table is read once.
    assert_eq!(told.matches("\"Why now\"").count(), 1, "{told}");
}

#[test]
fn nothing_stands_outside_of_the_page_and_no_lines_lie_on_each_other() {
    for size in PaperSize::ALL {
        let pdf = all_blocks().pdf(size).unwrap();
        let (width, height) = size.millimeters();
        let (width, height) = (width / 25.4 * 72.0, height / 25.4 * 72.0);
        let words = poppler::words(&pdf);
        for word in &words {
            let [left, top, right, foot] = word.bounds;
            assert!(left > 30.0 && right < width - 30.0, "{word:?}");
            assert!(top > 20.0 && foot < height - 25.0, "{word:?}");
        }
        for (number, one) in words.iter().enumerate() {
            for other in words[number + 1..].iter().filter(|o| o.page == one.page) {
                let shared = |low: usize, high: usize| {
                    one.bounds[high].min(other.bounds[high])
                        - one.bounds[low].max(other.bounds[low])
                };
                // Boxes of lines touch by their leading; letters do not.
                assert!(
                    shared(0, 2) < 0.5 || shared(1, 3) < 4.0,
                    "{one:?} lies on {other:?}"
                );
            }
        }
    }
}

#[test]
fn a_cell_higher_than_a_page_goes_on_on_the_next() {
    let mut table = jobs(1);
    let Row::Cells(cells) = &mut table.rows[1] else {
        panic!("the first row after the group");
    };
    let many: Vec<String> = (0..900).map(|number| format!("w{number}")).collect();
    cells[1] = Cell::Words(many.join(" "));
    let pdf = paper(vec![Block::Table(table)]).pdf(PaperSize::A4).unwrap();
    let words = poppler::words(&pdf);
    for number in [0, 450, 899] {
        let wanted = format!("w{number}");
        assert!(words.iter().any(|word| word.said == wanted), "{wanted}");
    }
    assert!(words.iter().map(|word| word.page).max() >= Some(1));
}

#[test]
fn headings_never_end_a_page_and_paragraphs_leave_no_single_line() {
    for lines in 35..60 {
        let blocks = vec![
            Block::Paragraph("line\n".repeat(lines).trim_end().to_owned()),
            Block::Heading(2, "Heading".to_owned()),
            Block::Paragraph("last1\nlast2\nlast3\nlast4\nlast5".to_owned()),
        ];
        let pdf = paper(blocks).pdf(PaperSize::A4).unwrap();
        let words = poppler::words(&pdf);
        let page = |said: &str| {
            let word = words.iter().find(|word| word.said == said);
            word.expect("it is printed").page
        };
        assert_eq!(page("Heading"), page("last1"), "{lines}");
        assert_eq!(page("last1"), page("last2"), "{lines}");
        assert_eq!(page("last4"), page("last5"), "{lines}");
    }
}

#[test]
fn the_same_paper_of_a_day_gives_the_same_bytes() {
    assert_eq!(
        all_blocks().pdf(PaperSize::A4),
        all_blocks().pdf(PaperSize::A4)
    );
}

#[test]
fn an_empty_paper_and_odd_values_are_papers_too() {
    let odd = Table {
        columns: vec![Column::words("", f64::NAN), Column::number("n", -3.0)],
        rows: vec![
            Row::Cells(vec![]),
            Row::Cells(vec!["\u{7}\u{5d0}".into(), "2".into(), "too many".into()]),
        ],
        ..Table::default()
    };
    let nothing = Drawing::new(0.0, f64::NAN, "", "").circle((f64::NAN, 1.0), 1.0, Ink::default());
    for blocks in [
        vec![],
        vec![Block::Table(Table::default()), Block::List(vec![])],
        vec![Block::Table(odd), Block::Paragraph(String::new())],
        vec![Block::Drawings(vec![nothing]), Block::NewPage],
    ] {
        let pdf = paper(blocks).pdf(PaperSize::Letter).unwrap();
        assert_eq!(poppler::info(&pdf, "Pages").as_deref(), Some("1"));
    }
}
