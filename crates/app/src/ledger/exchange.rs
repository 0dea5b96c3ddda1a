//! Files into the ledger and out of it; the ledger as a nursery to plan.

use std::collections::BTreeSet;
use std::path::Path;

use intake::Problems;
use jiff::civil::Date;
use models::{Finding, read_forecast};
use nursery::ledger::act::{ChangeOrder, Line, Order};
use nursery::ledger::amount::Percent;
use nursery::ledger::books::OrderBook;
use nursery::ledger::import::deeds;
use nursery::ledger::lineage::Node;
use nursery::ledger::{Books, Deed};
use nursery::records::Lot;
use nursery::templates::template;
use nursery::{FileSet, Nursery};
use serde::Serialize;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use store::Ledger;
use ulid::Ulid;

use super::NurseryFile;
use super::record::RecordAnswer;
use crate::error::{AppError, Kind};
use crate::folder::{Found, Loaded, assemble, chosen, read_set, short_digest, write_file};
use crate::weather_file::{
    FORECAST, FilledSpan, ReadWeather, Station, WeatherBytes, add_forecast, filled_spans,
    first_findings, read_weather, weather_notes,
};

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
    /// Whether a forecast came that was not in use.
    pub forecast: bool,
    /// What the user should know of the files.
    pub warnings: Vec<String>,
}

/// The weather that a nursery is planned with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeatherInUse {
    /// Whether the file is an hourly one.
    pub is_hourly: bool,
    /// First day used.
    pub first: Date,
    /// Last day used.
    pub last: Date,
    /// Days used.
    pub days: usize,
    /// Days whose temperature was missing and taken from other years.
    pub filled: usize,
    /// Days that are made from monthly means, not measured.
    pub made: usize,
    /// Problems of the file; what they concern was left out.
    pub problems: usize,
    /// The first of them.
    pub findings: Vec<Finding>,
    /// The filled days, the latest first.
    pub filled_spans: Vec<FilledSpan>,
    /// What is to be known of it.
    pub notes: Vec<String>,
}

/// Files that were checked, on their way into the ledger.
struct Taken<'a> {
    given: &'a Found,
    nursery: &'a Nursery,
    notes: Vec<String>,
}

/// The kind of run under which the hash of the weather in use is kept.
const WEATHER: &str = "weather";

/// The kind of run under which the hash of the forecast in use is kept.
const FORECAST_RUN: &str = "forecast";

impl NurseryFile {
    /// Takes a folder of files into the ledger as acts of a day: all that is new in them, or nothing.
    ///
    /// Files that the folder lacks stay as they are known; lots and seed batches that are known already
    /// are passed over, for what became of them is in the books.
    pub fn import(
        &mut self,
        folder: &Path,
        day: Date,
        by: &str,
        recorded_at: &str,
    ) -> Result<ImportAnswer, AppError> {
        self.take_in(folder, &read_set(folder)?, day, by, recorded_at)
    }

    /// Takes files into the ledger as acts of a day: all that is new in them, or nothing. `from` is
    /// said of them in errors.
    pub(crate) fn take_in(
        &mut self,
        from: &Path,
        given: &Found,
        day: Date,
        by: &str,
        recorded_at: &str,
    ) -> Result<ImportAnswer, AppError> {
        let loaded = self.checked(from, given, day)?;
        let taken = Taken {
            given,
            nursery: &loaded.nursery,
            notes: loaded.notes,
        };
        self.take_in_checked(from, taken, (day, by), recorded_at)
    }

    /// Takes files in that somebody chose, by their names: all that is new in them, or nothing.
    /// While the nursery is not complete, what is missing is no problem of theirs.
    pub fn take_in_files(
        &mut self,
        files: Vec<(String, Vec<u8>)>,
        day: Date,
        by: &str,
        recorded_at: &str,
    ) -> Result<ImportAnswer, AppError> {
        let from = Path::new("files");
        let given = chosen(files)?;
        let (nursery, notes) = self.checked_in_part(from, &given, day)?;
        let taken = Taken {
            given: &given,
            nursery: &nursery,
            notes,
        };
        self.take_in_checked(from, taken, (day, by), recorded_at)
    }

