//! The plan's weeks and the dates they stand for.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

/// Weeks counted from the Monday on or after the as-of date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Calendar {
    first_monday: Date,
}

impl Calendar {
    /// The calendar of a plan made on `as_of`.
    pub fn from_as_of(as_of: Date) -> Self {
        let since_monday = i64::from(as_of.weekday().since(Weekday::Monday));
        Self {
            first_monday: plus_days(as_of, (7 - since_monday) % 7),
        }
    }

    /// Monday of a week; weeks before the plan are negative.
    pub fn monday(&self, week: i64) -> Date {
        plus_days(self.first_monday, week.saturating_mul(7))
    }

    /// The day that decides which month and season a week belongs to, as in ISO 8601.
    pub fn thursday(&self, week: i64) -> Date {
        plus_days(self.monday(week), 3)
    }

    /// The week a date falls in.
    pub fn week_of(&self, date: Date) -> i64 {
        let days = self
            .first_monday
            .until(date)
            .map_or(0, |span| i64::from(span.get_days()));
        days.div_euclid(7)
    }

    /// A week's ISO name, as `2027-W10`.
    pub fn iso(&self, week: i64) -> String {
        let iso = self.monday(week).iso_week_date();
        format!("{:04}-W{:02}", iso.year(), iso.week())
    }
}

/// A date some days on, held at the calendar's ends (years -9999 and 9999).
pub(crate) fn plus_days(date: Date, days: i64) -> Date {
    date.saturating_add(days.clamp(-7_000_000, 7_000_000).days())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::Calendar;

    #[test]
    fn week_0_begins_on_the_monday_on_or_after_as_of() {
        assert_eq!(
            Calendar::from_as_of(date(2027, 3, 1)).monday(0),
            date(2027, 3, 1)
        );
        let calendar = Calendar::from_as_of(date(2027, 3, 2));
        assert_eq!(calendar.monday(0), date(2027, 3, 8));
        assert_eq!(calendar.week_of(date(2027, 3, 7)), -1);
        assert_eq!(calendar.week_of(date(2027, 3, 14)), 0);
        assert_eq!(calendar.iso(0), "2027-W10");
    }
}
