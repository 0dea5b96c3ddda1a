//! Why an order line goes short, read from the plan's duals.
//!
//! The cheapest way to one more tree of the line is walked back from its accepted stages and
//! permissible weeks, start by start. Each start on the way is charged what its hours, ground and
//! supplies are worth in their weeks; the dearest is the reason. The walk may end at plants that
//! stand already, because nothing started from now on can come in time: then there is no time.

use std::collections::BTreeMap;
use std::fmt;

use crate::answer::Answer;
use crate::case::{Week, week_of};
use crate::lp::{Column, Row};
use crate::net::{Net, NetOperation, NetStart, Ready};
use crate::plan::{LinePlan, Resource};

/// Why an order line goes short.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// Nothing started from now on can come in time, and the plants that stand are used up.
    NoTime {
        /// The stage whose plants are missing.
        stage: String,
        /// The last week in which they would still help.
        needed: Week,
        /// The work that makes them, if there is any.
        operation: Option<String>,
        /// The last week in which that work would have had to be started; negative: before the plan.
        last_start: Option<Week>,
    },
    /// One more tree would cost more than it earns, most of it for something scarce.
    Scarce {
        /// What is scarce.
        resource: Resource,
        /// The week in which it is dearest for this tree.
        week: usize,
        /// What one unit more is worth in that week, money.
        price: f64,
        /// What one tree of the line pays for the resource over all weeks, money.
        charge: f64,
        /// What it pays for everything: hours, supplies and ground at their prices, and all other
        /// cost. No less than its worth, but for rounding.
        cost: f64,
        /// What one tree of the line earns, its short cost and what its reserve then holds more included, money.
        worth: f64,
    },
    /// One more tree costs more than it earns, even where nothing is scarce.
    DoesNotPay {
        /// Hours, supplies and ground at their plan prices and all other cost, money per tree. No
        /// less than its worth, but for rounding.
        cost: f64,
        /// The same as of something scarce.
        worth: f64,
    },
    /// The line's weeks lie outside the plan.
    OutsidePlan {
        /// Its first week.
        earliest: Week,
        /// Its last week.
        latest: Week,
    },
    /// In real plants it would be raised; whole plants and whole jobs leave it short.
    WholeJobs,
}

impl Why {
    /// The reason as a plain sentence; `name` turns a week of the plan into its name.
    pub fn sentence(&self, name: impl Fn(Week) -> String) -> String {
        self.sentence_in(name, |money| format!("{money:.2}"))
    }

    /// The same, with `sum` to turn the case's money into what people read.
    pub fn sentence_in(
        &self,
        name: impl Fn(Week) -> String,
        sum: impl Fn(f64) -> String,
    ) -> String {
        match self {
            Self::NoTime {
                stage,
                needed,
                operation,
                last_start,
            } => no_time(stage, *needed, operation.as_deref(), *last_start, name),
            Self::Scarce {
                resource,
                week,
                price,
                charge,
                cost,
                worth,
            } => format!(
                "Too {} {resource}, above all in {}: one more {} then would earn {}; a tree \
                 of this line takes {} worth of {}, {} with all else, and earns {}.",
                if resource.is_counted() {
                    "few"
                } else {
                    "little"
                },
                name(week_of(*week)),
                resource.unit(),
                sum(*price),
                sum(*charge),
                if resource.is_counted() { "them" } else { "it" },
                sum(*cost),
                sum(*worth),
            ),
            Self::DoesNotPay { cost, worth } => format!(
                "One more tree of this line would cost {}; it earns {}, what its lack costs included.",
                sum(*cost),
                sum(*worth)
            ),
            Self::OutsidePlan { earliest, latest } => format!(
                "It may be shipped from {} to {}, which the plan does not cover.",
                name(*earliest),
                name(*latest)
            ),
            Self::WholeJobs => {
                "In parts of plants it would be raised; whole plants and whole jobs, \
                                with the least and the most of them, leave it short."
                    .to_owned()
            }
        }
    }
}

fn no_time(
    stage: &str,
    needed: Week,
    operation: Option<&str>,
    last_start: Option<Week>,
    name: impl Fn(Week) -> String,
) -> String {
    let head = format!(
        "There is no time: what stands of {stage} is used up, and more would have to be ready by {}",
        name(needed)
    );
    match (operation, last_start) {
        (Some(operation), Some(week)) if week < 0 => {
            let ago = if week == -1 {
                "1 week ago".to_owned()
            } else {
                format!("{} weeks ago", -week)
            };
            format!("{head}; \"{operation}\" would have had to be started {ago}.")
        }
        (Some(operation), Some(week)) => format!(
            "{head}; \"{operation}\" would have to be started by {}, and cannot.",
            name(week)
        ),
        _ => format!("{head}; no work makes them."),
    }
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentence(|week| format!("week {week}")))
    }
}

