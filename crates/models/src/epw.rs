//! Hourly weather in the EnergyPlus weather format (EPW), above all typical years.
//!
//! Reads temperature, dew point, humidity, pressure, global radiation, wind and rain; the other
//! columns of the format are passed over. Does not model: sub-hourly files, daylight saving time
//! (the format is in local standard time).

use std::collections::{BTreeMap, BTreeSet};

use intake::{Bounds, Problems, RowProblem};
use jiff::civil::Date;

use crate::calendar::{YEARS, plus_days};
use crate::quality::{Finding, FindingKind};
use crate::weather::{AIR_C, DailyRecord, Day, Site};

/// Hours of a day that must be known for its extremes and means; sums need all 24.
const HOURS_NEEDED: usize = 20;
/// Height of the anemometer that the format takes for granted, m.
pub(crate) const WIND_HEIGHT_M: f64 = 10.0;
/// Wh/m² in MJ/m².
pub(crate) const MJ_PER_WH: f64 = 0.0036;
const HEADER_LINES: usize = 8;
/// Years that a row may name.
const ROW_YEARS: std::ops::RangeInclusive<i16> = 1850..=2199;

/// One hour of local standard time; what was not measured is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Hour {
    /// Air temperature, °C.
    pub dry_bulb: Option<f64>,
    /// Dew point, °C.
    pub dew_point: Option<f64>,
    /// Relative humidity, %.
    pub humidity: Option<f64>,
    /// Air pressure, Pa.
    pub pressure_pa: Option<f64>,
    /// Global radiation on level ground over the hour, Wh/m².
    pub radiation_wh: Option<f64>,
    /// Wind speed, m/s at 10 m.
    pub wind: Option<f64>,
    /// Rain over the hour, mm.
    pub rain_mm: Option<f64>,
}

/// The hours of one local day; the first ends at 01:00.
#[derive(Debug, Clone, PartialEq)]
pub struct HourlyDay {
    /// The day.
    pub date: Date,
    /// Its 24 hours.
    pub hours: [Hour; 24],
}

/// Hourly weather of one site.
#[derive(Debug, Clone, PartialEq)]
pub struct HourlyRecord {
    /// Where the weather was measured.
    pub site: Site,
    /// The days that the file speaks of, in order.
    pub days: Vec<HourlyDay>,
    /// The years that the rows were measured in; several in a typical year.
    pub source_years: Vec<i16>,
}

/// How the years of the rows are understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EpwYears {
    /// Rows were measured in the years that they say.
    AsWritten,
    /// Rows make a typical year, laid on this calendar year. Rows of 29 February are left out
    /// where it has no such day; where the rows have none, the day is missing.
    On(i16),
    /// As the rows follow each other: those of several years that rise through one calendar year
    /// make a typical year, laid on the last of these years; all others are as written.
    AsTheyFollow,
}

impl EpwYears {
    /// How the rows of a file are understood, by their dates alone and before they are checked.
    fn settled(self, lines: &[&str]) -> Self {
        if self != Self::AsTheyFollow {
            return self;
        }
        let dates: Vec<[i16; 4]> = lines
            .iter()
            .skip(HEADER_LINES)
            .filter_map(|line| date_cells(line))
            .collect();
        let years: BTreeSet<i16> = dates.iter().map(|[year, ..]| *year).collect();
        let falls = |from: usize| {
            let pairs = dates.windows(2);
            pairs
                .filter(|pair| pair[1][from..] <= pair[0][from..])
                .count()
        };
        match years.last() {
            // One wrong date more or less decides nothing: the reading with fewer of them is meant.
            Some(last) if years.len() > 1 && falls(1) <= falls(0) => Self::On(*last),
            _ => Self::AsWritten,
        }
    }
}

/// Year, month, day and hour of a row, where they can be years and numbers at all.
fn date_cells(line: &str) -> Option<[i16; 4]> {
    let mut cells = line.split(',').map(|cell| cell.trim().parse().ok());
    let date = [
        cells.next()??,
        cells.next()??,
        cells.next()??,
        cells.next()??,
    ];
    ROW_YEARS.contains(&date[0]).then_some(date)
}

