//! The season plan.

use std::ops::Range;

use maud::{Markup, html};

use crate::chart::{Axis, has_prices, limit_chart, operation_chart, peak};
use crate::figures::{amount, count, in_words, of, price};
use crate::frame::{Head, columns, find, folded, list, method, page};
use crate::jobs::Jobs;
use crate::lines::Standing;
use crate::sheet::{LimitSeries, OperationSeries, PlanSheet, ScarceRow, SupplyRow, WeekLabel};
use crate::words::plan as words;

/// Rows of scarce weeks shown before the rest is folded away.
const SCARCE_SHOWN: usize = 12;
/// Order lines that gave something up shown before the rest is folded away.
const GIVEN_UP_SHOWN: usize = 6;
/// Most of them folded on a page.
const MOST_GIVEN_UP: usize = 24;
/// Most supplies of a page, those used up most.
const MOST_SUPPLIES: usize = 48;

/// The page of a season plan: what to decide, what to do first, the pictures, the tables.
pub fn plan_page(sheet: &PlanSheet) -> String {
    let jobs = Jobs::new(sheet);
    let standing = Standing::new(&sheet.lines, &sheet.short);
    let nothing = jobs.is_empty() && standing.total() == 0;
    let answer = answer(&standing, &jobs);
    let head = Head {
        nursery: &sheet.nursery,
        sheet: "Season plan",
        as_of: &sheet.as_of,
        run: &sheet.run,
        answer: &answer,
    };
    page(
        &head,
        &html! {
            @if nothing { (first_steps()) }
            (facts(sheet, &standing, &jobs))
            (scarcest(sheet))
            (standing.to_decide())
            (given_up(sheet))
            (list("Mind this", &sheet.warnings))
            (jobs.first())
            (pictures(sheet, 0..sheet.weeks.len()))
            @if !nothing { (find()) }
            (standing.table(&Axis::new(&sheet.weeks, sheet.today)))
            (jobs.rest())
            (supplies(&sheet.supplies))
            (scarce(sheet))
            (method(&sheet.notes))
        },
    )
}

/// The sentence over a plan.
pub(crate) fn answer(standing: &Standing, jobs: &Jobs) -> String {
    match (jobs.is_empty(), standing.total()) {
        (true, 0) => {
            "There is no plan yet. Tell Barkslip what stands and what is ordered.".to_owned()
        }
        (false, 0) => format!(
            "The plan has {}; no orders stand yet.",
            of(jobs.len() as u64, "job")
        ),
        _ => standing.answer(),
    }
}

/// What to do before there is anything to plan.
fn first_steps() -> Markup {
    html! {
        ol {
            li { "Write down what stands: " code { "barkslip template lots.csv" } " prints the table to fill." }
            li { "Write down what is ordered: " code { "barkslip template orders.csv" } "." }
            li {
                "Save both as " code { "lots.csv" } " and " code { "orders.csv" }
                " in the folder of your nursery, then ask for the plan with " code { "barkslip plan" } "."
            }
        }
    }
}

pub(crate) fn facts(sheet: &PlanSheet, standing: &Standing, jobs: &Jobs) -> Markup {
    html! {
        (standing.tally())
        @if !jobs.is_empty() {
            p {
                (of(jobs.len() as u64, "job")) " over " (of(sheet.weeks.len() as u64, "week"))
                @if !sheet.profit.is_empty() {
                    "; the plan earns about " b { (sheet.profit) " " (sheet.currency) } ", an estimate"
                }
                "."
            }
        }
    }
}

/// The pictures by week; the figures beside them are of some weeks only where a page cannot hold all.
pub(crate) fn pictures(sheet: &PlanSheet, figures: Range<usize>) -> Markup {
    let axis = Axis::new(&sheet.weeks, sheet.today);
    html! {
        @if !sheet.weeks.is_empty() {
            (operations(&axis, &sheet.by_operation, figures.clone()))
            (limits("Crew hours against what you have", "crew", &axis, &sheet.crews, sheet, figures.clone()))
            (limits("Space against what you have", "place", &axis, &sheet.places, sheet, figures))
        }
    }
}

