//! Corrections: an act's events are taken back, and the act is decided anew.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::ids::LotName;
use crate::ledger::act::{Act, ActId, Correct, Deed};
use crate::ledger::books::Books;
use crate::ledger::event::{Account, Event};
use crate::ledger::lot::{Origin, When};
use crate::ledger::refusal::Refusal;

use super::{Decided, PastAct, World, balance, decide};

/// What is in force of an act: its own events, or those of its last correction.
struct InForce {
    when: When,
    events: Vec<Event>,
    /// The act as it is in force; none when it was said never to have happened.
    act: Option<Act>,
}

/// Decides a correction and changes the books by it.
pub fn correct(
    books: &mut Books,
    world: &dyn World,
    act: &Act,
    when: When,
    deed: &Correct,
) -> Decided {
    let wrong = in_force(books, world, &deed.corrects)?;
    let instead = match &deed.right {
        Some(right) => Some(righted(wrong.act.as_ref(), &deed.corrects, right)?),
        None => None,
    };
    let anew = When {
        on: instead.as_ref().map_or(wrong.when.on, |it| it.on),
        ..wrong.when
    };
    let taken_back = Event::TakenBack {
        act: deed.corrects.clone(),
        when: wrong.when,
        events: wrong.events.clone(),
        instead: instead.as_ref().map(Act::to_json),
        anew,
        reason: deed.reason.clone(),
    };
    let earlier = books.corrections.get(&deed.corrects).cloned();
    let latest = books.latest;
    books.apply(&act.id, when, &taken_back);
    match decide_anew(books, world, &wrong, instead.as_ref(), anew) {
        Ok(events) => {
            books.apply_all(&act.id, anew, &events);
            let all: Vec<Event> = std::iter::once(taken_back).chain(events).collect();
            for event in &all {
                books.note_act(when.number, event);
            }
            Ok(all)
        }
        Err(refusal) => {
            books.apply_all(&deed.corrects, wrong.when, &wrong.events);
            books.latest = latest;
            match earlier {
                Some(earlier) => books.corrections.insert(deed.corrects.clone(), earlier),
                None => books.corrections.remove(&deed.corrects),
            };
            Err(refusal)
        }
    }
}

/// The events that stand in the place of those taken back: of the act as it should have been, and
/// the entries that make all lots agree again.
fn decide_anew(
    books: &Books,
    world: &dyn World,
    wrong: &InForce,
    instead: Option<&Act>,
    when: When,
) -> Decided {
    let mut events = match instead {
        Some(act) => decide(books, world, act, when)?,
        None => Vec::new(),
    };
    let done: BTreeSet<&LotName> = events.iter().flat_map(lots_of).collect();
    let mut fills = Vec::new();
    for lot in wrong
        .events
        .iter()
        .flat_map(lots_of)
        .collect::<BTreeSet<_>>()
    {
        if done.contains(lot) {
            continue;
        }
        let it = books.lots.get(lot);
        if let Some(it) = it.filter(|it| it.began().is_none()) {
            unused(books, lot, it.into.iter().next())?;
        }
        fills.extend(balance::difference(lot, it, books.booked(lot))?);
    }
    events.extend(fills);
    for event in &wrong.events {
        still_holds(books, event, &events)?;
    }
    Ok(events)
}

fn unused(books: &Books, lot: &LotName, child: Option<&LotName>) -> Result<(), Refusal> {
    match child {
        Some(child) => Err(Refusal::new(
            format!("{lot} would never have been, but {child} was made of it"),
            format!("correct what was done with {lot} first"),
        )),
        None if books.lots.get(lot).is_some_and(|it| !it.steps().is_empty()) => Err(Refusal::new(
            format!("{lot} would never have been, but more was done with it"),
            format!("correct what was done with {lot} first"),
        )),
        None => Ok(()),
    }
}

/// Refuses to take back what others rest on: a batch that was sown, a cut that was used.
fn still_holds(books: &Books, event: &Event, anew: &[Event]) -> Result<(), Refusal> {
    let is_gone = |what: &str, is_there: bool, is_used: bool| {
        if is_there || !is_used {
            return Ok(());
        }
        Err(Refusal::new(
            format!("{what} would never have been, but is used"),
            "correct what was done with it first",
        ))
    };
    match event {
        Event::SeedReceived(seed) => {
            let is_there = anew
                .iter()
                .any(|it| matches!(it, Event::SeedReceived(other) if other.batch == seed.batch));
            let account = Account::Seed(Some(seed.batch.clone()));
            is_gone(&seed.batch, is_there, books.accounts.contains_key(&account))
        }
        Event::SticksCut { of, .. } => {
            let is_there = anew
                .iter()
                .any(|it| matches!(it, Event::SticksCut { of: other, .. } if other.cut == of.cut));
            let origin = Origin::Cut(of.cut.clone());
            let is_used = books.lots.values().any(|lot| lot.from.contains(&origin));
            is_gone(&of.cut, is_there, is_used)
        }
        _ => Ok(()),
    }
}

/// The lots an event touches.
fn lots_of(event: &Event) -> Vec<&LotName> {
    match event {
        Event::Lot { lot, .. } => vec![lot],
        Event::Moved { from, to, .. } => from.lot().into_iter().chain(to.lot()).collect(),
        _ => Vec::new(),
    }
}

fn in_force(books: &Books, world: &dyn World, corrects: &ActId) -> Result<InForce, Refusal> {
    let Some(PastAct { act, when, events }) = world.past(corrects) else {
        return Err(Refusal::new(
            format!("there is no act {corrects} that was done"),
            "give the id of the act that was wrong",
        ));
    };
    if let Deed::Correct(deed) = &act.deed {
        return Err(Refusal::new(
            format!("{corrects} is itself a correction"),
            format!("correct the act {} again", deed.corrects),
        ));
    }
    let Some(last) = books.corrections.get(corrects) else {
        return Ok(InForce {
            when,
            events,
            act: Some(act),
        });
    };
    let again = world.past(last).map(|it| it.events).unwrap_or_default();
    let mut events = again.into_iter();
    let Some(Event::TakenBack { instead, anew, .. }) = events.next() else {
        return Err(Refusal::new(
            format!("the correction {last} of {corrects} cannot be read"),
            "check the ledger",
        ));
    };
    let act = instead.as_ref().map(Act::from_json).transpose()?;
    Ok(InForce {
        when: anew,
        events: events.collect(),
        act,
    })
}

/// The act with its right keys in place of its own.
fn righted(
    act: Option<&Act>,
    id: &ActId,
    right: &serde_json::Map<String, Value>,
) -> Result<Act, Refusal> {
    let Some(act) = act else {
        return Err(Refusal::new(
            format!("{id} was said never to have happened"),
            "record it as a new act",
        ));
    };
    if let Some(key) = ["id", "act"]
        .into_iter()
        .find(|key| right.contains_key(*key))
    {
        return Err(Refusal::new(
            format!("the {key} of an act cannot be corrected"),
            "say that the act never happened, and record another",
        ));
    }
    let mut all = act.to_json();
    if let Value::Object(keys) = &mut all {
        keys.extend(right.clone());
    }
    Act::from_json(&all)
}
