//! The page of water: what is to be watered today, how long and how much, and whether the pump suffices.

use app::date_words;
use app::water::{BlockAnswer, DayFrom, NextWatering, ReferenceWeek, WaterAnswer};
use jiff::civil::Date;
use maud::{Markup, html};

use crate::chart::{Axis, need_chart, year_chart};
use crate::figures::{count, csv_row, measure};
use crate::frame::{columns, find, folded, list, method};
use crate::serve::address;
use crate::sheet::WeekLabel;
use crate::words::water as words;

/// Rows of the table; more are a tap away.
const ROWS: usize = 120;
/// So many places at most say on the page of all what their water rests on.
const TOLD: usize = 40;
/// Days that a sheet to print looks ahead, today among them.
const SHEET_DAYS: i64 = 3;
/// The most boxes to write in for one watering of several times.
const BOXES: u32 = 6;

/// How the page is looked at.
pub(crate) struct View<'a> {
    /// The address to come back to.
    pub(crate) here: &'a str,
    /// Only this place.
    pub(crate) place: Option<&'a str>,
    /// Rows passed over.
    pub(crate) from: usize,
    /// The address of the rows after those shown.
    pub(crate) more_at: &'a dyn Fn(usize) -> String,
}

/// The page below its head.
pub(crate) fn body(water: &WaterAnswer, view: &View<'_>) -> Markup {
    if water.blocks.is_empty() {
        return html! {
            (list(words::MIND, &water.warnings))
            p { (words::NO_PLANTS_MEND) }
            p.acts { a.button href="/do/open_lot?back=/sky/water" { (words::OPEN_LOT) } }
            (method(&words::method(water)))
        };
    }
    html! {
        (due(water, view))
        (list(words::MIND, &mind(water)))
        (need(water))
        (blocks(water, view))
        (nursery(water))
        (year(water))
        (taken(water, view))
        (find())
        (method(&words::method(water)))
    }
}

/// What to do today, place by place.
fn due(water: &WaterAnswer, view: &View<'_>) -> Markup {
    let due: Vec<_> = words::due_on(water, water.as_of).collect();
    let mut watered: Vec<&str> = water
        .blocks
        .iter()
        .filter(|it| it.last_watered == Some(water.as_of))
        .map(|it| it.place.as_str())
        .collect();
    watered.dedup();
    let unknown = words::not_told(water);
    html! {
        @if !unknown.is_empty() {
            section {
                h2 { (words::LOOK) }
                ol.decide { @for place in &unknown { (look_item(water.as_of, place, view)) } }
            }
        }
        @if !due.is_empty() {
            section {
                h2 { (words::DUE) }
                ol.decide {
                    @for at_place in due.chunk_by(|one, other| one.0.place == other.0.place) {
                        (due_item(water.as_of, at_place, view))
                    }
                }
            }
        }
        @if !watered.is_empty() { p { (words::watered_today(&watered)) } }
        p.noprint { a href=(sheet_at(water, view)) { (words::TO_SHEET) } }
        @if let Some(first) = water.blocks.first().filter(|_| nothing_told(water)) {
            p.notice {
                span { (words::NOTHING_TOLD) } " "
                a.button.plain href=(watering_at(&first.place, view.here)) { (words::TELL) }
            }
        }
    }
}

/// A place of which nobody told when it was watered: noted once somebody has looked.
fn look_item(as_of: Date, place: &str, view: &View<'_>) -> Markup {
    html! {
        li {
            b { (place) }
            div {
                @if let Some(look) = words::look(&[place]) { p { (look) } }
                (watered_button(as_of, place, view))
            }
        }
    }
}

fn watered_button(as_of: Date, place: &str, view: &View<'_>) -> Markup {
    let day = as_of.to_string();
    let fields = [
        ("place", place),
        ("date", day.as_str()),
        ("back", view.here),
    ];
    html! {
        p.noprint {
            a.button href=(address::with_fields("/settings/watered/row", &fields)) { (words::WATERED) }
        }
    }
}

/// A place with its blocks that are due, watered and recorded at one go.
fn due_item(as_of: Date, blocks: &[(&BlockAnswer, &NextWatering)], view: &View<'_>) -> Markup {
    let place = blocks.first().map_or("", |(block, _)| &block.place);
    html! {
        li {
            b { (place) }
            div {
                @for (block, next) in blocks {
                    p { (words::size(block)) b { (words::how_long(next)) } ". " (words::how_much(block, next)) }
                }
                (watered_button(as_of, place, view))
            }
        }
    }
}

