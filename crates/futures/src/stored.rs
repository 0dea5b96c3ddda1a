//! Futures kept for questions: what those who take ready plants see of each.
//!
//! Of every future are kept, for the stages that may be sold, the plants that became ready in each
//! week less those that operations took away later ([`Stock`]). What order lines take of them
//! follows by playing the weeks again ([`crate::replay`]), with lines that came or went since.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::atomic::AtomicBool;

use crate::case::{CaseProblem, Order};
use crate::future::{Future, is_kept};
use crate::lowered::{Lowered, open_weeks};
use crate::replay::Replay;
use crate::run::{Engine, Job, Options, Progress, Queue, SimulateError};
use crate::shelf::Terms;
use crate::stream::{Streams, name_hash};
use crate::tally::Tally;
use crate::validate::{problems_of_keeping, problems_of_line};

/// Many futures of one case, kept so that questions about promises are answered at once.
#[derive(Clone, Debug, PartialEq)]
pub struct Stored {
    pub(crate) seed: u64,
    pub(crate) which: Range<u32>,
    pub(crate) weeks: usize,
    /// All stages of the case that are kept, in the order of their names.
    pub(crate) stages: Vec<StoredStage>,
    /// Lines by rank: (`priority`, `due`, bytes of `id`).
    pub(crate) lines: Vec<StoredLine>,
}

/// A stage that may be sold.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct StoredStage {
    pub name: String,
    pub name_hash: u64,
    /// How many buckets of ready plants stood there at the start.
    pub standing: usize,
    /// The first week in which plants are too old, by bucket: those standing, then week 0, 1, 2 ….
    pub gone_in: Vec<u32>,
    /// Lists of `(week, share left)`, by week: of each path, then of each future with perils.
    losses: Vec<Vec<(usize, f64)>>,
    /// By future, the list of its losses.
    losses_of: Vec<u32>,
    pub stock: Stock,
    /// By future and block of weeks: see [`Stored::room`].
    room: Vec<u32>,
}

/// Plants of one stage in each of many futures.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Stock {
    /// Where each future's plants end.
    ends: Vec<usize>,
    come: Vec<Come>,
    /// Where each future's set-aside plants end; empty if the stage knows no losses.
    aside_ends: Vec<usize>,
    aside: Vec<Aside>,
}

/// Plants of one bucket, less those that operations take later.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Come {
    /// The bucket: those standing, then week 0, 1, 2 ….
    pub bucket: u32,
    pub plants: u32,
}

/// Plants that stand for an operation until it takes them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Aside {
    pub bucket: u32,
    /// The week in which they are taken.
    pub until: u32,
    pub plants: u32,
}

/// An order line in numbers.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct StoredLine {
    pub order: Order,
    /// Stored stages it accepts, the best first.
    pub accepts: Vec<usize>,
    /// How it takes them.
    pub terms: Terms,
    /// The weeks in which it may take plants.
    pub open: Range<usize>,
    /// The last week on time; none if it was before week 0.
    pub due: Option<usize>,
    /// By future, whether it is kept; empty if it always is.
    pub kept_in: Vec<bool>,
    /// In how many futures it is kept.
    pub kept: u32,
    /// By future, the week in which it is complete, or [`NOT_COMPLETE`].
    complete_in: Vec<u16>,
    /// Of a line with a least load, by future: the first and the last week in which it takes plants.
    loads_in: Vec<Option<[u16; 2]>>,
    /// In how many it is on time.
    pub on_time: u32,
    /// The odds below which nobody may push it.
    pub target: Option<f64>,
}

/// A case has fewer weeks.
const NOT_COMPLETE: u16 = u16::MAX;

/// How a line stands among the stored futures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Futures in which it is kept.
    pub kept: u32,
    /// The share of them in which it is complete by its due week.
    pub on_time: f64,
    /// The odds below which no promise may push it; none for a line that is not protected.
    pub target: Option<f64>,
}

/// What is kept of a case's futures besides its lines and the stages they accept.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Keep {
    /// More stages that may be sold.
    pub stages: BTreeSet<String>,
    /// By order id: the odds below which no promise may push the line. Lines left out are not
    /// protected.
    pub targets: BTreeMap<String, f64>,
}

