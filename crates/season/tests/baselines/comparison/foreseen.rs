//! The perfect-information bound: one future, known beforehand, as a season without luck.

use std::collections::BTreeMap;

use futures::{Engine, LotTruth, Told};
use nursery::settings::Remedies;
use season::{
    Known, Phase, PlannedJob, SeasonModel, Split, Start, fresh_arrivals, futures_case,
    hours_for_starts, planning_case, standing_arrivals,
};

/// Tells what is true of futures of a season.
pub struct Oracle<'a> {
    model: &'a SeasonModel,
    engine: Engine,
    seed: u64,
}

impl<'a> Oracle<'a> {
    /// Of a season in which every start that it knows may be made.
    pub fn new(model: &'a SeasonModel, seed: u64) -> Self {
        let jobs: Vec<PlannedJob> = all_starts(model).collect();
        let without_remedies = SeasonModel {
            remedies: Remedies {
                rebud: false,
                resow: false,
                buy_in: false,
                ..model.remedies
            },
            ..model.clone()
        };
        let hours = hours_for_starts(&without_remedies, &jobs, &[]);
        let case = futures_case(&without_remedies, &jobs, &hours, seed);
        Self {
            model,
            engine: Engine::try_new(&case).expect("a right case"),
            seed,
        }
    }

    /// The planning case of a season whose future is known, and the lines that are kept.
    pub fn case(&self, future: u32) -> planner::Case {
        let told = self.engine.told(future, self.seed);
        let mut known = self.model.clone();
        know_starts(&mut known, &told);
        know_lots(&mut known, &told);
        known
            .lines
            .retain(|line| told.kept.get(&line.id).copied().unwrap_or(true));
        planning_case(&known)
    }
}

/// One job for each start, by operation and week.
fn all_starts(model: &SeasonModel) -> impl Iterator<Item = PlannedJob> {
    let operations = model.operations.iter().enumerate();
    operations.flat_map(|(operation, it)| {
        it.starts.iter().map(move |start| PlannedJob {
            job: String::new(),
            operation,
            week: start.week,
            plants: 1,
        })
    })
}

/// Every start becomes ready as it does in the future; starts while a window is shut fall away.
fn know_starts(model: &mut SeasonModel, told: &Told) {
    let mut truths = told.started.iter();
    let weather = &model.paths[told.path];
    for operation in &mut model.operations {
        let into = &model.stages[operation.into];
        let window = operation.window.as_ref();
        let shares = window.and_then(|it| weather.windows.get(it));
        let known = operation.starts.iter().zip(truths.by_ref());
        let open = known.filter(|(start, _)| {
            let share = shares.and_then(|weeks| weeks.get(start.week));
            share.is_none_or(|share| *share > 0.0)
        });
        let known = open.map(|(start, truth)| {
            let Some(phase) = &into.phase else {
                return start.clone();
            };
            let phase = foreseen(phase, truth);
            let heat = std::slice::from_ref(&weather.climates[&phase.climate]);
            let kept = [kept_by_week(told, &into.id, model.weather_weeks)];
            let (ready, otherwise) = fresh_arrivals(&phase, heat, &kept, start.week);
            Start {
                week: start.week,
                ready,
                otherwise,
            }
        });
        operation.starts = known.collect();
    }
}

/// Every lot that stands becomes ready as it does in the future.
fn know_lots(model: &mut SeasonModel, told: &Told) {
    let growing = model.standing.iter_mut().filter(|lot| lot.growing > 0);
    let weather = &model.paths[told.path];
    for (lot, truth) in growing.zip(&told.lots) {
        let stage = &model.stages[lot.stage];
        let Some(phase) = &stage.phase else { continue };
        let known = Known {
            pace: Some([truth.log_pace, 0.0]),
            survival: Some(truth.survival),
            survival_rho: None,
        };
        let phase = Phase {
            degree_days: phase.degree_days,
            ..foreseen(phase, truth)
        };
        let heat = std::slice::from_ref(&weather.climates[&phase.climate]);
        let kept = [kept_by_week(told, &stage.id, model.weather_weeks)];
        let so_far = lot.degree_days_so_far;
        (lot.arrivals, lot.arrivals_otherwise) =
            standing_arrivals(&phase, heat, &kept, so_far, &known);
    }
}

/// How a lot grows of which so much is known.
fn foreseen(phase: &Phase, truth: &LotTruth) -> Phase {
    Phase {
        degree_days: phase.degree_days * libm::exp(truth.log_pace),
        between_lots: 0.0,
        survival: truth.survival,
        shared_sd: 0.0,
        luck_sd: 0.0,
        split: phase.split.as_ref().map(|it| Split {
            share: truth.split.unwrap_or(it.share),
            ..it.clone()
        }),
        ..phase.clone()
    }
}

/// The share of growing plants of a stage that each week's losses leave.
fn kept_by_week(told: &Told, stage: &str, weeks: usize) -> Vec<f64> {
    let losses: BTreeMap<usize, f64> = told
        .losses
        .get(stage)
        .into_iter()
        .flatten()
        .copied()
        .collect();
    let left = |week| losses.get(&week).copied().unwrap_or(1.0);
    (0..weeks).map(left).collect()
}
