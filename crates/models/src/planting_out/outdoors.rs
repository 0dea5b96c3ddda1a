//! Whether a tree can live in the open at a place.

use super::site_year::SiteYear;
use crate::frost::{Hardiness, Tissue};
use crate::interval::wilson;

/// What a rootstock adds to a scion's hardiness by class, best first, °C; negative is hardier. From memory.
const STOCK_SHIFT_C: [f64; 5] = [-1.0, -0.5, 0.0, 0.5, 1.0];
/// By how much the wood of a tree in its first two winters is more tender, °C; from memory.
pub const YOUNG_WOOD_C: f64 = 2.0;
/// What a wrap and a cover gain on a clear calm night, °C; from memory.
pub const COVER_GAIN_C: f64 = 3.0;
/// Winters in which a tree may be lost before a place is called unfit: one in twenty. Own rule.
const LOST_WINTERS: f64 = 0.05;
/// Weeks of growth below which a tree does not make up for what winter takes. Own rule.
const LEAST_GROWING_WEEKS: usize = 16;
/// Degree-days above 12.8 °C in a year below which sweet fruit does not ripen. From memory.
pub const RIPENING_HEAT: f64 = 1000.0;

/// Whether a tree can live in the open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// It can, as it is.
    Open,
    /// It can where it is wrapped and covered on cold nights.
    Covered,
    /// It cannot: winters kill it.
    TooCold,
    /// It cannot: too few weeks are warm enough to grow in.
    TooCool,
}

impl Standing {
    /// Whether it can stay outdoors all year.
    pub fn is_outdoors(self) -> bool {
        matches!(self, Self::Open | Self::Covered)
    }
}

/// What winters of a place do to a kind of tree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WinterOdds {
    /// Temperature below which hardened wood is lost, °C.
    pub limit_c: f64,
    /// Share of winters that go below it.
    pub lost: f64,
    /// Lower end of the interval that holds the true share nine times in ten.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Share of winters that go below the limit of a young tree.
    pub young_lost: f64,
    /// Share of winters that kill soft flush.
    pub flush_lost: f64,
    /// Winters counted.
    pub winters: usize,
    /// The lowest night of the middle winter, °C; none without winters.
    pub usual_low_c: Option<f64>,
    /// Whether it can live there.
    pub standing: Standing,
    /// Whether sweet fruit has the heat to ripen.
    pub ripens: bool,
}

/// Returns the temperature below which the hardened wood of a tree is lost.
///
/// # Equation
/// The scion's limit, moved by −1, −0.5, 0, 0.5 or 1 °C by the rootstock's class from best to worst, held within
/// −9 to −4 °C.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `scion` | class | constant | any |
/// | `stock` | class | constant | none where nothing is known |
///
/// # Returns
/// °C.
///
/// # Assumptions
/// Wood that has hardened off. In a mild autumn it has not, and is lost at the limit of soft flush.
///
/// # Source
/// Limits: [`crate::frost::LIMITS_SOURCE`]; that the stock moves them: from memory.
///
/// # Checked against
/// `tests/models/planting_out.rs`: the order of kinds (UC Ventura).
///
/// # Examples
/// ```
/// use models::frost::Hardiness;
/// use models::planting_out::wood_limit_c;
///
/// assert_eq!(wood_limit_c(Hardiness::Fair, Some(Hardiness::Best)), -7.0);
/// ```
pub fn wood_limit_c(scion: Hardiness, stock: Option<Hardiness>) -> f64 {
    let shift = stock.map_or(0.0, |stock| STOCK_SHIFT_C[stock as usize]);
    (Tissue::HardenedWood(scion).frost_limit_c() + shift).clamp(
        Tissue::HardenedWood(Hardiness::Best).frost_limit_c(),
        Tissue::HardenedWood(Hardiness::Worst).frost_limit_c(),
    )
}

/// Returns whether a tree can live in the open at a place.
///
/// # Equation
/// With p(x) the share of winters whose lowest night is below x and L the limit: too cool where fewer than 16 weeks
/// have a mean of 13 °C; else open where p(L) ≤ 0.05, covered where p(L − 3) ≤ 0.05, else too cold. Young: p(L + 2).
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `year` | °C | of the place | checked by its type |
/// | `limit_c` | °C | of the tree's hardened wood | [`wood_limit_c`] |
///
/// # Returns
/// Odds and what follows.
///
/// # Assumptions
/// Past winters are equally likely. A station is not a garden: a wall is warmer, a hollow colder.
///
/// # Source
/// Own rule; interval after Wilson 1927; gain of covers and tenderness of young wood from memory.
///
/// # Checked against
/// `tests/models/planting_out.rs`: places where citrus is grown and where it is not; colder places never stand
/// better.
pub fn outdoors(year: &SiteYear, limit_c: f64) -> WinterOdds {
    let lows = year.winter_lows();
    let share = |limit: f64| {
        let below = lows.iter().filter(|low| **low < limit).count();
        below as f64 / lows.len().max(1) as f64
    };
    let lost = share(limit_c);
    let (low, high) = wilson(lost, lows.len());
    let standing = if year.growing_weeks() < LEAST_GROWING_WEEKS {
        Standing::TooCool
    } else if lost <= LOST_WINTERS {
        Standing::Open
    } else if share(limit_c - COVER_GAIN_C) <= LOST_WINTERS {
        Standing::Covered
    } else {
        Standing::TooCold
    };
    let mut sorted = lows.to_vec();
    sorted.sort_by(f64::total_cmp);
    WinterOdds {
        limit_c,
        lost,
        low,
        high,
        young_lost: share(limit_c + YOUNG_WOOD_C),
        flush_lost: share(Tissue::SoftFlush.frost_limit_c()),
        winters: lows.len(),
        usual_low_c: sorted.get(sorted.len() / 2).copied(),
        standing,
        ripens: year.heat() >= RIPENING_HEAT,
    }
}
