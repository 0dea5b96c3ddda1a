//! Files into the ledger and out of it; the ledger as a nursery to plan.

use std::path::Path;

use jiff::civil::Date;
use nursery::FileSet;
use nursery::ledger::Books;
use nursery::ledger::import::deeds;
use serde::Serialize;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use store::Ledger;

use super::NurseryFile;
use super::record::RecordAnswer;
use crate::error::{AppError, Kind};
use crate::folder::{Found, Loaded, WeatherBytes, assemble, load_folder, read_set, write_file};

/// `import --json`.
#[derive(Debug, Serialize)]
pub struct ImportAnswer {
    /// Acts that were recorded.
    pub acts: usize,
    /// Lots opened.
    pub lots: usize,
    /// Order lines.
    pub order_lines: usize,
    /// Whether weather came with it.
    pub weather: bool,
    /// What the user should know of the files.
    pub warnings: Vec<String>,
}

/// The kind of run under which the hash of the weather in use is kept.
const WEATHER: &str = "weather";

/// Letters and digits of a ULID, in order.
const CROCKFORD: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

impl NurseryFile {
    /// Takes a folder of files into the ledger as acts of a day: all of it, or nothing.
    pub fn import(
        &mut self,
        folder: &Path,
        day: Date,
        by: &str,
        recorded_at: &str,
    ) -> Result<ImportAnswer, AppError> {
        let loaded = load_folder(folder, day)?;
        let set = read_set(folder)?.set;
        let deeds = deeds(&set, &loaded.nursery, day);
        let mut acts = Vec::new();
        for (number, deed) in deeds.iter().enumerate() {
            let mut keys = Map::from_iter([
                ("id".to_owned(), json!(import_id(&loaded.digest, number))),
                ("on".to_owned(), json!(day)),
                ("by".to_owned(), json!(by)),
            ]);
            if let Ok(Value::Object(deed)) = serde_json::to_value(deed) {
                keys.extend(deed.into_iter().filter(|(_, value)| !value.is_null()));
            }
            acts.push(Value::Object(keys));
        }
        let weather = set.get("weather.csv").or_else(|| set.get("weather.epw"));
        let is_hourly = set.get("weather.csv").is_none();
        if let Some(bytes) = weather {
            self.put_weather(bytes, is_hourly, recorded_at)?;
        }
        let is_first = self.books.number == 0;
        let acts = self
            .record_all(acts, recorded_at)?
            .map_err(|refused| import_refused(refused, folder, is_first))?;
        Ok(ImportAnswer {
            acts,
            lots: loaded.nursery.lots.len(),
            order_lines: loaded.nursery.orders.len(),
            weather: weather.is_some(),
            warnings: loaded.notes,
        })
    }

    /// Keeps a weather file as a snapshot, and its hash as that of the weather in use.
    fn put_weather(
        &self,
        bytes: &[u8],
        is_hourly: bool,
        recorded_at: &str,
    ) -> Result<(), AppError> {
        let hash = self.asked(self.ledger.put_blob(bytes))?;
        let run = store::Run {
            name: format!("{WEATHER}-{hash}"),
            kind: WEATHER.to_owned(),
            made_at: recorded_at.to_owned(),
            bytes: json!({"hash": hash.to_string(), "hourly": is_hourly})
                .to_string()
                .into_bytes(),
        };
        self.asked(self.ledger.save_run(&run))
    }

    /// The hash of the weather in use.
    pub(super) fn weather_hash(&self) -> Result<Option<String>, AppError> {
        let run = self.asked(self.ledger.latest_run(WEATHER))?;
        let keys = run.and_then(|it| serde_json::from_slice::<Value>(&it.bytes).ok());
        Ok(keys.and_then(|it| it["hash"].as_str().map(str::to_owned)))
    }

