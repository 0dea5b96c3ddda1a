//! Seed, buds and liners: what there is by week, and what can be bought.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use nursery::Nursery;
use nursery::ids::{RootstockName, VarietyName};
use nursery::records::{MotherTree, Price, PriceOf, SeedBatch, TestResult};

use crate::calendar::Calendar;
use crate::model::{Bought, Supply, SupplyBatch};

/// Money of the cases is in hundreds of the minor unit (euros, dollars), which keeps a solver's
/// numbers near 1.
pub const MONEY: f64 = 0.01;

/// What a limited supply is of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum SupplyKey {
    /// Seed of a rootstock.
    Seed(RootstockName),
    /// Buds of a variety.
    Buds(VarietyName),
    /// Bought liners of a rootstock.
    Liners(RootstockName),
}

impl SupplyKey {
    /// The name steps give the supply, and the key for a plant of rootstock and variety; `None`
    /// for a material.
    pub fn of_need(
        supply: &str,
        rootstock: &RootstockName,
        variety: Option<&VarietyName>,
    ) -> Option<Self> {
        match supply {
            "seed" => Some(Self::Seed(rootstock.clone())),
            "bud" => variety.cloned().map(Self::Buds),
            "liner" => Some(Self::Liners(rootstock.clone())),
            _ => None,
        }
    }

    /// The supply's name in cases.
    pub fn id(&self) -> String {
        match self {
            Self::Seed(rootstock) => format!("seed of {rootstock}"),
            Self::Buds(variety) => format!("buds of {variety}"),
            Self::Liners(rootstock) => format!("liners of {rootstock}"),
        }
    }

    fn price<'a>(&self, prices: &'a [Price]) -> Option<&'a Price> {
        prices.iter().find(|price| match self {
            Self::Seed(rootstock) => {
                price.of == PriceOf::Seed && price.rootstock.as_ref() == Some(rootstock)
            }
            Self::Buds(variety) => {
                price.of == PriceOf::Bud && price.variety.as_ref() == Some(variety)
            }
            Self::Liners(rootstock) => {
                price.of == PriceOf::Liner && price.rootstock.as_ref() == Some(rootstock)
            }
        })
    }
}

/// The supplies asked for, in the order of their keys.
pub fn supplies(
    nursery: &Nursery,
    calendar: Calendar,
    weeks: usize,
    asked: &BTreeSet<SupplyKey>,
    warnings: &mut Vec<String>,
) -> Vec<(SupplyKey, Supply)> {
    let cuts = cuts(nursery, calendar, weeks, warnings);
    asked
        .iter()
        .map(|key| {
            let batches = match key {
                SupplyKey::Seed(rootstock) => seed_batches(nursery, calendar, weeks, rootstock),
                SupplyKey::Buds(variety) => cuts.get(variety).cloned().unwrap_or_default(),
                SupplyKey::Liners(_) => Vec::new(),
            };
            let supply = Supply {
                id: key.id(),
                batches,
                bought: key.price(&nursery.prices).and_then(bought),
            };
            (key.clone(), supply)
        })
        .collect()
}

/// What a row of prices sells: nothing without a limit or with one of 0.
fn bought(price: &Price) -> Option<Bought> {
    let limit_per_week = price.limit_per_week.filter(|limit| *limit > 0)?;
    Some(Bought {
        price: price.price * MONEY,
        limit_per_week: f64::from(limit_per_week),
    })
}

/// Price of a material, money; `None` where nobody gave one.
pub fn material_price(nursery: &Nursery, name: &str) -> Option<f64> {
    nursery
        .prices
        .iter()
        .find(|price| price.of == PriceOf::Material && price.item.as_deref() == Some(name))
        .map(|price| price.price * MONEY)
}

/// Seed batches of a rootstock. A batch that comes up better or worse than the rootstock's usual
/// counts as so many usual seeds.
fn seed_batches(
    nursery: &Nursery,
    calendar: Calendar,
    weeks: usize,
    rootstock: &RootstockName,
) -> Vec<SupplyBatch> {
    let usual = nursery
        .catalogue
        .rootstocks
        .get(rootstock)
        .map_or(1.0, |row| row.germination);
    let worth = |batch: &SeedBatch| match batch.germination {
        Some(germination) if usual > 0.0 => germination / usual,
        _ => 1.0,
    };
    nursery
        .seed
        .iter()
        .filter(|batch| batch.rootstock == *rootstock)
        .map(|batch| SupplyBatch {
            source: batch.batch.clone(),
            from: calendar.week_of(batch.available),
            until: calendar.week_of(batch.use_by),
            amount: f64::from(batch.seeds) * worth(batch),
        })
        .filter(|batch| batch.until >= 0 && batch.from < weeks as i64 && batch.amount > 0.0)
        .collect()
}

