//! A lot's whole life: what it came of, what was done with it, how it stood after each act.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use nursery::ids::LotName;
use nursery::ledger::Books;
use nursery::ledger::books::Hold;
use nursery::ledger::lineage::{Node, Shipment};
use nursery::ledger::lot::{Lot, Origin, View};
use serde::Serialize;

use super::NurseryFile;
use super::journal::{ActAnswer, Told};
use super::names::Shown;
use super::outlook::Outlook;
use super::standing::{LotAnswer, lot_answer};
use super::trace::{NodeAnswer, answer};
use crate::error::{AppError, Kind};

/// The life of a lot up to a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LifeAnswer {
    /// Its name.
    pub lot: String,
    /// Rootstock.
    pub rootstock: String,
    /// Variety, once budded.
    pub variety: Option<String>,
    /// The day it began; none where its beginning was taken back.
    pub began: Option<Date>,
    /// Day it was budded.
    pub budded_on: Option<Date>,
    /// How it stands; none where none of it does.
    pub now: Option<LotAnswer>,
    /// What it was made of, one step back.
    pub from: Vec<KinAnswer>,
    /// What was made of it, one step forward.
    pub into: Vec<KinAnswer>,
    /// What was sent off of it.
    pub shipments: Vec<Shipment>,
    /// What of it is tagged for lines of orders.
    pub tags: Vec<TagAnswer>,
    /// Samples that were looked at, the last in front.
    pub looks: Vec<LookAnswer>,
    /// Its class of health, where known.
    pub health_class: Option<String>,
    /// What was done with it and noted of it, in the order of the field.
    pub acts: Vec<LotAct>,
    /// How many plants stood after each act that changed it.
    pub course: Vec<CoursePoint>,
    /// Holds that reach it.
    pub holds: Vec<HoldAnswer>,
}

/// Plants that are tagged for a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TagAnswer {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// The customer.
    pub customer: String,
    /// Plants.
    pub plants: u32,
}

/// A sample that was looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookAnswer {
    /// The day.
    pub on: Date,
    /// Plants looked at.
    pub looked_at: u32,
    /// How many of them were fit for the next step.
    pub fit: Option<u32>,
    /// Their mean caliper, mm.
    pub caliper_mm: Option<f64>,
}

/// Next of kin of a lot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KinAnswer {
    /// What came of it: `plants`, `buds` or `seed`.
    pub gave: &'static str,
    /// Who.
    #[serde(flatten)]
    pub node: NodeAnswer,
}

/// An act of a lot's life.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotAct {
    /// The act.
    #[serde(flatten)]
    pub act: ActAnswer,
    /// Plants that stood before it; none before the lot began.
    pub before: Option<u32>,
    /// Plants that stood after it; none where the lot had not begun.
    pub after: Option<u32>,
}

/// How a lot stood after an act.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CoursePoint {
    /// The day.
    pub on: Date,
    /// The act's number.
    pub number: u64,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
}

/// A hold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HoldAnswer {
    /// The mother tree or lot that is held.
    pub of: NodeAnswer,
    /// Since when.
    pub since: Date,
    /// Why.
    pub reason: String,
}

impl NurseryFile {
    /// The life of a lot up to the end of a day.
    pub fn life(
        &self,
        books: &Books,
        name: &str,
        day: Date,
        outlook: &Outlook,
    ) -> Result<LifeAnswer, AppError> {
        let Some(lot) = books.lots.get(&LotName::from(name)) else {
            return Err(AppError::new(
                Kind::NotFound,
                format!("there is no lot {name}"),
                self.path.display().to_string(),
                "check its name: `barkslip standing` lists the lots",
            ));
        };
        let kin = Kin::of(books, lot, day);
        let course: Vec<_> = lot
            .course()
            .into_iter()
            .filter(|it| it.0.on <= day)
            .collect();
        let told = self.told_all(books, &lot.acts)?;
        let view = course.last().map(|(_, view)| view);
        let stands = view.filter(|it| it.plants() > 0);
        Ok(LifeAnswer {
            lot: name.to_owned(),
            rootstock: lot.rootstock.to_string(),
            variety: lot.variety.as_ref().map(ToString::to_string),
            began: lot.began(),
            budded_on: lot.budded_on,
            now: stands.map(|view| lot_answer(lot, view, &kin.held, outlook)),
            from: kin.back(books),
            into: kin.forward(books),
            shipments: self.shipments(books, lot, day)?,
            tags: self.tags(books, lot, day)?,
            looks: looks(lot, day),
            health_class: books.health_class(&lot.lot, day),
            acts: acts(told, &course, day),
            course: course
                .iter()
                .map(|(when, view)| CoursePoint {
                    on: when.on,
                    number: when.number,
                    growing: view.growing,
                    ready: view.ready,
                })
                .collect(),
            holds: holds(books, lot, &kin, day),
        })
    }

