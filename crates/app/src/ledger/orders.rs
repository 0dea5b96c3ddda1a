//! The order book: every line with what was promised and sent off, and its odds from the last
//! futures.

use std::collections::BTreeMap;

use jiff::civil::{Date, ISOWeekDate};
use nursery::files::parse_week;
use nursery::ledger::Books;
use nursery::ledger::act::Line;
use nursery::ledger::books::{LineBook, OrderBook};
use season::Calendar;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use store::{Head, Ledger};

use super::NurseryFile;
use super::names::ERASED;
use super::plans::PLAN;
use crate::answers::{LineAnswer, OddsAnswer, ShortAnswer};
use crate::error::AppError;
use crate::words::Words;

/// The order book on a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderLinesAnswer {
    /// Every line, those due first in front.
    pub lines: Vec<OrderLineAnswer>,
    /// The futures that the odds are from; none before any were drawn.
    pub futures: Option<RunAnswer>,
}

/// The ISO week of a day, as `2027-W10`.
pub fn iso_week(day: Date) -> String {
    let calendar = Calendar::from_as_of(day);
    calendar.iso(calendar.week_of(day))
}

/// The Monday of an ISO week such as `2027-W10`.
pub fn day_of_week(week: &str) -> Option<Date> {
    parse_week(week).map(ISOWeekDate::date)
}

/// A run that something was read from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RunAnswer {
    /// Its name.
    pub run: String,
    /// The day it looks ahead from.
    pub as_of: Option<Date>,
    /// Entries of the ledger that it does not know of.
    pub entries_since: u64,
}

/// A line of the order book.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderLineAnswer {
    /// The order.
    pub order: String,
    /// The customer.
    pub customer: String,
    /// What is asked for, as `Valencia on Carrizo or Swingle`.
    pub what: String,
    /// What was agreed; of a cancelled line, what was agreed last.
    pub terms: Line,
    /// How it stands.
    pub state: LineState,
    /// Plants promised last.
    pub promised: Option<u32>,
    /// Plants sent off.
    pub shipped: u32,
    /// Its odds; none where no run knows the line as it is now.
    pub odds: Option<OddsAnswer>,
    /// The odds it is planned to reach.
    pub target: Option<f64>,
    /// How far the plan lets it go short, and why.
    pub short: Option<ShortAnswer>,
    /// Why it has no odds.
    pub no_odds: Option<NoOdds>,
}

/// How a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LineState {
    /// Plants are still to be sent off.
    Open,
    /// All were sent off.
    Complete,
    /// It was cancelled.
    Cancelled,
}

/// Why a line has no odds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoOdds {
    /// No futures were drawn yet.
    NoFutures,
    /// It was entered or changed after the last futures were drawn.
    Newer,
    /// The last futures could not be drawn for it.
    NotPlanned,
}

impl OrderLineAnswer {
    /// Plants still to be sent off.
    pub fn open(&self) -> u32 {
        match self.state {
            LineState::Open => self.terms.plants.saturating_sub(self.shipped),
            LineState::Complete | LineState::Cancelled => 0,
        }
    }

    /// Whether its due day has passed with plants still to be sent off.
    pub fn is_overdue(&self, day: Date) -> bool {
        self.state == LineState::Open && self.terms.due < day
    }

    /// Whether somebody must decide what to do: it is overdue, short in the plan, or its odds are
    /// below those it is planned to reach.
    pub fn needs_decision(&self, day: Date) -> bool {
        // A hair below the target from rounding is not below it.
        let is_below = self
            .odds
            .as_ref()
            .zip(self.target)
            .is_some_and(|(odds, target)| odds.on_time < target - 1e-9);
        self.state == LineState::Open && (self.is_overdue(day) || self.short.is_some() || is_below)
    }
}

/// What a run was made from, as it was kept with it.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct MadeFrom {
    as_of: Option<Date>,
    head: String,
}

impl MadeFrom {
    /// The last entry of the ledger that it knows of.
    fn number(&self) -> u64 {
        let head: Option<Head> = self.head.parse().ok();
        head.map_or(0, |it| it.seq)
    }

