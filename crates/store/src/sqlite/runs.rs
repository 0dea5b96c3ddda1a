//! Results of runs, which can be made again.

use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::{Result, Run};

/// Keeps a run in place of an older one of its name.
pub fn save(connection: &Connection, nursery: &str, run: &Run) -> Result<()> {
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO runs (nursery, name, kind, made_at, bytes)
             VALUES (?1, ?2, ?3, ?4, ?5)",
        )?
        .execute(params![nursery, run.name, run.kind, run.made_at, run.bytes])?;
    Ok(())
}

/// The run of a name.
pub fn run(connection: &Connection, nursery: &str, name: &str) -> Result<Option<Run>> {
    Ok(connection
        .prepare_cached(
            "SELECT name, kind, made_at, bytes FROM runs WHERE nursery = ?1 AND name = ?2",
        )?
        .query_row([nursery, name], read)
        .optional()?)
}

/// Names of the runs of a kind and when they were made, the one saved last first.
pub fn of_kind(
    connection: &Connection,
    nursery: &str,
    kind: &str,
) -> Result<Vec<(String, String)>> {
    let mut statement = connection.prepare_cached(
        "SELECT name, made_at FROM runs WHERE nursery = ?1 AND kind = ?2 ORDER BY number DESC",
    )?;
    let rows = statement.query_map([nursery, kind], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// The run of a kind that was saved last. A row that is replaced gets a new number, so that numbers
/// follow the order of saving.
pub fn latest(connection: &Connection, nursery: &str, kind: &str) -> Result<Option<Run>> {
    Ok(connection
        .prepare_cached(
            "SELECT name, kind, made_at, bytes FROM runs
             WHERE nursery = ?1 AND kind = ?2 ORDER BY number DESC LIMIT 1",
        )?
        .query_row([nursery, kind], read)
        .optional()?)
}

fn read(row: &Row<'_>) -> rusqlite::Result<Run> {
    Ok(Run {
        name: row.get(0)?,
        kind: row.get(1)?,
        made_at: row.get(2)?,
        bytes: row.get(3)?,
    })
}
