//! How one lot grows: which of its plants survive, and in which weeks they are ready.

use crate::case::Phase;
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
}

/// What a weather path means for one stage.
#[derive(Clone, Copy, Debug)]
pub struct Season<'a> {
    /// Degree-days before week 0, 1, 2 …; one more than there are weeks.
    pub before_week: &'a [f64],
    /// Logs of the sums of degree-days, where they are kept.
    pub logs: Option<&'a LogSums>,
    /// `(week, share left)` of each loss, by week.
    pub losses: &'a [(usize, f64)],
}

/// ln D(s, t] for every first week s + 1 and every week t from there on.
#[derive(Debug)]
pub struct LogSums {
    logs: Vec<f64>,
    weeks: usize,
}

impl LogSums {
    /// How many there are for so many weeks.
    pub fn count(weeks: usize) -> usize {
        weeks * (weeks + 1) / 2
    }

    /// Of a path with these degree-days before week 0, 1, 2 ….
    pub fn new(before_week: &[f64]) -> Self {
        let weeks = before_week.len() - 1;
        let mut logs = Vec::with_capacity(Self::count(weeks));
        for from in 0..weeks {
            let sum = |after: &f64| libm::log(after - before_week[from]);
            logs.extend(before_week[from + 1..].iter().map(sum));
        }
        Self { logs, weeks }
    }

    /// The logs for the first week `from`, from that week on.
    fn since(&self, from: usize) -> &[f64] {
        let start = Self::count(self.weeks) - Self::count(self.weeks - from);
        &self.logs[start..][..self.weeks - from]
    }
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
        let split = phase.split.as_ref();
        Self {
            log_degree_days: libm::log(phase.degree_days),
            degree_days: phase.degree_days,
            within_lot: phase.within_lot,
            between_lots: phase.between_lots,
            survival: Share::new(phase.survival, phase.survival_rho),
            shared_sd: phase.shared_sd,
            split: split.map(|split| Share::new(split.share, split.rho)),
            climate,
            otherwise,
        }
    }

    /// Draws a lot's fate and hands over the weeks in which plants become ready.
    ///
    /// # Equation
    /// λ = exp(N(−`σ_b`²/2, `σ_b`)); K ~ BetaBinomial(n; μ′, ρ) with μ′ = luck(μ^(1 − min(1, D₀/θ)));
    /// each of K becomes ready in week t with probability (`S_{t−1}` − `S_t`)/S(D₀); of those ready
    /// in week t, Binomial(ready, Π(1 − fraction)) are left by the losses up to then.
    /// # Draws
    /// Pace, survival, the split's share and how many it sends each way, then the weeks. Survivors
    /// do not know of each other, so that splitting them before their weeks are drawn, and thinning
    /// them when they are ready, is the same as doing both as they come.
    pub fn grow(
        &self,
        lot: Planted,
        season: Season<'_>,
        stream: &mut Stream,
        mut ready: impl FnMut(Ready),
    ) {
        let pace = self.between_lots * (normal(stream) - self.between_lots / 2.0);
        let survival = self.survival_of(lot).draw(stream);
        let survivors = binomial(stream, lot.plants, survival);
        let split = self
            .split
            .map(|share| share.moved(self.shared_sd * lot.luck).draw(stream));
        let own = split.map_or(survivors, |share| binomial(stream, survivors, share));
        if survivors == 0 || lot.from >= season.weeks() {
            return;
        }
        let waiting = Waiting::new(self.log_degree_days + pace, self.within_lot);
        let mut crop = Crop::new(waiting, season, lot);
        crop.ripen(own, stream, |week, own| {
            ready(Ready {
                week,
                own,
                otherwise: 0,
            });
        });
        crop.ripen(survivors - own, stream, |week, otherwise| {
            ready(Ready {
                week,
                own: 0,
                otherwise,
            });
        });
    }

    fn survival_of(&self, lot: Planted) -> LotProbability {
        let move_logit = self.shared_sd * lot.luck;
        // Most lots start from nothing; 0⁰ = 1 for one that has all its degree-days behind it.
        let ahead = 1.0 - (lot.degree_days / self.degree_days).min(1.0);
        if ahead < 1.0 {
            let mean = libm::pow(self.survival.mean, ahead);
            LotProbability::new(lucky(mean, move_logit), self.survival.rho)
        } else {
            self.survival.moved(move_logit)
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
    1.0 / (1.0 + (1.0 - p) / p * libm::exp(-move_logit))
}

/// The sums of degree-days after which the plants of one lot are ready: log-normal with mean θλ.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    log_median: f64,
    /// Of the logs, and one over it; none for a step.
    spread: Option<(f64, f64)>,
}

/// Sums of a path's degree-days differ in their last bits with where the path is cut; a step at θλ
/// is met from this little below it.
const ROUNDING: f64 = 1e-12;

