//! Whether odds are honest: of what was called 90 % likely, nine in ten come true.
//!
//! Owns the Brier score, its parts, the bins of a reliability diagram and how far they may be off by
//! chance. Does not know what the odds are of, nor how they were found. Knows no randomness: whoever
//! resamples hands over the source.

use crate::interval::wilson;
use crate::range::{OutOfRange, share};

/// Odds that were called, and whether it came true.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Call {
    odds: f64,
    came_true: bool,
}

impl Call {
    /// Odds from 0 to 1.
    pub fn try_new(odds: f64, came_true: bool) -> Result<Self, OutOfRange> {
        let odds = share("odds", odds)?;
        Ok(Self { odds, came_true })
    }

    /// The odds that were called.
    pub fn odds(self) -> f64 {
        self.odds
    }

    /// Whether it came true.
    pub fn came_true(self) -> bool {
        self.came_true
    }

    /// 1 if it came true, else 0.
    fn outcome(self) -> f64 {
        f64::from(u8::from(self.came_true))
    }
}

/// Where [0, 1] is cut into bins. Odds on a cut belong to the bin above it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bins(Vec<f64>);

/// Cuts between bins do not rise from above 0 to below 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("cuts between bins must rise from above 0 to below 1; sort them and leave out 0 and 1")]
pub struct CutsError;

impl Bins {
    /// Bins between 0, these cuts and 1.
    pub fn try_new(cuts: &[f64]) -> Result<Self, CutsError> {
        let all: Vec<f64> = [0.0].iter().chain(cuts).chain(&[1.0]).copied().collect();
        if all.windows(2).all(|pair| pair[0] < pair[1]) {
            Ok(Self(all))
        } else {
            Err(CutsError)
        }
    }

    /// Ten bins of equal width.
    pub fn tenths() -> Self {
        Self((0..=10).map(|tenth| f64::from(tenth) / 10.0).collect())
    }

    /// How many bins.
    fn count(&self) -> usize {
        self.0.len() - 1
    }

    fn of(&self, odds: f64) -> usize {
        self.0[1..self.count()].partition_point(|cut| *cut <= odds)
    }
}

/// The calls of one bin of a reliability diagram.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Lower end of the bin, which belongs to it.
    pub from: f64,
    /// Upper end, which belongs to the next one; of the last bin, 1 belongs to it.
    pub to: f64,
    /// Calls in it.
    pub calls: usize,
    /// The mean of the odds that were called.
    pub mean_odds: f64,
    /// The share that came true.
    pub share: f64,
    /// Lower end of the interval that holds the true share nine times in ten, if calls are independent.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Sums over calls, which add up.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    calls: usize,
    odds: f64,
    true_ones: usize,
}

impl Sums {
    fn add(&mut self, call: Call) {
        self.calls += 1;
        self.odds += call.odds;
        self.true_ones += usize::from(call.came_true);
    }

    fn merge(&mut self, other: Self) {
        self.calls += other.calls;
        self.odds += other.odds;
        self.true_ones += other.true_ones;
    }

    fn mean_odds(self) -> f64 {
        self.odds / self.calls as f64
    }

    fn share(self) -> f64 {
        self.true_ones as f64 / self.calls as f64
    }
}

fn sums(calls: &[Call], bins: &Bins) -> Vec<Sums> {
    let mut sums = vec![Sums::default(); bins.count()];
    for call in calls {
        sums[bins.of(call.odds)].add(*call);
    }
    sums
}

/// Returns the Brier score: how far odds lie from what came true.
///
/// # Equation
/// B = Σ (f − o)²/n, o = 1 if it came true, else 0
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `calls` | f, o | | any number | checked by their type |
///
/// # Returns
/// From 0, each known beforehand, to 1, each wrong for sure; none without calls.
///
/// # Source
/// Brier 1950, Mon. Weather Rev. 78:1–3, in the half that is in use today.
///
/// # Checked against
/// `tests/models/reliability.rs`: scikit-learn 1.9.1; Finley's tornadoes.
///
/// # Examples
/// ```
/// use models::reliability::{Call, brier_score};
///
/// let calls = [Call::try_new(0.9, true)?, Call::try_new(0.5, false)?];
/// let score = brier_score(&calls).expect("two calls");
/// assert!((score - 0.13).abs() < 1e-12);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn brier_score(calls: &[Call]) -> Option<f64> {
    let squares = calls.iter().map(|call| square(call.odds - call.outcome()));
    mean(squares.sum(), calls.len())
}

fn square(number: f64) -> f64 {
    number * number
}

fn mean(sum: f64, count: usize) -> Option<f64> {
    (count > 0).then(|| sum / count as f64)
}

