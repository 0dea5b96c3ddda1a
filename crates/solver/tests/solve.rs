//! Small models with known answers, and models that must be refused.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use solver::{Method, Model, Options, SolveError, Spot, Status};

/// Max 3a + 2b with a + b ≤ 4, a + 3b ≤ 7, a ≤ 3: a = 3, b = 1, worth 11.
fn small() -> Model {
    let mut model = Model::new();
    let a = model.add_column(-3.0, 0.0, 3.0);
    let b = model.add_column(-2.0, 0.0, f64::INFINITY);
    let first = model.add_row(f64::NEG_INFINITY, 4.0);
    let second = model.add_row(f64::NEG_INFINITY, 7.0);
    for (row, column, value) in [
        (first, a, 1.0),
        (first, b, 1.0),
        (second, a, 1.0),
        (second, b, 3.0),
    ] {
        model.add_entry(row, column, value);
    }
    model
}

fn close(left: f64, right: f64) {
    assert!((left - right).abs() < 1e-6, "{left} is not {right}");
}

#[test]
fn every_method_finds_the_same_answer_and_duals() {
    for method in [Method::Choose, Method::Simplex, Method::InteriorPoint] {
        for presolve in [true, false] {
            let options = Options {
                method,
                presolve,
                ..Options::default()
            };
            let solution = small().solve(&options).unwrap();
            assert_eq!(solution.status, Status::Optimal);
            close(solution.objective, -11.0);
            close(solution.columns[0].value, 3.0);
            close(solution.columns[1].value, 1.0);
            close(solution.columns[0].reduced_cost, -1.0);
            close(solution.rows[0].dual, -2.0);
            close(solution.rows[1].dual, 0.0);
            close(solution.rows[1].activity, 6.0);
        }
    }
}

#[test]
fn entries_in_one_spot_add_up() {
    let mut model = small();
    model.add_entry(1, 0, 2.0);
    model.add_entry(1, 0, -2.0);
    close(model.solve(&Options::default()).unwrap().objective, -11.0);
}

#[test]
fn contradictions_and_endless_gains_are_statuses() {
    let mut model = Model::new();
    let a = model.add_column(-1.0, 0.0, f64::INFINITY);
    let endless = model.solve(&Options::default()).unwrap().status;
    assert!(
        matches!(endless, Status::Unbounded | Status::InfeasibleOrUnbounded),
        "{endless}"
    );
    let row = model.add_row(f64::NEG_INFINITY, -1.0);
    model.add_entry(row, a, 1.0);
    let none = model.solve(&Options::default()).unwrap().status;
    assert!(
        matches!(none, Status::Infeasible | Status::InfeasibleOrUnbounded),
        "{none}"
    );
}

#[test]
fn a_status_is_a_word_or_a_sentence() {
    assert_eq!(Status::Optimal.word(), "optimal");
    assert_eq!(Status::TimeLimit.word(), "time limit");
    assert_eq!(Status::Optimal.to_string(), "The best answer was found.");
}

#[test]
fn numbers_that_are_none_are_refused() {
    let mut model = small();
    model.add_column(f64::NAN, 0.0, 1.0);
    assert_eq!(
        model.solve(&Options::default()),
        Err(SolveError::BadColumn(2))
    );
    let mut model = small();
    model.add_row(f64::NAN, 0.0);
    assert_eq!(model.solve(&Options::default()), Err(SolveError::BadRow(2)));
    let mut model = small();
    model.add_entry(0, 1, f64::INFINITY);
    assert_eq!(
        model.solve(&Options::default()),
        Err(SolveError::BadEntry { row: 0, column: 1 })
    );
    let mut model = small();
    model.add_entry(7, 0, 1.0);
    assert_eq!(
        model.solve(&Options::default()),
        Err(SolveError::BadEntry { row: 7, column: 0 })
    );
}

#[test]
fn a_model_without_columns_is_answered() {
    let mut model = Model::new();
    assert_eq!(
        model.solve(&Options::default()).unwrap().status,
        Status::Optimal
    );
    model.add_row(1.0, 2.0);
    assert_eq!(
        model.solve(&Options::default()).unwrap().status,
        Status::Infeasible
    );
}

