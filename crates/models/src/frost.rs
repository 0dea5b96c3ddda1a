//! What cold and heat do to plants of a nursery, and when sprinklers are to run.
//!
//! Owns limits of tissues, the share of plants lost beyond them and the temperatures by which
//! sprinklers are started and stopped. Does not forecast a night ([`crate::frost_night`]) or count
//! frosts of past years ([`crate::frost_odds`]).
//!
//! Limits of fruit, which handbooks print (oranges −1.4 to −2.8 °C), are left out on purpose: they
//! are temperatures inside a fruit, which lags behind the air and is full of sugar. A nursery has
//! buds, flush, roots and seedlings, and these die at others.

use serde::{Deserialize, Serialize};

use crate::range::{OutOfRange, within};
use crate::wet_bulb::air_at_wet_bulb_c;

/// ln 2, so that half of the plants are lost at the half-loss depth.
const LN_2: f64 = std::f64::consts::LN_2;
/// Degrees below its frost limit at which half of the plants are lost; common practice, from memory.
const FROST_HALF_C: f64 = 2.0;
/// Degrees above its heat limit at which half of the plants are lost; common practice, from memory.
const HEAT_HALF_C: f64 = 5.0;

/// Source of all shipped limits and half-loss depths. Status: common practice.
pub const LIMITS_SOURCE: &str =
    "from memory: soft flush fails at about -1 to -2 °C, hardened wood at -4 to -9 °C";

/// How cold-hardy a rootstock is, in the words of its trait `cold`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hardiness {
    /// As trifoliate orange.
    Best,
    /// As the hybrids of trifoliate orange and as mandarins.
    Good,
    /// As sweet orange.
    Fair,
    /// As rough lemon.
    Poor,
    /// As citron and limes.
    Worst,
}

/// Hardiness by the words of traits, hardiest first.
pub const HARDINESS: &[(&str, Hardiness)] = &[
    ("best", Hardiness::Best),
    ("good", Hardiness::Good),
    ("fair", Hardiness::Fair),
    ("poor", Hardiness::Poor),
    ("worst", Hardiness::Worst),
];

/// What of a plant is exposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tissue {
    /// A bud under its wrap, its union not yet grown.
    WrappedBud,
    /// Soft flush. What is lost of it is growth, not the plant.
    SoftFlush,
    /// Wood that has hardened off.
    HardenedWood(Hardiness),
    /// Roots in a pot; its limit is the temperature of the substrate at the wall, which follows
    /// the air by some hours.
    PotRoots,
    /// A seedling in a tray or bed.
    Seedling,
}

impl Tissue {
    /// Shipped limit of cold, °C; see [`LIMITS_SOURCE`]. Wrapped bud −3: its callus is tender, but
    /// the wrap and the stock's wood give a little. Hardened wood −9, −7.5, −6, −5 and −4 from best
    /// to worst. Pot roots −4: roots harden less than tops. Seedling −1.5, as soft flush.
    pub fn frost_limit_c(self) -> f64 {
        match self {
            Self::WrappedBud => -3.0,
            Self::SoftFlush | Self::Seedling => -1.5,
            Self::HardenedWood(Hardiness::Best) => -9.0,
            Self::HardenedWood(Hardiness::Good) => -7.5,
            Self::HardenedWood(Hardiness::Fair) => -6.0,
            Self::HardenedWood(Hardiness::Poor) => -5.0,
            Self::HardenedWood(Hardiness::Worst) | Self::PotRoots => -4.0,
        }
    }

    /// Shipped limit of heat, °C, where there is one; from memory. Wrapped bud 38: unions grow poorly
    /// above 35 to 38 °C. Seedling 42, in the air above the bed.
    pub fn heat_limit_c(self) -> Option<f64> {
        match self {
            Self::WrappedBud => Some(38.0),
            Self::Seedling => Some(42.0),
            Self::SoftFlush | Self::HardenedWood(_) | Self::PotRoots => None,
        }
    }

    /// Shipped hazard of a cold night.
    pub fn frost_hazard(self) -> Hazard {
        Hazard {
            side: Side::Below,
            limit_c: self.frost_limit_c(),
            half_c: FROST_HALF_C,
        }
    }

    /// Shipped hazard of a hot day, where there is one.
    pub fn heat_hazard(self) -> Option<Hazard> {
        self.heat_limit_c().map(|limit_c| Hazard {
            side: Side::Above,
            limit_c,
            half_c: HEAT_HALF_C,
        })
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Below,
    Above,
}

/// Which share of plants an extreme temperature kills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hazard {
    side: Side,
    limit_c: f64,
    half_c: f64,
}

