//! The water of pots, plug trays and seedbeds.
//!
//! Owns how much a pot holds and uses, how often and with how much it is watered. Does not know how
//! long a pump runs for it ([`crate::irrigation`]).

use std::f64::consts::PI;

use crate::cover::Cover;
use crate::irrigation::Application;
use crate::range::{OutOfRange, share, within};
use crate::water::{Stand, Store, WaterDay};

/// Liters of a cubic meter.
const CUBIC_METER_L: f64 = 1000.0;
/// Use of a closed block of well-watered pots for each mm of reference evapotranspiration. Common
/// practice, from memory.
const CLOSED_BLOCK_K: f64 = 1.0;
/// How much more a canopy uses that stands free on all sides. Common practice, from memory.
const STANDING_FREE: f64 = 1.2;

/// A substrate by the water it holds for plants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Substrate {
    available: f64,
    fraction: f64,
}

impl Substrate {
    /// A substrate from the share of its volume that is water for plants when it has drained (0.03
    /// to 0.7), and the share of that water that is used before it is given again (0.1 to 0.8).
    pub fn try_new(available: f64, fraction: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            available: within(
                "available water of the substrate",
                available,
                (0.03, 0.7),
                "",
            )?,
            fraction: within("share used before watering", fraction, (0.1, 0.8), "")?,
        })
    }

    /// Share of the volume that is water for plants when it has drained.
    pub fn available(&self) -> f64 {
        self.available
    }

    /// Share of that water that is used before it is given again.
    pub fn fraction(&self) -> f64 {
        self.fraction
    }
}

impl Default for Substrate {
    /// 30 % available water, the middle of the 25 to 35 % of the BMP guide for container nurseries
    /// (Yeager et al. 2007, from memory). 40 % of it is used before watering: common practice is
    /// 20 to 50 %, from memory.
    fn default() -> Self {
        Self {
            available: 0.3,
            fraction: 0.4,
        }
    }
}

/// A pot, a cell of a tray or a square meter of bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pot {
    volume_l: f64,
    top_m2: f64,
    spacing_m2: f64,
    substrate: Substrate,
}

/// Why a pot cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PotError {
    /// A value is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Pots would overlap.
    #[error("a pot with a top of {top_m2} m² does not stand on {spacing_m2} m²; check both areas")]
    TooNarrow {
        /// Area of the pot's top, m².
        top_m2: f64,
        /// Ground for each pot, m².
        spacing_m2: f64,
    },
}

impl Pot {
    /// A pot from the volume of its substrate (0.005 to 5,000 l), the area of its top and the
    /// ground it stands on with its share of the gaps (each 0.0001 to 20 m²).
    pub fn try_new(
        volume_l: f64,
        top_m2: f64,
        spacing_m2: f64,
        substrate: Substrate,
    ) -> Result<Self, PotError> {
        let area = (1e-4, 20.0);
        let volume_l = within("volume of the pot", volume_l, (0.005, 5000.0), " l")?;
        let top_m2 = within("top of the pot", top_m2, area, " m²")?;
        let spacing_m2 = within("ground for each pot", spacing_m2, area, " m²")?;
        // Areas that are told as rounded numbers of pots a square meter may differ in a digit.
        if top_m2 > spacing_m2 * 1.01 {
            return Err(PotError::TooNarrow { top_m2, spacing_m2 });
        }
        Ok(Self {
            volume_l,
            top_m2: top_m2.min(spacing_m2),
            spacing_m2,
            substrate,
        })
    }

    /// A square meter of a seedbed or of a tray without gaps, filled so deep (0.01 to 1 m). Its
    /// liters are those of a square meter, that is, mm.
    pub fn bed(depth_m: f64, substrate: Substrate) -> Result<Self, OutOfRange> {
        let depth_m = within("depth of the bed", depth_m, (0.01, 1.0), " m")?;
        Ok(Self {
            volume_l: depth_m * CUBIC_METER_L,
            top_m2: 1.0,
            spacing_m2: 1.0,
            substrate,
        })
    }

    /// Water for the plant when the pot has drained, l.
    pub fn holds_l(&self) -> f64 {
        self.volume_l * self.substrate.available
    }

    /// Water that is used before watering, l.
    pub fn ready_l(&self) -> f64 {
        self.holds_l() * self.substrate.fraction
    }

