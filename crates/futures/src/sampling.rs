//! Draws from the distributions of the model. All logarithms and exponentials come from `libm`, so
//! that a stream gives the same draws on every platform.

use crate::stream::Stream;

/// The standard normal value below which a share `p` lies.
///
/// # Equation
/// Φ⁻¹(p), by rational approximations in three ranges; relative error about 10⁻¹⁶.
/// # Inputs
/// `p` in (0, 1).
/// # Returns
/// A real number.
/// # Source
/// Wichura, M. J. (1988), Algorithm AS 241: The percentage points of the normal distribution,
/// Applied Statistics 37, 477–484, routine PPND16.
/// # Checked against
/// `libm::erfc`, from p = 10⁻³⁰⁰ to 1 − 10⁻⁹.
pub fn normal_quantile(p: f64) -> f64 {
    let from_middle = p - 0.5;
    if from_middle.abs() <= 0.425 {
        let r = 0.180_625 - from_middle * from_middle;
        return from_middle * ratio(&quantile::MIDDLE, r);
    }
    let tail = if from_middle < 0.0 { p } else { 1.0 - p };
    let r = (-libm::log(tail)).sqrt();
    let size = if r <= 5.0 {
        ratio(&quantile::TAIL, r - 1.6)
    } else {
        ratio(&quantile::FAR_TAIL, r - 5.0)
    };
    size.copysign(from_middle)
}

/// A polynomial over another, each with its coefficients from the lowest power up.
fn ratio((over, under): &([f64; 8], [f64; 8]), x: f64) -> f64 {
    let value = |terms: &[f64; 8]| terms.iter().rev().fold(0.0, |sum, term| sum * x + term);
    value(over) / value(under)
}

/// The coefficients of AS 241, PPND16.
#[expect(
    clippy::unreadable_literal,
    clippy::excessive_precision,
    reason = "as printed in the source"
)]
mod quantile {
    pub const MIDDLE: ([f64; 8], [f64; 8]) = (
        [
            3.3871328727963666080e0,
            1.3314166789178437745e2,
            1.9715909503065514427e3,
            1.3731693765509461125e4,
            4.5921953931549871457e4,
            6.7265770927008700853e4,
            3.3430575583588128105e4,
            2.5090809287301226727e3,
        ],
        [
            1.0,
            4.2313330701600911252e1,
            6.8718700749205790830e2,
            5.3941960214247511077e3,
            2.1213794301586595867e4,
            3.9307895800092710610e4,
            2.8729085735721942674e4,
            5.2264952788528545610e3,
        ],
    );
    pub const TAIL: ([f64; 8], [f64; 8]) = (
        [
            1.42343711074968357734e0,
            4.63033784615654529590e0,
            5.76949722146069140550e0,
            3.64784832476320460504e0,
            1.27045825245236838258e0,
            2.41780725177450611770e-1,
            2.27238449892691845833e-2,
            7.74545014278341407640e-4,
        ],
        [
            1.0,
            2.05319162663775882187e0,
            1.67638483018380384940e0,
            6.89767334985100004550e-1,
            1.48103976427480074590e-1,
            1.51986665636164571966e-2,
            5.47593808499534494600e-4,
            1.05075007164441684324e-9,
        ],
    );
    pub const FAR_TAIL: ([f64; 8], [f64; 8]) = (
        [
            6.65790464350110377720e0,
            5.46378491116411436990e0,
            1.78482653991729133580e0,
            2.96560571828504891230e-1,
            2.65321895265761230930e-2,
            1.24266094738807843860e-3,
            2.71155556874348757815e-5,
            2.01033439929228813265e-7,
        ],
        [
            1.0,
            5.99832206555887937690e-1,
            1.36929880922735805310e-1,
            1.48753612908506148525e-2,
            7.86869131145613259100e-4,
            1.84631831751005468180e-5,
            1.42151175831644588870e-7,
            2.04426310338993978564e-15,
        ],
    );
}

/// A standard normal draw, by inversion of one uniform number.
pub fn normal(stream: &mut Stream) -> f64 {
    normal_quantile(stream.uniform())
}

