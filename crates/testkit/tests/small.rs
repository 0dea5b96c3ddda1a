//! Small nurseries keep the rules that they are said to keep: lives done by hand, in which nothing is left
//! to chance, and what holds of any life.

use std::collections::BTreeMap;

use testkit::small::{
    ByWeek, Growth, Job, Life, Line, LineFate, Loss, Nursery, Peril, Remedy, Stage, Standing, Take,
    Weather,
};

/// Growth of plants that all need so much, and all survive.
fn sure(degree_days: f64) -> Growth {
    Growth {
        climate: "open".to_owned(),
        degree_days,
        within_lot: 0.0,
        between_lots: 0.0,
        survival: 1.0,
        survival_rho: 0.0,
        take: None,
        batch_sd: 0.0,
    }
}

fn stage(growth: Option<Growth>) -> Stage {
    Stage {
        growth,
        over_age_weeks: None,
    }
}

/// Six weeks of 10 °C·d a day; 50 liners growing that need 100, and trees that need 60.
fn plain() -> Nursery {
    let weather = Weather {
        degree_days: BTreeMap::from([("open".to_owned(), vec![10.0; 42])]),
        windows: BTreeMap::new(),
        losses: Vec::new(),
    };
    let stages = [
        ("liner", stage(Some(sure(100.0)))),
        ("tree", stage(Some(sure(60.0)))),
    ];
    Nursery {
        weeks: 6,
        weathers: vec![weather],
        stages: stages.map(|(name, stage)| (name.to_owned(), stage)).into(),
        standing: vec![lot("liner", 50)],
        jobs: Vec::new(),
        lines: Vec::new(),
        crews: BTreeMap::new(),
        perils: Vec::new(),
    }
}

fn lot(stage: &str, growing: u32) -> Standing {
    Standing {
        name: stage.to_owned(),
        stage: stage.to_owned(),
        growing,
        degree_days: 0.0,
        ready: Vec::new(),
        batch: None,
        luck: Vec::new(),
        known: None,
    }
}

fn job(name: &str, weeks: (i32, i32), plants: Option<u32>) -> Job {
    Job {
        name: name.to_owned(),
        takes_from: Some("liner".to_owned()),
        moves_to: "tree".to_owned(),
        week: weeks.0,
        late_until: weeks.1,
        plants,
        crew: None,
        hours_per_plant: 0.0,
        window: None,
        batch: None,
        luck: Vec::new(),
        remedy: None,
    }
}

fn line(stage: &str, plants: u32) -> Line {
    Line {
        name: format!("{plants} of {stage}"),
        accepts: vec![stage.to_owned()],
        plants,
        earliest: 0,
        due: 5,
        latest: 5,
        priority: 0,
        tolerance: 0.0,
        kept: 1.0,
        minimum_load: 0,
    }
}

fn came(life: &Life, stage: &str) -> Vec<u32> {
    life.arrivals.get(stage).cloned().unwrap_or_default()
}

fn fate(complete: Option<i32>, lacks: u32) -> LineFate {
    LineFate {
        kept: true,
        complete,
        lacks,
    }
}

#[test]
fn plants_are_ready_at_the_end_of_the_week_in_which_they_have_their_heat() {
    // 100 °C·d are there on the tenth day, the third of week 1.
    let mut nursery = plain();
    assert_eq!(came(&nursery.live(1), "liner"), [0, 50, 0, 0, 0, 0]);
    // With 31 behind them they lack 69, and have them on the seventh day, the last of week 0.
    nursery.standing[0].degree_days = 31.0;
    assert_eq!(came(&nursery.live(1), "liner"), [50, 0, 0, 0, 0, 0]);
    nursery.standing[0].degree_days = 29.0;
    assert_eq!(came(&nursery.live(1), "liner"), [0, 50, 0, 0, 0, 0]);
}

#[test]
fn work_moves_ready_plants_and_they_grow_from_the_week_after() {
    let mut nursery = plain();
    nursery.crews = BTreeMap::from([("field".to_owned(), ByWeek::Same(2.0))]);
    nursery.jobs = vec![Job {
        crew: Some("field".to_owned()),
        hours_per_plant: 0.1,
        ..job("pot up", (0, 2), Some(45))
    }];
    // Two hours are 20 plants a week, in weeks 1 and 2, and the job is over then.
    assert_eq!(came(&nursery.live(1), "tree"), [0, 0, 20, 20, 0, 0]);
    // In a week half of which is usable, an hour is.
    nursery.jobs[0].window = Some("bark".to_owned());
    nursery.weathers[0].windows =
        BTreeMap::from([("bark".to_owned(), vec![1.0, 0.5, 0.0, 0.0, 0.0, 0.0])]);
    assert_eq!(came(&nursery.live(1), "tree"), [0, 0, 10, 0, 0, 0]);
}

#[test]
fn a_remedy_does_what_was_left_undone() {
    let mut nursery = plain();
    let late = Job {
        remedy: Some(Remedy {
            job: ("pot up".to_owned(), 0),
            times: 1.3,
        }),
        ..job("pot up late", (2, 3), None)
    };
    // The first ends before there are plants: 1.3 for each of 11, rounded up.
    nursery.jobs = vec![job("pot up", (0, 0), Some(11)), late];
    assert_eq!(came(&nursery.live(1), "tree"), [0, 0, 0, 15, 0, 0]);
    // Where the first was done, nothing is left to do.
    nursery.jobs[0].late_until = 1;
    assert_eq!(came(&nursery.live(1), "tree"), [0, 0, 11, 0, 0, 0]);
}

