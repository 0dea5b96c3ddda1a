//! The page of the sky: this season's heat against past years, and when bark slips.

use app::date_words;
use app::sky::{BarkAnswer, ClockAnswer, SkyAnswer, SpreadAnswer, WeekOf};
use jiff::civil::Date;
use maud::{Markup, html};

use crate::chart::{Axis, bark_chart, heat_chart};
use crate::figures::{count, csv_row};
use crate::frame::{columns, find, folded, list, method};
use crate::serve::address;
use crate::sheet::WeekLabel;
use crate::weather_faults;
use crate::words::combinations::status;
use crate::words::sky as words;
use crate::words::sky::Slip;

/// The sentence that answers the page's question.
pub(crate) fn answer(sky: &SkyAnswer) -> String {
    words::answer(sky)
}

/// The page below its head, as of a day where the address names one; with what stands there of
/// its other parts.
pub(crate) fn body(sky: &SkyAnswer, as_of: Option<Date>, parts: &Markup) -> Markup {
    html! {
        (list(words::MIND, &sky.warnings))
        (weather_faults::found(sky.record.problems, &sky.findings))
        (parts)
        (bark(sky))
        (heat(sky, as_of))
        (find())
        (method(&words::method(sky)))
    }
}

/// A sentence of another part of the sky, with the way to its page.
pub(crate) fn part(name: &str, said: &str, to: &str, way: &str) -> Markup {
    html! {
        section {
            h2 { (name) }
            p { (said) " " a href=(to) { (way) } }
        }
    }
}

/// Both tables as one file; its first column says of which of them a row is.
pub(crate) fn csv(sky: &SkyAnswer) -> String {
    const HEAD: [&str; 14] = [
        "table",
        "places",
        "rootstock",
        "week",
        "monday",
        "past_p10",
        "past_p50",
        "past_p90",
        "this_season",
        "to_come_p10",
        "to_come_p50",
        "to_come_p90",
        "bark_share",
        "source",
    ];
    let mut file = csv_row(&HEAD.map(str::to_owned));
    for clock in &sky.clocks {
        for (week, at) in sky.season_weeks.iter().zip(&clock.weeks) {
            let mut cells = vec!["heat".to_owned(), clock.places.join("; "), String::new()];
            cells.extend([week.week.clone(), week.monday.to_string()]);
            cells.extend(spread_cells(at.normal));
            cells.push(number(at.so_far));
            cells.extend(spread_cells(at.to_come));
            cells.extend([String::new(), String::new()]);
            file.push_str(&csv_row(&cells));
        }
    }
    for bark in &sky.bark {
        for stock in &bark.rootstocks {
            for (week, share) in sky.weeks.iter().zip(&bark.share) {
                let mut cells = vec![
                    "bark".to_owned(),
                    bark.places.join("; "),
                    stock.name.clone(),
                ];
                cells.extend([week.week.clone(), week.monday.to_string()]);
                cells.extend(std::iter::repeat_n(String::new(), 7));
                cells.extend([share.to_string(), stock.source.clone()]);
                file.push_str(&csv_row(&cells));
            }
        }
    }
    file
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| format!("{value:.1}"))
}

fn spread_cells(spread: Option<SpreadAnswer>) -> [String; 3] {
    let cell = |value: fn(SpreadAnswer) -> f64| number(spread.map(value));
    [cell(|at| at.p10), cell(|at| at.p50), cell(|at| at.p90)]
}

fn labels(weeks: &[WeekOf]) -> Vec<WeekLabel> {
    weeks
        .iter()
        .enumerate()
        .map(|(at, week)| WeekLabel {
            iso: week.week.clone(),
            monday: date_words(week.monday),
            month_name: week.month.to_owned(),
            starts_month: at == 0 || weeks[at - 1].month != week.month,
        })
        .collect()
}

fn today(sky: &SkyAnswer, weeks: &[WeekOf]) -> Option<usize> {
    weeks.iter().rposition(|week| week.monday <= sky.as_of)
}

fn heat(sky: &SkyAnswer, as_of: Option<Date>) -> Markup {
    let weeks = labels(&sky.season_weeks);
    let axis = Axis::new(&weeks, today(sky, &sky.season_weeks));
    html! {
        section {
            h2 { (words::heat_since(sky)) }
            @if sky.clocks.is_empty() { p { (words::NO_PLACES) } } @else {
                p { (sky.note) }
                p.say { (words::HEAT_SAY) @if !sky.filled.is_empty() { " " (words::FILLED_SAY) } }
                (since(sky, as_of))
                (pictures(&axis, sky, &sky.clocks[..1], 0))
                @if sky.clocks.len() > 1 {
                    (folded(words::OTHER_PLACES, &pictures(&axis, sky, &sky.clocks[1..], 1)))
                }
                (heat_table(sky))
                @if !sky.filled.is_empty() {
                    (folded(words::FILLED, &weather_faults::filled(&sky.filled)))
                }
                (folded(words::FIGURES, &html! {
                    @for clock in &sky.clocks {
                        h3 { (clock.places.join(", ")) }
                        (heat_figures(&axis, sky, clock))
                    }
                }))
            }
        }
    }
}

