//! The weeks of a plan as a calendar.

use std::collections::BTreeMap;

use documents::{Entry, calendar};
use jiff::civil::{Date, DateTime, ISOWeekDate};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _};
use nursery::files::parse_week;

use crate::answers::{CutAnswer, JobAnswer, PlanAnswer, ToOrderAnswer};
use crate::ledger::{OrderLineAnswer, PlantNames, State, WeekAnswer, WeekJob};
use crate::words::{capital, date_words, money_words, price_words};

/// Days from Monday to Friday.
const WORKING_DAYS: i64 = 4;

/// The plan's weeks as a calendar (RFC 5545): an entry for each kind of work of a week, one for its budsticks,
/// one for what is ordered by its end. The same work of the same week has the same name in the calendars of all
/// plans, so that a newer plan takes the place of an older one.
pub fn plan_calendar(plan: &PlanAnswer, made_at: DateTime) -> Vec<u8> {
    let entries = work(plan).chain(cuts(plan)).chain(orders(plan));
    let entries: Vec<Entry> = entries.collect();
    calendar("Season plan", &entries, made_at)
}

/// The week's jobs, and the days on which open order lines are due, as a calendar (RFC 5545). The same job and the
/// same line have the same name in every calendar, so that a newer one takes the place of an older.
pub fn week_calendar(
    week: &WeekAnswer,
    lines: &[OrderLineAnswer],
    names: &PlantNames,
    made_at: DateTime,
) -> Vec<u8> {
    let jobs = week.jobs.iter().filter(|it| it.state != State::Waiting);
    let jobs = jobs.filter_map(|job| week_job(week, job, names));
    let due = lines.iter().filter(|it| it.open() > 0);
    let entries: Vec<Entry> = jobs.chain(due.map(line_due)).collect();
    calendar("This week and orders due", &entries, made_at)
}

fn week_job(week: &WeekAnswer, job: &WeekJob, names: &PlantNames) -> Option<Entry> {
    let planned = &job.planned;
    let plant = names.plant(planned.variety.as_deref(), &planned.rootstock);
    let many = match (job.sticks, job.left) {
        (Some(sticks), _) => format!(": {}", many(sticks, "stick")),
        (None, 0) => String::new(),
        (None, left) => format!(": {}", whole(left)),
    };
    let lots: Vec<&str> = job.lots.iter().map(|it| it.lot.as_str()).collect();
    let mut lines = vec![capital(&job.why)];
    lines.extend(job.now.iter().map(|it| capital(it)));
    if !lots.is_empty() {
        lines.push(format!("Lots: {}", lots.join(", ")));
    }
    let what = format!("{}{many} {plant}", job.name);
    let asked = entry(&week.week, "", what.trim_end().to_owned(), &lines)?;
    Some(Entry {
        // A job that slips is the same one in the next week's calendar.
        name: format!("job-{}@barkslip", plain(&planned.job)),
        ..asked
    })
}

fn line_due(line: &OrderLineAnswer) -> Entry {
    Entry {
        name: format!(
            "due-{}-{}@barkslip",
            plain(&line.order),
            plain(&line.terms.line)
        ),
        from: line.terms.due,
        until: line.terms.due,
        what: format!(
            "Due: {}/{}, {} {} for {}",
            line.order,
            line.terms.line,
            whole(line.open()),
            line.what,
            line.customer
        ),
        more: format!("At latest {}", date_words(line.terms.latest)),
    }
}

/// When a plan was made, in UTC, from the time as it is kept; the beginning of time where that is no time.
pub fn made_at(kept: &str) -> DateTime {
    let kept: Timestamp = kept.parse().unwrap_or_default();
    TimeZone::UTC.to_datetime(kept)
}

fn work(plan: &PlanAnswer) -> impl Iterator<Item = Entry> {
    let mut weeks: BTreeMap<(&str, &str), Vec<&JobAnswer>> = BTreeMap::new();
    for job in &plan.jobs {
        let key = (job.week.as_str(), job.operation.as_str());
        weeks.entry(key).or_default().push(job);
    }
    weeks.into_iter().filter_map(|((week, operation), jobs)| {
        let plants: u32 = jobs.iter().map(|it| it.plants).sum();
        let hours: f64 = jobs.iter().map(|it| it.hours).sum();
        let what = format!(
            "{}: {}, {hours:.0} h",
            capital(&operation.replace('_', " ")),
            many(plants, "plant")
        );
        let lines: Vec<String> = jobs.iter().map(|it| job_words(it)).collect();
        entry(week, operation, what, &lines)
    })
}

fn job_words(job: &JobAnswer) -> String {
    let kind = match &job.variety {
        Some(variety) => format!("{variety} on {}", job.rootstock),
        None => job.rootstock.clone(),
    };
    let size = job
        .size
        .as_ref()
        .map_or_else(String::new, |it| format!(", {it}"));
    let from = job
        .lot
        .as_ref()
        .map_or_else(String::new, |it| format!(", from {it}"));
    format!("{} {kind}{size}: {}{from}", whole(job.plants), job.place)
}

fn cuts(plan: &PlanAnswer) -> impl Iterator<Item = Entry> {
    let mut weeks: BTreeMap<&str, Vec<&CutAnswer>> = BTreeMap::new();
    for cut in &plan.cuts {
        weeks.entry(cut.week.as_str()).or_default().push(cut);
    }
    weeks.into_iter().filter_map(|(week, cuts)| {
        let sticks: u32 = cuts.iter().map(|it| it.sticks).sum();
        let line = |it: &&CutAnswer| {
            let (sticks, buds) = (many(it.sticks, "stick"), many(it.buds, "bud"));
            format!("{} {}: {sticks}, {buds}", it.variety, it.mother_tree)
        };
        let lines: Vec<String> = cuts.iter().map(line).collect();
        let what = format!("Cut {}", many(sticks, "budstick"));
        entry(week, "budsticks", what, &lines)
    })
}

fn orders(plan: &PlanAnswer) -> impl Iterator<Item = Entry> {
    plan.to_order.iter().filter_map(|it: &ToOrderAnswer| {
        let what = format!("Order {} {}", whole(it.units), it.what);
        let cost = price_words(it.cost as f64, &plan.currency);
        let more = format!(
            "For delivery in {}, about {cost} {}",
            it.delivered, plan.currency
        );
        entry(&it.order_by, &format!("order {}", it.what), what, &[more])
    })
}

fn entry(week: &str, of: &str, what: String, lines: &[String]) -> Option<Entry> {
    let monday: Date = parse_week(week).map(ISOWeekDate::date)?;
    Some(Entry {
        name: format!("{week}-{}@barkslip", plain(of)),
        from: monday,
        until: monday.saturating_add(WORKING_DAYS.days()),
        what,
        more: lines.join("\n"),
    })
}

/// A name with nothing in it that a calendar's names may not have.
fn plain(name: &str) -> String {
    let plain = |it: char| if it.is_alphanumeric() { it } else { '-' };
    name.chars().map(plain).collect()
}

fn many(number: u32, noun: &str) -> String {
    let ending = if number == 1 { "" } else { "s" };
    format!("{} {noun}{ending}", whole(number))
}

fn whole(number: u32) -> String {
    money_words(f64::from(number))
}
