//! Streams of random numbers, the same on every platform: ChaCha8 keyed by seed, what the numbers are
//! for and a number, so that no draw depends on another's.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The stream of a seed for a purpose and a number of its own.
pub(crate) fn stream(seed: u64, what: [u8; 4], number: u64) -> ChaCha8Rng {
    let mut key = [0; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    key[8..12].copy_from_slice(&what);
    key[12..20].copy_from_slice(&number.to_le_bytes());
    ChaCha8Rng::from_seed(key)
}

/// Two independent standard normal numbers (Box and Muller 1958).
pub(crate) fn two_normal(stream: &mut ChaCha8Rng) -> [f64; 2] {
    let radius = libm::sqrt(-2.0 * libm::log(uniform(stream)));
    let angle = std::f64::consts::TAU * uniform(stream);
    [radius * libm::cos(angle), radius * libm::sin(angle)]
}

/// A number in (0, 1): the middle of one of 2⁵² equal cells.
pub(crate) fn uniform(stream: &mut ChaCha8Rng) -> f64 {
    const CELL: f64 = 1.0 / (1_u64 << 52) as f64;
    ((stream.next_u64() >> 12) as f64 + 0.5) * CELL
}
