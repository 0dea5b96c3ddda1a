//! The lowest temperature of the coming night, learned from the nursery's own nights.
//!
//! Owns nights as they were noted, the two lines fitted to them and what these say of tonight, with
//! how sure it is. There is no rule without own nights: its constants are those of a place.

use crate::range::{OutOfRange, within};

/// Nights from which on a rule stands.
pub const NIGHTS_MIN: usize = 10;
/// Air and dew points that nights are read in, °C.
const NIGHT_C: (f64, f64) = (-30.0, 40.0);
/// Standard normal quantile that leaves one in twenty above it.
const ONE_IN_TWENTY: f64 = 1.644_853_627;

/// One clear calm night.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_field_names, reason = "a unit goes last in a name")]
pub struct Night {
    evening_c: f64,
    dew_point_c: Option<f64>,
    minimum_c: f64,
}

/// Why a night cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NightError {
    /// A value is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// It did not cool down.
    #[error(
        "the lowest temperature {minimum_c} °C must not be above that of the evening, \
         {evening_c} °C; exchange them, or leave the night out: it was not a clear calm one"
    )]
    Warmer {
        /// Lowest, °C.
        minimum_c: f64,
        /// Two hours after sunset, °C.
        evening_c: f64,
    },
    /// The dew point lies above the air.
    #[error(
        "dew point {dew_point_c} °C must not be above the evening's air, {evening_c} °C; check \
         both, or leave the dew point empty"
    )]
    DewAboveAir {
        /// Dew point, °C.
        dew_point_c: f64,
        /// Air, °C.
        evening_c: f64,
    },
}

impl Night {
    /// A night from the air two hours after sunset, its dew point then where it was measured, and
    /// the night's lowest temperature (each −30 to 40 °C), all at the height of the plants.
    pub fn try_new(
        evening_c: f64,
        dew_point_c: Option<f64>,
        minimum_c: f64,
    ) -> Result<Self, NightError> {
        let (evening_c, dew_point_c) = evening(evening_c, dew_point_c)?;
        let minimum_c = within("lowest temperature", minimum_c, NIGHT_C, " °C")?;
        if minimum_c > evening_c {
            return Err(NightError::Warmer {
                minimum_c,
                evening_c,
            });
        }
        Ok(Self {
            evening_c,
            dew_point_c,
            minimum_c,
        })
    }
}

fn evening(evening_c: f64, dew_point_c: Option<f64>) -> Result<(f64, Option<f64>), NightError> {
    let evening_c = within("evening temperature", evening_c, NIGHT_C, " °C")?;
    let dew_point_c = dew_point_c
        .map(|c| within("dew point", c, NIGHT_C, " °C"))
        .transpose()?;
    match dew_point_c.filter(|dew| *dew > evening_c) {
        Some(dew_point_c) => Err(NightError::DewAboveAir {
            dew_point_c,
            evening_c,
        }),
        None => Ok((evening_c, dew_point_c)),
    }
}

/// A straight line fitted by least squares, and what is needed to say how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Rise for each degree.
    pub slope: f64,
    /// Value at 0 °C.
    pub at_zero: f64,
    /// Nights it is fitted to.
    pub nights: usize,
    mean: f64,
    squares: f64,
}

impl Line {
    /// `None` with fewer than [`NIGHTS_MIN`] points, or where all lie at one place.
    fn fitted(points: &[(f64, f64)]) -> Option<Self> {
        if points.len() < NIGHTS_MIN {
            return None;
        }
        let count = points.len() as f64;
        let mean = points.iter().map(|(x, _)| x).sum::<f64>() / count;
        let mean_y = points.iter().map(|(_, y)| y).sum::<f64>() / count;
        let squares: f64 = points.iter().map(|(x, _)| (x - mean) * (x - mean)).sum();
        // Thermometers are read to a tenth: less spread than one such step is none.
        if squares < 0.01 {
            return None;
        }
        let products: f64 = points.iter().map(|(x, y)| (x - mean) * (y - mean_y)).sum();
        let slope = products / squares;
        Some(Self {
            slope,
            at_zero: mean_y - slope * mean,
            nights: points.len(),
            mean,
            squares,
        })
    }

    fn at(&self, x: f64) -> f64 {
        self.at_zero + self.slope * x
    }

    /// How much a place far from the fitted ones adds to the variance.
    fn far(&self, x: f64) -> f64 {
        (x - self.mean) * (x - self.mean) / self.squares
    }
}

/// What a nursery's own nights say of the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NightRule {
    evening: Line,
    evening_error_c: f64,
    dew: Option<(Line, f64)>,
    evenings_c: (f64, f64),
    dew_points_c: (f64, f64),
}

