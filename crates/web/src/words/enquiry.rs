//! Words of the enquiry.

use crate::figures::count;

pub(crate) const SHEET: &str = "Enquiry";
pub(crate) const QUESTION: &str = "Can I promise this?";
pub(crate) const HELP: &str =
    "Say what is asked for. The answer comes from the trees that the last futures leave free.";
pub(crate) const ASK: &str = "Ask";
pub(crate) const NO_FUTURES: &str = "Nothing can be promised yet: no futures were drawn.";
pub(crate) const NO_FUTURES_STEP: &str =
    "Make a plan first. Barkslip then tries many futures and knows which trees stay free.";
pub(crate) const MAKE_PLAN: &str = "Make a plan";
pub(crate) const ENTER: &str = "Enter it as an order";
pub(crate) const ENTER_LARGEST: &str = "Enter the largest number as an order";
pub(crate) const ODDS: &str = "Odds of having them free";
pub(crate) const LARGEST: &str = "Most that can be promised";
pub(crate) const EARLIEST: &str = "All of them from";
pub(crate) const NEVER: &str = "in no week that the plan covers";
pub(crate) const PRICE: &str = "Price";
pub(crate) const ALTERNATIVES: &str = "What else could be offered";
pub(crate) const NO_ALTERNATIVES: &str =
    "Nothing else of this variety stays free by then. Ask for a later week.";
pub(crate) const METHOD: &str = "How this is worked out";
pub(crate) const METHOD_WORDS: &str = "The futures tell how many ready trees of a kind are left once all order lines are served. What is \
     promised is taken from what is left in its week and in the year after, so that no earlier promise \
     loses a tree. Odds are about right: they are read between the numbers that 5, 50 and 95 of 100 futures \
     stay under.";
pub(crate) const ENTRIES_SINCE: &str =
    "Orders entered after the run are not taken off yet: make a new plan before you promise much.";

pub(crate) const VARIETY: &str = "Variety";
pub(crate) const ROOTSTOCK: &str = "Rootstock";
pub(crate) const SIZE: &str = "Size";
pub(crate) const PLANTS: &str = "Plants";
pub(crate) const BY: &str = "Wanted by";
pub(crate) const BY_HINT: &str = "The week of this day counts.";
pub(crate) const AT_ODDS: &str = "Promise at odds of, percent";
pub(crate) const AT_ODDS_HINT: &str =
    "5 to 95. 90 means that nine futures of ten keep the promise.";
pub(crate) const WRONG_ODDS: &str = "Write odds from 5 to 95.";
pub(crate) const NO_PLANTS: &str = "Write 1 or more.";
pub(crate) const WHAT: &str = "What";
pub(crate) const OFFER: &str = "Ask for this";

/// The answer in one sentence.
pub(crate) fn answer(can: bool, plants: u32, what: &str, week: &str, largest: u32) -> String {
    let plants = count(u64::from(plants));
    if can {
        return format!("Yes: {plants} {what} can be promised by {week}.");
    }
    if largest == 0 {
        return format!("No: no {what} can be promised by {week}.");
    }
    format!(
        "Not all: of {plants} {what}, {} can be promised by {week}.",
        count(u64::from(largest))
    )
}

/// The largest number at some odds.
pub(crate) fn at_odds(plants: u32, odds: &str) -> String {
    format!("{} at {odds} odds or better", count(u64::from(plants)))
}
