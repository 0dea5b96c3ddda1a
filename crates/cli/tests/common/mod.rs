//! A small nursery in a folder of its own, and the program to run there.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use jiff::ToSpan;
use jiff::civil::{Date, date};
use tempfile::TempDir;

/// A folder that holds the small nursery as `my-nursery`.
pub fn folder() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let nursery = folder.path().join("my-nursery");
    fs::create_dir(&nursery).expect("a folder within it");
    let tables = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/small-nursery");
    for table in fs::read_dir(tables).expect("the tables of the small nursery") {
        let table = table.expect("a table").path();
        let name = table.file_name().expect("its name");
        fs::copy(&table, nursery.join(name)).expect("a copy of it");
    }
    fs::write(nursery.join("weather.csv"), weather()).expect("its weather");
    folder
}

/// Three invented years: a straight rise from cold to warm and back, each day a little off it.
fn weather() -> String {
    let mut table = "date,tmin,tmax,rain_mm\n".to_owned();
    let mut day: Date = date(2024, 1, 1);
    while day <= date(2027, 3, 1) {
        let from_midwinter = i32::from(day.day_of_year()).min(366 - i32::from(day.day_of_year()));
        let off = i32::from(day.day_of_year()) * 7919 % 41 - 20;
        let mean = 80 + from_midwinter + off;
        let degrees = |tenths: i32| format!("{}.{}", tenths / 10, tenths % 10);
        table.push_str(&[&day.to_string(), ",", &degrees(mean - 50), ","].concat());
        table.push_str(&[&degrees(mean + 55), ",0.0\n"].concat());
        day = day.saturating_add(1.day());
    }
    table
}

/// The program, to be run in a folder.
pub fn barkslip(folder: &Path) -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_barkslip"));
    program.current_dir(folder);
    program
}
