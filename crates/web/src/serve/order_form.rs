//! The forms of an order with its first line, and of a line that comes on top or changes.

use std::collections::BTreeMap;

use app::ledger::{Choices, LineLife, OrderLine, RecordAnswer, Substitute};
use app::{AppError, TARGET_PERCENT, ledger::OrderAnswer};
use jiff::ToSpan;
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::address;
use super::ask::{Ask, Fields};
use super::form::{self, Field, Kind, Read, field};
use super::office::Office;
use super::page::Page;
use super::promises;
use super::record::{self, HEADER};
use super::reply::Reply;
use crate::words::common;
use crate::words::orders::line_form as words;

/// Days before the due day from which a line may be sent, where nothing is agreed (own).
const EARLY_DAYS: i32 = 28;
/// Days after the due day until which a customer takes it, where nothing is agreed (own).
const LATE_DAYS: i32 = 56;

const ROOTSTOCKS: [&str; 4] = ["rootstock1", "rootstock2", "rootstock3", "rootstock4"];
const SUBSTITUTES: [&str; 3] = ["substitute1", "substitute2", "substitute3"];

const fn rootstock(at: usize) -> Field {
    let (needed, hint) = (at == 0, if at == 0 { words::ROOTSTOCK_HINT } else { "" });
    field(
        ROOTSTOCKS[at],
        words::ROOTSTOCKS[at],
        Kind::One(Choices::Rootstocks),
        needed,
        hint,
    )
}

const VARIETY: Kind = Kind::One(Choices::AllVarieties);
const SIZE: Kind = Kind::One(Choices::Sizes);

const ORDER_FIELDS: [Field; 2] = [
    field("order", words::ORDER, Kind::Text, true, words::ORDER_HINT),
    field(
        "customer",
        words::CUSTOMER,
        Kind::OneOrNew(Choices::Customers),
        true,
        "",
    ),
];

const NEW_LINE: Field = field("line", words::LINE, Kind::Text, true, "");
const KNOWN_LINE: Field = field("line", words::LINE, Kind::Kept, true, "");

const TERMS: [Field; 13] = [
    field("variety", words::VARIETY, VARIETY, true, ""),
    rootstock(0),
    rootstock(1),
    rootstock(2),
    rootstock(3),
    field("size", words::SIZE, SIZE, true, ""),
    field("plants", words::PLANTS, Kind::Whole, true, ""),
    field("due", words::DUE, Kind::Day, true, ""),
    field(
        "earliest",
        words::EARLIEST,
        Kind::Day,
        false,
        words::EARLIEST_HINT,
    ),
    field(
        "latest",
        words::LATEST,
        Kind::Day,
        false,
        words::LATEST_HINT,
    ),
    field("price", words::PRICE, Kind::Money, true, ""),
    field("contract", words::CONTRACT, Kind::Flag, false, ""),
    field(
        "tolerance_percent",
        words::TOLERANCE,
        Kind::Number,
        false,
        words::TOLERANCE_HINT,
    ),
];

const FURTHER: [Field; 6] = [
    field(
        "deposit",
        words::DEPOSIT,
        Kind::Money,
        false,
        words::DEPOSIT_HINT,
    ),
    field(
        "cancel_percent",
        words::CANCEL,
        Kind::Number,
        false,
        words::CANCEL_HINT,
    ),
    field(
        "minimum_load",
        words::LOAD,
        Kind::Whole,
        false,
        words::LOAD_HINT,
    ),
    field(
        "target_percent",
        words::TARGET,
        Kind::Number,
        false,
        words::TARGET_HINT,
    ),
    field(
        "grade",
        words::GRADE,
        Kind::OneOrNew(Choices::Grades),
        false,
        words::GRADE_HINT,
    ),
    field(
        "health_class",
        words::HEALTH_CLASS,
        Kind::OneOrNew(Choices::HealthClasses),
        false,
        words::HEALTH_CLASS_HINT,
    ),
];

