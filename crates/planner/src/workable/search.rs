//! The rules as whole columns of the shorter linear model, and the search among them.

use solver::{Basis, ColumnId, Columns as Matrix, Options, Solution, Spot, Status};

use super::round::Jobs;
use super::{Found, Rule, most};
use crate::case::{Case, Operation};
use crate::lp::{Column, Lp, Short, is_answer, method, time_left};
use crate::net::Net;
use crate::plan::PlanError;

const NO_LIMIT: f64 = f64::INFINITY;

/// Fewer plants are no use of a start.
pub(super) const FEW: f64 = 1e-6;

/// Models with more columns are searched among the starts that the real plan uses or nearly uses.
const MANY_COLUMNS: usize = 5000;

/// A start that would lose less by each plant than this share of the mean price is nearly used.
const NEARLY_USED: f64 = 0.02;

/// Rounds of adding rows that an answer breaks, before it is given up.
const ROUNDS: usize = 8;

/// Which rules are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules(u8);

impl Rules {
    const ALL: [Rule; 6] = [
        Rule::WholePlants,
        Rule::Multiples,
        Rule::Least,
        Rule::JobCost,
        Rule::MostJobs,
        Rule::Blocks,
    ];

    pub(super) fn none() -> Self {
        Self(0)
    }

    /// The rules that a case has.
    pub fn of(case: &Case) -> Self {
        let any = |has: fn(&Operation) -> bool| case.operations.iter().any(has);
        let has = |rule: Rule| match rule {
            Rule::WholePlants => true,
            Rule::Multiples => any(|it| it.multiple_of.is_some()),
            Rule::Least => any(|it| it.at_least.is_some()),
            Rule::JobCost => any(|it| it.cost_per_job > 0.0),
            Rule::MostJobs => case.most_jobs_per_week.is_some(),
            Rule::Blocks => case.crews.iter().any(|it| !it.blocks.is_empty()),
        };
        let rules = Self::ALL.into_iter().filter(|&rule| has(rule));
        rules.fold(Self::none(), Self::and)
    }

    pub(super) fn and(self, rule: Rule) -> Self {
        Self(self.0 | 1 << rule as u8)
    }

    /// Whether a rule is kept.
    pub fn has(self, rule: Rule) -> bool {
        self.0 & 1 << rule as u8 != 0
    }

    /// Most jobs a week; without end where that is no rule.
    pub(super) fn most_jobs(self, case: &Case) -> f64 {
        let most = case.most_jobs_per_week;
        most.filter(|_| self.has(Rule::MostJobs))
            .unwrap_or(NO_LIMIT)
    }

    /// The rules that are kept, in the order in which their costs are told.
    pub fn each(self) -> impl Iterator<Item = Rule> {
        Self::ALL.into_iter().filter(move |&rule| self.has(rule))
    }
}

/// What the rules say of an operation's starts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Terms {
    /// Plants come by so many.
    pub step: f64,
    /// Fewest plants, a multiple of the step.
    pub least: f64,
    /// What a start costs by itself.
    pub cost: f64,
}

impl Terms {
    pub fn of(case: &Operation, rules: Rules) -> Self {
        let kept = |rule: Rule, value: Option<f64>| value.filter(|_| rules.has(rule));
        let step = kept(Rule::Multiples, case.multiple_of).unwrap_or(1.0);
        let least = kept(Rule::Least, case.at_least).unwrap_or(0.0);
        Self {
            step,
            least: (least / step).ceil() * step,
            cost: kept(Rule::JobCost, Some(case.cost_per_job)).unwrap_or(0.0),
        }
    }

    /// The most plants that keep to them within so many.
    pub fn down(self, plants: f64) -> f64 {
        self.or_none((plants / self.step).floor() * self.step)
    }

    /// The plants nearest to so many that keep to them.
    pub fn nearest(self, plants: f64) -> f64 {
        if plants < self.least && 2.0 * plants >= self.least {
            return self.least;
        }
        self.or_none((plants / self.step).round() * self.step)
    }

    fn or_none(self, plants: f64) -> f64 {
        if plants < self.least { 0.0 } else { plants }
    }
}

