use super::*;
use crate::case::Split;
use crate::stream::{Purpose, Streams};

const WEEKS: usize = 40;

fn phase() -> Phase {
    Phase {
        degree_days: 200.0,
        within_lot: 0.2,
        between_lots: 0.0,
        survival: 1.0,
        survival_rho: 0.0,
        split: None,
        climate: "open".to_owned(),
        shared_sd: 0.0,
    }
}

fn lot(plants: u32) -> Planted {
    Planted {
        plants,
        from: 0,
        degree_days: 0.0,
        luck: 0.0,
        moved: 0.0,
    }
}

/// Warm and cold weeks, ten degree-days on average.
fn weekly() -> Vec<f64> {
    let week = |week: usize| if week % 8 < 4 { 19.0 } else { 1.0 };
    (0..WEEKS).map(week).collect()
}

fn stream(future: u32) -> Stream {
    Streams { seed: 11, future }.of(Purpose::Lot, 0, 0)
}

fn fates(phase: &Phase, lot: Planted, losses: &[(usize, f64)], future: u32) -> Vec<Ready> {
    let degree_days = DegreeDays::new(&weekly());
    let season = Season {
        degree_days: &degree_days,
        losses,
    };
    let mut fates = Vec::new();
    Growth::new(phase, 0, 1).grow(lot, season, &mut stream(future), |ready| fates.push(ready));
    fates
}

/// Plants that are ready in the stage itself.
fn own(ready: &Ready) -> u32 {
    if ready.is_own { ready.plants } else { 0 }
}

/// The same lot, one plant after the other: each has a sum of its own and its own luck in a loss.
fn plant_by_plant(
    phase: &Phase,
    lot: Planted,
    losses: &[(usize, f64)],
    stream: &mut Stream,
) -> Vec<u32> {
    let degree_days = DegreeDays::new(&weekly());
    let mut ready = vec![0; WEEKS];
    let pace = libm::exp(phase.between_lots * (normal(stream) - phase.between_lots / 2.0));
    for _ in 0..lot.plants {
        let sum = loop {
            let own = libm::exp(phase.within_lot * (normal(stream) - phase.within_lot / 2.0));
            if phase.degree_days * pace * own > lot.degree_days {
                break phase.degree_days * pace * own;
            }
        };
        let behind = lot.degree_days - degree_days.before(lot.from);
        let reaches = |week: &usize| degree_days.after(*week) + behind >= sum;
        let Some(week) = (lot.from..WEEKS).find(reaches) else {
            continue;
        };
        let hit = losses
            .iter()
            .filter(|(at, _)| (lot.from..=week).contains(at));
        let survives = hit
            .map(|(_, left)| *left)
            .all(|left| stream.uniform() < left);
        ready[week] += u32::from(survives);
    }
    ready
}

/// For each week the ready plants of every lot, then the plants ready by then.
fn columns(mut draw: impl FnMut(u32) -> Vec<u32>, lots: u32) -> Vec<Vec<f64>> {
    let mut columns = vec![Vec::new(); 2 * WEEKS];
    for future in 0..lots {
        let mut by_then = 0.0;
        for (week, plants) in draw(future).into_iter().map(f64::from).enumerate() {
            by_then += plants;
            columns[week].push(plants);
            columns[WEEKS + week].push(by_then);
        }
    }
    columns
}

/// Mean and variance.
fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (
        mean,
        values.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n,
    )
}

/// Two samples have means no further apart than chance makes plausible.
fn same_mean(x: &[f64], y: &[f64], what: &str) {
    let ((mean_x, var_x), (mean_y, var_y)) = (moments(x), moments(y));
    let n = x.len() as f64;
    let error = ((var_x + var_y).max(1.0 / n) / n).sqrt();
    assert!(
        (mean_x - mean_y).abs() < 5.0 * error,
        "{what}: {mean_x} and {mean_y}, error {error}"
    );
}

