//! The site's weather as the season needs it: heat by climate and path, bark by rootstock.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use intake::{Problems, RowProblem};
use jiff::civil::Date;
use models::{
    BarkReading, BarkRule, Climate, CorrectedBark, CutOff, DegreeDayRule, Draw, FilledRecord,
    Forecast, Method, Paths, Thresholds, Week, corrected_bark, observed_degree_days, slips,
};
use nursery::Nursery;
use nursery::catalogue::PlaceKind;
use nursery::ids::{PlaceName, RootstockName};

use crate::exposure::Hazards;
use crate::model::{WeatherLoss, WeatherPath};
use crate::stages::kinds_of_place;

/// Weeks before a week whose warmth counts for bark, too.
const BARK_WEEKS_BEFORE: u32 = 1;

/// Courses of weather that plan and futures look at. Of 100 the mean heat of a season is known to a
/// tenth of its spread; more cost time in every mean of the plan.
const DRAWN: Draw = Draw {
    paths: 100,
    seed: 1,
};

/// Which courses of weather are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coming {
    /// Drawn from blocks of past weeks, going on from the last ones; each past year once where the
    /// record is too short to draw from. A forecast lies over their first days.
    Drawn,
    /// Each past year once.
    PastYears,
}

/// Weather by place.
pub struct Sky<'a> {
    record: Cow<'a, FilledRecord>,
    paths: Paths,
    is_drawn: bool,
    rule: DegreeDayRule,
    latitude: f64,
    climates: BTreeMap<PlaceName, Climate>,
    heat: BTreeMap<PlaceName, Vec<Vec<f64>>>,
    bark_rules: BTreeMap<RootstockName, CorrectedBark>,
}

impl<'a> Sky<'a> {
    /// Lays the record's weather over the weeks to come, for every place of the nursery.
    pub fn over(
        nursery: &Nursery,
        record: Cow<'a, FilledRecord>,
        coming: Coming,
        (first_monday, weeks): (Date, usize),
        problems: &mut Problems,
    ) -> Self {
        let settings = &nursery.settings;
        let rule = DegreeDayRule {
            thresholds: Thresholds::try_new(settings.heat.base_c, settings.heat.upper_c)
                .unwrap_or_default(),
            method: Method::SingleSine,
            cut_off: CutOff::Horizontal,
        };
        let climates = climates(nursery, problems);
        let drawn = match coming {
            Coming::Drawn => Paths::drawn(&record, first_monday, weeks, DRAWN),
            Coming::PastYears => None,
        };
        let is_drawn = drawn.is_some();
        let past = || Paths::from_record(&record, first_monday, weeks).after_own_weeks(&record);
        let mut paths = drawn.unwrap_or_else(past);
        if coming == Coming::Drawn {
            let late = settings.planning.spring_later_weeks as usize;
            paths = paths.with_late_spring(late, spring(first_monday, settings.latitude));
        }
        if let (Coming::Drawn, Some(forecast)) = (coming, record.forecast()) {
            paths = paths.under(forecast, DRAWN.seed);
        }
        let heat = climates
            .iter()
            .map(|(place, climate)| {
                let by_path = paths.weekly_degree_days(&record, climate, &rule);
                (place.clone(), by_path)
            })
            .collect();
        let bark_rules = bark_rules(nursery, problems)
            .into_iter()
            .map(|(name, rule)| {
                let notes = readings(nursery, &record, &climates, &name, &rule);
                (name, corrected_bark(&rule, &notes))
            })
            .collect();
        Self {
            record,
            paths,
            is_drawn,
            rule,
            latitude: settings.latitude,
            climates,
            heat,
            bark_rules,
        }
    }

    /// The forecast in use.
    pub fn forecast(&self) -> Option<&Forecast> {
        self.record.forecast()
    }

    /// What is to be known of the courses of weather, where they are few.
    pub fn warning(&self) -> Option<String> {
        let years = self.paths.paths.len();
        let said = if years == 1 { "1 year" } else { "years" };
        (!self.is_drawn).then(|| {
            format!(
                "The weather file has fewer than three whole years: the weather to come is that of its \
                 {said} alone, and the odds are surer than they should be."
            )
        })
    }

    /// How many courses of weather there are.
    pub fn paths(&self) -> usize {
        self.paths.paths.len()
    }

    /// How heat is summed.
    pub fn rule(&self) -> &DegreeDayRule {
        &self.rule
    }

    /// The climate of every place.
    pub fn climates(&self) -> &BTreeMap<PlaceName, Climate> {
        &self.climates
    }

    /// When bark slips on a rootstock, as own notes leave its rule.
    pub fn bark_rule(&self, rootstock: &RootstockName) -> Option<&CorrectedBark> {
        self.bark_rules.get(rootstock)
    }

