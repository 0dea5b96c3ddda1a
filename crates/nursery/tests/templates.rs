//! Templates are files that read without a problem and show every column.

use std::collections::BTreeSet;

use intake::Columns;
use jiff::civil::date;
use nursery::catalogue::{COMBINATIONS, ROOTSTOCKS, TRAITS, VARIETIES};
use nursery::files;
use nursery::templates::{TEMPLATES, template};
use nursery::{FileSet, Nursery};

const TABLES: &[(&str, Columns)] = &[
    ("lots.csv", files::LOTS),
    ("orders.csv", files::ORDERS),
    ("places.csv", files::PLACES),
    ("crews.csv", files::CREWS),
    ("mother_trees.csv", files::MOTHER_TREES),
    ("seed.csv", files::SEED),
    ("prices.csv", files::PRICES),
    ("demand.csv", files::DEMAND),
    ("grades.csv", files::GRADES),
    ("watering.csv", files::WATERING),
    ("watered.csv", files::WATERED),
    ("nights.csv", files::NIGHTS),
    ("bark_notes.csv", files::BARK_NOTES),
    ("varieties.csv", VARIETIES),
    ("rootstocks.csv", ROOTSTOCKS),
    ("traits.csv", TRAITS),
    ("combinations.csv", COMBINATIONS),
];

#[test]
fn all_templates_in_one_folder_make_a_nursery() {
    let files = TEMPLATES
        .iter()
        .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec()))
        .collect();
    match Nursery::from_files(&FileSet { files }, date(2027, 3, 1)) {
        Ok(nursery) => assert!(!nursery.lots.is_empty() && !nursery.orders.is_empty()),
        Err(problems) => panic!("{problems}"),
    }
}

#[test]
fn every_table_shows_every_column_and_an_example() {
    for (name, columns) in TABLES {
        let text = template(name).expect("a template");
        let header = text.lines().next().unwrap_or_default();
        let shown: Vec<&str> = header.split(',').collect();
        let known: BTreeSet<&str> = columns.all().collect();
        assert_eq!(shown.len(), known.len(), "{name}");
        assert_eq!(shown.into_iter().collect::<BTreeSet<_>>(), known, "{name}");
        assert!(text.lines().count() > 1, "{name} has no example row");
    }
}

#[test]
fn every_file_of_a_nursery_has_a_template() {
    for name in FileSet::REQUIRED.iter().chain(FileSet::OPTIONAL) {
        assert!(template(name).is_some(), "{name}");
    }
    assert_eq!(template("lots.xlsx"), None);
}
