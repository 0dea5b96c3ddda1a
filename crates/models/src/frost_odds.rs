//! When frost comes at a site, from its own past years.
//!
//! Owns the odds of a frost by week and the dates of the first and the last frost. Does not know
//! plants, nor the weather that is forecast.

use jiff::civil::Date;

use crate::calendar::{days_between, plus_days, same_day, signed};
use crate::climate::Climate;
use crate::fill::FilledRecord;
use crate::heat_clock::Spread;
use crate::interval::wilson;
use crate::range::{OutOfRange, within};

/// ISO weeks of the longest year.
const WEEKS: usize = 53;
/// Weights of a week's neighbors and of the week itself.
const WEIGHTS: [(usize, f64); 3] = [(WEEKS - 1, 1.0), (0, 2.0), (1, 1.0)];
/// A common year, on which days of seasons are counted.
const COMMON_YEAR: i16 = 2022;

/// The odds of frost in a week of the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekOdds {
    /// ISO week, 1 to 53.
    pub week: i8,
    /// Share of years with such a night in this week, smoothed with its neighbors.
    pub odds: f64,
    /// Lower end of the interval that holds the true share nine times in ten.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Such nights in this week, mean of the years, smoothed likewise.
    pub nights: f64,
    /// Years that the interval counts with.
    pub years: usize,
}

/// Weeks of one number in all years.
#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    years: usize,
    with_frost: usize,
    nights: usize,
}

/// Returns the odds of a night below a temperature for every ISO week.
///
/// # Equation
/// odds = Σ w k/Σ w n over the week (w = 2) and its two neighbors (w = 1), k of n years having such
/// a night; interval after Wilson 1927 with z = 1.645 and as many years as the week has, or its
/// neighbor with the most.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, filled | a whole year or more |
/// | `climate` | | of the place | checked by its type |
/// | `threshold_c` | °C | constant; nights strictly below it count | −40 to 20 |
///
/// # Returns
/// 53 weeks; odds, low and high from 0 to 1 with low ≤ odds ≤ high.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Past years are equally likely and independent, and the climate stands still; where it warms, odds
/// are too high. A day's minimum belongs to the day on whose morning it mostly falls. Smoothing gives
/// a little frost to the weeks beside the coldest; the interval counts years, not weeks, since weeks
/// of one winter are alike. Filled and made days
/// ([`filled_tmin`](FilledRecord::filled_tmin), [`made_days`](FilledRecord::made_days)) have fewer
/// extremes than real ones. A station is not a bed.
///
/// # Source
/// Own rule; interval after Wilson 1927, J. Am. Stat. Assoc. 22:209–212.
///
/// # Checked against
/// `tests/models/frost.rs`: years made by hand; Jeju against a count of its own table.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{Climate, DailyRecord, Day, fill, frost_odds::frost_odds};
///
/// let days = date(2020, 1, 6).series(jiff::Span::new().days(1)).take(1000).map(|on| {
///     let tmin = Some(if on.month() == 1 { -3.0 } else { 8.0 });
///     (on, Day { tmin, tmax: Some(20.0), ..Day::default() })
/// });
/// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
/// let odds = frost_odds(&record, &Climate::OPEN_GROUND, -2.0)?;
/// assert_eq!((odds[2].week, odds[2].odds, odds[25].odds), (3, 1.0, 0.0));
/// assert_eq!(odds[2].nights, 7.0);
/// assert!(odds[2].low < 0.6, "three years are few");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn frost_odds(
    record: &FilledRecord,
    climate: &Climate,
    threshold_c: f64,
) -> Result<Vec<WeekOdds>, OutOfRange> {
    let threshold_c = threshold(threshold_c)?;
    let weeks = tallies(record, climate, threshold_c);
    Ok((0..WEEKS).map(|index| smoothed(&weeks, index)).collect())
}

