//! How far luck that lots share moves their survival and take, by own counts.
//!
//! Lots of one seed batch, one cut of budsticks, one budder or one place fare alike. Owns how counts of such
//! groups tell the spread between them. Does not know what the groups are of.

use std::collections::BTreeMap;

/// Groups that the default counts as much as. From memory: a handful of seasons of one's own outweighs it.
const DEFAULT_GROUPS: f64 = 6.0;

/// Shares of what is expected that logits are taken of.
const EXPECTED: (f64, f64) = (0.02, 0.98);

/// The least sd, as a share of the default: groups may have been alike by chance.
const LEAST: f64 = 0.25;

/// Rounds in which the worth of groups settles.
const ROUNDS: usize = 30;

/// What came of one lot of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The group's label.
    pub group: String,
    /// The share that was expected to take, come up or live.
    pub expected: f64,
    /// Plants that did.
    pub taken: u32,
    /// Plants put through.
    pub plants: u32,
}

/// What else makes lots differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Likeness of plants of a lot.
    pub rho: f64,
    /// Standard deviation of luck shared under other labels, log odds.
    pub other_sd: f64,
}

/// The spread of shared luck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedSd {
    /// Standard deviation, log odds.
    pub sd: f64,
    /// Groups that had counts.
    pub groups: usize,
    /// Groups without noise that these are worth, less one for their mean.
    pub worth: f64,
}

/// Returns the between-group variance of effects with known variances, by the method of moments.
///
/// # Equation
/// w = 1/v, ȳ = Σwy/Σw, Q = Σw(y − ȳ)²; τ² = (Q − (m − 1))/(Σw − Σw²/Σw). It is left below 0 where the
/// effects differ less than their noise lets expect.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `effects` | any, its square | effect and variance, one a group | variances > 0 |
///
/// # Returns
/// τ²; none of fewer than two groups.
///
/// # Errors
/// None: groups with a variance of 0 or less are passed over.
///
/// # Assumptions
/// Groups are independent.
///
/// # Source
/// `DerSimonian` and Laird (1986), Controlled Clinical Trials 7.
///
/// # Checked against
/// `tests/models/shared_luck.rs`: thirteen trials of a vaccine, 0.3088.
///
/// # Examples
/// ```
/// use models::shared_luck::moment_variance;
///
/// let alike = [(0.1, 0.04), (-0.1, 0.04), (0.0, 0.04)];
/// assert!(moment_variance(&alike).is_some_and(|it| it < 0.0));
/// ```
pub fn moment_variance(effects: &[(f64, f64)]) -> Option<f64> {
    let weighed: Vec<(f64, f64)> = effects
        .iter()
        .filter(|(_, variance)| *variance > 0.0)
        .map(|(effect, variance)| (*effect, 1.0 / variance))
        .collect();
    let sum = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
        weighed
            .iter()
            .map(|(effect, weight)| of(*effect, *weight))
            .sum()
    };
    let total = sum(&|_, weight| weight);
    let scale = total - sum(&|_, weight| weight * weight) / total;
    if weighed.len() < 2 || scale <= 0.0 {
        return None;
    }
    let mean = sum(&|effect, weight| weight * effect) / total;
    let q = sum(&|effect, weight| weight * (effect - mean) * (effect - mean));
    Some((q - (weighed.len() as f64 - 1.0)) / scale)
}

/// Returns how far luck shared under a label moves the log odds, by own counts.
///
/// The default is a guess; what the nursery's own takes say of its cuts and budders replaces it as counts come in.
///
/// # Equation
/// A lot's effect is y = ln((k + ½)/(n − k + ½)) − logit e, e the share expected, its log odds moved by as much
/// as all lots together differ from what was expected of them, within 0.02 … 0.98; its noise
/// v = (1 − ρ)/(n·e(1 − e)) + ψ′(a) + ψ′(b), a = e(1/ρ − 1), b = (1 − e)(1/ρ − 1) (the variance of the log odds of
/// Beta(a, b); 0 where ρ is 0). Both are put on the scale of the mean share's log odds: y is divided by
/// h = (a + b)·e(1 − e)·(ψ′(a) + ψ′(b)), v by its square; then v grows by s², the luck of other labels. A group's effect is the
/// mean of its lots weighted by 1/v, with variance V = 1/Σ(1/v).
/// τ² by [`moment_variance`]; with the default τ₀, sd² = (6·τ₀² + M·τ²)/(6 + M), at least (τ₀/4)². M = Σ(t²/(t² + V))² − 1, at
/// least 0, is how many groups without noise these are worth, t the greater of τ₀ and sd: found in 30 rounds.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `default_sd` | log odds | one | ≥ 0; 0 stays |
/// | `noise` | likeness, log odds | one | 0 ≤ ρ < 1, s ≥ 0 |
/// | `outcomes` | plants | one a lot | more taken than plants counts as all |
///
/// # Returns
/// The standard deviation, and how many groups it rests on.
///
/// # Errors
/// None: lots of no plants are passed over.
///
/// # Assumptions
/// Effects are close to normal on the log odds, other labels' luck is independent from lot to lot, and a mean shift
/// of all groups is no luck.
///
/// # Source
/// `DerSimonian` and Laird (1986) for τ²; the weight of the default is the project's, from memory. M compares the
/// information of a noisy effect on τ² with that of one without noise, (τ²/(τ² + V))² (from the normal likelihood).
///
/// # Checked against
/// `tests/models/shared_luck.rs`: groups drawn with a known spread bring it back.
///
/// # Examples
/// ```
/// use models::shared_luck::{Noise, shared_sd};
///
/// let none = shared_sd(0.3, Noise { rho: 0.05, other_sd: 0.2 }, &[]);
/// assert!((none.sd - 0.3).abs() < 1e-12 && none.groups == 0);
/// ```
pub fn shared_sd(default_sd: f64, noise: Noise, outcomes: &[Outcome]) -> SharedSd {
    let effects = effects(noise, outcomes);
    let before = default_sd * default_sd;
    let worth_at = |spread: f64| {
        let parts = effects.iter().map(|(_, noise)| spread / (spread + noise));
        (parts.map(|part| part * part).sum::<f64>() - 1.0).max(0.0)
    };
    let Some(found) = moment_variance(&effects).filter(|_| default_sd > 0.0) else {
        return SharedSd {
            sd: default_sd,
            groups: effects.len(),
            worth: 0.0,
        };
    };
    let after = |worth: f64| {
        let mean = (DEFAULT_GROUPS * before + worth * found) / (DEFAULT_GROUPS + worth);
        mean.max(LEAST * LEAST * before)
    };
    let mut worth = worth_at(before);
    for _ in 0..ROUNDS {
        worth = worth_at(after(worth).max(before));
    }
    SharedSd {
        sd: after(worth).sqrt(),
        groups: effects.len(),
        worth,
    }
}

