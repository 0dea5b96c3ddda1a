//! The weeks in which a tree is set.

use super::site_year::{FROST_ODDS, SiteYear, WEEKS, weeks_ahead};
use crate::planting::RootedTree;
use crate::range::OutOfRange;
use crate::water::WaterDay;

/// Weeks without frost that a set tree is given; common practice, from memory.
const FROST_FREE_WEEKS: usize = 12;
/// Warmth of the soil from which roots take hold, °C; from memory.
const WARM_SOIL_C: f64 = 15.0;
/// Weeks of warm soil from the setting on, this one counted. Own rule, from common practice.
const WARM_WEEKS: usize = 6;
/// A newly set tree whose ball does not last so long without water is set in another week, days. Own rule.
const HOT_DAYS: f64 = 2.0;
/// Rain that makes up for that, by reference evapotranspiration. Own rule.
const WET_SHARE: f64 = 0.5;
/// Mean of the highest temperatures from which on weeks without rain are left out, °C. Own rule.
const HOT_C: f64 = 28.0;
/// Rain that makes up for that, by reference evapotranspiration. Own rule.
const RAINLESS_SHARE: f64 = 0.25;
/// Weeks of a window below which another one is gone by, if there is one. Own rule.
const LEAST_WEEKS: usize = 4;
/// Mean of the highest temperatures above which citrus stops to grow, °C: NSW DPI, Primefact 749 (2007).
const TOO_HOT_C: f64 = 35.0;

/// Whether a week suits the setting of a tree; where not, why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fit {
    /// It does.
    Good,
    /// A frost that kills soft flush is likely before the tree has taken hold.
    Frost,
    /// Soil is or soon will be too cold for roots to grow.
    ColdSoil,
    /// Too hot and dry.
    HotDry,
}

/// A week of the year for setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantingWeek {
    /// Whether it suits.
    pub fit: Fit,
    /// How long the ball of a tree just set lasts without water, days; none where nothing evaporates.
    pub lasts_days: Option<f64>,
}

/// Weeks in a row that suit, over the turn of the year where need be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    /// The first, from 0.
    pub first: usize,
    /// How many.
    pub weeks: usize,
}

impl Window {
    /// The last, from 0.
    pub fn last(&self) -> usize {
        (self.first + self.weeks.max(1) - 1) % WEEKS
    }
}

/// When trees are set at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantingSeasons {
    weeks: Vec<PlantingWeek>,
    windows: Vec<Window>,
    start: Option<usize>,
}

impl PlantingSeasons {
    /// Every week, ISO week 1 first.
    pub fn weeks(&self) -> &[PlantingWeek] {
        &self.weeks
    }

    /// The windows, the one after the coldest week first.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// The week to go by: the first of the first window of four weeks or more, else of the longest; none where no
    /// week suits.
    pub fn start(&self) -> Option<usize> {
        self.start
    }

    /// Whether a tree can be set in a week, from 0.
    pub fn suits(&self, week: usize) -> bool {
        self.weeks[week % WEEKS].fit == Fit::Good
    }
}

/// Returns the weeks of a place's year in which a tree is set.
///
/// # Equation
/// In this order: frost, where any of the 13 weeks from this one on has a night below the limit of soft flush in more
/// than one year in ten; cold soil, where this week or one of the next five is below 15 °C; hot and dry, where
/// the mean highest is above 35 °C, or above 28 °C with rain below a quarter of ET0, or where a ball just set lasts
/// less than 2 days at the week's ET0 and rain is below half of it; else good. Windows are read from the week after the
/// coldest on; the start is the first week of the first that has four weeks or more.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `year` | | of the place | checked by its type |
/// | `tree` | mm | on the day of setting, in the place's soil | checked by its type |
///
/// # Returns
/// 52 weeks and the windows among them.
///
/// # Errors
/// [`OutOfRange`]: none that a place's year could give.
///
/// # Assumptions
/// The tree comes in a pot or with its ball, so that it can be set in any season, and somebody waters it.
///
/// # Source
/// Own rule, from common practice; 35 °C: NSW DPI, Primefact 749 (2007); 15 °C from memory.
///
/// # Checked against
/// `tests/models/planting_out.rs`: three climates against common practice; two hemispheres mirrored.
pub fn planting_seasons(year: &SiteYear, tree: &RootedTree) -> Result<PlantingSeasons, OutOfRange> {
    let weeks: Vec<PlantingWeek> = (0..WEEKS)
        .map(|week| planting_week(year, tree, week))
        .collect::<Result<_, _>>()?;
    let windows = windows(&weeks, (year.coldest() + 1) % WEEKS);
    let first = windows.iter().find(|window| window.weeks >= LEAST_WEEKS);
    let start = first.or_else(|| windows.iter().max_by_key(|window| window.weeks));
    Ok(PlantingSeasons {
        start: start.map(|window| window.first),
        weeks,
        windows,
    })
}

fn planting_week(
    year: &SiteYear,
    tree: &RootedTree,
    week: usize,
) -> Result<PlantingWeek, OutOfRange> {
    let of = year.week(week);
    let day = WaterDay::try_new(of.et0_mm, 0.0)?;
    let lasts_days = tree.stand.days_between(&day);
    let ahead = |weeks: usize| (week..week + weeks).map(|at| year.week(at));
    let is_short = lasts_days.is_some_and(|days| days < HOT_DAYS);
    let lacks = |share: f64| of.rain_mm < share * of.et0_mm;
    let is_hot_dry = of.tmax_c > TOO_HOT_C
        || (of.tmax_c > HOT_C && lacks(RAINLESS_SHARE))
        || (is_short && lacks(WET_SHARE));
    let fit = if ahead(FROST_FREE_WEEKS + 1).any(|week| week.flush_frost > FROST_ODDS) {
        Fit::Frost
    } else if ahead(WARM_WEEKS).any(|week| week.soil_c < WARM_SOIL_C) {
        Fit::ColdSoil
    } else if is_hot_dry {
        Fit::HotDry
    } else {
        Fit::Good
    };
    Ok(PlantingWeek { fit, lasts_days })
}

/// Runs of good weeks, read from a week on once around the year.
fn windows(weeks: &[PlantingWeek], from: usize) -> Vec<Window> {
    let is_good = |at: usize| weeks[at % WEEKS].fit == Fit::Good;
    if (0..WEEKS).all(is_good) {
        return vec![Window {
            first: from,
            weeks: WEEKS,
        }];
    }
    // Reading begins where no window is cut in two.
    let Some(begin) = (from..from + WEEKS).find(|at| !is_good(*at)) else {
        return Vec::new();
    };
    let mut found: Vec<Window> = Vec::new();
    let mut before = false;
    for at in begin..begin + WEEKS {
        match (is_good(at), before) {
            (true, false) => found.push(Window {
                first: at % WEEKS,
                weeks: 1,
            }),
            (true, true) => {
                if let Some(window) = found.last_mut() {
                    window.weeks += 1;
                }
            }
            (false, _) => {}
        }
        before = is_good(at);
    }
    found.sort_by_key(|window| weeks_ahead(from, window.first));
    found
}
