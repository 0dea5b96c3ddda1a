//! Middle-sized nurseries from a seed, as the files that their growers would write: some dozens of order lines, two to
//! four varieties on two or three rootstocks, seed and bought liners, mother trees, two crews, a seedbed, a house
//! and a yard, and twelve years of weather.
//!
//! Each is about as full as a nursery is that has planned before: what its order lines need stands at the step
//! where it would have to be by now, a little more or less of it, and there are hours, ground, buds and seed
//! for a usual year and not much besides. Steps, growth, losses and luck are those that every nursery begins with.

mod book;
mod means;
mod sky;
mod stand;

use std::collections::BTreeMap;

use jiff::civil::{Date, date};

use crate::chance::Chance;

/// A nursery's files.
#[derive(Clone, Debug)]
pub struct Folder {
    /// The day from which it looks ahead.
    pub as_of: Date,
    /// Their text, by name.
    pub files: BTreeMap<&'static str, String>,
}

/// Weeks planned: two years.
const WEEKS: i32 = 104;

/// Days on which one looks ahead: before spring, in summer, in autumn.
const DAYS: [Date; 3] = [date(2027, 3, 1), date(2027, 7, 5), date(2027, 10, 4)];

/// A tree that is sold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Product {
    variety: &'static str,
    rootstock: &'static str,
    size: Size,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Size {
    Small,
    Large,
}

impl Size {
    fn name(self) -> &'static str {
        match self {
            Self::Small => "4L",
            Self::Large => "10L",
        }
    }
}

/// Varieties that grow alike, and what a small tree costs (cents).
const VARIETIES: [(&str, usize); 6] = [
    ("valencia", 1_150),
    ("washington-navel", 1_200),
    ("clementine-nules", 1_250),
    ("lane-late", 1_250),
    ("tarocco", 1_300),
    ("cara-cara", 1_400),
];

/// Rootstocks and how fast they grow.
const ROOTSTOCKS: [(&str, f64); 4] = [
    ("carrizo", 1.0),
    ("us-942", 1.0),
    ("c-35", 0.95),
    ("sweet-orange", 0.9),
];

impl Folder {
    /// The files of a seed's nursery.
    pub fn made(seed: u64) -> Self {
        let mut chance = Chance::new(seed);
        let as_of = chance.pick(&DAYS);
        let place = sky::Place::new(&mut chance, as_of);
        let products = products(&mut chance);
        let book = book::made(&mut chance, &products);
        let needs = stand::made(&mut chance, &place, &book);
        let mut files = BTreeMap::from([
            ("nursery.toml", settings(seed)),
            ("weather.csv", place.weather(&mut chance)),
            ("orders.csv", book::table(&mut chance, as_of, &book)),
            ("lots.csv", stand::table(as_of, &needs)),
        ]);
        files.extend(means::made(&mut chance, as_of, &book));
        Self { as_of, files }
    }
}

fn settings(seed: u64) -> String {
    format!(
        "name = \"Nursery {seed}\"\nlatitude = 37.0\nlongitude = -1.0\nelevation_m = 60\n\
         time_zone = \"Etc/UTC\"\ncurrency = \"EUR\"\n[planning]\nweeks = {WEEKS}\n\
         routes = [\"pot\", \"bought_liners\"]\n"
    )
}

/// Two to four varieties, each on one or two of two or three rootstocks; some in large pots too.
fn products(chance: &mut Chance) -> Vec<Product> {
    let count = chance.between(2, 3);
    let rootstocks = chance.some(ROOTSTOCKS.to_vec(), count);
    let count = chance.between(2, 4);
    let mut products = Vec::new();
    for (variety, _) in chance.some(VARIETIES.to_vec(), count) {
        let on = 1 + usize::from(chance.yes(0.3));
        for (rootstock, _) in chance.some(rootstocks.clone(), on) {
            products.push(Product {
                variety,
                rootstock,
                size: Size::Small,
            });
            if chance.yes(0.25) {
                products.push(Product {
                    variety,
                    rootstock,
                    size: Size::Large,
                });
            }
        }
    }
    products
}

/// Rows of a table under its heads.
fn table(heads: &str, rows: impl IntoIterator<Item = String>) -> String {
    let mut text = format!("{heads}\n");
    for row in rows {
        text.push_str(&row);
        text.push('\n');
    }
    text
}

/// So many weeks after a day.
fn weeks_after(day: Date, weeks: i32) -> Date {
    day.checked_add(jiff::Span::new().weeks(weeks))
        .expect("a day of this century")
}

/// Some weight around 1.
fn about_one(chance: &mut Chance, spread: f64) -> f64 {
    chance.real(1.0 - spread, 1.0 + spread)
}
