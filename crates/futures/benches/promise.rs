//! Memory and time of questions about promises: 1,000 stored futures of the medium case, 49 stages
//! that may be sold, 300 lines, all of them protected.

#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench measures and tells"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::time::Instant;

use barkslip_futures::case::{Case, Order};
use barkslip_futures::{Asked, Engine, Keep, Options, Stored};

const AT_ODDS: f64 = 0.9;
/// Other stages and parts that an enquiry looks at besides what it asks for.
const ALTERNATIVES: usize = 5;

fn main() {
    let text = include_str!("../tests/data/medium.json");
    let case: Case = serde_json::from_str(text).expect("the case is in format 2");
    let stored = stored(&case);
    println!(
        "{:.1} MB for {} futures",
        stored.bytes() as f64 / 1e6,
        stored.futures()
    );
    let questions = questions(&case);
    for plants in [20, 200, 2_000] {
        let questions = questions.iter().map(|line| Order {
            plants,
            ..line.clone()
        });
        let mut free = 0;
        let times = questions.map(|line| {
            let start = Instant::now();
            let asked = Asked {
                line,
                at_odds: AT_ODDS,
            };
            let answer = stored.ask(&asked).expect("the line is valid");
            free += usize::from(answer.breaks.is_empty() && answer.odds >= AT_ODDS);
            start.elapsed().as_secs_f64() * 1e3
        });
        tell(&format!("asking for {plants}"), times.collect());
        println!("  {free} could be promised");
    }
    let times = (0..questions.len()).map(|at| {
        let start = Instant::now();
        enquire(&stored, &questions, at);
        start.elapsed().as_secs_f64() * 1e3
    });
    let mean = tell("an enquiry with five alternatives", times.collect());
    println!("  2 cores keep up with {:.0} a second", 2e3 / mean);
}

fn stored(case: &Case) -> Stored {
    let engine = Engine::try_new(case).expect("the case is valid");
    let options = Options {
        threads: 2,
        ..Options::default()
    };
    let keep = Keep {
        stages: BTreeSet::new(),
        targets: case
            .orders
            .iter()
            .map(|order| (order.id.clone(), 0.85))
            .collect::<BTreeMap<_, _>>(),
    };
    let start = Instant::now();
    let stored = engine.store(0..1_000, &options, &keep, None, None);
    println!("{:.2} s to play and keep", start.elapsed().as_secs_f64());
    stored.expect("the case is valid").1
}

/// As every line of the case, once more.
fn questions(case: &Case) -> Vec<Order> {
    let again = |order: &Order| Order {
        id: format!("{} again", order.id),
        ..order.clone()
    };
    case.orders.iter().map(again).collect()
}

fn enquire(stored: &Stored, questions: &[Order], at: usize) {
    let ask = |line: Order| {
        let at_odds = AT_ODDS;
        stored
            .ask(&Asked { line, at_odds })
            .expect("the line is valid")
    };
    ask(questions[at].clone());
    let others = questions.iter().cycle().skip(at + 1);
    for other in others.take(ALTERNATIVES) {
        let line = Order {
            accepts: other.accepts.clone(),
            ..questions[at].clone()
        };
        ask(line);
    }
}

/// Prints and returns the mean of some times (ms).
fn tell(what: &str, mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    let mean = times.iter().sum::<f64>() / times.len() as f64;
    let p99 = times[times.len() * 99 / 100];
    println!("{what}: mean {mean:.2} ms, p99 {p99:.2} ms");
    mean
}
