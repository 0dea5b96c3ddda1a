//! The soil's water, day by day, and when to water next.
//!
//! Owns soils, what a root zone can hold, its balance by FAO-56 and the next watering. Reference
//! evapotranspiration comes in. Does not know pots ([`crate::container`]) or pumps
//! ([`crate::irrigation`]).

use serde::{Deserialize, Serialize};

use crate::cover::Cover;
use crate::irrigation::Application;
use crate::range::{OutOfRange, share, within};

/// Millimeters of a meter.
const METER_MM: f64 = 1000.0;
/// Showers below this share of the day's reference evapotranspiration wet leaves and surface only.
const LOST_SHOWER: f64 = 0.2;
/// Between which the share of the water that may be used is held (FAO-56, Table 22).
const FRACTIONS: (f64, f64) = (0.1, 0.8);
/// How that share changes with a mm of use, and at which use it is the table's.
const FRACTION_SLOPE: (f64, f64) = (0.04, 5.0);
/// More water than falls or is given in a day anywhere, mm.
const MOST_WATER_MM: f64 = 2000.0;

/// A class of soil by its feel (texture).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum SoilClass {
    /// Sand.
    #[serde(rename = "sand")]
    Sand,
    /// Loamy sand.
    #[serde(rename = "loamy sand")]
    LoamySand,
    /// Sandy loam.
    #[serde(rename = "sandy loam")]
    SandyLoam,
    /// Loam.
    #[serde(rename = "loam")]
    Loam,
    /// Silt loam.
    #[serde(rename = "silt loam")]
    SiltLoam,
    /// Silt.
    #[serde(rename = "silt")]
    Silt,
    /// Silty clay loam.
    #[serde(rename = "silty clay loam")]
    SiltyClayLoam,
    /// Silty clay.
    #[serde(rename = "silty clay")]
    SiltyClay,
    /// Clay.
    #[serde(rename = "clay")]
    Clay,
}

/// Soil classes by the words that tables use for them, light to heavy.
pub const SOIL_CLASSES: &[(&str, SoilClass)] = &[
    ("sand", SoilClass::Sand),
    ("loamy sand", SoilClass::LoamySand),
    ("sandy loam", SoilClass::SandyLoam),
    ("loam", SoilClass::Loam),
    ("silt loam", SoilClass::SiltLoam),
    ("silt", SoilClass::Silt),
    ("silty clay loam", SoilClass::SiltyClayLoam),
    ("silty clay", SoilClass::SiltyClay),
    ("clay", SoilClass::Clay),
];

/// Source of the shipped values of soil classes. Status: common practice, since the table was not
/// read.
pub const SOIL_SOURCE: &str = "middle of the ranges of FAO-56, Table 19, from memory";

impl SoilClass {
    /// Water of this class at field capacity and at wilting point, m³/m³: the middle of each range
    /// of FAO-56, Table 19, from memory.
    pub fn soil(self) -> Soil {
        let (field_capacity, wilting_point) = match self {
            Self::Sand => (0.12, 0.045),
            Self::LoamySand => (0.15, 0.065),
            Self::SandyLoam => (0.23, 0.11),
            Self::Loam => (0.25, 0.12),
            Self::SiltLoam => (0.29, 0.15),
            Self::Silt => (0.32, 0.17),
            Self::SiltyClayLoam => (0.335, 0.205),
            Self::SiltyClay => (0.36, 0.23),
            Self::Clay => (0.36, 0.22),
        };
        Soil {
            field_capacity,
            wilting_point,
        }
    }
}

/// A soil by the water it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Soil {
    field_capacity: f64,
    wilting_point: f64,
}

/// Why a soil cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SoilError {
    /// A value is out of range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The soil holds no water for plants.
    #[error(
        "field capacity {field_capacity} must be above wilting point {wilting_point} by 0.02 or \
         more; exchange them if they are the wrong way round"
    )]
    NoWater {
        /// Field capacity, m³/m³.
        field_capacity: f64,
        /// Wilting point, m³/m³.
        wilting_point: f64,
    },
}

impl Soil {
    /// A soil from its water at field capacity and at wilting point, m³/m³.
    pub fn try_new(field_capacity: f64, wilting_point: f64) -> Result<Self, SoilError> {
        let field_capacity = within("field capacity", field_capacity, (0.03, 0.7), " m³/m³")?;
        let wilting_point = within("wilting point", wilting_point, (0.0, 0.5), " m³/m³")?;
        if field_capacity < wilting_point + 0.02 {
            return Err(SoilError::NoWater {
                field_capacity,
                wilting_point,
            });
        }
        Ok(Self {
            field_capacity,
            wilting_point,
        })
    }

