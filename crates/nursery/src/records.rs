//! The nursery's own rows: places, crews, lots, orders, mother trees, seed, prices, demand.

use std::ops::RangeInclusive;

use jiff::civil::{Date, ISOWeekDate};
use serde::{Deserialize, Serialize};

use crate::catalogue::{PlaceKind, StageKind};
use crate::ids::{
    CrewName, LotName, MotherTreeName, PlaceName, RootstockName, SizeName, StepName, VarietyName,
};
use crate::season_days::YearSpan;

/// Where plants stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its name.
    pub place: PlaceName,
    /// Its kind.
    pub kind: PlaceKind,
    /// Area for plants, m².
    pub area_m2: f64,
    /// How much warmer than the weather station, °C.
    pub warmer_c: f64,
    /// Kept no colder than this, °C.
    pub set_point_c: Option<f64>,
    /// Vented so that it is no warmer than this, °C, unless it is outside.
    pub vent_c: Option<f64>,
    /// Penalty for area over the limit, minor units a m² and week.
    pub excess_cost: i64,
}

/// A crew's hours in a part of the year.
#[derive(Debug, Clone, PartialEq)]
pub struct CrewHours {
    /// The crew.
    pub crew: CrewName,
    /// Part of every year; none means all of it.
    pub span: Option<YearSpan>,
    /// Hours a week.
    pub hours_per_week: f64,
    /// Wage, minor units an hour.
    pub wage: i64,
    /// Hours a week that can be hired on top.
    pub hired_hours_per_week: f64,
    /// Cost of a hired hour, minor units.
    pub hired_cost: i64,
    /// Crews whose work it may do.
    pub may_do: Vec<CrewName>,
}

/// A lot as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Its name.
    pub lot: LotName,
    /// Kind of plant.
    pub stage: StageKind,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Variety, once budded.
    pub variety: Option<VarietyName>,
    /// Size, of finished trees.
    pub size: Option<SizeName>,
    /// Where it stands.
    pub place: PlaceName,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready for the next step or for sale.
    pub ready: u32,
    /// Day it entered the stage.
    pub entered: Date,
    /// Day it was budded.
    pub budded_on: Option<Date>,
    /// The step or stand it came from, where the stage alone does not tell.
    pub step: Option<StepName>,
    /// Seed batch, mother tree or seller.
    pub source: Option<String>,
    /// Health class of the mother trees its buds came from; none where they differ or one has none.
    pub health_class: Option<String>,
    /// Samples of it that were looked at since it entered its step, by day.
    pub looks: Vec<Look>,
    /// Counts since it entered its step, by day, as long as nothing but losses left it.
    pub counts: Vec<CountOfLot>,
    /// What it shares its luck with.
    pub luck: LotLuck,
}

/// A sample of a lot that was looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// The day.
    pub on: Date,
    /// Plants looked at.
    pub looked_at: u32,
    /// How many of them were fit for the next step, where told or plain from their calipers.
    pub fit: Option<u32>,
    /// Their calipers, mm, where measured.
    pub calipers_mm: Vec<f64>,
    /// Caliper from which a plant is fit, mm.
    pub fit_from_mm: Option<f64>,
}

/// A count of a lot from which nothing but losses has gone since it entered its step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountOfLot {
    /// The day.
    pub on: Date,
    /// Plants that stood.
    pub plants: u32,
    /// How many of them were ready, where told.
    pub ready: Option<u32>,
    /// Plants that entered the step.
    pub entered: u32,
}

/// Names of what a lot shares its luck with: other lots of the same name do well or badly with it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LotLuck {
    /// Batch of the seed that its rootstock grew from.
    pub seed_batch: Option<String>,
    /// Cuts of budsticks, or mother trees, that its buds came from.
    pub cuts: Vec<String>,
    /// Who set its buds.
    pub budder: Option<String>,
}

/// What a customer takes in place of a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Substitute {
    /// Variety.
    pub variety: VarietyName,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Size.
    pub size: SizeName,
    /// Price a plant, minor units.
    pub price: i64,
}

