//! Years to come, drawn from blocks of the site's own past weeks.
//!
//! A drawn path is put together from spells of past years, each at its own time of the year and each
//! chosen to go on from the one before. So there are as many possible courses as are asked for, and
//! the run of the last weeks goes on into the next. Does not model trends: a drawn year is as warm
//! as the record's.

use jiff::civil::Date;
use rand_chacha::ChaCha8Rng;

use crate::calendar::{days_between, plus_days, same_day, signed};
use crate::chance::{stream, uniform};
use crate::fill::FilledRecord;
use crate::paths::{Paths, WEEKS_BEFORE, Week, YearPath};

/// Fewest and most weeks that a block goes on.
const BLOCK_WEEKS: (usize, usize) = (10, 20);
/// Days that a block may be moved against the calendar, either way.
const MOST_MOVED: i64 = 3;
/// Weeks whose warmth a block must go on from, and in what share of their spread it must lie near.
const RUNS: [(usize, f64); 2] = [(4, 0.5), (26, 0.5)];
/// What the least likely year weighs against the likeliest.
const LEAST_WEIGHT: f64 = 0.01;
/// Years that a record must have, so that there is something to choose from.
const FEWEST_YEARS: usize = 3;
/// Days to each side of a calendar day whose mean is its normal.
const NORMAL_REACH: i64 = 15;

/// How many paths are drawn, and from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draw {
    /// Paths.
    pub paths: usize,
    /// The same seed draws the same paths.
    pub seed: u64,
}

impl Paths {
    /// Returns paths of weekly weather drawn from blocks of past weeks.
    ///
    /// What the plan's weeks may bring, in more courses than the record has years: the weather of the
    /// last weeks goes on, warm and cold spells last as long as they do, seasons and years differ as
    /// much as they did.
    ///
    /// # Equation
    /// A block is 10 to 20 weeks of one past year y from the same calendar day as the plan's, moved by
    /// −3 to 3 days, each as likely. Year y is drawn with weight k(a, aᵧ) / Σ k(aᵧ, aᵤ) over all years
    /// u, so that years that are like many others do not come more often than those that are like few;
    /// k(a, b) = 0.01 + exp(−½ Σ ((a − b)/(0.5 s))²) over two runs of weeks, 4 and 26: a is the mean
    /// anomaly of the path's last weeks (of the record's own before the first block), aᵧ that of the
    /// weeks before the same day in year y, s the standard deviation of aᵧ over the years. Anomalies are
    /// daily means (tmin + tmax)/2 less the mean of all days within 15 days of the calendar day.
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `record` | °C | daily, filled | 3 whole calendar years or more |
    /// | `first_monday` | | date on which the plan's first week begins | any |
    /// | `weeks` | | weeks of the plan | 1 to 520 is sensible |
    /// | `draw` | | paths and seed | 100 to 1,000 paths are sensible |
    ///
    /// # Returns
    /// The paths, each as likely as the others; path k is the same however many are asked for. The
    /// [`WEEKS_BEFORE`] weeks before the plan are the record's own where it has them. `None` where the
    /// record has fewer than 3 whole calendar years: take [`Paths::from_record`].
    ///
    /// # Errors
    /// None: a filled record covers every day of the year.
    ///
    /// # Assumptions
    /// What comes depends on what was through the mean warmth of the last 4 and 26 weeks. Past years
    /// are otherwise as likely as each other. Where two blocks meet, one day may differ from the next
    /// more than in nature.
    ///
    /// # Source
    /// Moving blocks: Künsch 1989, Ann. Stat. 17:1217–1241; choice by nearness: Lall & Sharma 1996,
    /// Water Resour. Res. 32:679–693; as joined here, own rule.
    ///
    /// # Checked against
    /// `tests/models/drawn_paths.rs`: autocorrelation of weekly anomalies, spread of seasons and years,
    /// means by month and what becomes of a warm start, each against 34 years of Jeju; both
    /// hemispheres, leap days. Figures in `docs/models/paths.md`.
    ///
    /// # Examples
    /// ```
    /// use jiff::civil::date;
    /// use models::{DailyRecord, Day, Draw, Paths, fill};
    ///
    /// let day = Day { tmin: Some(10.0), tmax: Some(20.0), ..Day::default() };
    /// let days = date(2020, 1, 1).series(jiff::Span::new().days(1)).take(1461).map(|d| (d, day));
    /// let record = fill(&DailyRecord::new(None, days).expect("days"))?;
    /// let draw = Draw { paths: 100, seed: 1 };
    /// let paths = Paths::drawn(&record, date(2024, 3, 4), 156, draw).expect("four years");
    /// assert_eq!((paths.paths.len(), paths.paths[0].weeks.len()), (100, 156));
    /// # Ok::<(), models::FillError>(())
    /// ```
    pub fn drawn(
        record: &FilledRecord,
        first_monday: Date,
        weeks: usize,
        draw: Draw,
    ) -> Option<Self> {
        let past = Past::of(record)?;
        let plan = Plan::of(&past, first_monday, weeks);
        let sources: Vec<Vec<u32>> = (0..draw.paths)
            .map(|number| plan.path(&past, stream(draw.seed, *b"path", number as u64)))
            .collect();
        let paths = sources.iter().map(|of| laid(record, first_monday, of));
        let paths = paths.collect();
        Some(Self::with_sources(first_monday, paths, sources))
    }
}

