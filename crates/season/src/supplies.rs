//! Seed, buds and liners: what there is by week, and what can be bought.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::{Date, date};
use nursery::Nursery;
use nursery::ids::{RootstockName, VarietyName};
use nursery::records::{MotherTree, Price, PriceOf, SeedBatch, TestResult};
use nursery::season_days::YearSpan;

use crate::calendar::Calendar;
use crate::model::{Bought, Supply, SupplyBatch};

/// Money of the cases is in hundreds of the minor unit (euros, dollars), which keeps a solver's
/// numbers near 1.
pub const MONEY: f64 = 0.01;

/// Weeks that bought seed keeps, moist and cold: months, not years; from memory.
const SEED_KEEPS_WEEKS: u32 = 39;

/// What a limited supply is of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum SupplyKey {
    /// Seed of a rootstock.
    Seed(RootstockName),
    /// Buds of a variety.
    Buds(VarietyName),
    /// Bought liners of a rootstock.
    Liners(RootstockName),
    /// Trees of a variety that a license lets one bud.
    License(VarietyName),
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
            Self::License(variety) => format!("licensed buddings of {variety}"),
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
            // A license is not bought by the tree.
            Self::License(_) => false,
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
) -> Vec<Supply> {
    let cuts = Cuts::new(nursery, calendar, weeks, warnings);
    warnings.extend(licenses_end(nursery, calendar, weeks));
    asked
        .iter()
        .map(|key| {
            let batches = match key {
                SupplyKey::Seed(rootstock) => seed_batches(nursery, calendar, weeks, rootstock),
                SupplyKey::Buds(variety) => cuts.of(variety),
                SupplyKey::Liners(_) => Vec::new(),
                SupplyKey::License(variety) => licensed(nursery, calendar, weeks, variety),
            };
            let price = key.price(&nursery.prices);
            Supply {
                id: key.id(),
                batches,
                bought: price.and_then(|it| bought(nursery, calendar, weeks, key, it)),
                of: key.clone(),
            }
        })
        .collect()
}

/// What a row of prices sells: nothing without a limit or with one of 0.
fn bought(
    nursery: &Nursery,
    calendar: Calendar,
    weeks: usize,
    key: &SupplyKey,
    price: &Price,
) -> Option<Bought> {
    let limit_per_week = price.limit_per_week.filter(|limit| *limit > 0)?;
    let (keeps_weeks, kept_per_week) = match key {
        SupplyKey::Seed(_) => (SEED_KEEPS_WEEKS, seed_kept(nursery, None)),
        SupplyKey::Buds(_) => (nursery.settings.planning.store_weeks, buds_kept(nursery)),
        SupplyKey::Liners(_) | SupplyKey::License(_) => (0, 1.0),
    };
    let is_delivered = |week: &usize| {
        let day = calendar.thursday(*week as i64);
        let is_in = |span: YearSpan| span.holds(day);
        *week >= price.lead_weeks as usize && price.delivered.is_none_or(is_in)
    };
    let delivered = |week: usize| {
        let stored = week.saturating_sub(keeps_weeks as usize)..=week;
        stored.rev().find(is_delivered)
    };
    Some(Bought {
        price: price.price * MONEY,
        limit_per_week: f64::from(limit_per_week),
        lead_weeks: price.lead_weeks,
        delivered: (0..weeks).map(delivered).collect(),
        kept_per_week,
    })
}

/// The terms under which a variety is budded: its row of royalties.
pub fn license_of<'a>(prices: &'a [Price], variety: &VarietyName) -> Option<&'a Price> {
    let mut rows = prices.iter().filter(|it| it.of == PriceOf::Royalty);
    rows.find(|it| it.variety.as_ref() == Some(variety))
}

/// Trees that a license lets one bud, by calendar year; of the first one, what was budded already and still stands is taken off:
/// lots do not tell how many missed, died or were sold since.
fn licensed(
    nursery: &Nursery,
    calendar: Calendar,
    weeks: usize,
    variety: &VarietyName,
) -> Vec<SupplyBatch> {
    let limit = license_of(&nursery.prices, variety).and_then(|it| it.limit_per_year);
    let Some(limit) = limit else {
        return Vec::new();
    };
    let this_year = nursery.as_of.year();
    let of_year = |budded_on: Date| budded_on.year() == this_year;
    let lots = nursery.lots.iter();
    let budded = lots
        .filter(|it| it.variety.as_ref() == Some(variety) && it.budded_on.is_some_and(of_year))
        .map(|it| it.growing + it.ready)
        .sum();
    (this_year..=calendar.monday(weeks as i64).year())
        .map(|year| {
            let done = if year == this_year { budded } else { 0 };
            // The 28th of December lies in the last week of its year.
            let last_week = |year: i16| calendar.week_of(date(year, 12, 28));
            SupplyBatch::that_keeps(
                format!("license of {year}"),
                (last_week(year - 1) + 1, last_week(year)),
                f64::from(limit.saturating_sub(done)),
            )
        })
        .collect()
}

