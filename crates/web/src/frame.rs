//! The paper every page is drawn on: head, style, script and print heads.

use std::fmt::Write as _;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::chart;

pub(crate) const STYLE: &str = include_str!("page.css");
pub(crate) const SCRIPT: &str = include_str!("page.js");

/// Nothing comes from elsewhere and nothing goes elsewhere.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; \
                      base-uri 'none'; form-action 'none'";

/// What stands at the head of a page, on screen and on paper.
pub(crate) struct Head<'a> {
    pub(crate) nursery: &'a str,
    pub(crate) sheet: &'a str,
    pub(crate) as_of: &'a str,
    pub(crate) run: &'a str,
    /// The sentence that answers the page's question.
    pub(crate) answer: &'a str,
}

/// A complete page.
pub(crate) fn page(head: &Head, body: &Markup) -> String {
    let nursery = if head.nursery.is_empty() {
        "Your nursery"
    } else {
        head.nursery
    };
    let name = [nursery, head.sheet, head.as_of].map(str::trim);
    let name = name
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" · ");
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (name) }
                style { (PreEscaped(STYLE)) (PreEscaped(print_heads(&name))) }
            }
            body {
                (chart::marks())
                header {
                    p.head {
                        b { (nursery) }
                        span { (head.sheet) }
                        @if !head.as_of.is_empty() { span { "as of " (head.as_of) } }
                        @if !head.run.is_empty() { span { "run " (head.run) } }
                    }
                    h1 { (head.answer) }
                }
                main { (body) }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

/// Nursery, sheet and date at the head of each printed page, and its number at the foot.
pub(crate) fn print_heads(name: &str) -> String {
    format!(
        "@page{{@top-left{{font:9pt sans-serif;content:\"{}\"}}\
         @bottom-right{{font:9pt sans-serif;content:\"Page \" counter(page) \" of \" counter(pages)}}}}",
        style_text(name)
    )
}

/// A text within quotes of a style sheet; all but plain letters and digits by number, each closed
/// by a space that is not shown.
fn style_text(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii_alphanumeric() || c == ' ' {
            out.push(c);
        } else {
            // Writing to a string cannot fail.
            let _ = write!(out, "\\{:x} ", u32::from(c));
        }
    }
    out
}

/// A list under its heading; nothing when there is nothing to list.
pub(crate) fn list(heading: &str, items: &[String]) -> Markup {
    html! {
        @if !items.is_empty() {
            section {
                h2 { (heading) }
                ul.plain { @for item in items { li { (item) } } }
            }
        }
    }
}

/// Something folded away until it is asked for.
pub(crate) fn folded(heading: &str, body: &Markup) -> Markup {
    html! {
        details {
            summary { (heading) }
            (body)
        }
    }
}

/// How the figures came about, folded.
pub(crate) fn method(notes: &[String]) -> Markup {
    html! {
        @if !notes.is_empty() {
            section {
                (folded("How this was worked out", &html! {
                    ul.plain { @for note in notes { li { (note) } } }
                }))
            }
        }
    }
}

/// A field to thin the tables by a word and a button to take them along; only scripts show it.
pub(crate) fn find() -> Markup {
    html! {
        div.find id="find" hidden {
            label for="find-words" { "Show only rows with" }
            input id="find-words" type="search";
            button type="button" { "Save the tables as a file" }
        }
    }
}

/// The column heads of a table that can be sorted where scripts run.
pub(crate) fn columns(heads: &[(&str, bool)]) -> Markup {
    html! {
        thead {
            tr {
                @for (head, number) in heads { th.n[*number] scope="col" { (head) } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::style_text;

    #[test]
    fn a_name_cannot_leave_the_style_sheet() {
        assert_eq!(style_text("Oak 7"), "Oak 7");
        assert_eq!(style_text("\"}</style>"), "\\22 \\7d \\3c \\2f style\\3e ");
    }
}
