//! Temperatures held against the site's own climate of the same calendar days.
//!
//! The climate is robust: the median of all values within ten days of a calendar day in all years,
//! and the median distance from it, so that damage does not become the measure of damage.

use super::{FindingKind, TEMPERATURES, Table};
use crate::calendar::same_day;
use crate::reading::LEFT_OUT;

/// Days between two calendar days whose climate is worked out; those between take the nearest's.
const PITCH: usize = 5;
const CENTERS: usize = 365 / PITCH;
/// Days to each side of a center that count for it.
const REACH: usize = 10;
/// Values that a center needs.
const FEWEST: usize = 15;
/// Standard deviations that a median distance from the median stands for.
const OF_MEDIAN_DISTANCE: f64 = 1.4826;
/// No climate is steadier than this, °C.
const LEAST_SCALE_C: f64 = 1.5;

/// So far off as written, a day may be in the other unit, and so near it must lie in that one.
const SLIP: f64 = 4.0;
/// So far off the climate and the neighbors a value is a spike …
const SPIKE: f64 = 5.0;
/// … or so far off the climate alone.
const FAR_OFF: f64 = 8.0;

/// The middle of the calendar days about one of them, and how far values usually lie from it, °C.
#[derive(Clone, Copy)]
struct Usual {
    median: f64,
    scale: f64,
}

impl Usual {
    fn off(self, value: f64) -> f64 {
        (value - self.median) / self.scale
    }
}

/// What is usual of lowest and highest temperature over the calendar year.
pub(super) struct Climate {
    by_center: [[Option<Usual>; CENTERS]; 2],
    /// The center of each day of the table.
    centers: Vec<usize>,
}

impl Climate {
    /// The climate of the table's values within the range of the air.
    pub fn of(table: &Table<'_>) -> Self {
        let bounds = crate::weather::AIR_C;
        let days = calendar_days(table);
        let by_center = [0, 1].map(|which| {
            let mut by_day: Vec<Vec<f64>> = vec![Vec::new(); 365];
            for (index, day) in days.iter().enumerate() {
                let value = table.temperature(index, which);
                by_day[*day].extend(value.filter(|it| (bounds.min..=bounds.max).contains(it)));
            }
            std::array::from_fn(|center| usual(&by_day, center))
        });
        let centers = days.iter().map(|day| day / PITCH).collect();
        Self { by_center, centers }
    }

    fn usual(&self, index: usize, which: usize) -> Option<Usual> {
        self.by_center[which][self.centers[index]]
    }

    /// How far a day's value lies from the usual, °C.
    pub fn anomaly(&self, table: &Table<'_>, index: usize, which: usize) -> Option<f64> {
        let value = table.temperature(index, which)?;
        Some(value - self.usual(index, which)?.median)
    }
}

/// The place of each day of the table in a year of 365 days, from 0.
fn calendar_days(table: &Table<'_>) -> Vec<usize> {
    let mut date = table.first;
    (0..table.days.len())
        .map(|_| {
            let day = same_day(date, 2023).day_of_year();
            date = date.tomorrow().unwrap_or(date);
            usize::try_from(day - 1).unwrap_or(0)
        })
        .collect()
}

fn usual(by_day: &[Vec<f64>], center: usize) -> Option<Usual> {
    let middle = center * PITCH + PITCH / 2 + 365;
    let window = middle - REACH..=middle + REACH;
    let mut values: Vec<f64> = window.flat_map(|day| &by_day[day % 365]).copied().collect();
    if values.len() < FEWEST {
        return None;
    }
    let median = middle_of(&mut values);
    for value in &mut values {
        *value = (*value - median).abs();
    }
    let scale = (OF_MEDIAN_DISTANCE * middle_of(&mut values)).max(LEAST_SCALE_C);
    Some(Usual { median, scale })
}

/// The upper median.
fn middle_of(values: &mut [f64]) -> f64 {
    let half = values.len() / 2;
    *values.select_nth_unstable_by(half, f64::total_cmp).1
}

