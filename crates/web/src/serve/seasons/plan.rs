//! A plan: what it needs decided, its work week by week, what it uses, and the button to accept it.

use app::answers::{JobAnswer, LineAnswer, PlanAnswer, RoundAnswer};
use app::ledger::{KeptPlan, NurseryFile};
use app::{AppError, Kind, price_words};
use maud::{Markup, html};
use serde_json::json;

use super::{OF, agreed, in_hand, number, plan_at};
use crate::figures::{amount, percent};
use crate::frame::{columns, folded, list, method};
use crate::jobs::{Jobs, NEAR_WEEKS};
use crate::lines::{DECISIONS_SHOWN, Standing};
use crate::plan_page::{answer, facts, given_up, pictures, scarce, scarcest, supplies};
use crate::serve::address;
use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::page::Page;
use crate::serve::record;
use crate::serve::reply::{self, Reply};
use crate::serve::table;
use crate::sheet::{LimitSeries, OperationSeries, PlanSheet, ScarceRow, WeekLabel};
use crate::words::seasons as words;

/// Jobs on one page.
const JOBS_SHOWN: usize = 24;

/// Scarce weeks on the page; the file has all.
const SCARCE_SHOWN: usize = 12;

/// Crews and places drawn, each; the file has all.
const LIMITS_SHOWN: usize = 6;

/// Weeks of the pictures.
const PICTURE_WEEKS: usize = 52;

/// A plan as it is kept.
struct Kept {
    plan: KeptPlan,
    /// None where another version kept it.
    sheet: Option<PlanSheet>,
    /// None where another version kept it.
    answer: Option<PlanAnswer>,
    /// The run of the accepted plan.
    accepted: Option<String>,
    /// What it was made under as if it were otherwise.
    changes: Vec<String>,
}

/// The plan of a run, or that there is none.
pub(super) fn known(file: &NurseryFile, run: &str) -> Result<KeptPlan, AppError> {
    let kept = file.plans()?.into_iter().find(|it| it.run == run);
    kept.ok_or_else(|| {
        AppError::new(
            Kind::NotFound,
            words::NO_SUCH_RUN,
            run,
            words::NO_SUCH_RUN_MEND,
        )
    })
}

impl Kept {
    fn of(office: &Office, ask: &Ask, run: &str) -> Result<Self, AppError> {
        let day = office.day(ask);
        office.desk.read(|file, sight| {
            let accepted = sight.books.plan_of(day);
            let answer = file.plan(run)?;
            Ok(Self {
                plan: known(file, run)?,
                sheet: file.sheet(run)?,
                changes: answer
                    .as_ref()
                    .map_or_else(Vec::new, |it| it.changes.clone()),
                answer,
                accepted: accepted.map(|it| it.run.clone()),
            })
        })
    }

    fn is_accepted(&self) -> bool {
        self.accepted.as_ref() == Some(&self.plan.run)
    }
}

/// The plan of a run; with `.csv` behind its name, its jobs as a file.
pub(in crate::serve) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    if let Some(run) = run.strip_suffix(".csv") {
        return jobs_csv(office, run);
    }
    let kept = Kept::of(office, ask, run)?;
    let Some(sheet) = &kept.sheet else {
        return Ok(Reply::Page(not_readable(&kept.plan)));
    };
    let jobs = Jobs::new(sheet);
    let standing = Standing::new(&sheet.lines, &sheet.short);
    let choice = Choice::of(ask, sheet, &jobs);
    let year = year_of(sheet, choice.from);
    let left_out = sheet.crews.len() + sheet.places.len() - year.crews.len() - year.places.len();
    let id = office.ulid()?;
    let body = html! {
        (facts(sheet, &standing, &jobs))
        p.small.quiet { (kept.plan.run) ", " (words::moment(&kept.plan.made_at)) }
        @if !kept.changes.is_empty() { p.notice { b { (words::WHAT_IF) ": " } (kept.changes.join("; ")) ". " (words::WHAT_IF_ACCEPT) } }
        (accept_form(&kept, &id, ask.who.as_deref()))
        @if let Some(agreed) = kept.answer.as_ref().and_then(|it| it.agreed.as_ref()) { (agreed::section(agreed)) }
        (scarcest(sheet))
        (to_decide(run, &standing))
        (given_up(sheet))
        @if let Some(plan) = &kept.answer { (protection(plan)) }
        (list(words::MIND, &sheet.warnings))
        @if let Some(week) = year.weeks.first() { p.quiet { (words::pictures_from(&week.iso, left_out)) } }
        (pictures(&year, 0..NEAR_WEEKS.min(year.weeks.len())))
        p.keep { a href={ (plan_at(run)) "/weeks.csv" } download { (words::WEEKS_FILE) } }
        (jobs_part(run, sheet, &jobs, &choice))
        @if let Some(plan) = &kept.answer { (in_hand::section(run, plan, weeks_of(sheet, &choice))) }
        (supplies(&sheet.supplies))
        (scarce(&year))
        @if !sheet.scarce.is_empty() {
            p.keep { a href={ (plan_at(run)) "/scarce.csv" } download { (words::SCARCE_FILE) } }
        }
        (method(&sheet.notes))
    };
    let csv = format!("{}.csv", plan_at(run));
    let page = Page::new(OF, words::PLAN_SHEET, answer(&standing, &jobs), body);
    Ok(Reply::Page(page.with_csv(csv)))
}

