//! Acts come in: each is decided on the books at the ledger's end and kept with its outcome.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;
use nursery::catalogue::Catalogue;
use nursery::ledger::{Act, ActId, Books, Deed, Event, Outcome, PastAct, Refusal, World, record};
use serde::Serialize;
use serde_json::{Map, Value};
use store::{Ledger, NewEntry, Reading, SqliteLedger, Writing};

use super::plans::is_plan;
use super::{NurseryFile, catalogue_of, fold, names::Names, past_act};
use crate::error::AppError;

/// So many acts are written at once: durable together, and answered together.
const BATCH: usize = 2_000;

/// What came of an act, for its sender.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordAnswer {
    /// The act's id, where it has one.
    pub id: Option<String>,
    /// The line of the file it stands on, counted from 1; none of the program's own acts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// `done`, `same` or `refused`.
    pub outcome: &'static str,
    /// What changed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub events: Option<Vec<Event>>,
    /// Why it was refused.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// What would work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mend: Option<String>,
    /// How somebody settled it after it was refused: `taken`, `changed` or `left_out`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub settled: Option<&'static str>,
}

impl RecordAnswer {
    fn refused(id: Option<String>, refusal: Refusal) -> Self {
        Self {
            id,
            line: None,
            outcome: "refused",
            events: None,
            why: Some(refusal.why),
            mend: Some(refusal.mend),
            settled: None,
        }
    }

    fn done(id: String, outcome: &'static str, events: Vec<Event>) -> Self {
        Self {
            id: Some(id),
            line: None,
            outcome,
            events: Some(events),
            why: None,
            mend: None,
            settled: None,
        }
    }
}

/// An act as it came in, with ids in the place of names.
struct Received<'a> {
    value: Value,
    act: Result<Act, Refusal>,
    recorded_at: &'a str,
}

/// What a sender sent, and when it is recorded.
type Sent<'a> = (Result<Value, Refusal>, &'a str);

/// What is known of the odds of lines, by order and line.
type Odds = BTreeMap<(String, String), Map<String, Value>>;

/// A new order with the promise of its line.
pub(super) struct NewPromise {
    /// The order and the promise.
    pub acts: [Value; 2],
    /// Order and line.
    pub line: (String, String),
    /// The odds that were told.
    pub told: Map<String, Value>,
}

/// What the ledger's derived runs tell, looked up before a write.
#[derive(Default)]
struct Runs {
    odds: Odds,
    plans: BTreeMap<String, Map<String, Value>>,
}

/// The world as an act meets it.
struct Scene<'a> {
    catalogue: &'a Catalogue,
    reading: &'a dyn Reading,
    runs: &'a Runs,
}

impl World for Scene<'_> {
    fn catalogue(&self) -> &Catalogue {
        self.catalogue
    }

    fn past(&self, act: &ActId) -> Option<PastAct> {
        let entry = self.reading.done(act.as_str()).ok()??;
        past_act(&entry)
    }

    fn odds(&self, order: &str, line: &str) -> Option<Map<String, Value>> {
        let key = (order.to_owned(), line.to_owned());
        self.runs.odds.get(&key).cloned()
    }

    fn plan(&self, run: &str) -> Option<Map<String, Value>> {
        self.runs.plans.get(run).cloned()
    }
}

impl NurseryFile {
    /// Records acts given as the lines of a file, one JSON object each; empty lines are passed over.
    ///
    /// `answer` gets what came of them in their order, each after it is durable.
    pub fn record_lines(
        &mut self,
        text: &str,
        recorded_at: &str,
        answer: &mut dyn FnMut(RecordAnswer) -> Result<(), AppError>,
    ) -> Result<(), AppError> {
        let numbered = text.lines().zip(1..);
        let lines: Vec<(&str, usize)> = numbered.filter(|(it, _)| !it.trim().is_empty()).collect();
        for batch in lines.chunks(BATCH) {
            let sent = batch.iter().map(|(line, _)| (parsed(line), recorded_at));
            let answers = self.write(sent.collect(), false, Odds::new())?;
            for (it, (_, number)) in answers.into_iter().zip(batch) {
                answer(RecordAnswer {
                    line: Some(*number),
                    ..it
                })?;
            }
        }
        self.keep_snapshot();
        Ok(())
    }

