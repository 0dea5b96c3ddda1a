//! Solves the linear model by way of a shorter one with the same best answer.
//!
//! Two thirds of the model's rows count how old plants are, and few of them bind. The shorter model
//! writes the running sums [`Column::Arrived`] out, which joins every `Arrivals` row to its `Stand`
//! row, and leaves most `OverAge` rows out until an answer breaks them. The broken ones are added and
//! the answer is mended by the simplex method from its corner. An answer of the shorter model that
//! breaks none is the best answer of the whole one: it meets every row, and leaving rows out can
//! only have raised the profit. It is given back with the sums and the duals of the whole model.
//!
//! A first run by the interior point has the model with fewer entries of [`lean`], whose answer is nearly that of the shorter
//! model: the simplex method always goes on from it.

use std::collections::BTreeSet;

use solver::{
    Basis, ColumnId, ColumnValue, Columns, Method, Model, Options, RowId, RowValue, Solution,
    SolveError, Spot, Status,
};

use super::lean::lean;
use super::runs::Runs;
use super::{Column, Lp, Row};
use crate::net::Net;

/// Plants left over age beyond this break their row; it is the solver's own tolerance.
const TOLERANCE: f64 = 1e-7;

/// What came of solving a model.
#[derive(Debug)]
pub(crate) enum Solved {
    /// The best answer, or one that is nearly so, in the columns and rows of the whole model; its
    /// seconds and steps are those of all runs that led to it.
    Answered(Solution),
    /// No answer, with how the run ended.
    Ended(Status),
}

/// Solves the model of a case. From an earlier corner it goes on, but for the interior point method, which begins
/// anew and only takes the `OverAge` rows that bind there. The primal simplex method, where asked for, is for the first run; rows
/// that are added after it are solved with by the dual one.
pub(crate) fn solve(net: &Net, lp: &Lp, options: &Options) -> Result<Solved, SolveError> {
    solve_with(net, lp, options, |_, _| false)
}

/// Solves the model of a case with the `OverAge` rows that are likely to bind, by stage and week.
pub(crate) fn solve_with(
    net: &Net,
    lp: &Lp,
    options: &Options,
    is_likely: impl Fn(usize, usize) -> bool,
) -> Result<Solved, SolveError> {
    let matrix = lp.model.matrix()?;
    let mut short = Short::new(net, lp, &matrix);
    let mut options = options.clone();
    let start = options.start.and_then(|it| short.shorten(&it));
    options.start = start.filter(|_| options.method != Method::InteriorPoint);
    if options.start.is_none() {
        short.add_over_ages(&short.first_over_ages());
        let likely = short.missing_over_ages(|&(stage, week)| is_likely(stage, week));
        short.add_over_ages(&likely);
    }
    Ok(match short.solve(options)? {
        Solved::Answered(solution) => Solved::Answered(short.lengthen(&solution)),
        ended @ Solved::Ended(_) => ended,
    })
}

/// Whether a run ended with values that can be read.
pub(crate) fn is_answer(solution: &Solution) -> bool {
    matches!(solution.status, Status::Optimal | Status::Inaccurate)
}

/// What is left of a time limit after so many seconds.
pub(crate) fn time_left(limit: Option<f64>, spent: f64) -> Option<f64> {
    limit.map(|limit| (limit - spent).max(0.0))
}

/// From nothing, the interior point with crossover is quickest and ends in a corner, which keeps
/// the number of different jobs low; from an earlier corner, the simplex is.
pub(crate) fn method(start: Option<&Basis>) -> Method {
    if start.is_some() {
        Method::Simplex
    } else {
        Method::InteriorPoint
    }
}

