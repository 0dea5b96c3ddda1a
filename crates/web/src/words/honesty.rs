//! Words of whether odds came true.

use crate::figures::of;

pub(crate) const SHEET: &str = "Did it come true?";
pub(crate) const NOTHING: &str = "No order line with odds has come due yet.";
pub(crate) const NOTHING_STEP: &str = "Barkslip keeps the odds it gives each week. When order lines come due, this page shows whether nine \
     of ten that were called 90 % were on time.";
pub(crate) const CHART: &str = "Odds called against the share that was on time";
pub(crate) const ACROSS: &str = "odds called, percent; upright: on time, percent";
pub(crate) const KEY: &str = "Each mark is the lines whose odds lay in one tenth; larger marks are more lines. Honest odds lie on the \
     slanting line. The upright strokes hold the true share nine times in ten, if lines do not depend on \
     each other.";
pub(crate) const CALLED: &str = "Odds called";
pub(crate) const LINES: &str = "Lines";
pub(crate) const MEAN: &str = "Mean odds";
pub(crate) const KEPT: &str = "On time";
pub(crate) const SCORE: &str = "Mean squared miss (0 is best, 0.25 a thrown coin)";
pub(crate) const RELIABILITY: &str = "Distance from honest odds";
pub(crate) const RESOLUTION: &str = "How well lines are told apart";
pub(crate) const UNCERTAINTY: &str = "What nobody could know";
pub(crate) const EACH: &str = "Line by line";
pub(crate) const LINE: &str = "Order, line";
pub(crate) const DUE: &str = "Due";
pub(crate) const GIVEN: &str = "Odds of week";
pub(crate) const ODDS: &str = "Odds";
pub(crate) const CAME: &str = "Came true";
pub(crate) const YES: &str = "on time";
pub(crate) const NO: &str = "not on time";
pub(crate) const METHOD: &str = "How this is worked out";
pub(crate) const METHOD_WORDS: &str = "For each line the odds count that were given last, so many weeks or more before its due day. A line \
     was on time when as many trees as it asked for, less its tolerance, were sent off by the end of its due week. \
     Lines that were cancelled before their due week ended are left out, and odds given before plants or due day \
     were changed; how many is told. The mean squared miss is the Brier score: the mean squared distance between \
     odds and what came true. Odds are kept while the program serves its pages with a plan accepted. \
     Its parts (Murphy 1973): distance from honest odds, less how well lines are told apart, with what nobody \
     could know added.";

/// Heads of the table as a file.
pub(crate) const CSV_HEADS: [&str; 7] = [
    "weeks_ahead",
    "order",
    "line",
    "due",
    "odds_of_week",
    "odds",
    "on_time",
];

/// The answer of the page.
pub(crate) fn answer(lines: usize, odds: &str, kept: &str, weeks: u32) -> String {
    format!(
        "Of {} that came due, {kept} were on time; {weeks} weeks before, {odds} were expected.",
        of(lines as u64, "order line")
    )
}

/// The head of a part of the page.
pub(crate) fn ahead(weeks: u32) -> String {
    format!("Odds given {weeks} weeks or more before the due day")
}

/// Lines that are left out.
pub(crate) fn left_out(lines: usize) -> String {
    format!(
        "Left out: {} that were cancelled or changed before they were due.",
        of(lines as u64, "line")
    )
}
