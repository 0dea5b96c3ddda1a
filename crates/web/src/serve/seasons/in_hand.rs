//! What a plan needs to have in hand before its jobs begin: budsticks to cut, seed and buds to order; and its
//! weeks as a calendar.

use app::answers::{CutAnswer, PlanAnswer, ToOrderAnswer};
use app::{AppError, made_at, plan_calendar, price_words};
use maud::{Markup, html};

use super::plan::{known, plan_of};
use super::{money, plan_at};
use crate::figures::count;
use crate::frame::{columns, folded};
use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::reply::{self, Reply};
use crate::serve::table;
use crate::sheet::WeekLabel;
use crate::words::seasons as words;

/// Rows of each table before the rest is folded away, and rows in all; the files have all.
const SHOWN: usize = 8;
const MOST: usize = 30;

/// What is to be cut and ordered in some weeks.
pub(super) fn section(run: &str, plan: &PlanAnswer, weeks: &[WeekLabel]) -> Markup {
    let is_in = |week: &str| weeks.iter().any(|it| it.iso == week);
    let cuts: Vec<&CutAnswer> = plan.cuts.iter().filter(|it| is_in(&it.week)).collect();
    let to_order = plan.to_order.iter().filter(|it| is_in(&it.order_by));
    let to_order: Vec<&ToOrderAnswer> = to_order.collect();
    html! {
        @if !plan.cuts.is_empty() || !plan.to_order.is_empty() {
            section #in-hand {
                h2 { (words::IN_HAND) }
                @if cuts.is_empty() { p { (words::NO_CUTS) } }
                @else {
                    h3 { (words::CUTS) }
                    p.say { (words::CUTS_WORDS) }
                    (in_parts(&cuts, cut_rows))
                }
                @if to_order.is_empty() { p { (words::NO_ORDERS) } }
                @else {
                    h3 { (words::TO_ORDER) }
                    (in_parts(&to_order, |rows| order_rows(rows, &plan.currency)))
                }
                p.keep {
                    a href={ (plan_at(run)) "/sticks.csv" } download { (words::CUTS_FILE) } " "
                    a href={ (plan_at(run)) "/to-order.csv" } download { (words::TO_ORDER_FILE) } " "
                    a href={ (plan_at(run)) "/calendar.ics" } download { (words::CALENDAR_FILE) }
                }
            }
        }
    }
}

/// The first rows, and the others folded away.
fn in_parts<T>(all: &[&T], rows: impl Fn(&[&T]) -> Markup) -> Markup {
    let (all, unshown) = all.split_at(all.len().min(MOST));
    let (first, rest) = all.split_at(all.len().min(SHOWN));
    html! {
        (rows(first))
        @if !rest.is_empty() { (folded(&words::more_rows(rest.len()), &rows(rest))) }
        @if !unshown.is_empty() { p.small { (words::in_file(unshown.len())) } }
    }
}

fn cut_rows(cuts: &[&CutAnswer]) -> Markup {
    let heads = &words::CUT_HEADS;
    html! {
        table.rows {
            (columns(heads))
            tbody {
                @for cut in cuts {
                    tr {
                        td.due data-head=(heads[0].0) { (cut.week) }
                        th scope="row" { (cut.variety) }
                        td data-head=(heads[2].0) { (cut.mother_tree) }
                        td.n data-head=(heads[3].0) { (count(u64::from(cut.sticks))) }
                        td.n data-head=(heads[4].0) { (count(u64::from(cut.buds))) }
                        td.n data-head=(heads[5].0) { @if cut.stored > 0 { (count(u64::from(cut.stored))) } }
                    }
                }
            }
        }
    }
}

fn order_rows(orders: &[&ToOrderAnswer], currency: &str) -> Markup {
    let heads = &words::TO_ORDER_HEADS;
    html! {
        table.rows {
            (columns(heads))
            tbody {
                @for order in orders {
                    tr {
                        td.due data-head=(heads[0].0) { (order.order_by) }
                        th scope="row" { (order.what) }
                        td.n data-head=(heads[2].0) { (count(u64::from(order.units))) }
                        td data-head=(heads[3].0) { (order.delivered) }
                        td data-head=(heads[4].0) { (order.used_from) }
                        td.n data-head=(heads[5].0) { (money(order.cost, currency)) }
                    }
                }
            }
        }
    }
}

/// Budsticks to cut as a file.
pub(in crate::serve) fn sticks_csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let plan = plan_of(office, run)?;
    let heads = ["week", "variety", "mother_tree", "sticks", "buds", "stored"];
    let rows = plan.cuts.iter().map(|it| {
        let numbers = [it.sticks, it.buds, it.stored].map(|number| number.to_string());
        let texts = [&it.week, &it.variety, &it.mother_tree].map(Clone::clone);
        texts.into_iter().chain(numbers).collect()
    });
    Ok(reply::csv(
        &format!("{run}-sticks"),
        table::csv(&heads, rows),
    ))
}

/// What is to be ordered as a file.
pub(in crate::serve) fn to_order_csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let plan = plan_of(office, run)?;
    let heads = [
        "order_by",
        "what",
        "units",
        "delivered",
        "used_from",
        "cost",
        "currency",
    ];
    let rows = plan.to_order.iter().map(|it| {
        vec![
            it.order_by.clone(),
            it.what.clone(),
            it.units.to_string(),
            it.delivered.clone(),
            it.used_from.clone(),
            price_words(it.cost as f64, &plan.currency),
            plan.currency.clone(),
        ]
    });
    Ok(reply::csv(
        &format!("{run}-to-order"),
        table::csv(&heads, rows),
    ))
}

/// The weeks of a plan as a calendar.
pub(in crate::serve) fn calendar_file(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let plan = plan_of(office, run)?;
    let kept = office.desk.read(|file, _| known(file, run))?;
    Ok(reply::calendar(
        run,
        plan_calendar(&plan, made_at(&kept.made_at)),
    ))
}