/// The shorter model, and how it stands to the whole one.
#[derive(Clone)]
pub(crate) struct Short<'a> {
    net: &'a Net<'a>,
    lp: &'a Lp,
    matrix: &'a Columns,
    /// Its numbers. Columns and rows may be added for rules that the whole model does not have.
    pub model: Model,
    /// The weeks in which a stage's plants stay the same.
    runs: Runs,
    /// By column of the whole model: where it is in the shorter, what is left in the weeks of a run in one
    /// place; none for a running sum and for what is zero.
    column: Vec<Option<ColumnId>>,
    /// By row of the whole model: where it is in the shorter, an `Arrivals` row in its `Stand` row;
    /// none for an `OverAge` row and for the weeks of a run after its first.
    row: Vec<Option<RowId>>,
    /// By row of the whole model: what brings the plants of an `Arrivals` row, and how many each.
    brings: Vec<Vec<(ColumnId, f64)>>,
    /// The `OverAge` rows that the shorter model has, by stage and week; of a model that is to be
    /// lengthened they stand behind all its other rows.
    over_age: Vec<(usize, usize)>,
    /// Stage, week and row of the whole model of every `Arrivals` row.
    arrivals: Vec<(usize, usize, RowId)>,
    /// The `OverAge` rows that can bind: in the weeks of a run the same plants are left, and the fewest of them are young
    /// in its last.
    over_ages: Vec<OverAge>,
}

/// An `OverAge` row of the whole model.
#[derive(Debug, Clone, Copy)]
struct OverAge {
    stage: usize,
    week: usize,
    /// Where it is there.
    row: RowId,
    /// What is left of the stage in the week, in the shorter model.
    left: Option<ColumnId>,
}

impl<'a> Short<'a> {
    /// The shorter model of what is not left out.
    pub fn new(net: &'a Net, lp: &'a Lp, matrix: &'a Columns) -> Self {
        Self::with_runs(net, lp, matrix, Runs::new(net, lp, matrix, false))
    }

    /// The shorter model with a column and a row for each week of a stage.
    pub fn apart(net: &'a Net, lp: &'a Lp, matrix: &'a Columns) -> Self {
        Self::with_runs(net, lp, matrix, Runs::new(net, lp, matrix, true))
    }

    fn with_runs(net: &'a Net, lp: &'a Lp, matrix: &'a Columns, runs: Runs) -> Self {
        let (columns, rows) = (lp.model.columns(), lp.model.rows());
        let mut short = Self {
            net,
            lp,
            matrix,
            model: Model::new(),
            runs,
            column: vec![None; columns.len()],
            row: vec![None; rows.len()],
            brings: vec![Vec::new(); rows.len()],
            over_age: Vec::new(),
            arrivals: arrivals(lp),
            over_ages: Vec::new(),
        };
        for (row, &id) in &lp.rows {
            let is_kept = match *row {
                Row::OverAge { .. } | Row::Arrivals { .. } => false,
                Row::Stand { stage, week } => short.runs.begins(stage, week),
                _ => true,
            };
            if is_kept {
                short.row[id] = Some(short.model.add_row(rows[id].lower, rows[id].upper));
            }
        }
        short.join_arrivals();
        for (&column, &id) in &lp.columns {
            match column {
                Column::Arrived { .. } => {}
                Column::Left { stage, week } => short.add_left(stage, week, id),
                Column::Discarded { stage, week } if !short.runs.throws(stage, week) => {}
                Column::Start { .. } | Column::Shipped { .. } | Column::Discarded { .. }
                    if lp.is_left_out(id) => {}
                _ => short.add_column(id),
            }
        }
        short.over_ages = short.over_ages_that_bind();
        short
    }

    /// Adds what is left of a stage in a week: to that of the weeks before, where the run is the same.
    fn add_left(&mut self, stage: usize, week: usize, id: ColumnId) {
        match self.runs.first(stage, week) {
            None => {}
            Some(first) if first == week => self.add_column(id),
            Some(first) => {
                let first = self.lp.columns[&Column::Left { stage, week: first }];
                if let Some(column) = self.column[first] {
                    let cost = self.lp.model.columns()[id].cost;
                    self.model.add_cost(column, cost);
                    self.add_entries(id, column);
                }
            }
        }
    }

    /// Where a column of the whole model is; none for a running sum.
    pub fn column_of(&self, column: Column) -> Option<ColumnId> {
        self.lp.columns.get(&column).and_then(|&id| self.column[id])
    }

