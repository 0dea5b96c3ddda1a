//! One random future, week by week.

use crate::causes::{Deviation, FACTORS};
use crate::growth::{Growth, Harvest, LotTruth, Planted, Season};
use crate::lowered::{Line, Lowered, Weather, whole_part};
use crate::normal::normal;
use crate::peril::Losses;
use crate::sampling::binomial;
use crate::shelf::{Need, Shelf};
use crate::stream::{Purpose, Streams, name_hash};
use crate::turnover::Counter;

/// What became of one order line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LineOutcome {
    /// Whether the customer kept it.
    pub kept: bool,
    /// What it still needs.
    pub need: Need,
    /// Plants that were ready in its accepted stages by its due week, whoever took them.
    pub arrived_by_due: u64,
}

impl LineOutcome {
    /// Whether it was complete by its due week.
    pub fn is_on_time(&self, line: &Line) -> bool {
        self.need
            .complete
            .zip(line.due)
            .is_some_and(|(week, due)| week <= due)
    }
}

/// Plants that an operation took from a watched stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SetAside {
    /// The stage.
    pub stage: usize,
    /// Their place among the stage's buckets: those standing at the start that hold plants, then a
    /// bucket for each week in which plants became ready.
    pub bucket: usize,
    /// The week in which the operation took them.
    pub week: usize,
    /// How many.
    pub plants: u32,
}

/// The state of one future, and at its end what came of it. Made once a thread and used again.
#[derive(Debug)]
pub struct Future<'a> {
    lowered: &'a Lowered,
    streams: Streams,
    /// Which weather path it is.
    pub path: usize,
    luck: Vec<f64>,
    losses: Losses,
    /// Ready plants, by stage.
    shelves: Vec<Shelf>,
    /// Plants that become ready, by stage and week; later weeks without those that splits send there.
    arriving: Vec<u32>,
    /// Plants that become ready in the other stage of a split, by the stage that they grow in and week.
    sent_elsewhere: Vec<u32>,
    /// Room for those of many that something is to be done for.
    sifted: Vec<usize>,
    /// Plants that have become ready so far, by stage, with those standing.
    arrived: Vec<u64>,
    left_to_do: Vec<Option<u32>>,
    hours: Vec<f64>,
    /// What became of each line.
    pub lines: Vec<LineOutcome>,
    /// Ready plants left at the end of the report weeks, by week and stage.
    pub free: Vec<u32>,
    /// By stage: whether to note the plants that operations take from it; empty for none.
    watched: Vec<bool>,
    /// What operations took from the watched stages.
    pub set_aside: Vec<SetAside>,
    /// By stage: how far things have differed from what is expected.
    deviations: Vec<Deviation>,
    /// By stage: growing plants, as far as losses need them.
    growing: Vec<f64>,
    /// By family of stages: what was worse than expected by its due week.
    pub worse: Vec<[bool; FACTORS]>,
    /// Counts what goes in and out, over all futures played; none where nobody asks for it.
    pub counter: Option<Box<Counter>>,
}

impl<'a> Future<'a> {
    /// Room for futures of a case.
    pub fn new(lowered: &'a Lowered) -> Self {
        let stages = lowered.stages.len();
        Self {
            lowered,
            streams: Streams { seed: 0, future: 0 },
            path: 0,
            luck: vec![0.0; lowered.groups.len()],
            losses: Losses::new(stages),
            shelves: vec![Shelf::new(); stages],
            arriving: vec![0; stages * lowered.weeks],
            sent_elsewhere: vec![0; stages * lowered.weeks],
            sifted: vec![
                0;
                stages
                    .max(lowered.operations.len())
                    .max(lowered.lines.len())
            ],
            arrived: vec![0; stages],
            left_to_do: Vec::new(),
            hours: Vec::new(),
            lines: vec![LineOutcome::default(); lowered.lines.len()],
            free: Vec::new(),
            deviations: vec![Deviation::default(); stages],
            growing: vec![0.0; stages],
            worse: vec![[false; FACTORS]; lowered.causes.families.len()],
            watched: Vec::new(),
            set_aside: Vec::new(),
            counter: None,
        }
    }

    /// `(week, share left)` of a stage in the future just played, by week.
    pub fn losses_of(&self, stage: usize) -> &[(usize, f64)] {
        self.losses.of_stage(&self.lowered.paths[self.path], stage)
    }

    /// Plants that became ready in a stage in the future just played, by week.
    pub fn arrivals_of(&self, stage: usize) -> &[u32] {
        &self.arriving[self.weeks_of(stage)]
    }

