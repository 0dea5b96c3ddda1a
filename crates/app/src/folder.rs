//! A folder of files becomes a nursery and its weather.

use std::fs;
use std::path::Path;

use intake::{Problems, RowProblem};
use jiff::civil::Date;
use models::{DailyRecord, EpwYears, FilledRecord, TemperatureUnit, fill, read_daily, read_epw};
use nursery::settings::Units;
use nursery::{FileSet, Nursery};
use sha2::{Digest, Sha256};

use crate::error::{AppError, Kind};

/// Larger files are refused before they are read: no table of a nursery comes near it.
const LARGEST_FILE: u64 = 256 * 1024 * 1024;

/// Name of the weather file in hourly form; it stands in for `weather.csv`.
const EPW: &str = "weather.epw";

/// A nursery with its weather, as read.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The nursery.
    pub nursery: Nursery,
    /// Its weather, gaps filled.
    pub weather: FilledRecord,
    /// Digest of everything read, for the names of runs.
    pub digest: String,
    /// What the user should know of the files.
    pub notes: Vec<String>,
}

/// Reads a folder, or returns every problem of every file.
pub fn load_folder(folder: &Path, as_of: Date) -> Result<Loaded, AppError> {
    let mut set = read_set(folder)?;
    let epw = set.files.remove(EPW);
    let hourly = epw.is_some() && !set.files.contains_key("weather.csv");
    if let (true, Some(bytes)) = (hourly, epw) {
        set.files.insert("weather.csv".to_owned(), Vec::new());
        return assemble(folder, &set, as_of, &WeatherBytes::Hourly(bytes));
    }
    let daily = set.files.get("weather.csv").cloned().unwrap_or_default();
    assemble(folder, &set, as_of, &WeatherBytes::Daily(daily))
}

/// A weather file as it was read.
pub(crate) enum WeatherBytes {
    /// A daily table.
    Daily(Vec<u8>),
    /// An hourly file.
    Hourly(Vec<u8>),
}

/// Puts files and weather together.
pub(crate) fn assemble(
    folder: &Path,
    set: &FileSet,
    as_of: Date,
    weather: &WeatherBytes,
) -> Result<Loaded, AppError> {
    let mut problems = Problems::default();
    let nursery = Nursery::from_files(set, as_of)
        .map_err(|found| problems.extend(found.0))
        .ok();
    let units = nursery
        .as_ref()
        .map_or(Units::Metric, |nursery| nursery.settings.units);
    let record = if set.files.contains_key("weather.csv") {
        read_weather(weather, units, as_of)
            .map_err(|found| problems.extend(found.0))
            .ok()
    } else {
        None
    };
    match (nursery, record) {
        (Some(nursery), Some(weather_record)) if problems.is_empty() => {
            let notes = weather_notes(&weather_record, as_of);
            let digest = digest(set, as_of, weather);
            Ok(Loaded {
                nursery,
                weather: weather_record,
                digest,
                notes,
            })
        }
        _ => Err(AppError::of_problems(
            folder.display().to_string(),
            problems,
        )),
    }
}

fn read_weather(
    weather: &WeatherBytes,
    units: Units,
    as_of: Date,
) -> Result<FilledRecord, Problems> {
    let unit = match units {
        Units::Metric => TemperatureUnit::Celsius,
        Units::Us => TemperatureUnit::Fahrenheit,
    };
    let (file, record) = match weather {
        WeatherBytes::Daily(bytes) => ("weather.csv", read_daily("weather.csv", bytes, unit)?),
        WeatherBytes::Hourly(bytes) => {
            let year = EpwYears::On(as_of.year() - 1);
            let hourly = read_epw(EPW, bytes, year)?;
            let daily = hourly.daily();
            let mend = "take a file with a whole year of hours";
            let empty = || Problems(vec![RowProblem::of_file(EPW, "holds no day", mend)]);
            (EPW, daily.ok_or_else(empty)?)
        }
    };
    until_as_of(&record, as_of)
        .ok_or_else(|| "no day lies before the day you look ahead from".to_owned())
        .and_then(|record| fill(&record).map_err(|error| error.to_string()))
        .map_err(|what| {
            let mend = "give at least one whole year before the day you look ahead from";
            Problems(vec![RowProblem::of_file(file, what, mend)])
        })
}

/// What was known of the weather on a day: nothing later counts, so that a plan as of an earlier
/// day is the plan that could have been made then.
fn until_as_of(record: &DailyRecord, as_of: Date) -> Option<DailyRecord> {
    let days = record
        .first()
        .series(jiff::Span::new().days(1))
        .zip(record.days());
    DailyRecord::new(
        record.site().cloned(),
        days.take_while(|(date, _)| *date <= as_of)
            .map(|(date, day)| (date, *day)),
    )
}

fn weather_notes(weather: &FilledRecord, as_of: Date) -> Vec<String> {
    let mut notes = vec![format!(
        "Weather to come is taken from the site's own years {} to {}.",
        weather.first().year(),
        weather.last().year()
    )];
    let filled = weather.filled_tmin().max(weather.filled_tmax());
    if filled > 0 {
        notes.push(format!(
            "{filled} days without a temperature were filled from the same days of other years."
        ));
    }
    let missing = weather
        .last()
        .until(as_of)
        .map_or(0, |span| span.get_days());
    if missing > 7 {
        notes.push(format!(
            "The weather file ends {missing} days before the day you look ahead from; the heat of \
             those days is taken from other years."
        ));
    }
    notes
}

/// Reads the files of a folder that Barkslip knows.
pub(crate) fn read_set(folder: &Path) -> Result<FileSet, AppError> {
    if !folder.is_dir() {
        return Err(AppError::new(
            Kind::NotFound,
            "there is no such folder",
            folder.display().to_string(),
            "name a folder with the nursery's files, or make one with `barkslip template`",
        ));
    }
    let mut set = FileSet::default();
    for name in FileSet::REQUIRED
        .iter()
        .chain(FileSet::OPTIONAL)
        .chain([&EPW])
    {
        let path = folder.join(name);
        if path.exists() {
            set.files.insert((*name).to_owned(), read_file(&path)?);
        }
    }
    Ok(set)
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
    let hash = hash.finalize();
    let start: [u8; 8] = std::array::from_fn(|index| hash[index]);
    format!("{:010x}", u64::from_be_bytes(start) >> 24)
}
