//! What goes in and out in many futures, in whole numbers: plants shipped, put through work, waiting,
//! discarded and left, and hired hours. Whoever knows prices makes money of it.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::atomic::AtomicBool;

use crate::case::CaseProblem;
use crate::future::{Future, LineOutcome};
use crate::run::{Engine, Job, Options, Progress, Queue, SimulateError};
use crate::shelf::Shelf;
use crate::tally::Tally;

/// Parts of an hour that hired hours are counted in.
const PARTS: f64 = 1e6;

/// What to count beside the odds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Count {
    /// By crew, the hours of each week that cost nothing on top; what is worked beyond them is hired.
    pub own_hours: BTreeMap<String, Vec<f64>>,
    /// Where to look at what is held beyond what is owed.
    pub watches: Vec<WatchedStand>,
}

/// Stages looked at in one week, with the lines they are held for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WatchedStand {
    /// The stages.
    pub stages: Vec<String>,
    /// At the end of this week.
    pub week: usize,
    /// The order lines.
    pub lines: Vec<String>,
}

/// What goes in and out, summed over futures. Sums of different futures add up in any order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Turnover {
    /// How many futures.
    pub futures: u32,
    /// By order line.
    pub lines: BTreeMap<String, LineTurnover>,
    /// By operation of the case, in its order: plants put through in its first week and each after it.
    pub done: Vec<Vec<u64>>,
    /// By stage.
    pub stages: BTreeMap<String, StageTurnover>,
    /// By crew and week: hired hours, in millionths.
    pub hired: BTreeMap<String, Vec<u64>>,
    /// By watched stand: how often it held so many plants more than its lines still lacked.
    pub held: Vec<BTreeMap<i64, u32>>,
}

/// Plants of an order line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LineTurnover {
    /// Names of the stages it accepts.
    pub accepts: Vec<String>,
    /// The first week in which it may take plants.
    pub first_week: usize,
    /// Plants shipped, by accepted stage and week from the first on.
    pub shipped: Vec<Vec<u64>>,
    /// Plants short at the end; none of a line that is complete or was not kept.
    pub short: u64,
}

/// Ready plants of a stage.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct StageTurnover {
    /// Plants left at the end of a week, summed over weeks.
    pub waited: u64,
    /// Plants that were too old.
    pub discarded: u64,
    /// Plants left at the end of the last week.
    pub left: u64,
}

impl Turnover {
    /// Hired hours of a crew in a week, in the mean.
    pub fn hired_hours(&self, crew: &str, week: usize) -> f64 {
        let parts = self.hired.get(crew).and_then(|weeks| weeks.get(week));
        self.mean(parts.copied().unwrap_or(0)) / PARTS
    }

    /// The mean of a sum over futures; 0 of none.
    pub fn mean(&self, sum: u64) -> f64 {
        if self.futures == 0 {
            0.0
        } else {
            sum as f64 / f64::from(self.futures)
        }
    }
}

/// Counts while futures are played.
#[derive(Clone, Debug)]
pub struct Counter {
    /// By line, accepted stage and open week.
    shipped: Vec<Vec<Vec<u64>>>,
    short: Vec<u64>,
    done: Vec<Vec<u64>>,
    stages: Vec<StageTurnover>,
    own_hours: Vec<Vec<f64>>,
    hired: Vec<Vec<u64>>,
    watches: Vec<Watched>,
    held: Vec<BTreeMap<i64, u32>>,
    /// Ready plants of a line's stages before it takes.
    before: Vec<u32>,
}

/// A watched stand in places of the lowered case.
#[derive(Clone, Debug)]
struct Watched {
    stages: Vec<usize>,
    week: usize,
    lines: Vec<usize>,
}

impl Counter {
    fn new(engine: &Engine, count: &Count) -> Self {
        let lowered = &engine.lowered;
        let stage_at = |name: &String| lowered.stages.binary_search(name).ok();
        let line_at = |id: &String| {
            let found = lowered.lines.binary_search_by(|line| line.id.cmp(id));
            found.ok()
        };
        let watches = count.watches.iter().map(|stand| Watched {
            stages: stand.stages.iter().filter_map(stage_at).collect(),
            week: stand.week,
            lines: stand.lines.iter().filter_map(line_at).collect(),
        });
        let own = |crew: &String| count.own_hours.get(crew).cloned().unwrap_or_default();
        Self {
            shipped: lowered
                .lines
                .iter()
                .map(|line| vec![vec![0; line.open_weeks]; line.accepts.len()])
                .collect(),
            short: vec![0; lowered.lines.len()],
            done: vec![Vec::new(); lowered.operations.len()],
            stages: vec![StageTurnover::default(); lowered.stages.len()],
            own_hours: engine.crews.iter().map(own).collect(),
            hired: vec![vec![0; lowered.weeks]; engine.crews.len()],
            watches: watches.collect(),
            held: vec![BTreeMap::new(); count.watches.len()],
            before: Vec::new(),
        }
    }

