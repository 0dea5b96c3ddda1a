//! What cannot be true in a record of daily weather: found, named and taken out.
//!
//! Owns the findings of a file and the rules behind them. Nothing is left out without a finding,
//! and nothing is put in its place here: what is left out is a gap, which
//! [`crate::fill`](mod@crate::fill) closes and marks.

mod climate;
mod order;
mod plain;
mod step;
mod still;

use std::fmt;

use intake::{Problems, RowProblem};
use jiff::civil::Date;
use serde::Serialize;

use crate::calendar::{days_between, plus_days, signed};
use crate::weather::{DailyRecord, Day, TemperatureUnit};

/// A kind of damage, with the rule by which it is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FindingKind {
    /// Dates without a row, or without a lowest or highest temperature, up to the next that has
    /// them.
    MissingDays,
    /// 31 December alone is missing: a source that counts 365 days a year.
    MissingYearEnd,
    /// A date stands twice. Rows that are alike count once; of two that differ, the one that lies
    /// in the order of dates stands, and where both do, neither.
    DuplicateDay,
    /// A row whose date lies before the row above it. It is put in its place; one whose date lies
    /// outside all others is left out.
    OutOfOrder,
    /// A cell or row that cannot be read. A comma before one or two decimals is read as a point.
    Unreadable,
    /// A temperature outside −60 to 60 °C, or a wind that no station can show.
    OutOfRange,
    /// The lowest temperature of a day lies above its highest: both are left out.
    LowAboveHigh,
    /// Both temperatures lie more than 4 robust deviations off the site's own climate of those
    /// calendar days as written, and within 4 in the other unit (°F for °C). Three days or more in
    /// a row are read in the other unit, fewer are left out.
    UnitSlip,
    /// The same lowest and highest temperature on 5 days or more in a row, or one of them on 7
    /// (7 and 12 in a table of whole degrees): the first day stands, the others are left out.
    Stuck,
    /// A temperature more than 5 robust deviations off the site's climate of those calendar days
    /// and as far off its neighbors, or more than 8 off: left out.
    Spike,
    /// Moisture that cannot be: humidity outside 0 to 100 %, its lowest above its highest or its
    /// mean outside them, rain below 0, a dew point above the highest temperature.
    Moisture,
    /// More radiation than reaches the top of the air, or more sunshine than the day is long.
    Sun,
    /// A lasting step in the yearly means against the record's own climate. Reported only.
    Step,
}

impl FindingKind {
    /// So many days in a row that make sense only in the other unit are read in it.
    pub const EVIDENT_DAYS: usize = 3;

    /// Every kind.
    pub const ALL: [Self; 13] = [
        Self::MissingDays,
        Self::MissingYearEnd,
        Self::DuplicateDay,
        Self::OutOfOrder,
        Self::Unreadable,
        Self::OutOfRange,
        Self::LowAboveHigh,
        Self::UnitSlip,
        Self::Stuck,
        Self::Spike,
        Self::Moisture,
        Self::Sun,
        Self::Step,
    ];

    /// What it is called.
    pub fn words(self) -> &'static str {
        match self {
            Self::MissingDays => "missing days",
            Self::MissingYearEnd => "31 December missing",
            Self::DuplicateDay => "date twice",
            Self::OutOfOrder => "row out of order",
            Self::Unreadable => "not readable",
            Self::OutOfRange => "impossible value",
            Self::LowAboveHigh => "lowest above highest",
            Self::UnitSlip => "°C and °F mixed up",
            Self::Stuck => "stuck sensor",
            Self::Spike => "far outside the site's climate",
            Self::Moisture => "impossible moisture",
            Self::Sun => "more sun than the day has",
            Self::Step => "lasting step",
        }
    }
}

/// One thing that was found in a weather file, with what was done about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// What kind of damage.
    pub kind: FindingKind,
    /// The file as the user knows it.
    pub file: String,
    /// Line number in the file of the first row concerned, the header being line 1; for days without
    /// a row, the row above them.
    pub row: Option<u64>,
    /// First date concerned.
    pub first: Option<Date>,
    /// Last date concerned.
    pub last: Option<Date>,
    /// The column, where one is to blame.
    pub column: Option<String>,
    /// The value as it stands in the file, or as it was worked out.
    pub value: Option<String>,
    /// The rule that was broken.
    pub rule: String,
    /// What was done about it.
    pub done: String,
}

impl Finding {
    pub(crate) fn of(
        kind: FindingKind,
        file: &str,
        rule: impl Into<String>,
        done: impl Into<String>,
    ) -> Self {
        Self {
            kind,
            file: file.to_owned(),
            row: None,
            first: None,
            last: None,
            column: None,
            value: None,
            rule: rule.into(),
            done: done.into(),
        }
    }

    pub(crate) fn on(self, date: Date) -> Self {
        self.over(date, date)
    }

    pub(crate) fn over(mut self, first: Date, last: Date) -> Self {
        (self.first, self.last) = (Some(first), Some(last));
        self
    }

    /// Days from the first to the last date concerned; 0 where no date is.
    pub fn days(&self) -> usize {
        self.first.zip(self.last).map_or(0, |(first, last)| {
            usize::try_from(days_between(first, last) + 1).unwrap_or(0)
        })
    }
}

