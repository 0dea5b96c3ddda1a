//! What the counts of a lot say of its pace and its survival.
//!
//! Owns how looks at a lot (plants that are fit, calipers) and counts of it turn what is believed of all
//! lots of a step into what is believed of this one, and when a look contradicts the model. Does not
//! know lots, steps or dates: degree-days and plants come in.

use crate::tails::{binomial_at_most, normal_below};

/// Share of plants that are misjudged when fit ones are counted. From memory.
const MISJUDGED: f64 = 0.001;

/// How far calipers may be off their straight line, log scale, one standard deviation at half the
/// heat. From memory: a plant has a third of its caliper before the step begins.
const CALIPER_DOUBT: f64 = 0.2;

/// A look this unlikely, both tails taken together, contradicts the model.
const CONTRADICTS: f64 = 0.01;

/// Standard deviations either way from 5 to 95 %.
const NINETY: f64 = 1.644_853_626_951_472_2;

/// Values looked at of ln λ and of the survival.
const PACES: usize = 401;
const SURVIVALS: usize = 801;
/// Values that a look is held against.
const PRIOR_VALUES: usize = 121;

/// How plants of a step grow until they are ready.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripening {
    /// θ: degree-days of the middle plant of the middle lot.
    pub degree_days: f64,
    /// σ_w: spread between plants of a lot, log scale.
    pub within_lot: f64,
    /// σ_b: spread between lots, log scale.
    pub between_lots: f64,
}

/// What is believed of ln λ, the log pace of a lot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PaceBelief {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

impl PaceBelief {
    /// Of a lot nobody has looked at.
    pub fn before(ripening: &Ripening) -> Self {
        let sd = ripening.between_lots;
        Self {
            mean: -sd * sd / 2.0,
            sd,
        }
    }
}

/// Somebody looked at a sample of a lot.
#[derive(Debug, Clone, PartialEq)]
pub enum Look {
    /// So many of those looked at were ready.
    Fit {
        /// Degree-days since the lot entered its step.
        degree_days: f64,
        /// Plants looked at.
        looked_at: u32,
        /// Plants that were ready.
        fit: u32,
    },
    /// Calipers were taken.
    Calipers {
        /// Degree-days since the lot entered its step.
        degree_days: f64,
        /// The caliper from which a plant is ready, mm.
        fit_from_mm: f64,
        /// Calipers, mm.
        calipers_mm: Vec<f64>,
    },
}

/// A look or a count that hardly goes with the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contradiction {
    /// How likely something as far off is, both tails taken together.
    pub chance: f64,
    /// What was expected, from 5 to 95 %: plants, or the middle caliper in mm.
    pub expected: [f64; 2],
    /// What was found.
    pub found: f64,
}

/// Returns what is believed of a lot's pace after looks at it.
///
/// A lot that runs ahead of its kind shows it before it is ready; the odds of its orders should know.
///
/// # Equation
/// Prior ln λ ~ N(−σ_b²/2, σ_b). A plant is ready at D ≥ θλε, ln ε ~ N(−σ_w²/2, σ_w).
/// Calipers: a caliper grows in proportion to heat, so a plant of c mm at D that is ready from c* on has
/// ln(λε) = ln(c*·D/(c·θ)); the mean of n such values is normal about ln λ − σ_w²/2 with the variance
/// σ_w²/n + d², d = 0.2·max(0, θ/D − 1): the straight line may be off early on. Conjugate.
/// Fit plants: r of n is binomial with 0.001 + 0.998·(1 − S(D; λ)), on a grid of 401 values of ln λ
/// over ±6 standard deviations of what the calipers left, laid anew where the weight is.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `ripening` | degree-days, log scale | one step | θ > 0, spreads ≥ 0 |
/// | `looks` | degree-days, plants, mm | one a look | D > 0, sizes > 0; others are passed over |
///
/// # Returns
/// Mean and standard deviation of ln λ; the prior where no look counts or σ_b is 0.
///
/// # Errors
/// None: looks that say nothing are passed over, more fit than looked at counts as all.
///
/// # Assumptions
/// Samples are drawn afresh, from all plants of the lot that live, ready or not, before any were taken out. One
/// plant in a thousand is misjudged.
///
/// # Source
/// The futures model (docs/models/futures.md), point 4; Bayes' rule. The doubts are from memory.
///
/// # Checked against
/// `tests/models/evidence.rs`: closed form for calipers, scipy quadrature for fit counts, λ drawn and
/// found again, coverage of 90 % intervals.
///
/// # Examples
/// ```
/// use models::evidence::{Look, PaceBelief, Ripening, pace_after};
///
/// let step = Ripening { degree_days: 1000.0, within_lot: 0.15, between_lots: 0.1 };
/// let look = Look::Fit { degree_days: 900.0, looked_at: 40, fit: 32 };
/// let after = pace_after(&step, &[look]);
/// let before = PaceBelief::before(&step);
/// assert!(after.mean < before.mean && after.sd < before.sd);
/// ```
pub fn pace_after(ripening: &Ripening, looks: &[Look]) -> PaceBelief {
    let prior = PaceBelief::before(ripening);
    if prior.sd <= 0.0 || ripening.degree_days <= 0.0 {
        return prior;
    }
    let of_calipers = looks.iter().filter_map(|look| Paces::of(ripening, look));
    let after = of_calipers.fold(prior, |belief, paces| {
        let (variance, noise) = (belief.sd * belief.sd, paces.variance);
        let weight = variance / (variance + noise);
        PaceBelief {
            mean: belief.mean + weight * (paces.mean - belief.mean),
            sd: (variance * (1.0 - weight)).sqrt(),
        }
    });
    let fits: Vec<FitCount> = looks.iter().filter_map(FitCount::of).collect();
    if fits.is_empty() || after.sd <= 0.0 {
        return after;
    }
    let log_weight = |ln_pace: f64| {
        let off = (ln_pace - after.mean) / after.sd;
        let likelihood = fits.iter().map(|fit| fit.log_likelihood(ripening, ln_pace));
        -0.5 * off * off + likelihood.sum::<f64>()
    };
    let reach = (after.mean - 6.0 * after.sd, after.mean + 6.0 * after.sd);
    let (mean, variance) = moments(&weighted(reach, PACES, log_weight), |ln_pace| ln_pace);
    PaceBelief {
        mean,
        sd: variance.sqrt(),
    }
}

