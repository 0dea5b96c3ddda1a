//! A comma-separated table read row by row.

use crate::problem::{Problems, RowProblem};
use crate::row::{Row, nearest};

/// The columns a table may have. Order in the file is free.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// Columns that must be in the header.
    pub required: &'static [&'static str],
    /// Columns that may be in the header.
    pub optional: &'static [&'static str],
}

impl Columns {
    /// Every column, required ones first.
    pub fn all(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.required.iter().chain(self.optional).copied()
    }

    fn knows(&self, name: &str) -> bool {
        self.all().any(|column| column == name)
    }
}

/// What a reader returns: the rows that are right and the problems of all others.
#[derive(Debug, Clone, PartialEq)]
pub struct Read<T> {
    /// Rows without a problem, in the file's order.
    pub accepted: Vec<T>,
    /// Everything that is wrong.
    pub problems: Problems,
}

/// Reads a table of UTF-8, comma-separated text with a header.
///
/// `each` turns one row into a value, noting problems on the row; a row with problems is not
/// accepted even if `each` returned a value. Blank lines and lines that start with `#` are passed
/// over. A header that lacks a required column, repeats one or has a column nobody knows stops the
/// reading: rows under a wrong header would only give wrong problems.
pub fn read_table<T>(
    file: &str,
    bytes: &[u8],
    columns: &Columns,
    mut each: impl FnMut(&mut Row<'_>) -> Option<T>,
) -> Read<T> {
    let mut read = Read {
        accepted: Vec::new(),
        problems: Problems::default(),
    };
    let Some(text) = as_text(file, bytes, &mut read.problems) else {
        return read;
    };
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header: Vec<String> = match reader.headers() {
        Ok(header) => header.iter().map(str::to_owned).collect(),
        Err(_) => Vec::new(),
    };
    check_header(file, &header, columns, &mut read.problems);
    if !read.problems.is_empty() {
        return read;
    }
    for record in reader.records() {
        // The text is UTF-8 and the reader flexible, so a record cannot fail to be read.
        let Ok(cells) = record else { continue };
        if cells.get(0).is_some_and(|first| first.starts_with('#')) {
            continue;
        }
        let line = line_of(&cells, text);
        let before = read.problems.0.len();
        let mut row = Row {
            file,
            line,
            header: &header,
            cells: &cells,
            problems: &mut read.problems,
        };
        check_width(&mut row);
        let value = each(&mut row);
        if let Some(value) = value
            && read.problems.0.len() == before
        {
            read.accepted.push(value);
        }
    }
    read
}

/// The line a record begins on. The reader's own position is where it began to look, which lies
/// before any blank lines it passed over.
fn line_of(cells: &csv::StringRecord, text: &str) -> u64 {
    let Some(start) = cells.position() else {
        return 0;
    };
    let rest = text.get(start.byte() as usize..).unwrap_or_default();
    let blank = rest
        .chars()
        .take_while(|c| c.is_whitespace())
        .filter(|c| *c == '\n')
        .count();
    start.line() + blank as u64
}

fn as_text<'a>(file: &str, bytes: &'a [u8], problems: &mut Problems) -> Option<&'a str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => {
            let line = 1 + bytes[..error.valid_up_to()]
                .iter()
                .filter(|b| **b == b'\n')
                .count();
            problems.push(RowProblem {
                row: Some(line as u64),
                ..RowProblem::of_file(
                    file,
                    "must be UTF-8 text",
                    "save the table as comma-separated text in UTF-8",
                )
            });
            None
        }
    }
}

