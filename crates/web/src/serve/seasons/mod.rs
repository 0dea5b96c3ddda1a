//! Seasons: the accepted plan and whether it still holds, the plan that is being made, all plans kept.

mod agreed;
pub(super) mod compare;
pub(super) mod in_hand;
pub(super) mod odds;
pub(super) mod plan;
#[cfg(test)]
mod tests;
pub(super) mod what_if;

use app::ledger::{AcceptedNow, KeptPlan, Needed, NurseryFile, PlanBrief};
use app::{AppError, LineTally, date_words, money_words, of_minor, price_words};
use jiff::civil::Date;
use maud::{Markup, html};
use serde_json::{Value, json};

use super::address;
use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::table;
use super::work::{How, Progress, State};
use crate::figures::count;
use crate::figures::sentence;
use crate::frame::columns;
use crate::words::common::WHAT_HELPS;
use crate::words::seasons as words;

/// The page among all pages.
const OF: &str = "/seasons";

/// Plans of the list on one page.
const PLANS_SHOWN: usize = 20;

/// Seconds after which a page with running work is looked at again.
const AGAIN_S: u32 = 2;

/// How the season stands.
struct Season {
    accepted: Option<AcceptedNow>,
    /// Of all plans kept, the last one first, those shown.
    shown: Vec<(KeptPlan, Option<PlanBrief>)>,
    /// How many plans there are.
    plans: usize,
    needed: Vec<Needed>,
}

impl Season {
    fn of(office: &Office, day: Date, from: usize, most: usize) -> Result<Self, AppError> {
        office.desk.read(|file, sight| {
            let kept = file.plans()?;
            let plans = kept.len();
            let shown = kept.into_iter().skip(from).take(most);
            Ok(Self {
                accepted: file.accepted_plan(&sight.books, day)?,
                shown: shown
                    .map(|plan| with_brief(file, plan))
                    .collect::<Result<_, _>>()?,
                plans,
                needed: file.needed_for_plan(&sight.books, day)?,
            })
        })
    }

    fn is_accepted(&self, run: &str) -> bool {
        self.accepted.as_ref().is_some_and(|it| it.run == run)
    }

    /// Whether a plan was made as if something were otherwise.
    fn is_otherwise(&self, run: &str) -> bool {
        let brief = |(plan, brief): &(KeptPlan, Option<PlanBrief>)| {
            plan.run == run && brief.as_ref().is_some_and(|it| !it.changes.is_empty())
        };
        self.shown.iter().any(brief)
    }

    /// The sentence over the page.
    fn answer(&self, state: &State) -> String {
        match (state, &self.accepted) {
            (State::Running(_), _) => words::RUNS.to_owned(),
            (_, Some(accepted)) if words::holds(accepted.since) => words::HOLDS.to_owned(),
            (_, Some(accepted)) => words::changed(accepted.since),
            (_, None) if self.plans > 0 => words::none_accepted(self.plans),
            (_, None) if self.needed.is_empty() => words::NO_PLAN.to_owned(),
            (_, None) => words::needs(self.needed.len()),
        }
    }
}

fn with_brief(
    file: &NurseryFile,
    plan: KeptPlan,
) -> Result<(KeptPlan, Option<PlanBrief>), AppError> {
    let brief = file.plan_brief(&plan.run)?;
    Ok((plan, brief))
}

/// The address of a plan.
fn plan_at(run: &str) -> String {
    format!("{OF}/{}", address::encode(run))
}

/// Money in words.
fn money(minor: i64, currency: &str) -> String {
    format!(
        "{} {currency}",
        money_words(of_minor(minor as f64, currency))
    )
}

/// A number of an address; 0 where there is none.
fn number(ask: &Ask, key: &str) -> usize {
    let given = ask.query.get(key).and_then(|it| it.parse().ok());
    given.unwrap_or(0)
}

/// The season.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let from = number(ask, "at");
    let season = Season::of(office, office.day(ask), from, PLANS_SHOWN)?;
    let state = office.work.state();
    let body = html! {
        (work(&state, &office.clock(), &season))
        (accepted(&season))
        @if season.needed.is_empty() { (make(&state)) } @else { (needed(&season.needed)) }
        (kept(ask, &season, from))
    };
    let page = Page::new(OF, words::SHEET, season.answer(&state), body).with_csv("/seasons.csv");
    Ok(Reply::Page(match state {
        State::Running(_) => page.again_in(AGAIN_S),
        _ => page,
    }))
}

/// Begins to make a plan.
pub(super) fn start(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let is_ticked = |name: &str| ask.form.get(name).is_some();
    let how = How {
        weigh_all: is_ticked("weigh_all"),
        more_rounds: is_ticked(MORE_ROUNDS),
    };
    office.start_plan(how, &[])?;
    Ok(Reply::See(OF.to_owned()))
}

