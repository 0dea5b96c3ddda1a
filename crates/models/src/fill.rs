//! Closing the gaps of a record of daily temperatures by a stated rule.
//!
//! Reads a [`DailyRecord`] and owns the [`FilledRecord`], in which every day has a lowest and a
//! highest temperature. Does not fill rain, humidity, wind or radiation.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::{days_between, plus_days, same_day, signed};
use crate::forecast::Forecast;
use crate::weather::{DailyRecord, Day, Site};

/// Days on each side of the same day of another year that stand for a missing day.
const DAYS_EITHER_SIDE: i64 = 7;

/// The lowest and the highest temperature of one day, °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Extremes {
    /// Lowest, °C.
    pub tmin: f64,
    /// Highest, °C; never below the lowest.
    pub tmax: f64,
}

impl Extremes {
    /// The two temperatures of a day, put in order.
    pub fn new(one: f64, other: f64) -> Self {
        Self {
            tmin: one.min(other),
            tmax: one.max(other),
        }
    }

    /// The middle between lowest and highest, °C.
    pub fn mean(self) -> f64 {
        f64::midpoint(self.tmin, self.tmax)
    }
}

/// Consecutive days, each with its temperatures; covers every day of the calendar year at least
/// once.
#[derive(Debug, Clone, PartialEq)]
pub struct FilledRecord {
    site: Option<Site>,
    first: Date,
    days: Vec<Extremes>,
    made: Vec<bool>,
    filled: Vec<FilledDay>,
    forecast: Option<Forecast>,
}

/// Which of a day's temperatures were not measured but filled.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct FilledDay {
    /// The lowest was filled.
    pub tmin: bool,
    /// The highest was filled.
    pub tmax: bool,
}

impl FilledDay {
    /// Whether either was filled.
    pub fn any(self) -> bool {
        self.tmin || self.tmax
    }
}

impl FilledRecord {
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
    pub fn days(&self) -> &[Extremes] {
        &self.days
    }

    /// The record with what is forecast for the days after it.
    #[must_use]
    pub fn with_forecast(mut self, forecast: Forecast) -> Self {
        self.forecast = Some(forecast);
        self
    }

    /// What is forecast for the days after the record, if anything.
    pub fn forecast(&self) -> Option<&Forecast> {
        self.forecast.as_ref()
    }

    /// How many lowest temperatures were filled.
    pub fn filled_tmin(&self) -> usize {
        self.filled.iter().filter(|day| day.tmin).count()
    }

    /// How many highest temperatures were filled.
    pub fn filled_tmax(&self) -> usize {
        self.filled.iter().filter(|day| day.tmax).count()
    }

    /// How many days have a temperature that was filled.
    pub fn filled_days(&self) -> usize {
        self.filled.iter().filter(|day| day.any()).count()
    }

    /// Which temperatures were filled, day by day as in [`days`](Self::days).
    pub fn filled(&self) -> &[FilledDay] {
        &self.filled
    }

    /// Which temperatures of a date were filled; `None` outside the record.
    pub fn filled_on(&self, date: Date) -> Option<FilledDay> {
        self.index_of(date).map(|index| self.filled[index])
    }

    /// How many days are made from monthly normals and were never measured.
    pub fn made_days(&self) -> usize {
        self.made.iter().filter(|made| **made).count()
    }

    /// The last day that is not made from monthly normals.
    pub fn last_measured(&self) -> Option<Date> {
        let index = self.made.iter().rposition(|made| !made)?;
        Some(plus_days(self.first, signed(index)))
    }

    /// The day of a date, `None` outside the record.
    pub fn on(&self, date: Date) -> Option<Extremes> {
        self.index_of(date).map(|index| self.days[index])
    }

    /// The day of a date; beyond the record's ends, the same calendar day of the first year that
    /// has it.
    pub fn on_or_wrapped(&self, date: Date) -> Extremes {
        let start = self.first.year();
        // A record may run from 1 March to 29 February and so lack the leap day it is asked for.
        let settled = same_day(date, 2023);
        self.on(date)
            .or_else(|| self.on(same_day(settled, start)))
            .or_else(|| self.on(same_day(settled, start + 1)))
            .expect("a filled record has every day of the calendar year")
    }

    /// Where a date lies in [`days`](Self::days).
    pub(crate) fn index_of(&self, date: Date) -> Option<usize> {
        let index = usize::try_from(days_between(self.first, date)).ok()?;
        (index < self.days.len()).then_some(index)
    }
}

/// Why a record cannot be filled.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FillError {
    /// The record does not cover a year.
    #[error("the weather record runs from {first} to {last}, less than a whole year")]
    TooShort {
        /// First date of the record.
        first: Date,
        /// Last date of the record.
        last: Date,
    },
    /// More days are missing than known.
    #[error("{missing} of {days} days of the weather record have no lowest or highest temperature")]
    TooManyMissing {
        /// Days without both temperatures.
        missing: usize,
        /// Days of the record.
        days: usize,
    },
}

impl FillError {
    /// What to do about it.
    pub fn mend(&self) -> &'static str {
        match self {
            Self::TooShort { .. } => {
                "give at least one whole year before the day you look ahead from"
            }
            Self::TooManyMissing { .. } => "add them, or leave out the years that lack them",
        }
    }
}

