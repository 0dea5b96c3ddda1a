//! What a person does with Barkslip: load a nursery, plan its season, look at its futures and at the
//! sky, choose combinations, sum the heat of a weather file, run a neutral case. Pages, phones and the command line all come here.
//!
//! The only crate that opens files. Must not know HTML, arguments or the clock: today and a way to
//! stop or watch a run are handed in.

pub mod advice;
pub mod answers;
mod calendar;
pub mod cases;
mod compare;
pub mod demo;
mod error;
mod folder;
pub mod frost;
pub mod frost_rules;
pub mod ledger;
pub mod papers;
pub mod phones;
pub mod planting;
pub mod reading;
pub mod reasons;
mod run;
pub mod sky;
mod spreadsheet;
pub mod water;
pub mod weather;
mod weather_file;
mod what_if;
mod words;

pub use advice::shipped_catalogue;
pub use calendar::{made_at, plan_calendar, week_calendar};
pub use compare::{
    CombinationPair, LineTally, OddsPair, PlanComparison, PlanSide, QuantityPair, Quarter,
    ShortPair, compare_plans,
};
pub use error::{AppError, Kind};
pub use folder::{Loaded, load_folder, read_file, write_file};
pub use run::{
    FuturesRun, PlanRun, Protect, Protection, RunOptions, SeasonView, Stage, Watch,
    futures_of_plan, plan_season,
};
pub use spreadsheet::spreadsheet;
// What screens need of the crates below, so that they depend on `app` alone.
pub use intake::RowProblem;
pub use models::{Finding, FindingKind, MonthNormals, Swing, TemperatureUnit};
pub use nursery::catalogue::{Catalogue, PlaceKind, Status, Step, Verdict};
pub use nursery::records::TARGET_PERCENT;
pub use planner::{Resource, ShadowPrice};
pub use season::{Line, Served, Taken, stakes};
pub use weather_file::FilledSpan;
pub use what_if::{CHANGES, changes};
pub use words::{
    MONTHS, Words, capital, case_price, date_words, decimals, money_words, month_words, of_case,
    of_minor, price_words,
};