/// Ends what is being made; where nothing is, nothing happens.
#[expect(
    clippy::unnecessary_wraps,
    reason = "pages and forms are functions of one kind"
)]
pub(super) fn stop(office: &Office, _: &Ask) -> Result<Reply, AppError> {
    office.work.stop();
    Ok(Reply::See(OF.to_owned()))
}

/// How the work stands, for the page's own script.
#[expect(
    clippy::unnecessary_wraps,
    reason = "pages and forms are functions of one kind"
)]
pub(super) fn work_json(office: &Office, _: &Ask) -> Result<Reply, AppError> {
    Ok(Reply::Json(told(&office.work.state(), &office.clock())))
}

fn told(state: &State, now: &str) -> Value {
    match state {
        State::Idle => json!({"state": "idle"}),
        State::Running(it) => {
            let (done, of) = it.futures.unzip();
            json!({"state": "running", "words": it.words, "done": done, "of": of,
                "seconds": seconds(it, now), "time": words::for_seconds(seconds(it, now)),
                "futures": futures_words(it)})
        }
        State::Done(run) => json!({"state": "done", "run": run}),
        State::Failed { what, mend } => json!({"state": "failed", "what": what, "mend": mend}),
    }
}

/// Seconds since the work began.
fn seconds(work: &Progress, now: &str) -> u64 {
    let second = |moment: &str| {
        moment
            .parse::<jiff::Timestamp>()
            .map(jiff::Timestamp::as_second)
    };
    match (second(&work.since), second(now)) {
        (Ok(then), Ok(now)) => u64::try_from(now - then).unwrap_or(0),
        _ => 0,
    }
}

fn futures_words(work: &Progress) -> String {
    let drawn = work.futures.map(|(done, of)| words::futures(done, of));
    drawn.unwrap_or_default()
}

/// What is being made, or how it ended.
fn work(state: &State, now: &str, season: &Season) -> Markup {
    html! {
        @match state {
            State::Idle => {}
            State::Running(it) => {
                section data-work aria-label=(words::WORK) {
                    h2 { (words::WORK) }
                    p {
                        b data-words { (it.words) } ", "
                        span data-time { (words::for_seconds(seconds(it, now))) }
                    }
                    progress aria-label=(words::WORK) max=[it.futures.map(|(_, of)| of)] value=[it.futures.map(|(done, _)| done)] {}
                    p.quiet data-futures { (futures_words(it)) }
                    form method="post" action="/planning/stop" { button.plain { (words::STOP) } }
                }
            }
            // An accepted plan speaks for itself.
            State::Done(run) if season.is_accepted(run) => {}
            State::Done(run) => {
                div.notice role="status" {
                    p { (words::READY_WORDS) }
                    a.button href=(plan_at(run)) { (words::READY) }
                    @if season.is_otherwise(run) {
                        " " a.button.plain href=(compare::with(run)) { (words::COMPARE_IT) }
                    }
                }
            }
            State::Failed { what, mend } => {
                div.refused role="status" {
                    p { b { (words::FAILED) ": " } (sentence(what)) }
                    p { b { (WHAT_HELPS) } (mend) }
                }
            }
        }
    }
}

fn accepted(season: &Season) -> Markup {
    html! {
        @if let Some(accepted) = &season.accepted {
            section {
                h2 { (words::ACCEPTED) }
                dl.facts {
                    dt { (words::ACCEPTED_ON) }
                    dd { (words::accepted(&date_words(accepted.on), accepted.by.as_deref())) }
                    dt { (words::ITS_PLAN) }
                    dd { a href=(plan_at(&accepted.run)) { (accepted.run) } }
                    @if let Some(plan) = &accepted.plan {
                        dt { (words::EARNS) } dd { (money(plan.earns(), &plan.currency)) }
                        dt { (words::LINES) } dd { (words::lines(LineTally::of(&plan.lines, &plan.short))) }
                    }
                    dt { (words::SINCE) } dd { (words::since_words(accepted.since)) }
                }
            }
        }
    }
}

/// The field by which a large season has more rounds against luck.
const MORE_ROUNDS: &str = "more_rounds";

/// The tick that gives a large season more rounds against luck.
fn more_rounds_tick() -> Markup {
    html! {
        label.check {
            input type="checkbox" name=(MORE_ROUNDS) value="yes";
            span { (words::MORE_ROUNDS) " " small { (words::MORE_ROUNDS_WORDS) } }
        }
    }
}