impl HourlyRecord {
    /// Returns the daily record that the hours make.
    ///
    /// What turns a typical year into weather that plans can use.
    ///
    /// # Equation
    /// Lowest, highest and mean over the day's hours; radiation 0.0036 Σ Wh/m²; rain Σ mm.
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `self` | as in [`Hour`] | hourly, local standard time | from [`read_epw`] |
    ///
    /// # Returns
    /// A dense daily record with the site, wind at 10 m; `None` where the file holds no day.
    /// Extremes and means are `None` where fewer than 20 of the 24 hours are known, sums where
    /// any hour is missing.
    ///
    /// # Errors
    /// None: the rows were checked when read.
    ///
    /// # Assumptions
    /// The extremes of hourly readings stand for those of a thermometer, which lie a little
    /// farther apart (some tenths of a degree).
    ///
    /// # Source
    /// Definitions; the format: EnergyPlus, Auxiliary Programs, weather data dictionary.
    ///
    /// # Checked against
    /// `tests/models/yearly_sums.rs`: every day's extremes of Tampa against an independent
    /// reduction; `tests/models/readers.rs`: radiation and rain of three of its days.
    ///
    /// # Examples
    /// ```
    /// # use jiff::civil::date;
    /// use models::epw::{Hour, HourlyDay};
    /// use models::{HourlyRecord, Site};
    ///
    /// let hours = std::array::from_fn(|h| Hour { dry_bulb: Some(h as f64), ..Hour::default() });
    /// let site = Site {
    ///     name: "Tampa".to_owned(),
    ///     latitude_deg: 28.0,
    ///     longitude_deg: -82.5,
    ///     elevation_m: 6.0,
    ///     time_zone_h: -5.0,
    /// };
    /// let days = vec![HourlyDay { date: date(2025, 1, 1), hours }];
    /// let daily = HourlyRecord { site, days, source_years: vec![1996] }.daily().expect("a day");
    /// assert_eq!((daily.days()[0].tmin, daily.days()[0].tmax), (Some(0.0), Some(23.0)));
    /// ```
    pub fn daily(&self) -> Option<DailyRecord> {
        let days = self.days.iter().map(|day| (day.date, of_hours(&day.hours)));
        DailyRecord::new(Some(self.site.clone()), days)
    }
}

impl HourlyRecord {
    /// Hours without a temperature, as findings: every run of days that lack some, with how many.
    ///
    /// So that a gap in a typical year does not pass unseen: a day needs 20 of its hours.
    pub fn missing_hours(&self, file: &str) -> Vec<Finding> {
        let lacking = |day: &HourlyDay| {
            let lacks = day.hours.iter().filter(|hour| hour.dry_bulb.is_none());
            lacks.count()
        };
        let follows = |one: &HourlyDay, other: &HourlyDay| {
            (lacking(one) > 0) == (lacking(other) > 0) && plus_days(one.date, 1) == other.date
        };
        let runs = self.days.chunk_by(follows);
        runs.filter(|run| lacking(&run[0]) > 0)
            .map(|run| {
                let hours: usize = run.iter().map(lacking).sum();
                let rule = format!("{hours} hours have no temperature");
                let done = "days with fewer than 20 hours are a gap, to be filled";
                Finding::of(FindingKind::MissingDays, file, rule, done)
                    .over(run[0].date, run[run.len() - 1].date)
            })
            .collect()
    }
}

fn of_hours(hours: &[Hour; 24]) -> Day {
    let air = Spread::of(hours, |hour| hour.dry_bulb);
    let humidity = Spread::of(hours, |hour| hour.humidity);
    let wind = Spread::of(hours, |hour| hour.wind);
    Day {
        tmin: air.as_ref().map(|air| air.min),
        tmax: air.as_ref().map(|air| air.max),
        rain_mm: sum(hours, |hour| hour.rain_mm),
        humidity_mean: humidity.as_ref().map(|humidity| humidity.mean),
        humidity_min: humidity.as_ref().map(|humidity| humidity.min),
        humidity_max: humidity.as_ref().map(|humidity| humidity.max),
        dew_point: Spread::of(hours, |hour| hour.dew_point).map(|dew| dew.mean),
        wind_height: wind.as_ref().map(|_| WIND_HEIGHT_M),
        wind: wind.map(|wind| wind.mean),
        radiation_mj: sum(hours, |hour| hour.radiation_wh).map(|wh| wh * MJ_PER_WH),
        ..Day::default()
    }
}

struct Spread {
    min: f64,
    max: f64,
    mean: f64,
}

impl Spread {
    /// The spread of a quantity over a day, `None` where too few of its hours are known.
    fn of(hours: &[Hour; 24], quantity: impl Fn(&Hour) -> Option<f64>) -> Option<Self> {
        let known: Vec<f64> = hours.iter().filter_map(quantity).collect();
        (known.len() >= HOURS_NEEDED).then(|| Self {
            min: known.iter().copied().fold(f64::INFINITY, f64::min),
            max: known.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            mean: known.iter().sum::<f64>() / known.len() as f64,
        })
    }
}

