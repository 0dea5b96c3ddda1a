//! Copies of a whole file, and putting one in the place of a ledger.

use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use super::{connect, devices, io_error, open_connection, sync_folder_of, verify};
use crate::{Result, StoreError};

/// What SQLite writes beside a file and reads again when it opens one of that name.
const LOG: &str = "-wal";
const JOURNAL: &str = "-journal";

/// Copies the file behind a connection to a new one.
pub fn backup(connection: &Connection, to: &Path) -> Result<()> {
    if let Some(file) = in_use(to) {
        return Err(StoreError::AlreadyThere(file.display().to_string()));
    }
    let part = Part::beside(to);
    copy_online(connection, &part.0)?;
    verify_file(&part.0)?;
    part.put(to)
}

fn copy_online(connection: &Connection, to: &Path) -> Result<()> {
    let mut copy = Connection::open(to)?;
    // All pages in one step: a reader's view of one moment, for which no writer has to wait.
    match Backup::new(connection, &mut copy)?.step(-1)? {
        StepResult::Done => Ok(()),
        _ => Err(StoreError::Busy),
    }
}

/// Verifies a file that nobody else knows of yet. Closing it leaves no log behind.
fn verify_file(path: &Path) -> Result<()> {
    verify::verify_all(&open_connection(path)?)
}

/// Puts a verified copy of a backup in the place of a ledger.
pub fn restore(from: &Path, to: &Path) -> Result<Option<PathBuf>> {
    if !from.exists() {
        return Err(StoreError::NotFound(from.display().to_string()));
    }
    let part = Part::beside(to);
    // The plain file is copied, so that a backup on a read-only disk serves too. One that is still in
    // use has a log with it.
    copy_file(from, &part.0)?;
    if side_file(from, LOG).exists() {
        copy_file(&side_file(from, LOG), &side_file(&part.0, LOG))?;
    }
    verify_file(&part.0).map_err(|error| match error {
        // The backup is meant, not the copy that nobody knows of.
        StoreError::NotALedger { why, .. } => StoreError::NotALedger {
            what: from.display().to_string(),
            why,
        },
        other => other,
    })?;
    forget_devices(&part.0)?;
    let held = hold(to)?;
    let kept = keep(to)?;
    part.put(to)?;
    drop(held);
    Ok(kept)
}

/// A device that was revoked after the backup was made must not come in again: all join anew.
fn forget_devices(path: &Path) -> Result<()> {
    devices::forget_all(&open_connection(path)?)
}

/// Keeps every other program out of a ledger that is to be replaced, and moves its log into it: a log
/// that was left behind would be taken for one of the new file. A file that is too damaged for that
/// gives nothing to hold.
fn hold(path: &Path) -> Result<Option<Connection>> {
    let held = connect(path).and_then(|connection| {
        connection.busy_handler(None)?;
        connection.pragma_update(None, "locking_mode", "EXCLUSIVE")?;
        connection.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
        connection.execute_batch("BEGIN EXCLUSIVE")?;
        Ok(connection)
    });
    match held {
        Ok(connection) => Ok(Some(connection)),
        Err(StoreError::Busy) => Err(StoreError::Busy),
        Err(_) => Ok(None),
    }
}

/// Gives the old ledger, if there is one, a second name, and takes away what lies beside its first
/// one: a log without its ledger would be taken for one of the new file too.
fn keep(path: &Path) -> Result<Option<PathBuf>> {
    let kept = free_name(path);
    let was_there = path.exists();
    if was_there {
        // Two names for a moment, so that there is a ledger at every moment; where a disk cannot do
        // that, none for a moment.
        fs::hard_link(path, &kept)
            .or_else(|_| fs::rename(path, &kept))
            .map_err(|error| io_error(path, error))?;
    }
    let log = side_file(path, LOG);
    if log.exists() {
        let moved = fs::rename(&log, side_file(&kept, LOG));
        moved.map_err(|error| io_error(&log, error))?;
    }
    // A ledger has a rollback journal only while it is held here, and nothing in it.
    remove(&side_file(path, JOURNAL))?;
    remove(&side_file(path, "-shm"))?;
    Ok(was_there.then_some(kept))
}

/// `name.before-restore`, or the first with a number that is free: an older one may be the last copy.
fn free_name(path: &Path) -> PathBuf {
    let first = side_file(path, ".before-restore");
    let numbered = (2..).map(|number| side_file(path, &format!(".before-restore-{number}")));
    std::iter::once(first)
        .chain(numbered)
        .find(|name| in_use(name).is_none())
        .expect("numbers do not end")
}

/// What is there already under a name: the file or a log that would be taken for the new file's.
fn in_use(path: &Path) -> Option<PathBuf> {
    std::iter::once("")
        .chain([LOG, JOURNAL])
        .map(|ending| side_file(path, ending))
        .find(|file| file.exists())
}

/// A file in the making beside the one it will be. What is left of it is removed when it is dropped.
struct Part(PathBuf);

impl Part {
    fn beside(path: &Path) -> Self {
        let part = Self(side_file(path, ".part"));
        part.clear();
        part
    }

    /// Makes it durable and gives it its name.
    fn put(&self, to: &Path) -> Result<()> {
        File::open(&self.0)
            .and_then(|file| file.sync_all())
            .and_then(|()| fs::rename(&self.0, to))
            .map_err(|error| io_error(to, error))?;
        sync_folder_of(to)
    }

    fn clear(&self) {
        for ending in ["", LOG, JOURNAL, "-shm"] {
            let _ = remove(&side_file(&self.0, ending));
        }
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        self.clear();
    }
}

fn side_file(path: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(ending);
    PathBuf::from(name)
}

fn copy_file(from: &Path, to: &Path) -> Result<()> {
    fs::copy(from, to).map_err(|error| io_error(from, error))?;
    Ok(())
}

fn remove(path: &Path) -> Result<()> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(io_error(path, error)),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::keep;

    /// Also a log that SQLite could not read, or without a ledger, must not stay beside the new file.
    #[test]
    fn nothing_stays_beside_the_name() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let all = [
            "ledger",
            "ledger-wal",
            "ledger-shm",
            "ledger.before-restore",
        ];
        for name in all {
            fs::write(at(name), name).unwrap();
        }
        let kept = keep(&at("ledger")).unwrap();
        assert_eq!(kept, Some(at("ledger.before-restore-2")));
        let text = |name: &str| fs::read_to_string(at(name)).unwrap();
        assert_eq!(text("ledger.before-restore-2"), "ledger");
        assert_eq!(text("ledger.before-restore-2-wal"), "ledger-wal");
        assert!(!at("ledger-wal").exists() && !at("ledger-shm").exists());

        fs::remove_file(at("ledger")).unwrap();
        fs::write(at("ledger-wal"), "stray").unwrap();
        assert_eq!(keep(&at("ledger")).unwrap(), None);
        assert_eq!(text("ledger.before-restore-3-wal"), "stray");
        assert!(!at("ledger-wal").exists());
    }
}
