//! Damage that a day shows by itself.

use std::collections::BTreeSet;

use intake::{Problems, RowProblem};
use jiff::civil::Date;

use super::{DailyRead, Finding, FindingKind, TEMPERATURES, Table, in_order_of_file};
use crate::calendar::{plus_days, signed};
use crate::reading::LEFT_OUT;
use crate::solar::{day_length_h, extraterrestrial_mj};

/// Rounding between two columns that were measured apart, % or °C.
const ROUNDING: f64 = 0.5;

/// Hours by which a sunshine recorder may exceed the length of the day: the air bends the sun
/// above the horizon.
const TWILIGHT_H: f64 = 0.5;

/// Share of a table's days that may lie outside the range of the air before the table as a whole
/// is in another unit.
const MOST_OUTSIDE: usize = 3;

/// Notes every run of days without a row, without both temperatures or without one of them.
pub(super) fn missing(table: &mut Table<'_>) {
    let named = already_named(table);
    let lacks: Vec<Option<&str>> = (0..table.days.len())
        .map(|index| lacking(table, index).filter(|_| !named.contains(&table.date(index))))
        .collect();
    let mut from = 0;
    for run in lacks.chunk_by(|one, other| one == other) {
        let until = from + run.len();
        if let Some(lacking) = run[0] {
            note_missing(table, (from, until - 1), lacking);
        }
        from = until;
    }
}

fn lacking(table: &Table<'_>, index: usize) -> Option<&'static str> {
    match (table.rows[index], table.written[index]) {
        (None, _) => Some("no row"),
        (_, [None, None]) => Some("no temperature"),
        (_, [None, _]) => Some("no tmin"),
        (_, [_, None]) => Some("no tmax"),
        _ => None,
    }
}

/// Dates whose lack of a temperature is another finding's doing.
fn already_named(table: &Table<'_>) -> BTreeSet<Date> {
    let of_temperature = |it: &Finding| {
        let column = it.column.as_deref().unwrap_or_default();
        TEMPERATURES.contains(&column) || it.kind == FindingKind::DuplicateDay
    };
    let named = table.findings.iter().filter(|it| of_temperature(it));
    named.filter_map(|it| it.first).collect()
}

fn note_missing(table: &mut Table<'_>, (from, until): (usize, usize), lacking: &str) {
    let date = table.date(from);
    let year_end = from == until && (date.month(), date.day()) == (12, 31);
    let (kind, rule) = if year_end {
        let rule = "31 December is missing, as where a source counts 365 days a year";
        (FindingKind::MissingYearEnd, rule.to_owned())
    } else {
        let days = until - from + 1;
        let plural = if days == 1 { "day has" } else { "days have" };
        (
            FindingKind::MissingDays,
            format!("{days} {plural} {lacking}"),
        )
    };
    let done = "left as a gap, to be filled";
    table.note(kind, (from, until), (None, None), (rule, done));
}

/// Takes out temperatures that no air on earth has, and days whose lowest lies above their highest.
/// Refuses a table that is in another unit throughout.
pub(super) fn temperatures(table: &mut Table<'_>) -> Result<(), Problems> {
    // Bounds in the table's own unit, since −76 °F in °C is −60 but for rounding.
    let bounds = table.unit.bounds();
    let outside = |value: f64| !(bounds.min..=bounds.max).contains(&value);
    let written = |table: &Table<'_>, index: usize, which: usize| {
        let value = table.written[index][which];
        value.filter(|_| table.temperature(index, which).is_some())
    };
    let is_outside = |day: &[Option<f64>; 2]| day.iter().flatten().any(|value| outside(*value));
    let known = table
        .written
        .iter()
        .filter(|it| it.iter().any(Option::is_some));
    let wrong = table.written.iter().filter(|it| is_outside(it)).count();
    let slipped = table
        .findings
        .iter()
        .filter(|it| it.kind == FindingKind::UnitSlip);
    let slipped: usize = slipped.map(Finding::days).sum();
    if (wrong.saturating_sub(slipped)) * MOST_OUTSIDE > known.count() {
        return Err(in_another_unit(table, wrong));
    }
    for index in 0..table.days.len() {
        for (which, column) in TEMPERATURES.into_iter().enumerate() {
            // What was read in the other unit lies within.
            let celsius = table.temperature(index, which);
            if celsius.is_some_and(|it| outside(table.unit.of_celsius(it)))
                && written(table, index, which).is_some_and(outside)
            {
                let rule = format!("must lie between {} and {}", bounds.min, bounds.max);
                let cell = (Some(column), table.as_written(index, which));
                table.set_temperature(index, which, None);
                let kind = FindingKind::OutOfRange;
                table.note(kind, (index, index), cell, (rule, LEFT_OUT));
            }
        }
        low_below_high(table, index);
    }
    Ok(())
}

