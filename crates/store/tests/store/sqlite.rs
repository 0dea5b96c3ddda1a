//! What is particular to the one file.

use std::fs;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use rusqlite::Connection;
use store::{Ledger, Reading, SqliteLedger, StoreError};

use crate::common::{Random, all, append, damage, done, fill, folder_with_ledger};
use crate::contract::{self, Connect};

#[test]
fn it_keeps_the_contract() {
    contract::run(&|| -> Connect {
        let folder = Rc::new(tempfile::tempdir().unwrap());
        let path = folder.path().join("ledger");
        let first = SqliteLedger::create(&path, "first").unwrap();
        Box::new(move |nursery| {
            let _stays = &folder;
            Box::new(first.beside(nursery).unwrap())
        })
    });
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_new_ledger_takes_no_file_that_is_there() {
    let (folder, path) = folder_with_ledger(1);
    let other = folder.path().join("letter.txt");
    fs::write(&other, "Dear Ada").unwrap();
    for path in [&path, &other] {
        let before = fs::read(path).unwrap();
        let created = SqliteLedger::create(path, "demo");
        assert!(matches!(created, Err(StoreError::AlreadyThere(_))));
        assert_eq!(fs::read(path).unwrap(), before);
    }
    let nowhere = SqliteLedger::create(&folder.path().join("no/where"), "demo");
    assert!(matches!(nowhere, Err(StoreError::NotFound(_))));
}

#[test]
fn only_a_ledger_of_this_version_is_opened() {
    let (folder, path) = folder_with_ledger(1);
    assert_eq!(SqliteLedger::open(&path).unwrap().nursery(), "demo");
    let missing = folder.path().join("missing");
    let opened = SqliteLedger::open(&missing);
    assert!(matches!(opened, Err(StoreError::NotFound(_))));
    assert!(!missing.exists());

    let text = folder.path().join("text");
    fs::write(&text, "no database at all\n".repeat(100)).unwrap();
    let empty = folder.path().join("empty");
    fs::write(&empty, "").unwrap();
    let foreign = folder.path().join("foreign");
    let connection = Connection::open(&foreign).unwrap();
    connection
        .execute_batch("CREATE TABLE songs (name)")
        .unwrap();
    drop(connection);
    let newer = folder.path().join("newer");
    fs::copy(&path, &newer).unwrap();
    let connection = Connection::open(&newer).unwrap();
    connection.pragma_update(None, "user_version", 3).unwrap();
    drop(connection);

    for (path, words) in [
        (&text, "it is not a database"),
        (&empty, "it belongs to another program"),
        (&foreign, "it belongs to another program"),
        (&newer, "it was written by a newer version"),
    ] {
        let before = fs::read(path).unwrap();
        let error = SqliteLedger::open(path).unwrap_err();
        assert!(matches!(error, StoreError::NotALedger { .. }), "{error:?}");
        assert!(error.to_string().ends_with(words), "{error}");
        assert_eq!(fs::read(path).unwrap(), before, "and left as it was");
    }
}

#[test]
fn entries_and_blobs_can_only_be_added() {
    let (_folder, path) = folder_with_ledger(3);
    SqliteLedger::open(&path)
        .unwrap()
        .put_blob(b"weather")
        .unwrap();
    let connection = Connection::open(&path).unwrap();
    for sql in [
        "UPDATE entries SET act = x'00' WHERE seq = 2",
        "UPDATE entries SET nursery = 'other'",
        "DELETE FROM entries WHERE seq = 3",
        "DELETE FROM entries",
        "UPDATE blobs SET bytes = x'00'",
        "DELETE FROM blobs",
    ] {
        let error = connection.execute(sql, []).unwrap_err().to_string();
        assert!(error.contains(" never "), "{sql}: {error}");
    }
    let verified = SqliteLedger::open(&path).unwrap().verify(None).unwrap();
    assert_eq!(verified.entries, 3);
}

/// A file as the first version made it.
fn of_the_first_version(path: &Path) {
    fill(path, 3);
    let connection = Connection::open(path).unwrap();
    let no_devices = "DROP TABLE devices; PRAGMA user_version = 1;";
    connection.execute_batch(no_devices).unwrap();
}

#[test]
fn a_file_of_the_first_version_is_opened_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger");
    of_the_first_version(&path);
    let before = all(&SqliteLedger::open(&path).unwrap()).unwrap();
    assert_eq!(before.len(), 3);
    let mut ledger = SqliteLedger::open(&path).unwrap();
    assert_eq!(ledger.devices().unwrap(), []);
    append(&mut ledger, done("after")).unwrap();
    let verified = ledger.verify(Some(before[2].head())).unwrap();
    assert_eq!(verified.entries, 4);

    let old = folder.path().join("old");
    of_the_first_version(&old);
    SqliteLedger::restore(&old, &path).unwrap_err();
    drop(ledger);
    SqliteLedger::restore(&old, &path).unwrap();
    assert_eq!(count(&path), 3, "a backup of the first version is put back");
}

