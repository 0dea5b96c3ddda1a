//! A place's year, week by week, from its days.

use jiff::civil::Date;

use crate::calendar::{plus_days, signed};
use crate::climate::Climate;
use crate::evapotranspiration::{
    EvapotranspirationRecord, ReferenceSite, daily_evapotranspiration,
};
use crate::fill::FilledRecord;
use crate::frost::Tissue;
use crate::frost_odds::{frost_odds, frost_season_start};
use crate::range::OutOfRange;
use crate::water::WaterDay;
use crate::weather::DailyRecord;

/// Weeks of a year here: the 53rd of long years is counted with the 52nd.
pub const WEEKS: usize = 52;
/// Mean temperature at which citrus begins to grow, °C: NSW DPI, Primefact 749 (2007).
pub const GROWTH_C: f64 = 13.0;
/// Odds of a night that kills soft flush from which on a week is one of frost. Own rule.
pub const FROST_ODDS: f64 = 0.1;
/// Base of the yearly sum of heat, °C: thermal sums of fruit are told with it.
const HEAT_BASE_C: f64 = 12.8;
/// Weeks whose air makes the temperature of the soil around a root ball. Own rule, from common practice.
const SOIL_WEEKS: usize = 4;
/// Days of a year that must be there for its lowest night to count.
const MOST_OF_A_YEAR: usize = 350;

/// A week of a place's year: means over its years.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SiteWeek {
    /// Mean of the lowest temperatures, °C.
    pub tmin_c: f64,
    /// Mean of the highest temperatures, °C.
    pub tmax_c: f64,
    /// The soil around a root ball, °C: mean of the air over four weeks, this one the last.
    pub soil_c: f64,
    /// Reference evapotranspiration, mm a day.
    pub et0_mm: f64,
    /// Rain, mm a day; 0 where nobody knows it.
    pub rain_mm: f64,
    /// Odds of a night that kills soft flush.
    pub flush_frost: f64,
}

impl SiteWeek {
    /// Mean temperature, °C.
    pub fn mean_c(&self) -> f64 {
        f64::midpoint(self.tmin_c, self.tmax_c)
    }

    /// Whether citrus grows in this week.
    pub fn grows(&self) -> bool {
        self.mean_c() >= GROWTH_C
    }
}

/// A place's year.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteYear {
    weeks: [SiteWeek; WEEKS],
    first: Date,
    days: Vec<WaterDay>,
    winter_lows: Vec<f64>,
    heat: f64,
    knows_rain: bool,
    latitude_deg: f64,
}

impl SiteYear {
    /// Weeks, ISO week 1 first.
    pub fn weeks(&self) -> &[SiteWeek; WEEKS] {
        &self.weeks
    }

    /// The week at a place of the year; behind the last week comes the first.
    pub fn week(&self, index: usize) -> &SiteWeek {
        &self.weeks[index % WEEKS]
    }

    /// The first date of its days.
    pub fn first(&self) -> Date {
        self.first
    }

    /// Reference evapotranspiration and rain of every day from the first date on; rain that nobody knows is none.
    pub fn days(&self) -> &[WaterDay] {
        &self.days
    }

    /// The lowest night of each frost season that the record has nearly whole, °C.
    pub fn winter_lows(&self) -> &[f64] {
        &self.winter_lows
    }

    /// Degree-days above 12.8 °C in a mean year, by the mean of each day.
    pub fn heat(&self) -> f64 {
        self.heat
    }

    /// Whether rain is known.
    pub fn knows_rain(&self) -> bool {
        self.knows_rain
    }

    /// Degrees north.
    pub fn latitude_deg(&self) -> f64 {
        self.latitude_deg
    }

    /// The week in which the air is coldest, from 0.
    pub fn coldest(&self) -> usize {
        self.extreme(|one, other| one.mean_c() < other.mean_c())
    }

    /// The week in which the air is warmest, from 0.
    pub fn warmest(&self) -> usize {
        self.extreme(|one, other| one.mean_c() > other.mean_c())
    }

    fn extreme(&self, beats: impl Fn(&SiteWeek, &SiteWeek) -> bool) -> usize {
        let mut best = 0;
        for at in 1..WEEKS {
            if beats(&self.weeks[at], &self.weeks[best]) {
                best = at;
            }
        }
        best
    }

    /// Weeks in which citrus grows.
    pub fn growing_weeks(&self) -> usize {
        self.weeks.iter().filter(|week| week.grows()).count()
    }
}

/// Weeks from one to another, over the turn of the year where need be.
pub fn weeks_ahead(from: usize, to: usize) -> usize {
    (to % WEEKS + WEEKS - from % WEEKS) % WEEKS
}

