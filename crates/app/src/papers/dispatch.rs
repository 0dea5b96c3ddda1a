//! The dispatch note of an order: what leaves, what it comes of, what was checked.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use nursery::ids::{LotName, MotherTreeName, VarietyName};
use nursery::ledger::books::Hold;
use nursery::ledger::event::Subject;
use nursery::ledger::lineage::Node;
use nursery::records::{MotherTree, TestResult};

use super::{Block, Cell, Column, Paper, PaperMaker, Row, Table, strong, text};
use crate::ledger::{LineChange, LineLife, LineState, OrderAnswer};

/// A lot on the note: its line, how many of it.
struct Load {
    line: String,
    lot: LotName,
    plants: u32,
}

/// Where the lots of a note were read from.
enum Source {
    SentToday,
    Tagged,
    Proposed,
}

/// What lots come of.
#[derive(Default)]
struct Roots {
    trees: BTreeSet<MotherTreeName>,
    others: BTreeSet<String>,
}

impl PaperMaker<'_> {
    /// The note of an order as of the day: of what was sent off on it, else of what is tagged for the order, else of
    /// what could be sent. Permits stand on it as they were typed.
    pub fn dispatch(&self, order: &OrderAnswer, permits: &[String]) -> Paper {
        let words = &self.words.dispatch;
        let (source, loads) = loads(order, self.day);
        let lots: BTreeSet<&LotName> = loads.iter().map(|it| &it.lot).collect();
        let roots = self.roots_of(&lots);
        let holds = self.holds_on(&lots, &roots);
        let answer = if holds.is_empty() {
            (words.free)(&self.date(self.day))
        } else {
            words.held.to_owned()
        };
        let mut blocks = vec![
            Block::Answer(answer),
            Block::Table(self.facts(order)),
            Block::Heading(2, words.lines.to_owned()),
            Block::Table(self.lines(order, &source, &loads)),
            Block::Heading(2, words.lots.to_owned()),
        ];
        blocks.extend(self.lots_of(&source, &loads));
        if !roots.trees.is_empty() {
            blocks.push(Block::Heading(2, words.origins.to_owned()));
            blocks.push(Block::Table(self.trees(&roots)));
        }
        if !roots.others.is_empty() {
            blocks.push(Block::Heading(2, words.other_origins.to_owned()));
            blocks.push(Block::List(roots.others.iter().cloned().collect()));
        }
        blocks.push(Block::Heading(2, words.holds.to_owned()));
        let day = self.date(self.day);
        let checked = (words.holds_checked)(lots.len(), roots.trees.len(), &day);
        blocks.push(Block::Paragraph(checked));
        if !holds.is_empty() {
            blocks.push(Block::List(holds));
        }
        blocks.push(Block::Heading(2, words.permits.to_owned()));
        blocks.push(if permits.is_empty() {
            Block::Paragraph(words.no_permits.to_owned())
        } else {
            Block::List(permits.to_vec())
        });
        blocks.push(Block::Table(self.signatures()));
        self.paper((words.title)(&order.order), blocks)
    }

    fn facts(&self, order: &OrderAnswer) -> Table {
        let common = &self.words.common;
        let row = |head: &str, value: String| Row::Cells(vec![strong(head), text(value)]);
        Table {
            about: common.order.to_owned(),
            columns: vec![Column::words("", 1.0), Column::words("", 5.0)],
            rows: vec![
                row(common.order, order.order.clone()),
                row(common.customer, order.customer.clone()),
                row(common.date, self.date(self.day)),
            ],
        }
    }

    fn lines(&self, order: &OrderAnswer, source: &Source, loads: &[Load]) -> Table {
        let (words, common) = (&self.words.dispatch, &self.words.common);
        let lines = order
            .lines
            .iter()
            .filter(|it| it.line.state != LineState::Cancelled);
        let row = |life: &LineLife| {
            let line = &life.line;
            let now = loads.iter().filter(|it| it.line == line.terms.line);
            let now: u32 = now.map(|it| it.plants).sum();
            Row::Cells(vec![
                text(line.terms.line.clone()),
                strong(self.what(life)),
                text(line.terms.size.to_string()),
                text(self.date(line.terms.due)),
                text(self.count(line.terms.plants)),
                text(self.count(line.shipped)),
                if now > 0 && !matches!(source, Source::Proposed) {
                    strong(self.count(now))
                } else {
                    Cell::Write
                },
            ])
        };
        Table {
            about: words.lines.to_owned(),
            columns: vec![
                Column::words(common.line, 0.8),
                Column::words(common.plant, 4.0),
                Column::words(common.size, 1.0),
                Column::words(words.due, 1.6),
                Column::number(words.ordered, 1.2),
                Column::number(words.sent, 1.2),
                Column::number(words.this_time, 1.4),
            ],
            rows: lines.map(row).collect(),
        }
    }

    /// A line's variety on the rootstocks it takes.
    fn what(&self, life: &LineLife) -> String {
        let terms = &life.line.terms;
        let rootstocks: Vec<&str> = terms
            .rootstocks
            .iter()
            .map(|it| self.names.rootstock(it.as_str()))
            .collect();
        (self.words.common.on)(
            self.names.variety(terms.variety.as_str()),
            &rootstocks.join(" / "),
        )
    }

    fn lots_of(&self, source: &Source, loads: &[Load]) -> Vec<Block> {
        let (words, common) = (&self.words.dispatch, &self.words.common);
        if loads.is_empty() {
            return vec![Block::Paragraph(words.no_lots.to_owned())];
        }
        let said = match source {
            Source::SentToday => words.sent_today,
            Source::Tagged => words.tagged,
            Source::Proposed => words.proposed,
        };
        let row = |load: &Load| {
            let lot = self.books.lots.get(&load.lot);
            let variety = lot
                .and_then(|it| it.variety.as_ref())
                .map(VarietyName::as_str);
            let rootstock = lot.map_or("", |it| it.rootstock.as_str());
            let class = self.books.health_class(&load.lot, self.day);
            let budded = lot.and_then(|it| it.budded_on);
            Row::Cells(vec![
                text(load.line.clone()),
                strong(load.lot.to_string()),
                text(self.plant(variety, rootstock)),
                text(budded.map_or_else(String::new, |day| self.date(day))),
                text(class.unwrap_or_default()),
                text(self.count(load.plants)),
                if matches!(source, Source::SentToday) {
                    Cell::Tick
                } else {
                    Cell::Write
                },
            ])
        };
        let table = Table {
            about: words.lots.to_owned(),
            columns: vec![
                Column::words(common.line, 0.8),
                Column::words(common.lot, 1.8),
                Column::words(common.plant, 3.4),
                Column::words(words.budded, 1.6),
                Column::words(words.health_class, 1.4),
                Column::number(common.plants, 1.0),
                Column::words(words.loaded, 1.4),
            ],
            rows: loads.iter().map(row).collect(),
        };
        vec![Block::Paragraph(said.to_owned()), Block::Table(table)]
    }

    fn roots_of(&self, lots: &BTreeSet<&LotName>) -> Roots {
        let mut roots = Roots::default();
        for lot in lots {
            let back = self.books.trace(&Node::Lot((*lot).clone()), self.day).back;
            for node in back {
                match node {
                    Node::MotherTree(tree) => {
                        roots.trees.insert(tree);
                    }
                    Node::Batch(name) | Node::Cut(name) | Node::Outside(name) => {
                        roots.others.insert(name);
                    }
                    Node::Lot(_) => {}
                }
            }
        }
        roots
    }

    fn trees(&self, roots: &Roots) -> Table {
        let (words, common) = (&self.words.dispatch, &self.words.common);
        let result = |tree: &MotherTree| match tree.result {
            TestResult::Clean => words.clean,
            TestResult::Found => words.found,
            TestResult::Untested => words.untested,
        };
        let date = |day| self.date(day);
        let row = |name: &MotherTreeName| {
            let tree = self.books.mother_tree(name, self.day);
            let of = |told: fn(&MotherTree) -> Option<String>| {
                tree.as_ref().and_then(told).unwrap_or_default()
            };
            let tested = tree.as_ref().and_then(|it| it.tested_on);
            let until = tree.as_ref().and_then(MotherTree::usable_until);
            Row::Cells(vec![
                strong(name.to_string()),
                text(
                    tree.as_ref()
                        .map_or("", |it| self.names.variety(it.variety.as_str())),
                ),
                text(of(|it| it.health_class.clone())),
                text(tested.map_or_else(String::new, date)),
                text(tree.as_ref().map_or(words.untested, result)),
                text(until.map_or_else(String::new, date)),
            ])
        };
        Table {
            about: words.origins.to_owned(),
            columns: vec![
                Column::words(common.mother_tree, 1.6),
                Column::words(common.variety, 2.6),
                Column::words(words.health_class, 1.6),
                Column::words(words.last_test, 1.6),
                Column::words(words.result, 1.8),
                Column::words(words.usable_until, 1.6),
            ],
            rows: roots.trees.iter().map(row).collect(),
        }
    }

    /// Every hold that reaches a lot or a mother tree of the note, in words.
    fn holds_on(&self, lots: &BTreeSet<&LotName>, roots: &Roots) -> Vec<String> {
        let lots = lots.iter().map(|it| Node::Lot((*it).clone()));
        let trees = roots.trees.iter().cloned().map(Node::MotherTree);
        let mut found: BTreeMap<(String, u64), &Hold> = BTreeMap::new();
        for node in lots.chain(trees) {
            for hold in self.books.holds_on(&node, self.day) {
                found.insert((subject(&hold.of), hold.when.number), hold);
            }
        }
        found
            .into_iter()
            .map(|((of, _), hold)| {
                let since = self.date(hold.when.on);
                (self.words.dispatch.hold_on)(&of, &since, &hold.reason)
            })
            .collect()
    }

    fn signatures(&self) -> Table {
        let words = &self.words.dispatch;
        let row = |head: &str| Row::Cells(vec![strong(head), Cell::Write]);
        Table {
            about: words.loaded_by.to_owned(),
            columns: vec![Column::words("", 2.0), Column::words("", 4.0)],
            rows: vec![row(words.loaded_by), row(words.received_by)],
        }
    }
}

