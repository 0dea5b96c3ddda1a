//! Which starts, shipments and discards of a large case are worth weighing: those that a plan by periods of weeks would use.
//!
//! The model by periods follows from the whole one by two rules. What is done in a period is done
//! evenly in all its weeks, so the columns of its weeks become one. What holds in each of its weeks
//! is asked for in their sum only, so the rows become one. Its answer is no plan, for within a
//! period plants may be used before they are ready; but it tells well where a plan puts its work.

use std::collections::{BTreeMap, BTreeSet};

use solver::{ColumnId, Columns, Method, Model, Options, RowId, Solution, SolveError, Status};

use super::lean::lean;
use super::runs::comes;
use super::short::solve_with;
use super::short::{Short, is_answer, time_left};
use super::{Column, Lp, Row, Solved, solve};
use crate::net::{Net, NetStart};

/// Fewer plants are not taken as a use of a period, or as a line gone short.
const FEW: f64 = 1e-6;

/// A line that would lose less than this share of its price by each plant it lacks may well go short
/// in a plan by weeks.
const NEARLY_SHORT: f64 = 0.25;

/// So many columns are added to an answer's corner at most.
const FEW_COLUMNS: usize = 500;

/// A season of more starts has fewer of them weighed, and what it then lacks is not looked for anew: minutes for a
/// few thousandths of the profit. Own rule, between the demo and the made season of `benches/large.rs`.
const VERY_MANY_STARTS: usize = 50_000;

/// Of the starts on the way to lines that go short those in one week of so many are weighed. Own rule, found on the demo: the others
/// took a third of the time and brought a third of a percent.
const WEEKS_TO_SHORT_LINES: usize = 4;

/// A start left out that would earn less than this with each plant is not missed, money.
const GAIN: f64 = 1e-3;

/// A shipment that would lose less than this share of its price by each plant is weighed as if it were used.
const NEARLY_SHIPPED: f64 = 0.002;

/// Solves the model with the columns that are worth weighing; tells which were left out.
///
/// Weighed are the starts of the first period, those of the plan before, those within a third of a period of one
/// that the plan by periods uses (with very many, those in it), and in some weeks all on the way to order lines that go
/// short: why they do is read from the prices of what would have served them. A line that goes short unforeseen has its starts weighed
/// in a second run, but where they are many of very many. Where the second finds nothing in the time there is, the first
/// one's plan stands.
pub(crate) fn solve_by_periods(
    net: &Net,
    lp: &mut Lp,
    period: usize,
    options: &Options,
) -> Result<(Solved, BTreeSet<Column>), SolveError> {
    let matrix = lp.model.matrix()?;
    let mut short = Short::apart(net, lp, &matrix);
    short.add_over_ages(&short.over_ages_to_look_by(period));
    let by_period = ByPeriod::new(net, &short, period)?;
    let look = by_period.model.solve(&Options {
        method: Method::InteriorPoint,
        start: None,
        ..options.clone()
    })?;
    if !is_answer(&look) {
        return Ok((Solved::Ended(look.status), BTreeSet::new()));
    }
    let mut left_out = by_period.unused(net, lp, &look);
    let foreseen = by_period.short(net, &look);
    let leading = leading_to(net, lp, &foreseen);
    let is_weighed = |column: &Column| leading.contains(column) && !is_between(net, *column);
    left_out.retain(|column| !is_weighed(column));
    lp.leave_out(&left_out);
    let discards = by_period.idle_discards(net, lp, &matrix, &look);
    left_out.extend(discards);
    let looked = Looked {
        left_out,
        foreseen,
        seconds: look.seconds,
    };
    let at_age = by_period.at_age(&look);
    let is_likely = |stage: usize, week: usize| {
        let mut periods = by_period.near(week, period);
        periods.any(|it| at_age.contains(&(stage, it)))
    };
    let run = |lp: &Lp, options: &Options| solve_with(net, lp, options, is_likely);
    solve_weighed(net, lp, looked, options, run)
}

/// What a look by periods tells.
struct Looked {
    /// What is not worth weighing.
    left_out: BTreeSet<Column>,
    /// The order lines that go short in it, or nearly.
    foreseen: Vec<usize>,
    /// Seconds that it took in the solver.
    seconds: f64,
}

