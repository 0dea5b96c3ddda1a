//! Can this be promised? A first answer from the plants that the last futures leave free.
//!
//! The futures tell, for some weeks, how many ready plants of a product are left when all order
//! lines are served: in 5, 50 and 95 of 100 futures fewer. What is promised is taken from what is
//! left in its week and, for a year after, from what would have been left then, so that no
//! earlier promise loses a plant. Between the three quantiles odds are read off straight lines.

use serde::Serialize;
use serde_json::Value;
use store::Ledger;

use super::NurseryFile;
use crate::error::{AppError, Kind};

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Enquiry {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// Plants.
    pub plants: u32,
    /// ISO week by which they are wanted.
    pub by: String,
    /// Odds to promise at, in percent.
    pub at_odds: u32,
}

/// `promise --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PromiseAnswer {
    /// Plants asked for.
    pub plants: u32,
    /// The week they are wanted by.
    pub by: String,
    /// Odds of having them then; about, for three quantiles are known.
    pub odds: f64,
    /// The largest number that can be promised by then.
    pub largest: u32,
    /// At these odds.
    pub at_odds: f64,
    /// The first week in which all of them can be promised at these odds.
    pub earliest_week: Option<String>,
    /// The same variety otherwise, by that week.
    pub alternatives: Vec<Alternative>,
    /// Earlier promises that this one would push below their odds: none, for it takes only what they
    /// leave.
    pub breaks: Vec<String>,
    /// Price of one, minor units, where it is set.
    pub price: Option<f64>,
    /// The run it was read from.
    pub run: String,
}

/// Another way to serve an enquiry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alternative {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// By when.
    pub by: String,
    /// Plants that can be promised.
    pub plants: u32,
    /// At these odds.
    pub odds: f64,
    /// Price of one, minor units, where it is set.
    pub price: Option<f64>,
}

/// Report weeks that lie within a year after a week.
const YEAR_OF_REPORTS: usize = 4;

/// Free plants of a product in one week: in 5, 50 and 95 of 100 futures fewer.
#[derive(Clone, Copy)]
struct Quantiles {
    p05: f64,
    p50: f64,
    p95: f64,
}

impl Quantiles {
    /// Plants of which there are fewer in so many futures.
    fn plants(self, share: f64) -> f64 {
        let (low, high, from, to) = if share <= 0.5 {
            (self.p05, self.p50, 0.05, 0.5)
        } else {
            (self.p50, self.p95, 0.5, 0.95)
        };
        low + (high - low) * ((share - from) / (to - from)).clamp(0.0, 1.0)
    }

    /// Odds that there are so many.
    fn odds(self, plants: f64) -> f64 {
        if plants <= self.p05 {
            return 0.95;
        }
        if plants > self.p95 {
            return 0.0;
        }
        let (low, high, from) = if plants <= self.p50 {
            (self.p05, self.p50, 0.95)
        } else {
            (self.p50, self.p95, 0.5)
        };
        from - 0.45 * (plants - low) / (high - low)
    }

    fn least(self, other: Self) -> Self {
        Self {
            p05: self.p05.min(other.p05),
            p50: self.p50.min(other.p50),
            p95: self.p95.min(other.p95),
        }
    }
}

/// Free plants of a product by week, all its places and steps together.
struct Product {
    variety: String,
    rootstock: String,
    size: String,
    weeks: Vec<(String, Quantiles)>,
}

impl Product {
    /// What can be taken in a week: what is left then and in the year after.
    fn free(&self, by: &str) -> Option<Quantiles> {
        let until = self.weeks.partition_point(|(week, _)| week.as_str() <= by);
        let at = until.checked_sub(1)?;
        self.free_at(at)
    }

    fn free_at(&self, at: usize) -> Option<Quantiles> {
        let after = self.weeks[at..].iter().take(1 + YEAR_OF_REPORTS);
        after.map(|(_, it)| *it).reduce(Quantiles::least)
    }

    fn earliest(&self, plants: u32, share: f64) -> Option<String> {
        let is_enough = |at: &usize| {
            let free = self.free_at(*at);
            free.is_some_and(|it| it.plants(share) >= f64::from(plants))
        };
        let at = (0..self.weeks.len()).find(is_enough)?;
        Some(self.weeks[at].0.clone())
    }
}

