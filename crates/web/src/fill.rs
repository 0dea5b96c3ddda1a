//! Fills the sheets from runs.

use crate::figures::{count, of, sentence};
use crate::sheet::{
    FreePoint, FreeRow, JobRow, LimitSeries, LineRow, OddsSheet, OperationSeries, PlanSheet,
    ScarceRow, ShortRow, SupplyRow, WeekLabel, WeekRange,
};
use crate::words::plan as words;
use app::answers::{self, driver_words, line_words, resource_words, why_short};
use app::reasons::{WhyAnswer, given_up, scarcest, why_of_jobs};
use app::{
    FuturesRun, Line, PlanRun, Resource, SeasonView, Served, ShadowPrice, Taken, Words, case_price,
    date_words, decimals, money_words, of_case, stakes,
};

/// Operations in which blades are used.
const BLADES: [&str; 4] = ["bud", "force", "lift", "head"];

/// Most rows of what is scarce: the dearest; the file of the answer has all.
const SCARCE_ROWS: usize = 60;

/// The sheet of a plan, with odds where futures were drawn.
pub fn plan_sheet(run: &PlanRun, odds: Option<&FuturesRun>) -> PlanSheet {
    let reasons = why_of_jobs(run);
    PlanSheet {
        nursery: run.nursery.settings.name.clone(),
        as_of: date_words(run.nursery.as_of),
        run: run.run.clone(),
        profit: money_words(of_case(run.profit(), &run.nursery.settings.currency)),
        currency: run.nursery.settings.currency.clone(),
        weeks: weeks(run.season()),
        today: today(run.season()),
        jobs: (0..run.jobs.len())
            .map(|index| job(run, index, &reasons))
            .collect(),
        by_operation: by_operation(run),
        crews: crews(run),
        places: places(run),
        supplies: supplies(run),
        scarce: scarce(run),
        scarcest: scarcest(run).into_iter().map(|it| it.words).collect(),
        given_up: given_up(run).into_iter().map(|it| it.words).collect(),
        short: short(run),
        lines: lines(run.season(), odds),
        warnings: run.season().warnings(),
        notes: notes(run),
    }
}

/// The sheet of the odds.
pub fn odds_sheet(season: SeasonView<'_>, run: &FuturesRun) -> OddsSheet {
    OddsSheet {
        nursery: season.nursery.settings.name.clone(),
        as_of: date_words(season.nursery.as_of),
        run: run.run.clone(),
        futures: run.futures,
        seed: run.seed,
        currency: season.nursery.settings.currency.clone(),
        weeks: weeks(season),
        today: today(season),
        lines: lines(season, Some(run)),
        free: free(season, run),
        warnings: season.warnings(),
        notes: vec![
            "Each future draws a course of weather from the site's own past weeks, the luck that lots share, \
             the pace, losses and take of every lot, and does the planned jobs and what makes up for them with the \
             hours there are."
                .to_owned(),
            "Odds are the share of futures in which the line is complete; with so many futures \
             they are right to within a few hundredths."
                .to_owned(),
        ],
    }
}

/// The weeks of a season.
pub(crate) fn weeks(season: SeasonView<'_>) -> Vec<WeekLabel> {
    let calendar = &season.model.calendar;
    let month = |week: i64| calendar.thursday(week).month();
    (0..season.model.weeks as i64)
        .map(|week| WeekLabel {
            iso: calendar.iso(week),
            monday: date_words(calendar.monday(week)),
            month_name: date_words(calendar.thursday(week))
                .split(' ')
                .nth(1)
                .unwrap_or_default()
                .to_owned(),
            starts_month: week == 0 || month(week) != month(week - 1),
        })
        .collect()
}

/// The week of the as-of date, where the plan begins with it.
pub(crate) fn today(season: SeasonView<'_>) -> Option<usize> {
    usize::try_from(season.model.calendar.week_of(season.nursery.as_of)).ok()
}

