//! Chance from one seed.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A seeded source of luck.
#[derive(Clone, Debug)]
pub(crate) struct Chance(ChaCha8Rng);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number in [0, 1).
    fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A number from `least` to below `most`.
    pub(crate) fn real(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.uniform()
    }

    /// Whether something of these odds happens.
    pub(crate) fn yes(&mut self, odds: f64) -> bool {
        self.uniform() < odds
    }

    /// A whole number below `count`.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count - 1)
    }

    /// A whole number from `least` to `most`, both included.
    pub(crate) fn between(&mut self, least: usize, most: usize) -> usize {
        least + self.below(most.max(least) - least + 1)
    }

    /// A day count from `least` to `most`, both included.
    pub(crate) fn days(&mut self, least: i32, most: i32) -> i32 {
        least + self.below((most - least + 1) as usize) as i32
    }

    /// The whole part of `mean`, and one more as often as its fraction says.
    pub(crate) fn about(&mut self, mean: f64) -> usize {
        mean as usize + usize::from(self.yes(mean.fract()))
    }

    /// How many of `count` have luck of these odds.
    pub(crate) fn share(&mut self, count: usize, odds: f64) -> usize {
        (0..count).filter(|_| self.yes(odds)).count()
    }

    /// One of several.
    pub(crate) fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }

    /// Up to `count` of `of`, in any order.
    pub(crate) fn some<T>(&mut self, mut of: Vec<T>, count: usize) -> Vec<T> {
        let count = count.min(of.len());
        for at in 0..count {
            let other = at + self.below(of.len() - at);
            of.swap(at, other);
        }
        of.truncate(count);
        of
    }
}
