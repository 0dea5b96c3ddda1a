//! Commands on weather: the sky over the small nursery, and damaged files as people have them.

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use common::{barkslip, folder};
use serde_json::Value;

/// The kinds of damage that a weather file may have, but for a lasting step, which asks for many years.
const KINDS: [&str; 12] = [
    "missing days",
    "31 December missing",
    "date twice",
    "row out of order",
    "not readable",
    "impossible value",
    "lowest above highest",
    "°C and °F mixed up",
    "stuck sensor",
    "far outside the site's climate",
    "impossible moisture",
    "more sun than the day has",
];

/// What a command answers in words.
fn words(folder: &Path, typed: &str) -> String {
    let run = barkslip(folder)
        .args(typed.split_whitespace())
        .assert()
        .success();
    String::from_utf8(run.get_output().stdout.clone()).expect("UTF-8")
}

fn json(folder: &Path, typed: &str) -> Value {
    serde_json::from_str(&words(folder, &format!("{typed} --json"))).expect("JSON")
}

/// Rows of the small nursery's weather by date: lowest, highest, rain, humidity, sunshine.
fn rows(folder: &Path) -> BTreeMap<String, Vec<String>> {
    let table = fs::read_to_string(folder.join("my-nursery/weather.csv")).expect("its weather");
    let rows = table.lines().skip(1).map(|line| {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        let date = cells.remove(0);
        cells.extend(["70".to_owned(), "5".to_owned()]);
        (date, cells)
    });
    rows.collect()
}

fn line(date: &str, cells: &[String]) -> String {
    format!("{date},{}\n", cells.join(","))
}

/// Weather with damage of each of twelve kinds, each once.
fn damage(folder: &Path) {
    let mut days = rows(folder);
    let mut cell = |date: &str, at: usize, text: &str| {
        let cells = days.get_mut(date).expect("a day");
        text.clone_into(&mut cells[at]);
    };
    cell("2024-08-08", 1, "?");
    cell("2024-09-09", 1, "88.8");
    cell("2024-10-10", 0, "31.5");
    cell("2025-06-06", 1, "-2.5");
    cell("2025-06-06", 0, "-9.9");
    cell("2025-07-07", 3, "140");
    cell("2025-12-01", 4, "15.5");
    for day in 1..=7 {
        let date = format!("2025-04-0{day}");
        cell(&date, 0, "13.3");
        cell(&date, 1, "22.2");
    }
    for day in 1..=6 {
        let cells = days.get_mut(&format!("2026-07-0{day}")).expect("a day");
        for cell in &mut cells[..2] {
            let celsius: f64 = cell.parse().expect("a number");
            *cell = format!("{:.1}", celsius * 1.8 + 32.0);
        }
    }
    for date in ["2024-05-10", "2024-05-11", "2025-12-31"] {
        days.remove(date).expect("a day");
    }
    let late = days.remove("2024-07-20").expect("a day");
    let mut text = "date,tmin,tmax,rain_mm,humidity_mean,sunshine_h\n".to_owned();
    for (date, cells) in &days {
        text.push_str(&line(date, cells));
        match date.as_str() {
            "2024-07-25" => text.push_str(&line("2024-07-20", &late)),
            "2024-06-01" => text.push_str(&line(date, cells)),
            _ => {}
        }
    }
    fs::write(folder.join("my-nursery/weather.csv"), text).expect("damaged weather");
}

#[test]
fn twelve_kinds_of_damage_are_each_named_and_the_folder_is_taken_in() {
    let folder = folder();
    damage(folder.path());
    let typed = "weather check my-nursery/weather.csv --latitude 37.4";
    let answer = json(folder.path(), typed);
    let kinds = answer["kinds"].as_array().expect("kinds");
    let named: Vec<&str> = kinds.iter().filter_map(|it| it["words"].as_str()).collect();
    assert_eq!(named, KINDS, "{answer:#}");
    let findings = answer["findings"].as_array().expect("findings").len();
    let said = words(folder.path(), typed);
    assert!(
        said.starts_with(&format!("{findings} problems in weather.csv.")),
        "{said}"
    );
    for kind in KINDS {
        assert!(
            said.lines().any(|line| line.starts_with(kind)),
            "{kind}: {said}"
        );
    }
    for (row, text) in [
        ("2024-08-08, tmax \"?\"", "must be a number"),
        ("2024-09-09, tmax \"88.8\"", ""),
        ("2025-07-07, humidity_mean \"140\"", "0 and 100"),
        ("2025-12-01, sunshine_h \"15.5\"", ""),
    ] {
        let told = |line: &&str| line.contains(row) && line.contains(text);
        assert!(said.lines().any(|line| told(&line)), "{row}: {said}");
    }
    words(folder.path(), "init");
    let taken = words(folder.path(), "import my-nursery --as-of 2027-03-01");
    assert!(taken.starts_with("Took in 5 lots"), "{taken}");
    let warned = format!("{findings} problems in weather.csv; `barkslip weather check");
    assert!(taken.contains(&warned), "{taken}");
    // What is left of it is enough to look at the sky.
    words(folder.path(), "weather heat --as-of 2027-03-01");
}

