//! The need of water: day by day around today, and week by week through the year.

use std::fmt::Write as _;

use app::water::{DayFrom, ReferenceDay, ReferenceWeek};
use maud::{Markup, PreEscaped, html};

use super::{Axis, Plot, bars, height_of, levels, picture, place, short};
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
            chosen.map(|(at, day)| (at, 0.0, height_of(day.et0_mm, most, PLOT))),
            0.25,
        ))
    };
    let past = days.iter().enumerate().filter_map(|(at, day)| {
        let [low, high] = day.past?;
        let up = |value: f64| height_of(value, most, PLOT);
        Some((at, up(low), up(high)))
    });
    let width = days.len().max(1);
    let drawing = html! {
        svg x="0" y=(PLOT.top) width="100%" height=(PLOT.height)
            viewBox={ "0 0 " (width) " " (PLOT.height) } preserveAspectRatio="none" {
            title { (title) }
            desc { (words::NEED_DRAWING) }
            path.past d=(PreEscaped(columns(past, 0.0))) vector-effect="non-scaling-stroke" {}
            path.use d=(of(true)) {}
            path.hollow d=(of(false)) vector-effect="non-scaling-stroke" {}
        }
    };
    let now = place(percent(today));
    let body = html! {
        (levels(PLOT, most, &STEPS, words::level))
        (drawing)
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

/// Columns one unit wide but for a margin on each side, each from `(column, low, high)` in pixels above the
/// base.
fn columns(each: impl Iterator<Item = (usize, f64, f64)>, margin: f64) -> String {
    let mut path = String::new();
    for (at, low, high) in each.filter(|(_, low, high)| high > low) {
        let left = short(at as f64 + margin);
        let wide = short(1.0 - 2.0 * margin);
        let bottom = short(f64::from(PLOT.height) - low);
        let tall = short(high - low);
        // Writing to a string cannot fail.
        let _ = write!(path, "M{left} {bottom}v-{tall}h{wide}v{tall}z");
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
        (levels(PLOT, most, &STEPS, words::level))
        (axis.draw(PLOT, None))
        (axis.inner(PLOT, words::YEAR_TITLE, &drawing))
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
