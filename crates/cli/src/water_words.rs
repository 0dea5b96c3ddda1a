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

/// What is due today, of the blocks shown; or when the next is.
fn due(answer: &WaterAnswer) -> String {
    let next = |block: &BlockAnswer| block.next.as_ref().map(|it| it.date);
    let is_today = |block: &&BlockAnswer| next(block) == Some(answer.as_of);
    let today: Vec<&BlockAnswer> = answer.blocks.iter().filter(is_today).collect();
    let day = date_words(answer.as_of);
    if today.is_empty() {
        let coming = answer.blocks.iter().filter_map(next).min();
        let coming = coming.map_or_else(String::new, |date| {
            format!(" The next watering is on {}.", date_words(date))
        });
        return format!("Nothing is to be watered today, {day}.{coming}\n");
    }
    let m3: f64 = today.iter().filter_map(|it| it.next.as_ref()).map(m3).sum();
    let mut places: Vec<&str> = today.iter().map(|it| it.place.as_str()).collect();
    places.dedup();
    format!(
        "Water today, {day}: {}; {} m³.\n",
        places.join(", "),
        amount(m3)
    )
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
        DayFrom::Forecast => "by the forecast",
        DayFrom::PastYears => "as in a median year",
    };
    let past = today.past.map_or_else(String::new, |[low, high]| {
        format!("; 8 of 10 past years have {low:.1} to {high:.1}")
    });
    format!(
        "Sun and wind take {:.1} mm from short grass, {from}{past}.\n",
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
        format!("{:.1}", block.gone_mm),
        format!("{:.1}", block.may_go_mm),
    ];
    match &block.next {
        None => cells.push("not within 30 days".to_owned()),
        Some(next) => cells.extend([
            if next.date == answer.as_of {
                "today".to_owned()
            } else {
                date_words(next.date)
            },
            next.times.to_string(),
            format!("{:.0}", next.minutes.ceil()),
            amount(next.liters_a_plant),
            amount(m3(next)),
        ]),
    }
    cells
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
