//! Values that hold for all weeks or are listed week by week.

use serde::{Deserialize, Serialize};

/// One value for every week, or a list with a value for each week of the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum PerWeek<T = f64> {
    /// The same in every week.
    Same(T),
    /// By week, from week 0; as long as the plan.
    Weekly(Vec<T>),
}

impl<T: Copy + Default> PerWeek<T> {
    /// The value in a week; past the end of a list, its last value (zero if it is empty).
    pub fn at(&self, week: usize) -> T {
        match self {
            Self::Same(value) => *value,
            Self::Weekly(values) => values
                .get(week)
                .or(values.last())
                .copied()
                .unwrap_or_default(),
        }
    }

    /// All values it names: one, or one a week.
    pub fn values(&self) -> &[T] {
        match self {
            Self::Same(value) => std::slice::from_ref(value),
            Self::Weekly(values) => values,
        }
    }
}

impl<T: Default> Default for PerWeek<T> {
    fn default() -> Self {
        Self::Same(T::default())
    }
}

impl<T> From<T> for PerWeek<T> {
    fn from(value: T) -> Self {
        Self::Same(value)
    }
}

impl<T> From<Vec<T>> for PerWeek<T> {
    fn from(values: Vec<T>) -> Self {
        Self::Weekly(values)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_goes_on_with_its_last_value() {
        let area: PerWeek = vec![1.0, 2.0].into();
        assert_eq!(
            [area.at(0), area.at(1), area.at(9)].map(f64::to_bits),
            [1.0, 2.0, 2.0].map(f64::to_bits)
        );
    }

    #[test]
    fn both_forms_are_read() {
        let read: Vec<PerWeek<i64>> = serde_json::from_str("[16, [3, 2]]").unwrap();
        assert_eq!(read, [PerWeek::Same(16), PerWeek::Weekly(vec![3, 2])]);
    }
}
