//! The lives of trees: from the budding, or from the opening of the books, until they are sold.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};
use nursery::catalogue::StageKind;
use nursery::ids::LotName;
use nursery::ledger::Deed;
use nursery::ledger::act::{Bud, BudMethod, Force, Grade, LossReason, Merge, Shift, Unwrap, Work};
use nursery::ledger::amount::Hours;

use super::draw::{divide, plus_days};
use super::grower::{Grower, Sale, Standing, working};
use super::kinds::SIZES;
use super::site::Growth;
use super::stocks::{
    Days, POTS_2025, POTS_2026, POTS_WINTER, Pools, ROWS_2025, ROWS_2026, ROWS_OPENED, open,
};
use super::{AS_OF, OPENED};

/// Buds set in some weeks on the liners of a pool, and what is done with them.
struct Campaign {
    pool: usize,
    /// Share of each lot of liners that is budded.
    share: f64,
    /// Plants budded at a time, about.
    each: u32,
    days: Days,
    force: Days,
    finish: Days,
    /// Share of the trees in each size.
    sizes: [f64; 3],
    /// Where the missed stocks go: to be budded again with a pool, or to stand.
    again: Option<usize>,
}

const ROW_SIZES: [f64; 3] = [0.0, 0.78, 0.22];
const POT_SIZES: [f64; 3] = [0.75, 0.15, 0.1];

const CAMPAIGNS: [Campaign; 8] = [
    Campaign {
        pool: ROWS_OPENED,
        share: 0.97,
        each: 125,
        days: (date(2025, 5, 2), date(2025, 6, 13)),
        force: (date(2025, 6, 10), date(2025, 8, 9)),
        finish: (date(2025, 11, 3), date(2026, 4, 20)),
        sizes: ROW_SIZES,
        again: Some(ROWS_2025),
    },
    Campaign {
        pool: POTS_2025,
        share: 0.97,
        each: 105,
        days: (date(2025, 8, 21), date(2025, 10, 8)),
        force: (date(2026, 2, 17), date(2026, 3, 14)),
        finish: (date(2026, 6, 1), date(2026, 8, 8)),
        sizes: POT_SIZES,
        again: Some(POTS_WINTER),
    },
    Campaign {
        pool: ROWS_2025,
        share: 0.52,
        each: 128,
        days: (date(2025, 9, 3), date(2025, 10, 9)),
        force: (date(2026, 2, 20), date(2026, 4, 10)),
        finish: (date(2026, 10, 1), date(2027, 4, 10)),
        sizes: ROW_SIZES,
        again: Some(ROWS_2025),
    },
    Campaign {
        pool: POTS_WINTER,
        share: 0.97,
        each: 105,
        days: (date(2026, 4, 8), date(2026, 6, 13)),
        force: (date(2026, 5, 11), date(2026, 7, 18)),
        finish: (date(2026, 9, 14), date(2026, 11, 13)),
        sizes: POT_SIZES,
        again: Some(POTS_2026),
    },
    Campaign {
        pool: ROWS_2025,
        share: 0.97,
        each: 122,
        days: (date(2026, 4, 30), date(2026, 6, 13)),
        force: (date(2026, 6, 10), date(2026, 8, 12)),
        finish: (date(2027, 3, 1), date(2027, 4, 20)),
        sizes: ROW_SIZES,
        again: Some(ROWS_2026),
    },
    Campaign {
        pool: POTS_2026,
        share: 0.6,
        each: 90,
        days: (date(2026, 8, 21), date(2026, 9, 5)),
        force: (date(2026, 9, 21), date(2026, 10, 14)),
        finish: (date(2027, 3, 1), date(2027, 4, 20)),
        sizes: POT_SIZES,
        again: None,
    },
    Campaign {
        pool: ROWS_2026,
        share: 0.56,
        each: 118,
        days: (date(2026, 9, 3), date(2026, 10, 10)),
        force: (date(2027, 3, 1), date(2027, 4, 10)),
        finish: (date(2027, 9, 20), date(2028, 4, 10)),
        sizes: ROW_SIZES,
        again: None,
    },
    Campaign {
        pool: POTS_2026,
        share: 0.97,
        each: 95,
        days: (date(2026, 9, 28), date(2026, 10, 14)),
        force: (date(2027, 3, 1), date(2027, 3, 20)),
        finish: (date(2027, 6, 1), date(2027, 8, 1)),
        sizes: POT_SIZES,
        again: None,
    },
];

