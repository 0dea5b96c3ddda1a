//! What is expected of lots on a day: worked out once for settings and weather, then told lot by lot.

use std::collections::BTreeMap;
use std::sync::{PoisonError, RwLock};

use jiff::civil::Date;
use models::Day;
use nursery::ids::{PlaceName, RootstockName, SizeName, StepName, VarietyName};
use nursery::ledger::Books;
use nursery::ledger::export::lot_row;
use nursery::ledger::lot::{Lot, View};
use nursery::{FileSet, Nursery};
use season::{Ahead, Calendar};
use serde::Serialize;

use super::NurseryFile;
use super::runs::settings_hash;
use crate::error::AppError;
use crate::folder::{Found, assemble};

/// What settings and weather let expect of lots from a day on.
///
/// It holds for as long as neither changes ([`Outlook::mark`]), whatever is recorded of lots and
/// orders, and may be asked by many at once.
pub struct Outlook {
    mark: String,
    as_of: Date,
    rules: Option<Nursery>,
    season: Option<season::Outlook>,
    known: Memo<Option<Ahead>>,
    steps: Memo<Option<StepName>>,
    bark: RwLock<BTreeMap<(RootstockName, PlaceName), Option<f64>>>,
}

type Memo<T> = RwLock<BTreeMap<Key, T>>;

/// All of a lot that what is expected of it depends on.
type Key = (
    &'static str,
    RootstockName,
    Option<VarietyName>,
    Option<SizeName>,
    PlaceName,
    Date,
    Option<Date>,
    Option<StepName>,
);

/// What is expected of a lot.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Expected {
    /// ISO weeks in which a tenth, half and nine tenths of the growing plants are expected to be ready;
    /// none with none growing.
    pub ready_week: Option<Quantiles>,
    /// ISO week from which the plants that are ready now are over age; none with none ready.
    pub over_age_week: Option<String>,
    /// The heat of the growing plants; none with none growing.
    pub degree_days: Option<DegreeDays>,
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

/// Heat since a lot entered its stage, in whole degree-days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DegreeDays {
    /// So far.
    pub so_far: u32,
    /// Until the middle plant of the middle lot is ready.
    pub needed: u32,
}

impl NurseryFile {
    /// What is expected of lots from a day on. Without settings or weather nothing is; what is wrong
    /// with them is told by [`load_ledger`](super::load_ledger).
    pub fn outlook(&self, books: &Books, as_of: Date) -> Result<Outlook, AppError> {
        let mark = self.outlook_mark(books, as_of)?;
        let mut files = books.settings.files(as_of);
        // Heat and rules are told without the rows of what stands, whatever those hold.
        let weather = self.weather()?;
        files.insert("weather.csv".to_owned(), Vec::new());
        let set = self.with_forecast(FileSet { files })?;
        let rules = Nursery::from_files(&set, as_of).ok();
        let season = match weather {
            Some(weather) if rules.is_some() => {
                let found = Found {
                    set,
                    ..Found::default()
                };
                let loaded = assemble(&self.path, &found, as_of, &weather).ok();
                loaded.and_then(|it| season::Outlook::over(it.nursery, it.weather).ok())
            }
            _ => None,
        };
        Ok(Outlook {
            mark,
            as_of,
            rules,
            season,
            known: Memo::default(),
            steps: Memo::default(),
            bark: RwLock::default(),
        })
    }

    /// What an outlook of a day is made from, in short: while this is the same, so is the outlook.
    pub fn outlook_mark(&self, books: &Books, as_of: Date) -> Result<String, AppError> {
        let settings = settings_hash(books, as_of);
        let weather = self.weather_hash()?.unwrap_or_default();
        Ok(format!("{as_of} {settings} {weather}"))
    }
}

impl Outlook {
    /// What it was made from ([`NurseryFile::outlook_mark`]).
    pub fn mark(&self) -> &str {
        &self.mark
    }

    /// The day it looks ahead from.
    pub fn as_of(&self) -> Date {
        self.as_of
    }

    /// What is expected of a lot as it stands; none where it fits no step in use, or without weather.
    pub fn of(&self, lot: &Lot, view: &View) -> Option<Expected> {
        let season = self.season.as_ref()?;
        let ahead = remembered(&self.known, lot, view, || season.of(&lot_row(lot, view)))?;
        Some(expected(season.calendar(), &ahead, view))
    }

