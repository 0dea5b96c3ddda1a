//! A nursery file that several people look at and write to at once.
//!
//! One holder of the file writes; others, each over a connection of its own, read. What they read is
//! a [`Sight`]: the books of one moment, shared and never changed, so that nobody waits for a writer.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use futures::case::Order;
use jiff::civil::Date;
use nursery::catalogue::Catalogue;
use nursery::ids::LotName;
use serde_json::Value;
use store::Reading;

use super::{
    Books, Enquiry, LotAnswer, Maker, NurseryFile, OddsNow, Outlook, PlantNames, PromiseAnswer,
    RecordAnswer, WeekAnswer, WorkDone,
};
use super::{load_ledger, load_standing};
use crate::error::{AppError, Kind};
use crate::frost::{Evening, FrostAnswer, FrostSite};
use crate::run::{RunOptions, Watch};
use crate::sky::{SkyAnswer, sky};
use crate::water::{WaterAnswer, water};

/// The nursery as it is known at one moment.
#[derive(Clone)]
pub struct Sight {
    /// The books.
    pub books: Arc<Books>,
    catalogue: Arc<Catalogue>,
    /// How often the settings have changed since the desk was opened.
    settings: u64,
}

/// What an answer rests on that follows from settings, weather and day alone, whatever stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Basis {
    day: Date,
    settings: u64,
    weather: Option<String>,
}

/// An answer that is kept until what it rests on changes.
pub struct Memo<B, T> {
    kept: Mutex<Option<(B, Arc<T>)>>,
}

impl<B, T> Default for Memo<B, T> {
    fn default() -> Self {
        Self {
            kept: Mutex::new(None),
        }
    }
}

impl<B: PartialEq, T> Memo<B, T> {
    /// The answer kept, or one made now. While it is made, others who ask wait for it.
    pub fn get(
        &self,
        basis: B,
        make: impl FnOnce() -> Result<T, AppError>,
    ) -> Result<Arc<T>, AppError> {
        let mut kept = locked(&self.kept);
        if let Some((of, answer)) = &*kept
            && *of == basis
        {
            return Ok(Arc::clone(answer));
        }
        let answer = Arc::new(make()?);
        *kept = Some((basis, Arc::clone(&answer)));
        Ok(answer)
    }
}

/// The desk.
pub struct Desk {
    writer: Mutex<NurseryFile>,
    readers: Mutex<Vec<NurseryFile>>,
    sight: RwLock<Sight>,
    outlook: Memo<Basis, Outlook>,
    work: Mutex<WorkDone>,
    week: Memo<(Basis, u64), WeekAnswer>,
    standing: Memo<(Basis, u64), Vec<LotAnswer>>,
    names: Memo<u64, PlantNames>,
    frost: Memo<(Basis, u64), FrostSite>,
    sky: Memo<(Basis, BTreeSet<String>, Option<Date>), SkyAnswer>,
    water: Memo<(Basis, u64), WaterAnswer>,
    odds: RwLock<OddsKept>,
    /// Promises made since the odds were drawn. Whoever makes one holds it, so that no plant is promised twice.
    promised: Mutex<Vec<Promised>>,
    answers: Mutex<Answers>,
}

/// Answers to enquiries, for as long as the odds and the promises made from them stay.
#[derive(Default)]
struct Answers {
    of: Option<AnswersOf>,
    kept: BTreeMap<Enquiry, PromiseAnswer>,
}

/// What answers hold for: the odds by where they lie and their last entry, promises made since.
type AnswersOf = (usize, u64, usize);

/// Answers kept at most; a busy hour of telephone asks less.
const MOST_ANSWERS: usize = 1_000;

impl Answers {
    fn get(&mut self, of: AnswersOf, enquiry: &Enquiry) -> Option<PromiseAnswer> {
        if self.of != Some(of) {
            self.of = Some(of);
            self.kept.clear();
        }
        self.kept.get(enquiry).cloned()
    }

