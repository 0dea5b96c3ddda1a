//! How one lot grows: which of its plants survive, and in which weeks they are ready.

use crate::calendar::Calendar;
use crate::case::{Known, Phase};
use crate::degree_days::DegreeDays;
use crate::elementary::{exp, ln};
use crate::normal::{normal, upper_tail};
use crate::sampling::{LotProbability, binomial};
use crate::stream::Stream;

/// A stage's phase, with stages and climates as numbers.
#[derive(Clone, Debug)]
pub struct Growth {
    log_degree_days: f64,
    degree_days: f64,
    within_lot: f64,
    between_lots: f64,
    survival: Share,
    shared_sd: f64,
    split: Option<Share>,
    known: Known,
    /// The climate whose degree-days count.
    pub climate: usize,
    /// Where those are ready that the split sends elsewhere; the stage itself without a split.
    pub otherwise: usize,
}

/// A lot at its start.
#[derive(Clone, Copy, Debug)]
pub struct Planted {
    /// Growing plants.
    pub plants: u32,
    /// The first week that counts for it.
    pub from: usize,
    /// D₀, the degree-days behind it (°C·d).
    pub degree_days: f64,
    /// z, the luck it shares with its group (standard normal; 0 for none).
    pub luck: f64,
    /// How far its further labels move its logits.
    pub moved: f64,
}

/// What a weather path means for one stage.
#[derive(Clone, Copy, Debug)]
pub struct Season<'a> {
    /// In the stage's climate.
    pub degree_days: &'a DegreeDays,
    /// `(week, share left)` of each loss, by week.
    pub losses: &'a [(usize, f64)],
}

/// How a lot's own luck came out, beside what is expected of it.
#[derive(Clone, Copy, Debug)]
pub struct Fate {
    /// Plants that would become ready but for losses.
    pub survivors: u32,
    /// How many that is on average, without luck.
    pub expected: f64,
    /// By how much ln λ is above its mean: how slow it is.
    pub slow: f64,
}

/// Plants of a lot that become ready in one week.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ready {
    /// The week.
    pub week: usize,
    /// How many.
    pub plants: u32,
    /// Whether in the lot's own stage, not in its split's other one.
    pub is_own: bool,
}

impl Growth {
    /// The growth of `phase`, whose climate and other stage have been looked up.
    pub fn new(phase: &Phase, climate: usize, otherwise: usize) -> Self {
        let split = phase.split.as_ref();
        Self {
            log_degree_days: libm::log(phase.degree_days),
            degree_days: phase.degree_days,
            within_lot: phase.within_lot,
            between_lots: phase.between_lots,
            survival: Share::new(phase.survival, phase.survival_rho),
            shared_sd: phase.shared_sd,
            split: split.map(|split| Share::new(split.share, split.rho)),
            known: Known::default(),
            climate,
            otherwise,
        }
    }

    /// The growth of one lot of the phase, of which something is known.
    pub fn of_lot(&self, known: &Known) -> Self {
        let rho = known.survival_rho.unwrap_or(self.survival.rho);
        Self {
            known: known.clone(),
            survival: Share::new(self.survival.mean, rho),
            ..self.clone()
        }
    }

    /// Draws a lot's fate and hands over the weeks in which plants become ready. A week may come more
    /// than once.
    ///
    /// # Equation
    /// λ = exp(N(−`σ_b`²/2, `σ_b`)); K ~ BetaBinomial(n; μ′, ρ) with μ′ = luck(μ^(1 − min(1, D₀/θ)));
    /// each of K becomes ready in week t with probability (`S_{t−1}` − `S_t`)/S(D₀); of those ready
    /// in week t, Binomial(ready, Π(1 − fraction)) are left by the losses up to then.
    /// # Draws
    /// Pace, survival and the split's share, then the plants. Given these no plant knows of another:
    /// in a lot of some hundred one number a plant tells all that becomes of it. In smaller and larger
    /// ones it is drawn how many survive, how many the split sends each way, then the weeks.
    pub fn grow(
        &self,
        lot: Planted,
        season: Season<'_>,
        stream: &mut Stream,
        mut ready: impl FnMut(Ready),
    ) -> Fate {
        let z = normal(stream);
        let mean = self.mean_survival(lot);
        let chances = Chances {
            survival: self.survival_of(lot, mean).draw(stream),
            own: self
                .split
                .map(|share| share.moved(self.moved(lot)).draw(stream)),
        };
        let crop = (lot.from < season.degree_days.weeks()).then(|| {
            let waiting = Waiting::new(self.log_degree_days + self.log_pace(z), self.within_lot);
            Crop::new(waiting, season, lot)
        });
        Fate {
            survivors: chances.meet(lot.plants, crop.as_ref(), stream, &mut ready),
            expected: f64::from(lot.plants) * mean,
            slow: self.known.pace.map_or(self.between_lots, |[_, sd]| sd) * z,
        }
    }

