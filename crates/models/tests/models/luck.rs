//! Draws for checks by simulation.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A stream of draws.
pub struct Luck(ChaCha8Rng);

impl Luck {
    /// Of a seed.
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number in (0, 1).
    pub fn uniform(&mut self) -> f64 {
        ((self.0.next_u64() >> 12) as f64 + 0.5) / (1_u64 << 52) as f64
    }

    /// A standard normal number.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.uniform())
    }

    /// So many of `n`, each with a chance.
    pub fn of(&mut self, n: u32, chance: f64) -> u32 {
        (0..n).map(|_| u32::from(self.uniform() < chance)).sum()
    }

    /// A share about a mean, by likeness ρ: a ratio of gamma numbers, each a sum or a rejection.
    pub fn beta(&mut self, mean: f64, rho: f64) -> f64 {
        let size = 1.0 / rho - 1.0;
        let (one, other) = (self.gamma(mean * size), self.gamma((1.0 - mean) * size));
        one / (one + other)
    }

    /// Marsaglia and Tsang (2000), lifted by one below a shape of 1.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let lifted = self.gamma(shape + 1.0);
            return lifted * libm::pow(self.uniform(), 1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = libm::pow(1.0 + c * x, 3.0);
            if v > 0.0 && libm::log(self.uniform()) < 0.5 * x * x + d - d * v + d * libm::log(v) {
                return d * v;
            }
        }
    }
}
