//! What was done, in one short sentence for a person.

use nursery::catalogue::StageKind;
use nursery::ids::{LotName, MotherTreeName};
use nursery::ledger::act::{
    Bud, BudMethod, BuyIn, ChangeOrder, Count, Lose, LossReason, Measure, Merge, OpenLot, Order,
    Promise, Ruling, Sample, Set, Shift, Sow, Spray, Tag, Unwrap, Work, Worked,
};
use nursery::ledger::lot::Step;
use nursery::ledger::{Account, Deed, Event};

use super::names::Shown;
use crate::words::{date_words, money_words};

/// A deed in words, with what came of it.
pub fn words(deed: &Deed, events: &[Event], shown: &Shown<'_>) -> store::Result<String> {
    Ok(match deed {
        Deed::Hours(it) => hours(it, shown)?,
        Deed::Order(it) => ordered(it, shown)?,
        Deed::Bud(it) => budded(it, events, shown)?,
        other => of_plants(other, events).unwrap_or_else(|| of_the_rest(other)),
    })
}

/// What was done to plants; none of other deeds.
fn of_plants(deed: &Deed, events: &[Event]) -> Option<String> {
    Some(match deed {
        Deed::OpenLot(it) => opened(it),
        Deed::Sow(it) => sown(it, events),
        Deed::Count(it) => counted(it, events),
        Deed::Rogue(it) => format!("{} taken out", many(it.plants, "off-type")),
        Deed::Lose(it) => lost(it),
        Deed::LineOut(it) => shifted(it, "lined out to", events),
        Deed::PotUp(it) => shifted(it, "potted up at", events),
        Deed::Lift(it) => shifted(it, "lifted to", events),
        Deed::Move(it) => shifted(it, "moved to", events),
        Deed::BuyIn(it) => bought(it, events),
        Deed::Unwrap(it) => unwrapped(it),
        Deed::Force(it) => {
            let plants = some_plants(it.plants);
            format!("{plants} forced{}", into(&it.lot, events))
        }
        Deed::Stake(it) => worked(it, "staked"),
        Deed::Sucker(it) => worked(it, "freed of suckers"),
        Deed::Head(it) => worked(it, "headed"),
        Deed::Grade(it) => {
            let parts = [
                (it.saleable, "saleable"),
                (it.held_back, "held back"),
                (it.culled, "culled"),
            ];
            format!("Graded: {}", listed(&parts))
        }
        Deed::Split(it) => format!("{} split off as {}", many(it.plants, "plant"), it.new_lot),
        Deed::Merge(it) => merged(it),
        Deed::Ship(it) => {
            format!(
                "{} of {} shipped for {}/{}",
                many(it.plants, "plant"),
                it.lot,
                it.order,
                it.line
            ) + &because(it.override_reason.as_ref())
        }
        Deed::Tag(it) => tagged(it),
        Deed::Measure(it) => measured(it),
        _ => return None,
    })
}

/// What was done to anything but plants.
fn of_the_rest(deed: &Deed) -> String {
    match deed {
        Deed::ReceiveSeed(it) => format!(
            "{} of {} came in as {}",
            many(it.seeds, "seed"),
            it.rootstock,
            it.batch
        ),
        Deed::CutSticks(it) => format!(
            "{} cut from {} as {}, with {}",
            many(it.sticks, "stick"),
            it.mother_tree,
            it.cut,
            many(it.buds, "bud")
        ),
        Deed::StoreSticks(it) => format!("{} of {} stored", many(it.sticks, "stick"), it.cut),
        Deed::DiscardSticks(it) => format!("{} of {} thrown out", many(it.buds, "bud"), it.cut),
        Deed::ChangeOrder(it) => changed(it),
        Deed::CancelOrder(it) => match &it.lines {
            Some(lines) => format!("Lines of {} cancelled: {}", it.order, lines.join(", ")),
            None => format!("Order {} cancelled", it.order),
        },
        Deed::Promise(it) => promised(it),
        Deed::Spray(it) => sprayed(it),
        Deed::Sample(it) => sampled(it),
        Deed::Result(it) => format!(
            "{} {} in sample {}",
            it.test,
            if it.found { "found" } else { "not found" },
            it.sample
        ),
        Deed::Hold(it) => ruled(it, "held"),
        Deed::Release(it) => ruled(it, "released"),
        Deed::Destroy(it) => ruled(it, "destroyed"),
        Deed::Note(it) => it.text.clone(),
        Deed::Correct(it) => it.reason.clone(),
        Deed::Set(it) => set(it),
        Deed::AcceptPlan(it) => format!("Plan {} accepted", it.run),
        Deed::LeaveOut(it) => format!("Entry {} from the field left out: {}", it.entry, it.reason),
        _ => String::new(),
    }
}

/// So many of something, as `1 plant`.
fn many(count: u32, what: &str) -> String {
    let ending = if count == 1 { "" } else { "s" };
    format!("{} {what}{ending}", number(count))
}

