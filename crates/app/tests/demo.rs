//! The demo's nursery file: its two years of acts lead to the tables of its day.

use app::ledger::NurseryFile;
use app::{demo, load_folder};

#[test]
fn two_years_of_acts_lead_to_what_stands() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("demo.barkslip");
    let file = demo::make(&path).expect("the demo is made");
    let checked = file.check(None).expect("the ledger is whole");
    assert!(checked.balanced && checked.chain);
    assert!(checked.entries > 4000, "{} entries", checked.entries);

    let out = folder.path().join("tables");
    let names = file
        .export(&file.books, demo::AS_OF, &out)
        .expect("exported");
    assert_eq!(names.len(), demo::files().count());
    for (name, bytes) in demo::files() {
        let written = std::fs::read(out.join(name)).expect("a file");
        assert!(written == bytes, "{name} is not what the books hold");
    }

    let standing = file
        .books
        .lots
        .values()
        .filter_map(|lot| lot.on(demo::AS_OF));
    let standing: Vec<u32> = standing
        .map(|it| it.plants())
        .filter(|it| *it > 0)
        .collect();
    let loaded = load_folder(&out, demo::AS_OF).expect("a nursery");
    let lots = &loaded.nursery.lots;
    assert!((380..=420).contains(&lots.len()), "{} lots", lots.len());
    assert_eq!(standing.len(), lots.len());
    let plants: u32 = lots.iter().map(|lot| lot.growing + lot.ready).sum();
    assert_eq!(standing.iter().sum::<u32>(), plants);
}

#[test]
fn acts_were_known_from_the_evening_on_which_they_were_recorded() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("demo.barkslip");
    drop(demo::make(&path).expect("the demo is made"));
    let file = NurseryFile::open(&path).expect("it opens");
    let lots_at = |moment| file.books_known_at(moment).expect("books").lots.len();
    let (noon, evening) = (
        lots_at("2025-03-01T12:00:00Z"),
        lots_at("2025-03-01T23:59:60Z"),
    );
    assert_eq!(noon, 0);
    assert!(evening > 100, "{evening} lots were opened");
    let year = lots_at("2026-03-01T23:59:60Z");
    assert!(evening < year && year < file.books.lots.len());
    assert!(demo::make(&path).is_err(), "it is there already");
    assert!(path.exists());
}
