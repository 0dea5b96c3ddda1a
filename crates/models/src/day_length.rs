//! Length of the day from latitude and date.

use std::f64::consts::PI;

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
    let latitude = latitude_deg.clamp(-90.0, 90.0).to_radians();
    let declination = 0.409 * libm::sin(2.0 * PI * f64::from(day_of_year) / 365.0 - 1.39);
    let cosine = -libm::tan(latitude) * libm::tan(declination);
    24.0 / PI * libm::acos(cosine.clamp(-1.0, 1.0))
}
