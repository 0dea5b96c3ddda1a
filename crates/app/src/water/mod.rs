//! Water: what the day asks for, and when each place is to be watered, how long and how much.

mod balance;
mod blocks;
mod days;
mod place;
mod works;

use jiff::civil::Date;
use models::water::next_watering;
use models::{OutOfRange, water_m3};
use serde::Serialize;

use self::balance::{gone, told};
use self::blocks::{Block, Ground};
use self::days::Days;
pub(crate) use self::days::method_days;
pub use self::place::at_place;
use self::works::{nursery_water, year};
use crate::error::AppError;
use crate::folder::Loaded;
use crate::words::date_words;

/// Days looked ahead for the next watering.
const AHEAD: i64 = 30;

/// Days of the reference that are shown: the past week, today, and the week to come.
const SHOWN: std::ops::RangeInclusive<i64> = -7..=7;

/// Days whose rain should be known even where no watering is told of.
const RAIN_DAYS: i64 = 14;

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
    /// Penman–Monteith or Hargreaves; none: the median of past years.
    pub method: Option<&'static str>,
    /// What a forecast that tells less than is measured here was multiplied by, so that it goes with what is
    /// measured at this time of the year; none where it stands as it is.
    pub brought: Option<f64>,
    /// How far it may be off, one standard deviation, mm; none where not known. Of a median the band of past
    /// years tells it.
    pub give_or_take_mm: Option<f64>,
}

/// What a day's reference is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DayFrom {
    /// The day itself was measured.
    Measured,
    /// A temperature of the day was not measured, and is that of other years; its rain is its own.
    Filled,
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
    /// Mean reference evapotranspiration of the week's days: in one in ten, half and nine in ten past years it was
    /// lower, mm.
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
    /// How sure today's figure is, or that of the last day known, one standard deviation, mm; none where not known.
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
    /// Whether any watering is told of.
    pub is_told: bool,
    /// What was gone this morning, mm; none where no watering is told of.
    pub gone_mm: Option<f64>,
    /// The last watering that is told of.
    pub last_watered: Option<Date>,
    /// Days between waterings in weather like today's; under 1: several times a day.
    pub days_between: Option<f64>,
    /// The next watering; none within the days looked ahead, and where no watering is told of.
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
    /// Parts in which the block is to be watered one after the other, since the pump gives no more at once.
    pub turns: u32,
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
    /// What the pump gives today in its hours out of a full tank, m³.
    pub supply_m3_today: Option<f64>,
    /// Whether that suffices for what is to be given today; none where it is not told what the pump gives.
    pub suffices_today: Option<bool>,
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
    /// Whether pump and hours suffice on every day of it, for which no tank makes up; none where they are not
    /// told.
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
    warnings.extend(weather_warnings(loaded, &days, &grounds));
    let answered = grounds
        .iter()
        .map(|(block, ground)| block_answer(loaded, &days, block, ground));
    let blocks = answered.collect::<Result<Vec<_>, OutOfRange>>();
    let mut blocks = blocks.map_err(|error| out_of_range(&error))?;
    // What nobody knows of is to be looked at first.
    blocks.sort_by_key(|block| block.is_told);
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

fn block_answer(
    loaded: &Loaded,
    days: &Days<'_>,
    block: &Block<'_>,
    ground: &Ground,
) -> Result<BlockAnswer, OutOfRange> {
    let as_of = loaded.nursery.as_of;
    let spacing_m2 = block.ground_m2 / f64::from(block.plants);
    let today = ground.day(&days.on(as_of))?;
    let gone = gone(loaded, days, block, ground)?;
    let next = match &gone {
        None => None,
        // What was filled today waits at least until tomorrow.
        Some(gone) if gone.filled_today => {
            let evening_mm = ground.evening_mm(0.0, &today, 0.0, true)?;
            next(
                loaded,
                days,
                (block, ground),
                (plus_days(as_of, 1), evening_mm),
            )?
        }
        Some(gone) => next(loaded, days, (block, ground), (as_of, gone.this_morning_mm))?,
    };
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
        is_told: gone.is_some(),
        gone_mm: gone.as_ref().map(|it| it.this_morning_mm),
        last_watered: gone.as_ref().map(|it| it.last_watered),
        days_between: ground.stand.days_between(&today),
        next,
        taken: ground.taken.clone(),
    })
}

/// The next watering of a block, from a day on before which so much was gone.
fn next(
    loaded: &Loaded,
    days: &Days<'_>,
    (block, ground): (&Block<'_>, &Ground),
    (from, gone_mm): (Date, f64),
) -> Result<Option<NextWatering>, OutOfRange> {
    let spacing_m2 = block.ground_m2 / f64::from(block.plants);
    let pump_m3_h = loaded.nursery.settings.water.pump_m3_h;
    let ahead = (0..AHEAD)
        .map(|day| ground.day(&days.on(plus_days(from, day))))
        .collect::<Result<Vec<_>, _>>()?;
    let next = next_watering(&ground.stand, gone_mm, &ahead, &ground.losses);
    next.map(|watering| {
        let gross_mm = watering.gross_mm / ground.captured / f64::from(watering.times);
        let liters_a_plant = gross_mm * spacing_m2;
        let minutes = ground.outlet.minutes(liters_a_plant, spacing_m2)?;
        let m3 = water_m3(block.plants, liters_a_plant)?;
        Ok(NextWatering {
            date: plus_days(from, watering.day as i64),
            times: watering.times,
            gross_mm,
            liters_a_plant,
            minutes,
            m3,
            turns: turns(m3, minutes, pump_m3_h),
        })
    })
    .transpose()
}

/// Parts of a block that a pump can water one after the other, each for so many minutes.
fn turns(m3: f64, minutes: f64, pump_m3_h: Option<f64>) -> u32 {
    let at_once = pump_m3_h.map_or(f64::INFINITY, |pump| pump * minutes / 60.0);
    if m3 <= at_once {
        return 1;
    }
    // What is even but for the rounding of its last digit is even.
    (m3 / at_once - 1e-9).ceil().max(1.0) as u32
}

/// What is wrong with the weather behind the balances.
fn weather_warnings(
    loaded: &Loaded,
    days: &Days<'_>,
    grounds: &[(Block<'_>, Ground)],
) -> Vec<String> {
    let as_of = loaded.nursery.as_of;
    let mut warnings = Vec::new();
    if days.is_made() {
        warnings.push(
            "Your weather is made from monthly normals and not measured: need and band are those of made \
             years, which are more alike than real ones, and no rain that fell is counted."
                .to_owned(),
        );
        return warnings;
    }
    let in_rain = grounds.iter().filter(|(_, ground)| ground.rain > 0.0);
    let first = in_rain
        .map(|(block, _)| {
            let told = told(loaded, block.place.place.as_str());
            told.first().map_or(as_of, |it| it.date)
        })
        .min();
    let Some(first) = first.map(|it| it.min(plus_days(as_of, -RAIN_DAYS))) else {
        return warnings;
    };
    let since = first.series(jiff::Span::new().days(1));
    let since = since.take_while(|date| *date < as_of);
    let without = since
        .filter(|date| days.on(*date).rain_mm.is_none())
        .count();
    if without > 0 {
        warnings.push(format!(
            "The rain of {without} {} since {} is not known and counts as none: enter it as rain_mm in \
             weather.csv, or look how wet the ground is.",
            if without == 1 { "day" } else { "days" },
            date_words(first)
        ));
    }
    warnings
}
