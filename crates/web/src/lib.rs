//! The pages of Barkslip: plain view values in, one complete HTML page out.
//!
//! A page holds its own style, pictures and script and asks nothing of the network, so that it
//! can be mailed, printed or opened from a stick.

pub mod sheet;

pub use sheet::{OddsSheet, PlanSheet};
