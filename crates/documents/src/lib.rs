//! Documents: values in, bytes out. Knows no nursery, no files, no clock: the day that a document
//! bears is handed in.

mod workbook;

pub use workbook::{WorkbookError, workbook};
