//! What the books tell of lots and lines beyond their rows: samples and counts, shared luck, health,
//! promises and tags; and the counts from which the size of shared luck can be worked out.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::books::{Books, LineBook};
use super::lineage::Node;
use super::lot::{Lot, Origin, When};
use crate::Nursery;
use crate::catalogue::StageKind;
use crate::ids::{LotName, MotherTreeName, PlaceName, RootstockName, StepName};
use crate::records::{BudsUsed, Budwood, CountOfLot, CutSticks, Look, LotLuck, OrderLine};

/// A take count, with what the lot shared its luck with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakeCount {
    /// The lot.
    pub lot: LotName,
    /// Its step, where known.
    pub step: Option<StepName>,
    /// The day.
    pub on: Date,
    /// The cut or mother tree of its buds, where it is one.
    pub cut: Option<String>,
    /// Who set its buds, where it was one.
    pub budder: Option<String>,
    /// The seed batch of its stocks, where it is one.
    pub seed_batch: Option<String>,
    /// Where it stood.
    pub place: PlaceName,
    /// Plants that stood.
    pub plants: u32,
    /// Buds that took.
    pub taken: u32,
}

/// The first count of a lot that was sown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Germination {
    /// The lot.
    pub lot: LotName,
    /// Its seed batch, where known.
    pub seed_batch: Option<String>,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Where it stood.
    pub place: PlaceName,
    /// The day it was sown.
    pub sown_on: Date,
    /// The day of the count.
    pub on: Date,
    /// Seeds.
    pub seeds: u32,
    /// Plants that stood.
    pub plants: u32,
}

/// All that a lot goes back to.
#[derive(Default)]
struct Roots {
    batches: BTreeSet<String>,
    cuts: BTreeSet<String>,
    trees: BTreeSet<MotherTreeName>,
    budders: BTreeSet<String>,
    /// Whether buds came from where nobody knows.
    unknown_buds: bool,
}

/// What of a lot another one has from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Whole,
    Buds,
    Stock,
}

impl Books {
    /// Tells a nursery, read from the books' files of a day, what the books know beyond them. A line of which so
    /// much was sent off that it is within its tolerance asks for nothing more, and is left out.
    pub fn fill_in(&self, nursery: &mut Nursery, day: Date) {
        for row in &mut nursery.lots {
            let Some(lot) = self.lots.get(&row.lot) else {
                continue;
            };
            let roots = self.roots(lot);
            row.health_class = self.class_of(lot, &roots, day);
            row.luck = roots.luck();
            row.looks = looks(lot, day);
            row.counts = self.counts(lot, day);
        }
        nursery.budwood = Budwood {
            cuts: Some(self.cuts_until(day)),
            used: self.buds_used(day),
        };
        nursery.orders.retain_mut(|line| {
            let order = self.orders.get(&line.order);
            let book = order.and_then(|it| it.lines.get(&line.line));
            book.is_none_or(|book| self.fill_in_line(line, book, day))
        });
    }

    /// Cuts of budsticks as of a day. One that is used up tells what its tree gave.
    fn cuts_until(&self, day: Date) -> Vec<CutSticks> {
        let cuts = self.cuts.iter().filter(|(_, cut)| cut.when.on <= day);
        cuts.map(|(name, cut)| {
            let held = self.hold_on(&Node::Cut(name.clone()), day).is_some();
            CutSticks {
                cut: name.clone(),
                mother_tree: cut.of.mother_tree.clone(),
                variety: cut.variety.clone(),
                cut_on: cut.when.on,
                buds: cut.of.buds,
                left: if held { 0 } else { cut.left_on(day) },
            }
        })
        .collect()
    }

    /// Buds used and stocks budded until a day, of buddings of which both were written down.
    fn buds_used(&self, day: Date) -> BudsUsed {
        let set = self.lots.values().filter_map(|lot| lot.budding.as_ref());
        let until = set.filter(|(when, _)| when.on <= day);
        let written = until.filter_map(|(_, it)| Some((it.plants, it.buds?)));
        written.fold(BudsUsed::default(), |sum, (stocks, buds)| BudsUsed {
            buds: sum.buds.saturating_add(buds),
            stocks: sum.stocks.saturating_add(stocks),
        })
    }

