//! Any bytes as an EPW file: no panic, and a record only where nothing is wrong.

#![no_main]

use libfuzzer_sys::fuzz_target;
use models::{EpwYears, read_epw};

fuzz_target!(|bytes: &[u8]| {
    for years in [
        EpwYears::AsWritten,
        EpwYears::AsTheyFollow,
        EpwYears::On(2024),
        EpwYears::On(2025),
    ] {
        match read_epw("site.epw", bytes, years) {
            Ok(record) => {
                let days = record.daily().map_or(0, |daily| daily.days().len());
                assert!(days >= record.days.len());
            }
            Err(problems) => assert!(!problems.is_empty()),
        }
    }
});
