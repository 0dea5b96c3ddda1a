//! Solves the linear model by way of a shorter one with the same best answer.
//!
//! Two thirds of the model's rows count how old plants are, and few of them bind. The shorter model
//! writes the running sums [`Column::Arrived`] out, which joins every `Arrivals` row to its `Stand`
//! row, and leaves most `OverAge` rows out until an answer breaks them. The broken ones are added and
//! the answer is mended by the simplex method from its corner. An answer of the shorter model that
//! breaks none is the best answer of the whole one: it meets every row, and leaving rows out can
//! only have raised the profit. It is given back with the sums and the duals of the whole model.

use std::collections::BTreeSet;

use solver::{
    Basis, ColumnId, ColumnValue, Columns, Method, Model, Options, RowId, RowValue, Solution,
    SolveError, Spot, Status,
};

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
/// anew and only takes the `OverAge` rows that bind there; any other method is left aside.
pub(crate) fn solve(net: &Net, lp: &Lp, options: &Options) -> Result<Solved, SolveError> {
    let matrix = lp.model.matrix()?;
    let mut short = Short::new(net, lp, &matrix);
    let mut options = options.clone();
    let start = options.start.and_then(|it| short.shorten(&it));
    options.start = start.filter(|_| options.method != Method::InteriorPoint);
    if options.start.is_none() {
        short.add_over_ages(&short.first_over_ages());
    }
    let (mut steps, mut seconds) = (0, 0.0);
    let time_limit_s = options.time_limit_s;
    loop {
        options.method = method(options.start.as_ref());
        options.time_limit_s = time_left(time_limit_s, seconds);
        let mut solution = short.model.solve(&options)?;
        steps += solution.iterations;
        seconds += solution.seconds;
        (solution.iterations, solution.seconds) = (steps, seconds);
        if !is_answer(&solution) {
            return Ok(Solved::Ended(solution.status));
        }
        let broken = short.broken(&solution);
        if broken.is_empty() {
            return Ok(Solved::Answered(short.lengthen(&solution)));
        }
        short.add_over_ages(&broken);
        options.start = solution.basis;
        if let Some(start) = &mut options.start {
            start.rows.extend(broken.iter().map(|_| Spot::BASIC));
        }
    }
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
pub(crate) struct Short<'a> {
    net: &'a Net<'a>,
    lp: &'a Lp,
    matrix: &'a Columns,
    /// Its numbers. Columns and rows may be added for rules that the whole model does not have.
    pub model: Model,
    /// By column of the whole model: where it is in the shorter; none for a running sum.
    column: Vec<Option<ColumnId>>,
    /// By row of the whole model: where it is in the shorter, an `Arrivals` row in its `Stand` row;
    /// none for an `OverAge` row.
    row: Vec<Option<RowId>>,
    /// By row of the whole model: what brings the plants of an `Arrivals` row, and how many each.
    brings: Vec<Vec<(ColumnId, f64)>>,
    /// The `OverAge` rows that the shorter model has, by stage and week; of a model that is to be
    /// lengthened they stand behind all its other rows.
    over_age: Vec<(usize, usize)>,
}

impl<'a> Short<'a> {
    pub fn new(net: &'a Net, lp: &'a Lp, matrix: &'a Columns) -> Self {
        let (columns, rows) = (lp.model.columns(), lp.model.rows());
        let mut short = Self {
            net,
            lp,
            matrix,
            model: Model::new(),
            column: vec![None; columns.len()],
            row: vec![None; rows.len()],
            brings: vec![Vec::new(); rows.len()],
            over_age: Vec::new(),
        };
        for (row, &id) in &lp.rows {
            if !matches!(row, Row::OverAge { .. } | Row::Arrivals { .. }) {
                short.row[id] = Some(short.model.add_row(rows[id].lower, rows[id].upper));
            }
        }
        short.join_arrivals();
        for (column, &id) in &lp.columns {
            if !matches!(column, Column::Arrived { .. }) {
                short.add_column(id);
            }
        }
        short
    }

    /// Where a column of the whole model is; none for a running sum.
    pub fn column_of(&self, column: Column) -> Option<ColumnId> {
        self.lp.columns.get(&column).and_then(|&id| self.column[id])
    }

    /// Lets every `Arrivals` row be read as its `Stand` row, and what stands arrive there.
    fn join_arrivals(&mut self) {
        for (stage, week, arrivals) in self.arrivals().collect::<Vec<_>>() {
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
        self.column[id] = Some(column);
        for (row, value) in self.matrix.of(id) {
            let Some(short) = self.row[row] else { continue };
            self.model.add_entry(short, column, value);
            self.brings[row].push((column, -value));
        }
    }

    /// Stage, week and row of the whole model of every `Arrivals` row.
    fn arrivals(&self) -> impl Iterator<Item = (usize, usize, RowId)> + '_ {
        self.lp.rows.iter().filter_map(|(row, &id)| match *row {
            Row::Arrivals { stage, week } => Some((stage, week, id)),
            _ => None,
        })
    }

