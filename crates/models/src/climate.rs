//! What a house, a bench or a shade makes of the open air.
//!
//! Reads a day's lowest and highest temperature outside and gives those inside. Does not model
//! glass, heaters or humidity: a climate is what a grower can tell of a place from its
//! thermometer.

use serde::{Deserialize, Serialize};

use crate::fill::Extremes;

/// A growing climate as its difference from the open ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawClimate", into = "RawClimate")]
#[expect(clippy::struct_field_names, reason = "a unit goes last in a name")]
pub struct Climate {
    warmer_c: f64,
    set_point_c: Option<f64>,
    vent_c: Option<f64>,
}

/// Why a climate cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ClimateError {
    /// The offset is out of range.
    #[error("warmer_c {0} must lie between -20 and 30 °C; check the value and its unit")]
    Warmer(f64),
    /// The heater's set point is out of range.
    #[error("set_point_c {0} must lie between -10 and 40 °C; check the value and its unit")]
    SetPoint(f64),
    /// The vents' temperature is out of range.
    #[error("vent_c {0} must lie between 5 and 60 °C; check the value and its unit")]
    Vent(f64),
    /// Heater and vents would work against each other.
    #[error(
        "set_point_c {set_point_c} must be below vent_c {vent_c}; lower the set point or open \
         the vents later"
    )]
    HeatedIntoVents {
        /// Set point, °C.
        set_point_c: f64,
        /// Vent temperature, °C.
        vent_c: f64,
    },
}

impl Climate {
    /// The open ground.
    pub const OPEN_GROUND: Self = Self {
        warmer_c: 0.0,
        set_point_c: None,
        vent_c: None,
    };

    /// A climate that is warmer than the open ground by a number of degrees, heated to a set point
    /// and vented at a temperature.
    pub fn try_new(
        warmer_c: f64,
        set_point_c: Option<f64>,
        vent_c: Option<f64>,
    ) -> Result<Self, ClimateError> {
        if !(-20.0..=30.0).contains(&warmer_c) {
            return Err(ClimateError::Warmer(warmer_c));
        }
        if let Some(set_point) = set_point_c.filter(|c| !(-10.0..=40.0).contains(c)) {
            return Err(ClimateError::SetPoint(set_point));
        }
        if let Some(vent) = vent_c.filter(|c| !(5.0..=60.0).contains(c)) {
            return Err(ClimateError::Vent(vent));
        }
        match (set_point_c, vent_c) {
            (Some(set_point_c), Some(vent_c)) if set_point_c >= vent_c => {
                Err(ClimateError::HeatedIntoVents {
                    set_point_c,
                    vent_c,
                })
            }
            _ => Ok(Self {
                warmer_c,
                set_point_c,
                vent_c,
            }),
        }
    }

    /// Degrees warmer than the open ground before heater and vents, °C; negative under shade.
    pub fn warmer_c(&self) -> f64 {
        self.warmer_c
    }

    /// The heater's set point, °C.
    pub fn set_point_c(&self) -> Option<f64> {
        self.set_point_c
    }

    /// The temperature at which the vents open, °C.
    pub fn vent_c(&self) -> Option<f64> {
        self.vent_c
    }

    /// Returns a day's temperatures inside, given those outside.
    ///
    /// Lots in different places age at different speeds under one sky; this is the difference.
    ///
    /// # Equation
    /// For both extremes T: T′ = T + `warmer_c`; vented: T″ = min(T′, max(`vent_c`, T)); heated:
    /// T‴ = max(T″, `set_point_c`).
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `outside` | T | °C | lowest and highest of one local civil day | tmin ≤ tmax |
    ///
    /// # Returns
    /// Lowest and highest inside, °C, lowest not above highest.
    ///
    /// # Errors
    /// None: the climate is a checked type.
    ///
    /// # Assumptions
    /// The offset is one for day and night and all seasons; an unheated house is in truth much
    /// warmer by day than by night. Heater and vents are strong enough for any weather. Vents do
    /// not cool below the outside; pads and fogs would. To be replaced by a place's own record
    /// where there is one.
    ///
    /// # Source
    /// Own rule, from common practice; the figures are the grower's.
    ///
    /// # Checked against
    /// `tests/models/properties.rs`: order kept, never colder than the open ground where
    /// `warmer_c` is 0 or more, never below the set point, above the vents only where the outside
    /// is.
    ///
    /// # Examples
    /// ```
    /// use models::{Climate, Extremes};
    ///
    /// let house = Climate::try_new(4.0, Some(10.0), Some(30.0))?;
    /// assert_eq!(house.apply(Extremes::new(2.0, 29.0)), Extremes::new(10.0, 30.0));
    /// # Ok::<(), models::ClimateError>(())
    /// ```
    pub fn apply(&self, outside: Extremes) -> Extremes {
        Extremes {
            tmin: self.inside(outside.tmin),
            tmax: self.inside(outside.tmax),
        }
    }

    fn inside(&self, outside: f64) -> f64 {
        let unaided = outside + self.warmer_c;
        let vented = self
            .vent_c
            .map_or(unaided, |vent| unaided.min(vent.max(outside)));
        self.set_point_c
            .map_or(vented, |set_point| vented.max(set_point))
    }
}

impl Default for Climate {
    fn default() -> Self {
        Self::OPEN_GROUND
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(clippy::struct_field_names, reason = "a unit goes last in a name")]
struct RawClimate {
    #[serde(default)]
    warmer_c: f64,
    #[serde(default)]
    set_point_c: Option<f64>,
    #[serde(default)]
    vent_c: Option<f64>,
}

impl TryFrom<RawClimate> for Climate {
    type Error = ClimateError;

    fn try_from(raw: RawClimate) -> Result<Self, ClimateError> {
        Self::try_new(raw.warmer_c, raw.set_point_c, raw.vent_c)
    }
}

impl From<Climate> for RawClimate {
    fn from(climate: Climate) -> Self {
        let Climate {
            warmer_c,
            set_point_c,
            vent_c,
        } = climate;
        Self {
            warmer_c,
            set_point_c,
            vent_c,
        }
    }
}
