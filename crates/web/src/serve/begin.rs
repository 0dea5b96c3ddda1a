//! First steps: from an empty nursery to a first plan, each saved on its own and resumed at any time,
//! for what is done is read from the books.

use std::collections::BTreeMap;

use app::AppError;
use app::ledger::settings::{NewSetting, nursery_keys, template};
use maud::{Markup, html};
use serde_json::{Map, Value, json};

use super::ask::{Ask, Fields, is_name};
use super::form::{self, Field};
use super::office::Office;
use super::page::Page;
use super::reply::Reply;
use super::settings::{Change, Outcome, choices, files, nursery, person_field, row, weather};
use super::{address, who};
use crate::figures::sentence;
use crate::words::begin::{self as words, STEPS, Step};

/// The page of these steps.
const HERE: &str = "/begin";

/// Where the first page leads: to the week, or here while nothing is known of the nursery.
pub(super) fn first_page(office: &Office, _: &Ask) -> Result<Reply, AppError> {
    let day = office.today();
    let nothing = office
        .desk
        .read(|file, sight| Ok(file.settings(&sight.books, day).is_none()))?;
    Ok(Reply::See(if nothing { HERE } else { "/week" }.to_owned()))
}

/// All steps, with what is known of each; none where nothing is.
pub(super) fn page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let known = known(office, ask)?;
    let next = next(&known);
    let body = html! {
        ol.decide {
            @for (at, step) in STEPS.iter().enumerate() {
                li {
                    b { (at + 1) ". " (step.name) }
                    div {
                        p { b { (state(step, known[at].as_ref(), next == Some(at))) } @if let Some(it) = &known[at] { ": " (it) } }
                        p.quiet { (step.why) }
                        p { a.button.plain[next != Some(at)] href=(at_step(step)) {
                            @if known[at].is_some() { (words::LOOK) } @else { (words::DO_IT) }
                        } }
                    }
                }
            }
        }
        p.quiet { (words::IN_SETTINGS) }
    };
    let done = known.iter().filter(|it| it.is_some()).count();
    let answer = words::answer(done, next.map(|at| STEPS[at].name));
    Ok(Reply::Page(Page::new(
        "/settings",
        words::SHEET,
        answer,
        body,
    )))
}

fn at_step(step: &Step) -> String {
    format!("{HERE}/{}", step.at)
}

fn state(step: &Step, known: Option<&String>, is_next: bool) -> &'static str {
    match (known, is_next) {
        (Some(_), _) => words::DONE,
        (None, true) => words::NEXT,
        (None, false) if step.may_wait => words::MAY_WAIT,
        (None, false) => words::TO_DO,
    }
}

/// The first step that is not done and cannot wait.
fn next(known: &[Option<String>]) -> Option<usize> {
    (0..STEPS.len()).find(|at| known[*at].is_none() && !STEPS[*at].may_wait)
}

/// What is known of each step, in words.
fn known(office: &Office, ask: &Ask) -> Result<Vec<Option<String>>, AppError> {
    let day = office.day(ask);
    let some = |count: usize, what: &str| (count > 0).then(|| words::counted(count, what));
    office.desk.read(|file, sight| {
        let books = &sight.books;
        let rows = |what: &str| books.settings.rows(what, day).count();
        // What is wrong with it stands on the page of the weather.
        let weather = file.weather_in_use(books, day).unwrap_or(None);
        let demand = rows("demand");
        let standing = books.lots.values().filter_map(|it| it.on(day));
        let standing = standing.filter(|view| view.plants() > 0).count();
        Ok(vec![
            file.settings(books, day).map(|it| it.name),
            weather.map(|it| words::days(&app::date_words(it.first), &app::date_words(it.last))),
            some(rows("place"), "place"),
            some(rows("crew"), "row"),
            some(standing, "lot"),
            some(rows("mother_tree"), "mother tree").or(some(books.batches.len(), "batch of seed")),
            some(rows("price"), "price"),
            some(books.orders.len(), "order").or(some(demand, "expected sale")),
            file.has_plan()?.then(|| words::HAS_PLAN.to_owned()),
        ])
    })
}

/// The page of a step.
pub(super) fn step_page(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let step = step_of(ask)?;
    let values = match step.at {
        "nursery" => nursery::known(office, ask)?,
        _ => Fields::default(),
    };
    Ok(Reply::Page(draw(
        office,
        ask,
        step,
        &values,
        &Change::default(),
    )?))
}

