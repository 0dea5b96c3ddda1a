//! What the planner takes for certain is the mean of what the futures draw: `ready_after` by start
//! week, and the arrivals of standing lots, against the futures engine's own mean arrivals.

use std::collections::BTreeMap;

use futures::case::{self, Case};
use futures::{Options, simulate};
use season::{Fraction, Known, Phase, Split, fresh_arrivals, standing_arrivals};

const WEEKS: usize = 70;
const FUTURES: u32 = 4000;
const PLANTS: u32 = 500;

/// Weekly heat of a few unlike years.
fn heat() -> Vec<Vec<f64>> {
    (0..7_u32)
        .map(|year| {
            (0..WEEKS)
                .map(|week| {
                    let turn = (week as f64 / 52.0 + 0.05 * f64::from(year)).fract();
                    let season = if turn < 0.5 { turn } else { 1.0 - turn };
                    10.0 + 140.0 * season * (1.0 + 0.04 * f64::from(year))
                })
                .collect()
        })
        .collect()
}

fn phase(degree_days: f64, spread: (f64, f64), shared_sd: f64, take: Option<f64>) -> Phase {
    Phase {
        degree_days,
        within_lot: spread.0,
        between_lots: spread.1,
        survival: 0.85,
        survival_rho: 0.05,
        shared_sd,
        luck_sd: 0.0,
        split: take.map(|share| Split {
            share,
            rho: 0.06,
            otherwise: 1,
        }),
        climate: "open".to_owned(),
    }
}

/// What frosts of some weeks leave: none, light and heavy ones, unlike from year to year.
fn frosts() -> Vec<Vec<f64>> {
    let kept = |year: usize, week: usize| match (week + 3 * year) % 17 {
        0 => 0.8,
        5 if year.is_multiple_of(2) => 0.4,
        _ => 1.0,
    };
    let weeks = |year| (0..WEEKS).map(|week| kept(year, week)).collect();
    (0..heat().len()).map(weeks).collect()
}

/// The losses of a path's weeks.
fn losses(kept: &[f64]) -> Vec<case::Loss> {
    let weeks = kept.iter().enumerate().filter(|(_, kept)| **kept < 1.0);
    weeks
        .map(|(week, kept)| case::Loss {
            week: week as u32,
            stages: vec!["target".to_owned()],
            fraction: 1.0 - kept,
        })
        .collect()
}

fn base_case(phase: &Phase, heat: &[Vec<f64>], kept: &[Vec<f64>]) -> Case {
    let path = |(year, weeks): (usize, &Vec<f64>)| case::Path {
        climates: BTreeMap::from([("open".to_owned(), weeks.clone())]),
        losses: kept.get(year).map_or_else(Vec::new, |kept| losses(kept)),
        ..case::Path::default()
    };
    let lowered = case::Phase {
        degree_days: phase.degree_days,
        within_lot: phase.within_lot,
        between_lots: phase.between_lots,
        survival: phase.survival,
        survival_rho: phase.survival_rho,
        split: phase.split.as_ref().map(|split| case::Split {
            share: split.share,
            rho: split.rho,
            otherwise: "other".to_owned(),
        }),
        climate: phase.climate.clone(),
        shared_sd: phase.shared_sd,
    };
    Case {
        format: case::FORMAT,
        weeks: WEEKS as u32,
        paths: heat.iter().enumerate().map(path).collect(),
        phases: BTreeMap::from([("target".to_owned(), lowered)]),
        over_age_after_weeks: ["target", "other"]
            .map(|stage| (stage.to_owned(), case::Weekly::Always(WEEKS as u32)))
            .into(),
        lots: Vec::new(),
        operations: Vec::new(),
        orders: Vec::new(),
        crews: Vec::new(),
        perils: Vec::new(),
        seed: 0,
    }
}

/// Mean plants that become ready by week, of the stage, as the engine draws them.
fn drawn(case: &Case, stage: &str) -> Vec<f64> {
    let options = Options {
        futures: FUTURES,
        seed: 3,
        threads: 2,
        keep_arrivals: true,
    };
    let summary = simulate(case, &options, None, None).expect("a good case");
    let arrivals = summary.arrivals.expect("arrivals were asked for");
    arrivals
        .get(stage)
        .cloned()
        .unwrap_or_else(|| vec![0.0; WEEKS])
}