impl Engine {
    /// Plays the futures `which`, counts what comes of them, and keeps what questions about promises
    /// need. `futures` of the options is not read. The result does not depend on the threads.
    ///
    /// # Errors
    /// Stages or lines that the case does not have; or that `cancel` was set.
    pub fn store(
        &self,
        which: Range<u32>,
        options: &Options,
        keep: &Keep,
        progress: Option<Progress<'_>>,
        cancel: Option<&AtomicBool>,
    ) -> Result<(Tally, Stored), SimulateError> {
        let lowered = &self.lowered;
        let names = lowered.stages.iter().map(String::as_str);
        let problems = problems_of_keeping(names, &self.orders, &keep.stages, &keep.targets);
        if !problems.is_empty() {
            return Err(SimulateError::Invalid(problems));
        }
        let sold = sold_stages(lowered, &keep.stages);
        let job = Job {
            which: which.clone(),
            threads: options.threads,
            progress,
            cancel,
        };
        let made = job.share_out(|queue| self.play_and_keep(queue, options, &sold))?;
        let mut tally = Tally::new(lowered, options.keep_arrivals);
        let mut parts = Vec::new();
        for (of_thread, kept) in made {
            tally.merge(&of_thread);
            parts.extend(kept);
        }
        parts.sort_by_key(|part| part.future);
        let mut stored = Stored::new(self, which, options.seed, &sold);
        for part in parts {
            stored.append(part);
        }
        for stage in &mut stored.stages {
            stage.stock.come.shrink_to_fit();
            stage.stock.aside.shrink_to_fit();
        }
        stored.take_in(&self.orders, &keep.targets);
        Ok((tally, stored))
    }

    /// Plays chunks of futures until none are left; none if canceled.
    fn play_and_keep(
        &self,
        queue: &Queue<'_>,
        options: &Options,
        sold: &[usize],
    ) -> Option<(Tally, Vec<Kept>)> {
        let lowered = &self.lowered;
        let mut tally = Tally::new(lowered, options.keep_arrivals);
        let mut kept = Vec::new();
        let mut future = Future::new(lowered);
        future.watch(sold);
        queue.play(&mut future, options.seed, |number, future| {
            tally.add(lowered, future);
            kept.push(Kept::new(lowered, sold, number, future));
        })?;
        Some((tally, kept))
    }
}

/// The stages that lines accept, and some more, in the order of their names.
fn sold_stages(lowered: &Lowered, also: &BTreeSet<String>) -> Vec<usize> {
    let is_sold = |stage: &usize| {
        also.contains(&lowered.stages[*stage])
            || lowered
                .lines
                .iter()
                .any(|line| line.accepts.contains(stage))
    };
    (0..lowered.stages.len()).filter(is_sold).collect()
}

/// What is kept of one future.
struct Kept {
    future: u32,
    path: u32,
    /// By sold stage, one after the other.
    come: Vec<Come>,
    come_ends: Vec<usize>,
    aside: Vec<Aside>,
    aside_ends: Vec<usize>,
    /// Of the sold stages that a peril comes to: `(week, share left)`, by week.
    perils: Vec<(usize, Vec<(usize, f64)>)>,
}

impl Kept {
    fn new(lowered: &Lowered, sold: &[usize], number: u32, future: &Future<'_>) -> Self {
        let mut kept = Self {
            future: number,
            path: future.path as u32,
            come: Vec::new(),
            come_ends: Vec::with_capacity(sold.len()),
            aside: Vec::new(),
            aside_ends: Vec::with_capacity(sold.len()),
            perils: Vec::new(),
        };
        for (at, stage) in sold.iter().enumerate() {
            let (come, aside) = (kept.come.len(), kept.aside.len());
            kept.put_buckets(lowered, *stage, future);
            kept.put_aside(*stage, come, future);
            let losses = future.losses_of(*stage);
            if losses != lowered.paths[future.path].losses_of_stage[*stage] {
                kept.perils.push((at, losses.to_vec()));
            }
            if losses.is_empty() {
                kept.forget_empty(come, aside);
            }
            kept.come_ends.push(kept.come.len());
            kept.aside_ends.push(kept.aside.len());
        }
        kept.come.shrink_to_fit();
        kept
    }

