//! How a model is to be solved.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use crate::solution::Basis;

/// The algorithm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Method {
    /// HiGHS chooses.
    #[default]
    Choose,
    /// Dual simplex: exact corner answers, quick for small models and from a good basis.
    Simplex,
    /// Primal simplex: from the basis of a model that has fewer columns or other costs.
    PrimalSimplex,
    /// Interior point: quick for large models; with crossover it ends in a corner too.
    InteriorPoint,
}

impl Method {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Choose => "choose",
            Self::Simplex | Self::PrimalSimplex => "simplex",
            Self::InteriorPoint => "ipm",
        }
    }
}

/// How a model is to be solved.
#[derive(Debug, Clone)]
pub struct Options {
    /// The algorithm.
    pub method: Method,
    /// Threads to use; none leaves the choice to HiGHS.
    pub threads: Option<u16>,
    /// Longest time to spend, seconds of wall time; none for no limit.
    pub time_limit_s: Option<f64>,
    /// Largest infeasibility, primal and dual, of an answer that counts as optimal.
    pub tolerance: f64,
    /// Whether an interior answer is moved to a corner (sharper values and duals, fewer columns in use).
    pub crossover: bool,
    /// Whether the model is reduced before it is solved.
    pub presolve: bool,
    /// A basis to start from, of a model with as many columns and rows; others are left aside.
    pub start: Option<Basis>,
    /// With whole columns: how far the cost may be above its bound, as a share of it, for the run to
    /// end with [`crate::Status::Optimal`].
    pub gap: f64,
    /// With whole columns: an answer that is known already, by column. The run begins with it; one
    /// that breaks a bound is left aside.
    pub known: Option<Vec<f64>>,
    /// Set to true from another thread, it ends the run soon with [`crate::Status::Stopped`].
    pub stop: Option<Arc<AtomicBool>>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            method: Method::Choose,
            threads: None,
            time_limit_s: None,
            tolerance: 1e-7,
            crossover: true,
            presolve: true,
            start: None,
            gap: 1e-6,
            known: None,
            stop: None,
        }
    }
}
