//! Pictures drawn as inline SVG, each with a title and a description.
//!
//! A picture by week has two layers. Words and marks are placed in percent of the width, so that
//! they keep their size on a phone; bars and lines lie in an inner drawing that stretches.

mod bark;
mod course;
mod fan;
mod free;
mod frost;
mod heat;
mod honesty;
mod limits;
mod need;
mod odds;
mod operations;
mod stages;

use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use crate::sheet::WeekLabel;
use crate::words::standing as words;

pub(crate) use bark::bark_chart;
pub(crate) use course::{CourseStep, course_chart};
pub(crate) use fan::fan_chart;
pub(crate) use free::free_chart;
pub(crate) use frost::frost_chart;
pub(crate) use heat::heat_chart;
pub(crate) use honesty::honesty_chart;
pub(crate) use limits::{has_prices, limit_chart};
pub(crate) use need::{need_chart, year_chart};
pub(crate) use odds::{marks, strip};
pub(crate) use operations::operation_chart;
pub(crate) use stages::{StageBar, stage_bars};

/// The most months named on a wide page and on a phone.
const WIDE_TICKS: usize = 12;
const NARROW_TICKS: usize = 5;

/// What a week with its year takes of a phone's width, percent.
const YEAR_PERCENT: f64 = 21.0;

/// The weeks along the bottom of a picture.
pub(crate) struct Axis<'a> {
    weeks: &'a [WeekLabel],
    today: Option<usize>,
}

/// One month named along the bottom.
struct Tick<'a> {
    week: usize,
    month: &'a str,
    iso: &'a str,
}

/// Where the drawing of a picture lies, in pixels from its top.
#[derive(Clone, Copy)]
struct Plot {
    top: u32,
    height: u32,
    /// Whether the ISO weeks stand below the names of the months.
    iso_weeks: bool,
}

impl Plot {
    fn bottom(self) -> u32 {
        self.top + self.height
    }

    /// Room for the names of months and weeks below the drawing.
    fn total(self) -> u32 {
        self.bottom() + if self.iso_weeks { 36 } else { 22 }
    }
}

impl<'a> Axis<'a> {
    pub(crate) fn new(weeks: &'a [WeekLabel], today: Option<usize>) -> Self {
        Self {
            weeks,
            today: today.filter(|week| *week < weeks.len()),
        }
    }

    /// How many weeks there are.
    pub(crate) fn len(&self) -> usize {
        self.weeks.len()
    }

