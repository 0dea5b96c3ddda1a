//! The bark window: in which weeks bark slips, so that a shield bud can be set.
//!
//! A first, stated rule from temperature and day length; a nursery edits it until it agrees with
//! its own knife. Does not model water, flush or the stock's age, all of which matter too.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::{plus_days, signed};
use crate::climate::Climate;
use crate::paths::{Paths, WEEKS_BEFORE, Week, YearPath, week_mean};
use crate::solar::day_length_h;

/// When bark slips.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawBarkRule", into = "RawBarkRule")]
pub struct BarkRule {
    mean_c_min: f64,
    tmax_c_max: f64,
    day_length_h_min: Option<f64>,
    weeks_before: u32,
}

/// Why a bark rule cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BarkRuleError {
    /// The least mean temperature is out of range.
    #[error("mean_c_min {0} must lie between 0 and 35 °C; check the value and its unit")]
    Mean(f64),
    /// The greatest maximum is out of range.
    #[error("tmax_c_max {0} must lie between 20 and 60 °C; check the value and its unit")]
    Tmax(f64),
    /// The least day length is out of range.
    #[error("day_length_h_min {0} must lie between 0 and 24 hours; check the value")]
    DayLength(f64),
    /// The rule looks back too far.
    #[error("weeks_before {0} must be at most 8; the rule looks back no farther")]
    WeeksBefore(u32),
}

impl BarkRule {
    /// A rule whose values lie in their ranges.
    pub fn try_new(
        mean_c_min: f64,
        tmax_c_max: f64,
        day_length_h_min: Option<f64>,
        weeks_before: u32,
    ) -> Result<Self, BarkRuleError> {
        if !(0.0..=35.0).contains(&mean_c_min) {
            return Err(BarkRuleError::Mean(mean_c_min));
        }
        if !(20.0..=60.0).contains(&tmax_c_max) {
            return Err(BarkRuleError::Tmax(tmax_c_max));
        }
        if let Some(hours) = day_length_h_min.filter(|hours| !(0.0..=24.0).contains(hours)) {
            return Err(BarkRuleError::DayLength(hours));
        }
        if weeks_before as usize > WEEKS_BEFORE {
            return Err(BarkRuleError::WeeksBefore(weeks_before));
        }
        Ok(Self {
            mean_c_min,
            tmax_c_max,
            day_length_h_min,
            weeks_before,
        })
    }

    /// Least mean temperature of the week and the weeks before it, °C.
    pub fn mean_c_min(&self) -> f64 {
        self.mean_c_min
    }

    /// Greatest mean of the week's daily maxima, °C.
    pub fn tmax_c_max(&self) -> f64 {
        self.tmax_c_max
    }

    /// Least day length, h, where the stock responds to it.
    pub fn day_length_h_min(&self) -> Option<f64> {
        self.day_length_h_min
    }

    /// Weeks before the week that count into its mean temperature.
    pub fn weeks_before(&self) -> u32 {
        self.weeks_before
    }
}

