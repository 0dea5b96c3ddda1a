//! Whether the engine's odds are honest: of what it calls 90 % likely, nine in ten come true in small
//! nurseries that another simulator plays day by day and plant by plant. The page
//! `docs/models/calibration.md` has the tables; [`page`] holds it to what is found here.

mod case;
mod page;

use std::sync::LazyLock;

use futures::case::Case;
use futures::{Options, simulate};
use models::reliability::{
    Bin, Bins, Call, Decomposition, cluster_errors, decompose, reliability_bins,
};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use testkit::small::{Life, LineFate, Nursery};

const NURSERIES: u64 = 300;
/// How often each of them is lived through.
const LIVES: u64 = 10;
const FUTURES: u32 = 1_000;
/// Faults are coarse and need fewer.
const FUTURES_OF_FAULTS: u32 = 300;
const RESAMPLES: usize = 1_000;
/// How many standard errors a bin may lie off.
const ERRORS_ALLOWED: f64 = 3.0;
/// Odds that are nearly sure have a bin of their own besides.
const NEARLY_SURE: f64 = 0.95;

/// A nursery and what really became of it, each time.
struct World {
    nursery: Nursery,
    lives: Vec<Life>,
}

/// What was called and what came true, over all nurseries.
struct Account {
    bins: Vec<Held>,
    nearly_sure: Held,
    parts: Decomposition,
}

/// A bin, and how far its share may lie from its odds by chance.
#[derive(Clone, Copy)]
struct Held {
    bin: Bin,
    error: f64,
}

impl Held {
    /// By how many standard errors more came true than was called.
    fn off(&self) -> f64 {
        (self.bin.share - self.bin.mean_odds) / self.error
    }
}

impl Account {
    fn new(calls: &[Vec<Call>]) -> Self {
        let all = calls.concat();
        let held = |bins: &Bins| -> Vec<Held> {
            let mut stream = ChaCha8Rng::seed_from_u64(1);
            let below = |count: usize| (stream.next_u64() % count as u64) as usize;
            let errors = cluster_errors(calls, bins, RESAMPLES, below);
            let both = reliability_bins(&all, bins).into_iter().zip(errors);
            both.map(|(bin, error)| Held {
                bin,
                error: error.expect("every bin is in many resamples"),
            })
            .collect()
        };
        let ends = Bins::try_new(&[NEARLY_SURE]).expect("one cut");
        Self {
            bins: held(&Bins::tenths()),
            nearly_sure: *held(&ends).last().expect("some are nearly sure"),
            parts: decompose(&all, &Bins::tenths()).expect("calls"),
        }
    }

    /// Every bin that is shown.
    fn shown(&self) -> impl Iterator<Item = &Held> {
        self.bins.iter().chain([&self.nearly_sure])
    }

    /// The bin that lies farthest off, in standard errors.
    fn worst(&self) -> f64 {
        self.shown()
            .map(|held| held.off().abs())
            .fold(0.0, f64::max)
    }
}

/// A function of every item, on as many threads as there are.
fn on_all_threads<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let work = &work;
    std::thread::scope(|scope| {
        let parts = items.chunks(items.len().div_ceil(threads));
        let running: Vec<_> = parts
            .map(|part| scope.spawn(move || part.iter().map(work).collect::<Vec<_>>()))
            .collect();
        let done = running
            .into_iter()
            .map(|part| part.join().expect("no panic"));
        done.flatten().collect()
    })
}

static WORLDS: LazyLock<Vec<World>> = LazyLock::new(|| {
    let seeds: Vec<u64> = (1..=NURSERIES).collect();
    on_all_threads(&seeds, |seed| {
        let nursery = Nursery::made(*seed);
        let seeds = (0..LIVES).map(|life| (1 + life) << 32 | seed);
        let lives = seeds.map(|seed| nursery.live(seed)).collect();
        World { nursery, lives }
    })
});

static HONEST: LazyLock<Account> = LazyLock::new(|| account(FUTURES, |_| ()));
static TOO_GOOD: LazyLock<Account> = LazyLock::new(|| account(FUTURES_OF_FAULTS, survive_too_well));
static TOO_QUICK: LazyLock<Account> = LazyLock::new(|| account(FUTURES_OF_FAULTS, grow_too_fast));
static APART: LazyLock<Account> = LazyLock::new(|| account(FUTURES_OF_FAULTS, share_no_luck));