    /// The step or stand that a lot's plants came from.
    pub(super) fn step_of(&self, lot: &Lot, view: &View) -> Option<StepName> {
        let rules = self.rules.as_ref()?;
        remembered(&self.steps, lot, view, || {
            season::step_of_lot(rules, &lot_row(lot, view))
        })
    }

    /// The area that a plant of a lot needs at its stage, m²; none where it fits no step in use.
    pub fn area_of_plant(&self, lot: &Lot, view: &View) -> Option<f64> {
        let step = self.step_of(lot, view)?;
        let routes = &self.rules.as_ref()?.catalogue.routes;
        let of_step = routes.steps.get(&step).map(|it| it.area_m2);
        of_step.or_else(|| routes.stands.get(&step).map(|it| it.area_m2))
    }

    /// Settings and catalogue, without what stands.
    pub(super) fn rules(&self) -> Option<&Nursery> {
        self.rules.as_ref()
    }

    /// The share of the courses of weather in which bark of a rootstock slips at a place in the first week that
    /// begins from the day on; none without weather, or where neither is known.
    pub(super) fn bark_share(&self, rootstock: &RootstockName, place: &PlaceName) -> Option<f64> {
        let season = self.season.as_ref()?;
        let key = (rootstock.clone(), place.clone());
        // Nothing half done can be in a memo, so that one left by a thread that failed is as good.
        let read = self.bark.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = read.get(&key) {
            return *known;
        }
        drop(read);
        let share = season.bark_share(rootstock, place);
        let mut write = self.bark.write().unwrap_or_else(PoisonError::into_inner);
        *write.entry(key).or_insert(share)
    }

    /// The days of the forecast in use, from a day on.
    pub(super) fn forecast(&self, from: Date) -> Vec<(Date, Day)> {
        let days = self.season.as_ref().map(season::Outlook::forecast);
        let days = days.unwrap_or_default();
        days.into_iter().filter(|(date, _)| *date >= from).collect()
    }

    /// Whether growing plants of a lot have had the heat that they need.
    pub(super) fn has_its_heat(&self, lot: &Lot, view: &View) -> bool {
        let heat = self.of(lot, view).and_then(|it| it.degree_days);
        heat.is_some_and(|it| it.so_far >= it.needed)
    }
}

/// What is known of lots that stand alike, worked out where nobody has asked yet.
fn remembered<T: Clone>(memo: &Memo<T>, lot: &Lot, view: &View, new: impl FnOnce() -> T) -> T {
    let key = key_of(lot, view);
    // Nothing half done can be in a memo, so that one left by a thread that failed is as good.
    let read = memo.read().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = read.get(&key) {
        return known.clone();
    }
    drop(read);
    let new = new();
    let mut write = memo.write().unwrap_or_else(PoisonError::into_inner);
    write.entry(key).or_insert(new).clone()
}

fn key_of(lot: &Lot, view: &View) -> Key {
    (
        view.stage.word(),
        lot.rootstock.clone(),
        lot.variety.clone(),
        view.size.clone(),
        view.place.clone(),
        view.entered,
        lot.budded_on,
        view.step.clone(),
    )
}

fn expected(calendar: Calendar, ahead: &Ahead, view: &View) -> Expected {
    // Plants of a stand do not grow on towards anything: all of them are ready.
    let growth = ahead.growth.as_ref();
    let (growing, ready) = match growth {
        Some(_) => (view.growing, view.ready),
        None => (0, view.plants()),
    };
    let growth = growth.filter(|_| growing > 0);
    let week = |week: usize| calendar.iso(week as i64);
    Expected {
        ready_week: growth.map(|it| Quantiles {
            p10: week(it.weeks[0]),
            p50: week(it.weeks[1]),
            p90: week(it.weeks[2]),
        }),
        over_age_week: (ready > 0).then(|| calendar.iso(i64::from(ahead.over_age_weeks) + 1)),
        degree_days: growth.map(|it| DegreeDays {
            so_far: it.so_far.round() as u32,
            needed: it.needed.round() as u32,
        }),
    }
}
