//! Devices that were invited, have joined, or may no longer come in.

use rusqlite::{Connection, OptionalExtension, Row, Transaction, TransactionBehavior, params};

use crate::{Device, Hash, Invitation, Result, StoreError};

/// The columns of a device as others see it.
const SHOWN: &str = "id, person, label, code_until, joined_at, seen_at, revoked_at";

/// Notes who may join. Who has not joined yet gets the new code in place of the old one.
pub fn invite(connection: &Connection, nursery: &str, it: &Invitation) -> Result<()> {
    let (id, person, label) = (&it.id, &it.person, &it.label);
    let noted = connection
        .prepare_cached(
            "INSERT INTO devices (nursery, id, person, label, code, code_until)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)
             ON CONFLICT (nursery, id) DO UPDATE
             SET person = ?3, label = ?4, code = ?5, code_until = ?6
             WHERE joined_at IS NULL AND revoked_at IS NULL",
        )?
        .execute(params![nursery, id, person, label, it.code.0, it.until])?;
    if noted == 0 {
        return Err(StoreError::AlreadyThere(format!("the device {id}")));
    }
    Ok(())
}

/// Who is invited by a code that still holds.
pub fn invited(
    connection: &Connection,
    nursery: &str,
    code: &Hash,
    now: &str,
) -> Result<Option<Device>> {
    Ok(connection
        .prepare_cached(&format!(
            "SELECT {SHOWN} FROM devices
             WHERE nursery = ?1 AND code = ?2 AND code_until > ?3 AND revoked_at IS NULL"
        ))?
        .query_row(params![nursery, code.0, now], read)
        .optional()?)
}

/// Takes a code for a token. One statement, so that of two who come with a code one gets in.
pub fn join(
    connection: &Connection,
    nursery: &str,
    code: &Hash,
    now: &str,
    token: &Hash,
) -> Result<Option<Device>> {
    let mut statement = connection.prepare_cached(&format!(
        "UPDATE devices SET code = NULL, token = ?4, joined_at = ?3, seen_at = ?3
         WHERE nursery = ?1 AND code = ?2 AND code_until > ?3 AND revoked_at IS NULL
         RETURNING {SHOWN}"
    ))?;
    let mut rows = statement.query(params![nursery, code.0, now, token.0])?;
    let joined = rows.next()?.map(read).transpose()?;
    // Only then is the change written.
    while rows.next()?.is_some() {}
    Ok(joined)
}

/// The device that holds a token and may come in.
pub fn of_token(connection: &Connection, nursery: &str, token: &Hash) -> Result<Option<Device>> {
    Ok(connection
        .prepare_cached(&format!(
            "SELECT {SHOWN} FROM devices WHERE nursery = ?1 AND token = ?2 AND revoked_at IS NULL"
        ))?
        .query_row(params![nursery, token.0], read)
        .optional()?)
}

/// All devices, in the order of their ids.
pub fn all(connection: &Connection, nursery: &str) -> Result<Vec<Device>> {
    let mut statement = connection.prepare_cached(&format!(
        "SELECT {SHOWN} FROM devices WHERE nursery = ?1 ORDER BY id"
    ))?;
    let rows = statement.query_map([nursery], read)?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// Notes when a device was here last.
pub fn seen(connection: &Connection, nursery: &str, id: &str, at: &str) -> Result<()> {
    connection
        .prepare_cached("UPDATE devices SET seen_at = ?3 WHERE nursery = ?1 AND id = ?2")?
        .execute([nursery, id, at])?;
    Ok(())
}

/// Lets a device in no more, and takes back a code that was not used.
pub fn revoke(connection: &Connection, nursery: &str, id: &str, at: &str) -> Result<bool> {
    let changed = connection
        .prepare_cached(
            "UPDATE devices SET revoked_at = ?3, code = NULL, token = NULL
             WHERE nursery = ?1 AND id = ?2 AND revoked_at IS NULL",
        )?
        .execute([nursery, id, at])?;
    Ok(changed > 0)
}

/// A row as it is kept, with what others never see.
type Kept = (String, Device, Option<Vec<u8>>, Option<Vec<u8>>);

/// Forgets the devices of a person: what they are called may name the person too. The table is written
/// anew without them, as that of the names is, so that no copies are left in unused parts of pages.
pub fn forget(transaction: &Transaction<'_>, nursery: &str, person: &str) -> Result<()> {
    let kept: Vec<Kept> = transaction
        .prepare(&format!(
            "SELECT {SHOWN}, nursery, code, token FROM devices"
        ))?
        .query_map([], |row| {
            Ok((row.get(7)?, read(row)?, row.get(8)?, row.get(9)?))
        })?
        .collect::<rusqlite::Result<_>>()?;
    transaction.execute("DELETE FROM devices", [])?;
    let mut insert = transaction.prepare(
        "INSERT INTO devices (nursery, id, person, label, code_until, joined_at, seen_at,
                              revoked_at, code, token)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
    )?;
    let others = kept
        .iter()
        .filter(|(of, it, ..)| (of.as_str(), it.person.as_str()) != (nursery, person));
    for (of, it, code, token) in others {
        insert.execute(params![
            of,
            it.id,
            it.person,
            it.label,
            it.until,
            it.joined_at,
            it.seen_at,
            it.revoked_at,
            code,
            token
        ])?;
    }
    Ok(())
}

/// Forgets all devices of a file: whoever puts a backup back must not let in again who was kept out since.
pub fn forget_all(connection: &Connection) -> Result<()> {
    let transaction = Transaction::new_unchecked(connection, TransactionBehavior::Immediate)?;
    transaction.execute("DELETE FROM devices", [])?;
    Ok(transaction.commit()?)
}

fn read(row: &Row<'_>) -> rusqlite::Result<Device> {
    Ok(Device {
        id: row.get(0)?,
        person: row.get(1)?,
        label: row.get(2)?,
        until: row.get(3)?,
        joined_at: row.get(4)?,
        seen_at: row.get(5)?,
        revoked_at: row.get(6)?,
    })
}