    fn take_in_checked(
        &mut self,
        from: &Path,
        taken: Taken<'_>,
        (day, by): (Date, &str),
        recorded_at: &str,
    ) -> Result<ImportAnswer, AppError> {
        let set = &taken.given.set;
        let weather = given_weather(set);
        let all = deeds(set, taken.nursery, day);
        let columns = columns_of(set.get("orders.csv"));
        let new = all.into_iter().filter_map(|it| self.new_in(it, &columns));
        let new: Vec<Deed> = new.collect();
        let known_forecast = self.forecast_in_use()?;
        let of_kind = |is: fn(&Deed) -> usize| new.iter().map(is).sum();
        let mut answer = ImportAnswer {
            acts: 0,
            lots: of_kind(|it| usize::from(matches!(it, Deed::OpenLot(_)))),
            order_lines: of_kind(|it| match it {
                Deed::Order(it) => it.lines.len(),
                Deed::ChangeOrder(it) => it.lines.len(),
                _ => 0,
            }),
            weather: weather.is_some(),
            forecast: set
                .get(FORECAST)
                .is_some_and(|it| known_forecast.as_deref() != Some(it)),
            warnings: taken.notes,
        };
        let number = self.books.number;
        let acts = new.iter().map(|deed| import_act(deed, day, by, number));
        answer.acts = self
            .record_all(acts.map(|act| (act, recorded_at)).collect())?
            .map_err(|refused| import_refused(refused, from))?;
        if let Some((bytes, is_hourly)) = weather {
            self.put_weather(bytes, is_hourly, recorded_at)?;
        }
        if let Some(bytes) = set.get(FORECAST) {
            self.put_forecast(bytes, recorded_at)?;
        }
        Ok(answer)
    }

    /// The nursery that the folder's files and, for those it lacks, the known ones make together.
    fn checked(&self, folder: &Path, given: &Found, day: Date) -> Result<Loaded, AppError> {
        let set = self.set_with(given, day)?;
        let known = match given_bytes(&given.set) {
            Some(bytes) => Some(bytes),
            None => self.weather()?,
        };
        let is_known = known.is_some();
        let weather = known.unwrap_or(WeatherBytes::Daily(Vec::new()));
        let found = Found {
            set: with_weather(set, &weather, is_known),
            broken: given.broken.clone(),
            strangers: given.strangers.clone(),
        };
        assemble(folder, &found, day, &weather)
    }

    /// The files as they are known, with those given in the place of theirs.
    fn set_with(&self, given: &Found, day: Date) -> Result<FileSet, AppError> {
        let mut set = self.with_customers(self.files(&self.books, day))?;
        set = self.with_forecast(set)?;
        set.files.extend(given.set.files.clone());
        // What stands and is ordered is in the books; only what the files given say of it is read anew.
        for table in ["lots.csv", "orders.csv", "seed.csv"] {
            if given.set.get(table).is_none() {
                set.files.remove(table);
            }
        }
        Ok(set)
    }

    /// The nursery that the files given and the known ones make, each checked, while some may still
    /// be missing: a template stands in for those. With it, what is to be known of the files.
    fn checked_in_part(
        &self,
        from: &Path,
        given: &Found,
        day: Date,
    ) -> Result<(Nursery, Vec<String>), AppError> {
        let mut set = self.set_with(given, day)?;
        set.files.remove("weather.epw");
        for name in FileSet::REQUIRED {
            let stand_in = || template(name).unwrap_or_default().as_bytes().to_vec();
            set.files.entry((*name).to_owned()).or_insert_with(stand_in);
        }
        let nursery = Nursery::from_files(&set, day).map_err(|found| of_files(from, found))?;
        let station = Station::of(&nursery.settings);
        if let Some(bytes) = given.set.get(FORECAST) {
            read_forecast(FORECAST, bytes, station.unit).map_err(|found| of_files(from, found))?;
        }
        let notes = match given_bytes(&given.set) {
            None => Vec::new(),
            Some(weather) => {
                let mut read =
                    read_weather(&weather, station, day).map_err(|found| of_files(from, found))?;
                let mut notes = weather_notes(&read.record, &read.findings, day);
                if let Some(bytes) = given.set.get(FORECAST) {
                    let told = add_forecast(&mut read, bytes, station, day);
                    notes.extend(told.map_err(|found| of_files(from, found))?);
                }
                notes
            }
        };
        Ok((nursery, notes))
    }