    /// Weekly degree-days at a place, by path.
    pub fn heat(&self, place: &PlaceName) -> &[Vec<f64>] {
        self.heat.get(place).map_or(&[], Vec::as_slice)
    }

    /// Degree-days at a place from a day until the plan begins.
    pub fn heat_since(&self, place: &PlaceName, from: Date) -> f64 {
        self.heat_between(place, from, self.paths.first_monday)
    }

    /// Degree-days at a place from a day until another.
    pub fn heat_between(&self, place: &PlaceName, from: Date, until: Date) -> f64 {
        self.climates.get(place).map_or(0.0, |climate| {
            observed_degree_days(&self.record, climate, &self.rule, from, until)
        })
    }

    /// The places whose weather is known.
    pub fn places(&self) -> impl Iterator<Item = &PlaceName> {
        self.climates.keys()
    }

    /// By path, in which weeks bark slips on a rootstock at a place.
    pub fn bark(&self, rootstock: &RootstockName, place: &PlaceName) -> Vec<Vec<bool>> {
        let (Some(corrected), Some(climate)) =
            (self.bark_rules.get(rootstock), self.climates.get(place))
        else {
            return Vec::new();
        };
        let rule = &corrected.rule;
        let slipping = |path| slips(rule, path, climate, self.latitude, self.paths.first_monday);
        self.paths.paths.iter().map(slipping).collect()
    }

    /// By week, the share of courses of weather in which bark slips on a rootstock at a place.
    pub fn bark_share(&self, rootstock: &RootstockName, place: &PlaceName) -> Vec<f64> {
        let by_path = self.bark(rootstock, place);
        let weeks = by_path.first().map_or(0, Vec::len);
        let paths = by_path.len().max(1) as f64;
        (0..weeks)
            .map(|week| by_path.iter().filter(|path| path[week]).count() as f64 / paths)
            .collect()
    }

    /// By path and week, as many weeks as asked for, the share of plants at a place that frost and heat leave.
    pub fn kept(&self, place: &PlaceName, hazards: &Hazards, weeks: usize) -> Vec<Vec<f64>> {
        let Some(climate) = self.climates.get(place) else {
            return Vec::new();
        };
        let of_week = |week: &Week| -> f64 {
            let days = week.iter().map(|day| climate.apply(*day));
            days.map(|day| 1.0 - hazards.share_lost(day)).product()
        };
        let paths = self.paths.paths.iter();
        paths
            .map(|path| path.weeks.iter().take(weeks).map(of_week).collect())
            .collect()
    }

    /// The paths as the futures read them, with the windows asked for and the losses of stages that
    /// are exposed alike.
    pub fn weather_paths(
        &self,
        windows: &BTreeMap<String, (RootstockName, PlaceName)>,
        losses: &[(Vec<usize>, &[Vec<f64>])],
    ) -> Vec<WeatherPath> {
        let bark: BTreeMap<&String, Vec<Vec<bool>>> = windows
            .iter()
            .map(|(name, (rootstock, place))| (name, self.bark(rootstock, place)))
            .collect();
        let share = |slipping: &[bool]| {
            slipping
                .iter()
                .map(|slips| f64::from(u8::from(*slips)))
                .collect::<Vec<f64>>()
        };
        self.paths
            .paths
            .iter()
            .enumerate()
            .map(|(index, path)| WeatherPath {
                label: if self.is_drawn {
                    format!("{}, from {}", index + 1, path.start_year)
                } else {
                    path.start_year.to_string()
                },
                climates: self
                    .heat
                    .iter()
                    .map(|(place, by_path)| (place.to_string(), by_path[index].clone()))
                    .collect(),
                windows: bark
                    .iter()
                    .map(|(name, by_path)| ((*name).clone(), share(&by_path[index])))
                    .collect(),
                losses: losses
                    .iter()
                    .flat_map(|(stages, kept)| losses_of(stages, &kept[index]))
                    .collect(),
            })
            .collect()
    }
}

/// The weeks of the next spring from a day on, or of the one that goes on: from midwinter to midsummer.
fn spring(first_monday: Date, latitude: f64) -> Range<usize> {
    let (midwinter, midsummer) = if latitude < 0.0 { (6, 12) } else { (12, 6) };
    let solstice = |year: i16, month: i8| Date::new(year, month, 21).unwrap_or(first_monday);
    let weeks_to = |day: Date| (day - first_monday).get_days() / 7;
    let this = solstice(first_monday.year(), midsummer);
    // A spring of which not a week is left is over.
    let year = if weeks_to(this) > 0 {
        first_monday.year()
    } else {
        first_monday.year().saturating_add(1)
    };
    let winter_year = if midwinter > midsummer {
        year - 1
    } else {
        year
    };
    let [from, to] = [solstice(winter_year, midwinter), solstice(year, midsummer)]
        .map(|day| usize::try_from(weeks_to(day)).unwrap_or(0));
    from..to
}

