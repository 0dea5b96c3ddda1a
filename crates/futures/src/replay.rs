//! The weeks of stored futures played again, for the stages and lines that share plants.
//!
//! Lines that accept several stages join them: what one takes here another misses there. A replay
//! plays all stages and lines that are joined in this way to the stages it is asked for, and no
//! others. Losses, age and taking are those of the engine ([`crate::shelf`]); plants that operations
//! take are set aside before.

use std::ops::Range;

use crate::sampling::binomial;
use crate::shelf::{NEVER, Need, Shelf, Terms, held};
use crate::stored::{Come, Stored, StoredLine, StoredStage};
use crate::stream::{Purpose, Streams};

/// The joined stages and lines, and the state of the future that is played.
#[derive(Debug)]
pub struct Replay<'a> {
    stored: &'a Stored,
    /// Stored stages.
    stages: Vec<usize>,
    /// Stored lines, in their order; the new one has a place among them and none here.
    lines: Vec<usize>,
    takers: Vec<Taker<'a>>,
    /// The place of the new line among the takers.
    new: Option<usize>,
    steps: Vec<Step>,
    /// The takers of each step, the first to take first.
    turns: Vec<usize>,
    future: usize,
    supplies: Vec<Supplying<'a>>,
    /// By stage.
    pub shelves: Vec<Shelf>,
    /// By stage: the last week in which a taker found more or fewer plants there than before.
    news_in: Vec<usize>,
    in_sight: u64,
    /// The bits of the shelves where somebody who waited had a turn in the week just played.
    visited: u64,
    /// By taker.
    needs: Vec<Need>,
    /// By taker: whether it is kept and not complete.
    waits: Vec<bool>,
    /// By taker: whether the play ends once it and all others of these are complete.
    is_watched: Vec<bool>,
    /// How many of these are not complete.
    watched: usize,
    /// Takers with a least load.
    loads: Vec<usize>,
}

/// A line as its takings go.
#[derive(Debug)]
struct Taker<'a> {
    line: &'a StoredLine,
    /// Places among the replay's stages.
    accepts: Vec<usize>,
    /// Their bits.
    shelves: u64,
    plants: u32,
    terms: Terms,
}

/// A week in which lines may take plants.
#[derive(Debug)]
struct Step {
    week: usize,
    /// Of all who may take plants.
    turns: Range<usize>,
}

/// What is yet to happen to the plants of a stage.
#[derive(Debug)]
struct Supplying<'a> {
    stage: &'a StoredStage,
    come: &'a [Come],
    losses: &'a [(usize, f64)],
    /// Nothing happens before this week.
    quiet_until: usize,
}

impl<'a> Replay<'a> {
    /// Everything that shares plants with some stages, with a new line among the takers.
    pub fn new(stored: &'a Stored, stages: &[usize], new: Option<&'a StoredLine>) -> Self {
        let (stages, lines) = joined(stored, stages);
        let mut takers: Vec<Taker<'_>> = lines
            .iter()
            .map(|line| Taker::new(&stored.lines[*line], &stages))
            .collect();
        let place = new.map(|new| {
            let place = takers.partition_point(|other| other.line.rank() < new.rank());
            takers.insert(place, Taker::new(new, &stages));
            place
        });
        let (steps, turns) = steps(&takers, stored.weeks);
        Self {
            stored,
            supplies: stages
                .iter()
                .map(|stage| Supplying::new(&stored.stages[*stage]))
                .collect(),
            shelves: vec![Shelf::new(); stages.len()],
            news_in: vec![usize::MAX; stages.len()],
            needs: vec![Need::default(); takers.len()],
            waits: vec![false; takers.len()],
            is_watched: vec![false; takers.len()],
            watched: 0,
            loads: (0..takers.len())
                .filter(|at| takers[*at].terms.minimum_load > 0)
                .collect(),
            stages,
            lines,
            takers,
            new: place,
            steps,
            turns,
            future: 0,
            in_sight: 0,
            visited: 0,
        }
    }

