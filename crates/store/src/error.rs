//! What can go wrong, in words for people and in kinds for programs.

use std::io;

use crate::{Hash, Head};

/// Why the store could not do what was asked. Whatever it was, nothing was half written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// There is no room for what was to be written.
    #[error(
        "the disk is full: this was not written, and nothing that was written before is lost. \
         Free some room and do it again"
    )]
    Full,
    /// Another program holds the ledger for longer than one waits.
    #[error("another program is using the ledger: nothing was changed. Try again in a moment")]
    Busy,
    /// The ledger is not what was written.
    #[error("the ledger is damaged: {0}")]
    Damaged(#[from] Damage),
    /// The file is something else, or made by a newer version.
    #[error("{what} is not a ledger this version can read: {why}")]
    NotALedger {
        /// The file.
        what: String,
        /// What it is instead.
        why: String,
    },
    /// What was to be new is there already.
    #[error("{0} is there already")]
    AlreadyThere(String),
    /// What was asked for is not there.
    #[error("{0} is not there")]
    NotFound(String),
    /// The system refused to read or write a file.
    #[error("{what}: {why}")]
    Io {
        /// The file or folder.
        what: String,
        /// The system's words.
        #[source]
        why: io::Error,
    },
    /// The database refused for another reason, told in its words.
    #[error("the ledger cannot be read or written: {0}")]
    Other(String),
}

/// What is wrong with a ledger: the first thing that was found.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Damage {
    /// An entry was changed, cannot be read or is missing.
    #[error("entry {seq}{}: {why}", .act_id.as_ref().map_or(String::new(), |id| format!(" (act {id})")))]
    Entry {
        /// The first bad entry.
        seq: u64,
        /// The id of its act, where it can still be read.
        act_id: Option<String>,
        /// What is wrong with it.
        why: String,
    },
    /// The tail was cut off: the kept head is beyond the end.
    #[error("the ledger ends at entry {end}, but the kept head is entry {}", .kept.seq)]
    CutOff {
        /// The last entry.
        end: u64,
        /// The head that somebody kept.
        kept: Head,
    },
    /// The entry of the kept head is another one: the ledger was written anew.
    #[error("entry {} has the hash {found}, but the kept head says {}", .kept.seq, .kept.hash)]
    OtherHead {
        /// The head that somebody kept.
        kept: Head,
        /// The hash that the entry has.
        found: Hash,
    },
    /// The bytes of a blob are not those of its hash.
    #[error("the stored bytes of blob {0} were changed")]
    Blob(Hash),
    /// The file itself is not sound.
    #[error("the file is not sound: {0}")]
    File(String),
}
