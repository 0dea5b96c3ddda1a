//! Readers of the nursery's files: bytes in, rows and every problem out.

mod ground;
mod lots;
mod orders;
mod sky;
mod supplies;

use std::collections::BTreeMap;

use intake::{Columns, Row, nearest};
use jiff::civil::Date;

use crate::catalogue::{Catalogue, PlaceKind};
use crate::ids::{PlaceName, RootstockName, SizeName, VarietyName};
use crate::settings::OrderTerms;

pub(crate) use ground::{crew_names, place_names};
pub use ground::{crews, places};
pub use lots::lots;
pub use orders::{demand, grades, orders, parse_week};
pub use sky::{BARK_NOTES, NIGHTS, WATERED, WATERING, bark_notes, nights, watered, watering};
pub use supplies::{mother_trees, prices, seed};

/// Columns of `places.csv`.
pub const PLACES: Columns = Columns {
    required: &["place", "kind", "area_m2"],
    optional: &["warmer_c", "set_point_c", "vent_c", "excess_cost"],
};
/// Columns of `crews.csv`.
pub const CREWS: Columns = Columns {
    required: &["crew", "hours_per_week", "wage"],
    optional: &[
        "from",
        "until",
        "hired_hours_per_week",
        "hired_cost",
        "may_do",
    ],
};
/// Columns of `lots.csv`.
pub const LOTS: Columns = Columns {
    required: &[
        "lot",
        "stage",
        "rootstock",
        "place",
        "growing",
        "ready",
        "entered",
    ],
    optional: &["variety", "size", "budded_on", "step", "source"],
};
/// Columns of `orders.csv`.
pub const ORDERS: Columns = Columns {
    required: &[
        "order",
        "line",
        "customer",
        "variety",
        "rootstocks",
        "size",
        "plants",
        "earliest",
        "due",
        "latest",
        "price",
    ],
    optional: &[
        "contract",
        "tolerance_percent",
        "deposit",
        "cancel_percent",
        "minimum_load",
        "target_percent",
        "grade",
        "health_class",
        "substitutes",
    ],
};
/// Columns of `mother_trees.csv`.
pub const MOTHER_TREES: Columns = Columns {
    required: &[
        "mother_tree",
        "variety",
        "buds_per_year",
        "cut_seasons",
        "result",
    ],
    optional: &[
        "tested_on",
        "valid_months",
        "health_class",
        "planted",
        "vigour_percent",
        "recovery_weeks",
    ],
};
/// Columns of `seed.csv`.
pub const SEED: Columns = Columns {
    required: &["batch", "rootstock", "seeds", "available", "use_by"],
    optional: &["germination_percent", "source", "decline_percent_a_month"],
};
/// Columns of `prices.csv`.
pub const PRICES: Columns = Columns {
    required: &["of", "price"],
    optional: &[
        "item",
        "variety",
        "rootstock",
        "size",
        "limit_per_week",
        "lead_weeks",
        "delivered",
        "limit_per_year",
        "until",
    ],
};
/// Columns of `grades.csv`.
pub const GRADES: Columns = Columns {
    required: &["grade", "size", "share_percent"],
    optional: &["source"],
};
/// Columns of `demand.csv`.
pub const DEMAND: Columns = Columns {
    required: &["product", "week", "mean", "spread"],
    optional: &[],
};

/// What rows may refer to.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Varieties, rootstocks, steps.
    pub catalogue: &'a Catalogue,
    /// Places and their kinds.
    pub places: &'a BTreeMap<PlaceName, PlaceKind>,
    /// The day from which the nursery looks ahead: what stands cannot have come later.
    pub as_of: Date,
    /// What holds of order lines that do not say.
    pub terms: OrderTerms,
}

