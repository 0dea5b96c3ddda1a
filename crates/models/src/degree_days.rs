//! Degree-days: how much heat a day gives between two thresholds.
//!
//! Owns the thresholds, the methods and the cut-offs; reads a day's lowest and highest
//! temperature, or its hours. Does not model what heat does to a plant: phases and their spread
//! are calibrated on counts, elsewhere.

use std::f64::consts::{FRAC_PI_2, PI};

use serde::{Deserialize, Serialize};

use crate::fill::Extremes;

/// The curve that a day's temperature is taken to follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// One sine wave through the day's lowest and highest temperature.
    #[default]
    SingleSine,
    /// Straight lines up from the lowest to the highest and down again.
    SingleTriangle,
    /// A half sine wave up, and one down to the next day's lowest.
    DoubleSine,
    /// A straight line up, and one down to the next day's lowest.
    DoubleTriangle,
    /// The middle of lowest and highest, all day long.
    SimpleAverage,
}

/// What heat above the upper threshold does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CutOff {
    /// There is no upper threshold.
    None,
    /// Growth goes on at the pace of the upper threshold.
    #[default]
    Horizontal,
    /// Growth slows by as much as the upper threshold is exceeded.
    Intermediate,
    /// Growth stops.
    Vertical,
}

/// The temperatures between which heat counts, °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawThresholds", into = "RawThresholds")]
pub struct Thresholds {
    base_c: f64,
    upper_c: f64,
}

/// Why thresholds cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "base {base_c} °C and upper {upper_c} °C must lie between -20 and 60 °C, the base below the \
     upper; check the values and their unit"
)]
pub struct ThresholdsError {
    /// The lower threshold given, °C.
    pub base_c: f64,
    /// The upper threshold given, °C.
    pub upper_c: f64,
}

impl Thresholds {
    /// Lower threshold shipped, °C: thermal sums of citrus fruit (Scientia Agricola, Paraná);
    /// 12.5 to 13 °C elsewhere. For trees and fruit, not validated for nursery stages.
    pub const BASE_C: f64 = 12.8;
    /// Upper threshold shipped, °C: 36 to 39 °C commonly cited (Reuther 1973, from memory).
    pub const UPPER_C: f64 = 36.0;

    /// Thresholds, base below upper, both within −20 to 60 °C.
    pub fn try_new(base_c: f64, upper_c: f64) -> Result<Self, ThresholdsError> {
        let possible = -20.0..=60.0;
        if possible.contains(&base_c) && possible.contains(&upper_c) && base_c < upper_c {
            Ok(Self { base_c, upper_c })
        } else {
            Err(ThresholdsError { base_c, upper_c })
        }
    }

    /// Lower threshold, °C.
    pub fn base_c(self) -> f64 {
        self.base_c
    }

    /// Upper threshold, °C.
    pub fn upper_c(self) -> f64 {
        self.upper_c
    }
}

