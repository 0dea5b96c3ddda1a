//! A nursery's weather file: read as of a day, its damage named, its gaps filled.

use intake::{Problems, RowProblem};
use jiff::civil::Date;
use models::{
    DailyRead, DailyRecord, EpwYears, FilledRecord, Finding, TemperatureUnit, fill,
    read_daily_until, read_epw, read_forecast,
};
use nursery::settings::{Settings, Units};
use serde::Serialize;

/// Name of the weather file in daily form.
pub(crate) const DAILY: &str = "weather.csv";

/// Name of the weather file in hourly form; it stands in for `weather.csv`.
pub(crate) const EPW: &str = "weather.epw";

/// A site whose record has no warmer day than this grows no citrus tree outside, °C.
const WARM_C: f64 = 15.0;

/// A weather file as it was read.
pub(crate) enum WeatherBytes {
    /// A daily table.
    Daily(Vec<u8>),
    /// An hourly file.
    Hourly(Vec<u8>),
}

/// Findings told beside a record that cannot be filled.
const TOLD: usize = 20;

/// Findings of a file that are told in an answer; all of them are named by `weather check`.
const FIRST: usize = 50;

/// Days in a row whose temperatures were filled from other years.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct FilledSpan {
    /// The first.
    pub first: Date,
    /// The last.
    pub last: Date,
    /// The lowest of the days were filled.
    pub low: bool,
    /// The highest were filled.
    pub high: bool,
}

impl FilledSpan {
    /// How many days.
    pub fn days(&self) -> usize {
        let after = self.first.until(self.last);
        after.map_or(1, |span| span.get_days().unsigned_abs() as usize + 1)
    }
}

/// The days of a record that were filled, days of one kind in a row together.
pub(crate) fn filled_spans(record: &FilledRecord) -> Vec<FilledSpan> {
    let dates = record.first().series(jiff::Span::new().days(1));
    let mut spans: Vec<FilledSpan> = Vec::new();
    for (date, day) in dates.zip(record.filled()).filter(|(_, day)| day.any()) {
        let (low, high) = (day.tmin, day.tmax);
        match spans.last_mut() {
            Some(it)
                if (it.low, it.high) == (low, high) && it.last.tomorrow().ok() == Some(date) =>
            {
                it.last = date;
            }
            _ => spans.push(FilledSpan {
                first: date,
                last: date,
                low,
                high,
            }),
        }
    }
    spans
}

/// The first findings of a file.
pub(crate) fn first_findings(findings: &[Finding]) -> Vec<Finding> {
    findings.iter().take(FIRST).cloned().collect()
}

/// What must be known of a station to read its table.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Station {
    /// The unit of its temperatures.
    pub unit: TemperatureUnit,
    /// Degrees north, where known: how long its days are.
    pub latitude: Option<f64>,
}

impl Station {
    /// The station of a nursery.
    pub fn of(settings: &Settings) -> Self {
        Self {
            unit: match settings.units {
                Units::Metric => TemperatureUnit::Celsius,
                Units::Us => TemperatureUnit::Fahrenheit,
            },
            latitude: Some(settings.latitude),
        }
    }

    /// Reads its daily table, as it was known on a day.
    pub fn daily(
        self,
        name: &str,
        bytes: &[u8],
        until: Option<Date>,
    ) -> Result<DailyRead, Problems> {
        let read = read_daily_until(name, bytes, self.unit, until)?;
        Ok(match self.latitude {
            Some(latitude) => read.held_to_the_sun(latitude),
            None => read,
        })
    }
}

/// A weather file as it was known on a day.
pub(crate) struct ReadWeather {
    /// The days, gaps filled.
    pub record: FilledRecord,
    /// The days as they were measured, with their gaps.
    pub days: DailyRecord,
    /// What was wrong with the file.
    pub findings: Vec<Finding>,
}

/// Name of the file with the forecast of the coming days.
pub(crate) const FORECAST: &str = "forecast.csv";

/// A forecast that began so many days before the day looked ahead from is of no use.
const STALE_DAYS: i32 = 3;

/// One that begins later than this after it was made later, and was not known on the day.
const FIRST_DAY: i32 = 1;

/// Lays the forecast of a file beside the record as it was known on a day; gives what is to be known
/// of it.
pub(crate) fn add_forecast(
    read: &mut ReadWeather,
    bytes: &[u8],
    station: Station,
    as_of: Date,
) -> Result<Vec<String>, Problems> {
    let forecast = read_forecast(FORECAST, bytes, station.unit)?;
    let mut notes: Vec<String> = how_many(&forecast.findings).into_iter().collect();
    let (first, last) = (forecast.first, forecast.last());
    let old = first.until(as_of).map_or(0, |span| span.get_days());
    if !(-FIRST_DAY..=STALE_DAYS).contains(&old) || last <= as_of {
        notes.push(format!(
            "The forecast goes from {first} to {last} and is not used: give one that begins near \
             {as_of}, the day you look ahead from."
        ));
        return Ok(notes);
    }
    let spread = if forecast.days.iter().all(|day| day.spread_is_given) {
        "how far it may be off is as given"
    } else {
        "it may be off by 1 °C on its first day and 3 °C on its tenth, by common practice"
    };
    notes.push(format!(
        "The first days to come are those of the forecast, up to {last}; {spread}."
    ));
    read.record = read.record.clone().with_forecast(forecast);
    Ok(notes)
}

