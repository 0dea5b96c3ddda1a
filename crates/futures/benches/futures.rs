//! How long 10,000 futures of the medium case take (33 lots, 1,072 operations, 300 lines, 156 weeks), what
//! of it the random numbers alone would take, how time grows with futures, lots and threads, and how long
//! the same model takes in NumPy: `cargo bench -p barkslip-futures`. `PYTHON` names an interpreter that has
//! NumPy and SciPy.

#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench measures and tells"
)]

use std::collections::BTreeMap;
use std::process::Command;
use std::time::Instant;

use barkslip_futures::case::Case;
use barkslip_futures::{Options, Summary, draws_of_a_lot, simulate};

const FUTURES: u32 = 10_000;
/// Enough for the shares of both sides to be compared, and for NumPy to be at its best.
const REFERENCE_FUTURES: u32 = 2_000;

fn main() {
    let text = include_str!("../tests/data/medium.json");
    let case: Case = serde_json::from_str(text).expect("the case is in format 2");
    let mut by_threads = Vec::new();
    for threads in [1, 2] {
        let (seconds, _) = timed(&case, FUTURES, threads);
        println!(
            "{FUTURES} futures, {threads} thread(s): {seconds:.2} s, {:.3} ms a future",
            seconds * 1e3 / f64::from(FUTURES)
        );
        by_threads.push(seconds);
    }
    println!(
        "two threads: {:.2} times as fast",
        by_threads[0] / by_threads[1]
    );
    if let Some(mib) = peak_mib() {
        println!("peak memory so far: {mib:.0} MiB");
    }
    draws();
    for futures in [500, 1_000, 2_000] {
        let (seconds, _) = timed(&case, futures, 2);
        let each = seconds * 1e3 / f64::from(futures);
        println!("{futures} futures, 2 threads: {seconds:.2} s, {each:.3} ms a future");
    }
    let (seconds, _) = timed(&doubled(&case), 1_000, 2);
    let (single, _) = timed(&case, 1_000, 2);
    println!(
        "twice the operations: {:.2} times the time",
        seconds / single
    );
    against_numpy(&case);
}

/// Seconds and odds.
fn timed(case: &Case, futures: u32, threads: usize) -> (f64, Summary) {
    let options = Options {
        futures,
        threads,
        ..Options::default()
    };
    let start = Instant::now();
    let summary = simulate(case, &options, None, None).expect("the case is valid");
    (start.elapsed().as_secs_f64(), summary)
}

/// About the draws of 1,000 futures of the case, without the model: for each of 1,370 lots a pace, two
/// or four gammas, and what its plants draw.
fn draws() {
    const LOTS: u32 = 1_370;
    let start = Instant::now();
    for future in 0..1_000 {
        for lot in 0..LOTS {
            std::hint::black_box(draws_of_a_lot(7, future, lot));
        }
    }
    let each = start.elapsed().as_secs_f64();
    println!("random numbers of as many streams alone, 1 thread: {each:.3} ms a future");
}

/// The case with each operation once more, under another name.
fn doubled(case: &Case) -> Case {
    let mut twice = case.clone();
    twice.operations.clear();
    for operation in &case.operations {
        let mut again = operation.clone();
        again.operation.push_str(" again");
        twice.operations.extend([operation.clone(), again]);
    }
    twice
}

/// The most memory the process has held (VmHWM), where the system tells.
fn peak_mib() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    let kib: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib / 1024.0)
}

#[derive(serde::Deserialize)]
struct Reference {
    seconds: f64,
    on_time: BTreeMap<String, f64>,
}

/// `None` where there is no interpreter or it does not have the libraries.
fn reference() -> Option<Reference> {
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has_it = Command::new(&python)
        .args(["-c", "import numpy, scipy.special"])
        .output();
    if !has_it.is_ok_and(|found| found.status.success()) {
        return None;
    }
    let folder = env!("CARGO_MANIFEST_DIR");
    let output = Command::new(&python)
        .arg(format!("{folder}/benches/reference.py"))
        .arg(format!("{folder}/tests/data/medium.json"))
        .args([REFERENCE_FUTURES.to_string(), "5".to_owned()])
        // A core type forced on NumPy would slow it down.
        .env_remove("OPENBLAS_CORETYPE")
        .output()
        .expect("the interpreter runs");
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the reference failed: {words}");
    Some(serde_json::from_slice(&output.stdout).expect("the reference prints JSON"))
}

fn against_numpy(case: &Case) {
    let Some(reference) = reference() else {
        println!("NumPy: PASSED OVER, no interpreter has it and SciPy; PYTHON names another");
        return;
    };
    let (seconds, summary) = timed(case, REFERENCE_FUTURES, 2);
    agree(&summary, &reference.on_time);
    println!(
        "NumPy, one core: {REFERENCE_FUTURES} futures in {:.1} s; the engine on 2 threads: {seconds:.2} s, \
         {:.0} times as fast",
        reference.seconds,
        reference.seconds / seconds
    );
}

/// Shares on time differ by no more than chance makes plausible, on all lines but one in 1,000 or one.
fn agree(ours: &Summary, theirs: &BTreeMap<String, f64>) {
    assert_eq!(ours.orders.len(), theirs.len());
    let n = f64::from(REFERENCE_FUTURES);
    let is_apart = |id: &&String| {
        let (x, y) = (ours.orders[*id].on_time, theirs[*id]);
        let pooled = f64::midpoint(x, y);
        let variance = (pooled * (1.0 - pooled)).max(0.5 / n);
        (x - y).abs() > 4.0 * (variance * 2.0 / n).sqrt()
    };
    let apart: Vec<&String> = theirs.keys().filter(is_apart).collect();
    println!(
        "NumPy: {} lines compared, {} apart",
        theirs.len(),
        apart.len()
    );
    assert!(apart.len() <= 1, "{apart:?}");
}
