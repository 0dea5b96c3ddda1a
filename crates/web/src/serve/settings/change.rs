//! A change of settings on its way: what was sent, what is wrong with it, whether it was recorded.

use std::collections::BTreeMap;

use app::ledger::settings::{NewSetting, SetAnswer, Setter, WrongSetting};
use app::ledger::{Choice, Choices, RecordAnswer};
use app::{AppError, RowProblem};
use jiff::civil::Date;
use maud::{Markup, html};

use super::super::ask::{Ask, Fields, is_name};
use super::super::form::{self, Field, Kind};
use super::super::office::Office;
use super::super::record;
use crate::figures::sentence;
use crate::words::common;
use crate::words::settings as words;

/// The day from which a change holds.
const FROM: Field = Field {
    key: "holds_from",
    label: words::HOLDS_FROM,
    kind: Kind::Day,
    needed: true,
    hint: words::HOLDS_FROM_HINT,
};

/// Who records it.
const BY: Field = Field {
    key: "by",
    label: words::PERSON,
    kind: Kind::OneOrNew(Choices::People),
    needed: true,
    hint: "",
};

/// What came of a change.
pub(crate) enum Outcome {
    /// It is recorded.
    Done,
    /// It is not, and the form says why.
    NotDone,
}

/// A change on its way.
#[derive(Default)]
pub(crate) struct Change {
    /// What is wrong, by field.
    pub(crate) wrong: BTreeMap<&'static str, String>,
    /// What no longer fits elsewhere.
    pub(crate) elsewhere: Vec<RowProblem>,
    /// Why the ledger refused it.
    pub(crate) refusal: Option<RecordAnswer>,
}

impl Change {
    /// Records settings that were read from a form: all of them, or none. A problem of one of them is
    /// put at the field that `field_of` names for its place among them and its column.
    pub(crate) fn record(
        &mut self,
        office: &Office,
        ask: &Ask,
        settings: Vec<NewSetting>,
        field_of: impl Fn(usize, &str) -> Option<&'static str>,
    ) -> Result<Outcome, AppError> {
        let Some((by, from)) = self.who_and_when(office, ask) else {
            return Ok(Outcome::NotDone);
        };
        let now = office.now();
        let setter = Setter {
            by: &by,
            on: office.today(),
            from,
            recorded_at: &now,
        };
        match office.desk.write(|file| file.set(settings, setter))? {
            SetAnswer::Done => return Ok(Outcome::Done),
            SetAnswer::Wrong(wrong) => self.note(wrong, field_of),
            SetAnswer::Refused(refusal) => self.refusal = Some(refusal),
        }
        Ok(Outcome::NotDone)
    }

    fn note(
        &mut self,
        wrong: Vec<WrongSetting>,
        field_of: impl Fn(usize, &str) -> Option<&'static str>,
    ) {
        for WrongSetting { of, problem } in wrong {
            let column = problem.column.as_deref().unwrap_or_default();
            match of.and_then(|at| field_of(at, column)) {
                Some(field) => {
                    let why = words::at_field(&problem.rule, &problem.mend);
                    self.wrong.entry(field).or_insert(why);
                }
                None => self.elsewhere.push(problem),
            }
        }
    }

    fn who_and_when(&mut self, office: &Office, ask: &Ask) -> Option<(String, Date)> {
        let fields = with_header(office, ask, &ask.form);
        let read = form::read(&[FROM, BY], &fields, office.decimals());
        self.wrong.extend(read.wrong);
        let by = fields.get("by").unwrap_or_default().to_owned();
        if !is_name(&by) {
            self.wrong
                .insert("by", common::failures::NO_PERSON_MEND.to_owned());
        }
        let from = fields.get("holds_from").and_then(|it| it.parse().ok())?;
        self.wrong.is_empty().then_some((by, from))
    }

    /// Whether anything stands in its way.
    pub(crate) fn is_wrong(&self) -> bool {
        !self.wrong.is_empty() || !self.elsewhere.is_empty() || self.refusal.is_some()
    }

    /// What stands in its way, above the form.
    pub(crate) fn told(&self) -> Markup {
        html! {
            (record::refused(self.refusal.as_ref()))
            @if self.refusal.is_none() && self.is_wrong() {
                div.refused role="alert" {
                    p { b { (words::NOT_RECORDED) ". " } @if !self.wrong.is_empty() { (words::MEND_FIELDS) } }
                    @if !self.elsewhere.is_empty() {
                        ul.plain { @for it in self.elsewhere.iter().take(20) { li { (sentence(&it.to_string())) } } }
                    }
                }
            }
        }
    }
}

/// What was sent, with the day and the person where the form left them to be filled in.
fn with_header(office: &Office, ask: &Ask, sent: &Fields) -> Fields {
    let mut fields = sent.clone();
    let known = [
        ("holds_from", Some(office.today().to_string())),
        ("by", ask.who.clone()),
    ];
    for (key, value) in known {
        if let (None, Some(value)) = (fields.get(key), value) {
            fields.0.push((key.to_owned(), value));
        }
    }
    fields
}

/// Day and person of a change, folded where both are known.
pub(crate) fn header(office: &Office, ask: &Ask, change: &Change) -> Markup {
    let fields = with_header(office, ask, &ask.form);
    let is_open = ask.who.is_none()
        || change.wrong.contains_key("by")
        || change.wrong.contains_key("holds_from");
    html! {
        details open[is_open] {
            summary { (words::MORE) }
            (form::draw(&[FROM, BY], &fields, &change.wrong, |of| choices(office, ask, of)))
        }
    }
}

/// The person alone, asked for where nobody is known.
pub(crate) fn person_field(office: &Office, ask: &Ask, change: &Change) -> Markup {
    html! {
        @if ask.who.is_none() {
            (form::draw(&[BY], &ask.form, &change.wrong, |of| choices(office, ask, of)))
        }
    }
}

/// What there is to choose.
pub(crate) fn choices(office: &Office, ask: &Ask, of: Choices) -> Vec<Choice> {
    let day = office.day(ask);
    let known = office
        .desk
        .read(|file, sight| Ok(file.choices(&sight.books, day, of)));
    known.unwrap_or_default()
}
