//! What stands, with what is expected of it.

use std::collections::BTreeSet;

use jiff::civil::Date;
use nursery::ledger::Books;
use nursery::ledger::lineage::Node;
use nursery::ledger::lot::{BudState, Lot, View};
use serde::Serialize;

use super::NurseryFile;
use super::outlook::{Expected, Outlook};
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
    /// When its plants are ready and over age, and their heat; nothing without weather.
    #[serde(flatten)]
    pub expected: Expected,
    /// Whether a hold reaches it.
    pub held: bool,
}

impl NurseryFile {
    /// What stands at the end of a day.
    pub fn standing(&self, books: &Books, as_of: Date) -> Result<Vec<LotAnswer>, AppError> {
        let outlook = self.outlook(books, as_of)?;
        Ok(self.standing_with(books, as_of, &outlook))
    }

    /// What stands at the end of a day, as an outlook made before expects it.
    pub fn standing_with(&self, books: &Books, as_of: Date, outlook: &Outlook) -> Vec<LotAnswer> {
        let held = books.held(as_of);
        let lots = books.lots.values().filter_map(|lot| {
            let view = lot.on(as_of)?;
            (view.plants() > 0).then(|| lot_answer(lot, &view, &held, outlook))
        });
        lots.collect()
    }
}

/// Lots whose buds are wrapped at the end of a day, so that their take can be counted.
pub fn wrapped(books: &Books, as_of: Date) -> BTreeSet<String> {
    let is_wrapped = |lot: &&Lot| {
        let view = lot.on(as_of);
        view.is_some_and(|it| it.bud == Some(BudState::Wrapped))
    };
    let lots = books.lots.values().filter(is_wrapped);
    lots.map(|it| it.lot.to_string()).collect()
}

/// A lot as it stands.
pub(super) fn lot_answer(
    lot: &Lot,
    view: &View,
    held: &BTreeSet<Node>,
    outlook: &Outlook,
) -> LotAnswer {
    LotAnswer {
        lot: lot.lot.to_string(),
        stage: view.stage.word(),
        rootstock: lot.rootstock.to_string(),
        variety: lot.variety.as_ref().map(ToString::to_string),
        size: view.size.as_ref().map(ToString::to_string),
        place: view.place.to_string(),
        growing: view.growing,
        ready: view.ready,
        entered: view.entered,
        expected: outlook.of(lot, view).unwrap_or_default(),
        held: held.contains(&Node::Lot(lot.lot.clone())),
    }
}
