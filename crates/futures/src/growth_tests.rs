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

fn ranks(spread: f64) -> Option<Arc<Ranks>> {
    Ranks::new(spread).map(Arc::new)
}

/// Lots of one kind, to be grown again and again.
struct Lots<'a> {
    growth: Growth,
    degree_days: DegreeDays,
    lot: Planted,
    losses: &'a [(usize, f64)],
}

impl<'a> Lots<'a> {
    fn new(phase: &Phase, lot: Planted, losses: &'a [(usize, f64)]) -> Self {
        Self {
            growth: Growth::new(phase, ranks(phase.within_lot), 0),
            degree_days: DegreeDays::new(&weekly()),
            lot,
            losses,
        }
    }

    /// The fate of one, and its plants by week: in the stage itself and elsewhere.
    fn grow(&self, future: u32) -> (Fate, [Vec<u32>; 2]) {
        let [mut own, mut elsewhere] = [vec![0; WEEKS], vec![0; WEEKS]];
        let season = Season {
            degree_days: &self.degree_days,
            losses: self.losses,
        };
        let harvest = Harvest {
            own: &mut own,
            elsewhere: &mut elsewhere,
        };
        let fate = self
            .growth
            .grow(self.lot, season, &mut stream(future), harvest);
        assert_eq!(fate.own, own.iter().sum::<u32>());
        assert_eq!(fate.elsewhere, elsewhere.iter().sum::<u32>());
        (fate, [own, elsewhere])
    }

