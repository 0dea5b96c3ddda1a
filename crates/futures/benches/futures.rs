//! Futures per second of the medium case: 33 lots, 1,072 operations, 300 lines, 156 weeks.

#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench measures and tells"
)]

use std::time::Instant;

use barkslip_futures::case::Case;
use barkslip_futures::{Options, simulate};

fn main() {
    let text = include_str!("../tests/data/medium.json");
    let case: Case = serde_json::from_str(text).expect("the case is in format 2");
    for threads in [1, 2] {
        let options = Options {
            futures: 1_000,
            threads,
            ..Options::default()
        };
        let fastest = (0..3)
            .map(|_| {
                let start = Instant::now();
                simulate(&case, &options, None, None).expect("the case is valid");
                start.elapsed().as_secs_f64()
            })
            .fold(f64::INFINITY, f64::min);
        let per_second = f64::from(options.futures) / fastest;
        println!(
            "{threads} thread(s): {fastest:.2} s for 1,000 futures, {per_second:.0} futures/s"
        );
    }
}
