//! The forms on which papers are chosen. What is chosen stands in the address, so that it can be kept.

use std::collections::BTreeSet;

use app::AppError;
use app::ledger::{Choice, Choices, LineState, iso_week};
use app::papers::{MONTHS_AHEAD, ODDS, PaperKind, PaperSize};
use app::reading::Language;
use maud::{Markup, html};

use super::super::ask::Ask;
use super::super::office::Office;
use super::HERE;
use crate::words::papers as words;

/// The form of a paper, filled as the address has it.
pub(super) fn of(office: &Office, ask: &Ask, kind: PaperKind) -> Result<Markup, AppError> {
    let fields = match kind {
        PaperKind::Week => week(office, ask)?,
        PaperKind::Beds => places(office, ask, words::ALL_PLACES),
        PaperKind::Budding => week_field(office, ask),
        PaperKind::Dispatch => dispatch(office, ask)?,
        PaperKind::Availability => html! {
            (typed("odds", words::ODDS, "number", ask.query.get("odds"), &ODDS.to_string()))
            (typed("months", words::MONTHS, "number", ask.query.get("months"), &MONTHS_AHEAD.to_string()))
        },
        PaperKind::Labels => labels(office, ask)?,
    };
    let says = match kind {
        PaperKind::Week => words::WEEK_SAYS,
        PaperKind::Beds => words::BEDS_SAYS,
        PaperKind::Budding => words::BUDDING_SAYS,
        PaperKind::Dispatch => words::DISPATCH_SAYS,
        PaperKind::Availability => words::AVAILABILITY_SAYS,
        PaperKind::Labels => words::LABELS_SAYS,
    };
    let at = format!("{HERE}/{}", kind.id());
    Ok(html! {
        section.noprint {
            h2 id=(kind.id()) { (kind.name(Language::En)) }
            p.quiet { (says) }
            form.row method="get" action=(at) {
                @if let Some(day) = ask.as_of { input type="hidden" name="as_of" value=(day); }
                (fields)
                @if kind != PaperKind::Labels { (size(ask)) }
                (language(ask))
                button.plain { (words::SHOW) }
                button formaction=(format!("{at}.pdf")) { (words::PDF) }
            }
        }
    })
}

fn typed(key: &str, name: &str, kind: &str, value: Option<&str>, without: &str) -> Markup {
    html! {
        label { span { (name) }
            input type=(kind) name=(key) value=(value.unwrap_or(without)) step=[(kind == "number").then_some("any")];
        }
    }
}

fn lines(key: &str, name: &str, value: &str) -> Markup {
    html! { label { span { (name) } textarea name=(key) rows="2" { (value) } } }
}

/// A choice among pairs of a word and its name; `none` is what leaves it open.
fn choose<'a>(
    key: &str,
    name: &str,
    none: Option<&str>,
    pairs: impl IntoIterator<Item = (&'a str, &'a str)>,
    chosen: Option<&str>,
) -> Markup {
    html! {
        label { span { (name) }
            select name=(key) {
                @if let Some(none) = none { option value="" { (none) } }
                @for (word, shown) in pairs { option value=(word) selected[chosen == Some(word)] { (shown) } }
            }
        }
    }
}

fn size(ask: &Ask) -> Markup {
    let sizes = [
        (PaperSize::A4.name(), "A4"),
        (PaperSize::Letter.name(), "Letter"),
    ];
    choose("size", words::SIZE, None, sizes, ask.query.get("size"))
}

/// The language of the paper; without a choice, the nursery's.
fn language(ask: &Ask) -> Markup {
    let chosen = ask.query.get("language");
    choose(
        "language",
        words::LANGUAGE,
        Some("–"),
        words::LANGUAGES,
        chosen,
    )
}

fn week_field(office: &Office, ask: &Ask) -> Markup {
    let now = iso_week(office.day(ask));
    typed("week", words::WEEK, "text", ask.query.get("week"), &now)
}

