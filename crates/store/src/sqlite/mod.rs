//! The ledger in one SQLite file.

mod backup;
mod blobs;
mod devices;
mod entries;
mod names;
mod runs;
mod schema;
mod snapshots;
mod verify;

use std::cell::Cell;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, Transaction};
use rusqlite::{TransactionBehavior, ffi};

use crate::{
    Damage, Device, Entry, Hash, Head, Invitation, Ledger, NewEntry, Reading, Result, Run,
};
use crate::{StoreError, Verified, Writing};

/// How often one waits for another program that writes: about ten seconds, at a millisecond each.
const PATIENCE: i32 = 10_000;

/// A nursery's ledger in an SQLite file: one connection, for one thread at a time.
///
/// Several programs may hold the same file open; one writes at a time and the others read on.
#[derive(Debug)]
pub struct SqliteLedger {
    connection: Connection,
    nursery: String,
    /// The number of the last entry, and the version of the file in which it was.
    number: Cell<Option<(i64, u64)>>,
}

impl SqliteLedger {
    /// Makes a new file with the empty ledger of a nursery.
    ///
    /// # Errors
    /// [`AlreadyThere`](StoreError::AlreadyThere) when there is a file of that name, whatever is in it.
    pub fn create(path: &Path, nursery: &str) -> Result<Self> {
        match OpenOptions::new().write(true).create_new(true).open(path) {
            Ok(_) => {}
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                return Err(StoreError::AlreadyThere(path.display().to_string()));
            }
            Err(error) => return Err(io_error(path, error)),
        }
        let created = Self::fill(path, nursery);
        if created.is_err() {
            // The half-made file is of no use and stands in the way of the next try.
            let _ = fs::remove_file(path);
        }
        created
    }

    fn fill(path: &Path, nursery: &str) -> Result<Self> {
        let mut connection = connect(path)?;
        set_up(&connection)?;
        schema::create(&mut connection)?;
        let ledger = Self::over(connection, nursery.to_owned());
        ledger.register()?;
        sync_folder_of(path)?;
        Ok(ledger)
    }

    /// Opens the ledger of the nursery that a file was made for.
    ///
    /// # Errors
    /// [`NotFound`](StoreError::NotFound) when there is no such file,
    /// [`NotALedger`](StoreError::NotALedger) when it is another program's or a newer version's.
    pub fn open(path: &Path) -> Result<Self> {
        let connection = open_connection(path)?;
        let nursery = connection
            .query_row(
                "SELECT id FROM nurseries ORDER BY number LIMIT 1",
                [],
                |row| row.get(0),
            )
            .optional()?
            .ok_or_else(|| Damage::File("it names no nursery".into()))?;
        Ok(Self::over(connection, nursery))
    }

    fn over(connection: Connection, nursery: String) -> Self {
        Self {
            connection,
            nursery,
            number: Cell::new(None),
        }
    }

    /// The ledger of another nursery in the same file; empty when it is new there.
    pub fn beside(&self, nursery: &str) -> Result<Self> {
        let path = self.connection.path().unwrap_or_default();
        let connection = open_connection(Path::new(path))?;
        let ledger = Self::over(connection, nursery.to_owned());
        ledger.register()?;
        Ok(ledger)
    }

    fn register(&self) -> Result<()> {
        self.connection.execute(
            "INSERT INTO nurseries (id) VALUES (?1) ON CONFLICT DO NOTHING",
            [&self.nursery],
        )?;
        Ok(())
    }

    /// Copies the whole file, of one moment, to a new file, while others go on working.
    ///
    /// The copy appears under its name only when it is on the disk and was verified.
    ///
    /// # Errors
    /// [`AlreadyThere`](StoreError::AlreadyThere) when there is a file of that name.
    pub fn backup(&self, to: &Path) -> Result<()> {
        backup::backup(&self.connection, to)
    }

    /// Puts a backup in the place of a ledger, or where there is none. The backup is verified first,
    /// as it will stand, and the ledger that was there is kept: its new name is returned.
    ///
    /// # Errors
    /// [`Damaged`](StoreError::Damaged) when the backup is; [`Busy`](StoreError::Busy) when a program
    /// has the ledger open. Then everything is as it was.
    pub fn restore(from: &Path, to: &Path) -> Result<Option<PathBuf>> {
        backup::restore(from, to)
    }
}

impl Reading for SqliteLedger {
    fn head(&self) -> Result<Head> {
        entries::head(&self.connection, &self.nursery)
    }