const fn substitute(at: usize, keys: [&'static str; 4]) -> [Field; 4] {
    let [variety, rootstock, size, price] = keys;
    [
        field(variety, words::SUBSTITUTE_VARIETY[at], VARIETY, false, ""),
        field(
            rootstock,
            words::ROOTSTOCK,
            Kind::One(Choices::Rootstocks),
            false,
            "",
        ),
        field(size, words::SIZE, SIZE, false, ""),
        field(
            price,
            words::SUBSTITUTE_PRICE,
            Kind::Money,
            false,
            words::SUBSTITUTE_PRICE_HINT,
        ),
    ]
}

const SUBSTITUTE_FIELDS: [[Field; 4]; 3] = [
    substitute(
        0,
        [
            "substitute1.variety",
            "substitute1.rootstock",
            "substitute1.size",
            "substitute1.price",
        ],
    ),
    substitute(
        1,
        [
            "substitute2.variety",
            "substitute2.rootstock",
            "substitute2.size",
            "substitute2.price",
        ],
    ),
    substitute(
        2,
        [
            "substitute3.variety",
            "substitute3.rootstock",
            "substitute3.size",
            "substitute3.price",
        ],
    ),
];

/// The form of a new order.
pub(super) fn new_page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut values = fresh(office, ask)?;
    let name = office
        .desk
        .read(|file, sight| Ok(file.next_order(&sight.books)))?;
    values.0.push(("order".to_owned(), name));
    values.0.push(("line".to_owned(), "1".to_owned()));
    let form = OrderForm::new(None, values);
    Ok(Reply::Page(form.page(office, ask)))
}

/// A new order.
pub(super) fn enter_order(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    OrderForm::new(None, ask.form.clone()).enter(office, ask)
}

/// The form of a line: one of the order's where the address names it, else one on top.
pub(super) fn line_page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let order = order_of(office, ask)?;
    let mut values = fresh(office, ask)?;
    if let Some(life) = line_of(&order, ask.query.get("line")) {
        let known = values_of(&life.line.terms, office.decimals());
        values.0.extend(known);
    } else {
        values.0.retain(|(key, _)| key != "line");
        values.0.push(("line".to_owned(), next_line(&order)));
        values.0.push(("adds".to_owned(), "yes".to_owned()));
    }
    let form = OrderForm::new(Some(&order), values);
    Ok(Reply::Page(form.page(office, ask)))
}

/// A line that was entered.
pub(super) fn enter_line(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let order = order_of(office, ask)?;
    OrderForm::new(Some(&order), ask.form.clone()).enter(office, ask)
}

/// Values of the address and a new name of the act to be.
fn fresh(office: &Office, ask: &Ask) -> Result<Fields, AppError> {
    let mut values = ask.query.clone();
    values.0.retain(|(key, _)| key != "id" && key != "adds");
    values.0.push(("id".to_owned(), office.ulid()?));
    Ok(values)
}

fn order_of(office: &Office, ask: &Ask) -> Result<OrderAnswer, AppError> {
    let day = office.today();
    office
        .desk
        .read(|file, sight| file.order(&sight.books, ask.part("name"), day))
}

fn line_of<'a>(order: &'a OrderAnswer, name: Option<&str>) -> Option<&'a LineLife> {
    let name = name?;
    order.lines.iter().find(|it| it.line.terms.line == name)
}

/// The first number that no line has for its name.
fn next_line(order: &OrderAnswer) -> String {
    let mut number = order.lines.len() + 1;
    while line_of(order, Some(&number.to_string())).is_some() {
        number += 1;
    }
    number.to_string()
}

/// What was agreed, as fields of the form.
fn values_of(line: &OrderLine, decimals: usize) -> Vec<(String, String)> {
    let mut values = vec![
        ("variety", line.variety.to_string()),
        ("size", line.size.to_string()),
        ("plants", line.plants.to_string()),
        ("due", line.due.to_string()),
        ("earliest", line.earliest.to_string()),
        ("latest", line.latest.to_string()),
        ("price", form::whole_units(line.price, decimals)),
    ];
    if line.contract {
        values.push(("contract", "yes".to_owned()));
    }
    if let Some(percent) = line.tolerance_percent {
        values.push(("tolerance_percent", f64::from(percent).to_string()));
    }
    values.extend(further_of(line, decimals));
    let rootstocks = ROOTSTOCKS.iter().zip(&line.rootstocks);
    values.extend(rootstocks.map(|(key, it)| (*key, it.to_string())));
    let given = line.substitutes.iter().flatten();
    for (fields, it) in SUBSTITUTE_FIELDS.iter().zip(given) {
        let parts = [
            it.variety.to_string(),
            it.rootstock.to_string(),
            it.size.to_string(),
            form::whole_units(it.price, decimals),
        ];
        values.extend(fields.iter().map(|it| it.key).zip(parts));
    }
    values
        .into_iter()
        .map(|(key, value)| (key.to_owned(), value))
        .collect()
}

fn further_of(line: &OrderLine, decimals: usize) -> Vec<(&'static str, String)> {
    let given = [
        (
            "deposit",
            line.deposit.map(|it| form::whole_units(it, decimals)),
        ),
        (
            "cancel_percent",
            line.cancel_percent.map(|it| f64::from(it).to_string()),
        ),
        ("minimum_load", line.minimum_load.map(|it| it.to_string())),
        (
            "target_percent",
            line.target_percent.map(|it| f64::from(it).to_string()),
        ),
        ("grade", line.grade.clone()),
        ("health_class", line.health_class.clone()),
    ];
    given
        .into_iter()
        .filter_map(|(key, value)| Some((key, value?)))
        .collect()
}

