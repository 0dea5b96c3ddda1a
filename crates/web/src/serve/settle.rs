//! To be settled: entries from the field that were refused, each with what was seen and what the books say.

use app::ledger::ToSettle;
use app::{AppError, Kind};
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::ask::{Ask, Fields};
use super::office::Office;
use super::page::Page;
use super::record::{self, Entry};
use super::reply::Reply;
use super::{address, table};
use crate::figures::sentence;
use crate::words::deeds::deed;
use crate::words::settle as words;

const AT: &str = "/settle";

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let waiting = waiting(office)?;
    let mut drawn = Vec::new();
    for it in &waiting {
        drawn.push(draw(office, ask, it)?);
    }
    let answer = if waiting.is_empty() {
        words::NONE.to_owned()
    } else {
        words::answer(waiting.len())
    };
    let body = html! {
        @if waiting.is_empty() { p.say { (words::NONE_SAY) } }
        @for it in drawn { (it) }
        datalist id="left-because" { @for why in words::BECAUSE { option value=(why) {} } }
    };
    Ok(Reply::Page(Page::new("/week", words::SHEET, answer, body)))
}

/// What waits to be settled.
pub(super) fn waiting(office: &Office) -> Result<Vec<ToSettle>, AppError> {
    office.desk.read(|file, sight| file.to_settle(&sight.books))
}

/// A line on what waits, where something does.
pub(super) fn notice(office: &Office) -> Markup {
    let entries = waiting(office).map_or(0, |it| it.len());
    html! {
        @if entries > 0 {
            p.notice role="alert" { span { (words::answer(entries)) } " " a.button href=(AT) { (words::TO_SETTLE) } }
        }
    }
}

fn draw(office: &Office, ask: &Ask, it: &ToSettle) -> Result<Markup, AppError> {
    let day = it.on.map(app::date_words).unwrap_or_default();
    let at = it.at.map(|at| at.strftime("%H:%M").to_string());
    // Without its time, which is not that of the nursery's clocks.
    let came_in = it.recorded_at.get(..10).and_then(|it| it.parse().ok());
    let came_in = came_in.map(app::date_words).unwrap_or_default();
    let take = if it.knew.is_some() {
        words::TAKE
    } else {
        words::TRY_AGAIN
    };
    let kind = it.entry["act"].as_str().unwrap_or_default();
    let id = office.ulid()?;
    Ok(html! {
        section.job id=(it.id) {
            h2 {
                @if let Some(lot) = &it.lot { a href=(address::lot(lot)) { (lot) } ": " }
                (sentence(&it.words))
            }
            dl.facts {
                dt { (words::ENTERED) }
                dd {
                    (words::entered(&it.by, &day, at.as_deref().unwrap_or_default(), &came_in)) ". "
                    @if let Some(knew) = it.knew { (words::knew(knew)) }
                }
                dt { (words::BOOKS) }
                dd {
                    @if let Some(stands) = it.stands { (words::stands(stands)) " " }
                    (sentence(&it.why))
                }
            }
            div.acts {
                form method="post" action=(AT) {
                    (header(ask, &it.id))
                    button name="how" value="take" { (take) }
                }
                @if deed(kind).is_some() {
                    a.button.plain href={ (AT) "/" (address::encode(&it.id)) } { (words::CHANGE) }
                }
                details.could-not {
                    summary { (words::LEAVE) }
                    form.entry method="post" action=(AT) {
                        (header(ask, &it.id))
                        input type="hidden" name="id" value=(id);
                        label { span { (words::WHY) } input name="reason" type="text" maxlength="200" required list="left-because"; }
                        button.plain name="how" value="leave" { (words::LEAVE) }
                    }
                }
            }
        }
    })
}

fn header(ask: &Ask, entry: &str) -> Markup {
    html! {
        input type="hidden" name="entry" value=(entry);
        input type="hidden" name="back" value=(ask.here());
    }
}