    /// Forgets of a stage what only losses ask for.
    fn forget_empty(&mut self, first: usize, first_aside: usize) {
        self.aside.truncate(first_aside);
        let mut at = 0;
        self.come.retain(|it| {
            at += 1;
            at <= first || it.plants > 0
        });
    }

    /// The buckets of a stage as they became ready.
    fn put_buckets(&mut self, lowered: &Lowered, stage: usize, future: &Future<'_>) {
        let standing = lowered.standing.iter().filter(|it| it.stage == stage);
        for (bucket, standing) in standing.enumerate() {
            self.come.push(Come {
                bucket: bucket as u32,
                plants: standing.plants,
            });
        }
        let before = standing_of(lowered, stage);
        let weeks = future.arriving.iter().skip(stage);
        for (week, plants) in weeks.step_by(lowered.stages.len()).enumerate() {
            if *plants > 0 {
                self.come.push(Come {
                    bucket: (before + week) as u32,
                    plants: *plants,
                });
            }
        }
    }

    /// Takes out of the buckets, which begin at `first`, what operations take.
    fn put_aside(&mut self, stage: usize, first: usize, future: &Future<'_>) {
        for aside in future.set_aside.iter().filter(|it| it.stage == stage) {
            let come = &mut self.come[first + aside.bucket];
            come.plants -= aside.plants;
            self.aside.push(Aside {
                bucket: come.bucket,
                until: aside.week as u32,
                plants: aside.plants,
            });
        }
    }
}

fn standing_of(lowered: &Lowered, stage: usize) -> usize {
    let standing = lowered.standing.iter();
    standing.filter(|it| it.stage == stage).count()
}

impl StoredStage {
    fn new(lowered: &Lowered, stage: usize) -> Self {
        let standing = lowered.standing.iter().filter(|it| it.stage == stage);
        let gone_in = standing
            .map(|it| it.gone_in)
            .chain(lowered.gone_in[stage].iter().copied());
        let name = lowered.stages[stage].clone();
        Self {
            name_hash: name_hash(&[&name]),
            name,
            standing: standing_of(lowered, stage),
            gone_in: gone_in.collect(),
            losses: lowered
                .paths
                .iter()
                .map(|path| path.losses_of_stage[stage].clone())
                .collect(),
            losses_of: Vec::new(),
            stock: Stock::default(),
            room: Vec::new(),
        }
    }

    /// `(week, share left)` of a future, by week.
    pub fn losses(&self, future: usize) -> &[(usize, f64)] {
        &self.losses[self.losses_of[future] as usize]
    }

    /// The week in which the plants of a bucket are there.
    pub fn week_of(&self, bucket: u32) -> usize {
        (bucket as usize).saturating_sub(self.standing)
    }
}

/// The part of a list that belongs to a future.
fn part(ends: &[usize], future: usize) -> Range<usize> {
    let start = future.checked_sub(1).map_or(0, |before| ends[before]);
    start..ends[future]
}

impl Stock {
    /// The buckets of a future, the oldest first.
    pub fn come(&self, future: usize) -> &[Come] {
        &self.come[part(&self.ends, future)]
    }

    /// The plants of a future that stand for operations.
    pub fn aside(&self, future: usize) -> &[Aside] {
        &self.aside[part(&self.aside_ends, future)]
    }

    fn append(&mut self, come: &[Come], aside: &[Aside]) {
        self.come.extend_from_slice(come);
        self.ends.push(self.come.len());
        self.aside.extend_from_slice(aside);
        self.aside_ends.push(self.aside.len());
    }

    fn bytes(&self) -> usize {
        size_of_val(&self.come[..])
            + size_of_val(&self.aside[..])
            + size_of_val(&self.ends[..])
            + size_of_val(&self.aside_ends[..])
    }
}

impl StoredLine {
    /// A line's place among others: the first to take comes first.
    pub fn rank(&self) -> (i64, i32, &[u8]) {
        (
            self.order.priority,
            self.order.due,
            self.order.id.as_bytes(),
        )
    }

    /// Whether the customer keeps it in a future.
    pub fn is_kept(&self, future: usize) -> bool {
        self.kept_in.get(future).is_none_or(|kept| *kept)
    }

