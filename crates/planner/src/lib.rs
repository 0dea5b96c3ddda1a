//! The season plan: how many plants to put through which operation in which week.
//!
//! A [`Case`] says what the nursery has and owes: places, crews, supplies, the stages plants pass
//! through, the operations that move them, what stands already, and the order lines.
//! [`Case::validate`] names everything that is wrong with it, all at once. [`plan()`] finds the most
//! profitable plan, with what one unit more of every scarce thing is worth and, for every order line
//! that goes short, the reason. `docs/planning.md` gives the mathematics.
//!
//! Nothing is read but the case: no clock, no chance. The same case gives the same plan.

mod answer;
pub mod case;
mod checks;
mod lp;
mod net;
mod plan;
mod slip;
mod why;
pub mod workable;

pub use case::{Case, CaseProblem, PerWeek};
pub use checks::Checks;
pub use plan::{
    CrewUse, Discard, LeftOut, LinePlan, Money, Outcome, PlaceUse, Plan, PlanError, PlanOptions,
    PlannedStart, ReservePlan, Resource, ShadowPrice, Shipment, ShortLine, StagePlan, SupplyUse,
    plan,
};
pub use slip::{LineSlip, Slip, SlipOptions, slips};
pub use solver::{Basis, Status};
pub use why::{Lacking, Stood, Taking, Why};
pub use workable::{Workable, WorkableOptions, workable};