impl Waiting {
    fn new(log_mean: f64, spread: f64) -> Self {
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

    /// S(D), the share not yet ready at the sum with this log.
    #[inline]
    fn share(self, log_degree_days: f64) -> f64 {
        let beyond = log_degree_days - self.log_median;
        match self.spread {
            Some((_, per_spread)) => upper_tail(beyond * per_spread),
            None if beyond >= 0.0 => 0.0,
            None => 1.0,
        }
    }
}

impl Season<'_> {
    fn weeks(&self) -> usize {
        self.before_week.len() - 1
    }

    /// The share of plants that the losses from week `from` to week `to` leave.
    fn left(&self, from: usize, to: usize) -> f64 {
        self.losses
            .iter()
            .filter(|(week, _)| (from..=to).contains(week))
            .map(|(_, left)| left)
            .product()
    }
}

/// Up to this many plants have a sum of degree-days each, which is as fast as drawing how many
/// become ready week by week.
const SINGLY: u32 = 48;

/// The same for plants of which some are known to be ready by a week or not.
const SINGLY_IN_TAIL: u32 = 24;

/// Marks compared together.
const LANES: usize = 4;

/// One mark for each of some plants; a plant is ready once the lot has passed its mark.
type Marks = [f64; SINGLY as usize];

/// What a plant's mark is compared with at the end of a week.
#[derive(Clone, Copy, Debug)]
enum Scale {
    /// The log of the lot's sum.
    LogSum,
    /// The share of the lot that is not yet ready, taken negative.
    Share,
}

/// The plants of a lot that will become ready.
struct Crop<'a> {
    waiting: Waiting,
    season: Season<'a>,
    from: usize,
    degree_days: f64,
    /// Logs of the lot's sums from its first week on, where they are kept.
    logs: Option<&'a [f64]>,
    /// Whether D₀ = 0.
    is_new: bool,
    /// S(D₀).
    at_start: f64,
    /// The week in which about half the plants are ready.
    middle: usize,
    marks: Marks,
}

impl<'a> Crop<'a> {
    fn new(waiting: Waiting, season: Season<'a>, lot: Planted) -> Self {
        // Sums that start from D₀ > 0 are the lot's alone.
        let is_new = lot.degree_days <= 0.0;
        let logs = season.logs.filter(|_| is_new);
        let mut crop = Self {
            waiting,
            season,
            from: lot.from,
            degree_days: lot.degree_days,
            logs: logs.map(|logs| logs.since(lot.from)),
            is_new,
            at_start: waiting.share(libm::log(lot.degree_days)),
            middle: lot.from,
            marks: [f64::INFINITY; SINGLY as usize],
        };
        crop.middle = crop.find_middle();
        crop
    }

    fn find_middle(&self) -> usize {
        let middle = self.waiting.log_median;
        let weeks = self.season.weeks() - self.from;
        let sooner = match self.logs {
            Some(logs) => logs.partition_point(|log| *log < middle),
            None => first(weeks, |week| self.log_sum(self.from + week) >= middle),
        };
        self.from + sooner.min(weeks - 1)
    }

    /// The log of the lot's sum at the end of `week`.
    #[inline]
    fn log_sum(&self, week: usize) -> f64 {
        if let Some(logs) = self.logs {
            return logs[week - self.from];
        }
        let before_week = self.season.before_week;
        let since = before_week[week + 1] - before_week[self.from];
        libm::log(self.degree_days + since)
    }

    /// The share of the plants that are not yet ready at the end of `week`.
    #[inline]
    fn share_after(&self, week: usize) -> f64 {
        let all = self.waiting.share(self.log_sum(week));
        if self.is_new {
            all
        } else if self.at_start > 0.0 {
            (all / self.at_start).min(1.0)
        } else {
            // With nothing left of the tail, all are ready at once.
            0.0
        }
    }

    /// The share of the plants that are not yet ready when `week` begins.
    #[inline]
    fn share_before(&self, week: usize) -> f64 {
        if week == self.from {
            1.0
        } else {
            self.share_after(week - 1)
        }
    }

    /// Hands over the weeks in which `plants` become ready and are not lost before.
    fn ripen(&mut self, plants: u32, stream: &mut Stream, mut ready: impl FnMut(usize, u32)) {
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
        let middle = self.middle;
        if plants <= SINGLY {
            let scale = self.mark_all(plants, stream);
            let sooner = self.ready_before(middle, plants, scale);
            self.sooner_singly(middle, sooner, plants, scale, |week, plants| {
                harvest(week, plants, stream);
            });
            self.later_singly(middle, sooner, plants, scale, |week, plants| {
                harvest(week, plants, stream);
            });
        } else {
            let share = self.share_before(middle);
            let sooner = binomial(stream, plants, 1.0 - share);
            self.sooner((middle, share), sooner, stream, &mut harvest);
            self.later((middle, share), plants - sooner, stream, &mut harvest);
        }
    }

