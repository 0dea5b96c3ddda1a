//! The pages of Barkslip: plain view values in, one complete HTML page out.
//!
//! A page holds its own style, pictures and script and asks nothing of the network, so that it
//! can be mailed, printed or opened from a stick.

mod chart;
mod combinations_page;
mod figures;
mod fill;
mod frame;
mod frost_page;
mod jobs;
mod lines;
mod odds_page;
mod paper_page;
mod plan_page;
pub mod scale;
mod serve;
pub mod sheet;
#[cfg(test)]
mod sky_and_combinations_tests;
mod sky_page;
mod water_page;
#[cfg(test)]
mod water_page_tests;
mod weather_faults;
mod words;

pub use fill::{odds_sheet, plan_sheet};
pub use odds_page::odds_page;
pub use plan_page::plan_page;
pub use scale::Odds;
pub use serve::{Opened, PhonesSetup, Senses, Setup, serve};
pub use sheet::{OddsSheet, PlanSheet};