fn job(run: &PlanRun, index: usize, reasons: &[WhyAnswer]) -> JobRow {
    let job = &run.jobs[index];
    let reason = reasons.iter().find(|it| it.job == job.job);
    let operation = &run.model.operations[job.operation];
    let into = &run.model.stages[operation.into];
    let step = run.nursery.catalogue.routes.steps.get(&operation.step);
    let first = operation.work.iter().find(|work| work.after_weeks == 0);
    let serves = &run.trace.serves[index];
    JobRow {
        job: job.job.clone(),
        week: job.week,
        operation: step.map_or_else(|| operation.step.to_string(), |step| step.name.clone()),
        what: Words(&run.nursery.catalogue).plant(into.variety.as_ref(), &into.rootstock),
        size: into
            .size
            .as_ref()
            .map_or_else(String::new, ToString::to_string),
        place: into.place.to_string(),
        plants: u64::from(job.plants),
        crew: first.map_or_else(String::new, |work| work.crew.to_string()),
        hours: f64::from(job.plants) * first.map_or(0.0, |work| work.hours),
        supplies: answers::supplies(run, job)
            .into_iter()
            .map(|row| (row.supply, row.amount))
            .collect(),
        takes_from: run.trace.taken[index]
            .iter()
            .map(|taken| source(run, taken))
            .collect(),
        serves: named(run, serves),
        why: reason.map_or_else(|| why(run, serves), |it| it.words.clone()),
        slip: reason.map_or_else(String::new, |it| it.slip.clone()),
        blades: step.is_some_and(|step| BLADES.contains(&step.operation.as_str())),
    }
}

fn source(run: &PlanRun, taken: &Taken) -> String {
    match taken {
        Taken::Lot { lot, plants } => {
            format!(
                "{} of lot {}",
                money_words(*plants),
                run.model.standing[*lot].lot
            )
        }
        Taken::Job { job, plants } => {
            let week = run.model.calendar.iso(run.jobs[*job].week as i64);
            let step = &run.model.operations[run.jobs[*job].operation].step;
            format!("{} from {step} in {week}", money_words(*plants))
        }
    }
}

/// Lines served, the first few by name.
fn named(run: &PlanRun, serves: &[Served]) -> Vec<String> {
    const NAMED: usize = 3;
    let mut lines: Vec<(&str, f64)> = Vec::new();
    for it in serves {
        let name = run.model.line_words(&it.line);
        match lines.iter_mut().find(|known| known.0 == name) {
            Some(known) => known.1 += it.trees,
            None => lines.push((name, it.trees)),
        }
    }
    let shown = lines.iter().take(NAMED);
    let mut names: Vec<String> = shown
        .map(|(name, trees)| format!("{name} ({})", money_words(*trees)))
        .collect();
    if lines.len() > NAMED {
        names.push(format!("{} more", lines.len() - NAMED));
    }
    names
}

/// Why a job is done: the line it serves that is due first.
fn why(run: &PlanRun, serves: &[Served]) -> String {
    let first = run
        .model
        .lines
        .iter()
        .filter(|line| serves.iter().any(|served| served.line == line.id))
        .min_by_key(|line| line.due);
    match first {
        None => "Stock for the end of the plan and for losses.".to_owned(),
        Some(line) => {
            let due = run.model.calendar.iso(line.due);
            match serves.len() {
                1 => format!("For {}, due {due}.", line.id),
                more => format!("For {more} lines, first {}, due {due}.", line.id),
            }
        }
    }
}

fn by_operation(run: &PlanRun) -> Vec<OperationSeries> {
    let steps = run
        .nursery
        .catalogue
        .routes
        .steps_in_use(&run.nursery.settings.planning.routes);
    steps
        .into_iter()
        .map(|step| {
            let mut plants_by_week = vec![0; run.model.weeks];
            for job in &run.jobs {
                if run.model.operations[job.operation].step == step.id {
                    plants_by_week[job.week] += u64::from(job.plants);
                }
            }
            OperationSeries {
                operation: step.name.clone(),
                plants_by_week,
            }
        })
        .filter(|series| series.plants_by_week.iter().any(|plants| *plants > 0))
        .collect()
}

/// By week, the plan's price of a resource.
fn prices(run: &PlanRun, is: impl Fn(&Resource) -> bool) -> Vec<f64> {
    let currency = &run.nursery.settings.currency;
    let mut prices = vec![0.0; run.model.weeks];
    for price in run.plan.prices.iter().filter(|price| is(&price.resource)) {
        if let Some(week) = price.week {
            prices[week] = of_case(price.price, currency);
        }
    }
    prices
}

fn crews(run: &PlanRun) -> Vec<LimitSeries> {
    run.plan
        .crew_use
        .iter()
        .map(|planned| {
            let here = |week: usize| {
                planned.work[week] + planned.lent[week] - planned.borrowed[week]
            };
            LimitSeries {
                name: planned.crew.clone(),
                unit: "hours".to_owned(),
                used: (0..run.model.weeks).map(here).collect(),
                limit: planned.own.clone(),
                hired: planned.hired_in_all(),
                price: prices(run, |resource| {
                    matches!(resource, Resource::CrewHour { crew } if *crew == planned.crew)
                }),
            }
        })
        .collect()
}

