//! Varieties: what growers call the scion that is budded on.

use std::collections::BTreeMap;

use intake::{Bounds, Columns, Problems};

use super::{Origin, read_keyed};
use crate::ids::VarietyName;

/// One variety.
#[derive(Debug, Clone, PartialEq)]
pub struct Variety {
    /// The name it is known by in files.
    pub variety: VarietyName,
    /// The name people read.
    pub name: String,
    /// Botanical name.
    pub botanical: String,
    /// Group, as `sweet orange`.
    pub group: String,
    /// Finer class with the same unions, as `eureka lemon`.
    pub family: String,
    /// Speed of growth of the young tree in heat; 1 is a common sweet orange.
    pub growth: f64,
    /// Take of its buds against that of a common sweet orange.
    pub take: f64,
    /// Source and status.
    pub origin: Origin,
}

/// Columns of `varieties.csv`.
pub const COLUMNS: Columns = Columns {
    required: &["variety", "name", "group", "family", "source", "status"],
    optional: &["botanical", "growth", "take"],
};

pub(super) fn read(
    bytes: &[u8],
    into: &mut BTreeMap<VarietyName, Variety>,
    problems: &mut Problems,
) {
    read_keyed(
        ("varieties.csv", "this variety"),
        bytes,
        &COLUMNS,
        into,
        problems,
        |row| {
            let variety = row.text("variety");
            let name = row.text("name");
            let group = row.text("group");
            let family = row.text("family");
            let growth = row.number_or("growth", 1.0, Bounds::new(0.2, 3.0));
            let take = row.number_or("take", 1.0, Bounds::new(0.2, 1.2));
            let botanical = row.optional_text("botanical").unwrap_or_default();
            let origin = Origin::read(row);
            let variety = VarietyName::from(variety?);
            let row = Variety {
                variety: variety.clone(),
                name: name?,
                botanical,
                group: group?,
                family: family?,
                growth: growth?,
                take: take?,
                origin: origin?,
            };
            Some((variety, row))
        },
    );
}
