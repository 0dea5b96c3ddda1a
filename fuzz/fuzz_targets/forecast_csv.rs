//! Any bytes as a forecast: no panic, consecutive days in order, and paths that stay whole under it.

#![no_main]

use jiff::civil::date;
use libfuzzer_sys::fuzz_target;
use models::{Extremes, Paths, TemperatureUnit, YearPath, read_forecast};

fuzz_target!(|bytes: &[u8]| {
    for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
        match read_forecast("forecast.csv", bytes, unit) {
            Ok(forecast) => {
                assert!((1..=15).contains(&forecast.days.len()));
                assert!(forecast.first <= forecast.last());
                let path = YearPath {
                    start_year: 2020,
                    before: Vec::new(),
                    weeks: vec![[Extremes::new(5.0, 15.0); 7]; 4],
                };
                let monday = date(2027, 3, 1);
                for first in [monday, forecast.first] {
                    let paths = Paths::of(first, vec![path.clone()]).under(&forecast, 1);
                    let days = paths.paths[0].weeks.iter().flatten();
                    assert!(days.clone().all(|day| day.tmin <= day.tmax));
                    assert!(days.clone().all(|day| day.tmin.abs() <= 60.0));
                }
            }
            Err(problems) => assert!(!problems.is_empty()),
        }
    }
});
