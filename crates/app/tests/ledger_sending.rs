//! How acts arrive: in batches of any size, again, from two sides at once, late.

use std::fmt::Write as _;
use std::path::Path;

use app::ledger::{Books, NurseryFile, RecordAnswer};
use jiff::civil::{Date, date};
use nursery::ids::LotName;
use serde_json::{Value, json};
use testkit::{Expect, Settings, Simulator};

const AT: &str = "2030-01-01T12:00:00Z";

fn record(file: &mut NurseryFile, lines: &str, at: &str) -> Vec<RecordAnswer> {
    let mut answers = Vec::new();
    file.record_lines(lines, at, &mut |answer| {
        answers.push(answer);
        Ok(())
    })
    .unwrap_or_else(|error| panic!("{error}"));
    answers
}

fn act(number: u32, on: &str, deed: &Value) -> String {
    let mut keys = json!({"id": format!("01KC{number:022}"), "on": on, "by": "Ana"});
    if let (Value::Object(keys), Value::Object(deed)) = (&mut keys, deed) {
        keys.extend(deed.clone());
    }
    format!("{keys}\n")
}

fn open_lot(number: u32, lot: &str) -> String {
    let deed = json!({"act": "open_lot", "lot": lot, "stage": "liner", "rootstock": "carrizo", "place": "rows",
        "growing": 5000, "ready": 0, "entered": "2026-01-01"});
    act(number, "2026-02-01", &deed)
}

fn lose(number: u32, on: &str, plants: u32) -> String {
    act(
        number,
        on,
        &json!({"act": "lose", "lot": "L", "plants": plants, "reason": "frost"}),
    )
}

fn plants(books: &Books, lot: &str, day: Date) -> Option<u32> {
    Some(books.lots.get(&LotName::from(lot))?.on(day)?.plants())
}

/// The same acts day by day, and in other batches with many of them sent again, leave the same
/// lots and accounts.
#[test]
fn batches_and_repeats_do_not_matter() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut simulator = Simulator::new(Settings {
        days: 300,
        scale: 0.1,
        ..Settings::default()
    });
    let mut days = NurseryFile::create(&folder.path().join("days")).expect("a new file");
    let mut batches = NurseryFile::create(&folder.path().join("batches")).expect("a new file");
    let mut all = Vec::new();
    while let Some(day) = simulator.next_day() {
        let mut lines = String::new();
        for sent in &day.acts {
            writeln!(lines, "{}", sent.act).expect("memory takes it");
            all.push((sent.act.to_string(), sent.expect == Expect::Refused));
        }
        record(&mut days, &lines, AT);
    }
    let (mut at, mut size) = (0, 1);
    while at < all.len() {
        let end = (at + size).min(all.len());
        let again = at.saturating_sub(size / 2);
        // A refused act that comes again is decided anew, and may be done then.
        let repeated = all[again..at].iter().filter(|(_, is_refused)| !is_refused);
        let lines: Vec<&str> = repeated
            .chain(&all[at..end])
            .map(|(line, _)| line.as_str())
            .collect();
        record(&mut batches, &lines.join("\n"), AT);
        (at, size) = (end, size % 97 + 7);
    }
    let last = date(2199, 12, 31);
    assert!(days.books.lots.len() > 100);
    for name in days.books.lots.keys().chain(batches.books.lots.keys()) {
        let on = |books: &Books| books.lots.get(name).and_then(|it| it.on(last));
        assert_eq!(on(&days.books), on(&batches.books), "{name}");
    }
    assert!(days.books.accounts == batches.books.accounts);
    assert!(batches.check(None).is_ok());
}

#[test]
fn the_same_act_is_the_same_success_and_another_one_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut file = NurseryFile::create(&folder.path().join("nursery")).expect("a new file");
    let outcome = |file: &mut NurseryFile, line: &str| record(file, line, AT)[0].outcome;
    assert_eq!(
        outcome(&mut file, &lose(2, "2026-03-01", 5)),
        "refused",
        "there is no lot yet"
    );
    assert_eq!(outcome(&mut file, &open_lot(1, "L")), "done");
    assert_eq!(
        outcome(&mut file, &lose(2, "2026-03-01", 5)),
        "done",
        "now there is"
    );
    assert_eq!(outcome(&mut file, &lose(2, "2026-03-01", 5)), "same");
    let other = &record(&mut file, &lose(2, "2026-03-01", 6), AT)[0];
    assert_eq!(other.outcome, "refused");
    assert!(
        other
            .why
            .as_deref()
            .is_some_and(|it| it.contains("another act"))
    );
    assert_eq!(plants(&file.books, "L", date(2026, 3, 1)), Some(4995));
}

#[test]
fn two_sides_write_at_once_and_nothing_is_lost() {
    const ACTS: u32 = 300;
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("nursery");
    let mut file = NurseryFile::create(&path).expect("a new file");
    record(&mut file, &open_lot(1, "L"), AT);
    let side = |path: &Path, first: u32| {
        let mut file = NurseryFile::open(path).expect("it is there");
        for number in first..first + ACTS {
            let answers = record(&mut file, &lose(number, "2026-03-01", 1), AT);
            assert_eq!(answers[0].outcome, "done", "{:?}", answers[0].why);
        }
    };
    std::thread::scope(|scope| {
        scope.spawn(|| side(&path, 1_000));
        scope.spawn(|| side(&path, 2_000));
    });
    let file = NurseryFile::open(&path).expect("it is there");
    assert_eq!(
        plants(&file.books, "L", date(2026, 3, 1)),
        Some(5000 - 2 * ACTS)
    );
    let checked = file.check(None).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(checked.entries, u64::from(1 + 2 * ACTS));
}

#[test]
fn a_day_is_seen_as_it_was_known_then() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut file = NurseryFile::create(&folder.path().join("nursery")).expect("a new file");
    record(&mut file, &open_lot(1, "L"), "2026-02-01T12:00:00Z");
    record(
        &mut file,
        &lose(2, "2026-03-10", 10),
        "2026-03-10T12:00:00Z",
    );
    record(&mut file, &lose(3, "2026-03-05", 7), "2026-03-20T12:00:00Z");
    let known = |moment: &str| {
        file.books_known_at(moment)
            .unwrap_or_else(|error| panic!("{error}"))
    };
    let day = date(2026, 3, 12);
    assert_eq!(plants(&file.books, "L", day), Some(4983));
    assert_eq!(plants(&known("2026-03-15T00:00:00Z"), "L", day), Some(4990));
    assert_eq!(plants(&known("2026-03-25T00:00:00Z"), "L", day), Some(4983));
    assert_eq!(plants(&file.books, "L", date(2026, 3, 6)), Some(4993));
    assert_eq!(plants(&known("2026-01-01T00:00:00Z"), "L", day), None);
}

#[test]
fn a_snapshot_gives_the_books_that_the_ledger_gives() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("nursery");
    let mut file = NurseryFile::create(&path).expect("a new file");
    let mut lines = open_lot(1, "L");
    for number in 2..6_000 {
        lines.push_str(&lose(number, "2026-03-01", 1));
    }
    record(&mut file, &lines, AT);
    record(
        &mut file,
        &act(
            9_000,
            "2026-03-02",
            &json!({"act": "count", "lot": "L", "plants": 3}),
        ),
        AT,
    );
    drop(file);
    let file = NurseryFile::open(&path).expect("it is there");
    assert_eq!(plants(&file.books, "L", date(2026, 3, 2)), Some(3));
    assert!(
        *file.books
            == file
                .books_known_at("9999")
                .unwrap_or_else(|error| panic!("{error}"))
    );
}