fn sum(hours: &[Hour; 24], quantity: impl Fn(&Hour) -> Option<f64>) -> Option<f64> {
    hours.iter().map(quantity).sum()
}

/// A column of the format.
struct Column {
    name: &'static str,
    /// Place in the row, from 0.
    index: usize,
    /// Values from here on mean "not measured".
    missing: f64,
    bounds: Bounds,
}

const fn column(name: &'static str, index: usize, missing: f64, bounds: Bounds) -> Column {
    Column {
        name,
        index,
        missing,
        bounds,
    }
}

// EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary"; bounds are
// those of air on earth where the dictionary gives none.
const DRY_BULB: Column = column("dry bulb temperature", 6, 99.9, AIR_C);
const DEW_POINT: Column = column("dew point temperature", 7, 99.9, Bounds::new(-90.0, 60.0));
const HUMIDITY: Column = column("relative humidity", 8, 999.0, Bounds::new(0.0, 110.0));
const PRESSURE: Column = column("pressure", 9, 999_999.0, Bounds::new(31_000.0, 120_000.0));
const RADIATION: Column = column(
    "global horizontal radiation",
    13,
    9999.0,
    Bounds::new(0.0, 2000.0),
);
const WIND: Column = column("wind speed", 21, 999.0, Bounds::new(0.0, 120.0));
const RAIN: Column = column(
    "liquid precipitation depth",
    33,
    999.0,
    Bounds::new(0.0, 500.0),
);

/// Older files end before albedo and rain.
const FEWEST_COLUMNS: usize = 32;
const MOST_COLUMNS: usize = 35;
/// What files made from TMY3 write for "not measured".
const MISSING_IN_TMY3: f64 = -9900.0;

/// Reads an hourly file in the EPW format: the record, or every problem of the file.
///
/// Typical years of thousands of sites are published in this format, so that a nursery without a
/// record of its own can begin with the nearest station's.
///
/// # Equation
/// None; hour h of a row (1 to 24) is the hour that ends at h o'clock.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `file` | | the file's name in messages | any |
/// | `bytes` | °C, %, Pa, Wh/m², m/s, mm | 8 header lines, then one row an hour | years 1850–2199 |
/// | `years` | | whether rows keep their years, make one typical year, or tell which | year 1850–2199 |
///
/// # Returns
/// The site and the days that the file speaks of. A missing code (99.9, 999, 9999, 999999 by
/// column, or −9900), an empty cell or an hour left out is `None`.
///
/// # Errors
/// All problems at once: a wrong header, more than one row an hour, too few columns, a number or
/// date that is none, a value out of range, an hour that stands twice or before the row above it,
/// no rows.
///
/// # Assumptions
/// Local standard time all year. Text that is not UTF-8 (names of places) is read as far as it
/// can be.
///
/// # Source
/// EnergyPlus documentation, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary".
///
/// # Checked against
/// `tests/models/readers.rs`: three days of Tampa (NREL TMY3) in the format, and each kind of
/// damage; fuzzed (`epw`).
///
/// # Examples
/// ```
/// use models::{EpwYears, read_epw};
///
/// let mut text = String::from("LOCATION,Tampa,FL,USA,TMY3,722110,27.97,-82.53,-5.0,6.0\n");
/// text.push_str("DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n");
/// text.push_str("HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1\nCOMMENTS 2\n");
/// text.push_str("DATA PERIODS,1,1,Data,Sunday,1/1,12/31\n");
/// text.push_str("1996,1,1,1,60,?,19.4,99.9,100,101000,0,0,0,0,0,0,0,0,0,0,0,3.6");
/// text.push_str(",0,0,0,0,0,0,0,0,0,0,0,999,99\n");
/// let record = read_epw("tampa.epw", text.as_bytes(), EpwYears::On(2025))?;
/// let hour = record.days[0].hours[0];
/// assert_eq!((hour.dry_bulb, hour.dew_point, hour.rain_mm), (Some(19.4), None, None));
/// # Ok::<(), intake::Problems>(())
/// ```
pub fn read_epw(file: &str, bytes: &[u8], years: EpwYears) -> Result<HourlyRecord, Problems> {
    let text = String::from_utf8_lossy(bytes);
    let lines: Vec<&str> = text.trim_start_matches('\u{feff}').lines().collect();
    let mut reading = Reading::new(file, years.settled(&lines));
    let site = reading.header(&lines);
    if !reading.problems.is_empty() {
        return Err(reading.problems);
    }
    for (index, line) in lines.iter().enumerate().skip(HEADER_LINES) {
        if !line.trim().is_empty() {
            reading.row(index + 1, line);
        }
    }
    if reading.problems.is_empty() && reading.days.is_empty() {
        let problem = RowProblem::of_file(file, "must hold at least one hour", "add rows");
        reading.problems.push(problem);
    }
    match site {
        Some(site) if reading.problems.is_empty() => Ok(HourlyRecord {
            site,
            days: reading
                .days
                .into_iter()
                .map(|(date, hours)| HourlyDay { date, hours })
                .collect(),
            source_years: reading.source_years.into_iter().collect(),
        }),
        _ => Err(reading.problems),
    }
}

