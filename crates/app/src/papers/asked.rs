//! A paper as it is asked for, on a screen or by a command.

use jiff::civil::Date;

use super::words::Words;
use super::{Drawing, Labels, LabelsOf, Paper, PaperKind, PaperMaker};
use crate::error::{AppError, Kind};
use crate::ledger::NurseryFile;
use crate::ledger::desk::{Desk, Sight};
use crate::reading::{Language, Measures, Reading};

/// The odds that an availability list is made at where none are chosen, in percent.
pub const ODDS: u32 = 90;

/// Months of an availability list where none are chosen.
pub const MONTHS_AHEAD: u32 = 6;

/// A paper that is asked for.
#[derive(Debug, Clone)]
pub struct PaperAsk {
    /// Which.
    pub kind: PaperKind,
    /// The day it bears; its week is that of the week's sheet.
    pub day: Date,
    /// Its language, in place of the nursery's.
    pub language: Option<Language>,
    /// Its units, in place of the nursery's.
    pub measures: Option<Measures>,
    /// The crew of a week's sheet; all work without it.
    pub crew: Option<String>,
    /// The place of a bed map; all without it.
    pub place: Option<String>,
    /// The order of a dispatch note.
    pub order: Option<String>,
    /// Permits on a dispatch note.
    pub permits: Vec<String>,
    /// The odds of an availability list, in percent.
    pub at_odds: u32,
    /// Months that it looks ahead.
    pub months: u32,
}

impl PaperAsk {
    /// A paper as it is without any choice.
    pub const fn new(kind: PaperKind, day: Date) -> Self {
        Self {
            kind,
            day,
            language: None,
            measures: None,
            crew: None,
            place: None,
            order: None,
            permits: Vec::new(),
            at_odds: ODDS,
            months: MONTHS_AHEAD,
        }
    }

    /// How words and figures of the paper are written.
    pub fn reading(&self, file: &NurseryFile, sight: &Sight) -> Reading {
        let settings = file.settings(&sight.books, self.day);
        let own = settings.map_or_else(Reading::default, |it| Reading::of(&it));
        own.with(self.language, self.measures)
    }
}

/// Makes a paper.
///
/// # Errors
/// What it is to be of is not known.
pub fn paper(desk: &Desk, ask: &PaperAsk) -> Result<Paper, AppError> {
    let week = match ask.kind {
        PaperKind::Week | PaperKind::Budding => Some(desk.week(ask.day)?),
        _ => None,
    };
    let standing = match ask.kind {
        PaperKind::Beds => Some(desk.standing(ask.day)?),
        _ => None,
    };
    let odds = match ask.kind {
        PaperKind::Availability => desk.odds(ask.day)?.now,
        _ => None,
    };
    desk.read(|file, sight| {
        let books = &sight.books;
        let maker = PaperMaker::new(file, books, ask.day, ask.reading(file, sight));
        match (ask.kind, &week, &standing) {
            (PaperKind::Week, Some(week), _) => Ok(maker.week(week, ask.crew.as_deref())),
            (PaperKind::Budding, Some(week), _) => Ok(maker.budding(week)),
            (PaperKind::Beds, _, Some(standing)) => {
                let outlook = desk.outlook(file, sight, ask.day)?;
                Ok(maker.beds(standing, &outlook, ask.place.as_deref()))
            }
            (PaperKind::Dispatch, ..) => {
                let name = ask.order.as_deref().ok_or_else(no_order)?;
                let order = file.order(books, name, ask.day)?;
                Ok(maker.dispatch(&order, &ask.permits))
            }
            (PaperKind::Availability, ..) => {
                let available = odds
                    .as_ref()
                    .map(|odds| file.available(books, odds, ask.at_odds, ask.months));
                Ok(maker.availability(available.transpose()?.as_ref()))
            }
            (PaperKind::Labels | PaperKind::Week | PaperKind::Budding | PaperKind::Beds, ..) => {
                Err(AppError::new(
                    Kind::Internal,
                    "labels are no sheet of running text",
                    "",
                    "make them with the sizes of their stock",
                ))
            }
        }
    })
}

/// Makes labels; `order` names the order whose lots get some.
///
/// # Errors
/// A lot, place or order that is not known, or an address that is none.
pub fn labels(desk: &Desk, ask: &PaperAsk, of: LabelsOf) -> Result<Labels, AppError> {
    desk.read(|file, sight| {
        let books = &sight.books;
        let order = ask.order.as_deref();
        let order = order
            .map(|name| file.order(books, name, ask.day))
            .transpose()?;
        let maker = PaperMaker::new(file, books, ask.day, ask.reading(file, sight));
        maker.labels(&LabelsOf { order, ..of })
    })
}

/// The sheets of labels as drawings, to be looked at before printing.
///
/// # Errors
/// They do not fit.
pub fn drawn(labels: &Labels) -> Result<Vec<Drawing>, AppError> {
    let language = match labels.language {
        "es" => Language::Es,
        _ => Language::En,
    };
    Ok(labels.drawings(Words::of(language).labels.sheet)?)
}

fn no_order() -> AppError {
    AppError::new(
        Kind::Invalid,
        "a dispatch note is of one order",
        "the order",
        "name the order",
    )
}
