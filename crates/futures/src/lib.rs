//! The Monte Carlo engine: what becomes of standing lots and planned operations in many random
//! futures, and from them the odds of every order line.
//!
//! A [`case::Case`] is all the engine knows: stages, phases, weather paths, lots, operations, crews
//! and orders, in weeks and whole plants. It knows no lots' history, no weather files, no pages and
//! no planner. The model is written down in `docs/models/futures.md`.

pub mod case;
mod validate;
