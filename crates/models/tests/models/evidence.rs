use models::evidence::{
    Contradiction, Count, Look, PaceBelief, Ripening, SurvivalBelief, contradiction_of_count,
    contradiction_of_look, pace_after, survival_after,
};

use crate::luck::Luck;

const STEP: Ripening = Ripening {
    degree_days: 1000.0,
    within_lot: 0.15,
    between_lots: 0.10,
};

const USUAL: SurvivalBelief = SurvivalBelief {
    mean: 0.9,
    rho: 0.05,
};

fn fit(degree_days: f64, looked_at: u32, fit: u32) -> Look {
    Look::Fit {
        degree_days,
        looked_at,
        fit,
    }
}

fn calipers(degree_days: f64, calipers_mm: Vec<f64>) -> Look {
    Look::Calipers {
        degree_days,
        fit_from_mm: 8.0,
        calipers_mm,
    }
}

fn count(degree_days: f64, alive: u32) -> Count {
    Count { degree_days, alive }
}

#[track_caller]
fn assert_near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() < within, "{found} and {expected}");
}

#[test]
fn nothing_seen_changes_nothing() {
    let before = PaceBelief::before(&STEP);
    assert_near(before.mean, -0.005, 1e-12);
    assert_eq!(before.sd, 0.10);
    let of_nothing = [
        fit(0.0, 10, 3),
        fit(500.0, 0, 0),
        calipers(500.0, vec![0.0]),
    ];
    assert_eq!(pace_after(&STEP, &of_nothing), before);
    assert_eq!(survival_after(&USUAL, 1000.0, 500, &[]), USUAL);
    assert_eq!(survival_after(&USUAL, 1000.0, 0, &[count(500.0, 0)]), USUAL);
    let alike = Ripening {
        between_lots: 0.0,
        ..STEP
    };
    let sure = pace_after(&alike, &[fit(500.0, 40, 40)]);
    assert_eq!((sure.mean, sure.sd), (0.0, 0.0));
}

#[test]
fn calipers_are_a_conjugate_normal_update() {
    // From all the heat on, the straight line is not in doubt: n values of ln λε, each about ln λ − σ_w²/2.
    let sizes = vec![8.8, 9.0, 9.6, 10.4];
    let degree_days = 1100.0;
    let mean_of_values = sizes
        .iter()
        .map(|size| libm::log(8.0 * degree_days / (size * 1000.0)))
        .sum::<f64>()
        / 4.0;
    let (prior, noise) = (1.0 / 0.01, 4.0 / 0.0225);
    let mean = (prior * -0.005 + noise * (mean_of_values + 0.011_25)) / (prior + noise);
    let found = pace_after(&STEP, &[calipers(degree_days, sizes.clone())]);
    assert_near(found.mean, mean, 1e-12);
    assert_near(found.sd, (1.0 / (prior + noise)).sqrt(), 1e-12);
    // At half the heat the line itself may be off by 0.2.
    let noise = 1.0 / (0.0225 / 4.0 + 0.04);
    let half: Vec<f64> = sizes
        .iter()
        .map(|size| size * 500.0 / degree_days)
        .collect();
    let found = pace_after(&STEP, &[calipers(500.0, half)]);
    assert_near(found.sd, (1.0 / (prior + noise)).sqrt(), 1e-12);
}

#[test]
fn fit_counts_agree_with_quadrature() {
    // scipy 1.17.1: integrate.quad over prior times likelihood.
    let found = pace_after(&STEP, &[fit(900.0, 40, 32)]);
    assert_near(found.mean, -0.200_094_806_997, 2e-6);
    assert_near(found.sd, 0.031_475_243_923, 2e-6);
    let found = pace_after(&STEP, &[fit(800.0, 30, 2), fit(950.0, 25, 20)]);
    assert_near(found.mean, -0.080_721_028_159, 2e-6);
    assert_near(found.sd, 0.027_397_144_382, 2e-6);
}

#[test]
fn a_lot_without_spread_is_told_by_the_heat_alone() {
    let step = Ripening {
        within_lot: 0.0,
        ..STEP
    };
    // Ready at 950, not at 900: the pace lies between.
    let found = pace_after(&step, &[fit(900.0, 20, 0), fit(950.0, 20, 20)]);
    assert!(
        (900.0..950.0).contains(&(1000.0 * libm::exp(found.mean))),
        "{found:?}"
    );
    // What no pace explains leaves numbers that are numbers.
    let odd = pace_after(&step, &[fit(900.0, 20, 10)]);
    assert!(odd.mean.is_finite() && odd.sd.is_finite() && odd.sd > 0.0);
}

