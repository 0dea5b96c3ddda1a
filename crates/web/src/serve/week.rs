//! This week: the jobs in the order of the walk, each with its reason and the taps that record it.

use app::AppError;
use app::ledger::{BudsSet, JobLot, PlantNames, State, WeekAnswer, WeekJob};
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::Value;

use super::address;
use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::work::State as Work;
use super::{settle, table};
use crate::figures::sentence;
use crate::figures::{amount, count};
use crate::lines::sized;
use crate::words::deeds::deed;
use crate::words::frost as of_frost;
use crate::words::week as words;

/// Jobs on a page; more are a tap away.
const JOBS_SHOWN: usize = 40;
/// Lots of a job that have a button of their own.
const LOTS_SHOWN: usize = 4;
/// Operations with blades.
const BLADES: [&str; 5] = ["bud", "force", "lift", "head", "cut_sticks"];

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let week = office.desk.week(office.day(ask))?;
    let names = office.desk.plant_names()?;
    let jobs = chosen(&week, ask);
    let from: usize = ask
        .query
        .get("from")
        .and_then(|it| it.parse().ok())
        .unwrap_or(0);
    let shown = jobs
        .iter()
        .skip(from)
        .take(JOBS_SHOWN)
        .copied()
        .collect::<Vec<_>>();
    let body = html! {
        (frost(office, ask))
        (settle::notice(office))
        (decide(office, &week))
        (closed(&week))
        (warnings(&week.warnings))
        (days_ahead(&week))
        (filters(&week, ask))
        (because())
        @if jobs.iter().any(|it| BLADES.contains(&it.planned.operation.as_str())) { p.quiet.small { (words::BLADES) } }
        @for (place, jobs) in by_place(&shown) {
            section.walk {
                h2 { (place) }
                @for job in jobs { (draw(office, ask, job, &names)?) }
            }
        }
        @if from + shown.len() < jobs.len() {
            @let next = (from + shown.len()).to_string();
            p { a.button.plain href=(ask.address_with("from", Some(&next))) { (words::MORE) } }
        }
        (buds_set(&week, &names))
        p.noprint { a href=(address::with_fields("/week.ics", &table::kept_fields(ask, &["as_of"]))) { (words::CALENDAR) } " · " a href="/papers#week" { (words::TO_PRINT) } }
    };
    let csv = address::with_fields(
        "/week.csv",
        &table::kept_fields(ask, &["crew", "place", "state", "as_of"]),
    );
    Ok(Reply::Page(
        Page::new("/week", words::SHEET, answer(&week, &jobs), body).with_csv(csv),
    ))
}

/// The week and the days on which orders are due, as a calendar.
pub(super) fn calendar_file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let week = office.desk.week(day)?;
    let names = office.desk.plant_names()?;
    let lines = office
        .desk
        .read(|file, sight| file.order_lines(&sight.books, day))?;
    let made_at = app::made_at(&office.now());
    Ok(reply::calendar(
        &format!("week-{}", week.week),
        app::week_calendar(&week, &lines.lines, &names, made_at),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let week = office.desk.week(office.day(ask))?;
    let names = office.desk.plant_names()?;
    let rows = chosen(&week, ask).into_iter().map(|job| {
        let lots: Vec<&str> = job.lots.iter().map(|it| it.lot.as_str()).collect();
        vec![
            place_of(job).to_owned(),
            job.name.clone(),
            what(job, &names),
            // What is left of a cut are buds.
            job.sticks.map_or(job.left.to_string(), |_| String::new()),
            job.sticks.map_or_else(String::new, |it| it.to_string()),
            words::state(job.state).1.to_owned(),
            lots.join(" "),
            format!("{:.1}", job.hours_left),
            supplies(job),
            job.tools.join(", "),
            job.until.clone().unwrap_or_default(),
            job.why.clone(),
            job.now.join("; "),
            job.closed_until
                .map_or_else(String::new, |it| it.to_string()),
        ]
    });
    Ok(reply::csv(
        &format!("week-{}", week.week),
        table::csv(&words::HEADS, rows),
    ))
}

fn answer(week: &WeekAnswer, jobs: &[&WeekJob]) -> String {
    let of = |state: State| jobs.iter().filter(|it| it.state == state).count();
    let hours = jobs.iter().map(|it| it.hours_left).sum();
    words::answer(
        &week.week,
        of(State::Due),
        of(State::Slipped),
        of(State::Waiting),
        hours,
    )
}

/// The jobs that the address asks for.
fn chosen<'a>(week: &'a WeekAnswer, ask: &Ask) -> Vec<&'a WeekJob> {
    let is = |key: &str, value: &str| ask.query.get(key).is_none_or(|it| it == value);
    let jobs = week.jobs.iter().filter(|job| {
        is("crew", job.planned.crew.as_deref().unwrap_or_default())
            && is("place", place_of(job))
            && is("state", words::state(job.state).1)
    });
    jobs.collect()
}