impl Default for Thresholds {
    fn default() -> Self {
        Self {
            base_c: Self::BASE_C,
            upper_c: Self::UPPER_C,
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawThresholds {
    base_c: f64,
    upper_c: f64,
}

impl TryFrom<RawThresholds> for Thresholds {
    type Error = ThresholdsError;

    fn try_from(raw: RawThresholds) -> Result<Self, ThresholdsError> {
        Self::try_new(raw.base_c, raw.upper_c)
    }
}

impl From<Thresholds> for RawThresholds {
    fn from(thresholds: Thresholds) -> Self {
        Self {
            base_c: thresholds.base_c,
            upper_c: thresholds.upper_c,
        }
    }
}

/// How heat is summed: always named together, since a sum means nothing without them.
///
/// Shipped: 12.8 to 36 °C, single sine, horizontal cut-off; to be edited and calibrated.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct DegreeDayRule {
    /// Base and upper threshold.
    pub thresholds: Thresholds,
    /// The curve of the day.
    pub method: Method,
    /// What heat above the upper threshold does.
    pub cut_off: CutOff,
}

/// Returns the degree-days of one day.
///
/// The heat clock of every stage of the nursery: plants of a lot become ready when the degree-days
/// since they entered the stage reach what the stage asks for.
///
/// # Equation
/// With M = (`tmax` + `tmin`)/2, W = (`tmax` − `tmin`)/2 and A(k) the area of the day's curve
/// above k: 0 where `tmax` ≤ k, M − k where `tmin` ≥ k, else
/// - sine: \[(M − k)(π/2 − θ) + W cos θ\]/π, θ = arcsin((k − M)/W)
/// - triangle: (`tmax` − k)² / (2(`tmax` − `tmin`))
///
/// and with lo and hi the thresholds and f(hi) the share of the day above hi:
/// none A(lo) · horizontal A(lo) − A(hi) · intermediate max(0, A(lo) − 2A(hi)) · vertical
/// A(lo) − A(hi) − (hi − lo) f(hi). Double methods: half of the day with `tmin`, half with
/// `next_tmin`. Simple average: the rate at M.
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `rule.thresholds` | lo, hi | °C | constants | checked by their type |
/// | `day` | tmin, tmax | °C | one local civil day | tmin ≤ tmax |
/// | `next_tmin` | | °C | lowest of the day after; read by double methods only | any |
///
/// # Returns
/// Degree-days (°C·d), 0 or more; with a horizontal cut-off at most hi − lo. 0: the day never
/// warmed above the base.
///
/// # Errors
/// None: thresholds are a checked type.
///
/// # Assumptions
/// The day swings evenly between its extremes; a front passing at noon breaks that. At Tampa the
/// single sine sums 3.2 % more in a year than the hours themselves. The publications do not say
/// what an intermediate cut-off does on days so hot that the area turns negative: it is held at 0.
///
/// # Source
/// Baskerville & Emin 1969, Ecology 50:514–517 (single sine); Allen 1976, Environ. Entomol.
/// 5:388–396 (half days, cut-offs; from memory); Sevacherian et al. 1977, J. Econ. Entomol.
/// 70:399–402 (triangle); Zalom et al. 1983, UC leaflet 21373 (horizontal, intermediate,
/// vertical; from memory); Roltsch et al. 1999, Int. J. Biometeorol. 42:169–176 (comparison).
///
/// # Checked against
/// `tests/data/degree_days.csv`: 352 cases by numeric integration, within 1e-3 °C·d absolute
/// (they are printed to 5 decimals and integrated to 2e-4);
/// `tests/models/yearly_sums.rs`: sums of 34 years of Jeju and of Tampa within 0.1 %, computed by
/// an independent implementation and printed to 0.01 °C·d.
///
/// # Examples
/// ```
/// use models::{DegreeDayRule, Extremes, degree_days};
///
/// // All of the day lies between the thresholds: 21.5 − 12.8.
/// let heat = degree_days(&DegreeDayRule::default(), Extremes::new(15.0, 28.0), 15.0);
/// assert!((heat - 8.7).abs() < 1e-9);
/// ```
pub fn degree_days(rule: &DegreeDayRule, day: Extremes, next_tmin: f64) -> f64 {
    let total = match rule.method {
        Method::SimpleAverage => rate(rule, day.mean()),
        Method::SingleSine | Method::SingleTriangle => area(rule, day),
        Method::DoubleSine | Method::DoubleTriangle => {
            // A next lowest above today's highest would make a falling half rise; it is held.
            let falling = Extremes {
                tmin: next_tmin.min(day.tmax),
                tmax: day.tmax,
            };
            f64::midpoint(area(rule, day), area(rule, falling))
        }
    };
    total.max(0.0)
}

/// Returns the degree-days of one day from readings taken evenly over it.
///
/// Where a station gives hours, no curve needs to be assumed.
///
/// # Equation
/// Mean over the readings of r(T): T − lo above lo, with none of a cut-off; held at hi − lo
/// (horizontal), max(0, T − lo − 2(T − hi)) (intermediate) or 0 (vertical) above hi.
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `rule` | lo, hi | °C | thresholds and cut-off; the method is not read | checked by its type |
/// | `temperatures` | T | °C | the day's readings in any order, 24 or more | evenly spaced |
///
/// # Returns
/// Degree-days (°C·d), 0 or more; 0 for no readings.
///
/// # Errors
/// None: thresholds are a checked type.
///
/// # Assumptions
/// Each reading stands for its hour. A day without some of its hours should be left to
/// [`degree_days`] on filled extremes.
///
/// # Source
/// Definition of the degree-day (the integral that the closed forms approximate).
///
/// # Checked against
/// `tests/models/yearly_sums.rs`: Tampa TMY3, 3,590.7 °C·d above 12.8 °C, within 0.1 %.
///
/// # Examples
/// ```
/// use models::{DegreeDayRule, hourly_degree_days};
///
/// // Half of the day 10 degrees above the base of 12.8 °C, half below it.
/// let heat = hourly_degree_days(&DegreeDayRule::default(), &[22.8, 5.0]);
/// assert!((heat - 5.0).abs() < 1e-9);
/// ```
pub fn hourly_degree_days(rule: &DegreeDayRule, temperatures: &[f64]) -> f64 {
    if temperatures.is_empty() {
        return 0.0;
    }
    let sum: f64 = temperatures.iter().map(|t| rate(rule, *t)).sum();
    sum / temperatures.len() as f64
}

/// Heat per day at a steady temperature, never negative.
fn rate(rule: &DegreeDayRule, t: f64) -> f64 {
    let Thresholds {
        base_c: lo,
        upper_c: hi,
    } = rule.thresholds;
    let above_base = (t - lo).max(0.0);
    let above_upper = (t - hi).max(0.0);
    match rule.cut_off {
        CutOff::Horizontal => above_base - above_upper,
        CutOff::Intermediate => (above_base - 2.0 * above_upper).max(0.0),
        CutOff::Vertical if t > hi => 0.0,
        CutOff::None | CutOff::Vertical => above_base,
    }
}

/// Area of the day's curve between the thresholds; negative only for an intermediate cut-off.
fn area(rule: &DegreeDayRule, day: Extremes) -> f64 {
    let Thresholds {
        base_c: lo,
        upper_c: hi,
    } = rule.thresholds;
    let above = |k| area_above(rule.method, day, k);
    match rule.cut_off {
        CutOff::None => above(lo),
        CutOff::Horizontal => above(lo) - above(hi),
        CutOff::Intermediate => above(lo) - 2.0 * above(hi),
        CutOff::Vertical => above(lo) - above(hi) - (hi - lo) * share_above(rule.method, day, hi),
    }
}

fn area_above(method: Method, day: Extremes, k: f64) -> f64 {
    let Extremes { tmin, tmax } = day;
    if tmax <= k {
        return 0.0;
    }
    let above_mean = day.mean() - k;
    if tmin >= k {
        return above_mean;
    }
    let swing = tmax - tmin;
    if is_sine(method) {
        let theta = crossing(day, k);
        (above_mean * (FRAC_PI_2 - theta) + swing / 2.0 * libm::cos(theta)) / PI
    } else {
        (tmax - k) * (tmax - k) / (2.0 * swing)
    }
}

/// Share of the day that is warmer than k.
fn share_above(method: Method, day: Extremes, k: f64) -> f64 {
    let Extremes { tmin, tmax } = day;
    if tmax <= k {
        0.0
    } else if tmin >= k {
        1.0
    } else if is_sine(method) {
        (FRAC_PI_2 - crossing(day, k)) / PI
    } else {
        (tmax - k) / (tmax - tmin)
    }
}

fn is_sine(method: Method) -> bool {
    matches!(method, Method::SingleSine | Method::DoubleSine)
}

/// The angle at which the sine of the day crosses k, which lies between its extremes.
fn crossing(day: Extremes, k: f64) -> f64 {
    let half_swing = (day.tmax - day.tmin) / 2.0;
    libm::asin(((k - day.mean()) / half_swing).clamp(-1.0, 1.0))
}
