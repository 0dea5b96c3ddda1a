//! Some of the futures of a run, in a file: parts drawn anywhere join to the run they are of.
//!
//! A file is a sequence (RFC 8742) of two CBOR items (RFC 8949): a map that says what it is and what
//! it is of, with the tally, and the SHA-256 of its bytes. It is a function of case, seed and ranges.

use std::ops::Range;
use std::sync::atomic::AtomicBool;

use ciborium::Value;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::case::Case;
use crate::outline::Outline;
use crate::run::{Engine, Options, Progress, SimulateError};
use crate::summary::Summary;
use crate::tally::Tally;
use crate::wire::Wire;

/// What the map of a file calls itself.
const NAME: &str = "barkslip futures";

/// The version of the file's form.
const VERSION: u32 = 1;

/// Which futures a seed stands for. Goes up with each change of the model or its streams after which
/// the same case and seed have other futures.
pub const NUMBERS: u32 = 3;

/// The head of the item that follows the map: 32 bytes.
const HASH_HEAD: [u8; 2] = [0x58, 32];

/// Some of the futures of one case and seed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// SHA-256 of the case.
    case: [u8; 32],
    seed: u64,
    /// Which futures: each future once, by number, ranges that touch joined.
    ranges: Vec<(u32, u32)>,
    outline: Outline,
    tally: Tally,
}

/// The map of a file.
#[derive(Debug, Serialize, Deserialize)]
struct Map {
    format: String,
    version: u32,
    numbers: u32,
    case: Value,
    seed: u64,
    ranges: Vec<(u32, u32)>,
    outline: Outline,
    tally: Wire,
}

/// What a file of any version says first.
#[derive(Debug, Deserialize)]
struct Label {
    format: String,
    version: u32,
}

/// Why a file or part is refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PartError {
    /// Something else.
    #[error("this is not a file of futures")]
    NotFutures,
    /// Of a later or earlier program.
    #[error("it is a file of futures of version {found}, and this program reads version {VERSION}")]
    Version {
        /// The version found.
        found: u32,
    },
    /// Its bytes are not those that were written.
    #[error("the file is damaged")]
    Damaged,
    /// Drawn by a program for which seeds stand for other futures.
    #[error("its futures are numbered by version {found}, and this program's by version {NUMBERS}")]
    Numbers {
        /// The version found.
        found: u32,
    },
    /// Of another case.
    #[error("it is of another case")]
    OtherCase,
    /// Of another seed.
    #[error("it is of seed {found}, not {expected}")]
    OtherSeed {
        /// The seed found.
        found: u64,
        /// The seed of the other parts.
        expected: u64,
    },
    /// With and without plants that become ready, by week.
    #[error("only one of them counts the plants that become ready")]
    OtherCounts,
    /// Some futures are in both.
    #[error("futures {from} to {last} are in both")]
    Overlap {
        /// The first of them.
        from: u32,
        /// The last of them in a row.
        last: u32,
    },
}

impl Part {
    /// Draws the futures `which` of a case. `futures` of the options is not read.
    ///
    /// # Errors
    /// Everything that is wrong with the case, or that `cancel` was set.
    pub fn draw(
        case: &Case,
        which: Range<u32>,
        options: &Options,
        progress: Option<Progress<'_>>,
        cancel: Option<&AtomicBool>,
    ) -> Result<Self, SimulateError> {
        let engine = Engine::try_new(case)?;
        let tally = engine.tally(which.clone(), options, progress, cancel)?;
        let is_none = which.is_empty();
        Ok(Self {
            case: hash_of(case),
            seed: options.seed,
            ranges: if is_none {
                Vec::new()
            } else {
                vec![(which.start, which.end)]
            },
            outline: engine.outline().clone(),
            tally,
        })
    }

    /// The seed.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Which futures it has, by number; no two ranges touch.
    pub fn ranges(&self) -> impl Iterator<Item = Range<u32>> {
        self.ranges.iter().map(|(from, end)| *from..*end)
    }

    /// How many futures are missing between its first and its last.
    pub fn gaps(&self) -> u32 {
        let pairs = self.ranges.iter().zip(self.ranges.iter().skip(1));
        pairs.map(|(one, next)| next.0 - one.1).sum()
    }

    /// Whether it is of this case.
    pub fn is_of(&self, case: &Case) -> bool {
        self.case == hash_of(case)
    }

    /// Odds and spreads over its futures.
    pub fn summary(&self) -> Summary {
        Summary::new(&self.outline, &self.tally)
    }

