//! The simulator keeps its own promises.

use std::collections::{BTreeMap, HashSet};
use std::sync::OnceLock;

use jiff::civil::Date;
use serde_json::Value;
use testkit::{Day, Expect, FINAL_AFTER_DAYS, Origin, Sent, Settings, Simulator};

/// A small nursery over two years, run to its end.
fn small() -> &'static (Simulator, Vec<Day>) {
    static RUN: OnceLock<(Simulator, Vec<Day>)> = OnceLock::new();
    RUN.get_or_init(|| {
        run(Settings {
            scale: 0.2,
            ..Settings::default()
        })
    })
}

fn run(settings: Settings) -> (Simulator, Vec<Day>) {
    let mut simulator = Simulator::new(settings);
    let days = std::iter::from_fn(|| simulator.next_day()).collect();
    (simulator, days)
}

fn acts(days: &[Day]) -> impl Iterator<Item = (&Day, &Sent)> {
    days.iter()
        .flat_map(|day| day.acts.iter().map(move |sent| (day, sent)))
}

fn text<'a>(act: &'a Value, key: &str) -> &'a str {
    act[key].as_str().unwrap_or("")
}

/// How many of each kind there are.
fn tally(days: &[Day]) -> BTreeMap<&'static str, usize> {
    let mut tally = BTreeMap::new();
    for (day, sent) in acts(days) {
        let late = text(&sent.act, "on") != day.date.to_string();
        let kind = match sent.expect {
            Expect::Same => "repeated",
            Expect::Refused => "refused",
            Expect::Done if text(&sent.act, "act") == "correct" => "corrected",
            Expect::Done if late => "late",
            Expect::Done => "in time",
        };
        *tally.entry(kind).or_default() += 1;
        *tally.entry("all").or_default() += 1;
    }
    tally
}

#[test]
fn the_same_seed_gives_the_same_acts() {
    let settings = Settings {
        days: 200,
        scale: 0.1,
        ..Settings::default()
    };
    let (_, once) = run(settings);
    assert_eq!(once, run(settings).1);
    assert_ne!(
        once,
        run(Settings {
            seed: 2,
            ..settings
        })
        .1
    );
}

#[test]
fn two_years_at_full_scale_are_fifty_thousand_acts() {
    let (simulator, days) = run(Settings::default());
    let tally = tally(&days);
    println!(
        "{tally:?}, {} lots, {} plants, {} shipped",
        simulator.lots(),
        simulator.plants(),
        simulator.shipped().len()
    );
    assert!((45_000..55_000).contains(&tally["all"]), "{tally:?}");
}

#[test]
fn people_record_as_people_do() {
    let (_, days) = small();
    let tally = tally(days);
    for (kind, least) in [
        ("late", 200),
        ("repeated", 200),
        ("corrected", 20),
        ("refused", 100),
    ] {
        assert!(tally[kind] >= least, "{kind}: {tally:?}");
    }
    let kinds: HashSet<_> = acts(days)
        .filter(|(_, sent)| sent.expect == Expect::Done)
        .map(|(_, sent)| text(&sent.act, "act"))
        .collect();
    for act in [
        "set",
        "receive_seed",
        "open_lot",
        "sow",
        "count",
        "rogue",
        "lose",
        "line_out",
        "pot_up",
        "lift",
        "move",
        "buy_in",
        "cut_sticks",
        "store_sticks",
        "discard_sticks",
        "bud",
        "unwrap",
        "force",
        "stake",
        "sucker",
        "head",
        "grade",
        "split",
        "merge",
        "order",
        "change_order",
        "cancel_order",
        "promise",
        "ship",
        "sample",
        "result",
        "hold",
        "release",
        "destroy",
        "hours",
        "note",
        "correct",
    ] {
        assert!(kinds.contains(act), "no {act}");
    }
}

#[test]
fn nothing_comes_later_than_promised() {
    let (_, days) = small();
    for (day, sent) in acts(days) {
        let on: Date = text(&sent.act, "on").parse().unwrap();
        let most = if sent.expect == Expect::Refused {
            1000
        } else {
            FINAL_AFTER_DAYS
        };
        let late = (day.date - on).get_days();
        assert!((0..=most).contains(&late), "{late} days late: {}", sent.act);
    }
}

#[test]
fn ids_are_ulids_and_each_is_used_once() {
    let (_, days) = small();
    let mut sent_before = BTreeMap::new();
    for (_, sent) in acts(days) {
        let id = text(&sent.act, "id");
        assert_eq!(id.len(), 26);
        assert!(id.starts_with(['0', '1', '2', '3', '4', '5', '6', '7']));
        assert!(
            id.bytes()
                .all(|byte| b"0123456789ABCDEFGHJKMNPQRSTVWXYZ".contains(&byte))
        );
        let before = sent_before.insert(id, &sent.act);
        match sent.expect {
            Expect::Done => assert_eq!(before, None),
            Expect::Same => assert_eq!(before, Some(&sent.act)),
            Expect::Refused => {
                if let Some(before) = before {
                    assert_ne!(before, &sent.act);
                    sent_before.insert(id, before);
                }
            }
        }
    }
}

#[test]
fn every_shipped_tree_has_origins_that_its_lot_may_have() {
    let (simulator, _) = small();
    let (mut whole, mut mixed) = (0, 0);
    for tree in simulator.shipped() {
        let origins = simulator.origins(&tree.lot).unwrap();
        assert!(origins.scions.contains(&tree.scion), "{tree:?}");
        assert!(origins.stocks.contains(&tree.stock), "{tree:?}");
        let single = origins.scions.len() == 1 && origins.stocks.len() == 1;
        assert_eq!(single, !tree.mixed);
        assert!(!matches!(tree.scion, Origin::SeedBatch(_)));
        assert!(!matches!(tree.stock, Origin::MotherTree(_)));
        let ours = matches!(tree.scion, Origin::MotherTree(_))
            && matches!(tree.stock, Origin::SeedBatch(_));
        whole += usize::from(ours);
        mixed += usize::from(tree.mixed);
    }
    assert!(
        whole > 500 && mixed > 50,
        "{whole} grown here, {mixed} mixed"
    );
}

#[test]
fn a_recall_names_all_trees_of_the_mother_tree_and_no_lot_without_cause() {
    let (simulator, _) = small();
    let mut named = 0;
    for mother_tree in simulator.mother_trees() {
        let recall = simulator.recall(&mother_tree);
        assert!(recall.standing.is_subset(&recall.lots));
        for tree in simulator.shipped() {
            if tree.scion == Origin::MotherTree(mother_tree.clone()) {
                assert!(recall.lots.contains(&tree.lot));
                assert!(recall.lines.contains(&(tree.order, tree.line)));
                assert!(recall.customers.contains(&tree.customer));
            }
        }
        named += recall.lots.len();
        let never_tested = mother_tree == "M-valencia-4";
        assert_eq!(recall.lots.is_empty(), never_tested, "{mother_tree}");
    }
    assert!(named > 100, "{named}");
}
