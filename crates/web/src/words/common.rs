//! Words that every page has.

/// The pages: address, name, and the question each answers.
pub(crate) const PAGES: [(&str, &str, &str); 10] = [
    (
        "/week",
        "This week",
        "What must be done, why now, and by whom?",
    ),
    (
        "/standing",
        "Standing",
        "What stands where, and when is it ready?",
    ),
    (
        "/promises",
        "Promises",
        "Which order lines are safe, and can I promise this?",
    ),
    (
        "/seasons",
        "Seasons",
        "What to sow, line out, bud and pot, week by week?",
    ),
    (
        "/sky",
        "Sky",
        "How warm has it been, when does bark slip, what is to be watered, and will it freeze?",
    ),
    (
        "/lineage",
        "Lineage",
        "Where did it come from, and what came of it?",
    ),
    (
        "/combinations",
        "Combinations",
        "Which rootstock for this variety and site?",
    ),
    (
        "/settings",
        "Settings",
        "What does Barkslip know of this nursery?",
    ),
    (
        "/papers",
        "Papers",
        "What goes to the beds, and what goes with the trees?",
    ),
    ("/book", "Book", "What was recorded, by whom and when?"),
];

/// Stands where a nursery's name may not.
pub(crate) const PROGRAM: &str = "Barkslip";
pub(crate) const UNNAMED_NURSERY: &str = "Your nursery";
pub(crate) const SKIP: &str = "Skip to the page";
pub(crate) const PAGES_LABEL: &str = "Pages";
pub(crate) const PARTS_LABEL: &str = "Beside this page";
pub(crate) const NO_NAME: &str = "Tell us who you are";
pub(crate) const TABLE_FILE: &str = "This table as a file:";
/// The table with commas between its cells.
pub(crate) const TABLE_CSV: &str = "CSV";
/// The table as a spreadsheet's workbook.
pub(crate) const TABLE_WORKBOOK: &str = "XLSX";
pub(crate) const LATEST: &str = "Back to today";
pub(crate) const RECORDED: &str = "Recorded.";
pub(crate) const UNDO: &str = "Undo";
pub(crate) const UNDO_REASON: &str = "undone right after it was recorded";
pub(crate) const RECORD: &str = "Record";
pub(crate) const SAVE: &str = "Save";
pub(crate) const BACK: &str = "Back";
pub(crate) const WHAT_HELPS: &str = "What to do: ";
pub(crate) const NOT_DONE: &str = "This was not recorded";
pub(crate) const METHOD: &str = "How this was worked out";

/// The day a page looks at.
pub(crate) fn as_of(day: &str) -> String {
    format!("as of {day}")
}

/// Who writes.
pub(crate) fn you_are(name: &str) -> String {
    format!("You are {name}")
}

pub(crate) mod failures {
    //! What a page says when it cannot be shown.

    pub(crate) const NO_SUCH_PAGE: &str = "There is no such page";
    pub(crate) const NO_SUCH_PAGE_MEND: &str = "Check the address, or take one of the pages above.";
    pub(crate) const NO_DAY: &str = "The day in the address cannot be read";
    pub(crate) const NO_DAY_MEND: &str = "Write it as in as_of=2027-03-01, or leave it out.";
    pub(crate) const WRONG_METHOD: &str = "This address cannot be used that way";
    pub(crate) const WRONG_METHOD_MEND: &str = "Open the page and use its own buttons.";
    pub(crate) const STRANGE_HOST: &str =
        "Barkslip answers under the address it was started with only";
    pub(crate) const STRANGE_HOST_MEND: &str =
        "Open the address that Barkslip printed when it started.";
    pub(crate) const STRANGE_ORIGIN: &str = "This entry came from another site and was refused";
    pub(crate) const STRANGE_ORIGIN_MEND: &str =
        "Open Barkslip's own page and enter it there; nothing was changed.";
    pub(crate) const TOO_LARGE: &str = "This is too much to take in at once";
    pub(crate) const TOO_LARGE_MEND: &str =
        "Send less: a form takes up to 1 MB, a file up to 32 MB. Nothing was changed.";
    pub(crate) const UNREADABLE: &str = "What was sent cannot be read";
    pub(crate) const UNREADABLE_MEND: &str = "Open the page again and fill the form anew.";
    pub(crate) const BROKEN: &str = "Something in Barkslip went wrong on this page";
    pub(crate) const BROKEN_MEND: &str = "Nothing was half-done. Go back and try again; if it happens again, please report it with \
         what you did.";
    pub(crate) const NO_PERSON: &str = "Barkslip does not know who you are";
    pub(crate) const NO_PERSON_MEND: &str = "Write your name once; it goes with what you record.";
}

pub(crate) mod who {
    //! The page where one says who one is.

    pub(crate) const SHEET: &str = "Who you are";
    pub(crate) const ANSWER: &str = "Who is at this screen?";
    pub(crate) const WHY: &str = "Your name goes with what you record on this screen, so that others know whom to ask. It \
         stays on this screen until you change it.";
    pub(crate) const NAME: &str = "Your name";
    pub(crate) const ALSO: &str = "Or take a name that is known";
    pub(crate) const NO_NAME: &str = "Write a name first.";
    pub(crate) const OF_DEVICE: &str = "This phone was let in for one person, whose name goes with what you record on it. For another \
         person, ask at the office for a new code.";
    pub(crate) const TOO_LONG: &str = "Write a name of at most 60 letters.";
}
