//! Words of the order book.

use app::ledger::NoOdds;

use crate::figures::{capital, count, in_words, of};

pub(crate) const SHEET: &str = "Promises";

/// The pages beside the order book.
pub(crate) const PARTS: &[(&str, &str)] = &[
    ("/promises", "Order book"),
    ("/promises/trees", "Trees and orders"),
    ("/enquiry", "Can I promise this?"),
    ("/promises/kept", "Did it come true?"),
];

pub(crate) const NO_ORDERS: &str = "There are no orders yet.";
pub(crate) const NO_ORDERS_STEP: &str =
    "Enter the first order here, or take in the folder with your orders.csv under Settings.";
pub(crate) const NEW_ORDER: &str = "Enter an order";
pub(crate) const ENQUIRE: &str = "Can I promise this?";
pub(crate) const MAKE_PLAN: &str = "Make a plan";
pub(crate) const NO_FUTURES: &str =
    "No odds yet: make a plan. Barkslip then tries many futures and gives every line its odds.";
pub(crate) const DECIDE: &str = "Decide now";
pub(crate) const OPEN_ORDER: &str = "Open the order";
pub(crate) const CHANGE_LINE: &str = "Change the line";
pub(crate) const OFFER_ELSE: &str = "What else could be offered";
pub(crate) const BY_MONTH: &str = "What is due, month by month";
pub(crate) const BY_MONTH_KEY: &str =
    "One mark is one open line. Take a month to see its lines only.";
pub(crate) const LATER: &str = "Later";
pub(crate) const TABLE: &str = "The order book";
pub(crate) const NOTHING_FITS: &str = "No line fits what you look for. Show fewer limits.";
pub(crate) const STRIP_KEY: &str = "The shape shows the odds to be complete when due, from 0 at the left to 100 at the right. The \
     bar runs on to the odds by the latest day the customer takes. The upright line is the target. \
     All odds are estimates.";
pub(crate) const UNKNOWN_MARK: &str = "?";
pub(crate) const CONTRACT: &str = "contract";
pub(crate) const NO_CONTRACT: &str = "no contract";
pub(crate) const COMPLETE: &str = "all sent off";
pub(crate) const CANCELLED: &str = "cancelled";
pub(crate) const DECIDE_MARK: &str = "Decide. ";
pub(crate) const METHOD: &str = "How the odds come about";
pub(crate) const METHOD_ODDS: &str = "Odds are the share of futures in which the line is complete in time. Each future draws a course of \
     weather from the site's own past weeks, the luck that lots share by seed, cut, budder and place, the pace, losses \
     and take of every lot and rare total losses, and does the planned jobs and what makes up for them with the \
     hours there are.";
pub(crate) const METHOD_TARGET: &str = "The target weighs what a tree too few costs against what one too many costs. A line needs a decision \
     when its odds are below its target, when the plan lets it go short, or when its due day has passed.";
pub(crate) const METHOD_NEWER: &str = "After every entry the futures of the accepted plan are drawn anew, from the lots as they stand and the \
     order book as it is; that takes a few seconds.";
pub(crate) const PREVIOUS: &str = "Earlier rows";
pub(crate) const NEXT: &str = "More rows";

pub(crate) mod filter {
    //! Words of the filter.

    pub(crate) const CUSTOMER: &str = "Customer";
    pub(crate) const VARIETY: &str = "Variety";
    pub(crate) const ALL: &str = "All";
    pub(crate) const FROM: &str = "Due from";
    pub(crate) const UNTIL: &str = "Due until";
    pub(crate) const SHOW: &str = "Lines";
    pub(crate) const SORT: &str = "Order by";
    pub(crate) const APPLY: &str = "Show";
    pub(crate) const CLEAR: &str = "Show all open lines";

    /// Which lines can be shown: value in the address and words.
    pub(crate) const SHOWS: [(&str, &str); 3] = [
        ("open", "Open"),
        ("decide", "Only those that need a decision"),
        ("all", "All, also sent off and cancelled"),
    ];

