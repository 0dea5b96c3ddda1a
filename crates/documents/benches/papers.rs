//! How long a paper of fifty pages takes.

use criterion::{Criterion, criterion_group, criterion_main};
use documents::{Block, Cell, Column, Paper, PaperSize, PaperWords, Row, Table};
use jiff::civil::date;

/// A week's sheet as long as fifty pages of A4.
fn fifty_pages() -> Paper {
    let row = |number: u32| {
        Row::Cells(vec![
            Cell::Words(format!("L-27-{number:04}")),
            "Washington Navel on Carrizo citrange".into(),
            "The bark slips since last week, and order O-101 ships by the end of October.".into(),
            Cell::Words(number.to_string()),
            Cell::Write,
            Cell::Tick,
        ])
    };
    let table = Table {
        about: "Jobs".to_owned(),
        columns: vec![
            Column::words("Lot", 2.0),
            Column::words("What", 4.0),
            Column::words("Why", 6.0),
            Column::number("Plants", 1.5),
            Column::words("Counted", 2.0),
            Column::words("Done", 1.0),
        ],
        rows: (0..1150).map(row).collect(),
    };
    Paper {
        nursery: "Invented Nursery".to_owned(),
        title: "This week, budding crew".to_owned(),
        date: "1 Mar 2027".to_owned(),
        day: date(2027, 3, 1),
        words: PaperWords {
            language: "en",
            page: |page, of| format!("page {page} of {of}"),
            write: "to write in",
            tick: "to tick",
        },
        blocks: vec![Block::Table(table)],
    }
}

fn papers(bench: &mut Criterion) {
    let paper = fifty_pages();
    let bytes = paper.pdf(PaperSize::A4).expect("a sound paper");
    let page = b"/Type/Page/";
    let pages = bytes
        .windows(page.len())
        .filter(|found| found == page)
        .count();
    assert!(pages == 0 || pages >= 50, "{pages} pages are not fifty");
    let mut group = bench.benchmark_group("papers");
    group.sample_size(10);
    group.bench_function("fifty pages", |bench| {
        bench.iter(|| paper.pdf(PaperSize::A4).map(|bytes| bytes.len()));
    });
    group.finish();
}

criterion_group!(benches, papers);
criterion_main!(benches);
