//! Routes: the steps in use with their numbers and sources, and the nursery's own text.

use app::ledger::settings::{NewSetting, template};
use app::{AppError, Status, Step};
use maud::{Markup, html};
use serde_json::{Map, json};

use super::super::ask::{Ask, Fields};
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::{self, Reply};
use super::super::{record, table};
use super::change::{Change, Outcome, header};
use super::{OF, kind};
use crate::frame::{columns, folded};
use crate::words::common;
use crate::words::settings::{self as words, routes as own};

const FILE: &str = "routes.toml";

/// The page.
pub(crate) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let text = office.desk.read(|_, sight| {
        let text = sight.books.settings.text(kind(FILE), day);
        Ok(text.unwrap_or_default().to_owned())
    })?;
    let values = Fields(vec![
        ("text".to_owned(), text),
        ("id".to_owned(), office.ulid()?),
    ]);
    Ok(Reply::Page(draw(office, ask, &values, &Change::default())?))
}

/// The text of own routes that was entered.
pub(crate) fn enter(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let text = ask.form.get("text").unwrap_or_default().replace('\r', "");
    let setting = NewSetting {
        id: ask.form.get("id").unwrap_or_default().to_owned(),
        what: kind(FILE),
        values: Map::from_iter([("text".to_owned(), json!(text))]),
    };
    let mut change = Change::default();
    match change.record(office, ask, vec![setting], |_, _| None)? {
        Outcome::Done => Ok(Reply::See(record::after(ask, ask.form.get("id")))),
        Outcome::NotDone => Ok(Reply::NotDone(draw(office, ask, &ask.form, &change)?)),
    }
}

/// The steps in use as a file.
pub(crate) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let heads = own::HEADS.map(|(head, _)| head);
    let rows = steps(office, ask)?.into_iter().map(|it| {
        let mut cells = it.cells.to_vec();
        cells.push(format!("{} ({})", it.source, it.status));
        cells
    });
    Ok(reply::csv("routes", table::csv(&heads, rows)))
}

/// A step as a line of the table.
struct Line {
    cells: [String; 7],
    source: String,
    status: &'static str,
}

fn steps(office: &Office, ask: &Ask) -> Result<Vec<Line>, AppError> {
    let day = office.day(ask);
    office.desk.read(|file, sight| {
        let settings = file.settings(&sight.books, day);
        let in_use = settings.map_or_else(Vec::new, |it| it.planning.routes);
        let steps = file.catalogue().routes.steps_in_use(&in_use);
        Ok(steps.into_iter().map(line).collect())
    })
}

fn line(step: &Step) -> Line {
    let percent = |share: f64| format!("{:.0}", share * 100.0);
    let minutes: f64 = step.hours.iter().map(|it| it.minutes).sum();
    Line {
        cells: [
            step.name.clone(),
            step.makes.word().to_owned(),
            format!("{:.0}", step.heat.degree_days),
            percent(step.survival.share),
            step.take
                .as_ref()
                .map_or_else(String::new, |it| percent(it.share)),
            step.over_age.most.to_string(),
            format!("{minutes:.2}"),
        ],
        source: step.source.clone(),
        status: status(step.status),
    }
}

fn status(status: Status) -> &'static str {
    match status {
        Status::Handbook => "handbook",
        Status::CommonPractice => "common practice",
        Status::Own => "own",
    }
}

fn draw(office: &Office, ask: &Ask, values: &Fields, change: &Change) -> Result<Page, AppError> {
    let steps = steps(office, ask)?;
    let mine = steps.iter().filter(|it| it.status == "own").count();
    let body = html! {
        (change.told())
        div.scroll { table.rows.sort {
            (columns(&own::HEADS))
            tbody { @for it in &steps { (row(it)) } }
        } }
        section {
            h2 { (own::OWN) }
            p { (own::OWN_MEANING) }
            form.entry method="post" action="/settings/routes" {
                input type="hidden" name="id" value=[values.get("id")];
                input type="hidden" name="back" value="/settings/routes";
                label { span { (own::TEXT) } textarea.text name="text" rows="16" spellcheck="false" { (values.get("text").unwrap_or_default()) } }
                (header(office, ask, change))
                button { (common::RECORD) }
            }
            (folded(words::EXAMPLE, &html! { pre { (template(FILE).unwrap_or_default()) } }))
        }
    };
    Ok(
        Page::new(OF, words::ROUTES, own::answer(steps.len(), mine), body)
            .with_csv("/settings/routes.csv"),
    )
}

fn row(it: &Line) -> Markup {
    html! {
        tr {
            @for (at, (cell, (head, is_number))) in it.cells.iter().zip(own::HEADS).enumerate() {
                td.lead[at == 0].n[is_number].none[cell.is_empty()] data-head=[(at > 0).then_some(head)] { (cell) }
            }
            td.why data-head=(own::HEADS[7].0) { b { (it.status) } ": " (it.source) }
        }
    }
}