    fn keep(&mut self, of: AnswersOf, enquiry: &Enquiry, answer: &PromiseAnswer) {
        if self.of == Some(of) && self.kept.len() < MOST_ANSWERS {
            self.kept.insert(enquiry.clone(), answer.clone());
        }
    }
}

/// A promise that the odds do not know from the books yet.
struct Promised {
    /// The last entry of it.
    number: u64,
    line: Order,
    target: f64,
}

/// A promise is an order and a promise in the ledger.
const ENTRIES_OF_PROMISE: u64 = 2;

/// What odds rest on: settings, weather and day, the last entry, the plan they follow.
type OddsBasis = (Basis, u64, Option<String>);

/// The odds drawn last.
#[derive(Default)]
struct OddsKept {
    /// What was looked at last, whether odds came of it or not.
    looked_at: Option<OddsBasis>,
    now: Option<Arc<OddsNow>>,
    /// Why there are none, or none newer.
    failed: Option<AppError>,
}

/// How the odds stand.
#[derive(Clone)]
pub struct OddsState {
    /// The odds drawn last; none before any were.
    pub now: Option<Arc<OddsNow>>,
    /// Why none could be drawn from what is known now.
    pub failed: Option<AppError>,
    /// Whether something has changed since they were drawn.
    pub is_stale: bool,
}

