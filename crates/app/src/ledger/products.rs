//! Ready trees of each product against what is promised of it, week by week.

use std::collections::BTreeMap;

use futures::Quantiles;
use nursery::ids::{RootstockName, SizeName, VarietyName};
use season::Line;
use serde::Serialize;

use super::odds::OddsNow;
use crate::error::{AppError, Kind};

/// A product and its trees by week.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProductFan {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// ISO weeks, from the first that the futures play.
    pub weeks: Vec<String>,
    /// Trees that have become ready by the end of each week.
    pub come: Vec<Band>,
    /// Ready trees that nobody has taken at the end of each week.
    pub free: Vec<Band>,
    /// Trees that order lines ask for by the end of each week, of this product or of others that they take
    /// as well.
    pub asked: Vec<u64>,
}

/// Of 100 futures, in so many there are fewer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    /// In 5.
    pub p05: f64,
    /// In 25.
    pub p25: f64,
    /// In half.
    pub p50: f64,
    /// In 75.
    pub p75: f64,
    /// In 95.
    pub p95: f64,
}

/// A product in short.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProductBrief {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// Trees that open order lines ask for.
    pub asked: u64,
    /// Order lines that take it.
    pub lines: usize,
    /// Lines of these whose odds are below what they are to be.
    pub at_risk: usize,
}

type Product = (VarietyName, RootstockName, SizeName);

impl OddsNow {
    /// The products that the season grows, by variety, rootstock and size.
    pub fn products(&self) -> Vec<ProductBrief> {
        let mut products: BTreeMap<Product, ProductBrief> = BTreeMap::new();
        for stage in &self.season.stages {
            let (Some(variety), Some(size)) = (&stage.variety, &stage.size) else {
                continue;
            };
            let key = (variety.clone(), stage.rootstock.clone(), size.clone());
            products.entry(key).or_insert_with(|| ProductBrief {
                variety: variety.to_string(),
                rootstock: stage.rootstock.to_string(),
                size: size.to_string(),
                asked: 0,
                lines: 0,
                at_risk: 0,
            });
        }
        for (product, brief) in &mut products {
            for line in self.lines_of(product) {
                brief.asked += line.plants.round() as u64;
                brief.lines += 1;
                brief.at_risk += usize::from(self.is_at_risk(line));
            }
        }
        products.into_values().collect()
    }

    /// A product's trees by week.
    ///
    /// # Errors
    /// The season grows no such product.
    pub fn fan(&self, variety: &str, rootstock: &str, size: &str) -> Result<ProductFan, AppError> {
        let product = (
            VarietyName::from(variety),
            RootstockName::from(rootstock),
            SizeName::from(size),
        );
        let stages = self.season.stages.iter().filter(|it| {
            it.variety.as_ref() == Some(&product.0)
                && it.rootstock == product.1
                && it.size.as_ref() == Some(&product.2)
        });
        let stages: Vec<&str> = stages.map(|it| it.id.as_str()).collect();
        let fan = self
            .stored()
            .fan(&stages)
            .ok()
            .filter(|_| !stages.is_empty());
        let Some(fan) = fan else {
            return Err(AppError::new(
                Kind::NotFound,
                format!("the season grows no {variety} on {rootstock}, {size}"),
                "",
                "take a product of the list",
            ));
        };
        let calendar = self.season.calendar;
        let mut asked = vec![0; self.season.weeks];
        for line in self.lines_of(&product) {
            let due = usize::try_from(line.due.max(0)).unwrap_or(usize::MAX);
            for week in asked.iter_mut().skip(due) {
                *week += line.plants.round() as u64;
            }
        }
        Ok(ProductFan {
            variety: variety.to_owned(),
            rootstock: rootstock.to_owned(),
            size: size.to_owned(),
            weeks: (0..self.season.weeks)
                .map(|week| calendar.iso(week as i64))
                .collect(),
            come: fan.come.iter().map(Band::of).collect(),
            free: fan.left.iter().map(Band::of).collect(),
            asked,
        })
    }

    /// Order lines that take a product, as what was ordered.
    fn lines_of<'a>(&'a self, product: &'a Product) -> impl Iterator<Item = &'a Line> {
        let (variety, rootstock, size) = product;
        let lines = self.season.lines.iter().filter(|it| !it.on_spec);
        lines.filter(move |it| {
            it.variety == *variety && it.rootstocks.contains(rootstock) && it.size == *size
        })
    }

    fn is_at_risk(&self, line: &Line) -> bool {
        let odds = self.run.summary.orders.get(&line.id);
        odds.is_some_and(|it| it.on_time < line.target - 1e-9)
    }
}

impl Band {
    fn of(quantiles: &Quantiles) -> Self {
        let Quantiles {
            p05,
            p25,
            p50,
            p75,
            p95,
        } = *quantiles;
        Self {
            p05,
            p25,
            p50,
            p75,
            p95,
        }
    }
}