    /// Where the weeks of a stage stand.
    fn weeks_of(&self, stage: usize) -> std::ops::Range<usize> {
        let weeks = self.lowered.weeks;
        stage * weeks..(stage + 1) * weeks
    }

    /// Notes from now on the plants that operations take from some stages.
    pub fn watch(&mut self, stages: &[usize]) {
        self.watched = vec![false; self.lowered.stages.len()];
        for stage in stages {
            self.watched[*stage] = true;
        }
    }

    /// Plays one future from its first week to its last.
    pub fn play(&mut self, streams: Streams) {
        self.begin(streams);
        let lowered = self.lowered;
        let weather = &lowered.paths[self.path];
        for lot in &lowered.lots {
            let planted = Planted {
                plants: lot.plants,
                from: 0,
                degree_days: lot.degree_days,
                luck: self.luck_of(lot.group),
                moved: self.moved_by(&lot.luck),
            };
            let growth = lot.growth.as_ref().unwrap_or(lowered.growth(lot.stage));
            let stream = (Purpose::Lot, lot.name, 0);
            self.plant(weather, (lot.stage, growth), planted, stream);
        }
        for week in 0..lowered.weeks {
            self.lose(weather, week);
            self.discard(week);
            self.arrive(week);
            self.fill_orders(week);
            self.look_back(week);
            self.work(weather, week);
            if lowered.report_weeks.contains(&week) {
                self.free.extend(self.shelves.iter().map(Shelf::ready));
            }
            if let Some(counter) = &mut self.counter {
                counter.end_of_week((week, lowered.weeks), &self.shelves, &self.lines);
            }
        }
        self.count_end();
    }

    fn begin(&mut self, streams: Streams) {
        let lowered = self.lowered;
        self.streams = streams;
        self.path = streams.of(Purpose::Path, 0, 0).below(lowered.paths.len());
        for (luck, group) in self.luck.iter_mut().zip(&lowered.groups) {
            *luck = normal(&mut streams.of(Purpose::Group, *group, 0));
        }
        self.losses
            .begin(&lowered.dangers, &lowered.paths[self.path], streams);
        for (outcome, line) in self.lines.iter_mut().zip(&lowered.lines) {
            *outcome = LineOutcome {
                kept: is_kept(line.kept, line.name, streams),
                need: Need {
                    lacks: line.plants,
                    complete: None,
                },
                arrived_by_due: 0,
            };
        }
        self.arriving.fill(0);
        self.sent_elsewhere.fill(0);
        self.growing.fill(0.0);
        self.deviations.fill(Deviation::default());
        self.arrived.fill(0);
        self.free.clear();
        self.left_to_do.clear();
        self.left_to_do
            .extend(lowered.operations.iter().map(|work| work.plants));
        self.set_aside.clear();
        self.shelves.iter_mut().for_each(Shelf::clear);
        for standing in &lowered.standing {
            self.shelves[standing.stage].put(standing.plants, standing.gone_in);
            self.arrived[standing.stage] += u64::from(standing.plants);
        }
    }

    /// Begins a future and tells what is true of its lots: those standing with growing plants, and those that
    /// operations start in their first weeks.
    pub fn truths(&mut self, streams: Streams) -> (Vec<LotTruth>, Vec<LotTruth>) {
        self.begin(streams);
        let lowered = self.lowered;
        let lots = lowered.lots.iter().map(|lot| {
            let growth = lot.growth.as_ref().unwrap_or(lowered.growth(lot.stage));
            let planted = Planted {
                plants: lot.plants,
                from: 0,
                degree_days: lot.degree_days,
                luck: self.luck_of(lot.group),
                moved: self.moved_by(&lot.luck),
            };
            growth.truth(planted, &mut streams.of(Purpose::Lot, lot.name, 0))
        });
        let lots = lots.collect();
        let started = lowered.operations.iter().map(|work| {
            let planted = Planted {
                plants: 0,
                from: work.first_week + 1,
                degree_days: 0.0,
                luck: self.luck_of(work.group),
                moved: self.moved_by(&work.luck),
            };
            let mut stream = streams.of(Purpose::Operation, work.name, work.first_week as u32);
            lowered.growth(work.to).truth(planted, &mut stream)
        });
        let started = started.collect();
        (lots, started)
    }

    fn luck_of(&self, group: Option<usize>) -> f64 {
        group.map_or(0.0, |group| self.luck[group])
    }

