//! What can be recorded: each act with its name, what it means, and what it asks for.

use app::ledger::Choices;

use crate::serve::form::{Field, Kind};

/// An act that can be entered.
#[derive(Debug)]
pub(crate) struct DeedForm {
    /// Its word in acts.
    pub(crate) act: &'static str,
    /// Its name on pages.
    pub(crate) name: &'static str,
    /// What it means.
    pub(crate) meaning: &'static str,
    /// What it asks for.
    pub(crate) fields: &'static [Field],
}

const fn must(key: &'static str, label: &'static str, kind: Kind, hint: &'static str) -> Field {
    Field {
        key,
        label,
        kind,
        needed: true,
        hint,
    }
}

const fn may(key: &'static str, label: &'static str, kind: Kind, hint: &'static str) -> Field {
    Field {
        key,
        label,
        kind,
        needed: false,
        hint,
    }
}

/// What is asked of budsticks of a cut.
const OF_A_CUT: &[Field] = &[
    must("cut", "Cut", Kind::OneOrNew(Choices::Cuts), ""),
    must("sticks", "Budsticks", Kind::Whole, ""),
    must("buds", "Buds", Kind::Whole, ""),
];

/// What is asked of work on a lot.
const WORK: &[Field] = &[
    must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
    may("plants", "Plants", Kind::Whole, "Left empty: all."),
    may("hours", "Hours", Kind::Number, ""),
];

/// What is asked of a ruling on a tree or lot.
const RULING: &[Field] = &[
    may(
        "mother_tree",
        "Mother tree",
        Kind::OneOrNew(Choices::MotherTrees),
        "",
    ),
    may("lot", "Or lot", Kind::OneOrNew(Choices::Lots), ""),
    must("reason", "Reason", Kind::Text, ""),
];