/// Solves the model without the starts that an earlier plan left out, but for those of the plan before; tells which the model has
/// of them.
pub(crate) fn solve_without(
    net: &Net,
    lp: &mut Lp,
    starts: &BTreeSet<Column>,
    options: &Options,
) -> Result<(Solved, BTreeSet<Column>), SolveError> {
    let is_left_out = |it: &&Column| lp.columns.contains_key(it) && !was_before(net, **it);
    let left_out: BTreeSet<Column> = starts.iter().filter(is_left_out).copied().collect();
    lp.leave_out(&left_out);
    Ok((solve(net, lp, options)?, left_out))
}

/// Whether a column is a start of the plan before.
fn was_before(net: &Net, column: Column) -> bool {
    match column {
        Column::Start { operation, start } => {
            net.operations[operation].starts[start].before.is_some()
        }
        _ => false,
    }
}

/// Solves the model without the starts left out, and again with those of lines gone short unforeseen. The look has spent
/// some of the options' seconds.
fn solve_weighed(
    net: &Net,
    lp: &mut Lp,
    looked: Looked,
    options: &Options,
    run: impl Fn(&Lp, &Options) -> Result<Solved, SolveError>,
) -> Result<(Solved, BTreeSet<Column>), SolveError> {
    let Looked {
        mut left_out,
        foreseen,
        mut seconds,
    } = looked;
    lp.leave_out(&left_out);
    let mut options = options.clone();
    let time_limit_s = options.time_limit_s;
    let mut before: Option<Before> = None;
    loop {
        options.time_limit_s = time_left(time_limit_s, seconds);
        let mut solution = match (run(lp, &options)?, before) {
            (Solved::Answered(solution), _) => solution,
            (Solved::Ended(status), Some(before)) if status != Status::Stopped => {
                lp.leave_out(&before.missing);
                left_out.extend(before.missing);
                return Ok((Solved::Answered(before.solution), left_out));
            }
            (Solved::Ended(status), _) => return Ok((Solved::Ended(status), left_out)),
        };
        seconds += solution.seconds;
        solution.seconds = seconds;
        let lacks = |&order: &usize| solution.columns[lp.columns[&Column::Short { order }]].value;
        let unforeseen = (0..net.orders.len()).filter(|it| !foreseen.contains(it));
        let short: Vec<usize> = unforeseen.filter(|it| lacks(it) > FEW).collect();
        let mut missing = leading_to(net, lp, &short);
        let gains = |column: &Column| solution.columns[lp.columns[column]].reduced_cost < -GAIN;
        missing.retain(|column| left_out.contains(column) && gains(column));
        if missing.is_empty() || (missing.len() > FEW_COLUMNS && has_very_many(net, lp)) {
            return Ok((Solved::Answered(solution), left_out));
        }
        left_out.retain(|column| !missing.contains(column));
        let thrown_out = discards_of(net, &missing);
        missing.extend(thrown_out.into_iter().filter(|it| left_out.remove(it)));
        lp.weigh(&missing);
        // More columns leave the corner possible; many of them are weighed sooner from nothing.
        (options.start, options.method) = if missing.len() <= FEW_COLUMNS {
            (solution.basis.clone(), Method::PrimalSimplex)
        } else {
            (None, Method::Choose)
        };
        before = Some(Before { solution, missing });
    }
}

/// The discards in the weeks in which plants of starts become ready.
fn discards_of(net: &Net, starts: &BTreeSet<Column>) -> BTreeSet<Column> {
    let ready = starts.iter().flat_map(|&column| match column {
        Column::Start { operation, start } => &net.operations[operation].starts[start].ready[..],
        _ => &[],
    });
    let discards = ready.map(|it| Column::Discarded {
        stage: it.stage,
        week: it.week,
    });
    discards.collect()
}

/// A whole answer that a further run may better, and the starts that it did not weigh.
struct Before {
    solution: Solution,
    missing: BTreeSet<Column>,
}