    /// Puts a weather file in the place of the one in use, once it has been read without a problem.
    pub fn use_weather(
        &self,
        file: (&str, &[u8]),
        day: Date,
        recorded_at: &str,
    ) -> Result<(), AppError> {
        let (name, bytes) = file;
        let settings = self.settings(&self.books, day);
        let station = settings.as_ref().map_or_else(Station::default, Station::of);
        let is_hourly = name.to_lowercase().ends_with(".epw");
        let weather = weather_of(bytes, is_hourly);
        read_weather(&weather, station, day).map_err(|found| of_files(Path::new(name), found))?;
        self.put_weather(bytes, is_hourly, recorded_at)
    }

    /// The weather in use as read for a day, and what is to be known of it; none where there is none.
    pub fn weather_in_use(
        &self,
        books: &Books,
        day: Date,
    ) -> Result<Option<WeatherInUse>, AppError> {
        let Some(weather) = self.weather()? else {
            return Ok(None);
        };
        let settings = self.settings(books, day);
        let station = settings.as_ref().map_or_else(Station::default, Station::of);
        let ReadWeather {
            record, findings, ..
        } = read_weather(&weather, station, day).map_err(|found| of_files(&self.path, found))?;
        Ok(Some(WeatherInUse {
            is_hourly: matches!(weather, WeatherBytes::Hourly(_)),
            first: record.first(),
            last: record.last(),
            days: record.days().len(),
            filled: record.filled_days(),
            made: record.made_days(),
            problems: findings.len(),
            findings: first_findings(&findings),
            filled_spans: filled_spans(&record).into_iter().rev().collect(),
            notes: weather_notes(&record, &findings, day),
        }))
    }