    /// Notes what a line's stages hold before it takes.
    pub fn before_line(&mut self, accepts: &[usize], shelves: &[Shelf]) {
        self.before.clear();
        self.before
            .extend(accepts.iter().map(|stage| shelves[*stage].ready()));
    }

    /// Counts what a line took.
    pub fn after_line(
        &mut self,
        (line, accepts): (usize, &[usize]),
        week: usize,
        shelves: &[Shelf],
    ) {
        let of_line = self.shipped[line].iter_mut();
        for ((shipped, stage), before) in of_line.zip(accepts).zip(&self.before) {
            shipped[week] += u64::from(before - shelves[*stage].ready());
        }
    }

    /// Counts plants put through an operation, so many weeks after its first.
    pub fn work(&mut self, operation: usize, later: usize, plants: u32) {
        let done = &mut self.done[operation];
        if done.len() <= later {
            done.resize(later + 1, 0);
        }
        done[later] += u64::from(plants);
    }

    /// Counts plants that were too old.
    pub fn discarded(&mut self, stage: usize, plants: u32) {
        self.stages[stage].discarded += u64::from(plants);
    }

    /// Counts the hours that a crew hired, of those it had and those it has left.
    pub fn hours(&mut self, week: usize, had: &[f64], left: &[f64]) {
        let of_crews = self.hired.iter_mut().zip(&self.own_hours);
        for ((hired, own), (had, left)) in of_crews.zip(had.iter().zip(left)) {
            // Without a number there is nothing to be hired.
            let beyond = own.get(week).map_or(0.0, |own| had - left - own);
            hired[week] += (beyond.max(0.0) * PARTS).round() as u64;
        }
    }

    /// Looks at what is left at the end of a week.
    pub fn end_of_week(
        &mut self,
        (week, weeks): (usize, usize),
        shelves: &[Shelf],
        lines: &[LineOutcome],
    ) {
        for (stage, shelf) in self.stages.iter_mut().zip(shelves) {
            let ready = u64::from(shelf.ready());
            stage.waited += ready;
            if week + 1 == weeks {
                stage.left += ready;
            }
        }
        for (watched, held) in self.watches.iter().zip(&mut self.held) {
            if watched.week == week {
                *held.entry(watched.holds(shelves, lines)).or_insert(0) += 1;
            }
        }
    }

    /// Counts what lines are short at a future's end.
    fn end(&mut self, lines: &[LineOutcome]) {
        for (short, outcome) in self.short.iter_mut().zip(lines) {
            if outcome.kept && outcome.need.complete.is_none() {
                *short += u64::from(outcome.need.lacks);
            }
        }
    }

    /// Adds what was counted of other futures.
    fn merge(&mut self, other: &Self) {
        let shipped = self.shipped.iter_mut().flatten().flatten();
        add(shipped, other.shipped.iter().flatten().flatten());
        add(self.short.iter_mut(), other.short.iter());
        for (done, other) in self.done.iter_mut().zip(&other.done) {
            done.resize(done.len().max(other.len()), 0);
            add(done.iter_mut(), other.iter());
        }
        for (stage, other) in self.stages.iter_mut().zip(&other.stages) {
            stage.waited += other.waited;
            stage.discarded += other.discarded;
            stage.left += other.left;
        }
        add(
            self.hired.iter_mut().flatten(),
            other.hired.iter().flatten(),
        );
        for (held, other) in self.held.iter_mut().zip(&other.held) {
            for (plants, times) in other {
                *held.entry(*plants).or_insert(0) += times;
            }
        }
    }

