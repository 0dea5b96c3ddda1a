//! A seeded simulator of a citrus nursery's years, plant by plant, for tests.
//!
//! It shares no code with the crates that it tests: it is the independent truth. Each day gives the
//! acts that reach the ledger, in order: some late, some twice, some wrong and corrected, some that
//! must be refused. At any time it tells what an exact bookkeeper would have.
//!
//! What holds of the acts:
//!
//! - A late act and a correction arrive at most [`FINAL_AFTER_DAYS`] days after the field date, so
//!   what stood on a day is final that many days later. After the last day of work come as many days
//!   on which only what was delayed arrives.
//! - A lot has at most one act a day that moves or counts its plants. While a loss, a shipment or a
//!   move of a part is under way to the ledger, it is counted, lost from and shipped from only; while its
//!   count is under way, lost and shipped from only. All other acts wait.
//! - A correction stands for the act as it should have been, from its field date on.
//! - Plants die unseen. They stay in the books until a count, a take count or a grading pass, and
//!   are moved with the others until then. A count may overlook plants; a second one finds them.
//! - What cannot be said of single plants once lots are merged is said of lots: see
//!   [`Simulator::origins`] and [`ShippedTree::mixed`].

mod budding;
mod budwood;
mod chance;
mod folders;
mod ground;
mod ids;
mod large_season;
mod mirror;
mod names;
mod opening;
pub mod poppler;
mod post;
mod sales;
mod simulator;
mod slips;
pub mod small;
mod tending;

pub use folders::Folder;
pub use ground::{Origin, Stage};
pub use large_season::LargeSeason;
pub use mirror::{HALF_A_YEAR, Hemisphere};
pub use simulator::{
    Day, Expect, FINAL_AFTER_DAYS, Origins, Recall, Sent, Settings, ShippedTree, Simulator,
};