    fn tags(&self, books: &Books, lot: &Lot, day: Date) -> Result<Vec<TagAnswer>, AppError> {
        let shown = Shown::of(&self.ledger);
        let tags = books.tagged_on(&lot.lot, day).into_iter();
        tags.map(|it| {
            let customer = match books.orders.get(&it.order) {
                Some(order) => self.asked(shown.name(&order.customer))?,
                None => String::new(),
            };
            Ok(TagAnswer {
                order: it.order,
                line: it.line,
                customer,
                plants: it.plants,
            })
        })
        .collect()
    }

    fn shipments(&self, books: &Books, lot: &Lot, day: Date) -> Result<Vec<Shipment>, AppError> {
        let shown = Shown::of(&self.ledger);
        let mut sums: BTreeMap<(&String, &String), u32> = BTreeMap::new();
        for (when, order, line, plants) in &lot.shipments {
            if when.on <= day {
                *sums.entry((order, line)).or_insert(0) += plants;
            }
        }
        let mut shipments = Vec::new();
        for ((order, line), plants) in sums {
            let customer = match books.orders.get(order) {
                Some(order) => self.asked(shown.name(&order.customer))?,
                None => String::new(),
            };
            shipments.push(Shipment {
                order: order.clone(),
                line: line.clone(),
                customer,
                lot: lot.lot.clone(),
                plants,
            });
        }
        Ok(shipments)
    }
}

fn looks(lot: &Lot, day: Date) -> Vec<LookAnswer> {
    let until = lot.looks.iter().rev().filter(|(when, _)| when.on <= day);
    until
        .map(|(when, it)| {
            let look = it.look(when.on);
            let calipers = look.calipers_mm.len() as f64;
            let mean = look.calipers_mm.iter().sum::<f64>() / calipers;
            LookAnswer {
                on: look.on,
                looked_at: look.looked_at,
                fit: look.fit,
                caliper_mm: (calipers > 0.0).then_some(mean),
            }
        })
        .collect()
}

/// A lot with what its kin needs to be told.
struct Kin<'a> {
    lot: &'a Lot,
    day: Date,
    held: BTreeSet<Node>,
}

impl<'a> Kin<'a> {
    /// Only the lot and its next of kin are looked at for holds.
    fn of(books: &Books, lot: &'a Lot, day: Date) -> Self {
        let own = Node::Lot(lot.lot.clone());
        let mut near = books.parents(&own);
        near.extend(books.children(&own));
        near.push(own);
        let is_held = |it: &Node| books.hold_on(it, day).is_some();
        Self {
            lot,
            day,
            held: near.into_iter().filter(is_held).collect(),
        }
    }

    fn back(&self, books: &Books) -> Vec<KinAnswer> {
        let nodes = books.parents(&Node::Lot(self.lot.lot.clone()));
        let kin = self.lot.from.iter().zip(nodes);
        let kin = kin.map(|(origin, node)| KinAnswer {
            gave: match origin {
                Origin::Lot(_) | Origin::Outside(_) => "plants",
                Origin::BudsOf(_) | Origin::Cut(_) | Origin::MotherTree(_) => "buds",
                Origin::Batch(_) => "seed",
            },
            node: answer(books, &self.held, &node, self.day),
        });
        kin.collect()
    }

    fn forward(&self, books: &Books) -> Vec<KinAnswer> {
        let buds = Origin::BudsOf(self.lot.lot.clone());
        let lots = self.lot.into.iter().filter_map(|it| books.lots.get(it));
        let begun = lots.filter(|it| it.began().is_some_and(|began| began <= self.day));
        let kin = begun.map(|it| KinAnswer {
            gave: if it.from.contains(&buds) {
                "buds"
            } else {
                "plants"
            },
            node: answer(books, &self.held, &Node::Lot(it.lot.clone()), self.day),
        });
        kin.collect()
    }
}

/// The acts of a life in the order of the field, each with what stood before and after it.
fn acts(
    mut told: Vec<Told>,
    course: &[(nursery::ledger::lot::When, View)],
    day: Date,
) -> Vec<LotAct> {
    told.sort_by_key(|it| it.when);
    let stood = |until: usize| until.checked_sub(1).map(|at| course[at].1.plants());
    told.into_iter()
        .filter(|it| it.when.on <= day)
        .map(|it| LotAct {
            before: stood(course.partition_point(|(when, _)| *when < it.when)),
            after: stood(course.partition_point(|(when, _)| *when <= it.when)),
            act: it.answer,
        })
        .collect()
}

fn holds(books: &Books, lot: &Lot, kin: &Kin<'_>, day: Date) -> Vec<HoldAnswer> {
    let node = Node::Lot(lot.lot.clone());
    let said = |hold: &Hold| HoldAnswer {
        of: NodeAnswer {
            held: true,
            ..answer(books, &kin.held, &Node::of_subject(&hold.of), day)
        },
        since: hold.when.on,
        reason: hold.reason.clone(),
    };
    books.holds_on(&node, day).map(said).collect()
}
