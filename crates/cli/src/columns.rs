//! Counts and tables as a person reads them on a terminal.

use app::money_words;

/// A count and its word, as "1 lot" and "2 lots".
pub fn count(number: usize, word: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{} {word}{s}", money_words(number as f64))
}

/// How a column of a table stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Stand {
    Left,
    Right,
}

/// A table under its heads, columns as wide as their widest cell; empty columns are left out.
pub fn table(heads: &[(&str, Stand)], rows: &[Vec<String>]) -> String {
    let width = |at: usize| {
        let cells = rows.iter().filter_map(|row| row.get(at));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let shown: Vec<(usize, usize, Stand)> = heads
        .iter()
        .enumerate()
        .map(|(at, (head, stand))| (at, width(at), head.chars().count(), *stand))
        .filter(|(_, width, ..)| *width > 0)
        .map(|(at, width, head, stand)| (at, width.max(head), stand))
        .collect();
    let line = |cell: &dyn Fn(usize) -> String| {
        let cells = shown.iter().map(|&(at, width, stand)| match stand {
            Stand::Left => format!("{:<width$}", cell(at)),
            Stand::Right => format!("{:>width$}", cell(at)),
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        format!("{}\n", line.trim_end())
    };
    let mut text = line(&|at| heads[at].0.to_owned());
    for row in rows {
        text.push_str(&line(&|at| row.get(at).cloned().unwrap_or_default()));
    }
    text
}

/// What the user should know, below an answer.
pub fn notes(warnings: &[String]) -> String {
    if warnings.is_empty() {
        return String::new();
    }
    let lines: Vec<String> = warnings.iter().map(|it| format!("  {it}\n")).collect();
    format!("\nKnow this too\n{}", lines.concat())
}
