//! Settings: a row is read as its file would be before it is kept.

use std::collections::BTreeMap;

use intake::Problems;
use jiff::civil::Date;
use serde_json::Value;

use crate::FileSet;
use crate::catalogue::Catalogue;
use crate::files::{self, Known};
use crate::ledger::act::Set;
use crate::ledger::event::Event;
use crate::ledger::refusal::Refusal;
use crate::ledger::settings::SettingRows;
use crate::settings::{OrderTerms, Settings};

use super::{Decided, Desk};

impl Desk<'_> {
    pub(super) fn set(self, deed: &Set) -> Decided {
        SettingRows::check(deed)?;
        if let Some(problem) = self.problems(deed).0.into_iter().next() {
            let what = match (&problem.column, &problem.value) {
                (Some(column), Some(value)) => format!("{column} is {value}: "),
                (Some(column), None) => format!("{column}: "),
                _ => String::new(),
            };
            return Err(Refusal::new(
                format!("{what}{}", problem.rule),
                problem.mend,
            ));
        }
        Ok(vec![Event::SettingSet(deed.clone())])
    }

    fn problems(self, deed: &Set) -> Problems {
        let places = BTreeMap::new();
        let known = Known {
            catalogue: self.world.catalogue(),
            places: &places,
            as_of: Date::MAX,
            terms: OrderTerms::default(),
        };
        let row = SettingRows::table_of(deed);
        match deed.what.as_str() {
            "place" => files::places(&row).problems,
            "crew" => {
                // Crews may name each other, and one of them is set first.
                let mut problems = files::crews(&row).problems;
                problems
                    .0
                    .retain(|it| it.column.as_deref() != Some("may_do"));
                problems
            }
            "price" => files::prices(&row, &known).problems,
            "mother_tree" => files::mother_trees(&row, &known).problems,
            "demand" => files::demand(&row, &known).problems,
            "grade" => files::grades(&row, &known).problems,
            "nursery" => {
                let text = deed
                    .values
                    .get("text")
                    .and_then(Value::as_str)
                    .unwrap_or_default();
                let read = Settings::read("nursery.toml", text.as_bytes());
                Problems(read.err().unwrap_or_default())
            }
            "variety" | "rootstock" | "trait" | "combination" | "route" => {
                let mut settings = self.books.settings.clone();
                settings.set(self.when, deed);
                let set = FileSet {
                    files: settings.files(Date::MAX),
                };
                Catalogue::with_own(&set.own_catalogue()).1
            }
            _ => Problems::default(),
        }
    }
}
