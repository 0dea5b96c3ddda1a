//! Standing: what stands where, at which stage, and when it is ready.

use std::collections::BTreeMap;

use app::AppError;
use app::ledger::{LotAnswer, PlantNames};
use maud::{Markup, html};

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, table};
use crate::chart::{StageBar, stage_bars};
use crate::figures::count;
use crate::frame::{columns, folded};
use crate::lines::sized;
use crate::words::standing as words;

/// Lots on a page.
const LOTS_SHOWN: usize = 150;
/// Kinds of plant in the order of their life.
const ORDER: [&str; 5] = ["seedling", "liner", "missed", "budded", "finished"];
/// Lots named where a decision is needed.
const NAMED: usize = 12;

/// The fields of the address that choose lots.
const CHOOSING: [&str; 7] = ["stage", "place", "variety", "rootstock", "q", "by", "as_of"];

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let lots = office.desk.standing(office.day(ask))?;
    let names = office.desk.plant_names()?;
    let chosen = chosen(&lots, ask);
    let body = html! {
        @if lots.is_empty() {
            p.say { (words::EMPTY_MEND) }
            div.acts {
                a.button href="/do/open_lot?back=/standing" { (words::OPEN) }
                a.button.plain href="/settings/files" { "lots.csv" }
            }
        } @else {
            (decide(&lots, &names))
            (picture(&chosen))
            (filters(&lots, ask))
            (listed(&chosen, ask, &names))
            div.acts.noprint {
                a.button.plain href="/do/sow?back=/standing" { (words::SOW) }
                a.button.plain href="/do/buy_in?back=/standing" { (words::BUY) }
                a.button.plain href="/do/open_lot?back=/standing" { (words::OPEN) }
            }
            p.noprint { a href="/papers" { (words::TO_PRINT) } }
            (method())
        }
    };
    let csv = address::with_fields("/standing.csv", &table::kept_fields(ask, &CHOOSING));
    Ok(Reply::Page(
        Page::new("/standing", words::SHEET, answer(&chosen), body).with_csv(csv),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let lots = office.desk.standing(office.day(ask))?;
    let rows = chosen(&lots, ask).into_iter().map(|lot| {
        let week = lot.expected.ready_week.as_ref();
        let of = |pick: fn(&app::ledger::Quantiles) -> &String| {
            week.map_or_else(String::new, |it| pick(it).clone())
        };
        vec![
            lot.lot.clone(),
            lot.stage.to_owned(),
            lot.rootstock.clone(),
            lot.variety.clone().unwrap_or_default(),
            lot.size.clone().unwrap_or_default(),
            lot.place.clone(),
            lot.growing.to_string(),
            lot.ready.to_string(),
            lot.entered.to_string(),
            of(|it| &it.p10),
            of(|it| &it.p50),
            of(|it| &it.p90),
            lot.expected.over_age_week.clone().unwrap_or_default(),
            lot.expected
                .degree_days
                .map_or_else(String::new, |it| it.so_far.to_string()),
            if lot.held {
                "held".to_owned()
            } else {
                String::new()
            },
        ]
    });
    Ok(reply::csv("standing", table::csv(&words::CSV_HEADS, rows)))
}

fn answer(lots: &[&LotAnswer]) -> String {
    if lots.is_empty() {
        return words::EMPTY.to_owned();
    }
    let sum = |of: fn(&LotAnswer) -> u32| lots.iter().map(|it| u64::from(of(it))).sum();
    words::answer(
        sum(|it| it.growing + it.ready),
        lots.len(),
        sum(|it| it.ready),
        lots.iter().filter(|it| it.held).count(),
    )
}

fn chosen<'a>(lots: &'a [LotAnswer], ask: &Ask) -> Vec<&'a LotAnswer> {
    let is = |key: &str, value: &str| ask.query.get(key).is_none_or(|it| it == value);
    let part = ask.query.get("q").unwrap_or_default().to_lowercase();
    let lots = lots.iter().filter(|lot| {
        is("stage", lot.stage)
            && is("place", &lot.place)
            && is("variety", lot.variety.as_deref().unwrap_or_default())
            && is("rootstock", &lot.rootstock)
            && lot.lot.to_lowercase().contains(&part)
    });
    lots.collect()
}