    /// Adds another part of the same run.
    ///
    /// # Errors
    /// That the parts do not belong together; then nothing is added.
    pub fn merge(&mut self, other: &Self) -> Result<(), PartError> {
        if (self.case, &self.outline) != (other.case, &other.outline) {
            return Err(PartError::OtherCase);
        }
        if self.seed != other.seed {
            let (found, expected) = (other.seed, self.seed);
            return Err(PartError::OtherSeed { found, expected });
        }
        if self.tally.arrivals.len() != other.tally.arrivals.len() {
            return Err(PartError::OtherCounts);
        }
        let mut ranges = [self.ranges.as_slice(), &other.ranges].concat();
        ranges.sort_unstable();
        self.ranges = joined(&ranges)?;
        self.tally.merge(&other.tally);
        Ok(())
    }

    /// The file of the part.
    pub fn to_bytes(&self) -> Vec<u8> {
        let map = Map {
            format: NAME.to_owned(),
            version: VERSION,
            numbers: NUMBERS,
            case: Value::Bytes(self.case.to_vec()),
            seed: self.seed,
            ranges: self.ranges.clone(),
            outline: self.outline.clone(),
            tally: Wire::of(&self.tally),
        };
        let mut bytes = cbor(&map);
        let hash = Sha256::digest(&bytes);
        bytes.extend_from_slice(&HASH_HEAD);
        bytes.extend_from_slice(&hash);
        bytes
    }

    /// Reads the file of a part.
    ///
    /// # Errors
    /// That it is no such file, of another version, or not as it was written.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, PartError> {
        let label: Label = ciborium::from_reader(bytes).map_err(|_| PartError::NotFutures)?;
        if label.format != NAME {
            return Err(PartError::NotFutures);
        }
        if label.version != VERSION {
            let found = label.version;
            return Err(PartError::Version { found });
        }
        let (map, hash) = bytes
            .len()
            .checked_sub(HASH_HEAD.len() + 32)
            .map(|at| bytes.split_at(at))
            .ok_or(PartError::Damaged)?;
        let written = [HASH_HEAD.as_slice(), &Sha256::digest(map)].concat();
        if hash != written {
            return Err(PartError::Damaged);
        }
        let mut rest = map;
        let map: Map = ciborium::from_reader(&mut rest).map_err(|_| PartError::Damaged)?;
        if map.numbers != NUMBERS {
            let found = map.numbers;
            return Err(PartError::Numbers { found });
        }
        let part = Self::from_map(map).ok_or(PartError::Damaged)?;
        // One part has one file: whatever says the same in other bytes was not written here.
        if part.to_bytes() == bytes {
            Ok(part)
        } else {
            Err(PartError::Damaged)
        }
    }

    fn from_map(map: Map) -> Option<Self> {
        let case = map.case.into_bytes().ok()?.try_into().ok()?;
        let outline = map.outline;
        let weeks = outline.weeks;
        let are_simulated = outline.report_weeks.iter().all(|week| *week < weeks)
            && outline.lines.iter().all(|line| {
                let end = line.first_week.checked_add(line.open_weeks);
                end.is_some_and(|end| end <= weeks)
            });
        if !are_simulated || map.ranges.iter().any(|(from, end)| from >= end) {
            return None;
        }
        let ranges = joined(&map.ranges).ok()?;
        let futures = ranges.iter().map(|(from, end)| end - from).sum();
        Some(Self {
            case,
            seed: map.seed,
            tally: map.tally.tally(futures, &outline)?,
            ranges,
            outline,
        })
    }
}

/// Ranges in their order, those that touch as one.
fn joined(ranges: &[(u32, u32)]) -> Result<Vec<(u32, u32)>, PartError> {
    let mut joined: Vec<(u32, u32)> = Vec::new();
    for (from, end) in ranges {
        match joined.last_mut() {
            Some(last) if *from < last.1 => {
                return Err(PartError::Overlap {
                    from: *from,
                    last: last.1.min(*end) - 1,
                });
            }
            Some(last) if *from == last.1 => last.1 = *end,
            _ => joined.push((*from, *end)),
        }
    }
    Ok(joined)
}

/// SHA-256 of a case, whatever file and order of keys it was read from.
fn hash_of(case: &Case) -> [u8; 32] {
    Sha256::digest(cbor(case)).into()
}

fn cbor<T: Serialize>(value: &T) -> Vec<u8> {
    let mut bytes = Vec::new();
    ciborium::into_writer(value, &mut bytes).expect("whole numbers, texts and lists are CBOR");
    bytes
}
