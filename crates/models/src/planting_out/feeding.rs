//! What a tree is fed where it stays, and when.

use libm::pow;

use super::site_year::{FROST_ODDS, GROWTH_C, SiteYear, WEEKS, weeks_ahead};
use super::spacing::Vigor;
use crate::range::{OutOfRange, within};

/// Coated fertilizer at planting, g; common practice.
const PLANTING_G: f64 = 50.0;
/// Nitrogen of a tree's first, second, third and fourth year, g.
///
/// First: little, since a first year has shown no response to nitrogen (Guazzelli et al., HortTechnology) and 50 g is the
/// most (NSW DPI 2004). Second: 170 g, at which trunks were thickest (Guazzelli et al.); UF SL253 (2020) has 136 to 272 g,
/// from memory. Third: within 204 to 408 g (UF SL253, from memory) and the 181 to 249 g of young bearing navels in Arizona
/// (Thompson et al.); later the most of those.
pub const NITROGEN_BY_YEAR_G: [f64; 4] = [30.0, 170.0, 230.0, 249.0];
/// What smaller trees get of it from the second year on, dwarf first; common practice.
const SHARE_BY_VIGOR: [f64; 5] = [0.5, 0.8, 1.0, 1.0, 1.0];
/// Share of a year's feed at the end of winter, where both are given; common practice.
const SPRING_SHARE: f64 = 0.6;
/// Weeks that soft growth after a feed takes to harden; from memory.
const HARDENING_WEEKS: usize = 10;
/// Weeks after the warmest by which summer ends. Own rule.
const SUMMER_END_WEEKS: usize = 6;
/// Weeks after the feed at the end of winter at which the rest is given where a late one would be harmful. Own rule.
const EARLY_SUMMER_WEEKS: usize = 10;
/// Weeks after setting before which nothing is given besides what is in the ground. Own rule, from common practice.
const REST_WEEKS: usize = 6;
/// A year has so many weeks, on which longevities in months are counted.
const WEEKS_A_MONTH: f64 = 52.18 / 12.0;
/// Longevities that coated fertilizers are sold with, months; common practice.
pub const COATED_LONGEVITIES: [f64; 4] = [4.0, 6.0, 9.0, 12.0];

/// A coated (slow-release) fertilizer, whose release follows the warmth of the soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoatedFertilizer {
    nominal_months: f64,
    nominal_c: f64,
    q10: f64,
}

impl CoatedFertilizer {
    /// Nominal longevity (1 to 24 months) at a temperature (15 to 30 °C), and how much faster it releases 10 °C warmer
    /// (1.2 to 3).
    pub fn try_new(nominal_months: f64, nominal_c: f64, q10: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            nominal_months: within("longevity", nominal_months, (1.0, 24.0), " months")?,
            nominal_c: within(
                "temperature of the longevity",
                nominal_c,
                (15.0, 30.0),
                " °C",
            )?,
            q10: within("Q10", q10, (1.2, 3.0), "")?,
        })
    }

    /// Nominal longevity at 21 °C, as most labels tell it, and Q10 2; both from memory.
    pub fn of_label(nominal_months: f64) -> Result<Self, OutOfRange> {
        Self::try_new(nominal_months, 21.0, 2.0)
    }

    /// Its nominal longevity, months.
    pub fn nominal_months(&self) -> f64 {
        self.nominal_months
    }

    /// How long it lasts at one temperature, months.
    pub fn months_at(&self, soil_c: f64) -> f64 {
        self.nominal_months * pow(self.q10, (self.nominal_c - soil_c) / 10.0)
    }
}

