//! Documents: values in, bytes out. Knows no nursery, no files, no clock: the day that a document
//! bears is handed in.

mod calendar;
mod workbook;

pub use calendar::{Entry, calendar};
pub use workbook::{WorkbookError, workbook};
