//! Any bytes as a daily weather table: no panic, and a record only where nothing is wrong.

#![no_main]

use libfuzzer_sys::fuzz_target;
use models::{TemperatureUnit, fill, read_daily};

fuzz_target!(|bytes: &[u8]| {
    for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
        match read_daily("weather.csv", bytes, unit) {
            Ok(record) => {
                assert!(record.first() <= record.last());
                for day in record.days() {
                    assert!(!matches!((day.tmin, day.tmax), (Some(low), Some(high)) if low > high));
                }
                if let Ok(filled) = fill(&record) {
                    assert!(filled.days().iter().all(|day| day.tmin <= day.tmax));
                }
            }
            Err(problems) => assert!(!problems.is_empty()),
        }
    }
});
