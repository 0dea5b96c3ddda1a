//! The contract of snapshots, names, blobs and runs.

use store::{Hash, Head, Run, StoreError};

use super::{Connect, Part};
use crate::common::{append, done};

pub const PARTS: &[Part] = &[
    ("snapshots", snapshots),
    ("names", names),
    ("erased names", erased_names),
    ("blobs", blobs),
    ("runs", runs),
];

fn snapshots(connect: &Connect) {
    let mut ledger = connect("demo");
    ledger.save_snapshot("books", Head::EMPTY, b"none").unwrap();
    assert_eq!(
        ledger.snapshot("books").unwrap(),
        Some((Head::EMPTY, b"none".to_vec()))
    );
    let first = append(&mut *ledger, done("a1")).unwrap().head();
    append(&mut *ledger, done("a2")).unwrap();
    ledger.save_snapshot("books", first, b"one").unwrap();
    let kept = connect("demo").snapshot("books").unwrap();
    assert_eq!(kept, Some((first, b"one".to_vec())), "an older head serves");
    assert_eq!(ledger.snapshot("other").unwrap(), None);

    for (seq, hash) in [(1, Hash::of(b"x")), (9, first.hash), (0, first.hash)] {
        let foreign = Head { seq, hash };
        ledger.save_snapshot("books", foreign, b"?").unwrap();
        assert_eq!(ledger.snapshot("books").unwrap(), None, "{foreign}");
    }
}

fn names(connect: &Connect) {
    let ledger = connect("demo");
    let ada = ledger.name_id("person", "Ada").unwrap();
    let shop = ledger.name_id("customer", "Ada").unwrap();
    let crew = ledger.name_id("crew", "Ada").unwrap();
    assert_eq!([&*ada, &*shop, &*crew], ["p1", "c2", "c3"]);
    assert_eq!(connect("demo").name_id("person", "Ada").unwrap(), ada);
    assert_eq!(ledger.name(&shop).unwrap().as_deref(), Some("Ada"));
    for unknown in ["", "p", "p9", "c1", "p01", "p1x", "é1"] {
        assert_eq!(ledger.name(unknown).unwrap(), None, "{unknown}");
    }
    let eve = ledger.name_id("person", "Eve").unwrap();
    let people = [(ada, "Ada".to_owned()), (eve, "Eve".to_owned())];
    assert_eq!(ledger.names("person").unwrap(), people);
    assert!(ledger.names("nobody").unwrap().is_empty());
}

fn erased_names(connect: &Connect) {
    let ledger = connect("demo");
    let ada = ledger.name_id("person", "Ada").unwrap();
    let eve = ledger.name_id("person", "Eve").unwrap();
    ledger.erase_name(&eve).unwrap();
    ledger.erase_name(&eve).unwrap();
    assert_eq!(ledger.name(&eve).unwrap(), None);
    assert_eq!(ledger.name(&ada).unwrap().as_deref(), Some("Ada"));
    assert_eq!(ledger.names("person").unwrap().len(), 1);
    let again = ledger.name_id("person", "Eve").unwrap();
    assert_ne!(again, eve, "an erased id is never given again");
    let unknown = ledger.erase_name("p99");
    assert!(matches!(unknown, Err(StoreError::NotFound(_))));
    ledger.verify(None).unwrap();
}

fn blobs(connect: &Connect) {
    let ledger = connect("demo");
    let bytes = vec![7; 200_000];
    let hash = ledger.put_blob(&bytes).unwrap();
    assert_eq!(hash, Hash::of(&bytes));
    assert_eq!(connect("demo").put_blob(&bytes).unwrap(), hash);
    assert_eq!(connect("demo").blob(&hash).unwrap(), Some(bytes));
    assert_eq!(ledger.blob(&Hash::ZERO).unwrap(), None);
}

fn runs(connect: &Connect) {
    let ledger = connect("demo");
    let run = |name: &str, kind: &str, bytes: &[u8]| Run {
        name: name.into(),
        kind: kind.into(),
        made_at: "2027-03-04".into(),
        bytes: bytes.to_vec(),
    };
    assert_eq!(ledger.latest_run("plan").unwrap(), None);
    assert!(ledger.runs("plan").unwrap().is_empty());
    let (first, second) = (run("r1", "plan", b"1"), run("r2", "plan", b"2"));
    ledger.save_run(&first).unwrap();
    ledger.save_run(&second).unwrap();
    ledger.save_run(&run("r3", "futures", b"3")).unwrap();
    assert_eq!(connect("demo").run("r1").unwrap(), Some(first));
    assert_eq!(ledger.latest_run("plan").unwrap(), Some(second));
    let anew = run("r1", "plan", b"4");
    ledger.save_run(&anew).unwrap();
    assert_eq!(ledger.run("r1").unwrap(), Some(anew.clone()));
    assert_eq!(ledger.latest_run("plan").unwrap(), Some(anew));
    let dated = |name: &str| (name.to_owned(), "2027-03-04".to_owned());
    let plans = [dated("r1"), dated("r2")];
    assert_eq!(connect("demo").runs("plan").unwrap(), plans);
    assert!(connect("other").runs("plan").unwrap().is_empty());
}
