//! Any bytes as a daily weather table: no panic, a record in order, and whatever is left out is found.

#![no_main]

use libfuzzer_sys::fuzz_target;
use models::{TemperatureUnit, fill, read_daily};

fuzz_target!(|bytes: &[u8]| {
    for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
        match read_daily("weather.csv", bytes, unit) {
            Ok(read) => {
                let read = read.held_to_the_sun(33.5);
                let record = &read.record;
                assert!(record.first() <= record.last());
                for day in record.days() {
                    assert!(!matches!((day.tmin, day.tmax), (Some(low), Some(high)) if low > high));
                    for celsius in [day.tmin, day.tmax].into_iter().flatten() {
                        assert!(celsius.abs() < 60.001);
                    }
                }
                // A gap is never silent.
                assert!(record.days_without_temperature() == 0 || !read.findings.is_empty());
                for finding in &read.findings {
                    assert!(!finding.rule.is_empty() && !finding.done.is_empty());
                    assert!(finding.first <= finding.last);
                }
                if let Ok(filled) = fill(record) {
                    assert!(filled.days().iter().all(|day| day.tmin <= day.tmax));
                    assert_eq!(filled.filled_days(), record.days_without_temperature());
                }
            }
            Err(problems) => assert!(!problems.is_empty()),
        }
    }
});
