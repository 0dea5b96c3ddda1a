//! Words of a plan's reasons and supplies.

use crate::figures::of;

/// What happens to a job that slips.
pub(crate) const NOT_THEN: &str = "Not done that week";
pub(crate) const SCARCEST: &str = "The scarcest things of the season";
pub(crate) const GIVEN_UP: &str = "What was given up for what";
pub(crate) const GIVEN_UP_SAY: &str = "Not all that is ordered can be there in time. This is what each order line that goes short or late would need, \
     and which order lines have it in its place.";
pub(crate) const MORE_GIVEN_UP: &str = "more order line";

pub(crate) const SUPPLIES: &str = "Seed and buds";
pub(crate) const SUPPLIES_SAY: &str = "What the plan uses against what there is over its weeks. What is used up week by week stands among what is scarce.";
pub(crate) const MORE_SUPPLIES: &str = "more supply row";
pub(crate) const SUPPLY_HEADS: [(&str, bool); 4] = [
    ("What", false),
    ("Used", true),
    ("There is", true),
    ("To buy a week", true),
];

/// Lines that gave something up and have no place on the page.
pub(crate) fn not_shown(lines: usize) -> String {
    format!("Not shown here: {}.", of(lines as u64, MORE_GIVEN_UP))
}

/// What one tree too few of a line loses and what one too many does.
pub(crate) fn stakes(too_few: &str, too_many: &str) -> String {
    format!("one tree too few loses {too_few}, one too many {too_many}")
}

/// One tree more of a line costs more than it earns, by so much.
pub(crate) fn no_stake(by: &str) -> String {
    format!("one tree more costs {by} more than it earns")
}
