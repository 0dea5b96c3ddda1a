//! Years to come, taken from the site's own past years.
//!
//! A path is one past year and those after it, laid on the weeks of a plan. Every path is equally
//! likely. Does not model trends: a warming site is as warm as its record, so that a grower should
//! feed it recent years.

use std::ops::Range;

use jiff::civil::Date;

use crate::calendar::{days_between, plus_days, same_day, signed};
use crate::climate::Climate;
use crate::degree_days::{DegreeDayRule, degree_days};
use crate::fill::{Extremes, FilledRecord};

/// Weeks before the plan that every path carries, for rules that look back.
pub const WEEKS_BEFORE: usize = 8;

/// Seven consecutive days.
pub type Week = [Extremes; 7];

/// The weather of a plan's weeks as one past year and its successors had it.
#[derive(Debug, Clone, PartialEq)]
pub struct YearPath {
    /// The past year that the path begins with.
    pub start_year: i16,
    /// The [`WEEKS_BEFORE`] weeks before the plan, oldest first.
    pub before: Vec<Week>,
    /// The plan's weeks.
    pub weeks: Vec<Week>,
}

/// One path for every past year, on the weeks of one plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Paths {
    /// First day of the plan's first week.
    pub first_monday: Date,
    /// The paths, by start year or as they were drawn.
    pub paths: Vec<YearPath>,
    /// By path and week, the day of the record that the week begins with; empty where the weeks are
    /// not the record's own.
    sources: Vec<Vec<u32>>,
    /// The first weeks of every path that are no longer the record's own.
    changed: usize,
}

impl Paths {
    /// Returns one path of weekly weather for every past year.
    ///
    /// What the plan's weeks may bring: nobody knows the weather of the spring after next, but the
    /// site's past springs are known.
    ///
    /// # Equation
    /// With y₀ … yₙ₋₁ the calendar years that the record covers whole, path k lays past year
    /// y₍ₖ₊ⱼ₎ mod n on the plan's j-th calendar year (j = 0 for that of `first_monday`). A plan
    /// week that begins on a date takes the seven days from the same calendar day of that past
    /// year on, 29 February being the 28th where there is none.
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `record` | °C | daily, filled | a whole year or more |
    /// | `first_monday` | | date on which the plan's first week begins | any |
    /// | `weeks` | | weeks of the plan | 1 to 520 is sensible |
    ///
    /// # Returns
    /// As many paths as whole calendar years, one at least; each with `weeks` weeks and the
    /// [`WEEKS_BEFORE`] weeks before them.
    ///
    /// # Errors
    /// None: a filled record covers every day of the year.
    ///
    /// # Assumptions
    /// Past years are as likely as each other and the next years are like them. Within a path the
    /// order of years is kept, so that a warm winter is followed by the spring that followed it.
    /// Days beyond the record's end are those of the first year that has them; where no calendar
    /// year is whole, the one path is the record's year, joined at its ends.
    ///
    /// # Source
    /// Own rule (historical traces, as in ensemble streamflow prediction).
    ///
    /// # Checked against
    /// `tests/models/laid_years.rs`: the date behind each day, wrapping, leap days.
    ///
    /// # Examples
    /// ```
    /// use jiff::civil::date;
    /// use models::{DailyRecord, Day, Paths, fill};
    ///
    /// let day = Day { tmin: Some(10.0), tmax: Some(20.0), ..Day::default() };
    /// let days = date(2020, 1, 1).series(jiff::Span::new().days(1)).take(1096).map(|d| (d, day));
    /// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
    /// let paths = Paths::from_record(&record, date(2027, 3, 8), 156).paths;
    /// let years: Vec<i16> = paths.iter().map(|path| path.start_year).collect();
    /// assert_eq!(years, [2020, 2021, 2022]);
    /// # Ok::<(), models::FillError>(())
    /// ```
    pub fn from_record(record: &FilledRecord, first_monday: Date, weeks: usize) -> Self {
        let years = whole_years(record);
        let paths = (0..years.len()).map(|k| path(record, &years, k, first_monday, weeks));
        Self::of(first_monday, paths.collect())
    }

    /// Paths as they are.
    pub fn of(first_monday: Date, paths: Vec<YearPath>) -> Self {
        Self::with_sources(first_monday, paths, Vec::new())
    }

    /// Paths whose weeks begin with known days of a record.
    pub(crate) fn with_sources(
        first_monday: Date,
        paths: Vec<YearPath>,
        sources: Vec<Vec<u32>>,
    ) -> Self {
        Self {
            first_monday,
            paths,
            sources,
            changed: 0,
        }
    }

