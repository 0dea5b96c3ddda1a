//! Mother trees, their tests, and cuts of budsticks.

use std::sync::Arc;

use serde_json::json;

use crate::ground::{Day, Lot, LotId, Origin};
use crate::names::VARIETIES;
use crate::post::Touches;
use crate::simulator::Simulator;

const BUDS_A_STICK: usize = 8;
/// Sampled again so many days after the last sample; a test holds for a year.
const SAMPLE_AFTER: Day = 320;
const RESULT_AFTER: Day = 10;
/// A suspected tree is sampled after so many days, when all acts on its lots have arrived.
const QUIET: Day = 25;
/// Budsticks are used for so many days.
const KEEPS: Day = 10;

#[derive(Clone, Debug)]
pub(crate) struct MotherTree {
    pub(crate) name: Arc<str>,
    pub(crate) variety: &'static str,
    /// Day of the sample of the last clean test.
    pub(crate) tested: Option<Day>,
    /// Sample under way and the day of its result.
    sample: Option<(String, Day)>,
}

#[derive(Clone, Debug)]
pub(crate) struct Cut {
    pub(crate) name: String,
    pub(crate) tree: usize,
    on: Day,
    sticks: usize,
    pub(crate) left: usize,
    gone: bool,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Budwood {
    pub(crate) trees: Vec<MotherTree>,
    pub(crate) cuts: Vec<Cut>,
    /// The tree in which something will be found, and since when it is suspected.
    suspect: Option<(usize, Day)>,
    /// Whether the suspicion is over.
    cleared: bool,
}

impl Budwood {
    pub(crate) fn names(&self) -> Vec<String> {
        let names = self.trees.iter().map(|tree| tree.name.to_string());
        names.collect()
    }

    pub(crate) fn is_watching(&self) -> bool {
        self.suspect.is_some() && !self.cleared
    }
}

/// Where buds are taken from.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Source {
    Tree(usize),
    Cut(usize),
    Lot(LotId),
}

impl Simulator {
    /// Whether its mother tree is under suspicion, so that it is recorded with care.
    pub(crate) fn is_suspect(&self, lot: &Lot) -> bool {
        let suspect = self.budwood.suspect.filter(|_| !self.budwood.cleared);
        suspect.is_some_and(|(tree, _)| lot.trees.contains(&self.budwood.trees[tree].name))
    }

    /// Adds mother trees to the nursery: three of each variety, and one that was never tested.
    pub(crate) fn plant_mother_trees(&mut self) {
        for (variety, _) in VARIETIES {
            for number in 1..=3 {
                let age = self.chance.days(30, 250);
                self.plant_mother_tree(variety, number, Some(-age));
            }
        }
        self.plant_mother_tree("valencia", 4, None);
    }

    fn plant_mother_tree(&mut self, variety: &'static str, number: u32, tested: Option<Day>) {
        let name = format!("M-{variety}-{number}");
        let mut values = json!({
            "mother_tree": name, "variety": variety, "buds_per_year": 50_000,
            "cut_seasons": ["03-01/10-31"], "result": "untested", "valid_months": 12,
        });
        if let Some(day) = tested {
            values["tested_on"] = json!(self.date(day).to_string());
            values["result"] = json!("clean");
        }
        let from = self.date(0).to_string();
        self.send(
            "set",
            json!({"what": "mother_tree", "values": values, "from": from}),
        );
        self.budwood.trees.push(MotherTree {
            name: name.into(),
            variety,
            tested,
            sample: None,
        });
    }

    /// Samples trees whose tests lapse soon, and records results. Once, something is found.
    pub(crate) fn test_mother_trees(&mut self) {
        self.suspect_one();
        for at in 0..self.budwood.trees.len() {
            let tree = &self.budwood.trees[at];
            let name = tree.name.to_string();
            if let Some((sample, result)) = tree.sample.clone() {
                if result == self.today {
                    self.record_result(at, &sample);
                }
            } else if self.is_sample_due(at) {
                let sample = self.ground.own_name("sample");
                self.send(
                    "sample",
                    json!({"mother_tree": name, "tests": ["tristeza"], "sample": sample}),
                );
                self.budwood.trees[at].sample = Some((sample, self.today + RESULT_AFTER));
            }
        }
    }

    fn suspect_one(&mut self) {
        let from = self.days_of_work() / 2;
        if self.today == from && self.days_of_work() > 120 {
            let tree = self.chance.below(3);
            self.budwood.suspect = Some((tree, from));
        }
    }

    /// A suspected tree is sampled once nothing of its lots is under way to the ledger.
    fn is_sample_due(&self, tree: usize) -> bool {
        match self.budwood.suspect {
            Some((suspect, since)) if suspect == tree => {
                self.budwood.trees[tree].tested.is_some() && self.today == since + QUIET
            }
            _ => self.budwood.trees[tree]
                .tested
                .is_some_and(|day| self.today >= day + SAMPLE_AFTER),
        }
    }

