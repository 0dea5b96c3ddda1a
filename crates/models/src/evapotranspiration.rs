//! How much water sun and wind take from a field of short, well-watered grass: the reference that
//! all needs of plants for water are shares of.
//!
//! Owns the equations of FAO-56 for a day and an hour, and [`day_evapotranspiration`], which takes
//! what a day's weather tells, estimates the rest and says which. Does not know what a crop, a
//! tree or a pot uses of it.

mod of_day;
mod of_hours;
mod of_record;
mod unsure;

pub use of_day::{
    Evapotranspiration, Formula, HumidityOrigin, Origins, RadiationOrigin, ReferenceSite,
    ReferenceSiteError, TemperatureOrigin, WindOrigin, day_evapotranspiration,
};
pub use of_hours::hours_mm;
pub use of_record::{EvapotranspirationRecord, daily_evapotranspiration};
pub use unsure::TypicalError;

use crate::air::{day_saturation_kpa, psychrometric_constant, saturation_kpa, saturation_slope};

/// mm of water that 1 MJ/m² turns into vapor: 1/2.45 (FAO-56 eq. 20).
const MM_PER_MJ: f64 = 0.408;
/// 0 °C in K, as FAO-56 eq. 6 rounds it.
const FREEZING_K: f64 = 273.0;

/// What the daily equation needs of a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayInputs {
    /// Lowest temperature, °C.
    pub tmin_c: f64,
    /// Highest temperature, °C.
    pub tmax_c: f64,
    /// Mean of the day's readings, °C; without it, the middle of the extremes, as FAO-56 has it.
    pub tmean_c: Option<f64>,
    /// Mean vapor pressure, kPa.
    pub vapor_kpa: f64,
    /// Mean wind at 2 m, m/s.
    pub wind_2_m: f64,
    /// Net radiation, MJ/m².
    pub net_radiation_mj: f64,
    /// Heat that goes into the ground, MJ/m²; about 0 over a day.
    pub soil_heat_mj: f64,
    /// Air pressure, kPa.
    pub pressure_kpa: f64,
}

/// Returns the reference evapotranspiration of a day by the equation of Penman and Monteith.
///
/// The water that a pot or a row loses is a share of it.
///
/// # Equation
/// ET₀ = (0.408 Δ (Rn − G) + γ 900/(T + 273) u₂ (es − ea))/(Δ + γ (1 + 0.34 u₂)) (FAO-56 eq. 6),
/// Δ at T, es the mean at the extremes; es − ea at least 0
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `day` | T, ea, u₂, Rn, G | see [`DayInputs`] | one local civil day | wind 0 or more |
///
/// # Returns
/// mm/d, 0 or more.
///
/// # Errors
/// None: a day that would gain water gives 0.
///
/// # Assumptions
/// Grass 0.12 m high, of resistance 70 s/m and albedo 0.23, with all the water it wants.
///
/// # Source
/// Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 6.
///
/// # Checked against
/// Printed examples no. 17 and 18 of FAO-56; daily values of two Spanish stations (RMSE at most 0.03 mm/d);
/// Tampa and 34 years of Jeju by an independent implementation
/// (`tests/models/evapotranspiration.rs`).
///
/// # Examples
/// ```
/// use models::evapotranspiration::{DayInputs, penman_monteith_mm};
///
/// // Uccle, 6 July (FAO-56 example 18).
/// let day = DayInputs {
///     tmin_c: 12.3,
///     tmax_c: 21.5,
///     tmean_c: None,
///     vapor_kpa: 1.409,
///     wind_2_m: 2.078,
///     net_radiation_mj: 13.28,
///     soil_heat_mj: 0.0,
///     pressure_kpa: 100.1,
/// };
/// assert!((penman_monteith_mm(&day) - 3.88).abs() < 5e-3);
/// ```
pub fn penman_monteith_mm(day: &DayInputs) -> f64 {
    let tmean_c = day
        .tmean_c
        .unwrap_or_else(|| f64::midpoint(day.tmin_c, day.tmax_c));
    combined_mm(&Combined {
        t_c: tmean_c,
        missing_vapor_kpa: day_saturation_kpa(day.tmin_c, day.tmax_c) - day.vapor_kpa,
        wind_2_m: day.wind_2_m,
        energy_mj: day.net_radiation_mj - day.soil_heat_mj,
        pressure_kpa: day.pressure_kpa,
        aerodynamic: 900.0,
    })
}

