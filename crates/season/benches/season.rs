//! Milliseconds to make the demo's season, and to make it anew for the futures alone:
//! `cargo bench -p season --profile dev --bench season`.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(
    clippy::disallowed_methods,
    reason = "a bench reads the clock and files"
)]

use std::borrow::Cow;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use intake::Problems;
use jiff::civil::date;
use models::{FilledRecord, TemperatureUnit, fill, read_daily};
use nursery::{FileSet, Nursery};
use season::{Calendar, Coming, PlannedJob, Sky};

const TIMES: usize = 3;

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

fn demo() -> (Nursery, FilledRecord) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let mut set = FileSet::default();
    for name in FileSet::REQUIRED.iter().chain(FileSet::OPTIONAL) {
        if let Ok(bytes) = std::fs::read(folder.join(name)) {
            set.files.insert((*name).to_owned(), bytes);
        }
    }
    let weather = set.files.get("weather.csv").expect("the demo's weather");
    let read = read_daily("weather.csv", weather, TemperatureUnit::Celsius).expect("a table");
    let record = fill(&read.record).expect("twenty years");
    let nursery = Nursery::from_files(&set, date(2027, 3, 1)).expect("the demo");
    (nursery, record)
}

fn main() {
    let (nursery, record) = demo();
    let sky = || {
        let first = Calendar::from_as_of(nursery.as_of).monday(0);
        let mut problems = Problems::default();
        let weeks = nursery.settings.planning.weeks as usize + 104;
        Sky::over(
            &nursery,
            Cow::Borrowed(&record),
            Coming::Drawn,
            (first, weeks),
            &mut problems,
        )
    };
    let build = || season::build(&nursery, &record).expect("a season");
    let build_for_futures = || season::build_for_futures(&nursery, &record).expect("a season");
    let model = build_for_futures();
    // A start of each operation in every tenth week it may be done in.
    let jobs: Vec<PlannedJob> = model
        .operations
        .iter()
        .enumerate()
        .flat_map(|(operation, it)| {
            let weeks = it.starts.iter().step_by(10);
            weeks.map(move |start| PlannedJob {
                job: String::new(),
                operation,
                week: start.week,
                plants: 50,
            })
        })
        .collect();
    let hours = season::hours_for_starts(&model, &jobs, &[]);
    let lower = || season::futures_case(&model, &jobs, &hours, 1);
    println!(
        "{} jobs, {} in the futures",
        jobs.len(),
        lower().operations.len()
    );
    for (what, took) in [
        ("lay the weather", milliseconds(sky)),
        ("make the season", milliseconds(build)),
        ("make it for the futures", milliseconds(build_for_futures)),
        ("lower it to a futures case", milliseconds(lower)),
    ] {
        println!("{what}: {took:.0} ms");
    }
}