impl From<Finding> for RowProblem {
    /// What a finding is to a caller that cannot do without what was left out.
    fn from(found: Finding) -> Self {
        Self {
            file: found.file,
            row: found.row,
            column: found.column,
            value: found.value,
            rule: found.rule,
            mend: found.done,
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        match (self.first, self.last) {
            (Some(first), Some(last)) if first != last => write!(f, ", {first} to {last}")?,
            (Some(first), _) => write!(f, ", {first}")?,
            _ => {}
        }
        if let Some(column) = &self.column {
            write!(f, ", {column}")?;
        }
        if let Some(value) = &self.value {
            write!(f, " \"{value}\"")?;
        }
        write!(f, ": {}; {}.", self.rule, self.done)
    }
}

/// A daily table as read: what can be used of it, and all that was found wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyRead {
    /// The days, with gaps where something was missing or left out.
    pub record: DailyRecord,
    /// Everything that was found, in the order of the file; steps come last.
    pub findings: Vec<Finding>,
    file: String,
    rows: Vec<Option<u64>>,
}

/// One row of a table that has a date: temperatures as they are written.
pub(crate) struct Line {
    pub row: u64,
    pub date: Date,
    pub day: Day,
}

/// Days on the calendar under examination.
pub(crate) struct Table<'a> {
    pub file: &'a str,
    pub unit: TemperatureUnit,
    pub first: Date,
    /// By day since the first.
    pub days: Vec<Day>,
    /// The temperatures as they are written, lowest first, by day.
    pub written: Vec<[Option<f64>; 2]>,
    /// The line each day stands on.
    pub rows: Vec<Option<u64>>,
    pub findings: Vec<Finding>,
}

/// The two temperatures of a day in the order of `written`.
pub(crate) const TEMPERATURES: [&str; 2] = ["tmin", "tmax"];

impl Table<'_> {
    pub fn date(&self, index: usize) -> Date {
        plus_days(self.first, signed(index))
    }

    /// A temperature of a day, °C.
    pub fn temperature(&self, index: usize, which: usize) -> Option<f64> {
        let day = &self.days[index];
        if which == 0 { day.tmin } else { day.tmax }
    }

    pub fn set_temperature(&mut self, index: usize, which: usize, to: Option<f64>) {
        let day = &mut self.days[index];
        *(if which == 0 {
            &mut day.tmin
        } else {
            &mut day.tmax
        }) = to;
    }

    /// A temperature as it is written.
    pub fn as_written(&self, index: usize, which: usize) -> Option<String> {
        self.written[index][which].map(|value| value.to_string())
    }

    /// Notes what was found on days from `first` to `last`.
    pub fn note(
        &mut self,
        kind: FindingKind,
        (first, last): (usize, usize),
        (column, value): (Option<&str>, Option<String>),
        (rule, done): (String, &str),
    ) {
        let finding = Finding {
            // Where there is no row, the one above the gap.
            row: self.rows[..=first].iter().rev().find_map(|row| *row),
            column: column.map(str::to_owned),
            value,
            ..Finding::of(kind, self.file, rule, done)
        };
        let (first, last) = (self.date(first), self.date(last));
        self.findings.push(finding.over(first, last));
    }
}

/// Puts lines in order and examines the days that they make.
pub(crate) fn examined(
    file: &str,
    lines: Vec<Line>,
    (unit, until): (TemperatureUnit, Option<Date>),
    mut findings: Vec<Finding>,
) -> Result<DailyRead, Problems> {
    let mut lines = order::in_order(file, lines, &mut findings);
    if let Some(until) = until.filter(|until| lines.iter().any(|line| line.date <= *until)) {
        lines.retain(|line| line.date <= until);
        let is_of_then = |it: &Finding| it.first.is_none_or(|first| first <= until);
        findings.retain(|it| is_of_then(it) || it.kind == FindingKind::OutOfOrder);
    }
    let mut table = laid(file, &lines, unit, findings);
    plain::missing(&mut table);
    climate::unit_slips(&mut table);
    plain::temperatures(&mut table)?;
    still::stuck(&mut table);
    climate::spikes(&mut table);
    plain::moisture(&mut table);
    step::steps(&mut table);
    in_order_of_file(&mut table.findings);
    if table.days.iter().all(|day| !has_values(day)) {
        return Err(plain::no_day(&table));
    }
    let Table {
        first,
        days,
        rows,
        findings,
        ..
    } = table;
    let record = DailyRecord::of_days(first, days).ok_or_else(Problems::default)?;
    Ok(DailyRead {
        record,
        findings,
        file: file.to_owned(),
        rows,
    })
}

fn has_values(day: &Day) -> bool {
    let Day { tmin, tmax, .. } = day;
    tmin.is_some() || tmax.is_some() || day.rain_mm.is_some()
}

/// By row; steps last.
fn in_order_of_file(findings: &mut [Finding]) {
    findings.sort_by_key(|it| {
        (
            it.kind == FindingKind::Step,
            it.row.is_none(),
            it.row,
            it.first,
        )
    });
}

/// Lays lines, each a day of its own, on the calendar.
fn laid<'a>(
    file: &'a str,
    lines: &[Line],
    unit: TemperatureUnit,
    findings: Vec<Finding>,
) -> Table<'a> {
    let first = lines.first().map_or(Date::ZERO, |line| line.date);
    let last = lines.last().map_or(first, |line| line.date);
    let length = days_between(first, last) as usize + 1;
    let mut table = Table {
        file,
        unit,
        first,
        days: vec![Day::default(); length],
        written: vec![[None; 2]; length],
        rows: vec![None; length],
        findings,
    };
    let celsius = |value: Option<f64>| value.map(|value| unit.to_celsius(value));
    for line in lines {
        let index = days_between(first, line.date) as usize;
        table.rows[index] = Some(line.row);
        table.written[index] = [line.day.tmin, line.day.tmax];
        table.days[index] = Day {
            tmin: celsius(line.day.tmin),
            tmax: celsius(line.day.tmax),
            dew_point: celsius(line.day.dew_point),
            ..line.day
        };
    }
    table
}
