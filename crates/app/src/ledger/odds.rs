//! Odds as of now: the plan in force, less what was done of it, played on from what really stands.
//!
//! A plan takes minutes, its futures seconds. So after every count or order the plan stays as it is and
//! its futures are drawn anew, from the lots as they stand and the order book as it is.

use std::collections::BTreeMap;
use std::sync::{PoisonError, RwLock, RwLockReadGuard};

use futures::{Keep, Stored};
use jiff::civil::Date;
use nursery::Nursery;
use nursery::files::parse_week;
use nursery::ledger::{Books, Event, Outcome};
use season::{Calendar, PlannedJob, SeasonModel};
use serde::Deserialize;
use store::{Ledger, Reading};

use super::NurseryFile;
use super::plans::{FUTURES, PLAN};
use super::week::{JobLeft, WorkDone};
use crate::answers::{FuturesAnswer, JobAnswer, StartHours, futures_answer};
use crate::error::{AppError, Kind};
use crate::run::{FuturesRun, RunOptions, SeasonView, Watch, drawn};

/// What is known of the nursery's odds at one moment.
pub struct OddsNow {
    /// The futures.
    pub run: FuturesRun,
    /// What they say.
    pub answer: FuturesAnswer,
    /// The run of the plan that they follow.
    pub plan: String,
    /// The day they look ahead from.
    pub as_of: Date,
    /// The last entry of the ledger that they know of.
    pub number: u64,
    /// The season they play in.
    pub(super) season: SeasonModel,
    nursery: Nursery,
    notes: Vec<String>,
    stored: RwLock<Stored>,
}

/// A plan that the odds follow.
struct PlanFollowed {
    run: String,
    as_of: Option<Date>,
    jobs: Vec<JobAnswer>,
    done: WorkDone,
    /// The entry after which work counts as the plan's.
    number: u64,
    start_hours: Vec<StartHours>,
}

/// A kept plan, as far as odds read it.
#[derive(Default, Deserialize)]
#[serde(default)]
struct KeptPlan {
    run: String,
    jobs: Vec<JobAnswer>,
    start_hours: Vec<StartHours>,
    made_from: KeptFrom,
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct KeptFrom {
    as_of: Option<Date>,
    head: String,
}

/// The name under which the last odds of a plan are kept.
pub(super) fn odds_name(plan: &str) -> String {
    format!("odds of {plan}")
}

/// The kind of run that odds are kept as.
pub(super) const ODDS: &str = "odds";

impl NurseryFile {
    /// Draws the futures of the plan in force: the one accepted on the day, else the one made last.
    ///
    /// # Errors
    /// There is no plan yet, no weather, or what stands fits no step.
    pub fn odds_now(
        &self,
        books: &Books,
        day: Date,
        options: &RunOptions,
        watch: &Watch<'_>,
    ) -> Result<OddsNow, AppError> {
        let Some(plan) = self.plan_followed(books, day)? else {
            return Err(AppError::new(
                Kind::NotFound,
                "there is no plan whose futures could be drawn",
                self.path.display().to_string(),
                "run `barkslip plan`, then ask again",
            ));
        };
        let loaded = super::load_ledger(self, books, day)?;
        let season = season::build_for_futures(&loaded.nursery, &loaded.weather)
            .map_err(|problems| AppError::of_problems("the nursery", problems))?;
        let done = plan.done.plants(books, plan.number, day);
        let left = super::week::what_is_left(&plan.jobs, season.calendar, done);
        let (jobs, dropped) = planned(&season, &left);
        let hours = plan.hours(&season);
        let case = season::futures_case(&season, &jobs, &hours, options.seed);
        let keep = keep(&season, &self.promised_at(books)?);
        let (summary, stored) = drawn(&case, &keep, options, watch)?;
        let run = FuturesRun {
            run: format!("{}-{}x{}", plan.run, options.futures, options.seed),
            futures: options.futures,
            seed: options.seed,
            summary,
        };
        let notes: Vec<String> = loaded.notes.into_iter().chain(dropped).collect();
        let view = SeasonView {
            nursery: &loaded.nursery,
            model: &season,
            notes: &notes,
        };
        Ok(OddsNow {
            answer: futures_answer(view, &run, 0.0),
            run,
            plan: plan.run,
            as_of: day,
            number: books.number,
            season,
            nursery: loaded.nursery,
            notes,
            stored: RwLock::new(stored),
        })
    }