fn number(count: u32) -> String {
    money_words(f64::from(count))
}

fn some_plants(plants: Option<u32>) -> String {
    plants.map_or_else(|| "All plants".to_owned(), |it| many(it, "plant"))
}

/// The parts that are not none, as `84 saleable, 6 culled`; the first where all are.
fn listed(parts: &[(u32, &str)]) -> String {
    let said = |(count, word): &(u32, &str)| format!("{} {word}", number(*count));
    let some: Vec<String> = parts.iter().filter(|it| it.0 > 0).map(said).collect();
    if some.is_empty() {
        return said(&parts[0]);
    }
    some.join(", ")
}

/// The lots that began with an act, another than the one named.
fn new_lots<'a>(but: &LotName, events: &'a [Event]) -> Vec<&'a str> {
    let began = events.iter().filter_map(|event| match event {
        Event::Lot {
            lot,
            step: Step::Began(_),
        } if lot != but => Some(lot.as_str()),
        _ => None,
    });
    began.collect()
}

/// The new lot that a part became, as `, now B-27-3~2`.
fn into(lot: &LotName, events: &[Event]) -> String {
    let lots = new_lots(lot, events);
    if lots.is_empty() {
        return String::new();
    }
    format!(", now {}", lots.join(" and "))
}

fn opened(it: &OpenLot) -> String {
    let parts = [(it.growing, "growing"), (it.ready, "ready")];
    format!("Stood when the books were opened: {}", listed(&parts))
}

fn sown(it: &Sow, events: &[Event]) -> String {
    let batch = it
        .batch
        .as_ref()
        .map_or_else(String::new, |batch| format!(" of {batch}"));
    let as_lot = new_lots(&LotName::from(""), events).join(", ");
    format!(
        "{}{batch} sown at {} as {as_lot}",
        many(it.seeds, "seed"),
        it.place
    )
}

/// A count, with what it differs from the books by.
fn counted(it: &Count, events: &[Event]) -> String {
    let ready = it
        .ready
        .map_or_else(String::new, |ready| format!(", {} ready", number(ready)));
    let difference: i64 = events
        .iter()
        .map(|event| match event {
            Event::Moved {
                to: Account::Difference(_),
                plants,
                ..
            } => -i64::from(*plants),
            Event::Moved {
                from: Account::Difference(_),
                plants,
                ..
            } => i64::from(*plants),
            _ => 0,
        })
        .sum();
    let by = number(u32::try_from(difference.unsigned_abs()).unwrap_or(u32::MAX));
    let differs = match difference {
        0 => String::new(),
        ..0 => format!(", {by} fewer than in the books"),
        1.. => format!(", {by} more than in the books"),
    };
    format!("{} counted{ready}{differs}", many(it.plants, "plant"))
}

fn lost(it: &Lose) -> String {
    let reason = match it.reason {
        LossReason::Frost => "lost to frost",
        LossReason::Heat => "lost to heat",
        LossReason::Disease => "lost to disease",
        LossReason::Drought => "lost to drought",
        LossReason::Injury => "lost to injury",
        LossReason::OverAge => "thrown out over age",
        LossReason::Theft => "stolen",
        LossReason::Other => "lost",
    };
    let note = it
        .note
        .as_ref()
        .map_or_else(String::new, |note| format!(": {note}"));
    format!("{} {reason}{note}", many(it.plants, "plant"))
}

fn shifted(it: &Shift, how: &str, events: &[Event]) -> String {
    let size = it
        .size
        .as_ref()
        .map_or_else(String::new, |size| format!(" in {size}"));
    let now = into(&it.lot, events);
    format!("{} {how} {}{size}{now}", many(it.plants, "plant"), it.place)
}

fn bought(it: &BuyIn, events: &[Event]) -> String {
    let what = match it.stage {
        StageKind::Seedling => "seedling",
        StageKind::Liner => "liner",
        StageKind::Missed => "stock",
        StageKind::Budded | StageKind::Finished => "tree",
    };
    let as_lot = new_lots(&LotName::from(""), events).join(", ");
    format!(
        "{} bought of {}, at {} as {as_lot}",
        many(it.plants, what),
        it.source,
        it.place
    )
}

fn budded(it: &Bud, events: &[Event], shown: &Shown<'_>) -> store::Result<String> {
    let method = match it.method {
        BudMethod::T => "T",
        BudMethod::InvertedT => "inverted T",
        BudMethod::Chip => "chip",
    };
    let budder = match &it.budder {
        Some(id) => format!(", by {}", shown.name(id)?),
        None => String::new(),
    };
    let now = into(&it.lot, events);
    let because = because(it.override_reason.as_ref());
    Ok(format!(
        "{} budded with {} from {}, {method}{budder}{now}{because}",
        many(it.plants, "plant"),
        it.variety,
        it.source
    ))
}

/// Why a rule was set aside.
fn because(reason: Option<&String>) -> String {
    reason.map_or_else(String::new, |it| format!(": {it}"))
}