/// Whether no place has told anything of its water.
fn nothing_told(water: &WaterAnswer) -> bool {
    let mut takes = water.blocks.iter().flat_map(|it| &it.taken);
    takes.all(|it| !it.own)
}

fn watering_at(place: &str, back: &str) -> String {
    address::with_fields(
        "/settings/watering/row",
        &[("place", place), ("back", back)],
    )
}

fn sheet_at(water: &WaterAnswer, view: &View<'_>) -> String {
    let day = water.as_of.to_string();
    let at_day = view.here.contains("as_of=");
    let fields = [("as_of", day.as_str())];
    address::with_fields("/sky/water/sheet", if at_day { &fields } else { &[] })
}

/// What is to be minded: the pump first.
fn mind(water: &WaterAnswer) -> Vec<String> {
    let today = water.days.iter().find(|it| it.date == water.as_of);
    let yesterday = water.days.iter().rfind(|it| it.date < water.as_of);
    let is_old = [today, yesterday]
        .iter()
        .all(|it| it.is_none_or(|day| day.from == DayFrom::PastYears));
    let mut mind: Vec<String> = words::too_little(&water.nursery).into_iter().collect();
    mind.extend(is_old.then(|| words::OLD_WEATHER.to_owned()));
    mind.extend(water.warnings.iter().cloned());
    mind
}

fn need(water: &WaterAnswer) -> Markup {
    let today = water.days.iter().position(|it| it.date == water.as_of);
    html! {
        section {
            h2 { (words::NEED) }
            p.say { (words::NEED_SAY) @if let Some(sure) = words::give_or_take(&water.reference) { " " (sure) } }
            figure {
                figcaption { b { (words::NEED_AROUND) } span.quiet.small { (words::MM_A_DAY) } }
                (need_chart("need", &water.days, today.unwrap_or_default()))
            }
            (folded(words::FIGURES, &html! {
                table {
                    (columns(&words::DAY_COLUMNS))
                    tbody {
                        @for day in &water.days {
                            tr {
                                th scope="row" { (words::day(day.date, water.as_of)) }
                                td.n { (measure(day.et0_mm)) }
                                td.n { (day.past.map_or_else(|| words::NOTHING.to_owned(), words::range)) }
                                td.n { (day.rain_mm.map_or_else(|| words::NOTHING.to_owned(), measure)) }
                                td { (words::taken_from(day.from)) }
                                td { (words::worked_out(day)) }
                            }
                        }
                    }
                }
            }))
        }
    }
}

/// The blocks of the place chosen, or all.
fn chosen<'a>(water: &'a WaterAnswer, view: &View<'_>) -> Vec<&'a BlockAnswer> {
    let blocks = water.blocks.iter();
    let is_chosen = |it: &&BlockAnswer| view.place.is_none_or(|place| it.place == place);
    blocks.filter(is_chosen).collect()
}

fn blocks(water: &WaterAnswer, view: &View<'_>) -> Markup {
    let chosen = chosen(water, view);
    let shown = chosen.iter().skip(view.from).take(ROWS);
    let next = view.from.saturating_add(ROWS);
    html! {
        section {
            h2 { (words::BLOCKS) }
            p.say { (words::BLOCKS_SAY) }
            (choice_of_place(water, view))
            table.rows.sort {
                caption { (words::BLOCKS) }
                (columns(&words::COLUMNS))
                tbody { @for block in shown { (row(water.as_of, block)) } }
            }
            @if next < chosen.len() { p { a.button.plain href=((view.more_at)(next)) { (words::MORE) } } }
        }
    }
}

fn choice_of_place(water: &WaterAnswer, view: &View<'_>) -> Markup {
    let mut places: Vec<&str> = water.blocks.iter().map(|it| it.place.as_str()).collect();
    places.dedup();
    html! {
        @if places.len() > TOLD || view.place.is_some() {
            form.row.noprint method="get" action="/sky/water" {
                @if view.here.contains("as_of=") { input type="hidden" name="as_of" value=(water.as_of); }
                label {
                    span { (words::PLACE) }
                    select name="place" {
                        option value="" { (words::ALL) }
                        @for place in places { option value=(place) selected[view.place == Some(place)] { (place) } }
                    }
                }
                button.plain { (words::SHOW) }
            }
        }
    }
}

