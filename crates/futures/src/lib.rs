//! The Monte Carlo engine: what becomes of standing lots and planned operations in many random
//! futures, and from them the odds of every order line.
//!
//! A [`case::Case`] is all the engine knows: stages, phases, weather paths, lots, operations, crews
//! and orders, in weeks and whole plants. It knows no lots' history, no weather files, no pages and
//! no planner. The model is written down in `docs/models/futures.md`.
//!
//! [`simulate`] does it all; [`Engine`] plays ranges of futures, whose [`Tally`]s merge.

pub mod case;
mod degree_days;
mod elementary;
mod future;
mod growth;
mod lowered;
mod normal;
mod run;
mod sampling;
mod stream;
mod summary;
mod tally;
mod validate;

pub use run::{Engine, Options, Progress, SimulateError, simulate};
#[doc(hidden)]
pub use sampling::draws_of_a_lot;
pub use summary::{Around, Driver, Free, LineOdds, Summary, WeekQuantiles};
pub use tally::Tally;