    /// Returns the share of the water of sprinklers that falls on pots and not between them.
    ///
    /// # Equation
    /// top of the pot/ground for each pot
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `self` | m² | constants | checked by their type |
    ///
    /// # Returns
    /// Above 0 to 1.
    ///
    /// # Errors
    /// None: a pot is a checked type.
    ///
    /// # Assumptions
    /// Leaves neither lead water into the pot nor out of it. Wide canopies do either.
    ///
    /// # Source
    /// Definition; the practice of BMP guides for container nurseries.
    ///
    /// # Checked against
    /// `tests/models/irrigation.rs`: by hand.
    ///
    /// # Examples
    /// ```
    /// use models::container::{Pot, Substrate};
    ///
    /// let pot = Pot::try_new(5.0, 0.03, 0.06, Substrate::default())?;
    /// assert_eq!(pot.captured(), 0.5);
    /// # Ok::<(), models::container::PotError>(())
    /// ```
    pub fn captured(&self) -> f64 {
        self.top_m2 / self.spacing_m2
    }

    /// Ground for each pot, m².
    pub fn spacing_m2(&self) -> f64 {
        self.spacing_m2
    }

    /// A block of such pots with such canopies as a stand, in mm over the ground: for balances from day
    /// to day. Of rain and water from above, [`captured`](Self::captured) comes into the pots.
    pub fn stand(&self, canopy: &Canopy) -> Result<Stand, OutOfRange> {
        let store = Store::try_new(self.holds_l() / self.spacing_m2, self.substrate.fraction())?;
        Stand::with_fixed_share(store, canopy.k() * canopy.area_m2() / self.spacing_m2)
    }
}

/// The ground below a pot's canopy and how freely it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Canopy {
    area_m2: f64,
    k: f64,
}

impl Canopy {
    /// A canopy from the ground below it (0.00001 to 50 m²) and its use in mm on it for each mm of
    /// reference evapotranspiration (0.1 to 2), as you have weighed it.
    pub fn try_new(area_m2: f64, k: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            area_m2: within("ground below the canopy", area_m2, (1e-5, 50.0), " m²")?,
            k: within("crop coefficient", k, (0.1, 2.0), "")?,
        })
    }

    /// A canopy of this diameter (0.003 to 7.9 m) and height over a pot; never more ground than
    /// the pot has.
    pub fn of_diameter(pot: &Pot, diameter_m: f64, height_m: f64) -> Result<Self, OutOfRange> {
        let diameter_m = within("canopy", diameter_m, (0.004, 7.9), " m")?;
        let covered = PI * diameter_m * diameter_m / 4.0 / pot.spacing_m2;
        Self::of_cover(pot, covered.min(1.0), height_m)
    }

    /// Returns a pot's part of a block whose canopies cover so much of the ground.
    ///
    /// # Equation
    /// A = fc · spacing; K = Kd/fc · 1.0, Kd = min(1, 1.2 fc, fc^(1/(1 + h)))
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `pot` | spacing | m² | constant | checked by its type |
    /// | `covered` | fc | share of the block's ground | constant | 0.001 to 1 |
    /// | `height_m` | h | m | of the plants | 0.02 to 12 |
    ///
    /// # Returns
    /// A canopy; K is 1.2 where plants stand free and 1 where they close.
    ///
    /// # Errors
    /// [`OutOfRange`].
    ///
    /// # Assumptions
    /// Well-watered pots, whose leaves close less than those of orchard trees: an orchard's
    /// coefficient is not used. Edges of a block, black pots in the sun and wind use more. What the
    /// substrate's surface gives off is in K.
    ///
    /// # Source
    /// Form: Allen & Pereira 2009, from memory. 1.0 and 1.2: common practice, from memory.
    ///
    /// # Checked against
    /// `tests/models/irrigation.rs`: by hand; monotone in the cover.
    ///
    /// # Examples
    /// ```
    /// use models::container::{Canopy, Pot, Substrate};
    ///
    /// let pot = Pot::try_new(5.0, 0.03, 0.05, Substrate::default())?;
    /// assert_eq!(Canopy::of_cover(&pot, 1.0, 0.6)?.k(), 1.0);
    /// assert_eq!(Canopy::of_cover(&pot, 0.5, 0.6)?.k(), 1.2);
    /// # Ok::<(), models::container::PotError>(())
    /// ```
    pub fn of_cover(pot: &Pot, covered: f64, height_m: f64) -> Result<Self, OutOfRange> {
        let covered = share("share of ground covered", covered)?;
        let covered = within("share of ground covered", covered, (0.001, 1.0), "")?;
        let density = Cover::try_new(covered, height_m)?.density(STANDING_FREE);
        Self::try_new(covered * pot.spacing_m2, CLOSED_BLOCK_K * density / covered)
    }

    /// Ground below the canopy, m².
    pub fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// Use in mm on that ground for each mm of reference evapotranspiration.
    pub fn k(&self) -> f64 {
        self.k
    }

    /// Returns the water that a plant uses on a day.
    ///
    /// # Equation
    /// V = ET0 · K · A (mm · m² = l)
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | A, K | m² | constants | checked by their type |
    /// | `day` | ET0 | mm | one day | checked by its type |
    ///
    /// # Returns
    /// Liters a plant, 0 or more.
    ///
    /// # Errors
    /// None: arguments are checked types.
    ///
    /// # Assumptions
    /// The plant wants for nothing. Under shade or in a house, reference evapotranspiration is that
    /// of the place, not that of the open ground.
    ///
    /// # Source
    /// Definition.
    ///
    /// # Checked against
    /// `tests/models/irrigation.rs`: four days computed independently.
    ///
    /// # Examples
    /// ```
    /// let day = models::water::WaterDay::try_new(5.0, 0.0)?;
    /// assert_eq!(models::container::Canopy::try_new(0.04, 1.0)?.use_l(&day), 0.2);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn use_l(&self, day: &WaterDay) -> f64 {
        day.et0_mm() * self.k * self.area_m2
    }
}

