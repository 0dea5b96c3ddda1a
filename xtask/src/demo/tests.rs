use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::LazyLock;

use jiff::civil::Date;
use models::{Climate, DegreeDayRule, observed_degree_days};
use nursery::catalogue::Verdict;
use nursery::records::{OrderLine, TestResult};
use nursery::{FileSet, Nursery};
use serde_json::Value;

use super::draw::{monday, plus_days};
use super::{AS_OF, OPENED, date, files, filled};

static FILES: LazyLock<BTreeMap<String, String>> =
    LazyLock::new(|| files().expect("the demo can be made"));

fn nursery() -> Nursery {
    let mut set = FileSet::default();
    for (name, text) in FILES.iter().filter(|(name, _)| *name != "acts.jsonl") {
        set.files.insert(name.clone(), text.clone().into_bytes());
    }
    Nursery::from_files(&set, AS_OF).unwrap_or_else(|problems| panic!("{problems}"))
}

/// The acts, or those of a kind.
fn acts(kind: Option<&str>) -> Vec<Value> {
    let acts = FILES["acts.jsonl"].lines().map(|line| {
        let act: Value = serde_json::from_str(line).expect("a line of JSON");
        act
    });
    acts.filter(|act| kind.is_none_or(|kind| act["act"] == kind))
        .collect()
}

fn day(act: &Value) -> Date {
    text(act, "on").parse().expect("a day")
}

fn text<'a>(act: &'a Value, key: &str) -> &'a str {
    act[key].as_str().unwrap_or_default()
}

fn number(act: &Value, key: &str) -> u64 {
    act[key].as_u64().unwrap_or_default()
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
    for (name, text) in FILES.iter() {
        let committed = std::fs::read_to_string(folder.join(name)).unwrap_or_default();
        assert!(
            committed == *text,
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
    assert_eq!(of(|line| line.variety.to_string()).len(), 40);
    assert_eq!(of(|line| line.size.to_string()).len(), 3);
    assert_eq!(nursery.orders.len(), 250);
    assert_eq!(of(|line| line.order.clone()).len(), 90);
    let pairs = combinations(&nursery);
    let rootstocks: BTreeSet<&String> = pairs.iter().map(|(_, rootstock)| rootstock).collect();
    assert_eq!(rootstocks.len(), 4);
    assert_eq!(pairs.len(), 47);
    let standing = nursery.lots.iter().filter_map(|lot| lot.variety.as_ref());
    assert_eq!(standing.collect::<BTreeSet<_>>().len(), 40);
    let standing: u32 = nursery.lots.iter().map(|lot| lot.growing + lot.ready).sum();
    assert!((58_000..=62_000).contains(&standing), "{standing} plants");
    assert!(
        (380..=420).contains(&nursery.lots.len()),
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
fn two_years_are_told_with_all_that_happens_in_a_nursery() {
    let all = acts(None);
    assert!((3000..=5000).contains(&all.len()), "{} acts", all.len());
    assert!(FILES["acts.jsonl"].len() <= 1_200_000);
    let kinds: BTreeSet<&str> = all.iter().map(|act| text(act, "act")).collect();
    let told = "open_lot receive_seed sow count rogue lose line_out pot_up lift buy_in cut_sticks bud \
                unwrap force stake grade merge order ship sample result hold release hours note \
                correct set tag measure";
    for kind in told.split_whitespace() {
        assert!(kinds.contains(kind), "nothing is told of {kind}");
    }
    assert_eq!(acts(Some("correct")).len(), 3);
    assert!(all.iter().all(|act| (OPENED..AS_OF).contains(&day(act))));
    let ids: Vec<&str> = all.iter().map(|act| text(act, "id")).collect();
    assert!(ids.is_sorted(), "names tell the order of recording");
    let late = all.windows(2).filter(|pair| day(&pair[1]) < day(&pair[0]));
    assert!(late.count() > 10, "a few acts are recorded some days late");
}

#[test]
fn take_is_what_a_grower_would_believe() {
    let (mut taken, mut all) = (0, 0);
    for act in acts(Some("unwrap")) {
        let of = |key| number(&act, key);
        taken += of("taken");
        all += of("taken") + of("missed") + of("dead");
    }
    let take = taken as f64 / all as f64;
    assert!((0.82..0.93).contains(&take), "{take}");
}

#[test]
fn shields_are_set_in_the_rows_while_bark_slips() {
    let record = filled(&FILES["weather.csv"]).expect("the weather can be filled");
    let mut rows = 0;
    for act in acts(Some("bud")) {
        if !text(&act, "lot").starts_with("L-") || text(&act, "method") == "chip" {
            continue;
        }
        rows += 1;
        let first = monday(day(&act));
        let days = (-7..7).filter_map(|at| record.on(plus_days(first, at)));
        let mean = days.map(models::Extremes::mean).sum::<f64>() / 14.0;
        assert!(mean >= 15.0, "{mean} °C about {}", day(&act));
    }
    assert!(rows > 150, "{rows} buddings in the rows");
}

#[test]
fn buds_come_from_clean_trees_of_their_variety() {
    let nursery = nursery();
    let variety_of: BTreeMap<&str, &str> = nursery
        .mother_trees
        .iter()
        .map(|tree| (tree.mother_tree.as_str(), tree.variety.as_str()))
        .collect();
    let cuts = acts(Some("cut_sticks"));
    let cut: BTreeMap<&str, &Value> = cuts.iter().map(|cut| (text(cut, "cut"), cut)).collect();
    for bud in acts(Some("bud")) {
        let tree = text(cut[text(&bud, "source")], "mother_tree");
        assert_eq!(variety_of[tree], text(&bud, "variety"), "{bud}");
    }
    let odd = |result| {
        let of = nursery.mother_trees.iter();
        of.filter(|tree| tree.result == result).count()
    };
    assert_eq!((odd(TestResult::Untested), odd(TestResult::Found)), (1, 1));
    let in_use = nursery.mother_trees.iter().filter(|tree| {
        let used = cuts
            .iter()
            .any(|cut| text(cut, "mother_tree") == tree.mother_tree.as_str());
        used && tree.usable_until().is_some_and(|last| last > AS_OF)
    });
    assert!(in_use.count() >= 40, "every variety has a tree to cut from");
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
        let prices = match line.size.as_str() {
            "2L" => 700..=1100,
            "4L" => 1000..=1600,
            _ => 1900..=2800,
        };
        assert!(prices.contains(&line.price), "{}", line.name());
    }
}

#[test]
fn the_weather_is_mild_with_frost_in_some_winters() {
    let record = filled(&FILES["weather.csv"]).expect("the weather can be filled");
    let mut with_frost = 0;
    for year in 2007..2027 {
        let (from, until) = (date(year, 1, 1), date(year + 1, 1, 1));
        let rule = DegreeDayRule::default();
        let heat = observed_degree_days(&record, &Climate::OPEN_GROUND, &rule, from, until);
        assert!(
            (2250.0..2950.0).contains(&heat),
            "{year}: {heat} degree-days"
        );
        let nights = FILES["weather.csv"]
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
