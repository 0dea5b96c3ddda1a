//! Readers of what work uses up: budwood, seed, and prices of all that is bought or sold.

use intake::{Bounds, Read, Row, read_table};

use super::{Known, MOTHER_TREES, PRICES, SEED, Seen, day, names, not_after, where_given};
use crate::records::{MotherTree, Price, PriceOf, SeedBatch, TestResult};
use crate::season_days::YearSpan;

/// Reads `mother_trees.csv`.
pub fn mother_trees(bytes: &[u8], known: &Known<'_>) -> Read<MotherTree> {
    let mut seen = Seen::new("this mother tree");
    read_table("mother_trees.csv", bytes, &MOTHER_TREES, |row| {
        let mother_tree = row.text("mother_tree");
        let variety = row
            .text("variety")
            .and_then(|name| known.variety(row, &name));
        let buds_per_year = row.count("buds_per_year");
        let cut_seasons = cut_seasons(row);
        let result = row.choice("result", TestResult::CHOICES);
        let tested_on = where_given(row, "tested_on", |row, _| {
            let date = day(row, "tested_on")?;
            not_after(row, "tested_on", date, known.as_of)
        });
        let valid_months = row.count_or("valid_months", 12);
        let planted = where_given(row, "planted", |row, _| {
            let date = day(row, "planted")?;
            not_after(row, "planted", date, known.as_of)
        });
        let vigour = row.number_or("vigour_percent", 100.0, Bounds::new(0.0, 200.0));
        let recovery_weeks =
            where_given(row, "recovery_weeks", |row, _| row.count("recovery_weeks"));
        if recovery_weeks == Some(Some(0)) {
            let rule = "a tree needs some weeks until it can be cut again";
            row.problem(
                "recovery_weeks",
                rule,
                "leave it empty where it is cut once a season",
            );
        }
        if matches!(result, Some(TestResult::Clean | TestResult::Found)) && tested_on == Some(None)
        {
            let rule = "a result needs the day of its test";
            row.problem("tested_on", rule, "fill in the date");
        }
        if valid_months.is_some_and(|months| months > 240) {
            let rule = "must be 240 months at the most";
            row.problem("valid_months", rule, "check the number");
        }
        let mother_tree = mother_tree?;
        seen.only_once(row, "mother_tree", mother_tree.clone());
        Some(MotherTree {
            mother_tree: mother_tree.into(),
            variety: variety?,
            buds_per_year: buds_per_year?,
            cut_seasons: cut_seasons?,
            tested_on: tested_on?,
            result: result?,
            valid_months: valid_months?,
            health_class: row.optional_text("health_class"),
            planted: planted?,
            vigour: vigour? / 100.0,
            recovery_weeks: recovery_weeks?,
        })
    })
}

fn cut_seasons(row: &mut Row<'_>) -> Option<Vec<YearSpan>> {
    let spans: Option<Vec<YearSpan>> = names(row, "cut_seasons")?
        .iter()
        .map(|text| YearSpan::parse(text))
        .collect();
    if spans.is_none() {
        let mend = "write first and last day, as 03-15/05-15;08-01/09-30";
        row.problem("cut_seasons", "must be spans of days of the year", mend);
    }
    spans
}

/// Reads `seed.csv`.
pub fn seed(bytes: &[u8], known: &Known<'_>) -> Read<SeedBatch> {
    let mut seen = Seen::new("this batch");
    read_table("seed.csv", bytes, &SEED, |row| {
        let batch = row.text("batch");
        let rootstock = row
            .text("rootstock")
            .and_then(|name| known.rootstock(row, "rootstock", &name));
        let seeds = row.count("seeds");
        let available = day(row, "available");
        let use_by = day(row, "use_by");
        if let (Some(available), Some(use_by)) = (available, use_by)
            && use_by < available
        {
            let rule = format!("must not lie before available, {available}");
            row.problem("use_by", rule, "mend one of the two dates");
        }
        let percent = Bounds::new(0.0, 100.0);
        let germination = row.optional_number("germination_percent", percent);
        let decline = row.optional_number("decline_percent_a_month", Bounds::new(0.0, 50.0));
        let batch = batch?;
        seen.only_once(row, "batch", batch.clone());
        Some(SeedBatch {
            batch,
            rootstock: rootstock?,
            seeds: seeds?,
            available: available?,
            use_by: use_by?,
            germination: germination?.map(|percent| percent / 100.0),
            source: row.optional_text("source"),
            decline_a_month: decline?.map(|percent| percent / 100.0),
        })
    })
}

