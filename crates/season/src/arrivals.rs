//! Mean arrivals: which share of a lot becomes ready in which week, averaged over weather, pace and
//! shared luck. The expectation of what the futures engine draws, in closed form where there is
//! one and by quadrature elsewhere.

use crate::model::{Known, Phase};

/// Weeks after the start (or from week 0, of standing lots) and the share of plants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fraction {
    /// Weeks after the start.
    pub week: usize,
    /// Share of the plants put through.
    pub share: f64,
}

/// Shares of a start: ready in the target, ready in the other stage.
pub type Shares = (Vec<Fraction>, Vec<Fraction>);

/// Shares below this part of all that live are joined to the next week's.
const LEAST_SHARE: f64 = 0.01;

/// Nodes of the quadrature over a standard normal, spread evenly over ±6 standard deviations: the
/// trapezoid rule on a smooth, fast falling function is exact to far below the other errors.
const NODES: usize = 81;

/// Mean share of a fresh lot that becomes ready by weeks after its start: [`fresh_weeks`] shared out.
pub fn fresh_arrivals(phase: &Phase, heat: &[Vec<f64>], kept: &[Vec<f64>], start: usize) -> Shares {
    shared_out(phase, &fresh_weeks(phase, heat, kept, start))
}

/// Mean share of the plants of a fresh lot that live that becomes ready, by weeks after its start.
///
/// # Equation
/// On one path, with D(s,t] the heat of weeks s+1 … t and pace and plant spread joined (the product
/// of the two lognormals of the futures model is lognormal with σ² = σ_b² + σ_w²),
/// F(t) = Φ((ln(D(s,t]/θ) + σ²/2)/σ), a step at θ where σ = 0. The share ready in week t is the
/// mean over paths of (F(t) − F(t−1))·Π k(u) over weeks u from s+1 to t, k(u) the share that frost and
/// heat of week u leave. [`shared_out`] multiplies it by the mean over shared luck z of μ(z)·q(z) (target) or
/// μ(z)·(1 − q(z)) (other stage), p(z) = logit⁻¹(logit p + σz), σ² the sum of the squares of all labels' sds.
///
/// # Inputs
/// | name | unit | shape |
/// |---|---|---|
/// | phase | degree-days, shares | one stage |
/// | heat | degree-days a week | by path, then by week, all of one length |
/// | kept | share of plants a week | by path, then by week as heat; empty where nothing is lost |
/// | start | week | within the series |
///
/// # Returns
/// Shares by weeks after the start (1 or more); what is not ready when the weather ends comes in the
/// week after it, so that nothing is lost to the horizon.
///
/// # Assumptions
/// Losses of plants that are ready and wait are not in it: the planner's stock knows none.
///
/// # Source
/// The futures model (docs/models/futures.md), points 2 and 4.
///
/// # Checked against
/// The futures engine's own arrivals (tests/agreement.rs).
pub fn fresh_weeks(phase: &Phase, heat: &[Vec<f64>], kept: &[Vec<f64>], start: usize) -> Vec<f64> {
    let length = heat.first().map_or(0, Vec::len);
    let spread = libm::hypot(phase.between_lots, phase.within_lot);
    let ripening = Ripening::new(phase.degree_days, spread);
    let mut by_week = vec![0.0; length.saturating_sub(start) + 1];
    for (index, path) in heat.iter().enumerate() {
        let mut sum = 0.0;
        let mut growing = 1.0;
        let mut alive = 1.0 / heat.len() as f64;
        for (after, week) in (start + 1..length).enumerate() {
            sum += path[week];
            alive *= kept_in(kept, index, week);
            let now = ripening.growing(sum);
            by_week[after + 1] += (growing - now) * alive;
            growing = now;
            if growing <= 0.0 {
                break;
            }
        }
        if let Some(last) = by_week.last_mut() {
            *last += growing * alive;
        }
    }
    by_week
}

/// Shares by week of the plants of a fresh lot that live, as shares of the plants put through: ready in
/// the target and in the other stage. See [`fresh_weeks`].
pub fn shared_out(phase: &Phase, by_week: &[f64]) -> Shares {
    split_shares(phase, phase.survival, by_week)
}

