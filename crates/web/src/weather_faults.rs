//! What was wrong with the weather file, and the days that were filled: told alike wherever weather is.

use app::{FilledSpan, Finding};
use maud::{Markup, html};

use crate::frame::folded;
use crate::words::weather as words;

/// The filled days that are named.
const FILLED_NAMED: usize = 50;

/// The first findings, folded below how many there are; nothing where there are none.
pub(crate) fn found(problems: usize, findings: &[Finding]) -> Markup {
    html! {
        @if problems > 0 {
            (folded(&words::problems(problems), &html! {
                @if problems > findings.len() { p { (words::first_of(findings.len())) } }
                ul.plain { @for it in findings { li { (words::finding(it)) } } }
            }))
        }
    }
}

/// Which days were filled.
pub(crate) fn filled(spans: &[FilledSpan]) -> Markup {
    html! {
        @if spans.len() > FILLED_NAMED { p { (words::last_of(FILLED_NAMED)) } }
        ul.plain { @for it in spans.iter().take(FILLED_NAMED) { li { (words::filled(it)) } } }
    }
}
