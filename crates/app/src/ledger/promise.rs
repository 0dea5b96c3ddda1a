//! Can this be promised? An answer from stored futures, while the customer is on the phone.
//!
//! The enquiry is put into every stored future as one more order line, and the plants are shared out anew:
//! so its odds are those that the line would have, and what it would take from others is seen, not
//! guessed.

use std::cmp::Reverse;

use futures::case::Order;
use futures::{Answered, Asked, SimulateError, Stored, Supply};
use jiff::civil::{Date, ISOWeekDate};
use nursery::catalogue::{Catalogue, Verdict};
use nursery::files::parse_week;
use nursery::ids::{RootstockName, SizeName, VarietyName};
use nursery::ledger::Books;
use season::{SeasonModel, Stage};
use serde::Serialize;
use serde_json::{Value, json};

use super::NurseryFile;
use super::odds::OddsNow;
use super::record::NewPromise;
use crate::error::{AppError, Kind};

/// What is asked for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Enquiry {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// Plants.
    pub plants: u32,
    /// ISO week by which they are wanted.
    pub by: String,
    /// Odds to promise at, in percent.
    pub at_odds: u32,
    /// For whom; with it, the answer tells the acts that making the promise would be.
    pub customer: Option<String>,
    /// The price of one that is agreed, minor units; that of the price list without it.
    pub price: Option<i64>,
}

/// `promise --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PromiseAnswer {
    /// Plants asked for.
    pub plants: u32,
    /// The week they are wanted by.
    pub by: String,
    /// Odds of having them all by then.
    pub odds: f64,
    /// The largest number that can be promised by then at the wanted odds, with every promise made before
    /// as safe as it is to be.
    pub largest: u32,
    /// The wanted odds.
    pub at_odds: f64,
    /// The first week in which all of them can be promised at these odds.
    pub earliest_week: Option<String>,
    /// What else could be offered.
    pub alternatives: Vec<Alternative>,
    /// Earlier promises that the plants asked for would push below their target.
    pub breaks: Vec<Break>,
    /// Price of one, minor units, where it is set.
    pub price: Option<f64>,
    /// Futures looked at.
    pub futures: u32,
    /// The run they are of.
    pub run: String,
    /// The acts that making the promise would be, without `id`, `on` and `by`: order and promise of what was
    /// asked for, or of the largest number. None without a customer or a price, or where nothing can be promised.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub acts: Option<[Value; 2]>,
}

/// Another way to serve an enquiry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alternative {
    /// Variety.
    pub variety: String,
    /// Rootstock.
    pub rootstock: String,
    /// Size.
    pub size: String,
    /// By when.
    pub by: String,
    /// Plants that can be promised by then.
    pub plants: u32,
    /// Odds of them.
    pub odds: f64,
    /// Price of one, minor units, where it is set.
    pub price: Option<f64>,
    /// The plants that would follow, where the delivery is split.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rest: Option<Rest>,
}

/// The second part of a split delivery.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Rest {
    /// Plants.
    pub plants: u32,
    /// By when.
    pub by: String,
}

/// An earlier promise that would be broken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Break {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Its odds now.
    pub odds: f64,
    /// Its odds with the promise made.
    pub odds_then: f64,
    /// The odds it is to have.
    pub target: f64,
}

/// Weeks before the due week from which a promised line may be sent (own; as the order form has it).
pub const EARLY_WEEKS: i32 = 4;
/// Weeks after the due week until which a customer takes it (own; as the order form has it).
pub const LATE_WEEKS: i32 = 8;

/// Alternatives told.
const MOST_ALTERNATIVES: usize = 5;

/// A product of the nursery.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Product {
    variety: VarietyName,
    rootstock: RootstockName,
    size: SizeName,
}

/// A nursery that is asked.
struct Counter<'a> {
    file: &'a NurseryFile,
    books: &'a Books,
    odds: &'a OddsNow,
    at_odds: f64,
}

/// Asks how many can be promised, product by product.
pub(super) struct Largest<'a>(Counter<'a>);

impl<'a> Largest<'a> {
    /// At odds as a share.
    pub(super) fn new(
        file: &'a NurseryFile,
        books: &'a Books,
        odds: &'a OddsNow,
        at_odds: f64,
    ) -> Self {
        Self(Counter {
            file,
            books,
            odds,
            at_odds,
        })
    }

