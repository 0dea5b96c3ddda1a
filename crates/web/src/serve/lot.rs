//! A lot's page: how it stands, what can be recorded of it, its life.

use app::AppError;
use app::ledger::{ActAnswer, KinAnswer, LifeAnswer, LotAnswer, PlantNames};
use jiff::civil::Date;
use maud::{Markup, html};

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::promises::odd_counts;
use super::reply::{self, Reply};
use super::{address, standing, table};
use crate::chart::{CourseStep, course_chart};
use crate::figures::count;
use crate::frame::columns;
use crate::words::deeds::deed;
use crate::words::standing::lot as words;

/// Samples shown of a lot, the last ones; its life has all.
const LOOKS: usize = 3;

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let life = life(office, ask)?;
    let mut rows = Vec::new();
    for it in life.acts.iter().rev() {
        rows.push((it, undo_or_correct(office, ask, &it.act)?));
    }
    let body = html! {
        (held(&life))
        (odd(office, ask, &life.lot)?)
        @if let Some(now) = &life.now {
            section.noprint { h2 { (words::WHAT_WAS_DONE) } (acts(&life, now, ask.as_of)) }
        }
        p.noprint { a href=(address::with_fields("/papers/labels", &[("lots", &life.lot)])) { (words::LABEL) } }
        @if let Some(now) = &life.now { (facts(&life, now)) }
        (picture(&life, office.day(ask)))
        (kin(&life))
        section {
            h2 { (words::LIFE) }
            table.rows.sort {
                (columns(&words::LIFE_HEADS))
                tbody {
                    @for (it, taps) in &rows {
                        tr {
                            td.due data-head=(words::LIFE_HEADS[0].0) data-v=(it.act.on) { (day_and_time(&it.act)) }
                            td.full-row { (said(&it.act)) }
                            td.n data-head=(words::LIFE_HEADS[2].0) { (change(it.before, it.after)) }
                            td data-head=(words::LIFE_HEADS[3].0) { (it.act.by) }
                            td.noprint { (taps) }
                        }
                    }
                }
            }
        }
    };
    let csv = format!("{}.csv", address::lot(&life.lot));
    Ok(Reply::Page(
        Page::new(
            "/standing",
            format!("{} {}", words::SHEET, life.lot),
            answer(&life, &*office.desk.plant_names()?),
            body,
        )
        .with_csv(csv),
    ))
}

/// Counts of the lot that hardly go with what was expected of it.
fn odd(office: &Office, ask: &Ask, lot: &str) -> Result<Markup, AppError> {
    let odds = office.desk.odds(office.day(ask))?;
    let surprises = odds.now.as_ref().map_or(&[][..], |it| &it.answer.surprises);
    Ok(odd_counts(surprises, |it| it == lot))
}

/// Its life as a file.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let life = life(office, ask)?;
    let rows = life.acts.iter().map(|it| {
        let plants = |plants: Option<u32>| plants.map_or_else(String::new, |it| it.to_string());
        vec![
            it.act.number.to_string(),
            it.act.on.to_string(),
            it.act.recorded_at.clone(),
            it.act.by.clone(),
            it.act.act.clone(),
            it.act.words.clone(),
            plants(it.before),
            plants(it.after),
        ]
    });
    let text = table::csv(&words::CSV_HEADS, rows);
    Ok(reply::csv(&format!("lot-{}", life.lot), text))
}

fn life(office: &Office, ask: &Ask) -> Result<LifeAnswer, AppError> {
    let day = office.day(ask);
    let name = ask.part("lot");
    office.desk.read(|file, sight| {
        let outlook = office.desk.outlook(file, sight, day)?;
        file.life(&sight.books, name, day, &outlook)
    })
}

fn answer(life: &LifeAnswer, names: &PlantNames) -> String {
    match &life.now {
        Some(now) => words::answer(
            &life.lot,
            &standing::what(now, names),
            &now.place,
            now.ready,
            now.growing + now.ready,
        ),
        None => words::gone(
            &life.lot,
            &names.plant(life.variety.as_deref(), &life.rootstock),
        ),
    }
}

