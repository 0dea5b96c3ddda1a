//! What tables of served pages share: their files, their filters.

use maud::{Markup, html};
use serde_json::Value;

use super::ask::Ask;
use crate::figures::csv_row;

/// A table as text with commas between the cells.
pub(crate) fn csv(heads: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let heads = heads.iter().map(|it| (*it).to_owned()).collect();
    let rows = std::iter::once(heads).chain(rows);
    rows.map(|row| csv_row(&row)).collect()
}

/// A choice within a filter of the address.
pub(crate) fn choose(label: &str, key: &str, all: &str, names: &[&str], ask: &Ask) -> Markup {
    let chosen = ask.query.get(key);
    html! {
        label {
            span { (label) }
            select name=(key) {
                option value="" { (all) }
                @for name in names { option value=(name) selected[chosen == Some(name)] { (name) } }
            }
        }
    }
}

/// The fields of an address that a page's file keeps.
pub(crate) fn kept_fields<'a>(ask: &'a Ask, keys: &[&'a str]) -> Vec<(&'a str, &'a str)> {
    keys.iter()
        .filter_map(|key| Some((*key, ask.query.get(key)?)))
        .collect()
}

/// A value as a field of a form has it.
pub(crate) fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Array(values) => {
            let texts: Vec<String> = values.iter().map(plain).collect();
            texts.join(", ")
        }
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::csv;

    #[test]
    fn cells_are_quoted_and_formulas_kept_texts() {
        let row = ["a", "b,c", "d\"e", "=1+2", "-5", "@x"];
        let text = csv(&["h"], [row.map(str::to_owned).to_vec()]);
        assert_eq!(text, "h\r\na,\"b,c\",\"d\"\"e\",'=1+2,-5,'@x\r\n");
    }
}
