//! Tables as pieces: a row is not parted unless it is higher than a page.

use std::rc::Rc;

use crate::drawing::{Anchor, Gray, Ink, Shape, Stroke};
use crate::letters;
use crate::pdf::{Mark, Part, Role, Tree};

use super::piece::{Again, Piece, Style};
use super::{Cell, Column, PaperWords, Row, Table};

/// Height of the type in cells, 9 points.
const SIZE: f64 = 3.2;
/// Of heads of columns.
const HEAD_SIZE: f64 = 2.9;
/// Space left and right of what is in a cell.
const SIDE: f64 = 1.3;
/// Space above and under it.
const OVER: f64 = 1.0;
/// Height of a row with a box to write in: room for a pencil.
const WRITE: f64 = 8.0;
/// Side of a box to tick.
const TICK: f64 = 4.2;
/// The largest share of a table that a column takes for the sake of its longest word.
const WORD_SHARE: f64 = 0.4;

/// The pieces of a table for text of this width and pages of this height.
pub(super) fn pieces(
    tree: &mut Tree,
    table: &Table,
    words: &PaperWords,
    width: f64,
    most: f64,
) -> Vec<Piece> {
    if table.columns.is_empty() || table.rows.is_empty() {
        return Vec::new();
    }
    let whole = tree.add(None, Role::Table(table.about.clone()));
    let mut layout = Layout {
        tree,
        columns: &table.columns,
        lefts: lefts(table, width),
        words,
    };
    let head = layout.head(whole);
    let again = head.as_ref().map(|head| Again {
        height: head.height,
        shapes: Rc::new(head.marks.iter().map(|mark| mark.shape.clone()).collect()),
    });
    let room = most - again.as_ref().map_or(0.0, |again| again.height);
    let body = layout.tree.add(Some(whole), Role::TableBody);
    let mut found: Vec<Piece> = head.into_iter().collect();
    for row in &table.rows {
        let mut pieces = layout.row(body, row, room);
        for piece in &mut pieces {
            piece.again.clone_from(&again);
        }
        found.extend(pieces);
    }
    if let Some(first) = found.first_mut() {
        first.gap = 2.4;
    }
    found
}

struct Layout<'a> {
    tree: &'a mut Tree,
    columns: &'a [Column],
    /// Where each column begins, and where the last one ends.
    lefts: Vec<f64>,
    words: &'a PaperWords,
}

/// A cell on its way to paper.
struct Laid<'a> {
    part: Part,
    cell: &'a Cell,
    style: Style,
    lines: Vec<String>,
    left: f64,
    right: f64,
    number: bool,
}