/// Returns how many weeks a coated fertilizer lasts from a week of the place's year on.
///
/// # Equation
/// Months at one temperature: nominal · Q10^((Tref − T)/10). Released after n weeks: Σ 1/(weeks at the soil's
/// temperature of each); it lasts until that is 1.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `year` | °C | of the place | checked by its type |
/// | `coated` | months, °C | | checked by its type |
/// | `start` | | week, from 0 | any |
///
/// # Returns
/// Weeks, 260 at most.
///
/// # Assumptions
/// Soil is moist. A maker's longevity is a laboratory estimate from which the field may be far (Jacobs 2005).
///
/// # Source
/// Jacobs 2005 (release follows temperature); Q10 of 2 and 21 °C from memory.
///
/// # Checked against
/// `tests/models/planting_out.rs`: nominal 9 months at 21 °C are 6.82 at 25, 4.82 at 30 and 13.64 at 15 °C.
pub fn coated_weeks(year: &SiteYear, coated: &CoatedFertilizer, start: usize) -> usize {
    const MOST_WEEKS: usize = 5 * WEEKS;
    let mut released = 0.0;
    for after in 0..MOST_WEEKS {
        released += 1.0 / (coated.months_at(year.week(start + after).soil_c) * WEEKS_A_MONTH);
        if released >= 1.0 {
            return after + 1;
        }
    }
    MOST_WEEKS
}

/// The season of a feed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FeedSeason {
    /// When winter ends.
    EndOfWinter,
    /// In early summer, in place of a late one.
    EarlySummer,
    /// When summer ends.
    EndOfSummer,
}

/// Why a feed is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FeedKind {
    /// It is given.
    Given,
    /// It is left out: growth from it would meet frost.
    LeftOutForFrost,
}

/// A feed of a year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feed {
    /// Year since setting, 1 the first; the last stands for all that follow.
    pub year: usize,
    /// The season.
    pub season: FeedSeason,
    /// The week, from 0.
    pub week: usize,
    /// Weeks since setting.
    pub after: usize,
    /// Nitrogen, g a tree; 0 where it is left out.
    pub nitrogen_g: f64,
    /// Whether it is given.
    pub kind: FeedKind,
    /// Odds of a night that kills soft flush in the worst week before growth from it has hardened.
    pub frost: f64,
}

/// The feed at planting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstFeed {
    /// Coated fertilizer, g a tree.
    pub grams: f64,
    /// Nitrogen in it, g.
    pub nitrogen_g: f64,
    /// Longevity to choose, months as on the label.
    pub nominal_months: f64,
    /// Weeks it lasts in this soil.
    pub weeks: usize,
}

/// What a tree is fed.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedPlan {
    /// At planting.
    pub first: FirstFeed,
    /// Later feeds in order; those of the fourth year stand for all that follow.
    pub feeds: Vec<Feed>,
    /// Nitrogen of each year, that at planting with it, g a tree.
    pub nitrogen_by_year_g: [f64; 4],
}

/// Returns what a tree is fed.
///
/// # Equation
/// At planting 50 g of coated fertilizer; of the longevities sold the longest that has ended ten weeks before the next
/// week of frost, else the shortest. Then the year's nitrogen N ([`NITROGEN_BY_YEAR_G`], times the vigor's share from the second year on,
/// less that at planting in the first): 0.6 N at the end of winter, the first week after the coldest whose soil is and
/// stays 13 °C for four weeks; 0.4 N six weeks after the warmest. Where a week within ten of that has a night that kills soft flush in more
/// than one year in ten, it is left out, and 0.4 N is given ten weeks after the end of winter. Feeds within six weeks of the
/// setting are left to what is in the ground.
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `year` | | of the place | checked by its type |
/// | `vigor` | | of the rootstock | any |
/// | `start` | | week of setting, from 0 | held to the year |
/// | `coated_nitrogen` | share | of the coated fertilizer | 0.05 to 0.46 |
///
/// # Returns
/// g of nitrogen a tree.
///
/// # Errors
/// [`OutOfRange`].
///
/// # Assumptions
/// Soil of middling fertility, no feed with the water. A leaf analysis goes before these figures.
///
/// # Source
/// Given at [`NITROGEN_BY_YEAR_G`]; seasons and 50 g: common practice.
///
/// # Checked against
/// `tests/models/planting_out.rs`: each figure against its source.
pub fn feeding(
    year: &SiteYear,
    vigor: Vigor,
    start: usize,
    coated_nitrogen: f64,
) -> Result<FeedPlan, OutOfRange> {
    let share = within(
        "nitrogen of the coated fertilizer",
        coated_nitrogen,
        (0.05, 0.46),
        "",
    )?;
    let start = start % WEEKS;
    let first = first_feed(year, start, share)?;
    let mut by_year = NITROGEN_BY_YEAR_G;
    for grams in by_year.iter_mut().skip(1) {
        *grams *= SHARE_BY_VIGOR[vigor as usize];
    }
    let mut feeds: Vec<Feed> = Vec::new();
    for (index, grams) in by_year.iter().enumerate() {
        let left = if index == 0 {
            grams - first.nitrogen_g
        } else {
            *grams
        };
        feeds.extend(feeds_of_year(year, start, index, left.max(0.0)));
    }
    feeds.sort_by_key(|feed| feed.after);
    by_year[0] = first.nitrogen_g + given(&feeds, 1);
    Ok(FeedPlan {
        first,
        nitrogen_by_year_g: by_year,
        feeds,
    })
}

