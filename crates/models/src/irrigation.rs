//! From the water that plants need to the water that is pumped: losses, leaching, minutes and hours.
//!
//! Owns what happens between a pump and the roots. Does not know how much plants use
//! ([`crate::water`], [`crate::container`]).

use crate::range::{OutOfRange, within};

/// Minutes of an hour.
const HOUR_MIN: f64 = 60.0;
/// Liters of a cubic meter.
const CUBIC_METER_L: f64 = 1000.0;
/// Leaching above which a water is not used on these plants.
const MOST_LEACHING: f64 = 0.6;
/// Salinity of water and soil that somebody may grow plants with, dS/m.
const SALINITY_DS_M: (f64, f64) = (0.0, 20.0);
/// Salinity of the water in a substrate, of that of its saturation extract. FAO-29, from memory.
const DRAIN_OF_EXTRACT: f64 = 2.0;

/// What is lost on the way from the pump to the roots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Application {
    efficiency: f64,
    leaching: f64,
}

impl Application {
    /// Drip, with no leaching: nine parts in ten reach the roots. Common practice, from memory.
    pub const DRIP: Self = Self {
        efficiency: 0.9,
        leaching: 0.0,
    };
    /// Sprinklers over the ground, with no leaching: three parts in four stay on it. Common
    /// practice, from memory.
    pub const SPRINKLER: Self = Self {
        efficiency: 0.75,
        leaching: 0.0,
    };

    /// Losses from the share of pumped water that reaches the ground or pot it is meant for (0.2 to
    /// 1), and the share of that which is to run through and wash salts out (0 to 0.6).
    pub fn try_new(efficiency: f64, leaching: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            efficiency: within("application efficiency", efficiency, (0.2, 1.0), "")?,
            leaching: within("leaching fraction", leaching, (0.0, MOST_LEACHING), "")?,
        })
    }

    /// Share of pumped water that reaches the ground or pot.
    pub fn efficiency(&self) -> f64 {
        self.efficiency
    }

    /// Share of the water that reaches the ground or pot and is to run through.
    pub fn leaching(&self) -> f64 {
        self.leaching
    }

    /// Returns the water to pump for the water that is to stay with the roots.
    ///
    /// # Equation
    /// G = N/((1 − LF) e)
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | e, LF | shares | constants | checked by their type |
    /// | `net` | N | mm or l | an amount | 0 or more; held there |
    ///
    /// # Returns
    /// The unit of `net`; never less than `net`.
    ///
    /// # Errors
    /// None: losses are a checked type.
    ///
    /// # Assumptions
    /// Every plant gets the same; where sprinklers are uneven, the driest corner needs more.
    ///
    /// # Source
    /// Ayers & Westcot 1985, FAO Irrigation and Drainage Paper 29, eq. 7, and the definition of
    /// application efficiency.
    ///
    /// # Checked against
    /// `tests/models/irrigation.rs`: seven applied depths after FAO-29.
    ///
    /// # Examples
    /// ```
    /// let losses = models::Application::try_new(0.8, 0.2)?;
    /// assert!((losses.gross(6.4) - 10.0).abs() < 1e-12);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn gross(&self, net: f64) -> f64 {
        net.max(0.0) / ((1.0 - self.leaching) * self.efficiency)
    }
}

/// Why no leaching can be told.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LeachingError {
    /// A value is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// No sensible leaching keeps the soil so fresh.
    #[error(
        "water of {ecw_ds_m} dS/m is too salty to keep the soil at {ece_ds_m} dS/m; use fresher \
         water, or allow a saltier soil"
    )]
    TooSalty {
        /// Salinity of the water, dS/m.
        ecw_ds_m: f64,
        /// Salinity of the soil asked for, dS/m.
        ece_ds_m: f64,
    },
    /// More drained than was given.
    #[error("{drained_l} l cannot drain from {applied_l} l applied; measure both again")]
    Drained {
        /// Water that drained, l.
        drained_l: f64,
        /// Water given, l.
        applied_l: f64,
    },
}

