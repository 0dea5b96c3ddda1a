//! Hashes and heads, as people copy them.

use std::fmt::{self, Display, Formatter};
use std::str::FromStr;

use sha2::{Digest, Sha256};

/// A SHA-256, shown as 64 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash(pub [u8; 32]);

impl Hash {
    /// What stands before the first entry.
    pub const ZERO: Self = Self([0; 32]);

    /// The hash of bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// The hash of several parts, each with its length before it, so that no two lists of parts are
    /// the same bytes.
    pub(crate) fn of_parts(parts: &[&[u8]]) -> Self {
        let mut digest = Sha256::new();
        add_parts(&mut digest, parts);
        Self(digest.finalize().into())
    }
}

/// Adds parts to a hash, each after its length as eight little-endian bytes.
pub(crate) fn add_parts(digest: &mut Sha256, parts: &[&[u8]]) {
    for part in parts {
        digest.update((part.len() as u64).to_le_bytes());
        digest.update(part);
    }
}

impl Display for Hash {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "Hash({self})")
    }
}

impl FromStr for Hash {
    type Err = NotAHead;

    fn from_str(text: &str) -> Result<Self, NotAHead> {
        let digits = text.as_bytes();
        let mut hash = [0; 32];
        if digits.len() != 2 * hash.len() {
            return Err(NotAHead);
        }
        for (byte, pair) in hash.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = 16 * digit(pair[0])? + digit(pair[1])?;
        }
        Ok(Self(hash))
    }
}

fn digit(letter: u8) -> Result<u8, NotAHead> {
    char::from(letter)
        .to_digit(16)
        .map(|value| value as u8)
        .ok_or(NotAHead)
}

/// Where a chain ends: the number and the hash of its last entry.
///
/// A head that somebody keeps signs off everything up to it: `1234-` and 64 hexadecimal digits.
/// Stored by people, so that its text must be readable for ever.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// The number of the last entry; entries are counted from 1.
    pub seq: u64,
    /// Its hash.
    pub hash: Hash,
}

impl Head {
    /// The head of a ledger without entries.
    pub const EMPTY: Self = Self {
        seq: 0,
        hash: Hash::ZERO,
    };
}

impl Display for Head {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.seq, self.hash)
    }
}

impl FromStr for Head {
    type Err = NotAHead;

    fn from_str(text: &str) -> Result<Self, NotAHead> {
        let (seq, hash) = text.trim().split_once('-').ok_or(NotAHead)?;
        // `parse` alone would take a plus sign.
        if !seq.bytes().all(|digit| digit.is_ascii_digit()) {
            return Err(NotAHead);
        }
        Ok(Self {
            seq: seq.parse().map_err(|_| NotAHead)?,
            hash: hash.parse()?,
        })
    }
}

/// The text is no head or hash.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("not a head of a ledger: it is a number, a hyphen and 64 hexadecimal digits")]
pub struct NotAHead;

#[cfg(test)]
mod tests {
    use super::{Hash, Head};

    #[test]
    fn a_head_is_read_as_it_is_written() {
        let head = Head {
            seq: u64::MAX,
            hash: Hash::of(b"barkslip"),
        };
        assert_eq!(head.to_string().parse(), Ok(head));
        assert_eq!(
            Head::EMPTY.to_string(),
            format!("0-{}", "00".repeat(32)),
            "an empty ledger has a head too"
        );
    }

    #[test]
    fn what_is_no_head_is_refused() {
        let digits = "ab".repeat(32);
        for text in [
            String::new(),
            digits.clone(),
            format!("-{digits}"),
            format!("+1-{digits}"),
            format!("1-{digits}0"),
            format!("1-{}", &digits[1..]),
            format!("1-{}é", &digits[2..]),
            format!("1-{}+f", &digits[2..]),
            format!("99999999999999999999-{digits}"),
        ] {
            assert!(text.parse::<Head>().is_err(), "{text}");
        }
    }
}
