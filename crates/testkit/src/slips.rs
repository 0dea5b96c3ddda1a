//! Holds, hours and notes, and people's slips: acts that never happened or must be refused.

use serde_json::{Value, json};

use crate::budwood::Source;
use crate::ground::{Bud, Lot, LotId, Stage};
use crate::names::{INCOMPATIBLE, JOBS, PEOPLE};
use crate::post::Touches;
use crate::simulator::{FINAL_AFTER_DAYS, Simulator};

impl Simulator {
    /// Hours of the day, and a note now and then.
    pub(crate) fn keep_hours(&mut self) {
        for _ in 0..self.scaled(16.0) {
            let hours = f64::from(self.chance.days(1, 16)) / 2.0;
            let who = if self.chance.yes(0.7) {
                json!({"person": self.chance.pick(&PEOPLE)})
            } else {
                json!({"crew": self.chance.pick(&["budding", "growing"])})
            };
            let mut keys = json!({"job": self.chance.pick(&JOBS), "hours": hours});
            if let (Value::Object(keys), Value::Object(who)) = (&mut keys, who) {
                keys.extend(who);
            }
            let act = self.act("hours", keys);
            self.happen_or_not(&act);
        }
        for _ in 0..self.scaled(1.5) {
            let Some(lot) = self.any_lot(|_| true) else {
                return;
            };
            let about = &self.ground.lots[lot].name;
            let act = self.act("note", json!({"about": about, "text": "leaves look pale"}));
            self.happen_or_not(&act);
        }
    }

    /// Records an act without plants; a few never happened and are taken back later.
    fn happen_or_not(&mut self, act: &Value) {
        if self.chance.yes(0.01) {
            let until = self.today + self.chance.days(1, FINAL_AFTER_DAYS);
            self.correct(act, None, until);
            self.record(act, &Touches::All);
        } else {
            self.record(act, &Touches::Nothing);
        }
    }

    /// A live lot that the ledger knows exactly and that fits.
    fn any_lot(&mut self, fits: impl Fn(LotId) -> bool) -> Option<LotId> {
        let lots = self.ground.live.iter().copied();
        let known = lots.filter(|lot| self.ground.lots[*lot].is_free(self.today) && fits(*lot));
        let known: Vec<_> = known.collect();
        (!known.is_empty()).then(|| self.chance.pick(&known))
    }

    /// Holds a lot and all downstream of it for some days, now and then.
    pub(crate) fn hold(&mut self) {
        if self.chance.yes(0.1) && !self.budwood.is_watching() {
            self.hold_one();
        }
        if self.chance.yes(0.4) {
            self.ship_held();
        }
    }

    /// Somebody tries to ship from a held lot.
    fn ship_held(&mut self) {
        let lots = self.ground.live.iter().map(|lot| &self.ground.lots[*lot]);
        let mut held = lots.filter(|lot| lot.record.held && !lot.plants.is_empty());
        let open = self.sales.open();
        let fitting = held.find_map(|lot| {
            let mut lines = open.iter();
            let line = lines.find(|line| self.sales.lines[**line].takes(lot))?;
            Some((lot.name.clone(), self.sales.names(*line)))
        });
        if let Some((lot, (order, line))) = fitting {
            self.refuse(
                "ship",
                json!({"order": order, "line": line, "lot": lot, "plants": 1}),
            );
        }
    }

    fn hold_one(&mut self) {
        let trees = |lot: &Lot| lot.stage() == Stage::Finished;
        let trees: Vec<_> = self.ground.lots.iter().map(trees).collect();
        let of_trees = self.chance.yes(0.7);
        let Some(lot) = self.any_lot(|lot| trees[lot] || !of_trees) else {
            return;
        };
        let today = self.today;
        let all = self.ground.downstream(lot);
        let settled = |lot: &LotId| {
            let record = self.ground.lots[*lot].record;
            record.frozen_until <= today && record.late_until <= today && !record.held
        };
        if !all.iter().all(settled) {
            return;
        }
        let until = today + self.chance.days(5, 15);
        for lot in all {
            self.freeze(lot, until);
            self.ground.lots[lot].record.held = true;
        }
        let name = self.ground.lots[lot].name.clone();
        self.send("hold", json!({"lot": name, "reason": "spots on leaves"}));
        self.holds.push((lot, until));
    }

    /// Frees what is due to be freed.
    pub(crate) fn release(&mut self) {
        self.release_suspect();
        let (due, held): (Vec<_>, Vec<_>) = self
            .holds
            .iter()
            .copied()
            .partition(|(_, until)| *until <= self.today);
        self.holds = held;
        for (lot, _) in due {
            for lot in self.ground.downstream(lot) {
                self.ground.lots[lot].record.held = false;
            }
            let name = self.ground.lots[lot].name.clone();
            self.send(
                "release",
                json!({"lot": name, "reason": "nothing was found"}),
            );
        }
    }

    fn refuse(&mut self, act: &str, keys: Value) {
        let act = self.act(act, keys);
        self.send_refused(act);
    }

