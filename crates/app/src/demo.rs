//! The invented demo nursery that comes with the program.

use std::path::Path;

use jiff::Timestamp;
use jiff::civil::{Date, date};
use nursery::FileSet;
use serde_json::Value;
use ulid::Ulid;

use crate::error::{AppError, Kind};
use crate::folder::{Found, write_file};
use crate::ledger::NurseryFile;

/// The day from which the demo looks ahead.
pub const AS_OF: Date = date(2027, 3, 1);

/// The day on which the demo's books open.
pub const OPENED: Date = date(2025, 3, 1);

/// Who opened them.
const OPENED_BY: &str = "Petra";

macro_rules! demo_files {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_bytes!(concat!("../../../demo/", $name)))),+]
    };
}

/// The demo's settings and weather by name: what holds from the day on which its books open.
const SETTINGS: &[(&str, &[u8])] = demo_files!(
    "nursery.toml",
    "routes.toml",
    "weather.csv",
    "places.csv",
    "crews.csv",
    "prices.csv",
    "demand.csv",
    "grades.csv",
    "watering.csv",
);

/// The tables that the demo's books hold on its day.
const TABLES: &[(&str, &[u8])] = demo_files!(
    "lots.csv",
    "orders.csv",
    "mother_trees.csv",
    "seed.csv",
    "watered.csv",
    "nights.csv",
    "bark_notes.csv",
);

/// What was done in the demo's two years, one act a line.
const ACTS: &str = include_str!("../../../demo/acts.jsonl");

/// The demo's files by name, as they stand on its day.
pub fn files() -> impl Iterator<Item = (&'static str, &'static [u8])> {
    SETTINGS.iter().chain(TABLES).copied()
}

/// Writes the demo's files into a folder.
pub fn write(folder: &Path) -> Result<(), AppError> {
    files().try_for_each(|(name, bytes)| write_file(&folder.join(name), bytes))
}

/// Makes the demo's nursery file: its settings and weather, and two years of acts, each recorded in
/// the evening that its name tells.
pub fn make(path: &Path) -> Result<NurseryFile, AppError> {
    let mut file = NurseryFile::create(path)?;
    match fill(&mut file, path) {
        Ok(()) => Ok(file),
        Err(error) => {
            drop(file);
            // What was begun is of no use; that it cannot be made is what the user has to know.
            let _ = std::fs::remove_file(path);
            Err(error)
        }
    }
}

fn fill(file: &mut NurseryFile, path: &Path) -> Result<(), AppError> {
    let files = SETTINGS.iter();
    let set = FileSet {
        files: files
            .map(|(name, bytes)| ((*name).to_owned(), bytes.to_vec()))
            .collect(),
    };
    let given = Found {
        set,
        ..Found::default()
    };
    let morning = format!("{OPENED}T06:00:00Z");
    file.take_in(path, &given, OPENED, OPENED_BY, &morning)?;
    let acts: Option<Vec<(Value, String)>> = ACTS.lines().map(told).collect();
    let Some(acts) = acts else {
        return Err(spoiled(path, "an act of it cannot be read"));
    };
    let at_moments = acts.iter().map(|(act, at)| (act.clone(), at.as_str()));
    match file.record_all(at_moments.collect())? {
        Ok(_) => Ok(()),
        Err(refused) => Err(spoiled(path, &refused.why.unwrap_or_default())),
    }
}

/// An act and the moment of its name.
fn told(line: &str) -> Option<(Value, String)> {
    let act: Value = serde_json::from_str(line).ok()?;
    let id = Ulid::from_string(act.get("id")?.as_str()?).ok()?;
    let moment = Timestamp::from_millisecond(i64::try_from(id.timestamp_ms()).ok()?).ok()?;
    Some((act, moment.to_string()))
}

fn spoiled(path: &Path, why: &str) -> AppError {
    AppError::new(
        Kind::Invalid,
        format!("the demo that comes with the program is spoiled: {why}"),
        path.display().to_string(),
        "install the program anew",
    )
}
