//! What is told of a future is what it is played with.

use std::collections::BTreeMap;

use barkslip_futures::case::{Case, Lot, Operation, Order, Path, Phase, Shared};
use barkslip_futures::{Engine, Options};

const WEEKS: u32 = 40;
const SEED: u64 = 4;

/// Lots of many plants, alike in pace, so that what they come to shows their shares and paces.
fn case() -> Case {
    let phase = Phase {
        degree_days: 100.0,
        within_lot: 0.0,
        between_lots: 0.3,
        survival: 0.8,
        survival_rho: 0.1,
        split: None,
        climate: "open".to_owned(),
        shared_sd: 0.5,
    };
    let path = |heat: f64| Path {
        climates: BTreeMap::from([("open".to_owned(), vec![heat; WEEKS as usize])]),
        ..Path::default()
    };
    let lot = Lot {
        id: "L".to_owned(),
        stage: "liner".to_owned(),
        immature: 1_000_000,
        ready: Vec::new(),
        degree_days_so_far: 0.0,
        group: Some("batch".to_owned()),
        luck: vec![Shared {
            group: "place".to_owned(),
            sd: 0.2,
        }],
        known: None,
    };
    let sow = Operation {
        operation: "sow".to_owned(),
        takes_from: None,
        moves_to: "seedling".to_owned(),
        week: 3,
        late_until: 3,
        plants: Some(1_000_000),
        crew: None,
        hours_per_plant: 0.0,
        group: None,
        window: None,
        luck: Vec::new(),
        makes_up_for: Vec::new(),
        times: 1.0,
    };
    let order = Order {
        id: "A".to_owned(),
        accepts: vec!["liner".to_owned()],
        plants: 1,
        earliest: 0,
        due: 39,
        latest: 39,
        priority: 0,
        tolerance: 0.0,
        kept: 0.5,
        minimum_load: 0,
    };
    Case {
        format: 2,
        weeks: WEEKS,
        paths: vec![path(10.0), path(7.0)],
        phases: BTreeMap::from([
            ("liner".to_owned(), phase.clone()),
            ("seedling".to_owned(), phase),
        ]),
        lots: vec![lot],
        operations: vec![sow],
        orders: vec![order],
        ..Case::default()
    }
}

/// The weeks in which plants of a stage become ready in a future, with how many.
fn arrivals(engine: &Engine, future: u32, stage: &str) -> Vec<(usize, f64)> {
    let options = Options {
        futures: 1,
        seed: SEED,
        threads: 1,
        keep_arrivals: true,
    };
    let tally = engine
        .tally(future..future + 1, &options, None, None)
        .expect("nobody cancels it");
    let supply = engine.summary(&tally).arrivals.expect("they are kept");
    let weeks = supply[stage].iter().copied().enumerate();
    weeks.filter(|(_, plants)| *plants > 0.0).collect()
}

#[test]
fn paces_paths_and_kept_lines_are_those_of_play() {
    let engine = Engine::try_new(&case()).expect("a right case");
    let mut paths = [0, 0];
    for future in 0..40 {
        let told = engine.told(future, SEED);
        paths[told.path] += 1;
        let heat = [10.0, 7.0][told.path];
        for (truth, stage, first) in [
            (&told.lots[0], "liner", 0),
            (&told.started[0], "seedling", 4),
        ] {
            // All plants are ready in the week that ends with their need.
            let needs = 100.0 * libm::exp(truth.log_pace);
            let week = first + (needs / heat).ceil() as usize - 1;
            let found = arrivals(&engine, future, stage);
            assert_eq!(found.len(), 1, "{found:?}");
            assert_eq!(found[0].0, week, "future {future}");
            // A lot so large is drawn by its share, which is the next draw.
            let share = found[0].1 / 1e6;
            assert!((share - truth.survival).abs() < 0.003, "{share} {truth:?}");
        }
    }
    assert!(paths.iter().all(|times| *times > 8), "{paths:?}");
    let kept = (0..400).filter(|future| engine.told(*future, SEED).kept["A"]);
    assert!((160..240).contains(&kept.count()));
}
