//! Settings of a nursery: its tables and texts, what they lack, and how a row is changed.
//!
//! Before a row is recorded the nursery's files are read with it, as an import would read them. A
//! nursery that can be planned stays so; one that is not complete yet gains no bad row.

use std::collections::{BTreeMap, BTreeSet};

use intake::{Problems, RowProblem};
use jiff::civil::Date;
use nursery::catalogue::CatalogueFiles;
use nursery::ledger::Books;
use nursery::ledger::act::Set;
use nursery::ledger::lot::When;
use nursery::ledger::settings::{SettingRows, setting_files};
pub use nursery::ledger::settings::{columns, is_required, key_columns};
use nursery::records::{MotherTree, PriceOf, TestResult};
use nursery::settings::Settings;
pub use nursery::templates::{TEMPLATES, template};
use nursery::{FileSet, Nursery};
use serde_json::{Map, Value, json};
use store::Ledger;

use super::{NurseryFile, RecordAnswer};
use crate::error::AppError;

/// A row or text to be set.
#[derive(Debug, Clone)]
pub struct NewSetting {
    /// The name of the act that sets it.
    pub id: String,
    /// Its kind, as `place`.
    pub what: &'static str,
    /// Its values by column; a text stands under `text`.
    pub values: Map<String, Value>,
}

/// Who sets rows, when, and from which day on they hold.
#[derive(Debug, Clone, Copy)]
pub struct Setter<'a> {
    /// Who.
    pub by: &'a str,
    /// The day it is.
    pub on: Date,
    /// The day from which the rows hold.
    pub from: Date,
    /// The moment it is recorded.
    pub recorded_at: &'a str,
}

/// What came of rows that were to be set.
#[derive(Debug, Clone, PartialEq)]
pub enum SetAnswer {
    /// All of them are recorded.
    Done,
    /// Nothing is recorded, for these reasons.
    Wrong(Vec<WrongSetting>),
    /// Nothing is recorded: a rule of the ledger does not allow one of them.
    Refused(RecordAnswer),
}

/// What is wrong with a row that was to be set, or with another one because of it.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongSetting {
    /// Which of the rows to be set; none where another row no longer fits.
    pub of: Option<usize>,
    /// What is wrong.
    pub problem: RowProblem,
}

/// What a nursery lacks, and what of it should be looked at.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lacks {
    /// Files that are missing, and what no plan can be made with.
    pub problems: Problems,
    /// Materials of steps in use that have no price, and so cost nothing in a plan.
    pub unpriced: Vec<String>,
    /// Mother trees from which no buds may be cut: not tested, lapsed, or something was found.
    pub unfit_trees: Vec<String>,
}

/// The kind of setting whose rows or text a file holds, and whether it is a text.
pub fn kind_of(file: &str) -> Option<(&'static str, bool)> {
    let mut kinds = setting_files();
    let (_, what, is_text) = kinds.find(|(name, _, _)| *name == file)?;
    Some((what, is_text))
}

/// The rows that Barkslip brings for a table of the catalogue.
pub fn shipped_rows(file: &str) -> Vec<BTreeMap<String, String>> {
    let shipped = CatalogueFiles::SHIPPED;
    let bytes = match file {
        "varieties.csv" => shipped.varieties,
        "rootstocks.csv" => shipped.rootstocks,
        "traits.csv" => shipped.traits,
        "combinations.csv" => shipped.combinations,
        _ => None,
    };
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(bytes.unwrap_or_default());
    let rows = reader.deserialize::<BTreeMap<String, String>>();
    rows.filter_map(Result::ok).collect()
}

/// The text of `nursery.toml` with these keys, and those of `[heat]` and `[planning]` within them.
pub fn nursery_text(keys: &Map<String, Value>) -> String {
    // Keys and numbers of a form can all be written.
    toml::to_string(keys).unwrap_or_default()
}

/// The keys of a text as it holds; none of what is not known.
pub fn nursery_keys(text: &str) -> Map<String, Value> {
    let read = Settings::read("nursery.toml", text.as_bytes()).ok();
    match read.and_then(|it| serde_json::to_value(it).ok()) {
        Some(Value::Object(keys)) => keys,
        _ => Map::new(),
    }
}

impl NurseryFile {
    /// Sets rows and texts that belong together: all of them, or none.
    pub fn set(
        &mut self,
        settings: Vec<NewSetting>,
        setter: Setter<'_>,
    ) -> Result<SetAnswer, AppError> {
        self.catch_up()?;
        let sets: Vec<Set> = settings
            .iter()
            .map(|it| Set {
                what: it.what.to_owned(),
                values: it.values.clone(),
                from: setter.from,
            })
            .collect();
        let wrong = self.wrong_with(&sets, setter.from);
        if !wrong.is_empty() {
            return Ok(SetAnswer::Wrong(wrong));
        }
        let acts = settings.into_iter().map(|it| {
            json!({"id": it.id, "on": setter.on, "by": setter.by, "act": "set", "what": it.what,
                "values": it.values, "from": setter.from})
        });
        Ok(
            match self.record_all(acts.map(|act| (act, setter.recorded_at)).collect())? {
                Ok(_) => SetAnswer::Done,
                Err(refused) => SetAnswer::Refused(refused),
            },
        )
    }