    /// The stored stages played.
    pub fn stages(&self) -> &[usize] {
        &self.stages
    }

    /// The stored lines played.
    pub fn lines(&self) -> &[usize] {
        &self.lines
    }

    /// Lets the new line ask for so many plants.
    pub fn ask_for(&mut self, plants: u32, slack: u32) {
        if let Some(new) = self.new {
            self.takers[new].plants = plants;
            self.takers[new].terms.slack = slack;
        }
    }

    /// The most plants that the new line could have had in any week so far, had it needed no more.
    pub const fn in_sight(&self) -> u64 {
        self.in_sight
    }

    /// What the new line still needs.
    pub fn need_of_new(&self) -> Need {
        self.new.map(|new| self.needs[new]).unwrap_or_default()
    }

    /// Plays a future until the end of week `until`, or until nobody waits for plants any more. Tells
    /// each week in which lines may take plants, after they did.
    pub fn play(&mut self, future: usize, until: usize, mut after: impl FnMut(&Self, usize)) {
        let mut waiting = self.begin(future);
        for step in 0..self.steps.len() {
            let week = self.steps[step].week;
            if waiting == 0 || week > until {
                break;
            }
            waiting -= self.take_turns(step);
            after(self, week);
        }
    }

    /// Plays a future until the new line is complete, or until the end of week `until`.
    pub fn play_new(&mut self, future: usize, until: usize) {
        self.begin(future);
        for step in 0..self.steps.len() {
            if self.steps[step].week > until || self.need_of_new().complete.is_some() {
                break;
            }
            self.take_turns(step);
        }
    }

    /// Plays a future until the lines of some places are complete, or until the end of week `until`.
    pub fn play_lines(&mut self, future: usize, until: usize, places: impl Iterator<Item = usize>) {
        self.begin(future);
        let mut watched = 0;
        for place in places {
            let taker = self.taker_of(place);
            self.is_watched[taker] = true;
            watched += 1;
        }
        self.watched = watched;
        for step in 0..self.steps.len() {
            if self.watched == 0 || self.steps[step].week > until {
                break;
            }
            self.take_turns(step);
        }
    }

    /// A week from `from` on before which less for one is not more for another: until a loss comes, or a line
    /// takes a load of which it may be kept.
    pub fn steady_until(&self, future: usize, from: usize) -> usize {
        let stages = self.supplies.iter().map(|it| it.stage);
        let losses = stages.flat_map(|stage| stage.losses(future));
        let loss = losses.map(|(week, _)| *week).filter(|week| *week >= from);
        let lines = self.loads.iter().map(|at| self.takers[*at].line);
        let load = lines.filter_map(|line| line.loads_from(from, future));
        let new = self.new.map(|new| &self.takers[new]);
        let new = new.filter(|it| it.terms.minimum_load > 0).map(|_| from);
        loss.chain(load).chain(new).min().unwrap_or(usize::MAX)
    }

    /// Plays a future and tells every week, after lines took plants.
    pub fn play_every_week(&mut self, future: usize, mut after: impl FnMut(&mut Self, usize)) {
        self.begin(future);
        let mut step = 0;
        for week in 0..self.stored.weeks {
            if self.steps.get(step).is_some_and(|it| it.week == week) {
                self.take_turns(step);
                step += 1;
            }
            after(self, week);
        }
    }

    /// Lets those who wait take their turns in a week; returns how many are complete by it.
    fn take_turns(&mut self, step: usize) -> usize {
        let Step { week, ref turns } = self.steps[step];
        let mut completed = 0;
        self.visited = 0;
        for turn in turns.clone() {
            let at = self.turns[turn];
            if self.waits[at] && self.finds_news(at, week) {
                self.visited |= self.takers[at].shelves;
                completed += usize::from(self.take(at, week));
            }
        }
        completed
    }

