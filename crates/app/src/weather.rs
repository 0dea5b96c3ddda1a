//! Heat, need of water and damage of a weather file, and a weather file made from monthly normals.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use intake::{Problems, RowProblem};
use jiff::civil::Date;
use models::{
    DailyRecord, DegreeDayRule, EpwYears, Evapotranspiration, Extremes, Finding, FindingKind,
    MonthNormals, Normals, NormalsError, ReferenceSite, Swing, TemperatureUnit, daily_from_normals,
    day_evapotranspiration, degree_days, fill, hourly_degree_days, read_daily, read_epw,
};
use serde::Serialize;

use crate::error::{AppError, Kind};
use crate::folder::read_file;
use crate::water::{MethodDays, method_days};
use crate::weather_file::Station;

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
    let name = file_name(path);
    let refused = |problems| AppError::of_problems(path.display().to_string(), problems);
    if is_hourly(&name) {
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
    let read = read_daily(&name, &bytes, options.unit).map_err(refused)?;
    let years = daily_sums(&read.record, &options.rule);
    if years.is_empty() {
        let damage = |it: &Finding| it.kind != FindingKind::MissingDays;
        let found = read.findings.into_iter().filter(damage);
        let found: Vec<RowProblem> = found.map(RowProblem::from).collect();
        if !found.is_empty() {
            return Err(refused(Problems(found)));
        }
    }
    some_year(path, years)
}

/// Where a weather station stands, and how its table is written.
#[derive(Debug, Clone, Copy)]
pub struct NeedOptions {
    /// Degrees north; south is negative.
    pub latitude: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Whether it lies at the sea.
    pub coastal: bool,
    /// Unit of a daily file.
    pub unit: TemperatureUnit,
}

/// Reference evapotranspiration of one year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct YearNeed {
    /// The year.
    pub year: i16,
    /// Days with both temperatures.
    pub days: u32,
    /// By Penman and Monteith, with estimates for what was not measured, mm.
    pub penman_monteith_mm: f64,
    /// By Hargreaves, from temperatures alone, mm.
    pub hargreaves_mm: f64,
}

/// Reference evapotranspiration of a weather file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NeedAnswer {
    /// The file's name.
    pub file: String,
    /// By year.
    pub years: Vec<YearNeed>,
    /// Days by what they rest on and by the equation to go by, the most days first.
    pub methods: Vec<MethodDays>,
    /// How many things are wrong with the file.
    pub findings: usize,
}

/// Yearly sums of reference evapotranspiration of a daily table or an hourly file, by its name's
/// ending, by both equations. Days without both temperatures are left out and show in the number
/// of days.
pub fn need(path: &Path, options: &NeedOptions) -> Result<NeedAnswer, AppError> {
    let site = ReferenceSite::try_new(options.latitude, options.elevation_m, options.coastal);
    let site = site.map_err(|error| {
        let mend = "mend the latitude or the elevation of the station";
        AppError::new(Kind::Invalid, error.to_string(), "the station", mend)
    })?;
    let station = Station {
        unit: options.unit,
        latitude: Some(options.latitude),
    };
    let read = Days::read(path, station)?;
    let dates = read.record.first().series(jiff::Span::new().days(1));
    let days: Vec<(Date, Evapotranspiration)> = dates
        .zip(read.record.days())
        .filter_map(|(date, day)| {
            // The middle of the extremes, as published sums take it.
            let found = day_evapotranspiration(day, None, &site, date.day_of_year())?;
            Some((date, found))
        })
        .collect();
    if days.is_empty() {
        return Err(no_day(path));
    }
    let mut years: BTreeMap<i16, YearNeed> = BTreeMap::new();
    for (date, day) in &days {
        let year = years.entry(date.year());
        let sum = year.or_insert_with(|| YearNeed::of_year(date.year()));
        sum.days += 1;
        sum.penman_monteith_mm += day.penman_monteith_mm;
        sum.hargreaves_mm += day.hargreaves_mm;
    }
    Ok(NeedAnswer {
        file: read.file,
        years: years.into_values().collect(),
        methods: method_days(days.iter().map(|(_, day)| day)),
        findings: read.findings.len(),
    })
}

