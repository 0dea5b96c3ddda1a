//! Frost: the coming night, the weeks of past years, what stands in harm's way, and when sprinklers
//! are to run.

use std::collections::BTreeMap;

use jiff::civil::{Date, Weekday};
use models::air::pressure_kpa;
use models::frost::{Hardiness, LIMITS_SOURCE, Tissue, sprinkling};
use models::frost_night::{NIGHTS_MIN, Night, NightRule, Tonight};
use models::frost_odds::{WeekOdds, frost_dates, frost_odds, frost_season_start};
use models::heat_clock::Spread;
use models::wet_bulb::{WetBulb, wet_bulb_c};
use models::{Climate, DailySeries, Extremes, OutOfRange, past_band, same_day};
use nursery::Nursery;
use nursery::catalogue::PlaceKind;
use nursery::ids::{LotName, PlaceName};
use season::{Calendar, Exposed, felt_c, is_in_flush, limit_c, step_of_lot, tissues};
use serde::Serialize;

use crate::error::{AppError, Kind};
use crate::folder::Loaded;
use crate::frost_rules::RulesAnswer;
use crate::words::month_words;

/// Weeks shown.
const WEEKS: i64 = 52;
/// Nights looked ahead along past years for what stands in harm's way. The lowest of a night belongs to
/// the day of its morning, so the first of them is told by the next day.
const NIGHTS_AHEAD: i64 = 28;
/// So many days after a night its lowest is still asked for.
const REMEMBERED_DAYS: i64 = 14;
/// Days on each side of a day of the calendar that tell what is usual on it.
const AROUND: u8 = 7;
/// Dew points for which sprinkling is told where none was read, °C.
const DEW_POINTS: [f64; 6] = [0.0, -2.0, -4.0, -6.0, -8.0, -10.0];

/// What was read on the evening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evening {
    /// Air two hours after sunset, °C.
    pub air_c: f64,
    /// Its dew point, °C.
    pub dew_point_c: Option<f64>,
}

/// One of the readings of an evening.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// The air.
    Air,
    /// Its dew point.
    DewPoint,
}

impl Evening {
    /// Which of the readings cannot be right, and why.
    pub fn wrong(&self) -> Option<(Reading, String)> {
        // A night may stay as warm as its evening, so only the readings can be refused.
        let night = |dew_point_c| Night::try_new(self.air_c, dew_point_c, self.air_c);
        if let Err(error) = night(None) {
            return Some((Reading::Air, error.to_string()));
        }
        let error = night(self.dew_point_c).err()?;
        Some((Reading::DewPoint, error.to_string()))
    }
}

/// `weather frost --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FrostAnswer {
    /// The day looked at.
    pub as_of: Date,
    /// The coming night, where the evening was read.
    pub tonight: Option<TonightAnswer>,
    /// The nursery's own nights.
    pub nights: NightsAnswer,
    /// Lows on this day of the year: one in ten, half and nine in ten past ones lie below, °C.
    pub usual_low_c: Option<[f64; 3]>,
    /// Freezing nights from this day of the year on.
    pub rest: RestAnswer,
    /// Frost by week and by season, for each temperature that matters.
    pub thresholds: Vec<ThresholdAnswer>,
    /// Share of past years in which shoots are soft in the open, for each of the weeks of a threshold.
    pub flush: Vec<f64>,
    /// What stands in harm's way, the most likely first.
    pub harm: Vec<HarmAnswer>,
    /// When sprinklers are to run.
    pub sprinkling: SprinklingAnswer,
    /// The rules by which frost and heat are judged.
    pub rules: RulesAnswer,
    /// Where the limits of plants come from.
    pub limits_source: &'static str,
    /// What the user should know.
    pub warnings: Vec<String>,
}

