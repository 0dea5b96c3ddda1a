//! What stands in the nursery: lots of growing plants, each plant with a need and a fate, and ready ones.

use std::collections::{BTreeMap, VecDeque};

use crate::chance::Chance;
use crate::small::fates::{factor, moved, normal, share};
use crate::small::nursery::{Growth, Known};

/// What will become of a growing plant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fate {
    /// It dies before it is ready.
    Dies,
    /// It will be ready.
    Grows,
    /// It will be ready, but its bud does not take.
    Missed,
}

/// A growing plant.
#[derive(Clone, Copy, Debug)]
struct Plant {
    /// The degree-days that it needs (°C·d).
    needs: f64,
    fate: Fate,
    /// Whether it has met its need.
    is_grown: bool,
}

/// Plants that grow together.
#[derive(Clone, Debug)]
struct Lot {
    stage: String,
    climate: String,
    missed: Option<String>,
    /// Degree-days it has had (°C·d).
    sum: f64,
    plants: Vec<Plant>,
}

/// How a lot begins.
pub(super) struct Beginning<'a> {
    pub stage: &'a str,
    pub plants: u32,
    /// Degree-days behind it (°C·d).
    pub degree_days: f64,
    /// By how much luck moves the logits of its survival and take.
    pub luck: f64,
    /// What is known of it.
    pub known: Option<&'a Known>,
}

/// All that stands there.
#[derive(Debug, Default)]
pub(super) struct Ground {
    lots: Vec<Lot>,
    /// By stage: the week in which each ready plant became ready, the oldest first.
    ready: BTreeMap<String, VecDeque<i32>>,
}

impl Ground {
    /// Starts a lot: draws what is true of it, then of each of its plants.
    pub fn begin(&mut self, chance: &mut Chance, growth: &Growth, begin: &Beginning<'_>) {
        let had = begin.degree_days;
        let mean_need = growth.degree_days * pace(chance, growth, begin.known);
        let (mean, rho) = survival(growth, begin);
        let survival = share(chance, moved(mean, begin.luck), rho);
        let take = growth.take.as_ref().map_or(1.0, |take| {
            share(chance, moved(take.share, begin.luck), take.rho)
        });
        let mut is_overdue = false;
        let plants = (0..begin.plants).map(|_| Plant {
            needs: if is_overdue {
                had
            } else {
                let needs = more_than(had, || mean_need * factor(chance, growth.within_lot));
                is_overdue = needs.is_none();
                needs.unwrap_or(had)
            },
            fate: match (chance.yes(survival), chance.yes(take)) {
                (false, _) => Fate::Dies,
                (true, true) => Fate::Grows,
                (true, false) => Fate::Missed,
            },
            is_grown: false,
        });
        self.lots.push(Lot {
            stage: begin.stage.to_owned(),
            climate: growth.climate.clone(),
            missed: growth.take.as_ref().map(|take| take.missed.clone()),
            sum: had,
            plants: plants.collect(),
        });
    }

    /// One day's heat, by climate.
    pub fn grow(&mut self, degree_days: impl Fn(&str) -> f64) {
        for lot in &mut self.lots {
            lot.sum += degree_days(&lot.climate);
            for plant in &mut lot.plants {
                plant.is_grown = plant.fate != Fate::Dies && lot.sum >= plant.needs;
            }
        }
    }

    /// Takes each plant of a stage, growing or ready, with these odds.
    pub fn lose(&mut self, chance: &mut Chance, stage: &str, odds: f64) {
        for lot in self.lots.iter_mut().filter(|lot| lot.stage == stage) {
            lot.plants.retain(|_| !chance.yes(odds));
        }
        if let Some(ready) = self.ready.get_mut(stage) {
            ready.retain(|_| !chance.yes(odds));
        }
    }

    /// Throws out the plants of a stage that are too old, by the week in which they became ready.
    pub fn throw_out(&mut self, stage: &str, is_too_old: impl Fn(i32) -> bool) {
        if let Some(ready) = self.ready.get_mut(stage) {
            ready.retain(|since| !is_too_old(*since));
        }
    }

    /// Makes the plants ready that have met their need, and tells the stage of each.
    pub fn ripen(&mut self, week: i32, mut told: impl FnMut(&str)) {
        for lot in &mut self.lots {
            let (stage, missed) = (&lot.stage, lot.missed.as_ref().unwrap_or(&lot.stage));
            let ready = &mut self.ready;
            lot.plants.retain(|plant| {
                if plant.is_grown {
                    let stage = if plant.fate == Fate::Missed {
                        missed
                    } else {
                        stage
                    };
                    ready.entry(stage.clone()).or_default().push_back(week);
                    told(stage);
                }
                !plant.is_grown
            });
        }
        self.lots.retain(|lot| !lot.plants.is_empty());
    }

    /// Puts plants there that have been ready since a week.
    pub fn put(&mut self, stage: &str, since: i32, plants: u32) {
        let ready = self.ready.entry(stage.to_owned()).or_default();
        ready.extend((0..plants).map(|_| since));
        ready.make_contiguous().sort_unstable();
    }

    /// Ready plants of a stage.
    pub fn count(&self, stage: &str) -> u32 {
        self.ready.get(stage).map_or(0, |ready| ready.len() as u32)
    }

    /// Takes so many ready plants, or as many as there are, the oldest first.
    pub fn take(&mut self, stage: &str, wanted: u32) -> u32 {
        let taken = wanted.min(self.count(stage));
        if let Some(ready) = self.ready.get_mut(stage) {
            ready.drain(..taken as usize);
        }
        taken
    }
}

/// What its lot's need is of the usual one.
fn pace(chance: &mut Chance, growth: &Growth, known: Option<&Known>) -> f64 {
    match known.map(|known| known.pace) {
        Some([mean, sd]) => libm::exp(mean + sd * normal(chance)),
        None => factor(chance, growth.between_lots),
    }
}

/// The mean share of a lot that survives, and the likeness of its plants. Who has gone half of the way
/// has half of the dangers behind him.
fn survival(growth: &Growth, begin: &Beginning<'_>) -> (f64, f64) {
    if let Some(known) = begin.known {
        return (known.survival, known.survival_rho);
    }
    let to_go = 1.0 - (begin.degree_days / growth.degree_days).min(1.0);
    (libm::pow(growth.survival, to_go), growth.survival_rho)
}

/// So many draws are made for a need before a lot is taken for overdue: its plants are ready with the next heat.
const MOST_DRAWS: usize = 10_000;

/// Draws until a number lies beyond `least`: a plant that is not ready needs more than it has had. None where
/// hardly any plant does.
fn more_than(least: f64, mut draw: impl FnMut() -> f64) -> Option<f64> {
    let mut draws = (0..MOST_DRAWS).map(|_| draw());
    draws.find(|number| *number > least)
}
