//! The weather in use, a file in its place, or days made of a climate's months.

use app::ledger::WeatherInUse;
use app::weather::{TypedNormals, from_normals};
use app::{AppError, MonthNormals, TemperatureUnit};
use maud::{Markup, html};

use super::super::address;
use super::super::ask::Ask;
use super::super::form;
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::OF;

use super::files::{plain_name, problems};
use crate::figures::count;
use crate::frame::folded;
use crate::weather_faults;
use crate::words::settings::{self as words, weather as own};
use crate::words::weather as faults;

/// Years of days that are made of a climate's months.
const YEARS: u16 = 20;
/// The same months make the same days.
const SEED: u64 = 1;

/// The page.
pub(crate) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    Ok(Reply::Page(draw(office, ask, None)?))
}

/// A weather file that was sent.
pub(crate) fn take_file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let Some(sent) = ask.files.first() else {
        let none = AppError::new(app::Kind::Invalid, own::NONE, "", own::FILE_HELP);
        return Ok(Reply::NotDone(draw(office, ask, Some(&none))?));
    };
    let file = (plain_name(&sent.name), sent.bytes.as_slice());
    take(office, ask, file)
}

/// A climate that was typed.
pub(crate) fn take_climate(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let made = months(office, ask).and_then(|typed| from_normals(&typed, office.today(), SEED));
    match made {
        Ok(bytes) => take(office, ask, ("weather.csv", &bytes)),
        Err(error) => Ok(Reply::NotDone(draw(office, ask, Some(&error))?)),
    }
}

fn take(office: &Office, ask: &Ask, file: (&str, &[u8])) -> Result<Reply, AppError> {
    let (day, now) = (office.today(), office.now());
    let used = office
        .desk
        .write(|ledger| ledger.use_weather(file, day, &now));
    match used {
        Ok(()) => {
            let back = address::back(ask.form.get("back").or(Some("/settings/weather")));
            Ok(Reply::See(back.to_owned()))
        }
        Err(error) if error.kind == app::Kind::Invalid => {
            Ok(Reply::NotDone(draw(office, ask, Some(&error))?))
        }
        Err(error) => Err(error),
    }
}

fn months(office: &Office, ask: &Ask) -> Result<TypedNormals, AppError> {
    let number = |key: String| ask.form.get(&key).and_then(form::number);
    let months: Option<Vec<MonthNormals>> = (1..=12)
        .map(|month| {
            Some(MonthNormals {
                tmin_c: number(format!("low{month}"))?,
                tmax_c: number(format!("high{month}"))?,
                rain_mm: None,
            })
        })
        .collect();
    let months = months
        .ok_or_else(|| AppError::new(app::Kind::Invalid, own::ALL_MONTHS, "", own::CLIMATE_HELP))?;
    let is_us = office.settings().is_some_and(|it| it.is_us());
    Ok(TypedNormals {
        months,
        swing: None,
        unit: if is_us {
            TemperatureUnit::Fahrenheit
        } else {
            TemperatureUnit::Celsius
        },
        years: YEARS,
    })
}

fn draw(office: &Office, ask: &Ask, refused: Option<&AppError>) -> Result<Page, AppError> {
    let in_use = in_use(office, ask)?;
    let back = ask.form.get("back").unwrap_or("/settings/weather");
    let body = html! {
        @if let Some(error) = refused { (problems(error)) }
        @if let Some(weather) = &in_use { (facts(weather)) }
        (forms(ask, address::back(Some(back))))
    };
    let answer = in_use.as_ref().map_or_else(
        || own::NONE.to_owned(),
        |it| own::answer(&app::date_words(it.first), &app::date_words(it.last)),
    );
    Ok(Page::new(OF, words::WEATHER, answer, body))
}

/// The weather in use on the day looked at.
pub(crate) fn in_use(office: &Office, ask: &Ask) -> Result<Option<WeatherInUse>, AppError> {
    let day = office.day(ask);
    office
        .desk
        .read(|file, sight| file.weather_in_use(&sight.books, day))
}

/// What is to be known of the weather in use.
pub(crate) fn facts(weather: &WeatherInUse) -> Markup {
    let kind = if weather.is_hourly {
        own::HOURLY
    } else {
        own::DAILY
    };
    let (first, last) = (
        app::date_words(weather.first),
        app::date_words(weather.last),
    );
    html! {
        dl.facts {
            dt { (own::FACTS[0]) } dd { (own::record(kind, &first, &last)) }
            dt { (own::FACTS[1]) } dd { (count(weather.days as u64)) }
            dt { (own::FACTS[2]) } dd { (count(weather.filled as u64)) }
            dt { (own::FACTS[3]) } dd { (count(weather.made as u64)) }
        }
        ul.plain { @for note in &weather.notes { li { (note) } } }
        (weather_faults::found(weather.problems, &weather.findings))
        @if !weather.filled_spans.is_empty() {
            (folded(faults::FILLED, &weather_faults::filled(&weather.filled_spans)))
        }
    }
}

/// The forms for a file and for a climate; they come back to an address.
pub(crate) fn forms(ask: &Ask, back: &str) -> Markup {
    html! {
        section.noprint {
            h2 { (own::FILE_HEAD) }
            p { (own::FILE_HELP) }
            form.entry method="post" action="/settings/weather" enctype="multipart/form-data" {
                input type="hidden" name="back" value=(back);
                label { span { (own::FILE) } input name="file" type="file" accept=".csv,.epw" required; }
                button { (own::TAKE_FILE) }
            }
            p { a href="/settings/templates/weather.csv" download { (words::TEMPLATE) } }
        }
        section.noprint {
            h2 { (own::CLIMATE_HEAD) }
            p { (own::CLIMATE_HELP) }
            form.entry method="post" action="/settings/climate" {
                input type="hidden" name="back" value=(back);
                table {
                    thead { tr { @for head in own::CLIMATE_COLUMNS { th scope="col" { (head) } } } }
                    tbody {
                        @for (month, name) in (1..).zip(own::MONTHS) {
                            @let (low, high) = (format!("low{month}"), format!("high{month}"));
                            tr {
                                th scope="row" { (name) }
                                td { input name=(low) type="text" inputmode="decimal" required aria-label=(format!("{name}, {}", own::CLIMATE_COLUMNS[1])) value=[ask.form.get(&low)]; }
                                td { input name=(high) type="text" inputmode="decimal" required aria-label=(format!("{name}, {}", own::CLIMATE_COLUMNS[2])) value=[ask.form.get(&high)]; }
                            }
                        }
                    }
                }
                button { (own::MAKE) }
            }
        }
    }
}
