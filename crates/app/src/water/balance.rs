//! What is gone from the roots of a block: the balance from the last watering that is told of.

use jiff::civil::Date;
use models::OutOfRange;
use models::water::WaterDay;
use nursery::records::Watered;

use super::blocks::{Block, Ground};
use super::days::Days;
use super::{ReferenceDay, plus_days};
use crate::folder::Loaded;

/// Balances run on for no more days than these: a watering longer ago says nothing.
const OLDEST: i32 = 400;

impl Ground {
    /// A day's weather as it comes to the roots.
    pub(super) fn day(&self, day: &ReferenceDay) -> Result<WaterDay, OutOfRange> {
        WaterDay::try_new(day.et0_mm, day.rain_mm.unwrap_or_default())?.with_rain_share(self.rain)
    }

    /// What is gone from the roots in the evening of a day before which so much was gone, mm. A day
    /// on which pots are filled that do not last a day ends with them full: they were filled as
    /// often as they asked for it.
    pub(super) fn evening_mm(
        &self,
        gone_mm: f64,
        day: &WaterDay,
        given_mm: f64,
        filled: bool,
    ) -> Result<f64, OutOfRange> {
        let lasts = self.stand.days_between(day).is_none_or(|days| days >= 1.0);
        if filled && !lasts {
            return Ok(0.0);
        }
        Ok(self.stand.day(gone_mm, day, given_mm)?.depletion_mm)
    }

    /// Water to be given over the ground for so much at the roots, mm.
    pub(super) fn gross_mm(&self, net_mm: f64) -> f64 {
        self.losses.gross(net_mm) / self.captured
    }

    /// Water for a mm of reference evapotranspiration on all of a block, m³.
    pub(super) fn m3_for_a_mm(&self, block: &Block<'_>) -> f64 {
        let of_one = WaterDay::try_new(1.0, 0.0).map_or(0.0, |day| self.stand.full_use_mm(&day));
        self.gross_mm(of_one) * block.ground_m2 / 1000.0
    }
}

/// What was gone from the roots of a block.
pub(super) struct Gone {
    /// This morning, mm.
    pub(super) this_morning_mm: f64,
    /// The last watering that is told of.
    pub(super) last_watered: Date,
    /// Whether it was filled today.
    pub(super) filled_today: bool,
}

/// What is told of a place's waterings, from the last that filled it on, the oldest first. Before it
/// nothing counts; the first that is told of is taken to have filled it.
pub(super) fn told<'a>(loaded: &'a Loaded, place: &str) -> Vec<&'a Watered> {
    let as_of = loaded.nursery.as_of;
    let is_of_place = |it: &&Watered| {
        let since = it.date.until(as_of).map_or(OLDEST, |span| span.get_days());
        it.place.as_str() == place && (0..OLDEST).contains(&since)
    };
    let mut told: Vec<&Watered> = loaded.nursery.watered.iter().filter(is_of_place).collect();
    told.sort_by_key(|it| it.date);
    let full = told.iter().rposition(|it| it.mm.is_none()).unwrap_or(0);
    told.split_off(full.min(told.len()))
}

/// What was gone from the roots this morning; nothing where no watering is told of.
pub(super) fn gone(
    loaded: &Loaded,
    days: &Days<'_>,
    block: &Block<'_>,
    ground: &Ground,
) -> Result<Option<Gone>, OutOfRange> {
    let as_of = loaded.nursery.as_of;
    let told = told(loaded, block.place.place.as_str());
    let [first, later @ ..] = told.as_slice() else {
        return Ok(None);
    };
    let given_on = |date: Date| -> f64 {
        let given = later.iter().filter(|it| it.date == date);
        given.filter_map(|it| it.mm).sum()
    };
    let mut gone_mm = 0.0;
    let mut date = first.date;
    while date < as_of {
        let day = ground.day(&days.on(date))?;
        let filled = date == first.date && first.mm.is_none();
        gone_mm = ground.evening_mm(gone_mm, &day, given_on(date), filled)?;
        date = plus_days(date, 1);
    }
    Ok(Some(Gone {
        this_morning_mm: (gone_mm - given_on(as_of)).max(0.0),
        last_watered: later.last().unwrap_or(first).date,
        filled_today: first.date == as_of && first.mm.is_none(),
    }))
}