    /// Brings the shelves of a taker up to a week; tells whether it finds anything there that it has not found
    /// before. Nobody needs to see what a shelf that nobody looks at holds meanwhile.
    fn finds_news(&mut self, taker: usize, week: usize) -> bool {
        let mut is_new = week == self.takers[taker].line.open.start;
        for place in 0..self.takers[taker].accepts.len() {
            let stage = self.takers[taker].accepts[place];
            if week >= self.supplies[stage].quiet_until {
                self.supply(stage, week);
                self.news_in[stage] = week;
            }
            is_new |= self.news_in[stage] == week;
        }
        is_new
    }

    /// Lets a taker take its plants; tells whether it is complete.
    fn take(&mut self, at: usize, week: usize) -> bool {
        let (taker, need) = (&self.takers[at], &mut self.needs[at]);
        if Some(at) == self.new {
            let had = u64::from(taker.plants - need.lacks);
            let now = had + held(&taker.accepts, &self.shelves);
            self.in_sight = self.in_sight.max(now);
        }
        need.take(&taker.accepts, taker.terms, &mut self.shelves, week);
        let is_complete = need.complete.is_some();
        if is_complete {
            self.waits[at] = false;
            self.watched -= usize::from(self.is_watched[at]);
        }
        is_complete
    }

    /// Sets a future up; returns how many lines wait for plants.
    fn begin(&mut self, future: usize) -> usize {
        self.future = future;
        self.in_sight = 0;
        self.news_in.fill(usize::MAX);
        self.is_watched.fill(false);
        self.watched = 0;
        for (shelf, supply) in self.shelves.iter_mut().zip(&mut self.supplies) {
            shelf.clear();
            supply.come = supply.stage.stock.come(future);
            supply.losses = supply.stage.losses(future);
            supply.quiet_until = 0;
        }
        let mut waiting = 0;
        for (at, taker) in self.takers.iter().enumerate() {
            self.needs[at] = Need {
                lacks: taker.plants,
                complete: None,
            };
            self.waits[at] = taker.line.is_kept(future);
            waiting += usize::from(self.waits[at]);
        }
        waiting
    }

    /// Brings a stage's shelf up to a week: losses, age and plants that became ready.
    pub fn supply(&mut self, stage: usize, week: usize) {
        let (supply, shelf) = (&mut self.supplies[stage], &mut self.shelves[stage]);
        while let Some((lost_in, left)) = supply.next_loss(week) {
            supply.put_before(lost_in, shelf);
            if lost_in > 0 {
                shelf.discard(lost_in - 1);
            }
            let streams = Streams {
                seed: self.stored.seed,
                future: self.stored.which.start + self.future as u32,
            };
            supply.lose((lost_in, left), self.future, streams, shelf);
        }
        supply.put_before(week + 1, shelf);
        shelf.discard(week);
        supply.quiet_until = supply.quiet_until(shelf);
    }

    /// Whether anybody who waited for plants of a stage had a turn in the week just played; for a
    /// stage past the 63rd, or for another past it.
    pub const fn is_visited(&self, stage: usize) -> bool {
        self.visited & shelf_bit(stage) != 0
    }

    /// The week in which the stored line of a place among [`Self::lines`] was complete in the future just
    /// played.
    pub fn completed(&self, place: usize) -> Option<usize> {
        self.needs[self.taker_of(place)].complete
    }

    /// Plants that this line still lacks.
    pub fn lacks(&self, place: usize) -> u32 {
        self.needs[self.taker_of(place)].lacks
    }

    fn taker_of(&self, place: usize) -> usize {
        place + usize::from(self.new.is_some_and(|new| new <= place))
    }
}

impl<'a> Supplying<'a> {
    const fn new(stage: &'a StoredStage) -> Self {
        Self {
            stage,
            come: &[],
            losses: &[],
            quiet_until: 0,
        }
    }

    /// The next loss up to a week.
    fn next_loss(&mut self, week: usize) -> Option<(usize, f64)> {
        let (next, later) = self.losses.split_first()?;
        (next.0 <= week).then(|| {
            self.losses = later;
            *next
        })
    }