/// An entry is taken as it is, or left out.
pub(super) fn enter(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let entry = ask.form.get("entry").unwrap_or_default();
    let act = match ask.form.get("how") {
        Some("take") => taken(office, ask, entry)?,
        Some("leave") => {
            let id = match ask.form.get("id") {
                Some(id) => id.to_owned(),
                None => office.ulid()?,
            };
            json!({"id": id, "on": office.today(), "by": record::person(ask)?, "act": "leave_out", "entry": entry,
                "reason": ask.form.get("reason").unwrap_or_default()})
        }
        _ => {
            return Err(AppError::new(
                Kind::Invalid,
                words::UNKNOWN_WAY,
                "",
                words::UNKNOWN_WAY_MEND,
            ));
        }
    };
    let answer = record::record(office, ask, &act)?;
    record::done_or_failed(ask, answer)
}

/// The entry as it was made, whatever was known then, settled by whoever is at the screen. One that was settled
/// already is asked for once more, so that a second tap says so.
fn taken(office: &Office, ask: &Ask, entry: &str) -> Result<Value, AppError> {
    let known = office.desk.read(|file, _| file.act_of(entry))?;
    if let Some(done) = known {
        return Ok(done);
    }
    let mut keys = keys_of(&of_id(office, entry)?);
    keys.remove("knew");
    keys.insert("settled_by".to_owned(), json!(record::person(ask)?));
    Ok(Value::Object(keys))
}

fn of_id(office: &Office, entry: &str) -> Result<ToSettle, AppError> {
    let waiting = waiting(office)?;
    waiting
        .into_iter()
        .find(|it| it.id == entry)
        .ok_or_else(|| {
            AppError::new(
                Kind::NotFound,
                words::NOT_WAITING,
                entry,
                words::NOT_WAITING_MEND,
            )
        })
}

fn keys_of(it: &ToSettle) -> Map<String, Value> {
    it.entry.as_object().cloned().unwrap_or_default()
}

/// The form of an entry that is changed, filled with what was entered.
pub(super) fn change_page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let it = of_id(office, ask.part("entry"))?;
    let known = it.entry.as_object().into_iter().flatten();
    let fields = known
        .filter(|(key, value)| *key != "act" && !value.is_null())
        .map(|(key, value)| (key.clone(), table::plain(value)))
        .chain([("back".to_owned(), AT.to_owned())]);
    let values = Fields(fields.collect());
    Ok(Reply::Page(form(&it, &values)?.page(office, ask)))
}

/// An entry is taken with a change.
pub(super) fn change(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let id = ask.part("entry");
    if office.desk.read(|file, _| file.act_of(id))?.is_some() {
        return Ok(Reply::See(record::after(ask, Some(id))));
    }
    let it = of_id(office, id)?;
    let mut values = ask.form.clone();
    values.0.retain(|(key, _)| key != "id");
    values.0.push(("id".to_owned(), it.id.clone()));
    let mut form = form(&it, &values)?;
    let Some(mut keys) = form.keys(office, ask) else {
        return Ok(Reply::NotDone(form.page(office, ask)));
    };
    // Who made it, and when in the field, stays as it was.
    for key in ["act", "by", "at"] {
        keys.insert(key.to_owned(), it.entry[key].clone());
    }
    keys.insert("settled_by".to_owned(), json!(record::person(ask)?));
    let answer = record::record(office, ask, &Value::Object(keys))?;
    if answer.outcome == "refused" {
        form.refusal = Some(answer);
        return Ok(Reply::NotDone(form.page(office, ask)));
    }
    Ok(Reply::See(record::after(ask, answer.id.as_deref())))
}

fn form<'a>(it: &ToSettle, values: &'a Fields) -> Result<Entry<'a>, AppError> {
    let kind = it.entry["act"].as_str().unwrap_or_default();
    let of = deed(kind).ok_or_else(|| {
        AppError::new(
            Kind::Invalid,
            words::NOT_WAITING,
            kind,
            words::NOT_WAITING_MEND,
        )
    })?;
    let to = format!("{AT}/{}", address::encode(&it.id));
    Ok(Entry::new(of, values, to))
}
