//! Words of the page from which papers and labels are printed. What stands on the papers themselves is in
//! `app::papers`, in each of its languages.

pub(crate) const SHEET: &str = "Papers";
pub(crate) const ANSWER: &str = "What goes to the beds, and what goes with the trees?";
pub(crate) const WEEK_SAYS: &str = "Jobs in the order of the walk, with boxes to write counts in.";
pub(crate) const BEDS_SAYS: &str = "What stands on each place, with a picture to scale by area.";
pub(crate) const BUDDING_SAYS: &str =
    "What to bud in which row, and how many sticks to cut from which mother tree.";
pub(crate) const DISPATCH_SAYS: &str =
    "An order's lots and mother trees, the holds that were checked, and the permits you type.";
pub(crate) const AVAILABILITY_SAYS: &str =
    "What customers can have now and by month, at odds that you choose.";
pub(crate) const LABELS_SAYS: &str = "A code that opens the lot's page on a phone, and what people read. For sheets of any grid, \
     rolls, row stakes and bundle tags.";

pub(crate) const SHOW: &str = "Show";
pub(crate) const PDF: &str = "PDF to print";
pub(crate) const ALL_PAPERS: &str = "All papers";

pub(crate) const CREW: &str = "Crew";
pub(crate) const ALL_WORK: &str = "All work";
pub(crate) const WEEK: &str = "Week";
pub(crate) const PLACE: &str = "Place";
pub(crate) const ALL_PLACES: &str = "All places";
pub(crate) const NO_PLACE: &str = "No place";
pub(crate) const ORDER: &str = "Order";
pub(crate) const PERMITS: &str = "Permits and passports, one a line";
pub(crate) const ODDS: &str = "Odds, %";
pub(crate) const MONTHS: &str = "Months ahead";
pub(crate) const SIZE: &str = "Paper";
pub(crate) const LANGUAGE: &str = "Language";
pub(crate) const LANGUAGES: [(&str, &str); 2] = [("en", "English"), ("es", "Español")];

pub(crate) const LOTS: &str = "Lots, one a line";
pub(crate) const COPIES: &str = "Labels of each lot";
pub(crate) const BASE: &str = "Address that phones open";
pub(crate) const BASE_HELP: &str = "How phones reach this program, as https://192.168.1.20:8443. The code on the label leads there.";
pub(crate) const KIND: &str = "Made into";
pub(crate) const KINDS: [(&str, &str); 3] = [
    ("plain", "Labels"),
    ("stake", "Row stakes, printed twice to fold"),
    ("tag", "Bundle tags with a hole"),
];
pub(crate) const STOCK: &str = "Printed on";
pub(crate) const STOCKS: [(&str, &str); 4] = [
    ("a4", "A4 sheet, 3 by 8"),
    ("letter", "Letter sheet, 3 by 10"),
    ("roll", "Roll, 57 by 32 mm"),
    ("own", "Own sizes below"),
];
pub(crate) const OWN_SIZES: &str = "Own sizes, in millimeters";
pub(crate) const PAGE_WIDTH: &str = "Sheet, width";
pub(crate) const PAGE_HEIGHT: &str = "Sheet, height";
pub(crate) const LABEL_WIDTH: &str = "Label, width";
pub(crate) const LABEL_HEIGHT: &str = "Label, height";
pub(crate) const COLUMNS: &str = "Labels across";
pub(crate) const ROWS: &str = "Labels down";
pub(crate) const LEFT: &str = "Left margin";
pub(crate) const TOP: &str = "Top margin";
pub(crate) const GAP_ACROSS: &str = "Gap across";
pub(crate) const GAP_DOWN: &str = "Gap down";
pub(crate) const OWN_HELP: &str = "Leave out the sheet for a roll: each label is a page then.";
pub(crate) const FIRST: &str = "First free place";
pub(crate) const CUT_LINES: &str = "Lines to cut along";
pub(crate) const SCALE: &str =
    "Print the PDF at 100 %, not “fit to page”, so that labels meet their places.";
pub(crate) const LEADS_NOWHERE: &str = "The codes lead to this machine itself: no phone can open them. Type the address that phones open      before you print.";
pub(crate) const FIRST_LABELS: &str = "The first labels, as they lie on their sheet";

/// What a page leaves out that the PDF has.
pub(crate) fn only_place(place: &str, places: usize) -> String {
    format!("This page shows {place}, one of {places} places. The PDF has all of them.")
}

/// How many labels on how many sheets.
pub(crate) fn labels(labels: usize, sheets: usize) -> String {
    use crate::figures::of;
    format!(
        "{} on {}.",
        of(labels as u64, "label"),
        of(sheets as u64, "sheet")
    )
}

/// A number that is none.
pub(crate) fn no_number(what: &str, value: &str) -> String {
    format!("{what}: “{value}” is no number")
}
pub(crate) const NO_NUMBER_MEND: &str = "Write a number, as 64 or 33.9.";
pub(crate) const NO_WEEK_MEND: &str = "Write an ISO week, as 2027-W10, or leave it out.";

/// A week that is none.
pub(crate) fn no_week(value: &str) -> String {
    format!("“{value}” is no week")
}

/// A choice that there is not.
pub(crate) fn no_choice(what: &str, value: &str) -> String {
    format!("{what}: there is no “{value}”")
}
pub(crate) const NO_CHOICE_MEND: &str = "Take one of those on the page Papers.";
