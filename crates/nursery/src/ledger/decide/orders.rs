//! Orders, promises, what is sent off, and accepted plans.

use std::collections::BTreeSet;

use crate::ids::RootstockName;
use crate::ledger::act::{AcceptPlan, CancelOrder, ChangeOrder, Line, Order, Promise, Ship};
use crate::ledger::books::{LineBook, OrderBook};
use crate::ledger::event::{Account, Event};
use crate::ledger::lineage::Node;
use crate::ledger::lot::First;
use crate::ledger::refusal::Refusal;

use super::rules::{Standing, some};
use super::{Decided, Desk};

impl<'a> Desk<'a> {
    pub(super) fn order(self, deed: &Order) -> Decided {
        if self
            .books
            .orders
            .get(&deed.order)
            .is_some_and(|it| it.lines.values().any(|line| !line.versions.is_empty()))
        {
            return Err(Refusal::new(
                format!("there is an order {} already", deed.order),
                "change it, or use another name",
            ));
        }
        self.lines_fit(&deed.lines)?;
        let order = Event::Ordered {
            order: deed.order.clone(),
            customer: deed.customer.clone(),
        };
        Ok(std::iter::once(order)
            .chain(set_lines(&deed.order, &deed.lines))
            .collect())
    }

    pub(super) fn change_order(self, deed: &ChangeOrder) -> Decided {
        let order = self.known_order(&deed.order)?;
        self.lines_fit(&deed.lines)?;
        for line in &deed.lines {
            let shipped = order.lines.get(&line.line).map_or(0, LineBook::shipped);
            if line.plants < shipped {
                return Err(Refusal::new(
                    format!(
                        "{shipped} plants of {}/{} are shipped, more than {}",
                        deed.order, line.line, line.plants
                    ),
                    format!("give {shipped} or more"),
                ));
            }
        }
        Ok(set_lines(&deed.order, &deed.lines).collect())
    }

    pub(super) fn cancel_order(self, deed: &CancelOrder) -> Decided {
        let order = self.known_order(&deed.order)?;
        let lines: Vec<String> = match &deed.lines {
            Some(lines) => lines.clone(),
            None => order.lines.keys().cloned().collect(),
        };
        for line in &lines {
            self.open_line(&deed.order, line)?;
        }
        let cancel = |line: String| Event::LineSet {
            order: deed.order.clone(),
            line,
            to: None,
        };
        Ok(lines.into_iter().map(cancel).collect())
    }

    pub(super) fn promise(self, deed: &Promise) -> Decided {
        let (line, _) = self.open_line(&deed.order, &deed.line)?;
        some(deed.plants, "plants")?;
        if deed.plants > line.plants {
            return Err(Refusal::new(
                format!(
                    "{} plants are more than the {} ordered",
                    deed.plants, line.plants
                ),
                format!("promise at most {}, or change the order first", line.plants),
            ));
        }
        Ok(vec![Event::Promised {
            order: deed.order.clone(),
            line: deed.line.clone(),
            plants: deed.plants,
            until: deed.until,
            odds: self.world.odds(&deed.order, &deed.line),
        }])
    }

    pub(super) fn ship(self, deed: &Ship) -> Decided {
        let standing = self.lot(&deed.lot)?;
        let (line, book) = self.open_line(&deed.order, &deed.line)?;
        is_wanted(&standing, line, &deed.order)?;
        self.free_of_holds(&Node::Lot(deed.lot.clone()), deed.lot.as_str())?;
        standing.enough(deed.plants)?;
        let open = line.plants.saturating_sub(book.shipped());
        if deed.plants > open {
            return Err(Refusal::new(
                format!(
                    "{} plants are more than the {open} that {}/{} still takes",
                    deed.plants, deed.order, deed.line
                ),
                format!("ship at most {open}, or change the order first"),
            ));
        }
        let to = Account::Shipped {
            order: deed.order.clone(),
            line: deed.line.clone(),
        };
        Ok(standing.leave(deed.plants, First::Ready, to))
    }

