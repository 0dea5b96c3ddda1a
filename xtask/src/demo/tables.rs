//! The demo's settings, places, crews, mother trees, seed, prices and demand on spec.

use jiff::civil::{Date, date};
use serde_json::{Map, Value, json};

use super::draw::{Draw, Table, divide};
use super::kinds::{ROOTSTOCKS, SIZES, VARIETIES, Variety};
use super::{
    BUDDING_HOURS, BUDS_A_TREE, BUDS_A_WEEK, GROWING_HOURS, HOUSE_M2, LINERS_A_WEEK, ROWS_M2,
    SEEDBED_M2, SEEDS_A_WEEK, TREES_A_YEAR, YARD_M2, terms,
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
weeks = 144
short_cost_share = 1.0   # planting days are fixed: who gets no trees is helped to others
late_cost_share = 0.03
routes = ["field", "dormant", "pot", "terrace", "bought_liners"]

[water]
pump_m3_h = 3.0
pump_hours = 8.0
tank_m3 = 30.0
water_ec = 0.9
"#;

/// How many trees of a size make the first grade.
pub const GRADES: &str = "\
grade,size,share_percent,source
first,10L,82,gradings of 2025 and 2026
first,2L,90,gradings of 2025 and 2026
first,4L,86,gradings of 2025 and 2026
";

/// How the nursery waters.
pub const WATERING: &str = "\
place,soil,root_depth_m,pot_l,holds_percent,used_percent,cover_percent,sun_percent,rain_percent,rate_mm_h,emitter_l_h,reaches_percent,shelter_c
rows-1,sandy loam,0.35,,,,35,,,,2,90,
house-1,,,2.2,32,40,60,70,0,9,,75,
yard-1,,,,28,35,70,,,11,,70,
";

/// Trees for terraces, a way of this nursery's own.
const TERRACE: &str = r#"# Small trees for terraces, sold in 2 L; the figures are the nursery's own.
[[step]]
id = "pot_2L"
operation = "pot_up"
name = "Pot on to 2 L"
from = ["force_pot"]
makes = "finished"
size = "2L"
place = "yard"
area_m2 = 0.028
hours = [
  { after_weeks = 0, crew = "growing", minutes = 0.9, job = "pot on" },
  { after_weeks = 6, crew = "growing", minutes = 0.3, job = "sucker, head and grade" },
]
supplies = [{ supply = "pot 2L", each = 1.0 }, { supply = "substrate liter", each = 1.5 }]
cost = 7.0
heat = { degree_days = 300.0, within_lot = 0.16, between_lots = 0.10 }
grows_with = ["rootstock", "variety"]
survival = { share = 0.93, rho = 0.02 }
over_age = { most = 40, least = 40 }
window = ["02-15/11-15"]
wait_cost = 0.7
discard_cost = 14.0
source = "own"
status = "own"

[[route]]
id = "terrace"
name = "Potted and budded in the pot, sold small"
steps = ["sow", "pot_up", "bud_pot", "force_pot", "pot_2L"]
source = "own"
status = "own"
"#;

/// The routes that come with the program.
const SHIPPED: &str = include_str!("../../../data/routes.toml");

/// Steps that this nursery does at narrower times: when buds are cut, and when hands are free.
const OWN_WINDOWS: [(&str, &str); 9] = [
    ("bud_row", r#"["04-20/06-20"]"#),
    ("bud_row_dormant", r#"["09-01/10-15"]"#),
    ("force_row", r#"["02-15/04-10", "06-05/08-10"]"#),
    ("lift_4L", r#"["09-15/11-10", "02-01/04-15"]"#),
    ("lift_10L", r#"["09-15/11-10", "02-01/04-15"]"#),
    ("bud_pot", r#"["03-25/06-15", "08-20/10-15"]"#),
    (
        "force_pot",
        r#"["02-15/03-31", "05-05/07-20", "09-15/10-15"]"#,
    ),
    ("pot_4L", r#"["03-01/04-15", "06-01/08-10", "09-10/11-15"]"#),
    ("pot_10L", r#"["03-01/04-15", "06-01/08-10"]"#),
];

/// `routes.toml`: shipped steps at this nursery's times, and its own way to small trees.
pub fn routes() -> String {
    let shipped = OWN_WINDOWS.map(|(id, window)| {
        let is_it = |block: &&str| block.contains(&format!("id = \"{id}\"\n"));
        let block = SHIPPED
            .split("\n\n")
            .find(|block| block.starts_with("[[step]]") && is_it(block))
            .expect("the demo's steps are shipped ones");
        let lines = block.lines().map(|line| match line.split(" = ").next() {
            Some("window") => format!("window = {window}\n"),
            Some("source") => "source = \"own calendar; all else as shipped\"\n".to_owned(),
            Some("status") => "status = \"own\"\n".to_owned(),
            _ => format!("{line}\n"),
        });
        lines.collect::<String>() + "\n"
    });
    format!("{}{TERRACE}", shipped.concat())
}

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

/// Number of the first mother tree of a variety.
fn first_number(variety: &Variety) -> usize {
    let before = VARIETIES.iter().take_while(|other| other.id != variety.id);
    1 + before.map(mother_trees_of).sum::<usize>()
}

/// The mother trees of a variety that buds are cut from: all but the second.
pub fn trees_in_use(variety: &Variety) -> Vec<String> {
    let first = first_number(variety);
    (0..mother_trees_of(variety))
        .filter(|index| *index != SECOND)
        .map(|index| mother_tree(first + index))
        .collect()
}

/// The mother tree of a variety that is kept for the day on which the others do not do.
pub const SECOND: usize = 1;

fn mother_tree(number: usize) -> String {
    format!("M-{number:02}")
}

/// A mother tree when the books open.
pub struct MotherTree {
    /// Its name.
    pub name: String,
    /// Its variety.
    pub variety: &'static Variety,
    /// Its place among those of the variety.
    pub index: usize,
    /// Buds it gives in a year.
    pub buds: u32,
    /// Day of its last test; none of a tree that was never tested.
    pub tested_on: Option<Date>,
    /// Months a test is valid.
    pub valid_months: u32,
}

impl MotherTree {
    /// Its row of `mother_trees.csv`.
    pub fn row(&self) -> Map<String, Value> {
        const SEASONS: [&str; 2] = ["03-15/06-15;08-15/10-15", "03-25/06-30;08-20/10-25"];
        let season = SEASONS[usize::from(self.variety.id.starts_with(['l', 'e', 't']))];
        let mut row = Map::from_iter([
            ("mother_tree".to_owned(), json!(self.name)),
            ("variety".to_owned(), json!(self.variety.id)),
            ("buds_per_year".to_owned(), json!(self.buds)),
            ("cut_seasons".to_owned(), json!(season)),
        ]);
        if is_licensed(self.variety) {
            row.insert("planted".to_owned(), json!(PLANTED));
        }
        let result = match self.tested_on {
            Some(day) => {
                row.insert("tested_on".to_owned(), json!(day));
                "clean"
            }
            None => "untested",
        };
        row.insert("result".to_owned(), json!(result));
        row.insert("valid_months".to_owned(), json!(self.valid_months));
        if terms::is_certified(self.variety) {
            row.insert("health_class".to_owned(), json!(terms::CLASS));
        }
        row
    }
}

/// The day on which the mother trees of the newest varieties were planted.
const PLANTED: &str = "2023-04-10";

/// The mother trees when the books open.
pub fn mother_trees(draw: &mut Draw) -> Vec<MotherTree> {
    let weights: f64 = VARIETIES.iter().map(|variety| variety.weight).sum();
    let mut all = Vec::new();
    for variety in &VARIETIES {
        let wanted = TREES_A_YEAR * BUDS_A_TREE * variety.weight / weights;
        let trees = mother_trees_of(variety);
        let shares: Vec<f64> = (0..trees).map(|_| draw.between(0.8, 1.2)).collect();
        let buds = divide((wanted * variety.buds / 10.0).round() as u32, &shares);
        for (index, tens) in buds.into_iter().enumerate() {
            let tested_on = draw.day(date(2024, 8, 1), date(2024, 9, 30));
            let is_untested = variety.id == "chandler" && index == SECOND;
            all.push(MotherTree {
                name: mother_tree(first_number(variety) + index),
                variety,
                index,
                buds: tens * 10,
                tested_on: (!is_untested).then_some(tested_on),
                valid_months: [12, 12, 24][draw.below(3)],
            });
        }
    }
    all
}

/// Stocks a year that the license of a new variety lets one bud.
const STOCKS_A_YEAR: u32 = 3_000;

/// Whether a variety is so new that nobody sells its buds, and that a license is needed.
fn is_licensed(variety: &Variety) -> bool {
    variety.buds <= 0.7
}

/// The name of a seed batch.
pub fn batch(rootstock: &str, year: i16) -> String {
    format!("{rootstock}-{:02}", year % 100)
}

/// `prices.csv`.
pub fn prices() -> String {
    let mut rows = vec![
        "of,item,variety,rootstock,size,price,limit_per_week,lead_weeks,delivered,limit_per_year"
            .to_owned(),
    ];
    for variety in &VARIETIES {
        for size in variety.sizes() {
            let (price, size) = (variety.price(size), SIZES[size]);
            rows.push(format!("tree,,{},,{size},{price},,,,", variety.id));
        }
    }
    for (rootstock, price) in [
        ("carrizo", 4),
        ("swingle", 5),
        ("benton", 7),
        ("volkamer", 6),
    ] {
        rows.push(format!(
            "seed,,,{rootstock},,{price},{SEEDS_A_WEEK},4,11-15/05-31,"
        ));
    }
    // Nobody has buds of the newest varieties to sell, and they are licensed.
    for variety in &VARIETIES {
        let id = variety.id;
        if is_licensed(variety) {
            rows.push(format!("royalty,,{id},,,90,,,,{STOCKS_A_YEAR}"));
            continue;
        }
        let price = if variety.buds < 1.0 { 60 } else { 40 };
        rows.push(format!("bud,,{id},,,{price},{BUDS_A_WEEK},1,,"));
    }
    for ((rootstock, _), price) in ROOTSTOCKS.iter().zip([180, 190, 230, 200]) {
        rows.push(format!("liner,,,{rootstock},,{price},{LINERS_A_WEEK},6,,"));
    }
    let materials = [
        ("budding tape", 3),
        ("stake", 14),
        ("liner pot", 9),
        ("pot 2L", 24),
        ("pot 4L", 42),
        ("pot 10L", 95),
        ("substrate liter", 8),
    ];
    for (material, price) in materials {
        rows.push(format!("material,{material},,,,{price},,,,"));
    }
    rows.push(String::new());
    rows.join("\n")
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
