//! Reads a plan out of the solver's answer.

use solver::{Solution, SolveError};

use super::{
    CrewUse, Discard, LeftOut, LinePlan, Money, PlaceUse, Plan, PlannedStart, ReservePlan,
    Shipment, ShortLine, StagePlan, SupplyUse, prices,
};
use crate::answer::Answer;
use crate::case::week_of;
use crate::checks::Checks;
use crate::lp::{Column, Lp, Row};
use crate::net::Net;
use crate::why;

/// Quantities below this mean no plant, hour or unit.
const SMALLEST: f64 = 1e-6;

/// The whole plan.
pub(crate) fn plan(net: &Net, lp: &Lp, solution: &Solution) -> Result<Plan, SolveError> {
    let matrix = lp.model.matrix()?;
    let answer = Answer::new(lp, solution);
    let lines: Vec<LinePlan> = (0..net.orders.len())
        .map(|it| line(net, &answer, it))
        .collect();
    Ok(Plan {
        status: solution.status,
        profit: -solution.objective,
        money: Money::of(net, &answer),
        rows: lp.model.rows().len(),
        columns: lp.model.columns().len(),
        nonzeros: matrix.len(),
        possible_starts: lp
            .columns
            .keys()
            .filter(|it| matches!(it, Column::Start { .. }))
            .count(),
        left_out: 0,
        unweighed: LeftOut::default(),
        iterations: solution.iterations,
        starts: starts(net, &answer),
        shipments: shipments(net, &answer),
        short: short(net, &answer, &lines),
        reserves: (0..net.reserves.len())
            .map(|it| reserve(net, &answer, it))
            .collect(),
        discards: discards(net, &answer),
        stand: stages(net, &answer),
        crew_use: (0..net.case.crews.len())
            .map(|it| crew(net, &answer, it))
            .collect(),
        place_use: (0..net.case.places.len())
            .map(|it| place(net, &answer, it))
            .collect(),
        supply_use: (0..net.case.supplies.len())
            .map(|it| supply(net, &answer, it))
            .collect(),
        prices: prices::prices(net, &answer),
        lacking: why::lacking(net, &answer, &lines),
        lines,
        checks: Checks::of(&lp.model, &matrix, solution),
        basis: solution.basis.clone(),
    })
}

fn starts(net: &Net, answer: &Answer) -> Vec<PlannedStart> {
    let mut starts = Vec::new();
    for (operation, it) in net.operations.iter().enumerate() {
        for (start, at) in it.starts.iter().enumerate() {
            let plants = answer.value(Column::Start { operation, start });
            if plants > SMALLEST {
                starts.push(PlannedStart {
                    operation: it.case.id.clone(),
                    week: at.week,
                    plants,
                });
            }
        }
    }
    starts
}

fn shipments(net: &Net, answer: &Answer) -> Vec<Shipment> {
    let shipped = answer.lp.columns.keys().filter_map(|&column| {
        let Column::Shipped {
            order,
            accept,
            week,
        } = column
        else {
            return None;
        };
        let (stage, _) = net.orders[order].accepts[accept];
        Some(Shipment {
            order: net.orders[order].case.id.clone(),
            stage: net.case.stages[stage].id.clone(),
            week,
            plants: answer.value(column),
        })
    });
    shipped.filter(|it| it.plants > SMALLEST).collect()
}

/// One order line.
pub(crate) fn line(net: &Net, answer: &Answer, order: usize) -> LinePlan {
    let it = &net.orders[order];
    let (mut on_time, mut late) = (0.0, 0.0);
    for week in it.weeks.clone() {
        let shipped: f64 = (0..it.accepts.len())
            .map(|accept| {
                answer.value(Column::Shipped {
                    order,
                    accept,
                    week,
                })
            })
            .sum();
        let part = if week_of(week) <= it.case.due {
            &mut on_time
        } else {
            &mut late
        };
        *part += shipped;
    }
    LinePlan {
        order: it.case.id.clone(),
        plants: it.case.plants,
        on_time,
        late,
        short: answer.value(Column::Short { order }),
        worth_of_one_more: answer.worth(Row::Line { order }),
    }
}

fn short(net: &Net, answer: &Answer, lines: &[LinePlan]) -> Vec<ShortLine> {
    let short = lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.short > SMALLEST);
    short
        .map(|(order, line)| ShortLine {
            order: line.order.clone(),
            plants: line.short,
            why: why::why_short(net, answer, order),
        })
        .collect()
}

fn reserve(net: &Net, answer: &Answer, reserve: usize) -> ReservePlan {
    let it = &net.reserves[reserve];
    let left = |week: usize| -> f64 {
        let stages = it.stages.iter();
        let ready = stages.map(|&stage| answer.value(Column::Left { stage, week }));
        let late = it.shipped_after(net, week).map(|it| answer.value(it));
        let orders = it.orders.iter();
        let short = orders.map(|&order| answer.value(Column::Short { order }));
        ready.sum::<f64>() - late.sum::<f64>() - short.sum::<f64>()
    };
    let in_step = |step: usize| answer.value(Column::Held { reserve, step });
    let steps = it.case.steps.iter().enumerate();
    let open = steps
        .clone()
        .find(|(step, of)| of.worth_per_plant > 0.0 && in_step(*step) + SMALLEST < of.plants);
    // What is behind costs as much as the first plants are worth: both at once are none.
    let behind = answer.value(Column::Behind { reserve });
    let held: f64 = steps.clone().map(|(step, _)| in_step(step)).sum();
    ReservePlan {
        reserve: it.case.id.clone(),
        left: it.week.map_or(0.0, left),
        held: (held - behind).max(0.0),
        why: open.and_then(|(_, step)| {
            let week = it.week?;
            Some(why::why_no_more(
                net,
                answer,
                (reserve, week),
                step.worth_per_plant,
            ))
        }),
    }
}

