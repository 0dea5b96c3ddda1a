//! How one lot grows: which of its plants survive, and in which weeks they are ready.

use std::ops::Range;

use crate::case::{Known, Phase};
use crate::sampling::{binomial, lot_probability, normal, normal_quantile};
use crate::stream::Stream;

/// A stage's phase, with stages and climates as numbers.
#[derive(Clone, Debug)]
pub struct Growth {
    log_degree_days: f64,
    degree_days: f64,
    within_lot: f64,
    between_lots: f64,
    survival: f64,
    survival_rho: f64,
    shared_sd: f64,
    split: Option<(f64, f64)>,
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
    /// Degree-days before week 0, 1, 2 …; one more than there are weeks.
    pub before_week: &'a [f64],
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
    /// Ready in the lot's own stage.
    pub own: u32,
    /// Ready in the split's other stage.
    pub otherwise: u32,
}

impl Growth {
    /// The growth of `phase`, whose climate and other stage have been looked up.
    pub fn new(phase: &Phase, climate: usize, otherwise: usize) -> Self {
        Self {
            log_degree_days: libm::log(phase.degree_days),
            degree_days: phase.degree_days,
            within_lot: phase.within_lot,
            between_lots: phase.between_lots,
            survival: phase.survival,
            survival_rho: phase.survival_rho,
            shared_sd: phase.shared_sd,
            split: phase.split.as_ref().map(|split| (split.share, split.rho)),
            known: Known::default(),
            climate,
            otherwise,
        }
    }

    /// The growth of one lot of the phase, of which something is known.
    pub fn of_lot(&self, known: &Known) -> Self {
        Self {
            known: known.clone(),
            survival_rho: known.survival_rho.unwrap_or(self.survival_rho),
            ..self.clone()
        }
    }

    /// Draws a lot's fate and hands over the weeks in which plants become ready, in their order.
    ///
    /// # Equation
    /// λ = exp(N(−`σ_b`²/2, `σ_b`)); K ~ BetaBinomial(n; μ′, ρ) with μ′ = luck(μ^(1 − min(1, D₀/θ)));
    /// in week t, Binomial(not yet ready, 1 − fraction) if there is a loss, then
    /// Binomial(not yet ready, 1 − `S_t`/`S_{t−1}`) become ready.
    /// # Draws
    /// Pace, survival, the split's share, then the weeks. Weeks before the first plant are passed
    /// over in one draw: the smallest of n independent sums lies beyond D with probability Sⁿ.
    pub fn grow(
        &self,
        lot: Planted,
        season: Season<'_>,
        stream: &mut Stream,
        mut ready: impl FnMut(Ready),
    ) -> Fate {
        let z = normal(stream);
        let pace = self.log_pace(z);
        let survival = lot_probability(stream, self.survival_of(lot), self.survival_rho);
        let survivors = binomial(stream, lot.plants, survival);
        let split = self
            .split
            .map(|(share, rho)| lot_probability(stream, lucky(share, self.moved(lot)), rho));
        let waiting = Waiting::new(self.log_degree_days + pace, self.within_lot);
        let offset = lot.degree_days - season.before_week.get(lot.from).copied().unwrap_or(0.0);
        let mut crop = Crop {
            waiting,
            season,
            offset,
            left: survivors,
            before: waiting.share(lot.degree_days),
        };
        for (weeks, left) in season.stretches(lot.from) {
            crop.left = binomial(stream, crop.left, left);
            crop.ripen(weeks, stream, |week, plants, stream| {
                let own = split.map_or(plants, |share| binomial(stream, plants, share));
                ready(Ready {
                    week,
                    own,
                    otherwise: plants - own,
                });
            });
        }
        Fate {
            survivors,
            expected: f64::from(lot.plants) * self.mean_survival(lot),
            slow: self.known.pace.map_or(self.between_lots, |[_, sd]| sd) * z,
        }
    }

    /// The mean share of ready plants that are ready in the stage itself.
    pub fn own_share(&self) -> f64 {
        self.split.map_or(1.0, |(share, _)| share)
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

    fn survival_of(&self, lot: Planted) -> f64 {
        lucky(self.mean_survival(lot), self.moved(lot))
    }

    /// The mean share of a lot's plants that survive from now on, without luck.
    fn mean_survival(&self, lot: Planted) -> f64 {
        if let Some(survival) = self.known.survival {
            return survival;
        }
        let ahead = 1.0 - (lot.degree_days / self.degree_days).min(1.0);
        // Most lots start from nothing; 0⁰ = 1 for one that has all its degree-days behind it.
        if ahead < 1.0 {
            libm::pow(self.survival, ahead)
        } else {
            self.survival
        }
    }
}

/// A probability whose logit has been moved; 0 and 1 stay.
fn lucky(p: f64, move_logit: f64) -> f64 {
    if p <= 0.0 || p >= 1.0 || move_logit == 0.0 {
        return p;
    }
    1.0 / (1.0 + (1.0 - p) / p * libm::exp(-move_logit))
}

/// The sums of degree-days after which the plants of one lot are ready: log-normal with mean θλ.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    log_median: f64,
    spread: f64,
}