/// Returns the share of the water that must run through a field soil to keep salts down.
///
/// # Equation
/// LR = ECw/(5 ECe − ECw) (FAO-29 eq. 9)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `ecw_ds_m` | ECw | dS/m | of the water | 0 to 20 |
/// | `ece_ds_m` | ECe | dS/m | of the soil's saturated extract that plants still bear | 0 to 20 |
///
/// # Returns
/// A share from 0 to 0.6.
///
/// # Errors
/// [`LeachingError::OutOfRange`]; [`LeachingError::TooSalty`] where the share would be above 0.6.
///
/// # Assumptions
/// Surface irrigation or sprinklers on field soil that drains; salts at a steady state. Not for
/// pots: see [`container_leaching`].
///
/// # Source
/// Ayers & Westcot 1985, FAO Irrigation and Drainage Paper 29, eq. 9 (Rhoades 1974).
///
/// # Checked against
/// `tests/models/irrigation.rs`: seven cases computed independently.
///
/// # Examples
/// ```
/// assert!((models::leaching_requirement(1.1, 1.7)? - 0.14865).abs() < 1e-5);
/// # Ok::<(), models::LeachingError>(())
/// ```
pub fn leaching_requirement(ecw_ds_m: f64, ece_ds_m: f64) -> Result<f64, LeachingError> {
    let ecw_ds_m = within("salinity of the water", ecw_ds_m, SALINITY_DS_M, " dS/m")?;
    let ece_ds_m = within("salinity of the soil", ece_ds_m, SALINITY_DS_M, " dS/m")?;
    if ecw_ds_m <= 0.0 {
        return Ok(0.0);
    }
    let left = 5.0 * ece_ds_m - ecw_ds_m;
    if left > 0.0 && ecw_ds_m / left <= MOST_LEACHING {
        Ok(ecw_ds_m / left)
    } else {
        Err(LeachingError::TooSalty { ecw_ds_m, ece_ds_m })
    }
}

/// Returns the share of the water given to pots that must run through so that salt does not gather.
///
/// A pot has no depth below it into which salt is carried; its drain is as salty as its substrate.
///
/// # Equation
/// LF = ECw/ECd ([`drain_salinity`]) with ECd = 2 ECe
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `ecw_ds_m` | ECw | dS/m | of water with its feed | 0 to 20 |
/// | `ece_ds_m` | ECe | dS/m | wanted at the roots, of the saturation extract | 0 to 20 |
///
/// # Returns
/// A share from 0 to 0.6.
///
/// # Errors
/// [`LeachingError::OutOfRange`]; [`LeachingError::TooSalty`] where more than 0.6 would have to run
/// through.
///
/// # Assumptions
/// A steady state, as of [`drain_salinity`]. Water in the substrate is twice as salty as its saturation
/// extract.
///
/// # Source
/// Balance of salts; the factor of 2 is that of FAO-29 for soils, from memory.
///
/// # Checked against
/// `tests/models/irrigation.rs`: by hand, and against [`drain_salinity`].
///
/// # Examples
/// ```
/// assert!((models::pot_leaching(0.85, 1.7)? - 0.25).abs() < 1e-12);
/// # Ok::<(), models::LeachingError>(())
/// ```
pub fn pot_leaching(ecw_ds_m: f64, ece_ds_m: f64) -> Result<f64, LeachingError> {
    let ecw_ds_m = within("salinity of the water", ecw_ds_m, SALINITY_DS_M, " dS/m")?;
    let ece_ds_m = within("salinity of the soil", ece_ds_m, SALINITY_DS_M, " dS/m")?;
    let drain = DRAIN_OF_EXTRACT * ece_ds_m;
    if ecw_ds_m <= MOST_LEACHING * drain {
        Ok(if ecw_ds_m > 0.0 {
            ecw_ds_m / drain
        } else {
            0.0
        })
    } else {
        Err(LeachingError::TooSalty { ecw_ds_m, ece_ds_m })
    }
}