/// Trees that stood when the books opened.
struct Opened {
    lots: usize,
    each: u32,
    step: &'static str,
    budded: Days,
    entered: Days,
    force: Days,
    finish: Days,
}

const OPENED_TREES: [Opened; 3] = [
    Opened {
        lots: 36,
        each: 116,
        step: "bud_row_dormant",
        budded: (date(2024, 9, 4), date(2024, 10, 10)),
        entered: (date(2024, 9, 4), date(2024, 10, 10)),
        force: (date(2025, 3, 3), date(2025, 4, 12)),
        finish: (date(2025, 10, 1), date(2026, 4, 18)),
    },
    Opened {
        lots: 24,
        each: 108,
        step: "force_row",
        budded: (date(2024, 5, 2), date(2024, 6, 8)),
        entered: (date(2024, 6, 17), date(2024, 8, 10)),
        force: (OPENED, OPENED),
        finish: (date(2025, 3, 3), date(2025, 4, 26)),
    },
    Opened {
        lots: 20,
        each: 72,
        step: "lift_4L",
        budded: (date(2023, 9, 4), date(2023, 10, 10)),
        entered: (date(2024, 10, 1), date(2025, 2, 20)),
        force: (OPENED, OPENED),
        finish: (OPENED, OPENED),
    },
];

/// A budded lot and what is meant with it.
struct Plan {
    force: Days,
    finish: Days,
    sizes: [f64; 3],
}

/// Missed stocks of a campaign by rootstock and place.
type Missed = BTreeMap<(&'static str, &'static str), Vec<Standing>>;

/// All trees, from what stood and from the pools of liners; what is left of the pools stands.
pub fn grow(grower: &mut Grower<'_>, mut pools: Pools) {
    for opened in &OPENED_TREES {
        for at in 0..opened.lots {
            open_trees(grower, opened, at);
        }
    }
    for campaign in &CAMPAIGNS {
        let mut missed = Missed::new();
        let mut liners = std::mem::take(&mut pools[campaign.pool]);
        for lot in &mut liners {
            bud_lot(grower, campaign, lot, &mut missed);
        }
        pools[campaign.pool] = liners;
        for lot in together(grower, missed, campaign.again.is_some()) {
            match campaign.again {
                Some(pool) => pools[pool].push(lot),
                None => grower.keep(lot),
            }
        }
    }
    for (pool, liners) in pools.into_iter().enumerate() {
        let is_stood_over = matches!(pool, ROWS_OPENED | ROWS_2025 | POTS_2025 | POTS_WINTER);
        for mut lot in liners {
            if is_stood_over && lot.plants > 0 {
                let on = grower.after(lot.touched, 20, 40);
                let plants = lot.plants;
                grower.lose_for(&mut lot, on, plants, LossReason::OverAge);
            }
            grower.keep(lot);
        }
    }
}