    /// Lays other days over the first of every path, by the path's number.
    pub(crate) fn overlay(&mut self, days: usize, mut lay: impl FnMut(usize, &mut [Week])) {
        self.changed = self.changed.max(days.div_ceil(7));
        for (number, path) in self.paths.iter_mut().enumerate() {
            lay(number, &mut path.weeks);
        }
    }

    /// Returns the same paths with a later spring.
    ///
    /// # Equation
    /// Each week of `spring` has the weather of the week `late` weeks before it in its path; all others
    /// keep theirs.
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `late` | weeks | | 0 to [`WEEKS_BEFORE`] |
    /// | `spring` | weeks of the plan | from … to, the last not meant | any |
    ///
    /// # Errors
    /// None: more weeks than are known before the plan are taken to be as many as are.
    ///
    /// # Assumptions
    /// Warmth comes late, and so do bark and frost; after the spring the years go on as they would have.
    ///
    /// # Source
    /// Own rule.
    ///
    /// # Checked against
    /// `tests/models/laid_years.rs`: weeks moved by hand.
    #[must_use]
    pub fn with_late_spring(mut self, late: usize, spring: Range<usize>) -> Self {
        let late = late.min(WEEKS_BEFORE);
        for path in &mut self.paths {
            let all: Vec<Week> = path.before.iter().chain(&path.weeks).copied().collect();
            let weeks = path.weeks.iter_mut().enumerate();
            for (at, week) in weeks.filter(|(at, _)| spring.contains(at)) {
                *week = all[path.before.len() + at - late.min(path.before.len())];
            }
        }
        for sources in &mut self.sources {
            let own = sources.clone();
            let weeks = sources.iter_mut().enumerate();
            for (at, from) in weeks.filter(|(at, _)| spring.contains(at) && *at >= late) {
                *from = own[at - late];
            }
        }
        if spring.start < late {
            self.changed = self.changed.max(late.min(spring.end));
        }
        self
    }

    /// Degree-days of each path and week, as [`weekly_degree_days`] of each path, but for double
    /// methods: the next day of a week's last is the record's. Of drawn paths, each day of their
    /// record is worked out once, not each day of each path.
    pub fn weekly_degree_days(
        &self,
        record: &FilledRecord,
        climate: &Climate,
        rule: &DegreeDayRule,
    ) -> Vec<Vec<f64>> {
        if self.sources.len() != self.paths.len() {
            let of = |path| weekly_degree_days(path, climate, rule);
            return self.paths.iter().map(of).collect();
        }
        let days: Vec<f64> = (0..record.days().len())
            .map(|index| recorded(record, climate, rule, index))
            .collect();
        let weeks: Vec<f64> = days.windows(7).map(|week| week.iter().sum()).collect();
        let of_path = |(sources, path): (&Vec<u32>, &YearPath)| {
            let changed = &path.weeks[..self.changed.min(path.weeks.len())];
            let own = heat_of(changed, climate, rule);
            let later = sources.iter().skip(self.changed);
            let later = later.map(|from| weeks[*from as usize]);
            own.into_iter().chain(later).collect()
        };
        self.sources.iter().zip(&self.paths).map(of_path).collect()
    }

    /// The same paths, each with the record's own last weeks before the plan where they were measured: rules
    /// that look back then see what was, not what a past year had.
    #[must_use]
    pub fn after_own_weeks(mut self, record: &FilledRecord) -> Self {
        let last = record.last_measured();
        let own: Vec<Option<Week>> = (1..=signed(WEEKS_BEFORE))
            .rev()
            .map(|back| {
                let first = plus_days(self.first_monday, -7 * back);
                let until = plus_days(first, 6);
                let from = record.index_of(first).filter(|_| last >= Some(until))?;
                Some(std::array::from_fn(|day| record.days()[from + day]))
            })
            .collect();
        for path in &mut self.paths {
            for (week, own) in path.before.iter_mut().zip(&own) {
                *week = own.unwrap_or(*week);
            }
        }
        self
    }
}

/// The calendar years that a record covers whole; its first year where there are none.
fn whole_years(record: &FilledRecord) -> Vec<i16> {
    let (first, last) = (record.first(), record.last());
    let from = if first.day_of_year() == 1 {
        first.year()
    } else {
        first.year() + 1
    };
    let until = if last.day_of_year() == last.days_in_year() {
        last.year()
    } else {
        last.year() - 1
    };
    if from <= until {
        (from..=until).collect()
    } else {
        vec![first.year()]
    }
}

