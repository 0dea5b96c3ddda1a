//! Bytes changed behind the program's back.

use std::fs;
use std::ops::Range;
use std::path::Path;

use rusqlite::Connection;
use store::{Damage, Entry, Ledger, Reading, SqliteLedger, StoreError, Verified};

use crate::common::{Random, all, append, damage, done, folder_with_ledger};

const FLIPS: usize = 200;

/// Every place at which `part` stands.
fn places(bytes: &[u8], part: &[u8]) -> Vec<Range<usize>> {
    bytes
        .windows(part.len())
        .enumerate()
        .filter(|(_, window)| *window == part)
        .map(|(at, _)| at..at + part.len())
        .collect()
}

fn entries_of(path: &Path) -> Vec<Entry> {
    all(&SqliteLedger::open(path).unwrap()).unwrap()
}

fn verify(path: &Path) -> Result<Verified, StoreError> {
    SqliteLedger::open(path)?.verify(None)
}

#[test]
fn a_flipped_byte_of_an_act_or_outcome_is_found_and_its_entry_named() {
    let (_folder, path) = folder_with_ledger(300);
    let entries = entries_of(&path);
    let sound = fs::read(&path).unwrap();
    let mut random = Random(1);
    for _ in 0..FLIPS {
        let entry = &entries[random.below(entries.len())];
        let part = [&entry.act, &entry.outcome][random.below(2)];
        let (at, change) = (random.below(part.len()), 1 << random.below(8));
        let mut bytes = sound.clone();
        // Pages that were divided leave copies behind, which nobody reads: change those too.
        let copies = places(&sound, part);
        assert!(!copies.is_empty());
        for copy in copies {
            bytes[copy.start + at] ^= change;
        }
        fs::write(&path, &bytes).unwrap();
        let found = damage(verify(&path));
        let Damage::Entry { seq, act_id, .. } = &found else {
            panic!("{found}");
        };
        assert_eq!((*seq, act_id.as_ref()), (entry.seq, Some(&entry.act_id)));
    }
    fs::write(&path, &sound).unwrap();
    assert_eq!(verify(&path).unwrap().entries, 300);
}

#[test]
fn a_flipped_byte_anywhere_is_found_or_without_effect() {
    let (_folder, path) = folder_with_ledger(100);
    let mut ledger = SqliteLedger::open(&path).unwrap();
    let long = store::NewEntry {
        outcome: Random(2).bytes(20_000),
        ..done("long")
    };
    append(&mut ledger, long).unwrap();
    ledger.put_blob(&Random(3).bytes(10_000)).unwrap();
    drop(ledger);
    let entries = entries_of(&path);
    let sound = fs::read(&path).unwrap();
    let mut random = Random(4);
    let mut found = 0;
    for _ in 0..FLIPS {
        let mut bytes = sound.clone();
        let at = random.below(bytes.len());
        bytes[at] ^= 1 << random.below(8);
        fs::write(&path, &bytes).unwrap();
        if verify(&path).is_err() {
            found += 1;
            continue;
        }
        assert_eq!(entries_of(&path), entries, "byte {at}");
        let ledger = SqliteLedger::open(&path).unwrap();
        for entry in entries.iter().filter(|entry| entry.done) {
            let found = ledger.done(&entry.act_id).unwrap();
            assert_eq!(found.as_ref(), Some(entry), "byte {at}");
        }
    }
    println!("{found} of {FLIPS} flips found, the others without effect");
    assert!(found > FLIPS / 2, "most of the file is entries");
}

/// Changes the byte after `before` wherever that stands with `after` behind it.
fn change(path: &Path, before: &[u8], after: &[u8]) {
    let mut file = fs::read(path).unwrap();
    let copies = places(&file, &[before, after].concat());
    assert!(!copies.is_empty());
    for copy in copies {
        file[copy.start + before.len()] ^= 1;
    }
    fs::write(path, &file).unwrap();
}

#[test]
fn a_changed_key_is_found() {
    // A row of another nursery all of a sudden, in the middle: a walk would end before it.
    let (_folder, path) = folder_with_ledger(10);
    change(&path, b"", b"demo\x04act-4");
    let words = "entry 4: it is missing; the ledger ends at entry 10";
    assert_eq!(damage(verify(&path)).to_string(), words);

    // The index of acts that were done would no longer find one.
    let (_folder, path) = folder_with_ledger(10);
    change(&path, b"demo", b"act-4\x04");
    let ledger = SqliteLedger::open(&path).unwrap();
    assert_eq!(ledger.done("act-4").unwrap(), None);
    assert!(matches!(damage(ledger.verify(None)), Damage::File(_)));
}

/// Changes the database as somebody could who knows SQL and takes the triggers away.
fn behind_its_back(path: &Path, sql: &str) {
    let connection = Connection::open(path).unwrap();
    connection
        .execute_batch(
            "PRAGMA foreign_keys = OFF; DROP TRIGGER entries_stay; DROP TRIGGER entries_are_kept;",
        )
        .unwrap();
    connection.execute_batch(sql).unwrap();
    connection
        .execute_batch(
            "CREATE TRIGGER entries_stay BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'entries never change'); END;
CREATE TRIGGER entries_are_kept BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'entries are never removed'); END;",
        )
        .unwrap();
}

