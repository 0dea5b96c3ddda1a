//! Water: what the day asks for, and when each place is to be watered, how long and how much.

mod blocks;
mod days;
mod place;

use jiff::civil::{Date, Weekday};
use models::water::{WaterDay, next_watering};
use models::{OutOfRange, Waterworks, water_m3};
use nursery::records::Watered;
use season::Calendar;
use serde::Serialize;

use self::blocks::{Block, Ground};
use self::days::Days;
pub(crate) use self::days::method_days;
pub use self::place::at_place;
use crate::error::AppError;
use crate::folder::Loaded;
use crate::words::month_words;

/// Days looked ahead for the next watering.
const AHEAD: i64 = 30;

/// Days of the reference that are shown: the past week, today, and the week to come.
const SHOWN: std::ops::RangeInclusive<i64> = -7..=7;

/// A watering longer ago than this says nothing of the water that is left, days.
const OLD_WATERING: i32 = 60;

/// Weeks of the year looked ahead for the one that asks for most.
const YEAR_WEEKS: i64 = 52;

/// `weather water --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterAnswer {
    /// The day looked at.
    pub as_of: Date,
    /// What a well-watered meadow would use today, and the days after: the reference.
    pub days: Vec<ReferenceDay>,
    /// How the reference was worked out.
    pub reference: ReferenceAnswer,
    /// The reference through the year, week by week, from this one on.
    pub year: Vec<ReferenceWeek>,
    /// Each block of plants that is watered alike.
    pub blocks: Vec<BlockAnswer>,
    /// All of the nursery.
    pub nursery: NurseryWater,
    /// What the user should know.
    pub warnings: Vec<String>,
}

/// One day's reference evapotranspiration and rain.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReferenceDay {
    /// The day.
    pub date: Date,
    /// Reference evapotranspiration, mm.
    pub et0_mm: f64,
    /// Eight of ten past years lie between these on this day of the year, mm.
    pub past: Option<[f64; 2]>,
    /// Rain, mm; none: not known.
    pub rain_mm: Option<f64>,
    /// What it is taken from.
    pub from: DayFrom,
}

/// What a day's reference is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DayFrom {
    /// The day itself was measured.
    Measured,
    /// A forecast file.
    Forecast,
    /// The median of past years.
    PastYears,
}

/// A week of the year to come.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReferenceWeek {
    /// The ISO week.
    pub week: String,
    /// Its Monday.
    pub monday: Date,
    /// The short name of the month its Thursday lies in.
    pub month: &'static str,
    /// Mean reference evapotranspiration of a day: one in ten, half and nine in ten past years lie below, mm.
    pub et0_mm: [f64; 3],
    /// What the plants that stand now would be given on such a day, at the median, m³.
    pub m3_a_day: f64,
    /// The same where nine of ten past years ask for less, m³.
    pub m3_a_day_high: f64,
}

/// How the reference was worked out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReferenceAnswer {
    /// Days of the record by what their reference rests on, most first.
    pub methods: Vec<MethodDays>,
    /// Past years compared with.
    pub years: usize,
    /// How sure a day's figure is, one standard deviation, mm; none where not known.
    pub give_or_take_mm: Option<f64>,
}

/// Days whose reference rests on the same measurements.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct MethodDays {
    /// Penman–Monteith or Hargreaves.
    pub method: &'static str,
    /// Where radiation comes from.
    pub radiation: &'static str,
    /// Where humidity comes from.
    pub humidity: &'static str,
    /// Where wind comes from.
    pub wind: &'static str,
    /// Days.
    pub days: usize,
}

/// Plants that are watered alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BlockAnswer {
    /// The place.
    pub place: String,
    /// The size of its pots, where trees have one.
    pub size: Option<String>,
    /// Whether they stand in pots.
    pub in_pots: bool,
    /// Plants.
    pub plants: u32,
    /// Ground that they take, m².
    pub ground_m2: f64,
    /// What they use today, mm over their ground.
    pub use_mm: f64,
    /// What one plant uses today, l.
    pub use_l: f64,
    /// What the roots can draw on when full, mm.
    pub holds_mm: f64,
    /// What may go of it before the next watering, today, mm.
    pub may_go_mm: f64,
    /// What was gone this morning, mm.
    pub gone_mm: f64,
    /// The last watering that is told of.
    pub last_watered: Option<Date>,
    /// Days between waterings in weather like today's; under 1: several times a day.
    pub days_between: Option<f64>,
    /// The next watering; none within the days looked ahead.
    pub next: Option<NextWatering>,
    /// What it rests on.
    pub taken: Vec<TakenAnswer>,
}

