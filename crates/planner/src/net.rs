//! A checked case with its names resolved to positions and its weeks to the plan's.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::case::{Block, Case, Operation, Order, Reserve, Start, WHOLE_WEEKS, Week, week_of};
use crate::lp::Column;

/// A case as the model reads it: positions instead of names, only weeks of the plan.
pub(crate) struct Net<'a> {
    /// The case it stands for.
    pub case: &'a Case,
    /// Number of weeks planned.
    pub weeks: usize,
    /// By stage: the place it stands in.
    pub place_of: Vec<usize>,
    /// By stage and week: standing plants that become ready.
    pub arrivals: Vec<Vec<f64>>,
    /// By stage and week: standing plants still growing.
    pub immature: Vec<Vec<f64>>,
    /// By stage and week: the first week whose plants may still be used the week after.
    pub oldest_kept: Vec<Vec<usize>>,
    /// By stage: the first week in which it can have ready plants, if it ever can.
    pub first_ready: Vec<Option<usize>>,
    /// In the case's order.
    pub operations: Vec<NetOperation<'a>>,
    /// By crew: those whose work it may do.
    pub may_do: Vec<Vec<usize>>,
    /// In the case's order.
    pub orders: Vec<NetOrder<'a>>,
    /// In the case's order.
    pub reserves: Vec<NetReserve<'a>>,
}

/// A reserve with positions.
pub(crate) struct NetReserve<'a> {
    pub case: &'a Reserve,
    pub stages: Vec<usize>,
    /// The order lines it guards.
    pub orders: Vec<usize>,
    /// The week; none outside the plan.
    pub week: Option<usize>,
}

/// An operation with positions.
pub(crate) struct NetOperation<'a> {
    pub case: &'a Operation,
    pub from: Option<usize>,
    pub to: usize,
    /// Weeks after the start, crew, hours per plant.
    pub hours: Vec<(usize, usize, f64)>,
    /// Supply, units per plant.
    pub uses: Vec<(usize, f64)>,
    pub starts: Vec<NetStart>,
}

/// A start with positions.
pub(crate) struct NetStart {
    pub week: usize,
    /// What becomes ready, fractions above zero only.
    pub ready: Vec<Ready>,
    /// Sum of the fractions, S.
    pub surviving: f64,
    /// Plants of it in the plan before; none where it had none.
    pub before: Option<f64>,
}

impl NetStart {
    /// The share of its plants that grows on at the end of a week, losses cleared with what becomes ready.
    pub fn growing(&self, week: usize) -> f64 {
        let by_then = self.ready.iter().filter(|it| it.week <= week);
        let cleared: f64 = by_then.map(|it| it.fraction).sum();
        if cleared > 0.0 {
            (1.0 - cleared / self.surviving).max(0.0)
        } else {
            1.0
        }
    }
}

/// Plants that become ready after a start.
#[derive(Clone, Copy)]
pub(crate) struct Ready {
    /// The week, which may lie beyond the plan.
    pub week: usize,
    pub fraction: f64,
    pub stage: usize,
}

/// An order line with positions.
pub(crate) struct NetOrder<'a> {
    pub case: &'a Order,
    /// Accepted stages with their prices.
    pub accepts: Vec<(usize, f64)>,
    /// Weeks of the plan in which it may be shipped.
    pub weeks: Range<usize>,
}

impl NetOrder<'_> {
    /// What a plant shipped in a week earns, late cost taken off.
    pub fn earns(&self, price: f64, week: usize) -> f64 {
        let late = (week_of(week) - self.case.due).max(0) as f64;
        price - self.case.late_cost_per_plant_week * late
    }
}

impl NetReserve<'_> {
    /// What is shipped to its lines after a week.
    pub fn shipped_after(&self, net: &Net, week: usize) -> impl Iterator<Item = Column> {
        self.orders.iter().flat_map(move |&order| {
            let it = &net.orders[order];
            let later = it.weeks.start.max(week + 1)..it.weeks.end;
            let accepts = 0..it.accepts.len();
            accepts.flat_map(move |accept| {
                let later = later.clone();
                later.map(move |week| Column::Shipped {
                    order,
                    accept,
                    week,
                })
            })
        })
    }
}

type Positions<'a> = BTreeMap<&'a str, usize>;