/// Whether a column of the linear model is to be whole: a start or a block that begins in near weeks.
fn is_near(net: &Net, column: Column) -> bool {
    let near = net.case.near_weeks();
    match column {
        Column::Start { operation, start } => net.operations[operation].starts[start].week < near,
        Column::Hired {
            block: Some(_),
            week,
            ..
        } => week < near,
        _ => false,
    }
}

/// A case with the starts worth searching among, all else as it was.
pub(super) struct Reduced {
    pub case: Case,
    /// Whether no start was left out for it.
    pub is_all: bool,
}

/// Leaves out the starts that were not weighed and, of a large model, those that are not worth it. The
/// model of what is left has no stage and no week that nothing reaches.
pub(super) fn reduced(net: &Net, lp: &Lp, real: &Solution) -> Reduced {
    let is_all = lp.model.columns().len() <= MANY_COLUMNS;
    let nearly = NEARLY_USED * mean_price(net);
    let is_kept = |operation: usize, start: usize| {
        let column = Column::Start { operation, start };
        let Some(&id) = lp.columns.get(&column) else {
            return true;
        };
        let at = real.columns[id];
        let was_used = net.operations[operation].starts[start].before.is_some();
        let is_near_use = is_near(net, column) && at.reduced_cost <= nearly;
        let is_used = at.value > FEW || was_used || is_near_use;
        lp.model.columns()[id].upper > 0.0 && (is_all || is_used)
    };
    let mut case = net.case.clone();
    for (operation, it) in case.operations.iter_mut().enumerate() {
        let mut position = 0..;
        it.starts.retain(|_| {
            position
                .next()
                .is_some_and(|start| is_kept(operation, start))
        });
    }
    Reduced { case, is_all }
}

fn mean_price(net: &Net) -> f64 {
    let plants: f64 = net.orders.iter().map(|it| it.case.plants).sum();
    let sales = net.orders.iter().map(|it| {
        let best = it.accepts.iter().map(|it| it.1).fold(0.0, f64::max);
        best * it.case.plants
    });
    sales.sum::<f64>() / plants.max(1.0)
}

/// What is chosen to be whole, by positions that a reduced case has in common with the whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Choice {
    /// Plants put through an operation in a week.
    Start { operation: usize, week: usize },
    /// Whether a crew's block is hired.
    Block { crew: usize, block: usize },
}

/// What a column of the linear model chooses in near weeks.
pub(super) fn choice(net: &Net, column: Column) -> Option<Choice> {
    if !is_near(net, column) {
        return None;
    }
    match column {
        Column::Start { operation, start } => Some(Choice::Start {
            operation,
            week: net.operations[operation].starts[start].week,
        }),
        Column::Hired {
            crew,
            block: Some(block),
            ..
        } => Some(Choice::Block { crew, block }),
        _ => None,
    }
}

/// A near start under its rules.
pub(super) struct NearStart {
    pub choice: Choice,
    pub week: usize,
    /// Its plants.
    pub plants: ColumnId,
    /// How many multiples it has, where it has them.
    multiples: Option<ColumnId>,
    /// Whether it happens, where that is asked for.
    happens: Option<ColumnId>,
    /// Plants come by so many.
    step: f64,
    cost: f64,
}

/// What is chosen in near weeks.
#[derive(Debug, Clone)]
pub(super) struct Chosen {
    pub jobs: Jobs,
    /// What it earns in the model that was searched, and what nothing in it exceeds.
    pub profit: f64,
    pub bound: f64,
    pub found: Found,
    /// The values of all columns searched.
    pub all: Vec<f64>,
}

/// The rules over the shorter linear model.
pub(super) struct Search<'a> {
    pub short: Short<'a>,
    pub starts: Vec<NearStart>,
    pub blocks: Vec<(Choice, ColumnId)>,
    /// The corner of the last linear run.
    pub corner: Option<Basis>,
    /// Seconds in the solver.
    pub seconds: f64,
}