    /// Puts out the plants that stood there or became ready before a week.
    fn put_before(&mut self, week: usize, shelf: &mut Shelf) {
        let end = (self.stage.standing + week) as u32;
        let count = self.come.iter().take_while(|come| come.bucket < end);
        let (now, later) = self.come.split_at(count.count());
        self.come = later;
        for come in now {
            shelf.put(come.plants, self.stage.gone_in[come.bucket as usize]);
        }
    }

    /// Thins ready plants as in the engine. Those that stand for operations count when the share is
    /// drawn, and are not lost: operations have taken them in this future.
    fn lose(&self, (week, left): (usize, f64), future: usize, streams: Streams, shelf: &mut Shelf) {
        let mut stream = streams.of(Purpose::Loss, self.stage.name_hash, week as u32);
        let stock = &self.stage.stock;
        let (buckets, aside) = (stock.come(future), stock.aside(future));
        let set_aside = |bucket: u32| -> u32 {
            let of_bucket = aside.iter().filter(|it| it.bucket == bucket);
            of_bucket
                .filter(|it| it.until as usize >= week)
                .map(|it| it.plants)
                .sum()
        };
        shelf.thin(|at, plants| {
            let set_aside = set_aside(buckets[at].bucket);
            binomial(&mut stream, plants + set_aside, left).saturating_sub(set_aside)
        });
    }

    /// The next week in which anything happens.
    fn quiet_until(&self, shelf: &Shelf) -> usize {
        let come = self.come.first();
        let come = come.map_or(usize::MAX, |it| self.stage.week_of(it.bucket));
        let loss = self.losses.first().map_or(usize::MAX, |(week, _)| *week);
        let gone = match shelf.next_gone() {
            NEVER => usize::MAX,
            week => week as usize,
        };
        come.min(loss).min(gone)
    }
}

impl<'a> Taker<'a> {
    fn new(line: &'a StoredLine, stages: &[usize]) -> Self {
        let place = |stage: &usize| {
            stages
                .binary_search(stage)
                .expect("a joined line accepts joined stages")
        };
        let accepts: Vec<usize> = line.accepts.iter().map(place).collect();
        Self {
            line,
            shelves: accepts.iter().fold(0, |bits, it| bits | shelf_bit(*it)),
            accepts,
            plants: line.order.plants,
            terms: line.terms,
        }
    }
}

/// The bit of a stage in a set of shelves; all stages past the 63rd share the last.
const fn shelf_bit(stage: usize) -> u64 {
    1 << if stage < 63 { stage } else { 63 }
}

/// The stages and lines that are joined to some stages, each in its order.
fn joined(stored: &Stored, stages: &[usize]) -> (Vec<usize>, Vec<usize>) {
    let mut is_joined = vec![false; stored.stages.len()];
    for stage in stages {
        is_joined[*stage] = true;
    }
    let mut lines: Vec<usize> = Vec::new();
    let mut others: Vec<usize> = (0..stored.lines.len()).collect();
    loop {
        let before = others.len();
        others.retain(|line| {
            let accepts = &stored.lines[*line].accepts;
            let joins = accepts.iter().any(|stage| is_joined[*stage]);
            if joins {
                for stage in accepts {
                    is_joined[*stage] = true;
                }
                lines.push(*line);
            }
            !joins
        });
        if others.len() == before {
            break;
        }
    }
    lines.sort_unstable();
    let stages = (0..is_joined.len()).filter(|stage| is_joined[*stage]);
    (stages.collect(), lines)
}

/// The weeks in which somebody may take plants, and whose turns they have, which come by rank.
fn steps(takers: &[Taker<'_>], weeks: usize) -> (Vec<Step>, Vec<usize>) {
    let mut turns = Vec::new();
    let mut steps = Vec::new();
    for week in 0..weeks {
        let start = turns.len();
        let is_open = |taker: &Taker<'_>| taker.line.open.contains(&week);
        turns.extend((0..takers.len()).filter(|at| is_open(&takers[*at])));
        if turns.len() > start {
            steps.push(Step {
                week,
                turns: start..turns.len(),
            });
        }
    }
    (steps, turns)
}
