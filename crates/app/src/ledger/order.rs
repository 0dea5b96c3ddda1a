//! One order: its lines, what became of them, and which plants are meant for them.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use jiff::civil::Date;
use nursery::catalogue::StageKind;
use nursery::ledger::act::Line;
use nursery::ledger::books::LineBook;
use nursery::ledger::lineage::Node;
use nursery::ledger::{Books, Event, Outcome};
use serde::{Deserialize, Serialize};
use store::Reading;

use super::NurseryFile;
use super::orders::{MadeFrom, OrderLineAnswer, RunAnswer};
use super::plans::PLAN;
use crate::error::{AppError, Kind};

/// An order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderAnswer {
    /// Its name.
    pub order: String,
    /// The customer.
    pub customer: String,
    /// The day it came in.
    pub since: Date,
    /// Its lines.
    pub lines: Vec<LineLife>,
    /// The futures that the odds are from.
    pub futures: Option<RunAnswer>,
    /// The plan that tells which plants are meant for it: the accepted one, else the last made.
    pub plan: Option<RunAnswer>,
}

/// A line with its past and what is meant for it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineLife {
    /// The line.
    pub line: OrderLineAnswer,
    /// What became of it, oldest first.
    pub past: Vec<LineEvent>,
    /// Finished trees that stand and may be sent for it.
    pub lots: Vec<FittingLot>,
    /// Planned work that serves it, by week.
    pub jobs: Vec<ServingJob>,
    /// What its trees come from in the plan, the largest part first.
    pub origins: Vec<Origin>,
    /// Plants that are tagged for it.
    pub tags: Vec<TaggedLot>,
}

/// Where trees of a line come from, on average of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Origin {
    /// The standing lot; none for plants still to be sown or bought.
    pub lot: Option<String>,
    /// Trees of the line.
    pub trees: f64,
}

/// Plants of a lot that are tagged for a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TaggedLot {
    /// The lot.
    pub lot: String,
    /// Plants.
    pub plants: u32,
}

/// Something that became of a line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineEvent {
    /// The day.
    pub on: Date,
    /// What.
    pub what: LineChange,
}

/// What became of a line.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LineChange {
    /// It was ordered.
    Ordered(Box<Line>),
    /// It was changed.
    Changed {
        /// As it was.
        from: Box<Line>,
        /// As it is since.
        to: Box<Line>,
    },
    /// It was cancelled.
    Cancelled,
    /// Plants were promised.
    Promised {
        /// Plants.
        plants: u32,
        /// By when.
        until: Option<Date>,
        /// Odds to be on time, as they were known.
        on_time: Option<f64>,
    },
    /// Plants were sent off.
    Shipped {
        /// Plants.
        plants: u32,
        /// From which lot.
        lot: String,
    },
    /// Plants of a lot are meant for it from then on.
    Tagged {
        /// Plants; none where the tag was taken off.
        plants: u32,
        /// Of which lot.
        lot: String,
    },
}

/// A lot of finished trees that a line takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FittingLot {
    /// Its name.
    pub lot: String,
    /// Rootstock.
    pub rootstock: String,
    /// Where it stands.
    pub place: String,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Whether a hold reaches it.
    pub held: bool,
    /// Whether the customer takes it in place of what was ordered.
    pub is_substitute: bool,
    /// Plants of it that are tagged for other lines.
    pub tagged_elsewhere: u32,
    /// Its class of health, where known.
    pub health_class: Option<String>,
    /// Whether it lacks the class of health that is asked for.
    pub lacks_class: bool,
}

impl FittingLot {
    /// Ready plants that are not tagged for other lines.
    pub fn free(&self) -> u32 {
        let stand = self.ready + self.growing;
        self.ready.min(stand.saturating_sub(self.tagged_elsewhere))
    }
}

/// A planned job that serves a line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ServingJob {
    /// ISO week.
    pub week: String,
    /// The act to record.
    pub operation: String,
    /// Where to.
    pub place: String,
    /// Plants of the whole job.
    pub plants: u32,
    /// Trees of it that the line gets.
    pub trees: f64,
    /// Standing lots it takes plants from.
    pub lots: Vec<String>,
}

/// A plan, as far as an order reads it.
#[derive(Deserialize)]
struct KeptPlan {
    run: String,
    jobs: Vec<KeptJob>,
    #[serde(default)]
    lines: Vec<KeptLine>,
    #[serde(default)]
    made_from: MadeFrom,
}

#[derive(Deserialize)]
struct KeptJob {
    #[serde(default)]
    job: String,
    operation: String,
    week: String,
    place: String,
    plants: u32,
    from: Vec<KeptFrom>,
    serves: Vec<KeptServes>,
}

