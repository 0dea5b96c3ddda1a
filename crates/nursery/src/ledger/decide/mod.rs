//! Deciding: an act against the books becomes events, or a refusal.

mod balance;
mod budding;
mod corrections;
mod health;
mod looks;
mod orders;
mod plants;
mod rules;
mod settings;
mod settling;

use jiff::civil::Date;
use serde_json::{Map, Value};

use super::act::{Act, ActId, Deed};
use super::books::Books;
use super::event::Event;
use super::lot::When;
use super::refusal::Refusal;
use super::tags;
use crate::catalogue::Catalogue;

/// An act that was accepted, with its events.
#[derive(Debug, Clone, PartialEq)]
pub struct PastAct {
    /// The act.
    pub act: Act,
    /// When it was.
    pub when: When,
    /// Its events.
    pub events: Vec<Event>,
}

/// What deciding needs to know besides the books.
pub trait World {
    /// What can be grown and how.
    fn catalogue(&self) -> &Catalogue;
    /// An accepted act by its name.
    fn past(&self, act: &ActId) -> Option<PastAct>;
    /// What the last futures tell of an order line.
    fn odds(&self, order: &str, line: &str) -> Option<Map<String, Value>>;
    /// A planner's run by its name: what is accepted with it.
    fn plan(&self, run: &str) -> Option<Map<String, Value>>;
}

/// What a handler sees: the books, the world, and when the act is.
#[derive(Clone, Copy)]
struct Desk<'a> {
    books: &'a Books,
    world: &'a dyn World,
    when: When,
}

/// Events, or why not.
type Decided = Result<Vec<Event>, Refusal>;

/// Decides an act and changes the books by it: its events, or a refusal that changes nothing.
///
/// `number` is the act's place among all acts; each is larger than the one before.
pub fn record(books: &mut Books, world: &dyn World, act: &Act, number: u64) -> Decided {
    let when = When { on: act.on, number };
    if let Deed::Correct(deed) = &act.deed {
        return corrections::correct(books, world, act, when, deed);
    }
    settling::agrees(books, act)?;
    let events = decide(books, world, act, when)?;
    books.apply_all(&act.id, when, &events);
    Ok(events)
}

/// The events of an act that corrects no other.
fn decide(books: &Books, world: &dyn World, act: &Act, when: When) -> Decided {
    if when.on < EARLIEST || when.on > LATEST {
        return Err(Refusal::new(
            format!("{} is no day of a nursery's books", when.on),
            "give the day as 2027-03-01",
        ));
    }
    let desk = Desk { books, world, when };
    let mut events = desk.events(&act.deed)?;
    balance::check_and_fill(books, when, &mut events)?;
    tags::follow(books, when, &mut events);
    Ok(events)
}

/// Days outside of these are slips of the pen.
const EARLIEST: Date = Date::constant(1900, 1, 1);
const LATEST: Date = Date::constant(2199, 12, 31);

impl Desk<'_> {
    fn events(self, deed: &Deed) -> Decided {
        match deed {
            Deed::OpenLot(it) => self.open_lot(it),
            Deed::ReceiveSeed(it) => self.receive_seed(it),
            Deed::Sow(it) => self.sow(it),
            Deed::Count(it) => self.count(it),
            Deed::Rogue(it) => self.rogue(it),
            Deed::Lose(it) => self.lose(it),
            Deed::LineOut(it) => self.line_out(it),
            Deed::PotUp(it) => self.pot_up(it),
            Deed::Lift(it) => self.lift(it),
            Deed::Move(it) => self.move_elsewhere(it),
            Deed::BuyIn(it) => self.buy_in(it),
            Deed::CutSticks(it) => self.cut_sticks(it),
            Deed::StoreSticks(it) => self.store_sticks(it),
            Deed::DiscardSticks(it) => self.discard_sticks(it),
            Deed::Bud(it) => self.bud(it),
            Deed::Unwrap(it) => self.unwrap(it),
            Deed::Force(it) => self.force(it),
            Deed::Stake(it) => self.work("stake", it),
            Deed::Sucker(it) => self.work("sucker", it),
            Deed::Head(it) => self.work("head", it),
            Deed::Grade(it) => self.grade(it),
            Deed::Split(it) => self.split(it),
            Deed::Merge(it) => self.merge(it),
            Deed::Order(it) => self.order(it),
            Deed::ChangeOrder(it) => self.change_order(it),
            Deed::CancelOrder(it) => self.cancel_order(it),
            Deed::Promise(it) => self.promise(it),
            Deed::Ship(it) => self.ship(it),
            Deed::Tag(it) => self.tag(it),
            Deed::Measure(it) => self.measure(it),
            Deed::Spray(it) => self.spray(it),
            Deed::Sample(it) => self.sample(it),
            Deed::Result(it) => self.result(it),
            Deed::Hold(it) => self.hold(it),
            Deed::Release(it) => self.release(it),
            Deed::Destroy(it) => self.destroy(it),
            Deed::Hours(it) => Ok(vec![Event::HoursWorked(it.clone())]),
            Deed::Note(it) => Ok(vec![Event::Noted(it.clone())]),
            Deed::Set(it) => self.set(it),
            Deed::AcceptPlan(it) => self.accept_plan(it),
            Deed::LeaveOut(it) => self.leave_out(it),
            Deed::Correct(_) => Err(Refusal::new(
                "a correction cannot stand in the place of another act",
                "correct the act itself",
            )),
        }
    }
}