    /// Whether it is complete before a week in a future.
    pub fn is_complete_before(&self, week: usize, future: usize) -> bool {
        let complete_in = self.complete_in[future];
        complete_in != NOT_COMPLETE && usize::from(complete_in) < week
    }

    /// The first week from `from` on in which it takes a load in a future, or one before that; none if it has no
    /// least load, or takes nothing from then on.
    pub fn loads_from(&self, from: usize, future: usize) -> Option<usize> {
        let [first, last] = self.loads_in.get(future).copied().flatten()?;
        (usize::from(last) >= from).then(|| from.max(first.into()))
    }

    /// Whether it is on time in a future.
    pub fn is_on_time(&self, future: usize) -> bool {
        self.due
            .is_some_and(|due| self.is_complete_before(due + 1, future))
    }

    /// Its odds on time, if it is on time in so many futures.
    pub fn odds(&self, on_time: u32) -> f64 {
        if self.kept == 0 {
            0.0
        } else {
            f64::from(on_time) / f64::from(self.kept)
        }
    }
}

impl Stored {
    fn new(engine: &Engine, which: Range<u32>, seed: u64, sold: &[usize]) -> Self {
        let lowered = &engine.lowered;
        Self {
            seed,
            which,
            weeks: lowered.weeks,
            stages: sold
                .iter()
                .map(|stage| StoredStage::new(lowered, *stage))
                .collect(),
            lines: Vec::new(),
        }
    }

    fn append(&mut self, kept: Kept) {
        for stage in &mut self.stages {
            stage.losses_of.push(kept.path);
        }
        for (at, losses) in kept.perils {
            let stage = &mut self.stages[at];
            if let Some(of_future) = stage.losses_of.last_mut() {
                *of_future = stage.losses.len() as u32;
            }
            stage.losses.push(losses);
        }
        for (at, stage) in self.stages.iter_mut().enumerate() {
            stage.stock.append(
                &kept.come[part(&kept.come_ends, at)],
                &kept.aside[part(&kept.aside_ends, at)],
            );
        }
    }

    /// Takes in the case's lines.
    fn take_in(&mut self, orders: &[Order], targets: &BTreeMap<String, f64>) {
        self.lines = orders
            .iter()
            .map(|order| self.lowered(order, targets.get(&order.id).copied()))
            .collect();
        self.lines
            .sort_by(|one, other| one.rank().cmp(&other.rank()));
        self.play_again(&(0..self.stages.len()).collect::<Vec<_>>());
    }

    /// How many futures.
    pub const fn futures(&self) -> u32 {
        self.which.end - self.which.start
    }

    /// The stages that questions may name.
    pub fn stages(&self) -> impl Iterator<Item = &str> {
        self.stages.iter().map(|stage| stage.name.as_str())
    }

    /// How each line stands, by order id.
    pub fn lines(&self) -> BTreeMap<&str, Standing> {
        let standing = |line: &StoredLine| Standing {
            kept: line.kept,
            on_time: line.odds(line.on_time),
            target: line.target,
        };
        let lines = self.lines.iter();
        lines
            .map(|line| (line.order.id.as_str(), standing(line)))
            .collect()
    }

    /// The memory that the futures take (bytes).
    pub fn bytes(&self) -> usize {
        let of_stage = |stage: &StoredStage| stage.stock.bytes() + size_of_val(&stage.room[..]);
        let of_line = |line: &StoredLine| {
            size_of_val(&line.complete_in[..])
                + size_of_val(&line.loads_in[..])
                + line.kept_in.len()
        };
        let lines: usize = self.lines.iter().map(of_line).sum();
        self.stages.iter().map(of_stage).sum::<usize>() + lines
    }

    /// Adds a line, as one that was promised; it is protected if it has a target. Every later answer
    /// counts with it.
    ///
    /// # Errors
    /// What is wrong with the line; the futures are as they were then.
    pub fn add(&mut self, order: &Order, target: Option<f64>) -> Result<(), SimulateError> {
        let line = self.checked(order, target)?;
        let accepts = line.accepts.clone();
        let at = self.place_of(&line);
        self.lines.insert(at, line);
        self.play_again(&accepts);
        Ok(())
    }