/// Means and spreads of weekly and summed ready plants agree with growing plant by plant.
fn grows_like_single_plants(phase: &Phase, lot: Planted, losses: &[(usize, f64)]) {
    const LOTS: u32 = 20_000;
    let as_lot = |future| {
        let mut weeks = vec![0; WEEKS];
        for ready in fates(phase, lot, losses, future) {
            weeks[ready.week] += own(&ready);
        }
        weeks
    };
    let singly = |future| {
        let mut stream = Streams { seed: 12, future }.of(Purpose::Lot, 0, 0);
        plant_by_plant(phase, lot, losses, &mut stream)
    };
    let pairs = columns(as_lot, LOTS).into_iter().zip(columns(singly, LOTS));
    for (at, (x, y)) in pairs.enumerate() {
        same_mean(&x, &y, &format!("mean {at}"));
        let center = moments(&y).0;
        let squares = |values: &[f64]| {
            values
                .iter()
                .map(|x| (x - center) * (x - center))
                .collect::<Vec<_>>()
        };
        same_mean(&squares(&x), &squares(&y), &format!("spread {at}"));
    }
}

#[test]
fn small_and_large_lots_grow_like_single_plants() {
    grows_like_single_plants(&phase(), lot(6), &[]);
    grows_like_single_plants(&phase(), lot(SINGLY), &[]);
    grows_like_single_plants(&phase(), lot(SINGLY + 1), &[]);
    grows_like_single_plants(&phase(), lot(250), &[]);
    grows_like_single_plants(&phase(), lot(*SCATTERED.end() + 1), &[]);
    grows_like_single_plants(
        &Phase {
            between_lots: 0.2,
            ..phase()
        },
        lot(20),
        &[],
    );
}

#[test]
fn losses_thin_growing_plants_before_they_are_ready() {
    let losses = [(0, 0.9), (10, 0.8), (16, 0.5), (17, 0.6), (30, 0.5)];
    grows_like_single_plants(&phase(), lot(12), &losses);
    grows_like_single_plants(
        &phase(),
        Planted {
            from: 10,
            ..lot(12)
        },
        &losses,
    );
}

#[test]
fn plants_that_should_be_ready_already_are_soon() {
    grows_like_single_plants(
        &phase(),
        Planted {
            degree_days: 210.0,
            ..lot(12)
        },
        &[],
    );
    // 2.5 times the mean: nothing is left of the upper tail of a narrow spread.
    let narrow = Phase {
        within_lot: 0.02,
        survival: 0.3,
        ..phase()
    };
    let overdue = Planted {
        degree_days: 500.0,
        ..lot(12)
    };
    assert_eq!(
        fates(&narrow, overdue, &[], 0),
        [Ready {
            week: 0,
            plants: 12,
            is_own: true
        }]
    );
}

#[test]
fn without_spread_all_are_ready_at_once() {
    let step = Phase {
        within_lot: 0.0,
        ..phase()
    };
    let ready = |lot| fates(&step, lot, &[], 0);
    // 4·19 + 4·1 = 80 in eight weeks: the 200th degree-day comes in week 18.
    assert_eq!(
        ready(lot(9)),
        [Ready {
            week: 18,
            plants: 9,
            is_own: true
        }]
    );
    assert_eq!(
        ready(Planted {
            degree_days: 181.0,
            ..lot(9)
        })[0]
            .week,
        0
    );
    assert_eq!(
        ready(Planted {
            degree_days: 180.0,
            ..lot(9)
        })[0]
            .week,
        1
    );
    assert_eq!(
        ready(Planted {
            degree_days: 300.0,
            ..lot(9)
        })[0]
            .week,
        0
    );
    assert_eq!(
        ready(Planted {
            from: WEEKS,
            ..lot(9)
        }),
        []
    );
    assert_eq!(ready(lot(0)), []);
}

/// The exact chances of a plant of the lot: to be ready in the stage itself in each week, then in the
/// other, then to be lost or not ready in time, then to die.
fn exact_chances(
    (survival, own): (f64, f64),
    (median, spread): (f64, f64),
    lot: Planted,
    losses: &[(usize, f64)],
) -> Vec<f64> {
    let degree_days = DegreeDays::new(&weekly());
    let share = |sum: f64| {
        if sum <= 0.0 {
            1.0
        } else {
            0.5 * libm::erfc(libm::log(sum / median) / spread / 2f64.sqrt())
        }
    };
    let behind = lot.degree_days - degree_days.before(lot.from);
    let (mut before, mut left) = (share(lot.degree_days), 1.0);
    let start = before;
    let mut weeks = vec![0.0; lot.from];
    for week in lot.from..WEEKS {
        left *= losses
            .iter()
            .filter(|(at, _)| *at == week)
            .map(|(_, left)| left)
            .product::<f64>();
        let after = share(degree_days.after(week) + behind);
        weeks.push(survival * left * (before - after) / start);
        before = after;
    }
    let ready: f64 = weeks.iter().sum();
    let mut chances: Vec<f64> = weeks.iter().map(|chance| own * chance).collect();
    chances.extend(weeks.iter().map(|chance| (1.0 - own) * chance));
    chances.extend([survival - ready, 1.0 - survival]);
    chances
}

