use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use models::{Climate, DegreeDayRule, observed_degree_days};
use nursery::catalogue::Verdict;
use nursery::records::{OrderLine, TestResult};
use nursery::{FileSet, Nursery};

use super::{AS_OF, date, files, filled};

fn nursery() -> Nursery {
    let files = files().expect("the demo can be made");
    let set = FileSet {
        files: files
            .into_iter()
            .map(|(name, text)| (name.to_owned(), text.into_bytes()))
            .collect(),
    };
    Nursery::from_files(&set, AS_OF).unwrap_or_else(|problems| panic!("{problems}"))
}

fn combinations(nursery: &Nursery) -> BTreeSet<(String, String)> {
    let ordered = nursery.orders.iter().flat_map(|line| {
        line.rootstocks
            .iter()
            .map(|rootstock| (line.variety.to_string(), rootstock.to_string()))
    });
    let standing = nursery.lots.iter().filter_map(|lot| {
        let variety = lot.variety.as_ref()?;
        Some((variety.to_string(), lot.rootstock.to_string()))
    });
    ordered.chain(standing).collect()
}

#[test]
fn the_committed_files_are_what_the_seed_gives() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo");
    for (name, text) in files().expect("the demo can be made") {
        let committed = std::fs::read_to_string(folder.join(name)).unwrap_or_default();
        assert!(
            committed == text,
            "demo/{name} differs: run `cargo xtask demo`"
        );
    }
}

#[test]
fn the_demo_is_as_large_as_promised() {
    let nursery = nursery();
    let of = |pick: fn(&OrderLine) -> String| -> BTreeSet<String> {
        nursery.orders.iter().map(pick).collect()
    };
    assert_eq!(of(|line| line.variety.to_string()).len(), 16);
    assert_eq!(of(|line| line.size.to_string()).len(), 2);
    assert_eq!(nursery.orders.len(), 120);
    assert_eq!(of(|line| line.order.clone()).len(), 45);
    let pairs = combinations(&nursery);
    let rootstocks: BTreeSet<&String> = pairs.iter().map(|(_, rootstock)| rootstock).collect();
    assert_eq!(rootstocks.len(), 3);
    assert_eq!(pairs.len(), 23);
    let standing = nursery.lots.iter().filter_map(|lot| lot.variety.as_ref());
    assert_eq!(standing.collect::<BTreeSet<_>>().len(), 16);
    let standing: u32 = nursery.lots.iter().map(|lot| lot.growing + lot.ready).sum();
    assert!((24_000..=26_000).contains(&standing), "{standing} plants");
    assert!(
        (60..=90).contains(&nursery.lots.len()),
        "{} lots",
        nursery.lots.len()
    );
}

#[test]
fn nothing_is_ordered_or_standing_on_a_stock_that_rejects_it() {
    let nursery = nursery();
    for (variety, rootstock) in combinations(&nursery) {
        let known = nursery
            .catalogue
            .combination(&variety.clone().into(), &rootstock.clone().into())
            .unwrap_or_else(|| panic!("nothing is known of {variety} on {rootstock}"));
        let fits = matches!(known.verdict, Verdict::Compatible | Verdict::Doubtful);
        assert!(fits, "{variety} on {rootstock}: {}", known.verdict.words());
    }
}

#[test]
fn what_stands_comes_from_a_clean_mother_tree_of_its_variety() {
    let nursery = nursery();
    let trees: BTreeMap<&str, _> = nursery
        .mother_trees
        .iter()
        .map(|tree| (tree.mother_tree.as_str(), tree))
        .collect();
    for lot in nursery.lots.iter().filter(|lot| lot.variety.is_some()) {
        let tree = trees[lot.source.as_deref().unwrap_or_default()];
        assert_eq!(Some(&tree.variety), lot.variety.as_ref(), "{}", lot.lot);
        assert!(
            tree.usable_until().is_some_and(|last| last > AS_OF),
            "{}",
            lot.lot
        );
    }
    let odd = |result| {
        nursery
            .mother_trees
            .iter()
            .filter(|tree| tree.result == result)
            .count()
    };
    assert_eq!((odd(TestResult::Untested), odd(TestResult::Found)), (1, 1));
}

#[test]
fn orders_fall_due_over_three_years_at_their_prices() {
    for line in &nursery().orders {
        assert!(
            line.due >= date(2027, 3, 1) && line.due <= date(2029, 12, 31),
            "{}",
            line.name()
        );
        assert!((20..=500).contains(&line.plants), "{}", line.name());
        let prices = if line.size.as_str() == "4L" {
            1000..=1600
        } else {
            1900..=2800
        };
        assert!(prices.contains(&line.price), "{}", line.name());
    }
}

#[test]
fn the_weather_is_mild_with_frost_in_some_winters() {
    let files = files().expect("the demo can be made");
    let record = filled(&files["weather.csv"]).expect("the weather can be filled");
    let mut with_frost = 0;
    for year in 2007..2027 {
        let (from, until) = (date(year, 1, 1), date(year + 1, 1, 1));
        let rule = DegreeDayRule::default();
        let heat = observed_degree_days(&record, &Climate::OPEN_GROUND, &rule, from, until);
        assert!(
            (2250.0..2950.0).contains(&heat),
            "{year}: {heat} degree-days"
        );
        let nights = files["weather.csv"]
            .lines()
            .filter(|line| line.starts_with(&year.to_string()))
            .filter(|line| {
                line.split(',')
                    .nth(1)
                    .is_some_and(|tmin| tmin.starts_with('-'))
            })
            .count();
        assert!(nights <= 12, "{year}: {nights} nights of frost");
        with_frost += usize::from(nights > 0);
    }
    assert!(
        (8..20).contains(&with_frost),
        "frost in {with_frost} of 20 years"
    );
}
