//! The demo's order book: what was sold, lines that what stands can serve, lines that must still be
//! grown, and some that come too early or ask for buds that are scarce.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};
use nursery::ledger::Deed;
use nursery::ledger::act::{Line, Order, Ship};

use super::diary::OFFICE;
use super::draw::{Draw, divide, monday, plus_days, spread_out};
use super::grower::{Grower, Sale, Standing, working};
use super::kinds::{SIZES, VARIETIES, Variety};
use super::stocks::percent;
use super::{AS_OF, LINE_PLANTS, OPENED, terms};

/// Open order lines in all.
const LINES: usize = 250;
/// Open orders in all.
const ORDERS: usize = 90;
/// Customers, C-01 and on.
const CUSTOMERS: usize = 34;
/// Lines on what already carries its variety.
const FROM_STANDING: usize = 92;
/// Share of the trees that standing plants should give that is sold to one line.
const SOLD_SHARE: f64 = 0.55;
/// Most lines of an order that was sent off, and most days between its first and last trees.
const TOGETHER: (usize, i32) = (4, 12);

/// Lines on what must still be budded: how many, and due when.
const TO_GROW: [(usize, Date, Date); 7] = [
    // Too early for anything that is not yet budded: hard or impossible.
    (11, date(2027, 4, 5), date(2027, 8, 16)),
    (8, date(2027, 10, 11), date(2027, 12, 6)),
    (15, date(2028, 2, 28), date(2028, 6, 12)),
    (12, date(2028, 6, 19), date(2028, 8, 28)),
    (45, date(2028, 9, 4), date(2028, 12, 4)),
    (50, date(2029, 2, 26), date(2029, 6, 18)),
    (17, date(2029, 9, 3), date(2029, 10, 1)),
];

/// One line that is wanted.
struct Wanted {
    variety: &'static Variety,
    rootstocks: Vec<&'static str>,
    /// Index of the size.
    size: usize,
    plants: u32,
    due: Date,
}

/// Trees that standing plants should give.
struct Supply {
    variety: &'static Variety,
    rootstock: &'static str,
    size: usize,
    trees: f64,
    from: Date,
}

/// Orders that are written down, with a name each in the order of their days.
#[derive(Default)]
struct Orders(Vec<Taken>);

/// An order that came in.
struct Taken {
    on: Date,
    order: Order,
    /// What was sent off of it, and when.
    ships: Vec<(Date, Ship)>,
}

/// All orders: what was sold, and what is open on the demo's day.
pub fn take(grower: &mut Grower<'_>, draw: &mut Draw, more: &mut Draw) {
    let mut orders = Orders::default();
    let mut sales = std::mem::take(&mut grower.sales);
    sales.sort_by_key(|sale| sale.on);
    let mut rest = sales.as_slice();
    while let Some(first) = rest.first() {
        let most = 1 + draw.below(TOGETHER.0);
        let until = plus_days(first.on, TOGETHER.1);
        let count = rest
            .iter()
            .take(most)
            .take_while(|it| it.on <= until)
            .count();
        let (of_order, others) = rest.split_at(count);
        orders.sent(draw, of_order);
        rest = others;
    }
    orders.open(draw, more, &grower.standing);
    orders.write(grower);
}

impl Orders {
    /// An order whose trees were all sent off.
    fn sent(&mut self, draw: &mut Draw, sales: &[Sale]) {
        let first = sales[0].on;
        let ordered = plus_days(first, -draw.between(25.0, 160.0) as i32).max(OPENED);
        let contract = draw.uniform() < 0.4;
        let lines = sales.iter().enumerate().map(|(at, sale)| {
            let wanted = Wanted {
                variety: sale.variety,
                rootstocks: vec![sale.rootstock],
                size: sale.size,
                plants: sale.plants,
                due: monday(plus_days(sale.on, 4)),
            };
            line(draw, at, &wanted, contract)
        });
        let lines: Vec<Line> = lines.collect();
        let ships = sales.iter().zip(&lines).map(|(sale, line)| {
            let ship = Ship {
                order: String::new(),
                line: line.line.clone(),
                lot: sale.lot.clone(),
                plants: sale.plants,
                override_reason: None,
            };
            (sale.on, ship)
        });
        let ships = ships.collect();
        self.add(draw, ordered, lines, ships);
    }