/// The weeks whose jobs are shown.
fn weeks_of<'a>(sheet: &'a PlanSheet, choice: &Choice) -> &'a [WeekLabel] {
    let until = (choice.from + NEAR_WEEKS).min(sheet.weeks.len());
    &sheet.weeks[choice.from.min(until)..until]
}

/// What the pictures of a year from a week on show; three years of them are too much for a page.
fn year_of(sheet: &PlanSheet, from: usize) -> PlanSheet {
    let until = (from + PICTURE_WEEKS).min(sheet.weeks.len());
    let from = from.min(until);
    let limits = |all: &[LimitSeries]| fullest(all.iter().map(|it| limit_of(it, from, until)));
    let operations = sheet.by_operation.iter().map(|series| OperationSeries {
        operation: series.operation.clone(),
        plants_by_week: part(&series.plants_by_week, from, until),
    });
    let mut weeks = part(&sheet.weeks, from, until);
    if let Some(first) = weeks.first_mut() {
        first.starts_month = true;
    }
    PlanSheet {
        currency: sheet.currency.clone(),
        today: sheet.today.and_then(|today| today.checked_sub(from)),
        by_operation: operations
            .filter(|series| series.plants_by_week.iter().any(|plants| *plants > 0))
            .collect(),
        crews: limits(&sheet.crews),
        places: limits(&sheet.places),
        scarce: dearest(sheet, from, until),
        weeks,
        ..PlanSheet::default()
    }
}

/// The dearest scarce weeks of the year, its first being 0.
fn dearest(sheet: &PlanSheet, from: usize, until: usize) -> Vec<ScarceRow> {
    let later = sheet
        .scarce
        .iter()
        .filter(|row| (from..until).contains(&row.week));
    let shown = later.take(SCARCE_SHOWN).map(|row| ScarceRow {
        week: row.week - from,
        ..row.clone()
    });
    shown.collect()
}

/// Those that are scarce in most weeks, or nearest to it, in the order given.
fn fullest(all: impl Iterator<Item = LimitSeries>) -> Vec<LimitSeries> {
    let fill = |series: &LimitSeries| {
        let scarce = series.price.iter().filter(|price| **price > 0.0).count();
        let shares = series.used.iter().zip(&series.limit);
        let most = shares.map(|(used, limit)| if *limit > 0.0 { used / limit } else { 0.0 });
        (scarce, most.fold(0.0, f64::max))
    };
    let mut ranked: Vec<(usize, LimitSeries)> = all.enumerate().collect();
    ranked.sort_by(|(_, one), (_, other)| {
        let (one, other) = (fill(one), fill(other));
        other.0.cmp(&one.0).then(other.1.total_cmp(&one.1))
    });
    ranked.truncate(LIMITS_SHOWN);
    ranked.sort_by_key(|(at, _)| *at);
    ranked.into_iter().map(|(_, series)| series).collect()
}

fn limit_of(series: &LimitSeries, from: usize, until: usize) -> LimitSeries {
    LimitSeries {
        name: series.name.clone(),
        unit: series.unit.clone(),
        used: part(&series.used, from, until),
        limit: part(&series.limit, from, until),
        hired: part(&series.hired, from, until),
        price: part(&series.price, from, until),
    }
}

/// The weeks of a series, which may be shorter than the sheet.
fn part<T: Clone>(values: &[T], from: usize, until: usize) -> Vec<T> {
    let until = until.min(values.len());
    values[from.min(until)..until].to_vec()
}

