//! Laid-out sheets to the bytes of a PDF, tagged for screen readers (PDF/UA-1).

use std::num::NonZeroU16;

use jiff::civil::Date;
use krilla::color::luma;
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, LineJoin, Stroke as Pen, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, BBox, ContentTag, Identifier, ListNumbering, Node, SpanTag,
    TableHeaderScope, Tag, TagGroup, TagKind, TagTree,
};
use krilla::text::Font;
use krilla::{Document, SerializeSettings};

use crate::drawing::{self, Anchor, At, Gray, Ink, Lettering, Shape, Stroke};
use crate::letters;

/// Points in a millimeter.
const POINTS: f64 = 72.0 / 25.4;

/// How far the corners of a circle's four curves stand from its middle axes, of its radius.
const CIRCLE: f64 = 0.552_284_75;

/// A document that could not be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the document cannot be written as PDF: {0}")]
pub struct PdfError(String);

/// What a part of a document is, for whoever has it read aloud.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Role {
    /// The whole of something, such as one label.
    Section,
    /// A heading of a level from 1, with its words.
    Heading(u16, String),
    Paragraph,
    /// A list, with numbers or with points.
    List(bool),
    Item,
    ItemSign,
    ItemBody,
    /// A table with what it is about.
    Table(String),
    TableHead,
    TableBody,
    Row,
    HeadCell,
    /// The first cell of a row that names it.
    RowHead,
    /// A cell as wide as so many columns.
    Cell(usize),
    /// A picture with what it shows.
    Figure(String),
}

/// A part of the document by its number.
pub(crate) type Part = usize;

/// The parts of a document and how they lie in each other.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Tree {
    parts: Vec<(Role, Vec<Part>)>,
    top: Vec<Part>,
}

impl Tree {
    /// Adds a part at the end of another, or of the whole.
    pub(crate) fn add(&mut self, into: Option<Part>, role: Role) -> Part {
        let part = self.parts.len();
        self.parts.push((role, Vec::new()));
        match into {
            Some(into) => self.parts[into].1.push(part),
            None => self.top.push(part),
        }
        part
    }
}

/// Something on a sheet and the part it belongs to. What belongs to none is not read aloud.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mark {
    pub(crate) part: Option<Part>,
    pub(crate) shape: Shape,
}

/// One side of paper.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sheet {
    pub(crate) width_mm: f64,
    pub(crate) height_mm: f64,
    pub(crate) marks: Vec<Mark>,
}

/// What a document says of itself.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct About<'a> {
    pub(crate) title: &'a str,
    pub(crate) author: &'a str,
    /// As `en` or `es`.
    pub(crate) language: &'a str,
    pub(crate) day: Date,
}

/// A place in the document that readers can jump to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mention {
    pub(crate) words: String,
    pub(crate) sheet: usize,
    pub(crate) y_mm: f64,
}

/// The bytes of a PDF. The same sheets of the same day give the same bytes.
pub(crate) fn pdf(
    about: &About<'_>,
    sheets: &[Sheet],
    tree: &Tree,
    mentions: &[Mention],
) -> Result<Vec<u8>, PdfError> {
    let refuse = |error: &dyn std::fmt::Debug| PdfError(format!("{error:?}"));
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| refuse(&error))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    let mut pen = Writer {
        fonts: letters::fonts(),
        found: vec![Vec::new(); tree.parts.len()],
        boxes: vec![None; tree.parts.len()],
    };
    for (number, sheet) in sheets.iter().enumerate() {
        let size = (points(sheet.width_mm), points(sheet.height_mm));
        let settings = PageSettings::from_wh(size.0, size.1)
            .ok_or_else(|| PdfError("a sheet has no size".to_owned()))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        pen.sheet(&mut surface, number, sheet);
        surface.finish();
        page.finish();
    }
    let mut whole = TagTree::new().with_lang(Some(about.language.to_owned()));
    for part in &tree.top {
        whole.push(pen.group(tree, *part));
    }
    document.set_tag_tree(whole);
    document.set_metadata(metadata(about));
    let mut outline = Outline::new();
    for mention in mentions {
        let at = Point::from_xy(0.0, points(mention.y_mm));
        let there = XyzDestination::new(mention.sheet, at);
        outline.push_child(OutlineNode::new(mention.words.clone(), there));
    }
    document.set_outline(outline);
    document.finish().map_err(|error| refuse(&error))
}

fn metadata(about: &About<'_>) -> Metadata {
    let day = DateTime::new(about.day.year().unsigned_abs())
        .month(about.day.month().unsigned_abs())
        .day(about.day.day().unsigned_abs());
    Metadata::new()
        .title(about.title.to_owned())
        .authors(vec![about.author.to_owned()])
        .language(about.language.to_owned())
        .creator("Barkslip".to_owned())
        .creation_date(day)
}

/// Draws sheets and notes which marks belong to which part.
struct Writer {
    fonts: [Font; 2],
    found: Vec<Vec<Identifier>>,
    /// The sheet that a figure lies on and its box there.
    boxes: Vec<Option<(usize, [f64; 4])>>,
}