/// Whether a start is in none of the weeks in which those on the way to lines gone short are weighed: the first of each row of
/// weeks in which its operation may start, and every fourth after it.
fn is_between(net: &Net, column: Column) -> bool {
    let Column::Start { operation, start } = column else {
        return false;
    };
    let starts = &net.operations[operation].starts[..=start];
    let row = starts.windows(2).rev();
    let row = row.take_while(|pair| pair[0].week + 1 == pair[1].week);
    !row.count().is_multiple_of(WEEKS_TO_SHORT_LINES)
}

/// The starts on the way to order lines, and the shipments to them.
fn leading_to(net: &Net, lp: &Lp, lines: &[usize]) -> BTreeSet<Column> {
    let useful = useful_weeks(net, lines);
    let starts = starts(net, lp)
        .filter(|(.., start)| is_useful(&useful, start))
        .map(|(column, ..)| column);
    let shipments = lp.columns.keys().filter(|column| match column {
        Column::Shipped { order, .. } => lines.contains(order),
        _ => false,
    });
    starts.chain(shipments.copied()).collect()
}

fn has_very_many(net: &Net, lp: &Lp) -> bool {
    starts(net, lp).nth(VERY_MANY_STARTS).is_some()
}

/// The columns of starts: column, operation and start.
fn starts<'a>(net: &'a Net, lp: &'a Lp) -> impl Iterator<Item = (Column, usize, &'a NetStart)> {
    lp.columns.keys().filter_map(|&column| match column {
        Column::Start { operation, start } => {
            Some((column, operation, &net.operations[operation].starts[start]))
        }
        _ => None,
    })
}

/// The model by periods and where its columns are: those of a period's weeks under the period's
/// number, the starts of an operation under that number in place of their position.
struct ByPeriod {
    weeks: usize,
    model: Model,
    columns: BTreeMap<Column, ColumnId>,
    /// Where its `OverAge` rows are, by stage and period.
    over_age: BTreeMap<(usize, usize), RowId>,
}

impl ByPeriod {
    fn new(net: &Net, short: &Short, period: usize) -> Result<Self, SolveError> {
        let mut by_period = Self {
            weeks: period,
            model: Model::new(),
            columns: BTreeMap::new(),
            over_age: BTreeMap::new(),
        };
        let model = lean(net, short)?;
        let row_of = by_period.add_rows(net, &model, short.rows());
        let matrix = model.matrix()?;
        let mut joined: BTreeMap<Column, Vec<ColumnId>> = BTreeMap::new();
        for (column, id) in short.columns() {
            let key = column_of_period(net, column, period);
            joined.entry(key).or_default().push(id);
        }
        for (key, ids) in joined {
            let at = by_period.add_column(&model, &ids);
            by_period.columns.insert(key, at);
            for (row, value) in ids.iter().flat_map(|&id| matrix.of(id)) {
                by_period.model.add_entry(row_of[row], at, value);
            }
        }
        Ok(by_period)
    }

    /// Adds the rows as sums; gives, by row of the model of weeks, where it went.
    fn add_rows(&mut self, net: &Net, of_weeks: &Model, all: Vec<(Row, RowId)>) -> Vec<RowId> {
        let mut rows: BTreeMap<Row, RowId> = BTreeMap::new();
        let mut row_of = vec![0; of_weeks.rows().len()];
        for (row, id) in all {
            let one = of_weeks.rows()[id];
            let at = *rows
                .entry(row_of_period(net, row, self.weeks))
                .or_insert_with(|| self.model.add_row(0.0, 0.0));
            let sum = self.model.rows()[at];
            self.model
                .set_row(at, sum.lower + one.lower, sum.upper + one.upper);
            row_of[id] = at;
            if let Row::OverAge { stage, week } = row {
                self.over_age.insert((stage, week / self.weeks), at);
            }
        }
        row_of
    }

    /// Adds the sum of columns of the model of weeks; its value is that of each.
    fn add_column(&mut self, of_weeks: &Model, ids: &[ColumnId]) -> ColumnId {
        let all = of_weeks.columns();
        let sum = |value: fn(&solver::Column) -> f64| -> f64 {
            ids.iter().map(|&id| value(&all[id])).sum()
        };
        let count = ids.len() as f64;
        self.model.add_column(
            sum(|it| it.cost),
            sum(|it| it.lower) / count,
            sum(|it| it.upper) / count,
        )
    }