/// One line of an order.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderLine {
    /// The order.
    pub order: String,
    /// The line within the order.
    pub line: String,
    /// The customer.
    pub customer: String,
    /// Variety.
    pub variety: VarietyName,
    /// Rootstocks the customer accepts, best first.
    pub rootstocks: Vec<RootstockName>,
    /// Size.
    pub size: SizeName,
    /// Plants.
    pub plants: u32,
    /// First day it may ship.
    pub earliest: Date,
    /// Day it is due.
    pub due: Date,
    /// Last day it may ship.
    pub latest: Date,
    /// Price a plant, minor units.
    pub price: i64,
    /// Whether it is under contract.
    pub contract: bool,
    /// Share of its plants it may fall short and still be complete; where a part was sent off, the slack of what
    /// was ordered as a share of what is open.
    pub tolerance: f64,
    /// Paid down for it, minor units.
    pub deposit: i64,
    /// Odds that the customer cancels it before it is due, as a share.
    pub cancel: f64,
    /// Plants from which on a part of it is sent off; its last rest may be fewer.
    pub minimum_load: u32,
    /// Odds of being on time to aim at, as a share, where set by hand.
    pub target: Option<f64>,
    /// Grade its trees must make.
    pub grade: Option<String>,
    /// Health class its trees must have.
    pub health_class: Option<String>,
    /// What the customer takes in its place.
    pub substitutes: Vec<Substitute>,
    /// Plants promised last, less those sent off since it was ordered; none where the line was changed since so
    /// that it is another one.
    pub promised: Option<u32>,
    /// Plants of lots that are tagged for it.
    pub tags: Vec<(LotName, u32)>,
}

impl OrderLine {
    /// Order and line as one name.
    pub fn name(&self) -> String {
        format!("{}/{}", self.order, self.line)
    }
}

/// Odds of being on time that can be aimed at, %: nothing is certain, and no line is given up.
pub const TARGET_PERCENT: RangeInclusive<f64> = 1.0..=99.0;

/// Outcome of a mother tree's last test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TestResult {
    /// Nothing found.
    Clean,
    /// Something found: no buds may be cut.
    Found,
    /// Never tested.
    Untested,
}

impl TestResult {
    /// The words and the results.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("clean", Self::Clean),
        ("found", Self::Found),
        ("untested", Self::Untested),
    ];
}

/// A mother tree: a budwood source tree.
#[derive(Debug, Clone, PartialEq)]
pub struct MotherTree {
    /// Its name.
    pub mother_tree: MotherTreeName,
    /// Its variety.
    pub variety: VarietyName,
    /// Buds that can be cut in a year.
    pub buds_per_year: u32,
    /// Seasons in which budsticks are cut.
    pub cut_seasons: Vec<YearSpan>,
    /// Day of the last test.
    pub tested_on: Option<Date>,
    /// What it showed.
    pub result: TestResult,
    /// Months until the test lapses.
    pub valid_months: u32,
    /// Class of health it is kept in.
    pub health_class: Option<String>,
    /// The day it was planted; none: it gives its full number of buds.
    pub planted: Option<Date>,
    /// Share of the buds of a thrifty tree that it gives.
    pub vigour: f64,
    /// Weeks until it can be cut again in the same season; none: it is cut once.
    pub recovery_weeks: Option<u32>,
}

impl MotherTree {
    /// Buds that can be cut in the year of a day: in full from an age on, before it in proportion to its age.
    pub fn buds_in_year(&self, day: Date, full_after_years: f64) -> f64 {
        let age = |planted: Date| f64::from(days_between(planted, day).max(0)) / 365.25;
        let grown = self.planted.map_or(1.0, |planted| {
            age(planted) / full_after_years.max(f64::MIN_POSITIVE)
        });
        f64::from(self.buds_per_year) * self.vigour * grown.min(1.0)
    }

    /// Last day on which buds may be cut on the strength of the last test; `None` if on none.
    pub fn usable_until(&self) -> Option<Date> {
        if self.result != TestResult::Clean {
            return None;
        }
        let months = jiff::Span::new().try_months(self.valid_months).ok()?;
        self.tested_on?.checked_add(months).ok()
    }
}

fn days_between(from: Date, until: Date) -> i32 {
    from.until(until).map_or(0, |span| span.get_days())
}

/// What the books of a nursery tell of its budwood; a folder of tables tells nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Budwood {
    /// Every cut of budsticks; none where nobody keeps books of them.
    pub cuts: Option<Vec<CutSticks>>,
    /// Buds used and stocks budded.
    pub used: BudsUsed,
}

