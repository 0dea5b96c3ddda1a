//! The simulator: a day's acts, and the truth about plants.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::{Date, date};
use serde_json::Value;

use crate::budwood::Budwood;
use crate::chance::Chance;
use crate::ground::{At, Day as DayNumber, Ground, Lot, LotId, Origin, Stage};
use crate::ids::Ids;
use crate::opening::Batch;
use crate::post::Post;
use crate::sales::Sales;

/// An act arrives, and is corrected, at most so many days after its field date.
pub const FINAL_AFTER_DAYS: i32 = 20;

/// What is simulated.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// The day the books are opened.
    pub start: Date,
    /// Days of work.
    pub days: u32,
    /// Seed of all chance.
    pub seed: u64,
    /// Size of the nursery: at 1, two years give about 50,000 acts.
    pub scale: f64,
}

impl Default for Settings {
    /// Two years at full scale.
    fn default() -> Self {
        Self {
            start: date(2027, 1, 4),
            days: 730,
            seed: 1,
            scale: 1.0,
        }
    }
}

/// What the ledger must answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Expect {
    /// Done.
    Done,
    /// The same as before: the act was sent already.
    Same,
    /// Refused.
    Refused,
}

/// An act as it reaches the ledger.
#[derive(Clone, Debug, PartialEq)]
pub struct Sent {
    /// The act.
    pub act: Value,
    /// What must be answered.
    pub expect: Expect,
}

/// What reaches the ledger on a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// The day of arrival.
    pub date: Date,
    /// The acts in order of arrival.
    pub acts: Vec<Sent>,
}

/// One tree that was shipped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShippedTree {
    /// Order.
    pub order: String,
    /// Line of the order.
    pub line: String,
    /// Customer.
    pub customer: String,
    /// Lot it was taken from.
    pub lot: String,
    /// Day it was shipped.
    pub on: Date,
    /// Mother tree of its bud, or the named source.
    pub scion: Origin,
    /// Seed batch of its rootstock, or the named source.
    pub stock: Origin,
    /// The lot held trees of several origins: the ledger can only name all of them
    /// ([`Simulator::origins`]).
    pub mixed: bool,
}

/// Where the trees of a lot may come from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origins {
    /// Origins of their scions; none before budding.
    pub scions: BTreeSet<Origin>,
    /// Origins of their rootstocks.
    pub stocks: BTreeSet<Origin>,
}

/// All that is downstream of a mother tree.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Recall {
    /// Lots that ever held its material, were made of such a lot or budded from one; empty ones too.
    /// Missed stocks of its buddings, and what was budded on them later, belong to them.
    pub lots: BTreeSet<String>,
    /// Those of `lots` with plants in the books today.
    pub standing: BTreeSet<String>,
    /// Order lines to which trees of `lots` were shipped, as order and line.
    pub lines: BTreeSet<(String, String)>,
    /// Customers of `lines`.
    pub customers: BTreeSet<String>,
}

/// A nursery at work.
#[derive(Clone, Debug)]
pub struct Simulator {
    pub(crate) settings: Settings,
    pub(crate) today: DayNumber,
    pub(crate) chance: Chance,
    pub(crate) ids: Ids,
    pub(crate) ground: Ground,
    pub(crate) post: Post,
    pub(crate) batches: Vec<Batch>,
    pub(crate) budwood: Budwood,
    pub(crate) sales: Sales,
    /// Held lots with the day of their release.
    pub(crate) holds: Vec<(LotId, DayNumber)>,
}

