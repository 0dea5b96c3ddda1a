//! What if something were otherwise: changes of a nursery, each written as one line of words, under
//! which a second plan is made. Nothing of them is recorded.

use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

use jiff::Span;
use jiff::civil::{Date, ISOWeekDate};

use crate::Nursery;
use crate::files::parse_week;
use crate::ids::{CrewName, PlaceName, RootstockName, SizeName, VarietyName};
use crate::records::{OrderLine, PriceOf, TARGET_PERCENT, tree_price};
use crate::settings::Planning;

/// One change. Its text is how it is written and read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// So much of a crew's own hours, in all weeks or in those from one to another.
    Crew {
        /// The crew.
        crew: CrewName,
        /// Of its hours.
        percent: u32,
        /// The first and the last week.
        weeks: Option<[ISOWeekDate; 2]>,
    },
    /// So much of a place's ground.
    Place {
        /// The place.
        place: PlaceName,
        /// Of its ground.
        percent: u32,
    },
    /// So many of the buds of mother trees.
    MotherTrees {
        /// Of this variety alone.
        variety: Option<VarietyName>,
        /// Of their buds.
        percent: u32,
    },
    /// The coming spring is late.
    Spring {
        /// By so many weeks.
        weeks: u32,
    },
    /// One more order, at the list price.
    Order(FurtherOrder),
    /// Other list prices of trees; what was agreed stays.
    Price {
        /// Of this variety alone.
        variety: Option<VarietyName>,
        /// Of the price.
        percent: u32,
    },
    /// Other odds of being on time to aim at.
    Target {
        /// Of this order line alone, as order and line with a slash between.
        line: Option<String>,
        /// The odds.
        percent: u32,
    },
}

/// What a further order asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FurtherOrder {
    /// Plants.
    pub plants: u32,
    /// Variety.
    pub variety: VarietyName,
    /// Rootstock.
    pub rootstock: RootstockName,
    /// Size.
    pub size: SizeName,
    /// The week in which it is due.
    pub by: ISOWeekDate,
}

/// Weeks of a crew in which only a part of its own hours is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Away {
    /// The crew.
    pub crew: CrewName,
    /// The first and the last day; none means all.
    pub days: Option<[Date; 2]>,
    /// The share of its hours that is there.
    pub share: f64,
}

impl Away {
    /// Whether a day is among those.
    pub fn holds(&self, day: Date) -> bool {
        self.days
            .is_none_or(|[first, last]| (first..=last).contains(&day))
    }
}

/// What is wrong with a change, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChangeProblem {
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub mend: String,
}

/// The most of anything, in percent.
const MOST_PERCENT: u32 = 1000;

/// The most plants of a further order.
const MOST_PLANTS: u32 = 10_000_000;

/// The ways to write a change, with an example each.
pub const FORMS: [&str; 7] = [
    "crew NAME PERCENT% [from WEEK to WEEK], as: crew budding 50% from 2027-W25 to 2027-W34",
    "place NAME PERCENT%, as: place tunnel-1 80%",
    "mother trees [of VARIETY] PERCENT%, as: mother trees of valencia 50%",
    "spring N weeks late, as: spring 3 weeks late",
    "order PLANTS VARIETY on ROOTSTOCK, SIZE by WEEK, as: order 2000 valencia on carrizo, 4L by 2029-W12",
    "price [of VARIETY] PERCENT%, as: price of valencia 110%",
    "target [of ORDER/LINE] PERCENT%, as: target of A-104/1 95%",
];

fn problem(what: impl Into<String>, mend: impl Into<String>) -> ChangeProblem {
    ChangeProblem {
        what: what.into(),
        mend: mend.into(),
    }
}

fn unknown(kind: &str, name: &str, known: impl Iterator<Item = String>) -> ChangeProblem {
    let known: Vec<String> = known.collect::<BTreeSet<_>>().into_iter().collect();
    problem(
        format!("there is no {kind} {name}"),
        format!("name one of {}", known.join(", ")),
    )
}

impl FromStr for Change {
    type Err = ChangeProblem;

    fn from_str(text: &str) -> Result<Self, ChangeProblem> {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let (kind, rest) = text.split_once(' ').unwrap_or((&text, ""));
        match kind {
            "crew" => crew(rest),
            "place" => named_percent(rest).map(|(name, percent)| Self::Place {
                place: PlaceName::from(name),
                percent,
            }),
            "mother" => {
                let rest = rest.strip_prefix("trees").ok_or_else(|| not_read(&text))?;
                let (variety, percent) = of_variety(rest)?;
                Ok(Self::MotherTrees { variety, percent })
            }
            "spring" => spring(rest),
            "order" => further_order(rest).map(Self::Order),
            "price" => {
                let (variety, percent) = of_variety(rest)?;
                Ok(Self::Price { variety, percent })
            }
            "target" => target(rest),
            _ => Err(not_read(&text)),
        }
    }
}

