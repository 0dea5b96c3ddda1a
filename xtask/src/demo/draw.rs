//! Draws from a fixed seed, and the tables they fill: the same on every platform.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A stream of random numbers of its own for each part of the demo, so that a change to one part
/// leaves the others as they are.
pub struct Draw(ChaCha8Rng);

impl Draw {
    /// The stream of a part.
    pub fn of(seed: u64, part: u8) -> Self {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        key[8] = part;
        Self(ChaCha8Rng::from_seed(key))
    }

    /// Any bits.
    pub fn bits(&mut self) -> u64 {
        self.0.next_u64()
    }

    /// A number in (0, 1).
    pub fn uniform(&mut self) -> f64 {
        const CELL: f64 = 1.0 / (1_u64 << 52) as f64;
        ((self.0.next_u64() >> 12) as f64 + 0.5) * CELL
    }

    /// A number from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// A whole number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.uniform() * count as f64) as usize
    }

    /// A number of the normal distribution with mean 0 and spread 1.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.uniform())
    }

    /// Puts items in any order.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }

    /// A day from `first` to `last`, both included.
    pub fn day(&mut self, first: Date, last: Date) -> Date {
        let length = (last - first).get_days() + 1;
        plus_days(first, (self.uniform() * f64::from(length)) as i32)
    }
}

/// The day so many days on.
pub fn plus_days(date: Date, days: i32) -> Date {
    date.checked_add(days.days())
        .expect("the demo lies far from the calendar's end")
}

/// The Monday of a day's week.
pub fn monday(date: Date) -> Date {
    plus_days(date, -i32::from(date.weekday().since(Weekday::Monday)))
}

/// Divides a whole into parts in the proportion of the weights; no plant appears or vanishes.
pub fn divide(whole: u32, weights: &[f64]) -> Vec<u32> {
    let total: f64 = weights.iter().sum();
    let (mut sum, mut given) = (0.0, 0);
    weights
        .iter()
        .map(|weight| {
            sum += weight;
            let upto = (f64::from(whole) * sum / total).round() as u32;
            let part = upto - given;
            given = upto;
            part
        })
        .collect()
}

/// Where `count` equal steps through the weights fall, the first so far into its step: each index
/// about as often as its weight says.
pub fn spread_out(start: f64, count: usize, weights: &[f64]) -> Vec<usize> {
    let total: f64 = weights.iter().sum();
    let (mut index, mut upto) = (0, weights[0]);
    (0..count)
        .map(|step| {
            let at = (step as f64 + start) / count as f64 * total;
            while at > upto && index + 1 < weights.len() {
                index += 1;
                upto += weights[index];
            }
            index
        })
        .collect()
}

/// A comma-separated table under way. No cell of the demo holds a comma.
pub struct Table(String);

impl Table {
    /// A table with its header.
    pub fn new(header: &str) -> Self {
        Self(format!("{header}\n"))
    }

    /// Adds a row.
    pub fn row(&mut self, cells: &[&dyn std::fmt::Display]) {
        let cells: Vec<String> = cells.iter().map(ToString::to_string).collect();
        self.0.push_str(&cells.join(","));
        self.0.push('\n');
    }

    /// The whole text.
    pub fn text(self) -> String {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::{divide, spread_out};

    #[test]
    fn parts_sum_to_the_whole() {
        let parts = divide(1000, &[1.0, 1.0, 1.0]);
        assert_eq!(parts.iter().sum::<u32>(), 1000);
        assert_eq!(parts, [333, 334, 333]);
    }

    #[test]
    fn steps_follow_the_weights() {
        assert_eq!(spread_out(0.5, 4, &[2.0, 1.0, 1.0]), [0, 0, 1, 2]);
        assert_eq!(spread_out(0.5, 2, &[1.0, 0.0, 1.0]), [0, 2]);
    }
}