    /// Takes a line out. False if there is none of this id.
    pub fn remove(&mut self, id: &str) -> bool {
        let Some(at) = self.lines.iter().position(|line| line.order.id == id) else {
            return false;
        };
        let line = self.lines.remove(at);
        self.play_again(&line.accepts);
        true
    }

    /// Puts a line in the place of the one with its id.
    ///
    /// # Errors
    /// What is wrong with the line, or that there is none of its id; the futures are as they were
    /// then.
    pub fn change(&mut self, order: &Order, target: Option<f64>) -> Result<(), SimulateError> {
        let Some(at) = self.lines.iter().position(|line| line.order.id == order.id) else {
            return Err(refused(order, "no line has this name", "add the line"));
        };
        let before = self.lines.remove(at);
        let added = self.add(order, target);
        if added.is_err() {
            self.lines.insert(at, before);
        } else {
            self.play_again(&before.accepts);
        }
        added
    }

    /// The place of a line among the others.
    pub(crate) fn place_of(&self, line: &StoredLine) -> usize {
        self.lines
            .partition_point(|other| other.rank() < line.rank())
    }

    /// A line that is not among the others yet, in numbers.
    pub(crate) fn checked(
        &self,
        order: &Order,
        odds: Option<f64>,
    ) -> Result<StoredLine, SimulateError> {
        let problems = problems_of_line(self.stages(), order, odds);
        if !problems.is_empty() {
            return Err(SimulateError::Invalid(problems));
        }
        if self.lines.iter().any(|line| line.order.id == order.id) {
            return Err(refused(
                order,
                "the name is used already",
                "give it a new name",
            ));
        }
        Ok(self.lowered(order, odds))
    }

    fn lowered(&self, order: &Order, target: Option<f64>) -> StoredLine {
        let number = |name: &String| {
            self.stages
                .binary_search_by(|stage| stage.name.cmp(name))
                .expect("a checked line's stages are stored")
        };
        let (hash, seed) = (name_hash(&[&order.id]), self.seed);
        let is_kept = |future| is_kept(order.kept, hash, Streams { seed, future });
        let futures = if order.kept < 1.0 {
            self.which.clone()
        } else {
            0..0
        };
        let kept_in: Vec<bool> = futures.map(is_kept).collect();
        let kept = kept_in.iter().filter(|kept| **kept).count();
        StoredLine {
            accepts: order.accepts.iter().map(number).collect(),
            terms: Terms::of(order),
            open: open_weeks(order.earliest, order.latest, self.weeks),
            due: usize::try_from(order.due).ok(),
            kept: if order.kept < 1.0 {
                kept as u32
            } else {
                self.futures()
            },
            kept_in,
            complete_in: Vec::new(),
            loads_in: Vec::new(),
            on_time: 0,
            target,
            order: order.clone(),
        }
    }

    /// The most plants that a line, which takes none before week `from`, may take of a stage in a
    /// future such that all others take the same plants as without it.
    ///
    /// # Equation
    /// The fewest plants that are left in a week t ≥ `from` in which somebody waited for plants of the
    /// stage, after all took theirs; 0 if a loss comes between, since it draws anew what it leaves.
    /// Read at the start of the block of weeks that `from` is in, where it is not larger.
    pub(crate) fn room(&self, stage: usize, future: usize, from: usize) -> u32 {
        let blocks = self.blocks();
        self.stages[stage].room[future * blocks + from / ROOM_WEEKS]
    }

    const fn blocks(&self) -> usize {
        self.weeks.div_ceil(ROOM_WEEKS)
    }

    /// Plays again what shares plants with some stages, and notes when its lines are on time and what
    /// room they leave.
    fn play_again(&mut self, stages: &[usize]) {
        let mut left = vec![false; self.stages.len()];
        for stage in stages {
            left[*stage] = true;
        }
        for stage in stages {
            if left[*stage] {
                let again = PlayedAgain::new(self, *stage);
                again
                    .stages
                    .iter()
                    .for_each(|(stage, _)| left[*stage] = false);
                self.note(again);
            }
        }
    }

    fn note(&mut self, again: PlayedAgain) {
        for again in again.lines {
            let line = &mut self.lines[again.line];
            line.complete_in = again.complete_in;
            line.loads_in = again.loads_in;
            let futures = 0..line.complete_in.len();
            line.on_time = futures.filter(|it| line.is_on_time(*it)).count() as u32;
        }
        for (stage, room) in again.stages {
            self.stages[stage].room = room;
        }
    }
}