/// Mean shares of plants put through that are ready in the target and in the other stage, whenever.
pub fn totals(phase: &Phase) -> (f64, f64) {
    mean_split(phase, phase.survival)
}

/// Mean share of a standing lot's growing plants that becomes ready, by week from week 0.
///
/// # Equation
/// As the futures model: μ is raised to 1 − min(1, D₀/θ), then shared luck applies; for a pace λ,
/// the share ready in week t is (S(D₀ + D_{t−1}) − S(D₀ + D_t))/S(D₀), all in week 0 where S(D₀) is
/// 0, S(D) = Φ(−(ln(D/(θλ)) + σ_w²/2)/σ_w), times what frost and heat of weeks 0 … t leave; the mean
/// is over paths and over λ, lognormal with spread σ_b and mean 1. What is known of the lot by its own counts
/// takes the place of survival and pace.
///
/// # Inputs
/// | name | unit | shape |
/// |---|---|---|
/// | phase | degree-days, shares | one stage |
/// | heat | degree-days a week | by path, then by week |
/// | kept | share of plants a week | by path, then by week as heat; empty where nothing is lost |
/// | so_far | degree-days | since the lot entered |
/// | known | log scale, share | one lot |
///
/// # Returns
/// Shares of the growing plants; week 0 is the plan's first.
///
/// # Source
/// The futures model (docs/models/futures.md), point 4.
///
/// # Checked against
/// The futures engine's own arrivals (tests/agreement.rs).
pub fn standing_arrivals(
    phase: &Phase,
    heat: &[Vec<f64>],
    kept: &[Vec<f64>],
    so_far: f64,
    known: &Known,
) -> Shares {
    let length = heat.first().map_or(0, Vec::len);
    let mut by_week = vec![0.0; length + 1];
    let growing = Growing::of(phase, so_far, known);
    for (index, path) in heat.iter().enumerate() {
        let mut alive = 1.0 / heat.len() as f64;
        by_week[0] += (1.0 - growing.whole) * alive * kept_in(kept, index, 0);
        let (mut sum, mut left) = (so_far, growing.whole);
        for (week, heat) in path.iter().enumerate() {
            if left <= 0.0 {
                break;
            }
            sum += heat;
            alive *= kept_in(kept, index, week);
            let now = growing.at(sum);
            by_week[week] += alive * (left - now);
            left = now;
        }
        by_week[length] += alive * left;
    }
    let power = if phase.degree_days > 0.0 {
        1.0 - (so_far / phase.degree_days).min(1.0)
    } else {
        0.0
    };
    let survival = known
        .survival
        .unwrap_or_else(|| libm::pow(phase.survival, power));
    split_shares(phase, survival, &by_week)
}

/// The share of plants that the weather of a path's week leaves.
fn kept_in(kept: &[Vec<f64>], path: usize, week: usize) -> f64 {
    let of_path = kept.get(path);
    of_path
        .and_then(|weeks| weeks.get(week))
        .copied()
        .unwrap_or(1.0)
}

/// First weeks by which given shares of a standing lot's growing plants have become ready.
///
/// # Equation
/// With the S, λ and mean of [`standing_arrivals`], R(t) = 1 − mean S(D₀ + D_t)/S(D₀) is the share of
/// all that become ready by week t; it never falls, so that the first week with R(t) ≥ share is found
/// by halving. Survival and take are the same for every week and fall out.
///
/// # Inputs
/// | name | unit | shape |
/// |---|---|---|
/// | phase | degree-days, shares | one stage |
/// | sums | degree-days | by path, then by week: heat from week 0 to the end of the week |
/// | so_far | degree-days | since the lot entered |
/// | known | log scale | one lot |
/// | shares | shares of all that become ready | rising |
///
/// # Returns
/// Weeks from week 0; the week after the weather ends where a share is not reached in it.
///
/// # Source
/// The futures model (docs/models/futures.md), point 4.
///
/// # Checked against
/// [`standing_arrivals`], whose weeks are those of the season model (tests/season.rs).
pub fn weeks_of_shares<const N: usize>(
    phase: &Phase,
    sums: &[Vec<f64>],
    so_far: f64,
    known: &Known,
    shares: [f64; N],
) -> [usize; N] {
    let length = sums.first().map_or(0, Vec::len);
    let growing = Growing::of(phase, so_far, known);
    let mut known: Vec<Option<f64>> = vec![None; length];
    let mut earliest = 0;
    shares.map(|share| {
        let (mut from, mut until) = (earliest, length);
        while from < until {
            let week = usize::midpoint(from, until);
            let ready = *known[week].get_or_insert_with(|| ready_by(&growing, sums, so_far, week));
            if ready >= share {
                until = week;
            } else {
                from = week + 1;
            }
        }
        earliest = from;
        from
    })
}

