//! Readers of what is asked for: orders, and demand on spec.

use intake::{Bounds, Read, Row, read_table};
use jiff::civil::{Date, ISOWeekDate, Weekday};

use super::{DEMAND, GRADES, Known, ORDERS, Seen, day, in_our_time, names};
use crate::ids::{RootstockName, SizeName, VarietyName};
use crate::records::{Demand, GradeShare, OrderLine, Substitute, TARGET_PERCENT};

const PERCENT: Bounds = Bounds::new(0.0, 100.0);
const TARGET: Bounds = Bounds::new(*TARGET_PERCENT.start(), *TARGET_PERCENT.end());
/// As for the price of a line.
const MOST_PRICE: i64 = 1_000_000_000;

/// Reads `orders.csv`.
pub fn orders(bytes: &[u8], known: &Known<'_>) -> Read<OrderLine> {
    let mut seen = Seen::new("this line of this order");
    read_table("orders.csv", bytes, &ORDERS, |row| {
        let order = row.text("order");
        let line = row.text("line");
        let customer = row.text("customer");
        let variety = row
            .text("variety")
            .and_then(|name| known.variety(row, &name));
        let rootstocks = order_rootstocks(row, known);
        let size = row.text("size").and_then(|name| known.size(row, &name));
        let plants = at_least_one(row, "plants");
        let dates = order_dates(row);
        let price = row.text("price").and_then(|_| row.money_or("price", 0));
        let contract = row.truth_or("contract", false);
        let tolerance = row.number_or("tolerance_percent", 0.0, PERCENT);
        let terms = Terms::read(row, known);
        let (order, line) = (order?, line?);
        // Downstream a line is known by both names together.
        seen.only_once(row, "line", format!("{order}/{line}"));
        let (earliest, due, latest) = dates?;
        Some(OrderLine {
            order,
            line,
            customer: customer?,
            variety: variety?,
            rootstocks: rootstocks?,
            size: size?,
            plants: plants?,
            earliest,
            due,
            latest,
            price: price?,
            contract: contract?,
            tolerance: tolerance? / 100.0,
            deposit: terms.deposit?,
            cancel: terms.cancel?.unwrap_or(known.terms.cancel(contract?)),
            minimum_load: terms.minimum_load?,
            target: terms.target?,
            grade: row.optional_text("grade"),
            health_class: row.optional_text("health_class"),
            substitutes: terms.substitutes?,
            promised: None,
            tags: Vec::new(),
        })
    })
}

/// What a line may ask for besides; none where there is a problem.
struct Terms {
    deposit: Option<i64>,
    /// As a share; none within where the line does not say.
    cancel: Option<Option<f64>>,
    minimum_load: Option<u32>,
    /// As a share; none within where the line does not say.
    target: Option<Option<f64>>,
    substitutes: Option<Vec<Substitute>>,
}

impl Terms {
    fn read(row: &mut Row<'_>, known: &Known<'_>) -> Self {
        let cancel = row.optional_number("cancel_percent", PERCENT);
        let target = row.optional_number("target_percent", TARGET);
        Self {
            deposit: row.money_or("deposit", 0),
            cancel: cancel.map(|it| it.map(|percent| percent / 100.0)),
            minimum_load: row.count_or("minimum_load", 0),
            target: target.map(|it| it.map(|percent| percent / 100.0)),
            substitutes: substitutes(row, known),
        }
    }
}

/// Substitutes, written `variety/rootstock/size/price` with semicolons between.
fn substitutes(row: &mut Row<'_>, known: &Known<'_>) -> Option<Vec<Substitute>> {
    let column = "substitutes";
    let found: Vec<Option<Substitute>> = row
        .list(column)
        .iter()
        .map(|text| substitute(row, column, text, known))
        .collect();
    found.into_iter().collect()
}

fn substitute(
    row: &mut Row<'_>,
    column: &str,
    text: &str,
    known: &Known<'_>,
) -> Option<Substitute> {
    let parts: Vec<&str> = text.split('/').map(str::trim).collect();
    let [variety, rootstock, size, price] = parts[..] else {
        let rule =
            format!("{text} must be variety, rootstock, size and price with slashes between");
        let mend = "write it as in valencia/swingle/4L/1200, and the next behind a semicolon";
        row.problem(column, rule, mend);
        return None;
    };
    let product = product(row, column, [variety, rootstock, size], known);
    let is_digits = !price.is_empty() && price.bytes().all(|it| it.is_ascii_digit());
    let price: Option<i64> = price
        .parse()
        .ok()
        .filter(|it| is_digits && *it <= MOST_PRICE);
    if price.is_none() {
        let rule = format!(
            "the price of {text} must be whole cents, or whole units of money without cents"
        );
        row.problem(column, rule, "write it without a point, as 1200 for 12.00");
    }
    let (variety, rootstock, size) = product?;
    Some(Substitute {
        variety,
        rootstock,
        size,
        price: price?,
    })
}

fn order_rootstocks(row: &mut Row<'_>, known: &Known<'_>) -> Option<Vec<RootstockName>> {
    let found: Vec<Option<RootstockName>> = names(row, "rootstocks")?
        .iter()
        .map(|name| known.rootstock(row, "rootstocks", name))
        .collect();
    found.into_iter().collect()
}

