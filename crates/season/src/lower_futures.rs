//! The season model and a plan's jobs as a futures case.

use std::collections::BTreeMap;

use futures::case::{
    Case, Crew, FORMAT, Known, Loss, Lot, Operation, Order, Path, Peril, Phase, Shared, Split,
    Weekly,
};
use planner::CrewUse;

use crate::lower_plan::{PlannedJob, blocks, weeks_of};
use crate::luck;
use crate::model::{self, LuckOf, SeasonModel};
use crate::remedies::{Remedy, remedies};

/// The futures case of a season in which the jobs of a plan are done, and after them what the nursery would
/// do where they fall short.
///
/// `hours` are, by crew and week, the hours that can go into starting jobs
/// ([`hours_for_starts`]).
pub fn futures_case(
    model: &SeasonModel,
    jobs: &[PlannedJob],
    hours: &BTreeMap<String, Vec<f64>>,
    seed: u64,
) -> Case {
    let seeds = seed_of_stages(model, jobs);
    let lower = |work: Work| {
        let plants = Some(work.plants);
        let like = operation(model, &seeds, work.operation, work.span, plants);
        match work.remedy {
            None => like,
            Some(remedy) => Operation {
                operation: format!("{}, {}", like.operation, remedy.why),
                makes_up_for: remedy.makes_up_for,
                times: remedy.times,
                ..like
            },
        }
    };
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
        operations: all_work(model, jobs).map(lower).collect(),
        orders: model.lines.iter().map(|line| order(model, line)).collect(),
        crews: hours
            .iter()
            .map(|(crew, hours)| Crew {
                id: crew.clone(),
                hours_per_week: Weekly::ByWeek(hours.clone()),
            })
            .collect(),
        perils: model.perils.iter().map(|it| peril(model, it)).collect(),
        seed,
    }
}

/// One operation of a futures case.
pub(crate) struct Work {
    /// Index of the model's operation.
    pub operation: usize,
    /// First and last week.
    pub span: (i64, i64),
    /// Plants at the most.
    pub plants: u32,
    /// What it is, where the plan itself does not have it.
    pub remedy: Option<Remedy>,
}

/// The operations of a futures case, in its order: the plan's jobs, and after them the remedies.
pub(crate) fn all_work(model: &SeasonModel, jobs: &[PlannedJob]) -> impl Iterator<Item = Work> {
    let slip = i64::from(model.slip_weeks);
    let planned = jobs.iter().map(move |job| Work {
        operation: job.operation,
        span: (job.week as i64, job.week as i64 + slip),
        plants: job.plants,
        remedy: None,
    });
    planned.chain(remedies(model, jobs).into_iter().map(|remedy| Work {
        operation: remedy.operation,
        span: remedy.span,
        plants: remedy.plants,
        remedy: Some(remedy),
    }))
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
    let started = hours_of_starts(model, jobs);
    let none = vec![0.0; model.weeks];
    model
        .crews
        .iter()
        .map(|crew| {
            let name = crew.crew.to_string();
            let starting = started.get(&name).unwrap_or(&none);
            let planned = crew_use.iter().find(|planned| planned.crew == name);
            let mut hired = crew.hired_limit.clone();
            if let Some(planned) = planned {
                for week in blocks(model, crew).iter().flat_map(weeks_of) {
                    hired[week] = planned.in_blocks[week];
                }
            }
            let hours = (0..model.weeks).map(|week| {
                let all = crew.hours[week] + hired[week];
                let slack = planned.map_or(all, |planned| {
                    all + planned.borrowed[week] - planned.lent[week] - planned.work[week]
                });
                starting[week] + slack.max(0.0)
            });
            (name.clone(), hours.collect())
        })
        .collect()
}

/// Hours that the jobs take in the week they are started, by crew and week.
fn hours_of_starts(model: &SeasonModel, jobs: &[PlannedJob]) -> BTreeMap<String, Vec<f64>> {
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
    started
}

