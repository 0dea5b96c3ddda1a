//! The heat clock: a season's sum of degree-days so far, against the site's past seasons; and the
//! same for the sum of any other daily quantity from any day on.
//!
//! Owns the sums day by day and what they say: how many days the season is ahead of a median year,
//! and where it may end. Does not know what the heat does to a plant.

use jiff::civil::{Date, date};

use crate::calendar::{days_between, plus_days, same_day, signed};
use crate::climate::Climate;
use crate::degree_days::DegreeDayRule;
use crate::fill::FilledRecord;
use crate::series::{DailySeries, degree_day_series};

/// Heat less than this apart is the same heat, °C·d: a tenth of a spring day's.
const SAME_HEAT: f64 = 0.5;

/// The middle of many values, and what one in ten lies below and above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// One in ten is lower.
    pub p10: f64,
    /// Half are lower.
    pub p50: f64,
    /// One in ten is higher.
    pub p90: f64,
}

impl Spread {
    /// The spread of some values; `None` where there are none.
    ///
    /// Between two values lies the straight line (Hyndman & Fan 1996, type 7).
    pub fn of(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        Self::among(&mut values.into_iter().collect::<Vec<f64>>())
    }

    /// The spread of values whose order may be lost.
    pub(crate) fn among(values: &mut [f64]) -> Option<Self> {
        let last = values.len().checked_sub(1)?;
        let mut at = |share: f64| {
            let place = share * last as f64;
            let below = place.floor() as usize;
            let (_, low, higher) = values.select_nth_unstable_by(below, f64::total_cmp);
            let next = higher.iter().copied().min_by(f64::total_cmp);
            *low + (next.unwrap_or(*low) - *low) * (place - below as f64)
        };
        Some(Self {
            p10: at(0.1),
            p50: at(0.5),
            p90: at(0.9),
        })
    }
}

/// The sums of one past season.
#[derive(Debug, Clone, PartialEq)]
pub struct PastSeason {
    /// The calendar year it began in.
    pub year: i16,
    /// From its first day to the end of each calendar day of the season now running; °C·d of heat.
    pub sums: Vec<f64>,
}

/// A season's heat so far and that of past seasons, day by day.
///
/// From [`sums_since`] it holds the sums of another daily quantity, such as mm of water, between any
/// two days.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatClock {
    /// First day of the season.
    pub first: Date,
    /// Last day of the season.
    pub last: Date,
    /// From the first day to the end of each day measured so far, °C·d of heat; empty where no day
    /// of the season was measured.
    pub sums: Vec<f64>,
    /// Past seasons that the record covers whole, by year.
    pub past: Vec<PastSeason>,
}

impl HeatClock {
    /// The last day that is summed.
    pub fn known_until(&self) -> Option<Date> {
        let days = self.sums.len().checked_sub(1)?;
        Some(plus_days(self.first, signed(days)))
    }

    /// The sum up to the last day known.
    pub fn so_far(&self) -> Option<f64> {
        self.sums.last().copied()
    }

    /// Where past seasons stood at the end of a day, counted from the season's first, 0.
    pub fn normal(&self, day: usize) -> Option<Spread> {
        Spread::of(
            self.past
                .iter()
                .filter_map(|past| past.sums.get(day))
                .copied(),
        )
    }

    /// Where this season may stand at the end of a day not yet known, if it goes on as each of the
    /// past seasons did from here.
    pub fn to_come(&self, day: usize) -> Option<Spread> {
        let now = self.sums.len().checked_sub(1)?;
        let so_far = self.so_far()?;
        let gains = self
            .past
            .iter()
            .filter_map(|past| Some(past.sums.get(day)? - past.sums.get(now)?));
        Spread::of(gains.map(|gain| so_far + gain))
    }

    /// How many past seasons had less heat by the same day.
    pub fn warmer_than(&self) -> Option<usize> {
        let now = self.sums.len().checked_sub(1)?;
        let so_far = self.so_far()?;
        let colder = |past: &&PastSeason| past.sums.get(now).is_some_and(|sum| *sum < so_far);
        Some(self.past.iter().filter(colder).count())
    }

