//! Joins nursery and weather into one [`SeasonModel`] and lowers it to a planning case and to a
//! futures case that agree: what the planner takes for certain is the mean of what the futures draw.
//!
//! Every number of a plan traces through the model to a lot, a route step, an order or a weather
//! week. Must not know how a plan is found or a future drawn; no files, no clock, no randomness.

mod apart;
mod arrivals;
mod balance;
mod budwood;
mod build;
mod calendar;
mod costs;
mod demand;
mod earnings;
mod evidence;
mod exposure;
mod growing;
mod keeps;
mod lines;
mod lower_futures;
mod lower_plan;
mod luck;
mod model;
mod outlook;
mod perils;
mod protection;
mod remedies;
mod sky;
mod stages;
mod standing;
mod starts;
mod supplies;
mod trace;

pub use arrivals::{Fraction, fresh_arrivals, standing_arrivals, weeks_of_shares};
pub use budwood::{SticksToCut, ToOrder, sticks_to_cut, to_order};
pub use build::{build, build_for_futures};
pub use calendar::Calendar;
pub use earnings::{Settled, earned};
pub use exposure::{
    Exposed, FLUSH_DAYS, FLUSH_FROM_C, Hazards, SCION_HARDINESS, SCIONS_SOURCE, felt_c, hardiness,
    in_pots, is_in_flush, limit_c, tissues,
};
pub use lines::{ON_SPEC, PROMISED_PRIORITY, TREES_ON_SPEC, open_to_all, stakes};
pub use lower_futures::{futures_case, hours_for_starts, own_hours_for_starts};
pub use lower_plan::{PlannedJob, jobs, planning_case};
pub use luck::own_luck;
pub use model::{
    Apart, Bought, Crew, JobBefore, Known, Line, LuckOf, Material, Operation, Peril, Phase, Place,
    SeasonModel, Split, Stage, StandingLot, Start, Substitute, Supply, SupplyBatch, SupplyUse,
    Surprise, SurpriseOf, Unplanned, WeatherLoss, WeatherPath, WholeWeeks, Why, Work,
};
pub use outlook::{Ahead, Growth, Outlook, may_start, may_wait_weeks, step_of_lot, unwrapping};
pub use protection::{Player, Protected, Protection, ROUNDS, Round, SAFE, protect};
pub use sky::{Coming, Sky, budding_places, rootstocks_in_use};
pub use supplies::SupplyKey;
pub use trace::{Held, Moves, Served, Taken, Trace, trace};
