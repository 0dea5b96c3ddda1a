//! Entries from the field that were refused, for a person to settle.

use jiff::civil::{Date, Time};
use nursery::ledger::{Act, Books, Outcome};
use serde::Serialize;
use serde_json::Value;
use store::{Entry, Reading};

use super::NurseryFile;
use super::deed_words::words;
use super::names::Shown;
use crate::error::AppError;

/// An entry that waits to be settled.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToSettle {
    /// Its id.
    pub id: String,
    /// The field date; none where it cannot be read.
    pub on: Option<Date>,
    /// The time of day in the field.
    pub at: Option<Time>,
    /// Who entered it.
    pub by: String,
    /// When it came in.
    pub recorded_at: String,
    /// What was entered, in words; the act's word where it cannot be read.
    pub words: String,
    /// The lot it is on.
    pub lot: Option<String>,
    /// Plants of the lot as far as whoever entered it knew.
    pub knew: Option<u32>,
    /// Plants of the lot in the books now, at the end of its day.
    pub stands: Option<u32>,
    /// Why it was refused.
    pub why: String,
    /// What would work.
    pub mend: String,
    /// The act as it came in.
    pub entry: Value,
}

impl NurseryFile {
    /// Entries from the field that wait to be settled, the first that came in before the others.
    pub fn to_settle(&self, books: &Books) -> Result<Vec<ToSettle>, AppError> {
        let shown = Shown::of(&self.ledger);
        let mut numbers: Vec<u64> = books.to_settle.values().copied().collect();
        numbers.sort_unstable();
        let mut all = Vec::new();
        for number in numbers {
            if let Some(entry) = self.asked(self.ledger.entry(number))? {
                all.push(self.asked(waiting(books, entry, &shown))?);
            }
        }
        Ok(all)
    }
}

fn waiting(books: &Books, entry: Entry, shown: &Shown<'_>) -> store::Result<ToSettle> {
    let stored: Value = serde_json::from_slice(&entry.act).unwrap_or_default();
    let act = Act::from_json(&stored).ok();
    let said = match &act {
        Some(act) => words(&act.deed, &[], shown)?,
        None => stored["act"].as_str().unwrap_or_default().to_owned(),
    };
    let (why, mend) = match Outcome::decode(&entry.outcome) {
        Ok(Outcome::Refused(refusal)) => (refusal.why, refusal.mend),
        _ => Default::default(),
    };
    let lot = act.as_ref().and_then(|it| it.deed.lot());
    let view = lot
        .zip(act.as_ref())
        .and_then(|(lot, act)| books.lots.get(lot)?.on(act.on));
    let mut named = stored;
    shown.name_all(&mut named)?;
    Ok(ToSettle {
        id: entry.act_id,
        on: act.as_ref().map(|it| it.on),
        at: act.as_ref().and_then(|it| it.at),
        by: named["by"].as_str().unwrap_or_default().to_owned(),
        recorded_at: entry.recorded_at,
        words: said,
        lot: lot.map(ToString::to_string),
        knew: act.as_ref().and_then(|it| it.knew),
        stands: view.map(|it| it.plants()),
        why,
        mend,
        entry: named,
    })
}
