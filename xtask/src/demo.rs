//! The demo nursery: an invented nursery at an invented place, made from a fixed seed.
//!
//! `cargo xtask demo` writes the files of `demo/`. They are meant to be full enough to show every
//! page and scarce enough that a plan has something to decide: most order lines can be kept, some
//! come too early or ask for buds that nobody has. The constants here set how scarce things are.

mod draw;
mod orders;
mod sky;
mod stock;
mod tables;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use jiff::civil::{Date, date};
use models::{FilledRecord, TemperatureUnit, fill, read_daily};
use nursery::catalogue::{Catalogue, CatalogueFiles};

use draw::Draw;
use tables::Season;

/// The day from which the demo looks ahead.
pub const AS_OF: Date = date(2027, 3, 1);

/// What all draws start from.
const SEED: u64 = 20_270_301;

/// Trees that the order book asks for in a full year, about; mother trees are sized by it.
const TREES_A_YEAR: f64 = 12_500.0;
/// Buds cut for each tree sold, with all losses between.
const BUDS_A_TREE: f64 = 1.6;
/// Fewest and most plants of a usual line on what must still be grown.
const LINE_PLANTS: (u32, u32) = (230, 500);
/// Area for seedlings, m².
const SEEDBED_M2: u32 = 75;
/// Area of the field with rows, m².
const ROWS_M2: u32 = 3400;
/// Area of the house, m².
const HOUSE_M2: u32 = 105;
/// Area of the yard, m².
const YARD_M2: u32 = 400;
/// Hours of the budding crew.
const BUDDING_HOURS: [Season; 3] = [
    ("03-01", "05-31", 6.0, 3.0),
    ("06-01", "10-31", 8.0, 4.0),
    ("11-01", "02-28", 2.0, 0.0),
];
/// Hours of the growing crew.
const GROWING_HOURS: [Season; 4] = [
    ("02-15", "05-31", 22.0, 10.0),
    ("06-01", "08-31", 16.0, 6.0),
    ("09-01", "10-31", 20.0, 8.0),
    ("11-01", "02-14", 15.0, 4.0),
];
/// Seeds in the batches for this spring and the next.
const SEEDS_A_YEAR: [f64; 2] = [11_000.0, 14_000.0];
/// Liners of each rootstock that can be bought in a week.
const LINERS_A_WEEK: u32 = 50;
/// Buds of each common variety that can be bought in a week.
const BUDS_A_WEEK: u32 = 20;

/// The demo's files by name.
pub fn files() -> Result<BTreeMap<&'static str, String>> {
    let weather = sky::table(&sky::days(&mut Draw::of(SEED, 1)));
    let record = filled(&weather)?;
    let (catalogue, problems) = Catalogue::with_own(&CatalogueFiles::default());
    anyhow::ensure!(problems.is_empty(), "the shipped catalogue:\n{problems}");
    let lots = stock::lots(&mut Draw::of(SEED, 2), &record, &catalogue);
    Ok(BTreeMap::from([
        ("nursery.toml", tables::SETTINGS.to_owned()),
        ("weather.csv", weather),
        ("lots.csv", stock::table(&lots)),
        ("orders.csv", orders::table(&mut Draw::of(SEED, 3), &lots)),
        ("places.csv", tables::places()),
        ("crews.csv", tables::crews()),
        (
            "mother_trees.csv",
            tables::mother_trees(&mut Draw::of(SEED, 4)),
        ),
        ("seed.csv", tables::seed(&mut Draw::of(SEED, 5))),
        ("prices.csv", tables::prices()),
        ("demand.csv", tables::demand()),
    ]))
}

/// The weather as the program reads it, so that the lots stand where its heat puts them.
fn filled(weather: &str) -> Result<FilledRecord> {
    let record = read_daily("weather.csv", weather.as_bytes(), TemperatureUnit::Celsius)
        .map_err(|problems| anyhow::anyhow!("the demo's weather:\n{problems}"))?;
    fill(&record).context("filling the demo's weather")
}

/// Writes the files into `demo/` under `root`; returns how many.
pub fn write(root: &Path) -> Result<usize> {
    let folder = root.join("demo");
    fs::create_dir_all(&folder).context("making the demo's folder")?;
    let files = files()?;
    for (name, text) in &files {
        fs::write(folder.join(name), text).with_context(|| format!("writing {name}"))?;
    }
    Ok(files.len())
}

#[cfg(test)]
mod tests;
