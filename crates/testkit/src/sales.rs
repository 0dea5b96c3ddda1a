//! Orders and what is shipped to them.

use serde_json::{Value, json};

use crate::ground::{At, Day, Lot, LotId, Stage};
use crate::names::{CUSTOMERS, SIZES, VARIETIES};
use crate::post::Touches;
use crate::simulator::Simulator;

/// A line's place in the list of lines.
pub(crate) type LineId = usize;

#[derive(Clone, Debug)]
pub(crate) struct Line {
    order: String,
    name: String,
    customer: String,
    pub(crate) variety: &'static str,
    pub(crate) rootstocks: Vec<&'static str>,
    pub(crate) size: &'static str,
    /// Another size that the customer takes instead.
    substitute: Option<&'static str>,
    plants: usize,
    shipped: usize,
    earliest: Day,
    due: Day,
    price: usize,
    contract: bool,
    is_cancelled: bool,
}

impl Line {
    pub(crate) fn takes(&self, lot: &Lot) -> bool {
        let size = lot.size == Some(self.size);
        let substitute = lot.size.is_some() && lot.size == self.substitute;
        lot.stage() == Stage::Finished
            && lot.variety == Some(self.variety)
            && ((size && self.rootstocks.contains(&lot.rootstock))
                || (substitute && self.rootstocks[0] == lot.rootstock))
    }

    fn left(&self) -> usize {
        self.plants - self.shipped
    }

    fn is_open(&self) -> bool {
        !self.is_cancelled && self.left() > 0
    }
}

/// Plants of a lot that went to a line on a day.
#[derive(Clone, Debug)]
pub(crate) struct Shipment {
    pub(crate) line: LineId,
    pub(crate) lot: LotId,
    pub(crate) on: Day,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Sales {
    pub(crate) lines: Vec<Line>,
    pub(crate) shipments: Vec<Shipment>,
}

impl Sales {
    /// Names of order and line.
    pub(crate) fn names(&self, line: LineId) -> (String, String) {
        let line = &self.lines[line];
        (line.order.clone(), line.name.clone())
    }

    pub(crate) fn customer(&self, line: LineId) -> &str {
        &self.lines[line].customer
    }

    pub(crate) fn open(&self) -> Vec<LineId> {
        let lines = 0..self.lines.len();
        lines.filter(|line| self.lines[*line].is_open()).collect()
    }
}

impl Simulator {
    /// A day of sales.
    pub(crate) fn sell(&mut self) {
        for _ in 0..self.scaled(0.6) {
            self.take_order();
        }
        for _ in 0..self.scaled(0.4) {
            self.change_mind();
        }
        let mut open = self.sales.open();
        open.retain(|line| self.sales.lines[*line].earliest <= self.today);
        for _ in 0..self.scaled(8.0) {
            if open.is_empty() {
                return;
            }
            let line = self.chance.pick(&open);
            self.ship(line);
            open.retain(|line| self.sales.lines[*line].is_open());
        }
    }

    /// What customers ask for: mostly what stands.
    fn product(&mut self) -> (&'static str, &'static str, &'static str) {
        let standing = self.ground.live.iter().copied();
        let trees: Vec<_> = standing
            .filter(|lot| self.ground.lots[*lot].stage() == Stage::Finished)
            .collect();
        if !trees.is_empty() && self.chance.yes(0.9) {
            let lot = &self.ground.lots[self.chance.pick(&trees)];
            if let (Some(variety), Some(size)) = (lot.variety, lot.size) {
                return (variety, lot.rootstock, size);
            }
        }
        let (variety, rootstocks) = self.chance.pick(&VARIETIES);
        let rootstock = self.chance.pick(rootstocks);
        (variety, rootstock, self.chance.pick(&SIZES))
    }

