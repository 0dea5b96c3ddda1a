//! An answer to whoever asks: how sure, how many, from when, what else; and the promise itself.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use app::ledger::desk::OddsState;
use app::ledger::{Alternative, Break, Choices, Enquiry, Maker, PromiseAnswer};
use app::{AppError, Kind as Failed};
use maud::{Markup, html};

use super::address;
use super::ask::{Ask, Fields};
use super::form::{self, Field, Kind};
use super::keeper;
use super::office::Office;
use super::page::Page;
use super::promises;
use super::record::{self, HEADER};
use super::reply::Reply;
use crate::figures::{count, percent, price, sentence};
use crate::frame::{columns, folded};
use crate::lines::odds_words;
use crate::words::common::WHAT_HELPS;
use crate::words::enquiry as words;
use crate::words::orders;
use crate::words::promises::PARTS;

/// Odds that are asked for where none are given, percent; as on the command line.
const AT_ODDS: u32 = 90;
/// Odds that can be asked for, percent.
const KNOWN_ODDS: std::ops::RangeInclusive<u32> = 1..=99;

const fn must(key: &'static str, label: &'static str, kind: Kind, hint: &'static str) -> Field {
    Field {
        key,
        label,
        kind,
        needed: true,
        hint,
    }
}

const FIELDS: [Field; 6] = [
    must("variety", words::VARIETY, Kind::One(Choices::Varieties), ""),
    must(
        "rootstock",
        words::ROOTSTOCK,
        Kind::One(Choices::Rootstocks),
        "",
    ),
    must("size", words::SIZE, Kind::One(Choices::Sizes), ""),
    must("plants", words::PLANTS, Kind::Whole, ""),
    must("by", words::BY, Kind::Day, words::BY_HINT),
    must("odds", words::AT_ODDS, Kind::Whole, words::AT_ODDS_HINT),
];

/// What the form of a promise asks for beside the enquiry.
const CUSTOMER: Field = must(
    "customer",
    words::CUSTOMER,
    Kind::OneOrNew(Choices::Customers),
    "",
);

/// The price that is agreed.
const PRICE: Field = must("price", words::PRICE_EACH, Kind::Money, words::PRICE_HINT);

/// The page: a form, and the answer to it.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut values = ask.query.clone();
    values.0.retain(|(key, _)| key != "id" && key != "id2");
    values.0.push(("id".to_owned(), office.ulid()?));
    values.0.push(("id2".to_owned(), office.ulid()?));
    View::of(office, ask, values)?.reply(None)
}

/// In the form of a promise `by` is the person, as in every act: there the week is `until`.
const WEEK_OF_PROMISE: &str = "until";
/// The person of a promise, among the fields of an enquiry.
const PERSON: &str = "person";

/// The fields of a promise's form as those of an enquiry.
fn of_form(form: &Fields) -> Fields {
    let renamed = form.0.iter().map(|(key, value)| {
        let key = match key.as_str() {
            "by" => PERSON,
            WEEK_OF_PROMISE => "by",
            other => other,
        };
        (key.to_owned(), value.clone())
    });
    Fields(renamed.collect())
}

/// A promise that is made.
pub(super) fn promise(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    // Odds are to know of everything that was recorded: drawn here where they do not yet.
    keeper::look(office, &Arc::new(AtomicBool::new(false)));
    let mut view = View::of(office, ask, of_form(&ask.form))?;
    let (maker, terms) = (view.maker(), view.terms());
    let (Some(asked), Some(maker), Some((customer, price))) = (view.asked.clone(), maker, terms)
    else {
        return Ok(match view.reply(None)? {
            Reply::Page(page) => Reply::NotDone(page),
            other => other,
        });
    };
    let enquiry = Enquiry {
        customer: Some(customer),
        price: Some(price),
        ..asked
    };
    let made = office
        .desk
        .make_promise(office.today(), &enquiry, &maker, &office.now());
    match made {
        Ok(order) => {
            let done = [("done", maker.ids[1].as_str())];
            Ok(Reply::See(address::with_fields(
                &address::order(&order),
                &done,
            )))
        }
        Err(error) if error.kind == Failed::Invalid => view.reply(Some(error)),
        Err(error) => Err(error),
    }
}

