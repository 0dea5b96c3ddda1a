//! Plants scattered over the numbers from 0 to 1, of which each has one that tells what becomes of it.

use crate::stream::Stream;

/// Some plants, and how many of their numbers lie in each of 256 equal cells. Where in its cell a
/// number lies is drawn when it matters, which is for few.
pub struct Scatter {
    /// How many numbers lie in the cells before each, at `BEFORE` + cell, and zeros below these.
    before: [u8; 8 + CELLS],
}

/// How many cells there are.
pub const CELLS: usize = 256;

/// Where the count of the cells before the first one stands: the counts themselves fill whole words.
const BEFORE: usize = 7;

impl Scatter {
    /// The most plants, whose counts fit into bytes.
    pub const MOST: u32 = 255;

    /// Of `plants`, at most [`Self::MOST`], a byte of the stream each.
    #[inline]
    pub fn new(plants: u32, stream: &mut Stream) -> Self {
        let mut scatter = Self {
            before: [0; 8 + CELLS],
        };
        for _ in 0..plants / 8 {
            scatter.put(&stream.bits().to_le_bytes());
        }
        let rest = plants as usize % 8;
        if rest > 0 {
            scatter.put(&stream.bits().to_le_bytes()[..rest]);
        }
        sum_up(&mut scatter.before);
        scatter
    }

    #[inline]
    fn put(&mut self, cells: &[u8]) {
        for cell in cells {
            let count = &mut self.before[BEFORE + 1 + usize::from(*cell)];
            *count = count.wrapping_add(1);
        }
    }

    /// How many numbers lie in the cells before one.
    #[inline]
    pub fn before(&self, cell: u8) -> u32 {
        u32::from(self.before[BEFORE + usize::from(cell)])
    }

    /// How many numbers lie in a cell or before it.
    #[inline]
    pub fn through(&self, cell: u8) -> u32 {
        u32::from(self.before[BEFORE + 1 + usize::from(cell)])
    }
}

/// Random words in quarters.
#[derive(Default)]
pub struct Quarters {
    word: u64,
    left: u32,
}

impl Quarters {
    /// 16 random bits.
    #[inline]
    pub fn bits(&mut self, stream: &mut Stream) -> u16 {
        if self.left == 0 {
            *self = Self {
                word: stream.bits(),
                left: 4,
            };
        }
        let bits = self.word as u16;
        self.word >>= 16;
        self.left -= 1;
        bits
    }
}

/// The cell of a number that is given in cells, the first or the last one if it lies beyond; of a number
/// at a cell's edge, to rounding, that cell or the one before. Without a branch, so that a loop of it
/// goes four by four.
#[inline]
pub fn cell_of(number: f32) -> u8 {
    // Beside 3·2²² numbers have no fraction, and the lowest bits are those of a whole number.
    const SHIFT: f32 = 3.0 * (1u32 << 22) as f32;
    const LAST: f32 = (CELLS - 1) as f32;
    let whole = number - 0.5;
    let whole = if whole > 0.0 { whole } else { 0.0 };
    let whole = if whole < LAST { whole } else { LAST };
    (whole + SHIFT).to_bits() as u8
}

/// Turns counts into sums, eight at a time; none is above 255.
#[inline]
fn sum_up(counts: &mut [u8; 8 + CELLS]) {
    const EACH: u64 = 0x0101_0101_0101_0101;
    let mut sum = 0;
    for word in counts.as_chunks_mut::<8>().0 {
        let sums = (u64::from_le_bytes(*word) + sum).wrapping_mul(EACH);
        *word = sums.to_le_bytes();
        sum = sums >> 56;
    }
}
