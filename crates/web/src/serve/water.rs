//! Water, put into the frame.

use app::AppError;

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, table};
use crate::water_page::{self, View};
use crate::words::{sky, water as words};

/// What is to be watered.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let water = office.desk.water(office.day(ask))?;
    let from = ask.query.get("from").and_then(|it| it.parse().ok());
    let here = ask.here();
    let view = View {
        here: &here,
        place: ask.query.get("place"),
        from: from.unwrap_or(0),
        more_at: &|from| ask.address_with("from", Some(&from.to_string())),
    };
    let body = water_page::body(&water, &view);
    Ok(Reply::Page(
        Page::new("/sky", words::SHEET, words::answer(&water), body)
            .among(sky::PARTS)
            .with_csv(with_day("/sky/water.csv", ask)),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let water = office.desk.water(office.day(ask))?;
    Ok(reply::csv("water", water_page::csv(&water)))
}

/// The sheet for the one who waters.
pub(super) fn sheet(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let water = office.desk.water(office.day(ask))?;
    let body = water_page::sheet(&water, &with_day("/sky/water", ask));
    let answer = water_page::sheet_answer(&water);
    Ok(Reply::Page(
        Page::new("/sky", words::PRINT_SHEET, answer, body)
            .with_csv(with_day("/sky/water.csv", ask)),
    ))
}

/// An address that looks at the same day.
fn with_day(path: &str, ask: &Ask) -> String {
    address::with_fields(path, &table::kept_fields(ask, &["as_of"]))
}