/// A pace that a lot may have: how its plants become ready, the share growing at its heat so far, and
/// the weight.
struct Pace {
    ripening: Ripening,
    start: f64,
    weight: f64,
}

fn paces(phase: &Phase, so_far: f64, [mean, sd]: [f64; 2]) -> Vec<Pace> {
    let nodes = if sd > 0.0 {
        normal_nodes()
    } else {
        vec![(0.0, 1.0)]
    };
    let pace = |(z, weight): (f64, f64)| {
        let middle = phase.degree_days * libm::exp(sd.mul_add(z, mean));
        let ripening = Ripening::new(middle, phase.within_lot);
        Pace {
            ripening,
            start: ripening.growing(so_far),
            weight,
        }
    };
    nodes.into_iter().map(pace).collect()
}

/// R(t): the share of all that become ready that is ready by the end of a week.
fn ready_by(growing: &Growing, sums: &[Vec<f64>], so_far: f64, week: usize) -> f64 {
    let ready_at_once = 1.0 - growing.whole;
    let left: f64 = sums
        .iter()
        .map(|sums| growing.at(so_far + sums[week]))
        .sum();
    (1.0 - left / sums.len() as f64).max(ready_at_once)
}

/// The share still growing at a heat sum, of what grew at the heat so far, in the mean over paces: it
/// depends on the sum alone, so that it is worked out once and looked up for every path and week.
struct Growing {
    /// The share that is not ready at once.
    whole: f64,
    /// Of the middle plant of a lot of middle pace.
    degree_days: f64,
    /// Log of the sum over them, of the first value, and from one to the next.
    from: f64,
    step: f64,
    /// Empty where nothing spreads.
    values: Vec<f64>,
}

impl Growing {
    /// Values looked up between: the line between two lies within 0.001 of the curve.
    const VALUES: usize = 200;

    fn of(phase: &Phase, so_far: f64, known: &Known) -> Self {
        let usual = [
            -phase.between_lots * phase.between_lots / 2.0,
            phase.between_lots,
        ];
        let [mean, between] = known.pace.unwrap_or(usual);
        let paces = paces(phase, so_far, [mean, between]);
        let grows = paces.iter().filter(|pace| pace.start > 0.0);
        let within = phase.within_lot;
        let mut growing = Self {
            whole: grows.map(|pace| pace.weight).sum(),
            degree_days: phase.degree_days * libm::exp(mean),
            from: -9.0 * (within + between),
            step: 0.0,
            values: Vec::new(),
        };
        if growing.whole <= 0.0 || within + between <= 0.0 {
            return growing;
        }
        if so_far > 0.0 {
            growing.from = growing.from.max(libm::log(so_far / growing.degree_days));
        }
        // Beyond it hardly one plant in a billion grows, of the slowest lots too.
        let until = (6.0 * between + 9.0 * within).max(growing.from + 4.0 * within);
        growing.step = (until - growing.from) / (Self::VALUES - 1) as f64;
        let at = |value: usize| {
            let deviate = growing.step.mul_add(value as f64, growing.from);
            still_growing(&paces, growing.degree_days * libm::exp(deviate))
        };
        growing.values = (0..Self::VALUES).map(at).collect();
        growing
    }

