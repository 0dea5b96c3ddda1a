//! Readers of the nursery's files: bytes in, rows and every problem out.

use std::collections::{BTreeMap, BTreeSet};

use intake::{Bounds, Columns, Read, Row, read_table};
use jiff::civil::{Date, ISOWeekDate, Weekday};

use crate::catalogue::PlaceKind;
use crate::catalogue::{Catalogue, StageKind};
use crate::ids::{PlaceName, RootstockName, SizeName, StepName, VarietyName};
use crate::records::{
    CrewHours, Demand, Lot, MotherTree, OrderLine, Place, Price, PriceOf, SeedBatch, TestResult,
};
use crate::season_days::YearSpan;

/// Columns of `places.csv`.
pub const PLACES: Columns = Columns {
    required: &["place", "kind", "area_m2"],
    optional: &["warmer_c", "set_point_c", "vent_c", "excess_cost"],
};
/// Columns of `crews.csv`.
pub const CREWS: Columns = Columns {
    required: &["crew", "hours_per_week", "wage"],
    optional: &[
        "from",
        "until",
        "hired_hours_per_week",
        "hired_cost",
        "may_do",
    ],
};
/// Columns of `lots.csv`.
pub const LOTS: Columns = Columns {
    required: &[
        "lot",
        "stage",
        "rootstock",
        "place",
        "growing",
        "ready",
        "entered",
    ],
    optional: &["variety", "size", "budded_on", "step", "source"],
};
/// Columns of `orders.csv`.
pub const ORDERS: Columns = Columns {
    required: &[
        "order",
        "line",
        "customer",
        "variety",
        "rootstocks",
        "size",
        "plants",
        "earliest",
        "due",
        "latest",
        "price",
    ],
    optional: &["contract", "tolerance_percent"],
};
/// Columns of `mother_trees.csv`.
pub const MOTHER_TREES: Columns = Columns {
    required: &[
        "mother_tree",
        "variety",
        "buds_per_year",
        "cut_seasons",
        "result",
    ],
    optional: &["tested_on", "valid_months"],
};
/// Columns of `seed.csv`.
pub const SEED: Columns = Columns {
    required: &["batch", "rootstock", "seeds", "available", "use_by"],
    optional: &["germination_percent", "source"],
};
/// Columns of `prices.csv`.
pub const PRICES: Columns = Columns {
    required: &["of", "price"],
    optional: &["item", "variety", "rootstock", "size", "limit_per_week"],
};
/// Columns of `demand.csv`.
pub const DEMAND: Columns = Columns {
    required: &["product", "week", "mean", "spread"],
    optional: &[],
};

const AREA: Bounds = Bounds::new(0.1, 10_000_000.0);
const DEGREES: Bounds = Bounds::new(-30.0, 60.0);
const HOURS: Bounds = Bounds::new(0.0, 100_000.0);

/// What rows may refer to.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Varieties, rootstocks, steps.
    pub catalogue: &'a Catalogue,
    /// Places and their kinds.
    pub places: &'a BTreeMap<PlaceName, PlaceKind>,
    /// The day from which the nursery looks ahead: what stands cannot have come later.
    pub as_of: Date,
}

impl Known<'_> {
    fn variety(&self, row: &mut Row<'_>, name: Option<String>) -> Option<VarietyName> {
        let name = VarietyName::from(name?);
        if self.catalogue.varieties.contains_key(&name) {
            return Some(name);
        }
        row.problem(
            "variety",
            "nobody knows this variety",
            "add it to varieties.csv, or mend it",
        );
        None
    }

    fn rootstock(&self, row: &mut Row<'_>, column: &str, name: &str) -> Option<RootstockName> {
        let name = RootstockName::from(name);
        if self.catalogue.rootstocks.contains_key(&name) {
            return Some(name);
        }
        row.problem(
            column,
            "nobody knows this rootstock",
            "add it to rootstocks.csv, or mend it",
        );
        None
    }

    fn size(&self, row: &mut Row<'_>, name: &str) -> Option<SizeName> {
        let name = SizeName::from(name);
        if self.catalogue.knows_size(&name) {
            return Some(name);
        }
        row.problem(
            "size",
            "no step makes trees of this size",
            "mend it, or add a step",
        );
        None
    }
}