/// The coming night.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TonightAnswer {
    /// Air on the evening, °C.
    pub evening_c: f64,
    /// Its dew point, °C.
    pub dew_point_c: Option<f64>,
    /// The wet bulb of the evening's air, °C.
    pub wet_bulb_c: Option<f64>,
    /// The lowest expected at the station, °C; none before enough nights are noted.
    pub lowest: Option<LowestAnswer>,
}

/// The lowest temperature expected.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LowestAnswer {
    /// Expected, °C.
    pub lowest_c: f64,
    /// Nine of ten such nights lie between this and the next, °C.
    pub low_c: f64,
    /// See above.
    pub high_c: f64,
    /// Nights it was worked out from.
    pub nights: usize,
    /// Whether the dew point counted.
    pub by_dew_point: bool,
    /// Whether the evening is colder or warmer than any that was noted.
    pub is_beyond: bool,
    /// Whether the dew point counted and is lower or higher than any that was noted.
    pub is_dew_point_beyond: bool,
}

/// The nursery's own nights.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NightsAnswer {
    /// Clear nights with an evening and a low.
    pub usable: usize,
    /// Nights needed.
    pub needed: usize,
    /// The rule they gave.
    pub rule: Option<RuleAnswer>,
    /// Why there is none.
    pub why_not: Option<String>,
    /// Whether today's evening is noted.
    pub is_today_noted: bool,
    /// The last evening of which the lowest after it is not noted yet.
    pub without_low: Option<Date>,
}

/// Low = `at_zero_c` + `by_evening` · evening + `by_dew_point` · dew point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RuleAnswer {
    /// °C.
    pub at_zero_c: f64,
    /// °C for each °C of the evening.
    pub by_evening: f64,
    /// °C for each °C of the dew point; none where too few nights have one.
    pub by_dew_point: Option<f64>,
    /// Standard error of a night, °C.
    pub error_c: f64,
}

/// Nights below 0 °C at the station in past years, from this day of the year on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RestAnswer {
    /// The frost season's last day.
    pub season_last: Date,
    /// Past years known from this day of the year to the season's end.
    pub years: u32,
    /// Those that had such a night.
    pub with_frost: u32,
    /// Share of past years that had one in the next four weeks of the year.
    pub odds_ahead: f64,
    /// The latest one of this season.
    pub latest: Option<Date>,
}

/// Frost below a temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThresholdAnswer {
    /// The temperature at the station, °C.
    pub below_c: f64,
    /// What it is the limit of, of plants that are as cold as the air.
    pub of: Vec<Exposure>,
    /// The weeks to come.
    pub weeks: Vec<FrostWeek>,
    /// Whole frost seasons in the record.
    pub seasons: usize,
    /// Those that had such a night.
    pub with_frost: usize,
    /// First such night: early, middle and late, of the seasons that had one.
    pub first: Option<[Date; 3]>,
    /// Last such night.
    pub last: Option<[Date; 3]>,
}

/// A week and its odds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FrostWeek {
    /// The ISO week.
    pub week: String,
    /// Its Monday.
    pub monday: Date,
    /// The short name of the month its Thursday lies in.
    pub month: &'static str,
    /// Share of past years with such a night in it.
    pub odds: f64,
    /// How sure that is: nine in ten.
    pub low: f64,
    /// See above.
    pub high: f64,
    /// Mean number of such nights.
    pub nights: f64,
}

/// What of a plant is exposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Exposure {
    /// Water freezes.
    Freezing,
    /// Buds under the wrap.
    WrappedBud,
    /// Soft flush.
    SoftFlush,
    /// Seedlings.
    Seedling,
    /// Roots in pots.
    PotRoots,
    /// Hardened wood of the hardiest kind.
    HardenedBest,
    /// Of a hardy kind.
    HardenedGood,
    /// Of a middling kind.
    HardenedFair,
    /// Of a tender kind.
    HardenedPoor,
    /// Of the tenderest kind.
    HardenedWorst,
}

