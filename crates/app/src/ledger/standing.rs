//! What stands, with what is expected of it.

use std::collections::BTreeMap;

use jiff::civil::Date;
use nursery::ids::LotName;
use nursery::ledger::Books;
use nursery::ledger::lineage::Node;
use season::{Fraction, SeasonModel, StandingLot};
use serde::Serialize;

use super::NurseryFile;
use super::exchange::load_whole;
use crate::error::AppError;

/// One lot of `standing --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotAnswer {
    /// Its name.
    pub lot: String,
    /// Kind of plant.
    pub stage: &'static str,
    /// Rootstock.
    pub rootstock: String,
    /// Variety, once budded.
    pub variety: Option<String>,
    /// Size, of finished trees.
    pub size: Option<String>,
    /// Where it stands.
    pub place: String,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Day it entered its stage.
    pub entered: Date,
    /// ISO weeks in which a tenth, half and nine tenths of the growing plants are expected to be ready;
    /// none without weather, or with none growing.
    pub ready_week: Option<Quantiles>,
    /// ISO week from which the plants that are ready now are over age.
    pub over_age_week: Option<String>,
    /// Whether a hold reaches it.
    pub held: bool,
}

/// Weeks by the share of plants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quantiles {
    /// A tenth.
    pub p10: String,
    /// Half.
    pub p50: String,
    /// Nine tenths.
    pub p90: String,
}

/// Weeks of work that are looked at where only what stands is asked for.
const FEW_WEEKS: u32 = 4;

impl NurseryFile {
    /// What stands at the end of a day.
    pub fn standing(&self, books: &Books, as_of: Date) -> Result<Vec<LotAnswer>, AppError> {
        let model = self.season_of(books, as_of);
        let expected: BTreeMap<&LotName, &StandingLot> = model
            .iter()
            .flat_map(|it| &it.standing)
            .map(|lot| (&lot.lot, lot))
            .collect();
        let held = books.held(as_of);
        let lots = books.lots.iter().filter_map(|(name, lot)| {
            let view = lot.on(as_of)?;
            if view.plants() == 0 {
                return None;
            }
            let ahead = model.as_ref().zip(expected.get(name).copied());
            Some(LotAnswer {
                lot: name.to_string(),
                stage: view.stage.word(),
                rootstock: lot.rootstock.to_string(),
                variety: lot.variety.as_ref().map(ToString::to_string),
                size: view.size.as_ref().map(ToString::to_string),
                place: view.place.to_string(),
                growing: view.growing,
                ready: view.ready,
                entered: view.entered,
                ready_week: ahead.and_then(|(model, it)| ready_week(model, it)),
                over_age_week: ahead.and_then(|(model, it)| over_age_week(model, it)),
                held: held.contains(&Node::Lot(name.clone())),
            })
        });
        Ok(lots.collect())
    }

    /// The season, where the ledger has what it takes; what stands is told without it too.
    fn season_of(&self, books: &Books, as_of: Date) -> Option<SeasonModel> {
        let mut loaded = load_whole(self, books, as_of).ok()?;
        // What stands needs the weather to come, not the work: few weeks of it are planned.
        let planning = &mut loaded.nursery.settings.planning;
        planning.weeks = planning.weeks.min(FEW_WEEKS);
        season::build(&loaded.nursery, &loaded.weather).ok()
    }
}

fn ready_week(model: &SeasonModel, lot: &StandingLot) -> Option<Quantiles> {
    let all: f64 = lot.arrivals.iter().map(|it| it.share).sum();
    if lot.growing == 0 || all <= 0.0 {
        return None;
    }
    let week = |share: f64| {
        let at = week_of_share(&lot.arrivals, share * all);
        model.calendar.iso(at as i64)
    };
    Some(Quantiles {
        p10: week(0.1),
        p50: week(0.5),
        p90: week(0.9),
    })
}

/// The first week by which so large a share is ready.
fn week_of_share(arrivals: &[Fraction], share: f64) -> usize {
    let mut sum = 0.0;
    for part in arrivals {
        sum += part.share;
        if sum >= share {
            return part.week;
        }
    }
    arrivals.last().map_or(0, |it| it.week)
}

fn over_age_week(model: &SeasonModel, lot: &StandingLot) -> Option<String> {
    if lot.ready == 0 {
        return None;
    }
    let weeks = model.stages[lot.stage].over_age.first()?;
    Some(model.calendar.iso(i64::from(*weeks) + 1))
}
