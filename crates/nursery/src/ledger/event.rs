//! Events: what an accepted act changes, as it is stored.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::act::{
    ActId, BudMethod, CutSticks, Line, LossReason, Measure, Note, ReceiveSeed, Set, Spray, Sticks,
    TestOutcome, Unwrap, Worked,
};
use super::amount::Hours;
use super::lot::{Step, When};
use crate::ids::{LotName, MotherTreeName, VarietyName};

/// Where plants are.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Account {
    /// In a lot.
    Lot(LotName),
    /// Seeds of a batch, or of none that is known.
    Seed(Option<String>),
    /// Bought from a seller.
    Bought(String),
    /// Stood when the books were opened.
    Opening,
    /// What a lot's counts differ from its books by.
    Difference(LotName),
    /// Gone.
    Gone(Fate),
    /// Sent to a line of an order.
    Shipped {
        /// The order.
        order: String,
        /// The line.
        line: String,
    },
}

impl Account {
    /// The lot, where it is one.
    pub fn lot(&self) -> Option<&LotName> {
        match self {
            Self::Lot(lot) => Some(lot),
            _ => None,
        }
    }
}

/// What became of plants that are gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// Lost.
    Lost(LossReason),
    /// Taken out as off-types.
    Rogued,
    /// Dead at the unwrapping.
    Dead,
    /// Culled at a grading.
    Culled,
    /// Destroyed.
    Destroyed,
}

/// A mother tree or a lot.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// A mother tree.
    MotherTree(MotherTreeName),
    /// A lot.
    Lot(LotName),
}

/// Something that changes the books.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Event {
    /// Plants went from one account to another.
    Moved {
        /// From where.
        from: Account,
        /// Where to.
        to: Account,
        /// How many.
        plants: u32,
    },
    /// A lot changed; its first step is its beginning.
    Lot {
        /// The lot.
        lot: LotName,
        /// What changed.
        step: Step,
    },
    /// A batch of seed came in.
    SeedReceived(ReceiveSeed),
    /// Budsticks were cut.
    SticksCut {
        /// Its variety.
        variety: VarietyName,
        /// The cut.
        of: CutSticks,
    },
    /// Budsticks were stored.
    SticksStored(Sticks),
    /// Buds left a cut.
    BudsUsed {
        /// The cut.
        cut: String,
        /// Buds.
        buds: u32,
        /// Thrown out, not set.
        discarded: bool,
    },
    /// Buds were set, as the rates of take will want to know.
    Budded {
        /// The new lot.
        lot: LotName,
        /// Plants.
        plants: u32,
        /// Buds used, where written down.
        buds: Option<u32>,
        /// How.
        method: BudMethod,
        /// By whom.
        budder: Option<String>,
        /// Why an incompatible combination was wanted.
        override_reason: Option<String>,
    },
    /// A take count.
    Taken(Unwrap),
    /// Work on a lot.
    Worked {
        /// The lot.
        lot: LotName,
        /// The job: the act's word.
        job: String,
        /// Plants; all without it.
        plants: Option<u32>,
        /// Hours it took.
        hours: Option<Hours>,
    },
    /// An order came in.
    Ordered {
        /// Its name.
        order: String,
        /// The customer.
        customer: String,
    },
    /// A line of an order is so from now on; none when it is cancelled.
    LineSet {
        /// The order.
        order: String,
        /// The line.
        line: String,
        /// How it is.
        to: Option<Box<Line>>,
    },
    /// Plants were promised.
    Promised {
        /// The order.
        order: String,
        /// The line.
        line: String,
        /// Plants.
        plants: u32,
        /// By when.
        until: Option<Date>,
        /// What was known of the odds.
        odds: Option<Map<String, Value>>,
    },
    /// So many plants of a lot are meant for a line from now on.
    Tagged {
        /// The order.
        order: String,
        /// The line.
        line: String,
        /// The lot.
        lot: LotName,
        /// Plants.
        plants: u32,
    },
    /// A sample of a lot was looked at.
    Measured(Measure),
    /// A place was sprayed.
    Sprayed(Spray),
    /// A sample was taken.
    Sampled {
        /// Its name.
        sample: String,
        /// Of what.
        of: Subject,
        /// What it is tested for.
        tests: Vec<String>,
        /// Where.
        laboratory: Option<String>,
    },
    /// A test gave a result.
    Resulted(TestOutcome),
    /// A tree or lot and all downstream of it is held.
    Held {
        /// What.
        of: Subject,
        /// Why.
        reason: String,
    },
    /// A tree or lot and all downstream of it is free again.
    Released {
        /// What.
        of: Subject,
        /// Why.
        reason: String,
    },
    /// A mother tree was destroyed; a lot's plants move to their account.
    Destroyed {
        /// What.
        of: Subject,
        /// Why.
        reason: String,
    },
    /// Hours were worked.
    HoursWorked(Worked),
    /// A note.
    Noted(Note),
    /// All events of an act are taken back; those that follow stand in their place.
    TakenBack {
        /// The act.
        act: ActId,
        /// When it was.
        when: When,
        /// Its events.
        events: Vec<Event>,
        /// The act as it should have been; none when it never happened.
        instead: Option<Value>,
        /// When the events that follow are.
        anew: When,
        /// Why.
        reason: String,
    },
    /// A setting holds from a day on.
    SettingSet(Set),
    /// A plan was accepted.
    PlanAccepted {
        /// The run.
        run: String,
        /// What was accepted, and what it was made from.
        plan: Map<String, Value>,
    },
    /// An entry that was to be settled is left out.
    LeftOut {
        /// The entry.
        entry: ActId,
        /// The number of its refusal.
        number: u64,
        /// Why.
        reason: String,
    },
}
