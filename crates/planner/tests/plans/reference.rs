//! The season plan's linear model in its reference form: every quantity of every week a column, every rule of every week a
//! row, nothing left out and nothing joined. It reads the case by itself and shares no code with the planner.

use std::collections::BTreeMap;

use planner::Case;
use planner::case::{Operation, Order, Start, Supply};
use solver::{ColumnId, Model, RowId};

const NO_LIMIT: f64 = f64::INFINITY;

/// By stage and week.
type Weekly = Vec<Vec<usize>>;

/// The model in its reference form; it minimizes minus the profit.
pub fn reference(case: &Case) -> Model {
    let mut form = Form::new(case);
    for stage in 0..case.stages.len() {
        form.stage(stage);
    }
    form.places();
    form.crews();
    for supply in &case.supplies {
        form.supply(supply);
    }
    for operation in &case.operations {
        for start in &operation.starts {
            form.start(operation, start);
        }
    }
    for order in &case.orders {
        form.line(order);
    }
    form.model
}

struct Form<'a> {
    case: &'a Case,
    model: Model,
    /// The rows of a, I, the sum of a, over-age and M.
    arrivals: Weekly,
    stand: Weekly,
    growing: Weekly,
    /// The columns of I and M.
    left: Weekly,
    standing: Weekly,
    hours: Weekly,
    supply: Vec<Vec<RowId>>,
    stage_at: BTreeMap<&'a str, usize>,
    crew_at: BTreeMap<&'a str, usize>,
    supply_at: BTreeMap<&'a str, usize>,
}

impl<'a> Form<'a> {
    fn new(case: &'a Case) -> Self {
        Self {
            case,
            model: Model::new(),
            arrivals: Vec::new(),
            stand: Vec::new(),
            growing: Vec::new(),
            left: Vec::new(),
            standing: Vec::new(),
            hours: Vec::new(),
            supply: Vec::new(),
            stage_at: positions(case.stages.iter().map(|it| it.id.as_str())),
            crew_at: positions(case.crews.iter().map(|it| it.id.as_str())),
            supply_at: positions(case.supplies.iter().map(|it| it.id.as_str())),
        }
    }

    fn columns(
        &mut self,
        earns: impl Fn(usize) -> f64,
        limit: impl Fn(usize) -> f64,
    ) -> Vec<ColumnId> {
        let weeks = 0..self.case.weeks;
        weeks
            .map(|week| self.model.add_column(-earns(week), 0.0, limit(week)))
            .collect()
    }

    fn equations(&mut self, value: impl Fn(usize) -> f64) -> Vec<RowId> {
        let weeks = 0..self.case.weeks;
        weeks
            .map(|week| self.model.add_row(value(week), value(week)))
            .collect()
    }

    fn limits(&mut self, value: impl Fn(usize) -> f64) -> Vec<RowId> {
        let weeks = 0..self.case.weeks;
        weeks
            .map(|week| self.model.add_row(f64::NEG_INFINITY, value(week)))
            .collect()
    }

    /// Enters columns in the rows of their own weeks.
    fn enter(&mut self, rows: &[RowId], columns: &[ColumnId], value: f64) {
        for (&row, &column) in rows.iter().zip(columns) {
            self.model.add_entry(row, column, value);
        }
    }

    /// Enters columns in the rows of the weeks after theirs.
    fn enter_next(&mut self, rows: &[RowId], columns: &[ColumnId], value: f64) {
        self.enter(&rows[1..], columns, value);
    }

