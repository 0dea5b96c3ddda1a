//! A table as a spreadsheet's workbook (Office Open XML, ECMA-376).

use jiff::civil::Date;
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError,
};

/// Why a table is no workbook.
#[derive(Debug, thiserror::Error)]
pub enum WorkbookError {
    /// The table is no table.
    #[error("the table cannot be read: {0}")]
    Table(#[from] csv::Error),
    /// The workbook cannot hold it, such as more than 1,048,576 rows.
    #[error("a workbook cannot hold this table: {0}")]
    Workbook(#[from] XlsxError),
}

/// The longest name a sheet may have.
const LONGEST_NAME: usize = 31;

/// Digits that a spreadsheet's number holds for certain; what has more stays a text.
const DIGITS: usize = 15;

/// A table of comma-separated values as a workbook of one sheet: heads stay in sight, numbers are
/// numbers, all else is text and never a formula.
///
/// `made_on` is the day that the workbook bears: the same table of the same day gives the same bytes.
pub fn workbook(name: &str, table: &[u8], made_on: Date) -> Result<Vec<u8>, WorkbookError> {
    let mut book = Workbook::new();
    let day = ExcelDateTime::from_ymd(
        made_on.year().unsigned_abs(),
        made_on.month().unsigned_abs(),
        made_on.day().unsigned_abs(),
    )?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&day));
    let sheet = book.add_worksheet();
    sheet.set_name(sheet_name(name))?;
    fill(sheet, table)?;
    Ok(book.save_to_buffer()?)
}

fn fill(sheet: &mut Worksheet, table: &[u8]) -> Result<(), WorkbookError> {
    let head = Format::new().set_bold().set_text_wrap();
    let text = Format::new().set_align(FormatAlign::Left);
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(table);
    for (row, cells) in rows.records().enumerate() {
        let cells = cells?;
        // A row past the last one that a sheet has is refused by the sheet.
        let row = u32::try_from(row).unwrap_or(u32::MAX);
        for (column, cell) in cells.iter().enumerate() {
            let column = u16::try_from(column).unwrap_or(u16::MAX);
            match number(cell) {
                _ if cell.is_empty() => {}
                _ if row == 0 => {
                    sheet.write_string_with_format(row, column, as_text(cell), &head)?;
                }
                Some(number) => {
                    sheet.write_number(row, column, number)?;
                }
                None => {
                    sheet.write_string_with_format(row, column, as_text(cell), &text)?;
                }
            }
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.autofit();
    Ok(())
}

/// The number that a cell is; none for one that reads as a number but is a name, such as `007`.
fn number(cell: &str) -> Option<f64> {
    let digits = cell.strip_prefix('-').unwrap_or(cell);
    let is_plain = digits
        .bytes()
        .all(|byte| byte.is_ascii_digit() || byte == b'.');
    let is_padded = digits.len() > 1 && digits.starts_with('0') && !digits.starts_with("0.");
    if !is_plain || is_padded || digits.len() > DIGITS {
        return None;
    }
    cell.parse().ok()
}

/// A text cell without the mark that keeps it from being read as a formula: here nothing is.
fn as_text(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\t', '\r']) => rest,
        _ => cell,
    }
}

/// A name that a sheet may have.
fn sheet_name(name: &str) -> String {
    let allowed: String = name
        .chars()
        .map(|c| if "[]:*?/\\'".contains(c) { '-' } else { c })
        .take(LONGEST_NAME)
        .collect();
    if allowed.trim().is_empty() {
        "Table".to_owned()
    } else {
        allowed
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use calamine::{Data, Reader as _, Xlsx};
    use jiff::civil::date;

    use super::*;

    const DAY: Date = date(2027, 3, 1);

    /// What another library reads in a workbook.
    fn read_back(bytes: Vec<u8>) -> (String, Vec<Vec<Data>>) {
        let mut book: Xlsx<_> =
            calamine::open_workbook_from_rs(Cursor::new(bytes)).expect("a workbook");
        let name = book.sheet_names()[0].clone();
        let range = book.worksheet_range(&name).expect("a sheet");
        (name, range.rows().map(<[Data]>::to_vec).collect())
    }

    #[test]
    fn another_library_reads_the_same_table() {
        let table =
            "line,plants,odds\r\nO-1/1,200,0.95\r\n007,\"a, \"\"b\"\"\",'=1+2\r\n,-3,2027-W10\r\n";
        let (name, rows) = read_back(workbook("promises", table.as_bytes(), DAY).expect("made"));
        let text = |it: &str| Data::String(it.to_owned());
        assert_eq!(name, "promises");
        assert_eq!(
            rows,
            [
                vec![text("line"), text("plants"), text("odds")],
                vec![text("O-1/1"), Data::Float(200.0), Data::Float(0.95)],
                vec![text("007"), text("a, \"b\""), text("=1+2")],
                vec![Data::Empty, Data::Float(-3.0), text("2027-W10")],
            ]
        );
    }

    #[test]
    fn the_same_table_of_a_day_gives_the_same_bytes() {
        let made = || workbook("a", b"x\r\n1\r\n", DAY).expect("made");
        assert_eq!(made(), made());
    }

    #[test]
    fn only_what_is_a_number_is_one() {
        for text in [
            "",
            "1e5",
            "inf",
            "NaN",
            "00",
            "01.5",
            "1.2.3",
            "-",
            "1 000",
            "1234567890123456",
        ] {
            assert_eq!(number(text), None, "{text}");
        }
        for (text, value) in [("0", 0.0), ("-0.5", -0.5), ("12", 12.0)] {
            assert_eq!(number(text), Some(value));
        }
    }

    #[test]
    fn names_of_sheets_are_cut_and_cleaned() {
        assert_eq!(sheet_name("lot a/b:c"), "lot a-b-c");
        assert_eq!(sheet_name(&"x".repeat(40)).len(), LONGEST_NAME);
        assert_eq!(sheet_name(" "), "Table");
    }

    #[test]
    fn an_empty_table_is_a_workbook_too() {
        let (_, rows) = read_back(workbook("a", b"", DAY).expect("made"));
        assert!(rows.is_empty());
    }
}
