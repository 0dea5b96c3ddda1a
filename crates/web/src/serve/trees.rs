//! The trees of each product against what is promised of them.

use app::AppError;
use app::ledger::desk::OddsState;
use app::ledger::{Band, OddsNow, ProductBrief, ProductFan};
use maud::{Markup, html};

use super::address;
use super::ask::Ask;
use super::enquiry::no_odds;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{promises, table};
use crate::chart::{Axis, fan_chart};
use crate::figures::{count, interval};
use crate::fill;
use crate::frame::{columns, folded};
use crate::words::promises::PARTS;
use crate::words::trees as words;

/// The address of the page.
const HERE: &str = "/promises/trees";

/// Weeks between the rows of the table; the file has every week.
const EVERY: usize = 4;

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let odds = office.desk.odds(office.day(ask))?;
    let Some(now) = &odds.now else {
        return Ok(Reply::Page(without_odds(
            &odds,
            office.day(ask) == office.today(),
        )));
    };
    let products = now.products();
    let Some(chosen) = chosen(&products, ask) else {
        let page = Page::new(promises::HERE, words::SHEET, words::NONE, html! {});
        return Ok(Reply::Page(page.among(PARTS)));
    };
    let fan = now.fan(&chosen.variety, &chosen.rootstock, &chosen.size)?;
    let names = office.desk.plant_names()?;
    let what = |it: &ProductBrief| {
        format!(
            "{} on {}, {}",
            names.variety(&it.variety),
            names.rootstock(&it.rootstock),
            it.size
        )
    };
    let body = html! {
        (choose(&products, chosen, ask, &what))
        (picture(now, &what(chosen), &fan))
        (by_week(&fan))
        (all(&products, &what))
        (folded(words::METHOD, &html! { p.say { (words::METHOD_WORDS) } }))
    };
    let answer = words::answer(&what(chosen), chosen.asked, chosen.lines, chosen.at_risk);
    let csv = address::with_fields("/promises/trees.csv", &product_fields(chosen));
    let page = Page::new(promises::HERE, words::SHEET, answer, body)
        .among(PARTS)
        .with_csv(csv);
    Ok(Reply::Page(promises::until_odds_follow(office, ask, page)?))
}

fn without_odds(odds: &OddsState, is_today: bool) -> Page {
    let answer = crate::words::enquiry::NO_FUTURES;
    let page = Page::new(promises::HERE, words::SHEET, answer, no_odds(odds)).among(PARTS);
    if odds.is_stale && is_today {
        page.awaiting_odds()
    } else {
        page
    }
}

/// The product of the address, else the one of which most is asked for.
fn chosen<'a>(products: &'a [ProductBrief], ask: &Ask) -> Option<&'a ProductBrief> {
    let field = |key: &str| ask.query.get(key).unwrap_or_default();
    let named = products.iter().find(|it| {
        it.variety == field("variety")
            && it.rootstock == field("rootstock")
            && it.size == field("size")
    });
    let asked = ask.query.get("product");
    let picked = products.iter().find(|it| Some(key(it).as_str()) == asked);
    named
        .or(picked)
        .or_else(|| products.iter().max_by_key(|it| it.asked))
}

/// A product as one value of a field.
fn key(product: &ProductBrief) -> String {
    format!("{}/{}/{}", product.variety, product.rootstock, product.size)
}

fn product_fields(it: &ProductBrief) -> [(&str, &str); 3] {
    [
        ("variety", &it.variety),
        ("rootstock", &it.rootstock),
        ("size", &it.size),
    ]
}

fn choose(
    products: &[ProductBrief],
    chosen: &ProductBrief,
    ask: &Ask,
    what: &impl Fn(&ProductBrief) -> String,
) -> Markup {
    let enquiry = address::with_fields("/enquiry", &product_fields(chosen));
    html! {
        form.row.noprint action=(HERE) {
            @if let Some(day) = ask.as_of { input type="hidden" name="as_of" value=(day); }
            label { span { (words::PRODUCT) }
                select name="product" {
                    @for it in products { option value=(key(it)) selected[it == chosen] { (what(it)) } }
                }
            }
            button.plain { (words::SHOW) }
            a.button href=(enquiry) { (words::ASK) }
        }
    }
}

fn picture(now: &OddsNow, what: &str, fan: &ProductFan) -> Markup {
    let weeks = fill::weeks(now.season());
    let axis = Axis::new(&weeks, fill::today(now.season()));
    html! {
        section {
            h2 { (words::READY) }
            (fan_chart(&axis, "fan", what, fan))
            p.quiet { (words::CHART_KEY) }
        }
    }
}

fn figures(band: &Band) -> String {
    let [low, middle, high] = [band.p05, band.p50, band.p95].map(|it| it.round() as u64);
    interval(low, middle, high)
}

fn by_week(fan: &ProductFan) -> Markup {
    let rows = fan
        .weeks
        .iter()
        .zip(&fan.come)
        .zip(&fan.free)
        .zip(&fan.asked);
    let table = html! {
        table.rows {
            (columns(&[(words::WEEK, false), (words::ASKED, true), (words::COME, true), (words::FREE, true)]))
            tbody {
                @for (((week, come), free), asked) in rows.step_by(EVERY) {
                    tr {
                        td.lead { (week) }
                        td.n data-head=(words::ASKED) { (count(*asked)) }
                        td.n data-head=(words::COME) { (figures(come)) }
                        td.n data-head=(words::FREE) { (figures(free)) }
                    }
                }
            }
        }
    };
    folded(words::WEEKS, &table)
}

fn all(products: &[ProductBrief], what: &impl Fn(&ProductBrief) -> String) -> Markup {
    html! {
        section {
            h2 { (words::ALL) }
            table.rows.sort {
                (columns(&[(words::PRODUCT, false), (words::ASKED, true), (words::LINES, true), (words::AT_RISK, true)]))
                tbody {
                    @for it in products {
                        tr {
                            td.lead { a href=(address::with_fields(HERE, &product_fields(it))) { (what(it)) } }
                            td.n data-head=(words::ASKED) data-v=(it.asked) { (count(it.asked)) }
                            td.n data-head=(words::LINES) data-v=(it.lines) { (it.lines) }
                            td.n data-head=(words::AT_RISK) data-v=(it.at_risk) { (it.at_risk) }
                        }
                    }
                }
            }
        }
    }
}

/// A product's weeks as a file.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let odds = office.desk.odds(office.day(ask))?;
    let products = odds
        .now
        .as_ref()
        .map_or_else(Vec::new, |now| now.products());
    let fan = match (&odds.now, chosen(&products, ask)) {
        (Some(now), Some(it)) => Some(now.fan(&it.variety, &it.rootstock, &it.size)?),
        _ => None,
    };
    let rows = fan.iter().flat_map(|fan| {
        (0..fan.weeks.len()).map(move |week| {
            let mut cells = vec![
                fan.variety.clone(),
                fan.rootstock.clone(),
                fan.size.clone(),
                fan.weeks[week].clone(),
                fan.asked[week].to_string(),
            ];
            for it in [&fan.come[week], &fan.free[week]] {
                let all = [it.p05, it.p25, it.p50, it.p75, it.p95];
                cells.extend(all.map(|it| it.to_string()));
            }
            cells
        })
    });
    Ok(reply::csv("trees", table::csv(&words::CSV_HEADS, rows)))
}
