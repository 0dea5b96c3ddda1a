//! Whether the lots of some events stand up, and the entries that make the accounts agree with them.

use std::collections::BTreeMap;

use crate::ids::LotName;
use crate::ledger::books::Books;
use crate::ledger::event::{Account, Event};
use crate::ledger::lot::{Broken, Lot, Step, When};
use crate::ledger::refusal::Refusal;

/// Checks every lot that the events touch on every day, and adds the moves between a lot and its
/// count difference that make the sum of its entries what stands.
///
/// A count has no entry of its own: what stands follows from the lot's steps, and the difference is
/// what its entries lack. So an entry that comes late, before a count, shrinks that difference.
pub fn check_and_fill(books: &Books, when: When, events: &mut Vec<Event>) -> Result<(), Refusal> {
    let mut touched: BTreeMap<LotName, (Option<Lot>, i64)> = BTreeMap::new();
    for event in events.iter() {
        match event {
            Event::Lot { lot, step } => {
                let (it, _) = touch(books, &mut touched, lot);
                take_step(it, when, step);
            }
            Event::Moved { from, to, plants } => {
                for (account, sign) in [(from, -1), (to, 1)] {
                    if let Account::Lot(lot) = account {
                        touch(books, &mut touched, lot).1 += sign * i64::from(*plants);
                    }
                }
            }
            _ => {}
        }
    }
    for (name, (lot, booked)) in touched {
        events.extend(difference(&name, lot.as_ref(), booked)?);
    }
    Ok(())
}

/// The entry that makes a lot's entries agree with how it stands, if one is needed.
pub fn difference(
    name: &LotName,
    lot: Option<&Lot>,
    booked: i64,
) -> Result<Option<Event>, Refusal> {
    let stands = match lot {
        Some(lot) => {
            lot.check().map_err(|broken| refusal(name, broken))?;
            lot.now().map_or(0, |view| i64::from(view.plants()))
        }
        None => 0,
    };
    let (lot, difference) = (
        Account::Lot(name.clone()),
        Account::Difference(name.clone()),
    );
    let lacks = stands - booked;
    let Ok(plants) = u32::try_from(lacks.unsigned_abs()) else {
        return Err(Refusal::new(
            format!("no lot holds as many plants as {name} would"),
            "check the number",
        ));
    };
    let (from, to) = if lacks > 0 {
        (difference, lot)
    } else {
        (lot, difference)
    };
    Ok((plants > 0).then_some(Event::Moved { from, to, plants }))
}

fn touch<'a>(
    books: &Books,
    touched: &'a mut BTreeMap<LotName, (Option<Lot>, i64)>,
    lot: &LotName,
) -> &'a mut (Option<Lot>, i64) {
    touched
        .entry(lot.clone())
        .or_insert_with(|| (books.lots.get(lot).cloned(), books.booked(lot)))
}

fn take_step(lot: &mut Option<Lot>, when: When, step: &Step) {
    match (lot.as_mut(), step) {
        (None, Step::Began(beginning)) => *lot = Some(Lot::new(when, (**beginning).clone())),
        (Some(lot), Step::Began(beginning)) => lot.begin_again(when, (**beginning).clone()),
        (Some(lot), step) => lot.insert(when, step.clone()),
        (None, _) => {}
    }
}

/// What keeps a lot from standing up, in words.
pub fn refusal(lot: &LotName, broken: Broken) -> Refusal {
    match broken {
        Broken::BeforeItBegan { began } => Refusal::new(
            format!("{lot} began on {began}; nothing can be done to it before"),
            format!("give a day from {began} on, or name the lot the plants were in then"),
        ),
        Broken::TooFew { on, stand, leave } => Refusal::new(
            format!("{leave} plants of {lot} are used on {on}, but only {stand} would stand"),
            "correct the later entry first, or give a smaller number",
        ),
        Broken::NeverBegan => Refusal::new(
            format!("{lot} would never have begun, but is used"),
            "correct the later entries first",
        ),
    }
}
