//! The planting sheet: asked for by its address, shown, and handed out as paper.

use app::AppError;
use app::ledger::Choices;
use app::planting::{
    Paper, PaperSize, PlantingAnswer, Typed, cities, sheet, sheet_pdf, soils, trees_of_order,
};
use app::reading::{Language, Measures, Reading};
use maud::{Markup, html};

use super::address;
use super::ask::{Ask, Fields};
use super::office::Office;
use super::page::Page;
use super::reply::{self, Reply};
use crate::figures::csv_row;
use crate::frame::folded;
use crate::paper_page;
use crate::words::planting as words;

/// Where the page lies.
pub(super) const HERE: &str = "/planting";
/// The page of the head under which it is found.
const UNDER: &str = "/promises";

/// What came of what was asked.
struct Written {
    answer: PlantingAnswer,
    paper: Paper,
}

/// The page.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let typed = typed(&ask.query);
    let order = ask.query.get("order");
    if order.is_none() && typed.names_no_trees() || typed.names_no_place() {
        let body = html! {
            p { (words::ASK_LEAD) }
            (form(office, ask))
        };
        return Ok(Reply::Page(Page::new(
            UNDER,
            words::SHEET,
            words::ASK_FIRST,
            body,
        )));
    }
    let written = match written(office, ask) {
        Ok(written) => written,
        Err(error) if error.kind != app::Kind::Internal => {
            let body = html! {
                p.wrong role="alert" { (crate::figures::sentence(&error.to_string())) }
                (form(office, ask))
            };
            return Ok(Reply::NotDone(Page::new(
                UNDER,
                words::SHEET,
                words::NOT_YET,
                body,
            )));
        }
        Err(error) => return Err(error),
    };
    let (answer, sheet) = paper_page::drawn(&written.paper);
    let body = html! {
        div.acts.noprint {
            a.button href=(to(ask, "/planting.pdf", &[])) { (words::PDF_A4) }
            a.button.plain href=(to(ask, "/planting.pdf", &[("paper", "letter")])) { (words::PDF_LETTER) }
            @if let Some(order) = order {
                a.button.plain href=(address::order(order)) { (words::to_order(order)) }
            }
        }
        div.noprint { (folded(words::CHANGE, &form(office, ask))) }
        div.planting {
            p.quiet { (written.paper.title) " · " (written.paper.date) }
            (sheet)
        }
    };
    let page = Page::new(UNDER, words::SHEET, answer, body);
    Ok(Reply::Page(page.with_csv(to(ask, "/planting.csv", &[]))))
}

/// Its weeks as a table.
pub(super) fn csv(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let written = written(office, ask)?;
    Ok(reply::csv("planting", table(&written.answer)))
}

/// The sheet as paper.
pub(super) fn pdf(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let size = ask.query.get("paper").and_then(PaperSize::of_name);
    let bytes = sheet_pdf(&written(office, ask)?.paper, size.unwrap_or_default())?;
    let name = match ask.query.get("order") {
        Some(order) => format!("planting-{order}.pdf"),
        None => "planting.pdf".to_owned(),
    };
    Ok(Reply::File {
        name,
        kind: "application/pdf",
        bytes,
    })
}

fn written(office: &Office, ask: &Ask) -> Result<Written, AppError> {
    let day = office.day(ask);
    let settings = office.settings();
    let reading = settings.as_ref().map_or_else(Reading::default, Reading::of);
    let reading = reading.with(
        ask.query.get("language").and_then(Language::of_tag),
        ask.query.get("units").and_then(Measures::of_tag),
    );
    let typed = typed(&ask.query);
    let answer = office.desk.read(|file, sight| {
        let order = ask.query.get("order");
        let trees = order
            .map(|order| trees_of_order(&sight.books, order, day))
            .transpose()?;
        file.planting(&typed.read(reading, trees)?)
    })?;
    let paper = sheet(&answer, reading, &office.name(), day);
    Ok(Written { answer, paper })
}

/// The fields of the address.
fn typed(query: &Fields) -> Typed {
    let of = |key: &str| query.get(key).unwrap_or_default().to_owned();
    let mut trees: Vec<String> = query.all("tree").map(str::to_owned).collect();
    if let (Some(variety), Some(rootstock)) = (query.get("variety"), query.get("rootstock")) {
        trees.push(format!(
            "{variety}/{rootstock}/{}/{}",
            of("size"),
            of("plants")
        ));
    }
    Typed {
        form: of("form"),
        trees,
        city: of("city"),
        latitude: of("latitude"),
        longitude: of("longitude"),
        elevation: of("elevation"),
        name: of("name"),
        lows: of("lows"),
        highs: of("highs"),
        rain: of("rain"),
        winter_low: of("winter_low"),
        coastal: query.get("coastal").is_some(),
        soil: of("soil"),
        week: of("week"),
        row: of("row"),
        union: of("union"),
    }
}

/// Another address with the same fields and some more.
fn to(ask: &Ask, path: &str, more: &[(&str, &str)]) -> String {
    let kept = ask
        .query
        .0
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()));
    let kept = kept.filter(|(_, value)| !value.is_empty());
    let fields: Vec<(&str, &str)> = kept.chain(more.iter().copied()).collect();
    address::with_fields(path, &fields)
}

