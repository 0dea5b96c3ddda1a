//! What becomes of a small nursery: one true course of things.

use std::collections::BTreeMap;

use crate::chance::Chance;
use crate::small::fates::normal;
use crate::small::ground::{Beginning, Ground};
use crate::small::nursery::{Job, Line, Loss, Luck, Nursery, Weather};

/// Below this a fraction of a plant is the rounding of decimals.
const ROUNDING: f64 = 1e-9;

/// What became of a nursery.
#[derive(Clone, Debug)]
pub struct Life {
    /// What became of each line, in the nursery's order.
    pub lines: Vec<LineFate>,
    /// Plants that became ready in each week, by stage.
    pub arrivals: BTreeMap<String, Vec<u32>>,
}

/// What became of an order line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineFate {
    /// Whether the customer kept it.
    pub kept: bool,
    /// The week in which it was complete.
    pub complete: Option<i32>,
    /// Plants it still lacks.
    pub lacks: u32,
}

/// A nursery as it goes on.
struct Course<'a> {
    nursery: &'a Nursery,
    weather: &'a Weather,
    chance: Chance,
    /// The perils that come, as losses.
    perils: Vec<Loss>,
    /// The luck of each label, from when it is first asked for.
    luck: BTreeMap<&'a str, f64>,
    ground: Ground,
    /// Lines in the order in which they are served.
    queue: Vec<usize>,
    /// How many plants each job has done.
    done: Vec<u32>,
    life: Life,
}

impl Nursery {
    /// Draws what is true from what the nursery believes, and plays it day by day.
    pub fn live(&self, seed: u64) -> Life {
        let mut course = Course::new(self, Chance::new(seed));
        for week in 0..self.weeks {
            for day in 7 * week..7 * week + 7 {
                let weather = course.weather;
                course
                    .ground
                    .grow(|climate| weather.degree_days[climate][day]);
            }
            course.end_week(week);
        }
        course.life
    }
}

impl<'a> Course<'a> {
    fn new(nursery: &'a Nursery, mut chance: Chance) -> Self {
        let weather = &nursery.weathers[chance.below(nursery.weathers.len())];
        let lines = nursery.lines.iter().map(|line| LineFate {
            kept: chance.yes(line.kept),
            complete: None,
            lacks: line.plants,
        });
        let lines = lines.collect();
        let perils = perils(nursery, &mut chance);
        let life = Life {
            lines,
            arrivals: BTreeMap::new(),
        };
        let mut queue: Vec<usize> = (0..nursery.lines.len()).collect();
        let rank = |line: &Line| (line.priority, line.due, line.name.clone());
        queue.sort_by_key(|at| rank(&nursery.lines[*at]));
        let mut course = Self {
            nursery,
            weather,
            chance,
            perils,
            luck: BTreeMap::new(),
            ground: Ground::default(),
            queue,
            done: vec![0; nursery.jobs.len()],
            life,
        };
        for lot in &nursery.standing {
            for (weeks, plants) in &lot.ready {
                course.ground.put(&lot.stage, -(*weeks as i32), *plants);
            }
            let Some(growth) = &nursery.stages[&lot.stage].growth else {
                continue;
            };
            let beginning = Beginning {
                stage: &lot.stage,
                plants: lot.growing,
                degree_days: lot.degree_days,
                luck: course.luck(growth.batch_sd, lot.batch.as_ref(), &lot.luck),
                known: lot.known.as_ref(),
            };
            course.ground.begin(&mut course.chance, growth, &beginning);
        }
        course
    }

    /// By how much luck moves the logits of a lot.
    fn luck(&mut self, batch_sd: f64, batch: Option<&'a String>, luck: &'a [Luck]) -> f64 {
        let chance = &mut self.chance;
        let mut of = |label: &'a str| *self.luck.entry(label).or_insert_with(|| normal(chance));
        let of_batch = batch.map_or(0.0, |batch| batch_sd * of(batch));
        luck.iter().map(|it| it.sd * of(&it.label)).sum::<f64>() + of_batch
    }

    fn end_week(&mut self, week: usize) {
        let losses = self.weather.losses.iter().chain(&self.perils);
        for loss in losses.filter(|loss| loss.week == week) {
            for stage in &loss.stages {
                self.ground.lose(&mut self.chance, stage, loss.fraction);
            }
        }
        let now = week as i32;
        for (name, stage) in &self.nursery.stages {
            if let Some(limit) = &stage.over_age_weeks {
                let is_too_old = |since: i32| since + (limit.of(since) as i32) < now;
                self.ground.throw_out(name, is_too_old);
            }
        }
        let (arrivals, weeks) = (&mut self.life.arrivals, self.nursery.weeks);
        self.ground.ripen(now, |stage| {
            if !arrivals.contains_key(stage) {
                arrivals.insert(stage.to_owned(), vec![0; weeks]);
            }
            arrivals.get_mut(stage).expect("just put there")[week] += 1;
        });
        self.ship(now);
        self.work(week);
    }

