//! The order book: which lines are safe, which need a decision, and all of them with their odds.

use std::collections::{BTreeMap, BTreeSet};

use app::AppError;
use app::answers::{OddsAnswer, SurpriseAnswer};
use app::ledger::{LineState, OrderLineAnswer, OrderLinesAnswer, RunAnswer};
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::json;

use super::address;
use super::ask::{Ask, Fields};
use super::enquiry::not_possible;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::table;
use crate::chart::strip;
use crate::figures::sentence;
use crate::figures::{amount, count, percent, price};
use crate::frame::folded;
use crate::lines::{odds_words, scale_key};
use crate::scale::Odds;
use crate::sheet::LineRow;
use crate::words::promises::{self as words, Tally, filter, head};
use crate::words::standing::odd;

/// The address of the page.
pub(super) const HERE: &str = "/promises";
/// Where plans are made.
pub(super) const PLANS: &str = "/seasons";
/// Decisions shown before the rest is left to the filter.
const DECISIONS_SHOWN: usize = 6;
/// Rows of the table a page.
const ROWS: usize = 60;
/// Months shown one by one.
const MONTHS: usize = 24;

/// Which lines are looked at, and in which order.
struct Filter<'a> {
    customer: Option<&'a str>,
    variety: Option<&'a str>,
    order: Option<&'a str>,
    from: Option<Date>,
    until: Option<Date>,
    show: &'a str,
    sort: &'a str,
}

impl<'a> Filter<'a> {
    fn of(asked: &'a Fields) -> Self {
        let day = |key| asked.get(key).and_then(|it| it.parse().ok());
        let known = |key: &str, all: &[(&'static str, &str)]| {
            let given = asked.get(key).unwrap_or_default();
            let known = all.iter().find(|(value, _)| *value == given);
            known.map_or(all[0].0, |(value, _)| *value)
        };
        Self {
            customer: asked.get("customer"),
            variety: asked.get("variety"),
            order: asked.get("order"),
            from: day("from"),
            until: day("until"),
            show: known("show", &filter::SHOWS),
            sort: known("sort", &filter::SORTS),
        }
    }

    /// Whether a line is of those asked for, whatever its state.
    fn fits(&self, line: &OrderLineAnswer) -> bool {
        let is = |wanted: Option<&str>, own: &str| wanted.is_none_or(|it| it == own);
        is(self.customer, &line.customer)
            && is(self.variety, line.terms.variety.as_str())
            && is(self.order, &line.order)
            && self.from.is_none_or(|from| from <= line.terms.due)
            && self.until.is_none_or(|until| line.terms.due <= until)
    }

    fn is_part(&self) -> bool {
        self.customer.is_some()
            || self.variety.is_some()
            || self.order.is_some()
            || self.from.is_some()
            || self.until.is_some()
    }

    /// The lines to list, in their order.
    fn list<'b>(&self, lines: &[&'b OrderLineAnswer], day: Date) -> Vec<&'b OrderLineAnswer> {
        let listed = lines.iter().filter(|line| match self.show {
            "all" => true,
            "decide" => line.needs_decision(day),
            _ => line.state == LineState::Open,
        });
        let mut listed: Vec<_> = listed.copied().collect();
        match self.sort {
            "odds" => listed.sort_by(|one, other| odds_rank(one).total_cmp(&odds_rank(other))),
            "order" => listed.sort_by(|one, other| one.order.cmp(&other.order)),
            "customer" => listed.sort_by(|one, other| one.customer.cmp(&other.customer)),
            "what" => listed.sort_by(|one, other| one.what.cmp(&other.what)),
            "plants" => listed.sort_by_key(|line| std::cmp::Reverse(line.terms.plants)),
            // The book comes sorted by due day.
            _ => {}
        }
        listed
    }
}

/// Lines without odds come after those with any.
fn odds_rank(line: &OrderLineAnswer) -> f64 {
    line.odds.as_ref().map_or(2.0, |odds| odds.on_time)
}

