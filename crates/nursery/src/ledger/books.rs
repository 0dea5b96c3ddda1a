//! The books: what stands, and where it came from, as all events so far leave it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::ToSpan;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::act::{ActId, CutSticks, Line, ReceiveSeed, Spray};
use super::event::{Account, Event, Subject};
use super::lineage::Node;
use super::lot::{Budding, Lot, Origin, Step, When};
use super::settings::SettingRows;
use crate::ids::{LotName, MotherTreeName, VarietyName};

/// Days seed keeps after it can be sown, where its batch does not say (common practice: some months
/// moist in the cold).
const SEED_KEEPS_DAYS: i32 = 240;

/// A batch of seed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Batch {
    /// When it came in.
    pub when: When,
    /// What came in.
    pub seed: ReceiveSeed,
    /// Sowings.
    pub sown: Vec<(When, u32)>,
    /// Lots sown from it.
    pub into: BTreeSet<LotName>,
}

impl Batch {
    /// Seeds left.
    pub fn left(&self) -> u32 {
        let sown: u32 = self.sown.iter().map(|(_, seeds)| seeds).sum();
        self.seed.seeds.saturating_sub(sown)
    }

    /// First day it can be sown.
    pub fn available(&self) -> Date {
        self.seed.available.unwrap_or(self.when.on)
    }

    /// Last day it can be sown.
    pub fn use_by(&self) -> Date {
        let keeps = || self.available().saturating_add(SEED_KEEPS_DAYS.days());
        self.seed.use_by.unwrap_or_else(keeps)
    }

    /// Seeds left at the end of a day.
    pub fn left_on(&self, day: Date) -> u32 {
        let sown = self.sown.iter().filter(|(when, _)| when.on <= day);
        let sown: u32 = sown.map(|(_, seeds)| seeds).sum();
        self.seed.seeds.saturating_sub(sown)
    }
}

/// A cut of budsticks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cut {
    /// When it was cut.
    pub when: When,
    /// Its variety.
    pub variety: VarietyName,
    /// What was cut.
    pub of: CutSticks,
    /// Uses of buds.
    pub used: Vec<(When, u32)>,
    /// Lots budded from it.
    pub into: BTreeSet<LotName>,
}

impl Cut {
    /// Buds that are left.
    pub fn left(&self) -> u32 {
        let used: u32 = self.used.iter().map(|(_, buds)| buds).sum();
        self.of.buds.saturating_sub(used)
    }

    /// Buds that are left at the end of a day.
    pub fn left_on(&self, day: Date) -> u32 {
        let used = self.used.iter().filter(|(when, _)| when.on <= day);
        let used: u32 = used.map(|(_, buds)| buds).sum();
        self.of.buds.saturating_sub(used)
    }
}

/// A mother tree, as acts tell of it; its row is a setting.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Tree {
    /// Results of its tests: when the result came, the day of the sample, whether found.
    pub results: Vec<(When, Date, bool)>,
    /// When it was destroyed.
    pub destroyed: Option<When>,
    /// Its cuts.
    pub cuts: BTreeSet<String>,
    /// Lots budded straight from it.
    pub into: BTreeSet<LotName>,
}

impl Tree {
    /// The last sample with a result as of a day, and whether something was found in it; a find on
    /// the same day counts.
    pub fn last_test(&self, day: Date) -> Option<(Date, bool)> {
        let known = self
            .results
            .iter()
            .filter(|(when, sampled, _)| when.on <= day && *sampled <= day);
        known.map(|&(_, sampled, found)| (sampled, found)).max()
    }
}

/// An order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OrderBook {
    /// When it came in.
    pub when: When,
    /// The customer.
    pub customer: String,
    /// Its lines by name.
    pub lines: BTreeMap<String, LineBook>,
    /// Numbers of the acts about it, in the order they were recorded.
    pub acts: BTreeSet<u64>,
}