/// Reads days in the other unit that make sense only in it; too few in a row are left out.
pub(super) fn unit_slips(table: &mut Table<'_>) {
    let climate = Climate::of(table);
    let slips: Vec<bool> = (0..table.days.len())
        .map(|index| slips(table, &climate, index))
        .collect();
    let mut from = 0;
    for run in slips.chunk_by(|one, other| one == other) {
        let until = from + run.len();
        if run[0] {
            mend_slip(table, from, until);
        }
        from = until;
    }
}

/// A value of a day as the table's other unit has it, °C.
fn in_other_unit(table: &Table<'_>, index: usize, which: usize) -> Option<f64> {
    let value = table.written[index][which]?;
    Some(table.unit.other().to_celsius(value))
}

fn slips(table: &Table<'_>, climate: &Climate, index: usize) -> bool {
    (0..2).all(|which| {
        let values = table
            .temperature(index, which)
            .zip(in_other_unit(table, index, which));
        let Some(((value, other), usual)) = values.zip(climate.usual(index, which)) else {
            return false;
        };
        usual.off(value).abs() > SLIP && usual.off(other).abs() <= SLIP
    })
}

fn mend_slip(table: &mut Table<'_>, from: usize, until: usize) {
    let evident = until - from >= FindingKind::EVIDENT_DAYS;
    for index in from..until {
        for which in 0..2 {
            let other = in_other_unit(table, index, which).filter(|_| evident);
            table.set_temperature(index, which, other);
        }
    }
    let (sign, other) = (table.unit.sign(), table.unit.other().sign());
    let rule = format!("the values make sense only in {other}, not in {sign}");
    let done = if evident {
        format!("they are read as {other}")
    } else {
        "they are left out".to_owned()
    };
    let first = [0, 1].map(|which| table.as_written(from, which).unwrap_or_default());
    let cell = (Some("tmin, tmax"), Some(first.join(", ")));
    let kind = FindingKind::UnitSlip;
    table.note(kind, (from, until - 1), cell, (rule, &done));
}

/// Takes out temperatures far outside the site's climate.
pub(super) fn spikes(table: &mut Table<'_>) {
    let climate = Climate::of(table);
    for which in 0..2 {
        let anomalies: Vec<Option<f64>> = (0..table.days.len())
            .map(|index| climate.anomaly(table, index, which))
            .collect();
        for index in 0..table.days.len() {
            let Some((anomaly, usual)) = anomalies[index].zip(climate.usual(index, which)) else {
                continue;
            };
            let off = (anomaly / usual.scale).abs();
            if off > FAR_OFF || off > SPIKE && jump(&anomalies, index) > SPIKE * usual.scale {
                note_spike(table, index, which, usual);
            }
        }
    }
}

/// How far a day's anomaly lies from the nearer of its neighbors', °C; beyond all bounds where
/// none is known.
fn jump(anomalies: &[Option<f64>], index: usize) -> f64 {
    let own = anomalies[index].unwrap_or_default();
    [index.checked_sub(1), Some(index + 1)]
        .into_iter()
        .flatten()
        .filter_map(|other| *anomalies.get(other)?)
        .map(|other| (own - other).abs())
        .fold(f64::INFINITY, f64::min)
}

fn note_spike(table: &mut Table<'_>, index: usize, which: usize, usual: Usual) {
    let of_unit = |celsius: f64| super::plain::tenths(table.unit.of_celsius(celsius));
    let rule = format!(
        "at this time of year {} is usual, nearly always between {} and {}",
        of_unit(usual.median),
        of_unit(usual.median - SPIKE * usual.scale),
        of_unit(usual.median + SPIKE * usual.scale)
    );
    let cell = (Some(TEMPERATURES[which]), table.as_written(index, which));
    table.set_temperature(index, which, None);
    let kind = FindingKind::Spike;
    table.note(kind, (index, index), cell, (rule, LEFT_OUT));
}
