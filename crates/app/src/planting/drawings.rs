//! The drawings of the planting sheet: a cut through the hole, the height of the union, the spacing plan.

use documents::{Anchor, Drawing, Gray, Ink, Lettering, Stroke};

use super::answer::{Form, HoleAnswer, SpacingAnswer};
use super::words::DrawingWords;
use crate::reading::Reading;

const SMALL: Lettering = Lettering::of(3.0);
const PEN: Stroke = Stroke::black(0.3);
const THIN: Stroke = Stroke::of(0.2, Gray::DARK);
const EARTH: Ink = Ink::filled(Gray::LIGHT);

/// A length in centimeters, written in the reader's units.
fn length(reading: Reading, meters: f64) -> String {
    reading.centimeters((meters * 100.0).round())
}

/// A cut through the hole, to scale.
pub(super) fn section(hole: &HoleAnswer, reading: Reading, words: &DrawingWords) -> Drawing {
    const WIDTH: f64 = 62.0;
    const GROUND: f64 = 26.0;
    let [width, depth] = [hole.hole_width_m, hole.hole_depth_m].map(|it| length(reading, it));
    let above = reading.centimeters(hole.ball_above_m * 100.0);
    let title = (words.section_told)(&width, &depth, &above);
    // Basin and hole fit in the width, ball and hole below the ground.
    let scale = (42.0 / hole.basin_width_m.max(hole.hole_width_m)).min(24.0 / hole.hole_depth_m);
    let mm = |meters: f64| meters * scale;
    let middle = WIDTH / 2.0 - 2.0;
    let (ball, rim) = (mm(hole.ball_width_m) / 2.0, mm(hole.hole_width_m) / 2.0);
    let foot = GROUND + mm(hole.hole_depth_m);
    let top = GROUND - mm(hole.ball_above_m);
    let height = foot + 11.0;
    let mut drawing = Drawing::new(WIDTH, height, words.section, &title)
        .rectangle((0.0, GROUND), WIDTH, height - GROUND, EARTH)
        .rectangle(
            (middle - rim, GROUND),
            2.0 * rim,
            foot - GROUND,
            Ink::both(Gray::WHITE, PEN.dashed(1.2)),
        )
        .rectangle(
            (middle - ball, top),
            2.0 * ball,
            foot - top,
            Ink::both(Gray::MIDDLE, PEN),
        )
        .line((0.0, GROUND), (WIDTH, GROUND), PEN);
    drawing = mulch(drawing, hole, (middle, GROUND), scale);
    let basin = mm(hole.basin_width_m) / 2.0;
    drawing
        .rectangle((middle - 0.8, 4.0), 1.6, top - 4.0, Ink::filled(Gray::DARK))
        .text(
            (middle, foot - mm(0.1)),
            words.ball,
            SMALL.at(Anchor::Middle),
        )
        .text((middle + rim + 1.5, foot - 1.5), words.soil, SMALL)
        .text(
            (middle + basin * 0.55, GROUND - mm(hole.mulch_m.1) - 1.5),
            words.mulch,
            SMALL,
        )
        .measure((middle - rim, foot + 4.0), (middle + rim, foot + 4.0), THIN)
        .text((middle, foot + 9.0), &width, SMALL.at(Anchor::Middle))
        .measure(
            (middle - rim - 3.0, GROUND),
            (middle - rim - 3.0, foot),
            THIN,
        )
        .text(
            (middle - rim - 5.0, f64::midpoint(GROUND, foot) + 1.0),
            &depth,
            SMALL.at(Anchor::End),
        )
        .measure((middle - basin, 8.0), (middle + basin, 8.0), THIN)
        .text(
            (middle + basin, 6.0),
            &format!("{} {}", words.basin, length(reading, hole.basin_width_m)),
            SMALL.at(Anchor::End),
        )
}

/// Mulch on both sides, off the trunk, with the rim of the basin outside it.
fn mulch(drawing: Drawing, hole: &HoleAnswer, (middle, ground): (f64, f64), scale: f64) -> Drawing {
    let free = hole.mulch_free_m.0 * scale;
    let high = hole.mulch_m.0 * scale;
    let out = (hole.basin_width_m / 2.0 * scale).max(free + 2.0);
    let rim = 4.0;
    let ink = Ink::both(Gray(190), THIN);
    [-1.0, 1.0].into_iter().fold(drawing, |drawing, side| {
        let at = |along: f64, up: f64| (middle + side * along, ground - up);
        drawing
            .polygon(
                &[
                    at(free, 0.0),
                    at(free + 1.0, high),
                    at(out - 1.0, high),
                    at(out, 0.0),
                ],
                ink,
            )
            .polygon(
                &[
                    at(out, 0.0),
                    at(out + rim / 2.0, high + 1.0),
                    at(out + rim, 0.0),
                ],
                Ink::both(Gray::LIGHT, PEN),
            )
    })
}