/// What one tree more of a line that is not served in full, or not in time, would take. The ways are those
/// of [`Why`].
#[derive(Debug, Clone, PartialEq)]
pub struct Lacking {
    /// The order line's name.
    pub order: String,
    /// Whether it is about a tree in time, since the line is sent some late.
    pub in_time: bool,
    /// What is scarce on the way to it, what it pays most for first.
    pub takes: Vec<Taking>,
    /// The plants that stand and would have to be its own, where nothing new can come in time.
    pub stood: Option<Stood>,
}

/// Something scarce that a tree would take.
#[derive(Debug, Clone, PartialEq)]
pub struct Taking {
    /// What.
    pub resource: Resource,
    /// When.
    pub week: usize,
    /// How much of it, for each tree.
    pub units: f64,
    /// What one unit more is worth in that week, money.
    pub price: f64,
}

impl Taking {
    /// What a tree pays for it, money.
    pub fn charge(&self) -> f64 {
        self.units * self.price
    }
}

/// Plants that stand and go elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Stood {
    /// The stage.
    pub stage: String,
    /// The week in which they would be taken.
    pub week: usize,
    /// How many of them for each tree.
    pub plants: f64,
    /// What one of them is worth where it goes, money.
    pub worth: f64,
}

/// What one tree more would take, for every line that goes short or late.
pub(crate) fn lacking(net: &Net, answer: &Answer, lines: &[LinePlan]) -> Vec<Lacking> {
    /// Plants fewer than these are rounding.
    const SMALLEST: f64 = 1e-6;
    let lines = lines.iter().enumerate().flat_map(|(order, line)| {
        let short = (line.short > SMALLEST).then_some((order, false));
        let late = (line.late > SMALLEST).then_some((order, true));
        short.into_iter().chain(late)
    });
    lines
        .map(|(order, in_time)| lacking_of(net, answer, order, in_time))
        .collect()
}

fn lacking_of(net: &Net, answer: &Answer, order: usize, in_time: bool) -> Lacking {
    let mut lacking = Lacking {
        order: net.orders[order].case.id.clone(),
        in_time,
        takes: Vec::new(),
        stood: None,
    };
    let Some(want) = cheapest_tree(net, answer, order, in_time) else {
        return lacking;
    };
    let mut walk = Walk::new(net, answer);
    walk.back(want.stage, want.week);
    lacking.takes = walk.takes();
    lacking.stood = walk.standing.map(|(stage, week, plants)| Stood {
        stage: net.case.stages[stage].id.clone(),
        week,
        plants,
        worth: value_taken(answer, stage, week),
    });
    lacking
}

/// The reason of one order line that goes short.
pub(crate) fn why_short(net: &Net, answer: &Answer, order: usize) -> Why {
    let it = &net.orders[order];
    if it.weeks.is_empty() {
        return Why::OutsidePlan {
            earliest: it.case.earliest,
            latest: it.case.latest,
        };
    }
    let Some(want) = cheapest_tree(net, answer, order, false) else {
        let latest = it.weeks.end - 1;
        return it.accepts.first().map_or(
            Why::OutsidePlan {
                earliest: it.case.earliest,
                latest: it.case.latest,
            },
            |&(stage, _)| no_time_for(net, stage, latest),
        );
    };
    let mut walk = Walk::new(net, answer);
    walk.back(want.stage, want.week);
    walk.reason(want.worth)
}

/// The reason why a reserve does not hold one plant more in its week, where that would be worth so much. To
/// that comes what the plant is worth afterwards, since a reserve does not use it up.
pub(crate) fn why_no_more(
    net: &Net,
    answer: &Answer,
    (reserve, week): (usize, usize),
    worth: f64,
) -> Why {
    let stages = &net.reserves[reserve].stages;
    let can_be = |stage: &usize| net.ready_weeks(*stage).contains(&week);
    let worths = stages.iter().copied().filter(can_be);
    let cheapest = worths.min_by(|one, other| {
        value_taken(answer, *one, week).total_cmp(&value_taken(answer, *other, week))
    });
    let Some(stage) = cheapest else {
        return stages.first().map_or(
            Why::OutsidePlan {
                earliest: week_of(week),
                latest: week_of(week),
            },
            |&stage| no_time_for(net, stage, week),
        );
    };
    let afterwards = value_taken(answer, stage, week) + answer.gain(Column::Left { stage, week })
        - answer.price(Row::Reserve { reserve });
    let mut walk = Walk::new(net, answer);
    walk.back(stage, week);
    walk.reason(worth + afterwards)
}

