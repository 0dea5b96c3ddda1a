//! What a tally's numbers stand for: the names and weeks that a summary needs, and nothing else of
//! the case.

use serde::{Deserialize, Serialize};

/// Names and weeks of a case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Outline {
    /// Weeks simulated.
    pub weeks: u32,
    /// Names of the stages.
    pub stages: Vec<String>,
    /// The weeks in which free plants are counted.
    pub report_weeks: Vec<u32>,
    /// Order lines, in the order of their names.
    pub lines: Vec<LineOutline>,
}

/// An order line's name and weeks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineOutline {
    /// Its id.
    pub id: String,
    /// First week simulated in which it may take plants.
    pub first_week: u32,
    /// How many weeks it may take plants in.
    pub open_weeks: u32,
}
