//! Acts told to a person: the last ones of the nursery, those about an order.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use jiff::ToSpan;
use jiff::civil::{Date, Time};
use nursery::ledger::lot::When;
use nursery::ledger::{Act, Books, Deed, Event};
use serde::Serialize;
use store::{Entry, Reading};

use super::deed_words::words;
use super::names::Shown;
use super::{NurseryFile, past_act};
use crate::error::{AppError, Kind};
use crate::words::date_words;

/// An act that was done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ActAnswer {
    /// Its number in the ledger.
    pub number: u64,
    /// Its id.
    pub id: String,
    /// The field date, as it is in force.
    pub on: Date,
    /// The time of day in the field, of an entry made there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<Time>,
    /// When it was recorded.
    pub recorded_at: String,
    /// Who recorded it.
    pub by: String,
    /// Who settled it after it was refused.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub settled_by: Option<String>,
    /// The act's word.
    pub act: String,
    /// What was done, as it is in force.
    pub words: String,
    /// The lots it is about.
    pub lots: Vec<String>,
    /// How it was corrected last, if it was.
    pub corrected: Option<CorrectedAnswer>,
    /// Whether it can be taken back: it is no correction, and was not corrected.
    pub can_undo: bool,
}

/// How an act was corrected.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrectedAnswer {
    /// The number of the last correction.
    pub number: u64,
    /// Its id.
    pub id: String,
    /// The day of the correction.
    pub on: Date,
    /// Who made it.
    pub by: String,
    /// Why.
    pub reason: String,
    /// Whether the act is said never to have happened.
    pub never: bool,
    /// The act as it was recorded, in words.
    pub was: String,
}

/// Which acts are asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// The first field date; any without it.
    pub from: Option<Date>,
    /// The last field date; any without it.
    pub until: Option<Date>,
    /// Only entries below this number, to go on where an answer ended.
    pub before: Option<u64>,
    /// So many acts at most.
    pub limit: usize,
}

/// The last acts of a nursery.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JournalAnswer {
    /// Acts, those recorded last first.
    pub acts: Vec<ActAnswer>,
    /// Where to go on (`before`); none where there are no earlier ones.
    pub next: Option<u64>,
}

/// So many entries are read at once, backward.
const STRETCH: u64 = 256;

/// An act as it was recorded, with what is in force of it.
pub(super) struct Told {
    /// For a person.
    pub answer: ActAnswer,
    /// When it is in force.
    pub when: When,
}

impl NurseryFile {
    /// The last acts of the nursery that were done, those recorded last first.
    pub fn journal(&self, books: &Books, asked: &Asked) -> Result<JournalAnswer, AppError> {
        let shown = Shown::of(&self.ledger);
        let mut acts = Vec::new();
        let last = asked.before.map_or(books.number, |it| it.saturating_sub(1));
        let mut until = last.min(books.number);
        while until > 0 {
            let from = until.saturating_sub(STRETCH);
            for entry in self.stretch(from, until)?.into_iter().rev() {
                if is_recorded_before(&entry, asked.from) {
                    return Ok(JournalAnswer { acts, next: None });
                }
                let number = entry.seq;
                let told = self.told(books, entry, &shown)?;
                let answer = told.map(|it| it.answer).filter(|it| asked.covers(it.on));
                acts.extend(answer);
                if acts.len() >= asked.limit {
                    let next = (number > 1).then_some(number);
                    return Ok(JournalAnswer { acts, next });
                }
            }
            until = from;
        }
        Ok(JournalAnswer { acts, next: None })
    }

    /// The acts about an order in the order they were recorded: how it came in and was changed, its
    /// promises, shipments and notes.
    pub fn acts_of_order(&self, books: &Books, order: &str) -> Result<Vec<ActAnswer>, AppError> {
        let Some(book) = books.orders.get(order) else {
            return Err(AppError::new(
                Kind::NotFound,
                format!("there is no order {order}"),
                self.path.display().to_string(),
                "check its name",
            ));
        };
        let told = self.told_all(books, &book.acts)?;
        Ok(told.into_iter().map(|it| it.answer).collect())
    }

    /// Acts of some numbers, as they are in force.
    pub(super) fn told_all(
        &self,
        books: &Books,
        numbers: &BTreeSet<u64>,
    ) -> Result<Vec<Told>, AppError> {
        let shown = Shown::of(&self.ledger);
        let mut all = Vec::new();
        for number in numbers {
            if let Some(entry) = self.asked(self.ledger.entry(*number))? {
                all.extend(self.told(books, entry, &shown)?);
            }
        }
        Ok(all)
    }