impl Hazard {
    /// A hazard of frost: nothing is lost down to `limit_c` (−30 to 10 °C), half of the plants
    /// `half_c` degrees below it (0.2 to 15 °C).
    pub fn frost(limit_c: f64, half_c: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            side: Side::Below,
            limit_c: within("frost limit", limit_c, (-30.0, 10.0), " °C")?,
            half_c: half(half_c)?,
        })
    }

    /// A hazard of heat: nothing is lost up to `limit_c` (25 to 60 °C), half of the plants `half_c`
    /// degrees above it (0.2 to 15 °C).
    pub fn heat(limit_c: f64, half_c: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            side: Side::Above,
            limit_c: within("heat limit", limit_c, (25.0, 60.0), " °C")?,
            half_c: half(half_c)?,
        })
    }

    /// The temperature beyond which plants are lost, °C.
    pub fn limit_c(&self) -> f64 {
        self.limit_c
    }

    /// Degrees beyond the limit at which half of the plants are lost.
    pub fn half_c(&self) -> f64 {
        self.half_c
    }

    /// Returns the share of plants that a night's minimum, or a day's maximum, kills.
    ///
    /// # Equation
    /// 1 − 2^(−(d/h)²), d = limit − minimum (of heat: maximum − limit); 0 where d ≤ 0
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | limit, h | °C | constants | checked by their type |
    /// | `extreme_c` | minimum or maximum | °C | of the air at the plants | any |
    ///
    /// # Returns
    /// 0 to 1, smooth; never falls as it gets colder (of heat, hotter). 0 for what is no number.
    ///
    /// # Errors
    /// None: a hazard is a checked type.
    ///
    /// # Assumptions
    /// The extreme alone counts: how long it lasts matters too, less than its depth, and is not
    /// known from daily weather. Plants that were cold for weeks bear more, plants in flush less.
    /// Several nights count each by itself. A station in a screen at 1.5 m is warmer than the bed on
    /// a clear night, often by 1 to 3 °C.
    ///
    /// # Source
    /// Own rule; its shipped values are common practice, from memory. No published curve of losses
    /// of nursery plants was found.
    ///
    /// # Checked against
    /// `tests/models/frost.rs`: by hand; monotone; 0 at the limit.
    ///
    /// # Examples
    /// ```
    /// use models::frost::Hazard;
    ///
    /// let flush = Hazard::frost(-1.5, 2.0)?;
    /// assert_eq!(flush.share_lost(-1.0), 0.0);
    /// assert!((flush.share_lost(-3.5) - 0.5).abs() < 1e-12);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn share_lost(&self, extreme_c: f64) -> f64 {
        let beyond = match self.side {
            Side::Below => self.limit_c - extreme_c,
            Side::Above => extreme_c - self.limit_c,
        };
        // No number at all harms nobody either.
        if beyond.is_nan() || beyond <= 0.0 {
            return 0.0;
        }
        let depth = beyond / self.half_c;
        -libm::expm1(-LN_2 * depth * depth)
    }
}

fn half(half_c: f64) -> Result<f64, OutOfRange> {
    within("degrees to half loss", half_c, (0.2, 15.0), " °C")
}

/// Air temperatures by which sprinklers over plants are started and stopped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sprinkling {
    /// Start at the latest when the falling air comes to this, °C.
    pub start_c: f64,
    /// Stop at the earliest when the rising air has passed this, °C, with the sun on the plants
    /// and the ice melting by itself.
    pub stop_above_c: f64,
}

/// Returns at which air temperature sprinklers are started and stopped.
///
/// Sprinklers cool plants by evaporation before they warm them by freezing: the drier the air, the
/// earlier they must run.
///
/// # Equation
/// Both are the air temperature whose wet bulb is the critical one at this dew point
/// ([`air_at_wet_bulb_c`]).
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `critical_c` | °C | what the plants bear, as [`Tissue::frost_limit_c`] | −10 to 5 |
/// | `dew_point_c` | °C | of the evening to start, of the moment to stop | −60 to 60 |
/// | `pressure_kpa` | kPa | constant | 30 to 110 |
///
/// # Returns
/// Two temperatures of the air, which are the same.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Radiation frost with little wind; sprinklers that wet every plant at least once a minute and give
/// enough water all night. **Stopping early, or water that fails, does more harm than no
/// sprinkling**: wet plants cool to the wet bulb, below the air. Reaching the temperature to stop is
/// not enough: the sun must be on the plants and the ice melting. Ask again when the dew point has
/// changed.
///
/// # Source
/// Snyder & de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10, ch. 7, from memory.
///
/// # Checked against
/// `tests/models/frost.rs`: 95 pairs of dew point and critical temperature by an independent
/// implementation.
///
/// # Examples
/// ```
/// let dry = models::frost::sprinkling(-1.5, -8.0, 101.3)?;
/// assert!((dry.start_c - 1.69).abs() < 0.01);
/// assert_eq!(dry.start_c, dry.stop_above_c);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn sprinkling(
    critical_c: f64,
    dew_point_c: f64,
    pressure_kpa: f64,
) -> Result<Sprinkling, OutOfRange> {
    let critical_c = within("critical temperature", critical_c, (-10.0, 5.0), " °C")?;
    let air_c = air_at_wet_bulb_c(critical_c, dew_point_c, pressure_kpa)?;
    Ok(Sprinkling {
        start_c: air_c,
        stop_above_c: air_c,
    })
}
