//! The odds of a plan: every order line as it stands in the futures, and what is free to sell.

use app::{AppError, Kind};
use maud::{Markup, html};

use super::plan::known;
use super::{OF, number, plan_at};
use crate::chart::Axis;
use crate::figures::count;
use crate::frame::{folded, list, method};
use crate::lines::{Standing, odds_key};
use crate::odds_page::{answer, figures, free_words, method_notes, pictures, tries};
use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::page::Page;
use crate::serve::reply::{self, Reply};
use crate::serve::table;
use crate::sheet::{LineRow, OddsSheet};
use crate::words::seasons as words;

/// Order lines on one page.
const LINES_SHOWN: usize = 30;
/// Products on one page.
const PRODUCTS_SHOWN: usize = 6;

/// The odds that were drawn for a plan; none where there are none that can be read.
fn sheet_of(office: &Office, run: &str) -> Result<Option<OddsSheet>, AppError> {
    office.desk.read(|file, _| {
        known(file, run)?;
        match file.futures_of(run)? {
            Some(futures) => file.sheet(&futures),
            None => Ok(None),
        }
    })
}

/// The odds of a plan.
pub(in crate::serve) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let Some(sheet) = sheet_of(office, run)? else {
        return Ok(Reply::Page(no_odds(run)));
    };
    let standing = Standing::new(&sheet.lines, &[]);
    let axis = Axis::new(&sheet.weeks, sheet.today);
    let body = html! {
        (standing.tally())
        (tries(&sheet))
        p.pager { a href=(plan_at(run)) { (words::TO_PLAN) } a href="/promises" { (words::TO_PROMISES) } }
        (list(words::MIND, &sheet.warnings))
        (lines(ask, &axis, &standing))
        (free(ask, &axis, &sheet))
        (method(&method_notes(&sheet)))
    };
    let page = Page::new(OF, words::ODDS_SHEET, answer(&sheet, &standing), body);
    Ok(Reply::Page(
        page.with_csv(format!("{}/odds.csv", plan_at(run))),
    ))
}

fn no_odds(run: &str) -> Page {
    let body = html! {
        p { (words::NO_ODDS_WORDS) }
        div.acts {
            form method="post" action="/planning/start" { button { (words::MAKE) } }
            a.button.plain href=(plan_at(run)) { (words::TO_PLAN) }
        }
    };
    Page::new(OF, words::ODDS_SHEET, words::NO_ODDS, body)
}

/// Some of the order lines, all or only those that need a decision.
fn lines(ask: &Ask, axis: &Axis, standing: &Standing) -> Markup {
    let only_to_decide = ask.query.get("show") == Some("decide");
    let all = standing.lines(only_to_decide);
    let part = Part::of(ask, "lines", all.len(), LINES_SHOWN);
    html! {
        @if !all.is_empty() {
            section #lines {
                h2 { (words::ALL_LINES) }
                p.pager {
                    @if only_to_decide { a href=(ask.address_with("show", None)) { (words::SHOW_ALL) } }
                    @else if standing.decisions() > 0 {
                        a href={ (plan_at(ask.part("run"))) "/odds?show=decide" } { (words::ONLY_TO_DECIDE) }
                    }
                }
                (odds_key())
                (standing.rows(axis, &all[part.from..part.until], part.from))
                (part.links(ask))
            }
        }
    }
}

fn free(ask: &Ask, axis: &Axis, sheet: &OddsSheet) -> Markup {
    let part = Part::of(ask, "free", sheet.free.len(), PRODUCTS_SHOWN);
    let rows = &sheet.free[part.from..part.until];
    html! {
        @if !rows.is_empty() && axis.len() > 0 {
            section #free {
                h2 { (words::FREE) }
                (free_words())
                (pictures(axis, rows, part.from))
                (folded(words::FREE_FIGURES, &figures(axis, rows)))
                (part.links(ask))
            }
        }
    }
}

/// The rows of a list that one page shows.
struct Part {
    key: &'static str,
    from: usize,
    until: usize,
    all: usize,
    most: usize,
}

impl Part {
    fn of(ask: &Ask, key: &'static str, all: usize, most: usize) -> Self {
        // An address that was kept may ask for more than there is by now.
        let from = Some(number(ask, key))
            .filter(|from| *from < all)
            .unwrap_or(0);
        let until = from.saturating_add(most).min(all);
        Self {
            key,
            from,
            until,
            all,
            most,
        }
    }

    fn links(&self, ask: &Ask) -> Markup {
        let at = |from: usize| {
            format!(
                "{}#{}",
                ask.address_with(self.key, Some(&from.to_string())),
                self.key
            )
        };
        html! {
            @if self.all > self.most {
                p.pager {
                    span.quiet { (words::shown(self.from + 1, self.until, self.all)) }
                    @if self.from > 0 { a href=(at(self.from.saturating_sub(self.most))) { (words::BEFORE) } }
                    @if self.until < self.all { a href=(at(self.until)) { (words::NEXT) " " (count((self.all - self.until).min(self.most) as u64)) } }
                }
            }
        }
    }
}

/// The odds of every order line as a file.
pub(in crate::serve) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let run = ask.part("run");
    let sheet = sheet_of(office, run)?
        .ok_or_else(|| AppError::new(Kind::NotFound, words::NO_ODDS, run, words::NO_ODDS_WORDS))?;
    let heads = [
        "order",
        "line",
        "customer",
        "what",
        "size",
        "plants",
        "due",
        "on_time",
        "by_latest",
        "target",
        "mean_short",
        "half_complete",
        "driver",
    ];
    let rows = sheet.lines.iter();
    let rows = rows.map(|line| line_cells(&sheet, line).to_vec());
    Ok(reply::csv(&format!("{run}-odds"), table::csv(&heads, rows)))
}

fn line_cells(sheet: &OddsSheet, line: &LineRow) -> [String; 13] {
    let share = |it: Option<f64>| it.map_or_else(String::new, |it| format!("{it:.3}"));
    let week = line.complete.p50.and_then(|week| sheet.weeks.get(week));
    [
        line.order.clone(),
        line.line.clone(),
        line.customer.clone(),
        line.what.clone(),
        line.size.clone(),
        line.plants.to_string(),
        line.due.clone(),
        share(line.on_time),
        share(line.by_latest),
        share(Some(line.target)),
        line.mean_short
            .map_or_else(String::new, |it| format!("{it:.1}")),
        week.map_or_else(String::new, |it| it.iso.clone()),
        line.driver.clone(),
    ]
}
