//! The pages of what stands and what is to be done, over the demo nursery.

use app::ledger::{NurseryFile, State};
use serde_json::json;

use super::reply::{self, Reply};
use super::test_office::{DAY, Scene, ask, scene};
use super::{book, lineage, lot, record, standing, table, week};

/// Most bytes of a page.
const MOST_BYTES: usize = 150_000;

fn demo() -> Scene {
    scene(app::demo::make)
}

/// A lot of a stage with many plants.
fn lot_of(scene: &Scene, stage: &str) -> app::ledger::LotAnswer {
    let lots = scene.office.desk.standing(DAY).expect("what stands");
    let of_stage = lots.iter().filter(|it| it.stage == stage && !it.held);
    let most = of_stage.max_by_key(|it| it.growing + it.ready);
    most.expect("a lot of the stage").clone()
}

fn plants(scene: &Scene, lot: &str) -> u32 {
    let lots = scene.office.desk.standing(DAY).expect("what stands");
    lots.iter()
        .find(|it| it.lot == lot)
        .map_or(0, |it| it.growing + it.ready)
}

fn entries(scene: &Scene) -> u64 {
    let number = scene.office.desk.read(|_, sight| Ok(sight.books.number));
    number.expect("the books")
}

#[test]
fn pages_of_the_demo_are_small_and_told_in_words() {
    let scene = demo();
    let nothing = ask(("", ""), &[], &[]);
    let liner = lot_of(&scene, "liner");
    let one = ask(("lot", &liner.lot), &[], &[]);
    let traced = ask(("", ""), &[("of", &liner.lot)], &[]);
    for (name, page) in [
        ("week", scene.page(week::page, &nothing)),
        ("standing", scene.page(standing::page, &nothing)),
        ("book", scene.page(book::page, &nothing)),
        ("lot", scene.page(lot::page, &one)),
        ("lineage", scene.page(lineage::page, &traced)),
    ] {
        assert!(page.len() <= MOST_BYTES, "{name}: {} bytes", page.len());
        assert!(page.contains("<h1>"), "{name}");
        assert!(!page.contains("style="), "{name} has style of its own");
        assert!(!page.contains("NaN"), "{name}");
    }
    let standing = scene.page(standing::page, &nothing);
    assert!(
        standing.contains("60\u{202f}137 plants stand in 389 lots"),
        "{standing}"
    );
}

#[test]
fn an_entry_sent_twice_is_one_act_and_can_be_undone() {
    let scene = demo();
    let liner = lot_of(&scene, "liner");
    let stood = plants(&scene, &liner.lot);
    let id = scene.office.ulid().expect("an id");
    let count = (stood - 3).to_string();
    let sent = ask(
        ("act", "count"),
        &[],
        &[
            ("id", &id),
            ("lot", &liner.lot),
            ("plants", &count),
            ("back", "/standing"),
        ],
    );
    let before = entries(&scene);
    let to = scene.sent(record::enter, &sent);
    assert_eq!(to, format!("/standing?done={id}"));
    assert_eq!(scene.sent(record::enter, &sent), to, "a second tap");
    assert_eq!(entries(&scene), before + 1);
    assert_eq!(plants(&scene, &liner.lot), stood - 3);
    let life = scene.page(lot::page, &ask(("lot", &liner.lot), &[("done", &id)], &[]));
    assert!(life.contains("Recorded.") && life.contains("Ana"), "{life}");

    let undo = ask(("", ""), &[], &[("corrects", &id), ("back", "/week")]);
    scene.sent(record::undo, &undo);
    assert_eq!(plants(&scene, &liner.lot), stood);
    let life = scene.page(lot::page, &ask(("lot", &liner.lot), &[], &[]));
    assert!(life.contains("never happened"), "{life}");
}

#[test]
fn another_entry_under_a_used_form_is_refused_and_keeps_its_fields() {
    let scene = demo();
    let liner = lot_of(&scene, "liner");
    let id = scene.office.ulid().expect("an id");
    let enter = |plants: &str| {
        ask(
            ("act", "lose"),
            &[],
            &[
                ("id", &id),
                ("lot", &liner.lot),
                ("plants", plants),
                ("reason", "frost"),
            ],
        )
    };
    scene.sent(record::enter, &enter("2"));
    let page = scene.page(record::enter, &enter("5"));
    assert!(
        page.contains("This was not recorded") && page.contains("value=\"5\""),
        "{page}"
    );
    let page = scene.page(record::enter, &enter("many"));
    assert!(page.contains("“many” cannot be read"), "{page}");
}

