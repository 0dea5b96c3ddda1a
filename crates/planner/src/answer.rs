//! The solver's answer, in the plan's own terms: profit instead of cost.

use solver::Solution;

use crate::lp::{Column, Lp, Row};

/// The solver's answer, asked by meaning.
pub(crate) struct Answer<'a> {
    pub lp: &'a Lp,
    solution: &'a Solution,
}

impl<'a> Answer<'a> {
    pub fn new(lp: &'a Lp, solution: &'a Solution) -> Self {
        Self { lp, solution }
    }

    /// A quantity; zero for one that the model leaves out, and never below zero by rounding.
    pub fn value(&self, column: Column) -> f64 {
        self.lp
            .columns
            .get(&column)
            .map_or(0.0, |&id| self.solution.columns[id].value.max(0.0))
    }

    /// Gain of profit per unit more on the right-hand side of a row; zero for a row left out.
    pub fn worth(&self, row: Row) -> f64 {
        self.lp
            .rows
            .get(&row)
            .map_or(0.0, |&id| -self.solution.rows[id].dual)
    }

    /// What a limiting row's resource is worth, not below zero by rounding.
    pub fn price(&self, row: Row) -> f64 {
        self.worth(row).max(0.0)
    }

    /// Gain of profit per unit more of a column; below zero for one that would cost.
    pub fn gain(&self, column: Column) -> f64 {
        self.lp
            .columns
            .get(&column)
            .map_or(0.0, |&id| -self.solution.columns[id].reduced_cost)
    }
}