/// From which day heat is summed, to be chosen.
fn since(sky: &SkyAnswer, as_of: Option<Date>) -> Markup {
    html! {
        form.row.noprint method="get" action="/sky" {
            @if let Some(day) = as_of { input type="hidden" name="as_of" value=(day); }
            label {
                span { (words::SINCE) }
                input type="date" name="since" max=(sky.as_of) value=(sky.season_first);
            }
            button.plain { (words::SUM) }
            @if sky.since.is_some() { a href=(season_at(as_of)) { (words::SINCE_SEASON) } }
        }
    }
}

/// The page with heat since the season began.
fn season_at(as_of: Option<Date>) -> String {
    let day = as_of.map(|day| day.to_string());
    let fields: Vec<(&str, &str)> = day.iter().map(|day| ("as_of", day.as_str())).collect();
    address::with_fields("/sky", &fields)
}

/// The pictures of some climates, the first of them being so many from the start.
fn pictures(axis: &Axis, sky: &SkyAnswer, clocks: &[ClockAnswer], from: usize) -> Markup {
    html! {
        @for (at, clock) in clocks.iter().enumerate() {
            figure {
                figcaption {
                    b { (clock.places.join(", ")) }
                    span.quiet.small { (words::climate(clock)) }
                }
                (heat_chart(axis, &format!("heat-{}", from + at), sky, clock))
            }
        }
    }
}

fn heat_table(sky: &SkyAnswer) -> Markup {
    let or_nothing = |at: Option<SpreadAnswer>| at.map_or(words::NOTHING.to_owned(), words::spread);
    html! {
        table.rows.sort {
            caption { (words::HEAT_TABLE) }
            (columns(&[
                (words::PLACES, false), (words::SO_FAR, true), (words::MEDIAN_BY_NOW, true),
                (words::AHEAD, true), (words::RANK, false), (words::END, true),
            ]))
            tbody {
                @for clock in &sky.clocks {
                    tr {
                        td.lead { (clock.places.join(", ")) small { (words::climate(clock)) } }
                        td.n data-head=(words::SO_FAR) data-v=[clock.so_far] { (whole(clock.so_far)) }
                        td.n data-head=(words::MEDIAN_BY_NOW) data-v=[clock.normal.map(|at| at.p50)] {
                            (or_nothing(clock.normal))
                        }
                        td.n data-head=(words::AHEAD) data-v=[clock.days_ahead] { (words::ahead(clock)) }
                        td data-head=(words::RANK) { (words::rank(clock)) }
                        td.n data-head=(words::END) data-v=[clock.season_end.map(|at| at.p50)] {
                            (or_nothing(clock.season_end))
                        }
                    }
                }
            }
        }
    }
}

fn whole(value: Option<f64>) -> String {
    value.map_or_else(
        || words::NOTHING.to_owned(),
        |value| count(value.round().max(0.0) as u64),
    )
}

fn heat_figures(axis: &Axis, sky: &SkyAnswer, clock: &ClockAnswer) -> Markup {
    let filled = words::filled_weeks(sky);
    html! {
        div.scroll {
            table {
                thead {
                    tr {
                        th scope="col" { (words::WEEK) }
                        th.n scope="col" { (words::PAST) }
                        th.n scope="col" { (words::THIS) }
                        th.n scope="col" { (words::TO_COME) }
                    }
                }
                tbody {
                    @for (at, week) in clock.weeks.iter().enumerate() {
                        tr {
                            th scope="row" { (axis.iso(at)) }
                            td.n { @if let Some(at) = week.normal { (words::spread(at)) } }
                            td.n {
                                @if week.so_far.is_some() {
                                    @if filled.contains(&at) { (words::FILLED_MARK) " " }
                                    (whole(week.so_far))
                                }
                            }
                            td.n { @if let Some(at) = week.to_come { (words::spread(at)) } }
                        }
                    }
                }
            }
        }
    }
}

