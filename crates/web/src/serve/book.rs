//! The Book: everything that was recorded, last first.

use app::AppError;
use app::ledger::{Asked, JournalAnswer};
use maud::html;

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, lot, table};
use crate::figures::count;
use crate::figures::sentence;
use crate::frame::{columns, folded};
use crate::words::book as words;
use crate::words::common;

/// Entries on a page.
const SHOWN: usize = 60;
/// Most entries in a file.
const MOST: usize = 100_000;

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let (book, entries) = journal(office, ask, SHOWN)?;
    let Some(last) = book.acts.first() else {
        let body = html! { p { a href="/book" { (words::ALL) } } };
        return Ok(Reply::Page(Page::new(
            "/book",
            words::SHEET,
            words::EMPTY,
            body,
        )));
    };
    let mut rows = Vec::new();
    for act in &book.acts {
        rows.push((act, lot::undo_or_correct(office, ask, act)?));
    }
    let body = html! {
        form.row.noprint method="get" action="/book" {
            label { span { (words::FROM) } input name="from" type="date" value=[ask.query.get("from")]; }
            label { span { (words::UNTIL) } input name="until" type="date" value=[ask.query.get("until")]; }
            button.plain { (words::SHOW) }
        }
        table.rows.sort {
            (columns(&words::HEADS))
            tbody {
                @for (act, taps) in &rows {
                    tr {
                        td.due data-head=(words::HEADS[0].0) data-v=(act.on) { (lot::day_and_time(act)) }
                        td.full-row {
                            (lot::said(act))
                            @for name in act.lots.iter().take(3) { small { a href=(address::lot(name)) { (name) } } }
                        }
                        td data-head=(words::HEADS[2].0) { (words::by(&act.by, act.settled_by.as_deref())) }
                        td data-head=(words::HEADS[3].0) { (act.recorded_at.get(..16).unwrap_or(&act.recorded_at).replace('T', " ")) }
                        td.noprint { (taps) }
                    }
                }
            }
        }
        @if let Some(next) = book.next {
            p { a.button.plain href=(ask.address_with("before", Some(&next.to_string()))) { (words::EARLIER) } }
        }
        (folded(common::METHOD, &html! { ul.plain { @for it in words::METHOD { li { (it) } } } }))
    };
    let answer = words::answer(&count(entries), &sentence(&last.words));
    let csv = address::with_fields("/book.csv", &table::kept_fields(ask, &["from", "until"]));
    Ok(Reply::Page(
        Page::new("/book", words::SHEET, answer, body).with_csv(csv),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let (book, _) = journal(office, ask, MOST)?;
    let rows = book.acts.into_iter().map(|act| {
        vec![
            act.number.to_string(),
            act.id,
            act.on.to_string(),
            act.recorded_at,
            act.by,
            act.act,
            act.words,
            act.at.map_or_else(String::new, |at| at.to_string()),
            act.settled_by.unwrap_or_default(),
        ]
    });
    Ok(reply::csv("book", table::csv(&words::CSV_HEADS, rows)))
}

fn journal(office: &Office, ask: &Ask, limit: usize) -> Result<(JournalAnswer, u64), AppError> {
    let day = |key: &str| ask.query.get(key).and_then(|it| it.parse().ok());
    let asked = Asked {
        from: day("from"),
        until: day("until"),
        before: ask.query.get("before").and_then(|it| it.parse().ok()),
        limit,
    };
    office
        .desk
        .read(|file, sight| Ok((file.journal(&sight.books, &asked)?, sight.books.number)))
}
