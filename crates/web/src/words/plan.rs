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
