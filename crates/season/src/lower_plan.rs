//! The season model as a planning case, and a plan's starts as whole jobs.

use planner::case::{
    Accept, Batch, Block, Case, Crew, FORMAT, HoursEntry, Operation, Order, PerWeek, Place,
    ReadyEntry, Stage, Standing, Start, StartBefore, Supply, Use, Week, WeekPlants,
};

use std::collections::BTreeMap;
use std::ops::Range;

use planner::PlannedStart;

use crate::arrivals::Fraction;
use crate::model::{self, SeasonModel, StandingLot};

/// One operation in one week, in whole plants.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedJob {
    /// A name that stays the same as long as operation and week do.
    pub job: String,
    /// Index of the operation.
    pub operation: usize,
    /// The week.
    pub week: usize,
    /// Plants put through.
    pub plants: u32,
}

/// A plan's starts as whole jobs, by week and then in the model's order of operations.
///
/// Plants are rounded so that the sum over an operation's weeks is right to within half a plant at
/// every week, which leaves the first weeks of a workable plan as they are; jobs of no plant fall away.
pub fn jobs(model: &SeasonModel, starts: &[PlannedStart]) -> Vec<PlannedJob> {
    let index = indices(model);
    let mut by_operation: BTreeMap<usize, BTreeMap<usize, f64>> = BTreeMap::new();
    for start in starts {
        if let Some(operation) = index.get(start.operation.as_str()) {
            *by_operation
                .entry(*operation)
                .or_default()
                .entry(start.week)
                .or_default() += start.plants;
        }
    }
    let mut jobs = Vec::new();
    for (operation, weeks) in by_operation {
        let mut planned = 0.0;
        let mut whole = 0.0;
        for (week, plants) in weeks {
            planned += plants;
            let now = f64::round(planned);
            let plants = (now - whole).max(0.0) as u32;
            whole = now.max(whole);
            if plants > 0 {
                let id = &model.operations[operation].id;
                let job = format!("{id} {}", model.calendar.iso(week as i64));
                jobs.push(PlannedJob {
                    job,
                    operation,
                    week,
                    plants,
                });
            }
        }
    }
    jobs.sort_by_key(|job| (job.week, job.operation));
    jobs
}

/// Index of every operation by its name.
fn indices(model: &SeasonModel) -> BTreeMap<&str, usize> {
    let all = model.operations.iter().enumerate();
    all.map(|(index, operation)| (operation.id.as_str(), index))
        .collect()
}

/// The planning case of a season. Money is in hundreds of the minor unit.
pub fn planning_case(model: &SeasonModel) -> Case {
    Case {
        format: FORMAT,
        weeks: model.weeks,
        places: model.places.iter().map(place).collect(),
        crews: model.crews.iter().map(|it| crew(model, it)).collect(),
        supplies: model
            .supplies
            .iter()
            .map(|it| supply(it, model.weeks))
            .collect(),
        stages: model.stages.iter().map(stage).collect(),
        operations: model
            .operations
            .iter()
            .map(|op| operation(model, op))
            .collect(),
        standing: standing(model),
        orders: model.lines.iter().map(|line| order(model, line)).collect(),
        reserves: Vec::new(),
        whole_weeks: Some(model.whole.weeks),
        most_jobs_per_week: model.whole.most_jobs.map(f64::from),
        before: before(model),
        change_cost_per_plant: model.change_cost,
    }
}

/// The jobs of the plan before whose operations there still are.
fn before(model: &SeasonModel) -> Vec<StartBefore> {
    let index = indices(model);
    let known = model.before.iter();
    let known = known.filter(|it| index.contains_key(it.operation.as_str()));
    let starts = known.map(|it| StartBefore {
        operation: it.operation.clone(),
        week: it.week as i64,
        plants: f64::from(it.plants),
    });
    starts.collect()
}

fn place(place: &model::Place) -> Place {
    Place {
        id: place.place.to_string(),
        area_m2: place.area_m2.into(),
        excess_cost_per_m2_week: place.excess_cost.into(),
    }
}

