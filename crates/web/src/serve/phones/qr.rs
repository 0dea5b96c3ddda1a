//! An address as a picture that a phone's camera reads.

use std::fmt::Write as _;

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// White around it, in its own squares, without which cameras do not find it.
const QUIET: usize = 4;

/// The picture; black on white whatever the page looks like. None where the text is too long for one.
pub(super) fn picture(text: &str, title: &str) -> Option<Markup> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let width = code.width();
    let side = width + 2 * QUIET;
    let path = path(&code.to_colors(), width);
    Some(html! {
        svg.qr viewBox=(format!("0 0 {side} {side}")) role="img" aria-label=(title) shape-rendering="crispEdges" {
            rect width=(side) height=(side) fill="#fff" {}
            path d=(path) fill="#000" {}
        }
    })
}

/// The dark squares, those beside each other as one.
fn path(colors: &[Color], width: usize) -> String {
    let mut path = String::new();
    for (row, line) in colors.chunks(width).enumerate() {
        let mut at = 0;
        for run in line.chunk_by(|one, next| one == next) {
            if run[0] == Color::Dark {
                let (x, y, long) = (at + QUIET, row + QUIET, run.len());
                // Writing to a string cannot fail.
                let _ = write!(path, "M{x} {y}h{long}v1h-{long}z");
            }
            at += run.len();
        }
    }
    path
}