#[test]
fn counts_agree_with_the_conjugate_beta_and_with_quadrature() {
    // scipy 1.17.1 and numpy: sums over two million values of π.
    let found = survival_after(&USUAL, 1000.0, 1000, &[count(500.0, 900)]);
    assert_near(found.mean, 0.901_690_888_669, 1e-6);
    assert_near(found.rho, 0.000_963_853_721, 1e-6);
    let prior = SurvivalBelief {
        mean: 0.8,
        rho: 0.02,
    };
    let two = [count(250.0, 390), count(600.0, 300)];
    let found = survival_after(&prior, 1000.0, 400, &two);
    assert_near(found.mean, 0.845_977_863_971, 1e-6);
    assert_near(found.rho, 0.001_401_344_763, 1e-6);
    // Of a phase that is over nothing more is lost.
    let all_done = survival_after(&prior, 1000.0, 400, &[count(1500.0, 300)]);
    assert_near(all_done.mean, 1.0, 1e-12);
    assert_near(all_done.rho, 0.0, 1e-12);
    // Shares stay shares, whatever the sums lack in their last bits.
    for alive in [1, 7, 150, 299, 398, 400] {
        for heat in [1000.0, 1500.0, 4000.0] {
            let found = survival_after(&prior, 1000.0, 400, &[count(heat, alive)]);
            assert!(
                (0.0..=1.0).contains(&found.mean) && (0.0..1.0).contains(&found.rho),
                "{found:?}"
            );
        }
    }
}

#[test]
fn the_posterior_of_the_whole_phase_is_the_conjugate_beta() {
    // Two counts of one lot: the first at all of a phase of 1,000 would leave nothing to tell, so the share
    // done is taken as 0.999999 and what is left is compared by its logarithm: ln E π^δ ≈ δ·E ln π.
    let delta = 1e-6;
    let found = survival_after(&USUAL, 1000.0, 200, &[count(1000.0 * (1.0 - delta), 150)]);
    let (lives, dies) = (0.9 * 19.0 + 150.0, 0.1 * 19.0 + 50.0);
    // E ln π = ψ(a) − ψ(a + b) = −Σ 1/(a + i) summed over b steps, by asymptotic series of ψ.
    let digamma = |x: f64| libm::log(x) - 0.5 / x - 1.0 / (12.0 * x * x);
    let expected = digamma(lives) - digamma(lives + dies);
    assert_near(libm::log(found.mean) / delta, expected, 2e-4);
}

#[test]
fn a_survival_without_spread_stays() {
    for (mean, rho) in [(0.9, 0.0), (1.0, 0.1), (0.0, 0.1)] {
        let prior = SurvivalBelief { mean, rho };
        let found = survival_after(&prior, 1000.0, 100, &[count(500.0, 60)]);
        assert_near(found.mean, mean.sqrt(), 1e-12);
        assert_eq!(found.rho, 0.0);
    }
    // Wide and narrow spreads alike leave shares that are shares.
    for rho in [1e-6, 0.5, 0.97] {
        let prior = SurvivalBelief { mean: 0.97, rho };
        for alive in [0, 1, 5_000, 9_999, 10_000] {
            let found = survival_after(&prior, 1000.0, 10_000, &[count(400.0, alive)]);
            assert!((0.0..=1.0).contains(&found.mean), "{rho} {alive} {found:?}");
            assert!((0.0..1.0).contains(&found.rho), "{rho} {alive} {found:?}");
        }
    }
}

#[test]
fn luck_widens_what_is_believed() {
    // numpy, 400,001 values of z: mean and variance of logit⁻¹(logit 0.9 + 0.5 z).
    let wide = USUAL.with_luck(0.5);
    assert_near(wide.mean, 0.891_076_35, 2e-6);
    assert_near(wide.rho, 0.073_477_83, 2e-6);
    assert_eq!(USUAL.with_luck(0.0), USUAL);
}

fn chance(contradiction: Option<Contradiction>) -> f64 {
    contradiction.map_or(1.0, |it| it.chance)
}