fn book(office: &Office, ask: &Ask) -> Result<OrderLinesAnswer, AppError> {
    let day = office.day(ask);
    office
        .desk
        .read(|file, sight| file.order_lines(&sight.books, day))
}

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let book = book(office, ask)?;
    if book.lines.is_empty() {
        return Ok(Reply::Page(empty()));
    }
    let view = View {
        ask,
        day: office.day(ask),
        currency: office.currency(),
        filter: Filter::of(&ask.query),
    };
    let fitting: Vec<&OrderLineAnswer> = book
        .lines
        .iter()
        .filter(|it| view.filter.fits(it))
        .collect();
    let answer = words::answer(view.tally(&fitting));
    let csv = address::with_fields("/promises.csv", &pairs(&ask.query));
    let odds = office.desk.odds(office.day(ask))?;
    let surprises = odds.now.as_ref().map_or(&[][..], |it| &it.answer.surprises);
    let failed = odds.failed.as_ref().filter(|_| odds.now.is_some());
    let body = html! {
        @if let Some(error) = failed { (not_possible(error)) }
        (view.body(&book, &fitting))
        (odd_counts(surprises, |_| true))
    };
    let page = Page::new(HERE, words::SHEET, answer, body)
        .among(words::PARTS)
        .with_csv(csv);
    Ok(Reply::Page(until_odds_follow(office, ask, page)?))
}

/// Counts and samples, of some lots, that hardly go with what was expected of them.
pub(super) fn odd_counts(all: &[SurpriseAnswer], is_of: impl Fn(&str) -> bool) -> Markup {
    let of_lots: Vec<&SurpriseAnswer> = all.iter().filter(|it| is_of(&it.lot)).collect();
    html! {
        @if !of_lots.is_empty() {
            section {
                h2 { (odd::HEAD) }
                ul.plain {
                    @for it in of_lots { li { a href=(address::lot(&it.lot)) { (it.lot) } (odd::found(it)) } }
                }
                p.mend { (odd::HELP) }
            }
        }
    }
}

/// How the odds stand, for scripts.
pub(super) fn odds_json(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let odds = office.desk.odds(office.day(ask))?;
    let now = odds.now.as_ref();
    Ok(Reply::Json(json!({
        "run": now.map(|it| &it.answer.run),
        "futures": now.map(|it| it.answer.futures),
        "entries": now.map(|it| it.number),
        "is_stale": odds.is_stale,
        "failed": odds.failed.map(|it| it.what),
    })))
}

/// The page, asking for itself again while the odds of today are being drawn anew.
pub(super) fn until_odds_follow(office: &Office, ask: &Ask, page: Page) -> Result<Page, AppError> {
    let day = office.today();
    let odds = office.desk.odds(day)?;
    let follows = odds.now.is_some() && odds.is_stale && office.day(ask) == day;
    Ok(if follows { page.awaiting_odds() } else { page })
}

fn pairs(query: &Fields) -> Vec<(&str, &str)> {
    let kept = query
        .0
        .iter()
        .filter(|(key, _)| key != "done" && key != "page");
    kept.map(|(key, value)| (key.as_str(), value.as_str()))
        .collect()
}

/// What to do before there is any order.
fn empty() -> Page {
    let body = html! {
        p.say { (words::NO_ORDERS_STEP) }
        div.acts { (to_begin()) }
    };
    Page::new(HERE, words::SHEET, words::NO_ORDERS, body)
}

fn to_begin() -> Markup {
    html! {
        a.button href="/orders/new" { (words::NEW_ORDER) }
        a.button.plain href="/enquiry" { (words::ENQUIRE) }
    }
}

/// From which run the odds are; what to do where there are none, or not for all lines.
pub(super) fn run_words(run: Option<&RunAnswer>, newer: usize, day: Date) -> Markup {
    html! {
        @match run {
            None => div.notice {
                p { (words::NO_FUTURES) }
                a.button href=(PLANS) { (words::MAKE_PLAN) }
            },
            Some(run) => {
                @let as_of = run.as_of.map(|it| (app::date_words(it), day.since(it).map_or(0, |span| span.get_days())));
                p.quiet { (words::from_run(&run.run, as_of, run.entries_since)) }
                @if newer > 0 {
                    div.notice { p { (words::newer(newer)) } }
                }
            }
        }
    }
}