impl From<Tissue> for Exposure {
    fn from(tissue: Tissue) -> Self {
        match tissue {
            Tissue::WrappedBud => Self::WrappedBud,
            Tissue::SoftFlush => Self::SoftFlush,
            Tissue::Seedling => Self::Seedling,
            Tissue::PotRoots => Self::PotRoots,
            Tissue::HardenedWood(Hardiness::Best) => Self::HardenedBest,
            Tissue::HardenedWood(Hardiness::Good) => Self::HardenedGood,
            Tissue::HardenedWood(Hardiness::Fair) => Self::HardenedFair,
            Tissue::HardenedWood(Hardiness::Poor) => Self::HardenedPoor,
            Tissue::HardenedWood(Hardiness::Worst) => Self::HardenedWorst,
        }
    }
}

/// Plants of one place that are exposed alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HarmAnswer {
    /// The place.
    pub place: String,
    /// Its kind.
    pub kind: PlaceKind,
    /// Whether heat is held there.
    pub is_heated: bool,
    /// What is exposed.
    pub exposure: Exposure,
    /// The lowest that does it no harm, °C.
    pub limit_c: f64,
    /// Plants.
    pub plants: u32,
    /// Their lots.
    pub lots: Vec<String>,
    /// Past years that had a night below it in the next four weeks of the year, as a share.
    pub odds: f64,
    /// The lowest it feels tonight, °C, where tonight is known.
    pub tonight_c: Option<f64>,
    /// What that means.
    pub tonight: Option<Danger>,
}

/// What a night means for plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Danger {
    /// The lowest expected is below the limit.
    InHarmsWay,
    /// It may be: one night in twenty is colder than the limit.
    AtRisk,
    /// It is not.
    Safe,
}

/// When sprinklers are to run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SprinklingAnswer {
    /// The wet bulb at which they are to run, °C.
    pub wet_bulb_c: f64,
    /// By dew point: start at the latest when the air falls to, °C; stop at the earliest above it.
    pub starts: Vec<StartAnswer>,
}

/// The air temperature at which sprinklers are started at a dew point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StartAnswer {
    /// Dew point, °C.
    pub dew_point_c: f64,
    /// Start, °C.
    pub start_c: f64,
    /// Stop above, °C, with the sun on the plants and the ice melting.
    pub stop_above_c: f64,
    /// Whether this is the dew point that was read.
    pub is_read: bool,
}

/// The frost of the day the nursery was loaded for; of an evening that was read, else of one that was
/// noted.
pub fn frost(loaded: &Loaded, evening: Option<Evening>) -> Result<FrostAnswer, AppError> {
    FrostSite::of(loaded)?.on(evening)
}

/// What of the frost follows from the day, the weather, the settings and what stands, whatever is read on
/// the evening.
#[derive(Debug)]
pub struct FrostSite {
    as_of: Date,
    pressure_kpa: f64,
    sprinkle_wet_bulb_c: f64,
    noted: Option<Evening>,
    nights: NightsAnswer,
    rule: Option<NightRule>,
    usual_low_c: Option<[f64; 3]>,
    rest: RestAnswer,
    thresholds: Vec<ThresholdAnswer>,
    flush: Vec<f64>,
    exposed: Vec<ExposedPlants>,
    rules: RulesAnswer,
    warnings: Vec<String>,
}

