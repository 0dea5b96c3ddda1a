//! A daily quantity of one site, its sums and what it was in past years.
//!
//! Owns the values day by day without a gap, and the band in which past years lay on each day of
//! the calendar. Does not know what the quantity is.

use jiff::civil::{Date, date};

use crate::calendar::{days_between, plus_days, same_day, signed};
use crate::climate::Climate;
use crate::degree_days::DegreeDayRule;
use crate::fill::FilledRecord;
use crate::heat_clock::Spread;
use crate::paths::recorded;

/// Values of consecutive days.
#[derive(Debug, Clone, PartialEq)]
pub struct DailySeries {
    first: Date,
    values: Vec<f64>,
    last_measured: Option<Date>,
}

impl DailySeries {
    /// Values from a first day on; after `last_measured` they are not measured but made.
    pub fn new(first: Date, values: Vec<f64>, last_measured: Option<Date>) -> Self {
        Self {
            first,
            values,
            last_measured,
        }
    }

    /// The first date.
    pub fn first(&self) -> Date {
        self.first
    }

    /// Every day's value from the first date on.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The last day that is not made from monthly normals.
    pub fn last_measured(&self) -> Option<Date> {
        self.last_measured
    }

    /// The value of a date, `None` outside the series.
    pub fn on(&self, date: Date) -> Option<f64> {
        let index = usize::try_from(days_between(self.first, date)).ok()?;
        self.values.get(index).copied()
    }

    /// The values from one date to another, both counted; `None` where the series does not cover
    /// them all.
    pub fn between(&self, from: Date, until: Date) -> Option<&[f64]> {
        let start = usize::try_from(days_between(self.first, from)).ok()?;
        let end = usize::try_from(days_between(self.first, until) + 1).ok()?;
        self.values.get(start..end)
    }

    /// The sum from one date to another, both counted; `None` where the series does not cover
    /// them all.
    pub fn sum(&self, from: Date, until: Date) -> Option<f64> {
        Some(self.between(from, until)?.iter().sum())
    }

    /// The values from `center − either_side` to `center + either_side` that the series has.
    fn around(&self, center: Date, either_side: i64) -> &[f64] {
        let center = days_between(self.first, center);
        let place = |day: i64| day.clamp(0, signed(self.values.len())) as usize;
        &self.values[place(center - either_side)..place(center + either_side + 1)]
    }
}

/// Returns the degree-days of every day of a record.
///
/// # Equation
/// [`degree_days`](crate::degree_days()) of each day through [`Climate::apply`].
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, filled | a whole year or more |
/// | `climate`, `rule` | °C | constants | checked by their types |
///
/// # Returns
/// °C·d of each day, 0 or more.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// Those of [`degree_days`](crate::degree_days()); after the last day comes another like it.
///
/// # Source
/// [`degree_days`](crate::degree_days()).
///
/// # Checked against
/// `tests/models/heat_clock.rs`: 26 yearly sums of Jeju.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{Climate, DailyRecord, Day, DegreeDayRule, degree_day_series, fill};
///
/// let day = Day { tmin: Some(15.0), tmax: Some(28.0), ..Day::default() };
/// let days = date(2025, 1, 1).series(jiff::Span::new().days(1)).take(365).map(|d| (d, day));
/// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
/// let heat = degree_day_series(&record, &Climate::OPEN_GROUND, &DegreeDayRule::default());
/// let week = heat.sum(date(2025, 3, 3), date(2025, 3, 9)).expect("in the record");
/// assert!((week - 7.0 * 8.7).abs() < 1e-9);
/// # Ok::<(), models::FillError>(())
/// ```
pub fn degree_day_series(
    record: &FilledRecord,
    climate: &Climate,
    rule: &DegreeDayRule,
) -> DailySeries {
    let values = (0..record.days().len()).map(|index| recorded(record, climate, rule, index));
    DailySeries::new(record.first(), values.collect(), record.last_measured())
}

/// In what band past years lay on each day of the calendar.
#[derive(Debug, Clone, PartialEq)]
pub struct PastBand {
    /// By the days of a leap year.
    days: Vec<Option<Spread>>,
}

/// A leap year, in which every day of the calendar has its place.
const LEAP_YEAR: i16 = 2024;

impl PastBand {
    /// The band on a calendar day; `None` where no past year has a value near it.
    pub fn on(&self, on: Date) -> Option<Spread> {
        let first = date(LEAP_YEAR, 1, 1);
        let index = usize::try_from(days_between(first, same_day(on, LEAP_YEAR))).ok()?;
        *self.days.get(index)?
    }
}

/// Returns in what band a daily quantity lay in past years, by the day of the calendar.
///
/// What is usual at this time of year: half of the past days lay below the middle, one in ten below
/// the lower and one in ten above the upper end.
///
/// # Equation
/// For each day of the calendar the 10, 50 and 90 % quantiles (Hyndman & Fan 1996, type 7) of all
/// values within `either_side` days of it in every year that is past, 29 February being the 28th
/// where there is none.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `series` | any | daily | a whole year or more for a whole band |
/// | `before` | | first day that is not past | any |
/// | `either_side` | d | days counted on each side | 0 to 60; 7 for water and heat of single days, 0 for sums |
///
/// # Returns
/// A spread for every day of the calendar that a past year has, in the unit of the series.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Past years are as likely as each other, and so are the days around a day: without them the
/// band of 30 years would be as ragged as their weather.
///
/// # Source
/// Own rule; quantiles as in [`Spread::of`].
///
/// # Checked against
/// `tests/models/series.rs`: by hand, and Jeju's evapotranspiration with a plain sort.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{DailySeries, past_band};
///
/// let daily = (0..1096).map(f64::from).collect();
/// let series = DailySeries::new(date(2022, 1, 1), daily, Some(date(2024, 12, 31)));
/// // 1 March is day 59 of 2022 and day 424 of the series in 2023; 2024 is not past.
/// let band = past_band(&series, date(2024, 1, 1), 0).on(date(2026, 3, 1)).expect("past years");
/// assert_eq!(band.p50, (59.0 + 424.0) / 2.0);
/// ```
pub fn past_band(series: &DailySeries, before: Date, either_side: u8) -> PastBand {
    let past = days_between(series.first, before).clamp(0, signed(series.values.len()));
    let series = DailySeries {
        values: series.values[..past as usize].to_vec(),
        ..*series
    };
    // Days around the turn of the year may belong to a day of the year before or after.
    let years = series.first.year() - 1..=before.year() + 1;
    let mut near = Vec::new();
    let first = date(LEAP_YEAR, 1, 1);
    let days = (0..366).map(|day| {
        let on = plus_days(first, day);
        near.clear();
        for year in years.clone() {
            near.extend_from_slice(series.around(same_day(on, year), i64::from(either_side)));
        }
        Spread::among(&mut near)
    });
    PastBand {
        days: days.collect(),
    }
}