#[derive(Deserialize)]
struct KeptFrom {
    lot: Option<String>,
    #[serde(default)]
    job: Option<String>,
    #[serde(default)]
    plants: f64,
}

#[derive(Deserialize)]
struct KeptLine {
    order: String,
    line: String,
    #[serde(default)]
    from: Vec<KeptFrom>,
}

#[derive(Deserialize)]
struct KeptServes {
    line: String,
    trees: f64,
}

impl NurseryFile {
    /// An order at the end of a day.
    pub fn order(&self, books: &Books, name: &str, day: Date) -> Result<OrderAnswer, AppError> {
        let known = books.orders.get(name).filter(|it| it.when.on <= day);
        let Some(order) = known else {
            return Err(AppError::new(
                Kind::NotFound,
                format!("there is no order {name}"),
                "",
                "check its name, or look at a later day",
            ));
        };
        let runs = self.last_runs(books, day)?;
        let customers = self.customers()?;
        let lines = self.lines_of(name, order, day, &customers, &runs);
        if lines.is_empty() {
            return Err(AppError::new(
                Kind::NotFound,
                format!("order {name} was taken back"),
                "",
                "enter it anew",
            ));
        }
        let plan = self.plan_in_force(books, day)?;
        let held = books.held(day);
        let customer = lines[0].customer.clone();
        let mut lives = Vec::new();
        for line in lines {
            let book = &order.lines[&line.terms.line];
            lives.push(LineLife {
                past: self.past_of(name, book, day)?,
                lots: fitting_lots(books, (name, &line.terms), day, |it| held.contains(it)),
                tags: tags(books, (name, &line.terms.line), day),
                jobs: plan.as_ref().map_or_else(Vec::new, |it| it.serving(&line)),
                origins: plan.as_ref().map_or_else(Vec::new, |it| it.origins(&line)),
                line,
            });
        }
        Ok(OrderAnswer {
            order: name.to_owned(),
            customer,
            since: order.when.on,
            lines: lives,
            futures: runs.futures,
            plan: plan.map(|it| it.made_from.answer(it.run, books)),
        })
    }

    /// The plan accepted on a day, else the last that was made.
    fn plan_in_force(&self, books: &Books, day: Date) -> Result<Option<KeptPlan>, AppError> {
        let accepted = books.plan_of(day);
        match accepted.and_then(|it| serde_json::from_str(&it.plan).ok()) {
            Some(plan) => Ok(Some(plan)),
            None => self.last_run(PLAN),
        }
    }

    fn past_of(&self, order: &str, book: &LineBook, day: Date) -> Result<Vec<LineEvent>, AppError> {
        let mut past = BTreeMap::new();
        let mut before: Option<&Line> = None;
        for (when, version) in &book.versions {
            let what = match (before, version) {
                (None, Some(to)) => LineChange::Ordered(to.clone()),
                (Some(from), Some(to)) => LineChange::Changed {
                    from: Box::new(from.clone()),
                    to: to.clone(),
                },
                (_, None) => LineChange::Cancelled,
            };
            before = version.as_deref();
            past.insert((*when, past.len()), what);
        }
        for (when, plants) in &book.promised {
            let name = book.now().map_or("", |it| it.line.as_str());
            let (until, on_time) = self.promise_kept(when.number, order, name, *plants)?;
            let what = LineChange::Promised {
                plants: *plants,
                until,
                on_time,
            };
            past.insert((*when, past.len()), what);
        }
        for (when, lot, plants) in &book.shipped {
            let what = LineChange::Shipped {
                plants: *plants,
                lot: lot.to_string(),
            };
            past.insert((*when, past.len()), what);
        }
        for (when, lot, plants) in &book.tags {
            let what = LineChange::Tagged {
                plants: *plants,
                lot: lot.to_string(),
            };
            past.insert((*when, past.len()), what);
        }
        let until_day = past.into_iter().filter(|((when, _), _)| when.on <= day);
        Ok(until_day
            .map(|((when, _), what)| LineEvent { on: when.on, what })
            .collect())
    }

