//! What is done to lots day by day: counting, losses, planting, moving, forcing, grading, merging.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use serde_json::{Value, json};

use crate::ground::{At, Bud, LotId, PlantId, Stage};
use crate::names::{LOSSES, SIZES};
use crate::post::Touches;
use crate::simulator::Simulator;

/// Seedlings, liners and forced trees go on after so many days.
const SEEDLING_DAYS: i32 = 110;
const FORCED_DAYS: i32 = 100;
/// Missed stocks older than this, or fewer, are thrown out.
const MISSED_DAYS: i32 = 240;
pub(crate) const FEW: usize = 4;

impl Simulator {
    /// Plants die that nobody sees.
    pub(crate) fn let_die(&mut self) {
        for lot in self.ground.live.clone() {
            if self.chance.yes(0.02) {
                let most = 1 + self.ground.books(lot) / 60;
                let count = self.chance.between(1, most);
                self.kill_unseen(lot, count);
            }
        }
    }

    pub(crate) fn kill_unseen(&mut self, lot: LotId, count: usize) {
        let plants = self.ground.lots[lot].plants.clone();
        for plant in self.chance.some(plants, count) {
            self.ground.plants[plant].dead = true;
        }
    }

    pub(crate) fn tend(&mut self) {
        for lot in self.ground.live.clone() {
            if self.ground.lots[lot].may_lose(self.today) {
                self.tend_lot(lot);
            }
            self.care_for(lot);
        }
    }

    /// At most one act that moves or counts plants.
    fn tend_lot(&mut self, lot: LotId) {
        let today = self.today;
        let it = &self.ground.lots[lot];
        if let Some(day) = it.record.recount_on {
            if day <= today {
                self.recount(lot);
            }
        } else if self.ground.living(lot) == 0 {
            let reason = self.chance.pick(&LOSSES);
            self.lose(lot, self.ground.books(lot), reason);
        } else if it.record.next_count <= today && it.may_count(today) {
            self.count(lot);
        } else if self.chance.yes(0.006) {
            let reason = self.chance.pick(&LOSSES);
            let count = self.chance.between(1, 1 + self.ground.books(lot) / 12);
            self.lose(lot, count, reason);
        } else if it.is_free(today) {
            self.work_on(lot);
        }
    }

    fn work_on(&mut self, lot: LotId) {
        let it = &self.ground.lots[lot];
        let age = self.today - it.entered;
        let chance = &mut self.chance;
        match (it.stage(), it.bud) {
            (Stage::Seedling, _) if age > SEEDLING_DAYS && chance.yes(0.08) => self.plant_out(lot),
            (Stage::Seedling, _) if age > 50 && chance.yes(0.01) => self.rogue(lot),
            (Stage::Budded, Some(Bud::Wrapped)) if age > 20 && chance.yes(0.3) => {
                self.unwrap_lot(lot);
            }
            (Stage::Budded, Some(Bud::Taken)) if chance.yes(0.2) => self.force(lot),
            (Stage::Budded, Some(Bud::Forced)) if age > FORCED_DAYS && chance.yes(0.1) => {
                let size = chance.pick(&SIZES);
                self.make_trees(lot, size);
            }
            (Stage::Missed, _)
                if (age > MISSED_DAYS || it.plants.len() < FEW) && chance.yes(0.05) =>
            {
                self.destroy(lot);
            }
            (Stage::Finished, _) if chance.yes(0.02) => self.grade(lot),
            (Stage::Finished, _) if chance.yes(0.003) => self.make_trees(lot, SIZES[1]),
            (Stage::Liner | Stage::Finished, _) if chance.yes(0.008) => self.move_lot(lot),
            (Stage::Liner | Stage::Finished, _) if chance.yes(0.001) => self.split(lot),
            _ => {}
        }
    }

