//! The need of water: day by day around today, and week by week through the year.

use std::fmt::Write as _;

use app::water::{DayFrom, ReferenceDay, ReferenceWeek};
use maud::{Markup, PreEscaped, html};

use super::{Axis, Plot, bars, height_of, levels, line, picture, place, short};
use crate::words::water as words;

const PLOT: Plot = Plot {
    top: 22,
    height: 150,
    iso_weeks: true,
};

/// Steps between levels that are named, mm and m³ a day.
const STEPS: [f64; 13] = [
    0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0,
];

/// The reference of the days around today: a bar a day before the grey band of past years; a day that is
/// not measured has an empty bar.
pub(crate) fn need_chart(id: &str, days: &[ReferenceDay], today: usize) -> Markup {
    let highest = |day: &ReferenceDay| day.past.map_or(day.et0_mm, |past| past[1].max(day.et0_mm));
    let most = days.iter().map(highest).fold(0.0, f64::max);
    let percent = |day: usize| day as f64 * 100.0 / days.len().max(1) as f64;
    let title = words::NEED_TITLE;
    let of = |is_known: bool| {
        let chosen = days.iter().enumerate();
        let chosen = chosen.filter(move |(_, day)| (day.from != DayFrom::PastYears) == is_known);
        PreEscaped(columns(
            chosen.map(|(at, day)| (at, height_of(day.et0_mm, most, PLOT))),
        ))
    };
    let width = days.len().max(1);
    let drawing = html! {
        svg x="0" y=(PLOT.top) width="100%" height=(PLOT.height)
            viewBox={ "0 0 " (width) " " (PLOT.height) } preserveAspectRatio="none" {
            title { (title) }
            desc { (words::NEED_DRAWING) }
            path.past d=(PreEscaped(band(days, most))) vector-effect="non-scaling-stroke" {}
            path.use d=(of(true)) {}
            path.hollow d=(of(false)) vector-effect="non-scaling-stroke" {}
        }
    };
    let now = place(percent(today));
    let body = html! {
        (drawing)
        (levels(PLOT, most, &STEPS, words::level))
        line.base x1="0" x2="100%" y1=(PLOT.bottom()) y2=(PLOT.bottom()) {}
        line.today x1=(now) x2=(now) y1=(PLOT.top) y2=(PLOT.bottom()) {}
        text.now x=(now) y="13" { (words::TODAY) }
        g.wide { (dates(days, 2)) }
        g.narrow { (dates(days, 4)) }
    };
    let description = words::need_description(days, today);
    picture(id, PLOT.total(), title, &description, &body)
}

/// Every so manieth date below its bar, today's among them.
fn dates(days: &[ReferenceDay], step: usize) -> Markup {
    let middle = days.len() / 2;
    html! {
        @for (at, day) in days.iter().enumerate().filter(|(at, _)| at % step == middle % step) {
            @let x = (at as f64 + 0.5) * 100.0 / days.len() as f64;
            text x=(place(x)) y=(PLOT.bottom() + 16) text-anchor="middle" { (day.date.day()) }
            text.quiet x=(place(x)) y=(PLOT.bottom() + 30) text-anchor="middle" { (app::month_words(day.date)) }
        }
    }
}

/// The band of past years, a step a day: its upper edge and back along the lower.
fn band(days: &[ReferenceDay], most: f64) -> String {
    let known = || {
        days.iter()
            .enumerate()
            .filter_map(|(at, day)| Some((at as f64, day.past?)))
    };
    let up = |value: f64| height_of(value, most, PLOT);
    let upper = known().flat_map(|(at, [_, high])| [(at, up(high)), (at + 1.0, up(high))]);
    let lower = known().flat_map(|(at, [low, _])| [(at, up(low)), (at + 1.0, up(low))]);
    let lower: Vec<(f64, f64)> = lower.collect();
    let mut path = line(PLOT, upper.chain(lower.into_iter().rev()));
    path.push('z');
    path
}

/// Bars half a day wide, each from `(day, pixels above the base)`.
fn columns(each: impl Iterator<Item = (usize, f64)>) -> String {
    let mut path = String::new();
    for (at, tall) in each.filter(|(_, tall)| *tall > 0.0) {
        let (left, tall) = (short(at as f64 + 0.25), short(tall));
        // Writing to a string cannot fail.
        let _ = write!(path, "M{left} {}v-{tall}h.5v{tall}z", PLOT.height);
    }
    path
}

/// What the plants ask for through the year: a bar at the median of past years, a mark that nine of ten of
/// them stay below, and the most that the pump gives.
pub(crate) fn year_chart(
    axis: &Axis,
    id: &str,
    weeks: &[ReferenceWeek],
    pump_m3: Option<f64>,
) -> Markup {
    let asked = weeks.iter().map(|week| week.m3_a_day_high);
    let most = asked.chain(pump_m3).fold(0.0, f64::max);
    let up = |value: f64| height_of(value, most, PLOT);
    let median = weeks.iter().enumerate();
    let median = median.map(|(at, week)| (at, 0.0, up(week.m3_a_day)));
    let marks = weeks.iter().enumerate().map(|(at, week)| {
        let high = up(week.m3_a_day_high);
        (at, (high - 2.0).max(0.0), high)
    });
    let drawing = html! {
        path.use d=(bars(PLOT, median)) {}
        path.full d=(bars(PLOT, marks)) {}
    };
    let limit = pump_m3.map(|pump| f64::from(PLOT.bottom()) - up(pump));
    let body = html! {
        (axis.draw(PLOT, None))
        (axis.inner(PLOT, words::YEAR_TITLE, &drawing))
        (levels(PLOT, most, &STEPS, words::level))
        @if let Some(y) = limit {
            line.limit x1="0" x2="100%" y1=(short(y)) y2=(short(y)) {}
            text.value x="100%" y=(short(if y > 34.0 { y - 6.0 } else { y + 16.0 })) text-anchor="end" { (words::PUMP_LIMIT) }
        }
    };
    picture(
        id,
        PLOT.total(),
        words::YEAR_TITLE,
        &words::year_description(weeks),
        &body,
    )
}
