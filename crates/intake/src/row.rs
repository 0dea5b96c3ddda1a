//! One row of a table: cells by column name, each getter noting what is wrong.

use std::str::FromStr;

use jiff::civil::Date;

use crate::problem::{Problems, RowProblem};

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
        let value = self.cell(column).map(str::to_owned);
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
        let parsed = text.parse().ok();
        if parsed.is_none() {
            self.problem(
                column,
                "must be a whole number, 0 or more",
                "write digits only, as 1180",
            );
        }
        parsed
    }

    /// Money in whole minor units (cents), 0 or more; `default` where the cell is empty.
    pub fn money_or(&mut self, column: &str, default: i64) -> Option<i64> {
        let Some(text) = self.cell(column) else {
            return Some(default);
        };
        let parsed = text.parse().ok().filter(|amount| *amount >= 0);
        if parsed.is_none() {
            self.problem(
                column,
                "must be money in whole minor units, 0 or more",
                "write cents without a point, as 1250 for 12.50",
            );
        }
        parsed
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
        // `Date::from_str` also reads the date out of longer forms; only the plain form is meant.
        let parsed = (text.len() == 10)
            .then(|| Date::from_str(text).ok())
            .flatten();
        if parsed.is_none() {
            self.problem(
                column,
                "must be a date of the calendar",
                "write year-month-day, as 2027-03-08",
            );
        }
        parsed.map(Some)
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

/// The name that differs least from `text`, if it is near enough to be a slip of the hand.
pub(crate) fn nearest<'a>(text: &str, names: &[&'a str]) -> Option<&'a str> {
    names
        .iter()
        .map(|name| (slips(text, name), *name))
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
    use super::{nearest, slips};

    #[test]
    fn slips_are_edit_distances() {
        assert_eq!(slips("kitten", "sitting"), 3);
        assert_eq!(slips("", "lot"), 3);
        assert_eq!(slips("lot", "lot"), 0);
    }

    #[test]
    fn only_near_names_are_offered() {
        assert_eq!(nearest("seedlng", &["seedling", "liner"]), Some("seedling"));
        assert_eq!(nearest("xyz", &["seedling", "liner"]), None);
    }
}
