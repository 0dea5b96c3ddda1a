//! Milliseconds for 30 years of a site's heat and water, and the same figures by the reference library
//! `pyet`: `cargo bench -p models --profile dev`. `PYTHON` names the interpreter that has it.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use jiff::civil::{Date, date};
use models::evapotranspiration::Formula;
use models::{
    Climate, CutOff, DailyRecord, DailySeries, DegreeDayRule, EvapotranspirationRecord,
    FilledRecord, ReferenceSite, TemperatureUnit, daily_evapotranspiration, degree_day_series,
    fill, past_band, read_daily, sums_since,
};

const FIRST: Date = date(1994, 1, 1);
const LIMIT_MS: f64 = 50.0;
const TIMES: usize = 21;
const DAYS_EITHER_SIDE: u8 = 7;

fn main() {
    let record = jeju();
    let filled = fill(&record).expect("30 years");
    let site = ReferenceSite::try_new(33.514, 20.5, true).expect("a site");
    let years = record.days().len() as f64 / 365.25;
    println!("Jeju, {years:.1} years, {} days", record.days().len());

    let heat_ms = median_ms(|| heat(&filled));
    let heat = heat(&filled);
    let water_ms = median_ms(|| daily_evapotranspiration(&record, &filled, &site));
    let water = daily_evapotranspiration(&record, &filled, &site);
    let sums_ms = median_ms(|| sums_and_bands(&heat));
    let bands_ms = median_ms(|| bands_of(&water));
    let total_ms = heat_ms + water_ms + sums_ms + bands_ms;
    println!("degree-days of every day {heat_ms:.2} ms, their sums and bands {sums_ms:.2} ms");
    println!(
        "evapotranspiration by both equations {water_ms:.2} ms, sums and bands {bands_ms:.2} ms"
    );
    println!("together {total_ms:.1} ms; the limit is {LIMIT_MS} ms");

    match reference() {
        Some(reference) => {
            agree(&reference, &water, &heat);
            let same_ms = heat_ms + water_ms;
            println!(
                "pyet: the same days {:.1} ms, ours {same_ms:.2} ms: {:.0} times as fast",
                reference.ms,
                reference.ms / same_ms
            );
        }
        None => println!("pyet: PASSED OVER, no interpreter has it; PYTHON names another"),
    }
    assert!(total_ms <= LIMIT_MS, "{total_ms:.1} ms are over the limit");
}

/// The record from its fifth year on.
fn jeju() -> DailyRecord {
    let table = include_bytes!("../tests/data/jeju_daily_1990_2023.csv");
    let read = read_daily("jeju.csv", table, TemperatureUnit::Celsius).expect("a sound table");
    let record = read.record;
    let dates = record.first().series(jiff::Span::new().days(1));
    let days = dates.zip(record.days().iter().copied());
    DailyRecord::new(None, days.filter(|(date, _)| *date >= FIRST)).expect("days")
}

fn heat(filled: &FilledRecord) -> DailySeries {
    let rule = DegreeDayRule {
        cut_off: CutOff::None,
        ..DegreeDayRule::default()
    };
    degree_day_series(filled, &Climate::OPEN_GROUND, &rule)
}

/// This year's sums, the band of past years and what may come on every day of it, and the band of
/// single days.
fn sums_and_bands(series: &DailySeries) {
    let sums = sums_since(
        series,
        date(2023, 1, 1),
        date(2023, 12, 31),
        date(2023, 7, 1),
    );
    for day in 0..365 {
        black_box((sums.normal(day), sums.to_come(day)));
    }
    black_box(past_band(series, date(2023, 1, 1), DAYS_EITHER_SIDE));
}

fn bands_of(water: &EvapotranspirationRecord) {
    sums_and_bands(&water.mm_by(Formula::PenmanMonteith));
    sums_and_bands(&water.mm_by(Formula::Hargreaves));
}

fn median_ms<T>(work: impl Fn() -> T) -> f64 {
    let mut times: Vec<f64> = (0..TIMES)
        .map(|_| {
            let begun = Instant::now();
            black_box(work());
            begun.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[TIMES / 2]
}

/// What the reference library found.
struct Reference {
    ms: f64,
    penman_monteith_mm: f64,
    hargreaves_mm: f64,
    degree_days: f64,
}

/// `None` where there is no interpreter or it does not have the library.
fn reference() -> Option<Reference> {
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/pyet_reference.py");
    let table = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/data/jeju_daily_1990_2023.csv"
    );
    let has_it = Command::new(&python).args(["-c", "import pyet"]).output();
    if !has_it.is_ok_and(|found| found.status.success()) {
        return None;
    }
    let mut command = Command::new(&python);
    command.args([folder, table, &FIRST.to_string()]);
    // A core type forced on numpy would slow it down.
    command.env_remove("OPENBLAS_CORETYPE");
    let output = command.output().expect("the interpreter runs");
    let text = String::from_utf8_lossy(&output.stdout);
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the reference failed: {words}");
    let numbers: Vec<f64> = text
        .split_whitespace()
        .map(|word| word.parse().expect("a number"))
        .collect();
    let [ms, penman_monteith_mm, hargreaves_mm, degree_days] = numbers[..] else {
        panic!("the reference printed {text}");
    };
    Some(Reference {
        ms,
        penman_monteith_mm,
        hargreaves_mm,
        degree_days,
    })
}

/// The reference leaves out days on which anything is missing, some in a thousand.
fn agree(reference: &Reference, water: &EvapotranspirationRecord, heat: &DailySeries) {
    let sum = |values: &[f64]| values.iter().sum::<f64>();
    let penman = water.mm_by(Formula::PenmanMonteith);
    let hargreaves = water.mm_by(Formula::Hargreaves);
    for (name, ours, theirs) in [
        (
            "Penman–Monteith, mm",
            sum(penman.values()),
            reference.penman_monteith_mm,
        ),
        (
            "Hargreaves, mm",
            sum(hargreaves.values()),
            reference.hargreaves_mm,
        ),
        ("degree-days", sum(heat.values()), reference.degree_days),
    ] {
        println!("{name}: {ours:.0} here, {theirs:.0} there");
        assert!((ours / theirs - 1.0).abs() < 0.02, "{name}");
    }
}
