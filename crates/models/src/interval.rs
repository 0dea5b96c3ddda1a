//! How far a share that was counted may be off.

/// Standard normal quantile of an interval that holds nine times in ten.
pub(crate) const NINE_IN_TEN: f64 = 1.644_853_627;

/// The interval of a share of so many that holds nine times in ten (Wilson 1927).
pub(crate) fn wilson(share: f64, count: usize) -> (f64, f64) {
    if count == 0 {
        return (0.0, 1.0);
    }
    let (n, z2) = (count as f64, NINE_IN_TEN * NINE_IN_TEN);
    let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let spread = (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    let half = NINE_IN_TEN * spread / (1.0 + z2 / n);
    (
        (middle - half).max(0.0).min(share),
        (middle + half).min(1.0).max(share),
    )
}