    /// The run of the plan that odds on a day follow; none before any was made.
    pub fn odds_follow(&self, books: &Books, day: Date) -> Result<Option<String>, AppError> {
        let accepted = books.plan_of(day);
        if let Some(accepted) = accepted {
            return Ok(Some(accepted.run.clone()));
        }
        let last = self.asked(self.ledger.runs(PLAN))?;
        Ok(last.into_iter().next().map(|(run, _)| run))
    }

    fn plan_followed(&self, books: &Books, day: Date) -> Result<Option<PlanFollowed>, AppError> {
        let accepted = books.plan_of(day);
        let (text, number) = if let Some(accepted) = accepted {
            (
                Some(accepted.plan.as_bytes().to_vec()),
                Some(accepted.when.number),
            )
        } else {
            let last = self.asked(self.ledger.latest_run(PLAN))?;
            (last.map(|it| it.bytes), None)
        };
        let Some(kept) = text.and_then(|it| serde_json::from_slice::<KeptPlan>(&it).ok()) else {
            return Ok(None);
        };
        let made_at: Option<store::Head> = kept.made_from.head.parse().ok();
        let number = number.unwrap_or_else(|| made_at.map_or(books.number, |it| it.seq));
        let done = self.work_after(books, number)?;
        Ok(Some(PlanFollowed {
            run: kept.run,
            as_of: kept.made_from.as_of,
            jobs: kept.jobs,
            done,
            number,
            start_hours: kept.start_hours,
        }))
    }

    /// The odds at which lines were promised, by line, where they were promised from an enquiry.
    fn promised_at(&self, books: &Books) -> Result<BTreeMap<String, f64>, AppError> {
        let mut promised_at = BTreeMap::new();
        for (order, book) in &books.orders {
            for (line, book) in &book.lines {
                let Some((when, _)) = book.promised.last() else {
                    continue;
                };
                let entry = self.asked(self.ledger.entry(when.number))?;
                let odds = entry.and_then(|it| odds_promised(&it.outcome));
                if let Some(odds) = odds {
                    promised_at.insert(format!("{order}/{line}"), odds);
                }
            }
        }
        Ok(promised_at)
    }

    /// Keeps odds with the nursery file: the last ones, and in short those given in their week.
    pub fn keep_odds(&self, odds: &OddsNow, made_at: &str) -> Result<(), AppError> {
        self.keep_run(
            ODDS,
            &odds_name(&odds.plan),
            &odds.answer,
            odds.as_of,
            made_at,
        )?;
        self.keep_given(&odds.answer, odds.as_of, made_at)
    }

    /// The bytes of the odds that hold on a day: the last ones of the plan in force, else those of the
    /// futures drawn last.
    pub(super) fn odds_bytes(&self, books: &Books, day: Date) -> Result<Option<Vec<u8>>, AppError> {
        let of_plan = match self.odds_follow(books, day)? {
            Some(plan) => self.asked(self.ledger.run(&odds_name(&plan)))?,
            None => None,
        };
        let run = match of_plan {
            Some(run) => Some(run),
            None => self.asked(self.ledger.latest_run(FUTURES))?,
        };
        Ok(run.map(|it| it.bytes))
    }
}

impl OddsNow {
    /// The season that the futures play in.
    pub fn season(&self) -> SeasonView<'_> {
        SeasonView {
            nursery: &self.nursery,
            model: &self.season,
            notes: &self.notes,
        }
    }

    /// The stored futures, to be asked.
    pub(super) fn stored(&self) -> RwLockReadGuard<'_, Stored> {
        self.stored.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes in a line that was promised since: the next answer counts with it.
    pub(super) fn add(&self, line: &futures::case::Order, target: f64) -> Result<(), AppError> {
        let mut stored = self.stored.write().unwrap_or_else(PoisonError::into_inner);
        stored.add(line, Some(target)).map_err(|error| {
            AppError::new(
                Kind::Invalid,
                error.to_string(),
                line.id.clone(),
                "draw the futures anew",
            )
        })
    }
}

