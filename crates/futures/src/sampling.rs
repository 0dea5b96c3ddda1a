//! Draws from the distributions of the model. All logarithms and exponentials come from `libm`, so
//! that a stream gives the same draws on every platform.

use std::sync::LazyLock;

use crate::elementary::{exp, ln};
use crate::normal::normal;
use crate::ranks;
use crate::stream::{Purpose, Stream, Streams};

/// Up to this many plants are drawn one by one, which is as fast as any other way.
const SINGLY: u32 = 12;

/// Below this mean inversion is faster than rejection, which also needs it to be right.
const INVERSION_MEAN: f64 = 10.0;

/// A draw of how many of `n` plants a chance `p` meets, each on its own.
///
/// # Inputs
/// `n` plants; `p` in [0, 1].
/// # Returns
/// 0 … n. With n = 0 or p at an end nothing is drawn from the stream.
/// # Source
/// 16 bits a plant up to 12 plants, and more where they are those of the chance; inversion from 0 upward while n·min(p, 1 − p) < 10;
/// else Hörmann, W. (1993), The generation of binomial random variates, J. Statist. Comput. Simul. 46,
/// 101–110, algorithm BTRS.
/// # Checked against
/// The exact probabilities, by χ².
#[inline]
pub fn binomial(stream: &mut Stream, n: u32, p: f64) -> u32 {
    if n == 0 || p <= 0.0 {
        0
    } else if p >= 1.0 {
        n
    } else if n <= SINGLY {
        binomial_singly(stream, n, p)
    } else if p > 0.5 {
        n - binomial_lower(stream, n, 1.0 - p)
    } else {
        binomial_lower(stream, n, p)
    }
}

/// Compares 16 bits of each plant with those of the chance; the rest of it is drawn for where all are
/// the same.
fn binomial_singly(stream: &mut Stream, n: u32, p: f64) -> u32 {
    let scaled = p * 65_536.0;
    let whole = scaled as u32;
    let (mut met, mut even) = (0, 0);
    stream.pieces::<16>(n, |_, bits| {
        let bits = bits as u16;
        met += u32::from(u32::from(bits) < whole);
        even += u32::from(u32::from(bits) == whole);
    });
    let rest = scaled - f64::from(whole);
    met + (0..even)
        .map(|_| u32::from(stream.uniform() < rest))
        .sum::<u32>()
}

fn binomial_lower(stream: &mut Stream, n: u32, p: f64) -> u32 {
    if f64::from(n) * p < INVERSION_MEAN {
        binomial_inversion(stream, n, p)
    } else {
        binomial_btrs(stream, n, p)
    }
}

/// Walks up from 0 until the summed probability passes one uniform number.
fn binomial_inversion(stream: &mut Stream, n: u32, p: f64) -> u32 {
    let mut left = stream.uniform();
    // (1 − p)ⁿ is at least 1 − n·p: most draws of rare things end here.
    if left <= 1.0 - f64::from(n) * p {
        return 0;
    }
    let odds = p / (1.0 - p);
    let mut probability = power(1.0 - p, n);
    let mut k = 0;
    while left > probability && k < n {
        left -= probability;
        k += 1;
        probability *= odds * f64::from(n - k + 1) / f64::from(k);
    }
    k
}

/// `base` to the power `exponent`, by squaring: the same on every platform.
fn power(base: f64, exponent: u32) -> f64 {
    let (mut result, mut square, mut bits) = (1.0, base, exponent);
    while bits > 0 {
        // Not a branch, which would go either way.
        result *= if bits & 1 == 1 { square } else { 1.0 };
        square *= square;
        bits >>= 1;
    }
    result
}

/// Transformed rejection with a squeeze; for n·p ≥ 10 and p ≤ 1/2. Names as in the source.
#[expect(clippy::many_single_char_names, reason = "the source's symbols")]
fn binomial_btrs(stream: &mut Stream, n: u32, p: f64) -> u32 {
    let size = f64::from(n);
    let spread = (size * p * (1.0 - p)).sqrt();
    let b = 1.15 + 2.53 * spread;
    let a = -0.0873 + 0.0248 * b + 0.01 * p;
    let c = size * p + 0.5;
    let alpha = (2.83 + 5.1 / b) * spread;
    let squeeze = 0.92 - 4.2 / b;
    loop {
        let u = stream.uniform() - 0.5;
        let v = stream.uniform();
        let us = 0.5 - u.abs();
        let k = ((2.0 * a / us + b) * u + c).floor();
        if us >= 0.07 && v <= squeeze {
            return k as u32;
        }
        if k < 0.0 || k > size {
            continue;
        }
        let height = ln(v * alpha / (a / (us * us) + b));
        if height <= log_relative_to_mode(n, p, k as u32) {
            return k as u32;
        }
    }
}