/// Budsticks that were cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutSticks {
    /// The cut's name.
    pub cut: String,
    /// The mother tree.
    pub mother_tree: MotherTreeName,
    /// Its variety.
    pub variety: VarietyName,
    /// The day it was cut.
    pub cut_on: Date,
    /// Buds that were cut.
    pub buds: u32,
    /// Buds that are left.
    pub left: u32,
}

/// Buds used on stocks, in own buddings of which both were written down.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct BudsUsed {
    /// Buds.
    pub buds: u32,
    /// Stocks.
    pub stocks: u32,
}

impl BudsUsed {
    /// Fewer stocks tell nothing; own rule.
    const ENOUGH: u32 = 200;

    /// Buds used for each stock; none where too few were budded to tell.
    pub fn each(&self) -> Option<f64> {
        (self.stocks >= Self::ENOUGH).then(|| f64::from(self.buds) / f64::from(self.stocks))
    }
}

/// A batch of seed.
#[derive(Debug, Clone, PartialEq)]
pub struct SeedBatch {
    /// Its name.
    pub batch: String,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Seeds.
    pub seeds: u32,
    /// First day it can be sown.
    pub available: Date,
    /// Last day it can be sown.
    pub use_by: Date,
    /// Share that comes up, where tested.
    pub germination: Option<f64>,
    /// Where it comes from.
    pub source: Option<String>,
    /// Share of what would come up that a month in storage takes; none: as the settings say.
    pub decline_a_month: Option<f64>,
}

/// What a price is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PriceOf {
    /// A tree sold.
    Tree,
    /// A seed bought.
    Seed,
    /// A bud bought.
    Bud,
    /// A liner bought.
    Liner,
    /// A material bought, by the name steps give it.
    Material,
    /// What a tree budded of a licensed variety owes.
    Royalty,
}

impl PriceOf {
    /// The words and the things.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("tree", Self::Tree),
        ("seed", Self::Seed),
        ("bud", Self::Bud),
        ("liner", Self::Liner),
        ("material", Self::Material),
        ("royalty", Self::Royalty),
    ];
}

/// One price.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// What for.
    pub of: PriceOf,
    /// Name of a material.
    pub item: Option<String>,
    /// Variety, of trees and buds.
    pub variety: Option<VarietyName>,
    /// Rootstock, of trees, seed and liners.
    pub rootstock: Option<RootstockName>,
    /// Size, of trees.
    pub size: Option<SizeName>,
    /// Price of one, minor units (a tenth of a cent matters for seed).
    pub price: f64,
    /// How many can be bought a week; none: not limited for materials, nothing for the rest.
    pub limit_per_week: Option<u32>,
    /// Weeks from the order to the delivery.
    pub lead_weeks: u32,
    /// The days of the year in which it is delivered; none: all.
    pub delivered: Option<YearSpan>,
    /// Of royalties: how many trees may be budded in a calendar year; none: not limited.
    pub limit_per_year: Option<u32>,
    /// Of royalties: the last day on which the license lets one bud; none: it does not end.
    pub until: Option<Date>,
}

/// The listed price of a tree, minor units: of its rootstock where there is one, else of the variety on any.
pub fn tree_price(
    prices: &[Price],
    variety: &VarietyName,
    rootstock: &RootstockName,
    size: &SizeName,
) -> Option<f64> {
    let fits = |price: &&Price, rootstock: Option<&RootstockName>| {
        price.of == PriceOf::Tree
            && price.variety.as_ref() == Some(variety)
            && price.size.as_ref() == Some(size)
            && price.rootstock.as_ref() == rootstock
    };
    let mut of_rootstock = prices.iter().filter(|price| fits(price, Some(rootstock)));
    let of_any = || prices.iter().find(|price| fits(price, None));
    of_rootstock.next().or_else(of_any).map(|price| price.price)
}

/// Demand expected without an order.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Variety.
    pub variety: VarietyName,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Size.
    pub size: SizeName,
    /// The week.
    pub week: ISOWeekDate,
    /// Mean number of trees.
    pub mean: f64,
    /// Standard deviation.
    pub spread: f64,
}

/// How many of the finished trees of a size make a grade.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeShare {
    /// The grade.
    pub grade: String,
    /// The size.
    pub size: SizeName,
    /// Share of the trees that make it.
    pub share: f64,
    /// Where the number is from.
    pub source: Option<String>,
}