/// Returns a place's year, week by week.
///
/// # Equation
/// Means over all days of one ISO week, smoothed with the weeks beside it by 1, 2, 1; soil: mean of the air's
/// mean over four weeks, this one the last; lowest nights: by frost season
/// ([`frost_season_start`]); heat: Σ max(0, mean − 12.8) over the weeks, times 7.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `record` | see [`crate::Day`] | daily, with its gaps | |
/// | `filled` | °C | the same days, filled | a year or more |
/// | `site` | | constants | checked by its type |
///
/// # Returns
/// 52 weeks and what follows from them.
///
/// # Errors
/// [`OutOfRange`]: none that a filled record could give.
///
/// # Assumptions
/// Soil at the depth of a root ball follows the air within a month; in fact bare soil is warmer in spring
/// sun and wet soil colder. Made days have milder extremes than real ones.
///
/// # Source
/// Own rule, from common practice; growth from 13 °C: NSW DPI, Primefact 749 (2007).
///
/// # Checked against
/// `tests/models/planting_out.rs`: Jeju's own table; two hemispheres mirrored.
pub fn site_year(
    record: &DailyRecord,
    filled: &FilledRecord,
    site: &ReferenceSite,
) -> Result<SiteYear, OutOfRange> {
    let limit_c = Tissue::SoftFlush.frost_limit_c();
    let odds = frost_odds(filled, &Climate::OPEN_GROUND, limit_c)?;
    let water = daily_evapotranspiration(record, filled, site);
    let mut weeks = means(record, filled, &water);
    for (week, odds) in weeks.iter_mut().zip(&odds) {
        week.flush_frost = odds.odds;
    }
    let air: Vec<f64> = weeks.iter().map(SiteWeek::mean_c).collect();
    for (at, week) in weeks.iter_mut().enumerate() {
        let sum: f64 = (0..SOIL_WEEKS)
            .map(|back| air[(at + WEEKS - back) % WEEKS])
            .sum();
        week.soil_c = sum / SOIL_WEEKS as f64;
    }
    let heat = air
        .iter()
        .map(|mean| 7.0 * (mean - HEAT_BASE_C).max(0.0))
        .sum();
    Ok(SiteYear {
        weeks,
        first: water.first(),
        days: water_days(record, &water)?,
        winter_lows: winter_lows(filled, site.latitude_deg()),
        heat,
        knows_rain: record.days().iter().any(|day| day.rain_mm.is_some()),
        latitude_deg: site.latitude_deg(),
    })
}

fn water_days(
    record: &DailyRecord,
    water: &EvapotranspirationRecord,
) -> Result<Vec<WaterDay>, OutOfRange> {
    let first = water.first();
    let days = water.days().iter().enumerate().map(|(index, water)| {
        let on = record.on(plus_days(first, signed(index)));
        let rain = on.and_then(|day| day.rain_mm).unwrap_or_default();
        WaterDay::try_new(water.mm().max(0.0), rain)
    });
    days.collect()
}

/// Lowest, highest, reference evapotranspiration and rain: sums and how many.
#[derive(Clone, Copy, Default)]
struct Sums {
    of: [f64; 4],
    days: f64,
    rainy_days_known: f64,
}

/// The place in the year of a date's week.
pub(super) fn week_index(date: Date) -> usize {
    (date.iso_week_date().week() as usize - 1).min(WEEKS - 1)
}

fn means(
    record: &DailyRecord,
    filled: &FilledRecord,
    water: &EvapotranspirationRecord,
) -> [SiteWeek; WEEKS] {
    let mut sums = [Sums::default(); WEEKS];
    for (index, (day, water)) in filled.days().iter().zip(water.days()).enumerate() {
        let date = plus_days(filled.first(), signed(index));
        let sum = &mut sums[week_index(date)];
        let rain = record.on(date).and_then(|day| day.rain_mm);
        sum.days += 1.0;
        sum.rainy_days_known += f64::from(u8::from(rain.is_some()));
        for (total, value) in
            sum.of
                .iter_mut()
                .zip([day.tmin, day.tmax, water.mm(), rain.unwrap_or_default()])
        {
            *total += value;
        }
    }
    let plain = sums.map(|sum| {
        let [low, high, et0, rain] = sum.of;
        let days = sum.days.max(1.0);
        [
            low / days,
            high / days,
            et0 / days,
            rain / sum.rainy_days_known.max(1.0),
        ]
    });
    std::array::from_fn(|at| {
        let beside = |step: usize, of: usize| plain[(at + step) % WEEKS][of];
        let smooth = |of| (beside(WEEKS - 1, of) + 2.0 * beside(0, of) + beside(1, of)) / 4.0;
        SiteWeek {
            tmin_c: smooth(0),
            tmax_c: smooth(1),
            et0_mm: smooth(2),
            rain_mm: smooth(3),
            ..SiteWeek::default()
        }
    })
}

fn winter_lows(filled: &FilledRecord, latitude_deg: f64) -> Vec<f64> {
    let mut seasons: Vec<(Date, usize, f64)> = Vec::new();
    for (index, day) in filled.days().iter().enumerate() {
        let start = frost_season_start(latitude_deg, plus_days(filled.first(), signed(index)));
        match seasons.last_mut().filter(|season| season.0 == start) {
            Some((_, days, low)) => {
                *days += 1;
                *low = low.min(day.tmin);
            }
            None => seasons.push((start, 1, day.tmin)),
        }
    }
    let whole = seasons
        .into_iter()
        .filter(|season| season.1 >= MOST_OF_A_YEAR);
    whole.map(|season| season.2).collect()
}
