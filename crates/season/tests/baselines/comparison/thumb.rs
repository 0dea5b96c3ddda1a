//! The rule of thumb: order lines in the order in which they were taken, each with its plants and 20 % more at every
//! step back along its way, of what is left of plants, hours, ground, seed and buds.

use std::collections::BTreeMap;

use planner::{CrewUse, PlannedStart, SupplyUse};
use season::{Line, Operation, PlannedJob, SeasonModel, Settled, Start, jobs, planning_case};

/// Plants put through a step for each one that is wanted of it.
const MORE: f64 = 1.2;

/// Weeks in hand between the week in which a step's mean plant is ready and the one in which it is wanted.
const IN_HAND: i64 = 1;

/// Weeks that plants which stand may be ready before they are wanted, while others can still be raised.
const MOST_WAIT: i64 = 8;

/// How many starts without a plant to put through are looked at before a way is given up.
const EMPTY_STARTS: usize = 3;

/// Fewer plants than this are none.
const NONE: f64 = 1.0;

/// What is started by the rule of thumb.
pub struct ThumbPlan {
    pub jobs: Vec<PlannedJob>,
    excess: f64,
    pub crew_use: Vec<CrewUse>,
    supply_use: Vec<SupplyUse>,
}

impl<'a> From<&'a ThumbPlan> for Settled<'a> {
    fn from(plan: &'a ThumbPlan) -> Self {
        Self {
            excess: plan.excess,
            crew_use: &plan.crew_use,
            supply_use: &plan.supply_use,
        }
    }
}

/// Plants that are, or are going to be, ready and that nobody has taken.
struct Stock {
    ready: i64,
    /// The last week in which they may be used.
    until: i64,
    plants: f64,
}

/// What a nursery has on paper while it plans.
struct Paper<'a> {
    model: &'a SeasonModel,
    /// By stage.
    stock: Vec<Vec<Stock>>,
    /// By stage: the operations into it, in the model's order.
    ways: Vec<Vec<usize>>,
    /// By place and week: m² taken.
    ground: BTreeMap<&'a str, Vec<f64>>,
    crews: Vec<CrewUse>,
    /// Hours to be hired by the hour, by crew and week.
    hired_limit: Vec<Vec<f64>>,
    supplies: Vec<SupplyUse>,
    starts: BTreeMap<(usize, usize), f64>,
    /// Whether plants that stand may wait longer than [`MOST_WAIT`].
    may_wait: bool,
    /// By operation: the last week by which it has been found to bring nothing to the line in hand; nor does it
    /// sooner, since nothing is given back.
    dry: Vec<i64>,
}

/// Plans a season by the rule of thumb.
pub fn plan(model: &SeasonModel) -> ThumbPlan {
    let mut paper = Paper::new(model);
    for line in model.lines.iter().filter(|it| !it.on_spec) {
        paper.raise_line(line);
    }
    for line in model.lines.iter().filter(|it| it.on_spec) {
        paper.raise_line(line);
    }
    paper.finished()
}

impl<'a> Paper<'a> {
    fn new(model: &'a SeasonModel) -> Self {
        let none = || vec![0.0; model.weeks];
        let mut ways = vec![Vec::new(); model.stages.len()];
        for (at, operation) in model.operations.iter().enumerate() {
            ways[operation.into].push(at);
        }
        let case = planning_case(model);
        let crew = |(crew, of_case): (&season::Crew, &planner::case::Crew)| CrewUse {
            crew: crew.crew.to_string(),
            own: crew.hours.clone(),
            work: none(),
            hired: none(),
            blocks: vec![0.0; of_case.blocks.len()],
            in_blocks: none(),
            lent: none(),
            borrowed: none(),
        };
        let limits = |crew: &planner::case::Crew| {
            let weeks = 0..model.weeks;
            weeks
                .map(|week| crew.extra_hours_per_week.at(week))
                .collect()
        };
        let supply = |supply: &season::Supply| SupplyUse {
            supply: supply.id.clone(),
            used: none(),
            bought: none(),
            from_batches: vec![none(); supply.batches.len()],
        };
        let mut paper = Self {
            model,
            stock: model.stages.iter().map(|_| Vec::new()).collect(),
            ways,
            ground: BTreeMap::new(),
            crews: model.crews.iter().zip(&case.crews).map(crew).collect(),
            hired_limit: case.crews.iter().map(limits).collect(),
            supplies: model.supplies.iter().map(supply).collect(),
            starts: BTreeMap::new(),
            may_wait: false,
            dry: vec![i64::MIN; model.operations.len()],
        };
        paper.take_stock();
        paper
    }