    /// The mean share of ready plants that are ready in the stage itself.
    pub fn own_share(&self) -> f64 {
        self.split.map_or(1.0, |share| share.mean)
    }

    /// ln λ of a lot whose own luck in it is `z`.
    fn log_pace(&self, z: f64) -> f64 {
        match self.known.pace {
            Some([mean, sd]) => mean + sd * z,
            None => self.between_lots * (z - self.between_lots / 2.0),
        }
    }

    /// How far shared luck moves the lot's logits.
    fn moved(&self, lot: Planted) -> f64 {
        self.shared_sd * lot.luck + lot.moved
    }

    /// What is drawn of a lot's survival, whose mean without luck is `mean`.
    fn survival_of(&self, lot: Planted, mean: f64) -> LotProbability {
        let moved = self.moved(lot);
        // Most lots start from nothing, with the mean of the phase itself.
        if mean.to_bits() == self.survival.mean.to_bits() {
            self.survival.moved(moved)
        } else {
            LotProbability::new(lucky(mean, moved), self.survival.rho)
        }
    }

    /// The mean share of a lot's plants that survive from now on, without luck.
    fn mean_survival(&self, lot: Planted) -> f64 {
        if let Some(survival) = self.known.survival {
            return survival;
        }
        let ahead = 1.0 - (lot.degree_days / self.degree_days).min(1.0);
        // 0⁰ = 1 for a lot that has all its degree-days behind it.
        if ahead < 1.0 {
            libm::pow(self.survival.mean, ahead)
        } else {
            self.survival.mean
        }
    }
}

/// The share of a lot's plants that something meets.
#[derive(Clone, Copy, Debug)]
struct Share {
    mean: f64,
    rho: f64,
    /// Of a lot without luck.
    plain: LotProbability,
}

impl Share {
    fn new(mean: f64, rho: f64) -> Self {
        Self {
            mean,
            rho,
            plain: LotProbability::new(mean, rho),
        }
    }

    fn moved(&self, move_logit: f64) -> LotProbability {
        if move_logit == 0.0 {
            self.plain
        } else {
            LotProbability::new(lucky(self.mean, move_logit), self.rho)
        }
    }
}

/// A probability whose logit has been moved; 0 and 1 stay.
fn lucky(p: f64, move_logit: f64) -> f64 {
    if p <= 0.0 || p >= 1.0 || move_logit == 0.0 {
        return p;
    }
    1.0 / (1.0 + (1.0 - p) / p * exp(-move_logit))
}

/// The sums of degree-days after which the plants of one lot are ready: log-normal with mean θλ.
#[derive(Clone, Copy, Debug)]
pub struct Waiting {
    /// Of the sums, the logarithm of the median.
    pub log_median: f64,
    /// Of the logs, and one over it; none for a step.
    pub spread: Option<(f64, f64)>,
}

/// Sums of a path's degree-days differ in their last bits with where the path is cut; a step at θλ
/// is met from this little below it.
const ROUNDING: f64 = 1e-12;

impl Waiting {
    /// With this mean of the logs and this spread.
    pub fn new(log_mean: f64, spread: f64) -> Self {
        let log_median = log_mean - spread * spread / 2.0;
        // No two sums have logs closer than the smallest normal number.
        if spread < f64::MIN_POSITIVE {
            Self {
                log_median: log_median - ROUNDING,
                spread: None,
            }
        } else {
            Self {
                log_median,
                spread: Some((spread, 1.0 / spread)),
            }
        }
    }

    /// S(D), the share not yet ready at sum `degree_days`.
    #[inline]
    fn share(self, degree_days: f64) -> f64 {
        if degree_days <= 0.0 {
            return 1.0;
        }
        let beyond = ln(degree_days) - self.log_median;
        match self.spread {
            Some((_, per_spread)) => upper_tail(beyond * per_spread),
            None if beyond >= 0.0 => 0.0,
            None => 1.0,
        }
    }
}

/// What the plants of one lot meet, each on its own.
#[derive(Clone, Copy, Debug)]
pub struct Chances {
    /// π, that of surviving.
    pub survival: f64,
    /// That of a survivor to be ready in the stage itself, where there is a split.
    pub own: Option<f64>,
}