/// Returns how a look contradicts what is believed of a lot nobody has looked at.
///
/// A look far off is either news of a lot quite unlike its kind or a slip of the pen: both are worth a
/// second look.
///
/// # Equation
/// chance = min(1, 2·min(P(X ≤ x), P(X ≥ x))) of the prior predictive distribution: of fit plants the
/// binomial of [`pace_after`] in the mean over ln λ ~ N(−σ_b²/2, σ_b) (121 values over ±6 σ_b); of
/// calipers a normal one of the mean of ln(c*·D/(c·θ)), about −σ_b²/2 − σ_w²/2 with variance σ_b² + σ_w²/n + d².
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `ripening` | degree-days, log scale | one step | θ > 0, spreads ≥ 0 |
/// | `look` | degree-days, plants, mm | one | as in [`pace_after`] |
///
/// # Returns
/// The contradiction, where its chance is below 0.01: fit plants, or the middle (geometric mean) caliper in mm.
///
/// # Errors
/// None: a look that says nothing contradicts nothing.
///
/// # Assumptions
/// As in [`pace_after`].
///
/// # Source
/// Box (1980): a model is checked by the prior predictive distribution. The limit of 0.01 is the project's.
///
/// # Checked against
/// `tests/models/evidence.rs`: tails of scipy; about one in a hundred looks made by the model is flagged.
pub fn contradiction_of_look(ripening: &Ripening, look: &Look) -> Option<Contradiction> {
    if ripening.degree_days <= 0.0 {
        return None;
    }
    let prior = PaceBelief::before(ripening);
    if let Some(fit) = FitCount::of(look) {
        let reach = (prior.mean - 6.0 * prior.sd, prior.mean + 6.0 * prior.sd);
        let normal = |ln_pace: f64| {
            let off = (ln_pace - prior.mean) / prior.sd;
            -0.5 * off * off
        };
        let chances = if prior.sd > 0.0 {
            weighted(reach, PRIOR_VALUES, normal)
        } else {
            vec![(prior.mean, 1.0)]
        };
        let chances: Vec<(f64, f64)> = chances
            .into_iter()
            .map(|(ln_pace, weight)| (fit.chance(ripening, ln_pace), weight))
            .collect();
        return contradiction_of_plants(&chances, fit.looked_at, fit.fit);
    }
    let paces = Paces::of(ripening, look)?;
    let sd = libm::hypot(prior.sd, paces.variance.sqrt());
    let off = (paces.mean - prior.mean) / sd;
    let chance = 2.0 * normal_below(-off.abs());
    let caliper = |ln_pace: f64| paces.caliper_of_pace * libm::exp(-ln_pace);
    (sd > 0.0 && chance < CONTRADICTS).then(|| Contradiction {
        chance,
        expected: [prior.mean + NINETY * sd, prior.mean - NINETY * sd].map(caliper),
        found: caliper(paces.mean),
    })
}

