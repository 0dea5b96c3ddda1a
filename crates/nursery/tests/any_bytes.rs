//! Whatever a file holds, readers do not panic, say a rule and a mend for each problem, and leave
//! no row unaccounted for.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use intake::{Read, RowProblem};
use jiff::civil::date;
use nursery::catalogue::{Catalogue, CatalogueFiles, PlaceKind};
use nursery::files::{self, Known};
use nursery::ids::PlaceName;
use nursery::settings::Settings;
use nursery::templates::{TEMPLATES, template};
use nursery::{FileSet, Nursery};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};

const TABLES: &[&str] = &[
    "places.csv",
    "crews.csv",
    "lots.csv",
    "orders.csv",
    "mother_trees.csv",
    "seed.csv",
    "prices.csv",
    "demand.csv",
    "grades.csv",
    "watering.csv",
    "watered.csv",
    "nights.csv",
    "bark_notes.csv",
];

/// What a cell can hold, right and wrong.
const CELLS: &[&str] = &[
    "",
    "0",
    "1180",
    "-1",
    "1.5",
    "NaN",
    "inf",
    "1e400",
    "99999999999999999999",
    "true",
    "carrizo",
    "valencia",
    "4L",
    "row-1",
    "budded",
    "finished",
    "2026-06-14",
    "2027-02-30",
    "2027-W10",
    "2027-W54",
    "03-01",
    "02-29",
    "03-15/06-15",
    ";",
    "a;a",
    "valencia/carrizo/4L",
    "é😀",
    "#",
    " x ",
];

static CATALOGUE: LazyLock<Catalogue> =
    LazyLock::new(|| Catalogue::with_own(&CatalogueFiles::default()).0);

/// How many rows were accepted, and the problems.
type Outcome = (usize, Vec<RowProblem>);

fn outcome<T>(read: Read<T>) -> Outcome {
    (read.accepted.len(), read.problems.0)
}

fn read(name: &str, bytes: &[u8]) -> Outcome {
    let places: BTreeMap<PlaceName, PlaceKind> = [("row-1".into(), PlaceKind::Rows)].into();
    let known = Known {
        catalogue: &CATALOGUE,
        places: &places,
        as_of: date(2027, 3, 1),
        terms: nursery::settings::OrderTerms::default(),
    };
    match name {
        "places.csv" => outcome(files::places(bytes)),
        "crews.csv" => outcome(files::crews(bytes)),
        "lots.csv" => outcome(files::lots(bytes, &known)),
        "orders.csv" => outcome(files::orders(bytes, &known)),
        "mother_trees.csv" => outcome(files::mother_trees(bytes, &known)),
        "seed.csv" => outcome(files::seed(bytes, &known)),
        "prices.csv" => outcome(files::prices(bytes, &known)),
        "demand.csv" => outcome(files::demand(bytes, &known)),
        "grades.csv" => outcome(files::grades(bytes, &known)),
        "watering.csv" => outcome(files::watering(bytes, &known)),
        "watered.csv" => outcome(files::watered(bytes, &known)),
        "nights.csv" => outcome(files::nights(bytes, known.as_of)),
        _ => outcome(files::bark_notes(bytes, &known)),
    }
}

fn all_speak(problems: &[RowProblem]) -> bool {
    problems
        .iter()
        .all(|problem| !problem.rule.trim().is_empty() && !problem.mend.trim().is_empty())
}

/// A template with some of its bytes overwritten, taken out or doubled.
fn mutated() -> impl Strategy<Value = (String, Vec<u8>)> {
    let change = (any::<Index>(), any::<Option<u8>>(), any::<bool>());
    (select(TEMPLATES), vec(change, 1..8)).prop_map(|((name, text), changes)| {
        let mut bytes = text.as_bytes().to_vec();
        for (at, byte, doubles) in changes {
            let at = at.index(bytes.len());
            match byte {
                Some(byte) => bytes[at] = byte,
                None if doubles => bytes.extend_from_within(at..),
                None if bytes.len() > 1 => {
                    bytes.remove(at);
                }
                None => {}
            }
        }
        ((*name).to_owned(), bytes)
    })
}

/// A table with the right header and any cells.
fn any_cells() -> impl Strategy<Value = (&'static str, Vec<Vec<&'static str>>)> {
    select(TABLES).prop_flat_map(|name| {
        let header = template(name).and_then(|text| text.lines().next());
        let width = header.map_or(1, |header| header.split(',').count());
        let row = vec(select(CELLS), width - 1..=width + usize::from(width > 8));
        (Just(name), vec(row, 0..12))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn any_bytes_are_refused_in_words(bytes in vec(any::<u8>(), 0..300)) {
        for name in TABLES {
            let (accepted, problems) = read(name, &bytes);
            prop_assert!(accepted == 0 && !problems.is_empty() && all_speak(&problems));
        }
        let problems = Settings::read("nursery.toml", &bytes).expect_err("needs six keys");
        prop_assert!(!problems.is_empty() && all_speak(&problems));
        let own = CatalogueFiles {
            routes: Some(&bytes),
            combinations: Some(&bytes),
            ..CatalogueFiles::default()
        };
        prop_assert!(all_speak(&Catalogue::with_own(&own).1.0));
    }

    #[test]
    fn a_folder_with_a_slip_is_read_or_refused_in_words((name, bytes) in mutated()) {
        let mut files: BTreeMap<String, Vec<u8>> = TEMPLATES
            .iter()
            .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()))
            .collect();
        files.insert(name, bytes);
        if let Err(problems) = Nursery::from_files(&FileSet { files }, date(2027, 3, 1)) {
            prop_assert!(!problems.is_empty() && all_speak(&problems.0));
        }
    }

    #[test]
    fn every_row_is_accepted_or_named((name, rows) in any_cells()) {
        let header = template(name).and_then(|text| text.lines().next()).unwrap_or_default();
        let mut text = header.to_owned();
        for row in &rows {
            text = [&text, "\n", &row.join(",")].concat();
        }
        let (accepted, problems) = read(name, text.as_bytes());
        let is_data = |row: &&Vec<&str>| {
            !row[0].starts_with('#') && row.iter().any(|cell| !cell.trim().is_empty())
        };
        let data = rows.iter().filter(is_data).count();
        let bad: BTreeSet<Option<u64>> = problems.iter().map(|problem| problem.row).collect();
        prop_assert!(all_speak(&problems));
        prop_assert_eq!(accepted + bad.len(), data, "{}\n{:#?}", text, problems);
    }
}
