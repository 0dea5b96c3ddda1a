//! Odds and spreads, read off a tally.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::causes::{ALL, Factor};
use crate::outline::{LineOutline, Outline};
use crate::tally::{Circumstances, Counts, LineTally, Tally, Worse};

/// What the futures of a case say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// How many futures.
    pub futures: u32,
    /// By order id.
    pub orders: BTreeMap<String, LineOdds>,
    /// The weeks of `free`.
    pub weeks: Vec<u32>,
    /// Ready plants left at the end of those weeks, by stage.
    pub free: BTreeMap<String, Free>,
    /// Mean plants that become ready in each week, by stage; only if asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub arrivals: Option<BTreeMap<String, Vec<f64>>>,
}

/// The odds of one order line, over the futures in which it is kept. All are 0 if there are none.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LineOdds {
    /// Futures in which the customer keeps the order.
    pub kept: u32,
    /// Share of them in which it is complete by its due week.
    pub on_time: f64,
    /// Share of them in which it is complete by its latest week.
    pub by_latest: f64,
    /// Mean plants short at the end, 0 where complete.
    pub mean_short: f64,
    /// Standard deviation of the plants short (over all of them, not of a sample).
    pub sd_short: f64,
    /// In which week it is complete.
    pub week: WeekQuantiles,
    /// What the misses have most in common.
    pub driver: Driver,
    /// What was the case around it when it was on time; none if it never is.
    pub when_on_time: Option<Around>,
    /// What was the case around it when it was not; none if it always is.
    pub when_missed: Option<Around>,
    /// What was worse than expected by its due week, in the stages that its plants come from.
    #[serde(default)]
    pub causes: Vec<Cause>,
    /// The factor that sets the misses apart most; none where nothing is missed or no factor is worse
    /// more often in misses.
    #[serde(default)]
    pub cause: Option<Factor>,
}

/// In what share of the futures of a line one factor was worse than expected by its due week.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cause {
    /// The factor.
    pub what: Factor,
    /// Share of the futures in which the line is kept and not on time; 0 if there are none.
    pub when_missed: f64,
    /// Share of those in which it is on time; 0 if there are none.
    pub when_on_time: f64,
}

/// The weeks by which a line is complete in 10, 50 and 90 % of the futures in which it is kept; none
/// where it is complete in fewer of them. Weeks count from week 0 of the case.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeekQuantiles {
    /// Complete by then in 10 %.
    pub p10: Option<u32>,
    /// Complete by then in 50 %.
    pub p50: Option<u32>,
    /// Complete by then in 90 %.
    pub p90: Option<u32>,
}

/// What the futures in which a line is not on time have most in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Driver {
    /// It is on time in all.
    None,
    /// In at least half it is still short after its latest week: there are too few plants.
    TooFewPlants,
    /// In more than half it is complete after all: the plants come too late.
    TooLate,
}

/// Means over some futures of what was the case around a line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Around {
    /// Plants ready in its accepted stages by its due week, whoever took them.
    pub arrived_by_due: f64,
    /// Degree-days until the due week, in the climate of its first accepted stage (°C·d).
    pub degree_days_by_due: f64,
}

/// Ready plants of one stage that are left over, one value per report week.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Free {
    /// Mean.
    pub mean: Vec<f64>,
    /// Standard deviation (over all futures, not of a sample).
    pub sd: Vec<f64>,
    /// In 5 % of the futures there are fewer.
    pub p05: Vec<f64>,
    /// In half of the futures there are fewer.
    pub p50: Vec<f64>,
    /// In 95 % of the futures there are fewer.
    pub p95: Vec<f64>,
}

impl Summary {
    pub(crate) fn new(outline: &Outline, tally: &Tally) -> Self {
        let lines = outline
            .lines
            .iter()
            .zip(tally.lines.iter().zip(&tally.causes));
        let stages = || outline.stages.iter().cloned().enumerate();
        let width = outline.stages.len();
        let free = |stage| Free::new(tally.futures, tally.free.iter().skip(stage).step_by(width));
        let mean = |sum: &u64| mean(*sum, tally.futures);
        let arrivals = |stage| {
            tally
                .arrivals
                .iter()
                .skip(stage)
                .step_by(width)
                .map(mean)
                .collect()
        };
        Self {
            futures: tally.futures,
            orders: lines
                .map(|(line, tally)| (line.id.clone(), LineOdds::new(line, tally.0, tally.1)))
                .collect(),
            weeks: outline.report_weeks.clone(),
            free: stages().map(|(at, name)| (name, free(at))).collect(),
            arrivals: (!tally.arrivals.is_empty())
                .then(|| stages().map(|(at, name)| (name, arrivals(at))).collect()),
        }
    }
}

