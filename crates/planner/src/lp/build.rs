//! The families of columns and rows, one function each.
//!
//! Rows come first, then the columns that reach into several of them. What can never matter is left
//! out: a stage before its first ready plants, a start without plants to take, a supply in weeks in
//! which nothing uses it.

use std::collections::BTreeSet;

use super::{Column, Lp, Row};
use crate::case::week_of;
use crate::net::{Net, NetOperation, NetStart};

const NO_LIMIT: f64 = f64::INFINITY;

/// The linear model of a case.
pub(crate) fn build(net: &Net) -> Lp {
    let mut lp = Lp::default();
    for stage in 0..net.case.stages.len() {
        stand(&mut lp, net, stage);
    }
    for place in 0..net.case.places.len() {
        ground(&mut lp, net, place);
    }
    for crew in 0..net.case.crews.len() {
        hours(&mut lp, net, crew);
    }
    lend(&mut lp, net);
    supplies(&mut lp, net);
    for (position, operation) in net.operations.iter().enumerate() {
        starts(&mut lp, net, position, operation);
    }
    for order in 0..net.orders.len() {
        line(&mut lp, net, order);
    }
    for reserve in 0..net.reserves.len() {
        hold(&mut lp, net, reserve);
    }
    lp
}

/// A stage's ready plants: Arrivals, Stand and OverAge.
fn stand(lp: &mut Lp, net: &Net, stage: usize) {
    let case = &net.case.stages[stage];
    let weeks = net.ready_weeks(stage);
    let first = weeks.start;
    for week in weeks {
        let at_end = if week + 1 == net.weeks {
            case.end_value_per_plant
        } else {
            0.0
        };
        let arrived = lp.sum(Column::Arrived { stage, week });
        let left = lp.column(
            Column::Left { stage, week },
            at_end - case.wait_cost_per_plant_week,
            NO_LIMIT,
        );
        let out = lp.column(
            Column::Discarded { stage, week },
            -case.discard_cost_per_plant,
            NO_LIMIT,
        );

        let arrivals = lp.equation(Row::Arrivals { stage, week }, net.arrivals[stage][week]);
        lp.entry(arrivals, arrived, 1.0);
        let stand = lp.equation(Row::Stand { stage, week }, 0.0);
        for (column, value) in [(left, 1.0), (out, 1.0), (arrived, -1.0)] {
            lp.entry(stand, column, value);
        }
        if week > first {
            let arrived_before = lp.columns[&Column::Arrived {
                stage,
                week: week - 1,
            }];
            let left_before = lp.columns[&Column::Left {
                stage,
                week: week - 1,
            }];
            lp.entry(arrivals, arrived_before, -1.0);
            lp.entry(stand, arrived_before, 1.0);
            lp.entry(stand, left_before, -1.0);
        }
        // Without plants too old for next week, what is left is within what arrived anyhow.
        let oldest_kept = net.oldest_kept[stage][week];
        if oldest_kept > first {
            let too_old = lp.columns[&Column::Arrived {
                stage,
                week: oldest_kept - 1,
            }];
            let over_age = lp.at_most(Row::OverAge { stage, week }, 0.0);
            for (column, value) in [(left, 1.0), (arrived, -1.0), (too_old, 1.0)] {
                lp.entry(over_age, column, value);
            }
        }
    }
}

/// A place's ground: Growing and Area.
fn ground(lp: &mut Lp, net: &Net, place: usize) {
    let case = &net.case.places[place];
    let stages: Vec<usize> = (0..net.place_of.len())
        .filter(|&it| net.place_of[it] == place)
        .collect();
    for week in 0..net.weeks {
        let growing = lp.sum(Column::Growing { place, week });
        let change = lp.equation(Row::Growing { place, week }, 0.0);
        lp.entry(change, growing, 1.0);
        if week > 0 {
            let before = lp.columns[&Column::Growing {
                place,
                week: week - 1,
            }];
            lp.entry(change, before, -1.0);
        }
        let standing: f64 = stages
            .iter()
            .map(|&it| net.area(it) * net.immature[it][week])
            .sum();
        let area = lp.at_most(Row::Area { place, week }, case.area_m2.at(week) - standing);
        let excess = lp.column(
            Column::Excess { place, week },
            -case.excess_cost_per_m2_week.at(week),
            NO_LIMIT,
        );
        lp.entry(area, growing, 1.0);
        lp.entry(area, excess, -1.0);
        for &stage in &stages {
            if let Some(&left) = lp.columns.get(&Column::Left { stage, week }) {
                lp.entry(area, left, net.area(stage));
            }
        }
    }
}

