//! Labels: on sheets of any grid, on rolls, as row stakes and as bundle tags.

mod layout;
mod stock;

use jiff::civil::Date;

use crate::drawing::{Drawing, Gray, Ink, Shape, Stroke};
use crate::pdf::{self, Mark, Mention, PdfError, Role, Sheet, Tree};

use layout::What;
pub use stock::{LabelStock, Measure, StockError};

/// More labels than anybody prints at once.
const MOST: usize = 5000;

/// One label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// What a phone's camera opens.
    pub address: String,
    /// What a person reads first.
    pub headline: String,
    /// What a person reads next.
    pub lines: Vec<String>,
}

/// What a label is made into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LabelKind {
    /// It is stuck onto something flat.
    #[default]
    Plain,
    /// Long and narrow, printed twice, so that it is read from both sides of a row when folded.
    Stake,
    /// With a mark where the hole for the string is.
    Tag,
}

/// Labels and what they are printed on.
#[derive(Debug, Clone, PartialEq)]
pub struct Labels {
    /// Whose they are.
    pub nursery: String,
    /// What they are called.
    pub title: String,
    /// Their language, as `en` or `es`.
    pub language: &'static str,
    /// The day kept in the file.
    pub day: Date,
    /// What they are printed on.
    pub stock: LabelStock,
    /// What they are made into.
    pub kind: LabelKind,
    /// The first free place of the first sheet, from 1.
    pub first: usize,
    /// Whether lines to cut along are drawn, for paper that is not cut yet.
    pub cut_lines: bool,
    /// The labels.
    pub labels: Vec<Label>,
}

/// Why labels cannot be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LabelError {
    /// They do not fit on the sheet.
    #[error(transparent)]
    Stock(#[from] StockError),
    /// There are none, or too many.
    #[error("{0} labels are chosen: choose 1 to {MOST}")]
    Count(usize),
    /// A code needs more room.
    #[error(
        "the label of {label} is too small for its code: it must be {least} mm wide and high at least"
    )]
    Small {
        /// Its headline.
        label: String,
        /// The least width and height.
        least: f64,
    },
    /// Words need more room.
    #[error("the words of the label of {0} do not fit: take larger labels")]
    Text(String),
    /// An address is too long for a code.
    #[error("the address of the label of {0} is too long for a code")]
    Address(String),
    /// The document could not be written.
    #[error(transparent)]
    Pdf(#[from] PdfError),
}

impl Labels {
    /// The labels as a PDF in true size.
    pub fn pdf(&self) -> Result<Vec<u8>, LabelError> {
        let mut tree = Tree::default();
        let sheets = self.sheets(&mut tree)?;
        let about = pdf::About {
            title: &self.title,
            author: &self.nursery,
            language: self.language,
            day: self.day,
        };
        let beginning = Mention {
            words: self.title.clone(),
            sheet: 0,
            y_mm: 0.0,
        };
        Ok(pdf::pdf(&about, &sheets, &tree, &[beginning])?)
    }

    /// The sheets as drawings, to be looked at before printing.
    pub fn drawings(&self, title: fn(usize, usize) -> String) -> Result<Vec<Drawing>, LabelError> {
        let sheets = self.sheets(&mut Tree::default())?;
        let count = sheets.len();
        let drawing = |(number, sheet): (usize, Sheet)| Drawing {
            width_mm: sheet.width_mm,
            height_mm: sheet.height_mm,
            title: title(number + 1, count),
            description: self.title.clone(),
            shapes: sheet.marks.into_iter().map(|mark| mark.shape).collect(),
        };
        Ok(sheets.into_iter().enumerate().map(drawing).collect())
    }

    fn sheets(&self, tree: &mut Tree) -> Result<Vec<Sheet>, LabelError> {
        self.stock.check()?;
        let places = self.stock.places();
        if !(1..=places).contains(&self.first) {
            let first = self.first;
            return Err(StockError::First { first, places }.into());
        }
        if !(1..=MOST).contains(&self.labels.len()) {
            return Err(LabelError::Count(self.labels.len()));
        }
        let mut sheets: Vec<Sheet> = Vec::new();
        for (number, label) in self.labels.iter().enumerate() {
            let place = number + self.first - 1;
            if place / places >= sheets.len() {
                sheets.push(Sheet {
                    width_mm: self.stock.page_width,
                    height_mm: self.stock.page_height,
                    marks: Vec::new(),
                });
            }
            let marks = self.one(tree, label, self.stock.corner(place % places))?;
            if let Some(sheet) = sheets.last_mut() {
                sheet.marks.extend(marks);
            }
        }
        Ok(sheets)
    }

    fn one(
        &self,
        tree: &mut Tree,
        label: &Label,
        corner: (f64, f64),
    ) -> Result<Vec<Mark>, LabelError> {
        let (width, height) = (self.stock.width, self.stock.height);
        let things = layout::laid(label, self.kind, width, height)?;
        let whole = tree.add(None, Role::Section);
        let words = 1 + things.iter().fold(0, |most, (what, _)| match what {
            What::Words(number) => most.max(*number),
            What::Code | What::Extra => most,
        });
        let lines: Vec<usize> = (0..words)
            .map(|_| tree.add(Some(whole), Role::Paragraph))
            .collect();
        let code = tree.add(Some(whole), Role::Figure(label.address.clone()));
        let mut marks = Vec::new();
        if self.cut_lines {
            marks.push(Mark {
                part: None,
                shape: Shape::Rectangle {
                    at: corner,
                    width_mm: width,
                    height_mm: height,
                    ink: Ink::outlined(Stroke::of(0.1, Gray::MIDDLE)),
                },
            });
        }
        marks.extend(things.into_iter().map(|(what, shape)| Mark {
            part: match what {
                What::Code => Some(code),
                What::Words(number) => Some(lines[number]),
                What::Extra => None,
            },
            shape: shape.moved(corner, 1.0),
        }));
        Ok(marks)
    }
}
