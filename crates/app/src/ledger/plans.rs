//! The plans that are kept: which there are, which one is accepted, and whether it still holds.

use std::ops::ControlFlow;

use jiff::civil::Date;
use nursery::ledger::Books;
use serde::Deserialize;
use serde_json::Value;
use store::{Head, Ledger, Reading};

use super::NurseryFile;
use crate::answers::{LineAnswer, PlanAnswer, ShortAnswer};
use crate::compare::LineTally;
use crate::error::AppError;

/// The kind of run that a plan is.
pub(super) const PLAN: &str = "plan";
/// That of futures of a plan.
pub(super) const FUTURES: &str = "futures";
/// That of a plan made as if something were otherwise: it can be looked at and accepted, but what looks for the
/// last plan must not find it.
const PLAN_AS_IF: &str = "plan as if";
/// That of its futures.
const FUTURES_AS_IF: &str = "futures as if";

/// The kinds of run of a plan and of its futures, as they are kept.
pub fn kinds_of_runs(plan: &PlanAnswer) -> [&'static str; 2] {
    if plan.changes.is_empty() {
        [PLAN, FUTURES]
    } else {
        [PLAN_AS_IF, FUTURES_AS_IF]
    }
}

/// Whether a kind of run is that of plans, made as if something were otherwise or not.
pub(super) fn is_plan(kind: &str) -> bool {
    [PLAN, PLAN_AS_IF].contains(&kind)
}

/// A plan that is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptPlan {
    /// Its run.
    pub run: String,
    /// When it was made, as moments are recorded.
    pub made_at: String,
}

/// A kept plan in short.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanBrief {
    /// What it was made under as if it were otherwise.
    pub changes: Vec<String>,
    /// What it earns, minor units: in the mean of its futures, where it has them.
    pub profit: i64,
    /// The currency of that.
    pub currency: String,
    /// How its order lines stand.
    pub lines: LineTally,
}

/// What has changed since a plan was made.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Since {
    /// Acts done since, accepting of plans not counted.
    pub acts: u64,
    /// Whether the weather was taken in anew.
    pub weather: bool,
    /// Whether settings of its day are others now.
    pub settings: bool,
}

/// The plan that the week's work comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct AcceptedNow {
    /// Its run.
    pub run: String,
    /// The day it was accepted.
    pub on: Date,
    /// Who accepted it; none where the name was erased.
    pub by: Option<String>,
    /// The plan itself, as it was accepted; none where another version wrote it.
    pub plan: Option<PlanAnswer>,
    /// What has changed since it was made.
    pub since: Since,
}

/// Something without which no plan can be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needed {
    /// The settings of the nursery: name, place on the globe, currency.
    Settings,
    /// Weather.
    Weather,
    /// Places where plants stand.
    Places,
    /// Crews.
    Crews,
    /// What stands, or what is ordered.
    LotsOrOrders,
}

/// The keys of a kept plan that its short form needs; jobs are passed over.
#[derive(Deserialize)]
struct Keys {
    #[serde(default)]
    changes: Vec<String>,
    profit: i64,
    #[serde(default)]
    expected_profit: Option<i64>,
    currency: String,
    lines: Vec<LineAnswer>,
    short: Vec<ShortAnswer>,
}

/// What a run was made from.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
struct MadeFrom {
    as_of: Date,
    head: String,
    weather: Option<String>,
    settings: String,
}

#[derive(Deserialize)]
struct OnlyMadeFrom {
    made_from: MadeFrom,
}

#[derive(Deserialize)]
struct OnlyAct<'a> {
    act: &'a str,
}

impl NurseryFile {
    /// The plans that are kept, the one made last first.
    pub fn plans(&self) -> Result<Vec<KeptPlan>, AppError> {
        let mut kept = self.asked(self.ledger.runs(PLAN))?;
        let as_if = self.asked(self.ledger.runs(PLAN_AS_IF))?;
        if !as_if.is_empty() {
            kept.extend(as_if);
            kept.sort_by(|(_, one), (_, other)| other.cmp(one));
        }
        let kept = kept.into_iter();
        Ok(kept
            .map(|(run, made_at)| KeptPlan { run, made_at })
            .collect())
    }

