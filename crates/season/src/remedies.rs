//! What a nursery does where its plan falls short, as standing rules of the futures.
//!
//! The planner knows none of them: it plans at mean yields. In a future a rule works only with hours that
//! planned work leaves, and only where seed, buds or liners are there or can be bought.

use futures::case::JobName;
use nursery::catalogue::StageKind;

use crate::balance::Balance;
use crate::lower_plan::PlannedJob;
use crate::model::{Operation, SeasonModel};

/// Heat that settles nearly all plants of a lot, as a share of the middle plant's.
const NEARLY_ALL: f64 = 1.25;

/// Weeks before a season in which buds were set whose misses it may bud again.
const WEEKS_BEFORE: usize = 30;

/// Plants at the most that a remedy may begin: sums of all sown plants stay countable.
const MANY: u32 = 100_000;

/// Work that is done only where the plan fell short.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// Index of the operation.
    pub operation: usize,
    /// First and last week.
    pub span: (i64, i64),
    /// Plants at the most.
    pub plants: u32,
    /// The jobs it makes up for.
    pub makes_up_for: Vec<JobName>,
    /// Plants for each one that those lack.
    pub times: f64,
    /// Why it is done, in the names of cases.
    pub why: &'static str,
}

/// Ways to make up for one thing, best first; each is the work to be done, in its order.
type Ways = Vec<Vec<Remedy>>;

/// All remedies of a plan that the nursery wants, in the order in which they take plants and hours.
pub fn remedies(model: &SeasonModel, jobs: &[PlannedJob]) -> Vec<Remedy> {
    let wanted = model.remedies;
    let plan = Plan { model, jobs };
    let mut found = Vec::new();
    if wanted.rebud {
        found.extend(plan.rebuds());
    }
    if wanted.buy_in {
        found.extend(plan.bought_liners());
    }
    if wanted.resow {
        found.extend(plan.resowings());
    }
    supplied(Balance::after(model, jobs), &found)
}

/// What can be done with what is left over. Those that begin earlier are given theirs first.
fn supplied(mut balance: Balance<'_>, wanted: &[Ways]) -> Vec<Remedy> {
    let mut given: Vec<Vec<Remedy>> = vec![Vec::new(); wanted.len()];
    let begins = |ways: &Ways| ways.iter().flatten().map(|it| it.span.0).min();
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by_key(|at| begins(&wanted[*at]));
    for at in order {
        let mut ways = wanted[at].iter();
        if let Some((left, work)) = ways.find_map(|way| with_supplies(&balance, way)) {
            balance = left;
            given[at] = work;
        }
    }
    given.into_iter().flatten().collect()
}

/// Work for as many plants as there is enough for, no more of them than what comes before it puts through,
/// and what is left then. None where a part of it has nothing.
fn with_supplies<'a>(balance: &Balance<'a>, way: &[Remedy]) -> Option<(Balance<'a>, Vec<Remedy>)> {
    let mut balance = balance.clone();
    let mut begun = u32::MAX;
    let mut work = Vec::new();
    for remedy in way {
        begun = balance.give(remedy.operation, remedy.span, begun.min(remedy.plants))?;
        work.push(Remedy {
            plants: begun,
            ..remedy.clone()
        });
    }
    Some((balance, work))
}

struct Plan<'a> {
    model: &'a SeasonModel,
    jobs: &'a [PlannedJob],
}