    /// Lets every `Arrivals` row be read as its `Stand` row, and what stands arrive there.
    fn join_arrivals(&mut self) {
        for (stage, week, arrivals) in self.arrivals.clone() {
            let stand = self.row[self.lp.rows[&Row::Stand { stage, week }]];
            self.row[arrivals] = stand;
            if let Some(stand) = stand {
                let plants = self.net.arrivals[stage][week];
                self.model.set_row(stand, plants, plants);
            }
        }
    }

    fn add_column(&mut self, id: ColumnId) {
        let it = self.lp.model.columns()[id];
        let column = self.model.add_column(it.cost, it.lower, it.upper);
        self.add_entries(id, column);
    }

    /// Adds a column of the whole model to one of the shorter.
    fn add_entries(&mut self, id: ColumnId, column: ColumnId) {
        self.column[id] = Some(column);
        for (row, value) in self.matrix.of(id) {
            let Some(short) = self.row[row] else { continue };
            self.model.add_entry(short, column, value);
            self.brings[row].push((column, -value));
        }
    }

    fn over_ages_that_bind(&self) -> Vec<OverAge> {
        let rows = self.lp.rows.iter();
        let that_bind = rows.filter_map(|(row, &id)| match *row {
            Row::OverAge { stage, week } if self.runs.can_be_over_age(stage, week) => {
                Some(OverAge {
                    stage,
                    week,
                    row: id,
                    left: self.column_of(Column::Left { stage, week }),
                })
            }
            _ => None,
        });
        that_bind.collect()
    }

    /// The columns that it has, with what they mean.
    pub(super) fn columns(&self) -> Vec<(Column, ColumnId)> {
        let columns = self.lp.columns.iter();
        columns
            .filter_map(|(&it, &id)| Some((it, self.column[id]?)))
            .collect()
    }

    /// The rows that it has, with what they mean.
    pub(super) fn rows(&self) -> Vec<(Row, RowId)> {
        let rows = self.lp.rows.iter();
        let rows = rows.filter(|(row, _)| !matches!(row, Row::Arrivals { .. }));
        let rows = rows.filter_map(|(&row, &id)| Some((row, self.row[id]?)));
        let first = self.model.rows().len() - self.over_age.len();
        let over_age = self.over_age.iter().enumerate();
        let over_age =
            over_age.map(|(at, &(stage, week))| (Row::OverAge { stage, week }, first + at));
        rows.chain(over_age).collect()
    }

    /// Its best answer that breaks no row, in its own columns and rows. Rows that an answer breaks are added, and stay.
    pub fn solve(&mut self, mut options: Options) -> Result<Solved, SolveError> {
        let (mut steps, mut seconds, mut is_first) = (0, 0.0, true);
        let time_limit_s = options.time_limit_s;
        loop {
            options.method = match options.method {
                Method::PrimalSimplex if is_first && options.start.is_some() => {
                    Method::PrimalSimplex
                }
                _ => method(options.start.as_ref()),
            };
            let is_lean = is_first && options.method == Method::InteriorPoint;
            is_first = false;
            options.time_limit_s = time_left(time_limit_s, seconds);
            let mut solution = if is_lean {
                lean(self.net, self)?.solve(&options)?
            } else {
                self.model.solve(&options)?
            };
            steps += solution.iterations;
            seconds += solution.seconds;
            (solution.iterations, solution.seconds) = (steps, seconds);
            if !is_answer(&solution) {
                return Ok(Solved::Ended(solution.status));
            }
            let broken = self.broken(&solution);
            if broken.is_empty() && !is_lean {
                return Ok(Solved::Answered(solution));
            }
            self.add_over_ages(&broken);
            options.start = solution.basis.map(|it| self.with_added_rows(it));
        }
    }

    /// A corner with the rows that were added since, none of which binds there.
    pub fn with_added_rows(&self, mut basis: Basis) -> Basis {
        basis.rows.resize(self.model.rows().len(), Spot::BASIC);
        basis
    }

    pub fn add_over_ages(&mut self, broken: &[(usize, usize)]) {
        for &(stage, week) in broken {
            self.add_over_age(stage, week);
        }
    }