    /// How lines can be sorted: value in the address and words.
    pub(crate) const SORTS: [(&str, &str); 6] = [
        ("due", "Due day"),
        ("odds", "Odds, worst first"),
        ("order", "Order"),
        ("customer", "Customer"),
        ("what", "Variety"),
        ("plants", "Plants, most first"),
    ];
}

pub(crate) mod head {
    //! Heads of the table.

    pub(crate) const DUE: &str = "Due";
    pub(crate) const ORDER: &str = "Order, line";
    pub(crate) const WHAT: &str = "What";
    pub(crate) const PLANTS: &str = "Plants";
    pub(crate) const SHIPPED: &str = "Sent off";
    pub(crate) const PROMISED: &str = "Promised";
    pub(crate) const STRIP: &str = "0 to 100 %";
    pub(crate) const ON_TIME: &str = "On time";
    pub(crate) const BY_LATEST: &str = "By latest";
    pub(crate) const PRICE: &str = "Price";
}

/// How many lines there are of each kind.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Tally {
    /// All that are open.
    pub(crate) open: usize,
    /// Of these safe.
    pub(crate) safe: usize,
    /// Of these to be decided.
    pub(crate) decide: usize,
    /// Of these without odds.
    pub(crate) unknown: usize,
    /// Whether only some lines are looked at.
    pub(crate) is_part: bool,
}

/// The sentence that answers how the promises stand.
pub(crate) fn answer(tally: Tally) -> String {
    let shown = if tally.is_part { " shown here" } else { "" };
    if tally.open == 0 {
        return format!("No order line{shown} is open.");
    }
    let lines = format!("{}{shown}", of(tally.open as u64, "open order line"));
    let mut parts = Vec::new();
    if tally.unknown == tally.open {
        parts.push(format!("{lines}, no odds yet"));
    } else {
        let are = if tally.safe == 1 { "is" } else { "are" };
        let safe = if tally.safe == 0 {
            "None".to_owned()
        } else {
            count(tally.safe as u64)
        };
        parts.push(format!("{safe} of {lines} {are} safe"));
    }
    match tally.decide {
        0 => parts.push("none needs a decision".to_owned()),
        1 => parts.push("one needs a decision".to_owned()),
        more => parts.push(format!("{} need a decision", in_words(more))),
    }
    if tally.unknown > 0 && tally.unknown < tally.open {
        let have = if tally.unknown == 1 { "has" } else { "have" };
        parts.push(format!("{} {have} no odds yet", in_words(tally.unknown)));
    }
    format!("{}.", parts.join("; "))
}

/// From which run the odds are, and how old it is.
pub(crate) fn from_run(run: &str, as_of: Option<(String, i32)>, entries_since: u64) -> String {
    let age = match as_of {
        Some((day, 0)) => format!("as of {day}, today"),
        Some((day, 1)) => format!("as of {day}, yesterday"),
        Some((day, days)) if days > 0 => format!("as of {day}, {days} days ago"),
        Some((day, _)) => format!("as of {day}"),
        None => "of an unknown day".to_owned(),
    };
    let since = match entries_since {
        0 => "Nothing was recorded since.".to_owned(),
        1 => "One entry was recorded since.".to_owned(),
        more => format!("{} entries were recorded since.", count(more)),
    };
    format!("Odds from the futures {age} (run {run}). {since}")
}

/// Lines that the run does not know.
pub(crate) fn newer(lines: usize) -> String {
    if lines == 1 {
        return "One line is newer than these odds: the futures are drawn anew for it.".to_owned();
    }
    let lines = capital(&in_words(lines));
    format!("{lines} lines are newer than these odds: the futures are drawn anew for them.")
}

/// Why a line has no odds.
pub(crate) fn no_odds(why: NoOdds) -> &'static str {
    match why {
        NoOdds::NoFutures => "make a plan",
        NoOdds::Newer => "newer than the odds: they follow in a moment",
        NoOdds::NotPlanned => "the last plan does not reach it",
    }
}

