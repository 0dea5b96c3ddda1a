//! A folder of files becomes a nursery and its weather.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use intake::{Problems, RowProblem, nearest};
use jiff::civil::Date;
use models::{DailyRecord, FilledRecord, Finding};
use nursery::{FileSet, Nursery};
use season::JobBefore;
use sha2::{Digest, Sha256};

use crate::error::{AppError, Kind};
use crate::weather_file::{
    DAILY, EPW, FORECAST, Station, WeatherBytes, add_forecast, perhaps_in_celsius, read_weather,
    weather_notes,
};

/// Larger files are refused before they are read: no table of a nursery comes near it.
const LARGEST_FILE: u64 = 256 * 1024 * 1024;

/// Endings of names that a nursery's files have.
const ENDINGS: [&str; 3] = [".csv", ".toml", ".epw"];

/// A nursery with its weather, as read.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The nursery.
    pub nursery: Nursery,
    /// Its weather, gaps filled.
    pub weather: FilledRecord,
    /// The days as they were measured, with their gaps.
    pub days: DailyRecord,
    /// What was wrong with the weather file.
    pub findings: Vec<Finding>,
    /// Digest of everything read, for the names of runs.
    pub digest: String,
    /// What the user should know of the files.
    pub notes: Vec<String>,
    /// What is looked at as if it were otherwise, as it is written.
    pub changes: Vec<String>,
    /// The next jobs of the plan that people work by; none of a folder, or before any plan is accepted.
    pub before: Vec<JobBefore>,
}

/// Reads a folder, or returns every problem of every file.
pub fn load_folder(folder: &Path, as_of: Date) -> Result<Loaded, AppError> {
    let mut found = read_set(folder)?;
    let epw = found.set.files.remove(EPW);
    let hourly = epw.is_some() && !found.set.files.contains_key("weather.csv");
    if let (true, Some(bytes)) = (hourly, epw) {
        let files = &mut found.set.files;
        files.insert("weather.csv".to_owned(), Vec::new());
        return assemble(folder, &found, as_of, &WeatherBytes::Hourly(bytes));
    }
    let daily = found.set.get("weather.csv").unwrap_or_default().to_vec();
    assemble(folder, &found, as_of, &WeatherBytes::Daily(daily))
}

/// What lies in a folder.
#[derive(Default)]
pub(crate) struct Found {
    /// The files that are known by name.
    pub set: FileSet,
    /// Known names under which a link lies that leads nowhere.
    pub broken: BTreeSet<String>,
    /// Names that look like a nursery's file and are none.
    pub strangers: Vec<String>,
}

/// Puts files and weather together.
pub(crate) fn assemble(
    folder: &Path,
    found: &Found,
    as_of: Date,
    weather: &WeatherBytes,
) -> Result<Loaded, AppError> {
    let set = &found.set;
    let mut problems = Problems(
        found
            .broken
            .iter()
            .map(|name| leads_nowhere(name))
            .collect(),
    );
    let nursery = Nursery::from_files(set, as_of)
        .map_err(|of_files| problems.extend(found.named(of_files)))
        .ok();
    let settings = nursery.as_ref().map(|nursery| &nursery.settings);
    let station = settings.map_or_else(Station::default, Station::of);
    let mut forecast_notes = Vec::new();
    let read = if set.files.contains_key(DAILY) {
        read_weather(weather, station, as_of)
            .and_then(|mut read| {
                if let Some(bytes) = set.get(FORECAST) {
                    forecast_notes = add_forecast(&mut read, bytes, station, as_of)?;
                }
                Ok(read)
            })
            .map_err(|found| problems.extend(found.0))
            .ok()
    } else {
        None
    };
    match (nursery, read) {
        (Some(nursery), Some(read)) if problems.is_empty() => {
            let mut notes: Vec<String> =
                found.strangers.iter().map(|name| not_read(name)).collect();
            notes.extend(weather_notes(&read.record, &read.findings, as_of));
            notes.extend(forecast_notes);
            notes.extend(perhaps_in_celsius(&read.record, weather, station));
            let digest = digest(set, as_of, weather);
            Ok(Loaded {
                nursery,
                weather: read.record,
                days: read.days,
                findings: read.findings,
                digest,
                notes,
                changes: Vec::new(),
                before: Vec::new(),
            })
        }
        _ => Err(AppError::of_problems(
            folder.display().to_string(),
            problems,
        )),
    }
}

