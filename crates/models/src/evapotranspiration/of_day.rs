//! Reference evapotranspiration from what the weather of a day tells.

use serde::{Deserialize, Serialize};

use super::unsure::{TypicalError, typical_error};
use super::{DayInputs, hargreaves_mm, penman_monteith_mm, wind_at_2_m};
use crate::air::{
    pressure_kpa, vapor_by_dew_point_kpa, vapor_by_extremes_kpa, vapor_by_highest_humidity_kpa,
    vapor_by_mean_humidity_kpa,
};
use crate::fill::Extremes;
use crate::solar::{
    SunOfDay, clear_sky_mj, clearness, net_longwave_mj, net_shortwave_mj, radiation_by_sunshine_mj,
    radiation_by_swing_mj,
};
use crate::weather::Day;

/// Wind at 2 m where nobody measured it, m/s: the mean of 2,000 stations (FAO-56, before eq. 50).
const USUAL_WIND: f64 = 2.0;
/// Height of an anemometer whose height nobody told, m: that of the weather services.
const USUAL_WIND_HEIGHT_M: f64 = 10.0;

/// What evapotranspiration needs to know of a site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceSite {
    latitude_deg: f64,
    elevation_m: f64,
    is_coastal: bool,
    dew_drop_c: f64,
    pressure_kpa: f64,
}

/// Why a site cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ReferenceSiteError {
    /// There is no such latitude.
    #[error("latitude {0} must lie between -90 and 90 degrees; south is negative")]
    Latitude(f64),
    /// Nobody grows trees there.
    #[error("elevation {0} must lie between -500 and 6000 m above the sea; check the unit")]
    Elevation(f64),
    /// The dew point is put too far from the lowest temperature.
    #[error("dew_drop_c {0} must lie between 0 and 10 °C; 2 to 3 suit dry places, 0 damp ones")]
    DewDrop(f64),
}

impl ReferenceSite {
    /// A site by latitude (south negative), meters above the sea and whether air from a large
    /// water reaches it.
    pub fn try_new(
        latitude_deg: f64,
        elevation_m: f64,
        is_coastal: bool,
    ) -> Result<Self, ReferenceSiteError> {
        if !(-90.0..=90.0).contains(&latitude_deg) {
            return Err(ReferenceSiteError::Latitude(latitude_deg));
        }
        if !(-500.0..=6000.0).contains(&elevation_m) {
            return Err(ReferenceSiteError::Elevation(elevation_m));
        }
        Ok(Self {
            latitude_deg,
            elevation_m,
            is_coastal,
            dew_drop_c: 0.0,
            pressure_kpa: pressure_kpa(elevation_m),
        })
    }

    /// The same site where, on days without humidity, the dew point lies so many °C below the
    /// lowest temperature (FAO-56, eq. 48 and annex 6: 2 to 3 in dry places, 0 elsewhere).
    pub fn with_dew_drop(self, dew_drop_c: f64) -> Result<Self, ReferenceSiteError> {
        if !(0.0..=10.0).contains(&dew_drop_c) {
            return Err(ReferenceSiteError::DewDrop(dew_drop_c));
        }
        Ok(Self { dew_drop_c, ..self })
    }

    /// Degrees north; south is negative.
    pub fn latitude_deg(&self) -> f64 {
        self.latitude_deg
    }

    /// Meters above the sea.
    pub fn elevation_m(&self) -> f64 {
        self.elevation_m
    }

    /// Whether air from a large water reaches the site.
    pub fn is_coastal(&self) -> bool {
        self.is_coastal
    }

    /// How far below the lowest temperature the dew point is put where humidity is unknown, °C.
    pub fn dew_drop_c(&self) -> f64 {
        self.dew_drop_c
    }
}

/// Where a day's temperatures come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TemperatureOrigin {
    /// Both extremes were measured.
    Measured,
    /// One or both were filled from other days.
    Filled,
    /// The day was made from monthly normals.
    Made,
}

/// Where a day's radiation comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RadiationOrigin {
    /// It was measured.
    Measured,
    /// From the hours of bright sunshine.
    Sunshine,
    /// From how far the temperatures lie apart.
    TemperatureRange,
}

/// Where a day's vapor pressure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HumidityOrigin {
    /// From the dew point.
    DewPoint,
    /// From the lowest and the highest humidity.
    Extremes,
    /// From the highest humidity alone.
    Highest,
    /// From the mean humidity.
    Mean,
    /// The dew point was put at the lowest temperature, or the site's drop below it.
    LowestTemperature,
}

/// Where a day's wind comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WindOrigin {
    /// It was measured, at a height that is known.
    Measured,
    /// It was measured, at a height taken to be 10 m.
    HeightTaken,
    /// Nobody measured it: 2 m/s at 2 m.
    Usual,
}

