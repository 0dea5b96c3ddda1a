//! The scarcest things of a season: those of which a little more would bring most.

use std::collections::BTreeMap;

use planner::{Resource, ShadowPrice};
use serde::{Deserialize, Serialize};

use super::{one, price, sum, weeks_words};
use crate::answers::{minor, resource_words, scarce_prices};
use crate::run::PlanRun;
use crate::words::{MINOR, capital};

/// How many are told.
const TOLD: usize = 3;

/// "A little more" is one in so many.
const ONE_IN: f64 = 100.0;

/// Weeks that lie no further apart belong together.
const TOGETHER: i64 = 2;

/// One of the scarcest things of a season.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ScarcestAnswer {
    /// What.
    pub what: String,
    /// The first ISO week of those in which it is scarcest.
    pub from: String,
    /// The last one.
    pub until: String,
    /// What one more is worth in these weeks on average, minor units.
    pub price: i64,
    /// What it is counted in.
    pub unit: String,
    /// What one in a hundred more of it would bring over the season, minor units.
    pub one_percent: i64,
    /// All of it in words.
    pub words: String,
}

/// So much of a thing at a price, in some weeks.
#[derive(Clone, Copy)]
struct Amount {
    from: i64,
    until: i64,
    units: f64,
    money: f64,
}

/// The scarcest things of a season, that of which one percent more would bring most first. What counts is the
/// sum of price times amount over the plan's weeks.
pub fn scarcest(run: &PlanRun) -> Vec<ScarcestAnswer> {
    let mut things: BTreeMap<Resource, Vec<Amount>> = BTreeMap::new();
    for price in scarce_prices(run) {
        if let Some(amount) = amount_of(run, price) {
            let of_thing = things.entry(thing(&price.resource));
            of_thing.or_default().push(amount);
        }
    }
    let all = |amounts: &[Amount]| amounts.iter().map(|it| it.money).sum::<f64>();
    let mut things: Vec<(Resource, Vec<Amount>)> = things.into_iter().collect();
    things.sort_by(|(_, one), (_, other)| all(other).total_cmp(&all(one)));
    let told = things
        .iter()
        .filter(|(_, amounts)| all(amounts) * MINOR >= ONE_IN);
    told.take(TOLD)
        .filter_map(|(thing, amounts)| answer(run, thing, amounts))
        .collect()
}

/// Own and hired hours are one thing, and so is a supply wherever it comes from.
fn thing(resource: &Resource) -> Resource {
    match resource {
        Resource::HiredHour { crew } => Resource::CrewHour { crew: crew.clone() },
        Resource::Batch { supply, .. } | Resource::BuyLimit { supply } => Resource::Supply {
            supply: supply.clone(),
        },
        other => other.clone(),
    }
}

/// How much there is of what a price is for; none for a supply in a week, which is what its batches and what can be
/// bought are.
fn amount_of(run: &PlanRun, price: &ShadowPrice) -> Option<Amount> {
    let model = &run.model;
    let crew = |name: &str| model.crews.iter().find(|it| it.crew.as_str() == name);
    let supply = |name: &str| model.supplies.iter().find(|it| it.id == name);
    let week = price.week;
    let (units, span) = match &price.resource {
        Resource::CrewHour { crew: name } => (*crew(name)?.hours.get(week?)?, None),
        Resource::HiredHour { crew: name } => (*crew(name)?.hired_limit.get(week?)?, None),
        Resource::Area { place } => {
            let mut places = model.places.iter();
            let known = places.find(|it| it.place.as_str() == place)?;
            (known.area_m2, None)
        }
        Resource::Batch {
            supply: name,
            batch,
        } => {
            let batch = supply(name)?.batches.get(*batch)?;
            let last = model.weeks as i64 - 1;
            (
                batch.amount,
                Some((batch.from.max(0), batch.until.min(last))),
            )
        }
        Resource::BuyLimit { supply: name } => {
            let bought = supply(name)?.bought.as_ref()?;
            (bought.limit_in(week?), None)
        }
        Resource::Supply { .. } => return None,
    };
    let week = week.map(|week| (week as i64, week as i64));
    let (from, until) = span.or(week)?;
    Some(Amount {
        from,
        until,
        units,
        money: units * price.price,
    })
}

/// The weeks close together in which most of the money lies, as one.
fn dearest(amounts: &[Amount]) -> Option<Amount> {
    let mut sorted = amounts.to_vec();
    sorted.sort_by_key(|it| (it.from, it.until));
    let mut runs: Vec<Amount> = Vec::new();
    for it in sorted {
        match runs.last_mut() {
            Some(run) if it.from <= run.until + TOGETHER => {
                run.until = run.until.max(it.until);
                run.units += it.units;
                run.money += it.money;
            }
            _ => runs.push(it),
        }
    }
    runs.into_iter()
        .max_by(|one, other| one.money.total_cmp(&other.money))
}

fn answer(run: &PlanRun, thing: &Resource, amounts: &[Amount]) -> Option<ScarcestAnswer> {
    let span = dearest(amounts)?;
    let iso = |week| run.model.calendar.iso(week);
    let each = span.money / span.units.max(f64::MIN_POSITIVE);
    let one_percent = amounts.iter().map(|it| it.money).sum::<f64>() / ONE_IN;
    let what = resource_words(run, thing);
    let unit = thing.unit();
    let words = format!(
        "{} in {}: {} {}. One in a hundred more over the season would bring {}.",
        capital(&what),
        weeks_words(run, span.from, span.until),
        price(run, each),
        one(unit),
        sum(run, one_percent)
    );
    Some(ScarcestAnswer {
        what,
        from: iso(span.from),
        until: iso(span.until),
        price: minor(each),
        unit: unit.to_owned(),
        one_percent: minor(one_percent),
        words,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn week(week: i64, units: f64, price: f64) -> Amount {
        Amount {
            from: week,
            until: week,
            units,
            money: units * price,
        }
    }

    #[test]
    fn weeks_close_together_are_one_and_the_dearest_are_told() {
        let amounts = [
            week(3, 10.0, 30.0),
            week(12, 40.0, 5.0),
            week(10, 40.0, 4.0),
            week(14, 20.0, 6.0),
        ];
        let span = dearest(&amounts).expect("some weeks");
        assert_eq!((span.from, span.until), (10, 14));
        assert!((span.money - 480.0).abs() < 1e-9 && (span.units - 100.0).abs() < 1e-9);
        assert!(dearest(&[]).is_none());
    }
}