    fn take_order(&mut self) {
        let order = self.ground.own_name("order");
        let customer = self.chance.pick(&CUSTOMERS);
        let customer = format!("{customer}-{}", self.chance.between(1, 9));
        let first = self.sales.lines.len();
        for number in 1..=self.chance.between(1, 4) {
            let (variety, rootstock, size) = self.product();
            let mut rootstocks = vec![rootstock];
            let others = VARIETIES.iter().find(|it| it.0 == variety);
            let others = others.map_or(&[][..], |it| it.1);
            if others.contains(&rootstock) && self.chance.yes(0.5) {
                rootstocks.extend(others.iter().filter(|it| **it != rootstock).take(2));
            }
            let other_size = SIZES.into_iter().find(|it| *it != size);
            let earliest = self.today + self.chance.days(1, 20);
            self.sales.lines.push(Line {
                order: order.clone(),
                name: number.to_string(),
                customer: customer.clone(),
                variety,
                rootstocks,
                size,
                substitute: other_size.filter(|_| self.chance.yes(0.2)),
                plants: self.chance.between(10, 90),
                shipped: 0,
                earliest,
                due: earliest + self.chance.days(20, 60),
                price: self.chance.between(700, 1900),
                contract: self.chance.yes(0.4),
                is_cancelled: false,
            });
        }
        let lines = first..self.sales.lines.len();
        let lines: Vec<_> = lines.map(|line| self.line_keys(line)).collect();
        self.send(
            "order",
            json!({"order": order, "customer": customer, "lines": lines}),
        );
        if self.chance.yes(0.5) {
            let plants = self.sales.lines[first].plants;
            self.send(
                "promise",
                json!({"order": order, "line": "1", "plants": plants}),
            );
        }
    }

    fn line_keys(&self, line: LineId) -> Value {
        let it = &self.sales.lines[line];
        let mut keys = json!({
            "line": it.name, "variety": it.variety, "rootstocks": it.rootstocks, "size": it.size,
            "plants": it.plants, "earliest": self.date(it.earliest).to_string(),
            "due": self.date(it.due).to_string(), "latest": self.date(it.due + 40).to_string(),
            "price": it.price, "contract": it.contract,
        });
        if it.contract {
            keys["tolerance_percent"] = json!(2);
        }
        if let Some(size) = it.substitute {
            keys["substitutes"] = json!([{
                "variety": it.variety, "rootstock": it.rootstocks[0], "size": size,
                "price": it.price - 100,
            }]);
        }
        keys
    }

    /// A customer wants more or fewer, or cancels a line, of which nothing has been shipped yet, or
    /// what is left of none.
    fn change_mind(&mut self) {
        let open = self.sales.open();
        if open.is_empty() {
            return;
        }
        let line = self.chance.pick(&open);
        let (order, name) = self.sales.names(line);
        let shipped = self.sales.lines[line].shipped;
        if shipped == 0 && self.chance.yes(0.3) {
            self.sales.lines[line].is_cancelled = true;
            self.send("cancel_order", json!({"order": order, "lines": [name]}));
            return;
        }
        self.sales.lines[line].plants = shipped + self.chance.between(1, 60);
        let keys = self.line_keys(line);
        self.send("change_order", json!({"order": order, "lines": [keys]}));
    }

    /// Ships some trees of one lot to a line.
    fn ship(&mut self, line: LineId) {
        let today = self.today;
        let lots = self.ground.live.iter().copied();
        let fitting = lots.filter(|lot| {
            let it = &self.ground.lots[*lot];
            it.may_lose(today) && self.sales.lines[line].takes(it)
        });
        let fitting: Vec<_> = fitting.collect();
        if fitting.is_empty() {
            return;
        }
        let lot = self.chance.pick(&fitting);
        let most = self.chance.between(5, 20);
        let before = self.ground.books(lot);
        let count = most.min(self.sales.lines[line].left());
        let trees = self.ground.take(lot, count, true, &mut self.chance);
        if trees.is_empty() {
            return;
        }
        self.sales.lines[line].shipped += trees.len();
        self.sales.shipments.push(Shipment {
            line,
            lot,
            on: today,
        });
        let shipment = self.sales.shipments.len() - 1;
        self.ground.put(&trees, At::Shipped(shipment), today);
        let (order, name) = self.sales.names(line);
        let lot_name = &self.ground.lots[lot].name;
        let keys = json!({"order": order, "line": name, "lot": lot_name, "plants": trees.len()});
        let act = self.act("ship", keys);
        self.record(&act, &Touches::Loss(lot, before));
    }
}
