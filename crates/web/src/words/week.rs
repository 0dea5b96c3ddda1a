//! Words of This week.

use crate::figures::{amount, count, in_words, of};

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
pub(crate) const ON_THE_PHONE: &str = "For the phone: At the bed";
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
pub(crate) const HEADS: [&str; 14] = [
    "place",
    "job",
    "what",
    "plants",
    "sticks",
    "state",
    "lots",
    "hours",
    "supplies",
    "tools",
    "until",
    "why",
    "why now",
    "closed until",
];
pub(crate) const NOW: &str = "Now";
pub(crate) const TOOLS: &str = "Take along";
pub(crate) const CLOSED: &str = "Stay out";
pub(crate) const LABEL_IS_LAW: &str = "The product's label is the law: it says how long, and what to wear. Local rules may ask for more.";
pub(crate) const BUDS_SET: &str = "Buds set this week";
pub(crate) const BUDDER_UNKNOWN: &str = "Budder not written down";
pub(crate) const TO_PRINT: &str = "Sheets to print";
pub(crate) const CALENDAR: &str = "This week and the days orders are due, as a calendar";
pub(crate) const DAYS_HEADS: [&str; 4] = ["day", "lowest °C", "highest °C", "rain mm"];

/// The weather of the next days in a line.
pub(crate) fn days_ahead(days: &[app::ledger::DayAhead]) -> String {
    let lowest = days.iter().filter_map(|it| it.tmin).reduce(f64::min);
    let highest = days.iter().filter_map(|it| it.tmax).reduce(f64::max);
    let rain: f64 = days.iter().filter_map(|it| it.rain_mm).sum();
    let range = match (lowest, highest) {
        (Some(low), Some(high)) => format!("{} to {} °C", amount(low), amount(high)),
        _ => "no temperatures told".to_owned(),
    };
    let rain = if rain >= 0.5 {
        format!(", {} mm of rain", amount(rain))
    } else {
        String::new()
    };
    format!(
        "Forecast of the next {}: {range}{rain}",
        of(days.len() as u64, "day")
    )
}

/// Budsticks to cut, and the buds on them.
pub(crate) fn sticks(sticks: u32, buds: u32) -> String {
    format!(
        "{} ({}),",
        of(u64::from(sticks), "stick"),
        of(u64::from(buds), "bud")
    )
}

/// A place that was sprayed.
pub(crate) fn closed(until: &str, product: &str) -> String {
    format!("is closed until the end of {until}: sprayed with {product}.")
}

/// A job where nobody goes in.
pub(crate) fn closed_job(until: &str) -> String {
    format!("Its place is closed until the end of {until}.")
}

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