/// A file under reading.
struct Reading<'a> {
    file: &'a str,
    years: EpwYears,
    days: BTreeMap<Date, [Hour; 24]>,
    seen: BTreeSet<(Date, usize)>,
    last: Option<(Date, usize)>,
    source_years: BTreeSet<i16>,
    problems: Problems,
}

impl<'a> Reading<'a> {
    fn new(file: &'a str, years: EpwYears) -> Self {
        Self {
            file,
            years,
            days: BTreeMap::new(),
            seen: BTreeSet::new(),
            last: None,
            source_years: BTreeSet::new(),
            problems: Problems::default(),
        }
    }

    fn header(&mut self, lines: &[&str]) -> Option<Site> {
        if let EpwYears::On(year) = self.years
            && !YEARS.contains(&year)
        {
            self.note(
                None,
                "year",
                &year.to_string(),
                &year_rule(),
                "choose another year",
            );
        }
        let first = lines.first().copied().unwrap_or_default();
        let periods = lines.get(HEADER_LINES - 1).copied().unwrap_or_default();
        if !begins_with(first, "LOCATION") {
            let rule = "must begin with the line LOCATION of the EPW format";
            self.note(Some(1), "LOCATION", first, rule, "choose an .epw file");
            return None;
        }
        if !begins_with(periods, "DATA PERIODS") {
            let rule = "the eighth line must be DATA PERIODS";
            self.note(
                Some(8),
                "DATA PERIODS",
                periods,
                rule,
                "restore the file's 8 header lines",
            );
            return None;
        }
        let an_hour = periods.split(',').nth(2).map_or("", str::trim);
        if an_hour != "1" {
            let mend = "choose a file with one row an hour";
            self.note(Some(8), "records per hour", an_hour, "must be 1", mend);
        }
        self.site(first)
    }

    fn site(&mut self, line: &str) -> Option<Site> {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let mut number = |name, index: usize, bounds| {
            let text = cells.get(index).copied().unwrap_or_default();
            self.number(1, name, text, bounds)
        };
        let latitude_deg = number("latitude", 6, Bounds::new(-90.0, 90.0));
        let longitude_deg = number("longitude", 7, Bounds::new(-180.0, 180.0));
        let time_zone_h = number("time zone", 8, Bounds::new(-12.0, 14.0));
        let elevation_m = number("elevation", 9, Bounds::new(-1000.0, 9999.9));
        Some(Site {
            name: cells.get(1).copied().unwrap_or_default().to_owned(),
            latitude_deg: latitude_deg?,
            longitude_deg: longitude_deg?,
            elevation_m: elevation_m?,
            time_zone_h: time_zone_h?,
        })
    }

    fn row(&mut self, line: usize, text: &str) {
        let cells: Vec<&str> = text.split(',').map(str::trim).collect();
        if !(FEWEST_COLUMNS..=MOST_COLUMNS).contains(&cells.len()) {
            let rule = format!("must have {FEWEST_COLUMNS} to {MOST_COLUMNS} columns");
            let mend = "check for a missing or extra comma";
            self.note(Some(line), "columns", &cells.len().to_string(), &rule, mend);
            return;
        }
        let before = self.problems.0.len();
        let time = self.time(line, &cells);
        let hour = Hour {
            dry_bulb: self.value(line, &cells, &DRY_BULB),
            dew_point: self.value(line, &cells, &DEW_POINT),
            humidity: self
                .value(line, &cells, &HUMIDITY)
                .map(|percent| percent.min(100.0)),
            pressure_pa: self.value(line, &cells, &PRESSURE),
            radiation_wh: self.value(line, &cells, &RADIATION),
            wind: self.value(line, &cells, &WIND),
            rain_mm: self.value(line, &cells, &RAIN),
        };
        if let Some((date, index)) = time
            && self.problems.0.len() == before
        {
            self.days.entry(date).or_default()[index] = hour;
        }
    }