/// Plants that were fit, of those looked at.
struct FitCount {
    degree_days: f64,
    looked_at: u32,
    fit: u32,
}

impl FitCount {
    fn of(look: &Look) -> Option<Self> {
        match look {
            Look::Fit {
                degree_days,
                looked_at,
                fit,
            } if *looked_at > 0 && *degree_days > 0.0 => Some(Self {
                degree_days: *degree_days,
                looked_at: *looked_at,
                fit: (*fit).min(*looked_at),
            }),
            _ => None,
        }
    }

    /// The chance that a plant is called fit, for a pace.
    fn chance(&self, ripening: &Ripening, ln_pace: f64) -> f64 {
        let behind = libm::log(self.degree_days / ripening.degree_days) - ln_pace;
        let spread = ripening.within_lot;
        let ready = if spread > 0.0 {
            normal_below(behind / spread + spread / 2.0)
        } else {
            f64::from(u8::from(behind >= 0.0))
        };
        MISJUDGED + (1.0 - 2.0 * MISJUDGED) * ready
    }

    fn log_likelihood(&self, ripening: &Ripening, ln_pace: f64) -> f64 {
        let chance = self.chance(ripening, ln_pace);
        f64::from(self.fit) * libm::log(chance)
            + f64::from(self.looked_at - self.fit) * libm::log1p(-chance)
    }
}

/// What calipers say of ln λ: a normal value of this mean and variance.
struct Paces {
    mean: f64,
    variance: f64,
    /// The middle caliper of a lot of pace 1, mm.
    caliper_of_pace: f64,
}

impl Paces {
    fn of(ripening: &Ripening, look: &Look) -> Option<Self> {
        let Look::Calipers {
            degree_days,
            fit_from_mm,
            calipers_mm,
        } = look
        else {
            return None;
        };
        let sizes: Vec<f64> = calipers_mm.iter().copied().filter(|it| *it > 0.0).collect();
        if sizes.is_empty() || *fit_from_mm <= 0.0 || *degree_days <= 0.0 {
            return None;
        }
        let plants = sizes.len() as f64;
        let middle = sizes.iter().map(|it| libm::log(*it)).sum::<f64>() / plants;
        let straight = fit_from_mm * degree_days / ripening.degree_days;
        let spread = ripening.within_lot * ripening.within_lot;
        let doubt = CALIPER_DOUBT * (ripening.degree_days / degree_days - 1.0).max(0.0);
        Some(Self {
            mean: libm::log(straight) - middle + spread / 2.0,
            variance: spread / plants + doubt * doubt,
            caliper_of_pace: straight * libm::exp(spread / 2.0),
        })
    }
}

/// What is believed of the share of plants that live.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalBelief {
    /// Mean.
    pub mean: f64,
    /// ρ: the variance as a share of mean·(1 − mean), the likeness of plants of a lot.
    pub rho: f64,
}

impl SurvivalBelief {
    /// The belief widened by luck that a lot shares with others and that nobody has seen yet.
    ///
    /// Mean and variance of Beta(μ, ρ) with logit μ moved by N(0, sd), by the trapezoid rule over ±6 standard
    /// deviations.
    #[must_use]
    pub fn with_luck(&self, sd: f64) -> Self {
        let is_open = self.mean > 0.0 && self.mean < 1.0;
        if sd <= 0.0 || !is_open {
            return *self;
        }
        let logit = libm::log(self.mean) - libm::log1p(-self.mean);
        let normal = weighted((-6.0, 6.0), PRIOR_VALUES, |z| -0.5 * z * z);
        let share = |z: f64| 1.0 / (1.0 + libm::exp(-(logit + sd * z)));
        let (mean, between) = moments(&normal, share);
        let within: f64 = normal
            .iter()
            .map(|(z, weight)| weight * self.rho * share(*z) * (1.0 - share(*z)))
            .sum();
        Self::of_moments(mean, between + within)
    }

    fn of_moments(mean: f64, variance: f64) -> Self {
        // A sum of weights misses 1 in its last bits.
        let mean = mean.clamp(0.0, 1.0);
        let most = mean * (1.0 - mean);
        let rho = if most > f64::EPSILON {
            (variance / most).clamp(0.0, 0.999)
        } else {
            0.0
        };
        Self { mean, rho }
    }