fn row(as_of: Date, block: &BlockAnswer) -> Markup {
    let [_, plants, uses, gone, next_at, minutes, liters, m3, last] = words::COLUMNS.map(|it| it.0);
    let next = block.next.as_ref();
    let cell = |value: Option<f64>, said: fn(f64) -> String| {
        value.map_or_else(|| words::NOTHING.to_owned(), said)
    };
    let all = next.map(|it| it.m3 * f64::from(it.times));
    html! {
        tr.mind[next.is_some_and(|it| it.date == as_of)] {
            td.lead { (block.place) @if let Some(size) = &block.size { small { (size) } } }
            td.n data-head=(plants) data-v=(block.plants) { (count(u64::from(block.plants))) }
            td.n data-head=(uses) data-v=(block.use_mm) {
                (measure(block.use_mm)) small { (words::l_a_plant(block.use_l)) }
            }
            td.n data-head=(gone) data-v=[block.gone_mm] { (words::gone(block)) }
            td data-head=(next_at) data-v=[next.map(|it| it.date)] { (words::next(block, as_of)) }
            td.n data-head=(minutes) data-v=[next.map(|it| it.minutes)] { (cell(next.map(|it| it.minutes), words::minutes)) }
            td.n data-head=(liters) data-v=[next.map(|it| it.liters_a_plant)] { (cell(next.map(|it| it.liters_a_plant), words::liters)) }
            td.n data-head=(m3) data-v=[all] { (cell(all, measure)) }
            td.full-row data-head=(last) data-v=[block.last_watered] { (words::last_watered(block, as_of)) }
        }
    }
}

fn nursery(water: &WaterAnswer) -> Markup {
    let nursery = &water.nursery;
    let m3 = |value: f64| format!("{} m³", measure(value));
    let [given, used, week, most, pump, tank, salt] = words::TOTALS;
    let peak = nursery.peak.as_ref();
    let lacks = nursery.peak_pump_hours.is_none() || nursery.pump_hours.is_none();
    html! {
        section {
            h2 { (words::NURSERY) }
            dl.facts {
                dt { (given) } dd { (m3(nursery.m3_today)) }
                dt { (used) } dd { (m3(nursery.m3_of_today)) }
                dt { (week) } dd { (m3(nursery.m3_week)) }
                dt { (most) } dd { (peak.map_or_else(|| words::NOTHING.to_owned(), words::peak)) }
                dt { (pump) } dd { (words::pump(nursery)) }
                dt { (tank) } dd { (words::tank(nursery)) }
                dt { (salt) } dd { (words::leaching(water)) }
            }
            @if lacks { p.noprint { a href="/settings/nursery" { (words::TELL_PUMP) } } }
        }
    }
}

fn year(water: &WaterAnswer) -> Markup {
    let weeks = labels(&water.year);
    let axis = Axis::new(&weeks, None);
    html! {
        section {
            h2 { (words::YEAR) }
            p.say { (words::YEAR_SAY) }
            figure {
                figcaption { b { (words::YEAR_TITLE) } span.quiet.small { (words::M3_A_DAY) } }
                (year_chart(&axis, "year", &water.year, water.nursery.pump_m3_day))
            }
            (folded(words::YEAR_FIGURES, &html! {
                table {
                    (columns(&words::WEEK_COLUMNS))
                    tbody {
                        @for week in &water.year {
                            tr {
                                th scope="row" { (week.week) }
                                td.n { (words::spread(week.et0_mm)) }
                                td.n { (measure(week.m3_a_day)) }
                                td.n { (measure(week.m3_a_day_high)) }
                            }
                        }
                    }
                }
            }))
        }
    }
}

fn labels(weeks: &[ReferenceWeek]) -> Vec<WeekLabel> {
    let label = |(at, week): (usize, &ReferenceWeek)| WeekLabel {
        iso: week.week.clone(),
        monday: date_words(week.monday),
        month_name: week.month.to_owned(),
        starts_month: at == 0 || weeks[at - 1].month != week.month,
    };
    weeks.iter().enumerate().map(label).collect()
}

/// What each block's water rests on, with the way to its settings.
fn taken(water: &WaterAnswer, view: &View<'_>) -> Markup {
    let chosen = chosen(water, view);
    html! {
        section {
            h2 { (words::TAKEN) }
            @if chosen.len() > TOLD { p { (words::TAKEN_ELSEWHERE) } } @else {
                @for block in chosen {
                    (folded(&words::rests_on(block), &html! {
                        div.scroll { table {
                            (columns(&words::TAKEN_COLUMNS))
                            tbody {
                                @for it in &block.taken {
                                    tr {
                                        th scope="row" { (words::what(it)) }
                                        td.n { (words::value(it)) }
                                        td { (words::source(it)) }
                                    }
                                }
                            }
                        } }
                        p { a href=(watering_at(&block.place, view.here)) { (words::MEND_TAKEN) } }
                    }))
                }
            }
        }
    }
}