impl YearNeed {
    fn of_year(year: i16) -> Self {
        Self {
            year,
            days: 0,
            penman_monteith_mm: 0.0,
            hargreaves_mm: 0.0,
        }
    }
}

/// How many findings of a kind a weather file has.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KindCount {
    /// The kind.
    pub kind: FindingKind,
    /// What it is called.
    pub words: &'static str,
    /// Findings.
    pub findings: usize,
    /// Days that they concern; 0 where rows have no date.
    pub days: usize,
}

/// What is wrong with a weather file, and what of it can be used.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckAnswer {
    /// The file's name.
    pub file: String,
    /// First day.
    pub first: Date,
    /// Last day.
    pub last: Date,
    /// Days from the first to the last.
    pub days: usize,
    /// Days of which both temperatures are used as they stand in the file.
    pub kept: usize,
    /// Days of which a temperature is missing or was left out, and is filled.
    pub filled: usize,
    /// Why the gaps cannot be filled, where they cannot.
    pub not_filled: Option<String>,
    /// By kind, those that were found.
    pub kinds: Vec<KindCount>,
    /// Every finding.
    pub findings: Vec<Finding>,
}

/// Checks a daily table or an hourly file, by its name's ending. With a latitude, sunshine and
/// radiation are held against the sun.
pub fn check(
    path: &Path,
    unit: TemperatureUnit,
    latitude: Option<f64>,
) -> Result<CheckAnswer, AppError> {
    let days = Days::read(path, Station { unit, latitude })?;
    Ok(answer(days.file, &days.record, days.findings))
}

/// The days of a weather file, and what was wrong with it.
struct Days {
    /// The file's name.
    file: String,
    record: DailyRecord,
    findings: Vec<Finding>,
}

