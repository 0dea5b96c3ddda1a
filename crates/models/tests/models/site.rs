//! Real weather for the other tests.

use jiff::civil::Date;
use models::epw::{Hour, HourlyDay};
use models::{DailyRecord, HourlyRecord, Site, TemperatureUnit, read_daily};

pub const JEJU_LATITUDE: f64 = 33.514;

pub fn jeju() -> DailyRecord {
    let bytes = include_bytes!("../data/jeju_daily_1990_2023.csv");
    read_daily("jeju.csv", bytes, TemperatureUnit::Celsius)
        .expect("a sound table")
        .record
}

/// The typical year of Tampa, laid on 2001.
pub fn tampa() -> HourlyRecord {
    let mut days: Vec<HourlyDay> = Vec::new();
    for row in rows(include_str!("../data/tampa_hourly_tmy3.csv")) {
        let date = Date::new(2001, row[0] as i8, row[1] as i8).expect("a date");
        if days.last().is_none_or(|day| day.date != date) {
            days.push(HourlyDay {
                date,
                hours: [Hour::default(); 24],
            });
        }
        let day = days.last_mut().expect("a day");
        day.hours[row[2] as usize - 1] = Hour {
            dry_bulb: Some(row[3]),
            dew_point: Some(row[4]),
            humidity: Some(row[5]),
            radiation_wh: Some(row[6]),
            wind: Some(row[7]),
            ..Hour::default()
        };
    }
    let site = Site {
        name: "Tampa".to_owned(),
        latitude_deg: 27.97,
        longitude_deg: -82.53,
        elevation_m: 6.0,
        time_zone_h: -5.0,
    };
    HourlyRecord {
        site,
        days,
        source_years: Vec::new(),
    }
}

/// The rows of a table of numbers.
pub fn rows(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|cell| cell.parse().expect("a number"))
                .collect()
        })
        .collect()
}
