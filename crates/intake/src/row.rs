//! One row of a table: cells by column name, each getter noting what is wrong.

use std::str::FromStr;

use jiff::civil::Date;

use crate::problem::{Problems, RowProblem, cut};

/// The range a number may lie in, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Least value allowed.
    pub min: f64,
    /// Greatest value allowed.
    pub max: f64,
}

impl Bounds {
    /// Bounds for a fraction or share.
    pub const FRACTION: Self = Self { min: 0.0, max: 1.0 };

    /// Bounds from `min` to `max`.
    pub const fn new(min: f64, max: f64) -> Self {
        Self { min, max }
    }

    fn holds(self, value: f64) -> bool {
        value.is_finite() && value >= self.min && value <= self.max
    }
}

/// One row under reading. A getter returns `None` after it has noted a problem; call all getters
/// before combining them with `?`, so that one pass notes everything that is wrong with the row.
pub struct Row<'a> {
    pub(crate) file: &'a str,
    pub(crate) line: u64,
    pub(crate) header: &'a [String],
    pub(crate) cells: &'a csv::StringRecord,
    pub(crate) problems: &'a mut Problems,
}

impl Row<'_> {
    /// Line number in the file.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// Notes a problem of `column` with the value that stands there.
    pub fn problem(&mut self, column: &str, rule: impl Into<String>, mend: impl Into<String>) {
        let value = self.cell(column).map(cut);
        self.problems.push(RowProblem {
            file: self.file.to_owned(),
            row: Some(self.line),
            column: Some(column.to_owned()),
            value,
            rule: rule.into(),
            mend: mend.into(),
        });
    }

    /// The trimmed cell, `None` where the column is absent or the cell is empty. Notes nothing.
    pub fn cell(&self, column: &str) -> Option<&str> {
        let index = self.header.iter().position(|name| name == column)?;
        let text = self.cells.get(index)?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// A text that must be there.
    pub fn text(&mut self, column: &str) -> Option<String> {
        let text = self.cell(column).map(str::to_owned);
        if text.is_none() {
            self.problem(column, "must not be empty", format!("fill in {column}"));
        }
        text
    }

    /// A text that may be missing.
    pub fn optional_text(&self, column: &str) -> Option<String> {
        self.cell(column).map(str::to_owned)
    }

    /// Texts separated by semicolons; empty where the cell is.
    pub fn list(&self, column: &str) -> Vec<String> {
        self.cell(column)
            .unwrap_or_default()
            .split(';')
            .map(str::trim)
            .filter(|text| !text.is_empty())
            .map(str::to_owned)
            .collect()
    }

    /// A whole number of things, 0 or more, that must be there.
    pub fn count(&mut self, column: &str) -> Option<u32> {
        self.text(column)?;
        self.count_or(column, 0)
    }

    /// A whole number of things, `default` where the cell is empty.
    pub fn count_or(&mut self, column: &str, default: u32) -> Option<u32> {
        let Some(text) = self.cell(column) else {
            return Some(default);
        };
        match whole(text, MOST_THINGS) {
            Whole::Right(number) => return u32::try_from(number).ok(),
            Whole::TooLarge => {
                let rule = format!("must be {MOST_THINGS} at the most");
                self.problem(column, rule, "check the number");
            }
            Whole::NotDigits => self.problem(
                column,
                "must be a whole number, 0 or more",
                "write digits only, as 1180",
            ),
        }
        None
    }

    /// Money in whole minor units (cents, where it has them), 0 or more; `default` where the cell is empty.
    pub fn money_or(&mut self, column: &str, default: i64) -> Option<i64> {
        let Some(text) = self.cell(column) else {
            return Some(default);
        };
        match whole(text, MOST_MONEY) {
            Whole::Right(amount) => return i64::try_from(amount).ok(),
            Whole::TooLarge => {
                let rule = format!("must be {MOST_MONEY} minor units at the most");
                self.problem(column, rule, "check the amount");
            }
            Whole::NotDigits => self.problem(
                column,
                "must be money in whole cents, or whole units of money without cents, 0 or more",
                "write it without a point, as 1250 for 12.50",
            ),
        }
        None
    }

    /// A number within bounds that must be there.
    pub fn number(&mut self, column: &str, bounds: Bounds) -> Option<f64> {
        self.text(column)?;
        self.optional_number(column, bounds)?
    }

    /// A number within bounds, `default` where the cell is empty.
    pub fn number_or(&mut self, column: &str, default: f64, bounds: Bounds) -> Option<f64> {
        self.optional_number(column, bounds)
            .map(|number| number.unwrap_or(default))
    }

    /// A number that may be missing: `Some(None)` is an empty cell, `None` a problem noted.
    pub fn optional_number(&mut self, column: &str, bounds: Bounds) -> Option<Option<f64>> {
        let Some(text) = self.cell(column) else {
            return Some(None);
        };
        let parsed = f64::from_str(text).ok().filter(|number| number.is_finite());
        match parsed {
            Some(number) if bounds.holds(number) => Some(Some(number)),
            Some(_) => {
                let rule = format!("must lie between {} and {}", bounds.min, bounds.max);
                self.problem(column, rule, "check the value and its unit");
                None
            }
            None => {
                self.problem(
                    column,
                    "must be a number",
                    "write it with a decimal point, as 12.8",
                );
                None
            }
        }
    }

    /// A date that must be there.
    pub fn date(&mut self, column: &str) -> Option<Date> {
        self.text(column)?;
        self.optional_date(column)?
    }

    /// A date that may be missing: `Some(None)` is an empty cell, `None` a problem noted.
    pub fn optional_date(&mut self, column: &str) -> Option<Option<Date>> {
        let Some(text) = self.cell(column) else {
            return Some(None);
        };
        match day(text) {
            Ok(date) => Some(Some(date)),
            Err(mend) => {
                self.problem(column, "must be a date of the calendar", mend);
                None
            }
        }
    }

    /// One of the named choices, which must be there.
    pub fn choice<T: Copy>(&mut self, column: &str, choices: &[(&str, T)]) -> Option<T> {
        let text = self.text(column)?;
        let found = choices
            .iter()
            .find(|(name, _)| *name == text)
            .map(|(_, choice)| *choice);
        if found.is_none() {
            let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
            let rule = format!("must be one of {}", names.join(", "));
            let mend = match nearest(&text, &names) {
                Some(name) => format!("write {name} if that is what is meant"),
                None => "write one of them".to_owned(),
            };
            self.problem(column, rule, mend);
        }
        found
    }

    /// `true` or `false`, `default` where the cell is empty.
    pub fn truth_or(&mut self, column: &str, default: bool) -> Option<bool> {
        if self.cell(column).is_none() {
            return Some(default);
        }
        self.choice(column, &[("true", true), ("false", false)])
    }
}