fn form(office: &Office, ask: &Ask) -> Markup {
    let of = |key: &str| ask.query.get(key).unwrap_or_default().to_owned();
    let day = office.day(ask);
    let text = |key: &str, label: &str, mode: &str| {
        html! {
            label { (label) input type="text" name=(key) value=(of(key)) inputmode=(mode) maxlength="200" autocomplete="off"; }
        }
    };
    let named = |of: Choices| office.choices(day, of);
    html! {
        form.entry.wish.noprint method="get" action=(HERE) {
            @if let Some(day) = ask.as_of { input type="hidden" name="as_of" value=(day); }
            fieldset {
                legend { (words::TREES) }
                (text("order", words::OF_ORDER, "text"))
                p.small.quiet { (words::OR_TYPED) }
                (select("variety", words::VARIETY, &of("variety"), &named(Choices::AllVarieties)))
                (select("rootstock", words::ROOTSTOCK, &of("rootstock"), &named(Choices::Rootstocks)))
                (text("size", words::SIZE, "text"))
                (text("plants", words::PLANTS, "numeric"))
            }
            (place(&of, &text))
            (how(&of, &text))
            div { button type="submit" { (words::WRITE) } }
        }
    }
}

fn place(of: &impl Fn(&str) -> String, text: &impl Fn(&str, &str, &str) -> Markup) -> Markup {
    let known: Vec<(String, String)> = cities()
        .iter()
        .map(|city| (city.city.clone(), city.label()))
        .collect();
    html! {
        fieldset {
            legend { (words::PLACE) }
            (select("city", words::CITY, &of("city"), &known))
            p.small.quiet { (words::OR_AT) }
            (text("latitude", words::LATITUDE, "text"))
            (text("longitude", words::LONGITUDE, "text"))
            (text("elevation", words::ELEVATION, "decimal"))
            (folded(words::OR_OWN, &html! {
                p.small.quiet { (words::OWN_HINT) }
                (text("name", words::NAME, "text"))
                (text("lows", words::LOWS, "text"))
                (text("highs", words::HIGHS, "text"))
                (text("rain", words::RAIN, "text"))
                (text("winter_low", words::WINTER_LOW, "text"))
                label.check { input type="checkbox" name="coastal" value="yes" checked[!of("coastal").is_empty()]; (words::COASTAL) }
            }))
        }
    }
}

fn how(of: &impl Fn(&str) -> String, text: &impl Fn(&str, &str, &str) -> Markup) -> Markup {
    let pairs = |all: &[(&str, &str)]| -> Vec<(String, String)> {
        all.iter()
            .map(|(name, said)| ((*name).to_owned(), (*said).to_owned()))
            .collect()
    };
    let forms = pairs(&[("garden", words::GARDEN), ("orchard", words::ORCHARD)]);
    let languages = Language::ALL.map(|it| (it.tag().to_owned(), it.name().to_owned()));
    let units = pairs(&[("metric", words::METRIC), ("us", words::US)]);
    let soils: Vec<(String, String)> = soils().map(|it| (it.to_owned(), it.to_owned())).collect();
    html! {
        fieldset {
            legend { (words::HOW) }
            (select("form", words::FORM, &of("form"), &forms))
            (select("soil", words::SOIL, &of("soil"), &soils))
            (text("week", words::WEEK, "numeric"))
            (text("row", words::ROW, "decimal"))
            (text("union", words::UNION, "decimal"))
            (select("language", words::LANGUAGE, &of("language"), &languages))
            (select("units", words::UNITS, &of("units"), &units))
        }
    }
}

fn select(key: &str, label: &str, chosen: &str, choices: &[(String, String)]) -> Markup {
    html! {
        label {
            (label)
            select name=(key) {
                option value="" { (words::CHOOSE) }
                @for (name, said) in choices {
                    option value=(name) selected[name == chosen] { (said) }
                }
            }
        }
    }
}

/// The weeks of the place and of the first year as a table.
fn table(answer: &PlantingAnswer) -> String {
    let mut file = csv_row(
        &[
            "week",
            "planting",
            "tmin_c",
            "tmax_c",
            "soil_c",
            "et0_mm",
            "rain_mm",
            "frost_odds",
            "week_after_planting",
            "every_days",
            "liters_each",
            "mean_times",
            "mean_liters",
        ]
        .map(str::to_owned),
    );
    for week in &answer.weeks {
        let mut cells = vec![week.week.to_string()];
        let fit = serde_json::to_value(week.fit).ok();
        cells.push(
            fit.and_then(|it| it.as_str().map(str::to_owned))
                .unwrap_or_default(),
        );
        let of = [
            week.tmin_c,
            week.tmax_c,
            week.soil_c,
            week.et0_mm,
            week.rain_mm,
            week.frost,
        ];
        cells.extend(of.map(|it| format!("{it:.2}")));
        if let Some(water) = answer.water.weeks.iter().find(|it| it.week == week.week) {
            cells.push(water.after.to_string());
            cells.push(water.every_days.to_string());
            cells.extend(
                [water.liters, water.mean_times, water.mean_liters].map(|it| format!("{it:.2}")),
            );
        }
        file.push_str(&csv_row(&cells));
    }
    file
}