    /// The orders that are open on the demo's day.
    fn open(&mut self, draw: &mut Draw, more: &mut Draw, standing: &[Standing]) {
        let wanted = wanted(draw, standing);
        assert_eq!(
            wanted.len(),
            LINES,
            "the parts of the order book make the whole"
        );
        let lengths: Vec<f64> = (0..ORDERS).map(|_| draw.between(0.5, 1.5)).collect();
        let mut rest = wanted.into_iter();
        for length in divide(LINES as u32, &lengths) {
            let of_order: Vec<Wanted> = rest.by_ref().take(length as usize).collect();
            let Some(first) = of_order.first() else {
                continue;
            };
            let contract = draw.uniform() < 0.5;
            let before = draw.between(150.0, 420.0) as i32;
            let latest = working(plus_days(AS_OF, -draw.between(4.0, 280.0) as i32));
            let ordered = plus_days(first.due, -before).min(latest);
            let lines = of_order.iter().enumerate();
            let lines = lines.map(|(at, it)| {
                let mut line = line(draw, at, it, contract);
                terms::ask_for_more(more, &mut line, it.variety);
                line
            });
            let lines = lines.collect();
            self.add(draw, ordered, lines, Vec::new());
        }
    }

    fn add(&mut self, draw: &mut Draw, on: Date, lines: Vec<Line>, ships: Vec<(Date, Ship)>) {
        let order = Order {
            order: String::new(),
            customer: format!("C-{:02}", 1 + draw.below(CUSTOMERS)),
            lines,
        };
        self.0.push(Taken {
            on: working(on),
            order,
            ships,
        });
    }

    /// Writes all orders down, named by their year and number.
    fn write(mut self, grower: &mut Grower<'_>) {
        self.0.sort_by_key(|it| it.on);
        let mut numbers: BTreeMap<i16, u32> = BTreeMap::new();
        let mut open = Vec::new();
        for Taken {
            on,
            mut order,
            ships,
        } in self.0
        {
            let number = numbers.entry(on.year()).or_insert(0);
            *number += 1;
            order.order = format!("O-{:02}-{number:03}", on.year() % 100);
            let name = order.order.clone();
            if ships.is_empty() {
                let lines = order.lines.iter().cloned();
                open.extend(lines.map(|line| (name.clone(), line)));
            }
            grower.diary.write_first(on, OFFICE, Deed::Order(order));
            for (on, mut ship) in ships {
                ship.order.clone_from(&name);
                let by = grower.hand();
                // Loaded in the morning, before anything is counted.
                grower.diary.write_first(on, by, Deed::Ship(ship));
            }
        }
        terms::tag(grower, &open);
    }
}

fn line(draw: &mut Draw, at: usize, wanted: &Wanted, contract: bool) -> Line {
    const BOUNDS: [(u32, u32); 3] = [(700, 1100), (1000, 1600), (1900, 2800)];
    let list = f64::from(wanted.variety.price(wanted.size));
    let price = (list * draw.between(0.95, 1.05) / 5.0).round() as u32 * 5;
    let (least, most) = BOUNDS[wanted.size];
    Line {
        line: (at + 1).to_string(),
        variety: wanted.variety.id.into(),
        rootstocks: wanted.rootstocks.iter().map(|&it| it.into()).collect(),
        size: SIZES[wanted.size].into(),
        plants: wanted.plants,
        earliest: plus_days(wanted.due, -28),
        due: wanted.due,
        latest: plus_days(wanted.due, [42, 49, 56][draw.below(3)]),
        price: price.clamp(least, most).into(),
        contract,
        tolerance_percent: Some(percent(draw.below(6) as f64)),
        substitutes: None,
        deposit: None,
        cancel_percent: None,
        minimum_load: None,
        target_percent: None,
        grade: None,
        health_class: None,
    }
}

/// All open lines in the order of their dates.
fn wanted(draw: &mut Draw, standing: &[Standing]) -> Vec<Wanted> {
    let mut lines = from_standing(draw, standing);
    let mut varieties = varieties_to_grow(draw).into_iter();
    for (count, first, last) in TO_GROW {
        for variety in varieties.by_ref().take(count) {
            lines.push(to_grow(draw, variety, first, last));
        }
    }
    lines.sort_by_key(|line| line.due);
    lines
}

