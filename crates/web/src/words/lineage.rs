//! Words of Lineage.

use crate::figures::{count, of};

pub(crate) const SHEET: &str = "Lineage";
pub(crate) const QUESTION: &str = "Where did it come from, and what came of it?";
pub(crate) const NAME: &str = "Lot, mother tree, cut or seed batch";
pub(crate) const SHOW: &str = "Trace it";
pub(crate) const HELP: &str = "Name a lot, a mother tree, a cut of budsticks or a seed batch.";
pub(crate) const HELD: &str = "held";
pub(crate) const HOLD: &str = "Hold it and everything that came of it";
pub(crate) const BACK: &str = "What it came from";
pub(crate) const FORWARD: &str = "What came of it";
pub(crate) const SENT: &str = "What was sent off";
pub(crate) const CUSTOMERS: &str = "Customers who got any of it";
pub(crate) const MOTHER_TREES: &str = "Mother trees";
pub(crate) const NODE_HEADS: [(&str, bool); 4] = [
    ("Name", false),
    ("Kind", false),
    ("Plants standing", true),
    ("Hold", false),
];
pub(crate) const SENT_HEADS: [(&str, bool); 4] = [
    ("Order, line", false),
    ("Customer", false),
    ("Lot", false),
    ("Plants", true),
];
pub(crate) const CSV_HEADS: [&str; 6] = ["direction", "kind", "name", "plants", "held", "customer"];

/// The sentence over a lineage.
pub(crate) fn answer(
    of_what: &str,
    standing: u32,
    lots: usize,
    sent: u32,
    customers: usize,
) -> String {
    let mut answer = format!(
        "{of_what}: {} of it stand in {}",
        of(u64::from(standing), "plant"),
        of(lots as u64, "lot")
    );
    if sent > 0 {
        answer.push_str("; ");
        answer.push_str(&count(u64::from(sent)));
        answer.push_str(" went to ");
        answer.push_str(&of(customers as u64, "customer"));
    }
    answer.push('.');
    answer
}

/// The kind of a point of a lineage.
pub(crate) fn kind(kind: &str) -> &'static str {
    match kind {
        "lot" => "lot",
        "mother_tree" => "mother tree",
        "cut" => "cut of budsticks",
        "batch" => "seed batch",
        _ => "from outside",
    }
}
