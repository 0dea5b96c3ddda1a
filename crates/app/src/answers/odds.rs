//! What futures say, with fixed keys.

use serde::{Deserialize, Serialize};

use super::{cents, driver_words};
use crate::run::{FuturesRun, SeasonView};
use futures::{Factor, LineOdds};
use jiff::civil::Date;
use season::{SeasonModel, Surprise, SurpriseOf};

/// `futures --json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FuturesAnswer {
    /// The run's name.
    pub run: String,
    /// Futures drawn.
    pub futures: u32,
    /// Their seed.
    pub seed: u64,
    /// Seconds they took, planning not counted.
    pub seconds: f64,
    /// Every order line.
    pub lines: Vec<OddsAnswer>,
    /// Plants that stay free, by product and where they stand.
    pub products: Vec<ProductAnswer>,
    /// What the user should know.
    pub warnings: Vec<String>,
    /// Counts and samples that hardly go with what was expected of their lot.
    #[serde(default)]
    pub surprises: Vec<SurpriseAnswer>,
}

/// A count or a sample that hardly goes with what was expected of the lot: it was wrong, or the lot is another
/// than it seemed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SurpriseAnswer {
    /// The lot.
    pub lot: String,
    /// The day it was looked at.
    pub on: Date,
    /// `ready` (plants that were ready), `caliper` (the middle one, mm) or `alive` (plants that lived).
    pub of: String,
    /// Plants looked at, or that entered the step.
    pub plants: u32,
    /// What was expected: 9 of 10 lots lie from here
    pub expected_low: f64,
    /// to here.
    pub expected_high: f64,
    /// What was found.
    pub found: f64,
    /// How likely something as far off was.
    pub chance: f64,
}

/// Something that went worse than expected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CauseAnswer {
    /// `weather`, `take`, `growth`, `loss` or `work`.
    pub what: String,
    /// In this share of the futures that missed the line.
    pub when_missed: f64,
    /// In this share of those in which it was on time.
    pub when_on_time: f64,
}

/// The odds of an order line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OddsAnswer {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Whether it is expected demand, which nobody has ordered yet.
    pub on_spec: bool,
    /// Odds that it is complete by the due week.
    pub on_time: f64,
    /// Odds that it is complete by its last week.
    pub by_latest: f64,
    /// Plants short on average.
    pub mean_short: f64,
    /// When it is complete.
    pub week: WeeksAnswer,
    /// What decides its odds most.
    pub driver: String,
    /// What made the difference most between the futures that missed it and the others; none where none
    /// missed it.
    #[serde(default)]
    pub cause: Option<String>,
    /// What was worse than expected in the futures that missed it, the main cause first.
    #[serde(default)]
    pub causes: Vec<CauseAnswer>,
}

/// ISO weeks by which something is done in so many of a hundred futures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WeeksAnswer {
    /// 10 of 100.
    pub p10: Option<String>,
    /// 50 of 100.
    pub p50: Option<String>,
    /// 90 of 100.
    pub p90: Option<String>,
}

/// Free plants of one product made by one step at one place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ProductAnswer {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// The step that made them.
    pub step: String,
    /// Where they stand.
    pub place: String,
    /// By week.
    pub free: Vec<FreeAnswer>,
}

/// Free plants in a week.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FreeAnswer {
    /// ISO week.
    pub week: String,
    /// Fewer in 5 of 100 futures.
    pub p05: f64,
    /// Fewer in half of them.
    pub p50: f64,
    /// Fewer in 95 of 100.
    pub p95: f64,
}

/// The answer of a futures run.
pub fn futures_answer(season: SeasonView<'_>, run: &FuturesRun, seconds: f64) -> FuturesAnswer {
    FuturesAnswer {
        run: run.run.clone(),
        futures: run.futures,
        seed: run.seed,
        seconds,
        lines: odds(season.model, run),
        products: products(season.model, run),
        warnings: season.warnings(),
        surprises: season.model.surprises.iter().map(surprise).collect(),
    }
}

fn surprise(it: &Surprise) -> SurpriseAnswer {
    let of = match it.of {
        SurpriseOf::Ready => "ready",
        SurpriseOf::Caliper => "caliper",
        SurpriseOf::Alive => "alive",
    };
    let [low, high] = it.expected;
    SurpriseAnswer {
        lot: it.lot.to_string(),
        on: it.on,
        of: of.to_owned(),
        plants: it.plants,
        expected_low: cents(low),
        expected_high: cents(high),
        found: cents(it.found),
        chance: it.chance,
    }
}

fn odds(model: &SeasonModel, run: &FuturesRun) -> Vec<OddsAnswer> {
    let iso = |week: Option<u32>| week.map(|week| model.calendar.iso(i64::from(week)));
    model
        .lines
        .iter()
        .filter_map(|line| {
            let odds = run.summary.orders.get(&line.id)?;
            Some(OddsAnswer {
                order: line.order.clone(),
                line: line.line.clone(),
                on_spec: line.on_spec,
                on_time: odds.on_time,
                by_latest: odds.by_latest,
                mean_short: odds.mean_short,
                week: WeeksAnswer {
                    p10: iso(odds.week.p10),
                    p50: iso(odds.week.p50),
                    p90: iso(odds.week.p90),
                },
                driver: driver_words(odds.driver).to_owned(),
                cause: odds.cause.map(|it| factor_word(it).to_owned()),
                causes: causes(odds),
            })
        })
        .collect()
}

/// A factor's key.
fn factor_word(factor: Factor) -> &'static str {
    match factor {
        Factor::Weather => "weather",
        Factor::Take => "take",
        Factor::Growth => "growth",
        Factor::Loss => "loss",
        Factor::Work => "work",
    }
}

/// What was worse than expected when a line was missed, what made most difference first.
fn causes(odds: &LineOdds) -> Vec<CauseAnswer> {
    let mut causes: Vec<CauseAnswer> = odds
        .causes
        .iter()
        .map(|it| CauseAnswer {
            what: factor_word(it.what).to_owned(),
            when_missed: it.when_missed,
            when_on_time: it.when_on_time,
        })
        .collect();
    let difference = |it: &CauseAnswer| it.when_missed - it.when_on_time;
    causes.sort_by(|one, other| difference(other).total_cmp(&difference(one)));
    causes
}

fn products(model: &SeasonModel, run: &FuturesRun) -> Vec<ProductAnswer> {
    model
        .stages
        .iter()
        .filter_map(|stage| {
            let free = run.summary.free.get(&stage.id)?;
            let weeks = run.summary.weeks.iter().enumerate();
            Some(ProductAnswer {
                variety: stage.variety.as_ref()?.to_string(),
                rootstock: stage.rootstock.to_string(),
                size: stage.size.as_ref()?.to_string(),
                step: stage.node.to_string(),
                place: stage.place.to_string(),
                free: weeks
                    .map(|(index, week)| FreeAnswer {
                        week: model.calendar.iso(i64::from(*week)),
                        p05: free.p05[index],
                        p50: free.p50[index],
                        p95: free.p95[index],
                    })
                    .collect(),
            })
        })
        .collect()
}
