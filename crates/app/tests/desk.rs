//! Several readers and writers of one nursery file.

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread;

use app::ledger::NurseryFile;
use app::ledger::desk::{Desk, Memo};
use serde_json::{Value, json};

fn id(number: u32) -> String {
    format!("01JNQ0{number:020}")
}

fn open_lot() -> Value {
    json!({"id": id(0), "on": "2027-03-01", "by": "Ana", "act": "open_lot", "lot": "L", "stage": "liner",
        "rootstock": "carrizo", "place": "row", "growing": 10_000, "ready": 0, "entered": "2026-06-01"})
}

fn lose(number: u32) -> Value {
    json!({"id": id(number), "on": "2027-03-02", "by": "Ana", "act": "lose", "lot": "L", "plants": 1,
        "reason": "other"})
}

fn plants(desk: &Desk) -> u32 {
    let plants = desk.read(|_, sight| {
        let lot = sight.books.lots.values().next().and_then(|it| it.now());
        Ok(lot.map_or(0, |view| view.growing + view.ready))
    });
    plants.expect("the books")
}

const AT: &str = "2027-03-02T12:00:00Z";

#[test]
fn what_another_program_wrote_is_seen_at_the_next_look() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.barkslip");
    let desk = Desk::over(NurseryFile::create(&path).expect("a file"));
    assert_eq!(plants(&desk), 0);
    let mut other = NurseryFile::open(&path).expect("the same file");
    let mut text = open_lot().to_string();
    text.push('\n');
    text.push_str(&lose(1).to_string());
    other
        .record_lines(&text, AT, &mut |answer| {
            assert_eq!(answer.outcome, "done");
            Ok(())
        })
        .expect("two acts");
    assert_eq!(plants(&desk), 9_999);
    assert_eq!(desk.record(&lose(2), AT).expect("an act").outcome, "done");
    assert_eq!(desk.record(&lose(2), AT).expect("an act").outcome, "same");
    assert_eq!(plants(&desk), 9_998);
}

#[test]
fn readers_beside_writers_see_whole_acts_only_and_never_less_than_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.barkslip");
    let desk = Desk::over(NurseryFile::create(&path).expect("a file"));
    desk.record(&open_lot(), AT).expect("a lot");
    let (next, over) = (AtomicU32::new(1), AtomicBool::new(false));
    thread::scope(|scope| {
        let readers: Vec<_> = (0..3)
            .map(|_| {
                scope.spawn(|| {
                    let mut last = 10_000;
                    let mut looks = 0;
                    while !over.load(Ordering::Relaxed) {
                        let now = plants(&desk);
                        assert!(now <= last && now >= 9_700, "{now} after {last}");
                        last = now;
                        looks += 1;
                    }
                    looks
                })
            })
            .collect();
        let writers: Vec<_> = (0..2)
            .map(|_| {
                scope.spawn(|| {
                    for _ in 0..150 {
                        let number = next.fetch_add(1, Ordering::Relaxed);
                        let answer = desk.record(&lose(number), AT).expect("an act");
                        assert_eq!(answer.outcome, "done");
                    }
                })
            })
            .collect();
        for writer in writers {
            writer.join().expect("a writer");
        }
        over.store(true, Ordering::Relaxed);
        for reader in readers {
            assert!(reader.join().expect("a reader") > 0);
        }
    });
    assert_eq!(plants(&desk), 9_700);
    let checked = desk.read(|file, _| file.check(None)).expect("a sound file");
    assert!(checked.balanced && checked.entries == 301);
}

#[test]
fn an_answer_is_kept_until_what_it_rests_on_changes() {
    let memo: Memo<u32, u32> = Memo::default();
    let made = AtomicU32::new(0);
    let get = |basis| {
        let answer = memo.get(basis, || {
            made.fetch_add(1, Ordering::Relaxed);
            Ok(basis * 10)
        });
        *answer.expect("an answer")
    };
    assert_eq!((get(1), get(1), get(2), get(1)), (10, 10, 20, 10));
    assert_eq!(made.load(Ordering::Relaxed), 3);
}
