//! Words of This week.

use crate::figures::{count, in_words, of};

pub(crate) const SHEET: &str = "This week";
pub(crate) const NO_PLAN: &str =
    "No plan is accepted yet, so only what the lots themselves ask for is listed.";
pub(crate) const TO_SEASONS: &str = "Make or accept a plan";
pub(crate) const PLANNING: &str = "A plan is being made now.";
pub(crate) const WATCH: &str = "Watch it";
pub(crate) const MIND: &str = "Mind this";
pub(crate) const CREW: &str = "Crew";
pub(crate) const PLACE: &str = "Place";
pub(crate) const STATE: &str = "State";
pub(crate) const ALL: &str = "all";
pub(crate) const SHOW: &str = "Show";
pub(crate) const MORE: &str = "More jobs";
pub(crate) const NOWHERE: &str = "Anywhere";
pub(crate) const SUPPLIES: &str = "Supplies";
pub(crate) const UNTIL: &str = "until";
pub(crate) const OTHER_COUNT: &str = "Another count";
pub(crate) const COULD_NOT: &str = "Could not be done";
pub(crate) const COULD_NOT_BECAUSE: &str = "Could not be done because";
pub(crate) const NOTE_IT: &str = "Note it";
pub(crate) const BLADES: &str = "Clean blades between lots and mother trees: exocortis travels on them. Mind knives and thorns.";
pub(crate) const NOT_THIS_WEEK: &str = "Not done this week";
pub(crate) const COUNTED: &str = "Done, plants:";
pub(crate) const BECAUSE: [&str; 5] = [
    "rain",
    "bark is tight",
    "no hands",
    "no buds",
    "plants are not ready",
];
pub(crate) const HEADS: [&str; 10] = [
    "place", "job", "what", "plants", "state", "lots", "hours", "supplies", "until", "why",
];

/// The sentence over the week.
pub(crate) fn answer(week: &str, due: usize, slipped: usize, waiting: usize, hours: f64) -> String {
    if due + slipped + waiting == 0 {
        return format!("Nothing is asked for in week {week}.");
    }
    let mut parts = Vec::new();
    for (jobs, word) in [
        (due, "due"),
        (slipped, "slipped"),
        (waiting, "waiting for plants"),
    ] {
        if jobs > 0 {
            parts.push(format!("{} {word}", in_words(jobs)));
        }
    }
    let jobs = of((due + slipped + waiting) as u64, "job");
    let hours = if hours >= 0.5 {
        format!(", {} hours", count(hours.round() as u64))
    } else {
        String::new()
    };
    format!("{jobs} in week {week}: {}{hours}.", parts.join(", "))
}

/// A state as a word and a shape.
pub(crate) fn state(state: app::ledger::State) -> (&'static str, &'static str) {
    match state {
        app::ledger::State::Due => ("●", "due"),
        app::ledger::State::Slipped => ("▲", "slipped"),
        app::ledger::State::Waiting => ("○", "waiting"),
    }
}

/// One tap that says a lot's part was done as planned; without plants, all of it.
pub(crate) fn done(plants: Option<u64>, lot: &str) -> String {
    match (plants, lot) {
        (Some(plants), "") => format!("Done: {}", count(plants)),
        (Some(plants), lot) => format!("Done: {} of {lot}", count(plants)),
        (None, "") => "Done".to_owned(),
        (None, lot) => format!("Done: all of {lot}"),
    }
}

/// The way to a lot, where one of several things may be done with it.
pub(crate) fn open(lot: &str) -> String {
    format!("Open lot {lot}")
}

/// The way to a take count.
pub(crate) fn take_count(lot: &str) -> String {
    if lot.is_empty() {
        "Enter the take count".to_owned()
    } else {
        format!("Enter the take count of {lot}")
    }
}

/// The way to an entry that lacks something.
pub(crate) fn enter(lot: &str) -> String {
    if lot.is_empty() {
        "Enter it".to_owned()
    } else {
        format!("Enter it: {lot}")
    }
}

/// What somebody noted.
pub(crate) fn could_not(text: &str, by: &str, on: &str) -> String {
    format!("Could not be done: {text} ({by}, {on})")
}

/// A lot a job can take from.
pub(crate) fn lot(place: &str, ready: u32, growing: u32) -> String {
    let (ready, growing) = (u64::from(ready), u64::from(growing));
    format!(
        "{place}, {} ready, {} growing",
        count(ready),
        count(growing)
    )
}
