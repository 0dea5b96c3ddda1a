//! An order: its lines with their odds and their past, and which plants are meant for them.

use app::AppError;
use app::ledger::{
    FittingLot, LineChange, LineEvent, LineLife, LineState, OrderAnswer, OrderLine,
    OrderLineAnswer, Origin, ServingJob,
};
use jiff::civil::Date;
use maud::{Markup, html};

use super::address;
use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::planting;
use super::promises::{self, change_of, enquiry_of, reasons, run_words, state_words, strip_of};
use super::reply::Reply;
use crate::figures::{amount, count, percent, price};
use crate::frame::{columns, folded};
use crate::lines::odds_words;
use crate::scale::Odds;
use crate::words::orders::{self as words, line_form, past};
use crate::words::planting as planting_words;
use crate::words::promises::{DECIDE_MARK, OFFER_ELSE};

/// Lines a page.
const LINES: usize = 8;
/// Lots named of those that a line's trees come from.
const ORIGINS: usize = 8;
/// Planned jobs shown of a line; the plan has all.
const JOBS: usize = 24;

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let order = office
        .desk
        .read(|file, sight| file.order(&sight.books, ask.part("name"), day))?;
    let view = View {
        day,
        currency: office.currency(),
        ask,
        order: &order,
    };
    let lines = order.lines.iter().map(|it| &it.line);
    let open = lines.clone().filter(|it| it.state == LineState::Open);
    let plants: u64 = open.clone().map(|it| u64::from(it.open())).sum();
    let answer = words::answer(
        &order.order,
        &order.customer,
        open.count(),
        order.lines.len(),
        plants,
    );
    let sheet = format!("{} {}", words::SHEET, order.order);
    let csv = address::with_fields("/promises.csv", &[("order", &order.order), ("show", "all")]);
    let page = Page::new(promises::HERE, sheet, answer, view.body()).with_csv(csv);
    Ok(Reply::Page(promises::until_odds_follow(office, ask, page)?))
}

struct View<'a> {
    day: Date,
    currency: String,
    ask: &'a Ask,
    order: &'a OrderAnswer,
}

