//! Order lines: how they stand, which of them need a decision, and the table of all.

use maud::{Markup, html};

use crate::chart::{Axis, strip};
use crate::figures::{amount, count, in_words, of, percent};
use crate::frame::{columns, folded};
use crate::scale::Odds;
use crate::sheet::{LineRow, ShortRow, WeekRange};

/// Decisions shown before the rest is folded away.
pub(crate) const DECISIONS_SHOWN: usize = 8;
/// Rows of the table shown before the rest is folded away.
const ROWS_SHOWN: usize = 40;

/// One thing to decide, with its reason.
struct Decision<'a> {
    order: &'a str,
    line: &'a str,
    customer: &'a str,
    due: &'a str,
    what: String,
    on_time: Option<f64>,
    target: Option<f64>,
    short: Option<&'a ShortRow>,
    why: &'a str,
    mend: &'a str,
}

/// Order lines sorted by whether they need a decision.
pub(crate) struct Standing<'a> {
    lines: &'a [LineRow],
    decisions: Vec<Decision<'a>>,
}

impl<'a> Standing<'a> {
    /// Looks at all lines; those short in the plan or below the odds wanted need a decision.
    pub(crate) fn new(lines: &'a [LineRow], short: &'a [ShortRow]) -> Self {
        let mut decisions: Vec<_> = lines
            .iter()
            .filter_map(|line| Decision::of_line(line, short_of(line, short)))
            .chain(
                short
                    .iter()
                    .filter(|short| !has_line(short, lines))
                    .map(Decision::of_short),
            )
            .collect();
        decisions.sort_by(|a, b| a.rank().total_cmp(&b.rank()));
        Self { lines, decisions }
    }

    /// How many order lines there are.
    pub(crate) fn total(&self) -> usize {
        let unlisted = self
            .decisions
            .iter()
            .filter(|decision| decision.target.is_none())
            .count();
        self.lines.len() + unlisted
    }

    /// The sentence that answers how the promises stand.
    pub(crate) fn answer(&self) -> String {
        let total = self.total();
        let lines = if total == 1 {
            "order line"
        } else {
            "order lines"
        };
        let unknown = self
            .lines
            .iter()
            .filter(|line| line.on_time.is_none())
            .count();
        match self.decisions.len() {
            0 if unknown == total => format!(
                "The plan fills {}; the odds are not worked out yet.",
                if total == 1 {
                    "the one order line".to_owned()
                } else {
                    format!("all {total} {lines}")
                }
            ),
            0 if total == 1 => {
                "The one order line is on course; nothing needs a decision.".to_owned()
            }
            0 => format!("All {total} {lines} are on course; none needs a decision."),
            decide => {
                let (are, need) = match (total - decide, decide) {
                    (1, 1) => ("is", "needs a decision"),
                    (1, _) => ("is", "need a decision"),
                    (_, 1) => ("are", "needs a decision"),
                    _ => ("are", "need a decision"),
                };
                let on_course = total - decide;
                format!(
                    "{on_course} of {total} {lines} {are} on course; {} {need}.",
                    in_words(decide)
                )
            }
        }
    }

    /// How many lines have each word of the scale.
    pub(crate) fn tally(&self) -> Markup {
        let known = || self.lines.iter().filter_map(|line| line.on_time);
        let unknown = self.lines.len() - known().count();
        html! {
            ul.tally {
                @for odds in Odds::ALL {
                    @let lines = known().filter(|p| Odds::of(*p) == odds).count();
                    @if lines > 0 { li { span aria-hidden="true" { (odds.shape()) } " " (lines) " " (odds.word()) } }
                }
                @if unknown > 0 { li { (unknown) " without odds yet" } }
            }
        }
    }

    /// What needs a decision, worst first, each with its reason.
    pub(crate) fn to_decide(&self) -> Markup {
        let rest = self.decisions.iter().skip(DECISIONS_SHOWN);
        let more = self.decisions.len().saturating_sub(DECISIONS_SHOWN);
        self.first_to_decide(&html! {
            @if more > 0 {
                (folded(&format!("{} more to decide", count(more as u64)),
                    &html! { ol.decide { @for decision in rest { (decision.item()) } } }))
            }
        })
    }