fn enquiry(values: &Fields) -> Result<Enquiry, BTreeMap<&'static str, String>> {
    let form::Read { keys, mut wrong } = form::read(&FIELDS, values, 0);
    let whole = |key: &str| {
        keys.get(key)
            .and_then(|it| u32::try_from(it.as_u64()?).ok())
    };
    if whole("plants") == Some(0) {
        wrong.insert("plants", words::NO_PLANTS.to_owned());
    }
    if whole("odds").is_some_and(|it| !KNOWN_ODDS.contains(&it)) {
        wrong.insert("odds", words::WRONG_ODDS.to_owned());
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let text = |key: &str| keys[key].as_str().unwrap_or_default().to_owned();
    let by = text("by").parse().ok().map(app::ledger::iso_week);
    Ok(Enquiry {
        variety: text("variety"),
        rootstock: text("rootstock"),
        size: text("size"),
        plants: whole("plants").unwrap_or_default(),
        by: by.unwrap_or_default(),
        at_odds: whole("odds").unwrap_or(AT_ODDS),
        customer: None,
        price: None,
    })
}

struct View<'a> {
    office: &'a Office,
    ask: &'a Ask,
    odds: OddsState,
    wrong: BTreeMap<&'static str, String>,
    values: Fields,
    asked: Option<Enquiry>,
}

impl<'a> View<'a> {
    fn of(office: &'a Office, ask: &'a Ask, mut values: Fields) -> Result<Self, AppError> {
        // A week stands for its Monday.
        for (key, value) in &mut values.0 {
            if let (true, Some(monday)) = (key == "by", app::ledger::day_of_week(value.trim())) {
                *value = monday.to_string();
            }
        }
        values.0.push(("odds".to_owned(), AT_ODDS.to_string()));
        let (mut wrong, mut asked) = (BTreeMap::new(), None);
        if values.get("plants").is_some() {
            match enquiry(&values) {
                Ok(enquiry) => asked = Some(enquiry),
                Err(why) => wrong = why,
            }
        }
        Ok(Self {
            office,
            ask,
            odds: office.desk.odds(office.day(ask))?,
            wrong,
            values,
            asked,
        })
    }

    fn is_today(&self) -> bool {
        self.office.day(self.ask) == self.office.today()
    }

    /// Why odds that there are could not be drawn anew.
    fn failed_since(&self) -> Option<&AppError> {
        self.odds
            .failed
            .as_ref()
            .filter(|_| self.odds.now.is_some())
    }

    /// Who makes a promise; none where the form lacks it.
    fn maker(&mut self) -> Option<Maker> {
        let form::Read { keys, wrong } = form::read(&HEADER, &self.header(), 0);
        self.wrong.extend(wrong);
        let text = |key: &str| keys.get(key)?.as_str().map(str::to_owned);
        let id = |key: &str| self.values.get(key).map(str::to_owned);
        Some(Maker {
            by: text("by")?,
            on: text("on")?.parse().ok()?,
            ids: [id("id")?, id("id2")?],
        })
    }

