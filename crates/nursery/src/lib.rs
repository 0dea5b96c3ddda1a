//! The nursery itself: catalogue, places, crews, lots, orders, mother trees, seed, prices.
//!
//! Pure: bytes and values in, values out. No files on a disk, no clock, no randomness, and no
//! science: it knows that a step needs heat, not how heat is summed.

pub mod catalogue;
pub mod files;
pub mod ids;
pub mod ledger;
pub mod records;
pub mod season_days;
pub mod settings;
pub mod templates;
pub mod what_if;

mod reading;
mod toml_text;
mod whole;

pub use reading::{DateOrder, DecimalSign, Language, Measures, ReadingHabits};
pub use whole::{FileSet, Nursery};
