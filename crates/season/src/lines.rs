//! Order lines and expected demand, in weeks and money.

use std::collections::{BTreeMap, BTreeSet};

use nursery::Nursery;
use nursery::catalogue::Verdict;
use nursery::ids::{RootstockName, SizeName, VarietyName};
use nursery::records::{Demand, OrderLine, tree_price};

use crate::apart;
use crate::calendar::Calendar;
use crate::demand::{Part, parts};
use crate::model::{Line, Stage, Substitute, Unplanned, Why};
use crate::stages::Product;
use crate::supplies::MONEY;

/// Name of the order under which expected demand goes.
pub const ON_SPEC: &str = "on spec";

/// What people call trees that sell without an order, whatever they are of.
pub const TREES_ON_SPEC: &str = "trees on spec";

/// Targets that nobody set lie within these odds.
const LEAST_TARGET: f64 = 0.5;
const MOST_TARGET: f64 = 0.98;

/// Weeks before and after its week in which expected demand can be served.
const SPEC_WEEKS: i64 = 4;

/// Priority of expected demand, after all orders.
const PRIORITY_ON_SPEC: i64 = 4;

/// Share of its price that a tree sent in place of another counts as less: so that a plan raises what was
/// ordered where it can.
const SUBSTITUTE_LESS: f64 = 0.02;

/// Every product that an order or expected demand asks for.
pub fn wanted(nursery: &Nursery) -> BTreeSet<Product> {
    let ordered = nursery.orders.iter().flat_map(|line| {
        line.rootstocks
            .iter()
            .map(|rootstock| (line.variety.clone(), rootstock.clone(), line.size.clone()))
    });
    let expected = nursery.demand.iter().map(|demand| {
        (
            demand.variety.clone(),
            demand.rootstock.clone(),
            demand.size.clone(),
        )
    });
    ordered.chain(expected).collect()
}

/// Lines that can be planned for, and those that cannot with the reason.
pub fn lines(
    nursery: &Nursery,
    calendar: Calendar,
    weeks: usize,
    stages: &[Stage],
) -> (Vec<Line>, Vec<Unplanned>) {
    let mut lines = Vec::new();
    let mut unplanned = Vec::new();
    for order in &nursery.orders {
        let line = order_line(nursery, calendar, stages, order);
        match obstacle(nursery, &line, order, weeks) {
            None => lines.push(line),
            Some(why) => unplanned.push(Unplanned {
                order: order.order.clone(),
                line: order.line.clone(),
                plants: order.plants,
                why,
                later: line.earliest >= weeks as i64,
            }),
        }
    }
    let expected: Vec<Line> = nursery
        .demand
        .iter()
        .flat_map(|demand| spec_lines(nursery, calendar, stages, demand))
        .filter(|line| line.latest >= 0 && line.earliest < weeks as i64)
        .collect();
    for mut line in expected {
        // An order may have the name under which expected demand goes.
        while lines.iter().any(|known: &Line| known.id == line.id) {
            line.id.push('+');
        }
        lines.push(line);
    }
    (lines, unplanned)
}

fn order_line(nursery: &Nursery, calendar: Calendar, stages: &[Stage], order: &OrderLine) -> Line {
    let price = order.price as f64 * MONEY;
    let planning = &nursery.settings.planning;
    let line = Line {
        id: order.name(),
        order: order.order.clone(),
        line: order.line.clone(),
        customer: order.customer.clone(),
        variety: order.variety.clone(),
        rootstocks: order.rootstocks.clone(),
        size: order.size.clone(),
        plants: f64::from(order.plants),
        earliest: calendar.week_of(order.earliest),
        due: calendar.week_of(order.due),
        latest: if nursery.settings.remedies.ship_late {
            calendar.week_of(order.latest)
        } else {
            calendar
                .week_of(order.due)
                .min(calendar.week_of(order.latest))
        },
        price,
        late_cost: price * planning.late_cost_share,
        short_cost: price * planning.short_cost_share,
        accepts: Vec::new(),
        substitutes: Vec::new(),
        kept: 1.0 - order.cancel,
        minimum_load: order.minimum_load,
        priority: priority(order),
        tolerance: order.tolerance,
        on_spec: false,
        target: 0.0,
        lack: 0.0,
    };
    let mut line = with_stages(line, Some(order), stages);
    if nursery.settings.remedies.substitutes {
        line.substitutes = substitutes(&line, order, stages);
    }
    line
}

/// Priority of a line under contract that is promised whole: nobody comes before it but those of its kind that are due
/// earlier.
pub const PROMISED_PRIORITY: i64 = 0;

/// The stages whose trees a line not ordered yet may have: all of the product but what is kept for others,
/// best first.
pub fn open_to_all(
    stages: &[Stage],
    variety: &VarietyName,
    rootstock: &RootstockName,
    size: &SizeName,
) -> Vec<usize> {
    let fits = |stage: &Stage| {
        stage.variety.as_ref() == Some(variety)
            && stage.rootstock == *rootstock
            && stage.size.as_ref() == Some(size)
    };
    apart::accepted("", None, stages, fits)
}