impl Known<'_> {
    fn variety(&self, row: &mut Row<'_>, name: &str) -> Option<VarietyName> {
        let known = &self.catalogue.varieties;
        let name = VarietyName::from(name);
        if known.contains_key(&name) {
            return Some(name);
        }
        let rule = format!("nobody knows the variety {name}");
        let names = known.keys().map(VarietyName::as_str);
        let mend = write_or(name.as_str(), names, "add it to varieties.csv");
        row.problem("variety", rule, mend);
        None
    }

    fn rootstock(&self, row: &mut Row<'_>, column: &str, name: &str) -> Option<RootstockName> {
        let known = &self.catalogue.rootstocks;
        let name = RootstockName::from(name);
        if known.contains_key(&name) {
            return Some(name);
        }
        let rule = format!("nobody knows the rootstock {name}");
        let names = known.keys().map(RootstockName::as_str);
        let mend = write_or(name.as_str(), names, "add it to rootstocks.csv");
        row.problem(column, rule, mend);
        None
    }

    fn size(&self, row: &mut Row<'_>, name: &str) -> Option<SizeName> {
        let name = SizeName::from(name);
        if self.catalogue.knows_size(&name) {
            return Some(name);
        }
        let mut sizes: Vec<&str> = self.catalogue.sizes().map(SizeName::as_str).collect();
        sizes.sort_unstable();
        sizes.dedup();
        let rule = format!("must be a size that some step makes: {}", sizes.join(", "));
        row.problem("size", rule, "mend it, or add a step to routes.toml");
        None
    }
}

/// A mend: the known name that may have been meant, and what else to do.
pub(crate) fn write_or<'a>(
    name: &str,
    known: impl Iterator<Item = &'a str>,
    otherwise: &str,
) -> String {
    let known: Vec<&str> = known.collect();
    match nearest(name, &known) {
        Some(near) => format!("write {near} if that is what is meant, or {otherwise}"),
        None => format!("{otherwise}, or mend the name"),
    }
}

/// Keys read so far, with the row of each.
pub(crate) struct Seen<K> {
    what: &'static str,
    rows: BTreeMap<K, u64>,
}

impl<K: Ord> Seen<K> {
    /// Nothing yet; `what` says what a key stands for, as `this lot`.
    pub(crate) fn new(what: &'static str) -> Self {
        Self {
            what,
            rows: BTreeMap::new(),
        }
    }

    /// Notes a key that stands in an earlier row of the file.
    pub(crate) fn only_once(&mut self, row: &mut Row<'_>, column: &str, key: K) {
        if let Some(earlier) = self.rows.get(&key) {
            let rule = format!("{} stands in row {earlier} already", self.what);
            row.problem(column, rule, "remove one of the two rows, or mend it");
        } else {
            self.rows.insert(key, row.line());
        }
    }
}

/// A date that must be there, in a year in which records are kept.
fn day(row: &mut Row<'_>, column: &str) -> Option<Date> {
    let date = row.date(column)?;
    in_our_time(row, column, date)
}

/// A date that may be missing: `Some(None)` is an empty cell, `None` a problem noted.
fn optional_day(row: &mut Row<'_>, column: &str) -> Option<Option<Date>> {
    match row.optional_date(column)? {
        Some(date) => in_our_time(row, column, date).map(Some),
        None => Some(None),
    }
}

/// A year of two digits, or with one digit too few, would plan for centuries.
fn in_our_time(row: &mut Row<'_>, column: &str, date: Date) -> Option<Date> {
    if (1900..=2199).contains(&date.year()) {
        return Some(date);
    }
    let rule = "must lie in the years 1900 to 2199";
    row.problem(column, rule, "write the year in full, as 2027");
    None
}

/// A date that lies on or before the day the nursery looks ahead from.
fn not_after(row: &mut Row<'_>, column: &str, date: Date, as_of: Date) -> Option<Date> {
    if date > as_of {
        let rule = format!("must not lie after the day you look ahead from, {as_of}");
        row.problem(column, rule, "mend the date, or give a later --as-of");
        return None;
    }
    Some(date)
}

/// Reads a cell that may be empty: `Some(None)` where it is, `None` where a problem was noted.
fn where_given<T>(
    row: &mut Row<'_>,
    column: &str,
    read: impl FnOnce(&mut Row<'_>, &str) -> Option<T>,
) -> Option<Option<T>> {
    match row.optional_text(column) {
        Some(text) => read(row, &text).map(Some),
        None => Some(None),
    }
}

/// Names separated by semicolons, at least one and each once.
fn names(row: &mut Row<'_>, column: &str) -> Option<Vec<String>> {
    row.text(column)?;
    let names = row.list(column);
    let twice = names
        .iter()
        .enumerate()
        .find(|(index, name)| names[..*index].contains(name));
    if let Some((_, name)) = twice {
        let rule = format!("must name {name} only once");
        row.problem(column, rule, "take one of the two out");
        return None;
    }
    if names.is_empty() {
        row.problem(
            column,
            "must name at least one",
            "write names with semicolons between",
        );
        return None;
    }
    Some(names)
}
