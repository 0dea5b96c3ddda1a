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
type GrowsAlike = (String, [u64; 2], usize, usize);

/// What becomes of starts.
pub struct Starts {
    purpose: Purpose,
    weeks: BTreeMap<GrowsAlike, Vec<f64>>,
    shares: BTreeMap<(GrowsAlike, [u64; 3]), Shares>,
}

impl Starts {
    /// None known yet.
    pub fn new(purpose: Purpose) -> Self {
        Self {
            purpose,
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
        if self.purpose == Purpose::Futures && step.ready_within_weeks.is_none() {
            return Some(Self::at_once(phase, week));
        }
        let spread = libm::hypot(phase.between_lots, phase.within_lot);
        let alike = [phase.degree_days, spread].map(f64::to_bits);
        let alike = (phase.climate.clone(), alike, group, week);
        let by_week = self
            .weeks
            .entry(alike.clone())
            .or_insert_with(|| fresh_weeks(phase, heat, kept, week));
        if !ready_in_time(by_week, step.ready_within_weeks) {
            return None;
        }
        if self.purpose == Purpose::Futures {
            return Some(Self::at_once(phase, week));
        }
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

/// Whether the mean plant is ready within the weeks a step allows.
fn ready_in_time(by_week: &[f64], within_weeks: Option<u32>) -> bool {
    let Some(most) = within_weeks else {
        return true;
    };
    let weeks = by_week.iter().enumerate();
    let weeks: f64 = weeks.map(|(week, share)| week as f64 * share).sum();
    weeks <= f64::from(most) * by_week.iter().sum::<f64>()
}
