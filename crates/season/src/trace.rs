//! Where a plan's plants come from and whom they serve: the plan's mean flow, oldest first, as the
//! futures take plants.

use std::collections::{BTreeMap, VecDeque};

use planner::{Discard, Shipment};

use crate::lower_plan::PlannedJob;
use crate::model::SeasonModel;

/// Amounts of plants smaller than this are dust of the arithmetic.
const DUST: f64 = 1e-6;

/// A source and how many plants come from it.
#[derive(Debug, Clone, PartialEq)]
pub enum Taken {
    /// From a standing lot.
    Lot {
        /// Index into the model's standing lots.
        lot: usize,
        /// Plants.
        plants: f64,
    },
    /// From an earlier job.
    Job {
        /// Index into the jobs.
        job: usize,
        /// Plants.
        plants: f64,
    },
}

impl Taken {
    /// Plants taken, on average.
    pub fn plants(&self) -> f64 {
        match self {
            Self::Lot { plants, .. } | Self::Job { plants, .. } => *plants,
        }
    }
}

/// A line and how many of its trees come from a job, on average.
#[derive(Debug, Clone, PartialEq)]
pub struct Served {
    /// The line's name.
    pub line: String,
    /// Trees.
    pub trees: f64,
}

/// What the flow says of jobs and lines.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// By job: where its plants come from.
    pub taken: Vec<Vec<Taken>>,
    /// By line name: where its plants come from.
    pub shipped: BTreeMap<String, Vec<Taken>>,
    /// By job: the lines that its plants end in, directly or through later jobs.
    pub serves: Vec<Vec<Served>>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Source {
    Lot(usize),
    Job(usize),
}

/// Plants of one source that become ready in one week.
struct Cohort {
    source: Source,
    plants: f64,
}

struct Flow<'a> {
    model: &'a SeasonModel,
    jobs: &'a [PlannedJob],
    arriving: Vec<BTreeMap<usize, Vec<Cohort>>>,
    waiting: Vec<VecDeque<Cohort>>,
}

/// Follows plants through a plan at its mean yields.
pub fn trace(
    model: &SeasonModel,
    jobs: &[PlannedJob],
    shipments: &[Shipment],
    discards: &[Discard],
) -> Trace {
    let mut flow = Flow::standing(model, jobs);
    let mut trace = Trace {
        taken: vec![Vec::new(); jobs.len()],
        ..Trace::default()
    };
    let mut of_week: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, job) in jobs.iter().enumerate() {
        of_week.entry(job.week).or_default().push(index);
    }
    for week in 0..model.weeks {
        flow.arrive(week);
        for discard in discards.iter().filter(|discard| discard.week == week) {
            if let Some(stage) = model.stage_index(&discard.stage) {
                flow.take(stage, discard.plants);
            }
        }
        for shipment in shipments.iter().filter(|shipment| shipment.week == week) {
            if let Some(stage) = model.stage_index(&shipment.stage) {
                let taken = flow.take(stage, shipment.plants);
                trace
                    .shipped
                    .entry(shipment.order.clone())
                    .or_default()
                    .extend(taken);
            }
        }
        for index in of_week.get(&week).into_iter().flatten() {
            let job = &jobs[*index];
            if let Some(stage) = model.operations[job.operation].from {
                trace.taken[*index] = flow.take(stage, f64::from(job.plants));
            }
            flow.start(*index);
        }
    }
    trace.serves = serves(&trace, jobs.len());
    trace
}

impl<'a> Flow<'a> {
    fn standing(model: &'a SeasonModel, jobs: &'a [PlannedJob]) -> Self {
        let stages = model.stages.len();
        let mut flow = Self {
            model,
            jobs,
            arriving: (0..stages).map(|_| BTreeMap::new()).collect(),
            waiting: (0..stages).map(|_| VecDeque::new()).collect(),
        };
        for (index, lot) in model.standing.iter().enumerate() {
            let source = Source::Lot(index);
            flow.will_arrive(lot.stage, 0, source, f64::from(lot.ready));
            for part in &lot.arrivals {
                flow.will_arrive(
                    lot.stage,
                    part.week,
                    source,
                    f64::from(lot.growing) * part.share,
                );
            }
            if let Some(other) = flow.otherwise(lot.stage) {
                for part in &lot.arrivals_otherwise {
                    let plants = f64::from(lot.growing) * part.share;
                    flow.will_arrive(other, part.week, source, plants);
                }
            }
        }
        flow
    }

