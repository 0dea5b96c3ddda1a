use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use super::{picture, ready_and_growing};
use crate::figures::count;
use crate::words::standing::lot as words;

/// How a lot stood from a day on.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct CourseStep {
    /// The day, counted from any other.
    pub(crate) day: i64,
    /// The day in words.
    pub(crate) words: String,
    pub(crate) ready: u32,
    pub(crate) growing: u32,
}

/// Width of the inner drawing; it stretches to the page.
const WIDE: f64 = 1000.0;
/// Height of the inner drawing, pixels.
const HIGH: f64 = 96.0;
/// Where it begins, pixels from the top.
const TOP: u32 = 20;

/// Plants of a lot over time: all of them, the ready ones within.
pub(crate) fn course_chart(id: &str, lot: &str, steps: &[CourseStep]) -> Markup {
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else {
        return html! {};
    };
    let most = steps
        .iter()
        .map(|it| it.ready + it.growing)
        .max()
        .unwrap_or(0)
        .max(1);
    let days = (last.day - first.day).max(1);
    let x = |day: i64| (day - first.day) as f64 * WIDE / days as f64;
    let y = |plants: u32| HIGH - f64::from(plants) * HIGH / f64::from(most);
    let area = |plants: fn(&CourseStep) -> u32| {
        let mut path = format!("M0 {HIGH:.0}");
        for (at, step) in steps.iter().enumerate() {
            let until = steps.get(at + 1).map_or(WIDE, |next| x(next.day));
            // Writing to a string cannot fail.
            let _ = write!(
                path,
                "L{:.1} {:.1}L{until:.1} {:.1}",
                x(step.day),
                y(plants(step)),
                y(plants(step))
            );
        }
        let _ = write!(path, "L{WIDE:.0} {HIGH:.0}z");
        PreEscaped(path)
    };
    let description = words::course(lot, &first.words, &last.words, most);
    let body = html! {
        text x="0" y="14" { (count(u64::from(most))) }
        (ready_and_growing(TOP))
        svg x="0" y=(TOP) width="100%" height=(HIGH) viewBox={ "0 0 " (WIDE) " " (HIGH) } preserveAspectRatio="none" {
            title { (lot) }
            desc { (description) }
            path.band d=(area(|it| it.ready + it.growing)) {}
            path.use d=(area(|it| it.ready)) {}
        }
        line.base x1="0" x2="100%" y1=(TOP + HIGH as u32) y2=(TOP + HIGH as u32) {}
        text x="0" y=(TOP + HIGH as u32 + 18) { (first.words) }
        text x="100%" y=(TOP + HIGH as u32 + 18) text-anchor="end" { (last.words) }
    };
    picture(
        id,
        TOP + HIGH as u32 + 26,
        words::PICTURE,
        &description,
        &body,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_course_goes_by_steps_from_nothing() {
        let step = |day: i64, ready: u32, growing: u32| CourseStep {
            day,
            words: format!("day {day}"),
            ready,
            growing,
        };
        let drawn = course_chart("c", "A", &[step(10, 0, 100), step(20, 40, 40)]).into_string();
        assert!(
            drawn.contains("M0 96L0.0 0.0L1000.0 0.0L1000.0 19.2"),
            "{drawn}"
        );
        assert!(
            drawn.contains("from day 10 to day 20, at most 100"),
            "{drawn}"
        );
    }
}
