//! Entries from the field that are refused: kept, answered the same way again, settled once.

use app::ledger::{NurseryFile, RecordAnswer};
use serde_json::{Value, json};
use tempfile::TempDir;

const AT: &str = "2030-01-01T12:00:00Z";

struct Scene {
    file: NurseryFile,
    folder: TempDir,
}

impl Scene {
    /// A lot of a hundred plants, of which five were lost.
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let file = NurseryFile::create(&folder.path().join("a")).expect("a new file");
        let mut scene = Self { file, folder };
        scene.does(&json!({"id": id(1), "on": "2026-02-01", "by": "Ana", "act": "open_lot", "lot": "L", "stage": "liner",
            "rootstock": "carrizo", "place": "rows", "growing": 100, "ready": 0, "entered": "2026-01-01"}));
        scene.does(&json!({"id": id(2), "on": "2026-03-01", "by": "Ben", "act": "lose", "lot": "L", "plants": 5,
            "reason": "frost"}));
        scene
    }

    fn send(&mut self, act: &Value) -> RecordAnswer {
        let mut answers = Vec::new();
        let sent = self.file.record_lines(&act.to_string(), AT, &mut |answer| {
            answers.push(answer);
            Ok(())
        });
        sent.unwrap_or_else(|error| panic!("{error}"));
        answers.pop().expect("an answer")
    }

    fn does(&mut self, act: &Value) {
        let answer = self.send(act);
        assert_eq!(answer.outcome, "done", "{act}: {answer:?}");
    }

    /// The file as another program finds it.
    fn opened_anew(&self) -> NurseryFile {
        NurseryFile::open(&self.folder.path().join("a")).expect("the file")
    }

    fn entries(&self) -> u64 {
        self.file.books.number
    }
}

fn id(number: u32) -> String {
    format!("01KD{number:022}")
}

/// A count made by somebody who knew of a hundred plants.
fn count() -> Value {
    json!({"id": id(3), "on": "2026-03-02", "by": "Ana", "act": "count", "lot": "L", "plants": 93, "knew": 100,
        "at": "10:42:07"})
}

fn settled(mut act: Value, plants: u32) -> Value {
    let keys = act.as_object_mut().expect("an act");
    keys.remove("knew");
    keys.insert("settled_by".to_owned(), json!("Eva"));
    keys.insert("plants".to_owned(), json!(plants));
    act
}

#[test]
fn a_conflict_waits_and_tells_both_sides_also_after_opening_anew() {
    let mut scene = Scene::new();
    let answer = scene.send(&count());
    assert_eq!((answer.outcome, answer.settled), ("refused", None));
    let entries = scene.entries();
    let again = scene.send(&count());
    assert_eq!(again, answer, "sent again, it is answered as before");
    assert_eq!(scene.entries(), entries, "and nothing is added");
    for file in [&scene.file, &scene.opened_anew()] {
        let waiting = file.to_settle(&file.books).expect("what waits");
        let [it] = waiting.as_slice() else {
            panic!("{waiting:?}")
        };
        assert_eq!((it.knew, it.stands), (Some(100), Some(95)));
        assert_eq!((it.by.as_str(), it.lot.as_deref()), ("Ana", Some("L")));
        assert_eq!(it.at.map(|at| at.to_string()).as_deref(), Some("10:42:07"));
        assert_eq!(it.words, "93 plants counted");
        assert_eq!(it.entry["by"], "Ana");
    }
}

#[test]
fn settled_once_it_is_the_same_for_whoever_sends_it_again() {
    for (plants, how) in [(93, "taken"), (94, "changed")] {
        let mut scene = Scene::new();
        scene.send(&count());
        scene.does(&settled(count(), plants));
        assert!(scene.file.books.to_settle.is_empty());
        let again = scene.send(&count());
        assert_eq!((again.outcome, again.settled), ("same", Some(how)));
        let other = scene.send(&settled(count(), 50));
        assert_eq!(
            (other.outcome, other.settled),
            ("refused", Some("changed")),
            "it is settled already"
        );
        let said = scene.file.said_of(&scene.file.books, &id(3));
        let said = said.expect("the ledger").expect("the act");
        assert_eq!(
            (said.by.as_str(), said.settled_by.as_deref()),
            ("Ana", Some("Eva"))
        );
        assert_eq!(scene.opened_anew().books, scene.file.books);
    }
}

