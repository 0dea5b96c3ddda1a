use super::*;
use crate::stream::{Purpose, Streams};

#[test]
fn the_upper_tail_is_that_of_erfc() {
    let mut worst: f64 = 0.0;
    for step in 0..460_000 {
        let x = f64::from(step) * 1e-4 - 9.0 + 3.3e-5;
        let exact = exact_upper_tail(x);
        worst = worst.max((upper_tail(x) / exact - 1.0).abs());
    }
    assert!(worst < 1e-12, "{worst}");
    assert!((upper_tail(f64::NEG_INFINITY) - 1.0).abs() < 1e-15);
    assert!(upper_tail(f64::INFINITY).abs() < 1e-300);
}

#[test]
fn the_layers_end_at_the_middle() {
    let top = ZIGGURAT.edge[Ziggurat::LAYERS - 1];
    let area = ZIGGURAT.edge[0] * ZIGGURAT.density[1];
    let left = top * (1.0 - ZIGGURAT.density[Ziggurat::LAYERS - 1]);
    assert!((left / area - 1.0).abs() < 1e-11, "{left} and {area}");
}

#[test]
fn draws_have_the_exact_shares() {
    // A hundredth of a unit would hide a layer's edge; cells of unequal width do not.
    const DRAWS: u32 = 4_000_000;
    let edges: Vec<f64> = (0..=98).map(|cell| f64::from(cell) * 0.1 - 4.9).collect();
    let mut seen = vec![0u32; edges.len() + 1];
    let mut stream = Streams { seed: 2, future: 0 }.of(Purpose::Lot, 0, 0);
    for _ in 0..DRAWS {
        let draw = normal(&mut stream);
        seen[edges.partition_point(|edge| *edge < draw)] += 1;
    }
    let above = |cell: usize| {
        cell.checked_sub(1)
            .map_or(1.0, |edge| exact_upper_tail(edges[edge]))
    };
    let chi_square: f64 = seen
        .iter()
        .enumerate()
        .map(|(cell, seen)| {
            let below = edges.get(cell).map_or(0.0, |edge| exact_upper_tail(*edge));
            let expected = f64::from(DRAWS) * (above(cell) - below);
            let off = f64::from(*seen) - expected;
            off * off / expected
        })
        .sum();
    let freedom = seen.len() as f64 - 1.0;
    let excess = (chi_square - freedom) / (2.0 * freedom).sqrt();
    assert!(excess < 4.5, "{excess} sd");
}
