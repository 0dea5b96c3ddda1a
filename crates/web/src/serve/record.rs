//! What is recorded: the form of every act, the act made of it, undoing and correcting.
//!
//! A form carries the name of the act that it will be, made when the form was drawn. Sent twice it
//! is one act: a second tap, or the back button, changes nothing.

use std::collections::BTreeMap;

use app::ledger::{Choices, RecordAnswer};
use app::{AppError, Kind as Failed};
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::address;
use super::ask::{Ask, Fields, is_name};
use super::form::{self, Field, Kind};
use super::office::Office;
use super::page::Page;
use super::phones::door;
use super::reply::Reply;
use crate::figures::sentence;
use crate::words::common;
use crate::words::deeds::{self as words, DeedForm};

/// The day of the field and the person, which every act has.
pub(super) const HEADER: [Field; 2] = [
    Field {
        key: "on",
        label: words::DAY,
        kind: Kind::Day,
        needed: true,
        hint: "",
    },
    Field {
        key: "by",
        label: words::PERSON,
        kind: Kind::OneOrNew(Choices::People),
        needed: true,
        hint: "",
    },
];

/// The field in which a correction says why; acts have a `reason` of their own.
const WHY: &str = "correction_reason";

/// The form of an act, filled from the address.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let deed = deed_of(ask)?;
    let mut values = ask.query.clone();
    values.0.retain(|(key, _)| key != "id");
    values.0.push(("id".to_owned(), office.ulid()?));
    let entry = Entry::new(deed, &values, format!("/do/{}", deed.act));
    Ok(Reply::Page(entry.page(office, ask)))
}

/// An act that was entered.
pub(super) fn enter(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let deed = deed_of(ask)?;
    let mut entry = Entry::new(deed, &ask.form, format!("/do/{}", deed.act));
    let Some(mut keys) = entry.keys(office, ask) else {
        return Ok(Reply::NotDone(entry.page(office, ask)));
    };
    keys.insert("act".to_owned(), json!(deed.act));
    let answer = record(office, ask, &Value::Object(keys))?;
    if answer.outcome == "refused" {
        entry.refusal = Some(answer);
        return Ok(Reply::NotDone(entry.page(office, ask)));
    }
    Ok(Reply::See(after(ask, answer.id.as_deref())))
}

/// Takes an act back.
pub(super) fn undo(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let corrects = ask.form.get("corrects").unwrap_or_default();
    let id = match ask.form.get("id") {
        Some(id) => id.to_owned(),
        None => office.ulid()?,
    };
    let act = json!({"id": id, "on": office.today(), "by": person(ask)?, "act": "correct",
        "corrects": corrects, "reason": ask.form.get("reason").unwrap_or(common::UNDO_REASON)});
    done_or_failed(ask, record(office, ask, &act)?)
}

/// The form to correct an act.
pub(super) fn correction_page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let (deed, act) = wrong_act(office, ask.query.get("act").unwrap_or_default())?;
    let mut values = fields_of(&act, office);
    for key in ["act", "back"] {
        values
            .0
            .extend(ask.query.get(key).map(|it| (key.to_owned(), it.to_owned())));
    }
    values.0.push(("id".to_owned(), office.ulid()?));
    Ok(Reply::Page(
        Entry::correcting(deed, &values).page(office, ask),
    ))
}

/// An act that was corrected.
pub(super) fn correct(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let corrects = ask.form.get("act").unwrap_or_default().to_owned();
    let (deed, was) = wrong_act(office, &corrects)?;
    let mut entry = Entry::correcting(deed, &ask.form);
    let Some(keys) = entry.keys(office, ask) else {
        return Ok(Reply::NotDone(entry.page(office, ask)));
    };
    let right = right_keys(deed, &was, &keys);
    if right.is_empty() {
        entry.refusal = Some(nothing_differs());
        return Ok(Reply::NotDone(entry.page(office, ask)));
    }
    let mut act = Map::new();
    act.insert("id".to_owned(), keys["id"].clone());
    act.insert("on".to_owned(), json!(office.today()));
    act.insert("by".to_owned(), json!(person(ask)?));
    act.insert("act".to_owned(), json!("correct"));
    act.insert("corrects".to_owned(), json!(corrects));
    act.insert("right".to_owned(), Value::Object(right));
    act.insert(
        "reason".to_owned(),
        json!(ask.form.get(WHY).unwrap_or(words::CORRECT)),
    );
    let answer = record(office, ask, &Value::Object(act))?;
    if answer.outcome == "refused" {
        entry.refusal = Some(answer);
        return Ok(Reply::NotDone(entry.page(office, ask)));
    }
    Ok(Reply::See(after(ask, answer.id.as_deref())))
}