    /// Day and person of a promise, as far as they are known.
    fn header(&self) -> Fields {
        let known = |key: &'static str, from: &str| {
            let value = self.values.get(from)?;
            Some((key.to_owned(), value.to_owned()))
        };
        let typed = [known("on", "on"), known("by", PERSON)];
        let typed = Fields(typed.into_iter().flatten().collect());
        record::headed(&typed, self.office.today(), self.ask)
    }

    /// For whom a promise is, and at what price.
    fn terms(&mut self) -> Option<(String, i64)> {
        let decimals = self.office.decimals();
        let form::Read { keys, wrong } = form::read(&[CUSTOMER, PRICE], &self.values, decimals);
        self.wrong.extend(wrong);
        let customer = keys.get("customer")?.as_str()?.to_owned();
        Some((customer, keys.get("price")?.as_i64()?))
    }

    /// The page, with why a promise was not made where it was not.
    fn reply(&self, refused: Option<AppError>) -> Result<Reply, AppError> {
        let answer = match &self.asked {
            Some(asked) => self.office.desk.promise(self.office.day(self.ask), asked),
            None => Ok(None),
        };
        let (answer, failed) = match answer {
            Ok(answer) => (answer, None),
            Err(error) if error.kind == Failed::Invalid => (None, Some(error)),
            Err(error) => return Err(error),
        };
        let is_refused = refused.is_some();
        let page = self.page(answer.as_ref(), refused.or(failed).as_ref());
        Ok(if is_refused {
            Reply::NotDone(page)
        } else {
            Reply::Page(page)
        })
    }

    fn page(&self, answer: Option<&PromiseAnswer>, failed: Option<&AppError>) -> Page {
        let answered = self.asked.as_ref().zip(answer);
        let said = match (answered, &self.odds.now) {
            (_, None) => words::NO_FUTURES.to_owned(),
            (None, Some(_)) => words::QUESTION.to_owned(),
            (Some((asked, it)), Some(_)) => words::answer(
                it.largest >= asked.plants,
                asked.plants,
                &self.what(&asked.variety, &asked.rootstock, &asked.size),
                &asked.by,
                it.largest,
            ),
        };
        let body = html! {
            @if let Some(error) = failed.or(self.failed_since()) { (not_possible(error)) }
            @if self.odds.now.is_none() { (no_odds(&self.odds)) }
            @else if let Some((asked, it)) = answered {
                (self.facts(it))
                (breaks(&it.breaks))
                @if it.largest >= asked.plants { (self.promise_form(asked, it)) }
                @else { (self.instead(asked, it)) }
                (self.alternatives(asked, &it.alternatives))
            }
            section {
                @if answered.is_some() { h2 { (words::QUESTION) } }
                (self.form())
            }
            @if let Some(now) = &self.odds.now { p.quiet { (words::from_odds(now.answer.futures, &app::date_words(now.as_of), self.odds.is_stale && self.is_today())) } }
            (folded(words::METHOD, &html! { p.say { (words::METHOD_WORDS) } }))
        };
        let page = Page::new(promises::HERE, words::SHEET, said, body).among(PARTS);
        if self.odds.now.is_none() && self.odds.is_stale && self.is_today() {
            page.awaiting_odds()
        } else {
            page
        }
    }

    /// What is asked for, in words.
    fn what(&self, variety: &str, rootstock: &str, size: &str) -> String {
        let name = |of: Choices, name: &str| {
            let known = self.office.choices(self.office.today(), of);
            let found = known.into_iter().find(|(it, _)| it == name);
            found.map_or_else(|| name.to_owned(), |(_, said)| said)
        };
        format!(
            "{} on {}, {size}",
            name(Choices::AllVarieties, variety),
            name(Choices::Rootstocks, rootstock)
        )
    }

    fn form(&self) -> Markup {
        let day = self.office.day(self.ask);
        html! {
            p.say { (words::HELP) }
            form.entry action="/enquiry" {
                @if let Some(day) = self.ask.as_of { input type="hidden" name="as_of" value=(day); }
                (form::draw(&FIELDS, &self.values, &self.wrong, |of| self.office.choices(day, of)))
                div.acts { button { (words::ASK) } }
            }
        }
    }

    fn facts(&self, it: &PromiseAnswer) -> Markup {
        let currency = self.office.currency();
        html! {
            dl.facts {
                dt { (words::ODDS) } dd { span.odds { (odds_words(Some(it.odds))) } }
                dt { (words::LARGEST) } dd { (words::at_odds(it.largest, &percent(it.at_odds))) }
                dt { (words::EARLIEST) } dd { @match &it.earliest_week { Some(week) => (week), None => (words::NEVER) } }
                @if let Some(minor) = it.price { dt { (words::PRICE) } dd { (price(app::of_minor(minor, &currency), &currency)) " " (currency) } }
            }
        }
    }

    /// The form that makes the promise.
    fn promise_form(&self, asked: &Enquiry, it: &PromiseAnswer) -> Markup {
        let day = self.office.day(self.ask);
        let header = self.header();
        let choices = |of| self.office.choices(day, of);
        let is_header_wrong = HEADER.iter().any(|it| self.wrong.contains_key(it.key));
        let mut priced = self.values.clone();
        if let (None, Some(minor)) = (priced.get("price"), it.price) {
            let listed = form::whole_units(minor.round() as i64, self.office.decimals());
            priced.0.push(("price".to_owned(), listed));
        }
        html! {
            section {
                h2 { (words::PROMISE_IT) }
                form.entry method="post" action="/enquiry" {
                    @for key in ["id", "id2"] { input type="hidden" name=(key) value=[self.values.get(key)]; }
                    @for field in &FIELDS {
                        @let key = if field.key == "by" { WEEK_OF_PROMISE } else { field.key };
                        input type="hidden" name=(key) value=[self.values.get(field.key)];
                    }
                    (form::draw(&[CUSTOMER, PRICE], &priced, &self.wrong, choices))
                    details open[self.ask.who.is_none() || is_header_wrong] {
                        summary { (words::WHO_AND_WHEN) }
                        (form::draw(&HEADER, &header, &self.wrong, choices))
                    }
                    div.acts {
                        button { (words::promise_so_many(asked.plants)) }
                        a.button.plain href=(self.order(asked, asked.plants, it.price)) { (words::ENTER) }
                    }
                }
            }
        }
    }

    /// What to do where not all can be promised.
    fn instead(&self, asked: &Enquiry, it: &PromiseAnswer) -> Markup {
        html! {
            div.acts {
                @if it.largest > 0 { a.button href=(self.offer(asked, it.largest, &asked.by, None)) { (words::offer_largest(it.largest)) } }
                a.button.plain href=(self.order(asked, asked.plants, it.price)) { (words::ENTER) }
            }
        }
    }

    /// This page with another number, week or product.
    fn offer(&self, asked: &Enquiry, plants: u32, by: &str, product: Option<[&str; 2]>) -> String {
        let [rootstock, size] = product.unwrap_or([&asked.rootstock, &asked.size]);
        let customer = self.values.get("customer").unwrap_or_default();
        address::with_fields(
            "/enquiry",
            &[
                ("variety", &asked.variety),
                ("rootstock", rootstock),
                ("size", size),
                ("plants", &plants.to_string()),
                ("by", by),
                ("odds", &asked.at_odds.to_string()),
                ("customer", customer),
            ],
        )
    }

    /// The form of a new order for so many.
    fn order(&self, asked: &Enquiry, plants: u32, minor: Option<f64>) -> String {
        let due = self.values.get("by").unwrap_or_default();
        let price = minor.map(|it| form::whole_units(it.round() as i64, self.office.decimals()));
        address::with_fields(
            "/orders/new",
            &[
                ("variety", &asked.variety),
                ("rootstock1", &asked.rootstock),
                ("size", &asked.size),
                ("plants", &plants.to_string()),
                ("due", due),
                ("price", price.as_deref().unwrap_or_default()),
            ],
        )
    }

    fn alternatives(&self, asked: &Enquiry, all: &[Alternative]) -> Markup {
        html! {
            section {
                h2 { (words::ALTERNATIVES) }
                @if all.is_empty() { p { (words::NO_ALTERNATIVES) } }
                @else {
                    table.rows.sort {
                        (columns(&[(words::WHAT, false), (orders::PLANTS, true), (words::BY, false), (words::ODDS, false), (words::PRICE, true), ("", false)]))
                        tbody { @for it in all { (self.alternative(asked, it)) } }
                    }
                }
            }
        }
    }

    fn alternative(&self, asked: &Enquiry, it: &Alternative) -> Markup {
        let currency = self.office.currency();
        let product = Some([it.rootstock.as_str(), it.size.as_str()]);
        let plants = it.plants.min(asked.plants);
        html! {
            tr {
                td.lead { (self.what(&it.variety, &it.rootstock, &it.size)) }
                td.n data-head=(orders::PLANTS) data-v=(it.plants) { (count(u64::from(it.plants))) }
                td data-head=(words::BY) {
                    (it.by)
                    @if let Some(rest) = &it.rest { small { (words::rest(rest.plants, &rest.by)) } }
                }
                td data-head=(words::ODDS) data-v=(it.odds) { span.odds { (odds_words(Some(it.odds))) } }
                td.n data-head=(words::PRICE) { @match it.price { Some(minor) => (price(app::of_minor(minor, &currency), &currency)), None => "–" } }
                td.full-row {
                    @if let Some(rest) = &it.rest {
                        a.button.plain href=(self.offer(asked, plants, &it.by, product)) { (words::OFFER_FIRST) }
                        " "
                        a.button.plain href=(self.offer(asked, rest.plants, &rest.by, product)) { (words::OFFER_REST) }
                    } @else {
                        a.button.plain href=(self.offer(asked, plants, &it.by, product)) { (words::OFFER) }
                    }
                }
            }
        }
    }
}