/// Contracts before other lines; of each, what is promised whole before what is not.
fn priority(order: &OrderLine) -> i64 {
    let is_promised = order.promised.is_some_and(|plants| plants >= order.plants);
    PROMISED_PRIORITY + 2 * i64::from(!order.contract) + i64::from(!is_promised)
}

/// The stages of what the customer takes in a line's place, in the order in which it is listed.
fn substitutes(line: &Line, order: &OrderLine, stages: &[Stage]) -> Vec<Substitute> {
    let mut found: Vec<Substitute> = Vec::new();
    for wanted in &order.substitutes {
        let fits = |stage: &Stage| {
            stage.rootstock == wanted.rootstock
                && stage.variety.as_ref() == Some(&wanted.variety)
                && stage.size.as_ref() == Some(&wanted.size)
        };
        for stage in apart::accepted(&line.id, Some(order), stages, fits) {
            let is_known =
                line.accepts.contains(&stage) || found.iter().any(|it| it.stage == stage);
            if !is_known {
                found.push(Substitute {
                    stage,
                    price: wanted.price as f64 * MONEY * (1.0 - SUBSTITUTE_LESS),
                });
            }
        }
    }
    found
}

/// The lines of an expected demand: one for each of its parts, the likeliest first.
fn spec_lines(
    nursery: &Nursery,
    calendar: Calendar,
    stages: &[Stage],
    demand: &Demand,
) -> Vec<Line> {
    let price = tree_price(
        &nursery.prices,
        &demand.variety,
        &demand.rootstock,
        &demand.size,
    );
    let Some(price) = price.map(|it| it * MONEY) else {
        return Vec::new();
    };
    let parts = parts(demand.mean, demand.spread);
    let many = parts.len();
    let lines = parts.into_iter().enumerate().map(|(at, part)| {
        let line = spec_line(calendar, demand, price, (at + 1, many), part);
        with_stages(line, None, stages)
    });
    lines.filter(|line| !line.accepts.is_empty()).collect()
}

fn spec_line(
    calendar: Calendar,
    demand: &Demand,
    price: f64,
    (number, many): (usize, usize),
    part: Part,
) -> Line {
    let week = calendar.week_of(demand.week.date());
    let product = format!("{}/{}/{}", demand.variety, demand.rootstock, demand.size);
    let name = match many {
        1 => format!("{product} {}", calendar.iso(week)),
        _ => format!("{product} {} part {number}", calendar.iso(week)),
    };
    Line {
        id: format!("{ON_SPEC}/{name}"),
        order: ON_SPEC.to_owned(),
        line: name,
        customer: String::new(),
        variety: demand.variety.clone(),
        rootstocks: vec![demand.rootstock.clone()],
        size: demand.size.clone(),
        plants: part.plants,
        earliest: week - SPEC_WEEKS,
        due: week + SPEC_WEEKS,
        latest: week + SPEC_WEEKS,
        price,
        late_cost: 0.0,
        short_cost: 0.0,
        accepts: Vec::new(),
        substitutes: Vec::new(),
        kept: part.asked_for,
        minimum_load: 0,
        priority: PRIORITY_ON_SPEC,
        tolerance: 0.0,
        on_spec: true,
        target: 0.0,
        lack: 0.0,
    }
}

/// Fills in the stages a line accepts, plants tagged for it first, then in the order of its rootstocks, and
/// its target odds.
fn with_stages(mut line: Line, order: Option<&OrderLine>, stages: &[Stage]) -> Line {
    let tagged = |stage: &Stage| {
        let why = stage.apart.as_ref().map(|apart| &apart.why);
        matches!(why, Some(Why::Tagged(name)) if *name == line.id)
    };
    let mut accepts = apart::accepted(&line.id, order, stages, tagged);
    for rootstock in &line.rootstocks {
        let fits = |stage: &Stage| {
            stage.rootstock == *rootstock
                && stage.variety.as_ref() == Some(&line.variety)
                && stage.size.as_ref() == Some(&line.size)
                && !tagged(stage)
        };
        accepts.extend(apart::accepted(&line.id, order, stages, fits));
    }
    line.accepts = accepts;
    (line.target, line.lack) = target(&line, order.and_then(|it| it.target), stages);
    line
}

/// The target of a line and what a lack counts as: the critical ratio, of what a plant too few costs against what
/// one too many does, or the target set by hand and the lack that would make it the ratio.
fn target(line: &Line, by_hand: Option<f64>, stages: &[Stage]) -> (f64, f64) {
    let lack = line.price + line.short_cost;
    let Some(stage) = cheapest(line, stages) else {
        return (by_hand.unwrap_or(LEAST_TARGET), lack);
    };
    let (cost, end_value) = (stage.cost_so_far, stage.end_value);
    match by_hand {
        Some(target) => (target, (cost - target * end_value) / (1.0 - target)),
        None if lack > end_value => {
            let ratio = (lack - cost) / (lack - end_value);
            (ratio.clamp(LEAST_TARGET, MOST_TARGET), lack)
        }
        None => (LEAST_TARGET, lack),
    }
}

