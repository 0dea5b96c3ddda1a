//! Sky and Combinations, put into the frame.

use app::advice::Wish;
use app::{AppError, Kind};
use jiff::civil::Date;
use maud::html;

use super::ask::Ask;
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use super::{address, table};
use crate::figures::sentence;
use crate::words::{combinations, frost, sky, water};
use crate::{combinations_page, sky_page};

/// The fields of an address that choose a wish.
const WISH: [&str; 2] = ["variety", "needs"];

/// The sky.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.day(ask);
    let answer = office.desk.sky(day, since(ask)?)?;
    let kept = |path: &str, keys: &[&'static str]| {
        address::with_fields(path, &table::kept_fields(ask, keys))
    };
    // What is wrong with its water or its frost does not hide the sky.
    let told =
        |said: Result<String, AppError>| said.unwrap_or_else(|error| sentence(&error.to_string()));
    let water = told(office.desk.water(day).map(|it| water::answer(&it)));
    let frost = told(office.desk.frost(day, None).map(|it| frost::answer(&it)));
    let to_water = kept("/sky/water", &["as_of"]);
    let to_frost = kept("/sky/frost", &["as_of"]);
    let parts = html! {
        (sky_page::part(water::ON_SKY, &water, &to_water, water::TO_WATER))
        (sky_page::part(frost::ON_SKY, &frost, &to_frost, frost::TO_FROST))
    };
    let body = sky_page::body(&answer, ask.as_of, &parts);
    Ok(Reply::Page(
        Page::new("/sky", sky::SHEET, sky_page::answer(&answer), body)
            .among(sky::PARTS)
            .with_csv(kept("/sky.csv", &["as_of", "since"])),
    ))
}

/// Its table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let answer = office.desk.sky(office.day(ask), since(ask)?)?;
    Ok(reply::csv("sky", sky_page::csv(&answer)))
}

/// The day from which heat is to be summed, where another than the season's first is asked for.
fn since(ask: &Ask) -> Result<Option<Date>, AppError> {
    let Some(day) = ask.query.get("since") else {
        return Ok(None);
    };
    let refused = || AppError::new(Kind::Invalid, sky::NO_DAY, day, sky::NO_DAY_MEND);
    day.parse().map(Some).map_err(|_| refused())
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