/// Reads `prices.csv`.
pub fn prices(bytes: &[u8], known: &Known<'_>) -> Read<Price> {
    let mut seen = Seen::new("this price");
    read_table("prices.csv", bytes, &PRICES, |row| {
        let of = row.choice("of", PriceOf::CHOICES);
        let price = row.number("price", Bounds::new(0.0, 1e9));
        let limit_per_week =
            where_given(row, "limit_per_week", |row, _| row.count("limit_per_week"));
        let item = row.optional_text("item");
        let variety = where_given(row, "variety", |row, name| known.variety(row, name));
        let rootstock = where_given(row, "rootstock", |row, name| {
            known.rootstock(row, "rootstock", name)
        });
        let size = where_given(row, "size", |row, name| known.size(row, name));
        let lead_weeks = row.count_or("lead_weeks", 0);
        let delivered = where_given(row, "delivered", |row, text| {
            let span = YearSpan::parse(text);
            if span.is_none() {
                let mend = "write first and last day, as 10-15/02-28";
                row.problem("delivered", "must be a span of days of the year", mend);
            }
            span
        });
        let limit_per_year =
            where_given(row, "limit_per_year", |row, _| row.count("limit_per_year"));
        let until = where_given(row, "until", |row, _| day(row, "until"));
        let of = of?;
        only_for(row, of, &[PriceOf::Royalty], &["limit_per_year", "until"]);
        only_for(
            row,
            of,
            LIMITED,
            &["limit_per_week", "lead_weeks", "delivered"],
        );
        for column in named_by(of) {
            row.text(column);
        }
        let (variety, rootstock, size) = (variety?, rootstock?, size?);
        let key = (
            of,
            item.clone(),
            variety.clone(),
            rootstock.clone(),
            size.clone(),
        );
        seen.only_once(row, "of", key);
        Some(Price {
            of,
            item,
            variety,
            rootstock,
            size,
            price: price?,
            limit_per_week: limit_per_week?,
            lead_weeks: lead_weeks?,
            delivered: delivered?,
            limit_per_year: limit_per_year?,
            until: until?,
        })
    })
}

/// What is bought as it is needed, and only where somebody sells it.
const LIMITED: &[PriceOf] = &[PriceOf::Seed, PriceOf::Bud, PriceOf::Liner];

/// Notes cells that mean nothing in a row of another kind.
fn only_for(row: &mut Row<'_>, of: PriceOf, kinds: &[PriceOf], columns: &[&str]) {
    if kinds.contains(&of) {
        return;
    }
    let word = |kind: &PriceOf| {
        PriceOf::CHOICES
            .iter()
            .find(|it| it.1 == *kind)
            .map_or("", |it| it.0)
    };
    let kinds: Vec<&str> = kinds.iter().map(word).collect();
    for column in columns {
        if row.optional_text(column).is_some() {
            let rule = format!("holds for {} only", kinds.join(", "));
            row.problem(column, rule, "leave it empty");
        }
    }
}

/// Columns without which nobody knows what a price is for.
fn named_by(of: PriceOf) -> &'static [&'static str] {
    match of {
        PriceOf::Tree => &["variety", "size"],
        PriceOf::Seed | PriceOf::Liner => &["rootstock"],
        PriceOf::Bud | PriceOf::Royalty => &["variety"],
        PriceOf::Material => &["item"],
    }
}
