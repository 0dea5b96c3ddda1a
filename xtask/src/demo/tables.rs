//! The demo's settings, places, crews, mother trees, seed, prices and demand on spec.

use jiff::civil::{Date, date};

use super::draw::{Draw, Table, divide};
use super::stock::{ROOTSTOCKS, VARIETIES, Variety};
use super::{
    BUDDING_HOURS, BUDS_A_TREE, BUDS_A_WEEK, GROWING_HOURS, HOUSE_M2, LINERS_A_WEEK, ROWS_M2,
    SEEDBED_M2, SEEDS_A_YEAR, TREES_A_YEAR, YARD_M2,
};

/// `nursery.toml`.
pub const SETTINGS: &str = r#"# An invented nursery at an invented place; see README.md.
name = "Almendrija Nursery"
latitude = 37.2
longitude = -2.3
elevation_m = 140
time_zone = "Europe/Madrid"
currency = "EUR"        # money in files is in its minor unit: cents
units = "metric"
first_weekday = "monday"

[planning]
weeks = 156
routes = ["field", "dormant", "pot", "bought_liners"]
"#;

/// A place of the demo.
pub struct Place {
    name: &'static str,
    kind: &'static str,
    area_m2: u32,
    /// How much warmer than the open ground, °C.
    pub warmer_c: f64,
    /// The heater's set point, °C.
    pub set_point_c: Option<f64>,
    /// Where the vents open, °C.
    pub vent_c: Option<f64>,
    excess_cost: u32,
}

const fn outside(name: &'static str, kind: &'static str, area_m2: u32, excess_cost: u32) -> Place {
    Place {
        name,
        kind,
        area_m2,
        warmer_c: 0.0,
        set_point_c: None,
        vent_c: None,
        excess_cost,
    }
}

const fn covered(
    name: &'static str,
    kind: &'static str,
    area_m2: u32,
    vent_c: f64,
    excess_cost: u32,
) -> Place {
    Place {
        warmer_c: 3.0,
        set_point_c: Some(10.0),
        vent_c: Some(vent_c),
        ..outside(name, kind, area_m2, excess_cost)
    }
}

const PLACES: [Place; 4] = [
    covered("seedbed-1", "seedbed", SEEDBED_M2, 35.0, 2000),
    outside("rows-1", "rows", ROWS_M2, 200),
    covered("house-1", "house", HOUSE_M2, 34.0, 1500),
    outside("yard-1", "yard", YARD_M2, 800),
];

/// The place of a name.
pub fn place(name: &str) -> &'static Place {
    PLACES
        .iter()
        .find(|place| place.name == name)
        .expect("lots of the demo stand at its own places")
}

/// `places.csv`.
pub fn places() -> String {
    let mut table = Table::new("place,kind,area_m2,warmer_c,set_point_c,vent_c,excess_cost");
    let cell = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    for place in &PLACES {
        table.row(&[
            &place.name,
            &place.kind,
            &place.area_m2,
            &place.warmer_c,
            &cell(place.set_point_c),
            &cell(place.vent_c),
            &place.excess_cost,
        ]);
    }
    table.text()
}

/// A crew's hours in a part of the year: from, until, hours a week, hired hours a week.
pub type Season = (&'static str, &'static str, f64, f64);

/// `crews.csv`: the hours that are left for the work planned here.
pub fn crews() -> String {
    let mut table =
        Table::new("crew,from,until,hours_per_week,wage,hired_hours_per_week,hired_cost,may_do");
    for (from, until, hours, hired) in BUDDING_HOURS {
        table.row(&[
            &"budding", &from, &until, &hours, &1900, &hired, &2800, &"growing",
        ]);
    }
    for (from, until, hours, hired) in GROWING_HOURS {
        table.row(&[&"growing", &from, &until, &hours, &1600, &hired, &2300, &""]);
    }
    table.text()
}

/// Mother trees of a variety.
fn mother_trees_of(variety: &Variety) -> usize {
    if variety.weight < 0.8 { 2 } else { 3 }
}

/// Number of the first mother tree of a variety; the first one of each is in use and clean.
fn first_number(variety: &str) -> usize {
    let before = VARIETIES.iter().take_while(|other| other.id != variety);
    1 + before.map(mother_trees_of).sum::<usize>()
}

fn mother_tree(number: usize) -> String {
    format!("M-{number:02}")
}

/// The name of the first mother tree of a variety.
pub fn first_mother_tree(variety: &str) -> String {
    mother_tree(first_number(variety))
}

/// The test of the second mother tree of some varieties: lapsing soon, untested, found.
fn special_test(variety: &str) -> Option<(Option<Date>, &'static str, u32)> {
    match variety {
        "afourer" => Some((Some(date(2026, 4, 14)), "clean", 12)),
        "chandler" => Some((None, "untested", 12)),
        "tarocco" => Some((Some(date(2026, 10, 6)), "found", 12)),
        _ => None,
    }
}

