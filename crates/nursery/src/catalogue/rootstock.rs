//! Rootstocks and their traits.

use std::collections::BTreeMap;

use intake::{Bounds, Columns, Problems};

use super::{Origin, known_rootstock, read_keyed};
use crate::ids::RootstockName;

/// When bark slips on a rootstock: a weekly rule, applied by the science.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarkRow {
    /// Weekly mean temperature from which bark slips, °C.
    pub mean_c_min: f64,
    /// Weekly mean of the daily highs above which it tightens, °C.
    pub tmax_c_max: f64,
    /// Day length below which the stock rests, hours.
    pub day_length_h_min: Option<f64>,
}

/// One rootstock.
#[derive(Debug, Clone, PartialEq)]
pub struct Rootstock {
    /// The name it is known by in files.
    pub rootstock: RootstockName,
    /// The name people read.
    pub name: String,
    /// Botanical name.
    pub botanical: String,
    /// Speed of growth in heat; 1 is Carrizo citrange.
    pub growth: f64,
    /// Share of sound fresh seed that comes up.
    pub germination: f64,
    /// Share of seedlings that are off-type and rogued.
    pub off_type: f64,
    /// Fresh seeds in a liter.
    pub seeds_per_litre: Option<u32>,
    /// When bark slips.
    pub bark: BarkRow,
    /// Source and status.
    pub origin: Origin,
}

/// One trait of a rootstock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trait {
    /// The rootstock.
    pub rootstock: RootstockName,
    /// Which trait, as `cold`.
    pub name: String,
    /// In words, as `good`.
    pub value: String,
    /// Source and status.
    pub origin: Origin,
}

/// Columns of `rootstocks.csv`.
pub const COLUMNS: Columns = Columns {
    required: &[
        "rootstock",
        "name",
        "germination_percent",
        "off_type_percent",
        "bark_mean_c_min",
        "source",
        "status",
    ],
    optional: &[
        "botanical",
        "growth",
        "seeds_per_litre",
        "bark_tmax_c_max",
        "bark_day_length_h_min",
    ],
};

/// Columns of `traits.csv`.
pub const TRAITS: Columns = Columns {
    required: &["rootstock", "trait", "value", "source", "status"],
    optional: &[],
};

const PERCENT: Bounds = Bounds::new(0.0, 100.0);

pub(super) fn read(
    bytes: &[u8],
    into: &mut BTreeMap<RootstockName, Rootstock>,
    problems: &mut Problems,
) {
    read_keyed(
        ("rootstocks.csv", "this rootstock"),
        bytes,
        &COLUMNS,
        into,
        problems,
        |row| {
            let rootstock = row.text("rootstock");
            let name = row.text("name");
            let growth = row.number_or("growth", 1.0, Bounds::new(0.2, 3.0));
            let germination = row.number("germination_percent", PERCENT);
            let off_type = row.number("off_type_percent", PERCENT);
            let seeds_per_litre = row.count_or("seeds_per_litre", 0);
            let mean_c_min = row.number("bark_mean_c_min", Bounds::new(5.0, 30.0));
            let tmax_c_max = row.number_or("bark_tmax_c_max", 38.0, Bounds::new(25.0, 60.0));
            let day_length = row.optional_number("bark_day_length_h_min", Bounds::new(0.0, 24.0));
            let botanical = row.optional_text("botanical").unwrap_or_default();
            let origin = Origin::read(row);
            let rootstock = RootstockName::from(rootstock?);
            let row = Rootstock {
                rootstock: rootstock.clone(),
                name: name?,
                botanical,
                growth: growth?,
                germination: germination? / 100.0,
                off_type: off_type? / 100.0,
                seeds_per_litre: seeds_per_litre.filter(|seeds| *seeds > 0),
                bark: BarkRow {
                    mean_c_min: mean_c_min?,
                    tmax_c_max: tmax_c_max?,
                    day_length_h_min: day_length?,
                },
                origin: origin?,
            };
            Some((rootstock, row))
        },
    );
}

pub(super) fn read_traits(
    bytes: &[u8],
    known: &BTreeMap<RootstockName, Rootstock>,
    into: &mut BTreeMap<(RootstockName, String), Trait>,
    problems: &mut Problems,
) {
    read_keyed(
        ("traits.csv", "this trait of this rootstock"),
        bytes,
        &TRAITS,
        into,
        problems,
        |row| {
            let rootstock = known_rootstock(row, known);
            let name = row.text("trait");
            let value = row.text("value");
            let origin = Origin::read(row);
            let (rootstock, name) = (rootstock?, name?);
            let row = Trait {
                rootstock: rootstock.clone(),
                name: name.clone(),
                value: value?,
                origin: origin?,
            };
            Some(((rootstock, name), row))
        },
    );
}
