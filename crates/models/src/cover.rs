//! How much of the ground plants cover, and how much water they use of what grass would.
//!
//! Owns the citrus rows of FAO-56 and the method by ground cover for canopies that are smaller than
//! an orchard's. Does not know the soil or the day.

use crate::range::{OutOfRange, share, within};

/// Coefficient of bare soil that is wetted now and then (FAO-56, Kc min).
pub(crate) const BARE: f64 = 0.15;
/// Multiplier of cover for tree crops: how much more a lone canopy takes up and gives off than
/// what its shadow at noon covers. Allen & Pereira 2009 have 1.5 to 2 for trees, from memory.
const MULTIPLIER: f64 = 2.0;
/// What is left of full use because leaves of citrus close: fitted here by least squares to the
/// nine coefficients without ground cover of [`CITRUS_ROWS`].
const RESISTANCE: f64 = 0.574;
/// What single coefficients of citrus have above basal ones, by the rows without ground cover.
const SOIL_SURFACE: f64 = 0.05;

/// A citrus orchard as FAO-56 has it. Coefficients are those of the initial, mid and end season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CitrusRow {
    /// Share of the ground that canopies cover.
    pub canopy: f64,
    /// Single coefficients Kc (Table 12).
    pub kc: [f64; 3],
    /// Basal coefficients Kcb (Table 17).
    pub kcb: [f64; 3],
    /// Height, m.
    pub height_m: f64,
    /// Least and greatest depth of roots, m (Table 22).
    pub root_depth_m: (f64, f64),
    /// Share of the available water that may be used without harm, at 5 mm a day (Table 22).
    pub fraction: f64,
}

const fn row(
    canopy: f64,
    kc: [f64; 3],
    kcb: [f64; 3],
    height_m: f64,
    root_depth_m: (f64, f64),
) -> CitrusRow {
    CitrusRow {
        canopy,
        kc,
        kcb,
        height_m,
        root_depth_m,
        fraction: 0.5,
    }
}

/// Citrus without ground cover, canopies of 20, 50 and 70 %: FAO-56, Tables 12, 17 and 22, as the
/// tables of pyfao56 1.4.3 (USDA-ARS, public domain) have them.
pub const CITRUS_ROWS: [CitrusRow; 3] = [
    row(0.2, [0.50, 0.45, 0.55], [0.45, 0.40, 0.50], 2.0, (0.8, 1.1)),
    row(0.5, [0.65, 0.60, 0.65], [0.60, 0.55, 0.60], 3.0, (1.1, 1.5)),
    row(0.7, [0.70, 0.65, 0.70], [0.65, 0.60, 0.65], 4.0, (1.2, 1.5)),
];

/// The same with active ground cover or weeds.
pub const CITRUS_ROWS_IN_GRASS: [CitrusRow; 3] = [
    row(0.2, [0.85, 0.85, 0.85], [0.80, 0.80, 0.85], 2.0, (0.8, 1.1)),
    row(0.5, [0.80, 0.80, 0.80], [0.75, 0.75, 0.75], 3.0, (1.1, 1.5)),
    row(0.7, [0.75, 0.70, 0.75], [0.75, 0.70, 0.75], 4.0, (1.2, 1.5)),
];

/// How much of the ground plants cover, and how high.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cover {
    share: f64,
    height_m: f64,
}