/// Notes a key that stood before in the file.
fn only_once<K: Ord>(row: &mut Row<'_>, column: &str, seen: &mut BTreeSet<K>, key: K) {
    if !seen.insert(key) {
        row.problem(
            column,
            "must stand only once",
            "remove one of the two rows, or rename it",
        );
    }
}

/// Reads `places.csv`.
pub fn places(bytes: &[u8]) -> Read<Place> {
    let mut seen = BTreeSet::new();
    read_table("places.csv", bytes, &PLACES, |row| {
        let place = row.text("place");
        let kind = row.choice("kind", PlaceKind::CHOICES);
        let area_m2 = row.number("area_m2", AREA);
        let warmer_c = row.number_or("warmer_c", 0.0, Bounds::new(-15.0, 15.0));
        let set_point_c = row.optional_number("set_point_c", DEGREES);
        let vent_c = row.optional_number("vent_c", DEGREES);
        let excess_cost = row.money_or("excess_cost", 2000);
        let place = PlaceName::from(place?);
        only_once(row, "place", &mut seen, place.clone());
        Some(Place {
            place,
            kind: kind?,
            area_m2: area_m2?,
            warmer_c: warmer_c?,
            set_point_c: set_point_c?,
            vent_c: vent_c?,
            excess_cost: excess_cost?,
        })
    })
}

/// Reads `crews.csv`. A crew may have several rows for parts of the year.
pub fn crews(bytes: &[u8]) -> Read<CrewHours> {
    read_table("crews.csv", bytes, &CREWS, |row| {
        let crew = row.text("crew");
        let hours_per_week = row.number("hours_per_week", HOURS);
        let wage = row.text("wage").and_then(|_| row.money_or("wage", 0));
        let hired_hours_per_week = row.number_or("hired_hours_per_week", 0.0, HOURS);
        let hired_cost = row.money_or("hired_cost", wage.unwrap_or(0));
        let span = crew_span(row);
        let may_do = row.list("may_do").into_iter().map(Into::into).collect();
        if let (Some(wage), Some(hired)) = (wage, hired_cost)
            && hired < wage
        {
            let mend = "give the full cost of a hired hour";
            row.problem(
                "hired_cost",
                "a hired hour cannot cost less than the wage",
                mend,
            );
        }
        Some(CrewHours {
            crew: crew?.into(),
            span: span?,
            hours_per_week: hours_per_week?,
            wage: wage?,
            hired_hours_per_week: hired_hours_per_week?,
            hired_cost: hired_cost?,
            may_do,
        })
    })
}

/// The part of the year of a crew's row: `Some(None)` means all of it.
fn crew_span(row: &mut Row<'_>) -> Option<Option<YearSpan>> {
    match (row.optional_text("from"), row.optional_text("until")) {
        (None, None) => Some(None),
        (Some(from), Some(until)) => {
            let span = YearSpan::parse(&format!("{from}/{until}"));
            if span.is_none() {
                row.problem(
                    "from",
                    "from and until must be days of the year",
                    "write, as 03-01",
                );
            }
            span.map(Some)
        }
        _ => {
            row.problem(
                "until",
                "from and until go together",
                "fill in both, or neither",
            );
            None
        }
    }
}

