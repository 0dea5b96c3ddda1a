//! Tags: plants of a lot that are meant for a line of an order.
//!
//! A tag stays with its lot and holds for plants that stand: what is sent off for its line uses it up,
//! and where fewer plants stand than are tagged, the last tag is the first that lacks them. Where plants
//! leave for another lot of the same trees, the tags that no longer find plants go with them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::act::Line;
use super::books::{Books, LineBook};
use super::event::{Account, Event};
use super::lot::{Lot, Step, View, When};
use crate::ids::{LotName, RootstockName, SizeName, VarietyName};

/// Plants of a lot that are tagged for a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tag {
    /// The lot.
    pub lot: LotName,
    /// The order.
    pub order: String,
    /// The line.
    pub line: String,
    /// Plants that stand and are meant for it.
    pub plants: u32,
}

impl Line {
    /// Whether the customer takes such plants, once they are trees of a size: as ordered, or in its place.
    pub fn takes(
        &self,
        variety: &VarietyName,
        rootstock: &RootstockName,
        size: Option<&SizeName>,
    ) -> bool {
        let is_size = |wanted: &SizeName| size.is_none_or(|it| it == wanted);
        let is_own =
            self.variety == *variety && self.rootstocks.contains(rootstock) && is_size(&self.size);
        let mut others = self.substitutes.iter().flatten();
        is_own
            || others
                .any(|it| it.variety == *variety && it.rootstock == *rootstock && is_size(&it.size))
    }
}

impl Books {
    /// Plants of a lot that are tagged after everything, the first tag in front.
    pub fn tagged(&self, lot: &LotName) -> Vec<Tag> {
        let known = self.lots.get(lot);
        known
            .and_then(|it| Some(self.tags_within(it, it.now()?, |_| true)))
            .unwrap_or_default()
    }

    /// Plants of a lot that were tagged at the end of a day.
    pub fn tagged_on(&self, lot: &LotName, day: Date) -> Vec<Tag> {
        let known = self.lots.get(lot);
        known
            .and_then(|it| Some(self.tags_within(it, &it.on(day)?, |when| when.on <= day)))
            .unwrap_or_default()
    }

    /// Plants of lots that were tagged for a line at the end of a day; never more than it still took.
    pub fn tags_for(&self, order: &str, line: &str, day: Date) -> Vec<Tag> {
        let book = self.orders.get(order).and_then(|it| it.lines.get(line));
        let Some(book) = book else {
            return Vec::new();
        };
        let ordered = book.on(day).map_or(0, |it| it.plants);
        let mut open = ordered.saturating_sub(book.shipped_until(day));
        let lots: BTreeSet<&LotName> = book.tags.iter().map(|(_, lot, _)| lot).collect();
        let tags = lots.into_iter().flat_map(|lot| self.tagged_on(lot, day));
        tags.filter(|it| it.order == order && it.line == line)
            .filter_map(|mut tag| {
                tag.plants = tag.plants.min(open);
                open -= tag.plants;
                (tag.plants > 0).then_some(tag)
            })
            .collect()
    }

    /// The tags of a lot that stands so, from what is within a time.
    pub(super) fn tags_within(
        &self,
        lot: &Lot,
        view: &View,
        is_within: impl Fn(When) -> bool + Copy,
    ) -> Vec<Tag> {
        if lot.tags.is_empty() {
            return Vec::new();
        }
        let mut last: BTreeMap<(&str, &str), (When, u32)> = BTreeMap::new();
        for (when, order, line, plants) in lot.tags.iter().filter(|it| is_within(it.0)) {
            last.insert((order, line), (*when, *plants));
        }
        let mut tags: Vec<(When, Tag)> =
            last.into_iter()
                .map(|((order, line), (when, plants))| {
                    let left = self.left_of(lot, view, (order, line), is_within);
                    let sent = lot.shipments.iter().filter(|it| {
                        it.0 > when && is_within(it.0) && it.1 == order && it.2 == line
                    });
                    let sent: u32 = sent.map(|it| it.3).sum();
                    let tag = Tag {
                        lot: lot.lot.clone(),
                        order: order.to_owned(),
                        line: line.to_owned(),
                        plants: plants.saturating_sub(sent).min(left),
                    };
                    (when, tag)
                })
                .collect();
        tags.sort_by_key(|(when, _)| *when);
        let mut stand = view.plants();
        let standing = tags.into_iter().map(|(_, mut tag)| {
            tag.plants = tag.plants.min(stand);
            stand -= tag.plants;
            tag
        });
        standing.filter(|tag| tag.plants > 0).collect()
    }