impl Cover {
    /// A cover from the share of the ground in the shade at noon (0 to 1) and the height of the
    /// plants (0.02 to 12 m).
    pub fn try_new(ground_share: f64, height_m: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            share: share("share of ground covered", ground_share)?,
            height_m: within("height of the plants", height_m, (0.02, 12.0), " m")?,
        })
    }

    /// Share of the ground in the shade at noon.
    pub fn share(&self) -> f64 {
        self.share
    }

    /// Height of the plants, m.
    pub fn height_m(&self) -> f64 {
        self.height_m
    }

    /// Returns how near to a closed canopy plants come, from nothing to all.
    ///
    /// # Equation
    /// Kd = min(1, ML fc, fc^(1/(1 + h)))
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | fc, h | share, m | constants | checked by their type |
    /// | `multiplier` | ML | | constant | 1 to 2; held there |
    ///
    /// # Returns
    /// 0 to 1; never falls as cover or height rise.
    ///
    /// # Errors
    /// None: a cover is a checked type.
    ///
    /// # Assumptions
    /// The share in the shade at noon stands for the effective cover, which also takes the sun's
    /// height into account.
    ///
    /// # Source
    /// Allen & Pereira 2009, Irrig. Sci. 28:17–34; the equation from memory, the abstract read.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: by hand; monotone; with [`Cover::basal_kc`] the rows of FAO-56.
    ///
    /// # Examples
    /// ```
    /// let young = models::Cover::try_new(0.1, 1.0)?;
    /// assert_eq!(young.density(2.0), 0.2);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn density(&self, multiplier: f64) -> f64 {
        let multiplier = if multiplier.is_finite() {
            multiplier.clamp(1.0, 2.0)
        } else {
            1.0
        };
        let closed = libm::pow(self.share, 1.0 / (1.0 + self.height_m));
        (multiplier * self.share).min(closed).min(1.0)
    }

    /// Returns the coefficient of citrus of this height if it covered all ground.
    ///
    /// # Equation
    /// Kcb full = 0.574 min(1 + 0.1 h, 1.2)
    ///
    /// # Inputs
    /// | name | symbol | unit | shape | valid range |
    /// |---|---|---|---|---|
    /// | `self` | h | m | constant | checked by its type |
    ///
    /// # Returns
    /// mm of use for each mm of reference evapotranspiration, 0.57 to 0.69.
    ///
    /// # Errors
    /// None: a cover is a checked type.
    ///
    /// # Assumptions
    /// Leaves of citrus close by day more than those of most crops; 0.574 is fitted to the
    /// orchards of FAO-56 and taken for young trees too. Calm to moderate wind, no dry heat (see
    /// [`kc_for_climate`]).
    ///
    /// # Source
    /// Allen & Pereira 2009 (form, from memory); resistance fitted to FAO-56, Table 17.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: the fit is made again from the table.
    ///
    /// # Examples
    /// ```
    /// let orchard = models::Cover::try_new(0.7, 4.0)?;
    /// assert!((orchard.full_kcb() - 0.689).abs() < 1e-3);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn full_kcb(&self) -> f64 {
        RESISTANCE * (1.0 + 0.1 * self.height_m).min(1.2)
    }

    /// Returns the basal coefficient of citrus with this cover, bare soil between.
    ///
    /// # Equation
    /// Kcb = Kc min + Kd (Kcb full − Kc min), Kc min = 0.15, ML = 2
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `self` | share, m | constants | checked by their type |
    ///
    /// # Returns
    /// mm on all ground for each mm of reference evapotranspiration.
    ///
    /// # Errors
    /// None: a cover is a checked type.
    ///
    /// # Assumptions
    /// Those of [`Cover::density`] and [`Cover::full_kcb`].
    ///
    /// # Source
    /// Allen & Pereira 2009, from memory.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: canopies of 50 and 70 % within 0.06 of the nine values of FAO-56
    /// without ground cover, those of 20 % up to 0.14 below.
    ///
    /// # Examples
    /// ```
    /// let orchard = models::Cover::try_new(0.7, 4.0)?;
    /// assert!((orchard.basal_kc() - 0.65).abs() < 0.01);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn basal_kc(&self) -> f64 {
        BARE + self.density(MULTIPLIER) * (self.full_kcb() - BARE)
    }

    /// Returns the single coefficient of citrus with this cover: plants and soil surface together.
    ///
    /// # Equation
    /// Kc = Kcb + 0.05
    ///
    /// # Inputs
    /// | name | unit | shape | valid range |
    /// |---|---|---|---|
    /// | `self` | share, m | constants | checked by their type |
    ///
    /// # Returns
    /// mm on all ground for each mm of reference evapotranspiration.
    ///
    /// # Errors
    /// None: a cover is a checked type.
    ///
    /// # Assumptions
    /// The surface is wetted once a week or so and not all over; under daily sprinklers it gives off
    /// more.
    ///
    /// # Source
    /// Difference of FAO-56, Tables 12 and 17, citrus without ground cover.
    ///
    /// # Checked against
    /// `tests/models/water.rs`: the difference in all nine pairs of the table.
    ///
    /// # Examples
    /// ```
    /// let bare = models::Cover::try_new(0.0, 0.5)?;
    /// assert!((bare.single_kc() - 0.2).abs() < 1e-12);
    /// # Ok::<(), models::OutOfRange>(())
    /// ```
    pub fn single_kc(&self) -> f64 {
        self.basal_kc() + SOIL_SURFACE
    }

    /// How much a lone canopy uses on the ground below it above what bare soil would.
    pub(crate) fn lone_canopy_kc(&self) -> f64 {
        MULTIPLIER * (self.full_kcb() - BARE)
    }
}

