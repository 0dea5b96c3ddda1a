//! Daily weather of one site and the reader of its table.
//!
//! Owns the record as it was observed, with its gaps; [`crate::fill`](mod@crate::fill) closes the
//! gaps in temperature. Does not model: quality control beyond what a single row can show.

use std::collections::{BTreeMap, BTreeSet};

use intake::{Bounds, Columns, Problems, Read, Row, RowProblem, read_table};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::{YEARS, days_between, plus_days, signed};

/// Air temperature that a station on earth can show, °C.
pub(crate) const AIR_C: Bounds = Bounds::new(-60.0, 60.0);

/// Where weather was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Site {
    /// The place's name.
    pub name: String,
    /// Degrees north; south is negative.
    pub latitude_deg: f64,
    /// Degrees east; west is negative.
    pub longitude_deg: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Hours that the place's standard time is ahead of UTC.
    pub time_zone_h: f64,
}

/// One local civil day, midnight to midnight; what was not measured is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Day {
    /// Lowest air temperature, °C.
    pub tmin: Option<f64>,
    /// Highest air temperature, °C.
    pub tmax: Option<f64>,
    /// Rain, mm.
    pub rain_mm: Option<f64>,
    /// Mean relative humidity, %.
    pub humidity_mean: Option<f64>,
    /// Lowest relative humidity, %.
    pub humidity_min: Option<f64>,
    /// Highest relative humidity, %.
    pub humidity_max: Option<f64>,
    /// Mean dew point, °C.
    pub dew_point: Option<f64>,
    /// Mean wind speed, m/s, at `wind_height`.
    pub wind: Option<f64>,
    /// Height of the anemometer above the ground, m.
    pub wind_height: Option<f64>,
    /// Global radiation on level ground, MJ/m².
    pub radiation_mj: Option<f64>,
    /// Hours of bright sunshine.
    pub sunshine_h: Option<f64>,
    /// Whether the day is made from monthly normals and was never measured.
    #[serde(default)]
    pub is_made: bool,
}

/// Consecutive days of one site. Days that the source left out stand as days with nothing known.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyRecord {
    site: Option<Site>,
    first: Date,
    days: Vec<Day>,
}

impl DailyRecord {
    /// Lays days on the calendar, from the earliest to the latest; of two days with one date the
    /// later given stands, and days outside the years 1850 to 2199 are left out. `None` where
    /// there is no day at all.
    pub fn new(site: Option<Site>, days: impl IntoIterator<Item = (Date, Day)>) -> Option<Self> {
        let known: BTreeMap<Date, Day> = days
            .into_iter()
            .filter(|(date, _)| YEARS.contains(&date.year()))
            .collect();
        let (first, _) = known.first_key_value()?;
        let (last, _) = known.last_key_value()?;
        let (first, length) = (*first, days_between(*first, *last) as usize + 1);
        let mut dense = vec![Day::default(); length];
        for (date, day) in known {
            dense[days_between(first, date) as usize] = day;
        }
        Some(Self {
            site,
            first,
            days: dense,
        })
    }

    /// Where the weather was measured, if the source says so.
    pub fn site(&self) -> Option<&Site> {
        self.site.as_ref()
    }

    /// The first date.
    pub fn first(&self) -> Date {
        self.first
    }

    /// The last date.
    pub fn last(&self) -> Date {
        plus_days(self.first, signed(self.days.len()) - 1)
    }

    /// Every day from the first date on.
    pub fn days(&self) -> &[Day] {
        &self.days
    }

    /// The day of a date, `None` outside the record.
    pub fn on(&self, date: Date) -> Option<&Day> {
        let index = usize::try_from(days_between(self.first, date)).ok()?;
        self.days.get(index)
    }

    /// Days of which the lowest or the highest temperature is missing.
    pub fn days_without_temperature(&self) -> usize {
        self.days
            .iter()
            .filter(|day| day.tmin.is_none() || day.tmax.is_none())
            .count()
    }
}

/// The unit in which a table gives its temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TemperatureUnit {
    /// °C.
    #[default]
    Celsius,
    /// °F.
    Fahrenheit,
}

impl TemperatureUnit {
    /// A temperature in °C as this unit has it.
    pub fn of_celsius(self, celsius: f64) -> f64 {
        match self {
            Self::Celsius => celsius,
            Self::Fahrenheit => celsius * 1.8 + 32.0,
        }
    }

    /// A temperature in this unit as °C.
    pub fn to_celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
        }
    }

    fn bounds(self) -> Bounds {
        match self {
            Self::Celsius => AIR_C,
            Self::Fahrenheit => Bounds::new(AIR_C.min * 1.8 + 32.0, AIR_C.max * 1.8 + 32.0),
        }
    }
}

const COLUMNS: Columns = Columns {
    required: &["date", "tmin", "tmax"],
    optional: &[
        "rain_mm",
        "humidity_mean",
        "humidity_min",
        "humidity_max",
        "dew_point",
        "wind",
        "wind_height",
        "radiation_mj",
        "sunshine_h",
        "source",
    ],
};

/// The words of the column `source`, and whether a day with them is made rather than measured.
pub const SOURCES: &[(&str, bool)] = &[("measured", false), ("normals", true)];

