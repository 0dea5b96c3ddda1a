//! Daily weather of one site.
//!
//! Owns the record as it was observed, with its gaps. [`crate::reading`] reads it from a table,
//! [`crate::quality`] takes out what cannot be true, [`crate::fill`](mod@crate::fill) closes the gaps
//! in temperature.

use std::collections::BTreeMap;

use intake::Bounds;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::calendar::{YEARS, days_between, plus_days, signed};

/// Air temperature that a station on earth can show, °C.
pub(crate) const AIR_C: Bounds = Bounds::new(-60.0, 60.0);

/// Where weather was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Site {
    /// The place's name.
    pub name: String,
    /// Degrees north; south is negative.
    pub latitude_deg: f64,
    /// Degrees east; west is negative.
    pub longitude_deg: f64,
    /// Meters above the sea.
    pub elevation_m: f64,
    /// Hours that the place's standard time is ahead of UTC.
    pub time_zone_h: f64,
}

/// One local civil day, midnight to midnight; what was not measured is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Day {
    /// Lowest air temperature, °C.
    pub tmin: Option<f64>,
    /// Highest air temperature, °C.
    pub tmax: Option<f64>,
    /// Rain, mm.
    pub rain_mm: Option<f64>,
    /// Mean relative humidity, %.
    pub humidity_mean: Option<f64>,
    /// Lowest relative humidity, %.
    pub humidity_min: Option<f64>,
    /// Highest relative humidity, %.
    pub humidity_max: Option<f64>,
    /// Mean dew point, °C.
    pub dew_point: Option<f64>,
    /// Mean wind speed, m/s, at `wind_height`.
    pub wind: Option<f64>,
    /// Height of the anemometer above the ground, m.
    pub wind_height: Option<f64>,
    /// Global radiation on level ground, MJ/m².
    pub radiation_mj: Option<f64>,
    /// Hours of bright sunshine.
    pub sunshine_h: Option<f64>,
    /// Whether the day is made from monthly normals and was never measured.
    #[serde(default)]
    pub is_made: bool,
}

/// Consecutive days of one site. Days that the source left out stand as days with nothing known.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyRecord {
    site: Option<Site>,
    first: Date,
    days: Vec<Day>,
}

impl DailyRecord {
    /// Lays days on the calendar, from the earliest to the latest; of two days with one date the
    /// later given stands, and days outside the years 1850 to 2199 are left out. `None` where
    /// there is no day at all.
    pub fn new(site: Option<Site>, days: impl IntoIterator<Item = (Date, Day)>) -> Option<Self> {
        let known: BTreeMap<Date, Day> = days
            .into_iter()
            .filter(|(date, _)| YEARS.contains(&date.year()))
            .collect();
        let (first, _) = known.first_key_value()?;
        let (last, _) = known.last_key_value()?;
        let (first, length) = (*first, days_between(*first, *last) as usize + 1);
        let mut dense = vec![Day::default(); length];
        for (date, day) in known {
            dense[days_between(first, date) as usize] = day;
        }
        Some(Self {
            site,
            first,
            days: dense,
        })
    }

    /// Days that already lie on the calendar, one after the other; `None` where there is none.
    pub(crate) fn of_days(first: Date, days: Vec<Day>) -> Option<Self> {
        (!days.is_empty()).then_some(Self {
            site: None,
            first,
            days,
        })
    }

    /// The days, to take values out of.
    pub(crate) fn days_mut(&mut self) -> &mut [Day] {
        &mut self.days
    }

    /// Where the weather was measured, if the source says so.
    pub fn site(&self) -> Option<&Site> {
        self.site.as_ref()
    }

    /// The first date.
    pub fn first(&self) -> Date {
        self.first
    }

    /// The last date.
    pub fn last(&self) -> Date {
        plus_days(self.first, signed(self.days.len()) - 1)
    }

    /// Every day from the first date on.
    pub fn days(&self) -> &[Day] {
        &self.days
    }

    /// The day of a date, `None` outside the record.
    pub fn on(&self, date: Date) -> Option<&Day> {
        let index = usize::try_from(days_between(self.first, date)).ok()?;
        self.days.get(index)
    }

    /// Days of which the lowest or the highest temperature is missing.
    pub fn days_without_temperature(&self) -> usize {
        self.days
            .iter()
            .filter(|day| day.tmin.is_none() || day.tmax.is_none())
            .count()
    }
}

/// The unit in which a table gives its temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TemperatureUnit {
    /// °C.
    #[default]
    Celsius,
    /// °F.
    Fahrenheit,
}

impl TemperatureUnit {
    /// A temperature in °C as this unit has it.
    pub fn of_celsius(self, celsius: f64) -> f64 {
        match self {
            Self::Celsius => celsius,
            Self::Fahrenheit => celsius * 1.8 + 32.0,
        }
    }

    /// A temperature in this unit as °C.
    pub fn to_celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
        }
    }

    /// Air temperature that a station on earth can show, in this unit.
    pub(crate) fn bounds(self) -> Bounds {
        match self {
            Self::Celsius => AIR_C,
            Self::Fahrenheit => Bounds::new(AIR_C.min * 1.8 + 32.0, AIR_C.max * 1.8 + 32.0),
        }
    }

    /// The unit that a table may have been meant in instead.
    pub(crate) fn other(self) -> Self {
        match self {
            Self::Celsius => Self::Fahrenheit,
            Self::Fahrenheit => Self::Celsius,
        }
    }

    /// As it is written behind a number.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }
}
