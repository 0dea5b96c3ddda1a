use maud::{Markup, html};

use super::{Axis, Plot, bars, height_of, peak, picture};
use crate::figures::count;
use crate::sheet::OperationSeries;

/// Plants by week of one operation, as bars from zero; only the last of a column has ISO weeks.
pub(crate) fn operation_chart(
    axis: &Axis,
    id: &str,
    series: &OperationSeries,
    last: bool,
) -> Markup {
    let plot = Plot {
        top: 18,
        height: 46,
        iso_weeks: last,
    };
    let plants = || {
        series
            .plants_by_week
            .iter()
            .take(axis.len())
            .map(|plants| *plants as f64)
    };
    let top = peak(plants());
    let most = top.map_or(0.0, |(_, most)| most);
    let bar = |(week, value)| (week, 0.0, height_of(value, most, plot));
    let path = bars(plot, plants().enumerate().map(bar));
    let drawing = html! { path.use d=(path) {} };
    let title = format!("{}: plants by week", series.operation);
    let total: u64 = series.plants_by_week.iter().sum();
    let body = html! {
        (axis.draw(plot, top.map(|(week, _)| week)))
        (axis.inner(plot, &title, &drawing))
        @if let Some((week, most)) = top {
            (axis.word_at(week, 12, "value", &count(most as u64)))
        }
    };
    let description = top.map_or_else(
        || "Nothing is planned.".to_owned(),
        |(week, most)| {
            let (total, most) = (count(total), count(most as u64));
            format!("{total} plants in all; most in {}, {most}.", axis.iso(week))
        },
    );
    picture(id, plot.total(), &title, &description, &body)
}
