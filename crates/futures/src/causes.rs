//! What went worse than expected before a line's due week: weather, take, growth, losses or work, in
//! the stages that its plants come from.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::case::Case;
use crate::lowered::{Lowered, Names, Weather, Work, whole_part};
use crate::peril::Danger;

/// What may go worse than expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Factor {
    /// Fewer degree-days than on the mean of the paths.
    Weather,
    /// Fewer plants survive, or fewer are ready where the split would have them, than their shares say.
    Take,
    /// Lots are slower than their mean pace.
    Growth,
    /// Losses and perils take more than they do on average.
    Loss,
    /// More plants wait for hours or windows than do where everything stands ready for its work.
    Work,
}

/// How many factors there are.
pub const FACTORS: usize = 5;

/// The factors, in the order in which they are counted.
pub const ALL: [Factor; FACTORS] = [
    Factor::Weather,
    Factor::Take,
    Factor::Growth,
    Factor::Loss,
    Factor::Work,
];

/// Sums of decimals miss nothing by less than this, in plants.
const NOTHING: f64 = 1e-6;

/// The stages that lines with the same ones come from, looked at in the same due week.
#[derive(Debug)]
pub struct Family {
    /// Its stages: those accepted and all upstream of them. Of each, whether plants that its split
    /// sends elsewhere are missing (1) or wanted (−1).
    stages: Vec<(usize, f64)>,
    /// By path: whether it has fewer degree-days by the due week than paths have on average.
    is_cold: Vec<bool>,
}

/// How far things differ from what is expected, in plants; more is worse.
#[derive(Clone, Copy, Debug, Default)]
pub struct Deviation {
    /// Plants fewer that survive.
    pub dead: f64,
    /// Plants fewer that are ready in the stage itself, not in its split's other one.
    pub elsewhere: f64,
    /// Log pace, by plants.
    pub slow: f64,
    /// Plants more that are lost.
    pub lost: f64,
    /// Plants more that wait for their work, by weeks.
    pub waiting: f64,
}

impl Family {
    /// Which factors are worse than expected, by what has been counted so far.
    pub fn worse(&self, deviations: &[Deviation], path: usize) -> [bool; FACTORS] {
        let (mut take, mut slow, mut lost, mut waiting) = (0.0, 0.0, 0.0, 0.0);
        for (stage, sign) in &self.stages {
            let of_stage = deviations[*stage];
            take += of_stage.dead + sign * of_stage.elsewhere;
            slow += of_stage.slow;
            lost += of_stage.lost;
            waiting += of_stage.waiting;
        }
        [
            self.is_cold[path],
            take > NOTHING,
            slow > NOTHING,
            lost > NOTHING,
            waiting > NOTHING,
        ]
    }
}

/// What of a case is needed to tell causes.
#[derive(Debug, Default)]
pub struct Causes {
    /// The families of all lines.
    pub families: Vec<Family>,
    /// Which family each line has; none where its due week was before week 0.
    pub of_line: Vec<Option<usize>>,
    /// Which families are looked at in each week.
    pub of_week: Vec<Vec<usize>>,
    /// By week: `(stage, share left)` on average over paths and perils, where it is less than 1 or a
    /// loss may come.
    pub left_of_week: Vec<Vec<(usize, f64)>>,
    /// By week: `(stage, plants)` that wait for work on them to be lots of that stage, where
    /// everything stands ready for its work.
    pub waiting_of_week: Vec<Vec<(usize, f64)>>,
    /// Whether any plants can ever be lost.
    pub has_losses: bool,
}

impl Causes {
    /// Of a case that is lowered but for this.
    pub fn new(case: &Case, names: &Names<'_>, lowered: &Lowered) -> Self {
        let upstream = Upstream::of(case, names);
        let mut known = BTreeMap::new();
        let mut families = Vec::new();
        let mut of_week = vec![Vec::new(); lowered.weeks];
        let mut of_line = Vec::new();
        for line in &lowered.lines {
            let family = line.due.map(|due| {
                let due = due.min(lowered.weeks - 1);
                let accepts: BTreeSet<usize> = line.accepts.iter().copied().collect();
                *known
                    .entry((accepts, due))
                    .or_insert_with_key(|(accepts, _)| {
                        let stages = upstream.of_stages(accepts);
                        of_week[due].push(families.len());
                        families.push(Family {
                            is_cold: cold_paths(lowered, &stages, due),
                            stages,
                        });
                        families.len() - 1
                    })
            });
            of_line.push(family);
        }
        let left_of_week: Vec<_> = (0..lowered.weeks)
            .map(|week| mean_left(&lowered.paths, &lowered.dangers, week))
            .collect();
        Self {
            families,
            of_line,
            of_week,
            has_losses: left_of_week.iter().any(|week| !week.is_empty()),
            left_of_week,
            waiting_of_week: planned_waiting(case, lowered),
        }
    }
}

/// Where the plants of each stage come from.
struct Upstream {
    /// By stage: those whose plants operations make it of.
    by_work: Vec<BTreeSet<usize>>,
    /// By stage: those whose splits send plants to it.
    by_split: Vec<BTreeSet<usize>>,
}

