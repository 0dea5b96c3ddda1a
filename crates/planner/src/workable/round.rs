//! Whole jobs at once, by rounding the plan in real plants, without a run of the solver.
//!
//! Starts are gone through in order of time. What stands ready for them is counted from what was
//! rounded before; what hours and units they may take more than in the real plan is kept in mind. A
//! start made smaller leaves plants, hours and supplies over, so rounding down can always be done;
//! what a start lacks is added to the next one of its operation as far as there is room for it.

use std::collections::BTreeMap;

use solver::Solution;

use super::search::{Choice, FEW, Rules, Terms, choice};
use crate::lp::{Column, Lp, Row};
use crate::net::{Net, NetOperation};

/// A start that lacks less than this of a whole plant has it, by rounding of the solver.
const NEARLY: f64 = 1e-6;

/// How starts are rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// To the nearest multiple or least for which there is room.
    Nearest,
    /// Down; what falls below its least is dropped.
    Down,
    /// Nothing is started.
    Nothing,
}

impl Way {
    /// Each is tried where the one before cannot be kept to.
    pub const ALL: [Self; 3] = [Self::Nearest, Self::Down, Self::Nothing];
}

/// Whole jobs of the near weeks.
#[derive(Debug, Clone, Default)]
pub(super) struct Jobs {
    /// How much of what; what is not named is zero.
    pub values: BTreeMap<Choice, f64>,
    /// What they cost by themselves.
    pub cost: f64,
}

/// Rounds a plan in real plants whose blocks are whole.
pub(super) fn rounded(net: &Net, lp: &Lp, real: &Solution, rules: Rules, way: Way) -> Jobs {
    let mut jobs = Jobs::default();
    for (&column, &id) in &lp.columns {
        if let (Column::Hired { .. }, Some(block)) = (column, choice(net, column)) {
            jobs.values.insert(block, whole_share(real, id));
        }
    }
    if way == Way::Nothing {
        return jobs;
    }
    let mut rounding = Rounding {
        net,
        rules,
        way,
        stock: net.arrivals.clone(),
        room: Room::of(net, lp, real),
        carried: vec![0.0; net.operations.len()],
    };
    for wanted in wanted(net, lp, real) {
        rounding.settle(wanted, &mut jobs);
    }
    jobs
}

/// The share of a block that is hired, by the nearest whole one.
pub(super) fn whole_share(real: &Solution, id: usize) -> f64 {
    real.columns[id].value.round()
}

/// A near start as the real plan has it.
struct Wanted {
    operation: usize,
    start: usize,
    /// Its plants in the real plan, and with those carried on to it.
    real: f64,
    target: f64,
    /// Its whole plants.
    plants: f64,
}

/// By near week: the starts that the real plan uses.
fn wanted(net: &Net, lp: &Lp, real: &Solution) -> Vec<Vec<Wanted>> {
    let mut wanted: Vec<Vec<Wanted>> = (0..net.case.near_weeks()).map(|_| Vec::new()).collect();
    for (column, plants) in starts(lp, real) {
        let (Column::Start { operation, start }, Some(Choice::Start { week, .. })) =
            (column, choice(net, column))
        else {
            continue;
        };
        wanted[week].push(Wanted {
            operation,
            start,
            real: plants,
            target: plants,
            plants: 0.0,
        });
    }
    wanted
}

/// The starts that an answer uses, with their plants.
fn starts<'a>(lp: &'a Lp, real: &'a Solution) -> impl Iterator<Item = (Column, f64)> + 'a {
    let starts = lp.columns.iter();
    let starts = starts.filter(|(column, _)| matches!(column, Column::Start { .. }));
    let starts = starts.map(|(&column, &id)| (column, real.columns[id].value));
    starts.filter(|it| it.1 > FEW)
}

/// What near starts may take more than in the real plan, without any other doing with less: hours
/// and units that stand idle, those that can be hired and bought on top, and those of far starts.
struct Room {
    /// By crew and week.
    hours: Vec<Vec<f64>>,
    /// By supply and week.
    units: Vec<Vec<f64>>,
}

impl Room {
    fn of(net: &Net, lp: &Lp, real: &Solution) -> Self {
        let idle = |row: Row| {
            let row = lp.rows.get(&row);
            row.map_or(0.0, |&id| {
                lp.model.rows()[id].upper - real.rows[id].activity
            })
        };
        let to_be_had = |column: Column| {
            let column = lp.columns.get(&column);
            column.map_or(0.0, |&id| {
                lp.model.columns()[id].upper - real.columns[id].value
            })
        };
        let hours = |crew: usize, week: usize| {
            let block = None;
            idle(Row::Hours { crew, week }) + to_be_had(Column::Hired { crew, block, week })
        };
        let units = |supply: usize, week: usize| {
            idle(Row::Supply { supply, week }) + to_be_had(Column::Bought { supply, week })
        };
        let by_week = |count: usize, room: &dyn Fn(usize, usize) -> f64| -> Vec<Vec<f64>> {
            let of = |one: usize| (0..net.weeks).map(|week| room(one, week)).collect();
            (0..count).map(of).collect()
        };
        let mut room = Self {
            hours: by_week(net.case.crews.len(), &hours),
            units: by_week(net.case.supplies.len(), &units),
        };
        for (column, plants) in starts(lp, real) {
            if let (Column::Start { operation, start }, None) = (column, choice(net, column)) {
                let it = &net.operations[operation];
                room.take(it, it.starts[start].week, -plants);
            }
        }
        room
    }