    /// How far further labels move a lot's logits.
    fn moved_by(&self, luck: &[(usize, f64)]) -> f64 {
        luck.iter().map(|(group, sd)| sd * self.luck[*group]).sum()
    }

    /// Starts a lot: draws at once in which weeks its plants will be ready.
    fn plant(
        &mut self,
        weather: &Weather,
        (stage, growth): (usize, &Growth),
        lot: Planted,
        (purpose, name, week): (Purpose, u64, u32),
    ) {
        let weeks = self.weeks_of(stage);
        let season = Season {
            degree_days: &weather.degree_days[growth.climate],
            losses: self.losses.of_stage(weather, stage),
        };
        let harvest = Harvest {
            own: &mut self.arriving[weeks.clone()],
            elsewhere: &mut self.sent_elsewhere[weeks],
        };
        let mut stream = self.streams.of(purpose, name, week);
        let fate = growth.grow(lot, season, &mut stream, harvest);
        let deviation = &mut self.deviations[stage];
        deviation.dead += fate.expected - f64::from(fate.survivors);
        deviation.elsewhere +=
            growth.own_share() * f64::from(fate.own + fate.elsewhere) - f64::from(fate.own);
        deviation.slow += fate.slow * f64::from(fate.survivors);
        self.growing[stage] += f64::from(fate.survivors);
    }

    /// Looks at what was worse than expected, for the lines that are due in a week.
    fn look_back(&mut self, week: usize) {
        let causes = &self.lowered.causes;
        for at in &causes.of_week[week] {
            self.worse[*at] = causes.families[*at].worse(&self.deviations, self.path);
        }
    }

    fn lose(&mut self, weather: &Weather, week: usize) {
        for (stage, mean_left) in &self.lowered.causes.left_of_week[week] {
            let left = self.losses.left(weather, *stage, week);
            let growing = &mut self.growing[*stage];
            let at_stake = *growing + f64::from(self.shelves[*stage].ready());
            self.deviations[*stage].lost += at_stake * (mean_left - left);
            *growing *= left;
        }
        for (stage, left) in self.losses.of_week(weather, week) {
            let shelf = &mut self.shelves[stage];
            if shelf.ready() > 0 {
                let name = name_hash(&[&self.lowered.stages[stage]]);
                let mut stream = self.streams.of(Purpose::Loss, name, week as u32);
                shelf.thin(|_, plants| binomial(&mut stream, plants, left));
            }
        }
    }

    fn discard(&mut self, week: usize) {
        for (stage, shelf) in self.shelves.iter_mut().enumerate() {
            let before = shelf.ready();
            shelf.discard(week);
            if let Some(counter) = &mut self.counter {
                counter.discarded(stage, before - shelf.ready());
            }
        }
    }

    fn arrive(&mut self, week: usize) {
        let lowered = self.lowered;
        if lowered.causes.has_losses {
            self.cease_to_grow(week);
        }
        for (from, to) in &lowered.splits {
            self.arriving[to * lowered.weeks + week] +=
                self.sent_elsewhere[from * lowered.weeks + week];
        }
        let arriving = self.arriving.iter().skip(week).step_by(lowered.weeks);
        let receive = arriving.enumerate().map(|(at, plants)| (at, *plants > 0));
        for stage in sift(&mut self.sifted, receive).iter().copied() {
            let plants = self.arriving[stage * lowered.weeks + week];
            self.shelves[stage].put(plants, lowered.gone_in[stage][week]);
            self.arrived[stage] += u64::from(plants);
        }
    }

    /// Takes plants that become ready off those that losses need. What losses leave of growing plants is
    /// known on average only.
    fn cease_to_grow(&mut self, week: usize) {
        let weeks = self.lowered.weeks;
        let of_week = |plants: &[u32], stage| f64::from(plants[stage * weeks + week]);
        for (stage, growing) in self.growing.iter_mut().enumerate() {
            let ready = of_week(&self.arriving, stage) + of_week(&self.sent_elsewhere, stage);
            *growing = (*growing - ready).max(0.0);
        }
    }