    /// What is left of a stage in a week is within what became ready in the weeks not yet too old.
    fn add_over_age(&mut self, stage: usize, week: usize) {
        let young = self.net.oldest_kept[stage][week]..week + 1;
        let standing = self.net.arrivals[stage][young.clone()].iter().sum();
        let row = self.model.add_row(f64::NEG_INFINITY, standing);
        if let Some(left) = self.column[self.lp.columns[&Column::Left { stage, week }]] {
            self.model.add_entry(row, left, 1.0);
        }
        for week in young {
            for &(column, plants) in &self.brings[self.lp.rows[&Row::Arrivals { stage, week }]] {
                self.model.add_entry(row, column, -plants);
            }
        }
        self.over_age.push((stage, week));
    }

    /// The `OverAge` rows to begin with that it does not have yet: of the weeks in which standing plants come over age, of the
    /// last week, and of weeks a quarter of an age apart before it. They keep any plant from being
    /// held for much longer than its age, which leaves few rows to break.
    pub fn first_over_ages(&self) -> Vec<(usize, usize)> {
        let is_first = |stage: usize, week: usize| {
            let oldest = &self.net.oldest_kept[stage];
            let before = week.checked_sub(1).map_or(0, |it| oldest[it]);
            let outgrown = &self.net.arrivals[stage][before..oldest[week]];
            let age = week + 1 - oldest[week].min(week);
            outgrown.iter().any(|plants| *plants > 0.0)
                || (self.net.weeks - 1 - week).is_multiple_of((age / 4).max(1))
        };
        let any_is_first = |&(stage, week): &(usize, usize)| {
            let first = self.runs.first(stage, week).unwrap_or(week);
            (first..=week).any(|week| is_first(stage, week))
        };
        self.missing_over_ages(any_is_first)
    }

    /// The `OverAge` rows for a look by periods: all of them by single weeks, which is the whole model; the first
    /// ones by longer periods, within which plants may be used before they are ready anyhow.
    pub(super) fn over_ages_to_look_by(&self, period: usize) -> Vec<(usize, usize)> {
        if period == 1 {
            self.missing_over_ages(|_| true)
        } else {
            self.first_over_ages()
        }
    }

    /// The `OverAge` rows of a kind that the shorter model does not have.
    fn missing_over_ages(&self, is_one: impl Fn(&(usize, usize)) -> bool) -> Vec<(usize, usize)> {
        let has: BTreeSet<(usize, usize)> = self.over_age.iter().copied().collect();
        let all = self.over_ages.iter().map(|it| (it.stage, it.week));
        all.filter(|it| !has.contains(it) && is_one(it)).collect()
    }

    /// The `OverAge` rows that an answer breaks and the shorter model does not have.
    pub fn broken(&self, solution: &Solution) -> Vec<(usize, usize)> {
        let arrived = self.arrived(solution);
        let breaks = |it: &&OverAge| {
            let too_old = self.net.oldest_kept[it.stage][it.week];
            let young = arrived[it.stage][it.week + 1] - arrived[it.stage][too_old];
            let left = it.left.map_or(0.0, |left| solution.columns[left].value);
            left > young + TOLERANCE
        };
        let has: BTreeSet<(usize, usize)> = self.over_age.iter().copied().collect();
        let broken = self.over_ages.iter().filter(breaks);
        let broken = broken.map(|it| (it.stage, it.week));
        broken.filter(|it| !has.contains(it)).collect()
    }

    /// By stage and week: the plants that became ready before the week.
    fn arrived(&self, solution: &Solution) -> Vec<Vec<f64>> {
        let stages = self.net.case.stages.len();
        let mut arrived = vec![vec![0.0; self.net.weeks + 1]; stages];
        for &(stage, week, row) in &self.arrivals {
            let started: f64 = self.brings[row]
                .iter()
                .map(|&(column, plants)| plants * solution.columns[column].value)
                .sum();
            arrived[stage][week + 1] =
                arrived[stage][week] + self.net.arrivals[stage][week] + started;
        }
        arrived
    }

