//! The contract of entries, writes and the chain.

use std::ops::ControlFlow;

use store::{Damage, Hash, Head, NewEntry, StoreError, Verified};

use super::{Connect, Part};
use crate::common::{Random, all, append, damage, done, refused};

pub const PARTS: &[Part] = &[
    ("an empty ledger", empty),
    ("entries come back as they were", round_trip),
    ("an id is done once", done_once),
    ("a dropped write never was", dropped),
    ("other connections see commits only", isolation),
    ("one writes at a time", one_at_a_time),
    ("nurseries do not see each other", nurseries),
    ("a kept head", kept_head),
    ("random sequences", random_sequences),
];

fn empty(connect: &Connect) {
    let ledger = connect("demo");
    assert_eq!(ledger.nursery(), "demo");
    assert_eq!(ledger.head().unwrap(), Head::EMPTY);
    assert_eq!(ledger.number().unwrap(), 0);
    assert!(all(&*ledger).unwrap().is_empty());
    assert_eq!(ledger.done("a1").unwrap(), None);
    let verified = ledger.verify(Some(Head::EMPTY)).unwrap();
    let nothing = Verified {
        entries: 0,
        head: Head::EMPTY,
    };
    assert_eq!(verified, nothing);
}

fn round_trip(connect: &Connect) {
    let mut ledger = connect("demo");
    let odd = NewEntry {
        act_id: "ä'\u{1f333}".into(),
        recorded_at: String::new(),
        done: true,
        act: (0..=255).collect(),
        outcome: vec![0; 100_000],
    };
    let mut write = ledger.write().unwrap();
    let first = write.push(odd.clone()).unwrap();
    let second = write.push(refused("a2")).unwrap();
    assert_eq!(write.head().unwrap(), second.head());
    assert_eq!(write.number().unwrap(), second.seq);
    assert_eq!(all(&*write).unwrap(), [first.clone(), second.clone()]);
    assert_eq!(write.entry(1).unwrap(), Some(first.clone()));
    write.commit().unwrap();

    assert_eq!((first.seq, second.seq), (1, 2));
    assert_eq!(first.hash, odd.hash(Head::EMPTY, "demo"));
    assert_eq!(second.hash, refused("a2").hash(first.head(), "demo"));
    assert_eq!((&first.act, &first.outcome), (&odd.act, &odd.outcome));
    let again = connect("demo");
    assert_eq!(again.head().unwrap(), second.head());
    assert_eq!(again.number().unwrap(), second.seq);
    assert_eq!(all(&*again).unwrap(), [first.clone(), second.clone()]);
    assert_eq!(again.entry(1).unwrap(), Some(first));
    assert_eq!(again.entry(2).unwrap(), Some(second.clone()));
    for none in [0, 3, u64::MAX] {
        assert_eq!(again.entry(none).unwrap(), None, "{none}");
    }

    let mut seen = Vec::new();
    let mut visit = |entry: store::Entry| {
        seen.push(entry.seq);
        ControlFlow::Break(())
    };
    again.entries(1, &mut visit).unwrap();
    again.entries(0, &mut visit).unwrap();
    again.entries(2, &mut visit).unwrap();
    again.entries(u64::MAX, &mut visit).unwrap();
    assert_eq!(seen, [2, 1], "after a number, and no further than asked");
}

fn done_once(connect: &Connect) {
    let mut ledger = connect("demo");
    append(&mut *ledger, refused("a1")).unwrap();
    append(&mut *ledger, refused("a1")).unwrap();
    assert_eq!(ledger.done("a1").unwrap(), None);
    let entry = append(&mut *ledger, done("a1")).unwrap();
    append(&mut *ledger, refused("a1")).unwrap();
    assert_eq!(ledger.done("a1").unwrap(), Some(entry.clone()));

    let mut write = ledger.write().unwrap();
    assert_eq!(write.done("a1").unwrap(), Some(entry));
    let twice = write.push(done("a1"));
    assert!(matches!(twice, Err(StoreError::AlreadyThere(_))));
    let next = write.push(done("a2")).unwrap();
    assert_eq!(next.seq, 5, "the refused push took no number");
    write.commit().unwrap();
    assert_eq!(ledger.verify(None).unwrap().entries, 5);
}

fn dropped(connect: &Connect) {
    let mut ledger = connect("demo");
    let first = append(&mut *ledger, done("a1")).unwrap();
    let mut write = ledger.write().unwrap();
    write.push(done("a2")).unwrap();
    drop(write);
    assert_eq!(ledger.head().unwrap(), first.head());
    assert_eq!(ledger.done("a2").unwrap(), None);
    append(&mut *ledger, done("a2")).unwrap();
    assert_eq!(connect("demo").verify(None).unwrap().entries, 2);
}