impl Plan<'_> {
    /// Missed stocks that the plan leaves are budded again while the season lasts, with the variety of which
    /// most buds were set there this season and the one before.
    fn rebuds(&self) -> Vec<Ways> {
        let mut found = Vec::new();
        for stand in 0..self.model.stages.len() {
            if self.model.stages[stand].kind != StageKind::Missed {
                continue;
            }
            let ways: Vec<usize> = self.operations(|it| it.from == Some(stand)).collect();
            let mut spans: Vec<(usize, usize, usize)> = ways
                .iter()
                .flat_map(|way| {
                    let seasons = seasons(&self.model.operations[*way]);
                    seasons.into_iter().map(|(from, until)| (from, until, *way))
                })
                .collect();
            spans.sort_unstable();
            let same = |one: &(usize, usize, usize), other: &(usize, usize, usize)| {
                (one.0, one.1) == (other.0, other.1)
            };
            for season in spans.chunk_by(same) {
                let ways: Vec<usize> = season.iter().map(|it| it.2).collect();
                let remedy = self.rebud(stand, (season[0].0, season[0].1), &ways);
                found.extend(remedy.map(|it| vec![vec![it]]));
            }
        }
        found
    }

    fn rebud(&self, stand: usize, (from, until): (usize, usize), ways: &[usize]) -> Option<Remedy> {
        let set = |way: usize| -> u64 {
            let into = self.model.operations[way].into;
            let since = from.saturating_sub(WEEKS_BEFORE);
            let planned = self.jobs.iter().filter(|job| {
                self.model.operations[job.operation].into == into
                    && (since..=until).contains(&job.week)
            });
            let wrapped = self.model.standing.iter().filter(|lot| lot.stage == into);
            let wrapped: u64 = wrapped.map(|lot| u64::from(lot.growing)).sum();
            planned.map(|job| u64::from(job.plants)).sum::<u64>()
                + if since == 0 { wrapped } else { 0 }
        };
        let (most, way) = ways
            .iter()
            .map(|way| (set(*way), *way))
            .max_by_key(|it| it.0)?;
        // Stocks that the plan itself buds again later are left to it.
        let of_plan = self.jobs.iter().filter(|job| {
            self.model.operations[job.operation].from == Some(stand)
                && (from..=until).contains(&job.week)
        });
        let first = of_plan.map(|job| job.week).max().unwrap_or(from) as i64;
        let span = (first, until as i64);
        (most > 0).then(|| Remedy {
            operation: way,
            span,
            plants: self.may_be_missed(stand, until),
            makes_up_for: Vec::new(),
            times: 1.0,
            why: "budded again",
        })
    }

    /// Stocks that stand as missed ones, or may come there until the end of a week.
    fn may_be_missed(&self, stand: usize, until: usize) -> u32 {
        let leads = |stage: usize| {
            let phase = self.model.stages[stage].phase.as_ref();
            let split = phase.and_then(|it| it.split.as_ref());
            stage == stand || split.is_some_and(|it| it.otherwise == stand)
        };
        let standing = self.model.standing.iter().filter(|it| leads(it.stage));
        let standing = standing.map(|it| u64::from(it.growing) + u64::from(it.ready));
        let planned = self
            .jobs
            .iter()
            .filter(|job| job.week <= until && leads(self.model.operations[job.operation].into));
        let planned = planned.map(|job| u64::from(job.plants));
        let all: u64 = standing.chain(planned).sum();
        u32::try_from(all).unwrap_or(MANY).min(MANY)
    }

    /// Where a planned budding lacks liners in the end, liners are bought and budded as soon as they have
    /// settled.
    fn bought_liners(&self) -> Vec<Ways> {
        let buys: Vec<usize> = self
            .operations(|it| it.from.is_none() && self.makes(it, StageKind::Liner))
            .collect();
        let mut found = Vec::new();
        for job in self.jobs {
            let planned = &self.model.operations[job.operation];
            let buds_liners = planned.from.is_some_and(|from| {
                self.model.stages[from].kind == StageKind::Liner && self.is_budding(planned)
            });
            if !buds_liners {
                continue;
            }
            let ways = buys.iter().filter_map(|buy| {
                let liners = self.model.operations[*buy].into;
                let mut ways =
                    self.operations(|it| it.from == Some(liners) && it.into == planned.into);
                Some((*buy, ways.next()?))
            });
            found.push(
                ways.filter_map(|(buy, bud)| self.made_up(job, buy, bud, "bought to make up"))
                    .collect(),
            );
        }
        found
    }

    /// Where a planned line-out or potting lacks seedlings in the end, seed is sown again in the next season
    /// of sowing, and its seedlings are moved in the next one of moving.
    fn resowings(&self) -> Vec<Ways> {
        let mut found = Vec::new();
        for job in self.jobs {
            let planned = &self.model.operations[job.operation];
            let Some(from) = planned.from else { continue };
            let moves_seedlings = self.model.stages[from].kind == StageKind::Seedling
                && self.makes(planned, StageKind::Liner);
            let sow = self
                .operations(|it| it.from.is_none() && it.into == from)
                .next();
            if let (true, Some(sow)) = (moves_seedlings, sow) {
                let way = self.made_up(job, sow, job.operation, "sown again");
                found.push(Vec::from_iter(way));
            }
        }
        found
    }

    /// Plants are begun by one operation once a job's last week is over, and put through another when nearly
    /// all have settled; none where one of the two cannot be done within the plan.
    fn made_up(
        &self,
        job: &PlannedJob,
        begin: usize,
        go_on: usize,
        why: &'static str,
    ) -> Option<Vec<Remedy>> {
        let slip = i64::from(self.model.slip_weeks);
        let over = job.week as i64 + slip;
        let begun = self.next_start(begin, over + 1)?;
        let stage = self.model.operations[begin].into;
        let settled = self.settled(stage, begun)?;
        let gone_on = self.next_start(go_on, settled)?;
        let name = JobName {
            operation: self.model.operations[job.operation].id.clone(),
            week: i32::try_from(job.week).ok()?,
        };
        let yields = self.yields(stage);
        (yields > 0.0).then_some(())?;
        let remedy = |operation: usize, week: i64, times: f64| Remedy {
            operation,
            span: (week, self.last_of_season(operation, week).min(week + slip)),
            plants: (f64::from(job.plants) * times).ceil().min(f64::from(MANY)) as u32,
            makes_up_for: vec![name.clone()],
            times,
            why,
        };
        Some(vec![
            remedy(begin, begun, 1.0 / yields),
            remedy(go_on, gone_on, 1.0),
        ])
    }

    fn operations(&self, wanted: impl Fn(&Operation) -> bool) -> impl Iterator<Item = usize> {
        let all = self.model.operations.iter().enumerate();
        all.filter(move |(_, it)| wanted(it))
            .map(|(index, _)| index)
    }

    fn makes(&self, operation: &Operation, kind: StageKind) -> bool {
        self.model.stages[operation.into].kind == kind
    }

    fn is_budding(&self, operation: &Operation) -> bool {
        let from = operation.from.map(|from| self.model.stages[from].kind);
        self.makes(operation, StageKind::Budded) && from != Some(StageKind::Budded)
    }

    /// The first week from one on in which an operation may start.
    fn next_start(&self, operation: usize, from: i64) -> Option<i64> {
        let weeks = self.model.operations[operation].starts.iter();
        let mut weeks = weeks.map(|start| start.week as i64);
        weeks.find(|week| *week >= from)
    }

    /// The last week of the season that a week lies in.
    fn last_of_season(&self, operation: usize, week: i64) -> i64 {
        let seasons = seasons(&self.model.operations[operation]);
        let mut holds = seasons
            .into_iter()
            .filter(|(from, until)| (*from as i64..=*until as i64).contains(&week));
        holds.next().map_or(week, |(_, until)| until as i64)
    }

    /// The week in which nearly all plants that start to grow in a week are ready, in the mean of the weather.
    fn settled(&self, stage: usize, from: i64) -> Option<i64> {
        let phase = self.model.stages[stage].phase.as_ref()?;
        let paths = self.model.paths.iter();
        let heat: Vec<&Vec<f64>> = paths
            .filter_map(|path| path.climates.get(&phase.climate))
            .collect();
        let mut left = NEARLY_ALL * phase.degree_days * heat.len() as f64;
        for week in from + 1..self.model.weeks as i64 {
            let index = usize::try_from(week).ok()?;
            let of_week = heat.iter().filter_map(|path| path.get(index));
            left -= of_week.sum::<f64>();
            if left <= 0.0 {
                return Some(week);
            }
        }
        None
    }

    /// Share of the plants put into a stage that is ready there.
    fn yields(&self, stage: usize) -> f64 {
        let phase = self.model.stages[stage].phase.as_ref();
        phase.map_or(0.0, |phase| {
            phase.survival * phase.split.as_ref().map_or(1.0, |split| split.share)
        })
    }
}

/// First and last week of each run of weeks in which an operation may start.
fn seasons(operation: &Operation) -> Vec<(usize, usize)> {
    let weeks: Vec<usize> = operation.starts.iter().map(|start| start.week).collect();
    weeks
        .chunk_by(|one, next| one + 1 == *next)
        .map(|run| (run[0], run[run.len() - 1]))
        .collect()
}
