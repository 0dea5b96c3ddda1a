//! A leaf over HiGHS: linear models in, with whole columns where asked for; named statuses, values
//! and duals out.
//!
//! A [`Model`] minimizes a linear cost over columns with bounds, subject to rows with bounds.
//! [`Model::solve`] checks it (numbers that are none are refused, never handed on), runs HiGHS with
//! the given [`Options`], and returns a [`Solution`] whose [`Status`] says in a sentence how the run
//! ended. Every run has its own HiGHS instance; nothing is shared between threads.
//!
//! ```
//! use solver::{Model, Options, Status};
//!
//! // Two loads of compost at 3 and 5, at least 10 m³ wanted, at most 6 m³ of the cheap one.
//! let mut model = Model::new();
//! let cheap = model.add_column(3.0, 0.0, 6.0);
//! let dear = model.add_column(5.0, 0.0, f64::INFINITY);
//! let wanted = model.add_row(10.0, f64::INFINITY);
//! model.add_entry(wanted, cheap, 1.0);
//! model.add_entry(wanted, dear, 1.0);
//!
//! let solution = model.solve(&Options::default())?;
//! assert_eq!(solution.status, Status::Optimal);
//! assert!((solution.objective - 38.0).abs() < 1e-9);
//! assert!((solution.rows[wanted].dual - 5.0).abs() < 1e-9, "one more m³ costs 5");
//! # Ok::<(), solver::SolveError>(())
//! ```

mod highs;
mod model;
mod options;
mod solution;

pub use model::{Column, ColumnId, Columns, Model, Row, RowId, SolveError};
pub use options::{Method, Options};
pub use solution::{Basis, ColumnValue, RowValue, Solution, Spot, Status};
