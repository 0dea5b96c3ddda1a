//! Acts: what a person meant, one JSON object each.

use std::fmt;

use jiff::civil::{Date, Time};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use ulid::Ulid;

use super::Refusal;
use super::amount::{Caliper, Hours, Percent};
use crate::catalogue::StageKind;
use crate::ids::{
    LotName, MotherTreeName, PlaceName, RootstockName, SizeName, StepName, VarietyName,
};
use crate::records::Look;
pub use crate::records::Substitute;

/// The name of an act: a ULID made by its sender, so that it can be sent again without harm.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct ActId(String);

impl ActId {
    /// The name as written.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for ActId {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        // One way of writing only, so that the same id is the same text.
        let is_ulid = Ulid::from_string(&text).is_ok_and(|it| it.to_string() == text);
        if is_ulid {
            Ok(Self(text))
        } else {
            Err(format!("{text} is no ULID (26 letters and digits)"))
        }
    }
}

impl From<ActId> for String {
    fn from(id: ActId) -> Self {
        id.0
    }
}

impl fmt::Display for ActId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// An act.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    /// Its name.
    pub id: ActId,
    /// The day it happened.
    pub on: Date,
    /// Who did it.
    pub by: String,
    /// The time of day in the field, of an entry made there. It may come late, so that whoever made it can mend
    /// nothing when it is refused: it is kept to be settled.
    pub at: Option<Time>,
    /// Plants that stood in its lot as far as whoever made it knew.
    pub knew: Option<u32>,
    /// Who settled it after it was refused.
    pub settled_by: Option<String>,
    /// What was done.
    pub deed: Deed,
}

/// The keys that every act has.
#[derive(Serialize, Deserialize)]
struct Header {
    id: ActId,
    on: Date,
    by: String,
    at: Option<Time>,
    knew: Option<u32>,
    settled_by: Option<String>,
}

/// Their names.
const HEADER: [&str; 6] = ["id", "on", "by", "at", "knew", "settled_by"];

impl Act {
    /// A deed of a day, by somebody.
    pub fn new(id: ActId, on: Date, by: String, deed: Deed) -> Self {
        Self {
            id,
            on,
            by,
            at: None,
            knew: None,
            settled_by: None,
            deed,
        }
    }

    /// Reads an act from its JSON object.
    pub fn from_json(value: &Value) -> Result<Self, Refusal> {
        let Value::Object(keys) = value else {
            return Err(Refusal::new(
                "an act is a JSON object",
                "write one object a line",
            ));
        };
        let (mut header, mut deed) = (Map::new(), Map::new());
        for (key, value) in keys {
            let part = if HEADER.contains(&key.as_str()) {
                &mut header
            } else {
                &mut deed
            };
            part.insert(key.clone(), value.clone());
        }
        let header: Header = read(header)?;
        Ok(Self {
            id: header.id,
            on: header.on,
            by: header.by,
            at: header.at,
            knew: header.knew,
            settled_by: header.settled_by,
            deed: read(deed)?,
        })
    }

    /// The act's JSON object; [`Act::from_json`] of it gives the act again.
    pub fn to_json(&self) -> Value {
        let header = Header {
            id: self.id.clone(),
            on: self.on,
            by: self.by.clone(),
            at: self.at,
            knew: self.knew,
            settled_by: self.settled_by.clone(),
        };
        let mut all = object(&header);
        all.extend(object(&self.deed));
        Value::Object(all)
    }
}

fn read<T: for<'a> Deserialize<'a>>(keys: Map<String, Value>) -> Result<T, Refusal> {
    serde_json::from_value(Value::Object(keys)).map_err(|error| {
        let error = error
            .to_string()
            .replace("u32", "a whole number, 0 or more");
        Refusal::new(
            format!("the act cannot be read: {error}"),
            "see docs/models/lots.md for the keys of every act",
        )
    })
}

/// The keys of a value, without those that have none.
fn object<T: Serialize>(value: &T) -> Map<String, Value> {
    match serde_json::to_value(value).map(without_nulls) {
        Ok(Value::Object(keys)) => keys,
        _ => Map::new(),
    }
}