/// What a day's evapotranspiration was computed from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Origins {
    /// Temperatures.
    pub temperature: TemperatureOrigin,
    /// Radiation.
    pub radiation: RadiationOrigin,
    /// Vapor pressure.
    pub humidity: HumidityOrigin,
    /// Wind.
    pub wind: WindOrigin,
}

impl Origins {
    /// Whether nothing but temperatures is known of the day.
    pub fn is_temperature_alone(self) -> bool {
        self.radiation == RadiationOrigin::TemperatureRange
            && self.humidity == HumidityOrigin::LowestTemperature
            && self.wind == WindOrigin::Usual
    }
}

/// One of the two equations.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Formula {
    /// That of Penman and Monteith, FAO-56 eq. 6.
    PenmanMonteith,
    /// That of Hargreaves, FAO-56 eq. 52.
    Hargreaves,
}

/// The reference evapotranspiration of one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Evapotranspiration {
    /// By Penman and Monteith, with estimates for what is missing, mm.
    pub penman_monteith_mm: f64,
    /// By Hargreaves, from temperatures alone, mm.
    pub hargreaves_mm: f64,
    /// The equation to go by.
    pub formula: Formula,
    /// What the first was computed from.
    pub origins: Origins,
}

impl Evapotranspiration {
    /// By the equation to go by, mm.
    pub fn mm(&self) -> f64 {
        self.by(self.formula)
    }

    /// By one of the equations, mm.
    pub fn by(&self, formula: Formula) -> f64 {
        match formula {
            Formula::PenmanMonteith => self.penman_monteith_mm,
            Formula::Hargreaves => self.hargreaves_mm,
        }
    }

    /// How far the figure to go by lies from that of the full equation, on days with such inputs.
    pub fn typical_error(&self) -> TypicalError {
        typical_error(self.formula, self.origins)
    }
}

/// Returns the reference evapotranspiration of a day from whatever its weather tells.
///
/// What is missing is estimated as FAO-56 says, and told with the result.
///
/// # Equation
/// [`penman_monteith_mm`] with the first that is known of each line
/// - radiation: measured; by sunshine (eq. 35); by the temperatures' range (eq. 50); the two
///   estimates are at most that of clear sky (eq. 37)
/// - vapor: by dew point (eq. 14); lowest and highest humidity (eq. 17); highest humidity (eq. 18); mean
///   humidity (eq. 19); the dew point at the lowest temperature less the site's drop (eq. 48)
/// - wind: measured, brought to 2 m (eq. 47), at 10 m if its height is unknown; 2 m/s
///
/// and no heat into the ground; and [`hargreaves_mm`]. To go by is the first, but the second where
/// nothing but temperatures is known and the site is not coastal.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `day` | see [`Day`] | one local civil day | as the reader lets pass |
/// | `tmean_c` | °C | mean of the day's readings, if known; else (tmin + tmax)/2 | within the extremes |
/// | `site` | see [`ReferenceSite`] | constants | checked by its type |
/// | `day_of_year` | d | 1 on 1 January | 1 to 366 |
///
/// # Returns
/// mm/d by both equations, which to go by, and where each input comes from. `None` without the
/// lowest or the highest temperature.
///
/// # Errors
/// None: the site is a checked type.
///
/// # Assumptions
/// The station stands over grass with water enough. Over dry ground it is warmer and drier than
/// that, and the result too high.
///
/// # Source
/// Allen et al. 1998, FAO-56, ch. 3 and 4. To go by Hargreaves inland is this project's own choice; FAO-56
/// prefers Penman and Monteith with estimates. At the inland station of Ronda the root mean square
/// difference to the full equation is 0.55 mm/d by Hargreaves and 0.60 with estimates; at the coasts of
/// Jeju, Tampa and Asturias the two are alike within 0.01.
///
/// # Checked against
/// Printed example no. 20 of FAO-56; two Spanish stations, Tampa and 34 years of Jeju; every input
/// dropped (`tests/models/evapotranspiration.rs`, `tests/models/missing_inputs.rs`).
///
/// # Examples
/// ```
/// use models::evapotranspiration::{HumidityOrigin, RadiationOrigin};
/// use models::{Day, ReferenceSite, day_evapotranspiration};
///
/// // Lyon in July with a thermometer and the usual wind (FAO-56 example 20).
/// let day = Day { tmin: Some(14.8), tmax: Some(26.6), ..Day::default() };
/// let site = ReferenceSite::try_new(45.72, 200.0, false)?;
/// let found = day_evapotranspiration(&day, None, &site, 196).expect("two temperatures");
/// assert!((found.penman_monteith_mm - 4.56).abs() < 0.02);
/// assert_eq!(found.origins.radiation, RadiationOrigin::TemperatureRange);
/// assert_eq!(found.origins.humidity, HumidityOrigin::LowestTemperature);
/// assert_eq!(found.mm(), found.hargreaves_mm);
/// # Ok::<(), models::ReferenceSiteError>(())
/// ```
pub fn day_evapotranspiration(
    day: &Day,
    tmean_c: Option<f64>,
    site: &ReferenceSite,
    day_of_year: i16,
) -> Option<Evapotranspiration> {
    let air = DayAir {
        extremes: Extremes::new(day.tmin?, day.tmax?),
        tmean_c,
        origin: if day.is_made {
            TemperatureOrigin::Made
        } else {
            TemperatureOrigin::Measured
        },
    };
    let sun = SunOfDay::at(site.latitude_deg, day_of_year);
    Some(of_weather(day, &air, site, &sun))
}

