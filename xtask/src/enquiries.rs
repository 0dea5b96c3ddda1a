//! How fast enquiries are answered, and how soon odds follow a count.

use std::path::Path;
use std::process::ExitCode;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, Result, ensure};
use screens::http::{self, Line, form, request};

use crate::load::{most_memory, now};
use crate::program;

/// Enquiries a second.
const RATE: u32 = 100;
/// Lines that ask, each in its turn.
const CALLERS: u32 = 8;
/// Counts after which the odds are waited for.
const COUNTS: usize = 5;
/// The longest wait for odds.
const PATIENCE: Duration = Duration::from_mins(2);

/// Asks for so many seconds at the rate, each enquiry at its own moment, whether or not earlier ones are
/// answered: what one waits is counted from that moment.
pub fn run(seconds: u64, nursery: &Path) -> Result<ExitCode> {
    let (served, _folder) = program::serve(Some(nursery))?;
    let host = served.host.as_str();
    let drawn = wait_for_odds(host, 0)?;
    println!("first odds after {:.1} s", drawn.as_secs_f64());
    let asked = addresses(host)?;
    ensure!(
        !asked.is_empty(),
        "the nursery has no order lines to ask about"
    );
    let begin = now();
    let took: Vec<Told> = thread::scope(|scope| {
        let asked = asked.as_slice();
        let callers: Vec<_> = (0..CALLERS)
            .map(|caller| scope.spawn(move || call(host, asked, caller, begin, seconds)))
            .collect();
        let told = callers.into_iter().map(|it| it.join().unwrap_or_default());
        told.flatten().collect()
    });
    let failed = took.iter().filter(|it| it.took.is_none()).count();
    let of = |is_first: bool| took.iter().filter(move |it| it.is_first == is_first);
    println!("{} enquiries in {seconds} s, {failed} failed", took.len());
    print(
        "asked for the first time",
        of(true).filter_map(|it| it.took),
    );
    print("asked again", of(false).filter_map(|it| it.took));
    print("all", took.iter().filter_map(|it| it.took));
    println!("most memory of the server: {}", most_memory(served.pid())?);
    for count in 0..COUNTS {
        let follows = record_count(host, count)?;
        println!("odds followed a count after {:.2} s", follows.as_secs_f64());
    }
    Ok(if failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

/// One enquiry.
struct Told {
    /// Whether nobody asked it before.
    is_first: bool,
    /// From its moment until it was answered; none where it was not.
    took: Option<Duration>,
}

fn print(name: &str, took: impl Iterator<Item = Duration>) {
    let mut took: Vec<Duration> = took.collect();
    took.sort_unstable();
    let at = |share: f64| {
        let last = took.len().saturating_sub(1);
        let place = (last as f64 * share).round() as usize;
        took.get(place)
            .map_or(f64::NAN, |it| it.as_secs_f64() * 1e3)
    };
    println!(
        "  {name}: {}, p50 {:.1} ms, p90 {:.1} ms, p99 {:.1} ms, longest {:.1} ms",
        took.len(),
        at(0.5),
        at(0.9),
        at(0.99),
        at(1.0)
    );
}

/// Every `CALLERS`-th enquiry.
fn call(host: &str, asked: &[String], caller: u32, begin: Instant, seconds: u64) -> Vec<Told> {
    let mut line = Line::to(host).ok();
    let mut took = Vec::new();
    let all = RATE * u32::try_from(seconds).unwrap_or(u32::MAX / RATE);
    for number in (caller..all).step_by(CALLERS as usize) {
        let moment = begin + Duration::from_secs(1) * number / RATE;
        thread::sleep(moment.saturating_duration_since(now()));
        let at = &asked[number as usize % asked.len()];
        let sent = request("GET", at, &[("host", host)], b"");
        let answer = line.as_mut().and_then(|it| it.ask(&sent).ok());
        let answered = answer.filter(|it| it.status == 200);
        if answered.is_none() {
            line = Line::to(host).ok();
        }
        took.push(Told {
            is_first: (number as usize) < asked.len(),
            took: answered.map(|_| moment.elapsed()),
        });
    }
    took
}

/// One enquiry for each order line: as many plants of the same, by the day it is due.
fn addresses(host: &str) -> Result<Vec<String>> {
    let answer = http::get(host, "/promises.csv")?;
    let mut table = csv::Reader::from_reader(answer.body.as_slice());
    let heads = table.headers()?.clone();
    let column = |name: &str| {
        let at = heads.iter().position(|it| it == name);
        at.with_context(|| format!("/promises.csv has no {name}"))
    };
    let [variety, rootstocks, size, plants, due] =
        ["variety", "rootstocks", "size", "plants", "due"].map(column);
    let (variety, rootstocks, size, plants, due) = (variety?, rootstocks?, size?, plants?, due?);
    let addresses = table.records().map(|row| {
        let row = row?;
        let rootstock = row[rootstocks].split(';').next().unwrap_or_default();
        Ok(format!(
            "/enquiry?variety={}&rootstock={}&size={}&plants={}&by={}&odds=90",
            http::encode(&row[variety]),
            http::encode(rootstock),
            http::encode(&row[size]),
            &row[plants],
            &row[due]
        ))
    });
    addresses.collect()
}

/// Waits for odds that know of an entry.
fn wait_for_odds(host: &str, entry: u64) -> Result<Duration> {
    let began = now();
    loop {
        let told: serde_json::Value = serde_json::from_slice(&http::get(host, "/odds.json")?.body)?;
        if told["entries"].as_u64().is_some_and(|it| it >= entry) && told["is_stale"] == false {
            return Ok(began.elapsed());
        }
        ensure!(began.elapsed() < PATIENCE, "the odds do not come: {told}");
        thread::sleep(Duration::from_millis(20));
    }
}

/// Records that one lot has lost a plant, and waits until the odds know it.
fn record_count(host: &str, turn: usize) -> Result<Duration> {
    let answer = http::get(host, "/standing.csv")?;
    let mut table = csv::Reader::from_reader(answer.body.as_slice());
    let heads = table.headers()?.clone();
    let at = |name: &str| heads.iter().position(|it| it == name).context("a column");
    let (lot, growing, ready) = (at("lot")?, at("growing")?, at("ready")?);
    let row = table.records().nth(turn).context("a lot")??;
    let number = |text: &str| text.parse::<u64>().unwrap_or(0);
    let plants = (number(&row[growing]) + number(&row[ready])).saturating_sub(1);
    let before: serde_json::Value = serde_json::from_slice(&http::get(host, "/odds.json")?.body)?;
    let id = format!("01JX{turn:022}");
    let fields = [
        ("id", id.as_str()),
        ("by", "load"),
        ("lot", &row[lot]),
        ("plants", &plants.to_string()),
    ];
    let sent = form(host, "/do/count", &fields);
    let answer = Line::to(host)?.ask(&sent)?;
    ensure!(answer.status == 303, "the count was not recorded");
    wait_for_odds(host, before["entries"].as_u64().unwrap_or(0) + 1)
}
