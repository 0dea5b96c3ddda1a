//! How large a start can get at all: the tighter, the quicker a search.

use crate::net::{Net, NetOperation, NetStart};

/// A start that nothing limits is held to so many times all plants ordered.
const TIMES_ORDERED: f64 = 10.0;

/// By operation and start: the most plants it can have; zero where `is_open` says no or the week is
/// not among the first.
pub(super) fn most(
    net: &Net,
    weeks: usize,
    is_open: impl Fn(usize, usize) -> bool,
) -> Vec<Vec<f64>> {
    let mut most: Vec<Vec<f64>> = net
        .operations
        .iter()
        .map(|it| vec![0.0; it.starts.len()])
        .collect();
    // Plants that can become ready by stage and week, all starts being as large as they can.
    let mut arrivals = net.arrivals.clone();
    for week in 0..weeks {
        for (operation, it) in net.operations.iter().enumerate() {
            for (position, start) in it.starts.iter().enumerate() {
                if start.week != week || !is_open(operation, position) {
                    continue;
                }
                let plants = most_of(net, it, start, &arrivals);
                most[operation][position] = plants;
                for ready in start.ready.iter().filter(|it| it.week < net.weeks) {
                    arrivals[ready.stage][ready.week] += plants * ready.fraction;
                }
            }
        }
    }
    most
}

fn most_of(net: &Net, it: &NetOperation, start: &NetStart, arrivals: &[Vec<f64>]) -> f64 {
    let week = start.week;
    let stock = it.from.map(|stage| {
        let oldest = week
            .checked_sub(1)
            .map_or(0, |before| net.oldest_kept[stage][before]);
        arrivals[stage][oldest..=week].iter().sum::<f64>()
    });
    let hours = it.hours.iter().map(|&(after, crew, each)| {
        let week = week.saturating_add(after);
        if each > 0.0 && week < net.weeks {
            hours_to_be_had(net, crew, week) / each
        } else {
            f64::INFINITY
        }
    });
    let supplies = it.uses.iter().map(|&(supply, each)| {
        if each > 0.0 {
            units_to_be_had(net, supply, week) / each
        } else {
            f64::INFINITY
        }
    });
    let limit = hours
        .chain(supplies)
        .chain(stock)
        .fold(f64::INFINITY, f64::min);
    if limit.is_finite() {
        return limit;
    }
    let ordered: f64 = net.orders.iter().map(|it| it.case.plants).sum();
    TIMES_ORDERED * ordered
}

/// Own, hired and borrowed hours.
fn hours_to_be_had(net: &Net, crew: usize, week: usize) -> f64 {
    let helps = |&other: &usize| other == crew || net.may_do[other].contains(&crew);
    let hours = |other: usize| {
        let it = &net.case.crews[other];
        let blocks = it.blocks.iter();
        let blocks = blocks.filter(|block| net.weeks_of_block(block).contains(&week));
        it.hours_per_week.at(week)
            + it.extra_hours_per_week.at(week)
            + blocks.map(|block| block.hours_per_week).sum::<f64>()
    };
    (0..net.case.crews.len()).filter(helps).map(hours).sum()
}

fn units_to_be_had(net: &Net, supply: usize, week: usize) -> f64 {
    let it = &net.case.supplies[supply];
    let week_of = crate::case::week_of(week);
    let batches = it.batches.iter();
    let batches = batches.filter(|batch| (batch.from..=batch.to).contains(&week_of));
    it.buy_limit_per_week.at(week) + batches.map(|batch| batch.amount).sum::<f64>()
}