fn operations(axis: &Axis, all: &[OperationSeries], figures: Range<usize>) -> Markup {
    html! {
        @if !all.is_empty() {
            section {
                h2 { "The plan by week" }
                p.say { "One row an operation, one bar a week, in plants. The number stands on the week with most." }
                @for (at, series) in all.iter().enumerate() {
                    figure {
                        figcaption {
                            b { (series.operation) }
                            span.quiet.small { (count(series.plants_by_week.iter().sum())) " plants in all" }
                        }
                        (operation_chart(axis, &format!("operation-{at}"), series, at + 1 == all.len()))
                    }
                }
                (folded(&figures_of(axis, &figures), &operation_figures(axis, all, figures)))
            }
        }
    }
}

/// The head of folded figures.
fn figures_of(axis: &Axis, weeks: &Range<usize>) -> String {
    if weeks.len() >= axis.len() {
        return "These weeks in figures".to_owned();
    }
    let last = weeks.end.clamp(1, axis.len()) - 1;
    format!("{} to {} in figures", axis.iso(weeks.start), axis.iso(last))
}

fn operation_figures(axis: &Axis, all: &[OperationSeries], weeks: Range<usize>) -> Markup {
    let plants =
        |series: &OperationSeries, week| series.plants_by_week.get(week).copied().unwrap_or(0);
    let weeks = weeks.filter(|week| all.iter().any(|series| plants(series, *week) > 0));
    html! {
        div.scroll {
            table {
                thead {
                    tr { th scope="col" { "Week" } @for series in all { th.n scope="col" { (series.operation) } } }
                }
                tbody {
                    @for week in weeks {
                        tr {
                            th scope="row" { (axis.iso(week)) }
                            @for series in all { td.n { (count(plants(series, week))) } }
                        }
                    }
                }
            }
        }
    }
}

fn limits(
    heading: &str,
    kind: &str,
    axis: &Axis,
    all: &[LimitSeries],
    sheet: &PlanSheet,
    figures: Range<usize>,
) -> Markup {
    let hired = all
        .iter()
        .any(|series| series.hired.iter().any(|hours| *hours > 0.0));
    html! {
        @if !all.is_empty() {
            section {
                h2 { (heading) }
                p.say {
                    "Bars are what the plan uses, the line across is what you have."
                    @if hired { " Striped bars are hired." }
                    @if all.iter().any(has_prices) {
                        " A wedge marks a scarce week; its price is what one more unit that week would earn."
                    }
                }
                @for (at, series) in all.iter().enumerate() {
                    figure {
                        figcaption { b { (series.name) } span.quiet.small { (limit_caption(axis, series)) } }
                        (limit_chart(axis, &format!("{kind}-{at}"), series, &sheet.currency))
                    }
                }
                (folded(&figures_of(axis, &figures), &html! {
                    @for series in all {
                        h3 { (series.name) }
                        (limit_figures(axis, series, &sheet.currency, figures.clone()))
                    }
                }))
            }
        }
    }
}

/// The fullest week and how many are scarce, in words beside the picture.
fn limit_caption(axis: &Axis, series: &LimitSeries) -> String {
    let scarce = series.price.iter().filter(|price| **price > 0.0).count();
    let most = peak(series.used.iter().copied()).map_or_else(
        || "not used".to_owned(),
        |(week, most)| {
            format!(
                "most {} {} in {}",
                amount(most),
                series.unit,
                axis.iso(week)
            )
        },
    );
    match scarce {
        0 => format!("{most}; never scarce"),
        1 => format!("{most}; scarce in one week"),
        weeks => format!("{most}; scarce in {} weeks", in_words(weeks)),
    }
}

fn limit_figures(axis: &Axis, series: &LimitSeries, currency: &str, weeks: Range<usize>) -> Markup {
    let at = |values: &[f64], week: usize| values.get(week).copied().unwrap_or(0.0);
    let hired = series.hired.iter().any(|hours| *hours > 0.0);
    let weeks = weeks.filter(|week| at(&series.used, *week) > 0.0);
    html! {
        div.scroll {
            table {
                thead {
                    tr {
                        th scope="col" { "Week" }
                        th.n scope="col" { "Used, " (series.unit) }
                        th.n scope="col" { "There is" }
                        @if hired { th.n scope="col" { "Of it hired" } }
                        th.n scope="col" { "One more earns, " (currency) }
                    }
                }
                tbody {
                    @for week in weeks {
                        tr {
                            th scope="row" { (axis.iso(week)) }
                            td.n { (amount(at(&series.used, week))) }
                            td.n { (amount(at(&series.limit, week))) }
                            @if hired { td.n { (amount(at(&series.hired, week))) } }
                            td.n { @if at(&series.price, week) > 0.0 { (price(at(&series.price, week), currency)) } @else { "slack" } }
                        }
                    }
                }
            }
        }
    }
}