impl<'a> Net<'a> {
    /// Resolves a case in which [`Case::validate`] finds nothing wrong.
    pub fn new(case: &'a Case) -> Self {
        let places = positions(case.places.iter().map(|it| it.id.as_str()));
        let stages = positions(case.stages.iter().map(|it| it.id.as_str()));
        let crews = positions(case.crews.iter().map(|it| it.id.as_str()));
        let supplies = positions(case.supplies.iter().map(|it| it.id.as_str()));
        let mut net = Self {
            case,
            weeks: case.weeks,
            place_of: case
                .stages
                .iter()
                .map(|it| places[it.place.as_str()])
                .collect(),
            arrivals: standing(case, &stages, false),
            immature: standing(case, &stages, true),
            oldest_kept: oldest_kept(case),
            first_ready: Vec::new(),
            operations: case
                .operations
                .iter()
                .map(|it| {
                    let before = plants_before(case, &it.id);
                    operation(it, &before, (&stages, &crews, &supplies))
                })
                .collect(),
            may_do: case
                .crews
                .iter()
                .map(|it| {
                    it.may_do
                        .iter()
                        .map(|other| crews[other.as_str()])
                        .collect()
                })
                .collect(),
            orders: case
                .orders
                .iter()
                .map(|it| order(it, &stages, case.weeks))
                .collect(),
            reserves: case
                .reserves
                .iter()
                .map(|it| reserve(it, &stages, case))
                .collect(),
        };
        net.first_ready = first_ready(&net);
        net
    }

    /// Weeks in which a stage can have ready plants.
    pub fn ready_weeks(&self, stage: usize) -> Range<usize> {
        self.first_ready[stage].unwrap_or(self.weeks)..self.weeks
    }

    /// Whether plants can stand ready for a start.
    pub fn can_start(&self, operation: &NetOperation, start: &NetStart) -> bool {
        operation
            .from
            .is_none_or(|stage| self.ready_weeks(stage).contains(&start.week))
    }

    /// Last week in which a plant ready in a week may be used.
    pub fn last_use(&self, stage: usize, ready: usize) -> usize {
        let keeps = self.case.stages[stage].over_age_after_weeks.at(ready);
        ready.saturating_add(usize::try_from(keeps).unwrap_or(0))
    }

    /// The reserves that guard an order line, with their weeks.
    pub fn guards_of(&self, order: usize) -> impl Iterator<Item = (usize, usize)> + '_ {
        let reserves = self.reserves.iter().enumerate();
        let guards = reserves.filter(move |(_, it)| it.orders.contains(&order));
        guards.filter_map(|(at, it)| Some((it.week?, at)))
    }

    /// What each plant of a start costs because the plan before had nothing there; nothing in far weeks.
    pub fn cost_of_new(&self, start: &NetStart) -> f64 {
        if start.before.is_none() && start.week < WHOLE_WEEKS {
            self.case.cost_of_change()
        } else {
            0.0
        }
    }

    /// The weeks of the plan in which a block of hired hours works.
    pub fn weeks_of_block(&self, block: &Block) -> Range<usize> {
        let from = to_plan(block.from).unwrap_or(0).min(self.weeks);
        from..from.saturating_add(block.weeks).min(self.weeks)
    }

    /// Ground one plant of a stage takes, m².
    pub fn area(&self, stage: usize) -> f64 {
        self.case.stages[stage].area_m2_per_plant
    }
}

fn positions<'a>(ids: impl Iterator<Item = &'a str>) -> Positions<'a> {
    ids.enumerate()
        .map(|(position, id)| (id, position))
        .collect()
}

/// Standing plants by stage and week, rows of one stage and week added up.
fn standing(case: &Case, stages: &Positions, growing: bool) -> Vec<Vec<f64>> {
    let mut plants = vec![vec![0.0; case.weeks]; case.stages.len()];
    for standing in &case.standing {
        let of_stage = &mut plants[stages[standing.stage.as_str()]];
        let rows = if growing {
            &standing.immature
        } else {
            &standing.arrivals
        };
        for row in rows {
            if let Some(of_week) = to_plan(row.week).and_then(|week| of_stage.get_mut(week)) {
                *of_week += row.plants;
            }
        }
    }
    plants
}

fn to_plan(week: Week) -> Option<usize> {
    usize::try_from(week).ok()
}

