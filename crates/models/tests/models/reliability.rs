//! Honesty of odds against published counts, independent values and properties.

use models::reliability::{
    Bins, Call, Decomposition, brier_score, cluster_errors, decompose, reliability_bins,
};
use proptest::prelude::*;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

fn call(odds: f64, came_true: bool) -> Call {
    Call::try_new(odds, came_true).expect("odds")
}

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-12, "{found} for {wanted}");
}

/// 200 calls that were computed likewise in Python, with scikit-learn 1.9.1, statsmodels 0.15.0 and
/// NumPy: odds ((37 i mod 102) + ½)/102, true where (53 i mod 89)/89 < odds^1.5.
fn made_calls() -> Vec<Call> {
    let of = |i: i32| {
        let odds = (f64::from(37 * i % 102) + 0.5) / 102.0;
        call(odds, f64::from(53 * i % 89) / 89.0 < odds * odds.sqrt())
    };
    (0..200).map(of).collect()
}

/// Finley 1884: of 100 tornadoes foretold 28 came, of 2,703 not foretold 23.
fn finley() -> Vec<Call> {
    let counts = [
        (1.0, true, 28),
        (1.0, false, 72),
        (0.0, true, 23),
        (0.0, false, 2_680),
    ];
    let calls = counts.map(|(odds, came_true, count)| vec![call(odds, came_true); count]);
    calls.concat()
}

#[test]
fn scores_are_those_of_others() {
    // brier_score_loss
    close(
        brier_score(&made_calls()).expect("calls"),
        0.160_039_407_920_030_74,
    );
    // 95 wrong of 2,803
    close(brier_score(&finley()).expect("calls"), 95.0 / 2_803.0);
}

#[test]
fn bins_are_those_of_others() {
    // calibration_curve; proportion_confint(alpha=0.1, method="wilson")
    let wanted = [
        (20, 0.049_019_607_843, 0.05, 0.011_234_817, 0.196_007_237),
        (20, 0.147_058_823_529, 0.0, 0.0, 0.119_157_837),
        (
            21,
            0.248_599_439_776,
            0.142_857_142_857,
            0.058_571_402,
            0.308_665_210,
        ),
        (20, 0.352_941_176_471, 0.15, 0.061_582_410, 0.321_828_076),
        (20, 0.450_980_392_157, 0.35, 0.202_260_040, 0.533_487_311),
        (
            19,
            0.548_761_609_907,
            0.421_052_631_579,
            0.256_302_729,
            0.605_483_731,
        ),
        (
            19,
            0.647_316_821_465,
            0.526_315_789_474,
            0.346_722_421,
            0.699_348_759,
        ),
        (22, 0.75, 0.681_818_181_818, 0.506_490_972, 0.817_322_994),
        (20, 0.852_941_176_471, 0.75, 0.567_798_250, 0.872_622_831),
        (
            19,
            0.952_786_377_709,
            0.947_368_421_053,
            0.795_040_697,
            0.988_169_364,
        ),
    ];
    let bins = reliability_bins(&made_calls(), &Bins::tenths());
    assert_eq!(bins.len(), wanted.len());
    for (bin, (calls, mean_odds, share, low, high)) in bins.iter().zip(wanted) {
        assert_eq!(bin.calls, calls);
        let pairs = [
            (bin.mean_odds, mean_odds),
            (bin.share, share),
            (bin.low, low),
        ];
        for (found, wanted) in pairs.into_iter().chain([(bin.high, high)]) {
            // The quantile of the interval has ten digits.
            assert!((found - wanted).abs() < 1e-9, "{found} for {wanted}");
        }
    }
}

#[test]
fn parts_are_those_of_others() {
    let parts = decompose(&made_calls(), &Bins::tenths()).expect("calls");
    close(parts.reliability, 0.012_989_162_444_225_294);
    close(parts.resolution, 0.092_700_273_410_799_73);
    close(parts.uncertainty, 0.24);
    close(parts.within_bin_variance, 0.000_834_847_354_834_606_8);
    close(parts.within_bin_covariance, 0.001_084_328_468_229_396_5);
    // Two odds only, so that bins have no inside: by hand from Finley's counts.
    let parts = decompose(&finley(), &Bins::tenths()).expect("calls");
    let (foretold, not) = (100.0 / 2_803.0, 2_703.0 / 2_803.0);
    let (all, missed) = (51.0 / 2_803.0, 23.0 / 2_703.0);
    let square = |x: f64| x * x;
    close(
        parts.reliability,
        foretold * square(0.72) + not * square(missed),
    );
    close(
        parts.resolution,
        foretold * square(0.28 - all) + not * square(missed - all),
    );
    close(parts.uncertainty, all * (1.0 - all));
    close(
        parts.within_bin_variance + parts.within_bin_covariance.abs(),
        0.0,
    );
    close(parts.brier_score(), 95.0 / 2_803.0);
}

#[test]
fn of_nothing_nothing_is_said() {
    assert_eq!(brier_score(&[]), None);
    assert_eq!(decompose(&[], &Bins::tenths()), None);
    assert!(reliability_bins(&[], &Bins::tenths()).is_empty());
    assert!(cluster_errors(&[], &Bins::tenths(), 10, |_| unreachable!()).is_empty());
    let empty = [Vec::new(), Vec::new()];
    assert!(cluster_errors(&empty, &Bins::tenths(), 10, |_| 1).is_empty());
}