/// Where one goes for a job: to the first of its lots, else where the plants go.
pub(super) fn place_of(job: &WeekJob) -> &str {
    let first = job.lots.first().map(|it| it.place.as_str());
    let place = first.unwrap_or(&job.planned.place);
    if place.is_empty() {
        words::NOWHERE
    } else {
        place
    }
}

fn by_place<'a>(jobs: &[&'a WeekJob]) -> Vec<(&'a str, Vec<&'a WeekJob>)> {
    let mut places: Vec<(&str, Vec<&WeekJob>)> = Vec::new();
    for job in jobs {
        match places.last_mut() {
            Some((place, jobs)) if *place == place_of(job) => jobs.push(job),
            _ => places.push((place_of(job), vec![job])),
        }
    }
    places
}

fn decide(office: &Office, week: &WeekAnswer) -> Markup {
    html! {
        @if let Work::Running(progress) = office.work.state() {
            p.notice { span { (words::PLANNING) " " (progress.words) "." } " " a href="/seasons" { (words::WATCH) } }
        }
        @if week.run.is_none() {
            p.notice { span { (words::NO_PLAN) } " " a.button href="/seasons" { (words::TO_SEASONS) } }
        }
    }
}

/// A line on tonight's frost, where an evening is noted that means harm. The jobs of a week do not
/// depend on it: what keeps the frost from being told stands on its own page.
fn frost(office: &Office, ask: &Ask) -> Markup {
    let frost = office.desk.frost_as_noted(office.day(ask)).ok().flatten();
    let told = frost.as_ref().and_then(of_frost::on_week);
    let to = address::with_fields("/sky/frost", &table::kept_fields(ask, &["as_of"]));
    html! {
        @if let Some(told) = told {
            p.notice role="alert" { span { (told) } " " a href=(to) { (of_frost::TO_FROST) } }
        }
    }
}

/// Places that nobody goes into.
fn closed(week: &WeekAnswer) -> Markup {
    html! {
        @if !week.closed.is_empty() {
            section {
                h2 { (words::CLOSED) }
                ul.plain { @for it in &week.closed { li { b { (it.place) } " " (words::closed(&app::date_words(it.until), &it.product)) } } }
                p.small.quiet { (words::LABEL_IS_LAW) }
            }
        }
    }
}

