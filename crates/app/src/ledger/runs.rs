//! Runs of planner and futures that are kept with the ledger, until they are made again.

use jiff::civil::Date;
use nursery::ledger::Books;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use store::{Hash, Head, Ledger, Reading, Run};

use super::NurseryFile;
use crate::error::AppError;

impl NurseryFile {
    /// Keeps the answer of a run, with what it was made from.
    pub fn keep_run(
        &self,
        kind: &str,
        name: &str,
        answer: &impl Serialize,
        as_of: Date,
        made_at: &str,
    ) -> Result<(), AppError> {
        let mut value = serde_json::to_value(answer).unwrap_or_default();
        if let Value::Object(keys) = &mut value {
            keys.insert("made_from".to_owned(), self.made_from(as_of)?);
        }
        let run = Run {
            name: name.to_owned(),
            kind: kind.to_owned(),
            made_at: made_at.to_owned(),
            bytes: value.to_string().into_bytes(),
        };
        self.asked(self.ledger.save_run(&run))
    }

    /// Keeps the sheet of a run: what its page shows.
    pub fn keep_sheet(
        &self,
        run: &str,
        sheet: &impl Serialize,
        made_at: &str,
    ) -> Result<(), AppError> {
        let run = Run {
            name: sheet_name(run),
            kind: "sheet".to_owned(),
            made_at: made_at.to_owned(),
            bytes: serde_json::to_vec(sheet).unwrap_or_default(),
        };
        self.asked(self.ledger.save_run(&run))
    }

    /// The sheet of a run; none where it was not kept, or by another version of the program.
    pub fn sheet<T: DeserializeOwned>(&self, run: &str) -> Result<Option<T>, AppError> {
        let kept = self.asked(self.ledger.run(&sheet_name(run)))?;
        Ok(kept.and_then(|it| serde_json::from_slice(&it.bytes).ok()))
    }

    /// What a run of this moment rests on.
    pub(super) fn made_from(&self, as_of: Date) -> Result<Value, AppError> {
        let head = self.head_of_books()?;
        let settings = settings_hash(&self.books, as_of);
        Ok(json!({
            "as_of": as_of,
            "head": head.to_string(),
            "weather": self.weather_hash()?,
            "settings": settings.to_string(),
            "version": env!("CARGO_PKG_VERSION"),
        }))
    }
}

impl NurseryFile {
    /// The entry that the books reach to: others may have written since.
    fn head_of_books(&self) -> Result<Head, AppError> {
        let head = self.asked(self.ledger.head())?;
        let known = self.books.number;
        if head.seq <= known {
            return Ok(head);
        }
        let entry = self.asked(self.ledger.entry(known))?;
        Ok(entry.map_or(Head::EMPTY, |it| Head {
            seq: it.seq,
            hash: it.hash,
        }))
    }
}

/// The name under which the sheet of a run is kept.
fn sheet_name(run: &str) -> String {
    format!("sheet of {run}")
}

/// The hash of all settings as they hold on a day.
pub(super) fn settings_hash(books: &Books, day: Date) -> Hash {
    let mut digest = Sha256::new();
    for (name, bytes) in books.settings.files(day) {
        digest.update(name);
        digest.update((bytes.len() as u64).to_le_bytes());
        digest.update(bytes);
    }
    Hash(digest.finalize().into())
}