    /// Acts that never happened, and acts that must be refused.
    pub(crate) fn take_slips(&mut self) {
        for _ in 0..self.scaled(0.15) {
            self.imagine_a_loss();
        }
        for _ in 0..self.scaled(1.5) {
            match self.chance.below(9) {
                0 => self.refuse(
                    "count",
                    json!({"lot": format!("nowhere-{}", self.today), "plants": 5}),
                ),
                1 => self.lose_too_many(),
                2 => self.act_before_the_lot(),
                3 => self.miscount_the_take(),
                4 => self.cut_untested(),
                5 => self.bud_too_many(),
                6 => self.bud_incompatible(),
                7 => self.sow_too_many(),
                _ => self.reuse_an_id(),
            }
        }
    }

    /// A loss of another nursery, taken back later.
    fn imagine_a_loss(&mut self) {
        let Some(lot) = self.any_lot(|_| true) else {
            return;
        };
        let it = &self.ground.lots[lot];
        if self.is_suspect(it) || it.plants.len() < 10 {
            return;
        }
        let plants = self.chance.between(1, it.plants.len() / 2);
        let name = it.name.clone();
        let until = self.today + self.chance.days(1, FINAL_AFTER_DAYS);
        self.freeze(lot, until);
        let act = self.act(
            "lose",
            json!({"lot": name, "plants": plants, "reason": "frost"}),
        );
        self.correct(&act, None, until);
        self.record(&act, &Touches::All);
    }

    fn lose_too_many(&mut self) {
        if let Some(lot) = self.any_lot(|_| true) {
            let (name, books) = (self.ground.lots[lot].name.clone(), self.ground.books(lot));
            self.refuse(
                "lose",
                json!({"lot": name, "plants": books + 1, "reason": "heat"}),
            );
        }
    }

    fn act_before_the_lot(&mut self) {
        let began_later: Vec<_> = self.ground.lots.iter().map(|lot| lot.began > 3).collect();
        if let Some(lot) = self.any_lot(|lot| began_later[lot]) {
            let it = &self.ground.lots[lot];
            let (name, before) = (it.name.clone(), self.date(it.began - 3));
            let mut act = self.act("rogue", json!({"lot": name, "plants": 1}));
            act["on"] = json!(before.to_string());
            self.send_refused(act);
        }
    }

    fn miscount_the_take(&mut self) {
        let lots = self.ground.live.iter().copied();
        let wrapped = lots.filter(|lot| {
            let it = &self.ground.lots[*lot];
            it.bud == Some(Bud::Wrapped) && it.is_free(self.today)
        });
        let wrapped: Vec<_> = wrapped.collect();
        if wrapped.is_empty() {
            return;
        }
        let lot = self.chance.pick(&wrapped);
        let (name, books) = (self.ground.lots[lot].name.clone(), self.ground.books(lot));
        self.refuse(
            "unwrap",
            json!({"lot": name, "taken": books, "missed": 2, "dead": 0}),
        );
    }

    fn cut_untested(&mut self) {
        let trees = self.budwood.trees.iter();
        let untested: Vec<_> = trees.filter(|tree| tree.tested.is_none()).collect();
        let tree = self.chance.pick(&untested).name.to_string();
        let cut = self.ground.own_name("cut");
        self.refuse(
            "cut_sticks",
            json!({"mother_tree": tree, "cut": cut, "sticks": 5, "buds": 40}),
        );
    }

    /// A liner lot on one of some rootstocks.
    fn liners(&mut self, rootstocks: &[&str]) -> Option<String> {
        let lots = self.ground.live.iter().copied();
        let liners = lots.filter(|lot| {
            let it = &self.ground.lots[*lot];
            it.stage() == Stage::Liner
                && it.is_free(self.today)
                && rootstocks.contains(&it.rootstock)
        });
        let liners: Vec<_> = liners.collect();
        (!liners.is_empty()).then(|| self.ground.lots[self.chance.pick(&liners)].name.clone())
    }

    fn bud_too_many(&mut self) {
        let Some(cut) = self.budwood.cuts.len().checked_sub(1) else {
            return;
        };
        let variety = self.budwood.trees[self.budwood.cuts[cut].tree].variety;
        // Valencia is compatible with all that is sown; any other stands for the first.
        if variety != "valencia" {
            return;
        }
        if let Some(lot) = self.liners(&crate::names::ROOTSTOCKS) {
            let source = self.source_name(Source::Cut(cut));
            self.refuse(
                "bud",
                json!({
                    "lot": lot, "variety": variety, "plants": 1, "source": source,
                    "buds": 100_000, "method": "t",
                }),
            );
        }
    }

    fn bud_incompatible(&mut self) {
        let (variety, rootstocks) = INCOMPATIBLE;
        if let (Some(lot), Some(tree)) = (self.liners(&rootstocks), self.usable_tree(variety)) {
            let source = self.source_name(Source::Tree(tree));
            self.refuse(
                "bud",
                json!({
                    "lot": lot, "variety": variety, "plants": 1, "source": source, "method": "t",
                }),
            );
        }
    }

    fn sow_too_many(&mut self) {
        let batch = &self.batches[self.chance.below(self.batches.len())];
        let (name, rootstock) = (batch.name.clone(), batch.rootstock);
        self.refuse(
            "sow",
            json!({
                "rootstock": rootstock, "seeds": 100_000, "batch": name, "place": "bed-1",
            }),
        );
    }

    /// Another act under an id that the ledger has.
    fn reuse_an_id(&mut self) {
        let note = self.act("note", json!({"text": "the pump is mended"}));
        let mut other = note.clone();
        other["text"] = json!("the pump is broken");
        self.record(&note, &Touches::All);
        self.send_refused(other);
    }
}