    /// Stages and periods in which plants are left until they are over age.
    fn at_age(&self, look: &Solution) -> BTreeSet<(usize, usize)> {
        let rows = self.over_age.iter();
        let binding = rows.filter(|&(_, &row)| look.rows[row].dual.abs() > FEW);
        binding.map(|(&it, _)| it).collect()
    }

    /// The shipments, and the starts that the plan before did not have, after the first period that are not near a use.
    fn unused(&self, net: &Net, lp: &Lp, look: &Solution) -> BTreeSet<Column> {
        let first = self.near_weeks(net);
        let within = if has_very_many(net, lp) {
            0
        } else {
            self.weeks / 3
        };
        let is_unused = |column: &Column| match *column {
            Column::Start { operation, start } => {
                let it = &net.operations[operation].starts[start];
                let week = it.week;
                let is_used = |period: usize| {
                    let start = period;
                    self.value(look, Column::Start { operation, start }) > FEW
                };
                let is_free = week >= self.weeks && it.before.is_none();
                is_free && !self.near(week, within).any(is_used)
            }
            Column::Shipped {
                order,
                accept,
                week,
            } => {
                let nearly = NEARLY_SHIPPED * net.orders[order].accepts[accept].1;
                let is_used = |week: usize| {
                    let column = Column::Shipped {
                        order,
                        accept,
                        week,
                    };
                    let at = self.columns.get(&column).map(|&it| look.columns[it]);
                    at.is_some_and(|it| {
                        it.value > FEW || it.reduced_cost < nearly * self.weeks as f64
                    })
                };
                week >= first && !self.near(week, self.weeks / 3).any(is_used)
            }
            _ => false,
        };
        lp.columns.keys().copied().filter(is_unused).collect()
    }

    /// The weeks in which a stage throws nothing out in the look, after the first ones. What becomes ready in a
    /// period may still be thrown out in the last week of it in which any does, what stands in the week in which it
    /// becomes ready, and what was held in the week after: a plan has to exist.
    fn idle_discards(
        &self,
        net: &Net,
        lp: &Lp,
        matrix: &Columns,
        look: &Solution,
    ) -> BTreeSet<Column> {
        let comes = comes(net, lp, matrix);
        let first = self.near_weeks(net);
        let held: BTreeSet<(usize, usize)> = net
            .reserves
            .iter()
            .flat_map(|it| {
                let after = it.week.map(|week| week + 1);
                it.stages
                    .iter()
                    .filter_map(move |&stage| Some((stage, after?)))
            })
            .collect();
        let is_idle = |column: &Column| {
            let Column::Discarded { stage, week } = *column else {
                return false;
            };
            let is_used = |week: usize| self.value(look, Column::Discarded { stage, week }) > FEW;
            let end = net.weeks.min((week / self.weeks + 1) * self.weeks);
            let is_last = comes[stage][week] && !comes[stage][week + 1..end].contains(&true);
            let keeps = net.last_use(stage, week) - week >= self.weeks;
            let stands = net.arrivals[stage][week] > 0.0;
            let was_held = held.contains(&(stage, week));
            week >= first
                && keeps
                && !is_last
                && !stands
                && !was_held
                && !self.near(week, self.weeks / 3).any(is_used)
        };
        lp.columns.keys().copied().filter(is_idle).collect()
    }

    /// The first weeks, in which every shipment and discard is weighed.
    fn near_weeks(&self, net: &Net) -> usize {
        self.weeks.max(net.case.near_weeks())
    }

    /// The periods within so many weeks of a week.
    fn near(&self, week: usize, within: usize) -> std::ops::RangeInclusive<usize> {
        week.saturating_sub(within) / self.weeks..=(week + within) / self.weeks
    }

