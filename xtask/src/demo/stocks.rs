//! The lives of rootstocks: seedlings and liners until they are budded.

use jiff::civil::{Date, date};
use nursery::catalogue::StageKind;
use nursery::ledger::Deed;
use nursery::ledger::act::{BuyIn, LossReason, OpenLot, ReceiveSeed, Rogue, Shift, Sow};

use super::diary::OFFICE;
use super::draw::{Draw, plus_days, spread_out};
use super::grower::{Grower, Standing};
use super::kinds::ROOTSTOCKS;
use super::site::Growth;
use super::{AS_OF, OPENED, SEEDS_LEFT, tables};

/// First and last day of some work.
pub type Days = (Date, Date);

/// Seedlings of one spring or summer and what they are for.
struct Sowing {
    lots: usize,
    /// Seeds a lot; of lots that stood when the books opened, plants.
    each: u32,
    days: Days,
    uses: &'static [Use],
}

/// Where lots of seedlings go.
struct Use {
    lots: usize,
    days: Days,
    pool: usize,
}

/// Liners that wait to be budded, by the spring or autumn in which they can be.
pub type Pools = [Vec<Standing>; 8];

/// Liners in rows for the spring of 2025, and for the year after it.
pub const ROWS_OPENED: usize = 0;
/// Lined out in the spring of 2025.
pub const ROWS_2025: usize = 1;
/// Lined out in the spring of 2026.
pub const ROWS_2026: usize = 2;
/// Lined out in the autumn of 2026.
pub const ROWS_AUTUMN: usize = 3;
/// Potted in the spring of 2025.
pub const POTS_2025: usize = 4;
/// Potted in the autumn of 2025.
pub const POTS_WINTER: usize = 5;
/// Potted in the spring of 2026.
pub const POTS_2026: usize = 6;
/// Potted in the autumn of 2026.
pub const POTS_AUTUMN: usize = 7;

const fn used(lots: usize, days: Days, pool: usize) -> Use {
    Use { lots, days, pool }
}

const SOWINGS: [Sowing; 4] = [
    Sowing {
        lots: 16,
        each: 1100,
        days: (date(2024, 6, 5), date(2024, 6, 28)),
        uses: &[
            used(13, (date(2025, 3, 10), date(2025, 5, 20)), ROWS_2025),
            used(3, (date(2025, 3, 12), date(2025, 4, 25)), POTS_2025),
        ],
    },
    Sowing {
        lots: 26,
        each: 1300,
        days: (date(2025, 6, 4), date(2025, 6, 28)),
        uses: &[
            used(1, (date(2025, 9, 8), date(2025, 10, 11)), ROWS_2025),
            used(3, (date(2025, 8, 25), date(2025, 10, 4)), POTS_WINTER),
            used(18, (date(2026, 3, 10), date(2026, 5, 20)), ROWS_2026),
            used(4, (date(2026, 3, 2), date(2026, 4, 10)), POTS_2026),
        ],
    },
    Sowing {
        lots: 19,
        each: 1250,
        days: (date(2026, 6, 4), date(2026, 6, 27)),
        uses: &[
            used(4, (date(2026, 9, 8), date(2026, 10, 10)), ROWS_AUTUMN),
            used(3, (date(2026, 8, 24), date(2026, 10, 3)), POTS_AUTUMN),
        ],
    },
    Sowing {
        lots: 9,
        each: 850,
        days: (date(2027, 2, 3), date(2027, 2, 20)),
        uses: &[],
    },
];

/// Liners that stood when the books opened: lots, plants of each, days they entered, place, pool.
const OPENED_LINERS: [(usize, u32, Days, &str, usize); 2] = [
    (
        9,
        860,
        (date(2024, 3, 12), date(2024, 5, 18)),
        "rows-1",
        ROWS_OPENED,
    ),
    (
        3,
        260,
        (date(2024, 8, 20), date(2024, 10, 4)),
        "house-1",
        POTS_2025,
    ),
];

/// Liners that were bought: lots, plants of each, days, pool.
const BOUGHT: [(usize, u32, Days, usize); 3] = [
    (2, 220, (date(2025, 9, 8), date(2025, 9, 27)), POTS_WINTER),
    (3, 200, (date(2026, 3, 30), date(2026, 4, 18)), POTS_2026),
    (5, 220, (date(2026, 9, 7), date(2026, 9, 28)), POTS_AUTUMN),
];

/// All rootstocks from seed, from the opening and from sellers, in their pools; what goes to none
/// stands.
pub fn raise(grower: &mut Grower<'_>) -> Pools {
    let mut pools = Pools::default();
    for sowing in &SOWINGS {
        sow_all(grower, sowing, &mut pools);
    }
    for (lots, each, days, place, pool) in OPENED_LINERS {
        for rootstock in rootstocks(&mut grower.draw, lots) {
            let plants = grower.share(each, 1.0, 0.08).max(each / 2);
            let entered = grower.draw.day(days.0, days.1);
            let liner = opened_liner(grower, rootstock, plants, entered, place);
            pools[pool].push(liner);
        }
    }
    for (lots, each, days, pool) in BOUGHT {
        for rootstock in rootstocks(&mut grower.draw, lots) {
            let liner = buy(grower, rootstock, each, days);
            pools[pool].push(liner);
        }
    }
    receive_seed(grower);
    pools
}