/// All acts that have a form.
pub(crate) const DEEDS: &[DeedForm] = &[
    DeedForm {
        act: "count",
        name: "Count",
        meaning: "What stands in the lot now. The difference to the books becomes a loss or a find.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants that stand", Kind::Whole, ""),
            may(
                "ready",
                "Of these ready",
                Kind::Whole,
                "Left empty: as many as before.",
            ),
        ],
    },
    DeedForm {
        act: "lose",
        name: "Losses",
        meaning: "Plants that are gone, and why.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants lost", Kind::Whole, ""),
            must("reason", "Reason", Kind::One(Choices::Reasons), ""),
            may("note", "Note", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "rogue",
        name: "Rogue",
        meaning: "Off-types taken out.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants taken out", Kind::Whole, ""),
        ],
    },
    DeedForm {
        act: "line_out",
        name: "Line out",
        meaning: "Seedlings go to the rows and become liners.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants", Kind::Whole, ""),
            must("place", "Place", Kind::One(Choices::Places), ""),
            may("new_lot", "Name of the new lot", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "pot_up",
        name: "Pot up",
        meaning: "Plants go into pots: seedlings become liners, forced trees become finished ones of the size.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants", Kind::Whole, ""),
            must("place", "Place", Kind::One(Choices::Places), ""),
            may(
                "size",
                "Size of the pot",
                Kind::One(Choices::Sizes),
                "For trees only.",
            ),
            may("new_lot", "Name of the new lot", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "lift",
        name: "Lift",
        meaning: "Plants come out of the row.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants", Kind::Whole, ""),
            must("place", "Place", Kind::One(Choices::Places), ""),
            may("size", "Size", Kind::One(Choices::Sizes), "For trees only."),
            may("new_lot", "Name of the new lot", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "move",
        name: "Move",
        meaning: "The plants stand elsewhere from now on.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants", Kind::Whole, ""),
            must("place", "Place", Kind::One(Choices::Places), ""),
            may(
                "new_lot",
                "Name of the new lot",
                Kind::Text,
                "Where only a part moves.",
            ),
        ],
    },
    DeedForm {
        act: "bud",
        name: "Bud",
        meaning: "Buds set on these stocks. They become a lot of their own, to be unwrapped.",
        fields: &[
            must("lot", "Lot of stocks", Kind::OneOrNew(Choices::Lots), ""),
            must("variety", "Variety", Kind::One(Choices::Varieties), ""),
            must("plants", "Plants budded", Kind::Whole, ""),
            must(
                "source",
                "Buds from",
                Kind::OneOrNew(Choices::BudSources),
                "A cut, a mother tree or a lot.",
            ),
            may("buds", "Buds used", Kind::Whole, "Left empty: one a plant."),
            must("method", "How", Kind::One(Choices::Methods), ""),
            may("budder", "Budder", Kind::OneOrNew(Choices::People), ""),
            may("new_lot", "Name of the new lot", Kind::Text, ""),
            may(
                "override",
                "Reason, where the pair is not compatible",
                Kind::Text,
                "",
            ),
        ],
    },
    DeedForm {
        act: "unwrap",
        name: "Unwrap and count the take",
        meaning: "All plants of the lot: taken, missed and dead are together what stands.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("taken", "Buds taken", Kind::Whole, ""),
            must("missed", "Missed, stock sound", Kind::Whole, ""),
            must("dead", "Dead", Kind::Whole, ""),
        ],
    },
    DeedForm {
        act: "force",
        name: "Force",
        meaning: "The stock is cut or bent so that the bud grows out.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            may("plants", "Plants", Kind::Whole, "Left empty: all."),
            may("hours", "Hours", Kind::Number, ""),
            may(
                "new_lot",
                "Name of the new lot",
                Kind::Text,
                "Where only a part is forced.",
            ),
        ],
    },
    DeedForm {
        act: "stake",
        name: "Stake",
        meaning: "Trees were staked.",
        fields: WORK,
    },
    DeedForm {
        act: "sucker",
        name: "Take suckers off",
        meaning: "Suckers were taken off.",
        fields: WORK,
    },
    DeedForm {
        act: "head",
        name: "Head",
        meaning: "Trees were headed.",
        fields: WORK,
    },
    DeedForm {
        act: "grade",
        name: "Grade",
        meaning: "One pass over the lot: saleable, held back, thrown out.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("saleable", "Saleable", Kind::Whole, ""),
            must("held_back", "Held back to grow on", Kind::Whole, ""),
            must("culled", "Thrown out", Kind::Whole, ""),
            may(
                "size",
                "Size of the saleable ones",
                Kind::One(Choices::Sizes),
                "",
            ),
            may(
                "new_lots.saleable",
                "Name of the lot of saleable ones",
                Kind::Text,
                "",
            ),
            may(
                "new_lots.held_back",
                "Name of the lot held back",
                Kind::Text,
                "",
            ),
        ],
    },
    DeedForm {
        act: "split",
        name: "Split",
        meaning: "A part becomes a lot of its own; where it came from is kept.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants of the part", Kind::Whole, ""),
            must("new_lot", "Name of the part", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "merge",
        name: "Merge",
        meaning: "Lots of the same plants at the same place become one.",
        fields: &[
            must(
                "lots",
                "Lots",
                Kind::Names,
                "Their names with commas between.",
            ),
            must("new_lot", "Name of the whole", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "ship",
        name: "Send off",
        meaning: "Plants leave for an order line.",
        fields: &[
            must("order", "Order", Kind::OneOrNew(Choices::Orders), ""),
            must("line", "Line", Kind::Text, ""),
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("plants", "Plants", Kind::Whole, ""),
            may(
                "override",
                "Reason, where the lot lacks the health class or the load is too small",
                Kind::Text,
                "",
            ),
        ],
    },
    DeedForm {
        act: "tag",
        name: "Tag plants of a lot for this line",
        meaning: "So many plants of the lot are meant for the line. They are sent off for no other line.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            must("order", "Order", Kind::OneOrNew(Choices::Orders), ""),
            must("line", "Line", Kind::Text, ""),
            must(
                "plants",
                "Plants meant for it",
                Kind::Whole,
                "All that are still to be sent off of this lot. 0 takes the tag off.",
            ),
        ],
    },
    DeedForm {
        act: "measure",
        name: "Measure a sample",
        meaning: "Look at some plants of the lot, taken from all over it. Say how many are fit for the next step, or write their calipers.",
        fields: &[
            must("lot", "Lot", Kind::OneOrNew(Choices::Lots), ""),
            may(
                "looked_at",
                "Plants looked at",
                Kind::Whole,
                "Left empty: as many as calipers.",
            ),
            may("fit", "Of these fit", Kind::Whole, ""),
            may(
                "calipers_mm",
                "Or their calipers, mm",
                Kind::Numbers,
                "With spaces between, as 8.5 9.2 10.",
            ),
            may(
                "fit_from_mm",
                "Fit from a caliper of, mm",
                Kind::Number,
                "Goes together with calipers.",
            ),
        ],
    },
    DeedForm {
        act: "promise",
        name: "Promise",
        meaning: "You promise the plants; the odds of the last futures are kept with it.",
        fields: &[
            must("order", "Order", Kind::OneOrNew(Choices::Orders), ""),
            must("line", "Line", Kind::Text, ""),
            must("plants", "Plants", Kind::Whole, ""),
            may("until", "By when", Kind::Day, ""),
        ],
    },
    DeedForm {
        act: "receive_seed",
        name: "Seed came in",
        meaning: "A batch of seed.",
        fields: &[
            must("rootstock", "Rootstock", Kind::One(Choices::Rootstocks), ""),
            must("seeds", "Seeds", Kind::Whole, ""),
            must("batch", "Name of the batch", Kind::Text, ""),
            may(
                "germination_percent",
                "Comes up, %",
                Kind::Number,
                "Where tested.",
            ),
            may("source", "From", Kind::Text, ""),
            may("available", "Can be sown from", Kind::Day, ""),
            may("use_by", "Sow by", Kind::Day, ""),
        ],
    },
    DeedForm {
        act: "sow",
        name: "Sow",
        meaning: "Seed goes into the ground and becomes a lot of seedlings.",
        fields: &[
            must("rootstock", "Rootstock", Kind::One(Choices::Rootstocks), ""),
            must("seeds", "Seeds", Kind::Whole, ""),
            may("batch", "Seed batch", Kind::OneOrNew(Choices::Batches), ""),
            must("place", "Place", Kind::One(Choices::Places), ""),
            may("lot", "Name of the new lot", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "buy_in",
        name: "Buy in",
        meaning: "Plants bought from elsewhere.",
        fields: &[
            must("stage", "Kind of plant", Kind::One(Choices::Stages), ""),
            must("rootstock", "Rootstock", Kind::One(Choices::Rootstocks), ""),
            may(
                "variety",
                "Variety",
                Kind::OneOrNew(Choices::AllVarieties),
                "Of budded trees.",
            ),
            may(
                "size",
                "Size",
                Kind::One(Choices::Sizes),
                "Of finished trees.",
            ),
            must("plants", "Plants", Kind::Whole, ""),
            must("place", "Place", Kind::One(Choices::Places), ""),
            must("source", "Seller", Kind::Text, ""),
            may("cost", "Cost of all", Kind::Money, ""),
            may("lot", "Name of the new lot", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "open_lot",
        name: "A lot that stands already",
        meaning: "For what stood before Barkslip was used here.",
        fields: &[
            must("lot", "Name of the lot", Kind::Text, ""),
            must("stage", "Kind of plant", Kind::One(Choices::Stages), ""),
            must("rootstock", "Rootstock", Kind::One(Choices::Rootstocks), ""),
            may(
                "variety",
                "Variety",
                Kind::OneOrNew(Choices::AllVarieties),
                "Once budded.",
            ),
            may(
                "size",
                "Size",
                Kind::One(Choices::Sizes),
                "Of finished trees.",
            ),
            must("place", "Place", Kind::One(Choices::Places), ""),
            must("growing", "Plants not ready yet", Kind::Whole, ""),
            must("ready", "Plants ready", Kind::Whole, ""),
            must("entered", "In this stage since", Kind::Day, ""),
            may("budded_on", "Budded on", Kind::Day, ""),
            may(
                "source",
                "Mother tree, seed batch or seller",
                Kind::Text,
                "",
            ),
        ],
    },
    DeedForm {
        act: "cut_sticks",
        name: "Cut budsticks",
        meaning: "From a mother tree with a valid test. Clean your blade between trees: exocortis travels on it.",
        fields: &[
            must(
                "mother_tree",
                "Mother tree",
                Kind::OneOrNew(Choices::MotherTrees),
                "",
            ),
            must("cut", "Name of the cut", Kind::Text, ""),
            must("sticks", "Budsticks", Kind::Whole, ""),
            must("buds", "Buds on them", Kind::Whole, ""),
        ],
    },
    DeedForm {
        act: "store_sticks",
        name: "Store budsticks",
        meaning: "Budsticks go into the cold.",
        fields: OF_A_CUT,
    },
    DeedForm {
        act: "discard_sticks",
        name: "Throw budsticks out",
        meaning: "They can no longer be used.",
        fields: OF_A_CUT,
    },
    DeedForm {
        act: "sample",
        name: "Sample for a test",
        meaning: "A sample of a mother tree or of a lot.",
        fields: &[
            may(
                "mother_tree",
                "Mother tree",
                Kind::OneOrNew(Choices::MotherTrees),
                "",
            ),
            may("lot", "Or lot", Kind::OneOrNew(Choices::Lots), ""),
            must("tests", "Tested for", Kind::Names, "With commas between."),
            may("laboratory", "Laboratory", Kind::Text, ""),
            may("sample", "Name of the sample", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "result",
        name: "Result of a test",
        meaning: "A find holds the tree or lot and everything that came of it.",
        fields: &[
            must("sample", "Sample", Kind::OneOrNew(Choices::Samples), ""),
            must("test", "Tested for", Kind::Text, ""),
            may("found", "It was found", Kind::Flag, ""),
        ],
    },
    DeedForm {
        act: "hold",
        name: "Hold",
        meaning: "Nothing of it, nor of what came of it, leaves until it is released.",
        fields: RULING,
    },
    DeedForm {
        act: "release",
        name: "Release",
        meaning: "It may leave again. Plant-health authorities decide where they ordered the hold.",
        fields: RULING,
    },
    DeedForm {
        act: "destroy",
        name: "Destroy",
        meaning: "All plants are gone; nothing is cut from the tree any more.",
        fields: RULING,
    },
    DeedForm {
        act: "spray",
        name: "Spray a place",
        meaning: "What was put on, and until when nobody goes in. The product's label is the law: it says how long.",
        fields: &[
            must("place", "Place", Kind::One(Choices::Places), ""),
            must("product", "Product, as on its label", Kind::Text, ""),
            may(
                "closed_until",
                "Closed until the end of",
                Kind::Day,
                "Left empty where the label does not close the place beyond the day.",
            ),
            may("note", "Note", Kind::Text, ""),
        ],
    },
    DeedForm {
        act: "hours",
        name: "Hours worked",
        meaning: "Hours of a person or a crew.",
        fields: &[
            may("person", "Person", Kind::OneOrNew(Choices::People), ""),
            may("crew", "Or crew", Kind::One(Choices::Crews), ""),
            must("job", "At what", Kind::Text, ""),
            must("hours", "Hours", Kind::Number, ""),
        ],
    },
    DeedForm {
        act: "note",
        name: "Note",
        meaning: "Anything worth remembering.",
        fields: &[
            may("about", "About", Kind::Text, "A lot, a job, an order."),
            must("text", "Note", Kind::Long, ""),
        ],
    },
    DeedForm {
        act: "cancel_order",
        name: "Cancel an order",
        meaning: "The whole order, or the lines you name.",
        fields: &[
            must("order", "Order", Kind::OneOrNew(Choices::Orders), ""),
            may(
                "lines",
                "Lines",
                Kind::Names,
                "With commas between; left empty: all.",
            ),
        ],
    },
    DeedForm {
        act: "accept_plan",
        name: "Accept a plan",
        meaning: "The week's work comes from it from now on.",
        fields: &[must("run", "Plan", Kind::Kept, "")],
    },
];

/// The form of an act.
pub(crate) fn deed(act: &str) -> Option<&'static DeedForm> {
    DEEDS.iter().find(|it| it.act == act)
}

pub(crate) const DAY: &str = "On";
pub(crate) const PERSON: &str = "By";
pub(crate) const MORE: &str = "Day and name";
pub(crate) const REASON: &str = "Why it is corrected";
pub(crate) const CORRECT_SHEET: &str = "Correct an entry";
pub(crate) const CORRECT: &str = "Correct";
pub(crate) const CORRECT_HELP: &str =
    "The entry stays in the book beside its correction; what it changed is decided anew.";
pub(crate) const NOTHING_DIFFERS: &str = "nothing differs from what was entered";
pub(crate) const NOTHING_DIFFERS_MEND: &str =
    "Change what was wrong, or go back and undo the entry.";
pub(crate) const UNKNOWN_ACT: &str = "There is nothing of that kind to record";
pub(crate) const UNKNOWN_ACT_MEND: &str = "Go to a lot's page and choose there what was done.";
pub(crate) const NOT_CORRECTABLE: &str = "This entry has no form of its own";
pub(crate) const NOT_CORRECTABLE_MEND: &str = "Undo it and enter it anew.";
pub(crate) const NO_ENTRY: &str = "There is no such entry";
pub(crate) const NO_ENTRY_MEND: &str = "Look it up in the book.";

/// The question over an act's form.
pub(crate) fn question(name: &str, lot: Option<&str>) -> String {
    lot.map_or_else(|| name.to_owned(), |lot| format!("{name}: lot {lot}"))
}