    pub(super) fn answer(&self, run: String, books: &Books) -> RunAnswer {
        RunAnswer {
            run,
            as_of: self.as_of,
            entries_since: books.number.saturating_sub(self.number()),
        }
    }
}

/// A futures run, as far as the order book reads it.
#[derive(Deserialize)]
struct KeptFutures {
    run: String,
    lines: Vec<OddsAnswer>,
    #[serde(default)]
    made_from: MadeFrom,
}

/// A plan run, as far as the order book reads it.
#[derive(Deserialize)]
struct KeptPlan {
    lines: Vec<LineAnswer>,
    short: Vec<ShortAnswer>,
    #[serde(default)]
    made_from: MadeFrom,
}

/// A line's name within the whole book.
type Key = (String, String);

/// What the last runs tell of each line.
#[derive(Default)]
pub(super) struct LastRuns {
    pub(super) futures: Option<RunAnswer>,
    futures_number: u64,
    plan_number: u64,
    odds: BTreeMap<Key, OddsAnswer>,
    targets: BTreeMap<Key, f64>,
    short: BTreeMap<Key, ShortAnswer>,
}

impl NurseryFile {
    /// The order book at the end of a day, with the odds of the last futures.
    pub fn order_lines(&self, books: &Books, day: Date) -> Result<OrderLinesAnswer, AppError> {
        let runs = self.last_runs(books, day)?;
        let customers = self.customers()?;
        let mut lines: Vec<OrderLineAnswer> = books
            .orders
            .iter()
            .flat_map(|(name, order)| self.lines_of(name, order, day, &customers, &runs))
            .collect();
        lines.sort_by(|one, other| {
            let key = |it: &OrderLineAnswer| it.terms.due;
            key(one)
                .cmp(&key(other))
                .then_with(|| (&one.order, &one.terms.line).cmp(&(&other.order, &other.terms.line)))
        });
        Ok(OrderLinesAnswer {
            lines,
            futures: runs.futures,
        })
    }

    /// The lines of an order that were known on a day, in the order of their names.
    pub(super) fn lines_of(
        &self,
        name: &str,
        order: &OrderBook,
        day: Date,
        customers: &BTreeMap<String, String>,
        runs: &LastRuns,
    ) -> Vec<OrderLineAnswer> {
        let customer = customers.get(&order.customer);
        let customer = customer.map_or(ERASED, String::as_str);
        let known = order.lines.values().filter_map(|book| {
            let mut line = self.line_on(name, book, day, runs)?;
            customer.clone_into(&mut line.customer);
            Some(line)
        });
        known.collect()
    }

    /// A line at the end of a day; none where it was not known then.
    fn line_on(
        &self,
        order: &str,
        book: &LineBook,
        day: Date,
        runs: &LastRuns,
    ) -> Option<OrderLineAnswer> {
        let until = book.versions.partition_point(|(when, _)| when.on <= day);
        let (when, last) = book.versions[..until].last()?;
        let mut known = book.versions[..until].iter().rev();
        let terms = known.find_map(|(_, it)| it.as_deref())?.clone();
        let shipped = book.shipped_until(day);
        let state = match last {
            None => LineState::Cancelled,
            Some(_) if shipped >= terms.plants => LineState::Complete,
            Some(_) => LineState::Open,
        };
        let mut line = OrderLineAnswer {
            order: order.to_owned(),
            customer: String::new(),
            what: Words(&self.catalogue).ordered(&terms.variety, &terms.rootstocks),
            terms,
            state,
            promised: book.promised_on(day),
            shipped,
            odds: None,
            target: None,
            short: None,
            no_odds: None,
        };
        if state == LineState::Open {
            runs.tell(&mut line, when.number);
        }
        Some(line)
    }

    /// Names of customers by their ids.
    pub(super) fn customers(&self) -> Result<BTreeMap<String, String>, AppError> {
        let names = self.asked(self.ledger.names("customer"))?;
        Ok(names.into_iter().collect())
    }