/// The rootstocks of some lots in any order, in the trade's shares.
fn rootstocks(draw: &mut Draw, lots: usize) -> Vec<&'static str> {
    let weights = ROOTSTOCKS.map(|(_, share)| share);
    let mut all: Vec<&str> = spread_out(draw.uniform(), lots, &weights)
        .into_iter()
        .map(|at| ROOTSTOCKS[at].0)
        .collect();
    draw.shuffle(&mut all);
    all
}

fn sow_all(grower: &mut Grower<'_>, sowing: &Sowing, pools: &mut Pools) {
    let mut lots: Vec<Standing> = rootstocks(&mut grower.draw, sowing.lots)
        .into_iter()
        .map(|rootstock| {
            if sowing.days.1 < OPENED {
                opened_seedlings(grower, rootstock, sowing)
            } else {
                sow(grower, rootstock, sowing)
            }
        })
        .collect();
    // Each use gets of all rootstocks.
    grower.draw.shuffle(&mut lots);
    let mut lots = lots.into_iter();
    for used in sowing.uses {
        for seedlings in lots.by_ref().take(used.lots) {
            let liner = move_out(grower, seedlings, used);
            pools[used.pool].push(liner);
        }
    }
    for lot in lots {
        grower.keep(lot);
    }
}

fn seedlings(grower: &mut Grower<'_>, rootstock: &'static str, entered: Date) -> Standing {
    Standing {
        name: grower.name("S", entered),
        growth: Growth {
            step: "sow",
            rootstock,
            variety: None,
            place: "seedbed-1",
            entered,
        },
        size: None,
        plants: 0,
        ready: 0,
        touched: entered,
        is_wrapped: false,
    }
}

fn opened_seedlings(grower: &mut Grower<'_>, rootstock: &'static str, sowing: &Sowing) -> Standing {
    let entered = grower.draw.day(sowing.days.0, sowing.days.1);
    let plants = grower.share(sowing.each, 1.0, 0.08).max(sowing.each / 2);
    let mut lot = seedlings(grower, rootstock, entered);
    lot.plants = plants;
    open(grower, &mut lot, StageKind::Seedling, None, None);
    lot
}

fn opened_liner(
    grower: &mut Grower<'_>,
    rootstock: &'static str,
    plants: u32,
    entered: Date,
    place: &'static str,
) -> Standing {
    let (letter, step) = liner_of(place);
    let mut lot = seedlings(grower, rootstock, entered);
    lot.name = grower.name(letter, entered);
    (lot.plants, lot.growth.step, lot.growth.place) = (plants, step, place);
    open(grower, &mut lot, StageKind::Liner, None, None);
    lot
}

/// The first letter of liners at a place and the step that made them.
fn liner_of(place: &str) -> (&'static str, &'static str) {
    match place {
        "rows-1" => ("L", "line_out"),
        _ => ("P", "pot_up"),
    }
}

/// Opens the books with a lot.
pub fn open(
    grower: &mut Grower<'_>,
    lot: &mut Standing,
    stage: StageKind,
    budded_on: Option<Date>,
    size: Option<&str>,
) {
    let share = grower
        .site
        .share_ready(&mut grower.draw, &lot.growth, OPENED);
    let is_taken = stage == StageKind::Budded && budded_on == Some(lot.growth.entered);
    let share = if is_taken { 1.0 } else { share };
    let ready = (f64::from(lot.plants) * share).round() as u32;
    let growth = &lot.growth;
    let source = match growth.variety {
        Some(variety) => tables::trees_in_use(variety)[0].clone(),
        None => format!("batch {}", tables::batch(growth.rootstock, 2024)),
    };
    let deed = Deed::OpenLot(OpenLot {
        lot: lot.name.clone(),
        stage,
        rootstock: growth.rootstock.into(),
        variety: growth.variety.map(|it| it.id.into()),
        size: size.map(Into::into),
        place: growth.place.into(),
        growing: lot.plants - ready,
        ready,
        entered: growth.entered,
        budded_on,
        step: Some(growth.step.into()),
        source: Some(source),
    });
    (lot.ready, lot.touched) = (ready, OPENED);
    grower.diary.write_first(OPENED, OFFICE, deed);
}

fn sow(grower: &mut Grower<'_>, rootstock: &'static str, sowing: &Sowing) -> Standing {
    let on = grower.workday(sowing.days.0, sowing.days.1);
    let seeds = grower.share(sowing.each, 0.98, 0.05) / 50 * 50;
    *grower.sown.entry((on.year(), rootstock)).or_insert(0) += seeds;
    let mut lot = seedlings(grower, rootstock, on);
    lot.plants = seeds;
    let by = grower.hand();
    let deed = Deed::Sow(Sow {
        rootstock: rootstock.into(),
        seeds,
        batch: Some(tables::batch(rootstock, on.year())),
        place: lot.growth.place.into(),
        lot: Some(lot.name.clone()),
    });
    grower.diary.write(on, by, deed);
    let counted = grower.after(on, 60, 75);
    if counted < AS_OF {
        let germination = grower.site.germination(rootstock);
        lot.plants = grower.share(seeds, germination, 0.025);
        grower.count(&mut lot, counted);
        let rogued = grower.after(counted, 5, 15);
        rogue(grower, &mut lot, rogued);
    }
    lot
}