#[test]
fn a_sound_file_has_nothing_wrong() {
    let folder = folder();
    let said = words(
        folder.path(),
        "weather check my-nursery/weather.csv --latitude 37.4",
    );
    assert!(
        said.starts_with("Nothing is wrong with weather.csv."),
        "{said}"
    );
    let answer = json(folder.path(), "weather check my-nursery/weather.csv");
    assert_eq!(answer["days"], answer["kept"]);
    assert_eq!(answer["findings"], Value::Array(Vec::new()));
}

#[test]
fn heat_tells_of_every_climate_and_what_may_come() {
    let folder = folder();
    let said = words(folder.path(), "weather heat my-nursery --as-of 2026-10-15");
    let first = said.lines().next().unwrap_or_default();
    assert!(first.contains("15 Oct 2026"), "{said}");
    let answer = json(folder.path(), "weather heat my-nursery --as-of 2026-10-15");
    let clocks = answer["clocks"].as_array().expect("clocks");
    // The seedbed is warmer than the rest.
    assert_eq!(clocks.len(), 2);
    for clock in clocks {
        let place = clock["places"][0].as_str().expect("a place");
        assert!(
            said.contains(&format!("What may come at {place}")),
            "{place}: {said}"
        );
        let so_far = clock["so_far"].as_f64().expect("heat");
        assert!(
            plain(&said).contains(&format!(" {so_far:.0} ")),
            "{so_far}: {said}"
        );
    }
}

#[test]
fn heat_is_summed_since_a_day_that_is_asked_for() {
    let folder = folder();
    let so_far = |typed: &str| {
        let answer = json(
            folder.path(),
            &format!("weather heat my-nursery --as-of 2027-03-01 {typed}"),
        );
        answer["clocks"][0]["so_far"].as_f64().expect("heat")
    };
    let (season, since) = (so_far(""), so_far("--since 2026-10-15"));
    assert!(since > season, "{since} {season}");
    let typed = "weather heat my-nursery --as-of 2027-03-01 --since 2026-10-15";
    let said = words(folder.path(), typed);
    assert!(said.contains("summed from 15 Oct 2026 on"), "{said}");
    assert!(
        plain(&said).contains(&format!("{since:.0} degree-days")),
        "{said}"
    );
}

/// A text without the thin spaces in its numbers.
fn plain(text: &str) -> String {
    text.replace('\u{202f}', "")
}

#[test]
fn bark_has_a_mark_for_every_week_and_leaves_the_decision_to_the_knife() {
    let folder = folder();
    let note = |bark: &str| {
        let table = format!("date,rootstock,place,bark\n2027-02-22,carrizo,rows-1,{bark}\n");
        fs::write(folder.path().join("my-nursery/bark_notes.csv"), table).expect("a note");
        words(folder.path(), "weather bark my-nursery --as-of 2027-03-01")
    };
    let said = note("slips");
    assert!(said.contains("It advises; your knife decides"), "{said}");
    let of_weeks = |line: &&str| {
        let marks = line.trim();
        marks.len() == 60 && marks.chars().all(|mark| "#+-.".contains(mark))
    };
    let strips: Vec<&str> = said.lines().filter(of_weeks).collect();
    let answer = json(folder.path(), "weather bark my-nursery --as-of 2027-03-01");
    let bark = answer["bark"].as_array().expect("bark");
    assert_eq!(strips.len(), bark.len(), "{said}");
    for (strip, bark) in strips.iter().zip(bark) {
        let shares = bark["share"].as_array().expect("shares");
        let likely = shares.iter().filter(|it| it.as_f64() >= Some(0.5)).count();
        let marked = strip
            .trim()
            .chars()
            .filter(|mark| "#+".contains(*mark))
            .count();
        assert_eq!((likely, shares.len()), (marked, 60));
        assert!(likely > 0 && likely < 60, "a year has both: {strip}");
    }
    assert!(
        said.contains("slips, 22 Feb 2027") && said.contains("1 note of your own"),
        "{said}"
    );
    assert!(note("tight").contains("tight, 22 Feb 2027"));
}