#[test]
fn what_is_sure_is_in_the_outer_bins() {
    let sure = [call(0.0, false), call(1.0, true), call(1.0, true)];
    let bins = reliability_bins(&sure, &Bins::tenths());
    let seen: Vec<_> = bins
        .iter()
        .map(|bin| (bin.to, bin.calls, bin.share))
        .collect();
    assert_eq!(seen, [(0.1, 1, 0.0), (1.0, 2, 1.0)]);
    let parts = decompose(&sure, &Bins::tenths()).expect("calls");
    let wanted = Decomposition {
        reliability: 0.0,
        within_bin_variance: 0.0,
        within_bin_covariance: 0.0,
        ..parts
    };
    assert_eq!(parts, wanted);
    close(parts.resolution, parts.uncertainty);
    close(
        brier_score(&[call(1.0, false), call(0.0, true)]).expect("calls"),
        1.0,
    );
    // All came true: nothing is uncertain.
    let parts = decompose(&[call(0.7, true); 5], &Bins::tenths()).expect("calls");
    close(parts.uncertainty, 0.0);
    close(parts.brier_score(), 0.09);
}

#[test]
fn odds_on_a_cut_belong_above_it() {
    let bins = reliability_bins(&[call(0.3, true), call(0.9, true)], &Bins::tenths());
    assert_eq!([bins[0].from, bins[1].from], [0.3, 0.9]);
}

#[test]
fn what_cannot_be_odds_or_bins_is_refused() {
    for odds in [-0.1, 1.1, f64::NAN, f64::INFINITY] {
        assert!(Call::try_new(odds, true).is_err());
    }
    for cuts in [&[0.0][..], &[1.0], &[0.5, 0.5], &[0.6, 0.4], &[f64::NAN]] {
        assert!(Bins::try_new(cuts).is_err(), "{cuts:?}");
    }
    let whole = Bins::try_new(&[]).expect("one bin");
    assert_eq!(reliability_bins(&finley(), &whole)[0].calls, 2_803);
    assert!(Bins::try_new(&[0.95]).is_ok());
}

/// Whole numbers below a number, from a seed.
fn drawn(seed: u64) -> impl FnMut(usize) -> usize {
    let mut stream = ChaCha8Rng::seed_from_u64(seed);
    move |below| (stream.next_u64() % below as u64) as usize
}

#[test]
fn errors_are_those_of_shares_and_grow_with_twins() {
    // 400 calls of 0.8 of which 320 come true: the error of the share is √(0.8 · 0.2/400) = 0.02.
    let single: Vec<_> = (0..400).map(|at| vec![call(0.8, at % 5 > 0)]).collect();
    // A standard deviation of 4,000 resamples is known to within 1/√8000, here with four of these.
    let within = |found: Option<f64>, wanted: f64| {
        let found = found.expect("an error");
        assert!(
            (found / wanted - 1.0).abs() < 4.0 / 8_000.0_f64.sqrt(),
            "{found} for {wanted}"
        );
    };
    within(
        cluster_errors(&single, &Bins::tenths(), 4_000, drawn(1))[0],
        0.02,
    );
    let twins: Vec<_> = (0..200).map(|at| vec![call(0.8, at % 5 > 0); 2]).collect();
    within(
        cluster_errors(&twins, &Bins::tenths(), 4_000, drawn(2))[0],
        0.02 * 2.0_f64.sqrt(),
    );
}

#[test]
fn too_few_resamples_have_no_error() {
    let clusters = [vec![call(0.2, true)], vec![call(0.8, true)]];
    let mut one_of_each = [0, 1].into_iter();
    let errors = cluster_errors(&clusters, &Bins::tenths(), 1, |_| {
        one_of_each.next().expect("two")
    });
    assert_eq!(errors, [None, None]);
    // The second cluster is never drawn, so that its bin has no share.
    assert_eq!(
        cluster_errors(&clusters, &Bins::tenths(), 5, |_| 0),
        [Some(0.0), None]
    );
}

proptest! {
    #[test]
    fn parts_add_up(
        calls in prop::collection::vec((0.0..=1.0_f64, any::<bool>()), 1..60),
        mut cuts in prop::collection::vec(0.01..0.99_f64, 0..6),
    ) {
        let calls: Vec<_> = calls.into_iter().map(|(odds, came)| call(odds, came)).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        let bins = Bins::try_new(&cuts).expect("cuts that rise");
        let parts = decompose(&calls, &bins).expect("calls");
        let score = brier_score(&calls).expect("calls");
        prop_assert!((parts.brier_score() - score).abs() < 1e-12);
        prop_assert!(parts.reliability >= 0.0 && parts.resolution >= 0.0);
        let held = reliability_bins(&calls, &bins);
        prop_assert_eq!(held.iter().map(|bin| bin.calls).sum::<usize>(), calls.len());
        for bin in held {
            prop_assert!(bin.from <= bin.mean_odds + 1e-12 && bin.mean_odds <= bin.to + 1e-12);
            prop_assert!(0.0 <= bin.low && bin.low <= bin.share);
            prop_assert!(bin.share <= bin.high && bin.high <= 1.0);
        }
    }
}
