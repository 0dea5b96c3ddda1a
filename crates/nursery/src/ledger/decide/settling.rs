//! Entries from the field: whether they agree with the books, and what is left out of them.

use crate::ledger::act::{Act, LeaveOut};
use crate::ledger::books::Books;
use crate::ledger::event::Event;
use crate::ledger::refusal::Refusal;

use super::{Decided, Desk};

/// Refuses an act whose maker knew of another number of plants in its lot than the books have at the end of its day.
/// What was recorded in the meantime may have been counted, too, and only a person can say so.
pub fn agrees(books: &Books, act: &Act) -> Result<(), Refusal> {
    let Some(knew) = act.knew else {
        return Ok(());
    };
    let Some(name) = act.deed.lot() else {
        return Err(Refusal::new(
            "`knew` tells the plants of a lot, and the act is on none",
            "leave `knew` out",
        ));
    };
    let view = books.lots.get(name).and_then(|lot| lot.on(act.on));
    // Without such a lot the act itself is refused.
    let Some(stands) = view.map(|it| it.plants()) else {
        return Ok(());
    };
    if stands == knew {
        return Ok(());
    }
    Err(Refusal::new(
        format!(
            "{knew} plants of {name} were known when this was entered; the books have {stands}"
        ),
        "take it as it is, change it, or leave it out",
    ))
}

impl Desk<'_> {
    /// An entry that was to be settled is left out.
    pub fn leave_out(self, it: &LeaveOut) -> Decided {
        let Some(number) = self.books.to_settle.get(it.entry.as_str()) else {
            return Err(Refusal::new(
                format!("{} is no entry that waits to be settled", it.entry),
                "see the page To be settled",
            ));
        };
        if it.reason.trim().is_empty() {
            return Err(Refusal::new("no reason is given", "say why it is left out"));
        }
        Ok(vec![Event::LeftOut {
            entry: it.entry.clone(),
            number: *number,
            reason: it.reason.clone(),
        }])
    }
}
