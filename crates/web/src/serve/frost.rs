//! Frost: the evening as it is read, and the answer to it.

use std::collections::BTreeMap;

use app::AppError;
use app::frost::{Evening, FrostAnswer, Reading};
use maud::{Markup, html};

use super::ask::{Ask, Fields};
use super::form::{self, Field, Kind};
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, table};
use crate::frost_page;
use crate::words::{frost as words, sky};

/// The page's address.
const HERE: &str = "/sky/frost";
const AIR: &str = "evening";
const DEW_POINT: &str = "dew_point";
/// What the page's file keeps of its address.
const KEPT: [&str; 3] = [AIR, DEW_POINT, "as_of"];

const FIELDS: [Field; 2] = [
    Field {
        key: AIR,
        label: words::AIR,
        kind: Kind::Number,
        needed: true,
        hint: words::AIR_HINT,
    },
    Field {
        key: DEW_POINT,
        label: words::DEW_POINT,
        kind: Kind::Number,
        needed: false,
        hint: words::DEW_POINT_HINT,
    },
];

/// What is wrong with an evening, by field.
type Wrong = BTreeMap<&'static str, String>;

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let read = evening(&ask.query);
    let frost = office
        .desk
        .frost(office.day(ask), read.as_ref().ok().copied().flatten())?;
    let csv = address::with_fields("/sky/frost.csv", &table::kept_fields(ask, &KEPT));
    let (answer, wrong) = match read {
        Ok(_) => (words::answer(&frost), Wrong::new()),
        Err(wrong) => (words::CANNOT_READ.to_owned(), wrong),
    };
    let form = form_of(ask, &frost, &wrong);
    let body = frost_page::body(&frost, &form, &ask.here());
    Ok(Reply::Page(
        Page::new("/sky", words::SHEET, answer, body)
            .among(sky::PARTS)
            .with_csv(csv),
    ))
}

/// Its tables.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let read = evening(&ask.query).unwrap_or_default();
    let frost = office.desk.frost(office.day(ask), read)?;
    Ok(reply::csv("frost", frost_page::csv(&frost)))
}

/// The evening that an address gives; none where it gives neither reading.
fn evening(query: &Fields) -> Result<Option<Evening>, Wrong> {
    let is_given = |key| query.get(key).is_some();
    if !is_given(AIR) && !is_given(DEW_POINT) {
        return Ok(None);
    }
    let form::Read { keys, mut wrong } = form::read(&FIELDS, query, 0);
    if !is_given(AIR) {
        wrong.insert(AIR, words::AIR_MISSING.to_owned());
    }
    let number = |key: &str| keys.get(key).and_then(serde_json::Value::as_f64);
    let (Some(air_c), true) = (number(AIR), wrong.is_empty()) else {
        return Err(wrong);
    };
    let evening = Evening {
        air_c,
        dew_point_c: number(DEW_POINT),
    };
    match evening.wrong() {
        None => Ok(Some(evening)),
        Some((Reading::Air, why)) => Err(Wrong::from([(AIR, crate::figures::sentence(&why))])),
        Some((Reading::DewPoint, why)) => {
            Err(Wrong::from([(DEW_POINT, crate::figures::sentence(&why))]))
        }
    }
}

/// The form of the evening, with what it gave; it shows what was typed, else what is noted.
fn form_of(ask: &Ask, frost: &FrostAnswer, wrong: &Wrong) -> Markup {
    let is_typed = [AIR, DEW_POINT]
        .iter()
        .any(|key| ask.query.get(key).is_some());
    let values = if is_typed {
        ask.query.clone()
    } else {
        noted(frost)
    };
    html! {
        @if wrong.is_empty() { (frost_page::tonight(frost)) }
        section {
            h2 { (words::TONIGHT) }
            p.say { (words::TONIGHT_SAY) }
            form.entry action=(HERE) {
                @if let Some(day) = ask.as_of { input type="hidden" name="as_of" value=(day); }
                (form::draw(&FIELDS, &values, wrong, |_| Vec::new()))
                div.acts.noprint {
                    button { (words::WORK_OUT) }
                    @if wrong.is_empty() && frost.tonight.is_some() {
                        @let to = note_evening(ask, frost);
                        @if frost.nights.is_today_noted {
                            a.button.plain href=(to) { (words::MEND_EVENING) }
                        } @else {
                            a.button.plain href=(to) { (words::NOTE_EVENING) }
                        }
                    }
                }
            }
            @if !wrong.is_empty() && frost.tonight.is_some() { p { (words::STILL_NOTED) } }
        }
    }
}

/// The evening that the answer is of, as its fields show it.
fn noted(frost: &FrostAnswer) -> Fields {
    let tonight = frost.tonight.iter();
    let pairs = tonight.flat_map(|it| {
        let dew_point = it.dew_point_c.map(|dew| (DEW_POINT, dew));
        [(AIR, it.evening_c)].into_iter().chain(dew_point)
    });
    Fields(
        pairs
            .map(|(key, value)| (key.to_owned(), value.to_string()))
            .collect(),
    )
}

/// The form of today's night, filled with the evening.
fn note_evening(ask: &Ask, frost: &FrostAnswer) -> String {
    let (date, back) = (frost.as_of.to_string(), ask.here());
    let values = noted(frost);
    let mut fields = vec![("date", date.as_str())];
    for (key, column) in [(AIR, "evening_c"), (DEW_POINT, "dew_point_c")] {
        fields.extend(values.get(key).map(|value| (column, value)));
    }
    fields.push(("back", back.as_str()));
    address::with_fields("/settings/nights/row", &fields)
}