/// A line of an order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct LineBook {
    /// How it was from each moment on, by field date; none once cancelled.
    pub versions: Vec<(When, Option<Box<Line>>)>,
    /// Plants promised.
    pub promised: Vec<(When, u32)>,
    /// Plants shipped, and from which lot.
    pub shipped: Vec<(When, LotName, u32)>,
    /// Plants of a lot that are meant for it from each moment on.
    pub tags: Vec<(When, LotName, u32)>,
}

impl LineBook {
    /// How it is after everything.
    pub fn now(&self) -> Option<&Line> {
        self.versions.last()?.1.as_deref()
    }

    /// How it was at the end of a day.
    pub fn on(&self, day: Date) -> Option<&Line> {
        let until = self.versions.partition_point(|(when, _)| when.on <= day);
        self.versions[..until].last()?.1.as_deref()
    }

    /// Plants promised last, as of the end of a day. None once the line was changed so that the promise is of
    /// another thing: of another variety, rootstock or size, for an earlier day, of more plants than were
    /// promised, or of a line that was cancelled meanwhile.
    pub fn promised_on(&self, day: Date) -> Option<u32> {
        let mut promised = self.promised.iter().rev();
        let &(made, plants) = promised.find(|(when, _)| when.on <= day)?;
        let until = self.versions.partition_point(|(when, _)| *when <= made);
        let (before, after) = self.versions.split_at(until);
        let then = before.last()?.1.as_deref()?;
        let mut since = after.iter().filter(|(when, _)| when.on <= day);
        let holds = since.all(|(_, line)| {
            let line = line.as_deref();
            line.is_some_and(|it| is_as_promised(then, it, plants))
        });
        holds.then_some(plants)
    }

    /// Plants shipped until the end of a day.
    pub fn shipped_until(&self, day: Date) -> u32 {
        let until = self.shipped.iter().filter(|(when, ..)| when.on <= day);
        until.map(|(_, _, plants)| plants).sum()
    }

    /// Plants shipped.
    pub fn shipped(&self) -> u32 {
        self.shipped.iter().map(|(_, _, plants)| plants).sum()
    }
}

/// Whether a promise of so many plants of a line, made as it was then, is one of the line as it is now.
fn is_as_promised(then: &Line, now: &Line, promised: u32) -> bool {
    then.variety == now.variety
        && then.rootstocks == now.rootstocks
        && then.size == now.size
        && now.due >= then.due
        && (now.plants <= then.plants || now.plants <= promised)
}

/// A sample.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SampleBook {
    /// When it was taken.
    pub when: When,
    /// Of what.
    pub of: Subject,
}

/// A hold on a tree or lot and all downstream of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hold {
    /// Since when.
    pub when: When,
    /// On what.
    pub of: Subject,
    /// Why.
    pub reason: String,
    /// Trees and lots freed since; the hold does not reach past them.
    pub freed: Vec<(When, Subject)>,
}

impl Hold {
    /// Whether it reaches anything at the end of a day: it has begun, and what it is on was not freed
    /// itself.
    pub fn is_in_force(&self, day: Date) -> bool {
        let is_over = |(when, it): &(When, Subject)| when.on <= day && *it == self.of;
        self.when.on <= day && !self.freed.iter().any(is_over)
    }
}

/// A plan that was accepted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AcceptedPlan {
    /// When.
    pub when: When,
    /// The run.
    pub run: String,
    /// What was accepted, as JSON text: large, so that copies of the books share it.
    #[serde(with = "shared_text")]
    pub plan: Arc<str>,
}

/// A shared text, kept as any other.
mod shared_text {
    use std::sync::Arc;

    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer>(text: &Arc<str>, to: S) -> Result<S::Ok, S::Error> {
        text.as_ref().serialize(to)
    }

    pub(super) fn deserialize<'a, D: Deserializer<'a>>(from: D) -> Result<Arc<str>, D::Error> {
        String::deserialize(from).map(Arc::from)
    }
}

