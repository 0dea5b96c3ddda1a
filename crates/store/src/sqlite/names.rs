//! Names outside of the chain, which can be erased.

use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use super::devices;
use crate::{Result, StoreError};

/// The id of a name: the one it has, or the next number.
pub fn id(connection: &Connection, nursery: &str, kind: &str, name: &str) -> Result<String> {
    if let Some(number) = number_of(connection, nursery, kind, name)? {
        return Ok(shown(kind, number));
    }
    let transaction = immediate(connection)?;
    // Another program may have been quicker.
    let number = match number_of(&transaction, nursery, kind, name)? {
        Some(number) => number,
        None => insert(&transaction, nursery, kind, name)?,
    };
    transaction.commit()?;
    Ok(shown(kind, number))
}

fn number_of(
    connection: &Connection,
    nursery: &str,
    kind: &str,
    name: &str,
) -> Result<Option<i64>> {
    Ok(connection
        .prepare_cached("SELECT number FROM names WHERE nursery = ?1 AND kind = ?2 AND name = ?3")?
        .query_row([nursery, kind, name], |row| row.get(0))
        .optional()?)
}

/// Numbers go on over all kinds, so that kinds with the same first letter share no id; and rows of
/// erased names stay, so that no number comes again.
fn insert(connection: &Connection, nursery: &str, kind: &str, name: &str) -> Result<i64> {
    Ok(connection
        .prepare_cached(
            "INSERT INTO names (nursery, number, kind, name)
             VALUES (?1, (SELECT ifnull(max(number), 0) + 1 FROM names WHERE nursery = ?1), ?2, ?3)
             RETURNING number",
        )?
        .query_row([nursery, kind, name], |row| row.get(0))?)
}

fn shown(kind: &str, number: i64) -> String {
    format!("{}{number}", letter(kind))
}

fn letter(kind: &str) -> char {
    kind.chars().next().unwrap_or('n')
}

/// The name of an id.
pub fn name(connection: &Connection, nursery: &str, id: &str) -> Result<Option<String>> {
    Ok(row_of(connection, nursery, id)?.and_then(|(_, name)| name))
}

/// The number and, unless it was erased, the name of an id.
fn row_of(
    connection: &Connection,
    nursery: &str,
    id: &str,
) -> Result<Option<(i64, Option<String>)>> {
    let digits = id.trim_start_matches(|c: char| !c.is_ascii_digit());
    let Ok(number) = digits.parse() else {
        return Ok(None);
    };
    let row: Option<(String, Option<String>)> = connection
        .prepare_cached("SELECT kind, name FROM names WHERE nursery = ?1 AND number = ?2")?
        .query_row(params![nursery, number], |row| {
            Ok((row.get(0)?, row.get(1)?))
        })
        .optional()?;
    Ok(row
        .filter(|(kind, _)| shown(kind, number) == id)
        .map(|(_, name)| (number, name)))
}

/// Ids and names of a kind.
pub fn of_kind(
    connection: &Connection,
    nursery: &str,
    kind: &str,
) -> Result<Vec<(String, String)>> {
    let mut statement = connection.prepare_cached(
        "SELECT number, name FROM names
         WHERE nursery = ?1 AND kind = ?2 AND name IS NOT NULL ORDER BY number",
    )?;
    let rows = statement.query_map([nursery, kind], |row| {
        Ok((shown(kind, row.get(0)?), row.get(1)?))
    })?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// Forgets a name, also in the bytes of the file and its log.
pub fn erase(connection: &Connection, nursery: &str, id: &str) -> Result<()> {
    let transaction = immediate(connection)?;
    let Some((number, _)) = row_of(&transaction, nursery, id)? else {
        return Err(StoreError::NotFound(format!("the name {id}")));
    };
    write_anew(&transaction, nursery, number)?;
    devices::forget(&transaction, nursery, id)?;
    transaction.commit()?;
    empty_log(connection)
}

/// A row in the names' table.
type NameRow = (String, i64, String, Option<String>);

/// Writes the whole table anew without the name.
///
/// Setting one row to nothing would not do: where rows were once moved between pages, copies of them
/// are left in the unused parts. Clearing the table lets `secure_delete` zero all its pages.
fn write_anew(connection: &Connection, nursery: &str, erased: i64) -> Result<()> {
    let rows: Vec<NameRow> = connection
        .prepare("SELECT nursery, number, kind, name FROM names ORDER BY nursery, number")?
        .query_map([], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })?
        .collect::<rusqlite::Result<_>>()?;
    connection.execute("DELETE FROM names", [])?;
    let mut insert = connection
        .prepare("INSERT INTO names (nursery, number, kind, name) VALUES (?1, ?2, ?3, ?4)")?;
    for (of, number, kind, name) in rows {
        let name = name.filter(|_| (of.as_str(), number) != (nursery, erased));
        insert.execute(params![of, number, kind, name])?;
    }
    Ok(())
}

/// Moves everything from the log to the file and cuts the log to nothing: it holds older pages.
fn empty_log(connection: &Connection) -> Result<()> {
    let busy: bool =
        connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if busy { Err(StoreError::Busy) } else { Ok(()) }
}

fn immediate(connection: &Connection) -> Result<Transaction<'_>> {
    Ok(Transaction::new_unchecked(
        connection,
        TransactionBehavior::Immediate,
    )?)
}
