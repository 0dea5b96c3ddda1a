//! What an expected demand with a spread is worth: its trees in parts, the likeliest to be asked for first.

use models::normal_below;

/// Where the parts of a demand end, as standard deviations from its mean: at the 10th, 30th, 50th, 70th and 90th
/// of a hundred demands, the smallest first. What goes beyond the last is not grown for.
const ENDS: [f64; 5] = [-1.281_551_6, -0.524_400_5, 0.0, 0.524_400_5, 1.281_551_6];

/// Trees that are asked for with the same odds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Trees.
    pub plants: f64,
    /// The odds that one of them is asked for, in their mean.
    pub asked_for: f64,
}

/// The parts of a demand.
///
/// The demand D is normal with a mean m and a standard deviation s, and at least 0. Of the trees from a to b the
/// mean share asked for is
///
/// (E min(D, b) − E min(D, a)) / (b − a),  E min(D, x) = s · (g(m/s) − g((m − x)/s)),  g(z) = z Φ(z) + φ(z),
///
/// so that the trees sold are right in the mean, however many are grown. Without a spread all are asked for.
///
/// # Returns
/// Parts of at least a tree, in whole trees but for a demand without a spread.
pub fn parts(mean: f64, spread: f64) -> Vec<Part> {
    if spread <= 0.0 {
        return vec![Part {
            plants: mean,
            asked_for: 1.0,
        }];
    }
    let asked = |x: f64| spread * (g(mean / spread) - g((mean - x) / spread));
    let mut from = 0.0;
    let parts = ENDS.map(|end| {
        let until = (mean + end * spread).round().max(from);
        let plants = until - from;
        let asked_for = if plants > 0.0 {
            ((asked(until) - asked(from)) / plants).clamp(0.0, 1.0)
        } else {
            0.0
        };
        from = until;
        Part { plants, asked_for }
    });
    parts.into_iter().filter(|it| it.plants > 0.0).collect()
}

/// z Φ(z) + φ(z): the integral of Φ up to z.
fn g(z: f64) -> f64 {
    let density = libm::exp(-0.5 * z * z) / libm::sqrt(std::f64::consts::TAU);
    z * normal_below(z) + density
}

#[cfg(test)]
mod tests {
    use super::*;

    /// E min(D, x) by sums over fine steps of D, another way than the formula's.
    fn sold(mean: f64, spread: f64, grown: f64) -> f64 {
        let steps = -8_000..8_000;
        let (mut sold, mut weights) = (0.0, 0.0);
        for deviate in steps.map(|it| (f64::from(it) + 0.5) / 1_000.0) {
            let weight = libm::exp(-0.5 * deviate * deviate);
            sold += weight * (mean + spread * deviate).clamp(0.0, grown);
            weights += weight;
        }
        sold / weights
    }

    #[test]
    fn what_is_sold_is_right_in_the_mean_however_many_are_grown() {
        for (mean, spread) in [(50.0, 20.0), (25.0, 12.0), (10.0, 30.0), (400.0, 5.0)] {
            let (mut grown, mut asked) = (0.0, 0.0);
            let mut before = 1.0;
            for part in parts(mean, spread) {
                grown += part.plants;
                asked += part.plants * part.asked_for;
                let right = sold(mean, spread, grown);
                assert!(
                    (asked - right).abs() < 1e-3 * right,
                    "{mean} {spread}: {asked} {right}"
                );
                assert!(part.asked_for <= before, "the likeliest come first");
                before = part.asked_for;
            }
        }
    }

    #[test]
    fn a_demand_without_a_spread_is_one_part_and_none_of_nothing() {
        let all = Part {
            plants: 12.5,
            asked_for: 1.0,
        };
        assert_eq!(parts(12.5, 0.0), [all]);
        assert_eq!(parts(0.0, 0.1), []);
    }
}
