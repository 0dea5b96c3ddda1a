//! Several programs on one file, programs that are killed, a full disk.
//!
//! Children are this test program itself, run once more with [`child`] alone and its orders in
//! environment variables. `STORE_KILLS` and `STORE_SECONDS` make the long tests longer.

#![expect(
    clippy::disallowed_methods,
    reason = "tests of processes read the clock"
)]

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use store::{Head, Ledger, NewEntry, Reading, SqliteLedger, StoreError};

use crate::common::{Random, all, append, done};

const ORDERS: &str = "STORE_CHILD";
const LEDGER: &str = "STORE_CHILD_LEDGER";

/// The child's part of the tests below; without orders it does nothing.
#[test]
fn child() {
    let Ok(orders) = env::var(ORDERS) else {
        return;
    };
    let path = PathBuf::from(env::var_os(LEDGER).expect("orders come with a ledger"));
    let (order, number) = orders.split_once(' ').expect("an order and a number");
    match order {
        "append" => append_and_tell(&path, number.parse().expect("a number")),
        name => append_for(&path, name, number.parse().expect("a number")),
    }
}

/// Appends one entry a commit and tells each number as soon as it is acknowledged.
fn append_and_tell(path: &Path, count: usize) {
    let mut ledger = SqliteLedger::open(path).unwrap();
    for number in 1..=count {
        let entry = append(&mut ledger, done(&format!("act-{number}"))).unwrap();
        println!("acked {}", entry.seq);
    }
}

/// Appends for some seconds as the program does: reads what others appended, then decides, then
/// pushes. Every tenth act is one that the other process sends too.
fn append_for(path: &Path, name: &str, seconds: u64) {
    let mut ledger = SqliteLedger::open(path).unwrap();
    let begun = Instant::now();
    let mut known = Head::EMPTY;
    for number in 1_usize.. {
        if begun.elapsed() >= Duration::from_secs(seconds) {
            break;
        }
        let id = match number % 10 {
            0 => format!("both-{number}"),
            _ => format!("{name}-{number}"),
        };
        let mut write = ledger.write().unwrap();
        known = follow(&*write, known);
        if write.done(&id).unwrap().is_none() {
            known = write.push(done(&id)).unwrap().head();
        }
        write.commit().unwrap();
        println!("acked {id}");
    }
}

fn follow(ledger: &dyn Reading, from: Head) -> Head {
    let mut known = from;
    let mut next = |entry: store::Entry| {
        assert_eq!(entry.seq, known.seq + 1);
        known = entry.head();
        ControlFlow::Continue(())
    };
    ledger.entries(from.seq, &mut next).unwrap();
    known
}

fn orders(command: &mut Command, path: &Path, orders: &str) -> Child {
    command
        .env(ORDERS, orders)
        .env(LEDGER, path)
        .stdout(Stdio::piped())
        .spawn()
        .expect("the test program runs again")
}

const CHILD_ARGUMENTS: [&str; 3] = ["--exact", "processes::child", "--nocapture"];

fn spawn(path: &Path, what: &str) -> Child {
    let mut command = Command::new(env::current_exe().unwrap());
    orders(command.args(CHILD_ARGUMENTS), path, what)
}

/// What a child said it was told, from its lines; the last one may be cut short by a kill.
fn acked(line: &str) -> Option<&str> {
    line.split_once("acked ").map(|(_, what)| what.trim_end())
}

fn from_environment(name: &str, default: u64) -> u64 {
    env::var(name).map_or(default, |value| value.parse().expect("a number"))
}

#[test]
fn what_was_acknowledged_outlives_a_kill() {
    let kills = from_environment("STORE_KILLS", 10);
    let mut random = Random(11);
    let (mut told, mut more) = (0, 0);
    for _ in 0..kills {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger");
        SqliteLedger::create(&path, "demo").unwrap();
        let last = kill_in_the_middle(&path, &mut random);
        let ledger = SqliteLedger::open(&path).unwrap();
        let verified = ledger.verify(None).unwrap();
        assert!(verified.entries >= last, "{} of {last}", verified.entries);
        assert!(verified.entries <= last + 1, "one more may be on its way");
        let ids = all(&ledger).unwrap().into_iter().map(|entry| entry.act_id);
        assert!(ids.eq((1..=verified.entries).map(|number| format!("act-{number}"))));
        told += last;
        more += verified.entries - last;
    }
    println!("{kills} kills: {told} acknowledged entries all there, {more} more written");
}

/// Kills a child that appends 1,000 entries somewhere in the middle: the last one it told of.
fn kill_in_the_middle(path: &Path, random: &mut Random) -> u64 {
    let mut child = spawn(path, "append 1000");
    let mut lines = BufReader::new(child.stdout.take().unwrap());
    let (at, pause) = (1 + random.next() % 990, random.next() % 1_500);
    let mut last = 0;
    let mut line = String::new();
    while last < at {
        line.clear();
        assert!(lines.read_line(&mut line).unwrap() > 0, "the child ended");
        last = acked(&line).map_or(last, |seq| seq.parse().unwrap());
    }
    std::thread::sleep(Duration::from_micros(pause));
    child.kill().unwrap();
    child.wait().unwrap();
    let mut rest = String::new();
    lines.read_to_string(&mut rest).unwrap();
    // A line without its end may lack digits: it was never told in full.
    let whole = rest
        .split_inclusive('\n')
        .filter(|line| line.ends_with('\n'));
    let told = whole.filter_map(acked).map(|seq| seq.parse().unwrap());
    told.fold(last, u64::max)
}