    /// Returns by how many days the season is ahead of the median of past seasons.
    ///
    /// A grower thinks in days: "everything is a week early".
    ///
    /// # Equation
    /// With d the last day known and S its sum: m − d, m the first day at whose end the median of
    /// past seasons is S or more; 0 where the median of day d lies within 0.5 °C·d of S.
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `self` | °C·d | sums by day | from [`heat_clock()`] |
    ///
    /// # Returns
    /// Days; negative: behind. `None` without a day known or a past season, and where the median
    /// season never has so much heat.
    ///
    /// # Assumptions
    /// The median is taken day by day, so that it belongs to no single year. In a cold season the
    /// sums stand still, and a little heat is worth many days.
    ///
    /// # Source
    /// Own rule.
    ///
    /// # Checked against
    /// `tests/models/heat_clock.rs`: seasons made so many days early or late.
    pub fn days_ahead(&self) -> Option<i64> {
        let now = self.sums.len().checked_sub(1)?;
        let so_far = self.so_far()?;
        if (self.normal(now)?.p50 - so_far).abs() < SAME_HEAT {
            return Some(0);
        }
        let days = days_between(self.first, self.last) as usize + 1;
        (0..days)
            .find(|day| self.normal(*day).is_some_and(|at| at.p50 >= so_far))
            .map(|day| signed(day) - signed(now))
    }
}

/// Returns the first day of the season that a date falls in.
///
/// Heat is summed from the depth of winter, so that a year's growth lies in one season.
///
/// # Equation
/// 1 January north of the equator and on it, 1 July south of it.
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
/// `tests/models/heat_clock.rs`.
///
/// # Examples
/// ```
/// use jiff::civil::date;
///
/// assert_eq!(models::season_start(37.2, date(2027, 3, 1)), date(2027, 1, 1));
/// assert_eq!(models::season_start(-34.3, date(2027, 3, 1)), date(2026, 7, 1));
/// ```
pub fn season_start(latitude_deg: f64, on: Date) -> Date {
    let month = if latitude_deg < 0.0 { 7 } else { 1 };
    let start = date(2023, month, 1);
    let year = if on.month() < month {
        on.year().saturating_sub(1)
    } else {
        on.year()
    };
    same_day(start, year)
}

/// Returns the heat of a season so far beside that of all past seasons of the record.
///
/// Whether seedlings, buds and trees are early or late this year is seen here before it is seen on
/// them.
///
/// # Equation
/// Cumulative sums of [`degree_days`](crate::degree_days()) over the days from `first` on, each
/// through [`Climate::apply`]; of a past season, up to the same calendar days, 29 February being the
/// 28th where there is none.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, filled | a whole year or more |
/// | `climate`, `rule` | °C | constants | checked by their types |
/// | `first` | | the season's first day | any; from [`season_start`] |
/// | `as_of` | | last day that may count | any |
///
/// # Returns
/// Sums of this season up to `as_of` or to the last measured day of the record, whichever is
/// earlier, and of every past season that lies whole in the record; °C·d, never falling.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// Days made from normals ([`FilledRecord::made_days`]) stand for past seasons but never for the
/// one that runs: nobody has measured how it differs. A warming site is ahead of its own past in
/// most years.
///
/// # Source
/// Sum of [`degree_days`](crate::degree_days()).
///
/// # Checked against
/// `tests/models/heat_clock.rs`: Jeju, whole seasons against its yearly sums; the southern
/// half of the earth; leap days; records that end early.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{Climate, DailyRecord, Day, DegreeDayRule, fill, heat_clock};
///
/// let day = Day { tmin: Some(15.0), tmax: Some(28.0), ..Day::default() };
/// let days = date(2024, 1, 1).series(jiff::Span::new().days(1)).take(800).map(|d| (d, day));
/// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
/// let (open, rule) = (Climate::OPEN_GROUND, DegreeDayRule::default());
/// let clock = heat_clock(&record, &open, &rule, date(2026, 1, 1), date(2026, 1, 20));
/// assert_eq!(clock.past.len(), 2);
/// assert!((clock.so_far().expect("20 days") - 20.0 * 8.7).abs() < 1e-9);
/// assert_eq!(clock.days_ahead(), Some(0));
/// # Ok::<(), models::FillError>(())
/// ```
pub fn heat_clock(
    record: &FilledRecord,
    climate: &Climate,
    rule: &DegreeDayRule,
    first: Date,
    as_of: Date,
) -> HeatClock {
    let last = plus_days(same_day(first, first.year().saturating_add(1)), -1);
    sums_since(
        &degree_day_series(record, climate, rule),
        first,
        last,
        as_of,
    )
}

