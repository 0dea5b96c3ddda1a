//! How the pages hold up: fifty who look without a pause, five who record counts.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::ExitCode;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result};
use screens::http::{self, Line, form, request};

use crate::program;

const READERS: usize = 50;
const WRITERS: usize = 5;

/// What one request came to.
struct Seen {
    page: &'static str,
    took: Duration,
    bytes: usize,
    is_right: bool,
}

/// A lot and the plants that stand in it.
struct Lot {
    name: String,
    plants: u64,
}

/// Runs the load and prints what was seen.
pub fn run(seconds: u64, nursery: Option<&Path>) -> Result<ExitCode> {
    let (served, _folder) = program::serve(nursery)?;
    program::plan_nothing(&served)?;
    let lots = lots(&served.host)?;
    let until = now() + Duration::from_secs(seconds);
    let (host, lots) = (served.host.as_str(), lots.as_slice());
    let ids = AtomicU64::new(0);
    let ids = &ids;
    let seen: Vec<Seen> = thread::scope(|scope| {
        let readers = (0..READERS).map(|at| scope.spawn(move || read(host, lots, at, until)));
        let writers = (0..WRITERS).map(|at| scope.spawn(move || write(host, lots, at, until, ids)));
        let all: Vec<_> = readers.chain(writers).collect();
        let joined = all.into_iter().map(|it| it.join().unwrap_or_default());
        joined.flatten().collect()
    });
    print(&seen, seconds);
    println!("most memory of the server: {}", most_memory(served.pid())?);
    let failed = seen.iter().any(|it| !it.is_right);
    Ok(if failed {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    })
}

/// This moment.
#[expect(clippy::disallowed_methods, reason = "a chore that measures time")]
pub fn now() -> Instant {
    Instant::now()
}

fn lots(host: &str) -> Result<Vec<Lot>> {
    let answer = http::get(host, "/standing.csv")?;
    let mut table = csv::Reader::from_reader(answer.body.as_slice());
    let heads = table.headers()?.clone();
    let column = |name: &str| {
        let at = heads.iter().position(|it| it == name);
        at.with_context(|| format!("/standing.csv has no {name}"))
    };
    let (lot, growing, ready) = (column("lot")?, column("growing")?, column("ready")?);
    let number = |text: &str| text.parse::<u64>().unwrap_or(0);
    let rows = table.records().map(|row| {
        let row = row?;
        Ok(Lot {
            name: row[lot].to_owned(),
            plants: number(&row[growing]) + number(&row[ready]),
        })
    });
    rows.collect()
}

/// Looks at page after page over one connection.
fn read(host: &str, lots: &[Lot], reader: usize, until: Instant) -> Vec<Seen> {
    let mut seen = Vec::new();
    let mut line = None;
    let mut turn = reader;
    while now() < until {
        let lot = &lots[turn * 7 % lots.len()].name;
        let of_lot = format!("/lots/{}", http::encode(lot));
        let (page, at) = match turn % 4 {
            0 => ("This week", "/week"),
            1 => ("Standing", "/standing"),
            2 => ("Promises", "/promises"),
            _ => ("a lot", of_lot.as_str()),
        };
        let sent = request("GET", at, &[("host", host)], b"");
        seen.push(ask(&mut line, host, &sent, page, 200));
        turn += 1;
    }
    seen
}

/// Records count after count, each of which finds what stands.
fn write(host: &str, lots: &[Lot], writer: usize, until: Instant, ids: &AtomicU64) -> Vec<Seen> {
    let mut seen = Vec::new();
    let mut line = None;
    let mut turn = writer;
    while now() < until {
        let lot = &lots[turn * 11 % lots.len()];
        let id = format!("01JZ{:022}", ids.fetch_add(1, Ordering::Relaxed));
        let plants = lot.plants.to_string();
        let fields = [
            ("id", id.as_str()),
            ("by", "load"),
            ("lot", &lot.name),
            ("plants", &plants),
        ];
        let sent = form(host, "/do/count", &fields);
        seen.push(ask(&mut line, host, &sent, "a count", 303));
        turn += WRITERS;
    }
    seen
}

/// One request over a connection that is kept as long as it holds.
fn ask(line: &mut Option<Line>, host: &str, sent: &[u8], page: &'static str, status: u16) -> Seen {
    let began = now();
    let kept = line.take().map_or_else(|| Line::to(host), Ok);
    let answer = kept.and_then(|mut it| it.ask(sent).map(|answer| (answer, it)));
    let took = began.elapsed();
    match answer {
        Ok((answer, kept)) => {
            *line = Some(kept);
            Seen {
                page,
                took,
                bytes: answer.body.len(),
                is_right: answer.status == status,
            }
        }
        Err(_) => Seen {
            page,
            took,
            bytes: 0,
            is_right: false,
        },
    }
}

fn print(seen: &[Seen], seconds: u64) {
    let mut pages: BTreeMap<&str, Vec<&Seen>> = BTreeMap::new();
    for it in seen {
        pages.entry(it.page).or_default().push(it);
    }
    println!(
        "{} requests in {seconds} s by {READERS} readers and {WRITERS} writers",
        seen.len()
    );
    println!("page        requests  failed  p50 ms  p99 ms  max ms  bytes, mean");
    for (page, seen) in pages {
        let mut took: Vec<u128> = seen.iter().map(|it| it.took.as_millis()).collect();
        took.sort_unstable();
        let at = |share: usize| took[(took.len() - 1) * share / 100];
        let failed = seen.iter().filter(|it| !it.is_right).count();
        let bytes = seen.iter().map(|it| it.bytes).sum::<usize>() / seen.len();
        println!(
            "{page:<10} {:>9} {failed:>7} {:>7} {:>7} {:>7} {bytes:>12}",
            seen.len(),
            at(50),
            at(99),
            at(100),
        );
    }
}

/// What the system says of the server's memory at its height.
pub fn most_memory(pid: u32) -> Result<String> {
    let Ok(told) = fs::read_to_string(format!("/proc/{pid}/status")) else {
        return Ok("not told by this system".to_owned());
    };
    let line = told.lines().find_map(|it| it.strip_prefix("VmHWM:"));
    Ok(line.context("no VmHWM in /proc")?.trim().to_owned())
}
