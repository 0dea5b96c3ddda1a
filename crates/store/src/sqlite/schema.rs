//! The tables, and how a file is known to be a ledger.

use std::path::Path;

use rusqlite::{Connection, Transaction, TransactionBehavior};

use crate::{Damage, Result, StoreError};

/// "Bark" in ASCII. Stands in the files that people keep: it can never change.
const APPLICATION_ID: i32 = 0x4261_726b;

/// Counts up when the tables change.
const VERSION: i32 = 2;

/// The version before there were devices.
const WITHOUT_DEVICES: i32 = 1;

/// Every table is keyed by the nursery. Entries lie in the order of their numbers; what does not
/// repeat under one key (blobs, runs, snapshots) is large and lies apart from its index.
const TABLES: &str = "
CREATE TABLE nurseries (
    number INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE entries (
    nursery TEXT NOT NULL REFERENCES nurseries (id),
    seq INTEGER NOT NULL CHECK (seq > 0),
    act_id TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    done INTEGER NOT NULL CHECK (done IN (0, 1)),
    act BLOB NOT NULL,
    outcome BLOB NOT NULL,
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (nursery, seq)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX entries_done ON entries (nursery, act_id) WHERE done = 1;
CREATE TRIGGER entries_stay BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'entries never change'); END;
CREATE TRIGGER entries_are_kept BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'entries are never removed'); END;

CREATE TABLE names (
    nursery TEXT NOT NULL REFERENCES nurseries (id),
    number INTEGER NOT NULL,
    kind TEXT NOT NULL,
    name TEXT,
    PRIMARY KEY (nursery, number),
    UNIQUE (nursery, kind, name)
) STRICT, WITHOUT ROWID;

CREATE TABLE blobs (
    nursery TEXT NOT NULL REFERENCES nurseries (id),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    bytes BLOB NOT NULL,
    PRIMARY KEY (nursery, hash)
) STRICT;
CREATE TRIGGER blobs_stay BEFORE UPDATE ON blobs
    BEGIN SELECT RAISE(ABORT, 'blobs never change'); END;
CREATE TRIGGER blobs_are_kept BEFORE DELETE ON blobs
    BEGIN SELECT RAISE(ABORT, 'blobs are never removed'); END;

CREATE TABLE runs (
    number INTEGER PRIMARY KEY,
    nursery TEXT NOT NULL REFERENCES nurseries (id),
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    made_at TEXT NOT NULL,
    bytes BLOB NOT NULL,
    UNIQUE (nursery, name)
) STRICT;
CREATE INDEX runs_of_kind ON runs (nursery, kind);

CREATE TABLE snapshots (
    nursery TEXT NOT NULL REFERENCES nurseries (id),
    key TEXT NOT NULL,
    seq INTEGER NOT NULL,
    head BLOB NOT NULL,
    bytes BLOB NOT NULL,
    hash BLOB NOT NULL,
    PRIMARY KEY (nursery, key)
) STRICT;
";

/// What version 2 added. Codes and tokens are known by their hashes only.
const DEVICES: &str = "
CREATE TABLE devices (
    nursery TEXT NOT NULL REFERENCES nurseries (id),
    id TEXT NOT NULL,
    person TEXT NOT NULL,
    label TEXT NOT NULL,
    code BLOB CHECK (length(code) = 32),
    code_until TEXT NOT NULL,
    token BLOB CHECK (length(token) = 32),
    joined_at TEXT,
    seen_at TEXT,
    revoked_at TEXT,
    PRIMARY KEY (nursery, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX devices_of_code ON devices (nursery, code) WHERE code IS NOT NULL;
CREATE UNIQUE INDEX devices_of_token ON devices (nursery, token) WHERE token IS NOT NULL;
";

/// Makes the tables in an empty file, all or none.
pub fn create(connection: &mut Connection) -> Result<()> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    transaction.execute_batch(TABLES)?;
    transaction.execute_batch(DEVICES)?;
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", VERSION)?;
    Ok(transaction.commit()?)
}

/// Adds to a file of an older version what is missing, all or none.
pub fn bring_up(connection: &Connection, version: i32) -> Result<()> {
    if version != WITHOUT_DEVICES {
        return Ok(());
    }
    let transaction = Transaction::new_unchecked(connection, TransactionBehavior::Immediate)?;
    // Another program may have been quicker.
    if number(&transaction, "user_version")? == WITHOUT_DEVICES {
        transaction.execute_batch(DEVICES)?;
        transaction.pragma_update(None, "user_version", VERSION)?;
    }
    Ok(transaction.commit()?)
}

/// Makes sure that an opened file is a ledger of a version that is known, before anything is written to it.
pub fn recognize(connection: &Connection, path: &Path) -> Result<i32> {
    let refused = |why: &str| StoreError::NotALedger {
        what: path.display().to_string(),
        why: why.to_owned(),
    };
    let application = number(connection, "application_id").map_err(|error| match error {
        StoreError::Damaged(_) => refused("it is not a database"),
        other => other,
    })?;
    if application != APPLICATION_ID {
        return Err(refused("it belongs to another program"));
    }
    match number(connection, "user_version")? {
        known @ (WITHOUT_DEVICES | VERSION) => Ok(known),
        newer if newer > VERSION => Err(refused("it was written by a newer version")),
        _ => Err(refused("its version is unknown")),
    }
}

fn number(connection: &Connection, pragma: &str) -> Result<i32> {
    Ok(connection.pragma_query_value(None, pragma, |row| row.get(0))?)
}

/// Makes sure that tables, keys and the triggers that keep entries as they are still stand.
pub fn check(connection: &Connection) -> Result<()> {
    let blank = Connection::open_in_memory()?;
    blank.execute_batch(TABLES)?;
    blank.execute_batch(DEVICES)?;
    if definitions(connection)? == definitions(&blank)? {
        Ok(())
    } else {
        Err(Damage::File("its tables are not those it was made with".into()).into())
    }
}

fn definitions(connection: &Connection) -> Result<Vec<(String, Option<String>)>> {
    let mut statement =
        connection.prepare("SELECT type || ' ' || name, sql FROM sqlite_schema ORDER BY 1")?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}
