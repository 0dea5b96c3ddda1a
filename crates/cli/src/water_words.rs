//! The water of a nursery as a person reads it on a terminal. Writing into a text cannot fail.

use std::fmt::Write as _;

use app::water::{BlockAnswer, DayFrom, NextWatering, NurseryWater, WaterAnswer};
use app::{date_words, money_words};

use crate::columns::{Stand, count, notes, table};

/// All of the nursery: what is due today, every block, the week, the week that asks for most.
pub fn all(answer: &WaterAnswer) -> String {
    let mut text = due(answer);
    if let Some(minutes) = answer.nursery.pump_minutes_today.filter(|it| *it > 0.0) {
        let minutes = money_words(minutes.ceil());
        let _ = writeln!(text, "The pump runs {minutes} minutes for it.");
    }
    text.push_str(&too_much_today(&answer.nursery));
    text.push_str(&reference(answer));
    if answer.blocks.is_empty() {
        text.push_str("No plants stand on this day.\n");
    }
    text.push_str(&blocks(answer));
    text.push_str(&nursery(answer));
    text.push_str(&taken(answer));
    text.push_str(&notes(&answer.warnings));
    text
}

/// One place, by its blocks.
pub fn of_place(answer: &WaterAnswer) -> String {
    let mut text = due(answer);
    text.push_str(&reference(answer));
    text.push_str(&blocks(answer));
    text.push_str(&taken(answer));
    text.push_str(&notes(&answer.warnings));
    text
}

/// What is due today, of the blocks shown, or when the next is; and of which nobody knows.
fn due(answer: &WaterAnswer) -> String {
    let next = |block: &BlockAnswer| block.next.as_ref().map(|it| it.date);
    let is_today = |block: &&BlockAnswer| next(block) == Some(answer.as_of);
    let today: Vec<&BlockAnswer> = answer.blocks.iter().filter(is_today).collect();
    let untold: Vec<&BlockAnswer> = answer.blocks.iter().filter(|it| !it.is_told).collect();
    let day = date_words(answer.as_of);
    let mut text = if !today.is_empty() {
        let m3: f64 = today.iter().filter_map(|it| it.next.as_ref()).map(m3).sum();
        let (places, m3) = (places(&today), amount(m3));
        format!("Water today, {day}: {places}; {m3} m³.\n")
    } else if untold.len() < answer.blocks.len() || untold.is_empty() {
        let coming = answer.blocks.iter().filter_map(next).min();
        let coming = coming.map_or_else(String::new, |date| {
            format!(" The next watering is on {}.", date_words(date))
        });
        let told = if untold.is_empty() {
            ""
        } else {
            " where the last watering is told of"
        };
        format!("Nothing is to be watered today, {day}{told}.{coming}\n")
    } else {
        String::new()
    };
    if !untold.is_empty() {
        let _ = writeln!(
            text,
            "Not known when watered: {}. Look, water what is dry, then note it in watered.csv.",
            places(&untold)
        );
    }
    text
}

/// The places of blocks, each once.
fn places(blocks: &[&BlockAnswer]) -> String {
    let mut places: Vec<&str> = blocks.iter().map(|it| it.place.as_str()).collect();
    places.dedup();
    places.join(", ")
}

/// Where pump and tank give less than today asks for.
fn too_much_today(nursery: &NurseryWater) -> String {
    match (nursery.suffices_today, nursery.supply_m3_today) {
        (Some(false), Some(gives)) => format!(
            "That is more than the {} m³ that pump and tank give today: water first what is driest.\n",
            amount(gives)
        ),
        _ => String::new(),
    }
}

/// All of a day's water.
fn m3(next: &NextWatering) -> f64 {
    next.m3 * f64::from(next.times)
}

/// Two figures that count.
fn amount(value: f64) -> String {
    match value {
        small if small < 0.995 => format!("{small:.2}"),
        middle if middle < 99.95 => format!("{middle:.1}"),
        large => money_words(large),
    }
}

/// What the day takes from a meadow, beside past years.
fn reference(answer: &WaterAnswer) -> String {
    let Some(today) = answer.days.iter().find(|it| it.date == answer.as_of) else {
        return String::new();
    };
    let from = match today.from {
        DayFrom::Measured => "by today's weather",
        DayFrom::Filled => "with a temperature filled from other years",
        DayFrom::Forecast => "by the forecast",
        DayFrom::PastYears => "as in a median year",
    };
    let past = today.past.map_or_else(String::new, |[low, high]| {
        format!("; 8 of 10 past years have {low:.1} to {high:.1}")
    });
    let method = today.method.map_or_else(String::new, |method| {
        let sure = today
            .give_or_take_mm
            .map_or_else(String::new, |mm| format!(", give or take {mm:.1} mm"));
        let brought = today.brought.map_or_else(String::new, |factor| {
            format!(", times {factor:.2} to go with all that is measured here")
        });
        format!("It is by {method}{brought}{sure}.\n")
    });
    format!(
        "Sun and wind take {:.1} mm from short grass, {from}{past}.\n{method}",
        today.et0_mm
    )
}

