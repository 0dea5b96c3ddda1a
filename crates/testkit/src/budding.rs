//! Budding and the take count.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde_json::json;

use crate::budwood::Source;
use crate::ground::{At, Bud, LotId, Origin, Stage};
use crate::names::{INCOMPATIBLE, PEOPLE, VARIETIES};
use crate::post::Touches;
use crate::simulator::Simulator;
use crate::tending::FEW;

/// Liners are budded after so many days.
const LINER_DAYS: i32 = 90;
/// Shares of buds set that take, and of stocks that die.
const TAKE: f64 = 0.88;
const DEATH: f64 = 0.03;

impl Simulator {
    /// Buds liners and missed stocks from spring to autumn.
    pub(crate) fn bud(&mut self) {
        self.discard_sticks();
        if !(3..=10).contains(&self.date(self.today).month()) {
            return;
        }
        for _ in 0..self.scaled(4.0) {
            let stocks = self.ground.live.iter().copied();
            let ready: Vec<_> = stocks.filter(|lot| self.is_bud_ready(*lot)).collect();
            if ready.is_empty() {
                return;
            }
            let lot = self.chance.pick(&ready);
            self.bud_lot(lot);
        }
    }

    fn is_bud_ready(&self, lot: LotId) -> bool {
        let it = &self.ground.lots[lot];
        let age = self.today - it.entered;
        let old_enough = match it.stage() {
            Stage::Liner => age > LINER_DAYS,
            Stage::Missed => age > 10 && it.plants.len() >= FEW,
            _ => false,
        };
        old_enough && it.is_free(self.today) && self.ground.living(lot) > 0
    }

    /// A variety for the rootstock, and why it is budded although it is incompatible.
    fn variety_for(&mut self, rootstock: &str) -> (&'static str, Option<&'static str>) {
        let (variety, rootstocks) = INCOMPATIBLE;
        if rootstocks.contains(&rootstock) && self.chance.yes(0.02) {
            return (variety, Some("a trial the customer asked for"));
        }
        let fitting = VARIETIES.iter().filter(|it| it.1.contains(&rootstock));
        let fitting: Vec<_> = fitting.map(|it| it.0).collect();
        (self.chance.pick(&fitting), None)
    }

    /// Some of the stocks become a budded lot.
    fn bud_lot(&mut self, lot: LotId) {
        let rootstock = self.ground.lots[lot].rootstock;
        let (variety, why) = self.variety_for(rootstock);
        let living = self.ground.living(lot);
        let wanted = self.chance.between(50, 150);
        let count = if living < wanted + 20 { living } else { wanted };
        let Some((source, buds)) = self.buds_for(variety, count) else {
            return;
        };
        let mut keys = json!({
            "lot": self.ground.lots[lot].name, "variety": variety, "plants": count,
            "source": self.source_name(source), "method": self.chance.pick(&["t", "inverted_t", "chip"]),
            "budder": self.chance.pick(&PEOPLE),
        });
        if buds > count {
            keys["buds"] = json!(buds);
        }
        if let Some(why) = why {
            keys["override"] = json!(why);
        }
        let parent = self.ground.lots[lot].name.clone();
        let name = if self.chance.yes(0.3) {
            self.ground.next_name(&parent)
        } else {
            let name = self.ground.own_name(&format!("{variety}-{rootstock}"));
            keys["new_lot"] = json!(name);
            name
        };
        let new = self.set_buds(lot, name, count, variety, source);
        let mut lots = vec![lot, new];
        if let Source::Lot(from) = source {
            lots.push(from);
        }
        let act = self.act("bud", keys);
        self.record(&act, &Touches::Lots(lots));
    }