/// The tree a line would take next: the one that loses least.
struct Want {
    stage: usize,
    week: usize,
    /// What it earns, short cost saved.
    worth: f64,
}

fn cheapest_tree(net: &Net, answer: &Answer, order: usize, in_time: bool) -> Option<Want> {
    let it = &net.orders[order];
    let may_be = |week: usize| !in_time || week_of(week) <= it.case.due;
    let guards: Vec<(usize, f64)> = net
        .guards_of(order)
        .map(|(week, reserve)| (week, answer.price(Row::Reserve { reserve })))
        .collect();
    // A tree that is not lacked lets its reserve hold one more, unless it comes after the reserve's week.
    let lets_hold = |shipped: usize| -> f64 {
        let in_time = guards.iter().filter(|(week, _)| shipped <= *week);
        in_time.map(|(_, price)| price).sum()
    };
    let mut best: Option<(f64, Want)> = None;
    for &(stage, price) in &it.accepts {
        for week in it
            .weeks
            .clone()
            .filter(|week| net.ready_weeks(stage).contains(week) && may_be(*week))
        {
            let worth = it.earns(price, week) + it.case.short_cost_per_plant + lets_hold(week);
            let loss = value_taken(answer, stage, week) - worth;
            if best.as_ref().is_none_or(|(least, _)| loss < *least) {
                best = Some((loss, Want { stage, week, worth }));
            }
        }
    }
    best.map(|(_, want)| want)
}

/// What a ready plant taken in a week is worth to the plan.
fn value_taken(answer: &Answer, stage: usize, week: usize) -> f64 {
    answer.worth(Row::Stand { stage, week })
}

/// The way back from one tree, and what it pays on it.
struct Walk<'a> {
    net: &'a Net<'a>,
    answer: &'a Answer<'a>,
    /// Paid per tree: by resource, then week.
    paid: BTreeMap<Resource, BTreeMap<usize, f64>>,
    /// Cost per tree that is no scarcity's: operations, waiting, plants that nothing wants.
    other: f64,
    /// Where it ended at plants that stand: stage, week, plants per tree.
    standing: Option<(usize, usize, f64)>,
}

/// Plants of one start, ready in one week, that a plant may be taken from.
struct Source<'a> {
    operation: &'a NetOperation<'a>,
    start: &'a NetStart,
    ready: Ready,
    /// Plants put through for each plant taken.
    starts: f64,
}

impl<'a> Walk<'a> {
    fn new(net: &'a Net<'a>, answer: &'a Answer<'a>) -> Self {
        Self {
            net,
            answer,
            paid: BTreeMap::new(),
            other: 0.0,
            standing: None,
        }
    }

    /// Walks back from a stage's plants needed in a week. Every step goes to an earlier week, for
    /// plants become ready a week or more after their start, so the walk ends. What is charged on
    /// the way is never less than the plants' worth in that week.
    fn back(&mut self, mut stage: usize, mut week: usize) {
        let mut plants = 1.0;
        loop {
            let worth = value_taken(self.answer, stage, week);
            if worth <= 0.0 {
                // There are more than enough; taking some saves what they would cost.
                self.other += plants * worth;
                return;
            }
            let Some(source) = self.cheapest_source(stage, week) else {
                self.standing = Some((stage, week, plants));
                return;
            };
            self.wait(source.ready, week, plants);
            plants *= source.starts;
            self.charge(source.operation, source.start, plants);
            match source.operation.from {
                Some(from) => (stage, week) = (from, source.start.week),
                None => return,
            }
        }
    }

