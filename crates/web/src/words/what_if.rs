//! Words of the page that asks what if something were otherwise.

pub(crate) const SHEET: &str = "What if";
pub(crate) const QUESTION: &str = "What if something were otherwise?";
pub(crate) const HELP: &str = "Take one of these, or several one after another. Barkslip then makes a second plan, to be set \
     beside the one you have. Nothing is recorded; settings, orders and their odds stay as they are.";
pub(crate) const CHOSEN: &str = "This is looked at";
pub(crate) const LEAVE_OUT: &str = "Leave it out";
pub(crate) const MAKE: &str = "Make this plan";
pub(crate) const MAKE_WORDS: &str =
    "A large season takes a minute or two; the page of Seasons tells when it is ready.";
pub(crate) const ADD: &str = "Take it";
pub(crate) const ANOTHER: &str = "And what else?";
pub(crate) const NONE: &str = "nothing is chosen yet";
pub(crate) const NONE_MEND: &str = "take at least one of the questions below";
pub(crate) const RUNS: &str = "a plan is being made already";
pub(crate) const RUNS_MEND: &str = "wait until it is ready, or stop it on the page of Seasons";

pub(crate) const A_CREW: &str = "A crew is smaller, or away for some weeks";
pub(crate) const CREW: &str = "Crew";
pub(crate) const HOURS_LEFT: &str = "Own hours left, of 100";
pub(crate) const FROM: &str = "From the week of";
pub(crate) const TO: &str = "To the week of";
pub(crate) const WEEKS_HINT: &str =
    "All weeks of the plan where both are empty. Hours that can be hired stay.";
pub(crate) const BOTH_WEEKS: &str = "Give both weeks, or none.";
pub(crate) const A_PLACE: &str = "A place has less ground, or more";
pub(crate) const PLACE: &str = "Place";
pub(crate) const GROUND_LEFT: &str = "Ground, of 100 now";
pub(crate) const BUDS: &str = "Mother trees give fewer buds, or more";
pub(crate) const OF_VARIETY: &str = "Variety";
pub(crate) const OF_ALL: &str = "All varieties where it is empty.";
pub(crate) const BUDS_LEFT: &str = "Buds, of 100 now";
pub(crate) const SPRING: &str = "Spring is late";
pub(crate) const WEEKS_LATE: &str = "Weeks late";
pub(crate) const WEEKS_LATE_HINT: &str =
    "1 to 8. From midwinter to midsummer, warmth, bark and frost come so much later.";
pub(crate) const AN_ORDER: &str = "A big order comes";
pub(crate) const PLANTS: &str = "Plants";
pub(crate) const ROOTSTOCK: &str = "Rootstock";
pub(crate) const SIZE: &str = "Size";
pub(crate) const BY: &str = "Wanted by";
pub(crate) const BY_HINT: &str = "At the list price; it counts as a contract.";
pub(crate) const TARGETS: &str = "More is raised against bad luck, or less";
pub(crate) const LINE: &str = "Order line";
pub(crate) const LINE_HINT: &str =
    "Order and line with a slash between, as A-104/1. All lines where it is empty.";
pub(crate) const TARGET_THEN: &str = "Odds to aim at, in 100";
pub(crate) const TARGET_HINT: &str = "1 to 99. It needs a plan that is protected against luck.";
pub(crate) const PRICES: &str = "Trees cost more, or less";
pub(crate) const PRICE_THEN: &str = "Price, of 100 now";
pub(crate) const PRICE_HINT: &str = "Of the price list: what orders have agreed stays.";
