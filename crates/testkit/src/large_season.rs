//! A large season to plan: a nursery of many varieties on several rootstocks and in several sizes, as a planning case.
//!
//! The same seed gives the same case. Its numbers are invented, and of the size that a nursery of its kind knows: seed is
//! sown, pricked out as liners, budded in spring or late summer, and the budded trees grow on through three
//! sizes. Buds that miss leave their stocks to be budded again.

use serde_json::{Value, json};

use crate::chance::Chance;

/// How large the season is.
#[derive(Clone, Copy, Debug)]
pub struct LargeSeason {
    /// Rootstocks; each has three stages.
    pub rootstocks: usize,
    /// Varieties; each has four stages on every rootstock.
    pub varieties: usize,
    /// Weeks.
    pub weeks: usize,
    /// Order lines.
    pub lines: usize,
}

impl Default for LargeSeason {
    /// 570 stages, 182 weeks, 2000 order lines.
    fn default() -> Self {
        Self {
            rootstocks: 6,
            varieties: 23,
            weeks: 182,
            lines: 2000,
        }
    }
}

/// Weeks of a year.
const YEAR: usize = 52;

/// The sizes of a finished tree, with its price, its ground in m², the weeks it takes from the one before and the weeks it keeps.
const SIZES: [(&str, f64, f64, usize, usize); 3] = [
    ("small", 9.0, 0.02, 24, 30),
    ("medium", 14.0, 0.04, 20, 40),
    ("large", 21.0, 0.07, 26, 60),
];

/// The share of an operation's plants that become ready in each of the weeks in which any do.
const PACE: [f64; 3] = [0.3, 0.45, 0.25];

impl LargeSeason {
    /// The season as a planning case in the neutral format 2.
    pub fn case(&self, seed: u64) -> Value {
        let mut chance = Chance::new(seed);
        let mut case = Parts::default();
        for stock in 0..self.rootstocks {
            self.rootstock(&mut case, stock, &mut chance);
        }
        for variety in 0..self.varieties {
            self.buds(&mut case, variety);
            for stock in 0..self.rootstocks {
                self.combination(&mut case, variety, stock, &mut chance);
            }
        }
        let orders: Vec<Value> = (0..self.lines)
            .map(|line| self.order(line, &mut chance))
            .collect();
        let scale = self.lines as f64;
        json!({
            "format": 2, "weeks": self.weeks,
            "places": [
                {"id": "seed house", "area_m2": 0.4 * scale, "excess_cost_per_m2_week": 1.5},
                {"id": "liner house", "area_m2": 0.6 * scale, "excess_cost_per_m2_week": 1.0},
                {"id": "tree house", "area_m2": 2.0 * scale, "excess_cost_per_m2_week": 0.6},
            ],
            "crews": [
                {"id": "budders", "hours_per_week": 0.02 * scale, "extra_hours_per_week": 0.02 * scale,
                    "extra_cost_per_hour": 24, "may_do": ["hands"]},
                {"id": "hands", "hours_per_week": 0.03 * scale, "extra_hours_per_week": 0.03 * scale,
                    "extra_cost_per_hour": 17},
            ],
            "supplies": case.supplies, "stages": case.stages, "operations": case.operations,
            "standing": case.standing, "orders": orders,
        })
    }

    /// Seed, seedlings, liners and the stocks whose bud missed.
    fn rootstock(&self, case: &mut Parts, stock: usize, chance: &mut Chance) {
        let [seed, seedling, liner, missed] =
            ["seed", "seedling", "liner", "missed"].map(|it| format!("{it} {stock}"));
        let harvests = (0..=self.weeks / YEAR).map(|year| {
            let from = year * YEAR + 2;
            let amount = 14.0 * self.lines as f64 / self.rootstocks as f64;
            json!({"from": from, "to": from + 36, "amount": amount})
        });
        case.supplies
            .push(json!({"id": seed, "batches": harvests.collect::<Vec<_>>(),
            "buy_price": 0.2, "buy_limit_per_week": 100}));
        case.stages
            .push(stage(&seedling, "seed house", 0.002, 12, 0.0));
        case.stages
            .push(stage(&liner, "liner house", 0.006, 40, 0.8));
        case.stages
            .push(stage(&missed, "liner house", 0.006, 30, 0.0));
        case.operations.push(json!({"id": format!("sow {stock}"), "takes_from": null, "moves_to": seedling,
            "hours": [[0, "hands", 0.002], [8, "hands", 0.001]], "uses": [{"supply": seed, "per_plant": 1.0}],
            "cost_per_plant": 0.05, "starts": self.starts((2, 38), 14, 0.72, None)}));
        case.operations.push(
            json!({"id": format!("prick out {stock}"), "takes_from": seedling, "moves_to": liner,
            "hours": [[0, "hands", 0.008], [10, "hands", 0.002]], "cost_per_plant": 0.25,
            "starts": self.starts((8, 46), 22, 0.9, None)}),
        );
        let each = self.lines as f64 / self.rootstocks as f64;
        let ready = (0..24).map(|week| json!([week, (each * chance.real(0.2, 0.8)).round()]));
        case.standing
            .push(json!({"stage": liner, "arrivals": ready.collect::<Vec<_>>()}));
    }