fn bark(sky: &SkyAnswer) -> Markup {
    let weeks = labels(&sky.weeks);
    let axis = Axis::new(&weeks, today(sky, &sky.weeks));
    html! {
        section {
            h2 { (words::BARK) }
            @if sky.bark.is_empty() { p { (words::NO_BARK) } } @else {
                (bark_table(sky))
                ul.tally.small {
                    @for slip in Slip::ALL {
                        li { span aria-hidden="true" { (slip.shape()) } " " b { (slip.word()) } " " (slip.meaning()) }
                    }
                }
                p.say { (words::BARK_SAY) }
                @for (at, bark) in sky.bark.iter().enumerate() {
                    figure {
                        figcaption {
                            b { (words::stocks(bark)) }
                            span.quiet.small { (bark.places.join(", ")) }
                        }
                        (bark_chart(&axis, &format!("bark-{at}"), bark))
                    }
                }
                (folded(words::FIGURES, &bark_figures(&axis, &sky.bark)))
                (folded(words::RULES, &rules(sky)))
            }
        }
    }
}

fn bark_table(sky: &SkyAnswer) -> Markup {
    html! {
        table.rows.sort {
            caption { (words::BARK_TABLE) }
            (columns(&[
                (words::ROOTSTOCKS, false), (words::PLACES, false), (words::THIS_WEEK, false),
                (words::LAST_WEEK, false), (words::KNIFE, false), (words::LIKELY_FROM, false), (words::LIKELY_UNTIL, false),
            ]))
            tbody {
                @for bark in &sky.bark {
                    @let now = bark.share.first().copied().unwrap_or(0.0);
                    @let slip = Slip::of(now);
                    tr {
                        td.lead { (words::stocks(bark)) }
                        td data-head=(words::PLACES) { (bark.places.join(", ")) }
                        td data-head=(words::THIS_WEEK) data-v=(now) {
                            span aria-hidden="true" { (slip.shape()) } " " (slip.word())
                            small { (words::of_years(now)) }
                        }
                        td data-head=(words::LAST_WEEK) { (words::slipped(bark.slipped_last_week)) }
                        td data-head=(words::KNIFE) {
                            (words::knife(bark)) " "
                            a.noprint href=(note_at(sky, bark)) { (words::NOTE_BARK) }
                        }
                        td.due data-head=(words::LIKELY_FROM) data-v=[&bark.first_likely] { (likely_from(sky, bark)) }
                        td.due data-head=(words::LIKELY_UNTIL) data-v=[&bark.last_likely] { (likely_until(sky, bark)) }
                    }
                }
            }
        }
    }
}

/// The form of a note of these rootstocks at these places today.
fn note_at(sky: &SkyAnswer, bark: &BarkAnswer) -> String {
    let rootstock = bark.rootstocks.first();
    address::with_fields(
        "/settings/bark_notes/row",
        &[
            ("date", sky.as_of.to_string().as_str()),
            (
                "rootstock",
                rootstock.map_or("", |it| it.rootstock.as_str()),
            ),
            ("place", bark.places.first().map_or("", String::as_str)),
            ("back", "/sky"),
        ],
    )
}

fn likely_from(sky: &SkyAnswer, bark: &BarkAnswer) -> Markup {
    let this_week = sky.weeks.first().map(|week| &week.week);
    match &bark.first_likely {
        Some(first) if Some(first) == this_week => html! { (words::NOW) },
        Some(first) => dated(sky, first),
        None => html! { (words::NOTHING) },
    }
}

fn likely_until(sky: &SkyAnswer, bark: &BarkAnswer) -> Markup {
    match (&bark.first_likely, &bark.last_likely) {
        (_, Some(last)) => dated(sky, last),
        (Some(_), None) => html! { (words::BEYOND) },
        (None, None) => html! { (words::NOTHING) },
    }
}

/// A week and its Monday.
fn dated(sky: &SkyAnswer, week: &str) -> Markup {
    html! { (week) small { (words::monday(sky, week)) } }
}

fn bark_figures(axis: &Axis, all: &[BarkAnswer]) -> Markup {
    html! {
        div.scroll {
            table {
                thead {
                    tr {
                        th scope="col" { (words::WEEK) }
                        @for bark in all {
                            th.n scope="col" { (words::stocks(bark)) small { (bark.places.join(", ")) } }
                        }
                    }
                }
                tbody {
                    @for week in 0..axis.len() {
                        tr {
                            th scope="row" { (axis.iso(week)) }
                            @for bark in all {
                                td.n { @if let Some(share) = bark.share.get(week) { (words::share(*share)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The rules in words, each once, with the source of every rootstock's.
fn rules(sky: &SkyAnswer) -> Markup {
    let mut told: Vec<(String, &BarkAnswer)> = Vec::new();
    for bark in &sky.bark {
        let rule = words::rule(bark);
        if told.iter().all(|(known, _)| *known != rule) {
            told.push((rule, bark));
        }
    }
    html! {
        p { (words::plan_share(sky.plan_share)) }
        ul.plain {
            @for (rule, bark) in &told {
                li {
                    (rule)
                    @for stock in &bark.rootstocks {
                        " " (stock.name) ": " (stock.source) " (" (status(stock.status)) ")."
                    }
                }
            }
        }
    }
}
