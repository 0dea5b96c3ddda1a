//! The courses that the weather of a small nursery may take, made day by day.

use std::collections::BTreeMap;

use crate::chance::Chance;
use crate::small::fates::normal;
use crate::small::nursery::{Loss, Weather};

/// Under glass, °C more than in the open.
const GLASS_C: f64 = 4.0;
/// No growth below (°C).
const BASE_C: f64 = 12.8;
/// Bark slips on days from here on (°C).
const BARK_C: f64 = 15.0;
/// The warmest day of the year, counted from 0.
const WARMEST_DAY: f64 = 205.0;
const YEAR_DAYS: f64 = 365.0;

/// A place and its years.
pub(super) struct Place {
    /// Mean of the year (°C).
    mean_c: f64,
    /// Half the way from the coldest to the warmest day (°C).
    swing_c: f64,
    /// How far whole seasons are off (°C).
    season_c: f64,
    /// The odds of a winter with frost.
    frost: f64,
    /// The day of the year on which week 0 begins.
    first_day: usize,
}

impl Place {
    pub fn new(chance: &mut Chance) -> Self {
        Self {
            mean_c: chance.real(16.5, 19.0),
            swing_c: chance.real(7.0, 9.5),
            season_c: chance.real(0.6, 1.4),
            frost: chance.real(0.1, 0.5),
            first_day: chance.below(365),
        }
    }

    /// The normal of a day (°C).
    fn normal_c(&self, day: usize) -> f64 {
        let of_year = (self.first_day + day) as f64 - WARMEST_DAY;
        let angle = std::f64::consts::TAU * of_year / YEAR_DAYS;
        self.mean_c + self.swing_c * libm::cos(angle)
    }

    /// Degree-days of a day's normal in the open (°C·d).
    pub fn normal_degree_days(&self, day: usize) -> f64 {
        (self.normal_c(day) - BASE_C).max(0.0)
    }

    /// One course of the weather. Frost takes plants of some of the `tender` stages.
    pub fn weather(&self, chance: &mut Chance, weeks: usize, tender: &[String]) -> Weather {
        let days_c = self.days_c(chance, weeks * 7);
        let heat = |more_c: f64| {
            days_c
                .iter()
                .map(|day_c| (day_c + more_c - BASE_C).max(0.0))
                .collect()
        };
        let slips = |days: &[f64]| days.iter().filter(|it| **it >= BARK_C).count() as f64 / 7.0;
        let bark = days_c.chunks(7).map(slips).collect();
        Weather {
            degree_days: [("open", 0.0), ("glass", GLASS_C)]
                .map(|(climate, more_c)| (climate.to_owned(), heat(more_c)))
                .into(),
            windows: BTreeMap::from([("bark".to_owned(), bark)]),
            losses: self.frosts(chance, &days_c, tender),
        }
    }

    /// Days around their normals: seasons that are warm or cold, and within them days that are (°C).
    fn days_c(&self, chance: &mut Chance, days: usize) -> Vec<f64> {
        let (mut season, mut spell) = (normal(chance), 0.0);
        let day_c = |day| {
            season = 0.99 * season + libm::sqrt(1.0 - 0.99 * 0.99) * normal(chance);
            spell = 0.7 * spell + 1.6 * normal(chance);
            self.normal_c(day) + self.season_c * season + spell
        };
        (0..days).map(day_c).collect()
    }

    /// In some winters, a frost in the coldest week.
    fn frosts(&self, chance: &mut Chance, days_c: &[f64], tender: &[String]) -> Vec<Loss> {
        let mut frosts = Vec::new();
        for (winter, days) in days_c.chunks(YEAR_DAYS as usize).enumerate() {
            if !chance.yes(self.frost) {
                continue;
            }
            let coldest = (0..days.len()).min_by(|one, other| days[*one].total_cmp(&days[*other]));
            frosts.push(Loss {
                week: (winter * YEAR_DAYS as usize + coldest.unwrap_or_default()) / 7,
                stages: chance.some(tender.to_vec(), 1 + tender.len() / 2),
                fraction: chance.real(0.05, 0.35),
            });
        }
        frosts
    }
}
