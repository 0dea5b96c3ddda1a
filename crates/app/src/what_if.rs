//! What if something were otherwise: a second nursery beside the one that was read, to plan it too.

use nursery::what_if::{Change, ChangeProblem};
use sha2::{Digest, Sha256};

use crate::error::{AppError, Kind};
use crate::folder::{Loaded, short_digest};

/// Reads changes as they are written, one each.
///
/// # Errors
/// The first that is none.
pub fn changes(texts: &[String]) -> Result<Vec<Change>, AppError> {
    let read = |text: &String| text.parse().map_err(|problem| failed(problem, text));
    texts.iter().map(read).collect()
}

/// The ways to write a change, with an example each.
pub const CHANGES: [&str; 7] = nursery::what_if::FORMS;

impl Loaded {
    /// The nursery as it would be under changes; its runs have names of their own.
    ///
    /// # Errors
    /// A change that names what the nursery does not have.
    pub fn under(mut self, changes: &[Change]) -> Result<Self, AppError> {
        if changes.is_empty() {
            return Ok(self);
        }
        let mut hash = Sha256::new();
        hash.update(&self.digest);
        for change in changes {
            let text = change.to_string();
            self.nursery = self
                .nursery
                .under(std::slice::from_ref(change))
                .map_err(|problem| failed(problem, &text))?;
            hash.update((text.len() as u64).to_le_bytes());
            hash.update(&text);
            self.changes.push(text);
        }
        self.digest = short_digest(hash);
        Ok(self)
    }
}

fn failed(problem: ChangeProblem, text: &str) -> AppError {
    AppError::new(Kind::Invalid, problem.what, text, problem.mend)
}