    /// A source with enough buds for so many plants, and the buds used.
    fn buds_for(&mut self, variety: &str, plants: usize) -> Option<(Source, usize)> {
        if self.chance.yes(0.1) {
            return Some((Source::Tree(self.usable_tree(variety)?), plants));
        }
        if self.chance.yes(0.06) {
            let lots = self.ground.live.iter().copied();
            let giving = lots.filter(|lot| {
                let it = &self.ground.lots[*lot];
                it.variety == Some(variety)
                    && it.stage() == Stage::Finished
                    && it.is_free(self.today)
                    && self.ground.living(*lot) > 0
            });
            let giving: Vec<_> = giving.collect();
            if !giving.is_empty() {
                return Some((Source::Lot(self.chance.pick(&giving)), plants));
            }
        }
        let more = if self.chance.yes(0.7) { plants / 5 } else { 0 };
        let cut = self.cut_of(variety, plants + more)?;
        self.budwood.cuts[cut].left -= plants + more;
        Some((Source::Cut(cut), plants + more))
    }

    /// Sets a bud into each of so many stocks. A bud from a lot comes from one of its trees.
    fn set_buds(
        &mut self,
        lot: LotId,
        name: String,
        count: usize,
        variety: &'static str,
        source: Source,
    ) -> LotId {
        let today = self.today;
        let plants = self.ground.take(lot, count, true, &mut self.chance);
        let new = self.ground.add_child(lot, name, today);
        self.ground.put(&plants, At::Lot(new), today);
        self.ground.enter(new, Stage::Budded, today);
        let (scions, trees, set): (BTreeSet<_>, _, Vec<Arc<Origin>>) =
            if let Source::Lot(from) = source {
                self.ground.lots[from].children.push(new);
                let giving = &self.ground.lots[from];
                let scion = |plant: &usize| self.ground.plants[*plant].scion.clone();
                let set = giving.plants.iter().filter_map(scion).collect();
                (giving.scions.clone(), giving.trees.clone(), set)
            } else {
                let (tree, origin) = self.tree_of(source).expect("trees and cuts have a tree");
                let one = Arc::clone(&origin);
                ([origin].into(), [tree].into(), vec![one])
            };
        for plant in &plants {
            let at = self.chance.below(set.len());
            self.ground.plants[*plant].scion = Some(Arc::clone(&set[at]));
        }
        let it = &mut self.ground.lots[new];
        it.variety = Some(variety);
        it.bud = Some(Bud::Wrapped);
        it.scions = scions;
        it.trees.extend(trees);
        it.record.next_count = today + 15;
        new
    }

    /// The take count: dead stocks are found, missed ones become a lot of their own.
    pub(crate) fn unwrap_lot(&mut self, lot: LotId) {
        let today = self.today;
        let plants = std::mem::take(&mut self.ground.lots[lot].plants);
        let (mut taken, mut missed, mut dead) = (Vec::new(), Vec::new(), Vec::new());
        for plant in plants {
            if self.ground.plants[plant].dead || self.chance.yes(DEATH) {
                dead.push(plant);
            } else if self.chance.yes(TAKE) {
                taken.push(plant);
            } else {
                missed.push(plant);
            }
        }
        let name = self.ground.lots[lot].name.clone();
        let keys = json!({
            "lot": name, "taken": taken.len(), "missed": missed.len(), "dead": dead.len(),
        });
        let mut lots = vec![lot];
        if !missed.is_empty() {
            let new = self.ground.add_child(lot, format!("{name}~missed"), today);
            self.ground.enter(new, Stage::Missed, today);
            self.ground.put(&missed, At::Lot(new), today);
            let it = &mut self.ground.lots[new];
            (it.variety, it.scions) = (None, BTreeSet::new());
            for plant in missed {
                self.ground.plants[plant].scion = None;
            }
            lots.push(new);
        }
        self.ground.put(&dead, At::Gone, today);
        let it = &mut self.ground.lots[lot];
        it.plants = taken;
        it.bud = Some(Bud::Taken);
        let act = self.act("unwrap", keys);
        self.record(&act, &Touches::Lots(lots));
    }
}