impl Layout<'_> {
    fn head(&mut self, table: Part) -> Option<Piece> {
        if self.columns.iter().all(|column| column.head.is_empty()) {
            return None;
        }
        let head = self.tree.add(Some(table), Role::TableHead);
        let row = self.tree.add(Some(head), Role::Row);
        let heads: Vec<Cell> = self
            .columns
            .iter()
            .map(|column| Cell::Strong(column.head.clone()))
            .collect();
        let style = Style::bold(HEAD_SIZE);
        let laid = self.laid(row, &heads, style, |_| Role::HeadCell);
        let count = laid.iter().map(|cell| cell.lines.len()).max().unwrap_or(1);
        let mut piece = Piece {
            height: count as f64 * style.line_height() + 2.0 * OVER,
            keep: true,
            ..Piece::default()
        };
        for cell in &laid {
            // Heads of one line stand at the foot, near the column.
            let top = OVER + (count - cell.lines.len()) as f64 * style.line_height();
            piece.marks.extend(text(cell, &cell.lines, top, false));
        }
        let rule = self.rule(piece.height, Stroke::black(0.35));
        piece.marks.push(rule);
        Some(piece)
    }

    fn row(&mut self, body: Part, row: &Row, most: f64) -> Vec<Piece> {
        let part = self.tree.add(Some(body), Role::Row);
        match row {
            Row::Group(words) => vec![self.group(part, words)],
            Row::Cells(cells) => {
                let laid = self.laid(part, cells, Style::plain(SIZE), first_names);
                self.parted(&laid, most)
            }
            Row::Total(cells) => {
                let laid = self.laid(part, cells, Style::bold(SIZE), first_names);
                let mut pieces = self.parted(&laid, most);
                if let Some(first) = pieces.first_mut() {
                    let rule = self.rule(0.0, Stroke::black(0.35));
                    first.marks.insert(0, rule);
                }
                pieces
            }
        }
    }

    /// Words over all columns, which stay with the row after them.
    fn group(&mut self, row: Part, words: &str) -> Piece {
        let part = self.tree.add(Some(row), Role::Cell(self.columns.len()));
        let right = self.lefts.last().copied().unwrap_or_default();
        let style = Style::bold(SIZE);
        let laid = Laid {
            part,
            cell: &Cell::Write,
            style,
            lines: letters::lines(words, SIZE, true, right - 2.0 * SIDE),
            left: 0.0,
            right,
            number: false,
        };
        let height = laid.lines.len() as f64 * style.line_height() + 2.0 * OVER;
        let shade = Shape::Rectangle {
            // The rule above it stays whole.
            at: (0.0, 0.2),
            width_mm: right,
            height_mm: height - 0.2,
            ink: Ink::filled(Gray(238)),
        };
        let mut marks = vec![Mark {
            part: None,
            shape: shade,
        }];
        marks.extend(text(&laid, &laid.lines, OVER, false));
        Piece {
            height,
            marks,
            keep: true,
            ..Piece::default()
        }
    }

    /// Cells with their lines. A row that has too few gets empty ones, what is too many is left out.
    fn laid<'c>(
        &mut self,
        row: Part,
        cells: &'c [Cell],
        style: Style,
        role: impl Fn(usize) -> Role,
    ) -> Vec<Laid<'c>> {
        const EMPTY: &Cell = &Cell::Words(String::new());
        let columns = self.columns;
        let mut found = Vec::with_capacity(columns.len());
        for (number, column) in columns.iter().enumerate() {
            let cell = cells.get(number).unwrap_or(EMPTY);
            let style = Style {
                bold: style.bold || matches!(cell, Cell::Strong(_)),
                ..style
            };
            let (left, right) = (self.lefts[number], self.lefts[number + 1]);
            let part = self.tree.add(Some(row), role(number));
            let part = match cell {
                Cell::Write => self
                    .tree
                    .add(Some(part), Role::Figure(self.words.write.to_owned())),
                Cell::Tick => self
                    .tree
                    .add(Some(part), Role::Figure(self.words.tick.to_owned())),
                Cell::Words(_) | Cell::Strong(_) => part,
            };
            let room = right - left - 2.0 * SIDE;
            found.push(Laid {
                part,
                cell,
                style,
                lines: letters::lines(cell.said(), style.size, style.bold, room),
                left,
                right,
                number: column.number,
            });
        }
        found
    }

    /// One piece for a row, or as many as it needs where it is higher than a page.
    fn parted(&self, laid: &[Laid<'_>], most: f64) -> Vec<Piece> {
        let line = Style::plain(SIZE).line_height();
        let fit = (((most - 2.0 * OVER) / line).floor() as usize).max(1);
        let count = laid.iter().map(|cell| cell.lines.len()).max().unwrap_or(1);
        let mut found = Vec::new();
        for from in (0..count).step_by(fit) {
            let lines = fit.min(count - from);
            let least = if from > 0 {
                0.0
            } else {
                laid.iter().map(|cell| least(cell.cell)).fold(0.0, f64::max)
            };
            let height = (lines as f64 * line + 2.0 * OVER).max(least);
            let mut marks = Vec::new();
            for cell in laid {
                let until = cell.lines.len().min(from + lines);
                let part = cell.lines.get(from..until).unwrap_or_default();
                let goes_on = until < cell.lines.len();
                match cell.cell {
                    Cell::Write | Cell::Tick if from == 0 => marks.push(to_fill(cell, least)),
                    Cell::Write | Cell::Tick => {}
                    Cell::Words(_) | Cell::Strong(_) => {
                        let top = if least > 0.0 && count == 1 {
                            (height - line) / 2.0
                        } else {
                            OVER
                        };
                        marks.extend(text(cell, part, top, goes_on));
                    }
                }
            }
            if from + lines == count {
                marks.push(self.rule(height, Stroke::of(0.12, Gray::MIDDLE)));
            }
            found.push(Piece {
                height,
                marks,
                ..Piece::default()
            });
        }
        found
    }

    fn rule(&self, y: f64, stroke: Stroke) -> Mark {
        let right = self.lefts.last().copied().unwrap_or_default();
        Mark {
            part: None,
            shape: Shape::Polyline {
                points: vec![(0.0, y), (right, y)],
                stroke,
            },
        }
    }
}

fn first_names(number: usize) -> Role {
    if number == 0 {
        Role::RowHead
    } else {
        Role::Cell(1)
    }
}

fn least(cell: &Cell) -> f64 {
    match cell {
        Cell::Write => WRITE,
        Cell::Tick => TICK + 2.0 * OVER,
        Cell::Words(_) | Cell::Strong(_) => 0.0,
    }
}

