//! A tally as it is written to a file: the same whole numbers without their names, and of each
//! histogram only what is not 0. What is read is checked to be a tally that futures can come to.

use serde::{Deserialize, Serialize};

use crate::causes::FACTORS;
use crate::outline::{LineOutline, Outline};
use crate::tally::{Circumstances, Counts, LineTally, MOST_BINS, Sums, Tally, Worse};

/// The numbers of a tally.
#[derive(Debug, Serialize, Deserialize)]
pub struct Wire {
    lines: Vec<WireLine>,
    free: Vec<WireCounts>,
    arrivals: Vec<u64>,
}

/// Kept, on time, by latest; short; completions by open week; what was around it when on time and
/// missed; what was worse then.
#[derive(Debug, Serialize, Deserialize)]
struct WireLine(
    [u32; 3],
    WireSums,
    Vec<u32>,
    [[u64; 2]; 2],
    [[u32; FACTORS]; 2],
);

/// Sum and sum of squares.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
struct WireSums(u64, u128);

/// Sums, and for each bin that is not empty how many empty ones lie before it and what it holds.
#[derive(Debug, Serialize, Deserialize)]
struct WireCounts(WireSums, Vec<(u32, u32)>);

impl Wire {
    /// The numbers of a tally.
    pub fn of(tally: &Tally) -> Self {
        let lines = tally.lines.iter().zip(&tally.causes);
        Self {
            lines: lines
                .map(|(line, worse)| WireLine::of(line, *worse))
                .collect(),
            free: tally.free.iter().map(WireCounts::of).collect(),
            arrivals: tally.arrivals.clone(),
        }
    }

    /// The tally of so many futures of a case with this outline; none if it cannot be one.
    pub fn tally(self, futures: u32, outline: &Outline) -> Option<Tally> {
        let stages = outline.stages.len();
        let weeks_of_arrivals = self.arrivals.len().checked_div(stages).unwrap_or(0);
        let fits = self.lines.len() == outline.lines.len()
            && self.free.len() == stages * outline.report_weeks.len()
            && self.arrivals.len() == stages * weeks_of_arrivals
            && [0, outline.weeks as usize].contains(&weeks_of_arrivals);
        if !fits {
            return None;
        }
        let lines = self.lines.into_iter().zip(&outline.lines);
        let lines: Option<Vec<_>> = lines.map(|(wire, line)| wire.line(futures, line)).collect();
        let (lines, causes) = lines?.into_iter().unzip();
        let free = self.free.into_iter().map(|wire| wire.counts(futures));
        Some(Tally {
            futures,
            lines,
            free: free.collect::<Option<_>>()?,
            arrivals: self.arrivals,
            causes,
        })
    }
}

impl WireLine {
    fn of(line: &LineTally, worse: Worse) -> Self {
        let around = |it: Circumstances| [it.arrived, it.degree_days];
        Self(
            [line.kept, line.on_time, line.by_latest],
            WireSums::of(line.short),
            line.complete_in.clone(),
            [around(line.when_on_time), around(line.when_missed)],
            [worse.when_on_time, worse.when_missed],
        )
    }

    fn line(self, futures: u32, outline: &LineOutline) -> Option<(LineTally, Worse)> {
        let Self([kept, on_time, by_latest], short, complete_in, around, worse) = self;
        let [when_on_time, when_missed] = worse;
        let complete: u64 = complete_in.iter().copied().map(u64::from).sum();
        let fits = on_time <= by_latest
            && by_latest <= kept
            && kept <= futures
            && complete_in.len() == outline.open_weeks as usize
            && complete == u64::from(by_latest)
            && when_on_time.iter().all(|count| *count <= on_time)
            && when_missed.iter().all(|count| *count <= kept - on_time);
        let [around_on_time, around_missed] = around.map(|[arrived, degree_days]| Circumstances {
            arrived,
            degree_days,
        });
        let line = LineTally {
            kept,
            on_time,
            by_latest,
            short: short.sums(kept)?,
            complete_in,
            when_on_time: around_on_time,
            when_missed: around_missed,
        };
        let worse = Worse {
            when_on_time,
            when_missed,
        };
        fits.then_some((line, worse))
    }
}

impl WireSums {
    fn of(sums: Sums) -> Self {
        Self(sums.sum, sums.squares)
    }

    /// The sums of so many values; none where no values have them.
    fn sums(self, count: u32) -> Option<Sums> {
        let Self(sum, squares) = self;
        let (count, largest) = (u128::from(count), u128::from(u32::MAX));
        let fits = u128::from(sum) <= count * largest
            && squares <= count * largest * largest
            && u128::from(sum) * u128::from(sum) <= count * squares;
        fits.then_some(Sums { sum, squares })
    }
}

impl WireCounts {
    fn of(counts: &Counts) -> Self {
        let mut empty = 0;
        let mut bins = Vec::new();
        for count in &counts.bins {
            if *count == 0 {
                empty += 1;
            } else {
                bins.push((std::mem::take(&mut empty), *count));
            }
        }
        Self(WireSums::of(counts.sums), bins)
    }

    fn counts(self, futures: u32) -> Option<Counts> {
        let Self(sums, filled) = self;
        let mut bins: Vec<u32> = Vec::new();
        let mut all = 0u64;
        for (empty, count) in filled {
            let bin = bins.len().checked_add(empty as usize)?;
            if bin >= MOST_BINS || count == 0 {
                return None;
            }
            bins.resize(bin, 0);
            bins.push(count);
            all += u64::from(count);
        }
        let sums = sums.sums(futures)?;
        (all == u64::from(futures)).then_some(Counts { sums, bins })
    }
}