impl<'a> Search<'a> {
    pub fn new(
        net: &'a Net<'a>,
        lp: &'a Lp,
        matrix: &'a Matrix,
        real: &Solution,
        rules: Rules,
    ) -> Self {
        let mut short = Short::new(net, lp, matrix);
        let corner = real.basis.as_ref().and_then(|it| short.shorten(it));
        if corner.is_none() {
            let first = short.first_over_ages();
            short.add_over_ages(&first);
        }
        let most_jobs = rules.most_jobs(net.case);
        let mut search = Self {
            short,
            starts: Vec::new(),
            blocks: Vec::new(),
            corner,
            seconds: 0.0,
        };
        let is_open = |operation, start| {
            let column = Column::Start { operation, start };
            lp.columns
                .get(&column)
                .is_some_and(|&id| lp.model.columns()[id].upper > 0.0)
        };
        let most = most::most(net, net.case.near_weeks(), is_open);
        for &column in lp.columns.keys().filter(|&&it| is_near(net, it)) {
            match column {
                Column::Start { operation, start } if is_open(operation, start) => {
                    search.add_start(net, rules, column, most[operation][start]);
                }
                Column::Hired { .. } if rules.has(Rule::Blocks) => search.add_block(net, column),
                _ => {}
            }
        }
        search.limit_jobs(net.case.near_weeks(), most_jobs);
        search
    }

    fn add_block(&mut self, net: &Net, column: Column) {
        if let (Some(id), Some(choice)) = (self.short.column_of(column), choice(net, column)) {
            self.short.model.set_whole(id, true);
            self.blocks.push((choice, id));
        }
    }

    fn add_start(&mut self, net: &Net, rules: Rules, column: Column, most: f64) {
        let Column::Start { operation, start } = column else {
            return;
        };
        let (Some(plants), Some(choice)) = (self.short.column_of(column), choice(net, column))
        else {
            return;
        };
        let Terms { step, least, cost } = Terms::of(net.operations[operation].case, rules);
        let times = (most / step + FEW).floor();
        let most = if times * step < least {
            0.0
        } else {
            times * step
        };
        self.short.model.set_column(plants, 0.0, most);
        let multiples = (step > 1.0).then(|| self.add_multiples(plants, step, most / step));
        if multiples.is_none() {
            self.short.model.set_whole(plants, true);
        }
        let is_asked = least > step || cost > 0.0 || rules.has(Rule::MostJobs);
        let happens = (is_asked && most > 0.0).then(|| self.add_happens(plants, cost, least, most));
        self.starts.push(NearStart {
            choice,
            week: net.operations[operation].starts[start].week,
            plants,
            multiples,
            happens,
            step,
            cost,
        });
    }

    /// `Tray`: plants are a whole number of multiples.
    fn add_multiples(&mut self, plants: ColumnId, step: f64, most: f64) -> ColumnId {
        let multiples = self.add_whole(0.0, most);
        let row = self.add_row(0.0, 0.0);
        self.short.model.add_entry(row, plants, 1.0);
        self.short.model.add_entry(row, multiples, -step);
        multiples
    }

    /// `Session` and `Most`: a start that happens has its least and its most plants, another has none.
    fn add_happens(&mut self, plants: ColumnId, cost: f64, least: f64, most: f64) -> ColumnId {
        let happens = self.add_whole(cost, 1.0);
        for (lower, upper, each) in [(0.0, NO_LIMIT, least), (-NO_LIMIT, 0.0, most)] {
            if each > 0.0 {
                let row = self.add_row(lower, upper);
                self.short.model.add_entry(row, plants, 1.0);
                self.short.model.add_entry(row, happens, -each);
            }
        }
        happens
    }

    /// `Jobs`: no more starts happen in a week than its jobs may be.
    fn limit_jobs(&mut self, weeks: usize, most: f64) {
        for week in 0..weeks {
            let of_week = self.starts.iter().filter(|it| it.week == week);
            let happens: Vec<ColumnId> = of_week.filter_map(|it| it.happens).collect();
            if happens.len() as f64 > most {
                let row = self.add_row(-NO_LIMIT, most);
                for column in happens {
                    self.short.model.add_entry(row, column, 1.0);
                }
            }
        }
    }

    fn add_whole(&mut self, cost: f64, most: f64) -> ColumnId {
        let column = self.short.model.add_column(cost, 0.0, most);
        self.short.model.set_whole(column, true);
        if let Some(corner) = &mut self.corner {
            corner.columns.push(Spot::LOWER);
        }
        column
    }

    fn add_row(&mut self, lower: f64, upper: f64) -> usize {
        if let Some(corner) = &mut self.corner {
            corner.rows.push(Spot::BASIC);
        }
        self.short.model.add_row(lower, upper)
    }