    /// The day and the hour's place in it; `None` where a problem was noted or the row's leap day
    /// has no place in the year.
    fn time(&mut self, line: usize, cells: &[&str]) -> Option<(Date, usize)> {
        let written = self.whole(line, "year", cells[0], ROW_YEARS);
        let month = self.whole(line, "month", cells[1], 1..=12);
        let day = self.whole(line, "day", cells[2], 1..=31);
        let hour = self.whole(line, "hour", cells[3], 1..=24);
        let (written, month, day, hour) = (written?, month? as i8, day? as i8, hour?);
        self.source_years.insert(written);
        let date = match self.years {
            EpwYears::On(year) => Date::new(year, month, day),
            EpwYears::AsWritten | EpwYears::AsTheyFollow => Date::new(written, month, day),
        };
        let Ok(date) = date else {
            let left_out = matches!(self.years, EpwYears::On(_)) && (month, day) == (2, 29);
            if !left_out {
                let mend = "check month and day";
                self.note(
                    Some(line),
                    "day",
                    cells[2],
                    "must be a day of the calendar",
                    mend,
                );
            }
            return None;
        };
        let time = (date, hour as usize - 1);
        self.in_order(line, cells[3], time).then_some(time)
    }

    /// Notes an hour that stands twice or before the one above it. Only the row above is looked
    /// at, so that one wrong date is one problem.
    fn in_order(&mut self, line: usize, hour: &str, time: (Date, usize)) -> bool {
        let above = self.last.replace(time);
        if !self.seen.insert(time) {
            let mend = "remove one of the rows, or keep the years as written";
            self.note(Some(line), "hour", hour, "this hour stands twice", mend);
            return false;
        }
        if above.is_some_and(|above| time < above) {
            let mend = "put the rows in the order of time";
            self.note(
                Some(line),
                "hour",
                hour,
                "must be later than the row above it",
                mend,
            );
            return false;
        }
        true
    }

    fn whole(
        &mut self,
        line: usize,
        name: &str,
        text: &str,
        range: std::ops::RangeInclusive<i16>,
    ) -> Option<i16> {
        let value = text.parse().ok().filter(|value| range.contains(value));
        if value.is_none() {
            let rule = format!(
                "must be a whole number from {} to {}",
                range.start(),
                range.end()
            );
            self.note(Some(line), name, text, &rule, "check the row's time");
        }
        value
    }

    fn value(&mut self, line: usize, cells: &[&str], column: &Column) -> Option<f64> {
        let text = cells.get(column.index).copied().unwrap_or_default();
        let coded = text.parse::<f64>().ok();
        if text.is_empty()
            || coded.is_some_and(|value| value >= column.missing || value <= MISSING_IN_TMY3)
        {
            return None;
        }
        self.number(line, column.name, text, column.bounds)
    }

    fn number(&mut self, line: usize, name: &str, text: &str, bounds: Bounds) -> Option<f64> {
        let value = text.parse::<f64>().ok().filter(|value| value.is_finite());
        match value {
            Some(value) if (bounds.min..=bounds.max).contains(&value) => return Some(value),
            Some(_) => {
                let rule = format!("must lie between {} and {}", bounds.min, bounds.max);
                self.note(
                    Some(line),
                    name,
                    text,
                    &rule,
                    "check the value and its unit",
                );
            }
            None => {
                let mend = "write it with a decimal point, as 12.8";
                self.note(Some(line), name, text, "must be a number", mend);
            }
        }
        None
    }

    fn note(&mut self, line: Option<usize>, column: &str, value: &str, rule: &str, mend: &str) {
        /// Longest piece of a file shown in a message, in characters.
        const SHOWN: usize = 40;
        self.problems.push(RowProblem {
            row: line.map(|line| line as u64),
            column: Some(column.to_owned()),
            value: Some(value.chars().take(SHOWN).collect()),
            ..RowProblem::of_file(self.file, rule, mend)
        });
    }
}

fn year_rule() -> String {
    format!("must lie in the years {} to {}", YEARS.start(), YEARS.end())
}

fn begins_with(line: &str, word: &str) -> bool {
    line.split(',')
        .next()
        .is_some_and(|first| first.trim().eq_ignore_ascii_case(word))
}