/// Returns the bins of a reliability diagram: what was called, and what share of it came true.
///
/// # Equation
/// mean odds = Σ f/n, share = Σ o/n of each bin; interval after Wilson 1927 with z = 1.645
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `calls` | f, o | | any number | checked by their type |
/// | `bins` | | | cuts | checked by its type |
///
/// # Returns
/// The bins that hold calls, from low odds to high; low ≤ share ≤ high.
///
/// # Assumptions
/// The interval takes calls as independent. Where they come in clusters that share their luck, it is too
/// narrow: see [`cluster_errors`].
///
/// # Source
/// Murphy & Winkler 1977, Appl. Stat. 26:41–47; Wilson 1927, J. Am. Stat. Assoc. 22:209–212.
///
/// # Checked against
/// `tests/models/reliability.rs`: scikit-learn 1.9.1 (`calibration_curve`) and statsmodels 0.15.0
/// (`proportion_confint`).
///
/// # Examples
/// ```
/// use models::reliability::{Bins, Call, reliability_bins};
///
/// let calls = [(0.92, true), (0.98, true), (0.95, false), (0.3, false)]
///     .map(|(odds, came_true)| Call::try_new(odds, came_true).expect("odds"));
/// let bins = reliability_bins(&calls, &Bins::tenths());
/// assert_eq!((bins.len(), bins[1].calls, bins[1].from), (2, 3, 0.9));
/// assert!((bins[1].mean_odds - 0.95).abs() < 1e-12);
/// assert!((bins[1].share - 2.0 / 3.0).abs() < 1e-12);
/// ```
pub fn reliability_bins(calls: &[Call], bins: &Bins) -> Vec<Bin> {
    let sums = sums(calls, bins);
    let held = sums.iter().zip(bins.0.windows(2));
    held.filter(|(sums, _)| sums.calls > 0)
        .map(|(sums, ends)| {
            let (low, high) = wilson(sums.share(), sums.calls);
            Bin {
                from: ends[0],
                to: ends[1],
                calls: sums.calls,
                mean_odds: sums.mean_odds(),
                share: sums.share(),
                low,
                high,
            }
        })
        .collect()
}

/// The parts of a Brier score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decomposition {
    /// How far the shares of bins lie from the odds called in them; 0 is best.
    pub reliability: f64,
    /// How far the shares of bins lie from the share of all; the more the better.
    pub resolution: f64,
    /// What comes true as often as it fails is hardest to foretell.
    pub uncertainty: f64,
    /// What odds differ within bins.
    pub within_bin_variance: f64,
    /// Twice how odds and what came true go together within bins.
    pub within_bin_covariance: f64,
}

impl Decomposition {
    /// The Brier score that the parts add up to.
    pub fn brier_score(&self) -> f64 {
        self.reliability - self.resolution + self.uncertainty + self.within_bin_variance
            - self.within_bin_covariance
    }
}

/// Returns the parts of the Brier score by bins.
///
/// # Equation
/// B = REL − RES + UNC + WBV − WBC; over the bins k of nₖ calls with mean odds f̄ₖ and share ōₖ, and ō of
/// all n: REL = Σ nₖ(f̄ₖ − ōₖ)²/n, RES = Σ nₖ(ōₖ − ō)²/n, UNC = ō(1 − ō); over the calls: WBV =
/// Σ (f − f̄ₖ)²/n, WBC = 2 Σ (f − f̄ₖ)(o − ōₖ)/n
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `calls` | f, o | | any number | checked by their type |
/// | `bins` | k | | cuts | checked by its type |
///
/// # Returns
/// Parts that add up to [`brier_score`]; none without calls.
///
/// # Assumptions
/// Parts hang on the bins, and a bin of few calls has a share far from its odds by chance: of calls that
/// are all honest, reliability is about Σ ōₖ(1 − ōₖ)/n, not 0.
///
/// # Source
/// Murphy 1973, J. Appl. Meteorol. 12:595–600; within bins Stephenson, Coelho & Jolliffe 2008, Weather
/// Forecast. 23:752–757.
///
/// # Checked against
/// `tests/models/reliability.rs`: the parts as differences of scores (Siegert 2017, Q. J. R. Meteorol.
/// Soc. 143:1178–1183), computed independently; that they add up, of any calls.
///
/// # Examples
/// ```
/// use models::reliability::{Bins, Call, brier_score, decompose};
///
/// let calls = [(0.9, true), (0.8, true), (0.85, false), (0.2, false)]
///     .map(|(odds, came_true)| Call::try_new(odds, came_true).expect("odds"));
/// let parts = decompose(&calls, &Bins::tenths()).expect("four calls");
/// assert!((parts.uncertainty - 0.25).abs() < 1e-12);
/// assert!((parts.brier_score() - brier_score(&calls).expect("four")).abs() < 1e-12);
/// ```
pub fn decompose(calls: &[Call], bins: &Bins) -> Option<Decomposition> {
    let mut all = Sums::default();
    let sums = sums(calls, bins);
    for bin in &sums {
        all.merge(*bin);
    }
    let of_bins = |part: &dyn Fn(Sums) -> f64| {
        let held = sums.iter().filter(|sums| sums.calls > 0);
        let weighed = held.map(|sums| sums.calls as f64 * part(*sums));
        mean(weighed.sum(), calls.len())
    };
    let of_calls = |part: &dyn Fn(f64, f64) -> f64| {
        let parts = calls.iter().map(|call| {
            let bin = sums[bins.of(call.odds)];
            part(call.odds - bin.mean_odds(), call.outcome() - bin.share())
        });
        mean(parts.sum(), calls.len())
    };
    Some(Decomposition {
        reliability: of_bins(&|bin| square(bin.mean_odds() - bin.share()))?,
        resolution: of_bins(&|bin| square(bin.share() - all.share()))?,
        uncertainty: all.share() * (1.0 - all.share()),
        within_bin_variance: of_calls(&|odds, _| square(odds))?,
        within_bin_covariance: of_calls(&|odds, outcome| 2.0 * odds * outcome)?,
    })
}

