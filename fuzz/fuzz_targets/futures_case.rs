//! Neutral futures cases: read, checked, and, where they are right and small, played.

#![no_main]

use std::sync::atomic::AtomicBool;

use barkslip_futures::case::Case;
use barkslip_futures::{Options, simulate};
use libfuzzer_sys::fuzz_target;

/// Larger cases are right but slow.
fn is_small(case: &Case) -> bool {
    let plants: u64 = case.lots.iter().map(|lot| u64::from(lot.immature)).sum();
    let put: u64 = case.operations.iter().map(|op| u64::from(op.plants.unwrap_or(0))).sum();
    case.weeks <= 60 && case.paths.len() <= 8 && plants + put <= 100_000
}

fuzz_target!(|bytes: &[u8]| {
    let Ok(case) = serde_json::from_slice::<Case>(bytes) else { return };
    let problems = case.validate();
    if problems.is_empty() && is_small(&case) {
        let options = Options { futures: 2, seed: 1, threads: 1, keep_arrivals: true };
        simulate(&case, &options, None, Some(&AtomicBool::new(false))).expect("a right case plays");
    }
});