/// The log of a binomial probability relative to the mode's.
fn log_relative_to_mode(n: u32, p: f64, k: u32) -> f64 {
    let mode = (f64::from(n + 1) * p).floor();
    let odds = p / (1.0 - p);
    if let Some(factorials) = LOG_FACTORIALS.get(..=n as usize) {
        let ways = |k: u32| factorials[k as usize] + factorials[(n - k) as usize];
        return ways(mode as u32) - ways(k) + (f64::from(k) - mode) * ln(odds);
    }
    let (n, k) = (f64::from(n), f64::from(k));
    (mode + 0.5) * ln((mode + 1.0) / (odds * (n - mode + 1.0)))
        + (n + 1.0) * ln((n - mode + 1.0) / (n - k + 1.0))
        + (k + 0.5) * ln(odds * (n - k + 1.0) / (k + 1.0))
        + stirling_rest(mode)
        + stirling_rest(n - mode)
        - stirling_rest(k)
        - stirling_rest(n - k)
}

/// ln k!, for most lots there are; larger ones are not worth the memory, and would lose digits.
static LOG_FACTORIALS: LazyLock<[f64; 1024]> = LazyLock::new(|| {
    let mut sum = 0.0;
    std::array::from_fn(|k| {
        sum += libm::log(k.max(1) as f64);
        sum
    })
});

/// What Stirling's formula lacks: ln k! − [½ ln 2π + (k + ½) ln(k + 1) − (k + 1)].
fn stirling_rest(k: f64) -> f64 {
    const EXACT: [f64; 10] = [
        0.081_061_466_795_327_26,
        0.041_340_695_955_409_29,
        0.027_677_925_684_998_34,
        0.020_790_672_103_765_09,
        0.016_644_691_189_821_19,
        0.013_876_128_823_070_75,
        0.011_896_709_945_891_77,
        0.010_411_265_261_972_09,
        0.009_255_462_182_712_733,
        0.008_330_563_433_362_87,
    ];
    if k < 10.0 {
        return EXACT[k as usize];
    }
    let next = k + 1.0;
    let square = next * next;
    (1.0 / 12.0 - (1.0 / 360.0 - 1.0 / 1260.0 / square) / square) / next
}

/// Where a lot's own probability comes from, which makes any two of its plants alike.
///
/// # Equation
/// π ~ Beta(μ(1/ρ − 1), (1 − μ)(1/ρ − 1)); ρ = 0 gives μ; a μ of 0 or 1 stays.
/// # Checked against
/// The exact beta-binomial probabilities, by χ².
#[derive(Clone, Copy, Debug)]
pub enum LotProbability {
    /// Always the same.
    Sure(f64),
    /// One gamma draw over the sum of two.
    Beta(Gamma, Gamma),
}

impl LotProbability {
    /// With mean μ in [0, 1] and correlation ρ in [0, 1).
    pub fn new(mean: f64, rho: f64) -> Self {
        // So small a ρ is as good as none: plants are alike by less than numbers are rounded.
        if rho < 1e-30 || mean <= 0.0 || mean >= 1.0 {
            return Self::Sure(mean);
        }
        let together = 1.0 / rho - 1.0;
        Self::Beta(
            Gamma::new(mean * together),
            Gamma::new((1.0 - mean) * together),
        )
    }

    /// How many of `n` plants of a lot with its own probability this meets.
    ///
    /// # Equation
    /// K ~ BetaBinomial(n; μ, ρ).
    /// # Source
    /// Inversion from the commoner end while hardly any plants lie there, with the probabilities of
    /// Skellam, J. G. (1948), J. R. Stat. Soc. B 10, 257–261; else the probability, then a binomial draw.
    /// # Checked against
    /// The exact probabilities, by χ².
    #[inline]
    pub fn meet(&self, stream: &mut Stream, n: u32) -> u32 {
        if let Self::Beta(Gamma { shape: yes, .. }, Gamma { shape: no, .. }) = self
            && n <= MOST_INVERTED
            && f64::from(n) * yes.min(*no) <= RARE * (yes + no)
        {
            return if yes < no {
                beta_binomial_inversion(stream, n, [*no, *yes])
            } else {
                n - beta_binomial_inversion(stream, n, [*yes, *no])
            };
        }
        let p = self.draw(stream);
        binomial(stream, n, p)
    }