    fn weather(&self) -> Result<Option<WeatherBytes>, AppError> {
        let Some(run) = self.asked(self.ledger.latest_run(WEATHER))? else {
            return Ok(None);
        };
        let keys: Value = serde_json::from_slice(&run.bytes).unwrap_or_default();
        let hash = keys["hash"].as_str().and_then(|it| it.parse().ok());
        let Some(hash) = hash else { return Ok(None) };
        let bytes = self.asked(self.ledger.blob(&hash))?;
        let is_hourly = keys["hourly"] == json!(true);
        Ok(bytes.map(|bytes| {
            if is_hourly {
                WeatherBytes::Hourly(bytes)
            } else {
                WeatherBytes::Daily(bytes)
            }
        }))
    }

    /// Writes the nursery's files as of a day into a folder; gives their names.
    pub fn export(&self, books: &Books, day: Date, folder: &Path) -> Result<Vec<String>, AppError> {
        let mut set = self.with_customers(self.files(books, day))?;
        match self.weather()? {
            Some(WeatherBytes::Daily(bytes)) => {
                set.files.insert("weather.csv".to_owned(), bytes);
            }
            Some(WeatherBytes::Hourly(bytes)) => {
                set.files.insert("weather.epw".to_owned(), bytes);
            }
            None => {}
        }
        for (name, bytes) in &set.files {
            write_file(&folder.join(name), bytes)?;
        }
        Ok(set.files.into_keys().collect())
    }

    /// The order book with names in the place of customers' ids.
    fn with_customers(&self, mut set: FileSet) -> Result<FileSet, AppError> {
        let names = self.asked(self.ledger.names("customer"))?;
        let Some(bytes) = set.files.get_mut("orders.csv") else {
            return Ok(set);
        };
        let text = String::from_utf8_lossy(bytes).into_owned();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let mut writer = csv::Writer::from_writer(Vec::new());
        let headers = reader.headers().cloned().unwrap_or_default();
        let customer = headers.iter().position(|it| it == "customer");
        let mut rows = vec![headers];
        rows.extend(reader.records().filter_map(Result::ok).map(|row| {
            let cells = row.iter().enumerate().map(|(at, cell)| {
                let name = names
                    .iter()
                    .find(|(id, _)| Some(at) == customer && id == cell);
                name.map_or(cell, |(_, name)| name).to_owned()
            });
            cells.collect()
        }));
        for row in &rows {
            writer.write_record(row).expect("memory takes every row");
        }
        *bytes = writer.into_inner().expect("memory takes everything");
        Ok(set)
    }
}

/// An act of an import was refused, and so the whole folder.
fn import_refused(refused: RecordAnswer, folder: &Path, is_first: bool) -> AppError {
    let mend = if is_first {
        refused.mend.unwrap_or_default()
    } else {
        "nothing was taken in: a folder is taken in once, for one day and by one name; record what \
         changed since with `barkslip record`"
            .to_owned()
    };
    let why = refused.why.unwrap_or_default();
    AppError::new(Kind::Invalid, why, folder.display().to_string(), mend)
}

/// The nursery of a ledger as of a day, ready to plan.
pub fn load_ledger(file: &NurseryFile, books: &Books, as_of: Date) -> Result<Loaded, AppError> {
    let mut set = file.with_customers(file.files(books, as_of))?;
    let Some(weather) = file.weather()? else {
        return Err(AppError::new(
            Kind::Invalid,
            "there is no weather in the nursery file",
            file.path.display().to_string(),
            "import a folder with weather.csv or weather.epw",
        ));
    };
    let daily = match &weather {
        WeatherBytes::Daily(bytes) => bytes.clone(),
        WeatherBytes::Hourly(_) => Vec::new(),
    };
    set.files.insert("weather.csv".to_owned(), daily);
    let found = Found {
        set,
        ..Found::default()
    };
    assemble(&file.path, &found, as_of, &weather)
}

/// The id of an act of an import: the same files of the same day give the same, so that importing
/// them again changes nothing.
fn import_id(digest: &str, number: usize) -> String {
    let hash = Sha256::digest(format!("import {digest} {number}"));
    let letters = hash
        .iter()
        .take(25)
        .map(|byte| CROCKFORD[usize::from(byte % 32)] as char);
    std::iter::once('0').chain(letters).collect()
}
