//! How many plants a line could have by each week, and how many there are.

use std::ops::Range;

use crate::lowered::slack;
use crate::replay::Replay;
use crate::run::SimulateError;
use crate::stored::{Stored, StoredLine};
use crate::validate::problems_of_stages;

/// How many plants an order line could have by each week, in each future in which it is kept, if it
/// asked for all there are. It has its place among the other lines, but leaves out what it may do to
/// them.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    weeks: Range<usize>,
    tolerance: f64,
    futures: u32,
    /// By future and week: plants taken.
    plants: Vec<u32>,
    /// By future and week: the largest order that is complete to the last plant. It is more than the
    /// plants taken where a load waits for more; empty if there is no minimum load.
    in_sight: Vec<u32>,
}

/// One future of a supply, by week.
#[derive(Clone, Copy, Debug)]
struct Row<'a> {
    plants: &'a [u32],
    in_sight: &'a [u32],
}

impl Supply {
    /// What `line` could have until the end of week `until`.
    pub(crate) fn new(stored: &Stored, line: &StoredLine, until: usize) -> Self {
        let weeks = line.open.start..line.open.end.min(until.saturating_add(1));
        let mut replay = Replay::new(stored, &line.accepts, Some(line));
        replay.ask_for(u32::MAX, 0);
        let mut plants = Vec::with_capacity(weeks.len() * line.kept as usize);
        let mut in_sight = Vec::new();
        let kept = (0..stored.futures() as usize).filter(|future| line.is_kept(*future));
        for future in kept.filter(|_| !weeks.is_empty()) {
            replay.play(future, weeks.end - 1, |replay, week| {
                if week >= weeks.start {
                    plants.push(u32::MAX - replay.need_of_new().lacks);
                    if line.terms.minimum_load > 0 {
                        in_sight.push(u32::try_from(replay.in_sight()).unwrap_or(u32::MAX));
                    }
                }
            });
        }
        Self {
            weeks,
            tolerance: line.order.tolerance,
            futures: line.kept,
            plants,
            in_sight,
        }
    }

    /// The weeks in which plants are taken.
    pub fn weeks(&self) -> Range<usize> {
        self.weeks.clone()
    }

    /// In how many futures the line is kept.
    pub const fn futures(&self) -> u32 {
        self.futures
    }

    /// The share of the futures in which so many plants are complete by the end of a week.
    pub fn odds(&self, plants: u32, week: usize) -> f64 {
        self.odds_of_all(&[(plants, week)])
    }

    /// The share of the futures in which, for each of some weeks, so many plants in all are complete
    /// by its end: the odds of a delivery in parts.
    pub fn odds_of_all(&self, parts: &[(u32, usize)]) -> f64 {
        let parts: Option<Vec<(u32, usize)>> = parts
            .iter()
            .map(|(plants, week)| Some((*plants, self.place(*week)?)))
            .collect();
        let Some(parts) = parts.filter(|_| self.futures > 0) else {
            return 0.0;
        };
        let are_met = |row: &Row<'_>| {
            let mut parts = parts.iter();
            parts.all(|(plants, place)| self.completes(*row, *place, *plants))
        };
        let met = self.by_future().filter(are_met).count();
        met as f64 / f64::from(self.futures)
    }

    /// The most plants whose odds by the end of a week are at least `at_odds`.
    pub fn largest(&self, week: usize, at_odds: f64) -> u32 {
        let Some(place) = self.place(week) else {
            return 0;
        };
        let Some(enough) = futures_for(at_odds, self.futures).checked_sub(1) else {
            return 0;
        };
        let largest = |row: Row<'_>| {
            let sight = row.in_sight.get(place).copied().unwrap_or(0);
            self.largest_with(row.plants[place]).max(sight)
        };
        let mut largest: Vec<u32> = self.by_future().map(largest).collect();
        *largest
            .select_nth_unstable_by(enough as usize, |a, b| b.cmp(a))
            .1
    }

    /// The first week by whose end so many plants are complete with odds of at least `at_odds`.
    pub fn earliest(&self, plants: u32, at_odds: f64) -> Option<u32> {
        let wanted = futures_for(at_odds, self.futures);
        let mut complete = vec![0; self.weeks.len()];
        let places: Vec<usize> = (0..self.weeks.len()).collect();
        for row in self.by_future() {
            let first = places.partition_point(|place| !self.completes(row, *place, plants));
            if let Some(count) = complete.get_mut(first) {
                *count += 1;
            }
        }
        let place = first_week(complete.into_iter(), wanted)?;
        Some(self.weeks.start as u32 + place)
    }

    fn by_future(&self) -> impl Iterator<Item = Row<'_>> {
        let weeks = self.weeks.len().max(1);
        let row = move |(at, plants)| Row {
            plants,
            in_sight: self
                .in_sight
                .get(at * weeks..(at + 1) * weeks)
                .unwrap_or(&[]),
        };
        self.plants.chunks_exact(weeks).enumerate().map(row)
    }

    /// Whether an order of `plants` is complete by the end of a week.
    fn completes(&self, row: Row<'_>, place: usize, plants: u32) -> bool {
        let sight = row.in_sight.get(place);
        row.plants[place] >= self.enough(plants) || sight.is_some_and(|sight| *sight >= plants)
    }

    /// The place of a week, or of the last before it.
    fn place(&self, week: usize) -> Option<usize> {
        let last = self.weeks.len().checked_sub(1)?;
        Some(week.checked_sub(self.weeks.start)?.min(last))
    }

    /// The fewest plants with which an order of `plants` is complete.
    fn enough(&self, plants: u32) -> u32 {
        plants - slack(self.tolerance, plants).min(plants)
    }

    /// The largest order that so many plants complete.
    fn largest_with(&self, plants: u32) -> u32 {
        if self.tolerance <= 0.0 {
            return plants;
        }
        // What an order is complete with grows with it.
        let (mut fits, mut too_many) = (plants, u64::from(u32::MAX) + 1);
        while u64::from(fits) + 1 < too_many {
            let middle = u64::midpoint(u64::from(fits), too_many) as u32;
            if self.enough(middle) <= plants {
                fits = middle;
            } else {
                too_many = u64::from(middle);
            }
        }
        fits
    }
}

