//! At which of its sums of degree-days each plant of a lot is ready, in the order of plants.

use std::sync::LazyLock;

use crate::normal::{density, exact_upper_tail};

/// The sums of a log-normal distribution with one spread, over their median, at ranks that are evenly
/// apart: a plant of an even rank is ready between two of them.
#[derive(Debug)]
pub struct Ranks {
    /// In parts of the median, rounded down. The first one stands for 0 and the last for infinity.
    over_median: [u32; CELLS + 1],
}

/// Random bits that tell between which ranks a plant is.
pub const BITS: u32 = 12;

/// How many parts of ranks there are.
const CELLS: usize = 1 << BITS;

/// Parts of the median.
pub const PARTS: u32 = 1 << 20;

/// With wider spreads, plants may be ready beyond the sums that can be told.
const WIDEST: f64 = 1.0;

impl Ranks {
    /// With this spread of the logs; none if it is too wide.
    pub fn new(spread: f64) -> Option<Self> {
        if spread > WIDEST {
            return None;
        }
        let over_median = |rank| match rank {
            0 => 1,
            // Beyond 8 spreads of 1, where no plants are.
            CELLS => u32::MAX,
            _ => (libm::exp(spread * NORMAL[rank - 1]) * f64::from(PARTS)) as u32,
        };
        Some(Self {
            over_median: std::array::from_fn(over_median),
        })
    }

    /// The ends of the cell that the lowest bits number, in parts of the median, both rounded down.
    #[inline]
    pub fn around(&self, bits: u64) -> [u32; 2] {
        let cell = cell_of(bits);
        [self.over_median[cell], self.over_median[cell + 1]]
    }
}

/// The cell that the lowest bits number.
#[inline]
fn cell_of(bits: u64) -> usize {
    bits as usize % CELLS
}

/// The rank of a plant that lies `within`, from 0 to 1, in the cell that the lowest bits number.
pub fn within(bits: u64, within: f64) -> f64 {
    (cell_of(bits) as f64 + within) / CELLS as f64
}

/// The standard normal numbers below which 1, 2 … of `CELLS` parts lie, but the last.
static NORMAL: LazyLock<[f64; CELLS - 1]> = LazyLock::new(|| {
    let mut numbers = [0.0; CELLS - 1];
    // Near the number below which one part lies.
    let mut x = -3.5;
    for below in 1..CELLS / 2 {
        let share = below as f64 / CELLS as f64;
        // Newton's steps come from above, where the density grows, and double the digits.
        for _ in 0..8 {
            x += (share - exact_upper_tail(-x)) / density(x);
        }
        numbers[below - 1] = x;
        numbers[CELLS - 1 - below] = -x;
    }
    numbers
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_are_those_of_the_normal_integral() {
        for spread in [0.004, 0.2, 1.0] {
            let ranks = Ranks::new(spread).expect("it is not too wide");
            for cell in 1..CELLS as u64 {
                let [low, high] = ranks.around(cell | 77 << BITS);
                let below = |parts: u32| {
                    let over_median = f64::from(parts) / f64::from(PARTS);
                    exact_upper_tail(-libm::log(over_median) / spread)
                };
                let exact = cell as f64 / CELLS as f64;
                assert!(below(low) <= exact && exact <= below(low + 1) + 1e-12);
                assert!(low <= high);
                assert_eq!(ranks.around(cell - 1)[1], low);
            }
            assert_eq!(ranks.around(0)[0], 1);
            assert_eq!(ranks.around(CELLS as u64 - 1)[1], u32::MAX);
        }
        assert!(Ranks::new(1.01).is_none());
    }
}