    /// Work that moves no plants.
    fn care_for(&mut self, lot: LotId) {
        let it = &self.ground.lots[lot];
        let known = it.record.frozen_until <= self.today && it.began < self.today;
        if !known || it.plants.is_empty() || it.record.held {
            return;
        }
        let work = match (it.stage(), it.bud) {
            (Stage::Budded, Some(Bud::Forced)) => self.chance.pick(&["stake", "sucker", "head"]),
            (Stage::Finished, _) => self.chance.pick(&["stake", "sucker"]),
            _ => return,
        };
        if self.chance.yes(0.025) {
            let hours = f64::from(self.chance.days(1, 16)) / 2.0;
            let mut keys = json!({"lot": it.name, "hours": hours});
            if it.is_free(self.today) && self.chance.yes(0.3) {
                keys["plants"] = json!(it.plants.len());
                self.send(work, keys);
            } else {
                let act = self.act(work, keys);
                self.record(&act, &Touches::Nothing);
            }
        }
    }

    fn lot_name(&self, lot: LotId) -> String {
        self.ground.lots[lot].name.clone()
    }

    /// Those of the lot that died are found, unless the count overlooks some that live.
    fn count(&mut self, lot: LotId) {
        let today = self.today;
        self.ground.lots[lot].record.next_count = today + self.chance.days(30, 55);
        let living = self.ground.living(lot);
        let careless = self.ground.lots[lot].is_free(today) && living > 20 && self.chance.yes(0.03);
        let dead = self.take_dead(lot);
        self.ground.put(&dead, At::Gone, today);
        let mut keys = json!({"lot": self.lot_name(lot), "plants": living});
        if careless {
            let off = self.chance.between(1, 6);
            let overlooked = self.ground.take(lot, off, true, &mut self.chance);
            self.ground.put(&overlooked, At::Overlooked, today);
            keys["plants"] = json!(living - off);
            let again = today + self.chance.days(2, 9);
            let it = &mut self.ground.lots[lot];
            it.overlooked = overlooked;
            it.record.recount_on = Some(again);
            it.record.acted_on = today;
            self.freeze(lot, again);
            self.send("count", keys);
            return;
        }
        if self.chance.yes(0.2) {
            keys["ready"] = json!(self.chance.below(living + 1));
        }
        let act = self.act("count", keys);
        self.record(&act, &Touches::Count(lot, living));
    }

    /// A second count finds those that the first overlooked.
    fn recount(&mut self, lot: LotId) {
        let today = self.today;
        let found = std::mem::take(&mut self.ground.lots[lot].overlooked);
        let dead = self.take_dead(lot);
        self.ground.put(&dead, At::Gone, today);
        self.ground.put(&found, At::Lot(lot), today);
        let record = &mut self.ground.lots[lot].record;
        record.recount_on = None;
        record.acted_on = today;
        let living = self.ground.books(lot);
        let name = self.lot_name(lot);
        self.send("count", json!({"lot": name, "plants": living}));
    }

    fn take_dead(&mut self, lot: LotId) -> Vec<PlantId> {
        let plants = std::mem::take(&mut self.ground.lots[lot].plants);
        let is_dead = |plant: &PlantId| self.ground.plants[*plant].dead;
        let (dead, living) = plants.into_iter().partition(is_dead);
        self.ground.lots[lot].plants = living;
        dead
    }

    /// Plants leave the lot; those that lived are dead now.
    fn remove(&mut self, lot: LotId, count: usize, living: bool) -> usize {
        let gone = self.ground.take(lot, count, living, &mut self.chance);
        for plant in &gone {
            self.ground.plants[*plant].dead = true;
        }
        self.ground.put(&gone, At::Gone, self.today);
        gone.len()
    }

    fn lose(&mut self, lot: LotId, count: usize, reason: &str) {
        let before = self.ground.books(lot);
        let lost = self.remove(lot, count, false);
        let mut keys = json!({"lot": self.lot_name(lot), "plants": lost, "reason": reason});
        if self.chance.yes(0.1) {
            keys["note"] = json!("at the edge of the block");
        }
        let act = self.act("lose", keys);
        self.record(&act, &Touches::Loss(lot, before));
    }

