//! Tiny seasons whose whole starts are all tried, one after another, without the planner.
//!
//! Liners stand or come of a sowing; two kinds of trees are budded from them, hours, buds and jobs a
//! week being limited. For each way to start, what is shipped best is found by sending plants along
//! the paths that earn most.

use planner::Case;
use serde_json::{Value, json};

use crate::recount::{recount, recount_jobs};
use crate::{close, planned, whole};

const WEEKS: usize = 5;
/// Starts: sow in week 0; bud A in weeks 0 and 2; bud B in weeks 0 and 2. Sown liners are ready in 2.
const SOWN: usize = 0;
const STARTS: [(usize, usize); 5] = [(0, 0), (1, 0), (1, 2), (2, 0), (2, 2)];

/// A random stream of its own.
struct Luck(u64);

impl Luck {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }

    fn within(&mut self, least: u64, most: u64) -> f64 {
        (least + self.below(most - least + 1)) as f64
    }
}

/// The rules of one of the three operations.
#[derive(Clone, Copy, Debug)]
struct Job {
    at_least: f64,
    multiple_of: f64,
    cost: f64,
    each: f64,
    lives: f64,
}

#[derive(Clone, Debug)]
struct Line {
    kind: usize,
    plants: f64,
    earliest: usize,
    due: usize,
    latest: usize,
    price: f64,
    late: f64,
    short: f64,
}

#[derive(Clone, Debug)]
struct Season {
    liners: f64,
    seeds: f64,
    buds: f64,
    bought: f64,
    bud_price: f64,
    hours: f64,
    extra: f64,
    extra_price: f64,
    block: (f64, f64),
    most_jobs: Option<f64>,
    jobs: [Job; 3],
    lines: Vec<Line>,
    wait: f64,
    discard: f64,
}

fn season(luck: &mut Luck, rules: u64) -> Season {
    let has = |rule: u64| rules >> rule & 1 == 1;
    let mut job = |budding: bool| Job {
        at_least: if has(0) { luck.within(0, 5) } else { 0.0 },
        multiple_of: if has(1) { luck.within(1, 4) } else { 1.0 },
        cost: if has(2) { luck.within(0, 12) } else { 0.0 },
        each: luck.within(0, 8) / 4.0,
        lives: if budding {
            luck.within(5, 10) / 10.0
        } else {
            luck.within(7, 10) / 10.0
        },
    };
    let jobs = [job(false), job(true), job(true)];
    let mut line = || {
        let earliest = 1 + luck.below(3) as usize;
        let due = (earliest + luck.below(2) as usize).min(WEEKS - 1);
        Line {
            kind: luck.below(2) as usize,
            plants: luck.within(1, 5),
            earliest,
            due,
            latest: (due + luck.below(2) as usize).min(WEEKS - 1),
            price: luck.within(5, 20),
            late: luck.within(0, 3),
            short: luck.within(0, 9),
        }
    };
    let lines = vec![line(), line(), line()];
    Season {
        liners: luck.within(2, 7),
        seeds: luck.within(0, 4),
        buds: luck.within(2, 8),
        bought: luck.within(0, 2),
        bud_price: luck.within(0, 3),
        hours: luck.within(1, 4),
        extra: luck.within(0, 2),
        extra_price: luck.within(1, 5),
        block: if has(4) {
            (luck.within(1, 3), luck.within(0, 20))
        } else {
            (0.0, 0.0)
        },
        most_jobs: has(3).then(|| luck.within(1, 2)),
        jobs,
        lines,
        wait: luck.within(0, 4) / 4.0,
        discard: luck.within(0, 8) / 4.0,
    }
}

