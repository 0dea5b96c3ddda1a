//! Forms: what is asked for, how it is drawn, and how what was sent becomes the keys of an act.

use app::reading::{with_point, without_gaps};
use std::collections::BTreeMap;

use app::ledger::{Choice, Choices};
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::ask::{Fields, is_name};
use crate::words::form as words;

/// A field of a form.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Field {
    /// The key in the act; `a.b` stands within `a`.
    pub(crate) key: &'static str,
    /// Its label.
    pub(crate) label: &'static str,
    /// What can be given.
    pub(crate) kind: Kind,
    /// Whether it must be given.
    pub(crate) needed: bool,
    /// What to know of it; may be empty.
    pub(crate) hint: &'static str,
}

/// A field as it is written in tables of fields.
pub(crate) const fn field(
    key: &'static str,
    label: &'static str,
    kind: Kind,
    needed: bool,
    hint: &'static str,
) -> Field {
    Field {
        key,
        label,
        kind,
        needed,
        hint,
    }
}

/// What can be given in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A whole number, 0 or more.
    Whole,
    /// A number.
    Number,
    /// An amount of money.
    Money,
    /// An amount of money with parts of its smallest unit, for what is bought by the hundred.
    FineMoney,
    /// A line of text.
    Text,
    /// Several lines of text.
    Long,
    /// Names with commas between.
    Names,
    /// Numbers with spaces between.
    Numbers,
    /// A day.
    Day,
    /// Yes or no.
    Flag,
    /// One of a list.
    One(Choices),
    /// One of a list, or something new.
    OneOrNew(Choices),
    /// Something that is known already and goes with the form.
    Kept,
}

/// What was sent, as keys of an act, and what is wrong with it by field.
#[derive(Debug, Default)]
pub(crate) struct Read {
    /// Keys of the act.
    pub(crate) keys: Map<String, Value>,
    /// What is wrong, by key of the field.
    pub(crate) wrong: BTreeMap<&'static str, String>,
}

/// Reads fields; money has so many decimals.
pub(crate) fn read(fields: &[Field], sent: &Fields, decimals: usize) -> Read {
    let mut read = Read::default();
    for field in fields {
        let value = match (field.kind, sent.get(field.key)) {
            (Kind::Flag, given) => Ok(Some(json!(given.is_some()))),
            (_, None) if field.needed => Err(words::needed(field.label)),
            (_, None) => Ok(None),
            (kind, Some(text)) => value_of(kind, text, decimals)
                .map(Some)
                .ok_or_else(|| words::wrong(field.label, text, example(kind))),
        };
        match value {
            Ok(Some(value)) => put(&mut read.keys, field.key, value),
            Ok(None) => {}
            Err(why) => {
                read.wrong.insert(field.key, why);
            }
        }
    }
    read
}

/// Puts a value under its key, or within the key before the point.
fn put(keys: &mut Map<String, Value>, key: &str, value: Value) {
    match key.split_once('.') {
        None => {
            keys.insert(key.to_owned(), value);
        }
        Some((outer, inner)) => {
            let within = keys.entry(outer).or_insert_with(|| json!({}));
            if let Value::Object(within) = within {
                within.insert(inner.to_owned(), value);
            }
        }
    }
}

fn value_of(kind: Kind, text: &str, decimals: usize) -> Option<Value> {
    match kind {
        Kind::Whole => Some(json!(without_gaps(text).parse::<u32>().ok()?)),
        Kind::Number => Some(json!(number(text)?)),
        Kind::Money => Some(json!(minor_units(text, decimals)?)),
        Kind::FineMoney => Some(json!(minor_parts(text, decimals)?)),
        Kind::Day => Some(json!(text.parse::<jiff::civil::Date>().ok()?)),
        Kind::OneOrNew(Choices::People) => is_name(text).then(|| json!(text)),
        Kind::Long => Some(json!(text)),
        // A line of text is one line, and shows all that is in it.
        _ if text.chars().any(char::is_control) => None,
        Kind::Names => {
            let names = text.split(',').map(str::trim).filter(|it| !it.is_empty());
            Some(json!(names.collect::<Vec<_>>()))
        }
        Kind::Numbers => Some(json!(numbers(text)?)),
        Kind::Text | Kind::One(_) | Kind::OneOrNew(_) | Kind::Kept | Kind::Flag => {
            Some(json!(text))
        }
    }
}