    /// A plan that is kept; none where there is none of the name, or another version wrote it.
    pub fn plan(&self, run: &str) -> Result<Option<PlanAnswer>, AppError> {
        let bytes = self.plan_bytes(run)?;
        Ok(bytes.and_then(|it| serde_json::from_slice(&it).ok()))
    }

    /// A kept plan in short; none as above.
    pub fn plan_brief(&self, run: &str) -> Result<Option<PlanBrief>, AppError> {
        let bytes = self.plan_bytes(run)?;
        let Some(keys) = bytes.and_then(|it| serde_json::from_slice::<Keys>(&it).ok()) else {
            return Ok(None);
        };
        Ok(Some(PlanBrief {
            changes: keys.changes,
            profit: keys.expected_profit.unwrap_or(keys.profit),
            currency: keys.currency,
            lines: LineTally::of(&keys.lines, &keys.short),
        }))
    }

    /// The plan that is accepted on a day.
    pub fn accepted_plan(&self, books: &Books, day: Date) -> Result<Option<AcceptedNow>, AppError> {
        let Some(accepted) = books.plan_of(day) else {
            return Ok(None);
        };
        let made_from = serde_json::from_str::<OnlyMadeFrom>(&accepted.plan);
        let since = match made_from {
            Ok(it) => self.since(&it.made_from)?,
            Err(_) => Since::default(),
        };
        Ok(Some(AcceptedNow {
            run: accepted.run.clone(),
            on: accepted.when.on,
            by: self.who_did(accepted.when.number)?,
            plan: serde_json::from_str(&accepted.plan).ok(),
            since,
        }))
    }

    /// The futures that were drawn for a plan last, by their run's name.
    pub fn futures_of(&self, plan: &str) -> Result<Option<String>, AppError> {
        let [kept, as_if] = [FUTURES, FUTURES_AS_IF].map(|kind| self.asked(self.ledger.runs(kind)));
        Ok(kept?
            .into_iter()
            .chain(as_if?)
            .map(|(run, _)| run)
            .find(|run| is_of_plan(run, plan)))
    }

    /// What is still needed before a plan can be made.
    pub fn needed_for_plan(&self, books: &Books, day: Date) -> Result<Vec<Needed>, AppError> {
        let has = |what: &str| books.settings.rows(what, day).next().is_some();
        let stands = |it: &nursery::ledger::lot::Lot| it.on(day).is_some_and(|it| it.plants() > 0);
        let mut lines = books.orders.values().flat_map(|it| it.lines.values());
        let is_open = lines.any(|it| {
            it.on(day)
                .is_some_and(|line| line.plants > it.shipped_until(day))
        });
        let wanted = books.lots.values().any(stands) || is_open || has("demand");
        let there = [
            (Needed::Settings, has("nursery")),
            (Needed::Weather, self.weather_hash()?.is_some()),
            (Needed::Places, has("place")),
            (Needed::Crews, has("crew")),
            (Needed::LotsOrOrders, wanted),
        ];
        let missing = there.into_iter().filter(|(_, is_there)| !is_there);
        Ok(missing.map(|(what, _)| what).collect())
    }

    fn plan_bytes(&self, run: &str) -> Result<Option<Vec<u8>>, AppError> {
        let kept = self.asked(self.ledger.run(run))?;
        Ok(kept.filter(|it| is_plan(&it.kind)).map(|it| it.bytes))
    }

    /// What has changed since a run was made.
    fn since(&self, then: &MadeFrom) -> Result<Since, AppError> {
        let Ok(now) = serde_json::from_value::<MadeFrom>(self.made_from(then.as_of)?) else {
            return Ok(Since::default());
        };
        Ok(Since {
            acts: self.acts_after(&then.head)?,
            weather: now.weather != then.weather,
            settings: now.settings != then.settings,
        })
    }

