//! How a plan's next weeks differ from the plan that was accepted when it was made.

use app::answers::{AgreedAnswer, ChangedAnswer};
use maud::{Markup, html};

use crate::figures::count;
use crate::frame::{columns, folded};
use crate::words::seasons as words;

/// Most rows of a page; the plan's file has all.
const MOST: usize = 24;

/// How many accepted jobs stay, and, folded, those that do not.
pub(super) fn section(agreed: &AgreedAnswer) -> Markup {
    let shown = &agreed.changed[..agreed.changed.len().min(MOST)];
    html! {
        section #agreed {
            p { (agreed.sentence()) "." }
            @if !shown.is_empty() { (folded(words::CHANGED, &rows(shown))) }
        }
    }
}

fn rows(changed: &[ChangedAnswer]) -> Markup {
    let heads = &words::CHANGED_HEADS;
    html! {
        table.rows {
            (columns(heads))
            tbody {
                @for it in changed {
                    tr {
                        th scope="row" { (it.job) }
                        td.n data-head=(heads[1].0) { (count(u64::from(it.before))) }
                        td.n data-head=(heads[2].0) { (count(u64::from(it.now))) }
                    }
                }
            }
        }
    }
}
