//! The reader of a daily weather table.
//!
//! Reads what can be read: a damaged cell or row is left out and named, and every good day is kept
//! ([`crate::quality`] says what counts as damage and what is done about it).

use std::str::FromStr;

use intake::{Bounds, Columns, Problems, Row, RowProblem, cut, read_table};
use jiff::civil::Date;

use crate::calendar::YEARS;
use crate::quality::{DailyRead, Finding, FindingKind, Line, examined};
use crate::weather::{Day, TemperatureUnit};

const COLUMNS: Columns = Columns {
    required: &["date", "tmin", "tmax"],
    optional: &[
        "rain_mm",
        "humidity_mean",
        "humidity_min",
        "humidity_max",
        "dew_point",
        "wind",
        "wind_height",
        "radiation_mj",
        "sunshine_h",
        "source",
    ],
};

/// The words of the column `source`, and whether a day with them is made rather than measured.
const SOURCES: &[(&str, bool)] = &[("measured", false), ("normals", true)];

/// What is done about a row that says nothing that can be used.
pub(crate) const ROW_LEFT_OUT: &str = "the row is left out";
/// What is done about a value that cannot be used.
pub(crate) const LEFT_OUT: &str = "the value is left out";

/// Reads a daily weather table: the record, and every problem of the file.
///
/// The table of a nursery's own station or of the nearest official one: one row a day, in order.
/// Stations fail and spreadsheets slip, so that a file of many years is never quite whole: what is
/// damaged is left out and named, and every good day is kept. Columns: `date`, `tmin`, `tmax` and
/// any of `rain_mm`, `humidity_mean`, `humidity_min`, `humidity_max`, `dew_point`, `wind`,
/// `wind_height`, `radiation_mj`, `sunshine_h`, `source`, in any order. `source` is `normals` on
/// days made by [`daily_from_normals`](crate::daily_from_normals), `measured` or empty on all
/// others.
///
/// # Equation
/// °C = (°F − 32) / 1.8 for `tmin`, `tmax` and `dew_point` where `unit` is Fahrenheit.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `file` | | the file's name in messages | any |
/// | `bytes` | | UTF-8, comma-separated, with a header | years 1850–2199 |
/// | `unit` | °C or °F | of `tmin`, `tmax`, `dew_point` | −60 to 60 °C |
///
/// # Returns
/// A dense record from the first to the last date, in which a missing day or cell is `None`, and
/// the findings in the order of the file. The rules of the findings are those of
/// [`FindingKind`]; what needs the place's latitude is found by
/// [`DailyRead::held_to_the_sun`].
///
/// # Errors
/// What is no weather table: text that is not UTF-8, no header, a column that is missing, unknown
/// or stands twice, no day with a value, or temperatures that are in the other unit throughout.
///
/// # Assumptions
/// A day is a local civil day, midnight to midnight. Wind stays in m/s and rain in mm whatever
/// the unit of temperature. Empty cells of other columns than the two temperatures are no damage.
///
/// # Source
/// The project's own table (see `docs/models/weather.md`).
///
/// # Checked against
/// `tests/models/damaged_weather.rs`: one file with every kind of damage gives each finding, and
/// every other day is that of the undamaged file; 34 years of Jeju (KMA), the typical year of
/// Tampa and the demo's weather give no false alarm. `tests/models/readers.rs`: each damage of a
/// row; fuzzed (`weather_csv`).
///
/// # Examples
/// ```
/// let table = b"date,tmin,tmax\n2026-03-01,50,68\n2026-03-03,41,x\n";
/// let read = models::read_daily("weather.csv", table, models::TemperatureUnit::Fahrenheit)?;
/// assert_eq!(read.record.days().len(), 3);
/// assert_eq!(read.record.days()[0].tmax, Some(20.0));
/// assert_eq!(read.record.days()[1].tmin, None);
/// assert_eq!(
///     read.findings[1].to_string(),
///     "weather.csv, row 3, 2026-03-03, tmax \"x\": must be a number, as 12.8; the value is left out."
/// );
/// # Ok::<(), intake::Problems>(())
/// ```
pub fn read_daily(file: &str, bytes: &[u8], unit: TemperatureUnit) -> Result<DailyRead, Problems> {
    read_daily_until(file, bytes, unit, None)
}

/// Reads a daily weather table as it was known on a day: as [`read_daily`], with no day after it.
///
/// What came later neither counts nor judges what came before. Where every row lies after the day,
/// all of them are read.
pub fn read_daily_until(
    file: &str,
    bytes: &[u8],
    unit: TemperatureUnit,
    until: Option<Date>,
) -> Result<DailyRead, Problems> {
    let mut lines: Vec<Line> = Vec::new();
    let mut findings: Vec<Finding> = Vec::new();
    let read = read_table(file, bytes, &COLUMNS, |row| {
        if let Some(date) = date(row) {
            let mut cells = Cells {
                row,
                file,
                date,
                findings: &mut findings,
            };
            let day = cells.day();
            lines.push(Line {
                row: row.line(),
                date,
                day,
            });
        }
        Some(())
    });
    if lines.is_empty() {
        return Err(none_read(file, read.problems));
    }
    findings.extend(read.problems.0.into_iter().map(row_left_out));
    examined(file, lines, (unit, until), findings)
}

