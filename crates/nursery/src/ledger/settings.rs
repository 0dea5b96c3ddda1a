//! Settings: rows of the nursery's tables, and its texts, each holding from a day on.

use std::collections::BTreeMap;

use intake::Columns;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::Refusal;
use super::act::Set;
use super::lot::When;
use crate::templates::template;
use crate::{catalogue, files};

/// A kind of setting.
struct Kind {
    /// Its word in acts.
    what: &'static str,
    /// Its file.
    file: &'static str,
    /// The columns that tell rows apart; none for a text.
    key: &'static [&'static str],
}

/// In an order in which each can refer to those before it.
const KINDS: &[Kind] = &[
    kind("nursery", "nursery.toml", &[]),
    kind("variety", "varieties.csv", &["variety"]),
    kind("rootstock", "rootstocks.csv", &["rootstock"]),
    kind("trait", "traits.csv", &["rootstock", "trait"]),
    kind("combination", "combinations.csv", &["scion", "rootstock"]),
    kind("route", "routes.toml", &[]),
    kind("place", "places.csv", &["place"]),
    kind("crew", "crews.csv", &["crew", "from", "until"]),
    kind(
        "price",
        "prices.csv",
        &["of", "item", "variety", "rootstock", "size"],
    ),
    kind("mother_tree", "mother_trees.csv", &["mother_tree"]),
    kind("demand", "demand.csv", &["product", "week"]),
    kind("grade", "grades.csv", &["grade", "size"]),
    kind("watering", "watering.csv", &["place"]),
    kind("watered", "watered.csv", &["place", "date"]),
    kind("night", "nights.csv", &["date"]),
    kind(
        "bark_note",
        "bark_notes.csv",
        &["date", "rootstock", "place"],
    ),
];

/// Settings that no table has; they are kept for what reads them.
const FREE: &[&str] = &["target", "rate"];

const fn kind(what: &'static str, file: &'static str, key: &'static [&'static str]) -> Kind {
    Kind { what, file, key }
}

/// The key under which a text is given.
const TEXT: &str = "text";

/// One version of a row.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Version {
    from: Date,
    when: When,
    cells: BTreeMap<String, String>,
}

/// Rows by kind and key, each with its versions by day.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SettingRows {
    rows: BTreeMap<String, BTreeMap<Vec<String>, Vec<Version>>>,
}

impl SettingRows {
    /// What is wrong with a setting, if anything.
    pub fn check(set: &Set) -> Result<(), Refusal> {
        if FREE.contains(&set.what.as_str()) {
            return Ok(());
        }
        let Some(kind) = KINDS.iter().find(|kind| kind.what == set.what) else {
            let words: Vec<&str> = KINDS
                .iter()
                .map(|it| it.what)
                .chain(FREE.iter().copied())
                .collect();
            return Err(Refusal::new(
                format!("{} is no kind of setting", set.what),
                format!("use one of {}", words.join(", ")),
            ));
        };
        if kind.key.is_empty() {
            return match set.values.get(TEXT) {
                Some(Value::String(_)) if set.values.len() == 1 => Ok(()),
                _ => Err(Refusal::new(
                    format!("{} is set as a text", kind.what),
                    "give {\"text\": \"…\"} as its values",
                )),
            };
        }
        let columns = columns(kind.file);
        let stranger = set
            .values
            .keys()
            .find(|key| !columns.contains(&key.as_str()));
        if let Some(stranger) = stranger {
            return Err(Refusal::new(
                format!("{} has no column {stranger}", kind.file),
                format!("its columns are {}", columns.join(", ")),
            ));
        }
        let first = kind.key[0];
        if cell(set.values.get(first)).is_empty() {
            return Err(Refusal::new(
                format!("a row of {} needs a {first}", kind.file),
                format!("give {first} among its values"),
            ));
        }
        // A line that begins so is a remark to those who read the file, and the row would be gone.
        if cell(set.values.get(columns[0])).starts_with('#') {
            let column = columns[0];
            return Err(Refusal::new(
                format!("the {column} of a row must not begin with #"),
                "begin it with a letter or a digit",
            ));
        }
        Ok(())
    }

    /// The row of a setting as a table of its own.
    pub fn table_of(set: &Set) -> Vec<u8> {
        let Some(kind) = KINDS.iter().find(|kind| kind.what == set.what) else {
            return Vec::new();
        };
        let row = |column: &str| cell(set.values.get(column));
        super::export::table(&columns(kind.file), [row])
    }

    /// Sets a row.
    pub fn set(&mut self, when: When, set: &Set) {
        let cells = cells(set);
        let key = KINDS.iter().find(|kind| kind.what == set.what).map_or_else(
            || vec![Value::Object(set.values.clone()).to_string()],
            |kind| key_of(kind, &cells),
        );
        let versions = self
            .rows
            .entry(set.what.clone())
            .or_default()
            .entry(key)
            .or_default();
        let order = |it: &Version| (it.from, it.when);
        let at = versions.partition_point(|it| order(it) <= (set.from, when));
        let from = set.from;
        versions.insert(at, Version { from, when, cells });
    }

    /// Takes what an act set away.
    pub fn take_back(&mut self, number: u64) {
        for rows in self.rows.values_mut() {
            for versions in rows.values_mut() {
                versions.retain(|it| it.when.number != number);
            }
            rows.retain(|_, versions| !versions.is_empty());
        }
    }

    /// Whether a row is on its day as a setting would make it.
    pub fn holds(&self, set: &Set) -> bool {
        let Some(kind) = KINDS.iter().find(|kind| kind.what == set.what) else {
            return false;
        };
        let cells = cells(set);
        let versions = self
            .rows
            .get(kind.what)
            .and_then(|it| it.get(&key_of(kind, &cells)));
        versions.and_then(|it| holding(it, set.from)) == Some(&cells)
    }

