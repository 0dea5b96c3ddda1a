use models::shared_luck::{Noise, Outcome, moment_variance, shared_sd};

use crate::luck::Luck;

/// Cases and others, vaccinated and not, of thirteen trials of the BCG vaccine (Colditz et al. 1994).
const TRIALS: [[f64; 4]; 13] = [
    [4.0, 119.0, 11.0, 128.0],
    [6.0, 300.0, 29.0, 274.0],
    [3.0, 228.0, 11.0, 209.0],
    [62.0, 13536.0, 248.0, 12619.0],
    [33.0, 5036.0, 47.0, 5761.0],
    [180.0, 1361.0, 372.0, 1079.0],
    [8.0, 2537.0, 10.0, 619.0],
    [505.0, 87886.0, 499.0, 87892.0],
    [29.0, 7470.0, 45.0, 7232.0],
    [17.0, 1699.0, 65.0, 1600.0],
    [186.0, 50448.0, 141.0, 27197.0],
    [5.0, 2493.0, 3.0, 2338.0],
    [27.0, 16886.0, 29.0, 17825.0],
];

/// τ² of the log risk ratios is printed as 0.3088 for this method (R package metafor, from memory; statsmodels
/// 0.15.0 gives 0.30876026).
#[test]
fn thirteen_trials_have_the_variance_that_is_printed() {
    let effects = TRIALS.map(|[a, b, c, d]| {
        let effect = libm::log(a / (a + b) / (c / (c + d)));
        (effect, 1.0 / a - 1.0 / (a + b) + 1.0 / c - 1.0 / (c + d))
    });
    let found = moment_variance(&effects).expect("thirteen");
    assert!((found - 0.308_760_26).abs() < 1e-8, "{found}");
    assert_eq!(moment_variance(&effects[..1]), None);
}

const NOISE: Noise = Noise {
    rho: 0.04,
    other_sd: 0.2,
};

/// Takes of groups with a known spread, three lots each, all worse than expected by as much.
fn drawn(luck: &mut Luck, groups: usize, sd: f64) -> Vec<Outcome> {
    let moved = |share: f64, by: f64| 1.0 / (1.0 + (1.0 / share - 1.0) * libm::exp(-by));
    let mut outcomes = Vec::new();
    for group in 0..groups {
        let of_group = sd * luck.normal() - 0.3;
        for lot in 0..3 {
            let expected = [0.9, 0.8, 0.85][lot];
            let by = of_group + NOISE.other_sd * luck.normal();
            let share = luck.beta(moved(expected, by), NOISE.rho);
            outcomes.push(Outcome {
                group: format!("group {group}"),
                expected,
                taken: luck.of(150, share),
                plants: 150,
            });
        }
    }
    outcomes
}

#[test]
fn a_known_spread_comes_back_from_many_groups() {
    let mut luck = Luck::new(11);
    for truth in [0.1, 0.3, 0.6] {
        let runs = 6;
        let mean = (0..runs)
            .map(|_| shared_sd(0.3, NOISE, &drawn(&mut luck, 600, truth)).sd)
            .sum::<f64>()
            / f64::from(runs);
        assert!((mean - truth).abs() < 0.06, "{truth}: {mean}");
    }
}

#[test]
fn few_groups_leave_the_default_and_alike_ones_do_not_end_all_luck() {
    let mut luck = Luck::new(12);
    let few = shared_sd(0.3, NOISE, &drawn(&mut luck, 2, 0.6));
    assert!((0.2..0.45).contains(&few.sd), "{few:?}");
    assert_eq!(few.groups, 2);
    let alike: Vec<Outcome> = (0..200)
        .map(|group| Outcome {
            group: group.to_string(),
            expected: 0.9,
            taken: 900,
            plants: 1000,
        })
        .collect();
    let found = shared_sd(0.3, NOISE, &alike);
    assert!((found.sd - 0.075).abs() < 1e-12, "{found:?}");
    assert!(found.worth > 2.0);
    let one = shared_sd(0.3, NOISE, &alike[..1]);
    assert_eq!((one.sd, one.groups), (0.3, 1));
    assert_eq!(shared_sd(0.0, NOISE, &alike).sd, 0.0);
}
