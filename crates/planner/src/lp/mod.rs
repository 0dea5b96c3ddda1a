//! The linear model of a season: which column and which row means what.
//!
//! `docs/planning.md` gives the mathematics in the same words. Two sums stand in for the weekly
//! quantities, with the same best answer and far fewer numbers: [`Column::Arrived`] counts a stage's
//! ready plants from the first week on, so that what is within its age is a difference of two, and
//! [`Column::Growing`] is the ground under a place's growing plants rather than the plants by stage.

mod build;
mod lean;
mod periods;
mod runs;
mod short;

use std::collections::{BTreeMap, BTreeSet};

use solver::{ColumnId, Model, RowId};

pub(crate) use build::build;
pub(crate) use periods::{solve_by_periods, solve_without};
pub(crate) use short::{Short, Solved, is_answer, method, solve, time_left};

/// What a column stands for; positions count the case's lists. All are zero or more but the sums
/// `Arrived` and `Growing`, which follow from the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// Plants put through an operation at one of its starts (x).
    Start {
        /// The operation.
        operation: usize,
        /// The start, by its position in the operation's list.
        start: usize,
    },
    /// Plants of a stage that became ready up to and in a week (Σ a).
    Arrived {
        /// The stage.
        stage: usize,
        /// The week.
        week: usize,
    },
    /// Ready plants left at the end of a week (I).
    Left {
        /// The stage.
        stage: usize,
        /// The week.
        week: usize,
    },
    /// Ready plants thrown out in a week (w).
    Discarded {
        /// The stage.
        stage: usize,
        /// The week.
        week: usize,
    },
    /// Ground under the growing plants of planned starts, m² (Σ area · M).
    Growing {
        /// The place.
        place: usize,
        /// The week.
        week: usize,
    },
    /// Ground needed beyond a place's area, m² (v).
    Excess {
        /// The place.
        place: usize,
        /// The week.
        week: usize,
    },
    /// Hired hours (e); of a block the share that is hired.
    Hired {
        /// The crew.
        crew: usize,
        /// The block, by its position in the crew's list; none for hours hired by the hour.
        block: Option<usize>,
        /// The week; of a block the first.
        week: usize,
    },
    /// Hours a crew spends on another's work (h).
    Lent {
        /// The crew that works.
        crew: usize,
        /// The crew whose work it is.
        to: usize,
        /// The week.
        week: usize,
    },
    /// Units used from a batch in a week (z).
    FromBatch {
        /// The supply.
        supply: usize,
        /// The batch, by its position in the supply's list.
        batch: usize,
        /// The week.
        week: usize,
    },
    /// Units bought and used in a week (b).
    Bought {
        /// The supply.
        supply: usize,
        /// The week.
        week: usize,
    },
    /// Plants shipped to an order line (y).
    Shipped {
        /// The order line.
        order: usize,
        /// The accepted stage, by its position in the line's list.
        accept: usize,
        /// The week.
        week: usize,
    },
    /// Plants an order line is short (u).
    Short {
        /// The order line.
        order: usize,
    },
    /// Plants held in one step of a reserve (r).
    Held {
        /// The reserve.
        reserve: usize,
        /// The step, by its position in the reserve's list.
        step: usize,
    },
    /// Plants that the lines of a reserve are sent late and that are not there yet (s).
    Behind {
        /// The reserve.
        reserve: usize,
    },
    /// Plants by which a start that the plan before had is larger or smaller (d).
    Changed {
        /// The operation.
        operation: usize,
        /// The start, by its position in the operation's list.
        start: usize,
    },
}

