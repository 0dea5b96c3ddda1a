//! The bodies of the pages of water: what they say of the demo, that names cannot break them, what they
//! say where there is nothing.

use std::path::Path;

use app::load_folder;
use app::water::{DayFrom, NextWatering, WaterAnswer, water};
use jiff::civil::{Date, date};

use crate::water_page::{self, View};
use crate::words::water as words;

const DAY: Date = date(2027, 3, 1);

/// The water of the demo as if nothing were told of it but that all was filled the day before.
fn of_demo() -> WaterAnswer {
    with_watered(true)
}

fn with_watered(is_told: bool) -> WaterAnswer {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo");
    let mut loaded = load_folder(&demo, DAY).unwrap_or_else(|error| panic!("{error}"));
    // What a nursery has told of its water is told test by test.
    loaded.nursery.watering.clear();
    loaded.nursery.watered.retain(|_| is_told);
    for row in &mut loaded.nursery.watered {
        (row.date, row.mm) = (DAY.yesterday().expect("a day"), None);
    }
    loaded.nursery.settings.water.pump_m3_h = None;
    loaded.nursery.settings.water.pump_hours = None;
    loaded.nursery.settings.water.tank_m3 = None;
    loaded.nursery.settings.water.water_ec = None;
    water(&loaded).unwrap_or_else(|error| panic!("{error}"))
}

fn body_of(water: &WaterAnswer, place: Option<&str>) -> String {
    let view = View {
        here: "/sky/water",
        place,
        from: 0,
        more_at: &|from| format!("/sky/water?from={from}"),
    };
    water_page::body(water, &view).into_string()
}

fn body(water: &WaterAnswer) -> String {
    body_of(water, None)
}

fn due(date: Date, times: u32) -> NextWatering {
    NextWatering {
        date,
        times,
        gross_mm: 12.5,
        liters_a_plant: 0.345,
        minutes: 42.4,
        m3: 3.2,
        turns: 1,
    }
}

/// Two places due today, the others later.
fn two_due() -> WaterAnswer {
    let mut water = of_demo();
    for (at, block) in water.blocks.iter_mut().enumerate() {
        let day = if at < 2 { DAY } else { date(2027, 3, 20) };
        block.next = Some(due(day, 1 + u32::from(at == 1)));
    }
    water.nursery.m3_today = 9.6;
    water
}

#[test]
fn the_answer_names_what_is_due_or_what_is_next() {
    let mut water = two_due();
    let (one, other) = (water.blocks[0].place.clone(), water.blocks[1].place.clone());
    assert_ne!(one, other);
    assert_eq!(
        words::answer(&water),
        format!(
            "Water {one} and {other} today: 2 places, 9.6 m³, 2 h 7 min of watering one after the other."
        )
    );
    water.nursery.pump_minutes_today = Some(48.2);
    assert!(words::answer(&water).ends_with("9.6 m³, 48 minutes of pump."));
    for block in &mut water.blocks {
        block.next = Some(due(date(2027, 3, 20), 1));
    }
    water.blocks[1].next = Some(due(date(2027, 3, 5), 1));
    assert_eq!(
        words::answer(&water),
        format!("Nothing is to be watered today; {other} is next, on 5 Mar 2027.")
    );
    water.blocks[0].last_watered = Some(DAY);
    assert!(words::answer(&water).starts_with("Nothing more is to be watered today; "));
    for block in &mut water.blocks {
        block.next = None;
    }
    assert!(words::answer(&water).ends_with("today, nor in the next 30 days."));
}

#[test]
fn the_page_shows_every_block_with_what_it_rests_on() {
    let water = two_due();
    let page = body(&water);
    for forbidden in ["style=", "<style", "<script", "onclick", "http://", "src="] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
    assert_eq!(page.matches(">Watered</a>").count(), 2, "{page}");
    assert_eq!(page.matches("class=\"mind\"").count(), 2);
    assert_eq!(page.matches(words::MEND_TAKEN).count(), water.blocks.len());
    for fact in [
        "42 minutes",
        "2 times 42 minutes",
        "0.34 l a plant each time",
        "usual: common for such a place, from memory",
        "28 Feb 2027",
        "20 Mar 2027",
        "8 of 10 past years",
        "not for orchard trees",
        "give or take",
        "weigh a pot",
        "All figures are estimates",
        words::NOTHING_TOLD,
    ] {
        assert!(page.contains(fact), "{fact}: {page}");
    }
    let charts: Vec<&str> = page.split("<svg class=\"chart\"").skip(1).collect();
    assert_eq!(charts.len(), 2);
    for chart in charts {
        let chart = chart.split("</figure>").next().unwrap_or(chart);
        assert!(
            chart.len() < 25_000 && chart.contains("<title id=") && chart.contains("<desc id=")
        );
    }
}