    fn number(&self) -> Result<u64> {
        // To look for the last entry is to read it, and its act may be as large as a plan.
        let version = entries::version(&self.connection)?;
        if let Some((of, number)) = self.number.get()
            && of == version
        {
            return Ok(number);
        }
        let number = self.head()?.seq;
        self.number.set(Some((version, number)));
        Ok(number)
    }

    fn entries(&self, seq: u64, visit: &mut dyn FnMut(Entry) -> ControlFlow<()>) -> Result<()> {
        entries::after(&self.connection, &self.nursery, seq, visit)
    }

    fn entry(&self, seq: u64) -> Result<Option<Entry>> {
        entries::entry(&self.connection, &self.nursery, seq)
    }

    fn done(&self, act_id: &str) -> Result<Option<Entry>> {
        entries::done(&self.connection, &self.nursery, act_id)
    }
}

impl Ledger for SqliteLedger {
    fn nursery(&self) -> &str {
        &self.nursery
    }

    fn write(&mut self) -> Result<Box<dyn Writing + '_>> {
        // What this connection itself writes leaves its version as it is.
        self.number.set(None);
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let head = entries::head(&transaction, &self.nursery)?;
        Ok(Box::new(SqliteWriting {
            transaction,
            nursery: &self.nursery,
            head,
        }))
    }

    fn save_snapshot(&self, key: &str, head: Head, bytes: &[u8]) -> Result<()> {
        snapshots::save(&self.connection, &self.nursery, key, head, bytes)
    }

    fn snapshot(&self, key: &str) -> Result<Option<(Head, Vec<u8>)>> {
        snapshots::snapshot(&self.connection, &self.nursery, key)
    }

    fn name_id(&self, kind: &str, name: &str) -> Result<String> {
        names::id(&self.connection, &self.nursery, kind, name)
    }

    fn name(&self, id: &str) -> Result<Option<String>> {
        names::name(&self.connection, &self.nursery, id)
    }

    fn names(&self, kind: &str) -> Result<Vec<(String, String)>> {
        names::of_kind(&self.connection, &self.nursery, kind)
    }

    fn erase_name(&self, id: &str) -> Result<()> {
        names::erase(&self.connection, &self.nursery, id)
    }

    fn put_blob(&self, bytes: &[u8]) -> Result<Hash> {
        blobs::put(&self.connection, &self.nursery, bytes)
    }

    fn blob(&self, hash: &Hash) -> Result<Option<Vec<u8>>> {
        blobs::blob(&self.connection, &self.nursery, *hash)
    }

    fn save_run(&self, run: &Run) -> Result<()> {
        runs::save(&self.connection, &self.nursery, run)
    }

    fn run(&self, name: &str) -> Result<Option<Run>> {
        runs::run(&self.connection, &self.nursery, name)
    }

    fn runs(&self, kind: &str) -> Result<Vec<(String, String)>> {
        runs::of_kind(&self.connection, &self.nursery, kind)
    }

    fn latest_run(&self, kind: &str) -> Result<Option<Run>> {
        runs::latest(&self.connection, &self.nursery, kind)
    }

    fn invite(&self, invitation: &Invitation) -> Result<()> {
        devices::invite(&self.connection, &self.nursery, invitation)
    }

    fn invited(&self, code: &Hash, now: &str) -> Result<Option<Device>> {
        devices::invited(&self.connection, &self.nursery, code, now)
    }

    fn join(&self, code: &Hash, now: &str, token: &Hash) -> Result<Option<Device>> {
        devices::join(&self.connection, &self.nursery, code, now, token)
    }

    fn device_of(&self, token: &Hash) -> Result<Option<Device>> {
        devices::of_token(&self.connection, &self.nursery, token)
    }

    fn devices(&self) -> Result<Vec<Device>> {
        devices::all(&self.connection, &self.nursery)
    }

    fn seen(&self, id: &str, at: &str) -> Result<()> {
        devices::seen(&self.connection, &self.nursery, id, at)
    }

    fn revoke(&self, id: &str, at: &str) -> Result<bool> {
        devices::revoke(&self.connection, &self.nursery, id, at)
    }

    fn verify(&self, kept: Option<Head>) -> Result<Verified> {
        verify::verify(&self.connection, &self.nursery, kept)
    }
}

/// One immediate transaction and the head it has reached.
struct SqliteWriting<'a> {
    transaction: Transaction<'a>,
    nursery: &'a str,
    head: Head,
}

