//! What tables of served pages share: their files, their filters.

use maud::{Markup, html};
use serde_json::Value;

use super::ask::Ask;

/// A table as text with commas between the cells.
pub(crate) fn csv(heads: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut out = String::new();
    let heads = heads.iter().map(|it| (*it).to_owned()).collect();
    for row in std::iter::once(heads).chain(rows) {
        let cells: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
        out.push_str(&cells.join(","));
        out.push_str("\r\n");
    }
    out
}

/// A cell, in quotes where it needs them; one that a spreadsheet would take for a formula is kept a
/// text.
fn quoted(cell: &str) -> String {
    let is_number = cell.parse::<f64>().is_ok();
    let is_formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && !is_number;
    let cell = if is_formula {
        format!("'{cell}")
    } else {
        cell.to_owned()
    };
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
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
