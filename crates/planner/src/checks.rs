//! How far an answer is from its own rules, counted outside the solver.

use solver::{Columns, Model, Solution};

/// Residuals of an answer, from the model, its values and its duals alone.
///
/// With x the columns' values and y the rows' duals, d = cost − Aᵀy. All three are zero for an exact
/// answer and scaled, so that a millionth is a millionth of what the row, column or profit is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Checks {
    /// [`Solution::primal_residual`].
    pub primal_residual: f64,
    /// Largest d, or dual, on a side where there is no bound to hold it, each over 1 + the largest
    /// of |cost| and |entry · y| of the column (1 + |y| of the row).
    pub dual_residual: f64,
    /// |cost of x − bound proved by y| over 1 + |cost of x|.
    pub gap: f64,
}

impl Checks {
    /// Counts them again.
    pub fn of(model: &Model, matrix: &Columns, solution: &Solution) -> Self {
        let cost: f64 = model
            .columns()
            .iter()
            .zip(&solution.columns)
            .map(|(it, at)| it.cost * at.value)
            .sum();
        let (dual_residual, bound) = dual(model, matrix, solution);
        Self {
            primal_residual: solution.primal_residual(model, matrix),
            dual_residual,
            gap: (cost - bound).abs() / (1.0 + cost.abs()),
        }
    }

    /// The largest of the three.
    pub fn worst(&self) -> f64 {
        // A residual that is not a number is the worst of all; `f64::max` would hide it.
        [self.primal_residual, self.dual_residual, self.gap]
            .into_iter()
            .fold(
                0.0,
                |worst, it| if it > worst || it.is_nan() { it } else { worst },
            )
    }
}

/// The dual residual, and the cost below which y proves that no answer can fall.
fn dual(model: &Model, matrix: &Columns, solution: &Solution) -> (f64, f64) {
    let mut worst = 0.0_f64;
    let mut bound = 0.0;
    for (id, row) in model.rows().iter().enumerate() {
        let dual = solution.rows[id].dual;
        let (held, loose) = held(dual, row.lower, row.upper);
        bound += held;
        worst = worst.max(loose / (1.0 + dual.abs()));
    }
    for (id, column) in model.columns().iter().enumerate() {
        let mut reduced = column.cost;
        let mut largest = column.cost.abs();
        for (row, entry) in matrix.of(id) {
            let term = entry * solution.rows[row].dual;
            reduced -= term;
            largest = largest.max(term.abs());
        }
        let (held, loose) = held(reduced, column.lower, column.upper);
        bound += held;
        worst = worst.max(loose / (1.0 + largest));
    }
    (worst, bound)
}

/// A dual pushes against a bound: what it adds to the proof, and what of it has nothing to push on.
fn held(dual: f64, lower: f64, upper: f64) -> (f64, f64) {
    let bound = if dual > 0.0 { lower } else { upper };
    if dual == 0.0 {
        (0.0, 0.0)
    } else if bound.is_finite() {
        (dual * bound, 0.0)
    } else {
        (0.0, dual.abs())
    }
}

#[cfg(test)]
mod tests {
    use solver::Options;

    use super::*;

    fn small() -> (Model, Columns, Solution) {
        let mut model = Model::new();
        let cheap = model.add_column(3.0, 0.0, 6.0);
        let dear = model.add_column(5.0, 0.0, f64::INFINITY);
        let wanted = model.add_row(10.0, f64::INFINITY);
        model.add_entry(wanted, cheap, 1.0);
        model.add_entry(wanted, dear, 1.0);
        let solution = model.solve(&Options::default()).unwrap();
        let matrix = model.matrix().unwrap();
        (model, matrix, solution)
    }

    #[test]
    fn the_best_answer_passes() {
        let (model, matrix, solution) = small();
        assert!(Checks::of(&model, &matrix, &solution).worst() < 1e-9);
    }

    #[test]
    fn each_check_can_fail() {
        let (model, matrix, good) = small();
        let mut short = good.clone();
        short.columns[1].value -= 1.0;
        assert!(Checks::of(&model, &matrix, &short).primal_residual > 0.1);
        let mut negative = good.clone();
        negative.columns[0].value = -1.0;
        assert!(Checks::of(&model, &matrix, &negative).primal_residual > 0.1);
        let mut greedy = good.clone();
        greedy.rows[0].dual = 6.0;
        assert!(Checks::of(&model, &matrix, &greedy).dual_residual > 0.1);
        let mut idle = good.clone();
        idle.rows[0].dual = 4.0;
        assert!(Checks::of(&model, &matrix, &idle).dual_residual < 1e-9);
        assert!(Checks::of(&model, &matrix, &idle).gap > 0.05);
        let mut none = good;
        none.rows[0].dual = f64::NAN;
        assert!(Checks::of(&model, &matrix, &none).worst().is_nan());
    }
}