impl SqliteWriting<'_> {
    /// SQLite rolls a whole transaction back on some errors, such as a full disk. What came after
    /// would then be written on its own, under numbers that follow nothing.
    fn still_open(&self) -> Result<()> {
        if self.transaction.is_autocommit() {
            return Err(StoreError::Other(
                "the write failed before and was taken back as a whole".into(),
            ));
        }
        Ok(())
    }
}

impl Reading for SqliteWriting<'_> {
    fn head(&self) -> Result<Head> {
        Ok(self.head)
    }

    fn number(&self) -> Result<u64> {
        Ok(self.head.seq)
    }

    fn entries(&self, seq: u64, visit: &mut dyn FnMut(Entry) -> ControlFlow<()>) -> Result<()> {
        entries::after(&self.transaction, self.nursery, seq, visit)
    }

    fn entry(&self, seq: u64) -> Result<Option<Entry>> {
        entries::entry(&self.transaction, self.nursery, seq)
    }

    fn done(&self, act_id: &str) -> Result<Option<Entry>> {
        entries::done(&self.transaction, self.nursery, act_id)
    }
}

impl Writing for SqliteWriting<'_> {
    fn push(&mut self, entry: NewEntry) -> Result<Entry> {
        self.still_open()?;
        let entry = entry.after(self.head, self.nursery);
        entries::insert(&self.transaction, self.nursery, &entry)?;
        self.head = entry.head();
        Ok(entry)
    }

    fn commit(self: Box<Self>) -> Result<()> {
        self.still_open()?;
        Ok(self.transaction.commit()?)
    }
}

/// Opens an existing ledger file and makes sure that it is one.
fn open_connection(path: &Path) -> Result<Connection> {
    if !path.exists() {
        return Err(StoreError::NotFound(path.display().to_string()));
    }
    let connection = connect(path)?;
    let version = schema::recognize(&connection, path)?;
    set_up(&connection)?;
    schema::bring_up(&connection, version)?;
    Ok(connection)
}

/// A connection to a file that is there, whatever it is.
fn connect(path: &Path) -> Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    connection.busy_handler(Some(wait_for_others))?;
    Ok(connection)
}

/// Waits a moment for another program, ten seconds in all.
///
/// SQLite's own way waits longer and longer, so that a program that writes without a pause lets no
/// other one in. Moments of changing length cannot fall into step with its commits.
fn wait_for_others(tries: i32) -> bool {
    std::thread::sleep(Duration::from_micros(500 + 150 * (tries as u64 % 7)));
    tries < PATIENCE
}

/// The settings on which the promises of the store rest, and a write-ahead log, so that readers and
/// one writer do not wait for each other.
fn set_up(connection: &Connection) -> Result<()> {
    connection.execute_batch(
        "PRAGMA synchronous = FULL;
         PRAGMA foreign_keys = ON;
         PRAGMA secure_delete = ON;
         PRAGMA journal_size_limit = 16777216;",
    )?;
    connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
    Ok(())
}

/// Makes a new, renamed or removed file of a folder last through a power cut.
fn sync_folder_of(path: &Path) -> Result<()> {
    let folder = path
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    // Other systems do not let a folder be opened as a file, and need no sync of it.
    if cfg!(unix) {
        let synced = File::open(folder).and_then(|opened| opened.sync_all());
        synced.map_err(|error| io_error(folder, error))?;
    }
    Ok(())
}

fn io_error(path: &Path, error: io::Error) -> StoreError {
    match error.kind() {
        io::ErrorKind::StorageFull => StoreError::Full,
        io::ErrorKind::NotFound => StoreError::NotFound(path.display().to_string()),
        _ => StoreError::Io {
            what: path.display().to_string(),
            why: error,
        },
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        // On a full disk the index of the log cannot grow either, which SQLite tells by its own code.
        if error.sqlite_extended_error_code() == Some(ffi::SQLITE_IOERR_SHMSIZE) {
            return Self::Full;
        }
        match (error.sqlite_error_code(), &error) {
            (Some(ErrorCode::DiskFull), _) => Self::Full,
            (Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked), _) => Self::Busy,
            (Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase), _)
            | (
                _,
                rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::IntegralValueOutOfRange(..)
                | rusqlite::Error::InvalidColumnType(..),
            ) => Self::Damaged(Damage::File(error.to_string())),
            _ => Self::Other(error.to_string()),
        }
    }
}