/// Returns a citrus orchard between those of FAO-56.
///
/// # Equation
/// The straight line between the two rows on each side of the canopy's share; below 20 % and above
/// 70 % the row at that end.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `canopy` | share of the ground | constant | 0 to 1 |
/// | `in_grass` | | whether weeds or grass grow between | |
///
/// # Returns
/// A row.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// An orchard with an undisturbed edge in a subhumid climate; not a block of pots, and not a young
/// tree alone on bare ground, for which see [`Cover::basal_kc`].
///
/// # Source
/// Allen et al. 1998, FAO-56, Tables 12, 17 and 22.
///
/// # Checked against
/// `tests/models/water.rs`: every row of the table; between them, by hand.
///
/// # Examples
/// ```
/// let orchard = models::citrus_row(0.6, false)?;
/// assert!((orchard.kc[1] - 0.625).abs() < 1e-12);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn citrus_row(canopy: f64, in_grass: bool) -> Result<CitrusRow, OutOfRange> {
    let canopy = share("share of ground covered", canopy)?;
    let [small, middle, large] = if in_grass {
        CITRUS_ROWS_IN_GRASS
    } else {
        CITRUS_ROWS
    };
    let canopy = canopy.clamp(small.canopy, large.canopy);
    let (below, above) = if canopy <= middle.canopy {
        (small, middle)
    } else {
        (middle, large)
    };
    let place = (canopy - below.canopy) / (above.canopy - below.canopy);
    let between = |low: f64, high: f64| low + (high - low) * place;
    let stages = |low: [f64; 3], high: [f64; 3]| std::array::from_fn(|i| between(low[i], high[i]));
    Ok(CitrusRow {
        canopy,
        kc: stages(below.kc, above.kc),
        kcb: stages(below.kcb, above.kcb),
        height_m: between(below.height_m, above.height_m),
        root_depth_m: (
            between(below.root_depth_m.0, above.root_depth_m.0),
            between(below.root_depth_m.1, above.root_depth_m.1),
        ),
        fraction: between(below.fraction, above.fraction),
    })
}

/// Returns a mid- or end-season coefficient for a climate that is windier, drier or calmer than the
/// table's.
///
/// # Equation
/// Kc = Kc tab + \[0.04 (u2 − 2) − 0.004 (RHmin − 45)\] (h/3)^0.3 (FAO-56 eq. 62)
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `kc` | Kc tab | | constant | 0 to 1.5; FAO-56 changes only those above 0.45 |
/// | `wind_2m` | u2 | m/s at 2 m | mean of the season | 1 to 6; held there |
/// | `humidity_min` | RHmin | % | mean of the season's lowest | 20 to 80; held there |
/// | `height_m` | h | m | constant | 0.1 to 10; held there |
///
/// # Returns
/// A coefficient, 0 or more.
///
/// # Errors
/// [`OutOfRange`], of values that no climate has.
///
/// # Assumptions
/// Those of FAO-56; made for the middle of a season, not for single days.
///
/// # Source
/// Allen et al. 1998, FAO-56, eq. 62, from memory.
///
/// # Checked against
/// `tests/models/water.rs`: four cases computed independently.
///
/// # Examples
/// ```
/// assert_eq!(models::kc_for_climate(0.65, 2.0, 45.0, 4.0)?, 0.65);
/// # Ok::<(), models::OutOfRange>(())
/// ```
pub fn kc_for_climate(
    kc: f64,
    wind_2m: f64,
    humidity_min: f64,
    height_m: f64,
) -> Result<f64, OutOfRange> {
    let kc = within("crop coefficient", kc, (0.0, 1.5), "")?;
    let wind = within("wind", wind_2m, (0.0, 60.0), " m/s")?.clamp(1.0, 6.0);
    let humidity = within("humidity", humidity_min, (0.0, 100.0), " %")?.clamp(20.0, 80.0);
    let height = within("height of the plants", height_m, (0.0, 40.0), " m")?.clamp(0.1, 10.0);
    let climate = 0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0);
    Ok((kc + climate * libm::pow(height / 3.0, 0.3)).max(0.0))
}
