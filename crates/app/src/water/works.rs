//! The nursery's water: the weeks to come, and what pump and tank give of it.

use jiff::civil::{Date, Weekday};
use models::{OutOfRange, PumpDay, Waterworks};
use season::Calendar;

use super::days::Days;
use super::{BlockAnswer, NurseryWater, ReferenceWeek, plus_days};
use crate::folder::Loaded;
use crate::words::month_words;

/// Weeks of the year looked ahead for the one that asks for most.
const YEAR_WEEKS: i64 = 52;

/// The reference of the weeks to come, and what the plants that stand ask for in them.
pub(super) fn year(days: &Days<'_>, as_of: Date, m3_for_a_mm: f64) -> Vec<ReferenceWeek> {
    let since = i64::from(as_of.weekday().since(Weekday::Monday));
    let calendar = Calendar::from_as_of(plus_days(as_of, -since));
    let week = |week: i64| {
        let monday = calendar.monday(week);
        let usual = days.week(monday);
        let et0_mm = usual.map_or([0.0; 3], |it| [it.p10, it.p50, it.p90]);
        ReferenceWeek {
            week: calendar.iso(week),
            monday,
            month: month_words(calendar.thursday(week)),
            et0_mm,
            m3_a_day: et0_mm[1] * m3_for_a_mm,
            m3_a_day_high: et0_mm[2] * m3_for_a_mm,
        }
    };
    (0..YEAR_WEEKS).map(week).collect()
}

/// What pump and tank give, as far as it is told.
struct Supply {
    works: Waterworks,
    /// What the pump gives on a day in its hours, m³.
    pump_m3_day: f64,
    /// What it gives on one day out of a full tank, m³.
    day_m3: f64,
}

impl Supply {
    fn of(loaded: &Loaded) -> Result<Option<Self>, OutOfRange> {
        let settings = &loaded.nursery.settings.water;
        let Some(pump_m3_h) = settings.pump_m3_h else {
            return Ok(None);
        };
        let pump_m3_day = pump_m3_h * settings.pump_hours.unwrap_or(24.0);
        Ok(Some(Self {
            works: Waterworks::try_new(pump_m3_h, settings.tank_m3)?,
            pump_m3_day,
            day_m3: pump_m3_day + settings.tank_m3.unwrap_or_default(),
        }))
    }

    fn day(supply: Option<&Self>, m3: f64) -> Result<Option<PumpDay>, OutOfRange> {
        supply.map(|supply| supply.works.day(m3)).transpose()
    }
}

pub(super) fn nursery_water(
    loaded: &Loaded,
    days: &Days<'_>,
    blocks: &[BlockAnswer],
    year: &[ReferenceWeek],
    m3_for_a_mm: f64,
) -> Result<NurseryWater, OutOfRange> {
    let as_of = loaded.nursery.as_of;
    let settings = &loaded.nursery.settings.water;
    let on = |day: i64| days.on(plus_days(as_of, day)).et0_mm * m3_for_a_mm;
    let today = blocks.iter().filter_map(|block| block.next.as_ref());
    let today = today.filter(|next| next.date == as_of);
    let m3_today = today.fold(0.0, |sum, next| sum + next.m3 * f64::from(next.times));
    let peak = year
        .iter()
        .max_by(|one, other| one.m3_a_day_high.total_cmp(&other.m3_a_day_high))
        .filter(|week| week.m3_a_day_high > 0.0)
        .cloned();
    let supply = Supply::of(loaded)?;
    let supply = supply.as_ref();
    let peak_m3 = peak.as_ref().map(|peak| peak.m3_a_day_high);
    let on_peak = match peak_m3 {
        Some(m3) => Supply::day(supply, m3)?,
        None => None,
    };
    Ok(NurseryWater {
        m3_of_today: on(0),
        m3_today,
        pump_minutes_today: Supply::day(supply, m3_today)?.map(|day| day.hours * 60.0),
        supply_m3_today: supply.map(|it| it.day_m3),
        suffices_today: supply.map(|it| m3_today <= it.day_m3),
        m3_week: (0..7).map(on).sum(),
        peak_pump_hours: on_peak.map(|day| day.hours),
        pump_hours: settings.pump_hours,
        pump_m3_day: supply.map(|it| it.pump_m3_day),
        peak_tanks: on_peak.and_then(|day| day.tanks),
        suffices: supply.zip(peak_m3).map(|(it, m3)| m3 <= it.pump_m3_day),
        peak,
    })
}
