//! Rare losses of whole places: a flood, a fire, a quarantine, a water failure.

use std::collections::BTreeMap;

use nursery::settings::Luck;

use crate::calendar::Calendar;
use crate::model::{Peril, Stage};

/// Weeks of a year.
const WEEKS: f64 = 365.25 / 7.0;

/// One peril for every place and year of the plan, with the year's chance, less where the plan holds only a
/// part of the year.
pub fn perils(luck: &Luck, calendar: Calendar, weeks: usize, stages: &[Stage]) -> Vec<Peril> {
    let (chance, fraction) = (
        luck.total_loss_percent_a_year / 100.0,
        luck.total_loss_share_percent / 100.0,
    );
    if chance <= 0.0 || fraction <= 0.0 {
        return Vec::new();
    }
    let mut years: BTreeMap<i16, (usize, usize)> = BTreeMap::new();
    for week in 0..weeks {
        let year = calendar.thursday(week as i64).year();
        years.entry(year).or_insert((week, week)).1 = week;
    }
    let mut places: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (index, stage) in stages.iter().enumerate() {
        places.entry(stage.place.as_str()).or_default().push(index);
    }
    let of_place = |(place, stages): (&str, Vec<usize>)| {
        let peril = |(year, (from, until)): (&i16, &(usize, usize))| Peril {
            id: format!("total loss at {place} {year}"),
            stages: stages.clone(),
            from: *from,
            until: *until,
            chance: chance * ((until + 1 - from) as f64 / WEEKS).min(1.0),
            fraction,
        };
        years.iter().map(peril).collect::<Vec<_>>()
    };
    places.into_iter().flat_map(of_place).collect()
}

/// The mean share of plants that a week leaves.
pub fn kept_a_week(luck: &Luck) -> f64 {
    let lost = luck.total_loss_percent_a_year * luck.total_loss_share_percent / 1e4;
    1.0 - lost / WEEKS
}
