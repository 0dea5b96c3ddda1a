//! What all pages share: the desk over the nursery file, the clock, the runs of the planner.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::OnceLock;

use app::AppError;
use app::ledger::desk::Desk;
use app::ledger::{ActAnswer, Choice, Choices, Settings};
use jiff::civil::Date;

use super::ask::Ask;
use super::phones::{Phones, PhonesSetup};
use super::work::{How, Job, Work};
use crate::words::common as words;

/// What only the program itself may sense; handed in, so that tests hand in their own.
#[derive(Clone, Copy)]
pub struct Senses {
    /// The day it is.
    pub today: fn() -> Date,
    /// This moment, as it is recorded.
    pub now: fn() -> String,
    /// A new ULID.
    pub ulid: fn() -> Result<String, AppError>,
    /// Bytes that nobody can guess.
    pub secret: fn() -> Result<[u8; 32], AppError>,
}

/// How to serve.
pub struct Setup {
    /// The nursery file.
    pub nursery: PathBuf,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// The day to look at and to record on, in place of today.
    pub as_of: Option<Date>,
    /// The program, which is started again for long work.
    pub program: PathBuf,
    /// Most memory that long work may take, MiB.
    pub memory_mib: u64,
    /// Whether a plan is to be made at once.
    pub plan_at_once: bool,
    /// How phones are served, where they are.
    pub phones: Option<PhonesSetup>,
    /// The clock and chance.
    pub senses: Senses,
}

/// The office.
pub(crate) struct Office {
    pub(crate) desk: Desk,
    pub(crate) setup: Setup,
    pub(crate) work: Work,
    /// The door for phones, once it is open.
    pub(super) phones: OnceLock<Phones>,
    hosts: [String; 3],
}

impl Office {
    pub(super) fn new(setup: Setup, desk: Desk, port: u16) -> Self {
        let hosts = ["127.0.0.1", "localhost", "[::1]"].map(|host| format!("{host}:{port}"));
        Self {
            desk,
            setup,
            work: Work::default(),
            phones: OnceLock::new(),
            hosts,
        }
    }

    /// Whether a request was sent to this server under a name of its own.
    pub(super) fn is_own_host(&self, host: &str) -> bool {
        self.hosts.iter().any(|own| own == host)
    }

    /// The day it is for what is recorded.
    pub(crate) fn today(&self) -> Date {
        self.setup.as_of.unwrap_or_else(self.setup.senses.today)
    }

    /// The day a page looks at.
    pub(crate) fn day(&self, ask: &Ask) -> Date {
        ask.as_of.unwrap_or_else(|| self.today())
    }

    /// The moment it is for what is recorded.
    pub(crate) fn now(&self) -> String {
        match self.setup.as_of {
            Some(day) => format!("{day}T12:00:00Z"),
            None => (self.setup.senses.now)(),
        }
    }

    /// This moment, whatever day is looked at; for what takes time.
    pub(super) fn clock(&self) -> String {
        (self.setup.senses.now)()
    }

    /// A new name for an act.
    pub(crate) fn ulid(&self) -> Result<String, AppError> {
        (self.setup.senses.ulid)()
    }

    /// A new secret, in 64 small hexadecimal digits.
    pub(super) fn secret(&self) -> Result<String, AppError> {
        let bytes = (self.setup.senses.secret)()?;
        let mut digits = String::with_capacity(2 * bytes.len());
        for byte in bytes {
            // Writing to a string cannot fail.
            let _ = write!(digits, "{byte:02x}");
        }
        Ok(digits)
    }

    /// The nursery's name, as its settings give it.
    pub(crate) fn name(&self) -> String {
        let name = self.settings().map(|it| it.name);
        name.unwrap_or_else(|| words::UNNAMED_NURSERY.to_owned())
    }

    /// The nursery's settings of today; none before they are told.
    pub(crate) fn settings(&self) -> Option<Settings> {
        let day = self.today();
        let settings = self
            .desk
            .read(|file, sight| Ok(file.settings(&sight.books, day)));
        settings.ok().flatten()
    }

    /// The beginning of addresses that phones open; where none are served, of those that this machine opens.
    pub(crate) fn base(&self) -> String {
        let of_phones = self.phones.get().and_then(|it| it.hosts.first());
        match of_phones {
            Some(host) => format!("https://{host}"),
            None => format!("http://{}", self.hosts[0]),
        }
    }

    /// Decimals of the nursery's money.
    pub(crate) fn decimals(&self) -> usize {
        app::decimals(&self.currency())
    }

    /// The currency of the nursery's money.
    pub(crate) fn currency(&self) -> String {
        self.settings().map_or_else(String::new, |it| it.currency)
    }

    /// What there is to choose from on a day.
    pub(crate) fn choices(&self, day: Date, of: Choices) -> Vec<Choice> {
        let known = self
            .desk
            .read(|file, sight| Ok(file.choices(&sight.books, day, of)));
        known.unwrap_or_default()
    }

    /// Names of people who have recorded something.
    pub(crate) fn people(&self) -> Result<Vec<String>, AppError> {
        self.desk.read(|file, _| file.people())
    }

    /// What an act that was done says, if there is one of the name.
    pub(crate) fn said_of(&self, act: &str) -> Option<ActAnswer> {
        let said = self
            .desk
            .read(|file, sight| file.said_of(&sight.books, act));
        said.ok().flatten()
    }

    /// Begins to make a plan, as if some things were otherwise. Returns whether such a plan is made now.
    pub(crate) fn start_plan(&self, how: How, what_if: &[String]) -> Result<bool, AppError> {
        self.work.start(&Job {
            program: &self.setup.program,
            nursery: &self.setup.nursery,
            as_of: self.today(),
            memory_mib: self.setup.memory_mib,
            how,
            what_if,
            now: self.clock(),
        })
    }

    /// Ends what still runs.
    pub(super) fn close(&self) {
        self.work.stop();
    }
}
