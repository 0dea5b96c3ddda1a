//! Reasons of the planner in the trade's words.

use crate::run::{LACKS, PlanRun};
use crate::words::{MINOR, Words, money_words, price_words};

/// Why the odds of a line stay below its target; none where they do not, or where nothing protects it.
pub fn why_below(run: &PlanRun, line: usize, on_time: Option<f64>) -> Option<String> {
    let protection = run.protection.as_ref()?;
    let it = &run.model.lines[line];
    let of_round = protection.odds.orders.get(&it.id).map(|odds| odds.on_time);
    let on_time = on_time.or(of_round)?;
    if on_time >= it.target {
        return None;
    }
    let short = run.plan.short.iter().find(|short| short.order == it.id);
    if let Some(short) = short {
        return Some(why_short(run, short));
    }
    Some(match &protection.why_no_more[line] {
        Some(why) => {
            let sentence = why_words(run, why);
            format!(
                "One more tree in reserve for {}: {}",
                it.id,
                with_small(&sentence)
            )
        }
        None => nothing_more(run, line),
    })
}

/// Why a line that its reserve holds all for that was asked for stays below its target all the same.
fn nothing_more(run: &PlanRun, line: usize) -> String {
    let late = run.plan.lines[line].late;
    if late >= LACKS {
        return format!(
            "The plan itself sends {} of it late; a reserve does not bring them sooner.",
            money_words(late)
        );
    }
    let held = run.protection.as_ref().map_or(0.0, |it| it.extra[line]);
    let held = match money_words(held).as_str() {
        "0" => "None are held in reserve for it".to_owned(),
        "1" => "1 is held in reserve for it".to_owned(),
        some => format!("{some} are held in reserve for it"),
    };
    format!(
        "{held}, all that the futures of the round before asked for; in those of this plan more would have been needed."
    )
}

/// A sentence to stand behind a colon.
fn with_small(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().map(char::to_lowercase);
    first.into_iter().flatten().chain(letters).collect()
}

/// A resource in words, as `hours of budding`.
pub fn resource_words(run: &PlanRun, resource: &planner::Resource) -> String {
    use planner::Resource;
    match resource {
        Resource::CrewHour { crew } => format!("hours of {crew}"),
        Resource::HiredHour { crew } => format!("hired hours of {crew}"),
        Resource::Area { place } => format!("space at {place}"),
        Resource::Supply { supply } => supply.clone(),
        Resource::Batch { supply, batch } => {
            let known = run.model.supplies.iter().find(|known| known.id == *supply);
            let source = known.and_then(|known| known.batches.get(*batch));
            source.map_or_else(
                || supply.clone(),
                |row| format!("{supply} ({})", row.source),
            )
        }
        Resource::BuyLimit { supply } => format!("{supply}, bought"),
    }
}

/// Why a line is short, weeks as ISO weeks.
pub fn why_short(run: &PlanRun, short: &planner::ShortLine) -> String {
    why_words(run, &short.why)
}

fn why_words(run: &PlanRun, why: &planner::Why) -> String {
    let currency = &run.nursery.settings.currency;
    in_trade_words(run, why).sentence_in(
        |week| run.model.calendar.iso(week),
        |money| price_words(money * MINOR, currency),
    )
}

/// A reason with plants and work as people call them, in the place of their names in the case.
fn in_trade_words(run: &PlanRun, why: &planner::Why) -> planner::Why {
    let mut why = why.clone();
    if let planner::Why::NoTime {
        stage, operation, ..
    } = &mut why
    {
        let known = run.model.stage_index(stage).map(|at| &run.model.stages[at]);
        if let Some(known) = known {
            let plant =
                Words(&run.nursery.catalogue).plant(known.variety.as_ref(), &known.rootstock);
            let size = known
                .size
                .as_ref()
                .map_or_else(String::new, |it| format!(", {it},"));
            *stage = format!("{plant}{size} at {}", known.place);
        }
        if let Some(operation) = operation
            && let Some(known) = run.model.operation(operation)
        {
            let steps = &run.nursery.catalogue.routes.steps;
            let name = steps.get(&known.step).map(|it| it.name.clone());
            *operation = name.unwrap_or_else(|| known.step.to_string());
        }
    }
    why
}

/// What is scarce and could be had more of, as planned: nobody can buy more of what nobody sells.
pub fn scarce_prices(run: &PlanRun) -> impl Iterator<Item = &planner::ShadowPrice> {
    let sold = |id: &str| {
        let known = run.model.supplies.iter().find(|supply| supply.id == id);
        known.is_some_and(|supply| supply.bought.is_some())
    };
    run.plan
        .prices
        .iter()
        .filter(move |price| match &price.resource {
            planner::Resource::BuyLimit { supply } => sold(supply),
            _ => true,
        })
}
