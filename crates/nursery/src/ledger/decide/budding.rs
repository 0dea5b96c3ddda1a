//! Budsticks, budding and the take count.

use crate::catalogue::{StageKind, Verdict};
use crate::ids::{LotName, MotherTreeName, RootstockName, VarietyName};
use crate::ledger::act::{Bud, CutSticks, Sticks, Unwrap};
use crate::ledger::books::Cut;
use crate::ledger::event::{Account, Event, Fate};
use crate::ledger::lineage::Node;
use crate::ledger::lot::{BudState, First, Origin, Step};
use crate::ledger::refusal::Refusal;
use crate::records::{MotherTree, TestResult};

use super::rules::some;
use super::{Decided, Desk};

impl Desk<'_> {
    pub(super) fn cut_sticks(self, deed: &CutSticks) -> Decided {
        let tree = self.usable_tree(&deed.mother_tree)?;
        some(deed.buds, "buds")?;
        if self.books.cuts.contains_key(&deed.cut) {
            return Err(Refusal::new(
                format!("there is a cut {} already", deed.cut),
                "use another name",
            ));
        }
        Ok(vec![Event::SticksCut {
            variety: tree.variety,
            of: deed.clone(),
        }])
    }

    pub(super) fn store_sticks(self, deed: &Sticks) -> Decided {
        let cut = self.cut(&deed.cut)?;
        enough_buds(&deed.cut, cut, deed.buds)?;
        Ok(vec![Event::SticksStored(deed.clone())])
    }

    pub(super) fn discard_sticks(self, deed: &Sticks) -> Decided {
        let cut = self.cut(&deed.cut)?;
        some(deed.buds, "buds")?;
        enough_buds(&deed.cut, cut, deed.buds)?;
        Ok(vec![Event::BudsUsed {
            cut: deed.cut.clone(),
            buds: deed.buds,
            discarded: true,
        }])
    }

    pub(super) fn bud(self, deed: &Bud) -> Decided {
        let standing = self.lot(&deed.lot)?;
        if !matches!(standing.view.stage, StageKind::Liner | StageKind::Missed) {
            return Err(Refusal::new(
                format!(
                    "{} holds {} plants; only liners and missed stocks are budded",
                    deed.lot,
                    standing.view.stage.word()
                ),
                "name a lot of liners or missed stocks",
            ));
        }
        standing.enough(deed.plants)?;
        self.known_variety(&deed.variety)?;
        self.combines(
            &deed.variety,
            &standing.lot.rootstock,
            deed.override_reason.as_deref(),
        )?;
        let buds = deed.buds.unwrap_or(deed.plants);
        if buds < deed.plants {
            return Err(Refusal::new(
                format!(
                    "{buds} buds are fewer than the {} plants budded",
                    deed.plants
                ),
                "give one bud a plant or more",
            ));
        }
        let source = self.bud_source(deed, buds)?;
        let name = self.new_name(deed.new_lot.as_ref(), deed.lot.as_str())?;
        let mut part = standing.part(name.clone(), deed.plants, First::Ready);
        part.stage = StageKind::Budded;
        part.variety = Some(deed.variety.clone());
        (part.growing, part.ready) = (deed.plants, 0);
        (part.entered, part.budded_on) = (self.when.on, Some(self.when.on));
        (part.bud, part.step) = (Some(BudState::Wrapped), None);
        part.from.push(source.clone());
        let mut events = standing.become_lot(part, First::Ready);
        if let Origin::Cut(cut) = source {
            events.push(Event::BudsUsed {
                cut,
                buds,
                discarded: false,
            });
        }
        events.push(Event::Budded {
            lot: name,
            plants: deed.plants,
            buds: deed.buds,
            method: deed.method,
            budder: deed.budder.clone(),
            override_reason: deed.override_reason.clone(),
        });
        Ok(events)
    }

    pub(super) fn unwrap(self, deed: &Unwrap) -> Decided {
        let standing = self.lot(&deed.lot)?;
        if standing.view.bud != Some(BudState::Wrapped) {
            return Err(Refusal::new(
                format!("{} has no wrapped buds", deed.lot),
                "name a lot that was budded and not yet unwrapped",
            ));
        }
        let parts = [deed.taken, deed.missed, deed.dead];
        let sum: u64 = parts.iter().map(|it| u64::from(*it)).sum();
        let stand = standing.view.plants();
        if sum != u64::from(stand) {
            return Err(Refusal::new(
                format!(
                    "taken, missed and dead are {sum} together, but {stand} buds stand in {}",
                    deed.lot
                ),
                format!("make them {stand}, or count the lot first"),
            ));
        }
        let gone = deed.missed + deed.dead;
        if gone > 0 {
            standing.enough(gone)?;
        }
        let mut events = vec![Event::Taken(deed.clone())];
        events.extend(standing.leave(deed.dead, First::Growing, Account::Gone(Fate::Dead)));
        if deed.missed > 0 {
            let name = self.new_name(None, &format!("{}~missed", deed.lot))?;
            let mut part = standing.part(name, deed.missed, First::Growing);
            part.stage = StageKind::Missed;
            (part.variety, part.budded_on, part.bud) = (None, None, None);
            (part.growing, part.ready) = (0, deed.missed);
            (part.entered, part.step) = (self.when.on, None);
            events.extend(standing.become_lot(part, First::Growing));
        }
        events.push(standing.step(Step::Unwrapped));
        Ok(events)
    }

    /// Refuses a combination that fails, unless somebody says why it is wanted.
    fn combines(
        self,
        variety: &VarietyName,
        rootstock: &RootstockName,
        wanted_because: Option<&str>,
    ) -> Result<(), Refusal> {
        let catalogue = self.world.catalogue();
        let fails = |rootstock: &RootstockName| {
            let known = catalogue.combination(variety, rootstock);
            known.filter(|it| it.verdict == Verdict::Incompatible)
        };
        let Some(known) = fails(rootstock) else {
            return Ok(());
        };
        if wanted_because.is_some_and(|it| !it.trim().is_empty()) {
            return Ok(());
        }
        let good = |rootstock: &&RootstockName| {
            let known = catalogue.combination(variety, rootstock);
            known.is_some_and(|it| it.verdict == Verdict::Compatible)
        };
        let others: Vec<&str> = catalogue
            .rootstocks
            .keys()
            .filter(good)
            .map(RootstockName::as_str)
            .collect();
        let mend = if others.is_empty() {
            "give the reason as override if it is wanted all the same".to_owned()
        } else {
            format!(
                "bud it on {}, or give the reason as override if it is wanted all the same",
                others.join(", ")
            )
        };
        Err(Refusal::new(
            format!(
                "{variety} is incompatible with {rootstock}: {}",
                known.reason
            ),
            mend,
        ))
    }

    /// Where the buds come from, if they may be used.
    fn bud_source(self, deed: &Bud, buds: u32) -> Result<Origin, Refusal> {
        let source = deed.source.as_str();
        let of_variety = |variety: &VarietyName| {
            if *variety == deed.variety {
                return Ok(());
            }
            Err(Refusal::new(
                format!("buds of {source} are {variety}, not {}", deed.variety),
                "mend the variety or the source",
            ))
        };
        if let Some(cut) = self.books.cuts.get(source) {
            of_variety(&cut.variety)?;
            self.free_of_holds(&Node::Cut(source.to_owned()), source)?;
            if cut.when.on > self.when.on {
                return Err(Refusal::new(
                    format!("{source} was cut on {}, after the budding", cut.when.on),
                    "mend one of the two days",
                ));
            }
            enough_buds(source, cut, buds)?;
            return Ok(Origin::Cut(source.to_owned()));
        }
        let name = MotherTreeName::from(source);
        if self.tree_row(&name).is_some() {
            of_variety(&self.usable_tree(&name)?.variety)?;
            return Ok(Origin::MotherTree(source.to_owned()));
        }
        let lot = LotName::from(source);
        let Some(from) = self.books.lots.get(&lot) else {
            return Err(Refusal::new(
                format!("there is no cut, mother tree or lot {source}"),
                "record the cut first, or name another source",
            ));
        };
        match &from.variety {
            Some(variety) => of_variety(variety)?,
            None => {
                return Err(Refusal::new(
                    format!("{source} is not budded, so that it has no buds to give"),
                    "name another source",
                ));
            }
        }
        self.free_of_holds(&Node::Lot(lot.clone()), source)?;
        Ok(Origin::BudsOf(lot))
    }

    /// A mother tree whose buds may be cut on the day.
    fn usable_tree(self, name: &MotherTreeName) -> Result<MotherTree, Refusal> {
        let Some(tree) = self.tree_row(name) else {
            return Err(Refusal::new(
                format!("there is no mother tree {name}"),
                "set it first, with its variety and test",
            ));
        };
        let known = self.books.trees.get(name);
        if let Some(when) = known.and_then(|it| it.destroyed) {
            return Err(Refusal::new(
                format!("{name} was destroyed on {}", when.on),
                "cut from another tree",
            ));
        }
        self.free_of_holds(&Node::MotherTree(name.clone()), name.as_str())?;
        match (tree.result, tree.usable_until()) {
            (TestResult::Clean, Some(until)) if until >= self.when.on => Ok(tree),
            (TestResult::Clean, Some(until)) => Err(Refusal::new(
                format!("the test of {name} lapsed on {until}"),
                "test it again, or cut from a tree with a valid test",
            )),
            (TestResult::Found, _) => Err(Refusal::new(
                format!("the last test of {name} found something"),
                "cut from another tree",
            )),
            _ => Err(Refusal::new(
                format!("{name} has no test"),
                "test it first, or cut from a tree with a valid test",
            )),
        }
    }

    pub(super) fn tree_row(self, name: &MotherTreeName) -> Option<MotherTree> {
        self.books.mother_tree(name, self.when.on)
    }

    fn cut(&self, name: &str) -> Result<&Cut, Refusal> {
        self.books
            .cuts
            .get(name)
            .ok_or_else(|| Refusal::new(format!("there is no cut {name}"), "record the cut first"))
    }
}

fn enough_buds(name: &str, cut: &Cut, buds: u32) -> Result<(), Refusal> {
    let left = cut.left();
    if buds <= left {
        return Ok(());
    }
    Err(Refusal::new(
        format!(
            "{buds} buds are more than the {left} left of the {} cut as {name}",
            cut.of.buds
        ),
        format!("use at most {left}, or record another cut"),
    ))
}