    /// Water that plants can take up, m³/m³.
    pub fn available(&self) -> f64 {
        self.field_capacity - self.wilting_point
    }
}

/// What a root zone can hold for its plants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Store {
    total_mm: f64,
    fraction: f64,
}

impl Store {
    /// A store from all its available water (TAW, 0.5 to 2,000 mm) and the share of it that may be
    /// used before plants slow down (p, 0.1 to 0.8).
    pub fn try_new(total_mm: f64, fraction: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            total_mm: within("available water", total_mm, (0.5, MOST_WATER_MM), " mm")?,
            fraction: within("share that may be used", fraction, FRACTIONS, "")?,
        })
    }

    /// Returns what a soil holds for roots that go so deep.
    ///
    /// # Equation
    /// TAW = 1000 (θFC − θWP) Zr (FAO-56 eq. 82)
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `soil` | θFC, θWP | m³/m³ | constants | checked by its type |
    /// | `root_depth_m` | Zr | m | constant | 0.03 to 3 |
    /// | `fraction` | p | share | constant | 0.1 to 0.8; citrus 0.5 |
    ///
    /// # Returns
    /// A store.
    ///
    /// # Errors
    /// [`OutOfRange`].
    ///
    /// # Assumptions
    /// One soil from top to bottom, roots all through it, no water from below.
    ///
    /// # Source
    /// Allen et al. 1998, FAO-56, eq. 82.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: nine soils and crops in the manner of FAO-56's example 36.
    ///
    /// # Examples
    /// ```
    /// use models::water::{SoilClass, Store};
    ///
    /// let rows = Store::of_roots(SoilClass::Loam.soil(), 0.5, 0.5)?;
    /// assert!((rows.total_mm() - 65.0).abs() < 1e-9);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn of_roots(soil: Soil, root_depth_m: f64, fraction: f64) -> Result<Self, OutOfRange> {
        let root_depth_m = within("root depth", root_depth_m, (0.03, 3.0), " m")?;
        Self::try_new(METER_MM * soil.available() * root_depth_m, fraction)
    }

    /// All available water (TAW), mm.
    pub fn total_mm(&self) -> f64 {
        self.total_mm
    }

    /// Share of the available water that may be used before plants slow down (p).
    pub fn fraction(&self) -> f64 {
        self.fraction
    }

    /// Water that may be used before plants slow down (RAW = p TAW, FAO-56 eq. 83), mm.
    pub fn ready_mm(&self) -> f64 {
        self.fraction * self.total_mm
    }

    /// Returns the store on a day of such use: on days of great use plants slow down earlier.
    ///
    /// # Equation
    /// p = p tab + 0.04 (5 − ETc), held from 0.1 to 0.8 (FAO-56, footnote of Table 22)
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | p tab | share | constant | checked by its type |
    /// | `etc_mm` | ETc | mm/d | one day | 0 to 30; held there |
    ///
    /// # Returns
    /// The same store with the share of that day.
    ///
    /// # Errors
    /// None: what is no number counts as the 5 mm of the table.
    ///
    /// # Assumptions
    /// Those of FAO-56.
    ///
    /// # Source
    /// Allen et al. 1998, FAO-56, Table 22, from memory.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: three cases.
    ///
    /// # Examples
    /// ```
    /// let table = models::water::Store::try_new(100.0, 0.5)?;
    /// assert!((table.on_a_day_of(7.0).ready_mm() - 42.0).abs() < 1e-9);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn on_a_day_of(&self, etc_mm: f64) -> Self {
        let (slope, of_table) = FRACTION_SLOPE;
        let etc_mm = if etc_mm.is_nan() {
            of_table
        } else {
            etc_mm.clamp(0.0, 30.0)
        };
        let fraction = self.fraction + slope * (of_table - etc_mm);
        Self {
            fraction: fraction.clamp(FRACTIONS.0, FRACTIONS.1),
            ..*self
        }
    }

    /// Returns which share of their full use plants still use.
    ///
    /// # Equation
    /// Ks = (TAW − Dr)/((1 − p) TAW), held from 0 to 1 (FAO-56 eq. 84)
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | TAW, p | mm, share | constants | checked by their type |
    /// | `depletion_mm` | Dr | mm | what is used up of the store | held to the store |
    ///
    /// # Returns
    /// 0 to 1; 1 as long as depletion is at most RAW.
    ///
    /// # Errors
    /// None.
    ///
    /// # Assumptions
    /// Use falls along a straight line from RAW to wilting.
    ///
    /// # Source
    /// Allen et al. 1998, FAO-56, eq. 84.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: ten days in the manner of FAO-56's example 37.
    ///
    /// # Examples
    /// ```
    /// let store = models::water::Store::try_new(136.0, 0.4)?;
    /// assert!((store.stress(55.0) - 0.9926).abs() < 5e-5);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn stress(&self, depletion_mm: f64) -> f64 {
        let left = self.total_mm - self.held(depletion_mm);
        (left / ((1.0 - self.fraction) * self.total_mm)).min(1.0)
    }

    /// A depletion held to the store; what is no number counts as full.
    fn held(&self, depletion_mm: f64) -> f64 {
        depletion_mm.max(0.0).min(self.total_mm)
    }
}

