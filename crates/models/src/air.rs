//! Moisture and pressure of the air.
//!
//! Owns how much vapor air holds, how much of it is there by dew point, humidity or wet bulb, and
//! the pressure at a height above the sea. Does not know radiation, wind or plants.

use serde::{Deserialize, Serialize};

/// Vapor pressure at 0 °C, kPa.
const AT_FREEZING_KPA: f64 = 0.6108;
/// The two constants of the curve by which warm air holds more vapor, the second in °C.
const CURVE: (f64, f64) = (17.27, 237.3);
/// The least vapor pressure that has a dew point here, kPa; it lies at −79.6 °C.
const DRIEST_KPA: f64 = 1e-4;

/// Returns the vapor pressure of saturated air.
///
/// How much vapor air can hold; the dryer the air below it, the faster plants and pots lose water.
///
/// # Equation
/// e°(T) = 0.6108 exp(17.27 T/(T + 237.3)) (FAO-56 eq. 11)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `t_c` | T | °C | a temperature | −60 to 60 |
///
/// # Returns
/// kPa, above 0; over water also below 0 °C.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// Below 0 °C the water is supercooled, not ice, as FAO-56 has it.
///
/// # Source
/// Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 11 (Tetens 1930).
///
/// # Checked against
/// Printed example no. 3 of FAO-56 within its rounding (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::saturation_kpa(24.5) - 3.075).abs() < 5e-4);
/// ```
pub fn saturation_kpa(t_c: f64) -> f64 {
    AT_FREEZING_KPA * libm::exp(CURVE.0 * t_c / (t_c + CURVE.1))
}

/// Returns by how much the vapor pressure of saturated air rises with a degree.
///
/// # Equation
/// Δ = 4098 e°(T)/(T + 237.3)² (FAO-56 eq. 13)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `t_c` | T | °C | a temperature | −60 to 60 |
///
/// # Returns
/// kPa/°C, above 0.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// Those of [`saturation_kpa`].
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 13.
///
/// # Checked against
/// Printed examples no. 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::saturation_slope(30.2) - 0.246).abs() < 5e-4);
/// ```
pub fn saturation_slope(t_c: f64) -> f64 {
    let above = t_c + CURVE.1;
    4098.0 * saturation_kpa(t_c) / (above * above)
}

/// Returns the pressure of the air at a height above the sea.
///
/// # Equation
/// P = 101.3 ((293 − 0.0065 z)/293)^5.26 (FAO-56 eq. 7)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `elevation_m` | z | m above the sea | constant | −500 to 9,000; held there |
///
/// # Returns
/// kPa.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Air of 20 °C at the sea; the day's own pressure differs by 1 or 2 %, which moves
/// evapotranspiration far less.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 7.
///
/// # Checked against
/// Printed examples no. 2 and 4 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::pressure_kpa(1800.0) - 81.8).abs() < 0.05);
/// ```
pub fn pressure_kpa(elevation_m: f64) -> f64 {
    let elevation_m = elevation_m.clamp(-500.0, 9000.0);
    101.3 * libm::pow((293.0 - 0.0065 * elevation_m) / 293.0, 5.26)
}

/// Returns the psychrometric constant of air of a pressure.
///
/// # Equation
/// γ = 0.665·10⁻³ P (FAO-56 eq. 8)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `pressure_kpa` | P | kPa | a pressure | 30 to 110 |
///
/// # Returns
/// kPa/°C.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Latent heat of vaporization 2.45 MJ/kg, that of water at 20 °C.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 8.
///
/// # Checked against
/// Printed examples no. 2, 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::psychrometric_constant(81.8) - 0.054).abs() < 5e-4);
/// ```
pub fn psychrometric_constant(pressure_kpa: f64) -> f64 {
    0.665e-3 * pressure_kpa
}