/// Reads a daily weather table: the record, or every problem of the file.
///
/// The table of a nursery's own station or of the nearest official one: one row a day, in order.
/// Empty cells and dates left out are missing values, not problems. Columns: `date`, `tmin`,
/// `tmax` and any of `rain_mm`, `humidity_mean`, `humidity_min`, `humidity_max`, `dew_point`,
/// `wind`, `wind_height`, `radiation_mj`, `sunshine_h`, `source`, in any order. `source` is
/// `normals` on days made by [`daily_from_normals`](crate::daily_from_normals), `measured` or empty
/// on all others.
///
/// # Equation
/// °C = (°F − 32) / 1.8 for `tmin`, `tmax` and `dew_point` where `unit` is Fahrenheit.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `file` | | the file's name in messages | any |
/// | `bytes` | | UTF-8, comma-separated, with a header | years 1850–2199 |
/// | `unit` | °C or °F | of `tmin`, `tmax`, `dew_point` | −60 to 60 °C |
///
/// # Returns
/// A dense record from the first to the last date; a missing day or cell is `None`.
///
/// # Errors
/// All problems at once: no rows, a number or date that is none, a value out of range, `tmin`
/// above `tmax`, the lowest humidity above the highest, a date that stands twice or before the
/// date of the row above it.
///
/// # Assumptions
/// A day is a local civil day, midnight to midnight. Wind stays in m/s and rain in mm whatever
/// the unit of temperature.
///
/// # Source
/// The project's own table (see `docs/models/weather.md`).
///
/// # Checked against
/// `tests/models/readers.rs`: 34 years of Jeju (KMA) read without a problem; each kind of
/// damage gives its problem; fuzzed (`weather_csv`). `tests/models/made_weather.rs`: `source`.
///
/// # Examples
/// ```
/// let table = b"date,tmin,tmax\n2026-03-01,50,68\n2026-03-03,41,\n";
/// let record = models::read_daily("weather.csv", table, models::TemperatureUnit::Fahrenheit)?;
/// assert_eq!(record.days().len(), 3);
/// assert_eq!(record.days()[0].tmax, Some(20.0));
/// assert_eq!(record.days()[1].tmin, None);
/// # Ok::<(), intake::Problems>(())
/// ```
pub fn read_daily(
    file: &str,
    bytes: &[u8],
    unit: TemperatureUnit,
) -> Result<DailyRecord, Problems> {
    let mut order = Order::default();
    let Read {
        accepted,
        mut problems,
    } = read_table(file, bytes, &COLUMNS, |row| {
        let date = order.date(row);
        let day = day(row, unit);
        Some((date?, day?))
    });
    if problems.is_empty() && accepted.is_empty() {
        problems.push(RowProblem::of_file(
            file,
            "must hold at least one day",
            "add rows",
        ));
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    DailyRecord::new(None, accepted).ok_or(problems)
}

/// The dates read so far, to see that each row is later than the one above it.
#[derive(Default)]
struct Order {
    seen: BTreeSet<Date>,
    last: Option<Date>,
}

impl Order {
    fn date(&mut self, row: &mut Row<'_>) -> Option<Date> {
        let date = row.date("date")?;
        if !YEARS.contains(&date.year()) {
            let rule = format!("must lie in the years {} to {}", YEARS.start(), YEARS.end());
            row.problem("date", rule, "check the year");
            return None;
        }
        // Each row is compared with the one above it, not with the latest so far, so that one
        // wrong year is one problem and not a problem of all rows after it.
        let above = self.last.replace(date);
        if !self.seen.insert(date) {
            row.problem(
                "date",
                "this date stands twice",
                "remove one of the two rows",
            );
            return None;
        }
        if let Some(above) = above
            && date < above
        {
            let rule = format!("must be later than the date of the row above it, {above}");
            row.problem("date", rule, "put the rows in the order of their dates");
            return None;
        }
        Some(date)
    }
}

fn day(row: &mut Row<'_>, unit: TemperatureUnit) -> Option<Day> {
    const PERCENT: Bounds = Bounds::new(0.0, 100.0);
    let tmin = row.optional_number("tmin", unit.bounds());
    let tmax = row.optional_number("tmax", unit.bounds());
    in_order(row, ("tmin", tmin), ("tmax", tmax));
    let rain_mm = row.optional_number("rain_mm", Bounds::new(0.0, 2000.0));
    let humidity_mean = row.optional_number("humidity_mean", PERCENT);
    let humidity_min = row.optional_number("humidity_min", PERCENT);
    let humidity_max = row.optional_number("humidity_max", PERCENT);
    in_order(
        row,
        ("humidity_min", humidity_min),
        ("humidity_max", humidity_max),
    );
    let dew_point = row.optional_number("dew_point", unit.bounds());
    let wind = row.optional_number("wind", Bounds::new(0.0, 120.0));
    let wind_height = row.optional_number("wind_height", Bounds::new(0.5, 200.0));
    let radiation_mj = row.optional_number("radiation_mj", Bounds::new(0.0, 50.0));
    let sunshine_h = row.optional_number("sunshine_h", Bounds::new(0.0, 24.0));
    let is_made = match row.cell("source") {
        Some(_) => row.choice("source", SOURCES),
        None => Some(false),
    };
    let celsius = |value: Option<f64>| value.map(|value| unit.to_celsius(value));
    Some(Day {
        tmin: celsius(tmin?),
        tmax: celsius(tmax?),
        rain_mm: rain_mm?,
        humidity_mean: humidity_mean?,
        humidity_min: humidity_min?,
        humidity_max: humidity_max?,
        dew_point: celsius(dew_point?),
        wind: wind?,
        wind_height: wind_height?,
        radiation_mj: radiation_mj?,
        sunshine_h: sunshine_h?,
        is_made: is_made?,
    })
}

type Cell = (&'static str, Option<Option<f64>>);

/// Notes a problem where the day's lowest value lies above its highest.
fn in_order(row: &mut Row<'_>, (low, lowest): Cell, (high, highest): Cell) {
    if let (Some(Some(lowest)), Some(Some(highest))) = (lowest, highest)
        && lowest > highest
    {
        let rule = format!("must not be above {high}, {highest}");
        row.problem(
            low,
            rule,
            format!("exchange {low} and {high} if they are the wrong way round"),
        );
    }
}