impl View<'_> {
    fn body(&self) -> Markup {
        let order = self.order;
        let newer = order
            .lines
            .iter()
            .filter(|it| it.line.no_odds == Some(app::ledger::NoOdds::Newer));
        let at = address::order(&order.order);
        let last = order.lines.len().saturating_sub(1) / LINES;
        let asked = self.ask.query.get("page").and_then(|it| it.parse().ok());
        let page: usize = last.min(asked.unwrap_or(0));
        let to = |page: usize| self.ask.address_with("page", Some(&page.to_string()));
        html! {
            p.quiet { (words::since(&app::date_words(order.since))) }
            (run_words(order.futures.as_ref(), newer.count(), self.day))
            div.acts {
                a.button href=(format!("{at}/line")) { (words::ADD_LINE) }
                @if let Some(cancel) = self.cancel() { a.button.plain href=(cancel) { (words::CANCEL_ORDER) } }
                a.button.plain href=(address::with_fields("/papers/dispatch", &[("order", &order.order)])) { (words::DISPATCH_NOTE) }
                a.button.plain href=(address::with_fields(planting::HERE, &[("order", &order.order)])) { (planting_words::FROM_ORDER) }
                a.button.plain href=(promises::HERE) { (words::BACK_TO_BOOK) }
            }
            @for (at, life) in order.lines.iter().enumerate().skip(page * LINES).take(LINES) { (self.line(at, life)) }
            @if order.lines.len() > LINES {
                div.acts {
                    @if page > 0 { a.button.plain href=(to(page - 1)) { (words::EARLIER_LINES) } }
                    @if page < last { a.button.plain href=(to(page + 1)) { (words::MORE_LINES) } }
                }
            }
        }
    }

    /// The form to cancel what is open; the form takes names of lines with commas between.
    fn cancel(&self) -> Option<String> {
        let lines = self.order.lines.iter().map(|it| &it.line);
        let open: Vec<&str> = lines
            .filter(|it| it.state == LineState::Open)
            .map(|it| it.terms.line.as_str())
            .collect();
        let order = ("order", self.order.order.as_str());
        if open.is_empty() {
            None
        } else if open.len() == self.order.lines.len() {
            Some(self.act("cancel_order", &[order]))
        } else if open.iter().any(|it| it.contains(',')) {
            None
        } else {
            Some(self.act("cancel_order", &[order, ("lines", &open.join(", "))]))
        }
    }

    /// The form of an act, which leads back here.
    fn act(&self, act: &str, fields: &[(&str, &str)]) -> String {
        let at = address::with_fields(&format!("/do/{act}"), fields);
        address::with_fields(&at, &[("back", &self.ask.here())])
    }

    fn line(&self, at: usize, life: &LineLife) -> Markup {
        let line = &life.line;
        html! {
            section #(format!("line-{at}")) {
                h2 { (words::line(&line.terms.line)) ": " (words::ordered(line.terms.plants, &line.what, line.terms.size.as_str())) }
                @if line.needs_decision(self.day) { p.mend { b { (DECIDE_MARK) } (reasons(line, self.day)) } }
                @if line.odds.is_some() { div.one-strip { (strip_of(&format!("strip-{at}"), line)) } }
                (self.facts(life))
                (allocation(life))
                (risk(line))
                (self.acts(line))
                @if line.state == LineState::Open { (self.lots(line, &life.lots)) (self.jobs(&life.jobs)) }
                (folded(words::PAST, &self.past(line, &life.past)))
            }
        }
    }

    fn facts(&self, life: &LineLife) -> Markup {
        let line = &life.line;
        let terms = &line.terms;
        let day = app::date_words;
        html! {
            dl.facts {
                dt { (words::ODDS) } dd { (state_words(line)) }
                @if let Some(odds) = &line.odds {
                    dt { (words::BY_LATEST) } dd { span.odds { (odds_words(Some(odds.by_latest))) } }
                    dt { (words::COMPLETE_IN) } dd { (words::weeks(odds.week.p10.as_deref(), odds.week.p50.as_deref(), odds.week.p90.as_deref())) }
                }
                dt { (words::DAYS) } dd { (words::days(&day(terms.earliest), &day(terms.due), &day(terms.latest))) }
                dt { (words::PRICE) } dd { (words::price(&self.money(terms.price), &self.currency, terms.contract)) }
                @if let Some(promised) = line.promised { dt { (words::PROMISED) } dd { (count(u64::from(promised))) } }
                dt { (words::SHIPPED) } dd { (words::shipped(line.shipped, line.open())) }
                @if let Some(percent) = terms.tolerance_percent { dt { (words::TOLERANCE) } dd { (words::tolerance(percent.into())) } }
                (self.further_facts(terms))
                @if !life.tags.is_empty() {
                    dt { (words::TAGGED) }
                    dd { @for it in &life.tags { div { (count(u64::from(it.plants))) " " (words::OF_LOT) " " a href=(address::lot(&it.lot)) { (it.lot) } } } }
                }
                @if let Some(substitutes) = terms.substitutes.as_ref().filter(|it| !it.is_empty()) {
                    dt { (words::SUBSTITUTES) }
                    dd { @for it in substitutes { div { (words::substitute(it.variety.as_str(), it.rootstock.as_str(), it.size.as_str(), &self.money(it.price))) } } }
                }
            }
        }
    }

    /// What a line asks for that most do not.
    fn further_facts(&self, terms: &OrderLine) -> Markup {
        html! {
            @if let Some(deposit) = terms.deposit.filter(|it| *it > 0) { dt { (words::DEPOSIT) } dd { (self.money(deposit)) " " (self.currency) } }
            @if let Some(odds) = terms.cancel_percent { dt { (words::CANCEL) } dd { (words::cancelled(odds.into())) } }
            @if let Some(least) = terms.minimum_load.filter(|it| *it > 0) { dt { (words::LOAD) } dd { (words::load(least)) } }
            @if let Some(target) = terms.target_percent { dt { (words::TARGET) } dd { (words::target_by_hand(target.into())) } }
            @if let Some(grade) = &terms.grade { dt { (words::GRADE) } dd { (grade) } }
            @if let Some(class) = &terms.health_class { dt { (words::HEALTH_CLASS) } dd { (class) } }
        }
    }

    fn money(&self, minor: i64) -> String {
        price(app::of_minor(minor as f64, &self.currency), &self.currency)
    }

    fn acts(&self, line: &OrderLineAnswer) -> Markup {
        let (order, name) = (line.order.as_str(), line.terms.line.as_str());
        let plants = line.terms.plants.to_string();
        let until = line.terms.due.to_string();
        let promise = self.act(
            "promise",
            &[
                ("order", order),
                ("line", name),
                ("plants", &plants),
                ("until", &until),
            ],
        );
        let cancel = self.act("cancel_order", &[("order", order), ("lines", name)]);
        let tag = self.act("tag", &[("order", order), ("line", name)]);
        html! {
            div.acts {
                @if line.state == LineState::Open {
                    a.button.plain href=(promise) { (words::PROMISE) }
                    a.button.plain href=(tag) { (words::TAG) }
                }
                a.button.plain href=(change_of(line)) { (words::CHANGE) }
                @if line.state == LineState::Open {
                    a.button.plain href=(enquiry_of(line)) { (OFFER_ELSE) }
                    // The form takes names of lines with commas between.
                    @if !name.contains(',') { a.button.plain href=(cancel) { (words::CANCEL_LINE) } }
                }
            }
        }
    }

    fn lots(&self, line: &OrderLineAnswer, lots: &[FittingLot]) -> Markup {
        html! {
            h3 { (words::LOTS) }
            @if lots.is_empty() { p.quiet { (words::NO_LOTS) } }
            @else {
                table.rows {
                    (columns(&[(words::LOT, false), (words::PLACE, false), (words::READY, true), (words::GROWING, true), ("", false)]))
                    tbody { @for lot in lots { (self.lot(line, lot)) } }
                }
            }
        }
    }

    fn lot(&self, line: &OrderLineAnswer, lot: &FittingLot) -> Markup {
        let free = lot.free().min(line.open());
        let plants = free.to_string();
        let ship = self.act(
            "ship",
            &[
                ("order", &line.order),
                ("line", &line.terms.line),
                ("lot", &lot.lot),
                ("plants", &plants),
            ],
        );
        html! {
            tr {
                td.lead {
                    a href=(address::lot(&lot.lot)) { (lot.lot) }
                    @if lot.is_substitute { small { (words::IN_ITS_PLACE) } }
                    @if lot.tagged_elsewhere > 0 { small { (words::tagged_elsewhere(lot.tagged_elsewhere)) } }
                    @if lot.lacks_class { small { (words::of_class(lot.health_class.as_deref())) } }
                }
                td data-head=(words::PLACE) { (lot.place) }
                td.n data-head=(words::READY) { (count(u64::from(lot.ready))) }
                td.n data-head=(words::GROWING) { (count(u64::from(lot.growing))) }
                td.full-row {
                    @if lot.held { (words::HELD) }
                    @else if lot.ready == 0 { (words::NONE_READY) }
                    @else if free == 0 { (words::NONE_FREE) }
                    @else { a.button.plain href=(ship) { (words::SHIP) " " (plants) } }
                }
            }
        }
    }

    fn jobs(&self, jobs: &[ServingJob]) -> Markup {
        html! {
            h3 { (words::JOBS) }
            @match &self.order.plan {
                None => p.quiet { (words::NO_PLAN) },
                Some(_) if jobs.is_empty() => p.quiet { (words::NO_JOBS) },
                Some(plan) => {
                    @let day = plan.as_of.map_or_else(String::new, app::date_words);
                    p.quiet { (words::from_plan(&plan.run, &day)) }
                    table.rows.sort {
                        (columns(&[(words::WEEK, false), (words::WORK, false), (words::PLACE, false), (words::FOR_LINE, true), (words::PLANTS, true), (words::FROM_LOTS, false)]))
                        tbody { @for job in jobs.iter().take(JOBS) { (job_row(job)) } }
                    }
                    @if jobs.len() > JOBS { p { a href=(promises::PLANS) { (words::more_jobs(jobs.len() - JOBS)) } } }
                }
            }
        }
    }

    fn past(&self, line: &OrderLineAnswer, events: &[LineEvent]) -> Markup {
        html! {
            ul.plain {
                @for event in events {
                    li { (app::date_words(event.on)) ": " (self.event(line, &event.what)) }
                }
            }
        }
    }

    fn event(&self, line: &OrderLineAnswer, what: &LineChange) -> Markup {
        html! {
            @match what {
                LineChange::Ordered(terms) => (past::ordered(&ordered_words(line, terms), &app::date_words(terms.due))),
                LineChange::Changed { from, to } => (past::changed(&self.changes(from, to))),
                LineChange::Cancelled => (past::CANCELLED),
                LineChange::Promised { plants, until, on_time } => (past::promised(
                    *plants,
                    until.map(app::date_words).as_deref(),
                    on_time.map(|it| format!("{} {}", percent(it), Odds::of(it).word())).as_deref(),
                )),
                LineChange::Tagged { plants, lot } => { (past::tagged(*plants)) a href=(address::lot(lot)) { (lot) } "." }
                LineChange::Shipped { plants, lot } => { (past::shipped(*plants)) a href=(address::lot(lot)) { (lot) } "." }
            }
        }
    }

    /// What changed from one agreement to the next.
    fn changes(&self, from: &OrderLine, to: &OrderLine) -> Vec<String> {
        let pairs = self.terms_of(from).into_iter().zip(self.terms_of(to));
        let changed = pairs.filter(|((_, from), (_, to))| from != to);
        changed
            .map(|((what, from), (_, to))| past::part(&what.to_lowercase(), &from, &to))
            .collect()
    }

    /// What was agreed, as names and words.
    fn terms_of(&self, line: &OrderLine) -> Vec<(&'static str, String)> {
        let rootstocks: Vec<String> = line.rootstocks.iter().map(ToString::to_string).collect();
        let percent = |it: Option<f64>| it.map_or_else(|| "0".to_owned(), amount);
        let usual = || words::AS_USUAL.to_owned();
        let named = |it: &Option<String>| it.clone().unwrap_or_else(|| words::NONE.to_owned());
        let contract = if line.contract { "yes" } else { "no" };
        let substitutes = line.substitutes.as_ref().map_or(0, Vec::len);
        let day = app::date_words;
        vec![
            (line_form::VARIETY, line.variety.to_string()),
            (words::ROOTSTOCKS, rootstocks.join(", ")),
            (line_form::SIZE, line.size.to_string()),
            (line_form::PLANTS, count(line.plants.into())),
            (line_form::EARLIEST, day(line.earliest)),
            (line_form::DUE, day(line.due)),
            (line_form::LATEST, day(line.latest)),
            (words::PRICE, self.money(line.price)),
            (line_form::CONTRACT, contract.to_owned()),
            (
                line_form::TOLERANCE,
                percent(line.tolerance_percent.map(f64::from)),
            ),
            (words::SUBSTITUTES, substitutes.to_string()),
            (words::DEPOSIT, self.money(line.deposit.unwrap_or(0))),
            (
                line_form::CANCEL,
                line.cancel_percent
                    .map_or_else(usual, |it| amount(it.into())),
            ),
            (words::LOAD, count(line.minimum_load.unwrap_or(0).into())),
            (words::TARGET, percent(line.target_percent.map(f64::from))),
            (words::GRADE, named(&line.grade)),
            (words::HEALTH_CLASS, named(&line.health_class)),
        ]
    }
}

