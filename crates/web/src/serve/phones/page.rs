//! The phones of the nursery: who has joined, letting another one in, letting one in no more.

use app::AppError;
use app::ledger::{DeviceAnswer, DeviceState, Invite};
use jiff::{SignedDuration, Timestamp};
use maud::{Markup, html};

use super::super::ask::{Ask, is_name};
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::{Phones, join, qr, trust};
use crate::frame::columns;
use crate::words::phones::page as words;

/// The page.
const HERE: &str = "/phones";

/// A code holds so long: enough to fetch the phone, too short to lie about.
const CODE_HOLDS: SignedDuration = SignedDuration::from_mins(10);

pub(in crate::serve) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    Ok(Reply::Page(list(office, ask, None)?))
}

/// Makes a code for a phone, and shows it: it is told only now.
pub(in crate::serve) fn invite(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let Some(phones) = super::of(office) else {
        return page(office, ask);
    };
    let field = |key: &str| ask.form.get(key).unwrap_or_default();
    let (person, label, id) = (field("person"), field("label"), field("id"));
    if !is_name(person) || !is_name(label) || !is_name(id) {
        return Ok(Reply::NotDone(list(office, ask, Some(words::INCOMPLETE))?));
    }
    let host = phones.hosts.iter().find(|it| *it == field("host"));
    let host = host.unwrap_or(&phones.hosts[0]);
    let code = office.secret()?;
    // Half of it is long enough, and makes squares that are large enough for old cameras.
    let code = &code[..code.len() / 2];
    let until = later(&office.clock())?;
    office.desk.write(|file| {
        file.invite(&Invite {
            id,
            person,
            label,
            code,
            until: &until,
        })
    })?;
    let link = format!("https://{host}{}{code}", join::HERE);
    let body = html! {
        (qr::picture(&link, words::QR_TITLE).unwrap_or_default())
        p.say { (words::scan(label)) }
        p { (words::OR_TYPE) " " span.address { (link) } }
        p.quiet { (words::until(&until)) }
        @if phones.authority().is_some() { p.say { (words::IF_WARNED) } }
        p { a.button.plain href=(HERE) { (words::BACK) } }
    };
    let answer = words::invited(person);
    Ok(Reply::Page(Page::new(
        "/settings",
        words::SHEET,
        answer,
        body,
    )))
}

fn later(now: &str) -> Result<String, AppError> {
    let now = now.parse::<Timestamp>();
    let until = now.and_then(|now| now.checked_add(CODE_HOLDS));
    until.map(|it| it.to_string()).map_err(|error| {
        AppError::new(
            app::Kind::Unavailable,
            error.to_string(),
            words::CLOCK,
            words::CLOCK_MEND,
        )
    })
}

/// Lets a device in no more.
pub(in crate::serve) fn revoke(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let (id, now) = (ask.form.get("device").unwrap_or_default(), office.clock());
    office.desk.write(|file| file.revoke_device(id, &now))?;
    Ok(Reply::See(HERE.to_owned()))
}

fn list(office: &Office, ask: &Ask, why: Option<&str>) -> Result<Page, AppError> {
    let (devices, people) = office
        .desk
        .read(|file, _| Ok((file.devices()?, file.people()?)))?;
    let now = office.clock();
    let joined = devices
        .iter()
        .filter(|it| it.state(&now) == DeviceState::Joined)
        .count();
    let body = html! {
        @match super::of(office) {
            Some(phones) => {
                (form(office, ask, phones, &people, why)?)
                (first(phones))
            }
            None => {
                p.say { (words::CLOSED_WHY) }
                pre { (words::CLOSED_COMMAND) }
            }
        }
        @if !devices.is_empty() {
            h2 { (words::LIST) }
            (table(&devices, &now))
        }
    };
    let answer = words::answer(joined, super::of(office).is_some());
    Ok(Page::new("/settings", words::SHEET, answer, body))
}

/// Naming who is to come in.
fn form(
    office: &Office,
    ask: &Ask,
    phones: &Phones,
    people: &[String],
    why: Option<&str>,
) -> Result<Markup, AppError> {
    Ok(html! {
        h2 { (words::LET_IN) }
        @if let Some(why) = why { p.refused role="alert" { (why) } }
        form.entry method="post" action=(HERE) {
            input type="hidden" name="id" value=(office.ulid()?);
            label { span { (words::PERSON) }
                input name="person" list="people" maxlength="60" required autocomplete="off" value=[ask.form.get("person")];
            }
            datalist id="people" { @for name in people { option value=(name) {} } }
            label { span { (words::DEVICE) } small { (words::DEVICE_HINT) }
                input name="label" maxlength="60" required autocomplete="off" value=[ask.form.get("label")];
            }
            @if phones.hosts.len() > 1 {
                details {
                    summary { (words::HOST) }
                    label { span { (words::HOST_LABEL) }
                        select name="host" { @for host in &phones.hosts { option value=(host) { (host) } } }
                    }
                }
            }
            button { (words::MAKE_CODE) }
        }
    })
}

/// What a phone has to do before it joins.
fn first(phones: &Phones) -> Markup {
    let Some(authority) = phones.authority() else {
        return html! {};
    };
    let link = format!("http://{}{}", phones.hosts[0], trust::HERE);
    html! {
        h2 { (words::FIRST) }
        p.say { (words::FIRST_WHY) }
        (qr::picture(&link, words::TRUST_QR_TITLE).unwrap_or_default())
        p { (words::OR_TYPE) " " span.address { (link) } }
        p.say { (words::FINGERPRINT) }
        (trust::fingerprint(&authority))
        @for address in &phones.left_out { p.say { (words::left_out(&address.to_string())) } }
    }
}

fn table(devices: &[DeviceAnswer], now: &str) -> Markup {
    let moment = |at: &Option<String>| {
        at.as_deref()
            .map(|at| at.get(..16).unwrap_or(at).replace('T', " "))
    };
    html! {
        table.rows.sort {
            (columns(&words::HEADS))
            tbody {
                @for device in devices.iter().rev() {
                    @let state = device.state(now);
                    tr {
                        td.full-row { b { (device.person) } " " (device.label) }
                        td data-head=(words::HEADS[1].0) { (words::state(state)) }
                        td data-head=(words::HEADS[2].0) { (moment(&device.joined_at).unwrap_or_default()) }
                        td data-head=(words::HEADS[3].0) { (moment(&device.seen_at).unwrap_or_default()) }
                        td.noprint {
                            @if matches!(state, DeviceState::Joined | DeviceState::Invited) {
                                form method="post" action="/phones/revoke" {
                                    input type="hidden" name="device" value=(device.id);
                                    button.plain aria-label=(words::revoke(&device.label)) { (words::REVOKE) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