/// A number with a point or a comma before its decimals.
pub(crate) fn number(text: &str) -> Option<f64> {
    let number: f64 = with_point(text)?.parse().ok()?;
    number.is_finite().then_some(number)
}

/// Numbers with spaces between them, and commas or semicolons behind them.
fn numbers(text: &str) -> Option<Vec<f64>> {
    let parts = text.split_whitespace().flat_map(|it| it.split(';'));
    let parts = parts.map(|it| it.trim_end_matches(','));
    parts.filter(|it| !it.is_empty()).map(number).collect()
}

/// Money in its smallest unit, from whole units with decimals.
pub(crate) fn minor_units(text: &str, decimals: usize) -> Option<i64> {
    let plain = with_point(text)?;
    let (whole, cents) = plain.split_once('.').unwrap_or((&plain, ""));
    let is_digits = |it: &str| it.bytes().all(|byte| byte.is_ascii_digit());
    if cents.len() > decimals || !is_digits(cents) || !is_digits(whole) || whole.is_empty() {
        return None;
    }
    format!("{whole}{cents:0<decimals$}").parse().ok()
}

/// Money in its smallest unit and parts of it, as a decimal number: the point moves, so that nothing
/// is rounded.
pub(crate) fn minor_parts(text: &str, decimals: usize) -> Option<String> {
    let plain = with_point(text)?;
    let (whole, parts) = plain.split_once('.').unwrap_or((&plain, ""));
    let is_digits = |it: &str| it.bytes().all(|byte| byte.is_ascii_digit());
    if !is_digits(parts) || !is_digits(whole) || whole.is_empty() || plain.len() > 20 {
        return None;
    }
    let parts = format!("{parts:0<decimals$}");
    let (minor, rest) = parts.split_at(decimals);
    Some(plain_decimal(&format!("{whole}{minor}"), rest))
}

/// Money in whole units, from its smallest unit and parts of it.
pub(crate) fn whole_of_parts(minor: &str, decimals: usize) -> String {
    let (whole, parts) = minor.split_once('.').unwrap_or((minor, ""));
    let whole = format!("{whole:0>width$}", width = decimals + 1);
    let (units, cents) = whole.split_at(whole.len() - decimals);
    let rest = format!("{cents}{}", parts.trim_end_matches('0'));
    if rest.is_empty() {
        return units.to_owned();
    }
    format!("{units}.{rest}")
}

/// A decimal number without zeros that say nothing.
fn plain_decimal(whole: &str, parts: &str) -> String {
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let parts = parts.trim_end_matches('0');
    if parts.is_empty() {
        whole.to_owned()
    } else {
        format!("{whole}.{parts}")
    }
}

/// Money in whole units with decimals, from its smallest unit.
pub(crate) fn whole_units(minor: i64, decimals: usize) -> String {
    let one = 10_i64.pow(u32::try_from(decimals).unwrap_or(0));
    if decimals == 0 {
        return minor.to_string();
    }
    format!("{}.{:0>decimals$}", minor / one, (minor % one).abs())
}

fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Whole => words::WHOLE_EXAMPLE,
        Kind::Number => words::NUMBER_EXAMPLE,
        Kind::Money | Kind::FineMoney => words::MONEY_EXAMPLE,
        Kind::Day => words::DAY_EXAMPLE,
        Kind::Numbers => words::NUMBERS_EXAMPLE,
        _ => words::TEXT_EXAMPLE,
    }
}

