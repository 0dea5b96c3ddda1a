use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Beta, Distribution};

use super::*;
use crate::stream::{Purpose, Streams};

fn stream(seed: u64) -> Stream {
    Streams { seed, future: 0 }.of(Purpose::Lot, 0, 0)
}

fn binomial_probability(n: u32, p: f64, k: u32) -> f64 {
    let (n, k) = (f64::from(n), f64::from(k));
    let ways = libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
    libm::exp(ways + k * libm::log(p) + (n - k) * libm::log1p(-p))
}

/// χ² of draws against the exact probabilities, in standard deviations from its mean; neighbors are
/// put together until ten are expected.
fn chi_square_excess(n: u32, p: f64) -> f64 {
    const DRAWS: u32 = 200_000;
    let mut seen = vec![0u32; n as usize + 1];
    let mut stream = stream(u64::from(n));
    for _ in 0..DRAWS {
        seen[binomial(&mut stream, n, p) as usize] += 1;
    }
    let (mut expected, mut found, mut chi_square, mut cells) = (0.0, 0.0, 0.0, 0.0);
    for (k, count) in seen.iter().enumerate() {
        expected += f64::from(DRAWS) * binomial_probability(n, p, k as u32);
        found += f64::from(*count);
        if expected >= 10.0 {
            chi_square += (found - expected) * (found - expected) / expected;
            cells += 1.0;
            (expected, found) = (0.0, 0.0);
        }
    }
    assert!(found < 60.0, "{found} draws where hardly any are expected");
    let freedom: f64 = cells - 1.0;
    (chi_square - freedom) / (2.0 * freedom).sqrt()
}

#[test]
fn binomial_draws_have_the_exact_probabilities() {
    let by_inversion = [
        (1, 0.3),
        (7, 0.5),
        (60, 0.02),
        (5_000, 0.001),
        (60, 0.98),
        (19, 0.5),
    ];
    let by_rejection = [
        (20, 0.5),
        (50, 0.3),
        (500, 0.03),
        (5_000, 0.3),
        (500, 0.93),
        (90, 0.12),
    ];
    for (n, p) in by_inversion.into_iter().chain(by_rejection) {
        let excess = chi_square_excess(n, p);
        assert!(excess < 4.5, "n = {n}, p = {p}: {excess} sd");
    }
}

#[test]
fn sure_things_draw_nothing() {
    let mut used = stream(1);
    assert_eq!(binomial(&mut used, 0, 0.4), 0);
    assert_eq!(binomial(&mut used, 40, 0.0), 0);
    assert_eq!(binomial(&mut used, 40, 1.0), 40);
    assert_eq!(binomial(&mut used, 40, -1e-17), 0);
    assert!((lot_probability(&mut used, 0.7, 0.0) - 0.7).abs() < 1e-15);
    assert!(lot_probability(&mut used, 0.0, 0.2).abs() < 1e-15);
    assert!((lot_probability(&mut used, 1.0, 0.2) - 1.0).abs() < 1e-15);
    assert_eq!(used.uniform().to_bits(), stream(1).uniform().to_bits());
}

#[test]
fn normal_quantile_undoes_the_normal_integral() {
    let lower = |x: f64| 0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2);
    for p in [
        1e-300,
        1e-100,
        1e-20,
        1e-9,
        0.001,
        0.02,
        0.0749,
        0.0751,
        0.3,
        0.5,
        0.8,
        0.97,
        1.0 - 1e-9,
    ] {
        let back = lower(normal_quantile(p));
        assert!((back / p - 1.0).abs() < 1e-12, "{p}: {back}");
    }
}

/// The largest distance of the draws' distribution from `below`.
fn distance(mut draws: Vec<f64>, below: impl Fn(f64) -> f64) -> f64 {
    draws.sort_by(f64::total_cmp);
    let n = draws.len() as f64;
    let gap = |(at, x): (usize, &f64)| (below(*x) - (at as f64 + 0.5) / n).abs();
    draws.iter().enumerate().map(gap).fold(0.0, f64::max)
}

/// The distance that chance passes once in 10,000 times (Kolmogorov).
fn kolmogorov_limit(n: usize) -> f64 {
    2.23 / (n as f64).sqrt()
}

#[test]
fn normal_draws_are_normal() {
    let mut stream = stream(2);
    let draws: Vec<f64> = (0..100_000).map(|_| normal(&mut stream)).collect();
    let lower = |x: f64| 0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2);
    assert!(distance(draws, lower) < kolmogorov_limit(100_000));
}

#[test]
fn beta_draws_are_those_of_another_library() {
    const DRAWS: usize = 50_000;
    for (mean, rho) in [
        (0.9, 0.02),
        (0.5, 0.5),
        (0.03, 0.3),
        (0.2, 0.9),
        (0.62, 0.02),
    ] {
        let together: f64 = 1.0 / rho - 1.0;
        let oracle = Beta::new(mean * together, (1.0 - mean) * together).expect("it is a beta");
        let mut rng = ChaCha8Rng::seed_from_u64(9);
        let mut theirs: Vec<f64> = (0..DRAWS).map(|_| oracle.sample(&mut rng)).collect();
        theirs.sort_by(f64::total_cmp);
        let mut stream = stream(3);
        let ours = (0..DRAWS)
            .map(|_| lot_probability(&mut stream, mean, rho))
            .collect();
        // The middle of a tie: shapes near 0 give many draws that are 0 or 1 to all digits.
        let below = |x: f64| {
            let (under, upto) = (
                theirs.partition_point(|y| *y < x),
                theirs.partition_point(|y| *y <= x),
            );
            (under + upto) as f64 / 2.0 / DRAWS as f64
        };
        let mut ours: Vec<f64> = ours;
        ours.retain(|x| *x > 1e-12 && *x < 1.0 - 1e-12 || (0.05..0.95).contains(&mean));
        let at_ends = 1.0 - ours.len() as f64 / DRAWS as f64;
        assert!(
            distance(ours, below) < kolmogorov_limit(DRAWS / 2) + at_ends,
            "μ = {mean}, ρ = {rho}"
        );
    }
}

#[test]
fn beta_draws_stay_finite_where_plants_are_all_alike() {
    let mut stream = stream(4);
    let draws: Vec<f64> = (0..20_000)
        .map(|_| lot_probability(&mut stream, 0.25, 0.999))
        .collect();
    assert!(draws.iter().all(|draw| (0.0..=1.0).contains(draw)));
    let mean = draws.iter().sum::<f64>() / 20_000.0;
    assert!(
        (mean - 0.25).abs() < 4.0 * (0.25 * 0.75 / 20_000f64).sqrt(),
        "{mean}"
    );
}
