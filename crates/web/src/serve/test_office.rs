//! An office for tests: over a nursery file in a folder that goes with it, on a fixed day.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use app::AppError;
use app::ledger::NurseryFile;
use app::ledger::desk::Desk;
use jiff::civil::{Date, date};
use tempfile::TempDir;

use super::ask::{Ask, Fields};
use super::office::{Office, Senses, Setup};
use super::page::render;
use super::reply::Reply;
use super::routes::PageOf;

/// The day of tests, which is that of the demo.
pub(super) const DAY: Date = date(2027, 3, 1);

/// A folder that goes with its office.
pub(super) struct Scene {
    pub(super) office: Arc<Office>,
    _folder: TempDir,
}

/// A new name for an act.
pub(super) fn ulid() -> String {
    static MADE: AtomicU64 = AtomicU64::new(0);
    format!("01JNQ0{:020}", MADE.fetch_add(1, Ordering::Relaxed))
}

/// A secret that nobody would guess who does not know how tests are made.
fn secret() -> [u8; 32] {
    static MADE: AtomicU64 = AtomicU64::new(0);
    let mut bytes = [7; 32];
    let number = MADE.fetch_add(1, Ordering::Relaxed).to_le_bytes();
    bytes[..8].copy_from_slice(&number);
    bytes
}

/// An office over a nursery file that is made in its folder, on the day of tests.
pub(super) fn scene(make: impl FnOnce(&Path) -> Result<NurseryFile, AppError>) -> Scene {
    scene_on(DAY, make)
}

/// An office over a nursery file that is made in its folder, on a day.
pub(super) fn scene_on(
    day: Date,
    make: impl FnOnce(&Path) -> Result<NurseryFile, AppError>,
) -> Scene {
    let folder = tempfile::tempdir().expect("a folder");
    let nursery = folder.path().join("a.barkslip");
    let file = make(&nursery).expect("a nursery file");
    let setup = Setup {
        nursery,
        port: 0,
        as_of: Some(day),
        program: PathBuf::from("no such program"),
        memory_mib: 256,
        plan_at_once: false,
        phones: None,
        senses: Senses {
            today: || DAY,
            now: || "2027-03-01T12:00:30Z".to_owned(),
            ulid: || Ok(ulid()),
            secret: || Ok(secret()),
        },
    };
    Scene {
        office: Arc::new(Office::new(setup, Desk::over(file), 1)),
        _folder: folder,
    }
}

/// Fields from pairs.
pub(super) fn fields(pairs: &[(&str, &str)]) -> Fields {
    let pairs = pairs.iter();
    Fields(
        pairs
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
            .collect(),
    )
}

/// What is asked at an address with a named part, by Ana.
pub(super) fn ask(part: (&str, &str), query: &[(&str, &str)], form: &[(&str, &str)]) -> Ask {
    Ask {
        path: "/here".to_owned(),
        parts: BTreeMap::from([(part.0.to_owned(), part.1.to_owned())]),
        query: fields(query),
        form: fields(form),
        who: Some("Ana".to_owned()),
        ..Ask::default()
    }
}

impl Scene {
    /// A page in its frame.
    pub(super) fn page(&self, of: PageOf, ask: &Ask) -> String {
        match of(&self.office, ask) {
            Ok(Reply::Page(page) | Reply::NotDone(page)) => render(&self.office, ask, &page),
            Ok(_) => panic!("no page"),
            Err(error) => panic!("{error}"),
        }
    }

    /// The address one is sent to after an entry.
    pub(super) fn sent(&self, of: PageOf, ask: &Ask) -> String {
        match of(&self.office, ask) {
            Ok(Reply::See(to)) => to,
            Ok(Reply::NotDone(page)) => panic!("not done: {}", page.body.into_string()),
            Ok(_) => panic!("it was not recorded"),
            Err(error) => panic!("{error}"),
        }
    }
}
