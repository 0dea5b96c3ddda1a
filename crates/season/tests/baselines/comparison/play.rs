//! Plans found and played.

use std::convert::Infallible;
use std::num::NonZero;

use futures::{Count, Engine, Options, Summary, Turnover};
use planner::{Outcome, Plan, PlanOptions};
use season::{
    PlannedJob, Player, Protected, SeasonModel, Settled, earned, futures_case, hours_for_starts,
    own_hours_for_starts, protect,
};

/// Seed of the futures that protection learns from, and how many it has.
const SEED_OF_ROUNDS: u64 = 1;
const FUTURES_OF_ROUNDS: u32 = 500;

/// Threads of the engine.
const THREADS: usize = 2;

/// More starts than this make a season large: it is looked at by periods of so many weeks first, and has at most so
/// many rounds.
const MANY_STARTS: usize = 10_000;
const PERIOD: Option<NonZero<usize>> = NonZero::new(6);
const ROUNDS_OF_LARGE: usize = 1;

fn is_large(case: &planner::Case) -> bool {
    let starts = case.operations.iter().map(|it| it.starts.len());
    starts.sum::<usize>() > MANY_STARTS
}

/// The best plan of a case.
pub fn planned(case: &planner::Case, before: Option<&Plan>) -> Plan {
    let options = PlanOptions {
        start: before.and_then(|plan| plan.basis.clone()),
        anew: is_large(case),
        period: PERIOD.filter(|_| before.is_none() && is_large(case)),
        leave_out: before.map(|plan| plan.unweighed.clone()),
        threads: Some(1),
        ..PlanOptions::default()
    };
    match planner::plan(case, &options).expect("a right case") {
        Outcome::Planned(plan) => *plan,
        Outcome::NotPlanned(status) => panic!("{status:?}"),
    }
}

struct Rounds {
    at_mean: Option<Plan>,
}

impl Player for Rounds {
    type Error = Infallible;

    fn rounds(&self, case: &planner::Case) -> usize {
        if is_large(case) {
            ROUNDS_OF_LARGE
        } else {
            season::ROUNDS
        }
    }

    fn plan(
        &mut self,
        _round: usize,
        case: &planner::Case,
        before: Option<&Plan>,
    ) -> Result<Option<Plan>, Infallible> {
        let plan = planned(case, before);
        self.at_mean.get_or_insert_with(|| plan.clone());
        Ok(Some(plan))
    }

    fn play(
        &mut self,
        _round: usize,
        case: &futures::case::Case,
        count: &Count,
    ) -> Result<(Summary, Turnover), Infallible> {
        let engine = Engine::try_new(case).expect("a right case");
        Ok(counted(
            &engine,
            0..FUTURES_OF_ROUNDS,
            SEED_OF_ROUNDS,
            count,
        ))
    }
}

fn counted(
    engine: &Engine,
    which: std::ops::Range<u32>,
    seed: u64,
    count: &Count,
) -> (Summary, Turnover) {
    let options = Options {
        futures: which.end,
        seed,
        threads: THREADS.min(which.len()),
        keep_arrivals: false,
    };
    let (tally, turnover) = engine
        .count(which, &options, count, None, None)
        .expect("nobody cancels it");
    (engine.summary(&tally), turnover)
}

/// The protected plan, and the plan at mean yields.
pub fn protected(model: &SeasonModel) -> (Protected, Plan) {
    let mut rounds = Rounds { at_mean: None };
    let Ok(found) = protect(model, SEED_OF_ROUNDS, &mut rounds);
    (
        found.expect("a plan"),
        rounds.at_mean.expect("the first round's plan"),
    )
}

/// A plan's jobs ready to be played.
pub struct Played<'a> {
    model: &'a SeasonModel,
    jobs: &'a [PlannedJob],
    settled: Settled<'a>,
    count: Count,
    pub case: futures::case::Case,
    engine: Engine,
}

impl<'a> Played<'a> {
    pub fn new(model: &'a SeasonModel, jobs: &'a [PlannedJob], settled: Settled<'a>) -> Self {
        let hours = hours_for_starts(model, jobs, settled.crew_use);
        let case = futures_case(model, jobs, &hours, 0);
        let own_hours = own_hours_for_starts(model, jobs, settled.crew_use);
        Self {
            model,
            jobs,
            settled,
            count: Count {
                own_hours,
                watches: Vec::new(),
            },
            engine: Engine::try_new(&case).expect("a right case"),
            case,
        }
    }

    /// What it earns in the mean of some futures, and their odds.
    pub fn in_futures(&self, which: std::ops::Range<u32>, seed: u64) -> (f64, Summary) {
        let (odds, turnover) = counted(&self.engine, which, seed, &self.count);
        let money = earned(self.model, self.jobs, self.settled, &turnover);
        (money.profit(), odds)
    }
}