fn mean(sum: u64, count: u32) -> f64 {
    if count == 0 {
        0.0
    } else {
        sum as f64 / f64::from(count)
    }
}

impl LineOdds {
    fn new(line: &LineOutline, tally: &LineTally, worse: &Worse) -> Self {
        let missed = tally.kept - tally.on_time;
        let causes = Cause::of(worse, tally.on_time, missed);
        Self {
            cause: (missed > 0)
                .then(|| Cause::main(&causes, tally.on_time))
                .flatten(),
            causes,
            kept: tally.kept,
            on_time: mean(u64::from(tally.on_time), tally.kept),
            by_latest: mean(u64::from(tally.by_latest), tally.kept),
            mean_short: tally.short.mean(tally.kept),
            sd_short: tally.short.sd(tally.kept),
            week: WeekQuantiles::new(line, tally),
            driver: Driver::new(tally),
            when_on_time: Around::new(tally.when_on_time, tally.on_time),
            when_missed: Around::new(tally.when_missed, missed),
        }
    }
}

impl Cause {
    fn of(worse: &Worse, on_time: u32, missed: u32) -> Vec<Self> {
        let counts = worse.when_missed.into_iter().zip(worse.when_on_time);
        ALL.into_iter()
            .zip(counts)
            .map(|(what, (when_missed, when_on_time))| Self {
                what,
                when_missed: mean(u64::from(when_missed), missed),
                when_on_time: mean(u64::from(when_on_time), on_time),
            })
            .collect()
    }

    /// The factor that is worse more often in misses by most; the first of those alike.
    fn main(causes: &[Self], on_time: u32) -> Option<Factor> {
        let mut main = (0.0, None);
        for cause in causes {
            let more = cause.when_missed - cause.expected(on_time);
            if more > main.0 {
                main = (more, Some(cause.what));
            }
        }
        main.1
    }

    /// How often the factor is worse where the line is on time. A line that never is has nothing to
    /// be compared with but chance: an even one for what is as often better as worse.
    fn expected(&self, on_time: u32) -> f64 {
        match self.what {
            _ if on_time > 0 => self.when_on_time,
            Factor::Weather | Factor::Take | Factor::Growth => 0.5,
            Factor::Loss | Factor::Work => 0.0,
        }
    }
}

impl WeekQuantiles {
    fn new(line: &LineOutline, tally: &LineTally) -> Self {
        let by = |tenths: u64| {
            let mut complete = 0;
            let reached = |count: &u32| {
                complete += u64::from(*count);
                complete * 10 >= u64::from(tally.kept) * tenths && complete > 0
            };
            tally
                .complete_in
                .iter()
                .position(reached)
                .map(|week| line.first_week + week as u32)
        };
        Self {
            p10: by(1),
            p50: by(5),
            p90: by(9),
        }
    }
}

impl Driver {
    fn new(tally: &LineTally) -> Self {
        let late = tally.by_latest - tally.on_time;
        let short = tally.kept - tally.by_latest;
        match (late, short) {
            (0, 0) => Self::None,
            _ if late > short => Self::TooLate,
            _ => Self::TooFewPlants,
        }
    }
}

impl Around {
    fn new(sums: Circumstances, futures: u32) -> Option<Self> {
        (futures > 0).then(|| Self {
            arrived_by_due: mean(sums.arrived, futures),
            degree_days_by_due: mean(sums.degree_days, futures),
        })
    }
}

impl Free {
    fn new<'a>(futures: u32, counts: impl Iterator<Item = &'a Counts>) -> Self {
        let mut free = Self::default();
        for counts in counts {
            free.mean.push(counts.sums.mean(futures));
            free.sd.push(counts.sums.sd(futures));
            free.p05.push(counts.quantile(futures, 0.05));
            free.p50.push(counts.quantile(futures, 0.50));
            free.p95.push(counts.quantile(futures, 0.95));
        }
        free
    }
}
