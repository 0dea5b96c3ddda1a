//! What is not parted between pages, and how blocks become such pieces.

use crate::drawing::{Anchor, At, Drawing, Gray, Lettering, Shape};
use crate::letters;
use crate::pdf::{Mark, Part, Role, Tree};

use super::{Block, Paper, table};

/// Height of the type of running text, 10 points.
pub(super) const TEXT: f64 = 3.53;
/// Of the sentence that answers.
const ANSWER: f64 = 4.2;
/// Of notes.
const NOTE: f64 = 3.0;
/// Of headings of level 1, 2 and further.
const HEADINGS: [f64; 3] = [6.4, 4.6, 3.8];
/// From line to line, of the height of the type.
pub(super) const LEADING: f64 = 1.36;
/// From the top of a line to the line that its letters stand on, of the height of the type.
pub(super) const ASCENT: f64 = 1.02;
/// How far items of lists stand in.
const INDENT: f64 = 5.5;
/// Space above blocks.
const GAP: f64 = 2.4;
/// Space between drawings next to each other.
const BETWEEN: f64 = 6.0;

/// Marks that stay together. They are placed from the top of the piece and the left of the text.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Piece {
    /// Space above it, left out at the top of a page.
    pub(super) gap: f64,
    pub(super) height: f64,
    pub(super) marks: Vec<Mark>,
    /// It stands on the page of the next piece.
    pub(super) keep: bool,
    /// The rows that are drawn again where a new page begins with this piece.
    pub(super) again: Option<Again>,
    /// A heading in it, for the reader's list of contents.
    pub(super) mention: Option<String>,
    /// It begins a page.
    pub(super) turn: bool,
}

/// Head rows of a table, to be drawn again.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Again {
    pub(super) height: f64,
    pub(super) shapes: std::rc::Rc<Vec<Shape>>,
}

/// Text of one kind.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub(super) size: f64,
    pub(super) bold: bool,
    pub(super) gray: Gray,
}

impl Style {
    pub(super) const fn plain(size: f64) -> Self {
        Self {
            size,
            bold: false,
            gray: Gray::BLACK,
        }
    }

    pub(super) const fn bold(size: f64) -> Self {
        Self {
            size,
            bold: true,
            gray: Gray::BLACK,
        }
    }

    pub(super) fn line_height(self) -> f64 {
        self.size * LEADING
    }

    /// A line of text whose top is at `at`. A space at its end parts it from the next line when read aloud.
    pub(super) fn line(self, at: At, words: &str, anchor: Anchor, goes_on: bool) -> Shape {
        let space = if goes_on && anchor == Anchor::Start {
            " "
        } else {
            ""
        };
        Shape::Text {
            at: (at.0, at.1 + self.size * ASCENT),
            words: format!("{words}{space}"),
            lettering: Lettering {
                size_mm: self.size,
                anchor,
                bold: self.bold,
                gray: self.gray,
                upward: false,
            },
        }
    }
}

/// All pieces of a paper for text of this width and pages of this height.
pub(super) fn pieces(paper: &Paper, tree: &mut Tree, width: f64, most: f64) -> Vec<Piece> {
    let mut all = heading(tree, 1, &paper.title, width);
    let mut turn = false;
    for block in &paper.blocks {
        let mut found = match block {
            Block::NewPage => {
                turn = true;
                continue;
            }
            Block::Heading(level, words) => heading(tree, (*level).max(2), words, width),
            Block::Paragraph(words) => paragraph(tree, words, Style::plain(TEXT), width),
            Block::Answer(words) => paragraph(tree, words, Style::plain(ANSWER), width),
            Block::Note(words) => {
                let style = Style {
                    gray: Gray::DARK,
                    ..Style::plain(NOTE)
                };
                paragraph(tree, words, style, width)
            }
            Block::List(items) => list(tree, items, false, width),
            Block::Steps(items) => list(tree, items, true, width),
            Block::Table(table) => table::pieces(tree, table, &paper.words, width, most),
            Block::Drawings(drawings) => rows_of_drawings(tree, drawings, width, most),
        };
        if let Some(first) = found.first_mut() {
            first.turn |= std::mem::take(&mut turn);
        }
        all.extend(found);
    }
    all
}

fn heading(tree: &mut Tree, level: u16, words: &str, width: f64) -> Vec<Piece> {
    let size = HEADINGS[usize::from(level.clamp(1, 3)) - 1];
    let part = tree.add(None, Role::Heading(level, words.to_owned()));
    let lines = letters::lines(words, size, true, width);
    let mut whole = lines_piece(part, &lines, Style::bold(size), 0.0, false);
    whole.gap = if level == 1 { 0.0 } else { size * 1.1 };
    whole.keep = true;
    whole.mention = Some(words.to_owned());
    vec![whole]
}