fn threshold(threshold_c: f64) -> Result<f64, OutOfRange> {
    within("frost threshold", threshold_c, (-40.0, 20.0), " °C")
}

fn tallies(record: &FilledRecord, climate: &Climate, threshold_c: f64) -> [Tally; WEEKS] {
    let mut weeks = [Tally::default(); WEEKS];
    let to_monday = i64::from(record.first().weekday().to_monday_zero_offset());
    let skipped = ((7 - to_monday) % 7) as usize;
    let whole = record.days().get(skipped..).unwrap_or_default();
    for (index, days) in whole.chunks_exact(7).enumerate() {
        let monday = plus_days(record.first(), signed(skipped + 7 * index));
        let cold = |day: &&_| climate.apply(**day).tmin < threshold_c;
        let nights = days.iter().filter(cold).count();
        let tally = &mut weeks[monday.iso_week_date().week() as usize - 1];
        tally.years += 1;
        tally.with_frost += usize::from(nights > 0);
        tally.nights += nights;
    }
    weeks
}

fn smoothed(weeks: &[Tally; WEEKS], index: usize) -> WeekOdds {
    let around = || WEIGHTS.map(|(step, weight)| (&weeks[(index + step) % WEEKS], weight));
    let sum = |of: fn(&Tally) -> usize| -> f64 {
        around()
            .iter()
            .map(|(tally, weight)| weight * of(tally) as f64)
            .sum()
    };
    let counted = sum(|tally| tally.years);
    let share = |of: fn(&Tally) -> usize| {
        if counted > 0.0 {
            sum(of) / counted
        } else {
            0.0
        }
    };
    let odds = share(|tally| tally.with_frost);
    let years = around().iter().map(|(tally, _)| tally.years).max();
    let years = years.unwrap_or_default();
    let (low, high) = wilson(odds, years);
    WeekOdds {
        week: index as i8 + 1,
        odds,
        low,
        high,
        nights: share(|tally| tally.nights),
        years,
    }
}

/// When a site's first and last nights below a temperature come, by frost seasons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrostDates {
    /// Seasons that the record covers whole.
    pub seasons: usize,
    /// Those with such a night.
    pub with_frost: usize,
    /// The first such night of seasons that had one, days after the season's first day; read with
    /// [`FrostDates::date`].
    pub first: Option<Spread>,
    /// The last such night, likewise.
    pub last: Option<Spread>,
    is_southern: bool,
}

impl FrostDates {
    /// The date of a day of the season in which `on` lies, to the nearest day.
    pub fn date(&self, days: f64, on: Date) -> Date {
        let start = begin(self.is_southern, on);
        let common = begin(self.is_southern, Date::constant(COMMON_YEAR, 7, 1));
        let day = plus_days(common, days.round().clamp(0.0, 364.0) as i64);
        let year = start.year().saturating_add(day.year() - common.year());
        same_day(day, year)
    }
}

/// Returns the first day of the frost season that a date falls in: from summer to summer, so that
/// a winter lies in one season.
///
/// # Equation
/// 1 July north of the equator and on it, 1 January south of it.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `latitude_deg` | ° north, south negative | constant | any |
/// | `on` | | a date | any |
///
/// # Returns
/// The last such day that is not after the date.
///
/// # Source
/// Common practice.
///
/// # Checked against
/// `tests/models/frost.rs`.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::frost_odds::frost_season_start;
///
/// assert_eq!(frost_season_start(33.5, date(2027, 1, 20)), date(2026, 7, 1));
/// assert_eq!(frost_season_start(-33.5, date(2027, 7, 20)), date(2027, 1, 1));
/// ```
pub fn frost_season_start(latitude_deg: f64, on: Date) -> Date {
    begin(latitude_deg < 0.0, on)
}

fn begin(is_southern: bool, on: Date) -> Date {
    let month = if is_southern { 1 } else { 7 };
    let year = if on.month() < month {
        on.year().saturating_sub(1)
    } else {
        on.year()
    };
    Date::new(year, month, 1).unwrap_or(on)
}

