//! The weather forecast of the coming days, laid over the courses of weather to come.
//!
//! Owns the forecast as it was given and how far it may be wrong. Does not model: a forecast of
//! probabilities, or one that is wrong on purpose.

use intake::{Bounds, Columns, Problems, RowProblem, read_table};
use jiff::civil::Date;

use crate::calendar::{days_between, plus_days, signed};
use crate::chance::{stream, two_normal};
use crate::fill::Extremes;
use crate::paths::{Paths, Week};
use crate::quality::{Finding, FindingKind};
use crate::reading::{Cells, ROW_LEFT_OUT, date, none_read, row_left_out};
use crate::weather::{AIR_C, Day, TemperatureUnit};

const COLUMNS: Columns = Columns {
    required: &["date", "tmin", "tmax"],
    optional: &[
        "rain_mm",
        "humidity_mean",
        "dew_point",
        "wind",
        "wind_height",
        "radiation_mj",
        "sunshine_h",
        "spread_c",
        "humidity_min",
        "humidity_max",
        "source",
    ],
};

/// Days of a forecast that are read; beyond them it says no more than the time of year.
pub const MOST_DAYS: usize = 15;
/// How far a forecast's temperature is usually off, °C: one standard deviation on its first day …
const FIRST_SPREAD_C: f64 = 1.0;
/// … and more on each day after it, so that the tenth has 3 °C.
const SPREAD_A_DAY_C: f64 = 2.0 / 9.0;
/// How much of a day's error the next one keeps.
const KEPT: f64 = 0.8;
/// Days after the forecast in which a path finds back to its own.
const BLEND_DAYS: usize = 3;

/// One day of a forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForecastDay {
    /// What is forecast.
    pub day: Day,
    /// How far its temperatures are usually off, °C, one standard deviation.
    pub spread_c: f64,
    /// Whether that spread was given, and not taken from common practice.
    pub spread_is_given: bool,
}

/// A forecast of consecutive days.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The first day.
    pub first: Date,
    /// Each day from the first on.
    pub days: Vec<ForecastDay>,
    /// What was wrong with its file.
    pub findings: Vec<Finding>,
}

/// Reads a forecast: its days up to the first that is missing, and every problem of the file.
///
/// What the weather service says of the next days is worth more than any past year.
///
/// # Equation
/// Spread on day n where none is given: 1 + 2(n − 1)/9 °C, 1 °C on the first day and 3 °C on the
/// tenth.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `file` | | the file's name in messages | any |
/// | `bytes` | | UTF-8, comma-separated, with a header | up to 15 days |
/// | `unit` | °C or °F | of `tmin`, `tmax`, `dew_point` | −60 to 60 °C |
///
/// Columns: `date`, `tmin`, `tmax` and any of those of [`read_daily`](crate::read_daily), and
/// `spread_c`, in °C whatever the unit.
///
/// # Returns
/// Consecutive days with both temperatures, and the findings.
///
/// # Errors
/// What is no forecast: text that is not UTF-8, a wrong header, no day with both temperatures.
///
/// # Assumptions
/// The error of lowest and highest temperature is the same on a day.
///
/// # Source
/// Spreads of common practice, from memory: errors of good services lie near 1 °C a day ahead and
/// near those of the climate after ten days.
///
/// # Checked against
/// `tests/models/forecasts.rs`: each damage, spreads, and paths under a forecast.
///
/// # Examples
/// ```
/// use models::{TemperatureUnit, read_forecast};
///
/// let table = b"date,tmin,tmax\n2027-03-02,4,15\n2027-03-03,5,17\n";
/// let forecast = read_forecast("forecast.csv", table, TemperatureUnit::Celsius)?;
/// assert_eq!(forecast.days.len(), 2);
/// assert_eq!(forecast.days[0].spread_c, 1.0);
/// # Ok::<(), intake::Problems>(())
/// ```
pub fn read_forecast(
    file: &str,
    bytes: &[u8],
    unit: TemperatureUnit,
) -> Result<Forecast, Problems> {
    let mut findings = Vec::new();
    let mut rows: Vec<(Date, Day, Option<f64>)> = Vec::new();
    let mut above: Option<Date> = None;
    let read = read_table(file, bytes, &COLUMNS, |row| {
        let date = date(row)?;
        let follows = above.is_none_or(|above| plus_days(above, 1) == date);
        let mut cells = Cells {
            row,
            file,
            date,
            findings: &mut findings,
        };
        if rows.len() >= MOST_DAYS || !follows {
            let rule = format!("days must follow each other, {MOST_DAYS} at the most");
            cells.note(FindingKind::OutOfOrder, "date", rule, ROW_LEFT_OUT);
            return Some(());
        }
        let spread = cells.within("spread_c", Bounds::new(0.0, 20.0), FindingKind::OutOfRange);
        if let Some(day) = whole_day(&mut cells, unit) {
            above = Some(date);
            rows.push((date, day, spread));
        }
        Some(())
    });
    let Some((first, ..)) = rows.first().copied() else {
        let mut problems = none_read(file, read.problems);
        problems.extend(findings.into_iter().map(RowProblem::from));
        return Err(problems);
    };
    findings.extend(read.problems.0.into_iter().map(row_left_out));
    findings.sort_by_key(|it| it.row);
    let days = rows.into_iter().enumerate().map(|(lead, row)| ForecastDay {
        day: row.1,
        spread_c: row
            .2
            .unwrap_or(SPREAD_A_DAY_C.mul_add(lead as f64, FIRST_SPREAD_C)),
        spread_is_given: row.2.is_some(),
    });
    Ok(Forecast {
        first,
        days: days.collect(),
        findings,
    })
}