/// The days that begin at each of a path's weeks.
fn laid(record: &FilledRecord, first_monday: Date, sources: &[u32]) -> YearPath {
    let week = |from: usize| -> Week { std::array::from_fn(|day| record.days()[from + day]) };
    let first = sources.first().map_or(0, |first| *first as usize);
    let before = (1..=WEEKS_BEFORE).rev().map(|back| {
        let own = record.index_of(plus_days(first_monday, -7 * signed(back)));
        let own = own.filter(|from| from + 7 <= record.days().len());
        // Beyond the record, the weeks before the first block.
        let from = own.or_else(|| first.checked_sub(7 * back));
        from.map_or_else(|| week(first), week)
    });
    let begins = plus_days(record.first(), signed(first));
    YearPath {
        start_year: begins.year(),
        before: before.collect(),
        weeks: sources.iter().map(|from| week(*from as usize)).collect(),
    }
}

/// The record as blocks are taken from it.
struct Past<'a> {
    record: &'a FilledRecord,
    /// Sum of the anomalies of all days before each day, °C.
    sums: Vec<f64>,
}

impl<'a> Past<'a> {
    fn of(record: &'a FilledRecord) -> Option<Self> {
        let (first, last) = (record.first(), record.last());
        let whole = i64::from(last.year()) - i64::from(first.year()) + 1
            - i64::from(first.day_of_year() != 1)
            - i64::from(last.day_of_year() != last.days_in_year());
        if whole < signed(FEWEST_YEARS) {
            return None;
        }
        let normals = normals(record);
        let mut sum = 0.0;
        let mut date = first;
        let mut sums = vec![0.0];
        for day in record.days() {
            sum += day.mean() - normals[calendar_day(date)];
            sums.push(sum);
            date = plus_days(date, 1);
        }
        Some(Self { record, sums })
    }

    /// Mean anomaly of the weeks before a day; `None` where the record does not have them.
    fn run(&self, before: usize, weeks: usize) -> Option<f64> {
        let from = before.checked_sub(7 * weeks)?;
        Some((self.sums[before] - self.sums[from]) / (7 * weeks) as f64)
    }

    fn week(&self, from: usize) -> f64 {
        (self.sums[from + 7] - self.sums[from]) / 7.0
    }
}

/// The place of a date in a year of 365 days, from 0.
fn calendar_day(date: Date) -> usize {
    same_day(date, 2023).day_of_year() as usize - 1
}

/// The mean temperature of each calendar day, °C.
fn normals(record: &FilledRecord) -> [f64; 365] {
    let mut sums = [(0.0, 0.0); 365];
    let mut date = record.first();
    for day in record.days() {
        let of_day = &mut sums[calendar_day(date)];
        of_day.0 += day.mean();
        of_day.1 += 1.0;
        date = plus_days(date, 1);
    }
    std::array::from_fn(|day| {
        let window = -NORMAL_REACH..=NORMAL_REACH;
        let around = window.map(|off| sums[(signed(day) + off).rem_euclid(365) as usize]);
        let (sum, count) = around.fold((0.0, 0.0), |all, it| (all.0 + it.0, all.1 + it.1));
        sum / count
    })
}

/// A day of the record on which a block may begin, but for how far it is moved.
struct Place {
    from: usize,
    /// Mean anomaly of the weeks before it, as far as the record has them.
    runs: [Option<f64>; RUNS.len()],
    /// How many places are like it: the sum of their nearness.
    density: f64,
}

/// Where a block may begin in a week of the plan: on the same calendar day of each past year.
struct Choice {
    places: Vec<Place>,
    /// How far apart two runs may lie and still be near, °C; 0 where all are alike.
    widths: [f64; RUNS.len()],
}

impl Choice {
    fn of(past: &Past<'_>, date: Date) -> Self {
        let record = past.record;
        let years = record.first().year()..=record.last().year();
        let days = years.filter_map(|year| record.index_of(same_day(date, year)));
        let mut places: Vec<Place> = days
            .map(|from| Place {
                from,
                runs: RUNS.map(|(weeks, _)| past.run(from, weeks)),
                density: 1.0,
            })
            .collect();
        let of_run = |run: usize| places.iter().filter_map(move |it| it.runs[run]);
        let widths = std::array::from_fn(|run| RUNS[run].1 * spread(of_run(run)));
        let mut choice = Self {
            places: Vec::new(),
            widths,
        };
        let near = |one: &Place| places.iter().map(|it| choice.nearness(it, one.runs)).sum();
        let densities: Vec<f64> = places.iter().map(near).collect();
        for (place, density) in places.iter_mut().zip(densities) {
            place.density = density;
        }
        choice.places = places;
        choice
    }