    /// Records acts of the program's own, such as those of an import, each at its moment: all of
    /// them, or none.
    pub(crate) fn record_all(
        &mut self,
        acts: Vec<(Value, &str)>,
    ) -> Result<Result<usize, RecordAnswer>, AppError> {
        let sent = acts.into_iter().map(|(act, at)| (Ok(act), at)).collect();
        let answers = self.write(sent, true, Odds::new())?;
        self.all_done(&answers)
    }

    /// Records a new order with the promise of its line and the odds that were told: all of it, or none.
    pub(super) fn record_promise(
        &mut self,
        promise: NewPromise,
        recorded_at: &str,
    ) -> Result<Result<usize, RecordAnswer>, AppError> {
        let NewPromise { acts, line, told } = promise;
        let sent = acts.into_iter().map(|act| (Ok(act), recorded_at)).collect();
        let answers = self.write(sent, true, Odds::from([(line, told)]))?;
        self.all_done(&answers)
    }

    /// How many acts were done; the refusal where one was refused, so that none was.
    fn all_done(
        &mut self,
        answers: &[RecordAnswer],
    ) -> Result<Result<usize, RecordAnswer>, AppError> {
        match answers.iter().find(|it| it.outcome == "refused") {
            Some(refused) => {
                self.reload()?;
                Ok(Err(refused.clone()))
            }
            None => Ok(Ok(answers.iter().filter(|it| it.outcome == "done").count())),
        }
    }

    fn write(
        &mut self,
        sent: Vec<Sent<'_>>,
        all_or_none: bool,
        told: Odds,
    ) -> Result<Vec<RecordAnswer>, AppError> {
        let mut names = Names::default();
        let mut received = Vec::new();
        for (value, recorded_at) in sent {
            received.push(match value {
                Ok(mut value) => {
                    names
                        .hide(&self.ledger, &mut value)
                        .map_err(|it| self.failed(&it))?;
                    let act = Act::from_json(&value);
                    Ok(Received {
                        value,
                        act,
                        recorded_at,
                    })
                }
                Err(refusal) => Err(refusal),
            });
        }
        let mut runs = self.runs_for(&received)?;
        runs.odds.extend(told);
        let written = write_batch(
            &mut self.ledger,
            Arc::make_mut(&mut self.books),
            &mut self.catalogue,
            &runs,
            received,
            all_or_none,
        );
        match written {
            Ok(answers) => Ok(answers),
            Err(error) => {
                // The books may be ahead of what is durable.
                let failure = self.failed(&error);
                self.reload()?;
                Err(failure)
            }
        }
    }