fn check_header(file: &str, header: &[String], columns: &Columns, problems: &mut Problems) {
    let mut note = |name: &str, rule: String, mend: String| {
        problems.push(RowProblem {
            row: Some(1),
            column: Some(name.to_owned()),
            ..RowProblem::of_file(file, rule, mend)
        });
    };
    if header.len() == 1 && header[0].contains([';', '\t']) {
        let mend = "save the table with commas between the columns".to_owned();
        note(
            &header[0],
            "columns must be separated by commas".to_owned(),
            mend,
        );
        return;
    }
    let unknown: Vec<&str> = header
        .iter()
        .map(String::as_str)
        .filter(|name| !columns.knows(name))
        .collect();
    for name in columns.required {
        if !header.iter().any(|known| known == name) {
            let mend = match nearest(name, &unknown) {
                Some(slip) => {
                    format!("rename column \"{slip}\" to {name} if that is what is meant")
                }
                None => format!("add a column {name}"),
            };
            note(name, "this column must be there".to_owned(), mend);
        }
    }
    let known: Vec<&str> = columns.all().collect();
    for name in unknown {
        let mend = match nearest(name, &known) {
            Some(right) => format!("rename it to {right} if that is what is meant"),
            None => format!("remove it; the columns are {}", known.join(", ")),
        };
        note(name, "nobody knows this column".to_owned(), mend);
    }
    for (index, name) in header.iter().enumerate() {
        if header[..index].contains(name) {
            note(
                name,
                "this column stands twice".to_owned(),
                "remove one of the two".to_owned(),
            );
        }
    }
}

fn check_width(row: &mut Row<'_>) {
    let (found, wanted) = (row.cells.len(), row.header.len());
    if found != wanted {
        let problem = RowProblem {
            row: Some(row.line),
            ..RowProblem::of_file(
                row.file,
                format!("must have {wanted} cells and has {found}"),
                "check for a missing or extra comma, and put texts with commas in quotes",
            )
        };
        row.problems.push(problem);
    }
}

#[cfg(test)]
mod tests {
    use super::{Columns, read_table};
    use crate::Bounds;

    const COLUMNS: Columns = Columns {
        required: &["lot", "plants"],
        optional: &["warmth"],
    };

    fn read(text: &[u8]) -> (Vec<(String, u32)>, Vec<String>) {
        let read = read_table("lots.csv", text, &COLUMNS, |row| {
            let lot = row.text("lot");
            let plants = row.count("plants");
            let _ = row.optional_number("warmth", Bounds::new(-5.0, 5.0));
            Some((lot?, plants?))
        });
        (
            read.accepted,
            read.problems.0.iter().map(ToString::to_string).collect(),
        )
    }

    #[test]
    fn right_rows_are_accepted_and_all_problems_of_the_others_named() {
        let (accepted, problems) =
            read(b"lot,plants,warmth\nA,12,\n,x,99\n#note\n\n\nB,3,NaN\nC,4,1\n");
        assert_eq!(accepted, [("A".to_owned(), 12), ("C".to_owned(), 4)]);
        assert_eq!(
            problems,
            [
                "lots.csv, row 3, lot: must not be empty; fill in lot.",
                "lots.csv, row 3, plants \"x\": must be a whole number, 0 or more; write digits only, as 1180.",
                "lots.csv, row 3, warmth \"99\": must lie between -5 and 5; check the value and its unit.",
                "lots.csv, row 7, warmth \"NaN\": must be a number; write it with a decimal point, as 12.8.",
            ]
        );
    }

    #[test]
    fn a_wrong_header_stops_the_reading() {
        let (accepted, problems) = read(b"lot,plant\nA,12\n");
        assert!(accepted.is_empty());
        assert_eq!(
            problems,
            [
                "lots.csv, row 1, plants: this column must be there; rename column \"plant\" to plants if that is what is meant.",
                "lots.csv, row 1, plant: nobody knows this column; rename it to plants if that is what is meant.",
            ]
        );
    }

    #[test]
    fn text_that_is_not_utf8_or_not_commas_is_said_so() {
        assert_eq!(
            read(b"lot,plants\nA\xff,1\n").1,
            [
                "lots.csv, row 2: must be UTF-8 text; save the table as comma-separated text in UTF-8."
            ]
        );
        assert!(read(b"lot;plants\nA;1\n").1[0].contains("must be separated by commas"));
        assert!(!read(b"").1.is_empty());
    }
}