/// Seed and buds against what there is.
pub(crate) fn supplies(rows: &[SupplyRow]) -> Markup {
    let rows = &rows[..rows.len().min(MOST_SUPPLIES)];
    let (first, rest) = rows.split_at(rows.len().min(SCARCE_SHOWN));
    html! {
        @if !first.is_empty() {
            section {
                h2 { (words::SUPPLIES) }
                p.say { (words::SUPPLIES_SAY) }
                (supply_rows(first))
                @if !rest.is_empty() {
                    (folded(&of(rest.len() as u64, words::MORE_SUPPLIES), &supply_rows(rest)))
                }
            }
        }
    }
}

fn supply_rows(rows: &[SupplyRow]) -> Markup {
    let heads = words::SUPPLY_HEADS;
    html! {
        table.rows.sort {
            (columns(&heads))
            tbody {
                @for row in rows {
                    tr {
                        td.lead { (row.what) }
                        td.n data-head=(heads[1].0) data-v=(row.used) { (amount(row.used)) }
                        td.n data-head=(heads[2].0) data-v=(row.there_is) { (amount(row.there_is)) }
                        td.n data-head=(heads[3].0) data-v=[row.bought_per_week] {
                            (row.bought_per_week.map_or_else(|| "–".to_owned(), amount))
                        }
                    }
                }
            }
        }
    }
}

/// The scarcest things of the season.
pub(crate) fn scarcest(sheet: &PlanSheet) -> Markup {
    html! {
        @if !sheet.scarcest.is_empty() {
            section {
                h2 { (words::SCARCEST) }
                ol { @for thing in &sheet.scarcest { li { (thing) } } }
            }
        }
    }
}

/// What order lines that go short or late gave up, and for whom.
pub(crate) fn given_up(sheet: &PlanSheet) -> Markup {
    let (first, rest) = sheet
        .given_up
        .split_at(sheet.given_up.len().min(GIVEN_UP_SHOWN));
    let (rest, unshown) = rest.split_at(rest.len().min(MOST_GIVEN_UP));
    let items = |rows: &[String]| html! { ul { @for row in rows { li { (row) } } } };
    html! {
        @if !first.is_empty() {
            section {
                h2 { (words::GIVEN_UP) }
                p.say { (words::GIVEN_UP_SAY) }
                (items(first))
                @if !rest.is_empty() {
                    (folded(&of(rest.len() as u64, words::MORE_GIVEN_UP), &html! {
                        (items(rest))
                        @if !unshown.is_empty() { p.small { (words::not_shown(unshown.len())) } }
                    }))
                }
            }
        }
    }
}

pub(crate) fn scarce(sheet: &PlanSheet) -> Markup {
    let (first, rest) = sheet.scarce.split_at(sheet.scarce.len().min(SCARCE_SHOWN));
    html! {
        @if !first.is_empty() {
            section {
                h2 { "What is scarce" }
                p.say { "If you can find one more in that week for less than it earns, do." }
                (scarce_rows(&sheet.weeks, first))
                @if !rest.is_empty() {
                    (folded(&of(rest.len() as u64, "more scarce week"),
                        &scarce_rows(&sheet.weeks, rest)))
                }
            }
        }
    }
}

fn scarce_rows(weeks: &[WeekLabel], rows: &[ScarceRow]) -> Markup {
    html! {
        table.rows.sort {
            (columns(&[("What", false), ("Week", false), ("One more earns", true), ("In", false)]))
            tbody {
                @for row in rows {
                    tr {
                        td.lead { (row.what) }
                        td.due data-head="Week" data-v=(row.week) { (weeks.get(row.week).map_or("", |week| &week.iso)) }
                        td.n data-head="One more earns" { (row.price) }
                        td data-head="In" { (row.unit) }
                    }
                }
            }
        }
    }
}
