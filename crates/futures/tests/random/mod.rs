//! Small random cases with every part that matters to those who take ready plants.

use std::collections::BTreeMap;

use barkslip_futures::case::{
    Case, Crew, FORMAT, Loss, Lot, Operation, Order, Path, Peril, Phase, Split, Weekly,
};

/// A source of whole numbers: SplitMix64.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, count: u32) -> u32 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % u64::from(count)) as u32
    }

    pub fn one_of<T: Clone>(&mut self, of: &[T]) -> T {
        of[self.below(of.len() as u32) as usize].clone()
    }

    fn week(&mut self, weeks: u32) -> i32 {
        self.below(weeks) as i32
    }
}

pub const SOLD: [&str; 4] = ["a", "b", "c", "d"];

/// A case of stages `a` to `d`, which are sold, and `grown`, which is not. With `work`, operations
/// take plants from the stages sold, to `grown` and to one another.
pub fn case(dice: &mut Dice, work: bool) -> Case {
    let weeks = 12 + dice.below(10);
    let mut case = Case {
        format: FORMAT,
        weeks,
        paths: (0..3).map(|_| path(dice, weeks)).collect(),
        phases: phases(dice),
        over_age_after_weeks: over_age(dice, weeks),
        lots: (0..dice.below(4)).map(|at| lot(dice, at)).collect(),
        operations: (0..3 + dice.below(5))
            .map(|_| sowing(dice, weeks))
            .collect(),
        crews: vec![Crew {
            id: "potters".to_owned(),
            hours_per_week: Weekly::Always(5.0),
        }],
        perils: (0..dice.below(3))
            .map(|at| peril(dice, at, weeks))
            .collect(),
        ..Case::default()
    };
    if work {
        let more = 1 + dice.below(4);
        case.operations
            .extend((0..more).map(|_| moving(dice, weeks)));
    }
    let orders = 2 + dice.below(7);
    case.orders = (0..orders)
        .map(|at| order(dice, weeks, format!("line {at}")))
        .collect();
    case
}

fn path(dice: &mut Dice, weeks: u32) -> Path {
    let heat = (0..weeks).map(|_| f64::from(dice.below(12))).collect();
    let losses = (0..dice.below(4)).map(|_| Loss {
        week: dice.below(weeks),
        stages: vec![dice.one_of(&SOLD).to_owned(), dice.one_of(&SOLD).to_owned()],
        fraction: f64::from(dice.below(5)) / 8.0,
    });
    Path {
        climates: BTreeMap::from([("open".to_owned(), heat)]),
        losses: losses.collect(),
        ..Path::default()
    }
}

fn peril(dice: &mut Dice, at: u32, weeks: u32) -> Peril {
    let from = dice.below(weeks);
    Peril {
        id: format!("peril {at}"),
        stages: vec![dice.one_of(&SOLD).to_owned()],
        from,
        until: from + dice.below(weeks),
        chance: 0.4,
        fraction: 0.3,
    }
}

fn phases(dice: &mut Dice) -> BTreeMap<String, Phase> {
    let mut phases = BTreeMap::new();
    for stage in ["a", "b", "c", "grown"] {
        let split = (stage == "a" && dice.below(2) == 0).then(|| Split {
            share: 0.6,
            rho: 0.1,
            otherwise: dice.one_of(&["b", "d"]).to_owned(),
        });
        let phase = Phase {
            degree_days: 10.0 + f64::from(dice.below(40)),
            within_lot: f64::from(dice.below(3)) * 0.15,
            between_lots: 0.1,
            survival: 0.9,
            survival_rho: 0.05,
            split,
            climate: "open".to_owned(),
            shared_sd: 0.2,
        };
        phases.insert(stage.to_owned(), phase);
    }
    phases
}

fn over_age(dice: &mut Dice, weeks: u32) -> BTreeMap<String, Weekly<u32>> {
    let mut limits = BTreeMap::from([("d".to_owned(), Weekly::Always(4))]);
    for stage in ["a", "b"] {
        // Limits that jump about: younger plants may be too old before older ones.
        let by_week = (0..weeks).map(|_| dice.below(8)).collect();
        let kind = [Weekly::ByWeek(by_week), Weekly::Always(3 + dice.below(4))];
        if dice.below(3) > 0 {
            limits.insert(stage.to_owned(), dice.one_of(&kind));
        }
    }
    limits
}

fn lot(dice: &mut Dice, at: u32) -> Lot {
    let ready = (0..dice.below(3))
        .map(|_| (dice.below(5), dice.below(30)))
        .collect();
    Lot {
        id: format!("lot {at}"),
        stage: dice.one_of(&["a", "b", "c"]).to_owned(),
        ready,
        immature: dice.below(80),
        degree_days_so_far: f64::from(dice.below(15)),
        group: Some("together".to_owned()),
        luck: Vec::new(),
        known: None,
    }
}

fn sowing(dice: &mut Dice, weeks: u32) -> Operation {
    let week = dice.week(weeks / 2);
    Operation {
        operation: "sow".to_owned(),
        takes_from: None,
        moves_to: dice.one_of(&["a", "b", "c"]).to_owned(),
        week,
        late_until: week,
        plants: Some(10 + dice.below(90)),
        crew: None,
        hours_per_plant: 0.0,
        group: None,
        window: None,
        luck: Vec::new(),
        makes_up_for: Vec::new(),
        times: 1.0,
    }
}

fn moving(dice: &mut Dice, weeks: u32) -> Operation {
    let week = dice.week(weeks);
    let all = dice.below(4) == 0;
    Operation {
        operation: "pot on".to_owned(),
        takes_from: Some(dice.one_of(&SOLD).to_owned()),
        moves_to: dice.one_of(&["b", "c", "grown", "grown"]).to_owned(),
        week,
        late_until: week + dice.week(4),
        plants: (!all).then(|| 1 + dice.below(40)),
        crew: Some("potters".to_owned()),
        hours_per_plant: 0.1,
        group: None,
        window: None,
        luck: Vec::new(),
        makes_up_for: Vec::new(),
        times: 1.0,
    }
}

pub fn order(dice: &mut Dice, weeks: u32, id: String) -> Order {
    let first = dice.one_of(&SOLD).to_owned();
    let mut accepts = vec![first.clone()];
    let second = dice.one_of(&SOLD).to_owned();
    if dice.below(2) == 0 && second != first {
        accepts.push(second);
    }
    let earliest = dice.week(weeks) - 2;
    let due = earliest + dice.week(6);
    Order {
        id,
        accepts,
        plants: dice.below(60),
        earliest,
        due,
        latest: due + dice.week(5),
        priority: i64::from(dice.below(2)),
        tolerance: dice.one_of(&[0.0, 0.0, 0.1, 0.3]),
        kept: dice.one_of(&[1.0, 1.0, 0.7]),
        minimum_load: dice.one_of(&[0, 0, 15, 40]),
    }
}