fn rogue(grower: &mut Grower<'_>, lot: &mut Standing, on: Date) {
    let plants = grower.share(lot.plants, 0.04, 0.012).max(1);
    let by = grower.hand();
    let deed = Deed::Rogue(Rogue {
        lot: lot.name.clone(),
        plants,
    });
    if grower.diary.write(on, by, deed).is_some() {
        lot.plants -= plants;
        lot.touched = on;
    }
}

/// Lines seedlings out or pots them up.
fn move_out(grower: &mut Grower<'_>, mut seedlings: Standing, used: &Use) -> Standing {
    let on = grower
        .workday(used.days.0, used.days.1)
        .max(plus_days(seedlings.touched, 1));
    let place = if used.pool < POTS_2025 {
        "rows-1"
    } else {
        "house-1"
    };
    let (letter, step) = liner_of(place);
    grower.count(&mut seedlings, on);
    // The last few are too weak to be worth a place.
    let weak = grower.share(seedlings.plants, 0.03, 0.01).max(1);
    let plants = seedlings.plants - weak;
    let name = grower.name(letter, on);
    let shift = Shift {
        lot: seedlings.name.clone(),
        plants,
        place: place.into(),
        size: None,
        new_lot: Some(name.clone()),
    };
    let deed = if place == "rows-1" {
        Deed::LineOut(shift)
    } else {
        Deed::PotUp(shift)
    };
    let by = grower.hand();
    grower.diary.write(on, by, deed);
    seedlings.plants = weak;
    grower.lose_for(&mut seedlings, on, weak, LossReason::Other);
    let mut liner = Standing {
        name,
        growth: Growth {
            step,
            place,
            entered: on,
            ..seedlings.growth
        },
        plants,
        touched: on,
        ..seedlings
    };
    let lost = grower.after(on, 40, 120);
    grower.lose(&mut liner, lost, 0.05);
    liner
}

fn buy(grower: &mut Grower<'_>, rootstock: &'static str, plants: u32, days: Days) -> Standing {
    let on = grower.workday(days.0, days.1);
    let name = grower.name("P", on);
    let deed = Deed::BuyIn(BuyIn {
        stage: StageKind::Liner,
        rootstock: rootstock.into(),
        variety: None,
        size: None,
        plants,
        place: "house-1".into(),
        source: "seller N-02".to_owned(),
        cost: Some(i64::from(plants) * 195),
        lot: Some(name.clone()),
    });
    grower.diary.write(on, OFFICE, deed);
    let mut lot = seedlings_in_pots(name, rootstock, on);
    lot.plants = plants;
    let lost = grower.after(on, 12, 30);
    grower.lose(&mut lot, lost, 0.04);
    lot
}

fn seedlings_in_pots(
    name: nursery::ids::LotName,
    rootstock: &'static str,
    entered: Date,
) -> Standing {
    Standing {
        name,
        growth: Growth {
            step: "buy_liners",
            rootstock,
            variety: None,
            place: "house-1",
            entered,
        },
        size: None,
        plants: 0,
        ready: 0,
        touched: entered,
        is_wrapped: false,
    }
}

/// Writes down the seed that came in: what was sown of it, and what is left for this spring.
fn receive_seed(grower: &mut Grower<'_>) {
    let years = [
        (2025, OPENED),
        (2026, date(2025, 12, 9)),
        (2027, date(2026, 12, 8)),
        (2028, date(2027, 2, 22)),
    ];
    for (year, on) in years {
        for (rootstock, share) in ROOTSTOCKS {
            let sown = grower.sown.get(&(year, rootstock)).copied().unwrap_or(0);
            let left = match year {
                2027 => SEEDS_LEFT[0],
                2028 => SEEDS_LEFT[1],
                _ => 0.0,
            };
            let left = (left * share / 100.0).round() as u32 * 100;
            let tested = grower.draw.between(76.0, 89.0).round();
            let source = match rootstock {
                "benton" | "volkamer" => "seller N-05",
                _ => "own trees",
            };
            let deed = Deed::ReceiveSeed(ReceiveSeed {
                rootstock: rootstock.into(),
                seeds: sown + left,
                batch: tables::batch(rootstock, year),
                germination_percent: (year < 2028).then(|| percent(tested)),
                source: Some(source.to_owned()),
                available: Some(date(year - 1, 12, 1)),
                use_by: Some(date(year, 6, 30)),
            });
            grower.diary.write_first(on, OFFICE, deed);
        }
    }
}

/// A share in percent.
pub fn percent(value: f64) -> nursery::ledger::amount::Percent {
    nursery::ledger::amount::Percent::try_from(value).expect("a share of the demo is one")
}