    /// Values of π with their weights, after counts.
    fn shares(&self, survivors: &[Survivors], values: usize) -> Vec<(f64, f64)> {
        let is_spread = self.mean > 0.0 && self.mean < 1.0 && self.rho > 0.0;
        if !is_spread {
            return vec![(self.mean, 1.0)];
        }
        let size = 1.0 / self.rho - 1.0;
        let (lives, dies) = (self.mean * size, (1.0 - self.mean) * size);
        let middle = libm::log(lives / dies);
        let bulk = 12.0 / (lives * (1.0 - self.mean)).sqrt();
        let reach = (middle - bulk - 60.0 / lives, middle + bulk + 60.0 / dies);
        let reach = (reach.0.max(-700.0), reach.1.min(700.0));
        let log_weight = |logit: f64| {
            let ln_share = -libm::log1p(libm::exp(-logit));
            let prior = lives * ln_share - dies * libm::log1p(libm::exp(logit));
            let likelihood = survivors.iter().map(|it| it.log_likelihood(ln_share));
            prior + likelihood.sum::<f64>()
        };
        weighted(reach, values, log_weight)
            .into_iter()
            .map(|(logit, weight)| (1.0 / (1.0 + libm::exp(-logit)), weight))
            .collect()
    }
}

/// Somebody counted a lot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    /// Degree-days since the lot entered its step.
    pub degree_days: f64,
    /// Plants alive.
    pub alive: u32,
}

/// Plants of a count that lived to the next one, and the share of the phase between the two.
struct Survivors {
    before: u32,
    alive: u32,
    part: f64,
}

impl Survivors {
    fn log_likelihood(&self, ln_share: f64) -> f64 {
        let ln_lives = self.part * ln_share;
        let gone = f64::from(self.before - self.alive);
        let ln_dies = if gone > 0.0 {
            gone * libm::log((-libm::expm1(ln_lives)).max(f64::MIN_POSITIVE))
        } else {
            0.0
        };
        f64::from(self.alive) * ln_lives + ln_dies
    }
}

/// Returns what is believed of the survival of a lot's plants from its last count on.
///
/// A seedbed that has lost a third by midsummer will not bring the usual share to the row.
///
/// # Equation
/// Prior π ~ Beta(μ(1/ρ − 1), (1 − μ)(1/ρ − 1)), the survival of the whole phase. Of n plants K live
/// through a part f of it: K ~ Binomial(n, π^f), f = min(1, D/θ) less that of the count before. On a grid
/// of 801 values of logit π, laid anew where the weight is; told is π^(1 − f) with the f of the last count:
/// its mean, and the ρ of the Beta of its mean and variance.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `prior` | share, likeness | one | 0 … 1, 0 ≤ ρ < 1 |
/// | `degree_days` | θ | one | > 0 |
/// | `entered` | plants | one | |
/// | `counts` | degree-days, plants | one a count, in the order of time | more plants than before count as as many |
///
/// # Returns
/// The belief of the plants of the last count; of those that entered, where there is none: then the prior.
///
/// # Errors
/// None: arguments are numbers of the case and counts of plants.
///
/// # Assumptions
/// Plants die evenly over the phase's heat (the futures model's own rule), and leave the lot in no other way.
///
/// # Source
/// The futures model (docs/models/futures.md), point 4; Bayes' rule.
///
/// # Checked against
/// `tests/models/evidence.rs`: the conjugate Beta where f is 1, scipy quadrature elsewhere, π drawn and
/// found again.
///
/// # Examples
/// ```
/// use models::evidence::{Count, SurvivalBelief, survival_after};
///
/// let usual = SurvivalBelief { mean: 0.9, rho: 0.05 };
/// let count = Count { degree_days: 500.0, alive: 700 };
/// let after = survival_after(&usual, 1000.0, 1000, &[count]);
/// assert!(after.mean < 0.9 && after.rho < 0.05);
/// ```
pub fn survival_after(
    prior: &SurvivalBelief,
    degree_days: f64,
    entered: u32,
    counts: &[Count],
) -> SurvivalBelief {
    let (survivors, share_done) = survivors(degree_days, entered, counts);
    if survivors.is_empty() {
        return *prior;
    }
    let shares = prior.shares(&survivors, SURVIVALS);
    let left = 1.0 - share_done;
    let (mean, variance) = moments(&shares, |share| libm::pow(share, left));
    SurvivalBelief::of_moments(mean, variance)
}

