//! Entries in their table.

use std::ops::ControlFlow;

use rusqlite::types::FromSql;
use rusqlite::{Connection, OptionalExtension, Row, ffi, params};

use crate::{Entry, Hash, Head, Result, StoreError};

/// Where the chain ends.
pub fn head(connection: &Connection, nursery: &str) -> Result<Head> {
    let last = connection
        .prepare_cached(
            "SELECT seq, hash FROM entries WHERE nursery = ?1 ORDER BY seq DESC LIMIT 1",
        )?
        .query_row([nursery], |row| {
            Ok(Head {
                seq: unsigned(row, 0)?,
                hash: Hash(row.get(1)?),
            })
        })
        .optional()?;
    Ok(last.unwrap_or(Head::EMPTY))
}

/// The number of the last entry. The hash of an entry lies behind its act, which may be large; its number does not.
pub fn number(connection: &Connection, nursery: &str) -> Result<u64> {
    let last = connection
        .prepare_cached("SELECT coalesce(max(seq), 0) FROM entries WHERE nursery = ?1")?
        .query_row([nursery], |row| unsigned(row, 0))?;
    Ok(last)
}

/// Hands the entries after `seq` over, in order.
pub fn after(
    connection: &Connection,
    nursery: &str,
    seq: u64,
    visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
) -> Result<()> {
    let mut statement = connection.prepare_cached(
        "SELECT seq, act_id, recorded_at, done, act, outcome, hash
         FROM entries WHERE nursery = ?1 AND seq > ?2 ORDER BY seq",
    )?;
    let mut rows = statement.query(params![nursery, signed(seq)])?;
    while let Some(row) = rows.next()? {
        if visit(read(row)?).is_break() {
            break;
        }
    }
    Ok(())
}

/// The entry of a number.
pub fn entry(connection: &Connection, nursery: &str, seq: u64) -> Result<Option<Entry>> {
    Ok(connection
        .prepare_cached(
            "SELECT seq, act_id, recorded_at, done, act, outcome, hash
             FROM entries WHERE nursery = ?1 AND seq = ?2",
        )?
        .query_row(params![nursery, signed(seq)], read)
        .optional()?)
}

/// The entry in which an act was done.
pub fn done(connection: &Connection, nursery: &str, act_id: &str) -> Result<Option<Entry>> {
    Ok(connection
        .prepare_cached(
            "SELECT seq, act_id, recorded_at, done, act, outcome, hash
             FROM entries WHERE nursery = ?1 AND act_id = ?2 AND done = 1",
        )?
        .query_row([nursery, act_id], read)
        .optional()?)
}

/// Whether the chain has this head.
pub fn has(connection: &Connection, nursery: &str, head: Head) -> Result<bool> {
    if head.seq == 0 {
        return Ok(head == Head::EMPTY);
    }
    let found: Option<[u8; 32]> = connection
        .prepare_cached("SELECT hash FROM entries WHERE nursery = ?1 AND seq = ?2")?
        .query_row(params![nursery, signed(head.seq)], |row| row.get(0))
        .optional()?;
    Ok(found == Some(head.hash.0))
}

/// Writes an entry that has its place in the chain.
pub fn insert(connection: &Connection, nursery: &str, entry: &Entry) -> Result<()> {
    let inserted = connection
        .prepare_cached(
            "INSERT INTO entries (nursery, seq, act_id, recorded_at, done, act, outcome, hash)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        )?
        .execute(params![
            nursery,
            signed(entry.seq),
            entry.act_id,
            entry.recorded_at,
            entry.done,
            entry.act,
            entry.outcome,
            entry.hash.0,
        ]);
    match inserted {
        Ok(_) => Ok(()),
        Err(error) if error.sqlite_extended_error_code() == Some(ffi::SQLITE_CONSTRAINT_UNIQUE) => {
            let what = format!("the act {}", entry.act_id);
            Err(StoreError::AlreadyThere(what))
        }
        Err(error) => Err(error.into()),
    }
}

/// The entry of a row with the columns in the order of the chain's document.
pub fn read(row: &Row<'_>) -> rusqlite::Result<Entry> {
    Ok(Entry {
        seq: unsigned(row, 0)?,
        act_id: row.get(1)?,
        recorded_at: row.get(2)?,
        done: yes_or_no(row, 3)?,
        act: row.get(4)?,
        outcome: row.get(5)?,
        hash: Hash(row.get(6)?),
    })
}

/// Strictly 0 or 1: any other number is damage, which must not pass for a 1.
fn yes_or_no(row: &Row<'_>, column: usize) -> rusqlite::Result<bool> {
    match row.get(column)? {
        0 => Ok(false),
        1 => Ok(true),
        other => Err(rusqlite::Error::IntegralValueOutOfRange(column, other)),
    }
}

fn unsigned(row: &Row<'_>, column: usize) -> rusqlite::Result<u64> {
    let number: i64 = row.get(column)?;
    u64::try_from(number).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, number))
}

/// SQLite counts to 2^63 - 1, which no ledger reaches.
pub fn signed(seq: u64) -> i64 {
    i64::try_from(seq).unwrap_or(i64::MAX)
}

/// A column that may be damaged, where it can be read.
pub fn readable<T: FromSql>(row: &Row<'_>, column: usize) -> Option<T> {
    row.get(column).ok()
}
