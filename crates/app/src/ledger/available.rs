//! What can still be promised of each product, month by month.

use jiff::ToSpan;
use jiff::civil::{Date, ISOWeekDate};
use nursery::files::parse_week;
use nursery::ledger::Books;
use serde::Serialize;

use super::NurseryFile;
use super::odds::OddsNow;
use super::promise::Largest;
use crate::error::{AppError, Kind};

/// Months that a list can look ahead.
pub const MOST_MONTHS: u32 = 12;

/// What can still be promised.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Available {
    /// The odds, in percent.
    pub at_odds: u32,
    /// Futures looked at.
    pub futures: u32,
    /// The last day of each month.
    pub months: Vec<Date>,
    /// Products of which something can be promised.
    pub products: Vec<AvailableProduct>,
}

/// What can still be promised of a product.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AvailableProduct {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// The largest number by the end of each month, each by itself.
    pub plants: Vec<u32>,
}

impl NurseryFile {
    /// The largest numbers that can be promised by the ends of the next months, every promise made before kept as
    /// safe as it is to be. Months whose end lies behind the plan are left out.
    ///
    /// # Errors
    /// Odds or months that are none.
    pub fn available(
        &self,
        books: &Books,
        odds: &OddsNow,
        at_odds: u32,
        months: u32,
    ) -> Result<Available, AppError> {
        if !(1..=99).contains(&at_odds) {
            return Err(refused(
                format!("odds of {at_odds}\u{202f}% cannot be aimed at"),
                "give odds from 1 to 99",
            ));
        }
        if !(1..=MOST_MONTHS).contains(&months) {
            return Err(refused(
                format!("a list of {months} months cannot be made"),
                "give 1 to 12 months",
            ));
        }
        let ends: Vec<(Date, i32)> = month_ends(odds.as_of, months)
            .filter_map(|day| Some((day, week_of(odds, day)?)))
            .collect();
        let counter = Largest::new(self, books, odds, f64::from(at_odds) / 100.0);
        let mut products = Vec::new();
        for it in odds.products() {
            let weeks = ends.iter().map(|(_, week)| *week);
            let plants: Result<Vec<u32>, AppError> = weeks
                .map(|week| counter.of(&it.variety, &it.rootstock, &it.size, week))
                .collect();
            let plants = plants?;
            if plants.iter().any(|plants| *plants > 0) {
                products.push(AvailableProduct {
                    variety: it.variety,
                    rootstock: it.rootstock,
                    size: it.size,
                    plants,
                });
            }
        }
        Ok(Available {
            at_odds,
            futures: odds.answer.futures,
            months: ends.into_iter().map(|(day, _)| day).collect(),
            products,
        })
    }
}

fn refused(what: String, mend: &str) -> AppError {
    AppError::new(Kind::Invalid, what, "the availability list", mend)
}

/// The last days of the month of a day and of those after it.
fn month_ends(day: Date, months: u32) -> impl Iterator<Item = Date> {
    (0..months).filter_map(move |ahead| {
        let month = day
            .first_of_month()
            .checked_add(i64::from(ahead).months())
            .ok()?;
        Some(month.last_of_month())
    })
}

/// The last week that ends by a day, counted from the first that the futures play; none outside of them.
fn week_of(odds: &OddsNow, day: Date) -> Option<i32> {
    // A week that ends in the next month is not yet over.
    let monday = day.checked_sub(6.days()).ok()?;
    let week = crate::ledger::iso_week(monday);
    let monday = parse_week(&week).map(ISOWeekDate::date)?;
    let week = odds.season.calendar.week_of(monday);
    let inside = (0..odds.season.weeks as i64).contains(&week);
    inside.then(|| i32::try_from(week).ok()).flatten()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::month_ends;

    #[test]
    fn months_end_on_their_last_day_over_the_turn_of_the_year() {
        let ends: Vec<_> = month_ends(date(2027, 11, 30), 4).collect();
        assert_eq!(
            ends,
            [
                date(2027, 11, 30),
                date(2027, 12, 31),
                date(2028, 1, 31),
                date(2028, 2, 29)
            ]
        );
    }
}