    /// The worst of what needs a decision, and below what leads to the rest.
    pub(crate) fn first_to_decide(&self, rest: &Markup) -> Markup {
        let first = self.decisions.iter().take(DECISIONS_SHOWN);
        html! {
            @if !self.decisions.is_empty() {
                section {
                    h2 { "Decide now" }
                    ol.decide { @for decision in first { (decision.item()) } }
                    (rest)
                }
            }
        }
    }

    /// How many lines need a decision.
    pub(crate) fn decisions(&self) -> usize {
        self.decisions.len()
    }

    /// The lines that need a decision, or all, in the order of the sheet.
    pub(crate) fn lines(&self, only_to_decide: bool) -> Vec<LineRow> {
        let lines = self.lines.iter();
        lines
            .filter(|line| !only_to_decide || self.needs_decision(line))
            .cloned()
            .collect()
    }

    fn needs_decision(&self, line: &LineRow) -> bool {
        self.decisions
            .iter()
            .any(|d| d.order == line.order && d.line == line.line)
    }

    /// The table of all lines, each with its odds as a number, a word and a shape.
    pub(crate) fn table(&self, axis: &Axis) -> Markup {
        let shown = self.lines.len().min(ROWS_SHOWN);
        let (first, rest) = self.lines.split_at(shown);
        html! {
            @if !first.is_empty() {
                section {
                    h2 { "The odds of every order line" }
                    (odds_key())
                    (self.rows(axis, first, 0))
                    @if !rest.is_empty() {
                        (folded(&of(rest.len() as u64, "more order line"),
                            &self.rows(axis, rest, shown)))
                    }
                }
            }
        }
    }

    pub(crate) fn rows(&self, axis: &Axis, lines: &[LineRow], from: usize) -> Markup {
        html! {
            table.rows.sort.lines {
                (columns(&[
                    ("Due", false), ("Order, line", false), ("What", false), ("Plants", true),
                    ("0 to 100 %", false), ("On time", false), ("By latest", true),
                    ("Complete in", false), ("What decides it", false),
                ]))
                tbody {
                    @for (at, line) in lines.iter().enumerate() {
                        (row(axis, line, from + at, self.needs_decision(line)))
                    }
                }
            }
        }
    }
}

impl<'a> Decision<'a> {
    fn of_line(line: &'a LineRow, short: Option<&'a ShortRow>) -> Option<Self> {
        // A hair below the target from rounding is not below it.
        let below = line.on_time.is_some_and(|odds| odds < line.target - 1e-9);
        (below || short.is_some()).then(|| Self {
            order: &line.order,
            line: &line.line,
            customer: &line.customer,
            due: &line.due,
            what: plants_of(line),
            on_time: line.on_time,
            target: Some(line.target),
            short,
            why: short.map_or(&line.driver, |short| &short.why),
            mend: short
                .map(|short| short.mend.as_str())
                .filter(|mend| !mend.is_empty())
                .unwrap_or(&line.remedy),
        })
    }

    fn of_short(short: &'a ShortRow) -> Self {
        Self {
            order: &short.order,
            line: &short.line,
            customer: "",
            due: "",
            what: short.what.clone(),
            on_time: None,
            target: None,
            short: Some(short),
            why: &short.why,
            mend: &short.mend,
        }
    }

    /// The lowest odds come first; a line without odds is short, so it leads.
    fn rank(&self) -> f64 {
        self.on_time.unwrap_or(-1.0)
    }

    fn item(&self) -> Markup {
        html! {
            li {
                div {
                    span.odds { (odds_words(self.on_time)) }
                    @if let (Some(target), Some(_)) = (self.target, self.on_time) {
                        br; small.quiet { "target " (percent(target)) }
                    }
                }
                div {
                    p {
                        b { (self.order) ", line " (self.line) }
                        @if !self.customer.is_empty() { " for " (self.customer) }
                        ": " (self.what)
                        @if !self.due.is_empty() { ", due " (self.due) }
                        "."
                    }
                    p {
                        @if let Some(short) = self.short { (count(short.plants)) " short in the plan. " }
                        (self.why)
                    }
                    @if !self.mend.is_empty() { p.mend { b { "What would help: " } (self.mend) } }
                }
            }
        }
    }
}