impl Upstream {
    fn of(case: &Case, names: &Names<'_>) -> Self {
        let mut by_work = vec![BTreeSet::new(); names.stages.len()];
        let mut by_split = by_work.clone();
        for work in &case.operations {
            if let Some(from) = &work.takes_from {
                by_work[names.stages[work.moves_to.as_str()]].insert(names.stages[from.as_str()]);
            }
        }
        for (stage, phase) in &case.phases {
            if let Some(split) = &phase.split {
                by_split[names.stages[split.otherwise.as_str()]]
                    .insert(names.stages[stage.as_str()]);
            }
        }
        Self { by_work, by_split }
    }

    fn of_stages(&self, accepts: &BTreeSet<usize>) -> Vec<(usize, f64)> {
        let mut wanted = accepts.clone();
        let mut next: Vec<usize> = accepts.iter().copied().collect();
        let mut seen = accepts.clone();
        while let Some(stage) = next.pop() {
            wanted.extend(&self.by_work[stage]);
            let upstream = self.by_work[stage].union(&self.by_split[stage]);
            next.extend(upstream.filter(|stage| seen.insert(**stage)));
        }
        let sign = |stage| if wanted.contains(&stage) { 1.0 } else { -1.0 };
        seen.into_iter().map(|stage| (stage, sign(stage))).collect()
    }
}

/// Which paths have fewer degree-days until `due` than the mean, in the climates of the stages.
fn cold_paths(lowered: &Lowered, stages: &[(usize, f64)], due: usize) -> Vec<bool> {
    let growths = stages
        .iter()
        .filter_map(|(stage, _)| lowered.growths[*stage].as_ref());
    let climates: BTreeSet<usize> = growths.map(|growth| growth.climate).collect();
    let whole = |path: &Weather| {
        let degree_days = climates
            .iter()
            .map(|climate| path.degree_days[*climate].after(due));
        u128::from(degree_days.sum::<f64>().round() as u64)
    };
    let sums: Vec<u128> = lowered.paths.iter().map(whole).collect();
    let all: u128 = sums.iter().sum();
    sums.iter()
        .map(|sum| sum * (sums.len() as u128) < all)
        .collect()
}

/// What a week leaves of each stage on average, where anything may be lost.
fn mean_left(paths: &[Weather], dangers: &[Danger], week: usize) -> Vec<(usize, f64)> {
    let mut lost = BTreeMap::<usize, f64>::new();
    for (stage, left) in paths.iter().flat_map(|path| &path.losses_of_week[week]) {
        *lost.entry(*stage).or_default() += (1.0 - left) / paths.len() as f64;
    }
    let mut left: BTreeMap<usize, f64> = lost
        .into_iter()
        .map(|(at, lost)| (at, 1.0 - lost))
        .collect();
    for danger in dangers {
        let Some(mean) = danger.mean_left(week) else {
            continue;
        };
        for stage in danger.stages() {
            *left.entry(*stage).or_insert(1.0) *= mean;
        }
    }
    left.into_iter().collect()
}

/// Plays the operations on their own, with all plants there and windows as wide as on average.
fn planned_waiting(case: &Case, lowered: &Lowered) -> Vec<Vec<(usize, f64)>> {
    // What a remedy or an operation on all there are does is not known beforehand.
    let planned = |at: &usize| case.operations[*at].makes_up_for.is_empty();
    let mut left: Vec<f64> = lowered
        .operations
        .iter()
        .map(|work| f64::from(work.plants.unwrap_or(0)))
        .collect();
    let of_week = |week: usize| {
        let mut hours = lowered.crew_hours[week].clone();
        let mut waiting = BTreeMap::<usize, f64>::new();
        for at in lowered.work_of_week[week].iter().filter(|at| planned(at)) {
            let work = &lowered.operations[*at];
            let done = can_do_on_average(work, lowered, week, &mut hours, left[*at]);
            left[*at] -= done;
            if left[*at] > 0.0 {
                *waiting.entry(work.to).or_default() += left[*at];
            }
        }
        waiting.into_iter().collect()
    };
    (0..lowered.weeks).map(of_week).collect()
}

/// How much of what is left an operation does where all plants are there; takes its crew's hours.
fn can_do_on_average(
    work: &Work,
    lowered: &Lowered,
    week: usize,
    hours: &mut [f64],
    left: f64,
) -> f64 {
    let mean = |of_path: &dyn Fn(&Weather) -> f64| {
        lowered.paths.iter().map(of_path).sum::<f64>() / lowered.paths.len() as f64
    };
    let share = |path: &Weather| work.window.map_or(1.0, |window| path.windows[window][week]);
    match work.crew {
        Some(crew) if work.hours_per_plant > 0.0 => {
            let open = mean(&share) * lowered.crew_hours[week][crew];
            // Whole plants, as in a future, or rounding alone would keep some waiting longer there.
            let done = left.min(whole_part(open.min(hours[crew]) / work.hours_per_plant).into());
            hours[crew] -= done * work.hours_per_plant;
            done
        }
        _ => left * mean(&|path| f64::from(share(path) > 0.0)),
    }
}