/// What else could be offered in place of a line.
pub(super) fn enquiry_of(line: &OrderLineAnswer) -> String {
    let terms = &line.terms;
    let rootstock = terms.rootstocks.first().map_or("", |it| it.as_str());
    address::with_fields(
        "/enquiry",
        &[
            ("variety", terms.variety.as_str()),
            ("rootstock", rootstock),
            ("size", terms.size.as_str()),
            ("plants", &line.open().max(1).to_string()),
            ("by", &terms.due.to_string()),
        ],
    )
}

/// The form to change a line.
pub(super) fn change_of(line: &OrderLineAnswer) -> String {
    let at = format!("{}/line", address::order(&line.order));
    address::with_fields(&at, &[("line", &line.terms.line)])
}

/// Odds at which a line stands, as the strip draws them.
pub(super) fn strip_of(id: &str, line: &OrderLineAnswer) -> Markup {
    let row = LineRow {
        order: line.order.clone(),
        line: line.terms.line.clone(),
        on_time: line.odds.as_ref().map(|it| it.on_time),
        by_latest: line.odds.as_ref().map(|it| it.by_latest),
        target: line.target.unwrap_or(0.0),
        ..LineRow::default()
    };
    strip(id, &row)
}

/// Why a line needs a decision.
pub(super) fn reasons(line: &OrderLineAnswer, day: Date) -> String {
    let mut reasons = String::new();
    if line.is_overdue(day) {
        reasons += &words::overdue(line.open(), &app::date_words(line.terms.due));
    }
    if let Some(short) = &line.short {
        reasons += &words::short(short.plants);
        reasons += &sentence(&short.why);
    } else if let Some(odds) = &line.odds {
        if let Some(target) = line.target.filter(|target| odds.on_time < *target) {
            reasons += &words::below(&percent(odds.on_time), &percent(target));
        }
        reasons += &mean_short(odds);
        reasons += &sentence(&odds.driver);
    }
    reasons
}

fn mean_short(odds: &OddsAnswer) -> String {
    if odds.mean_short < 0.05 {
        String::new()
    } else {
        words::mean_short(&amount(odds.mean_short))
    }
}

/// How a line's odds stand, or why there are none.
pub(super) fn state_words(line: &OrderLineAnswer) -> Markup {
    html! {
        @match line.state {
            LineState::Complete => (words::COMPLETE),
            LineState::Cancelled => (words::CANCELLED),
            LineState::Open => {
                span.odds { (odds_words(line.odds.as_ref().map(|it| it.on_time))) }
                @if let Some(why) = line.no_odds { " " small { (words::no_odds(why)) } }
                @if let (Some(target), Some(_)) = (line.target, &line.odds) {
                    " " small { (words::target(&percent(target))) }
                }
            }
        }
    }
}

/// A look at the book.
struct View<'a> {
    ask: &'a Ask,
    day: Date,
    currency: String,
    filter: Filter<'a>,
}