/// What a row says; positions count the case's lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Row {
    /// Plants that become ready come from what stands and from starts.
    Arrivals {
        /// The stage.
        stage: usize,
        /// The week.
        week: usize,
    },
    /// Ready plants are left, put through, shipped or thrown out.
    Stand {
        /// The stage.
        stage: usize,
        /// The week.
        week: usize,
    },
    /// What is left is not over age.
    OverAge {
        /// The stage.
        stage: usize,
        /// The week.
        week: usize,
    },
    /// Ground under growing plants grows with starts and shrinks as cohorts become ready.
    Growing {
        /// The place.
        place: usize,
        /// The week.
        week: usize,
    },
    /// Plants need no more ground than there is.
    Area {
        /// The place.
        place: usize,
        /// The week.
        week: usize,
    },
    /// Work needs no more hours than there are.
    Hours {
        /// The crew.
        crew: usize,
        /// The week.
        week: usize,
    },
    /// What is used comes from batches or is bought.
    Supply {
        /// The supply.
        supply: usize,
        /// The week.
        week: usize,
    },
    /// No more is used of a batch than there is.
    Batch {
        /// The supply.
        supply: usize,
        /// The batch, by its position in the supply's list.
        batch: usize,
    },
    /// Plants ordered are shipped or short.
    Line {
        /// The order line.
        order: usize,
    },
    /// No more is held than is left ready and not sent late to the reserve's own lines.
    Reserve {
        /// The reserve.
        reserve: usize,
    },
    /// Plants more than in the plan before count as changed.
    More {
        /// The operation.
        operation: usize,
        /// The start, by its position in the operation's list.
        start: usize,
    },
    /// Plants fewer than in the plan before count as changed.
    Fewer {
        /// The operation.
        operation: usize,
        /// The start, by its position in the operation's list.
        start: usize,
    },
}

/// A linear model with the meaning of its columns and rows. It minimizes cost: minus the profit.
#[derive(Debug, Clone, Default)]
pub struct Lp {
    /// The numbers.
    pub model: Model,
    /// Where each column is.
    pub columns: BTreeMap<Column, ColumnId>,
    /// Where each row is.
    pub rows: BTreeMap<Row, RowId>,
    /// Columns that are not thought of.
    left_out: BTreeSet<ColumnId>,
}

impl Lp {
    /// Adds a column that earns so much per unit, from zero up to a limit.
    fn column(&mut self, column: Column, earns: f64, limit: f64) -> ColumnId {
        let id = self.model.add_column(-earns, 0.0, limit);
        self.columns.insert(column, id);
        id
    }

    /// Adds a column that follows from others by an equation.
    fn sum(&mut self, column: Column) -> ColumnId {
        let id = self.model.add_column(0.0, f64::NEG_INFINITY, f64::INFINITY);
        self.columns.insert(column, id);
        id
    }

    fn is_left_out(&self, id: ColumnId) -> bool {
        self.left_out.contains(&id)
    }

    /// Keeps columns at zero.
    pub(crate) fn leave_out(&mut self, columns: &BTreeSet<Column>) {
        self.limit(columns, 0.0);
        let ids = columns.iter().map(|column| self.columns[column]);
        self.left_out.extend(ids);
    }

    /// Lets columns that were left out be chosen again.
    fn weigh(&mut self, columns: &BTreeSet<Column>) {
        self.limit(columns, f64::INFINITY);
        for column in columns {
            self.left_out.remove(&self.columns[column]);
        }
    }

    fn limit(&mut self, columns: &BTreeSet<Column>, limit: f64) {
        for column in columns {
            self.model.set_column(self.columns[column], 0.0, limit);
        }
    }

    fn equation(&mut self, row: Row, value: f64) -> RowId {
        let id = self.model.add_row(value, value);
        self.rows.insert(row, id);
        id
    }

    fn at_most(&mut self, row: Row, limit: f64) -> RowId {
        let id = self.model.add_row(f64::NEG_INFINITY, limit);
        self.rows.insert(row, id);
        id
    }

    fn entry(&mut self, row: RowId, column: ColumnId, value: f64) {
        self.model.add_entry(row, column, value);
    }

    /// An entry in a row that may have been left out because nothing could bind it.
    fn entry_if_any(&mut self, row: Row, column: ColumnId, value: f64) {
        if let Some(&row) = self.rows.get(&row) {
            self.model.add_entry(row, column, value);
        }
    }
}
