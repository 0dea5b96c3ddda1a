//! What many futures came to, in whole numbers only: tallies of parts of a run add up to the tally
//! of the run, in any order.

use serde::{Deserialize, Serialize};

use crate::causes::FACTORS;
use crate::future::{Future, LineOutcome};
use crate::lowered::{Line, Lowered};

/// Counts and sums over a number of futures. Its size depends on the case, not on their number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    pub(crate) futures: u32,
    pub(crate) lines: Vec<LineTally>,
    /// By report week and stage.
    pub(crate) free: Vec<Counts>,
    /// By week and stage: plants that became ready; empty if not asked for.
    pub(crate) arrivals: Vec<u64>,
    /// By line: what was worse than expected.
    pub(crate) causes: Vec<Worse>,
}

/// In how many of the futures in which a line is kept each factor was worse than expected by the
/// line's due week.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Worse {
    /// Of those in which it is on time.
    pub when_on_time: [u32; FACTORS],
    /// Of those in which it is not.
    pub when_missed: [u32; FACTORS],
}

/// One order line, over the futures in which it is kept.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct LineTally {
    pub kept: u32,
    pub on_time: u32,
    pub by_latest: u32,
    pub short: Sums,
    /// Futures in which it was complete in its first, second … open week.
    pub complete_in: Vec<u32>,
    /// Sums over the futures in which it is on time.
    pub when_on_time: Circumstances,
    /// Sums over the futures in which it is not.
    pub when_missed: Circumstances,
}

/// What was the case around a line, summed over futures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Circumstances {
    pub arrived: u64,
    pub degree_days: u64,
}

/// Sum and sum of squares.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Sums {
    pub sum: u64,
    pub squares: u128,
}

/// How often each number of plants came up: exactly below 256, above in bins of at most 1/128 of
/// their size.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Counts {
    pub sums: Sums,
    pub bins: Vec<u32>,
}

impl Tally {
    pub(crate) fn new(lowered: &Lowered, keep_arrivals: bool) -> Self {
        let stages = lowered.stages.len();
        let line = |line: &Line| LineTally {
            complete_in: vec![0; line.open_weeks],
            ..LineTally::default()
        };
        Self {
            futures: 0,
            lines: lowered.lines.iter().map(line).collect(),
            free: vec![Counts::default(); stages * lowered.report_weeks.len()],
            arrivals: vec![
                0;
                if keep_arrivals {
                    stages * lowered.weeks
                } else {
                    0
                }
            ],
            causes: vec![Worse::default(); lowered.lines.len()],
        }
    }

    pub(crate) fn add(&mut self, lowered: &Lowered, future: &Future<'_>) {
        self.futures += 1;
        for ((tally, line), outcome) in self.lines.iter_mut().zip(&lowered.lines).zip(&future.lines)
        {
            if outcome.kept {
                tally.add(line, *outcome, future.path);
            }
        }
        let families = lowered.causes.of_line.iter().zip(&lowered.lines);
        for ((worse, (family, line)), outcome) in
            self.causes.iter_mut().zip(families).zip(&future.lines)
        {
            if let (Some(family), true) = (family, outcome.kept) {
                worse.add(future.worse[*family], outcome.is_on_time(line));
            }
        }
        for (counts, plants) in self.free.iter_mut().zip(&future.free) {
            counts.add(*plants);
        }
        let stages = lowered.stages.len();
        if !self.arrivals.is_empty() {
            for stage in 0..stages {
                let sums = self.arrivals.iter_mut().skip(stage).step_by(stages);
                for (sum, plants) in sums.zip(future.arrivals_of(stage)) {
                    *sum += u64::from(*plants);
                }
            }
        }
    }

    /// Adds the tally of other futures of the same case.
    pub fn merge(&mut self, other: &Self) {
        self.futures += other.futures;
        for (line, other) in self.lines.iter_mut().zip(&other.lines) {
            line.merge(other);
        }
        for (counts, other) in self.free.iter_mut().zip(&other.free) {
            counts.merge(other);
        }
        for (sum, other) in self.arrivals.iter_mut().zip(&other.arrivals) {
            *sum = sum.saturating_add(*other);
        }
        for (worse, other) in self.causes.iter_mut().zip(&other.causes) {
            worse.merge(other);
        }
    }
}

impl Worse {
    fn add(&mut self, worse: [bool; FACTORS], is_on_time: bool) {
        let counts = if is_on_time {
            &mut self.when_on_time
        } else {
            &mut self.when_missed
        };
        for (count, worse) in counts.iter_mut().zip(worse) {
            *count += u32::from(worse);
        }
    }

    fn merge(&mut self, other: &Self) {
        let pairs = [
            (&mut self.when_on_time, other.when_on_time),
            (&mut self.when_missed, other.when_missed),
        ];
        for (counts, others) in pairs {
            for (count, other) in counts.iter_mut().zip(others) {
                *count += other;
            }
        }
    }
}

impl LineTally {
    fn add(&mut self, line: &Line, outcome: LineOutcome, path: usize) {
        self.kept += 1;
        let on_time = outcome.is_on_time(line);
        let circumstances = if on_time {
            &mut self.when_on_time
        } else {
            &mut self.when_missed
        };
        circumstances.arrived += outcome.arrived_by_due;
        circumstances.degree_days += line.degree_days_by_due[path];
        self.on_time += u32::from(on_time);
        if let Some(week) = outcome.need.complete {
            self.by_latest += 1;
            self.complete_in[week - line.first_week] += 1;
        } else {
            self.short.add(outcome.need.lacks);
        }
    }