    /// The ISO week at a place.
    pub(crate) fn iso(&self, week: usize) -> &'a str {
        self.weeks.get(week).map_or("", |label| label.iso.as_str())
    }

    /// Whether a week is the first of its month.
    pub(crate) fn starts_month(&self, week: usize) -> bool {
        self.weeks.get(week).is_some_and(|label| label.starts_month)
    }

    /// The left edge of a week in percent of the width.
    fn percent(&self, week: usize) -> f64 {
        week as f64 * 100.0 / self.len().max(1) as f64
    }

    /// The months to name when there is room for so many; the year stands where it changes.
    fn ticks(&self, most: usize) -> Vec<Tick<'a>> {
        let mut months: Vec<usize> = (0..self.len())
            .filter(|week| self.weeks[*week].starts_month)
            .collect();
        // The tail of a month has no room for its name before the next.
        if let [first, second, _, ..] = months[..]
            && second - first < 3
        {
            months.remove(0);
        }
        let named: Vec<usize> = months
            .iter()
            .copied()
            .step_by(month_step(months.len(), most))
            .take_while(|week| self.percent(*week) <= 100.0 - 60.0 / most as f64)
            .collect();
        let mut year = "";
        let mut ticks = Vec::new();
        for (at, week) in named.iter().copied().enumerate() {
            let label = &self.weeks[week];
            let (its_year, short) = label.iso.split_once('-').unwrap_or(("", &label.iso));
            // On a phone the year waits for a month with room for it.
            let next = named.get(at + 1).map_or(100.0, |next| self.percent(*next));
            let has_room = most > NARROW_TICKS || next - self.percent(week) >= YEAR_PERCENT;
            let iso = if its_year == year || !has_room {
                short
            } else {
                year = its_year;
                &label.iso
            };
            ticks.push(Tick {
                week,
                month: &label.month_name,
                iso,
            });
        }
        ticks
    }

    fn draw_ticks(&self, plot: Plot, most: usize) -> Markup {
        html! {
            @for tick in self.ticks(most) {
                @let x = place(self.percent(tick.week));
                line.month x1=(x) x2=(x) y1=(plot.top) y2=(plot.bottom() + 4) {}
                text x=(x) y=(plot.bottom() + 16) { (tick.month) }
                @if plot.iso_weeks {
                    text.quiet x=(x) y=(plot.bottom() + 30) { (tick.iso) }
                }
            }
        }
    }

    /// The names of months and weeks, their thin lines, and today; the word for today gives way
    /// to another word near it, which stands at week `busy`.
    fn draw(&self, plot: Plot, busy: Option<usize>) -> Markup {
        let near = |today: usize| {
            busy.is_some_and(|busy| (self.percent(busy) - self.percent(today)).abs() < 30.0)
        };
        html! {
            g.wide { (self.draw_ticks(plot, WIDE_TICKS)) }
            g.narrow { (self.draw_ticks(plot, NARROW_TICKS)) }
            line.base x1="0" x2="100%" y1=(plot.bottom()) y2=(plot.bottom()) {}
            @if let Some(week) = self.today {
                @let x = place(self.percent(week));
                line.today x1=(x) x2=(x) y1=(plot.top) y2=(plot.bottom()) {}
                @if !near(week) { (self.word_at(week, 12, "now", "today")) }
            }
        }
    }

    /// The inner drawing of bars, one unit wide a week and one unit high a pixel.
    fn inner(&self, plot: Plot, name: &str, drawing: &Markup) -> Markup {
        let description = format!("One bar a week, from {}.", self.iso(0));
        self.inner_of(plot, name, &description, drawing)
    }

    /// The inner drawing, one unit wide a week and one unit high a pixel.
    fn inner_of(&self, plot: Plot, name: &str, description: &str, drawing: &Markup) -> Markup {
        html! {
            svg x="0" y=(plot.top) width="100%" height=(plot.height)
                viewBox={ "0 0 " (self.len().max(1)) " " (plot.height) } preserveAspectRatio="none" {
                title { (name) }
                desc { (description) }
                (drawing)
            }
        }
    }

    /// A word at a week, kept within the picture.
    fn word_at(&self, week: usize, y: u32, class: &str, word: &str) -> Markup {
        let x = self.percent(week);
        let anchor = match x {
            x if x < 25.0 => "start",
            x if x > 75.0 => "end",
            _ => "middle",
        };
        html! {
            text class=(class) x=(place(x)) y=(y) text-anchor=(anchor) { (word) }
        }
    }
}

/// A picture with its title and description; `id` must be its own on the page.
fn picture(id: &str, height: u32, title: &str, description: &str, body: &Markup) -> Markup {
    html! {
        svg.chart width="100%" height=(height) role="img"
            aria-labelledby={ (id) "-title " (id) "-desc" } {
            title id={ (id) "-title" } { (title) }
            desc id={ (id) "-desc" } { (description) }
            (body)
        }
    }
}

/// What the two shades of plants mean, at the right above a drawing that begins at `top`.
fn ready_and_growing(top: u32) -> Markup {
    let y = top - 6;
    html! {
        rect.use x="100%" y=(y - 10) width="12" height="12" transform="translate(-150)" {}
        text x="100%" y=(y) dx="-132" { (words::READY) }
        rect.band x="100%" y=(y - 10) width="12" height="12" transform="translate(-78)" {}
        text x="100%" y=(y) dx="-60" { (words::GROWING) }
    }
}