    /// a, I, w, M and the sum of a.
    fn stage(&mut self, at: usize) {
        let (case, stage) = (self.case, &self.case.stages[at]);
        let last = case.weeks - 1;
        let at_end = |week| {
            if week == last {
                stage.end_value_per_plant
            } else {
                0.0
            }
        };
        let free = |_| NO_LIMIT;
        let ready = self.columns(|_| 0.0, free);
        let left = self.columns(|week| at_end(week) - stage.wait_cost_per_plant_week, free);
        let out = self.columns(|_| -stage.discard_cost_per_plant, free);
        let growing = self.columns(|_| 0.0, free);
        let so_far = self.columns(|_| 0.0, free);

        let stood = standing(case, &stage.id);
        let arrivals = self.equations(|week| stood[week]);
        self.enter(&arrivals, &ready, 1.0);
        let stand = self.equations(|_| 0.0);
        self.enter(&stand, &left, 1.0);
        self.enter_next(&stand, &left, -1.0);
        self.enter(&stand, &ready, -1.0);
        self.enter(&stand, &out, 1.0);
        let sums = self.equations(|_| 0.0);
        self.enter(&sums, &so_far, 1.0);
        self.enter_next(&sums, &so_far, -1.0);
        self.enter(&sums, &ready, -1.0);
        let over_age = self.limits(|_| 0.0);
        self.enter(&over_age, &left, 1.0);
        self.enter(&over_age, &so_far, -1.0);
        for (week, &row) in over_age.iter().enumerate() {
            let is_out = |ready: &usize| {
                *ready as i64 + stage.over_age_after_weeks.at(*ready) <= week as i64
            };
            if let Some(oldest) = (0..=week).filter(is_out).max() {
                self.model.add_entry(row, so_far[oldest], 1.0);
            }
        }
        let change = self.equations(|_| 0.0);
        self.enter(&change, &growing, 1.0);
        self.enter_next(&change, &growing, -1.0);
        self.arrivals.push(arrivals);
        self.stand.push(stand);
        self.growing.push(change);
        self.left.push(left);
        self.standing.push(growing);
    }

    /// v.
    fn places(&mut self) {
        for place in &self.case.places {
            let there = |it: &&(usize, &planner::case::Stage)| it.1.place == place.id;
            let stages: Vec<_> = self.case.stages.iter().enumerate().collect();
            let stages: Vec<_> = stages.iter().filter(there).collect();
            let immature = |week: usize| -> f64 {
                let each = stages.iter().map(|(_, stage)| {
                    let rows = self.case.standing.iter().filter(|it| it.stage == stage.id);
                    let rows = rows.flat_map(|it| &it.immature);
                    let then = rows.filter(|it| it.week == week as i64);
                    stage.area_m2_per_plant * then.map(|it| it.plants).sum::<f64>()
                });
                each.sum()
            };
            let area: Vec<f64> = (0..self.case.weeks)
                .map(|week| place.area_m2.at(week) - immature(week))
                .collect();
            let rows = self.limits(|week| area[week]);
            let beyond = self.columns(|week| -place.excess_cost_per_m2_week.at(week), |_| NO_LIMIT);
            self.enter(&rows, &beyond, -1.0);
            for &&(at, stage) in &stages {
                for columns in [self.left[at].clone(), self.standing[at].clone()] {
                    self.enter(&rows, &columns, stage.area_m2_per_plant);
                }
            }
        }
    }

    /// e and h.
    fn crews(&mut self) {
        for crew in &self.case.crews {
            let rows = self.limits(|week| crew.hours_per_week.at(week));
            let hired = self.columns(
                |week| -crew.extra_cost_per_hour.at(week),
                |week| crew.extra_hours_per_week.at(week),
            );
            self.enter(&rows, &hired, -1.0);
            self.hours.push(rows);
        }
        for (from, crew) in self.case.crews.iter().enumerate() {
            for other in &crew.may_do {
                let lent = self.columns(|_| 0.0, |_| NO_LIMIT);
                let (gives, takes) = (
                    self.hours[from].clone(),
                    self.hours[self.crew_at[other.as_str()]].clone(),
                );
                self.enter(&gives, &lent, 1.0);
                self.enter(&takes, &lent, -1.0);
            }
        }
    }

    /// z and b.
    fn supply(&mut self, supply: &Supply) {
        let rows = self.limits(|_| 0.0);
        let bought = self.columns(
            |week| -supply.buy_price.at(week),
            |week| supply.buy_limit_per_week.at(week),
        );
        self.enter(&rows, &bought, -1.0);
        for batch in &supply.batches {
            let all = self.model.add_row(f64::NEG_INFINITY, batch.amount);
            for week in weeks(self.case, batch.from, batch.to) {
                let used = self.model.add_column(0.0, 0.0, NO_LIMIT);
                self.model.add_entry(rows[week], used, -1.0);
                self.model.add_entry(all, used, 1.0 / batch.kept(week));
            }
        }
        self.supply.push(rows);
    }

