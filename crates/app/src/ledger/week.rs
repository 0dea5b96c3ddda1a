//! The week's work from the accepted plan: what is due, what slipped, what waits for plants.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use jiff::civil::Date;
use nursery::files::parse_week;
use nursery::ids::LotName;
use nursery::ledger::{Act, ActId, Books, Deed, Event, Outcome};
use nursery::settings::{Planning, Settings};
use season::Calendar;
use serde::Serialize;
use serde_json::{Map, Value, json};
use store::{Entry, Reading};

use super::NurseryFile;
use crate::error::{AppError, Kind};

/// `week --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeekAnswer {
    /// The ISO week.
    pub week: String,
    /// The run that was accepted.
    pub run: String,
    /// Jobs as in the plan, with `why`, `until`, `state` and the plants `left` to do.
    pub jobs: Vec<Value>,
    /// What the user should know.
    pub warnings: Vec<String>,
}

/// What makes two pieces of work the same kind: operation, rootstock, variety, size.
type WorkKey = (String, String, Option<String>, Option<String>);

/// Plants by kind of work.
type Done = BTreeMap<WorkKey, u64>;

impl NurseryFile {
    /// The work of the week of a day.
    pub fn week(&self, books: &Books, as_of: Date) -> Result<WeekAnswer, AppError> {
        let accepted = books.plans.iter().rev().find(|it| it.when.on <= as_of);
        let Some(accepted) = accepted else {
            return Err(AppError::new(
                Kind::NotFound,
                "no plan is accepted yet",
                self.path.display().to_string(),
                "make one with `barkslip plan`, then accept it with `barkslip plan accept RUN`",
            ));
        };
        let plan: Value = serde_json::from_str(&accepted.plan).unwrap_or_default();
        let done = self.done_since(books, accepted.when.number, as_of)?;
        let slip = slip_weeks(books, as_of);
        let (jobs, missed) = jobs_of(&plan, books, done, as_of, slip);
        let mut warnings = Vec::new();
        if missed > 0 {
            warnings.push(format!(
                "{missed} jobs are more than {slip} weeks late and left out: make a new plan."
            ));
        }
        Ok(WeekAnswer {
            week: iso_week(as_of),
            run: accepted.run.clone(),
            jobs,
            warnings,
        })
    }

    /// The work that was recorded after an entry, as it is in force, until the end of a day.
    fn done_since(&self, books: &Books, number: u64, as_of: Date) -> Result<Done, AppError> {
        let mut acts: BTreeMap<ActId, Act> = BTreeMap::new();
        let read = self.ledger.entries(number, &mut |entry| {
            // Books of an earlier knowledge end before the ledger does.
            if entry.done && entry.seq <= books.number {
                note_work(&mut acts, &entry);
            }
            ControlFlow::Continue(())
        });
        self.asked(read)?;
        let mut done = Done::new();
        for act in acts.values().filter(|act| act.on <= as_of) {
            if let Some((key, plants)) = work_of(books, &act.deed) {
                *done.entry(key).or_insert(0) += u64::from(plants);
            }
        }
        Ok(done)
    }
}

fn note_work(acts: &mut BTreeMap<ActId, Act>, entry: &Entry) {
    let value: Value = serde_json::from_slice(&entry.act).unwrap_or_default();
    let Ok(act) = Act::from_json(&value) else {
        return;
    };
    if !matches!(act.deed, Deed::Correct(_)) {
        acts.insert(act.id.clone(), act);
        return;
    }
    let Ok(Outcome::Done(events)) = Outcome::decode(&entry.outcome) else {
        return;
    };
    if let Some(Event::TakenBack { act, instead, .. }) = events.first() {
        match instead.as_ref().map(Act::from_json) {
            Some(Ok(right)) => acts.insert(act.clone(), right),
            _ => acts.remove(act),
        };
    }
}