impl Found {
    /// Problems of the files: of a link that leads nowhere it is not said that it is not there, and
    /// for a file that is not there one that may be it is named.
    fn named(&self, problems: Problems) -> Vec<RowProblem> {
        problems
            .0
            .into_iter()
            .filter(|problem| {
                problem.rule != FileSet::MISSING || !self.broken.contains(&problem.file)
            })
            .map(|mut problem| {
                let mut strangers = self.strangers.iter();
                let may_be = |name: &&String| near(name) == Some(problem.file.as_str());
                if problem.rule == FileSet::MISSING
                    && let Some(name) = strangers.find(may_be)
                {
                    problem.mend = format!("rename {name} if that is the file");
                }
                problem
            })
            .collect()
    }
}

fn leads_nowhere(name: &str) -> RowProblem {
    let rule = "this link leads to no file";
    RowProblem::of_file(name, rule, "put the file there, or remove the link")
}

/// The names of a nursery's files.
fn known_names() -> Vec<&'static str> {
    let required = FileSet::REQUIRED.iter();
    required
        .chain(FileSet::OPTIONAL)
        .copied()
        .chain([EPW])
        .collect()
}

/// The known name of which a file's name is a slip of the hand.
fn near(name: &str) -> Option<&'static str> {
    let low = name.to_lowercase();
    let ending = ENDINGS.into_iter().find(|it| low.ends_with(it))?;
    let stem = |name: &str| name.strip_suffix(ending).unwrap_or(name).to_owned();
    let alike: Vec<&'static str> = known_names()
        .into_iter()
        .filter(|known| known.ends_with(ending))
        .collect();
    // Endings are the same and would make all names look near.
    let stems: Vec<String> = alike.iter().map(|known| stem(known)).collect();
    let words: Vec<&str> = stems.iter().map(String::as_str).collect();
    let found = nearest(&stem(&low), &words)?;
    let position = words.iter().position(|word| *word == found)?;
    alike.get(position).copied()
}

fn not_read(name: &str) -> String {
    match near(name) {
        Some(known) => {
            format!("{name} was not read: rename it to {known} if that is what is meant.")
        }
        None => format!("{name} was not read: no file of a nursery has that name."),
    }
}

/// Reads the files of a folder that Barkslip knows.
pub(crate) fn read_set(folder: &Path) -> Result<Found, AppError> {
    if !folder.is_dir() {
        return Err(AppError::new(
            Kind::NotFound,
            "there is no such folder",
            folder.display().to_string(),
            "name a folder with the nursery's files, or make one with `barkslip template`",
        ));
    }
    let mut set = FileSet::default();
    let mut broken = BTreeSet::new();
    for name in known_names() {
        let path = folder.join(name);
        if path.exists() {
            set.files.insert(name.to_owned(), read_file(&path)?);
        } else if path.is_symlink() {
            broken.insert(name.to_owned());
        }
    }
    let strangers = strangers(folder, &set);
    Ok(Found {
        set,
        broken,
        strangers,
    })
}

