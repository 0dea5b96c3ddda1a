//! Whether odds that were given came true.

use app::AppError;
use app::ledger::{Ahead, CalledLine, HonestyAnswer};
use maud::{Markup, html};

use super::address;
use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{promises, table};
use crate::chart::honesty_chart;
use crate::figures::percent;
use crate::frame::{columns, folded};
use crate::words::honesty as words;
use crate::words::promises::PARTS;

/// Lines shown one by one; the file has all.
const LINES_SHOWN: usize = 60;

fn told(office: &Office, ask: &Ask) -> Result<HonestyAnswer, AppError> {
    let day = office.day(ask);
    office
        .desk
        .read(|file, sight| file.honesty(&sight.books, day))
}

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let honesty = told(office, ask)?;
    let with_lines: Vec<&Ahead> = honesty.ahead.iter().filter(|it| it.lines > 0).collect();
    let answer = with_lines.first().map_or_else(
        || words::NOTHING.to_owned(),
        |it| {
            let lines = it.lines as f64;
            let odds = it.called.iter().map(|line| line.odds).sum::<f64>() / lines;
            let kept = it.called.iter().filter(|line| line.kept).count() as f64 / lines;
            words::answer(it.lines, &percent(odds), &percent(kept), it.weeks)
        },
    );
    let body = html! {
        @if with_lines.is_empty() { p.say { (words::NOTHING_STEP) } }
        @for it in &with_lines { (part(it)) }
        (folded(words::METHOD, &html! { p.say { (words::METHOD_WORDS) } }))
    };
    Ok(Reply::Page(
        Page::new(promises::HERE, words::SHEET, answer, body)
            .among(PARTS)
            .with_csv("/promises/kept.csv"),
    ))
}

fn part(ahead: &Ahead) -> Markup {
    let title = words::ahead(ahead.weeks);
    let number = |it: f64| format!("{it:.3}");
    html! {
        section {
            h2 { (title) }
            (honesty_chart(&format!("honesty-{}", ahead.weeks), &ahead.bins, &title))
            p.quiet { (words::KEY) }
            dl.facts {
                @if let Some(score) = ahead.brier { dt { (words::SCORE) } dd { (number(score)) } }
                @if let Some(parts) = ahead.parts {
                    dt { (words::RELIABILITY) } dd { (number(parts.reliability)) }
                    dt { (words::RESOLUTION) } dd { (number(parts.resolution)) }
                    dt { (words::UNCERTAINTY) } dd { (number(parts.uncertainty)) }
                }
            }
            (bins(ahead))
            @if ahead.left_out > 0 { p { (words::left_out(ahead.left_out)) } }
            (folded(words::EACH, &each(&ahead.called)))
        }
    }
}

fn bins(ahead: &Ahead) -> Markup {
    html! {
        table.rows {
            (columns(&[(words::CALLED, false), (words::LINES, true), (words::MEAN, true), (words::KEPT, true)]))
            tbody {
                @for it in ahead.bins.iter().filter(|it| it.lines > 0) {
                    tr {
                        td.lead { (percent(it.from)) "–" (percent(it.until)) }
                        td.n data-head=(words::LINES) { (it.lines) }
                        td.n data-head=(words::MEAN) { (percent(it.odds)) }
                        td.n data-head=(words::KEPT) { (percent(it.kept)) " (" (percent(it.kept_low)) "–" (percent(it.kept_high)) ")" }
                    }
                }
            }
        }
    }
}

fn each(called: &[CalledLine]) -> Markup {
    html! {
        table.rows {
            (columns(&[(words::LINE, false), (words::DUE, false), (words::GIVEN, false), (words::ODDS, true), (words::CAME, false)]))
            tbody {
                @for it in called.iter().take(LINES_SHOWN) {
                    tr {
                        td.lead { a href=(address::order(&it.order)) { (it.order) "/" (it.line) } }
                        td data-head=(words::DUE) { (app::date_words(it.due)) }
                        td data-head=(words::GIVEN) { (it.given) }
                        td.n data-head=(words::ODDS) { (percent(it.odds)) }
                        td data-head=(words::CAME) { @if it.kept { "✓ " (words::YES) } @else { "✗ " (words::NO) } }
                    }
                }
            }
        }
    }
}

/// All lines as a file.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let honesty = told(office, ask)?;
    let rows = honesty.ahead.iter().flat_map(|ahead| {
        ahead.called.iter().map(|it| {
            vec![
                ahead.weeks.to_string(),
                it.order.clone(),
                it.line.clone(),
                it.due.to_string(),
                it.given.clone(),
                format!("{:.4}", it.odds),
                if it.kept { "yes" } else { "no" }.to_owned(),
            ]
        })
    });
    Ok(reply::csv("kept", table::csv(&words::CSV_HEADS, rows)))
}
