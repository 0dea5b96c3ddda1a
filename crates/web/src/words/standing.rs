//! Words of Standing and of a lot's page.

use crate::figures::{count, of};

pub(crate) const SHEET: &str = "Standing";
pub(crate) const HELD: &str = "Held";
pub(crate) const HELD_WHY: &str = "Nothing of a held lot leaves, and no buds are taken of it.";
pub(crate) const OVER_AGE: &str = "Soon over age";
pub(crate) const OVER_AGE_WHY: &str =
    "Their ready plants have waited as long as they should: use them, sell them or pot them up.";
pub(crate) const PICTURE: &str = "Plants by kind";
pub(crate) const READY: &str = "ready";
pub(crate) const GROWING: &str = "growing";
pub(crate) const STAGE: &str = "Kind of plant";
pub(crate) const PLACE: &str = "Place";
pub(crate) const VARIETY: &str = "Variety";
pub(crate) const ROOTSTOCK: &str = "Rootstock";
pub(crate) const NAME: &str = "Lot or part of its name";
pub(crate) const BY: &str = "Listed by";
pub(crate) const BY_LOT: &str = "lot";
pub(crate) const BY_COMBINATION: &str = "combination";
pub(crate) const BY_PLACE: &str = "place";
pub(crate) const ALL: &str = "all";
pub(crate) const SHOW: &str = "Show";
pub(crate) const NEXT: &str = "Next lots";
pub(crate) const OPEN: &str = "Enter a lot that stands already";
pub(crate) const TO_PRINT: &str = "Bed map, labels and lists to print";
pub(crate) const BUY: &str = "Plants bought in";
pub(crate) const SOW: &str = "Sowing";
pub(crate) const EMPTY: &str = "Nothing stands yet.";
pub(crate) const EMPTY_MEND: &str =
    "Enter the lots that stand, one by one, or take in lots.csv from Settings.";
pub(crate) const NONE: &str = "No lot is like that.";
pub(crate) const METHOD: [&str; 2] = [
    "When a lot is ready follows from its heat since it entered its stage, laid along the site's own past years; a tenth of its plants are ready by the first week, half by the middle one, nine tenths by the last.",
    "The heat and spread of each step are those of the routes in use; their sources are under Settings.",
];
pub(crate) const LOT_HEADS: [(&str, bool); 7] = [
    ("Lot", false),
    ("What", false),
    ("Place", false),
    ("Ready now", true),
    ("Growing", true),
    ("Ready in", false),
    ("Over age from", false),
];
pub(crate) const GROUP_HEADS: [(&str, bool); 5] = [
    ("", false),
    ("Lots", true),
    ("Ready now", true),
    ("Growing", true),
    ("Growing ones ready in", false),
];
pub(crate) const CSV_HEADS: [&str; 15] = [
    "lot",
    "stage",
    "rootstock",
    "variety",
    "size",
    "place",
    "growing",
    "ready",
    "entered",
    "ready_p10",
    "ready_p50",
    "ready_p90",
    "over_age_week",
    "degree_days",
    "held",
];

/// The sentence over what stands.
pub(crate) fn answer(plants: u64, lots: usize, ready: u64, held: usize) -> String {
    let mut answer = format!(
        "{} stand in {}; {} are ready for the next step or for sale",
        of(plants, "plant"),
        of(lots as u64, "lot"),
        count(ready)
    );
    if held > 0 {
        answer.push_str(", ");
        answer.push_str(&of(held as u64, "lot"));
        answer.push_str(" held");
    }
    answer.push('.');
    answer
}

pub(crate) mod lot {
    //! A lot's page.

    use crate::figures::{amount, count, of};

