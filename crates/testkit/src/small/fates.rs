//! Draws of continuous luck.

use crate::chance::Chance;

/// A standard normal number (Marsaglia and Bray 1964, the polar method).
pub(super) fn normal(chance: &mut Chance) -> f64 {
    loop {
        let (x, y) = (chance.real(-1.0, 1.0), chance.real(-1.0, 1.0));
        let square = x * x + y * y;
        if square > 0.0 && square < 1.0 {
            return x * libm::sqrt(-2.0 * libm::log(square) / square);
        }
    }
}

/// A log-normal factor of mean 1.
pub(super) fn factor(chance: &mut Chance, spread: f64) -> f64 {
    libm::exp(spread * normal(chance) - spread * spread / 2.0)
}

/// A share with mean `mean`, drawn from the beta distribution in which two plants are alike by `rho`.
pub(super) fn share(chance: &mut Chance, mean: f64, rho: f64) -> f64 {
    if rho <= 0.0 || mean <= 0.0 || mean >= 1.0 {
        return mean;
    }
    let size = 1.0 / rho - 1.0;
    let (kept, lost) = (
        gamma(chance, mean * size),
        gamma(chance, (1.0 - mean) * size),
    );
    kept / (kept + lost)
}

/// A gamma number of this shape: as many exponential waits as its whole part, and for the rest a share of
/// one more, drawn from a beta distribution by Jöhnk's method (1964).
fn gamma(chance: &mut Chance, shape: f64) -> f64 {
    let waits: f64 = (0..shape as usize).map(|_| wait(chance)).sum();
    let rest = shape.fract();
    if rest > 0.0 {
        waits + wait(chance) * johnk(chance, rest)
    } else {
        waits
    }
}

/// An exponential number of mean 1.
fn wait(chance: &mut Chance) -> f64 {
    -libm::log(1.0 - chance.real(0.0, 1.0))
}

/// A beta number of the shapes `part` and 1 − `part`.
fn johnk(chance: &mut Chance, part: f64) -> f64 {
    loop {
        let one = libm::pow(chance.real(0.0, 1.0), 1.0 / part);
        let other = libm::pow(chance.real(0.0, 1.0), 1.0 / (1.0 - part));
        if one + other > 0.0 && one + other <= 1.0 {
            return one / (one + other);
        }
    }
}

/// Odds whose logit has been moved; never and always stay.
pub(super) fn moved(odds: f64, by: f64) -> f64 {
    if odds <= 0.0 || odds >= 1.0 {
        return odds;
    }
    let logit = libm::log(odds) - libm::log1p(-odds) + by;
    1.0 / (1.0 + libm::exp(-logit))
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAWS: usize = 40_000;

    /// Mean and standard deviation of many draws.
    fn spread(mut draw: impl FnMut(&mut Chance) -> f64) -> (f64, f64) {
        let mut chance = Chance::new(11);
        let draws: Vec<f64> = (0..DRAWS).map(|_| draw(&mut chance)).collect();
        let mean = draws.iter().sum::<f64>() / DRAWS as f64;
        let square = draws.iter().map(|it| (it - mean) * (it - mean));
        (mean, (square.sum::<f64>() / DRAWS as f64).sqrt())
    }

    /// Five standard errors of a mean, and about as much for a deviation.
    fn near(found: f64, wanted: f64, sd: f64) {
        let slack = 5.0 * sd / (DRAWS as f64).sqrt();
        assert!((found - wanted).abs() < slack, "{found} for {wanted}");
    }

    #[test]
    fn normal_numbers_have_mean_0_and_deviation_1() {
        let (mean, sd) = spread(normal);
        near(mean, 0.0, 1.0);
        near(sd, 1.0, 1.0);
        let (tail, _) = spread(|chance| f64::from(normal(chance) > 1.644_853_627));
        near(tail, 0.05, 0.22);
    }

    #[test]
    fn factors_have_mean_1() {
        near(spread(|chance| factor(chance, 0.3)).0, 1.0, 0.31);
    }

    #[test]
    fn shares_have_their_mean_and_likeness() {
        for (wanted, rho) in [(0.8, 0.05), (0.5, 0.4), (0.97, 0.2), (0.3, 0.01)] {
            let (mean, sd) = spread(|chance| share(chance, wanted, rho));
            let wanted_sd = (wanted * (1.0 - wanted) * rho).sqrt();
            near(mean, wanted, wanted_sd);
            near(sd, wanted_sd, 2.0 * wanted_sd);
        }
        let mut chance = Chance::new(1);
        let sure = [(0.0, 0.1), (1.0, 0.1), (0.4, 0.0)].map(|(p, rho)| share(&mut chance, p, rho));
        assert_eq!(sure.map(f64::to_bits), [0.0, 1.0, 0.4].map(f64::to_bits));
    }

    #[test]
    fn luck_moves_the_logit() {
        assert!((moved(0.5, 2.0) - 0.880_797).abs() < 1e-6);
        assert!((moved(0.9, 0.0) - 0.9).abs() < 1e-12);
        assert_eq!(moved(0.0, 3.0).to_bits(), 0.0_f64.to_bits());
        assert_eq!(moved(1.0, -3.0).to_bits(), 1.0_f64.to_bits());
    }
}