/// The kind of work of a deed, and its plants.
fn work_of(books: &Books, deed: &Deed) -> Option<(WorkKey, u32)> {
    let of_lot = |operation: &str, lot: &LotName, size: Option<String>| -> Option<WorkKey> {
        let lot = books.lots.get(lot)?;
        let variety = lot.variety.as_ref().map(ToString::to_string);
        Some((
            operation.to_owned(),
            lot.rootstock.to_string(),
            variety,
            size,
        ))
    };
    let size = |it: &nursery::ledger::act::Shift| it.size.as_ref().map(ToString::to_string);
    match deed {
        Deed::Sow(it) => Some((
            ("sow".to_owned(), it.rootstock.to_string(), None, None),
            it.seeds,
        )),
        Deed::BuyIn(it) => {
            let variety = it.variety.as_ref().map(ToString::to_string);
            let size = it.size.as_ref().map(ToString::to_string);
            Some((
                ("buy_in".to_owned(), it.rootstock.to_string(), variety, size),
                it.plants,
            ))
        }
        Deed::LineOut(it) => Some((of_lot("line_out", &it.lot, size(it))?, it.plants)),
        Deed::PotUp(it) => Some((of_lot("pot_up", &it.lot, size(it))?, it.plants)),
        Deed::Lift(it) => Some((of_lot("lift", &it.lot, size(it))?, it.plants)),
        Deed::Bud(it) => {
            let (operation, rootstock, ..) = of_lot("bud", &it.lot, None)?;
            Some((
                (operation, rootstock, Some(it.variety.to_string()), None),
                it.plants,
            ))
        }
        Deed::Force(it) => {
            let plants = it.plants.or_else(|| {
                let view = books.lots.get(&it.lot)?.now()?;
                Some(view.plants())
            });
            Some((of_lot("force", &it.lot, None)?, plants?))
        }
        _ => None,
    }
}

/// The plan's jobs of this week and those that slipped, and how many are too late.
fn jobs_of(
    plan: &Value,
    books: &Books,
    mut done: Done,
    as_of: Date,
    slip: i64,
) -> (Vec<Value>, usize) {
    let empty = Vec::new();
    let mut jobs: Vec<&Value> = plan["jobs"].as_array().unwrap_or(&empty).iter().collect();
    jobs.sort_by_key(|job| text(job, "week"));
    let calendar = Calendar::from_as_of(as_of);
    let today = calendar.week_of(as_of);
    let (mut listed, mut missed) = (Vec::new(), 0);
    let mut open: BTreeMap<String, u64> = BTreeMap::new();
    for job in jobs {
        let Some(week) = parse_week(&text(job, "week")) else {
            continue;
        };
        let week = calendar.week_of(week.date());
        let plants = job["plants"].as_u64().unwrap_or(0);
        let of_kind = done.entry(key_of(job)).or_insert(0);
        let left = plants - plants.min(*of_kind);
        *of_kind -= plants - left;
        open.insert(text(job, "job"), left);
        if left == 0 || week > today {
            continue;
        }
        if today - week > slip {
            missed += 1;
            continue;
        }
        let state = match (waits(job, books, &open, left, as_of), week < today) {
            (true, _) => "waiting",
            (false, true) => "slipped",
            (false, false) => "due",
        };
        listed.push(with_state(job, state, left, &calendar.iso(week + slip)));
    }
    (listed, missed)
}

/// Whether the plants a job takes are not there yet.
fn waits(job: &Value, books: &Books, open: &BTreeMap<String, u64>, left: u64, as_of: Date) -> bool {
    let from = job["from"].as_array().map_or(&[][..], Vec::as_slice);
    let earlier = from.iter().filter_map(|it| it["job"].as_str());
    if earlier
        .clone()
        .any(|it| open.get(it).is_some_and(|left| *left > 0))
    {
        return true;
    }
    let lots: Vec<&str> = from.iter().filter_map(|it| it["lot"].as_str()).collect();
    if lots.is_empty() || earlier.count() > 0 {
        return false;
    }
    let stand = lots
        .iter()
        .filter_map(|it| books.lots.get(&LotName::from(*it))?.on(as_of));
    stand.map(|view| u64::from(view.plants())).sum::<u64>() < left
}