    /// What of a deed is new to the books, if anything; `columns` are those of the orders given.
    fn new_in(&self, deed: Deed, columns: &BTreeSet<String>) -> Option<Deed> {
        let books = &self.books;
        match deed {
            Deed::Set(set) if books.settings.holds(&set) => None,
            Deed::ReceiveSeed(it) if books.batches.contains_key(&it.batch) => None,
            Deed::OpenLot(it) if books.lots.contains_key(&it.lot) => None,
            Deed::Order(it) => match books.orders.get(&it.order) {
                Some(known) => changed_lines(it, known, columns),
                None => Some(Deed::Order(it)),
            },
            other => Some(other),
        }
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

    /// Keeps a forecast as a snapshot, and its hash as that of the forecast in use.
    fn put_forecast(&self, bytes: &[u8], recorded_at: &str) -> Result<(), AppError> {
        let hash = self.asked(self.ledger.put_blob(bytes))?;
        let run = store::Run {
            name: format!("{FORECAST_RUN}-{hash}"),
            kind: FORECAST_RUN.to_owned(),
            made_at: recorded_at.to_owned(),
            bytes: json!({"hash": hash.to_string()}).to_string().into_bytes(),
        };
        self.asked(self.ledger.save_run(&run))
    }

    /// The files with the forecast in use, where none is among them.
    pub(super) fn with_forecast(&self, mut set: FileSet) -> Result<FileSet, AppError> {
        if set.get(FORECAST).is_none()
            && let Some(bytes) = self.forecast_in_use()?
        {
            set.files.insert(FORECAST.to_owned(), bytes);
        }
        Ok(set)
    }

    fn forecast_in_use(&self) -> Result<Option<Vec<u8>>, AppError> {
        let hash = self.hash_of(FORECAST_RUN)?;
        match hash.and_then(|it| it.parse().ok()) {
            Some(hash) => self.asked(self.ledger.blob(&hash)),
            None => Ok(None),
        }
    }

    fn hash_of(&self, kind: &str) -> Result<Option<String>, AppError> {
        let run = self.asked(self.ledger.latest_run(kind))?;
        let keys = run.and_then(|it| serde_json::from_slice::<Value>(&it.bytes).ok());
        Ok(keys.and_then(|it| it["hash"].as_str().map(str::to_owned)))
    }

    /// The hash of the weather in use, with that of its forecast; none where there is no weather.
    pub(super) fn weather_hash(&self) -> Result<Option<String>, AppError> {
        let forecast = self.hash_of(FORECAST_RUN)?;
        let weather = self.hash_of(WEATHER)?;
        Ok(weather.map(|hash| hash + forecast.as_deref().unwrap_or_default()))
    }

    pub(super) fn weather(&self) -> Result<Option<WeatherBytes>, AppError> {
        let Some(run) = self.asked(self.ledger.latest_run(WEATHER))? else {
            return Ok(None);
        };
        let keys: Value = serde_json::from_slice(&run.bytes).unwrap_or_default();
        let hash = keys["hash"].as_str().and_then(|it| it.parse().ok());
        let Some(hash) = hash else { return Ok(None) };
        let bytes = self.asked(self.ledger.blob(&hash))?;
        let is_hourly = keys["hourly"] == json!(true);
        Ok(bytes.map(|bytes| weather_of(&bytes, is_hourly)))
    }

    /// Writes the nursery's files as of a day into a folder; gives their names.
    pub fn export(&self, books: &Books, day: Date, folder: &Path) -> Result<Vec<String>, AppError> {
        let set = self.all_files(books, day)?;
        for (name, bytes) in &set.files {
            write_file(&folder.join(name), bytes)?;
        }
        Ok(set.files.into_keys().collect())
    }

    /// The nursery's files as of a day, as they are written out, with the weather in use.
    pub fn all_files(&self, books: &Books, day: Date) -> Result<FileSet, AppError> {
        let mut set = self.with_customers(self.files(books, day))?;
        set = self.with_forecast(set)?;
        match self.weather()? {
            Some(WeatherBytes::Daily(bytes)) => {
                set.files.insert("weather.csv".to_owned(), bytes);
            }
            Some(WeatherBytes::Hourly(bytes)) => {
                set.files.insert("weather.epw".to_owned(), bytes);
            }
            None => {}
        }
        Ok(set)
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
fn import_refused(refused: RecordAnswer, folder: &Path) -> AppError {
    AppError::new(
        Kind::Invalid,
        refused.why.unwrap_or_default(),
        folder.display().to_string(),
        format!("nothing was taken in: {}", refused.mend.unwrap_or_default()),
    )
}

/// The lines of a known order that are new or not as they are known. The plants of a file are those
/// still to be sent; what the file has no column for stays as it is known.
fn changed_lines(given: Order, known: &OrderBook, columns: &BTreeSet<String>) -> Option<Deed> {
    let lines: Vec<Line> = given
        .lines
        .into_iter()
        .filter_map(|mut line| {
            let Some(book) = known.lines.get(&line.line) else {
                return Some(line);
            };
            line.plants = line.plants.saturating_add(book.shipped());
            let Some(now) = book.now() else {
                return Some(line);
            };
            keep_untold(&mut line, now, columns);
            (without_empty(now) != without_empty(&line)).then_some(line)
        })
        .collect();
    (!lines.is_empty()).then_some(Deed::ChangeOrder(ChangeOrder {
        order: given.order,
        lines,
    }))
}

/// What a file has no column for stays as it is known.
fn keep_untold(line: &mut Line, now: &Line, columns: &BTreeSet<String>) {
    let is_told = |column: &str| columns.contains(column);
    if !is_told("contract") {
        line.contract = now.contract;
    }
    if !is_told("tolerance_percent") {
        line.tolerance_percent = now.tolerance_percent;
    }
    if !is_told("deposit") {
        line.deposit = now.deposit;
    }
    if !is_told("cancel_percent") {
        line.cancel_percent = now.cancel_percent;
    }
    if !is_told("minimum_load") {
        line.minimum_load = now.minimum_load;
    }
    if !is_told("target_percent") {
        line.target_percent = now.target_percent;
    }
    if !is_told("grade") {
        line.grade.clone_from(&now.grade);
    }
    if !is_told("health_class") {
        line.health_class.clone_from(&now.health_class);
    }
    if !is_told("substitutes") {
        line.substitutes.clone_from(&now.substitutes);
    }
}

/// A line in which nothing and what counts as nothing are the same.
fn without_empty(line: &Line) -> Line {
    let mut line = line.clone();
    line.substitutes.take_if(|it| it.is_empty());
    line.deposit.take_if(|it| *it == 0);
    line.minimum_load.take_if(|it| *it == 0);
    let none = Percent::of_hundredths(0);
    line.tolerance_percent = line.tolerance_percent.or(none);
    line
}

/// The names of the columns of a table.
fn columns_of(bytes: Option<&[u8]>) -> BTreeSet<String> {
    let text = String::from_utf8_lossy(bytes.unwrap_or_default());
    let head = text.trim_start_matches('\u{feff}').lines().next();
    let names = head.unwrap_or_default().split(',');
    names
        .map(|it| it.trim().trim_matches('"').to_owned())
        .collect()
}

/// The weather file of a folder, and whether it is an hourly one.
fn given_weather(set: &FileSet) -> Option<(&[u8], bool)> {
    let daily = set.get("weather.csv").map(|bytes| (bytes, false));
    daily.or_else(|| set.get("weather.epw").map(|bytes| (bytes, true)))
}

fn given_bytes(set: &FileSet) -> Option<WeatherBytes> {
    given_weather(set).map(|(bytes, is_hourly)| weather_of(bytes, is_hourly))
}

fn weather_of(bytes: &[u8], is_hourly: bool) -> WeatherBytes {
    if is_hourly {
        WeatherBytes::Hourly(bytes.to_vec())
    } else {
        WeatherBytes::Daily(bytes.to_vec())
    }
}

fn of_files(from: &Path, found: Problems) -> AppError {
    AppError::of_problems(from.display().to_string(), found)
}

/// The files with their weather in the place where it is looked for.
fn with_weather(mut set: FileSet, weather: &WeatherBytes, is_known: bool) -> FileSet {
    set.files.remove("weather.epw");
    if is_known {
        let daily = match weather {
            WeatherBytes::Daily(bytes) => bytes.clone(),
            WeatherBytes::Hourly(_) => Vec::new(),
        };
        set.files.insert("weather.csv".to_owned(), daily);
    }
    set
}

/// The act of a deed that was imported.
fn import_act(deed: &Deed, day: Date, by: &str, number: u64) -> Value {
    let mut keys = Map::from_iter([
        ("id".to_owned(), json!("")),
        ("on".to_owned(), json!(day)),
        ("by".to_owned(), json!(by)),
    ]);
    if let Ok(Value::Object(deed)) = serde_json::to_value(deed) {
        keys.extend(deed.into_iter().filter(|(_, value)| !value.is_null()));
    }
    let id = import_id(&Value::Object(keys.clone()).to_string(), number);
    keys.insert("id".to_owned(), json!(id));
    Value::Object(keys)
}

/// The nursery of a ledger as of a day, ready to plan: without what is held.
pub fn load_ledger(file: &NurseryFile, books: &Books, as_of: Date) -> Result<Loaded, AppError> {
    let mut loaded = load_standing(file, books, as_of)?;
    leave_held(&mut loaded, &books.held(as_of));
    Ok(loaded)
}

/// The nursery of a ledger as of a day with all that stands.
pub fn load_standing(file: &NurseryFile, books: &Books, as_of: Date) -> Result<Loaded, AppError> {
    let set = file.with_forecast(file.with_customers(file.files(books, as_of))?)?;
    let Some(weather) = file.weather()? else {
        return Err(AppError::new(
            Kind::Invalid,
            "there is no weather in the nursery file",
            file.path.display().to_string(),
            "import a folder with weather.csv or weather.epw",
        ));
    };
    let found = Found {
        set: with_weather(set, &weather, true),
        ..Found::default()
    };
    let mut loaded = assemble(&file.path, &found, as_of, &weather)?;
    books.fill_in(&mut loaded.nursery, as_of);
    learn_luck(&mut loaded, books, as_of);
    add_to_digest(&mut loaded);
    Ok(loaded)
}

/// Takes and germinations counted until a day tell how far luck moves lots, in place of the settings' guess.
fn learn_luck(loaded: &mut Loaded, books: &Books, day: Date) {
    let (mut takes, mut germinations) = (books.takes(), books.germinations());
    takes.retain(|it| it.on <= day);
    germinations.retain(|it| it.on <= day);
    let nursery = &mut loaded.nursery;
    nursery.settings.luck = season::own_luck(nursery, &takes, &germinations);
}

/// What the books know beyond the files is another nursery to plan for.
fn add_to_digest(loaded: &mut Loaded) {
    let nursery = &loaded.nursery;
    let of_lots = nursery.lots.iter();
    let of_lots = of_lots.map(|it| (&it.health_class, &it.looks, &it.counts, &it.luck));
    let of_lines = nursery.orders.iter();
    let of_lines = of_lines.map(|it| (it.promised, &it.tags, it.tolerance));
    let beyond = format!(
        "{} {:?} {:?} {:?}",
        loaded.digest,
        of_lots.collect::<Vec<_>>(),
        of_lines.collect::<Vec<_>>(),
        nursery.settings.luck
    );
    loaded.digest = short_digest(Sha256::new_with_prefix(beyond));
}

/// Leaves out what is held: it may not be sent, and no buds may be taken from it.
fn leave_held(loaded: &mut Loaded, held: &BTreeSet<Node>) {
    let nursery = &mut loaded.nursery;
    let (lots, trees) = (nursery.lots.len(), nursery.mother_trees.len());
    let is_held_lot = |lot: &Lot| held.contains(&Node::Lot(lot.lot.clone()));
    let plants: u32 = nursery
        .lots
        .iter()
        .filter(|lot| is_held_lot(lot))
        .map(|lot| lot.growing + lot.ready)
        .sum();
    nursery.lots.retain(|lot| !is_held_lot(lot));
    for line in &mut nursery.orders {
        line.tags
            .retain(|(lot, _)| !held.contains(&Node::Lot(lot.clone())));
    }
    nursery
        .mother_trees
        .retain(|tree| !held.contains(&Node::MotherTree(tree.mother_tree.clone())));
    let (lots, trees) = (
        lots - nursery.lots.len(),
        trees - nursery.mother_trees.len(),
    );
    if lots + trees > 0 {
        let of = |number: usize, what: &str| {
            format!("{number} {what}{}", if number == 1 { "" } else { "s" })
        };
        loaded.notes.push(format!(
            "Held, and not counted on: {} with {}, {}.",
            of(lots, "lot"),
            of(plants as usize, "plant"),
            of(trees, "mother tree")
        ));
    }
}

/// The id of an act of an import into books of so many entries. What is known already is not taken
/// in again; what was changed since may come again, as another act.
fn import_id(act: &str, number: u64) -> String {
    let hash = Sha256::digest(format!("{number} {act}"));
    Ulid::from_bytes(std::array::from_fn(|at| hash[at])).to_string()
}