    /// Tells a line what its book knows, and whether it still asks for plants.
    fn fill_in_line(&self, line: &mut OrderLine, book: &LineBook, day: Date) -> bool {
        let shipped = book.shipped_until(day);
        let promised = book.promised_on(day);
        line.promised = promised.map(|plants| plants.saturating_sub(shipped));
        let tags = self.tags_for(&line.order, &line.line, day).into_iter();
        line.tags = tags.map(|it| (it.lot, it.plants)).collect();
        let percent = book.on(day).and_then(|it| it.tolerance_percent);
        let Some(percent) = percent.filter(|_| shipped > 0) else {
            return true;
        };
        // The slack is of what was ordered, and the row has only what is open.
        let slack = percent.whole_of(line.plants.saturating_add(shipped));
        line.tolerance = (f64::from(slack) / f64::from(line.plants)).min(1.0);
        slack < line.plants
    }

    /// The class of health of a lot on a day: that of the mother trees its buds came from. None where they
    /// differ, where one has none, and where buds or trees came from elsewhere.
    pub fn health_class(&self, lot: &LotName, day: Date) -> Option<String> {
        let lot = self.lots.get(lot)?;
        self.class_of(lot, &self.roots(lot), day)
    }

    fn class_of(&self, lot: &Lot, roots: &Roots, day: Date) -> Option<String> {
        if lot.variety.is_none() || roots.unknown_buds {
            return None;
        }
        let mut trees = roots.trees.iter();
        let class = |tree| self.mother_tree(tree, day)?.health_class;
        let first = class(trees.next()?)?;
        trees
            .all(|tree| class(tree).as_ref() == Some(&first))
            .then_some(first)
    }

    /// What a lot shares its luck with.
    pub fn luck(&self, lot: &LotName) -> LotLuck {
        let lot = self.lots.get(lot);
        lot.map_or_else(LotLuck::default, |it| self.roots(it).luck())
    }

    /// All take counts, by lot.
    pub fn takes(&self) -> Vec<TakeCount> {
        let counted = self.lots.values().flat_map(|lot| {
            let taken = lot.takes.iter();
            taken.filter_map(move |take| self.take_count(lot, *take))
        });
        counted.collect()
    }