    fn merge(&mut self, other: &Self) {
        self.kept += other.kept;
        self.on_time += other.on_time;
        self.by_latest += other.by_latest;
        self.short.merge(other.short);
        for (count, other) in self.complete_in.iter_mut().zip(&other.complete_in) {
            *count += other;
        }
        self.when_on_time.merge(other.when_on_time);
        self.when_missed.merge(other.when_missed);
    }
}

impl Circumstances {
    fn merge(&mut self, other: Self) {
        // Only numbers that no futures can come to would be held here.
        self.arrived = self.arrived.saturating_add(other.arrived);
        self.degree_days = self.degree_days.saturating_add(other.degree_days);
    }
}

impl Sums {
    fn add(&mut self, value: u32) {
        self.sum += u64::from(value);
        self.squares += u128::from(value) * u128::from(value);
    }

    fn merge(&mut self, other: Self) {
        self.sum += other.sum;
        self.squares += other.squares;
    }

    /// The mean of `count` values; 0 of none.
    pub fn mean(self, count: u32) -> f64 {
        if count == 0 {
            0.0
        } else {
            self.sum as f64 / f64::from(count)
        }
    }

    /// The standard deviation (of the values themselves, not of a sample); 0 of none.
    pub fn sd(self, count: u32) -> f64 {
        if count == 0 {
            return 0.0;
        }
        let squared_sum = u128::from(self.sum) * u128::from(self.sum);
        let scaled = u128::from(count) * self.squares - squared_sum;
        (scaled as f64).sqrt() / f64::from(count)
    }
}

/// Values below this have a bin each.
const EXACT: u32 = 256;

/// Bins per doubling above.
const BINS_PER_DOUBLING: u32 = 128;

/// Bins of all numbers of plants.
pub(crate) const MOST_BINS: usize =
    (EXACT + (u32::BITS - EXACT.ilog2()) * BINS_PER_DOUBLING) as usize;

fn bin_of(value: u32) -> usize {
    if value < EXACT {
        return value as usize;
    }
    let doublings = value.ilog2() - EXACT.ilog2();
    let within = (value >> (doublings + 1)) - BINS_PER_DOUBLING;
    (EXACT + doublings * BINS_PER_DOUBLING + within) as usize
}

/// The middle of the values of a bin.
fn value_of(bin: usize) -> f64 {
    let bin = bin as u32;
    if bin < EXACT {
        return f64::from(bin);
    }
    let doublings = (bin - EXACT) / BINS_PER_DOUBLING;
    let within = (bin - EXACT) % BINS_PER_DOUBLING;
    let width = f64::from(1u32 << doublings) * 2.0;
    f64::from(BINS_PER_DOUBLING + within) * width + (width - 1.0) / 2.0
}

impl Counts {
    fn add(&mut self, value: u32) {
        self.sums.add(value);
        let bin = bin_of(value);
        if bin >= self.bins.len() {
            self.bins.resize(bin + 1, 0);
        }
        self.bins[bin] += 1;
    }

    fn merge(&mut self, other: &Self) {
        self.sums.merge(other.sums);
        self.bins.resize(self.bins.len().max(other.bins.len()), 0);
        for (count, other) in self.bins.iter_mut().zip(&other.bins) {
            *count += other;
        }
    }

    /// The value below which a share `p` of `count` values lies, linear between neighbors.
    pub fn quantile(&self, count: u32, p: f64) -> f64 {
        let place = p * f64::from(count.saturating_sub(1));
        let below = self.nth(place.floor() as u64);
        let above = self.nth(place.ceil() as u64);
        below + (above - below) * place.fract()
    }

    /// The value with `rank` others before it.
    fn nth(&self, rank: u64) -> f64 {
        let mut passed = 0;
        let holds = |count: &u32| {
            passed += u64::from(*count);
            passed > rank
        };
        self.bins.iter().position(holds).map_or(0.0, value_of)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bins_are_in_order_and_narrow() {
        let values = (0..5_000u32)
            .chain((0..27).map(|power| 5_000 << (power % 19)))
            .chain([u32::MAX]);
        for value in values {
            let middle = value_of(bin_of(value));
            assert!(
                (middle - f64::from(value)).abs() <= f64::from(value) / 256.0,
                "{value}: {middle}"
            );
            assert!(value >= EXACT || (middle - f64::from(value)).abs() < 1e-9);
        }
        assert!((1..100_000).all(|value| (0..=1).contains(&(bin_of(value) - bin_of(value - 1)))));
    }

    #[test]
    fn quantiles_are_linear_between_neighbors() {
        let mut counts = Counts::default();
        for value in [10, 20, 30, 40] {
            counts.add(value);
        }
        assert!((counts.quantile(4, 0.5) - 25.0).abs() < 1e-12);
        assert!((counts.quantile(4, 0.05) - 11.5).abs() < 1e-12);
        assert!((counts.sums.mean(4) - 25.0).abs() < 1e-12);
        assert!((counts.sums.sd(4) - 125f64.sqrt()).abs() < 1e-12);
        assert!(Counts::default().quantile(0, 0.5).abs() < 1e-12);
    }

    #[test]
    fn halves_add_up() {
        let (mut all, mut one, mut two) = (Counts::default(), Counts::default(), Counts::default());
        for value in [3, 70_000, 3, 0, 512] {
            all.add(value);
            let half = if value > 100 { &mut one } else { &mut two };
            half.add(value);
        }
        one.merge(&two);
        assert_eq!(one, all);
    }
}