/// Reads `lots.csv`.
pub fn lots(bytes: &[u8], known: &Known<'_>) -> Read<Lot> {
    let mut seen = BTreeSet::new();
    read_table("lots.csv", bytes, &LOTS, |row| {
        let lot = row.text("lot");
        let stage = row.choice("stage", StageKind::CHOICES);
        let rootstock = row
            .text("rootstock")
            .and_then(|name| known.rootstock(row, "rootstock", &name));
        let variety = lot_variety(row, stage, known);
        let size = lot_size(row, stage, known);
        let place = lot_place(row, known);
        let growing = row.count("growing");
        let ready = row.count("ready");
        let entered = past_date(row, "entered", known.as_of);
        let budded_on = row.optional_date("budded_on");
        if let (Some(entered), Some(Some(budded))) = (entered, budded_on)
            && stage == Some(StageKind::Budded)
            && entered < budded
        {
            row.problem(
                "budded_on",
                "must not lie after entered",
                "mend one of the two dates",
            );
        }
        let step = lot_step(row, stage, known);
        let lot = lot?;
        only_once(row, "lot", &mut seen, lot.clone());
        Some(Lot {
            lot: lot.into(),
            stage: stage?,
            rootstock: rootstock?,
            variety: variety?,
            size: size?,
            place: place?,
            growing: growing?,
            ready: ready?,
            entered: entered?,
            budded_on: budded_on?,
            step: step?,
            source: row.optional_text("source"),
        })
    })
}

fn lot_variety(
    row: &mut Row<'_>,
    stage: Option<StageKind>,
    known: &Known<'_>,
) -> Option<Option<VarietyName>> {
    let name = row.optional_text("variety");
    match (stage?.has_variety(), name) {
        (true, None) => {
            row.problem(
                "variety",
                "budded and finished lots have a variety",
                "fill it in",
            );
            None
        }
        (false, Some(_)) => {
            let mend = "empty the cell, or mend the stage";
            row.problem(
                "variety",
                "seedlings, liners and missed stocks have no variety",
                mend,
            );
            None
        }
        (true, name) => known.variety(row, name).map(Some),
        (false, None) => Some(None),
    }
}

fn lot_size(
    row: &mut Row<'_>,
    stage: Option<StageKind>,
    known: &Known<'_>,
) -> Option<Option<SizeName>> {
    match (stage? == StageKind::Finished, row.optional_text("size")) {
        (true, None) => {
            row.problem("size", "finished lots have a size", "fill it in");
            None
        }
        (true, Some(name)) => known.size(row, &name).map(Some),
        (false, _) => Some(None),
    }
}

fn lot_place(row: &mut Row<'_>, known: &Known<'_>) -> Option<PlaceName> {
    let place = PlaceName::from(row.text("place")?);
    if known.places.contains_key(&place) {
        return Some(place);
    }
    row.problem(
        "place",
        "nobody knows this place",
        "add it to places.csv, or mend it",
    );
    None
}

/// The step that made the lot: `Some(None)` where the row leaves it to the stage and place.
fn lot_step(
    row: &mut Row<'_>,
    stage: Option<StageKind>,
    known: &Known<'_>,
) -> Option<Option<StepName>> {
    let Some(step) = row.optional_text("step").map(StepName::from) else {
        return Some(None);
    };
    match known.catalogue.routes.makes(&step) {
        None => row.problem(
            "step",
            "no such step or stand",
            "mend it, or empty the cell",
        ),
        Some(made) if Some(made) != stage => {
            let rule = format!("this step makes {} plants", made.word());
            row.problem("step", rule, "mend the step or the stage");
        }
        Some(_) => return Some(Some(step)),
    }
    None
}

fn past_date(row: &mut Row<'_>, column: &str, as_of: Date) -> Option<Date> {
    let date = row.date(column)?;
    if date > as_of {
        let rule = format!("must not lie after the day you look ahead from, {as_of}");
        row.problem(column, rule, "mend the date, or give a later --as-of");
        return None;
    }
    Some(date)
}

