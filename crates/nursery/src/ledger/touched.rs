//! Which lots and orders an act is about, so that the acts of one are found without reading all.

use std::collections::BTreeSet;

use super::books::Books;
use super::event::{Account, Event, Subject};
use super::lot::{Origin, Step};
use crate::ids::LotName;

/// What an event is about.
#[derive(Default)]
struct Touched<'a> {
    lots: BTreeSet<&'a LotName>,
    orders: BTreeSet<&'a str>,
    /// The name in a note, which may be that of a lot or an order.
    about: Option<&'a str>,
    /// The sample that a result is of.
    sample: Option<&'a str>,
}

impl Event {
    /// The lots it is about, those of events that it takes back included.
    pub fn lots(&self) -> BTreeSet<&LotName> {
        match self {
            Self::TakenBack { events, .. } => events.iter().flat_map(Self::lots).collect(),
            other => Touched::by(other).lots,
        }
    }
}

impl Books {
    /// Notes an act at all that one of its events is about. What is taken back stays noted: that it was
    /// recorded, and corrected, is part of a lot's life.
    pub(super) fn note_act(&mut self, number: u64, event: &Event) {
        if let Event::TakenBack { events, .. } = event {
            for event in events {
                self.note_act(number, event);
            }
            return;
        }
        let touched = Touched::by(event);
        let sample = touched.sample.and_then(|it| self.samples.get(it));
        let sampled = sample.and_then(|it| lot_of(&it.of)).cloned();
        let about = touched.about.map(LotName::from);
        for name in touched.lots.into_iter().chain(&sampled).chain(&about) {
            if let Some(lot) = self.lots.get_mut(name) {
                lot.acts.insert(number);
            }
        }
        for name in touched.orders.into_iter().chain(touched.about) {
            if let Some(order) = self.orders.get_mut(name) {
                order.acts.insert(number);
            }
        }
    }
}

impl<'a> Touched<'a> {
    fn by(event: &'a Event) -> Self {
        let mut touched = Self::default();
        match event {
            Event::Moved { from, to, .. } => {
                touched.account(from);
                touched.account(to);
            }
            Event::Lot { lot, step } => {
                touched.lots.insert(lot);
                if let Step::Began(it) = step {
                    touched.lots.extend(it.from.iter().filter_map(parent));
                }
            }
            Event::Budded { lot, .. } | Event::Worked { lot, .. } => {
                touched.lots.insert(lot);
            }
            Event::Taken(it) => {
                touched.lots.insert(&it.lot);
            }
            Event::Measured(it) => {
                touched.lots.insert(&it.lot);
            }
            Event::Tagged { order, lot, .. } => {
                touched.lots.insert(lot);
                touched.orders.insert(order);
            }
            Event::Ordered { order, .. }
            | Event::LineSet { order, .. }
            | Event::Promised { order, .. } => {
                touched.orders.insert(order);
            }
            Event::Sampled { of, .. }
            | Event::Held { of, .. }
            | Event::Released { of, .. }
            | Event::Destroyed { of, .. } => touched.lots.extend(lot_of(of)),
            Event::Resulted(it) => touched.sample = Some(&it.sample),
            Event::Noted(it) => touched.about = it.about.as_deref(),
            Event::SeedReceived(_)
            | Event::SticksCut { .. }
            | Event::SticksStored(_)
            | Event::BudsUsed { .. }
            | Event::HoursWorked(_)
            | Event::Sprayed(_)
            | Event::TakenBack { .. }
            | Event::SettingSet(_)
            | Event::PlanAccepted { .. }
            | Event::LeftOut { .. } => {}
        }
        touched
    }

    fn account(&mut self, account: &'a Account) {
        match account {
            Account::Lot(lot) | Account::Difference(lot) => {
                self.lots.insert(lot);
            }
            Account::Shipped { order, .. } => {
                self.orders.insert(order);
            }
            _ => {}
        }
    }
}

/// The lot whose plants or buds a new lot is of.
fn parent(origin: &Origin) -> Option<&LotName> {
    match origin {
        Origin::Lot(lot) | Origin::BudsOf(lot) => Some(lot),
        _ => None,
    }
}

fn lot_of(subject: &Subject) -> Option<&LotName> {
    match subject {
        Subject::Lot(lot) => Some(lot),
        Subject::MotherTree(_) => None,
    }
}