fn open_trees(grower: &mut Grower<'_>, opened: &Opened, at: usize) {
    let rootstock = ["carrizo", "swingle", "carrizo", "benton", "volkamer"][at % 5];
    let variety = grower.variety_on(rootstock);
    let entered = grower.draw.day(opened.entered.0, opened.entered.1);
    let is_finished = opened.step == "lift_4L";
    let budded_on = if opened.step == "bud_row_dormant" {
        entered
    } else {
        grower.draw.day(opened.budded.0, opened.budded.1)
    };
    let place = if is_finished { "yard-1" } else { "rows-1" };
    let mut lot = Standing {
        name: grower.name("B", budded_on),
        growth: Growth {
            step: opened.step,
            rootstock,
            variety: Some(variety),
            place,
            entered,
        },
        size: None,
        plants: grower.share(opened.each, 1.0, 0.2).max(30),
        ready: 0,
        touched: OPENED,
        is_wrapped: false,
    };
    let plan = Plan {
        force: opened.force,
        finish: opened.finish,
        sizes: ROW_SIZES,
    };
    if is_finished {
        lot.size = Some(1);
        open(
            grower,
            &mut lot,
            StageKind::Finished,
            Some(budded_on),
            Some(SIZES[1]),
        );
        let graded = grower.after(OPENED, 3, 30);
        return grade_and_sell(grower, lot, graded);
    }
    open(grower, &mut lot, StageKind::Budded, Some(budded_on), None);
    if opened.step == "force_row" {
        finish(grower, lot, &plan);
    } else {
        force(grower, lot, &plan);
    }
}

/// Buds a part of a lot of liners, some at a time and each time another variety.
fn bud_lot(grower: &mut Grower<'_>, campaign: &Campaign, lot: &mut Standing, missed: &mut Missed) {
    let first = campaign.days.0.max(plus_days(lot.touched, 2));
    if lot.plants < 12 || first > campaign.days.1 {
        return;
    }
    if lot.growth.step != "missed_row" && lot.growth.step != "missed_pot" {
        let counted = working(plus_days(first, -1)).max(lot.touched);
        grower.count(lot, counted);
    }
    let budded = grower
        .share(lot.plants, campaign.share, 0.02)
        .min(lot.plants);
    let times = (budded / campaign.each).max(1);
    let weights: Vec<f64> = (0..times).map(|_| grower.draw.between(0.7, 1.3)).collect();
    for plants in divide(budded, &weights) {
        if plants == 0 {
            continue;
        }
        let day = budding_day(grower, lot, (first, campaign.days.1));
        let trees = bud(grower, lot, plants, day);
        let plan = Plan {
            force: campaign.force,
            finish: campaign.finish,
            sizes: campaign.sizes,
        };
        unwrap(grower, trees, &plan, missed);
    }
}

/// A day on which bark slips, where one comes within some draws.
fn budding_day(grower: &mut Grower<'_>, lot: &Standing, days: Days) -> Date {
    let mut day = days.0;
    for _ in 0..30 {
        day = grower.workday(days.0, days.1);
        if grower
            .site
            .bark_slips(lot.growth.rootstock, lot.growth.place, day)
        {
            break;
        }
    }
    day
}

fn bud(grower: &mut Grower<'_>, lot: &mut Standing, plants: u32, on: Date) -> Standing {
    let (rootstock, place) = (lot.growth.rootstock, lot.growth.place);
    let method = if grower.site.bark_slips(rootstock, place, on) {
        BudMethod::InvertedT
    } else {
        BudMethod::Chip
    };
    let variety = grower.variety_on(rootstock);
    let (source, buds) = grower.buds_for(variety, on, plants);
    let budder = grower.budder();
    let name = grower.name("B", on);
    let deed = Deed::Bud(Bud {
        lot: lot.name.clone(),
        variety: variety.id.into(),
        plants,
        source,
        buds: Some(buds),
        method,
        budder: Some(budder.to_owned()),
        new_lot: Some(name.clone()),
        override_reason: None,
    });
    grower.diary.write(on, budder, deed);
    lot.plants -= plants;
    lot.touched = lot.touched.max(on);
    let step = match (place, on.month()) {
        ("house-1", _) => "bud_pot",
        (_, 9..) => "bud_row_dormant",
        _ => "bud_row",
    };
    Standing {
        name,
        growth: Growth {
            step,
            rootstock,
            variety: Some(variety),
            place,
            entered: on,
        },
        size: None,
        plants,
        ready: 0,
        touched: on,
        is_wrapped: true,
    }
}