#[test]
fn two_processes_lose_nothing_and_do_nothing_twice() {
    let seconds = from_environment("STORE_SECONDS", 5);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger");
    SqliteLedger::create(&path, "demo").unwrap();
    // Both are heard at once: a child whose answers nobody reads soon has to wait with them.
    let children = ["one", "other"].map(|name| {
        let child = spawn(&path, &format!("{name} {seconds}"));
        std::thread::spawn(|| child.wait_with_output())
    });
    let told = children.map(|child| {
        let output = child.join().unwrap().unwrap();
        assert!(output.status.success());
        let text = String::from_utf8(output.stdout).unwrap();
        text.lines()
            .filter_map(acked)
            .map(str::to_owned)
            .collect::<Vec<_>>()
    });
    let ledger = SqliteLedger::open(&path).unwrap();
    let mut times = BTreeMap::new();
    for entry in all(&ledger).unwrap() {
        *times.entry(entry.act_id).or_insert(0) += 1;
    }
    assert!(times.values().all(|count| *count == 1), "none twice");
    let (fewer, more) = (
        told[0].len().min(told[1].len()),
        told[0].len().max(told[1].len()),
    );
    assert!(
        20 * fewer > more,
        "both have their turn: {fewer} and {more}"
    );
    for id in told.iter().flatten() {
        assert!(times.contains_key(id), "{id} is lost");
    }
    let sent: std::collections::BTreeSet<_> = told.iter().flatten().collect();
    assert_eq!(times.len(), sent.len(), "nothing that nobody was told of");
    assert_eq!(ledger.verify(None).unwrap().entries, times.len() as u64);
    println!(
        "{} and {} acts in {seconds} s",
        told[0].len(),
        told[1].len()
    );
}

/// Between two answers of a child there must be a sync of the log.
#[test]
fn the_disk_is_synced_before_the_answer() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger");
    SqliteLedger::create(&path, "demo").unwrap();
    let calls = folder.path().join("calls");
    let mut command = Command::new("strace");
    command
        .args(["-f", "-y", "-e", "trace=fsync,fdatasync,write", "-o"])
        .arg(&calls)
        .arg(env::current_exe().unwrap())
        .args(CHILD_ARGUMENTS)
        .env(ORDERS, "append 20")
        .env(LEDGER, &path)
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    if !command.status().is_ok_and(|status| status.success()) {
        println!("skipped: strace is not installed or may not be used here");
        return;
    }
    let mut synced = false;
    let mut answers = 0;
    for call in fs::read_to_string(&calls).unwrap().lines() {
        if call.contains("sync(") && call.contains("ledger-wal") && call.ends_with("= 0") {
            synced = true;
        } else if call.contains("acked ") {
            assert!(synced, "answered before it was on the disk: {call}");
            synced = false;
            answers += 1;
        }
    }
    assert_eq!(answers, 20);
}

/// A small disk of its own, which is taken away again.
struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    fn mount() -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=3m", "tmpfs"])
            .arg(folder.path())
            .stderr(Stdio::null())
            .status();
        mounted
            .is_ok_and(|status| status.success())
            .then_some(Self(folder))
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

#[test]
fn a_full_disk_loses_nothing() {
    let Some(disk) = SmallDisk::mount() else {
        println!("skipped: a small disk cannot be mounted here");
        return;
    };
    let ballast = disk.0.path().join("ballast");
    fs::write(&ballast, vec![1; 1 << 20]).unwrap();
    let path = disk.0.path().join("ledger");
    let mut ledger = SqliteLedger::create(&path, "demo").unwrap();
    let entry = |number: u64| NewEntry {
        outcome: vec![number as u8; 3_000],
        ..done(&format!("act-{number}"))
    };
    let mut count = 0;
    let error = loop {
        match append(&mut ledger, entry(count + 1)) {
            Ok(entry) => count = entry.seq,
            Err(error) => break error,
        }
    };
    assert!(matches!(error, StoreError::Full), "{error:?}");
    assert!(error.to_string().contains("the disk is full"));
    assert!(count > 10);
    let head = ledger.head().unwrap();
    assert_eq!(ledger.verify(None).unwrap().entries, count);
    a_large_write_fails_as_a_whole(&mut ledger);
    assert_eq!(ledger.head().unwrap(), head);

    fs::remove_file(&ballast).unwrap();
    let next = append(&mut ledger, entry(count + 1)).unwrap();
    assert_eq!(next.seq, count + 1);
    drop(ledger);
    let verified = SqliteLedger::open(&path)
        .unwrap()
        .verify(Some(head))
        .unwrap();
    assert_eq!(verified.entries, count + 1);
    println!("{count} entries, then a full disk, then one more");
}

/// After the first error nothing more is taken, not even what would find room.
fn a_large_write_fails_as_a_whole(ledger: &mut SqliteLedger) {
    let mut write = ledger.write().unwrap();
    let large = NewEntry {
        outcome: vec![0; 10 << 20],
        ..done("large")
    };
    assert!(matches!(write.push(large), Err(StoreError::Full)));
    let small = write.push(done("small"));
    assert!(small.is_err() && write.commit().is_err());
}