    /// The whole model's answer from the shorter's.
    fn lengthen(&self, solution: &Solution) -> Solution {
        let duals = self.duals(solution);
        let values = self.values(solution, &duals);
        let mut activities = vec![0.0; duals.len()];
        for (id, at) in values.iter().enumerate() {
            for (row, entry) in self.matrix.of(id) {
                activities[row] += entry * at.value;
            }
        }
        Solution {
            columns: values,
            rows: activities
                .into_iter()
                .zip(duals)
                .map(|(activity, dual)| RowValue { activity, dual })
                .collect(),
            basis: solution.basis.as_ref().map(|it| self.lengthen_basis(it)),
            ..*solution
        }
    }

    fn values(&self, solution: &Solution, duals: &[f64]) -> Vec<ColumnValue> {
        let arrived = self.arrived(solution);
        let mut values = vec![
            ColumnValue {
                value: 0.0,
                reduced_cost: 0.0
            };
            self.column.len()
        ];
        for (column, &id) in &self.lp.columns {
            match (*column, self.column[id]) {
                (Column::Arrived { stage, week }, _) => values[id].value = arrived[stage][week + 1],
                (Column::Left { .. }, Some(short)) => {
                    values[id] = ColumnValue {
                        value: solution.columns[short].value,
                        reduced_cost: self.reduced_cost(id, duals),
                    };
                }
                (_, Some(short)) => values[id] = solution.columns[short],
                (_, None) => values[id].reduced_cost = self.reduced_cost(id, duals),
            }
        }
        values
    }

    /// Change of the cost per unit more of a column of the whole model.
    fn reduced_cost(&self, id: ColumnId, duals: &[f64]) -> f64 {
        let entries = self.matrix.of(id);
        let cost: f64 = entries.map(|(row, entry)| entry * duals[row]).sum();
        self.lp.model.columns()[id].cost - cost
    }

    /// A plant that becomes ready counts where it stands and wherever its age is asked for.
    fn duals(&self, solution: &Solution) -> Vec<f64> {
        let dual = |row: RowId| solution.rows[row].dual;
        let mut duals: Vec<f64> = self.row.iter().map(|it| it.map_or(0.0, dual)).collect();
        let first = solution.rows.len() - self.over_age.len();
        for (position, &(stage, week)) in self.over_age.iter().enumerate() {
            duals[self.lp.rows[&Row::OverAge { stage, week }]] = dual(first + position);
        }
        for stage in 0..self.net.case.stages.len() {
            self.stand_duals(stage, &mut duals);
        }
        for &(stage, week, row) in &self.arrivals {
            duals[row] = duals[self.lp.rows[&Row::Stand { stage, week }]];
        }
        for (position, &(stage, week)) in self.over_age.iter().enumerate() {
            for ready in self.net.oldest_kept[stage][week]..=week {
                let row = Row::Arrivals { stage, week: ready };
                duals[self.lp.rows[&row]] += dual(first + position);
            }
        }
        duals
    }

    /// The duals of a stage's `Stand` rows that the shorter model does not have. In a run a plant is worth
    /// what it was worth the week before and its wait; before the first run what it will be worth less its wait;
    /// nowhere less than it costs to throw it out.
    fn stand_duals(&self, stage: usize, duals: &mut [f64]) {
        let weeks = self.net.ready_weeks(stage);
        let stand = |week: usize| self.lp.rows[&Row::Stand { stage, week }];
        let left = |week: usize| self.lp.columns[&Column::Left { stage, week }];
        for week in weeks.clone() {
            if self.runs.first(stage, week).is_some_and(|it| it < week) {
                duals[stand(week)] = 0.0;
                duals[stand(week)] = -self.reduced_cost(left(week - 1), duals);
            }
        }
        let to_throw_out = |week: usize| {
            let id = self.lp.columns[&Column::Discarded { stage, week }];
            let is_free = self.column[id].is_none() && !self.lp.is_left_out(id);
            is_free.then(|| self.lp.model.columns()[id].cost)
        };
        for week in weeks.rev() {
            let row = stand(week);
            if self.runs.first(stage, week).is_none() {
                duals[row] = 0.0;
                duals[row] = self.reduced_cost(left(week), duals);
            }
            if let Some(cost) = to_throw_out(week) {
                duals[row] = duals[row].min(cost);
            }
        }
    }

