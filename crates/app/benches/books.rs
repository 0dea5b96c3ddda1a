//! A nursery file of many acts: recorded, replayed, opened, appended to, traced:
//! `cargo bench -p app --profile dev [-- SCALE]`. Scale 1 is two years of some 50,000 acts; 20 is a
//! million. The bench of `store` has plain SQLite doing the same writes.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

use std::fmt::Write as _;
use std::time::Instant;

use app::ledger::NurseryFile;
use jiff::civil::Date;
use testkit::{Settings, Simulator};

const APPENDS: usize = 200;
const AT: &str = "2030-01-01T12:00:00Z";
const LAST: &str = "9999-12-31T23:59:59Z";

fn main() {
    let scale = std::env::args()
        .find_map(|it| it.parse().ok())
        .unwrap_or(2.0);
    let folder = tempfile::tempdir().expect("a folder can be made");
    let path = folder.path().join("nursery");
    let mut simulator = Simulator::new(Settings {
        scale,
        ..Settings::default()
    });
    let lines = lines(&mut simulator);
    let acts = lines.lines().count();

    let mut file = NurseryFile::create(&path).expect("a new file");
    let ours = seconds(|| record(&mut file, &lines));
    let ours = acts as f64 / ours;
    println!("{acts} acts recorded: {ours:.0} acts/s");

    let replay = seconds(|| drop(file.books_known_at(LAST).expect("it can be read")));
    println!(
        "replayed from nothing: {replay:.2} s, {:.2} s for 100,000 acts",
        replay * 1e5 / acts as f64
    );
    drop(file);
    let open = seconds(|| drop(NurseryFile::open(&path).expect("it is there")));
    println!("opened from its snapshot: {open:.2} s");

    let mut file = NurseryFile::open(&path).expect("it is there");
    let ours = medians(|number| record(&mut file, &note(number)));
    println!("one durable act, median of {APPENDS}: {ours:.2} ms");

    let worst = simulator
        .mother_trees()
        .iter()
        .map(|tree| seconds(|| drop(file.trace(&file.books, tree, Date::MAX))))
        .fold(0.0, f64::max);
    let lots = file.books.lots.len();
    println!(
        "slowest trace of a mother tree over {lots} lots: {:.1} ms",
        worst * 1e3
    );
}

fn lines(simulator: &mut Simulator) -> String {
    let mut lines = String::new();
    while let Some(day) = simulator.next_day() {
        for sent in &day.acts {
            writeln!(lines, "{}", sent.act).expect("memory takes it");
        }
    }
    lines
}

fn record(file: &mut NurseryFile, lines: &str) {
    file.record_lines(lines, AT, &mut |_| Ok(()))
        .expect("there is room");
}

fn note(number: usize) -> String {
    let id = format!("7ZZZZZZZZZZZZZZZZZZZ{number:06}");
    format!(
        r#"{{"id":"{id}","on":"2030-01-01","by":"carla","act":"note","text":"number {number}"}}"#
    )
}

fn seconds(mut run: impl FnMut()) -> f64 {
    let start = Instant::now();
    run();
    start.elapsed().as_secs_f64()
}

/// The median of single runs, ms.
fn medians(mut run: impl FnMut(usize)) -> f64 {
    let mut times: Vec<f64> = (0..APPENDS)
        .map(|number| seconds(|| run(number)) * 1e3)
        .collect();
    times.sort_by(f64::total_cmp);
    times[APPENDS / 2]
}
