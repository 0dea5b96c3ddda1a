//! The weather of a nursery's site.

use std::fmt::Write as _;

use jiff::civil::Date;

use super::weeks_after;
use crate::chance::Chance;

/// No growth below (°C).
const BASE_C: f64 = 12.8;
/// The warmest day of the year.
const WARMEST_DAY: f64 = 208.0;
/// Years of the record.
const YEARS: i16 = 12;
/// How far a usual day's extremes lie apart (°C).
const RANGE_C: f64 = 11.0;

/// A site and the day from which it is looked at.
pub(super) struct Place {
    as_of: Date,
    /// Mean of the year (°C).
    mean_c: f64,
    /// Half the way from the coldest to the warmest day (°C).
    swing_c: f64,
    /// How far whole years are off (°C).
    year_c: f64,
}

impl Place {
    pub fn new(chance: &mut Chance, as_of: Date) -> Self {
        Self {
            as_of,
            mean_c: chance.real(18.0, 19.5),
            swing_c: chance.real(7.0, 8.5),
            year_c: chance.real(0.2, 0.5),
        }
    }

    /// The normal of a day (°C).
    fn normal_c(&self, day: Date) -> f64 {
        let turn = (f64::from(day.day_of_year()) - WARMEST_DAY) / 365.25;
        self.mean_c + self.swing_c * libm::cos(std::f64::consts::TAU * turn)
    }

    /// Degree-days of a week, counted from the day that is looked from, in a usual year and so much
    /// warmer (°C·d).
    pub fn heat(&self, week: i32, warmer_c: f64) -> f64 {
        let middle = weeks_after(self.as_of, week);
        7.0 * (self.normal_c(middle) + warmer_c - BASE_C).max(0.0)
    }

    /// The day of the year on which a week begins, as month and day.
    pub fn month_and_day(&self, week: i32) -> (i8, i8) {
        let day = weeks_after(self.as_of, week);
        (day.month(), day.day())
    }

    /// `weather.csv`, up to the day before the one that is looked from.
    pub fn weather(&self, chance: &mut Chance) -> String {
        let mut day = Date::constant(self.as_of.year() - YEARS, 1, 1);
        let mut text = "date,tmin,tmax,rain_mm\n".to_owned();
        let (mut spell, mut year) = (0.0, self.year_c * unit(chance));
        while day < self.as_of {
            if day.day_of_year() == 1 {
                year = self.year_c * unit(chance);
            }
            spell = 0.72 * spell + 1.7 * unit(chance);
            let half = (RANGE_C + 1.5 * unit(chance)).max(2.0) / 2.0;
            let mean = self.normal_c(day) + year + spell;
            let rain = if chance.yes(0.12) {
                chance.real(0.5, 15.0)
            } else {
                0.0
            };
            writeln!(
                text,
                "{day},{:.1},{:.1},{rain:.1}",
                mean - half,
                mean + half
            )
            .expect("a string takes all");
            day = day.tomorrow().expect("a day of this century");
        }
        text
    }
}

/// About a standard normal number: the sum of twelve.
fn unit(chance: &mut Chance) -> f64 {
    (0..12).map(|_| chance.real(0.0, 1.0)).sum::<f64>() - 6.0
}