/// Weeks that share one number of [`Stored::room`].
const ROOM_WEEKS: usize = 4;

/// What became of the lines that are joined to a stage, and what room they leave.
struct PlayedAgain {
    lines: Vec<LineAgain>,
    /// Stages, and the room on each by future and block of weeks.
    stages: Vec<(usize, Vec<u32>)>,
}

/// What became of a line: see [`StoredLine`].
struct LineAgain {
    line: usize,
    /// Plants it lacks in the future that is played.
    lacks: u32,
    complete_in: Vec<u16>,
    loads_in: Vec<Option<[u16; 2]>>,
}

impl LineAgain {
    const fn new(line: usize) -> Self {
        Self {
            line,
            lacks: 0,
            complete_in: Vec::new(),
            loads_in: Vec::new(),
        }
    }

    fn complete(&mut self, week: Option<usize>) {
        let week = week.and_then(|it| u16::try_from(it).ok());
        self.complete_in.push(week.unwrap_or(NOT_COMPLETE));
    }

    fn begin(&mut self, plants: u32) {
        self.lacks = plants;
        self.loads_in.push(None);
    }

    /// Notes a week in which it lacks fewer than before.
    fn look(&mut self, week: usize, lacks: u32) {
        if lacks < self.lacks {
            self.lacks = lacks;
            let week = u16::try_from(week).unwrap_or(NOT_COMPLETE);
            if let Some(loads) = self.loads_in.last_mut() {
                let first = loads.map_or(week, |[first, _]| first);
                *loads = Some([first, week]);
            }
        }
    }
}

impl PlayedAgain {
    fn new(stored: &Stored, stage: usize) -> Self {
        let mut replay = Replay::new(stored, &[stage], None);
        let mut again = Self {
            lines: replay
                .lines()
                .iter()
                .map(|it| LineAgain::new(*it))
                .collect(),
            stages: replay.stages().iter().map(|it| (*it, Vec::new())).collect(),
        };
        // By stage and week: what is left where somebody waited.
        let mut left = vec![vec![u32::MAX; stored.weeks]; again.stages.len()];
        let with_load = |line: &usize| stored.lines[*line].terms.minimum_load > 0;
        let loading = replay.lines().iter().enumerate();
        let loading: Vec<usize> = loading
            .filter(|it| with_load(it.1))
            .map(|it| it.0)
            .collect();
        for future in 0..stored.futures() as usize {
            for weeks in &mut left {
                weeks.fill(u32::MAX);
            }
            for place in &loading {
                let line = &mut again.lines[*place];
                line.begin(stored.lines[line.line].order.plants);
            }
            replay.play(future, usize::MAX, |replay, week| {
                for place in &loading {
                    again.lines[*place].look(week, replay.lacks(*place));
                }
                for (place, left) in left.iter_mut().enumerate() {
                    if replay.is_visited(place) {
                        left[week] = replay.shelves[place].ready();
                    }
                }
            });
            for (place, line) in again.lines.iter_mut().enumerate() {
                line.complete(replay.completed(place));
            }
            for ((stage, room), left) in again.stages.iter_mut().zip(&mut left) {
                fewest_from(left, stored.stages[*stage].losses(future));
                room.extend(left.iter().step_by(ROOM_WEEKS));
            }
        }
        again
    }
}

/// Makes of the plants left in each week the fewest from then on.
fn fewest_from(left: &mut [u32], losses: &[(usize, f64)]) {
    let mut losses = losses.iter().rev().map(|(week, _)| *week).peekable();
    let mut fewest = u32::MAX;
    for (week, left) in left.iter_mut().enumerate().rev() {
        fewest = fewest.min(*left);
        *left = fewest;
        while losses.next_if(|lost_in| *lost_in >= week).is_some() {
            if fewest < u32::MAX {
                fewest = 0;
            }
        }
    }
}

fn refused(order: &Order, what: &str, mend: &str) -> SimulateError {
    SimulateError::Invalid(vec![CaseProblem {
        what: what.to_owned(),
        place: format!("order {}", order.id),
        rule: "names are unique".to_owned(),
        mend: mend.to_owned(),
    }])
}
