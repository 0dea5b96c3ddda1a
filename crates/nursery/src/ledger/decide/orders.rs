//! Orders, promises, what is sent off, and accepted plans.

use std::collections::BTreeSet;

use crate::ids::RootstockName;
use crate::ledger::act::{AcceptPlan, CancelOrder, ChangeOrder, Line, Order, Promise, Ship, Tag};
use crate::ledger::books::{LineBook, OrderBook};
use crate::ledger::event::{Account, Event};
use crate::ledger::lineage::Node;
use crate::ledger::lot::First;
use crate::ledger::refusal::Refusal;
use crate::ledger::tags::Tag as Tagged;
use crate::records::TARGET_PERCENT;

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
        is_wanted(&standing, line, &deed.order, standing.view.size.is_some())?;
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
        self.not_tagged_elsewhere(deed, &standing)?;
        let is_wanted_so = deed
            .override_reason
            .as_ref()
            .is_some_and(|it| !it.trim().is_empty());
        if !is_wanted_so {
            self.of_the_class(deed, line)?;
            self.fills_a_load(deed, line, book)?;
        }
        let to = Account::Shipped {
            order: deed.order.clone(),
            line: deed.line.clone(),
        };
        Ok(standing.leave(deed.plants, First::Ready, to))
    }

    /// Refuses plants that are tagged for another line on the day.
    fn not_tagged_elsewhere(self, deed: &Ship, standing: &Standing<'_>) -> Result<(), Refusal> {
        let (stand, others) = (
            standing.view.plants(),
            self.tagged_for_others(&deed.order, &deed.line, standing),
        );
        let tagged: u32 = others.iter().map(|it| it.plants).sum();
        let free = stand.saturating_sub(tagged);
        if deed.plants <= free {
            return Ok(());
        }
        let names: Vec<String> = others
            .iter()
            .map(|it| format!("{} for {}/{}", it.plants, it.order, it.line))
            .collect();
        Err(Refusal::new(
            format!(
                "of the {stand} plants in {} these are tagged: {}",
                deed.lot,
                names.join(", ")
            ),
            format!("ship at most {free}, or tag fewer for the other line first"),
        ))
    }

    /// Tags of a lot for other lines, as they were just before the act.
    fn tagged_for_others(self, order: &str, line: &str, standing: &Standing<'_>) -> Vec<Tagged> {
        let before = |when| when < self.when;
        let tags = self.books.tags_within(standing.lot, &standing.view, before);
        let is_other = |it: &Tagged| it.order != order || it.line != line;
        tags.into_iter().filter(is_other).collect()
    }

    /// Refuses plants of another class of health than the line asks for.
    fn of_the_class(self, deed: &Ship, line: &Line) -> Result<(), Refusal> {
        let Some(asked) = &line.health_class else {
            return Ok(());
        };
        let class = self.books.health_class(&deed.lot, self.when.on);
        if class.as_ref() == Some(asked) {
            return Ok(());
        }
        let has = class.map_or_else(
            || "has no health class that is known".to_owned(),
            |it| format!("is of health class {it}"),
        );
        Err(Refusal::new(
            format!(
                "{} {has}, but {}/{} asks for {asked}",
                deed.lot, deed.order, deed.line
            ),
            "ship from a lot of that class, or give the reason as override if the customer takes it",
        ))
    }

    /// Refuses a load that is smaller than the line allows and not its last; what went on the same day
    /// goes with it.
    fn fills_a_load(self, deed: &Ship, line: &Line, book: &LineBook) -> Result<(), Refusal> {
        let least = line.minimum_load.unwrap_or(0);
        let same_day = book.shipped.iter().filter(|it| it.0.on == self.when.on);
        let load = same_day
            .map(|it| it.2)
            .sum::<u32>()
            .saturating_add(deed.plants);
        let is_last = book.shipped().saturating_add(deed.plants) >= line.plants;
        if load >= least || is_last {
            return Ok(());
        }
        Err(Refusal::new(
            format!(
                "{load} plants are fewer than the {least} of a load of {}/{}",
                deed.order, deed.line
            ),
            format!(
                "ship {} or more, or give the reason as override, such as more going with it from another lot",
                deed.plants + (least - load)
            ),
        ))
    }

    pub(super) fn tag(self, deed: &Tag) -> Decided {
        let standing = self.lot(&deed.lot)?;
        let (line, book) = self.open_line(&deed.order, &deed.line)?;
        let before = |when| when < self.when;
        let tags = self.books.tags_within(standing.lot, &standing.view, before);
        let is_own = |it: &&Tagged| it.order == deed.order && it.line == deed.line;
        if deed.plants > 0 {
            some(deed.plants, "plants")?;
            is_budded(&standing)?;
            is_wanted(&standing, line, &deed.order, true)?;
            self.room_for_tag(deed, &standing)?;
            self.line_takes(deed, line, book)?;
        } else if !tags.iter().any(|it| is_own(&it)) {
            return Err(Refusal::new(
                format!(
                    "no plants of {} are tagged for {}/{}",
                    deed.lot, deed.order, deed.line
                ),
                "there is no tag to take off",
            ));
        }
        Ok(vec![Event::Tagged {
            order: deed.order.clone(),
            line: deed.line.clone(),
            lot: deed.lot.clone(),
            plants: deed.plants,
        }])
    }

    /// Refuses more tags than plants that stand.
    fn room_for_tag(self, deed: &Tag, standing: &Standing<'_>) -> Result<(), Refusal> {
        let stand = standing.view.plants();
        let others = self.tagged_for_others(&deed.order, &deed.line, standing);
        let tagged: u32 = others.iter().map(|it| it.plants).sum();
        let free = stand.saturating_sub(tagged);
        if deed.plants <= free {
            return Ok(());
        }
        Err(Refusal::new(
            format!(
                "{} plants are more than {} can spare: {stand} stand, and {tagged} of them are tagged for other lines",
                deed.plants, deed.lot
            ),
            format!("tag at most {free}, or tag fewer for another line first"),
        ))
    }

    /// Refuses more tags than plants that the line still takes.
    fn line_takes(self, deed: &Tag, line: &Line, book: &LineBook) -> Result<(), Refusal> {
        let open = line.plants.saturating_sub(book.shipped());
        let tags = self.books.tags_for(&deed.order, &deed.line, self.when.on);
        let others = tags.iter().filter(|it| it.lot != deed.lot);
        let tagged: u32 = others.map(|it| it.plants).sum();
        let free = open.saturating_sub(tagged);
        if deed.plants <= free {
            return Ok(());
        }
        Err(Refusal::new(
            format!(
                "{} plants are more than {}/{} lacks: it still takes {open}, and {tagged} of other lots are tagged for it",
                deed.plants, deed.order, deed.line
            ),
            format!("tag at most {free}"),
        ))
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

    /// Refuses what a line cannot ask for.
    fn terms_fit(self, line: &Line) -> Result<(), Refusal> {
        let name = &line.line;
        let amounts = [("price", Some(line.price)), ("deposit", line.deposit)];
        if let Some((what, _)) = amounts.iter().find(|(_, it)| it.is_some_and(|it| it < 0)) {
            return Err(Refusal::new(
                format!("the {what} of line {name} is below 0"),
                "give 0 or more",
            ));
        }
        let target = line.target_percent.map(f64::from);
        if target.is_some_and(|it| !TARGET_PERCENT.contains(&it)) {
            return Err(Refusal::new(
                format!("the odds to aim at of line {name} are not from 1 to 99 %"),
                "give 1 to 99: nothing is certain",
            ));
        }
        named("grade", line.grade.as_ref())?;
        named("health class", line.health_class.as_ref())?;
        for it in line.substitutes.iter().flatten() {
            self.known_variety(&it.variety)?;
            self.known_rootstock(&it.rootstock)?;
            if it.price < 0 {
                return Err(Refusal::new(
                    format!("the price of a substitute of line {name} is below 0"),
                    "give 0 or more",
                ));
            }
        }
        Ok(())
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
            self.terms_fit(line)?;
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

/// Refuses a name that is empty.
fn named(what: &str, name: Option<&String>) -> Result<(), Refusal> {
    match name {
        Some(it) if it.trim().is_empty() => Err(Refusal::new(
            format!("the {what} is empty"),
            "name it, or leave it out",
        )),
        _ => Ok(()),
    }
}

fn set_lines(order: &str, lines: &[Line]) -> impl Iterator<Item = Event> {
    lines.iter().map(move |line| Event::LineSet {
        order: order.to_owned(),
        line: line.line.clone(),
        to: Some(Box::new(line.clone())),
    })
}

/// Refuses to tag what carries no variety yet.
fn is_budded(standing: &Standing<'_>) -> Result<(), Refusal> {
    if standing.lot.variety.is_some() {
        return Ok(());
    }
    Err(Refusal::new(
        format!("{} is not budded yet", standing.lot.lot),
        "tag plants once they are budded",
    ))
}

/// Refuses trees that a customer neither ordered nor takes in place of them, and those without a size
/// where they must have one.
fn is_wanted(
    standing: &Standing<'_>,
    line: &Line,
    order: &str,
    is_sized: bool,
) -> Result<(), Refusal> {
    let (lot, view) = (standing.lot, &standing.view);
    let variety = lot.variety.as_ref().filter(|_| is_sized);
    if variety.is_some_and(|it| line.takes(it, &lot.rootstock, view.size.as_ref())) {
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
