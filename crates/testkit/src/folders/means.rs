//! Hours, ground, buds, seed and what can be bought: enough for a usual year, and not much besides.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::book::Book;
use super::{VARIETIES, WEEKS, about_one, table};
use crate::chance::Chance;

/// What a tree takes on its way, with what is lost on it: hours of the crew that buds and of the one that grows.
const BUDDING_H: f64 = 0.015;
const GROWING_H: f64 = 0.08;
/// Weeks of the year in which buds are set.
const BUDDING_WEEKS: f64 = 26.0;
/// Ground of a tree a year, m², in the fullest weeks: seedbed, house, yard.
const BED_M2: f64 = 0.012;
const HOUSE_M2: f64 = 0.06;
const YARD_M2: f64 = 0.06;
/// Buds and seeds for a tree, with all that is lost on the way.
const BUDS: f64 = 2.8;
const SEEDS: f64 = 2.9;

/// Trees a year, of all lines that `counts` holds for.
fn trees(book: &Book, counts: impl Fn(&super::Product) -> bool) -> f64 {
    let lines = book.iter().flatten().filter(|it| counts(&it.product));
    lines.map(|it| f64::from(it.plants)).sum::<f64>() * 52.0 / f64::from(WEEKS)
}

pub(super) fn made(
    chance: &mut Chance,
    as_of: Date,
    book: &Book,
) -> BTreeMap<&'static str, String> {
    let all = trees(book, |_| true);
    BTreeMap::from([
        ("places.csv", places(chance, all)),
        ("crews.csv", crews(chance, all)),
        ("mother_trees.csv", mother_trees(chance, as_of, book)),
        ("seed.csv", seed(chance, as_of, book)),
        ("prices.csv", prices(book)),
    ])
}

fn places(chance: &mut Chance, all: f64) -> String {
    let mut area = |each: f64| (all * each * about_one(chance, 0.15)).ceil();
    table(
        "place,kind,area_m2,warmer_c,excess_cost",
        [
            format!("bed,seedbed,{},3,2000", area(BED_M2)),
            format!("house,house,{},3,1500", area(HOUSE_M2)),
            format!("yard,yard,{},0,800", area(YARD_M2)),
        ],
    )
}

fn crews(chance: &mut Chance, all: f64) -> String {
    let mut hours = |a_week: f64, most: f64| {
        let own = a_week * about_one(chance, 0.15);
        format!("{:.1},{{}},{:.1}", own, own * most)
    };
    let budding = hours(all * BUDDING_H / BUDDING_WEEKS * 3.0, 0.6);
    let growing = hours(all * GROWING_H / 52.0 * 2.2, 0.6);
    table(
        "crew,from,until,hours_per_week,wage,hired_hours_per_week,hired_cost,may_do",
        [
            format!("budding,,,{},2800,growing", budding.replace("{}", "1900")),
            format!("growing,,,{},2300,", growing.replace("{}", "1600")),
        ],
    )
}

/// Two mother trees of each variety, cut in spring and in late summer.
fn mother_trees(chance: &mut Chance, as_of: Date, book: &Book) -> String {
    let mut rows = Vec::new();
    for (variety, _) in VARIETIES {
        let all = trees(book, |it| it.variety == variety);
        for tree in ["a", "b"] {
            let buds = (all * BUDS / 2.0 * about_one(chance, 0.2)).ceil();
            if buds > 0.0 {
                rows.push(format!(
                    "{variety}-{tree},{variety},{buds},03-15/06-15;08-01/10-15,{},clean,36",
                    super::weeks_after(as_of, -20)
                ));
            }
        }
    }
    table(
        "mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months",
        rows,
    )
}

/// A batch of each rootstock for each spring.
fn seed(chance: &mut Chance, as_of: Date, book: &Book) -> String {
    let mut rows = Vec::new();
    for (rootstock, _) in super::ROOTSTOCKS {
        let all = trees(book, |it| it.rootstock == rootstock);
        if all <= 0.0 {
            continue;
        }
        for year in as_of.year()..as_of.year() + 3 {
            let seeds = (all * SEEDS * about_one(chance, 0.2)).ceil();
            rows.push(format!(
                "{rootstock}-{year},{rootstock},{seeds},{}-12-01,{year}-06-30,",
                year - 1
            ));
        }
    }
    table(
        "batch,rootstock,seeds,available,use_by,germination_percent",
        rows,
    )
}

fn prices(book: &Book) -> String {
    let mut rows: Vec<String> = [
        ("budding tape", 3),
        ("liner pot", 9),
        ("pot 10L", 95),
        ("pot 4L", 42),
        ("stake", 14),
        ("substrate liter", 8),
    ]
    .map(|(item, price)| format!("material,{item},,,,{price},"))
    .into();
    for (variety, _) in VARIETIES {
        let all = trees(book, |it| it.variety == variety);
        if all > 0.0 {
            rows.push(format!("bud,,{variety},,,40,{}", (all / 40.0).ceil()));
        }
    }
    for (rootstock, _) in super::ROOTSTOCKS {
        let all = trees(book, |it| it.rootstock == rootstock);
        if all > 0.0 {
            rows.push(format!("seed,,,{rootstock},,5,{}", (all / 10.0).ceil()));
            rows.push(format!("liner,,,{rootstock},,190,{}", (all / 40.0).ceil()));
        }
    }
    table("of,item,variety,rootstock,size,price,limit_per_week", rows)
}
