//! The work that was recorded, kept up as the ledger grows.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::Arc;

use jiff::civil::Date;
use nursery::ids::{LotName, SizeName};
use nursery::ledger::act::Note;
use nursery::ledger::books::AcceptedPlan;
use nursery::ledger::lot::When;
use nursery::ledger::{Act, Books, Deed, Event, Outcome};
use serde_json::Value;
use store::{Entry, Reading};

use super::planned::{self, Agreed};
use crate::error::AppError;
use crate::ledger::NurseryFile;

/// What makes two pieces of work the same kind: operation, rootstock, variety, size.
pub(in crate::ledger) type WorkKey = (String, String, Option<String>, Option<String>);

/// Plants by kind of work.
pub(in crate::ledger) type Done = BTreeMap<WorkKey, u64>;

/// The work and notes since the first plan was accepted, as they are in force.
///
/// Its caller keeps it, and lets it [follow](NurseryFile::follow) the ledger before a week is asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WorkDone {
    /// The last entry that it knows.
    number: u64,
    /// Acts by number; a corrected act keeps its own.
    acts: BTreeMap<u64, Act>,
    /// What the plan that was accepted last asks for, and the number of its acceptance.
    plan: Option<(u64, Arc<Agreed>)>,
}

impl NurseryFile {
    /// Lets what is known of the work follow the ledger up to the last entry of the books.
    pub fn follow(&self, books: &Books, done: &mut WorkDone) -> Result<(), AppError> {
        if done.number > books.number {
            // Books of an earlier knowledge: later corrections must not be known.
            *done = WorkDone::default();
        }
        let Some(first) = books.plans.iter().map(|it| it.when.number).min() else {
            // Work counts from the first plan on.
            *done = WorkDone {
                number: books.number,
                ..WorkDone::default()
            };
            return Ok(());
        };
        if done.number < first {
            done.number = first - 1;
        }
        done.read_plan(books);
        self.read_on(books, done)
    }

    /// The work after an entry, up to the last entry of the books.
    pub(in crate::ledger) fn work_after(
        &self,
        books: &Books,
        number: u64,
    ) -> Result<WorkDone, AppError> {
        let mut done = WorkDone {
            number,
            ..WorkDone::default()
        };
        self.read_on(books, &mut done)?;
        Ok(done)
    }

    fn read_on(&self, books: &Books, done: &mut WorkDone) -> Result<(), AppError> {
        if done.number >= books.number {
            return Ok(());
        }
        let read = self.ledger.entries(done.number, &mut |entry| {
            if entry.seq > books.number {
                return ControlFlow::Break(());
            }
            done.note(&entry);
            ControlFlow::Continue(())
        });
        self.asked(read)
    }
}

impl WorkDone {
    /// Reads what the last plan asks for, unless they are known: a plan is large, a week asked for often.
    fn read_plan(&mut self, books: &Books) {
        let Some(plan) = books.plans.last() else {
            return;
        };
        if self
            .plan
            .as_ref()
            .is_none_or(|(number, _)| *number != plan.when.number)
        {
            self.plan = Some((plan.when.number, planned::agreed(plan)));
        }
    }

    /// What an accepted plan asks for.
    pub(in crate::ledger) fn agreed(&self, plan: &AcceptedPlan) -> Arc<Agreed> {
        match &self.plan {
            Some((number, agreed)) if *number == plan.when.number => Arc::clone(agreed),
            _ => planned::agreed(plan),
        }
    }

    fn note(&mut self, entry: &Entry) {
        self.number = entry.seq;
        if !entry.done {
            return;
        }
        let value: Value = serde_json::from_slice(&entry.act).unwrap_or_default();
        let Ok(act) = Act::from_json(&value) else {
            return;
        };
        if !matches!(act.deed, Deed::Correct(_)) {
            self.keep(entry.seq, act);
            return;
        }
        let Ok(Outcome::Done(events)) = Outcome::decode(&entry.outcome) else {
            return;
        };
        if let Some(Event::TakenBack { when, instead, .. }) = events.first() {
            self.acts.remove(&when.number);
            if let Some(Ok(right)) = instead.as_ref().map(Act::from_json) {
                self.keep(when.number, right);
            }
        }
    }

