//! The invented demo nursery that comes with the program.

use std::path::Path;

use jiff::civil::{Date, date};

use crate::error::AppError;
use crate::folder::write_file;
use crate::ledger::NurseryFile;

/// The day from which the demo looks ahead.
pub const AS_OF: Date = date(2027, 3, 1);

macro_rules! demo_files {
    ($($name:literal),+ $(,)?) => {
        &[$(($name, include_bytes!(concat!("../../../demo/", $name)))),+]
    };
}

/// The demo's files by name.
pub const FILES: &[(&str, &[u8])] = demo_files!(
    "nursery.toml",
    "lots.csv",
    "orders.csv",
    "weather.csv",
    "places.csv",
    "crews.csv",
    "mother_trees.csv",
    "seed.csv",
    "prices.csv",
    "demand.csv",
);

/// Writes the demo's files into a folder.
pub fn write(folder: &Path) -> Result<(), AppError> {
    FILES
        .iter()
        .try_for_each(|(name, bytes)| write_file(&folder.join(name), bytes))
}

/// Makes the demo's nursery file.
pub fn make(path: &Path) -> Result<NurseryFile, AppError> {
    let folder = path.with_extension("files");
    write(&folder)?;
    let mut file = NurseryFile::create(path)?;
    file.import(&folder, AS_OF, "office", "2027-03-01T06:00:00Z")?;
    Ok(file)
}