/// Holds what the engine calls, told so much, against what came true.
fn account(futures: u32, told: impl Fn(&mut Case) + Sync) -> Account {
    let calls = on_all_threads(&WORLDS, |world| {
        let mut case = case::case_of(&world.nursery);
        told(&mut case);
        calls_of(world, &case, futures)
    });
    Account::new(&calls)
}

fn calls_of(world: &World, case: &Case, futures: u32) -> Vec<Call> {
    let options = Options {
        futures,
        ..Options::default()
    };
    let summary = simulate(case, &options, None, None).expect("a sound case");
    let lines = &world.nursery.lines;
    let fates = world
        .lives
        .iter()
        .flat_map(|life| lines.iter().zip(&life.lines));
    fates
        .filter(|(_, fate)| fate.kept)
        .map(|(line, fate)| {
            let odds = summary.orders[&line.name].on_time;
            Call::try_new(odds, is_on_time(*fate, line.due)).expect("odds")
        })
        .collect()
}

fn is_on_time(fate: LineFate, due: i32) -> bool {
    fate.complete.is_some_and(|week| week <= due)
}

/// Survival and take a fifth higher than they are, at most 0.99.
fn survive_too_well(case: &mut Case) {
    let higher = |share: &mut f64| *share = (1.2 * *share).min(0.99);
    for phase in case.phases.values_mut() {
        higher(&mut phase.survival);
        if let Some(split) = &mut phase.split {
            higher(&mut split.share);
        }
    }
}

/// A fifth less heat until ready than plants need.
fn grow_too_fast(case: &mut Case) {
    for phase in case.phases.values_mut() {
        phase.degree_days *= 0.8;
    }
}

/// Every lot has luck of its own only.
fn share_no_luck(case: &mut Case) {
    for phase in case.phases.values_mut() {
        phase.shared_sd = 0.0;
    }
    case.lots.iter_mut().for_each(|lot| lot.luck.clear());
    let operations = case.operations.iter_mut();
    operations.for_each(|operation| operation.luck.clear());
}

/// One test, since all parts look at the same lives, which take a minute to play.
#[test]
fn odds_are_honest_and_faults_are_seen() {
    what_is_called_comes_true_as_often();
    every_bin_has_many_lines();
    plants_that_are_thought_to_survive_too_well_are_seen();
    plants_that_are_thought_to_grow_too_fast_are_seen();
    luck_that_is_not_thought_of_as_shared_is_seen();
    page::the_page_shows_what_is_found();
}

fn what_is_called_comes_true_as_often() {
    for held in HONEST.shown() {
        let Bin {
            from,
            to,
            calls,
            mean_odds,
            share,
            ..
        } = held.bin;
        assert!(
            held.off().abs() <= ERRORS_ALLOWED,
            "{from} to {to}: {mean_odds:.3} called, {share:.3} came true of {calls}, error {:.3}",
            held.error
        );
    }
}

fn every_bin_has_many_lines() {
    assert_eq!(HONEST.bins.len(), 10);
    let of_100_lines = 100 * LIVES as usize;
    assert!(HONEST.shown().all(|held| held.bin.calls >= of_100_lines));
}

/// The reliability of a fault is so many times that of honest odds, and some bin is far off.
fn is_seen(fault: &Account, times: f64) {
    let grown = fault.parts.reliability / HONEST.parts.reliability;
    assert!(
        fault.worst() > ERRORS_ALLOWED,
        "{:.1} errors",
        fault.worst()
    );
    assert!(grown > times, "reliability grew {grown:.1} times");
}

fn plants_that_are_thought_to_survive_too_well_are_seen() {
    is_seen(&TOO_GOOD, 100.0);
}

fn plants_that_are_thought_to_grow_too_fast_are_seen() {
    is_seen(&TOO_QUICK, 100.0);
}

fn luck_that_is_not_thought_of_as_shared_is_seen() {
    is_seen(&APART, 10.0);
}
