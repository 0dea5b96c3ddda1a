//! What a weather file holds as a person reads it on a terminal. Writing into a text cannot fail.

use std::fmt::Write as _;

use app::weather::{CheckAnswer, NeedAnswer};
use app::{date_words, money_words};

use crate::columns::{Stand, count, table};

/// What is wrong with a weather file: how much of it can be used, what kinds there are, and each.
pub fn check(answer: &CheckAnswer) -> String {
    let CheckAnswer {
        file,
        findings,
        kept,
        filled,
        ..
    } = answer;
    let mut text = match findings.len() {
        0 => format!("Nothing is wrong with {file}.\n"),
        number => format!("{} in {file}.\n", count(number, "problem")),
    };
    let _ = writeln!(
        text,
        "{}, {} to {}: {} used as they stand, {} filled from other years.",
        count(answer.days, "day"),
        date_words(answer.first),
        date_words(answer.last),
        money_words(*kept as f64),
        money_words(*filled as f64)
    );
    if let Some(why) = &answer.not_filled {
        let _ = writeln!(text, "The gaps cannot be filled: {why}.");
    }
    if findings.is_empty() {
        return text;
    }
    let rows = answer.kinds.iter().map(|kind| {
        vec![
            kind.words.to_owned(),
            money_words(kind.findings as f64),
            money_words(kind.days as f64),
        ]
    });
    let heads = [
        ("what", Stand::Left),
        ("problems", Stand::Right),
        ("days", Stand::Right),
    ];
    let _ = write!(
        text,
        "\n{}\nEach, and what is done about it when the file is read\n",
        table(&heads, &rows.collect::<Vec<_>>())
    );
    for finding in findings {
        let _ = writeln!(text, "  {finding}");
    }
    text
}

/// Reference evapotranspiration by year, and what it rests on.
pub fn need(answer: &NeedAnswer) -> String {
    let whole = |mm: f64| format!("{mm:.0}");
    let rows = answer.years.iter().map(|year| {
        vec![
            year.year.to_string(),
            year.days.to_string(),
            whole(year.penman_monteith_mm),
            whole(year.hargreaves_mm),
        ]
    });
    let heads = [
        ("year", Stand::Left),
        ("days", Stand::Right),
        ("Penman–Monteith mm", Stand::Right),
        ("Hargreaves mm", Stand::Right),
    ];
    let mut text = table(&heads, &rows.collect::<Vec<_>>());
    text.push_str("\nWhat Penman–Monteith rests on, and which of the two to go by\n");
    for method in &answer.methods {
        let _ = writeln!(
            text,
            "  {}: {}, {}, {}; go by {}",
            count(method.days, "day"),
            method.radiation,
            method.humidity,
            method.wind,
            method.method
        );
    }
    if answer.findings > 0 {
        let _ = writeln!(
            text,
            "\n{} in {}; `barkslip weather check` names each.",
            count(answer.findings, "problem"),
            answer.file
        );
    }
    text
}