/// What was ordered in the words of the line where it is the same, else in names.
fn ordered_words(line: &OrderLineAnswer, terms: &OrderLine) -> String {
    let is_same = line.terms.variety == terms.variety && line.terms.rootstocks == terms.rootstocks;
    if is_same {
        return words::ordered(terms.plants, &line.what, terms.size.as_str());
    }
    words::ordered(terms.plants, terms.variety.as_str(), terms.size.as_str())
}

/// Which lots the trees come from, as the plan shares them out.
fn allocation(life: &LineLife) -> Markup {
    let (lots, rest): (Vec<&Origin>, Vec<&Origin>) =
        life.origins.iter().partition(|it| it.lot.is_some());
    let from_lots: f64 = lots.iter().map(|it| it.trees).sum();
    let rest: f64 = rest.iter().map(|it| it.trees).sum();
    html! {
        @if !life.origins.is_empty() {
            p {
                @if lots.is_empty() { (words::NONE_STANDS) } @else {
                (words::from_lots(&amount(from_lots), &count(u64::from(life.line.open()))))
                @for (at, it) in lots.iter().take(ORIGINS).enumerate() {
                    @let lot = it.lot.as_deref().unwrap_or_default();
                    @if at > 0 { ", " }
                    a href=(address::lot(lot)) { (lot) } " (" (amount(it.trees)) ")"
                }
                (words::from_others(lots.len().saturating_sub(ORIGINS), &amount(rest), rest >= 0.5))
                }
            }
        }
    }
}