fn short_of<'a>(line: &LineRow, short: &'a [ShortRow]) -> Option<&'a ShortRow> {
    short
        .iter()
        .find(|short| short.order == line.order && short.line == line.line)
}

fn has_line(short: &ShortRow, lines: &[LineRow]) -> bool {
    lines
        .iter()
        .any(|line| short.order == line.order && short.line == line.line)
}

fn plants_of(line: &LineRow) -> String {
    format!("{} {}", count(line.plants), sized(&line.what, &line.size))
}

/// What, with its size where it has one.
pub(crate) fn sized(what: &str, size: &str) -> String {
    if size.is_empty() {
        what.to_owned()
    } else {
        format!("{what}, {size}")
    }
}

/// Odds as a shape, a number and a word.
pub(crate) fn odds_words(on_time: Option<f64>) -> Markup {
    html! {
        @if let Some(p) = on_time {
            @let odds = Odds::of(p);
            span aria-hidden="true" { (odds.shape()) } " " (percent(p)) " " (odds.word())
        } @else { "no odds yet" }
    }
}

/// How the odds of a line are drawn, and their scale in words.
pub(crate) fn odds_key() -> Markup {
    html! {
        p.say {
            "The shape shows the odds to be complete when due, from 0 at the left to 100 at the right. "
            "The bar runs on to the odds by the latest day the customer takes. "
            "The upright line is the target. All odds are estimates."
        }
        (scale_key())
    }
}

/// The scale of the odds in words.
pub(crate) fn scale_key() -> Markup {
    html! {
        ul.tally.small {
            @for odds in Odds::ALL {
                li { span aria-hidden="true" { (odds.shape()) } " " b { (odds.word()) } " " (odds.meaning()) }
            }
        }
    }
}

fn row(axis: &Axis, line: &LineRow, at: usize, decide: bool) -> Markup {
    let due_order = line.due_week.map(|week| week.to_string());
    html! {
        tr.mind[decide] {
            td.due data-head="Due" data-v=[due_order] { (line.due) }
            td.lead { (line.order) ", " (line.line) small { (line.customer) } }
            td.full-row { (sized(&line.what, &line.size)) }
            td.n data-head="Plants" data-v=(line.plants) {
                (count(line.plants))
                @if !line.price.is_empty() { small { (line.price) } }
            }
            td.strip data-v=(line.on_time.unwrap_or(-1.0)) { (strip(&format!("line-{at}"), line)) }
            td data-head="On time" data-v=(line.on_time.unwrap_or(-1.0)) {
                span.odds { (odds_words(line.on_time)) }
                small { "target " (percent(line.target)) }
                @if decide && !line.stakes.is_empty() { small { (line.stakes) } }
            }
            td.n data-head="By latest" { (line.by_latest.map_or_else(|| "–".to_owned(), percent)) }
            td.full-row data-head="Complete in" { (complete(axis, line)) }
            td.why {
                @if decide { b { "Decide. " } }
                (line.driver)
                @if let Some(short) = line.mean_short.filter(|short| *short >= 0.05) {
                    small { "on average " (amount(short)) " short" }
                }
            }
        }
    }
}

/// The week half the futures are complete by, and the weeks that eight in ten fall between.
fn complete(axis: &Axis, line: &LineRow) -> Markup {
    let WeekRange { p10, p50, p90 } = line.complete;
    let iso = |week: Option<usize>| {
        week.map(|week| axis.iso(week))
            .filter(|iso| !iso.is_empty())
    };
    let from = iso(p10).unwrap_or("later");
    // The year is said once where both ends share it.
    let until = match (iso(p90), from.split_once('-')) {
        (Some(last), Some((year, _))) => last
            .strip_prefix(year)
            .map_or(last, |week| week.trim_start_matches('-')),
        (last, _) => last.unwrap_or("later"),
    };
    html! {
        @if p10.is_none() { "–" } @else {
            (iso(p50).unwrap_or("later")) " " small { (from) " to " (until) }
        }
    }
}
