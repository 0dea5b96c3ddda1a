//! Derived states, kept to save time and never trusted.

use rusqlite::{Connection, OptionalExtension, params};

use super::entries::{has, signed};
use crate::{Hash, Head, Result, StoreError};

/// Keeps a state in place of an older one of its key.
pub fn save(
    connection: &Connection,
    nursery: &str,
    key: &str,
    head: Head,
    bytes: &[u8],
) -> Result<()> {
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO snapshots (nursery, key, seq, head, bytes, hash)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?
        .execute(params![
            nursery,
            key,
            signed(head.seq),
            head.hash.0,
            bytes,
            sealed(key, head, bytes).0,
        ])?;
    Ok(())
}

/// The state of a key, if it is as it was saved and its head is in the chain.
pub fn snapshot(
    connection: &Connection,
    nursery: &str,
    key: &str,
) -> Result<Option<(Head, Vec<u8>)>> {
    match read(connection, nursery, key) {
        Ok(Some((head, bytes, hash)))
            if sealed(key, head, &bytes) == hash && has(connection, nursery, head)? =>
        {
            Ok(Some((head, bytes)))
        }
        // One that cannot be read is as good as none.
        Ok(_) | Err(StoreError::Damaged(_)) => Ok(None),
        Err(error) => Err(error),
    }
}

fn read(
    connection: &Connection,
    nursery: &str,
    key: &str,
) -> Result<Option<(Head, Vec<u8>, Hash)>> {
    Ok(connection
        .prepare_cached(
            "SELECT seq, head, bytes, hash FROM snapshots WHERE nursery = ?1 AND key = ?2",
        )?
        .query_row([nursery, key], |row| {
            let seq: i64 = row.get(0)?;
            let head = Head {
                // A negative number is damage, and no entry has the number it becomes.
                seq: seq as u64,
                hash: Hash(row.get(1)?),
            };
            Ok((head, row.get(2)?, Hash(row.get(3)?)))
        })
        .optional()?)
}

/// The hash that tells whether a snapshot is as it was saved.
fn sealed(key: &str, head: Head, bytes: &[u8]) -> Hash {
    Hash::of_parts(&[key.as_bytes(), head.to_string().as_bytes(), bytes])
}
