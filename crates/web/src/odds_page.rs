//! The odds of the order lines.

use maud::{Markup, html};

use crate::chart::{Axis, free_chart};
use crate::figures::{count, interval, of};
use crate::frame::{Head, find, folded, list, method, page};
use crate::lines::Standing;
use crate::sheet::{FreePoint, FreeRow, OddsSheet};

/// Products shown before the rest is folded away.
const PRODUCTS_SHOWN: usize = 12;

/// The page of the odds: which order lines need a decision, how each stands, what is free to sell.
pub fn odds_page(sheet: &OddsSheet) -> String {
    let standing = Standing::new(&sheet.lines, &[]);
    let nothing = sheet.lines.is_empty();
    let answer = answer(sheet, &standing);
    let head = Head {
        nursery: &sheet.nursery,
        sheet: "Promises and their odds",
        as_of: &sheet.as_of,
        run: &sheet.run,
        answer: &answer,
    };
    let axis = Axis::new(&sheet.weeks, sheet.today);
    page(
        &head,
        &html! {
            @if nothing { (first_steps()) }
            (standing.tally())
            (tries(sheet))
            (standing.to_decide())
            (list("Mind this", &sheet.warnings))
            @if !nothing { (find()) }
            (standing.table(&axis))
            (free(&axis, &sheet.free))
            (method(&method_notes(sheet)))
        },
    )
}

/// The sentence over the odds.
pub(crate) fn answer(sheet: &OddsSheet, standing: &Standing) -> String {
    match (sheet.lines.is_empty(), sheet.free.is_empty()) {
        (true, true) => "There are no orders yet, so there are no odds to show.".to_owned(),
        (true, false) => {
            "There are no orders yet; all that comes ready is free to sell.".to_owned()
        }
        _ => standing.answer(),
    }
}

/// How many futures the odds come from.
pub(crate) fn tries(sheet: &OddsSheet) -> Markup {
    html! {
        @if sheet.futures > 0 {
            p {
                "Estimates from " (count(u64::from(sheet.futures)))
                " tries of the coming seasons."
            }
        }
    }
}

/// What to do before there is anything to give odds for.
fn first_steps() -> Markup {
    html! {
        ol {
            li { "Write down what is ordered: " code { "barkslip template orders.csv" } " prints the table to fill." }
            li { "Save it as " code { "orders.csv" } " in the folder of your nursery." }
            li { "Ask again with " code { "barkslip futures" } "; each order line then has its odds here." }
        }
    }
}

pub(crate) fn method_notes(sheet: &OddsSheet) -> Vec<String> {
    let mut notes = sheet.notes.clone();
    if sheet.futures > 0 {
        notes.push(format!(
            "The same {} tries come again with seed {}.",
            count(u64::from(sheet.futures)),
            sheet.seed
        ));
    }
    notes
}

fn free(axis: &Axis, rows: &[FreeRow]) -> Markup {
    let (first, rest) = rows.split_at(rows.len().min(PRODUCTS_SHOWN));
    html! {
        @if !first.is_empty() && axis.len() > 0 {
            section {
                h2 { "Free to sell" }
                (free_words())
                (pictures(axis, first, 0))
                @if !rest.is_empty() {
                    (folded(&of(rest.len() as u64, "more product"),
                        &pictures(axis, rest, first.len())))
                }
                (folded("These plants in figures", &figures(axis, rows)))
            }
        }
    }
}

/// What the pictures of free plants show.
pub(crate) fn free_words() -> Markup {
    html! {
        p.say {
            "Plants ready and promised to nobody. The band holds nine futures in ten, "
            "the line within has half of them on either side."
        }
    }
}

pub(crate) fn pictures(axis: &Axis, rows: &[FreeRow], from: usize) -> Markup {
    html! {
        @for (at, row) in rows.iter().enumerate() {
            figure {
                figcaption {
                    b { (row.variety) " on " (row.rootstock) }
                    span { (row.size) }
                    @if let Some(last) = row.points.last() {
                        span.quiet.small { (range(*last)) " in " (axis.iso(last.week)) }
                    }
                }
                (free_chart(axis, &format!("free-{}", from + at), row))
            }
        }
    }
}

pub(crate) fn figures(axis: &Axis, rows: &[FreeRow]) -> Markup {
    html! {
        div.scroll {
            table {
                thead {
                    tr {
                        th scope="col" { "Product" }
                        th scope="col" { "Week" }
                        th.n scope="col" { "Plants free, with nine chances in ten" }
                    }
                }
                tbody {
                    @for row in rows {
                        @for point in each_month(axis, row) {
                            tr {
                                th scope="row" { (row.variety) " on " (row.rootstock) ", " (row.size) }
                                td { (axis.iso(point.week)) }
                                td.n { (range(point)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The points of a product, thinned to the first of each month where there are many.
pub(crate) fn each_month(axis: &Axis, row: &FreeRow) -> Vec<FreePoint> {
    let many = row.points.len() > 12;
    row.points
        .iter()
        .filter(|point| !many || axis.starts_month(point.week))
        .copied()
        .collect()
}

fn range(point: FreePoint) -> String {
    interval(point.p05, point.p50, point.p95)
}
