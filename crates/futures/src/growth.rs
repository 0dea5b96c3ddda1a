//! How one lot grows: which of its plants survive, and in which weeks they are ready.

use std::sync::Arc;

use crate::case::{Known, Phase};
use crate::degree_days::{DegreeDays, Reached};
use crate::elementary::{exp, ln};
use crate::normal::{normal, upper_tail};
use crate::ranks::{self, Ranks};
use crate::sampling::{LotProbability, binomial};
use crate::stream::Stream;

/// A stage's phase, with stages and climates as numbers.
#[derive(Clone, Debug)]
pub struct Growth {
    log_degree_days: f64,
    degree_days: f64,
    within_lot: f64,
    ranks: Option<Arc<Ranks>>,
    between_lots: f64,
    survival: Share,
    shared_sd: f64,
    split: Option<Share>,
    known: Known,
    /// The climate whose degree-days count.
    pub climate: usize,
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
    /// Plants that become ready in the lot's own stage.
    pub own: u32,
    /// Plants that become ready in its split's other one.
    pub elsewhere: u32,
}

/// What is true of a lot in a future.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LotTruth {
    /// ln λ.
    pub log_pace: f64,
    /// The share of its plants that live until they are ready, but for losses.
    pub survival: f64,
    /// The share of these that a split leaves in the lot's own stage.
    pub split: Option<f64>,
}

/// So many plants show a share to a few ten thousandths.
const MANY: u32 = 1 << 24;

/// Where plants are counted that become ready, by week.
#[derive(Debug)]
pub struct Harvest<'a> {
    /// Those ready in the lot's own stage.
    pub own: &'a mut [u32],
    /// Those ready in its split's other one.
    pub elsewhere: &'a mut [u32],
}