fn blocks(answer: &WaterAnswer) -> String {
    if answer.blocks.is_empty() {
        return String::new();
    }
    let heads = [
        ("place", Stand::Left),
        ("size", Stand::Left),
        ("plants", Stand::Right),
        ("gone mm", Stand::Right),
        ("may go", Stand::Right),
        ("next", Stand::Left),
        ("times", Stand::Right),
        ("minutes each", Stand::Right),
        ("l a plant", Stand::Right),
        ("m³ in all", Stand::Right),
    ];
    let rows: Vec<Vec<String>> = answer.blocks.iter().map(|it| row(answer, it)).collect();
    format!("\n{}", table(&heads, &rows))
}

fn row(answer: &WaterAnswer, block: &BlockAnswer) -> Vec<String> {
    let mut cells = vec![
        block.place.clone(),
        block.size.clone().unwrap_or_default(),
        money_words(f64::from(block.plants)),
        block
            .gone_mm
            .map_or_else(|| "not known".to_owned(), |gone| format!("{gone:.1}")),
        format!("{:.1}", block.may_go_mm),
    ];
    match &block.next {
        None if !block.is_told => cells.push("look today".to_owned()),
        None => cells.push("not within 30 days".to_owned()),
        Some(next) => cells.extend([
            if next.date == answer.as_of {
                "today".to_owned()
            } else {
                date_words(next.date)
            },
            next.times.to_string(),
            minutes(next),
            amount(next.liters_a_plant),
            amount(m3(next)),
        ]),
    }
    cells
}

/// Minutes each time, and the parts in which the pump can water a block.
fn minutes(next: &NextWatering) -> String {
    let minutes = next.minutes.ceil();
    match next.turns {
        1 => format!("{minutes:.0}"),
        turns => format!("{turns} parts × {minutes:.0}"),
    }
}

/// The week, the week that asks for most, and whether pump and hours suffice.
fn nursery(answer: &WaterAnswer) -> String {
    let NurseryWater { m3_week, peak, .. } = &answer.nursery;
    let Some(peak) = peak else {
        return String::new();
    };
    let mut text = format!(
        "\nSeven days from today ask for {} m³ in a median year.\nMost is asked for in {}, from {}: {} \
         m³ a day, and {} in 1 of 10 years.\n",
        amount(*m3_week),
        peak.week,
        date_words(peak.monday),
        amount(peak.m3_a_day),
        amount(peak.m3_a_day_high)
    );
    text.push_str(&pump(&answer.nursery));
    text
}

fn pump(nursery: &NurseryWater) -> String {
    let (Some(hours), Some(suffices)) = (nursery.peak_pump_hours, nursery.suffices) else {
        return "Write what your pump gives into nursery.toml, as pump_m3_h under [water], to see \
                whether it suffices.\n"
            .to_owned();
    };
    let allowed = nursery.pump_hours.map_or_else(
        || "24 hours of the day".to_owned(),
        |hours| format!("{} hours that it may run", amount(hours)),
    );
    let tanks = nursery.peak_tanks.map_or_else(String::new, |tanks| {
        format!(", {} tanks of water", amount(tanks))
    });
    let verdict = if suffices {
        "suffices"
    } else {
        "does not suffice"
    };
    format!(
        "The pump {verdict}: it then runs {} of the {allowed}{tanks}.\n",
        amount(hours)
    )
}

/// How much of it is the nursery's own, how much taken as usual.
fn taken(answer: &WaterAnswer) -> String {
    let values = || answer.blocks.iter().flat_map(|block| &block.taken);
    let usual = values().filter(|it| !it.own).count();
    if usual == 0 {
        return String::new();
    }
    format!(
        "\n{usual} of the {} behind this are as usual for such places; `--json` has each and its \
         source. Write your own into watering.csv.\n",
        count(values().count(), "value")
    )
}

#[cfg(test)]
mod tests {
    use super::amount;

    #[test]
    fn figures_that_count_are_shown() {
        let shown = [0.004, 0.5, 0.996, 12.34, 99.96, 1234.4].map(amount);
        assert_eq!(
            shown,
            ["0.00", "0.50", "1.0", "12.3", "100", "1\u{202f}234"]
        );
    }
}