/// The sky's part in one day's water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterDay {
    et0_mm: f64,
    rain_mm: f64,
    rain_share: f64,
}

impl WaterDay {
    /// A day from its reference evapotranspiration (0 to 25 mm) and rain (0 to 2,000 mm).
    pub fn try_new(et0_mm: f64, rain_mm: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            et0_mm: within("reference evapotranspiration", et0_mm, (0.0, 25.0), " mm")?,
            rain_mm: within("rain", rain_mm, (0.0, MOST_WATER_MM), " mm")?,
            rain_share: 1.0,
        })
    }

    /// The same day where only a share of the rain (0 to 1) comes to the roots, as into pots or under a
    /// cover. Whether a shower is lost goes by all of it.
    pub fn with_rain_share(self, rain_share: f64) -> Result<Self, OutOfRange> {
        let rain_share = share("share of the rain", rain_share)?;
        Ok(Self { rain_share, ..self })
    }

    /// Reference evapotranspiration, mm.
    pub fn et0_mm(&self) -> f64 {
        self.et0_mm
    }

    /// Rain as it was measured, mm.
    pub fn rain_mm(&self) -> f64 {
        self.rain_mm
    }

    /// Returns the rain that counts.
    ///
    /// # Equation
    /// s P where P ≥ 0.2 ET0, else 0; s the share of the rain that comes to the roots
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | P, ET0 | mm | one day | checked by their type |
    ///
    /// # Returns
    /// mm, never above the rain. What the soil cannot hold of it is drainage in [`balance`].
    ///
    /// # Errors
    /// None: a day is a checked type.
    ///
    /// # Assumptions
    /// Small showers wet leaves and surface and are gone by evening. All other rain enters the soil:
    /// what runs off a slope or a crust before the soil is full is not taken off.
    ///
    /// # Source
    /// Allen et al. 1998, FAO-56, ch. 8 (rain below about 0.2 ET0 can be ignored), from memory.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: by hand.
    ///
    /// # Examples
    /// ```
    /// assert_eq!(models::water::WaterDay::try_new(5.0, 0.9)?.rain_that_counts_mm(), 0.0);
    /// assert_eq!(models::water::WaterDay::try_new(5.0, 1.0)?.rain_that_counts_mm(), 1.0);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn rain_that_counts_mm(&self) -> f64 {
        if self.rain_mm < LOST_SHOWER * self.et0_mm {
            0.0
        } else {
            self.rain_mm * self.rain_share
        }
    }
}

/// What comes into a store on a day and what plants would use of it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(clippy::struct_field_names, reason = "a unit goes last in a name")]
pub struct Flows {
    etc_mm: f64,
    rain_mm: f64,
    watered_mm: f64,
}

impl Flows {
    /// A day's full use by plants that want for nothing (0 to 500 mm on the store's area), the rain
    /// that counts and the water given (each 0 to 2,000 mm).
    pub fn try_new(etc_mm: f64, rain_mm: f64, watered_mm: f64) -> Result<Self, OutOfRange> {
        let water = (0.0, MOST_WATER_MM);
        Ok(Self {
            etc_mm: within("use of the plants", etc_mm, (0.0, 500.0), " mm")?,
            rain_mm: within("rain", rain_mm, water, " mm")?,
            watered_mm: within("water given", watered_mm, water, " mm")?,
        })
    }
}

/// A day's balance. Rain that counts + water given = use + drainage − rise of depletion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Share of their full use that plants used (Ks).
    pub stress: f64,
    /// Use of the plants, mm.
    pub use_mm: f64,
    /// What the store could not hold: it drained, or ran off. mm.
    pub drainage_mm: f64,
    /// What is used up of the store at the end of the day (Dr), mm.
    pub depletion_mm: f64,
}

