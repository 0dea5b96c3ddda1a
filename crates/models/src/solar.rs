//! Sun and radiation from latitude, date and what little a station tells.
//!
//! Owns the length of the day, the radiation above the air, what of it reaches the ground and what
//! stays there. Does not model shade, slopes or horizons.

use std::f64::consts::PI;

use crate::weather::Site;

/// Radiation that a square meter facing the sun receives above the air, MJ/m² a minute.
const SOLAR_CONSTANT: f64 = 0.0820;
/// Share of radiation that grass throws back.
const ALBEDO: f64 = 0.23;
/// Radiation of a black body, MJ/m² a day and K⁴.
const STEFAN_BOLTZMANN: f64 = 4.903e-9;
/// Share of the radiation above the air that reaches the ground under cloud, and what clear sky
/// adds to it.
const THROUGH_CLOUD: f64 = 0.25;
const THROUGH_CLEAR_SKY: f64 = 0.50;

/// Returns how much stronger or weaker the sun is by its distance.
///
/// # Equation
/// dr = 1 + 0.033 cos(2π J/365) (FAO-56 eq. 23)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `day_of_year` | J | d | 1 on 1 January | 1 to 366 |
///
/// # Returns
/// A factor, 0.967 to 1.033.
///
/// # Errors
/// None.
///
/// # Assumptions
/// J counts against 365 in leap years too.
///
/// # Source
/// Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 23.
///
/// # Checked against
/// Printed example no. 8 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::solar::sun_distance_factor(246) - 0.985).abs() < 5e-4);
/// ```
pub fn sun_distance_factor(day_of_year: i16) -> f64 {
    1.0 + 0.033 * libm::cos(2.0 * PI * f64::from(day_of_year) / 365.0)
}

/// Returns how far north of the equator the sun stands.
///
/// # Equation
/// δ = 0.409 sin(2π J/365 − 1.39) (FAO-56 eq. 24)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `day_of_year` | J | d | 1 on 1 January | 1 to 366 |
///
/// # Returns
/// Radians, −0.409 to 0.409; negative: south.
///
/// # Errors
/// None.
///
/// # Assumptions
/// J counts against 365 in leap years too.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 24.
///
/// # Checked against
/// Printed example no. 8 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::solar::declination_rad(246) - 0.120).abs() < 5e-4);
/// ```
pub fn declination_rad(day_of_year: i16) -> f64 {
    0.409 * libm::sin(2.0 * PI * f64::from(day_of_year) / 365.0 - 1.39)
}

/// Returns the angle by which the sun moves from noon to sunset.
///
/// # Equation
/// ωs = arccos(−tan φ tan δ) (FAO-56 eq. 25)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `latitude_deg` | φ | ° north, south negative | constant | −90 to 90; held there |
/// | `day_of_year` | J | d | 1 on 1 January | 1 to 366 |
///
/// # Returns
/// Radians: 0 where the sun does not rise, π where it does not set.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Sun's center at a level horizon.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 25.
///
/// # Checked against
/// Printed example no. 8 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::solar::sunset_angle_rad(-20.0, 246) - 1.527).abs() < 5e-4);
/// ```
pub fn sunset_angle_rad(latitude_deg: f64, day_of_year: i16) -> f64 {
    let cosine = -libm::tan(latitude_rad(latitude_deg)) * libm::tan(declination_rad(day_of_year));
    libm::acos(cosine.clamp(-1.0, 1.0))
}

fn latitude_rad(latitude_deg: f64) -> f64 {
    latitude_deg.clamp(-90.0, 90.0).to_radians()
}

/// Returns the hours between sunrise and sunset.
///
/// Some stocks, trifoliate orange above all, stop growing when days shorten, whatever the warmth;
/// their bark then no longer slips.
///
/// # Equation
/// N = 24 ωs/π, ωs = arccos(−tan φ tan δ), δ = 0.409 sin(2π J/365 − 1.39) (FAO-56 eq. 34, 25, 24)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `latitude_deg` | φ | ° north, south negative | constant | −90 to 90; held there |
/// | `day_of_year` | J | d | 1 on 1 January | 1 to 366 |
///
/// # Returns
/// Hours, 0 (the sun does not rise) to 24 (it does not set).
///
/// # Errors
/// None: latitudes beyond the poles are held at the pole.
///
/// # Assumptions
/// Sun's center at a level horizon, no refraction or twilight: some 10 minutes short of the
/// almanac at mid latitudes. J counts against 365 in leap years too, as FAO-56 does.
///
/// # Source
/// Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, eq. 24, 25, 34.
///
/// # Checked against
/// Printed examples of FAO-56: no. 9 (20° S, 3 September) 11.7 h, no. 10 (22°54′ S, 15 May)
/// 10.9 h, no. 18 (50°48′ N, 6 July) 16.1 h, each within 0.05 h, which is their rounding
/// (`tests/models/bark_weeks.rs`).
///
/// # Examples
/// ```
/// // At the equator day and night are even.
/// assert!((models::day_length_h(0.0, 100) - 12.0).abs() < 1e-9);
/// ```
pub fn day_length_h(latitude_deg: f64, day_of_year: i16) -> f64 {
    24.0 / PI * sunset_angle_rad(latitude_deg, day_of_year)
}