/// One sentence for each license that ends within the plan.
fn licenses_end(nursery: &Nursery, calendar: Calendar, weeks: usize) -> Vec<String> {
    let royalties = nursery.prices.iter();
    let royalties = royalties.filter(|it| it.of == PriceOf::Royalty);
    let ends = royalties.filter_map(|it| Some((it.variety.as_ref()?, it.until?)));
    ends.filter(|(_, until)| calendar.week_of(*until) < weeks as i64)
        .map(|(variety, until)| {
            let ends = if until < nursery.as_of { "ended" } else { "ends" };
            format!(
                "The license of {variety} {ends} on {until}: the plan buds none of it after that day."
            )
        })
        .collect()
}

/// The share of seed that is still good a week later. A month is a twelfth of a year.
fn seed_kept(nursery: &Nursery, own_decline: Option<f64>) -> f64 {
    let usual = nursery.settings.keeping.seed_decline_percent_a_month / 100.0;
    libm::pow(1.0 - own_decline.unwrap_or(usual), 12.0 * 7.0 / 365.25)
}

/// The share of stored buds that is still good a week later.
fn buds_kept(nursery: &Nursery) -> f64 {
    1.0 - nursery.settings.keeping.stored_buds_lost_percent_a_week / 100.0
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
/// counts as so many usual seeds, and as fewer with every week after it was ready to be sown.
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
        .map(|batch| {
            let from = calendar.week_of(batch.available);
            SupplyBatch {
                source: batch.batch.clone(),
                from,
                until: calendar.week_of(batch.use_by),
                amount: f64::from(batch.seeds) * worth(batch),
                sound_until: from,
                kept_per_week: seed_kept(nursery, batch.decline_a_month),
                tree: None,
            }
        })
        .filter(|batch| batch.until >= 0 && batch.from < weeks as i64 && batch.amount > 0.0)
        .collect()
}

/// Where buds come from.
///
/// A tree gives as many buds a year as its row says, fewer while it is young or where it is not thrifty,
/// spread evenly over its cuts: one in each cutting season, or as many as its recovery lets it have. A cut
/// is used from the day it can be made until the season ends, and then as long as sticks keep, while a part
/// of the stored buds is lost.
///
/// A tree whose test is clean and valid today counts for the whole plan, on the word that it is tested again
/// in time (a warning says when); any other tree gives no buds.
struct Cuts(BTreeMap<VarietyName, Vec<SupplyBatch>>);

impl Cuts {
    fn new(
        nursery: &Nursery,
        calendar: Calendar,
        weeks: usize,
        warnings: &mut Vec<String>,
    ) -> Self {
        let mut cuts = Self(BTreeMap::new());
        warnings.extend(retests(nursery, calendar, weeks));
        for tree in &nursery.mother_trees {
            if !usable(nursery, tree, warnings) {
                continue;
            }
            let of_variety = cuts.0.entry(tree.variety.clone()).or_default();
            of_variety.extend(stored(nursery, calendar, tree));
            for season in &tree.cut_seasons {
                for (from, last) in seasons(*season, calendar, weeks) {
                    of_variety.extend(of_season(nursery, calendar, tree, (from, last)));
                }
            }
        }
        cuts
    }

    fn of(&self, variety: &VarietyName) -> Vec<SupplyBatch> {
        self.0.get(variety).cloned().unwrap_or_default()
    }
}