#[test]
fn what_sql_can_change_is_found_and_named() {
    for (sql, words) in [
        (
            "UPDATE entries SET done = 0 WHERE seq = 4",
            "entry 4 (act act-4): it is not what was written",
        ),
        (
            "UPDATE entries SET act_id = 'x' WHERE seq = 4",
            "entry 4 (act x): it is not what was written",
        ),
        (
            "UPDATE entries SET recorded_at = '' WHERE seq = 4",
            "entry 4 (act act-4): it is not what was written",
        ),
        (
            "UPDATE entries SET hash = zeroblob(32) WHERE seq = 4",
            "entry 4 (act act-4): it is not what was written",
        ),
        (
            "DELETE FROM entries WHERE seq = 4",
            "entry 4: it is missing; entry 5 comes in its place",
        ),
        (
            "DELETE FROM entries WHERE seq = 1",
            "entry 1: it is missing; entry 2 comes in its place",
        ),
        (
            "UPDATE entries SET seq = 99 WHERE seq = 4",
            "entry 4: it is missing; entry 5 comes in its place",
        ),
        (
            "UPDATE entries SET nursery = 'x' WHERE seq = 10",
            "the file is not sound: it holds rows of a nursery that it does not name",
        ),
        (
            "DROP INDEX runs_of_kind",
            "the file is not sound: its tables are not those it was made with",
        ),
    ] {
        let (_folder, path) = folder_with_ledger(10);
        assert!(verify(&path).is_ok());
        behind_its_back(&path, sql);
        assert_eq!(damage(verify(&path)).to_string(), words, "{sql}");
    }
}

#[test]
fn a_cut_off_tail_is_found_against_the_kept_head() {
    let (_folder, path) = folder_with_ledger(10);
    let kept = verify(&path).unwrap().head;
    behind_its_back(&path, "DELETE FROM entries WHERE seq > 6");
    let ledger = SqliteLedger::open(&path).unwrap();
    assert_eq!(ledger.verify(None).unwrap().entries, 6, "sound in itself");
    let cut = Damage::CutOff { end: 6, kept };
    assert_eq!(damage(ledger.verify(Some(kept))), cut);
}

#[test]
fn a_tail_written_anew_is_found_against_the_kept_head() {
    let (_folder, path) = folder_with_ledger(10);
    let kept = verify(&path).unwrap().head;
    behind_its_back(&path, "DELETE FROM entries WHERE seq = 10");
    let mut ledger = SqliteLedger::open(&path).unwrap();
    let found = append(&mut ledger, done("another")).unwrap().hash;
    assert!(ledger.verify(None).is_ok(), "sound in itself");
    let other = Damage::OtherHead { kept, found };
    assert_eq!(damage(ledger.verify(Some(kept))), other);
}

#[test]
fn a_changed_blob_is_found() {
    let (_folder, path) = folder_with_ledger(1);
    let bytes = Random(5).bytes(50);
    let hash = SqliteLedger::open(&path).unwrap().put_blob(&bytes).unwrap();
    let mut file = fs::read(&path).unwrap();
    for copy in places(&file, &bytes) {
        file[copy.start] ^= 1;
    }
    fs::write(&path, &file).unwrap();
    let ledger = SqliteLedger::open(&path).unwrap();
    assert_eq!(damage(ledger.blob(&hash)), Damage::Blob(hash));
    assert_eq!(damage(ledger.verify(None)), Damage::Blob(hash));
}

#[test]
fn a_damaged_snapshot_is_no_snapshot() {
    let (_folder, path) = folder_with_ledger(3);
    let bytes = Random(6).bytes(50);
    let ledger = SqliteLedger::open(&path).unwrap();
    let head = ledger.verify(None).unwrap().head;
    ledger.save_snapshot("books", head, &bytes).unwrap();
    assert_eq!(
        ledger.snapshot("books").unwrap(),
        Some((head, bytes.clone()))
    );
    drop(ledger);
    let mut file = fs::read(&path).unwrap();
    for copy in places(&file, &bytes) {
        file[copy.end - 1] ^= 1;
    }
    fs::write(&path, &file).unwrap();
    let ledger = SqliteLedger::open(&path).unwrap();
    assert_eq!(ledger.snapshot("books").unwrap(), None);
    assert!(ledger.verify(None).is_ok(), "a snapshot is not the ledger");
    for sql in [
        "seq = 2",
        "seq = -1",
        "head = zeroblob(32)",
        "head = x'00'",
        "key = 'other'",
    ] {
        ledger.save_snapshot("books", head, &bytes).unwrap();
        let connection = Connection::open(&path).unwrap();
        connection
            .execute("DELETE FROM snapshots WHERE key = 'other'", [])
            .unwrap();
        connection
            .execute(&format!("UPDATE snapshots SET {sql}"), [])
            .unwrap();
        assert_eq!(ledger.snapshot("books").unwrap(), None, "{sql}");
        assert_eq!(ledger.snapshot("other").unwrap(), None, "{sql}");
    }
}