/// Returns when the first and the last nights below a temperature come.
///
/// # Equation
/// Of each season ([`frost_season_start`]) that the record covers whole, the first and the last day
/// whose minimum is below the threshold, counted on a common year (29 February as the 28th); p10,
/// median and p90 of these over the seasons that have one (Hyndman & Fan 1996, type 7).
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, filled | a whole year or more |
/// | `climate` | | of the place | checked by its type |
/// | `latitude_deg` | ° north, south negative | constant | any |
/// | `threshold_c` | °C | constant | −40 to 20 |
///
/// # Returns
/// Seasons, how many of them had such a night, and the spreads; `None` without one.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Those of [`frost_odds`]. Spreads are of seasons with frost only: where few had one, the
/// safe day is every day.
///
/// # Source
/// Own rule, from common practice.
///
/// # Checked against
/// `tests/models/frost.rs`: seasons made by hand in both hemispheres; Jeju against a count of its
/// own table.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{Climate, DailyRecord, Day, fill, frost_odds::frost_dates};
///
/// let days = date(2020, 7, 1).series(jiff::Span::new().days(1)).take(1095).map(|on| {
///     let tmin = Some(if on.month() == 1 { -3.0 } else { 8.0 });
///     (on, Day { tmin, tmax: Some(20.0), ..Day::default() })
/// });
/// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
/// let dates = frost_dates(&record, &Climate::OPEN_GROUND, 33.5, 0.0)?;
/// assert_eq!((dates.seasons, dates.with_frost), (3, 3));
/// let last = dates.last.expect("frost").p50;
/// assert_eq!(dates.date(last, date(2027, 1, 5)), date(2027, 1, 31));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn frost_dates(
    record: &FilledRecord,
    climate: &Climate,
    latitude_deg: f64,
    threshold_c: f64,
) -> Result<FrostDates, OutOfRange> {
    let threshold_c = threshold(threshold_c)?;
    let is_southern = latitude_deg < 0.0;
    let seasons: Vec<Option<(f64, f64)>> = whole_seasons(record, is_southern)
        .map(|start| first_and_last(record, climate, start, threshold_c))
        .collect();
    let of = |pick: fn(&(f64, f64)) -> f64| Spread::of(seasons.iter().flatten().map(pick));
    Ok(FrostDates {
        seasons: seasons.len(),
        with_frost: seasons.iter().flatten().count(),
        first: of(|days| days.0),
        last: of(|days| days.1),
        is_southern,
    })
}

/// First days of the seasons that lie whole in the record.
fn whole_seasons(record: &FilledRecord, is_southern: bool) -> impl Iterator<Item = Date> {
    let (first, last) = (record.first(), record.last());
    let starts = (first.year()..=last.year()).map(move |year| {
        begin(
            is_southern,
            same_day(Date::constant(COMMON_YEAR, 7, 1), year),
        )
    });
    starts.filter(move |start| {
        let next = same_day(*start, start.year().saturating_add(1));
        *start >= first && plus_days(next, -1) <= last
    })
}

fn first_and_last(
    record: &FilledRecord,
    climate: &Climate,
    start: Date,
    threshold_c: f64,
) -> Option<(f64, f64)> {
    let length = days_between(start, same_day(start, start.year().saturating_add(1)));
    let is_cold = |day: &i64| {
        let on = record.on(plus_days(start, *day));
        on.is_some_and(|day| climate.apply(day).tmin < threshold_c)
    };
    let common = same_day(start, COMMON_YEAR);
    let counted = |day: i64| {
        let on = plus_days(start, day);
        let year = COMMON_YEAR.saturating_add(on.year() - start.year());
        days_between(common, same_day(on, year)) as f64
    };
    let first = (0..length).find(is_cold)?;
    let last = (0..length).rev().find(is_cold)?;
    Some((counted(first), counted(last)))
}
