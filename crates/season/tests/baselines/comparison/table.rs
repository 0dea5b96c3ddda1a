//! The tables of `docs/planning-baselines.md`.

use super::rows::{Comparison, Row};

/// A table of Markdown: what stands above the columns, then the rows.
fn table(above: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let above: Vec<String> = above.iter().map(ToString::to_string).collect();
    let rule = format!("|{}\n", "---|".repeat(above.len()));
    [line(&above), rule]
        .into_iter()
        .chain(rows.map(|cells| line(&cells)))
        .collect()
}

/// Both tables of some nurseries, each with its name.
pub fn tables(all: &[(String, Comparison)]) -> String {
    let plans = all.iter().flat_map(|(name, it)| plans(name, it));
    let shares = all.iter().map(|(name, it)| shares(name, it));
    let plans = table(
        &[
            "nursery",
            "plan",
            "expected profit",
            "profit in the bound's futures",
            "lines on time in them",
        ],
        plans,
    );
    let shares = table(
        &[
            "nursery",
            "futures of the bound",
            "distance closed, %",
            "safe lines",
            "of them kept in lives, %",
            "of lines the bound keeps called safe, %",
        ],
        shares,
    );
    format!("\n{plans}\n{shares}\n")
}

fn plans(name: &str, all: &Comparison) -> Vec<Vec<String>> {
    let row = |row: &Row| {
        vec![
            name.to_owned(),
            row.name.to_owned(),
            format!("{:.0}", row.expected),
            format!("{:.0}", row.profit),
            on_time(row.on_time, all.lines),
        ]
    };
    let mut rows: Vec<_> = all.rows.iter().map(row).collect();
    rows.extend(all.bound.as_ref().map(|(_, bound)| {
        vec![
            name.to_owned(),
            "perfect information".to_owned(),
            String::new(),
            format!("{:.0} ± {:.0}", bound.profit, bound.either_side),
            on_time(bound.on_time, all.lines),
        ]
    }));
    rows
}

fn on_time(lines: f64, of: usize) -> String {
    format!("{lines:.1} of {of}")
}

fn shares(name: &str, all: &Comparison) -> Vec<String> {
    let percent = |share: f64| format!("{:.1}", 100.0 * share);
    let of_bound = |number: Option<String>| number.unwrap_or_default();
    let bound = all.bound.as_ref();
    vec![
        name.to_owned(),
        of_bound(bound.map(|(futures, _)| futures.to_string())),
        of_bound(all.closed().map(percent)),
        format!("{} of {}", all.safe, all.lines),
        percent(all.safe_and_kept),
        of_bound(bound.map(|(_, bound)| percent(bound.safe))),
    ]
}