/// Returns the radiation that a day brings above the air.
///
/// What the sun would give without an atmosphere; all estimates of radiation are shares of it.
///
/// # Equation
/// Ra = (24·60/π) 0.0820 dr (ωs sin φ sin δ + cos φ cos δ sin ωs) (FAO-56 eq. 21)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `latitude_deg` | φ | ° north, south negative | constant | −90 to 90; held there |
/// | `day_of_year` | J | d | 1 on 1 January | 1 to 366 |
///
/// # Returns
/// MJ/m² on level ground, 0 or more; 0 in polar night.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Those of [`day_length_h`].
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 21.
///
/// # Checked against
/// `tests/data/extraterrestrial_radiation.csv`: 18 latitudes in 12 months by an independent
/// implementation, within 0.1; printed examples no. 8, 10 and 18 (`tests/models/radiation.rs`).
///
/// # Examples
/// ```
/// assert!((models::solar::extraterrestrial_mj(-20.0, 246) - 32.2).abs() < 0.05);
/// ```
pub fn extraterrestrial_mj(latitude_deg: f64, day_of_year: i16) -> f64 {
    let sunset = sunset_angle_rad(latitude_deg, day_of_year);
    above_the_air_mj(latitude_deg, day_of_year, (-sunset, sunset))
}

/// Radiation while the sun moves from one angle to another, both while it is up.
fn above_the_air_mj(latitude_deg: f64, day_of_year: i16, (from, until): (f64, f64)) -> f64 {
    let (latitude, declination) = (latitude_rad(latitude_deg), declination_rad(day_of_year));
    let steady = libm::sin(latitude) * libm::sin(declination) * (until - from);
    let with_the_hour = libm::cos(latitude) * libm::cos(declination);
    let swing = with_the_hour * (libm::sin(until) - libm::sin(from));
    let strength = 12.0 * 60.0 / PI * SOLAR_CONSTANT * sun_distance_factor(day_of_year);
    (strength * (steady + swing)).max(0.0)
}

/// Returns the radiation that an hour, or another part of a day, brings above the air.
///
/// # Equation
/// Ra = (12·60/π) 0.0820 dr ((ω₂ − ω₁) sin φ sin δ + cos φ cos δ (sin ω₂ − sin ω₁)),
/// ω = (π/12)(t + (λ − 15 z)/15 + Sc − 12), ω₁ and ω₂ half of the part before and after it,
/// Sc = 0.1645 sin 2b − 0.1255 cos b − 0.025 sin b, b = 2π (J − 81)/364 (FAO-56 eq. 28 to 33)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `site` | φ, λ, z | ° north, ° east, h ahead of UTC | constants | |
/// | `day_of_year` | J | d | 1 on 1 January | 1 to 366 |
/// | `middle_h` | t | h of standard time | middle of the part, 14.5 from 14 to 15 o'clock | 0 to 24 |
/// | `length_h` | | h | length of the part | above 0, at most 24 |
///
/// # Returns
/// MJ/m² on level ground over the part, 0 or more; of a part with sunrise or sunset in it, what
/// comes while the sun is up.
///
/// # Errors
/// None.
///
/// # Assumptions
/// The hour angle is cut at sunrise and sunset, so that the hours of a day sum to
/// [`extraterrestrial_mj`]; FAO-56 leaves it uncut in these two hours.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 28 to 33; the cut: Allen et al. 2005, ASCE standardized
/// reference evapotranspiration equation, eq. 55 and 56 (from memory).
///
/// # Checked against
/// Printed example no. 19 of FAO-56 (from memory): 3.543 MJ/m² from 14 to 15 o'clock at 16°13′ N; the
/// hours of every day sum to the day at all latitudes (`tests/models/radiation.rs`).
///
/// # Examples
/// ```
/// let site = models::Site {
///     name: "N'Diaye".to_owned(),
///     latitude_deg: 16.0 + 13.0 / 60.0,
///     longitude_deg: -16.25,
///     elevation_m: 8.0,
///     time_zone_h: -1.0,
/// };
/// let hour = models::solar::extraterrestrial_period_mj(&site, 274, 14.5, 1.0);
/// assert!((hour - 3.543).abs() < 5e-3);
/// ```
pub fn extraterrestrial_period_mj(
    site: &Site,
    day_of_year: i16,
    middle_h: f64,
    length_h: f64,
) -> f64 {
    let sunset = sunset_angle_rad(site.latitude_deg, day_of_year);
    let ahead_h = (site.longitude_deg - 15.0 * site.time_zone_h) / 15.0;
    let middle = PI / 12.0 * (middle_h + ahead_h + clock_error_h(day_of_year) - 12.0);
    let half = PI / 24.0 * length_h;
    // A part around midnight may hold the evening of one day and the morning of the next.
    [-2.0 * PI, 0.0, 2.0 * PI]
        .into_iter()
        .map(|turn| {
            let from = (middle - half + turn).clamp(-sunset, sunset);
            let until = (middle + half + turn).clamp(-sunset, sunset);
            above_the_air_mj(site.latitude_deg, day_of_year, (from, until))
        })
        .sum()
}