/// Returns, for each bin that holds calls, how far its share may lie from its mean odds by chance.
///
/// # Equation
/// The standard deviation of share − mean odds over resamples, each of as many clusters as there are,
/// drawn with replacement
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `clusters` | | calls that share their luck, such as the lines of one nursery | any number |
/// | `bins` | | cuts | checked by its type |
/// | `resamples` | | count | 200 or more for an error to within 5 % |
/// | `below` | | a whole number below the one it is given, each as likely | asked only for numbers above 0 |
///
/// # Returns
/// One standard error a bin, in the order of [`reliability_bins`] of all calls. Resamples without a call
/// in the bin are passed over; none where fewer than two are left.
///
/// # Assumptions
/// Clusters are independent of each other. A bin with calls of few clusters, or whose calls all came
/// true, has an error that is too small.
///
/// # Source
/// Efron & Tibshirani 1993, An Introduction to the Bootstrap; of clusters Davison & Hinkley 1997,
/// Bootstrap Methods and their Application, ch. 3.8, both from memory.
///
/// # Checked against
/// `tests/models/reliability.rs`: the exact error of a share of independent calls; clusters of twins,
/// whose error is √2 times as large; resamples told one by one, computed by hand.
///
/// # Examples
/// ```
/// use models::reliability::{Bins, Call, cluster_errors};
///
/// let one = vec![Call::try_new(0.9, true)?];
/// let other = vec![Call::try_new(0.9, false)?];
/// // Three resamples of two: both once, the first twice, the second twice.
/// let mut drawn = [0, 1, 0, 0, 1, 1].into_iter();
/// let errors = cluster_errors(&[one, other], &Bins::tenths(), 3, |_| drawn.next().expect("six"));
/// assert!((errors[0].expect("an error") - 0.5).abs() < 1e-12);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn cluster_errors(
    clusters: &[Vec<Call>],
    bins: &Bins,
    resamples: usize,
    mut below: impl FnMut(usize) -> usize,
) -> Vec<Option<f64>> {
    let of_clusters: Vec<_> = clusters.iter().map(|calls| sums(calls, bins)).collect();
    let mut differences = vec![Spread::default(); bins.count()];
    for _ in 0..resamples {
        let mut drawn = vec![Sums::default(); bins.count()];
        for _ in 0..clusters.len() {
            let cluster = &of_clusters[below(clusters.len())];
            let both = drawn.iter_mut().zip(cluster);
            both.for_each(|(sum, more)| sum.merge(*more));
        }
        let held = differences.iter_mut().zip(drawn);
        held.filter(|(_, sums)| sums.calls > 0)
            .for_each(|(spread, sums)| spread.add(sums.share() - sums.mean_odds()));
    }
    let holds = |bin: usize| of_clusters.iter().any(|sums| sums[bin].calls > 0);
    let held = differences.iter().enumerate();
    held.filter(|(bin, _)| holds(*bin))
        .map(|(_, spread)| spread.sd())
        .collect()
}

/// Mean and spread of numbers that come one by one (Welford 1962).
#[derive(Debug, Clone, Copy, Default)]
struct Spread {
    count: usize,
    mean: f64,
    squares: f64,
}

impl Spread {
    fn add(&mut self, number: f64) {
        self.count += 1;
        let from_old = number - self.mean;
        self.mean += from_old / self.count as f64;
        self.squares += from_old * (number - self.mean);
    }

    /// The standard deviation of a sample; none of fewer than two numbers.
    fn sd(self) -> Option<f64> {
        (self.count > 1).then(|| (self.squares / (self.count - 1) as f64).sqrt())
    }
}