/// The weather of the next days, a line each.
fn days_ahead(week: &WeekAnswer) -> Markup {
    html! {
        @if !week.days_ahead.is_empty() {
            details.fold {
                summary { (words::days_ahead(&week.days_ahead)) }
                table {
                    thead { tr { @for head in words::DAYS_HEADS { th { (head) } } } }
                    tbody {
                        @for day in &week.days_ahead {
                            tr {
                                td data-head=(words::DAYS_HEADS[0]) { (app::date_words(day.date)) }
                                td.number data-head=(words::DAYS_HEADS[1]) { (degrees(day.tmin)) }
                                td.number data-head=(words::DAYS_HEADS[2]) { (degrees(day.tmax)) }
                                td.number data-head=(words::DAYS_HEADS[3]) { (degrees(day.rain_mm)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn degrees(value: Option<f64>) -> String {
    value.map_or_else(|| "–".to_owned(), amount)
}

/// Buds set this week by each budder, lot by lot.
fn buds_set(week: &WeekAnswer, names: &PlantNames) -> Markup {
    let mut budders: Vec<(&str, Vec<&BudsSet>)> = Vec::new();
    for it in &week.buds_set {
        let budder = it.budder.as_deref().unwrap_or(words::BUDDER_UNKNOWN);
        match budders.last_mut() {
            Some((last, lots)) if *last == budder => lots.push(it),
            _ => budders.push((budder, vec![it])),
        }
    }
    html! {
        @if !budders.is_empty() {
            section {
                h2 { (words::BUDS_SET) }
                ul.plain {
                    @for (budder, lots) in &budders {
                        @let all = lots.iter().map(|it| u64::from(it.plants)).sum();
                        li {
                            b { (budder) ": " (count(all)) }
                            ul.plain.small {
                                @for it in lots {
                                    li {
                                        (count(u64::from(it.plants))) " " (names.variety(&it.variety)) ", "
                                        a href=(address::lot(&it.lot)) { (it.lot) } " " (it.place) ", " (app::date_words(it.on))
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn warnings(warnings: &[String]) -> Markup {
    html! {
        @if !warnings.is_empty() {
            section { h2 { (words::MIND) } ul.plain { @for it in warnings { li { (it) } } } }
        }
    }
}

fn filters(week: &WeekAnswer, ask: &Ask) -> Markup {
    let mut crews: Vec<&str> = week
        .jobs
        .iter()
        .filter_map(|it| it.planned.crew.as_deref())
        .collect();
    let mut places: Vec<&str> = week.jobs.iter().map(place_of).collect();
    for names in [&mut crews, &mut places] {
        names.sort_unstable();
        names.dedup();
    }
    let states = [State::Due, State::Slipped, State::Waiting].map(|it| words::state(it).1);
    html! {
        form.row.noprint method="get" action="/week" {
            @if let Some(day) = ask.as_of { input type="hidden" name="as_of" value=(day); }
            (table::choose(words::CREW, "crew", words::ALL, &crews, ask))
            (table::choose(words::PLACE, "place", words::ALL, &places, ask))
            (table::choose(words::STATE, "state", words::ALL, &states, ask))
            button.plain { (words::SHOW) }
            a.button.plain href="/bed" { (words::ON_THE_PHONE) }
        }
    }
}

pub(super) fn what(job: &WeekJob, names: &PlantNames) -> String {
    let planned = &job.planned;
    let plant = names.plant(planned.variety.as_deref(), &planned.rootstock);
    sized(&plant, planned.size.as_deref().unwrap_or_default())
}

pub(super) fn supplies(job: &WeekJob) -> String {
    let supplies = job.supplies_left.iter();
    let words: Vec<String> = supplies
        .map(|it| format!("{} {}", amount(it.amount), it.supply))
        .collect();
    words.join(", ")
}

fn draw(office: &Office, ask: &Ask, job: &WeekJob, names: &PlantNames) -> Result<Markup, AppError> {
    let (shape, state) = words::state(job.state);
    let supplies = supplies(job);
    Ok(html! {
        article.job id=(anchor(job)) {
            h3 {
                span.tick aria-hidden="true" {}
                (job.name) ": "
                @if let Some(sticks) = job.sticks { (words::sticks(sticks, job.left)) " " }
                @else if job.left > 0 { (count(u64::from(job.left))) " " }
                (what(job, names))
            }
            @if let Some(until) = job.closed_until { p.refused { (words::closed_job(&app::date_words(until))) } }
            p.small {
                b { span aria-hidden="true" { (shape) } " " (state) }
                @if let Some(until) = &job.until { ", " (words::UNTIL) " " (until) }
                @if job.hours_left >= 0.05 { ", " (amount(job.hours_left)) " h" }
                @if let Some(crew) = &job.planned.crew { ", " (crew) }
            }
            p { (sentence(&job.why)) }
            @if !job.now.is_empty() { p.small { b { (words::NOW) ": " } (sentence(&job.now.join("; "))) } }
            @if let Some(slip) = &job.planned.slip { p.small.quiet { (words::NOT_THIS_WEEK) ": " (slip) } }
            @if !supplies.is_empty() { p.small.quiet { (words::SUPPLIES) ": " (supplies) } }
            @if !job.tools.is_empty() { p.small.quiet { (words::TOOLS) ": " (job.tools.join(", ")) } }
            @if let Some(noted) = &job.could_not {
                p.refused { (words::could_not(&noted.text, &noted.by, &app::date_words(noted.on))) }
            }
            (lots(job))
            @if job.state != State::Waiting { (taps(office, ask, job)?) }
            p.tick.counted { (words::COUNTED) }
        }
    })
}

fn anchor(job: &WeekJob) -> String {
    format!("job-{}", address::encode(&job.planned.job))
}

fn lots(job: &WeekJob) -> Markup {
    html! {
        @if !job.lots.is_empty() {
            ul.plain.small {
                @for lot in job.lots.iter().take(LOTS_SHOWN) {
                    li { a href=(address::lot(&lot.lot)) { (lot.lot) } " " span.quiet { (words::lot(&lot.place, lot.ready, lot.growing)) } }
                }
            }
        }
    }
}

/// What can be tapped: done as planned, another count, could not.
fn taps(office: &Office, ask: &Ask, job: &WeekJob) -> Result<Markup, AppError> {
    let back = format!("{}#{}", ask.here(), anchor(job));
    let of_lots = job.lots.iter().take(LOTS_SHOWN);
    let acts: Vec<(&str, &Value)> = match &job.act {
        Some(act) => vec![("", act)],
        None => of_lots
            .filter_map(|JobLot { lot, act, .. }| Some((lot.as_str(), act.as_ref()?)))
            .collect(),
    };
    let mut drawn = Vec::new();
    for (lot, act) in acts {
        drawn.push(tap(office, ask.as_of, lot, act, &back)?);
    }
    let note = office.ulid()?;
    Ok(html! {
        div.acts.noprint {
            @if let (true, Some(first)) = (drawn.is_empty(), job.lots.first()) {
                a.button.plain href=(address::lot(&first.lot)) { (words::open(&first.lot)) }
            }
            @for tap in drawn { (tap) }
            details.could-not {
                summary { (words::COULD_NOT) }
                form.entry method="post" action="/do/note" {
                    input type="hidden" name="id" value=(note);
                    input type="hidden" name="back" value=(back);
                    input type="hidden" name="about" value=(job.planned.job);
                    @if let Some(day) = ask.as_of { input type="hidden" name="on" value=(day); }
                    label {
                        span { (words::COULD_NOT_BECAUSE) }
                        input name="text" type="text" maxlength="200" required list="because";
                    }
                    button.plain { (words::NOTE_IT) }
                }
            }
        }
    })
}

/// The taps of one act: as it is where its counts are known, or by its form.
fn tap(
    office: &Office,
    day: Option<Date>,
    lot: &str,
    act: &Value,
    back: &str,
) -> Result<Markup, AppError> {
    let kind = act["act"].as_str().unwrap_or_default();
    let mut fields: Vec<(&str, String)> = act
        .as_object()
        .into_iter()
        .flatten()
        .filter(|(key, value)| *key != "act" && !value.is_null())
        .map(|(key, value)| (key.as_str(), table::plain(value)))
        .collect();
    // What is tapped on the page of another day was done on that day.
    fields.extend(day.map(|day| ("on", day.to_string())));
    let mut in_address: Vec<(&str, &str)> = fields
        .iter()
        .map(|(key, value)| (*key, value.as_str()))
        .collect();
    in_address.push(("back", back));
    let form = address::with_fields(&format!("/do/{kind}"), &in_address);
    let plants = ["plants", "seeds"]
        .iter()
        .find_map(|key| act[*key].as_u64());
    let id = office.ulid()?;
    // Only a person can say how many buds took.
    if kind == "unwrap" {
        return Ok(html! { a.button href=(form) { (words::take_count(lot)) } });
    }
    if lacks_something(kind, act) {
        return Ok(html! { a.button href=(form) { (words::enter(lot)) } });
    }
    Ok(html! {
        form method="post" action={ "/do/" (kind) } {
            input type="hidden" name="id" value=(id);
            input type="hidden" name="back" value=(back);
            @for (key, value) in &fields { input type="hidden" name=(key) value=(value); }
            button { (words::done(plants, lot)) }
        }
        a.button.plain href=(form) { (words::OTHER_COUNT) }
    })
}

/// Whether an act lacks something that only a person knows, such as who sold the plants.
pub(super) fn lacks_something(kind: &str, act: &Value) -> bool {
    deed(kind).is_none_or(|form| {
        let needed = form.fields.iter().filter(|field| field.needed);
        needed.into_iter().any(|field| {
            let value = &act[field.key];
            value.is_null() || value.as_array().is_some_and(Vec::is_empty)
        })
    })
}

/// Suggestions of reasons, once a page.
fn because() -> Markup {
    html! { datalist id="because" { @for reason in words::BECAUSE { option value=(reason) {} } } }
}