impl Writer {
    fn sheet(&mut self, surface: &mut Surface<'_>, number: usize, sheet: &Sheet) {
        let mut rest = sheet.marks.as_slice();
        while let Some(first) = rest.first() {
            let count = rest
                .iter()
                .position(|mark| mark.part != first.part)
                .unwrap_or(rest.len());
            let (together, others) = rest.split_at(count);
            self.together(surface, number, first.part, together);
            rest = others;
        }
    }

    /// Draws marks that belong to one part.
    fn together(
        &mut self,
        surface: &mut Surface<'_>,
        number: usize,
        part: Option<Part>,
        marks: &[Mark],
    ) {
        let tag = match part {
            None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            Some(_) if marks.iter().all(|mark| is_text(&mark.shape)) => {
                ContentTag::Span(SpanTag::empty())
            }
            Some(_) => ContentTag::Other,
        };
        let identifier = surface.start_tagged(tag);
        for mark in marks {
            self.shape(surface, &mark.shape);
        }
        surface.end_tagged();
        if let Some(part) = part {
            self.found[part].push(identifier);
            for bounds in marks.iter().filter_map(|mark| bounds(&mark.shape)) {
                let whole = match self.boxes[part] {
                    Some((_, known)) => joined(known, bounds),
                    None => bounds,
                };
                self.boxes[part] = Some((number, whole));
            }
        }
    }

    fn shape(&self, surface: &mut Surface<'_>, shape: &Shape) {
        match shape {
            Shape::Polyline { points, stroke } => {
                area(surface, corners(points, false), Ink::outlined(*stroke));
            }
            Shape::Polygon { points, ink } => area(surface, corners(points, true), *ink),
            Shape::Rectangle {
                at,
                width_mm,
                height_mm,
                ink,
            } => {
                let (right, foot) = (at.0 + width_mm, at.1 + height_mm);
                let four = [*at, (right, at.1), (right, foot), (at.0, foot)];
                area(surface, corners(&four, true), *ink);
            }
            Shape::Ellipse {
                at,
                rx_mm,
                ry_mm,
                ink,
            } => area(surface, ellipse(*at, *rx_mm, *ry_mm), *ink),
            Shape::Cells {
                at,
                side_mm,
                rows,
                gray,
            } => area(surface, cells(*at, *side_mm, rows), Ink::filled(*gray)),
            Shape::Text {
                at,
                words,
                lettering,
            } => self.text(surface, *at, words, *lettering),
        }
    }

    fn text(&self, surface: &mut Surface<'_>, at: At, words: &str, lettering: Lettering) {
        if words.is_empty() || !(at.0.is_finite() && at.1.is_finite()) {
            return;
        }
        let size = lettering.size_mm;
        let words = letters::printable(words);
        let width = || letters::width(&words, size, lettering.bold);
        let back = match lettering.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width() / 2.0,
            Anchor::End => width(),
        };
        surface.set_stroke(None);
        surface.set_fill(Some(fill(lettering.gray)));
        let (x, y) = (points(at.0), points(at.1));
        if lettering.upward {
            surface.push_transform(&Transform::from_rotate_at(-90.0, x, y));
        }
        surface.draw_glyphs(
            Point::from_xy(x - points(back), y),
            &letters::glyphs(&words, lettering.bold),
            self.fonts[usize::from(lettering.bold)].clone(),
            &words,
            points(size),
            false,
        );
        if lettering.upward {
            surface.pop();
        }
    }

    fn group(&mut self, tree: &Tree, part: Part) -> TagGroup {
        let (role, inner) = &tree.parts[part];
        let mut children: Vec<Node> = std::mem::take(&mut self.found[part])
            .into_iter()
            .map(Node::from)
            .collect();
        children.extend(inner.iter().map(|inner| self.group(tree, *inner).into()));
        TagGroup::with_children(tag(role, self.boxes[part]), children)
    }
}

fn tag(role: &Role, bounds: Option<(usize, [f64; 4])>) -> TagKind {
    match role {
        Role::Section => Tag::Section.into(),
        Role::Heading(level, words) => {
            let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(words.clone())).into()
        }
        Role::Paragraph => Tag::P.into(),
        Role::List(true) => Tag::L(ListNumbering::Decimal).into(),
        Role::List(false) => Tag::L(ListNumbering::Disc).into(),
        Role::Item => Tag::LI.into(),
        Role::ItemSign => Tag::Lbl.into(),
        Role::ItemBody => Tag::LBody.into(),
        Role::Table(about) => Tag::Table.with_summary(Some(about.clone())).into(),
        Role::TableHead => Tag::THead.into(),
        Role::TableBody => Tag::TBody.into(),
        Role::Row => Tag::TR.into(),
        Role::HeadCell => Tag::TH(TableHeaderScope::Column).into(),
        Role::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        Role::Cell(1) => Tag::TD.into(),
        Role::Cell(span) => {
            let span = u32::try_from(*span)
                .ok()
                .and_then(std::num::NonZeroU32::new);
            Tag::TD.with_col_span(span).into()
        }
        Role::Figure(shows) => {
            let bounds = bounds.and_then(|(sheet, [left, top, right, foot])| {
                let rect = Rect::from_ltrb(points(left), points(top), points(right), points(foot))?;
                Some(BBox::new(sheet, rect))
            });
            Tag::Figure(Some(shows.clone())).with_bbox(bounds).into()
        }
    }
}

