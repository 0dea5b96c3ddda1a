//! The hole, and how a tree stands in it.

use std::f64::consts::PI;

use libm::cbrt;

use crate::planting::Planting;
use crate::range::{OutOfRange, within};

/// Top of the root ball above the soil, m: about an inch (UC Master Gardeners of Orange and Ventura).
const BALL_ABOVE_M: f64 = 0.025;
/// Width of the hole by that of the ball (the same).
const HOLE_WIDTHS: f64 = 2.0;
/// Least height of the union above the soil once all has settled, m; 10 to 15 cm, from memory.
const UNION_LEAST_M: f64 = 0.10;
/// Height of the union where nobody has told it, m: buds are set some 15 cm above the soil, from memory.
const UNION_USUAL_M: f64 = 0.15;
/// Thickness of the mulch, m; 8 to 10 cm, from memory.
const MULCH_M: (f64, f64) = (0.08, 0.10);
/// Mulch kept off the trunk, m; 10 to 30 cm, from memory.
const MULCH_FREE_M: (f64, f64) = (0.10, 0.30);
/// How far the basin for water reaches beyond the ball, m: some half a meter across, common practice.
const BASIN_BEYOND_M: f64 = 0.18;

/// How a tree is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Diameter of the root ball, m.
    pub ball_width_m: f64,
    /// Height of the root ball, m.
    pub ball_height_m: f64,
    /// Top of the ball above the soil, m.
    pub ball_above_m: f64,
    /// Width of the hole, m.
    pub hole_width_m: f64,
    /// Depth of the hole, m: the ball's height less what stands above the soil.
    pub hole_depth_m: f64,
    /// Height of the union above the soil, m.
    pub union_m: f64,
    /// Least height of the union above the soil once all has settled, m.
    pub union_least_m: f64,
    /// Thickness of the mulch, from and to, m.
    pub mulch_m: (f64, f64),
    /// Mulch kept off the trunk, from and to, m.
    pub mulch_free_m: (f64, f64),
    /// Diameter of the basin for water, m.
    pub basin_width_m: f64,
}

impl Hole {
    /// Ground within the basin, m².
    pub fn basin_m2(&self) -> f64 {
        PI * self.basin_width_m * self.basin_width_m / 4.0
    }
}

/// Returns the newly set tree of a root ball of so many liters.
///
/// # Equation
/// Lengths of [`Planting::default`], a tree of 5 l, times ∛(V/5).
///
/// # Inputs
/// | name | symbol | unit | shape | valid range |
/// |---|---|---|---|---|
/// | `ball_l` | V | l | constant | 0.2 to 200 |
///
/// # Returns
/// Ball and canopy; how roots and canopy grow on is that of the 5 l tree.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Pots of one shape, and crowns in proportion to them.
///
/// # Source
/// Own rule, from common practice.
///
/// # Checked against
/// `tests/models/planting_out.rs`.
pub fn tree_of_ball(ball_l: f64) -> Result<Planting, OutOfRange> {
    let ball_l = within("root ball", ball_l, (0.2, 200.0), " l")?;
    let usual = Planting::default();
    let scale = cbrt(ball_l / usual.ball_l);
    Ok(Planting {
        ball_l,
        ball_height_m: usual.ball_height_m * scale,
        canopy_m: usual.canopy_m * scale,
        height_m: usual.height_m * scale,
        canopy_m_max: usual.canopy_m_max.max(usual.canopy_m * scale),
        wetted_radius_m: usual.wetted_radius_m.max(0.3 * scale),
        wetted_depth_m: usual.wetted_depth_m.max(usual.ball_height_m * scale),
        ..usual
    })
}

/// Returns the hole of a tree and how it stands in it.
///
/// # Equation
/// Ball a cylinder: d = 2 √(V/(π h)). Hole as wide as two balls, as deep as the ball less 2.5 cm; union 2.5 cm higher
/// above the soil than above the ball; basin d + 0.36 m.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `tree` | l, m | constants | [`tree_of_ball`] |
/// | `union_m` | m | above the top of the ball | 0 to 1; none: 0.15 |
///
/// # Returns
/// Lengths, m.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Soil that drains. Where water stands, a mound of soil is made first and the tree set into it.
///
/// # Source
/// UC Master Gardeners of Orange and Ventura (ball, hole); union, mulch, basin: common practice, from memory.
///
/// # Checked against
/// `tests/models/planting_out.rs`: no union below its least height; hole and ball of three sizes by hand.
pub fn hole(tree: &Planting, union_m: Option<f64>) -> Result<Hole, OutOfRange> {
    let union_m = within(
        "height of the union",
        union_m.unwrap_or(UNION_USUAL_M),
        (0.0, 1.0),
        " m",
    )?;
    let ball_m3 = tree.ball_l / 1000.0;
    let ball_width_m = 2.0 * (ball_m3 / (PI * tree.ball_height_m)).sqrt();
    Ok(Hole {
        ball_width_m,
        ball_height_m: tree.ball_height_m,
        ball_above_m: BALL_ABOVE_M,
        hole_width_m: HOLE_WIDTHS * ball_width_m,
        hole_depth_m: tree.ball_height_m - BALL_ABOVE_M,
        union_m: union_m + BALL_ABOVE_M,
        union_least_m: UNION_LEAST_M,
        mulch_m: MULCH_M,
        mulch_free_m: MULCH_FREE_M,
        basin_width_m: ball_width_m + 2.0 * BASIN_BEYOND_M,
    })
}