/// Reads `orders.csv`.
pub fn orders(bytes: &[u8], known: &Known<'_>) -> Read<OrderLine> {
    let mut seen = BTreeSet::new();
    read_table("orders.csv", bytes, &ORDERS, |row| {
        let order = row.text("order");
        let line = row.text("line");
        let customer = row.text("customer");
        let variety = row
            .text("variety")
            .and_then(|name| known.variety(row, Some(name)));
        let rootstocks = order_rootstocks(row, known);
        let size = row.text("size").and_then(|name| known.size(row, &name));
        let plants = at_least_one(row, "plants");
        let dates = order_dates(row);
        let price = row.text("price").and_then(|_| row.money_or("price", 0));
        let contract = row.truth_or("contract", false);
        let tolerance = row.number_or("tolerance_percent", 0.0, Bounds::new(0.0, 100.0));
        let (order, line) = (order?, line?);
        only_once(row, "line", &mut seen, (order.clone(), line.clone()));
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
        })
    })
}

fn order_rootstocks(row: &mut Row<'_>, known: &Known<'_>) -> Option<Vec<RootstockName>> {
    row.text("rootstocks")?;
    let names = row.list("rootstocks");
    let found: Vec<Option<RootstockName>> = names
        .iter()
        .map(|name| known.rootstock(row, "rootstocks", name))
        .collect();
    found.into_iter().collect()
}