    /// What would be wrong with the files if these were set.
    fn wrong_with(&self, sets: &[Set], from: Date) -> Vec<WrongSetting> {
        let before = self.problems_with(&self.books.settings, from).0;
        let mut rows = self.books.settings.clone();
        let when = When {
            on: from,
            number: self.books.number + 1,
        };
        for set in sets {
            rows.set(when, set);
        }
        let own: Vec<(&str, Option<u64>)> = sets
            .iter()
            .map(|set| (file_of(&set.what), rows.line_of(set, from)))
            .collect();
        let after = self.problems_with(&rows, from).0.into_iter();
        let wrong = after.map(|problem| WrongSetting {
            of: own.iter().position(|(file, line)| {
                problem.file == *file && (problem.row == *line || is_text(file))
            }),
            problem,
        });
        wrong
            .filter(|it| it.of.is_some() || is_new(&it.problem, &before))
            .collect()
    }

    /// Every problem of the nursery's files with these settings on a day, whatever the weather.
    fn problems_with(&self, settings: &SettingRows, day: Date) -> Problems {
        let mut files = self.files(&self.books, day).files;
        for (file, _, _) in setting_files() {
            files.remove(file);
        }
        files.extend(settings.files(day));
        files.insert("weather.csv".to_owned(), Vec::new());
        Nursery::from_files(&FileSet { files }, day)
            .err()
            .unwrap_or_default()
    }

    /// Whether a plan has been made of this nursery.
    pub fn has_plan(&self) -> Result<bool, AppError> {
        Ok(self.asked(self.ledger.latest_run("plan"))?.is_some())
    }

    /// What the nursery lacks on a day, and what of it should be looked at.
    pub fn lacks(&self, books: &Books, day: Date) -> Result<Lacks, AppError> {
        let mut files = self.files(books, day).files;
        if self.weather_hash()?.is_some() {
            files.insert("weather.csv".to_owned(), Vec::new());
        }
        Ok(match Nursery::from_files(&FileSet { files }, day) {
            Ok(nursery) => Lacks {
                problems: Problems::default(),
                unpriced: unpriced(&nursery),
                unfit_trees: unfit_trees(&nursery, day),
            },
            Err(problems) => Lacks {
                problems,
                ..Lacks::default()
            },
        })
    }
}

fn is_text(file: &str) -> bool {
    kind_of(file).is_some_and(|(_, is_text)| is_text)
}

fn file_of(what: &str) -> &'static str {
    let mut kinds = setting_files();
    kinds
        .find(|(_, kind, _)| *kind == what)
        .map_or("", |(file, _, _)| file)
}

/// Whether a problem of a file came with the new rows. A file that is missing is none of theirs, and
/// a table may lack rows that are still to come as long as the nursery cannot be planned anyway.
fn is_new(problem: &RowProblem, before: &[RowProblem]) -> bool {
    let same = |it: &RowProblem| {
        (&it.file, &it.column, &it.value, &it.rule)
            == (
                &problem.file,
                &problem.column,
                &problem.value,
                &problem.rule,
            )
    };
    let is_to_come = !before.is_empty() && problem.row.is_none() && !is_text(&problem.file);
    !is_to_come && problem.rule != FileSet::MISSING && !before.iter().any(same)
}

/// Materials that steps in use ask for and nobody gave a price of.
fn unpriced(nursery: &Nursery) -> Vec<String> {
    let steps = nursery
        .catalogue
        .routes
        .steps_in_use(&nursery.settings.planning.routes);
    let used = steps.iter().flat_map(|step| &step.supplies);
    let is_material = |name: &str| !matches!(name, "seed" | "bud" | "liner");
    let is_priced = |name: &str| {
        nursery
            .prices
            .iter()
            .any(|it| it.of == PriceOf::Material && it.item.as_deref() == Some(name))
    };
    let names: BTreeSet<&str> = used.map(|need| need.supply.as_str()).collect();
    names
        .into_iter()
        .filter(|name| is_material(name) && !is_priced(name))
        .map(str::to_owned)
        .collect()
}

fn unfit_trees(nursery: &Nursery, day: Date) -> Vec<String> {
    let is_fit = |tree: &&MotherTree| {
        tree.result == TestResult::Clean && tree.usable_until().is_some_and(|until| day <= until)
    };
    let unfit = nursery.mother_trees.iter().filter(|tree| !is_fit(tree));
    unfit.map(|tree| tree.mother_tree.to_string()).collect()
}