/// Where nobody told of a watering the page does not pretend to know.
#[test]
fn places_not_told_of_are_to_be_looked_at_and_stand_first() {
    let mut water = with_watered(false);
    let said = words::answer(&water);
    assert!(said.starts_with("It is not known when "), "{said}");
    assert!(said.ends_with(" were watered: look, water what is dry, then note it."));
    let page = body(&water);
    assert!(page.contains(words::LOOK) && page.contains("look today"));
    assert!(page.contains("not known of ") && page.contains("not told of: look, then note it"));
    assert!(page.contains(">Watered</a>"));
    let sheet = water_page::sheet(&water, "/sky/water").into_string();
    assert!(sheet.contains("It is not known when "), "{sheet}");
    // One is told of, and not due: nothing is said of the others but to look.
    water.blocks[0].is_told = true;
    water.blocks[0].gone_mm = Some(1.0);
    let said = words::answer(&water);
    let told = "Nothing is to be watered today where you told of the last watering, nor in the next 30 days. It is";
    assert!(said.starts_with(told), "{said}");
}

#[test]
fn more_than_pump_and_tank_give_is_told_with_the_answer_and_on_the_sheet() {
    let mut water = two_due();
    let too_much = "That is more than the 6.0 m³ that pump and tank give today";
    water.nursery.supply_m3_today = Some(6.0);
    water.nursery.suffices_today = Some(true);
    assert!(!words::answer(&water).contains(too_much));
    water.nursery.suffices_today = Some(false);
    assert!(words::answer(&water).contains(too_much));
    let sheet = |water: &WaterAnswer| water_page::sheet(water, "/sky/water").into_string();
    assert!(sheet(&water).contains(too_much));
    let parts = "in three turns of a part each: the pump gives no more at once";
    assert!(!body(&water).contains(parts) && !sheet(&water).contains(parts));
    if let Some(next) = &mut water.blocks[0].next {
        next.turns = 3;
    }
    assert!(body(&water).contains(parts) && sheet(&water).contains(parts));
}

#[test]
fn each_day_says_how_it_was_worked_out_and_how_far_it_may_be_off() {
    let mut day = of_demo().days[0].clone();
    day.method = Some("Hargreaves");
    (day.brought, day.give_or_take_mm) = (Some(0.612), Some(0.99));
    assert_eq!(
        words::worked_out(&day),
        "Hargreaves, times 0.61 to go with all that you measure at this time of the year; give or \
         take 0.99 mm"
    );
    (day.brought, day.give_or_take_mm) = (None, None);
    assert_eq!(words::worked_out(&day), "Hargreaves; how sure is not known");
    day.method = None;
    assert!(words::worked_out(&day).starts_with("median"));
    assert_eq!(
        words::taken_from(DayFrom::Filled),
        "filled from other years"
    );
}

#[test]
fn the_pump_stands_in_the_picture_and_words_say_when_it_does_not_suffice() {
    let mut water = of_demo();
    assert!(!body(&water).contains(words::PUMP_LIMIT));
    let peak = water.nursery.peak.clone().expect("a week");
    let nursery = &mut water.nursery;
    nursery.pump_m3_day = Some(peak.m3_a_day_high * 0.8);
    nursery.peak_pump_hours = Some(10.0);
    nursery.pump_hours = Some(8.0);
    nursery.peak_tanks = Some(1.5);
    nursery.suffices = Some(false);
    let page = body(&water);
    for fact in [
        words::PUMP_LIMIT,
        "The pump does not suffice",
        "would run 10.0 hours a day and may run 8.0",
        "runs 10.0 of 8.0 hours",
        "filled 1.5 times",
    ] {
        assert!(page.contains(fact), "{fact}: {page}");
    }
    water.nursery.suffices = Some(true);
    assert!(!body(&water).contains("does not suffice"));
}

