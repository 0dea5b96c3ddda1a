//! Why a plan is as it is: what each job of the next weeks is for, costs, and loses when it slips; the scarcest
//! things of the season; what order lines that go short or late gave up, and to whom.
//!
//! All of it is read from the plan's own prices and from the way its plants go, in words and in figures.

mod given_up;
mod jobs;
mod scarcest;
pub(crate) mod words;

pub use given_up::{GivenToAnswer, GivenUpAnswer, given_up};
pub use jobs::{EndsAnswer, InsteadAnswer, LineSlipAnswer, SlipAnswer, WhyAnswer, why_of_jobs};
pub use scarcest::{ScarcestAnswer, scarcest};

use crate::run::PlanRun;
use crate::words::{case_price, money_words, of_case};

/// Words side by side: `a`, `a and b`, `a, b and c`.
fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The first few of some words, and how many more there are.
fn first_few(words: &[String], most: usize, more: &str) -> String {
    if words.len() <= most + 1 {
        return listed(words);
    }
    let mut shown = words[..most].to_vec();
    shown.push(format!("{} more {more}", words.len() - most));
    listed(&shown)
}

/// Order lines by their names, as people call them, each once.
fn line_names<'a>(run: &PlanRun, ids: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for id in ids {
        let name = run.model.line_words(id);
        if !names.iter().any(|it| it == name) {
            names.push(name.to_owned());
        }
    }
    names
}

/// Money of the case as a price with its currency, as `12.50 EUR`.
fn price(run: &PlanRun, money: f64) -> String {
    let currency = &run.nursery.settings.currency;
    format!("{} {currency}", case_price(money, currency))
}

/// Money of the case as a sum: with minor units where it is small.
fn sum(run: &PlanRun, money: f64) -> String {
    const LARGE: f64 = 100.0;
    let currency = &run.nursery.settings.currency;
    let own = of_case(money, currency);
    if own.abs() < LARGE {
        price(run, money)
    } else {
        format!("{} {currency}", money_words(own))
    }
}

/// Some weeks of the plan, as `2027-W14 to 2027-W17`.
fn weeks_words(run: &PlanRun, from: i64, until: i64) -> String {
    let iso = |week| run.model.calendar.iso(week);
    if from == until {
        iso(from)
    } else {
        format!("{} to {}", iso(from), iso(until))
    }
}

/// One of a unit, as `an hour`.
fn one(unit: &str) -> String {
    match unit {
        "m²" => "a square meter".to_owned(),
        unit if unit.starts_with('h') => format!("an {unit}"),
        unit => format!("a {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stand_side_by_side() {
        let words = ["a", "b", "c", "d"].map(str::to_owned);
        assert_eq!(listed(&words[..1]), "a");
        assert_eq!(listed(&words[..3]), "a, b and c");
        assert_eq!(first_few(&words[..3], 2, "lines"), "a, b and c");
        assert_eq!(first_few(&words, 2, "lines"), "a, b and 2 more lines");
        assert_eq!(
            (one("hour"), one("bud")),
            ("an hour".to_owned(), "a bud".to_owned())
        );
    }
}