/// The season as a planning case. A bud takes an hour; the block works in weeks 0 and 1.
fn case_of(it: &Season) -> Case {
    let names = ["sow", "bud A", "bud B"];
    let operation = |kind: usize| {
        let job = it.jobs[kind];
        let starts = STARTS.iter().filter(|start| start.0 == kind);
        let ready = if kind == SOWN { 2 } else { 1 };
        let starts: Vec<Value> = starts
            .map(|start| json!({"week": start.1, "ready_after": [[ready, job.lives]]}))
            .collect();
        let (from, to, supply) = match kind {
            SOWN => (Value::Null, "liner".to_owned(), "seed"),
            _ => (json!("liner"), format!("tree {kind}"), "bud"),
        };
        json!({"id": names[kind], "takes_from": from, "moves_to": to, "starts": starts,
            "hours": [[0, "budders", i32::from(kind != SOWN)]],
            "uses": [{"supply": supply, "per_plant": 1}], "cost_per_plant": job.each,
            "cost_per_job": job.cost, "at_least": job.at_least, "multiple_of": job.multiple_of})
    };
    let tree = |kind: usize| {
        json!({"id": format!("tree {kind}"), "place": "row", "area_m2_per_plant": 0,
            "over_age_after_weeks": 99, "wait_cost_per_plant_week": it.wait,
            "discard_cost_per_plant": it.discard})
    };
    let lines: Vec<Value> = it
        .lines
        .iter()
        .enumerate()
        .map(|(at, line)| {
            json!({"id": format!("L{at}"), "plants": line.plants, "earliest": line.earliest,
                "due": line.due, "latest": line.latest, "late_cost_per_plant_week": line.late,
                "short_cost_per_plant": line.short,
                "accepts": [{"stage": format!("tree {}", line.kind + 1), "price": line.price}]})
        })
        .collect();
    serde_json::from_value(json!({
        "format": 2, "weeks": WEEKS, "whole_weeks": WEEKS, "most_jobs_per_week": it.most_jobs,
        "places": [{"id": "row", "area_m2": 1, "excess_cost_per_m2_week": 1}],
        "crews": [{"id": "budders", "hours_per_week": it.hours, "extra_hours_per_week": it.extra,
            "extra_cost_per_hour": it.extra_price, "blocks": [{"from": 0, "weeks": 2,
            "hours_per_week": it.block.0, "cost": it.block.1}]}],
        "supplies": [{"id": "seed", "batches": [{"from": 0, "to": 9, "amount": it.seeds}]},
            {"id": "bud", "batches": [{"from": 0, "to": 9, "amount": it.buds}],
             "buy_price": it.bud_price, "buy_limit_per_week": it.bought}],
        "stages": [{"id": "liner", "place": "row", "area_m2_per_plant": 0,
            "over_age_after_weeks": 99}, tree(1), tree(2)],
        "operations": [operation(0), operation(1), operation(2)],
        "standing": [{"stage": "liner", "arrivals": [[0, it.liners]]}],
        "orders": lines
    }))
    .expect("a case")
}

/// The best profit over all whole starts.
fn best_of_all(it: &Season) -> f64 {
    let mut best = f64::NEG_INFINITY;
    let mut plants = [0.0; STARTS.len()];
    try_from_start(it, 0, &mut plants, &mut best);
    best
}

fn try_from_start(it: &Season, start: usize, plants: &mut [f64; 5], best: &mut f64) {
    if start == STARTS.len() {
        if let Some(cost) = cost_of_starts(it, plants) {
            let shipped: f64 = [1, 2].map(|kind| shipped(it, kind, plants)).iter().sum();
            *best = best.max(shipped - cost);
        }
        return;
    }
    let job = it.jobs[STARTS[start].0];
    let most = if STARTS[start].0 == SOWN {
        it.seeds
    } else {
        it.liners + it.seeds
    };
    for count in 0..=most as u32 {
        let count = f64::from(count);
        let is_right = count == 0.0 || count >= job.at_least && count % job.multiple_of == 0.0;
        if is_right {
            plants[start] = count;
            try_from_start(it, start + 1, plants, best);
        }
    }
    plants[start] = 0.0;
}

/// What starts cost, or nothing where they cannot be.
fn cost_of_starts(it: &Season, plants: &[f64; 5]) -> Option<f64> {
    let [sown, a0, a2, b0, b2] = *plants;
    let (first, second) = (a0 + b0, a2 + b2);
    let liners_last = it.liners + sown * it.jobs[0].lives;
    let bought = (first + second - it.buds).max(0.0);
    let must_buy_first = (first - it.buds).max(0.0);
    let is_short = first > it.liners + 1e-9
        || first + second > liners_last + 1e-9
        || must_buy_first > it.bought
        || bought > it.bought.min(first) + it.bought.min(second);
    let jobs = |all: &[f64]| all.iter().filter(|it| **it > 0.0).count() as f64;
    let most = it.most_jobs.unwrap_or(99.0);
    if is_short || jobs(&[sown, a0, b0]) > most || jobs(&[a2, b2]) > most {
        return None;
    }
    let mut cost = bought * it.bud_price;
    for (start, count) in STARTS.iter().zip(plants) {
        if *count > 0.0 {
            cost += it.jobs[start.0].cost + count * it.jobs[start.0].each;
        }
    }
    let hired = |work: f64, hours: f64| {
        let hired = (work - hours).max(0.0);
        (hired <= it.extra).then_some(hired * it.extra_price)
    };
    let without = hired(first, it.hours);
    let with = hired(first, it.hours + it.block.0).map(|cost| cost + it.block.1);
    let first = match (without, with) {
        (Some(one), Some(other)) => one.min(other),
        (one, other) => one.or(other)?,
    };
    Some(cost + first + hired(second, it.hours)?)
}