/// Sums of a path's degree-days differ in their last bits with where the path is cut; a step at θλ
/// is met from this little below it.
const ROUNDING: f64 = 1e-12;

/// Below this share the next plant's own share could fall out of the range of numbers.
const SMALLEST_SHARE: f64 = 1e-290;

impl Waiting {
    fn new(log_mean: f64, spread: f64) -> Self {
        Self {
            log_median: log_mean - spread * spread / 2.0,
            spread,
        }
    }

    /// S(D), the share not yet ready at sum `degree_days`.
    fn share(self, degree_days: f64) -> f64 {
        if degree_days <= 0.0 {
            return 1.0;
        }
        let beyond = libm::log(degree_days) - self.log_median;
        if self.spread > 0.0 {
            0.5 * libm::erfc(beyond / self.spread * std::f64::consts::FRAC_1_SQRT_2)
        } else if beyond >= -ROUNDING {
            0.0
        } else {
            1.0
        }
    }

    /// The sum at which the share not yet ready has fallen to `share`.
    fn degree_days_at(self, share: f64) -> f64 {
        let logarithm = if self.spread > 0.0 {
            self.log_median - self.spread * normal_quantile(share)
        } else {
            self.log_median - ROUNDING
        };
        libm::exp(logarithm)
    }
}

impl Season<'_> {
    fn weeks(&self) -> usize {
        self.before_week.len() - 1
    }

    /// The weeks from `from` on, cut where a loss comes, each stretch with the share that the loss
    /// at its start leaves.
    fn stretches(&self, from: usize) -> impl Iterator<Item = (Range<usize>, f64)> {
        let weeks = self.weeks();
        let first = self.losses.partition_point(|(week, _)| *week < from);
        let losses = &self.losses[first..];
        let starts_with_loss = losses.first().is_some_and(|(week, _)| *week == from);
        let quiet = (!starts_with_loss).then_some((from, 1.0));
        let starts = quiet.into_iter().chain(losses.iter().copied());
        let ends = losses
            .iter()
            .skip(usize::from(starts_with_loss))
            .map(|(week, _)| *week)
            .chain([weeks]);
        starts
            .zip(ends)
            .map(|((start, left), end)| (start..end, left))
    }
}

/// The plants of a lot that are not yet ready.
struct Crop<'a> {
    waiting: Waiting,
    season: Season<'a>,
    /// What to add to the path's sum to have the lot's.
    offset: f64,
    left: u32,
    /// S at the end of the week before.
    before: f64,
}

impl Crop<'_> {
    /// Lets plants become ready in weeks without a loss, except perhaps before the first.
    fn ripen(
        &mut self,
        weeks: Range<usize>,
        stream: &mut Stream,
        mut ready: impl FnMut(usize, u32, &mut Stream),
    ) {
        let mut week = weeks.start;
        let mut flowing = false;
        while self.left > 0 && week < weeks.end {
            let plants = if flowing || self.before < SMALLEST_SHARE {
                self.ready_in(week, stream)
            } else {
                let Some(plants) = self.next_ready(&mut week, weeks.end, stream) else {
                    return;
                };
                plants
            };
            if plants > 0 {
                self.left -= plants;
                ready(week, plants, stream);
            }
            // After a week without plants the next may be far off, and one draw finds it.
            flowing = plants > 0;
            week += 1;
        }
    }

    fn share_after(&self, week: usize) -> f64 {
        self.waiting
            .share(self.season.before_week[week + 1] + self.offset)
    }

    /// How many become ready in `week`.
    fn ready_in(&mut self, week: usize, stream: &mut Stream) -> u32 {
        let after = self.share_after(week);
        let share = if self.before > 0.0 {
            1.0 - after / self.before
        } else {
            1.0
        };
        self.before = after;
        binomial(stream, self.left, share)
    }

    /// Moves `week` on to the next one with a ready plant, and says how many there are in it. None
    /// if `end` comes before.
    fn next_ready(&mut self, week: &mut usize, end: usize, stream: &mut Stream) -> Option<u32> {
        let first = self.before * libm::exp(libm::log(stream.uniform()) / f64::from(self.left));
        let sum = self.waiting.degree_days_at(first) - self.offset;
        let ahead = &self.season.before_week[*week + 1..=end];
        *week += ahead.partition_point(|degree_days| *degree_days < sum);
        if *week == end {
            self.before = self.share_after(end - 1);
            return None;
        }
        let after = self.share_after(*week);
        self.before = after;
        Some(1 + binomial(stream, self.left - 1, 1.0 - after / first))
    }
}

#[cfg(test)]
#[path = "growth_tests.rs"]
mod tests;