/// What the hourly equation needs of an hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourInputs {
    /// Mean temperature, °C.
    pub t_c: f64,
    /// Mean vapor pressure, kPa.
    pub vapor_kpa: f64,
    /// Mean wind at 2 m, m/s.
    pub wind_2_m: f64,
    /// Net radiation over the hour, MJ/m².
    pub net_radiation_mj: f64,
    /// Whether the sun is up; by night the ground gives half of the heat lost to the sky, by day
    /// it takes a tenth of what comes in.
    pub is_day: bool,
    /// Air pressure, kPa.
    pub pressure_kpa: f64,
}

/// Returns the reference evapotranspiration of an hour by the equation of Penman and Monteith.
///
/// Where a station gives hours, the hot and windy ones count for what they are.
///
/// # Equation
/// ET₀ = (0.408 Δ (Rn − G) + γ 37/(T + 273) u₂ (e°(T) − ea))/(Δ + γ (1 + 0.34 u₂)) (FAO-56 eq. 53),
/// G = 0.1 Rn by day, 0.5 Rn by night (eq. 45, 46); e°(T) − ea at least 0
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `hour` | T, ea, u₂, Rn | see [`HourInputs`] | one hour | wind 0 or more |
///
/// # Returns
/// mm/h, 0 or more.
///
/// # Errors
/// None: an hour that would gain water (dew) gives 0.
///
/// # Assumptions
/// The resistance of the grass is the same by day and by night, as FAO-56 has it.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 45, 46 and 53.
///
/// # Checked against
/// Printed example no. 19 of FAO-56 (from memory); Tampa's hours summed against its days
/// (`tests/models/evapotranspiration.rs`).
///
/// # Examples
/// ```
/// use models::evapotranspiration::{HourInputs, hourly_penman_monteith_mm};
///
/// // N'Diaye, 1 October, 14 to 15 o'clock (FAO-56 example 19, from memory).
/// let hour = HourInputs {
///     t_c: 38.0,
///     vapor_kpa: 3.445,
///     wind_2_m: 3.3,
///     net_radiation_mj: 1.749,
///     is_day: true,
///     pressure_kpa: 101.2,
/// };
/// assert!((hourly_penman_monteith_mm(&hour) - 0.63).abs() < 5e-3);
/// ```
pub fn hourly_penman_monteith_mm(hour: &HourInputs) -> f64 {
    let into_ground = if hour.is_day { 0.1 } else { 0.5 };
    combined_mm(&Combined {
        t_c: hour.t_c,
        missing_vapor_kpa: saturation_kpa(hour.t_c) - hour.vapor_kpa,
        wind_2_m: hour.wind_2_m,
        energy_mj: hour.net_radiation_mj * (1.0 - into_ground),
        pressure_kpa: hour.pressure_kpa,
        aerodynamic: 37.0,
    })
}

/// What both equations combine: energy and dry wind.
struct Combined {
    t_c: f64,
    missing_vapor_kpa: f64,
    wind_2_m: f64,
    energy_mj: f64,
    pressure_kpa: f64,
    /// What wind and dry air weigh, K mm s³/(Mg a day or an hour).
    aerodynamic: f64,
}

