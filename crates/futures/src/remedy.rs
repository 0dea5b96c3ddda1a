//! Remedies: operations that make up for what other operations lack.

use std::collections::BTreeMap;

use crate::case::{Case, JobName};
use crate::lowered::{open_weeks, rounded_up};

/// An operation that makes up for others.
#[derive(Debug)]
pub struct Remedy {
    /// The operation.
    operation: usize,
    /// Those that it makes up for, each once. Their last weeks lie before its first one.
    makes_up_for: Vec<usize>,
    /// Plants for each one that those lack.
    times: f64,
    /// How many it may do at most.
    plants: Option<u32>,
}

impl Remedy {
    /// The remedies of a case by the simulated week in which each may first be done. Within a week
    /// the earliest come first, so that one that makes up for another finds it settled.
    pub fn by_week(case: &Case) -> Vec<Vec<Self>> {
        let weeks = case.weeks as usize;
        let jobs = jobs_by_name(case);
        let mut remedies: Vec<(i32, Self)> = case
            .operations
            .iter()
            .enumerate()
            .filter(|(_, work)| !work.makes_up_for.is_empty())
            .map(|(operation, work)| {
                let names = work.makes_up_for.iter();
                let mut makes_up_for: Vec<_> =
                    names.flat_map(|name| &jobs[name]).copied().collect();
                makes_up_for.sort_unstable();
                makes_up_for.dedup();
                let remedy = Self {
                    operation,
                    makes_up_for,
                    times: work.times,
                    plants: work.plants,
                };
                (work.week, remedy)
            })
            .collect();
        remedies.sort_by_key(|(week, _)| *week);
        let mut table: Vec<Vec<Self>> = (0..weeks).map(|_| Vec::new()).collect();
        for (week, remedy) in remedies {
            if let Some(of_week) = table.get_mut(open_weeks(week, i32::MAX, weeks).start) {
                of_week.push(remedy);
            }
        }
        table
    }

    /// Sets how many plants are left to do for it, now that nothing more will be done of the
    /// operations that it makes up for.
    pub fn begin(&self, left_to_do: &mut [Option<u32>]) {
        let lacking = self.makes_up_for.iter().filter_map(|at| left_to_do[*at]);
        let lacking: u64 = lacking.map(u64::from).sum();
        let wanted = rounded_up(self.times * lacking as f64);
        left_to_do[self.operation] = Some(wanted.min(self.plants.unwrap_or(u32::MAX)));
    }
}

/// The places of the operations of each name and week.
pub fn jobs_by_name(case: &Case) -> BTreeMap<JobName, Vec<usize>> {
    let mut jobs = BTreeMap::<_, Vec<_>>::new();
    for (at, work) in case.operations.iter().enumerate() {
        let name = JobName {
            operation: work.operation.clone(),
            week: work.week,
        };
        jobs.entry(name).or_default().push(at);
    }
    jobs
}
