//! Neutral planning cases: read and checked.

#![no_main]

use libfuzzer_sys::fuzz_target;
use planner::Case;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(case) = serde_json::from_slice::<Case>(bytes) {
        for problem in case.validate() {
            assert!(!problem.to_string().is_empty());
        }
    }
});