/// Nothing is left half-done under these locks, so that one who died under it harms nobody.
fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// Opens a nursery file.
    pub fn open(path: &Path) -> Result<Self, AppError> {
        Ok(Self::over(NurseryFile::open(path)?))
    }

    /// Sits down over a nursery file that is open.
    pub fn over(file: NurseryFile) -> Self {
        let sight = Sight {
            books: Arc::clone(&file.books),
            catalogue: Arc::clone(&file.catalogue),
            settings: 0,
        };
        Self {
            writer: Mutex::new(file),
            readers: Mutex::default(),
            sight: RwLock::new(sight),
            outlook: Memo::default(),
            work: Mutex::default(),
            week: Memo::default(),
            standing: Memo::default(),
            names: Memo::default(),
            frost: Memo::default(),
            sky: Memo::default(),
            water: Memo::default(),
            odds: RwLock::default(),
            promised: Mutex::default(),
            answers: Mutex::default(),
        }
    }

    /// Reads the nursery as it is now, whichever program wrote last.
    pub fn read<T>(
        &self,
        ask: impl FnOnce(&NurseryFile, &Sight) -> Result<T, AppError>,
    ) -> Result<T, AppError> {
        let mut reader = self.reader()?;
        let sight = self.sight_at_head(&reader)?;
        reader.books = Arc::clone(&sight.books);
        reader.catalogue = Arc::clone(&sight.catalogue);
        let answer = ask(&reader, &sight);
        locked(&self.readers).push(reader);
        answer
    }

    /// Records an act.
    pub fn record(&self, act: &Value, recorded_at: &str) -> Result<RecordAnswer, AppError> {
        let mut answers = self.write(|file| {
            let mut answers = Vec::new();
            file.record_lines(&act.to_string(), recorded_at, &mut |answer| {
                answers.push(answer);
                Ok(())
            })?;
            Ok(answers)
        })?;
        Ok(answers.pop().expect("a line has an answer"))
    }

    /// Changes the nursery file, alone.
    pub fn write<T>(
        &self,
        change: impl FnOnce(&mut NurseryFile) -> Result<T, AppError>,
    ) -> Result<T, AppError> {
        let mut writer = self.writer()?;
        writer.catch_up()?;
        let answer = change(&mut writer);
        self.publish(&writer);
        answer
    }

    /// What settings and weather let expect of lots from a day on.
    pub fn outlook(
        &self,
        file: &NurseryFile,
        sight: &Sight,
        day: Date,
    ) -> Result<Arc<Outlook>, AppError> {
        self.outlook_on(sight.basis(file, day)?, file, sight)
    }

    fn outlook_on(
        &self,
        basis: Basis,
        file: &NurseryFile,
        sight: &Sight,
    ) -> Result<Arc<Outlook>, AppError> {
        let day = basis.day;
        self.outlook.get(basis, || file.outlook(&sight.books, day))
    }

    /// The week's work.
    pub fn week(&self, day: Date) -> Result<Arc<WeekAnswer>, AppError> {
        self.read(|file, sight| {
            let basis = sight.basis(file, day)?;
            let outlook = self.outlook_on(basis.clone(), file, sight)?;
            let basis = (basis, sight.books.number);
            self.week.get(basis, || {
                let mut work = locked(&self.work);
                file.follow(&sight.books, &mut work)?;
                file.week_with(&sight.books, day, &work, &outlook)
            })
        })
    }

    /// What stands.
    pub fn standing(&self, day: Date) -> Result<Arc<Vec<LotAnswer>>, AppError> {
        self.read(|file, sight| {
            let basis = sight.basis(file, day)?;
            let outlook = self.outlook_on(basis.clone(), file, sight)?;
            let basis = (basis, sight.books.number);
            self.standing.get(basis, || {
                Ok(file.standing_with(&sight.books, day, &outlook))
            })
        })
    }

    /// The heat and the bark of the year; heat since another day than the season's first where one is
    /// asked for.
    pub fn sky(&self, day: Date, since: Option<Date>) -> Result<Arc<SkyAnswer>, AppError> {
        self.read(|file, sight| {
            let basis = (sight.basis(file, day)?, sight.rootstocks(), since);
            let make = || sky(&load_ledger(file, &sight.books, day)?, day, since);
            self.sky.get(basis, make)
        })
    }

    /// What is to be watered. What is held drinks, too.
    pub fn water(&self, day: Date) -> Result<Arc<WaterAnswer>, AppError> {
        self.read(|file, sight| {
            let basis = (sight.basis(file, day)?, sight.books.number);
            let make = || water(&load_standing(file, &sight.books, day)?);
            self.water.get(basis, make)
        })
    }

    /// The frost after an evening that was read, else after one that was noted. What is held freezes, too.
    /// Kept is what holds of every evening, so that what is typed takes no room.
    pub fn frost(&self, day: Date, evening: Option<Evening>) -> Result<FrostAnswer, AppError> {
        let site = self.read(|file, sight| {
            let basis = (sight.basis(file, day)?, sight.books.number);
            let make = || FrostSite::of(&load_standing(file, &sight.books, day)?);
            self.frost.get(basis, make)
        })?;
        site.on(evening)
    }

    /// The frost of a day whose evening is noted.
    pub fn frost_as_noted(&self, day: Date) -> Result<Option<FrostAnswer>, AppError> {
        let is_noted = self.read(|_, sight| {
            let settings = &sight.books.settings;
            Ok(settings.row("night", &day.to_string(), day).is_some())
        })?;
        is_noted.then(|| self.frost(day, None)).transpose()
    }

    /// How the odds stand, without drawing any.
    pub fn odds(&self, day: Date) -> Result<OddsState, AppError> {
        let basis = self.read(|file, sight| odds_basis(file, sight, day))?;
        let kept = self.odds.read().unwrap_or_else(PoisonError::into_inner);
        Ok(OddsState {
            now: kept.now.clone(),
            failed: kept.failed.clone(),
            is_stale: kept.looked_at.as_ref() != Some(&basis),
        })
    }

    /// Draws the odds anew where anything they rest on has changed, and keeps them with the nursery file. Tells
    /// whether it drew any. Pages that are asked for meanwhile have the odds drawn before.
    pub fn refresh_odds(
        &self,
        day: Date,
        options: &RunOptions,
        watch: &Watch<'_>,
        made_at: &str,
    ) -> Result<bool, AppError> {
        let (basis, drawn) = self.read(|file, sight| {
            let basis = odds_basis(file, sight, day)?;
            let kept = self.odds.read().unwrap_or_else(PoisonError::into_inner);
            if kept.looked_at.as_ref() == Some(&basis) {
                return Ok((basis, None));
            }
            drop(kept);
            Ok((
                basis,
                Some(file.odds_now(&sight.books, day, options, watch)),
            ))
        })?;
        let Some(drawn) = drawn else {
            return Ok(false);
        };
        let (now, failed) = match drawn {
            // Pages read what is kept: it is there before the odds count as fresh. Odds that could not be kept
            // still answer enquiries.
            Ok(odds) => {
                let kept = self.read(|file, _| file.keep_odds(&odds, made_at));
                (Some(Arc::new(odds)), kept.err())
            }
            Err(error) => (None, Some(error)),
        };
        self.publish_odds(basis, now, failed)?;
        Ok(true)
    }

    /// Shows odds from now on, with the promises made while they were drawn; where none could be drawn, those
    /// before stay, and why.
    fn publish_odds(
        &self,
        basis: OddsBasis,
        now: Option<Arc<OddsNow>>,
        failed: Option<AppError>,
    ) -> Result<(), AppError> {
        let mut promised = locked(&self.promised);
        if let Some(odds) = &now {
            promised.retain(|it| it.number > odds.number);
            for it in promised.iter() {
                odds.add(&it.line, it.target)?;
            }
        }
        let mut kept = self.odds.write().unwrap_or_else(PoisonError::into_inner);
        kept.looked_at = Some(basis);
        kept.failed = failed;
        if now.is_some() {
            kept.now = now;
        }
        Ok(())
    }

    /// Answers an enquiry; none before any odds were drawn.
    pub fn promise(&self, day: Date, enquiry: &Enquiry) -> Result<Option<PromiseAnswer>, AppError> {
        let Some(odds) = self.odds(day)?.now else {
            return Ok(None);
        };
        let promised = locked(&self.promised).len();
        let of = (Arc::as_ptr(&odds) as usize, odds.number, promised);
        if let Some(answer) = locked(&self.answers).get(of, enquiry) {
            return Ok(Some(answer));
        }
        let answer = self.read(|file, sight| file.promise(&sight.books, &odds, enquiry))?;
        locked(&self.answers).keep(of, enquiry, &answer);
        Ok(Some(answer))
    }

    /// Makes the promise of all plants that an enquiry asks for: the order and the promise in the ledger, and
    /// their plants taken for whoever asks next. Gives the order's name; sent again, it is the same promise.
    ///
    /// # Errors
    /// No odds were drawn yet, or not so many can be promised.
    pub fn make_promise(
        &self,
        day: Date,
        enquiry: &Enquiry,
        maker: &Maker,
        recorded_at: &str,
    ) -> Result<String, AppError> {
        let mut promised = locked(&self.promised);
        if let Some(order) = self.read(|file, _| file.order_of_act(&maker.ids[0]))? {
            return Ok(order);
        }
        let odds = self.odds_to_promise_from(day, &promised)?;
        let (order, number, made) = self.write(|file| {
            let made = file.makeable(&file.books, &odds, enquiry, maker)?;
            let (line, target) = (made.line.clone(), made.target);
            let order = made.promise.line.0.clone();
            match file.record_promise(made.promise, recorded_at)? {
                Ok(_) => Ok((order, file.books.number, (line, target))),
                Err(refused) => Err(AppError::new(
                    Kind::Invalid,
                    refused.why.unwrap_or_default(),
                    "the promise",
                    refused.mend.unwrap_or_default(),
                )),
            }
        })?;
        let (line, target) = made;
        odds.add(&line, target)?;
        promised.push(Promised {
            number,
            line,
            target,
        });
        Ok(order)
    }

    /// Odds that know of everything in the books but the promises made from them.
    fn odds_to_promise_from(
        &self,
        day: Date,
        promised: &[Promised],
    ) -> Result<Arc<OddsNow>, AppError> {
        let state = self.odds(day)?;
        if let Some(failed) = state.failed {
            return Err(failed);
        }
        let number = self.read(|_, sight| Ok(sight.books.number))?;
        let own = promised.len() as u64 * ENTRIES_OF_PROMISE;
        match state.now {
            Some(odds) if odds.as_of == day && odds.number + own == number => Ok(odds),
            _ => Err(AppError::new(
                Kind::Invalid,
                "something was recorded just now, and the futures are being drawn anew",
                "the enquiry",
                "try again in a moment: nothing was promised",
            )),
        }
    }

    /// Names of varieties and rootstocks.
    pub fn plant_names(&self) -> Result<Arc<PlantNames>, AppError> {
        self.read(|file, sight| self.names.get(sight.settings, || Ok(file.plant_names())))
    }

    /// The one who writes. After one who died at it the books are made anew: they may be ahead of what
    /// is kept.
    fn writer(&self) -> Result<MutexGuard<'_, NurseryFile>, AppError> {
        match self.writer.lock() {
            Ok(writer) => Ok(writer),
            Err(died) => {
                let mut writer = died.into_inner();
                writer.reload()?;
                self.writer.clear_poison();
                Ok(writer)
            }
        }
    }

    fn reader(&self) -> Result<NurseryFile, AppError> {
        let idle = locked(&self.readers).pop();
        match idle {
            Some(reader) => Ok(reader),
            None => self.writer()?.beside(),
        }
    }

    /// The last sight, or a new one where the ledger went on.
    fn sight_at_head(&self, reader: &NurseryFile) -> Result<Sight, AppError> {
        let number = reader.asked(reader.ledger.number())?;
        let sight = self.sight();
        if sight.books.number >= number {
            return Ok(sight);
        }
        let mut writer = self.writer()?;
        writer.catch_up()?;
        self.publish(&writer);
        Ok(self.sight())
    }

    fn sight(&self) -> Sight {
        let sight = self.sight.read().unwrap_or_else(PoisonError::into_inner);
        sight.clone()
    }

    /// Shows what the writer holds from now on.
    fn publish(&self, writer: &NurseryFile) {
        let mut sight = self.sight.write().unwrap_or_else(PoisonError::into_inner);
        if Arc::ptr_eq(&sight.books, &writer.books) {
            return;
        }
        if sight.books.settings != writer.books.settings {
            sight.settings += 1;
        }
        sight.books = Arc::clone(&writer.books);
        sight.catalogue = Arc::clone(&writer.catalogue);
    }
}

