//! Why an act is refused.

use std::fmt;

use serde::{Deserialize, Serialize};

/// The rule an act breaks, and the nearest thing that would work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refusal {
    /// The rule, in words.
    pub why: String,
    /// What would work.
    pub mend: String,
}

impl Refusal {
    pub(crate) fn new(why: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            why: why.into(),
            mend: mend.into(),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.why, self.mend)
    }
}
