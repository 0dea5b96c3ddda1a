//! The week's work: what the accepted plan asks for, and what the books alone do.
//!
//! A job of the plan is due in its week, slipped when that is past, and waiting where its plants are not
//! there yet. What follows from the books needs no plan: buds to unwrap or force, tests that lapse,
//! plants over age, holds.

mod acts;
mod around;
mod asked;
mod cuts;
mod done;
mod lots;
mod now;
mod planned;

use jiff::civil::Date;
use nursery::ledger::Books;
use nursery::ledger::books::AcceptedPlan;
use season::Calendar;
use serde::Serialize;
use serde_json::Value;

use super::NurseryFile;
use super::names::Shown;
use super::outlook::Outlook;
use crate::answers::{JobAnswer, SupplyAnswer};
use crate::error::AppError;

pub use around::{BudsSet, Closed, DayAhead};
pub use done::WorkDone;
use lots::Yard;
pub(super) use planned::{JobLeft, what_is_left};

/// `week --json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeekAnswer {
    /// The ISO week.
    pub week: String,
    /// The run that was accepted; none where none was.
    pub run: Option<String>,
    /// Jobs in the order of a walk: by place, by step of the route, by lot.
    pub jobs: Vec<WeekJob>,
    /// Places that are closed after spraying.
    pub closed: Vec<Closed>,
    /// Buds set since the week's Monday, by budder.
    pub buds_set: Vec<BudsSet>,
    /// The weather of the day and those after it, where a forecast is in use.
    pub days_ahead: Vec<DayAhead>,
    /// What the user should know.
    pub warnings: Vec<String>,
}

/// A job of a week.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct WeekJob {
    /// As planned, or as a plan would have it.
    #[serde(flatten)]
    pub planned: JobAnswer,
    /// The step in words.
    pub name: String,
    /// Who asks for it.
    pub asked_by: AskedBy,
    /// Whether it is due, slipped or waiting.
    pub state: State,
    /// Plants still to do; of a cut, its buds.
    pub left: u32,
    /// Budsticks to cut.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sticks: Option<u32>,
    /// Hours for these.
    pub hours_left: f64,
    /// Supplies and materials for these.
    pub supplies_left: Vec<SupplyAnswer>,
    /// The week in which it is to be done at latest; none where no week is set.
    pub until: Option<String>,
    /// What it is for, in words.
    pub why: String,
    /// Why now: heat, bark, days since budding, the promise at stake.
    pub now: Vec<String>,
    /// Tools that it takes.
    pub tools: Vec<&'static str>,
    /// The last day on which its place is closed after spraying.
    pub closed_until: Option<Date>,
    /// The order lines it is for, the one due first before the others.
    pub reasons: Vec<Reason>,
    /// Lots that stand and can serve it now, those the plan names first.
    pub lots: Vec<JobLot>,
    /// The act that doing it would be, without `id`, `on` and `by`, where it takes plants of no lot.
    pub act: Option<Value>,
    /// Why it could not be done, as somebody last noted.
    pub could_not: Option<CouldNot>,
}

/// Who asks for a job.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AskedBy {
    /// The accepted plan.
    #[default]
    Plan,
    /// What the books say.
    Books,
}

/// How a job is in its week.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// To be done this week.
    #[default]
    Due,
    /// It was due in an earlier week.
    Slipped,
    /// What it takes is not there yet.
    Waiting,
}

/// An order line that a job serves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// Order and line, or what is expected to be asked for.
    pub line: String,
    /// The customer.
    pub customer: Option<String>,
    /// The day it is due.
    pub due: Option<Date>,
    /// Trees of it that come from the job, on average.
    pub trees: f64,
    /// Its odds of being on time, as the accepted plan tells them.
    pub odds: Option<f64>,
}

impl Reason {
    /// Whether nobody has ordered it yet.
    fn is_on_spec(&self) -> bool {
        let order = self.line.split_once('/').map(|it| it.0);
        self.customer.is_none() && order == Some(season::ON_SPEC)
    }
}

/// A lot that can serve a job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JobLot {
    /// Its name.
    pub lot: String,
    /// Where it stands.
    pub place: String,
    /// Plants not yet ready.
    pub growing: u32,
    /// Plants ready.
    pub ready: u32,
    /// Whether the plan names it.
    pub named: bool,
    /// The act that doing the job on it would be, without `id`, `on` and `by`.
    pub act: Option<Value>,
}

/// Why a job could not be done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CouldNot {
    /// Who noted it.
    pub by: String,
    /// When.
    pub on: Date,
    /// The words.
    pub text: String,
}

impl NurseryFile {
    /// The work of the week of a day.
    pub fn week(&self, books: &Books, as_of: Date) -> Result<WeekAnswer, AppError> {
        let mut done = WorkDone::default();
        self.follow(books, &mut done)?;
        let outlook = self.outlook(books, as_of)?;
        self.week_with(books, as_of, &done, &outlook)
    }

    /// The work of the week of a day, from work that was [followed](Self::follow) to the end of the
    /// books, and an outlook made before.
    pub fn week_with(
        &self,
        books: &Books,
        as_of: Date,
        done: &WorkDone,
        outlook: &Outlook,
    ) -> Result<WeekAnswer, AppError> {
        let plan = books.plan_of(as_of);
        let yard = Yard::of(books, as_of, outlook);
        let shown = Shown::of(&self.ledger);
        let mut planned = planned::Planned::default();
        if let Some(plan) = plan {
            planned = self.asked(planned::jobs(plan, &yard, done, &shown))?;
        }
        let closed = around::closed(&yard);
        let mut jobs = planned.jobs;
        jobs.extend(asked::jobs(&yard, &planned.open));
        let since = plan.map_or(0, |it| it.when.number);
        self.asked(note_hindrances(&mut jobs, done, since, as_of, &shown))?;
        now::tell(&mut jobs, &yard, &closed);
        jobs.sort_by_key(|job| yard.walk(job));
        Ok(WeekAnswer {
            week: yard.calendar.iso(yard.today),
            run: plan.map(|it: &AcceptedPlan| it.run.clone()),
            jobs,
            closed,
            buds_set: self.asked(around::buds_set(&yard, &shown))?,
            days_ahead: around::days_ahead(&yard),
            warnings: late_warning(planned.missed, yard.slip),
        })
    }
}

/// Notes at each job why it could not be done, where somebody said so since the plan.
fn note_hindrances(
    jobs: &mut [WeekJob],
    done: &WorkDone,
    since: u64,
    as_of: Date,
    shown: &Shown<'_>,
) -> store::Result<()> {
    let notes = done.notes(since, as_of);
    for job in jobs {
        let Some((when, act, note)) = notes.get(job.planned.job.as_str()) else {
            continue;
        };
        job.could_not = Some(CouldNot {
            by: shown.name(&act.by)?,
            on: when.on,
            text: note.text.clone(),
        });
    }
    Ok(())
}

fn late_warning(missed: usize, slip: i64) -> Vec<String> {
    let late = (missed > 0).then(|| {
        format!("{missed} jobs are more than {slip} weeks late and left out: make a new plan.")
    });
    late.into_iter().collect()
}

/// The calendar of a day, and the day's week in it.
fn this_week(day: Date) -> (Calendar, i64) {
    let calendar = Calendar::from_as_of(day);
    (calendar, calendar.week_of(day))
}