/// Effect and variance of every group.
fn effects(noise: Noise, outcomes: &[Outcome]) -> Vec<(f64, f64)> {
    let shift = shift(outcomes);
    let mut sums: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for outcome in outcomes.iter().filter(|it| it.plants > 0) {
        let (plants, taken) = (
            f64::from(outcome.plants),
            f64::from(outcome.taken.min(outcome.plants)),
        );
        let moved = logit(outcome.expected) + shift;
        let expected = (1.0 / (1.0 + libm::exp(-moved))).clamp(EXPECTED.0, EXPECTED.1);
        let effect = libm::log((taken + 0.5) / (plants - taken + 0.5)) - logit(expected);
        let of_chance = (1.0 - noise.rho) / (plants * expected * (1.0 - expected));
        let (of_lots, stretch) = of_lots(noise.rho, expected);
        let of_lot = (of_chance + of_lots) / (stretch * stretch);
        let variance = of_lot + noise.other_sd * noise.other_sd;
        let effect = effect / stretch;
        let (sum, weight) = sums.entry(&outcome.group).or_default();
        *sum += effect / variance;
        *weight += 1.0 / variance;
    }
    sums.into_values()
        .map(|(sum, weight)| (sum / weight, 1.0 / weight))
        .collect()
}

/// By how much all lots together did better or worse than expected, log odds.
fn shift(outcomes: &[Outcome]) -> f64 {
    let sum = |of: &dyn Fn(&Outcome) -> f64| outcomes.iter().map(of).sum::<f64>();
    let plants = sum(&|it| f64::from(it.plants));
    let taken = sum(&|it| f64::from(it.taken.min(it.plants)));
    let expected = sum(&|it| f64::from(it.plants) * it.expected);
    if plants > 0.0 {
        logit(taken / plants) - logit(expected / plants)
    } else {
        0.0
    }
}

/// Log odds of a share, held to where logits are taken.
fn logit(share: f64) -> f64 {
    let share = share.clamp(EXPECTED.0, EXPECTED.1);
    libm::log(share) - libm::log1p(-share)
}

/// Of the log odds of a Beta share: their variance ψ′(a) + ψ′(b), and how far they move where the log odds of
/// its mean move by one, (a + b)·e(1 − e)·(ψ′(a) + ψ′(b)).
fn of_lots(rho: f64, mean: f64) -> (f64, f64) {
    if rho <= 0.0 {
        return (0.0, 1.0);
    }
    let size = 1.0 / rho - 1.0;
    let variance = trigamma(mean * size) + trigamma((1.0 - mean) * size);
    (variance, size * mean * (1.0 - mean) * variance)
}

/// ψ′(x) for x > 0: raised to 6 and more by its recurrence, then by its asymptotic series.
fn trigamma(x: f64) -> f64 {
    let (mut x, mut sum) = (x, 0.0);
    while x < 6.0 {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let y = 1.0 / (x * x);
    sum + (1.0 + 1.0 / (2.0 * x) + y * (1.0 / 6.0 - y * (1.0 / 30.0 - y / 42.0))) / x
}

#[cfg(test)]
mod tests {
    use super::trigamma;

    #[test]
    fn trigamma_is_that_of_scipy() {
        // scipy 1.17.1: polygamma(1, x).
        for (x, expected) in [
            (0.05, 401.532_357_342_115_06),
            (0.7, 2.834_049_156_694_611_3),
            (2.4, 0.515_152_508_896_944_3),
            (21.6, 0.047_384_500_914_774_34),
            (500.0, 0.002_002_001_333_332_266),
        ] {
            let found = trigamma(x);
            assert!((found / expected - 1.0).abs() < 1e-7, "{x}: {found}");
        }
    }
}
