//! What can go wrong, in one shape for pages, phones and the command line.

use std::fmt;

use intake::Problems;
use serde::Serialize;
use serde_json::{Value, json};

/// What kind of thing went wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Something given is wrong and can be mended by whoever gave it.
    Invalid,
    /// Something named is not there.
    NotFound,
    /// The run was stopped or ran out of time or memory.
    Stopped,
    /// A file could not be read or written.
    Unavailable,
    /// The program is at fault.
    Internal,
}

/// A failure: what, where, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AppError {
    /// What kind.
    pub kind: Kind,
    /// What is wrong.
    pub what: String,
    /// Where: a file, a folder, a part of a case.
    pub place: String,
    /// What to do.
    pub mend: String,
    /// The single problems of files, where there are any.
    pub problems: Problems,
}

impl AppError {
    /// A failure without single problems.
    pub fn new(
        kind: Kind,
        what: impl Into<String>,
        place: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self {
            kind,
            what: what.into(),
            place: place.into(),
            mend: mend.into(),
            problems: Problems::default(),
        }
    }

    /// The problems of the files of a folder.
    pub fn of_problems(place: impl Into<String>, problems: Problems) -> Self {
        let count = problems.0.len();
        let what = if count == 1 {
            "1 thing in the files needs mending".to_owned()
        } else {
            format!("{count} things in the files need mending")
        };
        let mend = "mend them and try again; nothing was changed";
        Self {
            problems,
            ..Self::new(Kind::Invalid, what, place, mend)
        }
    }

    /// The failure as the contract words it: `{"error": {kind, what, where, mend}}`.
    pub fn to_json(&self) -> Value {
        let mut error = json!({
            "kind": self.kind,
            "what": self.what,
            "where": self.place,
            "mend": self.mend,
        });
        if !self.problems.is_empty() {
            error["problems"] = json!(self.problems);
        }
        json!({ "error": error })
    }
}

impl fmt::Display for AppError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}; {}.", self.place, self.what, self.mend)?;
        for problem in &self.problems.0 {
            write!(f, "\n  {problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for AppError {}
