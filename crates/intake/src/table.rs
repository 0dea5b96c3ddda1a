//! A comma-separated table read row by row.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::problem::{Problems, RowProblem, cut};
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
/// accepted even if `each` returned a value. Empty rows and lines that start with `#` are passed
/// over. A header that lacks a required column, repeats one or has a column nobody knows stops the
/// reading, and a row with too few or too many cells is not read: a shifted row would only give
/// wrong problems.
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
    let text = match utf8(file, bytes) {
        Ok(text) => with_line_feeds(text),
        Err(problems) => {
            read.problems = problems;
            return read;
        }
    };
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .has_headers(false)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut lines = Lines::of(&text);
    // The text is UTF-8 and the reader flexible, so a record cannot fail to be read.
    let mut records = reader
        .records()
        .filter_map(Result::ok)
        .filter(|cells| cells.iter().any(|cell| !cell.trim().is_empty()));
    let (row, header) = match records.next() {
        Some(cells) => (
            lines.of_record(&cells),
            cells.iter().map(|name| name.trim().to_owned()).collect(),
        ),
        None => (1, Vec::new()),
    };
    Header {
        file,
        row,
        names: &header,
        columns,
    }
    .check(&mut read.problems);
    if !read.problems.is_empty() {
        return read;
    }
    for cells in records {
        let mut row = Row {
            file,
            line: lines.of_record(&cells),
            header: &header,
            cells: &cells,
            problems: &mut read.problems,
        };
        let before = row.problems.0.len();
        if !has_right_cells(&mut row) {
            continue;
        }
        let value = each(&mut row);
        if let Some(value) = value
            && read.problems.0.len() == before
        {
            read.accepted.push(value);
        }
    }
    read
}

/// The bytes as text, without the mark that some programs put at its start.
pub fn utf8<'a>(file: &str, bytes: &'a [u8]) -> Result<&'a str, Problems> {
    let error = match std::str::from_utf8(bytes) {
        Ok(text) => return Ok(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => error,
    };
    let (before, after) = bytes.split_at(error.valid_up_to());
    let line_start = before
        .iter()
        .rposition(|b| *b == b'\n')
        .map_or(0, |at| at + 1);
    let line_end = after.iter().position(|b| *b == b'\n');
    let line_end = line_end.map_or(bytes.len(), |at| before.len() + at);
    let problem = RowProblem {
        row: Some(1 + before.iter().filter(|b| **b == b'\n').count() as u64),
        ..RowProblem::of_file(
            file,
            "must be UTF-8 text",
            "save it once more and choose UTF-8 (in a spreadsheet: CSV UTF-8)",
        )
    };
    let line = String::from_utf8_lossy(&bytes[line_start..line_end]);
    Err(Problems(vec![problem.with_value(&line)]))
}

/// The text with every line ended by a line feed, whichever way its program ends lines.
fn with_line_feeds(text: &str) -> Cow<'_, str> {
    if text.contains('\r') {
        Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
    } else {
        Cow::Borrowed(text)
    }
}

/// Counts lines up to where records begin. The reader's own positions lie before the blank lines
/// and remarks that it passes over.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    fn of(text: &'a str) -> Self {
        Self {
            bytes: text.as_bytes(),
            at: 0,
            line: 1,
        }
    }

    /// The line a record begins on; records must come in the file's order.
    fn of_record(&mut self, cells: &csv::StringRecord) -> u64 {
        let start = cells
            .position()
            .map_or(0, |position| position.byte() as usize);
        self.pass_to(start);
        while let Some(byte) = self.bytes.get(self.at) {
            match byte {
                b'#' => self.pass_line(),
                b'\n' => self.pass_to(self.at + 1),
                _ => break,
            }
        }
        self.line
    }

    fn pass_to(&mut self, end: usize) {
        let passed = self.bytes.get(self.at..end).unwrap_or_default();
        self.line += passed.iter().filter(|byte| **byte == b'\n').count() as u64;
        self.at += passed.len();
    }

    fn pass_line(&mut self) {
        let rest = &self.bytes[self.at..];
        let length = rest.iter().position(|byte| *byte == b'\n');
        self.pass_to(self.at + length.map_or(rest.len(), |at| at + 1));
    }
}

/// The names in a file's first row, under checking.
struct Header<'a> {
    file: &'a str,
    row: u64,
    names: &'a [String],
    columns: &'a Columns,
}

