//! Words of an order's page and of the forms of its lines.

use crate::figures::{amount, count, of};

pub(crate) const SHEET: &str = "Order";
pub(crate) const DISPATCH_NOTE: &str = "Dispatch note";
pub(crate) const BACK_TO_BOOK: &str = "All promises";
pub(crate) const ADD_LINE: &str = "Add a line";
pub(crate) const CANCEL_ORDER: &str = "Cancel the order";
pub(crate) const CHANGE: &str = "Change the line";
pub(crate) const PROMISE: &str = "Promise";
pub(crate) const CANCEL_LINE: &str = "Cancel the line";
pub(crate) const SHIP: &str = "Send off";
pub(crate) const ODDS: &str = "Odds when due";
pub(crate) const BY_LATEST: &str = "By the latest day";
pub(crate) const COMPLETE_IN: &str = "Complete in";
pub(crate) const DAYS: &str = "Days";
pub(crate) const PRICE: &str = "Price";
pub(crate) const PROMISED: &str = "Promised";
pub(crate) const SHIPPED: &str = "Sent off";
pub(crate) const TOLERANCE: &str = "Tolerance";
pub(crate) const SUBSTITUTES: &str = "Taken in its place";
pub(crate) const DEPOSIT: &str = "Deposit";
pub(crate) const CANCEL: &str = "Odds of being cancelled";
pub(crate) const LOAD: &str = "Least load";
pub(crate) const TARGET: &str = "Odds to aim at";
pub(crate) const GRADE: &str = "Grade";
pub(crate) const HEALTH_CLASS: &str = "Class of health";
pub(crate) const TAGGED: &str = "Tagged for it";
pub(crate) const OF_LOT: &str = "of lot";
pub(crate) const TAG: &str = "Tag plants of a lot for this line";
pub(crate) const AS_USUAL: &str = "as usual";
pub(crate) const NONE: &str = "none";
pub(crate) const NONE_FREE: &str = "all tagged for other lines";
pub(crate) const LOTS: &str = "Finished trees that stand for it";
pub(crate) const NO_LOTS: &str = "No finished trees of this kind stand today.";
pub(crate) const HELD: &str = "held: nothing of it is sent off";
pub(crate) const NONE_READY: &str = "none ready yet";
pub(crate) const IN_ITS_PLACE: &str = "in its place";
pub(crate) const JOBS: &str = "Planned work that serves it";
pub(crate) const NO_JOBS: &str = "The plan does no work for this line.";
pub(crate) const NO_PLAN: &str = "There is no plan yet, so no work is meant for this order.";
pub(crate) const EARLIER_LINES: &str = "Earlier lines";
pub(crate) const MORE_LINES: &str = "More lines";
pub(crate) const PAST: &str = "What became of it";
pub(crate) const WEEK: &str = "Week";
pub(crate) const WORK: &str = "Work";
pub(crate) const PLACE: &str = "Place";
pub(crate) const PLANTS: &str = "Plants";
pub(crate) const FOR_LINE: &str = "Trees for this line";
pub(crate) const FROM_LOTS: &str = "From lots";
pub(crate) const LOT: &str = "Lot";
pub(crate) const ROOTSTOCKS: &str = "Rootstocks";
pub(crate) const READY: &str = "Ready";
pub(crate) const GROWING: &str = "Growing";

/// The sentence that answers how an order stands.
pub(crate) fn answer(
    order: &str,
    customer: &str,
    open: usize,
    lines: usize,
    plants: u64,
) -> String {
    let of_order = format!("Order {order} for {customer}");
    if open == 0 {
        return format!("{of_order}: nothing is open.");
    }
    let still = of(plants, "tree");
    if open == lines {
        return format!("{of_order}: {still} still to be sent off.");
    }
    format!(
        "{of_order}: {still} still to be sent off, on {open} of {}.",
        of(lines as u64, "line")
    )
}

/// When an order came in.
pub(crate) fn since(day: &str) -> String {
    format!("It came in on {day}.")
}

/// From which plan the work is read.
pub(crate) fn from_plan(run: &str, day: &str) -> String {
    format!("Planned work as of {day} (run {run}).")
}

/// Planned jobs beyond those shown.
pub(crate) fn more_jobs(jobs: usize) -> String {
    format!("{} in the plan", of(jobs as u64, "more job"))
}

/// The head of a line.
pub(crate) fn line(line: &str) -> String {
    format!("Line {line}")
}

/// First, due and last day.
pub(crate) fn days(earliest: &str, due: &str, latest: &str) -> String {
    format!("due {due}, from {earliest} to {latest} at the latest")
}

/// What was ordered.
pub(crate) fn ordered(plants: u32, what: &str, size: &str) -> String {
    format!("{} {what}, {size}", count(u64::from(plants)))
}

/// A price.
pub(crate) fn price(price: &str, currency: &str, contract: bool) -> String {
    let kind = if contract {
        super::promises::CONTRACT
    } else {
        super::promises::NO_CONTRACT
    };
    format!("{price} {currency} each, {kind}")
}