/// Most plants, seeds or buds that one cell may hold: sums over any file then fit what counts them.
const MOST_THINGS: u64 = 100_000_000;
/// Most cents that one cell may hold, so that plants times price can be reckoned.
const MOST_MONEY: u64 = 1_000_000_000;

enum Whole {
    Right(u64),
    TooLarge,
    NotDigits,
}

/// A whole number of digits alone: no sign, no point, no spaces between thousands.
fn whole(text: &str, most: u64) -> Whole {
    if !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Whole::NotDigits;
    }
    match text.parse() {
        Ok(number) if number <= most => Whole::Right(number),
        _ => Whole::TooLarge,
    }
}

/// A date in the plain form `2027-03-08`, or how to mend it.
fn day(text: &str) -> Result<Date, String> {
    let form = |(index, byte): (usize, u8)| match index {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    };
    let written = || "write year-month-day, as 2027-03-08".to_owned();
    if text.len() != 10 || !text.bytes().enumerate().all(form) {
        return Err(written());
    }
    Date::from_str(text).map_err(|_| {
        // A month over 12 is a day in its place; only a day that is too late needs the month's end.
        let first = Date::from_str(&format!("{}-01", &text[..7]));
        first.map_or_else(
            |_| written(),
            |first| {
                format!(
                    "mend the day, that month has {} days",
                    first.days_in_month()
                )
            },
        )
    })
}

/// Slips between two texts; a name cut short, as `rain` for `rain_mm`, counts as one.
fn slips_or_cut(text: &str, name: &str) -> usize {
    const LEAST_LETTERS: usize = 3;
    if text.len() >= LEAST_LETTERS && name.starts_with(text) && name != text {
        return 1;
    }
    slips(text, name)
}

/// The name that differs least from `text`, if it is near enough to be a slip of the hand.
/// Capitals do not count.
pub fn nearest<'a>(text: &str, names: &[&'a str]) -> Option<&'a str> {
    let text = text.to_lowercase();
    let length = text.chars().count();
    names
        .iter()
        // A difference in length is that many slips at least, so most names need no comparing.
        .filter(|name| {
            let letters = name.chars().count();
            length.abs_diff(letters) * 2 <= letters
        })
        .map(|name| (slips_or_cut(&text, &name.to_lowercase()), *name))
        .filter(|(slips, name)| *slips * 2 <= name.chars().count())
        .min()
        .map(|(_, name)| name)
}

/// Levenshtein distance in characters, on texts cut to a length that names can have.
fn slips(one: &str, other: &str) -> usize {
    const LONGEST_NAME: usize = 64;
    let other: Vec<char> = other.chars().take(LONGEST_NAME).collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.chars().take(LONGEST_NAME).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in other.iter().enumerate() {
            let replaced = diagonal + usize::from(a != *b);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[other.len()]
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::{Whole, day, nearest, slips, whole};

    #[test]
    fn whole_numbers_are_digits_within_reach() {
        assert!(matches!(whole("0012", 12), Whole::Right(12)));
        assert!(matches!(whole("13", 12), Whole::TooLarge));
        assert!(matches!(whole(&"9".repeat(40), 12), Whole::TooLarge));
        for text in ["+5", "-5", "1 180", "1,180", "1180.0", "1e3", "٣"] {
            assert!(matches!(whole(text, 12), Whole::NotDigits), "{text}");
        }
    }

    #[test]
    fn dates_are_plain_and_of_the_calendar() {
        assert_eq!(day("2028-02-29"), Ok(date(2028, 2, 29)));
        let mend = |text| day(text).expect_err("not a date");
        assert_eq!(mend("2027-02-30"), "mend the day, that month has 28 days");
        for text in [
            "2027-13-05",
            "8.3.2027",
            "2027-3-8",
            "20270308T1",
            "+027-03-08",
        ] {
            assert_eq!(mend(text), "write year-month-day, as 2027-03-08", "{text}");
        }
    }

    #[test]
    fn slips_are_edit_distances() {
        assert_eq!(slips("kitten", "sitting"), 3);
        assert_eq!(slips("", "lot"), 3);
        assert_eq!(slips("lot", "lot"), 0);
    }

    #[test]
    fn only_near_names_are_offered() {
        assert_eq!(nearest("seedlng", &["seedling", "liner"]), Some("seedling"));
        assert_eq!(nearest("LINER", &["seedling", "liner"]), Some("liner"));
        assert_eq!(nearest("xyz", &["seedling", "liner"]), None);
        assert_eq!(nearest("rain", &["tmin", "rain_mm"]), Some("rain_mm"));
        assert_eq!(nearest("", &["a"]), None);
    }
}
