//! Daily weather made from a site's monthly normals, where there is no record of days.
//!
//! Owns the normals as typed and the days drawn from them. Does not model trends, or whole seasons
//! that are warm or cold: made years are more alike than real ones. What is made says so
//! ([`Day::is_made`]), so that nobody takes it for measured.

use jiff::civil::Date;
use libm::{log, sqrt};
use rand_chacha::ChaCha8Rng;

use crate::calendar::{YEARS, same_day};
use crate::chance::{stream, two_normal, uniform};
use crate::fill::Extremes;
use crate::weather::{AIR_C, DailyRecord, Day};

/// Correlation of the day's anomalies of highest and lowest temperature.
const SAME_DAY: f64 = 0.633;
/// Correlations of today's anomaly (row: highest, lowest) with yesterday's (column).
const DAY_BEFORE: [[f64; 2]; 2] = [[0.621, 0.445], [0.563, 0.674]];

/// Mean rain of a day with rain, mm; from memory.
const RAIN_A_WET_DAY_MM: f64 = 8.0;
/// Share of wet days above which more rain falls on each rather than on more of them.
const MOST_WET: f64 = 0.95;
/// How much likelier rain is after a wet day than after a dry one.
const WET_AFTER_WET: f64 = 0.25;

/// How many swings below its month's mean the coldest night of a middle winter lies in made years: 2.0 to 2.2 in the
/// climates tried.
const COLDEST_NIGHT_SWINGS: f64 = 2.1;

/// Rounds in which the daily course is bent until its monthly means are those given; each takes
/// away more than half of what is left.
const ROUNDS: usize = 60;

/// A month's normals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthNormals {
    /// Mean of the daily lowest temperatures, °C.
    pub tmin_c: f64,
    /// Mean of the daily highest temperatures, °C.
    pub tmax_c: f64,
    /// Rain of the month, mm, where it is known.
    pub rain_mm: Option<f64>,
}

/// How far days lie from their month's normal: standard deviations, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Of the lowest temperature.
    pub tmin_c: f64,
    /// Of the highest temperature.
    pub tmax_c: f64,
}

impl Swing {
    /// Shipped, of the coldest month of the year: Jeju 1990 to 2023 has 2.8 and 3.6 in January.
    pub const COLDEST: Self = Self {
        tmin_c: 2.8,
        tmax_c: 3.6,
    };
    /// Shipped, of the warmest month: Jeju has 1.8 and 2.6 in August.
    pub const WARMEST: Self = Self {
        tmin_c: 1.8,
        tmax_c: 2.6,
    };
}

/// What is wrong with normals; months count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NormalsError {
    /// A temperature is no month's mean on earth.
    #[error("month {month}: {value} °C must lie between -40 and 55; check the value and its unit")]
    Temperature {
        /// The month.
        month: usize,
        /// The value given.
        value: f64,
    },
    /// The lowest lies above the highest.
    #[error("month {month}: the lowest, {tmin_c} °C, must not be above the highest, {tmax_c} °C")]
    Order {
        /// The month.
        month: usize,
        /// The mean lowest given.
        tmin_c: f64,
        /// The mean highest given.
        tmax_c: f64,
    },
    /// The rain is none.
    #[error("month {month}: {value} mm of rain must lie between 0 and 5000")]
    Rain {
        /// The month.
        month: usize,
        /// The value given.
        value: f64,
    },
    /// The swing of days is out of range.
    #[error("month {month}: a standard deviation of {value} °C must lie between 0 and 10")]
    Swing {
        /// The month.
        month: usize,
        /// The value given.
        value: f64,
    },
}

impl NormalsError {
    /// The month, from 1.
    pub fn month(&self) -> usize {
        match self {
            Self::Temperature { month, .. }
            | Self::Order { month, .. }
            | Self::Rain { month, .. }
            | Self::Swing { month, .. } => *month,
        }
    }
}

