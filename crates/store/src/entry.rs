//! One entry of the ledger and its place in the chain.

use sha2::{Digest, Sha256};

use crate::hash::{Hash, Head, add_parts};

/// One received act with what became of it, before it has a place in the chain.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewEntry {
    /// The key under which the act was sent. At most one entry of an id is `done`.
    pub act_id: String,
    /// When it was recorded, as the caller writes times.
    pub recorded_at: String,
    /// Whether the act was done; a refused act is kept too, and may come again under its id.
    pub done: bool,
    /// The act, as it was received.
    pub act: Vec<u8>,
    /// Its events, or the refusal.
    pub outcome: Vec<u8>,
}

/// One entry as it stands in the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its number, from 1 without a gap.
    pub seq: u64,
    /// The key under which the act was sent.
    pub act_id: String,
    /// When it was recorded.
    pub recorded_at: String,
    /// Whether the act was done, or refused.
    pub done: bool,
    /// The act, as it was received.
    pub act: Vec<u8>,
    /// Its events, or the refusal.
    pub outcome: Vec<u8>,
    /// The hash of this entry and, through it, of all before.
    pub hash: Hash,
}

impl NewEntry {
    /// The hash this entry has as the next one after `head` in the ledger of a nursery.
    ///
    /// SHA-256 over the hash before; the entry's number as eight little-endian bytes; then act id,
    /// recorded time, done (one byte, 0 or 1), act, outcome and nursery, each after its length as
    /// eight little-endian bytes. Ledgers that people keep hold this hash: it can never change.
    pub fn hash(&self, head: Head, nursery: &str) -> Hash {
        let mut digest = Sha256::new();
        digest.update(head.hash.0);
        digest.update((head.seq + 1).to_le_bytes());
        add_parts(
            &mut digest,
            &[
                self.act_id.as_bytes(),
                self.recorded_at.as_bytes(),
                &[u8::from(self.done)],
                &self.act,
                &self.outcome,
                nursery.as_bytes(),
            ],
        );
        Hash(digest.finalize().into())
    }

    /// The entry with its place in the chain.
    pub(crate) fn after(self, head: Head, nursery: &str) -> Entry {
        let hash = self.hash(head, nursery);
        Entry {
            seq: head.seq + 1,
            act_id: self.act_id,
            recorded_at: self.recorded_at,
            done: self.done,
            act: self.act,
            outcome: self.outcome,
            hash,
        }
    }
}

impl Entry {
    /// The head of a ledger that ends with this entry.
    pub fn head(&self) -> Head {
        Head {
            seq: self.seq,
            hash: self.hash,
        }
    }

    /// Whether the entry is the next one after `head`, unchanged.
    pub(crate) fn follows(self, head: Head, nursery: &str) -> bool {
        let stored = self.head();
        let new = NewEntry {
            act_id: self.act_id,
            recorded_at: self.recorded_at,
            done: self.done,
            act: self.act,
            outcome: self.outcome,
        };
        new.after(head, nursery).head() == stored
    }
}

#[cfg(test)]
mod tests {
    use super::NewEntry;
    use crate::{Hash, Head};

    fn entry() -> NewEntry {
        NewEntry {
            act_id: "a1".into(),
            recorded_at: "2027-03-04T10:00:00Z".into(),
            done: true,
            act: b"act".to_vec(),
            outcome: b"outcome".to_vec(),
        }
    }

    /// Counted by another implementation of SHA-256 over the bytes that the doc lists.
    #[test]
    fn the_chain_is_what_its_document_says() {
        let first = entry().hash(Head::EMPTY, "demo");
        assert_eq!(
            first.to_string(),
            "cd3fde8f31f237128f3bac23fa413ad3bd2d440044cd81873fa0ec65232b2c63"
        );
        let refused = NewEntry {
            done: false,
            ..entry()
        };
        let head = Head {
            seq: 1,
            hash: first,
        };
        assert_eq!(
            refused.hash(head, "demo").to_string(),
            "cc345ae2fc30f9b2cfeb7a36747ecfd910b38d99919b2fe1b4c299104b0581ad"
        );
    }

    #[test]
    fn every_part_changes_the_hash() {
        let one = entry();
        let head = Head::EMPTY;
        let other = Head {
            seq: 1,
            hash: Hash::ZERO,
        };
        let shifted = NewEntry {
            act: b"acto".to_vec(),
            outcome: b"utcome".to_vec(),
            ..entry()
        };
        let hashes = [
            one.hash(head, "demo"),
            one.hash(head, "demo2"),
            one.hash(other, "demo"),
            shifted.hash(head, "demo"),
            NewEntry {
                done: false,
                ..entry()
            }
            .hash(head, "demo"),
        ];
        for (index, hash) in hashes.iter().enumerate() {
            assert!(!hashes[..index].contains(hash), "{index}");
        }
    }
}
