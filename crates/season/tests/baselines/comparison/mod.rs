//! A plan held against simpler ones and against what nobody can know, in the same futures. The rules stand in
//! `docs/planning-baselines.md`.

pub mod foreseen;
pub mod lives;
pub mod play;
pub mod rows;
pub mod table;
pub mod thumb;

use models::{TemperatureUnit, fill, read_daily};
use nursery::{FileSet, Nursery};
use season::SeasonModel;
use testkit::Folder;

/// The season of the nursery that a seed makes.
pub fn made(seed: u64) -> SeasonModel {
    let folder = Folder::made(seed);
    let mut set = FileSet::default();
    for (name, text) in &folder.files {
        let name = (*name).to_owned();
        set.files.insert(name, text.as_bytes().to_vec());
    }
    season_of(&set, folder.as_of)
}

/// The season of a nursery's files on a day.
pub fn season_of(set: &FileSet, as_of: jiff::civil::Date) -> SeasonModel {
    let weather = &set.files["weather.csv"];
    let read = read_daily("weather.csv", weather, TemperatureUnit::Celsius).expect("a table");
    let record = fill(&read.record).expect("years");
    let nursery = Nursery::from_files(set, as_of).unwrap_or_else(|it| panic!("{it}"));
    season::build(&nursery, &record).unwrap_or_else(|it| panic!("{it}"))
}