    pub(crate) const SHEET: &str = "Lot";
    pub(crate) const LABEL: &str = "Label of this lot";
    pub(crate) const WHAT_WAS_DONE: &str = "What was done?";
    pub(crate) const FACTS: &str = "How it stands";
    pub(crate) const KIND: &str = "Kind of plant";
    pub(crate) const PLACE: &str = "Place";
    pub(crate) const READY: &str = "Ready";
    pub(crate) const GROWING: &str = "Growing";
    pub(crate) const ENTERED: &str = "In this stage since";
    pub(crate) const BUDDED: &str = "Budded on";
    pub(crate) const HEAT: &str = "Heat in this stage";
    pub(crate) const EXPECTED: &str = "Growing ones ready in";
    pub(crate) const OVER_AGE: &str = "Ready ones over age from";
    pub(crate) const HEALTH_CLASS: &str = "Class of health";
    pub(crate) const LOOKS: &str = "Samples";
    pub(crate) const TAGS: &str = "Tagged for orders";
    pub(crate) const PICTURE: &str = "Plants over time";
    pub(crate) const LIFE: &str = "Its life";
    pub(crate) const FROM: &str = "What it came from";
    pub(crate) const INTO: &str = "What came of it";
    pub(crate) const SENT: &str = "What was sent off of it";
    pub(crate) const TRACE: &str = "Its whole lineage";
    pub(crate) const HELD: &str = "It is held";
    pub(crate) const UNDO: &str = "Undo";
    pub(crate) const CORRECT: &str = "Correct";
    pub(crate) const NEVER: &str = "never happened";
    pub(crate) const LIFE_HEADS: [(&str, bool); 5] = [
        ("On", false),
        ("What", false),
        ("Plants", true),
        ("By", false),
        ("", false),
    ];
    pub(crate) const CSV_HEADS: [&str; 8] = [
        "number",
        "on",
        "recorded_at",
        "by",
        "act",
        "words",
        "before",
        "after",
    ];

    /// The sentence over a lot.
    pub(crate) fn answer(name: &str, what: &str, place: &str, ready: u32, plants: u32) -> String {
        let ready = match ready {
            0 => "none of them ready".to_owned(),
            all if all == plants => "all ready".to_owned(),
            some => format!("{} of them ready", count(u64::from(some))),
        };
        format!(
            "Lot {name}: {} {what} stand at {place}, {ready}.",
            count(u64::from(plants))
        )
    }

    /// A lot of which nothing stands.
    pub(crate) fn gone(name: &str, what: &str) -> String {
        format!("Lot {name}: nothing of its {what} stands any more.")
    }

    /// Heat so far of what is needed.
    pub(crate) fn heat(so_far: u32, needed: u32) -> String {
        format!(
            "{} of about {} degree-days",
            count(u64::from(so_far)),
            count(u64::from(needed))
        )
    }

    /// How an act was corrected.
    pub(crate) fn corrected(by: &str, on: &str, reason: &str, was: &str) -> String {
        format!("Corrected by {by} on {on}: {reason}. It was entered as: {was}")
    }

    /// An order line that got plants.
    pub(crate) fn sent(plants: u32, order: &str, line: &str, customer: &str) -> String {
        format!(
            "{} for {customer}, {order} line {line}",
            of(u64::from(plants), "plant")
        )
    }

    /// What a sample showed.
    pub(crate) fn look(
        day: &str,
        looked_at: u32,
        fit: Option<u32>,
        caliper_mm: Option<f64>,
    ) -> String {
        let fit = fit.map_or_else(String::new, |it| format!(", {} fit", count(u64::from(it))));
        let caliper = caliper_mm.map_or_else(String::new, |it| {
            format!(", caliper {} mm on average", amount(it))
        });
        format!(
            "{day}: {} looked at{fit}{caliper}",
            count(u64::from(looked_at))
        )
    }

    /// What a next of kin gave.
    pub(crate) fn gave(gave: &str) -> String {
        format!("{gave} of")
    }

    /// What a course of plants shows.
    pub(crate) fn course(lot: &str, from: &str, until: &str, most: u32) -> String {
        format!(
            "Plants of lot {lot} from {from} to {until}, at most {}; the lower part is ready.",
            count(u64::from(most))
        )
    }

    /// A hold.
    pub(crate) fn hold(of: &str, since: &str, reason: &str) -> String {
        format!("since {since}, by the hold on {of}: {reason}")
    }
}

pub(crate) mod odd {
    //! Words of a count or a sample that hardly goes with what was expected of its lot.

    use app::answers::SurpriseAnswer;

    use crate::figures::amount;

    pub(crate) const HEAD: &str = "Counts that do not fit";
    pub(crate) const HELP: &str = "Count again. If the count is right, the lot is another than it seemed: the odds already follow it.";

    /// What was found, and what was expected.
    pub(crate) fn found(it: &SurpriseAnswer) -> String {
        let day = app::date_words(it.on);
        let (low, high) = (amount(it.expected_low), amount(it.expected_high));
        let found = amount(it.found);
        match it.of.as_str() {
            "caliper" => format!(
                ", {day}: the middle of {} calipers is {found} mm; {low} to {high} mm were expected.",
                it.plants
            ),
            "ready" => format!(
                ", {day}: {found} of {} plants were ready; {low} to {high} were expected.",
                it.plants
            ),
            _ => format!(
                ", {day}: {found} of {} plants lived; {low} to {high} were expected.",
                it.plants
            ),
        }
    }
}
