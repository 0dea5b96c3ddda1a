//! Words of the enquiry.

use crate::figures::count;

pub(crate) const SHEET: &str = "Enquiry";
pub(crate) const QUESTION: &str = "Can I promise this?";
pub(crate) const HELP: &str = "Say what is asked for. Barkslip puts it into every future it has drawn and shares the trees out anew.";
pub(crate) const ASK: &str = "Ask";
pub(crate) const NO_FUTURES: &str = "Nothing can be promised yet: no futures were drawn.";
pub(crate) const BEING_DRAWN: &str =
    "The futures are being drawn now. This page asks again by itself in a moment.";
pub(crate) const CUSTOMER: &str = "Customer";
pub(crate) const PRICE_EACH: &str = "Price of one";
pub(crate) const PRICE_HINT: &str = "From the price list, where it has one.";
pub(crate) const OFFER_FIRST: &str = "Ask for the first part";
pub(crate) const OFFER_REST: &str = "Ask for the rest";
pub(crate) const PROMISE_IT: &str = "Promise it";
pub(crate) const WHO_AND_WHEN: &str = "Who promises, and when";
pub(crate) const BREAKS: &str = "Lines that all of them would make less safe than they are to be";
pub(crate) const NO_FUTURES_STEP: &str =
    "Make a plan first. Barkslip then tries many futures and knows which trees stay free.";
pub(crate) const MAKE_PLAN: &str = "Make a plan";
pub(crate) const ENTER: &str = "Enter it as an order without a promise";
pub(crate) const ODDS: &str = "Odds of having them all by then";
pub(crate) const LARGEST: &str = "Most that can be promised";
pub(crate) const EARLIEST: &str = "All of them from";
pub(crate) const NEVER: &str = "in no week that the plan covers";
pub(crate) const PRICE: &str = "Price";
pub(crate) const ALTERNATIVES: &str = "What else could be offered";
pub(crate) const NO_ALTERNATIVES: &str =
    "Nothing else of this variety stays free by then. Ask for a later week.";
pub(crate) const METHOD: &str = "How this is worked out";
pub(crate) const METHOD_WORDS: &str = "The enquiry is put into each stored future as one more order line, and the trees are shared out anew: \
     the odds are the share of futures in which it is complete by the end of the week. What can be promised \
     leaves every promise made before at the odds it is to have, or as it is where it lies below them, and \
     takes no tree that planned work will need. Trees of lots under a hold are not counted. Other rootstocks are \
     those whose union with the variety lasts; whether a customer's site bears them is told under Combinations. The futures are \
     drawn anew after every entry.";

pub(crate) const VARIETY: &str = "Variety";
pub(crate) const ROOTSTOCK: &str = "Rootstock";
pub(crate) const SIZE: &str = "Size";
pub(crate) const PLANTS: &str = "Plants";
pub(crate) const BY: &str = "Wanted by";
pub(crate) const BY_HINT: &str = "The week of this day counts.";
pub(crate) const AT_ODDS: &str = "Promise at odds of, percent";
pub(crate) const AT_ODDS_HINT: &str =
    "1 to 99. 90 means that nine futures of ten keep the promise.";
pub(crate) const WRONG_ODDS: &str = "Write odds from 1 to 99.";
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

/// The promise of so many.
pub(crate) fn promise_so_many(plants: u32) -> String {
    format!("Promise {}", count(u64::from(plants)))
}

/// The question with the largest number.
pub(crate) fn offer_largest(plants: u32) -> String {
    format!("Ask for {}", count(u64::from(plants)))
}

/// The second part of a split delivery.
pub(crate) fn rest(plants: u32, by: &str) -> String {
    format!("the other {} by {by}", count(u64::from(plants)))
}

/// A line that would be broken.
pub(crate) fn broken_line(order: &str, line: &str) -> String {
    format!("{order}, line {line}")
}

/// How it would be broken.
pub(crate) fn broken(odds: &str, then: &str, target: &str) -> String {
    format!(": from {odds} to {then}; it is to have {target}.")
}

/// Which futures the answer is from.
pub(crate) fn from_odds(futures: u32, day: &str, is_stale: bool) -> String {
    let rest = if is_stale {
        " Something was recorded since; they are being drawn anew."
    } else {
        ""
    };
    format!(
        "From {} futures as of {day}.{rest}",
        count(u64::from(futures))
    )
}