/// A crew's own and hired hours: Hours.
fn hours(lp: &mut Lp, net: &Net, crew: usize) {
    let case = &net.case.crews[crew];
    for week in 0..net.weeks {
        let row = lp.at_most(Row::Hours { crew, week }, case.hours_per_week.at(week));
        let price = case.extra_cost_per_hour.at(week);
        let hired = lp.column(
            Column::Hired {
                crew,
                block: None,
                week,
            },
            -price,
            case.extra_hours_per_week.at(week),
        );
        lp.entry(row, hired, -1.0);
    }
    for (position, block) in case.blocks.iter().enumerate() {
        let weeks = net.weeks_of_block(block);
        let share = Column::Hired {
            crew,
            block: Some(position),
            week: weeks.start,
        };
        let share = lp.column(share, -block.cost, 1.0);
        for week in weeks {
            lp.entry_if_any(Row::Hours { crew, week }, share, -block.hours_per_week);
        }
    }
}

/// Hours of one crew spent on another's work.
fn lend(lp: &mut Lp, net: &Net) {
    for (crew, may_do) in net.may_do.iter().enumerate() {
        for &to in may_do {
            for week in 0..net.weeks {
                let lent = lp.column(Column::Lent { crew, to, week }, 0.0, NO_LIMIT);
                lp.entry_if_any(Row::Hours { crew, week }, lent, 1.0);
                lp.entry_if_any(Row::Hours { crew: to, week }, lent, -1.0);
            }
        }
    }
}

/// What the nursery has and buys of each supply: Supply and Batch, in the weeks that can use it.
fn supplies(lp: &mut Lp, net: &Net) {
    for (supply, case) in net.case.supplies.iter().enumerate() {
        let weeks = weeks_of_use(net, supply);
        for &week in &weeks {
            let row = lp.at_most(Row::Supply { supply, week }, 0.0);
            let limit = case.buy_limit_per_week.at(week);
            let bought = lp.column(
                Column::Bought { supply, week },
                -case.buy_price.at(week),
                limit,
            );
            lp.entry(row, bought, -1.0);
        }
        for (position, batch) in case.batches.iter().enumerate() {
            let of_batch = lp.at_most(
                Row::Batch {
                    supply,
                    batch: position,
                },
                batch.amount,
            );
            let keeps = |week: &&usize| (batch.from..=batch.to).contains(&week_of(**week));
            for &week in weeks.iter().filter(keeps) {
                let used = lp.column(
                    Column::FromBatch {
                        supply,
                        batch: position,
                        week,
                    },
                    0.0,
                    NO_LIMIT,
                );
                // What is good of the batch by then stands for more of it.
                lp.entry(of_batch, used, 1.0 / batch.kept(week));
                lp.entry_if_any(Row::Supply { supply, week }, used, -1.0);
            }
        }
    }
}

fn weeks_of_use(net: &Net, supply: usize) -> BTreeSet<usize> {
    let uses_it = |it: &&NetOperation| it.uses.iter().any(|&(used, _)| used == supply);
    let weeks_of = |it: &NetOperation| -> Vec<usize> {
        it.starts
            .iter()
            .filter(|start| net.can_start(it, start))
            .map(|start| start.week)
            .collect()
    };
    net.operations
        .iter()
        .filter(uses_it)
        .flat_map(weeks_of)
        .collect()
}

