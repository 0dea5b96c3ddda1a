//! Random streams: one for every draw that has a name of its own.
//!
//! A stream is ChaCha8 keyed by (seed, future, what it is for, the name's hash, a week). It holds no
//! index and no state of another stream, so that a lot keeps its luck when others come and go, and a
//! future is the same on whichever thread, process or machine it runs.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// What a stream is for. The numbers are part of what a seed stands for.
#[derive(Clone, Copy, Debug)]
pub enum Purpose {
    /// Which weather path comes.
    Path = 1,
    /// The luck that lots of a group share.
    Group = 2,
    /// Whether an order line is kept.
    Line = 3,
    /// A standing lot.
    Lot = 4,
    /// The lot that an operation starts in a week.
    Operation = 5,
    /// What a loss leaves of a stage's ready plants in a week.
    Loss = 6,
    /// Whether and when a peril comes.
    Peril = 7,
}

/// The streams of one future.
#[derive(Clone, Copy, Debug)]
pub struct Streams {
    /// The run's seed.
    pub seed: u64,
    /// Which future.
    pub future: u32,
}

impl Streams {
    /// The stream of a name's hash and a week (0 where there is none).
    pub fn of(self, purpose: Purpose, name: u64, week: u32) -> Stream {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&self.seed.to_le_bytes());
        key[8..12].copy_from_slice(&self.future.to_le_bytes());
        key[12..16].copy_from_slice(&(purpose as u32).to_le_bytes());
        key[16..24].copy_from_slice(&name.to_le_bytes());
        key[24..28].copy_from_slice(&week.to_le_bytes());
        Stream(ChaCha8Rng::from_seed(key))
    }
}

/// A source of uniform numbers.
#[derive(Clone, Debug)]
pub struct Stream(ChaCha8Rng);

impl Stream {
    /// A number in (0, 1): the middle of one of 2⁵² equal cells.
    pub fn uniform(&mut self) -> f64 {
        const CELL: f64 = 1.0 / (1u64 << 52) as f64;
        ((self.0.next_u64() >> 12) as f64 + 0.5) * CELL
    }

    /// A whole number below `count`, each as likely as any other to within `count`/2⁵².
    pub fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count - 1)
    }
}

/// FNV-1a, 64 bits, over the bytes of each part and a byte that no UTF-8 text has.
///
/// The standard library's hasher may change from release to release; this one may not.
pub fn name_hash(parts: &[&str]) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0000_0100_0000_01b3;
    parts
        .iter()
        .flat_map(|part| part.bytes().chain([0xff]))
        .fold(BASIS, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(PRIME)
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_hash_as_published() {
        // FNV-1a of "a" is af63dc4c8601ec8c; one step more takes the closing byte.
        let of_a: u64 = 0xaf63_dc4c_8601_ec8c;
        assert_eq!(
            name_hash(&["a"]),
            (of_a ^ 0xff).wrapping_mul(0x0000_0100_0000_01b3)
        );
        assert_ne!(name_hash(&["ab", "c"]), name_hash(&["a", "bc"]));
    }

    #[test]
    fn a_stream_is_a_function_of_its_key() {
        let draw = |seed, future, purpose, name, week| {
            Streams { seed, future }
                .of(purpose, name, week)
                .uniform()
                .to_bits()
        };
        let base = draw(7, 1, Purpose::Lot, 5, 0);
        assert_eq!(base, draw(7, 1, Purpose::Lot, 5, 0));
        for other in [
            draw(8, 1, Purpose::Lot, 5, 0),
            draw(7, 2, Purpose::Lot, 5, 0),
            draw(7, 1, Purpose::Operation, 5, 0),
            draw(7, 1, Purpose::Lot, 6, 0),
            draw(7, 1, Purpose::Lot, 5, 1),
        ] {
            assert_ne!(base, other);
        }
    }

    #[test]
    fn whole_numbers_are_even() {
        let mut stream = Streams { seed: 3, future: 0 }.of(Purpose::Path, 0, 0);
        let mut seen = [0u32; 7];
        for _ in 0..70_000 {
            seen[stream.below(7)] += 1;
        }
        assert!(
            seen.iter().all(|count| count.abs_diff(10_000) < 450),
            "{seen:?}"
        );
    }
}
