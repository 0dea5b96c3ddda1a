//! The demo's diary: deeds by day, recorded one after the other into the books.

use std::collections::BTreeMap;

use anyhow::{Context, Result, bail};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use nursery::catalogue::Catalogue;
use nursery::ledger::act::{Act, Correct};
use nursery::ledger::lot::When;
use nursery::ledger::{ActId, Books, Deed, PastAct, World, record};
use serde_json::{Map, Value};
use ulid::Ulid;

use super::draw::{Draw, plus_days};
use super::{AS_OF, OPENED};

/// People of the demo nursery.
pub const OFFICE: &str = "Petra";
/// Who walks the beds.
pub const FIELD: [&str; 2] = ["Ines", "Olmo"];
/// Who sets buds.
pub const BUDDERS: [&str; 2] = ["Juno", "Basti"];

/// A deed of the diary, so that a later one can correct it.
#[derive(Debug, Clone, Copy)]
pub struct Page(usize);

struct Entry {
    on: Date,
    recorded: Date,
    /// Within a day: what others of the day rest on comes first.
    rank: u8,
    by: &'static str,
    what: What,
}

enum What {
    Done(Deed),
    Correct {
        page: Page,
        right: Map<String, Value>,
        reason: &'static str,
    },
}

/// The diary under way.
#[derive(Default)]
pub struct Diary(Vec<Entry>);

impl Diary {
    /// Writes a deed down on the evening of its day. Days the demo has not seen yet stay blank.
    pub fn write(&mut self, on: Date, by: &'static str, deed: Deed) -> Option<Page> {
        self.add(on, 0, 1, by, What::Done(deed))
    }

    /// Writes a deed down that others of its day rest on.
    pub fn write_first(&mut self, on: Date, by: &'static str, deed: Deed) {
        self.add(on, 0, 0, by, What::Done(deed));
    }

    /// Writes a deed down some days late.
    pub fn write_late(&mut self, on: Date, days: i32, by: &'static str, deed: Deed) {
        self.add(on, days, 1, by, What::Done(deed));
    }

    /// Corrects an earlier deed.
    pub fn correct(
        &mut self,
        on: Date,
        page: Page,
        right: Map<String, Value>,
        reason: &'static str,
    ) {
        let what = What::Correct {
            page,
            right,
            reason,
        };
        self.add(on, 0, 1, OFFICE, what);
    }

    fn add(&mut self, on: Date, late: i32, rank: u8, by: &'static str, what: What) -> Option<Page> {
        let recorded = plus_days(on, late);
        if on < OPENED || recorded >= AS_OF {
            return None;
        }
        self.0.push(Entry {
            on,
            recorded,
            rank,
            by,
            what,
        });
        Some(Page(self.0.len() - 1))
    }

    /// The acts in the order in which they are recorded, each with a name that holds its moment.
    pub fn acts(self, draw: &mut Draw) -> Result<Vec<Act>> {
        let mut order: Vec<usize> = (0..self.0.len()).collect();
        order.sort_by_key(|&at| (self.0[at].recorded, self.0[at].rank));
        let mut ids: BTreeMap<usize, ActId> = BTreeMap::new();
        let (mut day, mut of_day) = (OPENED, 0);
        for &at in &order {
            if self.0[at].recorded != day {
                (day, of_day) = (self.0[at].recorded, 0);
            }
            ids.insert(at, id(day, of_day, draw)?);
            of_day += 1;
        }
        let mut entries: Vec<Option<Entry>> = self.0.into_iter().map(Some).collect();
        let acts = order.into_iter().filter_map(|at| {
            let entry = entries[at].take()?;
            let deed = match entry.what {
                What::Done(deed) => deed,
                What::Correct {
                    page,
                    right,
                    reason,
                } => Deed::Correct(Correct {
                    corrects: ids[&page.0].clone(),
                    right: Some(right),
                    reason: reason.to_owned(),
                }),
            };
            Some(Act::new(
                ids[&at].clone(),
                entry.on,
                entry.by.to_owned(),
                deed,
            ))
        });
        Ok(acts.collect())
    }
}

/// The name of the day's next act: written in the evening, a few seconds after the one before.
fn id(day: Date, of_day: u64, draw: &mut Draw) -> Result<ActId> {
    let evening = TimeZone::UTC.to_timestamp(day.at(17, 30, 0, 0))?;
    let millis = evening.as_millisecond().unsigned_abs() + 4_000 * of_day;
    let id = Ulid::from_parts(millis, draw.bits().into());
    ActId::try_from(id.to_string()).map_err(anyhow::Error::msg)
}

/// The acts as lines of a file.
pub fn lines(acts: &[Act]) -> String {
    let mut lines = String::new();
    for act in acts {
        lines.push_str(&act.to_json().to_string());
        lines.push('\n');
    }
    lines
}

/// What the demo's acts are decided on.
struct Scene<'a> {
    catalogue: &'a Catalogue,
    past: BTreeMap<ActId, PastAct>,
}

impl World for Scene<'_> {
    fn catalogue(&self) -> &Catalogue {
        self.catalogue
    }

    fn past(&self, act: &ActId) -> Option<PastAct> {
        self.past.get(act).cloned()
    }

    fn odds(&self, _order: &str, _line: &str) -> Option<Map<String, Value>> {
        None
    }

    fn plan(&self, _run: &str) -> Option<Map<String, Value>> {
        None
    }
}

/// The books after all acts; a refusal is an error.
pub fn books(catalogue: &Catalogue, acts: impl IntoIterator<Item = Act>) -> Result<Books> {
    let mut books = Books::default();
    let mut scene = Scene {
        catalogue,
        past: BTreeMap::new(),
    };
    for act in acts {
        let when = When {
            on: act.on,
            number: books.number + 1,
        };
        let events = match record(&mut books, &scene, &act, when.number) {
            Ok(events) => events,
            Err(refusal) => bail!("{}: {}; {}", act.to_json(), refusal.why, refusal.mend),
        };
        books.number = when.number;
        scene
            .past
            .insert(act.id.clone(), PastAct { act, when, events });
    }
    Ok(books)
}

/// The acts that set the nursery's tables on the day the books open.
pub fn opening(deeds: Vec<Deed>, draw: &mut Draw) -> Result<Vec<Act>> {
    deeds
        .into_iter()
        .map(|deed| {
            let id = Ulid::from_parts(0, draw.bits().into()).to_string();
            let id = ActId::try_from(id)
                .map_err(anyhow::Error::msg)
                .context("an id")?;
            Ok(Act::new(id, OPENED, OFFICE.to_owned(), deed))
        })
        .collect()
}
