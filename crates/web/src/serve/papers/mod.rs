//! Papers and labels: chosen on one page, shown as pages, taken along as PDF.

mod asked;
mod forms;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

use app::papers::{self, Paper, PaperKind};
use app::{AppError, Kind};
use maud::html;

use super::address;
use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::Reply;
use crate::paper_page;
use crate::words::common::failures;
use crate::words::papers as words;

/// The address of the page on which papers are chosen.
pub(super) const HERE: &str = "/papers";

/// Lots that a bed map shows on one page; the PDF has all.
const LOTS_SHOWN: usize = 150;

/// Labels that are shown before printing; the PDF has all.
const LABELS_SHOWN: usize = 12;

/// The page on which papers are chosen.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let body = html! {
        @for kind in PaperKind::ALL { (forms::of(office, ask, kind)?) }
    };
    Ok(Reply::Page(Page::new(
        HERE,
        words::SHEET,
        words::ANSWER,
        body,
    )))
}

/// A paper as a page or, with `.pdf` at its end, as a PDF.
pub(super) fn paper(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let name = ask.part("paper");
    let (id, is_pdf) = match name.strip_suffix(".pdf") {
        Some(id) => (id, true),
        None => (name, false),
    };
    let Some(kind) = PaperKind::ALL.into_iter().find(|kind| kind.id() == id) else {
        return Err(AppError::new(
            Kind::NotFound,
            failures::NO_SUCH_PAGE,
            "",
            failures::NO_SUCH_PAGE_MEND,
        ));
    };
    if kind == PaperKind::Labels {
        return labels(office, ask, is_pdf);
    }
    let wanted = asked::paper_ask(office, ask, kind)?;
    if is_pdf {
        let paper = papers::paper(&office.desk, &wanted)?;
        let bytes = paper.pdf(asked::size_of(ask)?)?;
        return Ok(pdf(&format!("{id}-{}", paper.day), bytes));
    }
    if kind == PaperKind::Beds && wanted.place.is_none() {
        return beds(office, ask, wanted);
    }
    let paper = papers::paper(&office.desk, &wanted)?;
    Ok(Reply::Page(shown(office, ask, kind, &paper, None)?))
}

fn pdf(name: &str, bytes: Vec<u8>) -> Reply {
    Reply::File {
        name: format!("{name}.pdf"),
        kind: "application/pdf",
        bytes,
    }
}

/// A paper as a page: its blocks, and the form that made it below.
fn shown(
    office: &Office,
    ask: &Ask,
    kind: PaperKind,
    paper: &Paper,
    left_out: Option<String>,
) -> Result<Page, AppError> {
    let (answer, blocks) = paper_page::drawn(paper);
    let body = html! {
        div.acts.noprint {
            a.button href=(at_pdf(ask, kind)) download { (words::PDF) }
            a.button.plain href=(HERE) { (words::ALL_PAPERS) }
        }
        @if let Some(said) = left_out { p.quiet.noprint { (said) } }
        (blocks)
        (forms::of(office, ask, kind)?)
    };
    Ok(Page::new(HERE, paper.title.clone(), answer, body))
}

/// The address of the PDF of what is looked at.
fn at_pdf(ask: &Ask, kind: PaperKind) -> String {
    let fields: Vec<(&str, &str)> = ask
        .query
        .0
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()))
        .filter(|(key, value)| *key != "done" && !value.is_empty())
        .collect();
    address::with_fields(&format!("{HERE}/{}.pdf", kind.id()), &fields)
}

/// The map of all places, or of the first where all together are too much for a page.
fn beds(office: &Office, ask: &Ask, mut wanted: papers::PaperAsk) -> Result<Reply, AppError> {
    let standing = office.desk.standing(wanted.day)?;
    let places: BTreeSet<&str> = standing.iter().map(|it| it.place.as_str()).collect();
    let mut left_out = None;
    if standing.len() > LOTS_SHOWN
        && let Some(first) = places.first()
    {
        left_out = Some(words::only_place(first, places.len()));
        wanted.place = Some((*first).to_owned());
    }
    let paper = papers::paper(&office.desk, &wanted)?;
    let page = shown(office, ask, PaperKind::Beds, &paper, left_out)?;
    Ok(Reply::Page(page))
}

/// Labels: the first sheet to look at, all of them as a PDF.
fn labels(office: &Office, ask: &Ask, is_pdf: bool) -> Result<Reply, AppError> {
    let wanted = asked::paper_ask(office, ask, PaperKind::Labels)?;
    let of = asked::labels_of(ask, &office.base())?;
    let labels = papers::labels(&office.desk, &wanted, of)?;
    if is_pdf {
        return Ok(pdf(&format!("labels-{}", labels.day), labels.pdf()?));
    }
    let sheets = papers::drawn(&labels)?.len();
    let answer = words::labels(labels.labels.len(), sheets);
    let mut shown = labels.clone();
    shown.labels.truncate(LABELS_SHOWN);
    let first = papers::drawn(&shown)?.into_iter().next();
    let body = html! {
        div.acts.noprint {
            a.button href=(at_pdf(ask, PaperKind::Labels)) download { (words::PDF) }
            a.button.plain href=(HERE) { (words::ALL_PAPERS) }
        }
        @if leads_nowhere(&labels) { p.refused { (words::LEADS_NOWHERE) } }
        p.quiet { (words::SCALE) }
        @if let Some(first) = first { (paper_page::sheet(first.to_svg(), words::FIRST_LABELS)) }
        (forms::of(office, ask, PaperKind::Labels)?)
    };
    Ok(Reply::Page(Page::new(HERE, labels.title, answer, body)))
}

/// Whether codes lead to the machine that reads them.
fn leads_nowhere(labels: &papers::Labels) -> bool {
    let own = ["127.", "localhost", "[::1]"];
    labels.labels.first().is_some_and(|it| {
        let host = it.address.split_once("://").map_or("", |(_, rest)| rest);
        own.iter().any(|own| host.starts_with(own))
    })
}