/// A step that was filled in.
pub(super) fn step(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let step = step_of(ask)?;
    let mut change = Change::default();
    let fields = fields_of(step);
    let read = form::read(&fields, &ask.form, office.decimals());
    change.wrong = read.wrong;
    let settings = match step.at {
        "nursery" => vec![who_and_where(office, ask, read.keys)?],
        "places" => places(ask, &read.keys),
        "crews" => crews(ask, &read.keys),
        _ => return Err(no_step(step.at)),
    };
    if settings.is_empty() {
        change
            .wrong
            .entry(fields[0].key)
            .or_insert_with(|| words::NO_AREA.to_owned());
    }
    if !change.is_wrong() {
        let kinds: Vec<String> = settings.iter().map(kind_or_crew).collect();
        let field_of = |at: usize, column: &str| field_at(step, &kinds[at], column);
        if matches!(
            change.record(office, ask, settings, field_of)?,
            Outcome::Done
        ) {
            return Ok(on(ask));
        }
    }
    let page = draw(office, ask, step, &ask.form, &change)?;
    Ok(Reply::NotDone(page))
}

/// On to the next step; whoever named themselves here is known from now on.
fn on(ask: &Ask) -> Reply {
    match ask.form.get("by").filter(|it| is_name(it)) {
        Some(name) if ask.who.is_none() => Reply::SeeAs(HERE.to_owned(), who::cookie(name)),
        _ => Reply::See(HERE.to_owned()),
    }
}

fn step_of(ask: &Ask) -> Result<&'static Step, AppError> {
    let at = ask.part("step");
    STEPS
        .iter()
        .find(|it| it.at == at)
        .ok_or_else(|| no_step(at))
}

fn no_step(at: &str) -> AppError {
    AppError::new(app::Kind::NotFound, words::NO_STEP, at, words::NO_STEP_MEND)
}

fn fields_of(step: &Step) -> Vec<Field> {
    match step.at {
        "nursery" => nursery::fields()
            .into_iter()
            .take(words::WHO_AND_WHERE)
            .collect(),
        "places" => words::AREAS.to_vec(),
        "crews" => words::CREW.to_vec(),
        _ => Vec::new(),
    }
}

/// Name, place, time zone and currency, over the rules as they hold, or the common ones.
fn who_and_where(
    office: &Office,
    ask: &Ask,
    given: Map<String, Value>,
) -> Result<NewSetting, AppError> {
    let day = office.day(ask);
    let text = office.desk.read(|_, sight| {
        let text = sight.books.settings.text("nursery", day);
        Ok(text.map(str::to_owned))
    })?;
    let common = template("nursery.toml").unwrap_or_default();
    let mut keys = nursery_keys(text.as_deref().unwrap_or(common));
    keys.extend(given);
    let mut setting = nursery::of_keys(ask, &keys);
    setting.id = id_of(ask, 0);
    Ok(setting)
}

/// The name of the act of a row, made when the form was drawn.
fn id_of(ask: &Ask, at: usize) -> String {
    ask.form
        .get(&format!("id{at}"))
        .unwrap_or_default()
        .to_owned()
}

/// A place of each kind that has an area, otherwise as common practice has it.
fn places(ask: &Ask, keys: &Map<String, Value>) -> Vec<NewSetting> {
    let rows = template_rows("places.csv");
    let with_area = words::AREAS.iter().enumerate().filter_map(|(at, field)| {
        let area = keys.get(field.key)?;
        let mut row = rows.iter().find(|row| row["kind"] == field.key)?.clone();
        row.insert("area_m2", row::cell_of(field.kind, area));
        // What space beyond the area costs depends on the currency; the common value stands in.
        row.remove("excess_cost");
        Some(setting(id_of(ask, at), "place", row))
    });
    with_area.collect()
}

/// The two crews that steps ask for.
fn crews(ask: &Ask, keys: &Map<String, Value>) -> Vec<NewSetting> {
    let cell = |at: usize| {
        let field = &words::CREW[at];
        let value = keys.get(field.key);
        value.map_or_else(|| "0".to_owned(), |it| row::cell_of(field.kind, it))
    };
    let crew = |at: usize, also: &str| {
        let row = BTreeMap::from([
            ("crew", words::CREW[at].key.to_owned()),
            ("hours_per_week", cell(at)),
            ("wage", cell(2)),
            ("hired_hours_per_week", cell(3)),
            ("may_do", also.to_owned()),
        ]);
        setting(id_of(ask, at), "crew", row)
    };
    vec![crew(0, words::CREW[1].key), crew(1, "")]
}

fn setting(id: String, what: &'static str, row: BTreeMap<&'static str, String>) -> NewSetting {
    let filled = row.into_iter().filter(|(_, cell)| !cell.is_empty());
    NewSetting {
        id,
        what,
        values: filled
            .map(|(column, cell)| (column.to_owned(), json!(cell)))
            .collect(),
    }
}