/// The table of all blocks as a file.
pub(crate) fn csv(water: &WaterAnswer) -> String {
    let mut file = csv_row(&words::CSV.map(str::to_owned));
    for block in &water.blocks {
        let next = block.next.as_ref();
        let number = |value: Option<f64>, places: usize| {
            value.map_or_else(String::new, |it| format!("{it:.places$}"))
        };
        let date = |value: Option<Date>| value.map_or_else(String::new, |it| it.to_string());
        file.push_str(&csv_row(&[
            block.place.clone(),
            block.size.clone().unwrap_or_default(),
            (if block.in_pots { "yes" } else { "no" }).to_owned(),
            block.plants.to_string(),
            number(Some(block.ground_m2), 2),
            number(Some(block.use_mm), 2),
            number(Some(block.use_l), 3),
            number(Some(block.holds_mm), 2),
            number(Some(block.may_go_mm), 2),
            number(block.gone_mm, 2),
            date(block.last_watered),
            number(block.days_between, 2),
            date(next.map(|it| it.date)),
            next.map_or_else(String::new, |it| it.times.to_string()),
            number(next.map(|it| it.minutes), 1),
            number(next.map(|it| it.gross_mm), 2),
            number(next.map(|it| it.liters_a_plant), 3),
            number(next.map(|it| it.m3), 3),
        ]));
    }
    file
}

/// What is due on the days of a sheet to print, by day.
fn on_sheet(water: &WaterAnswer) -> Vec<(&BlockAnswer, &NextWatering)> {
    let days = (0..SHEET_DAYS).map(|day| later(water.as_of, day));
    days.flat_map(|day| words::due_on(water, day)).collect()
}

fn later(date: Date, days: i64) -> Date {
    date.saturating_add(jiff::Span::new().days(days))
}

/// The sentence over the sheet to print.
pub(crate) fn sheet_answer(water: &WaterAnswer) -> String {
    let last = later(water.as_of, SHEET_DAYS - 1);
    words::sheet_answer(on_sheet(water).len(), water.as_of, last)
}

/// The sheet for the one who waters: one row a block, with boxes to write in.
pub(crate) fn sheet(water: &WaterAnswer, back: &str) -> Markup {
    let due = on_sheet(water);
    html! {
        p.noprint { (words::SHEET_SAY) " " a href=(back) { (words::TO_PAGE) } }
        @if let Some(look) = words::look(&words::not_told(water)) { p { (look) } }
        @if let Some(less) = words::too_much_today(&water.nursery) { p { (less) } }
        @if due.is_empty() { p { (words::answer(water)) } } @else {
            table.rows {
                caption { (words::PRINT_SHEET) }
                (columns(&words::SHEET_COLUMNS))
                tbody { @for (block, next) in &due { (sheet_row(water.as_of, block, next)) } }
            }
        }
        section.caution {
            h2 { (words::CAUTION) }
            ul.plain { @for caution in words::CAUTIONS { li { (caution) } } }
        }
    }
}

fn sheet_row(as_of: Date, block: &BlockAnswer, next: &NextWatering) -> Markup {
    let [day, _, plants, times, minutes, liters, m3, at, given] =
        words::SHEET_COLUMNS.map(|it| it.0);
    let boxes = || 0..next.times.clamp(1, BOXES);
    let is_daily = block.days_between.is_some_and(|days| days < 1.0);
    html! {
        tr {
            td data-head=(day) {
                // On paper a day has no name but its date.
                @if next.date == as_of { b { (date_words(next.date)) } } @else { (date_words(next.date)) }
                @if is_daily { small { (words::SHEET_DAILY) } }
            }
            td.lead { (words::block(block)) }
            td.n data-head=(plants) { (count(u64::from(block.plants))) }
            td.n data-head=(times) { (next.times) }
            td.n data-head=(minutes) {
                (words::minutes(next.minutes))
                @if let Some(turns) = words::turns(next) { small { (turns) } }
            }
            td.n data-head=(liters) { (words::liters(next.liters_a_plant)) }
            td.n data-head=(m3) { (measure(next.m3 * f64::from(next.times))) }
            @for head in [at, given] {
                td.write data-head=(head) { @for _ in boxes() { span {} } }
            }
        }
    }
}
