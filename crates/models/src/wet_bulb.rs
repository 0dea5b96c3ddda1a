//! The wet bulb: how cold evaporation makes a wet leaf.
//!
//! Owns the wet bulb temperature of air and the air temperature at which the wet bulb is so cold,
//! by which sprinklers against frost are started. Does not know what cold does to plants
//! ([`crate::frost`]).

use crate::air::{Psychrometer, saturation_kpa};
use crate::range::{OutOfRange, within};

/// Air and dew points of the earth's surface, °C.
const AIR_C: (f64, f64) = (-60.0, 60.0);
/// Pressure of the air where plants grow, kPa.
const PRESSURE_KPA: (f64, f64) = (30.0, 110.0);
/// How often the interval of the wet bulb is halved: from 120 °C to less than 10⁻¹² °C.
const HALVINGS: usize = 47;

/// What is wet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum WetBulb {
    /// A well-aired wet surface, with γ = 0.000660 (1 + 0.00115 Tw) P.
    #[default]
    Surface,
    /// The wick of an instrument, with γ = a P.
    Instrument(Psychrometer),
}

impl WetBulb {
    /// The psychrometric constant γ at a wet bulb temperature, kPa/°C.
    fn gamma(self, wet_c: f64, pressure_kpa: f64) -> f64 {
        match self {
            Self::Surface => 0.000_660 * (1.0 + 0.001_15 * wet_c) * pressure_kpa,
            Self::Instrument(psychrometer) => psychrometer.coefficient() * pressure_kpa,
        }
    }
}

/// Why there is no wet bulb.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum WetBulbError {
    /// A value is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The dew point lies above the air.
    #[error(
        "dew point {dew_point_c} °C must not be above the air, {air_c} °C; exchange them if they \
         are the wrong way round"
    )]
    DewAboveAir {
        /// Dew point, °C.
        dew_point_c: f64,
        /// Air, °C.
        air_c: f64,
    },
}

/// Returns the wet bulb temperature of air.
///
/// # Equation
/// e°(Tw) − γ (T − Tw) = e°(Td), solved for Tw by halving between Td and T; γ by [`WetBulb`]
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `air_c` | T | °C | of a moment | −60 to 60 |
/// | `dew_point_c` | Td | °C | of the same moment | −60 to `air_c` |
/// | `pressure_kpa` | P | kPa | constant | 30 to 110; from [`pressure_kpa`](crate::air::pressure_kpa) |
/// | `bulb` | γ | | what is wet | |
///
/// # Returns
/// °C, from the dew point to the air's temperature.
///
/// # Errors
/// [`WetBulbError`].
///
/// # Assumptions
/// Below 0 °C the bulb is supercooled water, not ice; with ice it is a little warmer.
///
/// # Source
/// Snyder & de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10 (γ of a surface,
/// from memory); Allen et al. 1998, FAO-56, eq. 15 and 16.
///
/// # Checked against
/// `tests/models/frost.rs`: 16 cases solved by an independent implementation.
///
/// # Examples
/// ```
/// use models::wet_bulb::{WetBulb, wet_bulb_c};
///
/// let wet = wet_bulb_c(2.0, -2.8822, 101.3, WetBulb::Surface)?;
/// assert!((wet - 0.1514).abs() < 1e-3);
/// # Ok::<(), models::wet_bulb::WetBulbError>(())
/// ```
pub fn wet_bulb_c(
    air_c: f64,
    dew_point_c: f64,
    pressure_kpa: f64,
    bulb: WetBulb,
) -> Result<f64, WetBulbError> {
    let air_c = within("air temperature", air_c, AIR_C, " °C")?;
    let dew_point_c = within("dew point", dew_point_c, AIR_C, " °C")?;
    let pressure_kpa = within("pressure", pressure_kpa, PRESSURE_KPA, " kPa")?;
    if dew_point_c > air_c {
        return Err(WetBulbError::DewAboveAir { dew_point_c, air_c });
    }
    let vapor_kpa = saturation_kpa(dew_point_c);
    let is_too_warm = |wet_c: f64| {
        let gamma = bulb.gamma(wet_c, pressure_kpa);
        saturation_kpa(wet_c) - gamma * (air_c - wet_c) > vapor_kpa
    };
    let (mut low, mut high) = (dew_point_c, air_c);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if is_too_warm(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

/// Returns the air temperature at which a wet surface is so cold.
///
/// # Equation
/// T = Tw + (e°(Tw) − e°(Td))/γ, γ = 0.000660 (1 + 0.00115 Tw) P; T = Tw where Td ≥ Tw
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `wet_bulb_c` | Tw | °C | wanted | −30 to 40 |
/// | `dew_point_c` | Td | °C | of the moment | −60 to 60 |
/// | `pressure_kpa` | P | kPa | constant | 30 to 110 |
///
/// # Returns
/// °C, never below `wet_bulb_c`.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Supercooled water, not ice. Air whose dew point is above Tw has given off dew before it is so
/// cold, so that it is then saturated.
///
/// # Source
/// Snyder & de Melo-Abreu 2005, ch. 7, from memory; its table of starting temperatures was not read.
///
/// # Checked against
/// `tests/models/frost.rs`: 95 pairs of dew point and wet bulb by an independent implementation.
///
/// # Examples
/// ```
/// let air = models::wet_bulb::air_at_wet_bulb_c(-0.5, -4.0, 101.3)?;
/// assert!((air - 1.5154).abs() < 1e-3);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn air_at_wet_bulb_c(
    wet_bulb_c: f64,
    dew_point_c: f64,
    pressure_kpa: f64,
) -> Result<f64, OutOfRange> {
    let wet_c = within("wet bulb temperature", wet_bulb_c, (-30.0, 40.0), " °C")?;
    let dew_point_c = within("dew point", dew_point_c, AIR_C, " °C")?;
    let pressure_kpa = within("pressure", pressure_kpa, PRESSURE_KPA, " kPa")?;
    let gamma = WetBulb::Surface.gamma(wet_c, pressure_kpa);
    let lacking_kpa = saturation_kpa(wet_c) - saturation_kpa(dew_point_c);
    Ok(wet_c + lacking_kpa.max(0.0) / gamma)
}
