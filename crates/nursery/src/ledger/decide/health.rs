//! Samples, results, holds and what is destroyed.

use crate::ids::{LotName, MotherTreeName};
use crate::ledger::act::{Ruling, Sample, Spray, TestOutcome};
use crate::ledger::event::{Account, Event, Fate, Subject};
use crate::ledger::lineage::Node;
use crate::ledger::lot::First;
use crate::ledger::refusal::Refusal;

use super::{Decided, Desk};

/// A place is closed after spraying for so many days at most: our own bound, against slips of the pen. Labels speak of hours
/// and days, and are the law.
const MOST_DAYS_CLOSED: i32 = 60;

impl Desk<'_> {
    pub(super) fn spray(self, deed: &Spray) -> Decided {
        self.known_place(&deed.place)?;
        if deed.product.trim().is_empty() {
            return Err(Refusal::new(
                "it is not said what was sprayed",
                "write the product as its label names it",
            ));
        }
        let days = deed
            .closed_until
            .map_or(0, |until| (until - self.when.on).get_days());
        if !(0..=MOST_DAYS_CLOSED).contains(&days) {
            return Err(Refusal::new(
                format!(
                    "sprayed on {}, {} cannot be closed until {}",
                    self.when.on,
                    deed.place,
                    deed.closed_until.unwrap_or(self.when.on)
                ),
                format!("give a day from that one on, at most {MOST_DAYS_CLOSED} days later"),
            ));
        }
        Ok(vec![Event::Sprayed(deed.clone())])
    }

    pub(super) fn sample(self, deed: &Sample) -> Decided {
        let of = self.subject(deed.mother_tree.as_ref(), deed.lot.as_ref())?;
        let sample = match &deed.sample {
            Some(name) if self.books.samples.contains_key(name) => {
                return Err(Refusal::new(
                    format!("there is a sample {name} already"),
                    "give it another name",
                ));
            }
            Some(name) => name.clone(),
            None => self.free_sample(&of),
        };
        Ok(vec![Event::Sampled {
            sample,
            of,
            tests: deed.tests.clone(),
            laboratory: deed.laboratory.clone(),
        }])
    }

    /// A name for a sample after its subject and day.
    fn free_sample(self, of: &Subject) -> String {
        let day = self.when.on;
        let base = match of {
            Subject::MotherTree(tree) => format!("{tree}-{day}"),
            Subject::Lot(lot) => format!("{lot}-{day}"),
        };
        let others = (2_u32..).map(|count| format!("{base}~{count}"));
        std::iter::once(base.clone())
            .chain(others)
            .find(|name| !self.books.samples.contains_key(name))
            .expect("there are more numbers than samples")
    }

    pub(super) fn result(self, deed: &TestOutcome) -> Decided {
        let Some(sample) = self.books.samples.get(&deed.sample) else {
            return Err(Refusal::new(
                format!("there is no sample {}", deed.sample),
                "record the sample first",
            ));
        };
        if sample.when.on > self.when.on {
            return Err(Refusal::new(
                format!(
                    "{} was taken on {}, after this result",
                    deed.sample, sample.when.on
                ),
                "mend one of the two days",
            ));
        }
        let mut events = vec![Event::Resulted(deed.clone())];
        if deed.found {
            events.push(Event::Held {
                of: sample.of.clone(),
                reason: format!("{} found in sample {}", deed.test, deed.sample),
            });
        }
        Ok(events)
    }

    pub(super) fn hold(self, deed: &Ruling) -> Decided {
        let of = self.subject(deed.mother_tree.as_ref(), deed.lot.as_ref())?;
        let reason = deed.reason.clone();
        Ok(vec![Event::Held { of, reason }])
    }

    pub(super) fn release(self, deed: &Ruling) -> Decided {
        let of = self.subject(deed.mother_tree.as_ref(), deed.lot.as_ref())?;
        let node = match &of {
            Subject::MotherTree(tree) => Node::MotherTree(tree.clone()),
            Subject::Lot(lot) => Node::Lot(lot.clone()),
        };
        if self.books.hold_on(&node, self.when.on).is_none() {
            return Err(Refusal::new(
                "it is not held",
                "there is nothing to release",
            ));
        }
        let reason = deed.reason.clone();
        Ok(vec![Event::Released { of, reason }])
    }

    pub(super) fn destroy(self, deed: &Ruling) -> Decided {
        let of = self.subject(deed.mother_tree.as_ref(), deed.lot.as_ref())?;
        let mut events = vec![Event::Destroyed {
            of: of.clone(),
            reason: deed.reason.clone(),
        }];
        if let Subject::Lot(lot) = &of {
            let standing = self.lot(lot)?;
            let plants = standing.view.plants();
            standing.enough(plants)?;
            let gone = Account::Gone(Fate::Destroyed);
            events.extend(standing.leave(plants, First::Growing, gone));
        }
        Ok(events)
    }

    /// Refuses what a hold reaches.
    pub(super) fn free_of_holds(self, node: &Node, name: &str) -> Result<(), Refusal> {
        match self.books.hold_on(node, self.when.on) {
            None => Ok(()),
            Some(hold) => {
                let of = match &hold.of {
                    Subject::MotherTree(tree) => format!("mother tree {tree}"),
                    Subject::Lot(lot) => format!("lot {lot}"),
                };
                Err(Refusal::new(
                    format!(
                        "{name} is held since {} with {of}: {}",
                        hold.when.on, hold.reason
                    ),
                    "use another one, or release it when it is found clean",
                ))
            }
        }
    }

    fn subject(
        self,
        mother_tree: Option<&MotherTreeName>,
        lot: Option<&LotName>,
    ) -> Result<Subject, Refusal> {
        match (mother_tree, lot) {
            (Some(tree), None) => {
                if self.tree_row(tree).is_none() && !self.books.trees.contains_key(tree) {
                    return Err(Refusal::new(
                        format!("there is no mother tree {tree}"),
                        "check its name, or set it first",
                    ));
                }
                Ok(Subject::MotherTree(tree.clone()))
            }
            (None, Some(lot)) => {
                self.lot(lot)?;
                Ok(Subject::Lot(lot.clone()))
            }
            _ => Err(Refusal::new(
                "neither or both of mother_tree and lot are named",
                "name the one it is about",
            )),
        }
    }
}
