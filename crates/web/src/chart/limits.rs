use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use super::{Axis, Plot, bars, height_of, peak, picture, place, short};
use crate::figures::{amount, price};
use crate::sheet::LimitSeries;

const PLOT: Plot = Plot {
    top: 44,
    height: 64,
    iso_weeks: true,
};

/// Whether any week of a series is scarce.
pub(crate) fn has_prices(series: &LimitSeries) -> bool {
    series.price.iter().any(|price| *price > 0.0)
}

/// Use by week as bars, hired hours striped on top, the limit as a line, scarce weeks marked.
pub(crate) fn limit_chart(axis: &Axis, id: &str, series: &LimitSeries, currency: &str) -> Markup {
    let weeks = axis.len();
    let all = series.used.iter().chain(&series.limit).copied();
    let most = all.filter(|value| value.is_finite()).fold(0.0, f64::max);
    let title = format!("{}: {} by week", series.name, series.unit);
    let stripes = format!("{id}-stripes");
    let drawing = html! {
        path.use d=(own_bars(series, weeks, most)) {}
        path d=(hired_bars(series, weeks, most)) fill={ "url(#" (stripes) ")" } {}
        path.limit d=(limit_line(series, weeks, most)) vector-effect="non-scaling-stroke" {}
    };
    let body = html! {
        defs {
            pattern id=(stripes) width="4" height="4" patternUnits="userSpaceOnUse" {
                rect.hired width="4" height="2.4" {}
            }
        }
        (axis.draw(PLOT, peak(series.price.iter().copied()).map(|(week, _)| week)))
        (axis.inner(PLOT, &title, &drawing))
        (limit_word(series, weeks, most))
        (scarce_marks(axis, id, series, currency))
    };
    picture(
        id,
        PLOT.total(),
        &title,
        &describe(axis, series, currency),
        &body,
    )
}

fn at(values: &[f64], week: usize) -> f64 {
    values.get(week).copied().unwrap_or(0.0)
}

/// The part of a week's use that is not hired.
fn own(series: &LimitSeries, week: usize) -> f64 {
    at(&series.used, week) - at(&series.hired, week)
}

fn own_bars(series: &LimitSeries, weeks: usize, most: f64) -> PreEscaped<String> {
    bars(
        PLOT,
        (0..weeks).map(|week| (week, 0.0, height_of(own(series, week), most, PLOT))),
    )
}

fn hired_bars(series: &LimitSeries, weeks: usize, most: f64) -> PreEscaped<String> {
    let hired = (0..weeks)
        .filter(|week| at(&series.hired, *week) > 0.0)
        .map(|week| {
            let low = height_of(own(series, week), most, PLOT);
            (
                week,
                low,
                height_of(at(&series.used, week), most, PLOT).max(low + 1.0),
            )
        });
    bars(PLOT, hired)
}

/// The limit as a stepped line.
fn limit_line(series: &LimitSeries, weeks: usize, most: f64) -> PreEscaped<String> {
    let level =
        |week| short(f64::from(PLOT.height) - height_of(at(&series.limit, week), most, PLOT));
    let mut path = String::new();
    let mut now = String::new();
    for week in 0..weeks.min(series.limit.len()) {
        let next = level(week);
        if next != now {
            // Writing to a string cannot fail.
            let _ = if week == 0 {
                write!(path, "M0 {next}")
            } else {
                write!(path, "H{week}V{next}")
            };
            now = next;
        }
    }
    if !path.is_empty() {
        let _ = write!(path, "H{}", weeks.min(series.limit.len()));
    }
    PreEscaped(path)
}

/// The limit in figures, above the right end of its line.
fn limit_word(series: &LimitSeries, weeks: usize, most: f64) -> Markup {
    let limits = &series.limit[..weeks.min(series.limit.len())];
    let Some(last) = limits.last() else {
        return html! {};
    };
    let low = limits.iter().copied().fold(f64::INFINITY, f64::min);
    let high = limits.iter().copied().fold(0.0, f64::max);
    let figures = if high - low < 0.5 {
        amount(high)
    } else {
        format!("{} to {}", amount(low), amount(high))
    };
    let y = f64::from(PLOT.bottom()) - height_of(*last, most, PLOT) - 5.0;
    html! {
        text.value x="100%" y=(short(y)) text-anchor="end" {
            "limit " (figures) " " (series.unit)
        }
    }
}

/// A wedge over every scarce week, and the dearest of them in words.
fn scarce_marks(axis: &Axis, id: &str, series: &LimitSeries, currency: &str) -> Markup {
    let prices = || series.price.iter().take(axis.len()).copied();
    let Some((dearest, most)) = peak(prices()) else {
        return html! {};
    };
    let half = 50.0 / axis.len().max(1) as f64;
    html! {
        defs { path.wedge id={ (id) "-wedge" } d="M-4 0h8l-4 7z" {} }
        @for (week, _) in prices().enumerate().filter(|(_, price)| *price > 0.0) {
            use href={ "#" (id) "-wedge" } x=(place(axis.percent(week) + half)) y="18" {}
        }
        (axis.word_at(dearest, 12, "value",
            &format!("scarce, {} {currency} in {}", price(most, currency), week_only(axis.iso(dearest)))))
    }
}

/// The week without its year.
fn week_only(iso: &str) -> &str {
    iso.split_once('-').map_or(iso, |(_, week)| week)
}

fn describe(axis: &Axis, series: &LimitSeries, currency: &str) -> String {
    let mut out = match peak(series.used.iter().take(axis.len()).copied()) {
        None => "Nothing is used.".to_owned(),
        Some((week, most)) => {
            format!(
                "Most in {}: {} {}.",
                axis.iso(week),
                amount(most),
                series.unit
            )
        }
    };
    if let Some((week, most)) = peak(series.price.iter().take(axis.len()).copied()) {
        let weeks = series.price.iter().filter(|price| **price > 0.0).count();
        // Writing to a string cannot fail.
        let _ = write!(
            out,
            " Scarce in {weeks} of the weeks; dearest in {}, where one more of the {} earns {} {currency}.",
            axis.iso(week),
            series.unit,
            price(most, currency),
        );
    }
    out
}