impl FrostSite {
    /// The frost of the day the nursery was loaded for, before an evening is read.
    pub fn of(loaded: &Loaded) -> Result<Self, AppError> {
        let nursery = &loaded.nursery;
        let noted = nursery.nights.iter().find(|it| it.date == nursery.as_of);
        let noted = noted.map(|it| Evening {
            air_c: it.evening_c,
            dew_point_c: it.dew_point_c,
        });
        let (nights, rule) = own_nights(nursery);
        let exposed = exposed(loaded);
        Ok(Self {
            as_of: nursery.as_of,
            pressure_kpa: pressure_kpa(nursery.settings.elevation_m),
            sprinkle_wet_bulb_c: nursery.settings.frost.sprinkle_wet_bulb_c,
            noted,
            nights,
            rule,
            usual_low_c: usual_low(loaded),
            rest: rest(loaded),
            thresholds: thresholds(loaded, &exposed).map_err(|error| wrong(&error))?,
            flush: weeks_ahead(nursery.as_of)
                .map(|(calendar, week)| flush_share(loaded, calendar.thursday(week)))
                .collect(),
            exposed,
            rules: RulesAnswer::of(&nursery.settings.frost),
            warnings: warnings(loaded),
        })
    }

    /// The frost after an evening that was read, else after one that was noted.
    pub fn on(&self, evening: Option<Evening>) -> Result<FrostAnswer, AppError> {
        let evening = evening.or(self.noted);
        let tonight = evening.map(|evening| self.tonight(evening)).transpose()?;
        let lowest = tonight.as_ref().and_then(|it| it.lowest);
        let dew_point_c = evening.and_then(|it| it.dew_point_c);
        Ok(FrostAnswer {
            as_of: self.as_of,
            tonight,
            nights: self.nights.clone(),
            usual_low_c: self.usual_low_c,
            rest: self.rest,
            thresholds: self.thresholds.clone(),
            flush: self.flush.clone(),
            harm: self.harm(evening, lowest),
            sprinkling: self
                .sprinklers(dew_point_c)
                .map_err(|error| wrong(&error))?,
            rules: self.rules.clone(),
            limits_source: LIMITS_SOURCE,
            warnings: self.warnings.clone(),
        })
    }

    fn tonight(&self, evening: Evening) -> Result<TonightAnswer, AppError> {
        let refused = |error: String| {
            let mend = "mend the evening's readings";
            AppError::new(Kind::Invalid, error, "the evening", mend)
        };
        if let Some((_, why)) = evening.wrong() {
            return Err(refused(why));
        }
        let wet_bulb_c = evening
            .dew_point_c
            .map(|dew| wet_bulb_c(evening.air_c, dew, self.pressure_kpa, WetBulb::Surface))
            .transpose()
            .map_err(|error| refused(error.to_string()))?;
        let lowest = self
            .rule
            .map(|rule| rule.tonight(evening.air_c, evening.dew_point_c))
            .transpose()
            .map_err(|error| refused(error.to_string()))?;
        Ok(TonightAnswer {
            evening_c: evening.air_c,
            dew_point_c: evening.dew_point_c,
            wet_bulb_c,
            lowest: lowest.map(Into::into),
        })
    }

    /// What stands in harm's way, the most likely first.
    fn harm(&self, evening: Option<Evening>, lowest: Option<LowestAnswer>) -> Vec<HarmAnswer> {
        let exposed = self.exposed.iter();
        let mut found: Vec<HarmAnswer> = exposed.map(|it| it.harm(evening, lowest)).collect();
        found.sort_by(|one, other| {
            let by_odds = other.odds.total_cmp(&one.odds);
            one.tonight
                .cmp(&other.tonight)
                .then(by_odds)
                .then(other.plants.cmp(&one.plants))
        });
        found
    }

    fn sprinklers(&self, dew_point_c: Option<f64>) -> Result<SprinklingAnswer, OutOfRange> {
        let wet_bulb_c = self.sprinkle_wet_bulb_c;
        let start = |dew_point_c: f64, is_read: bool| {
            let told = sprinkling(wet_bulb_c, dew_point_c, self.pressure_kpa)?;
            Ok(StartAnswer {
                dew_point_c,
                start_c: told.start_c,
                stop_above_c: told.stop_above_c,
                is_read,
            })
        };
        let starts = match dew_point_c {
            // Air that holds more water than the critical wet bulb never cools to it.
            Some(dew) if dew <= wet_bulb_c => vec![start(dew, true)],
            Some(_) => Vec::new(),
            None => DEW_POINTS
                .into_iter()
                .filter(|dew| *dew <= wet_bulb_c)
                .map(|dew| start(dew, false))
                .collect(),
        };
        Ok(SprinklingAnswer {
            wet_bulb_c,
            starts: starts.into_iter().collect::<Result<_, _>>()?,
        })
    }
}