/// Values with the day and the person, where they lack them.
pub(super) fn headed(values: &Fields, day: Date, ask: &Ask) -> Fields {
    let mut values = values.clone();
    let header = [("on", Some(day.to_string())), ("by", ask.who.clone())];
    for (key, value) in header {
        if let (None, Some(value)) = (values.get(key), value) {
            values.0.push((key.to_owned(), value));
        }
    }
    values
}

/// The keys that differ from those of the act as it was; those that were emptied are null.
fn right_keys(
    deed: &DeedForm,
    was: &Map<String, Value>,
    keys: &Map<String, Value>,
) -> Map<String, Value> {
    let own = |key: &String| key != "id" && key != "by";
    let given = keys.iter();
    let changed = given.filter(|(key, value)| own(key) && was.get(*key) != Some(value));
    let outer = deed.fields.iter().map(|field| {
        let key = field.key;
        key.split_once('.').map_or(key, |(outer, _)| outer)
    });
    let emptied = outer.filter(|key| was.contains_key(*key) && !keys.contains_key(*key));
    changed
        .map(|(key, value)| (key.clone(), value.clone()))
        .chain(emptied.map(|key| (key.to_owned(), Value::Null)))
        .collect()
}

/// A correction that corrects nothing.
fn nothing_differs() -> RecordAnswer {
    RecordAnswer {
        id: None,
        line: None,
        outcome: "refused",
        events: None,
        why: Some(words::NOTHING_DIFFERS.to_owned()),
        mend: Some(words::NOTHING_DIFFERS_MEND.to_owned()),
        settled: None,
    }
}

fn wrong_act(
    office: &Office,
    id: &str,
) -> Result<(&'static DeedForm, Map<String, Value>), AppError> {
    let known = office.desk.read(|file, _| file.act_of(id))?;
    let Some(Value::Object(act)) = known else {
        return Err(AppError::new(
            Failed::NotFound,
            words::NO_ENTRY,
            id,
            words::NO_ENTRY_MEND,
        ));
    };
    let kind = act.get("act").and_then(Value::as_str).unwrap_or_default();
    match words::deed(kind) {
        Some(deed) => Ok((deed, act)),
        None => Err(AppError::new(
            Failed::Invalid,
            words::NOT_CORRECTABLE,
            kind,
            words::NOT_CORRECTABLE_MEND,
        )),
    }
}

/// The keys of an act as fields of its form.
fn fields_of(act: &Map<String, Value>, office: &Office) -> Fields {
    let mut fields = Vec::new();
    for (key, value) in act
        .iter()
        .filter(|(key, _)| !matches!(key.as_str(), "id" | "act" | "by"))
    {
        match value {
            Value::Object(inner) => fields.extend(
                inner
                    .iter()
                    .map(|(name, value)| (format!("{key}.{name}"), text_of(value))),
            ),
            Value::Number(minor) if key == "cost" => fields.push((
                key.clone(),
                form::whole_units(minor.as_i64().unwrap_or(0), office.decimals()),
            )),
            Value::Bool(false) => {}
            value => fields.push((key.clone(), text_of(value))),
        }
    }
    Fields(fields)
}

fn text_of(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Array(values) => values.iter().map(text_of).collect::<Vec<_>>().join(", "),
        Value::Bool(true) => "yes".to_owned(),
        other => other.to_string(),
    }
}

/// Records an act now, where who asks may.
pub(super) fn record(office: &Office, ask: &Ask, act: &Value) -> Result<RecordAnswer, AppError> {
    door::check_act(office, &ask.entrant, act)?;
    office.desk.record(act, &office.now())
}

/// Where to go after an act: back, to be told what was recorded.
pub(super) fn after(ask: &Ask, act: Option<&str>) -> String {
    let back = address::back(ask.form.get("back"));
    act.map_or_else(
        || back.to_owned(),
        |act| address::with_fields(back, &[("done", act)]),
    )
}

/// Back where an act was done, or why it was not.
pub(super) fn done_or_failed(ask: &Ask, answer: RecordAnswer) -> Result<Reply, AppError> {
    if answer.outcome == "refused" {
        return Err(AppError::new(
            Failed::Invalid,
            answer.why.unwrap_or_default(),
            "",
            answer.mend.unwrap_or_default(),
        ));
    }
    Ok(Reply::See(after(ask, answer.id.as_deref())))
}