fn held(life: &LifeAnswer) -> Markup {
    html! {
        @if !life.holds.is_empty() {
            div.refused {
                p { b { (words::HELD) } }
                ul.plain {
                    @for hold in &life.holds {
                        li { (words::hold(&hold.of.name, &app::date_words(hold.since), &hold.reason)) }
                    }
                }
            }
        }
    }
}

/// The acts that apply to a lot as it stands, those of its stage first.
fn acts_of(life: &LifeAnswer, now: &LotAnswer) -> Vec<&'static str> {
    let is_wrapped = now.stage == "budded" && now.ready == 0 && !was_unwrapped(life);
    let of_stage: &[&str] = match now.stage {
        "seedling" => &["count", "rogue", "line_out", "pot_up"],
        "liner" | "missed" => &["bud", "count", "pot_up", "lift"],
        "budded" if is_wrapped => &["unwrap", "count"],
        "budded" => &[
            "force", "count", "stake", "sucker", "head", "lift", "pot_up",
        ],
        _ => &["grade", "ship", "count", "pot_up", "head"],
    };
    let mut acts = of_stage.to_vec();
    acts.push("measure");
    if life.variety.is_some() {
        acts.push("tag");
    }
    acts.extend(["lose", "move", "split", "merge", "sample", "note", "hours"]);
    acts.push(if now.held { "release" } else { "hold" });
    acts.push("destroy");
    acts
}

fn was_unwrapped(life: &LifeAnswer) -> bool {
    let kinds = life.acts.iter().map(|it| it.act.act.as_str());
    kinds.into_iter().any(|it| matches!(it, "unwrap" | "force"))
}

fn acts(life: &LifeAnswer, now: &LotAnswer, day: Option<Date>) -> Markup {
    let on = day.map(|it| it.to_string());
    let back = address::lot(&life.lot);
    let plants = (now.growing + now.ready).to_string();
    let fields = |act: &str| -> Vec<(&str, &str)> {
        match act {
            "merge" => vec![("lots", life.lot.as_str())],
            "note" => vec![("about", life.lot.as_str())],
            "hours" => Vec::new(),
            "line_out" | "pot_up" | "lift" | "move" | "bud" => {
                vec![("lot", life.lot.as_str()), ("plants", plants.as_str())]
            }
            _ => vec![("lot", life.lot.as_str())],
        }
    };
    html! {
        ul.acts {
            @for (at, form) in acts_of(life, now).into_iter().filter_map(deed).enumerate() {
                @let mut fields = fields(form.act);
                @let () = fields.push(("back", &back));
                @let () = fields.extend(on.iter().map(|day| ("on", day.as_str())));
                @let at_form = address::with_fields(&format!("/do/{}", form.act), &fields);
                li { a.button.plain[at > 1] href=(at_form) { (form.name) } }
            }
        }
    }
}

fn facts(life: &LifeAnswer, now: &LotAnswer) -> Markup {
    let expected = &now.expected;
    html! {
        section {
            h2 { (words::FACTS) }
            dl.facts {
                dt { (words::KIND) } dd { (now.stage) }
                dt { (words::PLACE) } dd { (now.place) }
                dt { (words::READY) } dd { (count(u64::from(now.ready))) }
                dt { (words::GROWING) } dd { (count(u64::from(now.growing))) }
                dt { (words::ENTERED) } dd { (app::date_words(now.entered)) }
                @if let Some(day) = life.budded_on { dt { (words::BUDDED) } dd { (app::date_words(day)) } }
                @if let Some(heat) = expected.degree_days { dt { (words::HEAT) } dd { (words::heat(heat.so_far, heat.needed)) } }
                @if expected.ready_week.is_some() { dt { (words::EXPECTED) } dd { (standing::ready_in(now)) } }
                @if let Some(week) = &expected.over_age_week { dt { (words::OVER_AGE) } dd { (week) } }
                @if let Some(class) = &life.health_class { dt { (words::HEALTH_CLASS) } dd { (class) } }
                @if !life.looks.is_empty() {
                    dt { (words::LOOKS) }
                    dd { @for it in life.looks.iter().take(LOOKS) { div { (words::look(&app::date_words(it.on), it.looked_at, it.fit, it.caliper_mm)) } } }
                }
                @if !life.tags.is_empty() {
                    dt { (words::TAGS) }
                    dd { @for it in &life.tags { div { a href=(address::order(&it.order)) { (words::sent(it.plants, &it.order, &it.line, &it.customer)) } } } }
                }
            }
        }
    }
}