fn crew(model: &SeasonModel, crew: &model::Crew) -> Crew {
    let blocks = blocks(model, crew);
    let mut by_the_hour = crew.hired_limit.clone();
    for block in &blocks {
        by_the_hour[weeks_of(block)].fill(0.0);
    }
    Crew {
        id: crew.crew.to_string(),
        hours_per_week: crew.hours.clone().into(),
        extra_hours_per_week: by_the_hour.into(),
        extra_cost_per_hour: crew.hired_extra_cost.clone().into(),
        may_do: crew.may_do.iter().map(ToString::to_string).collect(),
        blocks,
    }
}

/// The weeks of a block.
pub(crate) fn weeks_of(block: &Block) -> Range<usize> {
    let from = block.from as usize;
    from..from + block.weeks
}

/// What a crew hires in blocks of weeks in a row: in whole weeks, where it may hire in all of them,
/// as many hours as it may in each.
pub(crate) fn blocks(model: &SeasonModel, crew: &model::Crew) -> Vec<Block> {
    let Some(weeks) = model.whole.block_weeks else {
        return Vec::new();
    };
    let near = model.whole.weeks.min(model.weeks);
    let spans = (0..near).step_by(weeks).map(|from| from..from + weeks);
    let within = spans.filter(|span| span.end <= model.weeks);
    within
        .filter_map(|span| {
            let hours = crew.hired_limit[span.clone()].iter();
            let hours_per_week = hours.copied().fold(f64::INFINITY, f64::min);
            let costs = crew.hired_extra_cost[span.clone()].iter();
            (hours_per_week > 0.0).then(|| Block {
                from: span.start as Week,
                weeks,
                hours_per_week,
                cost: hours_per_week * costs.sum::<f64>(),
            })
        })
        .collect()
}

fn supply(supply: &model::Supply, weeks: usize) -> Supply {
    let batch = |batch: &model::SupplyBatch| Batch {
        from: batch.from,
        to: batch.until,
        amount: batch.amount,
        sound_until: Some(batch.sound_until),
        kept_per_week: batch.kept_per_week,
    };
    let by_week = |value: fn(&model::Bought, usize) -> f64| match &supply.bought {
        None => PerWeek::default(),
        Some(bought) => PerWeek::Weekly((0..weeks).map(|week| value(bought, week)).collect()),
    };
    Supply {
        id: supply.id.clone(),
        batches: supply.batches.iter().map(batch).collect(),
        buy_price: by_week(model::Bought::price_in),
        buy_limit_per_week: by_week(model::Bought::limit_in),
    }
}

fn stage(stage: &model::Stage) -> Stage {
    Stage {
        id: stage.id.clone(),
        place: stage.place.to_string(),
        area_m2_per_plant: stage.area_m2,
        over_age_after_weeks: stage
            .over_age
            .iter()
            .map(|weeks| Week::from(*weeks))
            .collect::<Vec<Week>>()
            .into(),
        wait_cost_per_plant_week: stage.wait_cost,
        discard_cost_per_plant: stage.discard_cost,
        end_value_per_plant: stage.end_value,
    }
}

fn operation(model: &SeasonModel, operation: &model::Operation) -> Operation {
    let stage_id = |index: usize| model.stages[index].id.clone();
    let into = &model.stages[operation.into];
    let otherwise = into.phase.as_ref().and_then(|phase| phase.split.as_ref());
    let missed = otherwise.map(|split| stage_id(split.otherwise));
    Operation {
        id: operation.id.clone(),
        takes_from: operation.from.map(stage_id),
        moves_to: into.id.clone(),
        hours: operation
            .work
            .iter()
            .map(|work| HoursEntry {
                weeks_after: Week::from(work.after_weeks),
                crew: work.crew.to_string(),
                hours_per_plant: work.hours,
            })
            .collect(),
        uses: operation
            .uses
            .iter()
            .map(|need| Use {
                supply: model.supplies[need.supply].id.clone(),
                per_plant: need.each,
            })
            .collect(),
        cost_per_plant: operation.cost,
        cost_per_job: 0.0,
        at_least: operation.at_least.map(f64::from),
        multiple_of: operation.multiple_of.map(f64::from),
        starts: operation
            .starts
            .iter()
            .map(|start| lower_start(start, missed.as_ref()))
            .collect(),
    }
}