/// Running text. No page ends after its first line or begins with its last.
fn paragraph(tree: &mut Tree, words: &str, style: Style, width: f64) -> Vec<Piece> {
    let part = tree.add(None, Role::Paragraph);
    let lines = letters::lines(words, style.size, style.bold, width);
    let mut found = kept_lines(part, &lines, style, 0.0);
    if let Some(first) = found.first_mut() {
        first.gap = GAP;
    }
    found
}

fn list(tree: &mut Tree, items: &[String], numbered: bool, width: f64) -> Vec<Piece> {
    let whole = tree.add(None, Role::List(numbered));
    let style = Style::plain(TEXT);
    let mut found = Vec::new();
    for (number, item) in items.iter().enumerate() {
        let part = tree.add(Some(whole), Role::Item);
        let sign_part = tree.add(Some(part), Role::ItemSign);
        let body = tree.add(Some(part), Role::ItemBody);
        let sign = if numbered {
            format!("{}.", number + 1)
        } else {
            "•".to_owned()
        };
        let lines = letters::lines(item, style.size, false, width - INDENT);
        let mut pieces = kept_lines(body, &lines, style, INDENT);
        if let Some(first) = pieces.first_mut() {
            first.gap = if number == 0 { GAP } else { 0.8 };
            let shape = style.line((INDENT - 1.6, 0.0), &sign, Anchor::End, false);
            let mark = Mark {
                part: Some(sign_part),
                shape,
            };
            first.marks.insert(0, mark);
        }
        found.extend(pieces);
    }
    found
}

/// Lines in pieces: the first two and the last two stay together.
fn kept_lines(part: Part, lines: &[String], style: Style, left: f64) -> Vec<Piece> {
    if lines.len() < 4 {
        return vec![lines_piece(part, lines, style, left, false)];
    }
    let (first, rest) = lines.split_at(2);
    let (middle, last) = rest.split_at(rest.len() - 2);
    let mut found = vec![lines_piece(part, first, style, left, true)];
    for line in middle {
        found.push(lines_piece(
            part,
            std::slice::from_ref(line),
            style,
            left,
            true,
        ));
    }
    found.push(lines_piece(part, last, style, left, false));
    found
}

fn lines_piece(part: Part, lines: &[String], style: Style, left: f64, goes_on: bool) -> Piece {
    let mut piece = Piece::default();
    for (number, line) in lines.iter().enumerate() {
        let more = goes_on || number + 1 < lines.len();
        piece.marks.push(Mark {
            part: Some(part),
            shape: style.line((left, piece.height), line, Anchor::Start, more),
        });
        piece.height += style.line_height();
    }
    piece
}

/// Drawings as large as they are, smaller where the page is; next to each other while they fit.
fn rows_of_drawings(tree: &mut Tree, drawings: &[Drawing], width: f64, most: f64) -> Vec<Piece> {
    let mut found: Vec<Piece> = Vec::new();
    let mut used = width;
    for drawing in drawings {
        let caption = Style::bold(NOTE);
        let lines_room = most - 3.0 * caption.line_height();
        let scale = (width / drawing.width_mm.max(1.0))
            .min(lines_room / drawing.height_mm.max(1.0))
            .min(1.0);
        let (wide, high) = (drawing.width_mm * scale, drawing.height_mm * scale);
        if used > 0.0 && used + BETWEEN + wide > width {
            found.push(Piece {
                gap: GAP,
                ..Piece::default()
            });
            used = 0.0;
        } else {
            used += BETWEEN;
        }
        let Some(row) = found.last_mut() else {
            continue;
        };
        let about = format!("{}. {}", drawing.title, drawing.description);
        let figure = tree.add(None, Role::Figure(about));
        let words = tree.add(None, Role::Paragraph);
        let lines = letters::lines(&drawing.title, caption.size, true, wide);
        for (number, line) in lines.iter().enumerate() {
            let top = caption.line_height() * number as f64;
            row.marks.push(Mark {
                part: Some(words),
                shape: caption.line((used, top), line, Anchor::Start, number + 1 < lines.len()),
            });
        }
        let top = caption.line_height() * lines.len() as f64 + 0.8;
        row.marks.extend(drawing.shapes.iter().map(|shape| Mark {
            part: Some(figure),
            shape: shape.moved((used, top), scale),
        }));
        row.height = row.height.max(top + high);
        used += wide;
    }
    found
}