impl NurseryFile {
    /// Answers an enquiry from the last futures.
    pub fn promise(&self, enquiry: &Enquiry) -> Result<PromiseAnswer, AppError> {
        let Some(run) = self.asked(self.ledger.latest_run("futures"))? else {
            return Err(AppError::new(
                Kind::NotFound,
                "no futures were drawn yet",
                self.path.display().to_string(),
                "run `barkslip futures`, then ask again",
            ));
        };
        let answer: Value = serde_json::from_slice(&run.bytes).unwrap_or_default();
        let products = products(&answer);
        // Odds of 90 % are those of the number that is missed in one future of ten.
        let share = 1.0 - f64::from(enquiry.at_odds) / 100.0;
        let asked = products.iter().find(|it| {
            it.variety == enquiry.variety
                && it.rootstock == enquiry.rootstock
                && it.size == enquiry.size
        });
        let free = asked.and_then(|it| it.free(&enquiry.by));
        Ok(PromiseAnswer {
            plants: enquiry.plants,
            by: enquiry.by.clone(),
            odds: free.map_or(0.0, |it| it.odds(f64::from(enquiry.plants))),
            largest: free.map_or(0, |it| it.plants(share).max(0.0) as u32),
            at_odds: f64::from(enquiry.at_odds) / 100.0,
            earliest_week: asked.and_then(|it| it.earliest(enquiry.plants, share)),
            alternatives: self.alternatives(&products, enquiry, share),
            breaks: Vec::new(),
            price: self.tree_price(
                &self.books,
                &enquiry.variety,
                &enquiry.rootstock,
                &enquiry.size,
            ),
            run: run.name,
        })
    }

    fn alternatives(
        &self,
        products: &[Product],
        enquiry: &Enquiry,
        share: f64,
    ) -> Vec<Alternative> {
        let others = products.iter().filter(|it| {
            it.variety == enquiry.variety
                && (&it.rootstock, &it.size) != (&enquiry.rootstock, &enquiry.size)
        });
        let mut found: Vec<Alternative> = others
            .filter_map(|it| {
                let plants = it.free(&enquiry.by)?.plants(share).max(0.0) as u32;
                (plants > 0).then(|| Alternative {
                    variety: it.variety.clone(),
                    rootstock: it.rootstock.clone(),
                    size: it.size.clone(),
                    by: enquiry.by.clone(),
                    plants,
                    odds: 1.0 - share,
                    price: self.tree_price(&self.books, &it.variety, &it.rootstock, &it.size),
                })
            })
            .collect();
        found.sort_by_key(|it| std::cmp::Reverse(it.plants));
        found
    }
}

/// The products of a futures answer; plants of one product at several places are taken together, the
/// quantiles of their sum being at least the sum of the low ones only when they go up and down
/// together, which is the careful case.
fn products(answer: &Value) -> Vec<Product> {
    let mut products: Vec<Product> = Vec::new();
    for it in answer["products"].as_array().map_or(&[][..], Vec::as_slice) {
        let text = |key: &str| it[key].as_str().unwrap_or_default().to_owned();
        let weeks: Vec<(String, Quantiles)> = it["free"]
            .as_array()
            .map_or(&[][..], Vec::as_slice)
            .iter()
            .map(|free| {
                let number = |key: &str| free[key].as_f64().unwrap_or(0.0);
                let week = free["week"].as_str().unwrap_or_default().to_owned();
                let quantiles = Quantiles {
                    p05: number("p05"),
                    p50: number("p50"),
                    p95: number("p95"),
                };
                (week, quantiles)
            })
            .collect();
        let (variety, rootstock, size) = (text("variety"), text("rootstock"), text("size"));
        let known = products
            .iter_mut()
            .find(|it| it.variety == variety && it.rootstock == rootstock && it.size == size);
        match known {
            Some(known) => {
                for ((_, sum), (_, more)) in known.weeks.iter_mut().zip(&weeks) {
                    sum.p05 += more.p05;
                    sum.p50 += more.p50;
                    sum.p95 += more.p95;
                }
            }
            None => products.push(Product {
                variety,
                rootstock,
                size,
                weeks,
            }),
        }
    }
    products
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{Quantiles, products};

    const FREE: Quantiles = Quantiles {
        p05: 10.0,
        p50: 100.0,
        p95: 190.0,
    };

    #[test]
    fn odds_and_plants_are_read_off_the_same_lines() {
        for share in [0.05, 0.1, 0.3, 0.5, 0.7, 0.95] {
            let odds = FREE.odds(FREE.plants(share));
            assert!((odds - (1.0 - share)).abs() < 1e-12, "{share}: {odds}");
        }
        assert!(FREE.odds(3.0) >= 0.95 && FREE.odds(191.0) <= 0.0);
    }

    #[test]
    fn what_is_needed_later_cannot_be_promised_now() {
        let week = |week: &str, plants: f64| json!({"week": week, "p05": plants, "p50": plants, "p95": plants});
        let answer = json!({"products": [
            {"variety": "v", "rootstock": "r", "size": "4L", "free": [week("2027-W10", 50.0), week("2027-W23", 20.0), week("2027-W36", 80.0)]},
            {"variety": "v", "rootstock": "r", "size": "4L", "free": [week("2027-W10", 1.0), week("2027-W23", 2.0), week("2027-W36", 3.0)]},
        ]});
        let products = products(&answer);
        let free = |by: &str| products[0].free(by).map(|it| it.p50);
        assert_eq!(products.len(), 1);
        assert_eq!(
            (free("2027-W09"), free("2027-W12"), free("2027-W40")),
            (None, Some(22.0), Some(83.0))
        );
        assert_eq!(products[0].earliest(30, 0.1), Some("2027-W36".to_owned()));
        assert_eq!(products[0].earliest(90, 0.1), None);
    }
}
