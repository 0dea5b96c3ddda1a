//! The ledger on disk: every received act with its outcome, in one chain that only grows.
//!
//! Whoever keeps a nursery's books needs three promises: what was acknowledged is on the disk, what
//! is on the disk has not been changed since, and a name can be forgotten. This crate gives them
//! over bytes whose meaning it does not know. [`Ledger`] is what a backend can do; [`SqliteLedger`]
//! does it in one file. A further backend must pass the suite in `tests/contract`.
//!
//! - **Entries** are chained ([`NewEntry::hash`]), so that a changed, missing or foreign entry is
//!   found and named by [`Ledger::verify`], and a cut-off tail by a [`Head`] kept elsewhere.
//! - **Names** of people and customers stand outside of the chain, so that they can be erased.
//! - **Blobs** are known by their hash and never change.
//! - **Devices** that may come in besides stand outside of the chain too, with the hashes of their codes and
//!   tokens only.
//! - **Snapshots** and **runs** can be made again from the rest, so that losing them costs time only.
//!
//! Must not know what an act, an event or a nursery is. The only crate that knows SQL. No clock and
//! no chance: times come as text from the caller.

mod device;
mod entry;
mod error;
mod hash;
mod ledger;
mod sqlite;

pub use device::{Device, Invitation};
pub use entry::{Entry, NewEntry};
pub use error::{Damage, StoreError};
pub use hash::{Hash, Head, NotAHead};
pub use ledger::{Ledger, Reading, Run, Verified, Writing};
pub use sqlite::SqliteLedger;

/// What every operation of the store gives.
pub type Result<T> = std::result::Result<T, StoreError>;
