//! A table as a file for a spreadsheet.

use jiff::civil::Date;

use crate::error::{AppError, Kind};

/// A table of comma-separated values as a workbook that bears a day.
pub fn spreadsheet(name: &str, table: &[u8], made_on: Date) -> Result<Vec<u8>, AppError> {
    documents::workbook(name, table, made_on).map_err(|error| {
        AppError::new(
            Kind::Invalid,
            error.to_string(),
            name,
            "take the table with commas, or a smaller part of it",
        )
    })
}