fn path(
    record: &FilledRecord,
    years: &[i16],
    k: usize,
    first_monday: Date,
    weeks: usize,
) -> YearPath {
    let week = |number: i64| -> Week {
        let plan_day = plus_days(first_monday, 7 * number);
        let plan_year = i64::from(plan_day.year()) - i64::from(first_monday.year());
        let year = years[(signed(k) + plan_year).rem_euclid(signed(years.len())) as usize];
        let anchor = same_day(plan_day, year);
        std::array::from_fn(|day| record.on_or_wrapped(plus_days(anchor, signed(day))))
    };
    YearPath {
        start_year: years[k],
        before: (-signed(WEEKS_BEFORE)..0).map(week).collect(),
        weeks: (0..signed(weeks)).map(week).collect(),
    }
}

/// Returns the degree-days of each week of a path in a climate.
///
/// The pace at which lots in that climate age through the plan.
///
/// # Equation
/// Sum of [`degree_days`] over the week's seven days, each through [`Climate::apply`].
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `path` | °C | weeks of seven days | from [`Paths::from_record`] |
/// | `climate`, `rule` | °C | constants | checked by their types |
///
/// # Returns
/// °C·d, one value a week of the plan, 0 or more.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// Those of [`degree_days`] and [`Climate::apply`]. For double methods the last day of the plan
/// is followed by a day with its own lowest temperature.
///
/// # Source
/// Sum of [`degree_days`].
///
/// # Checked against
/// `tests/models/laid_years.rs`: 52 weeks of Jeju against its yearly sums.
///
/// # Examples
/// ```
/// use models::{Climate, DegreeDayRule, Extremes, YearPath, weekly_degree_days};
///
/// let week = [Extremes::new(15.0, 28.0); 7];
/// let path = YearPath { start_year: 2020, before: vec![], weeks: vec![week] };
/// let heat = weekly_degree_days(&path, &Climate::OPEN_GROUND, &DegreeDayRule::default());
/// assert!((heat[0] - 7.0 * 8.7).abs() < 1e-9);
/// ```
pub fn weekly_degree_days(path: &YearPath, climate: &Climate, rule: &DegreeDayRule) -> Vec<f64> {
    heat_of(&path.weeks, climate, rule)
}

fn heat_of(weeks: &[Week], climate: &Climate, rule: &DegreeDayRule) -> Vec<f64> {
    let days: Vec<Extremes> = weeks
        .iter()
        .flatten()
        .map(|outside| climate.apply(*outside))
        .collect();
    let heat: Vec<f64> = (0..days.len())
        .map(|i| degree_days(rule, days[i], next_tmin(&days, i)))
        .collect();
    heat.chunks(7).map(|week| week.iter().sum()).collect()
}

fn next_tmin(days: &[Extremes], index: usize) -> f64 {
    days.get(index + 1).unwrap_or(&days[index]).tmin
}

/// Returns the mean temperature of each week of a path in a climate.
///
/// For rules that ask how warm a week is, as bark and callus do.
///
/// # Equation
/// Mean over seven days of (tmin + tmax)/2, each day through [`Climate::apply`].
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `path` | °C | weeks of seven days | from [`Paths::from_record`] |
/// | `climate` | °C | constants | checked by its type |
///
/// # Returns
/// °C, one value a week of the plan.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// The middle of the extremes stands for the day's mean; at Jeju it is 0.2 °C above the mean of
/// the hours.
///
/// # Source
/// World Meteorological Organization practice of (tmin + tmax)/2.
///
/// # Checked against
/// `tests/models/laid_years.rs`: a week of Jeju by hand.
///
/// # Examples
/// ```
/// use models::{Climate, Extremes, YearPath, weekly_mean_temp};
///
/// let week = [Extremes::new(10.0, 20.0); 7];
/// let path = YearPath { start_year: 2020, before: vec![], weeks: vec![week] };
/// assert_eq!(weekly_mean_temp(&path, &Climate::OPEN_GROUND), [15.0]);
/// ```
pub fn weekly_mean_temp(path: &YearPath, climate: &Climate) -> Vec<f64> {
    path.weeks
        .iter()
        .map(|week| week_mean(week, |day| climate.apply(day).mean()))
        .collect()
}

/// Mean of a quantity over the days of a week.
pub(crate) fn week_mean(week: &Week, quantity: impl Fn(Extremes) -> f64) -> f64 {
    week.iter().map(|day| quantity(*day)).sum::<f64>() / 7.0
}