impl Header<'_> {
    fn check(&self, problems: &mut Problems) {
        if self.names.len() == 1 && self.names[0].contains([';', '\t']) {
            let problem = self.problem(
                None,
                "columns must be separated by commas",
                "save the table with commas between the columns",
            );
            problems.push(problem.with_value(&self.names[0]));
        } else if self.names_nothing() {
            let required = self.columns.required.join(",");
            let problem = self.problem(
                None,
                "must begin with a row of column names",
                format!("put a first row above the others, as {required}"),
            );
            problems.push(problem.with_value(&self.names.join(",")));
        } else {
            self.check_names(problems);
        }
    }

    /// Whether no name is that of a column or near one: the header is missing, not misspelled.
    fn names_nothing(&self) -> bool {
        let known: Vec<&str> = self.columns.all().collect();
        self.names
            .iter()
            .all(|name| nearest(name, &known).is_none())
    }

    fn check_names(&self, problems: &mut Problems) {
        let mut unknown: Vec<&str> = self.unknown().collect();
        for name in self.columns.required {
            if self.names.iter().any(|known| known == name) {
                continue;
            }
            let slip = nearest(name, &unknown);
            let mend = match slip {
                Some(slip) => format!(
                    "rename column \"{}\" to {name} if that is what is meant",
                    cut(slip)
                ),
                None => format!("add a column {name}"),
            };
            // One slip of the hand is one problem.
            unknown.retain(|other| Some(*other) != slip);
            problems.push(self.problem(Some(name), "this column must be there", mend));
        }
        let known: Vec<&str> = self.columns.all().collect();
        for name in unknown {
            let mend = match nearest(name, &known) {
                Some(right) => format!("rename it to {right} if that is what is meant"),
                None => format!("remove it, the columns are {}", known.join(", ")),
            };
            problems.push(self.problem(Some(name), "nobody knows this column", mend));
        }
        self.check_each_once(problems);
    }

    fn unknown(&self) -> impl Iterator<Item = &str> {
        self.names
            .iter()
            .map(String::as_str)
            .filter(|name| !name.is_empty() && !self.columns.knows(name))
    }

    fn check_each_once(&self, problems: &mut Problems) {
        let mut seen = BTreeSet::new();
        for (index, name) in self.names.iter().enumerate() {
            if name.is_empty() {
                let rule = format!("column {} must have a name", index + 1);
                problems.push(self.problem(None, rule, "name the column, or remove it"));
            } else if !seen.insert(name) {
                let rule = "this column must stand only once";
                problems.push(self.problem(Some(name), rule, "remove one of the two"));
            }
        }
    }

    fn problem(
        &self,
        name: Option<&str>,
        rule: impl Into<String>,
        mend: impl Into<String>,
    ) -> RowProblem {
        RowProblem {
            row: Some(self.row),
            column: name.map(cut),
            ..RowProblem::of_file(self.file, rule, mend)
        }
    }
}

/// Whether a row has as many cells as the header and each is text on one line; notes what is not.
fn has_right_cells(row: &mut Row<'_>) -> bool {
    // A quote that is opened and not closed swallows the rows after it, line breaks and all.
    let broken = row
        .cells
        .iter()
        .find(|cell| cell.contains('\n') || cell.trim().contains(char::is_control));
    let (found, wanted) = (row.cells.len(), row.header.len());
    let of_row = |rule: String, mend: &str| RowProblem {
        row: Some(row.line),
        ..RowProblem::of_file(row.file, rule, mend)
    };
    let problem = if let Some(cell) = broken {
        let mend = "close every quote that is opened, and take line breaks and tabs out";
        of_row("a cell must be plain text on one line".to_owned(), mend).with_value(cell.trim())
    } else if found != wanted {
        let mend = "check for a missing or extra comma, and put texts with commas in quotes";
        of_row(format!("must have {wanted} cells and has {found}"), mend)
    } else {
        return true;
    };
    row.problems.push(problem);
    false
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
        let (accepted, problems) = read(b"# ours\n\nlot,plant,, heat,lot\nA,12\n");
        assert!(accepted.is_empty());
        assert_eq!(
            problems,
            [
                "lots.csv, row 3, plants: this column must be there; rename column \"plant\" to plants if that is what is meant.",
                "lots.csv, row 3, heat: nobody knows this column; remove it, the columns are lot, plants, warmth.",
                "lots.csv, row 3: column 3 must have a name; name the column, or remove it.",
                "lots.csv, row 3, lot: this column must stand only once; remove one of the two.",
            ]
        );
        let (_, problems) = read(b"A,12\nB,13\n");
        assert_eq!(
            problems,
            [
                "lots.csv, row 1 \"A,12\": must begin with a row of column names; put a first row above the others, as lot,plants."
            ]
        );
    }

    #[test]
    fn text_that_is_not_utf8_or_not_commas_is_said_so() {
        assert_eq!(
            read(b"lot,plants\nA\xff,1\nB,2\n").1,
            [
                "lots.csv, row 2 \"A\u{fffd},1\": must be UTF-8 text; save it once more and choose UTF-8 (in a spreadsheet: CSV UTF-8)."
            ]
        );
        assert_eq!(
            read(b"lot;plants\nA;1\n").1,
            [
                "lots.csv, row 1 \"lot;plants\": columns must be separated by commas; save the table with commas between the columns."
            ]
        );
        assert!(!read(b"").1.is_empty());
    }

    #[test]
    fn a_quote_left_open_names_the_row_it_begins_in() {
        let (accepted, problems) = read(b"lot,plants\nA,1\n\"B,2\nC,3\n");
        assert_eq!(accepted, [("A".to_owned(), 1)]);
        assert_eq!(
            problems,
            [
                "lots.csv, row 3 \"B,2 C,3\": a cell must be plain text on one line; close every quote that is opened, and take line breaks and tabs out."
            ]
        );
    }

    #[test]
    fn rows_are_counted_whatever_ends_a_line_and_empty_ones_are_passed_over() {
        for end in ["\n", "\r\n", "\r"] {
            let text = [
                "\u{feff}lot,plants",
                "",
                "A,1",
                ", ",
                "  ",
                "#x",
                "",
                "B,x",
                "C,1,2",
            ]
            .join(end);
            let (accepted, problems) = read(text.as_bytes());
            assert_eq!(accepted, [("A".to_owned(), 1)]);
            assert!(
                problems[0].starts_with("lots.csv, row 8, plants \"x\""),
                "{problems:?}"
            );
            assert!(problems[1].starts_with("lots.csv, row 9: must have 2 cells and has 3"));
        }
    }
}