/// Lots that are held, and those whose ready plants will soon have waited too long.
fn decide(lots: &[LotAnswer], names: &PlantNames) -> Markup {
    let held: Vec<&LotAnswer> = lots.iter().filter(|it| it.held).collect();
    let mut old: Vec<&LotAnswer> = lots
        .iter()
        .filter(|it| it.expected.over_age_week.is_some() && !it.held)
        .collect();
    old.sort_by_key(|it| it.expected.over_age_week.clone());
    let old: Vec<&LotAnswer> = old.into_iter().take(3).collect();
    html! {
        @for (name, why, lots) in [(words::HELD, words::HELD_WHY, held), (words::OVER_AGE, words::OVER_AGE_WHY, old)] {
            @if !lots.is_empty() {
                section {
                    h2 { (name) }
                    p.say { (why) }
                    ul.plain {
                        @for lot in lots.iter().take(NAMED) {
                            li {
                                a href=(address::lot(&lot.lot)) { (lot.lot) } ": "
                                (count(u64::from(lot.growing + lot.ready))) " " (what(lot, names)) ", " (lot.place)
                                @if let Some(week) = &lot.expected.over_age_week { ", " (week) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn picture(lots: &[&LotAnswer]) -> Markup {
    let of_stage = |stage: &&str| {
        let lots = || lots.iter().filter(|it| it.stage == *stage);
        StageBar {
            stage: (*stage).to_owned(),
            ready: lots().map(|it| u64::from(it.ready)).sum(),
            growing: lots().map(|it| u64::from(it.growing)).sum(),
        }
    };
    let mut stages: Vec<StageBar> = ORDER.iter().map(of_stage).collect();
    stages.retain(|bar| bar.ready + bar.growing > 0);
    html! {
        @if stages.len() > 1 {
            section { h2 { (words::PICTURE) } (stage_bars("stages", words::PICTURE, &stages)) }
        }
    }
}

fn filters(lots: &[LotAnswer], ask: &Ask) -> Markup {
    let names = |of: fn(&LotAnswer) -> Option<&str>| {
        let mut names: Vec<&str> = lots.iter().filter_map(of).collect();
        names.sort_unstable();
        names.dedup();
        names
    };
    let by = [words::BY_COMBINATION, words::BY_PLACE];
    html! {
        form.row.noprint method="get" action="/standing" {
            @if let Some(day) = ask.as_of { input type="hidden" name="as_of" value=(day); }
            label { span { (words::NAME) } input name="q" type="search" value=[ask.query.get("q")]; }
            (table::choose(words::STAGE, "stage", words::ALL, &names(|it| Some(it.stage)), ask))
            (table::choose(words::PLACE, "place", words::ALL, &names(|it| Some(&it.place)), ask))
            (table::choose(words::VARIETY, "variety", words::ALL, &names(|it| it.variety.as_deref()), ask))
            (table::choose(words::ROOTSTOCK, "rootstock", words::ALL, &names(|it| Some(&it.rootstock)), ask))
            (table::choose(words::BY, "by", words::BY_LOT, &by, ask))
            button.plain { (words::SHOW) }
        }
    }
}

fn listed(lots: &[&LotAnswer], ask: &Ask, names: &PlantNames) -> Markup {
    if lots.is_empty() {
        return html! { p { (words::NONE) } };
    }
    match ask.query.get("by") {
        Some(words::BY_COMBINATION) => groups(lots, |lot| what(lot, names)),
        Some(words::BY_PLACE) => groups(lots, |lot| lot.place.clone()),
        _ => by_lot(lots, ask, names),
    }
}

fn by_lot(lots: &[&LotAnswer], ask: &Ask, names: &PlantNames) -> Markup {
    let from: usize = ask
        .query
        .get("from")
        .and_then(|it| it.parse().ok())
        .unwrap_or(0);
    let shown: Vec<_> = lots.iter().skip(from).take(LOTS_SHOWN).collect();
    html! {
        table.rows.sort {
            (columns(&words::LOT_HEADS))
            tbody {
                @for lot in &shown {
                    tr {
                        td.lead { a href=(address::lot(&lot.lot)) { (lot.lot) } @if lot.held { " " b { (words::HELD) } } }
                        td.full-row { (what(lot, names)) small { (lot.stage) } }
                        td data-head=(words::PLACE) { (lot.place) }
                        td.n data-head=(words::LOT_HEADS[3].0) data-v=(lot.ready) { (count(u64::from(lot.ready))) }
                        td.n data-head=(words::LOT_HEADS[4].0) data-v=(lot.growing) { (count(u64::from(lot.growing))) }
                        td data-head=(words::LOT_HEADS[5].0) { (ready_in(lot)) }
                        td data-head=(words::LOT_HEADS[6].0) { (lot.expected.over_age_week.as_deref().unwrap_or("–")) }
                    }
                }
            }
        }
        @if from + shown.len() < lots.len() {
            @let next = (from + shown.len()).to_string();
            p { a.button.plain href=(ask.address_with("from", Some(&next))) { (words::NEXT) } }
        }
    }
}

/// The weeks in which growing plants are ready: the middle one and those around it.
pub(super) fn ready_in(lot: &LotAnswer) -> Markup {
    html! {
        @match &lot.expected.ready_week {
            Some(week) => { (week.p50) small { (week.p10) " to " (week.p90) } }
            None => "–",
        }
    }
}

/// Plants that belong together.
#[derive(Default)]
struct Group {
    lots: u64,
    ready: u64,
    growing: u64,
    weeks: Vec<String>,
}

fn groups(lots: &[&LotAnswer], key: impl Fn(&LotAnswer) -> String) -> Markup {
    let mut groups: BTreeMap<String, Group> = BTreeMap::new();
    for lot in lots {
        let group = groups.entry(key(lot)).or_default();
        group.lots += 1;
        group.ready += u64::from(lot.ready);
        group.growing += u64::from(lot.growing);
        group
            .weeks
            .extend(lot.expected.ready_week.as_ref().map(|it| it.p50.clone()));
    }
    html! {
        table.rows.sort {
            (columns(&words::GROUP_HEADS))
            tbody {
                @for (name, group) in &groups {
                    tr {
                        td.lead { (name) }
                        td.n data-head=(words::GROUP_HEADS[1].0) data-v=(group.lots) { (count(group.lots)) }
                        td.n data-head=(words::GROUP_HEADS[2].0) data-v=(group.ready) { (count(group.ready)) }
                        td.n data-head=(words::GROUP_HEADS[3].0) data-v=(group.growing) { (count(group.growing)) }
                        td data-head=(words::GROUP_HEADS[4].0) {
                            @match (group.weeks.iter().min(), group.weeks.iter().max()) {
                                (Some(first), Some(last)) if first == last => (first),
                                (Some(first), Some(last)) => { (first) " to " (last) }
                                _ => "–",
                            }
                        }
                    }
                }
            }
        }
    }
}

fn method() -> Markup {
    folded(
        crate::words::common::METHOD,
        &html! { ul.plain { @for it in words::METHOD { li { (it) } } } },
    )
}

/// A lot's plants in words.
pub(super) fn what(lot: &LotAnswer, names: &PlantNames) -> String {
    let plant = names.plant(lot.variety.as_deref(), &lot.rootstock);
    sized(&plant, lot.size.as_deref().unwrap_or_default())
}
