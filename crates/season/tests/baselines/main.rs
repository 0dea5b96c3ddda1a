//! scratch
mod comparison;
use comparison::*;
use std::time::Instant;
#[test]
fn scratch() {
    for seed in std::env::var("SEEDS")
        .unwrap_or("1,2,3,4,5".into())
        .split(',')
        .map(|s| s.parse::<u64>().unwrap())
    {
        let t = Instant::now();
        let model = made(seed);
        let starts: usize = model.operations.iter().map(|o| o.starts.len()).sum();
        println!(
            "== {seed}: {} lines {} stages {} ops {starts} starts, {} unplanned, trees {}",
            model.lines.len(),
            model.stages.len(),
            model.operations.len(),
            model.unplanned.len(),
            model.lines.iter().map(|l| l.plants).sum::<f64>()
        );
        if std::env::var("ROUNDS").is_ok() {
            let (p, _) = play::protected(&model);
            for r in &p.rounds {
                println!(
                    "   {:.0} {:.0} target {} safe {} on {:.1}",
                    r.planned, r.expected, r.at_target, r.safe, r.on_time
                );
            }
            println!("best {}", p.best);
        }
        println!("{:?}", t.elapsed());
        let n: u32 = std::env::var("N")
            .ok()
            .and_then(|s| s.parse().ok())
            .unwrap_or(10);
        let c = rows::compared(&model, n);
        for r in &c.rows {
            println!(
                "{} {:.0} {:.0} on {:.1} ",
                r.name, r.expected, r.profit, r.on_time
            );
        }
        if let Some((_, b)) = &c.bound {
            println!(
                "bound {:.0} +- {:.0} on {:.1} safe {:.3}",
                b.profit, b.either_side, b.on_time, b.safe
            );
        }
        println!(
            "lines {} safe {} kept {:.3} closed {:?} {:?}",
            c.lines,
            c.safe,
            c.safe_and_kept,
            c.closed(),
            t.elapsed()
        );
    }
}
