//! Appends and reads, each beside plain SQLite that writes the same bytes without a chain:
//! `cargo bench -p store --profile dev`.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

use std::ops::ControlFlow;
use std::path::Path;
use std::time::Instant;

use rusqlite::{Connection, params};
use store::{Ledger, NewEntry, Reading, SqliteLedger};

const SINGLE: usize = 1_000;
const BULK: usize = 20_000;
const READ: usize = 100_000;
const LARGE: usize = 1_000_000;
const STATE_MB: usize = 50;

fn main() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let mut ledger = SqliteLedger::create(&folder.path().join("ledger"), "demo").expect("new");
    let mut plain = plain(&folder.path().join("plain"));

    let ours = medians(SINGLE, |number| append(&mut ledger, number, 1));
    let theirs = medians(SINGLE, |number| insert(&mut plain, number, 1));
    println!("one durable append, median of {SINGLE}: {ours:.3} ms; plain SQLite {theirs:.3} ms");

    let ours = seconds(|| append(&mut ledger, SINGLE, BULK));
    let theirs = seconds(|| insert(&mut plain, SINGLE, BULK));
    told("appended at once", BULK, ours, theirs);

    append(&mut ledger, SINGLE + BULK, READ - SINGLE - BULK);
    insert(&mut plain, SINGLE + BULK, READ - SINGLE - BULK);
    told(
        "read",
        READ,
        seconds(|| read(&ledger)),
        seconds(|| select(&plain)),
    );

    let ours = seconds(|| append(&mut ledger, READ, LARGE - READ));
    let theirs = seconds(|| insert(&mut plain, READ, LARGE - READ));
    told("appended at once", LARGE - READ, ours, theirs);
    told(
        "read",
        LARGE,
        seconds(|| read(&ledger)),
        seconds(|| select(&plain)),
    );
    let verified = seconds(|| assert!(ledger.verify(None).is_ok()));
    println!("{LARGE} verified: {verified:.2} s");
    snapshots(&ledger);
}

fn snapshots(ledger: &SqliteLedger) {
    let head = ledger.head().expect("sound");
    let state = vec![7; STATE_MB << 20];
    let save = || ledger.save_snapshot("books", head, &state).expect("room");
    let (first, anew) = (seconds(save), seconds(save));
    let read = seconds(|| assert!(ledger.snapshot("books").expect("sound").is_some()));
    println!("snapshot of {STATE_MB} MB: saved {first:.2} s, anew {anew:.2} s, read {read:.2} s");
}

fn told(what: &str, count: usize, ours: f64, theirs: f64) {
    let (rate, plain) = (count as f64 / ours, count as f64 / theirs);
    println!(
        "{count} {what}: {ours:.3} s, {rate:.0} a second; plain SQLite {theirs:.3} s, {plain:.0}"
    );
}

fn seconds(what: impl FnOnce()) -> f64 {
    let begun = Instant::now();
    what();
    begun.elapsed().as_secs_f64()
}

fn medians(count: usize, mut what: impl FnMut(usize)) -> f64 {
    let mut times: Vec<_> = (0..count).map(|n| seconds(|| what(n))).collect();
    times.sort_by(f64::total_cmp);
    times[count / 2] * 1e3
}

/// An act of some 250 bytes, as a count in a bed is.
fn entry(number: usize) -> NewEntry {
    NewEntry {
        act_id: format!("01J{number:023}"),
        recorded_at: "2027-03-04T10:00:00Z".into(),
        done: true,
        act: format!(
            r#"{{"act":"count","lot":"carrizo-{number}","plants":1250,"on":"2027-03-04"}}"#
        )
        .into_bytes(),
        outcome: format!(
            r#"{{"events":[{{"moved":{number},"from":"carrizo","to":"difference"}}]}}"#
        )
        .into_bytes(),
    }
}

fn append(ledger: &mut SqliteLedger, from: usize, count: usize) {
    let mut write = ledger.write().expect("nobody else writes");
    for number in from..from + count {
        write.push(entry(number)).expect("the ids differ");
    }
    write.commit().expect("there is room");
}

fn read(ledger: &SqliteLedger) {
    let mut bytes = 0;
    let mut visit = |entry: store::Entry| {
        bytes += entry.act.len() + entry.outcome.len();
        ControlFlow::Continue(())
    };
    ledger.entries(0, &mut visit).expect("sound");
    assert!(bytes > 0);
}

fn plain(path: &Path) -> Connection {
    let connection = Connection::open(path).expect("new");
    connection
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
             CREATE TABLE entries (seq INTEGER PRIMARY KEY, act_id TEXT UNIQUE, recorded_at TEXT,
                                   done INTEGER, act BLOB, outcome BLOB)",
        )
        .expect("valid");
    connection
}

fn insert(connection: &mut Connection, from: usize, count: usize) {
    let transaction = connection.transaction().expect("nobody else writes");
    for number in from..from + count {
        let new = entry(number);
        transaction
            .prepare_cached(
                "INSERT INTO entries (act_id, recorded_at, done, act, outcome)
                 VALUES (?1, ?2, ?3, ?4, ?5)",
            )
            .expect("valid")
            .execute(params![
                new.act_id,
                new.recorded_at,
                new.done,
                new.act,
                new.outcome
            ])
            .expect("the ids differ");
    }
    transaction.commit().expect("there is room");
}

fn select(connection: &Connection) {
    let mut statement = connection
        .prepare("SELECT seq, act_id, recorded_at, done, act, outcome FROM entries ORDER BY seq")
        .expect("valid");
    let mut rows = statement.query([]).expect("valid");
    let mut bytes = 0;
    while let Some(row) = rows.next().expect("sound") {
        let seq: i64 = row.get(0).expect("a number");
        let texts: (String, String) = (row.get(1).expect("text"), row.get(2).expect("text"));
        let done: bool = row.get(3).expect("a number");
        let parts: (Vec<u8>, Vec<u8>) = (row.get(4).expect("bytes"), row.get(5).expect("bytes"));
        bytes += parts.0.len() + parts.1.len() + texts.0.len() + usize::from(done && seq > 0);
    }
    assert!(bytes > 0);
}