#[test]
fn a_basis_starts_the_next_run_at_its_corner() {
    let first = small().solve(&Options::default()).unwrap();
    let options = Options {
        method: Method::Simplex,
        start: first.basis.clone(),
        ..Options::default()
    };
    let again = small().solve(&options).unwrap();
    assert_eq!(again.iterations, 0);
    close(again.objective, first.objective);
}

/// A row added later cuts the corner off; the next run goes on from there.
#[test]
fn a_corner_leads_on_when_a_row_is_added() {
    let mut model = small();
    let first = model.solve(&Options::default()).unwrap();
    let row = model.add_row(f64::NEG_INFINITY, 2.0);
    model.add_entry(row, 0, 1.0);
    let mut start = first.basis.unwrap();
    start.rows.push(Spot::BASIC);
    let options = Options {
        method: Method::Simplex,
        start: Some(start),
        ..Options::default()
    };
    let second = model.solve(&options).unwrap();
    // a = 2, b = 5 / 3.
    close(second.objective, -6.0 - 10.0 / 3.0);
    model.set_row(row, f64::NEG_INFINITY, 3.0);
    close(model.solve(&Options::default()).unwrap().objective, -11.0);
}

#[test]
fn a_basis_of_another_model_is_left_aside() {
    let mut other = small();
    other.add_column(1.0, 0.0, 1.0);
    let options = Options {
        start: other.solve(&Options::default()).unwrap().basis,
        ..Options::default()
    };
    close(small().solve(&options).unwrap().objective, -11.0);
}

#[test]
fn threads_may_change_from_run_to_run() {
    for threads in [1, 2, 1] {
        let options = Options {
            threads: Some(threads),
            ..Options::default()
        };
        close(small().solve(&options).unwrap().objective, -11.0);
    }
}

/// A chain of stores that presolve cannot fold away at once.
fn long() -> Model {
    let mut model = Model::new();
    let rows: Vec<_> = (0..200)
        .map(|it| model.add_row(1.0 + f64::from(it % 7), 1e6))
        .collect();
    for step in 0..2000_u32 {
        let cost = 1.0 + f64::from((step * 7919) % 101) / 10.0;
        let column = model.add_column(cost, 0.0, 3.0);
        for k in 0..6_u32 {
            let row = rows[((step * 31 + k * k * 17) % 200) as usize];
            model.add_entry(row, column, 1.0 + f64::from((step + k) % 5));
        }
    }
    model
}

#[test]
fn a_raised_flag_stops_the_run() {
    for method in [Method::Simplex, Method::InteriorPoint] {
        let stop = Arc::new(AtomicBool::new(true));
        let options = Options {
            method,
            presolve: false,
            stop: Some(stop),
            ..Options::default()
        };
        assert_eq!(
            long().solve(&options).unwrap().status,
            Status::Stopped,
            "{method:?}"
        );
    }
}

#[test]
fn no_time_at_all_ends_at_the_limit() {
    let options = Options {
        time_limit_s: Some(0.0),
        presolve: false,
        ..Options::default()
    };
    assert_eq!(long().solve(&options).unwrap().status, Status::TimeLimit);
}

/// What fits in a bag: the weights and worths of seven things, and what the bag holds.
const WEIGHTS: [u32; 7] = [31, 10, 20, 19, 4, 3, 6];
const WORTHS: [u32; 7] = [70, 20, 39, 37, 7, 5, 10];
const HOLDS: u32 = 50;

fn bag() -> Model {
    let mut model = Model::new();
    let row = model.add_row(f64::NEG_INFINITY, f64::from(HOLDS));
    for (weight, worth) in WEIGHTS.into_iter().zip(WORTHS) {
        let column = model.add_column(-f64::from(worth), 0.0, 1.0);
        model.set_whole(column, true);
        model.add_entry(row, column, f64::from(weight));
    }
    model
}

/// The best bag, by trying all of them.
fn best_bag() -> f64 {
    let sum = |of: &[u32; 7], taken: u32| -> u32 {
        (0..7)
            .filter(|it| taken >> it & 1 == 1)
            .map(|it| of[it])
            .sum()
    };
    let fits = (0..128).filter(|&taken| sum(&WEIGHTS, taken) <= HOLDS);
    f64::from(
        fits.map(|taken| sum(&WORTHS, taken))
            .max()
            .expect("the empty bag fits"),
    )
}

