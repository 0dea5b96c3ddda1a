use maud::{Markup, html};

use app::sky::BarkAnswer;

use super::{Axis, Plot, bars, height_of, picture, short};
use crate::words::sky as words;

const PLOT: Plot = Plot {
    top: 20,
    height: 48,
    iso_weeks: true,
};

/// The share of past years in which bark slips, week by week, as bars from zero to all years; a line
/// at half of them.
pub(crate) fn bark_chart(axis: &Axis, id: &str, bark: &BarkAnswer) -> Markup {
    let shares = bark.share.iter().take(axis.len()).copied();
    let bar = |(week, share)| (week, 0.0, height_of(share, 1.0, PLOT));
    let title = words::bark_title(bark);
    let drawing = html! { path.use d=(bars(PLOT, shares.enumerate().map(bar))) {} };
    let find = |iso: &Option<String>| {
        let iso = iso.as_ref()?;
        (0..axis.len()).find(|week| axis.iso(*week) == iso)
    };
    let (first, last) = (find(&bark.first_likely), find(&bark.last_likely));
    let half = short(f64::from(PLOT.top) + f64::from(PLOT.height) / 2.0);
    let body = html! {
        (axis.draw(PLOT, first.or(Some(0))))
        (axis.inner(PLOT, &title, &drawing))
        line.half x1="0" x2="100%" y1=(half) y2=(half) {}
        @if let Some(week) = first { (axis.word_at(week, 13, "value", &words::from_week(week, axis.iso(week)))) }
        @if let Some(week) = last { (axis.word_at(week, 13, "value", &words::until_week(axis.iso(week)))) }
    };
    picture(
        id,
        PLOT.total(),
        &title,
        &words::bark_description(bark),
        &body,
    )
}