impl Chances {
    /// Draws what becomes of `plants`; none become ready without a crop. Returns the survivors.
    fn meet(
        self,
        plants: u32,
        crop: Option<&Crop<'_>>,
        stream: &mut Stream,
        ready: &mut impl FnMut(Ready),
    ) -> u32 {
        if let Some(crop) = crop
            && SCATTERED.contains(&plants)
        {
            let mut calendar = Calendar::new(crop);
            if calendar.look_up().is_some() {
                return calendar.scatter(self, plants, stream, ready);
            }
        }
        let survivors = binomial(stream, plants, self.survival);
        let own = self
            .own
            .map_or(survivors, |share| binomial(stream, survivors, share));
        if let Some(crop) = crop {
            for (plants, is_own) in [(own, true), (survivors - own, false)] {
                crop.ripen(plants, stream, |week, plants| {
                    ready(Ready {
                        week,
                        plants,
                        is_own,
                    });
                });
            }
        }
        survivors
    }
}

impl Season<'_> {
    /// The share of plants that the losses from week `from` to week `to` leave.
    pub fn left(&self, from: usize, to: usize) -> f64 {
        self.losses
            .iter()
            .filter(|(week, _)| (from..=to).contains(week))
            .map(|(_, left)| left)
            .product()
    }
}

/// Lots of so many plants are scattered.
const SCATTERED: std::ops::RangeInclusive<u32> = 12..=510;

/// Up to this many plants have a sum of degree-days each, which is as fast as drawing how many
/// become ready week by week.
const SINGLY: u32 = 48;

/// The same for plants at the ends of a lot.
const SINGLY_AT_ENDS: usize = 24;

/// Weeks whose shares are looked up together.
const AHEAD: usize = 4;

/// Marks compared together, without a branch.
const LANES: usize = 4;

/// The plants of a lot that will become ready.
pub struct Crop<'a> {
    /// What its plants wait for.
    pub waiting: Waiting,
    /// What it meets.
    pub season: Season<'a>,
    /// The first week that counts for it.
    pub from: usize,
    /// D₀.
    pub degree_days: f64,
    /// What to add to the lot's sum to have the path's.
    pub offset: f64,
    /// S(D₀).
    at_start: f64,
}

impl<'a> Crop<'a> {
    /// Of a lot at its start.
    pub fn new(waiting: Waiting, season: Season<'a>, lot: Planted) -> Self {
        Self {
            waiting,
            season,
            from: lot.from,
            degree_days: lot.degree_days,
            offset: season.degree_days.before(lot.from) - lot.degree_days,
            at_start: waiting.share(lot.degree_days),
        }
    }

    /// The first week at whose end the lot's sum is this or more.
    #[inline]
    pub fn week_of(&self, degree_days: f64) -> Option<usize> {
        let week = self.season.degree_days.week_of(degree_days + self.offset)?;
        Some(week.max(self.from))
    }

    /// The share of the plants that are not yet ready at the end of `week`.
    #[inline]
    pub fn share_after(&self, week: usize) -> f64 {
        let all = self
            .waiting
            .share(self.season.degree_days.after(week) - self.offset);
        if self.at_start > 0.0 {
            (all / self.at_start).min(1.0)
        } else {
            // With nothing left of the tail, all are ready at once.
            0.0
        }
    }

    /// The last week of the path.
    pub fn last_week(&self) -> usize {
        self.season.degree_days.weeks() - 1
    }

    /// The share of the plants that are ready by the end of `week` and not lost before.
    pub fn share_ready(&self, week: usize) -> f64 {
        let by = |week: usize| 1.0 - self.share_after(week);
        let (mut ready, mut left) = (0.0, 1.0);
        for (at, share) in self.season.losses {
            if (self.from..=week).contains(at) {
                if *at > self.from {
                    ready += left * (1.0 - share) * by(at - 1);
                }
                left *= share;
            }
        }
        ready + left * by(week)
    }

    /// The week in which the plant becomes ready that stands at `rank` (from 0 to 1) in the order of
    /// weeks, those last that are lost or not ready in time. It is likely near `week`.
    #[cold]
    pub fn week_of_rank(&self, rank: f64, mut week: usize) -> Option<usize> {
        if rank >= self.share_ready(self.last_week()) {
            return None;
        }
        while week > self.from && rank < self.share_ready(week - 1) {
            week -= 1;
        }
        while rank >= self.share_ready(week) {
            week += 1;
        }
        Some(week)
    }

    /// [`Self::share_after`] of `week` and those that follow, up to the last. They do not wait for each other,
    /// so that a processor works on all at once.
    #[inline]
    fn shares_after(&self, week: usize, weeks: usize) -> [f64; AHEAD] {
        std::array::from_fn(|ahead| self.share_after((week + ahead).min(weeks - 1)))
    }

