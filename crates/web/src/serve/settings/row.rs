//! The form of one row: a field a column, checked with the whole nursery before it is recorded.

use app::AppError;
use app::ledger::settings::{NewSetting, columns, is_required, key_columns};
use maud::html;
use serde_json::{Map, Value, json};

use super::super::ask::{Ask, Fields};
use super::super::form::{self, Field, Kind};
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::super::{address, record};
use super::change::{Change, Outcome, choices, header};
use super::table::{Row, example, own_rows, shipped_besides, shown_cell};
use super::{OF, kind, table_of};
use crate::frame::folded;
use crate::words::common;
use crate::words::settings::{self as words, Table};

/// The form of a row: the one that the address names by its key, else a new one.
pub(crate) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let table = table_of(ask.part("table"))?;
    let known = known_row(office, ask, table)?;
    let decimals = office.decimals();
    let own = |(key, value): &&(String, String)| {
        columns(table.file).contains(&key.as_str()) && !value.trim().is_empty()
    };
    let given = Fields(ask.query.0.iter().filter(own).cloned().collect());
    let mut values = if let Some(row) = &known {
        // What the address brings goes before what stands.
        let mut values = given;
        values.0.extend(shown_row(table, row, decimals).0);
        if ask.query.get("end").is_some() {
            end(table, &mut values);
        }
        values.0.push(("known".to_owned(), "yes".to_owned()));
        values
    } else {
        given
    };
    values.0.push(("id".to_owned(), office.ulid()?));
    let back = ask.query.get("back").map(str::to_owned);
    values
        .0
        .push(("back".to_owned(), back.unwrap_or_else(|| table_at(table))));
    Ok(Reply::Page(draw(
        office,
        ask,
        table,
        &values,
        &Change::default(),
    )))
}

/// A row that was entered.
pub(crate) fn enter(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let table = table_of(ask.part("table"))?;
    let mut change = Change::default();
    let Some(values) = read(office, ask, table, &mut change)? else {
        return Ok(Reply::NotDone(draw(office, ask, table, &ask.form, &change)));
    };
    let setting = NewSetting {
        id: ask.form.get("id").unwrap_or_default().to_owned(),
        what: kind(table.file),
        values,
    };
    let all = columns(table.file);
    let field_of = |_, column: &str| all.iter().copied().find(|it| *it == column);
    match change.record(office, ask, vec![setting], field_of)? {
        Outcome::Done => Ok(Reply::See(record::after(ask, ask.form.get("id")))),
        Outcome::NotDone => Ok(Reply::NotDone(draw(office, ask, table, &ask.form, &change))),
    }
}

/// The cells of what was sent; none where something is wrong.
fn read(
    office: &Office,
    ask: &Ask,
    table: &Table,
    change: &mut Change,
) -> Result<Option<Map<String, Value>>, AppError> {
    let fields = fields_of(table.file);
    let read = form::read(&fields, &ask.form, office.decimals());
    change.wrong = read.wrong;
    let mut cells = Map::new();
    for field in &fields {
        let Some(value) = read.keys.get(field.key) else {
            continue;
        };
        let cell = cell_of(field.kind, value);
        if cell.chars().any(char::is_control) {
            change
                .wrong
                .insert(field.key, words::ODD_LETTERS.to_owned());
        }
        cells.insert(field.key.to_owned(), json!(cell));
    }
    if ask.form.get("known").is_none() && stands_already(office, ask, table, &cells)? {
        let key = key_columns(table.file)[0];
        change.wrong.insert(key, words::STANDS_ALREADY.to_owned());
    }
    Ok(change.wrong.is_empty().then_some(cells))
}

/// Whether another row of the key stands. The very same row is what a second tap sends.
fn stands_already(
    office: &Office,
    ask: &Ask,
    table: &Table,
    cells: &Map<String, Value>,
) -> Result<bool, AppError> {
    let cell = |key: &str| cells.get(key).and_then(Value::as_str).unwrap_or_default();
    let own = own_rows(office, ask, table)?;
    let has = |row: &Row, column: &str| row.get(column).map_or("", String::as_str) == cell(column);
    let same_key = |row: &&Row| key_columns(table.file).iter().all(|key| has(row, key));
    let row = own.iter().find(same_key);
    let is_other = |row: &Row| columns(table.file).iter().any(|column| !has(row, column));
    Ok(row.is_some_and(is_other))
}