/// χ² of what becomes of the plants of many lots against exact chances, in standard deviations.
fn has_exact_chances(
    chances: Chances,
    phase: &Phase,
    lot: Planted,
    losses: &[(usize, f64)],
    lots: u32,
) {
    let degree_days = DegreeDays::new(&weekly());
    let season = Season {
        degree_days: &degree_days,
        losses,
    };
    let waiting = Waiting::new(libm::log(phase.degree_days), phase.within_lot);
    let crop = Crop::new(waiting, season, lot);
    let mut seen = vec![0_u64; 2 * WEEKS + 2];
    for future in 0..lots {
        let mut in_time = 0;
        let survivors = chances.meet(lot.plants, Some(&crop), &mut stream(future), &mut |ready| {
            in_time += ready.plants;
            seen[ready.week + if ready.is_own { 0 } else { WEEKS }] += u64::from(ready.plants);
        });
        seen[2 * WEEKS] += u64::from(survivors - in_time);
        seen[2 * WEEKS + 1] += u64::from(lot.plants - survivors);
    }
    let median = phase.degree_days * libm::exp(-phase.within_lot * phase.within_lot / 2.0);
    let shares = (chances.survival, chances.own.unwrap_or(1.0));
    let exact = exact_chances(shares, (median, phase.within_lot), lot, losses);
    let all = f64::from(lots) * f64::from(lot.plants);
    let (mut chi_square, mut freedom, mut rare) = (0.0, -1.0, (0.0, 0.0));
    for (seen, chance) in seen.iter().zip(exact) {
        let (found, expected) = (*seen as f64, all * chance);
        if expected < 5.0 {
            rare = (rare.0 + found, rare.1 + expected);
            continue;
        }
        chi_square += (found - expected) * (found - expected) / expected;
        freedom += 1.0;
    }
    let excess = (chi_square - freedom) / (2.0 * freedom).sqrt();
    assert!(excess < 4.5, "{chances:?}, {lot:?}: {excess} sd");
    let bound = rare.1 + 5.0 * rare.1.sqrt() + 2.0;
    assert!(rare.0 < bound, "{chances:?}, {lot:?}: {rare:?} rare ones");
}

/// Of 40 million plants about twenty thousand lie in weeks that are not looked up, or so near to a mark
/// that rough shares do not tell.
#[test]
fn scattered_plants_have_the_exact_chances() {
    let split = Chances {
        survival: 0.83,
        own: Some(0.37),
    };
    let plain = Chances {
        survival: 0.999,
        own: None,
    };
    let losses = [(0, 0.9), (10, 0.8), (16, 0.5), (17, 0.6), (30, 0.5)];
    has_exact_chances(plain, &phase(), lot(250), &[], 160_000);
    has_exact_chances(split, &phase(), lot(510), &losses, 80_000);
    has_exact_chances(split, &phase(), lot(*SCATTERED.start()), &[], 100_000);
    // Far too wide and far too narrow.
    for within_lot in [0.9, 0.02, 0.004] {
        let phase = Phase {
            within_lot,
            ..phase()
        };
        has_exact_chances(split, &phase, lot(200), &losses, 20_000);
    }
    let started = Planted {
        from: 3,
        degree_days: 150.0,
        ..lot(200)
    };
    has_exact_chances(split, &phase(), started, &losses, 100_000);
    let overdue = Planted {
        degree_days: 310.0,
        ..started
    };
    has_exact_chances(plain, &phase(), overdue, &losses[2..], 100_000);
    let late = Planted {
        from: 25,
        ..lot(200)
    };
    has_exact_chances(split, &phase(), late, &[], 20_000);
    let sure = Chances {
        survival: 1.0,
        own: Some(0.0),
    };
    has_exact_chances(sure, &phase(), lot(100), &[], 20_000);
    let hopeless = Chances {
        survival: 1e-5,
        own: Some(1e-3),
    };
    has_exact_chances(hopeless, &phase(), lot(255), &[], 100_000);
}