/// Hours of starting jobs that cost nothing on top, by crew and week: what a crew has of its own, in blocks paid
/// for already, and borrows, less what it lends and what later work takes. Below zero where later work alone
/// needs hours hired by the hour.
pub fn own_hours_for_starts(
    model: &SeasonModel,
    jobs: &[PlannedJob],
    crew_use: &[CrewUse],
) -> BTreeMap<String, Vec<f64>> {
    let started = hours_of_starts(model, jobs);
    let none = vec![0.0; model.weeks];
    let of_crew = |planned: &CrewUse| {
        let starting = started.get(&planned.crew).unwrap_or(&none);
        let hours = (0..model.weeks).map(|week| {
            let there = planned.own[week] + planned.in_blocks[week] + planned.borrowed[week];
            there - planned.lent[week] - planned.work[week] + starting[week]
        });
        (planned.crew.clone(), hours.collect())
    };
    crew_use.iter().map(of_crew).collect()
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

fn peril(model: &SeasonModel, peril: &model::Peril) -> Peril {
    let stages = peril.stages.iter();
    Peril {
        id: peril.id.clone(),
        stages: stages.map(|it| model.stages[*it].id.clone()).collect(),
        from: peril.from as u32,
        until: peril.until as u32,
        chance: peril.chance,
        fraction: peril.fraction,
    }
}

fn standing(model: &SeasonModel, lot: &model::StandingLot) -> Lot {
    let stage = &model.stages[lot.stage];
    let known = Known {
        pace: lot.known.pace,
        survival: lot.known.survival,
        survival_rho: lot.known.survival_rho,
    };
    let luck = lot.luck.iter();
    Lot {
        id: match &stage.apart {
            Some(apart) => format!("{}, {}", lot.lot, apart.why.words()),
            None => lot.lot.to_string(),
        },
        stage: stage.id.clone(),
        immature: lot.growing,
        ready: if lot.ready > 0 {
            vec![(0, lot.ready)]
        } else {
            Vec::new()
        },
        degree_days_so_far: lot.degree_days_so_far,
        group: Some(lot.group.clone()),
        luck: luck.map(|(group, sd)| shared(group.clone(), *sd)).collect(),
        known: (known != Known::default()).then_some(known),
    }
}

fn shared(group: String, sd: f64) -> Shared {
    Shared { group, sd }
}

/// Work on an operation in a span of weeks.
fn operation(
    model: &SeasonModel,
    seeds: &BTreeMap<usize, String>,
    index: usize,
    (week, until): (i64, i64),
    plants: Option<u32>,
) -> Operation {
    let operation = &model.operations[index];
    let first = operation.work.iter().find(|work| work.after_weeks == 0);
    let stage = &model.stages[operation.into];
    let week_or_max = |week: i64| i32::try_from(week).unwrap_or(i32::MAX);
    let year = model.calendar.monday(week).year();
    let label = |of: LuckOf| match of {
        LuckOf::Seed => {
            let of_stage = operation.from.and_then(|from| seeds.get(&from));
            let sown = of_stage.or_else(|| seeds.get(&operation.into));
            let unknown = || format!("of {} {year}", stage.rootstock);
            luck::seed(&sown.cloned().unwrap_or_else(unknown))
        }
        LuckOf::Cut => {
            let variety = stage.variety.as_ref().map_or("", |it| it.as_str());
            luck::cut(&format!("{variety} {}", model.calendar.iso(week)))
        }
        LuckOf::Budder => {
            let crew = first.map_or("", |work| work.crew.as_str());
            luck::budder(crew, year)
        }
        LuckOf::Place => luck::place(stage.place.as_str(), year),
    };
    Operation {
        operation: operation.id.clone(),
        takes_from: operation.from.map(|from| model.stages[from].id.clone()),
        moves_to: stage.id.clone(),
        week: week_or_max(week),
        late_until: week_or_max(until),
        plants,
        crew: first.map(|work| work.crew.to_string()),
        hours_per_plant: first.map_or(0.0, |work| work.hours),
        group: Some(format!("{} {year}", operation.step)),
        window: operation.window.clone(),
        luck: stage
            .luck
            .iter()
            .map(|(of, sd)| shared(label(*of), *sd))
            .collect(),
        makes_up_for: Vec::new(),
        times: 1.0,
    }
}

/// The seed batch whose luck new lots of a stage, or of one made from it, share: of the seedlings that stand
/// there, else of the seed that the plan sows first.
fn seed_of_stages(model: &SeasonModel, jobs: &[PlannedJob]) -> BTreeMap<usize, String> {
    let mut seeds = model.seed_of_stages.clone();
    for job in jobs {
        let operation = &model.operations[job.operation];
        if operation.from.is_some() {
            continue;
        }
        let week = job.week as i64;
        let batches = operation.uses.iter().flat_map(|need| {
            let supply = &model.supplies[need.supply];
            supply.batches.iter()
        });
        let mut open = batches.filter(|batch| batch.from <= week && week <= batch.until);
        if let Some(batch) = open.next() {
            let known = seeds.entry(operation.into);
            known.or_insert_with(|| batch.source.clone());
        }
    }
    seeds
}

fn order(model: &SeasonModel, line: &model::Line) -> Order {
    let week = |week: i64| i32::try_from(week).unwrap_or(i32::MAX);
    Order {
        id: line.id.clone(),
        accepts: line
            .accepts
            .iter()
            .chain(line.substitutes.iter().map(|it| &it.stage))
            .map(|index| model.stages[*index].id.clone())
            .collect(),
        plants: line.plants.round() as u32,
        earliest: week(line.earliest),
        due: week(line.due),
        latest: week(line.latest),
        priority: line.priority,
        tolerance: line.tolerance,
        kept: line.kept,
        minimum_load: line.minimum_load,
    }
}
