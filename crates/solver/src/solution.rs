//! What came of a run.

use std::fmt;

use crate::model::{Columns, Model};

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// The best answer was found.
    Optimal,
    /// The bounds contradict each other.
    Infeasible,
    /// The cost can fall without end.
    Unbounded,
    /// Either of the two above; the run did not need to know which.
    InfeasibleOrUnbounded,
    /// The time was up first.
    TimeLimit,
    /// The steps were up first.
    IterationLimit,
    /// The caller asked for the run to end.
    Stopped,
    /// An answer was found that is not quite within the tolerance.
    Inaccurate,
    /// No answer was found, for numerical reasons or want of memory.
    Failed,
}

impl Status {
    /// The status in a word or two, as `optimal`; its `Display` is a sentence.
    pub fn word(self) -> &'static str {
        match self {
            Self::Optimal => "optimal",
            Self::Infeasible => "infeasible",
            Self::Unbounded => "unbounded",
            Self::InfeasibleOrUnbounded => "infeasible or unbounded",
            Self::TimeLimit => "time limit",
            Self::IterationLimit => "step limit",
            Self::Stopped => "stopped",
            Self::Inaccurate => "inaccurate",
            Self::Failed => "failed",
        }
    }
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Optimal => "The best answer was found.",
            Self::Infeasible => "No answer meets all the limits.",
            Self::Unbounded => "The cost can fall without end: something earns without limit.",
            Self::InfeasibleOrUnbounded => {
                "Either no answer meets all the limits or the cost can fall without end."
            }
            Self::TimeLimit => "The time was up before the best answer was found.",
            Self::IterationLimit => "The steps were up before the best answer was found.",
            Self::Stopped => "The run was stopped before the best answer was found.",
            Self::Inaccurate => "An answer was found, but not to the accuracy asked for.",
            Self::Failed => "No answer was found: the numbers were too hard for the solver.",
        })
    }
}

/// A column's part in the answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColumnValue {
    /// The value chosen.
    pub value: f64,
    /// Change of the cost per unit more of the column, all rows kept.
    pub reduced_cost: f64,
}

/// A row's part in the answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowValue {
    /// The sum of its entries times the columns' values.
    pub activity: f64,
    /// Change of the least cost per unit by which its binding bound is raised.
    pub dual: f64,
}

/// Which columns and rows carry an answer, to start another run from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Basis {
    /// By column.
    pub columns: Vec<Spot>,
    /// By row.
    pub rows: Vec<Spot>,
}

/// Where a column or row is in a corner: free to move (basic) or held at a bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot(pub(crate) i32);

impl Spot {
    /// Held at its lower bound, or at the only value it may have.
    pub const LOWER: Self = Self(0);
    /// Not held: its value follows from the rest.
    pub const BASIC: Self = Self(1);
}

/// What came of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// How it ended; the numbers are the best answer only when this is [`Status::Optimal`].
    pub status: Status,
    /// Whether the values keep to all bounds, however the run ended.
    pub feasible: bool,
    /// The cost of the columns' values.
    pub objective: f64,
    /// No answer costs less than this: the objective of a best answer without whole columns, what was
    /// proved so far with them, minus infinity where nothing was.
    pub bound: f64,
    /// By column.
    pub columns: Vec<ColumnValue>,
    /// By row.
    pub rows: Vec<RowValue>,
    /// The corner it ended in, when it ended in one.
    pub basis: Option<Basis>,
    /// Steps taken: simplex, interior point and crossover together.
    pub iterations: u64,
    /// Wall time taken, seconds.
    pub seconds: f64,
}

impl Solution {
    /// Largest violation of a row's or column's bounds by the values, counted from them alone: each over 1 + the largest
    /// |entry · value| of the row (1 + |value| of the column).
    ///
    /// # Panics
    ///
    /// For a solution of another model.
    pub fn primal_residual(&self, model: &Model, matrix: &Columns) -> f64 {
        let mut sums = vec![0.0; model.rows().len()];
        let mut largest = vec![0.0_f64; model.rows().len()];
        let mut worst = 0.0_f64;
        for (id, column) in model.columns().iter().enumerate() {
            let value = self.columns[id].value;
            worst = worst.max(outside(value, column.lower, column.upper) / (1.0 + value.abs()));
            for (row, entry) in matrix.of(id) {
                sums[row] += entry * value;
                largest[row] = largest[row].max((entry * value).abs());
            }
        }
        for (id, row) in model.rows().iter().enumerate() {
            worst = worst.max(outside(sums[id], row.lower, row.upper) / (1.0 + largest[id]));
        }
        worst
    }
}

fn outside(value: f64, lower: f64, upper: f64) -> f64 {
    (lower - value).max(value - upper).max(0.0)
}