/// Decisions beyond those shown.
pub(crate) fn more_to_decide(lines: usize) -> String {
    format!("{} more to decide", count(lines as u64))
}

/// A line whose due day has passed.
pub(crate) fn overdue(open: u32, due: &str) -> String {
    let plants = of(u64::from(open), "plant");
    let were = if open == 1 { "is" } else { "are" };
    format!("{plants} due on {due} {were} not sent off yet. ")
}

/// Plants short in the plan.
pub(crate) fn short(plants: f64) -> String {
    format!(
        "{} short in the plan. ",
        count(plants.round().max(0.0) as u64)
    )
}

/// Odds below the target.
pub(crate) fn below(on_time: &str, target: &str) -> String {
    format!("{on_time} is below the target of {target}. ")
}

/// The target in a cell.
pub(crate) fn target(target: &str) -> String {
    format!("target {target}")
}

/// Plants short on average.
pub(crate) fn mean_short(plants: &str) -> String {
    format!("On average {plants} short. ")
}

/// Which rows are shown.
pub(crate) fn rows_shown(from: usize, until: usize, all: usize) -> String {
    if until - from == all {
        of(all as u64, "line")
    } else {
        format!("Lines {} to {} of {}", from + 1, until, count(all as u64))
    }
}

/// How many lines are due in a month, by their odds.
pub(crate) fn month(lines: usize, parts: &[(usize, &str)]) -> String {
    let parts: Vec<String> = parts
        .iter()
        .map(|(lines, word)| format!("{lines} {word}"))
        .collect();
    match parts.as_slice() {
        [all] => all.clone(),
        _ => format!("{}: {}", count(lines as u64), parts.join(", ")),
    }
}

/// Heads of the table as a file.
pub(crate) const CSV_HEADS: [&str; 22] = [
    "order",
    "line",
    "customer",
    "variety",
    "rootstocks",
    "size",
    "plants",
    "promised",
    "shipped",
    "earliest",
    "due",
    "week",
    "latest",
    "price",
    "contract",
    "state",
    "on_time",
    "word",
    "by_latest",
    "target",
    "short",
    "decide",
];

/// A line by its names.
pub(crate) fn line_name(order: &str, line: &str) -> String {
    format!("{order}, line {line}")
}

/// What a line asks for, after its name.
pub(crate) fn asked_for(customer: &str, plants: u32, what: &str, size: &str, due: &str) -> String {
    format!(
        " for {customer}: {} {what}, {size}, due {due}.",
        count(u64::from(plants))
    )
}

/// Lines without odds, in the tally.
pub(crate) const WITHOUT_ODDS: &str = "without odds yet";

#[cfg(test)]
mod tests {
    use super::{Tally, answer, newer};

    #[test]
    fn the_answer_counts_and_reads() {
        let tally = |open, safe, decide, unknown| Tally {
            open,
            safe,
            decide,
            unknown,
            is_part: false,
        };
        for (of, words) in [
            (
                tally(46, 41, 3, 0),
                "41 of 46 open order lines are safe; three need a decision.",
            ),
            (
                tally(1, 1, 0, 0),
                "1 of 1 open order line is safe; none needs a decision.",
            ),
            (
                tally(5, 0, 1, 2),
                "None of 5 open order lines are safe; one needs a decision; two have no odds yet.",
            ),
            (
                tally(2, 0, 0, 2),
                "2 open order lines, no odds yet; none needs a decision.",
            ),
            (tally(0, 0, 0, 0), "No order line is open."),
        ] {
            assert_eq!(answer(of), words);
        }
    }

    #[test]
    fn newer_lines_are_counted() {
        assert_eq!(
            newer(1),
            "One line is newer than these odds: the futures are drawn anew for it."
        );
        assert_eq!(
            newer(2),
            "Two lines are newer than these odds: the futures are drawn anew for them."
        );
    }
}