    /// Hands over the weeks in which `plants` become ready and are not lost before. A week may come
    /// more than once.
    fn ripen(&self, plants: u32, stream: &mut Stream, mut ready: impl FnMut(usize, u32)) {
        if plants == 0 {
            return;
        }
        let (season, from) = (self.season, self.from);
        let mut harvest = |week: usize, plants: u32, stream: &mut Stream| {
            let left = if season.losses.is_empty() {
                plants
            } else {
                binomial(stream, plants, season.left(from, week))
            };
            if left > 0 {
                ready(week, left);
            }
        };
        match self.waiting.spread {
            Some((spread, _)) if plants <= SINGLY && self.degree_days <= 0.0 => {
                for _ in 0..plants {
                    let log = self.waiting.log_median + spread * normal(stream);
                    if let Some(week) = self.week_of(exp(log)) {
                        harvest(week, 1, stream);
                    }
                }
            }
            Some(_) => {
                let middle = self.week_of(exp(self.waiting.log_median));
                let middle = middle.unwrap_or(season.degree_days.weeks() - 1);
                let share = if middle == from {
                    1.0
                } else {
                    self.share_after(middle - 1)
                };
                let sooner = binomial(stream, plants, 1.0 - share);
                self.sooner((middle, share), sooner, stream, &mut harvest);
                self.later((middle, share), plants - sooner, stream, &mut harvest);
            }
            None => {
                if let Some(week) = self.week_of(exp(self.waiting.log_median)) {
                    harvest(week, plants, stream);
                }
            }
        }
    }

    /// Plants that become ready before `week` begins, when a `share` is not ready, from the last to
    /// the first.
    fn sooner(
        &self,
        (mut week, mut share): (usize, f64),
        mut plants: u32,
        stream: &mut Stream,
        harvest: &mut impl FnMut(usize, u32, &mut Stream),
    ) {
        while plants as usize > SINGLY_AT_ENDS {
            week -= 1;
            // Roundings of shares must not bring plants back.
            let before = if week == self.from {
                1.0
            } else {
                self.share_after(week - 1).max(share)
            };
            let in_week = binomial(stream, plants, (before - share) / (1.0 - share));
            share = before;
            plants -= in_week;
            harvest(week, in_week, stream);
        }
        // Ready once the share not yet ready is below 1 − mark.
        let marks = Marks::new(plants, || (1.0 - share) * stream.uniform());
        while plants > 0 {
            week -= 1;
            let sooner = if week == self.from {
                0
            } else {
                marks.below(1.0 - self.share_after(week - 1)).min(plants)
            };
            if plants > sooner {
                harvest(week, plants - sooner, stream);
            }
            plants = sooner;
        }
    }

    /// Plants that become ready from `week` on; when it begins a `share` is not ready.
    fn later(
        &self,
        (mut week, mut share): (usize, f64),
        mut plants: u32,
        stream: &mut Stream,
        harvest: &mut impl FnMut(usize, u32, &mut Stream),
    ) {
        let weeks = self.season.degree_days.weeks();
        while plants as usize > SINGLY_AT_ENDS && week < weeks {
            for after in self.shares_after(week, weeks) {
                let after = after.min(share);
                let in_week = binomial(stream, plants, 1.0 - after / share);
                share = after;
                plants -= in_week;
                harvest(week, in_week, stream);
                week += 1;
                if plants as usize <= SINGLY_AT_ENDS || week == weeks {
                    break;
                }
            }
        }
        if week == weeks {
            return;
        }
        // Ready once the share not yet ready is at its mark or below.
        let marks = Marks::new(plants, || share * stream.uniform());
        while plants > 0 && week < weeks {
            for after in self.shares_after(week, weeks) {
                let left = marks.below(after).min(plants);
                if plants > left {
                    harvest(week, plants - left, stream);
                }
                plants = left;
                week += 1;
                if plants == 0 || week == weeks {
                    break;
                }
            }
        }
    }
}

/// A few plants, each with a share that tells when it becomes ready.
struct Marks {
    marks: [f64; SINGLY_AT_ENDS],
    used: usize,
}

impl Marks {
    #[inline]
    fn new(plants: u32, mut mark: impl FnMut() -> f64) -> Self {
        // Marks above any share are those of no plant.
        let mut marks = [2.0; SINGLY_AT_ENDS];
        let plants = plants as usize;
        marks[..plants].fill_with(&mut mark);
        Self {
            marks,
            used: plants.next_multiple_of(LANES),
        }
    }

    /// How many marks are below a share.
    #[inline]
    fn below(&self, share: f64) -> u32 {
        let mut counts = [0u64; LANES];
        for marks in self.marks[..self.used].as_chunks::<LANES>().0 {
            for (count, mark) in counts.iter_mut().zip(marks) {
                *count = count.wrapping_add(u64::from(*mark < share));
            }
        }
        counts.iter().sum::<u64>() as u32
    }
}

#[cfg(test)]
#[path = "growth_tests.rs"]
mod tests;