/// The button that makes a plan; none while one is being made.
fn make(state: &State) -> Markup {
    html! {
        @if !matches!(state, State::Running(_)) {
            section {
                h2 { (words::NEW_PLAN) }
                p.say { (words::MAKE_WORDS) }
                form.entry method="post" action="/planning/start" {
                    label.check {
                        input type="checkbox" name="weigh_all" value="yes";
                        span { (words::WEIGH_ALL) " " small { (words::WEIGH_ALL_WORDS) } }
                    }
                    (more_rounds_tick())
                    div.acts { button { (words::MAKE) } }
                }
                p { a href="/seasons/what-if" { (words::TO_WHAT_IF) } }
            }
        }
    }
}

fn needed(missing: &[Needed]) -> Markup {
    html! {
        section {
            h2 { (words::NEEDED) }
            ul.plain { @for what in missing { li { (words::needed(*what)) } } }
            p { a.button href="/begin" { (words::TO_BEGIN) } }
        }
    }
}

fn kept(ask: &Ask, season: &Season, from: usize) -> Markup {
    let last = from + season.shown.len();
    html! {
        @if !season.shown.is_empty() {
            section {
                h2 { (words::KEPT) }
                table.rows.sort {
                    (columns(&words::KEPT_HEADS))
                    tbody {
                        @for (at, (plan, brief)) in season.shown.iter().enumerate() {
                            (kept_row(season, plan, brief.as_ref(), from + at == 0))
                        }
                    }
                }
                p.pager {
                    @if from > 0 {
                        a href=(ask.address_with("at", Some(&from.saturating_sub(PLANS_SHOWN).to_string()))) { (words::NEWER) }
                    }
                    @if last < season.plans { a href=(ask.address_with("at", Some(&last.to_string()))) { (words::OLDER) } }
                    @if season.plans > 1 { a href="/seasons/compare" { (words::COMPARE) } }
                }
            }
        }
    }
}

/// What a plan was made under as if it were otherwise.
fn otherwise(changes: &[String]) -> Markup {
    html! {
        @if !changes.is_empty() { br; span.small { (words::WHAT_IF) ": " (changes.join("; ")) } }
    }
}

fn kept_row(season: &Season, plan: &KeptPlan, brief: Option<&PlanBrief>, is_last: bool) -> Markup {
    let [_, made, earns, on_course, state] = words::KEPT_HEADS.map(|(head, _)| head);
    let is_accepted = season.is_accepted(&plan.run);
    html! {
        tr.mind[is_accepted] {
            td.lead {
                a href=(plan_at(&plan.run)) { (plan.run) }
                @if let Some(brief) = brief { (otherwise(&brief.changes)) }
            }
            td data-head=(made) data-v=(plan.made_at) { (words::moment(&plan.made_at)) }
            @if let Some(brief) = brief {
                td.n data-head=(earns) data-v=(brief.profit) { (money(brief.profit, &brief.currency)) }
                td.n data-head=(on_course) data-v=(brief.lines.on_course) {
                    (count(brief.lines.on_course as u64)) " / " (count(brief.lines.lines as u64))
                }
            } @else {
                td.n.none {} td.n.none {}
            }
            td data-head=(state) {
                @if is_accepted { b { (words::IS_ACCEPTED) } }
                @else if is_last { (words::IS_LAST) }
                @if brief.is_none() { " " (words::OTHER_VERSION) }
            }
        }
    }
}

/// All plans kept as a file.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let season = Season::of(office, office.day(ask), 0, usize::MAX)?;
    let heads = [
        "run",
        "made_at",
        "profit",
        "currency",
        "lines",
        "on_course",
        "at_risk",
        "short",
        "accepted",
        "what_if",
    ];
    let rows = season.shown.iter().map(|(plan, brief)| {
        let mut cells = vec![plan.run.clone(), plan.made_at.clone()];
        cells.extend(brief.as_ref().map_or_else(Default::default, brief_cells));
        let is_accepted = season.is_accepted(&plan.run);
        cells.push(if is_accepted { "yes" } else { "" }.to_owned());
        let changes = brief.as_ref().map(|it| it.changes.join("; "));
        cells.push(changes.unwrap_or_default());
        cells
    });
    Ok(reply::csv("plans", table::csv(&heads, rows)))
}

fn brief_cells(brief: &PlanBrief) -> [String; 6] {
    let tally = brief.lines;
    let [lines, on_course, at_risk, short] =
        [tally.lines, tally.on_course, tally.at_risk, tally.short].map(|it| it.to_string());
    let profit = price_words(brief.profit as f64, &brief.currency);
    [
        profit,
        brief.currency.clone(),
        lines,
        on_course,
        at_risk,
        short,
    ]
}