fn given(feeds: &[Feed], year: usize) -> f64 {
    let of_year = feeds.iter().filter(|feed| feed.year == year);
    of_year.map(|feed| feed.nitrogen_g).sum()
}

fn first_feed(year: &SiteYear, start: usize, share: f64) -> Result<FirstFeed, OutOfRange> {
    let until_frost = (0..WEEKS).find(|after| year.week(start + after).flush_frost > FROST_ODDS);
    let most = until_frost.map_or(WEEKS, |weeks| weeks.saturating_sub(HARDENING_WEEKS));
    let mut chosen = None;
    for months in COATED_LONGEVITIES {
        let weeks = coated_weeks(year, &CoatedFertilizer::of_label(months)?, start);
        if chosen.is_none() || weeks <= most {
            chosen = Some((months, weeks));
        }
    }
    let (nominal_months, weeks) = chosen.unwrap_or((COATED_LONGEVITIES[0], 0));
    Ok(FirstFeed {
        grams: PLANTING_G,
        nitrogen_g: PLANTING_G * share,
        nominal_months,
        weeks,
    })
}

/// The week in which winter ends for roots: the first after the coldest whose soil is and stays warm; where soil is
/// never cold, eight weeks after it.
fn end_of_winter(year: &SiteYear) -> usize {
    const WARM_WEEKS: usize = 4;
    const WITHOUT_COLD: usize = 8;
    let coldest = year.coldest();
    let is_cold = |at: usize| year.week(at).soil_c < GROWTH_C;
    if !(0..WEEKS).any(is_cold) {
        return (coldest + WITHOUT_COLD) % WEEKS;
    }
    let stays_warm = |at: &usize| (*at..at + WARM_WEEKS).all(|week| !is_cold(week));
    (coldest..coldest + WEEKS)
        .find(stays_warm)
        .unwrap_or(coldest + WITHOUT_COLD)
        % WEEKS
}

fn feeds_of_year(year: &SiteYear, start: usize, index: usize, nitrogen_g: f64) -> Vec<Feed> {
    let spring = end_of_winter(year);
    let late = (year.warmest() + SUMMER_END_WEEKS) % WEEKS;
    let frost = (late..=late + HARDENING_WEEKS)
        .map(|week| year.week(week).flush_frost)
        .fold(0.0, f64::max);
    let early = (spring + EARLY_SUMMER_WEEKS) % WEEKS;
    let meets_frost = frost > FROST_ODDS;
    let rest = nitrogen_g * (1.0 - SPRING_SHARE);
    let feed = |season, week, nitrogen_g, kind, frost| Feed {
        year: index + 1,
        season,
        week,
        after: weeks_ahead(start, week) + index * WEEKS,
        nitrogen_g,
        kind,
        frost,
    };
    let mut feeds = vec![feed(
        FeedSeason::EndOfWinter,
        spring,
        nitrogen_g * SPRING_SHARE,
        FeedKind::Given,
        0.0,
    )];
    if meets_frost {
        feeds.push(feed(
            FeedSeason::EarlySummer,
            early,
            rest,
            FeedKind::Given,
            0.0,
        ));
        feeds.push(feed(
            FeedSeason::EndOfSummer,
            late,
            0.0,
            FeedKind::LeftOutForFrost,
            frost,
        ));
    } else {
        feeds.push(feed(
            FeedSeason::EndOfSummer,
            late,
            rest,
            FeedKind::Given,
            frost,
        ));
    }
    // In the first year, what comes soon after the setting is left to what is in the ground.
    feeds.retain(|feed| feed.after >= REST_WEEKS && feed.after < (index + 1) * WEEKS);
    feeds
}