    /// The rows of a kind as they hold on a day.
    pub fn rows(&self, what: &str, day: Date) -> impl Iterator<Item = &BTreeMap<String, String>> {
        let rows = self.rows.get(what).into_iter().flat_map(BTreeMap::values);
        rows.filter_map(move |versions| holding(versions, day))
    }

    /// The row of a key as it holds on a day.
    pub fn row(&self, what: &str, key: &str, day: Date) -> Option<&BTreeMap<String, String>> {
        let versions = self.rows.get(what)?.get([key.to_owned()].as_slice())?;
        holding(versions, day)
    }

    /// The line on which the row of a setting's key stands in its file on a day, the header being line 1.
    pub fn line_of(&self, set: &Set, day: Date) -> Option<u64> {
        let kind = KINDS.iter().find(|kind| kind.what == set.what)?;
        let key = key_of(kind, &cells(set));
        let rows = self.rows.get(kind.what)?.iter();
        let mut standing = rows.filter(|(_, versions)| holding(versions, day).is_some());
        let place = standing.position(|(it, _)| *it == key)?;
        Some(place as u64 + 2)
    }

    /// The text of a kind that is one, as it holds on a day.
    pub fn text(&self, what: &str, day: Date) -> Option<&str> {
        let cells = self.rows(what, day).next()?;
        cells.get(TEXT).map(String::as_str)
    }

    /// The files of all settings as they hold on a day.
    pub fn files(&self, day: Date) -> BTreeMap<String, Vec<u8>> {
        let mut files = BTreeMap::new();
        for kind in KINDS {
            let Some(rows) = self.rows.get(kind.what) else {
                continue;
            };
            let rows: Vec<_> = rows.values().filter_map(|it| holding(it, day)).collect();
            if rows.is_empty() {
                continue;
            }
            let content = if kind.key.is_empty() {
                rows[0].get(TEXT).cloned().unwrap_or_default().into_bytes()
            } else {
                super::export::table(
                    &columns(kind.file),
                    rows.into_iter().map(|row| {
                        move |column: &str| row.get(column).cloned().unwrap_or_default()
                    }),
                )
            };
            files.insert(kind.file.to_owned(), content);
        }
        files
    }
}

/// The files of settings in the order in which they can be set: file, kind, whether it is a text.
pub fn setting_files() -> impl Iterator<Item = (&'static str, &'static str, bool)> {
    KINDS
        .iter()
        .map(|kind| (kind.file, kind.what, kind.key.is_empty()))
}

fn holding(versions: &[Version], day: Date) -> Option<&BTreeMap<String, String>> {
    let until = versions.partition_point(|it| it.from <= day);
    versions[..until].last().map(|it| &it.cells)
}

/// The values of a setting as cells.
fn cells(set: &Set) -> BTreeMap<String, String> {
    let cells = set.values.iter();
    cells
        .map(|(column, value)| (column.clone(), cell(Some(value))))
        .collect()
}

fn key_of(kind: &Kind, cells: &BTreeMap<String, String>) -> Vec<String> {
    if kind.key.is_empty() {
        return vec![String::new()];
    }
    let cell = |column: &&str| cells.get(*column).cloned().unwrap_or_default();
    kind.key.iter().map(cell).collect()
}

/// A value as it stands in a table's cell.
fn cell(value: Option<&Value>) -> String {
    match value {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(Value::Array(values)) => {
            let cells: Vec<String> = values.iter().map(|it| cell(Some(it))).collect();
            cells.join(";")
        }
        Some(other) => other.to_string(),
    }
}

/// The columns that tell the rows of a table apart; none for a text.
pub fn key_columns(file: &str) -> &'static [&'static str] {
    let kind = KINDS.iter().find(|kind| kind.file == file);
    kind.map_or(&[], |kind| kind.key)
}

/// Whether every row of a table must fill a column in.
pub fn is_required(file: &str, column: &str) -> bool {
    declared(file).is_some_and(|it| it.required.contains(&column))
}

fn declared(file: &str) -> Option<Columns> {
    Some(match file {
        "places.csv" => files::PLACES,
        "crews.csv" => files::CREWS,
        "lots.csv" => files::LOTS,
        "orders.csv" => files::ORDERS,
        "mother_trees.csv" => files::MOTHER_TREES,
        "seed.csv" => files::SEED,
        "prices.csv" => files::PRICES,
        "demand.csv" => files::DEMAND,
        "grades.csv" => files::GRADES,
        "watering.csv" => files::WATERING,
        "watered.csv" => files::WATERED,
        "nights.csv" => files::NIGHTS,
        "bark_notes.csv" => files::BARK_NOTES,
        "varieties.csv" => catalogue::VARIETIES,
        "rootstocks.csv" => catalogue::ROOTSTOCKS,
        "traits.csv" => catalogue::TRAITS,
        "combinations.csv" => catalogue::COMBINATIONS,
        _ => return None,
    })
}

/// The columns of a table, as its template has them, and the others behind.
pub fn columns(file: &str) -> Vec<&'static str> {
    let Some(declared) = declared(file) else {
        return Vec::new();
    };
    let all = declared.required.iter().chain(declared.optional).copied();
    let mut all: Vec<&'static str> = all.collect();
    let header = template(file)
        .and_then(|it| it.lines().next())
        .unwrap_or_default();
    let place = |column: &&str| {
        header
            .split(',')
            .position(|it| it == *column)
            .unwrap_or(usize::MAX)
    };
    all.sort_by_key(place);
    all
}