/// A site's monthly normals, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Normals {
    months: [MonthNormals; 12],
    swings: [Swing; 12],
}

impl Normals {
    /// Normals from January to December; without swings, those shipped, by how warm the month is.
    /// All that is wrong is told at once.
    pub fn try_new(
        months: [MonthNormals; 12],
        swings: Option<[Swing; 12]>,
    ) -> Result<Self, Vec<NormalsError>> {
        let mut wrong: Vec<NormalsError> = Vec::new();
        for (index, normals) in months.iter().enumerate() {
            wrong.extend(wrong_in(index + 1, normals));
        }
        for (index, swing) in swings.iter().flatten().enumerate() {
            let values = [swing.tmin_c, swing.tmax_c].into_iter();
            wrong.extend(
                values
                    .filter(|value| !(0.0..=10.0).contains(value))
                    .map(|value| NormalsError::Swing {
                        month: index + 1,
                        value,
                    }),
            );
        }
        if wrong.is_empty() {
            let swings = swings.unwrap_or_else(|| usual_swings(&months));
            Ok(Self { months, swings })
        } else {
            Err(wrong)
        }
    }

    /// Normals whose made years have a middle winter's coldest night of about so many °C.
    ///
    /// The night's swing in the coldest month is its mean lowest less that night, divided by 2.1; months between follow by
    /// their warmth, as shipped. Swings are held to 0.5 to 10 °C.
    pub fn try_with_winter_low(
        months: [MonthNormals; 12],
        winter_low_c: f64,
    ) -> Result<Self, Vec<NormalsError>> {
        let plain = Self::try_new(months, None)?;
        let coldest = months
            .iter()
            .map(|month| month.tmin_c)
            .fold(f64::INFINITY, f64::min);
        let swing = (coldest - winter_low_c) / COLDEST_NIGHT_SWINGS;
        if !swing.is_finite() {
            let value = winter_low_c;
            return Err(vec![NormalsError::Temperature { month: 1, value }]);
        }
        let night_c = swing.clamp(0.5, 10.0);
        let by = night_c / Swing::COLDEST.tmin_c;
        let widened = |swing: Swing| {
            // In the warmest month as shipped, in the coldest as asked for.
            let cold = (swing.tmin_c - Swing::WARMEST.tmin_c)
                / (Swing::COLDEST.tmin_c - Swing::WARMEST.tmin_c);
            Swing {
                tmin_c: swing.tmin_c * (1.0 + (by - 1.0) * cold),
                tmax_c: swing.tmax_c,
            }
        };
        Self::try_new(months, Some(plain.swings.map(widened)))
    }

    /// The months, from January.
    pub fn months(&self) -> &[MonthNormals; 12] {
        &self.months
    }

    /// The swings of days about their month, from January.
    pub fn swings(&self) -> &[Swing; 12] {
        &self.swings
    }
}

fn wrong_in(month: usize, normals: &MonthNormals) -> Vec<NormalsError> {
    let MonthNormals {
        tmin_c,
        tmax_c,
        rain_mm,
    } = *normals;
    // NaN lies in no range.
    let mut wrong: Vec<NormalsError> = [tmin_c, tmax_c]
        .into_iter()
        .filter(|value| !(-40.0..=55.0).contains(value))
        .map(|value| NormalsError::Temperature { month, value })
        .collect();
    if tmin_c > tmax_c {
        wrong.push(NormalsError::Order {
            month,
            tmin_c,
            tmax_c,
        });
    }
    if let Some(value) = rain_mm.filter(|rain| !(0.0..=5000.0).contains(rain)) {
        wrong.push(NormalsError::Rain { month, value });
    }
    wrong
}