fn without_nulls(value: Value) -> Value {
    match value {
        Value::Object(keys) => keys
            .into_iter()
            .filter(|(_, value)| !value.is_null())
            .map(|(key, value)| (key, without_nulls(value)))
            .collect::<Map<_, _>>()
            .into(),
        Value::Array(values) => values.into_iter().map(without_nulls).collect(),
        other => other,
    }
}

/// What was done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "act", rename_all = "snake_case")]
pub enum Deed {
    /// A lot that stood when the books were opened.
    OpenLot(OpenLot),
    /// Seed came in.
    ReceiveSeed(ReceiveSeed),
    /// Seed was sown.
    Sow(Sow),
    /// What stands was counted.
    Count(Count),
    /// Off-types were taken out.
    Rogue(Rogue),
    /// Plants were lost.
    Lose(Lose),
    /// Seedlings went to the rows.
    LineOut(Shift),
    /// Plants went into pots.
    PotUp(Shift),
    /// Plants came out of the row.
    Lift(Shift),
    /// Plants went elsewhere.
    Move(Shift),
    /// Plants were bought.
    BuyIn(BuyIn),
    /// Budsticks were cut.
    CutSticks(CutSticks),
    /// Budsticks were stored.
    StoreSticks(Sticks),
    /// Budsticks were thrown out.
    DiscardSticks(Sticks),
    /// Buds were set.
    Bud(Bud),
    /// Buds were unwrapped and counted.
    Unwrap(Unwrap),
    /// Buds were forced.
    Force(Force),
    /// Trees were staked.
    Stake(Work),
    /// Suckers were taken off.
    Sucker(Work),
    /// Trees were headed.
    Head(Work),
    /// Trees were graded.
    Grade(Grade),
    /// A part became a lot of its own.
    Split(Split),
    /// Lots became one.
    Merge(Merge),
    /// An order came in.
    Order(Order),
    /// An order was changed.
    ChangeOrder(ChangeOrder),
    /// An order, or lines of it, were cancelled.
    CancelOrder(CancelOrder),
    /// Plants were promised.
    Promise(Promise),
    /// Plants were sent off.
    Ship(Ship),
    /// Plants are meant for a line.
    Tag(Tag),
    /// A sample was looked at.
    Measure(Measure),
    /// A sample was taken.
    Sample(Sample),
    /// A test gave a result.
    Result(TestOutcome),
    /// A tree or lot was held.
    Hold(Ruling),
    /// A tree or lot was freed.
    Release(Ruling),
    /// A tree or lot was destroyed.
    Destroy(Ruling),
    /// A place was sprayed and is closed for a while.
    Spray(Spray),
    /// Hours were worked.
    Hours(Worked),
    /// A note.
    Note(Note),
    /// An act was wrong.
    Correct(Correct),
    /// A setting holds from a day on.
    Set(Set),
    /// A plan was accepted.
    AcceptPlan(AcceptPlan),
    /// An entry that was to be settled is left out.
    LeaveOut(LeaveOut),
}

impl Deed {
    /// The lot that it is done to, where it is one.
    pub fn lot(&self) -> Option<&LotName> {
        match self {
            Self::Count(it) => Some(&it.lot),
            Self::Rogue(it) => Some(&it.lot),
            Self::Lose(it) => Some(&it.lot),
            Self::LineOut(it) | Self::PotUp(it) | Self::Lift(it) | Self::Move(it) => Some(&it.lot),
            Self::Bud(it) => Some(&it.lot),
            Self::Unwrap(it) => Some(&it.lot),
            Self::Force(it) => Some(&it.lot),
            Self::Stake(it) | Self::Sucker(it) | Self::Head(it) => Some(&it.lot),
            Self::Grade(it) => Some(&it.lot),
            Self::Split(it) => Some(&it.lot),
            Self::Measure(it) => Some(&it.lot),
            Self::Ship(it) => Some(&it.lot),
            Self::Tag(it) => Some(&it.lot),
            _ => None,
        }
    }
}

macro_rules! keys_of {
    ($($(#[$doc:meta])* $name:ident { $($(#[$of_key:meta])* $key:ident: $kind:ty,)+ })+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$of_key])* pub $key: $kind,)+
        }
    )+};
}

