//! A nursery's ledger: opened, folded into its books, written to by acts, asked.

mod agreed;
mod available;
mod choices;
mod deed_words;
pub mod desk;
mod devices;
mod exchange;
mod honesty;
mod journal;
mod life;
mod names;
mod odds;
mod order;
mod orders;
mod outlook;
mod plans;
mod plant_names;
mod products;
mod promise;
mod record;
mod runs;
pub mod settings;
mod settling;
mod standing;
mod trace;
mod week;

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use nursery::FileSet;
use nursery::catalogue::Catalogue;
pub use nursery::ledger::Books;
pub use nursery::ledger::act::{Line as OrderLine, Substitute};
use nursery::ledger::lot::When;
use nursery::ledger::{Act, Outcome, PastAct};
pub use nursery::settings::Settings;
use serde::Deserialize;
use serde_json::Value;
pub use store::Head;
use store::{Entry, Ledger, Reading, SqliteLedger, StoreError};

use crate::error::{AppError, Kind};

pub use agreed::load_to_plan;
pub use available::{Available, AvailableProduct, MOST_MONTHS};
pub use choices::{Choice, Choices};
pub use devices::{DeviceAnswer, DeviceState, Invite};
pub use exchange::{ImportAnswer, WeatherInUse, load_ledger, load_standing};
pub use honesty::{Ahead, BrierParts, CalledBin, CalledLine, HonestyAnswer};
pub use journal::{ActAnswer, Asked, CorrectedAnswer, JournalAnswer};
pub use life::{CoursePoint, HoldAnswer, KinAnswer, LifeAnswer, LookAnswer, LotAct, TagAnswer};
pub use odds::OddsNow;
pub use order::{
    FittingLot, LineChange, LineEvent, LineLife, OrderAnswer, Origin, ServingJob, TaggedLot,
};
pub use orders::{
    LineState, NoOdds, OrderLineAnswer, OrderLinesAnswer, RunAnswer, day_of_week, iso_week,
};
pub use outlook::{DegreeDays, Expected, Outlook, Quantiles};
pub use plans::{AcceptedNow, KeptPlan, Needed, PlanBrief, Since, kinds_of_runs};
pub use plant_names::PlantNames;
pub use products::{Band, ProductBrief, ProductFan};
pub use promise::{Alternative, Break, Enquiry, Maker, PromiseAnswer, Rest};
pub use record::RecordAnswer;
pub use settling::ToSettle;
pub use standing::{LotAnswer, wrapped};
pub use trace::{CheckAnswer, NodeAnswer, TraceAnswer};
pub use week::{
    AskedBy, BudsSet, Closed, CouldNot, DayAhead, JobLot, Reason, State, WeekAnswer, WeekJob,
    WorkDone,
};

/// The nursery within a file; a file of one nursery has this one.
const NURSERY: &str = "nursery";

/// Snapshots of books in another form are not read.
const SNAPSHOT: &str = concat!("books 6 of ", env!("CARGO_PKG_VERSION"));

/// So many entries are folded again rather than kept in a new snapshot.
const FEW_ENTRIES: u64 = 5_000;

/// A nursery file that is open, with its books.
pub struct NurseryFile {
    path: PathBuf,
    ledger: SqliteLedger,
    /// The books as the ledger's end leaves them. Whoever shares them keeps them as they are: what is
    /// written later changes a copy.
    pub books: Arc<Books>,
    catalogue: Arc<Catalogue>,
    /// The entry up to which the kept snapshot reaches.
    kept: u64,
}

impl NurseryFile {
    /// Makes a new, empty nursery file.
    pub fn create(path: &Path) -> Result<Self, AppError> {
        let ledger = SqliteLedger::create(path, NURSERY).map_err(|error| failed(path, &error))?;
        Self::with(path, ledger)
    }

    /// Opens a nursery file and folds its ledger, from the last snapshot where there is one.
    pub fn open(path: &Path) -> Result<Self, AppError> {
        let ledger = SqliteLedger::open(path).map_err(|error| failed(path, &error))?;
        Self::with(path, ledger)
    }

    fn with(path: &Path, ledger: SqliteLedger) -> Result<Self, AppError> {
        let mut file = Self {
            path: path.to_owned(),
            ledger,
            books: Arc::default(),
            catalogue: Arc::default(),
            kept: 0,
        };
        file.reload()?;
        Ok(file)
    }

