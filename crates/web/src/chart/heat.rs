use maud::{Markup, PreEscaped, html};

use app::sky::{ClockAnswer, ClockWeek, SkyAnswer, SpreadAnswer};

use super::{Axis, Plot, height_of, levels, line, picture, place, short};
use crate::words::sky as words;

const PLOT: Plot = Plot {
    top: 20,
    height: 190,
    iso_weeks: true,
};

/// Steps between the levels that are named, °C·d.
const STEPS: [f64; 7] = [50.0, 100.0, 250.0, 500.0, 1000.0, 2000.0, 5000.0];

/// Where along the season the median is named, and where instead if today is near.
const MEDIAN_AT: f64 = 0.45;
const MEDIAN_ELSE: f64 = 0.72;
const NEAR: f64 = 0.15;
/// Where along the season the band is named, so that its words end within a phone's picture.
const BAND_AT: f64 = 0.57;

/// A season's heat: past years as a grey band with their median, this year as a thick line, what may
/// come as two broken lines; a mark below a week with days that were filled from other years.
pub(crate) fn heat_chart(axis: &Axis, id: &str, sky: &SkyAnswer, clock: &ClockAnswer) -> Markup {
    let heat = Heat::new(clock);
    let title = words::heat_title(&clock.places);
    let description = words::heat_description(clock, sky.since);
    let drawing = html! {
        path.past d=(PreEscaped(heat.band())) vector-effect="non-scaling-stroke" {}
        path.median d=(PreEscaped(heat.line_of(|week| week.normal.map(|at| at.p50)))) vector-effect="non-scaling-stroke" {}
        @for bound in [low, high] {
            path.to-come d=(PreEscaped(heat.to_come(bound))) vector-effect="non-scaling-stroke" {}
        }
        path.season d=(PreEscaped(heat.this_season())) vector-effect="non-scaling-stroke" {}
    };
    let body = html! {
        (levels(PLOT, heat.most, &STEPS, words::level))
        (axis.draw(PLOT, None))
        (axis.inner_of(PLOT, &title, words::HEAT_DRAWING, &drawing))
        (heat.labels(axis, words::this_season(sky)))
        @for week in words::filled_weeks(sky) { (axis.word_at(week, PLOT.bottom() - 3, "value", words::FILLED_MARK)) }
    };
    picture(id, PLOT.total(), &title, &description, &body)
}

fn low(spread: SpreadAnswer) -> f64 {
    spread.p10
}

fn high(spread: SpreadAnswer) -> f64 {
    spread.p90
}

struct Heat<'a> {
    clock: &'a ClockAnswer,
    most: f64,
}

impl<'a> Heat<'a> {
    fn new(clock: &'a ClockAnswer) -> Self {
        let tops = clock.weeks.iter().flat_map(|week| {
            let spreads = [week.normal, week.to_come].into_iter().flatten();
            spreads.map(high).chain(week.so_far)
        });
        let most = tops.fold(0.0, f64::max);
        Self { clock, most }
    }

    /// How many weeks from the left the end of a day lies, days counted from the season's first.
    fn across(&self, days: usize) -> f64 {
        let first = self.clock.weeks.first().map_or(7, |week| week.days);
        (days + 7 - first) as f64 / 7.0
    }

    fn up(&self, value: f64) -> f64 {
        if value > 0.0 {
            height_of(value, self.most, PLOT)
        } else {
            0.0
        }
    }

    fn at(&self, days: usize, value: f64) -> (f64, f64) {
        (self.across(days), self.up(value))
    }

    fn points(
        &self,
        value: impl Fn(&ClockWeek) -> Option<f64>,
    ) -> impl DoubleEndedIterator<Item = (f64, f64)> {
        let start = self.at(0, 0.0);
        let weeks = self.clock.weeks.iter();
        let points: Vec<(f64, f64)> = weeks
            .filter_map(|week| Some(self.at(week.days, value(week)?)))
            .collect();
        std::iter::once(start).chain(points)
    }

    fn line_of(&self, value: impl Fn(&ClockWeek) -> Option<f64>) -> String {
        line(PLOT, self.points(value))
    }

    fn band(&self) -> String {
        let upper = self.points(|week| week.normal.map(high));
        let lower = self.points(|week| week.normal.map(low)).rev();
        let mut path = line(PLOT, upper.chain(lower));
        path.push('z');
        path
    }

    /// The weeks that are over, then the day known last.
    fn this_season(&self) -> String {
        let known = self.clock.known_days;
        let over = self.points(|week| week.so_far.filter(|_| week.days <= known));
        let now = self.clock.so_far.map(|sum| self.at(known, sum));
        if now.is_none() {
            return String::new();
        }
        line(PLOT, over.chain(now))
    }

    fn to_come(&self, bound: impl Fn(SpreadAnswer) -> f64) -> String {
        let Some(so_far) = self.clock.so_far else {
            return String::new();
        };
        let now = self.at(self.clock.known_days, so_far);
        let weeks = self.clock.weeks.iter();
        let coming = weeks.filter_map(|week| Some(self.at(week.days, bound(week.to_come?))));
        line(PLOT, std::iter::once(now).chain(coming))
    }

    fn labels(&self, axis: &Axis, this_season: &str) -> Markup {
        let known = self.across(self.clock.known_days) / axis.len().max(1) as f64;
        let steep = if (known - MEDIAN_AT).abs() < NEAR {
            MEDIAN_ELSE
        } else {
            MEDIAN_AT
        };
        let week = |share: f64| {
            let weeks = &self.clock.weeks;
            weeks.get((weeks.len() as f64 * share) as usize)
        };
        let median = week(steep).and_then(|week| Some(self.at(week.days, week.normal?.p50)));
        let band = week(BAND_AT).and_then(|week| Some(self.at(week.days, week.normal?.p10)));
        let so_far = self.clock.so_far;
        let now = so_far.map(|sum| self.at(self.clock.known_days, sum));
        html! {
            @if let Some(point) = median { (named_left(axis, point, words::MEDIAN)) }
            @if let Some(point) = band { (named_right(axis, point, words::PAST_YEARS)) }
            @if let Some((x, high)) = now {
                @if known > 0.3 {
                    (named_left(axis, (x, high), this_season))
                } @else {
                    // Early in a season there is room to the right only.
                    (named_right(axis, (x, high + 30.0), this_season))
                }
            }
        }
    }
}

/// A word that ends at a point, a little above it.
fn named_left(axis: &Axis, (x, high): (f64, f64), word: &str) -> Markup {
    let y = f64::from(PLOT.bottom()) - high - 6.0;
    let across = place(x * 100.0 / axis.len().max(1) as f64 - 1.0);
    html! { text.value x=(across) y=(short(y)) text-anchor="end" { (word) } }
}

/// A word that begins at a point, a little below it.
fn named_right(axis: &Axis, (x, high): (f64, f64), word: &str) -> Markup {
    let y = f64::from(PLOT.bottom()) - high + 18.0;
    let across = place(x * 100.0 / axis.len().max(1) as f64 + 0.5);
    html! { text.value x=(across) y=(short(y)) { (word) } }
}
