//! Weeks of a stage in which nothing comes and nothing goes: what is left of it is the same all the while.

use solver::Columns;

use super::{Column, Lp, Row};
use crate::net::Net;

/// A season's weeks by stage, those in a row with the same plants left as one run.
#[derive(Clone)]
pub(super) struct Runs {
    /// By stage and week: the first week of its run; none before any plant can come or go.
    first: Vec<Vec<Option<usize>>>,
    /// By stage and week: whether plants may be thrown out.
    throws: Vec<Vec<bool>>,
    /// By stage and week: whether plants can come over age.
    outgrows: Vec<Vec<bool>>,
}

impl Runs {
    /// The runs of a model, by the columns that are not left out. Where they are to stay `apart`, each
    /// week is a run of its own.
    pub fn new(net: &Net, lp: &Lp, matrix: &Columns, apart: bool) -> Self {
        let mut throws = comes(net, lp, matrix);
        let outgrows = throws.iter().zip(&net.oldest_kept);
        let outgrows = outgrows.map(|(comes, oldest)| {
            let before = std::iter::once(&0).chain(oldest);
            let each = before.zip(oldest);
            each.map(|(&from, &to)| comes[from..to].contains(&true))
                .collect()
        });
        let outgrows = outgrows.collect();
        let mut moves = goes(net, lp, matrix);
        for it in &net.reserves {
            let Some(after) = it.week.map(|week| week + 1).filter(|it| *it < net.weeks) else {
                continue;
            };
            for &stage in &it.stages {
                throws[stage][after] = true;
            }
        }
        for (moves, throws) in moves.iter_mut().zip(&throws) {
            for (moves, throws) in moves.iter_mut().zip(throws) {
                *moves |= throws;
            }
        }
        let first = moves.iter().enumerate().map(|(stage, moves)| {
            let mut first = None;
            let run = |week: usize| {
                if !net.ready_weeks(stage).contains(&week) {
                    return None;
                }
                if apart || moves[week] {
                    first = Some(week);
                }
                first
            };
            (0..net.weeks).map(run).collect()
        });
        Self {
            first: first.collect(),
            throws,
            outgrows,
        }
    }

    /// The first week of a week's run; none where no plant can be.
    pub fn first(&self, stage: usize, week: usize) -> Option<usize> {
        self.first[stage][week]
    }

    /// Whether a run begins in a week.
    pub fn begins(&self, stage: usize, week: usize) -> bool {
        self.first[stage][week] == Some(week)
    }

    /// Whether a run ends in a week.
    pub fn ends(&self, stage: usize, week: usize) -> bool {
        let next = self.first[stage].get(week + 1);
        self.first[stage][week].is_some() && next.is_none_or(|it| *it == Some(week + 1))
    }

    /// Whether what is left in the last week of a run can be over age for having stood through the run: what is too
    /// old has gone by the first week in which it is, and does not come back.
    pub fn can_be_over_age(&self, stage: usize, last: usize) -> bool {
        let first = self.first[stage][last].unwrap_or(last);
        self.ends(stage, last) && self.outgrows[stage][first..=last].contains(&true)
    }

    /// Whether plants may be thrown out in a week: those that nothing wants go when they become ready, or after a
    /// reserve they were held for. To wait costs, and gains nothing.
    pub fn throws(&self, stage: usize, week: usize) -> bool {
        self.throws[stage][week]
    }
}

/// By stage and week: whether plants can become ready.
pub(super) fn comes(net: &Net, lp: &Lp, matrix: &Columns) -> Vec<Vec<bool>> {
    let standing = net.arrivals.iter();
    let mut comes: Vec<Vec<bool>> = standing
        .map(|weeks| weeks.iter().map(|plants| *plants > 0.0).collect())
        .collect();
    let mut reached = vec![None; lp.model.rows().len()];
    for (row, &id) in &lp.rows {
        if let Row::Arrivals { stage, week } = *row {
            reached[id] = Some((stage, week));
        }
    }
    mark(&mut comes, &reached, lp, matrix);
    comes
}

/// By stage and week: whether plants can be put through or shipped.
fn goes(net: &Net, lp: &Lp, matrix: &Columns) -> Vec<Vec<bool>> {
    let mut goes = vec![vec![false; net.weeks]; net.case.stages.len()];
    let mut reached = vec![None; lp.model.rows().len()];
    for (row, &id) in &lp.rows {
        if let Row::Stand { stage, week } = *row {
            reached[id] = Some((stage, week));
        }
    }
    mark(&mut goes, &reached, lp, matrix);
    goes
}

/// Marks what starts and shipments that are not left out reach, by row.
fn mark(marks: &mut [Vec<bool>], reached: &[Option<(usize, usize)>], lp: &Lp, matrix: &Columns) {
    for (column, &id) in &lp.columns {
        let moves = matches!(column, Column::Start { .. } | Column::Shipped { .. });
        if !moves || lp.is_left_out(id) {
            continue;
        }
        for (row, _) in matrix.of(id) {
            if let Some((stage, week)) = reached[row] {
                marks[stage][week] = true;
            }
        }
    }
}