/// How far a line may fall short.
pub(crate) fn tolerance(percent: f64) -> String {
    format!("{} % fewer still counts as complete", amount(percent))
}

/// Odds that a line is cancelled.
pub(crate) fn cancelled(percent: f64) -> String {
    format!("{} % before it is due", amount(percent))
}

/// Odds to aim at that somebody set.
pub(crate) fn target_by_hand(percent: f64) -> String {
    format!(
        "complete in time in {} of 100 futures, set by hand",
        amount(percent)
    )
}

/// How small a load may be.
pub(crate) fn load(plants: u32) -> String {
    format!(
        "{} or more at a time, the last rest may be fewer",
        count(u64::from(plants))
    )
}

/// Plants of a lot that are meant for other lines.
pub(crate) fn tagged_elsewhere(plants: u32) -> String {
    format!("{} tagged for other lines", count(u64::from(plants)))
}

/// The class of a lot that is not the one asked for.
pub(crate) fn of_class(class: Option<&str>) -> String {
    class.map_or_else(
        || "its class of health is not known".to_owned(),
        |it| format!("class of health {it}"),
    )
}

/// Something taken in place of a line.
pub(crate) fn substitute(variety: &str, rootstock: &str, size: &str, price: &str) -> String {
    format!("{variety} on {rootstock}, {size}, at {price} each")
}

/// Plants sent off, of those ordered.
pub(crate) fn shipped(shipped: u32, open: u32) -> String {
    if open == 0 {
        count(u64::from(shipped))
    } else {
        format!(
            "{}, {} still open",
            count(u64::from(shipped)),
            count(u64::from(open))
        )
    }
}

/// Weeks in which a line is complete.
pub(crate) fn weeks(p10: Option<&str>, p50: Option<&str>, p90: Option<&str>) -> String {
    let week = |it: Option<&str>| it.unwrap_or("later").to_owned();
    format!("{} ({} to {})", week(p50), week(p10), week(p90))
}

pub(crate) mod past {
    //! What became of a line.

    use crate::figures::count;

    pub(crate) const CANCELLED: &str = "Cancelled.";

    /// It was ordered.
    pub(crate) fn ordered(what: &str, due: &str) -> String {
        format!("Ordered: {what}, due {due}.")
    }

    /// It was changed.
    pub(crate) fn changed(parts: &[String]) -> String {
        if parts.is_empty() {
            return "Entered again as it was.".to_owned();
        }
        format!("Changed: {}.", parts.join("; "))
    }

    /// One thing that changed.
    pub(crate) fn part(what: &str, from: &str, to: &str) -> String {
        format!("{what} from {from} to {to}")
    }

    /// Plants were promised.
    pub(crate) fn promised(plants: u32, until: Option<&str>, odds: Option<&str>) -> String {
        let until = until.map_or_else(String::new, |it| format!(" by {it}"));
        let odds = odds.map_or_else(
            || ", without odds".to_owned(),
            |it| format!(", odds then {it}"),
        );
        format!("Promised {}{until}{odds}.", count(u64::from(plants)))
    }

    /// Plants are meant for it from then on; the lot's name follows.
    pub(crate) fn tagged(plants: u32) -> String {
        if plants == 0 {
            return "Tag taken off lot ".to_owned();
        }
        format!("Tagged {} of lot ", count(u64::from(plants)))
    }

    /// Plants were sent off; the lot's name follows.
    pub(crate) fn shipped(plants: u32) -> String {
        format!("Sent off {} from lot ", count(u64::from(plants)))
    }
}

pub(crate) mod line_form {
    //! The forms of an order and of its lines.

    pub(crate) const NEW_SHEET: &str = "New order";
    pub(crate) const NEW_ANSWER: &str = "What is ordered, and by whom?";
    pub(crate) const NEW_HELP: &str =
        "The order with its first line. Further lines are added on the order's page.";
    pub(crate) const LINE_SHEET: &str = "Order line";
    pub(crate) const RECORD_ORDER: &str = "Enter the order";
    pub(crate) const RECORD_LINE: &str = "Enter the line";
    pub(crate) const MORE: &str = "What the customer takes in its place";
    pub(crate) const WHO_AND_WHEN: &str = "Day and person";
    pub(crate) const HALF_SUBSTITUTE: &str =
        "Give variety, rootstock and size together, or leave all three empty.";
    pub(crate) const SAME_ROOTSTOCK: &str =
        "This rootstock stands above already. Take another, or leave it empty.";
    pub(crate) const NOT_PERCENT: &str = "Write a share from 0 to 100.";
    pub(crate) const NO_TARGET: &str = "Write odds from 1 to 99: nothing is certain.";