/// Fills the missing temperatures of a record.
///
/// Stations fail for hours or weeks; a plan needs every day. What is filled is marked, day by day and
/// temperature by temperature, so that a grower sees what was measured and what was not.
///
/// # Equation
/// A missing `tmin` (and likewise `tmax`) is the mean of all known values within ±7 days of the
/// same calendar day in every *other* year of the record; where there are none, the line between
/// the nearest known day before and the nearest after (at an end, the nearest known day). Where
/// only one of a day's two temperatures is missing, it is held at the known one rather than cross
/// it.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, gaps allowed | a whole year or more, half of its days known |
///
/// # Returns
/// The record with `tmin` ≤ `tmax` on every day, each filled value marked
/// ([`FilledRecord::filled`]).
///
/// # Errors
/// - [`FillError::TooShort`]: less than a whole year, so that some days of the year are unknown.
/// - [`FillError::TooManyMissing`]: less than half of the days have both temperatures.
///
/// # Assumptions
/// Gaps are short or fall on ordinary weather. A gap of weeks is filled with average days, which
/// are less varied than real ones: heat sums over it are a little low where the average lies near
/// the base temperature, and frosts within it are lost.
///
/// # Source
/// Own rule (day-of-year climatology).
///
/// # Checked against
/// `tests/models/filling.rs`: values filled by hand; 336 known days of Jeju, taken out and
/// filled again, come back with a mean error of 0.07 °C (RMSE 2.3 °C).
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{DailyRecord, Day, fill};
///
/// let day = Day { tmin: Some(10.0), tmax: Some(20.0), ..Day::default() };
/// let dates = date(2025, 1, 1).series(jiff::Span::new().days(1)).take(365);
/// let mut days: Vec<_> = dates.map(|date| (date, day)).collect();
/// days[1].1.tmax = None;
/// days[2].1.tmax = Some(26.0);
/// let filled = fill(&DailyRecord::new(None, days).expect("days"))?;
/// // No other year: the middle between 20 and 26.
/// assert_eq!(filled.on(date(2025, 1, 2)).expect("a day").tmax, 23.0);
/// assert_eq!((filled.filled_tmin(), filled.filled_tmax()), (0, 1));
/// assert!(filled.filled_on(date(2025, 1, 2)).expect("a day").tmax);
/// # Ok::<(), models::FillError>(())
/// ```
pub fn fill(record: &DailyRecord) -> Result<FilledRecord, FillError> {
    let (first, last) = (record.first(), record.last());
    if plus_days(last, 1) < a_year_after(first) {
        return Err(FillError::TooShort { first, last });
    }
    let (days, missing) = (record.days().len(), record.days_without_temperature());
    if missing * 2 > days {
        return Err(FillError::TooManyMissing { missing, days });
    }
    let tmin = Series::of(record, |day| day.tmin);
    let tmax = Series::of(record, |day| day.tmax);
    let filled = tmin.filled().zip(tmax.filled());
    let days = record
        .days()
        .iter()
        .zip(filled)
        .map(|(day, (low, high))| joined(day, low, high));
    Ok(FilledRecord {
        site: record.site().cloned(),
        first,
        days: days.collect(),
        made: record.days().iter().map(|day| day.is_made).collect(),
        filled: record.days().iter().map(filled_day).collect(),
        forecast: None,
    })
}

/// The first day that closes a whole year: every day of the calendar has come by then, 29
/// February counting as the 28th.
fn a_year_after(first: Date) -> Date {
    let next = same_day(first, first.year() + 1);
    if next.day() == first.day() {
        next
    } else {
        plus_days(next, 1)
    }
}

fn filled_day(day: &Day) -> FilledDay {
    FilledDay {
        tmin: day.tmin.is_none(),
        tmax: day.tmax.is_none(),
    }
}

fn joined(day: &Day, low: f64, high: f64) -> Extremes {
    match (day.tmin, day.tmax) {
        (Some(_), None) => Extremes {
            tmin: low,
            tmax: high.max(low),
        },
        (None, Some(_)) => Extremes {
            tmin: low.min(high),
            tmax: high,
        },
        _ => Extremes::new(low, high),
    }
}

/// One quantity of a record.
struct Series {
    first: Date,
    years: std::ops::RangeInclusive<i16>,
    values: Vec<Option<f64>>,
}

impl Series {
    fn of(record: &DailyRecord, quantity: impl Fn(&Day) -> Option<f64>) -> Self {
        Self {
            first: record.first(),
            years: record.first().year()..=record.last().year(),
            values: record.days().iter().map(quantity).collect(),
        }
    }

    fn filled(&self) -> impl Iterator<Item = f64> + '_ {
        self.values.iter().enumerate().map(|(index, value)| {
            value
                .or_else(|| self.of_other_years(index))
                .unwrap_or_else(|| self.between_neighbors(index))
        })
    }

    fn of_other_years(&self, index: usize) -> Option<f64> {
        let date = plus_days(self.first, signed(index));
        let (mut sum, mut count) = (0.0, 0_u32);
        for year in self.years.clone().filter(|year| *year != date.year()) {
            let center = days_between(self.first, same_day(date, year));
            for day in center - DAYS_EITHER_SIDE..=center + DAYS_EITHER_SIDE {
                let value = usize::try_from(day)
                    .ok()
                    .and_then(|day| *self.values.get(day)?);
                if let Some(value) = value {
                    sum += value;
                    count += 1;
                }
            }
        }
        (count > 0).then(|| sum / f64::from(count))
    }

    fn between_neighbors(&self, index: usize) -> f64 {
        let before = (0..index).rev().find_map(|i| Some((i, self.values[i]?)));
        let after = (index..self.values.len()).find_map(|i| Some((i, self.values[i]?)));
        let (i, low) = before.or(after).expect("half of the days are known");
        let (j, high) = after.or(before).expect("half of the days are known");
        if i == j {
            low
        } else {
            low + (high - low) * (index - i) as f64 / (j - i) as f64
        }
    }
}
