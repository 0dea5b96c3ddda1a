//! How the plants of a step grow, how long ready ones can wait, and when a step may start.

use jiff::civil::Date;
use nursery::Nursery;
use nursery::catalogue::{GrowsWith, Node, OverAge, Step};
use nursery::ids::StepName;

use crate::calendar::Calendar;
use crate::luck;
use crate::model::{Phase, Split};
use crate::stages::{StageKey, missed};

/// Highest take that a good variety can lift a step's take to.
const MOST_TAKE: f64 = 0.99;

/// How the plants of a step grow until they are ready; `place_of` gives the index of the stage into
/// which missed buds fall.
pub fn phase(
    nursery: &Nursery,
    step: &Step,
    key: &StageKey,
    place_of: impl Fn(&StageKey) -> usize,
) -> Phase {
    let rootstock = &nursery.catalogue.rootstocks[&key.rootstock];
    let variety = key
        .variety
        .as_ref()
        .map(|name| &nursery.catalogue.varieties[name]);
    let growth: f64 = step
        .grows_with
        .iter()
        .map(|grows| match grows {
            GrowsWith::Rootstock => rootstock.growth,
            GrowsWith::Variety => variety.map_or(1.0, |variety| variety.growth),
        })
        .product();
    let from_seed = if step.from_seed {
        rootstock.germination * (1.0 - rootstock.off_type)
    } else {
        1.0
    };
    let take = |share: f64| {
        (share * variety.map_or(1.0, |variety| variety.take)).min(MOST_TAKE.max(share))
    };
    Phase {
        degree_days: step.heat.degree_days / growth,
        within_lot: step.heat.within_lot,
        between_lots: step.heat.between_lots,
        survival: step.survival.share * from_seed,
        survival_rho: step.survival.rho,
        shared_sd: step.shared_sd,
        luck_sd: luck::together(&luck::of_step(nursery, step)),
        split: step
            .take
            .as_ref()
            .zip(missed(nursery, key))
            .map(|(row, missed)| Split {
                share: take(row.share),
                rho: row.rho,
                otherwise: place_of(&missed),
            }),
        climate: key.place.to_string(),
    }
}

/// How long ready plants of a step or stand can wait.
pub fn over_age_rule(nursery: &Nursery, node: &StepName) -> Option<OverAge> {
    Some(match nursery.catalogue.routes.node(node)? {
        Node::Step(step) => step.over_age,
        Node::Stand(stand) => stand.over_age,
    })
}

/// Weeks that a plant ready on a day may wait: until the day by which such plants must be out, but
/// no less than the least and no more than the most.
pub fn over_age_weeks(nursery: &Nursery, rule: OverAge, on: Date) -> u32 {
    let Some(out_by) = rule.out_by else {
        return rule.most;
    };
    let out_by = if nursery.settings.latitude < 0.0 {
        out_by.half_a_year_on()
    } else {
        out_by
    };
    let next = [on.year(), on.year() + 1]
        .into_iter()
        .filter_map(|year| out_by.in_year(year))
        .find(|day| *day >= on);
    let calendar = Calendar::from_as_of(on);
    let left = next.map_or(i64::from(rule.most), |day| {
        calendar.week_of(day) - calendar.week_of(on)
    });
    u32::try_from(left)
        .unwrap_or(0)
        .clamp(rule.least, rule.most)
}

/// Whether a step may start on a day, as far as the season goes.
pub fn in_season(nursery: &Nursery, step: &Step, on: Date) -> bool {
    let south = nursery.settings.latitude < 0.0;
    step.window.is_empty()
        || step.window.iter().any(|span| {
            if south {
                span.half_a_year_on().holds(on)
            } else {
                span.holds(on)
            }
        })
}