/// Fields with their values, what is wrong beside them.
pub(crate) fn draw(
    fields: &[Field],
    values: &Fields,
    wrong: &BTreeMap<&'static str, String>,
    choices: impl Fn(Choices) -> Vec<Choice>,
) -> Markup {
    html! {
        @for field in fields {
            @let value = values.get(field.key);
            @if field.kind == Kind::Kept {
                input type="hidden" name=(field.key) value=[value];
            } @else {
                label.wrong[wrong.contains_key(field.key)].check[field.kind == Kind::Flag] {
                    @if field.kind == Kind::Flag { (input(field, value, &choices)) }
                    span { (field.label) @if !field.needed && field.kind != Kind::Flag { " " small { (words::OPTIONAL) } } }
                    @if let Some(why) = wrong.get(field.key) { small role="alert" { (why) } }
                    @if !field.hint.is_empty() { small { (field.hint) } }
                    @if field.kind != Kind::Flag { (input(field, value, &choices)) }
                }
            }
        }
    }
}

fn input(field: &Field, value: Option<&str>, choices: &impl Fn(Choices) -> Vec<Choice>) -> Markup {
    let key = field.key;
    html! {
        @match field.kind {
            Kind::Whole => input name=(key) type="text" inputmode="numeric" autocomplete="off" required[field.needed] value=[value];,
            Kind::Number | Kind::Money | Kind::FineMoney => input name=(key) type="text" inputmode="decimal" autocomplete="off" required[field.needed] value=[value];,
            Kind::Text | Kind::Names => input name=(key) type="text" maxlength="200" autocomplete="off" required[field.needed] value=[value];,
            Kind::Numbers => input name=(key) type="text" maxlength="4000" autocomplete="off" required[field.needed] value=[value];,
            Kind::Long => textarea name=(key) required[field.needed] { (value.unwrap_or_default()) },
            Kind::Day => input name=(key) type="date" required[field.needed] value=[value];,
            Kind::Flag => input name=(key) type="checkbox" value="yes" checked[value.is_some()];,
            Kind::One(of) => (select(field, value, &choices(of))),
            Kind::OneOrNew(of) => {
                input name=(key) type="text" maxlength="200" list=(format!("{key}-known")) autocomplete="off" required[field.needed] value=[value];
                datalist id=(format!("{key}-known")) {
                    @for (name, said) in choices(of) { option value=(name) { (said) } }
                }
            }
            Kind::Kept => {}
        }
    }
}