fn week(office: &Office, ask: &Ask) -> Result<Markup, AppError> {
    let week = office.desk.week(office.day(ask))?;
    let crews: BTreeSet<&str> = week
        .jobs
        .iter()
        .filter_map(|it| it.planned.crew.as_deref())
        .collect();
    let pairs = crews.into_iter().map(|it| (it, it));
    let chosen = ask.query.get("crew");
    Ok(html! {
        (choose("crew", words::CREW, Some(words::ALL_WORK), pairs, chosen))
        (week_field(office, ask))
    })
}

fn places(office: &Office, ask: &Ask, none: &str) -> Markup {
    let places: Vec<Choice> = office.choices(office.day(ask), Choices::Places);
    let pairs = places.iter().map(|it| (it.0.as_str(), it.1.as_str()));
    choose(
        "place",
        words::PLACE,
        Some(none),
        pairs,
        ask.query.get("place"),
    )
}

/// Orders with something still to send, those due first in front; the one that is asked for among them.
fn orders(office: &Office, ask: &Ask, none: Option<&str>) -> Result<Markup, AppError> {
    let day = office.day(ask);
    let book = office
        .desk
        .read(|file, sight| file.order_lines(&sight.books, day))?;
    let asked = ask.query.get("order");
    let mut orders: Vec<(String, String)> = Vec::new();
    for line in &book.lines {
        let is_wanted = line.state == LineState::Open || asked == Some(&line.order);
        if is_wanted && !orders.iter().any(|(order, _)| *order == line.order) {
            let shown = format!("{}, {}", line.order, line.customer);
            orders.push((line.order.clone(), shown));
        }
    }
    let pairs = orders
        .iter()
        .map(|(order, shown)| (order.as_str(), shown.as_str()));
    Ok(choose("order", words::ORDER, none, pairs, asked))
}

fn dispatch(office: &Office, ask: &Ask) -> Result<Markup, AppError> {
    Ok(html! {
        (orders(office, ask, None)?)
        (lines("permits", words::PERMITS, ask.query.get("permits").unwrap_or_default()))
    })
}

fn labels(office: &Office, ask: &Ask) -> Result<Markup, AppError> {
    let field = |key: &str| ask.query.get(key);
    let lots: Vec<&str> = ask.query.all("lots").collect();
    let base = office.base();
    let is_cut = field("cut").is_some();
    Ok(html! {
        (lines("lots", words::LOTS, &lots.join("\n")))
        (places(office, ask, words::NO_PLACE))
        (orders(office, ask, Some("–"))?)
        (typed("copies", words::COPIES, "number", field("copies"), "1"))
        (choose("kind", words::KIND, None, words::KINDS, field("kind")))
        (choose("stock", words::STOCK, None, words::STOCKS, field("stock")))
        (typed("first", words::FIRST, "number", field("first"), "1"))
        label { span { (words::BASE) }
            input type="url" name="base" value=(field("base").unwrap_or(&base)) title=(words::BASE_HELP);
        }
        label { span { (words::CUT_LINES) } input type="checkbox" name="cut" value="1" checked[is_cut]; }
        details open[field("stock") == Some("own")] {
            summary { (words::OWN_SIZES) }
            p.quiet.small { (words::OWN_HELP) }
            div.row {
                @for (key, name) in OWN { (typed(key, name, "number", field(key), "")) }
            }
        }
    })
}

/// The sizes of an own stock.
const OWN: [(&str, &str); 10] = [
    ("width", words::LABEL_WIDTH),
    ("height", words::LABEL_HEIGHT),
    ("columns", words::COLUMNS),
    ("rows", words::ROWS),
    ("page_width", words::PAGE_WIDTH),
    ("page_height", words::PAGE_HEIGHT),
    ("left", words::LEFT),
    ("top", words::TOP),
    ("gap_across", words::GAP_ACROSS),
    ("gap_down", words::GAP_DOWN),
];
