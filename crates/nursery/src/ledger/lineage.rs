//! Where plants came from and where they went.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use serde::Serialize;

use super::books::{Books, Hold};
use super::event::Subject;
use super::lot::{Lot, Origin};
use crate::ids::{LotName, MotherTreeName};

/// A point of a lineage.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Node {
    /// A mother tree.
    MotherTree(MotherTreeName),
    /// A cut of budsticks.
    Cut(String),
    /// A batch of seed.
    Batch(String),
    /// A seller, or what stood when the books were opened.
    Outside(String),
    /// A lot.
    Lot(LotName),
}

impl Node {
    /// The node of a mother tree or lot.
    pub fn of_subject(subject: &Subject) -> Self {
        match subject {
            Subject::MotherTree(tree) => Self::MotherTree(tree.clone()),
            Subject::Lot(lot) => Self::Lot(lot.clone()),
        }
    }
}

/// Plants of a lot sent to a line of an order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Shipment {
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// The customer.
    pub customer: String,
    /// The lot.
    pub lot: LotName,
    /// Plants.
    pub plants: u32,
}

/// A lineage both ways.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Trace {
    /// What was traced.
    pub of: Node,
    /// All it came from, without itself.
    pub back: BTreeSet<Node>,
    /// All that came of it, without itself.
    pub forward: BTreeSet<Node>,
    /// What was sent off of it and of what came of it.
    pub shipments: Vec<Shipment>,
}

impl Books {
    /// The node of a name: a lot, a mother tree, a cut or a batch, in this order.
    pub fn node(&self, name: &str) -> Option<Node> {
        let lot = LotName::from(name);
        let tree = MotherTreeName::from(name);
        let is_tree = |day| self.settings.row("mother_tree", name, day).is_some();
        if self.lots.contains_key(&lot) {
            Some(Node::Lot(lot))
        } else if self.trees.contains_key(&tree) || is_tree(Date::MAX) {
            Some(Node::MotherTree(tree))
        } else if self.cuts.contains_key(name) {
            Some(Node::Cut(name.to_owned()))
        } else {
            let named = [Node::Batch(name.to_owned()), Node::Outside(name.to_owned())];
            let is_known = |node: &Node| {
                let batch = matches!(node, Node::Batch(it) if self.batches.contains_key(it));
                batch || !self.children(node).is_empty()
            };
            named.into_iter().find(is_known)
        }
    }

    /// The lineage of a node, both ways, with what was sent off until the end of a day.
    pub fn trace(&self, of: &Node, day: Date) -> Trace {
        let back = reach(of, |node| self.parents(node));
        let (forward, lots) = self.downstream(of, day);
        let shipments = self.shipments(&lots, day);
        Trace {
            of: of.clone(),
            back,
            forward,
            shipments,
        }
    }

    /// What came of a node until the end of a day, without itself, and the lots among it, with itself.
    /// Every lot is looked up once: a recall of a large nursery is a matter of such look-ups.
    fn downstream(&self, of: &Node, day: Date) -> (BTreeSet<Node>, Vec<&Lot>) {
        let (mut seen, mut lots) = (BTreeSet::new(), Vec::new());
        let mut ahead = BTreeSet::from([of.clone()]);
        while let Some(node) = ahead.pop_first() {
            match &node {
                Node::Lot(name) => {
                    let lot = self.lots.get(name);
                    let Some(lot) = lot.filter(|it| it.began().is_some_and(|began| began <= day))
                    else {
                        continue;
                    };
                    lots.push(lot);
                    let into = lot.into.iter().cloned().map(Node::Lot);
                    ahead.extend(into.filter(|it| !seen.contains(it)));
                }
                other => ahead.extend(self.children(other)),
            }
            seen.insert(node);
        }
        seen.remove(of);
        (seen, lots)
    }

    /// What a node came from.
    pub fn parents(&self, node: &Node) -> Vec<Node> {
        match node {
            Node::Lot(lot) => {
                let from = self.lots.get(lot).map_or(&[][..], |it| &it.from);
                from.iter().map(node_of_origin).collect()
            }
            Node::Cut(cut) => {
                let cut = self.cuts.get(cut);
                cut.map(|it| Node::MotherTree(it.of.mother_tree.clone()))
                    .into_iter()
                    .collect()
            }
            Node::MotherTree(_) | Node::Batch(_) | Node::Outside(_) => Vec::new(),
        }
    }