/// The weeks of a path in which stages lose plants.
fn losses_of(stages: &[usize], kept: &[f64]) -> Vec<WeatherLoss> {
    let weeks = kept.iter().enumerate().filter(|(_, kept)| **kept < 1.0);
    weeks
        .map(|(week, kept)| WeatherLoss {
            week,
            stages: stages.to_vec(),
            fraction: 1.0 - kept,
        })
        .collect()
}

/// Places where liners stand that are budded where bark slips, by the routes in use.
pub fn budding_places(nursery: &Nursery) -> Vec<PlaceName> {
    let steps = nursery
        .catalogue
        .routes
        .steps_in_use(&nursery.settings.planning.routes);
    let kinds: BTreeSet<PlaceKind> = steps
        .into_iter()
        .filter(|step| step.needs_bark)
        .flat_map(|step| kinds_of_place(nursery, &step.id))
        .collect();
    nursery
        .places
        .iter()
        .filter(|place| kinds.contains(&place.kind))
        .map(|place| place.place.clone())
        .collect()
}

/// Rootstocks of what stands, is ordered, is expected to be asked for or lies as seed.
pub fn rootstocks_in_use(nursery: &Nursery) -> BTreeSet<RootstockName> {
    let standing = nursery.lots.iter().map(|lot| &lot.rootstock);
    let ordered = nursery.orders.iter().flat_map(|line| &line.rootstocks);
    let expected = nursery.demand.iter().map(|demand| &demand.rootstock);
    let seed = nursery.seed.iter().map(|batch| &batch.rootstock);
    standing
        .chain(ordered)
        .chain(expected)
        .chain(seed)
        .cloned()
        .collect()
}

fn climates(nursery: &Nursery, problems: &mut Problems) -> BTreeMap<PlaceName, Climate> {
    let mut climates = BTreeMap::new();
    for place in &nursery.places {
        match Climate::try_new(place.warmer_c, place.set_point_c, place.vent_c) {
            Ok(climate) => {
                climates.insert(place.place.clone(), climate);
            }
            Err(error) => problems.push(RowProblem {
                value: Some(place.place.to_string()),
                ..RowProblem::of_file("places.csv", error.to_string(), "mend the place's climate")
            }),
        }
    }
    climates
}

fn bark_rules(nursery: &Nursery, problems: &mut Problems) -> BTreeMap<RootstockName, BarkRule> {
    let mut rules = BTreeMap::new();
    for (name, rootstock) in &nursery.catalogue.rootstocks {
        let bark = rootstock.bark;
        match BarkRule::try_new(
            bark.mean_c_min,
            bark.tmax_c_max,
            bark.day_length_h_min,
            BARK_WEEKS_BEFORE,
        ) {
            Ok(rule) => {
                rules.insert(name.clone(), rule);
            }
            Err(error) => problems.push(RowProblem {
                value: Some(name.to_string()),
                ..RowProblem::of_file("rootstocks.csv", error.to_string(), "mend the bark rule")
            }),
        }
    }
    rules
}

/// The weather of own notes of a rootstock's bark.
fn readings(
    nursery: &Nursery,
    record: &FilledRecord,
    climates: &BTreeMap<PlaceName, Climate>,
    rootstock: &RootstockName,
    rule: &BarkRule,
) -> Vec<BarkReading> {
    let latitude = nursery.settings.latitude;
    let notes = nursery
        .bark_notes
        .iter()
        .filter(|note| note.rootstock == *rootstock);
    notes
        .filter_map(|note| {
            let climate = climates.get(&note.place)?;
            BarkReading::of_note(rule, record, climate, latitude, note.date, note.slips)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn spring_is_the_one_that_goes_on_or_the_next() {
        for (monday, latitude, weeks) in [
            (date(2027, 3, 1), 37.0, 0..16),
            (date(2027, 6, 14), 37.0, 0..1),
            (date(2026, 6, 15), 37.0, 27..53),
            (date(2027, 6, 21), 37.0, 26..52),
            (date(2027, 9, 6), 37.0, 15..41),
            (date(2027, 9, 6), -33.0, 0..15),
            (date(2027, 3, 1), -33.0, 16..42),
        ] {
            assert_eq!(spring(monday, latitude), weeks, "{monday}, {latitude}");
        }
    }
}