fn low_below_high(table: &mut Table<'_>, index: usize) {
    let day = table.days[index];
    if day.tmin.zip(day.tmax).is_none_or(|(low, high)| low <= high) {
        return;
    }
    let high = table.as_written(index, 1).unwrap_or_default();
    let rule = format!("must not be above tmax, {high}");
    let cell = (Some("tmin"), table.as_written(index, 0));
    table.set_temperature(index, 0, None);
    table.set_temperature(index, 1, None);
    let kind = FindingKind::LowAboveHigh;
    table.note(kind, (index, index), cell, (rule, "both are left out"));
}

fn in_another_unit(table: &Table<'_>, wrong: usize) -> Problems {
    let (sign, other) = (table.unit.sign(), table.unit.other().sign());
    let bounds = table.unit.bounds();
    Problems(vec![RowProblem::of_file(
        table.file,
        format!(
            "{wrong} days lie outside {} to {} when read as {sign}",
            bounds.min, bounds.max
        ),
        format!("check the unit: if they are in {other}, say so in the settings"),
    )])
}

/// A table of which nothing can be used.
pub(super) fn no_day(table: &Table<'_>) -> Problems {
    let first = table.findings.first();
    let rule = match first {
        Some(finding) => format!("no day of it can be used; first of all, {finding}"),
        None => "no day of it has a value".to_owned(),
    };
    let rule = rule.trim_end_matches('.').to_owned();
    Problems(vec![RowProblem::of_file(
        table.file,
        rule,
        "give the lowest and the highest temperature of each day",
    )])
}

/// Takes out moisture that cannot be beside the day's other values.
pub(super) fn moisture(table: &mut Table<'_>) {
    for index in 0..table.days.len() {
        humidity(table, index);
        dew_point(table, index);
    }
}

fn humidity(table: &mut Table<'_>, index: usize) {
    let day = &mut table.days[index];
    let (column, value, rule, done) = if let (Some(low), Some(high)) =
        (day.humidity_min, day.humidity_max)
        && low > high
    {
        (day.humidity_min, day.humidity_max) = (None, None);
        let rule = format!("must not be above humidity_max, {high}");
        ("humidity_min", low, rule, "both are left out")
    } else if let Some(mean) = day.humidity_mean
        && (day.humidity_min.is_some_and(|low| mean < low - ROUNDING)
            || day.humidity_max.is_some_and(|high| mean > high + ROUNDING))
    {
        day.humidity_mean = None;
        let rule = "must lie between humidity_min and humidity_max".to_owned();
        ("humidity_mean", mean, rule, LEFT_OUT)
    } else {
        return;
    };
    let cell = (Some(column), Some(value.to_string()));
    let kind = FindingKind::Moisture;
    table.note(kind, (index, index), cell, (rule, done));
}

fn dew_point(table: &mut Table<'_>, index: usize) {
    let day = table.days[index];
    let Some(dew) = day.dew_point else { return };
    let bounds = table.unit.bounds();
    let written = table.unit.of_celsius(dew);
    let rule = if !(bounds.min - ROUNDING..=bounds.max + ROUNDING).contains(&written) {
        format!("must lie between {} and {}", bounds.min, bounds.max)
    } else if let Some(high) = day.tmax.filter(|high| dew > high + ROUNDING) {
        let high = tenths(table.unit.of_celsius(high));
        format!("must not be above tmax, {high}")
    } else {
        return;
    };
    table.days[index].dew_point = None;
    let cell = (Some("dew_point"), Some(tenths(written)));
    let kind = FindingKind::Moisture;
    table.note(kind, (index, index), cell, (rule, LEFT_OUT));
}

/// A number with one decimal.
pub(super) fn tenths(value: f64) -> String {
    format!("{value:.1}")
}

impl DailyRead {
    /// The same table without sunshine longer than the day and radiation above that of the top of
    /// the air, at a latitude; each is a finding.
    #[must_use]
    pub fn held_to_the_sun(mut self, latitude_deg: f64) -> Self {
        let first = self.record.first();
        let mut found = Vec::new();
        for (index, day) in self.record.days_mut().iter_mut().enumerate() {
            if day.sunshine_h.is_none() && day.radiation_mj.is_none() {
                continue;
            }
            let date = plus_days(first, signed(index));
            let length = day_length_h(latitude_deg, date.day_of_year());
            let mut note = |column: &str, value: f64, rule: String| {
                let finding = Finding {
                    row: self.rows[index],
                    column: Some(column.to_owned()),
                    value: Some(value.to_string()),
                    ..Finding::of(FindingKind::Sun, &self.file, rule, LEFT_OUT)
                };
                found.push(finding.on(date));
            };
            if let Some(hours) = day.sunshine_h.filter(|it| *it > length + TWILIGHT_H) {
                day.sunshine_h = None;
                let rule = format!("the day is {} h long", tenths(length));
                note("sunshine_h", hours, rule);
            }
            let most = extraterrestrial_mj(latitude_deg, date.day_of_year());
            if let Some(sum) = day.radiation_mj.filter(|it| *it > most + ROUNDING) {
                day.radiation_mj = None;
                let rule = format!("no more than {} MJ/m² come from the sun", tenths(most));
                note("radiation_mj", sum, rule);
            }
        }
        self.findings.extend(found);
        in_order_of_file(&mut self.findings);
        self
    }
}
