//! Rows put in the order of their dates, each date once.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Finding, FindingKind, Line};
use crate::calendar::days_between;
use crate::reading::ROW_LEFT_OUT;
use crate::weather::Day;

/// A single row at an end of the file that lies farther from its neighbor has a wrong date.
const FARTHEST_DAYS: i64 = 366;

/// The lines in the order of their dates, each date once; a date of which neither of two rows can
/// be trusted keeps a line without values.
pub(super) fn in_order(file: &str, mut lines: Vec<Line>, findings: &mut Vec<Finding>) -> Vec<Line> {
    let mut in_place = rising(&lines);
    if runs_backwards(&lines, &in_place) {
        let rule = "rows must run from the earliest date to the latest";
        findings.push(of_line(file, &lines[0], rule, "they are turned round"));
        lines.reverse();
        in_place = rising(&lines);
    }
    without_far_ends(&lines, &mut in_place);
    if in_place.iter().all(|it| *it) {
        return lines;
    }
    let mut placing = Placing::of(file, &lines, &in_place);
    for index in (0..lines.len()).filter(|index| !in_place[*index]) {
        findings.push(placing.place(index));
    }
    let Placing { kept, spoiled, .. } = placing;
    let mut by_index: Vec<Option<Line>> = lines.into_iter().map(Some).collect();
    kept.into_iter()
        .filter_map(|(date, index)| {
            let mut line = by_index[index].take()?;
            if spoiled.contains(&date) {
                line.day = Day::default();
            }
            Some(line)
        })
        .collect()
}

fn of_line(file: &str, line: &Line, rule: &str, done: &str) -> Finding {
    Finding {
        row: Some(line.row),
        ..Finding::of(FindingKind::OutOfOrder, file, rule, done)
    }
    .on(line.date)
}

/// Which lines belong to the longest run of rising dates: all others are out of order. So one
/// wrong date is one finding, and not one for every row after it.
fn rising(lines: &[Line]) -> Vec<bool> {
    // By length of a run, the line with the earliest date on which one of that length ends.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(lines.len());
    for (index, line) in lines.iter().enumerate() {
        let length = ends.partition_point(|end| lines[*end].date < line.date);
        before.push(length.checked_sub(1).map(|length| ends[length]));
        if length == ends.len() {
            ends.push(index);
        } else if line.date < lines[ends[length]].date {
            // Of two rows with one date the first stands.
            ends[length] = index;
        }
    }
    let mut is_rising = vec![false; lines.len()];
    let mut at = ends.last().copied();
    while let Some(index) = at {
        is_rising[index] = true;
        at = before[index];
    }
    is_rising
}

/// Whether the file runs from its latest date to its earliest.
fn runs_backwards(lines: &[Line], in_place: &[bool]) -> bool {
    let pairs = || lines.windows(2);
    let rise = in_place.iter().filter(|it| **it).count();
    let falls = pairs().filter(|pair| pair[1].date < pair[0].date).count();
    lines.len() > 2 && falls * 10 > (lines.len() - 1) * 9 && rise * 2 < lines.len()
}

/// A first or last row whose date lies years off all others does not make the record longer.
fn without_far_ends(lines: &[Line], in_place: &mut [bool]) {
    let placed: Vec<usize> = (0..lines.len()).filter(|index| in_place[*index]).collect();
    let &[first, second, .., last_but_one, last] = &placed[..] else {
        return;
    };
    let far =
        |one: usize, other: usize| days_between(lines[one].date, lines[other].date) > FARTHEST_DAYS;
    if far(first, second) {
        in_place[first] = false;
    }
    if far(last_but_one, last) {
        in_place[last] = false;
    }
}

/// Lines out of order under placing.
struct Placing<'a> {
    file: &'a str,
    lines: &'a [Line],
    in_place: &'a [bool],
    /// How many lines in place stand above each line.
    above: Vec<usize>,
    /// The dates between which a single row may have its place.
    range: Option<(Date, Date)>,
    kept: BTreeMap<Date, usize>,
    /// Dates of which two rows stand in order and differ.
    spoiled: Vec<Date>,
}

impl<'a> Placing<'a> {
    fn of(file: &'a str, lines: &'a [Line], in_place: &'a [bool]) -> Self {
        let mut count = 0;
        let above = in_place.iter().map(|placed| {
            let above = count;
            count += usize::from(*placed);
            above
        });
        let above = above.collect();
        let placed = lines.iter().zip(in_place).enumerate();
        let kept: BTreeMap<Date, usize> = placed
            .filter(|(_, (_, placed))| **placed)
            .map(|(index, (line, _))| (line.date, index))
            .collect();
        let first = kept.first_key_value().map(|(date, _)| *date);
        let last = kept.last_key_value().map(|(date, _)| *date);
        Self {
            file,
            lines,
            in_place,
            above,
            range: first.zip(last),
            kept,
            spoiled: Vec::new(),
        }
    }

    fn place(&mut self, index: usize) -> Finding {
        let line = &self.lines[index];
        let Some(known) = self.kept.get(&line.date).copied() else {
            return self.place_anew(index);
        };
        let rule = format!(
            "this date stands twice, here and in row {}",
            self.lines[known].row
        );
        let done = if self.lines[known].day == line.day {
            "they are alike, one is kept"
        } else if self.stand_together(known, index) {
            if !self.spoiled.contains(&line.date) {
                self.spoiled.push(line.date);
            }
            "they differ, both are left out"
        } else {
            "the row in the order of dates is kept, this one left out"
        };
        Finding {
            kind: FindingKind::DuplicateDay,
            ..of_line(self.file, line, &rule, done)
        }
    }

    /// Whether no row in place lies between two rows, so that neither is in place more than the
    /// other.
    fn stand_together(&self, known: usize, index: usize) -> bool {
        if known < index {
            self.above[index] == self.above[known] + 1
        } else {
            self.above[index] == self.above[known]
        }
    }

    fn place_anew(&mut self, index: usize) -> Finding {
        let line = &self.lines[index];
        let is_within = self
            .range
            .is_some_and(|(first, last)| first < line.date && line.date < last);
        let rule = "rows must run from the earliest date to the latest";
        if is_within || self.is_in_block(index) {
            self.kept.insert(line.date, index);
            return of_line(self.file, line, rule, "the row is put in its place");
        }
        let rule = "the date lies outside those of all other rows";
        of_line(self.file, line, rule, ROW_LEFT_OUT)
    }

    /// Whether the row above is out of order, too, and of the day before, or the row below of the day
    /// after: such rows are part of a table that was put together in another order.
    fn is_in_block(&self, index: usize) -> bool {
        let date = self.lines[index].date;
        let is_off_by = |other: Option<usize>, days: i64| {
            other.is_some_and(|other| {
                self.in_place.get(other) == Some(&false)
                    && days_between(date, self.lines[other].date) == days
            })
        };
        is_off_by(index.checked_sub(1), -1) || is_off_by(Some(index + 1), 1)
    }
}