#[test]
fn a_correction_has_only_what_changed() {
    let scene = demo();
    let liner = lot_of(&scene, "liner");
    let stood = plants(&scene, &liner.lot);
    let id = scene.office.ulid().expect("an id");
    let lose = ask(
        ("act", "lose"),
        &[],
        &[
            ("id", &id),
            ("lot", &liner.lot),
            ("plants", "12"),
            ("reason", "frost"),
        ],
    );
    scene.sent(record::enter, &lose);
    let form = scene.page(
        record::correction_page,
        &ask(("", ""), &[("act", &id)], &[]),
    );
    assert!(form.contains("value=\"12\""), "{form}");
    let new = scene.office.ulid().expect("an id");
    let right = ask(
        ("", ""),
        &[],
        &[
            ("id", &new),
            ("act", &id),
            ("lot", &liner.lot),
            ("plants", "2"),
            ("correction_reason", "miscounted"),
            ("reason", "heat"),
        ],
    );
    scene.sent(record::correct, &right);
    assert_eq!(plants(&scene, &liner.lot), stood - 2);
    let act = scene.office.desk.read(|file, _| file.act_of(&new));
    let act = act.expect("a file").expect("the correction");
    assert_eq!(act["right"], json!({"plants": 2, "reason": "heat"}));
    assert_eq!(act["reason"], "miscounted");
    assert_eq!(act["by"], "Ana");
}

#[test]
fn one_tap_does_a_job_of_the_week() {
    let scene = demo();
    let before = scene.office.desk.week(DAY).expect("the week");
    let job = before
        .jobs
        .iter()
        .find(|it| it.planned.operation == "force" && it.state != State::Waiting)
        .expect("buds to force");
    let lot = job.lots[0].clone();
    let act = lot.act.expect("the act of the job");
    let id = scene.office.ulid().expect("an id");
    let mut form: Vec<(String, String)> = act
        .as_object()
        .expect("keys")
        .iter()
        .filter(|(key, value)| *key != "act" && !value.is_null())
        .map(|(key, value)| (key.clone(), table::plain(value)))
        .collect();
    form.push(("id".to_owned(), id));
    let form: Vec<(&str, &str)> = form.iter().map(|(key, value)| (&**key, &**value)).collect();
    scene.sent(record::enter, &ask(("act", "force"), &[], &form));
    let after = scene.office.desk.week(DAY).expect("the week");
    let is_there = |week: &app::ledger::WeekAnswer| {
        week.jobs
            .iter()
            .any(|it| it.planned.operation == "force" && it.lots.iter().any(|at| at.lot == lot.lot))
    };
    assert!(is_there(&before) && !is_there(&after));
}

#[test]
fn names_with_script_in_them_stay_names() {
    const NAME: &str = "<script>alert(1)</script>";
    let scene = scene(NurseryFile::create);
    let id = scene.office.ulid().expect("an id");
    let note = ask(
        ("act", "note"),
        &[],
        &[
            ("id", &id),
            ("about", NAME),
            ("text", NAME),
            ("by", NAME),
            ("back", NAME),
        ],
    );
    assert_eq!(scene.sent(record::enter, &note), format!("/?done={id}"));
    for page in [
        scene.page(book::page, &ask(("", ""), &[("done", &id)], &[])),
        scene.page(
            record::page,
            &ask(("act", "count"), &[("lot", NAME), ("back", NAME)], &[]),
        ),
        scene.page(standing::page, &ask(("", ""), &[("q", NAME)], &[])),
    ] {
        assert!(!page.contains("<script>alert"), "{page}");
    }
    let text = match book::csv(&scene.office, &ask(("", ""), &[], &[])) {
        Ok(Reply::File { bytes, .. }) => String::from_utf8(bytes).expect("text"),
        _ => panic!("no file"),
    };
    assert!(text.contains(NAME));
}

#[test]
fn every_table_is_a_workbook_too() {
    let scene = demo();
    let asked = |file: &str| {
        let ask = ask(("", ""), &[("file", file)], &[]);
        let table = standing::csv(&scene.office, &ask).expect("a table");
        match reply::as_asked(&scene.office, &ask, table).expect("a file") {
            Reply::File { name, bytes, .. } => (name, bytes),
            _ => panic!("no file"),
        }
    };
    let (name, workbook) = asked("xlsx");
    assert_eq!(name, "standing.xlsx");
    assert!(workbook.starts_with(b"PK"), "a workbook is an archive");
    let (name, plain) = asked("csv");
    assert_eq!(name, "standing.csv");
    assert!(
        plain.starts_with(b"lot,"),
        "{}",
        String::from_utf8_lossy(&plain[..40])
    );
    let page = scene.page(standing::page, &ask(("", ""), &[], &[]));
    assert!(
        page.contains("/standing.csv?file=xlsx"),
        "the page links it"
    );
}