fn not_read(text: &str) -> ChangeProblem {
    let mend = format!("write one of: {}", FORMS.join("; "));
    problem(format!("`{text}` is no change that can be looked at"), mend)
}

fn crew(rest: &str) -> Result<Change, ChangeProblem> {
    let (named, weeks) = match rest.rsplit_once(" from ") {
        Some((named, weeks)) if !rest.ends_with('%') => (named, Some(two_weeks(weeks)?)),
        _ => (rest, None),
    };
    let (name, percent) = named_percent(named)?;
    Ok(Change::Crew {
        crew: CrewName::from(name),
        percent,
        weeks,
    })
}

fn two_weeks(text: &str) -> Result<[ISOWeekDate; 2], ChangeProblem> {
    let (from, to) = text.split_once(" to ").ok_or_else(|| {
        problem(
            format!("`from {text}` does not say until when"),
            "write from WEEK to WEEK, as: from 2027-W25 to 2027-W34",
        )
    })?;
    let weeks = [week(from)?, week(to)?];
    if weeks[0] > weeks[1] {
        return Err(problem(
            format!("{from} comes after {to}"),
            "name the first week first",
        ));
    }
    Ok(weeks)
}

fn week(text: &str) -> Result<ISOWeekDate, ChangeProblem> {
    parse_week(text.trim()).ok_or_else(|| {
        problem(
            format!("{text} is no week"),
            "write it as 2027-W25, the year and the ISO week",
        )
    })
}

/// A name that may have spaces, and percent.
fn named_percent(text: &str) -> Result<(&str, u32), ChangeProblem> {
    match text.rsplit_once(' ') {
        Some((name, percent)) if !name.is_empty() => Ok((name, percent_of(percent)?)),
        _ => Err(problem(
            format!("`{text}` is no name with how much of it there is"),
            "write the name and then percent, as: tunnel-1 80%",
        )),
    }
}

/// Percent, of one variety or of all.
fn of_variety(text: &str) -> Result<(Option<VarietyName>, u32), ChangeProblem> {
    let text = text.trim();
    let Some(of) = text.strip_prefix("of ") else {
        return Ok((None, percent_of(text)?));
    };
    let (name, percent) = named_percent(of)?;
    Ok((Some(VarietyName::from(name)), percent))
}

fn target(rest: &str) -> Result<Change, ChangeProblem> {
    let (line, percent) = match rest.strip_prefix("of ") {
        Some(of) => {
            let (name, percent) = named_percent(of)?;
            (Some(name.to_owned()), percent)
        }
        None => (None, percent_of(rest)?),
    };
    if !TARGET_PERCENT.contains(&f64::from(percent)) {
        return Err(problem(
            format!("{percent}% is no target"),
            "write 1% to 99%: nothing is certain",
        ));
    }
    Ok(Change::Target { line, percent })
}

fn percent_of(text: &str) -> Result<u32, ChangeProblem> {
    let number = text.strip_suffix('%').and_then(|it| it.parse().ok());
    number.filter(|it| *it <= MOST_PERCENT).ok_or_else(|| {
        problem(
            format!("`{text}` is no percent"),
            format!("write a whole number from 0 to {MOST_PERCENT} with %, as: 50%"),
        )
    })
}

fn spring(rest: &str) -> Result<Change, ChangeProblem> {
    let weeks = rest
        .strip_suffix(" weeks late")
        .or_else(|| rest.strip_suffix(" week late"))
        .and_then(|it| it.parse().ok())
        .filter(|it| (1..=Planning::MOST_WEEKS_LATER).contains(it));
    let weeks = weeks.ok_or_else(|| {
        let most = Planning::MOST_WEEKS_LATER;
        problem(
            format!("`spring {rest}` does not say how late"),
            format!("write 1 to {most} weeks, as: spring 3 weeks late"),
        )
    })?;
    Ok(Change::Spring { weeks })
}

fn further_order(rest: &str) -> Result<FurtherOrder, ChangeProblem> {
    let read = || {
        let (plants, rest) = rest.split_once(' ')?;
        let (variety, rest) = rest.split_once(" on ")?;
        let (kind, by) = rest.rsplit_once(" by ")?;
        let (rootstock, size) = kind.rsplit_once(", ")?;
        Some((plants, variety, rootstock, size, by))
    };
    let (plants, variety, rootstock, size, by) = read().ok_or_else(|| {
        problem(
            format!("`order {rest}` does not say all that an order needs"),
            format!("write {}", FORMS[4]),
        )
    })?;
    let plants = plants.parse().ok();
    let plants = plants.filter(|it| (1..=MOST_PLANTS).contains(it));
    Ok(FurtherOrder {
        plants: plants.ok_or_else(|| {
            problem(
                "an order needs a number of plants",
                format!("write 1 to {MOST_PLANTS} after order"),
            )
        })?,
        variety: VarietyName::from(variety),
        rootstock: RootstockName::from(rootstock),
        size: SizeName::from(size),
        by: week(by)?,
    })
}