/// Why there is no rule of the nursery's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NightRuleError {
    /// There are too few nights.
    #[error("{found} nights are too few; note {NIGHTS_MIN} clear calm nights or more")]
    TooFew {
        /// Nights given.
        found: usize,
    },
    /// All evenings were alike.
    #[error("all evenings had one temperature; note nights after warmer and colder evenings")]
    OneEvening,
}

/// What is to be expected of a night.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tonight {
    /// Expected lowest temperature, °C.
    pub minimum_c: f64,
    /// One night in twenty is colder, °C.
    pub low_c: f64,
    /// One night in twenty is warmer, °C.
    pub high_c: f64,
    /// Nights that it rests on.
    pub nights: usize,
    /// Whether the dew point was used.
    pub by_dew_point: bool,
    /// Whether the evening is warmer or colder than all that were noted, so that its line is drawn
    /// on beyond them.
    pub is_beyond: bool,
    /// Whether the dew point was used and is higher or lower than all that were noted.
    pub is_dew_point_beyond: bool,
}

impl NightRule {
    /// Returns the rule that a nursery's own clear calm nights give.
    ///
    /// # Equation
    /// Two least-squares lines, one after the other: Tmin = a + b T0 over all nights; then what is
    /// left, R = Tmin − a − b T0 = c + d Td, over the nights with a dew point. With fewer than 10
    /// such nights, or one dew point in all of them, the first line stands alone.
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `nights` | T0, Td, Tmin | °C | one each | 10 or more, checked by their type |
    ///
    /// # Returns
    /// The rule.
    ///
    /// # Errors
    /// [`NightRuleError`].
    ///
    /// # Assumptions
    /// Radiation nights of one season and place: clear sky, wind below 2 m/s, no fog, no change of
    /// air. Others must be left out, for the rule says nothing of them.
    ///
    /// # Source
    /// Snyder & de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10; the order of the
    /// two steps after the documentation of the R package frost (`predFAO`). Ten nights: common
    /// practice, from memory.
    ///
    /// # Checked against
    /// `tests/models/frost.rs`: ten nights, T0 10 and Td 2 °C give −0.740921880 °C (fitted at once,
    /// the two lines would give −1.029).
    ///
    /// # Examples
    /// ```
    /// use models::frost_night::{Night, NightRule};
    ///
    /// let nights: Vec<Night> = (0..12)
    ///     .map(|i| Night::try_new(f64::from(i), None, f64::from(i) / 2.0 - 4.0))
    ///     .collect::<Result<_, _>>()?;
    /// let tonight = NightRule::of(&nights).expect("12 nights").tonight(5.0, None)?;
    /// assert!((tonight.minimum_c + 1.5).abs() < 1e-9);
    /// # Ok::<(), models::frost_night::NightError>(())
    /// ```
    pub fn of(nights: &[Night]) -> Result<Self, NightRuleError> {
        let found = nights.len();
        if found < NIGHTS_MIN {
            return Err(NightRuleError::TooFew { found });
        }
        let by_evening: Vec<_> = nights.iter().map(|n| (n.evening_c, n.minimum_c)).collect();
        let evening = Line::fitted(&by_evening).ok_or(NightRuleError::OneEvening)?;
        let by_dew: Vec<_> = nights
            .iter()
            .filter_map(|n| Some((n.dew_point_c?, n.minimum_c - evening.at(n.evening_c))))
            .collect();
        Ok(Self {
            evening,
            evening_error_c: error(&evening, &by_evening, 2),
            dew: Line::fitted(&by_dew).map(|line| (line, error(&line, &by_dew, 3))),
            evenings_c: span(nights.iter().map(|night| night.evening_c)),
            dew_points_c: span(nights.iter().filter_map(|night| night.dew_point_c)),
        })
    }

    /// The line of the lowest temperature on that of the evening.
    pub fn evening(&self) -> &Line {
        &self.evening
    }

    /// The line of what the first leaves on the dew point, where dew points are known.
    pub fn dew(&self) -> Option<&Line> {
        self.dew.as_ref().map(|(line, _)| line)
    }

    /// Residual standard error of the first line alone, °C.
    pub fn evening_error_c(&self) -> f64 {
        self.evening_error_c
    }

    /// Residual standard error with the dew point, °C, where dew points are known.
    pub fn dew_error_c(&self) -> Option<f64> {
        self.dew.as_ref().map(|(_, error)| *error)
    }

