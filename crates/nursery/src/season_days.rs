//! Days of the year without a year, and spans between them.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// A day of any year, written `MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct YearDay {
    month: i8,
    day: i8,
}

impl YearDay {
    /// The day of a date.
    pub fn of(date: Date) -> Self {
        Self {
            month: date.month(),
            day: date.day(),
        }
    }

    /// Reads `MM-DD`; 29 February is read as the 28th, which every year has.
    pub fn parse(text: &str) -> Option<Self> {
        let (month, day) = text.split_once('-')?;
        let two_digits = |part: &str| part.len() == 2 && part.bytes().all(|b| b.is_ascii_digit());
        if !two_digits(month) || !two_digits(day) {
            return None;
        }
        let date = Date::new(2024, month.parse().ok()?, day.parse().ok()?).ok()?;
        Some(Self::of(date).settled())
    }

    /// The same time of the season on the other half of the earth: six months on.
    #[must_use]
    pub fn half_a_year_on(self) -> Self {
        let month = (self.month + 5) % 12 + 1;
        let last = Date::new(2023, month, 1).map_or(28, Date::days_in_month);
        Self {
            month,
            day: self.day.min(last),
        }
    }

    /// This day in a given year.
    pub fn in_year(self, year: i16) -> Option<Date> {
        Date::new(year, self.month, self.day).ok()
    }

    fn settled(self) -> Self {
        if self.month == 2 && self.day == 29 {
            Self { month: 2, day: 28 }
        } else {
            self
        }
    }
}

impl TryFrom<String> for YearDay {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        Self::parse(&text).ok_or_else(|| format!("\"{text}\" is not a day written as MM-DD"))
    }
}

impl From<YearDay> for String {
    fn from(day: YearDay) -> Self {
        format!("{:02}-{:02}", day.month, day.day)
    }
}

/// A part of every year, both ends included; it may run over the turn of the year. Written
/// `MM-DD/MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct YearSpan {
    /// First day.
    pub from: YearDay,
    /// Last day.
    pub until: YearDay,
}

impl YearSpan {
    /// Reads `MM-DD/MM-DD`.
    pub fn parse(text: &str) -> Option<Self> {
        let (from, until) = text.split_once('/')?;
        Some(Self {
            from: YearDay::parse(from.trim())?,
            until: YearDay::parse(until.trim())?,
        })
    }

    /// Whether a date falls into the span.
    pub fn holds(&self, date: Date) -> bool {
        let day = YearDay::of(date).settled();
        if self.from <= self.until {
            self.from <= day && day <= self.until
        } else {
            day >= self.from || day <= self.until
        }
    }

    /// The same season on the other half of the earth.
    #[must_use]
    pub fn half_a_year_on(self) -> Self {
        Self {
            from: self.from.half_a_year_on(),
            until: self.until.half_a_year_on(),
        }
    }
}

impl TryFrom<String> for YearSpan {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        Self::parse(&text).ok_or_else(|| format!("\"{text}\" is not a span written as MM-DD/MM-DD"))
    }
}

impl From<YearSpan> for String {
    fn from(span: YearSpan) -> Self {
        format!("{}/{}", String::from(span.from), String::from(span.until))
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::{YearDay, YearSpan};

    #[test]
    fn spans_may_run_over_new_year() {
        let winter = YearSpan::parse("11-15/02-29").expect("a span");
        assert!(winter.holds(date(2027, 12, 31)));
        assert!(winter.holds(date(2028, 2, 29)));
        assert!(!winter.holds(date(2027, 3, 1)));
        assert!(!winter.holds(date(2027, 11, 14)));
    }

    #[test]
    fn southern_seasons_are_half_a_year_on() {
        let day = |text| YearDay::parse(text).expect("a day");
        assert_eq!(day("08-31").half_a_year_on(), day("02-28"));
        assert_eq!(day("01-01").half_a_year_on(), day("07-01"));
        assert_eq!(day("07-01").half_a_year_on(), day("01-01"));
        assert_eq!(YearDay::parse("13-01"), None);
        for text in ["3-1", "02-30", "+3-01", "00-10", "03-01-01", "0301", ""] {
            assert_eq!(YearDay::parse(text), None, "{text}");
        }
    }

    #[test]
    fn spans_are_written_as_they_are_read() {
        let span = YearSpan::parse("03-15 / 06-15").expect("a span");
        assert_eq!(String::from(span), "03-15/06-15");
        assert!(span.holds(date(2027, 3, 15)) && span.holds(date(2027, 6, 15)));
        assert!(!span.holds(date(2027, 6, 16)));
        for text in [
            "03-15",
            "03-15/",
            "/06-15",
            "03-15-06-15",
            "03-15/06-31",
            "",
        ] {
            assert_eq!(YearSpan::parse(text), None, "{text}");
        }
    }

    #[test]
    fn southern_spans_keep_their_length_and_turn() {
        let spring = YearSpan::parse("02-15/05-31").expect("a span");
        assert_eq!(String::from(spring.half_a_year_on()), "08-15/11-30");
        let autumn = YearSpan::parse("09-01/10-15").expect("a span");
        assert_eq!(String::from(autumn.half_a_year_on()), "03-01/04-15");
        let winter = YearSpan::parse("11-15/02-28").expect("a span");
        assert_eq!(String::from(winter.half_a_year_on()), "05-15/08-28");
    }

    #[test]
    fn a_day_is_in_every_year() {
        let day = YearDay::parse("02-29").expect("a day");
        assert_eq!(day.in_year(2027), Some(date(2027, 2, 28)));
        assert_eq!(
            YearDay::of(date(2028, 12, 31)).in_year(2027),
            Some(date(2027, 12, 31))
        );
    }
}