/// Cumulative means must agree within Monte Carlo error: a lot's share ready by a week has a
/// standard deviation of 0.5 at the most, so that 4 deviations of the mean of 4,000 lots are 0.032;
/// shares joined over weeks (1 %) come on top.
fn assert_agree(what: &str, shares: &[Fraction], shift: usize, drawn: &[f64]) {
    let bound = 4.0 * 0.5 / f64::from(FUTURES).sqrt() + 0.01;
    let mut by_week = vec![0.0; WEEKS];
    for part in shares {
        if let Some(week) = by_week.get_mut(part.week + shift) {
            *week += part.share;
        }
    }
    let (mut expected, mut found) = (0.0, 0.0);
    for week in 0..WEEKS {
        expected += by_week[week];
        found += drawn[week] / f64::from(PLANTS);
        assert!(
            (expected - found).abs() < bound,
            "{what}, week {week}: {expected:.4} planned, {found:.4} drawn"
        );
    }
    assert!(expected > 0.3, "{what}: hardly anything arrives");
}

/// Luck shared under three labels beside the season's.
const LUCK: [f64; 3] = [0.30, 0.20, 0.15];

fn with_luck(phase: Phase) -> Phase {
    let together = LUCK.iter().map(|sd| sd * sd).sum::<f64>().sqrt();
    Phase {
        luck_sd: together,
        ..phase
    }
}

/// The labels of a phase's lots.
fn labels(phase: &Phase) -> Vec<case::Shared> {
    let sds = LUCK.iter().take(if phase.luck_sd > 0.0 { 3 } else { 0 });
    sds.enumerate()
        .map(|(label, sd)| case::Shared {
            group: format!("label {label}"),
            sd: *sd,
        })
        .collect()
}

#[test]
fn ready_after_by_start_week_is_the_mean_of_the_futures() {
    let heat = heat();
    let phases = [
        phase(400.0, (0.16, 0.10), 0.0, None),
        phase(190.0, (0.10, 0.08), 0.3, Some(0.9)),
        phase(600.0, (0.0, 0.0), 0.5, Some(0.7)),
        phase(300.0, (0.3, 0.0), 0.2, None),
        with_luck(phase(190.0, (0.10, 0.08), 0.25, Some(0.9))),
    ];
    let unlike = [
        (0, Vec::new()),
        (9, frosts()),
        (24, Vec::new()),
        (24, frosts()),
    ];
    for (number, phase) in phases.iter().enumerate() {
        for (start, kept) in &unlike {
            let (start, kept) = (*start, kept.as_slice());
            let mut case = base_case(phase, &heat, kept);
            case.operations.push(case::Operation {
                operation: format!("work {number}"),
                takes_from: None,
                moves_to: "target".to_owned(),
                week: start,
                late_until: start,
                plants: Some(PLANTS),
                crew: None,
                hours_per_plant: 0.0,
                group: Some("season".to_owned()),
                window: None,
                luck: labels(phase),
                makes_up_for: Vec::new(),
                times: 1.0,
            });
            let start = start as usize;
            let (target, other) = fresh_arrivals(phase, &heat, kept, start);
            let what = format!("phase {number} from week {start}, {} frosts", kept.len());
            assert_agree(&what, &target, start, &drawn(&case, "target"));
            if phase.split.is_some() {
                let found = drawn(&case, "other");
                let planned: f64 = other.iter().map(|part| part.share).sum();
                let found: f64 = found.iter().sum::<f64>() / f64::from(PLANTS);
                assert!(
                    (planned - found).abs() < 0.02,
                    "{what}: {planned} and {found}"
                );
            }
        }
    }
}

#[test]
fn standing_lots_arrive_as_the_futures_draw_them() {
    let heat = heat();
    let unlike = [0.0, 150.0, 380.0, 1000.0].map(|so_far| (so_far, Vec::new(), Known::default()));
    let frosty = [0.0, 380.0].map(|so_far| (so_far, frosts(), Known::default()));
    let fast = Known {
        pace: Some([-0.25, 0.04]),
        ..Known::default()
    };
    let thinned = Known {
        pace: Some([0.2, 0.02]),
        survival: Some(0.6),
        survival_rho: Some(0.01),
    };
    let known = [(150.0, Vec::new(), fast), (380.0, frosts(), thinned)];
    for (so_far, kept, known) in unlike.into_iter().chain(frosty).chain(known) {
        let phase = with_luck(phase(400.0, (0.16, 0.10), 0.2, None));
        let mut case = base_case(&phase, &heat, &kept);
        case.lots.push(case::Lot {
            id: "lot".to_owned(),
            stage: "target".to_owned(),
            immature: PLANTS,
            ready: Vec::new(),
            degree_days_so_far: so_far,
            group: Some("season".to_owned()),
            luck: labels(&phase),
            known: Some(case::Known {
                pace: known.pace,
                survival: known.survival,
                survival_rho: known.survival_rho,
            }),
        });
        let (target, _) = standing_arrivals(&phase, &heat, &kept, so_far, &known);
        let what = format!(
            "{so_far} degree-days so far, {} frosts, {known:?}",
            kept.len()
        );
        assert_agree(&what, &target, 0, &drawn(&case, "target"));
    }
}
