//! Why a job is to be done now, from what is known on the day: heat, bark, days since budding, the promise at
//! stake; and with what.

use nursery::ids::{PlaceName, RootstockName};
use nursery::ledger::lot::BudState;

use super::WeekJob;
use super::around::Closed;
use super::lots::{Standing, Yard};

/// Odds below which a promise is named as being at stake: those of a safe line.
const SAFE: f64 = season::SAFE;

/// Tools by kind of work: common practice.
const TOOLS: &[(&str, &[&str])] = &[
    ("sow", &["seed, label and stake", "dibber or sowing board"]),
    (
        "line_out",
        &["dibber or trowel", "watering hose", "row stakes"],
    ),
    ("pot_up", &["potting bench or barrow", "labels"]),
    (
        "lift",
        &["lifting spade", "wet sacking for the roots", "labels"],
    ),
    ("buy_in", &["barrow or trolley", "labels"]),
    (
        "cut_sticks",
        &[
            "clean shears",
            "disinfectant",
            "bags and labels",
            "cool box",
        ],
    ),
    (
        "bud",
        &[
            "budding knife and stone",
            "disinfectant",
            "cool box with the sticks",
            "row stakes",
        ],
    ),
    ("unwrap", &["blunt blade or cutter", "count sheet"]),
    ("force", &["clean shears", "disinfectant"]),
    (
        "sample",
        &["clean shears", "sample bags and labels", "disinfectant"],
    ),
];

/// What a job needs besides supplies.
pub fn tools(operation: &str) -> &'static [&'static str] {
    let found = TOOLS.iter().find(|(name, _)| *name == operation);
    found.map_or(&[], |(_, tools)| tools)
}

/// Fills in at each job why now, with what, and until when its place is closed.
pub fn tell(jobs: &mut [WeekJob], yard: &Yard<'_>, closed: &[Closed]) {
    for job in jobs {
        job.now = reasons(yard, job);
        job.tools = tools(&job.planned.operation).to_vec();
        let places = job.lots.iter().map(|it| it.place.as_str());
        let places: Vec<&str> = places.chain([job.planned.place.as_str()]).collect();
        let of_job = closed
            .iter()
            .filter(|it| places.contains(&it.place.as_str()));
        job.closed_until = of_job.map(|it| it.until).max();
    }
}

fn reasons(yard: &Yard<'_>, job: &WeekJob) -> Vec<String> {
    let first = job.lots.first().and_then(|it| yard.lot(&it.lot));
    let known = [
        first.and_then(|lot| since_budding(yard, lot)),
        first.and_then(|lot| heat(yard, lot)),
        bark(yard, job),
        at_stake(job),
    ];
    known.into_iter().flatten().collect()
}

/// Days since the buds were set, while they are wrapped.
fn since_budding(yard: &Yard<'_>, lot: &Standing<'_>) -> Option<String> {
    if lot.view.bud != Some(BudState::Wrapped) {
        return None;
    }
    let days = (yard.as_of - lot.lot.budded_on?).get_days();
    Some(match days {
        1 => "1 day since budding".to_owned(),
        _ => format!("{days} days since budding"),
    })
}

/// How far the growing plants of the first lot are on their heat.
fn heat(yard: &Yard<'_>, lot: &Standing<'_>) -> Option<String> {
    let heat = yard.outlook.of(lot.lot, &lot.view)?.degree_days?;
    Some(if lot.has_its_heat {
        format!(
            "{} has had its heat: {} of {} degree-days",
            lot.lot.lot, heat.so_far, heat.needed
        )
    } else {
        format!(
            "{} has {} of {} degree-days",
            lot.lot.lot, heat.so_far, heat.needed
        )
    })
}

/// In how many courses of weather bark slips in the coming week, for work that needs it to.
fn bark(yard: &Yard<'_>, job: &WeekJob) -> Option<String> {
    let planned = &job.planned;
    if planned.operation == "over_age" || !yard.step(&planned.step)?.needs_bark {
        return None;
    }
    let place = job.lots.first().map_or(&planned.place, |it| &it.place);
    let share = yard.outlook.bark_share(
        &RootstockName::from(planned.rootstock.as_str()),
        &PlaceName::from(place.as_str()),
    )?;
    let (percent, week) = ((share * 100.0).round(), yard.calendar.iso(0));
    Some(format!(
        "bark slips in {week} in {percent:.0} of 100 courses of weather"
    ))
}

/// The order line whose odds are worst, where it is not safe; nothing is promised of what is raised on spec.
fn at_stake(job: &WeekJob) -> Option<String> {
    let ordered = job.reasons.iter().filter(|it| !it.is_on_spec());
    let with_odds = ordered.filter_map(|it| Some((it, it.odds?)));
    let (line, odds) = with_odds
        .filter(|(_, odds)| *odds < SAFE)
        .min_by(|one, other| one.1.total_cmp(&other.1))?;
    let percent = (odds * 100.0).floor();
    Some(format!(
        "at stake: {}, on time in {percent:.0} of 100 futures of the plan",
        line.line
    ))
}