#[test]
fn water_says_what_is_due_and_a_place_is_told_alone() {
    let folder = folder();
    let watered = "place,date,mm\nyard-1,2027-07-10,\n";
    fs::write(folder.path().join("my-nursery/watered.csv"), watered).expect("a table");
    let as_of = "--as-of 2027-07-15";
    let answer = json(folder.path(), &format!("weather water my-nursery {as_of}"));
    let blocks = answer["blocks"].as_array().expect("blocks");
    assert_eq!(blocks.len(), 3, "{answer:#}");
    let said = words(folder.path(), &format!("weather water my-nursery {as_of}"));
    let today: Vec<&str> = blocks
        .iter()
        .filter(|block| block["next"]["date"] == "2027-07-15")
        .filter_map(|block| block["place"].as_str())
        .collect();
    assert!(
        !today.is_empty(),
        "pots dry out in five days of July: {answer:#}"
    );
    let due = format!("Water today, 15 Jul 2027: {}; ", today.join(", "));
    assert!(said.starts_with(&due), "{said}");
    let peak = answer["nursery"]["peak"]["week"].as_str().expect("a week");
    assert!(
        said.contains(&format!("Most is asked for in {peak}")),
        "{said}"
    );
    let only = words(
        folder.path(),
        &format!("weather water my-nursery --place yard-1 {as_of}"),
    );
    assert!(
        only.contains("yard-1") && !only.contains("rows-1"),
        "{only}"
    );
    let only = json(
        folder.path(),
        &format!("weather water my-nursery --place yard-1 {as_of}"),
    );
    assert_eq!(only["blocks"].as_array().map(Vec::len), Some(1));
    assert_eq!(only["nursery"], answer["nursery"]);
}

#[test]
fn water_that_was_given_puts_the_next_off() {
    let folder = folder();
    let gone = || {
        let answer = json(
            folder.path(),
            "weather water my-nursery --place rows-1 --as-of 2027-07-15",
        );
        answer["blocks"][0]["gone_mm"].as_f64().expect("mm")
    };
    let watered = |rows: &str| {
        let table = format!("place,date,mm\n{rows}");
        fs::write(folder.path().join("my-nursery/watered.csv"), table).expect("a table");
    };
    watered("rows-1,2027-07-05,\n");
    let long_ago = gone();
    watered("rows-1,2027-07-05,\nrows-1,2027-07-13,\n");
    let since = gone();
    assert!(long_ago > since && since > 0.0, "{long_ago} {since}");
}

/// Ten clear nights, the lowest four degrees below the evening, give or take.
fn nights(folder: &Path) {
    let rows = (1..=10).map(|day| {
        let evening = f64::from(day) / 2.0;
        let low = evening - 4.0 + f64::from(day % 3) / 10.0;
        format!("2027-02-{day:02},{evening:.1},,{low:.1},true\n")
    });
    let table = format!(
        "date,evening_c,dew_point_c,low_c,clear\n{}",
        rows.collect::<String>()
    );
    fs::write(folder.join("my-nursery/nights.csv"), table).expect("nights");
}

#[test]
fn frost_tells_of_the_night_once_enough_are_noted() {
    let folder = folder();
    let typed = "weather frost my-nursery --as-of 2027-03-01 --evening 0.5";
    let before = words(folder.path(), typed);
    assert!(
        before.contains("cannot be told yet") && before.contains("10 are needed"),
        "{before}"
    );
    nights(folder.path());
    let answer = json(folder.path(), typed);
    let lowest = answer["tonight"]["lowest"]["lowest_c"]
        .as_f64()
        .expect("a lowest");
    assert!((-4.5..=-2.5).contains(&lowest), "{lowest}");
    let said = words(folder.path(), typed);
    assert!(
        said.starts_with(&format!("Tonight's lowest is expected at {lowest:.1} °C")),
        "{said}"
    );
    for harm in answer["harm"].as_array().expect("what stands") {
        let words = match harm["tonight"].as_str() {
            Some("in_harms_way") => "IN HARM'S WAY",
            Some("at_risk") => "at risk",
            _ => "safe",
        };
        let place = harm["place"].as_str().expect("a place");
        let row = |line: &&str| line.starts_with(place) && line.ends_with(words);
        assert!(said.lines().any(|line| row(&line)), "{harm}: {said}");
    }
    let without = words(folder.path(), "weather frost my-nursery --as-of 2027-03-01");
    assert!(
        without.starts_with("Give what you read two hours after sunset"),
        "{without}"
    );
}

#[test]
fn need_sums_each_year_and_says_what_it_rests_on() {
    let folder = folder();
    let typed = "weather need my-nursery/weather.csv --latitude 37.4 --elevation 120";
    let said = words(folder.path(), typed);
    assert!(
        said.contains("2024   366") && said.contains("go by Hargreaves"),
        "{said}"
    );
    let by_the_sea = words(folder.path(), &format!("{typed} --coastal"));
    assert!(by_the_sea.contains("go by Penman–Monteith"), "{by_the_sea}");
    let south = json(
        folder.path(),
        &typed.replace("--latitude 37.4", "--latitude -37.4"),
    );
    let north = json(folder.path(), typed);
    let of = |answer: &Value| answer["years"][0]["hargreaves_mm"].as_f64().expect("mm");
    assert!(
        of(&south) < of(&north),
        "the warm months are the dark ones there"
    );
}
