//! Random streams: one for every draw that has a name of its own.
//!
//! A stream is Philox4x64-10 at the key and counter that (seed, name's hash, future, what it is for, a
//! week) make. It holds no index and no state of another stream, so that a lot keeps its luck when
//! others come and go, and a future is the same on whichever thread, process or machine it runs.

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
    #[inline]
    pub fn of(self, purpose: Purpose, name: u64, week: u32) -> Stream {
        Stream {
            key: [self.seed, name],
            block: 0,
            place: [
                u64::from(self.future) | (purpose as u64) << 32,
                u64::from(week),
            ],
            words: [0; BLOCK],
            used: BLOCK,
        }
    }
}

/// Words of one block of Philox.
const BLOCK: usize = 4;

/// A source of uniform numbers.
#[derive(Clone, Debug)]
pub struct Stream {
    key: [u64; 2],
    /// The first word of the counter.
    block: u64,
    /// Its second and third word.
    place: [u64; 2],
    words: [u64; BLOCK],
    used: usize,
}

impl Stream {
    /// 64 random bits.
    #[inline]
    pub fn bits(&mut self) -> u64 {
        if self.used == BLOCK {
            self.refill();
        }
        let word = self.words[self.used];
        self.used += 1;
        word
    }

    /// Hands over `BITS` random bits as often as asked, the lowest of a number whose others are none to use;
    /// each word of the stream is cut into as many pieces as it has.
    #[inline]
    pub fn pieces<const BITS: u32>(&mut self, pieces: u32, mut each: impl FnMut(&mut Self, u64)) {
        let of_a_word = u64::BITS / BITS;
        let mut left = pieces;
        while left > 0 {
            let mut word = self.bits();
            let now = left.min(of_a_word);
            for _ in 0..now {
                each(self, word);
                word >>= BITS;
            }
            left -= now;
        }
    }

    #[inline(never)]
    fn refill(&mut self) {
        let [place, week] = self.place;
        self.words = philox4x64([self.block, place, week, 0], self.key);
        self.block += 1;
        self.used = 0;
    }

    /// A number in (0, 1): the middle of one of 2⁵² equal cells.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        cell(self.bits())
    }

    /// A whole number below `count`, each as likely as any other to within `count`/2⁵².
    pub fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count - 1)
    }
}

/// The middle of the one of 2⁵² equal cells of (0, 1) that the upper 52 bits number.
#[inline]
pub fn cell(bits: u64) -> f64 {
    const ONE: u64 = 1.0_f64.to_bits();
    const HALF_A_CELL: f64 = f64::EPSILON / 2.0;
    // 1 + n·2⁻⁵² less 1 − 2⁻⁵³, which no bit is lost of.
    f64::from_bits(ONE | bits >> 12) - (1.0 - HALF_A_CELL)
}

/// One block of Philox4x64-10.
///
/// # Inputs
/// A counter of 256 bits and a key of 128.
/// # Returns
/// 256 random bits, a different bijection of the counters for each key.
/// # Source
/// Salmon, J. K., Moraes, M. A., Dror, R. O. & Shaw, D. E. (2011), Parallel random numbers: as easy
/// as 1, 2, 3, Proc. SC11.
/// # Checked against
/// The known answers that come with the authors' Random123.
#[expect(
    clippy::many_single_char_names,
    reason = "words of the counter and of the key"
)]
fn philox4x64(counter: [u64; 4], key: [u64; 2]) -> [u64; 4] {
    const ROUNDS: u32 = 10;
    const MULTIPLIERS: [u64; 2] = [0xd2e7_470e_e14c_6c93, 0xca5a_8263_9512_1157];
    /// The golden ratio and √3 − 1.
    const WEYL: [u64; 2] = [0x9e37_79b9_7f4a_7c15, 0xbb67_ae85_84ca_a73b];
    let ([mut a, mut b, mut c, mut d], [mut k, mut l]) = (counter, key);
    for _ in 0..ROUNDS {
        let (high_a, low_a) = product(MULTIPLIERS[0], a);
        let (high_c, low_c) = product(MULTIPLIERS[1], c);
        [a, b, c, d] = [high_c ^ b ^ k, low_c, high_a ^ d ^ l, low_a];
        k = k.wrapping_add(WEYL[0]);
        l = l.wrapping_add(WEYL[1]);
    }
    [a, b, c, d]
}

/// The upper and the lower half of a product.
fn product(x: u64, y: u64) -> (u64, u64) {
    let product = u128::from(x) * u128::from(y);
    ((product >> 64) as u64, product as u64)
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
    fn philox_gives_the_known_answers() {
        let known = [
            (
                [0; 6],
                [
                    0x1655_4d9e_ca36_314c,
                    0xdb20_fe9d_672d_0fdc,
                    0xd7e7_72ce_e186_176b,
                    0x7e68_b68a_ec7b_a23b,
                ],
            ),
            (
                [u64::MAX; 6],
                [
                    0x87b0_92c3_013f_e90b,
                    0x438c_3c67_be8d_0224,
                    0x9cc7_d7c6_9cd7_77b6,
                    0xa09c_aebf_594f_0ba0,
                ],
            ),
            (
                // The digits of π.
                [
                    0x243f_6a88_85a3_08d3,
                    0x1319_8a2e_0370_7344,
                    0xa409_3822_299f_31d0,
                    0x082e_fa98_ec4e_6c89,
                    0x4528_21e6_38d0_1377,
                    0xbe54_66cf_34e9_0c6c,
                ],
                [
                    0xa528_f454_03e6_1d95,
                    0x38c7_2dbd_566e_9788,
                    0xa5a1_610e_72fd_18b5,
                    0x57bd_43b5_e52b_7fe6,
                ],
            ),
        ];
        for ([a, b, c, d, k, l], answer) in known {
            assert_eq!(philox4x64([a, b, c, d], [k, l]), answer);
        }
    }

    #[test]
    fn a_stream_goes_through_its_blocks() {
        let mut stream = Streams { seed: 7, future: 9 }.of(Purpose::Operation, 5, 3);
        for block in 0..5 {
            let words = philox4x64([block, 9 | 5 << 32, 3, 0], [7, 5]);
            assert_eq!(words, std::array::from_fn(|_| stream.bits()));
        }
    }

    #[test]
    fn words_are_cut_from_their_lowest_bits_on() {
        let stream = || Streams { seed: 7, future: 9 }.of(Purpose::Lot, 5, 3);
        let mut whole = stream();
        let words = [whole.bits(), whole.bits()];
        let piece = |at: usize| words[at / 5] >> (12 * (at % 5)) & 0xfff;
        for pieces in [0, 1, 5, 6, 10] {
            let mut found = Vec::new();
            let mut cut = stream();
            cut.pieces::<12>(pieces, |_, bits| found.push(bits & 0xfff));
            assert_eq!(found, (0..pieces as usize).map(piece).collect::<Vec<_>>());
        }
        // What is drawn between pieces comes after their word.
        let mut between = Vec::new();
        stream().pieces::<12>(2, |stream, _| between.push(stream.bits()));
        assert_eq!(between[0], words[1]);
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
