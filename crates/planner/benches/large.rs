//! Seconds and memory to plan a large made season, and to plan it again after one count:
//! `cargo bench -p planner --bench large --profile dev`, with `-- tenth` for a season of a tenth of its lines. `-- bound`
//! weighs every start as well: its duals prove a bound of the whole model of weeks, which the last plan is held against.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]
#![expect(clippy::disallowed_methods, reason = "a bench reads the clock")]

use std::num::NonZero;
use std::time::Instant;

use planner::{Case, Plan, PlanOptions, plan};
use testkit::LargeSeason;

/// Weeks of the periods by which the season is first looked at.
const PERIOD: NonZero<usize> = NonZero::new(6).expect("six is not zero");

fn main() {
    let is_asked = |what: &str| std::env::args().any(|it| it == what);
    let season = if is_asked("tenth") {
        LargeSeason {
            rootstocks: 3,
            varieties: 4,
            lines: 200,
            ..LargeSeason::default()
        }
    } else {
        LargeSeason::default()
    };
    let mut case: Case = serde_json::from_value(season.case(1)).expect("the season is a case");
    println!(
        "{} stages, {} weeks, {} order lines",
        case.stages.len(),
        case.weeks,
        case.orders.len()
    );
    let by_periods = PlanOptions {
        period: Some(PERIOD),
        ..PlanOptions::default()
    };
    let first = planned("first", &case, &by_periods);
    // One count finds a tenth of the plants of one standing row gone.
    case.standing[0].arrivals[0].plants *= 0.9;
    let again = PlanOptions {
        start: first.basis.clone(),
        leave_out: Some(first.unweighed.clone()),
        ..PlanOptions::default()
    };
    let after = planned("after one count", &case, &again);
    if is_asked("bound") {
        let best = planned("every start weighed", &case, &PlanOptions::default());
        // What the duals prove is within the gap of the profit.
        let bound = best.profit + best.checks.gap * (1.0 + best.profit.abs());
        println!(
            "the plan after the count earns {} of the bound",
            after.profit / bound
        );
    }
}

/// Plans and tells what it took.
fn planned(what: &str, case: &Case, options: &PlanOptions) -> Plan {
    let begun = Instant::now();
    let outcome = plan(case, options).expect("the case can be planned");
    let seconds = begun.elapsed().as_secs_f64();
    let plan = outcome.plan().expect("there is a plan");
    println!(
        "{what}: {seconds:.1} s, {} MiB at most, profit {:.2}, {} of {} starts weighed, {} lines short, {:?}",
        most_memory().unwrap_or_default(),
        plan.profit,
        plan.possible_starts - plan.left_out,
        plan.possible_starts,
        plan.short.len(),
        plan.checks
    );
    plan
}

/// The most memory that the program has had so far, MiB, where the system tells it.
fn most_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|it| it.starts_with("VmHWM:"))?;
    let kib: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib / 1024)
}