/// Hours by which a sundial is ahead of the clock.
fn clock_error_h(day_of_year: i16) -> f64 {
    let b = 2.0 * PI * (f64::from(day_of_year) - 81.0) / 364.0;
    0.1645 * libm::sin(2.0 * b) - 0.1255 * libm::cos(b) - 0.025 * libm::sin(b)
}

/// Returns the radiation of a day by its hours of bright sunshine.
///
/// # Equation
/// Rs = (0.25 + 0.50 n/N) Ra (FAO-56 eq. 35)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `above_mj` | Ra | MJ/m² | of the day, from [`extraterrestrial_mj`] | 0 or more |
/// | `sunshine_h` | n | h | of the day | 0 to N; held there |
/// | `day_length_h` | N | h | of the day, from [`day_length_h`] | 0 to 24 |
///
/// # Returns
/// MJ/m² on level ground, 0 or more.
///
/// # Errors
/// None.
///
/// # Assumptions
/// The two shares are those for places without a calibration of their own.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 35 (Ångström).
///
/// # Checked against
/// Printed examples no. 10, 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// let radiation = models::solar::radiation_by_sunshine_mj(25.1, 7.1, 10.9);
/// assert!((radiation - 14.5).abs() < 0.06);
/// ```
pub fn radiation_by_sunshine_mj(above_mj: f64, sunshine_h: f64, day_length_h: f64) -> f64 {
    let share = if day_length_h > 0.0 {
        (sunshine_h / day_length_h).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (THROUGH_CLOUD + THROUGH_CLEAR_SKY * share) * above_mj
}

/// Returns the radiation of a day by how far its temperatures lie apart.
///
/// Clear days are hot and their nights cold; where nothing but a thermometer is at hand, it tells
/// the sky.
///
/// # Equation
/// Rs = kRs √(tmax − tmin) Ra, kRs = 0.16 inland and 0.19 at a coast (FAO-56 eq. 50)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `above_mj` | Ra | MJ/m² | of the day, from [`extraterrestrial_mj`] | 0 or more |
/// | `tmin_c`, `tmax_c` | | °C | extremes of the day | tmin at most tmax |
/// | `is_coastal` | kRs | √(1/°C) | whether air from a large water reaches the site | |
///
/// # Returns
/// MJ/m² on level ground, 0 or more. It may be more than clear sky lets through; hold it at
/// [`clear_sky_mj`].
///
/// # Errors
/// None: extremes the wrong way round give 0.
///
/// # Assumptions
/// No island: there the sea holds the temperature, whatever the sky.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 50 (Hargreaves & Samani).
///
/// # Checked against
/// Printed example no. 15 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// let radiation = models::solar::radiation_by_swing_mj(40.6, 14.8, 26.6, false);
/// assert!((radiation - 22.3).abs() < 0.05);
/// ```
pub fn radiation_by_swing_mj(above_mj: f64, tmin_c: f64, tmax_c: f64, is_coastal: bool) -> f64 {
    let share = if is_coastal { 0.19 } else { 0.16 };
    share * (tmax_c - tmin_c).max(0.0).sqrt() * above_mj
}

/// Returns the radiation under a clear sky.
///
/// # Equation
/// Rso = (0.75 + 2·10⁻⁵ z) Ra (FAO-56 eq. 37)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `above_mj` | Ra | MJ/m² | of a day or a part of it | 0 or more |
/// | `elevation_m` | z | m above the sea | constant | −500 to 9,000 |
///
/// # Returns
/// MJ/m² on level ground over the same time.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Clean air; with haze it is less.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 37.
///
/// # Checked against
/// Printed examples no. 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::solar::clear_sky_mj(41.09, 100.0) - 30.90).abs() < 5e-3);
/// ```
pub fn clear_sky_mj(above_mj: f64, elevation_m: f64) -> f64 {
    (0.75 + 2e-5 * elevation_m) * above_mj
}

/// Returns how clear the sky is by the radiation that reached the ground.
///
/// # Equation
/// Rs/Rso, held between 0.3 and 1
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `radiation_mj` | Rs | MJ/m² | of a day or a part of it | 0 or more |
/// | `clear_sky_mj` | Rso | MJ/m² | of the same time, from [`clear_sky_mj`] | 0 or more |
///
/// # Returns
/// 0.3 (overcast) to 1 (clear); 0.3 where there is no sun at all.
///
/// # Errors
/// None.
///
/// # Assumptions
/// FAO-56 holds the ratio at 1 only; below 0.3 its equation 39 would let overcast sky warm the
/// ground.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 39; the lower bound: Allen et al. 2005, ASCE standardized
/// reference evapotranspiration equation (from memory).
///
/// # Checked against
/// Years of four stations by an independent implementation with the same bounds
/// (`tests/models/evapotranspiration.rs`).
///
/// # Examples
/// ```
/// assert_eq!(models::solar::clearness(31.0, 30.0), 1.0);
/// assert_eq!(models::solar::clearness(0.0, 0.0), 0.3);
/// ```
pub fn clearness(radiation_mj: f64, clear_sky_mj: f64) -> f64 {
    if clear_sky_mj > 0.0 {
        (radiation_mj / clear_sky_mj).clamp(0.3, 1.0)
    } else {
        0.3
    }
}

/// Returns the radiation from the sun that a green field keeps.
///
/// # Equation
/// Rns = (1 − 0.23) Rs (FAO-56 eq. 38)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `radiation_mj` | Rs | MJ/m² | of a day or a part of it | 0 or more |
///
/// # Returns
/// MJ/m² over the same time.
///
/// # Errors
/// None.
///
/// # Assumptions
/// The ground is short green grass.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 38.
///
/// # Checked against
/// Printed examples no. 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// assert!((models::solar::net_shortwave_mj(22.07) - 17.0).abs() < 0.01);
/// ```
pub fn net_shortwave_mj(radiation_mj: f64) -> f64 {
    (1.0 - ALBEDO) * radiation_mj
}

/// Returns the heat that a field loses to the sky in a day.
///
/// # Equation
/// Rnl = 4.903·10⁻⁹ ((tmax + 273.16)⁴ + (tmin + 273.16)⁴)/2 (0.34 − 0.14 √ea)
/// (1.35 Rs/Rso − 0.35) (FAO-56 eq. 39)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `tmin_c`, `tmax_c` | | °C | extremes of the day | −60 to 60 |
/// | `vapor_kpa` | ea | kPa | mean of the day | 0 or more |
/// | `clearness` | Rs/Rso | | of the day, from [`clearness`] | 0.3 to 1 |
///
/// # Returns
/// MJ/m², positive: lost. Of an hour with one temperature it is a 24th of this.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Air and ground are about as warm as each other.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 39.
///
/// # Checked against
/// Printed examples no. 11, 17 and 18 of FAO-56 (`tests/models/fao_examples.rs`).
///
/// # Examples
/// ```
/// let lost = models::solar::net_longwave_mj(19.1, 25.1, 2.1, 14.5 / 18.8);
/// assert!((lost - 3.5).abs() < 0.05);
/// ```
pub fn net_longwave_mj(tmin_c: f64, tmax_c: f64, vapor_kpa: f64, clearness: f64) -> f64 {
    let black = f64::midpoint(to_the_fourth(tmax_c), to_the_fourth(tmin_c));
    let through_vapor = 0.34 - 0.14 * vapor_kpa.max(0.0).sqrt();
    STEFAN_BOLTZMANN * black * through_vapor * (1.35 * clearness - 0.35)
}

fn to_the_fourth(t_c: f64) -> f64 {
    let kelvin = t_c + 273.16;
    let square = kelvin * kelvin;
    square * square
}

/// What the sun is on one day of the year.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SunOfDay {
    /// Above the air, MJ/m².
    pub above_mj: f64,
    /// Sunrise to sunset, h.
    pub length_h: f64,
}

impl SunOfDay {
    pub(crate) fn at(latitude_deg: f64, day_of_year: i16) -> Self {
        Self {
            above_mj: extraterrestrial_mj(latitude_deg, day_of_year),
            length_h: day_length_h(latitude_deg, day_of_year),
        }
    }
}