impl Default for BarkRule {
    /// Common practice, from memory: bark and union do well at 20 to 30 °C, poorly below 15 to 18
    /// and above 35 to 38 °C.
    fn default() -> Self {
        Self {
            mean_c_min: 15.0,
            tmax_c_max: 36.0,
            day_length_h_min: None,
            weeks_before: 2,
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawBarkRule {
    mean_c_min: f64,
    tmax_c_max: f64,
    #[serde(default)]
    day_length_h_min: Option<f64>,
    weeks_before: u32,
}

impl TryFrom<RawBarkRule> for BarkRule {
    type Error = BarkRuleError;

    fn try_from(raw: RawBarkRule) -> Result<Self, BarkRuleError> {
        Self::try_new(
            raw.mean_c_min,
            raw.tmax_c_max,
            raw.day_length_h_min,
            raw.weeks_before,
        )
    }
}

impl From<BarkRule> for RawBarkRule {
    fn from(rule: BarkRule) -> Self {
        let BarkRule {
            mean_c_min,
            tmax_c_max,
            day_length_h_min,
            weeks_before,
        } = rule;
        Self {
            mean_c_min,
            tmax_c_max,
            day_length_h_min,
            weeks_before,
        }
    }
}

/// Returns for each week of a path whether bark slips in it.
///
/// T-budding can be done only while the cambium is active and bark lifts cleanly; crews, sticks
/// and stocks must meet in these weeks.
///
/// # Equation
/// Bark slips in week t if all hold:
/// - mean of the daily means (tmin + tmax)/2 over weeks t − `weeks_before` … t ≥ `mean_c_min`
/// - mean of tmax over week t ≤ `tmax_c_max`
/// - N ≥ `day_length_h_min` on the week's fourth day, N from [`day_length_h`], if the rule asks
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `rule` | °C, h, weeks | constants | checked by its type |
/// | `path` | °C | weeks of seven days, with those before the plan | from [`Paths::from_record`] |
/// | `climate` | °C | constants | checked by its type |
/// | `latitude_deg` | ° north, south negative | constant | −90 to 90 |
/// | `first_monday` | | first day of the plan's first week | any |
///
/// # Returns
/// One value a week of the plan.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// A stated rule, not a fitted model: no published threshold for citrus bark was found. Stocks are
/// watered and in growth. Trifoliate stocks stop first and respond to day length (from memory);
/// give them a rule of their own.
///
/// # Source
/// Common practice, from memory; "bark slips from early spring to late fall in subtropics", Sauls,
/// Texas A&M 2001; day length: FAO-56 eq. 34.
///
/// # Checked against
/// Sensibility only, `tests/models/bark_weeks.rs`: at Jeju bark never slips from January
/// to March and slips in every year from June to September; in three years of four, from the
/// 18th to the 45th week.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{BarkRule, Climate, Extremes, YearPath, slips};
///
/// let (mild, hot) = ([Extremes::new(14.0, 24.0); 7], [Extremes::new(25.0, 39.0); 7]);
/// let path = YearPath { start_year: 2020, before: vec![mild; 8], weeks: vec![mild, hot] };
/// let open = Climate::OPEN_GROUND;
/// let weeks = slips(&BarkRule::default(), &path, &open, 33.5, date(2027, 6, 7));
/// assert_eq!(weeks, [true, false]);
/// ```
pub fn slips(
    rule: &BarkRule,
    path: &YearPath,
    climate: &Climate,
    latitude_deg: f64,
    first_monday: Date,
) -> Vec<bool> {
    let all: Vec<&Week> = path.before.iter().chain(&path.weeks).collect();
    let means: Vec<f64> = all
        .iter()
        .map(|week| week_mean(week, |day| climate.apply(day).mean()))
        .collect();
    (0..path.weeks.len())
        .map(|week| {
            let now = path.before.len() + week;
            let warm = mean(&means[now.saturating_sub(rule.weeks_before as usize)..=now]);
            let peak = week_mean(all[now], |day| climate.apply(day).tmax);
            warm >= rule.mean_c_min
                && peak <= rule.tmax_c_max
                && long_enough(
                    rule,
                    latitude_deg,
                    plus_days(first_monday, 7 * signed(week) + 3),
                )
        })
        .collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn long_enough(rule: &BarkRule, latitude_deg: f64, day: Date) -> bool {
    rule.day_length_h_min
        .is_none_or(|least| day_length_h(latitude_deg, day.day_of_year()) >= least)
}

/// Returns for each week of a plan the share of past years in which bark slips.
///
/// A week is planned for budding only where bark slips in most years; the share says how sure it
/// is.
///
/// # Equation
/// Paths in which [`slips`] holds, divided by all paths.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `rule` | °C, h, weeks | constants | checked by its type |
/// | `paths` | °C | one path a past year | from [`Paths::from_record`] |
/// | `climate` | °C | constants | checked by its type |
/// | `latitude_deg` | ° north, south negative | constant | −90 to 90 |
///
/// # Returns
/// Shares from 0 (never) to 1 (every year), one a week of the plan.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// Those of [`slips`] and of [`Paths::from_record`].
///
/// # Source
/// Own rule (frequency over past years).
///
/// # Checked against
/// `tests/models/bark_weeks.rs`: Jeju, 0 from January to March, 1 from June to
/// September.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{BarkRule, Climate, Extremes, Paths, YearPath, share_by_week};
///
/// let path = |tmax| {
///     let week = [Extremes::new(10.0, tmax); 7];
///     YearPath { start_year: 2020, before: vec![week; 8], weeks: vec![week] }
/// };
/// let paths = Paths::of(date(2027, 4, 5), vec![path(15.0), path(25.0)]);
/// assert_eq!(share_by_week(&BarkRule::default(), &paths, &Climate::OPEN_GROUND, 33.5), [0.5]);
/// ```
pub fn share_by_week(
    rule: &BarkRule,
    paths: &Paths,
    climate: &Climate,
    latitude_deg: f64,
) -> Vec<f64> {
    let slipping: Vec<Vec<bool>> = paths
        .paths
        .iter()
        .map(|path| slips(rule, path, climate, latitude_deg, paths.first_monday))
        .collect();
    let weeks = slipping.first().map_or(0, Vec::len);
    let share = |week: usize| {
        let count = slipping
            .iter()
            .filter(|path| path.get(week) == Some(&true))
            .count();
        count as f64 / slipping.len() as f64
    };
    (0..weeks).map(share).collect()
}