    pub(super) fn last_runs(&self, books: &Books, day: Date) -> Result<LastRuns, AppError> {
        let mut runs = LastRuns::default();
        if let Some(kept) = self.last_odds(books, day)? {
            runs.futures_number = kept.made_from.number();
            runs.futures = Some(kept.made_from.answer(kept.run, books));
            runs.odds = by_key(kept.lines, |it| (&it.order, &it.line));
        }
        if let Some(kept) = self.last_run::<KeptPlan>(PLAN)? {
            runs.plan_number = kept.made_from.number();
            let targets = by_key(kept.lines, |it| (&it.order, &it.line));
            runs.targets = targets.into_iter().map(|(k, it)| (k, it.target)).collect();
            runs.short = by_key(kept.short, |it| (&it.order, &it.line));
        }
        Ok(runs)
    }

    fn last_odds(&self, books: &Books, day: Date) -> Result<Option<KeptFutures>, AppError> {
        let bytes = self.odds_bytes(books, day)?;
        Ok(bytes.and_then(|it| serde_json::from_slice(&it).ok()))
    }

    /// The answer of the last run of a kind; none where there is none that this version can read.
    pub(super) fn last_run<T: DeserializeOwned>(&self, kind: &str) -> Result<Option<T>, AppError> {
        let run = self.asked(self.ledger.latest_run(kind))?;
        Ok(run.and_then(|it| serde_json::from_slice(&it.bytes).ok()))
    }

    /// The order that an act entered; none where no act of the id was done.
    pub(super) fn order_of_act(&self, id: &str) -> Result<Option<String>, AppError> {
        let act = self.act_of(id)?;
        let order = act.as_ref().and_then(|it| it.get("order")?.as_str());
        Ok(order.map(str::to_owned))
    }

    /// A name for the next order: after the last one that ends in a number, else the first.
    pub fn next_order(&self, books: &Books) -> String {
        let numbered = books.orders.keys().filter_map(|name| {
            let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
            let digits = &name[stem.len()..];
            Some((digits.parse::<u32>().ok()?, stem, digits.len()))
        });
        match numbered.max() {
            Some((number, stem, digits)) => {
                format!("{stem}{:0>digits$}", u64::from(number) + 1)
            }
            None => "O-1".to_owned(),
        }
    }

    /// The price of a tree, minor units, where one is set for it.
    pub fn tree_price(
        &self,
        books: &Books,
        variety: &str,
        rootstock: &str,
        size: &str,
    ) -> Option<f64> {
        let latest = books.latest?;
        let rows: Vec<_> = books.settings.rows("price", latest).collect();
        let cell =
            |row: &BTreeMap<String, String>, key: &str| row.get(key).cloned().unwrap_or_default();
        let priced = |rootstock: &str| {
            rows.iter().find(|row| {
                cell(row, "of") == "tree"
                    && cell(row, "variety") == variety
                    && cell(row, "size") == size
                    && cell(row, "rootstock") == rootstock
            })
        };
        // The price of its rootstock goes before that on any, as in the plan.
        let row = priced(rootstock).or_else(|| priced(""));
        row?.get("price")?.parse().ok()
    }
}

impl LastRuns {
    /// Tells a line what the runs know of it; what they know from before it was set last is another line's.
    fn tell(&self, line: &mut OrderLineAnswer, set: u64) {
        let key = (line.order.clone(), line.terms.line.clone());
        if set <= self.plan_number {
            line.target = self.targets.get(&key).copied();
            line.short = self.short.get(&key).cloned();
        }
        if set <= self.futures_number {
            line.odds = self.odds.get(&key).cloned();
        }
        line.no_odds = match (&line.odds, &self.futures) {
            (Some(_), _) => None,
            (None, None) => Some(NoOdds::NoFutures),
            (None, Some(_)) if set > self.futures_number => Some(NoOdds::Newer),
            (None, Some(_)) => Some(NoOdds::NotPlanned),
        };
    }
}

fn by_key<T>(rows: Vec<T>, key: fn(&T) -> (&String, &String)) -> BTreeMap<Key, T> {
    rows.into_iter()
        .map(|it| {
            let (order, line) = key(&it);
            ((order.clone(), line.clone()), it)
        })
        .collect()
}