fn combined_mm(of: &Combined) -> f64 {
    let slope = saturation_slope(of.t_c);
    let psychrometric = psychrometric_constant(of.pressure_kpa);
    let by_energy = MM_PER_MJ * slope * of.energy_mj;
    let by_wind = psychrometric * of.aerodynamic / (of.t_c + FREEZING_K)
        * of.wind_2_m
        * of.missing_vapor_kpa.max(0.0);
    let resisted = slope + psychrometric * (1.0 + 0.34 * of.wind_2_m);
    ((by_energy + by_wind) / resisted).max(0.0)
}

/// Returns the reference evapotranspiration of a day by its temperatures alone.
///
/// # Equation
/// ET₀ = 0.0023 (T + 17.8) √(tmax − tmin) 0.408 Ra (FAO-56 eq. 52)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `tmin_c`, `tmax_c` | | °C | extremes of the day | tmin at most tmax |
/// | `tmean_c` | T | °C | mean of the day; (tmin + tmax)/2 in FAO-56 | |
/// | `above_mj` | Ra | MJ/m² | from [`extraterrestrial_mj`](crate::solar::extraterrestrial_mj) | 0 or more |
///
/// # Returns
/// mm/d, 0 or more; 0 below −17.8 °C and where the extremes are the wrong way round.
///
/// # Errors
/// None.
///
/// # Assumptions
/// The sky is told by how far the temperatures lie apart. By the sea they do so little under any
/// sky, and wind is not in it: at Jeju the year comes out 14 % short.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 52 (Hargreaves & Samani 1985).
///
/// # Checked against
/// Tampa and 34 years of Jeju by an independent implementation, which takes the heat of vaporization
/// at the day's temperature (`tests/models/evapotranspiration.rs`).
///
/// # Examples
/// ```
/// use models::evapotranspiration::hargreaves_mm;
///
/// assert!((hargreaves_mm(14.8, 26.6, 20.7, 40.6) - 5.04).abs() < 5e-3);
/// ```
pub fn hargreaves_mm(tmin_c: f64, tmax_c: f64, tmean_c: f64, above_mj: f64) -> f64 {
    let swing = (tmax_c - tmin_c).max(0.0).sqrt();
    0.0023 * (tmean_c + 17.8).max(0.0) * swing * MM_PER_MJ * above_mj
}

/// Returns the heat that goes into the ground on each day of a month that is warmer than another.
///
/// # Equation
/// G = 0.14 ΔT, ΔT the rise of the mean temperature in a month (FAO-56 eq. 43, 44)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `rise_c` | ΔT | °C | from the month before; or half of the rise from it to the month after | |
///
/// # Returns
/// MJ/m² a day; negative where the ground cools.
///
/// # Errors
/// None.
///
/// # Assumptions
/// For days and weeks G is left at 0: what the ground takes on one day it gives on the next.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 43 and 44.
///
/// # Checked against
/// Printed examples no. 13 and 17 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// use models::evapotranspiration::soil_heat_of_month_mj;
///
/// // March 14.1 °C, May 18.8 °C.
/// assert!((soil_heat_of_month_mj((18.8 - 14.1) / 2.0) - 0.33).abs() < 5e-3);
/// ```
pub fn soil_heat_of_month_mj(rise_c: f64) -> f64 {
    0.14 * rise_c
}

/// Returns the wind at 2 m by that at another height.
///
/// # Equation
/// u₂ = uz 4.87/ln(67.8 z − 5.42) (FAO-56 eq. 47)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `wind` | uz | m/s | at the height | 0 or more |
/// | `height_m` | z | m above the ground | constant | 0.5 to 200; held there |
///
/// # Returns
/// m/s.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Open ground under short grass between the two heights.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 47.
///
/// # Checked against
/// Printed examples no. 14 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::evapotranspiration::wind_at_2_m(3.2, 10.0) - 2.4).abs() < 0.01);
/// ```
pub fn wind_at_2_m(wind: f64, height_m: f64) -> f64 {
    wind * wind_share_at_2_m(height_m)
}

fn wind_share_at_2_m(height_m: f64) -> f64 {
    4.87 / libm::log(67.8 * height_m.clamp(0.5, 200.0) - 5.42)
}
