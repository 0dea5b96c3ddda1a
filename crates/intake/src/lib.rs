//! Tables in, typed rows and **every** problem out.
//!
//! A reader names its columns and turns each row into a value; whatever is wrong with a row is
//! collected with file, row, column, value, rule and mend, so that a grower mends a whole file at
//! once instead of one cell at a time.
//!
//! Must not know what a table is about: no lots, no weather, no files on a disk. Bytes in, values
//! out; never panics on any input (fuzzed through the readers built on it).

mod problem;
mod row;
mod table;

pub use problem::{Problems, RowProblem, cut};
pub use row::{Bounds, Row, nearest};
pub use table::{Columns, Read, read_table, utf8};