#[test]
fn what_was_left_out_stays_out_when_it_is_sent_again() {
    let mut scene = Scene::new();
    scene.send(&count());
    scene.does(
        &json!({"id": id(4), "on": "2026-03-03", "by": "Eva", "act": "leave_out", "entry": id(3),
        "reason": "Ben had counted them"}),
    );
    assert!(scene.file.books.to_settle.is_empty());
    let entries = scene.entries();
    let again = scene.send(&count());
    assert_eq!(
        (again.outcome, again.settled),
        ("refused", Some("left_out"))
    );
    assert!(
        again
            .why
            .expect("a reason")
            .contains("Ben had counted them")
    );
    assert_eq!(scene.entries(), entries);
    assert_eq!(scene.opened_anew().books, scene.file.books);
}

#[test]
fn what_waits_is_of_whoever_entered_it() {
    let mut scene = Scene::new();
    scene.send(&count());
    let entries = scene.entries();
    let waiting = scene.file.books.to_settle.clone();
    let mut note = json!({"id": id(3), "on": "2026-03-03", "by": "Ben", "act": "note", "about": "L", "text": "hi"});
    assert_eq!(scene.send(&note).outcome, "refused");
    note["about"] = json!("no such lot");
    assert_eq!(scene.send(&note).outcome, "refused");
    let mut signed = note.clone();
    signed["id"] = json!(id(9));
    signed["settled_by"] = json!("Ben");
    signed["no_key"] = json!(1);
    assert_eq!(scene.send(&signed).outcome, "refused");
    assert_eq!(
        (scene.entries(), &scene.file.books.to_settle),
        (entries, &waiting)
    );
}

#[test]
fn an_entry_of_a_day_that_has_not_come_waits_for_its_right_day() {
    let mut scene = Scene::new();
    let mut to_come = count();
    to_come["on"] = json!("2199-01-01");
    to_come["knew"] = json!(95);
    let answer = scene.send(&to_come);
    assert_eq!(answer.outcome, "refused");
    assert!(answer.why.expect("a reason").contains("has not come yet"));
    scene.does(&settled(count(), 93));
    assert!(scene.file.books.to_settle.is_empty());
}

#[test]
fn only_what_waits_is_settled_and_under_the_name_it_was_made_by() {
    let mut scene = Scene::new();
    let entries = scene.entries();
    assert_eq!(scene.send(&settled(count(), 93)).outcome, "refused");
    assert_eq!(
        scene.entries(),
        entries,
        "nothing waits, and nothing is added"
    );
    scene.send(&count());
    let mut by_another = settled(count(), 93);
    by_another["by"] = json!("Ben");
    assert_eq!(scene.send(&by_another).outcome, "refused");
    assert_eq!(scene.entries(), entries + 1);
    // What a rule does not allow waits on, and is decided anew each time somebody tries.
    let mut too_many = settled(count(), 93);
    too_many["ready"] = json!(94);
    for tries in 1..3 {
        assert_eq!(scene.send(&too_many).outcome, "refused");
        assert_eq!(scene.entries(), entries + 1 + tries);
    }
    assert_eq!(scene.file.books.to_settle.len(), 1);
    scene.does(&settled(count(), 93));
}

#[test]
fn a_refusal_from_a_screen_waits_for_nobody() {
    let mut scene = Scene::new();
    let mut act = count();
    act.as_object_mut().expect("an act").remove("at");
    assert_eq!(scene.send(&act).outcome, "refused");
    assert!(scene.file.books.to_settle.is_empty());
}
