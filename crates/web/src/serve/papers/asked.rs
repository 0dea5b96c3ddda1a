//! What an address asks of a paper.

use std::str::FromStr;

use app::ledger::{day_of_week, iso_week};
use app::papers::{
    LabelKind, LabelStock, LabelsOf, MONTHS_AHEAD, ODDS, PaperAsk, PaperKind, PaperSize,
};
use app::reading::Language;
use app::{AppError, Kind};
use jiff::civil::Date;

use super::super::ask::Ask;
use super::super::office::Office;
use crate::words::papers as words;

/// Labels of one sheet as most shops sell them: 70 by 37.125 mm.
const A4_GRID: (usize, usize) = (3, 8);
/// 2 ⅝ by 1 inch, with margins and gaps.
const LETTER_GRID: LabelStock = LabelStock {
    page_width: 215.9,
    page_height: 279.4,
    width: 66.7,
    height: 25.4,
    columns: 3,
    rows: 10,
    left: 4.8,
    top: 12.7,
    gap_across: 3.1,
    gap_down: 0.0,
};
/// A common roll.
const ROLL: LabelStock = LabelStock::roll(57.0, 32.0);

/// The paper that an address asks for.
pub(super) fn paper_ask(office: &Office, ask: &Ask, kind: PaperKind) -> Result<PaperAsk, AppError> {
    let field = |key: &str| ask.query.get(key).map(str::to_owned);
    let language = match ask.query.get("language") {
        None => None,
        Some(word) => Some(language_of(word).ok_or_else(|| no_choice(words::LANGUAGE, word))?),
    };
    let permits = ask.query.get("permits").unwrap_or_default().lines();
    Ok(PaperAsk {
        language,
        crew: field("crew"),
        place: field("place"),
        order: field("order"),
        permits: permits
            .map(str::trim)
            .filter(|it| !it.is_empty())
            .map(str::to_owned)
            .collect(),
        at_odds: number(ask, "odds", words::ODDS)?.unwrap_or(ODDS),
        months: number(ask, "months", words::MONTHS)?.unwrap_or(MONTHS_AHEAD),
        ..PaperAsk::new(kind, day_of(office, ask)?)
    })
}

/// The day of a paper: the page's, or the Monday of another week.
fn day_of(office: &Office, ask: &Ask) -> Result<Date, AppError> {
    let day = office.day(ask);
    let Some(week) = ask.query.get("week") else {
        return Ok(day);
    };
    let monday = day_of_week(week).filter(|it| (1900..=2199).contains(&it.year()));
    match monday {
        Some(_) if week == iso_week(day) => Ok(day),
        Some(monday) => Ok(monday),
        None => Err(wrong(words::no_week(week), words::NO_WEEK_MEND)),
    }
}

/// The size of paper.
pub(super) fn size_of(ask: &Ask) -> Result<PaperSize, AppError> {
    match ask.query.get("size") {
        None => Ok(PaperSize::default()),
        Some(word) => PaperSize::of_name(word).ok_or_else(|| no_choice(words::SIZE, word)),
    }
}

fn language_of(word: &str) -> Option<Language> {
    match word {
        "en" => Some(Language::En),
        "es" => Some(Language::Es),
        _ => None,
    }
}

/// The labels that an address asks for.
pub(super) fn labels_of(ask: &Ask, base: &str) -> Result<LabelsOf, AppError> {
    let kind = match ask.query.get("kind").unwrap_or("plain") {
        "plain" => LabelKind::Plain,
        "stake" => LabelKind::Stake,
        "tag" => LabelKind::Tag,
        other => return Err(no_choice(words::KIND, other)),
    };
    let lots = ask.query.all("lots").flat_map(str::lines);
    Ok(LabelsOf {
        lots: lots
            .map(str::trim)
            .filter(|it| !it.is_empty())
            .map(str::to_owned)
            .collect(),
        place: ask.query.get("place").map(str::to_owned),
        order: None,
        copies: number(ask, "copies", words::COPIES)?.unwrap_or(1),
        base: ask.query.get("base").unwrap_or(base).to_owned(),
        stock: stock_of(ask)?,
        kind,
        first: number(ask, "first", words::FIRST)?.unwrap_or(1),
        cut_lines: ask.query.get("cut").is_some(),
    })
}

fn stock_of(ask: &Ask) -> Result<LabelStock, AppError> {
    match ask.query.get("stock").unwrap_or("a4") {
        "a4" => Ok(LabelStock::cut(PaperSize::A4, A4_GRID.0, A4_GRID.1)),
        "letter" => Ok(LETTER_GRID),
        "roll" => Ok(ROLL),
        "own" => own_stock(ask),
        other => Err(no_choice(words::STOCK, other)),
    }
}

fn own_stock(ask: &Ask) -> Result<LabelStock, AppError> {
    let length =
        |key: &str, what: &str| -> Result<Option<f64>, AppError> { number(ask, key, what) };
    let width = length("width", words::LABEL_WIDTH)?.unwrap_or(ROLL.width);
    let height = length("height", words::LABEL_HEIGHT)?.unwrap_or(ROLL.height);
    let page_width = length("page_width", words::PAGE_WIDTH)?;
    let page_height = length("page_height", words::PAGE_HEIGHT)?;
    let (Some(page_width), Some(page_height)) = (page_width, page_height) else {
        return Ok(LabelStock::roll(width, height));
    };
    Ok(LabelStock {
        page_width,
        page_height,
        width,
        height,
        columns: number(ask, "columns", words::COLUMNS)?.unwrap_or(1),
        rows: number(ask, "rows", words::ROWS)?.unwrap_or(1),
        left: length("left", words::LEFT)?.unwrap_or(0.0),
        top: length("top", words::TOP)?.unwrap_or(0.0),
        gap_across: length("gap_across", words::GAP_ACROSS)?.unwrap_or(0.0),
        gap_down: length("gap_down", words::GAP_DOWN)?.unwrap_or(0.0),
    })
}

/// A number of the address; a comma is a decimal sign too.
fn number<T: FromStr>(ask: &Ask, key: &str, what: &str) -> Result<Option<T>, AppError> {
    let Some(typed) = ask.query.get(key) else {
        return Ok(None);
    };
    let read = typed.replace(',', ".").parse();
    match read {
        Ok(number) => Ok(Some(number)),
        Err(_) => Err(wrong(words::no_number(what, typed), words::NO_NUMBER_MEND)),
    }
}

fn no_choice(what: &str, value: &str) -> AppError {
    wrong(words::no_choice(what, value), words::NO_CHOICE_MEND)
}

fn wrong(what: String, mend: &str) -> AppError {
    AppError::new(Kind::Invalid, what, "", mend)
}