    fn rogue(&mut self, lot: LotId) {
        let before = self.ground.books(lot);
        let count = self.chance.between(1, 1 + before / 25);
        let plants = self.remove(lot, count, true);
        let act = self.act(
            "rogue",
            json!({"lot": self.lot_name(lot), "plants": plants}),
        );
        self.record(&act, &Touches::Loss(lot, before));
    }

    fn destroy(&mut self, lot: LotId) {
        let all = self.ground.books(lot);
        self.remove(lot, all, false);
        let keys = json!({"lot": self.lot_name(lot), "reason": "over age"});
        let act = self.act("destroy", keys);
        self.record(&act, &Touches::Lots(vec![lot]));
    }

    /// Does something to the whole lot or a part, which becomes a lot of its own. Gives the lot that
    /// was changed.
    fn change(
        &mut self,
        act: &str,
        lot: LotId,
        part: Option<usize>,
        mut keys: Value,
    ) -> (LotId, Value, Touches) {
        let name = self.lot_name(lot);
        let Some(count) = part else {
            keys["lot"] = json!(name);
            keys["plants"] = json!(self.ground.books(lot));
            return (lot, self.act(act, keys), Touches::Lots(vec![lot]));
        };
        // Where the ledger names the part, the act comes in time.
        let ledger_names = act != "split" && self.chance.yes(0.3);
        let new_name = if ledger_names {
            self.ground.next_name(&name)
        } else {
            let new_name = self.ground.own_name(act);
            keys["new_lot"] = json!(new_name);
            new_name
        };
        let new = self.part(lot, new_name, count);
        keys["lot"] = json!(name);
        keys["plants"] = json!(self.ground.books(new));
        let touches = if ledger_names {
            self.ground.lots[lot].record.acted_on = self.today;
            Touches::All
        } else if act == "move" {
            Touches::Part(lot, new)
        } else {
            Touches::Lots(vec![lot, new])
        };
        (new, self.act(act, keys), touches)
    }

    /// Some plants of a lot, dead ones too, as a lot of their own.
    pub(crate) fn part(&mut self, lot: LotId, name: String, count: usize) -> LotId {
        let plants = self.ground.take(lot, count, false, &mut self.chance);
        let new = self.ground.add_child(lot, name, self.today);
        self.ground.put(&plants, At::Lot(new), self.today);
        new
    }

    /// A part of a lot, now and then; else the whole of it.
    fn part_or_whole(&mut self, lot: LotId, odds: f64) -> Option<usize> {
        let books = self.ground.books(lot);
        (books > 20 && self.chance.yes(odds)).then(|| self.chance.between(books / 4, books * 3 / 4))
    }

    fn plant_out(&mut self, lot: LotId) {
        let place = self.place_for(Stage::Liner);
        let act = self.chance.pick(&["line_out", "pot_up"]);
        let part = self.part_or_whole(lot, 0.4);
        let (new, act, touches) = self.change(act, lot, part, json!({"place": place}));
        self.ground.enter(new, Stage::Liner, self.today);
        self.ground.lots[new].place = place;
        self.record(&act, &touches);
    }

    fn make_trees(&mut self, lot: LotId, size: &'static str) {
        let it = &self.ground.lots[lot];
        if it
            .size
            .is_some_and(|has| has != SIZES[0] || size != SIZES[1])
        {
            return;
        }
        let lift = it.stage() == Stage::Budded && it.place.starts_with("rows");
        let act = if lift { "lift" } else { "pot_up" };
        let place = self.place_for(Stage::Finished);
        let part = self.part_or_whole(lot, 0.3);
        let keys = json!({"place": place, "size": size});
        let (new, act, touches) = self.change(act, lot, part, keys);
        self.ground.enter(new, Stage::Finished, self.today);
        self.ground.lots[new].place = place;
        self.ground.lots[new].size = Some(size);
        self.record(&act, &touches);
    }

    fn move_lot(&mut self, lot: LotId) {
        let place = self.place_for(self.ground.lots[lot].stage());
        if place == self.ground.lots[lot].place {
            return;
        }
        let part = self.part_or_whole(lot, 0.5);
        let (new, act, touches) = self.change("move", lot, part, json!({"place": place}));
        self.ground.lots[new].place = place;
        self.record(&act, &touches);
    }

