//! Rare losses: which of them come in a future, and what they and the weather path leave of plants.

use crate::case::Case;
use crate::lowered::{Names, Weather};
use crate::stream::{Purpose, Streams, name_hash};

/// A peril in numbers.
#[derive(Debug)]
pub struct Danger {
    name: u64,
    /// Its stages, each once.
    stages: Vec<usize>,
    /// Its first week.
    from: usize,
    /// In how many weeks it may come.
    weeks: usize,
    chance: f64,
    /// The share of plants that it leaves.
    left: f64,
}

impl Danger {
    /// The perils of a case, in the order of their names.
    pub fn of(case: &Case, names: &Names<'_>) -> Vec<Self> {
        let mut perils: Vec<_> = case.perils.iter().collect();
        perils.sort_by(|one, other| one.id.cmp(&other.id));
        perils
            .into_iter()
            .map(|peril| {
                let stages = peril.stages.iter();
                let mut stages: Vec<_> = stages.map(|it| names.stages[it.as_str()]).collect();
                stages.sort_unstable();
                stages.dedup();
                Self {
                    name: name_hash(&[&peril.id]),
                    stages,
                    from: peril.from as usize,
                    weeks: (peril.until - peril.from) as usize + 1,
                    chance: peril.chance,
                    left: 1.0 - peril.fraction,
                }
            })
            .collect()
    }

    /// The stages that lose plants.
    pub fn stages(&self) -> &[usize] {
        &self.stages
    }

    /// The share of plants that it leaves in a week, on average over futures; none if it never comes
    /// then.
    pub fn mean_left(&self, week: usize) -> Option<f64> {
        let comes = self.chance / self.weeks as f64;
        (week >= self.from && week - self.from < self.weeks)
            .then_some(1.0 - comes * (1.0 - self.left))
    }

    /// The week in which it comes in a future; none if it does not.
    fn comes(&self, streams: Streams) -> Option<usize> {
        let mut stream = streams.of(Purpose::Peril, self.name, 0);
        (stream.uniform() < self.chance).then(|| self.from + stream.below(self.weeks))
    }
}

/// The losses of one future: those of its weather path, with the perils that come in it.
#[derive(Debug)]
pub struct Losses {
    /// By stage: `(week, share left)`, by week, where a peril comes; else empty.
    merged: Vec<Vec<(usize, f64)>>,
    /// The stages that a peril comes to.
    endangered: Vec<usize>,
}

impl Losses {
    /// Room for the losses of so many stages.
    pub fn new(stages: usize) -> Self {
        Self {
            merged: vec![Vec::new(); stages],
            endangered: Vec::new(),
        }
    }

    /// Draws the perils of a future and puts them among the losses of its path.
    pub fn begin(&mut self, dangers: &[Danger], weather: &Weather, streams: Streams) {
        let weeks = weather.losses_of_week.len();
        for stage in self.endangered.drain(..) {
            self.merged[stage].clear();
        }
        for danger in dangers {
            let Some(week) = danger.comes(streams).filter(|week| *week < weeks) else {
                continue;
            };
            for stage in &danger.stages {
                self.put(weather, *stage, week, danger.left);
            }
        }
    }

    fn put(&mut self, weather: &Weather, stage: usize, week: usize, left: f64) {
        let losses = &mut self.merged[stage];
        if losses.is_empty() {
            losses.extend_from_slice(&weather.losses_of_stage[stage]);
            self.endangered.push(stage);
        }
        match losses.binary_search_by_key(&week, |(at, _)| *at) {
            Ok(at) => losses[at].1 *= left,
            Err(at) => losses.insert(at, (week, left)),
        }
    }

    /// `(week, share left)` of a stage, by week.
    pub fn of_stage<'a>(&'a self, weather: &'a Weather, stage: usize) -> &'a [(usize, f64)] {
        let merged = &self.merged[stage];
        if merged.is_empty() {
            &weather.losses_of_stage[stage]
        } else {
            merged
        }
    }

    /// The share left of one stage in a week.
    pub fn left(&self, weather: &Weather, stage: usize, week: usize) -> f64 {
        let losses = self.of_stage(weather, stage);
        let at = losses.binary_search_by_key(&week, |(at, _)| *at);
        at.map_or(1.0, |at| losses[at].1)
    }

    /// `(stage, share left)` of a week.
    pub fn of_week<'a>(
        &'a self,
        weather: &'a Weather,
        week: usize,
    ) -> impl Iterator<Item = (usize, f64)> + 'a {
        let of_path = weather.losses_of_week[week]
            .iter()
            .copied()
            .filter(|(stage, _)| self.merged[*stage].is_empty());
        let with_perils = self.endangered.iter().filter_map(move |stage| {
            let losses = &self.merged[*stage];
            let at = losses.binary_search_by_key(&week, |(at, _)| *at).ok()?;
            Some((*stage, losses[at].1))
        });
        of_path.chain(with_perils)
    }
}
