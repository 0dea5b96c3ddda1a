//! Odds that were called against the share that came true: a reliability diagram.

use app::ledger::CalledBin;
use maud::{Markup, html};

use super::{picture, place, short};
use crate::words::honesty as words;

/// Size of the square, pixels.
const SIDE: f64 = 260.0;
/// Room at the left for shares, above, and below for odds, pixels.
const LEFT: f64 = 44.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 36.0;

/// One mark a tenth of the odds, with its interval; on the slanting line odds and shares are the same.
pub(crate) fn honesty_chart(id: &str, bins: &[CalledBin], description: &str) -> Markup {
    let x = |odds: f64| short(LEFT + odds * SIDE);
    let y = |share: f64| short(TOP + (1.0 - share) * SIDE);
    let (bottom, right) = (TOP + SIDE, LEFT + SIDE);
    let body = html! {
        @for tenth in [0.0, 0.25, 0.5, 0.75, 1.0] {
            line.month x1=(short(LEFT)) x2=(short(right)) y1=(y(tenth)) y2=(y(tenth)) {}
            text.quiet x=(short(LEFT - 6.0)) y=(short(TOP + (1.0 - tenth) * SIDE + 4.0)) text-anchor="end" { (percent(tenth)) }
            text.quiet x=(x(tenth)) y=(short(bottom + 16.0)) text-anchor="middle" { (percent(tenth)) }
        }
        line.base x1=(x(0.0)) y1=(y(0.0)) x2=(x(1.0)) y2=(y(1.0)) {}
        @for bin in bins.iter().filter(|it| it.lines > 0) {
            line.span x1=(x(bin.odds)) x2=(x(bin.odds)) y1=(y(bin.kept_low)) y2=(y(bin.kept_high)) {}
            circle.called cx=(x(bin.odds)) cy=(y(bin.kept)) r=(short(radius(bin.lines))) {}
        }
        text x=(place(0.0)) dx=(short(LEFT)) y=(short(bottom + 32.0)) { (words::ACROSS) }
    };
    picture(
        id,
        (TOP + SIDE + BOTTOM) as u32,
        words::CHART,
        description,
        &body,
    )
}

fn percent(share: f64) -> String {
    format!("{:.0}", share * 100.0)
}

/// More lines make a larger mark.
fn radius(lines: usize) -> f64 {
    (2.5 + (lines as f64).sqrt() * 0.6).min(9.0)
}
