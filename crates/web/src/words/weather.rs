//! Words for what is wrong with a weather file.

use app::{FilledSpan, Finding, date_words};
use jiff::civil::Date;

use crate::figures::{capital, count, of, sentence};

pub(crate) const FILLED: &str = "Days filled from other years";

/// How many problems there are.
pub(crate) fn problems(problems: usize) -> String {
    format!("{} in the weather file", of(problems as u64, "problem"))
}

/// That not all are listed.
pub(crate) fn first_of(listed: usize) -> String {
    format!(
        "The first {} are listed. Mend them in the file, take it in anew, and the next show.",
        count(listed as u64)
    )
}

/// That not all filled days are listed.
pub(crate) fn last_of(listed: usize) -> String {
    format!("The last {} times are listed.", count(listed as u64))
}

/// One finding: where, what, and what was done with it.
pub(crate) fn finding(it: &Finding) -> String {
    let mut place = Vec::new();
    place.extend(it.first.map(|first| span(first, it.last.unwrap_or(first))));
    place.extend(it.row.map(|row| format!("row {}", count(row))));
    place.extend(it.column.clone());
    let value = it.value.iter().map(|value| format!(" “{value}”"));
    let value: String = value.collect();
    let place = capital(&format!("{}{value}", place.join(", ")));
    let rule = if place.is_empty() {
        capital(&it.rule)
    } else {
        format!("{place}: {}", it.rule)
    };
    format!("{} {}", sentence(&rule), sentence(&it.done))
}

/// Days that were filled.
pub(crate) fn filled(it: &FilledSpan) -> String {
    let what = match (it.low, it.high) {
        (true, true) => "low and high",
        (true, false) => "low",
        _ => "high",
    };
    format!(
        "{}: {what} of {}",
        span(it.first, it.last),
        of(it.days() as u64, "day")
    )
}

fn span(first: Date, last: Date) -> String {
    if first == last {
        date_words(first)
    } else {
        format!("{} to {}", date_words(first), date_words(last))
    }
}
