//! The grower of the demo: names, chance, and what comes of the lots, written into the diary.

use std::collections::BTreeMap;

use jiff::civil::{Date, Weekday};
use nursery::ids::LotName;
use nursery::ledger::Deed;
use nursery::ledger::act::{Count, CutSticks, Lose, LossReason};
use serde_json::{Map, json};

use super::diary::{BUDDERS, Diary, FIELD};
use super::draw::{Draw, monday, plus_days, spread_out};
use super::kinds::{ROOTSTOCKS, Variety, varieties_on};
use super::site::{Growth, Site};
use super::{AS_OF, tables};

/// Buds used for each bud set.
const BUDS_EACH: f64 = 1.2;
/// Buds on a stick.
const BUDS_A_STICK: u32 = 8;
/// Turns through a rootstock's varieties before they come in the same order again.
const TURN: usize = 120;

/// Which counts are written down wrong at first.
const SLIPS: [usize; 2] = [24, 61];

/// A lot that stands, as the grower knows it.
pub struct Standing {
    /// Its name.
    pub name: LotName,
    /// The step it came from.
    pub growth: Growth,
    /// Index of the size, of finished trees.
    pub size: Option<usize>,
    /// Plants.
    pub plants: u32,
    /// Of them ready, once counted.
    pub ready: u32,
    /// The last day on which something was done to it.
    pub touched: Date,
    /// Whether its buds are still wrapped.
    pub is_wrapped: bool,
}

/// Trees that were sent off.
pub struct Sale {
    /// When.
    pub on: Date,
    /// The lot.
    pub lot: LotName,
    /// Variety.
    pub variety: &'static Variety,
    /// Rootstock.
    pub rootstock: &'static str,
    /// Index of the size.
    pub size: usize,
    /// Trees.
    pub plants: u32,
}

/// Buds that are wanted of one tree in one week.
struct Cut {
    tree: String,
    on: Date,
    buds: u32,
}

/// The grower at work.
pub struct Grower<'a> {
    /// What was done.
    pub diary: Diary,
    /// Chance.
    pub draw: Draw,
    /// The site.
    pub site: &'a Site<'a>,
    /// What stands at the end.
    pub standing: Vec<Standing>,
    /// What was sold.
    pub sales: Vec<Sale>,
    /// Seeds sown by year of the batch and rootstock.
    pub sown: BTreeMap<(i16, &'static str), u32>,
    names: BTreeMap<String, usize>,
    counts: usize,
    cuts: BTreeMap<String, Cut>,
    turns: BTreeMap<&'static str, (Vec<&'static Variety>, usize)>,
}

impl<'a> Grower<'a> {
    /// A grower on the first morning.
    pub fn new(mut draw: Draw, site: &'a Site<'a>) -> Self {
        let turns = ROOTSTOCKS.map(|(rootstock, _)| {
            let (varieties, weights): (Vec<_>, Vec<f64>) =
                varieties_on(rootstock).into_iter().unzip();
            let mut turn: Vec<&Variety> = spread_out(0.5, TURN, &weights)
                .into_iter()
                .map(|at| varieties[at])
                .collect();
            draw.shuffle(&mut turn);
            (rootstock, (turn, 0))
        });
        Self {
            diary: Diary::default(),
            draw,
            site,
            standing: Vec::new(),
            sales: Vec::new(),
            sown: BTreeMap::new(),
            names: BTreeMap::new(),
            counts: 0,
            cuts: BTreeMap::new(),
            turns: turns.into(),
        }
    }

    /// The next free name of the kind `B-26-014`.
    pub fn name(&mut self, letter: &str, on: Date) -> LotName {
        let start = format!("{letter}-{:02}-", on.year() % 100);
        let number = self.names.entry(start.clone()).or_insert(0);
        *number += 1;
        format!("{start}{number:03}").into()
    }

    /// A working day from `first` to `last`.
    pub fn workday(&mut self, first: Date, last: Date) -> Date {
        let day = self.draw.day(first, last.max(first));
        working(day)
    }

    /// A working day so many days on.
    pub fn after(&mut self, on: Date, least: i32, most: i32) -> Date {
        self.workday(plus_days(on, least), plus_days(on, most))
    }