/// Returns the vapor pressure of saturated air over a day.
///
/// # Equation
/// es = (e°(tmax) + e°(tmin))/2 (FAO-56 eq. 12)
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `tmin_c`, `tmax_c` | °C | extremes of a day | −60 to 60 |
///
/// # Returns
/// kPa. More than at the mean temperature, because the curve bends upward.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// The extremes count alike.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 12.
///
/// # Checked against
/// Printed examples no. 3, 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::day_saturation_kpa(15.0, 24.5) - 2.39).abs() < 5e-3);
/// ```
pub fn day_saturation_kpa(tmin_c: f64, tmax_c: f64) -> f64 {
    f64::midpoint(saturation_kpa(tmax_c), saturation_kpa(tmin_c))
}

/// Returns the vapor pressure of air by its dew point.
///
/// # Equation
/// ea = e°(Tdew) (FAO-56 eq. 14)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `dew_point_c` | Tdew | °C | of an hour or the mean of a day | −60 to 60 |
///
/// # Returns
/// kPa, above 0.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// Dew point over water, not frost point over ice.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 14.
///
/// # Checked against
/// [`dew_point_c`] leads back to the same dew point (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::vapor_by_dew_point_kpa(14.8) - 1.68).abs() < 5e-3);
/// ```
pub fn vapor_by_dew_point_kpa(dew_point_c: f64) -> f64 {
    saturation_kpa(dew_point_c)
}

/// Returns the dew point of air by its vapor pressure.
///
/// The temperature at which dew falls; the lower it is, the deeper a clear night can cool.
///
/// # Equation
/// Tdew = 237.3 x/(17.27 − x), x = ln(ea/0.6108): [`saturation_kpa`] the other way round
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `vapor_kpa` | ea | kPa | of an hour or the mean of a day | 0.0001 and more; held there |
///
/// # Returns
/// °C, −79.6 or more.
///
/// # Errors
/// None: air that is dryer still is held at 0.0001 kPa.
///
/// # Assumptions
/// Dew point over water, not frost point over ice.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 14 solved for the dew point.
///
/// # Checked against
/// 30 °C at 50 % has its dew point at 18.43809 °C, −7.45195 °C for 5 °C at 40 %, by an independent
/// implementation (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// use models::air::{dew_point_c, saturation_kpa};
///
/// assert!((dew_point_c(saturation_kpa(30.0) * 0.5) - 18.43809).abs() < 1e-5);
/// ```
pub fn dew_point_c(vapor_kpa: f64) -> f64 {
    let x = libm::log(vapor_kpa.max(DRIEST_KPA) / AT_FREEZING_KPA);
    CURVE.1 * x / (CURVE.0 - x)
}

/// Returns the vapor pressure of air of a temperature and relative humidity.
///
/// # Equation
/// ea = e°(T) RH/100 (FAO-56 eq. 54; eq. 10 solved)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `t_c` | T | °C | of an hour or a moment | −60 to 60 |
/// | `humidity` | RH | % | of the same hour or moment | 0 to 100; held there |
///
/// # Returns
/// kPa.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// Both were read at the same time; of a day, see [`vapor_by_extremes_kpa`].
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 10 and 54.
///
/// # Checked against
/// Hours of Tampa by dew point and by humidity (`tests/models/evapotranspiration.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::vapor_by_humidity_kpa(38.0, 52.0) - 3.445).abs() < 5e-3);
/// ```
pub fn vapor_by_humidity_kpa(t_c: f64, humidity: f64) -> f64 {
    saturation_kpa(t_c) * share(humidity)
}

/// Returns the mean vapor pressure of a day by its lowest and highest humidity.
///
/// # Equation
/// ea = (e°(tmin) RHmax/100 + e°(tmax) RHmin/100)/2 (FAO-56 eq. 17)
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `tmin_c`, `tmax_c` | °C | extremes of a day | −60 to 60 |
/// | `humidity_min`, `humidity_max` | % | extremes of the same day | 0 to 100; held there |
///
/// # Returns
/// kPa.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// Air is dampest when it is coldest.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 17.
///
/// # Checked against
/// Printed examples no. 5 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// let vapor = models::air::vapor_by_extremes_kpa(18.0, 25.0, 54.0, 82.0);
/// assert!((vapor - 1.70).abs() < 5e-3);
/// ```
pub fn vapor_by_extremes_kpa(
    tmin_c: f64,
    tmax_c: f64,
    humidity_min: f64,
    humidity_max: f64,
) -> f64 {
    f64::midpoint(
        vapor_by_humidity_kpa(tmin_c, humidity_max),
        vapor_by_humidity_kpa(tmax_c, humidity_min),
    )
}

