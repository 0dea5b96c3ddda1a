//! Joining: a phone opens the address of a code, is told whom it is for, and is let in with a tap.

use app::AppError;
use app::ledger::DeviceAnswer;
use axum::http::StatusCode;
use maud::html;

use super::super::ask::Ask;
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::door::{Entrant, TOKEN};
use crate::words::phones::join as words;

/// Where codes are opened.
pub(in crate::serve) const HERE: &str = "/join/";

/// Where a phone that has joined goes first.
const FIRST: &str = "/";

/// Browsers keep a cookie for 400 days at most.
const KEPT_S: u32 = 34_560_000;

/// Whom the code is for.
pub(in crate::serve) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    checked(office, ask, |code, now| {
        office.desk.read(|file, _| file.invited(code, now))
    })
    .map(|found| found.map_or_else(|refusal| refusal, |device| invited(&device)))
}

/// Lets the phone in.
pub(in crate::serve) fn enter(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let token = office.secret()?;
    let joined = checked(office, ask, |code, now| {
        office.desk.write(|file| file.join(code, now, &token))
    })?;
    Ok(match joined {
        Ok(_) => Reply::SeeAs(FIRST.to_owned(), cookie(&token)),
        Err(refusal) => refusal,
    })
}

/// The cookie by which a device shows its token. A link from a label that the phone's camera opens must bring
/// it along, so it is not kept to links from here alone; what is entered is held to its origin anyway.
fn cookie(token: &str) -> String {
    format!("{TOKEN}={token}; Path=/; Max-Age={KEPT_S}; Secure; HttpOnly; SameSite=Lax")
}

/// The device of the code in the address, unless it does not hold, or too many were tried.
fn checked(
    office: &Office,
    ask: &Ask,
    look: impl FnOnce(&str, &str) -> Result<Option<DeviceAnswer>, AppError>,
) -> Result<Result<DeviceAnswer, Reply>, AppError> {
    let now = office.clock();
    let tries = match (&ask.entrant, super::of(office)) {
        (Entrant::Stranger(Some(peer)), Some(phones)) => Some((phones, *peer)),
        _ => None,
    };
    if tries.is_some_and(|(phones, peer)| phones.has_tried_enough(peer, &now)) {
        return Ok(Err(refused(
            StatusCode::TOO_MANY_REQUESTS,
            words::TOO_OFTEN,
            words::TOO_OFTEN_MEND,
        )));
    }
    if let Some(device) = look(ask.part("code"), &now)? {
        return Ok(Ok(device));
    }
    if let Some((phones, peer)) = tries {
        phones.has_tried(peer, &now);
    }
    Ok(Err(refused(
        StatusCode::GONE,
        words::NO_CODE,
        words::NO_CODE_MEND,
    )))
}

fn invited(device: &DeviceAnswer) -> Reply {
    let body = html! {
        dl.facts {
            dt { (words::PERSON) } dd { b { (device.person) } }
            dt { (words::DEVICE) } dd { b { (device.label) } }
        }
        p.say { (words::MEANING) }
        form.entry method="post" { button { (words::JOIN) } }
        p.quiet { (words::NOT_ME) }
    };
    let page = Page::new("", words::SHEET, words::answer(&device.person), body);
    Reply::Bare(StatusCode::OK, page)
}

fn refused(status: StatusCode, what: &str, mend: &str) -> Reply {
    let body = html! { p.mend { (mend) } };
    Reply::Bare(status, Page::new("", words::SHEET, what, body))
}