/// The trunk with its union, a sucker, and what must stay clear.
pub(super) fn union(hole: &HoleAnswer, reading: Reading, words: &DrawingWords) -> Drawing {
    const WIDTH: f64 = 46.0;
    const GROUND: f64 = 52.0;
    const TRUNK: f64 = 17.0;
    let up = length(reading, hole.union_m);
    let told = (words.union_told)(&up);
    // The union stands half way up whatever its height.
    let knee = GROUND - 21.0;
    let half = 2.2;
    let leaves = Ink::both(Gray::LIGHT, PEN);
    Drawing::new(WIDTH, 61.0, words.union_title, &told)
        .rectangle((0.0, GROUND), WIDTH, 9.0, EARTH)
        .line((0.0, GROUND), (WIDTH, GROUND), PEN)
        .circle((TRUNK, 9.0), 8.0, leaves)
        .rectangle(
            (TRUNK - half, 14.0),
            2.0 * half,
            knee - 14.0,
            Ink::filled(Gray::DARK),
        )
        .rectangle(
            (TRUNK - half, knee),
            2.0 * half,
            GROUND - knee,
            Ink::filled(Gray::MIDDLE),
        )
        .polygon(
            &[
                (TRUNK - half - 0.8, knee + 2.0),
                (TRUNK - half, knee - 2.5),
                (TRUNK + half, knee - 4.0),
                (TRUNK + half + 0.8, knee + 0.5),
            ],
            Ink::filled(Gray::BLACK),
        )
        .polyline(
            &[
                (TRUNK + half, knee + 15.0),
                (TRUNK + 8.0, knee + 9.0),
                (TRUNK + 9.5, knee + 5.0),
            ],
            PEN.dashed(1.0),
        )
        .text((TRUNK + 7.0, knee + 9.0), words.sucker, SMALL)
        .text((TRUNK + 6.0, knee - 1.5), words.union, SMALL.bold())
        .text((TRUNK + 6.0, knee - 8.0), words.scion, SMALL)
        .text((TRUNK + 6.0, GROUND - 3.0), words.rootstock, SMALL)
        .text((TRUNK + 12.0, GROUND + 5.0), words.surface, SMALL)
        .measure((7.0, knee), (7.0, GROUND), THIN)
        .text(
            (5.5, f64::midpoint(knee, GROUND)),
            &up,
            SMALL.at(Anchor::Middle).upward(),
        )
}

/// Trees from above, to scale.
pub(super) fn plan(
    form: Form,
    spacing: &SpacingAnswer,
    reading: Reading,
    words: &DrawingWords,
) -> Drawing {
    let in_row = reading.meters(spacing.in_row_m);
    let across_m = match form {
        Form::Orchard => spacing.between_m,
        Form::Garden => spacing.from_wall_m,
    };
    let across = reading.meters(across_m);
    let told = (words.plan_told)(&in_row, &reading.meters(spacing.between_m));
    match form {
        Form::Orchard => rows(
            Drawing::new(58.0, 52.0, words.plan, &told),
            spacing,
            (&in_row, &across),
            words,
        ),
        Form::Garden => garden(
            Drawing::new(58.0, 46.0, words.plan, &told),
            spacing,
            (&in_row, &across),
            words,
        ),
    }
}

fn rows(
    drawing: Drawing,
    spacing: &SpacingAnswer,
    (in_row, between): (&str, &str),
    words: &DrawingWords,
) -> Drawing {
    // Two rows of three trees.
    let scale = (30.0 / (2.0 * spacing.in_row_m)).min(24.0 / spacing.between_m);
    let (along, apart) = (spacing.in_row_m * scale, spacing.between_m * scale);
    let crown = along.min(apart * 0.7) * 0.46;
    let (left, top) = (16.0, 12.0);
    let mut drawing = drawing;
    for row in 0..2 {
        let y = top + f64::from(row) * apart;
        drawing = drawing
            .line(
                (left - 8.0, y),
                (left + 2.0 * along + 8.0, y),
                THIN.dashed(1.0),
            )
            .text((0.5, y + 1.0), &format!("{} {}", words.row, row + 1), SMALL);
        for tree in 0..3 {
            drawing = one_tree(drawing, (left + f64::from(tree) * along, y), crown);
        }
    }
    let below = top + apart + crown + 4.0;
    let right = left + 2.0 * along + crown + 4.0;
    drawing
        .measure((left, below), (left + along, below), THIN)
        .text(
            (left + along / 2.0, below + 4.5),
            in_row,
            SMALL.at(Anchor::Middle),
        )
        .measure((right, top), (right, top + apart), THIN)
        .text((right + 1.5, top + apart / 2.0 + 1.0), between, SMALL)
}

fn garden(
    drawing: Drawing,
    spacing: &SpacingAnswer,
    (apart, wall): (&str, &str),
    words: &DrawingWords,
) -> Drawing {
    let scale = (24.0 / spacing.in_row_m).min(15.0 / spacing.from_wall_m);
    let (along, off) = (spacing.in_row_m * scale, spacing.from_wall_m * scale);
    let crown = along.min(2.0 * off) * 0.42;
    let (left, top) = (14.0, 8.0);
    let y = top + off;
    let mut drawing = drawing
        .rectangle((0.0, top - 3.0), 58.0, 3.0, Ink::both(Gray::MIDDLE, PEN))
        .text((1.0, top - 4.0), words.wall, SMALL);
    for tree in 0..2 {
        drawing = one_tree(drawing, (left + f64::from(tree) * along, y), crown);
    }
    let right = left + along + crown + 4.0;
    let below = y + crown + 4.0;
    drawing
        .measure((left, below), (left + along, below), THIN)
        .text(
            (left + along / 2.0, below + 4.5),
            apart,
            SMALL.at(Anchor::Middle),
        )
        .measure((right, top), (right, y), THIN)
        .text((right + 1.5, top + off / 2.0 + 1.0), wall, SMALL)
}

fn one_tree(drawing: Drawing, at: (f64, f64), crown: f64) -> Drawing {
    drawing
        .circle(at, crown, Ink::both(Gray::LIGHT, PEN))
        .circle(at, 0.9, Ink::filled(Gray::BLACK))
}