    pub(super) fn accept_plan(self, deed: &AcceptPlan) -> Decided {
        let Some(plan) = self.world.plan(&deed.run) else {
            return Err(Refusal::new(
                format!("there is no plan {}", deed.run),
                "make a plan first, and accept it by its run's name",
            ));
        };
        Ok(vec![Event::PlanAccepted {
            run: deed.run.clone(),
            plan,
        }])
    }

    fn known_order(self, name: &str) -> Result<&'a OrderBook, Refusal> {
        self.books
            .orders
            .get(name)
            .ok_or_else(|| Refusal::new(format!("there is no order {name}"), "check its name"))
    }

    /// A line that is neither unknown nor cancelled.
    fn open_line(self, order: &str, line: &str) -> Result<(&'a Line, &'a LineBook), Refusal> {
        let book = self.known_order(order)?.lines.get(line);
        let unknown = || {
            Refusal::new(
                format!("there is no line {line} in order {order}"),
                "check its name, or add it by change_order",
            )
        };
        let book = book
            .filter(|it| !it.versions.is_empty())
            .ok_or_else(unknown)?;
        let line = book.now().ok_or_else(|| {
            Refusal::new(
                format!("{order}/{line} is cancelled"),
                "set the line again by change_order",
            )
        })?;
        Ok((line, book))
    }

    fn lines_fit(self, lines: &[Line]) -> Result<(), Refusal> {
        if lines.is_empty() {
            return Err(Refusal::new("there are no lines", "give at least one"));
        }
        let mut names = BTreeSet::new();
        for line in lines {
            let name = &line.line;
            if !names.insert(name) {
                return Err(Refusal::new(
                    format!("line {name} is there twice"),
                    "give every line a name of its own",
                ));
            }
            some(line.plants, "plants")?;
            self.known_variety(&line.variety)?;
            line.rootstocks
                .iter()
                .try_for_each(|it| self.known_rootstock(it))?;
            if line.rootstocks.is_empty() {
                return Err(Refusal::new(
                    format!("line {name} accepts no rootstock"),
                    "name those the customer accepts, best first",
                ));
            }
            if !(line.earliest <= line.due && line.due <= line.latest) {
                return Err(Refusal::new(
                    format!("the days of line {name} are not in order"),
                    "give earliest, due and latest in this order",
                ));
            }
        }
        Ok(())
    }
}

fn set_lines(order: &str, lines: &[Line]) -> impl Iterator<Item = Event> {
    lines.iter().map(move |line| Event::LineSet {
        order: order.to_owned(),
        line: line.line.clone(),
        to: Some(Box::new(line.clone())),
    })
}

/// Refuses trees that a customer neither ordered nor takes in place of them.
fn is_wanted(standing: &Standing<'_>, line: &Line, order: &str) -> Result<(), Refusal> {
    let (lot, view) = (standing.lot, &standing.view);
    let is_own = lot.variety.as_ref() == Some(&line.variety)
        && line.rootstocks.contains(&lot.rootstock)
        && view.size.as_ref() == Some(&line.size);
    let substitutes = line.substitutes.as_deref().unwrap_or_default();
    let is_substitute = substitutes.iter().any(|it| {
        lot.variety.as_ref() == Some(&it.variety)
            && lot.rootstock == it.rootstock
            && view.size.as_ref() == Some(&it.size)
    });
    if is_own || is_substitute {
        return Ok(());
    }
    let rootstocks: Vec<&str> = line.rootstocks.iter().map(RootstockName::as_str).collect();
    let wanted = format!(
        "{} on {}, {}",
        line.variety,
        rootstocks.join(" or "),
        line.size
    );
    let variety = lot.variety.as_ref().map_or("unbudded", |it| it.as_str());
    let size = view.size.as_ref().map_or("no size", |it| it.as_str());
    Err(Refusal::new(
        format!(
            "{} is {variety} on {}, {size}, but {order}/{} is {wanted}",
            lot.lot, lot.rootstock, line.line
        ),
        "ship from a lot of that kind, or agree on a substitute and change the order",
    ))
}