/// The next watering of a block.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextWatering {
    /// The day.
    pub date: Date,
    /// How often on that day.
    pub times: u32,
    /// Each time, so that the roots are full again, mm over the ground, with losses and leaching.
    pub gross_mm: f64,
    /// The same for one plant, l.
    pub liters_a_plant: f64,
    /// Minutes each time.
    pub minutes: f64,
    /// Of the block each time, m³.
    pub m3: f64,
}

/// The water of the nursery.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NurseryWater {
    /// What its plants use today, with losses and leaching, m³.
    pub m3_of_today: f64,
    /// What is to be given today, m³.
    pub m3_today: f64,
    /// Minutes that the pump runs for it; none where it is not told what the pump gives.
    pub pump_minutes_today: Option<f64>,
    /// What is to be given in seven days from today, m³, in weather as in past years.
    pub m3_week: f64,
    /// The week that asks for most, of the year to come.
    pub peak: Option<ReferenceWeek>,
    /// Hours that the pump runs on a day of it, nine of ten past years being milder.
    pub peak_pump_hours: Option<f64>,
    /// Hours that it may run.
    pub pump_hours: Option<f64>,
    /// What it gives on a day in these hours, or in all hours where none are told, m³.
    pub pump_m3_day: Option<f64>,
    /// Tanks of water that such a day takes.
    pub peak_tanks: Option<f64>,
    /// Whether pump and hours suffice on it; none where they are not told.
    pub suffices: Option<bool>,
}

/// A value that was taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakenAnswer {
    /// What.
    pub what: &'static str,
    /// The value.
    pub value: TakenValue,
    /// Whether it is the nursery's own.
    pub own: bool,
    /// Where it comes from.
    pub source: String,
}

/// A number with its unit, or words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum TakenValue {
    /// A number.
    Number {
        /// The number.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// Words.
    Words(String),
}

/// The water of the day the nursery was loaded for.
pub fn water(loaded: &Loaded) -> Result<WaterAnswer, AppError> {
    let nursery = &loaded.nursery;
    let days = Days::over(loaded)?;
    let mut warnings = Vec::new();
    let mut grounds = Vec::new();
    for block in blocks::standing(nursery) {
        match blocks::ground(nursery, &block) {
            Ok(mut ground) => {
                for warning in ground.warnings.drain(..) {
                    if !warnings.contains(&warning) {
                        warnings.push(warning);
                    }
                }
                grounds.push((block, ground));
            }
            Err(error) => warnings.push(format!("{}: {error}", block.place.place)),
        }
    }
    let answered = grounds
        .iter()
        .map(|(block, ground)| block_answer(loaded, &days, block, ground));
    let blocks = answered.collect::<Result<Vec<_>, OutOfRange>>();
    let blocks = blocks.map_err(|error| out_of_range(&error))?;
    let m3_for_a_mm: f64 = grounds
        .iter()
        .map(|(block, ground)| ground.m3_for_a_mm(block))
        .sum();
    let year = year(&days, nursery.as_of, m3_for_a_mm);
    let nursery_water = nursery_water(loaded, &days, &blocks, &year, m3_for_a_mm);
    Ok(WaterAnswer {
        as_of: nursery.as_of,
        days: SHOWN
            .map(|day| days.on(plus_days(nursery.as_of, day)))
            .collect(),
        reference: days.answer(),
        year,
        blocks,
        nursery: nursery_water.map_err(|error| out_of_range(&error))?,
        warnings,
    })
}

fn out_of_range(error: &OutOfRange) -> AppError {
    let mend = "mend it in watering.csv or nursery.toml";
    AppError::new(
        crate::error::Kind::Invalid,
        error.to_string(),
        "the water of the nursery",
        mend,
    )
}

fn plus_days(date: Date, days: i64) -> Date {
    date.saturating_add(jiff::Span::new().days(days))
}

impl Ground {
    /// A day's weather as it comes to the roots.
    fn day(&self, day: &ReferenceDay) -> Result<WaterDay, OutOfRange> {
        let rain_mm = day.rain_mm.unwrap_or_default() * self.rain;
        WaterDay::try_new(day.et0_mm, rain_mm)
    }