fn draw(office: &Office, ask: &Ask, table: &Table, values: &Fields, change: &Change) -> Page {
    let is_known = values.get("known").is_some();
    let keys = key_columns(table.file);
    let mut fields = fields_of(table.file);
    if is_known {
        for field in fields.iter_mut().filter(|it| keys.contains(&it.key)) {
            field.kind = Kind::Kept;
        }
    }
    let back = address::back(values.get("back")).to_owned();
    let name: Vec<&str> = keys.iter().filter_map(|key| values.get(key)).collect();
    let name = if is_known {
        name.join(" ")
    } else {
        String::new()
    };
    let body = html! {
        p.say { (table.meaning) }
        (change.told())
        form.entry method="post" action=(format!("/settings/{}/row", table.at)) {
            input type="hidden" name="id" value=[values.get("id")];
            input type="hidden" name="back" value=(back);
            @if is_known { input type="hidden" name="known" value="yes"; }
            (form::draw(&fields, values, &change.wrong, |of| choices(office, ask, of)))
            (header(office, ask, change))
            div.acts {
                button { (common::RECORD) }
                a.button.plain href=(back) { (common::BACK) }
            }
        }
        (folded(words::EXAMPLE, &example(table)))
    };
    let head = words::row_head(table.row, &name);
    Page::new(OF, table.name, head, body)
}

fn table_at(table: &Table) -> String {
    format!("/settings/{}", table.at)
}

/// The fields of a table's rows, in the order of its columns.
pub(super) fn fields_of(file: &str) -> Vec<Field> {
    let columns = columns(file).into_iter();
    let fields = columns.filter_map(|name| {
        let words = words::column_of(file, name)?;
        Some(Field {
            key: words.name,
            label: words.label,
            kind: words.kind,
            needed: is_required(file, name),
            hint: words.hint,
        })
    });
    fields.collect()
}

/// The row that the address names, the nursery's own or one that Barkslip brings.
fn known_row(office: &Office, ask: &Ask, table: &Table) -> Result<Option<Row>, AppError> {
    let keys = key_columns(table.file);
    let is_asked = |row: &Row| {
        keys.iter()
            .all(|key| row.get(*key).map_or("", String::as_str) == ask.query.get(key).unwrap_or(""))
    };
    if ask.query.get(keys[0]).is_none() {
        return Ok(None);
    }
    let own = own_rows(office, ask, table)?;
    let found = own.iter().find(|row| is_asked(row)).cloned();
    Ok(found.or_else(|| {
        let shipped = shipped_besides(table, &own);
        shipped.into_iter().find(|row| is_asked(row))
    }))
}

fn shown_row(table: &Table, row: &Row, decimals: usize) -> Fields {
    let fields = fields_of(table.file).into_iter();
    let pairs = fields.filter_map(|field| {
        let cell = row.get(field.key)?;
        Some((field.key.to_owned(), shown_cell(field.kind, cell, decimals)))
    });
    Fields(pairs.collect())
}

fn end(table: &Table, values: &mut Fields) {
    for column in table.ends_at_zero {
        values.0.retain(|(key, _)| key != column);
        values.0.push(((*column).to_owned(), "0".to_owned()));
    }
}

/// A value as the cell of a file has it.
pub(crate) fn cell_of(kind: Kind, value: &Value) -> String {
    match (kind, value) {
        (Kind::Number, Value::Number(number)) => number
            .as_f64()
            .map_or_else(String::new, |it| it.to_string()),
        (Kind::Names, Value::Array(names)) => {
            let names: Vec<&str> = names.iter().filter_map(Value::as_str).collect();
            names.join(";")
        }
        (Kind::Long, Value::String(text)) => text.split_whitespace().collect::<Vec<_>>().join(" "),
        (_, Value::String(text)) => text.clone(),
        (_, other) => other.to_string(),
    }
}