fn subject(of: &Subject) -> String {
    match of {
        Subject::MotherTree(tree) => tree.to_string(),
        Subject::Lot(lot) => lot.to_string(),
    }
}

/// The lots of a note, and where they were read from.
fn loads(order: &OrderAnswer, day: Date) -> (Source, Vec<Load>) {
    let open = |life: &&LineLife| life.line.open() > 0;
    let lines = || order.lines.iter();
    let load = |life: &LineLife, lot: &str, plants: u32| Load {
        line: life.line.terms.line.clone(),
        lot: lot.into(),
        plants,
    };
    let mut sent = Vec::new();
    for life in lines() {
        let of_day = life.past.iter().filter(|it| it.on == day);
        sent.extend(of_day.filter_map(|it| match &it.what {
            LineChange::Shipped { plants, lot } => Some(load(life, lot, *plants)),
            _ => None,
        }));
    }
    if !sent.is_empty() {
        return (Source::SentToday, sent);
    }
    let mut tagged = Vec::new();
    for life in lines().filter(open) {
        let tags = life.tags.iter().filter(|it| it.plants > 0);
        tagged.extend(tags.map(|it| load(life, &it.lot, it.plants)));
    }
    if !tagged.is_empty() {
        return (Source::Tagged, tagged);
    }
    let mut fitting = Vec::new();
    for life in lines().filter(open) {
        let lots = life.lots.iter();
        let may = lots.filter(|it| !it.held && !it.lacks_class && it.free() > 0);
        let most = life.line.open();
        fitting.extend(may.map(|it| load(life, &it.lot, it.free().min(most))));
    }
    (Source::Proposed, fitting)
}