fn wrong(error: &OutOfRange) -> AppError {
    let mend = "check the evening's readings, and [frost] in nursery.toml";
    AppError::new(Kind::Invalid, error.to_string(), "the frost", mend)
}

/// What was noted, and the rule it gives. The lowest of a night is known on its morning: on an evening
/// only earlier nights tell something, whatever was noted since.
fn own_nights(nursery: &Nursery) -> (NightsAnswer, Option<NightRule>) {
    let usable: Vec<Night> = nursery
        .nights
        .iter()
        .filter(|it| it.clear && it.date < nursery.as_of)
        .filter_map(|it| Night::try_new(it.evening_c, it.dew_point_c, it.low_c?).ok())
        .collect();
    let rule = NightRule::of(&usable);
    let answer = NightsAnswer {
        usable: usable.len(),
        needed: NIGHTS_MIN,
        rule: rule.as_ref().ok().map(|rule| {
            let (evening, dew) = (rule.evening(), rule.dew());
            RuleAnswer {
                at_zero_c: evening.at_zero + dew.map_or(0.0, |it| it.at_zero),
                by_evening: evening.slope,
                by_dew_point: dew.map(|it| it.slope),
                error_c: rule.dew_error_c().unwrap_or(rule.evening_error_c()),
            }
        }),
        why_not: rule.as_ref().err().map(ToString::to_string),
        is_today_noted: nursery.nights.iter().any(|it| it.date == nursery.as_of),
        without_low: without_low(nursery),
    };
    (answer, rule.ok())
}

/// The last evening of which the lowest after it is not noted, where it is not long ago.
fn without_low(nursery: &Nursery) -> Option<Date> {
    let since = plus_days(nursery.as_of, -REMEMBERED_DAYS);
    let open = nursery.nights.iter().filter(|it| it.low_c.is_none());
    let dates = open.map(|it| it.date);
    dates
        .filter(|date| (since..nursery.as_of).contains(date))
        .max()
}

impl From<Tonight> for LowestAnswer {
    fn from(tonight: Tonight) -> Self {
        Self {
            lowest_c: tonight.minimum_c,
            low_c: tonight.low_c,
            high_c: tonight.high_c,
            nights: tonight.nights,
            by_dew_point: tonight.by_dew_point,
            is_beyond: tonight.is_beyond,
            is_dew_point_beyond: tonight.is_dew_point_beyond,
        }
    }
}

/// Lows on this day of the year.
fn usual_low(loaded: &Loaded) -> Option<[f64; 3]> {
    let record = &loaded.weather;
    let lows = record.days().iter().map(|day| day.tmin).collect();
    let series = DailySeries::new(record.first(), lows, record.last_measured());
    let as_of = loaded.nursery.as_of;
    let Spread { p10, p50, p90 } = past_band(&series, as_of, AROUND).on(as_of)?;
    Some([p10, p50, p90])
}

/// Climate and shelter of every place.
fn climates(nursery: &Nursery) -> Climates<'_> {
    let of = |place: &PlaceName| nursery.watering.iter().find(|it| it.place == *place);
    let places = nursery.places.iter().filter_map(|place| {
        let climate = Climate::try_new(place.warmer_c, place.set_point_c, place.vent_c).ok()?;
        let shelter = of(&place.place).map_or(0.0, |it| it.shelter_c);
        Some((&place.place, (climate, shelter)))
    });
    places.collect()
}

/// Plants that are exposed alike.
struct Group<'a> {
    tissue: Tissue,
    plants: u32,
    lots: Vec<&'a LotName>,
}

