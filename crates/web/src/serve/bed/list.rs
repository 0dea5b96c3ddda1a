//! The list a phone keeps: the week's jobs in the order of the walk, the lots, what waits to be settled.

use app::AppError;
use app::ledger::{LotAnswer, PlantNames, ToSettle, WeekAnswer, WeekJob, wrapped};
use app::reading::Reading;
use jiff::civil::Date;
use serde::Serialize;
use serde_json::Value;

use crate::lines::sized;
use crate::serve::ask::Ask;
use crate::serve::office::Office;
use crate::serve::reply::Reply;
use crate::serve::{address, week};
use crate::words::week as words;

/// The list.
#[derive(Serialize)]
struct List<'a> {
    /// The day it is of, as acts have it and in words.
    day: Date,
    day_words: String,
    /// The day of the office's clock.
    day_known: Date,
    /// Whether acts are of its day whatever the phone's clock says: the office looks at a fixed day.
    fixed: bool,
    /// Whoever is at this screen.
    who: Option<&'a str>,
    week: &'a str,
    jobs: Vec<JobRow<'a>>,
    lots: Vec<LotRow<'a>>,
    to_settle: Vec<ToSettle>,
}

/// A job.
#[derive(Serialize)]
struct JobRow<'a> {
    job: &'a str,
    name: &'a str,
    what: String,
    state: app::ledger::State,
    place: &'a str,
    left: u32,
    hours: String,
    crew: Option<&'a str>,
    until: Option<&'a str>,
    why: String,
    slip: Option<&'a str>,
    supplies: String,
    could_not: Option<String>,
    lots: Vec<JobLotRow<'a>>,
    act: Option<&'a Value>,
    /// The form on an office page, where an act asks for more than figures.
    office: Option<String>,
}

/// A lot of a job.
#[derive(Serialize)]
struct JobLotRow<'a> {
    lot: &'a str,
    act: Option<&'a Value>,
    /// Where its buds come from.
    source: Option<&'a str>,
}

/// A lot that stands.
#[derive(Serialize)]
struct LotRow<'a> {
    lot: &'a str,
    place: &'a str,
    stage: &'a str,
    plant: String,
    growing: u32,
    ready: u32,
    held: bool,
    /// Whether its take can be counted.
    wrapped: bool,
}

/// The answer.
pub(super) fn answer(office: &Office, ask: &Ask) -> Result<Reply, AppError> {
    let day = office.today();
    let week = office.desk.week(day)?;
    let standing = office.desk.standing(day)?;
    let names = office.desk.plant_names()?;
    let (to_settle, wrapped) = office.desk.read(|file, sight| {
        let waiting = file.to_settle(&sight.books)?;
        Ok((waiting, wrapped(&sight.books, day)))
    })?;
    let reading = office
        .settings()
        .map_or_else(Reading::default, |it| Reading::of(&it));
    let lots = standing.iter().map(|it| LotRow {
        wrapped: wrapped.contains(&it.lot),
        ..lot(it, &names)
    });
    let list = List {
        day,
        day_words: reading.date(day),
        day_known: (office.setup.senses.today)(),
        fixed: office.setup.as_of.is_some(),
        who: ask.who.as_deref(),
        week: &week.week,
        jobs: jobs(&week, &names, reading),
        lots: lots.collect(),
        to_settle,
    };
    let bytes = serde_json::to_vec(&list)
        .map_err(|error| AppError::new(app::Kind::Internal, error.to_string(), "", ""))?;
    Ok(Reply::part("application/json", bytes))
}

fn jobs<'a>(week: &'a WeekAnswer, names: &PlantNames, reading: Reading) -> Vec<JobRow<'a>> {
    let jobs = week.jobs.iter();
    jobs.map(|it| job(it, names, reading)).collect()
}

fn job<'a>(of: &'a WeekJob, names: &PlantNames, reading: Reading) -> JobRow<'a> {
    let place = week::place_of(of);
    let could_not = of.could_not.as_ref();
    let lots = of.lots.iter().map(|it| {
        let act = it.act.as_ref().filter(|it| is_figures(it));
        JobLotRow {
            lot: &it.lot,
            act,
            source: act.and_then(|it| it["source"].as_str()),
        }
    });
    let all = of.lots.iter().filter_map(|it| it.act.as_ref());
    let asks_more = of.act.iter().chain(all).find(|it| !is_figures(it));
    JobRow {
        job: &of.planned.job,
        name: &of.name,
        what: week::what(of, names),
        state: of.state,
        place: if place == words::NOWHERE { "" } else { place },
        left: of.left,
        hours: if of.hours_left >= 0.05 {
            reading.measure(of.hours_left)
        } else {
            String::new()
        },
        crew: of.planned.crew.as_deref(),
        until: of.until.as_deref(),
        why: crate::figures::sentence(&of.why),
        slip: of.planned.slip.as_deref(),
        supplies: week::supplies(of),
        could_not: could_not.map(|it| words::could_not(&it.text, &it.by, &reading.date(it.on))),
        lots: lots.collect(),
        act: of.act.as_ref().filter(|it| is_figures(it)),
        office: asks_more.map(office_form),
    }
}

/// Whether a phone's taps and figures make an act whole.
fn is_figures(act: &Value) -> bool {
    let kind = act["act"].as_str().unwrap_or_default();
    kind == "unwrap" || !week::lacks_something(kind, act)
}

/// The office's form of an act, filled as far as it is known.
fn office_form(act: &Value) -> String {
    let kind = act["act"].as_str().unwrap_or_default();
    let keys = act.as_object().into_iter().flatten();
    let fields: Vec<(&str, String)> = keys
        .filter(|(key, value)| *key != "act" && !value.is_null())
        .map(|(key, value)| (key.as_str(), crate::serve::table::plain(value)))
        .chain([("back", "/week".to_owned())])
        .collect();
    let fields: Vec<(&str, &str)> = fields.iter().map(|(key, it)| (*key, it.as_str())).collect();
    address::with_fields(&format!("/do/{kind}"), &fields)
}

fn lot<'a>(of: &'a LotAnswer, names: &PlantNames) -> LotRow<'a> {
    let plant = names.plant(of.variety.as_deref(), &of.rootstock);
    LotRow {
        lot: &of.lot,
        place: &of.place,
        stage: of.stage,
        plant: sized(&plant, of.size.as_deref().unwrap_or_default()),
        growing: of.growing,
        ready: of.ready,
        held: of.held,
        wrapped: false,
    }
}