impl View<'_> {
    fn tally(&self, lines: &[&OrderLineAnswer]) -> Tally {
        let open: Vec<_> = lines
            .iter()
            .filter(|it| it.state == LineState::Open)
            .collect();
        let word = |it: &OrderLineAnswer| it.odds.as_ref().map(|odds| Odds::of(odds.on_time));
        Tally {
            open: open.len(),
            safe: open
                .iter()
                .filter(|it| word(it) == Some(Odds::Safe))
                .count(),
            decide: open.iter().filter(|it| it.needs_decision(self.day)).count(),
            unknown: open.iter().filter(|it| it.odds.is_none()).count(),
            is_part: self.filter.is_part(),
        }
    }

    fn body(&self, book: &OrderLinesAnswer, fitting: &[&OrderLineAnswer]) -> Markup {
        let newer = fitting
            .iter()
            .filter(|it| it.no_odds == Some(app::ledger::NoOdds::Newer))
            .count();
        html! {
            (run_words(book.futures.as_ref(), newer, self.day))
            div.acts { (to_begin()) }
            (self.to_decide(fitting))
            (self.by_month(fitting))
            section {
                h2 { (words::TABLE) }
                (self.form(book))
                (self.table(&self.filter.list(fitting, self.day)))
            }
            (folded(words::METHOD, &html! {
                p.say { (words::METHOD_ODDS) }
                p.say { (words::METHOD_TARGET) }
                p.say { (words::METHOD_NEWER) }
                (scale_key())
            }))
        }
    }

    fn to_decide(&self, fitting: &[&OrderLineAnswer]) -> Markup {
        let all: Vec<_> = fitting
            .iter()
            .filter(|it| it.needs_decision(self.day))
            .collect();
        let shown = all.len().min(DECISIONS_SHOWN);
        html! {
            @if !all.is_empty() {
                section {
                    h2 { (words::DECIDE) }
                    ol.decide { @for line in &all[..shown] { (self.decision(line)) } }
                    @if all.len() > shown {
                        p { a.button.plain href=(self.ask.address_with("show", Some("decide"))) { (words::more_to_decide(all.len() - shown)) } }
                    }
                }
            }
        }
    }

    fn decision(&self, line: &OrderLineAnswer) -> Markup {
        html! {
            li {
                div { (state_words(line)) }
                div {
                    p {
                        b { a href=(address::order(&line.order)) { (words::line_name(&line.order, &line.terms.line)) } }
                        (words::asked_for(&line.customer, line.open(), &line.what, line.terms.size.as_str(), &app::date_words(line.terms.due)))
                    }
                    p { (reasons(line, self.day)) }
                    div.acts {
                        a.button href=(address::order(&line.order)) { (words::OPEN_ORDER) }
                        a.button.plain href=(change_of(line)) { (words::CHANGE_LINE) }
                        a.button.plain href=(enquiry_of(line)) { (words::OFFER_ELSE) }
                    }
                }
            }
        }
    }

    /// One mark a line, month by month.
    fn by_month(&self, fitting: &[&OrderLineAnswer]) -> Markup {
        let mut months: BTreeMap<Date, Vec<Option<Odds>>> = BTreeMap::new();
        for line in fitting.iter().filter(|it| it.state == LineState::Open) {
            let odds = line.odds.as_ref().map(|it| Odds::of(it.on_time));
            months
                .entry(line.terms.due.first_of_month())
                .or_default()
                .push(odds);
        }
        let later: Vec<Option<Odds>> = months.values().skip(MONTHS).flatten().copied().collect();
        html! {
            @if !months.is_empty() {
                section {
                    h2 { (words::BY_MONTH) }
                    (tally(months.values().flatten()))
                    p.quiet { (words::BY_MONTH_KEY) }
                    ul.months {
                        @for (month, marks) in months.iter().take(MONTHS) {
                            li { a href=(self.of_month(*month)) { (app::month_words(*month)) " " (month.year()) } (month_marks(marks)) }
                        }
                        @if !later.is_empty() { li { span { (words::LATER) } (month_marks(&later)) } }
                    }
                }
            }
        }
    }

    /// This page with the lines of a month only.
    fn of_month(&self, month: Date) -> String {
        let (from, until) = (month.to_string(), month.last_of_month().to_string());
        let own = pairs(&self.ask.query);
        let mut fields: Vec<(&str, &str)> = own
            .into_iter()
            .filter(|(key, _)| *key != "from" && *key != "until")
            .collect();
        fields.extend([("from", from.as_str()), ("until", until.as_str())]);
        address::with_fields(HERE, &fields)
    }

    fn form(&self, book: &OrderLinesAnswer) -> Markup {
        let customers: BTreeSet<&str> = book.lines.iter().map(|it| it.customer.as_str()).collect();
        let varieties: BTreeSet<(&str, &str)> = book
            .lines
            .iter()
            .map(|it| (variety_words(&it.what), it.terms.variety.as_str()))
            .collect();
        let date = |day: Option<Date>| day.map(|it| it.to_string());
        html! {
            form.row.noprint action=(HERE) {
                @if let Some(day) = self.ask.as_of { input type="hidden" name="as_of" value=(day); }
                label { span { (filter::CUSTOMER) }
                    select name="customer" {
                        option value="" { (filter::ALL) }
                        @for name in customers { option value=(name) selected[self.filter.customer == Some(name)] { (name) } }
                    }
                }
                label { span { (filter::VARIETY) }
                    select name="variety" {
                        option value="" { (filter::ALL) }
                        @for (said, name) in varieties { option value=(name) selected[self.filter.variety == Some(name)] { (said) } }
                    }
                }
                label { span { (filter::FROM) } input name="from" type="date" value=[date(self.filter.from)]; }
                label { span { (filter::UNTIL) } input name="until" type="date" value=[date(self.filter.until)]; }
                label { span { (filter::SHOW) } (options("show", &filter::SHOWS, self.filter.show)) }
                label { span { (filter::SORT) } (options("sort", &filter::SORTS, self.filter.sort)) }
                button.plain { (filter::APPLY) }
                @if self.filter.is_part() || self.filter.show != "open" { a.button.plain href=(HERE) { (filter::CLEAR) } }
            }
        }
    }

    fn table(&self, listed: &[&OrderLineAnswer]) -> Markup {
        let asked: usize = self
            .ask
            .query
            .get("page")
            .and_then(|it| it.parse().ok())
            .unwrap_or(0);
        let page = asked.min(listed.len().saturating_sub(1) / ROWS);
        let from = page * ROWS;
        let until = listed.len().min(from + ROWS);
        let to = |page: usize| self.ask.address_with("page", Some(&page.to_string()));
        html! {
            @if listed.is_empty() { p { (words::NOTHING_FITS) } }
            @else {
                p.say.small { (words::STRIP_KEY) }
                p.quiet { (words::rows_shown(from, until, listed.len())) }
                table.rows.lines {
                    (self.heads())
                    tbody { @for (at, line) in listed[from..until].iter().enumerate() { (self.row(at, line)) } }
                }
                div.acts {
                    @if page > 0 { a.button.plain href=(to(page - 1)) { (words::PREVIOUS) } }
                    @if until < listed.len() { a.button.plain href=(to(page + 1)) { (words::NEXT) } }
                }
            }
        }
    }

    /// Column heads; those that can be sorted by lead to the page sorted so.
    fn heads(&self) -> Markup {
        let heads: [(&str, &str, bool); 10] = [
            (head::DUE, "due", false),
            (head::ORDER, "order", false),
            (head::WHAT, "what", false),
            (head::PLANTS, "plants", true),
            (head::PROMISED, "", true),
            (head::SHIPPED, "", true),
            (head::STRIP, "", false),
            (head::ON_TIME, "odds", false),
            (head::BY_LATEST, "", false),
            (head::PRICE, "", true),
        ];
        html! {
            thead { tr {
                @for (name, sort, is_number) in heads {
                    th.n[is_number] scope="col" aria-sort=[(!sort.is_empty() && sort == self.filter.sort).then_some(if sort == "plants" { "descending" } else { "ascending" })] {
                        @if sort.is_empty() { (name) } @else { a href=(self.ask.address_with("sort", Some(sort))) { (name) } }
                    }
                }
            } }
        }
    }

    fn row(&self, at: usize, line: &OrderLineAnswer) -> Markup {
        let terms = &line.terms;
        let decide = line.needs_decision(self.day);
        let shown = |plants: u32| {
            if plants == 0 {
                "–".to_owned()
            } else {
                count(u64::from(plants))
            }
        };
        html! {
            tr.mind[decide] {
                td.due data-head=(head::DUE) { (app::date_words(terms.due)) small { (app::ledger::iso_week(terms.due)) } }
                td.lead {
                    a href=(address::order(&line.order)) { (words::line_name(&line.order, &terms.line)) }
                    small { (line.customer) }
                }
                td.full-row { (line.what) small { (terms.size) } }
                td.n data-head=(head::PLANTS) { (count(u64::from(terms.plants))) }
                td.n data-head=(head::PROMISED) { (shown(line.promised.unwrap_or(0))) }
                td.n data-head=(head::SHIPPED) { (shown(line.shipped)) }
                td.strip { @if line.odds.is_some() { (strip_of(&format!("line-{at}"), line)) } }
                td data-head=(head::ON_TIME) { @if decide { b { (words::DECIDE_MARK) } } (state_words(line)) }
                td data-head=(head::BY_LATEST) { @if let Some(odds) = &line.odds { span.odds { (odds_words(Some(odds.by_latest))) } } @else { "–" } }
                td.n data-head=(head::PRICE) {
                    (price(app::of_minor(terms.price as f64, &self.currency), &self.currency))
                    small { @if terms.contract { (words::CONTRACT) } @else { (words::NO_CONTRACT) } }
                }
            }
        }
    }
}