/// Who records: the one named in the form, else the one at the screen.
pub(super) fn person(ask: &Ask) -> Result<String, AppError> {
    let named = ask.form.get("by").filter(|name| is_name(name));
    named
        .map(str::to_owned)
        .or_else(|| ask.who.clone())
        .ok_or_else(|| {
            AppError::new(
                Failed::Invalid,
                common::failures::NO_PERSON,
                "",
                common::failures::NO_PERSON_MEND,
            )
        })
}

fn deed_of(ask: &Ask) -> Result<&'static DeedForm, AppError> {
    words::deed(ask.part("act")).ok_or_else(|| {
        AppError::new(
            Failed::NotFound,
            words::UNKNOWN_ACT,
            ask.part("act"),
            words::UNKNOWN_ACT_MEND,
        )
    })
}

/// A form on its way: what it asks for, what was sent, what came of it.
pub(super) struct Entry<'a> {
    deed: &'static DeedForm,
    values: &'a Fields,
    to: String,
    is_correction: bool,
    wrong: BTreeMap<&'static str, String>,
    pub(super) refusal: Option<RecordAnswer>,
}

impl<'a> Entry<'a> {
    pub(super) fn new(deed: &'static DeedForm, values: &'a Fields, to: String) -> Self {
        Self {
            deed,
            values,
            to,
            is_correction: false,
            wrong: BTreeMap::new(),
            refusal: None,
        }
    }

    fn correcting(deed: &'static DeedForm, values: &'a Fields) -> Self {
        Self {
            is_correction: true,
            ..Self::new(deed, values, "/correct".to_owned())
        }
    }

    /// The keys of the act; none where something is wrong.
    pub(super) fn keys(&mut self, office: &Office, ask: &Ask) -> Option<Map<String, Value>> {
        let sent = headed(self.values, office.today(), ask);
        let fields: Vec<Field> = self.deed.fields.iter().chain(&HEADER).copied().collect();
        let mut read = form::read(&fields, &sent, office.decimals());
        self.wrong = read.wrong;
        let id = sent.get("id").unwrap_or_default();
        read.keys.insert("id".to_owned(), json!(id));
        self.wrong.is_empty().then_some(read.keys)
    }

    pub(super) fn page(&self, office: &Office, ask: &Ask) -> Page {
        let lot = self
            .values
            .get("lot")
            .filter(|_| self.deed.act != "open_lot");
        let name = if self.is_correction {
            format!("{}: {}", words::CORRECT_SHEET, self.deed.name)
        } else {
            self.deed.name.to_owned()
        };
        let answer = words::question(&name, lot);
        Page::new("", name, answer, self.body(office, ask))
    }

    fn body(&self, office: &Office, ask: &Ask) -> Markup {
        let day = office.day(ask);
        let choices = |of| office.choices(day, of);
        let back = address::back(self.values.get("back"));
        let header = headed(self.values, day, ask);
        html! {
            p.say { (self.deed.meaning) }
            (refused(self.refusal.as_ref()))
            form.entry method="post" action=(self.to) {
                input type="hidden" name="id" value=[self.values.get("id")];
                input type="hidden" name="back" value=(back);
                @if self.is_correction { input type="hidden" name="act" value=[self.values.get("act")]; }
                (form::draw(self.deed.fields, self.values, &self.wrong, choices))
                @if self.is_correction {
                    label {
                        span { (words::REASON) }
                        small { (words::CORRECT_HELP) }
                        input name=(WHY) type="text" maxlength="200" required value=[self.values.get(WHY)];
                    }
                }
                details open[ask.who.is_none() || !self.wrong.is_empty()] {
                    summary { (words::MORE) }
                    (form::draw(&HEADER, &header, &self.wrong, choices))
                }
                div.acts {
                    button { @if self.is_correction { (words::CORRECT) } @else { (common::RECORD) } }
                    a.button.plain href=(back) { (common::BACK) }
                }
            }
        }
    }
}

/// Why an act was refused, and what would work.
pub(super) fn refused(answer: Option<&RecordAnswer>) -> Markup {
    html! {
        @if let Some(answer) = answer {
            div.refused role="alert" {
                p { b { (common::NOT_DONE) ": " } (sentence(answer.why.as_deref().unwrap_or_default())) }
                p { b { (common::WHAT_HELPS) } (answer.mend.as_deref().unwrap_or_default()) }
            }
        }
    }
}