    fn record_result(&mut self, at: usize, sample: &str) {
        let suspect = self.budwood.suspect;
        let found = suspect.is_some_and(|(tree, since)| tree == at && self.today > since + QUIET);
        self.send(
            "result",
            json!({"sample": sample, "test": "tristeza", "found": found}),
        );
        let until = self.today + self.chance.days(8, 14);
        let tree = &mut self.budwood.trees[at];
        tree.sample = None;
        if !found {
            tree.tested = Some(self.today - RESULT_AFTER);
            return;
        }
        tree.tested = None;
        for lot in 0..self.ground.lots.len() {
            if self.is_suspect(&self.ground.lots[lot]) {
                self.freeze(lot, until);
                self.ground.lots[lot].record.held = true;
            }
        }
        self.budwood.suspect = Some((at, until));
    }

    /// Frees what is downstream of the tree in which something was found; it is not cut again.
    pub(crate) fn release_suspect(&mut self) {
        let Some((at, until)) = self.budwood.suspect.filter(|_| self.budwood.is_watching()) else {
            return;
        };
        let tree = &self.budwood.trees[at];
        if tree.tested.is_some() || until != self.today {
            return;
        }
        let name = tree.name.to_string();
        self.send(
            "release",
            json!({"mother_tree": name, "reason": "tests of all lots are clean"}),
        );
        for lot in &mut self.ground.lots {
            lot.record.held &= !lot.trees.contains(name.as_str());
        }
        self.budwood.cleared = true;
    }

    /// Whether buds of the tree may be used today.
    pub(crate) fn is_usable(&self, tree: usize) -> bool {
        let tested = self.budwood.trees[tree].tested;
        tested.is_some_and(|day| self.today - day < 360)
    }

    /// A cut of the variety with so many buds, cut today if there is none; none if no tree may be
    /// cut.
    pub(crate) fn cut_of(&mut self, variety: &str, buds: usize) -> Option<usize> {
        let today = self.today;
        let fits = |cut: &Cut| {
            !cut.gone
                && cut.left >= buds
                && cut.on + KEEPS >= today
                && self.is_usable(cut.tree)
                && self.budwood.trees[cut.tree].variety == variety
        };
        let cut = self.budwood.cuts.iter().rposition(fits);
        cut.or_else(|| self.cut_sticks(variety, buds))
    }

    /// Any tree of the variety that may be cut.
    pub(crate) fn usable_tree(&mut self, variety: &str) -> Option<usize> {
        let trees = self.budwood.trees.iter().enumerate();
        let of_variety = trees.filter(|(at, tree)| tree.variety == variety && self.is_usable(*at));
        let usable: Vec<_> = of_variety.map(|(at, _)| at).collect();
        (!usable.is_empty()).then(|| self.chance.pick(&usable))
    }

    fn cut_sticks(&mut self, variety: &str, buds: usize) -> Option<usize> {
        let tree = self.usable_tree(variety)?;
        let sticks = buds.div_ceil(BUDS_A_STICK) + self.chance.between(5, 30);
        let cut = self.ground.own_name("cut");
        let name = self.budwood.trees[tree].name.to_string();
        let left = sticks * BUDS_A_STICK;
        self.send(
            "cut_sticks",
            json!({"mother_tree": name, "cut": cut, "sticks": sticks, "buds": left}),
        );
        if self.chance.yes(0.2) {
            let (stored, in_them) = (sticks / 2, sticks / 2 * BUDS_A_STICK);
            self.send(
                "store_sticks",
                json!({"cut": cut, "sticks": stored, "buds": in_them}),
            );
        }
        self.budwood.cuts.push(Cut {
            name: cut,
            tree,
            on: self.today,
            sticks,
            left,
            gone: false,
        });
        Some(self.budwood.cuts.len() - 1)
    }

    /// Throws old budsticks away.
    pub(crate) fn discard_sticks(&mut self) {
        for at in 0..self.budwood.cuts.len() {
            let cut = &mut self.budwood.cuts[at];
            if cut.gone || cut.on + KEEPS >= self.today {
                continue;
            }
            cut.gone = true;
            let (name, buds) = (cut.name.clone(), cut.left);
            let sticks = buds.div_ceil(BUDS_A_STICK).min(cut.sticks);
            let tree = cut.tree;
            if buds > 0 && self.is_usable(tree) {
                let keys = json!({"cut": name, "sticks": sticks, "buds": buds});
                let act = self.act("discard_sticks", keys);
                self.record(&act, &Touches::Nothing);
            }
        }
    }

    /// The name acts use for a source of buds.
    pub(crate) fn source_name(&self, source: Source) -> String {
        match source {
            Source::Tree(tree) => self.budwood.trees[tree].name.to_string(),
            Source::Cut(cut) => self.budwood.cuts[cut].name.clone(),
            Source::Lot(lot) => self.ground.lots[lot].name.clone(),
        }
    }

    /// The mother tree of a source, where it is not a lot.
    pub(crate) fn tree_of(&self, source: Source) -> Option<(Arc<str>, Arc<Origin>)> {
        let tree = match source {
            Source::Tree(tree) => tree,
            Source::Cut(cut) => self.budwood.cuts[cut].tree,
            Source::Lot(_) => return None,
        };
        let name = Arc::clone(&self.budwood.trees[tree].name);
        let origin = Arc::new(Origin::MotherTree(name.to_string()));
        Some((name, origin))
    }
}