/// How water gets to pots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Delivery {
    /// Into each pot.
    Drip,
    /// From above over the whole block: what falls between pots is lost.
    Overhead,
}

/// A day's water of one pot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PotWater {
    /// Use of the plant, l a day.
    pub use_l: f64,
    /// Use less the rain that fell into the pot, l a day.
    pub need_l: f64,
    /// Days between two waterings without rain, below 1 where they are several a day; `None`
    /// without use.
    pub days_between: Option<f64>,
    /// Waterings that a dry day asks for, 0 without use.
    pub times_a_day: f64,
    /// Water to stay in the pot at each watering, l.
    pub net_l: f64,
    /// Water to pump for each watering of this pot, with leaching and all losses, l.
    pub gross_l: f64,
    /// Water to pump for this pot this day, l.
    pub gross_l_a_day: f64,
}

/// Returns a day's water of one pot: how much, how often, how much at once.
///
/// # Equation
/// need = max(0, V − P · top), V after [`Canopy::use_l`], P the rain that counts; days between =
/// R/V, R = volume · available share · share used before watering; each watering R, pumped
/// R/((1 − LF) e c), c = top/spacing under sprinklers, else 1; a day need/((1 − LF) e c).
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `pot`, `canopy` | l, m² | constants | checked by their types |
/// | `day` | mm | one day | checked by its type |
/// | `delivery`, `losses` | shares | constants | checked by their types |
///
/// # Returns
/// Liters of one pot; of a [`Pot::bed`], of a square meter.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// Rain counts on the pot's own top only, and only as much as the plant uses that day. A pot that
/// has shrunk from its wall lets water run past.
///
/// # Source
/// Definitions; leaching after FAO-29, eq. 7.
///
/// # Checked against
/// `tests/models/irrigation.rs`: by hand; `properties`: never negative, monotone.
///
/// # Examples
/// ```
/// use models::Application;
/// use models::container::{Canopy, Delivery, Pot, Substrate, pot_water};
/// use models::water::WaterDay;
///
/// let pot = Pot::try_new(3.0, 0.02, 0.05, Substrate::try_new(0.25, 0.4)?)?;
/// let canopy = Canopy::try_new(0.04, 1.0)?;
/// let losses = Application::try_new(0.75, 0.2)?;
/// let day = pot_water(&pot, &canopy, &WaterDay::try_new(5.0, 0.0)?, Delivery::Overhead, &losses);
/// assert_eq!(day.days_between.map(f64::round), Some(2.0));
/// assert!((day.net_l - 0.3).abs() < 1e-12 && (day.gross_l - 1.25).abs() < 1e-12);
/// # Ok::<(), models::container::PotError>(())
/// ```
pub fn pot_water(
    pot: &Pot,
    canopy: &Canopy,
    day: &WaterDay,
    delivery: Delivery,
    losses: &Application,
) -> PotWater {
    let use_l = canopy.use_l(day);
    let need_l = (use_l - day.rain_that_counts_mm() * pot.top_m2).max(0.0);
    let net_l = pot.ready_l();
    let captured = match delivery {
        Delivery::Drip => 1.0,
        Delivery::Overhead => pot.captured(),
    };
    PotWater {
        use_l,
        need_l,
        days_between: (use_l > 0.0).then(|| net_l / use_l),
        times_a_day: use_l / net_l,
        net_l,
        gross_l: losses.gross(net_l) / captured,
        gross_l_a_day: losses.gross(need_l) / captured,
    }
}