    /// Returns what is to be expected of a night by its evening.
    ///
    /// # Equation
    /// Tmin = a + b T0 (+ c + d Td). Interval: ± t s √(1 + 1/n + (T0 − mean)²/S (+ the same of Td)),
    /// s the residual standard error with n − 2 (n − 3) degrees of freedom, t the 95 % quantile of
    /// Student's distribution by its expansion around the normal one.
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `evening_c` | T0 | °C | two hours after sunset | −30 to 40 |
    /// | `dew_point_c` | Td | °C | at the same time, where measured | −30 to `evening_c` |
    ///
    /// # Returns
    /// The minimum and the interval that nine nights in ten fall into, held to at most the
    /// evening's temperature.
    ///
    /// # Errors
    /// [`NightError`].
    ///
    /// # Assumptions
    /// Tonight is such a night too. The interval of the two steps takes their errors as independent,
    /// which they nearly are. Where the nights noted lie closely together, it says little of others.
    ///
    /// # Source
    /// As [`NightRule::of`]; intervals from least squares; quantile after Abramowitz & Stegun 1964,
    /// 26.7.5, from memory.
    ///
    /// # Checked against
    /// `tests/models/frost.rs`: the case of [`NightRule::of`]; intervals that hold 93 % of made nights,
    /// a little wide where evening and dew point go together.
    ///
    /// # Examples
    /// ```
    /// use models::frost_night::{Night, NightRule};
    ///
    /// let nights: Vec<Night> = (0..12)
    ///     .map(|i| Night::try_new(f64::from(i), None, f64::from(i / 2) - 4.0))
    ///     .collect::<Result<_, _>>()?;
    /// let tonight = NightRule::of(&nights).expect("12 nights").tonight(14.0, None)?;
    /// assert!(tonight.low_c < tonight.minimum_c && tonight.minimum_c < tonight.high_c);
    /// assert!(tonight.is_beyond && !tonight.by_dew_point);
    /// # Ok::<(), models::frost_night::NightError>(())
    /// ```
    pub fn tonight(&self, evening_c: f64, dew_point_c: Option<f64>) -> Result<Tonight, NightError> {
        let (evening_c, dew_point_c) = evening(evening_c, dew_point_c)?;
        let mut minimum_c = self.evening.at(evening_c);
        let mut far = self.evening.far(evening_c);
        let (mut nights, mut error_c, mut freedom) = (
            self.evening.nights,
            self.evening_error_c,
            self.evening.nights - 2,
        );
        let dew = self.dew.as_ref().zip(dew_point_c);
        if let Some(((line, error), dew_point_c)) = dew {
            minimum_c += line.at(dew_point_c);
            far += line.far(dew_point_c);
            (nights, error_c, freedom) = (line.nights, *error, line.nights - 3);
        }
        let width = student_95(freedom) * error_c * (1.0 + 1.0 / nights as f64 + far).sqrt();
        Ok(Tonight {
            minimum_c: minimum_c.min(evening_c),
            low_c: (minimum_c - width).min(evening_c),
            high_c: (minimum_c + width).min(evening_c),
            nights,
            by_dew_point: dew.is_some(),
            is_beyond: is_beyond(evening_c, self.evenings_c),
            is_dew_point_beyond: dew.is_some_and(|(_, dew)| is_beyond(dew, self.dew_points_c)),
        })
    }
}

/// The least and the most of what was noted.
fn span(noted: impl Iterator<Item = f64>) -> (f64, f64) {
    let none = (f64::INFINITY, f64::NEG_INFINITY);
    noted.fold(none, |(least, most), it| (least.min(it), most.max(it)))
}

fn is_beyond(read: f64, (least, most): (f64, f64)) -> bool {
    !(least..=most).contains(&read)
}

/// Residual standard error of a line, so many degrees of freedom being used up.
fn error(line: &Line, points: &[(f64, f64)], used: usize) -> f64 {
    let squares: f64 = points
        .iter()
        .map(|(x, y)| (y - line.at(*x)) * (y - line.at(*x)))
        .sum();
    (squares / points.len().saturating_sub(used).max(1) as f64).sqrt()
}

/// The 95 % quantile of Student's distribution, for 5 degrees of freedom or more within 0.003.
fn student_95(freedom: usize) -> f64 {
    let z = ONE_IN_TWENTY;
    let (z3, z5, z7) = (z * z * z, z * z * z * z * z, z * z * z * z * z * z * z);
    let v = freedom.max(5) as f64;
    z + (z3 + z) / (4.0 * v)
        + (5.0 * z5 + 16.0 * z3 + 3.0 * z) / (96.0 * v * v)
        + (3.0 * z7 + 19.0 * z5 + 17.0 * z3 - 15.0 * z) / (384.0 * v * v * v)
}

#[cfg(test)]
mod tests {
    use super::student_95;

    /// Printed tables have 2.015, 1.895, 1.812, 1.725 and 1.645.
    #[test]
    fn the_quantile_is_that_of_printed_tables() {
        for (freedom, printed) in [(5, 2.015), (7, 1.895), (10, 1.812), (20, 1.725)] {
            assert!((student_95(freedom) - printed).abs() < 3e-3, "{freedom}");
        }
        assert!((student_95(100_000) - 1.645).abs() < 1e-3);
    }
}