/// The example rows of a table.
fn template_rows(file: &str) -> Vec<BTreeMap<&'static str, String>> {
    let mut lines = template(file).unwrap_or_default().lines();
    let heads: Vec<&'static str> = lines.next().unwrap_or_default().split(',').collect();
    let cells = |line: &str| -> Vec<String> { line.split(',').map(str::to_owned).collect() };
    lines
        .map(|line| heads.iter().copied().zip(cells(line)).collect())
        .collect()
}

/// What a row is told apart by in the form: its kind of place, or its crew.
fn kind_or_crew(setting: &NewSetting) -> String {
    let cell = |column: &str| setting.values.get(column).and_then(Value::as_str);
    cell("kind").or(cell("crew")).unwrap_or_default().to_owned()
}

/// The field to which a column of a row belongs.
fn field_at(step: &Step, row: &str, column: &str) -> Option<&'static str> {
    let field = match (step.at, column) {
        ("nursery", key) => return nursery::field_of(key),
        (_, "wage") => "wage",
        (_, "hired_hours_per_week") => "hired",
        _ => row,
    };
    let all = words::AREAS.iter().chain(&words::CREW);
    all.map(|it| it.key).find(|key| *key == field)
}

fn draw(
    office: &Office,
    ask: &Ask,
    step: &Step,
    values: &Fields,
    change: &Change,
) -> Result<Page, AppError> {
    let known = known(office, ask)?;
    let at = STEPS.iter().position(|it| it.at == step.at).unwrap_or(0);
    let is_first = known[at].is_none() || step.at == "nursery" || change.is_wrong();
    let here = at_step(step);
    let body = html! {
        (files::taken(&ask.query))
        p.say { (step.why) }
        @if let Some(it) = &known[at] { p { b { (words::DONE) } ": " (it) } }
        @if !fields_of(step).is_empty() && is_first { (own_form(office, ask, step, values, change)?) }
        @if step.at == "weather" {
            @if let Some(it) = weather::in_use(office, ask)? { (weather::facts(&it)) }
            (weather::forms(ask, &here))
        } @else {
            (one_by_one(office, ask, step, &here)?)
            @if step.at != "nursery" && !step.files.is_empty() { (from_files(office, ask, step, &here)) }
        }
        p.acts {
            a.button.plain href=(HERE) { (words::ALL_STEPS) }
            @if let Some(next) = STEPS.get(at + 1) { a.button.plain href=(at_step(next)) { (words::NEXT_STEP) ": " (next.name) } }
        }
    };
    let answer = format!("{}. {}", at + 1, sentence(step.name));
    Ok(Page::new("/settings", words::SHEET, answer, body))
}

/// The short form of a step.
fn own_form(
    office: &Office,
    ask: &Ask,
    step: &Step,
    values: &Fields,
    change: &Change,
) -> Result<Markup, AppError> {
    let fields = fields_of(step);
    let ids: Vec<(String, String)> = (0..fields.len().min(words::AREAS.len()))
        .map(|at| {
            let key = format!("id{at}");
            let id = match values.get(&key) {
                Some(id) => id.to_owned(),
                None => office.ulid()?,
            };
            Ok((key, id))
        })
        .collect::<Result<_, AppError>>()?;
    Ok(html! {
        (change.told())
        form.entry method="post" action=(at_step(step)) {
            @for (key, id) in ids { input type="hidden" name=(key) value=(id); }
            (form::draw(&fields, values, &change.wrong, |of| choices(office, ask, of)))
            (person_field(office, ask, change))
            button { (words::SAVE_AND_ON) }
        }
    })
}

fn one_by_one(office: &Office, ask: &Ask, step: &Step, here: &str) -> Result<Markup, AppError> {
    let unpriced = match step.at {
        "prices" => {
            let day = office.day(ask);
            let lacks = office
                .desk
                .read(|file, sight| file.lacks(&sight.books, day))?;
            lacks.unpriced
        }
        _ => Vec::new(),
    };
    let back = [("back", here)];
    let material = |item: &str| {
        let fields = [("of", "material"), ("item", item), ("back", here)];
        address::with_fields("/settings/prices/row", &fields)
    };
    Ok(html! {
        @if !step.forms.is_empty() {
            section {
                h2 { (words::ONE_BY_ONE) }
                p.acts { @for (at, name) in step.forms { a.button href=(address::with_fields(at, &back)) { (name) } } }
                @if !unpriced.is_empty() {
                    p { (sentence(words::UNPRICED)) }
                    ul.plain { @for item in &unpriced { li { a href=(material(item)) { (item) } } } }
                }
            }
        }
    })
}

fn from_files(office: &Office, ask: &Ask, step: &Step, here: &str) -> Markup {
    html! {
        section {
            h2 { (words::FROM_FILE) }
            p { (words::FILE_HELP) }
            ul.plain { @for file in step.files { li { a href=(format!("/settings/templates/{file}")) download { (file) } } } }
            (files::upload(office, ask, &Change::default(), here))
        }
    }
}
