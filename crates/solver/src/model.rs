//! What is minimized, and subject to what.

use std::ops::Range;

use crate::highs;
use crate::options::Options;
use crate::solution::Solution;

/// A column's position, as [`Model::add_column`] gave it.
pub type ColumnId = usize;

/// A row's position, as [`Model::add_row`] gave it.
pub type RowId = usize;

/// A quantity to be chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// What one unit costs.
    pub cost: f64,
    /// Least value; minus infinity for none.
    pub lower: f64,
    /// Greatest value; infinity for none.
    pub upper: f64,
    /// Whether it may have whole values only.
    pub whole: bool,
}

/// Bounds on a sum of columns, each times its entry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Least value; minus infinity for none.
    pub lower: f64,
    /// Greatest value; infinity for none.
    pub upper: f64,
}

/// A linear model: minimize the columns' costs within the columns' and rows' bounds. Columns may be
/// asked to be whole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Model {
    columns: Vec<Column>,
    rows: Vec<Row>,
    entries: Vec<(ColumnId, RowId, f64)>,
}

/// Why a model was not solved.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SolveError {
    /// A column's cost or bound is not a number, or its cost is not finite.
    #[error("column {0} has a cost or bound that is not a number")]
    BadColumn(ColumnId),
    /// A row's bound is not a number.
    #[error("row {0} has a bound that is not a number")]
    BadRow(RowId),
    /// An entry is not finite, or names a row or column the model does not have.
    #[error("the entry in row {row}, column {column} is not a finite number of this model")]
    BadEntry {
        /// The row it names.
        row: RowId,
        /// The column it names.
        column: ColumnId,
    },
    /// The model has more rows, columns or entries than HiGHS can count.
    #[error("the model is too large for the solver")]
    TooLarge,
    /// HiGHS refused an option, the model or the run.
    #[error("the solver refused {0}")]
    Refused(&'static str),
}

/// The entries of a model, column by column: rows ascending, each at most once, none zero.
#[derive(Debug, Clone, PartialEq)]
pub struct Columns {
    starts: Vec<usize>,
    rows: Vec<RowId>,
    values: Vec<f64>,
}

impl Columns {
    /// Number of entries.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// Whether there is no entry at all.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// The entries of one column, rows ascending.
    pub fn of(&self, column: ColumnId) -> impl Iterator<Item = (RowId, f64)> + '_ {
        let span: Range<usize> = self.starts[column]..self.starts[column + 1];
        self.rows[span.clone()]
            .iter()
            .copied()
            .zip(self.values[span].iter().copied())
    }

    pub(crate) fn parts(&self) -> (&[usize], &[RowId], &[f64]) {
        (&self.starts, &self.rows, &self.values)
    }
}

impl Model {
    /// A model without columns or rows.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a column with its cost per unit and its bounds (infinite for none).
    pub fn add_column(&mut self, cost: f64, lower: f64, upper: f64) -> ColumnId {
        self.columns.push(Column {
            cost,
            lower,
            upper,
            whole: false,
        });
        self.columns.len() - 1
    }

    /// Adds a row with its bounds (infinite for none, equal for an equation).
    pub fn add_row(&mut self, lower: f64, upper: f64) -> RowId {
        self.rows.push(Row { lower, upper });
        self.rows.len() - 1
    }

    /// Gives a row other bounds.
    ///
    /// # Panics
    ///
    /// For a row the model does not have.
    pub fn set_row(&mut self, row: RowId, lower: f64, upper: f64) {
        self.rows[row] = Row { lower, upper };
    }

    /// Gives a column other bounds.
    ///
    /// # Panics
    ///
    /// For a column the model does not have.
    pub fn set_column(&mut self, column: ColumnId, lower: f64, upper: f64) {
        let it = &mut self.columns[column];
        (it.lower, it.upper) = (lower, upper);
    }

    /// Adds to a column's cost per unit.
    ///
    /// # Panics
    ///
    /// For a column the model does not have.
    pub fn add_cost(&mut self, column: ColumnId, cost: f64) {
        self.columns[column].cost += cost;
    }

    /// Asks a column to be whole, or no longer.
    ///
    /// # Panics
    ///
    /// For a column the model does not have.
    pub fn set_whole(&mut self, column: ColumnId, whole: bool) {
        self.columns[column].whole = whole;
    }

    /// Adds `value` to the entry of a row and column, zero until then.
    pub fn add_entry(&mut self, row: RowId, column: ColumnId, value: f64) {
        self.entries.push((column, row, value));
    }

    /// The columns, in the order they were added.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// The rows, in the order they were added.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// The entries gathered column by column.
    ///
    /// # Errors
    ///
    /// [`SolveError::BadEntry`] for an entry outside the model or not finite.
    pub fn matrix(&self) -> Result<Columns, SolveError> {
        let mut entries = self.entries.clone();
        entries.sort_by_key(|&(column, row, _)| (column, row));
        entries.dedup_by(|next, kept| {
            let same = (next.0, next.1) == (kept.0, kept.1);
            if same {
                kept.2 += next.2;
            }
            same
        });
        let outside = |&&(column, row, value): &&(ColumnId, RowId, f64)| {
            column >= self.columns.len() || row >= self.rows.len() || !value.is_finite()
        };
        if let Some(&(column, row, _)) = entries.iter().find(outside) {
            return Err(SolveError::BadEntry { row, column });
        }
        entries.retain(|&(_, _, value)| value != 0.0);
        let mut starts = vec![0; self.columns.len() + 1];
        for &(column, _, _) in &entries {
            starts[column + 1] += 1;
        }
        for column in 0..self.columns.len() {
            starts[column + 1] += starts[column];
        }
        Ok(Columns {
            starts,
            rows: entries.iter().map(|entry| entry.1).collect(),
            values: entries.iter().map(|entry| entry.2).collect(),
        })
    }

    /// Whether any column is to be whole.
    pub fn has_whole(&self) -> bool {
        self.columns.iter().any(|it| it.whole)
    }

    /// Solves the model. With whole columns the answer has no duals and no corner.
    ///
    /// # Errors
    ///
    /// A [`SolveError`] when the model holds a number that is none or HiGHS refuses it. A model
    /// without a best answer is no error: the solution's status says so.
    pub fn solve(&self, options: &Options) -> Result<Solution, SolveError> {
        self.check_bounds()?;
        highs::run(self, &self.matrix()?, options)
    }

    fn check_bounds(&self) -> Result<(), SolveError> {
        let bad_column = |it: &Column| !it.cost.is_finite() || bad_bounds(it.lower, it.upper);
        if let Some(id) = self.columns.iter().position(bad_column) {
            return Err(SolveError::BadColumn(id));
        }
        if let Some(id) = self
            .rows
            .iter()
            .position(|it| bad_bounds(it.lower, it.upper))
        {
            return Err(SolveError::BadRow(id));
        }
        Ok(())
    }
}

/// Bounds that are no numbers, or infinite on the wrong side.
fn bad_bounds(lower: f64, upper: f64) -> bool {
    lower.is_nan() || upper.is_nan() || lower == f64::INFINITY || upper == f64::NEG_INFINITY
}
