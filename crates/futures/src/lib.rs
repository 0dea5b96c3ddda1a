//! The Monte Carlo engine: what becomes of standing lots and planned operations in many random
//! futures, and from them the odds of every order line.
//!
//! A [`case::Case`] is all the engine knows: stages, phases, weather paths, lots, operations, crews
//! and orders, in weeks and whole plants. It knows no lots' history, no weather files, no pages and
//! no planner. The model is written down in `docs/models/futures.md`.
//!
//! [`simulate`] does it all; [`Engine`] plays ranges of futures, whose [`Tally`]s merge. A [`Part`] is
//! a range of futures in a file. [`Engine::store`] keeps them, and [`Stored::ask`] answers what may be
//! promised (see `docs/models/promises.md`).

pub mod case;
mod causes;
mod degree_days;
mod elementary;
mod future;
mod growth;
mod lowered;
mod normal;
mod outline;
mod part;
mod peril;
mod promise;
mod ranks;
mod remedy;
mod replay;
mod run;
mod sampling;
mod shelf;
mod stored;
mod stream;
mod summary;
mod supply;
mod tally;
mod told;
mod turnover;
mod validate;
mod wire;

pub use causes::Factor;
pub use growth::LotTruth;
pub use part::{NUMBERS, Part, PartError};
pub use promise::{Answered, Asked, Broken};
pub use run::{Engine, Options, Progress, SimulateError, simulate};
#[doc(hidden)]
pub use sampling::draws_of_a_lot;
pub use stored::{Keep, Standing, Stored};
pub use summary::{Around, Cause, Driver, Free, LineOdds, Summary, WeekQuantiles};
pub use supply::{Fan, Quantiles, Supply};
pub use tally::Tally;
pub use told::Told;
pub use turnover::{Count, LineTurnover, StageTurnover, Turnover, WatchedStand};