    /// Where a plant of a stage needed in a week comes from at the least cost.
    ///
    /// A start's whole cost, that of its unwanted plants included, is shared by its wanted ones
    /// according to their worth, so that the missed stocks carry their part of a budding. Where a
    /// start loses nothing, each plant costs just its worth; otherwise more.
    fn cheapest_source(&self, stage: usize, week: usize) -> Option<Source<'a>> {
        let mut best: Option<(f64, Source)> = None;
        for (operation, it) in self.net.operations.iter().enumerate() {
            for (position, start) in it.starts.iter().enumerate() {
                if !comes_by(start, stage, week) || !self.net.can_start(it, start) {
                    continue;
                }
                let loss = -self.answer.gain(Column::Start {
                    operation,
                    start: position,
                });
                let wanted = self.wanted(start);
                let in_time = |ready: &&Ready| is_in_time(self.net, ready, stage, week);
                for &ready in start.ready.iter().filter(in_time) {
                    let worth = self.worth_when_ready(&ready).max(0.0);
                    let starts = if worth > 0.0 { worth / wanted } else { 0.0 };
                    let cost = worth + starts * loss.max(0.0) + self.cost_of_waiting(ready, week);
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        let operation = it;
                        best = Some((
                            cost,
                            Source {
                                operation,
                                start,
                                ready,
                                starts,
                            },
                        ));
                    }
                }
            }
        }
        best.map(|(_, source)| source)
    }

    /// What the plants of a start that are worth something are worth together, per plant put through.
    fn wanted(&self, start: &NetStart) -> f64 {
        let worth = |it: &Ready| it.fraction * self.worth_when_ready(it).max(0.0);
        start.ready.iter().map(worth).sum()
    }

    fn worth_when_ready(&self, ready: &Ready) -> f64 {
        if ready.week < self.net.weeks {
            self.answer.worth(Row::Arrivals {
                stage: ready.stage,
                week: ready.week,
            })
        } else {
            self.net.case.stages[ready.stage].end_value_per_plant
        }
    }

    /// What a ready plant pays from the week it becomes ready until it is taken.
    fn cost_of_waiting(&self, ready: Ready, taken: usize) -> f64 {
        let stage = &self.net.case.stages[ready.stage];
        let (place, area) = (self.net.place_of[ready.stage], self.net.area(ready.stage));
        let ground = |week| area * self.answer.price(Row::Area { place, week });
        (ready.week..taken)
            .map(|week| stage.wait_cost_per_plant_week + ground(week))
            .sum()
    }

    /// Charges the wait of ready plants, so many per tree, until they are taken.
    fn wait(&mut self, ready: Ready, taken: usize, plants: f64) {
        let stage = &self.net.case.stages[ready.stage];
        let (place, area) = (self.net.place_of[ready.stage], self.net.area(ready.stage));
        let ground = Resource::Area {
            place: stage.place.clone(),
        };
        for week in ready.week..taken {
            self.other += plants * stage.wait_cost_per_plant_week;
            self.pay(
                ground.clone(),
                week,
                plants * area,
                Row::Area { place, week },
            );
        }
    }

    /// Charges a start's hours, supplies, ground and unwanted plants, so many plants per tree.
    fn charge(&mut self, operation: &NetOperation, start: &NetStart, plants: f64) {
        let case = self.net.case;
        self.other += plants * operation.case.cost_per_plant;
        for ready in &start.ready {
            self.other -= plants * ready.fraction * self.worth_when_ready(ready).min(0.0);
        }
        for &(after, crew, hours) in &operation.hours {
            let week = start.week.saturating_add(after);
            let resource = Resource::CrewHour {
                crew: case.crews[crew].id.clone(),
            };
            self.pay(resource, week, plants * hours, Row::Hours { crew, week });
        }
        for &(supply, per_plant) in &operation.uses {
            let week = start.week;
            let resource = Resource::Supply {
                supply: case.supplies[supply].id.clone(),
            };
            self.pay(
                resource,
                week,
                plants * per_plant,
                Row::Supply { supply, week },
            );
        }
        let place = self.net.place_of[operation.to];
        let resource = Resource::Area {
            place: case.places[place].id.clone(),
        };
        for week in start.week..self.net.weeks {
            let area = plants * self.net.area(operation.to) * start.growing(week);
            self.pay(resource.clone(), week, area, Row::Area { place, week });
        }
    }

    fn pay(&mut self, resource: Resource, week: usize, units: f64, row: Row) {
        let money = units * self.answer.price(row);
        if money > 0.0 {
            *self
                .paid
                .entry(resource)
                .or_default()
                .entry(week)
                .or_default() += money;
        }
    }

    fn reason(&self, worth: f64) -> Why {
        let dearest = self.dearest();
        let for_scarce = dearest.as_ref().map_or(0.0, |(charge, ..)| *charge);
        if let Some((stage, week, plants)) = self.standing {
            let for_standing = plants * value_taken(self.answer, stage, week);
            if for_standing >= for_scarce {
                return no_time_for(self.net, stage, week);
            }
        }
        match dearest {
            // Where the work alone costs more than the tree earns, scarcity is not the reason.
            Some((charge, resource, week)) if self.other <= worth => {
                let price = self.price(resource, week);
                Why::Scarce {
                    resource: resource.clone(),
                    week,
                    price,
                    charge,
                    cost: self.cost(),
                    worth,
                }
            }
            _ => Why::DoesNotPay {
                cost: self.cost(),
                worth,
            },
        }
    }

    /// What is scarce on the way, what is paid most for first.
    fn takes(&self) -> Vec<Taking> {
        let paid = self.paid.iter().flat_map(|(resource, weeks)| {
            weeks.iter().map(move |(&week, &money)| {
                let price = self.price(resource, week);
                Taking {
                    resource: resource.clone(),
                    week,
                    units: money / price,
                    price,
                }
            })
        });
        let mut takes: Vec<Taking> = paid.collect();
        takes.sort_by(|one, other| other.charge().total_cmp(&one.charge()));
        takes
    }

    /// The resource that costs the tree most over all weeks, and the week in which it does.
    fn dearest(&self) -> Option<(f64, &Resource, usize)> {
        let totals = self.paid.iter().map(|(resource, weeks)| {
            let week = weeks
                .iter()
                .max_by(|a, b| a.1.total_cmp(b.1))
                .map_or(0, |(week, _)| *week);
            (weeks.values().sum::<f64>(), resource, week)
        });
        totals.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    fn price(&self, resource: &Resource, week: usize) -> f64 {
        let case = self.net.case;
        let row = match resource {
            Resource::CrewHour { crew } | Resource::HiredHour { crew } => case
                .crews
                .iter()
                .position(|it| it.id == *crew)
                .map(|crew| Row::Hours { crew, week }),
            Resource::Area { place } => case
                .places
                .iter()
                .position(|it| it.id == *place)
                .map(|place| Row::Area { place, week }),
            Resource::Supply { supply }
            | Resource::Batch { supply, .. }
            | Resource::BuyLimit { supply } => case
                .supplies
                .iter()
                .position(|it| it.id == *supply)
                .map(|supply| Row::Supply { supply, week }),
        };
        row.map_or(0.0, |row| self.answer.price(row))
    }

    fn cost(&self) -> f64 {
        let paid: f64 = self.paid.values().flat_map(BTreeMap::values).sum();
        let standing = self.standing.map_or(0.0, |(stage, week, plants)| {
            plants * value_taken(self.answer, stage, week)
        });
        self.other + paid + standing
    }
}