    /// Counts what stands: ready plants as they are, growing ones less a sixth, from the week in which the mean one is
    /// ready.
    fn take_stock(&mut self) {
        for lot in &self.model.standing {
            if lot.ready > 0 {
                self.put_stock(lot.stage, 0, f64::from(lot.ready), f64::from(lot.ready));
            }
            if lot.growing > 0 && !lot.arrivals.is_empty() {
                let growing = f64::from(lot.growing);
                let ready = mean_week(&lot.arrivals);
                self.put_stock(lot.stage, ready, growing / MORE, growing);
            }
        }
    }

    fn put_stock(&mut self, stage: usize, ready: i64, plants: f64, on_ground: f64) {
        let until = self.last_week(stage, ready);
        self.stand(stage, 0, ready, on_ground);
        self.stock[stage].push(Stock {
            ready,
            until,
            plants,
        });
    }

    /// The last week in which plants ready in a week may be used.
    fn last_week(&self, stage: usize, ready: i64) -> i64 {
        let limits = &self.model.stages[stage].over_age;
        let at = usize::try_from(ready).unwrap_or(0).min(limits.len() - 1);
        ready + i64::from(limits[at])
    }

    /// Puts plants on their ground from one week up to another.
    fn stand(&mut self, stage: usize, from: i64, until: i64, plants: f64) {
        let stage = &self.model.stages[stage];
        let weeks = self.model.weeks;
        let ground = self.ground.entry(stage.place.as_str());
        let ground = ground.or_insert_with(|| vec![0.0; weeks]);
        for taken in within(ground, from, until) {
            *taken += plants * stage.area_m2;
        }
    }

    /// A line's plants in time, and what lacks until its last week.
    fn raise_line(&mut self, line: &Line) {
        let mut left = line.plants;
        for by in [line.due, line.latest] {
            for [may_begin, may_wait] in [[false, false], [true, false], [true, true]] {
                self.may_wait = may_wait;
                self.dry.fill(i64::MIN);
                for stage in &line.accepts {
                    if left >= NONE {
                        left -= self.get(*stage, by, left, may_begin);
                    }
                }
            }
        }
    }

    /// Takes or raises plants of a stage that are ready by a week; returns how many. What stands comes first.
    fn get(&mut self, stage: usize, by: i64, wanted: f64, may_begin: bool) -> f64 {
        let mut got = self.take(stage, by, wanted);
        for way in self.ways[stage].clone() {
            let operation = &self.model.operations[way];
            let may_do = by > self.dry[way] && (may_begin || operation.from.is_some());
            if wanted - got >= NONE && may_do {
                let raised = self.raise((way, operation), by, wanted - got, may_begin);
                if raised <= 0.0 {
                    self.dry[way] = by;
                }
                got += raised;
            }
        }
        got
    }

    /// Takes plants that stand, the oldest first.
    fn take(&mut self, stage: usize, by: i64, wanted: f64) -> f64 {
        let mut got = 0.0;
        let mut kept = Vec::new();
        for stock in &mut self.stock[stage] {
            let waits = by - stock.ready.max(0);
            if stock.ready <= by && by <= stock.until && (self.may_wait || waits <= MOST_WAIT) {
                let plants = stock.plants.min(wanted - got);
                stock.plants -= plants;
                got += plants;
                kept.push((stock.ready, plants));
            }
        }
        for (ready, plants) in kept {
            self.stand(stage, ready, by + 1, plants);
        }
        got
    }

