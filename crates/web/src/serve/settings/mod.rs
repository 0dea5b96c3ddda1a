//! Settings: everything that the nursery's files hold, table by table, and how it is changed.

mod change;
pub(super) mod files;
pub(super) mod nursery;
pub(super) mod routes;
pub(super) mod row;
mod table;
#[cfg(test)]
mod tests;
pub(super) mod weather;

use app::AppError;
use app::ledger::WeatherInUse;
use app::ledger::settings::{Lacks, kind_of};
use jiff::civil::Date;
use maud::{Markup, html};

pub(super) use change::{Change, Outcome, choices, person_field};

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::Reply;
use crate::figures::count;
use crate::figures::sentence;
use crate::frame::columns;
use crate::words::settings as words;

/// A weather record that ends so many days ago is still up to date.
const LATE_DAYS: i32 = 14;

/// Where the pages belong.
const OF: &str = "/settings";

/// The first page: all tables with their counts, what is missing or doubtful first.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let (lacks, rows, record) = office.desk.read(|file, sight| {
        let rows: Vec<usize> = words::TABLES
            .iter()
            .map(|it| sight.books.settings.rows(kind(it.file), day).count())
            .collect();
        // What is wrong with it stands on its own page.
        let record = file.weather_in_use(&sight.books, day).unwrap_or(None);
        Ok((file.lacks(&sight.books, day)?, rows, record))
    })?;
    let mut open = open(&lacks);
    open.extend(record.iter().filter_map(|it| doubtful(it, day)));
    let record = record.map(|it| words::weather::in_short(&it));
    let weather = record.as_deref().unwrap_or(words::WEATHER_MEANING);
    let body = html! {
        @if !open.is_empty() {
            section {
                h2 { (words::MISSING) }
                ol.decide {
                    @for (what, why, at) in open.iter().take(20) {
                        li {
                            b { (what) }
                            div { p { (why) } p { a.button.plain href=(at) { (words::MEND_IT) } } }
                        }
                    }
                }
            }
        }
        section {
            table.rows {
                (columns(&words::HEADS))
                tbody {
                    (line("/settings/nursery", words::NURSERY, None, words::NURSERY_MEANING))
                    (line("/settings/weather", words::WEATHER, None, weather))
                    @for (table, rows) in words::TABLES.iter().zip(&rows) {
                        (line(&format!("/settings/{}", table.at), table.name, Some(*rows), table.meaning))
                    }
                    (line("/settings/routes", words::ROUTES, None, words::ROUTES_MEANING))
                    (line("/settings/files", words::FILES, None, words::FILES_MEANING))
                    (line("/phones", words::PHONES, None, words::PHONES_MEANING))
                }
            }
        }
        p.keep { a.button.plain href="/begin" { (words::FIRST_STEPS) } }
    };
    let total = count(rows.iter().sum::<usize>() as u64);
    let answer = words::answer(&office.name(), &total, open.len());
    Ok(Reply::Page(
        Page::new(OF, words::SHEET, answer, body).with_csv("/settings/settings.csv"),
    ))
}

/// A table of settings, or one of the pages beside them, as a page or as a file.
pub(super) fn table_or_file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let asked = ask.part("table");
    match asked.strip_suffix(".csv") {
        Some("settings") => tables_csv(office, ask),
        Some(name) => table::csv(office, ask, name),
        None => table::page(office, ask),
    }
}

fn tables_csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let rows = office.desk.read(|_, sight| {
        Ok(words::TABLES
            .iter()
            .map(|it| {
                let rows = sight.books.settings.rows(kind(it.file), day).count();
                vec![it.file.to_owned(), rows.to_string()]
            })
            .collect::<Vec<_>>())
    })?;
    let heads = [words::HEADS[0].0, words::HEADS[1].0];
    Ok(super::reply::csv(
        "settings",
        super::table::csv(&heads, rows),
    ))
}

fn line(at: &str, name: &str, rows: Option<usize>, meaning: &str) -> Markup {
    html! {
        tr {
            td.lead { a href=(at) { (name) } }
            td.n data-head=(words::HEADS[1].0) { @if let Some(rows) = rows { (count(rows as u64)) } }
            td.full-row { (meaning) }
        }
    }
}

/// What needs a look: what it is, why, and where to mend it.
fn open(lacks: &Lacks) -> Vec<(String, String, String)> {
    let of_files = lacks.problems.0.iter().map(|it| {
        let what = match (&it.row, &it.column) {
            (Some(row), Some(column)) => format!("{}, row {row}, {column}", it.file),
            (None, Some(column)) => format!("{}, {column}", it.file),
            _ => it.file.clone(),
        };
        let value = it.value.as_ref().map(|it| format!("“{it}”: "));
        let why = format!("{}{}", value.unwrap_or_default(), sentence(&it.rule));
        (what, why, place_of(&it.file))
    });
    let mut open: Vec<_> = of_files.collect();
    for (names, why, at) in [
        (&lacks.unpriced, words::NO_PRICES, "/begin/prices"),
        (
            &lacks.unfit_trees,
            words::UNFIT_TREES,
            "/settings/mother_trees",
        ),
    ] {
        if !names.is_empty() {
            open.push((names.join(", "), sentence(why), at.to_owned()));
        }
    }
    open
}

/// What to know of weather that was made, or that ended long ago.
fn doubtful(record: &WeatherInUse, day: Date) -> Option<(String, String, String)> {
    let days = record.last.until(day).map_or(0, |it| it.get_days());
    let why = if record.made > 0 {
        words::weather::IS_MADE.to_owned()
    } else if days > LATE_DAYS {
        words::weather::is_old(days)
    } else {
        return None;
    };
    let what = words::WEATHER.to_owned();
    Some((what, why, "/settings/weather".to_owned()))
}

/// The page on which a file's content can be mended.
pub(super) fn place_of(file: &str) -> String {
    let stem = file.split('.').next().unwrap_or_default();
    let is_here =
        words::table_at(stem).is_some() || matches!(stem, "nursery" | "weather" | "routes");
    if is_here {
        format!("/settings/{stem}")
    } else {
        "/settings/files".to_owned()
    }
}

/// The kind of setting of a file.
fn kind(file: &str) -> &'static str {
    kind_of(file).map_or("", |(what, _)| what)
}

fn table_of(name: &str) -> Result<&'static words::Table, AppError> {
    words::table_at(name).ok_or_else(|| {
        AppError::new(
            app::Kind::NotFound,
            words::NO_TABLE,
            name,
            words::NO_TABLE_MEND,
        )
    })
}