    /// Plants that a line still takes of such a lot; none once it is cancelled or asks for others.
    fn left_of(
        &self,
        lot: &Lot,
        view: &View,
        (order, line): (&str, &str),
        is_within: impl Fn(When) -> bool + Copy,
    ) -> u32 {
        let book = self.orders.get(order).and_then(|it| it.lines.get(line));
        let (Some(book), Some(variety)) = (book, &lot.variety) else {
            return 0;
        };
        let terms = terms_within(book, is_within);
        let fits = |it: &&Line| it.takes(variety, &lot.rootstock, view.size.as_ref());
        terms.filter(fits).map_or(0, |it| {
            let sent = book.shipped.iter().filter(|it| is_within(it.0));
            let sent: u32 = sent.map(|it| it.2).sum();
            it.plants.saturating_sub(sent)
        })
    }
}

fn terms_within(book: &LineBook, is_within: impl Fn(When) -> bool) -> Option<&Line> {
    let mut within = book.versions.iter().rev().filter(|it| is_within(it.0));
    within.next()?.1.as_deref()
}

/// Lets tags follow the plants of an act: those that no longer find plants in their lot go with the
/// plants that became, or joined, another lot which their line takes too.
pub(super) fn follow(books: &Books, when: When, events: &mut Vec<Event>) {
    let mut went: BTreeMap<&LotName, Vec<(&LotName, u32)>> = BTreeMap::new();
    for event in events.iter() {
        if let Event::Moved {
            from: Account::Lot(from),
            to: Account::Lot(to),
            plants,
        } = event
        {
            let is_tagged = books.lots.get(from).is_some_and(|it| !it.tags.is_empty());
            if is_tagged {
                went.entry(from).or_default().push((to, *plants));
            }
        }
    }
    let mut tagged: BTreeMap<(LotName, String, String), u32> = BTreeMap::new();
    for (from, parts) in went {
        let after = after(books, when, from, events);
        let mut lacking = lacking(books.tagged(from), after);
        for (to, mut room) in parts {
            for (tag, lacks) in lacking.iter_mut().filter(|it| takes(books, it, to, events)) {
                let goes = room.min(*lacks);
                if goes == 0 {
                    continue;
                }
                room -= goes;
                *lacks -= goes;
                tag.plants -= goes;
                let of = |lot: &LotName| (lot.clone(), tag.order.clone(), tag.line.clone());
                tagged.insert(of(from), tag.plants);
                let before = || own(books, to, tag);
                *tagged.entry(of(to)).or_insert_with(before) += goes;
            }
        }
    }
    events.extend(
        tagged
            .into_iter()
            .map(|((lot, order, line), plants)| Event::Tagged {
                order,
                line,
                lot,
                plants,
            }),
    );
}

/// Plants of a lot once the events are done.
fn after(books: &Books, when: When, lot: &LotName, events: &[Event]) -> u32 {
    let Some(mut it) = books.lots.get(lot).cloned() else {
        return 0;
    };
    for event in events {
        if let Event::Lot { lot: of, step } = event
            && of == lot
        {
            it.insert(when, step.clone());
        }
    }
    it.now().map_or(0, View::plants)
}

/// How many plants each tag would lack if so many stood, the last tag first.
fn lacking(tags: Vec<Tag>, stand: u32) -> Vec<(Tag, u32)> {
    let all: u32 = tags.iter().map(|it| it.plants).sum();
    let mut lack = all.saturating_sub(stand);
    let last_first = tags.into_iter().rev();
    last_first
        .map(|tag| {
            let lacks = lack.min(tag.plants);
            lack -= lacks;
            (tag, lacks)
        })
        .collect()
}

/// Whether the line of a tag takes the plants of a lot as they are once the events are done.
fn takes(books: &Books, (tag, _): &(Tag, u32), to: &LotName, events: &[Event]) -> bool {
    let book = books.orders.get(&tag.order);
    let line = book.and_then(|it| it.lines.get(&tag.line)?.now());
    let begun = events.iter().find_map(|event| match event {
        Event::Lot {
            lot,
            step: Step::Began(it),
        } if lot == to => Some((it.variety.as_ref(), &it.rootstock, it.size.as_ref())),
        _ => None,
    });
    let known = || {
        let lot = books.lots.get(to)?;
        Some((
            lot.variety.as_ref(),
            &lot.rootstock,
            lot.now()?.size.as_ref(),
        ))
    };
    match (line, begun.or_else(known)) {
        (Some(line), Some((Some(variety), rootstock, size))) => {
            line.takes(variety, rootstock, size)
        }
        _ => false,
    }
}

/// What is tagged of a lot for the line of another tag already.
fn own(books: &Books, lot: &LotName, tag: &Tag) -> u32 {
    let tags = books.tagged(lot).into_iter();
    tags.filter(|it| it.order == tag.order && it.line == tag.line)
        .map(|it| it.plants)
        .sum()
}