    /// Makes the books anew: from the snapshot and what was appended after it.
    fn reload(&mut self) -> Result<(), AppError> {
        let snapshot = self.asked(self.ledger.snapshot(SNAPSHOT))?;
        let read = snapshot.and_then(|(head, bytes)| {
            let books: Books = postcard::from_bytes(&bytes).ok()?;
            (books.number == head.seq).then_some(books)
        });
        self.books = Arc::new(read.unwrap_or_default());
        self.kept = self.books.number;
        self.catch_up()?;
        self.catalogue = Arc::new(catalogue_of(&self.books));
        self.keep_snapshot();
        Ok(())
    }

    /// Folds what other programs appended since.
    fn catch_up(&mut self) -> Result<(), AppError> {
        if self.asked(self.ledger.number())? == self.books.number {
            return Ok(());
        }
        let settings = self.books.settings.clone();
        let folded = fold(&self.ledger, Arc::make_mut(&mut self.books));
        folded.map_err(|error| self.failed(&error))?;
        if settings != self.books.settings {
            self.catalogue = Arc::new(catalogue_of(&self.books));
        }
        Ok(())
    }

    /// The same nursery over a connection of its own, sharing the books.
    fn beside(&self) -> Result<Self, AppError> {
        Ok(Self {
            path: self.path.clone(),
            ledger: SqliteLedger::open(&self.path).map_err(|error| self.failed(&error))?,
            books: Arc::clone(&self.books),
            catalogue: Arc::clone(&self.catalogue),
            kept: self.kept,
        })
    }

    /// Keeps a snapshot where many entries came since the last one. It may be lost: a failure only
    /// makes the next opening slower.
    fn keep_snapshot(&mut self) {
        if self.books.number < self.kept + FEW_ENTRIES {
            return;
        }
        let head = self.ledger.head();
        let bytes = postcard::to_stdvec(&*self.books);
        if let (Ok(head), Ok(bytes)) = (head, bytes)
            && head.seq == self.books.number
            && self.ledger.save_snapshot(SNAPSHOT, head, &bytes).is_ok()
        {
            self.kept = head.seq;
        }
    }

    /// The books as they were known at a moment: from the entries recorded until then.
    pub fn books_known_at(&self, moment: &str) -> Result<Books, AppError> {
        let mut books = Books::default();
        let mut bad = None;
        let read = self.ledger.entries(0, &mut |entry| {
            if entry.recorded_at.as_str() > moment {
                return ControlFlow::Continue(());
            }
            note(&mut books, &entry).map_or_else(
                |why| {
                    bad = Some(why);
                    ControlFlow::Break(())
                },
                |()| ControlFlow::Continue(()),
            )
        });
        self.asked(read)?;
        match bad {
            Some(why) => Err(self.unreadable(why)),
            None => Ok(books),
        }
    }

    /// The nursery's files as of a day.
    pub fn files(&self, books: &Books, day: Date) -> FileSet {
        nursery::ledger::export::files(books, day)
    }

    /// What can be grown and how: the shipped catalogue with the nursery's own rows.
    pub fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// The nursery's settings as of a day; none before they are told.
    pub fn settings(&self, books: &Books, day: Date) -> Option<Settings> {
        let text = books.settings.text("nursery", day)?;
        Settings::read("nursery.toml", text.as_bytes()).ok()
    }

    /// Names of people who recorded or did something.
    pub fn people(&self) -> Result<Vec<String>, AppError> {
        let names = self.asked(self.ledger.names("person"))?;
        Ok(names.into_iter().map(|(_, name)| name).collect())
    }

    /// An act that was done, told to a person; none where none of the name was.
    pub fn said_of(&self, books: &Books, act: &str) -> Result<Option<ActAnswer>, AppError> {
        let Some(entry) = self.asked(self.ledger.done(act))? else {
            return Ok(None);
        };
        let told = self.told(books, entry, &names::Shown::of(&self.ledger))?;
        Ok(told.map(|it| it.answer))
    }

    /// The act of a name as it was recorded, names in the place of ids; none where it was not done.
    pub fn act_of(&self, id: &str) -> Result<Option<Value>, AppError> {
        let Some(entry) = self.asked(self.ledger.done(id))? else {
            return Ok(None);
        };
        let mut act: Value = serde_json::from_slice(&entry.act).unwrap_or_default();
        self.asked(names::Shown::of(&self.ledger).name_all(&mut act))?;
        Ok(Some(act))
    }

    /// Copies the ledger to a new file while others may go on writing.
    pub fn backup(&self, to: &Path) -> Result<Head, AppError> {
        self.ledger.backup(to).map_err(|error| failed(to, &error))?;
        let copy = SqliteLedger::open(to).map_err(|error| failed(to, &error))?;
        copy.head().map_err(|error| failed(to, &error))
    }

