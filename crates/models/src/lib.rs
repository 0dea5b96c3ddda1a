//! The science of the nursery: what the weather of a site means for plants under budding.
//!
//! Weather comes in as daily tables or hourly typical-year files ([`weather`], [`epw`]), its gaps
//! are filled by a stated rule ([`fill`](mod@fill)), and the site's own past becomes the
//! years to come ([`paths`], [`drawn`]); where there is no record, days are made from monthly normals
//! ([`normals`]). From them follow heat ([`degree_days`](mod@degree_days)), a season's heat
//! against past years ([`heat_clock`](mod@heat_clock)), what a
//! house makes of the open air ([`climate`]), the weeks in which bark slips ([`bark`]) and the
//! water that sun and wind take ([`evapotranspiration`], from [`air`] and [`solar`]). Any daily
//! quantity can be summed and held against past years ([`series`]).
//!
//! From evapotranspiration follows what is watered: soils and rows ([`water`], [`cover`]), newly set
//! trees ([`planting`]), pots ([`container`]), and what their water asks of a pump ([`irrigation`]).
//! Of frost there are past years ([`frost_odds`]), the coming night ([`frost_night`]), the wet bulb
//! ([`wet_bulb`]) and what cold does to plants ([`frost`]).
//!
//! Odds that were called are held against what came true ([`reliability`]).
//! What counts of a lot say of its pace and survival is in [`evidence`], how far luck that lots share
//! moves them in [`shared_luck`].
//!
//! Must not know lots, plans, the clock or the disk: bytes in, values out. Every function is
//! deterministic on every platform, so transcendental functions come from `libm`.

pub mod air;
pub mod bark;
pub mod bark_notes;
mod calendar;
mod chance;
pub mod climate;
pub mod container;
pub mod cover;
pub mod degree_days;
pub mod drawn;
pub mod epw;
pub mod evapotranspiration;
pub mod evidence;
pub mod fill;
pub mod forecast;
pub mod frost;
pub mod frost_night;
pub mod frost_odds;
pub mod heat_clock;
mod interval;
pub mod irrigation;
pub mod normals;
pub mod paths;
pub mod planting;
pub mod planting_out;
pub mod quality;
mod range;
pub mod reading;
pub mod reliability;
pub mod series;
pub mod shared_luck;
pub mod solar;
mod tails;
pub mod water;
pub mod weather;
pub mod wet_bulb;

pub use bark::{BarkRule, BarkRuleError, share_by_week, slips};
pub use bark_notes::{BarkReading, CorrectedBark, corrected_bark};
pub use calendar::same_day;
pub use climate::{Climate, ClimateError};
pub use cover::{CITRUS_ROWS, CITRUS_ROWS_IN_GRASS, CitrusRow, Cover, citrus_row, kc_for_climate};
pub use degree_days::{
    CutOff, DegreeDayRule, Method, Thresholds, ThresholdsError, degree_days, hourly_degree_days,
};
pub use drawn::Draw;
pub use epw::{EpwYears, HourlyRecord, read_epw};
pub use evapotranspiration::{
    Evapotranspiration, EvapotranspirationRecord, ReferenceSite, ReferenceSiteError,
    daily_evapotranspiration, day_evapotranspiration,
};
pub use fill::{Extremes, FillError, FilledDay, FilledRecord, fill};
pub use forecast::{Forecast, ForecastDay, read_forecast};
pub use heat_clock::{HeatClock, Spread, heat_clock, season_start, sums_since};
pub use irrigation::{
    Application, LeachingError, Outlet, PumpDay, Waterworks, container_leaching, drain_salinity,
    leaching_requirement, pot_leaching, water_m3,
};
pub use normals::{MonthNormals, Normals, NormalsError, Swing, daily_from_normals};
pub use paths::{
    Paths, WEEKS_BEFORE, Week, YearPath, mean_degree_days_on, observed_degree_days,
    weekly_degree_days, weekly_mean_temp,
};
pub use quality::{DailyRead, Finding, FindingKind};
pub use range::OutOfRange;
pub use reading::{read_daily, read_daily_until};
pub use series::{DailySeries, PastBand, degree_day_series, past_band};
pub use solar::day_length_h;
pub use tails::normal_below;
pub use weather::{DailyRecord, Day, Site, TemperatureUnit};
