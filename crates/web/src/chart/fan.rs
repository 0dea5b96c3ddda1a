//! Ready trees of a product as a fan, against the trees that order lines ask for.

use maud::{Markup, html};

use super::{Axis, Plot, height_of, levels, line, picture, short};
use crate::figures::{count, interval};
use crate::words::trees as words;
use app::ledger::{Band, ProductFan};

const PLOT: Plot = Plot {
    top: 22,
    height: 150,
    iso_weeks: true,
};

/// Levels that may be named.
const STEPS: [f64; 10] = [
    10.0, 25.0, 50.0, 100.0, 250.0, 500.0, 1_000.0, 2_500.0, 5_000.0, 10_000.0,
];

/// Trees that have become ready, as a band of nine and a band of five chances in ten with the middle, and
/// the trees asked for as a stepped line.
pub(crate) fn fan_chart(axis: &Axis, id: &str, what: &str, fan: &ProductFan) -> Markup {
    let asked = fan.asked.last().copied().unwrap_or(0) as f64;
    let most = fan.come.iter().map(|it| it.p95).fold(asked, f64::max);
    let title = words::chart(what);
    let middle = fan.come.iter().map(|it| it.p50);
    let steps = fan.asked.iter().map(|it| *it as f64);
    let drawing = html! {
        path.band.pale d=(area(&fan.come, most, |it| (it.p05, it.p95))) {}
        path.band d=(area(&fan.come, most, |it| (it.p25, it.p75))) {}
        path.middle d=(stepped(middle, most)) vector-effect="non-scaling-stroke" {}
        path.asked d=(stepped(steps, most)) vector-effect="non-scaling-stroke" {}
    };
    let body = html! {
        (axis.draw(PLOT, None))
        (levels(PLOT, most, &STEPS, |level| count(level as u64)))
        (axis.inner(PLOT, &title, &drawing))
        (key())
    };
    picture(id, PLOT.total(), &title, &describe(axis, fan), &body)
}

/// What line and bands mean, at the right above the drawing.
fn key() -> Markup {
    let y = PLOT.top - 8;
    html! {
        line.asked x1="100%" x2="100%" y1=(y - 4) y2=(y - 4) transform="translate(-14)" {}
        text x="100%" y=(y) text-anchor="end" { (words::KEY) }
    }
}

fn describe(axis: &Axis, fan: &ProductFan) -> String {
    let last = axis.len().saturating_sub(1);
    fan.come.last().map_or_else(String::new, |it| {
        let [low, middle, high] = [it.p05, it.p50, it.p95].map(|it| it.round() as u64);
        words::describe(
            axis.iso(last),
            &interval(low, middle, high),
            &count(fan.asked.last().copied().unwrap_or(0)),
        )
    })
}

/// A stepped line, one level a week.
fn stepped(values: impl Iterator<Item = f64>, most: f64) -> String {
    let points = values.enumerate().flat_map(|(week, value)| {
        let high = height_of(value, most, PLOT);
        [(week as f64, high), (week as f64 + 1.0, high)]
    });
    line(PLOT, points)
}

/// The area between two levels a week.
fn area(bands: &[Band], most: f64, ends: fn(&Band) -> (f64, f64)) -> String {
    let level = |value: f64| height_of(value, most, PLOT);
    let upper = bands.iter().enumerate().flat_map(|(week, it)| {
        let high = level(ends(it).1);
        [(week as f64, high), (week as f64 + 1.0, high)]
    });
    let lower = bands.iter().enumerate().rev().flat_map(|(week, it)| {
        let low = level(ends(it).0);
        [(week as f64 + 1.0, low), (week as f64, low)]
    });
    let mut path = line(PLOT, upper);
    for (x, high) in lower {
        path.push('L');
        path.push_str(&short(x));
        path.push(' ');
        path.push_str(&short(f64::from(PLOT.height) - high));
    }
    path.push('z');
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_goes_round() {
        let band = |low: f64, high: f64| Band {
            p05: low,
            p25: low,
            p50: low,
            p75: high,
            p95: high,
        };
        let path = area(&[band(0.0, 50.0), band(50.0, 100.0)], 100.0, |it| {
            (it.p05, it.p95)
        });
        assert_eq!(path, "M0 75L1 75L1 0L2 0L2 75L1 75L1 150L0 150z");
    }
}