/// What the trees of a kind earn at best: those of the two buddings are sent, path by path, to where a
/// plant more earns most, or left over.
fn shipped(it: &Season, kind: usize, plants: &[f64; 5]) -> f64 {
    let lives = it.jobs[kind].lives;
    let of = |start: usize| plants[start] * lives;
    let cohorts = if kind == 1 {
        [(1, of(1)), (3, of(2))]
    } else {
        [(1, of(3)), (3, of(4))]
    };
    let lines: Vec<&Line> = it
        .lines
        .iter()
        .filter(|line| line.kind + 1 == kind)
        .collect();
    let mut earned = -lines
        .iter()
        .map(|line| line.plants * line.short)
        .sum::<f64>();
    let mut left: Vec<f64> = cohorts.iter().map(|it| it.1).collect();
    // A plant left over is thrown out at once or waits to the end.
    let over = |ready: usize| it.discard.min((WEEKS - ready) as f64 * it.wait);
    earned -= cohorts
        .iter()
        .map(|&(ready, plants)| plants * over(ready))
        .sum::<f64>();
    let gain = |cohort: usize, line: usize| {
        let (ready, line) = (cohorts[cohort].0, lines[line]);
        (line.earliest.max(ready)..=line.latest)
            .map(|week| {
                let late = week.saturating_sub(line.due) as f64 * line.late;
                line.price + line.short - late - (week - ready) as f64 * it.wait + over(ready)
            })
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let mut sent = vec![vec![0.0; lines.len()]; 2];
    let mut open: Vec<f64> = lines.iter().map(|it| it.plants).collect();
    while let Some((more, path)) = best_path(&left, &open, &sent, &gain) {
        earned += more;
        for (cohort, line, plants) in path {
            sent[cohort][line] += plants;
            left[cohort] -= plants;
            open[line] -= plants;
        }
    }
    earned
}

/// The path that earns most by each plant: a cohort to a line, or one whose plant there makes room by
/// being sent elsewhere instead. With two cohorts no longer path is needed than over one exchange.
type Path = Vec<(usize, usize, f64)>;

fn best_path(
    left: &[f64],
    open: &[f64],
    sent: &[Vec<f64>],
    gain: &impl Fn(usize, usize) -> f64,
) -> Option<(f64, Path)> {
    let mut best: Option<(f64, f64, Path)> = None;
    let mut offer = |each: f64, plants: f64, path: Path| {
        if plants > 1e-9 && each > 1e-9 && best.as_ref().is_none_or(|it| each > it.0) {
            best = Some((each, plants, path));
        }
    };
    let lines = 0..open.len();
    for cohort in 0..2 {
        let other = 1 - cohort;
        for line in lines.clone() {
            offer(
                gain(cohort, line),
                left[cohort].min(open[line]),
                vec![(cohort, line, 1.0)],
            );
            for to in lines.clone() {
                // Plants of this cohort go to the line, those of the same or the other cohort that
                // were to go there go on to another line or are left over.
                for moved in [cohort, other] {
                    let room = left[cohort].min(sent[moved][line]);
                    let freed = gain(cohort, line) - gain(moved, line);
                    offer(
                        freed + gain(moved, to),
                        room.min(open[to]),
                        vec![(cohort, line, 1.0), (moved, line, -1.0), (moved, to, 1.0)],
                    );
                    offer(freed, room, vec![(cohort, line, 1.0), (moved, line, -1.0)]);
                }
                // A cohort's own plants move from a line to one that is open.
                let each = gain(cohort, to) - gain(cohort, line);
                let moved = vec![(cohort, line, -1.0), (cohort, to, 1.0)];
                offer(each, sent[cohort][line].min(open[to]), moved);
            }
        }
    }
    let (each, plants, path) = best?;
    let path = path.into_iter().map(|(c, l, sign)| (c, l, sign * plants));
    Some((each * plants, path.collect()))
}

#[test]
fn no_way_to_start_is_better() {
    let mut luck = Luck(20_270_301);
    let (mut lost, mut dropped) = (0, 0);
    for number in 0..256 {
        let season = season(&mut luck, number % 32);
        let case = case_of(&season);
        assert_eq!(case.validate(), []);
        let workable = whole(&case);
        let best = best_of_all(&season);
        let agree = (workable.plan.profit - best).abs() <= 1e-6 * best.abs().max(1.0);
        assert!(
            agree,
            "{number}: {} is not {best}: {season:?}",
            workable.plan.profit
        );
        let jobs = recount_jobs(&case, &workable.plan, WEEKS).expect("rules are kept");
        close(
            recount(&case, &workable.plan).expect("it adds up") - jobs,
            best,
        );
        close(workable.bound, best);
        lost += u32::from(workable.cost_of_whole > 1e-3);
        dropped += u32::from(planned(&case).starts.len() > workable.plan.starts.len());
    }
    assert!(lost > 128 && dropped > 32, "{lost} lost, {dropped} dropped");
}