/// The variety among the words of what is asked for.
fn variety_words(what: &str) -> &str {
    what.split_once(" on ").map_or(what, |(variety, _)| variety)
}

fn options(name: &str, all: &[(&str, &str)], chosen: &str) -> Markup {
    html! {
        select name=(name) {
            @for (value, said) in all { option value=(value) selected[*value == chosen] { (said) } }
        }
    }
}

/// How many there are of each word, best first.
fn by_word<'a>(
    marks: impl Iterator<Item = &'a Option<Odds>>,
) -> Vec<(usize, &'static str, &'static str)> {
    let marks: Vec<_> = marks.collect();
    let of = |wanted: Option<Odds>| marks.iter().filter(|it| ***it == wanted).count();
    let known = Odds::ALL.map(|odds| (of(Some(odds)), odds.shape(), odds.word()));
    let unknown = (of(None), words::UNKNOWN_MARK, words::WITHOUT_ODDS);
    known
        .into_iter()
        .chain([unknown])
        .filter(|(lines, ..)| *lines > 0)
        .collect()
}

fn tally<'a>(marks: impl Iterator<Item = &'a Option<Odds>>) -> Markup {
    html! {
        ul.tally {
            @for (lines, shape, word) in by_word(marks) { li { span aria-hidden="true" { (shape) } " " (lines) " " (word) } }
        }
    }
}

