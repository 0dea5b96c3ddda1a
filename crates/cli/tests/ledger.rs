//! A nursery file from the first day on: taken in, written to, asked, copied, gone through.

mod common;

use std::fs;
use std::path::Path;

use common::{barkslip, folder};
use jiff::civil::{Date, date};
use nursery::{FileSet, Nursery};
use serde_json::{Value, json};

const AS_OF: Date = date(2027, 3, 1);

/// What a run says on standard output; it must end with a code.
fn said(folder: &Path, typed: &str, code: i32) -> String {
    let run = barkslip(folder).args(typed.split_whitespace()).assert();
    let output = run.code(code).get_output().clone();
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(!words.contains("panicked"), "{typed}: {words}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// What a run that fails says on standard error.
fn refused(folder: &Path, typed: &str, code: i32) -> String {
    let run = barkslip(folder).args(typed.split_whitespace()).assert();
    let output = run.code(code).get_output().clone();
    assert!(output.stdout.is_empty(), "{typed}: {output:?}");
    let words = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(!words.contains("panicked"), "{typed}: {words}");
    words
}

fn answer(folder: &Path, typed: &str) -> Value {
    let text = said(folder, &format!("{typed} --json"), 0);
    serde_json::from_str(&text).expect("JSON on standard output")
}

/// A folder with the small nursery and a nursery file that has taken it in.
fn kept() -> tempfile::TempDir {
    let folder = folder();
    said(folder.path(), "init", 0);
    said(folder.path(), "import my-nursery --as-of 2027-03-01", 0);
    folder
}

fn act_id(number: usize) -> String {
    format!("01JNQ{number:021}")
}

/// An act of a day as one line.
fn act(number: usize, on: &str, keys: &Value) -> String {
    let mut act = json!({"id": act_id(number), "on": on, "by": "anna"});
    let all = act.as_object_mut().expect("an object");
    all.extend(keys.as_object().expect("an object").clone());
    format!("{act}\n")
}

/// Records lines on a day, and gives the answers to them.
fn record(folder: &Path, lines: &str, day: &str) -> Vec<Value> {
    fs::write(folder.join("acts.jsonl"), lines).expect("acts written");
    let text = said(
        folder,
        &format!("record acts.jsonl --as-of {day} --json"),
        0,
    );
    text.lines()
        .map(|line| serde_json::from_str(line).expect("an answer a line"))
        .collect()
}

fn outcomes(answers: &[Value]) -> Vec<&str> {
    let outcomes = answers.iter().map(|it| it["outcome"].as_str());
    outcomes.map(Option::unwrap_or_default).collect()
}

/// The plants that stand in a lot.
fn stands(folder: &Path, lot: &str, options: &str) -> u64 {
    let lots = answer(folder, &format!("standing {options}"));
    let lots = lots.as_array().expect("a list");
    let of_lot = lots.iter().find(|it| it["lot"] == lot);
    of_lot.map_or(0, |it| {
        it["growing"].as_u64().expect("plants") + it["ready"].as_u64().expect("plants")
    })
}

fn sort<T: std::fmt::Debug>(rows: &mut [T]) {
    rows.sort_by_cached_key(|row| format!("{row:?}"));
}

/// A folder's nursery, rows in the order of their names.
fn nursery_of(folder: &Path) -> Nursery {
    let mut set = FileSet::default();
    for file in fs::read_dir(folder).expect("a folder") {
        let path = file.expect("a file").path();
        let name = path.file_name().expect("a name").to_string_lossy();
        if FileSet::REQUIRED
            .iter()
            .chain(FileSet::OPTIONAL)
            .any(|it| *it == name)
        {
            let bytes = fs::read(&path).expect("its bytes");
            set.files.insert(name.into_owned(), bytes);
        }
    }
    let mut nursery = Nursery::from_files(&set, AS_OF).expect("a nursery without problems");
    sort(&mut nursery.places);
    sort(&mut nursery.crews);
    sort(&mut nursery.lots);
    sort(&mut nursery.orders);
    sort(&mut nursery.mother_trees);
    sort(&mut nursery.seed);
    sort(&mut nursery.prices);
    sort(&mut nursery.demand);
    nursery
}

#[test]
fn the_demo_comes_out_as_it_went_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    said(folder.path(), "init", 0);
    let import = |code| {
        let mut run = barkslip(folder.path());
        run.arg("import").arg(&demo);
        let run = run.args(["--as-of", "2027-03-01"]).assert().code(code);
        String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8")
    };
    let words = import(0);
    let from = nursery_of(&demo);
    let (lots, lines) = (from.lots.len(), from.orders.len());
    let taken_in = format!("Took in {lots} lots, {lines} order lines");
    assert!(words.starts_with(&taken_in), "{words}");
    said(folder.path(), "export tables --as-of 2027-03-01", 0);
    let to = nursery_of(&folder.path().join("tables"));
    assert_eq!(from.lots, to.lots);
    assert_eq!(from.orders, to.orders);
    assert_eq!(from, to);
    for file in ["weather.csv", "nursery.toml"] {
        let read = |at: &Path| fs::read(at.join(file)).expect("a file");
        assert_eq!(read(&demo), read(&folder.path().join("tables")), "{file}");
    }
    let head = |folder: &Path| answer(folder, "check")["head"].clone();
    let before = head(folder.path());
    let words = import(0);
    assert!(words.starts_with("Nothing new: all of "), "{words}");
    assert_eq!(before, head(folder.path()), "nothing was written");
}

#[test]
fn only_what_is_new_in_a_folder_is_taken_in() {
    let folder = kept();
    for again in [
        "import my-nursery --as-of 2027-03-01",
        "import my-nursery --as-of 2027-03-02 --by Ben",
    ] {
        assert_eq!(answer(folder.path(), again)["acts"], 0, "{again}");
    }
    assert_eq!(answer(folder.path(), "check")["entries"], 27);
    let part = folder.path().join("part");
    fs::create_dir(&part).expect("a folder");
    let orders = fs::read_to_string(folder.path().join("my-nursery/orders.csv")).expect("orders");
    let line = orders.lines().nth(1).expect("a line");
    let more = line.replace("O-101", "O-900");
    fs::write(part.join("orders.csv"), format!("{orders}{more}\n")).expect("a table");
    fs::copy(
        folder.path().join("my-nursery/weather.csv"),
        part.join("weather.csv"),
    )
    .expect("weather");
    let taken = answer(folder.path(), "import part --as-of 2027-03-02");
    assert_eq!(
        (&taken["acts"], &taken["order_lines"], &taken["weather"]),
        (&json!(1), &json!(1), &json!(true))
    );
    assert_eq!(answer(folder.path(), "check")["entries"], 28);
    let words = refused(folder.path(), "import nowhere", 3);
    assert!(words.contains("there is no such folder"), "{words}");
    let lots = folder.path().join("my-nursery/lots.csv");
    let table = fs::read_to_string(&lots).expect("lots");
    fs::write(&lots, table.replace("seedling", "seedlng")).expect("a slip");
    let words = refused(folder.path(), "import my-nursery --as-of 2027-03-01", 2);
    assert!(
        words.contains("lots.csv, row 2, stage \"seedlng\""),
        "{words}"
    );
}

#[test]
fn acts_are_done_once_and_refusals_say_what_would_work() {
    let folder = kept();
    let at = folder.path();
    let count = act(
        1,
        "2027-03-01",
        &json!({"act": "count", "lot": "F-26-1", "plants": 214}),
    );
    let ship = json!({"act": "ship", "order": "O-101", "line": "1", "lot": "F-26-1", "plants": 60});
    let ship = act(2, "2027-03-01", &ship);
    let much = |plants| {
        let keys = json!({"act": "lose", "lot": "F-26-1", "plants": plants, "reason": "frost"});
        act(3, "2027-03-01", &keys)
    };
    let lines = [count.as_str(), "\n", &ship, "{\"id\": broken\n", &much(900)].concat();
    let first = record(at, &lines, "2027-03-01");
    assert_eq!(outcomes(&first), ["done", "done", "refused", "refused"]);
    let numbers: Vec<_> = first.iter().map(|it| it["line"].clone()).collect();
    assert_eq!(
        numbers,
        [1, 3, 4, 5].map(Value::from),
        "lines as in the file"
    );
    assert!(first[0]["events"].is_array() && first[0].get("why").is_none());
    assert!(first[2]["id"].is_null());
    assert_eq!(
        first[3]["why"],
        "900 plants are more than the 154 that stand in F-26-1"
    );
    assert!(
        first[3]["mend"]
            .as_str()
            .is_some_and(|it| it.contains("at most 154"))
    );
    assert_eq!(stands(at, "F-26-1", "--as-of 2027-03-01"), 154);

    let words = said(at, "record acts.jsonl --as-of 2027-03-01", 0);
    assert!(
        words.contains("Line 4 is refused: the line is no JSON"),
        "{words}"
    );
    assert!(
        words.contains("0 recorded, 2 recorded before, 2 refused."),
        "{words}"
    );

    let mended = ["\u{feff}", count.as_str(), &ship, &much(4)].concat();
    let answers = record(at, &mended, "2027-03-02");
    assert_eq!(outcomes(&answers), ["same", "same", "done"]);
    assert_eq!(answers[0]["events"], first[0]["events"]);
    let answers = record(at, &much(5), "2027-03-02");
    assert_eq!(answers[0]["why"], "another act was done under this id");
    assert_eq!(stands(at, "F-26-1", "--as-of 2027-03-01"), 150);

    fs::write(at.join("acts.jsonl"), "\n\n").expect("no acts");
    let words = said(at, "record acts.jsonl", 0);
    assert!(words.starts_with("There was no act to record"), "{words}");
    let run = barkslip(at)
        .args(["record", "-", "--json"])
        .write_stdin(ship)
        .assert();
    let text = String::from_utf8_lossy(&run.success().get_output().stdout).into_owned();
    assert!(text.contains("\"outcome\":\"same\""), "{text}");
}

#[test]
fn a_held_lot_is_marked_and_not_sent_off() {
    let folder = kept();
    let at = folder.path();
    let keys = json!({"act": "hold", "mother_tree": "M-07", "reason": "a viroid is suspected"});
    let hold = act(1, "2027-03-01", &keys);
    let keys = json!({"act": "ship", "order": "O-101", "line": "1", "lot": "F-26-1", "plants": 60});
    let answers = record(
        at,
        &[hold, act(2, "2027-03-01", &keys)].concat(),
        "2027-03-01",
    );
    assert_eq!(outcomes(&answers), ["done", "refused"]);
    assert!(
        answers[1]["why"]
            .as_str()
            .is_some_and(|it| it.contains("M-07")),
        "{answers:?}"
    );
    let words = said(at, "standing --as-of 2027-03-01", 0);
    assert!(words.contains("\n2 of them are HELD"), "{words}");
    let heads = words
        .lines()
        .find(|it| it.starts_with("lot "))
        .expect("heads");
    let row = words
        .lines()
        .find(|it| it.starts_with("F-26-1 "))
        .expect("its row");
    assert!(row.starts_with("F-26-1  HELD  finished "), "{row}");
    let end = |line: &str, word: &str| line.find(word).map(|at| at + word.len());
    assert_eq!(end(heads, "ready"), end(row, " 220"), "{words}");
    let words = said(at, "trace M-07", 0);
    assert!(
        words.contains("lot F-26-1, 220 plants left, HELD"),
        "{words}"
    );
    let lots = answer(at, "trace M-07");
    assert_eq!(
        (&lots["of"]["held"], &lots["standing"]),
        (&json!(true), &json!(520))
    );
    let words = refused(at, "trace M-99", 3);
    assert!(
        words.contains("there is no lot, mother tree, cut or seed batch M-99"),
        "{words}"
    );
}

#[test]
fn as_of_asks_for_a_day_and_known_at_for_what_was_known() {
    let folder = kept();
    let at = folder.path();
    // Lost on 3 March, written down on 10 March.
    let keys = json!({"act": "lose", "lot": "B-26-2", "plants": 30, "reason": "frost"});
    record(at, &act(1, "2027-03-03", &keys), "2027-03-10");
    let of = |options: &str| stands(at, "B-26-2", options);
    assert_eq!(of("--as-of 2027-03-02"), 200);
    assert_eq!(of("--as-of 2027-03-03"), 170);
    assert_eq!(of("--as-of 2027-03-03 --known-at 2027-03-09"), 200);
    assert_eq!(of("--as-of 2027-03-03 --known-at 2027-03-10"), 170);
    let words = said(at, "standing --as-of 2027-03-03 --known-at 2027-03-09", 0);
    assert!(words.contains("known at the end of 9 Mar 2027"), "{words}");
    let words = said(at, "standing --as-of 2020-01-01", 0);
    assert!(words.contains("name one with `--as-of`"), "{words}");
    let words = refused(at, "plan --as-of 2027-03-01 --known-at 2027-02-28", 2);
    assert!(words.contains("nothing is known of the nursery"), "{words}");
}

#[test]
fn a_plan_is_accepted_and_its_week_has_work() {
    let folder = kept();
    let at = folder.path();
    let words = said(at, "week --as-of 2027-03-29", 0);
    assert!(words.contains("no plan is accepted yet"), "{words}");
    let words = said(at, "week --as-of 2027-08-02", 0);
    assert!(
        words.contains("Test the mother tree: its test lapses on 20 Sep 2027"),
        "{words}"
    );
    refused(at, "plan accept plan-1", 3);
    let words = said(at, "plan --as-of 2027-03-01 --futures 0", 0);
    let run = words
        .split("This is plan ")
        .nth(1)
        .and_then(|it| it.split('.').next());
    let run = run.expect("the run's name");
    let words = said(at, &format!("plan accept {run} --as-of 2027-03-01"), 0);
    assert!(words.contains("`barkslip week`"), "{words}");
    let week = answer(at, "week --as-of 2027-03-29");
    assert_eq!(
        (&week["week"], &week["run"]),
        (&json!("2027-W13"), &json!(run))
    );
    let jobs = week["jobs"].as_array().expect("jobs").len();
    assert!(jobs > 0 && week["jobs"][0]["state"] == "due", "{week}");
    let words = said(at, "week --as-of 2027-03-29", 0);
    assert!(words.starts_with(&format!("{jobs} job")), "{words}");
    let words = said(at, "week --as-of 2027-04-05", 0);
    assert!(
        words.contains("slipped: was due in an earlier week."),
        "{words}"
    );
    let words = said(at, "week --as-of 2027-03-01", 0);
    assert!(words.starts_with("No work is due in 2027-W09"), "{words}");
}

#[test]
fn copies_are_whole_and_a_cut_tail_shows_against_a_kept_head() {
    let folder = kept();
    let at = folder.path();
    said(at, "backup copy.barkslip", 0);
    let words = refused(at, "backup copy.barkslip", 2);
    assert!(words.contains("is there already"), "{words}");
    let words = refused(at, "backup nowhere/copy.barkslip", 3);
    assert!(words.contains("there is no folder nowhere"), "{words}");
    let keys = json!({"act": "lose", "lot": "B-26-2", "plants": 30, "reason": "frost"});
    record(at, &act(1, "2027-03-03", &keys), "2027-03-10");
    let head = answer(at, "check")["head"]
        .as_str()
        .expect("a head")
        .to_owned();
    let words = said(at, "check", 0);
    assert!(words.contains(&format!("Head: {head}")), "{words}");
    said(at, &format!("check --head {head}"), 0);
    refused(at, "check --head 12", 2);

    let words = said(at, "restore copy.barkslip", 0);
    assert!(words.contains("nursery.barkslip.before-restore"), "{words}");
    assert_eq!(stands(at, "B-26-2", "--as-of 2027-03-03"), 200);
    let words = refused(at, &format!("check --head {head}"), 2);
    assert!(words.contains("ledger ends at entry 27"), "{words}");
    said(at, "restore nursery.barkslip.before-restore", 0);
    assert_eq!(stands(at, "B-26-2", "--as-of 2027-03-03"), 170);
    said(at, &format!("check --head {head}"), 0);
    fs::write(at.join("notes.txt"), "call the inspector").expect("a note");
    for typed in [
        "restore notes.txt",
        "check --nursery notes.txt",
        "standing --nursery notes.txt",
    ] {
        let words = refused(at, typed, 2);
        assert!(
            words.contains("notes.txt is not a ledger"),
            "{typed}: {words}"
        );
    }
    said(at, &format!("check --head {head}"), 0);
}

#[test]
fn a_forgotten_name_is_gone_from_answers_and_the_chain_holds() {
    let folder = kept();
    let at = folder.path();
    let keys = json!({"act": "ship", "order": "O-101", "line": "1", "lot": "F-26-1", "plants": 60});
    record(at, &act(1, "2027-03-01", &keys), "2027-03-01");
    let head = answer(at, "check")["head"]
        .as_str()
        .expect("a head")
        .to_owned();
    assert!(said(at, "trace F-26-1", 0).contains("to C-07, order line O-101/1"));
    said(at, "forget anna", 0);
    refused(at, "forget anna", 3);
    refused(at, "forget C-07", 3);
    let words = said(at, "forget C-07 --customer", 0);
    assert!(words.contains("Backups"), "{words}");
    said(at, &format!("check --head {head}"), 0);
    assert_eq!(answer(at, "trace F-26-1")["customers"], json!(["(erased)"]));
    said(at, "export tables --as-of 2027-03-01", 0);
    let orders = fs::read_to_string(at.join("tables/orders.csv")).expect("orders");
    assert!(
        !orders.contains("C-07") && orders.contains("C-11"),
        "{orders}"
    );
    let file = fs::read(at.join("nursery.barkslip")).expect("the nursery file");
    for name in ["anna", "C-07"] {
        let there = file.windows(name.len()).any(|it| it == name.as_bytes());
        assert!(!there, "{name} still stands in the file");
    }
}

#[test]
fn what_is_missing_is_told_plainly() {
    let folder = folder();
    let at = folder.path();
    for typed in [
        "standing",
        "week",
        "check",
        "trace x",
        "export out",
        "import my-nursery",
        "forget anna",
        "backup copy.barkslip",
        "plan accept plan-1",
    ] {
        let words = refused(at, typed, 3);
        assert!(words.contains("`barkslip init`"), "{typed}: {words}");
    }
    assert!(
        !at.join("nursery.barkslip").exists(),
        "asking makes no file"
    );
    refused(at, "restore copy.barkslip", 3);
    let words = refused(at, "record acts.jsonl", 3);
    assert!(words.contains("there is no such file"), "{words}");
    let words = refused(at, "init --nursery nowhere/n.barkslip", 3);
    assert!(words.contains("there is no folder nowhere"), "{words}");
    said(at, "init", 0);
    let words = refused(at, "init", 2);
    assert!(words.contains("is there already"), "{words}");
    let words = said(at, "standing", 0);
    assert!(words.contains("`barkslip import FOLDER`"), "{words}");
    fs::write(at.join("acts.jsonl"), b"\xff\xfe").expect("bytes");
    let words = refused(at, "record acts.jsonl", 2);
    assert!(words.contains("not UTF-8"), "{words}");
}

/// A power cut: what was answered is there, nothing is half there, and the rest can be sent again.
#[cfg(unix)]
#[test]
fn killed_while_recording_nothing_is_half_there() {
    use std::process::{Command, Stdio};
    use std::time::Duration;

    const ACTS: usize = 1_000;
    let folder = kept();
    let at = folder.path();
    let line = |number| {
        let keys = json!({"act": "note", "about": "S-26-1", "text": "wet"});
        act(number, "2027-03-01", &keys)
    };
    let typed = |file: &str| {
        let mut run = Command::new(env!("CARGO_BIN_EXE_barkslip"));
        run.current_dir(at)
            .args(["record", file, "--as-of", "2027-03-01", "--json"]);
        run.stdout(Stdio::piped()).stderr(Stdio::null());
        run
    };
    let all: String = (1..=ACTS).map(line).collect();
    fs::write(at.join("all.jsonl"), &all).expect("acts");
    let mut answered = Vec::new();
    for round in 1..=24_usize {
        // One act of its own, killed after another while each time; then the whole file.
        let file = if round % 3 == 0 {
            "all.jsonl"
        } else {
            "one.jsonl"
        };
        fs::write(at.join("one.jsonl"), line(round)).expect("an act");
        let mut run = typed(file).spawn().expect("a run");
        std::thread::sleep(Duration::from_millis(round as u64 * 3));
        run.kill().expect("kill -9");
        let output = run.wait_with_output().expect("its end");
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        let whole = text
            .lines()
            .filter_map(|it| serde_json::from_str::<Value>(it).ok());
        answered.extend(whole.filter(|it| it["outcome"] != "refused"));
        answer(at, "check");
    }
    let ids: Vec<&str> = answered.iter().filter_map(|it| it["id"].as_str()).collect();
    let answers = record(at, &all, "2027-03-01");
    assert_eq!(answers.len(), ACTS);
    for it in &answers {
        assert_ne!(it["outcome"], "refused", "{it}");
        if it["id"].as_str().is_some_and(|id| ids.contains(&id)) {
            assert_eq!(it["outcome"], "same", "what was answered is there: {it}");
        }
    }
    assert_eq!(answer(at, "check")["entries"], 27 + ACTS);
}