#[test]
fn a_restored_ledger_lets_no_device_in() {
    let (folder, path) = folder_with_ledger(2);
    let ledger = SqliteLedger::open(&path).unwrap();
    let invitation = contract::devices::invitation(&ledger, "d1", "Ada");
    ledger.invite(&invitation).unwrap();
    let backup = folder.path().join("backup");
    ledger.backup(&backup).unwrap();
    drop(ledger);
    SqliteLedger::restore(&backup, &path).unwrap();
    assert_eq!(SqliteLedger::open(&path).unwrap().devices().unwrap(), []);
    let kept = SqliteLedger::open(&backup).unwrap();
    assert_eq!(kept.devices().unwrap().len(), 1, "the backup is as it was");
}

/// How often a text stands in the files of a folder.
fn copies_in(folder: &Path, text: &str) -> usize {
    let mut copies = 0;
    for name in files(folder) {
        let bytes = fs::read(folder.join(name)).unwrap();
        let windows = bytes.windows(text.len());
        copies += windows.filter(|part| *part == text.as_bytes()).count();
    }
    copies
}

#[test]
fn an_erased_name_leaves_no_bytes() {
    let (folder, path) = folder_with_ledger(10);
    let ledger = SqliteLedger::open(&path).unwrap();
    let mut random = Random(8);
    // Names of every length in no order, so that pages are divided and rows moved.
    let mut names: Vec<_> = (0..1_000)
        .map(|_| {
            let name = format!("{:016x}{}", random.next(), "n".repeat(random.below(900)));
            (ledger.name_id("person", &name).unwrap(), name)
        })
        .collect();
    // Closing it empties the log: then a name stands in the table and in its index.
    drop(ledger);
    let copies: Vec<_> = names
        .iter()
        .map(|(_, name)| copies_in(folder.path(), &name[..16]))
        .collect();
    assert!(copies.iter().all(|count| *count >= 2));
    let moved = copies.iter().position(|count| *count > 2);
    let moved = names.remove(moved.expect("a moved row that left a copy behind"));

    let ledger = SqliteLedger::open(&path).unwrap();
    let new = "a name that stands in the log only";
    let new = (ledger.name_id("customer", new).unwrap(), new.to_owned());
    let label = format!("the phone of {}", moved.1);
    let of_moved = store::Invitation {
        person: moved.0.clone(),
        label,
        ..contract::devices::invitation(&ledger, "d1", "Ada")
    };
    ledger.invite(&of_moved).unwrap();
    for (id, name) in [moved, new, names.pop().unwrap()] {
        assert!(copies_in(folder.path(), &name[..16]) > 0);
        ledger.erase_name(&id).unwrap();
        assert_eq!(copies_in(folder.path(), &name[..16]), 0, "{id} {name}");
    }
    for (id, name) in &names {
        assert_eq!(ledger.name(id).unwrap().as_ref(), Some(name));
    }
    assert_eq!(ledger.verify(None).unwrap().entries, 10);
}

#[test]
fn a_backup_is_a_whole_ledger_of_one_moment() {
    let (folder, path) = folder_with_ledger(100);
    let mut ledger = SqliteLedger::open(&path).unwrap();
    append(&mut ledger, done("in the log")).unwrap();
    let head = ledger.head().unwrap();
    let copy = folder.path().join("copy");
    ledger.backup(&copy).unwrap();
    append(&mut ledger, done("after")).unwrap();
    assert!(
        files(folder.path())
            .iter()
            .all(|name| !name.starts_with("copy") || name == "copy")
    );
    let copied = SqliteLedger::open(&copy).unwrap();
    assert_eq!(copied.verify(Some(head)).unwrap().head, head);
    assert_eq!(all(&copied).unwrap(), all(&ledger).unwrap()[..101]);
    let again = ledger.backup(&copy);
    assert!(matches!(again, Err(StoreError::AlreadyThere(_))));
}

#[test]
fn a_damaged_ledger_gives_no_backup() {
    let (folder, path) = folder_with_ledger(20);
    flip_an_act(&path);
    let copy = folder.path().join("copy");
    damage(SqliteLedger::open(&path).unwrap().backup(&copy));
    assert_eq!(files(folder.path()), ["ledger"]);
}

/// Changes a byte of the seventh act where it stands.
fn flip_an_act(path: &Path) {
    let act = all(&SqliteLedger::open(path).unwrap())
        .unwrap()
        .swap_remove(6)
        .act;
    let mut bytes = fs::read(path).unwrap();
    let found = bytes.windows(act.len()).position(|part| part == act);
    bytes[found.expect("the act is stored as it is")] ^= 1;
    fs::write(path, bytes).unwrap();
}