fn month_marks(marks: &[Option<Odds>]) -> Markup {
    let all = by_word(marks.iter());
    let said: Vec<(usize, &str)> = all.iter().map(|(lines, _, word)| (*lines, *word)).collect();
    let drawn: String = all
        .iter()
        .map(|(lines, shape, _)| shape.repeat(*lines))
        .collect();
    html! {
        span.marks-row aria-hidden="true" { (drawn) }
        small { (words::month(marks.len(), &said)) }
    }
}

/// The table as a file.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let book = book(office, ask)?;
    let (day, currency) = (office.day(ask), office.currency());
    let filter = Filter::of(&ask.query);
    let fitting: Vec<&OrderLineAnswer> = book.lines.iter().filter(|it| filter.fits(it)).collect();
    let rows = filter.list(&fitting, day).into_iter();
    let rows = rows.map(|line| cells(line, day, &currency).to_vec());
    Ok(reply::csv("promises", table::csv(&words::CSV_HEADS, rows)))
}

fn cells(line: &OrderLineAnswer, day: Date, currency: &str) -> [String; 22] {
    let terms = &line.terms;
    let number = |it: Option<f64>| it.map_or_else(String::new, |it| format!("{it:.4}"));
    let yes = |it: bool| if it { "yes" } else { "no" }.to_owned();
    let rootstocks: Vec<String> = terms.rootstocks.iter().map(ToString::to_string).collect();
    let odds = line.odds.as_ref();
    let state = match line.state {
        LineState::Open => "open",
        LineState::Complete => "complete",
        LineState::Cancelled => "cancelled",
    };
    [
        line.order.clone(),
        terms.line.clone(),
        line.customer.clone(),
        terms.variety.to_string(),
        rootstocks.join(";"),
        terms.size.to_string(),
        terms.plants.to_string(),
        line.promised.map_or_else(String::new, |it| it.to_string()),
        line.shipped.to_string(),
        terms.earliest.to_string(),
        terms.due.to_string(),
        app::ledger::iso_week(terms.due),
        terms.latest.to_string(),
        app::price_words(terms.price as f64, currency),
        yes(terms.contract),
        state.to_owned(),
        number(odds.map(|it| it.on_time)),
        odds.map_or_else(String::new, |it| Odds::of(it.on_time).word().to_owned()),
        number(odds.map(|it| it.by_latest)),
        number(line.target),
        line.short
            .as_ref()
            .map_or_else(String::new, |it| it.plants.to_string()),
        yes(line.needs_decision(day)),
    ]
}