/// A day with both temperatures that can be; notes why not.
fn whole_day(cells: &mut Cells<'_, '_>, unit: TemperatureUnit) -> Option<Day> {
    let written = cells.day();
    let bounds = unit.bounds();
    let rule = match (written.tmin, written.tmax) {
        (Some(low), Some(high)) if low > high => format!("must not be above tmax, {high}"),
        (Some(low), Some(high)) if low >= bounds.min && high <= bounds.max => {
            return Some(Day {
                tmin: Some(unit.to_celsius(low)),
                tmax: Some(unit.to_celsius(high)),
                dew_point: written.dew_point.map(|it| unit.to_celsius(it)),
                ..written
            });
        }
        (Some(_), Some(_)) => {
            format!(
                "temperatures must lie between {} and {}",
                bounds.min, bounds.max
            )
        }
        _ => "both temperatures must be there".to_owned(),
    };
    cells.note(FindingKind::OutOfRange, "tmin", rule, ROW_LEFT_OUT);
    None
}

impl Forecast {
    /// The last day.
    pub fn last(&self) -> Date {
        plus_days(self.first, signed(self.days.len()) - 1)
    }
}

impl Paths {
    /// Returns the paths with a forecast laid over their first days.
    ///
    /// # Equation
    /// On day n of the forecast, path k has the forecast's temperatures plus sₙ xₙ, with
    /// xₙ = 0.8 xₙ₋₁ + 0.6 e, x₁ and e standard normal, sₙ the day's spread. On the three days after the last, the
    /// path has its own plus 3/4, 1/2 and 1/4 of what the last day differed from its own.
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `forecast` | °C | consecutive days | any dates; those before the plan are passed over |
    /// | `seed` | | any | the same seed gives the same errors |
    ///
    /// # Returns
    /// The paths; beyond the forecast and the three days they are as they were.
    ///
    /// # Errors
    /// None: a forecast is a checked type.
    ///
    /// # Assumptions
    /// Errors go on from day to day, so that a forecast that is too warm is too warm for some days.
    ///
    /// # Source
    /// Own rule.
    ///
    /// # Checked against
    /// `tests/models/forecasts.rs`: means and spreads by day, the way back, no change beyond.
    ///
    /// # Examples
    /// ```
    /// use jiff::civil::date;
    /// use models::{Extremes, Paths, TemperatureUnit, YearPath, read_forecast};
    ///
    /// let week = [Extremes::new(0.0, 10.0); 7];
    /// let path = YearPath { start_year: 2020, before: vec![], weeks: vec![week, week] };
    /// let table = b"date,tmin,tmax,spread_c\n2027-03-01,4,15,0\n";
    /// let forecast = read_forecast("forecast.csv", table, TemperatureUnit::Celsius)?;
    /// let paths = Paths::of(date(2027, 3, 1), vec![path]).under(&forecast, 1);
    /// assert_eq!(paths.paths[0].weeks[0][0].tmax, 15.0);
    /// assert_eq!(paths.paths[0].weeks[0][2].tmax, 12.5);
    /// assert_eq!(paths.paths[0].weeks[1], week);
    /// # Ok::<(), intake::Problems>(())
    /// ```
    #[must_use]
    pub fn under(mut self, forecast: &Forecast, seed: u64) -> Self {
        let start = days_between(self.first_monday, forecast.first);
        let last = start + signed(forecast.days.len()) - 1;
        let Ok(until) = usize::try_from(last + 1) else {
            return self;
        };
        self.overlay(until + BLEND_DAYS, |number, weeks| {
            let mut stream = stream(seed, *b"fcst", number as u64);
            let [mut error, _] = two_normal(&mut stream);
            let mut off = (0.0, 0.0);
            for (day, forecast) in (start..).zip(&forecast.days) {
                let shift = error * forecast.spread_c;
                let [fresh, _] = two_normal(&mut stream);
                error = KEPT.mul_add(error, libm::sqrt(1.0 - KEPT * KEPT) * fresh);
                if let Some(own) = day_of(weeks, day)
                    && let Some((low, high)) = forecast.day.tmin.zip(forecast.day.tmax)
                {
                    let laid = held(low + shift, high + shift);
                    off = (laid.tmin - own.tmin, laid.tmax - own.tmax);
                    *own = laid;
                }
            }
            for after in 1..=BLEND_DAYS {
                let part = 1.0 - after as f64 / (BLEND_DAYS + 1) as f64;
                if let Some(own) = day_of(weeks, last + signed(after)) {
                    *own = held(own.tmin + part * off.0, own.tmax + part * off.1);
                }
            }
        });
        self
    }
}

fn day_of(weeks: &mut [Week], day: i64) -> Option<&mut Extremes> {
    let day = usize::try_from(day).ok()?;
    weeks.get_mut(day / 7).map(|week| &mut week[day % 7])
}

fn held(low: f64, high: f64) -> Extremes {
    let held = |value: f64| value.clamp(AIR_C.min, AIR_C.max);
    Extremes::new(held(low), held(high))
}
