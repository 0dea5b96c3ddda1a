//! A thermometer that stands still.

use super::{FindingKind, Table};

/// Days in a row with the same values that no working thermometer shows.
struct Longest {
    both: usize,
    one: usize,
}

/// Where values are written with decimals. Jeju in 34 years: 2 days with the same two values and
/// 3 with one of them; chance makes 5 and 7 less than once in centuries.
const FINE: Longest = Longest { both: 5, one: 7 };
/// Where nearly all values are whole degrees.
const WHOLE: Longest = Longest { both: 7, one: 12 };

/// Takes out all but the first day of every run of days on which nothing moves.
pub(super) fn stuck(table: &mut Table<'_>) {
    let longest = if is_of_whole_degrees(table) {
        WHOLE
    } else {
        FINE
    };
    let day = |index: usize| table.written[index].map(|it| it.map(f64::to_bits));
    let known = |table: &Table<'_>, index: usize, which: usize| {
        // Made days come from no thermometer.
        table.temperature(index, which).is_some() && !table.days[index].is_made
    };
    let both: Vec<_> = (0..table.days.len())
        .map(|index| {
            let is_known = known(table, index, 0) && known(table, index, 1);
            is_known.then(|| day(index))
        })
        .collect();
    let low = (0..table.days.len()).map(|index| day(index)[0].filter(|_| known(table, index, 0)));
    let high = (0..table.days.len()).map(|index| day(index)[1].filter(|_| known(table, index, 1)));
    let (low, high): (Vec<_>, Vec<_>) = (low.collect(), high.collect());
    let pairs = runs(&both, longest.both);
    let lows = apart_from(&pairs, runs(&low, longest.one));
    let highs = apart_from(&pairs, runs(&high, longest.one));
    for (of, column, which) in [
        (pairs, "tmin, tmax", &[0, 1][..]),
        (lows, "tmin", &[0]),
        (highs, "tmax", &[1]),
    ] {
        for run in of {
            leave_out(table, run, column, which);
        }
    }
}

/// First day and day after the last of a run.
type Run = (usize, usize);

fn runs<T: PartialEq>(values: &[Option<T>], longest: usize) -> Vec<Run> {
    let mut from = 0;
    let mut found = Vec::new();
    for run in values.chunk_by(|one, other| one == other) {
        if run[0].is_some() && run.len() >= longest {
            found.push((from, from + run.len()));
        }
        from += run.len();
    }
    found
}

/// The runs that lie in none of the others.
fn apart_from(others: &[Run], runs: Vec<Run>) -> Vec<Run> {
    runs.into_iter()
        .filter(|(from, until)| !others.iter().any(|it| it.0 < *until && *from < it.1))
        .collect()
}

fn is_of_whole_degrees(table: &Table<'_>) -> bool {
    let values = || table.written.iter().flatten().flatten();
    let whole = values().filter(|it| it.fract() == 0.0).count();
    whole * 20 >= values().count() * 19
}

fn leave_out(table: &mut Table<'_>, (from, until): Run, column: &str, which: &[usize]) {
    let values: Vec<String> = which
        .iter()
        .filter_map(|which| table.as_written(from, *which))
        .collect();
    for index in from + 1..until {
        for which in which {
            table.set_temperature(index, *which, None);
        }
    }
    let rule = format!("the same on {} days in a row", until - from);
    let cell = (Some(column), Some(values.join(", ")));
    let done = "the first day is kept, the others are left out";
    table.note(FindingKind::Stuck, (from, until - 1), cell, (rule, done));
}