/// An operation's starts, in every row they reach.
fn starts(lp: &mut Lp, net: &Net, operation: usize, it: &NetOperation) {
    for (position, start) in it.starts.iter().enumerate() {
        if !net.can_start(it, start) {
            continue;
        }
        let later: f64 = start
            .ready
            .iter()
            .filter(|ready| ready.week >= net.weeks)
            .map(|ready| ready.fraction * net.case.stages[ready.stage].end_value_per_plant)
            .sum();
        let earns = later - it.case.cost_per_plant - net.cost_of_new(start);
        let x = lp.column(
            Column::Start {
                operation,
                start: position,
            },
            earns,
            NO_LIMIT,
        );
        if let Some(stage) = it.from {
            lp.entry_if_any(
                Row::Stand {
                    stage,
                    week: start.week,
                },
                x,
                1.0,
            );
        }
        for ready in start.ready.iter().filter(|ready| ready.week < net.weeks) {
            let row = Row::Arrivals {
                stage: ready.stage,
                week: ready.week,
            };
            lp.entry_if_any(row, x, -ready.fraction);
        }
        start_on_ground(lp, net, it, start, x);
        start_as_before(lp, net, (operation, position), start, x);
        for &(after, crew, hours) in &it.hours {
            lp.entry_if_any(
                Row::Hours {
                    crew,
                    week: start.week.saturating_add(after),
                },
                x,
                hours,
            );
        }
        for &(supply, per_plant) in &it.uses {
            lp.entry_if_any(
                Row::Supply {
                    supply,
                    week: start.week,
                },
                x,
                per_plant,
            );
        }
    }
}

/// The ground under a start: all of it at first, less with every cohort that becomes ready.
fn start_on_ground(lp: &mut Lp, net: &Net, it: &NetOperation, start: &NetStart, x: usize) {
    let (place, area) = (net.place_of[it.to], net.area(it.to));
    lp.entry_if_any(
        Row::Growing {
            place,
            week: start.week,
        },
        x,
        -area,
    );
    for ready in &start.ready {
        let cleared = area * ready.fraction / start.surviving;
        lp.entry_if_any(
            Row::Growing {
                place,
                week: ready.week,
            },
            x,
            cleared,
        );
    }
}

/// A start that the plan before had: More and Fewer.
fn start_as_before(
    lp: &mut Lp,
    net: &Net,
    (operation, position): (usize, usize),
    it: &NetStart,
    x: usize,
) {
    let cost = net.case.cost_of_change();
    let Some(before) = it.before.filter(|_| cost > 0.0) else {
        return;
    };
    let start = position;
    let changed = lp.column(Column::Changed { operation, start }, -cost, NO_LIMIT);
    let more = lp.at_most(Row::More { operation, start }, before);
    let fewer = lp.at_most(Row::Fewer { operation, start }, -before);
    for (row, plants) in [(more, 1.0), (fewer, -1.0)] {
        lp.entry(row, x, plants);
        lp.entry(row, changed, -1.0);
    }
}

/// A reserve: Reserve.
fn hold(lp: &mut Lp, net: &Net, reserve: usize) {
    let it = &net.reserves[reserve];
    let Some(week) = it.week else { return };
    let row = lp.at_most(Row::Reserve { reserve }, 0.0);
    for (position, step) in it.case.steps.iter().enumerate() {
        let column = Column::Held {
            reserve,
            step: position,
        };
        let held = lp.column(column, step.worth_per_plant, step.plants);
        lp.entry(row, held, 1.0);
    }
    for &stage in &it.stages {
        if let Some(&left) = lp.columns.get(&Column::Left { stage, week }) {
            lp.entry(row, left, -1.0);
        }
    }
    // What is behind is worth as much as the first plant held, so that being behind is no way to hold.
    let first = it.case.steps.first().map_or(0.0, |it| it.worth_per_plant);
    let behind = lp.column(Column::Behind { reserve }, -first, NO_LIMIT);
    lp.entry(row, behind, -1.0);
    for column in it.shipped_after(net, week) {
        if let Some(&late) = lp.columns.get(&column) {
            lp.entry(row, late, 1.0);
        }
    }
    for &order in &it.orders {
        lp.entry(row, lp.columns[&Column::Short { order }], 1.0);
    }
}

/// An order line: Line.
fn line(lp: &mut Lp, net: &Net, order: usize) {
    let it = &net.orders[order];
    let row = lp.equation(Row::Line { order }, it.case.plants);
    let short = lp.column(
        Column::Short { order },
        -it.case.short_cost_per_plant,
        NO_LIMIT,
    );
    lp.entry(row, short, 1.0);
    for (accept, &(stage, price)) in it.accepts.iter().enumerate() {
        for week in it
            .weeks
            .clone()
            .filter(|week| net.ready_weeks(stage).contains(week))
        {
            let earns = it.earns(price, week);
            let shipped = lp.column(
                Column::Shipped {
                    order,
                    accept,
                    week,
                },
                earns,
                NO_LIMIT,
            );
            lp.entry(row, shipped, 1.0);
            lp.entry_if_any(Row::Stand { stage, week }, shipped, 1.0);
        }
    }
}
