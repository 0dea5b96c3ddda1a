//! A table of settings with its rows.

use std::collections::BTreeMap;

use app::AppError;
use app::ledger::settings::{key_columns, shipped_rows, template};
use maud::{Markup, html};

use super::super::ask::Ask;
use super::super::form::{Field, Kind, whole_of_parts};
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::super::{address, reply};
use super::row::fields_of;
use super::{OF, kind, table_of};
use crate::frame::folded;
use crate::words::settings::{self as words, Table};

/// Rows on a page.
const SHOWN: usize = 100;

/// A row by column.
pub(super) type Row = BTreeMap<String, String>;

/// The page of a table.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let table = table_of(ask.part("table"))?;
    let own = own_rows(office, ask, table)?;
    let shipped = shipped_besides(table, &own);
    let fields = fields_of(table.file);
    let decimals = office.decimals();
    let found = |rows: &[Row]| -> Vec<Row> {
        let word = ask.query.get("q").unwrap_or_default().to_lowercase();
        let has = |row: &&Row| row.values().any(|it| it.to_lowercase().contains(&word));
        rows.iter().filter(has).cloned().collect()
    };
    let (mine, theirs) = (found(&own), found(&shipped));
    let all: Vec<(&Row, bool)> = mine
        .iter()
        .map(|it| (it, true))
        .chain(theirs.iter().map(|it| (it, false)))
        .collect();
    let from = ask
        .query
        .get("from")
        .and_then(|it| it.parse().ok())
        .unwrap_or(0);
    let shown: Vec<(&Row, bool)> = all.iter().skip(from).take(SHOWN).copied().collect();
    let next = from.saturating_add(SHOWN);
    let view = View {
        table,
        fields: &fields,
        decimals,
    };
    let body = html! {
        p.say { (table.meaning) }
        p.acts {
            a.button href=(row_at(table, &[])) { (words::add(table.row)) }
        }
        @if own.len() + shipped.len() > 20 {
            form.row.noprint method="get" action=(format!("/settings/{}", table.at)) {
                label { span { (words::FIND) } input name="q" type="search" maxlength="60" value=[ask.query.get("q")]; }
                button.plain { (words::SHOW) }
            }
        }
        (view.part(words::OWN_ROWS, &shown, true, !shipped.is_empty()))
        (view.part(words::SHIPPED_ROWS, &shown, false, true))
        @if next < all.len() {
            p { a.button.plain href=(ask.address_with("from", Some(&next.to_string()))) { (words::MORE_ROWS) } }
        }
        (folded(words::EXAMPLE, &example(table)))
    };
    let answer = words::rows(table.name, own.len());
    Ok(Reply::Page(
        Page::new(OF, table.name, answer, body).with_csv(format!("/settings/{}.csv", table.at)),
    ))
}

/// The file of a table, as it is written out.
pub(crate) fn csv(office: &Office, ask: &Ask, name: &str) -> Result<Reply, AppError> {
    let table = table_of(name)?;
    let day = office.day(ask);
    let files = office
        .desk
        .read(|file, sight| Ok(file.files(&sight.books, day)))?;
    let bytes = match files.get(table.file) {
        Some(bytes) => bytes.to_vec(),
        None => header_of(table.file),
    };
    let text = String::from_utf8_lossy(&bytes).into_owned();
    Ok(reply::csv(table.at, text))
}

/// A table without rows: the heads of its template.
fn header_of(file: &str) -> Vec<u8> {
    let text = template(file).unwrap_or_default();
    let head = text.lines().next().unwrap_or_default();
    format!("{head}\n").into_bytes()
}

/// The nursery's own rows of a table as they hold on the day looked at.
pub(super) fn own_rows(office: &Office, ask: &Ask, table: &Table) -> Result<Vec<Row>, AppError> {
    let day = office.day(ask);
    office.desk.read(|_, sight| {
        let rows = sight.books.settings.rows(kind(table.file), day);
        Ok(rows.cloned().collect())
    })
}