/// Promises made before that all the plants asked for would break.
fn breaks(breaks: &[Break]) -> Markup {
    html! {
        @if !breaks.is_empty() {
            section {
                h2 { (words::BREAKS) }
                ul.plain {
                    @for it in breaks {
                        li {
                            a href=(address::order(&it.order)) { (words::broken_line(&it.order, &it.line)) }
                            (words::broken(&percent(it.odds), &percent(it.odds_then), &percent(it.target)))
                        }
                    }
                }
            }
        }
    }
}

/// Why there are no odds to answer from, and what helps.
pub(super) fn no_odds(odds: &OddsState) -> Markup {
    html! {
        @match &odds.failed {
            Some(error) if !odds.is_stale => {
                @if error.kind == Failed::NotFound {
                    p.say { (words::NO_FUTURES_STEP) }
                    div.acts { a.button href=(promises::PLANS) { (words::MAKE_PLAN) } }
                } @else { (not_possible(error)) }
            }
            _ => p.say { (words::BEING_DRAWN) }
        }
    }
}

/// What went wrong, and what helps.
pub(super) fn not_possible(error: &AppError) -> Markup {
    html! {
        div.notice {
            p { (sentence(&error.what)) }
            p.mend { b { (WHAT_HELPS) } (sentence(&error.mend)) }
        }
    }
}
