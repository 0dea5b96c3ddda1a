//! Lineage and the soundness of the whole.

use std::collections::BTreeSet;

use jiff::civil::Date;
use nursery::ids::LotName;
use nursery::ledger::lineage::{Node, Shipment, Trace};
use nursery::ledger::{Account, Books};
use serde::Serialize;
use store::{Head, Ledger};

use super::names::Shown;
use super::{NurseryFile, fold};
use crate::error::{AppError, Kind};

/// `trace --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TraceAnswer {
    /// What was traced.
    pub of: NodeAnswer,
    /// What it came from.
    pub back: Vec<NodeAnswer>,
    /// What came of it, the standing first.
    pub forward: Vec<NodeAnswer>,
    /// What was sent off.
    pub shipments: Vec<Shipment>,
    /// Customers who got any of it.
    pub customers: Vec<String>,
    /// Plants of it that stand.
    pub standing: u32,
}

/// A point of a lineage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NodeAnswer {
    /// `lot`, `mother_tree`, `cut`, `batch` or `outside`.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// Plants that stand, of a lot.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plants: Option<u32>,
    /// Whether a hold reaches it.
    pub held: bool,
}

/// `check --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckAnswer {
    /// Entries walked.
    pub entries: u64,
    /// Whether the accounts of all lots agree with what stands, none below zero.
    pub balanced: bool,
    /// Whether every entry follows from the one before.
    pub chain: bool,
    /// The head, to be kept: it shows a cut-off tail later.
    pub head: String,
}

impl NurseryFile {
    /// The lineage of a lot, mother tree, cut or seed batch, both ways.
    pub fn trace(&self, books: &Books, name: &str, day: Date) -> Result<TraceAnswer, AppError> {
        let Some(node) = books.node(name) else {
            return Err(AppError::new(
                Kind::NotFound,
                format!("there is no lot, mother tree, cut or seed batch {name}"),
                self.path.display().to_string(),
                "check the name: `barkslip standing` lists the lots",
            ));
        };
        let Trace {
            of,
            back,
            forward,
            mut shipments,
        } = books.trace(&node, day);
        let shown = Shown::of(&self.ledger);
        for shipment in &mut shipments {
            shipment.customer = self.asked(shown.name(&shipment.customer))?;
        }
        let customers: BTreeSet<String> = shipments.iter().map(|it| it.customer.clone()).collect();
        let held = books.held(day);
        let answer = |it: &Node| answer(books, &held, it, day);
        let mut forward: Vec<NodeAnswer> = forward.iter().map(answer).collect();
        forward.sort_by_key(|it| it.plants.unwrap_or(0) == 0);
        let of = answer(&of);
        let standing = forward.iter().chain([&of]).filter_map(|it| it.plants).sum();
        Ok(TraceAnswer {
            of,
            back: back.iter().map(answer).collect(),
            forward,
            shipments,
            customers: customers.into_iter().collect(),
            standing,
        })
    }

    /// Walks the chain and folds the books from nothing; tells the first thing that is wrong.
    pub fn check(&self, kept: Option<Head>) -> Result<CheckAnswer, AppError> {
        let verified = self.asked(self.ledger.verify(kept))?;
        let mut books = Books::default();
        self.asked(fold(&self.ledger, &mut books))?;
        if let Some(what) = unbalanced(&books) {
            return Err(self.unreadable(what));
        }
        if books != *self.books && books.number == self.books.number {
            return Err(
                self.unreadable("the books in use differ from those of the ledger".to_owned())
            );
        }
        Ok(CheckAnswer {
            entries: verified.entries,
            balanced: true,
            chain: true,
            head: verified.head.to_string(),
        })
    }
}

/// What does not balance or leads nowhere, if anything.
fn unbalanced(books: &Books) -> Option<String> {
    if books.accounts.values().sum::<i64>() != 0 {
        return Some("plants appeared or vanished: the accounts do not sum to zero".to_owned());
    }
    for (name, lot) in &books.lots {
        let stands = lot.now().map_or(0, |view| i64::from(view.plants()));
        let booked = books.booked(name);
        if lot.check().is_err() || booked != stands {
            return Some(format!(
                "lot {name} has {booked} plants in its account, but {stands} stand"
            ));
        }
        let parent = lot
            .from
            .iter()
            .find_map(|origin| missing_lot(books, origin));
        if let Some(parent) = parent {
            return Some(format!("lot {name} came of {parent}, which is not there"));
        }
    }
    let strange = books.accounts.iter().find(|(account, plants)| {
        account
            .lot()
            .is_some_and(|lot| **plants < 0 || !books.lots.contains_key(lot))
    });
    strange.map(|(account, plants)| match account {
        Account::Lot(lot) => format!("lot {lot} has {plants} plants"),
        _ => "an account is below zero".to_owned(),
    })
}

fn missing_lot<'a>(books: &Books, origin: &'a nursery::ledger::lot::Origin) -> Option<&'a LotName> {
    use nursery::ledger::lot::Origin;
    match origin {
        Origin::Lot(lot) | Origin::BudsOf(lot) => (!books.lots.contains_key(lot)).then_some(lot),
        _ => None,
    }
}

pub(super) fn answer(books: &Books, held: &BTreeSet<Node>, node: &Node, day: Date) -> NodeAnswer {
    let (kind, name) = match node {
        Node::Lot(it) => ("lot", it.to_string()),
        Node::MotherTree(it) => ("mother_tree", it.to_string()),
        Node::Cut(it) => ("cut", it.clone()),
        Node::Batch(it) => ("batch", it.clone()),
        Node::Outside(it) => ("outside", it.clone()),
    };
    let plants = match node {
        Node::Lot(lot) => {
            let view = books.lots.get(lot).and_then(|it| it.on(day));
            Some(view.map_or(0, |it| it.plants()))
        }
        _ => None,
    };
    NodeAnswer {
        kind,
        name,
        plants,
        held: held.contains(node),
    }
}