/// The fewest of `futures` that make a share of at least `odds`.
pub fn futures_for(odds: f64, futures: u32) -> u32 {
    let is_enough = |count: u32| f64::from(count) / f64::from(futures) >= odds;
    let mut count = (odds * f64::from(futures)).ceil() as u32;
    while count > 0 && is_enough(count - 1) {
        count -= 1;
    }
    while count < futures && !is_enough(count) {
        count += 1;
    }
    count
}

/// The first week by whose end `wanted` futures are complete, from how many are in each.
pub fn first_week(complete_in: impl Iterator<Item = u32>, wanted: u32) -> Option<u32> {
    let mut sum = 0;
    let mut sums = complete_in.map(|count| {
        sum += count;
        sum
    });
    let week = sums.position(|sum| sum > 0 && sum >= wanted);
    week.map(|week| week as u32)
}

/// Plants of some stages together by week: five quantiles over the futures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fan {
    /// Plants that have come by the end of each week, without those that operations take on.
    pub come: Vec<Quantiles>,
    /// Ready plants that nobody has taken at the end of each week, without those set aside for
    /// operations.
    pub left: Vec<Quantiles>,
}

/// Of all futures, in 5, 25, 50, 75 and 95 of 100 there are fewer.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quantiles {
    /// Fewer in 5 of 100.
    pub p05: f64,
    /// Fewer in 25 of 100.
    pub p25: f64,
    /// Fewer in half.
    pub p50: f64,
    /// Fewer in 75 of 100.
    pub p75: f64,
    /// Fewer in 95 of 100.
    pub p95: f64,
}

impl Stored {
    /// What a line could have by each week, in its place among the others.
    ///
    /// # Errors
    /// What is wrong with the line.
    pub fn supply(&self, order: &crate::case::Order) -> Result<Supply, SimulateError> {
        let line = self.checked(order, None)?;
        Ok(Supply::new(self, &line, usize::MAX))
    }

    /// Ready plants of some stages together, week by week.
    ///
    /// # Errors
    /// Stages that are not stored.
    pub fn fan(&self, stages: &[&str]) -> Result<Fan, SimulateError> {
        let problems = problems_of_stages(self.stages(), stages);
        if !problems.is_empty() {
            return Err(SimulateError::Invalid(problems));
        }
        let stages: Vec<usize> = (0..self.stages.len())
            .filter(|at| stages.contains(&self.stages[*at].name.as_str()))
            .collect();
        let (come, left) = self.come_and_left(&stages);
        Ok(Fan {
            come: come.into_iter().map(Quantiles::of).collect(),
            left: left.into_iter().map(Quantiles::of).collect(),
        })
    }

    /// By week and future, the plants come and those left.
    fn come_and_left(&self, stages: &[usize]) -> (Vec<Vec<u32>>, Vec<Vec<u32>>) {
        let futures = self.futures() as usize;
        let mut come = vec![vec![0; futures]; self.weeks];
        let mut left = come.clone();
        let mut replay = Replay::new(self, stages, None);
        let places: Vec<usize> = (0..replay.stages().len())
            .filter(|place| stages.contains(&replay.stages()[*place]))
            .collect();
        for future in 0..futures {
            for stage in stages.iter().map(|at| &self.stages[*at]) {
                for it in stage.stock.come(future) {
                    come[stage.week_of(it.bucket)][future] += it.plants;
                }
            }
            for week in 1..self.weeks {
                come[week][future] += come[week - 1][future];
            }
            replay.play_every_week(future, |replay, week| {
                for place in &places {
                    replay.supply(*place, week);
                    left[week][future] += replay.shelves[*place].ready();
                }
            });
        }
        (come, left)
    }
}

impl Quantiles {
    /// Quantiles that are linear between neighbors; 0 of none.
    fn of(mut plants: Vec<u32>) -> Self {
        plants.sort_unstable();
        let at = |p: f64| {
            let place = p * plants.len().saturating_sub(1) as f64;
            let value = |place: f64| plants.get(place as usize).map_or(0.0, |it| f64::from(*it));
            let (below, above) = (value(place.floor()), value(place.ceil()));
            below + (above - below) * place.fract()
        };
        Self {
            p05: at(0.05),
            p25: at(0.25),
            p50: at(0.5),
            p75: at(0.75),
            p95: at(0.95),
        }
    }
}