#[test]
fn lines_are_served_by_rank_with_their_tolerance_and_least_load() {
    let mut nursery = plain();
    let last = Line {
        priority: 1,
        ..line("liner", 20)
    };
    let tolerant = Line {
        tolerance: 0.35,
        ..last.clone()
    };
    let truck = Line {
        minimum_load: 14,
        ..last.clone()
    };
    nursery.lines = vec![last, line("liner", 37)];
    assert_eq!(nursery.live(1).lines, [fate(None, 7), fate(Some(1), 0)]);
    nursery.lines[0] = tolerant;
    assert_eq!(nursery.live(1).lines[0], fate(Some(1), 7));
    // 13 are left for it, and the truck is sent for 14.
    nursery.lines[0] = truck;
    assert_eq!(nursery.live(1).lines[0], fate(None, 20));
    nursery.lines[0].kept = 0.0;
    assert!(!nursery.live(1).lines[0].kept);
}

#[test]
fn plants_too_old_are_gone_and_the_oldest_go_first() {
    let mut nursery = plain();
    let liner = nursery.stages.get_mut("liner").expect("liners");
    liner.over_age_weeks = Some(ByWeek::Same(2));
    // Those of three weeks are too old at once, those of one in week 2. The growing ones come in week 1.
    nursery.standing[0].ready = vec![(3, 20), (1, 30)];
    nursery.lines = vec![line("liner", 81)];
    assert_eq!(nursery.live(1).lines, [fate(None, 1)]);
    nursery.lines[0].earliest = 2;
    assert_eq!(nursery.live(1).lines, [fate(None, 31)]);
    // The first line takes the 30 that are oldest, and leaves those that are in time for the second.
    nursery.standing[0].ready = vec![(0, 20), (1, 30)];
    let second = Line {
        earliest: 2,
        ..line("liner", 70)
    };
    nursery.lines = vec![line("liner", 30), second];
    assert_eq!(nursery.live(1).lines, [fate(Some(0), 0), fate(Some(2), 0)]);
}

#[test]
fn losses_and_perils_take_growing_and_ready_plants() {
    let mut nursery = plain();
    nursery.standing[0].ready = vec![(0, 5)];
    nursery.lines = vec![Line {
        earliest: 1,
        ..line("liner", 1)
    }];
    let all = || vec!["liner".to_owned()];
    // In the week in which they have their heat they are still lost.
    let loss = |week| Loss {
        week,
        stages: all(),
        fraction: 1.0,
    };
    nursery.weathers[0].losses = vec![loss(1)];
    let life = nursery.live(1);
    assert_eq!(
        (came(&life, "liner"), life.lines[0]),
        (vec![], fate(None, 1))
    );
    nursery.weathers[0].losses = vec![loss(2)];
    assert_eq!(nursery.live(1).lines[0], fate(Some(1), 0));
    nursery.weathers[0].losses.clear();
    nursery.perils = vec![Peril {
        name: "hail".to_owned(),
        stages: all(),
        from: 0,
        until: 1,
        odds: 1.0,
        fraction: 1.0,
    }];
    // Hail of week 0 or 1: both come.
    let lost = (0..40)
        .map(|seed| nursery.live(seed))
        .map(|life| life.lines[0]);
    assert!(lost.into_iter().all(|it| it == fate(None, 1)));
    nursery.perils[0].odds = 0.0;
    assert_eq!(nursery.live(1).lines[0], fate(Some(1), 0));
}

#[test]
fn what_does_not_take_stands_elsewhere() {
    let mut nursery = plain();
    let take = Take {
        share: 0.5,
        rho: 0.0,
        missed: "missed".to_owned(),
    };
    let growth = Growth {
        take: Some(take),
        survival: 0.8,
        ..sure(100.0)
    };
    nursery.stages = BTreeMap::from([
        ("liner".to_owned(), stage(Some(growth))),
        ("missed".to_owned(), stage(None)),
    ]);
    nursery.standing[0].growing = 10_000;
    let life = nursery.live(3);
    // 4,000 of each, within five standard deviations of 49.
    for stage in ["liner", "missed"] {
        assert!(came(&life, stage)[1].abs_diff(4_000) < 245, "{life:?}");
    }
}

#[test]
fn the_same_seed_is_the_same_life_and_no_plant_appears() {
    for seed in 1..=10 {
        let nursery = Nursery::made(seed);
        let life = nursery.live(7);
        assert_eq!(life.lines, Nursery::made(seed).live(7).lines);
        assert!((20..=40).contains(&nursery.lines.len()));
        let growing: u32 = nursery.standing.iter().map(|lot| lot.growing).sum();
        let sown = nursery.jobs.iter().filter(|job| job.takes_from.is_none());
        let seedlings: u32 = sown.filter_map(|job| job.plants).sum();
        let came: BTreeMap<&str, u32> = life
            .arrivals
            .iter()
            .map(|(stage, weeks)| (stage.as_str(), weeks.iter().sum()))
            .collect();
        let of = |kind: &str| -> u32 {
            let of_kind = came.iter().filter(|(stage, _)| stage.starts_with(kind));
            of_kind.map(|(_, plants)| plants).sum()
        };
        let standing = |kind: &str| -> u32 {
            let lots = nursery
                .standing
                .iter()
                .filter(|lot| lot.stage.starts_with(kind));
            lots.map(|lot| lot.growing + lot.ready.iter().map(|(_, plants)| plants).sum::<u32>())
                .sum()
        };
        assert!(of("seedling") <= growing + seedlings);
        assert!(of("liner") <= standing("liner") + standing("seedling") + of("seedling"));
        assert!(of("finished") <= standing("finished") + standing("budded") + of("budded"));
        let shipped: u32 = nursery
            .lines
            .iter()
            .zip(&life.lines)
            .map(|(line, fate)| line.plants - fate.lacks)
            .sum();
        assert!(shipped > 0 && shipped <= of("finished") + standing("finished"));
    }
}