/// A plan whose page another version kept.
fn not_readable(plan: &KeptPlan) -> Page {
    let body = html! {
        p.small.quiet { (plan.run) ", " (words::moment(&plan.made_at)) }
        p { (words::NOT_READABLE_WORDS) }
        form method="post" action="/planning/start" { button { (words::MAKE) } }
    };
    Page::new(OF, words::PLAN_SHEET, words::NOT_READABLE, body)
}

fn accept_form(kept: &Kept, id: &str, who: Option<&str>) -> Markup {
    let run = &kept.plan.run;
    html! {
        section {
            @if kept.is_accepted() {
                p { (words::IS_ACCEPTED_WORDS) " " a href="/week" { (words::TO_WEEK) } }
            } @else {
                h2 { (words::ACCEPT_HEAD) }
                p.say { (words::ACCEPT_WORDS) }
                form.entry method="post" action={ (plan_at(run)) "/accept" } {
                    input type="hidden" name="id" value=(id);
                    @if who.is_none() {
                        label { span { (words::YOUR_NAME) } input name="by" autocomplete="name" maxlength="60" required; }
                    }
                    div.acts {
                        button { (words::ACCEPT) }
                        @if let Some(accepted) = &kept.accepted {
                            a.button.plain href=(address::with_fields("/seasons/compare", &[("one", accepted), ("other", run)])) {
                                (words::COMPARE_WITH_ACCEPTED)
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The order lines that need a decision, and the way to all of them.
fn to_decide(run: &str, standing: &Standing) -> Markup {
    let odds = format!("{}/odds", plan_at(run));
    let more = standing.decisions().saturating_sub(DECISIONS_SHOWN);
    html! {
        (standing.first_to_decide(&html! {
            @if more > 0 { p { a href={ (odds) "?show=decide" } { (words::more_to_decide(more)) } } }
        }))
        p.pager {
            a href=(odds) { (words::ALL_ODDS) }
            a href="/promises" { (words::TO_PROMISES) }
        }
    }
}

/// What protection against luck came to: its rounds, and the lines that miss their target with the reason.
fn protection(plan: &PlanAnswer) -> Markup {
    let kept = plan.rounds.iter().find(|round| round.kept);
    let Some((before, kept)) = plan.rounds.first().zip(kept) else {
        return html! {};
    };
    let gain = kept.expected_profit - before.expected_profit;
    let money = super::money(gain.abs(), &plan.currency);
    let below: Vec<&LineAnswer> = plan
        .lines
        .iter()
        .filter(|line| !line.on_spec && line.why_below.is_some())
        .collect();
    html! {
        section #protected {
            h2 { (words::PROTECTED) }
            p.say {
                @if plan.rounds.len() == 1 { (words::NO_ROUND_MADE) }
                @else if kept.round == 0 { (words::NO_PROTECTION_PAYS) }
                @else { (words::protected(before, kept, gain >= 0, &money)) }
            }
            table.rows {
                caption { (words::ROUNDS_CAPTION) }
                (columns(&words::ROUND_HEADS))
                tbody { @for round in &plan.rounds { (round_row(round, &plan.currency)) } }
            }
            @if !below.is_empty() { (folded(words::BELOW, &lines_below(&below))) }
        }
    }
}

fn round_row(round: &RoundAnswer, currency: &str) -> Markup {
    let heads = &words::ROUND_HEADS;
    html! {
        tr {
            th scope="row" {
                @if round.round == 0 { (words::AT_MEAN_YIELDS) } @else { (round.round) }
                @if round.kept { " (" (words::THIS_PLAN) ")" }
            }
            td.n data-head=(heads[1].0) { (super::money(round.expected_profit, currency)) }
            td.n data-head=(heads[2].0) { (round.at_target) }
            td.n data-head=(heads[3].0) { (round.safe) }
            td.n data-head=(heads[4].0) { (amount(round.on_time)) }
            td.n data-head=(heads[5].0) { (amount(round.extra.round())) }
        }
    }
}

fn lines_below(lines: &[&LineAnswer]) -> Markup {
    let heads = &words::LINE_HEADS;
    html! {
        table.rows {
            (columns(heads))
            tbody {
                @for line in lines {
                    tr {
                        th scope="row" { (line.order) "/" (line.line) }
                        td.n data-head=(heads[1].0) { @if let Some(odds) = line.on_time { (percent(odds)) } }
                        td.n data-head=(heads[2].0) { (percent(line.target)) }
                        td data-head=(heads[3].0) { @if let Some(why) = &line.why_below { (why) } }
                    }
                }
            }
        }
    }
}

/// Which jobs are looked at.
struct Choice<'a> {
    /// The first week.
    from: usize,
    /// The only operation.
    step: Option<&'a str>,
    /// Jobs of these weeks that are left out, since a page before has them.
    after: usize,
}

impl<'a> Choice<'a> {
    fn of(ask: &'a Ask, sheet: &PlanSheet, jobs: &Jobs) -> Self {
        let asked = ask.query.get("from");
        let week = asked.and_then(|iso| sheet.weeks.iter().position(|week| week.iso == iso));
        Self {
            from: week.unwrap_or_else(|| jobs.first_week()),
            step: ask.query.get("step"),
            after: number(ask, "after"),
        }
    }

    /// The address of the same choice from another week on.
    fn at(&self, run: &str, sheet: &PlanSheet, from: usize, after: usize) -> String {
        let iso = sheet.weeks.get(from).map_or("", |week| week.iso.as_str());
        let after = after.to_string();
        let mut fields = vec![("from", iso)];
        fields.extend(self.step.map(|step| ("step", step)));
        if after != "0" {
            fields.push(("after", &after));
        }
        format!("{}#jobs", address::with_fields(&plan_at(run), &fields))
    }
}

fn jobs_part(run: &str, sheet: &PlanSheet, jobs: &Jobs, choice: &Choice) -> Markup {
    let window = jobs.window(choice.from, choice.step, choice.after, JOBS_SHOWN);
    let next = choice.from + NEAR_WEEKS;
    html! {
        section #jobs {
            h2 { (words::JOBS) }
            (choose(run, sheet, choice))
            @if window.shown.is_empty() { p { (words::NO_JOBS) } }
            @else { (jobs.part(words::JOBS_CAPTION, &window.shown)) }
            p.pager {
                @if choice.from > 0 {
                    a href=(choice.at(run, sheet, choice.from.saturating_sub(NEAR_WEEKS), 0)) { (words::EARLIER) }
                }
                @if window.left > 0 {
                    a href=(choice.at(run, sheet, choice.from, choice.after + window.shown.len())) { (words::more_jobs(window.left)) }
                }
                @if next < sheet.weeks.len() { a href=(choice.at(run, sheet, next, 0)) { (words::LATER) } }
            }
        }
    }
}

/// The form that chooses weeks and work.
fn choose(run: &str, sheet: &PlanSheet, choice: &Choice) -> Markup {
    let weeks = sheet.weeks.iter().enumerate().step_by(4);
    let own = sheet.weeks.get(choice.from);
    html! {
        form.row.noprint action=(plan_at(run)) {
            label {
                span { (words::FROM) }
                select name="from" {
                    @if let Some(own) = own { option value=(own.iso) selected { (own.iso) ", " (own.monday) } }
                    @for (at, week) in weeks {
                        @if at != choice.from { option value=(week.iso) { (week.iso) ", " (week.monday) } }
                    }
                }
            }
            label {
                span { (words::STEP) }
                select name="step" {
                    option value="" { (words::ALL_STEPS) }
                    @for series in &sheet.by_operation {
                        @let is_own = choice.step.is_some_and(|it| it.eq_ignore_ascii_case(&series.operation));
                        option value=(series.operation) selected[is_own] { (series.operation) }
                    }
                }
            }
            button.plain { (words::SHOW) }
        }
    }
}

/// A plan becomes that of the week's work. Sent twice it is one act.
pub(in crate::serve) fn accept(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let kept = office.desk.read(|file, _| known(file, run))?;
    let id = match ask.form.get("id") {
        Some(id) => id.to_owned(),
        None => office.ulid()?,
    };
    let to_week = || Reply::See(address::with_fields("/week", &[("done", &id)]));
    if is_accepted(office, run)? {
        return Ok(to_week());
    }
    let act = json!({"id": id, "on": office.today(), "by": record::person(ask)?, "act": "accept_plan",
        "run": kept.run});
    let answer = record::record(office, ask, &act)?;
    if answer.outcome == "refused" {
        return record::done_or_failed(ask, answer);
    }
    Ok(to_week())
}

fn is_accepted(office: &Office, run: &str) -> Result<bool, AppError> {
    let today = office.today();
    office.desk.read(|_, sight| {
        let accepted = sight.books.plan_of(today);
        Ok(accepted.is_some_and(|it| it.run == run))
    })
}

/// The plan's answer, for its files.
pub(super) fn plan_of(office: &Office, run: &str) -> Result<PlanAnswer, AppError> {
    office.desk.read(|file, _| {
        known(file, run)?;
        file.plan(run)?.ok_or_else(|| {
            AppError::new(
                Kind::NotFound,
                words::NOT_READABLE,
                run,
                words::NOT_READABLE_WORDS,
            )
        })
    })
}

fn jobs_csv(office: &Office, run: &str) -> Result<Reply, AppError> {
    let plan = plan_of(office, run)?;
    let heads = [
        "week",
        "job",
        "operation",
        "step",
        "variety",
        "rootstock",
        "size",
        "plants",
        "place",
        "crew",
        "hours",
        "supplies",
        "from",
        "serves",
    ];
    let rows = plan.jobs.iter().map(|job| job_cells(job).to_vec());
    Ok(reply::csv(run, table::csv(&heads, rows)))
}

fn job_cells(job: &JobAnswer) -> [String; 14] {
    let text = |it: &Option<String>| it.clone().unwrap_or_default();
    let supplies = job.supplies.iter();
    let supplies = supplies.map(|it| format!("{} {}", it.amount, it.supply));
    let from = job.from.iter().map(|it| {
        let name = it.lot.as_ref().or(it.job.as_ref());
        format!("{} of {}", it.plants, name.map_or("", String::as_str))
    });
    let serves = job.serves.iter();
    let serves = serves.map(|it| format!("{} ({})", it.line, it.trees));
    [
        job.week.clone(),
        job.job.clone(),
        job.operation.clone(),
        job.step.clone(),
        text(&job.variety),
        job.rootstock.clone(),
        text(&job.size),
        job.plants.to_string(),
        job.place.clone(),
        text(&job.crew),
        job.hours.to_string(),
        supplies.collect::<Vec<_>>().join("; "),
        from.collect::<Vec<_>>().join("; "),
        serves.collect::<Vec<_>>().join("; "),
    ]
}

/// What is scarce as a file.
pub(in crate::serve) fn scarce_csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let plan = plan_of(office, run)?;
    let heads = ["what", "week", "one_more_earns", "currency", "unit"];
    let rows = plan.scarce.iter().map(|row| {
        vec![
            row.what.clone(),
            row.week.clone().unwrap_or_default(),
            price_words(row.price as f64, &plan.currency),
            plan.currency.clone(),
            row.unit.clone(),
        ]
    });
    Ok(reply::csv(
        &format!("{run}-scarce"),
        table::csv(&heads, rows),
    ))
}

/// Plants of operations, hours of crews and ground of places by week as a file.
pub(in crate::serve) fn weeks_csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let kept = Kept::of(office, ask, run)?;
    let sheet = kept.sheet.ok_or_else(|| {
        AppError::new(
            Kind::NotFound,
            words::NOT_READABLE,
            run,
            words::NOT_READABLE_WORDS,
        )
    })?;
    let heads = [
        "week",
        "of",
        "unit",
        "used",
        "there_is",
        "hired",
        "one_more_earns",
    ];
    let weeks = sheet.weeks.iter().enumerate();
    let rows = weeks.flat_map(|(at, week)| week_rows(&sheet, at, &week.iso));
    Ok(reply::csv(
        &format!("{run}-weeks"),
        table::csv(&heads, rows),
    ))
}

/// What a week has of every operation, crew and place.
fn week_rows(sheet: &PlanSheet, at: usize, iso: &str) -> Vec<Vec<String>> {
    let head = |of: &str, unit: &str| [iso, of, unit].map(str::to_owned).to_vec();
    let operations = sheet.by_operation.iter().map(|series| {
        let plants = series.plants_by_week.get(at).copied().unwrap_or(0);
        let mut cells = head(&series.operation, "plants");
        cells.extend([
            plants.to_string(),
            String::new(),
            String::new(),
            String::new(),
        ]);
        cells
    });
    let value = |values: &Vec<f64>| {
        values
            .get(at)
            .map_or_else(String::new, |it| format!("{it:.2}"))
    };
    let limits = sheet.crews.iter().chain(&sheet.places).map(|series| {
        let mut cells = head(&series.name, &series.unit);
        cells.extend([&series.used, &series.limit, &series.hired, &series.price].map(value));
        cells
    });
    operations.chain(limits).collect()
}
