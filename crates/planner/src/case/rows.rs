//! The case's short rows, written as JSON lists: `[3, "general", 0.002]`.

use serde::{Deserialize, Serialize};

use super::Week;

/// Work that falls some weeks after a start: `[d, crew, hours per plant]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "(Week, String, f64)", into = "(Week, String, f64)")]
pub struct HoursEntry {
    /// Weeks after the start, 0 for work in the same week.
    pub weeks_after: Week,
    /// The crew whose work it is.
    pub crew: String,
    /// Hours for each plant put through.
    pub hours_per_plant: f64,
}

impl From<(Week, String, f64)> for HoursEntry {
    fn from((weeks_after, crew, hours_per_plant): (Week, String, f64)) -> Self {
        Self {
            weeks_after,
            crew,
            hours_per_plant,
        }
    }
}

impl From<HoursEntry> for (Week, String, f64) {
    fn from(entry: HoursEntry) -> Self {
        (entry.weeks_after, entry.crew, entry.hours_per_plant)
    }
}

/// Plants that become ready some weeks after a start: `[d, f]` or `[d, f, stage]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "ReadyRow", into = "ReadyRow")]
pub struct ReadyEntry {
    /// Weeks after the start, at least one.
    pub weeks_after: Week,
    /// Share of the plants put through that becomes ready then, 0 … 1.
    pub fraction: f64,
    /// The stage they become ready in; none for the operation's own target.
    pub stage: Option<String>,
}

/// How a [`ReadyEntry`] is written.
#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum ReadyRow {
    Target(Week, f64),
    Named(Week, f64, String),
}

impl From<ReadyRow> for ReadyEntry {
    fn from(row: ReadyRow) -> Self {
        let (weeks_after, fraction, stage) = match row {
            ReadyRow::Target(weeks, fraction) => (weeks, fraction, None),
            ReadyRow::Named(weeks, fraction, stage) => (weeks, fraction, Some(stage)),
        };
        Self {
            weeks_after,
            fraction,
            stage,
        }
    }
}

impl From<ReadyEntry> for ReadyRow {
    fn from(entry: ReadyEntry) -> Self {
        match entry.stage {
            None => Self::Target(entry.weeks_after, entry.fraction),
            Some(stage) => Self::Named(entry.weeks_after, entry.fraction, stage),
        }
    }
}

/// Plants in a week: `[week, plants]`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "(Week, f64)", into = "(Week, f64)")]
pub struct WeekPlants {
    /// The week.
    pub week: Week,
    /// How many plants.
    pub plants: f64,
}

impl From<(Week, f64)> for WeekPlants {
    fn from((week, plants): (Week, f64)) -> Self {
        Self { week, plants }
    }
}

impl From<WeekPlants> for (Week, f64) {
    fn from(entry: WeekPlants) -> Self {
        (entry.week, entry.plants)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_read_and_written_as_lists() {
        let text = r#"[[9,0.5],[10,0.25,"R1.missed"]]"#;
        let rows: Vec<ReadyEntry> = serde_json::from_str(text).unwrap();
        assert_eq!(rows[0].stage, None);
        assert_eq!(rows[1].stage.as_deref(), Some("R1.missed"));
        assert_eq!(serde_json::to_string(&rows).unwrap(), text);
    }
}
