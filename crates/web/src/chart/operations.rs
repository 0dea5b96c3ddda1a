use maud::{Markup, html};

use super::{Axis, Plot, bars, height_of, peak, picture};
use crate::figures::count;
use crate::sheet::OperationSeries;

const PLOT: Plot = Plot {
    top: 18,
    height: 46,
};

/// Plants by week of one operation, as bars from zero.
pub(crate) fn operation_chart(axis: &Axis, id: &str, series: &OperationSeries) -> Markup {
    let plants = || {
        series
            .plants_by_week
            .iter()
            .take(axis.len())
            .map(|plants| *plants as f64)
    };
    let top = peak(plants());
    let most = top.map_or(0.0, |(_, most)| most);
    let bar = |(week, value)| (week, 0.0, height_of(value, most, PLOT));
    let path = bars(PLOT, plants().enumerate().map(bar));
    let drawing = html! { path.use d=(path) {} };
    let title = format!("{}: plants by week", series.operation);
    let total: u64 = series.plants_by_week.iter().sum();
    let body = html! {
        (axis.draw(PLOT))
        (axis.inner(PLOT, &title, &drawing))
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
    picture(id, PLOT.total(), &title, &description, &body)
}