impl Days {
    /// Reads a daily table or an hourly file, by its name's ending.
    fn read(path: &Path, station: Station) -> Result<Self, AppError> {
        let bytes = read_file(path)?;
        let file = file_name(path);
        let refused = |problems| AppError::of_problems(path.display().to_string(), problems);
        let (record, findings) = if is_hourly(&file) {
            let hourly = read_epw(&file, &bytes, EpwYears::AsTheyFollow).map_err(refused)?;
            let daily = hourly.daily().ok_or_else(|| no_day(path))?;
            (daily, hourly.missing_hours(&file))
        } else {
            let read = station.daily(&file, &bytes, None).map_err(refused)?;
            (read.record, read.findings)
        };
        Ok(Self {
            file,
            record,
            findings,
        })
    }
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

fn is_hourly(file: &str) -> bool {
    file.to_lowercase().ends_with(".epw")
}

fn answer(file: String, record: &DailyRecord, findings: Vec<Finding>) -> CheckAnswer {
    let days = record.days().len();
    let gaps = record.days_without_temperature();
    let converted: usize = findings
        .iter()
        .filter(|it| it.kind == FindingKind::UnitSlip && it.days() >= FindingKind::EVIDENT_DAYS)
        .map(Finding::days)
        .sum();
    let kinds = FindingKind::ALL.into_iter().filter_map(|kind| {
        let of_kind = || findings.iter().filter(|it| it.kind == kind);
        (of_kind().count() > 0).then(|| KindCount {
            kind,
            words: kind.words(),
            findings: of_kind().count(),
            days: of_kind().map(Finding::days).sum(),
        })
    });
    CheckAnswer {
        file,
        first: record.first(),
        last: record.last(),
        days,
        kept: days - gaps - converted.min(days - gaps),
        filled: gaps,
        not_filled: fill(record)
            .err()
            .map(|why| format!("{why}: {}", why.mend())),
        kinds: kinds.collect(),
        findings,
    }
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

/// A site's monthly normals as somebody types them.
#[derive(Debug, Clone, PartialEq)]
pub struct TypedNormals {
    /// January to December; temperatures in `unit`, rain in mm.
    pub months: Vec<MonthNormals>,
    /// How far days lie from their month's normal, in degrees of `unit`; none: as shipped.
    pub swing: Option<Swing>,
    /// Unit of the temperatures, in which the file is written, too.
    pub unit: TemperatureUnit,
    /// How many years to make.
    pub years: u16,
}

/// Years that may be made: fewer tell nothing of odds, more tell nothing new.
const MADE_YEARS: std::ops::RangeInclusive<u16> = 5..=60;

/// Makes a `weather.csv` from monthly normals: whole years up to the end of the year before
/// `as_of`, so that the season that runs is never taken for measured. The same seed makes the same
/// file. Each row says in its column `source` that it is made, and so does the first line.
pub fn from_normals(typed: &TypedNormals, as_of: Date, seed: u64) -> Result<Vec<u8>, AppError> {
    let normals = checked(typed)
        .map_err(|problems| AppError::of_problems("the monthly normals", Problems(problems)))?;
    let first_year = as_of.year().saturating_sub_unsigned(typed.years);
    let record = daily_from_normals(&normals, first_year, typed.years, seed);
    let record = record.ok_or_else(|| {
        AppError::new(
            Kind::Invalid,
            format!(
                "no weather can be made for the years before {}",
                as_of.year()
            ),
            "the day you look ahead from",
            "give a day of our time",
        )
    })?;
    Ok(made_table(&record, typed).into_bytes())
}

fn checked(typed: &TypedNormals) -> Result<Normals, Vec<RowProblem>> {
    const FILE: &str = "normals";
    let mut problems = Vec::new();
    if !MADE_YEARS.contains(&typed.years) {
        let rule = format!(
            "must lie between {} and {}",
            MADE_YEARS.start(),
            MADE_YEARS.end()
        );
        problems.push(RowProblem {
            column: Some("years".to_owned()),
            ..RowProblem::of_file(FILE, rule, "make 20 years").with_value(&typed.years.to_string())
        });
    }
    let unit = typed.unit;
    let in_celsius = |month: &MonthNormals| MonthNormals {
        tmin_c: unit.to_celsius(month.tmin_c),
        tmax_c: unit.to_celsius(month.tmax_c),
        rain_mm: month.rain_mm,
    };
    let months: Vec<MonthNormals> = typed.months.iter().map(in_celsius).collect();
    let Ok(months) = <[MonthNormals; 12]>::try_from(months) else {
        let rule = format!("there must be twelve months, not {}", typed.months.len());
        problems.push(RowProblem::of_file(FILE, rule, "give every month"));
        return Err(problems);
    };
    // A difference of degrees, not a temperature.
    let degrees = unit.to_celsius(1.0) - unit.to_celsius(0.0);
    let swings = typed.swing.map(|swing| {
        [Swing {
            tmin_c: swing.tmin_c * degrees,
            tmax_c: swing.tmax_c * degrees,
        }; 12]
    });
    match Normals::try_new(months, swings) {
        Ok(normals) if problems.is_empty() => Ok(normals),
        Ok(_) => Err(problems),
        Err(wrong) => {
            problems.extend(wrong.iter().map(|wrong| of_month(FILE, wrong)));
            Err(problems)
        }
    }
}

pub(crate) fn of_month(file: &str, wrong: &NormalsError) -> RowProblem {
    RowProblem {
        column: crate::words::MONTHS
            .get(wrong.month() - 1)
            .map(ToString::to_string),
        ..RowProblem::of_file(file, wrong.to_string(), "mend the month")
    }
}

fn made_table(record: &DailyRecord, typed: &TypedNormals) -> String {
    let mut text = format!(
        "# Made from monthly normals, not measured: {} years. Put measured days in their place when \
         you have them.\ndate,tmin,tmax,rain_mm,source\n",
        typed.years
    );
    let dates = record.first().series(jiff::Span::new().days(1));
    for (date, day) in dates.zip(record.days()) {
        let cell = |value: Option<f64>| value.map_or_else(String::new, |it| format!("{it:.1}"));
        let degrees = |value: Option<f64>| cell(value.map(|it| typed.unit.of_celsius(it)));
        let (low, high) = (degrees(day.tmin), degrees(day.tmax));
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{date},{low},{high},{},normals", cell(day.rain_mm));
    }
    text
}
