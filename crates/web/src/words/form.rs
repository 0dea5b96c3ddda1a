//! Words of forms.

pub(crate) const CHOOSE: &str = "Choose";
pub(crate) const OPTIONAL: &str = "(may stay empty)";
pub(crate) const WHOLE_EXAMPLE: &str = "a whole number, such as 120";
pub(crate) const NUMBER_EXAMPLE: &str = "a number, such as 2.5";
pub(crate) const MONEY_EXAMPLE: &str = "an amount, such as 12.50";
pub(crate) const DAY_EXAMPLE: &str = "a day, such as 2027-03-01";
pub(crate) const NUMBERS_EXAMPLE: &str = "numbers with spaces between, such as 8.5 9.2 10";
pub(crate) const TEXT_EXAMPLE: &str = "a text";

/// A field that was left empty.
pub(crate) fn needed(label: &str) -> String {
    format!("{label} is missing: fill it in.")
}

/// A field with something else than asked for.
pub(crate) fn wrong(label: &str, value: &str, example: &str) -> String {
    format!("{label}: “{value}” cannot be read. Write {example}.")
}