    /// The order lines that go short, or nearly.
    fn short(&self, net: &Net, look: &Solution) -> Vec<usize> {
        let price = |order: usize| {
            let accepts = &net.orders[order].accepts;
            accepts.iter().map(|it| it.1).fold(0.0, f64::max)
        };
        (0..net.orders.len())
            .filter(|&order| {
                let lacks = look.columns[self.columns[&Column::Short { order }]];
                lacks.value > FEW || lacks.reduced_cost < NEARLY_SHORT * price(order)
            })
            .collect()
    }

    fn value(&self, solution: &Solution, column: Column) -> f64 {
        let at = self.columns.get(&column);
        at.map_or(0.0, |&it| solution.columns[it].value)
    }
}

fn column_of_period(net: &Net, mut column: Column, period: usize) -> Column {
    match &mut column {
        Column::Start { operation, start } | Column::Changed { operation, start } => {
            *start = net.operations[*operation].starts[*start].week / period;
        }
        Column::Arrived { week, .. }
        | Column::Left { week, .. }
        | Column::Discarded { week, .. }
        | Column::Growing { week, .. }
        | Column::Excess { week, .. }
        | Column::Hired { week, .. }
        | Column::Lent { week, .. }
        | Column::FromBatch { week, .. }
        | Column::Bought { week, .. }
        | Column::Shipped { week, .. } => *week /= period,
        Column::Short { .. } | Column::Held { .. } | Column::Behind { .. } => {}
    }
    column
}

fn row_of_period(net: &Net, mut row: Row, period: usize) -> Row {
    match &mut row {
        Row::More { operation, start } | Row::Fewer { operation, start } => {
            *start = net.operations[*operation].starts[*start].week / period;
        }
        Row::Arrivals { week, .. }
        | Row::Stand { week, .. }
        | Row::OverAge { week, .. }
        | Row::Growing { week, .. }
        | Row::Area { week, .. }
        | Row::Hours { week, .. }
        | Row::Supply { week, .. } => *week /= period,
        Row::Batch { .. } | Row::Line { .. } | Row::Reserve { .. } => {}
    }
    row
}

/// By stage and week: whether plants that become ready then may end in one of these order lines.
fn useful_weeks(net: &Net, orders: &[usize]) -> Vec<Vec<bool>> {
    let mut useful = vec![vec![false; net.weeks]; net.case.stages.len()];
    for line in orders.iter().map(|&order| &net.orders[order]) {
        for &(stage, _) in &line.accepts {
            for (week, is_useful) in useful[stage][..line.weeks.end].iter_mut().enumerate() {
                *is_useful |= net.last_use(stage, week) >= line.weeks.start;
            }
        }
    }
    while mark_sources(net, &mut useful) {}
    useful
}

/// Marks the weeks from which a useful start can take its plants; tells whether any is new.
fn mark_sources(net: &Net, useful: &mut [Vec<bool>]) -> bool {
    let mut is_new = false;
    for operation in &net.operations {
        let Some(from) = operation.from else { continue };
        for start in &operation.starts {
            if !is_useful(useful, start) {
                continue;
            }
            for (week, is_useful) in useful[from][..=start.week].iter_mut().enumerate() {
                if !*is_useful && net.last_use(from, week) >= start.week {
                    (*is_useful, is_new) = (true, true);
                }
            }
        }
    }
    is_new
}