/// Returns a day's balance of a store.
///
/// # Equation
/// Dr = Dr′ − P − I + Ks ETc + DP, held from 0 to TAW (FAO-56 eq. 85), with
/// DP = max(0, P + I − Ks ETc − Dr′) (eq. 88); Ks by max(0, Dr′ − P − I). Use is never more than
/// the store and the day's water hold.
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `store` | TAW, p | mm, share | of the day | checked by its type |
/// | `depletion_mm` | Dr′ | mm | at the end of the day before | held to the store |
/// | `flows` | ETc, P, I | mm | one day | checked by their type |
///
/// # Returns
/// Use, drainage and depletion at the end of the day, mm; none is negative.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// Rain and water come early in the day. What exceeds field capacity is gone by evening; heavy soil
/// holds it a day or two longer. Nothing rises from below.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 84, 85, 88.
///
/// # Checked against
/// `tests/models/water.rs`: ten days in the manner of FAO-56's example 37; `properties`: nothing
/// gained or lost.
///
/// # Examples
/// ```
/// use models::water::{Flows, Store, balance};
///
/// let store = Store::try_new(60.0, 0.5)?;
/// let day = balance(&store, 10.0, &Flows::try_new(4.0, 20.0, 0.0)?);
/// assert_eq!((day.use_mm, day.drainage_mm, day.depletion_mm), (4.0, 6.0, 0.0));
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn balance(store: &Store, depletion_mm: f64, flows: &Flows) -> Balance {
    let before = store.held(depletion_mm);
    let came = flows.rain_mm + flows.watered_mm;
    let stress = store.stress(before - came);
    let use_mm = (stress * flows.etc_mm).min(store.total_mm - before + came);
    let drainage_mm = (came - use_mm - before).max(0.0);
    Balance {
        stress,
        use_mm,
        drainage_mm,
        depletion_mm: store.held(before - came + use_mm + drainage_mm),
    }
}

/// Plants as the soil below them sees them: a store, and how much they draw from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    store: Store,
    draw: f64,
    leaf_kc: Option<f64>,
}

impl Stand {
    /// Plants that draw so many mm from the store's area for each mm of reference
    /// evapotranspiration (0.01 to 20), and whose leaves give off so many mm from their own area
    /// (0.01 to 2; it says on which days they slow down early).
    ///
    /// The two differ where roots hold less ground than leaves shade, as on a newly set tree.
    pub fn try_new(store: Store, draw: f64, leaf_kc: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            store,
            draw: within("draw of the plants", draw, (0.01, 20.0), "")?,
            leaf_kc: Some(within("crop coefficient", leaf_kc, (0.01, 2.0), "")?),
        })
    }

    /// Plants of whose store the same share may be used on every day, as in a pot; `draw` as above.
    pub fn with_fixed_share(store: Store, draw: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            store,
            draw: within("draw of the plants", draw, (0.001, 20.0), "")?,
            leaf_kc: None,
        })
    }

    /// Rows with this cover on a soil, their roots going so deep and all through it; citrus.
    pub fn of_rows(soil: Soil, root_depth_m: f64, cover: &Cover) -> Result<Self, OutOfRange> {
        let kc = cover.single_kc();
        Self::try_new(Store::of_roots(soil, root_depth_m, 0.5)?, kc, kc)
    }

    /// The store at a use of 5 mm a day, or on every day where its share is fixed.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The store of a day.
    pub fn store_on(&self, day: &WaterDay) -> Store {
        self.leaf_kc
            .map_or(self.store, |kc| self.store.on_a_day_of(kc * day.et0_mm))
    }

    /// What plants that want for nothing draw from the store's area on a day, mm.
    pub fn full_use_mm(&self, day: &WaterDay) -> f64 {
        self.draw * day.et0_mm
    }

    /// A day's [`balance`] of these plants, with so much water given.
    pub fn day(
        &self,
        depletion_mm: f64,
        day: &WaterDay,
        watered_mm: f64,
    ) -> Result<Balance, OutOfRange> {
        let watered_mm = within("water given", watered_mm, (0.0, MOST_WATER_MM), " mm")?;
        let flows = self.flows(day, watered_mm);
        Ok(balance(&self.store_on(day), depletion_mm, &flows))
    }

    /// A day's flows; those of a checked stand and day lie in their ranges.
    fn flows(&self, day: &WaterDay, watered_mm: f64) -> Flows {
        Flows {
            etc_mm: self.full_use_mm(day),
            rain_mm: day.rain_that_counts_mm(),
            watered_mm,
        }
    }

    /// Returns for how many days of one kind a full store is enough.
    ///
    /// # Equation
    /// RAW/(k ET0), RAW with the share p of that day
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `self` | mm | | checked by its type |
    /// | `day` | mm | one day, its rain left out | checked by its type |
    ///
    /// # Returns
    /// Days, also fractions of one; `None` on a day without use.
    ///
    /// # Errors
    /// None: arguments are checked types.
    ///
    /// # Assumptions
    /// No rain, and every day like this one.
    ///
    /// # Source
    /// Allen et al. 1998, FAO-56, ch. 8.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: against the day-by-day balance.
    ///
    /// # Examples
    /// ```
    /// use models::water::{Stand, Store, WaterDay};
    ///
    /// let rows = Stand::try_new(Store::try_new(60.0, 0.5)?, 1.0, 1.0)?;
    /// assert_eq!(rows.days_between(&WaterDay::try_new(5.0, 0.0)?), Some(6.0));
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn days_between(&self, day: &WaterDay) -> Option<f64> {
        let use_mm = self.full_use_mm(day);
        (use_mm > 0.0).then(|| self.store_on(day).ready_mm() / use_mm)
    }
}