    /// What is gone from the roots in the evening of a day before which so much was gone, mm. A day
    /// on which pots are filled that do not last a day ends with them full: they were filled as
    /// often as they asked for it.
    fn evening_mm(
        &self,
        gone_mm: f64,
        day: &WaterDay,
        given_mm: f64,
        filled: bool,
    ) -> Result<f64, OutOfRange> {
        let lasts = self.stand.days_between(day).is_none_or(|days| days >= 1.0);
        if filled && !lasts {
            return Ok(0.0);
        }
        Ok(self.stand.day(gone_mm, day, given_mm)?.depletion_mm)
    }

    /// Water to be given over the ground for so much at the roots, mm.
    fn gross_mm(&self, net_mm: f64) -> f64 {
        self.losses.gross(net_mm) / self.captured
    }

    /// Water for a mm of reference evapotranspiration on all of a block, m³.
    fn m3_for_a_mm(&self, block: &Block<'_>) -> f64 {
        let of_one = WaterDay::try_new(1.0, 0.0).map_or(0.0, |day| self.stand.full_use_mm(&day));
        self.gross_mm(of_one) * block.ground_m2 / 1000.0
    }
}

fn block_answer(
    loaded: &Loaded,
    days: &Days<'_>,
    block: &Block<'_>,
    ground: &Ground,
) -> Result<BlockAnswer, OutOfRange> {
    let as_of = loaded.nursery.as_of;
    let spacing_m2 = block.ground_m2 / f64::from(block.plants);
    let today = ground.day(&days.on(as_of))?;
    let Gone {
        this_morning_mm: gone_mm,
        last_watered,
        filled_today,
    } = gone(loaded, days, block, ground)?;
    // What was filled today waits at least until tomorrow.
    let (from, before_mm) = if filled_today {
        (1, ground.evening_mm(0.0, &today, 0.0, true)?)
    } else {
        (0, gone_mm)
    };
    let next = next(days, block, ground, (plus_days(as_of, from), before_mm))?;
    let use_mm = ground.stand.full_use_mm(&today);
    Ok(BlockAnswer {
        place: block.place.place.to_string(),
        size: block.size.as_ref().map(ToString::to_string),
        in_pots: ground.in_pots,
        plants: block.plants,
        ground_m2: block.ground_m2,
        use_mm,
        use_l: use_mm * spacing_m2,
        holds_mm: ground.stand.store().total_mm(),
        may_go_mm: ground.stand.store_on(&today).ready_mm(),
        gone_mm,
        last_watered,
        days_between: ground.stand.days_between(&today),
        next,
        taken: ground.taken.clone(),
    })
}

/// The next watering of a block, from a day on before which so much was gone.
fn next(
    days: &Days<'_>,
    block: &Block<'_>,
    ground: &Ground,
    (from, gone_mm): (Date, f64),
) -> Result<Option<NextWatering>, OutOfRange> {
    let spacing_m2 = block.ground_m2 / f64::from(block.plants);
    let ahead = (0..AHEAD)
        .map(|day| ground.day(&days.on(plus_days(from, day))))
        .collect::<Result<Vec<_>, _>>()?;
    let next = next_watering(&ground.stand, gone_mm, &ahead, &ground.losses);
    next.map(|watering| {
        let gross_mm = watering.gross_mm / ground.captured / f64::from(watering.times);
        let liters_a_plant = gross_mm * spacing_m2;
        Ok(NextWatering {
            date: plus_days(from, watering.day as i64),
            times: watering.times,
            gross_mm,
            liters_a_plant,
            minutes: ground.outlet.minutes(liters_a_plant, spacing_m2)?,
            m3: water_m3(block.plants, liters_a_plant)?,
        })
    })
    .transpose()
}

/// What was gone from the roots of a block.
#[derive(Default)]
struct Gone {
    /// This morning, mm.
    this_morning_mm: f64,
    /// The last watering that is told of.
    last_watered: Option<Date>,
    /// Whether it was filled today.
    filled_today: bool,
}