#[test]
fn whole_columns_are_whole_and_best() {
    let solution = bag().solve(&Options::default()).unwrap();
    assert_eq!(solution.status, Status::Optimal);
    assert!(solution.feasible);
    close(-solution.objective, best_bag());
    close(solution.bound, solution.objective);
    for column in &solution.columns {
        close(column.value, column.value.round());
    }
    let mut loose = bag();
    (0..7).for_each(|column| loose.set_whole(column, false));
    assert!(!loose.has_whole());
    let solution = loose.solve(&Options::default()).unwrap();
    assert!(
        -solution.objective > best_bag() + 0.1,
        "nothing was to be whole"
    );
    close(solution.bound, solution.objective);
}

/// Without time the search ends with the answer that was known, and says that it is no more.
#[test]
fn a_known_answer_is_kept_when_the_time_is_up() {
    let mut known = vec![0.0; 7];
    known[0] = 1.0;
    let options = Options {
        presolve: false,
        time_limit_s: Some(0.0),
        known: Some(known.clone()),
        ..Options::default()
    };
    let solution = bag().solve(&options).unwrap();
    assert_eq!(solution.status, Status::TimeLimit);
    assert!(solution.feasible);
    close(solution.objective, -70.0);
    assert!(solution.bound < -70.0);
    known[1] = 1.0;
    known[2] = 1.0;
    let options = Options {
        known: Some(known),
        ..Options::default()
    };
    close(-bag().solve(&options).unwrap().objective, best_bag());
}

/// A model that falls to its reductions alone, begun with an answer that is not the best.
#[test]
fn a_known_answer_does_not_stand_beside_the_best_ones_cost() {
    let mut model = Model::new();
    let idle = model.add_column(1.0, 0.0, 1.0);
    let useful = model.add_column(-2.0, 0.0, 4.0);
    model.set_whole(idle, true);
    model.set_whole(useful, true);
    let row = model.add_row(f64::NEG_INFINITY, 9.0);
    model.add_entry(row, idle, 1.0);
    model.add_entry(row, useful, 1.0);
    let options = Options {
        known: Some(vec![1.0, 4.0]),
        ..Options::default()
    };
    let solution = model.solve(&options).unwrap();
    close(solution.objective, -8.0);
    close(solution.columns[idle].value, 0.0);
    close(solution.columns[useful].value, 4.0);
}

#[test]
fn a_wide_gap_ends_the_search_early_and_is_bounded() {
    let options = Options {
        gap: 0.5,
        ..Options::default()
    };
    let solution = bag().solve(&options).unwrap();
    assert_eq!(solution.status, Status::Optimal);
    assert!(solution.bound <= -best_bag() + 1e-6);
    assert!(-solution.objective >= 0.5 * best_bag());
}

/// Sets of five out of many, of which no two share much: hard to prove the best of.
fn hard() -> Model {
    let mut model = Model::new();
    let rows: Vec<_> = (0..60).map(|_| model.add_row(1.0, f64::INFINITY)).collect();
    for set in 0..300_usize {
        let column = model.add_column(1.0 + ((set * 7919) % 13) as f64 / 100.0, 0.0, 1.0);
        model.set_whole(column, true);
        for step in 0..5 {
            let row = (set * 37 + step * step * (set % 11 + 3) + step) % 60;
            model.add_entry(rows[row], column, 1.0);
        }
    }
    model
}

#[test]
fn a_raised_flag_stops_the_search() {
    let options = Options {
        stop: Some(Arc::new(AtomicBool::new(true))),
        ..Options::default()
    };
    assert_eq!(hard().solve(&options).unwrap().status, Status::Stopped);
}

#[test]
fn the_primal_residual_tells_what_breaks_a_bound() {
    let model = small();
    let matrix = model.matrix().unwrap();
    let good = model.solve(&Options::default()).unwrap();
    assert!(good.primal_residual(&model, &matrix) < 1e-9);
    // a + 3b = 9 is 2 above its bound of 7; its largest term is 6.
    let mut broken = good.clone();
    broken.columns[1].value = 2.0;
    close(broken.primal_residual(&model, &matrix), 2.0 / 7.0);
    let mut beyond = good;
    beyond.columns[0].value = -1.0;
    close(beyond.primal_residual(&model, &matrix), 0.5);
}