    /// Forgets a person's or customer's name.
    pub fn erase_name(&self, kind: &str, name: &str) -> Result<String, AppError> {
        let names = self.asked(self.ledger.names(kind))?;
        let Some((id, _)) = names.into_iter().find(|(_, it)| it == name) else {
            return Err(AppError::new(
                Kind::NotFound,
                format!("nobody of that name is known as a {kind}"),
                self.path.display().to_string(),
                "write the name as it was recorded",
            ));
        };
        self.asked(self.ledger.erase_name(&id))?;
        Ok(id)
    }

    fn asked<T>(&self, result: store::Result<T>) -> Result<T, AppError> {
        result.map_err(|error| self.failed(&error))
    }

    fn failed(&self, error: &StoreError) -> AppError {
        failed(&self.path, error)
    }

    fn unreadable(&self, why: String) -> AppError {
        AppError::new(
            Kind::Invalid,
            why,
            self.path.display().to_string(),
            "run `barkslip check`, and go back to a backup if it finds damage",
        )
    }
}

/// Puts a backup in the place of a nursery file, after it was verified; the file that was there is
/// kept beside it, and its path given.
pub fn restore(from: &Path, to: &Path) -> Result<Option<PathBuf>, AppError> {
    SqliteLedger::restore(from, to).map_err(|error| failed(from, &error))
}

/// Folds the entries after the books' last one.
fn fold(reading: &dyn Reading, books: &mut Books) -> Result<(), StoreError> {
    let mut bad = None;
    reading.entries(books.number, &mut |entry| match note(books, &entry) {
        Ok(()) => ControlFlow::Continue(()),
        Err(why) => {
            bad = Some(why);
            ControlFlow::Break(())
        }
    })?;
    match bad {
        Some(why) => Err(StoreError::Other(why)),
        None => Ok(()),
    }
}

/// The keys of a stored act that folding needs.
#[derive(Deserialize)]
struct Header {
    id: nursery::ledger::ActId,
    on: Date,
}

/// Notes an entry in the books.
fn note(books: &mut Books, entry: &Entry) -> Result<(), String> {
    let named = |why: String| format!("entry {} (act {}): {why}", entry.seq, entry.act_id);
    books.number = entry.seq;
    if !entry.done {
        let act: Value = serde_json::from_slice(&entry.act).unwrap_or_default();
        books.note_refused(&entry.act_id, entry.seq, &act);
        return Ok(());
    }
    let header: Header = serde_json::from_slice(&entry.act).map_err(|it| named(it.to_string()))?;
    let Outcome::Done(events) = Outcome::decode(&entry.outcome).map_err(named)? else {
        return Err(named("it is marked as done, but was refused".to_owned()));
    };
    let when = When {
        on: header.on,
        number: entry.seq,
    };
    books.apply_all(&header.id, when, &events);
    Ok(())
}

/// An accepted act from its entry.
fn past_act(entry: &Entry) -> Option<PastAct> {
    let value: Value = serde_json::from_slice(&entry.act).ok()?;
    let act = Act::from_json(&value).ok()?;
    let Outcome::Done(events) = Outcome::decode(&entry.outcome).ok()? else {
        return None;
    };
    let when = When {
        on: act.on,
        number: entry.seq,
    };
    Some(PastAct { act, when, events })
}

/// The catalogue with a nursery's own rows.
fn catalogue_of(books: &Books) -> Catalogue {
    let set = FileSet {
        files: books.settings.files(Date::MAX),
    };
    Catalogue::with_own(&set.own_catalogue()).0
}

fn failed(path: &Path, error: &StoreError) -> AppError {
    let (kind, mend) = match error {
        StoreError::Full => (Kind::Unavailable, "free some room and do it again"),
        StoreError::Busy => (Kind::Unavailable, "try again in a moment"),
        StoreError::Damaged(_) => (Kind::Invalid, "go back to a backup: `barkslip restore`"),
        StoreError::NotALedger { .. } => (
            Kind::Invalid,
            "name a nursery file, or make one with `barkslip init`",
        ),
        StoreError::AlreadyThere(_) => (Kind::Invalid, "use another name"),
        StoreError::NotFound(_) => (
            Kind::NotFound,
            "check the name, or make one with `barkslip init`",
        ),
        _ => (
            Kind::Unavailable,
            "check that the file and its folder may be read and written",
        ),
    };
    AppError::new(kind, error.to_string(), path.display().to_string(), mend)
}