fn with_state(job: &Value, state: &str, left: u64, until: &str) -> Value {
    let mut keys: Map<String, Value> = job.as_object().cloned().unwrap_or_default();
    keys.insert("state".to_owned(), json!(state));
    keys.insert("left".to_owned(), json!(left));
    keys.insert("until".to_owned(), json!(until));
    keys.insert("why".to_owned(), json!(why(job)));
    Value::Object(keys)
}

/// The order lines a job serves, in words.
fn why(job: &Value) -> String {
    let serves = job["serves"].as_array().map_or(&[][..], Vec::as_slice);
    let lines: Vec<String> = serves
        .iter()
        .filter_map(|it| {
            Some(format!(
                "{} ({:.0})",
                it["line"].as_str()?,
                it["trees"].as_f64()?
            ))
        })
        .collect();
    if lines.is_empty() {
        "for stock".to_owned()
    } else {
        format!("for {}", lines.join(", "))
    }
}

fn key_of(job: &Value) -> WorkKey {
    let some = |key: &str| job[key].as_str().map(str::to_owned);
    (
        text(job, "operation"),
        text(job, "rootstock"),
        some("variety"),
        some("size"),
    )
}

fn text(job: &Value, key: &str) -> String {
    job[key].as_str().unwrap_or_default().to_owned()
}

/// Weeks a job may slip, as the nursery sets it.
fn slip_weeks(books: &Books, day: Date) -> i64 {
    let files = books.settings.files(day);
    let settings = files
        .get("nursery.toml")
        .and_then(|it| Settings::read("nursery.toml", it).ok());
    let planning = settings.map_or_else(Planning::default, |it| it.planning);
    i64::from(planning.slip_weeks)
}

/// The ISO week of a day, as `2027-W10`.
pub fn iso_week(day: Date) -> String {
    let calendar = Calendar::from_as_of(day);
    calendar.iso(calendar.week_of(day))
}

/// The Monday of an ISO week such as `2027-W10`.
pub fn day_of_week(week: &str) -> Option<Date> {
    parse_week(week).map(|it| it.date())
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use nursery::ledger::Books;
    use serde_json::json;

    use super::{Done, jobs_of};

    #[test]
    fn a_job_slips_for_so_many_weeks_and_work_is_taken_off_the_oldest() {
        let job = |name: &str, week: &str| json!({"job": name, "week": week, "operation": "sow", "rootstock": "carrizo", "plants": 100});
        let plan = json!({"jobs": [job("second", "2027-W10"), job("first", "2027-W05"), job("third", "2027-W11")]});
        let kind = ("sow".to_owned(), "carrizo".to_owned(), None, None);
        let listed = |done: u64, slip: i64| {
            let done = Done::from([(kind.clone(), done)]);
            let (jobs, missed) = jobs_of(&plan, &Books::default(), done, date(2027, 3, 10), slip);
            let words = jobs.iter().map(|it| {
                let of = |key: &str| it[key].as_str().unwrap_or_default();
                format!(
                    "{} {} {} until {}",
                    of("job"),
                    of("state"),
                    it["left"],
                    of("until")
                )
            });
            (words.collect::<Vec<_>>(), missed)
        };
        let due = "second due 100 until 2027-W14".to_owned();
        assert_eq!(listed(0, 4), (vec![due.clone()], 1));
        let late = "first slipped 100 until 2027-W10".to_owned();
        assert_eq!(listed(0, 5).0[0], late);
        assert_eq!(listed(100, 4), (vec![due], 0));
        assert_eq!(listed(130, 4).0, ["second due 70 until 2027-W14"]);
    }
}