fn is_useful(useful: &[Vec<bool>], start: &NetStart) -> bool {
    let is_useful = |stage: usize, week: usize| useful[stage].get(week) == Some(&true);
    start.ready.iter().any(|it| is_useful(it.stage, it.week))
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::*;
    use crate::case::Case;
    use crate::checks::Checks;
    use crate::lp::build;

    /// Ten trees are wanted and none stands: without a start to sow, the line goes short.
    fn sown() -> Case {
        serde_json::from_value(serde_json::json!({
            "format": 2, "weeks": 3,
            "places": [{"id": "bench", "area_m2": 5, "excess_cost_per_m2_week": 1}],
            "crews": [], "supplies": [],
            "stages": [{"id": "tree", "place": "bench", "area_m2_per_plant": 0.1,
                "over_age_after_weeks": 9}],
            "operations": [{"id": "sow", "takes_from": null, "moves_to": "tree",
                "starts": [{"week": 0, "ready_after": [[1, 1]]},
                    {"week": 1, "ready_after": [[1, 1]]}]}],
            "standing": [{"stage": "tree", "arrivals": [[0, 1]]}],
            "orders": [{"id": "A", "accepts": [{"stage": "tree", "price": 3}], "plants": 10,
                "earliest": 0, "due": 2, "latest": 2}]
        }))
        .expect("a case")
    }

    /// Plans with all starts left out at first; the second run ends as told, where it is told so.
    /// Gives the answer, how many starts it left out, its model and the time limits of the runs.
    fn planned(second: Option<Status>) -> (Solved, usize, Lp, Vec<Option<f64>>) {
        let case = sown();
        assert_eq!(case.validate(), []);
        let net = Net::new(&case);
        let mut lp = build(&net);
        let all: BTreeSet<Column> = starts(&net, &lp).map(|it| it.0).collect();
        let limits = RefCell::new(Vec::new());
        let run = |lp: &Lp, options: &Options| {
            limits.borrow_mut().push(options.time_limit_s);
            match second {
                Some(status) if limits.borrow().len() == 2 => Ok(Solved::Ended(status)),
                _ => match solve(&net, lp, options)? {
                    Solved::Answered(it) => Ok(Solved::Answered(Solution { seconds: 4.0, ..it })),
                    ended @ Solved::Ended(_) => Ok(ended),
                },
            }
        };
        let options = Options {
            time_limit_s: Some(60.0),
            ..Options::default()
        };
        let looked = Looked {
            left_out: all,
            foreseen: Vec::new(),
            seconds: 7.0,
        };
        let (solved, left_out) =
            solve_weighed(&net, &mut lp, looked, &options, run).expect("a run");
        (solved, left_out.len(), lp, limits.into_inner())
    }

    fn short(solved: &Solved, lp: &Lp) -> f64 {
        let Solved::Answered(solution) = solved else {
            panic!("{solved:?}");
        };
        let checks = Checks::of(&lp.model, &lp.model.matrix().expect("a matrix"), solution);
        assert!(checks.worst() < 1e-6, "{checks:?}");
        solution.columns[lp.columns[&Column::Short { order: 0 }]].value
    }

    #[test]
    fn of_every_row_of_weeks_the_first_is_weighed_and_every_fourth() {
        let mut case = sown();
        case.weeks = 20;
        let first = case.operations[0].starts[0].clone();
        let weeks: [i64; 9] = [0, 1, 2, 3, 4, 5, 11, 12, 14];
        case.operations[0].starts = weeks
            .map(|week| crate::case::Start {
                week,
                ..first.clone()
            })
            .to_vec();
        let net = Net::new(&case);
        let is_weighed = |start| {
            let operation = 0;
            !is_between(&net, Column::Start { operation, start })
        };
        let weighed = (0..weeks.len()).filter(|&it| is_weighed(it));
        let weighed: Vec<i64> = weighed.map(|it| weeks[it]).collect();
        assert_eq!(weighed, [0, 4, 11, 14]);
    }

    #[test]
    fn a_line_gone_short_unforeseen_has_its_starts_weighed() {
        let (solved, left_out, lp, limits) = planned(None);
        assert!(short(&solved, &lp).abs() < 1e-6);
        assert_eq!(left_out, 0);
        // 60 s, of which the look took 7 and the first run 4.
        assert_eq!(limits, [Some(53.0), Some(49.0)]);
        let Solved::Answered(solution) = solved else {
            panic!("it is answered");
        };
        assert!((solution.seconds - 15.0).abs() < 1e-9);
    }

    #[test]
    fn the_first_plan_stands_where_the_second_has_no_time() {
        let (solved, left_out, lp, _) = planned(Some(Status::TimeLimit));
        assert!((short(&solved, &lp) - 9.0).abs() < 1e-6);
        assert_eq!(left_out, 2);
    }

    #[test]
    fn a_run_that_is_stopped_has_no_plan() {
        let (solved, ..) = planned(Some(Status::Stopped));
        assert!(matches!(solved, Solved::Ended(Status::Stopped)));
    }
}
