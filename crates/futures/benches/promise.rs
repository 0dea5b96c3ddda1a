//! Memory and time of questions about promises: 1,000 stored futures of the medium case, 49 stages
//! that may be sold, 300 lines, all of them protected. As it is, lines that accept several stages
//! join up to 62 lines, and few plants are left for anybody; with the best stage of each line alone
//! it is more like a nursery that takes orders.

#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench measures and tells"
)]

use std::time::Instant;

use barkslip_futures::case::{Case, Order};
use barkslip_futures::{Asked, Engine, Keep, Options, Stored};

const AT_ODDS: f64 = 0.9;
/// Other stages that an enquiry looks at besides the one asked for.
const ALTERNATIVES: usize = 5;

fn main() {
    let text = include_str!("../tests/data/medium.json");
    let joined: Case = serde_json::from_str(text).expect("the case is in format 2");
    let mut apart = joined.clone();
    for order in &mut apart.orders {
        order.accepts.truncate(1);
        order.plants = order.plants.div_ceil(3);
    }
    for (name, case) in [("as it is", joined), ("best stages alone", apart)] {
        println!("{name}:");
        measure(&case);
    }
}

fn measure(case: &Case) {
    let clock = Clock(Instant::now());
    let stored = stored(case);
    let megabytes = stored.bytes() as f64 / 1e6;
    println!("  {megabytes:.1} MB for {} futures", stored.futures());
    let questions = questions(case);
    for plants in [20, 200] {
        let mut promised = 0;
        let times = questions.iter().map(|line| {
            let line = Order {
                plants,
                ..line.clone()
            };
            clock.time(|| promised += usize::from(may_be_promised(&stored, line)))
        });
        tell(&format!("asking for {plants}"), times.collect());
        println!("    {promised} of {} could be promised", questions.len());
    }
    let times = (0..questions.len()).map(|at| clock.time(|| enquire(&stored, &questions, at)));
    let mean = tell("an enquiry with five alternatives", times.collect());
    println!("    2 cores keep up with {:.0} a second", 2e3 / mean);
}

/// Measures work.
struct Clock(Instant);

impl Clock {
    /// Seconds that this thread has been at work; on other systems than Linux, seconds gone by.
    fn now(&self) -> f64 {
        let worked = std::fs::read_to_string("/proc/thread-self/schedstat");
        let worked = worked
            .ok()
            .and_then(|it| it.split(' ').next()?.parse::<f64>().ok());
        worked.map_or(self.0.elapsed().as_secs_f64(), |it| it / 1e9)
    }

    /// How long something takes (ms).
    fn time(&self, work: impl FnOnce()) -> f64 {
        let start = self.now();
        work();
        (self.now() - start) * 1e3
    }
}

fn stored(case: &Case) -> Stored {
    let engine = Engine::try_new(case).expect("the case is valid");
    let options = Options {
        threads: 2,
        ..Options::default()
    };
    let targets = case.orders.iter().map(|order| (order.id.clone(), 0.85));
    let keep = Keep {
        targets: targets.collect(),
        ..Keep::default()
    };
    let stored = engine.store(0..1_000, &options, &keep, None, None);
    stored.expect("the case is valid").1
}

/// Every line of the case, once more.
fn questions(case: &Case) -> Vec<Order> {
    let again = |order: &Order| Order {
        id: format!("{} again", order.id),
        ..order.clone()
    };
    case.orders.iter().map(again).collect()
}

fn may_be_promised(stored: &Stored, line: Order) -> bool {
    let asked = Asked {
        line,
        at_odds: AT_ODDS,
    };
    let answer = stored.ask(&asked).expect("the line is valid");
    answer.breaks.is_empty() && answer.odds >= AT_ODDS
}

fn enquire(stored: &Stored, questions: &[Order], at: usize) {
    let line = &questions[at];
    may_be_promised(stored, line.clone());
    let others = questions.iter().cycle().skip(at + 1);
    for other in others.take(ALTERNATIVES) {
        let line = Order {
            accepts: other.accepts.clone(),
            ..line.clone()
        };
        let supply = stored.supply(&line).expect("the line is valid");
        supply.odds(line.plants, usize::try_from(line.due).unwrap_or(0));
    }
}

/// Prints and returns the mean of some times (ms).
fn tell(what: &str, mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    let mean = times.iter().sum::<f64>() / times.len() as f64;
    let p99 = times[times.len() * 99 / 100];
    println!("  {what}: mean {mean:.2} ms, p99 {p99:.2} ms");
    mean
}