/// Buds left of what was cut from a tree already.
fn stored(nursery: &Nursery, calendar: Calendar, tree: &MotherTree) -> Vec<SupplyBatch> {
    let cuts = nursery.budwood.cuts.iter().flatten();
    cuts.filter(|it| it.mother_tree == tree.mother_tree && it.left > 0)
        .map(|it| {
            let from = calendar.week_of(it.cut_on);
            SupplyBatch {
                source: it.cut.clone(),
                from,
                until: from + i64::from(nursery.settings.planning.store_weeks),
                amount: f64::from(it.left),
                sound_until: from,
                kept_per_week: buds_kept(nursery),
                tree: None,
            }
        })
        .filter(|it| it.until >= 0)
        .collect()
}

/// The cuts of a tree in one season. Of a season that runs on the day one looks ahead from, what the books say
/// was cut is taken off, of the first cuts first; where nobody keeps books of cuts, the days that are left count.
fn of_season(
    nursery: &Nursery,
    calendar: Calendar,
    tree: &MotherTree,
    (from, last): (Date, Date),
) -> Vec<SupplyBatch> {
    let in_year: usize = tree
        .cut_seasons
        .iter()
        .map(|it| rounds(tree, span_of(*it)))
        .sum();
    let full_after = nursery.settings.keeping.full_buds_after_years;
    let sound_until = calendar.week_of(last);
    let until = sound_until + i64::from(nursery.settings.planning.store_weeks);
    let mut cut = cut_in(nursery, tree, (from, last));
    let mut found = Vec::new();
    for (opens, closes) in rounds_of(tree, (from, last)) {
        let mut amount = tree.buds_in_year(opens, full_after) / in_year.max(1) as f64;
        match &mut cut {
            Some(cut) => {
                let taken = cut.min(amount);
                (amount, *cut) = (amount - taken, *cut - taken);
            }
            None => amount *= share_left(opens, closes, nursery.as_of),
        }
        let opens = calendar.week_of(opens.max(nursery.as_of));
        if until >= 0 && amount > 0.0 && opens <= sound_until {
            found.push(SupplyBatch {
                source: format!("{}, cut from {}", tree.mother_tree, calendar.iso(opens)),
                from: opens,
                until,
                amount,
                sound_until,
                kept_per_week: buds_kept(nursery),
                tree: Some(tree.mother_tree.clone()),
            });
        }
    }
    found
}

/// Buds that were cut from a tree in a season; none where nobody keeps books of cuts.
fn cut_in(nursery: &Nursery, tree: &MotherTree, (from, last): (Date, Date)) -> Option<f64> {
    let cuts = nursery.budwood.cuts.as_ref()?.iter();
    let of_season =
        cuts.filter(|it| it.mother_tree == tree.mother_tree && (from..=last).contains(&it.cut_on));
    Some(of_season.map(|it| f64::from(it.buds)).sum())
}

/// How often a tree is cut in so many days of a season.
fn rounds(tree: &MotherTree, days: i32) -> usize {
    let recovery = tree.recovery_weeks.map(|weeks| 7 * weeks as usize);
    let days = usize::try_from(days).unwrap_or(0);
    recovery.map_or(1, |recovery| 1 + days.saturating_sub(1) / recovery.max(1))
}

/// The days from which and until which a tree waits to be cut again, for each cut of a season.
fn rounds_of(tree: &MotherTree, (from, last): (Date, Date)) -> Vec<(Date, Date)> {
    let recovery = 7 * i64::from(tree.recovery_weeks.unwrap_or(0));
    let rounds = rounds(tree, days(from, last));
    let opens = |round: usize| from.saturating_add((recovery * round as i64).days());
    (0..rounds)
        .map(|round| {
            let closes = if round + 1 == rounds {
                last
            } else {
                opens(round + 1).yesterday().unwrap_or(last)
            };
            (opens(round), closes)
        })
        .collect()
}

/// Days of a season in a year that is no leap year.
fn span_of(season: YearSpan) -> i32 {
    const YEAR: i16 = 2027;
    let last = if season.until < season.from {
        YEAR + 1
    } else {
        YEAR
    };
    let ends = season.from.in_year(YEAR).zip(season.until.in_year(last));
    ends.map_or(0, |(from, until)| days(from, until))
}

/// Days from one on until another, both counted.
fn days(from: Date, last: Date) -> i32 {
    from.until(last).map_or(0, |span| span.get_days() + 1)
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
    let left = days(from.max(as_of), last).max(0);
    f64::from(left) / f64::from(days(from, last).max(1))
}

/// First and last day of a season in every year of the plan.
fn seasons(span: YearSpan, calendar: Calendar, weeks: usize) -> Vec<(Date, Date)> {
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