/// A form on its way.
struct OrderForm<'a> {
    /// The order that the line belongs to; none where the order is new.
    order: Option<&'a OrderAnswer>,
    values: Fields,
    wrong: BTreeMap<&'static str, String>,
    refusal: Option<RecordAnswer>,
}

impl<'a> OrderForm<'a> {
    fn new(order: Option<&'a OrderAnswer>, values: Fields) -> Self {
        Self {
            order,
            values,
            wrong: BTreeMap::new(),
            refusal: None,
        }
    }

    /// Whether the line is a new one.
    fn adds(&self) -> bool {
        self.order.is_none() || self.values.get("adds").is_some()
    }

    /// The order's own line of the name.
    fn known(&self) -> Option<&'a OrderLine> {
        let life = line_of(self.order?, self.values.get("line"))?;
        Some(&life.line.terms)
    }

    fn fields(&self) -> Vec<Field> {
        let own = if self.order.is_none() {
            &ORDER_FIELDS[..]
        } else {
            &[]
        };
        let line = if self.adds() { NEW_LINE } else { KNOWN_LINE };
        own.iter().chain([&line]).chain(&TERMS).copied().collect()
    }

    fn enter(mut self, office: &Office, ask: &Ask) -> Result<Reply, AppError> {
        let Some(act) = self.act(office, ask) else {
            return Ok(Reply::NotDone(self.page(office, ask)));
        };
        let answer = record::record(office, ask, &act)?;
        if answer.outcome == "refused" {
            self.refusal = Some(answer);
            return Ok(Reply::NotDone(self.page(office, ask)));
        }
        let order = act["order"].as_str().unwrap_or_default();
        let to = self.asked_back().unwrap_or_else(|| address::order(order));
        let id = answer.id.unwrap_or_default();
        Ok(Reply::See(address::with_fields(&to, &[("done", &id)])))
    }

    /// Where whoever led here wants to be led back to.
    fn asked_back(&self) -> Option<String> {
        let asked = self.values.get("back")?;
        Some(address::back(Some(asked)).to_owned())
    }

    /// The act; none where something is wrong.
    fn act(&mut self, office: &Office, ask: &Ask) -> Option<Value> {
        let sent = record::headed(&self.values, office.today(), ask);
        let mut fields = self.fields();
        let more = SUBSTITUTE_FIELDS.iter().flatten();
        fields.extend(FURTHER.iter().chain(more).chain(&HEADER));
        let mut read = form::read(&fields, &sent, office.decimals());
        let id = sent.get("id").unwrap_or_default();
        // Sent again, a line that was added is there already; it is the same act.
        let is_again = office.said_of(id).is_some();
        if self.order.is_some() && self.adds() && self.known().is_some() && !is_again {
            read.wrong.insert("line", words::LINE_IS_THERE.to_owned());
        }
        let line = line(&mut read, self.known());
        self.wrong = std::mem::take(&mut read.wrong);
        if !self.wrong.is_empty() {
            return None;
        }
        let mut act = read.keys;
        act.insert("id".to_owned(), json!(id));
        match self.order {
            None => act.insert("act".to_owned(), json!("order")),
            Some(order) => {
                act.insert("order".to_owned(), json!(order.order));
                act.insert("act".to_owned(), json!("change_order"))
            }
        };
        act.insert("lines".to_owned(), json!([line]));
        Some(Value::Object(act))
    }

    fn page(&self, office: &Office, ask: &Ask) -> Page {
        let (sheet, answer) = match self.order {
            None => (words::NEW_SHEET, words::NEW_ANSWER.to_owned()),
            Some(order) => {
                let line = self.values.get("line").filter(|_| !self.adds());
                (words::LINE_SHEET, words::question(&order.order, line))
            }
        };
        Page::new(promises::HERE, sheet, answer, self.body(office, ask))
    }

    fn body(&self, office: &Office, ask: &Ask) -> Markup {
        let day = office.day(ask);
        let choices = |of| office.choices(day, of);
        let header = record::headed(&self.values, day, ask);
        let asked_back = self.asked_back();
        let back = asked_back.clone().unwrap_or_else(|| match self.order {
            None => promises::HERE.to_owned(),
            Some(order) => address::order(&order.order),
        });
        let is_given = |it: &Field| self.values.get(it.key).is_some();
        let has_substitute = |fields: &[Field; 4]| fields.iter().any(is_given);
        let is_header_wrong = HEADER.iter().any(|it| self.wrong.contains_key(it.key));
        html! {
            @if self.order.is_none() { p.say { (words::NEW_HELP) } }
            (record::refused(self.refusal.as_ref()))
            form.entry method="post" action=(ask.path) {
                input type="hidden" name="id" value=[self.values.get("id")];
                @if let Some(back) = &asked_back { input type="hidden" name="back" value=(back); }
                @if self.values.get("adds").is_some() { input type="hidden" name="adds" value="yes"; }
                (form::draw(&self.fields(), &self.values, &self.wrong, choices))
                details open[FURTHER.iter().any(is_given)] {
                    summary { (words::FURTHER) }
                    (form::draw(&FURTHER, &self.values, &self.wrong, choices))
                }
                details open[SUBSTITUTE_FIELDS.iter().any(has_substitute)] {
                    summary { (words::MORE) }
                    @for fields in &SUBSTITUTE_FIELDS { fieldset { (form::draw(fields, &self.values, &self.wrong, choices)) } }
                }
                details open[ask.who.is_none() || is_header_wrong] {
                    summary { (words::WHO_AND_WHEN) }
                    (form::draw(&HEADER, &header, &self.wrong, choices))
                }
                div.acts {
                    button { @if self.order.is_none() { (words::RECORD_ORDER) } @else { (words::RECORD_LINE) } }
                    a.button.plain href=(back) { (common::BACK) }
                }
            }
        }
    }
}