/// Returns the share of the water given to pots that ran through, from two measured volumes.
///
/// # Equation
/// LF = drained/applied
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `applied_l` | l | given to one or more pots | above 0 to 1,000 |
/// | `drained_l` | l | caught below them | 0 to `applied_l` |
///
/// # Returns
/// A share from 0 to 1.
///
/// # Errors
/// [`LeachingError::OutOfRange`]; [`LeachingError::Drained`] where more drained than was given.
///
/// # Assumptions
/// Nothing ran past the pots.
///
/// # Source
/// Definition.
///
/// # Checked against
/// `tests/models/irrigation.rs`: three cases.
///
/// # Examples
/// ```
/// assert_eq!(models::container_leaching(2.5, 0.5)?, 0.2);
/// # Ok::<(), models::LeachingError>(())
/// ```
pub fn container_leaching(applied_l: f64, drained_l: f64) -> Result<f64, LeachingError> {
    let applied_l = within("applied water", applied_l, (1e-3, 1000.0), " l")?;
    let drained_l = within("drained water", drained_l, (0.0, 1000.0), " l")?;
    if drained_l > applied_l {
        return Err(LeachingError::Drained {
            drained_l,
            applied_l,
        });
    }
    Ok(drained_l / applied_l)
}

/// Returns the salinity of the water that drains from a pot in the long run.
///
/// What is measured below a pot should come to this; if it is saltier, more feed is given than taken
/// up or less runs through than thought.
///
/// # Equation
/// ECd = ECw/LF
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `ecw_ds_m` | ECw | dS/m | of water with its feed | 0 to 20 |
/// | `leaching` | LF | share | constant | 0.01 to 1 |
///
/// # Returns
/// dS/m.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// A steady state; plants take up water and no salts, which is true of the salts that matter and not
/// of feed.
///
/// # Source
/// Balance of salts; Ayers & Westcot 1985, FAO-29.
///
/// # Checked against
/// `tests/models/irrigation.rs`: three cases.
///
/// # Examples
/// ```
/// assert_eq!(models::drain_salinity(1.5, 0.25)?, 6.0);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn drain_salinity(ecw_ds_m: f64, leaching: f64) -> Result<f64, OutOfRange> {
    let ecw_ds_m = within("salinity of the water", ecw_ds_m, SALINITY_DS_M, " dS/m")?;
    Ok(ecw_ds_m / within("leaching fraction", leaching, (0.01, 1.0), "")?)
}

/// How water is put out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlet(Rate);

#[derive(Debug, Clone, Copy, PartialEq)]
enum Rate {
    LitersPerHourAPlant(f64),
    MillimetersPerHour(f64),
}

impl Outlet {
    /// Emitters that give each plant 0.05 to 500 l/h, all of its emitters together.
    pub fn emitters(l_per_h: f64) -> Result<Self, OutOfRange> {
        within("emitter rate", l_per_h, (0.05, 500.0), " l/h")
            .map(|rate| Self(Rate::LitersPerHourAPlant(rate)))
    }

    /// Sprinklers that give an area 0.2 to 200 mm/h.
    pub fn sprinklers(mm_per_h: f64) -> Result<Self, OutOfRange> {
        within("sprinkler rate", mm_per_h, (0.2, 200.0), " mm/h")
            .map(|rate| Self(Rate::MillimetersPerHour(rate)))
    }

