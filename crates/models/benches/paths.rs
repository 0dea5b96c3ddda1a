//! Milliseconds to read and mend 34 years of weather, and to draw courses of weather from them:
//! `cargo bench -p models --profile dev --bench paths`.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

use std::hint::black_box;
use std::time::Instant;

use jiff::civil::date;
use models::{Climate, DegreeDayRule, Draw, Paths, TemperatureUnit, fill, read_daily};

const JEJU: &[u8] = include_bytes!("../tests/data/jeju_daily_1990_2023.csv");
const TIMES: usize = 11;

/// The middle of some measurements, ms.
fn milliseconds<T>(what: impl Fn() -> T) -> f64 {
    let mut times: Vec<f64> = (0..TIMES)
        .map(|_| {
            let begun = Instant::now();
            black_box(what());
            begun.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[TIMES / 2]
}

fn main() {
    let read = || read_daily("jeju.csv", JEJU, TemperatureUnit::Celsius).expect("a table");
    let record = fill(&read().record).expect("34 years");
    let draw = Draw {
        paths: 1000,
        seed: 1,
    };
    let drawn = || Paths::drawn(&record, date(2024, 1, 1), 182, draw).expect("34 years");
    let paths = drawn();
    let rule = DegreeDayRule::default();
    let heat = || paths.weekly_degree_days(&record, &Climate::OPEN_GROUND, &rule);
    for (what, took) in [
        ("read and examine 34 years", milliseconds(read)),
        (
            "read, examine and fill 34 years",
            milliseconds(|| fill(&read().record).expect("34 years")),
        ),
        ("draw 1,000 paths of 182 weeks", milliseconds(drawn)),
        ("their weekly degree-days", milliseconds(heat)),
    ] {
        println!("{what}: {took:.1} ms");
    }
}
