//! The season model and a plan's jobs as a futures case.

use std::collections::BTreeMap;

use futures::case::{Case, Crew, FORMAT, Loss, Lot, Operation, Order, Path, Phase, Split, Weekly};
use planner::CrewUse;

use crate::lower_plan::PlannedJob;
use crate::model::{self, SeasonModel};

/// The futures case of a season in which the jobs of a plan are done.
///
/// `hours` are, by crew and week, the hours that can go into starting jobs
/// ([`hours_for_starts`]).
pub fn futures_case(
    model: &SeasonModel,
    jobs: &[PlannedJob],
    hours: &BTreeMap<String, Vec<f64>>,
    seed: u64,
) -> Case {
    Case {
        format: FORMAT,
        weeks: model.weeks as u32,
        paths: model.paths.iter().map(|it| path(model, it)).collect(),
        phases: model
            .stages
            .iter()
            .filter_map(|stage| Some((stage.id.clone(), phase(model, stage.phase.as_ref()?))))
            .collect(),
        over_age_after_weeks: model
            .stages
            .iter()
            .map(|stage| (stage.id.clone(), Weekly::ByWeek(stage.over_age.clone())))
            .collect(),
        lots: model
            .standing
            .iter()
            .map(|lot| standing(model, lot))
            .collect(),
        operations: jobs.iter().map(|job| operation(model, job)).collect(),
        orders: model.lines.iter().map(|line| order(model, line)).collect(),
        crews: hours
            .iter()
            .map(|(crew, hours)| Crew {
                id: crew.clone(),
                hours_per_week: Weekly::ByWeek(hours.clone()),
            })
            .collect(),
        perils: Vec::new(),
        seed,
    }
}

/// Hours a crew can put into starting jobs, by crew and week: what it has, hires and borrows,
/// less what it lends and what later work on plants (unwrapping, suckering, staking) takes.
///
/// The futures engine counts the hours of a job in the week it is started; later work is taken
/// off beforehand, as planned.
pub fn hours_for_starts(
    model: &SeasonModel,
    jobs: &[PlannedJob],
    crew_use: &[CrewUse],
) -> BTreeMap<String, Vec<f64>> {
    let mut started: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for job in jobs {
        let first = model.operations[job.operation]
            .work
            .iter()
            .find(|work| work.after_weeks == 0);
        if let Some(work) = first {
            started
                .entry(work.crew.to_string())
                .or_insert_with(|| vec![0.0; model.weeks])[job.week] +=
                f64::from(job.plants) * work.hours;
        }
    }
    let none = vec![0.0; model.weeks];
    model
        .crews
        .iter()
        .map(|crew| {
            let name = crew.crew.to_string();
            let starting = started.get(&name).unwrap_or(&none);
            let planned = crew_use.iter().find(|planned| planned.crew == name);
            let hours = (0..model.weeks).map(|week| {
                let all = crew.hours[week] + crew.hired_limit[week];
                let slack = planned.map_or(all, |planned| {
                    all + planned.borrowed[week] - planned.lent[week] - planned.work[week]
                });
                starting[week] + slack.max(0.0)
            });
            (name.clone(), hours.collect())
        })
        .collect()
}

fn path(model: &SeasonModel, path: &model::WeatherPath) -> Path {
    // The futures end with the plan; the weather goes on.
    let losses = path.losses.iter().filter(|loss| loss.week < model.weeks);
    Path {
        climates: path.climates.clone(),
        windows: path.windows.clone(),
        losses: losses
            .map(|loss| Loss {
                week: loss.week as u32,
                stages: loss
                    .stages
                    .iter()
                    .map(|stage| model.stages[*stage].id.clone())
                    .collect(),
                fraction: loss.fraction,
            })
            .collect(),
    }
}

fn phase(model: &SeasonModel, phase: &model::Phase) -> Phase {
    Phase {
        degree_days: phase.degree_days,
        within_lot: phase.within_lot,
        between_lots: phase.between_lots,
        survival: phase.survival,
        survival_rho: phase.survival_rho,
        split: phase.split.as_ref().map(|split| Split {
            share: split.share,
            rho: split.rho,
            otherwise: model.stages[split.otherwise].id.clone(),
        }),
        climate: phase.climate.clone(),
        shared_sd: phase.shared_sd,
    }
}

fn standing(model: &SeasonModel, lot: &model::StandingLot) -> Lot {
    Lot {
        id: lot.lot.to_string(),
        stage: model.stages[lot.stage].id.clone(),
        immature: lot.growing,
        ready: if lot.ready > 0 {
            vec![(0, lot.ready)]
        } else {
            Vec::new()
        },
        degree_days_so_far: lot.degree_days_so_far,
        group: Some(lot.group.clone()),
        luck: Vec::new(),
        known: None,
    }
}

fn operation(model: &SeasonModel, job: &PlannedJob) -> Operation {
    let operation = &model.operations[job.operation];
    let first = operation.work.iter().find(|work| work.after_weeks == 0);
    Operation {
        operation: operation.id.clone(),
        takes_from: operation.from.map(|from| model.stages[from].id.clone()),
        moves_to: model.stages[operation.into].id.clone(),
        week: job.week as i32,
        late_until: job.week as i32 + model.slip_weeks as i32,
        plants: Some(job.plants),
        crew: first.map(|work| work.crew.to_string()),
        hours_per_plant: first.map_or(0.0, |work| work.hours),
        group: Some(format!(
            "{} {}",
            operation.step,
            model.calendar.monday(job.week as i64).year()
        )),
        window: operation.window.clone(),
        luck: Vec::new(),
        makes_up_for: Vec::new(),
        times: 1.0,
    }
}

fn order(model: &SeasonModel, line: &model::Line) -> Order {
    let week = |week: i64| i32::try_from(week).unwrap_or(i32::MAX);
    Order {
        id: line.id.clone(),
        accepts: line
            .accepts
            .iter()
            .map(|index| model.stages[*index].id.clone())
            .collect(),
        plants: line.plants.round() as u32,
        earliest: week(line.earliest),
        due: week(line.due),
        latest: week(line.latest),
        priority: line.priority,
        tolerance: line.tolerance,
        kept: 1.0,
        minimum_load: 0,
    }
}