    /// Somebody of the field.
    pub fn hand(&mut self) -> &'static str {
        FIELD[self.draw.below(FIELD.len())]
    }

    /// Somebody of the knife.
    pub fn budder(&mut self) -> &'static str {
        BUDDERS[self.draw.below(BUDDERS.len())]
    }

    /// A share of a number of plants, a little more or less.
    pub fn share(&mut self, plants: u32, share: f64, spread: f64) -> u32 {
        let share = (share + spread * self.draw.normal()).clamp(0.0, 1.0);
        (f64::from(plants) * share).round() as u32
    }

    /// The next variety for a rootstock.
    pub fn variety_on(&mut self, rootstock: &str) -> &'static Variety {
        let (turn, at) = self
            .turns
            .get_mut(rootstock)
            .expect("a rootstock of the demo");
        *at += 1;
        turn[(*at - 1) % TURN]
    }

    /// The cut that the buds of some plants come from, and how many buds.
    pub fn buds_for(&mut self, variety: &Variety, on: Date, plants: u32) -> (String, u32) {
        let buds = (f64::from(plants) * BUDS_EACH).ceil() as u32;
        let trees = tables::trees_in_use(variety);
        let week = on.iso_week_date();
        let tree = trees[week.week() as usize % trees.len()].clone();
        let name = format!(
            "K-{:02}{:02}-{}",
            week.year() % 100,
            week.week(),
            tree.trim_start_matches("M-")
        );
        let cut = self
            .cuts
            .entry(name.clone())
            .or_insert(Cut { tree, on, buds: 0 });
        cut.on = cut.on.min(on);
        cut.buds += buds;
        (name, buds)
    }

    /// Writes down the cuts once all budding is known.
    pub fn cut_sticks(&mut self) {
        for (name, cut) in std::mem::take(&mut self.cuts) {
            let sticks = cut.buds.div_ceil(BUDS_A_STICK);
            let by = self.hand();
            let deed = Deed::CutSticks(CutSticks {
                mother_tree: cut.tree.into(),
                cut: name,
                sticks,
                buds: sticks * BUDS_A_STICK,
            });
            self.diary.write_first(cut.on, by, deed);
        }
    }

    /// Counts a lot: some are missing that nobody saw go.
    pub fn count(&mut self, lot: &mut Standing, on: Date) {
        let missing = self.share(lot.plants, 0.004, 0.004);
        let by = self.hand();
        let share = if lot.growth.step.starts_with("bud_") {
            1.0
        } else {
            self.site.share_ready(&mut self.draw, &lot.growth, on)
        };
        let plants = lot.plants - missing;
        let ready = (f64::from(plants) * share).round() as u32;
        self.counts += 1;
        let is_slip = SLIPS.contains(&self.counts);
        let deed = Deed::Count(Count {
            lot: lot.name.clone(),
            plants: if is_slip { plants + 100 } else { plants },
            ready: Some(ready),
        });
        let Some(page) = self.diary.write(on, by, deed) else {
            return;
        };
        if is_slip {
            let right = Map::from_iter([("plants".to_owned(), json!(plants))]);
            let seen = working(plus_days(on, 1));
            self.diary
                .correct(seen, page, right, "a hundred too many written down");
        }
        (lot.plants, lot.ready, lot.touched) = (plants, ready, on);
    }

    /// Loses about a share of a lot on a day.
    pub fn lose(&mut self, lot: &mut Standing, on: Date, share: f64) {
        let plants = self.share(lot.plants, share, share / 3.0).max(1);
        if plants >= lot.plants || on >= AS_OF {
            return;
        }
        let reason = match (on.month(), self.draw.below(4)) {
            (1 | 2 | 12, 0..=1) if lot.growth.place != "house-1" => LossReason::Frost,
            (6..=8, 0..=1) => LossReason::Drought,
            (_, 2) => LossReason::Injury,
            _ => LossReason::Disease,
        };
        self.lose_for(lot, on, plants, reason);
    }

    /// Loses plants for a reason.
    pub fn lose_for(&mut self, lot: &mut Standing, on: Date, plants: u32, reason: LossReason) {
        let by = self.hand();
        let deed = Deed::Lose(Lose {
            lot: lot.name.clone(),
            plants,
            reason,
            note: None,
        });
        if self.diary.write(on, by, deed).is_some() {
            lot.plants -= plants;
            lot.touched = lot.touched.max(on);
        }
    }

    /// Lets a lot stand to the end.
    pub fn keep(&mut self, lot: Standing) {
        if lot.plants > 0 {
            self.standing.push(lot);
        }
    }

    /// Counts all that stands in the last weeks before the demo's day.
    pub fn stocktake(&mut self) {
        let mut lots = std::mem::take(&mut self.standing);
        for lot in &mut lots {
            let (first, last) = (plus_days(AS_OF, -14), plus_days(AS_OF, -2));
            let on = self.workday(first, last).max(lot.touched);
            if lot.is_wrapped {
                continue;
            }
            self.count(lot, on);
        }
        self.standing = lots;
    }
}

/// The day itself, or the Monday after a Sunday.
pub fn working(day: Date) -> Date {
    match day.weekday() {
        Weekday::Sunday => plus_days(monday(day), 7),
        _ => day,
    }
}