    fn turnover(self, engine: &Engine, futures: u32) -> Turnover {
        let lowered = &engine.lowered;
        let lines = lowered
            .lines
            .iter()
            .zip(self.shipped.into_iter().zip(self.short));
        let lines = lines.map(|(line, (shipped, short))| {
            let accepts = line.accepts.iter();
            let turnover = LineTurnover {
                accepts: accepts.map(|at| lowered.stages[*at].clone()).collect(),
                first_week: line.first_week,
                shipped,
                short,
            };
            (line.id.clone(), turnover)
        });
        Turnover {
            futures,
            lines: lines.collect(),
            done: self.done,
            stages: lowered.stages.iter().cloned().zip(self.stages).collect(),
            hired: engine.crews.iter().cloned().zip(self.hired).collect(),
            held: self.held,
        }
    }
}

fn add<'a>(sums: impl Iterator<Item = &'a mut u64>, others: impl Iterator<Item = &'a u64>) {
    for (sum, other) in sums.zip(others) {
        *sum += other;
    }
}

impl Watched {
    /// What the stages hold more than the lines lack.
    fn holds(&self, shelves: &[Shelf], lines: &[LineOutcome]) -> i64 {
        let ready = self.stages.iter().map(|at| i64::from(shelves[*at].ready()));
        let open = self.lines.iter().map(|at| &lines[*at]);
        let open = open.filter(|it| it.kept && it.need.complete.is_none());
        ready.sum::<i64>() - open.map(|it| i64::from(it.need.lacks)).sum::<i64>()
    }
}

impl Engine {
    /// As [`Engine::tally`], and counts what goes in and out. The futures are the same.
    ///
    /// # Errors
    /// Stages, lines or crews that the case does not have; or that `cancel` was set.
    pub fn count(
        &self,
        which: Range<u32>,
        options: &Options,
        count: &Count,
        progress: Option<Progress<'_>>,
        cancel: Option<&AtomicBool>,
    ) -> Result<(Tally, Turnover), SimulateError> {
        let problems = self.strangers(count);
        if !problems.is_empty() {
            return Err(SimulateError::Invalid(problems));
        }
        let futures = which.len() as u32;
        let job = Job {
            which,
            threads: options.threads,
            progress,
            cancel,
        };
        let made = job.share_out(|queue| self.play_and_count(queue, options, count))?;
        let mut tally = Tally::new(&self.lowered, options.keep_arrivals);
        let mut all = Counter::new(self, count);
        for (of_thread, counter) in made {
            tally.merge(&of_thread);
            all.merge(&counter);
        }
        Ok((tally, all.turnover(self, futures)))
    }

    fn play_and_count(
        &self,
        queue: &Queue<'_>,
        options: &Options,
        count: &Count,
    ) -> Option<(Tally, Counter)> {
        let mut tally = Tally::new(&self.lowered, options.keep_arrivals);
        let mut future = Future::new(&self.lowered);
        future.counter = Some(Box::new(Counter::new(self, count)));
        queue.play(&mut future, options.seed, |_, future| {
            tally.add(&self.lowered, future);
        })?;
        let counter = future.counter.take()?;
        Some((tally, *counter))
    }

    /// What is to be counted and is not in the case.
    fn strangers(&self, count: &Count) -> Vec<CaseProblem> {
        let known = self.orders.iter().map(|it| it.id.as_str());
        let lines: std::collections::BTreeSet<&str> = known.collect();
        let stages = count.watches.iter().flat_map(|it| &it.stages);
        let stages = stages.filter(|name| self.lowered.stages.binary_search(name).is_err());
        let wanted = count.watches.iter().flat_map(|it| &it.lines);
        let wanted = wanted.filter(|id| !lines.contains(id.as_str()));
        let crews = count.own_hours.keys();
        let crews = crews.filter(|crew| self.crews.binary_search(crew).is_err());
        let problem = |place: &str, name: &String| CaseProblem {
            what: format!("\"{name}\" is not in the case"),
            place: place.to_owned(),
            rule: "what is counted is a part of the case".to_owned(),
            mend: "name one of the case".to_owned(),
        };
        let stages = stages.map(|name| problem("stages to watch", name));
        let lines = wanted.map(|name| problem("lines to watch", name));
        let crews = crews.map(|name| problem("crews to count", name));
        stages.chain(lines).chain(crews).collect()
    }
}

impl Future<'_> {
    /// Counts the end of a future, where it is counted.
    pub fn count_end(&mut self) {
        if let Some(counter) = &mut self.counter {
            counter.end(&self.lines);
        }
    }
}
