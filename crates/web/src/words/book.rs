//! Words of the Book: what was recorded.

pub(crate) const SHEET: &str = "Book";
pub(crate) const EMPTY: &str = "Nothing is recorded yet.";
pub(crate) const FROM: &str = "From";
pub(crate) const UNTIL: &str = "Until";
pub(crate) const SHOW: &str = "Show";
pub(crate) const EARLIER: &str = "Earlier entries";
pub(crate) const ALL: &str = "All entries again";
pub(crate) const HEADS: [(&str, bool); 5] = [
    ("On", false),
    ("What", false),
    ("By", false),
    ("Recorded", false),
    ("", false),
];
pub(crate) const CSV_HEADS: [&str; 9] = [
    "number",
    "id",
    "on",
    "recorded_at",
    "by",
    "act",
    "words",
    "at",
    "settled_by",
];
pub(crate) const METHOD: [&str; 1] = [
    "Entries are never changed or removed: a mistake is corrected by a further entry, and both stay here.",
];

/// Who recorded it, and who settled it.
pub(crate) fn by(name: &str, settled_by: Option<&str>) -> String {
    settled_by.map_or_else(|| name.to_owned(), |it| format!("{name}, settled by {it}"))
}

/// The sentence over the book.
pub(crate) fn answer(entries: &str, last: &str) -> String {
    format!("{entries} entries are in the book; the last says: {last}")
}