/// The lines of a cell. An empty cell has an empty line, so that its column is not lost when read aloud.
fn text(cell: &Laid<'_>, lines: &[String], top: f64, goes_on: bool) -> Vec<Mark> {
    let (x, anchor) = if cell.number {
        (cell.right - SIDE, Anchor::End)
    } else {
        (cell.left + SIDE, Anchor::Start)
    };
    let line = |(number, words): (usize, &String)| Mark {
        part: Some(cell.part),
        shape: cell.style.line(
            (x, top + number as f64 * cell.style.line_height()),
            words,
            anchor,
            goes_on || number + 1 < lines.len(),
        ),
    };
    lines.iter().enumerate().map(line).collect()
}

fn to_fill(cell: &Laid<'_>, height: f64) -> Mark {
    let ink = Ink::outlined(Stroke::black(0.25));
    let shape = if *cell.cell == Cell::Tick {
        let left = if cell.number {
            cell.right - SIDE - TICK
        } else {
            cell.left + SIDE
        };
        Shape::Rectangle {
            at: (left, (height - TICK) / 2.0),
            width_mm: TICK,
            height_mm: TICK,
            ink,
        }
    } else {
        Shape::Rectangle {
            at: (cell.left + SIDE, 0.8),
            width_mm: (cell.right - cell.left - 2.0 * SIDE).max(2.0),
            height_mm: height - 1.6,
            ink,
        }
    };
    Mark {
        part: Some(cell.part),
        shape,
    }
}

/// Where columns begin: by their weights, but none narrower than its longest word while the others can give.
fn lefts(table: &Table, width: f64) -> Vec<f64> {
    let weights: Vec<f64> = table
        .columns
        .iter()
        .map(|column| column.weight.max(0.01))
        .collect();
    let needs: Vec<f64> = (0..table.columns.len())
        .map(|column| need(table, column).min(width * WORD_SHARE))
        .collect();
    let widths = shares(&weights, &needs, width);
    let mut lefts = vec![0.0];
    for wide in widths {
        lefts.push(lefts.last().copied().unwrap_or_default() + wide);
    }
    lefts
}

/// The width of the longest word of a column.
fn need(table: &Table, column: usize) -> f64 {
    let head = letters::widest_word(&table.columns[column].head, HEAD_SIZE, true);
    let widest = table.rows.iter().filter_map(|row| match row {
        Row::Cells(cells) => cells.get(column).map(|cell| (cell, false)),
        Row::Total(cells) => cells.get(column).map(|cell| (cell, true)),
        Row::Group(_) => None,
    });
    let widest = widest.map(|(cell, bold)| match cell {
        Cell::Write => 16.0,
        Cell::Tick => TICK,
        Cell::Strong(words) => letters::widest_word(words, SIZE, true),
        Cell::Words(words) => letters::widest_word(words, SIZE, bold),
    });
    widest.fold(head, f64::max) + 2.0 * SIDE + 0.01
}

/// Widths by weight; whoever would get less than it needs gets that, and the others share what is left. Where all needs
/// together are too much, they are cut alike.
fn shares(weights: &[f64], needs: &[f64], width: f64) -> Vec<f64> {
    let asked: f64 = needs.iter().sum();
    if asked >= width {
        return needs.iter().map(|need| need / asked * width).collect();
    }
    let mut fixed = vec![false; weights.len()];
    loop {
        let of_fixed: f64 = pick(needs, &fixed, true);
        let of_free: f64 = pick(weights, &fixed, false);
        let share = |number: usize| {
            if fixed[number] {
                needs[number]
            } else {
                weights[number] / of_free * (width - of_fixed)
            }
        };
        let widths: Vec<f64> = (0..weights.len()).map(share).collect();
        let lacking: Vec<usize> = (0..weights.len())
            .filter(|number| !fixed[*number] && widths[*number] < needs[*number])
            .collect();
        if lacking.is_empty() {
            return widths;
        }
        for number in lacking {
            fixed[number] = true;
        }
    }
}

fn pick(values: &[f64], fixed: &[bool], wanted: bool) -> f64 {
    values
        .iter()
        .zip(fixed)
        .filter(|(_, fixed)| **fixed == wanted)
        .map(|(value, _)| value)
        .sum()
}

#[cfg(test)]
mod tests {
    use super::shares;

    fn near(found: &[f64], wanted: &[f64]) {
        for (found, wanted) in found.iter().zip(wanted) {
            assert!((found - wanted).abs() < 1e-9, "{found} instead of {wanted}");
        }
    }

    #[test]
    fn columns_share_by_weight_and_give_to_long_words() {
        near(&shares(&[1.0, 3.0], &[0.0, 0.0], 80.0), &[20.0, 60.0]);
        near(&shares(&[1.0, 3.0], &[30.0, 0.0], 80.0), &[30.0, 50.0]);
        near(
            &shares(&[1.0, 1.0, 2.0], &[50.0, 24.0, 0.0], 100.0),
            &[50.0, 24.0, 26.0],
        );
        near(&shares(&[1.0, 1.0], &[90.0, 30.0], 60.0), &[45.0, 15.0]);
    }
}
