//! Papers: what goes to the beds and with the trees, made from the books and answers. Each is one
//! [`Paper`], drawn as a PDF or shown as a page.

mod asked;
mod availability;
mod beds;
mod budding;
mod dispatch;
mod labels;
mod week;
mod words;

use documents::PaperWords;
use jiff::civil::Date;
use nursery::ledger::Books;

use crate::error::{AppError, Kind};
use crate::ledger::{NurseryFile, PlantNames};
use crate::reading::{Language, Reading};

pub use asked::{MONTHS_AHEAD, ODDS, PaperAsk, drawn, labels, paper};
pub use documents::{
    Block, Cell, Column, Drawing, Gray, Ink, Label, LabelError, LabelKind, LabelStock, Labels,
    Lettering, Measure, Paper, PaperSize, PdfError, Row, StockError, Stroke, Table,
};
pub use labels::LabelsOf;
use words::Words;

/// A kind of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaperKind {
    /// The week's sheet.
    Week,
    /// The bed map.
    Beds,
    /// The budding list.
    Budding,
    /// The dispatch note of an order.
    Dispatch,
    /// What customers can have.
    Availability,
    /// Labels.
    Labels,
}

impl PaperKind {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Week,
        Self::Beds,
        Self::Budding,
        Self::Dispatch,
        Self::Availability,
        Self::Labels,
    ];

    /// Its name in addresses and arguments.
    pub const fn id(self) -> &'static str {
        match self {
            Self::Week => "week",
            Self::Beds => "beds",
            Self::Budding => "budding",
            Self::Dispatch => "dispatch",
            Self::Availability => "availability",
            Self::Labels => "labels",
        }
    }

    /// What people call it.
    pub fn name(self, language: Language) -> &'static str {
        let words = Words::of(language);
        match self {
            Self::Week => words.week.name,
            Self::Beds => words.beds.name,
            Self::Budding => words.budding.name,
            Self::Dispatch => words.dispatch.name,
            Self::Availability => words.availability.name,
            Self::Labels => words.labels.name,
        }
    }
}

/// A space at which no line breaks.
const UNBROKEN: &str = "\u{a0}";

/// Makes papers of one day from one state of the books.
pub struct PaperMaker<'a> {
    books: &'a Books,
    day: Date,
    reading: Reading,
    words: &'static Words,
    names: PlantNames,
    nursery: String,
    /// Weeks that budsticks keep in the cold store.
    store_weeks: u32,
}

impl<'a> PaperMaker<'a> {
    /// Over the books as they are, in a language and with units.
    pub fn new(file: &'a NurseryFile, books: &'a Books, day: Date, reading: Reading) -> Self {
        let words = Words::of(reading.language());
        let settings = file.settings(books, day);
        let planning = settings.as_ref().map(|it| it.planning.clone());
        let name = settings.map(|it| it.name);
        let nursery = name.filter(|it| !it.trim().is_empty());
        Self {
            books,
            day,
            reading,
            words,
            names: file.plant_names(),
            nursery: nursery.unwrap_or_else(|| words.common.nursery.to_owned()),
            store_weeks: planning.unwrap_or_default().store_weeks,
        }
    }

    fn paper(&self, title: String, blocks: Vec<Block>) -> Paper {
        Paper {
            nursery: self.nursery.clone(),
            title,
            date: self.reading.date(self.day),
            day: self.day,
            words: self.words.layout,
            blocks,
        }
    }

    /// A plant, as `Valencia on Carrizo`.
    fn plant(&self, variety: Option<&str>, rootstock: &str) -> String {
        match variety {
            Some(variety) if !rootstock.is_empty() => {
                let (variety, rootstock) =
                    (self.names.variety(variety), self.names.rootstock(rootstock));
                (self.words.common.on)(variety, rootstock)
            }
            _ => self.names.plant(variety, rootstock),
        }
    }

    fn stage(&self, stage: &str) -> String {
        (self.words.common.stage)(stage).unwrap_or(stage).to_owned()
    }

    /// A date that does not break.
    fn date(&self, day: Date) -> String {
        self.reading.date(day).replace(' ', UNBROKEN)
    }

    /// A date without its year, likewise.
    fn day_of_year(&self, day: Date) -> String {
        self.reading.day(day).replace(' ', UNBROKEN)
    }

    fn count(&self, plants: u32) -> String {
        self.reading.count(u64::from(plants))
    }

    fn hours(&self, hours: f64) -> String {
        self.reading.number(hours, 1)
    }
}

/// The words of the layout in a language.
pub fn layout_words(language: Language) -> PaperWords {
    Words::of(language).layout
}

impl From<PdfError> for AppError {
    fn from(error: PdfError) -> Self {
        Self::new(
            Kind::Internal,
            error.to_string(),
            "",
            "try again; if it happens again, please report it",
        )
    }
}

impl From<LabelError> for AppError {
    fn from(error: LabelError) -> Self {
        match error {
            LabelError::Pdf(error) => error.into(),
            error => Self::new(
                Kind::Invalid,
                error.to_string(),
                "the labels",
                "change the sizes or what is on the labels, and try again",
            ),
        }
    }
}

/// So many, or the next whole number above; what rounding left over is none.
fn whole_up(amount: f64) -> f64 {
    (amount - 1e-6).ceil()
}

fn text(words: impl Into<String>) -> Cell {
    Cell::Words(words.into())
}

fn strong(words: impl Into<String>) -> Cell {
    Cell::Strong(words.into())
}