fn is_text(shape: &Shape) -> bool {
    matches!(shape, Shape::Text { .. })
}

/// Left, top, right and foot of a shape; of text, of the point it stands at.
fn bounds(shape: &Shape) -> Option<[f64; 4]> {
    let around = |points: &[At]| {
        let one = |at: &At| [at.0, at.1, at.0, at.1];
        points.iter().map(one).reduce(joined)
    };
    match shape {
        Shape::Polyline { points, .. } | Shape::Polygon { points, .. } => around(points),
        Shape::Rectangle {
            at,
            width_mm,
            height_mm,
            ..
        } => Some([at.0, at.1, at.0 + width_mm, at.1 + height_mm]),
        Shape::Ellipse {
            at, rx_mm, ry_mm, ..
        } => Some([at.0 - rx_mm, at.1 - ry_mm, at.0 + rx_mm, at.1 + ry_mm]),
        Shape::Cells {
            at, side_mm, rows, ..
        } => {
            let across = rows.iter().map(Vec::len).max().unwrap_or_default();
            let right = at.0 + across as f64 * side_mm;
            Some([at.0, at.1, right, at.1 + rows.len() as f64 * side_mm])
        }
        Shape::Text { at, .. } => around(&[*at]),
    }
}

fn joined(one: [f64; 4], other: [f64; 4]) -> [f64; 4] {
    [
        one[0].min(other[0]),
        one[1].min(other[1]),
        one[2].max(other[2]),
        one[3].max(other[3]),
    ]
}

fn area(surface: &mut Surface<'_>, path: Option<Path>, ink: Ink) {
    let Some(path) = path else { return };
    if ink.fill.is_none() && ink.stroke.is_none() {
        return;
    }
    surface.set_fill(ink.fill.map(fill));
    surface.set_stroke(ink.stroke.map(pen));
    surface.draw_path(&path);
}

fn fill(gray: Gray) -> Fill {
    Fill {
        paint: luma::Color::new(gray.0).into(),
        ..Fill::default()
    }
}

fn pen(stroke: Stroke) -> Pen {
    Pen {
        paint: luma::Color::new(stroke.gray.0).into(),
        width: points(stroke.width_mm.max(0.0)),
        line_join: LineJoin::Round,
        dash: stroke
            .dash_mm
            .filter(|dash| *dash > 0.0)
            .map(|dash| StrokeDash {
                array: vec![points(dash), points(dash)],
                offset: 0.0,
            }),
        ..Pen::default()
    }
}

fn corners(all: &[At], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (number, at) in all.iter().enumerate() {
        if number == 0 {
            path.move_to(points(at.0), points(at.1));
        } else {
            path.line_to(points(at.0), points(at.1));
        }
    }
    if closed {
        path.close();
    }
    path.finish()
}

/// All squares as one area, so that no light falls between them.
fn cells(at: At, side: f64, rows: &[Vec<bool>]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for (y, row) in rows.iter().enumerate() {
        let (top, foot) = (at.1 + y as f64 * side, at.1 + (y + 1) as f64 * side);
        for (x, count) in drawing::runs(row) {
            let left = at.0 + x as f64 * side;
            let right = left + count as f64 * side;
            let sides = (points(left), points(top), points(right), points(foot));
            if let Some(run) = Rect::from_ltrb(sides.0, sides.1, sides.2, sides.3) {
                path.push_rect(run);
            }
        }
    }
    path.finish()
}

fn ellipse(at: At, rx: f64, ry: f64) -> Option<Path> {
    let mut path = PathBuilder::new();
    let on = |right: f64, down: f64| (points(at.0 + right * rx), points(at.1 + down * ry));
    let (x, y) = on(1.0, 0.0);
    path.move_to(x, y);
    for quarter in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
        // From a point of the circle a quarter on, clockwise as the eye sees it.
        let (from, to) = (quarter, (-quarter.1, quarter.0));
        let (x1, y1) = on(from.0 + CIRCLE * to.0, from.1 + CIRCLE * to.1);
        let (x2, y2) = on(to.0 + CIRCLE * from.0, to.1 + CIRCLE * from.1);
        let (x, y) = on(to.0, to.1);
        path.cubic_to(x1, y1, x2, y2, x, y);
    }
    path.close();
    path.finish()
}

fn points(millimeters: f64) -> f32 {
    (millimeters * POINTS) as f32
}

#[cfg(test)]
mod tests {
    use super::{Role, tag};

    #[test]
    fn what_a_picture_shows_is_told_to_whoever_cannot_see_it() {
        let figure = tag(
            &Role::Figure("Two trees, 4 m apart".to_owned()),
            Some((2, [1.0, 2.0, 3.0, 4.0])),
        );
        assert_eq!(figure.alt_text(), Some("Two trees, 4 m apart"));
    }
}