    /// What came of a node.
    pub fn children(&self, node: &Node) -> Vec<Node> {
        let lots = |into: Option<&BTreeSet<LotName>>| -> Vec<Node> {
            into.into_iter().flatten().cloned().map(Node::Lot).collect()
        };
        match node {
            Node::Lot(lot) => lots(self.lots.get(lot).map(|it| &it.into)),
            Node::Cut(cut) => lots(self.cuts.get(cut).map(|it| &it.into)),
            Node::Batch(batch) if self.batches.contains_key(batch) => {
                lots(self.batches.get(batch).map(|it| &it.into))
            }
            Node::MotherTree(tree) => {
                let Some(tree) = self.trees.get(tree) else {
                    return Vec::new();
                };
                let cuts = tree.cuts.iter().cloned().map(Node::Cut);
                lots(Some(&tree.into)).into_iter().chain(cuts).collect()
            }
            Node::Batch(_) | Node::Outside(_) => self.lots_of_origin(node),
        }
    }

    /// Lots whose origin is told by themselves alone.
    fn lots_of_origin(&self, node: &Node) -> Vec<Node> {
        let is_of = |lot: &&Lot| lot.from.iter().any(|it| node_of_origin(it) == *node);
        let lots = self.lots.values().filter(is_of);
        lots.map(|lot| Node::Lot(lot.lot.clone())).collect()
    }

    fn shipments(&self, lots: &[&Lot], day: Date) -> Vec<Shipment> {
        let mut sums: BTreeMap<(&String, &String, &LotName), u32> = BTreeMap::new();
        for lot in lots {
            let sent = lot.shipments.iter().filter(|it| it.0.on <= day);
            for (_, order, line, plants) in sent {
                *sums.entry((order, line, &lot.lot)).or_insert(0) += plants;
            }
        }
        let customer = |order: &String| {
            let order = self.orders.get(order);
            order.map(|it| it.customer.clone()).unwrap_or_default()
        };
        sums.into_iter()
            .map(|((order, line, lot), plants)| Shipment {
                customer: customer(order),
                order: order.clone(),
                line: line.clone(),
                lot: lot.clone(),
                plants,
            })
            .collect()
    }

    /// The hold that reaches a node at the end of a day, if one does.
    pub fn hold_on(&self, node: &Node, day: Date) -> Option<&Hold> {
        self.holds_on(node, day).next()
    }

    /// All holds that reach a node at the end of a day.
    pub fn holds_on(&self, node: &Node, day: Date) -> impl Iterator<Item = &Hold> {
        let in_force = self.holds.iter().filter(move |it| it.is_in_force(day));
        in_force.filter(move |it| self.reaches(it, node, day))
    }

    /// All that a hold reaches at the end of a day.
    pub fn under(&self, hold: &Hold, day: Date) -> BTreeSet<Node> {
        let freed = freed(hold, day);
        let mut seen = BTreeSet::new();
        let mut ahead = vec![Node::of_subject(&hold.of)];
        while let Some(node) = ahead.pop() {
            if !freed.contains(&node) && !seen.contains(&node) {
                ahead.extend(self.children(&node));
                seen.insert(node);
            }
        }
        seen
    }

    /// All that holds reach at the end of a day: what is held and all downstream of it, but for what
    /// was freed.
    pub fn held(&self, day: Date) -> BTreeSet<Node> {
        let mut held = BTreeSet::new();
        for hold in self.holds.iter().filter(|hold| hold.is_in_force(day)) {
            held.append(&mut self.under(hold, day));
        }
        held
    }

    /// Whether a hold reaches a node: a way back leads to what is held, past nothing that was freed.
    pub(super) fn reaches(&self, hold: &Hold, node: &Node, day: Date) -> bool {
        let held = Node::of_subject(&hold.of);
        let freed = freed(hold, day);
        let mut seen = BTreeSet::new();
        let mut ahead = vec![node.clone()];
        while let Some(node) = ahead.pop() {
            if freed.contains(&node) || !seen.insert(node.clone()) {
                continue;
            }
            if node == held {
                return true;
            }
            ahead.extend(self.parents(&node));
        }
        false
    }
}

/// What was freed of a hold until the end of a day.
fn freed(hold: &Hold, day: Date) -> BTreeSet<Node> {
    let until = hold.freed.iter().filter(|(when, _)| when.on <= day);
    until.map(|(_, it)| Node::of_subject(it)).collect()
}

fn node_of_origin(origin: &Origin) -> Node {
    match origin {
        Origin::Lot(lot) | Origin::BudsOf(lot) => Node::Lot(lot.clone()),
        Origin::Cut(cut) => Node::Cut(cut.clone()),
        Origin::MotherTree(tree) => Node::MotherTree(tree.as_str().into()),
        Origin::Batch(batch) => Node::Batch(batch.clone()),
        Origin::Outside(source) => Node::Outside(source.clone()),
    }
}

/// All nodes that are reached from one by steps, without itself.
fn reach(of: &Node, next: impl Fn(&Node) -> Vec<Node>) -> BTreeSet<Node> {
    let mut seen = BTreeSet::new();
    let mut ahead = next(of);
    while let Some(node) = ahead.pop() {
        if node != *of && !seen.contains(&node) {
            ahead.extend(next(&node));
            seen.insert(node);
        }
    }
    seen
}
