//! Runs of planner and futures that are kept with the ledger, until they are made again.

use jiff::civil::Date;
use nursery::ledger::Books;
use serde::Serialize;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use store::{Hash, Ledger, Reading, Run};

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

    /// What a run of this moment rests on.
    fn made_from(&self, as_of: Date) -> Result<Value, AppError> {
        let head = self.asked(self.ledger.head())?;
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