/// The varieties of the lines on what must still be budded in any order, in the trade's shares.
fn varieties_to_grow(draw: &mut Draw) -> Vec<&'static Variety> {
    let count = TO_GROW.iter().map(|(count, _, _)| count).sum();
    let weights: Vec<f64> = VARIETIES.iter().map(|variety| variety.weight).collect();
    let mut varieties: Vec<&Variety> = spread_out(0.5, count, &weights)
        .into_iter()
        .map(|index| &VARIETIES[index])
        .collect();
    draw.shuffle(&mut varieties);
    varieties
}

/// Lines on what stands with its variety, the largest supplies first.
fn from_standing(draw: &mut Draw, standing: &[Standing]) -> Vec<Wanted> {
    let mut supplies: BTreeMap<_, Supply> = BTreeMap::new();
    for supply in standing.iter().filter_map(supply) {
        let key = (
            supply.variety.id,
            supply.rootstock,
            supply.size,
            supply.from,
        );
        supplies
            .entry(key)
            .and_modify(|it| it.trees += supply.trees)
            .or_insert(supply);
    }
    let mut supplies: Vec<Supply> = supplies.into_values().collect();
    supplies.sort_by(|one, other| other.trees.total_cmp(&one.trees));
    supplies
        .into_iter()
        .take(FROM_STANDING)
        .map(|supply| {
            let after = draw.between(14.0, 110.0) as i32;
            Wanted {
                variety: supply.variety,
                rootstocks: accepted(draw, supply.variety, Some(supply.rootstock)),
                size: supply.size,
                plants: tens(supply.trees * SOLD_SHARE).clamp(20, LINE_PLANTS.1),
                due: monday(plus_days(supply.from, after)),
            }
        })
        .collect()
}

/// What a lot should give: how many trees, of which size, from when.
fn supply(lot: &Standing) -> Option<Supply> {
    let variety = lot.growth.variety?;
    // About every fourth lot is grown on to the larger size.
    let larger = lot.plants.is_multiple_of(4) && variety.comes_in(2);
    let (share, size, from) = match (lot.growth.step, lot.size) {
        (_, Some(size)) => {
            let wait = match size {
                _ if lot.ready * 2 > lot.plants => 0,
                2 => 240,
                _ => 100,
            };
            (0.93, size, plus_days(AS_OF, wait))
        }
        ("force_row", _) if larger => (0.78, 2, date(2027, 11, 1)),
        ("force_row", _) => (0.80, 1, date(2027, 6, 14)),
        ("bud_row_dormant", _) if larger => (0.70, 2, date(2028, 8, 28)),
        ("bud_row_dormant", _) => (0.75, 1, date(2028, 2, 28)),
        ("force_pot", _) if variety.comes_in(0) => (0.85, 0, date(2027, 8, 9)),
        ("force_pot", _) => (0.83, 1, date(2027, 8, 23)),
        ("bud_pot", _) if variety.comes_in(0) => (0.80, 0, date(2027, 9, 20)),
        ("bud_pot", _) => (0.78, 1, date(2027, 10, 4)),
        _ => return None,
    };
    Some(Supply {
        variety,
        rootstock: lot.growth.rootstock,
        size,
        trees: f64::from(lot.plants) * share,
        from,
    })
}

/// A line on what must still be budded.
fn to_grow(draw: &mut Draw, variety: &'static Variety, first: Date, last: Date) -> Wanted {
    let few = draw.uniform() < 0.12;
    let (least, most) = if few { (20, 90) } else { LINE_PLANTS };
    let size = match draw.uniform() {
        drawn if drawn < 0.16 && variety.comes_in(2) => 2,
        drawn if drawn < 0.55 && variety.comes_in(0) => 0,
        _ => 1,
    };
    Wanted {
        variety,
        rootstocks: accepted(draw, variety, None),
        size,
        plants: tens(draw.between(f64::from(least), f64::from(most))),
        due: monday(draw.day(first, last)),
    }
}

/// The rootstocks a customer accepts, best first: one or two.
fn accepted(draw: &mut Draw, variety: &Variety, first: Option<&'static str>) -> Vec<&'static str> {
    let first = first.unwrap_or(variety.rootstocks[0]);
    let others = variety.rootstocks.iter().filter(|other| **other != first);
    let any = usize::from(draw.uniform() < 0.6);
    std::iter::once(first)
        .chain(others.copied().take(any))
        .collect()
}

fn tens(plants: f64) -> u32 {
    (plants / 10.0).round() as u32 * 10
}