/// What was gone from the roots this morning, and the last watering that is told of. Where none is,
/// the block is taken as filled this morning.
fn gone(
    loaded: &Loaded,
    days: &Days<'_>,
    block: &Block<'_>,
    ground: &Ground,
) -> Result<Gone, OutOfRange> {
    let as_of = loaded.nursery.as_of;
    let is_fresh = |it: &&Watered| {
        let since = it
            .date
            .until(as_of)
            .map_or(i32::MAX, |span| span.get_days());
        it.place == block.place.place && (0..=OLD_WATERING).contains(&since)
    };
    let mut told: Vec<&Watered> = loaded.nursery.watered.iter().filter(is_fresh).collect();
    told.sort_by_key(|it| it.date);
    // Before a watering that filled the roots nothing counts; before the first that is told of, they
    // are taken as filled by it.
    let full = told.iter().rposition(|it| it.mm.is_none()).unwrap_or(0);
    let Some(first) = told.get(full) else {
        return Ok(Gone::default());
    };
    let mut gone_mm = 0.0;
    let mut date = first.date;
    while date < as_of {
        let given = told[full + 1..].iter().filter(|it| it.date == date);
        let given_mm = given.filter_map(|it| it.mm).sum();
        let day = ground.day(&days.on(date))?;
        let filled = date == first.date && first.mm.is_none();
        gone_mm = ground.evening_mm(gone_mm, &day, given_mm, filled)?;
        date = plus_days(date, 1);
    }
    let today = told[full + 1..].iter().filter(|it| it.date == as_of);
    let given_mm: f64 = today.filter_map(|it| it.mm).sum();
    Ok(Gone {
        this_morning_mm: (gone_mm - given_mm).max(0.0),
        last_watered: told.last().map(|it| it.date),
        filled_today: first.date == as_of && first.mm.is_none(),
    })
}

/// The reference of the weeks to come, and what the plants that stand ask for in them.
fn year(days: &Days<'_>, as_of: Date, m3_for_a_mm: f64) -> Vec<ReferenceWeek> {
    let since = i64::from(as_of.weekday().since(Weekday::Monday));
    let calendar = Calendar::from_as_of(plus_days(as_of, -since));
    let week = |week: i64| {
        let monday = calendar.monday(week);
        let of_days: Vec<_> = (0..7)
            .filter_map(|day| days.usual(plus_days(monday, day)))
            .collect();
        let mean = |pick: fn(&models::heat_clock::Spread) -> f64| {
            of_days.iter().map(pick).sum::<f64>() / of_days.len().max(1) as f64
        };
        let et0_mm = [mean(|it| it.p10), mean(|it| it.p50), mean(|it| it.p90)];
        ReferenceWeek {
            week: calendar.iso(week),
            monday,
            month: month_words(calendar.thursday(week)),
            et0_mm,
            m3_a_day: et0_mm[1] * m3_for_a_mm,
            m3_a_day_high: et0_mm[2] * m3_for_a_mm,
        }
    };
    (0..YEAR_WEEKS).map(week).collect()
}

fn nursery_water(
    loaded: &Loaded,
    days: &Days<'_>,
    blocks: &[BlockAnswer],
    year: &[ReferenceWeek],
    m3_for_a_mm: f64,
) -> Result<NurseryWater, OutOfRange> {
    let as_of = loaded.nursery.as_of;
    let settings = &loaded.nursery.settings.water;
    let on = |day: i64| days.on(plus_days(as_of, day)).et0_mm * m3_for_a_mm;
    let today = blocks.iter().filter_map(|block| block.next.as_ref());
    let today = today.filter(|next| next.date == as_of);
    let m3_today = today.fold(0.0, |sum, next| sum + next.m3 * f64::from(next.times));
    let peak = year
        .iter()
        .max_by(|one, other| one.m3_a_day_high.total_cmp(&other.m3_a_day_high))
        .filter(|week| week.m3_a_day_high > 0.0)
        .cloned();
    let works = settings
        .pump_m3_h
        .map(|pump| Waterworks::try_new(pump, settings.tank_m3))
        .transpose()?;
    let day = match (&works, &peak) {
        (Some(works), Some(peak)) => Some(works.day(peak.m3_a_day_high)?),
        _ => None,
    };
    let minutes_today = match &works {
        Some(works) => Some(works.day(m3_today)?.hours * 60.0),
        None => None,
    };
    let allowed = settings.pump_hours.unwrap_or(24.0);
    Ok(NurseryWater {
        m3_of_today: on(0),
        m3_today,
        pump_minutes_today: minutes_today,
        m3_week: (0..7).map(on).sum(),
        peak_pump_hours: day.map(|day| day.hours),
        pump_hours: settings.pump_hours,
        pump_m3_day: settings.pump_m3_h.map(|pump| pump * allowed),
        peak_tanks: day.and_then(|day| day.tanks),
        suffices: day.map(|day| day.hours <= allowed),
        peak,
    })
}
