//! Reference evapotranspiration of a day hour by hour.

use super::{HourInputs, hourly_penman_monteith_mm, wind_at_2_m};
use crate::air::{pressure_kpa, vapor_by_dew_point_kpa, vapor_by_humidity_kpa};
use crate::epw::{Hour, HourlyDay, MJ_PER_WH, WIND_HEIGHT_M};
use crate::solar::{
    clear_sky_mj, clearness, extraterrestrial_period_mj, net_longwave_mj, net_shortwave_mj,
};
use crate::weather::Site;

/// Returns the reference evapotranspiration of each hour of a day.
///
/// Shows when in the day water is used, and so when it is best given; its sum is the day's.
///
/// # Equation
/// [`hourly_penman_monteith_mm`] of each hour; vapor by dew point, else by humidity; wind brought from
/// 10 to 2 m; radiation above the air by [`extraterrestrial_period_mj`]. While the sun is up, the sky
/// is as clear as the hour's radiation says, by night as that of all of the day.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `day` | see [`Hour`] | 24 hours of standard time | |
/// | `site` | ° north, ° east, m, h ahead of UTC | constants | |
///
/// # Returns
/// mm of each hour, 0 or more. `None` where temperature, radiation, wind, or both dew point and
/// humidity of any hour are missing.
///
/// # Errors
/// None.
///
/// # Assumptions
/// Grass resists as by the day's mean also in full sun, so that the hours sum to less than the day.
/// FAO-56 takes for the night the hours before sunset; the whole day's radiation does not hang on a
/// few hours of low sun.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 28 to 33, 39, 45, 46 and 53.
///
/// # Checked against
/// Tampa's typical year: the hours sum to 3.2 % less than its days
/// (`tests/models/evapotranspiration.rs`).
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::Site;
/// use models::epw::{Hour, HourlyDay};
/// use models::evapotranspiration::hours_mm;
///
/// let site = Site {
///     name: "Tampa".to_owned(),
///     latitude_deg: 27.97,
///     longitude_deg: -82.53,
///     elevation_m: 6.0,
///     time_zone_h: -5.0,
/// };
/// let hours = std::array::from_fn(|h| Hour {
///     dry_bulb: Some(24.0),
///     dew_point: Some(18.0),
///     radiation_wh: Some(if (7..17).contains(&h) { 500.0 } else { 0.0 }),
///     wind: Some(3.0),
///     ..Hour::default()
/// });
/// let found = hours_mm(&HourlyDay { date: date(2026, 4, 1), hours }, &site).expect("all known");
/// assert!(found[12] > 0.3 && found[2] < 0.1);
/// ```
pub fn hours_mm(day: &HourlyDay, site: &Site) -> Option<[f64; 24]> {
    let day_of_year = day.date.day_of_year();
    let above_mj: [f64; 24] = std::array::from_fn(|hour| {
        extraterrestrial_period_mj(site, day_of_year, hour as f64 + 0.5, 1.0)
    });
    let radiation_mj: f64 = day
        .hours
        .iter()
        .map(|hour| Some(hour.radiation_wh? * MJ_PER_WH))
        .sum::<Option<f64>>()?;
    let clear_mj = clear_sky_mj(above_mj.iter().sum(), site.elevation_m);
    let of_the_day = clearness(radiation_mj, clear_mj);
    let mut found = [0.0; 24];
    for ((mm, hour), above_mj) in found.iter_mut().zip(&day.hours).zip(above_mj) {
        *mm = hour_mm(hour, above_mj, of_the_day, site)?;
    }
    Some(found)
}

fn hour_mm(hour: &Hour, above_mj: f64, of_the_day: f64, site: &Site) -> Option<f64> {
    let t_c = hour.dry_bulb?;
    let radiation_mj = hour.radiation_wh? * MJ_PER_WH;
    let by_humidity = |humidity| vapor_by_humidity_kpa(t_c, humidity);
    let vapor_kpa = match hour.dew_point {
        Some(dew_point) => vapor_by_dew_point_kpa(dew_point),
        None => hour.humidity.map(by_humidity)?,
    };
    let is_day = above_mj > 0.0;
    let sky = if is_day {
        clearness(radiation_mj, clear_sky_mj(above_mj, site.elevation_m))
    } else {
        of_the_day
    };
    let lost_mj = net_longwave_mj(t_c, t_c, vapor_kpa, sky) / 24.0;
    Some(hourly_penman_monteith_mm(&HourInputs {
        t_c,
        vapor_kpa,
        wind_2_m: wind_at_2_m(hour.wind?, WIND_HEIGHT_M),
        net_radiation_mj: net_shortwave_mj(radiation_mj) - lost_mj,
        is_day,
        pressure_kpa: pressure_kpa(site.elevation_m),
    }))
}