fn order_dates(row: &mut Row<'_>) -> Option<(Date, Date, Date)> {
    let earliest = day(row, "earliest");
    let due = day(row, "due");
    let latest = day(row, "latest");
    let (earliest, due, latest) = (earliest?, due?, latest?);
    if earliest > due {
        let rule = format!("must not lie after due, {due}");
        row.problem("earliest", rule, "mend one of the two dates");
    }
    if due > latest {
        let rule = format!("must not lie before due, {due}");
        row.problem("latest", rule, "mend one of the two dates");
    }
    Some((earliest, due, latest))
}

fn at_least_one(row: &mut Row<'_>, column: &str) -> Option<u32> {
    let count = row.count(column)?;
    if count == 0 {
        row.problem(
            column,
            "must be at least 1",
            "give a number, or remove the row",
        );
        return None;
    }
    Some(count)
}

/// Reads `demand.csv`; a product is written `variety/rootstock/size`.
pub fn demand(bytes: &[u8], known: &Known<'_>) -> Read<Demand> {
    let mut seen = Seen::new("this product in this week");
    read_table("demand.csv", bytes, &DEMAND, |row| {
        let product = demand_product(row, known);
        let week = demand_week(row);
        let mean = row.number("mean", Bounds::new(0.0, 1e7));
        let spread = row.number("spread", Bounds::new(0.0, 1e7));
        let ((variety, rootstock, size), week) = (product?, week?);
        let key = (
            variety.clone(),
            rootstock.clone(),
            size.clone(),
            week.year(),
            week.week(),
        );
        seen.only_once(row, "product", key);
        Some(Demand {
            variety,
            rootstock,
            size,
            week,
            mean: mean?,
            spread: spread?,
        })
    })
}

fn demand_product(
    row: &mut Row<'_>,
    known: &Known<'_>,
) -> Option<(VarietyName, RootstockName, SizeName)> {
    let text = row.text("product")?;
    let parts: Vec<&str> = text.split('/').map(str::trim).collect();
    let [variety, rootstock, size] = parts[..] else {
        let rule = "must be variety, rootstock and size with slashes between";
        row.problem("product", rule, "write it as in valencia/carrizo/4L");
        return None;
    };
    product(row, "product", [variety, rootstock, size], known)
}

/// A product of names that the catalogue knows.
fn product(
    row: &mut Row<'_>,
    column: &str,
    [variety, rootstock, size]: [&str; 3],
    known: &Known<'_>,
) -> Option<(VarietyName, RootstockName, SizeName)> {
    let catalogue = known.catalogue;
    let (variety, rootstock, size) = (variety.into(), rootstock.into(), size.into());
    let unknown = [
        ("variety", catalogue.varieties.contains_key(&variety)),
        ("rootstock", catalogue.rootstocks.contains_key(&rootstock)),
        ("size", catalogue.knows_size(&size)),
    ];
    let unknown: Vec<&str> = unknown
        .iter()
        .filter(|(_, is_known)| !is_known)
        .map(|(part, _)| *part)
        .collect();
    if unknown.is_empty() {
        return Some((variety, rootstock, size));
    }
    let parts = unknown.join(" and ");
    let mend = format!("mend the {parts}, or add what is missing to the catalogue");
    row.problem(column, format!("nobody knows its {parts}"), mend);
    None
}

/// Reads `grades.csv`.
pub fn grades(bytes: &[u8], known: &Known<'_>) -> Read<GradeShare> {
    let mut seen = Seen::new("this grade of this size");
    read_table("grades.csv", bytes, &GRADES, |row| {
        let grade = row.text("grade");
        let size = row.text("size").and_then(|name| known.size(row, &name));
        let share = row.number("share_percent", PERCENT);
        let (grade, size) = (grade?, size?);
        seen.only_once(row, "grade", (grade.clone(), size.clone()));
        Some(GradeShare {
            grade,
            size,
            share: share? / 100.0,
            source: row.optional_text("source"),
        })
    })
}

fn demand_week(row: &mut Row<'_>) -> Option<ISOWeekDate> {
    let text = row.text("week")?;
    let week = parse_week(&text);
    if week.is_none() {
        let mend = "write year and week, as 2027-W10; years have 52 or 53 weeks";
        row.problem("week", "must be an ISO week", mend);
    }
    week.filter(|week| in_our_time(row, "week", week.date()).is_some())
}

/// Reads an ISO week written `2027-W10`; its Monday is meant.
pub fn parse_week(text: &str) -> Option<ISOWeekDate> {
    let (year, week) = text.split_once("-W")?;
    let digits =
        |part: &str, length| part.len() == length && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(year, 4) || !digits(week, 2) {
        return None;
    }
    ISOWeekDate::new(year.parse().ok()?, week.parse().ok()?, Weekday::Monday).ok()
}

#[cfg(test)]
mod tests {
    use jiff::civil::{ISOWeekDate, date};

    use super::parse_week;

    #[test]
    fn weeks_are_those_of_the_calendar_and_begin_on_monday() {
        let monday = |text| parse_week(text).map(ISOWeekDate::date);
        assert_eq!(monday("2027-W10"), Some(date(2027, 3, 8)));
        assert_eq!(monday("2026-W53"), Some(date(2026, 12, 28)));
        for text in [
            "2027-W53", "2027-W54", "2027-W00", "2027-W1", "2027W10", "+027-W10", "2027-W+5", "",
        ] {
            assert_eq!(parse_week(text), None, "{text}");
        }
    }
}