/// The shipped swings: those of the coldest month to those of the warmest, in proportion.
fn usual_swings(months: &[MonthNormals; 12]) -> [Swing; 12] {
    let mean = |month: &MonthNormals| f64::midpoint(month.tmin_c, month.tmax_c);
    let coldest = months.iter().map(mean).fold(f64::INFINITY, f64::min);
    let warmest = months.iter().map(mean).fold(f64::NEG_INFINITY, f64::max);
    months.map(|month| {
        let warmth = if warmest > coldest {
            (mean(&month) - coldest) / (warmest - coldest)
        } else {
            0.5
        };
        let between = |cold: f64, warm: f64| cold + (warm - cold) * warmth;
        Swing {
            tmin_c: between(Swing::COLDEST.tmin_c, Swing::WARMEST.tmin_c),
            tmax_c: between(Swing::COLDEST.tmax_c, Swing::WARMEST.tmax_c),
        }
    })
}

/// Returns daily weather made from a site's monthly normals.
///
/// A nursery without a weather file can plan from what an almanac says of its place, and replace
/// it by measured days when it has them.
///
/// # Equation
/// With z = (highest, lowest) the day's anomalies in standard deviations and e two standard normal
/// numbers: z(t) = A z(t − 1) + B e, A = M₁ M₀⁻¹, B Bᵀ = M₀ − M₁ M₀⁻¹ M₁ᵀ, where M₀ holds the
/// correlations of one day (0.633 between the two) and M₁ those with the day before ([0.621,
/// 0.445], [0.563, 0.674]). A day is T = course + swing · z, the two temperatures put in order. The
/// course is straight between the middles of the months, its corners moved until its mean over each
/// month is the normal.
///
/// Rain, where it is given: a share f of days is wet, f = rain / (8 mm · days of the month) and at
/// most 0.95; wet follows dry with probability 0.75 f and wet with 0.25 + 0.75 f; a wet day's rain
/// is exponential, its mean such that the month's rain is the normal.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `normals` | °C, mm | 12 months from January | checked by their type |
/// | `first_year` | | the first calendar year made | 1850 to 2199 |
/// | `years` | | how many | 20 is sensible |
/// | `seed` | | any | the same seed makes the same days |
///
/// # Returns
/// Every day of the years, each marked [`Day::is_made`], tmin ≤ tmax, held within −60 to 60 °C;
/// temperatures do not depend on whether rain is given. `None` where no year lies in range.
///
/// # Errors
/// None: normals are a checked type.
///
/// # Assumptions
/// Anomalies are normal, with the same correlations in every month and at every site. Wet and dry
/// days are not told apart in temperature. There is no swing of whole seasons: made years are more
/// alike than real ones, so that odds from them are too sure. Where a month's two normals lie
/// within a few degrees, putting them in order draws them a little apart. Rain of a wet day, 8 mm,
/// is from memory.
///
/// # Source
/// Richardson 1981, Water Resour. Res. 17:182–190; matrices A and B of Richardson & Wright 1984,
/// WGEN (USDA ARS-8), read in other programs that use them, from which M₀ and M₁ follow; here
/// without radiation. Rain: Geng, Penning de Vries & Supit 1986, Agric. For. Meteorol. 36:363–376
/// (from memory). Swings shipped: computed from Jeju, 1990 to 2023.
///
/// # Checked against
/// `tests/models/made_weather.rs`: monthly means, swings and the five correlations come back; the
/// normals of Jeju give its yearly heat, and how much less made years differ is stated there.
///
/// # Examples
/// ```
/// use models::{MonthNormals, Normals, daily_from_normals};
///
/// let month = MonthNormals { tmin_c: 12.0, tmax_c: 22.0, rain_mm: None };
/// let normals = Normals::try_new([month; 12], None).expect("plain normals");
/// let record = daily_from_normals(&normals, 2006, 20, 7).expect("years of our time");
/// assert_eq!(record.days().len(), 7305);
/// assert!(record.days().iter().all(|day| day.is_made && day.tmin <= day.tmax));
/// ```
pub fn daily_from_normals(
    normals: &Normals,
    first_year: i16,
    years: u16,
    seed: u64,
) -> Option<DailyRecord> {
    let lows = course(normals.months.map(|month| month.tmin_c));
    let highs = course(normals.months.map(|month| month.tmax_c));
    // A stream for each quantity, so that rain does not move the temperatures.
    let mut anomalies = Anomalies::new(stream(seed, *b"heat", 0));
    let mut rain = Rain {
        stream: stream(seed, *b"rain", 0),
        was_wet: false,
    };
    let last_year = first_year.saturating_add_unsigned(years.checked_sub(1)?);
    let days = (first_year..=last_year)
        .filter(|year| YEARS.contains(year))
        .flat_map(days_of)
        .map(|date| {
            let month = date.month().unsigned_abs() as usize - 1;
            // 29 February is as the 28th.
            let day = same_day(date, 2023).day_of_year() as usize - 1;
            let swing = normals.swings[month];
            let [high, low] = anomalies.next();
            let held = |value: f64| value.clamp(AIR_C.min, AIR_C.max);
            let extremes = Extremes::new(
                held(lows[day] + swing.tmin_c * low),
                held(highs[day] + swing.tmax_c * high),
            );
            let day = Day {
                tmin: Some(extremes.tmin),
                tmax: Some(extremes.tmax),
                rain_mm: normals.months[month]
                    .rain_mm
                    .map(|normal| rain.next(normal, f64::from(date.days_in_month()))),
                is_made: true,
                ..Day::default()
            };
            (date, day)
        });
    DailyRecord::new(None, days)
}

