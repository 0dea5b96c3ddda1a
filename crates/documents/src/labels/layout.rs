//! One label: a code for the phone's camera and words for people. Words are never cut: they are set smaller and in
//! more lines until they fit, or the label is refused.

use qrcode::{Color, EcLevel, QrCode};

use crate::drawing::{Anchor, Gray, Ink, Lettering, Shape, Stroke};
use crate::letters::{self, Measured};

use super::{Label, LabelError, LabelKind};

/// Empty modules around a code (ISO/IEC 18004 asks for four).
const QUIET: usize = 4;
/// Side of a module that phones read from an arm's length, mm; from memory. Three dots of a 200 dpi printer are 0.38 mm.
const MODULE: f64 = 0.33;
/// Side of a module above which nobody gains.
const LARGEST_MODULE: f64 = 0.8;
/// The largest and the smallest height of the type of a label's lines.
const SIZES: (f64, f64) = (4.2, 1.75);
/// Height of the headline's type, of that of the lines.
const HEADLINE: f64 = 1.45;
/// From line to line, of the height of the type.
const LEADING: f64 = 1.2;
/// From the top of a line to where its letters stand, of the height of the type.
const ASCENT: f64 = 0.95;
/// Diameter of the hole of a tag, and how far its middle is from the edge.
const HOLE: (f64, f64) = (5.0, 6.5);

/// What a thing on a label is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum What {
    Code,
    /// A line of words by its number, 0 is the headline.
    Words(usize),
    /// A second print or a mark for the hand: not read aloud.
    Extra,
}

/// The things on a label, from its upper left corner.
pub(super) fn laid(
    label: &Label,
    kind: LabelKind,
    width: f64,
    height: f64,
) -> Result<Vec<(What, Shape)>, LabelError> {
    // What is much higher than wide is read from its side.
    let turned = height > width * 1.6;
    let (long, broad) = if turned {
        (height, width)
    } else {
        (width, height)
    };
    let mut found = upright(label, kind, long, broad)?;
    if turned {
        for (_, shape) in &mut found {
            *shape = shape.turned(long);
        }
    }
    Ok(found)
}

fn upright(
    label: &Label,
    kind: LabelKind,
    long: f64,
    broad: f64,
) -> Result<Vec<(What, Shape)>, LabelError> {
    let code = code(label)?;
    match kind {
        LabelKind::Plain => face(label, &code, (0.0, 0.0), long, broad),
        LabelKind::Stake => {
            let half = long / 2.0;
            let first = face(label, &code, (0.0, 0.0), half, broad)?;
            let again: Vec<(What, Shape)> = first
                .iter()
                .map(|(_, shape)| (What::Extra, shape.moved((half, 0.0), 1.0)))
                .collect();
            let fold = Shape::Polyline {
                points: vec![(half, 0.0), (half, broad)],
                stroke: Stroke::of(0.15, Gray::MIDDLE).dashed(1.5),
            };
            Ok(first
                .into_iter()
                .chain(again)
                .chain([(What::Extra, fold)])
                .collect())
        }
        LabelKind::Tag => {
            let (across, middle) = HOLE;
            let taken = middle + across / 2.0;
            let mut found = face(label, &code, (taken, 0.0), long - taken, broad)?;
            let hole = Shape::Ellipse {
                at: (middle, broad / 2.0),
                rx_mm: across / 2.0,
                ry_mm: across / 2.0,
                ink: Ink::outlined(Stroke::of(0.2, Gray::MIDDLE).dashed(0.8)),
            };
            found.push((What::Extra, hole));
            Ok(found)
        }
    }
}

fn code(label: &Label) -> Result<Vec<Vec<bool>>, LabelError> {
    let code = QrCode::with_error_correction_level(label.address.as_bytes(), EcLevel::M)
        .map_err(|_| LabelError::Address(label.headline.clone()))?;
    let width = code.width();
    let dark: Vec<bool> = code
        .into_colors()
        .into_iter()
        .map(|color| color == Color::Dark)
        .collect();
    Ok(dark.chunks(width).map(<[bool]>::to_vec).collect())
}

