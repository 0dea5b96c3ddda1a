//! Words of To be settled: entries from the field that were refused.

use crate::figures::{in_words, of, sentence};

pub(crate) const SHEET: &str = "To be settled";
pub(crate) const NONE: &str = "Nothing waits to be settled.";
pub(crate) const NONE_SAY: &str = "What a phone enters without signal and the books then refuse comes here, so that it is \
     never lost.";
pub(crate) const ENTERED: &str = "Entered";
pub(crate) const BOOKS: &str = "The books";
pub(crate) const TAKE: &str = "Take it as it is";
pub(crate) const TRY_AGAIN: &str = "Try it again";
pub(crate) const CHANGE: &str = "Change it";
pub(crate) const LEAVE: &str = "Leave it out";
pub(crate) const WHY: &str = "It is left out because";
pub(crate) const BECAUSE: [&str; 3] =
    ["entered twice", "somebody else counted it", "it was a slip"];
pub(crate) const NOT_WAITING: &str = "no such entry waits to be settled";
pub(crate) const NOT_WAITING_MEND: &str =
    "Somebody may have settled it already: see the book, where every entry stays.";
pub(crate) const UNKNOWN_WAY: &str = "it is not told what to do with the entry";
pub(crate) const UNKNOWN_WAY_MEND: &str = "Open the page and use its own buttons.";

/// The sentence over the page.
pub(crate) fn answer(entries: usize) -> String {
    match entries {
        1 => "One entry from the field does not agree with the books.".to_owned(),
        many => sentence(&format!(
            "{} entries from the field do not agree with the books",
            in_words(many)
        )),
    }
}

/// The link from This week.
pub(crate) const TO_SETTLE: &str = "Settle them";

/// Who entered it, on which day and at what time in the field, and when it came in.
pub(crate) fn entered(by: &str, on: &str, at: &str, came_in: &str) -> String {
    format!("by {by} on {on} at {at}; it came in on {came_in}")
}

/// What was known at the bed.
pub(crate) fn knew(plants: u32) -> String {
    format!("The phone knew of {}.", of(u64::from(plants), "plant"))
}

/// What the books have.
pub(crate) fn stands(plants: u32) -> String {
    format!(
        "At the end of that day the lot has {}.",
        of(u64::from(plants), "plant")
    )
}