fn select(field: &Field, value: Option<&str>, choices: &[Choice]) -> Markup {
    let is_known = value.is_none_or(|value| choices.iter().any(|(name, _)| name == value));
    html! {
        select name=(field.key) required[field.needed] {
            option value="" { (words::CHOOSE) }
            @if let (false, Some(value)) = (is_known, value) { option value=(value) selected { (value) } }
            @for (name, said) in choices {
                option value=(name) selected[value == Some(name)] {
                    @if said.is_empty() || said == name { (name) } @else { (name) ": " (said) }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIELDS: &[Field] = &[
        field("plants", Kind::Whole, true),
        field("hours", Kind::Number, false),
        field("price", Kind::Money, false),
        field("tests", Kind::Names, false),
        field("until", Kind::Day, false),
        field("contract", Kind::Flag, false),
        field("new_lots.saleable", Kind::Text, false),
        field("calipers", Kind::Numbers, false),
    ];

    const fn field(key: &'static str, kind: Kind, needed: bool) -> Field {
        Field {
            key,
            label: key,
            kind,
            needed,
            hint: "",
        }
    }

    fn sent(pairs: &[(&str, &str)]) -> Fields {
        let pairs = pairs.iter();
        Fields(
            pairs
                .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
                .collect(),
        )
    }

    #[test]
    fn what_was_sent_becomes_keys() {
        let given = sent(&[
            ("plants", " 1\u{202f}200 "),
            ("hours", "2,5"),
            ("price", "12.5"),
            ("tests", "ctv, hlb,"),
            ("until", "2027-03-01"),
            ("contract", "yes"),
            ("new_lots.saleable", "A"),
            ("calipers", " 8.5 9,2; 10, 11"),
        ]);
        let read = read(FIELDS, &given, 2);
        assert!(read.wrong.is_empty(), "{:?}", read.wrong);
        assert_eq!(
            Value::Object(read.keys),
            json!({"plants": 1200, "hours": 2.5, "price": 1250, "tests": ["ctv", "hlb"],
                "until": "2027-03-01", "contract": true, "new_lots": {"saleable": "A"},
                "calipers": [8.5, 9.2, 10.0, 11.0]})
        );
    }

    #[test]
    fn what_is_wrong_is_told_at_its_field() {
        let read = read(
            FIELDS,
            &sent(&[("hours", "two"), ("price", "1.234"), ("until", "3 March")]),
            2,
        );
        let wrong: Vec<_> = read.wrong.keys().copied().collect();
        assert_eq!(wrong, ["hours", "plants", "price", "until"]);
        assert!(read.wrong["hours"].contains("two"));
        let two_lines = super::read(FIELDS, &sent(&[("tests", "ctv\nhlb")]), 2);
        assert!(two_lines.wrong.contains_key("tests"));
        assert!(
            super::read(FIELDS, &sent(&[("plants", "-3")]), 2)
                .wrong
                .contains_key("plants")
        );
        assert!(
            super::read(FIELDS, &sent(&[("plants", "1e3")]), 2)
                .wrong
                .contains_key("plants")
        );
    }

    #[test]
    fn a_comma_that_may_part_thousands_is_asked_about() {
        for doubtful in ["1,200", "12,500", "-1,200"] {
            assert_eq!(number(doubtful), None, "{doubtful}");
            assert_eq!(minor_parts(doubtful, 2), None, "{doubtful}");
        }
        assert_eq!(number("0,125"), Some(0.125));
        assert_eq!(number("1,25"), Some(1.25));
        assert_eq!(number("−7,5"), Some(-7.5));
        assert_eq!(number("1 200"), Some(1200.0));
    }

    #[test]
    fn money_goes_there_and_back() {
        for (text, decimals, minor) in [
            ("12", 2, 1200),
            ("0.05", 2, 5),
            ("1,5", 2, 150),
            ("12", 0, 12),
        ] {
            assert_eq!(minor_units(text, decimals), Some(minor));
            assert_eq!(
                minor_units(&whole_units(minor, decimals), decimals),
                Some(minor)
            );
        }
        for bad in [
            "",
            ".",
            "1.2.3",
            "-1",
            "1.234",
            "abc",
            "99999999999999999999",
        ] {
            assert_eq!(minor_units(bad, 2), None, "{bad}");
        }
    }

    #[test]
    fn a_price_of_a_seed_keeps_the_parts_of_a_cent() {
        for (text, decimals, minor, shown) in [
            ("0.004", 2, "0.4", "0.004"),
            ("12,5", 2, "1250", "12.50"),
            ("12", 0, "12", "12"),
            ("0.05", 2, "5", "0.05"),
            ("1.5", 0, "1.5", "1.5"),
        ] {
            assert_eq!(minor_parts(text, decimals).as_deref(), Some(minor));
            assert_eq!(whole_of_parts(minor, decimals), shown);
        }
        for bad in ["", ".", "-1", "1.2.3", "abc", "1e3"] {
            assert_eq!(minor_parts(bad, 2), None, "{bad}");
        }
    }

    #[test]
    fn a_drawn_value_cannot_leave_its_place() {
        let values = sent(&[("plants", "\"><script>alert(1)</script>")]);
        let drawn = draw(FIELDS, &values, &BTreeMap::new(), |_| Vec::new()).into_string();
        assert!(!drawn.contains("<script>"), "{drawn}");
    }
}
