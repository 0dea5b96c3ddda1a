use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use super::{Axis, Plot, height_of, peak, picture, short};
use crate::figures::{count, interval};
use crate::sheet::{FreePoint, FreeRow};

const PLOT: Plot = Plot {
    top: 18,
    height: 56,
    iso_weeks: true,
};

/// Plants free by week: the interval as a band, the middle as a line within it.
pub(crate) fn free_chart(axis: &Axis, id: &str, row: &FreeRow) -> Markup {
    let points: Vec<FreePoint> = row
        .points
        .iter()
        .filter(|point| point.week < axis.len())
        .copied()
        .collect();
    let top = peak(points.iter().map(|point| point.p95 as f64));
    let most = top.map_or(0.0, |(_, most)| most);
    let title = format!(
        "{} on {}, {}: plants free by week",
        row.variety, row.rootstock, row.size
    );
    let drawing = html! {
        path.band d=(band(axis, &points, most)) {}
        path.middle d=(middle(axis, &points, most)) vector-effect="non-scaling-stroke" {}
    };
    let body = html! {
        (axis.draw(PLOT, top.map(|(at, _)| points[at].week)))
        (axis.inner(PLOT, &title, &drawing))
        @if let Some((at, most)) = top {
            (axis.word_at(points[at].week, 12, "value", &format!("up to {}", count(most as u64))))
        }
    };
    picture(id, PLOT.total(), &title, &describe(axis, &points), &body)
}

fn describe(axis: &Axis, points: &[FreePoint]) -> String {
    points.last().map_or_else(
        || "No plants are looked at.".to_owned(),
        |last| {
            let figures = interval(last.p05, last.p50, last.p95);
            format!(
                "In {}: {figures} plants, with nine chances in ten.",
                axis.iso(last.week)
            )
        },
    )
}

/// How far to the right a point speaks: to the next one, or a short way.
fn reach(axis: &Axis, points: &[FreePoint], at: usize) -> f64 {
    let short_way = (axis.len() as f64 / 40.0).max(1.0);
    let here = points[at].week;
    points
        .get(at + 1)
        .map_or(short_way, |next| {
            next.week.saturating_sub(here).max(1) as f64
        })
        .min(short_way)
        .min((axis.len() - here) as f64)
}

fn level(value: u64, most: f64) -> f64 {
    f64::from(PLOT.height) - height_of(value as f64, most, PLOT)
}

fn band(axis: &Axis, points: &[FreePoint], most: f64) -> PreEscaped<String> {
    let mut path = String::new();
    for (at, point) in points.iter().enumerate() {
        let (high, low) = (level(point.p95, most), level(point.p05, most));
        let (right, tall) = (short(reach(axis, points, at)), short((low - high).max(1.0)));
        // Writing to a string cannot fail.
        let _ = write!(
            path,
            "M{} {}h{right}v{tall}h-{right}z",
            point.week,
            short(high)
        );
    }
    PreEscaped(path)
}

fn middle(axis: &Axis, points: &[FreePoint], most: f64) -> PreEscaped<String> {
    let mut path = String::new();
    for (at, point) in points.iter().enumerate() {
        let y = short(level(point.p50, most));
        // Writing to a string cannot fail.
        let _ = write!(
            path,
            "M{} {y}h{}",
            point.week,
            short(reach(axis, points, at))
        );
    }
    PreEscaped(path)
}