/// A code and words in a rectangle: words beside the code or under it, wherever they come out larger.
fn face(
    label: &Label,
    code: &[Vec<bool>],
    at: (f64, f64),
    width: f64,
    height: f64,
) -> Result<Vec<(What, Shape)>, LabelError> {
    let pad = (width.min(height) * 0.06).clamp(0.8, 2.5);
    let modules = (code.len() + 2 * QUIET) as f64;
    let least = modules * MODULE;
    let (inner_width, inner_height) = (width - 2.0 * pad, height - 2.0 * pad);
    if inner_width < least || inner_height < least {
        return Err(LabelError::Small {
            label: label.headline.clone(),
            least: (least + 2.0 * pad).ceil(),
        });
    }
    let measured = measured(label);
    let largest = modules * LARGEST_MODULE;
    let mut best: Option<(f64, f64, Room)> = None;
    for share in [1.0, 0.85, 0.7, 0.55] {
        let beside = (inner_height * share)
            .min(inner_width * 0.45)
            .min(largest)
            .max(least);
        let under = (inner_width * share)
            .min(inner_height * 0.55)
            .min(largest)
            .max(least);
        let rooms = [
            (
                beside,
                Room::new(beside + 1.0, 0.0, inner_width, inner_height),
            ),
            (
                under,
                Room::new(0.0, under + 0.6, inner_width, inner_height),
            ),
        ];
        for (side, room) in rooms {
            let Some(size) = room.size(label, &measured) else {
                continue;
            };
            // A little more type is not worth a smaller code.
            if best
                .as_ref()
                .is_none_or(|(_, known, _)| size > known * 1.15)
            {
                best = Some((side, size, room));
            }
        }
    }
    let Some((side, size, room)) = best else {
        return Err(LabelError::Text(label.headline.clone()));
    };
    let (left, top) = (at.0 + pad, at.1 + pad);
    let module = side / modules;
    let down = if room.left > 0.0 {
        (inner_height - side) / 2.0
    } else {
        0.0
    };
    let quiet = QUIET as f64 * module;
    let mut found = vec![(
        What::Code,
        Shape::Cells {
            at: (left + quiet, top + down + quiet),
            side_mm: module,
            rows: code.to_vec(),
            gray: Gray::BLACK,
        },
    )];
    found.extend(room.words(label, size, (left, top)));
    Ok(found)
}

/// The room for words, from the inner corner of a label.
struct Room {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
}

impl Room {
    fn new(left: f64, top: f64, right: f64, foot: f64) -> Self {
        Self {
            left,
            top,
            width: right - left,
            height: foot - top,
        }
    }

    /// The largest type in which all words fit. Words are parted only where no type is small enough otherwise.
    fn size(&self, label: &Label, measured: &[(f64, Measured)]) -> Option<f64> {
        let (largest, smallest) = SIZES;
        let steps = 40;
        let sizes = (0..=steps)
            .map(|step| largest - (largest - smallest) * f64::from(step) / f64::from(steps));
        let whole = |size: &f64| {
            let heights = measured.iter().map(|(share, words)| {
                let lines = words.lines(size * share, self.width)?;
                Some(lines as f64 * size * share * LEADING)
            });
            let height: Option<f64> = heights.sum();
            height.is_some_and(|height| height <= self.height)
        };
        let parted = |size: &f64| self.height_of(label, *size) <= self.height;
        if self.width <= 4.0 {
            return None;
        }
        let found = sizes.clone().find(whole);
        found.or_else(|| sizes.clone().find(parted))
    }

    fn height_of(&self, label: &Label, size: f64) -> f64 {
        parts(label)
            .map(|(words, share, bold)| {
                let lines = letters::lines(words, size * share, bold, self.width).len();
                lines as f64 * size * share * LEADING
            })
            .sum()
    }

    /// The words, in the middle of the room from top to foot.
    fn words(&self, label: &Label, size: f64, corner: (f64, f64)) -> Vec<(What, Shape)> {
        let mut y = corner.1 + self.top + (self.height - self.height_of(label, size)) / 2.0;
        let mut found = Vec::new();
        for (number, (words, share, bold)) in parts(label).enumerate() {
            let size_mm = size * share;
            let lines = letters::lines(words, size_mm, bold, self.width);
            for (line, said) in lines.iter().enumerate() {
                let space = if line + 1 < lines.len() { " " } else { "" };
                let lettering = Lettering {
                    size_mm,
                    anchor: Anchor::Start,
                    bold,
                    gray: Gray::BLACK,
                    upward: false,
                };
                let shape = Shape::Text {
                    at: (corner.0 + self.left, y + size_mm * ASCENT),
                    words: format!("{said}{space}"),
                    lettering,
                };
                found.push((What::Words(number), shape));
                y += size_mm * LEADING;
            }
        }
        found
    }
}

/// Headline and lines measured, each with the share of the type.
fn measured(label: &Label) -> Vec<(f64, Measured)> {
    parts(label)
        .map(|(words, share, bold)| (share, Measured::new(words, bold)))
        .collect()
}

/// Headline and lines, each with the share of the type and whether it is bold.
fn parts(label: &Label) -> impl Iterator<Item = (&str, f64, bool)> {
    let lines = label.lines.iter().filter(|line| !line.trim().is_empty());
    std::iter::once((label.headline.as_str(), HEADLINE, true))
        .chain(lines.map(|line| (line.as_str(), 1.0, false)))
}