    /// A variety's buds: a cut for each season of budding, and sticks that can be bought.
    fn buds(&self, case: &mut Parts, variety: usize) {
        let cuts = (0..=self.weeks / YEAR).flat_map(|year| {
            [12, 32].map(|week| {
                let from = year * YEAR + week;
                let amount = 14.0 * self.lines as f64 / self.varieties as f64;
                json!({"from": from, "to": from + 9, "amount": amount})
            })
        });
        case.supplies.push(
            json!({"id": format!("buds {variety}"), "batches": cuts.collect::<Vec<_>>(),
            "buy_price": 0.6, "buy_limit_per_week": 60}),
        );
    }

    /// Budded trees of a variety on a rootstock, and their sizes.
    fn combination(&self, case: &mut Parts, variety: usize, stock: usize, chance: &mut Chance) {
        let (liner, missed) = (format!("liner {stock}"), format!("missed {stock}"));
        let budded = format!("budded {variety} on {stock}");
        case.stages
            .push(stage(&budded, "liner house", 0.008, 16, 1.5));
        let take = chance.real(0.75, 0.92);
        for (from, what, takes) in [(&liner, "bud", take), (&missed, "bud again", take - 0.08)] {
            let mut starts = self.starts((12, 20), 5, takes, Some((&missed, 0.95 - takes)));
            starts.extend(self.starts((32, 41), 6, takes - 0.03, Some((&missed, 0.95 - takes))));
            starts.sort_by_key(|it| it["week"].as_u64());
            case.operations.push(json!({"id": format!("{what} {variety} on {stock}"), "takes_from": from,
                "moves_to": budded, "hours": [[0, "budders", 0.018], [5, "hands", 0.006]],
                "uses": [{"supply": format!("buds {variety}"), "per_plant": 1.1}], "cost_per_plant": 0.1,
                "starts": starts}));
        }
        let mut from = budded;
        for (size, price, area, weeks, keeps) in SIZES {
            let finished = finished(variety, stock, size);
            case.stages
                .push(stage(&finished, "tree house", area, keeps, 0.25 * price));
            case.operations.push(json!({"id": format!("raise {finished}"), "takes_from": from, "moves_to": finished,
                "hours": [[0, "hands", 0.012], [weeks / 2, "hands", 0.01]], "cost_per_plant": 0.06 * price,
                "starts": self.starts((0, YEAR - 1), weeks, 0.95, None)}));
            let stands = [0, 20, 40].map(|week| {
                let plants = (self.lines as f64 * chance.real(0.005, 0.03)).round();
                json!([week + chance.below(20), plants])
            });
            case.standing
                .push(json!({"stage": finished, "arrivals": stands}));
            from = finished;
        }
    }

    /// Starts in the weeks of a season of every year. Plants started in the warm half of the year are ready sooner.
    fn starts(
        &self,
        (first, last): (usize, usize),
        weeks: usize,
        survive: f64,
        missed: Option<(&str, f64)>,
    ) -> Vec<Value> {
        let in_season = |week: &usize| (first..=last).contains(&(week % YEAR));
        let start = |week: usize| {
            let from_midsummer = (week % YEAR).abs_diff(YEAR / 2);
            let after = weeks + weeks * from_midsummer / (2 * YEAR);
            let taken = PACE.iter().enumerate();
            let mut ready: Vec<Value> = taken
                .map(|(late, share)| json!([after + late, share * survive]))
                .collect();
            if let Some((stage, share)) = missed {
                ready.push(json!([after, share, stage]));
            }
            json!({"week": week, "ready_after": ready})
        };
        (0..self.weeks).filter(in_season).map(start).collect()
    }

    /// An order line: some trees of one kind, or of the same variety on another rootstock at a lower price.
    fn order(&self, line: usize, chance: &mut Chance) -> Value {
        let variety = chance.below(self.varieties);
        let stock = chance.below(self.rootstocks);
        let (size, price, ..) = SIZES[chance.below(SIZES.len())];
        let price = price * chance.real(0.85, 1.2);
        let mut accepts = vec![json!({"stage": finished(variety, stock, size), "price": price})];
        if chance.yes(0.2) && self.rootstocks > 1 {
            let other = (stock + 1 + chance.below(self.rootstocks - 1)) % self.rootstocks;
            accepts.push(json!({"stage": finished(variety, other, size), "price": 0.93 * price}));
        }
        let due = chance.between(10.min(self.weeks - 1), self.weeks - 1);
        json!({"id": format!("line {line}"), "accepts": accepts, "plants": chance.between(10, 80),
            "earliest": due.saturating_sub(chance.between(2, 5)), "due": due, "latest": due + chance.between(0, 6),
            "late_cost_per_plant_week": 0.02 * price, "short_cost_per_plant": 0.3 * price})
    }
}

/// What a season is made of, as it comes together.
#[derive(Default)]
struct Parts {
    supplies: Vec<Value>,
    stages: Vec<Value>,
    operations: Vec<Value>,
    standing: Vec<Value>,
}

fn finished(variety: usize, stock: usize, size: &str) -> String {
    format!("{size} {variety} on {stock}")
}

fn stage(id: &str, place: &str, area: f64, keeps: usize, end_value: f64) -> Value {
    json!({"id": id, "place": place, "area_m2_per_plant": area, "over_age_after_weeks": keeps,
        "wait_cost_per_plant_week": 0.01, "discard_cost_per_plant": 0.05, "end_value_per_plant": end_value})
}