/// The books.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Books {
    /// Number of the last act that the books know, refused ones too.
    pub number: u64,
    /// The latest field date of an accepted act.
    pub latest: Option<Date>,
    /// Lots by name.
    pub lots: BTreeMap<LotName, Lot>,
    /// Plants by account: what came in less what went out.
    pub accounts: BTreeMap<Account, i64>,
    /// Seed batches by name.
    pub batches: BTreeMap<String, Batch>,
    /// Cuts by name.
    pub cuts: BTreeMap<String, Cut>,
    /// Mother trees by name.
    pub trees: BTreeMap<MotherTreeName, Tree>,
    /// Orders by name.
    pub orders: BTreeMap<String, OrderBook>,
    /// Samples by name.
    pub samples: BTreeMap<String, SampleBook>,
    /// Holds, freed ones too.
    pub holds: Vec<Hold>,
    /// What was sprayed where, by field date.
    pub sprays: Vec<(When, Spray)>,
    /// Settings.
    pub settings: SettingRows,
    /// Plans accepted, by field date.
    pub plans: Vec<AcceptedPlan>,
    /// By act that was corrected: the last act that did.
    pub corrections: BTreeMap<ActId, ActId>,
    /// Entries from the field that were refused and that nobody has settled yet, by id, with the number of the last
    /// refusal.
    pub to_settle: BTreeMap<String, u64>,
    /// Such entries that somebody left out, by id, with the reason.
    pub left_out: BTreeMap<String, String>,
}

impl Books {
    /// Notes that an act was refused. One that was made in the field stays to be settled.
    pub fn note_refused(&mut self, id: &str, number: u64, act: &serde_json::Value) {
        if act.get("at").is_some_and(|it| !it.is_null()) {
            self.to_settle.insert(id.to_owned(), number);
        }
    }

    /// The plan that people work by on a day: the one accepted last.
    pub fn plan_of(&self, day: Date) -> Option<&AcceptedPlan> {
        self.plans.iter().rev().find(|it| it.when.on <= day)
    }

    /// Changes the books by the events of an act, in their order.
    pub fn apply_all(&mut self, act: &ActId, when: When, events: &[Event]) {
        let own = when.number;
        let mut when = when;
        self.to_settle.remove(act.as_str());
        for event in events {
            self.apply(act, when, event);
            self.note_act(own, event);
            if when.number != own {
                self.note_act(when.number, event);
            }
            if let Event::TakenBack { anew, .. } = event {
                when = *anew;
            }
        }
    }

    /// Changes the books by an event of an act.
    pub(super) fn apply(&mut self, act: &ActId, when: When, event: &Event) {
        self.latest = self.latest.max(Some(when.on));
        match event {
            Event::Moved { from, to, plants } => self.move_plants(when, from, to, *plants),
            Event::Lot { lot, step } => self.lot_step(when, lot, step),
            Event::SeedReceived(_) | Event::SticksCut { .. } | Event::BudsUsed { .. } => {
                self.apply_to_supplies(when, event);
            }
            Event::Ordered { .. }
            | Event::LineSet { .. }
            | Event::Promised { .. }
            | Event::Tagged { .. } => self.apply_to_orders(when, event),
            Event::Budded { lot, .. } => self.tell_lot(when, lot, event),
            Event::Taken(of) => self.tell_lot(when, &of.lot, event),
            Event::Measured(of) => self.tell_lot(when, &of.lot, event),
            Event::TakenBack {
                act: wrong,
                when: then,
                events,
                ..
            } => {
                self.take_back(*then, events);
                self.corrections.insert(wrong.clone(), act.clone());
            }
            Event::Sprayed(it) => put(&mut self.sprays, when, (when, it.clone()), |it| it.0),
            Event::SettingSet(set) => self.settings.set(when, set),
            Event::PlanAccepted { run, plan } => {
                let accepted = AcceptedPlan {
                    when,
                    run: run.clone(),
                    plan: serde_json::Value::Object(plan.clone()).to_string().into(),
                };
                put(&mut self.plans, when, accepted, |it| it.when);
            }
            Event::Sampled { .. }
            | Event::Resulted(_)
            | Event::Held { .. }
            | Event::Released { .. }
            | Event::Destroyed { .. } => self.apply_to_health(when, event),
            Event::LeftOut { entry, reason, .. } => {
                self.to_settle.remove(entry.as_str());
                self.left_out.insert(entry.to_string(), reason.clone());
            }
            Event::SticksStored(_)
            | Event::Worked { .. }
            | Event::HoursWorked(_)
            | Event::Noted(_) => {}
        }
    }

