//! A plan lived through by the simulator that plays nurseries day by day and plant by plant: its futures case as
//! that simulator reads it. Heat of a week is spread evenly over its days.

use std::collections::BTreeMap;

use futures::case::{Case, Lot, Operation, Order, Path, Phase, Shared, Weekly};
use testkit::small::{
    ByWeek, Growth, Job, Known, Life, Line, Loss, Luck, Nursery, Peril, Remedy, Stage, Standing,
    Take, Weather,
};

/// The lives of a nursery, so many of them from a seed on.
pub fn lives(case: &Case, first_seed: u64, count: u64) -> (Nursery, Vec<Life>) {
    let nursery = nursery_of(case);
    let seeds = first_seed..first_seed + count;
    let lives = seeds.map(|seed| nursery.live(seed)).collect();
    (nursery, lives)
}

fn nursery_of(case: &Case) -> Nursery {
    let weeks = case.weeks as usize;
    Nursery {
        weeks,
        weathers: case.paths.iter().map(|it| weather(it, weeks)).collect(),
        stages: stages(case),
        standing: case.lots.iter().map(|lot| standing(case, lot)).collect(),
        jobs: case.operations.iter().map(job).collect(),
        lines: case.orders.iter().map(line).collect(),
        crews: case
            .crews
            .iter()
            .map(|crew| (crew.id.clone(), by_week(&crew.hours_per_week)))
            .collect(),
        perils: perils(case),
    }
}

fn by_week<T: Copy>(values: &Weekly<T>) -> ByWeek<T> {
    match values {
        Weekly::Always(value) => ByWeek::Same(*value),
        Weekly::ByWeek(values) => ByWeek::Each(values.clone()),
    }
}

fn weather(path: &Path, weeks: usize) -> Weather {
    let by_day = |heat: &Vec<f64>| {
        let weeks = heat.iter().take(weeks);
        weeks.flat_map(|of_week| [of_week / 7.0; 7]).collect()
    };
    let climates = path.climates.iter();
    let losses = path.losses.iter().map(|loss| Loss {
        week: loss.week as usize,
        stages: loss.stages.clone(),
        fraction: loss.fraction,
    });
    Weather {
        degree_days: climates
            .map(|(climate, heat)| (climate.clone(), by_day(heat)))
            .collect(),
        windows: path.windows.clone(),
        losses: losses.collect(),
    }
}

fn stages(case: &Case) -> BTreeMap<String, Stage> {
    let stage = |name: &str| Stage {
        growth: case.phases.get(name).map(growth),
        over_age_weeks: case.over_age_after_weeks.get(name).map(by_week),
    };
    let names = case.stages().into_iter();
    names.map(|name| (name.to_owned(), stage(name))).collect()
}

fn growth(phase: &Phase) -> Growth {
    Growth {
        climate: phase.climate.clone(),
        degree_days: phase.degree_days,
        within_lot: phase.within_lot,
        between_lots: phase.between_lots,
        survival: phase.survival,
        survival_rho: phase.survival_rho,
        take: phase.split.as_ref().map(|split| Take {
            share: split.share,
            rho: split.rho,
            missed: split.otherwise.clone(),
        }),
        batch_sd: phase.shared_sd,
    }
}

fn luck(shared: &[Shared]) -> Vec<Luck> {
    let of = |shared: &Shared| Luck {
        label: shared.group.clone(),
        sd: shared.sd,
    };
    shared.iter().map(of).collect()
}

fn standing(case: &Case, lot: &Lot) -> Standing {
    Standing {
        name: lot.id.clone(),
        stage: lot.stage.clone(),
        growing: lot.immature,
        degree_days: lot.degree_days_so_far,
        ready: lot.ready.clone(),
        batch: lot.group.clone(),
        luck: luck(&lot.luck),
        known: lot
            .known
            .as_ref()
            .zip(case.phases.get(&lot.stage))
            .map(|(known, phase)| told(known, phase, lot.degree_days_so_far)),
    }
}

/// What counts have told of a lot, and of the rest what is believed of any.
fn told(known: &futures::case::Known, phase: &Phase, degree_days: f64) -> Known {
    let spread = phase.between_lots;
    let ahead = 1.0 - (degree_days / phase.degree_days).min(1.0);
    Known {
        pace: known.pace.unwrap_or([-spread * spread / 2.0, spread]),
        survival: known
            .survival
            .unwrap_or_else(|| libm::pow(phase.survival, ahead)),
        survival_rho: known.survival_rho.unwrap_or(phase.survival_rho),
    }
}

fn job(operation: &Operation) -> Job {
    let made_up_for = operation.makes_up_for.first();
    Job {
        name: operation.operation.clone(),
        takes_from: operation.takes_from.clone(),
        moves_to: operation.moves_to.clone(),
        week: operation.week,
        late_until: operation.late_until,
        plants: operation.plants,
        crew: operation.crew.clone(),
        hours_per_plant: operation.hours_per_plant,
        window: operation.window.clone(),
        batch: operation.group.clone(),
        luck: luck(&operation.luck),
        remedy: made_up_for.map(|job| Remedy {
            job: (job.operation.clone(), job.week),
            times: operation.times,
        }),
    }
}

fn line(order: &Order) -> Line {
    Line {
        name: order.id.clone(),
        accepts: order.accepts.clone(),
        plants: order.plants,
        earliest: order.earliest,
        due: order.due,
        latest: order.latest,
        priority: order.priority,
        tolerance: order.tolerance,
        kept: order.kept,
        minimum_load: order.minimum_load,
    }
}

fn perils(case: &Case) -> Vec<Peril> {
    let perils = case.perils.iter().map(|peril| Peril {
        name: peril.id.clone(),
        stages: peril.stages.clone(),
        from: peril.from as usize,
        until: peril.until as usize,
        odds: peril.chance,
        fraction: peril.fraction,
    });
    perils.collect()
}