    /// How many acts were done after a head, accepting of plans not counted.
    fn acts_after(&self, head: &str) -> Result<u64, AppError> {
        let seq = head.parse::<Head>().map_or(0, |it| it.seq);
        let mut acts = 0;
        let read = self.ledger.entries(seq, &mut |entry| {
            let act = serde_json::from_slice::<OnlyAct<'_>>(&entry.act);
            let is_acceptance = act.is_ok_and(|it| it.act == "accept_plan");
            acts += u64::from(entry.done && !is_acceptance);
            ControlFlow::Continue(())
        });
        self.asked(read)?;
        Ok(acts)
    }

    /// Who did the act of an entry.
    fn who_did(&self, number: u64) -> Result<Option<String>, AppError> {
        let Some(entry) = self.asked(self.ledger.entry(number))? else {
            return Ok(None);
        };
        let act = self.act_of(&entry.act_id)?;
        Ok(act.and_then(|it| it.get("by").and_then(Value::as_str).map(str::to_owned)))
    }
}

/// Whether a futures run is one of a plan: the plan's name, then how many and which seed.
fn is_of_plan(run: &str, plan: &str) -> bool {
    let rest = run.strip_prefix(plan).and_then(|it| it.strip_prefix('-'));
    let counted = rest.and_then(|it| it.split_once('x'));
    let is_number = |it: &str| !it.is_empty() && it.bytes().all(|digit| digit.is_ascii_digit());
    counted.is_some_and(|(futures, seed)| is_number(futures) && is_number(seed))
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use jiff::civil::date;
    use serde_json::json;

    use super::*;

    const DAY: Date = date(2027, 3, 1);
    const NOW: &str = "2027-03-01T12:00:00Z";

    fn file(folder: &tempfile::TempDir) -> NurseryFile {
        NurseryFile::create(&folder.path().join("a.barkslip")).expect("a file")
    }

    fn keep(file: &NurseryFile, run: &str) {
        let plan = json!({"run": run, "status": "optimal", "left_out": 0, "seconds": 1.0, "profit": 12_345,
            "currency": "EUR", "rows": 1, "columns": 1, "jobs": [], "scarce": [], "short": [], "warnings": [],
            "lines": [{"order": "O-1", "line": "1", "on_spec": false, "plants": 5, "planned_on_time": 5.0,
                "planned_late": 0.0, "on_time": 0.95, "by_latest": 0.99, "target": 0.9}]});
        file.keep_run("plan", run, &plan, DAY, NOW).expect("kept");
    }

    fn record(file: &mut NurseryFile, number: u32, keys: &Value) {
        let mut act = json!({"id": format!("01JNQ{number:021}"), "on": "2027-03-01", "by": "Ana"});
        let all = act.as_object_mut().expect("an object");
        all.extend(keys.as_object().expect("an object").clone());
        let mut outcome = "";
        file.record_lines(&act.to_string(), NOW, &mut |answer| {
            outcome = answer.outcome;
            Ok(())
        })
        .expect("recorded");
        assert_eq!(outcome, "done", "{act}");
    }

    #[test]
    fn a_plan_made_as_if_something_were_otherwise_is_no_last_plan() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut file = file(&folder);
        keep(&file, "plan-a");
        let mut as_if = file.plan("plan-a").expect("read").expect("kept");
        as_if.run = "plan-b".to_owned();
        as_if.changes = vec!["spring 3 weeks late".to_owned()];
        as_if.lines[0].target = 0.5;
        let [of_plan, of_futures] = kinds_of_runs(&as_if);
        let later = "2027-03-01T13:00:00Z";
        file.keep_run(of_plan, "plan-b", &as_if, DAY, later)
            .expect("kept");
        let futures = json!({"run": "plan-b-9x1"});
        file.keep_run(of_futures, "plan-b-9x1", &futures, DAY, later)
            .expect("kept");

        let runs: Vec<String> = file
            .plans()
            .expect("read")
            .into_iter()
            .map(|it| it.run)
            .collect();
        assert_eq!(runs, ["plan-b", "plan-a"]);
        let brief = file.plan_brief("plan-b").expect("read").expect("kept");
        assert_eq!(brief.changes, ["spring 3 weeks late"]);
        let drawn = file.futures_of("plan-b").expect("read");
        assert_eq!(drawn.as_deref(), Some("plan-b-9x1"));

        let books = Arc::clone(&file.books);
        let followed = file.odds_follow(&books, DAY).expect("read");
        assert_eq!(followed.as_deref(), Some("plan-a"));
        assert!(file.odds_bytes(&books, DAY).expect("read").is_none());
        let last: Option<Value> = file.last_run(PLAN).expect("read");
        assert_eq!(last.expect("a plan")["run"], "plan-a");

        record(
            &mut file,
            1,
            &json!({"act": "accept_plan", "run": "plan-b"}),
        );
        let accepted = file.accepted_plan(&file.books, DAY).expect("read");
        assert_eq!(accepted.map(|it| it.run).as_deref(), Some("plan-b"));
    }

    #[test]
    fn an_accepted_plan_tells_by_whom_and_what_came_since() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut file = file(&folder);
        assert_eq!(file.accepted_plan(&file.books, DAY).expect("read"), None);
        keep(&file, "plan-a");
        record(
            &mut file,
            1,
            &json!({"act": "accept_plan", "run": "plan-a"}),
        );
        let accepted = |file: &NurseryFile| {
            let it = file.accepted_plan(&file.books, DAY).expect("read");
            it.expect("accepted")
        };
        let at_once = accepted(&file);
        assert_eq!((at_once.run.as_str(), at_once.on), ("plan-a", DAY));
        assert_eq!(at_once.by.as_deref(), Some("Ana"));
        assert_eq!(at_once.since, Since::default());
        assert_eq!(at_once.plan.expect("a plan").profit, 12_345);
        record(&mut file, 2, &json!({"act": "note", "text": "rain"}));
        record(&mut file, 3, &json!({"act": "note", "text": "more rain"}));
        assert_eq!(accepted(&file).since.acts, 2);
        let before = file.accepted_plan(&file.books, date(2027, 2, 28));
        assert_eq!(before.expect("read"), None);
    }

    #[test]
    fn plans_are_listed_in_short_the_last_first() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = file(&folder);
        keep(&file, "plan-a");
        keep(&file, "plan-b");
        let runs: Vec<String> = file
            .plans()
            .expect("plans")
            .into_iter()
            .map(|it| it.run)
            .collect();
        assert_eq!(runs, ["plan-b", "plan-a"]);
        let brief = file.plan_brief("plan-a").expect("read").expect("kept");
        assert_eq!((brief.profit, brief.lines.on_course), (12_345, 1));
        assert_eq!(file.plan_brief("plan-c").expect("read"), None);
        file.keep_run("plan", "odd", &json!({"run": 7}), DAY, NOW)
            .expect("kept");
        assert_eq!(file.plan("odd").expect("read"), None);
    }

    #[test]
    fn an_empty_file_needs_everything() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = file(&folder);
        let needed = file.needed_for_plan(&file.books, DAY).expect("read");
        assert_eq!(needed.len(), 5);
    }

    #[test]
    fn futures_belong_to_their_own_plan() {
        assert!(is_of_plan("plan-ab-1000x1", "plan-ab"));
        assert!(!is_of_plan("plan-ab-less-7-1000x1", "plan-ab"));
        assert!(is_of_plan("plan-ab-less-7-1000x1", "plan-ab-less-7"));
        assert!(!is_of_plan("plan-ab", "plan-ab"));
        assert!(!is_of_plan("plan-abc-5x1", "plan-ab"));
    }
}