fn picture(life: &LifeAnswer, until: Date) -> Markup {
    let mut steps: Vec<CourseStep> = life
        .course
        .iter()
        .map(|it| CourseStep {
            day: day_number(it.on),
            words: app::date_words(it.on),
            ready: it.ready,
            growing: it.growing,
        })
        .collect();
    // As it stood last, it still stands.
    if let Some(last) = steps.last().cloned() {
        steps.push(CourseStep {
            day: day_number(until),
            words: app::date_words(until),
            ..last
        });
    }
    html! {
        @if steps.len() > 1 {
            section {
                h2 { (words::PICTURE) }
                (course_chart("course", &life.lot, &steps))
            }
        }
    }
}

fn day_number(day: Date) -> i64 {
    let since = day.since(Date::ZERO);
    since.map_or(0, |span| i64::from(span.get_days()))
}

fn kin(life: &LifeAnswer) -> Markup {
    let trace = address::with_fields("/lineage", &[("of", &life.lot)]);
    html! {
        section {
            @for (name, kin) in [(words::FROM, &life.from), (words::INTO, &life.into)] {
                @if !kin.is_empty() {
                    h2 { (name) }
                    ul.plain { @for it in kin { li { (kin_words(it)) } } }
                }
            }
            @if !life.shipments.is_empty() {
                h2 { (words::SENT) }
                ul.plain {
                    @for it in &life.shipments {
                        li { a href=(address::order(&it.order)) { (words::sent(it.plants, &it.order, &it.line, &it.customer)) } }
                    }
                }
            }
            p { a href=(trace) { (words::TRACE) } }
        }
    }
}

fn kin_words(kin: &KinAnswer) -> Markup {
    let node = &kin.node;
    let at = if node.kind == "lot" {
        address::lot(&node.name)
    } else {
        address::with_fields("/lineage", &[("of", &node.name)])
    };
    html! {
        (words::gave(kin.gave)) " "
        @if node.kind == "outside" { (node.name) } @else { a href=(at) { (node.name) } }
    }
}

/// The day of an act, and the time of day where it was entered in the field.
pub(super) fn day_and_time(act: &ActAnswer) -> Markup {
    html! {
        (app::date_words(act.on))
        @if let Some(at) = act.at { " " small { (at.strftime("%H:%M").to_string()) } }
    }
}

/// What an act says, and how it was corrected.
pub(super) fn said(act: &ActAnswer) -> Markup {
    html! {
        @match &act.corrected {
            Some(it) if it.never => { del { (act.words) } " " b { (words::NEVER) } }
            _ => (act.words),
        }
        @if let Some(it) = &act.corrected {
            small { (words::corrected(&it.by, &app::date_words(it.on), &it.reason, &it.was)) }
        }
    }
}

/// The taps beside an entry.
pub(super) fn undo_or_correct(
    office: &Office,
    ask: &Ask,
    act: &ActAnswer,
) -> Result<Markup, AppError> {
    if !act.can_undo {
        return Ok(html! {});
    }
    let id = office.ulid()?;
    let back = ask.here();
    let correct = address::with_fields("/correct", &[("act", &act.id), ("back", &back)]);
    Ok(html! {
        details.mend-entry {
            summary { (words::CORRECT) }
            div.acts {
                @if deed(&act.act).is_some() { a.button.plain href=(correct) { (words::CORRECT) } }
                form method="post" action="/undo" {
                    input type="hidden" name="id" value=(id);
                    input type="hidden" name="corrects" value=(act.id);
                    input type="hidden" name="back" value=(back);
                    button.plain { (words::UNDO) }
                }
            }
        }
    })
}

fn change(before: Option<u32>, after: Option<u32>) -> String {
    let number = |it: u32| count(u64::from(it));
    match (before, after) {
        (Some(before), Some(after)) if before == after => number(after),
        (Some(before), Some(after)) => format!("{} → {}", number(before), number(after)),
        (None, Some(after)) => number(after),
        (Some(before), None) => number(before),
        (None, None) => "–".to_owned(),
    }
}