    /// x.
    fn start(&mut self, operation: &Operation, start: &Start) {
        let (to, week) = (
            self.stage_at[operation.moves_to.as_str()],
            start.week as usize,
        );
        let stage_of = |name: &Option<String>| name.as_deref().map_or(to, |it| self.stage_at[it]);
        let all: Vec<(usize, usize, f64)> = start
            .ready_after
            .iter()
            .filter(|it| it.fraction > 0.0)
            .map(|it| {
                (
                    week + it.weeks_after as usize,
                    stage_of(&it.stage),
                    it.fraction,
                )
            })
            .collect();
        let later = all.iter().filter(|it| it.0 >= self.case.weeks);
        let later: f64 = later
            .map(|&(_, stage, share)| share * self.case.stages[stage].end_value_per_plant)
            .sum();
        let x = self
            .model
            .add_column(operation.cost_per_plant - later, 0.0, NO_LIMIT);
        if let Some(from) = &operation.takes_from {
            let from = self.stage_at[from.as_str()];
            self.model.add_entry(self.stand[from][week], x, 1.0);
        }
        let surviving: f64 = all.iter().map(|it| it.2).sum();
        self.model.add_entry(self.growing[to][week], x, -1.0);
        let mut cleared: BTreeMap<usize, f64> = BTreeMap::new();
        for (week, stage, share) in all.into_iter().filter(|it| it.0 < self.case.weeks) {
            self.model.add_entry(self.arrivals[stage][week], x, -share);
            *cleared.entry(week).or_default() += share / surviving;
        }
        for (week, share) in cleared {
            self.model.add_entry(self.growing[to][week], x, share);
        }
        for work in &operation.hours {
            let crew = &self.hours[self.crew_at[work.crew.as_str()]];
            if let Some(&row) = crew.get(week + work.weeks_after as usize) {
                self.model.add_entry(row, x, work.hours_per_plant);
            }
        }
        for used in &operation.uses {
            let row = self.supply[self.supply_at[used.supply.as_str()]][week];
            self.model.add_entry(row, x, used.per_plant);
        }
    }

    /// y and u.
    fn line(&mut self, order: &Order) {
        let row = self.model.add_row(order.plants, order.plants);
        let short = self
            .model
            .add_column(order.short_cost_per_plant, 0.0, NO_LIMIT);
        self.model.add_entry(row, short, 1.0);
        for accepted in &order.accepts {
            for week in weeks(self.case, order.earliest, order.latest) {
                let late = (week as i64 - order.due).max(0) as f64;
                let earns = accepted.price - order.late_cost_per_plant_week * late;
                let shipped = self.model.add_column(-earns, 0.0, NO_LIMIT);
                self.model.add_entry(row, shipped, 1.0);
                let stage = self.stage_at[accepted.stage.as_str()];
                self.model.add_entry(self.stand[stage][week], shipped, 1.0);
            }
        }
    }
}

fn positions<'a>(names: impl Iterator<Item = &'a str>) -> BTreeMap<&'a str, usize> {
    names.enumerate().map(|(at, name)| (name, at)).collect()
}

/// The weeks of the plan from one to another, both counted in.
fn weeks(case: &Case, from: i64, to: i64) -> std::ops::Range<usize> {
    let end = (to + 1).clamp(0, case.weeks as i64) as usize;
    (from.max(0) as usize).min(end)..end
}

/// By week: plants of a stage that stand already and become ready.
fn standing(case: &Case, stage: &str) -> Vec<f64> {
    let mut plants = vec![0.0; case.weeks];
    let rows = case.standing.iter().filter(|it| it.stage == stage);
    for row in rows.flat_map(|it| &it.arrivals) {
        if let Some(of_week) = plants.get_mut(row.week as usize) {
            *of_week += row.plants;
        }
    }
    plants
}