    /// The corner in the whole model: its sums are basic, and so are the rows that are left out and what is
    /// left in the weeks of a run after its first.
    fn lengthen_basis(&self, basis: &Basis) -> Basis {
        let mut columns = vec![Spot::LOWER; self.column.len()];
        for (&column, &id) in &self.lp.columns {
            columns[id] = match (column, self.column[id]) {
                (Column::Left { stage, week }, _) if !self.runs.begins(stage, week) => Spot::BASIC,
                (Column::Arrived { .. }, _) => Spot::BASIC,
                (_, at) => at.map_or(Spot::LOWER, |it| basis.columns[it]),
            };
        }
        let at = |it: &Option<RowId>| it.map_or(Spot::BASIC, |it| basis.rows[it]);
        let mut rows: Vec<Spot> = self.row.iter().map(at).collect();
        for &(stage, week, row) in &self.arrivals {
            rows[row] = Spot::LOWER;
            if !self.runs.begins(stage, week) {
                rows[self.lp.rows[&Row::Stand { stage, week }]] = Spot::LOWER;
            }
        }
        let first = basis.rows.len() - self.over_age.len();
        for (position, &(stage, week)) in self.over_age.iter().enumerate() {
            rows[self.lp.rows[&Row::OverAge { stage, week }]] = basis.rows[first + position];
        }
        Basis { columns, rows }
    }

    /// The corner of an earlier answer in the shorter model, which is given the `OverAge` rows that
    /// bind there; none for a basis that is not of such an answer.
    pub fn shorten(&mut self, basis: &Basis) -> Option<Basis> {
        let fits = basis.columns.len() == self.column.len() && basis.rows.len() == self.row.len();
        let sums_are_basic = || {
            let mut sums = self.lp.columns.iter();
            sums.all(|(column, &id)| {
                !matches!(column, Column::Arrived { .. }) || basis.columns[id] == Spot::BASIC
            }) && self
                .arrivals
                .iter()
                .all(|it| basis.rows[it.2] != Spot::BASIC)
        };
        if !fits || !sums_are_basic() {
            return None;
        }
        let mut short = Basis {
            columns: vec![Spot::BASIC; self.model.columns().len()],
            rows: vec![Spot::BASIC; self.model.rows().len()],
        };
        for (&column, &id) in &self.lp.columns {
            let begins = match column {
                Column::Left { stage, week } => self.runs.begins(stage, week),
                _ => true,
            };
            if let (true, Some(at)) = (begins, self.column[id]) {
                short.columns[at] = basis.columns[id];
            }
        }
        for (row, &id) in &self.lp.rows {
            if let (false, Some(at)) = (matches!(row, Row::Arrivals { .. }), self.row[id]) {
                short.rows[at] = basis.rows[id];
            }
        }
        for it in self.over_ages.clone() {
            if basis.rows[it.row] != Spot::BASIC {
                self.add_over_age(it.stage, it.week);
                short.rows.push(basis.rows[it.row]);
            }
        }
        even_out(&mut short);
        Some(short)
    }
}

/// Stage, week and row of every `Arrivals` row.
fn arrivals(lp: &Lp) -> Vec<(usize, usize, RowId)> {
    let rows = lp.rows.iter();
    let arrivals = rows.filter_map(|(row, &id)| match *row {
        Row::Arrivals { stage, week } => Some((stage, week, id)),
        _ => None,
    });
    arrivals.collect()
}

/// A corner has as many basic columns and rows as there are rows. One that comes from a model with other runs
/// is brought to that number; the solver mends what else is wrong with it.
fn even_out(basis: &mut Basis) {
    let (columns, rows) = (&mut basis.columns, &mut basis.rows);
    let all = columns.iter().chain(rows.iter());
    let basic = all.filter(|it| **it == Spot::BASIC).count();
    let surplus = basic.saturating_sub(rows.len());
    let lack = rows.len().saturating_sub(basic);
    let held = columns.iter_mut().rev().filter(|it| **it == Spot::BASIC);
    held.take(surplus).for_each(|it| *it = Spot::LOWER);
    let loose = rows.iter_mut().rev().filter(|it| **it != Spot::BASIC);
    loose.take(lack).for_each(|it| *it = Spot::BASIC);
}
