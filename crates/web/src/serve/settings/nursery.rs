//! The form of the nursery's own keys, written back as the text of `nursery.toml`.

use app::AppError;
use app::ledger::settings::{NewSetting, nursery_keys, nursery_text, template};
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::super::ask::{Ask, Fields};
use super::super::form::{self, Field};
use super::super::office::Office;
use super::super::page::Page;
use super::super::reply::Reply;
use super::super::{address, record};
use super::change::{Change, Outcome, choices, header};
use super::{OF, kind};
use crate::frame::folded;
use crate::words::common;
use crate::words::settings::{self as words, nursery as own};

const FILE: &str = "nursery.toml";

/// The form, filled with what holds, else with the common rules.
pub(crate) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut values = known(office, ask)?;
    values.0.push(("id".to_owned(), office.ulid()?));
    let page = draw(office, ask, &values, &Change::default());
    Ok(Reply::Page(page.with_csv("/settings/files/nursery.toml")))
}

/// What was entered.
pub(crate) fn enter(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut change = Change::default();
    let read = form::read(&fields(), &ask.form, office.decimals());
    change.wrong = read.wrong;
    if change.is_wrong() {
        return Ok(Reply::NotDone(draw(office, ask, &ask.form, &change)));
    }
    let setting = of_keys(ask, &read.keys);
    match change.record(office, ask, vec![setting], |_, column| field_of(column))? {
        Outcome::Done => Ok(Reply::See(record::after(ask, ask.form.get("id")))),
        Outcome::NotDone => Ok(Reply::NotDone(draw(office, ask, &ask.form, &change))),
    }
}

/// The setting of keys that a form gave.
pub(crate) fn of_keys(ask: &Ask, keys: &Map<String, Value>) -> NewSetting {
    NewSetting {
        id: ask.form.get("id").unwrap_or_default().to_owned(),
        what: kind(FILE),
        values: Map::from_iter([("text".to_owned(), json!(nursery_text(keys)))]),
    }
}

/// The field of a key.
pub(crate) fn field_of(key: &str) -> Option<&'static str> {
    own::KEYS
        .iter()
        .map(|(name, ..)| *name)
        .find(|name| *name == key)
}

/// All keys as fields; what a key is for stands beside it in the template.
pub(crate) fn fields() -> Vec<Field> {
    let fields = own::KEYS.iter().map(|&(key, label, kind, needed)| Field {
        key,
        label,
        kind,
        needed,
        hint: hint_of(key),
    });
    fields.collect()
}

fn hint_of(key: &str) -> &'static str {
    let name = key.rsplit('.').next().unwrap_or_default();
    let text = template(FILE).unwrap_or_default();
    // What has no common value stands in the template as a remark.
    let mut lines = text.lines().map(|line| line.trim_start_matches("# "));
    let line = lines.find(|line| {
        let before = line.split('=').next().unwrap_or_default();
        before.trim() == name
    });
    line.and_then(|it| it.split_once('#'))
        .map_or("", |(_, hint)| hint.trim())
}

/// The keys as they hold; the template's rules, but nobody's name and place, before they are told.
pub(crate) fn known(office: &Office, ask: &Ask) -> Result<Fields, AppError> {
    let day = office.day(ask);
    let text = office.desk.read(|_, sight| {
        let text = sight.books.settings.text(kind(FILE), day);
        Ok(text.map(str::to_owned))
    })?;
    let mut keys = nursery_keys(
        text.as_deref()
            .unwrap_or(template(FILE).unwrap_or_default()),
    );
    if text.is_none() {
        for (key, ..) in &own::KEYS[..own::WHO_AND_WHERE] {
            keys.remove(*key);
        }
    }
    let pairs = fields().into_iter().filter_map(|field| {
        let value = match field.key.split_once('.') {
            Some((outer, inner)) => keys.get(outer)?.get(inner)?,
            None => keys.get(field.key)?,
        };
        // A box that is not ticked sends nothing.
        (*value != Value::Bool(false)).then(|| (field.key.to_owned(), plain(value)))
    });
    Ok(Fields(pairs.collect()))
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Number(number) => number
            .as_f64()
            .map_or_else(String::new, |it| it.to_string()),
        Value::Array(values) => values.iter().map(plain).collect::<Vec<_>>().join(", "),
        other => other.to_string(),
    }
}

fn draw(office: &Office, ask: &Ask, values: &Fields, change: &Change) -> Page {
    let fields = fields();
    let (who, rules) = fields.split_at(own::WHO_AND_WHERE);
    let shown = |fields: &[Field]| -> Markup {
        form::draw(fields, values, &change.wrong, |of| choices(office, ask, of))
    };
    let back = address::back(values.get("back").or(Some(OF))).to_owned();
    let body = html! {
        (change.told())
        form.entry method="post" action="/settings/nursery" {
            input type="hidden" name="id" value=[values.get("id")];
            input type="hidden" name="back" value=(back);
            (shown(who))
            (folded(own::RULES, &html! { div.within { (shown(rules)) } }))
            (header(office, ask, change))
            div.acts {
                button { (common::RECORD) }
                a.button.plain href=(back) { (common::BACK) }
            }
        }
    };
    Page::new(OF, words::NURSERY, own::ANSWER, body)
}
