//! The normal distribution: its upper tail and draws, from tables that are made of `libm`'s functions,
//! so that they are the same on every platform.

use std::f64::consts::{FRAC_1_SQRT_2, PI};
use std::sync::LazyLock;

use crate::elementary::nearest;
use crate::stream::{Stream, cell};

/// The share of the standard normal distribution above `x`.
///
/// # Equation
/// Φ(−x). Between −6.5 and 6.5 Taylor's series of degree 6 about the nearest of nodes 1/64 apart,
/// whose terms are Hermite polynomials times the density; outside `libm::erfc`.
/// # Inputs
/// Any number; not NaN.
/// # Returns
/// A share in [0, 1], relative error below 10⁻¹².
/// # Source
/// Abramowitz & Stegun (1964), 26.2.11 and 26.2.33 (derivatives of the normal integral).
/// # Checked against
/// `libm::erfc` from −9 to 37.
#[inline]
pub fn upper_tail(x: f64) -> f64 {
    if x.abs() < Tail::REACH {
        TAIL.at(x)
    } else {
        exact_upper_tail(x)
    }
}

/// As [`upper_tail`], by `libm` alone.
pub fn exact_upper_tail(x: f64) -> f64 {
    0.5 * libm::erfc(x * FRAC_1_SQRT_2)
}

/// The density of the standard normal distribution.
pub fn density(x: f64) -> f64 {
    libm::exp(-x * x / 2.0) / (2.0 * PI).sqrt()
}

/// Upper tail and density at nodes.
struct Tail([(f64, f64); Tail::NODES]);

static TAIL: LazyLock<Tail> = LazyLock::new(Tail::new);

impl Tail {
    const REACH: f64 = 6.5;
    const PER_UNIT: f64 = 64.0;
    const MIDDLE: i32 = 416;
    const NODES: usize = 2 * Self::MIDDLE as usize + 1;

    fn new() -> Self {
        Self(std::array::from_fn(|node| {
            let x = node as f64 / Self::PER_UNIT - Self::REACH;
            (exact_upper_tail(x), density(x))
        }))
    }

    #[inline]
    fn at(&self, x: f64) -> f64 {
        let (node, steps) = nearest(x * Self::PER_UNIT);
        let (tail, density) = self.0[(node + Self::MIDDLE) as usize];
        let a = steps / Self::PER_UNIT;
        let d = x - a;
        let square = a * a;
        // He₁ … He₅ over 2! … 6!, with their signs.
        let first = a * (-1.0 / 2.0);
        let second = (square - 1.0) * (1.0 / 6.0);
        let third = a * (square - 3.0) * (-1.0 / 24.0);
        let fourth = (square * (square - 6.0) + 3.0) * (1.0 / 120.0);
        let fifth = a * (square * (square - 10.0) + 15.0) * (-1.0 / 720.0);
        let series = 1.0 + d * (first + d * (second + d * (third + d * (fourth + d * fifth))));
        tail - density * d * series
    }
}

/// A standard normal draw.
///
/// # Source
/// Marsaglia, G. & Tsang, W. W. (2000), The ziggurat method for generating random variables, J. Stat.
/// Softw. 5(8), with 256 layers; layer and place in it from different bits, as in Doornik, J. A.
/// (2005), An improved ziggurat method to generate normal random samples.
/// # Checked against
/// The exact shares of 100 cells and of the far tails, by χ².
#[inline]
pub fn normal(stream: &mut Stream) -> f64 {
    let ziggurat = &*ZIGGURAT;
    loop {
        let bits = stream.bits();
        let layer = (bits & 0xff) as usize;
        let side = 2.0 * cell(bits) - 1.0;
        let x = side * ziggurat.edge[layer];
        if x.abs() < ziggurat.edge[layer + 1] {
            return x;
        }
        if layer == 0 {
            return beyond_the_layers(stream).copysign(side);
        }
        let (low, high) = (ziggurat.density[layer], ziggurat.density[layer + 1]);
        if low + stream.uniform() * (high - low) < libm::exp(-x * x / 2.0) {
            return x;
        }
    }
}

/// A draw from the normal distribution above the edge of the lowest layer.
#[cold]
fn beyond_the_layers(stream: &mut Stream) -> f64 {
    loop {
        let beyond = -libm::log(stream.uniform()) / Ziggurat::LAST;
        if -2.0 * libm::log(stream.uniform()) > beyond * beyond {
            return Ziggurat::LAST + beyond;
        }
    }
}

/// Layers of equal area that cover the normal density, the lowest first; its edge is that of a
/// rectangle with the area of the layer and all that lies beyond it.
struct Ziggurat {
    edge: [f64; Ziggurat::LAYERS + 1],
    /// exp(−x²/2) at the edges.
    density: [f64; Ziggurat::LAYERS + 1],
}

static ZIGGURAT: LazyLock<Ziggurat> = LazyLock::new(Ziggurat::new);

impl Ziggurat {
    const LAYERS: usize = 256;
    /// The edge at which 256 layers end at 0.
    const LAST: f64 = 3.654_152_885_361_009;

    fn new() -> Self {
        let density = |x: f64| libm::exp(-x * x / 2.0);
        let area =
            Self::LAST * density(Self::LAST) + (2.0 * PI).sqrt() * exact_upper_tail(Self::LAST);
        let mut edge = [0.0; Self::LAYERS + 1];
        edge[0] = area / density(Self::LAST);
        edge[1] = Self::LAST;
        for layer in 2..Self::LAYERS {
            let below = edge[layer - 1];
            edge[layer] = (-2.0 * libm::log(area / below + density(below))).sqrt();
        }
        Self {
            edge,
            density: edge.map(density),
        }
    }
}

#[cfg(test)]
#[path = "normal_tests.rs"]
mod tests;