/// What one tree too few of a line loses, its price and short cost less what it costs to raise, and what one too
/// many does, its cost less what it is worth at the plan's end, money. None of a line that no stage serves.
pub fn stakes(line: &Line, stages: &[Stage]) -> Option<(f64, f64)> {
    let stage = cheapest(line, stages)?;
    let too_few = line.price + line.short_cost - stage.cost_so_far;
    Some((too_few, stage.cost_so_far - stage.end_value))
}

/// The stage of a line whose trees cost least to raise.
fn cheapest<'a>(line: &Line, stages: &'a [Stage]) -> Option<&'a Stage> {
    let accepted = line.accepts.iter().map(|index| &stages[*index]);
    accepted.min_by(|one, other| one.cost_so_far.total_cmp(&other.cost_so_far))
}

/// Why a line cannot be planned for at all.
fn obstacle(nursery: &Nursery, line: &Line, order: &OrderLine, weeks: usize) -> Option<String> {
    if line.latest < 0 {
        return Some(format!("its last day, {}, has passed", order.latest));
    }
    if line.earliest >= weeks as i64 {
        return Some(format!(
            "it begins on {}, after the plan ends",
            order.earliest
        ));
    }
    if line.accepts.is_empty() && line.substitutes.is_empty() {
        return Some(no_stage(nursery, &order.variety, &order.rootstocks));
    }
    None
}

fn no_stage(nursery: &Nursery, variety: &VarietyName, rootstocks: &[RootstockName]) -> String {
    let refused: Vec<String> = rootstocks
        .iter()
        .filter_map(|rootstock| {
            let known = nursery.catalogue.combination(variety, rootstock)?;
            (known.verdict == Verdict::Incompatible).then(|| {
                format!(
                    "{variety} on {rootstock} is incompatible ({})",
                    known.reason
                )
            })
        })
        .collect();
    if refused.is_empty() {
        "no route in use makes such a tree, and none stands".to_owned()
    } else {
        refused.join("; ")
    }
}

/// Warnings on ordered combinations that may fail or of which nothing is known.
pub fn combination_warnings(nursery: &Nursery) -> Vec<String> {
    let pairs: BTreeSet<(VarietyName, RootstockName)> = wanted(nursery)
        .into_iter()
        .map(|(variety, rootstock, _)| (variety, rootstock))
        .collect();
    pairs
        .into_iter()
        .filter_map(|(variety, rootstock)| {
            let pair = pair_words(nursery, &variety, &rootstock);
            let Some(known) = nursery.catalogue.combination(&variety, &rootstock) else {
                return Some(format!("{pair}: no data on this combination."));
            };
            let years = known
                .years
                .as_ref()
                .map_or(String::new(), |years| format!(" after {years} years"));
            match known.verdict {
                Verdict::Compatible => None,
                Verdict::Declines => Some(format!("{pair} declines{years}: {}.", known.reason)),
                verdict => Some(format!("{pair}: {}. {}.", verdict.words(), known.reason)),
            }
        })
        .collect()
}

/// A combination as people call it.
fn pair_words(nursery: &Nursery, variety: &VarietyName, rootstock: &RootstockName) -> String {
    let varieties = &nursery.catalogue.varieties;
    let rootstocks = &nursery.catalogue.rootstocks;
    let variety = varieties
        .get(variety)
        .map_or(variety.as_str(), |it| &it.name);
    let rootstock = rootstocks
        .get(rootstock)
        .map_or(rootstock.as_str(), |it| &it.name);
    format!("{variety} on {rootstock}")
}

/// Warnings on lots of combinations that are known to be incompatible, one a combination.
pub fn standing_warnings(nursery: &Nursery) -> Vec<String> {
    let mut standing: BTreeMap<(&VarietyName, &RootstockName), Vec<&str>> = BTreeMap::new();
    for lot in nursery
        .lots
        .iter()
        .filter(|lot| lot.growing > 0 || lot.ready > 0)
    {
        if let Some(variety) = &lot.variety {
            let lots = standing.entry((variety, &lot.rootstock)).or_default();
            lots.push(lot.lot.as_str());
        }
    }
    standing
        .into_iter()
        .filter_map(|((variety, rootstock), lots)| {
            let known = nursery.catalogue.combination(variety, rootstock)?;
            (known.verdict == Verdict::Incompatible).then(|| {
                format!(
                    "{} stands in lots.csv ({}) and is incompatible. {}.",
                    pair_words(nursery, variety, rootstock),
                    lots.join(", "),
                    known.reason
                )
            })
        })
        .collect()
}