    fn otherwise(&self, stage: usize) -> Option<usize> {
        let phase = self.model.stages[stage].phase.as_ref()?;
        phase.split.as_ref().map(|split| split.otherwise)
    }

    fn will_arrive(&mut self, stage: usize, week: usize, source: Source, plants: f64) {
        if plants > DUST {
            self.arriving[stage]
                .entry(week)
                .or_default()
                .push(Cohort { source, plants });
        }
    }

    fn arrive(&mut self, week: usize) {
        for (arriving, waiting) in self.arriving.iter_mut().zip(&mut self.waiting) {
            waiting.extend(arriving.remove(&week).into_iter().flatten());
        }
    }

    /// Takes plants, oldest first, as many as there are.
    fn take(&mut self, stage: usize, plants: f64) -> Vec<Taken> {
        let mut left = plants;
        let mut taken: Vec<(Source, f64)> = Vec::new();
        while left > DUST {
            let Some(oldest) = self.waiting[stage].front_mut() else {
                break;
            };
            let part = oldest.plants.min(left);
            left -= part;
            oldest.plants -= part;
            match taken
                .iter_mut()
                .find(|(source, _)| *source == oldest.source)
            {
                Some((_, sum)) => *sum += part,
                None => taken.push((oldest.source, part)),
            }
            if oldest.plants <= DUST {
                self.waiting[stage].pop_front();
            }
        }
        taken
            .into_iter()
            .map(|(source, plants)| match source {
                Source::Lot(lot) => Taken::Lot { lot, plants },
                Source::Job(job) => Taken::Job { job, plants },
            })
            .collect()
    }

    fn start(&mut self, index: usize) {
        let job = &self.jobs[index];
        let operation = &self.model.operations[job.operation];
        let Some(start) = operation.starts.iter().find(|start| start.week == job.week) else {
            return;
        };
        let plants = f64::from(job.plants);
        for part in &start.ready {
            let week = job.week + part.week;
            self.will_arrive(
                operation.into,
                week,
                Source::Job(index),
                plants * part.share,
            );
        }
        if let Some(other) = self.otherwise(operation.into) {
            for part in &start.otherwise {
                let week = job.week + part.week;
                self.will_arrive(other, week, Source::Job(index), plants * part.share);
            }
        }
    }
}

/// Lines that each job's plants end in, the most trees first. Jobs are in order of weeks and take
/// from earlier ones only, so that one pass backward suffices.
fn serves(trace: &Trace, jobs: usize) -> Vec<Vec<Served>> {
    let mut trees: Vec<BTreeMap<&str, f64>> = vec![BTreeMap::new(); jobs];
    for (line, taken) in &trace.shipped {
        for part in taken {
            if let Taken::Job { job, plants } = part {
                *trees[*job].entry(line).or_default() += plants;
            }
        }
    }
    for later in (0..jobs).rev() {
        let all: f64 = trace.taken[later].iter().map(Taken::plants).sum();
        for part in &trace.taken[later] {
            if let Taken::Job { job, plants } = part {
                for (line, served) in trees[later].clone() {
                    *trees[*job].entry(line).or_default() += served * plants / all;
                }
            }
        }
    }
    trees.into_iter().map(worth_naming).collect()
}

/// Lines that get half a tree or more.
fn worth_naming(trees: BTreeMap<&str, f64>) -> Vec<Served> {
    const LEAST_TREES: f64 = 0.5;
    let mut served: Vec<Served> = trees
        .into_iter()
        .filter(|(_, trees)| *trees >= LEAST_TREES)
        .map(|(line, trees)| Served {
            line: line.to_owned(),
            trees,
        })
        .collect();
    served.sort_by(|one, other| other.trees.total_cmp(&one.trees));
    served
}
