//! Two simulated years of a nursery, plant by plant, against the ledger that was kept by acts alone.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use app::ledger::{Books, NurseryFile};
use jiff::ToSpan;
use jiff::civil::Date;
use nursery::ids::LotName;
use nursery::ledger::lineage::Node;
use nursery::ledger::lot::Origin as From;
use serde_json::json;
use tempfile::TempDir;
use testkit::{Expect, Origin, Settings, Simulator};

/// A nursery file that was kept by the simulator's acts, and the simulator at its end.
fn kept(settings: Settings) -> (TempDir, NurseryFile, Simulator) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut file = NurseryFile::create(&folder.path().join("nursery")).expect("a new file");
    let mut simulator = Simulator::new(settings);
    while let Some(day) = simulator.next_day() {
        let mut lines = String::new();
        for sent in &day.acts {
            writeln!(lines, "{}", sent.act).expect("memory takes it");
        }
        let mut answers = Vec::new();
        file.record_lines(&lines, &format!("{}T12:00:00Z", day.date), &mut |answer| {
            answers.push(answer);
            Ok(())
        })
        .unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(answers.len(), day.acts.len());
        for (sent, answer) in day.acts.iter().zip(answers) {
            let expected = match sent.expect {
                Expect::Done => "done",
                Expect::Same => "same",
                Expect::Refused => "refused",
            };
            assert_eq!(answer.outcome, expected, "{}: {:?}", sent.act, answer.why);
        }
    }
    (folder, file, simulator)
}

fn months_ends(settings: &Settings) -> impl Iterator<Item = Date> + use<> {
    let start = settings.start;
    let end = start.saturating_add(i64::from(settings.days).days());
    let first = start.first_of_month().saturating_add(1.month());
    first
        .series(1.month())
        .map(|it| it.saturating_sub(1.day()))
        .take_while(move |it| *it < end)
}

fn by_lot(file: &NurseryFile, day: Date) -> BTreeMap<String, (&'static str, u64)> {
    let lots = file.books.lots.iter().filter_map(|(name, lot)| {
        let view = lot.on(day)?;
        let plants = u64::from(view.plants());
        (plants > 0).then(|| (name.to_string(), (view.stage.word(), plants)))
    });
    lots.collect()
}

/// Whether a lineage names an origin. What stood when the books were opened, or was bought, has one
/// named source for scion and stock.
fn names(back: &BTreeSet<Node>, origin: &Origin) -> bool {
    match origin {
        Origin::MotherTree(tree) => back.contains(&Node::MotherTree(tree.as_str().into())),
        Origin::SeedBatch(batch) => back.contains(&Node::Batch(batch.clone())),
        Origin::Named(source) => {
            back.contains(&Node::Outside(source.clone()))
                || back.contains(&Node::MotherTree(source.as_str().into()))
        }
    }
}

/// The seed batches of a lot's stocks: back over lots, not over what was budded on them.
fn stocks(books: &Books, lot: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut ahead = vec![LotName::from(lot)];
    while let Some(lot) = ahead.pop() {
        for origin in &books.lots[&lot].from {
            match origin {
                From::Lot(lot) => ahead.push(lot.clone()),
                From::Batch(batch) => {
                    found.insert(batch.clone());
                }
                _ => {}
            }
        }
    }
    found
}

