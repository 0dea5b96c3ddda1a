//! What becomes of plants put through in a week, worked out once for all that grow alike.

use std::collections::BTreeMap;

use nursery::catalogue::Step;

use crate::arrivals::{Fraction, Shares, fresh_weeks, shared_out, totals};
use crate::model::{Phase, Start};

/// What a season is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// For a plan: what is started in a week becomes ready over the weeks after it.
    Plan,
    /// For futures alone, which grow their own plants: what is started is told as ready in the week after,
    /// so that costs can be worked out.
    Futures,
}

/// What tells one course of growing from another.
type GrowsAlike = (String, [u64; 2], usize);

/// The same, and which of the groups that are exposed alike.
type FaresAlike = (GrowsAlike, usize);

/// What becomes of starts.
pub struct Starts {
    purpose: Purpose,
    mean_weeks: BTreeMap<GrowsAlike, f64>,
    weeks: BTreeMap<FaresAlike, Vec<f64>>,
    shares: BTreeMap<(FaresAlike, [u64; 3]), Shares>,
}

impl Starts {
    /// None known yet.
    pub fn new(purpose: Purpose) -> Self {
        Self {
            purpose,
            mean_weeks: BTreeMap::new(),
            weeks: BTreeMap::new(),
            shares: BTreeMap::new(),
        }
    }

    /// A start in a week; none where its mean plant would not be ready within the weeks a step allows.
    pub fn start(
        &mut self,
        step: &Step,
        phase: &Phase,
        heat: &[Vec<f64>],
        (group, kept): (usize, &[Vec<f64>]),
        week: usize,
    ) -> Option<Start> {
        let spread = libm::hypot(phase.between_lots, phase.within_lot);
        let alike = [phase.degree_days, spread].map(f64::to_bits);
        let alike = (phase.climate.clone(), alike, week);
        if let Some(within) = step.ready_within_weeks {
            let mean_weeks = || mean_weeks(&fresh_weeks(phase, heat, &[], week));
            let known = self
                .mean_weeks
                .entry(alike.clone())
                .or_insert_with(mean_weeks);
            if *known > f64::from(within) {
                return None;
            }
        }
        if self.purpose == Purpose::Futures {
            return Some(Self::at_once(phase, week));
        }
        let alike = (alike, group);
        let by_week = self
            .weeks
            .entry(alike.clone())
            .or_insert_with(|| fresh_weeks(phase, heat, kept, week));
        let take = phase.split.as_ref().map_or(1.0, |split| split.share);
        let luck = libm::hypot(phase.shared_sd, phase.luck_sd);
        let numbers = [phase.survival, luck, take].map(f64::to_bits);
        let shared = || shared_out(phase, by_week);
        let known = self.shares.entry((alike, numbers)).or_insert_with(shared);
        let (ready, otherwise) = known.clone();
        Some(Start {
            week,
            ready,
            otherwise,
        })
    }

    fn at_once(phase: &Phase, week: usize) -> Start {
        let (ready, otherwise) = totals(phase);
        let part = |share: f64| {
            let part = Fraction { week: 1, share };
            (share > 0.0).then_some(part).into_iter().collect()
        };
        Start {
            week,
            ready: part(ready),
            otherwise: part(otherwise),
        }
    }
}

/// Weeks until the mean plant of those that live is ready, whatever frost takes.
fn mean_weeks(by_week: &[f64]) -> f64 {
    let weeks = by_week.iter().enumerate();
    weeks.map(|(week, share)| week as f64 * share).sum()
}
