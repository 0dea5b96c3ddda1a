//! Any bytes as `nursery.toml`: no panic, and no value out of range where nothing is said.

#![no_main]

use libfuzzer_sys::fuzz_target;
use nursery::settings::Settings;

fuzz_target!(|bytes: &[u8]| match Settings::read("nursery.toml", bytes) {
    Ok(settings) => {
        assert!(settings.latitude.abs() <= 66.0);
        assert!(settings.heat.base_c < settings.heat.upper_c);
        assert!((4..=260).contains(&settings.planning.weeks));
    }
    Err(problems) => assert!(!problems.is_empty()),
});