/// Files that somebody chose one by one: each must be one of a nursery's. An hourly weather file may
/// have any name, for its makers give it one of their own.
pub(crate) fn chosen(files: Vec<(String, Vec<u8>)>) -> Result<Found, AppError> {
    let mut found = Found::default();
    let mut problems = Problems::default();
    let known = known_names();
    for (name, bytes) in files {
        let low = name.to_lowercase();
        let is_hourly = name.to_lowercase().ends_with(".epw");
        let meant = if is_hourly { EPW } else { low.as_str() };
        if !known.contains(&meant) {
            problems.push(no_such_file(&name, &known));
        } else if found.set.files.insert(meant.to_owned(), bytes).is_some() {
            let rule = format!("two files stand for {meant}");
            problems.push(RowProblem::of_file(&name, rule, "choose one of them"));
        }
    }
    if found.set.files.is_empty() && problems.is_empty() {
        let rule = "no file was chosen";
        problems.push(RowProblem::of_file("files", rule, "choose at least one"));
    }
    if problems.is_empty() {
        Ok(found)
    } else {
        Err(AppError::of_problems("files", problems))
    }
}

fn no_such_file(name: &str, known: &[&str]) -> RowProblem {
    let mend = match near(name) {
        Some(known) => format!("rename it to {known} if that is what is meant"),
        None => format!("give it one of the names {}", known.join(", ")),
    };
    RowProblem::of_file(name, "no file of a nursery has this name", mend)
}

/// Names in the folder that end as a nursery's file does and are none, in their order.
fn strangers(folder: &Path, set: &FileSet) -> Vec<String> {
    let known = known_names();
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let names: BTreeSet<String> = entries
        .filter(|entry| !entry.path().is_dir())
        .filter_map(|entry| entry.file_name().into_string().ok())
        .collect();
    let looks_like_one = |name: &&String| {
        let low = name.to_lowercase();
        // Where capitals do not count in names, the file was read under its known one.
        let read = set.files.contains_key(&low) && !names.contains(&low);
        !name.starts_with('.')
            && ENDINGS.into_iter().any(|ending| low.ends_with(ending))
            && !known.contains(&name.as_str())
            && !read
    };
    names.iter().filter(looks_like_one).cloned().collect()
}

/// Reads a file's bytes.
pub fn read_file(path: &Path) -> Result<Vec<u8>, AppError> {
    let unreadable = |what: String, mend: &str| {
        AppError::new(Kind::Unavailable, what, path.display().to_string(), mend)
    };
    let length = fs::metadata(path)
        .map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => AppError::new(
                Kind::NotFound,
                "there is no such file",
                path.display().to_string(),
                "check the name and the folder",
            ),
            _ => unreadable(error.to_string(), "check that it may be read"),
        })?
        .len();
    if path.is_dir() {
        return Err(unreadable(
            "this is a folder where a file is needed".to_owned(),
            "name a file in it",
        ));
    }
    if length > LARGEST_FILE {
        return Err(unreadable(
            format!("the file has {length} bytes, more than {LARGEST_FILE}"),
            "check that it is the right file",
        ));
    }
    fs::read(path).map_err(|error| unreadable(error.to_string(), "check that it may be read"))
}

/// Writes a file whole or not at all: beside its place first, then into it.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), AppError> {
    let failed = |error: std::io::Error| {
        AppError::new(
            Kind::Unavailable,
            format!("could not be written: {error}"),
            path.display().to_string(),
            "check that the folder is there and there is room",
        )
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    fs::write(&beside, bytes)
        .and_then(|()| fs::rename(&beside, path))
        .map_err(failed)
}

fn digest(set: &FileSet, as_of: Date, weather: &WeatherBytes) -> String {
    let mut hash = Sha256::new();
    hash.update(env!("CARGO_PKG_VERSION"));
    hash.update(as_of.to_string());
    let (WeatherBytes::Daily(bytes) | WeatherBytes::Hourly(bytes)) = weather;
    hash.update(bytes);
    for (name, bytes) in &set.files {
        hash.update(name);
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    }
    short_digest(hash)
}

/// The beginning of a digest, long enough to tell runs apart.
pub(crate) fn short_digest(hash: Sha256) -> String {
    let hash = hash.finalize();
    let start: [u8; 8] = std::array::from_fn(|index| hash[index]);
    format!("{:010x}", u64::from_be_bytes(start) >> 24)
}
