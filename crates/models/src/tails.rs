//! Tails of the normal and the binomial distribution.

/// Φ(z) = erfc(−z/√2)/2: the share of a standard normal below a deviate.
///
/// # Returns
/// A share, 0 … 1; within 1e-15 of scipy's `norm.cdf` where this was checked.
pub fn normal_below(deviate: f64) -> f64 {
    0.5 * libm::erfc(-deviate / std::f64::consts::SQRT_2)
}

/// The chance of at most `k` of `n`, each with the chance `p`.
///
/// It is the regularized incomplete beta function I(1 − p; n − k, k + 1).
pub(crate) fn binomial_at_most(k: u32, n: u32, p: f64) -> f64 {
    if k >= n || p <= 0.0 {
        return 1.0;
    }
    if p >= 1.0 {
        return 0.0;
    }
    incomplete_beta(1.0 - p, f64::from(n - k), f64::from(k) + 1.0)
}

/// I(x; a, b), for 0 < x < 1, by its continued fraction on the side where it converges fast.
fn incomplete_beta(x: f64, a: f64, b: f64) -> f64 {
    let front = |x: f64, a: f64, b: f64| {
        let log = libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b)
            + a * libm::log(x)
            + b * libm::log1p(-x);
        libm::exp(log) / a
    };
    let below = if x < (a + 1.0) / (a + b + 2.0) {
        front(x, a, b) * fraction(x, a, b)
    } else {
        1.0 - front(1.0 - x, b, a) * fraction(1.0 - x, b, a)
    };
    below.clamp(0.0, 1.0)
}

/// The continued fraction of the incomplete beta function, by Lentz's method.
fn fraction(x: f64, a: f64, b: f64) -> f64 {
    const MOST_TERMS: u32 = 2_000;
    const CLOSE: f64 = 1e-14;
    let away = |value: f64| if value.abs() < 1e-300 { 1e-300 } else { value };
    let mut upper = 1.0;
    let mut lower = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut value = lower;
    for term in 1..=MOST_TERMS {
        let m = f64::from(term);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let before = value;
        for part in [even, odd] {
            lower = 1.0 / away(1.0 + part * lower);
            upper = away(1.0 + part / upper);
            value *= lower * upper;
        }
        if (value - before).abs() <= CLOSE * value.abs() {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::{binomial_at_most, normal_below};

    #[test]
    fn tails_are_those_of_scipy() {
        // scipy 1.17.1: binom.cdf, norm.cdf.
        for (k, n, p, expected) in [
            (0, 1, 0.3, 0.7),
            (3, 10, 0.25, 0.775_875_091_552_734_4),
            (170, 200, 0.9, 0.016_326_565_931_766_394),
            (9_100, 10_000, 0.9, 0.999_660_142_682_133_4),
            (40, 60, 0.02, 1.0),
        ] {
            let found = binomial_at_most(k, n, p);
            assert!(
                (found - expected).abs() < 1e-11,
                "{k} of {n} at {p}: {found}"
            );
        }
        assert!((normal_below(-1.644_853_626_951_472_2) - 0.05).abs() < 1e-15);
    }

    #[test]
    fn sums_of_single_chances_agree() {
        for (n, p) in [(7_u32, 0.4_f64), (30, 0.05), (50, 0.93)] {
            let mut chance = (1.0 - p).powi(n.cast_signed());
            let mut sum = 0.0;
            for k in 0..=n {
                sum += chance;
                assert!(
                    (binomial_at_most(k, n, p) - sum).abs() < 1e-12,
                    "{k} of {n}"
                );
                chance *= f64::from(n - k) / f64::from(k + 1) * p / (1.0 - p);
            }
        }
    }
}