fn unwrap(grower: &mut Grower<'_>, mut trees: Standing, plan: &Plan, missed: &mut Missed) {
    let budded = trees.growth.entered;
    let is_late = budded.month() > 8;
    let (least, most) = if is_late { (30, 44) } else { (22, 31) };
    let on = grower.after(budded, least, most);
    if on >= AS_OF {
        return grower.keep(trees);
    }
    let Some(variety) = trees.growth.variety else {
        return grower.keep(trees);
    };
    let likely = grower.site.take(variety) * if is_late { 0.88 } else { 0.92 };
    let dead = grower.share(trees.plants, 0.025, 0.012);
    let taken = grower.share(trees.plants - dead, likely, 0.045);
    let without = trees.plants - dead - taken;
    let by = grower.hand();
    let deed = Deed::Unwrap(Unwrap {
        lot: trees.name.clone(),
        taken,
        missed: without,
        dead,
    });
    grower.diary.write(on, by, deed);
    (trees.plants, trees.ready) = (taken, taken);
    (trees.touched, trees.is_wrapped) = (on, false);
    if without > 0 {
        let growth = Growth {
            step: if trees.growth.place == "rows-1" {
                "missed_row"
            } else {
                "missed_pot"
            },
            variety: None,
            entered: on,
            ..trees.growth
        };
        let key = (growth.rootstock, growth.place);
        missed.entry(key).or_default().push(Standing {
            name: LotName::from(format!("{}~missed", trees.name)),
            growth,
            size: None,
            plants: without,
            ready: without,
            touched: on,
            is_wrapped: false,
        });
    }
    force(grower, trees, plan);
}

/// Missed stocks of a rootstock and place become one lot; of those that are not budded again soon
/// some are left where they are.
fn together(grower: &mut Grower<'_>, missed: Missed, all: bool) -> Vec<Standing> {
    let mut lots = Vec::new();
    for ((rootstock, place), parts) in missed {
        let chosen = |at: usize| all || at % 4 < 3;
        let (merged, alone): (Vec<_>, Vec<_>) = parts
            .into_iter()
            .enumerate()
            .partition(|(at, _)| chosen(*at));
        lots.extend(alone.into_iter().map(|(_, lot)| lot));
        let merged: Vec<Standing> = merged.into_iter().map(|(_, lot)| lot).collect();
        if merged.len() < 2 {
            lots.extend(merged);
            continue;
        }
        let last = merged.iter().map(|lot| lot.touched).max().unwrap_or(OPENED);
        let on = grower.after(last, 1, 4);
        let name = grower.name("R", on);
        let by = grower.hand();
        let deed = Deed::Merge(Merge {
            lots: merged.iter().map(|lot| lot.name.clone()).collect(),
            new_lot: name.clone(),
        });
        grower.diary.write(on, by, deed);
        let plants = merged.iter().map(|lot| lot.plants).sum();
        let step = merged[0].growth.step;
        lots.push(Standing {
            name,
            growth: Growth {
                step,
                rootstock,
                variety: None,
                place,
                entered: last,
            },
            size: None,
            plants,
            ready: plants,
            touched: on,
            is_wrapped: false,
        });
    }
    lots
}

fn force(grower: &mut Grower<'_>, mut trees: Standing, plan: &Plan) {
    let first = plan.force.0.max(plus_days(trees.touched, 2));
    let on = grower.workday(first, plan.force.1);
    if on >= AS_OF {
        return grower.keep(trees);
    }
    let by = grower.hand();
    let deed = Deed::Force(Force {
        lot: trees.name.clone(),
        plants: None,
        hours: Some(hours_for(trees.plants, 0.2)),
        new_lot: None,
    });
    grower.diary.write(on, by, deed);
    trees.growth.entered = on;
    trees.growth.step = if trees.growth.place == "rows-1" {
        "force_row"
    } else {
        "force_pot"
    };
    trees.touched = on;
    let staked = grower.after(on, 45, 65);
    if staked < AS_OF {
        let work = Work {
            lot: trees.name.clone(),
            plants: None,
            hours: Some(hours_for(trees.plants, 0.4)),
        };
        let late = if grower.draw.below(12) == 0 { 3 } else { 0 };
        grower.diary.write_late(staked, late, by, Deed::Stake(work));
        trees.touched = staked;
    }
    finish(grower, trees, plan);
}

