//! Who is at the screen: asked once, remembered by the screen, and sent with what is recorded.

use app::AppError;
use maud::html;

use super::address;
use super::ask::{Ask, WHO, is_name};
use super::office::Office;
use super::page::Page;
use super::reply::Reply;
use crate::words::common::{self, SAVE, who as words};

/// A name is remembered for so long, seconds: a year.
const REMEMBERED_S: u32 = 31_536_000;

pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    if ask.entrant.person().is_some() {
        return Ok(Reply::Page(of_device(ask)));
    }
    Ok(Reply::Page(form(office, ask, None)?))
}

pub(super) fn name(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    if ask.entrant.person().is_some() {
        return Ok(Reply::NotDone(of_device(ask)));
    }
    let name = ask.form.get("name").unwrap_or_default();
    if !is_name(name) {
        let why = if name.is_empty() {
            words::NO_NAME
        } else {
            words::TOO_LONG
        };
        return Ok(Reply::NotDone(form(office, ask, Some(why))?));
    }
    Ok(Reply::SeeAs(
        address::back(ask.form.get("back")).to_owned(),
        cookie(name),
    ))
}

/// The cookie by which a screen remembers a name.
pub(super) fn cookie(name: &str) -> String {
    format!(
        "{WHO}={}; Path=/; Max-Age={REMEMBERED_S}; HttpOnly; SameSite=Strict",
        address::encode(name)
    )
}

/// A device speaks for the person it was let in for.
fn of_device(ask: &Ask) -> Page {
    let answer = ask.who.as_deref().map_or_else(String::new, common::you_are);
    Page::new(
        "",
        words::SHEET,
        answer,
        html! { p.say { (words::OF_DEVICE) } },
    )
}

fn form(office: &Office, ask: &Ask, why: Option<&str>) -> Result<Page, AppError> {
    let known = office.people()?;
    let back = ask.form.get("back").or(ask.query.get("back"));
    let body = html! {
        p.say { (words::WHY) }
        @if let Some(why) = why { p.refused role="alert" { (why) } }
        form.entry method="post" action="/who" {
            input type="hidden" name="back" value=(address::back(back));
            label { span { (words::NAME) } input name="name" autocomplete="name" maxlength="60" required value=[&ask.who]; }
            button { (SAVE) }
        }
        @if !known.is_empty() {
            h2 { (words::ALSO) }
            form.choices method="post" action="/who" {
                input type="hidden" name="back" value=(address::back(back));
                @for name in known { button.plain name="name" value=(name) { (name) } }
            }
        }
    };
    Ok(Page::new("", words::SHEET, words::ANSWER, body))
}