    /// Takes what so many plants more of a start need.
    fn take(&mut self, it: &NetOperation, week: usize, plants: f64) {
        for &(after, crew, each) in &it.hours {
            if let Some(hours) = self.hours[crew].get_mut(week.saturating_add(after)) {
                *hours -= each * plants;
            }
        }
        for &(supply, each) in &it.uses {
            self.units[supply][week] -= each * plants;
        }
    }

    /// How many plants more a start may have.
    fn plants(&self, it: &NetOperation, week: usize) -> f64 {
        let hours = it.hours.iter().filter_map(|&(after, crew, each)| {
            let hours = self.hours[crew].get(week.saturating_add(after))?;
            (each > 0.0).then(|| hours / each)
        });
        let units = it.uses.iter().filter(|it| it.1 > 0.0);
        let units = units.map(|&(supply, each)| self.units[supply][week] / each);
        hours.chain(units).fold(f64::INFINITY, f64::min)
    }
}

/// Where rounding has got to.
struct Rounding<'a> {
    net: &'a Net<'a>,
    rules: Rules,
    way: Way,
    /// By stage and week: ready plants that became ready then and are not put through yet.
    stock: Vec<Vec<f64>>,
    room: Room,
    /// By operation: plants that its starts so far lack.
    carried: Vec<f64>,
}

impl Rounding<'_> {
    /// Settles the starts of a week: first what is sure, then what there is room for.
    fn settle(&mut self, mut week: Vec<Wanted>, jobs: &mut Jobs) {
        for it in &mut week {
            it.target = (it.real + self.carried[it.operation]).max(0.0);
        }
        week.sort_by(|a, b| b.target.total_cmp(&a.target));
        let most = self.rules.most_jobs(self.net.case);
        let first_dropped = week.len().min(most as usize);
        for it in &mut week[..first_dropped] {
            let sure = self.terms(it).down(it.real.min(it.target) + NEARLY);
            self.set(it, sure.min(self.terms(it).down(self.standing(it))));
        }
        for it in &mut week[first_dropped..] {
            self.set(it, 0.0);
        }
        if self.way == Way::Nearest {
            let lacks = |it: &Wanted| it.target - it.plants;
            week[..first_dropped].sort_by(|a, b| lacks(b).total_cmp(&lacks(a)));
            for it in &mut week[..first_dropped] {
                self.add(it);
            }
        }
        for it in week {
            self.note(&it, jobs);
        }
    }

    fn terms(&self, it: &Wanted) -> Terms {
        Terms::of(self.net.operations[it.operation].case, self.rules)
    }

    fn week_of(&self, it: &Wanted) -> usize {
        self.net.operations[it.operation].starts[it.start].week
    }

    /// Ready plants that a start may take.
    fn standing(&self, it: &Wanted) -> f64 {
        let Some(stage) = self.net.operations[it.operation].from else {
            return f64::INFINITY;
        };
        let week = self.week_of(it);
        let oldest = self.oldest(stage, week);
        let plants: f64 = self.stock[stage][oldest..=week].iter().sum();
        plants + NEARLY
    }

    fn oldest(&self, stage: usize, week: usize) -> usize {
        let before = week.checked_sub(1);
        before.map_or(0, |before| self.net.oldest_kept[stage][before])
    }

    /// Sets a start that has no plants yet, in place of its plants in the real plan.
    fn set(&mut self, it: &mut Wanted, plants: f64) {
        let operation = &self.net.operations[it.operation];
        self.room
            .take(operation, self.week_of(it), plants - it.real);
        self.put_through(it, plants);
    }

    /// Gives a start what it lacks, as far as there is room for it.
    fn add(&mut self, it: &mut Wanted) {
        let operation = &self.net.operations[it.operation];
        let terms = self.terms(it);
        let week = self.week_of(it);
        let can = self.room.plants(operation, week).min(self.standing(it));
        let most = terms.down(it.plants + can.max(0.0));
        let more = terms.nearest(it.target).min(most) - it.plants;
        if more > 0.0 {
            self.room.take(operation, week, more);
            self.put_through(it, more);
        }
    }

    /// Takes plants from the stand, the oldest first.
    fn put_through(&mut self, it: &mut Wanted, plants: f64) {
        it.plants += plants;
        let Some(stage) = self.net.operations[it.operation].from else {
            return;
        };
        let week = self.week_of(it);
        let oldest = self.oldest(stage, week);
        let mut left = plants;
        for ready in &mut self.stock[stage][oldest..=week] {
            let taken = ready.min(left);
            *ready -= taken;
            left -= taken;
        }
    }

    /// Notes what a start came to, and what its operation lacks from now on.
    fn note(&mut self, it: &Wanted, jobs: &mut Jobs) {
        let terms = self.terms(it);
        let most = terms.step.max(terms.least);
        self.carried[it.operation] = (it.target - it.plants).clamp(-most, most);
        if it.plants <= 0.0 {
            return;
        }
        let start = &self.net.operations[it.operation].starts[it.start];
        for ready in start.ready.iter().filter(|it| it.week < self.net.weeks) {
            self.stock[ready.stage][ready.week] += it.plants * ready.fraction;
        }
        let operation = it.operation;
        let week = start.week;
        let choice = Choice::Start { operation, week };
        jobs.values.insert(choice, it.plants);
        jobs.cost += terms.cost;
    }
}
