//! Documents: values in, bytes out. Knows no nursery, no files, no clock: the day that a document
//! bears is handed in.

mod calendar;
mod drawing;
mod labels;
mod letters;
mod paper;
mod pdf;
mod workbook;

pub use calendar::{Entry, calendar};
pub use drawing::{Anchor, At, Drawing, Gray, Ink, Lettering, Shape, Stroke};
pub use labels::{Label, LabelError, LabelKind, LabelStock, Labels, Measure, StockError};
pub use paper::{Block, Cell, Column, Paper, PaperSize, PaperWords, Row, Table};
pub use pdf::PdfError;
pub use workbook::{WorkbookError, workbook};