    /// The runs that the acts of a batch refer to.
    fn runs_for(&self, received: &[Result<Received<'_>, Refusal>]) -> Result<Runs, AppError> {
        let mut runs = Runs::default();
        let acts = received
            .iter()
            .flatten()
            .filter_map(|it| it.act.as_ref().ok());
        for act in acts {
            match &act.deed {
                Deed::AcceptPlan(deed) => {
                    let run = self.asked(self.ledger.run(&deed.run))?;
                    let plan = run
                        .filter(|it| is_plan(&it.kind))
                        .and_then(|it| object(&it.bytes));
                    if let Some(plan) = plan {
                        runs.plans.insert(deed.run.clone(), plan);
                    }
                }
                Deed::Promise(deed) => {
                    let run = self.odds_bytes(&self.books, act.on)?;
                    if let Some(odds) = run.and_then(|it| odds_of(&it, &deed.order, &deed.line)) {
                        runs.odds
                            .insert((deed.order.clone(), deed.line.clone()), odds);
                    }
                }
                _ => {}
            }
        }
        Ok(runs)
    }
}

/// Writes a batch in one transaction: folds to the end, decides each act, appends it.
fn write_batch(
    ledger: &mut SqliteLedger,
    books: &mut Books,
    catalogue: &mut Arc<Catalogue>,
    runs: &Runs,
    received: Vec<Result<Received<'_>, Refusal>>,
    all_or_none: bool,
) -> store::Result<Vec<RecordAnswer>> {
    let mut writing = ledger.write()?;
    if writing.number()? != books.number {
        let settings = books.settings.clone();
        fold(&*writing, books)?;
        if settings != books.settings {
            *catalogue = Arc::new(catalogue_of(books));
        }
    }
    let mut answers = Vec::new();
    for it in received {
        let answer = match it {
            Ok(it) => take(&mut *writing, books, catalogue, runs, it)?,
            Err(refusal) => RecordAnswer::refused(None, refusal),
        };
        let is_refused = answer.outcome == "refused";
        answers.push(answer);
        if is_refused && all_or_none {
            return Ok(answers);
        }
    }
    writing.commit()?;
    Ok(answers)
}

/// Takes one act in.
fn take(
    writing: &mut dyn Writing,
    books: &mut Books,
    catalogue: &mut Arc<Catalogue>,
    runs: &Runs,
    received: Received<'_>,
) -> store::Result<RecordAnswer> {
    let id = received
        .value
        .get("id")
        .and_then(Value::as_str)
        .map(str::to_owned);
    let Some(id) = id else {
        let refusal = received.act.err().unwrap_or_else(no_id);
        return Ok(RecordAnswer::refused(None, refusal));
    };
    if let Some(entry) = writing.done(&id)? {
        return Ok(again(id, &received, past_act(&entry)));
    }
    if let Some(answer) = unsettled(writing, books, &id, &received)? {
        return Ok(answer);
    }
    let scene = Scene {
        catalogue,
        reading: &*writing,
        runs,
    };
    let decided = received.act.as_ref().map_err(Clone::clone).and_then(|act| {
        has_come(act, received.recorded_at)?;
        record(books, &scene, act, books.number + 1)
    });
    let outcome = match decided {
        Ok(events) => Outcome::Done(events),
        Err(refusal) => Outcome::Refused(refusal),
    };
    let entry = writing.push(NewEntry {
        act_id: id.clone(),
        recorded_at: received.recorded_at.to_owned(),
        done: matches!(outcome, Outcome::Done(_)),
        act: serde_json::to_vec(&received.value).expect("a value has text keys only"),
        outcome: outcome.encode(),
    })?;
    books.number = entry.seq;
    Ok(match outcome {
        Outcome::Done(events) => {
            if events.iter().any(changes_catalogue) {
                *catalogue = Arc::new(catalogue_of(books));
            }
            RecordAnswer::done(id, "done", events)
        }
        Outcome::Refused(refusal) => {
            books.note_refused(&id, entry.seq, &received.value);
            RecordAnswer::refused(Some(id), refusal)
        }
    })
}

/// An entry from the field is of a day that has come somewhere on earth, or the clock it was made by is wrong.
fn has_come(act: &Act, recorded_at: &str) -> Result<(), Refusal> {
    let day = recorded_at.get(..10).and_then(|it| it.parse::<Date>().ok());
    let last = day.and_then(|it| it.tomorrow().ok());
    if act.at.is_none() || last.is_none_or(|last| act.on <= last) {
        return Ok(());
    }
    Err(Refusal {
        why: format!("{} has not come yet; the phone's clock is wrong", act.on),
        mend: "settle it with the day on which it was made".to_owned(),
    })
}

/// What is answered to an entry that was refused before and is sent once more: what was answered then, so that
/// sending again changes nothing; none where it is to be decided.
fn unsettled(
    writing: &mut dyn Writing,
    books: &Books,
    id: &str,
    received: &Received<'_>,
) -> store::Result<Option<RecordAnswer>> {
    if let Some(reason) = books.left_out.get(id) {
        let refusal = Refusal {
            why: format!("it was left out: {reason}"),
            mend: "enter it anew if it is needed after all".to_owned(),
        };
        return Ok(Some(RecordAnswer {
            settled: Some("left_out"),
            ..RecordAnswer::refused(Some(id.to_owned()), refusal)
        }));
    }
    let waiting = match books.to_settle.get(id) {
        Some(number) => writing.entry(*number)?,
        None => None,
    };
    let settles = !received.value["settled_by"].is_null();
    let stored: Option<Value> = waiting
        .as_ref()
        .and_then(|it| serde_json::from_slice(&it.act).ok());
    let is_of_it = |key: &str| {
        stored
            .as_ref()
            .is_some_and(|it| it[key] == received.value[key])
    };
    if stored.is_some() && !settles && !is_of_it("by") {
        return Ok(Some(RecordAnswer::refused(
            Some(id.to_owned()),
            of_another(),
        )));
    }
    if settles {
        let is_right = is_of_it("by") && is_of_it("at");
        let refused = || RecordAnswer::refused(Some(id.to_owned()), nothing_to_settle());
        return Ok((!is_right).then(refused));
    }
    let outcome = waiting
        .filter(|_| stored.is_some_and(|it| it == received.value))
        .map(|it| Outcome::decode(&it.outcome));
    Ok(match outcome {
        Some(Ok(Outcome::Refused(it))) => Some(RecordAnswer::refused(Some(id.to_owned()), it)),
        _ => None,
    })
}

fn nothing_to_settle() -> Refusal {
    Refusal {
        why: "no entry of this id, person and time waits to be settled".to_owned(),
        mend: "see the page To be settled".to_owned(),
    }
}

fn of_another() -> Refusal {
    Refusal {
        why: "an entry of this id by somebody else waits to be settled".to_owned(),
        mend: "give every act an id of its own; settle the other on the page To be settled"
            .to_owned(),
    }
}

fn settled_before() -> Refusal {
    Refusal {
        why: "somebody settled this entry before".to_owned(),
        mend: "see the book; to change what is there, correct it".to_owned(),
    }
}

/// An act of an id that was done: the same one is the same success, and so is one that somebody settled; another one
/// is refused, and who settles what somebody else has settled hears how.
fn again(id: String, received: &Received<'_>, past: Option<PastAct>) -> RecordAnswer {
    match (&received.act, past) {
        (Ok(act), Some(past)) if *act == past.act => RecordAnswer::done(id, "same", past.events),
        (Ok(act), Some(past)) if past.act.settled_by.is_some() => {
            let as_it_was = act.deed == past.act.deed && act.on == past.act.on;
            let answer = if act.settled_by.is_none() {
                RecordAnswer::done(id, "same", past.events)
            } else {
                RecordAnswer::refused(Some(id), settled_before())
            };
            RecordAnswer {
                settled: Some(if as_it_was { "taken" } else { "changed" }),
                ..answer
            }
        }
        _ => {
            let refusal = Refusal {
                why: "another act was done under this id".to_owned(),
                mend: "give every act an id of its own; to change one, correct it".to_owned(),
            };
            RecordAnswer::refused(Some(id), refusal)
        }
    }
}

fn no_id() -> Refusal {
    Refusal {
        why: "the act has no id".to_owned(),
        mend: "give it a ULID".to_owned(),
    }
}

fn changes_catalogue(event: &Event) -> bool {
    let of_catalogue = |what: &str| {
        matches!(
            what,
            "variety" | "rootstock" | "trait" | "combination" | "route"
        )
    };
    match event {
        Event::SettingSet(set) => of_catalogue(&set.what),
        Event::TakenBack { events, .. } => events.iter().any(changes_catalogue),
        _ => false,
    }
}

fn parsed(line: &str) -> Result<Value, Refusal> {
    serde_json::from_str(line).map_err(|error| {
        let words = error.to_string();
        let what = words.split(" at line ").next().unwrap_or_default();
        Refusal {
            why: format!("the line is no JSON: {what} at column {}", error.column()),
            mend: "write one JSON object a line".to_owned(),
        }
    })
}

fn object(bytes: &[u8]) -> Option<Map<String, Value>> {
    match serde_json::from_slice(bytes) {
        Ok(Value::Object(keys)) => Some(keys),
        _ => None,
    }
}

/// What a futures run tells of an order line, with what it was made from.
fn odds_of(bytes: &[u8], order: &str, line: &str) -> Option<Map<String, Value>> {
    let run = object(bytes)?;
    let lines = run.get("lines")?.as_array()?;
    let of_line = lines.iter().find(|it| {
        it.get("order").and_then(Value::as_str) == Some(order)
            && it.get("line").and_then(Value::as_str) == Some(line)
    })?;
    let mut odds = of_line.as_object()?.clone();
    for key in ["run", "futures", "seed", "made_from"] {
        if let Some(value) = run.get(key) {
            odds.insert(key.to_owned(), value.clone());
        }
    }
    Some(odds)
}