/// Soils by texture, as handbooks of irrigation tell them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Soil {
    /// Sand.
    Sand,
    /// Loamy sand.
    LoamySand,
    /// Sandy loam.
    SandyLoam,
    /// Loam.
    Loam,
    /// Silt loam.
    SiltLoam,
    /// Silt.
    Silt,
    /// Silty clay loam.
    SiltyClayLoam,
    /// Silty clay.
    SiltyClay,
    /// Clay.
    Clay,
}

impl Soil {
    /// The words and the soils.
    pub const CHOICES: &'static [(&'static str, Self)] = &[
        ("sand", Self::Sand),
        ("loamy sand", Self::LoamySand),
        ("sandy loam", Self::SandyLoam),
        ("loam", Self::Loam),
        ("silt loam", Self::SiltLoam),
        ("silt", Self::Silt),
        ("silty clay loam", Self::SiltyClayLoam),
        ("silty clay", Self::SiltyClay),
        ("clay", Self::Clay),
    ];
}

/// How a place holds and gets its water, where the nursery says so; shares from 0 to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Watering {
    /// The place.
    pub place: PlaceName,
    /// Soil of rows and beds.
    pub soil: Option<Soil>,
    /// Depth of the roots, m.
    pub root_depth_m: Option<f64>,
    /// Volume of a pot, l.
    pub pot_l: Option<f64>,
    /// Water that plants can draw from the substrate, of its volume.
    pub holds: Option<f64>,
    /// Share of that water that may go before the next watering.
    pub used: Option<f64>,
    /// Share of the ground, where plants stand, that their leaves shade.
    pub cover: Option<f64>,
    /// Use of water under cover, of that in the open.
    pub sun: Option<f64>,
    /// Share of the rain that falls on it.
    pub rain: Option<f64>,
    /// What its sprinklers put on, mm/h over the ground.
    pub rate_mm_h: Option<f64>,
    /// What a plant's emitter gives, l/h.
    pub emitter_l_h: Option<f64>,
    /// Share of the water given that reaches the roots.
    pub reaches: Option<f64>,
    /// How much warmer a cover or sprinklers keep its plants in a frost, °C.
    pub shelter_c: f64,
}

/// A place was watered.
#[derive(Debug, Clone, PartialEq)]
pub struct Watered {
    /// The place.
    pub place: PlaceName,
    /// The day.
    pub date: Date,
    /// How much reached the roots, mm; none: all they can hold.
    pub mm: Option<f64>,
}

/// What the thermometer showed on an evening, and the lowest in the night after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Night {
    /// The evening's date.
    pub date: Date,
    /// Air two hours after sunset, °C.
    pub evening_c: f64,
    /// Its dew point, °C.
    pub dew_point_c: Option<f64>,
    /// The lowest until the morning, °C.
    pub low_c: Option<f64>,
    /// Whether it stayed clear and still.
    pub clear: bool,
}

/// What the knife said of the bark.
#[derive(Debug, Clone, PartialEq)]
pub struct BarkNote {
    /// The day.
    pub date: Date,
    /// The rootstock.
    pub rootstock: RootstockName,
    /// Where it stands.
    pub place: PlaceName,
    /// Whether bark slipped.
    pub slips: bool,
}

impl BarkNote {
    /// The words, and whether bark slipped.
    pub const CHOICES: &'static [(&'static str, bool)] = &[("slips", true), ("tight", false)];
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::{MotherTree, TestResult};

    fn tree(tested_on: Option<Date>, result: TestResult, valid_months: u32) -> MotherTree {
        MotherTree {
            mother_tree: "M-07".into(),
            variety: "valencia".into(),
            buds_per_year: 900,
            cut_seasons: Vec::new(),
            tested_on,
            result,
            valid_months,
            health_class: None,
            planted: None,
            vigour: 1.0,
            recovery_weeks: None,
        }
    }

    #[test]
    fn buds_may_be_cut_until_a_clean_test_lapses() {
        let tested = Some(date(2027, 1, 31));
        let until = |result, months| tree(tested, result, months).usable_until();
        assert_eq!(until(TestResult::Clean, 12), Some(date(2028, 1, 31)));
        assert_eq!(until(TestResult::Clean, 1), Some(date(2027, 2, 28)));
        assert_eq!(until(TestResult::Clean, 0), tested);
        assert_eq!(until(TestResult::Found, 12), None);
        assert_eq!(until(TestResult::Untested, 12), None);
        assert_eq!(until(TestResult::Clean, u32::MAX), None);
        assert_eq!(tree(None, TestResult::Clean, 12).usable_until(), None);
    }
}
