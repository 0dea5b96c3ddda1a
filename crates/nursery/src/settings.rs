//! `nursery.toml`: who and where the nursery is, and the rules of its plans.

use intake::RowProblem;
use serde::{Deserialize, Serialize};

/// Units in which the nursery's weather file gives temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// °C.
    #[default]
    Metric,
    /// °F.
    Us,
}

/// First day of the nursery's week on paper. Plans count in ISO weeks whatever it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FirstWeekday {
    /// Weeks are printed from Monday.
    #[default]
    Monday,
    /// Weeks are printed from Sunday.
    Sunday,
}

/// The settings of one nursery.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The nursery's name.
    pub name: String,
    /// Degrees north; south is negative.
    pub latitude: f64,
    /// Degrees east; west is negative.
    pub longitude: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Name of the time zone, as `Europe/Madrid`.
    pub time_zone: String,
    /// Three letters, as `EUR`; money in files is in its minor unit.
    pub currency: String,
    /// Units of the weather file.
    #[serde(default)]
    pub units: Units,
    /// First weekday on paper.
    #[serde(default)]
    pub first_weekday: FirstWeekday,
    /// How heat is summed.
    #[serde(default)]
    pub heat: Heat,
    /// Rules of the plan.
    #[serde(default)]
    pub planning: Planning,
}

/// How heat is summed: thresholds of citrus trees and fruit, not validated for nursery stages.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Heat {
    /// Lower threshold, °C.
    pub base_c: f64,
    /// Upper threshold, °C; more heat than this counts as this (horizontal cut-off).
    pub upper_c: f64,
}

impl Default for Heat {
    fn default() -> Self {
        Self {
            base_c: 12.8,
            upper_c: 36.0,
        }
    }
}

/// Rules of the plan, all in the nursery's hands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Planning {
    /// Weeks planned ahead.
    pub weeks: u32,
    /// Routes in use; empty means all of the catalogue.
    pub routes: Vec<String>,
    /// Cost of a plant short, as a share of its price.
    pub short_cost_share: f64,
    /// Cost of a plant late, as a share of its price and a week after due.
    pub late_cost_share: f64,
    /// Worth of what stands at the plan's end, as a share of what it cost to get there.
    pub end_value_share: f64,
    /// A week is planned for work that needs bark to slip if it slips in this share of years.
    pub bark_share_min: f64,
    /// Weeks a planned job may slip before it is given up.
    pub slip_weeks: u32,
    /// Weeks a cut of budsticks keeps in the cold store after its season.
    pub store_weeks: u32,
}

impl Default for Planning {
    fn default() -> Self {
        Self {
            weeks: 156,
            routes: Vec::new(),
            short_cost_share: 0.3,
            late_cost_share: 0.02,
            end_value_share: 0.8,
            bark_share_min: 0.75,
            slip_weeks: 4,
            store_weeks: 4,
        }
    }
}

impl Settings {
    /// Reads `nursery.toml`, with every problem of its values.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Self, Vec<RowProblem>> {
        let settings: Self = read_toml(file, bytes)?;
        let problems = settings.problems(file);
        if problems.is_empty() {
            Ok(settings)
        } else {
            Err(problems)
        }
    }

    fn problems(&self, file: &str) -> Vec<RowProblem> {
        let mut problems = Vec::new();
        let mut number = |key: &str, value: f64, min: f64, max: f64| {
            if !(min..=max).contains(&value) {
                problems.push(RowProblem {
                    column: Some(key.to_owned()),
                    value: Some(value.to_string()),
                    ..RowProblem::of_file(
                        file,
                        format!("must lie between {min} and {max}"),
                        "check the value and its unit",
                    )
                });
            }
        };
        number("latitude", self.latitude, -66.0, 66.0);
        number("longitude", self.longitude, -180.0, 180.0);
        number("elevation_m", self.elevation_m, -430.0, 5000.0);
        number("heat.base_c", self.heat.base_c, 0.0, 25.0);
        number("heat.upper_c", self.heat.upper_c, 26.0, 60.0);
        number("planning.weeks", f64::from(self.planning.weeks), 4.0, 260.0);
        number(
            "planning.short_cost_share",
            self.planning.short_cost_share,
            0.0,
            5.0,
        );
        number(
            "planning.late_cost_share",
            self.planning.late_cost_share,
            0.0,
            1.0,
        );
        number(
            "planning.end_value_share",
            self.planning.end_value_share,
            0.0,
            1.0,
        );
        number(
            "planning.bark_share_min",
            self.planning.bark_share_min,
            0.0,
            1.0,
        );
        number(
            "planning.slip_weeks",
            f64::from(self.planning.slip_weeks),
            0.0,
            26.0,
        );
        number(
            "planning.store_weeks",
            f64::from(self.planning.store_weeks),
            0.0,
            13.0,
        );
        let mut text = |key: &str, value: &str, good: bool, rule: &str, mend: &str| {
            if !good {
                problems.push(RowProblem {
                    column: Some(key.to_owned()),
                    value: Some(value.to_owned()),
                    ..RowProblem::of_file(file, rule, mend)
                });
            }
        };
        text(
            "name",
            &self.name,
            !self.name.trim().is_empty(),
            "must not be empty",
            "fill it in",
        );
        let letters = self.currency.len() == 3
            && self
                .currency
                .chars()
                .all(|letter| letter.is_ascii_uppercase());
        text(
            "currency",
            &self.currency,
            letters,
            "must be three capital letters",
            "write, as EUR",
        );
        problems
    }
}

/// Reads TOML into a type, with what and where on failure.
pub(crate) fn read_toml<T: for<'de> Deserialize<'de>>(
    file: &str,
    bytes: &[u8],
) -> Result<T, Vec<RowProblem>> {
    let problem = |row: Option<u64>, rule: String| {
        let mend = "mend this line, or start from `barkslip template`";
        vec![RowProblem {
            row,
            ..RowProblem::of_file(file, rule, mend)
        }]
    };
    let text =
        std::str::from_utf8(bytes).map_err(|_| problem(None, "must be UTF-8 text".to_owned()))?;
    toml::from_str(text).map_err(|error| {
        let row = error
            .span()
            .and_then(|span| text.get(..span.start))
            .map(|before| 1 + before.matches('\n').count() as u64);
        problem(row, error.message().replace('\n', " "))
    })
}
