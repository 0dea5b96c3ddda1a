//! The demo's order book: lines that what stands can serve, lines that must still be grown, and
//! some that come too early or ask for buds that are scarce.

use jiff::civil::{Date, date};
use nursery::catalogue::StageKind;

use super::draw::{Draw, Table, divide, monday, plus_days, spread_out};
use super::stock::{Lot, VARIETIES, Variety};
use super::{AS_OF, LINE_PLANTS};

/// Order lines in all.
const LINES: usize = 120;
/// Orders in all.
const ORDERS: usize = 45;
/// Customers, C-01 and on.
const CUSTOMERS: usize = 19;
/// Lines on what already carries its variety.
const FROM_STANDING: usize = 38;
/// Share of the trees that standing plants should give that is sold to one line.
const SOLD_SHARE: f64 = 0.9;

/// Lines on what must still be budded: how many, and due when.
const TO_GROW: [(usize, Date, Date); 7] = [
    // Too early for anything that is not yet budded: hard or impossible.
    (6, date(2027, 4, 5), date(2027, 8, 16)),
    (4, date(2027, 10, 11), date(2027, 12, 6)),
    (8, date(2028, 2, 28), date(2028, 6, 12)),
    (6, date(2028, 6, 19), date(2028, 8, 28)),
    (19, date(2028, 9, 4), date(2028, 12, 4)),
    (21, date(2029, 2, 26), date(2029, 6, 18)),
    (18, date(2029, 9, 3), date(2029, 12, 10)),
];

/// One line.
pub struct Line {
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

/// All lines in the order of their dates.
fn lines(draw: &mut Draw, lots: &[Lot]) -> Vec<Line> {
    let mut lines = from_standing(draw, lots);
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
fn from_standing(draw: &mut Draw, lots: &[Lot]) -> Vec<Line> {
    let mut supplies: Vec<Supply> = lots.iter().filter_map(supply).collect();
    supplies.sort_by(|one, other| other.trees.total_cmp(&one.trees));
    supplies
        .into_iter()
        .take(FROM_STANDING)
        .map(|supply| {
            let after = draw.between(14.0, 110.0) as i32;
            Line {
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
fn supply(lot: &Lot) -> Option<Supply> {
    let variety = lot.variety?;
    // About every fourth lot is grown on to the larger size.
    let larger = lot.plants().is_multiple_of(4);
    let (share, size, from) = match lot.step {
        _ if lot.stage == StageKind::Finished => {
            let size = usize::from(lot.size.as_deref() == Some("10L"));
            let wait = if lot.ready * 2 > lot.plants() { 0 } else { 90 };
            (0.93, size, plus_days(AS_OF, wait))
        }
        "force_row" if larger => (0.78, 1, date(2027, 11, 1)),
        "force_row" => (0.80, 0, date(2027, 6, 14)),
        "bud_row_dormant" if larger => (0.70, 1, date(2028, 8, 28)),
        "bud_row_dormant" => (0.75, 0, date(2027, 11, 22)),
        "force_pot" => (0.83, 0, date(2027, 8, 23)),
        "bud_pot" => (0.78, 0, date(2027, 10, 4)),
        _ => return None,
    };
    let trees = f64::from(lot.plants()) * share;
    Some(Supply {
        variety,
        rootstock: lot.rootstock,
        size,
        trees,
        from,
    })
}

/// A line on what must still be budded.
fn to_grow(draw: &mut Draw, variety: &'static Variety, first: Date, last: Date) -> Line {
    let small = draw.uniform() < 0.12;
    let (least, most) = if small { (20, 90) } else { LINE_PLANTS };
    Line {
        variety,
        rootstocks: accepted(draw, variety, None),
        size: usize::from(draw.uniform() < 0.12),
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

/// `orders.csv`.
pub fn table(draw: &mut Draw, lots: &[Lot]) -> String {
    let mut table = Table::new(
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract,\
         tolerance_percent",
    );
    let lines = lines(draw, lots);
    assert_eq!(
        lines.len(),
        LINES,
        "the parts of the order book make the whole"
    );
    let lengths: Vec<f64> = (0..ORDERS).map(|_| draw.between(0.5, 1.5)).collect();
    let mut rest = lines.into_iter();
    for (order, length) in divide(LINES as u32, &lengths).into_iter().enumerate() {
        let customer = format!("C-{:02}", 1 + draw.below(CUSTOMERS));
        let contract = draw.uniform() < 0.5;
        for (index, line) in rest.by_ref().take(length as usize).enumerate() {
            let latest = plus_days(line.due, [42, 49, 56][draw.below(3)]);
            let list = f64::from(line.variety.prices[line.size]);
            let price = (list * draw.between(0.95, 1.05) / 5.0).round() as u32 * 5;
            let bounds = [(1000, 1600), (1900, 2800)][line.size];
            table.row(&[
                &format!("O-{}", 101 + order),
                &(index + 1),
                &customer,
                &line.variety.id,
                &line.rootstocks.join(";"),
                &["4L", "10L"][line.size],
                &line.plants,
                &plus_days(line.due, -28),
                &line.due,
                &latest,
                &price.clamp(bounds.0, bounds.1),
                &contract,
                &draw.below(6),
            ]);
        }
    }
    table.text()
}