pub(crate) fn none_read(file: &str, mut problems: Problems) -> Problems {
    if problems.is_empty() {
        problems.push(RowProblem::of_file(
            file,
            "must hold at least one day",
            "add rows",
        ));
    }
    problems
}

pub(crate) fn row_left_out(problem: RowProblem) -> Finding {
    Finding {
        row: problem.row,
        column: problem.column,
        value: problem.value,
        ..Finding::of(
            FindingKind::Unreadable,
            &problem.file,
            problem.rule,
            ROW_LEFT_OUT,
        )
    }
}

/// A date of our time; notes what is none.
pub(crate) fn date(row: &mut Row<'_>) -> Option<Date> {
    let date = row.date("date")?;
    if YEARS.contains(&date.year()) {
        return Some(date);
    }
    let rule = format!("must lie in the years {} to {}", YEARS.start(), YEARS.end());
    row.problem("date", rule, "check the year");
    None
}

const PERCENT: Bounds = Bounds::new(0.0, 100.0);

/// The cells of a row under reading.
pub(crate) struct Cells<'a, 'r> {
    pub row: &'a Row<'r>,
    pub file: &'a str,
    pub date: Date,
    pub findings: &'a mut Vec<Finding>,
}

impl Cells<'_, '_> {
    /// The day of the row: temperatures as they are written, however far out, for what reads as
    /// nonsense in one unit may be sense in the other; all else within its bounds.
    pub fn day(&mut self) -> Day {
        use FindingKind::{Moisture, OutOfRange, Sun};
        Day {
            tmin: self.number("tmin"),
            tmax: self.number("tmax"),
            rain_mm: self.within("rain_mm", Bounds::new(0.0, 2000.0), Moisture),
            humidity_mean: self.within("humidity_mean", PERCENT, Moisture),
            humidity_min: self.within("humidity_min", PERCENT, Moisture),
            humidity_max: self.within("humidity_max", PERCENT, Moisture),
            dew_point: self.number("dew_point"),
            wind: self.within("wind", Bounds::new(0.0, 120.0), OutOfRange),
            wind_height: self.within("wind_height", Bounds::new(0.5, 200.0), OutOfRange),
            radiation_mj: self.within("radiation_mj", Bounds::new(0.0, 50.0), Sun),
            sunshine_h: self.within("sunshine_h", Bounds::new(0.0, 24.0), Sun),
            is_made: self.is_made(),
        }
    }

    pub fn note(&mut self, kind: FindingKind, column: &str, rule: impl Into<String>, done: &str) {
        let finding = Finding {
            row: Some(self.row.line()),
            column: Some(column.to_owned()),
            value: self.row.cell(column).map(cut),
            ..Finding::of(kind, self.file, rule, done)
        };
        self.findings.push(finding.on(self.date));
    }

    fn number(&mut self, column: &'static str) -> Option<f64> {
        let text = self.row.cell(column)?;
        if let Some(value) = finite(text) {
            return Some(value);
        }
        let with_comma = decimal_comma(text);
        let done = with_comma.map_or_else(
            || LEFT_OUT.to_owned(),
            |value| format!("the comma is taken for a decimal point, {value}"),
        );
        let rule = "must be a number, as 12.8";
        self.note(FindingKind::Unreadable, column, rule, &done);
        with_comma
    }

    pub fn within(
        &mut self,
        column: &'static str,
        bounds: Bounds,
        kind: FindingKind,
    ) -> Option<f64> {
        let value = self.number(column)?;
        if (bounds.min..=bounds.max).contains(&value) {
            return Some(value);
        }
        let rule = format!("must lie between {} and {}", bounds.min, bounds.max);
        self.note(kind, column, rule, LEFT_OUT);
        None
    }

    fn is_made(&mut self) -> bool {
        let Some(word) = self.row.cell("source") else {
            return false;
        };
        let known = SOURCES.iter().find(|(name, _)| *name == word);
        if known.is_none() {
            let rule = "must be measured or normals";
            self.note(
                FindingKind::Unreadable,
                "source",
                rule,
                "the day is taken for a measured one",
            );
        }
        known.is_some_and(|(_, is_made)| *is_made)
    }
}

fn finite(text: &str) -> Option<f64> {
    f64::from_str(text).ok().filter(|value| value.is_finite())
}

/// A number written with a comma before its decimals. One comma with one or two digits behind it
/// is nothing else; thousands would have three.
fn decimal_comma(text: &str) -> Option<f64> {
    let (whole, decimals) = text.split_once(',')?;
    let are_digits = |text: &str| !text.is_empty() && text.bytes().all(|it| it.is_ascii_digit());
    let plain = are_digits(whole.trim_start_matches('-')) && are_digits(decimals);
    (plain && decimals.len() <= 2)
        .then(|| finite(&format!("{whole}.{decimals}")))
        .flatten()
}