fn iso(week: ISOWeekDate) -> String {
    format!("{}-W{:02}", week.year(), week.week())
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let of = |variety: &Option<VarietyName>| {
            let of = variety.as_ref().map(|it| format!(" of {it}"));
            of.unwrap_or_default()
        };
        match self {
            Self::Crew {
                crew,
                percent,
                weeks,
            } => {
                write!(f, "crew {crew} {percent}%")?;
                match weeks {
                    Some([from, to]) => write!(f, " from {} to {}", iso(*from), iso(*to)),
                    None => Ok(()),
                }
            }
            Self::Place { place, percent } => write!(f, "place {place} {percent}%"),
            Self::MotherTrees { variety, percent } => {
                write!(f, "mother trees{} {percent}%", of(variety))
            }
            Self::Spring { weeks: 1 } => write!(f, "spring 1 week late"),
            Self::Spring { weeks } => write!(f, "spring {weeks} weeks late"),
            Self::Order(it) => write!(
                f,
                "order {} {} on {}, {} by {}",
                it.plants,
                it.variety,
                it.rootstock,
                it.size,
                iso(it.by)
            ),
            Self::Price { variety, percent } => write!(f, "price{} {percent}%", of(variety)),
            Self::Target { line, percent } => match line {
                Some(line) => write!(f, "target of {line} {percent}%"),
                None => write!(f, "target {percent}%"),
            },
        }
    }
}

impl Nursery {
    /// The nursery as it would be under changes, in their order.
    ///
    /// # Errors
    /// The first change that names what the nursery does not have.
    pub fn under(&self, changes: &[Change]) -> Result<Self, ChangeProblem> {
        let mut changed = self.clone();
        for change in changes {
            changed.change(change)?;
        }
        Ok(changed)
    }

    fn change(&mut self, change: &Change) -> Result<(), ChangeProblem> {
        match change {
            Change::Crew {
                crew,
                percent,
                weeks,
            } => self.leave(crew, *percent, *weeks),
            Change::Place { place, percent } => self.resize(place, *percent),
            Change::MotherTrees { variety, percent } => self.cut(variety.as_ref(), *percent),
            Change::Spring { weeks } => {
                self.settings.planning.spring_later_weeks = *weeks;
                Ok(())
            }
            Change::Order(further) => self.order(further),
            Change::Price { variety, percent } => self.charge(variety.as_ref(), *percent),
            Change::Target { line, percent } => self.aim(line.as_deref(), *percent),
        }
    }

    fn leave(
        &mut self,
        crew: &CrewName,
        percent: u32,
        weeks: Option<[ISOWeekDate; 2]>,
    ) -> Result<(), ChangeProblem> {
        if !self.crews.iter().any(|it| it.crew == *crew) {
            let known: BTreeSet<String> = self.crews.iter().map(|it| it.crew.to_string()).collect();
            return Err(unknown("crew", crew.as_str(), known.into_iter()));
        }
        let days = weeks.map(|[from, to]| {
            let [monday, last] = [from, to].map(ISOWeekDate::date);
            [monday, last.saturating_add(Span::new().days(6))]
        });
        let planned = i64::from(self.settings.planning.weeks);
        let end = self.as_of.saturating_add(Span::new().weeks(planned));
        if days.is_some_and(|[first, last]| first > end || last < self.as_of) {
            let [now, end] = [self.as_of, end].map(|it| iso(it.iso_week_date()));
            return Err(problem(
                "the plan has none of these weeks",
                format!("name weeks from {now} to {end}"),
            ));
        }
        self.away.push(Away {
            crew: crew.clone(),
            days,
            share: share(percent),
        });
        Ok(())
    }

    fn resize(&mut self, place: &PlaceName, percent: u32) -> Result<(), ChangeProblem> {
        let Some(it) = self.places.iter_mut().find(|it| it.place == *place) else {
            let known = self.places.iter().map(|it| it.place.to_string());
            return Err(unknown("place", place.as_str(), known));
        };
        it.area_m2 *= share(percent);
        Ok(())
    }

    fn cut(&mut self, variety: Option<&VarietyName>, percent: u32) -> Result<(), ChangeProblem> {
        self.knows(variety)?;
        let is_meant = |of: &VarietyName| variety.is_none_or(|it| it == of);
        for tree in &mut self.mother_trees {
            if is_meant(&tree.variety) {
                let buds = u64::from(tree.buds_per_year) * u64::from(percent) / 100;
                tree.buds_per_year = u32::try_from(buds).unwrap_or(u32::MAX);
            }
        }
        Ok(())
    }

