use maud::{Markup, html};

use super::{picture, place};
use crate::figures::percent;
use crate::scale::Odds;
use crate::sheet::LineRow;

/// The shapes of the odds, once a page; strips refer to them.
pub(crate) fn marks() -> Markup {
    html! {
        svg.marks width="0" height="0" aria-hidden="true" {
            title { "Marks" }
            desc { "The shapes that stand for the odds, drawn where they are used." }
            defs {
                circle.full id=(Odds::Safe.mark()) r="5.5" {}
                circle.ring id=(Odds::Likely.mark()) r="5" {}
                path.full id=(Odds::AtRisk.mark()) d="M0-6.5L6.5 5h-13z" {}
                path.ring id=(Odds::Unlikely.mark()) d="M0-6.5L6.5 0L0 6.5L-6.5 0z" {}
                path.cross id=(Odds::Lost.mark()) d="M-5-5L5 5M-5 5L5-5" {}
            }
        }
    }
}

/// The odds of one line on a scale from 0 to 100: its mark, how far waiting for the latest day
/// would carry it, and the odds wanted as an upright line.
pub(crate) fn strip(id: &str, line: &LineRow) -> Markup {
    let title = format!("Odds of {}, line {}", line.order, line.line);
    let Some(on_time) = line.on_time else {
        let body = html! { line.scale x1=(across(0.0)) x2=(across(1.0)) y1="14" y2="14" {} };
        return picture(id, 28, &title, "Not worked out yet.", &body);
    };
    let by_latest = line.by_latest.unwrap_or(on_time).max(on_time);
    let body = html! {
        line.scale x1=(across(0.0)) x2=(across(1.0)) y1="14" y2="14" {}
        line.reach x1=(across(on_time)) x2=(across(by_latest)) y1="14" y2="14" {}
        @if line.target > 0.0 {
            line.target x1=(across(line.target)) x2=(across(line.target)) y1="3" y2="25" {}
        }
        use href={ "#" (Odds::of(on_time).mark()) } x=(across(on_time)) y="14" {}
    };
    let description = format!(
        "{} on time, {}; {} by the latest day; target {}.",
        percent(on_time),
        Odds::of(on_time).word(),
        percent(by_latest),
        percent(line.target),
    );
    picture(id, 28, &title, &description, &body)
}

/// A probability across the strip, with room for a mark at either end.
fn across(probability: f64) -> String {
    place(4.0 + 92.0 * probability.clamp(0.0, 1.0))
}