fn places(run: &PlanRun) -> Vec<LimitSeries> {
    run.plan
        .place_use
        .iter()
        .map(|planned| LimitSeries {
            name: planned.place.clone(),
            unit: "m²".to_owned(),
            used: planned.used.clone(),
            limit: planned.area.clone(),
            hired: Vec::new(),
            price: prices(
                run,
                |resource| matches!(resource, Resource::Area { place } if *place == planned.place),
            ),
        })
        .collect()
}

/// Supplies the plan uses, those used up most first.
fn supplies(run: &PlanRun) -> Vec<SupplyRow> {
    let mut used = vec![0.0; run.model.supplies.len()];
    for job in &run.jobs {
        for need in &run.model.operations[job.operation].uses {
            used[need.supply] += need.each * f64::from(job.plants);
        }
    }
    let mut rows: Vec<SupplyRow> = run
        .model
        .supplies
        .iter()
        .zip(used)
        .filter(|(_, used)| *used > 0.0)
        .map(|(supply, used)| SupplyRow {
            what: supply.id.clone(),
            used,
            there_is: supply.batches.iter().map(|it| it.amount).sum(),
            bought_per_week: supply.bought.as_ref().map(|it| it.limit_per_week),
        })
        .collect();
    let share = |row: &SupplyRow| row.used / row.there_is.max(1.0);
    rows.sort_by(|one, other| share(other).total_cmp(&share(one)));
    rows
}

fn scarce(run: &PlanRun) -> Vec<ScarceRow> {
    let mut prices: Vec<&ShadowPrice> = answers::scarce_prices(run)
        .filter(|price| price.price >= 0.01)
        .collect();
    prices.sort_by(|one, other| other.price.total_cmp(&one.price));
    let currency = &run.nursery.settings.currency;
    prices
        .into_iter()
        .filter_map(|price| {
            Some(ScarceRow {
                what: resource_words(run, &price.resource),
                week: price.week?,
                price: format!("{:.*}", decimals(currency), of_case(price.price, currency)),
                unit: format!("{currency} per {}", price.resource.unit()),
            })
        })
        .take(SCARCE_ROWS)
        .collect()
}

fn short(run: &PlanRun) -> Vec<ShortRow> {
    let planned = run.short_lines().filter_map(|short| {
        let line = run.model.lines.iter().find(|line| line.id == short.order)?;
        (!line.on_spec).then(|| ShortRow {
            order: line.order.clone(),
            line: line.line.clone(),
            what: format!("{}, {}", line_words(&run.nursery, line), line.size),
            plants: short.plants.round().max(1.0) as u64,
            why: why_short(run, short),
            mend: String::new(),
        })
    });
    let unplanned = run
        .model
        .unplanned
        .iter()
        .filter(|line| !line.later)
        .map(|line| ShortRow {
            order: line.order.clone(),
            line: line.line.clone(),
            what: ordered_words(run, &line.order, &line.line),
            plants: u64::from(line.plants),
            why: format!("Not planned: {}.", line.why),
            mend: String::new(),
        });
    planned.chain(unplanned).collect()
}

/// What a line of the order book asks for, as `Valencia on Carrizo, 4L`.
fn ordered_words(run: &PlanRun, order: &str, line: &str) -> String {
    let words = Words(&run.nursery.catalogue);
    let known = run
        .nursery
        .orders
        .iter()
        .find(|row| row.order == order && row.line == line);
    known.map_or_else(String::new, |row| {
        format!(
            "{}, {}",
            words.ordered(&row.variety, &row.rootstocks),
            row.size
        )
    })
}

fn lines(season: SeasonView<'_>, odds: Option<&FuturesRun>) -> Vec<LineRow> {
    let week = |week: Option<u32>| week.map(|week| week as usize);
    season
        .model
        .lines
        .iter()
        .filter(|line| !line.on_spec)
        .map(|line| {
            let odds = odds.and_then(|odds| odds.summary.orders.get(&line.id));
            LineRow {
                order: line.order.clone(),
                line: line.line.clone(),
                customer: line.customer.clone(),
                what: line_words(season.nursery, line),
                size: line.size.to_string(),
                plants: line.plants.round() as u64,
                due: season.model.calendar.iso(line.due),
                due_week: usize::try_from(line.due)
                    .ok()
                    .filter(|week| *week < season.model.weeks),
                on_time: odds.map(|odds| odds.on_time),
                by_latest: odds.map(|odds| odds.by_latest),
                target: line.target,
                mean_short: odds.map(|odds| odds.mean_short),
                complete: odds.map_or_else(WeekRange::default, |odds| WeekRange {
                    p10: week(odds.week.p10),
                    p50: week(odds.week.p50),
                    p90: week(odds.week.p90),
                }),
                driver: odds.map_or_else(String::new, |odds| sentence(driver_words(odds.driver))),
                remedy: String::new(),
                price: each(season, line.price),
                stakes: stakes_words(season, line),
            }
        })
        .collect()
}