    fn take_count(&self, lot: &Lot, (when, plants, taken): (When, u32, u32)) -> Option<TakeCount> {
        let view = lot.before(when).ok()?;
        let luck = self.roots(lot).luck();
        let cut = match luck.cuts.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        };
        Some(TakeCount {
            lot: lot.lot.clone(),
            step: view.step,
            on: when.on,
            cut,
            budder: luck.budder,
            seed_batch: luck.seed_batch,
            place: view.place,
            plants,
            taken,
        })
    }

    /// The first counts of sown lots that nothing but losses had left before, by lot.
    pub fn germinations(&self) -> Vec<Germination> {
        let sown = self.lots.values().filter_map(|lot| {
            let (began, first) = lot.beginning()?;
            let is_sown = first.stage == StageKind::Seedling && self.is_sown(lot, began);
            let until = self.latest?;
            let counts = lot.counts_since_entry(until, |when| self.is_parted(lot, when));
            let count = counts.first().filter(|_| is_sown)?;
            let batch = lot.from.iter().find_map(|it| match it {
                Origin::Batch(batch) => Some(batch.clone()),
                _ => None,
            });
            Some(Germination {
                lot: lot.lot.clone(),
                seed_batch: batch,
                rootstock: lot.rootstock.clone(),
                place: first.place.clone(),
                sown_on: began.on,
                on: count.on,
                seeds: count.entered,
                plants: count.plants,
            })
        });
        sown.collect()
    }

    /// Whether a lot was sown, and not opened, bought or split off.
    fn is_sown(&self, lot: &Lot, began: When) -> bool {
        lot.from.iter().any(|origin| match origin {
            Origin::Batch(batch) => {
                let batch = self.batches.get(batch);
                batch.is_some_and(|it| it.sown.iter().any(|(when, _)| *when == began))
            }
            Origin::Outside(source) => source == Origin::NO_BATCH,
            _ => false,
        })
    }

    fn counts(&self, lot: &Lot, day: Date) -> Vec<CountOfLot> {
        lot.counts_since_entry(day, |when| self.is_parted(lot, when))
    }

    /// Whether an act made another lot of plants of a lot.
    fn is_parted(&self, lot: &Lot, when: When) -> bool {
        let mut children = lot.into.iter().filter_map(|it| self.lots.get(it));
        children.any(|child| {
            let is_then = child.beginning().is_some_and(|(began, _)| began == when);
            is_then && child.from.contains(&Origin::Lot(lot.lot.clone()))
        })
    }

    fn roots(&self, lot: &Lot) -> Roots {
        let mut roots = Roots::default();
        let mut seen = BTreeSet::new();
        let mut ahead = vec![(lot, Part::Whole)];
        while let Some((lot, part)) = ahead.pop() {
            let part = match part {
                // A missed stock has no luck of the buds that failed on it.
                Part::Whole if lot.variety.is_none() => Part::Stock,
                part => part,
            };
            if seen.insert((&lot.lot, part)) {
                ahead.extend(self.rooted(lot, part, &mut roots));
            }
        }
        roots
    }

    /// Notes what a lot goes back to, and tells the lots that it was made of.
    fn rooted<'a>(&'a self, lot: &'a Lot, part: Part, roots: &mut Roots) -> Vec<(&'a Lot, Part)> {
        let is_budded = |it: &Origin| {
            matches!(
                it,
                Origin::Cut(_) | Origin::MotherTree(_) | Origin::BudsOf(_)
            )
        };
        let is_budding = lot.from.iter().any(is_budded);
        if let (Part::Whole, Some((_, budding))) = (part, &lot.budding) {
            roots.budders.extend(budding.budder.clone());
        }
        let mut ahead = Vec::new();
        for origin in &lot.from {
            match origin {
                Origin::Lot(from) => {
                    let part = if is_budding { Part::Stock } else { part };
                    ahead.extend(self.lots.get(from).map(|it| (it, part)));
                }
                Origin::BudsOf(from) => {
                    ahead.extend(self.lots.get(from).map(|it| (it, Part::Buds)));
                }
                Origin::Cut(cut) => {
                    let tree = self.cuts.get(cut).map(|it| it.of.mother_tree.clone());
                    roots.trees.extend(tree);
                    roots.cut(part, cut);
                }
                Origin::MotherTree(tree) => {
                    roots.trees.insert(tree.as_str().into());
                    roots.cut(part, tree);
                }
                Origin::Batch(batch) if part != Part::Buds => {
                    roots.batches.insert(batch.clone());
                }
                Origin::Batch(_) | Origin::Outside(_) => {}
            }
            let is_elsewhere = matches!(origin, Origin::Batch(_) | Origin::Outside(_));
            roots.unknown_buds |=
                is_elsewhere && !is_budding && part != Part::Stock && lot.variety.is_some();
        }
        // Stocks of a budding stand without the buds that failed on them; their batch counts alone.
        if is_budding && part == Part::Buds {
            ahead.retain(|(_, part)| *part == Part::Buds);
        }
        ahead
    }
}

impl Roots {
    fn cut(&mut self, part: Part, name: &str) {
        if part != Part::Stock {
            self.cuts.insert(name.to_owned());
        }
    }

    fn luck(&self) -> LotLuck {
        let only = |names: &BTreeSet<String>| {
            let one = names.first().filter(|_| names.len() == 1);
            one.cloned()
        };
        LotLuck {
            seed_batch: only(&self.batches),
            cuts: self.cuts.iter().cloned().collect(),
            budder: only(&self.budders),
        }
    }
}

/// Samples that were looked at since a lot entered its step, until the end of a day.
fn looks(lot: &Lot, day: Date) -> Vec<Look> {
    let Some(view) = lot.on(day) else {
        return Vec::new();
    };
    let since = lot.looks.iter();
    since
        .filter(|(when, _)| view.entered <= when.on && when.on <= day)
        .map(|(when, it)| it.look(when.on))
        .collect()
}