/// The rows that Barkslip brings and no own row replaces.
pub(super) fn shipped_besides(table: &Table, own: &[Row]) -> Vec<Row> {
    let keys = key_columns(table.file);
    let key = |row: &Row| -> Vec<String> {
        keys.iter()
            .map(|it| row.get(*it).cloned().unwrap_or_default())
            .collect()
    };
    let known: Vec<Vec<String>> = own.iter().map(key).collect();
    let mut rows = shipped_rows(table.file);
    rows.retain(|row| !known.contains(&key(row)));
    rows
}

/// The address of a row's form.
pub(super) fn row_at(table: &Table, fields: &[(&str, &str)]) -> String {
    address::with_fields(&format!("/settings/{}/row", table.at), fields)
}

/// A cell as a person reads it and types it.
pub(super) fn shown_cell(kind: Kind, cell: &str, decimals: usize) -> String {
    let is_decimal =
        |it: &str| !it.is_empty() && it.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    match kind {
        Kind::Money | Kind::FineMoney if is_decimal(cell) => whole_of_parts(cell, decimals),
        Kind::Names => cell
            .split(';')
            .map(str::trim)
            .collect::<Vec<_>>()
            .join(", "),
        _ => cell.to_owned(),
    }
}

struct View<'a> {
    table: &'a Table,
    fields: &'a [Field],
    decimals: usize,
}

impl View<'_> {
    /// The rows that are the nursery's own, or those that are not.
    fn part(&self, head: &str, rows: &[(&Row, bool)], own: bool, with_head: bool) -> Markup {
        let rows: Vec<&Row> = rows
            .iter()
            .filter(|(_, is_own)| *is_own == own)
            .map(|(row, _)| *row)
            .collect();
        html! {
            @if !rows.is_empty() {
                section {
                    @if with_head { h2 { (head) } }
                    div.scroll {
                        table.rows.sort {
                            thead { tr {
                                @for field in self.fields { th.n[is_number(field.kind)] scope="col" { (field.label) } }
                                th.noprint {}
                            } }
                            tbody { @for row in rows { (self.row(row, own)) } }
                        }
                    }
                }
            }
        }
    }

    fn row(&self, row: &Row, own: bool) -> Markup {
        let cell = |field: &Field| row.get(field.key).map_or("", String::as_str);
        let keys: Vec<(&str, &str)> = key_columns(self.table.file)
            .iter()
            .map(|key| (*key, row.get(*key).map_or("", String::as_str)))
            .filter(|(_, cell)| !cell.is_empty())
            .collect();
        let mut ended = keys.clone();
        ended.push(("end", "yes"));
        html! {
            tr {
                @for (at, field) in self.fields.iter().enumerate() {
                    @let shown = shown_cell(field.kind, cell(field), self.decimals);
                    td.lead[at == 0].n[is_number(field.kind)].none[shown.is_empty()] data-head=[(at > 0).then_some(field.label)] { (shown) }
                }
                td.full-row.noprint {
                    a href=(row_at(self.table, &keys)) { (words::EDIT) }
                    @if own && may_end(self.table, row) { " " a href=(row_at(self.table, &ended)) { (words::END) } }
                    @if self.table.at == "mother_trees" {
                        " " a href=(address::with_fields("/do/destroy", &[("mother_tree", cell(&self.fields[0])), ("back", "/settings/mother_trees")])) { (words::DESTROY) }
                    }
                }
            }
        }
    }
}

/// Whether a row can end: hours, sales and what can be bought go to nothing. A tree's price stays.
fn may_end(table: &Table, row: &Row) -> bool {
    !table.ends_at_zero.is_empty() && row.get("of").is_none_or(|of| of != "tree")
}

fn is_number(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Whole | Kind::Number | Kind::Money | Kind::FineMoney
    )
}

/// The example rows of the table's template.
pub(super) fn example(table: &Table) -> Markup {
    let text = template(table.file).unwrap_or_default();
    let mut lines = text.lines();
    let heads = lines.next().unwrap_or_default();
    html! {
        div.scroll { table {
            thead { tr { @for head in heads.split(',') { th scope="col" { (head) } } } }
            tbody { @for line in lines { tr { @for cell in line.split(',') { td { (cell) } } } } }
        } }
        p { a href=(format!("/settings/templates/{}", table.file)) download { (words::TEMPLATE) } }
        p { a href="/settings/files" { (words::FILES_MEANING) } }
    }
}
