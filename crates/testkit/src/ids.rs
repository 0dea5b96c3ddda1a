//! Ids of acts: ULIDs from the field date, the seed and a counter.

use jiff::civil::{Date, date};

const CROCKFORD: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const MILLISECONDS_A_DAY: u128 = 86_400_000;

/// Makes ids, each once.
#[derive(Clone, Debug)]
pub(crate) struct Ids {
    seed: u64,
    made: u64,
}

impl Ids {
    pub(crate) fn new(seed: u64) -> Self {
        Self { seed, made: 0 }
    }

    /// The next id: 48 bits of time, 40 of the seed, 40 of the counter.
    pub(crate) fn next(&mut self, on: Date) -> String {
        self.made += 1;
        let days = u128::try_from((on - date(1970, 1, 1)).get_days()).unwrap_or(0);
        let seed = u128::from(self.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 24);
        let bits = ((days * MILLISECONDS_A_DAY) << 80) | (seed << 40) | u128::from(self.made);
        (0..26)
            .rev()
            .map(|place| char::from(CROCKFORD[(bits >> (place * 5)) as usize & 31]))
            .collect()
    }
}
