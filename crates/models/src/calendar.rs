//! Days of the calendar counted and carried from year to year.

use jiff::SignedDuration;
use jiff::civil::Date;

/// First and last year a weather file may speak of. A slip of the pen in a year would otherwise
/// make a record of millions of missing days.
pub(crate) const YEARS: std::ops::RangeInclusive<i16> = 1850..=2199;

/// A count of days or weeks as a signed number.
pub(crate) fn signed(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// The date `days` later, held at the ends of the calendar.
pub(crate) fn plus_days(date: Date, days: i64) -> Date {
    date.saturating_add(SignedDuration::from_hours(days.saturating_mul(24)))
}

/// Days from `from` to `until`, negative where `until` is the earlier.
pub(crate) fn days_between(from: Date, until: Date) -> i64 {
    from.duration_until(until).as_hours() / 24
}

/// The same calendar day of another year; 29 February is the 28th where the year has no 29th.
pub fn same_day(date: Date, year: i16) -> Date {
    Date::new(year, date.month(), date.day())
        .or_else(|_| Date::new(year, 2, 28))
        .unwrap_or(date)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::{days_between, plus_days, same_day};

    #[test]
    fn days_are_counted_over_leap_days() {
        assert_eq!(days_between(date(2024, 2, 28), date(2024, 3, 1)), 2);
        assert_eq!(days_between(date(2024, 3, 1), date(2024, 2, 28)), -2);
        assert_eq!(plus_days(date(2023, 2, 28), 1), date(2023, 3, 1));
        assert_eq!(plus_days(date(9999, 12, 31), 9), date(9999, 12, 31));
    }

    #[test]
    fn the_leap_day_is_the_28th_elsewhere() {
        assert_eq!(same_day(date(2024, 2, 29), 2023), date(2023, 2, 28));
        assert_eq!(same_day(date(2024, 2, 29), 2020), date(2020, 2, 29));
        assert_eq!(same_day(date(2024, 7, 4), 1999), date(1999, 7, 4));
    }
}