    /// How many become ready in the stage itself.
    fn own(&self, future: u32) -> f64 {
        f64::from(self.grow(future).0.own)
    }
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
    let lots = Lots::new(phase, lot, losses);
    let as_lot = |future| {
        let (_, [own, _]) = lots.grow(future);
        own
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
    grows_like_single_plants(&phase(), lot(1_000), &[]);
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
    grows_like_single_plants(&phase(), lot(SINGLY + 1), &losses);
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
    let (fate, [own, _]) = Lots::new(&narrow, overdue, &[]).grow(0);
    assert_eq!((fate.survivors, own[0]), (12, 12));
}

#[test]
fn without_spread_all_are_ready_at_once() {
    let step = Phase {
        within_lot: 0.0,
        ..phase()
    };
    let weeks = |lot| {
        let (_, [own, _]) = Lots::new(&step, lot, &[]).grow(0);
        let ready = own.into_iter().enumerate();
        ready.filter(|(_, plants)| *plants > 0).collect::<Vec<_>>()
    };
    let with_behind = |degree_days| Planted {
        degree_days,
        ..lot(9)
    };
    // 4·19 + 4·1 = 80 in eight weeks: the 200th degree-day comes in week 18.
    assert_eq!(weeks(lot(9)), [(18, 9)]);
    assert_eq!(weeks(with_behind(181.0)), [(0, 9)]);
    assert_eq!(weeks(with_behind(180.0)), [(1, 9)]);
    assert_eq!(weeks(with_behind(300.0)), [(0, 9)]);
    let too_late = Planted {
        from: WEEKS,
        ..lot(9)
    };
    assert_eq!(weeks(too_late), []);
    assert_eq!(weeks(lot(0)), []);
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

/// χ² of what becomes of the plants of many lots, without luck of their own, against exact chances, in
/// standard deviations.
fn has_exact_chances(phase: &Phase, lot: Planted, losses: &[(usize, f64)], lots: u32) {
    let mut seen = vec![0_u64; 2 * WEEKS + 2];
    let of_phase = Lots::new(phase, lot, losses);
    for future in 0..lots {
        let (fate, harvest) = of_phase.grow(future);
        for (seen, plants) in seen.iter_mut().zip(harvest.iter().flatten()) {
            *seen += u64::from(*plants);
        }
        seen[2 * WEEKS] += u64::from(fate.survivors - fate.own - fate.elsewhere);
        seen[2 * WEEKS + 1] += u64::from(lot.plants - fate.survivors);
    }
    let median = phase.degree_days * libm::exp(-phase.within_lot * phase.within_lot / 2.0);
    let own = phase.split.as_ref().map_or(1.0, |split| split.share);
    let shares = (phase.survival, own);
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
    assert!(excess < 4.5, "{phase:?}, {lot:?}: {excess} sd");
    let bound = rare.1 + 5.0 * rare.1.sqrt() + 2.0;
    assert!(rare.0 < bound, "{phase:?}, {lot:?}: {rare:?} rare ones");
}

/// The phase with sure shares: of survivors, and of those that stay in the stage.
fn with_shares(survival: f64, share: Option<f64>) -> Phase {
    let split = share.map(|share| Split {
        share,
        rho: 0.0,
        otherwise: "missed".to_owned(),
    });
    Phase {
        survival,
        split,
        ..phase()
    }
}

const LOSSES: [(usize, f64); 5] = [(0, 0.9), (10, 0.8), (16, 0.5), (17, 0.6), (30, 0.5)];

/// Of 40 million plants half a million have a cell of ranks in which a week ends.
#[test]
fn plants_have_the_exact_chances() {
    let plain = with_shares(0.999, None);
    let split = with_shares(0.83, Some(0.37));
    has_exact_chances(&plain, lot(250), &[], 160_000);
    has_exact_chances(&split, lot(SINGLY), &LOSSES, 100_000);
    has_exact_chances(&split, lot(4), &[], 300_000);
    has_exact_chances(&with_shares(1.0, Some(0.0)), lot(100), &[], 20_000);
    has_exact_chances(&with_shares(1e-5, Some(1e-3)), lot(255), &[], 100_000);
}

#[test]
fn plants_of_any_spread_have_the_exact_chances() {
    for within_lot in [1.5, 1.0, 0.9, 0.02, 0.004] {
        let phase = Phase {
            within_lot,
            ..with_shares(0.83, Some(0.37))
        };
        has_exact_chances(&phase, lot(200), &LOSSES, 20_000);
    }
}

/// With medians beyond the path, and of far less than a week.
#[test]
fn plants_of_slow_and_fast_phases_have_the_exact_chances() {
    for (degree_days, within_lot) in [(390.0, 0.2), (3_000.0, 0.9), (0.01, 0.3), (1e-14, 0.3)] {
        let phase = Phase {
            degree_days,
            within_lot,
            ..with_shares(0.83, None)
        };
        has_exact_chances(&phase, lot(200), &LOSSES, 20_000);
    }
}

#[test]
fn plants_of_started_and_late_lots_have_the_exact_chances() {
    let split = with_shares(0.83, Some(0.37));
    let started = Planted {
        from: 3,
        degree_days: 150.0,
        ..lot(200)
    };
    let overdue = Planted {
        degree_days: 310.0,
        ..started
    };
    let late = Planted {
        from: 25,
        ..lot(200)
    };
    // What is behind them would change their survival.
    let sure = with_shares(1.0, Some(0.37));
    has_exact_chances(&sure, started, &LOSSES, 100_000);
    has_exact_chances(&sure, overdue, &LOSSES[2..], 100_000);
    has_exact_chances(&split, late, &[], 20_000);
}

/// One plant's way does not change another's: numbers in a week spread as a binomial's do.
#[test]
fn plants_do_not_know_of_each_other() {
    for plants in [4, 12, 255, SINGLY] {
        grows_like_single_plants(&phase(), lot(plants), &[(14, 0.8)]);
    }
}

fn mean_ready(phase: &Phase, lot: Planted) -> f64 {
    let lots = Lots::new(phase, lot, &[]);
    (0..4_000).map(|future| lots.own(future)).sum::<f64>() / 4_000.0
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
    let lots = Lots::new(&phase, lot(100), &[]);
    let survivors: Vec<f64> = (0..4_000).map(|future| lots.own(future)).collect();
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
    let lots = Lots::new(&phase, lot(400), &[]);
    let shares: Vec<f64> = (0..4_000)
        .map(|future| {
            let (fate, _) = lots.grow(future);
            f64::from(fate.own) / f64::from(fate.own + fate.elsewhere)
        })
        .collect();
    let mean = shares.iter().sum::<f64>() / 4_000.0;
    let variance = shares.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 4_000.0;
    assert!((mean - 0.8).abs() < 4.0 * 0.2 / 4_000f64.sqrt(), "{mean}");
    assert!((variance - 0.0403).abs() < 0.005, "{variance}");
}
