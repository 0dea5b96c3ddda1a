//! Runs many futures, on as many threads as asked.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use crate::case::{Case, CaseProblem, Order};
use crate::future::Future;
use crate::lowered::Lowered;
use crate::outline::Outline;
use crate::stream::Streams;
use crate::summary::Summary;
use crate::tally::Tally;

/// How to run a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// How many futures.
    pub futures: u32,
    /// The seed. The same seed gives the same futures, however many of them.
    pub seed: u64,
    /// How many threads; 0 is taken as 1. The result does not depend on it.
    pub threads: usize,
    /// Whether to keep the plants that become ready, by stage and week.
    pub keep_arrivals: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            futures: 1_000,
            seed: 1,
            threads: 1,
            keep_arrivals: false,
        }
    }
}

/// Why there is no summary.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SimulateError {
    /// The case breaks rules; all of them are told.
    #[error("the case has {} problem(s), the first: {}", .0.len(), .0[0])]
    Invalid(Vec<CaseProblem>),
    /// Whoever asked for it asked to stop.
    #[error("canceled")]
    Canceled,
}

/// Told now and then how many futures are done, from any thread.
pub type Progress<'a> = &'a (dyn Fn(u32) + Sync);

/// A case that has been checked and made ready to run.
#[derive(Debug)]
pub struct Engine {
    pub(crate) lowered: Lowered,
    pub(crate) orders: Vec<Order>,
    /// Names of the crews, in order.
    pub(crate) crews: Vec<String>,
    outline: Outline,
}

impl Engine {
    /// Checks a case and makes it ready.
    pub fn try_new(case: &Case) -> Result<Self, SimulateError> {
        let problems = case.validate();
        if problems.is_empty() {
            let lowered = Lowered::new(case);
            let outline = lowered.outline();
            Ok(Self {
                lowered,
                orders: case.orders.clone(),
                crews: crews(case),
                outline,
            })
        } else {
            Err(SimulateError::Invalid(problems))
        }
    }

    /// Runs the futures `which` and counts what comes of them. Tallies of different futures, made
    /// anywhere, merge into the tally of all of them. `futures` of the options is not read.
    pub fn tally(
        &self,
        which: Range<u32>,
        options: &Options,
        progress: Option<Progress<'_>>,
        cancel: Option<&AtomicBool>,
    ) -> Result<Tally, SimulateError> {
        let job = Job {
            which,
            threads: options.threads,
            progress,
            cancel,
        };
        let tallies = job.share_out(|queue| self.take_from(queue, options))?;
        let mut all = Tally::new(&self.lowered, options.keep_arrivals);
        for tally in tallies {
            all.merge(&tally);
        }
        Ok(all)
    }

    /// Reads odds and spreads off a tally of this case.
    pub fn summary(&self, tally: &Tally) -> Summary {
        Summary::new(&self.outline, tally)
    }

    /// Names and weeks of the case.
    pub(crate) fn outline(&self) -> &Outline {
        &self.outline
    }

    /// Plays chunks of futures until none are left; none if canceled.
    fn take_from(&self, queue: &Queue<'_>, options: &Options) -> Option<Tally> {
        let mut tally = Tally::new(&self.lowered, options.keep_arrivals);
        let mut future = Future::new(&self.lowered);
        queue.play(&mut future, options.seed, |_, future| {
            tally.add(&self.lowered, future);
        })?;
        Some(tally)
    }
}

fn crews(case: &Case) -> Vec<String> {
    let mut names: Vec<String> = case.crews.iter().map(|crew| crew.id.clone()).collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// Futures to play, and how.
pub struct Job<'a> {
    /// Which.
    pub which: Range<u32>,
    /// On how many threads.
    pub threads: usize,
    /// Told how many are done.
    pub progress: Option<Progress<'a>>,
    /// Set to stop.
    pub cancel: Option<&'a AtomicBool>,
}

impl<'a> Job<'a> {
    /// Lets each thread work on the queue, and hands over what they made of it.
    pub fn share_out<T: Send>(
        self,
        work: impl Fn(&Queue<'a>) -> Option<T> + Sync,
    ) -> Result<Vec<T>, SimulateError> {
        let threads = self.threads;
        let queue = Queue {
            next: AtomicU32::new(0),
            done: AtomicU32::new(0),
            job: self,
        };
        let run = || work(&queue);
        std::thread::scope(|scope| {
            let others: Vec<_> = (1..threads).map(|_| scope.spawn(run)).collect();
            let own = run();
            let others = others
                .into_iter()
                .map(|thread| thread.join().expect("a future does not panic"));
            std::iter::once(own)
                .chain(others)
                .map(|made| made.ok_or(SimulateError::Canceled))
                .collect()
        })
    }
}

/// Futures that the threads share out among themselves.
pub struct Queue<'a> {
    job: Job<'a>,
    /// The next chunk.
    next: AtomicU32,
    done: AtomicU32,
}

/// Futures taken at once: enough to keep threads apart, few enough to end together.
const CHUNK: u32 = 8;

impl Queue<'_> {
    /// Plays chunks of futures until none are left, and hands over each with its number; none if
    /// canceled.
    pub fn play<'l>(
        &self,
        future: &mut Future<'l>,
        seed: u64,
        mut played: impl FnMut(u32, &Future<'l>),
    ) -> Option<()> {
        let job = &self.job;
        while let Some(chunk) = self.chunk() {
            for number in chunk.clone() {
                if job
                    .cancel
                    .is_some_and(|cancel| cancel.load(Ordering::Relaxed))
                {
                    return None;
                }
                future.play(Streams {
                    seed,
                    future: number,
                });
                played(number, future);
            }
            self.report(chunk.len() as u32);
        }
        Some(())
    }

    fn chunk(&self) -> Option<Range<u32>> {
        let which = &self.job.which;
        let skipped = self
            .next
            .fetch_add(1, Ordering::Relaxed)
            .checked_mul(CHUNK)?;
        let start = which.start.checked_add(skipped)?;
        (start < which.end).then(|| start..start.saturating_add(CHUNK).min(which.end))
    }

    fn report(&self, futures: u32) {
        let done = self.done.fetch_add(futures, Ordering::Relaxed) + futures;
        if let Some(progress) = self.job.progress {
            progress(done);
        }
    }
}

/// Plays the futures 0 … `options.futures − 1` of a case and sums them up.
///
/// The result is a function of case, futures and seed: the same numbers on any number of threads and
/// on any machine.
///
/// # Errors
/// Everything that is wrong with the case, or that `cancel` was set.
pub fn simulate(
    case: &Case,
    options: &Options,
    progress: Option<Progress<'_>>,
    cancel: Option<&AtomicBool>,
) -> Result<Summary, SimulateError> {
    let engine = Engine::try_new(case)?;
    let tally = engine.tally(0..options.futures, options, progress, cancel)?;
    Ok(engine.summary(&tally))
}