fn tagged(it: &Tag) -> String {
    let line = format!("{}/{}", it.order, it.line);
    if it.plants == 0 {
        return format!("The tag of {} for {line} taken off", it.lot);
    }
    format!(
        "{} of {} tagged for {line}",
        many(it.plants, "plant"),
        it.lot
    )
}

/// A sample, with how many were fit and their mean caliper.
fn measured(it: &Measure) -> String {
    let calipers = it.calipers_mm.as_deref().unwrap_or_default();
    let sum: f64 = calipers.iter().map(|it| f64::from(*it)).sum();
    let fit = it
        .fit
        .map_or_else(String::new, |fit| format!(", {} fit", number(fit)));
    let mean = match calipers {
        [] => String::new(),
        some => format!(", caliper {:.1} mm on average", sum / some.len() as f64),
    };
    let from = it
        .fit_from_mm
        .map_or_else(String::new, |it| format!(", fit from {} mm", f64::from(it)));
    format!(
        "{} looked at{fit}{mean}{from}",
        many(it.looked_at(), "plant")
    )
}

fn unwrapped(it: &Unwrap) -> String {
    let all = it.taken.saturating_add(it.missed).saturating_add(it.dead);
    let rest = [(it.missed, "missed"), (it.dead, "dead")];
    let rest: Vec<String> = rest
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, word)| format!(", {} {word}", number(*count)))
        .collect();
    format!(
        "{} of {} taken{}",
        number(it.taken),
        many(all, "bud"),
        rest.concat()
    )
}

fn worked(it: &Work, how: &str) -> String {
    let hours = it
        .hours
        .map_or_else(String::new, |it| format!(", {}", hours_words(it)));
    format!("{} {how}{hours}", some_plants(it.plants))
}

fn hours_words(hours: nursery::ledger::amount::Hours) -> String {
    let hours = f64::from(hours);
    let shown = format!("{hours:.1}");
    format!("{} hours", shown.trim_end_matches(".0"))
}

fn hours(it: &Worked, shown: &Shown<'_>) -> store::Result<String> {
    let who = match (&it.person, &it.crew) {
        (Some(person), _) => shown.name(person)?,
        (None, Some(crew)) => crew.clone(),
        (None, None) => String::new(),
    };
    let of = if who.is_empty() {
        who
    } else {
        format!(" of {who}")
    };
    Ok(format!("{}{of}: {}", hours_words(it.hours), it.job))
}

fn merged(it: &Merge) -> String {
    let lots: Vec<&str> = it.lots.iter().map(LotName::as_str).collect();
    format!("{} joined as {}", lots.join(", "), it.new_lot)
}

fn ordered(it: &Order, shown: &Shown<'_>) -> store::Result<String> {
    let plants: u64 = it.lines.iter().map(|line| u64::from(line.plants)).sum();
    let plants = u32::try_from(plants).unwrap_or(u32::MAX);
    let lines = u32::try_from(it.lines.len()).unwrap_or(u32::MAX);
    Ok(format!(
        "Order {} of {}: {} in {}",
        it.order,
        shown.name(&it.customer)?,
        many(plants, "tree"),
        many(lines, "line")
    ))
}

fn changed(it: &ChangeOrder) -> String {
    let lines: Vec<String> = it
        .lines
        .iter()
        .map(|line| format!("{} now {}", line.line, many(line.plants, "tree")))
        .collect();
    format!("Order {} changed: {}", it.order, lines.join(", "))
}

fn promised(it: &Promise) -> String {
    let until = it
        .until
        .map_or_else(String::new, |day| format!(" by {}", date_words(day)));
    format!(
        "{} promised for {}/{}{until}",
        many(it.plants, "plant"),
        it.order,
        it.line
    )
}

fn subject(tree: Option<&MotherTreeName>, lot: Option<&LotName>) -> String {
    match (tree, lot) {
        (Some(tree), _) => format!("Mother tree {tree}"),
        (None, Some(lot)) => format!("Lot {lot}"),
        (None, None) => String::new(),
    }
}

fn sampled(it: &Sample) -> String {
    let of = subject(it.mother_tree.as_ref(), it.lot.as_ref());
    if it.tests.is_empty() {
        return format!("{of} sampled");
    }
    format!("{of} sampled for {}", it.tests.join(", "))
}

fn sprayed(it: &Spray) -> String {
    let closed = it.closed_until.map_or_else(String::new, |until| {
        format!(", closed until the end of {}", date_words(until))
    });
    format!("{} sprayed with {}{closed}", it.place, it.product)
}

fn ruled(it: &Ruling, how: &str) -> String {
    let of = subject(it.mother_tree.as_ref(), it.lot.as_ref());
    format!("{of} {how}: {}", it.reason)
}

fn set(it: &Set) -> String {
    let name = it.values.get(&it.what).and_then(|it| it.as_str());
    let name = name.map_or_else(String::new, |name| format!(" {name}"));
    let what = it.what.replace('_', " ");
    format!("Set from {} on: {what}{name}", date_words(it.from))
}
