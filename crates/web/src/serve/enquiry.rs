//! A first answer to whoever asks: how sure, how many, from when, and what else.

use std::collections::BTreeMap;

use app::ledger::{Alternative, Choices, Enquiry, PromiseAnswer, RunAnswer};
use app::{AppError, Kind as Failed};
use maud::{Markup, html};

use super::address;
use super::ask::{Ask, Fields};
use super::form::{self, Field, Kind};
use super::office::Office;
use super::page::Page;
use super::promises;
use super::reply::Reply;
use crate::figures::{count, percent, price};
use crate::frame::{columns, folded};
use crate::lines::odds_words;
use crate::words::enquiry as words;
use crate::words::orders;

/// Odds that are asked for where none are given, percent; as on the command line.
const AT_ODDS: u32 = 90;
/// Odds that can be read off the three quantiles, percent.
const KNOWN_ODDS: std::ops::RangeInclusive<u32> = 5..=95;

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

/// The page: a form, and the answer to it.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let mut values = ask.query.clone();
    // A week stands for its Monday.
    for (key, value) in &mut values.0 {
        if let (true, Some(monday)) = (key == "by", app::ledger::day_of_week(value.trim())) {
            *value = monday.to_string();
        }
    }
    values.0.push(("odds".to_owned(), AT_ODDS.to_string()));
    let run = office
        .desk
        .read(|file, sight| file.last_futures(&sight.books))?;
    let (mut wrong, mut asked) = (BTreeMap::new(), None);
    if values.get("plants").is_some() {
        match enquiry(&values) {
            Ok(enquiry) => asked = Some(enquiry),
            Err(why) => wrong = why,
        }
    }
    let answer = match &asked {
        Some(enquiry) => answered(office, enquiry)?,
        None => None,
    };
    let view = View {
        office,
        ask,
        run,
        wrong,
        values,
    };
    Ok(Reply::Page(view.page(asked.as_ref().zip(answer.as_ref()))))
}

/// The answer from the last futures; none before any were drawn.
fn answered(office: &Office, enquiry: &Enquiry) -> Result<Option<PromiseAnswer>, AppError> {
    match office.desk.read(|file, _| file.promise(enquiry)) {
        Ok(answer) => Ok(Some(answer)),
        Err(error) if error.kind == Failed::NotFound => Ok(None),
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
    })
}

struct View<'a> {
    office: &'a Office,
    ask: &'a Ask,
    run: Option<RunAnswer>,
    wrong: BTreeMap<&'static str, String>,
    values: Fields,
}

impl View<'_> {
    fn page(&self, answered: Option<(&Enquiry, &PromiseAnswer)>) -> Page {
        let answer = match (answered, &self.run) {
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
            @if self.run.is_none() {
                p.say { (words::NO_FUTURES_STEP) }
                div.acts { a.button href=(promises::PLANS) { (words::MAKE_PLAN) } }
            } @else if let Some((asked, it)) = answered {
                (self.facts(asked, it))
                (self.alternatives(asked, &it.alternatives))
            }
            section {
                @if answered.is_some() { h2 { (words::QUESTION) } }
                (self.form())
            }
            @if self.run.is_some() {
                (promises::run_words(self.run.as_ref(), 0, self.office.day(self.ask)))
                @if self.run.as_ref().is_some_and(|it| it.entries_since > 0) { p { (words::ENTRIES_SINCE) } }
            }
            (folded(words::METHOD, &html! { p.say { (words::METHOD_WORDS) } }))
        };
        Page::new(promises::HERE, words::SHEET, answer, body)
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

    fn facts(&self, asked: &Enquiry, it: &PromiseAnswer) -> Markup {
        let currency = self.office.currency();
        let order = |plants| self.order(asked, plants, it.price);
        html! {
            dl.facts {
                dt { (words::ODDS) } dd { span.odds { (odds_words(Some(it.odds))) } }
                dt { (words::LARGEST) } dd { (words::at_odds(it.largest, &percent(it.at_odds))) }
                dt { (words::EARLIEST) } dd { @match &it.earliest_week { Some(week) => (week), None => (words::NEVER) } }
                @if let Some(minor) = it.price { dt { (words::PRICE) } dd { (price(app::of_minor(minor, &currency), &currency)) " " (currency) } }
            }
            div.acts {
                a.button.plain[it.largest < asked.plants] href=(order(asked.plants)) { (words::ENTER) }
                @if it.largest > 0 && it.largest < asked.plants {
                    a.button href=(order(it.largest)) { (words::ENTER_LARGEST) " (" (count(u64::from(it.largest))) ")" }
                }
            }
        }
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
                        (columns(&[(words::WHAT, false), (orders::PLANTS, true), (words::ODDS, false), (words::PRICE, true), ("", false)]))
                        tbody { @for it in all { (self.alternative(asked, it)) } }
                    }
                }
            }
        }
    }

    fn alternative(&self, asked: &Enquiry, it: &Alternative) -> Markup {
        let currency = self.office.currency();
        let offer = address::with_fields(
            "/enquiry",
            &[
                ("variety", &it.variety),
                ("rootstock", &it.rootstock),
                ("size", &it.size),
                ("plants", &it.plants.min(asked.plants).to_string()),
                ("by", self.values.get("by").unwrap_or_default()),
                ("odds", &asked.at_odds.to_string()),
            ],
        );
        html! {
            tr {
                td.lead { (self.what(&it.variety, &it.rootstock, &it.size)) }
                td.n data-head=(orders::PLANTS) data-v=(it.plants) { (count(u64::from(it.plants))) }
                td data-head=(words::ODDS) data-v=(it.odds) { span.odds { (odds_words(Some(it.odds))) } }
                td.n data-head=(words::PRICE) { @match it.price { Some(minor) => (price(app::of_minor(minor, &currency), &currency)), None => "–" } }
                td.full-row { a.button.plain href=(offer) { (words::OFFER) } }
            }
        }
    }
}