impl PlanFollowed {
    /// Hours that can go into starting jobs: the plan's, shifted to the weeks of the season; after its last
    /// week, all that the crews have.
    fn hours(&self, season: &SeasonModel) -> BTreeMap<String, Vec<f64>> {
        let first = self.as_of.map_or(0, |day| {
            season.calendar.week_of(Calendar::from_as_of(day).monday(0))
        });
        let of_crew = season.crews.iter().map(|crew| {
            let name = crew.crew.to_string();
            let planned = self.start_hours.iter().find(|it| it.crew == name);
            let week = |week: usize| {
                let at = usize::try_from(week as i64 - first).ok();
                let known = planned.and_then(|it| it.hours.get(at?).copied());
                known.unwrap_or_else(|| crew.hours[week] + crew.hired_limit[week])
            };
            (name, (0..season.weeks).map(week).collect())
        });
        of_crew.collect()
    }
}

/// The odds at which the promise of an entry was made.
fn odds_promised(outcome: &[u8]) -> Option<f64> {
    let Ok(Outcome::Done(events)) = Outcome::decode(outcome) else {
        return None;
    };
    events.iter().find_map(|event| match event {
        Event::Promised {
            odds: Some(odds), ..
        } => odds.get("at_odds")?.as_f64(),
        _ => None,
    })
}

/// The jobs left as jobs of a season, and what to know of those that it has no place for.
fn planned(season: &SeasonModel, left: &[JobLeft<'_>]) -> (Vec<PlannedJob>, Vec<String>) {
    let operations: BTreeMap<&str, usize> = season
        .operations
        .iter()
        .enumerate()
        .map(|(at, it)| (it.id.as_str(), at))
        .collect();
    let mut jobs: BTreeMap<(usize, usize), PlannedJob> = BTreeMap::new();
    let (mut unknown, mut lapsed) = (0, 0);
    let slip = i64::from(season.slip_weeks);
    for it in left.iter().filter(|it| it.left > 0) {
        let name = it.job.job.rsplit_once(' ');
        let operation = name
            .filter(|(_, week)| parse_week(week).is_some())
            .and_then(|(operation, _)| operations.get(operation));
        let week = usize::try_from(it.week.max(0)).unwrap_or(usize::MAX);
        match operation {
            _ if it.week < -slip => lapsed += 1,
            None => unknown += 1,
            Some(operation) if week < season.weeks => {
                // What slipped is done with this week's job of its kind.
                let job = jobs.entry((week, *operation)).or_insert(PlannedJob {
                    job: it.job.job.clone(),
                    operation: *operation,
                    week,
                    plants: 0,
                });
                job.plants += it.left;
            }
            Some(_) => {}
        }
    }
    (jobs.into_values().collect(), left_out(unknown, lapsed))
}

/// What to know of jobs that the odds leave out.
fn left_out(unknown: usize, lapsed: usize) -> Vec<String> {
    let unknown = (unknown > 0).then(|| {
        format!(
            "{unknown} jobs of the plan are for trees that nobody asks for any more, or go by steps no longer in \
             use: the odds leave them out. Make a new plan."
        )
    });
    let lapsed = (lapsed > 0).then(|| {
        format!(
            "{lapsed} jobs of the plan are later than a job may slip, and so is what would have made up for them: \
             the odds leave them out. Make a new plan."
        )
    });
    unknown.into_iter().chain(lapsed).collect()
}

/// What of the futures is kept to be asked: the stages of trees that are sold, and how safe each line is to be:
/// as its money says, or as it was promised where that is safer.
fn keep(season: &SeasonModel, promised_at: &BTreeMap<String, f64>) -> Keep {
    let stages = season.stages.iter().filter(|it| it.size.is_some());
    let lines = season.lines.iter().filter(|it| !it.on_spec);
    let target = |line: &season::Line| {
        let promised = promised_at.get(&line.id).copied().unwrap_or(0.0);
        (line.id.clone(), line.target.max(promised))
    };
    Keep {
        stages: stages.map(|it| it.id.clone()).collect(),
        targets: lines.map(target).collect(),
    }
}