    /// The largest number of a product that can be promised by a week.
    pub(super) fn of(
        &self,
        variety: &str,
        rootstock: &str,
        size: &str,
        week: i32,
    ) -> Result<u32, AppError> {
        let product = Product {
            variety: VarietyName::from(variety),
            rootstock: RootstockName::from(rootstock),
            size: SizeName::from(size),
        };
        // What nobody could have even if others were let down is not asked further.
        let due = usize::try_from(week).unwrap_or(usize::MAX);
        let supply = self.0.supply(&product, 1, week)?;
        if supply.is_none_or(|it| it.largest(due, self.0.at_odds) == 0) {
            return Ok(0);
        }
        let answered = self.0.ask(&product, 1, week)?;
        Ok(answered.map_or(0, |it| it.largest))
    }
}

/// A line of the enquiry's own: no line of an order has a name without a slash.
const ENQUIRY: &str = "enquiry";

impl NurseryFile {
    /// Answers an enquiry from odds drawn before.
    ///
    /// # Errors
    /// The week is none, or has passed, or lies after the weeks that the futures play.
    pub fn promise(
        &self,
        books: &Books,
        odds: &OddsNow,
        enquiry: &Enquiry,
    ) -> Result<PromiseAnswer, AppError> {
        let week = week_asked(&odds.season, &enquiry.by)?;
        let counter = Counter {
            file: self,
            books,
            odds,
            at_odds: f64::from(enquiry.at_odds) / 100.0,
        };
        let asked = Product::of(enquiry);
        let answered = counter.ask(&asked, enquiry.plants, week)?;
        let price = counter.price(&asked);
        let mut answer = PromiseAnswer {
            plants: enquiry.plants,
            by: enquiry.by.clone(),
            odds: 0.0,
            largest: 0,
            at_odds: counter.at_odds,
            earliest_week: None,
            alternatives: Vec::new(),
            breaks: Vec::new(),
            price,
            futures: odds.answer.futures,
            run: odds.answer.run.clone(),
            acts: None,
        };
        if let Some(it) = &answered {
            answer.odds = it.odds;
            answer.largest = it.largest;
            answer.breaks = it.breaks.iter().map(|it| counter.broken(it)).collect();
            answer.earliest_week = counter.earliest(&asked, enquiry.plants, week, it)?;
        }
        answer.alternatives = counter.alternatives(&asked, enquiry, week, &answer)?;
        answer.acts = counter.acts(&asked, enquiry, week, &answer);
        Ok(answer)
    }
}

/// A promise that can be made.
pub(super) struct Makeable {
    /// What is recorded.
    pub promise: NewPromise,
    /// The line that the stored futures take in.
    pub line: Order,
    /// The odds below which later promises may not push it.
    pub target: f64,
}

/// Who makes a promise, when, and under which names its two acts are recorded.
#[derive(Debug, Clone)]
pub struct Maker {
    /// The person.
    pub by: String,
    /// The day.
    pub on: Date,
    /// Ids of the order and of the promise, made when the form was drawn: sent twice, they are one promise.
    pub ids: [String; 2],
}

impl NurseryFile {
    /// The promise of all plants that an enquiry asks for, ready to be recorded.
    ///
    /// # Errors
    /// It names no customer, or not so many can be promised.
    pub(super) fn makeable(
        &self,
        books: &Books,
        odds: &OddsNow,
        enquiry: &Enquiry,
        maker: &Maker,
    ) -> Result<Makeable, AppError> {
        let answer = self.promise(books, odds, enquiry)?;
        let Some(mut acts) = answer
            .acts
            .clone()
            .filter(|_| answer.largest >= enquiry.plants)
        else {
            return Err(AppError::new(
                Kind::Invalid,
                format!(
                    "{} plants cannot be promised by {}; at most {} can",
                    enquiry.plants, enquiry.by, answer.largest
                ),
                "plants",
                "ask for fewer, a later week or something else, and name the customer and a price",
            ));
        };
        for (act, id) in acts.iter_mut().zip(&maker.ids) {
            act["id"] = json!(id);
            act["on"] = json!(maker.on);
            act["by"] = json!(maker.by);
        }
        let order = acts[0]["order"].as_str().unwrap_or_default().to_owned();
        let line = "1".to_owned();
        let week = week_asked(&odds.season, &enquiry.by)?;
        let counter = Counter {
            file: self,
            books,
            odds,
            at_odds: answer.at_odds,
        };
        let of_case = counter.line(&Product::of(enquiry), enquiry.plants, week);
        let told = json!({
            "order": order, "line": line, "on_time": answer.odds, "run": answer.run, "futures": answer.futures,
            "seed": odds.answer.seed, "as_of": odds.as_of, "entries": odds.number, "at_odds": answer.at_odds,
        });
        Ok(Makeable {
            line: Order {
                id: format!("{order}/{line}"),
                ..of_case.ok_or_else(|| no_such_product(enquiry))?
            },
            target: answer.at_odds.min(answer.odds),
            promise: NewPromise {
                acts,
                line: (order, line),
                told: told.as_object().cloned().unwrap_or_default(),
            },
        })
    }
}