    /// How near a place's runs are to others.
    fn nearness(&self, place: &Place, runs: [Option<f64>; RUNS.len()]) -> f64 {
        /// Of a place at the record's start the run before is not known; it is neither near nor far.
        const UNKNOWN: f64 = 1.5;
        let mut far = 0.0;
        for ((one, other), width) in place.runs.iter().zip(runs).zip(self.widths) {
            let off = match (one, other) {
                (_, None) => 0.0,
                _ if width <= 0.0 => 0.0,
                (Some(one), Some(other)) => (one - other) / width,
                (None, Some(_)) => UNKNOWN,
            };
            far += off * off;
        }
        LEAST_WEIGHT + libm::exp(-0.5 * far)
    }
}

/// The weeks of a plan.
struct Plan {
    choices: Vec<Choice>,
    /// Weekly anomalies before the plan, oldest first; empty where they are not known.
    before: Vec<f64>,
}

impl Plan {
    fn of(past: &Past<'_>, first_monday: Date, weeks: usize) -> Self {
        let choices = (0..weeks).map(|week| {
            let date = plus_days(first_monday, 7 * signed(week));
            Choice::of(past, date)
        });
        Self {
            choices: choices.collect(),
            before: known_before(past, first_monday),
        }
    }

    /// Where each week of a path lies in the record.
    fn path(&self, past: &Past<'_>, mut stream: ChaCha8Rng) -> Vec<u32> {
        let mut sources: Vec<u32> = Vec::with_capacity(self.choices.len());
        let mut run = self.before.clone();
        while sources.len() < self.choices.len() {
            let (from, weeks) = self.block(past, sources.len(), &run, &mut stream);
            let weeks = weeks.min(self.choices.len() - sources.len());
            for week in 0..weeks {
                sources.push((from + 7 * week) as u32);
                run.push(past.week(from + 7 * week));
            }
        }
        sources
    }

    /// The day on which a block begins, and its weeks.
    fn block(
        &self,
        past: &Past<'_>,
        week: usize,
        run: &[f64],
        stream: &mut ChaCha8Rng,
    ) -> (usize, usize) {
        let (least, most) = BLOCK_WEEKS;
        let weeks = least + (uniform(stream) * (most - least + 1) as f64) as usize;
        let moved = (uniform(stream) * (2 * MOST_MOVED + 1) as f64) as i64 - MOST_MOVED;
        let drawn = uniform(stream);
        let days = past.record.days().len();
        let fits = |place: &&Place| {
            let from = signed(place.from) + moved;
            from >= 0 && from + 7 * signed(weeks) <= signed(days)
        };
        let choice = &self.choices[week];
        let own = RUNS.map(|(weeks, _)| {
            let last = run.len().checked_sub(weeks)?;
            Some(run[last..].iter().sum::<f64>() / weeks as f64)
        });
        let whole: Vec<(usize, f64)> = choice
            .places
            .iter()
            .filter(fits)
            .map(|it| (it.from, choice.nearness(it, own) / it.density))
            .collect();
        let mut left = drawn * whole.iter().map(|(_, weight)| weight).sum::<f64>();
        let chosen = whole.iter().position(|(_, weight)| {
            left -= weight;
            left < 0.0
        });
        // Three whole years have at least one place for any block.
        let (from, _) = whole[chosen.unwrap_or(whole.len() - 1)];
        ((signed(from) + moved) as usize, weeks)
    }
}

/// Weekly anomalies of the weeks before the plan, where the record has the last of them.
fn known_before(past: &Past<'_>, first_monday: Date) -> Vec<f64> {
    /// Days by which the record may end before the plan and still tell how it begins.
    const LATE_DAYS: i64 = 14;
    let after_last = past.record.days().len();
    let begins = days_between(past.record.first(), first_monday);
    let until = begins.min(signed(after_last));
    if until < 0 || begins - until > LATE_DAYS {
        return Vec::new();
    }
    let most = RUNS.iter().map(|(weeks, _)| *weeks).max().unwrap_or(0);
    let weeks = most.min(until as usize / 7);
    (1..=weeks)
        .rev()
        .map(|back| past.week(until as usize - 7 * back))
        .collect()
}

/// Standard deviation; 0 of fewer than two values.
fn spread(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let count = values.clone().count();
    if count < 2 {
        return 0.0;
    }
    let mean = values.clone().sum::<f64>() / count as f64;
    let squares: f64 = values.map(|it| (it - mean) * (it - mean)).sum();
    libm::sqrt(squares / (count - 1) as f64)
}