/// Returns the degree-days from one date up to another as they were, and as they are on average
/// where the record does not reach.
///
/// The heat that a standing lot has behind it: from the day it entered its stage up to today.
///
/// # Equation
/// Sum of [`degree_days`] over the days from `from` (included) to `until` (excluded) through
/// [`Climate::apply`]; for a day beyond the record, [`mean_degree_days_on`].
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, filled | a whole year or more |
/// | `climate`, `rule` | °C | constants | checked by their types |
/// | `from`, `until` | | dates, the second not counted | any |
///
/// # Returns
/// °C·d, 0 or more; 0 where `until` is not after `from`.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// The record is of the place the lot stands in, or near it. Missing days within the record were
/// filled by [`crate::fill()`].
///
/// # Source
/// Sum of [`degree_days`].
///
/// # Checked against
/// `tests/models/laid_years.rs`: a year of Jeju in and beyond the record.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{Climate, DailyRecord, Day, DegreeDayRule, fill, observed_degree_days};
///
/// let day = Day { tmin: Some(15.0), tmax: Some(28.0), ..Day::default() };
/// let days = date(2025, 1, 1).series(jiff::Span::new().days(1)).take(365).map(|d| (d, day));
/// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
/// let (rule, open) = (DegreeDayRule::default(), Climate::OPEN_GROUND);
/// // Two days of the record and two that are taken from it.
/// let heat = observed_degree_days(&record, &open, &rule, date(2025, 12, 30), date(2026, 1, 3));
/// assert!((heat - 4.0 * 8.7).abs() < 1e-9);
/// # Ok::<(), models::FillError>(())
/// ```
pub fn observed_degree_days(
    record: &FilledRecord,
    climate: &Climate,
    rule: &DegreeDayRule,
    from: Date,
    until: Date,
) -> f64 {
    (0..days_between(from, until))
        .map(|day| {
            let date = plus_days(from, day);
            record.index_of(date).map_or_else(
                || mean_degree_days_on(record, climate, rule, date),
                |index| recorded(record, climate, rule, index),
            )
        })
        .sum()
}

pub(crate) fn recorded(
    record: &FilledRecord,
    climate: &Climate,
    rule: &DegreeDayRule,
    index: usize,
) -> f64 {
    let days = record.days();
    let next = days.get(index + 1).unwrap_or(&days[index]);
    degree_days(rule, climate.apply(days[index]), climate.apply(*next).tmin)
}

/// Returns the degree-days of a calendar day in the mean of the record's years.
///
/// The normal that a season is held against, and what stands for days not yet measured.
///
/// # Equation
/// Mean over the years of the record of [`degree_days`] on the same calendar day, 29 February
/// being the 28th where there is none. The mean of the sums, not the sum of the mean temperatures,
/// which would lose the heat of warm days in cold months.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | °C | daily, filled | a whole year or more |
/// | `climate`, `rule` | °C | constants | checked by their types |
/// | `date` | | a date; its year does not matter | any |
///
/// # Returns
/// °C·d of one day, 0 or more.
///
/// # Errors
/// None: a filled record has every day of the calendar year.
///
/// # Assumptions
/// Those of [`degree_days`]; years are as likely as each other.
///
/// # Source
/// Own rule (climatological mean).
///
/// # Checked against
/// `tests/models/laid_years.rs`: summed over a year, the mean of Jeju's yearly sums.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{Climate, DailyRecord, Day, DegreeDayRule, fill, mean_degree_days_on};
///
/// let day = |tmax| Day { tmin: Some(15.0), tmax: Some(tmax), ..Day::default() };
/// let days = date(2024, 1, 1)
///     .series(jiff::Span::new().days(1))
///     .take(731)
///     .map(|d| (d, day(if d.year() == 2024 { 28.0 } else { 30.0 })));
/// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
/// let (rule, open) = (DegreeDayRule::default(), Climate::OPEN_GROUND);
/// let normal = mean_degree_days_on(&record, &open, &rule, date(2030, 6, 1));
/// assert!((normal - (8.7 + 9.7) / 2.0).abs() < 1e-9);
/// # Ok::<(), models::FillError>(())
/// ```
pub fn mean_degree_days_on(
    record: &FilledRecord,
    climate: &Climate,
    rule: &DegreeDayRule,
    date: Date,
) -> f64 {
    let days: Vec<usize> = (record.first().year()..=record.last().year())
        .filter_map(|year| record.index_of(same_day(date, year)))
        .collect();
    let sum: f64 = days
        .iter()
        .map(|index| recorded(record, climate, rule, *index))
        .sum();
    sum / days.len().max(1) as f64
}
