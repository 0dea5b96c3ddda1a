use super::*;

fn stream(seed: u64) -> Stream {
    Streams { seed, future: 0 }.of(Purpose::Lot, 0, 0)
}

fn log_ways(n: f64, k: f64) -> f64 {
    libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0)
}

fn binomial_probability(n: u32, p: f64, k: u32) -> f64 {
    let (n, k) = (f64::from(n), f64::from(k));
    libm::exp(log_ways(n, k) + k * libm::log(p) + (n - k) * libm::log1p(-p))
}

fn beta_binomial_probability(n: u32, mean: f64, rho: f64, k: u32) -> f64 {
    let together = 1.0 / rho - 1.0;
    let (a, b) = (mean * together, (1.0 - mean) * together);
    let (n, k) = (f64::from(n), f64::from(k));
    let log_beta = |a: f64, b: f64| libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b);
    libm::exp(log_ways(n, k) + log_beta(k + a, n - k + b) - log_beta(a, b))
}

/// χ² of draws against exact probabilities, in standard deviations from its mean; neighbors are put
/// together until ten are expected, and the last ones with those before them.
fn chi_square_excess(n: u32, probability: impl Fn(u32) -> f64, draw: impl FnMut() -> u32) -> f64 {
    chi_square_excess_of(DRAWS, n, probability, draw)
}

const DRAWS: u32 = 200_000;

fn chi_square_excess_of(
    draws: u32,
    n: u32,
    probability: impl Fn(u32) -> f64,
    draw: impl FnMut() -> u32,
) -> f64 {
    let mut seen = vec![0u32; n as usize + 1];
    std::iter::repeat_with(draw)
        .take(draws as usize)
        .for_each(|k| seen[k as usize] += 1);
    let mut cells = vec![(0.0, 0.0)];
    for (k, count) in seen.iter().enumerate() {
        let (expected, found) = cells.last_mut().expect("there is one");
        *expected += f64::from(draws) * probability(k as u32);
        *found += f64::from(*count);
        if *expected >= 10.0 {
            cells.push((0.0, 0.0));
        }
    }
    let (rest, found) = cells.pop().expect("there is one");
    let last = cells.last_mut().expect("there are enough draws for one");
    *last = (last.0 + rest, last.1 + found);
    let all: f64 = cells.iter().map(|(expected, _)| expected).sum();
    assert!(
        (all / f64::from(draws) - 1.0).abs() < 1e-6,
        "probabilities sum to {all}"
    );
    let chi_square: f64 = cells
        .iter()
        .map(|(expected, found)| (found - expected) * (found - expected) / expected)
        .sum();
    // One cell has to be full; anything else would be infinitely far off.
    let freedom = (cells.len() as f64 - 1.0).max(1e-9);
    (chi_square - (cells.len() as f64 - 1.0)) / (2.0 * freedom).sqrt().max(1e-3)
}

/// Numbers of plants and chances, for each way of drawing and for its ends.
const BINOMIALS: [(u32, f64); 30] = [
    (1, 1e-6),
    (1, 0.3),
    (1, 0.999_9),
    (2, 0.5),
    (7, 0.5),
    (12, 0.04),
    (12, 0.93),
    (13, 0.5),
    (13, 1e-4),
    (19, 0.5),
    (20, 0.5),
    (50, 0.3),
    (60, 0.02),
    (60, 0.98),
    (90, 0.12),
    (101, 0.099),
    (500, 0.03),
    (500, 0.93),
    (1_000, 1e-5),
    (1_000, 0.999_99),
    (1_022, 0.41),
    (1_023, 0.5),
    (1_024, 0.5),
    (5_000, 0.001),
    (5_000, 0.3),
    (5_000, 0.999),
    (100_000, 1e-6),
    (100_000, 1e-4),
    (100_000, 0.01),
    (100_000, 0.7),
];

#[test]
fn binomial_draws_have_the_exact_probabilities() {
    for (n, p) in BINOMIALS {
        let mut stream = stream(u64::from(n));
        let probability = |k| binomial_probability(n, p, k);
        let excess = chi_square_excess(n, probability, || binomial(&mut stream, n, p));
        assert!(excess < 5.0, "n = {n}, p = {p}: {excess} sd");
    }
}

/// A squeeze that lets in a few too many is seen in no fewer draws.
#[test]
fn rejection_has_the_exact_probabilities() {
    for (n, p) in [(60, 0.25), (200, 0.5), (1_000, 0.41), (5_000, 0.3)] {
        let mut stream = stream(u64::from(n) + 1);
        let probability = |k| binomial_probability(n, p, k);
        let excess =
            chi_square_excess_of(8_000_000, n, probability, || binomial(&mut stream, n, p));
        assert!(excess < 5.0, "n = {n}, p = {p}: {excess} sd");
    }
}

