//! Mother trees as their rows and later samples tell of them, and where buds can come from.

use jiff::civil::Date;

use super::books::{Books, Cut};
use super::event::Subject;
use super::lineage::Node;
use crate::ids::{MotherTreeName, VarietyName};
use crate::records::{MotherTree, TestResult};

/// Where buds of a variety can come from on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BudSource {
    /// A cut, with so many buds left.
    Cut {
        /// Its name.
        cut: String,
        /// Buds left.
        left: u32,
    },
    /// A mother tree whose buds may be cut.
    MotherTree(MotherTreeName),
}

impl Books {
    /// A mother tree's row as of a day, with what later samples showed.
    pub fn mother_tree(&self, name: &MotherTreeName, day: Date) -> Option<MotherTree> {
        let settings = &self.settings;
        let row = settings
            .row("mother_tree", name.as_str(), day)
            .or_else(|| settings.row("mother_tree", name.as_str(), Date::MAX))?;
        let cell = |column: &str| row.get(column).map_or("", String::as_str);
        let word = cell("result");
        let result = TestResult::CHOICES.iter().find(|(known, _)| *known == word);
        let mut tree = MotherTree {
            mother_tree: name.clone(),
            variety: cell("variety").into(),
            buds_per_year: cell("buds_per_year").parse().unwrap_or(0),
            cut_seasons: Vec::new(),
            tested_on: cell("tested_on").parse().ok(),
            result: result.map_or(TestResult::Untested, |(_, result)| *result),
            valid_months: cell("valid_months").parse().unwrap_or(12),
            health_class: Some(cell("health_class").to_owned()).filter(|it| !it.is_empty()),
            planted: cell("planted").parse().ok(),
            vigour: cell("vigour_percent")
                .parse()
                .map_or(1.0, |it: f64| it / 100.0),
            recovery_weeks: cell("recovery_weeks").parse().ok(),
        };
        let last = self.trees.get(name).and_then(|it| it.last_test(day));
        if let Some((tested_on, found)) = last
            && tree.tested_on.is_none_or(|own| own <= tested_on)
        {
            tree.tested_on = Some(tested_on);
            tree.result = if found {
                TestResult::Found
            } else {
                TestResult::Clean
            };
        }
        Some(tree)
    }

    /// The mother trees that stand on a day.
    pub fn mother_trees(&self, day: Date) -> impl Iterator<Item = MotherTree> {
        let names = self.settings.rows("mother_tree", day);
        let names = names.filter_map(|row| row.get("mother_tree").map(MotherTreeName::from));
        names
            .filter(move |name| {
                let known = self.trees.get(name).and_then(|it| it.destroyed);
                known.is_none_or(|when| when.on > day)
            })
            .filter_map(move |name| self.mother_tree(&name, day))
    }

    /// Whether a tree was sampled after its last test, so that a result is on its way.
    pub fn awaits_result(&self, tree: &MotherTree, day: Date) -> bool {
        let of = Subject::MotherTree(tree.mother_tree.clone());
        self.samples.values().any(|it| {
            let since = tree.tested_on.is_none_or(|on| on < it.when.on);
            it.of == of && since && it.when.on <= day
        })
    }

    /// Where so many buds of a variety are best taken from on a day: the oldest cut that has as many, a
    /// mother tree whose buds may be cut, or the cut with most of them left. Nothing that is held.
    pub fn buds_for(&self, variety: &VarietyName, buds: u32, day: Date) -> Option<BudSource> {
        let mut cuts: Vec<(&String, &Cut)> = self
            .cuts
            .iter()
            .filter(|(name, cut)| {
                let is_right = cut.variety == *variety && cut.when.on <= day && cut.left() > 0;
                is_right && self.hold_on(&Node::Cut((*name).clone()), day).is_none()
            })
            .collect();
        cuts.sort_by_key(|(_, cut)| cut.when);
        let of = |(name, cut): &(&String, &Cut)| BudSource::Cut {
            cut: (*name).clone(),
            left: cut.left(),
        };
        let enough = cuts.iter().find(|(_, cut)| cut.left() >= buds).map(of);
        let tree = || {
            let mut trees = self.mother_trees(day).filter(|it| it.variety == *variety);
            let usable = trees.find(|it| {
                let is_clean = it.usable_until().is_some_and(|until| until >= day);
                let node = Node::MotherTree(it.mother_tree.clone());
                is_clean && self.hold_on(&node, day).is_none()
            });
            usable.map(|it| BudSource::MotherTree(it.mother_tree))
        };
        let most = || cuts.iter().max_by_key(|(_, cut)| cut.left()).map(of);
        enough.or_else(tree).or_else(most)
    }
}