    fn apply_to_supplies(&mut self, when: When, event: &Event) {
        match event {
            Event::SeedReceived(seed) => {
                let batch = Batch {
                    when,
                    seed: seed.clone(),
                    sown: Vec::new(),
                    into: BTreeSet::new(),
                };
                self.batches.insert(seed.batch.clone(), batch);
            }
            Event::SticksCut { variety, of } => {
                let tree = self.trees.entry(of.mother_tree.clone()).or_default();
                tree.cuts.insert(of.cut.clone());
                let cut = Cut {
                    when,
                    variety: variety.clone(),
                    of: of.clone(),
                    used: Vec::new(),
                    into: BTreeSet::new(),
                };
                self.cuts.insert(of.cut.clone(), cut);
            }
            Event::BudsUsed { cut, buds, .. } => {
                if let Some(cut) = self.cuts.get_mut(cut) {
                    put(&mut cut.used, when, (when, *buds), |it| it.0);
                }
            }
            _ => {}
        }
    }

    fn apply_to_orders(&mut self, when: When, event: &Event) {
        match event {
            Event::Ordered { order, customer } => {
                let book = self.order(order);
                book.when = when;
                book.customer.clone_from(customer);
            }
            Event::LineSet { order, line, to } => {
                let versions = &mut self.line(order, line).versions;
                put(versions, when, (when, to.clone()), |it| it.0);
            }
            Event::Promised {
                order,
                line,
                plants,
                ..
            } => {
                let promised = &mut self.line(order, line).promised;
                put(promised, when, (when, *plants), |it| it.0);
            }
            Event::Tagged {
                order,
                line,
                lot,
                plants,
            } => {
                let tags = &mut self.line(order, line).tags;
                put(tags, when, (when, lot.clone(), *plants), |it| it.0);
                if let Some(lot) = self.lots.get_mut(lot) {
                    let tag = (when, order.clone(), line.clone(), *plants);
                    put(&mut lot.tags, when, tag, |it| it.0);
                }
            }
            _ => {}
        }
    }

    /// Notes at a lot what changes nothing of how it stands.
    fn tell_lot(&mut self, when: When, lot: &LotName, event: &Event) {
        let Some(lot) = self.lots.get_mut(lot) else {
            return;
        };
        match event {
            Event::Budded {
                budder,
                plants,
                buds,
                ..
            } => {
                let budding = Budding {
                    plants: *plants,
                    buds: *buds,
                    budder: budder.clone(),
                };
                lot.budding = Some((when, budding));
            }
            Event::Taken(it) => {
                let take = (when, it.taken + it.missed + it.dead, it.taken);
                put(&mut lot.takes, when, take, |it| it.0);
            }
            Event::Measured(it) => put(&mut lot.looks, when, (when, it.clone()), |it| it.0),
            _ => {}
        }
    }

    fn apply_to_health(&mut self, when: When, event: &Event) {
        match event {
            Event::Sampled { sample, of, .. } => {
                let of = of.clone();
                self.samples.insert(sample.clone(), SampleBook { when, of });
            }
            Event::Resulted(it) => self.result(when, &it.sample, it.found),
            Event::Held { of, reason } => self.holds.push(Hold {
                when,
                of: of.clone(),
                reason: reason.clone(),
                freed: Vec::new(),
            }),
            Event::Released { of, .. } => self.release(when, of),
            Event::Destroyed {
                of: Subject::MotherTree(tree),
                ..
            } => self.trees.entry(tree.clone()).or_default().destroyed = Some(when),
            _ => {}
        }
    }

