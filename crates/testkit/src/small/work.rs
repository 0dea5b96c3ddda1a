//! The planned work of a small nursery.

use crate::chance::Chance;
use crate::small::made::{Product, Route, batch};
use crate::small::nursery::{Job, Luck, Remedy};

/// What is common to all work.
pub(super) struct Works {
    weeks: usize,
    /// How much a season and a pair of hands matter.
    season_sd: f64,
    hands_sd: f64,
}

/// Work on plants as it comes round, over all weeks.
struct Round<'a> {
    name: &'a str,
    from: Option<&'a str>,
    to: &'a str,
    /// Weeks from one to the next, and for how long each may be late.
    every: (usize, usize),
    /// The least and most plants of one; none for all there are.
    plants: Option<(usize, usize)>,
    hours_per_plant: f64,
    window: Option<&'a str>,
}

impl Works {
    pub fn new(chance: &mut Chance, weeks: usize) -> Self {
        Self {
            weeks,
            season_sd: chance.real(0.1, 0.5),
            hands_sd: chance.real(0.1, 0.5),
        }
    }

    /// All jobs of a route, in the order of their weeks. What needs a window is planned in weeks for which
    /// `is_season` holds, or to make up for what was.
    pub fn of_route(
        &self,
        chance: &mut Chance,
        route: &Route,
        is_season: &impl Fn(i32) -> bool,
    ) -> Vec<Job> {
        let mut jobs = Vec::new();
        for round in of_rootstock(route) {
            jobs.extend(self.jobs(chance, &round));
        }
        for product in &route.products {
            for round in of_product(&route.liner, product) {
                let mut of_round = self.jobs(chance, &round);
                of_round.retain(|job| job.window.is_none() || is_season(job.week));
                if round.name == "bud" {
                    let late: Vec<_> = of_round.iter().filter_map(|it| later(chance, it)).collect();
                    of_round.extend(late);
                }
                jobs.extend(of_round);
            }
        }
        jobs.sort_by_key(|job| job.week);
        jobs
    }

    fn jobs(&self, chance: &mut Chance, round: &Round<'_>) -> Vec<Job> {
        let (every, late) = round.every;
        let mut week = chance.below(every);
        let mut jobs = Vec::new();
        while week < self.weeks {
            let plants = round
                .plants
                .map(|(least, most)| chance.between(least, most) as u32);
            jobs.push(Job {
                name: format!("{} {}", round.name, round.to),
                takes_from: round.from.map(str::to_owned),
                moves_to: round.to.to_owned(),
                week: week as i32,
                late_until: (week + chance.between(late / 2, late)) as i32,
                plants,
                crew: (round.hours_per_plant > 0.0).then(|| "field".to_owned()),
                hours_per_plant: round.hours_per_plant,
                window: round.window.map(str::to_owned),
                batch: batch(chance, round.to),
                luck: self.luck(chance, week, round.window.is_some()),
                remedy: None,
            });
            week += chance.between(every / 2, every + every / 2).max(1);
        }
        jobs
    }

    /// The season, and of buds the hands that set them.
    fn luck(&self, chance: &mut Chance, week: usize, is_budding: bool) -> Vec<Luck> {
        let season = Luck {
            label: format!("season {}", week / 52),
            sd: self.season_sd,
        };
        let hands = is_budding.then(|| Luck {
            label: format!("hands {}", chance.below(2)),
            sd: self.hands_sd,
        });
        [season].into_iter().chain(hands).collect()
    }
}

/// In some cases, a budding that makes up for what another could not do.
fn later(chance: &mut Chance, job: &Job) -> Option<Job> {
    chance.yes(0.3).then(|| {
        let week = job.late_until + chance.days(1, 3);
        Job {
            name: format!("{} later", job.name),
            week,
            late_until: week + chance.days(1, 4),
            plants: None,
            remedy: Some(Remedy {
                job: (job.name.clone(), job.week),
                times: chance.real(0.8, 1.3),
            }),
            ..job.clone()
        }
    })
}

fn of_rootstock(route: &Route) -> [Round<'_>; 2] {
    let many = route.products.len();
    let sow = Round {
        name: "sow",
        from: None,
        to: &route.seedling,
        every: (32, 0),
        plants: Some((80 * many, 130 * many)),
        hours_per_plant: 0.0,
        window: None,
    };
    let line_out = Round {
        name: "line out",
        from: Some(&route.seedling),
        to: &route.liner,
        every: (24, 5),
        plants: Some((60 * many, 100 * many)),
        hours_per_plant: 0.02,
        window: None,
    };
    [sow, line_out]
}

fn of_product<'a>(liner: &'a str, product: &'a Product) -> [Round<'a>; 3] {
    let bud = Round {
        name: "bud",
        from: Some(liner),
        to: &product.budded,
        every: (16, 3),
        plants: Some((50, 110)),
        hours_per_plant: 0.04,
        window: Some("bark"),
    };
    let bud_again = Round {
        name: "bud again",
        from: Some(&product.missed),
        every: (28, 2),
        plants: None,
        ..bud
    };
    let pot_up = Round {
        name: "pot up",
        from: Some(&product.budded),
        to: &product.finished,
        every: (13, 1),
        plants: None,
        hours_per_plant: 0.03,
        window: None,
    };
    [bud, bud_again, pot_up]
}
