//! Words of the first steps.

use crate::figures::{capital, in_words};

use super::settings::nursery::KEYS;
use crate::serve::form::{Field, Kind};

/// A step.
pub(crate) struct Step {
    /// Its name in addresses.
    pub(crate) at: &'static str,
    /// Its name.
    pub(crate) name: &'static str,
    /// What it is for.
    pub(crate) why: &'static str,
    /// Whether a plan can be made without it.
    pub(crate) may_wait: bool,
    /// The files that hold it.
    pub(crate) files: &'static [&'static str],
    /// Forms that enter it one by one: address and name.
    pub(crate) forms: &'static [(&'static str, &'static str)],
}

/// The steps in their order.
pub(crate) const STEPS: [Step; 9] = [
    Step {
        at: "nursery",
        name: "Who and where",
        why: "The place on earth gives the length of the days; the currency is that of all prices.",
        may_wait: false,
        files: &["nursery.toml"],
        forms: &[],
    },
    Step {
        at: "weather",
        name: "Weather",
        why: "Heat decides when plants are ready and when bark slips. Past years of your own site show what may come.",
        may_wait: false,
        files: &["weather.csv"],
        forms: &[],
    },
    Step {
        at: "places",
        name: "Places",
        why: "Where plants can stand, and how many fit. Leave out what you do not have.",
        may_wait: false,
        files: &["places.csv"],
        forms: &[("/settings/places/row", "Add a place")],
    },
    Step {
        at: "crews",
        name: "Crew",
        why: "How many hours a week there are for budding and for all the rest.",
        may_wait: false,
        files: &["crews.csv"],
        forms: &[("/settings/crews/row", "Add a crew or a part of the year")],
    },
    Step {
        at: "lots",
        name: "What stands",
        why: "The lots that stand today, each with its kind of plant, place and count. Begin with the largest; the others can follow.",
        may_wait: true,
        files: &["lots.csv"],
        forms: &[("/do/open_lot", "Add a lot")],
    },
    Step {
        at: "budwood",
        name: "Mother trees and seed",
        why: "Without buds nothing can be budded, without seed or bought liners there is nothing to bud on.",
        may_wait: true,
        files: &["mother_trees.csv", "seed.csv"],
        forms: &[
            ("/settings/mother_trees/row", "Add a mother tree"),
            ("/do/receive_seed", "Add a batch of seed"),
        ],
    },
    Step {
        at: "prices",
        name: "Prices",
        why: "What seed, buds, liners and materials cost, and what trees sell for. Orders carry prices of their own.",
        may_wait: true,
        files: &["prices.csv"],
        forms: &[("/settings/prices/row", "Add a price")],
    },
    Step {
        at: "orders",
        name: "Orders",
        why: "What customers have asked for, how many, and by when. The plan works towards these.",
        may_wait: false,
        files: &["orders.csv", "demand.csv"],
        forms: &[
            ("/orders/new", "Add an order"),
            ("/settings/demand/row", "Add sales you expect"),
        ],
    },
    Step {
        at: "plan",
        name: "The first plan",
        why: "Barkslip works out what to sow, line out, bud and pot, week by week, and how sure each order is. It takes a minute or two.",
        may_wait: false,
        files: &[],
        forms: &[("/seasons", "Go to Seasons and make the plan")],
    },
];

/// Who and where: the keys of the nursery that are asked for first.
pub(crate) const WHO_AND_WHERE: usize = super::settings::nursery::WHO_AND_WHERE;
const _: () = assert!(KEYS.len() > WHO_AND_WHERE, "rules follow");

const fn area(key: &'static str, label: &'static str, hint: &'static str) -> Field {
    Field {
        key,
        label,
        kind: Kind::Number,
        needed: false,
        hint,
    }
}

/// Areas asked for, by kind of place.
pub(crate) const AREAS: [Field; 4] = [
    area("seedbed", "Seedbeds, m²", "Where seed comes up."),
    area(
        "rows",
        "Field rows, m²",
        "Where liners and trees stand in the ground.",
    ),
    area("house", "Houses, m²", "Pots under screen, film or glass."),
    area("yard", "Yard, m²", "Pots in the open."),
];
pub(crate) const NO_AREA: &str = "Give at least one area.";

/// What is asked of the crew.
pub(crate) const CREW: [Field; 4] = [
    Field {
        key: "budding",
        label: "Hours a week for budding, all budders together",
        kind: Kind::Number,
        needed: true,
        hint: "In the weeks in which you bud. Budders help elsewhere when there is nothing to bud.",
    },
    Field {
        key: "growing",
        label: "Hours a week for all other work",
        kind: Kind::Number,
        needed: true,
        hint: "Sowing, lining out, potting, weeding, lifting.",
    },
    Field {
        key: "wage",
        label: "Cost of an hour",
        kind: Kind::Money,
        needed: true,
        hint: "The same for all; you can tell crews apart later.",
    },
    Field {
        key: "hired",
        label: "Hours a week that can be hired on top",
        kind: Kind::Number,
        needed: false,
        hint: "Left empty: none.",
    },
];

pub(crate) const SHEET: &str = "First steps";
pub(crate) const NO_STEP: &str = "There is no such step";
pub(crate) const NO_STEP_MEND: &str = "Take one of the steps of the First steps page.";
pub(crate) const DONE: &str = "Done";
pub(crate) const NEXT: &str = "Next";
pub(crate) const MAY_WAIT: &str = "May wait";
pub(crate) const TO_DO: &str = "Still to do";
pub(crate) const DO_IT: &str = "Do this step";
pub(crate) const LOOK: &str = "Look at it or add to it";
pub(crate) const ALL_STEPS: &str = "All steps";
pub(crate) const NEXT_STEP: &str = "Next step";
pub(crate) const ONE_BY_ONE: &str = "One by one";
pub(crate) const FROM_FILE: &str = "Or many at once, from a file";
pub(crate) const FILE_HELP: &str = "Take the table with its example, write yours in its place, and send it back under the same name.";
pub(crate) const IN_SETTINGS: &str = "You can change all of this later under Settings.";
pub(crate) const UNPRICED: &str = "These materials have no price yet, so a plan takes them as free";
pub(crate) const SAVE_AND_ON: &str = "Save";
pub(crate) const HAS_PLAN: &str = "a plan was made";

/// The answer of the first page.
pub(crate) fn answer(done: usize, next: Option<&str>) -> String {
    match (done, next) {
        (0, _) => "Welcome: nine short steps lead from nothing to your first plan.".to_owned(),
        (_, None) => "All that a plan needs is there, and a plan was made.".to_owned(),
        (1, Some(next)) => format!("One of nine steps is done; next: {next}."),
        (done, Some(next)) => {
            let done = capital(&in_words(done));
            format!("{done} of nine steps are done; next: {next}.")
        }
    }
}

/// What is known of a step.
pub(crate) fn counted(count: usize, what: &str) -> String {
    if count == 1 {
        format!("1 {what}")
    } else {
        format!("{count} {what}s")
    }
}

/// The weather known.
pub(crate) fn days(first: &str, last: &str) -> String {
    format!("days from {first} to {last}")
}