    fn split(&mut self, lot: LotId) {
        if let Some(part) = self.part_or_whole(lot, 1.0) {
            let (_, act, touches) = self.change("split", lot, Some(part), json!({}));
            self.record(&act, &touches);
        }
    }

    fn force(&mut self, lot: LotId) {
        let part = self.part_or_whole(lot, 0.15);
        let hours = f64::from(self.chance.days(1, 10)) / 2.0;
        let (new, act, touches) = self.change("force", lot, part, json!({"hours": hours}));
        self.ground.lots[new].bud = Some(Bud::Forced);
        self.ground.lots[new].entered = self.today;
        self.record(&act, &touches);
    }

    /// One pass over a part of a lot or all of it; the dead among them are culled.
    fn grade(&mut self, lot: LotId) {
        let books = self.ground.books(lot);
        let count = self.chance.between(1 + books / 2, books);
        let pass = self.ground.take(lot, count, false, &mut self.chance);
        let plants = &self.ground.plants;
        let (mut culled, kept): (Vec<_>, Vec<_>) =
            pass.into_iter().partition(|plant| plants[*plant].dead);
        let worthless = self.chance.share(kept.len(), 0.03);
        let mut kept = self.chance.some(kept.clone(), kept.len());
        culled.extend(kept.drain(..worthless));
        self.ground.put(&culled, At::Gone, self.today);
        let saleable = self.chance.between(kept.len() / 2, kept.len());
        let name = self.lot_name(lot);
        let mut keys = json!({
            "lot": name, "saleable": saleable, "held_back": kept.len() - saleable,
            "culled": culled.len(),
        });
        let mut lots = vec![lot];
        let mut own = kept.split_off(saleable);
        if saleable > 0 && self.chance.yes(0.1) {
            let new_name = self.ground.own_name("graded");
            keys["new_lots"] = json!({"saleable": new_name});
            let new = self.ground.add_child(lot, new_name, self.today);
            self.ground.put(&kept, At::Lot(new), self.today);
            lots.push(new);
        } else {
            own.append(&mut kept);
        }
        // They never left the lot.
        self.ground.lots[lot].plants.append(&mut own);
        let act = self.act("grade", keys);
        self.record(&act, &Touches::Lots(lots));
    }

    /// Merges two lots that are alike, now and then.
    pub(crate) fn merge(&mut self) {
        if self.today % 3 != 0 {
            return;
        }
        let mut alike: BTreeMap<_, LotId> = BTreeMap::new();
        let mut pairs = Vec::new();
        for lot in &self.ground.live {
            let it = &self.ground.lots[*lot];
            if !it.is_free(self.today) || it.bud.is_some() || it.plants.len() > 60 {
                continue;
            }
            let kind = (it.stage(), it.rootstock, it.variety, it.size, it.place);
            match alike.entry(kind) {
                Entry::Vacant(first) => {
                    first.insert(*lot);
                }
                Entry::Occupied(first) => pairs.push((first.remove(), *lot)),
            }
        }
        for (first, second) in pairs {
            if self.chance.yes(0.04) {
                self.merge_pair(first, second);
            }
        }
    }

    fn merge_pair(&mut self, first: LotId, second: LotId) {
        let name = self.ground.own_name("merged");
        let all = self.ground.books(first);
        let new = self.part(first, name.clone(), all);
        let others = std::mem::take(&mut self.ground.lots[second].plants);
        self.ground.put(&others, At::Lot(new), self.today);
        let other = &mut self.ground.lots[second];
        other.children.push(new);
        let other = other.clone();
        let it = &mut self.ground.lots[new];
        it.stocks.extend(other.stocks);
        it.scions.extend(other.scions);
        it.trees.extend(other.trees);
        it.entered = it.entered.max(other.entered);
        let keys = json!({"lots": [self.lot_name(first), other.name], "new_lot": name});
        let act = self.act("merge", keys);
        self.record(&act, &Touches::Lots(vec![first, second, new]));
    }
}