impl Growth {
    /// The growth of `phase`, whose climate has been looked up, with the ranks of its
    /// spread within a lot.
    pub fn new(phase: &Phase, ranks: Option<Arc<Ranks>>, climate: usize) -> Self {
        let split = phase.split.as_ref();
        Self {
            log_degree_days: libm::log(phase.degree_days),
            degree_days: phase.degree_days,
            within_lot: phase.within_lot,
            ranks,
            between_lots: phase.between_lots,
            survival: Share::new(phase.survival, phase.survival_rho),
            shared_sd: phase.shared_sd,
            split: split.map(|split| Share::new(split.share, split.rho)),
            known: Known::default(),
            climate,
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

    /// Draws a lot's fate and counts its plants in the weeks in which they become ready.
    ///
    /// # Equation
    /// λ = exp(N(−`σ_b`²/2, `σ_b`)); K ~ BetaBinomial(n; μ′, ρ) with μ′ = luck(μ^(1 − min(1, D₀/θ)));
    /// each of K becomes ready in week t with probability (`S_{t−1}` − `S_t`)/S(D₀); of those ready
    /// in week t, Binomial(ready, Π(1 − fraction)) are left by the losses up to then.
    /// # Draws
    /// The pace, how many survive, how many the split sends each way, then the weeks of these and those.
    pub fn grow(
        &self,
        lot: Planted,
        season: Season<'_>,
        stream: &mut Stream,
        harvest: Harvest<'_>,
    ) -> Fate {
        let Harvest {
            own: own_weeks,
            elsewhere: weeks_elsewhere,
        } = harvest;
        let z = normal(stream);
        let waiting = Waiting::new(self.log_degree_days + self.log_pace(z), self.within_lot);
        let mean = self.mean_survival(lot);
        let survivors = self.survival_of(lot, mean).meet(stream, lot.plants);
        let own = self.split.map_or(survivors, |share| {
            share.moved(self.moved(lot)).meet(stream, survivors)
        });
        let [own, elsewhere] = if lot.from < season.degree_days.weeks() {
            let crop = Crop::new(waiting, self.ranks.as_deref(), season, lot);
            [
                crop.ripen(own, stream, own_weeks),
                crop.ripen(survivors - own, stream, weeks_elsewhere),
            ]
        } else {
            [0, 0]
        };
        Fate {
            survivors,
            expected: f64::from(lot.plants) * mean,
            slow: self.known.pace.map_or(self.between_lots, |[_, sd]| sd) * z,
            own,
            elsewhere,
        }
    }

    /// What is true of a lot before any of its plants is looked at. The first draw is that of [`Self::grow`]; the
    /// shares are drawn from the same distributions as there, where a small lot's plants are drawn at once.
    pub fn truth(&self, lot: Planted, stream: &mut Stream) -> LotTruth {
        let log_pace = self.log_pace(normal(stream));
        let mean = self.mean_survival(lot);
        let moved = self.moved(lot);
        let mut of_many =
            |share: LotProbability| f64::from(share.meet(stream, MANY)) / f64::from(MANY);
        LotTruth {
            log_pace,
            survival: of_many(self.survival_of(lot, mean)),
            split: self.split.map(|share| of_many(share.moved(moved))),
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
struct Waiting {
    /// The median of the sums.
    median: f64,
    /// Its logarithm.
    log_median: f64,
    /// Of the logs, and one over it; none for a step.
    spread: Option<(f64, f64)>,
}

/// Sums of a path's degree-days differ in their last bits with where the path is cut; a step at θλ
/// is met from this little below it.
const ROUNDING: f64 = 1e-12;

impl Waiting {
    /// With this mean of the logs and this spread.
    fn new(log_mean: f64, spread: f64) -> Self {
        let (rounding, spread) = if spread < f64::MIN_POSITIVE {
            // No two sums have logs closer than the smallest normal number.
            (ROUNDING, None)
        } else {
            (0.0, Some((spread, 1.0 / spread)))
        };
        let log_median = log_mean - spread.map_or(0.0, |(it, _)| it * it / 2.0) - rounding;
        Self {
            median: exp(log_median),
            log_median,
            spread,
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

/// Up to this many plants have a rank each, which is as fast as drawing how many become ready week by
/// week.
const SINGLY: u32 = 400;

/// Up to this many plants at the ends of a lot have a uniform number each.
const SINGLY_AT_ENDS: usize = 24;

/// Weeks whose shares are looked up together.
const AHEAD: usize = 4;

/// Marks compared together, without a branch.
const LANES: usize = 4;

/// The plants of a lot that will become ready.
struct Crop<'a> {
    waiting: Waiting,
    ranks: Option<&'a Ranks>,
    degree_days: &'a DegreeDays,
    /// `(week, share left)` of the losses from its first week on, by week.
    losses: &'a [(usize, f64)],
    /// The first week that counts for it.
    from: usize,
    /// D₀.
    at_first: f64,
    /// What to add to the lot's sum to have the path's.
    offset: f64,
    /// S(D₀).
    at_start: f64,
}

impl<'a> Crop<'a> {
    /// Of a lot at its start.
    fn new(waiting: Waiting, ranks: Option<&'a Ranks>, season: Season<'a>, lot: Planted) -> Self {
        let earlier = season.losses.partition_point(|(week, _)| *week < lot.from);
        Self {
            waiting,
            ranks,
            degree_days: season.degree_days,
            losses: &season.losses[earlier..],
            from: lot.from,
            at_first: lot.degree_days,
            offset: season.degree_days.before(lot.from) - lot.degree_days,
            at_start: waiting.share(lot.degree_days),
        }
    }

    /// The first week at whose end the lot's sum is this or more.
    #[inline]
    fn week_of(&self, degree_days: f64) -> Option<usize> {
        let week = self.degree_days.week_of(degree_days + self.offset)?;
        Some(week.max(self.from))
    }

    /// The share of the plants that are not yet ready at the end of `week`.
    #[inline]
    fn share_after(&self, week: usize) -> f64 {
        let all = self
            .waiting
            .share(self.degree_days.after(week) - self.offset);
        if self.at_first <= 0.0 {
            all
        } else if self.at_start > 0.0 {
            (all / self.at_start).min(1.0)
        } else {
            // With nothing left of the tail, all are ready at once.
            0.0
        }
    }

    /// The share of plants that the losses until `week` leave.
    fn left(&self, week: usize) -> f64 {
        let until = self.losses.iter().take_while(|(at, _)| *at <= week);
        until.map(|(_, left)| left).product()
    }

    /// [`Self::share_after`] of `week` and those that follow, up to the last. They do not wait for each other,
    /// so that a processor works on all at once.
    #[inline]
    fn shares_after(&self, week: usize, weeks: usize) -> [f64; AHEAD] {
        std::array::from_fn(|ahead| self.share_after((week + ahead).min(weeks - 1)))
    }

    /// Counts `plants` in the weeks in which they become ready; returns how many are not lost before, and
    /// ready in time.
    #[inline]
    fn ripen(&self, plants: u32, stream: &mut Stream, weeks: &mut [u32]) -> u32 {
        if plants == 0 {
            return 0;
        }
        if plants <= SINGLY
            && let Some((ranks, sums)) = self.ranks.zip(self.sums())
        {
            return self.singly((ranks, sums), plants, stream, weeks);
        }
        let mut ready = 0;
        let mut harvest = |week: usize, plants: u32, stream: &mut Stream| {
            let left = self.left_of(plants, week, stream);
            ready += left;
            weeks[week] += left;
        };
        if self.waiting.spread.is_some() {
            self.week_by_week(plants, stream, &mut harvest);
        } else if let Some(week) = self.week_of(self.waiting.median) {
            harvest(week, plants, stream);
        }
        ready
    }

    /// Draws how many become ready in each week, from the middle one on and back.
    fn week_by_week(
        &self,
        plants: u32,
        stream: &mut Stream,
        harvest: &mut impl FnMut(usize, u32, &mut Stream),
    ) {
        let middle = self.week_of(self.waiting.median);
        let middle = middle.unwrap_or(self.degree_days.weeks() - 1);
        let share = if middle == self.from {
            1.0
        } else {
            self.share_after(middle - 1)
        };
        let sooner = binomial(stream, plants, 1.0 - share);
        self.sooner((middle, share), sooner, stream, harvest);
        self.later((middle, share), plants - sooner, stream, harvest);
    }

    /// How many plants that are ready in a week the losses until then leave.
    #[inline]
    fn left_of(&self, plants: u32, week: usize, stream: &mut Stream) -> u32 {
        if self.losses.is_empty() {
            plants
        } else {
            binomial(stream, plants, self.left(week))
        }
    }

    /// The sums of a lot that starts from nothing, where they can be told in units.
    #[inline]
    fn sums(&self) -> Option<Sums> {
        let part = self.degree_days.units(self.waiting.median) / f64::from(ranks::PARTS);
        (self.at_first <= 0.0 && Sums::PARTS.contains(&part)).then(|| {
            let (part, at_first) = (part as u64, self.degree_days.units_before(self.from));
            Sums {
                part,
                at_first,
                further: at_first + part + 1,
            }
        })
    }

    /// Plants that have a rank each, and the sum of that rank. Returns how many are ready and not lost.
    #[inline]
    fn singly(
        &self,
        (ranks, sums): (&Ranks, Sums),
        plants: u32,
        stream: &mut Stream,
        weeks: &mut [u32],
    ) -> u32 {
        // Only those ready later than this may have been lost, or are not ready in time.
        let first_loss = self.losses.first().map_or(weeks.len(), |(week, _)| *week);
        let (safe, others) = weeks.split_at_mut(first_loss);
        let finder = self.degree_days.finder();
        let mut missing = 0;
        stream.pieces::<{ ranks::BITS }>(plants, |stream, bits| {
            let week = match finder.reached(sums.around(ranks.around(bits))) {
                Reached::In(week) => week,
                Reached::From(week) => {
                    self.week_of_rank(ranks::within(bits, stream.uniform()), week)
                }
            };
            if let Some(ready) = safe.get_mut(week) {
                *ready += 1;
            } else if self.is_lost(week, stream) {
                missing += 1;
            } else {
                others[week - first_loss] += 1;
            }
        });
        plants - missing
    }

    /// Whether a plant that is ready in a week is lost until then, or not ready in time.
    #[cold]
    fn is_lost(&self, week: usize, stream: &mut Stream) -> bool {
        week >= self.degree_days.weeks() || self.left_of(1, week, stream) == 0
    }

    /// The week, from a first one that is possible on, in which the plant at a rank is ready; after the
    /// last one if that is not in time.
    #[cold]
    fn week_of_rank(&self, rank: f64, first: usize) -> usize {
        let weeks = self.degree_days.weeks();
        let is_ready = |week: &usize| self.share_after(*week) <= 1.0 - rank;
        (first..weeks).find(is_ready).unwrap_or(weeks)
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
        let weeks = self.degree_days.weeks();
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

/// How the sums of a lot's plants follow from its median, in units of the path's degree-days.
#[derive(Clone, Copy)]
struct Sums {
    /// A part of the median, rounded down.
    part: u64,
    /// The path's sum at the lot's start.
    at_first: u64,
    /// The same with one part of the median more.
    further: u64,
}

impl Sums {
    /// Parts that sums can be told from, in units: neither too small to matter nor so large that sums
    /// of 2³² parts could be more than 64 bits hold.
    const PARTS: std::ops::Range<f64> = 64.0..(1_u64 << 30) as f64;

    /// Sums of the path, the one below and the other above those at so many parts of the median and
    /// one more.
    #[inline]
    fn around(self, [low, high]: [u32; 2]) -> [u64; 2] {
        let low = u64::from(low).wrapping_mul(self.part);
        let high = u64::from(high).wrapping_mul(self.part + 1);
        [
            low.wrapping_add(self.at_first),
            high.wrapping_add(self.further),
        ]
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
