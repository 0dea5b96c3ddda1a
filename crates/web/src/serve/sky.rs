//! Sky and Combinations, put into the frame.

use app::AppError;
use app::advice::Wish;

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, table};
use crate::figures::sentence;
use crate::words::{combinations, frost, sky};
use crate::{combinations_page, frost_page, sky_page};

/// The fields of an address that choose a wish.
const WISH: [&str; 2] = ["variety", "needs"];

/// The sky.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let answer = office.desk.sky(day)?;
    let kept = |path: &str| address::with_fields(path, &table::kept_fields(ask, &["as_of"]));
    // What is wrong with its frost does not hide the sky.
    let frost = office.desk.frost(day, None).map_or_else(
        |error| sentence(&error.to_string()),
        |frost| frost::answer(&frost),
    );
    let frost = frost_page::in_short(&frost, &kept("/sky/frost"));
    let body = sky_page::body(&answer, &frost);
    Ok(Reply::Page(
        Page::new("/sky", sky::SHEET, sky_page::answer(&answer), body).with_csv(kept("/sky.csv")),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let answer = office.desk.sky(office.day(ask))?;
    Ok(reply::csv("sky", sky_page::csv(&answer)))
}

/// Which rootstock for a variety and a site.
pub(super) fn combinations(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let answer = office.desk.read(|file, _| file.advice(&wish(ask)))?;
    let fields: Vec<(&str, &str)> = WISH
        .into_iter()
        .flat_map(|key| ask.query.all(key).map(move |value| (key, value)))
        .collect();
    let csv = address::with_fields("/combinations.csv", &fields);
    Ok(Reply::Page(
        Page::new(
            "/combinations",
            combinations::SHEET,
            combinations_page::answer(&answer),
            combinations_page::body(&answer),
        )
        .with_csv(csv),
    ))
}

/// Its table.
pub(super) fn combinations_csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let answer = office.desk.read(|file, _| file.advice(&wish(ask)))?;
    Ok(reply::csv("combinations", combinations_page::csv(&answer)))
}

/// All that is known of a rootstock with every variety.
pub(super) fn rootstock(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let name = ask.part("rootstock");
    let rows = office.desk.read(|file, _| file.combinations_of(name))?;
    let said = office.desk.plant_names()?.rootstock(name).to_owned();
    Ok(Reply::Page(Page::new(
        "/combinations",
        format!("{}: {said}", combinations::SHEET),
        combinations::of_rootstock(&said, rows.len()),
        combinations_page::rootstock_body(&rows),
    )))
}

fn wish(ask: &Ask) -> Wish {
    Wish {
        variety: ask.query.get("variety").map(str::to_owned),
        needs: ask.query.all("needs").map(str::to_owned).collect(),
    }
}