    /// Plants booked in a lot: the sum of its entries.
    pub fn booked(&self, lot: &LotName) -> i64 {
        let account = Account::Lot(lot.clone());
        self.accounts.get(&account).copied().unwrap_or(0)
    }

    fn order(&mut self, order: &str) -> &mut OrderBook {
        self.orders
            .entry(order.to_owned())
            .or_insert_with(|| OrderBook {
                when: When {
                    on: Date::MIN,
                    number: 0,
                },
                customer: String::new(),
                lines: BTreeMap::new(),
                acts: BTreeSet::new(),
            })
    }

    fn line(&mut self, order: &str, line: &str) -> &mut LineBook {
        let book = self.order(order);
        book.lines.entry(line.to_owned()).or_default()
    }

    fn move_plants(&mut self, when: When, from: &Account, to: &Account, plants: u32) {
        self.book(from, -i64::from(plants));
        self.book(to, i64::from(plants));
        if let (Account::Lot(lot), Account::Shipped { order, line }) = (from, to) {
            let shipped = &mut self.line(order, line).shipped;
            put(shipped, when, (when, lot.clone(), plants), |it| it.0);
            if let Some(from) = self.lots.get_mut(lot) {
                let to = (when, order.clone(), line.clone(), plants);
                put(&mut from.shipments, when, to, |it| it.0);
            }
        }
        if let Account::Seed(Some(batch)) = from
            && let Some(batch) = self.batches.get_mut(batch)
        {
            put(&mut batch.sown, when, (when, plants), |it| it.0);
        }
    }

    fn book(&mut self, account: &Account, plants: i64) {
        let sum = self.accounts.entry(account.clone()).or_insert(0);
        *sum += plants;
        if *sum == 0 {
            self.accounts.remove(account);
        }
    }

    fn lot_step(&mut self, when: When, name: &LotName, step: &Step) {
        if let Step::Began(beginning) = step {
            for origin in &beginning.from {
                self.point(origin, name, true);
            }
            let beginning = (**beginning).clone();
            if let Some(lot) = self.lots.get_mut(name) {
                lot.begin_again(when, beginning);
            } else {
                self.lots.insert(name.clone(), Lot::new(when, beginning));
            }
        } else if let Some(lot) = self.lots.get_mut(name) {
            lot.insert(when, step.clone());
        }
    }

    /// Notes at an origin that a lot was made of it, or was not.
    fn point(&mut self, origin: &Origin, lot: &LotName, is_so: bool) {
        let into = match origin {
            Origin::Lot(from) | Origin::BudsOf(from) => {
                self.lots.get_mut(from).map(|it| &mut it.into)
            }
            Origin::Cut(cut) => self.cuts.get_mut(cut).map(|it| &mut it.into),
            Origin::MotherTree(tree) => {
                let tree = MotherTreeName::from(tree.as_str());
                Some(&mut self.trees.entry(tree).or_default().into)
            }
            Origin::Batch(batch) => self.batches.get_mut(batch).map(|it| &mut it.into),
            Origin::Outside(_) => None,
        };
        if let Some(into) = into {
            if is_so {
                into.insert(lot.clone());
            } else {
                into.remove(lot);
            }
        }
    }

    /// Frees a tree or lot of the holds that reach it.
    fn release(&mut self, when: When, of: &Subject) {
        let node = Node::of_subject(of);
        let reaching: Vec<usize> = (0..self.holds.len())
            .filter(|&at| self.reaches(&self.holds[at], &node, when.on))
            .collect();
        for at in reaching {
            self.holds[at].freed.push((when, of.clone()));
        }
    }

    fn result(&mut self, when: When, sample: &str, found: bool) {
        let Some(sample) = self.samples.get(sample) else {
            return;
        };
        if let Subject::MotherTree(tree) = &sample.of {
            let results = &mut self.trees.entry(tree.clone()).or_default().results;
            results.push((when, sample.when.on, found));
        }
    }

