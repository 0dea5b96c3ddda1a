//! Reference evapotranspiration of every day of a record.

use jiff::civil::Date;

use super::of_day::{
    DayAir, Evapotranspiration, Formula, ReferenceSite, TemperatureOrigin, of_weather,
};
use crate::calendar::{days_between, plus_days, signed};
use crate::fill::FilledRecord;
use crate::series::DailySeries;
use crate::solar::SunOfDay;
use crate::weather::{DailyRecord, Day};

/// The reference evapotranspiration of consecutive days.
#[derive(Debug, Clone, PartialEq)]
pub struct EvapotranspirationRecord {
    first: Date,
    days: Vec<Evapotranspiration>,
    last_measured: Option<Date>,
}

impl EvapotranspirationRecord {
    /// The first date.
    pub fn first(&self) -> Date {
        self.first
    }

    /// Every day from the first date on.
    pub fn days(&self) -> &[Evapotranspiration] {
        &self.days
    }

    /// The day of a date, `None` outside the record.
    pub fn on(&self, date: Date) -> Option<&Evapotranspiration> {
        let index = usize::try_from(days_between(self.first, date)).ok()?;
        self.days.get(index)
    }

    /// mm of each day by the equation to go by on it.
    pub fn mm(&self) -> DailySeries {
        self.series(Evapotranspiration::mm)
    }

    /// mm of each day by one of the equations.
    pub fn mm_by(&self, formula: Formula) -> DailySeries {
        self.series(|day| day.by(formula))
    }

    fn series(&self, mm: impl Fn(&Evapotranspiration) -> f64) -> DailySeries {
        let values = self.days.iter().map(mm).collect();
        DailySeries::new(self.first, values, self.last_measured)
    }
}

/// Returns the reference evapotranspiration of every day of a record.
///
/// # Equation
/// [`day_evapotranspiration`](super::day_evapotranspiration) of each day with the temperatures of
/// the filled record.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | see [`Day`] | daily, with its gaps | |
/// | `filled` | °C | the same days, from [`fill`](crate::fill()) of the record | |
/// | `site` | see [`ReferenceSite`] | constants | checked by its type |
///
/// # Returns
/// One day for each of the filled record. Where the other record lacks a day, only its filled
/// temperatures are known.
///
/// # Errors
/// None: the site is a checked type.
///
/// # Assumptions
/// Those of [`day_evapotranspiration`](super::day_evapotranspiration); the mean of a day is the
/// middle of its extremes.
///
/// # Source
/// Allen et al. 1998, FAO-56.
///
/// # Checked against
/// `tests/models/evapotranspiration.rs`: the same as day by day at Jeju.
///
/// # Examples
/// ```
/// use jiff::civil::date;
/// use models::{DailyRecord, Day, ReferenceSite, daily_evapotranspiration, fill};
///
/// let day = Day { tmin: Some(15.0), tmax: Some(28.0), ..Day::default() };
/// let days = date(2025, 1, 1).series(jiff::Span::new().days(1)).take(365).map(|d| (d, day));
/// let record = DailyRecord::new(None, days).expect("days");
/// let site = ReferenceSite::try_new(37.5, 20.0, true).expect("a site");
/// let water = daily_evapotranspiration(&record, &fill(&record)?, &site).mm();
/// let (june, december) = (date(2025, 6, 21), date(2025, 12, 21));
/// assert!(water.on(june) > water.on(december));
/// # Ok::<(), models::FillError>(())
/// ```
pub fn daily_evapotranspiration(
    record: &DailyRecord,
    filled: &FilledRecord,
    site: &ReferenceSite,
) -> EvapotranspirationRecord {
    let year: Vec<SunOfDay> = (1..=366)
        .map(|day| SunOfDay::at(site.latitude_deg(), day))
        .collect();
    let nothing = Day::default();
    let offset = days_between(record.first(), filled.first());
    let days = filled.days().iter().enumerate().map(|(index, extremes)| {
        let date = plus_days(filled.first(), signed(index));
        let day = usize::try_from(signed(index) + offset)
            .ok()
            .and_then(|index| record.days().get(index))
            .unwrap_or(&nothing);
        let origin = match day {
            Day { is_made: true, .. } => TemperatureOrigin::Made,
            Day {
                tmin: Some(_),
                tmax: Some(_),
                ..
            } => TemperatureOrigin::Measured,
            _ => TemperatureOrigin::Filled,
        };
        let air = DayAir {
            extremes: *extremes,
            tmean_c: None,
            origin,
        };
        of_weather(day, &air, site, &year[date.day_of_year() as usize - 1])
    });
    EvapotranspirationRecord {
        first: filled.first(),
        days: days.collect(),
        last_measured: filled.last_measured(),
    }
}
