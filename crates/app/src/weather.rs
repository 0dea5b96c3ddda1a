//! Heat sums of a weather file.

use std::collections::BTreeMap;
use std::path::Path;

use jiff::civil::Date;
use models::{
    DailyRecord, DegreeDayRule, EpwYears, Extremes, TemperatureUnit, degree_days,
    hourly_degree_days, read_daily, read_epw,
};
use serde::Serialize;

use crate::error::{AppError, Kind};
use crate::folder::read_file;

/// Heat of one year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct YearSum {
    /// The year.
    pub year: i16,
    /// Days with both temperatures.
    pub days: u32,
    /// Degree-days, °C·d.
    pub degree_days: f64,
    /// Lowest temperature, °C.
    pub lowest_c: f64,
    /// Highest temperature, °C.
    pub highest_c: f64,
    /// Days with a low under 0 °C.
    pub frost_days: u32,
}

/// How heat of a file is summed.
#[derive(Debug, Clone, Copy)]
pub struct SumOptions {
    /// Thresholds, curve and cut-off; with hourly files, `hourly` overrides the curve.
    pub rule: DegreeDayRule,
    /// Sum the hours themselves (hourly files only).
    pub hourly: bool,
    /// Unit of a daily file.
    pub unit: TemperatureUnit,
}

/// Yearly heat sums of a daily table or an hourly typical-year file, by its name's ending. Days
/// without both temperatures are left out and show in the number of days.
pub fn sums(path: &Path, options: &SumOptions) -> Result<Vec<YearSum>, AppError> {
    let bytes = read_file(path)?;
    let name = path
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let hourly_file = name.to_lowercase().ends_with(".epw");
    let refused = |problems| AppError::of_problems(path.display().to_string(), problems);
    if hourly_file {
        let record = read_epw(&name, &bytes, EpwYears::AsTheyFollow).map_err(refused)?;
        let years = if options.hourly {
            hourly_sums(&record, &options.rule)
        } else {
            let daily = record.daily().ok_or_else(|| no_day(path))?;
            daily_sums(&daily, &options.rule)
        };
        return some_year(path, years);
    }
    if options.hourly {
        return Err(AppError::new(
            Kind::Invalid,
            "a daily table has no hours to sum",
            path.display().to_string(),
            "choose another --method, or give an .epw file",
        ));
    }
    let record = read_daily(&name, &bytes, options.unit).map_err(refused)?;
    some_year(path, daily_sums(&record, &options.rule))
}

fn some_year(path: &Path, years: Vec<YearSum>) -> Result<Vec<YearSum>, AppError> {
    if years.is_empty() {
        Err(no_day(path))
    } else {
        Ok(years)
    }
}

fn no_day(path: &Path) -> AppError {
    AppError::new(
        Kind::Invalid,
        "no day has both temperatures",
        path.display().to_string(),
        "give the lowest and the highest temperature of a day, or all its hours",
    )
}

fn hourly_sums(record: &models::HourlyRecord, rule: &DegreeDayRule) -> Vec<YearSum> {
    let mut years = BTreeMap::new();
    for day in &record.days {
        let hours: Vec<f64> = day.hours.iter().filter_map(|hour| hour.dry_bulb).collect();
        if hours.len() == day.hours.len() {
            let low = hours.iter().copied().fold(f64::INFINITY, f64::min);
            let high = hours.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let heat = hourly_degree_days(rule, &hours);
            of_year(&mut years, day.date).add(Extremes::new(low, high), heat);
        }
    }
    years.into_values().collect()
}

fn of_year(years: &mut BTreeMap<i16, YearSum>, date: Date) -> &mut YearSum {
    let year = date.year();
    years.entry(year).or_insert_with(|| YearSum::of_year(year))
}

fn daily_sums(record: &DailyRecord, rule: &DegreeDayRule) -> Vec<YearSum> {
    let mut years: BTreeMap<i16, YearSum> = BTreeMap::new();
    let dates = record.first().series(jiff::Span::new().days(1));
    let days: Vec<(Date, Option<Extremes>)> = dates
        .zip(record.days())
        .map(|(date, day)| {
            (
                date,
                day.tmin
                    .zip(day.tmax)
                    .map(|(low, high)| Extremes::new(low, high)),
            )
        })
        .collect();
    for (index, (date, day)) in days.iter().enumerate() {
        let Some(day) = day else { continue };
        // Double methods look at the next day's low; the record's last day takes its own.
        let next = days
            .get(index + 1)
            .and_then(|(_, next)| *next)
            .unwrap_or(*day);
        let heat = degree_days(rule, *day, next.tmin);
        of_year(&mut years, *date).add(*day, heat);
    }
    years.into_values().collect()
}

impl YearSum {
    fn of_year(year: i16) -> Self {
        Self {
            year,
            days: 0,
            degree_days: 0.0,
            lowest_c: f64::INFINITY,
            highest_c: f64::NEG_INFINITY,
            frost_days: 0,
        }
    }

    fn add(&mut self, day: Extremes, heat: f64) {
        self.days += 1;
        self.degree_days += heat;
        self.lowest_c = self.lowest_c.min(day.tmin);
        self.highest_c = self.highest_c.max(day.tmax);
        self.frost_days += u32::from(day.tmin < 0.0);
    }
}
