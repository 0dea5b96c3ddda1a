//! Words of a plan's supplies.

pub(crate) const SUPPLIES: &str = "Seed and buds";
pub(crate) const SUPPLIES_SAY: &str = "What the plan uses against what there is over its weeks. What is used up week by week stands among what is scarce.";
pub(crate) const MORE_SUPPLIES: &str = "more supply row";
pub(crate) const SUPPLY_HEADS: [(&str, bool); 4] = [
    ("What", false),
    ("Used", true),
    ("There is", true),
    ("To buy a week", true),
];

/// What one tree too few of a line loses and what one too many does, money of a tree.
pub(crate) fn stakes(too_few: f64, too_many: f64) -> String {
    if too_few <= 0.0 {
        return format!("one tree more costs more than it earns, by {:.2}", -too_few);
    }
    format!(
        "one tree too few loses {too_few:.2}, one too many {:.2}",
        too_many.max(0.0)
    )
}
