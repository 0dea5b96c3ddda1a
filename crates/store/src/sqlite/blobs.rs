//! Bytes under their hash.

use rusqlite::{Connection, OptionalExtension, params};

use crate::{Damage, Hash, Result};

/// Keeps bytes, unless they are there.
pub fn put(connection: &Connection, nursery: &str, bytes: &[u8]) -> Result<Hash> {
    let hash = Hash::of(bytes);
    connection
        .prepare_cached(
            "INSERT INTO blobs (nursery, hash, bytes) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
        )?
        .execute(params![nursery, hash.0, bytes])?;
    Ok(hash)
}

/// The bytes of a hash, which are what was put there.
pub fn blob(connection: &Connection, nursery: &str, hash: Hash) -> Result<Option<Vec<u8>>> {
    let bytes: Option<Vec<u8>> = connection
        .prepare_cached("SELECT bytes FROM blobs WHERE nursery = ?1 AND hash = ?2")?
        .query_row(params![nursery, hash.0], |row| row.get(0))
        .optional()?;
    match bytes {
        Some(bytes) if Hash::of(&bytes) != hash => Err(Damage::Blob(hash).into()),
        found => Ok(found),
    }
}

/// Reads every blob of the nursery against its hash.
pub fn check(connection: &Connection, nursery: &str) -> Result<()> {
    let mut statement = connection.prepare("SELECT hash, bytes FROM blobs WHERE nursery = ?1")?;
    let mut rows = statement.query([nursery])?;
    while let Some(row) = rows.next()? {
        let hash = Hash(row.get(0)?);
        let bytes: Vec<u8> = row.get(1)?;
        if Hash::of(&bytes) != hash {
            return Err(Damage::Blob(hash).into());
        }
    }
    Ok(())
}
