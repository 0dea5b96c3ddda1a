//! A first workable answer, by rounding down week by week.
//!
//! A start made smaller leaves plants, hours and supplies over in its week and later; what later
//! starts lack of its plants they do without. So a week's starts can always be rounded down once the
//! weeks before are settled, and the rest is planned anew. What falls below its least is dropped.

use std::collections::BTreeMap;

use solver::{ColumnId, Options, Solution};

use super::Found;
use super::search::{Chosen, NearStart, Search};
use crate::plan::PlanError;

/// A start that lacks less than this of a whole plant has it, by rounding of the solver.
const NEARLY: f64 = 1e-6;

impl Search<'_> {
    /// The real plan rounded down to whole jobs; none where the run was stopped. The model is as before
    /// afterwards, but for rows of plants over age that were missing.
    pub fn rounded(&mut self, options: &Options) -> Result<Option<Chosen>, PlanError> {
        let columns = self.short.model.columns().to_vec();
        self.set_whole(&columns, false);
        let rounded = self.round_down(options)?;
        for (id, column) in columns.iter().enumerate() {
            self.short.model.set_column(id, column.lower, column.upper);
        }
        self.set_whole(&columns, true);
        Ok(rounded.map(|solution| self.chosen(&solution, Found::Rounded)))
    }

    fn set_whole(&mut self, columns: &[solver::Column], whole: bool) {
        for id in (0..columns.len()).filter(|&id| columns[id].whole) {
            self.short.model.set_whole(id, whole);
        }
    }

    fn round_down(&mut self, options: &Options) -> Result<Option<Solution>, PlanError> {
        let Some(mut solution) = self.relaxed(options)? else {
            return Ok(None);
        };
        let blocks: Vec<ColumnId> = self.blocks.iter().map(|it| it.1).collect();
        for id in blocks {
            let share = solution.columns[id].value.round();
            self.short.model.set_column(id, share, share);
        }
        let last = self.starts.iter().map(|it| it.week).max();
        for week in 0..last.map_or(0, |last| last + 1) {
            let Some(next) = self.settle(week, &solution, options)? else {
                return Ok(None);
            };
            solution = next;
        }
        self.relaxed(options)
    }

    /// Rounds a week's starts down and plans the rest anew.
    fn settle(
        &mut self,
        week: usize,
        solution: &Solution,
        options: &Options,
    ) -> Result<Option<Solution>, PlanError> {
        // Where rounding errors add up, what lacks a little of a whole plant does not have it.
        for nearly in [NEARLY, -NEARLY] {
            for (position, plants) in self.whole_of(week, solution, nearly) {
                self.fix(position, plants);
            }
            if let Some(solution) = self.relaxed(options)? {
                return Ok(Some(solution));
            }
        }
        Ok(None)
    }

    /// By position: a week's starts rounded down, those dropped that break a rule.
    fn whole_of(&self, week: usize, solution: &Solution, nearly: f64) -> BTreeMap<usize, f64> {
        let whole = |it: &NearStart| {
            let plants = solution.columns[it.plants].value;
            let plants = ((plants + nearly) / it.step).floor().max(0.0) * it.step;
            if plants < it.least { 0.0 } else { plants }
        };
        let of_week = self.starts.iter().enumerate();
        let of_week = of_week.filter(|(_, it)| it.week == week);
        let mut starts: Vec<(usize, f64)> = of_week.map(|(at, it)| (at, whole(it))).collect();
        if let Some(most) = self.most_jobs {
            starts.sort_by(|a, b| b.1.total_cmp(&a.1));
            for (_, plants) in starts.iter_mut().skip(most as usize) {
                *plants = 0.0;
            }
        }
        starts.into_iter().collect()
    }
}