    /// Stage, week and row of the whole model of every `OverAge` row.
    fn over_ages(&self) -> impl Iterator<Item = (usize, usize, RowId)> + '_ {
        self.lp.rows.iter().filter_map(|(row, &id)| match *row {
            Row::OverAge { stage, week } => Some((stage, week, id)),
            _ => None,
        })
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
        let is_first = |&(stage, week): &(usize, usize)| {
            let oldest = &self.net.oldest_kept[stage];
            let before = week.checked_sub(1).map_or(0, |it| oldest[it]);
            let outgrown = &self.net.arrivals[stage][before..oldest[week]];
            let age = week + 1 - oldest[week].min(week);
            outgrown.iter().any(|plants| *plants > 0.0)
                || (self.net.weeks - 1 - week).is_multiple_of((age / 4).max(1))
        };
        let has: BTreeSet<(usize, usize)> = self.over_age.iter().copied().collect();
        let all = self.over_ages().map(|(stage, week, _)| (stage, week));
        all.filter(|it| !has.contains(it))
            .filter(is_first)
            .collect()
    }

    /// The `OverAge` rows that an answer breaks and the shorter model does not have.
    pub fn broken(&self, solution: &Solution) -> Vec<(usize, usize)> {
        let arrived = self.arrived(solution);
        let has: BTreeSet<(usize, usize)> = self.over_age.iter().copied().collect();
        let value = |column| {
            let short = self.column[self.lp.columns[&column]];
            short.map_or(0.0, |it| solution.columns[it].value)
        };
        let breaks = |&(stage, week): &(usize, usize)| {
            let too_old = self.net.oldest_kept[stage][week];
            let young = arrived[stage][week + 1] - arrived[stage][too_old];
            value(Column::Left { stage, week }) > young + TOLERANCE
        };
        self.over_ages()
            .map(|(stage, week, _)| (stage, week))
            .filter(|it| !has.contains(it))
            .filter(breaks)
            .collect()
    }

    /// By stage and week: the plants that became ready before the week.
    fn arrived(&self, solution: &Solution) -> Vec<Vec<f64>> {
        let stages = self.net.case.stages.len();
        let mut arrived = vec![vec![0.0; self.net.weeks + 1]; stages];
        for (stage, week, row) in self.arrivals() {
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
        let values = self.values(solution);
        let duals = self.duals(solution);
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

    fn values(&self, solution: &Solution) -> Vec<ColumnValue> {
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
                (_, Some(short)) => values[id] = solution.columns[short],
                (_, None) => {}
            }
        }
        values
    }

    /// A plant that becomes ready counts where it stands and wherever its age is asked for.
    fn duals(&self, solution: &Solution) -> Vec<f64> {
        let dual = |row: RowId| solution.rows[row].dual;
        let mut duals: Vec<f64> = self.row.iter().map(|it| it.map_or(0.0, dual)).collect();
        let first = solution.rows.len() - self.over_age.len();
        for (position, &(stage, week)) in self.over_age.iter().enumerate() {
            let of_age = dual(first + position);
            duals[self.lp.rows[&Row::OverAge { stage, week }]] = of_age;
            for ready in self.net.oldest_kept[stage][week]..=week {
                let row = Row::Arrivals { stage, week: ready };
                duals[self.lp.rows[&row]] += of_age;
            }
        }
        duals
    }

    /// The corner in the whole model: its sums are basic, and so are the rows that are left out.
    fn lengthen_basis(&self, basis: &Basis) -> Basis {
        let spot = |of: &[Spot], at: Option<usize>| at.map_or(Spot::BASIC, |it| of[it]);
        let columns = self.column.iter().map(|&at| spot(&basis.columns, at));
        let mut rows: Vec<Spot> = self.row.iter().map(|&at| spot(&basis.rows, at)).collect();
        for (_, _, row) in self.arrivals() {
            rows[row] = Spot::LOWER;
        }
        let first = basis.rows.len() - self.over_age.len();
        for (position, &(stage, week)) in self.over_age.iter().enumerate() {
            rows[self.lp.rows[&Row::OverAge { stage, week }]] = basis.rows[first + position];
        }
        Basis {
            columns: columns.collect(),
            rows,
        }
    }

    /// The corner of an earlier answer in the shorter model, which is given the `OverAge` rows that
    /// bind there; none for a basis that is not of such an answer.
    pub fn shorten(&mut self, basis: &Basis) -> Option<Basis> {
        let fits = basis.columns.len() == self.column.len() && basis.rows.len() == self.row.len();
        let is_sum = |id: &usize| self.column[*id].is_none();
        let sums_are_basic = || {
            let mut sums = (0..self.column.len()).filter(is_sum);
            sums.all(|id| basis.columns[id] == Spot::BASIC)
                && self.arrivals().all(|it| basis.rows[it.2] != Spot::BASIC)
        };
        if !fits || !sums_are_basic() {
            return None;
        }
        let mut short = Basis {
            columns: vec![Spot::BASIC; self.model.columns().len()],
            rows: vec![Spot::BASIC; self.model.rows().len()],
        };
        for (&at, &spot) in self.column.iter().zip(&basis.columns) {
            if let Some(at) = at {
                short.columns[at] = spot;
            }
        }
        for (row, &id) in &self.lp.rows {
            if let (false, Some(at)) = (matches!(row, Row::Arrivals { .. }), self.row[id]) {
                short.rows[at] = basis.rows[id];
            }
        }
        let binding: Vec<(usize, usize, RowId)> = self
            .over_ages()
            .filter(|it| basis.rows[it.2] != Spot::BASIC)
            .collect();
        for (stage, week, id) in binding {
            self.add_over_age(stage, week);
            short.rows.push(basis.rows[id]);
        }
        Some(short)
    }
}