    /// Takes the events of an act back: everything in the books that bears its number.
    fn take_back(&mut self, when: When, events: &[Event]) {
        let number = when.number;
        let is_other = |other: &When| other.number != number;
        for event in events {
            match event {
                Event::Moved { from, to, plants } => self.move_back(number, from, to, *plants),
                Event::Lot { lot, step } => self.step_back(number, lot, step),
                Event::SeedReceived(seed) => {
                    self.batches.remove(&seed.batch);
                }
                Event::SticksCut { of, .. } => {
                    self.cuts.remove(&of.cut);
                    let tree = self.trees.entry(of.mother_tree.clone()).or_default();
                    tree.cuts.remove(&of.cut);
                }
                Event::BudsUsed { cut, .. } => {
                    if let Some(cut) = self.cuts.get_mut(cut) {
                        cut.used.retain(|it| is_other(&it.0));
                    }
                }
                Event::LineSet { order, line, .. } => {
                    self.line(order, line).versions.retain(|it| is_other(&it.0));
                }
                Event::Promised { order, line, .. } => {
                    self.line(order, line).promised.retain(|it| is_other(&it.0));
                }
                Event::Tagged {
                    order, line, lot, ..
                } => {
                    self.line(order, line).tags.retain(|it| is_other(&it.0));
                    self.untell_lot(number, lot);
                }
                Event::Budded { lot, .. } => self.untell_lot(number, lot),
                Event::Taken(of) => self.untell_lot(number, &of.lot),
                Event::Measured(of) => self.untell_lot(number, &of.lot),
                Event::Sprayed(_) => self.sprays.retain(|it| is_other(&it.0)),
                Event::SettingSet(_) => self.settings.take_back(number),
                Event::PlanAccepted { .. } => self.plans.retain(|it| is_other(&it.when)),
                Event::LeftOut { entry, number, .. } => {
                    self.left_out.remove(entry.as_str());
                    self.to_settle.insert(entry.to_string(), *number);
                }
                other => self.health_back(number, other),
            }
        }
    }

    fn untell_lot(&mut self, number: u64, lot: &LotName) {
        if let Some(lot) = self.lots.get_mut(lot) {
            lot.take_back(number);
        }
    }

    fn move_back(&mut self, number: u64, from: &Account, to: &Account, plants: u32) {
        self.book(from, i64::from(plants));
        self.book(to, -i64::from(plants));
        if let Account::Shipped { order, line } = to {
            let shipped = &mut self.line(order, line).shipped;
            shipped.retain(|it| it.0.number != number);
        }
        if let Account::Seed(Some(batch)) = from
            && let Some(batch) = self.batches.get_mut(batch)
        {
            batch.sown.retain(|it| it.0.number != number);
        }
    }

    fn step_back(&mut self, number: u64, name: &LotName, step: &Step) {
        if let Step::Began(beginning) = step {
            for origin in &beginning.from {
                self.point(origin, name, false);
            }
        }
        if let Some(lot) = self.lots.get_mut(name) {
            lot.take_back(number);
        }
    }

    fn health_back(&mut self, number: u64, event: &Event) {
        let is_other = |other: &When| other.number != number;
        match event {
            Event::Sampled { sample, .. } => {
                self.samples.remove(sample);
            }
            Event::Resulted(_) => {
                for tree in self.trees.values_mut() {
                    tree.results.retain(|it| is_other(&it.0));
                }
            }
            Event::Held { .. } => self.holds.retain(|it| is_other(&it.when)),
            Event::Released { .. } => {
                for hold in &mut self.holds {
                    hold.freed.retain(|it| is_other(&it.0));
                }
            }
            Event::Destroyed {
                of: Subject::MotherTree(tree),
                ..
            } => self.trees.entry(tree.clone()).or_default().destroyed = None,
            _ => {}
        }
    }
}

/// Puts an item in its place by field date.
fn put<T>(items: &mut Vec<T>, when: When, item: T, when_of: impl Fn(&T) -> When) {
    let at = items.partition_point(|it| when_of(it) <= when);
    items.insert(at, item);
}