/// Numbers of plants, means and correlations.
const BETA_BINOMIALS: [(u32, f64, f64); 34] = [
    (1, 0.3, 0.5),
    (1, 0.999, 0.02),
    (1, 1e-4, 0.9),
    (2, 0.5, 0.999_9),
    (2, 0.5, 1e-9),
    (5, 0.9, 0.02),
    (12, 0.62, 0.02),
    (12, 0.03, 0.3),
    (13, 0.95, 0.02),
    (20, 0.5, 1.0 / 3.0),
    (20, 0.5, 0.6),
    (30, 0.97, 0.02),
    (30, 0.999_9, 0.2),
    (30, 1e-5, 0.01),
    (60, 0.2, 0.9),
    (60, 0.2, 0.999),
    (60, 0.88, 0.03),
    (100, 0.5, 0.05),
    (16, 0.999, 0.999_999),
    (77, 0.21, 0.02),
    (256, 0.95, 0.02),
    (257, 0.95, 0.02),
    (100, 0.9, 1e-6),
    (100, 0.9, 1e-12),
    (300, 0.62, 0.02),
    (300, 0.95, 0.99),
    (1_000, 0.9, 0.02),
    (1_000, 0.01, 0.001),
    (1_000, 0.01, 0.5),
    (5_000, 0.62, 0.02),
    (5_000, 0.5, 1e-5),
    (100_000, 0.9, 0.01),
    (100_000, 1e-4, 1e-4),
    (100_000, 0.3, 0.8),
];

#[test]
fn survivors_have_the_exact_beta_binomial_probabilities() {
    for (n, mean, rho) in BETA_BINOMIALS {
        let mut stream = stream(u64::from(n));
        let of_lot = LotProbability::new(mean, rho);
        let probability = |k| {
            // Between the lots' own correlation and none lies less than can be told apart, but
            // lgamma has no digits left for it.
            if rho * f64::from(n) < 1e-6 {
                binomial_probability(n, mean, k)
            } else {
                beta_binomial_probability(n, mean, rho, k)
            }
        };
        let excess = chi_square_excess(n, probability, || of_lot.meet(&mut stream, n));
        assert!(excess < 5.0, "n = {n}, μ = {mean}, ρ = {rho}: {excess} sd");
    }
}

#[derive(serde::Deserialize)]
struct Fit {
    what: String,
    mean: f64,
    rho: f64,
    /// How many there are in each sample.
    sizes: Vec<u32>,
}

/// Mean n·μ and variance n·μ(1 − μ)(1 + (n − 1)ρ) of counts with the means and correlations that
/// others have fitted to germination and infection.
#[test]
fn survivors_have_the_moments_of_published_fits() {
    const DRAWS: u32 = 100_000;
    let fits: Vec<Fit> =
        serde_json::from_str(include_str!("../tests/data/beta_binomial_fits.json"))
            .expect("the fits are JSON");
    assert!(fits.len() >= 8);
    for fit in fits {
        let of_lot = LotProbability::new(fit.mean, fit.rho);
        for n in &fit.sizes {
            let mut stream = stream(u64::from(*n));
            let (mut sum, mut squares) = (0.0, 0.0);
            let size = f64::from(*n);
            let mean = size * fit.mean;
            for _ in 0..DRAWS {
                let off = f64::from(of_lot.meet(&mut stream, *n)) - mean;
                sum += off;
                squares += off * off;
            }
            let (off, found) = (sum / f64::from(DRAWS), squares / f64::from(DRAWS));
            let variance = mean * (1.0 - fit.mean) * (1.0 + (size - 1.0) * fit.rho);
            let error = (variance / f64::from(DRAWS)).sqrt();
            assert!(
                off.abs() < 4.5 * error,
                "{}, n = {n}: mean off {off}",
                fit.what
            );
            // The fourth moment of these is at most 4·variance² or so, or of few plants' ends.
            let ratio = found / variance;
            assert!(
                (ratio - 1.0).abs() < 0.03,
                "{}, n = {n}: variance × {ratio}",
                fit.what
            );
        }
    }
}

#[test]
fn sure_things_draw_nothing() {
    let mut used = stream(1);
    assert_eq!(binomial(&mut used, 0, 0.4), 0);
    assert_eq!(binomial(&mut used, 40, 0.0), 0);
    assert_eq!(binomial(&mut used, 40, 1.0), 40);
    assert_eq!(binomial(&mut used, 40, -1e-17), 0);
    for (mean, rho) in [(0.7, 0.0), (0.0, 0.2), (1.0, 0.2)] {
        let draw = LotProbability::new(mean, rho).draw(&mut used);
        assert!((draw - mean).abs() < 1e-15);
    }
    assert_eq!(used.uniform().to_bits(), stream(1).uniform().to_bits());
}

#[test]
fn beta_draws_stay_finite_where_plants_are_all_alike() {
    let mut stream = stream(4);
    let draws: Vec<f64> = (0..20_000)
        .map(|_| LotProbability::new(0.25, 0.999).draw(&mut stream))
        .collect();
    assert!(draws.iter().all(|draw| (0.0..=1.0).contains(draw)));
    let mean = draws.iter().sum::<f64>() / 20_000.0;
    assert!(
        (mean - 0.25).abs() < 4.0 * (0.25 * 0.75 / 20_000f64).sqrt(),
        "{mean}"
    );
}
