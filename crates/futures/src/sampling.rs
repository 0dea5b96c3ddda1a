//! Draws from the distributions of the model. All logarithms and exponentials come from `libm`, so
//! that a stream gives the same draws on every platform.

use std::sync::LazyLock;

use crate::elementary::{exp, ln};
use crate::normal::normal;
use crate::scatter::{Quarters, Scatter};
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
    let mut quarters = Quarters::default();
    for _ in 0..n {
        let bits = u32::from(quarters.bits(stream));
        met += u32::from(bits < whole);
        even += u32::from(bits == whole);
    }
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
        // Below the smallest normal number 1/ρ has no end; it is as good as none.
        if rho < f64::MIN_POSITIVE || mean <= 0.0 || mean >= 1.0 {
            return Self::Sure(mean);
        }
        let together = 1.0 / rho - 1.0;
        Self::Beta(
            Gamma::new(mean * together),
            Gamma::new((1.0 - mean) * together),
        )
    }

    /// A probability in [0, 1].
    pub fn draw(&self, stream: &mut Stream) -> f64 {
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

/// About what one lot draws, and nothing else, for the bench: every second one has 70 plants, of which six
/// take 16 bits more, and the others have four.
#[doc(hidden)]
pub fn draws_of_a_lot(seed: u64, future: u32, lot: u32) -> f64 {
    let mut stream = Streams { seed, future }.of(Purpose::Lot, u64::from(lot), 0);
    let mut sum = normal(&mut stream);
    let survival = LotProbability::new(0.9, 0.02).draw(&mut stream);
    if lot.is_multiple_of(3) {
        sum += LotProbability::new(0.9, 0.03).draw(&mut stream);
    }
    if lot.is_multiple_of(2) {
        sum += f64::from(Scatter::new(70, &mut stream).before(128));
        let mut quarters = Quarters::default();
        for _ in 0..6 {
            sum += f64::from(quarters.bits(&mut stream));
        }
    } else {
        let survivors = binomial(&mut stream, 4, survival);
        for _ in 0..survivors {
            sum += normal(&mut stream);
        }
    }
    sum
}

#[cfg(test)]
#[path = "sampling_tests.rs"]
mod tests;