    fn fill_orders(&mut self, week: usize) {
        let lines = self.lowered.lines_of_week[week].iter();
        let outcomes = &self.lines;
        let open = lines.map(|at| {
            (
                *at,
                outcomes[*at].kept & outcomes[*at].need.complete.is_none(),
            )
        });
        for at in sift(&mut self.sifted, open) {
            let line = &self.lowered.lines[*at];
            if let Some(counter) = &mut self.counter {
                counter.before_line(&line.accepts, &self.shelves);
            }
            let need = &mut self.lines[*at].need;
            need.take(&line.accepts, line.terms, &mut self.shelves, week);
            if let Some(counter) = &mut self.counter {
                let of_line = (*at, line.accepts.as_slice());
                counter.after_line(of_line, week - line.first_week, &self.shelves);
            }
        }
        for at in &self.lowered.lines_due_in[week] {
            let accepts = &self.lowered.lines[*at].accepts;
            let outcome = &mut self.lines[*at];
            if outcome.kept {
                outcome.arrived_by_due = accepts.iter().map(|stage| self.arrived[*stage]).sum();
            }
        }
    }

    fn work(&mut self, weather: &Weather, week: usize) {
        let lowered = self.lowered;
        self.hours.clone_from(&lowered.crew_hours[week]);
        for remedy in &lowered.remedies_of_week[week] {
            remedy.begin(&mut self.left_to_do);
        }
        for (stage, plants) in &lowered.causes.waiting_of_week[week] {
            self.deviations[*stage].waiting -= plants;
        }
        let works = lowered.work_of_week[week].iter();
        let left_to_do = &self.left_to_do;
        let open = works.map(|at| (*at, left_to_do[*at] != Some(0)));
        let open = sift(&mut self.sifted, open).len();
        for at in 0..open {
            let at = self.sifted[at];
            let wanted = self.left_to_do[at].unwrap_or(u32::MAX);
            let work = &lowered.operations[at];
            let wanted = wanted.min(
                work.from
                    .map_or(u32::MAX, |stage| self.shelves[stage].ready()),
            );
            let plants = wanted.min(self.can_do(at, weather, week));
            self.deviations[work.to].waiting += f64::from(wanted - plants);
            if plants == 0 {
                continue;
            }
            if let Some(stage) = work.from {
                self.take_for_work(stage, plants, week);
            }
            if let Some(left) = &mut self.left_to_do[at] {
                *left -= plants;
            }
            if let Some(crew) = work.crew {
                self.hours[crew] -= f64::from(plants) * work.hours_per_plant;
            }
            let planted = Planted {
                plants,
                from: week + 1,
                degree_days: 0.0,
                luck: self.luck_of(work.group),
                moved: self.moved_by(&work.luck),
            };
            let stream = (Purpose::Operation, work.name, week as u32);
            self.plant(weather, (work.to, lowered.growth(work.to)), planted, stream);
            if let Some(counter) = &mut self.counter {
                counter.work(at, week - work.first_week, plants);
            }
        }
        if let Some(counter) = &mut self.counter {
            counter.hours(week, &lowered.crew_hours[week], &self.hours);
        }
    }

    /// Takes plants of a stage for an operation, and notes which if the stage is watched.
    fn take_for_work(&mut self, stage: usize, plants: u32, week: usize) {
        let shelf = &mut self.shelves[stage];
        if self.watched.get(stage).is_some_and(|watched| *watched) {
            let notes = &mut self.set_aside;
            shelf.take_each(plants, |bucket, plants| {
                notes.push(SetAside {
                    stage,
                    bucket,
                    week,
                    plants,
                });
            });
        } else {
            shelf.take(plants);
        }
    }

    /// How many plants hours and window allow. A window that is shut stops work that no hours limit.
    fn can_do(&self, operation: usize, weather: &Weather, week: usize) -> u32 {
        let work = &self.lowered.operations[operation];
        let open = work
            .window
            .map_or(1.0, |window| weather.windows[window][week]);
        match work.crew {
            _ if open <= 0.0 => 0,
            Some(crew) if work.hours_per_plant > 0.0 => {
                let hours = (open * self.lowered.crew_hours[week][crew]).min(self.hours[crew]);
                whole_part(hours / work.hours_per_plant)
            }
            _ => u32::MAX,
        }
    }
}

/// Those of many that something is to be done for. Without a branch for each, which would go either way.
#[inline]
fn sift(room: &mut [usize], all: impl Iterator<Item = (usize, bool)>) -> &[usize] {
    let mut sifted = 0;
    for (at, is_to_be_done) in all {
        room[sifted] = at;
        sifted += usize::from(is_to_be_done);
    }
    &room[..sifted]
}

/// Whether the customer keeps a line, from its chance and the hash of its id.
pub fn is_kept(chance: f64, name: u64, streams: Streams) -> bool {
    chance >= 1.0 || streams.of(Purpose::Line, name, 0).uniform() < chance
}
