//! The water of a tree's first year where it stays.

use jiff::civil::Date;

use super::setting::Hole;
use super::site_year::{SiteYear, WEEKS};
use crate::calendar::{days_between, plus_days, signed};
use crate::irrigation::Application;
use crate::planting::{NewTree, RootedTree};
use crate::range::OutOfRange;
use crate::water::{Soil, WaterDay, next_watering};

/// A set tree is looked at and watered at least so often until it has taken hold, days (NSW DPI).
const LEAST_OFTEN_DAYS: f64 = 7.0;

/// How a week of the first year is watered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WateringWeek {
    /// The week of the year, from 0.
    pub week: usize,
    /// Days that the roots' water lasts in dry weather, by the balance; none where nothing evaporates.
    pub lasts_days: Option<f64>,
    /// Whole days between waterings in dry weather: those, but at least weekly; 0 is twice a day or more.
    pub every_days: u32,
    /// Liters a tree each time, with losses.
    pub liters: f64,
    /// Liters a tree in this week in a dry year.
    pub dry_liters: f64,
    /// Waterings in this week, mean of the past years with their rain.
    pub mean_times: f64,
    /// Liters a tree in this week, mean of the past years with their rain.
    pub mean_liters: f64,
}

/// Weeks in a row that are watered alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WateringSpell {
    /// The first week after setting, from 0.
    pub first: usize,
    /// How many.
    pub weeks: usize,
    /// Days between waterings in dry weather, least and most.
    pub every_days: (u32, u32),
    /// Liters a tree each time, mean.
    pub liters: f64,
    /// Waterings a week of the past years with their rain, mean.
    pub mean_times: f64,
}

/// The water of the first year.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstYear {
    /// The week of setting, from 0.
    pub start: usize,
    /// Each of the 52 weeks from the setting on.
    pub weeks: Vec<WateringWeek>,
    /// The same by spells.
    pub spells: Vec<WateringSpell>,
    /// Liters a tree in the driest week of the first, second and third year, no rain counted.
    pub most_liters: [f64; 3],
    /// Past years of which the rain was taken.
    pub years: usize,
}

/// What water is counted with.
struct Ground<'a> {
    year: &'a SiteYear,
    tree: &'a NewTree,
    soil: Soil,
    hole: &'a Hole,
    losses: Application,
    start: usize,
}

impl Ground<'_> {
    /// Weeks of growth from the setting until the week begins.
    fn grown(&self, after: usize) -> f64 {
        let weeks = (0..after).filter(|back| self.year.week(self.start + back).grows());
        weeks.count() as f64
    }

    fn roots(&self, after: usize) -> Result<RootedTree, OutOfRange> {
        self.tree.after(self.grown(after), self.soil)
    }

    /// Liters for so many mm on the roots: as deep a wetting of the whole basin, with losses.
    fn liters(&self, roots: &RootedTree, mm: f64) -> f64 {
        self.losses
            .gross(mm * self.hole.basin_m2().max(roots.root_area_m2))
    }

    fn day(&self, after: usize) -> Result<WaterDay, OutOfRange> {
        WaterDay::try_new(self.year.week(self.start + after).et0_mm, 0.0)
    }
}

/// Returns how a tree set in a week is watered in its first year.
///
/// # Equation
/// For each week w the tree after g weeks of growth ([`NewTree::after`]), g those of the weeks since setting whose mean
/// is 13 °C or more: it lasts RAW/(k ET0) days ([`crate::water::Stand::days_between`]) at the week's mean ET0. Told:
/// the whole days of that, 7 at most. Each time min(RAW, days · use) is brought back, as mm on the basin or,
/// once they reach beyond it, on the roots. With rain: the balance of every day of every past year from the
/// setting on, watered in the morning of the day at whose end depletion would reach RAW ([`next_watering`]).
///
/// # Inputs
/// | name | unit | shape | valid range |
/// |---|---|---|---|
/// | `year` | | of the place, with its days | checked by its type |
/// | `tree`, `soil`, `hole` | | | checked by their types |
/// | `start` | | week of setting, from 0 | held to the year |
///
/// # Returns
/// 52 weeks, spells of weeks alike, and the greatest need of three years.
///
/// # Errors
/// [`OutOfRange`]: none that checked types could give.
///
/// # Assumptions
/// Those of [`NewTree::after`]. A person waters the whole basin, of which roots hold only a part at first.
///
/// # Source
/// Allen et al. 1998, FAO-56, ch. 8; at least weekly: NSW DPI; basin: common practice.
///
/// # Checked against
/// `tests/models/planting_out.rs`: three climates against common practice (every three to four days for two to three
/// weeks of a mild season, then about weekly; daily to every second day in heat; 4 to 8 liters each time).
pub fn first_year_water(
    year: &SiteYear,
    tree: &NewTree,
    soil: Soil,
    hole: &Hole,
    start: usize,
) -> Result<FirstYear, OutOfRange> {
    let ground = Ground {
        year,
        tree,
        soil,
        hole,
        losses: Application::DRIP,
        start: start % WEEKS,
    };
    let (told, years) = with_rain(&ground)?;
    let weeks: Vec<WateringWeek> = told
        .iter()
        .enumerate()
        .map(|(after, mean)| watering_week(&ground, after, *mean))
        .collect::<Result<_, _>>()?;
    Ok(FirstYear {
        start: ground.start,
        spells: spells(&weeks),
        most_liters: [
            most_liters(&ground, 0)?,
            most_liters(&ground, 1)?,
            most_liters(&ground, 2)?,
        ],
        weeks,
        years,
    })
}