impl Simulator {
    /// A nursery before its first day.
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            today: 0,
            chance: Chance::new(settings.seed),
            ids: Ids::new(settings.seed),
            ground: Ground::default(),
            post: Post::default(),
            batches: Vec::new(),
            budwood: Budwood::default(),
            sales: Sales::default(),
            holds: Vec::new(),
        }
    }

    /// The acts that arrive on the next day, or nothing once all have arrived.
    pub fn next_day(&mut self) -> Option<Day> {
        let at_work = self.today < self.days_of_work();
        if !at_work && self.post.is_empty() {
            return None;
        }
        let mut acts = self.post.arrived(self.today);
        if self.today == 0 {
            self.open_books();
        } else if at_work {
            self.work();
        }
        acts.extend(self.post.written());
        let date = self.date(self.today);
        self.today += 1;
        Some(Day { date, acts })
    }

    fn work(&mut self) {
        self.ground.tidy();
        self.let_die();
        self.release();
        self.test_mother_trees();
        self.take_slips();
        self.tend();
        self.sow();
        self.buy_in();
        self.bud();
        self.merge();
        self.sell();
        self.hold();
        self.keep_hours();
    }

    /// What an exact bookkeeper has at the end of a day: the stage and the plants of every lot that
    /// is not empty. Plants that died unseen are among them until they are found.
    ///
    /// It is final once the acts of [`FINAL_AFTER_DAYS`] days more have arrived.
    pub fn standing(&self, on: Date) -> BTreeMap<String, (Stage, u64)> {
        self.ground.standing(self.day_number(on))
    }

    /// All trees shipped, one by one.
    pub fn shipped(&self) -> Vec<ShippedTree> {
        let plants = self.ground.plants.iter();
        let trees = plants.filter_map(|plant| {
            let Some((_, At::Shipped(shipment))) = plant.stays.last() else {
                return None;
            };
            let shipment = &self.sales.shipments[*shipment];
            let (order, line) = self.sales.names(shipment.line);
            let lot = &self.ground.lots[shipment.lot];
            let scion = plant.scion.as_ref().expect("a shipped tree has a scion");
            Some(ShippedTree {
                order,
                line,
                customer: self.sales.customer(shipment.line).to_owned(),
                lot: lot.name.clone(),
                on: self.date(shipment.on),
                scion: (**scion).clone(),
                stock: (*plant.stock).clone(),
                mixed: lot.is_mixed(),
            })
        });
        trees.collect()
    }

    /// Where the plants of a lot may come from, as far as the records of whole lots can tell; `None`
    /// for an unknown lot.
    pub fn origins(&self, lot: &str) -> Option<Origins> {
        let lot = self.ground.lots.iter().find(|it| it.name == lot)?;
        Some(Origins {
            scions: lot.scions.iter().map(|it| (**it).clone()).collect(),
            stocks: lot.stocks.iter().map(|it| (**it).clone()).collect(),
        })
    }

    /// All that must be found when a mother tree proves to be ill.
    pub fn recall(&self, mother_tree: &str) -> Recall {
        let touched = |lot: &Lot| lot.trees.contains(mother_tree);
        let lots = || self.ground.lots.iter().filter(|lot| touched(lot));
        let shipments = self.sales.shipments.iter();
        let lines: Vec<_> = shipments
            .filter(|shipment| touched(&self.ground.lots[shipment.lot]))
            .map(|shipment| shipment.line)
            .collect();
        let standing = lots().filter(|lot| !lot.plants.is_empty());
        let customers = lines.iter().map(|line| self.sales.customer(*line));
        Recall {
            lots: lots().map(|lot| lot.name.clone()).collect(),
            standing: standing.map(|lot| lot.name.clone()).collect(),
            lines: lines.iter().map(|line| self.sales.names(*line)).collect(),
            customers: customers.map(str::to_owned).collect(),
        }
    }

    /// Names of all mother trees.
    pub fn mother_trees(&self) -> Vec<String> {
        self.budwood.names()
    }

    /// Plants that ever were.
    pub fn plants(&self) -> usize {
        self.ground.plants.len()
    }

    /// Lots that ever were.
    pub fn lots(&self) -> usize {
        self.ground.lots.len()
    }

    pub(crate) fn days_of_work(&self) -> DayNumber {
        self.settings.days as DayNumber
    }

    pub(crate) fn date(&self, day: DayNumber) -> Date {
        self.settings.start + i64::from(day).days()
    }

    fn day_number(&self, date: Date) -> DayNumber {
        (date - self.settings.start).get_days()
    }

    /// How many of something happen, of which there are `mean` at full scale.
    pub(crate) fn scaled(&mut self, mean: f64) -> usize {
        self.chance.about(mean * self.settings.scale)
    }
}
