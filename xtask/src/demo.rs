//! The demo nursery: an invented nursery at an invented place, made from a fixed seed.
//!
//! `cargo xtask demo` writes the files of `demo/`: two years of acts, and the tables that the books
//! hold after them. They are meant to be full enough to show every page and scarce enough that a
//! plan has something to decide: most order lines can be kept, some come too early or ask for buds
//! that nobody has. The constants here set how scarce things are.

mod care;
mod diary;
mod draw;
mod grower;
mod kinds;
mod orders;
mod site;
mod sky;
mod stocks;
mod tables;
mod terms;
mod trees;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use jiff::civil::{Date, date};
use models::{FilledRecord, TemperatureUnit, fill, read_daily};
use nursery::catalogue::Catalogue;
use nursery::ledger::{Act, export, import};
use nursery::{FileSet, Nursery};

use draw::Draw;
use grower::Grower;
use site::Site;
use tables::Season;

/// The day from which the demo looks ahead.
pub const AS_OF: Date = date(2027, 3, 1);

/// The day on which the demo's books open.
pub const OPENED: Date = date(2025, 3, 1);

/// Degrees north.
const LATITUDE: f64 = 37.2;

/// What all draws start from.
const SEED: u64 = 20_270_301;

/// Trees that the order book asks for in a full year, about; mother trees are sized by it.
const TREES_A_YEAR: f64 = 18_000.0;
/// Buds cut for each tree sold, with all losses between.
const BUDS_A_TREE: f64 = 2.875;
/// Fewest and most plants of a usual line on what must still be grown.
const LINE_PLANTS: (u32, u32) = (150, 320);
/// Area for seedlings, m².
const SEEDBED_M2: u32 = 145;
/// Area of the field with rows, m².
const ROWS_M2: u32 = 7400;
/// Area of the house, m².
const HOUSE_M2: u32 = 310;
/// Area of the yard, m².
const YARD_M2: u32 = 900;
/// Hours of the budding crew.
const BUDDING_HOURS: [Season; 3] = [
    ("03-01", "05-31", 14.0, 6.0),
    ("06-01", "10-31", 18.0, 9.0),
    ("11-01", "02-28", 5.0, 0.0),
];
/// Hours of the growing crew.
const GROWING_HOURS: [Season; 4] = [
    ("02-15", "05-31", 48.0, 21.0),
    ("06-01", "08-31", 36.0, 14.0),
    ("09-01", "10-31", 43.0, 17.0),
    ("11-01", "02-14", 33.0, 9.0),
];
/// Seeds left for this spring and expected for the next.
const SEEDS_LEFT: [f64; 2] = [21_000.0, 27_000.0];
/// Seeds of each rootstock that can be bought in a week.
const SEEDS_A_WEEK: u32 = 2500;
/// Liners of each rootstock that can be bought in a week.
const LINERS_A_WEEK: u32 = 130;
/// Buds of each common variety that can be bought in a week.
const BUDS_A_WEEK: u32 = 45;

/// The demo's settings by name, as they hold from the day on which the books open.
fn settings() -> BTreeMap<&'static str, String> {
    BTreeMap::from([
        ("nursery.toml", tables::SETTINGS.to_owned()),
        ("routes.toml", tables::routes()),
        ("places.csv", tables::places()),
        ("crews.csv", tables::crews()),
        ("prices.csv", tables::prices()),
        ("demand.csv", tables::demand()),
        ("grades.csv", tables::GRADES.to_owned()),
        ("watering.csv", tables::WATERING.to_owned()),
    ])
}

/// The demo's files by name: the weather, the acts, and the tables of the books after them.
pub fn files() -> Result<BTreeMap<String, String>> {
    let weather = sky::table(&sky::days(&mut Draw::of(SEED, 1)));
    let mut given = set_of(&settings());
    let (catalogue, problems) = Catalogue::with_own(&given.own_catalogue());
    anyhow::ensure!(problems.is_empty(), "the demo's catalogue:\n{problems}");
    let acts = acts(&filled(&weather)?, &catalogue)?;
    given
        .files
        .insert("weather.csv".to_owned(), weather.clone().into_bytes());
    let nursery = Nursery::from_files(&given, OPENED)
        .map_err(|problems| anyhow::anyhow!("the demo's settings:\n{problems}"))?;
    let deeds = import::deeds(&given, &nursery, OPENED);
    let opening = diary::opening(deeds, &mut Draw::of(SEED, 6))?;
    let books = diary::books(&catalogue, opening.into_iter().chain(acts.clone()))?;
    let mut files = BTreeMap::from([
        ("weather.csv".to_owned(), weather),
        ("acts.jsonl".to_owned(), diary::lines(&acts)),
    ]);
    for (name, bytes) in export::files(&books, AS_OF).files {
        files.insert(name, String::from_utf8(bytes)?);
    }
    Ok(files)
}

fn set_of(files: &BTreeMap<&'static str, String>) -> FileSet {
    let files = files.iter();
    FileSet {
        files: files
            .map(|(name, text)| ((*name).to_owned(), text.clone().into_bytes()))
            .collect(),
    }
}

/// What was done in the demo's two years, in the order in which it was recorded.
fn acts(weather: &FilledRecord, catalogue: &Catalogue) -> Result<Vec<Act>> {
    let site = Site::under(weather, catalogue)?;
    let mut grower = Grower::new(Draw::of(SEED, 2), &site);
    care::keep_mother_trees(&mut grower, &mut Draw::of(SEED, 4));
    let pools = stocks::raise(&mut grower);
    trees::grow(&mut grower, pools);
    grower.cut_sticks();
    care::hold(&mut grower);
    care::hours(&mut grower);
    care::notes(&mut grower);
    care::bark_notes(&mut grower);
    care::watered(&mut grower);
    care::nights(&mut grower, weather, &mut Draw::of(SEED, 7));
    grower.stocktake();
    orders::take(&mut grower, &mut Draw::of(SEED, 3), &mut Draw::of(SEED, 8));
    terms::measure(&mut grower, &mut Draw::of(SEED, 9));
    grower.diary.acts(&mut Draw::of(SEED, 5))
}

/// The weather as the program reads it, so that the lots stand where its heat puts them.
fn filled(weather: &str) -> Result<FilledRecord> {
    let read = read_daily("weather.csv", weather.as_bytes(), TemperatureUnit::Celsius)
        .map_err(|problems| anyhow::anyhow!("the demo's weather:\n{problems}"))?;
    fill(&read.record).context("filling the demo's weather")
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