fn watering_week(
    ground: &Ground<'_>,
    after: usize,
    (mean_times, mean_liters): (f64, f64),
) -> Result<WateringWeek, OutOfRange> {
    let (roots, day) = (ground.roots(after)?, ground.day(after)?);
    let lasts_days = roots.stand.days_between(&day);
    let use_mm = roots.stand.full_use_mm(&day);
    let every = lasts_days.unwrap_or(LEAST_OFTEN_DAYS).min(LEAST_OFTEN_DAYS);
    // Where a store lasts less than a day, several waterings a day share its need.
    let times_a_day = if every < 1.0 {
        (1.0 / every).ceil()
    } else {
        1.0
    };
    let mm = use_mm * every.floor().max(1.0) / times_a_day;
    Ok(WateringWeek {
        week: (ground.start + after) % WEEKS,
        lasts_days,
        every_days: every.floor() as u32,
        liters: ground.liters(&roots, mm),
        dry_liters: ground.liters(&roots, 7.0 * use_mm),
        mean_times,
        mean_liters,
    })
}

/// The greatest weekly need of a year after setting, no rain counted, liters.
fn most_liters(ground: &Ground<'_>, years: usize) -> Result<f64, OutOfRange> {
    let mut most = 0.0_f64;
    let grown = ground.grown(WEEKS) * years as f64;
    for after in 0..WEEKS {
        let roots = ground
            .tree
            .after(grown + ground.grown(after), ground.soil)?;
        let mm = 7.0 * roots.stand.full_use_mm(&ground.day(after)?);
        most = most.max(ground.liters(&roots, mm));
    }
    Ok(most)
}

/// Waterings and liters of each week after setting, means of the place's years, and how many years.
fn with_rain(ground: &Ground<'_>) -> Result<(Vec<(f64, f64)>, usize), OutOfRange> {
    let roots: Vec<RootedTree> = (0..WEEKS)
        .map(|after| ground.roots(after))
        .collect::<Result<_, _>>()?;
    let (first, days) = (ground.year.first(), ground.year.days());
    let last = plus_days(first, signed(days.len()));
    let mut sums = vec![(0.0, 0.0); WEEKS];
    let mut years = 0_u32;
    for year in first.year()..=last.year() {
        let begin = monday(year, ground.start).map(|monday| days_between(first, monday));
        let begin = begin.and_then(|begin| usize::try_from(begin).ok());
        let Some(days) = begin.and_then(|begin| days.get(begin..begin + 7 * WEEKS)) else {
            continue;
        };
        years += 1;
        play(ground, &roots, days, &mut sums)?;
    }
    let count = f64::from(years.max(1));
    let means = sums
        .into_iter()
        .map(|(times, liters)| (times / count, liters / count));
    Ok((means.collect(), years as usize))
}

/// The Monday of an ISO week, from 0.
fn monday(year: i16, week: usize) -> Option<Date> {
    let fourth = Date::new(year, 1, 4).ok()?;
    let back = i64::from(fourth.weekday().to_monday_zero_offset());
    Some(plus_days(fourth, 7 * week as i64 - back))
}

/// One past year: its waterings and liters are added week by week.
fn play(
    ground: &Ground<'_>,
    roots: &[RootedTree],
    days: &[WaterDay],
    sums: &mut [(f64, f64)],
) -> Result<(), OutOfRange> {
    let mut depletion_mm = 0.0;
    for ((days, tree), sum) in days.chunks(7).zip(roots).zip(sums) {
        for day in days {
            let one = std::slice::from_ref(day);
            let watering = next_watering(&tree.stand, depletion_mm, one, &ground.losses);
            let given = watering.map_or(0.0, |watering| watering.net_mm);
            if let Some(watering) = watering {
                sum.0 += f64::from(watering.times);
                sum.1 += ground.liters(tree, watering.net_mm);
            }
            depletion_mm = tree.stand.day(depletion_mm, day, given)?.depletion_mm;
        }
    }
    Ok(())
}

/// Which intervals are told as one: twice a day or more, daily, every second day, 3 to 4, 5 to 6, weekly.
fn alike(every_days: u32) -> u32 {
    match every_days {
        0..=2 => every_days,
        3..=4 => 3,
        5..=6 => 5,
        _ => 7,
    }
}

fn spells(weeks: &[WateringWeek]) -> Vec<WateringSpell> {
    let runs = weeks.chunk_by(|one, next| alike(one.every_days) == alike(next.every_days));
    let mut first = 0;
    let mut told = Vec::new();
    for run in runs {
        let count = run.len() as f64;
        let mean = |of: fn(&WateringWeek) -> f64| run.iter().map(of).sum::<f64>() / count;
        let days = || run.iter().map(|week| week.every_days);
        told.push(WateringSpell {
            first,
            weeks: run.len(),
            every_days: (days().min().unwrap_or(0), days().max().unwrap_or(0)),
            liters: mean(|week| week.liters),
            mean_times: mean(|week| week.mean_times),
        });
        first += run.len();
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_are_told_in_the_trades_steps() {
        let steps: Vec<u32> = (0..9).map(alike).collect();
        assert_eq!(steps, [0, 1, 2, 3, 3, 5, 5, 7, 7]);
    }

    #[test]
    fn a_week_of_any_year_begins_on_a_monday() {
        for year in 2000..2030 {
            let found = monday(year, 11).expect("a date");
            assert_eq!(found.iso_week_date().week(), 12);
            assert_eq!(found.weekday(), jiff::civil::Weekday::Monday);
        }
    }
}