    /// Starts an operation as late as its plants are still ready by a week, and in earlier weeks as far as there is no room
    /// in later ones.
    fn raise(
        &mut self,
        (way, operation): (usize, &Operation),
        by: i64,
        wanted: f64,
        may_begin: bool,
    ) -> f64 {
        let (mut got, mut empty) = (0.0, 0);
        for (at, start) in operation.starts.iter().enumerate().rev() {
            let week = start.week as i64;
            let ready = week + mean_week(&start.ready);
            if start.ready.is_empty() || ready + IN_HAND > by {
                continue;
            }
            if wanted - got < NONE
                || empty == EMPTY_STARTS
                || self.last_week(operation.into, ready) < by
            {
                break;
            }
            let each = put_in(operation, start);
            let room = self.room(operation, start, by).min((wanted - got) * each);
            if room < NONE {
                continue;
            }
            let plants = operation
                .from
                .map_or(room, |from| self.get(from, week, room, may_begin));
            let plants = plants.min(self.room(operation, start, by));
            if plants < NONE {
                empty += 1;
                continue;
            }
            self.book(operation, start, by, plants);
            *self.starts.entry((way, at)).or_default() += plants;
            got += plants / each;
        }
        got
    }

    /// How many plants of a start there are hours, ground and supplies for.
    fn room(&self, operation: &Operation, start: &Start, by: i64) -> f64 {
        let hours = operation.work.iter().filter_map(|work| {
            let week = start.week + work.after_weeks as usize;
            let crew = self.crew(work.crew.as_str())?;
            (week < self.model.weeks && work.hours > 0.0)
                .then(|| self.free_hours(crew, week) / work.hours)
        });
        let supplies = operation.uses.iter().map(|need| {
            let week = start.week;
            self.free_supply(need.supply, week) / need.each
        });
        let most = hours.chain(supplies).fold(f64::INFINITY, f64::min);
        most.min(self.free_ground(operation.into, start.week as i64, by + 1))
    }

    fn crew(&self, name: &str) -> Option<usize> {
        self.crews.iter().position(|it| it.crew == name)
    }

    /// Hours of a crew and those who may do its work that nobody has booked.
    fn free_hours(&self, crew: usize, week: usize) -> f64 {
        let lent = self.lenders(crew).map(|it| self.idle(it, week));
        self.idle(crew, week) + self.hired_limit[crew][week] - self.crews[crew].hired[week]
            + lent.sum::<f64>()
    }

    /// Own hours that nobody has booked.
    fn idle(&self, crew: usize, week: usize) -> f64 {
        let it = &self.crews[crew];
        let taken = it.work[week] - it.hired[week] - it.borrowed[week] + it.lent[week];
        (it.own[week] - taken).max(0.0)
    }