fn no_such_product(enquiry: &Enquiry) -> AppError {
    AppError::new(
        Kind::NotFound,
        format!(
            "the season grows no {} on {}, {}",
            enquiry.variety, enquiry.rootstock, enquiry.size
        ),
        "the enquiry",
        "plan it first: expect demand for it in demand.csv, or enter an order and make a plan",
    )
}

/// The week an enquiry names, counted from the first that the futures play.
fn week_asked(season: &SeasonModel, by: &str) -> Result<i32, AppError> {
    let wrong = |what: String, mend: &str| AppError::new(Kind::Invalid, what, "by", mend);
    let Some(monday) = parse_week(by).map(ISOWeekDate::date) else {
        return Err(wrong(
            format!("{by} is no week"),
            "write the ISO week by which the plants are wanted, such as 2028-W14",
        ));
    };
    let week = season.calendar.week_of(monday);
    let first = season.calendar.iso(0);
    let last = season.calendar.iso(season.weeks as i64 - 1);
    if week < 0 {
        return Err(wrong(
            format!("{by} has passed"),
            &format!("ask for {first} or a later week"),
        ));
    }
    if week >= season.weeks as i64 {
        return Err(wrong(
            format!("the plan ends in {last}, before {by}"),
            "ask for an earlier week, or plan more weeks (planning.weeks in nursery.toml)",
        ));
    }
    Ok(i32::try_from(week).unwrap_or(i32::MAX))
}

impl Product {
    fn of(enquiry: &Enquiry) -> Self {
        Self {
            variety: VarietyName::from(enquiry.variety.as_str()),
            rootstock: RootstockName::from(enquiry.rootstock.as_str()),
            size: SizeName::from(enquiry.size.as_str()),
        }
    }

    fn of_stage(stage: &Stage) -> Option<Self> {
        Some(Self {
            variety: stage.variety.clone()?,
            rootstock: stage.rootstock.clone(),
            size: stage.size.clone()?,
        })
    }
}