/// One plant's way does not change another's: numbers in a week spread as a binomial's do.
#[test]
fn scattered_plants_do_not_know_of_each_other() {
    for plants in [*SCATTERED.start(), 255, 256, *SCATTERED.end()] {
        grows_like_single_plants(&phase(), lot(plants), &[(14, 0.8)]);
    }
}

fn mean_ready(phase: &Phase, lot: Planted) -> f64 {
    let all = (0..4_000).flat_map(|future| fates(phase, lot, &[], future));
    all.map(|ready| f64::from(own(&ready))).sum::<f64>() / 4_000.0
}

#[test]
fn survival_shrinks_to_the_part_of_the_phase_ahead() {
    let phase = Phase {
        survival: 0.25,
        within_lot: 0.0,
        ..phase()
    };
    let half_way = Planted {
        degree_days: 100.0,
        ..lot(100)
    };
    assert!((mean_ready(&phase, half_way) - 50.0).abs() < 4.0 * 5.0 / 4_000f64.sqrt());
    assert!((mean_ready(&phase, lot(100)) - 25.0).abs() < 4.0 * 4.4 / 4_000f64.sqrt());
}

#[test]
fn luck_moves_the_logit() {
    // logit 0.25 = −ln 3; moved by 2·ln 3 it is ln 3, the logit of 0.75.
    let phase = Phase {
        survival: 0.25,
        within_lot: 0.0,
        shared_sd: 2.0,
        ..phase()
    };
    let luck = libm::log(3.0);
    assert!(
        (mean_ready(&phase, Planted { luck, ..lot(100) }) - 75.0).abs()
            < 4.0 * 4.4 / 4_000f64.sqrt()
    );
    assert!(lucky(0.0, 5.0).abs() < 1e-15 && (lucky(1.0, -5.0) - 1.0).abs() < 1e-15);
    assert!(lucky(0.5, 800.0) <= 1.0 && lucky(0.5, -800.0) >= 0.0);
}

#[test]
fn survivors_of_a_lot_are_alike() {
    // Variance n·μ(1 − μ)(1 + (n − 1)ρ) = 100·0.25·(1 + 99·0.2) = 520.
    let phase = Phase {
        survival: 0.5,
        survival_rho: 0.2,
        within_lot: 0.0,
        ..phase()
    };
    let survivors: Vec<f64> = (0..4_000)
        .map(|f| {
            fates(&phase, lot(100), &[], f)
                .iter()
                .map(|ready| f64::from(own(ready)))
                .sum()
        })
        .collect();
    let mean = survivors.iter().sum::<f64>() / 4_000.0;
    let variance = survivors
        .iter()
        .map(|x| (x - mean) * (x - mean))
        .sum::<f64>()
        / 4_000.0;
    assert!((mean - 50.0).abs() < 4.0 * 22.8 / 4_000f64.sqrt(), "{mean}");
    assert!((variance / 520.0 - 1.0).abs() < 0.1, "{variance}");
}

#[test]
fn a_split_sends_one_share_of_a_lot_elsewhere() {
    // One share for all weeks of a lot: its variance is μ(1 − μ)ρ = 0.04 with little on top.
    let split = Some(Split {
        share: 0.8,
        rho: 0.25,
        otherwise: "missed".to_owned(),
    });
    let phase = Phase { split, ..phase() };
    let shares: Vec<f64> = (0..4_000)
        .map(|future| {
            let fates = fates(&phase, lot(400), &[], future);
            let own: u32 = fates.iter().map(own).sum();
            let all: u32 = fates.iter().map(|ready| ready.plants).sum();
            f64::from(own) / f64::from(all)
        })
        .collect();
    let mean = shares.iter().sum::<f64>() / 4_000.0;
    let variance = shares.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 4_000.0;
    assert!((mean - 0.8).abs() < 4.0 * 0.2 / 4_000f64.sqrt(), "{mean}");
    assert!((variance - 0.0403).abs() < 0.005, "{variance}");
}
