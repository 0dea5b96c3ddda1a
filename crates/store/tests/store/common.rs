//! What several tests need.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use store::{Damage, Entry, Ledger, NewEntry, Reading, Result, SqliteLedger, StoreError};
use tempfile::TempDir;

/// Numbers that look random and are the same in every run (SplitMix64).
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    pub fn bytes(&mut self, count: usize) -> Vec<u8> {
        (0..count).map(|_| self.next() as u8).collect()
    }
}

/// An act that was done.
pub fn done(act_id: &str) -> NewEntry {
    NewEntry {
        act_id: act_id.into(),
        recorded_at: "2027-03-04T10:00:00Z".into(),
        done: true,
        act: format!("act {act_id}").into_bytes(),
        outcome: format!("events of {act_id}").into_bytes(),
    }
}

/// An act that was refused.
pub fn refused(act_id: &str) -> NewEntry {
    NewEntry {
        done: false,
        ..done(act_id)
    }
}

/// Appends one entry and makes it durable.
pub fn append(ledger: &mut dyn Ledger, entry: NewEntry) -> Result<Entry> {
    let mut write = ledger.write()?;
    let entry = write.push(entry)?;
    write.commit()?;
    Ok(entry)
}

/// All entries.
pub fn all(ledger: &dyn Reading) -> Result<Vec<Entry>> {
    let mut entries = Vec::new();
    ledger.entries(0, &mut |entry| {
        entries.push(entry);
        ControlFlow::Continue(())
    })?;
    Ok(entries)
}

/// The damage that must have been found.
pub fn damage<T: std::fmt::Debug>(result: Result<T>) -> Damage {
    match result {
        Err(StoreError::Damaged(damage)) => damage,
        other => panic!("damage was to be found: {other:?}"),
    }
}

/// A folder with a ledger of `count` small entries, closed again.
pub fn folder_with_ledger(count: usize) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let path = folder.path().join("ledger");
    fill(&path, count);
    (folder, path)
}

/// Makes a ledger of `count` entries with bytes of their own.
pub fn fill(path: &Path, count: usize) {
    let mut random = Random(count as u64);
    let mut ledger = SqliteLedger::create(path, "demo").expect("a new file");
    let mut write = ledger.write().expect("nobody else writes");
    for number in 1..=count {
        let (act, outcome) = (20 + random.below(200), 20 + random.below(400));
        let entry = NewEntry {
            done: number % 7 != 0,
            act: random.bytes(act),
            outcome: random.bytes(outcome),
            ..done(&format!("act-{number}"))
        };
        write.push(entry).expect("the ids differ");
    }
    write.commit().expect("there is room");
}