fn odds_basis(file: &NurseryFile, sight: &Sight, day: Date) -> Result<OddsBasis, AppError> {
    let plan = file.odds_follow(&sight.books, day)?;
    Ok((sight.basis(file, day)?, sight.books.number, plan))
}

impl Sight {
    /// Rootstocks of lots, orders and seed, on which the sky of a nursery looks.
    fn rootstocks(&self) -> BTreeSet<String> {
        let of_lots = self.books.lots.values().map(|it| &it.rootstock);
        let of_seed = self.books.batches.values().map(|it| &it.seed.rootstock);
        let orders = self.books.orders.values();
        let lines = orders.flat_map(|it| it.lines.values().filter_map(|line| line.now()));
        let of_orders = lines.flat_map(|line| &line.rootstocks);
        let all = of_lots.chain(of_seed).chain(of_orders);
        all.map(ToString::to_string).collect()
    }

    /// Whether there is or was a lot of the name.
    pub fn has_lot(&self, name: &str) -> bool {
        self.books.lots.contains_key(&LotName::from(name))
    }

    /// What an answer of a day rests on, apart from what stands.
    pub fn basis(&self, file: &NurseryFile, day: Date) -> Result<Basis, AppError> {
        Ok(Basis {
            day,
            settings: self.settings,
            weather: file.weather_hash()?,
        })
    }
}