    /// Returns the minutes that the water must run.
    ///
    /// # Equation
    /// Emitters: t = 60 V/q. Sprinklers: t = 60 (V/A)/i.
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | q, i | l/h a plant; mm/h | constant | checked by its type |
    /// | `gross_l` | V | l a plant, losses included | an amount | 0 to 10,000 |
    /// | `area_m2` | A | m² of ground a plant has to itself | constant | 0.0001 to 10,000 |
    ///
    /// # Returns
    /// Minutes, 0 or more.
    ///
    /// # Errors
    /// [`OutOfRange`].
    ///
    /// # Assumptions
    /// The rate is that at the pressure during watering; measure it with a can.
    ///
    /// # Source
    /// Definition of a rate.
    ///
    /// # Checked against
    /// `tests/models/irrigation.rs`: by hand.
    ///
    /// # Examples
    /// ```
    /// let drip = models::Outlet::emitters(4.0)?;
    /// assert_eq!(drip.minutes(1.0, 0.25)?, 15.0);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn minutes(&self, gross_l: f64, area_m2: f64) -> Result<f64, OutOfRange> {
        let gross_l = within("water for a plant", gross_l, (0.0, 10_000.0), " l")?;
        let area_m2 = within("area of a plant", area_m2, (1e-4, 10_000.0), " m²")?;
        let hours = match self.0 {
            Rate::LitersPerHourAPlant(l_per_h) => gross_l / l_per_h,
            Rate::MillimetersPerHour(mm_per_h) => gross_l / area_m2 / mm_per_h,
        };
        Ok(HOUR_MIN * hours)
    }
}

/// Returns the cubic meters that many plants are given together.
///
/// # Equation
/// Q = n V/1000
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `plants` | n | | a count | any |
/// | `gross_l` | V | l a plant, losses included | an amount | 0 to 10,000 |
///
/// # Returns
/// m³; of a nursery, the sum over its places.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Source
/// Definition.
///
/// # Checked against
/// `tests/models/irrigation.rs`: by hand.
///
/// # Examples
/// ```
/// assert_eq!(models::water_m3(20_000, 0.3)?, 6.0);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn water_m3(plants: u32, gross_l: f64) -> Result<f64, OutOfRange> {
    let gross_l = within("water for a plant", gross_l, (0.0, 10_000.0), " l")?;
    Ok(f64::from(plants) * gross_l / CUBIC_METER_L)
}

/// Where a nursery's water comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waterworks {
    pump_m3_per_h: f64,
    tank_m3: Option<f64>,
}

/// What a day's water asks of pump and tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpDay {
    /// Hours that the pump runs.
    pub hours: f64,
    /// How often the tank is emptied, where there is one.
    pub tanks: Option<f64>,
}

impl Waterworks {
    /// A pump of 0.01 to 10,000 m³/h, and a tank or pond of 0.01 to 10,000,000 m³ where there is
    /// one.
    pub fn try_new(pump_m3_per_h: f64, tank_m3: Option<f64>) -> Result<Self, OutOfRange> {
        Ok(Self {
            pump_m3_per_h: within("pump", pump_m3_per_h, (0.01, 10_000.0), " m³/h")?,
            tank_m3: tank_m3
                .map(|volume| within("tank", volume, (0.01, 1e7), " m³"))
                .transpose()?,
        })
    }

    /// Returns what a day's water asks of pump and tank.
    ///
    /// # Equation
    /// hours = Q/pump; tanks = Q/tank
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | | m³/h, m³ | constants | checked by their type |
    /// | `day_m3` | Q | m³ | one day | 0 to 10,000,000 |
    ///
    /// # Returns
    /// Hours, whether they are above 24, and how many fillings of the tank the water is.
    ///
    /// # Errors
    /// [`OutOfRange`].
    ///
    /// # Assumptions
    /// The pump gives the same all day, whatever the level of its well.
    ///
    /// # Source
    /// Definition of a rate.
    ///
    /// # Checked against
    /// `tests/models/irrigation.rs`: by hand.
    ///
    /// # Examples
    /// ```
    /// let well = models::Waterworks::try_new(5.0, Some(20.0))?;
    /// let day = well.day(30.0)?;
    /// assert_eq!((day.hours, day.tanks), (6.0, Some(1.5)));
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn day(&self, day_m3: f64) -> Result<PumpDay, OutOfRange> {
        let day_m3 = within("water of the day", day_m3, (0.0, 1e7), " m³")?;
        let hours = day_m3 / self.pump_m3_per_h;
        Ok(PumpDay {
            hours,
            tanks: self.tank_m3.map(|tank| day_m3 / tank),
        })
    }
}
