use app::frost::{FrostWeek, ThresholdAnswer};
use maud::{Markup, PreEscaped, html};

use super::{Axis, Plot, height_of, levels, line, peak, picture, place, short};
use crate::words::frost as words;

const PLOT: Plot = Plot {
    top: 34,
    height: 190,
    iso_weeks: true,
};

/// Steps between the levels that are named, shares of years.
const STEPS: [f64; 4] = [0.05, 0.1, 0.25, 0.5];
/// The top of the picture is a whole number of these.
const TOP: f64 = 0.25;
/// Names of lines stand so far apart at least, pixels.
const APART: f64 = 16.0;

/// The odds of a frost night by week: a line for each temperature, the mildest first, with the interval of the
/// first as a band.
pub(crate) fn frost_chart(axis: &Axis, id: &str, drawn: &[&ThresholdAnswer]) -> Markup {
    let band = drawn.first().map_or(&[][..], |it| &it.weeks);
    let highest = band.iter().map(|week| week.high).fold(0.0, f64::max);
    let most = ((highest / TOP).ceil() * TOP).clamp(TOP, 1.0);
    let drawing = html! {
        path.sure d=(PreEscaped(band_of(band, most))) vector-effect="non-scaling-stroke" {}
        @for (at, of) in drawn.iter().enumerate() {
            @let d = line(PLOT, points(&of.weeks, most, |week| week.odds));
            path class=(if at == 0 { "middle" } else { "median" }) d=(PreEscaped(d)) vector-effect="non-scaling-stroke" {}
        }
    };
    let body = html! {
        (axis.draw(PLOT, None))
        (axis.inner_of(PLOT, words::ODDS_TITLE, words::ODDS_DRAWING, &drawing))
        (levels(PLOT, most, &STEPS, words::level))
        (names(axis, drawn, most))
    };
    let description = words::odds_description(drawn);
    picture(id, PLOT.total(), words::ODDS_TITLE, &description, &body)
}

/// The middle of every week, so many pixels above the base.
fn points(
    weeks: &[FrostWeek],
    most: f64,
    value: impl Fn(&FrostWeek) -> f64,
) -> impl DoubleEndedIterator<Item = (f64, f64)> {
    let points = weeks.iter().enumerate();
    points.map(move |(at, week)| (at as f64 + 0.5, height_of(value(week), most, PLOT)))
}

fn band_of(weeks: &[FrostWeek], most: f64) -> String {
    let upper = points(weeks, most, |week| week.high);
    let lower = points(weeks, most, |week| week.low).rev();
    let mut path = line(PLOT, upper.chain(lower));
    path.push('z');
    path
}

/// The name of every line beside its top, on the side where there is room.
fn names(axis: &Axis, drawn: &[&ThresholdAnswer], most: f64) -> Markup {
    let tops: Vec<(usize, f64)> = drawn
        .iter()
        .map(|it| peak(it.weeks.iter().map(|week| week.odds)).unwrap_or((0, 0.0)))
        .collect();
    let wished: Vec<f64> = tops
        .iter()
        .map(|(_, odds)| f64::from(PLOT.bottom()) - height_of(*odds, most, PLOT) + 4.0)
        .collect();
    html! {
        @for ((of, (week, _)), y) in drawn.iter().zip(&tops).zip(apart(&wished)) {
            @let is_right = *week * 2 > axis.len();
            @let x = axis.percent(*week) + if is_right { -1.0 } else { 3.5 };
            text.value x=(place(x)) y=(short(y)) text-anchor=(if is_right { "end" } else { "start" }) {
                (words::below(of))
            }
        }
    }
}

/// Heights as near to those wished for as names that stand apart can have, above the base.
fn apart(wished: &[f64]) -> Vec<f64> {
    let mut heights = Vec::with_capacity(wished.len());
    let mut least = f64::from(PLOT.top) - 2.0;
    for y in wished {
        let y = y.max(least);
        heights.push(y);
        least = y + APART;
    }
    let mut most = f64::from(PLOT.bottom()) - 3.0;
    for y in heights.iter_mut().rev() {
        *y = y.min(most);
        most = *y - APART;
    }
    heights
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stand_apart_and_within_the_picture() {
        let bottom = f64::from(PLOT.bottom());
        for wished in [
            vec![40.0, 41.0, 42.0],
            vec![bottom, bottom, bottom, bottom],
            vec![10.0, 200.0],
        ] {
            let heights = apart(&wished);
            assert_eq!(heights.len(), wished.len());
            assert!(
                heights.windows(2).all(|two| two[1] - two[0] >= APART),
                "{heights:?}"
            );
            assert!(heights.iter().all(|y| *y < bottom), "{heights:?}");
        }
        assert_eq!(apart(&[100.0, 150.0]), [100.0, 150.0]);
    }
}
