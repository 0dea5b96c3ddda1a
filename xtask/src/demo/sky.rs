//! The demo's weather: seasons as a yearly wave, days that remember the day before, wet and dry
//! spells, years that are warmer or cooler as a whole.

use jiff::civil::{Date, date};

use super::draw::{Draw, Table, plus_days};

/// First and last day of the record.
pub const FIRST: Date = date(2007, 1, 1);
/// The day before the demo looks ahead.
pub const LAST: Date = date(2027, 2, 28);

/// Mean of the year, °C.
const MEAN_C: f64 = 19.0;
/// Half the difference between summer and winter, °C.
const SWING_C: f64 = 8.2;
/// Day of the year on which it is warmest.
const WARMEST_DAY: f64 = 210.0;
/// How much a day remembers of the day before.
const MEMORY: f64 = 0.72;
/// Spread of days about the season, °C, in summer and in winter.
const DAY_SPREAD_C: (f64, f64) = (1.8, 2.9);
/// Spread of years, °C.
const YEAR_SPREAD_C: f64 = 0.35;
/// Mean difference between a dry day's extremes, °C, and of a wet day's.
const RANGE_C: (f64, f64) = (11.6, 6.8);
/// Chance of rain after a dry day and after a wet one, in winter and in summer.
const WET_AFTER_DRY: (f64, f64) = (0.17, 0.015);
const WET_AFTER_WET: (f64, f64) = (0.48, 0.18);
/// Mean rain of a wet day, mm.
const RAIN_MM: f64 = 7.2;

/// One day.
pub struct Day {
    /// Its date.
    pub date: Date,
    /// Lowest temperature, tenths of °C.
    pub tmin: i32,
    /// Highest temperature, tenths of °C.
    pub tmax: i32,
    /// Rain, tenths of mm.
    pub rain: i32,
}

/// The whole record.
pub fn days(draw: &mut Draw) -> Vec<Day> {
    let mut days = Vec::new();
    let (mut date, mut anomaly, mut wet) = (FIRST, 0.0, false);
    let mut year_c = draw.normal() * YEAR_SPREAD_C;
    while date <= LAST {
        if date.day_of_year() == 1 {
            year_c = draw.normal() * YEAR_SPREAD_C;
        }
        let summer = summerness(date);
        let spread = mix(DAY_SPREAD_C.1, DAY_SPREAD_C.0, summer);
        anomaly = MEMORY * anomaly + spread * (1.0 - MEMORY * MEMORY).sqrt() * draw.normal();
        let chance = if wet { WET_AFTER_WET } else { WET_AFTER_DRY };
        wet = draw.uniform() < mix(chance.0, chance.1, summer);
        let mean = MEAN_C + year_c + anomaly + SWING_C * (2.0 * summer - 1.0);
        days.push(day(draw, date, mean, summer, wet));
        date = plus_days(date, 1);
    }
    days
}

/// 0 on the coldest day of the year and 1 on the warmest.
fn summerness(date: Date) -> f64 {
    let turn = (f64::from(date.day_of_year()) - WARMEST_DAY) / 365.25;
    f64::midpoint(1.0, libm::cos(std::f64::consts::TAU * turn))
}

fn mix(winter: f64, summer: f64, summerness: f64) -> f64 {
    winter + (summer - winter) * summerness
}

fn day(draw: &mut Draw, date: Date, mean: f64, summer: f64, wet: bool) -> Day {
    let typical = if wet {
        RANGE_C.1
    } else {
        RANGE_C.0 + 1.6 * (summer - 0.5)
    };
    let range = (typical + 1.7 * draw.normal()).max(2.0);
    let mean = if wet { mean - 0.6 } else { mean };
    let tenths = |value: f64| (value * 10.0).round() as i32;
    let rain = if wet {
        tenths(-RAIN_MM * libm::log(draw.uniform())).max(1)
    } else {
        0
    };
    Day {
        date,
        tmin: tenths(mean - range / 2.0),
        tmax: tenths(mean + range / 2.0),
        rain,
    }
}

/// `weather.csv`.
pub fn table(days: &[Day]) -> String {
    let mut table = Table::new("date,tmin,tmax,rain_mm");
    for day in days {
        let tenth = |value: i32| format!("{:.1}", f64::from(value) / 10.0);
        table.row(&[
            &day.date,
            &tenth(day.tmin),
            &tenth(day.tmax),
            &tenth(day.rain),
        ]);
    }
    table.text()
}
