//! A small nursery as the engine reads it: the same beliefs and plans, heat by the week.

use futures::case::{
    Case, Crew, FORMAT, JobName, Known, Loss, Lot, Operation, Order, Path, Peril, Phase, Shared,
    Split, Weekly,
};
use testkit::small::{ByWeek, Growth, Job, Line, Luck, Nursery, Standing, Weather};

pub fn case_of(nursery: &Nursery) -> Case {
    let stages = || nursery.stages.iter();
    let crews = nursery.crews.iter();
    Case {
        format: FORMAT,
        weeks: nursery.weeks as u32,
        paths: nursery.weathers.iter().map(path).collect(),
        phases: stages()
            .filter_map(|(name, stage)| Some((name.clone(), phase(stage.growth.as_ref()?))))
            .collect(),
        over_age_after_weeks: stages()
            .filter_map(|(name, stage)| {
                let limit = stage.over_age_weeks.as_ref()?;
                Some((name.clone(), weekly(limit)))
            })
            .collect(),
        lots: nursery.standing.iter().map(lot).collect(),
        operations: nursery.jobs.iter().map(operation).collect(),
        orders: nursery.lines.iter().map(order).collect(),
        crews: crews
            .map(|(id, hours)| Crew {
                id: id.clone(),
                hours_per_week: weekly(hours),
            })
            .collect(),
        perils: perils(nursery),
        seed: 0,
    }
}

fn weekly<T: Copy>(values: &ByWeek<T>) -> Weekly<T> {
    match values {
        ByWeek::Same(value) => Weekly::Always(*value),
        ByWeek::Each(values) => Weekly::ByWeek(values.clone()),
    }
}

fn path(weather: &Weather) -> Path {
    let by_week = |days: &Vec<f64>| days.chunks(7).map(|week| week.iter().sum()).collect();
    let climates = weather.degree_days.iter();
    let losses = weather.losses.iter();
    Path {
        climates: climates
            .map(|(climate, days)| (climate.clone(), by_week(days)))
            .collect(),
        windows: weather.windows.clone(),
        losses: losses
            .map(|loss| Loss {
                week: loss.week as u32,
                stages: loss.stages.clone(),
                fraction: loss.fraction,
            })
            .collect(),
    }
}

fn phase(growth: &Growth) -> Phase {
    Phase {
        degree_days: growth.degree_days,
        within_lot: growth.within_lot,
        between_lots: growth.between_lots,
        survival: growth.survival,
        survival_rho: growth.survival_rho,
        split: growth.take.as_ref().map(|take| Split {
            share: take.share,
            rho: take.rho,
            otherwise: take.missed.clone(),
        }),
        climate: growth.climate.clone(),
        shared_sd: growth.batch_sd,
    }
}

fn lot(standing: &Standing) -> Lot {
    Lot {
        id: standing.name.clone(),
        stage: standing.stage.clone(),
        immature: standing.growing,
        ready: standing.ready.clone(),
        degree_days_so_far: standing.degree_days,
        group: standing.batch.clone(),
        luck: shared(&standing.luck),
        known: standing.known.as_ref().map(|known| Known {
            pace: Some(known.pace),
            survival: Some(known.survival),
            survival_rho: Some(known.survival_rho),
        }),
    }
}

fn shared(luck: &[Luck]) -> Vec<Shared> {
    let of = |luck: &Luck| Shared {
        group: luck.label.clone(),
        sd: luck.sd,
    };
    luck.iter().map(of).collect()
}

fn perils(nursery: &Nursery) -> Vec<Peril> {
    let perils = nursery.perils.iter();
    perils
        .map(|peril| Peril {
            id: peril.name.clone(),
            stages: peril.stages.clone(),
            from: peril.from as u32,
            until: peril.until as u32,
            chance: peril.odds,
            fraction: peril.fraction,
        })
        .collect()
}

fn operation(job: &Job) -> Operation {
    let remedy = job.remedy.as_ref();
    let made_up_for = remedy.map(|remedy| JobName {
        operation: remedy.job.0.clone(),
        week: remedy.job.1,
    });
    Operation {
        operation: job.name.clone(),
        takes_from: job.takes_from.clone(),
        moves_to: job.moves_to.clone(),
        week: job.week,
        late_until: job.late_until,
        plants: job.plants,
        crew: job.crew.clone(),
        hours_per_plant: job.hours_per_plant,
        group: job.batch.clone(),
        window: job.window.clone(),
        luck: shared(&job.luck),
        makes_up_for: made_up_for.into_iter().collect(),
        times: remedy.map_or(1.0, |remedy| remedy.times),
    }
}

fn order(line: &Line) -> Order {
    Order {
        id: line.name.clone(),
        accepts: line.accepts.clone(),
        plants: line.plants,
        earliest: line.earliest,
        due: line.due,
        latest: line.latest,
        priority: line.priority,
        tolerance: line.tolerance,
        kept: line.kept,
        minimum_load: line.minimum_load,
    }
}