/// Lifts forced trees or pots them on, grades and sells them.
fn finish(grower: &mut Grower<'_>, mut trees: Standing, plan: &Plan) {
    let lost = grower
        .after(trees.touched, 8, 60)
        .min(plus_days(plan.finish.0, -3));
    if lost > trees.touched {
        grower.lose(&mut trees, lost, 0.05);
    }
    let first = plan.finish.0.max(plus_days(trees.touched, 5));
    let on = grower.workday(first, plan.finish.1);
    if on >= AS_OF {
        return grower.keep(trees);
    }
    let size = size(grower, &trees, plan);
    let shift = Shift {
        lot: trees.name.clone(),
        plants: trees.plants,
        place: "yard-1".into(),
        size: Some(SIZES[size].into()),
        new_lot: None,
    };
    let by = grower.hand();
    let is_row = trees.growth.place == "rows-1";
    let deed = if is_row {
        Deed::Lift(shift)
    } else {
        Deed::PotUp(shift)
    };
    grower.diary.write(on, by, deed);
    trees.growth.step = match (is_row, size) {
        (true, 1) => "lift_4L",
        (true, _) => "lift_10L",
        (false, 0) => "pot_2L",
        (false, 1) => "pot_4L",
        (false, _) => "pot_10L",
    };
    (trees.growth.place, trees.growth.entered) = ("yard-1", on);
    (trees.size, trees.touched) = (Some(size), on);
    let graded = match size {
        0 => grower.after(on, 60, 100),
        1 => grower.after(on, 80, 140),
        _ => grower.after(on, 170, 240),
    };
    grade_and_sell(grower, trees, graded);
}

fn size(grower: &mut Grower<'_>, trees: &Standing, plan: &Plan) -> usize {
    let drawn = grower.draw.uniform();
    let comes_in = |size| trees.growth.variety.is_some_and(|it| it.comes_in(size));
    match drawn {
        _ if drawn < plan.sizes[0] && comes_in(0) => 0,
        _ if drawn >= 1.0 - plan.sizes[2] && comes_in(2) => 2,
        _ => 1,
    }
}

/// Grades finished trees and sends the good ones off over some weeks.
fn grade_and_sell(grower: &mut Grower<'_>, mut trees: Standing, on: Date) {
    if on >= AS_OF {
        return grower.keep(trees);
    }
    let culled = grower.share(trees.plants, 0.06, 0.02);
    let held_back = grower.share(trees.plants - culled, 0.12, 0.04);
    let saleable = trees.plants - culled - held_back;
    let by = grower.hand();
    let deed = Deed::Grade(Grade {
        lot: trees.name.clone(),
        saleable,
        held_back,
        culled,
        size: None,
        new_lots: None,
    });
    grower.diary.write(on, by, deed);
    trees.plants -= culled;
    (trees.ready, trees.touched) = (saleable, on);
    // Nearly half goes at once, the rest within the season.
    let mut from = on;
    for (share, least, most) in [(0.45, 3, 40), (1.0, 30, 90)] {
        let sold = grower.after(from, least, most);
        let plants = grower.share(trees.plants, share, 0.02).min(trees.plants);
        if sold >= AS_OF || plants == 0 {
            break;
        }
        sell(grower, &mut trees, sold, plants);
        from = sold;
    }
    grower.keep(trees);
}

fn sell(grower: &mut Grower<'_>, trees: &mut Standing, on: Date, plants: u32) {
    let (Some(variety), Some(size)) = (trees.growth.variety, trees.size) else {
        return;
    };
    grower.sales.push(Sale {
        on,
        lot: trees.name.clone(),
        variety,
        rootstock: trees.growth.rootstock,
        size,
        plants,
    });
    trees.plants -= plants;
    trees.touched = on;
}

/// Hours for so many plants, in quarters.
fn hours_for(plants: u32, minutes: f64) -> Hours {
    let quarters = (f64::from(plants) * minutes / 15.0).round() as u32;
    Hours::of_minutes(quarters.max(1) * 15)
}