/// A draw of how many of `n` plants a chance `p` meets, each on its own.
///
/// # Inputs
/// `n` plants; `p` in [0, 1].
/// # Returns
/// 0 … n. With n = 0 or p at an end nothing is drawn from the stream.
/// # Source
/// Inversion from 0 upward while n·min(p, 1 − p) < 10; else Hörmann, W. (1993), The generation of
/// binomial random variates, J. Statist. Comput. Simul. 46, 101–110, algorithm BTRS.
/// # Checked against
/// The exact probabilities, by χ².
pub fn binomial(stream: &mut Stream, n: u32, p: f64) -> u32 {
    if n == 0 || p <= 0.0 {
        0
    } else if p >= 1.0 {
        n
    } else if p > 0.5 {
        n - binomial_lower(stream, n, 1.0 - p)
    } else {
        binomial_lower(stream, n, p)
    }
}

fn binomial_lower(stream: &mut Stream, n: u32, p: f64) -> u32 {
    if f64::from(n) * p < 10.0 {
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
        if bits & 1 == 1 {
            result *= square;
        }
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
        let height = libm::log(v * alpha / (a / (us * us) + b));
        if height <= log_relative_to_mode(size, p, k) {
            return k as u32;
        }
    }
}

/// The log of a binomial probability relative to the mode's.
fn log_relative_to_mode(n: f64, p: f64, k: f64) -> f64 {
    let mode = ((n + 1.0) * p).floor();
    let odds = p / (1.0 - p);
    (mode + 0.5) * libm::log((mode + 1.0) / (odds * (n - mode + 1.0)))
        + (n + 1.0) * libm::log((n - mode + 1.0) / (n - k + 1.0))
        + (k + 0.5) * libm::log(odds * (n - k + 1.0) / (k + 1.0))
        + stirling_rest(mode)
        + stirling_rest(n - mode)
        - stirling_rest(k)
        - stirling_rest(n - k)
}

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

/// A draw of a lot's own probability, whose mean is `mean` and which makes any two of its plants
/// alike with correlation `rho`.
///
/// # Equation
/// π ~ Beta(μ(1/ρ − 1), (1 − μ)(1/ρ − 1)); ρ = 0 gives μ; a μ of 0 or 1 stays.
/// # Inputs
/// `mean` μ in [0, 1]; `rho` ρ in [0, 1).
/// # Returns
/// A probability in [0, 1].
/// # Checked against
/// `rand_distr`'s beta, by the two-sample Kolmogorov–Smirnov distance.
pub fn lot_probability(stream: &mut Stream, mean: f64, rho: f64) -> f64 {
    // Below the smallest normal number 1/ρ has no end; it is as good as none.
    if rho < f64::MIN_POSITIVE || mean <= 0.0 || mean >= 1.0 {
        return mean;
    }
    let together = 1.0 / rho - 1.0;
    beta(stream, mean * together, (1.0 - mean) * together)
}

/// A Beta(a, b) draw, as one gamma draw over the sum of two.
fn beta(stream: &mut Stream, a: f64, b: f64) -> f64 {
    let yes = log_gamma_draw(stream, a);
    let no = log_gamma_draw(stream, b);
    1.0 / (1.0 + libm::exp(no - yes))
}

/// The log of a Gamma(shape, 1) draw. The log, since shapes near 0 give draws below the smallest
/// floating-point number.
///
/// # Source
/// Marsaglia, G. & Tsang, W. W. (2000), A simple method for generating gamma variables, ACM Trans.
/// Math. Softw. 26, 363–372; shapes below 1 by their G(a) = G(a + 1)·U^(1/a).
#[expect(clippy::many_single_char_names, reason = "the source's symbols")]
fn log_gamma_draw(stream: &mut Stream, shape: f64) -> f64 {
    if shape < 1.0 {
        let raised = log_gamma_draw(stream, shape + 1.0);
        return raised + libm::log(stream.uniform()) / shape;
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = normal(stream);
        let root = 1.0 + c * x;
        if root <= 0.0 {
            continue;
        }
        let v = root * root * root;
        let u = stream.uniform();
        let square = x * x;
        if u < 1.0 - 0.0331 * square * square
            || libm::log(u) < 0.5 * square + d * (1.0 - v + libm::log(v))
        {
            return libm::log(d * v);
        }
    }
}

#[cfg(test)]
#[path = "sampling_tests.rs"]
mod tests;
