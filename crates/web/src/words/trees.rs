//! Words of the trees of a product against what is promised of them.

use crate::figures::{count, of};

pub(crate) const SHEET: &str = "Trees and orders";
pub(crate) const NONE: &str = "No trees are grown for sale in this season.";
pub(crate) const PRODUCT: &str = "Product";
pub(crate) const SHOW: &str = "Show";
pub(crate) const READY: &str = "Ready trees, week by week";
pub(crate) const ALL: &str = "All products";
pub(crate) const ASKED: &str = "Asked for";
pub(crate) const LINES: &str = "Order lines";
pub(crate) const AT_RISK: &str = "Below target";
pub(crate) const KEY: &str = "line: asked for, band: become ready";
pub(crate) const CHART_KEY: &str = "The stepped line shows the trees that order lines ask for by each week. The bands show the trees that \
     have become ready: in nine futures of ten they lie in the pale band, in five of ten in the dark one, and \
     the line within is the middle.";
pub(crate) const WEEKS: &str = "By week";
pub(crate) const WEEK: &str = "Week";
pub(crate) const COME: &str = "Become ready by then";
pub(crate) const FREE: &str = "Ready and free then";
pub(crate) const ASK: &str = "Can I promise more of it?";
pub(crate) const METHOD: &str = "How this is worked out";
pub(crate) const METHOD_WORDS: &str = "From the stored futures of the plan in force. Trees that planned work takes on, such as those that are \
     potted up once more, are not counted as ready to be sold. A line that takes other rootstocks too is \
     counted with each of them. Figures are the middle, and in brackets what nine futures of ten lie within.";

/// Heads of the table as a file.
pub(crate) const CSV_HEADS: [&str; 15] = [
    "variety",
    "rootstock",
    "size",
    "week",
    "asked",
    "ready_p05",
    "ready_p25",
    "ready_p50",
    "ready_p75",
    "ready_p95",
    "free_p05",
    "free_p25",
    "free_p50",
    "free_p75",
    "free_p95",
];

/// The answer of the page.
pub(crate) fn answer(what: &str, asked: u64, lines: usize, at_risk: usize) -> String {
    let lines_words = of(lines as u64, "order line");
    match (lines, at_risk) {
        (0, _) => format!("Nobody has ordered {what} yet."),
        (_, 0) => format!(
            "{} {what} are asked for in {lines_words}; none is below its target.",
            count(asked)
        ),
        (_, risk) => format!(
            "{} {what} are asked for in {lines_words}; {} below target.",
            count(asked),
            of(risk as u64, "line")
        ),
    }
}

/// The title of the picture.
pub(crate) fn chart(what: &str) -> String {
    format!("{what}: ready trees against trees asked for")
}

/// What the picture shows in the end.
pub(crate) fn describe(week: &str, ready: &str, asked: &str) -> String {
    format!(
        "By {week}, {ready} trees have become ready, with nine chances in ten; {asked} are asked for."
    )
}