/// Reads a weather file as it was known on a day, its gaps filled.
pub(crate) fn read_weather(
    weather: &WeatherBytes,
    station: Station,
    as_of: Date,
) -> Result<ReadWeather, Problems> {
    let (file, record, findings) = match weather {
        WeatherBytes::Daily(bytes) => {
            let read = station.daily(DAILY, bytes, Some(as_of))?;
            (DAILY, read.record, read.findings)
        }
        WeatherBytes::Hourly(bytes) => {
            let year = EpwYears::On(as_of.year() - 1);
            let hourly = read_epw(EPW, bytes, year)?;
            let daily = hourly.daily();
            let mend = "take a file with a whole year of hours";
            let empty = || Problems(vec![RowProblem::of_file(EPW, "holds no day", mend)]);
            (EPW, daily.ok_or_else(empty)?, hourly.missing_hours(EPW))
        }
    };
    let (rule, mend) = match until_as_of(&record, as_of).map(|days| (fill(&days), days)) {
        Some((Ok(record), days)) => {
            return Ok(ReadWeather {
                record,
                days,
                findings,
            });
        }
        Some((Err(error), _)) => (error.to_string(), error.mend()),
        None => {
            let rule = "no day lies before the day you look ahead from";
            (rule.to_owned(), "give at least one whole year before it")
        }
    };
    let mut problems = vec![RowProblem::of_file(file, rule, mend)];
    // What was left out may be why.
    problems.extend(findings.into_iter().take(TOLD).map(RowProblem::from));
    Err(Problems(problems))
}

/// What was known of the weather on a day: nothing later counts, so that a plan as of an earlier
/// day is the plan that could have been made then.
fn until_as_of(record: &DailyRecord, as_of: Date) -> Option<DailyRecord> {
    let days = record
        .first()
        .series(jiff::Span::new().days(1))
        .zip(record.days());
    DailyRecord::new(
        record.site().cloned(),
        days.take_while(|(date, _)| *date <= as_of)
            .map(|(date, day)| (date, *day)),
    )
}

/// What a reader should know of the weather that a season stands on.
pub(crate) fn weather_notes(
    weather: &FilledRecord,
    findings: &[Finding],
    as_of: Date,
) -> Vec<String> {
    let mut notes = vec![where_weather_is_from(weather)];
    notes.extend(how_many(findings));
    let filled = weather.filled_days();
    if filled > 0 {
        notes.push(format!(
            "{filled} days without a temperature were filled from the same days of other years."
        ));
    }
    let missing = weather
        .last()
        .until(as_of)
        .map_or(0, |span| span.get_days());
    if missing > 7 {
        notes.push(format!(
            "The weather file ends {missing} days before the day you look ahead from; the heat of \
             those days is taken from other years."
        ));
    }
    notes
}

/// How many problems a weather file has, and how each is told.
fn how_many(findings: &[Finding]) -> Option<String> {
    let first = findings.first()?;
    let (file, number) = (&first.file, findings.len());
    Some(if number == 1 {
        format!("1 problem in {file}: {first}")
    } else if file == FORECAST {
        format!("{number} problems in {file}; the first is: {first}")
    } else {
        format!("{number} problems in {file}; `barkslip weather check {file}` names each.")
    })
}

/// Made days are never called the site's own weather.
fn where_weather_is_from(weather: &FilledRecord) -> String {
    let month = |date: Date| date.strftime("%B %Y").to_string();
    let span = format!("{} to {}", month(weather.first()), month(weather.last()));
    match (weather.made_days(), weather.days().len()) {
        (0, _) => format!("Weather to come is taken from the site's own weather, {span}."),
        (made, days) if made == days => format!(
            "Weather to come is made from monthly normals, not measured ({span}): real years differ \
             more, so the odds are surer than they should be."
        ),
        (made, days) => format!(
            "Weather to come is taken from {span}; {made} of the {days} days are made from monthly \
             normals, not measured: real years differ more, so the odds are surer than they should be."
        ),
    }
}

/// A table in °C that is read as °F makes every day a frosty one.
pub(crate) fn perhaps_in_celsius(
    weather: &FilledRecord,
    bytes: &WeatherBytes,
    station: Station,
) -> Option<String> {
    let daily_in_f =
        station.unit == TemperatureUnit::Fahrenheit && matches!(bytes, WeatherBytes::Daily(_));
    let warm = weather.days().iter().any(|day| day.tmax > WARM_C);
    (daily_in_f && !warm).then(|| {
        format!(
            "No day of weather.csv is warmer than {WARM_C} °C when read as °F: if it is in °C, write \
             units = \"metric\" in nursery.toml."
        )
    })
}