impl Counter<'_> {
    /// A promise that would be broken, by order and line.
    fn broken(&self, it: &futures::Broken) -> Break {
        let lines = &self.odds.season.lines;
        let line = lines.iter().find(|line| line.id == it.line);
        Break {
            order: line.map_or_else(|| it.line.clone(), |line| line.order.clone()),
            line: line.map_or_else(String::new, |line| line.line.clone()),
            odds: it.odds_before,
            odds_then: it.odds_after,
            target: it.target,
        }
    }

    /// The stages whose trees of a product an enquiry may have.
    fn accepts(&self, product: &Product) -> Vec<String> {
        let stages = &self.odds.season.stages;
        let Product {
            variety,
            rootstock,
            size,
        } = product;
        let open = season::open_to_all(stages, variety, rootstock, size).into_iter();
        open.map(|at| stages[at].id.clone()).collect()
    }

    /// The line that an enquiry would be; none of a product that the season does not know.
    fn line(&self, product: &Product, plants: u32, week: i32) -> Option<Order> {
        let accepts = self.accepts(product);
        (!accepts.is_empty()).then(|| Order {
            id: ENQUIRY.to_owned(),
            accepts,
            plants,
            earliest: week - EARLY_WEEKS,
            due: week,
            latest: week + LATE_WEEKS,
            priority: season::PROMISED_PRIORITY,
            tolerance: 0.0,
            kept: 1.0,
            minimum_load: 0,
        })
    }

    /// Puts a question about the line that an enquiry would be to the stored futures; none of a product that the
    /// season does not know.
    fn put<T>(
        &self,
        product: &Product,
        plants: u32,
        week: i32,
        question: impl FnOnce(&Stored, Asked) -> Result<T, SimulateError>,
    ) -> Result<Option<T>, AppError> {
        let Some(line) = self.line(product, plants, week) else {
            return Ok(None);
        };
        let at_odds = self.at_odds;
        let answer = question(&self.odds.stored(), Asked { line, at_odds });
        answer.map(Some).map_err(|error| not_asked(&error))
    }

    fn ask(&self, product: &Product, plants: u32, week: i32) -> Result<Option<Answered>, AppError> {
        self.put(product, plants, week, |stored, asked| stored.ask(&asked))
    }

    /// Whether all plants can be promised by a week.
    fn can(&self, product: &Product, plants: u32, week: i32) -> Result<bool, AppError> {
        let can = self.put(product, plants, week, |stored, asked| {
            stored.may_promise(&asked)
        })?;
        Ok(can.unwrap_or(false))
    }

    /// The most plants, up to so many, that can be promised by a week without breaking a promise made before.
    fn harmless(&self, product: &Product, plants: u32, week: i32) -> Result<u32, AppError> {
        let most = self.put(product, plants, week, |stored, asked| {
            stored.harmless(&asked.line)
        })?;
        Ok(most.unwrap_or(0))
    }

    /// What could be had of a product by each week up to one.
    fn supply(
        &self,
        product: &Product,
        plants: u32,
        week: i32,
    ) -> Result<Option<Supply>, AppError> {
        self.put(product, plants, week, |stored, asked| {
            stored.supply(&Order {
                latest: week,
                ..asked.line
            })
        })
    }

    /// The odds that so many plants are there by a week.
    fn odds_of(&self, product: &Product, plants: u32, week: i32) -> Result<f64, AppError> {
        let supply = self.supply(product, plants, week)?;
        let due = usize::try_from(week).unwrap_or(usize::MAX);
        Ok(supply.map_or(0.0, |it| it.odds(plants, due)))
    }

    /// The odds that so many plants are there by a week, and so many in all by a later one.
    fn odds_in_parts(
        &self,
        product: &Product,
        first: (u32, i32),
        all: (u32, i32),
    ) -> Result<f64, AppError> {
        let supply = self.supply(product, all.0, all.1)?;
        let parts = [first, all]
            .map(|(plants, week)| (plants, usize::try_from(week).unwrap_or(usize::MAX)));
        Ok(supply.map_or(0.0, |it| it.odds_of_all(&parts)))
    }

    /// The first week by which all plants can be promised, each week asked for on its own: a later one leaves
    /// more to others.
    fn earliest(
        &self,
        product: &Product,
        plants: u32,
        week: i32,
        answered: &Answered,
    ) -> Result<Option<String>, AppError> {
        let Some(own) = answered.earliest else {
            return Ok(None);
        };
        let own = i32::try_from(own).unwrap_or(i32::MAX);
        let can = |week: i32| self.can(product, plants, week);
        // The first week by which its own plants are there mostly does; else the first that leaves others enough is
        // looked for between that and one that does.
        let first = own.min(week);
        if own < self.weeks() && can(first)? {
            return Ok(Some(self.iso(first)));
        }
        let mut does = if answered.largest >= plants {
            week
        } else {
            let last = self.weeks() - 1;
            if own > last || !can(last)? {
                return Ok(None);
            }
            last
        };
        let mut may = first + 1;
        while may < does && answered.largest < plants {
            let middle = may + (does - may) / 2;
            if can(middle)? {
                does = middle;
            } else {
                may = middle + 1;
            }
        }
        Ok(Some(self.iso(does)))
    }

    fn weeks(&self) -> i32 {
        i32::try_from(self.odds.season.weeks).unwrap_or(i32::MAX)
    }

    fn iso(&self, week: i32) -> String {
        self.odds.season.calendar.iso(i64::from(week))
    }

    fn price(&self, product: &Product) -> Option<f64> {
        self.file.tree_price(
            self.books,
            product.variety.as_str(),
            product.rootstock.as_str(),
            product.size.as_str(),
        )
    }

    /// What else could be offered: the whole number later or in two parts, then the same variety on other
    /// rootstocks that join it well and in other sizes, those that come nearest to the number first.
    fn alternatives(
        &self,
        asked: &Product,
        enquiry: &Enquiry,
        week: i32,
        answer: &PromiseAnswer,
    ) -> Result<Vec<Alternative>, AppError> {
        let mut all = Vec::new();
        if answer.largest < enquiry.plants
            && let Some(later) = &answer.earliest_week
        {
            let then = week_asked(&self.odds.season, later)?;
            if answer.largest > 0 {
                let odds =
                    self.odds_in_parts(asked, (answer.largest, week), (enquiry.plants, then))?;
                let first = self.alternative(asked, &enquiry.by, answer.largest, odds);
                all.push(Alternative {
                    rest: Some(Rest {
                        plants: enquiry.plants - answer.largest,
                        by: later.clone(),
                    }),
                    ..first
                });
            }
            let odds = self.odds_of(asked, enquiry.plants, then)?;
            all.push(self.alternative(asked, later, enquiry.plants, odds));
        }
        let due = usize::try_from(week).unwrap_or(usize::MAX);
        let mut others = Vec::new();
        for product in self.others(asked) {
            if let Some(supply) = self.supply(&product, enquiry.plants, week)? {
                let own = supply.largest(due, self.at_odds).min(enquiry.plants);
                others.push((Reverse(own), product.size != asked.size, product, supply));
            }
        }
        others.retain(|(own, ..)| own.0 > 0);
        others.sort_by_key(|(own, is_other_size, ..)| (*own, *is_other_size));
        for (Reverse(own), _, product, supply) in others {
            if all.len() >= MOST_ALTERNATIVES {
                break;
            }
            // What it could have of its own may be promised to others already.
            let plants = self.harmless(&product, own, week)?;
            if plants > 0 {
                let odds = supply.odds(plants, due);
                all.push(self.alternative(&product, &enquiry.by, plants, odds));
            }
        }
        all.truncate(MOST_ALTERNATIVES);
        Ok(all)
    }

    fn alternative(&self, product: &Product, by: &str, plants: u32, odds: f64) -> Alternative {
        Alternative {
            variety: product.variety.to_string(),
            rootstock: product.rootstock.to_string(),
            size: product.size.to_string(),
            by: by.to_owned(),
            plants,
            odds,
            price: self.price(product),
            rest: None,
        }
    }

    /// The other products of the variety that the season grows: on rootstocks whose union with it lasts, and
    /// in other sizes.
    fn others(&self, asked: &Product) -> Vec<Product> {
        let mut others: Vec<Product> = Vec::new();
        let stages = self.odds.season.stages.iter().filter_map(Product::of_stage);
        for it in stages.filter(|it| it.variety == asked.variety && it != asked) {
            let is_new = !others.contains(&it);
            let differs_in_one = it.rootstock == asked.rootstock || it.size == asked.size;
            if is_new && differs_in_one && lasts(&self.file.catalogue, &it) {
                others.push(it);
            }
        }
        others
    }

    /// Order and promise for the customer: of all plants asked for where they can be promised, else of the
    /// most that can.
    fn acts(
        &self,
        asked: &Product,
        enquiry: &Enquiry,
        week: i32,
        answer: &PromiseAnswer,
    ) -> Option<[Value; 2]> {
        let customer = enquiry.customer.as_ref()?;
        let listed = answer.price.map(|it| it.round() as i64);
        let price = enquiry.price.or(listed)?;
        let plants = answer.largest.min(enquiry.plants);
        (plants > 0).then(|| {
            let order = self.file.next_order(self.books);
            let as_of = self.odds.as_of;
            let monday = |week: i32| self.odds.season.calendar.monday(i64::from(week));
            // At the end of a week its Friday may have passed.
            let due = friday(monday(week)).max(as_of);
            let line = json!({
                "line": "1",
                "variety": asked.variety.as_str(),
                "rootstocks": [asked.rootstock.as_str()],
                "size": asked.size.as_str(),
                "plants": plants,
                "earliest": monday(week - EARLY_WEEKS).max(as_of),
                "due": due,
                "latest": friday(monday(week + LATE_WEEKS)),
                "price": price,
                "contract": true,
            });
            let ordered =
                json!({"act": "order", "order": order, "customer": customer, "lines": [line]});
            let promised = json!({
                "act": "promise", "order": order, "line": "1", "plants": plants, "until": due,
            });
            [ordered, promised]
        })
    }
}

fn not_asked(error: &SimulateError) -> AppError {
    AppError::new(
        Kind::Invalid,
        error.to_string(),
        "the enquiry",
        "ask for at least one plant at odds of 1 to 99 percent",
    )
}

/// The last working day of a week, from its Monday.
fn friday(monday: Date) -> Date {
    monday.saturating_add(jiff::Span::new().days(4))
}

/// Whether a combination is known to last. No data is not compatible.
fn lasts(catalogue: &Catalogue, product: &Product) -> bool {
    let known = catalogue.combination(&product.variety, &product.rootstock);
    known.is_some_and(|it| it.verdict == Verdict::Compatible)
}