    /// Adds the rows of plants over age that an answer breaks; tells whether there are any.
    pub fn is_mended(&mut self, solution: &Solution) -> bool {
        let broken = self.short.broken(solution);
        self.short.add_over_ages(&broken);
        if let Some(corner) = &mut self.corner {
            corner.rows.extend(broken.iter().map(|_| Spot::BASIC));
        }
        !broken.is_empty()
    }

    /// The best choice that is found, beginning with one that is known; none where none is better.
    pub fn best(&mut self, known: &Chosen, options: &Options) -> Result<Option<Chosen>, PlanError> {
        let mut options = Options {
            known: Some(known.all.clone()),
            ..options.clone()
        };
        let limit = options.time_limit_s;
        let mut spent = 0.0;
        for _ in 0..ROUNDS {
            options.time_limit_s = time_left(limit, spent);
            let solution = self.short.model.solve(&options)?;
            spent += solution.seconds;
            self.seconds += solution.seconds;
            if !solution.feasible {
                return Ok(None);
            }
            if !self.is_mended(&solution) {
                let found = match solution.status {
                    Status::Optimal => Found::Best,
                    _ => Found::TimeUp,
                };
                return Ok(Some(self.chosen(&solution, found)));
            }
        }
        Ok(None)
    }

    /// What an answer chooses, rounded to what it is within the solver's tolerance.
    pub fn chosen(&self, solution: &Solution, found: Found) -> Chosen {
        let value = |column: ColumnId| solution.columns[column].value;
        let mut jobs = Jobs::default();
        for it in &self.starts {
            let plants = (value(it.plants) / it.step).round() * it.step;
            if plants > 0.0 {
                jobs.cost += it.cost;
                jobs.values.insert(it.choice, plants);
            }
        }
        for &(choice, id) in &self.blocks {
            jobs.values.insert(choice, value(id).round());
        }
        Chosen {
            jobs,
            profit: -solution.objective,
            bound: -solution.bound,
            found,
            all: solution.columns.iter().map(|it| it.value).collect(),
        }
    }

    /// An answer that has certain jobs; none where they cannot be kept to. The model is as before
    /// afterwards, but for rows of plants over age that were missing.
    pub fn known(&mut self, jobs: &Jobs, options: &Options) -> Result<Option<Chosen>, PlanError> {
        let columns = self.short.model.columns().to_vec();
        self.set_whole(&columns, false);
        self.fix(jobs);
        let known = self.relaxed(options)?;
        for (id, column) in columns.iter().enumerate() {
            self.short.model.set_column(id, column.lower, column.upper);
        }
        self.set_whole(&columns, true);
        Ok(known.map(|solution| self.chosen(&solution, Found::Rounded)))
    }

    fn set_whole(&mut self, columns: &[solver::Column], whole: bool) {
        for id in (0..columns.len()).filter(|&id| columns[id].whole) {
            self.short.model.set_whole(id, whole);
        }
    }

    fn fix(&mut self, jobs: &Jobs) {
        let value = |choice: &Choice| jobs.values.get(choice).copied().unwrap_or(0.0);
        let model = &mut self.short.model;
        for it in &self.starts {
            let plants = value(&it.choice);
            let happens = if plants > 0.0 { 1.0 } else { 0.0 };
            model.set_column(it.plants, plants, plants);
            for (column, value) in [(it.multiples, plants / it.step), (it.happens, happens)] {
                if let Some(column) = column {
                    model.set_column(column, value, value);
                }
            }
        }
        for (choice, id) in &self.blocks {
            model.set_column(*id, value(choice), value(choice));
        }
    }

    /// The best answer in real plants with what is fixed; none where there is none.
    fn relaxed(&mut self, options: &Options) -> Result<Option<Solution>, PlanError> {
        let mut options = options.clone();
        loop {
            options.start.clone_from(&self.corner);
            options.method = method(options.start.as_ref());
            let solution = self.short.model.solve(&options)?;
            self.seconds += solution.seconds;
            if !is_answer(&solution) {
                return Ok(None);
            }
            self.corner.clone_from(&solution.basis);
            if !self.is_mended(&solution) {
                return Ok(Some(solution));
            }
        }
    }
}
