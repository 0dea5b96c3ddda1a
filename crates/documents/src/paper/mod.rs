//! Sheets of paper: blocks of words, tables and drawings, laid out on pages of a size.

mod flow;
mod piece;
mod table;

use jiff::civil::Date;

use crate::drawing::Drawing;
use crate::pdf::{self, PdfError};

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PaperSize {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 inches.
    Letter,
}

impl PaperSize {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// Its name in addresses and arguments.
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }

    /// The size of this name.
    pub fn of_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|size| size.name() == name)
    }

    /// Width and height, upright.
    pub const fn millimeters(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// Words that the layout itself puts on paper, in the language of the sheet.
#[derive(Debug, Clone, Copy)]
pub struct PaperWords {
    /// The language, as `en` or `es`.
    pub language: &'static str,
    /// Which page of how many this is.
    pub page: fn(usize, usize) -> String,
    /// What a box to write in is called when read aloud.
    pub write: &'static str,
    /// What a box to tick is called when read aloud.
    pub tick: &'static str,
}

/// A document of flowing blocks. Each page has a head with nursery, sheet, date and page.
#[derive(Debug, Clone)]
pub struct Paper {
    /// Whose it is.
    pub nursery: String,
    /// What sheet it is.
    pub title: String,
    /// The day it bears, as it is printed.
    pub date: String,
    /// The same day, kept in the file.
    pub day: Date,
    /// Words of the layout.
    pub words: PaperWords,
    /// What is on it, in reading order.
    pub blocks: Vec<Block>,
}

/// Something on a paper.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading within the sheet; 2 is the highest level, the sheet's title is 1.
    Heading(u16, String),
    /// Running text. A line break in it is kept.
    Paragraph(String),
    /// The sentence that answers what the sheet is for, larger.
    Answer(String),
    /// Text that stands back: method, source, caution.
    Note(String),
    /// Items with points.
    List(Vec<String>),
    /// Items with numbers.
    Steps(Vec<String>),
    /// A table.
    Table(Table),
    /// Drawings, next to each other where they fit.
    Drawings(Vec<Drawing>),
    /// What follows begins a new page.
    NewPage,
}

/// Columns and rows. Where no column has a head, none is drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What it is about, for whoever has it read aloud.
    pub about: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its head, with the unit.
    pub head: String,
    /// Its share of the width, beside those of the others.
    pub weight: f64,
    /// Whether it holds numbers, which stand at its right.
    pub number: bool,
}

impl Column {
    /// A column of words.
    pub fn words(head: &str, weight: f64) -> Self {
        Self {
            head: head.to_owned(),
            weight,
            number: false,
        }
    }

    /// A column of numbers.
    pub fn number(head: &str, weight: f64) -> Self {
        Self {
            number: true,
            ..Self::words(head, weight)
        }
    }
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// A cell for each column. Its first names it.
    Cells(Vec<Cell>),
    /// Words over the whole width that say what the next rows belong to; they stand with the first of them.
    Group(String),
    /// A row that adds up those above.
    Total(Vec<Cell>),
}

/// What is in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Words or a number.
    Words(String),
    /// The same, written heavily.
    Strong(String),
    /// A box to write in by hand.
    Write,
    /// A box to tick.
    Tick,
}

impl Cell {
    /// What it says.
    pub fn said(&self) -> &str {
        match self {
            Self::Words(words) | Self::Strong(words) => words,
            Self::Write | Self::Tick => "",
        }
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Self {
        Self::Words(words)
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Self {
        Self::Words(words.to_owned())
    }
}

/// How much smaller type is made so that a paper keeps to its pages, the least first.
const SCALES: [f64; 7] = [1.0, 0.96, 0.93, 0.9, 0.87, 0.84, 0.8];

impl Paper {
    /// How many pages it has on a size of paper, its type made smaller by a scale.
    pub fn pages(&self, size: PaperSize, scale: f64) -> usize {
        flow::lay_out(self, size, scale).sheets.len()
    }

    /// The paper as a PDF of so many pages at most, where type of four fifths of the usual size brings it there; no
    /// smaller than is needed.
    pub fn pdf_of_pages(&self, size: PaperSize, most: usize) -> Result<Vec<u8>, PdfError> {
        let fits = |scale: &f64| self.pages(size, *scale) <= most;
        let scale = SCALES.into_iter().find(fits);
        self.pdf_at(size, scale.unwrap_or(1.0))
    }

    /// The paper as a PDF: black on white, letters embedded, tagged for screen readers. The same paper gives the same
    /// bytes.
    pub fn pdf(&self, size: PaperSize) -> Result<Vec<u8>, PdfError> {
        self.pdf_at(size, 1.0)
    }

    fn pdf_at(&self, size: PaperSize, scale: f64) -> Result<Vec<u8>, PdfError> {
        let laid = flow::lay_out(self, size, scale);
        let about = pdf::About {
            title: &self.title,
            author: &self.nursery,
            language: self.words.language,
            day: self.day,
        };
        pdf::pdf(&about, &laid.sheets, &laid.tree, &laid.mentions)
    }
}