#[test]
fn without_plants_the_page_teaches_the_first_step() {
    let mut water = of_demo();
    water.blocks.clear();
    assert_eq!(words::answer(&water), words::NO_PLANTS);
    let page = body(&water);
    assert!(page.contains("/do/open_lot") && !page.contains("<table"));
    assert_eq!(water_page::csv(&water).lines().count(), 1);
    assert!(
        water_page::sheet(&water, "/sky/water")
            .into_string()
            .contains(words::NO_PLANTS)
    );
}

#[test]
fn a_day_without_a_measurement_is_told_as_such() {
    let mut water = of_demo();
    assert!(!body(&water).contains(words::OLD_WEATHER));
    for day in &mut water.days {
        day.from = DayFrom::PastYears;
    }
    assert!(body(&water).contains(words::OLD_WEATHER));
}

#[test]
fn names_are_escaped_and_stay_whole_in_addresses() {
    let evil = "<b>\"x\" & y</b>";
    let mut water = two_due();
    water.blocks[0].place = evil.to_owned();
    water.blocks[0].size = Some(evil.to_owned());
    water.blocks[0].taken[0].source = evil.to_owned();
    water.warnings = vec![evil.to_owned()];
    let page = body(&water);
    assert!(!page.contains(evil) && page.contains("&lt;b&gt;"));
    assert!(page.contains("place=%3Cb%3E%22x%22%20%26%20y%3C%2Fb%3E&amp;date="));
    let sheet = water_page::sheet(&water, "/sky/water").into_string();
    assert!(!sheet.contains(evil) && sheet.contains("&lt;b&gt;"));
    assert!(water_page::csv(&water).contains("\"<b>\"\"x\"\" & y</b>\""));
}

#[test]
fn the_sheet_has_the_next_three_days_and_a_box_for_each_time() {
    let mut water = two_due();
    let last = water.blocks.len() - 1;
    water.blocks[last].next = Some(due(date(2027, 3, 3), 1));
    assert_eq!(
        water_page::sheet_answer(&water),
        "Water sheet from 1 Mar 2027 to 3 Mar 2027: 3 waterings."
    );
    let sheet = water_page::sheet(&water, "/sky/water").into_string();
    assert_eq!(sheet.matches("<tr>").count(), 1 + 3, "{sheet}");
    // Once, twice and once: when and how long, each.
    assert_eq!(sheet.matches("<span></span>").count(), 2 * (1 + 2 + 1));
    for caution in words::CAUTIONS {
        assert!(sheet.contains(caution));
    }
}

#[test]
fn of_many_places_the_table_is_paged_and_one_can_be_chosen() {
    let mut water = of_demo();
    let one = water.blocks[0].clone();
    water.blocks = (0..150)
        .map(|at| {
            let mut block = one.clone();
            block.place = format!("rows-{at}");
            block
        })
        .collect();
    let page = body(&water);
    assert!(page.len() < 140_000, "{} bytes", page.len());
    assert!(page.contains("/sky/water?from=120") && page.contains(words::TAKEN_ELSEWHERE));
    assert!(page.contains("<option value=\"rows-149\">"));
    let page = body_of(&water, Some("rows-149"));
    assert!(page.contains("<option value=\"rows-149\" selected>"));
    assert!(!page.contains(words::TAKEN_ELSEWHERE) && page.contains("rows-149: "));
}

#[test]
fn a_seedling_s_water_is_told_in_milliliters() {
    let said = [0.0043, 0.0994, 0.345, 12.34].map(words::l_a_plant);
    assert_eq!(
        said,
        [
            "4 ml a plant",
            "99 ml a plant",
            "0.34 l a plant",
            "12.3 l a plant"
        ]
    );
    assert_eq!([0.0043, 0.345].map(words::liters), ["0.004", "0.34"]);
}

#[test]
fn minutes_are_said_as_they_are_set_on_a_clock() {
    let said = [0.5, 4.26, 42.4, 119.6, 120.0, 135.0].map(words::minutes_words);
    assert_eq!(
        said,
        [
            "0.50 minutes",
            "4.3 minutes",
            "42 minutes",
            "2 hours",
            "2 hours",
            "2 h 15 min"
        ]
    );
}
