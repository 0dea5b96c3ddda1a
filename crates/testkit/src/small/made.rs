//! Makes small nurseries, each unlike the others.

use std::collections::BTreeMap;

use crate::chance::Chance;
use crate::small::lines::order_book;
use crate::small::nursery::{ByWeek, Growth, Known, Luck, Nursery, Peril, Stage, Standing, Take};
use crate::small::sky::Place;
use crate::small::work::Works;

/// The route of a rootstock and of what is budded on it.
pub(super) struct Route {
    pub seedling: String,
    pub liner: String,
    pub products: Vec<Product>,
}

/// The stages of one variety.
pub(super) struct Product {
    pub budded: String,
    pub missed: String,
    pub finished: String,
}

impl Nursery {
    /// The nursery of a seed: one or two rootstocks, two to four varieties, two years and more.
    pub fn made(seed: u64) -> Self {
        let mut chance = Chance::new(seed);
        let weeks = chance.between(100, 120);
        let routes = routes(&mut chance);
        let place = Place::new(&mut chance);
        let stages = stages(&mut chance, &routes);
        let tender: Vec<String> = stages.keys().cloned().collect();
        let weathers = (0..chance.between(10, 30))
            .map(|_| place.weather(&mut chance, weeks, &tender))
            .collect();
        let mut nursery = Self {
            weeks,
            weathers,
            standing: standing(&mut chance, &stages),
            stages,
            jobs: Vec::new(),
            lines: Vec::new(),
            crews: BTreeMap::from([("field".to_owned(), ByWeek::Same(chance.real(3.0, 9.0)))]),
            perils: perils(&mut chance, weeks, &tender),
        };
        // Buds are set when bark is wont to slip.
        let slips = |week: i32| place.normal_degree_days(7 * week as usize) > 3.0;
        let works = Works::new(&mut chance, weeks);
        for route in &routes {
            nursery
                .jobs
                .extend(works.of_route(&mut chance, route, &slips));
        }
        nursery.lines = order_book(&mut chance, &nursery, &products(routes));
        nursery
    }
}

fn products(routes: Vec<Route>) -> Vec<Product> {
    routes
        .into_iter()
        .flat_map(|route| route.products)
        .collect()
}

fn routes(chance: &mut Chance) -> Vec<Route> {
    let (roots, varieties) = (chance.between(1, 2), chance.between(2, 4));
    let product = |number: usize| Product {
        budded: format!("budded {number}"),
        missed: format!("missed {number}"),
        finished: format!("finished {number}"),
    };
    (0..roots)
        .map(|root| Route {
            seedling: format!("seedling {root}"),
            liner: format!("liner {root}"),
            products: (root..varieties).step_by(roots).map(product).collect(),
        })
        .collect()
}

fn stages(chance: &mut Chance, routes: &[Route]) -> BTreeMap<String, Stage> {
    let mut stages = BTreeMap::new();
    for route in routes {
        let seedling = growth(chance, "glass", (500.0, 900.0), (0.65, 0.9));
        stages.insert(
            route.seedling.clone(),
            waits(chance, Some(seedling), (26, 40)),
        );
        let liner = growth(chance, "open", (500.0, 800.0), (0.85, 0.96));
        stages.insert(route.liner.clone(), waits(chance, Some(liner), (40, 60)));
        for product in &route.products {
            let take = Take {
                share: chance.real(0.62, 0.85),
                rho: chance.real(0.02, 0.08),
                missed: product.missed.clone(),
            };
            let budded = Growth {
                take: Some(take),
                ..growth(chance, "open", (250.0, 450.0), (0.8, 0.95))
            };
            stages.insert(
                product.budded.clone(),
                waits(chance, Some(budded), (40, 60)),
            );
            stages.insert(product.missed.clone(), waits(chance, None, (30, 50)));
            let finished = growth(chance, "open", (600.0, 1_000.0), (0.75, 0.93));
            stages.insert(
                product.finished.clone(),
                waits(chance, Some(finished), (40, 60)),
            );
        }
    }
    stages
}

fn growth(
    chance: &mut Chance,
    climate: &str,
    degree_days: (f64, f64),
    survival: (f64, f64),
) -> Growth {
    Growth {
        climate: climate.to_owned(),
        degree_days: chance.real(degree_days.0, degree_days.1),
        within_lot: chance.real(0.05, 0.15),
        between_lots: chance.real(0.04, 0.12),
        survival: chance.real(survival.0, survival.1),
        survival_rho: chance.real(0.02, 0.08),
        take: None,
        batch_sd: chance.real(0.4, 1.0),
    }
}

/// A stage in which ready plants wait so many weeks, or for good.
fn waits(chance: &mut Chance, growth: Option<Growth>, weeks: (usize, usize)) -> Stage {
    let limit = chance.between(weeks.0, weeks.1) as u32;
    Stage {
        growth,
        over_age_weeks: chance.yes(0.7).then_some(ByWeek::Same(limit)),
    }
}

/// One or two lots in every stage.
fn standing(chance: &mut Chance, stages: &BTreeMap<String, Stage>) -> Vec<Standing> {
    let luck = Luck {
        label: "the season before".to_owned(),
        sd: chance.real(0.1, 0.4),
    };
    let mut lots = Vec::new();
    for (stage, it) in stages {
        for number in 0..chance.between(1, 2) {
            let ready = (chance.between(0, 8) as u32, chance.between(0, 30) as u32);
            let growing = it.growth.as_ref();
            lots.push(Standing {
                name: format!("{stage}, {number}"),
                stage: stage.clone(),
                growing: growing.map_or(0, |_| chance.between(20, 90) as u32),
                degree_days: growing.map_or(0.0, |it| it.degree_days * chance.real(0.0, 0.95)),
                ready: vec![ready],
                batch: batch(chance, stage),
                luck: vec![luck.clone()],
                known: growing.and_then(|it| known(chance, it)),
            });
        }
    }
    lots
}

/// Some lots have been counted: their pace and their losses are better known than those of others.
fn known(chance: &mut Chance, growth: &Growth) -> Option<Known> {
    let spread = growth.between_lots / 2.0;
    chance.yes(0.3).then(|| Known {
        pace: [chance.real(-spread, spread), spread],
        survival: chance.real(growth.survival, 0.99),
        survival_rho: growth.survival_rho / 2.0,
    })
}

/// One of two batches of a stage; the lots of one share their luck.
pub(super) fn batch(chance: &mut Chance, stage: &str) -> Option<String> {
    let number = chance.between(1, 2);
    chance.yes(0.9).then(|| format!("{stage}, batch {number}"))
}

fn perils(chance: &mut Chance, weeks: usize, stages: &[String]) -> Vec<Peril> {
    let peril = |number| {
        let from = chance.below(weeks - 20);
        Peril {
            name: format!("peril {number}"),
            stages: chance.some(stages.to_vec(), 3),
            from,
            until: from + chance.between(0, 25),
            odds: chance.real(0.03, 0.25),
            fraction: chance.real(0.2, 0.7),
        }
    };
    (0..3).map(peril).collect()
}
