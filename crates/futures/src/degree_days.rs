//! The degree-days of one climate on one weather path.

/// Sums of degree-days from the first week on, and a way to find the week of a sum.
#[derive(Clone, Debug)]
pub struct DegreeDays {
    /// Before week 0, 1, 2 …; one more than there are weeks.
    before_week: Vec<f64>,
    /// The same in small units, rounded down, and one that no sum reaches.
    units_before_week: Vec<u64>,
    units_per_degree_day: f64,
    /// By cell of units: the first week at whose end the sum is in the cell or above.
    guide: Box<[u16; CELLS]>,
}

/// When two sums are reached; after the last week if that is not until then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reached {
    /// Both first in this week.
    In(usize),
    /// The lower first in this week, the higher later.
    From(usize),
}

/// Units are so small that the whole path has hardly fewer than 2 to this power, or less if it has less
/// than a degree-day.
const UNIT_BITS: u32 = 48;

/// Cells are so many that the search mostly ends where the guide points: far more than a path has weeks in
/// the growing season.
const CELLS: usize = 1 << CELL_BITS;
const CELL_BITS: u32 = 11;

impl DegreeDays {
    /// Of weeks with these degree-days, at least one and at most 65,535 of them.
    pub fn new(weekly: &[f64]) -> Self {
        let mut sum = 0.0;
        let mut before_week = vec![sum];
        before_week.extend(weekly.iter().map(|degree_days| {
            sum += degree_days;
            sum
        }));
        let units_per_degree_day = ((1_u64 << UNIT_BITS) - 1) as f64 / sum.max(1.0);
        let units = before_week
            .iter()
            .map(|sum| (sum * units_per_degree_day) as u64);
        let units_before_week: Vec<u64> = units.chain([u64::MAX]).collect();
        let mut guide = Box::new([weekly.len() as u16; CELLS]);
        for week in (0..weekly.len()).rev() {
            guide[..=cell(units_before_week[week + 1])].fill(week as u16);
        }
        Self {
            before_week,
            units_before_week,
            units_per_degree_day,
            guide,
        }
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

    /// How many units a number of degree-days has.
    #[inline]
    pub fn units(&self, degree_days: f64) -> f64 {
        degree_days * self.units_per_degree_day
    }

    /// The sum before `week` in units, rounded down.
    #[inline]
    pub fn units_before(&self, week: usize) -> u64 {
        self.units_before_week[week]
    }

    /// The first week at whose end the sum is this or more.
    #[inline]
    pub fn week_of(&self, sum: f64) -> Option<usize> {
        let after = &self.before_week[1..];
        if sum > after[after.len() - 1] {
            return None;
        }
        let mut week = usize::from(self.guide[cell(self.units(sum) as u64)]);
        while after[week] < sum {
            week += 1;
        }
        Some(week)
    }

    /// What finds the weeks of many sums.
    #[inline]
    pub fn finder(&self) -> Finder<'_> {
        Finder {
            after: &self.units_before_week[1..],
            guide: &self.guide,
        }
    }
}

/// Finds the weeks of sums in units.
#[derive(Clone, Copy)]
pub struct Finder<'a> {
    after: &'a [u64],
    guide: &'a [u16; CELLS],
}

impl Finder<'_> {
    /// When two sums, the lower first, are reached.
    #[inline]
    pub fn reached(self, [low, high]: [u64; 2]) -> Reached {
        let Some(first) = self.guide.get(cell(low)) else {
            return Reached::In(self.after.len() - 1);
        };
        let first = usize::from(*first);
        // Most cells have the end of one week at most, which is not worth a branch that goes either way.
        let mut week = first + usize::from(self.after[first] < low);
        while self.after[week] < low {
            week += 1;
        }
        if self.after[week] >= high {
            Reached::In(week)
        } else {
            Reached::From(week)
        }
    }
}

/// The cell of a sum in units; beyond the last one for those that no week reaches.
#[inline]
fn cell(units: u64) -> usize {
    (units >> (UNIT_BITS - CELL_BITS)) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sums in units, a little lower and higher than this one, are reached when a search says.
    fn brackets(degree_days: &DegreeDays, sum: f64) {
        let sum = degree_days.units(sum) as u64;
        let all = degree_days.weeks();
        for [low, high] in [[sum, sum], [sum, sum + 1], [sum / 2, sum], [sum, 2 * sum]] {
            let [first, last] = [low, high].map(|sum| {
                let is_reached = |week: &usize| degree_days.units_before(*week + 1) >= sum;
                (0..all).find(is_reached).unwrap_or(all)
            });
            let found = degree_days.finder().reached([low, high]);
            let expected = if first == last {
                Reached::In(first)
            } else {
                Reached::From(first)
            };
            assert_eq!(found, expected, "{all} weeks, {low}, {high}");
        }
    }

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
                brackets(&degree_days, sum);
            }
        }
        for weekly in [vec![0.0; 5], vec![0.0; 300]] {
            let finder = DegreeDays::new(&weekly);
            assert_eq!(finder.finder().reached([0, 0]), Reached::In(0));
            assert_eq!(finder.finder().reached([1, 9]), Reached::In(weekly.len()));
        }
        assert_eq!(DegreeDays::new(&[0.0; 5]).week_of(0.0), Some(0));
        assert_eq!(DegreeDays::new(&[0.0; 5]).week_of(1.0), None);
    }
}