    /// Plants that become ready before `week` begins, when a `share` is not ready, from the last to
    /// the first.
    fn sooner(
        &mut self,
        (mut week, mut share): (usize, f64),
        mut plants: u32,
        stream: &mut Stream,
        harvest: &mut impl FnMut(usize, u32, &mut Stream),
    ) {
        while plants > SINGLY_IN_TAIL {
            week -= 1;
            let before = self.share_before(week);
            let in_week = binomial(stream, plants, (before - share) / (1.0 - share));
            share = before;
            plants -= in_week;
            harvest(week, in_week, stream);
        }
        if plants > 0 {
            self.mark_between(share, 1.0, plants, stream);
            self.sooner_singly(week, plants, plants, Scale::Share, |week, plants| {
                harvest(week, plants, stream);
            });
        }
    }

    /// Plants that become ready from `week` on; when it begins a `share` is not ready.
    fn later(
        &mut self,
        (mut week, mut share): (usize, f64),
        mut plants: u32,
        stream: &mut Stream,
        harvest: &mut impl FnMut(usize, u32, &mut Stream),
    ) {
        let weeks = self.season.weeks();
        while plants > SINGLY_IN_TAIL && week < weeks {
            let after = self.share_after(week);
            let in_week = binomial(stream, plants, 1.0 - after / share);
            share = after;
            plants -= in_week;
            harvest(week, in_week, stream);
            week += 1;
        }
        if plants > 0 && week < weeks {
            self.mark_between(0.0, share, plants, stream);
            self.later_singly(week, 0, plants, Scale::Share, |week, plants| {
                harvest(week, plants, stream);
            });
        }
    }

    /// Marks plants of which nothing is known. The log of a new plant's sum is normal.
    fn mark_all(&mut self, plants: u32, stream: &mut Stream) -> Scale {
        match self.waiting.spread {
            Some((spread, _)) if self.is_new => {
                let log_median = self.waiting.log_median;
                self.mark(plants, || log_median + spread * normal(stream));
                Scale::LogSum
            }
            _ => {
                self.mark_between(0.0, 1.0, plants, stream);
                Scale::Share
            }
        }
    }

    /// Marks plants that are ready when the share not yet ready falls from `high` to `low`.
    fn mark_between(&mut self, low: f64, high: f64, plants: u32, stream: &mut Stream) {
        self.mark(plants, || -low - (high - low) * stream.uniform());
    }

    #[inline]
    fn mark(&mut self, plants: u32, mut mark: impl FnMut() -> f64) {
        let plants = plants as usize;
        for place in &mut self.marks[..plants] {
            *place = mark();
        }
        // Compared with the others, but never passed.
        self.marks[plants..plants.next_multiple_of(LANES)].fill(f64::INFINITY);
    }

    /// How many of the marked plants are ready at the end of `week`.
    #[inline]
    fn ready_after(&self, week: usize, plants: u32, scale: Scale) -> u32 {
        let passed = match scale {
            Scale::LogSum => self.log_sum(week),
            Scale::Share => -self.share_after(week),
        };
        let marks = &self.marks[..(plants as usize).next_multiple_of(LANES)];
        let mut counts = [0u64; LANES];
        for lane in marks.as_chunks::<LANES>().0 {
            for (count, mark) in counts.iter_mut().zip(lane) {
                *count = count.wrapping_add(u64::from(*mark < passed));
            }
        }
        counts.iter().sum::<u64>() as u32
    }

    #[inline]
    fn ready_before(&self, week: usize, plants: u32, scale: Scale) -> u32 {
        if week == self.from {
            0
        } else {
            self.ready_after(week - 1, plants, scale)
        }
    }

    /// The `sooner` of the marked plants that are ready before `week` begins.
    fn sooner_singly(
        &self,
        mut week: usize,
        mut sooner: u32,
        plants: u32,
        scale: Scale,
        mut harvest: impl FnMut(usize, u32),
    ) {
        while sooner > 0 {
            week -= 1;
            // Roundings of shares must not bring plants back.
            let still_sooner = self.ready_before(week, plants, scale).min(sooner);
            if sooner > still_sooner {
                harvest(week, sooner - still_sooner);
            }
            sooner = still_sooner;
        }
    }

    /// Those of the marked plants that are ready from `week` on, all but `sooner`.
    fn later_singly(
        &self,
        mut week: usize,
        mut sooner: u32,
        plants: u32,
        scale: Scale,
        mut harvest: impl FnMut(usize, u32),
    ) {
        while sooner < plants && week < self.season.weeks() {
            let ready = self.ready_after(week, plants, scale).max(sooner);
            if ready > sooner {
                harvest(week, ready - sooner);
            }
            sooner = ready;
            week += 1;
        }
    }
}

/// The first of so many for which it is true, and for all after it.
fn first(count: usize, is_true: impl Fn(usize) -> bool) -> usize {
    let (mut low, mut high) = (0, count);
    while low < high {
        let place = usize::midpoint(low, high);
        if is_true(place) {
            high = place;
        } else {
            low = place + 1;
        }
    }
    low
}

#[cfg(test)]
#[path = "growth_tests.rs"]
mod tests;