/// The least whole step of months that names no more than `most` of them.
fn month_step(months: usize, most: usize) -> usize {
    [1, 2, 3, 6, 12]
        .into_iter()
        .find(|step| months.div_ceil(*step) <= most)
        .unwrap_or(24)
}

/// A place across the picture.
fn place(percent: f64) -> String {
    format!("{}%", short(percent))
}

/// A number of the drawing in as few signs as two decimals need.
fn short(number: f64) -> String {
    let written = format!("{number:.2}");
    let trimmed = written.trim_end_matches('0').trim_end_matches('.');
    trimmed
        .strip_prefix("0.")
        .map_or_else(|| trimmed.to_owned(), |rest| format!(".{rest}"))
}

/// The height of a value in the drawing; what is not zero is never too low to see.
fn height_of(value: f64, most: f64, plot: Plot) -> f64 {
    if value > 0.0 && most > 0.0 {
        (value / most * f64::from(plot.height)).max(1.0)
    } else {
        0.0
    }
}

/// A path of bars, each from `(week, low, high)` in pixels above the base.
fn bars(plot: Plot, each: impl Iterator<Item = (usize, f64, f64)>) -> PreEscaped<String> {
    let mut path = String::new();
    for (week, low, high) in each.filter(|(_, low, high)| high > low) {
        let (left, bottom) = (week as f64 + 0.1, f64::from(plot.height) - low);
        let tall = short(high - low);
        let (left, bottom) = (short(left), short(bottom));
        // Writing to a string cannot fail.
        let _ = write!(path, "M{left} {bottom}v-{tall}h.8v{tall}z");
    }
    PreEscaped(path)
}

/// A line through points, each `(weeks from the left, pixels above the base)`.
fn line(plot: Plot, points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut path = String::new();
    for (at, (x, high)) in points.enumerate() {
        let letter = if at == 0 { 'M' } else { 'L' };
        let (x, y) = (short(x), short(f64::from(plot.height) - high));
        // Writing to a string cannot fail.
        let _ = write!(path, "{letter}{x} {y}");
    }
    path
}

/// The most levels named at the left of a picture.
const MOST_LEVELS: f64 = 5.0;

/// Levels named at the left, so far apart as the first of some steps that has room for them.
fn levels(plot: Plot, most: f64, steps: &[f64], name: fn(f64) -> String) -> Markup {
    let step = steps.iter().find(|step| most / **step <= MOST_LEVELS);
    let step = step.or(steps.last()).copied().unwrap_or(most);
    let count = (most / step).floor().clamp(0.0, MOST_LEVELS) as u32;
    html! {
        @for level in (1..=count).map(|level| f64::from(level) * step) {
            @let y = f64::from(plot.bottom()) - height_of(level, most, plot);
            line.month x1="0" x2="100%" y1=(short(y)) y2=(short(y)) {}
            text.quiet.value x="0" y=(short(y - 4.0)) { (name(level)) }
        }
    }
}

/// The place of the largest value and the value itself; none where all is zero.
pub(crate) fn peak(values: impl Iterator<Item = f64>) -> Option<(usize, f64)> {
    values.enumerate().filter(|(_, value)| *value > 0.0).fold(
        None,
        |best, (week, value)| match best {
            Some((_, most)) if most >= value => best,
            _ => Some((week, value)),
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_months_are_all_named_and_many_are_thinned() {
        assert_eq!(month_step(6, 12), 1);
        assert_eq!(month_step(36, 12), 3);
        assert_eq!(month_step(37, 5), 12);
        assert_eq!(month_step(200, 5), 24);
    }

    #[test]
    fn drawn_numbers_are_short() {
        assert_eq!(short(12.0), "12");
        assert_eq!(short(0.5), ".5");
        assert_eq!(short(0.0), "0");
        assert_eq!(short(33.333), "33.33");
    }

    #[test]
    fn the_first_of_equal_peaks_counts() {
        assert_eq!(peak([0.0, 3.0, 3.0].into_iter()), Some((1, 3.0)));
        assert_eq!(peak([0.0, f64::NAN].into_iter()), None);
    }
}