fn oldest_kept(case: &Case) -> Vec<Vec<usize>> {
    let of_stage = |stage: &crate::case::Stage| {
        let mut oldest = 0;
        (0..case.weeks)
            .map(|week| {
                let out = |ready: usize| {
                    week_of(ready).saturating_add(stage.over_age_after_weeks.at(ready))
                        <= week_of(week)
                };
                while oldest <= week && out(oldest) {
                    oldest += 1;
                }
                oldest
            })
            .collect()
    };
    case.stages.iter().map(of_stage).collect()
}

/// Plants of an operation's starts in the plan before, by week.
fn plants_before(case: &Case, operation: &str) -> BTreeMap<Week, f64> {
    let of_it = case.before.iter().filter(|it| it.operation == operation);
    of_it.map(|it| (it.week, it.plants)).collect()
}

fn operation<'a>(
    operation: &'a Operation,
    before: &BTreeMap<Week, f64>,
    (stages, crews, supplies): (&Positions, &Positions, &Positions),
) -> NetOperation<'a> {
    let to = stages[operation.moves_to.as_str()];
    NetOperation {
        case: operation,
        from: operation.takes_from.as_deref().map(|it| stages[it]),
        to,
        hours: operation
            .hours
            .iter()
            .map(|it| {
                (
                    weeks_after(it.weeks_after),
                    crews[it.crew.as_str()],
                    it.hours_per_plant,
                )
            })
            .collect(),
        uses: operation
            .uses
            .iter()
            .map(|it| (supplies[it.supply.as_str()], it.per_plant))
            .collect(),
        starts: operation
            .starts
            .iter()
            .map(|it| start(it, to, stages, before))
            .collect(),
    }
}

fn start(start: &Start, to: usize, stages: &Positions, before: &BTreeMap<Week, f64>) -> NetStart {
    let week = to_plan(start.week).unwrap_or(0);
    let ready = start
        .ready_after
        .iter()
        .filter(|it| it.fraction > 0.0)
        .map(|it| Ready {
            week: week.saturating_add(weeks_after(it.weeks_after)),
            fraction: it.fraction,
            stage: it.stage.as_deref().map_or(to, |name| stages[name]),
        });
    NetStart {
        week,
        ready: ready.collect(),
        surviving: start.surviving(),
        before: before.get(&start.week).copied(),
    }
}

fn weeks_after(weeks: Week) -> usize {
    usize::try_from(weeks).unwrap_or(0)
}

fn order<'a>(order: &'a Order, stages: &Positions, weeks: usize) -> NetOrder<'a> {
    let first = usize::try_from(order.earliest.max(0))
        .unwrap_or(weeks)
        .min(weeks);
    let end = usize::try_from(order.latest.saturating_add(1).max(0))
        .unwrap_or(weeks)
        .min(weeks);
    NetOrder {
        case: order,
        accepts: order
            .accepts
            .iter()
            .map(|it| (stages[it.stage.as_str()], it.price))
            .collect(),
        weeks: first..end.max(first),
    }
}

fn reserve<'a>(reserve: &'a Reserve, stages: &Positions, case: &Case) -> NetReserve<'a> {
    let orders = case.orders.iter().enumerate();
    let guarded = orders.filter(|(_, order)| reserve.orders.contains(&order.id));
    let mut accepted: Vec<usize> = reserve
        .stages
        .iter()
        .map(|it| stages[it.as_str()])
        .collect();
    accepted.sort_unstable();
    accepted.dedup();
    NetReserve {
        case: reserve,
        stages: accepted,
        orders: guarded.map(|(at, _)| at).collect(),
        week: to_plan(reserve.week).filter(|week| *week < case.weeks),
    }
}

/// The first weeks with ready plants: standing ones, or those of starts that can have plants.
fn first_ready(net: &Net) -> Vec<Option<usize>> {
    let mut first: Vec<Option<usize>> = net
        .arrivals
        .iter()
        .map(|weeks| weeks.iter().position(|plants| *plants > 0.0))
        .collect();
    let mut changed = true;
    while changed {
        changed = false;
        for operation in &net.operations {
            let from = operation.from.map_or(Some(0), |stage| first[stage]);
            let Some(from) = from else { continue };
            for ready in operation
                .starts
                .iter()
                .filter(|it| it.week >= from)
                .flat_map(|it| &it.ready)
            {
                let before = first[ready.stage].unwrap_or(net.weeks);
                if ready.week < before {
                    first[ready.stage] = Some(ready.week);
                    changed = true;
                }
            }
        }
    }
    first
}