    fn at(&self, sum: f64) -> f64 {
        if sum <= 0.0 || self.whole <= 0.0 {
            return self.whole;
        }
        if self.values.is_empty() {
            return if sum >= self.degree_days {
                0.0
            } else {
                self.whole
            };
        }
        let place = (libm::log(sum / self.degree_days) - self.from) / self.step;
        if place <= 0.0 {
            return self.whole;
        }
        let before = place as usize;
        match self.values.get(before..before + 2) {
            Some(&[low, high]) => low + (high - low) * (place - before as f64),
            _ => 0.0,
        }
    }
}

/// The share still growing at a heat sum, of what grew at the heat so far, over all paces.
fn still_growing(paces: &[Pace], sum: f64) -> f64 {
    paces
        .iter()
        .filter(|pace| pace.start > 0.0)
        .map(|pace| pace.weight * pace.ripening.growing(sum) / pace.start)
        .sum()
}

/// Turns shares ready by week into shares of the target and of the other stage.
fn split_shares(phase: &Phase, survival: f64, by_week: &[f64]) -> Shares {
    let (target, other) = mean_split(phase, survival);
    (joined(by_week, target), joined(by_week, other))
}

/// Means over shared luck of the shares that live and are ready in the target and in the other stage.
fn mean_split(phase: &Phase, survival: f64) -> (f64, f64) {
    let take = phase.split.as_ref().map_or(1.0, |split| split.share);
    let sd = libm::hypot(phase.shared_sd, phase.luck_sd);
    let nodes = if sd > 0.0 {
        normal_nodes()
    } else {
        vec![(0.0, 1.0)]
    };
    let (mut target, mut other) = (0.0, 0.0);
    for (z, weight) in nodes {
        let lives = moved(survival, sd * z);
        let takes = moved(take, sd * z);
        target += weight * lives * takes;
        other += weight * lives * (1.0 - takes);
    }
    (target, other)
}

/// Weeks with their shares, tiny ones joined to the next week so that a plan stays readable and
/// small; the total is kept.
fn joined(by_week: &[f64], total: f64) -> Vec<Fraction> {
    let mut fractions = Vec::new();
    let mut held = 0.0;
    for (week, share) in by_week.iter().enumerate() {
        held += share;
        if held >= LEAST_SHARE && total > 0.0 {
            fractions.push(Fraction {
                week,
                share: held * total,
            });
            held = 0.0;
        }
    }
    if let Some(last) = fractions.last_mut() {
        last.share += held * total;
    }
    fractions
}

/// How plants become ready as heat sums up: around a middle, with a spread of the log.
#[derive(Debug, Clone, Copy)]
struct Ripening {
    middle: f64,
    spread: f64,
    /// Below this sum all grow, from the other on none: the log and the error function are spared there.
    from: f64,
    until: f64,
}

/// Standard deviations beyond which the normal distribution holds less than the rounding of its sums.
const TAIL: f64 = 8.0;

impl Ripening {
    fn new(middle: f64, spread: f64) -> Self {
        let (middle, spread) = (middle.max(0.0), spread.max(0.0));
        let at = |deviate: f64| middle * libm::exp(spread * deviate - spread * spread / 2.0);
        Self {
            middle,
            spread,
            from: at(-TAIL),
            until: at(TAIL),
        }
    }

    /// S(D): share not yet ready at a heat sum.
    fn growing(&self, sum: f64) -> f64 {
        if self.middle <= 0.0 || sum >= self.until {
            return 0.0;
        }
        if sum <= 0.0 || sum < self.from {
            return 1.0;
        }
        let deviate =
            (libm::log(sum / self.middle) + self.spread * self.spread / 2.0) / self.spread;
        0.5 * libm::erfc(deviate / std::f64::consts::SQRT_2)
    }
}

/// A probability moved by shared luck on the log odds; 0 and 1 stay.
fn moved(probability: f64, by: f64) -> f64 {
    if probability <= 0.0 || probability >= 1.0 {
        return probability;
    }
    let odds = probability / (1.0 - probability) * libm::exp(by);
    odds / (1.0 + odds)
}

