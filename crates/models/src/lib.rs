//! The science of the nursery: what the weather of a site means for plants under budding.
//!
//! Weather comes in as daily tables or hourly typical-year files ([`weather`], [`epw`]), its gaps
//! are filled by a stated rule ([`fill`](mod@fill)), and the site's own past becomes the
//! years to come ([`paths`], [`drawn`]); where there is no record, days are made from monthly normals
//! ([`normals`]). From them follow heat ([`degree_days`](mod@degree_days)), a season's heat
//! against past years ([`heat_clock`](mod@heat_clock)), what a
//! house makes of the open air ([`climate`]) and the weeks in which bark slips ([`bark`],
//! [`day_length`]).
//!
//! Must not know lots, plans, the clock or the disk: bytes in, values out. Every function is
//! deterministic on every platform, so transcendental functions come from `libm`.

pub mod bark;
pub mod bark_notes;
mod calendar;
mod chance;
pub mod climate;
pub mod day_length;
pub mod degree_days;
pub mod drawn;
pub mod epw;
pub mod fill;
pub mod forecast;
pub mod heat_clock;
pub mod normals;
pub mod paths;
pub mod quality;
pub mod reading;
pub mod weather;

pub use bark::{BarkRule, BarkRuleError, share_by_week, slips};
pub use bark_notes::{BarkReading, CorrectedBark, corrected_bark};
pub use climate::{Climate, ClimateError};
pub use day_length::day_length_h;
pub use degree_days::{
    CutOff, DegreeDayRule, Method, Thresholds, ThresholdsError, degree_days, hourly_degree_days,
};
pub use drawn::Draw;
pub use epw::{EpwYears, HourlyRecord, read_epw};
pub use fill::{Extremes, FillError, FilledDay, FilledRecord, fill};
pub use forecast::{Forecast, ForecastDay, read_forecast};
pub use heat_clock::{HeatClock, Spread, heat_clock, season_start};
pub use normals::{MonthNormals, Normals, NormalsError, Swing, daily_from_normals};
pub use paths::{
    Paths, Week, YearPath, mean_degree_days_on, observed_degree_days, weekly_degree_days,
    weekly_mean_temp,
};
pub use quality::{DailyRead, Finding, FindingKind};
pub use reading::{read_daily, read_daily_until};
pub use weather::{DailyRecord, Day, Site, TemperatureUnit};