fn assert_agree(settings: Settings) {
    let ends: Vec<Date> = months_ends(&settings).collect();
    let (_folder, file, simulator) = kept(settings);
    assert!(!ends.is_empty());
    for day in ends {
        let truth: BTreeMap<String, (&'static str, u64)> = simulator
            .standing(day)
            .into_iter()
            .map(|(lot, (stage, plants))| (lot, (stage.word(), plants)))
            .collect();
        assert_eq!(by_lot(&file, day), truth, "at the end of {day}");
    }
    let checked = file.check(None).unwrap_or_else(|error| panic!("{error}"));
    assert!(checked.balanced && checked.chain);
    every_tree_is_traced(&file, &simulator);
    every_recall_is_right(&file, &simulator);
}

/// Every shipped tree leads to its mother tree and seed batch, and to no other where lots were not
/// merged.
fn every_tree_is_traced(file: &NurseryFile, simulator: &Simulator) {
    let shipped = simulator.shipped();
    assert!(!shipped.is_empty());
    let mut traces = BTreeMap::new();
    for tree in &shipped {
        let back = traces.entry(tree.lot.clone()).or_insert_with(|| {
            file.books
                .trace(&Node::Lot(tree.lot.as_str().into()), Date::MAX)
                .back
        });
        for origin in [&tree.scion, &tree.stock] {
            assert!(
                names(back, origin),
                "{origin:?} of {tree:?} is not in {back:?}"
            );
        }
        if !tree.mixed && matches!(tree.stock, Origin::SeedBatch(_)) {
            let batches = stocks(&file.books, &tree.lot);
            assert_eq!(batches.len(), 1, "{tree:?}: {batches:?}");
        }
    }
}

/// What came of every mother tree is what the simulator says: lots, order lines, customers.
fn every_recall_is_right(file: &NurseryFile, simulator: &Simulator) {
    let mut seen = 0;
    for tree in simulator.mother_trees() {
        let truth = simulator.recall(&tree);
        let Ok(answer) = file.trace(&file.books, &tree, Date::MAX) else {
            assert!(truth.lots.is_empty(), "{tree}");
            continue;
        };
        let lots: BTreeSet<String> = answer
            .forward
            .iter()
            .filter(|it| it.kind == "lot")
            .map(|it| it.name.clone())
            .collect();
        assert_eq!(lots, truth.lots, "lots of {tree}");
        let lines: BTreeSet<(String, String)> = answer
            .shipments
            .iter()
            .map(|it| (it.order.clone(), it.line.clone()))
            .collect();
        assert_eq!(lines, truth.lines, "lines of {tree}");
        assert_eq!(
            answer.customers.into_iter().collect::<BTreeSet<_>>(),
            truth.customers,
            "customers of {tree}"
        );
        seen += lots.len();
    }
    assert!(seen > 100, "{seen} lots in all recalls");
}

/// A mother tree is found positive in one act: what is held, and who got trees of it, is what the
/// simulator says.
#[test]
fn a_find_holds_what_came_of_a_mother_tree() {
    let (_folder, mut file, simulator) = kept(Settings {
        scale: 0.3,
        ..Settings::default()
    });
    let before: BTreeSet<String> = held_lots(&file);
    let trees = simulator.mother_trees();
    let recalls = trees.iter().map(|tree| (tree, simulator.recall(tree)));
    let (tree, truth) = recalls
        .max_by_key(|(_, it)| it.standing.len())
        .expect("there are trees");
    assert!(!truth.standing.is_empty() && !truth.customers.is_empty());
    let lines = [
        json!({"id": "7ZZZZZZZZZZZZZZZZZZZZZZZZ1", "on": "2029-06-01", "by": "Ana", "act": "sample", "mother_tree": tree,
            "tests": ["viroid"], "sample": "drill"}),
        json!({"id": "7ZZZZZZZZZZZZZZZZZZZZZZZZ2", "on": "2029-06-08", "by": "Ana", "act": "result", "sample": "drill",
            "test": "viroid", "found": true}),
    ];
    for line in lines {
        file.record_lines(&line.to_string(), "2029-06-08T12:00:00Z", &mut |answer| {
            assert_eq!(answer.outcome, "done", "{:?}", answer.why);
            Ok(())
        })
        .unwrap_or_else(|error| panic!("{error}"));
    }
    let held: BTreeSet<String> = held_lots(&file).difference(&before).cloned().collect();
    let expected: BTreeSet<String> = truth.lots.difference(&before).cloned().collect();
    assert_eq!(held, expected);
    let answer = file
        .trace(&file.books, tree, Date::MAX)
        .unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(
        answer.customers.into_iter().collect::<BTreeSet<_>>(),
        truth.customers
    );
    let standing = answer
        .forward
        .iter()
        .filter(|it| it.plants.unwrap_or(0) > 0);
    assert_eq!(
        standing.map(|it| it.name.clone()).collect::<BTreeSet<_>>(),
        truth.standing
    );
}

fn held_lots(file: &NurseryFile) -> BTreeSet<String> {
    let lots = file.books.held(Date::MAX).into_iter();
    lots.filter_map(|node| match node {
        Node::Lot(lot) => Some(lot.to_string()),
        _ => None,
    })
    .collect()
}

#[test]
fn ledger_and_simulator_agree_over_two_years() {
    assert_agree(Settings::default());
}

#[test]
fn ledger_and_simulator_agree_for_other_nurseries() {
    for seed in [2, 3, 4] {
        assert_agree(Settings {
            seed,
            scale: 0.1,
            days: 500,
            ..Settings::default()
        });
    }
}