/// `mother_trees.csv`.
pub fn mother_trees(draw: &mut Draw) -> String {
    const SEASONS: [&str; 2] = ["03-15/06-15;08-15/10-15", "03-25/06-30;08-20/10-25"];
    let mut table =
        Table::new("mother_tree,variety,buds_per_year,cut_seasons,tested_on,result,valid_months");
    let weights: f64 = VARIETIES.iter().map(|variety| variety.weight).sum();
    for variety in &VARIETIES {
        let wanted = TREES_A_YEAR * BUDS_A_TREE * variety.weight / weights;
        let trees = mother_trees_of(variety);
        let shares: Vec<f64> = (0..trees).map(|_| draw.between(0.8, 1.2)).collect();
        let buds = divide((wanted * variety.buds / 10.0).round() as u32, &shares);
        for (index, tens) in buds.into_iter().enumerate() {
            let usual = draw.day(date(2026, 6, 1), date(2026, 11, 20));
            let valid = [12, 18, 24][draw.below(3)];
            let (tested_on, result, valid) = special_test(variety.id)
                .filter(|_| index == 1)
                .unwrap_or((Some(usual), "clean", valid));
            table.row(&[
                &mother_tree(first_number(variety.id) + index),
                &variety.id,
                &(tens * 10),
                &SEASONS[usize::from(variety.id.starts_with(['l', 'e', 't']))],
                &tested_on.map(|day| day.to_string()).unwrap_or_default(),
                &result,
                &valid,
            ]);
        }
    }
    table.text()
}

/// The name of a seed batch.
pub fn batch(rootstock: &str, year: i16) -> String {
    format!("{rootstock}-{:02}", year % 100)
}

/// `seed.csv`: what is left to sow this spring and what the own trees will give for the next.
pub fn seed(draw: &mut Draw) -> String {
    let mut table = Table::new("batch,rootstock,seeds,available,use_by,germination_percent,source");
    for (year, seeds) in [(2027, SEEDS_A_YEAR[0]), (2028, SEEDS_A_YEAR[1])] {
        for (rootstock, share) in ROOTSTOCKS {
            let count = (seeds * share / 100.0).round() as u32 * 100;
            let tested = if year == 2027 {
                draw.between(76.0, 89.0).round().to_string()
            } else {
                String::new()
            };
            let source = if rootstock == "benton" {
                "seller N-05"
            } else {
                "own trees"
            };
            table.row(&[
                &batch(rootstock, year),
                &rootstock,
                &count,
                &date(year - 1, 12, 1),
                &date(year, 6, 30),
                &tested,
                &source,
            ]);
        }
    }
    table.text()
}

/// `prices.csv`.
pub fn prices() -> String {
    let mut table = Table::new("of,item,variety,rootstock,size,price,limit_per_week");
    for variety in &VARIETIES {
        for (size, price) in ["4L", "10L"].iter().zip(variety.prices) {
            table.row(&[&"tree", &"", &variety.id, &"", size, &price, &""]);
        }
    }
    for (rootstock, price) in [("carrizo", 4), ("swingle", 5), ("benton", 7)] {
        table.row(&[&"seed", &"", &"", &rootstock, &"", &price, &1500]);
    }
    // Nobody has buds of the newest varieties to sell.
    for variety in VARIETIES.iter().filter(|variety| variety.buds > 0.7) {
        let price = if variety.buds < 1.0 { 60 } else { 40 };
        table.row(&[&"bud", &"", &variety.id, &"", &"", &price, &BUDS_A_WEEK]);
    }
    for ((rootstock, _), price) in ROOTSTOCKS.iter().zip([180, 190, 230]) {
        table.row(&[&"liner", &"", &"", rootstock, &"", &price, &LINERS_A_WEEK]);
    }
    let materials = [
        ("budding tape", 3),
        ("stake", 14),
        ("liner pot", 9),
        ("pot 4L", 42),
        ("pot 10L", 95),
        ("substrate liter", 8),
    ];
    for (material, price) in materials {
        table.row(&[&"material", &material, &"", &"", &"", &price, &""]);
    }
    table.text()
}

/// `demand.csv`: what usually sells without an order.
pub fn demand() -> String {
    let mut table = Table::new("product,week,mean,spread");
    let rows = [
        ("valencia/carrizo/4L", "2028-W14", 60, 25),
        ("washington-navel/carrizo/4L", "2028-W12", 80, 30),
        ("washington-navel/carrizo/10L", "2028-W40", 30, 15),
        ("clementine-nules/carrizo/4L", "2028-W16", 50, 20),
        ("eureka/benton/4L", "2028-W18", 70, 30),
        ("eureka/benton/10L", "2028-W42", 25, 12),
        ("lisbon/carrizo/4L", "2028-W38", 40, 18),
        ("tahiti/swingle/4L", "2029-W14", 45, 22),
        ("valencia/carrizo/4L", "2029-W14", 60, 25),
        ("washington-navel/carrizo/4L", "2029-W12", 80, 30),
        ("star-ruby/swingle/4L", "2029-W20", 35, 15),
        ("eureka/benton/4L", "2029-W18", 70, 30),
    ];
    for (product, week, mean, spread) in rows {
        table.row(&[&product, &week, &mean, &spread]);
    }
    table.text()
}