/// The next watering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watering {
    /// The day of the forecast, its first being 0.
    pub day: usize,
    /// How often on that day; more than once where the store does not last a day.
    pub times: u32,
    /// What brings the store back to field capacity, all times together, mm on the store's area.
    pub net_mm: f64,
    /// The same with losses and leaching, mm on the store's area.
    pub gross_mm: f64,
}

/// Returns when plants are to be watered next and with how much, by a forecast.
///
/// # Equation
/// The first day at whose end Dr would be RAW or more (each after FAO-56 eq. 83 and 85 with the
/// forecast's ET0 and rain, and nothing given). Net: Dr at that day's start, in the morning; where
/// a full store is less than a day's use U, Dr + U less the day's rain, in ⌈U/RAW⌉ portions.
/// Gross: [`Application::gross`].
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `stand` | mm | | checked by its type |
/// | `depletion_mm` | mm | before the first day | held to the store |
/// | `forecast` | mm | days in order | each checked by its type |
/// | `losses` | shares | constants | checked by their type |
///
/// # Returns
/// The watering; `None` where the store lasts through all days of the forecast.
///
/// # Errors
/// None: arguments are checked types.
///
/// # Assumptions
/// The forecast comes true. Ask again each morning, so that promised rain which did not fall is not
/// waited for.
///
/// # Source
/// Allen et al. 1998, FAO-56, ch. 8 (irrigation before or at the moment when Dr reaches RAW).
///
/// # Checked against
/// `tests/models/water.rs`: by hand; newly set trees against common practice.
///
/// # Examples
/// ```
/// use models::Application;
/// use models::water::{Stand, Store, WaterDay, next_watering};
///
/// let rows = Stand::try_new(Store::try_new(60.0, 0.5)?, 1.0, 1.0)?;
/// let days = [WaterDay::try_new(5.0, 0.0)?; 10];
/// let next = next_watering(&rows, 12.0, &days, &Application::try_new(0.8, 0.0)?);
/// let next = next.expect("dry within ten days");
/// // 12, 17, 22, 27 mm used up; the fourth day would come to 32, more than 30.
/// assert_eq!((next.day, next.times, next.net_mm), (3, 1, 27.0));
/// assert!((next.gross_mm - 33.75).abs() < 1e-9);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn next_watering(
    stand: &Stand,
    depletion_mm: f64,
    forecast: &[WaterDay],
    losses: &Application,
) -> Option<Watering> {
    let mut before = stand.store.held(depletion_mm);
    for (index, day) in forecast.iter().enumerate() {
        let store = stand.store_on(day);
        let after = balance(&store, before, &stand.flows(day, 0.0)).depletion_mm;
        if after >= store.ready_mm() {
            return Some(watering(stand, before, (index, day), losses));
        }
        before = after;
    }
    None
}

fn watering(
    stand: &Stand,
    before_mm: f64,
    (index, day): (usize, &WaterDay),
    losses: &Application,
) -> Watering {
    let use_mm = stand.full_use_mm(day);
    let times = (use_mm / stand.store_on(day).ready_mm()).ceil().max(1.0);
    let net_mm = if times > 1.0 {
        (before_mm + use_mm - day.rain_that_counts_mm()).max(0.0)
    } else {
        before_mm
    };
    Watering {
        day: index,
        times: times as u32,
        net_mm,
        gross_mm: losses.gross(net_mm),
    }
}