    /// By when plants were promised and at which odds, as the entry of the promise tells.
    fn promise_kept(
        &self,
        number: u64,
        order: &str,
        line: &str,
        plants: u32,
    ) -> Result<(Option<Date>, Option<f64>), AppError> {
        let mut found = (None, None);
        let read = self.ledger.entries(number.saturating_sub(1), &mut |entry| {
            if let Ok(Outcome::Done(events)) = Outcome::decode(&entry.outcome) {
                let kept = events.iter().find_map(|event| match event {
                    Event::Promised {
                        order: of,
                        line: its,
                        plants: so_many,
                        until,
                        odds,
                    } if of == order && its == line && *so_many == plants => {
                        let on_time = odds.as_ref().and_then(|it| it.get("on_time")?.as_f64());
                        Some((*until, on_time))
                    }
                    _ => None,
                });
                found = kept.unwrap_or_default();
            }
            ControlFlow::Break(())
        });
        self.asked(read)?;
        Ok(found)
    }
}

impl KeptPlan {
    fn serving(&self, line: &OrderLineAnswer) -> Vec<ServingJob> {
        let id = format!("{}/{}", line.order, line.terms.line);
        let serving = self.jobs.iter().filter_map(|job| {
            let served = job.serves.iter().find(|it| it.line == id)?;
            Some(ServingJob {
                week: job.week.clone(),
                operation: job.operation.clone(),
                place: job.place.clone(),
                plants: job.plants,
                trees: served.trees,
                lots: job.from.iter().filter_map(|it| it.lot.clone()).collect(),
            })
        });
        let mut serving: Vec<ServingJob> = serving.collect();
        serving.sort_by(|one, other| one.week.cmp(&other.week));
        serving
    }

    /// What a line's trees come from: standing lots, followed back through the jobs between, each job's
    /// sources in the shares in which it takes from them.
    fn origins(&self, line: &OrderLineAnswer) -> Vec<Origin> {
        let of_line = self
            .lines
            .iter()
            .find(|it| it.order == line.order && it.line == line.terms.line);
        let jobs: BTreeMap<&str, &KeptJob> =
            self.jobs.iter().map(|it| (it.job.as_str(), it)).collect();
        let mut by_lot: BTreeMap<Option<&str>, f64> = BTreeMap::new();
        // A job takes from earlier ones only, so that the way back ends.
        let mut open: Vec<(&KeptFrom, f64)> = of_line
            .into_iter()
            .flat_map(|it| &it.from)
            .map(|it| (it, it.plants))
            .collect();
        while let Some((from, trees)) = open.pop() {
            let job = from.job.as_deref().and_then(|it| jobs.get(it));
            let sources = job.map_or(&[][..], |it| &it.from);
            let all: f64 = sources.iter().map(|it| it.plants).sum();
            if all > 0.0 {
                open.extend(sources.iter().map(|it| (it, trees * it.plants / all)));
            } else {
                *by_lot.entry(from.lot.as_deref()).or_insert(0.0) += trees;
            }
        }
        let mut origins: Vec<Origin> = by_lot
            .into_iter()
            .map(|(lot, trees)| Origin {
                lot: lot.map(str::to_owned),
                trees,
            })
            .collect();
        origins.sort_by(|one, other| other.trees.total_cmp(&one.trees));
        origins
    }
}

fn tags(books: &Books, (order, line): (&str, &str), day: Date) -> Vec<TaggedLot> {
    let tags = books.tags_for(order, line, day).into_iter();
    tags.map(|it| TaggedLot {
        lot: it.lot.to_string(),
        plants: it.plants,
    })
    .collect()
}

/// Finished trees of what a line asks for, or of what is taken in its place.
fn fitting_lots(
    books: &Books,
    (order, line): (&str, &Line),
    day: Date,
    is_held: impl Fn(&Node) -> bool,
) -> Vec<FittingLot> {
    let lots = books.lots.iter().filter_map(|(name, lot)| {
        let view = lot.on(day)?;
        let (variety, size) = (lot.variety.as_ref()?, view.size.as_ref()?);
        let stands = view.stage == StageKind::Finished && view.plants() > 0;
        if !stands || !line.takes(variety, &lot.rootstock, Some(size)) {
            return None;
        }
        let is_own = *variety == line.variety
            && line.rootstocks.contains(&lot.rootstock)
            && *size == line.size;
        let tags = books.tagged_on(name, day).into_iter();
        let elsewhere = tags.filter(|it| it.order != order || it.line != line.line);
        let health_class = books.health_class(name, day);
        Some(FittingLot {
            lot: name.to_string(),
            rootstock: lot.rootstock.to_string(),
            place: view.place.to_string(),
            growing: view.growing,
            ready: view.ready,
            held: is_held(&Node::Lot(name.clone())),
            is_substitute: !is_own,
            tagged_elsewhere: elsewhere.map(|it| it.plants).sum(),
            lacks_class: line.health_class.is_some() && line.health_class != health_class,
            health_class,
        })
    });
    lots.collect()
}
