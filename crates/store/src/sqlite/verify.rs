//! Whether a ledger is what was written.

use rusqlite::{Connection, Row, Transaction, TransactionBehavior};

use super::{blobs, entries, schema};
use crate::{Damage, Entry, Head, Result, StoreError, Verified};

/// Verifies one nursery's chain and blobs, then the file.
pub fn verify(connection: &Connection, nursery: &str, kept: Option<Head>) -> Result<Verified> {
    // All of one moment, whatever is appended meanwhile.
    let moment = Transaction::new_unchecked(connection, TransactionBehavior::Deferred)?;
    let head = walk(&moment, nursery, kept)?;
    blobs::check(&moment, nursery)?;
    check_file(&moment)?;
    Ok(Verified {
        entries: head.seq,
        head,
    })
}

/// Verifies every nursery of a file.
pub fn verify_all(connection: &Connection) -> Result<()> {
    let moment = Transaction::new_unchecked(connection, TransactionBehavior::Deferred)?;
    let nurseries: Vec<String> = moment
        .prepare("SELECT id FROM nurseries ORDER BY number")?
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    for nursery in &nurseries {
        walk(&moment, nursery, None)?;
        blobs::check(&moment, nursery)?;
    }
    check_file(&moment)
}

/// Walks the chain from nothing to its end.
fn walk(connection: &Connection, nursery: &str, kept: Option<Head>) -> Result<Head> {
    let mut statement = connection.prepare(
        "SELECT seq, act_id, recorded_at, done, act, outcome, hash
         FROM entries WHERE nursery = ?1 ORDER BY seq",
    )?;
    let mut rows = statement.query([nursery])?;
    let mut head = Head::EMPTY;
    compare(head, kept)?;
    while let Some(row) = rows.next().map_err(|error| unread(head, None, error))? {
        head = next_head(row, head, nursery)?;
        compare(head, kept)?;
    }
    reached_the_end(connection, nursery, head)?;
    match kept {
        Some(kept) if kept.seq > head.seq => Err(cut_off(head, kept)),
        _ => Ok(head),
    }
}

/// The head after a row that must be the next entry.
fn next_head(row: &Row<'_>, head: Head, nursery: &str) -> Result<Head> {
    let act_id = entries::readable(row, 1);
    let entry: Entry = entries::read(row).map_err(|error| unread(head, act_id.clone(), error))?;
    let seq = head.seq + 1;
    if entry.seq != seq {
        let why = format!("it is missing; entry {} comes in its place", entry.seq);
        return Err(bad(head, None, why));
    }
    let next = entry.head();
    if !entry.follows(head, nursery) {
        return Err(bad(head, act_id, "it is not what was written".into()));
    }
    Ok(next)
}

fn compare(head: Head, kept: Option<Head>) -> Result<()> {
    match kept {
        Some(kept) if kept.seq == head.seq && kept.hash != head.hash => {
            let found = head.hash;
            Err(Damage::OtherHead { kept, found }.into())
        }
        _ => Ok(()),
    }
}

/// A row whose key was changed stops the walk early; looking from the end shows that more is there.
fn reached_the_end(connection: &Connection, nursery: &str, walked: Head) -> Result<()> {
    let end = entries::head(connection, nursery)?;
    if end == walked {
        return Ok(());
    }
    let why = format!("it is missing; the ledger ends at entry {}", end.seq);
    Err(bad(walked, None, why))
}

/// What SQLite knows about its own file: pages, keys, references and tables.
fn check_file(connection: &Connection) -> Result<()> {
    schema::check(connection)?;
    let mut statement = connection.prepare("PRAGMA integrity_check(1)")?;
    let found: String = statement.query_row([], |row| row.get(0))?;
    if found != "ok" {
        return Err(Damage::File(found).into());
    }
    let mut statement = connection.prepare("PRAGMA foreign_key_check")?;
    if statement.exists([])? {
        return Err(Damage::File("it holds rows of a nursery that it does not name".into()).into());
    }
    Ok(())
}

/// The entry after `head` cannot be read; other reasons than damage stay what they are.
fn unread(head: Head, act_id: Option<String>, error: rusqlite::Error) -> StoreError {
    match StoreError::from(error) {
        StoreError::Damaged(damage) => bad(head, act_id, format!("it cannot be read ({damage})")),
        other => other,
    }
}

fn bad(head: Head, act_id: Option<String>, why: String) -> StoreError {
    let seq = head.seq + 1;
    Damage::Entry { seq, act_id, why }.into()
}

fn cut_off(head: Head, kept: Head) -> StoreError {
    let end = head.seq;
    Damage::CutOff { end, kept }.into()
}