fn days_of(year: i16) -> impl Iterator<Item = Date> {
    Date::new(year, 1, 1)
        .into_iter()
        .flat_map(|first| first.series(jiff::Span::new().days(1)))
        .take_while(move |date| date.year() == year)
}

/// The two anomalies from day to day.
struct Anomalies {
    stream: ChaCha8Rng,
    carried: [[f64; 2]; 2],
    fresh: [[f64; 2]; 2],
    now: [f64; 2],
}

impl Anomalies {
    fn new(stream: ChaCha8Rng) -> Self {
        let (carried, fresh) = carried_and_fresh();
        let mut anomalies = Self {
            stream,
            carried,
            fresh,
            now: [0.0; 2],
        };
        // The first day is drawn as any other: its anomalies have their correlation from the start.
        let first = lower_root([[1.0, SAME_DAY], [SAME_DAY, 1.0]]);
        anomalies.now = times(first, two_normal(&mut anomalies.stream));
        anomalies
    }

    /// The day's anomalies, highest first, and one day on.
    fn next(&mut self) -> [f64; 2] {
        let today = self.now;
        let (kept, new) = (
            times(self.carried, today),
            times(self.fresh, two_normal(&mut self.stream)),
        );
        self.now = [kept[0] + new[0], kept[1] + new[1]];
        today
    }
}

/// A = M₁ M₀⁻¹ and B, the lower root of M₀ − A M₁ᵀ.
fn carried_and_fresh() -> ([[f64; 2]; 2], [[f64; 2]; 2]) {
    let whole = 1.0 - SAME_DAY * SAME_DAY;
    let carried = DAY_BEFORE.map(|[of_high, of_low]| {
        [
            (of_high - of_low * SAME_DAY) / whole,
            (of_low - of_high * SAME_DAY) / whole,
        ]
    });
    let explained = |row: usize, column: usize| {
        carried[row][0] * DAY_BEFORE[column][0] + carried[row][1] * DAY_BEFORE[column][1]
    };
    let left = [
        [1.0 - explained(0, 0), SAME_DAY - explained(0, 1)],
        [SAME_DAY - explained(1, 0), 1.0 - explained(1, 1)],
    ];
    (carried, lower_root(left))
}

/// The lower matrix whose product with its transpose is the one given.
fn lower_root(of: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let first = sqrt(of[0][0]);
    let below = of[1][0] / first;
    [[first, 0.0], [below, sqrt(of[1][1] - below * below)]]
}