type Climates<'a> = BTreeMap<&'a PlaceName, (Climate, f64)>;

/// Plants of every place by what of them is exposed.
fn groups<'a>(
    loaded: &'a Loaded,
    climates: &Climates<'a>,
) -> BTreeMap<(&'a PlaceName, Exposure), Group<'a>> {
    let nursery = &loaded.nursery;
    let mut groups: BTreeMap<(&PlaceName, Exposure), Group<'_>> = BTreeMap::new();
    for lot in nursery.lots.iter().filter(|it| it.growing + it.ready > 0) {
        let (Some(node), Some((climate, _))) =
            (step_of_lot(nursery, lot), climates.get(&lot.place))
        else {
            continue;
        };
        let mut parts = tissues(
            nursery,
            &Exposed {
                node,
                kind: lot.stage,
                rootstock: lot.rootstock.clone(),
                variety: lot.variety.clone(),
                place: lot.place.clone(),
            },
        );
        let has_wood = parts.iter().any(|it| matches!(it, Tissue::HardenedWood(_)));
        if has_wood && flushes(loaded, climate) {
            parts.push(Tissue::SoftFlush);
        }
        for tissue in parts {
            let group = groups
                .entry((&lot.place, tissue.into()))
                .or_insert_with(|| Group {
                    tissue,
                    plants: 0,
                    lots: Vec::new(),
                });
            group.plants += lot.growing + lot.ready;
            group.lots.push(&lot.lot);
        }
    }
    groups
}

/// Plants of one place that are exposed alike, whatever the night.
#[derive(Debug)]
struct ExposedPlants {
    tissue: Tissue,
    climate: Climate,
    shelter_c: f64,
    /// All but what tonight means.
    known: HarmAnswer,
}

impl ExposedPlants {
    fn is_as_cold_as_the_air(&self) -> bool {
        self.tissue != Tissue::PotRoots
            && self.climate == Climate::OPEN_GROUND
            && self.shelter_c <= 0.0
    }

    fn harm(&self, evening: Option<Evening>, lowest: Option<LowestAnswer>) -> HarmAnswer {
        // The evening's air is the warmest of the night.
        let at = |low: f64| {
            let night = Extremes::new(low, evening?.air_c.max(low));
            Some(felt(self.tissue, &self.climate, self.shelter_c, night))
        };
        let expected_c = lowest.and_then(|it| at(it.lowest_c));
        let coldest_c = lowest.and_then(|it| at(it.low_c));
        let night = expected_c.zip(coldest_c);
        HarmAnswer {
            tonight_c: expected_c,
            tonight: night
                .map(|(expected, coldest)| Danger::of(expected, coldest, self.known.limit_c)),
            ..self.known.clone()
        }
    }
}

/// What plants feel of a night at a place that is warmer by its shelter, °C.
fn felt(tissue: Tissue, climate: &Climate, shelter_c: f64, night: Extremes) -> f64 {
    felt_c(tissue, climate.apply(night)) + shelter_c
}

/// What of the plants is exposed, place by place, the most likely to freeze first.
fn exposed(loaded: &Loaded) -> Vec<ExposedPlants> {
    let nursery = &loaded.nursery;
    let climates = climates(nursery);
    let kind_of = |place: &PlaceName| nursery.places.iter().find(|it| it.place == *place);
    let groups = groups(loaded, &climates).into_iter();
    let mut found: Vec<ExposedPlants> = groups
        .filter_map(|((place, exposure), group)| {
            let (climate, shelter_c) = *climates.get(place)?;
            let tissue = group.tissue;
            let limit_c = limit_c(&nursery.settings.frost, tissue);
            let is_below = |day: Extremes| felt(tissue, &climate, shelter_c, day) < limit_c;
            let known = HarmAnswer {
                place: place.to_string(),
                kind: kind_of(place)?.kind,
                is_heated: climate.set_point_c().is_some(),
                exposure,
                limit_c,
                plants: group.plants,
                lots: group.lots.iter().map(ToString::to_string).collect(),
                odds: odds_ahead(loaded, is_below),
                tonight_c: None,
                tonight: None,
            };
            Some(ExposedPlants {
                tissue,
                climate,
                shelter_c,
                known,
            })
        })
        .collect();
    found.sort_by(|one, other| other.known.odds.total_cmp(&one.known.odds));
    found
}

impl Danger {
    fn of(expected_c: f64, coldest_c: f64, limit_c: f64) -> Self {
        if expected_c < limit_c {
            Self::InHarmsWay
        } else if coldest_c < limit_c {
            Self::AtRisk
        } else {
            Self::Safe
        }
    }
}

/// Whether shoots are soft at a place; of days that were not measured, as in most years.
fn flushes(loaded: &Loaded, climate: &Climate) -> bool {
    let as_of = loaded.nursery.as_of;
    is_in_flush(&loaded.weather, climate, as_of)
        .unwrap_or_else(|| flush_share(loaded, as_of) >= 0.5)
}

/// The share of past years in which shoots are soft on a day of the year, in the open.
fn flush_share(loaded: &Loaded, on: Date) -> f64 {
    let record = &loaded.weather;
    let years = record.first().year()..=loaded.nursery.as_of.year().min(record.last().year());
    let past = years
        .map(|year| same_day(on, year))
        .filter(|day| *day <= loaded.nursery.as_of);
    let known: Vec<bool> = past
        .filter_map(|day| is_in_flush(record, &Climate::OPEN_GROUND, day))
        .collect();
    known.iter().filter(|soft| **soft).count() as f64 / known.len().max(1) as f64
}

/// The share of past years in which a night of the next four weeks of the year was so.
fn odds_ahead(loaded: &Loaded, is_so: impl Fn(Extremes) -> bool) -> f64 {
    let (known, with) = years_with(loaded, NIGHTS_AHEAD, is_so);
    f64::from(with) / f64::from(known.max(1))
}

/// Past years of which so many nights from the evening of this day of the year on are known, and those of them in which
/// one of these was so.
fn years_with(loaded: &Loaded, nights: i64, is_so: impl Fn(Extremes) -> bool) -> (u32, u32) {
    let (record, as_of) = (&loaded.weather, loaded.nursery.as_of);
    let years = record.first().year()..as_of.year().min(record.last().year().saturating_add(1));
    let (mut known, mut with) = (0_u32, 0_u32);
    for year in years {
        let evening = same_day(as_of, year);
        let nights = (1..=nights).map(|day| record.on(plus_days(evening, day)));
        let Some(nights) = nights.collect::<Option<Vec<_>>>() else {
            continue;
        };
        known += 1;
        with += u32::from(nights.into_iter().any(&is_so));
    }
    (known, with)
}

/// The latest night since a day that was so.
fn latest(loaded: &Loaded, since: Date, is_so: impl Fn(Extremes) -> bool) -> Option<Date> {
    let days = loaded.nursery.as_of.series(jiff::Span::new().days(-1));
    let mut season = days.take_while(|day| *day >= since);
    season.find(|day| loaded.weather.on(*day).is_some_and(&is_so))
}

/// Freezing nights of past years from this day of the year to the end of the frost season.
fn rest(loaded: &Loaded) -> RestAnswer {
    let nursery = &loaded.nursery;
    let start = frost_season_start(nursery.settings.latitude, nursery.as_of);
    let next = start.saturating_add(jiff::Span::new().years(1));
    let last = plus_days(next, -1);
    let left = nursery.as_of.until(last);
    let left = left.map_or(NIGHTS_AHEAD, |span| i64::from(span.get_days()).max(1));
    let freezes = |day: Extremes| day.tmin < 0.0;
    let (years, with_frost) = years_with(loaded, left, freezes);
    RestAnswer {
        season_last: last,
        years,
        with_frost,
        odds_ahead: odds_ahead(loaded, freezes),
        latest: latest(loaded, start, freezes),
    }
}

/// Frost at freezing and at every limit that the station's air tells of: those of plants in the open, as
/// cold as it. Warmer places and pots, which lag the air, are told of place by place.
fn thresholds(
    loaded: &Loaded,
    exposed: &[ExposedPlants],
) -> Result<Vec<ThresholdAnswer>, OutOfRange> {
    let mut limits: Vec<(f64, Vec<Exposure>)> = vec![(0.0, vec![Exposure::Freezing])];
    let by_air = exposed.iter().filter(|it| it.is_as_cold_as_the_air());
    for of in by_air.map(|it| &it.known) {
        match limits
            .iter_mut()
            .find(|(limit, _)| (limit - of.limit_c).abs() < 1e-9)
        {
            Some((_, exposures)) if exposures.contains(&of.exposure) => {}
            Some((_, exposures)) => exposures.push(of.exposure),
            None => limits.push((of.limit_c, vec![of.exposure])),
        }
    }
    limits.sort_by(|one, other| other.0.total_cmp(&one.0));
    let limits = limits.into_iter();
    limits
        .map(|(below_c, of)| threshold(loaded, below_c, of))
        .collect()
}

fn threshold(
    loaded: &Loaded,
    below_c: f64,
    of: Vec<Exposure>,
) -> Result<ThresholdAnswer, OutOfRange> {
    let (record, nursery) = (&loaded.weather, &loaded.nursery);
    let open = Climate::OPEN_GROUND;
    let by_week = frost_odds(record, &open, below_c)?;
    let dates = frost_dates(record, &open, nursery.settings.latitude, below_c)?;
    let days = |spread: Spread| {
        [spread.p10, spread.p50, spread.p90].map(|days| dates.date(days, nursery.as_of))
    };
    let week = |(calendar, week): (Calendar, i64)| {
        let thursday = calendar.thursday(week);
        let number = thursday.iso_week_date().week();
        let odds = by_week.iter().find(|it| it.week == number);
        frost_week(calendar, week, odds)
    };
    Ok(ThresholdAnswer {
        below_c,
        of,
        weeks: weeks_ahead(nursery.as_of).map(week).collect(),
        seasons: dates.seasons,
        with_frost: dates.with_frost,
        first: dates.first.map(days),
        last: dates.last.map(days),
    })
}

/// The weeks from the running one on.
fn weeks_ahead(as_of: Date) -> impl Iterator<Item = (Calendar, i64)> {
    let since = i64::from(as_of.weekday().since(Weekday::Monday));
    let calendar = Calendar::from_as_of(plus_days(as_of, -since));
    (0..WEEKS).map(move |week| (calendar, week))
}

fn frost_week(calendar: Calendar, week: i64, odds: Option<&WeekOdds>) -> FrostWeek {
    FrostWeek {
        week: calendar.iso(week),
        monday: calendar.monday(week),
        month: month_words(calendar.thursday(week)),
        odds: odds.map_or(0.0, |it| it.odds),
        low: odds.map_or(0.0, |it| it.low),
        high: odds.map_or(1.0, |it| it.high),
        nights: odds.map_or(0.0, |it| it.nights),
    }
}

fn warnings(loaded: &Loaded) -> Vec<String> {
    let made = loaded.weather.made_days();
    let from_normals = (made > 0).then(|| {
        "The weather is made from monthly normals: its frosts are fewer and milder than real ones. \
         Ask the weather service for the frost record of the nearest station."
            .to_owned()
    });
    from_normals.into_iter().collect()
}

fn plus_days(date: Date, days: i64) -> Date {
    date.saturating_add(jiff::Span::new().days(days))
}
