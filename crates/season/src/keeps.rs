//! What frost, heat and rare losses leave of the plants of each stage.

use std::collections::BTreeMap;

use nursery::Nursery;

use crate::exposure::{Exposed, Hazards, tissues};
use crate::model::StandingLot;
use crate::perils::kept_a_week;
use crate::sky::Sky;
use crate::stages::StageKey;

/// Weeks that losses of standing plants are told for.
const WEEKS_OF_YEAR: usize = 52;

/// What frost and heat leave of the stages, worked out once for all that are exposed alike.
pub struct Keeps {
    /// By stage, which of the groups it belongs to.
    group_of: Vec<usize>,
    /// By path and week, the share kept; empty where nothing is ever lost.
    groups: Vec<Vec<Vec<f64>>>,
    /// The same with the mean of total losses.
    planned: Vec<Vec<Vec<f64>>>,
}

impl Keeps {
    /// Of the stages in their order, for so many weeks.
    pub fn of<'a>(
        nursery: &Nursery,
        sky: &Sky<'_>,
        keys: impl Iterator<Item = &'a StageKey>,
        weeks: usize,
    ) -> Self {
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        let mut groups: Vec<Vec<Vec<f64>>> = Vec::new();
        let group_of = keys.map(|key| {
            let exposed = Exposed::of_stage(nursery, key);
            let tissues = tissues(nursery, &exposed);
            let name = format!("{} {tissues:?}", key.place);
            *known.entry(name).or_insert_with(|| {
                let hazards = Hazards::of(nursery, &exposed);
                let kept = sky.kept(&key.place, &hazards, weeks);
                let loses = kept.iter().flatten().any(|kept| *kept < 1.0);
                groups.push(if loses { kept } else { Vec::new() });
                groups.len() - 1
            })
        });
        let group_of = group_of.collect();
        let a_week = kept_a_week(&nursery.settings.luck);
        let planned = groups.iter().map(|kept| {
            let of_week = |path: usize, week: usize| {
                let of_path: Option<&Vec<f64>> = kept.get(path);
                of_path.map_or(1.0, |weeks| weeks[week]) * a_week
            };
            let of_path = |path| (0..weeks).map(|week| of_week(path, week)).collect();
            let loses = !kept.is_empty() || a_week < 1.0;
            let paths = if loses { sky.paths() } else { 0 };
            (0..paths).map(of_path).collect()
        });
        Self {
            planned: planned.collect(),
            group_of,
            groups,
        }
    }

    /// Of a stage: the group's number, and what is kept in the mean of the plan.
    pub fn of_stage(&self, stage: usize) -> (usize, &[Vec<f64>]) {
        let group = self.group_of[stage];
        (group, &self.planned[group])
    }

    /// What frost and heat cost, where they ever cost anything within the plan: how many of the plants that
    /// stand, if all stayed where and as they are for a year.
    pub fn warning(&self, standing: &[StandingLot], weeks: usize) -> Option<String> {
        let within = |path: &Vec<f64>| path.iter().take(weeks).any(|kept| *kept < 1.0);
        if !self.groups.iter().flatten().any(within) {
            return None;
        }
        let a_year = |kept: &[Vec<f64>]| {
            let left = kept
                .iter()
                .map(|path| path.iter().take(WEEKS_OF_YEAR).product::<f64>());
            1.0 - left.sum::<f64>() / kept.len().max(1) as f64
        };
        let lost_of_group: Vec<f64> = self
            .groups
            .iter()
            .map(|kept| if kept.is_empty() { 0.0 } else { a_year(kept) })
            .collect();
        let plants = |lot: &StandingLot| f64::from(lot.growing) + f64::from(lot.ready);
        let lost = |lot: &StandingLot| plants(lot) * lost_of_group[self.group_of[lot.stage]];
        let (lost, all) = (
            standing.iter().map(lost).sum::<f64>(),
            standing.iter().map(plants).sum::<f64>(),
        );
        Some(format!(
            "Frost and heat cost plants: in the mean of the weather to come about {lost:.0} of the {all:.0} that \
             stand, if all stayed as they are for a year. The plan takes mean losses off plants that grow, none \
             off ready ones; the odds take them off both, frost by frost. The rates are from memory, no \
             published ones were found."
        ))
    }

    /// The groups that ever lose plants, each with its stages.
    pub fn losses(&self) -> Vec<(Vec<usize>, &[Vec<f64>])> {
        let stages = |group: usize| {
            let all = self.group_of.iter().enumerate();
            all.filter(move |(_, it)| **it == group)
                .map(|(stage, _)| stage)
        };
        let groups = self.groups.iter().enumerate();
        groups
            .filter(|(_, kept)| !kept.is_empty())
            .map(|(group, kept)| (stages(group).collect(), kept.as_slice()))
            .collect()
    }
}
