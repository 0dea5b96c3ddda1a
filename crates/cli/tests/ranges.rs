//! Futures in ranges, through the program: drawn apart and joined, they are the futures of one run.

mod common;

use std::fs;
use std::path::Path;

use common::{barkslip, folder};
use serde_json::Value;
use tempfile::TempDir;

/// A folder with a case of three lots, remedies and perils among them.
fn with_case() -> TempDir {
    let folder = folder();
    let weeks = |value: f64| vec![value; 30];
    let phase = |degree_days: f64, survival: f64| {
        serde_json::json!({"degree_days": degree_days, "within_lot": 0.15, "between_lots": 0.1,
            "survival": survival, "survival_rho": 0.02})
    };
    let case = serde_json::json!({
        "format": 2, "weeks": 30,
        "paths": [{"climates": {"open": weeks(10.0)}}, {"climates": {"open": weeks(8.0)}}],
        "phases": {"liner": phase(40.0, 0.9), "tree": phase(80.0, 0.8)},
        "lots": [{"id": "L-1", "stage": "liner", "immature": 300, "ready": [[0, 50]]},
            {"id": "T-1", "stage": "tree", "immature": 400, "luck": [{"group": "house", "sd": 0.2}],
             "known": {"pace": [0.05, 0.1]}}],
        "operations": [{"operation": "bud", "takes_from": "liner", "moves_to": "tree", "week": 4,
            "late_until": 6, "plants": 320, "crew": "all", "hours_per_plant": 0.05}],
        "orders": [{"id": "A/1", "accepts": ["tree"], "plants": 300, "earliest": 5, "due": 11, "latest": 14},
            {"id": "A/2", "accepts": ["tree"], "plants": 230, "earliest": 14, "due": 16, "latest": 20,
             "minimum_load": 40}],
        "crews": [{"id": "all", "hours_per_week": 10.0}],
        "perils": [{"id": "hail", "stages": ["tree"], "from": 3, "until": 9, "chance": 0.2, "fraction": 0.4}],
    });
    fs::write(folder.path().join("case.json"), case.to_string()).expect("the case");
    folder
}

/// Runs `barkslip case futures` with these words and gives its standard output.
fn futures(folder: &Path, typed: &str) -> String {
    let run = barkslip(folder)
        .args(["case", "futures"])
        .args(typed.split_whitespace())
        .assert()
        .success();
    String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8")
}

fn refused(folder: &Path, typed: &str) -> String {
    let run = barkslip(folder)
        .args(["case", "futures"])
        .args(typed.split_whitespace())
        .assert()
        .code(2);
    String::from_utf8(run.get_output().stderr.clone()).expect("UTF-8")
}

fn file(folder: &Path, name: &str) -> Vec<u8> {
    fs::read(folder.join(name)).expect("the file is written")
}

/// Seven files of ranges, from `a` to `g`, drawn on one to three threads.
fn draw_ranges(folder: &Path) {
    let cuts = [0, 13, 14, 60, 100, 155, 290, 300];
    for (at, name) in ["a", "b", "c", "d", "e", "f", "g"].into_iter().enumerate() {
        let (from, end, threads) = (cuts[at], cuts[at + 1], at % 3 + 1);
        let typed =
            format!("case.json --range {from}..{end} --seed 9 --threads {threads} --out {name}");
        futures(folder, &typed);
    }
}

#[test]
fn threads_and_ranges_give_the_same_numbers_and_bytes() {
    let folder = with_case();
    let folder = folder.path();
    let one = futures(
        folder,
        "case.json --futures 300 --seed 9 --threads 1 --out one --json",
    );
    for threads in [2, 3] {
        let typed =
            format!("case.json --futures 300 --seed 9 --threads {threads} --out other --json");
        assert_eq!(futures(folder, &typed), one);
        assert_eq!(file(folder, "other"), file(folder, "one"));
    }
    draw_ranges(folder);
    for order in ["a b c d e f g", "g e a c f d b"] {
        assert_eq!(
            futures(folder, &format!("--json --out all --merge {order}")),
            one
        );
        assert_eq!(file(folder, "all"), file(folder, "one"), "{order}");
    }
    // What is joined can be joined again, and the case may be named.
    futures(folder, "--out left --merge g b a");
    futures(folder, "--out right --merge d f e c");
    assert_eq!(
        futures(folder, "case.json --json --out all --merge left right"),
        one
    );
    assert_eq!(file(folder, "all"), file(folder, "one"));
    let words = futures(folder, "case.json --futures 300 --seed 9");
    assert_eq!(futures(folder, "--merge one"), words);
}

#[test]
fn gaps_are_told() {
    let folder = with_case();
    let folder = folder.path();
    draw_ranges(folder);
    let words = futures(folder, "--merge f b d");
    let last = "Futures 13 to 13, 60 to 99, 155 to 289 of seed 9: 176 in all. 101 between them are missing.";
    assert_eq!(words.lines().last(), Some(last));
    let answer: Value =
        serde_json::from_str(&futures(folder, "--json --merge f b d")).expect("JSON");
    assert_eq!(
        answer["ranges"],
        serde_json::json!([[13, 14], [60, 100], [155, 290]])
    );
    assert_eq!(
        (&answer["futures"], &answer["seed"]),
        (&176.into(), &9.into())
    );
    let words = futures(folder, "case.json --range 4..9");
    assert_eq!(
        words.lines().last(),
        Some("Futures 4 to 8 of seed 1: 5 in all.")
    );
}

#[test]
fn files_that_do_not_belong_together_are_refused() {
    let folder = with_case();
    let folder = folder.path();
    draw_ranges(folder);
    futures(folder, "case.json --range 14..20 --seed 9 --out again");
    futures(folder, "case.json --range 300..301 --seed 8 --out seed");
    let text = fs::read_to_string(folder.join("case.json")).expect("the case");
    fs::write(folder.join("other.json"), text.replace("230", "231")).expect("another case");
    futures(folder, "other.json --range 300..301 --seed 9 --out case");
    let mut damaged = file(folder, "b");
    let at = damaged.len() / 2;
    damaged[at] ^= 1;
    fs::write(folder.join("damaged"), damaged).expect("a damaged file");
    fs::write(folder.join("short"), &file(folder, "b")[..99]).expect("a short file");
    let cases = [
        ("--merge a b c again", "again: futures 14 to 19 are in both"),
        ("--merge a a", "a: futures 0 to 12 are in both"),
        ("--merge a seed", "seed: it is of seed 8, not 9"),
        ("--merge a case", "case: it is of another case"),
        ("other.json --merge a", "a: it is of another case"),
        ("--merge a damaged", "damaged: the file is damaged"),
        ("--merge short", "short: this is not a file of futures"),
        (
            "--merge case.json",
            "case.json: this is not a file of futures",
        ),
        ("case.json --range 5..5", "must be two whole numbers"),
        ("case.json --range 9..5", "must be two whole numbers"),
        ("case.json --range 0..10000001", "must be two whole numbers"),
        ("case.json --range -1..5", "must be two whole numbers"),
        ("case.json --range 0..5 --futures 5", "--range"),
        ("--merge a --seed 4", "--merge"),
    ];
    for (typed, words) in cases {
        let said = refused(folder, &format!("{typed} --out joined"));
        assert!(said.contains(words), "{typed}: {said}");
        assert!(!folder.join("joined").exists(), "{typed}");
    }
}