/// Returns how a count contradicts what is believed of a lot nobody has counted.
///
/// # Equation
/// chance = min(1, 2·min(P(K ≤ k), P(K ≥ k))), K ~ Binomial(n, π^f) in the mean over π ~ Beta(μ, ρ) (121 values).
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `prior` | share, likeness | one | as in [`survival_after`] |
/// | `degree_days` | θ | one | > 0 |
/// | `entered` | plants | one | |
/// | `count` | degree-days, plants | one | |
///
/// # Returns
/// The contradiction in plants, where its chance is below 0.01.
///
/// # Errors
/// None: a count that says nothing contradicts nothing.
///
/// # Assumptions
/// As in [`survival_after`].
///
/// # Source
/// As [`contradiction_of_look`].
///
/// # Checked against
/// `tests/models/evidence.rs`: tails of scipy's beta-binomial distribution.
pub fn contradiction_of_count(
    prior: &SurvivalBelief,
    degree_days: f64,
    entered: u32,
    count: Count,
) -> Option<Contradiction> {
    let (survivors, _) = survivors(degree_days, entered, &[count]);
    let survivors = survivors.first()?;
    let chances: Vec<(f64, f64)> = prior
        .shares(&[], PRIOR_VALUES)
        .into_iter()
        .map(|(share, weight)| (libm::pow(share, survivors.part), weight))
        .collect();
    contradiction_of_plants(&chances, survivors.before, survivors.alive)
}

/// What each count left of the one before it, and the share of the phase that is done at the last.
fn survivors(degree_days: f64, entered: u32, counts: &[Count]) -> (Vec<Survivors>, f64) {
    let (mut before, mut done) = (entered, 0.0);
    let mut found = Vec::new();
    for count in counts {
        let now = if degree_days > 0.0 {
            (count.degree_days / degree_days).clamp(done, 1.0)
        } else {
            1.0
        };
        let alive = count.alive.min(before);
        if before > 0 && now > done {
            found.push(Survivors {
                before,
                alive,
                part: now - done,
            });
        }
        (before, done) = (alive, now);
    }
    (found, done)
}

/// How `found` of `plants` contradicts chances with their weights.
fn contradiction_of_plants(
    chances: &[(f64, f64)],
    plants: u32,
    found: u32,
) -> Option<Contradiction> {
    let at_most = |k: u32| -> f64 {
        let parts = chances.iter();
        parts
            .map(|(chance, weight)| weight * binomial_at_most(k, plants, *chance))
            .sum()
    };
    let below = at_most(found);
    let above = 1.0 - found.checked_sub(1).map_or(0.0, at_most);
    let chance = (2.0 * below.min(above)).min(1.0);
    let quantile = |share: f64| {
        let (mut low, mut high) = (0, plants);
        while low < high {
            let middle = low.midpoint(high);
            if at_most(middle) >= share {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        f64::from(low)
    };
    (chance < CONTRADICTS).then(|| Contradiction {
        chance: chance.max(0.0),
        expected: [0.05, 0.95].map(quantile),
        found: f64::from(found),
    })
}

/// Values of a span with weights that sum to 1: first over all of it, then anew where the weight is.
fn weighted(
    (from, until): (f64, f64),
    values: usize,
    log_weight: impl Fn(f64) -> f64,
) -> Vec<(f64, f64)> {
    const NOTHING: f64 = 40.0;
    let laid = |from: f64, until: f64| -> (f64, Vec<(f64, f64)>) {
        let step = (until - from) / (values - 1) as f64;
        let at = |value: usize| {
            let place = step.mul_add(value as f64, from);
            (place, log_weight(place))
        };
        (step, (0..values).map(at).collect())
    };
    let most = |logs: &[(f64, f64)]| logs.iter().map(|it| it.1).fold(f64::NEG_INFINITY, f64::max);
    let (step, logs) = laid(from, until);
    let least = most(&logs) - NOTHING;
    let holds = |it: &&(f64, f64)| it.1 >= least;
    let first = logs.iter().find(holds).map_or(from, |it| it.0 - step);
    let last = logs.iter().rfind(holds).map_or(until, |it| it.0 + step);
    let (_, logs) = laid(first.max(from), last.min(until));
    let most = most(&logs);
    let raw: Vec<(f64, f64)> = logs
        .into_iter()
        .map(|(value, log)| (value, libm::exp(log - most)))
        .collect();
    let total: f64 = raw.iter().map(|it| it.1).sum();
    raw.into_iter()
        .map(|(value, weight)| (value, weight / total))
        .collect()
}

/// Mean and variance of a function of weighted values.
fn moments(values: &[(f64, f64)], of: impl Fn(f64) -> f64) -> (f64, f64) {
    let mean: f64 = values
        .iter()
        .map(|(value, weight)| weight * of(*value))
        .sum();
    let variance: f64 = values
        .iter()
        .map(|(value, weight)| {
            let off = of(*value) - mean;
            weight * off * off
        })
        .sum();
    (mean, variance)
}
