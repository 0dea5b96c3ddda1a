//! What the demo's weather made of what stood: heat, readiness, and weeks in which bark slipped.

use std::collections::BTreeMap;

use anyhow::Result;
use jiff::civil::{Date, date};
use models::{
    BarkRule, Climate, DegreeDayRule, FilledRecord, YearPath, observed_degree_days, slips,
};
use nursery::catalogue::{Catalogue, GrowsWith, Node, Step};
use nursery::ids::{RootstockName, StepName, VarietyName};

use super::draw::{Draw, monday, plus_days};
use super::kinds::{ROOTSTOCKS, Variety};
use super::{AS_OF, LATITUDE, tables};

/// Weeks whose warmth counts before a week in which bark slips.
const WEEKS_BEFORE: u32 = 1;
/// The Monday from which the weather of the diary's years is laid out.
const FIRST_MONDAY: Date = date(2025, 1, 6);

/// The site and what is known of what grows there.
pub struct Site<'a> {
    weather: &'a FilledRecord,
    catalogue: &'a Catalogue,
    bark: BTreeMap<(&'static str, &'static str), Vec<bool>>,
}

impl<'a> Site<'a> {
    /// A site under its weather.
    pub fn under(weather: &'a FilledRecord, catalogue: &'a Catalogue) -> Result<Self> {
        let path = path(weather);
        let mut bark = BTreeMap::new();
        for (rootstock, _) in ROOTSTOCKS {
            let rule = &catalogue.rootstocks[&RootstockName::from(rootstock)].bark;
            let rule = BarkRule::try_new(
                rule.mean_c_min,
                rule.tmax_c_max,
                rule.day_length_h_min,
                WEEKS_BEFORE,
            )?;
            for place in ["rows-1", "house-1"] {
                let weeks = slips(&rule, &path, &climate(place), LATITUDE, FIRST_MONDAY);
                bark.insert((rootstock, place), weeks);
            }
        }
        Ok(Self {
            weather,
            catalogue,
            bark,
        })
    }

    /// Whether bark of a rootstock slipped at a place on a day.
    pub fn bark_slips(&self, rootstock: &'static str, place: &'static str, on: Date) -> bool {
        let week = (monday(on) - FIRST_MONDAY).get_days() / 7;
        self.bark[&(rootstock, place)]
            .get(week as usize)
            .is_some_and(|slips| *slips)
    }

    /// The share of plants that take on average.
    pub fn take(&self, variety: &Variety) -> f64 {
        self.catalogue.varieties[&VarietyName::from(variety.id)].take
    }

    /// The share of a rootstock's seed that comes up.
    pub fn germination(&self, rootstock: &str) -> f64 {
        self.catalogue.rootstocks[&RootstockName::from(rootstock)].germination
    }

    /// The share of a lot that is ready on a day, the lot being a little faster or slower than others.
    pub fn share_ready(&self, draw: &mut Draw, growth: &Growth, until: Date) -> f64 {
        let Node::Step(step) = self.node(growth.step) else {
            return 1.0;
        };
        let heat = observed_degree_days(
            self.weather,
            &climate(growth.place),
            &DegreeDayRule::default(),
            growth.entered,
            until.min(AS_OF),
        ) * self.pace(step, growth);
        let (between, within) = (step.heat.between_lots, step.heat.within_lot);
        let pace = libm::exp(between * (draw.normal() - between / 2.0));
        let middle = step.heat.degree_days * pace;
        let above = (libm::log(heat.max(1e-6) / middle) + within * within / 2.0) / within;
        libm::erfc(-above / std::f64::consts::SQRT_2) / 2.0
    }

    fn pace(&self, step: &Step, growth: &Growth) -> f64 {
        let grows = step.grows_with.iter().map(|with| match with {
            GrowsWith::Rootstock => {
                self.catalogue.rootstocks[&RootstockName::from(growth.rootstock)].growth
            }
            GrowsWith::Variety => growth.variety.map_or(1.0, |variety| {
                self.catalogue.varieties[&VarietyName::from(variety.id)].growth
            }),
        });
        grows.product()
    }

    fn node(&self, step: &str) -> Node<'_> {
        self.catalogue
            .routes
            .node(&StepName::from(step))
            .expect("the demo uses steps of its routes")
    }
}

/// What grows since when and where.
pub struct Growth {
    /// The step it came from.
    pub step: &'static str,
    /// Rootstock.
    pub rootstock: &'static str,
    /// Variety, once budded.
    pub variety: Option<&'static Variety>,
    /// Where it stands.
    pub place: &'static str,
    /// Since when.
    pub entered: Date,
}

fn climate(place: &str) -> Climate {
    let place = tables::place(place);
    Climate::try_new(place.warmer_c, place.set_point_c, place.vent_c)
        .expect("the demo's places have climates in range")
}

/// The diary's years as one course of weather.
fn path(weather: &FilledRecord) -> YearPath {
    let week = |number: i32| {
        let first = plus_days(FIRST_MONDAY, 7 * number);
        std::array::from_fn(|day| weather.on_or_wrapped(plus_days(first, day as i32)))
    };
    let weeks = (AS_OF - FIRST_MONDAY).get_days() / 7;
    YearPath {
        start_year: FIRST_MONDAY.year(),
        before: (-8..0).map(week).collect(),
        weeks: (0..weeks).map(week).collect(),
    }
}