fn order_dates(row: &mut Row<'_>) -> Option<(Date, Date, Date)> {
    let earliest = row.date("earliest");
    let due = row.date("due");
    let latest = row.date("latest");
    let (earliest, due, latest) = (earliest?, due?, latest?);
    if earliest > due {
        row.problem(
            "earliest",
            "must not lie after due",
            "mend one of the two dates",
        );
    }
    if due > latest {
        row.problem(
            "latest",
            "must not lie before due",
            "mend one of the two dates",
        );
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

/// Reads `mother_trees.csv`.
pub fn mother_trees(bytes: &[u8], known: &Known<'_>) -> Read<MotherTree> {
    let mut seen = BTreeSet::new();
    read_table("mother_trees.csv", bytes, &MOTHER_TREES, |row| {
        let mother_tree = row.text("mother_tree");
        let variety = row
            .text("variety")
            .and_then(|name| known.variety(row, Some(name)));
        let buds_per_year = row.count("buds_per_year");
        let cut_seasons = cut_seasons(row);
        let result = row.choice("result", TestResult::CHOICES);
        let tested_on = row.optional_date("tested_on");
        let valid_months = row.count_or("valid_months", 12);
        if matches!(result, Some(TestResult::Clean | TestResult::Found)) && tested_on == Some(None)
        {
            row.problem(
                "tested_on",
                "a result needs the day of its test",
                "fill in the date",
            );
        }
        if valid_months.is_some_and(|months| months > 240) {
            row.problem(
                "valid_months",
                "must be 240 months at the most",
                "check the number",
            );
        }
        let mother_tree = mother_tree?;
        only_once(row, "mother_tree", &mut seen, mother_tree.clone());
        Some(MotherTree {
            mother_tree: mother_tree.into(),
            variety: variety?,
            buds_per_year: buds_per_year?,
            cut_seasons: cut_seasons?,
            tested_on: tested_on?,
            result: result?,
            valid_months: valid_months?,
        })
    })
}

fn cut_seasons(row: &mut Row<'_>) -> Option<Vec<YearSpan>> {
    row.text("cut_seasons")?;
    let spans: Option<Vec<YearSpan>> = row
        .list("cut_seasons")
        .iter()
        .map(|text| YearSpan::parse(text))
        .collect();
    if spans.is_none() {
        let mend = "write, as 03-15/05-15;08-01/09-30";
        row.problem("cut_seasons", "must be spans of days of the year", mend);
    }
    spans
}

/// Reads `seed.csv`.
pub fn seed(bytes: &[u8], known: &Known<'_>) -> Read<SeedBatch> {
    let mut seen = BTreeSet::new();
    read_table("seed.csv", bytes, &SEED, |row| {
        let batch = row.text("batch");
        let rootstock = row
            .text("rootstock")
            .and_then(|name| known.rootstock(row, "rootstock", &name));
        let seeds = row.count("seeds");
        let available = row.date("available");
        let use_by = row.date("use_by");
        if let (Some(available), Some(use_by)) = (available, use_by)
            && use_by < available
        {
            row.problem(
                "use_by",
                "must not lie before available",
                "mend one of the two dates",
            );
        }
        let germination = row.optional_number("germination_percent", Bounds::new(0.0, 100.0));
        let batch = batch?;
        only_once(row, "batch", &mut seen, batch.clone());
        Some(SeedBatch {
            batch,
            rootstock: rootstock?,
            seeds: seeds?,
            available: available?,
            use_by: use_by?,
            germination: germination?.map(|percent| percent / 100.0),
            source: row.optional_text("source"),
        })
    })
}

/// Reads `prices.csv`.
pub fn prices(bytes: &[u8], known: &Known<'_>) -> Read<Price> {
    read_table("prices.csv", bytes, &PRICES, |row| {
        let of = row.choice("of", PriceOf::CHOICES);
        let price = row.number("price", Bounds::new(0.0, 1e9));
        let limit_per_week = if row.cell("limit_per_week").is_some() {
            row.count("limit_per_week").map(Some)
        } else {
            Some(None)
        };
        let item = row.optional_text("item");
        let variety = match row.optional_text("variety") {
            Some(name) => known.variety(row, Some(name)).map(Some),
            None => Some(None),
        };
        let rootstock = match row.optional_text("rootstock") {
            Some(name) => known.rootstock(row, "rootstock", &name).map(Some),
            None => Some(None),
        };
        let size = match row.optional_text("size") {
            Some(name) => known.size(row, &name).map(Some),
            None => Some(None),
        };
        let needed: &[&str] = match of? {
            PriceOf::Tree => &["variety", "size"],
            PriceOf::Seed | PriceOf::Liner => &["rootstock"],
            PriceOf::Bud => &["variety"],
            PriceOf::Material => &["item"],
        };
        for column in needed {
            row.text(column);
        }
        Some(Price {
            of: of?,
            item,
            variety: variety?,
            rootstock: rootstock?,
            size: size?,
            price: price?,
            limit_per_week: limit_per_week?,
        })
    })
}

/// Reads `demand.csv`; a product is written `variety/rootstock/size`.
pub fn demand(bytes: &[u8], known: &Known<'_>) -> Read<Demand> {
    let mut seen = BTreeSet::new();
    read_table("demand.csv", bytes, &DEMAND, |row| {
        let product = demand_product(row, known);
        let week = row.text("week").and_then(|text| {
            let week = parse_week(&text);
            if week.is_none() {
                row.problem(
                    "week",
                    "must be an ISO week",
                    "write year and week, as 2027-W10",
                );
            }
            week
        });
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
        only_once(row, "product", &mut seen, key);
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
        row.problem("product", rule, "write, as valencia/carrizo/4L");
        return None;
    };
    let (variety, rootstock, size) = (
        VarietyName::from(variety),
        RootstockName::from(rootstock),
        SizeName::from(size),
    );
    let catalogue = known.catalogue;
    if catalogue.varieties.contains_key(&variety)
        && catalogue.rootstocks.contains_key(&rootstock)
        && catalogue.knows_size(&size)
    {
        return Some((variety, rootstock, size));
    }
    row.problem(
        "product",
        "nobody knows this product",
        "mend variety, rootstock or size",
    );
    None
}

/// Reads an ISO week written `2027-W10`; its Monday is meant.
pub fn parse_week(text: &str) -> Option<ISOWeekDate> {
    let (year, week) = text.split_once("-W")?;
    if year.len() != 4 || week.len() != 2 {
        return None;
    }
    ISOWeekDate::new(year.parse().ok()?, week.parse().ok()?, Weekday::Monday).ok()
}
