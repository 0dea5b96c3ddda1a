//! Pieces onto pages.

use crate::drawing::{Anchor, Gray, Shape, Stroke};
use crate::letters;
use crate::pdf::{Mark, Mention, Sheet, Tree};

use super::piece::{self, Piece, Style};
use super::{Paper, PaperSize};

/// Left, right and foot of a page that stay free.
const MARGIN: f64 = 15.0;
/// Where the text of a page begins: under its head.
const TOP: f64 = 27.0;
/// Where the head of a page begins.
const HEAD_TOP: f64 = 11.0;
/// Height of the type of a page's head.
const HEAD: f64 = 3.1;

/// A paper laid out.
pub(super) struct LaidOut {
    pub(super) sheets: Vec<Sheet>,
    pub(super) tree: Tree,
    pub(super) mentions: Vec<Mention>,
}

/// Lays a paper out on pages of a size, all but their heads made smaller by a scale.
pub(super) fn lay_out(paper: &Paper, size: PaperSize, scale: f64) -> LaidOut {
    let (width_mm, height_mm) = size.millimeters();
    let (width, height) = (width_mm - 2.0 * MARGIN, height_mm - MARGIN - TOP);
    let mut tree = Tree::default();
    let (wide, high) = (width / scale, height / scale);
    let pieces = piece::pieces(paper, &mut tree, wide, high);
    let mut pages = Pages {
        scale,
        height: high,
        sheets: vec![Vec::new()],
        used: 0.0,
        mentions: Vec::new(),
    };
    let mut rest = pieces.as_slice();
    while !rest.is_empty() {
        let count = 1 + rest.iter().take_while(|piece| piece.keep).count();
        let (together, others) = rest.split_at(count.min(rest.len()));
        pages.place(together);
        rest = others;
    }
    let count = pages.sheets.len();
    let sheets = pages.sheets.into_iter().enumerate().map(|(number, body)| {
        let mut marks = head(paper, number + 1, count, width);
        marks.extend(body);
        Sheet {
            width_mm,
            height_mm,
            marks,
        }
    });
    LaidOut {
        sheets: sheets.collect(),
        tree,
        mentions: pages.mentions,
    }
}

struct Pages {
    scale: f64,
    height: f64,
    sheets: Vec<Vec<Mark>>,
    used: f64,
    mentions: Vec<Mention>,
}

impl Pages {
    /// Places pieces that belong on one page, if one page can hold them.
    fn place(&mut self, together: &[Piece]) {
        let all: f64 = together.iter().map(|piece| piece.gap + piece.height).sum();
        let turn = together.iter().any(|piece| piece.turn);
        if self.used > 0.0 && (turn || self.used + all > self.height) {
            self.turn();
        }
        for piece in together {
            self.one(piece);
        }
    }

    fn one(&mut self, piece: &Piece) {
        let scale = self.scale;
        if self.used > 0.0 && self.used + piece.gap + piece.height > self.height {
            self.turn();
        }
        if self.used > 0.0 {
            self.used += piece.gap;
        } else if let Some(again) = &piece.again {
            let scale = self.scale;
            let shapes = again.shapes.iter().map(|shape| Mark {
                part: None,
                shape: shape.moved((MARGIN, TOP), scale),
            });
            self.sheet().extend(shapes);
            self.used = again.height;
        }
        let top = TOP + self.used * scale;
        if let Some(words) = &piece.mention {
            self.mentions.push(Mention {
                words: words.clone(),
                sheet: self.sheets.len() - 1,
                y_mm: top,
            });
        }
        let scale = self.scale;
        let marks = piece.marks.iter().map(|mark| Mark {
            part: mark.part,
            shape: mark.shape.moved((MARGIN, top), scale),
        });
        self.sheet().extend(marks);
        self.used += piece.height;
    }

    fn turn(&mut self) {
        self.sheets.push(Vec::new());
        self.used = 0.0;
    }

    fn sheet(&mut self) -> &mut Vec<Mark> {
        self.sheets.last_mut().expect("there is a first page")
    }
}

/// The head of a page: nursery and sheet on the left, date and page on the right.
fn head(paper: &Paper, page: usize, count: usize, width: f64) -> Vec<Mark> {
    let right = MARGIN + width;
    let pages = (paper.words.page)(page, count);
    let plain = Style {
        gray: Gray::DARK,
        ..Style::plain(HEAD)
    };
    let strong = Style::bold(HEAD);
    let second = HEAD_TOP + strong.line_height();
    let room = |beside: &str| width - letters::width(beside, HEAD, false) - 6.0;
    let nursery = letters::shortened(&paper.nursery, HEAD, true, room(&paper.date));
    let title = letters::shortened(&paper.title, HEAD, false, room(&pages));
    let date = letters::printable(&paper.date);
    let rule = second + plain.line_height() + 1.2;
    [
        strong.line((MARGIN, HEAD_TOP), &nursery, Anchor::Start, true),
        plain.line((right, HEAD_TOP), &date, Anchor::End, false),
        plain.line((MARGIN, second), &title, Anchor::Start, true),
        plain.line((right, second), &pages, Anchor::End, false),
        Shape::Polyline {
            points: vec![(MARGIN, rule), (right, rule)],
            stroke: Stroke::black(0.2),
        },
    ]
    .into_iter()
    .map(|shape| Mark { part: None, shape })
    .collect()
}