    /// Crews that may do a crew's work.
    fn lenders(&self, crew: usize) -> impl Iterator<Item = usize> + use<'a> {
        let model = self.model;
        let name = &model.crews[crew].crew;
        let all = model.crews.iter().enumerate();
        all.filter(move |(_, it)| it.may_do.contains(name))
            .map(|(at, _)| at)
    }

    fn free_supply(&self, supply: usize, week: usize) -> f64 {
        let (known, used) = (&self.model.supplies[supply], &self.supplies[supply]);
        let batches = known.batches.iter().zip(&used.from_batches);
        let own: f64 = batches.map(|(batch, taken)| good(batch, taken, week)).sum();
        let bought = known.bought.as_ref();
        let limit = bought.map_or(0.0, |it| it.limit_in(week));
        own + (limit - used.bought[week]).max(0.0)
    }

    /// Plants for which there is ground in all weeks.
    fn free_ground(&self, stage: usize, from: i64, until: i64) -> f64 {
        let stage = &self.model.stages[stage];
        let place = self.model.places.iter().find(|it| it.place == stage.place);
        let Some(place) = place.filter(|_| stage.area_m2 > 0.0) else {
            return f64::INFINITY;
        };
        let Some(ground) = self.ground.get(stage.place.as_str()) else {
            return place.area_m2 / stage.area_m2;
        };
        let until = usize::try_from(until).unwrap_or(0).min(ground.len());
        let most = ground[(from.max(0) as usize).min(until)..until].iter();
        let taken = most.copied().fold(0.0, f64::max);
        ((place.area_m2 - taken) / stage.area_m2).max(0.0)
    }

    /// Books a start whose plants are wanted in a week.
    fn book(&mut self, operation: &Operation, start: &Start, by: i64, plants: f64) {
        self.stand(operation.into, start.week as i64, by + 1, plants);
        for work in &operation.work {
            let week = start.week + work.after_weeks as usize;
            if let (true, Some(crew)) = (week < self.model.weeks, self.crew(work.crew.as_str())) {
                self.book_hours(crew, week, plants * work.hours);
            }
        }
        for need in &operation.uses {
            self.book_supply(need.supply, start.week, plants * need.each);
        }
    }

    /// Own hours first, then those of others, then hired ones.
    fn book_hours(&mut self, crew: usize, week: usize, hours: f64) {
        let mut left = hours - self.idle(crew, week).min(hours);
        self.crews[crew].work[week] += hours;
        for lender in self.lenders(crew) {
            let lent = self.idle(lender, week).min(left);
            self.crews[lender].lent[week] += lent;
            self.crews[crew].borrowed[week] += lent;
            left -= lent;
        }
        self.crews[crew].hired[week] += left;
    }

    /// Own units first, those that go soonest before others; then bought ones.
    fn book_supply(&mut self, supply: usize, week: usize, units: f64) {
        let (known, used) = (&self.model.supplies[supply], &mut self.supplies[supply]);
        used.used[week] += units;
        let mut left = units;
        let mut batches: Vec<usize> = (0..known.batches.len()).collect();
        batches.sort_by_key(|at| known.batches[*at].until);
        for at in batches {
            let taken = &mut used.from_batches[at];
            let units = good(&known.batches[at], taken, week).min(left);
            taken[week] += units;
            left -= units;
        }
        used.bought[week] += left;
    }

    fn finished(self) -> ThumbPlan {
        let model = self.model;
        let starts = self.starts.iter().map(|((way, at), plants)| PlannedStart {
            operation: model.operations[*way].id.clone(),
            week: model.operations[*way].starts[*at].week,
            plants: *plants,
        });
        let excess = model.places.iter().filter_map(|place| {
            let over = self.ground.get(place.place.as_str())?.iter();
            let over = over.map(|taken| (taken - place.area_m2).max(0.0));
            Some(over.sum::<f64>() * place.excess_cost)
        });
        ThumbPlan {
            jobs: jobs(model, &starts.collect::<Vec<_>>()),
            excess: excess.sum(),
            crew_use: self.crews,
            supply_use: self.supplies,
        }
    }
}

/// Plants put in for each one that is wanted. Who sows counts the seeds that come up and stay true.
fn put_in(operation: &Operation, start: &Start) -> f64 {
    let comes_up: f64 = start.ready.iter().map(|it| it.share).sum();
    if operation.from.is_none() && comes_up > 0.0 {
        MORE / comes_up
    } else {
        MORE
    }
}

/// Units of a batch that are good in a week and that nobody has booked.
fn good(batch: &season::SupplyBatch, taken: &[f64], week: usize) -> f64 {
    if !(batch.from..=batch.until).contains(&(week as i64)) {
        return 0.0;
    }
    let by_week = taken.iter().enumerate();
    let gone = by_week.map(|(week, units)| units / batch.kept(week as i64));
    (batch.amount - gone.sum::<f64>()).max(0.0) * batch.kept(week as i64)
}

/// Weeks until the mean plant is ready, rounded up.
fn mean_week(parts: &[season::Fraction]) -> i64 {
    let all: f64 = parts.iter().map(|it| it.share).sum();
    let weeks: f64 = parts.iter().map(|it| it.share * it.week as f64).sum();
    (weeks / all).ceil() as i64
}

/// The weeks from one up to another of a series.
fn within(series: &mut [f64], from: i64, until: i64) -> impl Iterator<Item = &mut f64> {
    let from = usize::try_from(from).unwrap_or(0);
    let until = usize::try_from(until).unwrap_or(0);
    series
        .iter_mut()
        .skip(from)
        .take(until.saturating_sub(from))
}