fn lower_start(start: &model::Start, missed: Option<&String>) -> Start {
    let entry = |part: &Fraction, stage: Option<&String>| ReadyEntry {
        weeks_after: part.week as Week,
        fraction: part.share,
        stage: stage.cloned(),
    };
    let ready = start.ready.iter().map(|part| entry(part, None));
    let missed = start.otherwise.iter().map(|part| entry(part, missed));
    Start {
        week: start.week as Week,
        ready_after: ready.chain(missed).collect(),
    }
}

/// What stands, summed by stage.
fn standing(model: &SeasonModel) -> Vec<Standing> {
    let mut arrivals = vec![vec![0.0; model.weeks]; model.stages.len()];
    let mut immature = vec![vec![0.0; model.weeks]; model.stages.len()];
    for lot in &model.standing {
        arrivals[lot.stage][0] += f64::from(lot.ready);
        add(
            &mut arrivals[lot.stage],
            &lot.arrivals,
            f64::from(lot.growing),
        );
        let split = model.stages[lot.stage]
            .phase
            .as_ref()
            .and_then(|phase| phase.split.as_ref());
        if let Some(split) = split {
            add(
                &mut arrivals[split.otherwise],
                &lot.arrivals_otherwise,
                f64::from(lot.growing),
            );
        }
        add_growing(&mut immature[lot.stage], lot);
    }
    let listed = |series: &[f64]| -> Vec<WeekPlants> {
        series
            .iter()
            .enumerate()
            .filter(|(_, plants)| **plants > 0.0)
            .map(|(week, plants)| WeekPlants {
                week: week as Week,
                plants: *plants,
            })
            .collect()
    };
    model
        .stages
        .iter()
        .zip(arrivals.iter().zip(&immature))
        .map(|(stage, (arrivals, immature))| Standing {
            stage: stage.id.clone(),
            arrivals: listed(arrivals),
            immature: listed(immature),
        })
        .filter(|standing| !standing.arrivals.is_empty() || !standing.immature.is_empty())
        .collect()
}

fn add(series: &mut [f64], shares: &[Fraction], plants: f64) {
    for part in shares {
        if let Some(week) = series.get_mut(part.week) {
            *week += plants * part.share;
        }
    }
}

/// Growing plants take room until they, or those lost from their cohort, become ready.
fn add_growing(series: &mut [f64], lot: &StandingLot) {
    let parts = lot.arrivals.iter().chain(&lot.arrivals_otherwise);
    let total: f64 = parts.clone().map(|part| part.share).sum();
    if total <= 0.0 {
        return;
    }
    for part in parts {
        let plants = f64::from(lot.growing) * part.share / total;
        for week in series.iter_mut().take(part.week) {
            *week += plants;
        }
    }
}

fn order(model: &SeasonModel, line: &model::Line) -> Order {
    // A tree on spec sells where somebody asks for it; what is ordered is raised whole, cancelled or not.
    let asked_for = if line.on_spec { line.kept } else { 1.0 };
    Order {
        id: line.id.clone(),
        accepts: line
            .accepts
            .iter()
            .map(|index| (*index, line.price * asked_for))
            .chain(line.substitutes.iter().map(|it| (it.stage, it.price)))
            .map(|(index, price)| Accept {
                stage: model.stages[index].id.clone(),
                price,
            })
            .collect(),
        plants: line.plants,
        earliest: line.earliest,
        due: line.due,
        latest: line.latest,
        late_cost_per_plant_week: line.late_cost,
        short_cost_per_plant: line.short_cost,
    }
}
