//! Files in and out: many taken in at once, or none; each as it stands.

use app::AppError;
use app::ledger::settings::{TEMPLATES, template};
use maud::{Markup, html};

use super::super::address;
use super::super::ask::{Ask, Fields, is_name};
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::change::{Change, person_field};
use super::{OF, place_of};
use crate::figures::count;
use crate::figures::sentence;
use crate::frame::columns;
use crate::words::common;
use crate::words::settings::{self as words, files as own};

/// Problems shown; more would only bury the first.
const SHOWN: usize = 150;

/// The page.
pub(crate) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let page = draw(office, ask, &Change::default(), None)?;
    Ok(Reply::Page(page))
}

/// Files that were sent.
pub(crate) fn take_in(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut change = Change::default();
    let Some(by) = person(ask, &mut change) else {
        return Ok(Reply::NotDone(draw(office, ask, &change, None)?));
    };
    let files = ask.files.iter();
    let files = files
        .map(|it| (plain_name(&it.name).to_owned(), it.bytes.clone()))
        .collect();
    let taken = office
        .desk
        .write(|file| file.take_in_files(files, office.today(), &by, &office.now()));
    match taken {
        Ok(answer) => {
            let back = address::back(ask.form.get("back").or(Some("/settings/files")));
            let weather = if answer.weather { "yes" } else { "" };
            Ok(Reply::See(address::with_fields(
                back,
                &[
                    ("took", &answer.acts.to_string()),
                    ("lots", &answer.lots.to_string()),
                    ("lines", &answer.order_lines.to_string()),
                    ("weather", weather),
                ],
            )))
        }
        Err(error) if error.kind == app::Kind::Invalid => Ok(Reply::NotDone(draw(
            office,
            ask,
            &Change::default(),
            Some(&error),
        )?)),
        Err(error) => Err(error),
    }
}

/// A file as it is written out.
pub(crate) fn file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let (day, name) = (office.day(ask), ask.part("file"));
    let set = office
        .desk
        .read(|file, sight| file.all_files(&sight.books, day))?;
    match set.get(name) {
        Some(bytes) => Ok(kept(name, bytes.to_vec())),
        None => Err(no_file(name)),
    }
}

/// The template of a file.
pub(crate) fn template_of(_: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let name = ask.part("file");
    let text = template(name).ok_or_else(|| no_file(name))?;
    Ok(kept(name, text.as_bytes().to_vec()))
}

fn kept(name: &str, bytes: Vec<u8>) -> Reply {
    let kind = match name.rsplit('.').next() {
        Some("csv") => "text/csv; charset=utf-8",
        _ => "text/plain; charset=utf-8",
    };
    Reply::File {
        name: name.to_owned(),
        kind,
        bytes,
    }
}

fn no_file(name: &str) -> AppError {
    AppError::new(app::Kind::NotFound, own::NO_FILE, name, own::NO_FILE_MEND)
}

/// Who sends files: the one named in the form, else the one at the screen.
pub(super) fn person(ask: &Ask, change: &mut Change) -> Option<String> {
    let named = ask.form.get("by").map(str::to_owned);
    let by = named.or_else(|| ask.who.clone()).filter(|it| is_name(it));
    if by.is_none() {
        let why = common::failures::NO_PERSON_MEND.to_owned();
        change.wrong.insert("by", why);
    }
    by
}

/// A file's own name, without the folders that some browsers send along.
pub(super) fn plain_name(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or_default()
}

fn draw(
    office: &Office,
    ask: &Ask,
    change: &Change,
    refused: Option<&AppError>,
) -> Result<Page, AppError> {
    let day = office.day(ask);
    let set = office
        .desk
        .read(|file, sight| file.all_files(&sight.books, day))?;
    let size = |name: &str| set.get(name).map(<[u8]>::len);
    let body = html! {
        (taken(&ask.query))
        @if let Some(error) = refused { (problems(error)) }
        section {
            h2 { (own::IN) }
            p { (own::IN_HELP) }
            (upload(office, ask, change, "/settings/files"))
        }
        section {
            h2 { (own::OUT) }
            table.rows {
                (columns(&own::OUT_HEADS))
                tbody {
                    @for name in names() {
                        tr {
                            td.lead { @if size(name).is_some() { a href=(format!("/settings/files/{name}")) download { (name) } } @else { (name) } }
                            td.n data-head=(own::OUT_HEADS[1].0) { @match size(name) { Some(bytes) => (count(bytes as u64)), None => (own::EMPTY) } }
                            td.full-row { @if template(name).is_some() { a href=(format!("/settings/templates/{name}")) download { (own::TEMPLATE) } } }
                        }
                    }
                }
            }
        }
    };
    let answer = refused.map_or_else(
        || own::ANSWER.to_owned(),
        |error| own::refused(error.problems.0.len().max(1)),
    );
    Ok(Page::new(OF, words::FILES, answer, body))
}

fn names() -> impl Iterator<Item = &'static str> {
    let known = TEMPLATES.iter().map(|(name, _)| *name);
    known.chain(["weather.epw"])
}

/// The form with which files are sent; it comes back to an address.
pub(crate) fn upload(office: &Office, ask: &Ask, change: &Change, back: &str) -> Markup {
    html! {
        form.entry.noprint method="post" action="/settings/files" enctype="multipart/form-data" {
            input type="hidden" name="back" value=(back);
            label { span { (own::CHOOSE) } input name="files" type="file" accept=".csv,.toml,.epw" multiple required; }
            (person_field(office, ask, change))
            button { (own::TAKE) }
        }
    }
}

/// What was just taken in.
pub(crate) fn taken(query: &Fields) -> Markup {
    let number = |key: &str| query.get(key).and_then(|it| it.parse::<u64>().ok());
    html! {
        @if let (Some(acts), Some(lots), Some(lines)) = (number("took"), number("lots"), number("lines")) {
            div.notice role="status" {
                p { (own::took(&count(acts), &count(lots), &count(lines), query.get("weather").is_some())) }
            }
        }
    }
}

/// Every place of the files that needs mending.
pub(super) fn problems(error: &AppError) -> Markup {
    let all = &error.problems.0;
    html! {
        div.refused role="alert" {
            @if all.is_empty() { p { (sentence(&error.what)) " " (sentence(&error.mend)) } }
            @else {
                h2 { (own::PROBLEMS) }
                div.scroll { table.rows {
                    (columns(&own::PROBLEM_HEADS))
                    tbody {
                        @for it in all.iter().take(SHOWN) {
                            tr {
                                td.lead { a href=(place_of(&it.file)) { (it.file) } }
                                td.n data-head=(own::PROBLEM_HEADS[1].0) { @if let Some(row) = it.row { (row) } }
                                td data-head=(own::PROBLEM_HEADS[2].0) { (it.column.as_deref().unwrap_or_default()) }
                                td data-head=(own::PROBLEM_HEADS[3].0) { (it.value.as_deref().unwrap_or_default()) }
                                td.full-row { (sentence(&it.rule)) }
                                td.full-row { (sentence(&it.mend)) }
                            }
                        }
                    }
                } }
                @if all.len() > SHOWN { p { (own::more(all.len() - SHOWN)) } }
            }
        }
    }
}