keys_of! {
    /// `open_lot`.
    OpenLot {
        /// Its name.
        lot: LotName,
        /// Kind of plant.
        stage: StageKind,
        /// Rootstock.
        rootstock: RootstockName,
        /// Variety, once budded.
        variety: Option<VarietyName>,
        /// Size, of finished trees.
        size: Option<SizeName>,
        /// Where it stands.
        place: PlaceName,
        /// Plants not yet ready.
        growing: u32,
        /// Plants ready for the next step or for sale.
        ready: u32,
        /// Day it entered its stage.
        entered: Date,
        /// Day it was budded.
        budded_on: Option<Date>,
        /// Step of the route it came from.
        step: Option<StepName>,
        /// Mother tree, seed batch (`batch NAME`) or seller.
        source: Option<String>,
    }
    /// `receive_seed`.
    ReceiveSeed {
        /// Rootstock.
        rootstock: RootstockName,
        /// Seeds.
        seeds: u32,
        /// Name of the batch.
        batch: String,
        /// Share that comes up, where tested.
        germination_percent: Option<Percent>,
        /// Where it comes from.
        source: Option<String>,
        /// First day it can be sown.
        available: Option<Date>,
        /// Last day it can be sown.
        use_by: Option<Date>,
    }
    /// `sow`.
    Sow {
        /// Rootstock.
        rootstock: RootstockName,
        /// Seeds.
        seeds: u32,
        /// Seed batch.
        batch: Option<String>,
        /// Where.
        place: PlaceName,
        /// Name of the new lot.
        lot: Option<LotName>,
    }
    /// `count`.
    Count {
        /// The lot.
        lot: LotName,
        /// Plants that stand.
        plants: u32,
        /// How many of them are ready.
        ready: Option<u32>,
    }
    /// `rogue`.
    Rogue {
        /// The lot.
        lot: LotName,
        /// Plants taken out.
        plants: u32,
    }
    /// `lose`.
    Lose {
        /// The lot.
        lot: LotName,
        /// Plants lost.
        plants: u32,
        /// Why.
        reason: LossReason,
        /// In words.
        note: Option<String>,
    }
    /// `line_out`, `pot_up`, `lift` and `move`.
    Shift {
        /// The lot.
        lot: LotName,
        /// Plants.
        plants: u32,
        /// Where to.
        place: PlaceName,
        /// Size, of a tree.
        size: Option<SizeName>,
        /// Name of the new lot.
        new_lot: Option<LotName>,
    }
    /// `buy_in`.
    BuyIn {
        /// Kind of plant.
        stage: StageKind,
        /// Rootstock.
        rootstock: RootstockName,
        /// Variety, of budded trees.
        variety: Option<VarietyName>,
        /// Size, of finished trees.
        size: Option<SizeName>,
        /// Plants.
        plants: u32,
        /// Where.
        place: PlaceName,
        /// Seller.
        source: String,
        /// Cost of all, minor units.
        cost: Option<i64>,
        /// Name of the new lot.
        lot: Option<LotName>,
    }
    /// `cut_sticks`.
    CutSticks {
        /// The mother tree.
        mother_tree: MotherTreeName,
        /// Name of the cut.
        cut: String,
        /// Budsticks.
        sticks: u32,
        /// Buds on them.
        buds: u32,
    }
    /// `store_sticks` and `discard_sticks`.
    Sticks {
        /// The cut.
        cut: String,
        /// Budsticks.
        sticks: u32,
        /// Buds on them.
        buds: u32,
    }
    /// `bud`.
    Bud {
        /// The lot of stocks.
        lot: LotName,
        /// What is budded on.
        variety: VarietyName,
        /// Plants budded.
        plants: u32,
        /// Cut, mother tree or lot the buds come from.
        source: String,
        /// Buds used.
        buds: Option<u32>,
        /// How.
        method: BudMethod,
        /// By whom.
        budder: Option<String>,
        /// Name of the new lot.
        new_lot: Option<LotName>,
        /// Why an incompatible combination is wanted.
        #[serde(rename = "override")]
        override_reason: Option<String>,
    }
    /// `unwrap`.
    Unwrap {
        /// The lot.
        lot: LotName,
        /// Buds that took.
        taken: u32,
        /// Sound stocks whose bud did not take.
        missed: u32,
        /// Dead plants.
        dead: u32,
    }
    /// `force`.
    Force {
        /// The lot.
        lot: LotName,
        /// Plants; all without it.
        plants: Option<u32>,
        /// Hours it took.
        hours: Option<Hours>,
        /// Name of the new lot, of a part.
        new_lot: Option<LotName>,
    }
    /// `stake`, `sucker` and `head`.
    Work {
        /// The lot.
        lot: LotName,
        /// Plants; all without it.
        plants: Option<u32>,
        /// Hours it took.
        hours: Option<Hours>,
    }
    /// `grade`.
    Grade {
        /// The lot.
        lot: LotName,
        /// Saleable trees.
        saleable: u32,
        /// Trees to grow on.
        held_back: u32,
        /// Trees thrown out.
        culled: u32,
        /// Size of the saleable ones.
        size: Option<SizeName>,
        /// Names of the lots they become.
        new_lots: Option<GradedLots>,
    }
    /// Lots of a grading.
    GradedLots {
        /// Of the saleable trees.
        saleable: Option<LotName>,
        /// Of those held back.
        held_back: Option<LotName>,
    }
    /// `split`.
    Split {
        /// The lot.
        lot: LotName,
        /// Plants of the part.
        plants: u32,
        /// Name of the part.
        new_lot: LotName,
    }
    /// `merge`.
    Merge {
        /// The lots.
        lots: Vec<LotName>,
        /// Name of the whole.
        new_lot: LotName,
    }
    /// A line of an order.
    Line {
        /// The line within the order.
        line: String,
        /// Variety.
        variety: VarietyName,
        /// Rootstocks the customer accepts, best first.
        rootstocks: Vec<RootstockName>,
        /// Size.
        size: SizeName,
        /// Plants.
        plants: u32,
        /// First day it may ship.
        earliest: Date,
        /// Day it is due.
        due: Date,
        /// Last day it may ship.
        latest: Date,
        /// Price a plant, minor units.
        price: i64,
        /// Whether it is under contract.
        contract: bool,
        /// Share it may fall short and still be complete.
        tolerance_percent: Option<Percent>,
        /// What the customer takes in its place.
        substitutes: Option<Vec<Substitute>>,
        /// Paid down for it, minor units.
        deposit: Option<i64>,
        /// Odds that the customer cancels it before it is due; those of the settings without it.
        cancel_percent: Option<Percent>,
        /// Plants from which on a part of it is sent off; its last rest may be fewer.
        minimum_load: Option<u32>,
        /// Odds of being on time to aim at, set by hand; without it they follow from what a tree costs and earns.
        target_percent: Option<Percent>,
        /// Grade its trees must make.
        grade: Option<String>,
        /// Health class its trees must have.
        health_class: Option<String>,
    }
    /// `order`.
    Order {
        /// Its name.
        order: String,
        /// The customer.
        customer: String,
        /// Its lines.
        lines: Vec<Line>,
    }
    /// `change_order`.
    ChangeOrder {
        /// The order.
        order: String,
        /// Lines in place of those of their names, or new.
        lines: Vec<Line>,
    }
    /// `cancel_order`.
    CancelOrder {
        /// The order.
        order: String,
        /// Lines; all without it.
        lines: Option<Vec<String>>,
    }
    /// `promise`.
    Promise {
        /// The order.
        order: String,
        /// The line.
        line: String,
        /// Plants.
        plants: u32,
        /// By when; `by` is the person.
        until: Option<Date>,
    }
    /// `ship`.
    Ship {
        /// The order.
        order: String,
        /// The line.
        line: String,
        /// The lot.
        lot: LotName,
        /// Plants.
        plants: u32,
        /// Why they go although the lot lacks the health class, or the load is too small.
        #[serde(rename = "override")]
        override_reason: Option<String>,
    }
    /// `tag`.
    Tag {
        /// The order.
        order: String,
        /// The line.
        line: String,
        /// The lot.
        lot: LotName,
        /// Plants of it that are meant for the line from now on; 0 takes the tag off.
        plants: u32,
    }
    /// `measure`.
    Measure {
        /// The lot.
        lot: LotName,
        /// Plants looked at; as many as calipers without it.
        looked_at: Option<u32>,
        /// How many of them were fit for the next step.
        fit: Option<u32>,
        /// Their calipers, mm.
        calipers_mm: Option<Vec<Caliper>>,
        /// Caliper from which a plant is fit, mm.
        fit_from_mm: Option<Caliper>,
    }
    /// `spray`.
    Spray {
        /// Where.
        place: PlaceName,
        /// With what, as its label names it.
        product: String,
        /// The last day on which nobody goes in, as the label says; none where it does not close the place beyond the day.
        closed_until: Option<Date>,
        /// In words.
        note: Option<String>,
    }
    /// `sample`.
    Sample {
        /// The mother tree.
        mother_tree: Option<MotherTreeName>,
        /// Or the lot.
        lot: Option<LotName>,
        /// What it is tested for.
        tests: Vec<String>,
        /// Where.
        laboratory: Option<String>,
        /// Name of the sample.
        sample: Option<String>,
    }
    /// `result`.
    TestOutcome {
        /// The sample.
        sample: String,
        /// What it was tested for.
        test: String,
        /// Whether it was found.
        found: bool,
    }
    /// `hold`, `release` and `destroy`.
    Ruling {
        /// The mother tree.
        mother_tree: Option<MotherTreeName>,
        /// Or the lot.
        lot: Option<LotName>,
        /// Why.
        reason: String,
    }
    /// `hours`.
    Worked {
        /// Who.
        person: Option<String>,
        /// Or which crew.
        crew: Option<String>,
        /// At what.
        job: String,
        /// How long.
        hours: Hours,
    }
    /// `note`.
    Note {
        /// On what.
        about: Option<String>,
        /// The words.
        text: String,
    }
    /// `correct`.
    Correct {
        /// The act that was wrong.
        corrects: ActId,
        /// Its right keys; it never happened without them.
        right: Option<Map<String, Value>>,
        /// Why.
        reason: String,
    }
    /// `set`.
    Set {
        /// Kind of setting.
        what: String,
        /// The row, or the text.
        values: Map<String, Value>,
        /// Holds from this day on.
        from: Date,
    }
    /// `accept_plan`.
    AcceptPlan {
        /// The run.
        run: String,
    }
    /// `leave_out`.
    LeaveOut {
        /// The entry.
        entry: ActId,
        /// Why.
        reason: String,
    }
}