/// What went with misses in the futures: the main risk in a sentence, all factors behind it.
fn risk(line: &OrderLineAnswer) -> Markup {
    let odds = line.odds.as_ref().filter(|it| it.on_time < 1.0);
    let causes = odds.map_or(&[][..], |it| &it.causes);
    let main = odds.and_then(|it| it.cause.as_deref());
    let main = causes.iter().find(|it| Some(it.what.as_str()) == main);
    html! {
        @if let Some(it) = main {
            p { b { (words::risk::MAIN) } (words::risk::main(&it.what, &percent(it.when_missed), &percent(it.when_on_time))) }
            (folded(words::risk::ALL, &html! {
                table.rows {
                    (columns(&[(words::risk::WHAT, false), (words::risk::WHEN_MISSED, true), (words::risk::WHEN_ON_TIME, true)]))
                    tbody {
                        @for it in causes {
                            tr {
                                td.lead { (words::risk::factor(&it.what)) }
                                td.n data-head=(words::risk::WHEN_MISSED) { (percent(it.when_missed)) }
                                td.n data-head=(words::risk::WHEN_ON_TIME) { (percent(it.when_on_time)) }
                            }
                        }
                    }
                }
                p.say { (words::risk::METHOD) }
            }))
        }
    }
}

fn job_row(job: &ServingJob) -> Markup {
    html! {
        tr {
            td.due data-head=(words::WEEK) { (job.week) }
            td.lead { (job.operation.replace('_', " ")) }
            td data-head=(words::PLACE) { (job.place) }
            td.n data-head=(words::FOR_LINE) data-v=(job.trees) { (amount(job.trees)) }
            td.n data-head=(words::PLANTS) data-v=(job.plants) { (count(u64::from(job.plants))) }
            td.full-row { @for (at, lot) in job.lots.iter().enumerate() { @if at > 0 { ", " } a href=(address::lot(lot)) { (lot) } } }
        }
    }
}