    fn keep(&mut self, number: u64, act: Act) {
        let counts = match &act.deed {
            Deed::Note(note) => note.about.is_some(),
            deed => operation(deed).is_some(),
        };
        if counts {
            self.acts.insert(number, act);
        }
    }

    /// Acts after an entry, until the end of a day.
    fn since(&self, number: u64, as_of: Date) -> impl Iterator<Item = (When, &Act)> {
        let acts = self.acts.range(number + 1..);
        let acts = acts.map(|(number, act)| {
            let when = When {
                on: act.on,
                number: *number,
            };
            (when, act)
        });
        acts.filter(move |(when, _)| when.on <= as_of)
    }

    /// Plants by kind of work, of the work after an entry until the end of a day.
    pub(in crate::ledger) fn plants(&self, books: &Books, number: u64, as_of: Date) -> Done {
        let mut done = Done::new();
        for (when, act) in self.since(number, as_of) {
            if let Some((key, plants)) = work_of(books, when, &act.deed) {
                *done.entry(key).or_insert(0) += u64::from(plants);
            }
        }
        done
    }

    /// The last note on each thing, after an entry until the end of a day.
    pub(super) fn notes(&self, number: u64, as_of: Date) -> BTreeMap<&str, (When, &Act, &Note)> {
        let mut last: BTreeMap<&str, (When, &Act, &Note)> = BTreeMap::new();
        for (when, act) in self.since(number, as_of) {
            if let Deed::Note(note) = &act.deed
                && let Some(about) = &note.about
                && last.get(about.as_str()).is_none_or(|it| it.0 < when)
            {
                last.insert(about, (when, act, note));
            }
        }
        last
    }
}

/// The operation of a deed that a plan may hold.
fn operation(deed: &Deed) -> Option<&'static str> {
    Some(match deed {
        Deed::Sow(_) => "sow",
        Deed::BuyIn(_) => "buy_in",
        Deed::LineOut(_) => "line_out",
        Deed::PotUp(_) => "pot_up",
        Deed::Lift(_) => "lift",
        Deed::Bud(_) => "bud",
        Deed::Force(_) => "force",
        _ => return None,
    })
}

/// The kind of work of a deed, and its plants.
fn work_of(books: &Books, when: When, deed: &Deed) -> Option<(WorkKey, u32)> {
    let operation = operation(deed)?.to_owned();
    let of_lot = |lot: &LotName, size: Option<&SizeName>| -> Option<WorkKey> {
        let lot = books.lots.get(lot)?;
        Some((
            operation.clone(),
            lot.rootstock.to_string(),
            lot.variety.as_ref().map(ToString::to_string),
            size.map(ToString::to_string),
        ))
    };
    Some(match deed {
        Deed::Sow(it) => ((operation, it.rootstock.to_string(), None, None), it.seeds),
        Deed::BuyIn(it) => {
            let variety = it.variety.as_ref().map(ToString::to_string);
            let size = it.size.as_ref().map(ToString::to_string);
            let key = (operation, it.rootstock.to_string(), variety, size);
            (key, it.plants)
        }
        Deed::LineOut(it) | Deed::PotUp(it) | Deed::Lift(it) => {
            (of_lot(&it.lot, it.size.as_ref())?, it.plants)
        }
        Deed::Bud(it) => {
            let (operation, rootstock, ..) = of_lot(&it.lot, None)?;
            let variety = Some(it.variety.to_string());
            ((operation, rootstock, variety, None), it.plants)
        }
        Deed::Force(it) => {
            let stood = || Some(books.lots.get(&it.lot)?.before(when).ok()?.plants());
            (of_lot(&it.lot, None)?, it.plants.or_else(stood)?)
        }
        _ => return None,
    })
}