fn is_in_time(net: &Net, ready: &Ready, stage: usize, week: usize) -> bool {
    ready.stage == stage && ready.week <= week && net.last_use(stage, ready.week) >= week
}

/// The least share of a start's plants of a stage that must be ready by a week for the start to
/// count as in time. A few early plants are no way to fill a line.
const FAIR_SHARE: f64 = 0.05;

/// Whether a fair share of a start's plants of a stage is ready by a week.
fn comes_by(start: &NetStart, stage: usize, week: usize) -> bool {
    let (mut by_then, mut all) = (0.0, 0.0);
    for ready in start.ready.iter().filter(|it| it.stage == stage) {
        all += ready.fraction;
        if ready.week <= week {
            by_then += ready.fraction;
        }
    }
    by_then > 0.0 && by_then >= FAIR_SHARE * all
}

/// No plants of a stage can come by a week: the work that would bring a fair share soonest, and when
/// it would have had to be started, taking as many weeks as it takes then.
fn no_time_for(net: &Net, stage: usize, needed: usize) -> Why {
    let soonest = net
        .operations
        .iter()
        .flat_map(|it| it.starts.iter().map(move |start| (it, start)))
        .flat_map(|(it, start)| start.ready.iter().map(move |ready| (it, start, ready.week)))
        .filter(|&(_, start, ready)| comes_by(start, stage, ready))
        .min_by_key(|&(_, start, ready)| (ready, std::cmp::Reverse(start.week)));
    let lasts = |start: &NetStart, ready: usize| week_of(ready) - week_of(start.week);
    Why::NoTime {
        stage: net.case.stages[stage].id.clone(),
        needed: week_of(needed),
        operation: soonest.map(|(it, ..)| it.case.id.clone()),
        last_start: soonest.map(|(_, start, ready)| week_of(needed) - lasts(start, ready)),
    }
}