fn isolation(connect: &Connect) {
    let (mut writer, reader) = (connect("demo"), connect("demo"));
    let mut write = writer.write().unwrap();
    let entry = write.push(done("a1")).unwrap();
    assert_eq!(reader.head().unwrap(), Head::EMPTY);
    write.commit().unwrap();
    assert_eq!(reader.head().unwrap(), entry.head());
    assert_eq!(reader.done("a1").unwrap(), Some(entry));
}

fn one_at_a_time(connect: &Connect) {
    let (mut one, mut other) = (connect("demo"), connect("demo"));
    let mut write = one.write().unwrap();
    let (begun, heard) = std::sync::mpsc::channel();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            begun.send(()).unwrap();
            append(&mut *other, done("other")).unwrap();
        });
        heard.recv().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(50));
        write.push(done("one")).unwrap();
        write.commit().unwrap();
    });
    let ids: Vec<_> = all(&*one).unwrap().into_iter().map(|e| e.act_id).collect();
    assert_eq!(ids, ["one", "other"]);
    assert_eq!(one.verify(None).unwrap().entries, 2);
}

fn nurseries(connect: &Connect) {
    let (mut one, mut other) = (connect("one"), connect("other"));
    let in_one = append(&mut *one, done("a1")).unwrap();
    assert_eq!(other.head().unwrap(), Head::EMPTY);
    assert_eq!(other.number().unwrap(), 0);
    assert_eq!(other.done("a1").unwrap(), None);
    let in_other = append(&mut *other, done("a1")).unwrap();
    assert_ne!(in_one.hash, in_other.hash);
    assert_eq!(other.entry(1).unwrap(), Some(in_other.clone()));

    let hash = one.put_blob(b"weather").unwrap();
    assert_eq!(other.blob(&hash).unwrap(), None);
    let id = one.name_id("person", "Ada").unwrap();
    assert_eq!(other.name(&id).unwrap(), None);
    one.save_snapshot("books", in_one.head(), b"state").unwrap();
    assert_eq!(other.snapshot("books").unwrap(), None);
    assert_eq!(other.verify(None).unwrap().head, in_other.head());
}

fn kept_head(connect: &Connect) {
    let mut ledger = connect("demo");
    let heads: Vec<_> = (1..=5)
        .map(|n| append(&mut *ledger, done(&format!("a{n}"))).unwrap().head())
        .collect();
    for head in &heads {
        assert_eq!(ledger.verify(Some(*head)).unwrap().head, heads[4]);
    }
    let beyond = Head {
        seq: 9,
        hash: Hash::of(b"9"),
    };
    let found = damage(ledger.verify(Some(beyond)));
    assert_eq!(
        found.to_string(),
        "the ledger ends at entry 5, but the kept head is entry 9"
    );
    for seq in [0, 3, 5] {
        let kept = Head { seq, ..beyond };
        let found = damage(ledger.verify(Some(kept)));
        assert!(matches!(found, Damage::OtherHead { kept: k, .. } if k == kept));
    }
}

/// Commits, drops, refusals and repeated ids in any order give what a plain list gives.
fn random_sequences(connect: &Connect) {
    let mut random = Random(7);
    let mut ledger = connect("demo");
    let mut expected: Vec<NewEntry> = Vec::new();
    for _ in 0..200 {
        if random.below(10) == 0 {
            ledger = connect("demo");
        }
        let mut tried = expected.clone();
        let mut write = ledger.write().unwrap();
        for _ in 0..random.below(6) {
            let (act_id, size) = (format!("a{}", random.below(300)), random.below(3_000));
            let entry = NewEntry {
                done: random.below(3) > 0,
                act: random.bytes(size),
                ..done(&act_id)
            };
            let twice = entry.done && tried.iter().any(|e| e.done && e.act_id == act_id);
            let pushed = write.push(entry.clone());
            assert_eq!(pushed.is_err(), twice);
            if !twice {
                tried.push(entry);
            }
        }
        if random.below(4) > 0 {
            write.commit().unwrap();
            expected = tried;
        }
    }
    let verified = connect("demo").verify(None).unwrap();
    assert_eq!(verified.entries, expected.len() as u64);
    let mut head = Head::EMPTY;
    for (stored, entry) in all(&*ledger).unwrap().into_iter().zip(expected) {
        assert_eq!(stored.hash, entry.hash(head, "demo"));
        assert_eq!((&stored.act, stored.done), (&entry.act, entry.done));
        head = stored.head();
    }
    assert_eq!(head, verified.head);
}
