//! The season plan: how many plants to put through which operation in which week.
//!
//! A [`Case`] says what the nursery has and owes: places, crews, supplies, the stages plants pass
//! through, the operations that move them, what stands already, and the order lines. [`Case::validate`]
//! names everything that is wrong with it, all at once.

pub mod case;

pub use case::{Case, CaseProblem, PerWeek};