/// The price of one tree.
fn each(season: SeasonView<'_>, price: f64) -> String {
    let currency = &season.nursery.settings.currency;
    format!("{} each", case_price(price, currency))
}

/// What one tree too few and one too many lose; nothing of a line that no stage serves.
fn stakes_words(season: SeasonView<'_>, line: &Line) -> String {
    let Some((too_few, too_many)) = stakes(line, &season.model.stages) else {
        return String::new();
    };
    let currency = &season.nursery.settings.currency;
    let price = |money: f64| case_price(money, currency);
    if too_few > 0.0 {
        words::stakes(&price(too_few), &price(too_many.max(0.0)))
    } else {
        words::no_stake(&price(-too_few))
    }
}

fn free(season: SeasonView<'_>, run: &FuturesRun) -> Vec<FreeRow> {
    let words = Words(&season.nursery.catalogue);
    season
        .model
        .stages
        .iter()
        .filter_map(|stage| {
            let free = run.summary.free.get(&stage.id)?;
            let points = run.summary.weeks.iter().enumerate();
            Some(FreeRow {
                variety: words.variety(stage.variety.as_ref()?),
                rootstock: words.rootstock(&stage.rootstock),
                size: format!("{}, {}", stage.size.as_ref()?, stage.place),
                points: points
                    .map(|(index, week)| FreePoint {
                        week: *week as usize,
                        p05: free.p05[index].round() as u64,
                        p50: free.p50[index].round() as u64,
                        p95: free.p95[index].round() as u64,
                    })
                    .collect(),
            })
        })
        .filter(|row| row.points.iter().any(|point| point.p95 > 0))
        .collect()
}

/// How good the plan is among all that could be done.
fn how_good(left_out: usize, possible: usize) -> String {
    let possible_starts = of(possible as u64, "possible start");
    if left_out == 0 {
        return format!("The plan is the best there is with {possible_starts} of work.");
    }
    format!(
        "The plan is the best of the starts weighed: {} of {possible_starts} of work were left out \
         after a first look by periods of weeks, and a plan with them may earn a little more.",
        count(left_out as u64)
    )
}

fn notes(run: &PlanRun) -> Vec<String> {
    let plan = &run.plan;
    let mut notes = vec![
        format!(
            "{} It is worked out by week{}, under hours, space, seed and buds; {} rules \
             hold to within {:.0e}. Luck still decides: read the odds of each line.",
            how_good(plan.left_out, plan.possible_starts),
            if run.protection.is_some() {
                ", with reserves against bad luck"
            } else {
                " at mean yields"
            },
            count(plan.rows as u64),
            plan.checks
                .primal_residual
                .max(plan.checks.dual_residual)
                .max(1e-9)
        ),
        "Heat, losses, take, hours and costs are those of the routes in use; each has its source \
         and status in data/routes.toml or in your own routes.toml. A value from memory or common \
         practice is a default to be replaced by your own counts."
            .to_owned(),
        "A price says what one more hour, square meter, bud or seed in that week would earn."
            .to_owned(),
    ];
    notes.extend(run.whole.map(|whole| {
        let currency = &run.nursery.settings.currency;
        let cost = money_words(of_case(whole.cost.max(0.0), currency));
        format!(
            "The first {} weeks are in whole plants and whole jobs: with the least of each session, whole trays and \
             people hired for weeks in a row, where the nursery has such rules. That costs {cost} {currency} of what parts of plants would earn.",
            whole.weeks
        )
    }));
    notes
}

#[cfg(test)]
mod tests {
    use super::how_good;

    #[test]
    fn a_plan_is_the_best_only_of_what_was_weighed() {
        assert_eq!(
            how_good(0, 1_200),
            "The plan is the best there is with 1\u{202f}200 possible starts of work."
        );
        let some = how_good(11_135, 22_000);
        assert!(some.contains("the best of the starts weighed"), "{some}");
        assert!(
            some.contains("11\u{202f}135 of 22\u{202f}000 possible starts"),
            "{some}"
        );
        assert!(!some.contains("best there is"), "{some}");
    }
}