/// Returns the mean vapor pressure of a day by its highest humidity alone.
///
/// # Equation
/// ea = e°(tmin) RHmax/100 (FAO-56 eq. 18)
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `tmin_c` | °C | lowest of a day | −60 to 60 |
/// | `humidity_max` | % | highest of the same day | 0 to 100; held there |
///
/// # Returns
/// kPa.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// For stations whose lowest humidity is in doubt: the highest is the surer of the two.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 18.
///
/// # Checked against
/// The first half of printed example no. 5 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::vapor_by_highest_humidity_kpa(18.0, 82.0) - 1.692).abs() < 5e-3);
/// ```
pub fn vapor_by_highest_humidity_kpa(tmin_c: f64, humidity_max: f64) -> f64 {
    vapor_by_humidity_kpa(tmin_c, humidity_max)
}

/// Returns the mean vapor pressure of a day by its mean humidity.
///
/// # Equation
/// ea = RHmean/100 (e°(tmax) + e°(tmin))/2 (FAO-56 eq. 19)
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `tmin_c`, `tmax_c` | °C | extremes of a day | −60 to 60 |
/// | `humidity_mean` | % | mean of the same day | 0 to 100; held there |
///
/// # Returns
/// kPa.
///
/// # Errors
/// None in the range.
///
/// # Assumptions
/// Poorer than by the extremes: at 18 to 25 °C and 54 to 82 % it is 4.5 % too high.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 19.
///
/// # Checked against
/// Printed example no. 5 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::air::vapor_by_mean_humidity_kpa(18.0, 25.0, 68.0) - 1.78).abs() < 5e-3);
/// ```
pub fn vapor_by_mean_humidity_kpa(tmin_c: f64, tmax_c: f64, humidity_mean: f64) -> f64 {
    day_saturation_kpa(tmin_c, tmax_c) * share(humidity_mean)
}

/// How air moves past the wet bulb of a psychrometer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Psychrometer {
    /// Drawn by a fan at some 5 m/s (Asmann).
    #[default]
    Ventilated,
    /// By the wind, about 1 m/s.
    Natural,
    /// Standing air in a house.
    Indoor,
}

impl Psychrometer {
    /// The coefficient of the instrument, 1/°C (FAO-56, after eq. 16).
    pub fn coefficient(self) -> f64 {
        match self {
            Self::Ventilated => 0.000_662,
            Self::Natural => 0.000_800,
            Self::Indoor => 0.001_200,
        }
    }
}

/// Returns the vapor pressure of air by a dry and a wet bulb.
///
/// # Equation
/// ea = e°(Twet) − a P (Tdry − Twet) (FAO-56 eq. 15, 16)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `dry_c`, `wet_c` | Tdry, Twet | °C | read at once | wet at most dry |
/// | `pressure_kpa` | P | kPa | a pressure | 30 to 110 |
/// | `psychrometer` | a | 1/°C | how the bulb is ventilated | |
///
/// # Returns
/// kPa, 0 or more.
///
/// # Errors
/// None: bulbs farther apart than dry air allows give 0.
///
/// # Assumptions
/// Water, not ice, on the bulb.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 15 and 16.
///
/// # Checked against
/// Printed example no. 4 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// use models::air::{Psychrometer, vapor_by_wet_bulb_kpa};
///
/// let vapor = vapor_by_wet_bulb_kpa(25.6, 19.5, 87.9, Psychrometer::Ventilated);
/// assert!((vapor - 1.91).abs() < 5e-3);
/// ```
pub fn vapor_by_wet_bulb_kpa(
    dry_c: f64,
    wet_c: f64,
    pressure_kpa: f64,
    psychrometer: Psychrometer,
) -> f64 {
    let lost = psychrometer.coefficient() * pressure_kpa * (dry_c - wet_c);
    (saturation_kpa(wet_c) - lost).max(0.0)
}

fn share(humidity: f64) -> f64 {
    humidity.clamp(0.0, 100.0) / 100.0
}
