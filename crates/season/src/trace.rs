//! Where a plan's plants come from and whom they serve: the plan's mean flow, oldest first, as the
//! futures take plants.

use std::collections::{BTreeMap, VecDeque};

use planner::{Case, Discard, Plan, Shipment};

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
    /// By standing lot: the same.
    pub lots_serve: Vec<Vec<Served>>,
    /// By job: the reserves that its plants stand in for a while, by the names of [`Held`].
    pub held: Vec<Vec<Served>>,
    /// By job: trees and stock that stand or grow on at the end of the plan.
    pub left: Vec<f64>,
    /// By job: plants that are thrown out.
    pub thrown_out: Vec<f64>,
}

/// Plants that stand in reserve at the end of a week; they may be shipped or put on afterwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// Whom they guard, in words.
    pub name: String,
    /// The stages, as places in the model's.
    pub stages: Vec<usize>,
    /// The week.
    pub week: usize,
    /// How many.
    pub plants: f64,
}

impl Held {
    /// What a plan holds in the reserves of its case; each is named by the order lines it guards.
    pub fn of_plan(model: &SeasonModel, case: &Case, plan: &Plan) -> Vec<Self> {
        let reserves = case.reserves.iter().zip(&plan.reserves);
        let held = reserves.filter_map(|(reserve, planned)| {
            let stages = reserve.stages.iter();
            Some(Self {
                name: reserve.orders.join(", "),
                stages: stages.filter_map(|id| model.stage_index(id)).collect(),
                week: usize::try_from(reserve.week).ok()?,
                plants: planned.held,
            })
        });
        held.filter(|it| it.plants > DUST).collect()
    }
}

/// What becomes of plants in a plan beside its jobs.
#[derive(Debug, Clone, Copy)]
pub struct Moves<'a> {
    /// What is shipped.
    pub shipments: &'a [Shipment],
    /// What is thrown out.
    pub discards: &'a [Discard],
    /// What is held in reserve.
    pub held: &'a [Held],
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Source {
    Lot(usize),
    Job(usize),
}

impl Source {
    fn of(self, plants: f64) -> Taken {
        match self {
            Self::Lot(lot) => Taken::Lot { lot, plants },
            Self::Job(job) => Taken::Job { job, plants },
        }
    }
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
pub fn trace(model: &SeasonModel, jobs: &[PlannedJob], moves: &Moves<'_>) -> Trace {
    let mut flow = Flow::standing(model, jobs);
    let mut trace = Trace {
        taken: vec![Vec::new(); jobs.len()],
        ..Trace::default()
    };
    let (mut held, mut thrown_out) = (BTreeMap::<&str, Vec<Taken>>::new(), Vec::new());
    let mut of_week: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, job) in jobs.iter().enumerate() {
        of_week.entry(job.week).or_default().push(index);
    }
    for week in 0..model.weeks {
        flow.arrive(week);
        for discard in moves.discards.iter().filter(|it| it.week == week) {
            if let Some(stage) = model.stage_index(&discard.stage) {
                thrown_out.extend(flow.take(stage, discard.plants));
            }
        }
        for shipment in moves.shipments.iter().filter(|it| it.week == week) {
            if let Some(stage) = model.stage_index(&shipment.stage) {
                let taken = flow.take(stage, shipment.plants);
                let of_line = trace.shipped.entry(shipment.order.clone());
                of_line.or_default().extend(taken);
            }
        }
        for index in of_week.get(&week).into_iter().flatten() {
            let job = &jobs[*index];
            if let Some(stage) = model.operations[job.operation].from {
                trace.taken[*index] = flow.take(stage, f64::from(job.plants));
            }
            flow.start(*index);
        }
        for it in moves.held.iter().filter(|it| it.week == week) {
            held.entry(&it.name).or_default().extend(flow.newest(it));
        }
    }
    let left = flow.left();
    trace.ended(&Ending {
        held: held
            .iter()
            .map(|(name, taken)| (*name, taken.as_slice()))
            .collect(),
        left: &left,
        thrown_out: &thrown_out,
        lots: model.standing.len(),
    })
}

/// Where plants are that no line gets.
struct Ending<'a> {
    held: BTreeMap<&'a str, &'a [Taken]>,
    left: &'a [Taken],
    thrown_out: &'a [Taken],
    lots: usize,
}

impl Trace {
    /// With what becomes of the plants of each job and lot.
    fn ended(mut self, ending: &Ending<'_>) -> Self {
        let named = |ends: Ends<'_>| ends.into_iter().map(worth_naming).collect();
        let sum = |taken: &[Taken]| -> Vec<f64> {
            let (of_jobs, _) = ends(&self.taken, &BTreeMap::from([("", taken)]), ending.lots);
            of_jobs.iter().map(|it| it.values().sum()).collect()
        };
        let (left, thrown_out) = (sum(ending.left), sum(ending.thrown_out));
        let shipped = self.shipped.iter();
        let shipped = shipped.map(|(line, taken)| (line.as_str(), taken.as_slice()));
        let (serves, lots_serve) = ends(&self.taken, &shipped.collect(), ending.lots);
        let (held, _) = ends(&self.taken, &ending.held, ending.lots);
        let (serves, lots_serve, held) = (named(serves), named(lots_serve), named(held));
        (self.left, self.thrown_out) = (left, thrown_out);
        (self.serves, self.lots_serve, self.held) = (serves, lots_serve, held);
        self
    }
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
            .map(|(source, plants)| source.of(plants))
            .collect()
    }

    /// The plants that came last of some stages, as many as are held.
    fn newest(&self, held: &Held) -> Vec<Taken> {
        let mut left = held.plants;
        let mut newest = Vec::new();
        for stage in &held.stages {
            for cohort in self.waiting[*stage].iter().rev() {
                let part = cohort.plants.min(left);
                if part > DUST {
                    left -= part;
                    newest.push(cohort.source.of(part));
                }
            }
        }
        newest
    }

    /// All that waits or grows on.
    fn left(&self) -> Vec<Taken> {
        let growing = self.arriving.iter().flat_map(BTreeMap::values).flatten();
        let all = self.waiting.iter().flatten().chain(growing);
        all.map(|it| it.source.of(it.plants)).collect()
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

/// Trees by where they end.
type Ends<'t> = Vec<BTreeMap<&'t str, f64>>;

/// How many trees of each end come from each job and each standing lot, directly or through later jobs. Jobs
/// are in order of weeks and take from earlier ones only, so that one pass backward suffices.
fn ends<'t>(
    taken: &[Vec<Taken>],
    first: &BTreeMap<&'t str, &[Taken]>,
    lots: usize,
) -> (Ends<'t>, Ends<'t>) {
    let mut of_jobs: Ends<'t> = vec![BTreeMap::new(); taken.len()];
    let mut of_lots: Ends<'t> = vec![BTreeMap::new(); lots];
    for (end, taken) in first {
        for part in *taken {
            let (of, plants) = match part {
                Taken::Job { job, plants } => (&mut of_jobs[*job], plants),
                Taken::Lot { lot, plants } => (&mut of_lots[*lot], plants),
            };
            *of.entry(end).or_default() += plants;
        }
    }
    for later in (0..taken.len()).rev() {
        let all: f64 = taken[later].iter().map(Taken::plants).sum();
        for part in &taken[later] {
            for (end, trees) in of_jobs[later].clone() {
                let of = match part {
                    Taken::Job { job, .. } => &mut of_jobs[*job],
                    Taken::Lot { lot, .. } => &mut of_lots[*lot],
                };
                *of.entry(end).or_default() += trees * part.plants() / all;
            }
        }
    }
    (of_jobs, of_lots)
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
