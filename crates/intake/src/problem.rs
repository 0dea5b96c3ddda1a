//! What is wrong with one place of one file, and how to mend it.

use std::fmt;

use serde::Serialize;

/// One thing that is wrong in one file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RowProblem {
    /// The file as the user knows it.
    pub file: String,
    /// Line number in the file, the header being line 1; none when the whole file is meant.
    pub row: Option<u64>,
    /// The column's name, where one is to blame.
    pub column: Option<String>,
    /// The value as it stands in the file, cut where it is long.
    pub value: Option<String>,
    /// The rule that the value breaks.
    pub rule: String,
    /// What to do about it.
    pub mend: String,
}

impl RowProblem {
    /// A problem of a whole file.
    pub fn of_file(file: &str, rule: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            file: file.to_owned(),
            row: None,
            column: None,
            value: None,
            rule: rule.into(),
            mend: mend.into(),
        }
    }

    /// The same problem with the value that stands in the file, cut to what a message can hold.
    #[must_use]
    pub fn with_value(mut self, value: &str) -> Self {
        self.value = Some(cut(value));
        self
    }
}

/// A text cut to a length that can be read in a message, on one line.
pub fn cut(text: &str) -> String {
    const LONGEST: usize = 60;
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    let mut short: String = text.chars().take(LONGEST).map(plain).collect();
    if text.chars().nth(LONGEST).is_some() {
        short.push('…');
    }
    short
}

impl fmt::Display for RowProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", {column}")?;
        }
        if let Some(value) = &self.value {
            write!(f, " \"{value}\"")?;
        }
        write!(f, ": {}; {}.", self.rule, self.mend)
    }
}

/// Problems collected over one or more files.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Problems(pub Vec<RowProblem>);

impl Problems {
    /// Notes one more problem.
    pub fn push(&mut self, problem: RowProblem) {
        self.0.push(problem);
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl Extend<RowProblem> for Problems {
    fn extend<I: IntoIterator<Item = RowProblem>>(&mut self, iter: I) {
        self.0.extend(iter);
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for problem in &self.0 {
            writeln!(f, "{problem}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::RowProblem;

    #[test]
    fn long_values_are_cut_and_stay_on_one_line() {
        let long = format!("a\nb{}", "é".repeat(80));
        let problem = RowProblem::of_file("lots.csv", "must be short", "shorten it");
        let value = problem.with_value(&long).value.expect("a value");
        assert!(value.starts_with("a bé") && value.ends_with("é…"));
        assert_eq!(value.chars().count(), 61);
    }
}