/// Returns the running sum of a daily quantity from any day on beside that of all past years.
///
/// Heat since the buds were set, water since the trees were potted: what has come together so far,
/// what it was in past years by the same day, and what may come until the day that matters.
///
/// # Equation
/// Cumulative sums of the days from `first` to `last`; of a past year, between the same calendar
/// days, 29 February being the 28th where there is none.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `series` | any | daily | |
/// | `first`, `last` | | dates, both counted | `last` not before `first`; years apart if need be |
/// | `as_of` | | last day that may count | any |
///
/// # Returns
/// Sums up to `as_of` or to the last measured day of the series, whichever is earlier, and from
/// every earlier year between whose days the series has no end; the unit of the series times d.
/// [`HeatClock::normal`] is the band of past years, [`HeatClock::to_come`] the projection.
///
/// # Errors
/// None: where `last` lies before `first`, there are no sums.
///
/// # Assumptions
/// Days made from normals stand for past years but never for the one that runs. Where more than a
/// year is summed, past years overlap each other and the running one.
///
/// # Source
/// Own rule.
///
/// # Checked against
/// `tests/models/heat_clock.rs`: seasons from its first day give the same as [`heat_clock`]; sums
/// from days within a year, over the turn of a year and over two years, by hand.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{DailySeries, sums_since};
///
/// // Two mm a day in 2025, three in 2026.
/// let daily = (0..730).map(|day| if day < 365 { 2.0 } else { 3.0 }).collect();
/// let water = DailySeries::new(date(2025, 1, 1), daily, Some(date(2026, 5, 10)));
/// let sums = sums_since(&water, date(2026, 5, 1), date(2026, 5, 30), date(2026, 12, 31));
/// assert_eq!(sums.so_far(), Some(30.0));
/// assert_eq!(sums.normal(9).expect("a past year").p50, 20.0);
/// // Twenty days more as they were in 2025.
/// assert_eq!(sums.to_come(29).expect("a past year").p50, 70.0);
/// ```
pub fn sums_since(series: &DailySeries, first: Date, last: Date, as_of: Date) -> HeatClock {
    let until = series.last_measured().map(|day| day.min(as_of).min(last));
    let known = until.map_or(0, |until| days_between(first, until) + 1);
    let sums = running((0..known).map_while(|day| series.on(plus_days(first, day))));
    let dates: Vec<Date> = (0..=days_between(first, last))
        .map(|day| plus_days(first, day))
        .collect();
    let years = series.first().year()..first.year();
    let past = years.filter_map(|year| past_season(series, &dates, year));
    HeatClock {
        first,
        last,
        sums,
        past: past.collect(),
    }
}

/// The sums by the same calendar days, begun in an earlier year; `None` where the series does not
/// cover them all.
fn past_season(series: &DailySeries, dates: &[Date], year: i16) -> Option<PastSeason> {
    let (first, last) = (dates.first()?, dates.last()?);
    let back = first.year() - year;
    let ago = |date: Date| same_day(date, date.year() - back);
    let begun = ago(*first);
    let daily = series.between(begun, ago(*last))?;
    let sums = running(daily.iter().copied());
    let on = |date: &Date| sums[days_between(begun, ago(*date)) as usize];
    Some(PastSeason {
        year,
        sums: dates.iter().map(on).collect(),
    })
}

fn running(values: impl Iterator<Item = f64>) -> Vec<f64> {
    values
        .scan(0.0, |sum, value| {
            *sum += value;
            Some(*sum)
        })
        .collect()
}