fn times(matrix: [[f64; 2]; 2], with: [f64; 2]) -> [f64; 2] {
    matrix.map(|row| row[0] * with[0] + row[1] * with[1])
}

/// Wet and dry days.
struct Rain {
    stream: ChaCha8Rng,
    was_wet: bool,
}

impl Rain {
    /// The day's rain in a month of so much rain and so many days, mm.
    fn next(&mut self, normal_mm: f64, days: f64) -> f64 {
        let share = (normal_mm / (RAIN_A_WET_DAY_MM * days)).min(MOST_WET);
        let after_dry = (1.0 - WET_AFTER_WET) * share;
        let wet = if self.was_wet {
            WET_AFTER_WET + after_dry
        } else {
            after_dry
        };
        let (falls, amount) = (uniform(&mut self.stream), uniform(&mut self.stream));
        self.was_wet = falls < wet;
        if self.was_wet && share > 0.0 {
            -log(amount) * normal_mm / (share * days)
        } else {
            0.0
        }
    }
}

/// The 365 daily values whose means over the months are those given: straight lines between
/// corners in the middles of the months, the corners moved until the means agree.
fn course(means: [f64; 12]) -> [f64; 365] {
    let mut corners = means;
    for _ in 0..ROUNDS {
        let found = monthly_means(&drawn(&corners));
        for (corner, (mean, found)) in corners.iter_mut().zip(means.iter().zip(found)) {
            *corner += mean - found;
        }
    }
    drawn(&corners)
}

/// Days of the months of a common year.
const LENGTHS: [usize; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

fn drawn(corners: &[f64; 12]) -> [f64; 365] {
    let mut first_day = 0;
    let middles: [f64; 12] = LENGTHS.map(|length| {
        first_day += length;
        first_day as f64 - length as f64 / 2.0
    });
    std::array::from_fn(|day| {
        let noon = day as f64 + 0.5;
        // The months whose middles lie before and after noon, around the turn of the year.
        let after = middles.iter().position(|middle| *middle > noon);
        let (next, next_middle) = after.map_or((0, middles[0] + 365.0), |at| (at, middles[at]));
        let last = (next + 11) % 12;
        let last_middle = if after == Some(0) {
            middles[last] - 365.0
        } else {
            middles[last]
        };
        let share = (noon - last_middle) / (next_middle - last_middle);
        corners[last] + (corners[next] - corners[last]) * share
    })
}

fn monthly_means(days: &[f64; 365]) -> [f64; 12] {
    let mut first_day = 0;
    LENGTHS.map(|length| {
        let month = &days[first_day..first_day + length];
        first_day += length;
        month.iter().sum::<f64>() / length as f64
    })
}

#[cfg(test)]
mod tests {
    use super::{carried_and_fresh, course, monthly_means};

    /// WGEN's matrices with radiation, as used by other programs. Without radiation the first two
    /// rows move by a few hundredths.
    #[test]
    fn the_matrices_are_those_of_wgen_but_for_radiation() {
        let (carried, fresh) = carried_and_fresh();
        let published = (
            [[0.567, 0.086], [0.253, 0.504]],
            [[0.781, 0.0], [0.328, 0.637]],
        );
        for (found, published) in [(carried, published.0), (fresh, published.1)] {
            for (found, published) in found.iter().flatten().zip(published.iter().flatten()) {
                assert!((found - published).abs() < 0.03, "{found} for {published}");
            }
        }
    }

    #[test]
    fn the_course_keeps_the_means_of_the_months() {
        let means = [
            6.0, 6.8, 9.9, 14.4, 18.6, 22.0, 26.3, 27.2, 23.5, 18.7, 13.4, 8.4,
        ];
        for (found, mean) in monthly_means(&course(means)).into_iter().zip(means) {
            // What is left after so many rounds is rounding.
            assert!((found - mean).abs() < 1e-9, "{found} for {mean}");
        }
    }
}
