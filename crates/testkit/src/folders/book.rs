//! The order book.

use jiff::civil::Date;

use super::{Product, Size, VARIETIES, WEEKS, weeks_after};
use crate::chance::Chance;

/// An order line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub product: Product,
    pub plants: u32,
    /// The week in which it is due.
    pub due: i32,
}

/// Lines that are ordered together, by the order in which they were taken.
pub(super) type Book = Vec<Vec<Line>>;

/// First week in which a line is due, and how long before the plan's end the last one is.
const FIRST_DUE: i32 = 3;
const BEFORE_END: i32 = 12;
/// Weeks before the week they are due in which lines are taken, at most.
const AHEAD: i32 = 100;

/// 25 to 60 lines in orders of up to four, in the order in which they were taken: at most [`AHEAD`] weeks before they
/// are due.
pub(super) fn made(chance: &mut Chance, products: &[Product]) -> Book {
    let lines = chance.between(25, 60);
    let mut taken = Vec::new();
    let mut so_far = 0;
    while so_far < lines {
        let due = chance.days(FIRST_DUE, WEEKS - BEFORE_END);
        let count = chance.between(1, 4);
        let wanted = chance.some(products.to_vec(), count);
        let line = |product: Product| {
            let tens = match product.size {
                Size::Small => chance.between(4, 20),
                Size::Large => chance.between(2, 7),
            };
            Line {
                product,
                plants: 10 * tens as u32,
                due: due + chance.days(0, 3),
            }
        };
        let order: Vec<Line> = wanted.into_iter().map(line).collect();
        so_far += order.len();
        taken.push((chance.days(due - AHEAD, -1), order));
    }
    taken.sort_by_key(|(week, _)| *week);
    taken.into_iter().map(|(_, order)| order).collect()
}

/// `orders.csv`.
pub(super) fn table(chance: &mut Chance, as_of: Date, book: &Book) -> String {
    let mut rows = Vec::new();
    for (order, lines) in book.iter().enumerate() {
        let is_contract = chance.yes(0.6);
        for (at, line) in lines.iter().enumerate() {
            let Product {
                variety,
                rootstock,
                size,
            } = line.product;
            let weeks = [-4, 0, chance.days(4, 10)];
            let [earliest, due, latest] = weeks.map(|it| weeks_after(as_of, line.due + it));
            let price = price(chance, line.product);
            let cancel = if chance.yes(0.1) { "10" } else { "" };
            let tolerance = chance.between(0, 3);
            rows.push(format!(
                "O-{:03},{},C-{:02},{variety},{rootstock},{},{},{earliest},{due},{latest},{price},{is_contract},{tolerance},{cancel}",
                order + 1,
                at + 1,
                order % 20,
                size.name(),
                line.plants,
            ));
        }
    }
    super::table(
        "order,line,customer,variety,rootstocks,size,plants,earliest,due,latest,price,contract,tolerance_percent,cancel_percent",
        rows,
    )
}

/// The price of a tree of an order, cents: the usual one, a little more or less.
fn price(chance: &mut Chance, product: Product) -> usize {
    let usual = VARIETIES.iter().find(|(name, _)| *name == product.variety);
    let small = usual.map_or(0, |(_, price)| *price);
    let usual = match product.size {
        Size::Small => small,
        Size::Large => small + 950,
    };
    usual + 10 * chance.between(0, 12) - 60
}