/// A folder with a ledger of 5 entries and a backup of 30.
fn to_restore() -> (tempfile::TempDir, PathBuf, PathBuf) {
    let (folder, path) = folder_with_ledger(5);
    let backup = folder.path().join("backup");
    fill(&backup, 30);
    (folder, path, backup)
}

fn count(path: &Path) -> u64 {
    SqliteLedger::open(path)
        .unwrap()
        .verify(None)
        .unwrap()
        .entries
}

#[test]
fn a_backup_is_put_back_and_the_old_ledger_kept() {
    let (folder, path, backup) = to_restore();
    let kept = SqliteLedger::restore(&backup, &path).unwrap().unwrap();
    assert_eq!(kept, folder.path().join("ledger.before-restore"));
    assert_eq!(
        files(folder.path()),
        ["backup", "ledger", "ledger.before-restore"]
    );
    assert_eq!((count(&path), count(&kept)), (30, 5));

    fs::remove_file(&path).unwrap();
    assert_eq!(SqliteLedger::restore(&kept, &path).unwrap(), None);
    assert_eq!(count(&path), 5);
    let second = SqliteLedger::restore(&backup, &path).unwrap().unwrap();
    assert_eq!(second, folder.path().join("ledger.before-restore-2"));
    assert_eq!((count(&path), count(&second)), (30, 5));
}

/// A program that was killed leaves its log, which must not be taken for one of the restored file.
#[test]
fn a_log_left_behind_stays_with_the_old_ledger() {
    for damaged in [false, true] {
        let (folder, path, backup) = to_restore();
        let mut ledger = SqliteLedger::open(&path).unwrap();
        append(&mut ledger, done("in the log")).unwrap();
        // Copied while it is open, the log stands beside the file as after a kill.
        let killed = folder.path().join("killed");
        fs::copy(&path, &killed).unwrap();
        fs::copy(
            folder.path().join("ledger-wal"),
            folder.path().join("killed-wal"),
        )
        .unwrap();
        drop(ledger);
        let copy = folder.path().join("copy");
        SqliteLedger::restore(&killed, &copy).unwrap();
        assert_eq!(count(&copy), 6, "a file with a log is restored with it");
        if damaged {
            let mut bytes = fs::read(&killed).unwrap();
            bytes[..100].fill(7);
            fs::write(&killed, bytes).unwrap();
        }
        let kept = SqliteLedger::restore(&backup, &killed).unwrap().unwrap();
        assert_eq!(count(&killed), 30);
        assert!(!folder.path().join("killed-wal").exists());
        let stray = folder.path().join("stray");
        fs::write(folder.path().join("stray-wal"), "a log without its ledger").unwrap();
        let refused = SqliteLedger::open(&backup).unwrap().backup(&stray);
        assert!(matches!(refused, Err(StoreError::AlreadyThere(_))));
        if !damaged {
            assert_eq!(count(&kept), 6, "what was in the log is kept");
        }
    }
}

#[test]
fn a_backup_that_is_damaged_or_none_is_refused() {
    let (folder, path, backup) = to_restore();
    flip_an_act(&backup);
    let before = (fs::read(&path).unwrap(), files(folder.path()));
    damage(SqliteLedger::restore(&backup, &path));
    fs::write(&backup, "Dear Ada").unwrap();
    let letter = SqliteLedger::restore(&backup, &path);
    let what = backup.display().to_string();
    assert!(matches!(letter, Err(StoreError::NotALedger { what: named, .. }) if named == what));
    let missing = SqliteLedger::restore(&folder.path().join("missing"), &path);
    assert!(matches!(missing, Err(StoreError::NotFound(_))));
    assert_eq!((fs::read(&path).unwrap(), files(folder.path())), before);
}

#[test]
fn every_nursery_of_a_backup_is_verified() {
    let (_folder, path, backup) = to_restore();
    let mut other = SqliteLedger::open(&backup)
        .unwrap()
        .beside("other")
        .unwrap();
    append(&mut other, done("the other nursery's act")).unwrap();
    drop(other);
    let mut bytes = fs::read(&backup).unwrap();
    let act = b"act the other nursery's act";
    let found = bytes.windows(act.len()).position(|part| part == act);
    bytes[found.unwrap()] ^= 1;
    fs::write(&backup, bytes).unwrap();
    damage(SqliteLedger::restore(&backup, &path));
    assert_eq!(count(&path), 5);
}

#[test]
fn a_ledger_in_use_is_not_replaced() {
    let (_folder, path, backup) = to_restore();
    let mut open = SqliteLedger::open(&path).unwrap();
    let restored = SqliteLedger::restore(&backup, &path);
    assert!(matches!(restored, Err(StoreError::Busy)), "{restored:?}");
    append(&mut open, done("still")).unwrap();
    drop(open);
    assert_eq!(count(&path), 6);
    SqliteLedger::restore(&backup, &path).unwrap();
    assert_eq!(count(&path), 30);
}