/// Deviates and weights of the quadrature; weights sum to 1.
fn normal_nodes() -> Vec<(f64, f64)> {
    let step = 12.0 / (NODES - 1) as f64;
    let raw: Vec<(f64, f64)> = (0..NODES)
        .map(|node| {
            let z = step.mul_add(node as f64, -6.0);
            (z, libm::exp(-z * z / 2.0))
        })
        .collect();
    let total: f64 = raw.iter().map(|(_, weight)| weight).sum();
    raw.into_iter()
        .map(|(z, weight)| (z, weight / total))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Fraction, fresh_arrivals, normal_nodes, standing_arrivals};
    use crate::model::{Known, Phase, Split};

    fn phase(degree_days: f64, spread: f64) -> Phase {
        Phase {
            degree_days,
            within_lot: spread,
            between_lots: 0.0,
            survival: 0.9,
            survival_rho: 0.0,
            shared_sd: 0.0,
            luck_sd: 0.0,
            split: None,
            climate: "open".to_owned(),
        }
    }

    #[test]
    fn without_spread_all_are_ready_in_the_week_the_heat_is_reached() {
        let heat = vec![vec![50.0; 10], vec![100.0; 10]];
        let (ready, other) = fresh_arrivals(&phase(200.0, 0.0), &heat, &[], 2);
        // 200 degree-days: 4 weeks at 50, 2 weeks at 100.
        assert_eq!(ready.len(), 2);
        assert_eq!((ready[0].week, ready[1].week), (2, 4));
        assert!((ready[0].share - 0.45).abs() < 1e-12 && (ready[1].share - 0.45).abs() < 1e-12);
        assert!(other.is_empty());
    }

    #[test]
    fn frost_thins_what_is_not_ready_yet_and_nothing_before_the_start() {
        let heat = vec![vec![50.0; 10]];
        let mut kept = vec![vec![1.0; 10]];
        kept[0][2] = 0.1;
        kept[0][4] = 0.5;
        kept[0][8] = 0.1;
        // Started in week 2, ready in week 6: only the frost of week 4 counts.
        let (ready, _) = fresh_arrivals(&phase(200.0, 0.0), &heat, &kept, 2);
        assert_eq!(ready.len(), 1);
        assert!((ready[0].share - 0.45).abs() < 1e-12, "{ready:?}");
        // Standing with 100 of 200: ready in week 1; survival is raised to one half.
        kept[0][0] = 0.5;
        let (ready, _) =
            standing_arrivals(&phase(200.0, 0.0), &heat, &kept, 100.0, &Known::default());
        assert!(
            (ready[0].share - 0.5 * 0.9_f64.sqrt()).abs() < 1e-12,
            "{ready:?}"
        );
    }

    #[test]
    fn missed_buds_come_in_the_other_stage() {
        let split = Some(Split {
            share: 0.8,
            rho: 0.1,
            otherwise: 7,
        });
        let phase = Phase {
            split,
            ..phase(200.0, 0.2)
        };
        let (ready, other) = fresh_arrivals(&phase, &[vec![60.0; 30]], &[], 0);
        let sum = |shares: &[Fraction]| shares.iter().map(|f| f.share).sum::<f64>();
        assert!((sum(&ready) - 0.72).abs() < 1e-12);
        assert!((sum(&other) - 0.18).abs() < 1e-12);
    }

    #[test]
    fn overdue_lots_are_ready_at_once_with_nothing_more_lost() {
        let (ready, _) = standing_arrivals(
            &phase(200.0, 0.1),
            &[vec![60.0; 30]],
            &[],
            500.0,
            &Known::default(),
        );
        assert_eq!(ready[0].week, 0);
        assert!((ready.iter().map(|f| f.share).sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn nodes_have_the_moments_of_a_standard_normal() {
        let moment = |k: i32| {
            normal_nodes()
                .iter()
                .map(|(z, w)| w * z.powi(k))
                .sum::<f64>()
        };
        assert!((moment(0) - 1.0).abs() < 1e-12);
        assert!((moment(2) - 1.0).abs() < 1e-6);
        assert!((moment(4) - 3.0).abs() < 1e-4);
    }
}