    pub(crate) const ORDER: &str = "Order";
    pub(crate) const ORDER_HINT: &str = "Its name or number, as the customer and you call it.";
    pub(crate) const CUSTOMER: &str = "Customer";
    pub(crate) const LINE: &str = "Line";
    pub(crate) const LINE_IS_THERE: &str =
        "The order has a line of this name. Take another name, or go back and change that line.";
    pub(crate) const VARIETY: &str = "Variety";
    pub(crate) const ROOTSTOCKS: [&str; 4] = [
        "Rootstock, first choice",
        "Rootstock, second choice",
        "Rootstock, third choice",
        "Rootstock, fourth choice",
    ];
    pub(crate) const ROOTSTOCK_HINT: &str = "What the customer likes best comes first.";
    pub(crate) const SIZE: &str = "Size";
    pub(crate) const PLANTS: &str = "Plants";
    pub(crate) const DUE: &str = "Due day";
    pub(crate) const EARLIEST: &str = "First day it may be sent";
    pub(crate) const EARLIEST_HINT: &str = "Left empty: four weeks before the due day.";
    pub(crate) const LATEST: &str = "Last day the customer takes it";
    pub(crate) const LATEST_HINT: &str = "Left empty: eight weeks after the due day.";
    pub(crate) const PRICE: &str = "Price of one tree";
    pub(crate) const CONTRACT: &str = "Under contract";
    pub(crate) const TOLERANCE: &str = "Tolerance in percent";
    pub(crate) const TOLERANCE_HINT: &str = "So much fewer still counts as complete.";
    pub(crate) const FURTHER: &str = "Deposit, load, grade and health";
    pub(crate) const DEPOSIT: &str = "Deposit";
    pub(crate) const DEPOSIT_HINT: &str = "What was paid down for the whole line.";
    pub(crate) const CANCEL: &str = "Odds of being cancelled in percent";
    pub(crate) const CANCEL_HINT: &str = "Left empty: as in the settings.";
    pub(crate) const LOAD: &str = "Least load";
    pub(crate) const LOAD_HINT: &str =
        "So many plants or more are sent off at a time; the last rest may be fewer.";
    pub(crate) const TARGET: &str = "Odds to aim at in percent";
    pub(crate) const TARGET_HINT: &str = "Odds of being complete in time, from 1 to 99. Left empty: as far as one more tree earns more than it costs.";
    pub(crate) const GRADE: &str = "Grade";
    pub(crate) const GRADE_HINT: &str = "As the table of grades names it.";
    pub(crate) const HEALTH_CLASS: &str = "Class of health";
    pub(crate) const HEALTH_CLASS_HINT: &str =
        "Only lots from mother trees of this class are sent off.";
    pub(crate) const SUBSTITUTE_VARIETY: [&str; 3] =
        ["Variety, first", "Variety, second", "Variety, third"];
    pub(crate) const ROOTSTOCK: &str = "Rootstock";
    pub(crate) const SUBSTITUTE_PRICE: &str = "Price of one";
    pub(crate) const SUBSTITUTE_PRICE_HINT: &str = "Left empty: the price of the line.";

    /// The question of the form of a line.
    pub(crate) fn question(order: &str, line: Option<&str>) -> String {
        match line {
            Some(line) => format!("What changes on line {line} of order {order}?"),
            None => format!("What comes on top of order {order}?"),
        }
    }
}

/// No lot that stands serves a line.
pub(crate) const NONE_STANDS: &str =
    "In the plan, all its trees come from plants still to be sown or bought.";

/// How many trees come from lots that stand.
pub(crate) fn from_lots(trees: &str, of: &str) -> String {
    format!("In the plan, {trees} of {of} come from lots that stand: ")
}

/// The rest of what trees come from.
pub(crate) fn from_others(lots: usize, rest: &str, has_rest: bool) -> String {
    let more = match lots {
        0 => String::new(),
        1 => " and one more".to_owned(),
        more => format!(" and {more} more"),
    };
    if has_rest {
        format!("{more}; {rest} from plants still to be sown or bought.")
    } else {
        format!("{more}.")
    }
}

pub(crate) mod risk {
    //! Words of what puts a line at risk.

    pub(crate) const MAIN: &str = "The main risk: ";
    pub(crate) const ALL: &str = "What went with it when the line was missed";
    pub(crate) const WHAT: &str = "Worse than expected";
    pub(crate) const WHEN_MISSED: &str = "Of futures that miss it";
    pub(crate) const WHEN_ON_TIME: &str = "Of futures that keep it";
    pub(crate) const METHOD: &str = "Counted in the futures up to the line's due week, over all plants that lead to it. What goes more \
         often with misses than with being on time puts the line at risk; it need not be what mends it.";

    /// A factor in words.
    pub(crate) fn factor(what: &str) -> &'static str {
        match what {
            "weather" => "A cool season: less heat than on average",
            "take" => "Take and survival: fewer plants than expected",
            "growth" => "Slow lots: growth behind the pace expected",
            "loss" => "Losses: frost, heat or a rare total loss",
            _ => "Work: crews or open weeks did not suffice",
        }
    }

    /// The main risk with its figures.
    pub(crate) fn main(what: &str, missed: &str, on_time: &str) -> String {
        let what = match what {
            "weather" => "a cool season",
            "take" => "take and survival",
            "growth" => "slow lots",
            "loss" => "losses",
            _ => "work that waits",
        };
        format!(
            "{what}. {missed} of the futures that miss the line have it, {on_time} of those that keep it."
        )
    }
}