    /// Entries after one number up to another.
    fn stretch(&self, after: u64, until: u64) -> Result<Vec<Entry>, AppError> {
        let mut entries = Vec::new();
        let read = self.ledger.entries(after, &mut |entry| {
            let is_last = entry.seq >= until;
            entries.push(entry);
            if is_last {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        });
        self.asked(read)?;
        Ok(entries)
    }

    /// An act for a person; none of a refused one.
    pub(super) fn told(
        &self,
        books: &Books,
        entry: Entry,
        shown: &Shown<'_>,
    ) -> Result<Option<Told>, AppError> {
        let Some(past) = past_act(&entry) else {
            return Ok(None);
        };
        let kind = word_of(&past.act);
        let as_recorded = match past.events.first() {
            Some(Event::TakenBack { act, when, .. }) => {
                self.correction_words(&past.act.deed, act.as_str(), when.on)?
            }
            _ => self.asked(words(&past.act.deed, &past.events, shown))?,
        };
        let lots = past.events.iter().flat_map(Event::lots);
        let mut lots: BTreeSet<String> = lots.map(ToString::to_string).collect();
        let mut now = (past.when, as_recorded.clone());
        let mut corrected = None;
        if let Some(correction) = books.corrections.get(&past.act.id)
            && let Some(it) = self.correction(correction.as_str(), shown)?
        {
            now.0 = it.anew;
            if let Some((words, of)) = it.instead {
                now.1 = words;
                lots.extend(of);
            }
            corrected = Some(CorrectedAnswer {
                was: as_recorded,
                ..it.answer
            });
        }
        let settled_by = past.act.settled_by.as_ref();
        let settled_by = settled_by.map(|it| self.asked(shown.name(it)));
        let answer = ActAnswer {
            number: entry.seq,
            id: entry.act_id,
            on: now.0.on,
            at: past.act.at,
            recorded_at: entry.recorded_at,
            by: self.asked(shown.name(&past.act.by))?,
            settled_by: settled_by.transpose()?,
            act: kind,
            words: now.1,
            lots: lots.into_iter().collect(),
            can_undo: corrected.is_none() && !matches!(past.act.deed, Deed::Correct(_)),
            corrected,
        };
        Ok(Some(Told {
            answer,
            when: now.0,
        }))
    }

    /// What a correction did: to which act, and why.
    fn correction_words(&self, deed: &Deed, corrects: &str, on: Date) -> Result<String, AppError> {
        let wrong = self.asked(self.ledger.done(corrects))?;
        let what = wrong
            .as_ref()
            .and_then(past_act)
            .map_or_else(|| "act".to_owned(), |it| word_of(&it.act).replace('_', " "));
        let Deed::Correct(deed) = deed else {
            return Ok(String::new());
        };
        let how = if deed.right.is_some() {
            "corrected"
        } else {
            "taken back"
        };
        let on = date_words(on);
        Ok(format!("{what} of {on} {how}: {}", deed.reason))
    }

    /// The correction of an id, with the act as it should have been.
    fn correction(&self, id: &str, shown: &Shown<'_>) -> Result<Option<Correction>, AppError> {
        let Some(entry) = self.asked(self.ledger.done(id))? else {
            return Ok(None);
        };
        let Some(past) = past_act(&entry) else {
            return Ok(None);
        };
        let mut events = past.events.into_iter();
        let Some(Event::TakenBack {
            instead,
            anew,
            reason,
            ..
        }) = events.next()
        else {
            return Ok(None);
        };
        let events: Vec<Event> = events.collect();
        let right = instead.as_ref().and_then(|it| Act::from_json(it).ok());
        let instead = match right {
            Some(right) => {
                let words = self.asked(words(&right.deed, &events, shown))?;
                let lots = events.iter().flat_map(Event::lots);
                Some((words, lots.map(ToString::to_string).collect()))
            }
            None => None,
        };
        let answer = CorrectedAnswer {
            number: entry.seq,
            id: entry.act_id,
            on: past.when.on,
            by: self.asked(shown.name(&past.act.by))?,
            reason,
            never: instead.is_none(),
            was: String::new(),
        };
        Ok(Some(Correction {
            answer,
            anew,
            instead,
        }))
    }
}

/// A correction, and the words and lots of the act as it should have been.
struct Correction {
    answer: CorrectedAnswer,
    anew: When,
    instead: Option<(String, Vec<String>)>,
}

impl Asked {
    fn covers(&self, on: Date) -> bool {
        self.from.is_none_or(|from| from <= on) && self.until.is_none_or(|until| on <= until)
    }
}

/// Whether an entry was recorded before a day, so that what was recorded earlier still is of earlier days,
/// too. A day is left for the clocks of the world.
fn is_recorded_before(entry: &Entry, day: Option<Date>) -> bool {
    let recorded: Option<Date> = entry.recorded_at.get(..10).and_then(|it| it.parse().ok());
    let (Some(recorded), Some(day)) = (recorded, day) else {
        return false;
    };
    recorded.saturating_add(1.day()) < day
}

/// The word of an act.
fn word_of(act: &Act) -> String {
    let json = act.to_json();
    json["act"].as_str().unwrap_or_default().to_owned()
}