/// The temperatures of a day and where they come from.
pub(super) struct DayAir {
    pub extremes: Extremes,
    pub tmean_c: Option<f64>,
    pub origin: TemperatureOrigin,
}

/// The evapotranspiration of a day whose own temperatures are not read.
pub(super) fn of_weather(
    day: &Day,
    air: &DayAir,
    site: &ReferenceSite,
    sun: &SunOfDay,
) -> Evapotranspiration {
    let Extremes { tmin, tmax } = air.extremes;
    let clear_mj = clear_sky_mj(sun.above_mj, site.elevation_m);
    let (radiation_mj, radiation) = radiation(day, air.extremes, site, sun);
    let (vapor_kpa, humidity) = vapor(day, air.extremes, site);
    let (wind_2_m, wind) = wind(day);
    let sky = clearness(radiation_mj, clear_mj);
    let lost_mj = net_longwave_mj(tmin, tmax, vapor_kpa, sky);
    let inputs = DayInputs {
        tmin_c: tmin,
        tmax_c: tmax,
        tmean_c: air.tmean_c,
        vapor_kpa,
        wind_2_m,
        net_radiation_mj: net_shortwave_mj(radiation_mj) - lost_mj,
        soil_heat_mj: 0.0,
        pressure_kpa: site.pressure_kpa,
    };
    let origins = Origins {
        temperature: air.origin,
        radiation,
        humidity,
        wind,
    };
    let tmean_c = air.tmean_c.unwrap_or_else(|| air.extremes.mean());
    Evapotranspiration {
        penman_monteith_mm: penman_monteith_mm(&inputs),
        hargreaves_mm: hargreaves_mm(tmin, tmax, tmean_c, sun.above_mj),
        formula: to_go_by(origins, site),
        origins,
    }
}

fn to_go_by(origins: Origins, site: &ReferenceSite) -> Formula {
    if origins.is_temperature_alone() && !site.is_coastal {
        Formula::Hargreaves
    } else {
        Formula::PenmanMonteith
    }
}

fn radiation(
    day: &Day,
    Extremes { tmin, tmax }: Extremes,
    site: &ReferenceSite,
    sun: &SunOfDay,
) -> (f64, RadiationOrigin) {
    if let Some(measured) = day.radiation_mj {
        return (measured, RadiationOrigin::Measured);
    }
    let (estimate, origin) = match day.sunshine_h {
        Some(hours) => (
            radiation_by_sunshine_mj(sun.above_mj, hours, sun.length_h),
            RadiationOrigin::Sunshine,
        ),
        None => (
            radiation_by_swing_mj(sun.above_mj, tmin, tmax, site.is_coastal),
            RadiationOrigin::TemperatureRange,
        ),
    };
    let most = clear_sky_mj(sun.above_mj, site.elevation_m);
    (estimate.min(most), origin)
}

fn vapor(
    day: &Day,
    Extremes { tmin, tmax }: Extremes,
    site: &ReferenceSite,
) -> (f64, HumidityOrigin) {
    match *day {
        Day {
            dew_point: Some(dew_point),
            ..
        } => (vapor_by_dew_point_kpa(dew_point), HumidityOrigin::DewPoint),
        Day {
            humidity_min: Some(low),
            humidity_max: Some(high),
            ..
        } => (
            vapor_by_extremes_kpa(tmin, tmax, low, high),
            HumidityOrigin::Extremes,
        ),
        Day {
            humidity_max: Some(high),
            ..
        } => (
            vapor_by_highest_humidity_kpa(tmin, high),
            HumidityOrigin::Highest,
        ),
        Day {
            humidity_mean: Some(mean),
            ..
        } => (
            vapor_by_mean_humidity_kpa(tmin, tmax, mean),
            HumidityOrigin::Mean,
        ),
        _ => (
            vapor_by_dew_point_kpa(tmin - site.dew_drop_c),
            HumidityOrigin::LowestTemperature,
        ),
    }
}

fn wind(day: &Day) -> (f64, WindOrigin) {
    match (day.wind, day.wind_height) {
        (Some(wind), Some(height)) => (wind_at_2_m(wind, height), WindOrigin::Measured),
        (Some(wind), None) => (
            wind_at_2_m(wind, USUAL_WIND_HEIGHT_M),
            WindOrigin::HeightTaken,
        ),
        (None, _) => (USUAL_WIND, WindOrigin::Usual),
    }
}