/// Takes a line out of what was read; what the form has no room for stays as it is known.
fn line(read: &mut Read, known: Option<&OrderLine>) -> Value {
    let mut line = Map::new();
    line.insert("rootstocks".to_owned(), rootstocks(read, known));
    line.insert("substitutes".to_owned(), substitutes(read, known));
    let due = read.keys.get("due").and_then(day_of);
    let by_default = |days: i32| due.map(|due| json!(due.saturating_add(days.days())));
    for (key, days) in [("earliest", -EARLY_DAYS), ("latest", LATE_DAYS)] {
        if let (None, Some(day)) = (read.keys.get(key), by_default(days)) {
            line.insert(key.to_owned(), day);
        }
    }
    for (key, right, wrong) in [
        ("tolerance_percent", 0.0..=100.0, words::NOT_PERCENT),
        ("cancel_percent", 0.0..=100.0, words::NOT_PERCENT),
        ("target_percent", TARGET_PERCENT, words::NO_TARGET),
    ] {
        let percent = read.keys.get(key).and_then(Value::as_f64);
        if percent.is_some_and(|it| !right.contains(&it)) {
            read.wrong.insert(key, wrong.to_owned());
        }
    }
    let own = TERMS
        .iter()
        .chain(&FURTHER)
        .map(|it| it.key)
        .chain(["line"]);
    for key in own {
        if let Some(value) = read.keys.remove(key) {
            line.insert(key.to_owned(), value);
        }
    }
    Value::Object(line)
}

fn day_of(value: &Value) -> Option<Date> {
    value.as_str()?.parse().ok()
}

fn rootstocks(read: &mut Read, known: Option<&OrderLine>) -> Value {
    let mut names: Vec<String> = Vec::new();
    for key in ROOTSTOCKS {
        let Some(Value::String(name)) = read.keys.remove(key) else {
            continue;
        };
        if names.contains(&name) {
            read.wrong.insert(key, words::SAME_ROOTSTOCK.to_owned());
        }
        names.push(name);
    }
    let more = known.iter().flat_map(|it| &it.rootstocks);
    for name in more.skip(ROOTSTOCKS.len()).map(ToString::to_string) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    json!(names)
}

fn substitutes(read: &mut Read, known: Option<&OrderLine>) -> Value {
    let price = read.keys.get("price").cloned();
    let mut all = Vec::new();
    for (name, fields) in SUBSTITUTES.iter().zip(&SUBSTITUTE_FIELDS) {
        let Some(Value::Object(mut it)) = read.keys.remove(*name) else {
            continue;
        };
        for (key, field) in ["variety", "rootstock", "size"].iter().zip(fields) {
            if !it.contains_key(*key) {
                let wrong = words::HALF_SUBSTITUTE.to_owned();
                read.wrong.insert(field.key, wrong);
            }
        }
        if let (None, Some(price)) = (it.get("price"), &price) {
            it.insert("price".to_owned(), price.clone());
        }
        all.push(Value::Object(it));
    }
    let more = known.and_then(|it| it.substitutes.as_ref());
    let more: &[Substitute] = more
        .and_then(|it| it.get(SUBSTITUTES.len()..))
        .unwrap_or_default();
    all.extend(more.iter().map(|it| json!(it)));
    json!(all)
}
