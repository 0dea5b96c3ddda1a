//! The degree-days of one climate on one weather path.

use crate::elementary::nearest;

/// Sums of degree-days from the first week on, and a way to find the week of a sum.
#[derive(Clone, Debug)]
pub struct DegreeDays {
    /// Before week 0, 1, 2 …; one more than there are weeks.
    before_week: Vec<f64>,
    /// By cell of sums: the first week at whose end the sum is in the cell or above.
    guide: Vec<u16>,
    cells_per_degree_day: f64,
}

/// Cells of a path: far more than it has weeks in the growing season, so that the search mostly ends
/// where the guide points.
const CELLS: usize = 1024;

impl DegreeDays {
    /// Of weeks with these degree-days, at least one and at most 65,535 of them.
    pub fn new(weekly: &[f64]) -> Self {
        let mut sum = 0.0;
        let mut before_week = vec![sum];
        before_week.extend(weekly.iter().map(|degree_days| {
            sum += degree_days;
            sum
        }));
        let mut degree_days = Self {
            before_week,
            guide: Vec::with_capacity(CELLS),
            cells_per_degree_day: (CELLS - 1) as f64 / sum.max(1.0),
        };
        for week in 0..weekly.len() {
            let reached = degree_days.cell(degree_days.after(week)) + 1;
            if reached > degree_days.guide.len() {
                degree_days.guide.resize(reached, week as u16);
            }
        }
        degree_days
    }

    /// Of a sum that is not negative and that a week reaches.
    fn cell(&self, sum: f64) -> usize {
        nearest(sum * self.cells_per_degree_day).0 as usize
    }

    /// How many weeks there are.
    #[inline]
    pub fn weeks(&self) -> usize {
        self.before_week.len() - 1
    }

    /// The sum before `week`, at most one after the last.
    #[inline]
    pub fn before(&self, week: usize) -> f64 {
        self.before_week[week]
    }

    /// The sum at the end of `week`.
    #[inline]
    pub fn after(&self, week: usize) -> f64 {
        self.before_week[week + 1]
    }

    /// The sums at the ends of the weeks from `first` to `last`.
    #[inline]
    pub fn after_each(&self, first: usize, last: usize) -> &[f64] {
        &self.before_week[first + 1..=last + 1]
    }

    /// The first week at whose end the sum is this or more.
    #[inline]
    pub fn week_of(&self, sum: f64) -> Option<usize> {
        let after = &self.before_week[1..];
        if sum > after[after.len() - 1] {
            return None;
        }
        let mut week = usize::from(self.guide[self.cell(sum.max(0.0))]);
        while after[week] < sum {
            week += 1;
        }
        Some(week)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weeks_are_those_of_a_search() {
        // Weeks without degree-days, at the start too, and weeks of a thousandth of one.
        let week = |week: usize| [0.0, 0.001, 12.0, 70.5, 300.0, 0.0][week * 7 % 17 % 6];
        for weeks in [1, 2, 9, 60] {
            let weekly: Vec<f64> = (0..weeks).map(week).collect();
            let degree_days = DegreeDays::new(&weekly);
            assert_eq!(degree_days.weeks(), weeks);
            let sums = (0..weeks).map(|week| degree_days.after(week));
            let sums: Vec<f64> = sums
                .chain((0..9_000).map(|step| f64::from(step) * 0.731))
                .collect();
            for sum in sums {
                let expected = (0..weeks).find(|week| degree_days.after(*week) >= sum);
                assert_eq!(degree_days.week_of(sum), expected, "{weeks} weeks, {sum}");
            }
        }
        assert_eq!(DegreeDays::new(&[0.0; 5]).week_of(0.0), Some(0));
        assert_eq!(DegreeDays::new(&[0.0; 5]).week_of(1.0), None);
    }
}