#[test]
fn far_off_looks_are_flagged_with_what_was_expected() {
    // scipy 1.17.1: quadrature over the prior, binom.cdf.
    let odd = contradiction_of_look(&STEP, &fit(700.0, 50, 25)).expect("half fit at 700");
    assert_near(odd.chance, 0.001_137_603, 2e-6);
    assert_eq!((odd.expected, odd.found), ([0.0, 7.0], 25.0));
    assert_eq!(contradiction_of_look(&STEP, &fit(900.0, 50, 25)), None);
    // scipy 1.17.1: betabinom.
    let odd = contradiction_of_count(&USUAL, 1000.0, 200, count(1000.0, 120)).expect("too few");
    assert_near(odd.chance, 0.003_209_810, 2e-4);
    assert_eq!((odd.expected, odd.found), ([153.0, 197.0], 120.0));
    let usual = contradiction_of_count(&USUAL, 1000.0, 200, count(1000.0, 150));
    assert_eq!(chance(usual), 1.0);
    // Calipers of 4 mm where 8 were due: ln 2 is 6 standard deviations.
    let odd = contradiction_of_look(&STEP, &calipers(1000.0, vec![4.0; 12])).expect("thin");
    assert!(odd.chance < 1e-6);
    assert_near(odd.found, 4.0, 1e-9);
    let (low, high) = (odd.expected[0], odd.expected[1]);
    assert!(
        low > 6.0 && low < 8.0 && high > 8.0 && high < 10.0,
        "{odd:?}"
    );
}

/// A lot drawn by the model, looked at three times in three ways.
#[test]
fn known_paces_are_found_and_intervals_hold_as_often_as_they_say() {
    let mut luck = Luck::new(5);
    let (mut inside, mut sum_off, mut flagged) = (0, 0.0, 0);
    let lots = 600;
    for _ in 0..lots {
        let ln_pace = -0.005 + 0.10 * luck.normal();
        let mut ready_from = || 1000.0 * libm::exp(ln_pace - 0.011_25 + 0.15 * luck.normal());
        let at = |degree_days: f64, needs: Vec<f64>| {
            let ready = needs.iter().filter(|need| **need <= degree_days).count();
            fit(degree_days, needs.len() as u32, ready as u32)
        };
        let looks = [
            at(850.0, (0..25).map(|_| ready_from()).collect()),
            at(960.0, (0..25).map(|_| ready_from()).collect()),
            calipers(
                1000.0,
                (0..12).map(|_| 8.0 * 1000.0 / ready_from()).collect(),
            ),
        ];
        let found = pace_after(&STEP, &looks);
        let off = (found.mean - ln_pace) / found.sd;
        inside += u32::from(off.abs() < 1.644_85);
        sum_off += off;
        flagged += looks
            .iter()
            .filter(|look| contradiction_of_look(&STEP, look).is_some())
            .count();
    }
    let share = f64::from(inside) / f64::from(lots);
    assert!((0.86..0.94).contains(&share), "{share} inside 90 %");
    assert!((sum_off / f64::from(lots)).abs() < 0.15, "{sum_off}");
    // 1 in 100 of 1,800 looks, or fewer: counts are whole.
    assert!(flagged < 34, "{flagged} of 1,800 looks flagged");
}

#[test]
fn known_survivals_are_found_and_intervals_hold_as_often_as_they_say() {
    let mut luck = Luck::new(6);
    let lots = 600;
    let (mut inside, mut sum_off, mut flagged) = (0, 0.0, 0);
    for _ in 0..lots {
        let share = luck.beta(0.9, 0.05);
        let alive = luck.of(400, share.sqrt());
        let found = survival_after(&USUAL, 1000.0, 400, &[count(500.0, alive)]);
        let sd = (found.rho * found.mean * (1.0 - found.mean)).sqrt();
        let off = (found.mean - share.sqrt()) / sd;
        inside += u32::from(off.abs() < 1.644_85);
        sum_off += off;
        let odd = contradiction_of_count(&USUAL, 1000.0, 400, count(500.0, alive));
        flagged += u32::from(odd.is_some());
    }
    let share = f64::from(inside) / f64::from(lots);
    assert!((0.86..0.94).contains(&share), "{share} inside 90 %");
    assert!((sum_off / f64::from(lots)).abs() < 0.15, "{sum_off}");
    assert!(flagged < 16, "{flagged} of 600 counts flagged");
}