    fn charge(&mut self, variety: Option<&VarietyName>, percent: u32) -> Result<(), ChangeProblem> {
        self.knows(variety)?;
        let is_meant = |of: Option<&VarietyName>| variety.is_none() || of == variety;
        for price in &mut self.prices {
            if price.of == PriceOf::Tree && is_meant(price.variety.as_ref()) {
                price.price *= share(percent);
            }
        }
        Ok(())
    }

    fn aim(&mut self, line: Option<&str>, percent: u32) -> Result<(), ChangeProblem> {
        let is_meant = |it: &OrderLine| line.is_none_or(|line| it.name() == line);
        let mut lines = self.orders.iter_mut().filter(|it| is_meant(it)).peekable();
        if let (Some(line), None) = (line, lines.peek()) {
            return Err(problem(
                format!("there is no open order line {line}"),
                "name it as order and line with a slash between, as: A-104/1",
            ));
        }
        for it in lines {
            it.target = Some(share(percent));
        }
        Ok(())
    }

    fn knows(&self, variety: Option<&VarietyName>) -> Result<(), ChangeProblem> {
        let known = &self.catalogue.varieties;
        match variety.filter(|it| !known.contains_key(*it)) {
            Some(it) => Err(problem(
                format!("nobody knows the variety {it}"),
                "name it as varieties.csv does",
            )),
            None => Ok(()),
        }
    }

    fn order(&mut self, further: &FurtherOrder) -> Result<(), ChangeProblem> {
        self.knows(Some(&further.variety))?;
        if !self.catalogue.rootstocks.contains_key(&further.rootstock) {
            let known = self.catalogue.rootstocks.keys().map(ToString::to_string);
            return Err(unknown("rootstock", further.rootstock.as_str(), known));
        }
        if !self.catalogue.knows_size(&further.size) {
            let known = self.catalogue.sizes().map(ToString::to_string);
            return Err(unknown("size", further.size.as_str(), known));
        }
        let price = self.list_price(further).ok_or_else(|| {
            problem(
                format!(
                    "{} on {}, {}, has no list price",
                    further.variety, further.rootstock, further.size
                ),
                "set one first; an order without a price is not worth growing for",
            )
        })?;
        if further.by.date().saturating_add(Span::new().days(6)) < self.as_of {
            return Err(problem(
                format!("{} has passed", iso(further.by)),
                "name a week to come",
            ));
        }
        let weeks = Span::new().weeks(self.settings.planning.weeks);
        if further.by.date() >= self.as_of.saturating_add(weeks) {
            return Err(problem(
                format!("the plan ends before {}", iso(further.by)),
                "name an earlier week, or plan more weeks (planning.weeks in nursery.toml)",
            ));
        }
        let is_taken = |line: &String| {
            let mut lines = self.orders.iter().filter(|it| it.order == WHAT_IF);
            lines.any(|it| it.line == *line)
        };
        // One of so many is free.
        let mut lines = (1..=self.orders.len() + 1).map(|it| it.to_string());
        let line = lines.find(|it| !is_taken(it)).unwrap_or_default();
        self.orders.push(further_line(further, price, line));
        Ok(())
    }

    fn list_price(&self, further: &FurtherOrder) -> Option<i64> {
        let price = tree_price(
            &self.prices,
            &further.variety,
            &further.rootstock,
            &further.size,
        );
        price.map(|it| it.round() as i64)
    }
}

/// The order that further lines are of.
pub const WHAT_IF: &str = "what if";

/// Weeks before the due day from which a further order may be sent (own; as the order form has it).
const EARLY_WEEKS: i32 = 4;
/// Weeks after it until which the customer takes it (own; as the order form has it).
const LATE_WEEKS: i32 = 8;

fn further_line(further: &FurtherOrder, price: i64, line: String) -> OrderLine {
    let monday = further.by.date();
    let day = |weeks: i32, days: i32| monday.saturating_add(Span::new().weeks(weeks).days(days));
    OrderLine {
        order: WHAT_IF.to_owned(),
        line,
        customer: WHAT_IF.to_owned(),
        variety: further.variety.clone(),
        rootstocks: vec![further.rootstock.clone()],
        size: further.size.clone(),
        plants: further.plants,
        earliest: day(-EARLY_WEEKS, 0),
        due: day(0, 4),
        latest: day(LATE_WEEKS, 4),
        price,
        contract: true,
        tolerance: 0.0,
        deposit: 0,
        cancel: 0.0,
        minimum_load: 0,
        target: None,
        grade: None,
        health_class: None,
        substitutes: Vec::new(),
        promised: None,
        tags: Vec::new(),
    }
}

fn share(percent: u32) -> f64 {
    f64::from(percent) / 100.0
}

#[cfg(test)]
#[path = "what_if_tests.rs"]
mod tests;