/// Why plants were lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LossReason {
    /// Frost.
    Frost,
    /// Heat.
    Heat,
    /// Disease.
    Disease,
    /// Drought.
    Drought,
    /// Injury.
    Injury,
    /// Too old to be used.
    OverAge,
    /// Theft.
    Theft,
    /// Anything else.
    Other,
}

/// How a bud is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BudMethod {
    /// T-bud.
    T,
    /// Inverted T.
    InvertedT,
    /// Chip bud.
    Chip,
}

impl Measure {
    /// Plants looked at.
    pub fn looked_at(&self) -> u32 {
        let measured = self.calipers_mm.as_ref().map_or(0, Vec::len);
        let measured = u32::try_from(measured).unwrap_or(u32::MAX);
        self.looked_at.unwrap_or(measured)
    }

    /// What was seen on a day. Where it is not told how many were fit, their calipers may say it.
    pub fn look(&self, on: Date) -> Look {
        let calipers = self.calipers_mm.as_deref().unwrap_or_default();
        let by_caliper = || {
            let from = self.fit_from_mm.filter(|_| !calipers.is_empty())?;
            u32::try_from(calipers.iter().filter(|it| **it >= from).count()).ok()
        };
        Look {
            on,
            looked_at: self.looked_at(),
            fit: self.fit.or_else(by_caliper),
            calipers_mm: calipers.iter().map(|it| f64::from(*it)).collect(),
            fit_from_mm: self.fit_from_mm.map(f64::from),
        }
    }
}
