//! One random future, week by week.

use crate::growth::Planted;
use crate::lowered::{Line, Lowered, Weather, whole_part};
use crate::normal::normal;
use crate::sampling::binomial;
use crate::stream::{Purpose, Streams};

/// What became of one order line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LineOutcome {
    /// Whether the customer kept it.
    pub kept: bool,
    /// Plants it still lacks.
    pub lacks: u32,
    /// The week in which it was complete.
    pub complete: Option<usize>,
    /// Plants that were ready in its accepted stages by its due week, whoever took them.
    pub arrived_by_due: u64,
}

/// The state of one future, and at its end what came of it. Made once a thread and used again.
#[derive(Debug)]
pub struct Future<'a> {
    lowered: &'a Lowered,
    streams: Streams,
    /// Which weather path it is.
    pub path: usize,
    luck: Vec<f64>,
    pool: Pool,
    /// Plants that become ready, by week and stage.
    pub arriving: Vec<u32>,
    /// Plants that have become ready so far, by stage, with those standing.
    arrived: Vec<u64>,
    left_to_do: Vec<Option<u32>>,
    hours: Vec<f64>,
    /// What became of each line.
    pub lines: Vec<LineOutcome>,
    /// Ready plants left at the end of the report weeks, by week and stage.
    pub free: Vec<u32>,
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
            pool: Pool::new(stages, lowered.buckets()),
            arriving: vec![0; stages * lowered.weeks],
            arrived: vec![0; stages],
            left_to_do: Vec::new(),
            hours: Vec::new(),
            lines: vec![LineOutcome::default(); lowered.lines.len()],
            free: Vec::new(),
        }
    }

    /// Plays one future from its first week to its last.
    pub fn play(&mut self, streams: Streams) {
        self.begin(streams);
        let lowered = self.lowered;
        let weather = &lowered.paths[self.path];
        for lot in &lowered.lots {
            let luck = self.luck_of(lot.group);
            let planted = Planted {
                plants: lot.plants,
                from: 0,
                degree_days: lot.degree_days,
                luck,
            };
            self.plant(weather, lot.stage, planted, (Purpose::Lot, lot.name, 0));
        }
        for week in 0..lowered.weeks {
            self.lose(weather, week);
            for (stage, bucket) in &lowered.over_age[week] {
                self.pool.discard(*stage, *bucket);
            }
            self.arrive(week);
            self.fill_orders(week);
            self.work(weather, week);
            if lowered.report_weeks.contains(&week) {
                self.free.extend_from_slice(&self.pool.ready);
            }
        }
    }

    fn begin(&mut self, streams: Streams) {
        let lowered = self.lowered;
        self.streams = streams;
        self.path = streams.of(Purpose::Path, 0, 0).below(lowered.paths.len());
        for (luck, group) in self.luck.iter_mut().zip(&lowered.groups) {
            *luck = normal(&mut streams.of(Purpose::Group, *group, 0));
        }
        for (outcome, line) in self.lines.iter_mut().zip(&lowered.lines) {
            *outcome = LineOutcome {
                kept: is_kept(line, streams),
                lacks: line.plants,
                ..LineOutcome::default()
            };
        }
        self.arriving.fill(0);
        self.arrived.fill(0);
        self.free.clear();
        self.left_to_do.clear();
        self.left_to_do
            .extend(lowered.operations.iter().map(|work| work.plants));
        self.pool.clear();
        for standing in &lowered.standing.plants {
            self.pool
                .put(standing.stage, standing.bucket, standing.plants);
            self.arrived[standing.stage] += u64::from(standing.plants);
        }
    }

    fn luck_of(&self, group: Option<usize>) -> f64 {
        group.map_or(0.0, |group| self.luck[group])
    }

    /// Starts a lot: draws at once in which weeks its plants will be ready.
    fn plant(
        &mut self,
        weather: &Weather,
        stage: usize,
        lot: Planted,
        (purpose, name, week): (Purpose, u64, u32),
    ) {
        let lowered = self.lowered;
        let growth = lowered.growths[stage]
            .as_ref()
            .expect("a stage that lots grow in has a phase");
        let arriving = &mut self.arriving;
        let stages = lowered.stages.len();
        let season = weather.season(stage, growth);
        growth.grow(
            lot,
            season,
            &mut self.streams.of(purpose, name, week),
            |ready| {
                arriving[ready.week * stages + stage] += ready.own;
                arriving[ready.week * stages + growth.otherwise] += ready.otherwise;
            },
        );
    }

    fn lose(&mut self, weather: &Weather, week: usize) {
        for (stage, left) in &weather.losses_of_week[week] {
            if self.pool.ready[*stage] > 0 {
                let name = crate::stream::name_hash(&[&self.lowered.stages[*stage]]);
                let mut stream = self.streams.of(Purpose::Loss, name, week as u32);
                self.pool
                    .thin(*stage, |plants| binomial(&mut stream, plants, *left));
            }
        }
    }

    fn arrive(&mut self, week: usize) {
        let stages = self.lowered.stages.len();
        let bucket = self.lowered.standing.buckets_before + week;
        for (stage, plants) in self.arriving[week * stages..][..stages].iter().enumerate() {
            if *plants > 0 {
                self.pool.put(stage, bucket, *plants);
                self.arrived[stage] += u64::from(*plants);
            }
        }
    }

    fn fill_orders(&mut self, week: usize) {
        for at in &self.lowered.lines_of_week[week] {
            let line = &self.lowered.lines[*at];
            let outcome = &mut self.lines[*at];
            if !outcome.kept {
                continue;
            }
            if outcome.complete.is_none() {
                for stage in &line.accepts {
                    outcome.lacks -= self.pool.take(*stage, outcome.lacks);
                    if outcome.lacks <= line.slack {
                        outcome.complete = Some(week);
                        break;
                    }
                }
            }
            if line.due.is_some_and(|due| week <= due) {
                outcome.arrived_by_due =
                    line.accepts.iter().map(|stage| self.arrived[*stage]).sum();
            }
        }
    }

    fn work(&mut self, weather: &Weather, week: usize) {
        let lowered = self.lowered;
        self.hours.clone_from(&lowered.crew_hours[week]);
        for at in &lowered.work_of_week[week] {
            let wanted = self.left_to_do[*at].unwrap_or(u32::MAX);
            if wanted == 0 {
                continue;
            }
            let work = &lowered.operations[*at];
            let wanted = wanted.min(work.from.map_or(u32::MAX, |stage| self.pool.ready[stage]));
            let plants = wanted.min(self.can_do(*at, weather, week));
            if plants == 0 {
                continue;
            }
            if let Some(stage) = work.from {
                self.pool.take(stage, plants);
            }
            if let Some(left) = &mut self.left_to_do[*at] {
                *left -= plants;
            }
            if let Some(crew) = work.crew {
                self.hours[crew] -= f64::from(plants) * work.hours_per_plant;
            }
            let luck = self.luck_of(work.group);
            let planted = Planted {
                plants,
                from: week + 1,
                degree_days: 0.0,
                luck,
            };
            self.plant(
                weather,
                work.to,
                planted,
                (Purpose::Operation, work.name, week as u32),
            );
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

fn is_kept(line: &Line, streams: Streams) -> bool {
    line.kept >= 1.0 || streams.of(Purpose::Line, line.name, 0).uniform() < line.kept
}

/// Ready plants, in buckets by stage and by the week they became ready.
#[derive(Debug)]
struct Pool {
    /// By stage and bucket.
    plants: Vec<u32>,
    buckets: usize,
    /// By stage: every bucket before this one is empty.
    oldest: Vec<usize>,
    /// By stage: all its plants.
    ready: Vec<u32>,
}

impl Pool {
    fn new(stages: usize, buckets: usize) -> Self {
        Self {
            plants: vec![0; stages * buckets],
            buckets,
            oldest: vec![buckets; stages],
            ready: vec![0; stages],
        }
    }

    fn clear(&mut self) {
        self.plants.fill(0);
        self.oldest.fill(self.buckets);
        self.ready.fill(0);
    }

    fn put(&mut self, stage: usize, bucket: usize, plants: u32) {
        self.plants[stage * self.buckets + bucket] += plants;
        self.oldest[stage] = self.oldest[stage].min(bucket);
        self.ready[stage] += plants;
    }

    fn discard(&mut self, stage: usize, bucket: usize) {
        if self.ready[stage] == 0 || bucket < self.oldest[stage] {
            return;
        }
        self.ready[stage] -= std::mem::take(&mut self.plants[stage * self.buckets + bucket]);
    }

    /// Takes up to `wanted` plants, oldest first; returns how many there were.
    fn take(&mut self, stage: usize, wanted: u32) -> u32 {
        let taken = wanted.min(self.ready[stage]);
        self.ready[stage] -= taken;
        let plants = &mut self.plants[stage * self.buckets..][..self.buckets];
        let mut missing = taken;
        while missing > 0 {
            let bucket = &mut plants[self.oldest[stage]];
            let step = missing.min(*bucket);
            *bucket -= step;
            missing -= step;
            self.oldest[stage] += usize::from(*bucket == 0);
        }
        taken
    }

    /// Leaves in each bucket what `left` says of its plants, oldest first.
    fn thin(&mut self, stage: usize, mut left: impl FnMut(u32) -> u32) {
        let oldest = self.oldest[stage];
        let mut all = 0;
        for plants in &mut self.plants[stage * self.buckets..][oldest..self.buckets] {
            *plants = left(*plants);
            all += *plants;
        }
        self.ready[stage] = all;
    }
}