fn discards(net: &Net, answer: &Answer) -> Vec<Discard> {
    let out = answer.lp.columns.keys().filter_map(|&column| {
        let Column::Discarded { stage, week } = column else {
            return None;
        };
        let plants = answer.value(column);
        Some(Discard {
            stage: net.case.stages[stage].id.clone(),
            week,
            plants,
        })
    });
    out.filter(|it| it.plants > SMALLEST).collect()
}

/// Every stage's plants, counted forward from what stands and what is started.
fn stages(net: &Net, answer: &Answer) -> Vec<StagePlan> {
    let mut stand: Vec<StagePlan> = (0..net.case.stages.len())
        .map(|stage| StagePlan {
            stage: net.case.stages[stage].id.clone(),
            arrivals: net.arrivals[stage].clone(),
            ready_left: by_week(net, |week| answer.value(Column::Left { stage, week })),
            growing: vec![0.0; net.weeks],
            worth_of_ready_plant: (0..net.weeks)
                .map(|week| {
                    let row = Row::Arrivals { stage, week };
                    answer.lp.rows.contains_key(&row).then(|| answer.worth(row))
                })
                .collect(),
        })
        .collect();
    for (operation, it) in net.operations.iter().enumerate() {
        for (position, start) in it.starts.iter().enumerate() {
            let plants = answer.value(Column::Start {
                operation,
                start: position,
            });
            if plants > 0.0 {
                grow(&mut stand, net.weeks, it.to, start, plants);
            }
        }
    }
    stand
}

fn grow(
    stand: &mut [StagePlan],
    weeks: usize,
    to: usize,
    start: &crate::net::NetStart,
    plants: f64,
) {
    for week in start.week..weeks {
        stand[to].growing[week] += plants * start.growing(week);
    }
    for ready in start.ready.iter().filter(|it| it.week < weeks) {
        stand[ready.stage].arrivals[ready.week] += plants * ready.fraction;
    }
}

fn by_week(net: &Net, of: impl Fn(usize) -> f64) -> Vec<f64> {
    (0..net.weeks).map(of).collect()
}

fn crew(net: &Net, answer: &Answer, crew: usize) -> CrewUse {
    let mut work = vec![0.0; net.weeks];
    for (operation, it) in net.operations.iter().enumerate() {
        for &(after, _, hours) in it.hours.iter().filter(|(_, by, _)| *by == crew) {
            for (position, start) in it.starts.iter().enumerate() {
                if let Some(of_week) = work.get_mut(start.week.saturating_add(after)) {
                    *of_week += hours
                        * answer.value(Column::Start {
                            operation,
                            start: position,
                        });
                }
            }
        }
    }
    let lent = |from: usize, to: usize, week: usize| {
        answer.value(Column::Lent {
            crew: from,
            to,
            week,
        })
    };
    let crews = 0..net.case.crews.len();
    let hired =
        |block: Option<usize>, week: usize| answer.value(Column::Hired { crew, block, week });
    let case = &net.case.crews[crew];
    let mut in_blocks = vec![0.0; net.weeks];
    let mut blocks = Vec::new();
    for (position, block) in case.blocks.iter().enumerate() {
        let weeks = net.weeks_of_block(block);
        let share = hired(Some(position), weeks.start);
        blocks.push(share);
        for week in weeks {
            in_blocks[week] += share * block.hours_per_week;
        }
    }
    CrewUse {
        crew: case.id.clone(),
        own: by_week(net, |week| case.hours_per_week.at(week)),
        work,
        hired: by_week(net, |week| hired(None, week)),
        blocks,
        in_blocks,
        lent: by_week(net, |week| {
            crews.clone().map(|to| lent(crew, to, week)).sum()
        }),
        borrowed: by_week(net, |week| {
            crews.clone().map(|from| lent(from, crew, week)).sum()
        }),
    }
}

fn place(net: &Net, answer: &Answer, place: usize) -> PlaceUse {
    let stages: Vec<usize> = (0..net.place_of.len())
        .filter(|&it| net.place_of[it] == place)
        .collect();
    let standing = |week: usize| -> f64 {
        let plants =
            |stage: usize| net.immature[stage][week] + answer.value(Column::Left { stage, week });
        stages.iter().map(|&it| net.area(it) * plants(it)).sum()
    };
    PlaceUse {
        place: net.case.places[place].id.clone(),
        used: by_week(net, |week| {
            answer.value(Column::Growing { place, week }) + standing(week)
        }),
        area: by_week(net, |week| net.case.places[place].area_m2.at(week)),
        over: by_week(net, |week| answer.value(Column::Excess { place, week })),
    }
}

fn supply(net: &Net, answer: &Answer, supply: usize) -> SupplyUse {
    let mut used = vec![0.0; net.weeks];
    for (operation, it) in net.operations.iter().enumerate() {
        for &(_, per_plant) in it.uses.iter().filter(|(what, _)| *what == supply) {
            for (position, start) in it.starts.iter().enumerate() {
                used[start.week] += per_plant
                    * answer.value(Column::Start {
                        operation,
                        start: position,
                    });
            }
        }
    }
    let from_batch = |batch: usize| {
        by_week(net, |week| {
            answer.value(Column::FromBatch {
                supply,
                batch,
                week,
            })
        })
    };
    SupplyUse {
        supply: net.case.supplies[supply].id.clone(),
        used,
        bought: by_week(net, |week| answer.value(Column::Bought { supply, week })),
        from_batches: (0..net.case.supplies[supply].batches.len())
            .map(from_batch)
            .collect(),
    }
}