    fn ship(&mut self, now: i32) {
        for at in &self.queue {
            let (line, fate) = (&self.nursery.lines[*at], &mut self.life.lines[*at]);
            let is_open = fate.kept && fate.complete.is_none();
            if !is_open || !(line.earliest..=line.latest).contains(&now) {
                continue;
            }
            let there: u32 = line.accepts.iter().map(|it| self.ground.count(it)).sum();
            if there < line.minimum_load.min(fate.lacks) {
                continue;
            }
            let may_lack = (line.tolerance * f64::from(line.plants) + ROUNDING).floor() as u32;
            for stage in &line.accepts {
                if fate.complete.is_none() {
                    fate.lacks -= self.ground.take(stage, fate.lacks);
                    fate.complete = (fate.lacks <= may_lack).then_some(now);
                }
            }
        }
    }

    fn work(&mut self, week: usize) {
        let nursery = self.nursery;
        let crews = nursery.crews.iter();
        let had: BTreeMap<String, f64> = crews
            .map(|(crew, hours)| (crew.clone(), hours.of(week as i32)))
            .collect();
        let mut hours = had.clone();
        for (at, job) in nursery.jobs.iter().enumerate() {
            if !(job.week..=job.late_until).contains(&(week as i32)) {
                continue;
            }
            let plants = [
                self.asked(job).map(|plants| plants - self.done[at]),
                job.takes_from.as_ref().map(|it| self.ground.count(it)),
                self.can_do(job, week, [&had, &hours]),
            ];
            let plants = plants.into_iter().flatten().min().unwrap_or_default();
            if plants == 0 {
                continue;
            }
            if let Some(stage) = &job.takes_from {
                self.ground.take(stage, plants);
            }
            self.done[at] += plants;
            if let Some(left) = job.crew.as_ref().and_then(|crew| hours.get_mut(crew)) {
                *left -= f64::from(plants) * job.hours_per_plant;
            }
            let growth = nursery.stages[&job.moves_to].growth.as_ref();
            let growth = growth.expect("plants are moved to where they grow");
            let beginning = Beginning {
                stage: &job.moves_to,
                plants,
                degree_days: 0.0,
                luck: self.luck(growth.batch_sd, job.batch.as_ref(), &job.luck),
                known: None,
            };
            self.ground.begin(&mut self.chance, growth, &beginning);
        }
    }

    /// How many plants a job is to do in all; none if only what is there limits it.
    fn asked(&self, job: &Job) -> Option<u32> {
        let Some(remedy) = &job.remedy else {
            return job.plants;
        };
        let others = self.nursery.jobs.iter().zip(&self.done);
        let (name, week) = &remedy.job;
        let lacking = others
            .filter(|(other, _)| other.name == *name && other.week == *week)
            .map(|(other, done)| other.plants.unwrap_or(*done) - done);
        let lacking = f64::from(lacking.sum::<u32>());
        let wanted = (remedy.times * lacking - ROUNDING).ceil() as u32;
        Some(wanted.min(job.plants.unwrap_or(u32::MAX)))
    }

    /// How many plants the window and the crew's hours let through; none if neither limits them.
    fn can_do(
        &self,
        job: &Job,
        week: usize,
        [had, left]: [&BTreeMap<String, f64>; 2],
    ) -> Option<u32> {
        let window = job.window.as_ref();
        let open = window.map_or(1.0, |kind| self.weather.windows[kind][week]);
        if open <= 0.0 {
            return Some(0);
        }
        let crew = job.crew.as_ref()?;
        let usable = left[crew].min(open * had[crew]);
        Some((usable / job.hours_per_plant + ROUNDING).floor() as u32)
    }
}

/// The perils that come.
fn perils(nursery: &Nursery, chance: &mut Chance) -> Vec<Loss> {
    let mut losses = Vec::new();
    for peril in &nursery.perils {
        if chance.yes(peril.odds) {
            losses.push(Loss {
                week: chance.between(peril.from, peril.until),
                stages: peril.stages.clone(),
                fraction: peril.fraction,
            });
        }
    }
    losses
}
