//! Values from outside that cannot be right, and what they may be.

/// A value that lies outside what is possible.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{what} {value} must lie between {min} and {max}{unit}; check the value and its unit")]
pub struct OutOfRange {
    /// What the value is of.
    pub what: &'static str,
    /// The value given.
    pub value: f64,
    /// Least possible.
    pub min: f64,
    /// Greatest possible.
    pub max: f64,
    /// The unit with a space before it; empty where there is none.
    pub unit: &'static str,
}

/// The value, if it is a number from `min` to `max`.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    (min, max): (f64, f64),
    unit: &'static str,
) -> Result<f64, OutOfRange> {
    if (min..=max).contains(&value) {
        Ok(value)
    } else {
        Err(OutOfRange {
            what,
            value,
            min,
            max,
            unit,
        })
    }
}

/// The share, if it is a number from 0 to 1.
pub(crate) fn share(what: &'static str, value: f64) -> Result<f64, OutOfRange> {
    within(what, value, (0.0, 1.0), "")
}