/// Cuts of budsticks by variety: each mother tree's buds of a year spread evenly over its cutting
/// seasons, to be used in the season and as long as sticks keep. Of a season that runs on the day
/// one looks ahead from, the days that are left count; what was cut before is not known.
///
/// A tree whose test is clean and valid today counts for the whole plan, on the word that it is
/// tested again in time (a warning says when); any other tree gives no buds.
fn cuts(
    nursery: &Nursery,
    calendar: Calendar,
    weeks: usize,
    warnings: &mut Vec<String>,
) -> BTreeMap<VarietyName, Vec<SupplyBatch>> {
    let mut cuts: BTreeMap<VarietyName, Vec<SupplyBatch>> = BTreeMap::new();
    warnings.extend(retests(nursery, calendar, weeks));
    for tree in &nursery.mother_trees {
        if !usable(nursery, tree, warnings) {
            continue;
        }
        let amount = f64::from(tree.buds_per_year) / tree.cut_seasons.len().max(1) as f64;
        for season in &tree.cut_seasons {
            for (from, last) in seasons(*season, calendar, weeks) {
                let until =
                    calendar.week_of(last) + i64::from(nursery.settings.planning.store_weeks);
                let amount = amount * share_left(from, last, nursery.as_of);
                if until < 0 || amount <= 0.0 {
                    continue;
                }
                let from = calendar.week_of(from.max(nursery.as_of));
                cuts.entry(tree.variety.clone())
                    .or_default()
                    .push(SupplyBatch {
                        source: format!("{}, cut from {}", tree.mother_tree, calendar.iso(from)),
                        from,
                        until,
                        amount,
                    });
            }
        }
    }
    cuts
}

fn usable(nursery: &Nursery, tree: &MotherTree, warnings: &mut Vec<String>) -> bool {
    let name = &tree.mother_tree;
    match (tree.result, tree.usable_until()) {
        (TestResult::Found, _) => {
            warnings.push(format!(
                "No buds from {name}: its last test found something."
            ));
        }
        (TestResult::Untested, _) | (_, None) => {
            warnings.push(format!(
                "No buds from {name}: it is not tested. Test it first."
            ));
        }
        (TestResult::Clean, Some(until)) if until < nursery.as_of => {
            warnings.push(format!(
                "No buds from {name}: its test lapsed on {until}. Test it again."
            ));
        }
        (TestResult::Clean, Some(_)) => return true,
    }
    false
}

/// One sentence for all tests that lapse within the plan, the soonest named.
fn retests(nursery: &Nursery, calendar: Calendar, weeks: usize) -> Option<String> {
    const NAMED: usize = 5;
    let mut lapsing: Vec<(Date, &MotherTree)> = nursery
        .mother_trees
        .iter()
        .filter_map(|tree| Some((tree.usable_until()?, tree)))
        .filter(|(until, _)| *until >= nursery.as_of && calendar.week_of(*until) < weeks as i64)
        .collect();
    lapsing.sort_by_key(|(until, tree)| (*until, &tree.mother_tree));
    let named: Vec<String> = lapsing
        .iter()
        .take(NAMED)
        .map(|(until, tree)| format!("{} before {until}", tree.mother_tree))
        .collect();
    let more = match lapsing.len().checked_sub(NAMED) {
        None | Some(0) => String::new(),
        Some(more) => format!(" and {more} more later"),
    };
    (!named.is_empty()).then(|| {
        format!(
            "The plan counts on buds of mother trees whose tests lapse; test again: {}{more}.",
            named.join(", ")
        )
    })
}

/// Share of a season's days that lies on a day or after it.
fn share_left(from: Date, last: Date, as_of: Date) -> f64 {
    let days = |from: Date| from.until(last).map_or(0, |span| span.get_days() + 1);
    let left = days(from.max(as_of)).max(0);
    f64::from(left) / f64::from(days(from).max(1))
}

/// First and last day of a season in every year of the plan.
fn seasons(
    span: nursery::season_days::YearSpan,
    calendar: Calendar,
    weeks: usize,
) -> Vec<(Date, Date)> {
    let first_year = calendar.monday(0).year() - 1;
    let last_year = calendar.monday(weeks as i64).year();
    (first_year..=last_year)
        .filter_map(|year| {
            let from = span.from.in_year(year)?;
            let over_new_year = span.until < span.from;
            let until = span
                .until
                .in_year(if over_new_year { year + 1 } else { year })?;
            (calendar.week_of(from) < weeks as i64).then_some((from, until))
        })
        .collect()
}
