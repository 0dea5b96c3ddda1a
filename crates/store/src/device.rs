//! Who else than the machine itself may read and write a ledger.

use crate::Hash;

/// A code by which one device may join, once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Invitation {
    /// The device's id, which no other has.
    pub id: String,
    /// The id of the name of the person who will use it.
    pub person: String,
    /// What the device is called.
    pub label: String,
    /// The hash of the code.
    pub code: Hash,
    /// Until when the code holds.
    pub until: String,
}

/// A device that was invited.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Device {
    /// Its id.
    pub id: String,
    /// The id of the name of the person who uses it.
    pub person: String,
    /// What it is called.
    pub label: String,
    /// Until when its code held.
    pub until: String,
    /// When it joined.
    pub joined_at: Option<String>,
    /// When it was here last.
    pub seen_at: Option<String>,
    /// Since when it may no longer come in.
    pub revoked_at: Option<String>,
}