    /// A probability in [0, 1].
    fn draw(&self, stream: &mut Stream) -> f64 {
        match self {
            Self::Sure(p) => *p,
            Self::Beta(yes, no) if yes.shape >= 1.0 && no.shape >= 1.0 => {
                let (yes, no) = (yes.raised_draw(stream), no.raised_draw(stream));
                yes / (yes + no)
            }
            Self::Beta(yes, no) => {
                let (yes, no) = (yes.log_draw(stream), no.log_draw(stream));
                1.0 / (1.0 + exp(no - yes))
            }
        }
    }
}

/// In lots of more plants, probabilities of the commoner end may be too small for numbers.
const MOST_INVERTED: u32 = 256;

/// Up to so many plants at the rarer end, inversion is as fast as any other way.
const RARE: f64 = 16.0;

/// How many plants lie at the rarer end of a beta probability with these shapes, the rarer last. Walks
/// up from 0 until the summed probability passes one uniform number.
fn beta_binomial_inversion(stream: &mut Stream, n: u32, [common, rare]: [f64; 2]) -> u32 {
    let mut left = stream.uniform();
    // Each plant alone has the mean chance.
    if left * (common + rare) <= common + rare - f64::from(n) * rare {
        return 0;
    }
    let mut probability = all_common(n, common, common + rare);
    let mut k = 0;
    while left > probability && k < n {
        left -= probability;
        let (these, others) = (f64::from(k), f64::from(n - k));
        probability *= others * (rare + these) / ((these + 1.0) * (common + others - 1.0));
        k += 1;
    }
    k
}

/// The product of (common + i)/(all + i) over i below `n`, with a division for every eight.
fn all_common(n: u32, common: f64, all: f64) -> f64 {
    let (mut product, mut i) = (1.0, 0.0);
    let eight = |from: f64| {
        let four = |from: f64| (from * (from + 1.0)) * ((from + 2.0) * (from + 3.0));
        four(from) * four(from + 4.0)
    };
    for _ in 0..n / 8 {
        product *= eight(common + i) / eight(all + i);
        i += 8.0;
    }
    let (mut those, mut these) = (1.0, 1.0);
    for _ in 0..n % 8 {
        those *= common + i;
        these *= all + i;
        i += 1.0;
    }
    product * (those / these)
}

/// A gamma distribution of scale 1.
///
/// # Source
/// Marsaglia, G. & Tsang, W. W. (2000), A simple method for generating gamma variables, ACM Trans.
/// Math. Softw. 26, 363–372; shapes below 1 by their G(a) = G(a + 1)·U^(1/a).
#[derive(Clone, Copy, Debug)]
pub struct Gamma {
    shape: f64,
    /// d and c of the source, for the shape or, below 1, one more.
    d: f64,
    c: f64,
}

impl Gamma {
    fn new(shape: f64) -> Self {
        let raised = if shape < 1.0 { shape + 1.0 } else { shape };
        let d = raised - 1.0 / 3.0;
        Self {
            shape,
            d,
            c: 1.0 / (9.0 * d).sqrt(),
        }
    }

    /// A draw of the shape or, below 1, one more.
    fn raised_draw(&self, stream: &mut Stream) -> f64 {
        loop {
            let x = normal(stream);
            let root = 1.0 + self.c * x;
            if root <= 0.0 {
                continue;
            }
            let v = root * root * root;
            let u = stream.uniform();
            let square = x * x;
            if u < 1.0 - 0.0331 * square * square
                || ln(u) < 0.5 * square + self.d * (1.0 - v + ln(v))
            {
                return self.d * v;
            }
        }
    }

    /// The log of a draw: shapes near 0 give draws below the smallest floating-point number.
    fn log_draw(&self, stream: &mut Stream) -> f64 {
        let raised = ln(self.raised_draw(stream));
        if self.shape < 1.0 {
            raised + ln(stream.uniform()) / self.shape
        } else {
            raised
        }
    }
}

/// About what one lot draws, and nothing else, for the bench: every second one has 70 plants, the others
/// four.
#[doc(hidden)]
pub fn draws_of_a_lot(seed: u64, future: u32, lot: u32) -> f64 {
    let mut stream = Streams { seed, future }.of(Purpose::Lot, u64::from(lot), 0);
    let mut sum = normal(&mut stream);
    let plants = if lot.is_multiple_of(2) { 70 } else { 4 };
    let survivors = LotProbability::new(0.9, 0.02).meet(&mut stream, plants);
    if lot.is_multiple_of(3) {
        sum += f64::from(LotProbability::new(0.9, 0.03).meet(&mut stream, survivors));
    }
    stream.pieces::<{ ranks::BITS }>(survivors, |_, bits| sum += bits as f64);
    sum
}

#[cfg(test)]
#[path = "sampling_tests.rs"]
mod tests;
